"""From three files to a plan: what bringing one into another would do."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from sheetfns.cell_types import shown_cell
from sheetfns.errors import LogFileError
from sheetfns.files.safe_files import file_mark
from sheetfns.files.workbook_file import refuse_ods
from sheetfns.log.edit.csv_import.csv_file import CsvFile, read_csv
from sheetfns.log.edit.csv_import.map_file import read_map
from sheetfns.log.edit.csv_import.matching import Matcher
from sheetfns.log.edit.csv_import.plan import Detected, Plan
from sheetfns.log.edit.csv_import.reading import RowReader
from sheetfns.log.edit.csv_import.targets import Bound, bind
from sheetfns.log.edit.macros import new_name
from sheetfns.log.load import load_log
from sheetfns.log.model.typed_rows import Issue
from sheetfns.log.read.content import LogContent


def plan_bring_in(csv_path: Path | str, log_path: Path | str, map_path: Path | str) -> Plan:
    """Work out what bringing a file into a log would do; nothing is written.

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
    bring_in = read_map(map_path)
    log_hash = file_mark(log_path) if log_path.is_file() else ""
    content = load_log(log_path)
    refuse_older(content)
    file = read_csv(csv_path, bring_in.file)
    bound = bind(bring_in, content, file)
    reader = RowReader(file, bring_in.file, bound.columns, str(content.settings.get("Currency")))
    matcher = Matcher(content, bound)
    matcher.take(reader.rows())
    return Plan(
        csv_path,
        log_path,
        map_path,
        bound.place.sheet,
        tuple(_detected(file, reader, bound)),
        tuple(matcher.changes),
        tuple(matcher.new_rows),
        tuple(sorted(matcher.there, key=lambda one: one.csv_row)),
        tuple(sorted(matcher.unmatched, key=lambda one: one.csv_row)),
        tuple(sorted(matcher.conflicts, key=lambda one: one.csv_rows)),
        tuple(sorted(matcher.unreadable, key=lambda one: one.csv_row)),
        tuple(matcher.edits),
        file.headers,
        file.separator,
        matcher.left(),
        log_hash,
        len(file.rows),
        frozenset(told(problem) for problem in content.problems),
    )


def told(problem: Issue) -> tuple[str, str, str]:
    """What tells one problem from another."""
    return problem.sheet, problem.cell, problem.key


def refuse_older(content: LogContent) -> None:
    """Refuse a log of an earlier layout that lacks something of today's.

    Errors:
        LogFileError: it says so, and how to renew it.
    """
    if content.lacks:
        raise LogFileError(
            f"{content.path.name}: has layout {content.layout} and lacks what has come since; make "
            f"a new log of it with 'sheetfns refit {content.path.name} --out "
            f"{new_name(content.path)}' and bring the file into that"
        )


def _detected(file: CsvFile, reader: RowReader, bound: Bound) -> Iterable[Detected]:
    for found in file.found:
        yield Detected(found.label, found.shown)
    blank = f", and {file.blank_rows} blank" if file.blank_rows else ""
    yield Detected("Rows", f"{len(file.rows)}{blank}")
    marks = reader.marks
    if reader.numbers:
        yield Detected(marks.decimal.label, marks.decimal.shown)
        yield Detected(marks.thousands.label, marks.thousands.shown)
        if marks.money:
            yield Detected("Currency in the file", marks.money)
    if reader.dates:
        yield Detected(marks.order.label, marks.order.shown)
        if marks.short_years:
            yield Detected("Two-digit years", marks.short_years)
    used = {target.source for target in bound.columns}
    unused = [header for place, header in enumerate(file.headers) if header and place not in used]
    if unused:
        yield Detected("Columns not used", ", ".join(shown_cell(header) for header in unused))
