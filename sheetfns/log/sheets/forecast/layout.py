"""Sheet Outlook: the money week by week if the averages go on."""

from __future__ import annotations

from sheetfns.cell_types import COUNT, DATE, MONEY, CellType
from sheetfns.log.model.sheets import FIRST_ROW, Column, Formula, TableSheet
from sheetfns.log.sheets.columns import grouped, money_column, working_column
from sheetfns.log.sheets.words import OUTLOOK, WEEKS_AHEAD

_NOT_READY = "Pay_ready<>1"


def _weekly(key: str, header: str, text: str, help_text: str) -> Column:
    return money_column(key, header, help_text, MONEY, width=12, formula=Formula(text, blank_if=_NOT_READY))


def _working(key: str, header: str, kind: CellType, text: str, help_text: str) -> Column:
    return working_column(key, header, kind, Formula(text, blank_if=_NOT_READY), help_text)


def _at_first(first: str, else_: str) -> str:
    return f"IF(ROW()={FIRST_ROW},{first},{else_})"


_WEEK = (
    Column(
        "week",
        "Week",
        COUNT,
        "Weeks from the day that figures are as of.",
        8,
        unit="week",
        formula=Formula(f"ROW()-{FIRST_ROW}+1"),
    ),
    Column(
        "week_end",
        "Ends on",
        DATE,
        "Last day of the week.",
        11.5,
        unit="date",
        formula=Formula("INT(As_of_date)+7*{week}"),
    ),
)
_FLOWS = (
    _weekly(
        "cost_sold",
        "Stock sold",
        "Pay_stock_now*(MIN(1,{week}/Pay_weeks_of_stock)-MIN(1,({week}-1)/Pay_weeks_of_stock))"
        "+SUMIFS({bought@above},{week@above},{week}-Pay_whole_weeks)*(1-Pay_later_part)"
        "+SUMIFS({bought@above},{week@above},{week}-Pay_whole_weeks-1)*Pay_later_part",
        "What the stock that sells in the week had cost.",
    ),
    _weekly("came_in", "Comes in", "{cost_sold}*(1+Pay_return_rate)", "Sales less fees, postage and packing."),
    _weekly("paid_out", "Fixed costs", "Pay_fixed_week", "What goes out each week."),
    _weekly(
        "drawn",
        "Pay drawn",
        "MIN(MAX({before_pay}-Restock_reserve,0),Pay_pay_week)",
        "Out of the cash over what is kept for purchases, up to the pay wanted.",
    ),
    _weekly(
        "bought",
        "Stock bought",
        "MIN(MAX({before_pay}-{drawn}-Pay_fixed_week,0),Pay_limit_week)",
        "Out of what is left but for the next week's fixed costs, up to the limit of a week.",
    ),
)
_ENDS = (
    _weekly(
        "cash",
        "Cash",
        "{before_pay}-{drawn}-{bought}",
        "Cash at the end of the week; it begins without bills, refunds and taxes.",
    ),
    _weekly(
        "stock",
        "Stock at cost",
        "MAX(" + _at_first("Pay_stock_now", "{stock@-1}") + "-{cost_sold},0)+{bought}",
        "Stock at cost at the end of the week.",
    ),
    _weekly("owed", "Owed", "MAX(-{left_over},0)", "Costs that could not be paid yet."),
    _weekly("worth", "All together", "{cash}+{stock}-{owed}", "Cash and stock at cost, less what is owed."),
)
_WORKINGS = (
    _working(
        "left_over",
        "Left after costs",
        MONEY,
        _at_first("Pay_left_taxes", "{cash@-1}-{owed@-1}") + "+{came_in}-{paid_out}",
        "Cash after what is owed and fixed costs; below 0 if it does not do.",
    ),
    _working("before_pay", "Before pay", MONEY, "MAX({left_over},0)", "Cash before pay."),
    _working(
        "short_week",
        "Short in week",
        COUNT,
        "IF({drawn}<Pay_pay_week-0.000001,{week},0)",
        "The week if its pay is not whole, else 0; a ten-thousandth of a cent does not count.",
    ),
)


def outlook_sheet() -> TableSheet:
    """Sheet Outlook."""
    columns = (*grouped("Week", _WEEK), *grouped("In the week", _FLOWS), *grouped("At its end", _ENDS), *_WORKINGS)
    return TableSheet(
        OUTLOOK,
        OUTLOOK,
        "The money week by week if the averages of sheet Pay go on; no week goes just like that.",
        columns,
        WEEKS_AHEAD,
    )
