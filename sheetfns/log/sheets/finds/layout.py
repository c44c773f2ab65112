"""Sheet Finds of a pocket copy: what was bought at the shelf, in the columns of the sourcing log."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from sheetfns.cell_types import TEXT
from sheetfns.log.model.sheets import Column, Formula, RowCheck, TableSheet
from sheetfns.log.sheets.columns import (
    around_entries,
    below_zero,
    grouped,
    text_among_numbers,
    text_column,
    working_column,
)
from sheetfns.log.sheets.sourcing_log.layout import COLUMNS as COLUMNS_OF_LOG
from sheetfns.log.sheets.sourcing_log.validate import CHECKS as CHECKS_OF_LOG
from sheetfns.log.sheets.words import FIND_ROWS, FINDS, ROW_ONE

_OF_LOG: Final = {column.key: column for column in COLUMNS_OF_LOG}
_SAID_BY_LOG: Final = {check.key: check.message for check in CHECKS_OF_LOG}
_NUMBERS: Final = (("paid", "bought_on"), ("purchase_tax", "expected_price"), ("prep_cost", "prep_cost"))


def _entry(key: str, width: float, help_text: str = "") -> Column:
    """A column of the sourcing log, with a help of its own where there are no lots."""
    column = _OF_LOG[key]
    return replace(column, width=width, help=help_text or column.help)


def _check(key: str, formula: str) -> RowCheck:
    return RowCheck(key, _SAID_BY_LOG[key], formula)


# fmt: off
_ENTRIES: Final = (
    *grouped("Needed", (
        _entry("item_no", 9, "Ready for you: no other item has it. You may enter a number of your own instead."),
        _entry("description", 18),
        _entry("paid", 9, "Price paid for it, without tax; 0 if free."),
        _entry("bought_on", 11.5, "Day of purchase."),
    )),
    *grouped("If known", (
        _entry("found_at", 18),
        _entry("paid_from", 14, "Business, or the partner who paid from their own pocket. Blank counts as Business."),
        _entry("bought_by", 14),
        _entry("purchase_tax", 10.5),
        _entry("expected_price", 10.5, "What you think it will sell for."),
        _entry("category", 16),
        _entry("condition", 12),
        _entry("missing", 20),
        _entry("prep_cost", 10.5),
    )),
)
CHECKS: Final = (
    _check("no_item", '{item_no}=""'),
    _check("item_twice", f'IF({{item_no}}="",FALSE,MATCH({{item_no}},Finds_item_no,0)<>ROW()-{ROW_ONE})'),
    _check("not_a_number", text_among_numbers(_NUMBERS)),
    _check("negative", below_zero(_NUMBERS)),
    _check("no_paid", '{paid}=""'),
    _check("no_date", '{bought_on}=""'),
)
# fmt: on


_NOTHING: Final = "COUNTA({description}:{prep_cost})=0"


def _row_check() -> Column:
    """What to fix in a row; its number stands ready, so that a row counts once something else is filled in."""
    formula = Formula('IF({findings}="","ok",MID({findings},3,300))', _NOTHING)
    return text_column("row_check", "Row check", "What to fix in this row; ok if nothing.", 13, formula=formula)


def _findings() -> Column:
    told = "&".join(f'IF({check.formula},"; {check.message}","")' for check in CHECKS)
    return working_column("findings", "Findings", TEXT, Formula(told, _NOTHING), "What is wrong with the row.")


def _columns() -> tuple[Column, ...]:
    """The entries, and what is wrong with them; nothing else of what a sheet of the log works out."""
    columns = around_entries(grouped("Results", (_row_check(),)), _ENTRIES, (_findings(),))
    return tuple(column for column in columns if column.key not in {"entered", "overwritten"})


def sheet() -> TableSheet:
    """Sheet Finds."""
    purpose = "What you bought. Only this sheet goes into the log."
    return TableSheet(FINDS, "Finds", purpose, _columns(), FIND_ROWS, CHECKS, frozen_entries=0)
