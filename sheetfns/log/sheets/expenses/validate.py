"""What can be wrong with a row of sheet Expenses: what the sheet says, its formula, and Python's verdict."""

from __future__ import annotations

from typing import Final

from sheetfns.log.model.sheets import RowCheck
from sheetfns.log.sheets.checked_rows import (
    blank,
    blank_in_filled_row,
    both,
    early_check,
    late_check,
    not_listed,
    number_check,
    source_check,
    swapped_check,
)
from sheetfns.log.sheets.words import SETTINGS

# A table: key, message, formula, Python's verdict.
# fmt: off
CHECKS: Final = (
    RowCheck("no_date", "the date is blank", 'AND({spent_on}="",{entered}>0)',
             blank_in_filled_row("spent_on", "the expense counts only with the day of payment")),
    number_check((("spent_on", "spent_on"), ("amount", "amount"))),
    RowCheck("negative", "the amount is below 0", "MIN({amount},0)<0"),
    RowCheck("no_paid", "the amount is blank", 'AND({spent_on}<>"",{amount}="")',
             blank("amount", "enter what was paid", beside="spent_on")),
    RowCheck("no_heading", "heading is not on Settings",
             'IF({spent_on}="",FALSE,IF({heading}="",TRUE,COUNTIF(Heading_heading,{heading})=0))',
             both(blank("heading", f"choose one of those on {SETTINGS}", beside="spent_on"),
                  not_listed("heading", beside="spent_on"))),
    source_check(),
    late_check("spent_on"),
    early_check("spent_on"),
    swapped_check("Expenses_spent_on", "spent_on"),
)
# fmt: on
