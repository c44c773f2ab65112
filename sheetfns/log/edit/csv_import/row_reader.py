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
from sheetfns.log.edit.csv_import.csv_file import CsvFile, CsvRow, FileFacts
from sheetfns.log.edit.csv_import.facts import Found
from sheetfns.log.edit.csv_import.log_columns import LogColumn
from sheetfns.log.edit.csv_import.number_formats import (
    ORDER_WORDS,
    Cell,
    date_text,
    find_date_order,
    find_marks,
    is_usual_day,
    named_mark,
    number_of,
    number_text,
)
from sheetfns.log.model.typed_rows import USUAL_YEARS
from sheetfns.log.read.cells import CONTROL
from sheetfns.log.read.sheet_reader import plain
from sheetfns.log.sheets.reference_lists import pattern_refusal

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
class NumberFormats:
    """How the file writes numbers and dates."""

    decimal: Found
    thousands: Found
    order: Found
    short_years: str
    money: str


def find_formats(file: CsvFile, facts: FileFacts, numbers: Sequence[int], dates: Sequence[int]) -> NumberFormats:
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
    return NumberFormats(decimal, thousands, order, short_years, ", ".join(sorted(moneys)))


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

    def __init__(self, file: CsvFile, facts: FileFacts, columns: Sequence[LogColumn], currency: str) -> None:
        self.file = file
        self.columns = columns
        self.currency = currency.strip().upper()
        self._blank = {plain(word) for word in facts.blank_words}
        self._known: dict[tuple[str, str], Any] = {}
        self.numbers = [one.source for one in columns if one.kind.holds == "number" and one.source is not None]
        self.dates = [one.source for one in columns if one.kind.holds == "date" and one.source is not None]
        self.formats = find_formats(file, facts, self.numbers, self.dates)
        for found in (self.formats.decimal, self.formats.order):
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
        for column in self.columns:
            place = column.source
            if place is None or place >= len(cells):
                continue
            text = cells[place].strip()
            if not text or (self._blank and plain(text) in self._blank):
                continue
            try:
                read.values[column.header] = self.value(column, text)
            except CannotReadError as error:
                read.reasons.append(str(error))

    def value(self, column: LogColumn, text: str) -> Any:
        """What a filled cell says: float, date or text.

        Errors:
            CannotReadError: nothing that the column holds.
        """
        if column.kind.holds == "text":
            return self._text(column, text)
        known = self._known.get((column.header, text))
        if known is None:
            read = self._date if column.kind.holds == "date" else self._number
            try:
                known = read(column, text)
            except CannotReadError as error:
                known = error
            self._known[column.header, text] = known
        if isinstance(known, CannotReadError):
            raise known
        return known

    def _number(self, column: LogColumn, text: str) -> float:
        header, shown = column.header, shown_cell(text)
        number = number_text(text)
        if number is None:
            raise CannotReadError(f"{header}: '{shown}' is not a number")
        decimal = self.formats.decimal.value or "."
        value = number_of(number.digits, decimal, self.thousands)
        if value is None:
            raise CannotReadError(f"{header}: '{shown}' is not a number with the decimal mark {named_mark(decimal)}")
        if number.percent and column.kind.name != "Rate":
            raise CannotReadError(f"{header}: '{shown}' is a percentage")
        if column.money and self._other_currency(number.money):
            raise CannotReadError(f"{header}: '{shown}' is in {number.money}, and the log is in {self.currency}")
        sign = -number.sign if column.turned else number.sign
        value = sign * (value / 100 if number.percent else value) + 0.0
        refusal = limit_refusal(column.kind, header, value)
        if refusal is not None:
            hint = ""
            if value < 0 and math.isfinite(value) and not column.turned:
                hint = (
                    "; if all its amounts in the file have a minus, write minus_as_plus = "
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

    def _date(self, column: LogColumn, text: str) -> dt.date:
        header, shown = column.header, shown_cell(text)
        date = date_text(text)
        if date is None:
            raise CannotReadError(f"{header}: '{shown}' is not a date")
        order = self.formats.order.value or "dmy"
        day = date.by(order)
        if day is None:
            raise CannotReadError(f"{header}: '{shown}' is not a date in the order {ORDER_WORDS[order]}")
        if not is_usual_day(day):
            raise CannotReadError(
                f"{header}: '{shown}' is {day}, which is outside the years {USUAL_YEARS[0]} to {USUAL_YEARS[1]}"
            )
        return day

    def _text(self, column: LogColumn, text: str) -> str:
        header, shown = column.header, shown_cell(text)
        text = text.replace("\r\n", "\n").replace("\r", "\n")
        control = CONTROL.search(text)
        if control:
            raise CannotReadError(f"{header}: '{shown}' holds an invisible character (U+{ord(control[0]):04X})")
        if len(text) > LONGEST_TEXT:
            raise CannotReadError(f"{header}: is {len(text):,} characters long, and a cell holds {LONGEST_TEXT:,}")
        if _SHORTENED.fullmatch(text):
            raise CannotReadError(
                f"{header}: '{shown}' is a number that a spreadsheet program has shortened; export the file again and "
                "don't save it there"
            )
        if column.names is not None:
            text = " ".join(text.split())
            if text not in column.names:
                raise CannotReadError(column.names.refusal(header, text))
            return column.names.spelled([text])[0]
        if column.no_pattern:
            refusal = pattern_refusal(header, text)
            if refusal is not None:
                raise CannotReadError(refusal)
        return text
