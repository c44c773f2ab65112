"""The workings of sheet Pay."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COUNT, DATE, DAYS, MONEY, QUANTITY, RATE, RATIO, TEXT
from sheetfns.functions.growth import FEW_SALES, LONGEST_HISTORY, MOST_WEEKS
from sheetfns.functions.pay import CLAIMS, FREE
from sheetfns.log.model.sheets import AnyFormula, EditionFormula, FormRow, Formula, FunctionCall
from sheetfns.log.sheets.columns import CASH_IN, CASH_OUT, cash_until, inventory_before
from sheetfns.log.sheets.form_rows import cell, heading, in_functions_only, words_step, working
from sheetfns.log.sheets.words import DISCARDED, ODDS_EVERY

_NEEDED: Final = "Bills_due,Open_refunds,Pay_target,Average_days,Stale_days,Tax_share,Restock_days"
_OR_BLANK: Final = ("Tax_reserve", "Restock_reserve", "Fixed_costs", "Weekly_limit")
_DAY_AFTER: Final = "INT(Figures_until)+1"
NOT_READY: Final = "{ready}<>1"
ODDS_NOT_READY: Final = "{odds_ready}<>1"
_NO_PAY_AHEAD: Final = f"OR({NOT_READY},{{target_pay}}=0)"
_NO_TURN: Final = '{days_to_turn}=""'
_NO_COUNT: Final = '{count_row}=""'
_CLAIM_KEYS: Final = ("bills_due", "open_refunds", "tax_reserve", "restock_reserve")
_LEFT: Final = ("left_bills", "left_refunds", "left_taxes", "left_inventory")
GROWTH: Final = {
    "starting_cash": "{left_taxes}",
    "return_rate": "{return_rate}",
    "days_to_turn": "{days_to_turn}",
    "weeks": "COUNT(Forecast_week)",
    "fixed_costs_week": "{fixed_week}",
    "pay_week": "{pay_week}",
    "pay_from_reserve": "{restock_reserve}",
    "buying_limit_week": "{limit_week}",
    "opening_inventory": "{inventory_now}",
}
"""What the weeks ahead begin with, as arguments of the functions that work them out."""


def _within(amount: str, day: str, also: str = "") -> str:
    """A sum over the days that averages are taken over."""
    return f'SUMIFS({amount},{day},">="&{{first_day}},{day},"<"&{_DAY_AFTER}{also})'


def _since(amount: str, day: str) -> str:
    """A sum over the days for whose purchases cash is kept."""
    return f'SUMIFS({amount},{day},">="&INT(Figures_until)-MAX(Restock_days)+1,{day},"<"&{_DAY_AFTER})'


def _lefts() -> tuple[FormRow, ...]:
    """What is left of the cash after one claim and the next."""
    return tuple(
        working(key, f"Left after it: {claim}".replace("_", " "), MONEY, f"ROUND({{{above}}}-{{{claim}}},9)")
        for key, claim, above in zip(_LEFT, _CLAIM_KEYS, ("cash", *_LEFT[:-1]), strict=True)
    )


def _remarks() -> tuple[FormRow, ...]:
    """What DRAW_REMARK says, by how far the cash reaches."""
    return tuple(
        FormRow(f"Remark {i}", (cell(f"remark_{i}", TEXT, f'"{remark}"', step=True),))
        for i, remark in enumerate((*CLAIMS, FREE), 1)
    )


# Tables: key, label, type, formula, unit.
# fmt: off
_CASH: Final[tuple[FormRow, ...]] = (
    working("to_fix", "Amounts on Settings to fix", COUNT,
            f"(MIN({_NEEDED},{','.join(_OR_BLANK)})<0)+(COUNT({_NEEDED})<{_NEEDED.count(',') + 1})+"
            + "+".join(f"ISTEXT({name})" for name in _OR_BLANK)),
    working("cash_in", "Cash in so far", MONEY, cash_until(_DAY_AFTER, CASH_IN)),
    working("cash_out", "Cash out so far", MONEY, cash_until(_DAY_AFTER, CASH_OUT)),
    working("inventory_now", "Inventory at cost now", MONEY, f"ROUND({inventory_before(_DAY_AFTER)},2)"),
    working("profit_so_far", "Net profit so far", MONEY, "SUM(Money_profit)"),
    working("year_profit", "Profit of the last 12 months", MONEY,
            'ROUND(SUMIFS(Money_profit,Money_month,">"&DATE(YEAR({month_start})-1,MONTH({month_start}),1)),2)'),
    working("careful_tax", "Careful amount for taxes", MONEY, "ROUND(MAX(0,{year_profit})*MAX(0,Tax_share),2)"),
    working("careful_restock", "Careful amount for purchases", MONEY,
            f"ROUND({_since('Log_outlay', 'Log_inventory_date')}+{_since('Lots_total', 'Lots_bought_on')},2)"),
    working("buying_cash", "Cash for buying", MONEY,
            'MAX(0,IF(Trip_cash="",IF({to_fix}>0,0,{left_taxes}),MAX(Trip_cash)))'),
    working("claims", "Cash reserved", MONEY, "+".join(f"{{{key}}}" for key in _CLAIM_KEYS)),
    *_lefts(),
    *_remarks(),
    working("count_row", "Row of the last count", COUNT,
            'IF(COUNT(Owner_count_key)=0,"",MATCH(MAX(Owner_count_key),Owner_count_key,0))', "row"),
    working("count_off", "Its difference", MONEY, "SUM(INDEX(Owner_difference,{count_row}))", blank_if=_NO_COUNT),
    working("count_age", "Days since then", DAYS,
            "INT(Figures_until)-INT(INDEX(Owner_moved_on,{count_row}))", "days", blank_if=_NO_COUNT),
)
_AVERAGES: Final[tuple[FormRow, ...]] = (
    working("first_day", "Averages from", DATE, "MAX(INT(Figures_from),INT(Figures_until)-Average_days+1)", "date"),
    working("days_counted", "Days counted", DAYS, "MAX(1,INT(Figures_until)-{first_day}+1)", "days"),
    working("month_start", "Month from", DATE, "DATE(YEAR(Figures_until),MONTH(Figures_until),1)", "date"),
    working("items", "Items sold and kept", COUNT, _within("Log_kept", "Log_sold_on"), "items"),
    working("net_sales", "Sales less refunds", MONEY, _within("Log_net_sales", "Log_sold_on")),
    working("net_profit", "Net profit of sales", MONEY, _within("Log_net_profit", "Log_sold_on")),
    working("discarded", "Discarded, at cost", MONEY,
            _within("Log_landed_cost", "Log_disposition_date", f',Log_disposition,"{DISCARDED}"')),
    working("expenses", "Expenses", MONEY, _within("Expenses_amount", "Expenses_spent_on")),
    working("bought", "Inventory bought", MONEY,
            f"{_within('Log_outlay', 'Log_inventory_date')}+{_within('Lots_total', 'Lots_bought_on')}"),
    working("turned_cost", "Cost of sold and discarded", MONEY,
            f"{_within('Log_landed_cost', 'Log_sold_on', ',Log_kept,1')}+{{discarded}}"),
    working("free_profit", "Profit of free items", MONEY,
            _within("Log_net_profit", "Log_sold_on", ',Log_landed_cost,"<=0"')),
    working("inventory_then", "Inventory before those days", MONEY, f"ROUND({inventory_before('{first_day}')},2)"),
    working("cost_per_item", "Cost of an item sold", MONEY, "MAX(0,{turned_cost})/{items}", blank_if="{items}=0"),
    working("listed_now", "Items listed now", COUNT, "SUMIFS(Log_on_hand,Log_stage,2)", "items"),
    working("listed_cost", "Their cost", MONEY, "SUMIFS(Log_cost_on_hand,Log_stage,2)"),
    working("sold_share", "Sold in a month, of the listed", RATE,
            "{month_pace}/({month_pace}+MAX(0,{listed_now}))", blank_if="{month_pace}=0"),
    working("return_rate", "Earned per 1 of cost", RATIO,
            "({net_profit}-{free_profit}-{discarded})/{turned_cost}", blank_if="{turned_cost}<=0"),
    working("days_to_turn", "Days until inventory is sold", QUANTITY, FunctionCall("DAYS_ON_HAND", {
        "inventory": "MAX({inventory_now},({inventory_then}+{inventory_now})/2)", "cost_of_goods_sold": "{turned_cost}",
        "days": "{days_counted}"}, "OR({turned_cost}<=0,{inventory_then}+{inventory_now}<=0)"), "days"),
    working("weeks_of_inventory", "The same in weeks", QUANTITY, "MAX({days_to_turn}/7,1)", "weeks", blank_if=_NO_TURN),
    working("weeks_to_turn", "Weeks of a purchase", QUANTITY,
            f"MIN({{weeks_of_inventory}},{MOST_WEEKS}+1)", "weeks", blank_if=_NO_TURN),
    working("whole_weeks", "Whole weeks of it", COUNT, "INT({weeks_to_turn})", "weeks", blank_if='{weeks_to_turn}=""'),
    working("later_part", "Part a week later", RATE, "{weeks_to_turn}-{whole_weeks}", blank_if='{weeks_to_turn}=""'),
)
_WEEKS: Final[tuple[FormRow, ...]] = (
    working("fixed_week", "Fixed costs a week", MONEY, "{fixed_costs}*7/Month_days"),
    working("target_pay", "Monthly pay target", MONEY, "MAX(Pay_target)"),
    working("pay_week", "Pay a week", MONEY, "{target_pay}*7/Month_days"),
    working("limit_week", "Weekly buying limit", MONEY,
            "IF(ISNUMBER(Weekly_limit),Weekly_limit,MIN({bought},MAX(0,{turned_cost}))/{days_counted}*7)"),
    working("ready", "Forecast can be calculated", COUNT,
            'AND({return_rate}<>"",SUM({return_rate})>=-1,{days_to_turn}<>"",{left_taxes}>=0,{inventory_now}>=0,'
            "{fixed_week}>=0,{pay_week}>=0,{limit_week}>=0,{to_fix}=0)*1"),
    working("worth_then", "Cash and inventory at the end", MONEY,
            "INDEX(Forecast_worth,COUNT(Forecast_week))", blank_if=NOT_READY),
    working("odds_ready", "Odds can be calculated", COUNT,
            '({ready}=1)*(COUNTIFS(Log_kept,1,Log_history_cost,">0")>1)'
            f"*(COUNT(Log_history_cost)<={LONGEST_HISTORY})"),
    working("weeks_to_pay", "Pay covered from week", COUNT, EditionFormula(
        Formula("IF(COUNT(Forecast_week)-MAX(Forecast_short_week)<ROUNDUP({days_to_turn}/7,0),"
                '"",MAX(Forecast_short_week)+1)', _NO_PAY_AHEAD),
        FunctionCall("WEEKS_TO_PAY", GROWTH, _NO_PAY_AHEAD, 'IFERROR({},"")')), "week"),
)
# A table: key, label, formula, when it is blank.
_SENTENCES: Final[tuple[FormRow, ...]] = (
    words_step("count_day", "Words: count",
               'IF({count_age}=0,"counted today",IF({count_age}=1,"counted yesterday",'
               '"counted "&{count_age}&" days ago"))', blank_if=_NO_COUNT),
    words_step("days_words", "Words: days", 'IF({days_counted}=1,"the last day","the last "&{days_counted}&" days")'),
    words_step("no_margin_words", "Words: no margin",
               'IF({items}=0,"No sales in "&{days_words}&", so there is nothing to go by.",'
               '"A sale loses money on average: no number of sales covers the fixed costs.")'),
    words_step("few_words", "Words: too few",
               f"IF(OR({{items}}<{FEW_SALES},{{days_counted}}<Month_days-1),"
               '"Few sales or days: a rough estimate.","")', "{items}=0"),
    words_step("covered_words", "Words: covered",
               'IF({month_safety}="","No fixed costs are known: enter them on Expenses, or '
               'on Settings.","Past break-even this month; sales could be "'
               '&FIXED(ROUND(100*{month_safety},1),1)&"% lower.")'),
    words_step("pay_gap_words", "Words: pay",
               'IF(ROUND({month_brings}-{month_needs},2)>=0,"An average month covers the pay and '
               'leaves "&FIXED(ROUND({month_brings}-{month_needs},2),2)&" for more inventory.",'
               '"An average month is "&FIXED(ROUND({month_needs}-{month_brings},2),2)&" short of the pay.")',
               '{month_brings}=""'),
    words_step("weeks_words", "Words: weeks",
               'IF({weeks_to_pay}="","At current averages the pay is not covered within "'
               '&COUNT(Forecast_week)&" weeks.","At current averages, which no month follows exactly, '
               'the pay is covered from "&IF({weeks_to_pay}=1,"now on.","week "&{weeks_to_pay}&" on."))', NOT_READY),
    words_step("worth_words", "Words: shrinking",
               'IF(ROUND({worth_then}-{left_taxes}-{inventory_now},2)<0,"Cash plus inventory falls from '
               '"&FIXED({left_taxes}+{inventory_now},2)&" to "'
               '&FIXED(ROUND({worth_then},2),2)&" in "&COUNT(Forecast_week)&" weeks.","")', NOT_READY),
    words_step("limit_words", "Words: no purchases",
               'IF({limit_week}>0,"","It assumes no purchases: enter your weekly buying limit on Settings.")',
               NOT_READY),
    words_step("why_words", "Words: why no forecast",
               'IF({items}=0,"No forecast yet: it needs sales in "&{days_words}&".",'
               'IF({turned_cost}<=0,"No forecast: what was sold in these days cost nothing.",'
               '"No forecast: there is no inventory, or sales lose more than it cost."))'),
    words_step("not_ready_words", "Words: no forecast",
               'IF({to_fix}>0,"No forecast: fix the amounts on Settings first.",'
               'IF({left_taxes}<0,"No forecast: bills, refunds and taxes take more than the cash '
               'by the log.",{why_words}))'),
    words_step("chance_words", "Words: chance", in_functions_only(Formula(
        f'IF({{target_pay}}=0,"Simulated from the items of this log.","In "'
        f'&FIXED(100*{{chance_{ODDS_EVERY}}},0)&"% of simulated runs the full pay is covered '
        f'every week from week {ODDS_EVERY} on.")', ODDS_NOT_READY))),
)
# fmt: on


def steps(odds_words: AnyFormula) -> tuple[FormRow, ...]:
    """The workings, with a heading over them; `odds_words` is what GROWTH_ODDS remarks."""
    remark = words_step("odds_words", "Words: odds", odds_words)
    return (heading("Calculations (don't edit)"), *_CASH, *_AVERAGES, *_WEEKS, *_SENTENCES, remark)
