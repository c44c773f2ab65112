"""What importing a file into a log would do, worked out from the file, the map and the log."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from sheetfns.cell_types import shown_cell
from sheetfns.errors import LogFileError
from sheetfns.files.safe_files import file_mark
from sheetfns.files.workbook_file import refuse_ods
from sheetfns.log.edit.csv_import.csv_file import CsvFile, read_csv
from sheetfns.log.edit.csv_import.facts import Detected
from sheetfns.log.edit.csv_import.map_file import BoundMap, bind, read_map
from sheetfns.log.edit.csv_import.matching import AlreadyThere, Change, Conflict, LeftOut, LeftRow, Matcher, NewRow
from sheetfns.log.edit.csv_import.row_reader import RowReader
from sheetfns.log.edit.macros import upgrade_command
from sheetfns.log.edit.patch import CellEdit
from sheetfns.log.load import load_log
from sheetfns.log.model.typed_rows import Issue
from sheetfns.log.read.content import LogContent


@dataclass(frozen=True)
class ImportPlan:
    """What importing a file would do; nothing is written yet.

    Attributes:
        csv_path, log_path, map_path: the files.
        sheet: the sheet that it is imported into.
        detected: what was found out about the file, or was stated in the map.
        changes: cells of rows that are in the log.
        new_rows: rows that are added.
        already_there: rows of the file with nothing to change.
        unmatched: rows of the file that belong to no row of the log, or to several.
        conflicts: values that contradict each other.
        unreadable: rows of the file with a cell that cannot be read.
        edits: the same as cells, for the file.
        headers, separator, left: for the file of rows that are not imported.
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
            "Unreadable": len(self.unreadable),
            "Rows not imported": len(self.left),
        }

    @property
    def left_path(self) -> Path:
        """Where the rows that are not imported are saved."""
        return self.csv_path.with_name(f"{self.csv_path.stem} not imported.csv")


def plan_import(csv_path: Path | str, log_path: Path | str, map_path: Path | str) -> ImportPlan:
    """Work out what importing a file into a log would do; nothing is written.

    Args:
        csv_path: a CSV file of any program.
        log_path: the log.
        map_path: says which column is what; `write_draft_map` makes a first one.

    Errors:
        LogFileError: one of the files cannot be used, something about the file cannot be told, the
            map does not fit, the log has an older layout, or new rows do not fit into it.
    """
    csv_path, log_path, map_path = Path(csv_path), Path(log_path), Path(map_path)
    refuse_ods(log_path)
    import_map = read_map(map_path)
    log_hash = file_mark(log_path) if log_path.is_file() else ""
    content = load_log(log_path)
    refuse_older(content)
    file = read_csv(csv_path, import_map.file)
    bound = bind(import_map, content, file)
    reader = RowReader(file, import_map.file, bound.columns, str(content.settings.get("Currency")))
    matcher = Matcher(content, bound)
    matcher.take(reader.rows())
    return ImportPlan(
        csv_path=csv_path,
        log_path=log_path,
        map_path=map_path,
        sheet=bound.place.sheet,
        detected=tuple(_detected(file, reader, bound)),
        changes=tuple(matcher.changes),
        new_rows=tuple(matcher.new_rows),
        already_there=tuple(sorted(matcher.there, key=lambda one: one.csv_row)),
        unmatched=tuple(sorted(matcher.unmatched, key=lambda one: one.csv_row)),
        conflicts=tuple(sorted(matcher.conflicts, key=lambda one: one.csv_rows)),
        unreadable=tuple(sorted(matcher.unreadable, key=lambda one: one.csv_row)),
        edits=tuple(matcher.edits),
        headers=file.headers,
        separator=file.separator,
        left=matcher.left(file.rows),
        log_hash=log_hash,
        csv_rows=len(file.rows),
        known_problems=frozenset(problem_key(problem) for problem in content.problems),
    )


def problem_key(problem: Issue) -> tuple[str, str, str]:
    """What tells one problem from another."""
    return problem.sheet, problem.cell, problem.key


def refuse_older(content: LogContent) -> None:
    """Refuse a log of an earlier layout that lacks something of today's.

    Errors:
        LogFileError: it says so, and how to renew it.
    """
    if content.lacks:
        raise LogFileError(
            f"{content.path.name}: has layout {content.layout} and is missing what was added since; run "
            f"{upgrade_command(content.path)} and import into the new log"
        )


def _detected(file: CsvFile, reader: RowReader, bound: BoundMap) -> Iterable[Detected]:
    yield from map(Detected.of, file.found)
    blank = f", and {file.blank_rows} blank" if file.blank_rows else ""
    yield Detected("Rows", f"{len(file.rows)}{blank}")
    formats = reader.formats
    if reader.numbers:
        yield Detected.of(formats.decimal)
        yield Detected.of(formats.thousands)
        if formats.money:
            yield Detected("Currency in the file", formats.money)
    if reader.dates:
        yield Detected.of(formats.order)
        if formats.short_years:
            yield Detected("Two-digit years", formats.short_years)
    used = {column.source for column in bound.columns}
    unused = [header for place, header in enumerate(file.headers) if header and place not in used]
    if unused:
        yield Detected("Columns not used", ", ".join(shown_cell(header) for header in unused))
