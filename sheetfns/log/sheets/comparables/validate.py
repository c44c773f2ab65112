"""What can be wrong with a row of sheet Comparables."""

from __future__ import annotations

from typing import Final

import numpy as np

from sheetfns.log.model.sheets import RowCheck
from sheetfns.log.sheets.checked_rows import (
    CheckedRows,
    after_as_of,
    blank,
    blank_in_filled_row,
    both,
    not_listed,
    patterns,
)
from sheetfns.log.sheets.columns import text_among_numbers
from sheetfns.log.sheets.words import COMP_ASKED, COMP_SOLD, NO, ROW_ONE, STOPS_ON, YES

_NUMBERS: Final = tuple((key, key) for key in ("price", "postage", "seen_on", "missing_parts"))


def _neither(key: str) -> str:
    return f'AND({{{key}}}<>"",{{{key}}}<>"{YES}",{{{key}}}<>"{NO}")'


def _no_date(rows: CheckedRows) -> None:
    undated = rows.holding("kind", COMP_SOLD) & ~rows.filled("seen_on")
    rows.blank(undated, "seen_on", "newer sales count more; enter the day")


def _no_postage(rows: CheckedRows) -> None:
    included = rows.holding("kind", COMP_SOLD) & rows.holding("postage_in", YES)
    rows.blank(included & ~rows.filled("postage"), "postage", "postage is in the price, so enter how much of it")


def _mine_below(rows: CheckedRows) -> None:
    first: dict[str, int] = {}
    words = [word.casefold() for word in rows.read.words("item")]
    below = np.array([bool(word) and first.setdefault(word, i) != i for i, word in enumerate(words)], dtype=bool)
    rows.once_in_a_row(
        {column: below & rows.filled(column) for column in ("my_condition", "missing_parts")},
        "counts only in the first row of its item; move it there",
    )


# A table: key, message, formula, Python's verdict.
# fmt: off
CHECKS: Final = (
    RowCheck("no_item", "the item is blank", 'AND({item}="",{entered}>0)',
             blank_in_filled_row("item", "the row counts only with the item it compares to")),
    RowCheck("not_a_number", "text instead of a number or date", text_among_numbers(_NUMBERS)),
    RowCheck("negative", "an amount is below 0", "MIN({price},{postage},{missing_parts},0)<0"),
    RowCheck("no_kind", "fill in sold or asked",
             f'AND({{item}}<>"",{{kind}}<>"{COMP_SOLD}",{{kind}}<>"{COMP_ASKED}")',
             both(blank("kind", "enter Sold or Asked", beside="item"), not_listed("kind"))),
    RowCheck("no_price", "the price is blank", 'AND({item}<>"",{price}="")',
             blank("price", "enter what was paid or what is asked", beside="item")),
    RowCheck("no_date", "the day is blank", f'AND({{kind}}="{COMP_SOLD}",{{seen_on}}="")', _no_date),
    RowCheck("no_postage", "postage is in the price: enter how much",
             f'AND({{kind}}="{COMP_SOLD}",{{postage_in}}="{YES}",{{postage}}="")', _no_postage),
    RowCheck("no_yes_or_no", "enter Yes or No, or leave it blank",
             f"{_neither('postage_in')}+{_neither('complete')}>0", not_listed("postage_in", "complete")),
    RowCheck("no_condition", "a condition is not on Settings",
             'OR(IF({condition}="",FALSE,COUNTIF(Condition_name,{condition})=0),'
             'IF({my_condition}="",FALSE,COUNTIF(Condition_name,{my_condition})=0))',
             not_listed("condition", "my_condition")),
    RowCheck("mine_below", "enter your own in the item's first row",
             f'AND({{first_row}}<>"",{{first_row}}<>ROW()-{ROW_ONE},COUNTA({{my_condition}}:{{missing_parts}})>0)',
             _mine_below),
    RowCheck("after_as_of", "dated after As of (Settings)", f"INT(MAX({{seen_on}},0))>{STOPS_ON}",
             after_as_of("seen_on")),
)
# fmt: on
ENTRY_CHECKS: Final = (RowCheck("read_as_pattern", "a name has a wildcard or comparison sign", "", patterns("item")),)
"""What Python alone sees in an entry."""
