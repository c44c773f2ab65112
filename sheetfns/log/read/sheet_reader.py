"""The sheets of a log that is read: headers and columns by their texts, typed rows, results."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sheetfns.errors import CellError, LogFileError
from sheetfns.files.cell_names import column_letters
from sheetfns.files.sheet_cells import CellSource, Hidden, is_time, with_errors
from sheetfns.log.model.earlier_words import TODAYS_WORDS
from sheetfns.log.model.sheets import Column
from sheetfns.log.model.typed_rows import Issue, ReadRows
from sheetfns.log.model.version import LAYOUT
from sheetfns.log.read.cells import NEVER_CALCULATED, ReadColumn, Say, frame_of, read_column, read_results, shown_of
from sheetfns.log.read.error_results import BadColumn
from sheetfns.log.sheets.words import FINDS, LOG, SHELF

CALCULATE: Final = "open the log in your spreadsheet program and save it, or run 'sheetfns recalc' on it"
BUILD_ANEW: Final = "make a new log from it with 'sheetfns upgrade OLD.xlsx --out NEW.xlsx'"
MORE_ROWS: Final = f"{BUILD_ANEW[:-1]} --rows N'"
TO_THE_END: Final = 1 << 20
"""More rows than a sheet has."""


def plain(text: Any) -> str:
    """A header or label as it is compared: one blank between words, capitals do not count."""
    return " ".join(text.split()).casefold() if isinstance(text, str) else ""


def of_pocket_copy(sheet_names: Iterable[str]) -> bool:
    """Whether a workbook with these sheets is a pocket copy of a log, and no log."""
    names = {plain(name) for name in sheet_names}
    return {plain(FINDS), plain(SHELF)} <= names and plain(LOG) not in names


@dataclass
class OpenSheet:
    """The cells of a sheet from A1 on; rows and columns are counted from 0."""

    name: str
    cells: list[list[Any]]
    hidden: Hidden

    def value(self, row: int, column: int) -> Any:
        """A cell, "" where it is blank."""
        if row < len(self.cells) and column < len(self.cells[row]):
            return self.cells[row][column]
        return ""

    def column(self, column: int, rows: Iterable[int]) -> list[Any]:
        """The cells of a column in some rows."""
        height = len(self.cells)
        if not height or column >= len(self.cells[0]):
            return ["" for _ in rows]
        return [self.cells[row][column] if row < height else "" for row in rows]

    @staticmethod
    def cell_name(row: int, column: int) -> str:
        """The name of a cell at a row and column, counted from 0."""
        return f"{column_letters(column)}{row + 1}"

    def texts(self, row: int) -> list[str]:
        """The texts of a row as they are compared."""
        return [plain(cell) for cell in self.cells[row]] if row < len(self.cells) else []

    def columns(self, first: int, end: int) -> list[tuple[Any, ...]]:
        """The cells of each column in the rows from `first` up to before `end`."""
        width = len(self.cells[0]) if self.cells else 0
        rows = self.cells[first:end]
        return list(zip(*rows, strict=True)) if rows else [()] * width


@dataclass
class FoundTable:
    """A sheet or small table: the place of each column, the first row and the end of the rows."""

    sheet: OpenSheet
    header_row: int
    columns: dict[str, int]
    first: int
    end: int


@dataclass(frozen=True)
class TablePlace:
    """Where the rows of a sheet or of a small table stand in a file.

    Attributes:
        sheet: the sheet's name there.
        first, last: its first and last ready row, counted from 1.
        columns: the place of each column that the layout knows, from 0.
        own: the place of each column that the seller has added, by its header.
    """

    sheet: str
    first: int
    last: int
    columns: dict[str, int]
    own: dict[str, int]


@dataclass(frozen=True)
class CellPlaces:
    """Where single cells stand in a file: row from 1 and column from 0, by key."""

    sheet: str
    cells: dict[str, tuple[int, int]]


class SheetReader:
    """Reads parts of sheets, and keeps what is wrong with them.

    Attributes:
        problems: what cannot be read or cannot be right.
        extra: headers that the log does not know, by the sheet's key.
        unread: what stands in cells that cannot be read, by the key of the sheet or small table.
        bad_results: results that are errors, or no results.
        words: the words that the log is in.
        originals: typed words as they stand in the file, where they are taken for others.
        number: the layout of the log.
        older: whether that is an earlier one than today's.
    """

    def __init__(self, book: CellSource, *, lenient: bool = False) -> None:
        self.book = book
        self.lenient = lenient
        self.problems: list[Issue] = []
        self.extra: dict[str, list[str]] = {}
        self.unread: dict[str, dict[tuple[int, str], Any]] = {}
        self.bad_results: list[BadColumn] = []
        self.words = TODAYS_WORDS
        self.originals: dict[tuple[str, str], str] = {}
        self.number, self.older = LAYOUT, False

    def sheet(self, name: str) -> OpenSheet:
        """The sheet of that name.

        Errors:
            LogFileError: there is none.
        """
        names = {plain(found): found for found in self.book.sheet_names}
        if plain(name) not in names:
            raise LogFileError(
                f"{self.book.path.name}: there is no sheet '{name}' (found: "
                f"{', '.join(self.book.sheet_names)}); restore the sheet's name, or check that this is a sourcing log"
            )
        actual = names[plain(name)]
        hidden = self.book.hidden(actual)
        return OpenSheet(actual, with_errors(self.book.cells(actual), hidden), hidden)

    def refuse(self, sheet: OpenSheet, what: str, then: str) -> LogFileError:
        """The error for a sheet that cannot be read: what is wrong and what to do."""
        return LogFileError(f"{self.book.path.name}, sheet {sheet.name}: {what}; {then}")

    def columns(self, sheet: OpenSheet, row: int, columns: Sequence[Column], extra_key: str) -> dict[str, int]:
        """The places of columns by the headers in a row.

        Errors:
            LogFileError: a column to type into is missing, or a header is duplicated.
        """
        texts = sheet.texts(row)
        by_header = {plain(column.header): column for column in columns}
        found: dict[str, int] = {}
        for place, text in enumerate(texts):
            column = by_header.get(text)
            if column is None:
                if text:
                    self.extra.setdefault(extra_key, []).append(str(sheet.value(row, place)))
            elif column.key in found:
                if self.lenient:
                    continue
                raise self.refuse(
                    sheet,
                    f"the header '{column.header}' is duplicated in row {row + 1}, in columns "
                    f"{column_letters(found[column.key])} and {column_letters(place)}",
                    "rename the one that is yours",
                )
            else:
                found[column.key] = place
        missing = [c.header for c in columns if c.role == "input" and c.key not in found]
        if missing:
            listed = ", ".join(f"'{header}'" for header in missing)
            unknown = ", ".join(f"'{header}'" for header in self.extra.get(extra_key, []))
            raise self.refuse(
                sheet,
                f"row {row + 1} has no column {listed}" + (f" (unknown headers: {unknown})" if unknown else ""),
                "restore the column's header",
            )
        return found

    def place_of(self, found: FoundTable, span: tuple[int, int]) -> TablePlace:
        """Where the rows of a sheet or small table stand; `span` is counted from 0."""
        known = set(found.columns.values())
        own: dict[str, int] = {}
        body = found.sheet.columns(found.first, found.end)
        for place, cells in enumerate(body):
            header = found.sheet.value(found.header_row, place)
            if place in known or (header == "" and not any(cell != "" for cell in cells)):
                continue
            letter = column_letters(place)
            name = str(header) if header != "" else f"column {letter}, without a header"
            own[name if name not in own else f"{name} (column {letter})"] = place
        return TablePlace(found.sheet.name, span[0] + 1, span[1], dict(found.columns), own)

    def own_cells(self, found: FoundTable, place: TablePlace) -> dict[tuple[int, str], Any]:
        """What stands in the columns that the seller has added, by sheet row and header."""
        rows = range(found.first, min(found.end, len(found.sheet.cells)))
        return {
            (row + 1, header): cell
            for header, column in place.own.items()
            for row, cell in zip(rows, found.sheet.column(column, rows), strict=True)
            if cell != ""
        }

    def say(self, sheet: OpenSheet, place: tuple[int, int], cell: Any, message: str, key: str) -> None:
        """Keep a problem with a cell at a row and column."""
        name = f"{column_letters(place[1])}{place[0] + 1}"
        self.problems.append(Issue(sheet.name, name, shown_of(cell), message, key))

    def show_formulas_without_result(self, found: FoundTable, places: Iterable[int]) -> None:
        """Let cells whose formula was never calculated stand out instead of looking blank."""
        error = CellError(NEVER_CALCULATED, f"holds a formula that was never calculated; {CALCULATE}")
        cells = found.sheet.cells
        for place in places:
            for number in found.sheet.hidden.not_calculated.get(place, ()):
                if found.first < number <= found.end:
                    cells += [[""] * len(cells[0]) for _ in range(number - len(cells))]
                    cells[number - 1][place] = error

    def show_bare_numbers(self, found: FoundTable, columns: Sequence[Column]) -> None:
        """Put the number back where a date column holds one that looks like a time of day."""
        days = [found.columns[column.key] for column in columns if column.kind.holds == "date"]
        rows = range(found.first, min(found.end, len(found.sheet.cells)))
        times = {
            f"{column_letters(place)}{row + 1}": (row, place)
            for place in days
            for row, cell in zip(rows, found.sheet.column(place, rows), strict=True)
            if is_time(cell)
        }
        if times:
            for name, number in self.book.numbers(found.sheet.name, set(times)).items():
                row, place = times[name]
                found.sheet.cells[row][place] = number

    def read_rows(self, key: str, found: FoundTable, inputs: Sequence[Column]) -> ReadRows:
        """The typed rows of a sheet or a small table."""
        sheet = found.sheet
        self.show_formulas_without_result(found, [found.columns[c.key] for c in inputs])
        self.show_bare_numbers(found, inputs)
        cells = sheet.columns(found.first, found.end)
        typed = np.zeros(len(cells[0]) if cells else 0, dtype=bool)
        for column in inputs:
            typed |= np.array([cell != "" for cell in cells[found.columns[column.key]]], dtype=bool)
        places = np.flatnonzero(typed)
        chosen = places.tolist()
        read: dict[str, ReadColumn] = {}
        for column in inputs:
            where = found.columns[column.key]
            read[column.key] = read_column(
                column,
                [cells[where][place] for place in chosen],
                self.say_in(found, where, places),
                from_1904=self.book.counts_from_1904,
            )
        rows = (places + found.first + 1).astype(np.int64)
        for name, values in read.items():
            for place, cell in values.unread.items():
                if not (isinstance(cell, CellError) and cell.code == NEVER_CALCULATED):
                    kept = cell.code if isinstance(cell, CellError) else cell
                    self.unread.setdefault(key, {})[int(rows[place]), name] = kept
        return ReadRows(
            sheet.name,
            frame_of(inputs, {name: values.cells for name, values in read.items()}, None),
            rows,
            {column.key: found.columns[column.key] for column in inputs},
            {name: values.filled for name, values in read.items()},
            {name: values.numbers for name, values in read.items()},
        )

    def typed_cell(self, found: FoundTable, column: Column, key: str) -> Any:
        """What is typed into one cell; what cannot be read is kept under `key`, row 0."""
        place = found.columns[column.key]
        self.show_formulas_without_result(found, [place])
        self.show_bare_numbers(found, [column])
        cell = found.sheet.value(found.first, place)
        read = read_column(
            column, [cell], self.say_in(found, place, np.zeros(1, dtype=np.int64)), from_1904=self.book.counts_from_1904
        )
        for bad in read.unread.values():
            kept = bad.code if isinstance(bad, CellError) else bad
            self.unread.setdefault(key, {})[0, column.key] = kept
        values = frame_of([column], {column.key: read.cells}, None)[column.key]
        return typed_values(values)[0]

    def say_in(self, found: FoundTable, column: int, places: NDArray[np.int64]) -> Say:
        """What keeps a problem with a cell by its place among the rows that are read."""

        def say(place: int, cell: Any, message: str, key: str) -> None:
            row = found.first + int(places[place])
            self.say(found.sheet, (row, column), cell, message, key)

        return say

    def results_frame(self, found: FoundTable, columns: Sequence[Column], rows: Sequence[int]) -> pd.DataFrame:
        """The results in rows of the sheet, counted from 0; what is no result is kept."""
        return frame_of(columns, self.results(found, columns, rows), [row + 1 for row in rows])

    def results(self, found: FoundTable, columns: Sequence[Column], rows: Sequence[int]) -> dict[str, Any]:
        """The same by column, where a frame of its own would cost more than what is in it."""
        values: dict[str, Any] = {}
        for column in columns:
            place = found.columns.get(column.key)
            cells = ["" for _ in rows] if place is None else found.sheet.column(place, rows)
            values[column.key], bad = read_results(column.kind, cells)
            if bad and place is not None:
                shown = {rows[i] + 1: cells[i] for i in bad}
                self.bad_results.append(BadColumn(found.sheet.name, column, found.columns, shown))
        return values

    def outside_ready_rows(
        self, title: str, found: FoundTable, rows: ReadRows, span: tuple[int, int], or_else: str = ""
    ) -> None:
        """Say which typed rows no formula counts; `or_else` makes room below them."""
        first, end = span
        column = min(rows.columns.values())
        for outside, where, also, key in (
            (
                rows.rows[rows.rows > end],
                f"below the last ready row, {end}",
                f", or {or_else}" if or_else else "",
                "below_ready_rows",
            ),
            (rows.rows[rows.rows <= first], f"above the first ready row, {first + 1}", "", "above_ready_rows"),
        ):
            if outside.size:
                one = int(outside[0])
                many = f"{outside.size} rows, from row {one} on, are"
                self.say(
                    found.sheet,
                    (one - 1, column),
                    found.sheet.value(one - 1, column),
                    f"{title}: {many if outside.size > 1 else f'row {one} is'} {where}, where there are no formulas, "
                    "so no figure counts it. Move it into the ready rows"
                    f"{also}",
                    key,
                )


def typed_values(values: pd.Series[Any]) -> list[Any]:
    """Typed values as Python has them; None for blank numbers and dates."""
    if values.dtype.kind == "M":
        return [None if pd.isna(day) else _day(day) for day in values]
    if values.dtype.kind == "f":
        return [None if number != number else number for number in values.tolist()]  # noqa: PLR0124
    return values.tolist()


def _day(moment: pd.Timestamp) -> dt.date:
    day = moment.to_pydatetime(warn=False)
    return day.date() if day.time() == dt.time() else day
