"""Sheet Merges of a log: which merges it comes from, and the copy that each left behind.

A copy of a log that has the same line comes from the same merge, so that the copy that was left then is what the two
have in common.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Final

from sheetfns.log.edit.conflicts import ConflictLines, Line, edits_below, free_name, lines_of
from sheetfns.log.edit.patch import NewSheet
from sheetfns.log.edit.values import shown
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.words import MERGES

HEADERS: Final = ("Merged on", "With", "Cells taken", "New rows", "Common copy")
_WIDTHS: Final = (12.0, 34.0, 12.0, 12.0, 48.0)
_COPY: Final = len(HEADERS) - 1


def merge_line(day: dt.date, theirs: str, cells: int, rows: int, common: str) -> Line:
    """The line for a merge: its day, the other file, what was taken, and the file name of the common copy."""
    return (day.isoformat(), theirs, float(cells), float(rows), common)


def common_copy(ours: LogContent, theirs: LogContent) -> str:
    """The file name of the latest copy that both come from; "" if they have none in common."""
    there = {name.casefold() for name in _copies(theirs)}
    return next((name for name in reversed(_copies(ours)) if name.casefold() in there), "")


def merges_of_both(ours: LogContent, theirs: LogContent, now: Line | None = None) -> ConflictLines:
    """The lines that the first copy has not: those of the other one, and that of the merge that is made now."""
    here = {name.casefold() for name in _copies(ours)}
    lines = [line for line in _lines(theirs) if shown(line[_COPY]).casefold() not in here]
    lines += [] if now is None else [now]
    sheet, there = lines_of(ours, MERGES, HEADERS)
    if not lines:
        return ConflictLines((), None)
    if sheet is None:
        return ConflictLines((), NewSheet(free_name(MERGES, ours), (HEADERS, *lines), _WIDTHS))
    return ConflictLines(tuple(edits_below(sheet, len(there) + 1, lines)), None)


def name_of_common_copy(log: Path, day: dt.date, folder: Path) -> Path:
    """A free name for the copy that a merge leaves in a folder."""
    stem = f"{log.stem} common {day.isoformat()}"
    names = (f"{stem}{more}" for more in ("", *(f" {number}" for number in range(2, 1000))))
    ending = ".xlsm" if log.suffix.lower() == ".xlsm" else ".xlsx"
    free = (folder / f"{name}{ending}" for name in names)
    return next(path for path in free if not path.exists())


def _lines(content: LogContent) -> list[Line]:
    return [line for line in lines_of(content, MERGES, HEADERS)[1] if len(line) > _COPY and line[_COPY]]


def _copies(content: LogContent) -> list[str]:
    return [shown(line[_COPY]) for line in _lines(content)]
