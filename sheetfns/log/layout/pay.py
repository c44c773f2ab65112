"""Sheet Pay: what may be taken out, and what a monthly pay asks for."""

from __future__ import annotations

from typing import Final

from sheetfns.functions.growth import MOST_WEEKS
from sheetfns.functions.pay import CLAIMS, FREE, NO_CASH
from sheetfns.kinds import COUNT, DATE, DAYS, MONEY, QUANTITY, RATE, RATIO, TEXT, Kind
from sheetfns.log.layout.form_parts import field, heading, result, words, working
from sheetfns.log.layout.parts import stock_before
from sheetfns.log.layout.words import DISCARDED, ODDS_EVERY, PAY, WEEKS_AHEAD
from sheetfns.log.sheets import ByEdition, Call, FormCell, FormRow, FormSheet, Formula, Plain

_WEEKS: Final = range(ODDS_EVERY, WEEKS_AHEAD + 1, ODDS_EVERY)
_NO_SALE: Final = '{contribution}=""'
_NO_MARGIN: Final = "N({contribution})<=0"
_NOT_READY: Final = "{ready}<>1"
_CLAIMS: Final = {
    "cash": "{cash}",
    "bills_due": "{bills_due}",
    "restock_reserve": "{restock_reserve}",
    "tax_reserve": "{tax_reserve}",
    "open_refunds": "{open_refunds}",
}
_NO_DRAW: Final = "{to_mend}=1"


def _within(amount: str, day: str, also: str = "") -> str:
    """A sum over the days that averages are taken over."""
    return f'SUMIFS({amount},{day},">="&{{first_day}},{day},"<"&As_of_date+1{also})'


def _this_month(amount: str, day: str) -> str:
    return f'SUMIFS({amount},{day},">="&{{month_start}},{day},"<"&As_of_date+1)'


def _setting(key: str, label: str, name: str) -> FormRow:
    return result(key, label, MONEY, Plain(f"{name}+0"))


def _cell(key: str, kind: Kind, formula: Formula, **rest: str) -> FormCell:
    return FormCell(key, kind, formula=formula, **rest)  # type: ignore[arg-type]


def _draw_rows() -> tuple[FormRow, ...]:
    left = ("{left_bills}", "{left_refunds}", "{left_taxes}", "{left_stock}")
    reached = "+".join(f"({cell}>0)" for cell in left)
    remarks = ",".join(f'"{remark}"' for remark in (*CLAIMS, FREE))
    return (
        words(
            "answer",
            Plain(
                'IF({to_mend}=1,"Mend the amounts on Settings first",IF({safe_draw}>0,'
                '"You may take out "&FIXED({safe_draw},2),"Take nothing out now"))'
            ),
            lines=1,
            loud=True,
        ),
        words(
            "reason",
            ByEdition(
                Plain(
                    f'IF({{cash}}<=0,"{NO_CASH}",INDEX({{remark_1}}:{{remark_5}},1+{reached}))',
                    blank_if=_NO_DRAW,
                ),
                Call("DRAW_REMARK", _CLAIMS, blank_if=_NO_DRAW),
            ),
            lines=1,
        ),
        words(
            "count_words",
            Plain(
                'IF({count_row}="","Cash was never counted; count it before you take any out.",'
                'IF({count_off}=0,"The last count of cash agrees with the log.","The last count of cash differs from the log by "'
                '&FIXED({count_off},2)&"; find out why before you take any out."))'
            ),
            lines=1,
        ),
        field(
            "What partners take out is no cost of the business: taxes are due on the profit, taken "
            "out or not. How much to keep for them, a licensed preparer can say."
        ),
        heading("What may be taken out now"),
        result("cash", "Cash by the log", MONEY, Plain('IF({months}=0,0,INDEX(Money_closing_cash,{months}))')),
        _setting("bills_due", "Less bills not paid yet", "Bills_due"),
        _setting("open_refunds", "Less refunds not paid yet", "Open_refunds"),
        _setting("tax_reserve", "Less kept for taxes", "Tax_reserve"),
        _setting("restock_reserve", "Less kept for purchases", "Restock_reserve"),
        result("safe_draw", "May be taken out", MONEY, Call("SAFE_DRAW", _CLAIMS, blank_if=_NO_DRAW)),
    )  # fmt: skip


def _average_rows() -> tuple[FormRow, ...]:
    return (
        heading("One sale, on average"),
        words(
            "average_words",
            Plain(
                'IF({pieces}=0,"No piece was sold and kept in the last "&{days_counted}&" days.",'
                '{pieces}&" pieces sold in the last "&{days_counted}&" days, with what refunds and '
                'discarded pieces cost.")'
            ),
            lines=1,
        ),
        result(
            "price",
            "Price and shipping",
            MONEY,
            Plain("{net_sales}/{pieces}", blank_if="OR({pieces}=0,{net_sales}<0)"),
        ),
        result(
            "variable_cost",
            "Less what it costs",
            MONEY,
            Plain("MAX(0,{net_sales}-{net_profit}+{discarded})/{pieces}", blank_if='{price}=""'),
        ),
        result(
            "contribution",
            "Left for fixed costs and pay",
            MONEY,
            Call(
                "CONTRIBUTION_MARGIN",
                {"price": "{price}", "variable_cost": "{variable_cost}"},
                blank_if='{price}=""',
            ),
        ),
        result(
            "ratio",
            "As a share of the price",
            RATIO,
            Plain("{contribution}/{price}", blank_if=f"OR({_NO_SALE},N({{price}})=0)"),
        ),
    )


def _month_rows() -> tuple[FormRow, ...]:
    fixed = {"fixed_costs": "{fixed_costs}"}
    return (
        heading("Break-even of a month"),
        result(
            "fixed_costs",
            "Fixed costs a month",
            MONEY,
            Plain(
                'IF(Fixed_costs<>"",Fixed_costs,{expenses}/{days_counted}*Month_days)',
            ),
        ),
        result(
            "break_even_pieces",
            "Break-even, pieces",
            QUANTITY,
            Call(
                "BREAK_EVEN_UNITS",
                fixed | {"price": "{price}", "variable_cost": "{variable_cost}"},
                blank_if=_NO_MARGIN,
            ),
        ),
        result(
            "break_even_sales",
            "Break-even, sales",
            MONEY,
            Call("BREAK_EVEN_SALES", fixed | {"margin_ratio": "{ratio}"}, blank_if=_NO_MARGIN),
        ),
        result("month_pieces", "Pieces this month so far", COUNT, Plain(_this_month("Log_kept", "Log_sold_on"))),
        result("month_sales", "Sales this month so far", MONEY, Plain(_this_month("Log_net_sales", "Log_sold_on"))),
        result(
            "month_safety",
            "Margin of safety of the month",
            RATIO,
            Call(
                "MARGIN_OF_SAFETY",
                {"actual": "{month_sales}", "break_even": "{break_even_sales}"},
                blank_if='OR({break_even_sales}="",{month_sales}<=0)',
            ),
        ),
        words(
            "month_words",
            Plain(
                'IF({break_even_sales}="",{no_margin_words},IF({month_sales}>={break_even_sales},'
                '"This month covers its fixed costs; sales could fall by that share.",'
                '"This month needs sales of "&FIXED({break_even_sales}-{month_sales},2)'
                '&" more to cover its fixed costs."))'
            ),
            lines=1,
        ),
    )  # fmt: skip


def _needed_and_now(
    label: str, unit: str, key: str, kind: Kind, plain: str, place: int, now: tuple[str, str]
) -> FormRow:
    """What a pay asks for, from STOCK_FOR_PAY, beside what there is."""
    arguments = {
        "pay": "{pay_wanted}",
        "fixed_costs": "{fixed_costs}",
        "profit_per_piece": "{contribution}",
        "sold_rate_per_month": "{sold_share}",
        "cost_per_piece": "{cost_per_piece}",
    }
    blank = f"OR({_NO_MARGIN},N({{sold_share}})<=0)"
    needed = ByEdition(
        Plain(plain, blank),
        Call("STOCK_FOR_PAY", arguments, blank, around=f"INDEX({{}},1,{place})"),
    )
    return FormRow(label, (_cell(key, kind, needed), _cell(now[0], kind, Plain(now[1]))), unit)


def _pay_rows() -> tuple[FormRow, ...]:
    return (
        heading("A monthly pay", "asks for", "there is"),
        FormRow(
            "Left in an average month",
            (
                _cell("month_needs", MONEY, Plain("{pay_wanted}+{fixed_costs}")),
                _cell(
                    "month_brings",
                    MONEY,
                    Plain("{contribution}*{month_pace}", blank_if=_NO_SALE),
                ),
            ),
            "money",
        ),
        _needed_and_now(
            "Pieces sold a month", "pieces", "pieces_needed", QUANTITY,
            "({pay_wanted}+{fixed_costs})/{contribution}", 1,
            ("month_pace", "{pieces}/{days_counted}*Month_days"),
        ),
        _needed_and_now(
            "Pieces listed, to sell so many", "pieces", "listed_needed", QUANTITY,
            "({pay_wanted}+{fixed_costs})/{contribution}/{sold_share}", 2,
            ("listed_now", 'SUMIFS(Log_on_hand,Log_listed_on,">0")'),
        ),
        _needed_and_now(
            "Their cost", "money", "cost_needed", MONEY,
            "({pay_wanted}+{fixed_costs})/{contribution}/{sold_share}*{cost_per_piece}", 3,
            ("cost_now", 'SUMIFS(Log_cost_on_hand,Log_listed_on,">0")'),
        ),
        words(
            "pay_words",
            Plain(
                'IF({pay_wanted}=0,"Write the pay that you want a month on Settings.",'
                'IF({contribution}="",{no_margin_words},{pay_gap_words}))'
            ),
            lines=1,
        ),
        words("outlook_words", Plain('IF({pay_wanted}=0,"",IF({ready}<>1,{not_ready_words},{weeks_words}&{worth_words}))'), lines=1),
    )  # fmt: skip


def _odds(week: int, place: int) -> ByEdition:
    arguments = {
        "costs": "Log_history_cost",
        "profits": "Log_history_profit",
        "days": "Log_history_days",
        "sold_flags": "Log_history_over",
        "stake": "{cash}",
        "weeks": "COUNT(Outlook_week)",
        "fixed_costs_week": "{fixed_week}",
        "pay_week": "{pay_week}",
        "pay_from_reserve": "Restock_reserve",
        "buying_limit_week": "{limit_week}",
        "opening_stock": "{stock_now}",
        "paths": "Outlook_paths",
    }
    call = Call("GROWTH_ODDS", arguments, "{odds_ready}<>1", around=f"INDEX({{}},{week},{place})")
    return ByEdition(Plain('""'), call)


def _outlook_rows() -> tuple[FormRow, ...]:
    def week_row(week: int) -> FormRow:
        cells = (
            _cell(
                f"week_{week}", COUNT, Plain(f"INDEX(Outlook_week,{week})"), cell_format='"Week "0'
            ),
            _cell(f"average_{week}", MONEY, Plain(f"INDEX(Outlook_worth,{week})", _NOT_READY)),
            _cell(f"low_{week}", MONEY, _odds(week, 2)),
            _cell(f"middle_{week}", MONEY, _odds(week, 3)),
            _cell(f"high_{week}", MONEY, _odds(week, 4)),
            _cell(f"chance_{week}", RATE, _odds(week, 5), cell_format="0%"),
        )
        return FormRow(cells=cells, heads_row=True)

    return (
        heading("Cash and stock ahead, by week", "average", "low", "middle", "high", "pay carried"),
        field(
            "Average: sheet Outlook. Low, middle, high: of ten courses drawn from the log's own "
            "pieces, one ends below low, five below middle, nine below high. Pay carried: the "
            "chance that the whole pay is drawn in every week from this one on. It tells of the "
            "past of this log, not of what the market will do."
        ),
        words(
            "odds_remark",
            ByEdition(
                Plain(
                    '"Low, middle, high and chances are worked out in the functions edition, or by '
                    'the command outlook."'
                ),
                Plain(
                    'IF({ready}<>1,{not_ready_words},IF({odds_ready}<>1,"Odds need two sales or '
                    'more.",{odds_words}))'
                ),
            ),
            lines=1,
        ),
        *(week_row(week) for week in _WEEKS),
    )


def _workings() -> tuple[FormRow, ...]:
    remarks = (*CLAIMS, FREE)
    claims = ("bills_due", "open_refunds", "tax_reserve", "restock_reserve")
    left = ("left_bills", "left_refunds", "left_taxes", "left_stock")
    before = ("cash", *left[:-1])
    return (
        heading("Workings (do not type)"),
        working(
            "to_mend",
            "An amount on Settings is wrong",
            COUNT,
            Plain("(MIN({bills_due},{open_refunds},{tax_reserve},{restock_reserve})<0)*1"),
        ),
        working("months", "Months on Money", COUNT, Plain("COUNT(Money_month)"), "months"),
        working("stock_now", "Stock at cost now", MONEY, Plain('IF({months}=0,0,INDEX(Money_closing_stock,{months}))')),
        *(
            working(key, f"Left after it: {claim}".replace("_", " "), MONEY, Plain(f"ROUND({{{above}}}-{{{claim}}},9)"))
            for key, claim, above in zip(left, claims, before, strict=True)
        ),
        *(
            FormRow(f"Remark {i}", (FormCell(f"remark_{i}", TEXT, formula=Plain(f'"{remark}"'), working=True),))
            for i, remark in enumerate(remarks, 1)
        ),
        working(
            "count_row",
            "Row of the last count",
            COUNT,
            Plain('IF(COUNT(Owner_count_key)=0,"",MATCH(MAX(Owner_count_key),Owner_count_key,0))'),
            "row",
        ),
        working("count_off", "Its difference", MONEY, Plain("N(INDEX(Owner_difference,{count_row}))", blank_if='{count_row}=""')),
        working(
            "first_day",
            "Averages from",
            DATE,
            Plain("MAX(INT(First_month),INT(As_of_date)-Average_days+1)"),
            "date",
        ),
        working(
            "days_counted",
            "Days counted",
            DAYS,
            Plain("MAX(1,INT(As_of_date)-{first_day}+1)"),
            "days",
        ),
        working("month_start", "Month from", DATE, Plain("DATE(YEAR(As_of_date),MONTH(As_of_date),1)"), "date"),
        working("pieces", "Pieces sold and kept", COUNT, Plain(_within("Log_kept", "Log_sold_on")), "pieces"),
        working("net_sales", "Sales less refunds", MONEY, Plain(_within("Log_net_sales", "Log_sold_on"))),
        working("net_profit", "Net profit of sales", MONEY, Plain(_within("Log_net_profit", "Log_sold_on"))),
        working(
            "discarded",
            "Discarded, at cost",
            MONEY,
            Plain(_within("Log_landed_cost", "Log_left_on", f',Log_left_how,"{DISCARDED}"')),
        ),
        working("expenses", "Expenses", MONEY, Plain(_within("Expenses_amount", "Expenses_spent_on"))),
        working(
            "bought",
            "Stock bought",
            MONEY,
            Plain(_within("Log_outlay", "Log_stock_date") + "+" + _within("Lots_total", "Lots_bought_on")),
        ),
        working(
            "turned_cost",
            "Cost of sold and discarded",
            MONEY,
            Plain(
                _within("Log_landed_cost", "Log_sold_on")
                + "-"
                + _within("Log_landed_cost", "Log_returned_on")
                + "+{discarded}"
            ),
        ),
        working("stock_then", "Stock before those days", MONEY, Plain(stock_before("{first_day}"))),
        working("cost_per_piece", "Cost of a piece sold", MONEY, Plain("MAX(0,{turned_cost})/{pieces}", blank_if="{pieces}=0")),
        working(
            "sold_share",
            "Sold in a month, of the listed",
            RATE,
            Plain("{month_pace}/({month_pace}+MAX(0,{listed_now}))", blank_if="{month_pace}=0"),
        ),
        working(
            "return_rate",
            "Earned on each 1 of cost",
            RATIO,
            Plain("({net_profit}-{discarded})/{turned_cost}", blank_if="{turned_cost}<=0"),
        ),
        working(
            "days_to_turn",
            "Days until stock is sold",
            QUANTITY,
            Call(
                "DAYS_ON_HAND",
                {
                    "stock": "(({stock_then}+{stock_now})/2)",
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
            Plain("MAX({days_to_turn}/7,1)", blank_if='{days_to_turn}=""'),
            "weeks",
        ),
        working(
            "weeks_to_turn",
            "Weeks of a purchase",
            QUANTITY,
            Plain(f"MIN({{weeks_of_stock}},{MOST_WEEKS}+1)", blank_if='{days_to_turn}=""'),
            "weeks",
        ),
        working("whole_weeks", "Whole weeks of it", COUNT, Plain("INT({weeks_to_turn})", blank_if='{weeks_to_turn}=""'), "weeks"),
        working("later_part", "Part a week later", RATE, Plain("{weeks_to_turn}-{whole_weeks}", blank_if='{weeks_to_turn}=""')),
        working("fixed_week", "Fixed costs a week", MONEY, Plain("{fixed_costs}*7/Month_days")),
        working("pay_wanted", "Pay wanted a month", MONEY, Plain("Pay_wanted+0")),
        working("pay_week", "Pay a week", MONEY, Plain("{pay_wanted}*7/Month_days")),
        working(
            "limit_week",
            "Most stock bought in a week",
            MONEY,
            Plain('IF(Weekly_limit<>"",Weekly_limit,{bought}/{days_counted}*7)'),
        ),
        working(
            "ready",
            "Outlook can be worked out",
            COUNT,
            Plain(
                'AND({return_rate}<>"",N({return_rate})>=-1,{days_to_turn}<>"",{cash}>=0,{stock_now}>=0,'
                "{fixed_week}>=0,{pay_week}>=0,{limit_week}>=0,{to_mend}=0)*1"
            ),
        ),
        working(
            "worth_then",
            "Cash and stock at the end",
            MONEY,
            Plain("INDEX(Outlook_worth,COUNT(Outlook_week))", blank_if=_NOT_READY),
        ),
        working(
            "odds_ready",
            "Odds can be worked out",
            COUNT,
            Plain(
                '({ready}=1)*(COUNTIFS(Log_history_over,1,Log_history_cost,">0")>1)'
            ),
        ),
        working(
            "weeks_to_pay",
            "Pay carried from week",
            COUNT,
            ByEdition(
                Plain(
                    "IF(COUNT(Outlook_week)-MAX(Outlook_short_week)<ROUNDUP({days_to_turn}/7,0),"
                    '"",MAX(Outlook_short_week)+1)',
                    blank_if="OR({ready}<>1,{pay_wanted}=0)",
                ),
                Call(
                    "WEEKS_TO_PAY",
                    {
                        "stake": "{cash}",
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
            "no_margin_words",
            "Words: no margin",
            Plain(
                'IF({pieces}=0,"No sales in these days, so nothing can be said.",'
                '"A sale loses money on average: no number of sales covers the fixed costs.")'
            ),
        ),
        _words_step(
            "pay_gap_words",
            "Words: pay",
            Plain(
                'IF({month_brings}>={month_needs},"An average month carries the pay and leaves "'
                '&FIXED({month_brings}-{month_needs},2)&" for more stock.",'
                '"An average month is "&FIXED({month_needs}-{month_brings},2)&" short of the pay.")',
                blank_if='{month_brings}=""',
            ),
        ),
        _words_step(
            "weeks_words",
            "Words: weeks",
            Plain(
                'IF({weeks_to_pay}="","If the averages go on, the pay is not carried within "'
                '&COUNT(Outlook_week)&" weeks.",IF({weeks_to_pay}=1,"If the averages go on, the pay '
                'is carried from now on.","If the averages go on, the pay is carried from week "'
                '&{weeks_to_pay}&" on."))',
                blank_if=_NOT_READY,
            ),
        ),
        _words_step(
            "worth_words",
            "Words: shrinking",
            Plain(
                'IF(ROUND({worth_then}-{cash}-{stock_now},2)<0," Cash and stock fall from "'
                '&FIXED({cash}+{stock_now},2)&" to "&FIXED({worth_then},2)&" in "'
                '&COUNT(Outlook_week)&" weeks.","")',
                blank_if=_NOT_READY,
            ),
        ),
        _words_step(
            "not_ready_words",
            "Words: no outlook",
            Plain(
                'IF({cash}<0,"No outlook: cash by the log is below 0. Enter what is missing first.",'
                '"No outlook yet: it needs stock and sales in the last "&{days_counted}&" days.")'
            ),
        ),
        _words_step(
            "odds_words",
            "Words: odds",
            _odds(1, 6),
        ),
    )  # fmt: skip


def _words_step(key: str, label: str, formula: Formula) -> FormRow:
    return FormRow(label, (FormCell(key, TEXT, formula=formula, working=True),), lines=1)


def pay_form() -> FormSheet:
    """Sheet Pay."""
    rows = (
        *_draw_rows(),
        *_average_rows(),
        *_month_rows(),
        *_pay_rows(),
        *_outlook_rows(),
        *_workings(),
    )
    return FormSheet(
        PAY,
        PAY,
        "What may be taken out now, and what a monthly pay asks for.",
        rows,
        (34, 13, 13, 13, 13, 13),
        4,
    )
