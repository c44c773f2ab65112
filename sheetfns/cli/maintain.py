"""The commands that keep a log whole: check, merge, bring-in, refit."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from sheetfns.cli.console import PROBLEMS_SHOWN, out, say, steps, table_of, tell
from sheetfns.errors import LogFileError
from sheetfns.files.workbook_file import SAVE_AS_XLSX, is_ods, refuse_ods
from sheetfns.log.check.report import Finding, Report, check_log, in_groups, mend
from sheetfns.log.edit.csv_import import Plan, apply, plan_bring_in, write_draft_map
from sheetfns.log.edit.macros import has_macros
from sheetfns.log.edit.merge import MergeReport, merge_logs
from sheetfns.log.edit.merge_rows import Happened, shown
from sheetfns.log.edit.upgrade import LEFT_OVER, refit_log
from sheetfns.log.load import load_log
from sheetfns.log.model.version import OLDER_LAYOUT
from sheetfns.log.sheets.words import CONFLICTS
from sheetfns.programs.excel.macro_log import macro_writer, same_macros

_ROWS_SHOWN = 20


class EditionName(StrEnum):
    """The editions of the log; of the two that differ in their cells see EDITIONS."""

    plain = "plain"
    functions = "functions"
    with_lambda = "lambda"


def add_to(app: typer.Typer) -> None:
    """Add the commands to the others."""
    app.command(name="check")(check)
    app.command(name="merge")(merge)
    app.command(name="bring-in")(bring_in)
    app.command(name="refit")(refit)


def check(
    file: Annotated[Path, typer.Argument(help="A log of either edition; .ods is read, not fixed.")],
    fix: Annotated[
        bool, typer.Option("--fix", help="Put formulas back and make numbers of numbers that stand as text.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print it for programs.")] = False,
) -> None:
    """Look a log over: every problem with its sheet, its cell and what to do."""
    if fix:
        refuse_ods(file)
    with steps(5 if fix else 3) as step:
        report = check_log(file, step)
        if fix:
            step("Mending")
            mended = mend(report)
            report = check_log(file, lambda _: None) if mended else report
        else:
            mended = None
    if as_json:
        say(json.dumps(_as_json(report, mended.findings if mended else ()), indent=2))
    else:
        if mended:
            _say_mended(mended.findings)
            _say_not_recalculated(mended.patched.not_recalculated)
            say(f"The file as it was: {mended.patched.copy.name if mended.patched.copy else ''}")
        elif fix:
            say(f"{file}: there is nothing that can be mended for certain.")
        _say_findings(report)
    if report.findings:
        raise typer.Exit(1)


def _say_mended(findings: Iterable[Finding]) -> None:
    for finding in findings:
        if finding.key == "add_in_name":
            say(f"Mended {finding.sheet}: plain function names in {finding.times} cells")
            continue
        for edit in finding.repairs:
            value = getattr(edit.value, "text", None)
            now = f"={value}" if value is not None else shown(edit.value)
            was = f" in place of {finding.found}" if finding.times == 1 else ""
            if len(now) > 60:
                now = f"{now[:60]} ..."
            say(f"Mended {edit.sheet}, {edit.cell}: {now}{was}")


def _say_not_recalculated(why: str) -> None:
    if why:
        tell(f"Its figures are worked out when you open it and not before: {why}")


def _say_findings(report: Report) -> None:
    name = report.content.path
    if not report.findings:
        say(f"{name}: nothing to mend and nothing to look at.")
        return
    for group, findings in in_groups(report.findings).items():
        many = sum(finding.times for finding in findings)
        say(f"{group}: {many}")
        for finding in findings[:PROBLEMS_SHOWN]:
            stands = f" (there stands: {finding.found})" if finding.found else ""
            say(f"  {finding.sheet}, {finding.cell}: {finding.message}{stands}")
        more = len(findings) - PROBLEMS_SHOWN
        if more > 0:
            say(f"  ... and {more} more; --json lists all.")
    cells = "1 cell" if report.count == 1 else f"{report.count} cells"
    say(f"{name}: {cells} to mend or to look at.")
    certain = sum(len(finding.repairs) for finding in report.findings)
    if certain and is_ods(report.content.path):
        say(f"{certain} of them can be mended for certain: {SAVE_AS_XLSX} and run 'sheetfns check --fix' on that.")
    elif certain:
        say(f"{certain} of them can be mended for certain: run it again with --fix.")


def _as_json(report: Report, mended: Iterable[Finding]) -> dict[str, Any]:
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
        "mended": [
            {"sheet": edit.sheet, "cell": edit.cell, "was": finding.found}
            for finding in mended
            for edit in finding.repairs
        ],
    }


def merge(
    mine: Annotated[Path, typer.Argument(help="Your copy: what both changed stays as it is here.")],
    theirs: Annotated[Path, typer.Argument(help="Your partner's copy, .xlsx or .ods.")],
    result: Annotated[Path, typer.Option("--out", help="The file for the result.")],
    base: Annotated[
        Path | None, typer.Option(help="The last copy that you both had, or one of the two; it settles most.")
    ] = None,
    renumber: Annotated[
        bool, typer.Option("--renumber", help="Give a different piece under the same number a free number.")
    ] = False,
) -> None:
    """Bring two copies of a log together; nothing typed into either is lost."""
    with steps(5 if base else 4) as step:
        report = merge_logs(mine, theirs, result, base, renumber=renumber, step=step)
    _say_macros(mine, theirs, report.path)
    _say_merge(report)


def _say_merge(report: MergeReport) -> None:
    for sheet, rows in report.rows_added.items():
        say(f"{sheet}: {rows} new row{'' if rows == 1 else 's'} taken.")
    counts = Counter(one.happened for one in report.differences)
    for happened in Happened:
        if counts[happened]:
            say(f"{happened.value}: {counts[happened]}")
    urgent = [one for one in report.differences if one.happened is not Happened.changed]
    for one in urgent[:_ROWS_SHOWN]:
        where = ", ".join(part for part in (one.sheet, one.named, one.column) if part)
        kept, other = shown(one.kept), shown(one.other)
        values = f": kept {kept or 'blank'}" + (f", not kept {other}" if other else "")
        say(f"  {where}{'' if one.happened is Happened.other_sheet else values}")
    if len(urgent) > _ROWS_SHOWN:
        say(f"  ... and {len(urgent) - _ROWS_SHOWN} more.")
    if report.differences:
        say(
            f"Sheet {CONFLICTS} lists each with both values. Where the other value is right, type "
            "it into the log; then delete the line."
        )
    patched = report.patched
    if patched is None or patched.unchanged:
        say(f"{report.path}: there was nothing to change.")
        return
    _say_not_recalculated(patched.not_recalculated)
    copy = f" The file as it was: {patched.copy.name}" if patched.copy else ""
    say(f"{report.path} is ready.{copy}")


def _say_macros(mine: Path, theirs: Path, result: Path) -> None:
    if not has_macros(theirs):
        return
    if not has_macros(mine):
        say(f"{theirs.name} has macros, which are not taken: {result.name} has none.")
    elif not same_macros(mine, theirs):
        say(f"The macros of the two copies differ: {result.name} has those of {mine.name}.")


def bring_in(
    file: Annotated[Path, typer.Argument(help="A CSV file, such as a channel's list of sales.")],
    log: Annotated[Path, typer.Argument(help="The log.")],
    map_file: Annotated[
        Path, typer.Option("--map", help="Says which column is what; made for you if it is not there.")
    ],
    write: Annotated[bool, typer.Option("--apply", help="Write it; without it nothing is written.")] = False,
) -> None:
    """Fill a log from a CSV file of another program, by a map of its columns."""
    refuse_ods(log)
    if not map_file.exists():
        with steps(1) as step:
            step("Reading both files")
            draft = write_draft_map(file, load_log(log), map_file)
        for fact in draft.detected:
            say(f"{fact.label}: {fact.value}")
        for words in draft.doubts:
            say(f"To fill in: {words}")
        say(f"{map_file} is a first map: open it, say which column is what, and run this again.")
        return
    with steps(1) as step:
        step("Reading the files")
        plan = plan_bring_in(file, log, map_file)
    _say_plan(plan)
    if not write:
        say("Nothing is written yet; run it again with --apply.")
        return
    with steps(1) as step:
        step("Writing")
        done = apply(plan)
    if done.left_path is not None:
        say(f"{done.left_path}: {done.left_rows} rows that were not brought in, with the reason.")
    for problem in done.new_problems[:PROBLEMS_SHOWN]:
        tell(f"{problem.sheet}, {problem.cell}: {problem.message}")
    if not done.cells:
        say(f"{log}: there was nothing to change.")
        return
    _say_not_recalculated(done.not_recalculated)
    copy = done.copy.name if done.copy else ""
    say(f"{log}: {done.cells} cells written. The file as it was: {copy}")


def _say_plan(plan: Plan) -> None:
    for fact in plan.detected:
        say(f"{fact.label}: {fact.value}")
    table = table_of(f"Into {plan.sheet}", "Line", "Row", "Piece or row", "Column", "New", words=5)
    for change in plan.changes[:_ROWS_SHOWN]:
        new = shown(change.new)
        table.add_row(str(change.csv_row), str(change.row), change.item, change.header, new)
    for row in plan.new_rows[:_ROWS_SHOWN]:
        values = ", ".join(f"{header}: {shown(value)}" for header, value in row.values.items())
        table.add_row(str(row.csv_row), f"{row.row} (new)", row.item, "", values)
    if table.row_count:
        out.print(table)
    more = len(plan.changes) + len(plan.new_rows) - table.row_count
    if more > 0:
        say(f"... and {more} more.")
    left = [f"line {one.csv_row}: {one.reason}" for one in (*plan.unmatched, *plan.unreadable)]
    left += [f"line {', '.join(map(str, c.csv_rows))}: {c.reason}" for c in plan.conflicts]
    for words in left[:_ROWS_SHOWN]:
        say(f"Not brought in, {words}")
    if len(left) > _ROWS_SHOWN:
        say(f"... and {len(left) - _ROWS_SHOWN} more.")
    for label, count in plan.counts.items():
        say(f"{label}: {count}")


def refit(
    old: Annotated[Path, typer.Argument(help="An older or damaged log, .xlsx or .ods; it stays.")],
    result: Annotated[Path, typer.Option("--out", help="The new log: .xlsx, or .xlsm with macros for Excel.")],
    edition: Annotated[
        EditionName | None, typer.Option(help="plain, functions or lambda; that of the old one if left out")
    ] = None,
    rows: Annotated[int | None, typer.Option(help="Ready rows on the sourcing log; as before if left out.")] = None,
) -> None:
    """Move a log into the current layout; all that is typed is carried over, or listed."""
    if rows is not None and rows < 1:
        raise LogFileError(f"--rows {rows}: write 1 or more")
    with steps(5) as step:
        report = refit_log(old, result, edition.value if edition else None, rows, step, macro_writer=macro_writer)
    # That its layout is an older one is why it is here.
    problems = [one for one in report.old.problems if one.key != OLDER_LAYOUT]
    for problem in problems[:PROBLEMS_SHOWN]:
        tell(f"{problem.sheet}, {problem.cell}: {problem.message}")
    more = len(problems) - PROBLEMS_SHOWN
    if more > 0:
        tell(f"... and {more} more; 'sheetfns check {result}' lists them all.")
    if report.own_columns:
        say(f"Your own columns, to the right of the log's: {', '.join(report.own_columns)}")
    if report.own_sheets:
        say(f"Your own sheets, as values: {', '.join(report.own_sheets)}")
    if report.left_over:
        many = len(report.left_over)
        cells = "1 thing has" if many == 1 else f"{many} things have"
        say(f"{cells} no place in the new log; sheet {LEFT_OVER} lists them.")
    if report.macros_left:
        say(f"The macros of {old.name} and their settings are left behind: a log that ends in .xlsx holds none.")
    if result.suffix.lower() == ".xlsm":
        if report.old.edition != "functions":
            say("Its formulas call the functions, as in every log with macros.")
        say("Import the functions into it before you use it: 'sheetfns install excel' says how.")
    say(f"{result} is ready: {report.typed} typed values are in it, each compared with the old.")
