"""Rows of a file against the rows of a log: what is new, what is there, what contradicts."""

from __future__ import annotations

import datetime as dt
import functools
import re
import zipfile
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from sheetfns.cell_types import limit_refusal, shown_cell
from sheetfns.errors import LogFileError
from sheetfns.files.cell_names import column_letters, column_number
from sheetfns.files.sheet_xml import canonical
from sheetfns.files.xlsx_file import XlsxFile
from sheetfns.log.edit.csv_import.csv_file import CsvRow
from sheetfns.log.edit.csv_import.log_columns import LogColumn, LogRows
from sheetfns.log.edit.csv_import.map_file import BoundMap
from sheetfns.log.edit.csv_import.row_reader import ReadRow, sum_of
from sheetfns.log.edit.macros import upgrade_command
from sheetfns.log.edit.patch import CellEdit
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import MOST_ROWS

_ROWS_NAMED: Final = 5
Key = tuple[Any, ...]


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
    """

    csv_row: int
    sheet: str
    row: int
    item: str
    header: str
    old: Any
    new: Any


@dataclass(frozen=True)
class NewRow:
    """A row that is to be added: its place, and value by header."""

    csv_row: int
    row: int
    item: str
    values: dict[str, Any]


@dataclass(frozen=True)
class LeftOut:
    """A row of the file that is not imported, and why."""

    csv_row: int
    reason: str


@dataclass(frozen=True)
class Conflict:
    """Values that contradict each other; the log keeps what it has.

    Attributes:
        csv_rows: the rows of the file.
        row: the row of the log; None if rows of the file contradict each other about one that is
            not in the log yet.
        item: what it is called by.
        header: the column.
        log_value: what stands in the log; None if only rows of the file contradict each other.
        csv_values: what stands in the file.
        reason: the same in a sentence.
    """

    csv_rows: tuple[int, ...]
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
    """A row for the file of what was not imported: its cells as they were, and the reason."""

    csv_row: int
    cells: Sequence[str]
    reason: str


class Formulas:
    """Which cells of a sheet hold formulas; the file is read when that is first asked.

    Args:
        places: the columns that may be asked about, counted from 0.
    """

    def __init__(self, path: Path, sheet: str, places: Iterable[int]) -> None:
        self._path = path
        self._sheet = sheet
        self._places = set(places)

    @functools.cached_property
    def cells(self) -> set[tuple[int, int]]:
        """Rows from 1, columns from 0."""
        return formula_cells(self._path, self._sheet, self._places)


class Matcher:
    """Holds the rows of a file against those of a log.

    Args:
        content: the log.
        bound: the map, held against it.
        log_rows, formulas: what is known of its sheet already.
    """

    def __init__(
        self, content: LogContent, bound: BoundMap, log_rows: LogRows | None = None, formulas: Formulas | None = None
    ) -> None:
        self.bound = bound
        self.log = content.path
        self.log_rows = log_rows or LogRows(content, bound.table)
        self.sheet = bound.place.sheet
        self.columns = (*bound.columns, *(column for column, _ in bound.fixed))
        known = {column.header for column in self.columns}
        joining = bound.kinds.columns if bound.kinds else []
        self.columns += tuple(column for column in joining if column.header not in known)
        self.formulas = formulas or Formulas(self.log, self.sheet, (column.place for column in self.columns))
        self.fixed = {column.header: value for column, value in bound.fixed}
        self.in_log = {column.header: self.log_rows.values(column) for column in self.columns}
        self.first = self.log_rows.values(bound.first)
        self.ready = content.ready_rows[bound.table.key]
        self.changes: list[Change] = []
        self.new_rows: list[NewRow] = []
        self.there: list[AlreadyThere] = []
        self.unmatched: list[LeftOut] = []
        self.conflicts: list[Conflict] = []
        self.unreadable: list[LeftOut] = []
        self.edits: list[CellEdit] = []

    def left(self, rows: Iterable[CsvRow]) -> tuple[LeftRow, ...]:
        """Those of the file's rows that are not imported."""
        reasons: dict[int, dict[str, None]] = {}
        for one in (*self.unmatched, *self.unreadable):
            reasons.setdefault(one.csv_row, {})[one.reason] = None
        for conflict in self.conflicts:
            for number in conflict.csv_rows:
                reasons.setdefault(number, {})[conflict.reason] = None
        return tuple(
            LeftRow(row.number, row.cells, "; ".join(reasons[row.number])) for row in rows if row.number in reasons
        )

    def take(self, rows: Iterable[ReadRow]) -> None:
        """Sort all rows of the file."""
        match = self.bound.match
        new = self._not_there(self._readable(rows)) if match is None else self._matched(rows, match)
        self._add(self._fit_to_add(new))

    # ---- rows that are left out ------------------------------------------------------------------

    def _not_readable(self, read: ReadRow, reason: str = "") -> None:
        self.unreadable.append(LeftOut(read.row.number, reason or "; ".join(read.reasons)))

    def _readable(self, rows: Iterable[ReadRow]) -> list[ReadRow]:
        """The rows without a cell that cannot be read; the others are listed."""
        good: list[ReadRow] = []
        for read in rows:
            if read.reasons:
                self._not_readable(read)
            else:
                good.append(read)
        return good

    def _not_matched(self, read: ReadRow, reason: str) -> None:
        self.unmatched.append(LeftOut(read.row.number, reason))

    # ---- with a column to match by ---------------------------------------------------------------

    def _matched(self, rows: Iterable[ReadRow], match: LogColumn) -> list[ReadRow]:
        """Settle rows that belong to a row of the log; give those that may be added."""
        found = self.log_rows.by_value(match)
        new: list[ReadRow] = []
        for key, group in self._by_match(rows, match).items():
            shown = shown_cell(next(read.values[match.header] for read in group if match.header in read.values))
            there = found.get(key, [])
            merged = self._merged(group, shown, there)
            if merged is None:
                continue
            only_joining = all(read.kind for read in group)
            if len(there) == 1:
                self._compare(group, merged, there[0], match, {} if only_joining else self.fixed)
            elif there or not self.bound.new_rows or only_joining:
                where = f"{match.header} '{shown}' is not on sheet {self.sheet}"
                if there:
                    listed = ", ".join(map(str, there[:_ROWS_NAMED]))
                    where = (
                        f"{match.header} '{shown}' is in rows {listed} of sheet {self.sheet}, so it isn't clear which "
                        "one is meant"
                    )
                for read in group:
                    self._not_matched(read, where)
            else:
                main = next(read for read in group if not read.kind)
                new.append(ReadRow(main.row, merged))
                self.there += [AlreadyThere(read.row.number, None, shown) for read in group if read is not main]
        return new

    def _by_match(self, rows: Iterable[ReadRow], match: LogColumn) -> dict[Any, list[ReadRow]]:
        """Rows of the file by what they are matched by; those without it are listed."""
        groups: dict[Any, list[ReadRow]] = {}
        by_order: list[ReadRow] = []
        in_order: dict[str, dict[Any, None]] = {}
        keys: dict[Any, Any] = {}
        for read in rows:
            value = read.values.get(match.header)
            if value is not None:
                key = keys.get(value)
                if key is None:
                    key = keys[value] = match.compared(value)
                groups.setdefault(key, []).append(read)
                if read.order:
                    in_order.setdefault(read.order, {})[key] = None
            elif read.reasons:
                self._not_readable(read)
            elif read.kind and read.order:
                by_order.append(read)
            else:
                self._not_matched(read, f"{match.header} is blank")
        for read in by_order:
            items = list(in_order.get(read.order, ()))
            if len(items) == 1:
                groups[items[0]].append(read)
                continue
            order = f"{match.header} is blank, and order '{shown_cell(read.order)}' has"
            many = f"{len(items)} items, so it isn't clear which one this row is about"
            self._not_matched(read, f"{order} {many if items else 'no item in the file'}")
        return groups

    def _merged(self, group: list[ReadRow], shown: str, there: Sequence[int]) -> dict[str, Any] | None:
        """The values of all rows of one match value; None if they contradict each other."""
        if len(group) == 1 and not group[0].reasons and not group[0].kind:
            return group[0].values
        good = self._readable(group)
        if len(good) < len(group):
            bad = next(read.row.number for read in group if read.reasons)
            for read in good:
                self._not_matched(read, f"row {bad} of the file is about '{shown}' too, and cannot be read")
            return None
        merged: dict[str, Any] = {}
        clashes: list[LogColumn] = []
        ordinary = [read for read in good if not read.kind]
        for column in self.bound.columns:
            values = [read.values[column.header] for read in ordinary if column.header in read.values]
            if values:
                merged[column.header] = values[0]
                if not all(column.same(values[0], value) for value in values[1:]):
                    clashes.append(column)
        if clashes:
            self._contradict(good, clashes, shown, there)
            return None
        return self._joined(merged, good, shown) if len(ordinary) < len(good) else merged

    def _contradict(self, group: list[ReadRow], columns: list[LogColumn], shown: str, there: Sequence[int]) -> None:
        """List rows of the file that say different things about one item, and those that would join them."""
        for column in columns:
            self._clash([read for read in group if not read.kind], column, shown, there)
        for read in group:
            if read.kind:
                self._not_matched(read, f"rows of the file about '{shown}' contradict each other")

    def _joined(self, merged: dict[str, Any], group: list[ReadRow], shown: str) -> dict[str, Any] | None:
        """The values of an item with what rows of other kinds add to it; None if that cannot be."""
        kinds = self.bound.kinds
        if kinds is None:
            return merged
        amounts: dict[str, list[float]] = {}
        columns: dict[str, LogColumn] = {}
        days: dict[str, dt.date] = {}
        day_of: dict[str, str] = {}
        for read in group:
            if not read.kind or read.amount is None:
                continue
            column = kinds.amounts[read.kind]
            columns[column.header] = column
            amounts.setdefault(column.header, []).append(read.amount)
            if read.day is not None:
                at = kinds.days[read.kind].header
                day_of[column.header] = at
                days[at] = max(days.get(at, read.day), read.day)
        for header, added in amounts.items():
            before = [merged[header]] if header in merged else []
            total = sum_of([*before, *added])
            refusal = limit_refusal(columns[header].kind, header, total)
            if refusal is not None:
                for read in group:
                    self._not_matched(read, f"'{shown}', its rows added up: {refusal.message}")
                return None
            # A refund that was taken back is none, and has no day.
            if total == 0 and header in day_of:
                days.pop(day_of[header], None)
                continue
            merged[header] = total
        return {**{header: day for header, day in days.items() if header not in merged}, **merged}

    def _clash(self, group: list[ReadRow], column: LogColumn, shown: str, there: Sequence[int]) -> None:
        rows = tuple(read.row.number for read in group)
        values = tuple(dict.fromkeys(read.values[column.header] for read in group if column.header in read.values))
        reason = (
            f"rows {_and(map(str, rows))} of the file are about '{shown}', and say "
            f"{_and(map(column.shown, values))} for {column.header}"
        )
        row = there[0] if len(there) == 1 else None
        self.conflicts.append(Conflict(rows, row, shown, column.header, None, values, reason))

    def _compare(
        self, group: list[ReadRow], merged: dict[str, Any], row: int, match: LogColumn, fixed: Mapping[str, Any]
    ) -> None:
        """Fill the blank cells of a row, and list what contradicts."""
        numbers = tuple(read.row.number for read in group)
        item = self._item(row)
        settled = True
        for column in self.columns:
            value = merged.get(column.header)
            if value is None:
                value = fixed.get(column.header)
            if value is None or column is match:
                continue
            stands = self.in_log[column.header].get(row)
            if stands is not None and column.same(stands, value):
                continue
            settled = False
            if stands is None and not self._is_formula(row, column.place):
                self.changes.append(Change(numbers[0], self.sheet, row, item, column.header, stands, value))
                self.edits.append(CellEdit(self.sheet, row, column.place + 1, value))
                continue
            holds = "a formula" if stands is None else stands
            reason = (
                f"{column.header}: the log has {holds if stands is None else column.shown(stands)} in "
                f"{column_letters(column.place)}{row}, the file {column.shown(value)}; the log's is kept"
            )
            self.conflicts.append(Conflict(numbers, row, item, column.header, holds, (value,), reason))
        if settled:
            self.there += [AlreadyThere(number, row, item) for number in numbers]

    def _item(self, row: int) -> str:
        value = self.first.get(row)
        return shown_cell(value) if value is not None else f"row {row}"

    def _is_formula(self, row: int, place: int) -> bool:
        """Whether a cell that looks blank holds a formula."""
        return (row, place) in self.formulas.cells

    # ---- without one -----------------------------------------------------------------------------

    def _not_there(self, rows: list[ReadRow]) -> list[ReadRow]:
        """The rows that the log does not have yet, as often as the file has them."""
        keys = self._keys_in_log()
        there: dict[Key, list[int]] = {}
        for row, key in keys.items():
            there.setdefault(key, []).append(row)
        waiting: list[tuple[ReadRow, Key]] = []
        for read in rows:
            values = self.fixed | read.values
            key = tuple(column.compared(values.get(column.header)) for column in self.columns)
            at = there.get(key)
            if at:
                self.there.append(AlreadyThere(read.row.number, at[0], self._item(at[0])))
                del keys[at.pop(0)]
            else:
                waiting.append((read, key))
        # A cell that the file leaves blank may have been filled in since it was imported.
        shapes = Counter(tuple(part is None for part in key) for _, key in waiting)
        filled_since = {shape: self._by_filled(keys, shape) for shape in shapes if any(shape) and not all(shape)}
        new: list[ReadRow] = []
        for read, key in waiting:
            shape = tuple(part is None for part in key)
            part = tuple(one for one in key if one is not None)
            rows_there = filled_since.get(shape, {}).get(part, [])
            taken = next((one for one in rows_there if one in keys), None)
            if taken is None:
                new.append(read)
            else:
                self.there.append(AlreadyThere(read.row.number, taken, self._item(taken)))
                del keys[taken]
        return new

    def _keys_in_log(self) -> dict[int, Key]:
        return {
            row: tuple(column.compared(self.in_log[column.header].get(row)) for column in self.columns)
            for row in self.log_rows.rows
        }

    @staticmethod
    def _by_filled(keys: dict[int, Key], shape: tuple[bool, ...]) -> dict[Key, list[int]]:
        found: dict[Key, list[int]] = {}
        for row, key in keys.items():
            part = tuple(one for one, blank in zip(key, shape, strict=True) if not blank)
            found.setdefault(part, []).append(row)
        return found

    # ---- new rows --------------------------------------------------------------------------------

    def _fit_to_add(self, rows: list[ReadRow]) -> list[ReadRow]:
        """The rows that may be added; the others are listed."""
        first = self.bound.first
        names = {first.compared(value): row for row, value in self.first.items()}
        by_name: dict[Any, int] = {}
        good: list[ReadRow] = []
        for read in rows:
            value = (self.fixed | read.values).get(first.header)
            name = first.compared(value)
            if value is None:
                self._not_readable(read, f"{first.header} is blank, and a new row needs it")
            elif self.bound.once and name in names:
                self._not_matched(
                    read,
                    f"it would be a new row, but {first.header} '{shown_cell(value)}' is already in row {names[name]} "
                    f"of sheet {self.sheet}",
                )
            elif self.bound.once and name in by_name:
                self._not_matched(
                    read,
                    f"it would be a new row, but row {by_name[name]} of the file has "
                    f"{first.header} '{shown_cell(value)}' too",
                )
            else:
                by_name[name] = read.row.number
                good.append(read)
        return good

    def _add(self, rows: list[ReadRow]) -> None:
        if not rows:
            return
        last, place = self.log_rows.last_filled, self.bound.place
        if last + len(rows) > place.last:
            raise LogFileError(self._no_room(len(rows), max(0, place.last - last)))
        for row, read in enumerate(rows, last + 1):
            values = self.fixed | read.values
            for column in self.columns:
                value = values.get(column.header)
                if value is None:
                    continue
                if self._is_formula(row, column.place):
                    cell = f"{column_letters(column.place)}{row}"
                    raise LogFileError(
                        f"{self.log.name}, sheet {self.sheet}: a new row would go into row {row}, and cell {cell} "
                        "holds a formula; clear it, or move it out of the rows"
                    )
                self.edits.append(CellEdit(self.sheet, row, column.place + 1, value))
            item = shown_cell(values[self.bound.first.header])
            self.new_rows.append(NewRow(read.row.number, row, item, values))

    def _no_room(self, wanted: int, room: int) -> str:
        table = self.bound.table
        needed = self.ready + wanted - room
        parts = (1, 2, 4, 5, 10, 20)
        longer = next((n for n in (part * needed for part in parts) if _ready(table.key, n) >= needed), None)
        head = f"{self.log.name}: {wanted} new rows do not fit on sheet {self.sheet}, which has room for {room}"
        if longer is None:
            return f"{head} and cannot be made that long; import fewer rows, or begin a new log"
        return f"{head}; make a longer log with {upgrade_command(self.log, longer)} and import into that"


def _ready(key: str, rows: int) -> int:
    return log_layout(rows).table(key).ready_rows if rows <= MOST_ROWS else 0


def formula_cells(path: Path, sheet: str, places: set[int]) -> set[tuple[int, int]]:
    """Cells with formulas in some columns: row from 1, column from 0."""
    letters = "|".join(column_letters(place) for place in sorted(places)).encode()
    holds_formula = re.compile(rb'<c r="(%s)(\d+)"[^>/]*>\s*<f\b' % letters)
    with XlsxFile(path) as book, zipfile.ZipFile(path) as parts:
        content = canonical(parts.read(book.parts[sheet]))
    return {(int(found[2]), column_number(found[1].decode())) for found in holds_formula.finditer(content)}


def _and(words: Iterable[str]) -> str:
    listed = list(words)
    return " and ".join([", ".join(listed[:-1]), listed[-1]] if len(listed) > 1 else listed)
