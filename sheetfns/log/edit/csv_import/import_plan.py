"""What importing a file into a log would do, worked out from the file, the map and the log."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from sheetfns.cell_types import shown_cell
from sheetfns.errors import LogFileError
from sheetfns.files.safe_files import file_mark
from sheetfns.files.workbook_file import refuse_ods
from sheetfns.log.edit.csv_import.csv_file import CsvFile, read_csv
from sheetfns.log.edit.csv_import.facts import Detected
from sheetfns.log.edit.csv_import.log_columns import LogRows, log_columns
from sheetfns.log.edit.csv_import.map_file import BoundMap, ImportMap, bind, read_map
from sheetfns.log.edit.csv_import.matching import (
    AlreadyThere,
    Change,
    Conflict,
    Formulas,
    LeftOut,
    LeftRow,
    Matcher,
    NewRow,
)
from sheetfns.log.edit.csv_import.row_reader import FirstCells, RowReader
from sheetfns.log.edit.macros import upgrade_command
from sheetfns.log.edit.patch import CellEdit
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import TableSheet
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
        left_out: rows of the file that the map leaves out.
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
    left_out: tuple[LeftOut, ...] = ()

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
        } | ({"Left out by the map": len(self.left_out)} if self.left_out else {})

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
    log = ImportLog(log_path)
    return ImportDesk(log, read_csv(csv_path, import_map.file)).plan(import_map)


class ImportLog:
    """A log that is read once, for as many files and maps as are tried.

    Errors:
        LogFileError: it cannot be used, or has an older layout.
    """

    def __init__(self, path: Path | str) -> None:
        self.path = Path(path)
        refuse_ods(self.path)
        self.mark = file_mark(self.path) if self.path.is_file() else ""
        self.content = load_log(self.path)
        refuse_older(self.content)
        self._rows: dict[str, LogRows] = {}
        self._formulas: dict[str, Formulas] = {}

    def rows(self, table: TableSheet) -> LogRows:
        """What stands on a sheet."""
        if table.key not in self._rows:
            self._rows[table.key] = LogRows(self.content, table)
        return self._rows[table.key]

    def formulas(self, table: TableSheet) -> Formulas:
        """Which of its cells that may be filled hold formulas."""
        if table.key not in self._formulas:
            places = (column.place for column in log_columns(self.content, table))
            self._formulas[table.key] = Formulas(self.path, self.content.places[table.key].sheet, places)
        return self._formulas[table.key]


class ImportDesk:
    """A file beside a log: both are read once, and maps are tried on them."""

    def __init__(self, log: ImportLog, file: CsvFile) -> None:
        self.log = log
        self.file = file
        self._cells: dict[tuple[str, ...], FirstCells] = {}

    def cells(self, blank_words: Sequence[str] = ()) -> FirstCells:
        """The different texts of the file's columns."""
        words = tuple(blank_words)
        if words not in self._cells:
            self._cells[words] = FirstCells(self.file, words)
        return self._cells[words]

    def plan(self, import_map: ImportMap, first_rows: int | None = None) -> ImportPlan:
        """What importing the file by a map would do.

        Args:
            first_rows: how many rows of the file are looked at; all of them if left out.

        Errors:
            LogFileError: the map does not fit, something about the file cannot be told, or new rows do not fit.
        """
        content, file = self.log.content, self.file
        bound = bind(import_map, content, file)
        if first_rows is not None:
            file = replace(file, rows=file.rows[:first_rows])
        currency = str(content.settings.get("Currency"))
        reader = RowReader(file, import_map.file, bound, currency, self.cells(import_map.file.blank_words))
        matcher = Matcher(content, bound, self.log.rows(bound.table), self.log.formulas(bound.table))
        matcher.take(reader.rows())
        return ImportPlan(
            csv_path=file.path,
            log_path=self.log.path,
            map_path=import_map.path,
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
            log_hash=self.log.mark,
            csv_rows=len(file.rows),
            known_problems=frozenset(problem_key(problem) for problem in content.problems),
            left_out=tuple(LeftOut(*one) for one in reader.left_out),
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
    if reader.facts.epoch and reader.dates:
        zone = reader.facts.utc_offset or "UTC"
        yield Detected("Times that are numbers", f"{reader.facts.epoch} from 1970, days as in {zone}")
    used = {place for column in bound.columns for place in (column.source, *column.added)}
    used |= {place for place, *_ in bound.leave_out} | ({bound.orders.column} if bound.orders else set())
    if bound.kinds:
        joining = [bound.kinds.amount, *([bound.kinds.day] if bound.kinds.day else [])]
        used |= {bound.kinds.column, *(column.source for column in joining)}
    unused = [header for place, header in enumerate(file.headers) if header and place not in used]
    if unused:
        yield Detected("Columns not used", ", ".join(shown_cell(header) for header in unused))
