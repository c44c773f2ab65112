"""Sheet Pay: what may be taken out, and what a monthly pay asks for."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COUNT, MONEY, QUANTITY, RATE, RATIO
from sheetfns.functions.pay import NO_CASH
from sheetfns.log.model.sheets import EditionFormula, FormRow, FormSheet, Formula, FunctionCall
from sheetfns.log.sheets.charts.layout import AHEAD_CHART, EVEN_CHART
from sheetfns.log.sheets.columns import rows_of
from sheetfns.log.sheets.form_rows import cell, field, heading, in_functions_only, noted, result, words
from sheetfns.log.sheets.pay.sentences import NOTHING_TYPED, ODDS_ELSEWHERE, ODDS_LACK
from sheetfns.log.sheets.pay.steps import GROWTH, NOT_READY, ODDS_NOT_READY, steps
from sheetfns.log.sheets.words import ODDS_EVERY, PAY, WEEKS_AHEAD

_CHANCE: Final = 5
"""The cell of GROWTH_ODDS with the chance that the pay is covered."""
_NO_SALE: Final = '{contribution}=""'
_NO_PRICE: Final = '{price}=""'
_NO_MARGIN: Final = "SUM({contribution})<=0"
_NO_DRAW: Final = "{to_fix}>0"
_NO_PACE: Final = f"OR({_NO_MARGIN},SUM({{sold_share}})<=0)"
_CLAIMS: Final = {key: f"{{{key}}}" for key in ("cash", "bills_due", "restock_reserve", "tax_reserve", "open_refunds")}
_NEEDED: Final = {
    "pay": "{target_pay}",
    "fixed_costs": "{fixed_costs}",
    "profit_per_item": "{contribution}",
    "sold_rate_per_month": "{sold_share}",
    "cost_per_item": "{cost_per_item}",
}
_ITEMS_NEEDED: Final = "({target_pay}+{fixed_costs})/{contribution}"
_REACHED: Final = "+".join(f"({{{left}}}>0)" for left in ("left_bills", "left_refunds", "left_taxes", "left_inventory"))


def _this_month(amount: str) -> str:
    """A sum over what was sold this month so far."""
    return f'SUMIFS({amount},Log_sold_on,">="&{{month_start}},Log_sold_on,"<"&INT(Figures_until)+1)'


def _needed(formula: str, place: int) -> EditionFormula:
    """What a pay asks for: its formula, and its place among the cells of INVENTORY_FOR_PAY."""
    call = FunctionCall("INVENTORY_FOR_PAY", _NEEDED, _NO_PACE, around=f"INDEX({{}},1,{place})")
    return EditionFormula(Formula(formula, _NO_PACE), call)


# Tables: key, label, type, formula, unit; rows with several cells and words have their own order.
# fmt: off
_DRAW: Final[tuple[FormRow, ...]] = (
    words("answer", 'IF({to_fix}>0,"Fix the amounts on Settings first",IF(ROUND({safe_draw},2)>0,'
          '"You may take out "&FIXED({safe_draw},2),"Take nothing out now"))', emphasized=True),
    words("reason", EditionFormula(
        Formula(f'IF({{cash}}<=0,"{NO_CASH}",IF({{claims}}=0,"{NOTHING_TYPED}",'
                f"INDEX({{remark_1}}:{{remark_5}},1+{_REACHED})))", _NO_DRAW),
        FunctionCall("DRAW_REMARK", _CLAIMS, _NO_DRAW, f'IF(AND({{claims}}=0,{{cash}}>0),"{NOTHING_TYPED}",{{}})'))),
    heading("What you may take out now", "money"),
    noted("cash", "Cash per log", "ROUND(Opening_cash+{cash_in}-{cash_out},2)", "count_note",
          'IF({count_row}="","never counted: count it before you take any out",'
          '{count_day}&IF({count_off}=0,": matched",": off by "&FIXED({count_off},2)&"; find out why"))'),
    result("bills_due", "Less bills not paid yet", MONEY, "MAX(Bills_due)"),
    result("open_refunds", "Less refunds not paid yet", MONEY, "MAX(Open_refunds)"),
    noted("tax_reserve", "Less kept for taxes", 'IF(Tax_reserve="",{careful_tax},MAX(Tax_reserve))', "tax_note",
          'IF(Tax_reserve="","careful: "&ROUND(100*MAX(0,Tax_share),0)&"% of the last 12 months\' profit","")'),
    noted("restock_reserve", "Less kept for purchases",
          'IF(Restock_reserve="",{careful_restock},MAX(Restock_reserve))', "restock_note",
          'IF(Restock_reserve="","careful: what the last "&MAX(Restock_days)&" days\' purchases cost","")'),
    result("safe_draw", "You may take out", MONEY, FunctionCall("SAFE_DRAW", _CLAIMS, _NO_DRAW)),
    noted("profit_shown", "Net profit so far", "{profit_so_far}+0", "profit_note",
          'IF(ROUND({profit_so_far},2)<0,"a loss: what you take out is money that the owners put in",'
          '"sheet Partners shows whose it is")'),
    result("buying_shown", "For the next buying trip", MONEY, "{buying_cash}+0"),
    field("What partners take out isn't a business expense; tax is due on the profit, taken out or not. Ask a licensed "
          "preparer how much to keep."),
)
_SALE: Final[tuple[FormRow, ...]] = (
    heading("One sale, on average"),
    words("average_words", 'IF({items}=0,"No item was sold and kept in "&{days_words}&".",{items}'
          '&IF({items}=1," item"," items")&" sold in "&{days_words}'
          '&", after refunds and discarded items."&IF({few_words}="",""," "&{few_words}))'),
    result("price", "Price and shipping", MONEY, "{net_sales}/{items}", blank_if="OR({items}=0,{net_sales}<0)"),
    result("variable_cost", "Less its costs", MONEY,
           "MAX(0,{net_sales}-{net_profit}+{discarded})/{items}", blank_if=_NO_PRICE),
    result("contribution", "Left for fixed costs and pay", MONEY, FunctionCall(
        "CONTRIBUTION_MARGIN", {"price": "{price}", "variable_cost": "{variable_cost}"}, _NO_PRICE)),
    result("ratio", "As a share of the price", RATIO,
           "{contribution}/{price}", blank_if=f"OR({_NO_SALE},SUM({{price}})=0)"),
)
_MONTH: Final[tuple[FormRow, ...]] = (
    heading("Monthly break-even"),
    result("fixed_costs", "Monthly fixed costs", MONEY,
           "IF(ISNUMBER(Fixed_costs),Fixed_costs,{expenses}/{days_counted}*Month_days)"),
    result("break_even_items", "Break-even, items", QUANTITY, FunctionCall("BREAK_EVEN_UNITS", {
        "fixed_costs": "{fixed_costs}", "price": "{price}", "variable_cost": "{variable_cost}"}, _NO_MARGIN)),
    result("break_even_sales", "Break-even, sales", MONEY, FunctionCall(
        "BREAK_EVEN_SALES", {"fixed_costs": "{fixed_costs}", "margin_ratio": "{ratio}"}, _NO_MARGIN)),
    result("month_items", "Items this month so far", COUNT, _this_month("Log_kept")),
    result("month_sales", "Sales this month so far", MONEY, _this_month("Log_net_sales")),
    result("month_safety", "Margin of safety this month", RATIO, FunctionCall(
        "MARGIN_OF_SAFETY", {"actual": "{month_sales}", "break_even": "{break_even_sales}"},
        'OR({break_even_sales}="",{month_sales}<=0)')),
    words("month_words", 'IF({break_even_sales}="",{no_margin_words},'
          'IF(ROUND({break_even_sales}-{month_sales},2)>0,"This month needs sales of "'
          "&FIXED(ROUND({break_even_sales}-{month_sales},2),2)"
          '&" more to cover its fixed costs.",{covered_words}))'),
)
_MONTHLY_PAY: Final[tuple[FormRow, ...]] = (
    heading("Monthly owner pay", "needed", "actual"),
    FormRow("Left in an average month", (
        cell("month_needs", MONEY, "{target_pay}+{fixed_costs}"),
        cell("month_brings", MONEY, "{contribution}*{month_pace}", _NO_SALE)), "money"),
    FormRow("Items sold per month", (
        cell("items_needed", QUANTITY, _needed(_ITEMS_NEEDED, 1)),
        cell("month_pace", QUANTITY, "{items}/{days_counted}*Month_days")), "items"),
    FormRow("Items listed in the month", (
        cell("listed_needed", QUANTITY, _needed(f"{_ITEMS_NEEDED}/{{sold_share}}", 2)),
        cell("on_offer", QUANTITY, "{listed_now}+{month_pace}")), "items"),
    FormRow("Their cost", (
        cell("cost_needed", MONEY, _needed(f"{_ITEMS_NEEDED}/{{sold_share}}*{{cost_per_item}}", 3)),
        cell("offer_cost", MONEY, "{listed_cost}+{month_pace}*SUM({cost_per_item})")), "money"),
    words("pay_words", 'IF({target_pay}=0,"Enter your monthly pay target on Settings.",'
          'IF({contribution}="",{no_margin_words},{pay_gap_words}))'),
    words("forecast_words", 'IF({ready}<>1,{not_ready_words},TRIM(IF({target_pay}=0,"",{weeks_words})'
          '&" "&{worth_words}&" "&{limit_words}))', lines=2),
)
# fmt: on


def _odds(week: int, place: int) -> EditionFormula:
    """One of the cells of GROWTH_ODDS."""
    arguments = {
        "costs": rows_of("Log_history_cost"),
        "profits": rows_of("Log_history_profit"),
        "days": rows_of("Log_history_days"),
        "sold_flags": rows_of("Log_history_over"),
        **{name: cells for name, cells in GROWTH.items() if name not in {"return_rate", "days_to_turn"}},
        "paths": "Forecast_paths",
    }
    blank_if = f"OR({ODDS_NOT_READY},{{target_pay}}=0)" if place == _CHANCE else ODDS_NOT_READY
    return in_functions_only(FunctionCall("GROWTH_ODDS", arguments, blank_if, around=f"INDEX({{}},{week},{place})"))


def _week_row(week: int) -> FormRow:
    cells = (
        cell(f"week_{week}", COUNT, f"INDEX(Forecast_week,{week})", cell_format='"Week "0'),
        cell(f"average_{week}", MONEY, f"INDEX(Forecast_worth,{week})", NOT_READY),
        *(cell(f"{key}_{week}", MONEY, _odds(week, place)) for place, key in enumerate(("low", "middle", "high"), 2)),
        cell(f"chance_{week}", RATE, _odds(week, _CHANCE), cell_format="0%"),
    )
    return FormRow(cells=cells, heads_row=True)


def _weeks_ahead() -> tuple[FormRow, ...]:
    said = (
        f'IF({NOT_READY},{{not_ready_words}},IF({ODDS_NOT_READY},"{ODDS_LACK}",'
        'TRIM({chance_words}&" "&{odds_words})))'
    )
    return (
        heading("Cash and inventory ahead, by week", "average", "low", "middle", "high", "pay covered"),
        field(
            "Of ten simulated runs from the log's own past, one ends below low, five below middle, nine below high. "
            "Pay covered: the chance of full pay in every week from that one to the last."
        ),
        words("odds_remark", EditionFormula(Formula(f'"{ODDS_ELSEWHERE}"'), Formula(said))),
        *(_week_row(week) for week in range(ODDS_EVERY, WEEKS_AHEAD + 1, ODDS_EVERY)),
    )


def form() -> FormSheet:
    """Sheet Pay."""
    rows = (*_DRAW, *_SALE, *_MONTH, *_MONTHLY_PAY, *_weeks_ahead(), *steps(_odds(1, 6)))
    purpose = "What you can take out now, and what your monthly pay needs."
    charts = (EVEN_CHART, AHEAD_CHART)
    return FormSheet(PAY, PAY, purpose, rows, (34, 13, 13, 13, 13, 13), 4, since=10, charts_beside=charts)
