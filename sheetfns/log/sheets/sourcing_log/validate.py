"""What is wrong with the rows of a log: the row checks of the layout, with the values named.

The conditions are those of the checks in the layout, under the same keys. Left to the sheet are
the notices, and whether a lot's shares add up: they judge figures, not entries.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sheetfns.cell_types import shown_cell
from sheetfns.log.model.sheets import Column, TableSheet
from sheetfns.log.read.cells import Problem, ReadRows
from sheetfns.log.sheets.words import BUSINESS, BY_DAY, COMP_SOLD, OWN_USE, RETURNED_PIECE, SETTINGS, YES
from sheetfns.money import round_money

_NAMES_LISTED: Final = 8
_KEYS_OF_LISTS: Final = {"Partner_name": "no_partner", "Source_name": "no_source"}
"""Channels and headings are judged with the rows; categories and conditions are free."""
_KEYS_OF_CHOICES: Final = {
    "left_how": "no_left_how",
    "postage_payer": "no_payer",
    "taken_by": "no_taker",
    "kind": "no_kind",
    "postage_in": "no_yes_or_no",
    "complete": "no_yes_or_no",
}
_JUDGED_WITH_ROWS: Final = ("whose",)
_PATTERN_MARKS: Final = re.compile(r"[*?~]|^[<>=]")
_BLANK_PLACES: Final = {
    (True, True): "blanks before and after it",
    (True, False): "a blank before it",
    (False, True): "a blank at the end",
    (False, False): "other blanks within it",
}

Rows = NDArray[np.bool_]


class Names:
    """The words that a column may hold, compared as a spreadsheet does: capitals do not count."""

    def __init__(self, words: Iterable[str], home: str, *, own_words: bool = True) -> None:
        self.words = list(dict.fromkeys(word for word in words if word))
        self.home = home
        self.own_words = own_words
        self._folded = {word.casefold(): word for word in reversed(self.words)}
        self._by_letters = {_letters(word): word for word in reversed(self.words)}

    def __contains__(self, word: str) -> bool:
        return word.casefold() in self._folded

    def spelled(self, words: Sequence[str]) -> list[str]:
        """The words with the capitals that they have in this list."""
        return [self._folded.get(word.casefold(), word) for word in words]

    def unknown(self, words: Sequence[str]) -> Rows:
        """Which of the words are none of these; a blank is not."""
        verdict = {word: bool(word) and word not in self for word in set(words)}
        return np.array([verdict[word] for word in words], dtype=bool)

    def refusal(self, header: str, word: str) -> str:
        """Why the word is not known, and what to write."""
        shown = shown_cell(word) if word == word.strip() else word[:40]
        near = self._by_letters.get(_letters(word))
        if near is None:
            listed = ", ".join(f"'{name}'" for name in self.words[:_NAMES_LISTED])
            listed += ", ..." if len(self.words) > _NAMES_LISTED else ""
            or_add = f", or add it on {self.home}" if self.own_words else ""
            choices = f"write one of {listed}{or_add}" if listed else f"add it on {self.home}"
            return f"{header}: '{shown}' is not on {self.home}; {choices}"
        if word.strip() != word:
            ends = _BLANK_PLACES[word[:1].isspace(), word[-1:].isspace()]
            return f"{header}: '{shown}' has {ends}; write '{near}'"
        ends = _BLANK_PLACES[near[:1].isspace(), near[-1:].isspace()]
        return f"{header}: '{shown}' is not on {self.home}, where '{near}' has {ends}; take the blank away there"


def _letters(word: str) -> str:
    return "".join(word.split()).casefold()


def pattern_refusal(header: str, name: str) -> str | None:
    """Why a spreadsheet would not look for just this name, and what to write; None if it would."""
    marks = sorted(set(_PATTERN_MARKS.findall(name)))
    if not marks:
        return None
    return (
        f"{header}: '{shown_cell(name)}' holds {' and '.join(marks)}, which a spreadsheet takes as "
        "a pattern when it looks for the name; write it without"
    )


@dataclass(frozen=True)
class ReferenceLists:
    """What rows are judged against."""

    partners: Names
    sources: Names
    channels: Names
    headings: Names
    categories: Names
    conditions: Names
    mileage: pd.DataFrame
    as_of: dt.date | None
    first_month: dt.date | None
    plan_by_day: bool

    @classmethod
    def of(cls, settings: Mapping[str, Any], blocks: Mapping[str, pd.DataFrame]) -> ReferenceLists:
        """The names and dates on Settings."""
        partners = list(blocks["Partner"]["name"])
        return cls(
            Names(partners, SETTINGS),
            Names([BUSINESS, RETURNED_PIECE, *partners], SETTINGS),
            Names(blocks["Channel"]["name"], SETTINGS),
            Names(blocks["Heading"]["heading"], SETTINGS),
            Names(blocks["Category"]["name"], SETTINGS),
            Names(blocks["Condition"]["name"], SETTINGS),
            blocks["Mileage"],
            settings.get("As_of_date"),
            settings.get("First_month"),
            str(settings.get("Plan_by") or "").casefold() == BY_DAY.casefold(),
        )

    def listed(self, column: Column) -> Names | None:
        """The words that a column is chosen from."""
        lists = {
            "Partner_name": self.partners,
            "Source_name": self.sources,
            "Channel_name": self.channels,
            "Heading_heading": self.headings,
            "Category_name": self.categories,
            "Condition_name": self.conditions,
        }
        if column.choices:
            return Names(column.choices, "the list", own_words=False)
        return lists[column.names] if column.names else None


def spell_as_listed(tables: Mapping[str, TableSheet], read: Mapping[str, ReadRows], background: ReferenceLists) -> None:
    """Give words from lists the capitals that they have there; the sheets take both for equal."""
    lots = Names(read["Lots"].words("lot_no"), "sheet Lots")
    for key, rows in read.items():
        for column in tables[key].inputs():
            names = background.listed(column)
            if (key, column.key) == ("Log", "lot_no"):
                names = lots
            if names is not None:
                spelled = names.spelled(rows.words(column.key))
                rows.frame[column.key] = pd.Series(spelled, rows.frame.index, dtype=object)


class _Rows:
    """The rows of one sheet while problems are gathered."""

    def __init__(self, table: TableSheet, read: ReadRows, background: ReferenceLists) -> None:
        self.table = table
        self.read = read
        self.background = background
        self.found: list[Problem] = []

    def header(self, key: str) -> str:
        return self.table.column(key).header

    def filled(self, *keys: str) -> Rows:
        """Rows in which any of these is filled."""
        filled: Rows = np.logical_or.reduce([self.read.filled[key] for key in keys])
        return filled

    def between(self, first: str, last: str) -> tuple[str, ...]:
        """The inputs from one column to another, in the layout's order."""
        keys = [column.key for column in self.table.columns]
        span = keys[keys.index(first) : keys.index(last) + 1]
        return tuple(key for key in span if key in self.read.filled)

    def all_but(self, key: str) -> tuple[str, ...]:
        return tuple(other for other in self.read.filled if other != key)

    def shown(self, key: str, place: int) -> str:
        """A value as a message names it."""
        value = self.read.frame[key].iloc[place]
        kind = self.table.column(key).kind
        if kind.holds == "text":
            return f"'{shown_cell(value)}'" if value else "blank"
        if pd.isna(value):
            return "blank"
        if kind.holds == "date":
            return f"{value:%Y-%m-%d}" if value == value.normalize() else f"{value:%Y-%m-%d %H:%M}"
        return f"{value:.2f}" if kind.unit == "money" else f"{value:g}"

    def say(self, rows: Rows, key: str, column: str, message: Callable[[int], str] | str) -> None:
        """Report a problem in a column of the rows."""
        for place in np.flatnonzero(rows).tolist():
            words = message if isinstance(message, str) else message(place)
            found = self.shown(column, place).strip("'")
            self.found.append(Problem(self.read.sheet, self.read.cell(column, place), found, words, key))

    def blank(self, rows: Rows, key: str, column: str, advice: str) -> None:
        """Report that a column is blank in the rows."""
        self.say(rows, key, column, f"{self.header(column)} is blank; {advice}")

    def unknown(self, rows: Rows, key: str, column: str, names: Names) -> None:
        """Report words that are none of the names."""
        words = self.read.words(column)
        bad = rows & names.unknown(words)
        self.say(bad, key, column, lambda i: names.refusal(self.header(column), words[i]))

    def twice(self, column: str) -> None:
        """Report numbers that stand further up already."""
        first: dict[str, int] = {}
        again = np.zeros(len(self.read.rows), dtype=bool)
        words = self.read.words(column)
        for place, word in enumerate(words):
            if word:
                again[place] = first.setdefault(word.casefold(), place) != place
        header = self.header(column)
        self.say(
            again,
            "item_twice",
            column,
            lambda i: (
                f"{header}: '{shown_cell(words[i])}' stands in row "
                f"{self.read.rows[first[words[i].casefold()]]} already and again in row "
                f"{self.read.rows[i]}; give one of them another number"
            ),
        )

    def patterns(self, column: str) -> None:
        """Report names that a spreadsheet takes as patterns."""
        words = self.read.words(column)
        refusals = {word: pattern_refusal(self.header(column), word) for word in set(words)}
        self.say(
            np.array([refusals[word] is not None for word in words], dtype=bool),
            "read_as_pattern",
            column,
            lambda i: refusals[words[i]] or "",
        )

    def choices(self) -> None:
        """Report words that are none of a column's fixed choices, and unknown buyers."""
        everywhere = np.ones(len(self.read.rows), dtype=bool)
        for column in self.table.inputs():
            names = self.background.listed(column)
            key = _KEYS_OF_CHOICES.get(column.key) or _KEYS_OF_LISTS.get(column.names)
            if column.key in _JUDGED_WITH_ROWS:
                continue
            if key is not None and names is not None:
                self.unknown(everywhere, key, column.key, names)

    def later_than(self, late: str, early: str) -> Rows:
        """Rows in which a day that should be later is before the other."""
        return self.read.dates(late) < self.read.dates(early)

    def after_as_of(self, *columns: str) -> None:
        """Report dates after the day that figures are as of, once for each row."""
        as_of = self.background.as_of
        if as_of is not None:
            self.once_in_a_row(
                "after_as_of",
                {column: self.read.dates(column).astype("datetime64[D]") > np.datetime64(as_of) for column in columns},
                f"is after {as_of}, the day that figures are as of; mend the date, or that day on {SETTINGS}",
            )

    def before_first(self, *columns: str) -> None:
        """Report dates before the first month of the log, once for each row."""
        first = self.background.first_month
        if first is not None:
            self.once_in_a_row(
                "before_first",
                {column: self.read.dates(column) < np.datetime64(first) for column in columns},
                f"is before {first}, with which this log begins; mend the date, or the first month on {SETTINGS}",
            )

    def once_in_a_row(self, key: str, wrong: dict[str, Rows], words: str) -> None:
        """Report the first wrong column of each row."""
        done = np.zeros(len(self.read.rows), dtype=bool)
        for column, rows in wrong.items():
            self.say(
                rows & ~done,
                key,
                column,
                lambda i, column=column: (  # type: ignore[misc]
                    f"{self.header(column)}: {self.shown(column, i)} {words}"
                ),
            )
            done |= rows


def row_problems(
    tables: Mapping[str, TableSheet], read: Mapping[str, ReadRows], background: ReferenceLists
) -> list[Problem]:
    """What is wrong with the rows of the sheets, in the order of the sheets."""
    found: list[Problem] = []
    for key, judge in _JUDGES.items():
        rows = _Rows(tables[key], read[key], background)
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
    rows.unknown(rows.filled("channel"), "no_channel", "channel", rows.background.channels)
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
            lambda i, column=column: (  # type: ignore[misc]
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
            lambda i, column=column: (  # type: ignore[misc]
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


def _day(day: np.datetime64) -> str:
    return str(day)[:10]


def _lots(rows: _Rows, read: Mapping[str, ReadRows]) -> None:
    lot = rows.filled("lot_no")
    rows.blank(
        ~lot & rows.filled(*rows.all_but("lot_no")),
        "no_item",
        "lot_no",
        "the row is filled, but counts only with a number of its own",
    )
    rows.twice("lot_no")
    rows.patterns("lot_no")
    rows.patterns("found_at")
    rows.after_as_of("bought_on")
    rows.blank(lot & ~rows.filled("bought_on"), "no_date", "bought_on", "write the day of purchase")
    rows.blank(lot & ~rows.filled("paid"), "no_paid", "paid", "write the price of the whole lot, or 0")
    pieces = read["Log"]
    values = np.nan_to_num(pieces.amounts("expected_price"))
    sums: dict[str, float] = {}
    for number, value in zip(pieces.words("lot_no"), values.tolist(), strict=True):
        sums[number.casefold()] = sums.get(number.casefold(), 0.0) + value
    numbers = rows.read.words("lot_no")
    rows.say(
        np.array([bool(n) and sums.get(n.casefold()) == 0 for n in numbers], dtype=bool),
        "no_values",
        "lot_no",
        lambda i: (
            f"{rows.header('lot_no')}: none of the pieces of lot '{numbers[i]}' has an expected "
            f"price on {pieces.sheet}, so that its cost cannot be shared out; write them there"
        ),
    )


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
    rows.unknown(dated, "no_heading", "heading", rows.background.headings)
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
        ~np.isnat(days) & ~_covered(days, rows.background.mileage),
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
    rows.unknown(everywhere, "no_owner", "whose", rows.background.partners)
    rows.unknown(everywhere, "no_channel", "channel", rows.background.channels)
    rows.after_as_of("sold_on")


def _comparables(rows: _Rows, _read: Mapping[str, ReadRows]) -> None:
    item = rows.filled("item")
    kinds = rows.read.words("kind")
    sold = np.array([kind.casefold() == COMP_SOLD.casefold() for kind in kinds], dtype=bool)
    rows.blank(
        ~item & rows.filled(*rows.all_but("item")),
        "no_item",
        "item",
        "the row counts only with the item that it is like",
    )
    rows.patterns("item")
    rows.blank(item & ~rows.filled("kind"), "no_kind", "kind", "write Sold or Asked")
    rows.blank(item & ~rows.filled("price"), "no_price", "price", "write what was paid or is asked")
    rows.blank(sold & ~rows.filled("seen_on"), "no_date", "seen_on", "newer sales count more; write the day")
    included = rows.read.words("postage_in")
    with_postage = np.array([word.casefold() == YES.casefold() for word in included], dtype=bool)
    rows.blank(
        sold & with_postage & ~rows.filled("postage"),
        "no_postage",
        "postage",
        "postage is in the price, so write how much of it",
    )
    everywhere = np.ones(len(item), dtype=bool)
    for column in ("condition", "my_condition"):
        rows.unknown(everywhere, "no_condition", column, rows.background.conditions)
    first: dict[str, int] = {}
    below = np.array(
        [bool(w) and first.setdefault(w.casefold(), i) != i for i, w in enumerate(rows.read.words("item"))], dtype=bool
    )
    rows.once_in_a_row(
        "mine_below",
        {column: below & rows.filled(column) for column in ("my_condition", "my_lacks")},
        "counts only in the first row of its item; move it there",
    )
    rows.after_as_of("seen_on")


def _plan(rows: _Rows, _read: Mapping[str, ReadRows]) -> None:
    piece = rows.filled("piece")
    rows.blank(
        ~piece & rows.filled(*rows.all_but("piece")),
        "no_piece",
        "piece",
        "the row counts only with a word for the piece",
    )
    for column in ("ticket", "expected_price"):
        rows.blank(piece & ~rows.filled(column), "no_price", column, "the plan needs both prices")
    rows.blank(piece & ~rows.filled("channel"), "no_channel", "channel", "its fee is needed")
    rows.unknown(piece, "no_channel", "channel", rows.background.channels)
    if rows.background.plan_by_day:
        # Of what is no number, or below 0, that is said already.
        days = rows.read.amounts("days_to_sell")
        rows.say(
            piece & (~rows.filled("days_to_sell") | (days == 0)),
            "no_days",
            "days_to_sell",
            lambda i: (
                f"{rows.header('days_to_sell')} is {rows.shown('days_to_sell', i)}; the plan goes "
                f"by profit a day ({SETTINGS}), so write 1 or more"
            ),
        )


_JUDGES: Final[dict[str, Callable[[_Rows, Mapping[str, ReadRows]], None]]] = {
    "Plan": _plan,
    "Comps": _comparables,
    "Log": _pieces,
    "Lots": _lots,
    "Expenses": _expenses,
    "Trips": _trips,
    "Own": _own_things,
    "Owner": _owner,
}
