"""The workings of sheet Pay."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COUNT, DATE, DAYS, MONEY, QUANTITY, RATE, RATIO, TEXT
from sheetfns.functions.growth import FEW_SALES, LONGEST_HISTORY, MOST_WEEKS
from sheetfns.functions.pay import CLAIMS, FREE
from sheetfns.log.model.sheets import AnyFormula, EditionFormula, FormCell, FormRow, Formula, FunctionCall
from sheetfns.log.sheets.columns import CASH_IN, CASH_OUT, cash_until, stock_before
from sheetfns.log.sheets.form_rows import heading, working
from sheetfns.log.sheets.words import DISCARDED, ODDS_EVERY

_NEEDED: Final = "Bills_due,Open_refunds,Tax_reserve,Restock_reserve,Pay_wanted,Average_days,Stale_days"
NOT_READY: Final = "{ready}<>1"


def _within(amount: str, day: str, also: str = "") -> str:
    """A sum over the days that averages are taken over."""
    return f'SUMIFS({amount},{day},">="&{{first_day}},{day},"<"&INT(As_of_date)+1{also})'


def _rounded(text: str) -> str:
    return f"ROUND({text},2)"


def pay_steps(odds_words: AnyFormula) -> tuple[FormRow, ...]:
    """The workings, with a heading over them; `odds_words` is what GROWTH_ODDS remarks."""
    remarks = (*CLAIMS, FREE)
    claims = ("bills_due", "open_refunds", "tax_reserve", "restock_reserve")
    left = ("left_bills", "left_refunds", "left_taxes", "left_stock")
    before = ("cash", *left[:-1])
    return (
        heading("Workings (do not type)"),
        working(
            "to_mend",
            "Amounts on Settings to mend",
            COUNT,
            Formula(
                f"(MIN({_NEEDED},Fixed_costs,Weekly_limit)<0)+(COUNT({_NEEDED})"
                f"<{_NEEDED.count(',') + 1})+ISTEXT(Fixed_costs)+ISTEXT(Weekly_limit)"
            ),
        ),
        *(
            working(key, label, MONEY, cash_until("INT(As_of_date)+1", flows))
            for key, label, flows in (("cash_in", "Cash in so far", CASH_IN), ("cash_out", "Cash out so far", CASH_OUT))
        ),
        working("stock_now", "Stock at cost now", MONEY, Formula(_rounded(stock_before("INT(As_of_date)+1")))),
        working("profit_so_far", "Net profit so far", MONEY, Formula("SUM(Money_profit)")),
        working(
            "claims", "Claims on the cash", MONEY, Formula("{bills_due}+{open_refunds}+{tax_reserve}+{restock_reserve}")
        ),
        *(
            working(
                key, f"Left after it: {claim}".replace("_", " "), MONEY, Formula(f"ROUND({{{above}}}-{{{claim}}},9)")
            )
            for key, claim, above in zip(left, claims, before, strict=True)
        ),
        *(
            FormRow(f"Remark {i}", (FormCell(f"remark_{i}", TEXT, formula=Formula(f'"{remark}"'), working=True),))
            for i, remark in enumerate(remarks, 1)
        ),
        working(
            "count_row",
            "Row of the last count",
            COUNT,
            Formula('IF(COUNT(Owner_count_key)=0,"",MATCH(MAX(Owner_count_key),Owner_count_key,0))'),
            "row",
        ),
        working(
            "count_off",
            "Its difference",
            MONEY,
            Formula("SUM(INDEX(Owner_difference,{count_row}))", blank_if='{count_row}=""'),
        ),
        working(
            "count_age",
            "Days since then",
            DAYS,
            Formula("INT(As_of_date)-INT(INDEX(Owner_moved_on,{count_row}))", blank_if='{count_row}=""'),
            "days",
        ),
        working(
            "first_day", "Averages from", DATE, Formula("MAX(INT(First_month),INT(As_of_date)-Average_days+1)"), "date"
        ),
        working("days_counted", "Days counted", DAYS, Formula("MAX(1,INT(As_of_date)-{first_day}+1)"), "days"),
        working("month_start", "Month from", DATE, Formula("DATE(YEAR(As_of_date),MONTH(As_of_date),1)"), "date"),
        working("pieces", "Pieces sold and kept", COUNT, Formula(_within("Log_kept", "Log_sold_on")), "pieces"),
        working("net_sales", "Sales less refunds", MONEY, Formula(_within("Log_net_sales", "Log_sold_on"))),
        working("net_profit", "Net profit of sales", MONEY, Formula(_within("Log_net_profit", "Log_sold_on"))),
        working(
            "discarded",
            "Discarded, at cost",
            MONEY,
            Formula(_within("Log_landed_cost", "Log_left_on", f',Log_left_how,"{DISCARDED}"')),
        ),
        working("expenses", "Expenses", MONEY, Formula(_within("Expenses_amount", "Expenses_spent_on"))),
        working(
            "bought",
            "Stock bought",
            MONEY,
            Formula(_within("Log_outlay", "Log_stock_date") + "+" + _within("Lots_total", "Lots_bought_on")),
        ),
        working(
            "turned_cost",
            "Cost of sold and discarded",
            MONEY,
            Formula(_within("Log_landed_cost", "Log_sold_on", ",Log_kept,1") + "+{discarded}"),
        ),
        working(
            "free_profit",
            "Profit of free pieces",
            MONEY,
            Formula(_within("Log_net_profit", "Log_sold_on", ',Log_landed_cost,"<=0"')),
        ),
        working("stock_then", "Stock before those days", MONEY, Formula(_rounded(stock_before("{first_day}")))),
        working(
            "cost_per_piece",
            "Cost of a piece sold",
            MONEY,
            Formula("MAX(0,{turned_cost})/{pieces}", blank_if="{pieces}=0"),
        ),
        working("listed_now", "Pieces listed now", COUNT, Formula("SUMIFS(Log_on_hand,Log_stage,2)"), "pieces"),
        working("listed_cost", "Their cost", MONEY, Formula("SUMIFS(Log_cost_on_hand,Log_stage,2)")),
        working(
            "sold_share",
            "Sold in a month, of the listed",
            RATE,
            Formula("{month_pace}/({month_pace}+MAX(0,{listed_now}))", blank_if="{month_pace}=0"),
        ),
        working(
            "return_rate",
            "Earned on each 1 of cost",
            RATIO,
            Formula("({net_profit}-{free_profit}-{discarded})/{turned_cost}", blank_if="{turned_cost}<=0"),
        ),
        working(
            "days_to_turn",
            "Days until stock is sold",
            QUANTITY,
            FunctionCall(
                "DAYS_ON_HAND",
                {
                    "stock": "MAX({stock_now},({stock_then}+{stock_now})/2)",
                    "cost_of_goods_sold": "{turned_cost}",
                    "days": "{days_counted}",
                },
                blank_if="OR({turned_cost}<=0,{stock_then}+{stock_now}<=0)",
            ),
            "days",
        ),
        working(
            "weeks_of_stock",
            "The same in weeks",
            QUANTITY,
            Formula("MAX({days_to_turn}/7,1)", blank_if='{days_to_turn}=""'),
            "weeks",
        ),
        working(
            "weeks_to_turn",
            "Weeks of a purchase",
            QUANTITY,
            Formula(f"MIN({{weeks_of_stock}},{MOST_WEEKS}+1)", blank_if='{days_to_turn}=""'),
            "weeks",
        ),
        working(
            "whole_weeks",
            "Whole weeks of it",
            COUNT,
            Formula("INT({weeks_to_turn})", blank_if='{weeks_to_turn}=""'),
            "weeks",
        ),
        working(
            "later_part",
            "Part a week later",
            RATE,
            Formula("{weeks_to_turn}-{whole_weeks}", blank_if='{weeks_to_turn}=""'),
        ),
        working("fixed_week", "Fixed costs a week", MONEY, Formula("{fixed_costs}*7/Month_days")),
        working("pay_wanted", "Pay wanted a month", MONEY, Formula("MAX(Pay_wanted)")),
        working("pay_week", "Pay a week", MONEY, Formula("{pay_wanted}*7/Month_days")),
        working(
            "limit_week",
            "Most stock bought in a week",
            MONEY,
            Formula("IF(ISNUMBER(Weekly_limit),Weekly_limit,MIN({bought},MAX(0,{turned_cost}))/{days_counted}*7)"),
        ),
        working(
            "ready",
            "Outlook can be worked out",
            COUNT,
            Formula(
                'AND({return_rate}<>"",SUM({return_rate})>=-1,{days_to_turn}<>"",{left_taxes}>=0,{stock_now}>=0,'
                "{fixed_week}>=0,{pay_week}>=0,{limit_week}>=0,{to_mend}=0)*1"
            ),
        ),
        working(
            "worth_then",
            "Cash and stock at the end",
            MONEY,
            Formula("INDEX(Outlook_worth,COUNT(Outlook_week))", blank_if=NOT_READY),
        ),
        working(
            "odds_ready",
            "Odds can be worked out",
            COUNT,
            Formula(
                '({ready}=1)*(COUNTIFS(Log_kept,1,Log_history_cost,">0")>1)'
                f"*(COUNT(Log_history_cost)<={LONGEST_HISTORY})"
            ),
        ),
        working(
            "weeks_to_pay",
            "Pay carried from week",
            COUNT,
            EditionFormula(
                Formula(
                    "IF(COUNT(Outlook_week)-MAX(Outlook_short_week)<ROUNDUP({days_to_turn}/7,0),"
                    '"",MAX(Outlook_short_week)+1)',
                    blank_if="OR({ready}<>1,{pay_wanted}=0)",
                ),
                FunctionCall(
                    "WEEKS_TO_PAY",
                    {
                        "stake": "{left_taxes}",
                        "return_rate": "{return_rate}",
                        "days_to_turn": "{days_to_turn}",
                        "weeks": "COUNT(Outlook_week)",
                        "fixed_costs_week": "{fixed_week}",
                        "pay_week": "{pay_week}",
                        "pay_from_reserve": "Restock_reserve",
                        "buying_limit_week": "{limit_week}",
                        "opening_stock": "{stock_now}",
                    },
                    blank_if="OR({ready}<>1,{pay_wanted}=0)",
                    around='IFERROR({},"")',
                ),
            ),
            "week",
        ),
        _words_step(
            "days_words",
            "Words: days",
            Formula('IF({days_counted}=1,"the last day","the last "&{days_counted}&" days")'),
        ),
        _words_step(
            "no_margin_words",
            "Words: no margin",
            Formula(
                'IF({pieces}=0,"No sales in "&{days_words}&", so nothing can be said.",'
                '"A sale loses money on average: no number of sales covers the fixed costs.")'
            ),
        ),
        _words_step(
            "few_words",
            "Words: too few",
            Formula(
                f"IF(OR({{pieces}}<{FEW_SALES},{{days_counted}}<Month_days-1),"
                '"So few sales or days make a rough guess.","")',
                blank_if="{pieces}=0",
            ),
        ),
        _words_step(
            "covered_words",
            "Words: covered",
            Formula(
                'IF({month_safety}="","No fixed costs are known: enter them on Expenses, or type '
                'them on Settings.","This month covers its fixed costs, and would with sales "'
                '&FIXED(ROUND(100*{month_safety},1),1)&" % lower.")'
            ),
        ),
        _words_step(
            "pay_gap_words",
            "Words: pay",
            Formula(
                'IF(ROUND({month_brings}-{month_needs},2)>=0,"An average month carries the pay and '
                'leaves "&FIXED(ROUND({month_brings}-{month_needs},2),2)&" for more stock.",'
                '"An average month is "&FIXED(ROUND({month_needs}-{month_brings},2),2)'
                '&" short of the pay.")',
                blank_if='{month_brings}=""',
            ),
        ),
        _words_step(
            "weeks_words",
            "Words: weeks",
            Formula(
                'IF({weeks_to_pay}="","By the averages alone the pay is not carried within "'
                '&COUNT(Outlook_week)&" weeks.","By the averages alone, which no month follows, '
                'the pay is carried from "&IF({weeks_to_pay}=1,"now on.","week "&{weeks_to_pay}'
                '&" on."))',
                blank_if=NOT_READY,
            ),
        ),
        _words_step(
            "worth_words",
            "Words: shrinking",
            Formula(
                'IF(ROUND({worth_then}-{left_taxes}-{stock_now},2)<0,"What is there shrinks: '
                'free cash and stock go from "&FIXED({left_taxes}+{stock_now},2)&" to "'
                '&FIXED(ROUND({worth_then},2),2)&" in "&COUNT(Outlook_week)&" weeks.","")',
                blank_if=NOT_READY,
            ),
        ),
        _words_step(
            "limit_words",
            "Words: no purchases",
            Formula(
                'IF({limit_week}>0,"","No stock is bought in it: type the most that you buy in a week on Settings.")',
                blank_if=NOT_READY,
            ),
        ),
        _words_step(
            "why_words",
            "Words: why no outlook",
            Formula(
                'IF({pieces}=0,"No outlook yet: it needs sales in "&{days_words}&".",'
                'IF({turned_cost}<=0,"No outlook: what was sold in these days had cost nothing.",'
                '"No outlook: there is no stock, or sales lose more than it cost."))'
            ),
        ),
        _words_step(
            "not_ready_words",
            "Words: no outlook",
            Formula(
                'IF({to_mend}>0,"No outlook: mend the amounts on Settings first.",'
                'IF({left_taxes}<0,"No outlook: bills, refunds and taxes take more than the cash '
                'by the log.",{why_words}))'
            ),
        ),
        _words_step(
            "chance_words",
            "Words: chance",
            EditionFormula(
                Formula('""'),
                Formula(
                    f'IF({{pay_wanted}}=0,"Drawn from the pieces of this log.","The whole pay is '
                    f'drawn in every week from week {ODDS_EVERY} on in "'
                    f'&FIXED(100*{{chance_{ODDS_EVERY}}},0)&" of 100 courses.")',
                    blank_if="{odds_ready}<>1",
                ),
            ),
        ),
        _words_step("odds_words", "Words: odds", odds_words),
    )


def _words_step(key: str, label: str, formula: AnyFormula) -> FormRow:
    return FormRow(label, (FormCell(key, TEXT, formula=formula, working=True),), lines=1)
