"""Sheet Forecast: the money week by week if the averages go on."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COUNT, DATE, MONEY, CellType
from sheetfns.log.model.sheets import FIRST_ROW, Column, TableSheet
from sheetfns.log.sheets.columns import grouped, result, step
from sheetfns.log.sheets.words import FORECAST, WEEKS_AHEAD

_NOT_READY: Final = "Pay_ready<>1"


def _weekly(key: str, header: str, formula: str, help_text: str) -> Column:
    """An amount of a week."""
    return result(key, header, MONEY, 12, formula, help_text, blank_if=_NOT_READY)


def _step(key: str, header: str, kind: CellType, formula: str, help_text: str) -> Column:
    return step(key, header, kind, formula, help_text, blank_if=_NOT_READY)


def _at_first(first: str, later: str) -> str:
    return f"IF(ROW()={FIRST_ROW},{first},{later})"


# A table: key, header, (type, width,) formula, help.
# fmt: off
COLUMNS: Final[tuple[Column, ...]] = (
    *grouped("Week", (
        result("week", "Week", COUNT, 8, f"ROW()-{FIRST_ROW}+1",
               "Weeks from the as-of date.", unit="week"),
        result("week_end", "Ends on", DATE, 11.5, "INT(Figures_until)+7*{week}", "Last day of the week."),
    )),
    *grouped("In the week", (
        _weekly("cost_sold", "Inventory sold",
                "Pay_inventory_now*(MIN(1,{week}/Pay_weeks_of_inventory)-MIN(1,({week}-1)/Pay_weeks_of_inventory))"
                "+SUMIFS({bought@above},{week@above},{week}-Pay_whole_weeks)*(1-Pay_later_part)"
                "+SUMIFS({bought@above},{week@above},{week}-Pay_whole_weeks-1)*Pay_later_part",
                "What the inventory that sells in the week had cost."),
        _weekly("came_in", "Cash in", "{cost_sold}*(1+Pay_return_rate)", "Sales less fees, postage and packaging."),
        _weekly("paid_out", "Fixed costs", "Pay_fixed_week", "What you pay each week."),
        _weekly("drawn", "Pay drawn", "MIN(MAX({before_pay}-Pay_restock_reserve,0),Pay_pay_week)",
                "From the cash above what is kept for purchases, up to the pay target."),
        _weekly("bought", "Inventory bought", "MIN(MAX({before_pay}-{drawn}-Pay_fixed_week,0),Pay_limit_week)",
                "From what is left after the next week's fixed costs, up to the weekly buying limit."),
    )),
    *grouped("At its end", (
        _weekly("cash", "Cash", "{before_pay}-{drawn}-{bought}",
                "Cash at the end of the week; it starts after bills, refunds and taxes."),
        _weekly("inventory", "Inventory at cost",
                f"MAX({_at_first('Pay_inventory_now', '{inventory@-1}')}-{{cost_sold}},0)+{{bought}}",
                "Inventory at cost at the end of the week."),
        _weekly("owed", "Owed", "MAX(-{left_over},0)", "Costs that could not be paid yet."),
        _weekly("worth", "Total", "{cash}+{inventory}-{owed}", "Cash and inventory at cost, less what is owed."),
    )),
    _step("left_over", "Left after costs", MONEY,
          f"{_at_first('Pay_left_taxes', '{cash@-1}-{owed@-1}')}+{{came_in}}-{{paid_out}}",
          "Cash after what is owed and fixed costs; below 0 if it isn't enough."),
    _step("before_pay", "Before pay", MONEY, "MAX({left_over},0)", "Cash before pay."),
    _step("short_week", "Short in week", COUNT, "IF({drawn}<Pay_pay_week-0.000001,{week},0)",
          "The week if its pay is not full, else 0; a ten-thousandth of a cent doesn't count."),
)
# fmt: on


_ANSWER: Final = (
    f'IF({_NOT_READY},"No forecast yet: Pay says why",'
    '"In "&COUNT(Forecast_week)&" weeks: cash and inventory of "&FIXED(Pay_worth_then,2))'
)


def sheet() -> TableSheet:
    """Sheet Forecast."""
    purpose = "Cash and inventory by week if the averages on sheet Pay continue; no week follows them exactly."
    return TableSheet(FORECAST, FORECAST, purpose, COLUMNS, WEEKS_AHEAD, answer=_ANSWER)
