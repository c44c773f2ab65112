"""Sheet Finds taken of a log: the finds of pocket copies as they were when they came home.

By it a second merge tells what has changed in the pocket copy since from what has changed in the log, and no find
comes twice, even if its item has another number in the log by now.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from sheetfns.files.sheet_xml import Value
from sheetfns.log.edit.conflicts import ConflictLines, Line, edits_below, free_name, lines_of
from sheetfns.log.edit.merge_rows import Cells
from sheetfns.log.edit.patch import CellEdit, NewSheet
from sheetfns.log.edit.values import shown
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.finds import layout as finds
from sheetfns.log.sheets.words import FINDS_TAKEN

COLUMNS: Final = finds.sheet().inputs()
_OTHERS: Final = ("Pocket copy", "Taken on")
HEADERS: Final = (*(column.header for column in COLUMNS), *_OTHERS)
_WIDTHS: Final = (*(float(column.width) for column in COLUMNS), 12.0, 12.0)

FindKey = tuple[str, str]
"""The mark of a pocket copy and the item no. there, without capitals."""


@dataclass(frozen=True)
class Taken:
    """A find as it was when it came home.

    Attributes:
        row: where it stands on the sheet; 0 while it does not stand there yet.
        cells: what it said, by column key.
    """

    row: int
    cells: Cells


def find_key(mark: str, number: Any) -> FindKey:
    """By what a find is known."""
    return mark.casefold(), shown(number).casefold()


def taken_before(content: LogContent) -> dict[FindKey, Taken]:
    """The finds that a log has taken, by their keys."""
    found: dict[FindKey, Taken] = {}
    for row, line in enumerate(lines_of(content, FINDS_TAKEN, HEADERS)[1], 2):
        cells = {column.key: _read(column.kind.holds, cell) for column, cell in zip(COLUMNS, line, strict=False)}
        mark = line[len(COLUMNS)] if len(line) > len(COLUMNS) else None
        filled = {key: value for key, value in cells.items() if value is not None}
        if "item_no" in filled and mark:
            found.setdefault(find_key(shown(mark), filled["item_no"]), Taken(row, filled))
    return found


def taken_lines(
    content: LogContent, mark: str, day: dt.date, new: Iterable[Cells], changed: Mapping[FindKey, Cells]
) -> ConflictLines:
    """What to write for finds that come home now, and for those that were corrected since."""
    before = taken_before(content)
    sheet, there = lines_of(content, FINDS_TAKEN, HEADERS)
    lines = [_line(cells, mark, day) for cells in new]
    if sheet is None:
        if not lines:
            return ConflictLines((), None)
        return ConflictLines((), NewSheet(free_name(FINDS_TAKEN, content), (HEADERS, *lines), _WIDTHS))
    edits = [
        CellEdit(sheet, before[key].row, place, value)
        for key, cells in changed.items()
        for place, value in enumerate(_line(cells, mark, day), 1)
    ]
    return ConflictLines((*edits, *edits_below(sheet, len(there) + 1, lines)), None)


def taken_of_both(ours: LogContent, theirs: LogContent) -> ConflictLines:
    """The lines that only the other copy of a log has, to be written into the first."""
    known = taken_before(ours)
    new_rows = {taken.row for key, taken in taken_before(theirs).items() if key not in known}
    lines = [line for row, line in enumerate(lines_of(theirs, FINDS_TAKEN, HEADERS)[1], 2) if row in new_rows]
    sheet, there = lines_of(ours, FINDS_TAKEN, HEADERS)
    if not lines:
        return ConflictLines((), None)
    if sheet is None:
        return ConflictLines((), NewSheet(free_name(FINDS_TAKEN, ours), (HEADERS, *lines), _WIDTHS))
    return ConflictLines(tuple(edits_below(sheet, len(there) + 1, lines)), None)


def _line(cells: Cells, mark: str, day: dt.date) -> Line:
    return (*(_written(cells.get(column.key)) for column in COLUMNS), mark, day.isoformat())


def _written(value: Any) -> Value:
    """A value as it is listed: numbers as numbers, all else in words."""
    return value if value is None or isinstance(value, float) else shown(value)


def _read(holds: str, cell: Value) -> Any:
    """A value as a find has it."""
    if cell is None or holds == "number":
        return cell
    words = shown(cell)
    if holds != "date":
        return words
    try:
        moment = dt.datetime.fromisoformat(words)
    except ValueError:
        return words
    return moment if "T" in words else moment.date()
