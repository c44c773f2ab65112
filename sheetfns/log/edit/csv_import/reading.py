"""Rows of the file as values of the log's columns."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from sheetfns.cell_types import LONGEST_TEXT, limit_refusal, shown_cell
from sheetfns.errors import LogFileError
from sheetfns.log.edit.csv_import.csv_file import CsvFile, CsvRow
from sheetfns.log.edit.csv_import.map_file import FileFacts
from sheetfns.log.edit.csv_import.marks import (
    ORDER_WORDS,
    Cell,
    Found,
    date_text,
    find_date_order,
    find_marks,
    is_usual_day,
    named_mark,
    number_of,
    number_text,
)
from sheetfns.log.edit.csv_import.targets import Target
from sheetfns.log.read.cells import USUAL_YEARS
from sheetfns.log.read.sheet_reader import plain
from sheetfns.log.sheets.reference_lists import pattern_refusal

_CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_SHORTENED: Final = re.compile(r"[0-9][.,][0-9]+E\+[0-9]+", re.IGNORECASE)
_CURRENCIES: Final = {"\u20ac": {"EUR"}, "\u00a3": {"GBP"}, "\u00a5": {"JPY", "CNY"}}
"""Signs that stand for few currencies (ISO 4217 codes, from memory); others may be any."""
_CODE: Final = re.compile("[A-Z]{3}")


class CannotReadError(Exception):
    """A cell that does not say what its column holds; the message says why."""


@dataclass
class ReadRow:
    """A row of the file: value by header where its cell is filled, and what cannot be read."""

    row: CsvRow
    values: dict[str, Any] = field(default_factory=dict)
    reasons: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Marks:
    """How the file writes numbers and dates."""

    decimal: Found
    thousands: Found
    order: Found
    short_years: str
    money: str


def find_all_marks(file: CsvFile, facts: FileFacts, numbers: Sequence[int], dates: Sequence[int]) -> Marks:
    """How the file writes numbers and dates, by all cells of those columns.

    Args:
        numbers, dates: the places of the columns, counted from 0.
    """
    blank = {plain(word) for word in facts.blank_words}
    decimal, thousands = find_marks(_cells(file, numbers, blank), facts.decimal_mark, facts.thousands_mark)
    order, short_years = find_date_order(_cells(file, dates, blank), facts.date_order)
    moneys = {
        number.money
        for text in {cell.text for cell in _cells(file, numbers, blank)}
        if (number := number_text(text)) is not None and number.money
    }
    return Marks(decimal, thousands, order, short_years, ", ".join(sorted(moneys)))


def _cells(file: CsvFile, places: Sequence[int], blank: set[str]) -> Iterator[Cell]:
    for row in file.rows:
        if places and not file.misfit(row):
            for place in places:
                if place < len(row.cells):
                    text = row.cells[place].strip()
                    if text and not (blank and plain(text) in blank):
                        yield Cell(row.number, file.headers[place], text)


class RowReader:
    """Reads rows of the file.

    Args:
        file: the file, and what is stated about it.
        columns: what is read.
        currency: the log's currency as Settings has it.

    Errors:
        LogFileError: how numbers or dates are written cannot be told.
    """

    def __init__(self, file: CsvFile, facts: FileFacts, columns: Sequence[Target], currency: str) -> None:
        self.file = file
        self.columns = columns
        self.currency = currency.strip().upper()
        self._blank = {plain(word) for word in facts.blank_words}
        self._known: dict[tuple[str, str], Any] = {}
        self.numbers = [one.source for one in columns if one.kind.holds == "number"]
        self.dates = [one.source for one in columns if one.kind.holds == "date"]
        self.marks = find_all_marks(
            file,
            facts,
            [place for place in self.numbers if place is not None],
            [place for place in self.dates if place is not None],
        )
        for found in (self.marks.decimal, self.marks.order):
            if found.doubt:
                raise LogFileError(f"{file.path.name}: {found.doubt}")
        self.thousands = facts.thousands_mark

    def rows(self) -> Iterator[ReadRow]:
        """Every row of the file."""
        for row in self.file.rows:
            read = ReadRow(row)
            misfit = self.file.misfit(row)
            if misfit:
                read.reasons.append(misfit)
            else:
                self._read(read)
            yield read

    def _read(self, read: ReadRow) -> None:
        cells = read.row.cells
        for target in self.columns:
            place = target.source
            if place is None or place >= len(cells):
                continue
            text = cells[place].strip()
            if not text or (self._blank and plain(text) in self._blank):
                continue
            try:
                read.values[target.header] = self.value(target, text)
            except CannotReadError as error:
                read.reasons.append(str(error))

    def value(self, target: Target, text: str) -> Any:
        """What a filled cell says: float, date or text.

        Errors:
            CannotReadError: nothing that the column holds.
        """
        if target.kind.holds == "text":
            return self._text(target, text)
        known = self._known.get((target.header, text))
        if known is None:
            read = self._date if target.kind.holds == "date" else self._number
            try:
                known = read(target, text)
            except CannotReadError as error:
                known = error
            self._known[target.header, text] = known
        if isinstance(known, CannotReadError):
            raise known
        return known

    def _number(self, target: Target, text: str) -> float:
        header, shown = target.header, shown_cell(text)
        number = number_text(text)
        if number is None:
            raise CannotReadError(f"{header}: '{shown}' is not a number")
        decimal = self.marks.decimal.value or "."
        value = number_of(number.digits, decimal, self.thousands)
        if value is None:
            raise CannotReadError(f"{header}: '{shown}' is not a number with the decimal mark {named_mark(decimal)}")
        if number.percent and target.kind.name != "Rate":
            raise CannotReadError(f"{header}: '{shown}' is a percentage")
        if target.money and self._other_currency(number.money):
            raise CannotReadError(f"{header}: '{shown}' is in {number.money}, and the log in {self.currency}")
        sign = -number.sign if target.turned else number.sign
        value = sign * (value / 100 if number.percent else value) + 0.0
        refusal = limit_refusal(target.kind, header, value)
        if refusal is not None:
            hint = ""
            if value < 0 and math.isfinite(value) and not target.turned:
                hint = (
                    "; if the file writes all its amounts with a minus, write minus_as_plus = "
                    f'["{header}"] under [log] in the map'
                )
            raise CannotReadError(refusal.message + hint)
        return value

    def _other_currency(self, money: str) -> bool:
        """Whether a sign or code certainly stands for another currency than the log's."""
        if not money or not _CODE.fullmatch(self.currency):
            return False
        if _CODE.fullmatch(money):
            return money != self.currency
        return money in _CURRENCIES and self.currency not in _CURRENCIES[money]

    def _date(self, target: Target, text: str) -> dt.date:
        header, shown = target.header, shown_cell(text)
        date = date_text(text)
        if date is None:
            raise CannotReadError(f"{header}: '{shown}' is not a date")
        order = self.marks.order.value or "dmy"
        day = date.by(order)
        if day is None:
            raise CannotReadError(f"{header}: '{shown}' is no date as {ORDER_WORDS[order]}")
        if not is_usual_day(day):
            raise CannotReadError(
                f"{header}: '{shown}' is {day}, which is not in the years {USUAL_YEARS[0]} to {USUAL_YEARS[1]}"
            )
        return day

    def _text(self, target: Target, text: str) -> str:
        header, shown = target.header, shown_cell(text)
        text = text.replace("\r\n", "\n").replace("\r", "\n")
        control = _CONTROL.search(text)
        if control:
            raise CannotReadError(
                f"{header}: '{shown}' holds a character that cannot be seen (U+{ord(control[0]):04X})"
            )
        if len(text) > LONGEST_TEXT:
            raise CannotReadError(f"{header}: is {len(text):,} characters long; a cell holds {LONGEST_TEXT:,}")
        if _SHORTENED.fullmatch(text):
            raise CannotReadError(
                f"{header}: '{shown}' is a number that a spreadsheet program has shortened; export "
                "the file again and do not save it there"
            )
        if target.names is not None:
            text = " ".join(text.split())
            if text not in target.names:
                raise CannotReadError(target.names.refusal(header, text))
            return target.names.spelled([text])[0]
        if target.no_pattern:
            refusal = pattern_refusal(header, text)
            if refusal is not None:
                raise CannotReadError(refusal)
        return text
