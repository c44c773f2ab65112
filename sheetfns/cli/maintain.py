"""The commands that keep a log whole: check, merge, pocket, import, upgrade."""

from __future__ import annotations

import json
import sys
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Any

import typer

from sheetfns.cli.console import LINES_SHOWN, at_cell, counted, echo, first_lines, out, steps, table_of, warn, warn_of
from sheetfns.cli.make import EditionName
from sheetfns.errors import LogFileError
from sheetfns.files.workbook_file import SAVE_AS_XLSX, is_ods, open_workbook, refuse_ods
from sheetfns.log.check.report import Finding, Report, check_log, fix_log, in_groups
from sheetfns.log.edit.csv_import import ImportLog, ImportPlan, apply_import, plan_import, write_draft_map
from sheetfns.log.edit.csv_import.csv_file import FileFacts, read_csv
from sheetfns.log.edit.csv_import.saved_maps import kept_path
from sheetfns.log.edit.macros import has_macros
from sheetfns.log.edit.merge import MergeReport, merge_logs
from sheetfns.log.edit.merge_finds import merge_finds
from sheetfns.log.edit.merge_rows import Difference, MergeOutcome
from sheetfns.log.edit.patch import Patched
from sheetfns.log.edit.pocket import make_pocket
from sheetfns.log.edit.read_finds import is_pocket
from sheetfns.log.edit.upgrade import LEFT_OVER, upgrade_log
from sheetfns.log.edit.values import shown
from sheetfns.log.load import load_log
from sheetfns.log.model.version import OLDER_LAYOUT
from sheetfns.log.sheets.words import CONFLICTS, FINDS, LOG
from sheetfns.programs.excel.macro_log import macro_writer, same_macros


def check(
    file: Annotated[Path, typer.Argument(help="A log of either edition; .ods is read, not fixed.")],
    fix: Annotated[
        bool, typer.Option("--fix", help="Restore formulas, and turn numbers stored as text into numbers.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")] = False,
) -> None:
    """Check a log: every problem, with its sheet, its cell and what to do."""
    if fix:
        refuse_ods(file)
    with steps(5 if fix else 3) as step:
        report = check_log(file, step)
        if fix:
            step("Fixing")
            fixed = fix_log(report)
            report = check_log(file, lambda _: None) if fixed else report
        else:
            fixed = None
    if as_json:
        echo(json.dumps(_as_json(report, fixed.findings if fixed else ()), indent=2))
    else:
        if fixed:
            _echo_fixed(fixed.findings)
            _echo_not_recalculated(fixed.patched.not_recalculated)
            echo(f"Backup: {fixed.patched.copy.name if fixed.patched.copy else ''}")
        elif fix:
            echo(f"{file}: nothing here can be fixed automatically.")
        _echo_findings(report)
    if report.findings:
        raise typer.Exit(1)


def _echo_fixed(findings: Iterable[Finding]) -> None:
    for finding in findings:
        if finding.key == "add_in_name":
            echo(f"Fixed {finding.sheet}: plain function names in {finding.times} cells")
            continue
        for edit in finding.repairs:
            value = getattr(edit.value, "text", None)
            now = f"={value}" if value is not None else shown(edit.value)
            was = f" instead of {finding.found}" if finding.times == 1 else ""
            if len(now) > 60:
                now = f"{now[:60]} ..."
            echo(f"Fixed {edit.sheet}, {edit.cell}: {now}{was}")


def _echo_not_recalculated(why: str) -> None:
    if why:
        warn(f"Its figures will be calculated when you open it, not before: {why}")


def _echo_findings(report: Report) -> None:
    name = report.content.path
    if not report.findings:
        echo(f"{name}: {report.summary}.")
        return
    for group, findings in in_groups(report.findings).items():
        many = sum(finding.times for finding in findings)
        echo(f"{group}: {many}")
        for line in first_lines([*map(_in_one_line, findings)], "; --json lists all."):
            echo(f"  {line}")
    echo(f"{name}: {report.summary}.")
    certain = sum(len(finding.repairs) for finding in report.findings)
    cells = counted(certain, "cell")
    if certain and is_ods(report.content.path):
        echo(f"--fix can repair {cells}: {SAVE_AS_XLSX}, then run 'sheetfns check --fix' on that.")
    elif certain:
        echo(f"--fix can repair {cells}: run this again with --fix.")


def _in_one_line(finding: Finding) -> str:
    stands = f" (found: {finding.found})" if finding.found else ""
    return f"{finding.sheet}, {finding.cell}: {finding.message}{stands}"


def _as_json(report: Report, fixed: Iterable[Finding]) -> dict[str, Any]:
    def one(finding: Finding) -> dict[str, Any]:
        return {
            "sheet": finding.sheet,
            "cell": finding.cell,
            "found": finding.found,
            "message": finding.message,
            "key": finding.key,
            "cells": finding.times,
            "certain": bool(finding.repairs),
        }

    return {
        "file": str(report.content.path),
        "count": report.count,
        "groups": {
            group: {"count": sum(f.times for f in findings), "findings": [*map(one, findings)]}
            for group, findings in in_groups(report.findings).items()
        },
        "fixed": [
            {"sheet": edit.sheet, "cell": edit.cell, "was": finding.found}
            for finding in fixed
            for edit in finding.repairs
        ],
    }


def merge(
    mine: Annotated[Path, typer.Argument(help="Your copy; where both changed a cell, your value is kept.")],
    theirs: Annotated[Path, typer.Argument(help="Your partner's copy, or a pocket copy of yours, .xlsx or .ods.")],
    result: Annotated[
        Path | None,
        typer.Option("--out", help="The merged log; without it, the finds of a pocket copy go into your copy."),
    ] = None,
    base: Annotated[
        Path | None, typer.Option(help="The last copy you had in common, or one of the two; settles most conflicts.")
    ] = None,
    renumber: Annotated[
        bool, typer.Option("--renumber", help="Where one number stands for two items, give the second a free number.")
    ] = False,
) -> None:
    """Merge two copies of a log, or the finds of a pocket copy; what isn't kept is listed."""
    if is_pocket(mine):
        raise LogFileError(f"{mine}: is a pocket copy; name the log first, and then the pocket copy")
    if is_pocket(theirs):
        if base is not None or renumber:
            raise LogFileError(f"{theirs}: is a pocket copy; leave --base and --renumber out")
        _merge_finds(mine, theirs, result)
        return
    if result is None:
        with open_workbook(theirs):
            pass  # of a file that is no workbook that is said
        raise LogFileError(f"{mine}: say with --out where the merged log goes; it may be {mine.name} itself")
    with steps(5 if base else 4) as step:
        report = merge_logs(mine, theirs, result, base, renumber=renumber, step=step)
    _echo_macros(mine, theirs, report.path)
    _echo_merge(report)


def _echo_merge(report: MergeReport) -> None:
    for sheet, rows in report.rows_added.items():
        echo(f"{sheet}: {counted(rows, 'new row')} added.")
    urgent = [one for one in report.differences if one.outcome is not MergeOutcome.changed]
    _echo_differences(report.differences, urgent)
    _echo_written(report.path, report.patched)


def _echo_differences(differences: Iterable[Difference], shown_here: Iterable[Difference]) -> None:
    counts = Counter(one.outcome for one in differences)
    for outcome in MergeOutcome:
        if counts[outcome]:
            echo(f"{outcome.value}: {counts[outcome]}")
    for line in first_lines([*map(_kept_and_not, shown_here)]):
        echo(f"  {line}")
    if counts:
        echo(
            f"Sheet {CONFLICTS} lists each with both values. Where the other value is right, enter it in the log; then "
            "delete the line."
        )


def _echo_written(path: Path, patched: Patched | None) -> None:
    if patched is None or patched.unchanged:
        echo(f"{path}: nothing to change.")
        return
    _echo_not_recalculated(patched.not_recalculated)
    copy = f" Backup: {patched.copy.name}" if patched.copy else ""
    echo(f"{path} is ready.{copy}")


def _merge_finds(log: Path, pocket: Path, result: Path | None) -> None:
    with steps(4) as step:
        report = merge_finds(log, pocket, result, step=step)
    if report.added:
        echo(f"{LOG}: {counted(len(report.added), 'new row')} added.")
    for line in first_lines(report.added):
        echo(f"  {line}")
    if report.known:
        echo(f"In the log already: {counted(report.known, 'find')}")
    for note in report.notes:
        echo(note)
    _echo_differences(report.differences, report.differences)
    if report.refused:
        echo(f"Not taken: {counted(len(report.refused), 'cell')} to fix in {pocket.name}")
    for line in first_lines(report.refused):
        echo(f"  {line}")
    warn_of(report.new_problems)
    _echo_written(report.path, report.patched)
    if report.refused:
        raise typer.Exit(1)


def _kept_and_not(one: Difference) -> str:
    where = ", ".join(part for part in (one.sheet, one.named, one.column) if part)
    if one.outcome is MergeOutcome.other_sheet:
        return where
    other = shown(one.other)
    return f"{where}: kept {shown(one.kept) or 'blank'}" + (f", not kept {other}" if other else "")


def _echo_macros(mine: Path, theirs: Path, result: Path) -> None:
    if not has_macros(theirs):
        return
    if not has_macros(mine):
        echo(f"{theirs.name} has macros, which were not copied: {result.name} has none.")
    elif not same_macros(mine, theirs):
        echo(f"The macros of the two copies differ: {result.name} has those of {mine.name}.")


def pocket(
    log: Annotated[Path, typer.Argument(help="The log, .xlsx or .ods; it stays as it is.")],
    result: Annotated[
        Path | None, typer.Option("--out", help="The pocket copy; default: beside the log, ending in _pocket.xlsx.")
    ] = None,
) -> None:
    """Make a small copy for the phone: Shelf check, Buying plan, and a list for what you buy."""
    path = log.with_name(f"{log.stem}_pocket.xlsx") if result is None else result
    with steps(3) as step:
        made = make_pocket(log, path, step)
    for note in made.notes:
        echo(note, wrap=True)
    size = path.stat().st_size / 1000
    echo(
        f"{path} is ready ({size:.0f} kB): open it on your phone. Back home, 'sheetfns merge {log.name} {path.name}' "
        f"adds what is on its sheet {FINDS} to the log.",
        wrap=True,
    )


def import_sales(
    file: Annotated[Path, typer.Argument(help="A CSV file, such as a channel's list of sales.")],
    log: Annotated[Path, typer.Argument(help="The log.")],
    map_file: Annotated[
        Path | None,
        typer.Option(
            "--map",
            help="Says what each column is; if the file doesn't exist, a first map is made. Without it you are asked.",
        ),
    ] = None,
    write: Annotated[bool, typer.Option("--apply", help="Fill the log; without it, nothing is written.")] = False,
) -> None:
    """Import a CSV file of another program into a log, by a map of its columns, or by what you answer."""
    refuse_ods(log)
    if map_file is None:
        _ask_and_import(file, log, write=write)
        return
    if not map_file.exists():
        with steps(1) as step:
            step("Reading both files")
            draft = write_draft_map(file, load_log(log), map_file)
        for fact in draft.detected:
            echo(f"{fact.label}: {fact.value}")
        for words in draft.doubts:
            echo(f"To fill in: {words}")
        echo(f"{map_file} is a first map: open it, say what each column is, and run this again.")
        return
    with steps(1) as step:
        step("Reading the files")
        plan = plan_import(file, log, map_file)
    _echo_plan(plan)
    if not write:
        echo("Nothing has been written yet; run this again with --apply.")
        return
    _write_plan(plan)


def _ask_and_import(file: Path, log: Path, *, write: bool) -> None:
    """Ask what the columns are, show what would change, and fill the log if that is wanted."""
    if not in_terminal():
        kept = kept_path(read_csv(file, FileFacts(), doubtful=True).headers)
        map_words = kept if kept.is_file() else f"{file.stem}_map.toml"
        raise LogFileError(
            f"{file}: nobody can be asked here what its columns are; run this in a terminal, or with --map {map_words}"
        )
    from sheetfns.cli.questions import Terminal  # noqa: PLC0415  (only where somebody is asked)
    from sheetfns.programs.jobs_import import ask_import  # noqa: PLC0415

    with steps(1) as step:
        step("Reading the files")
        content = ImportLog(log)
    terminal = Terminal()
    agreed = ask_import(terminal, file, content)
    if agreed is None:
        echo("Nothing has been written.")
        return
    _echo_plan(agreed.plan)
    if agreed.plan.edits and not (write or terminal.ask_yes(f"Fill {counted(len(agreed.plan.edits), 'cell')}?")):
        echo("Nothing has been written.")
        return
    _write_plan(agreed.plan)
    if agreed.plan.edits:
        echo(agreed.kept_where())


def in_terminal() -> bool:
    """Whether somebody can be asked."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def _write_plan(plan: ImportPlan) -> None:
    with steps(1) as step:
        step("Writing")
        done = apply_import(plan)
    log = plan.log_path
    if done.left_path is not None:
        echo(f"{done.left_path}: {done.left_rows} rows were not imported; this file lists them with the reasons.")
    for line in map(at_cell, done.new_problems[:LINES_SHOWN]):
        warn(line)
    if not done.cells:
        echo(f"{log}: nothing to change.")
        return
    _echo_not_recalculated(done.not_recalculated)
    copy = done.copy.name if done.copy else ""
    echo(f"{log}: {done.cells} cells written. Backup: {copy}")


def _echo_plan(plan: ImportPlan) -> None:
    for fact in plan.detected:
        echo(f"{fact.label}: {fact.value}")
    table = table_of(f"Into {plan.sheet}", "Line", "Row", "Item or row", "Column", "New", words=5)
    for change in plan.changes[:LINES_SHOWN]:
        new = shown(change.new)
        table.add_row(str(change.csv_row), str(change.row), change.item, change.header, new)
    for row in plan.new_rows[:LINES_SHOWN]:
        values = ", ".join(f"{header}: {shown(value)}" for header, value in row.values.items())
        table.add_row(str(row.csv_row), f"{row.row} (new)", row.item, "", values)
    if table.row_count:
        out.print(table)
    more = len(plan.changes) + len(plan.new_rows) - table.row_count
    if more > 0:
        echo(f"... and {more} more.")
    left = [f"line {one.csv_row}: {one.reason}" for one in (*plan.unmatched, *plan.unreadable)]
    left += [f"line {', '.join(map(str, c.csv_rows))}: {c.reason}" for c in plan.conflicts]
    for line in first_lines([f"Not imported, {words}" for words in left]):
        echo(line)
    for label, count in plan.counts.items():
        echo(f"{label}: {count}")


def upgrade(
    old: Annotated[Path, typer.Argument(help="An older or damaged log, .xlsx or .ods; it stays as it is.")],
    result: Annotated[Path, typer.Option("--out", help="The new log: .xlsx, or .xlsm with macros for Excel.")],
    edition: Annotated[
        EditionName | None, typer.Option(help="plain, functions or lambda; default: that of the old log.")
    ] = None,
    rows: Annotated[int | None, typer.Option(help="Ready rows on the sourcing log; default: as before.")] = None,
) -> None:
    """Move a log to the current layout; every entry is carried over, or listed."""
    if rows is not None and rows < 1:
        raise LogFileError(f"--rows {rows}: write 1 or more")
    with steps(5) as step:
        report = upgrade_log(old, result, edition.value if edition else None, rows, step, macro_writer=macro_writer)
    # That its layout is an older one is why it is here.
    problems = [one for one in report.old.problems if one.key != OLDER_LAYOUT]
    warn_of(problems, f"; 'sheetfns check {result}' lists them all.")
    if report.own_columns:
        echo(f"Your own columns, to the right of the log's: {', '.join(report.own_columns)}")
    if report.own_sheets:
        echo(f"Your own sheets, as values: {', '.join(report.own_sheets)}")
    if report.left_over:
        have = "has" if len(report.left_over) == 1 else "have"
        echo(f"{counted(len(report.left_over), 'value')} {have} no place in the new log; see sheet {LEFT_OVER}.")
    if report.macros_left:
        echo(f"The macros of {old.name} and their settings were not copied: an .xlsx file cannot hold macros.")
    if result.suffix.lower() == ".xlsm":
        if report.old.edition != "functions":
            echo("Its formulas call the functions, as they do in every log with macros.")
        echo("Import the functions into it before you use it; 'sheetfns install excel' says how.")
    echo(f"{result} is ready: {report.typed} entries were carried over and compared with the old log.")
