"""What can be wrong with a row of sheet Lots: what the sheet says and its formula, and Python's verdict beside it."""

from __future__ import annotations

from typing import Final

import numpy as np

from sheetfns.log.model.sheets import RowCheck
from sheetfns.log.sheets.checked_rows import (
    CheckedRows,
    blank,
    blank_in_filled_row,
    late_check,
    not_listed,
    number_check,
    patterns,
    source_check,
    swapped_check,
    twice,
)
from sheetfns.log.sheets.columns import below_zero
from sheetfns.log.sheets.words import ROW_ONE

_NUMBERS: Final = (("bought_on", "bought_on"), ("paid", "purchase_tax"))


def _no_values(rows: CheckedRows) -> None:
    items = rows.others["Log"]
    sums: dict[str, float] = {}
    for number, value in zip(items.words("lot_no"), np.nan_to_num(items.amounts("expected_price")), strict=True):
        sums[number.casefold()] = sums.get(number.casefold(), 0.0) + float(value)
    numbers = rows.read.words("lot_no")
    rows.say(
        np.array([bool(number) and sums.get(number.casefold()) == 0 for number in numbers], dtype=bool),
        "lot_no",
        lambda i: (
            f"{rows.header('lot_no')}: none of the items of lot '{numbers[i]}' has an expected price on "
            f"{items.sheet}, so its cost can't be split; enter them there"
        ),
    )


# A table: key, message, formula, Python's verdict.
# fmt: off
CHECKS: Final = (
    RowCheck("no_item", "the lot no. is blank", 'AND({lot_no}="",{entered}>0)',
             blank_in_filled_row("lot_no", "the row has entries, but counts only with a number of its own")),
    RowCheck("item_twice", "lot no. is duplicated",
             f'IF({{lot_no}}="",FALSE,MATCH({{lot_no}},Lots_lot_no,0)<>ROW()-{ROW_ONE})', twice("lot_no")),
    number_check(_NUMBERS),
    RowCheck("negative", "an amount is below 0", below_zero(_NUMBERS)),
    RowCheck("no_date", "bought on is blank", 'AND({lot_no}<>"",{bought_on}="")',
             blank("bought_on", "enter the day of purchase", beside="lot_no")),
    RowCheck("no_paid", "paid is blank", 'AND({lot_no}<>"",{paid}="")',
             blank("paid", "enter the price of the whole lot, or 0", beside="lot_no")),
    source_check(),
    late_check("bought_on"),
    RowCheck("no_values", "no item has an expected price",
             "IF(COUNT({items},{expected_sum})=2,AND({items}>0,{expected_sum}=0),FALSE)", _no_values),
    RowCheck("not_added_up", "shares don't add up to the cost",
             "IF(COUNT({items},{not_shared})=2,AND({items}>0,{not_shared}<>0),FALSE)",
             of_results=lambda lots: (lots["lot_no"] != "") & (lots["items"] > 0)
             & (lots["not_shared"].fillna(0) != 0)),
    RowCheck("no_items", "no item is in the log yet", 'AND({lot_no}<>"",{items}=0)',
             of_results=lambda lots: (lots["lot_no"] != "") & (lots["items"] == 0), notice=True),
    swapped_check("Lots_bought_on", "bought_on"),
)
ENTRY_CHECKS: Final = (
    RowCheck("no_partner", "bought by is not on Settings", "", not_listed("bought_by")),
    RowCheck("read_as_pattern", "a name has a wildcard or comparison sign", "", patterns("lot_no", "found_at")),
)
"""What Python alone sees in an entry."""
# fmt: on
