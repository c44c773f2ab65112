"""The checks of a sheet's rows in Python: each check of the layout has its verdict beside its formula.

A verdict is a function of `CheckedRows` that reports the cells at fault; its code is the key of the check. Left to the
sheet are the notices, and checks of figures: those say with `of_results` where the frame of the sheet fails.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Final

import numpy as np
import pandas as pd

from sheetfns.cell_types import shown_cell
from sheetfns.log.model.sheets import RowCheck, SettingsBlock, TableSheet
from sheetfns.log.model.typed_rows import Issue, ReadRows
from sheetfns.log.sheets.columns import text_among_numbers
from sheetfns.log.sheets.reference_lists import Names, ReferenceLists, Rows, pattern_refusal
from sheetfns.log.sheets.words import ROW_ONE, SETTINGS, STOPS_ON

_NAMED: Final = re.compile(r"\{(\w+)\}")


class CheckedRows:
    """The typed rows of one sheet, or of a small table on Settings, while its checks judge them.

    Attributes:
        table: the sheet or small table.
        read: its rows.
        lists: what they are judged against.
        others: the rows of every sheet, or of every small table, by key.
        code: the key of the check that judges at the moment.
        found: what is wrong.
    """

    def __init__(
        self,
        table: TableSheet | SettingsBlock,
        others: Mapping[str, ReadRows],
        lists: ReferenceLists,
        found: list[Issue] | None = None,
    ) -> None:
        self.table = table
        self.read = others[table.key]
        self.others = others
        self.lists = lists
        self.code = ""
        self.found: list[Issue] = [] if found is None else found

    @property
    def all(self) -> Rows:
        """Every row."""
        return np.ones(len(self.read.rows), dtype=bool)

    def header(self, key: str) -> str:
        """The header of a column."""
        return self.table.column(key).header

    def filled(self, *keys: str) -> Rows:
        """Rows in which any of these is filled."""
        filled: Rows = np.logical_or.reduce([self.read.filled[key] for key in keys])
        return filled

    def worded(self, column: str) -> Rows:
        """Rows in which a column of texts holds one that can be read."""
        return np.array([bool(typed) for typed in self.read.words(column)], dtype=bool)

    def holding(self, column: str, word: str) -> Rows:
        """Rows in which a column holds a word; capitals do not count."""
        return np.array([typed.casefold() == word.casefold() for typed in self.read.words(column)], dtype=bool)

    def between(self, first: str, last: str) -> tuple[str, ...]:
        """The inputs from one column to another, in the layout's order."""
        keys = [column.key for column in self.table.columns]
        span = keys[keys.index(first) : keys.index(last) + 1]
        return tuple(key for key in span if key in self.read.filled)

    def all_but(self, key: str) -> tuple[str, ...]:
        """The inputs without one of them."""
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

    def say(self, rows: Rows, column: str, message: Callable[[int], str] | str, key: str = "") -> None:
        """Report a problem in a column of the rows, under a key of its own or that of the check.

        In words that are no function, {column} is the value of that column as `shown` gives it.
        """
        for place in np.flatnonzero(rows).tolist():
            found = self.shown(column, place).strip("'")
            words = self._words(message, place)
            self.found.append(Issue(self.read.sheet, self.read.cell(column, place), found, words, key or self.code))

    def _words(self, words: Callable[[int], str] | str, place: int) -> str:
        if isinstance(words, str):
            return _NAMED.sub(lambda one: self.shown(one[1], place) if one[1] in self.read.frame else one[0], words)
        return words(place)

    def blank(self, rows: Rows, column: str, advice: str, key: str = "") -> None:
        """Report that a column is blank in the rows."""
        self.say(rows, column, f"{self.header(column)} is blank; {advice}", key)

    def unknown(self, rows: Rows, column: str, names: Names, key: str = "") -> None:
        """Report words that are none of the names."""
        words = self.read.words(column)
        bad = rows & names.unknown(words)
        self.say(bad, column, lambda i: names.refusal(self.header(column), words[i]), key)

    def twice(self, column: str, advice: str = "give one of them another number", key: str = "") -> None:
        """Report numbers or names that stand further up already."""
        first: dict[str, int] = {}
        again = np.zeros(len(self.read.rows), dtype=bool)
        words = self.read.words(column)
        for place, word in enumerate(words):
            if word:
                again[place] = first.setdefault(word.casefold(), place) != place
        header = self.header(column)
        self.say(
            again,
            column,
            lambda i: (
                f"{header}: '{shown_cell(words[i])}' is in row "
                f"{self.read.rows[first[words[i].casefold()]]} and again in row "
                f"{self.read.rows[i]}; {advice}"
            ),
            key,
        )

    def patterns(self, column: str, key: str = "") -> None:
        """Report names that a spreadsheet takes as patterns."""
        words = self.read.words(column)
        refusals = {word: pattern_refusal(self.header(column), word) for word in set(words)}
        self.say(
            np.array([refusals[word] is not None for word in words], dtype=bool),
            column,
            lambda i: refusals[words[i]] or "",
            key,
        )

    def later_than(self, late: str, early: str) -> Rows:
        """Rows in which a day that should be later is before the other."""
        return self.read.dates(late) < self.read.dates(early)

    def cell_says(self, rows: Rows, column: str, words: Callable[[int], str] | str, key: str = "") -> None:
        """Report what stands in a column of the rows: its header, its value, then the words."""
        self.say(rows, column, lambda i: f"{self.header(column)}: {self.shown(column, i)} {self._words(words, i)}", key)

    def once_in_a_row(self, wrong: Mapping[str, Rows], words: Callable[[int], str] | str) -> None:
        """Report the first wrong column of each row."""
        done = np.zeros(len(self.read.rows), dtype=bool)
        for column, rows in wrong.items():
            self.cell_says(rows & ~done, column, words)
            done |= rows


def judged(table: TableSheet, read: Mapping[str, ReadRows], lists: ReferenceLists) -> list[Issue]:
    """What is wrong with the typed rows of a sheet, by its own checks and then by those that Python alone makes."""
    rows = CheckedRows(table, read, lists)
    for check in (*table.checks, *table.entry_checks):
        if check.validate is not None:
            rows.code = check.key
            check.validate(rows)
    return rows.found


# ---- verdicts that several sheets need: each gives the judge of a check ---------------------------


Judge = Callable[[CheckedRows], None]


def both(first: Judge, second: Judge) -> Judge:
    """Two verdicts of one check."""

    def validate(rows: CheckedRows) -> None:
        first(rows)
        second(rows)

    return validate


def blank(column: str, advice: str, beside: str) -> Judge:
    """A column is blank beside another one that is filled."""
    return lambda rows: rows.blank(rows.filled(beside) & ~rows.filled(column), column, advice)


def blank_beside_any(column: str, advice: str, first: str, last: str) -> Judge:
    """A column is blank while one of the inputs from one column to another is filled."""
    return lambda rows: rows.blank(rows.filled(*rows.between(first, last)) & ~rows.filled(column), column, advice)


def blank_in_filled_row(column: str, advice: str) -> Judge:
    """The column that makes a row count is blank while others are filled."""
    return lambda rows: rows.blank(~rows.filled(column) & rows.filled(*rows.all_but(column)), column, advice)


def twice(column: str) -> Judge:
    """A number stands further up already."""
    return lambda rows: rows.twice(column)


def patterns(*columns: str) -> Judge:
    """A name is one that a spreadsheet takes as a pattern."""

    def validate(rows: CheckedRows) -> None:
        for column in columns:
            rows.patterns(column)

    return validate


def not_listed(*columns: str, beside: str = "") -> Judge:
    """A word is not in the list that its column is chosen from; with `beside`, where that column is filled."""

    def validate(rows: CheckedRows) -> None:
        judged = rows.filled(beside) if beside else rows.all
        for column in columns:
            names = rows.lists.listed(rows.table.column(column))
            if names is not None:
                rows.unknown(judged, column, names)

    return validate


def after_as_of(*columns: str) -> Judge:
    """A date is after the day that figures are as of; said once for each row."""

    def validate(rows: CheckedRows) -> None:
        as_of = rows.lists.as_of
        if as_of is not None:
            late = {one: rows.read.dates(one).astype("datetime64[D]") > np.datetime64(as_of) for one in columns}
            rows.once_in_a_row(late, f"is after the as-of date, {as_of}; fix the date, or As of on {SETTINGS}")

    return validate


def before_first(*columns: str) -> Judge:
    """A date is before the first month of the log; said once for each row."""

    def validate(rows: CheckedRows) -> None:
        first = rows.lists.first_month
        if first is not None:
            early = {one: rows.read.dates(one) < np.datetime64(first) for one in columns}
            rows.once_in_a_row(
                early, f"is before {first}, the first day of this log; fix the date, or the first month on {SETTINGS}"
            )

    return validate


# ---- checks that several sheets make ----------------------------------------------------------------


def number_check(spans: tuple[tuple[str, str], ...]) -> RowCheck:
    """Text is in a cell for numbers and dates; whoever reads the file says where."""
    return RowCheck("not_a_number", "text instead of a number or date", text_among_numbers(spans))


def source_check() -> RowCheck:
    """The purse that paid is none of the business and its partners."""
    formula = 'IF({paid_from}="",FALSE,COUNTIF(Source_name,{paid_from})=0)'
    return RowCheck("no_source", "paid from is not on Settings", formula, not_listed("paid_from"))


def late_check(day: str) -> RowCheck:
    """A row is dated after the day that figures are as of."""
    formula = f"INT(MAX({{{day}}},0))>{STOPS_ON}"
    return RowCheck("after_as_of", "dated after As of (Settings)", formula, after_as_of(day))


def early_check(day: str) -> RowCheck:
    """A row is dated before the first month of the log."""
    formula = f'AND(First_month<>"",{{{day}}}<>"",{{{day}}}<First_month)'
    return RowCheck("before_first", "before First month (Settings)", formula, before_first(day))


_MONTHS: Final = 12
_NEAR: Final = 31
"""Days within which the dates of rows next to each other are taken to be of one time. Rule of this log, no source."""


def swapped_check(name: str, day: str) -> RowCheck:
    """A date whose day and month, swapped, would fit those of the rows above and below it.

    Args:
        name: the defined name of the column.
        day: its key.
    """
    cell = f"{{{day}}}"
    above, below = (f"INDEX({name},ROW()-{ROW_ONE + step})" for step in (1, -1))
    low, high = (f"INT({which}({above},{below}))" for which in ("MIN", "MAX"))
    swapped = f"DATE(YEAR({cell}),DAY({cell}),MONTH({cell}))"
    fits = f"AND({swapped}>={high}-{_NEAR},{swapped}<={low}+{_NEAR})"
    far = f"OR(INT({cell})<{low}-{_NEAR},INT({cell})>{high}+{_NEAR})"
    # An error in the date of another row is that row's.
    formula = (
        f"IF(COUNT({cell})*COUNT({above})=0,FALSE,IF(DAY({cell})>{_MONTHS},FALSE,IFERROR(AND({far},{fits}),FALSE)))"
    )
    message = "day and month of a date may be swapped"
    return RowCheck("day_swapped", message, formula, of_results=lambda rows: _swapped(rows, day), notice=True)


def _swapped(rows: pd.DataFrame, day: str) -> pd.Series[bool]:
    days = rows[day].to_numpy("datetime64[D]")
    by_row = dict(zip(rows["sheet_row"], days, strict=True))
    above, below = (
        np.array([by_row.get(row + step, np.datetime64("NaT")) for row in rows["sheet_row"]], "datetime64[D]")
        for step in (-1, 1)
    )
    low, high = np.fmin(above, below), np.fmax(above, below)
    far = ~np.isnat(above) & ((days < low - _NEAR) | (days > high + _NEAR))
    other = np.array([_swapped_day(one) for one in days], "datetime64[D]")
    return pd.Series(far & (other >= high - _NEAR) & (other <= low + _NEAR), rows.index, dtype=bool)


def _swapped_day(day: np.datetime64) -> np.datetime64:
    year, month, number = str(day).split("-") if not np.isnat(day) else ("", "", "")
    swaps = number and int(number) <= _MONTHS
    return np.datetime64(f"{year}-{number}-{month}" if swaps else "NaT", "D")
