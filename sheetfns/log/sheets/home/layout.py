"""Sheet Home: how the business stands, what to do next, and the way to every sheet."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COUNT, DATE, MONEY, TEXT
from sheetfns.log.model.sheets import FormCell, FormRow, FormSheet, Formula
from sheetfns.log.sheets.charts.layout import MONEY_CHART
from sheetfns.log.sheets.form_rows import cell, field, heading, result, words, working
from sheetfns.log.sheets.home.ways import GROUPS
from sheetfns.log.sheets.links import link_to, link_to_row
from sheetfns.log.sheets.sourcing_log.layout import ITEM_COLUMN
from sheetfns.log.sheets.words import (
    ENTER_POSTAGE,
    HOME,
    LIST_IT,
    LOG,
    MARK_DOWN,
    RELIST,
    ROW_ONE,
    SETTINGS,
    SHELF,
    YEAR_END,
)

NEXT_STEPS: Final = (
    ("list", LIST_IT, "Items to list"),
    ("mark", MARK_DOWN, "Items to mark down"),
    ("relist", RELIST, "Items to list again"),
    ("postage", ENTER_POSTAGE, "Sales without postage paid"),
)
"""Key, the words of the sourcing log's column Next step, label."""
_FIRST_OF_YEAR: Final = "DATE(YEAR(Figures_until),1,1)"
_NO_ITEM: Final = "{items}=0"


def _link(key: str, formula: str, blank_if: str = "") -> FormCell:
    return FormCell(key, TEXT, formula=Formula(formula, blank_if), look="link")


def _next_row(key: str, label: str) -> FormRow:
    row = f"{{{key}_row}}"
    to_row = link_to_row(LOG, ITEM_COLUMN, row, f'"{LOG}, row "&{row}')
    count = cell(f"{key}_count", COUNT, f"COUNTIF(Log_next_step,{{{key}_words}})")
    return FormRow(label, (count, _link(f"{key}_link", to_row, f'{row}=""')))


def _settings_row(key: str, label: str) -> FormRow:
    amount = cell(f"{key}_amount", MONEY, f"Pay_{key}")
    return FormRow(label, (amount, _link(f"{key}_link", link_to(SETTINGS), f"{{{key}_amount}}=0")))


def _first_row(key: str, step: str) -> tuple[FormRow, ...]:
    found = f'IFERROR(MATCH({{{key}_words}},Log_next_step,0)+{ROW_ONE},"")'
    return (
        FormRow(f"Words of that step: {key}", (cell(f"{key}_words", TEXT, f'"{step}"', step=True),)),
        working(f"{key}_row", f"First row to {step}", COUNT, found, "row"),
    )


# Tables: key, label, type, formula, unit.
# fmt: off
_STANDS: Final[tuple[FormRow, ...]] = (
    words("answer", f'IF({_NO_ITEM},"Begin with the three steps below",'
          'IF(ROUND({profit_month},2)<0,"This month lost "&FIXED(-{profit_month},2),'
          '"This month earned "&FIXED({profit_month},2)))', emphasized=True),
    heading("Today"),
    result("cash", "Cash per log", MONEY, "Pay_cash"),
    result("inventory", "Inventory at cost", MONEY, "Pay_inventory_now"),
    result("profit_month", "Net profit this month", MONEY, "SUMIFS(Money_profit,Money_month,Pay_month_start)"),
    result("profit_year", "Net profit this year", MONEY,
           f'ROUND(SUMIFS(Money_profit,Money_month,">="&{_FIRST_OF_YEAR}),2)'),
    result("take_out", "You may take out", MONEY, "Pay_safe_draw"),
)
_BEGIN: Final[tuple[FormRow, ...]] = (
    heading("First steps", "filled in", "go to"),
    FormRow("1. Fill in Settings", (
        cell("settings_filled", TEXT, 'First_day&""'),
        _link("settings_link", link_to(SETTINGS)))),
    FormRow("2. Check what an item may cost", (
        cell("shelf_filled", TEXT, 'IF(Shelf_price_tag="","no price tag","price tag entered")'),
        _link("shelf_link", link_to(SHELF)))),
    FormRow("3. Enter what you bought", (
        cell("items_filled", TEXT, '{items}&IF({items}=1," item"," items")'),
        _link("log_link", link_to(LOG, f"{ITEM_COLUMN}{ROW_ONE + 2}")))),
)
_NEXT: Final[tuple[FormRow, ...]] = (
    heading("Next to do", "how many", "go to the first"),
    *(_next_row(key, label) for key, _, label in NEXT_STEPS),
    _settings_row("open_refunds", "Refunds not paid yet"),
    _settings_row("bills_due", "Bills not paid yet"),
    FormRow("Days since cash was counted", (
        cell("count_says", TEXT, 'IF(Pay_count_age="","never",IF(Pay_count_age=0,"today",'
             'Pay_count_age&IF(Pay_count_age=1," day"," days")))'),
        _link("count_link", link_to("Owner money", words='"Owner money: count it"'), "{count_fresh}=1"))),
    FormRow("Next estimated tax payment", (
        cell("due_on", DATE, 'IFERROR(SMALL(Due_table,1+COUNTIF(Due_table,"<"&INT(Figures_until))),"")'),
        _link("due_link", link_to(YEAR_END)))),
    field("Dates are those of the US. Whether and how much you owe depends on where you live and on all that you earn; "
          "ask a licensed preparer."),
)
# fmt: on
_CHART: Final = FormRow(chart=MONEY_CHART)


def _ways() -> tuple[FormRow, ...]:
    """Every sheet by what it is for."""
    return tuple(
        FormRow(word, tuple(_link(f"way_{number}_{place}", link_to(sheet)) for place, sheet in enumerate(sheets, 1)))
        for number, (word, sheets) in enumerate(GROUPS, 1)
    )


def _workings() -> tuple[FormRow, ...]:
    return (
        heading("Calculations (don't edit)"),
        working("items", "Items entered", COUNT, "COUNT(Log_stage)", "items"),
        working(
            "count_fresh",
            "Cash was counted lately",
            COUNT,
            'AND(Pay_count_age<>"",SUM(Pay_count_age)<=Month_days)*1',
            "1 = yes",
        ),
        *(row for key, step, _ in NEXT_STEPS for row in _first_row(key, step)),
    )


def form() -> FormSheet:
    """Sheet Home."""
    rows = (*_STANDS, *_BEGIN, *_NEXT, heading("All sheets"), *_ways(), _CHART, *_workings())
    return FormSheet(
        HOME, "Home", "How the business stands and what to do next.", rows, (26, 16, 24, 18, 18), 4, since=10
    )
