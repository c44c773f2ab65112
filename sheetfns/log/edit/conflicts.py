"""Sheet Conflicts of a merged log: what two copies differed on, with both values."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from sheetfns.errors import CellError
from sheetfns.files.sheet_xml import Value
from sheetfns.files.workbook_file import open_workbook
from sheetfns.log.edit.merge_rows import Difference, MergeOutcome
from sheetfns.log.edit.patch import CellEdit, NewSheet
from sheetfns.log.edit.values import shown
from sheetfns.log.read.content import LogContent
from sheetfns.log.read.sheet_reader import plain
from sheetfns.log.sheets.words import CONFLICTS

HEADERS: Final = ("What happened", "Sheet", "Row", "Column", "Kept", "Kept from", "Not kept", "Not kept from", "Before")
_WIDTHS: Final = (31.0, 20.0, 30.0, 18.0, 28.0, 20.0, 28.0, 20.0, 20.0)
_FROM: Final = (5, 7)
"""The columns with names of files, which may change from one merge to the next."""

Line = tuple[Value, ...]


@dataclass(frozen=True)
class ConflictLines:
    """Lines that are new: cells of the sheet if it is there, or the whole sheet."""

    edits: tuple[CellEdit, ...]
    new_sheet: NewSheet | None


def conflict_lines(differences: Sequence[Difference], ours: LogContent, theirs: LogContent) -> ConflictLines:
    """The lines for what two copies differ on, with those of the other copy's own sheet.

    A line that stands there already is not written again.
    """
    return _new_lines(differences, ours, theirs.path.name, _read(theirs)[1])


def pocket_lines(differences: Sequence[Difference], ours: LogContent, pocket: str) -> ConflictLines:
    """The lines for what a log and the finds of a pocket copy of that name differ on."""
    return _new_lines(differences, ours, pocket, [])


def _new_lines(
    differences: Sequence[Difference], ours: LogContent, theirs: str, their_lines: Sequence[Line]
) -> ConflictLines:
    sheet, there = _read(ours)
    known = {_identity(line) for line in there}
    new: list[Line] = []
    order = list(MergeOutcome)
    by_urgency = sorted(differences, key=lambda one: order.index(one.outcome))
    lines = [_line(one, ours.path.name, theirs) for one in by_urgency]
    for line in (*their_lines, *lines):
        identity = _identity(line)
        if identity not in known:
            known.add(identity)
            new.append(line)
    if not new:
        return ConflictLines((), None)
    if sheet is None:
        return ConflictLines((), NewSheet(free_name(CONFLICTS, ours), (HEADERS, *new), _WIDTHS))
    return ConflictLines(tuple(edits_below(sheet, len(there) + 1, new)), None)


def free_name(wanted: str, content: LogContent) -> str:
    """The name for a new sheet of a log: as wanted, or with a number where another sheet has that name."""
    names = {plain(name) for name in content.sheet_names}
    numbered = (f"{wanted} {number}" for number in range(2, len(names) + 3))
    return next(name for name in (wanted, *numbered) if plain(name) not in names)


def edits_below(sheet: str, last: int, lines: Iterable[Line]) -> Iterator[CellEdit]:
    """Lines written below the last row of a sheet that is filled."""
    for row, line in enumerate(lines, last + 1):
        for column, value in enumerate(line, 1):
            yield CellEdit(sheet, row, column, value)


def listed_in(content: LogContent) -> Callable[[Difference], bool]:
    """Tells of a difference whether the log's sheet of an earlier merge lists it."""
    known = {_identity(line) for line in _read(content)[1]}
    return lambda one: _identity(_line(one, "", "")) in known


def _read(content: LogContent) -> tuple[str | None, list[Line]]:
    return lines_of(content, CONFLICTS, HEADERS)


def lines_of(content: LogContent, title: str, headers: Sequence[str]) -> tuple[str | None, list[Line]]:
    """The sheet with lines that an earlier merge added to a log, by its headers, and its lines; None if none is."""
    wanted = [plain(header) for header in headers]
    for name in content.sheet_names:
        if not plain(name).startswith(plain(title)):
            continue
        with open_workbook(content.path) as book:
            book.hidden(name)
            cells = book.cells(name)
        if cells and [plain(cell) for cell in cells[0][: len(headers)]] == wanted:
            return name, [tuple(map(_value, row[: len(headers)])) for row in cells[1:]]
    return None, []


def _line(one: Difference, ours: str, theirs: str) -> Line:
    kept_from, other_from = (ours, theirs) if one.kept_ours else (theirs, ours)
    if one.outcome in {MergeOutcome.no_place, MergeOutcome.other_sheet}:
        kept_from = ""
    return (
        one.outcome.value,
        one.sheet,
        one.named,
        one.column,
        _value(one.kept),
        kept_from,
        _value(one.other),
        other_from if one.other is not None else "",
        _value(one.last),
    )


def _value(value: Any) -> Value:
    """A value as it is listed: numbers as numbers, all else in words."""
    if value is None or value == "":
        return None
    if isinstance(value, CellError):
        return value.code
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return float(value)
    if isinstance(value, dt.datetime) and value.time() == dt.time():
        return value.date().isoformat()
    return shown(value)


def _identity(line: Line) -> tuple[str, ...]:
    return tuple(shown(value) for place, value in enumerate(line) if place not in _FROM)
