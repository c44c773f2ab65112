"""Reading a pocket copy, whichever program has saved it: by sheet names, headers and typed cells alone."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from sheetfns.cell_types import date_in_text, number_in_text, read_cell
from sheetfns.errors import CellError, LogFileError
from sheetfns.files.workbook_file import WorkbookFile, open_workbook
from sheetfns.log.edit.merge_rows import Cells
from sheetfns.log.edit.values import plain_value, shown
from sheetfns.log.model.sheets import Column, TableSheet
from sheetfns.log.model.typed_rows import Issue, ReadRows
from sheetfns.log.model.version import LAYOUT, layout_number
from sheetfns.log.read.sheet_reader import (
    TO_THE_END,
    FoundTable,
    OpenSheet,
    SheetReader,
    of_pocket_copy,
    plain,
    typed_values,
)
from sheetfns.log.sheets.finds import layout as finds
from sheetfns.log.sheets.pocket import KNOWN_BY, LAYOUT_NUMBER, MADE_FROM, MARK, SHOP, labels
from sheetfns.log.sheets.words import FINDS, SETTINGS

_HEADER_WITHIN: Final = 20
_NO_FIND: Final = frozenset({"error_cell", "not_calculated", "date_far_off"})
"""What is wrong with a cell so that nobody can tell what was meant."""


@dataclass(frozen=True)
class Find:
    """Something that was bought: its row, its item no. with the cell, and what is filled in, by column key."""

    row: int
    number: str
    number_cell: str
    cells: Cells

    @property
    def named(self) -> str:
        """The words by which a reader knows it."""
        return " ".join(shown(self.cells[key]) for key in ("item_no", "description") if key in self.cells)


@dataclass
class PocketRead:
    """A pocket copy as it was read.

    Attributes:
        path: the file.
        made_from: the name of the log.
        mark: what its item numbers begin with.
        known_by: marks of some items of the log, see `known_by` of sheetfns.log.edit.pocket.
        shop: the name of the shop.
        finds: what can be taken.
        refused: what cannot, by its cell, with what to do.
        notes: what was not quite a number or a date, and what it was taken for.
    """

    path: Path
    made_from: str
    mark: str
    known_by: frozenset[str]
    shop: str
    finds: list[Find] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def is_pocket(path: Path | str) -> bool:
    """Whether a file is a pocket copy, by its sheets; a file that is no workbook is none."""
    try:
        with open_workbook(Path(path)) as book:
            return of_pocket_copy(book.sheet_names)
    except LogFileError:
        return False


def read_pocket(path: Path | str) -> PocketRead:
    """Read the finds of a pocket copy.

    Errors:
        LogFileError: it is no workbook, or no whole pocket copy: it says what is missing and what to do.
    """
    path = Path(path)
    with open_workbook(path) as book:
        facts = _facts(book)
        stated = layout_number(facts[LAYOUT_NUMBER])
        if not facts[MARK] or stated is None:
            raise LogFileError(
                f"{path.name}, sheet {SETTINGS}: what it says of this pocket copy is missing ({labels()[MARK]}, "
                f"{labels()[LAYOUT_NUMBER]}); use a copy of the file in which it is there"
            )
        if stated > LAYOUT:
            raise LogFileError(
                f"{path.name}: is of layout {stated}, and this sheetfns knows layouts up to {LAYOUT}; install a newer "
                "sheetfns"
            )
        read = PocketRead(
            path, facts[MADE_FROM], facts[MARK], frozenset(facts[KNOWN_BY].casefold().split()), facts[SHOP]
        )
        _read_finds(book, read)
    return read


def _facts(book: WorkbookFile) -> dict[str, str]:
    """The values beside the labels on Settings, by the names of the settings."""
    sheet = SheetReader(book).sheet(SETTINGS)
    heads = (sheet.texts(row).index("value") for row in range(len(sheet.cells)) if "value" in sheet.texts(row))
    place = next(heads, 1)
    stands: dict[str, str] = {}
    for row in range(len(sheet.cells)):
        label, value = plain(sheet.value(row, 0)), sheet.value(row, place)
        stands.setdefault(label, "" if value == "" else shown(plain_value(value)))
    return {name: stands.get(plain(label), "") for name, label in labels().items()}


def _read_finds(book: WorkbookFile, read: PocketRead) -> None:
    table = finds.sheet()
    reader = SheetReader(book)
    sheet = reader.sheet(FINDS)
    header_row = _header_row(sheet, table)
    columns = reader.columns(sheet, header_row, table.columns, table.key)
    found = FoundTable(sheet, header_row, columns, header_row + 1, TO_THE_END)
    rows = reader.read_rows(table.key, found, table.inputs())
    problems = {problem.cell: problem for problem in reader.problems}
    unread = reader.unread.get(table.key, {})
    values = {column.key: typed_values(rows.frame[column.key]) for column in table.inputs()}
    first_of: dict[str, int] = {}
    for place, row in enumerate(rows.rows.tolist()):
        if not any(rows.filled[key][place] for key in values if key != "item_no"):
            continue  # the number alone stands ready
        cells = {key: plain_value(cells[place]) for key, cells in values.items()}
        cells = {key: value for key, value in cells.items() if value not in (None, "")}
        wrong, notes = _unread_cells(rows, place, cells, unread, problems)
        number = shown(cells.get("item_no"))
        named = f" ({' '.join(shown(cells[key]) for key in ('item_no', 'description') if key in cells)})"
        wrong += _blank_cells(rows, place, cells) if not wrong else []
        if not wrong and number.casefold() in first_of:
            wrong.append(
                f"{rows.cell('item_no', place)}: item no. {number} is in row {first_of[number.casefold()]} already; "
                "give one of the two another number"
            )
        if wrong:
            read.refused += [f"{FINDS}, {words}{named if len(named) > len(' ()') else ''}" for words in wrong]
            continue
        first_of[number.casefold()] = row
        read.notes += notes
        read.finds.append(Find(row, number, rows.cell("item_no", place), cells))


def _header_row(sheet: OpenSheet, table: TableSheet) -> int:
    headers = {plain(column.header) for column in table.inputs()}
    hits = [len(headers.intersection(sheet.texts(row))) for row in range(min(_HEADER_WITHIN, len(sheet.cells)))]
    return hits.index(max(hits)) if hits else 0


def _unread_cells(
    rows: ReadRows, place: int, cells: Cells, unread: Mapping[tuple[int, str], Any], problems: Mapping[str, Issue]
) -> tuple[list[str], list[str]]:
    """What cannot be read in a row, and notes: a text that can only be one number or day is taken for it."""
    wrong: list[str] = []
    notes: list[str] = []
    for column in finds.sheet().inputs():
        cell = rows.cell(column.key, place)
        problem = problems.get(cell)
        if problem is None:
            continue
        text = unread.get((int(rows.rows[place]), column.key))
        value = _meant(column, text)
        if value is not None:
            cells[column.key] = value
            notes.append(f"{FINDS}, {cell}: the text '{text}' was taken for {shown(value)}")
        elif column.kind.holds == "text" and problem.key not in _NO_FIND:
            notes.append(f"{FINDS}, {cell}: {problem.message}")
        else:
            wrong.append(f"{cell}: {problem.message}")
    return wrong, notes


def _meant(column: Column, text: Any) -> float | dt.date | None:
    """The number or day that a text in a cell for one can only mean."""
    if not isinstance(text, str):
        return None
    if column.kind.holds == "date":
        return date_in_text(text)
    if column.kind.holds != "number" or "%" in text:
        return None
    number = number_in_text(text)
    try:
        return None if number is None else float(read_cell(column.kind, column.header, number))
    except CellError:
        return None


_WANTED: Final = (
    ("item_no", "enter a number that no other item has"),
    ("paid", "enter the price, or 0 if it was free"),
    ("bought_on", "enter the day of purchase"),
)


def _blank_cells(rows: ReadRows, place: int, cells: Cells) -> list[str]:
    headers = {column.key: column.header for column in finds.sheet().inputs()}
    return [
        f"{rows.cell(key, place)}: {headers[key]} is blank; {advice}" for key, advice in _WANTED if key not in cells
    ]
