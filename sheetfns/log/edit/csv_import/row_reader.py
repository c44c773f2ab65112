"""Rows of the file as values of the log's columns."""

from __future__ import annotations

import datetime as dt
import functools
import math
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Final

from sheetfns.cell_types import LONGEST_TEXT, limit_refusal, shown_cell
from sheetfns.errors import LogFileError
from sheetfns.log.edit.csv_import.csv_file import CsvFile, CsvRow, FileFacts
from sheetfns.log.edit.csv_import.facts import Found
from sheetfns.log.edit.csv_import.log_columns import LogColumn
from sheetfns.log.edit.csv_import.map_file import BoundKinds, BoundMap, BoundOrders
from sheetfns.log.edit.csv_import.number_formats import (
    EPOCH_UNITS,
    ORDER_WORDS,
    Cell,
    date_text,
    epoch_day,
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
    """A row of the file.

    Attributes:
        row: as it stands there.
        values: by the log's header, where its cell is filled.
        reasons: what cannot be read.
        order: the number that it shares with rows of the same order, as it is compared.
        kind: of which kind it is, as it is compared; "" for an ordinary row.
        amount, day: what a row of a kind adds to its item.
    """

    row: CsvRow
    values: dict[str, Any] = field(default_factory=dict)
    reasons: list[str] = field(default_factory=list)
    order: str = ""
    kind: str = ""
    amount: float | None = None
    day: dt.date | None = None


@dataclass(frozen=True)
class NumberFormats:
    """How the file writes numbers and dates."""

    decimal: Found
    thousands: Found
    order: Found
    short_years: str
    money: str


class FirstCells:
    """The different texts of each column, each in the first row that has it; a column is looked through once."""

    def __init__(self, file: CsvFile, blank_words: Sequence[str] = ()) -> None:
        self._file = file
        self._blank = {plain(word) for word in blank_words}
        self._known: dict[int, dict[str, int]] = {}
        self._formats: dict[tuple[Any, ...], NumberFormats] = {}

    @functools.cached_property
    def _rows(self) -> list[CsvRow]:
        return [row for row in self._file.rows if not self._file.misfit(row)]

    def of(self, place: int) -> dict[str, int]:
        """The row of each text of a column; blank cells are left out."""
        if place not in self._known:
            first: dict[str, int] = {}
            for number, cells in self._rows:
                if place < len(cells):
                    first.setdefault(cells[place].strip(), number)
            self._known[place] = {
                text: row for text, row in first.items() if text and not (self._blank and plain(text) in self._blank)
            }
        return self._known[place]

    def formats(self, facts: FileFacts, numbers: Sequence[int], dates: Sequence[int]) -> NumberFormats:
        """How those columns are written, see `find_formats`; the same is not worked out again."""
        stated = facts.decimal_mark, facts.thousands_mark, facts.date_order
        key = (stated, tuple(numbers), tuple(dates))
        if key not in self._formats:
            self._formats[key] = find_formats(self, facts, numbers, dates)
        return self._formats[key]

    def cells(self, places: Sequence[int]) -> list[Cell]:
        """The same of several columns, in the order of the rows."""
        found = sorted((row, at, text) for at, place in enumerate(places) for text, row in self.of(place).items())
        return [Cell(row, self._file.headers[places[at]], text) for row, at, text in found]


def find_formats(cells: FirstCells, facts: FileFacts, numbers: Sequence[int], dates: Sequence[int]) -> NumberFormats:
    """How the file writes numbers and dates, by all cells of those columns.

    Args:
        numbers, dates: the places of the columns, counted from 0.
    """
    in_numbers = cells.cells(numbers)
    decimal, thousands = find_marks(in_numbers, facts.decimal_mark, facts.thousands_mark)
    order, short_years = find_date_order(cells.cells(dates), facts.date_order)
    moneys = {
        number.money
        for text in {cell.text for cell in in_numbers}
        if (number := number_text(text)) is not None and number.money
    }
    return NumberFormats(decimal, thousands, order, short_years, ", ".join(sorted(moneys)))


class RowReader:
    """Reads rows of the file.

    Args:
        file: the file, and what is stated about it.
        bound: what is read.
        currency: the log's currency as Settings has it.
        cells: what is known of its columns already.

    Errors:
        LogFileError: how numbers or dates are written cannot be told.
    """

    def __init__(
        self, file: CsvFile, facts: FileFacts, bound: BoundMap, currency: str, cells: FirstCells | None = None
    ) -> None:
        self.file = file
        self.facts = facts
        self.bound = bound
        self.columns = bound.columns
        self.currency = currency.strip().upper()
        self.left_out: list[tuple[int, str]] = []
        """Rows that the map leaves out, by their number, and why."""
        self._blank = {plain(word) for word in facts.blank_words}
        self._known: dict[tuple[int, str], Any] = {}
        """By the column's place in the log; below 0 are columns of the file."""
        kinds = bound.kinds
        read = [*bound.columns, *([kinds.amount] if kinds else []), *([kinds.day] if kinds and kinds.day else [])]
        self.numbers = list(
            dict.fromkeys(place for one in read if one.kind.holds == "number" for place in _places(one))
        )
        self.dates = list(dict.fromkeys(place for one in read if one.kind.holds == "date" for place in _places(one)))
        cells = cells or FirstCells(file, facts.blank_words)
        self.formats = cells.formats(facts, self.numbers, self.dates)
        for found in (self.formats.decimal, self.formats.order):
            if found.doubt:
                raise LogFileError(f"{file.path.name}: {found.doubt}")
        self.thousands = facts.thousands_mark

    def rows(self) -> Iterator[ReadRow]:
        """Every row of the file but those that the map leaves out."""
        carrying = _Carrying(self.bound.orders, self._text_in)
        for row in self.file.rows:
            read = ReadRow(row)
            misfit = self.file.misfit(row)
            if misfit:
                read.reasons.append(misfit)
            else:
                cells = carrying.filled(read)
                why = self._why_left_out(cells)
                if why:
                    self.left_out.append((row.number, why))
                    continue
                self._read(read, cells)
            yield read

    def _text_in(self, cells: Sequence[str], place: int) -> str:
        """What stands in a cell; "" if it is blank."""
        text = cells[place].strip() if place < len(cells) else ""
        return "" if self._blank and plain(text) in self._blank else text

    def _why_left_out(self, cells: Sequence[str]) -> str:
        for place, header, words in self.bound.leave_out:
            text = self._text_in(cells, place)
            if text and plain(text) in words:
                return f"{header} is '{shown_cell(text)}'"
        return ""

    def _read(self, read: ReadRow, cells: Sequence[str]) -> None:
        kinds = self.bound.kinds
        if kinds is not None and (kind := plain(self._text_in(cells, kinds.column))) in kinds.amounts:
            read.kind = kind
            self._read_kind(read, cells, kinds)
            return
        for column in self.columns:
            self._read_cell(read, cells, column)

    def _read_kind(self, read: ReadRow, cells: Sequence[str], kinds: BoundKinds) -> None:
        """A row that adds to its item: by what that is found, the amount and the day, and nothing else."""
        if self.bound.match is not None:
            self._read_cell(read, cells, self.bound.match)
        found = ReadRow(read.row)
        self._read_cell(found, cells, kinds.amount)
        if kinds.day is not None and read.kind in kinds.days:
            self._read_cell(found, cells, kinds.day)
            read.day = found.values.get(kinds.day.header)
        read.reasons += found.reasons
        read.amount = found.values.get(kinds.amount.header)
        if read.amount is None:
            if not found.reasons:
                read.reasons.append(f"{kinds.amount.header} is blank, and a row of this kind needs it")
        elif read.kind in kinds.turned:
            read.amount = -read.amount + 0.0

    def _read_cell(self, read: ReadRow, cells: Sequence[str], column: LogColumn) -> None:
        """Read what a column takes from a row, if it is filled."""
        try:
            if column.added:
                texts = [text for place in _places(column) if (text := self._text_in(cells, place))]
                if texts:
                    read.values[column.header] = self._sum(column, texts)
            elif column.source is not None and column.source < len(cells):
                text = cells[column.source].strip()
                if text and not (self._blank and plain(text) in self._blank):
                    read.values[column.header] = self.value(column, text)
        except CannotReadError as error:
            read.reasons.append(str(error))

    def value(self, column: LogColumn, text: str) -> Any:
        """What a filled cell says: float, date or text.

        Errors:
            CannotReadError: nothing that the column holds.
        """
        known = self._known.get((column.place, text))
        if known is None:
            read = {"text": self._text, "date": self._date, "number": self._number}[column.kind.holds]
            try:
                known = read(column, text)
            except CannotReadError as error:
                known = error
            self._known[column.place, text] = known
        if isinstance(known, CannotReadError):
            # A new one each time: the same one would gather the traces of all rows.
            raise CannotReadError(*known.args)
        return known

    def _sum(self, column: LogColumn, texts: Sequence[str]) -> float:
        """Numbers of several columns added up, as they are written."""
        total = sum_of([self._plain_number(column, text) for text in texts])
        return self._within_limits(column, total)

    def _number(self, column: LogColumn, text: str) -> float:
        return self._within_limits(column, self._plain_number(column, text))

    def _plain_number(self, column: LogColumn, text: str) -> float:
        """What a cell says, with the log's sign."""
        header = column.header
        number = number_text(text)
        if number is None:
            raise CannotReadError(f"{header}: '{shown_cell(text)}' is not a number")
        decimal = self.formats.decimal.value or "."
        value = number_of(number.digits, decimal, self.thousands)
        if value is None:
            words = f"is not a number with the decimal mark {named_mark(decimal)}"
            raise CannotReadError(f"{header}: '{shown_cell(text)}' {words}")
        if number.percent and column.kind.name != "Rate":
            raise CannotReadError(f"{header}: '{shown_cell(text)}' is a percentage")
        if column.money and number.money and self._other_currency(number.money):
            words = f"is in {number.money}, and the log is in {self.currency}"
            raise CannotReadError(f"{header}: '{shown_cell(text)}' {words}")
        sign = -number.sign if column.turned else number.sign
        return sign * (value / 100 if number.percent else value) + 0.0

    @staticmethod
    def _within_limits(column: LogColumn, value: float) -> float:
        header = column.header
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
        day = epoch_day(text, self.facts.epoch, self.facts.utc_offset) if self.facts.epoch else None
        if day is None:
            day = self._written_date(header, shown, text)
        if not is_usual_day(day):
            raise CannotReadError(
                f"{header}: '{shown}' is {day}, which is outside the years {USUAL_YEARS[0]} to {USUAL_YEARS[1]}"
            )
        return day

    def _written_date(self, header: str, shown: str, text: str) -> dt.date:
        date = date_text(text)
        if date is None:
            units = [unit for unit in EPOCH_UNITS if (day := epoch_day(text, unit)) is not None and is_usual_day(day)]
            hints = [f'; if it counts {one} from 1970, write epoch = "{one}" under [file] in the map' for one in units]
            raise CannotReadError(f"{header}: '{shown}' is not a date{''.join(hints[:1])}")
        order = self.formats.order.value or "dmy"
        day = date.by(order)
        if day is None:
            raise CannotReadError(f"{header}: '{shown}' is not a date in the order {ORDER_WORDS[order]}")
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


class _Carrying:
    """Fills cells that stand only in the first row of an order."""

    def __init__(self, orders: BoundOrders | None, text_in: Callable[[Sequence[str], int], str]) -> None:
        self._orders = orders
        self._text_in = text_in
        self._of_order: dict[str, dict[int, str]] = {}
        self._last = ""

    def filled(self, read: ReadRow) -> Sequence[str]:
        """The cells of a row with those that its order has given before; the row learns its order."""
        cells, orders = read.row.cells, self._orders
        if orders is None:
            return cells
        order = self._text_in(cells, orders.column)
        if not order and orders.column in orders.carry_down:
            order = self._last
        self._last = order
        read.order = plain(order)
        if not order or not orders.carry_down:
            return cells
        known = self._of_order.setdefault(read.order, {orders.column: order})
        new = list(cells)
        for place in orders.carry_down:
            text = self._text_in(cells, place)
            if text:
                known[place] = text
            elif place < len(new):
                new[place] = known.get(place, "")
        return new


def _places(column: LogColumn) -> tuple[int, ...]:
    """Where the file has a column of the log, counted from 0."""
    return () if column.source is None else (column.source, *column.added)


def sum_of(numbers: Iterable[float]) -> float:
    """A sum without the noise of binary fractions.

    >>> sum_of([0.1, 0.2]), sum_of([3.8, -0.5])
    (0.3, 3.3)
    """
    listed = list(numbers)
    if len(listed) == 1:
        return listed[0]
    return float(sum(map(Decimal, map(repr, listed)))) if all(map(math.isfinite, listed)) else math.inf
