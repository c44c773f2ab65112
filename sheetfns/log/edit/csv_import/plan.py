"""What bringing a file into a log would do, and what came of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sheetfns.log.edit.patch import CellEdit
from sheetfns.log.model.typed_rows import Issue


@dataclass(frozen=True)
class Detected:
    """A fact about the file, in words, with how it is known."""

    label: str
    value: str


@dataclass(frozen=True)
class Change:
    """A cell of a row that is in the log, and what it is to hold; it was blank.

    Attributes:
        csv_row: the row of the file that says so, the first if several do.
        sheet, row: where it stands, the row counted from 1.
        item: what the row is called by: its item no., else what stands in its first column.
        header: the column.
        old: what stands there: None, as only blank cells are written.
        new: float, date or text.
        column: the column's place, counted from 1.
    """

    csv_row: int
    sheet: str
    row: int
    item: str
    header: str
    old: Any
    new: Any
    column: int


@dataclass(frozen=True)
class NewRow:
    """A row that is to be added: its place, and value by header."""

    csv_row: int
    sheet: str
    row: int
    item: str
    values: dict[str, Any]


@dataclass(frozen=True)
class LeftOut:
    """A row of the file that is not brought in, and why."""

    csv_row: int
    reason: str


@dataclass(frozen=True)
class Conflict:
    """Values that contradict each other; the log keeps what it has.

    Attributes:
        csv_rows: the rows of the file.
        sheet, row: the row of the log; None if rows of the file contradict each other about one
            that is not in the log yet.
        item: what it is called by.
        header: the column.
        log_value: what stands in the log; None if only rows of the file contradict each other.
        csv_values: what stands in the file.
        reason: the same in a sentence.
    """

    csv_rows: tuple[int, ...]
    sheet: str
    row: int | None
    item: str
    header: str
    log_value: Any
    csv_values: tuple[Any, ...]
    reason: str


@dataclass(frozen=True)
class AlreadyThere:
    """A row of the file with nothing to do: the log has it, or an earlier row of the file is it.

    `row` is the row of the log; None if an earlier row of the file adds it.
    """

    csv_row: int
    row: int | None
    item: str


@dataclass(frozen=True)
class LeftRow:
    """A row for the file of what was not brought in: its cells as they were, and the reason."""

    csv_row: int
    cells: Sequence[str]
    reason: str


@dataclass(frozen=True)
class Plan:
    """What bringing a file in would do; nothing is written yet.

    Attributes:
        csv_path, log_path, map_path: the files.
        sheet: the sheet that it is brought into.
        detected: what was found out about the file, or was stated in the map.
        changes: cells of rows that are in the log.
        new_rows: rows that are added.
        already_there: rows of the file with nothing to change.
        unmatched: rows of the file that belong to no row of the log, or to several.
        conflicts: values that contradict each other.
        unreadable: rows of the file with a cell that cannot be read.
        edits: the same as cells, for the file.
        headers, separator, left: for the file of rows that are not brought in.
        log_hash: the log's content when it was read.
        csv_rows: how many rows the file has below its headers, blank ones left out.
        known_problems: sheet, cell and key of what is wrong with the log already.
    """

    csv_path: Path
    log_path: Path
    map_path: Path
    sheet: str
    detected: tuple[Detected, ...]
    changes: tuple[Change, ...]
    new_rows: tuple[NewRow, ...]
    already_there: tuple[AlreadyThere, ...]
    unmatched: tuple[LeftOut, ...]
    conflicts: tuple[Conflict, ...]
    unreadable: tuple[LeftOut, ...]
    edits: tuple[CellEdit, ...]
    headers: tuple[str, ...]
    separator: str
    left: tuple[LeftRow, ...]
    log_hash: str
    csv_rows: int
    known_problems: frozenset[tuple[str, str, str]]

    @property
    def counts(self) -> dict[str, int]:
        """How many rows there are of each sort; a row can have cells to change and a conflict."""
        return {
            "Rows in the file": self.csv_rows,
            "Cells to fill": len(self.changes),
            "Rows of the log to fill": len({change.row for change in self.changes}),
            "New rows": len(self.new_rows),
            "Already there": len(self.already_there),
            "Not matched": len(self.unmatched),
            "In conflict": len({row for one in self.conflicts for row in one.csv_rows}),
            "Not readable": len(self.unreadable),
            "Rows not brought in": len(self.left),
        }

    @property
    def left_path(self) -> Path:
        """Where the rows that are not brought in are saved."""
        return self.csv_path.with_name(f"{self.csv_path.stem} not brought in.csv")


@dataclass(frozen=True)
class Applied:
    """What was written.

    Attributes:
        log_path: the log.
        cells: how many of its cells were written; 0 if the log was left alone.
        new_rows: how many rows were added.
        copy: the dated copy of the log as it was; None if the log was left alone.
        not_recalculated: why the results could not be worked out; "" if they were.
        left_path: the file with the rows that were not brought in; None if all were.
        left_rows: how many these are.
        new_problems: problems that the log has now and did not have before.
    """

    log_path: Path
    cells: int
    new_rows: int
    copy: Path | None
    not_recalculated: str
    left_path: Path | None
    left_rows: int
    new_problems: tuple[Issue, ...]
