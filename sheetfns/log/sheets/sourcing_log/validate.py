"""What is wrong with the rows of a log: the row checks of the layout, with the values named.

The conditions are those of the checks in the layout, under the same keys. Left to the sheet are
the notices, and whether a lot's shares add up: they judge figures, not entries.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sheetfns.log.model.sheets import TableSheet
from sheetfns.log.model.typed_rows import Issue, ReadRows
from sheetfns.log.sheets.checked_rows import CheckedRows, after_as_of, before_first
from sheetfns.log.sheets.reference_lists import Names, ReferenceLists, Rows
from sheetfns.log.sheets.words import OWN_USE, SETTINGS
from sheetfns.money import round_money

_KEYS_OF_LISTS: Final = {"Partner_name": "no_partner", "Source_name": "no_source"}
"""Channels and headings are judged with the rows; categories and conditions are free."""
_KEYS_OF_CHOICES: Final = {"left_how": "no_left_how", "postage_payer": "no_payer", "taken_by": "no_taker"}
_JUDGED_WITH_ROWS: Final = ("whose",)


class _Rows:
    """Rows whose checks are not yet declared in the room of their sheet."""

    def __init__(self, table: TableSheet, read: Mapping[str, ReadRows], lists: ReferenceLists) -> None:
        self.rows = CheckedRows(table, read, lists)
        self.read = self.rows.read

    def __getattr__(self, name: str) -> Any:
        return getattr(self.rows, name)

    def say(self, rows: Rows, key: str, column: str, message: Any) -> None:
        self.rows.code = key
        self.rows.say(rows, column, message)

    def blank(self, rows: Rows, key: str, column: str, advice: str) -> None:
        self.rows.code = key
        self.rows.blank(rows, column, advice)

    def unknown(self, rows: Rows, key: str, column: str, names: Names) -> None:
        self.rows.code = key
        self.rows.unknown(rows, column, names)

    def twice(self, column: str) -> None:
        self.rows.code = "item_twice"
        self.rows.twice(column)

    def patterns(self, column: str) -> None:
        self.rows.code = "read_as_pattern"
        self.rows.patterns(column)

    def after_as_of(self, *columns: str) -> None:
        self.rows.code = "after_as_of"
        after_as_of(*columns)(self.rows)

    def before_first(self, *columns: str) -> None:
        self.rows.code = "before_first"
        before_first(*columns)(self.rows)

    def once_in_a_row(self, key: str, wrong: dict[str, Rows], words: str) -> None:
        self.rows.code = key
        self.rows.once_in_a_row(wrong, words)

    def choices(self) -> None:
        """Report words that are none of a column's fixed choices, and unknown buyers."""
        for column in self.rows.table.inputs():
            names = self.rows.lists.listed(column)
            key = _KEYS_OF_CHOICES.get(column.key) or _KEYS_OF_LISTS.get(column.names)
            if column.key not in _JUDGED_WITH_ROWS and key is not None and names is not None:
                self.unknown(self.rows.all, key, column.key, names)


def row_problems(tables: Mapping[str, TableSheet], read: Mapping[str, ReadRows], lists: ReferenceLists) -> list[Issue]:
    """What is wrong with the rows of the sheets, in the order of the sheets."""
    found: list[Issue] = []
    for key, judge in _JUDGES.items():
        rows = _Rows(tables[key], read, lists)
        rows.choices()
        judge(rows, read)
        found += rows.found
    return found


def _pieces(rows: _Rows, read: Mapping[str, ReadRows]) -> None:
    item, sold = rows.filled("item_no"), rows.filled("sold_on")
    alone = item & ~rows.filled("lot_no")
    rows.blank(
        ~item & rows.filled(*rows.all_but("item_no")),
        "no_item",
        "item_no",
        "the row is filled, but counts only with a number of its own",
    )
    rows.twice("item_no")
    rows.patterns("item_no")
    rows.patterns("found_at")
    rows.blank(
        alone & ~rows.filled("bought_on"),
        "no_date",
        "bought_on",
        "write the day of purchase, or the lot no. if the piece came in a lot",
    )
    rows.blank(
        alone & ~rows.filled("paid"),
        "no_paid",
        "paid",
        "write 0 if the piece was free, or the lot no. if it came in a lot",
    )
    stock_date = _lot_of_pieces(rows, read["Lots"])
    rows.unknown(rows.filled("channel"), "no_channel", "channel", rows.lists.channels)
    rows.blank(sold & ~rows.filled("channel"), "no_channel", "channel", "write where the piece was sold")
    _sales(rows, sold, stock_date)
    _left(rows, stock_date)
    rows.after_as_of("bought_on", "listed_on", "sold_on", "refunded_on", "returned_on", "left_on")
    rows.before_first("sold_on", "left_on")


def _lot_of_pieces(rows: _Rows, lots: ReadRows) -> NDArray[np.datetime64]:
    """Report what is wrong with lot numbers; the day from which each piece is in stock."""
    numbers = rows.read.words("lot_no")
    in_lot = rows.filled("lot_no")
    known = Names(lots.words("lot_no"), "sheet Lots")
    rows.unknown(in_lot, "no_lot", "lot_no", known)
    places: dict[str, int] = {}
    for place, number in enumerate(lots.words("lot_no")):
        places.setdefault(number.casefold(), place)
    lot_place = np.array([places.get(n.casefold(), -1) if n else -1 for n in numbers], dtype=int)
    as_number = np.zeros(len(numbers), dtype=bool)
    as_number[list(rows.read.numbers["lot_no"])] = True
    lot_as_number = np.zeros(len(lots.rows) + 1, dtype=bool)
    lot_as_number[list(lots.numbers["lot_no"])] = True
    rows.say(
        (lot_place >= 0) & (as_number != lot_as_number[lot_place]),
        "no_lot",
        "lot_no",
        lambda i: (
            f"{rows.header('lot_no')}: '{numbers[i]}' is a number on one sheet and text on the "
            f"other ({lots.sheet}!{lots.cell('lot_no', int(lot_place[i]))}), so that the sheet "
            "does not find it; type it again in the one that is a number"
        ),
    )
    done = np.zeros(len(numbers), dtype=bool)
    for column in ("paid", "purchase_tax"):
        typed = in_lot & (np.nan_to_num(rows.read.amounts(column)) != 0) & ~done
        done |= typed
        rows.say(
            typed,
            "lot_and_paid",
            column,
            lambda i, column=column: (
                f"{rows.header(column)}: {rows.shown(column, i)} is typed though lot "
                f"'{numbers[i]}' paid for the piece; clear one of the two"
            ),
        )
    rows.blank(
        in_lot & ~rows.filled("expected_price"),
        "lot_no_value",
        "expected_price",
        "a piece of a lot takes its share of the cost by it; write what you think it sells for",
    )
    lot_dates = np.append(lots.dates("bought_on"), np.datetime64("NaT"))
    return np.where(in_lot, lot_dates[lot_place], rows.read.dates("bought_on"))


def _sales(rows: _Rows, sold: Rows, stock_date: NDArray[np.datetime64]) -> None:
    sold_on = rows.read.dates("sold_on")
    rows.say(
        sold_on < stock_date,
        "sold_early",
        "sold_on",
        lambda i: (
            f"{rows.header('sold_on')}: {rows.shown('sold_on', i)} is before the day of purchase, "
            f"{_day(stock_date[i])}; mend the one that is wrong"
        ),
    )
    rows.blank(sold & ~rows.filled("sale_price"), "no_price", "sale_price", "write what the buyer paid for the piece")
    of_sale = [key for key in rows.between("sale_price", "returned_on") if key != "sold_on"]
    rows.blank(
        ~sold & rows.filled(*of_sale), "no_sale_date", "sold_on", "the sale is filled in, but counts only with its day"
    )
    _refunds(rows)
    rows.say(
        sold & ~rows.filled("returned_on") & rows.filled("left_how"),
        "sold_and_left",
        "left_how",
        lambda i: (
            f"{rows.header('left_how')}: {rows.shown('left_how', i)}, but the piece was sold on "
            f"{rows.shown('sold_on', i)} and did not come back; clear one of the two"
        ),
    )


def _refunds(rows: _Rows) -> None:
    sold = rows.filled("sold_on")
    shipping = np.nan_to_num(rows.read.amounts("shipping_charged"))
    income = np.where(sold, rows.read.amounts("sale_price") + shipping, np.nan)
    over = np.nan_to_num(rows.read.amounts("refund")) - income
    rows.say(
        np.asarray(round_money(over) > 0),
        "refund_high",
        "refund",
        lambda i: (
            f"{rows.header('refund')}: {rows.shown('refund', i)} is more than price and shipping, "
            f"{income[i]:.2f}; mend the one that is wrong"
        ),
    )
    nothing = ~rows.filled("refund") | (rows.read.amounts("refund") == 0)
    rows.say(
        rows.filled("returned_on") & nothing,
        "back_no_refund",
        "refund",
        lambda i: (
            f"{rows.header('refund')} is {rows.shown('refund', i)}, but the piece came back on "
            f"{rows.shown('returned_on', i)}; write what you paid back, or clear that day"
        ),
    )
    rows.say(
        rows.filled("refunded_on") & ~rows.filled("refund"),
        "refund_no_amount",
        "refund",
        lambda i: (
            f"{rows.header('refund')} is blank, but it was paid on "
            f"{rows.shown('refunded_on', i)}; write the amount, or clear that day"
        ),
    )
    done = np.zeros(len(sold), dtype=bool)
    for column in ("refunded_on", "returned_on"):
        early = rows.later_than(column, "sold_on") & ~done
        done |= early
        rows.say(
            early,
            "refund_early",
            column,
            lambda i, column=column: (
                f"{rows.header(column)}: {rows.shown(column, i)} is before the day of the sale, "
                f"{rows.shown('sold_on', i)}; mend the one that is wrong"
            ),
        )


def _left(rows: _Rows, stock_date: NDArray[np.datetime64]) -> None:
    how, left = rows.filled("left_how"), rows.filled("left_on")
    rows.blank(how & ~left, "left_half", "left_on", "write the day on which the piece left otherwise")
    rows.blank(left & ~how, "left_half", "left_how", "write how the piece left, or clear the day")
    own_use = np.array([word.casefold() == OWN_USE.casefold() for word in rows.read.words("left_how")])
    rows.say(
        rows.filled("taken_by") & ~own_use.astype(bool),
        "taken_not_own",
        "taken_by",
        lambda i: (
            f"{rows.header('taken_by')}: {rows.shown('taken_by', i)} counts only with {OWN_USE} "
            f"under {rows.header('left_how')}; write that, or clear it"
        ),
    )
    left_on, back = rows.read.dates("left_on"), rows.read.dates("returned_on")
    early = left_on < stock_date
    rows.say(
        early,
        "left_early",
        "left_on",
        lambda i: (
            f"{rows.header('left_on')}: {rows.shown('left_on', i)} is before the day of purchase, "
            f"{_day(stock_date[i])}; mend the one that is wrong"
        ),
    )
    rows.say(
        (left_on < back) & ~early,
        "left_early",
        "left_on",
        lambda i: (
            f"{rows.header('left_on')}: {rows.shown('left_on', i)} is before the piece came back, "
            f"{_day(back[i])}; mend the one that is wrong"
        ),
    )


def _day(day: Any) -> str:
    return str(day)[:10]


def _expenses(rows: _Rows, _read: Mapping[str, ReadRows]) -> None:
    dated = rows.filled("spent_on")
    rows.blank(
        ~dated & rows.filled(*rows.all_but("spent_on")),
        "no_date",
        "spent_on",
        "the expense counts only with the day of payment",
    )
    rows.blank(dated & ~rows.filled("amount"), "no_paid", "amount", "write what was paid")
    rows.blank(dated & ~rows.filled("heading"), "no_heading", "heading", f"choose one of those on {SETTINGS}")
    rows.unknown(dated, "no_heading", "heading", rows.lists.headings)
    rows.after_as_of("spent_on")
    rows.before_first("spent_on")


def _trips(rows: _Rows, _read: Mapping[str, ReadRows]) -> None:
    dated = rows.filled("driven_on")
    rows.blank(
        ~dated & rows.filled(*rows.all_but("driven_on")), "no_date", "driven_on", "the trip counts only with its day"
    )
    for column in ("purpose", "to_place", "miles"):
        rows.blank(
            dated & ~rows.filled(column), "not_recorded", column, "a trip needs day, purpose, place and miles to count"
        )
    days = rows.read.dates("driven_on")
    rows.say(
        ~np.isnat(days) & ~_covered(days, rows.lists.mileage),
        "no_rate",
        "driven_on",
        lambda i: (
            f"{rows.header('driven_on')}: {SETTINGS} has no rate per mile for "
            f"{rows.shown('driven_on', i)}; mend the date, or add the rate there"
        ),
    )
    rows.after_as_of("driven_on")


def _covered(days: NDArray[np.datetime64], mileage: pd.DataFrame) -> Rows:
    """Days that the last row of rates that began before them still covers."""
    dated = mileage.dropna(subset=["from"]).sort_values("from", kind="stable")
    begins = dated["from"].to_numpy()
    ends = np.append(np.datetime64("NaT"), (dated["until"] + pd.Timedelta(days=1)).to_numpy())
    covered: Rows = days < ends[np.searchsorted(begins, days, side="right")]
    return covered


def _owner(rows: _Rows, _read: Mapping[str, ReadRows]) -> None:
    rows.blank(
        ~rows.filled("moved_on") & rows.filled(*rows.all_but("moved_on")),
        "no_date",
        "moved_on",
        "the money counts only with its day",
    )
    moved = sum(np.nan_to_num(rows.read.amounts(key)) for key in ("put_in", "took_out"))
    rows.blank(np.asarray(moved != 0) & ~rows.filled("partner"), "no_partner", "partner", "write whose money it is")
    rows.after_as_of("moved_on")
    rows.before_first("moved_on")


def _own_things(rows: _Rows, _read: Mapping[str, ReadRows]) -> None:
    item, sold = rows.filled("item"), rows.filled("sold_on")
    rows.blank(
        ~item & rows.filled(*rows.all_but("item")), "no_item", "item", "the row counts only with a word for the thing"
    )
    rows.blank(
        item & ~rows.filled("cost"),
        "no_cost",
        "cost",
        "gain or loss is what it brought over what it cost; of a gift ask your preparer",
    )
    of_sale = ("sale_price", "shipping_charged", "tax_collected", "selling_costs")
    rows.blank(
        ~sold & rows.filled(*of_sale), "no_sale_date", "sold_on", "the sale is filled in, but counts only with its day"
    )
    rows.blank(sold & ~rows.filled("sale_price"), "no_price", "sale_price", "write what the buyer paid")
    everywhere = np.ones(len(item), dtype=bool)
    rows.unknown(everywhere, "no_owner", "whose", rows.lists.partners)
    rows.unknown(everywhere, "no_channel", "channel", rows.lists.channels)
    rows.after_as_of("sold_on")


_JUDGES: Final[dict[str, Callable[[_Rows, Mapping[str, ReadRows]], None]]] = {
    "Log": _pieces,
    "Expenses": _expenses,
    "Trips": _trips,
    "Own": _own_things,
    "Owner": _owner,
}
