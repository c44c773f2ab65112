"""What keeps a tax year from being complete."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from sheetfns.errors import LogFileError
from sheetfns.log.build import build_log
from sheetfns.log.compare import Difference, compare
from sheetfns.log.figures import LogFigures, work_out
from sheetfns.log.figures_year import YearFigures
from sheetfns.log.layout import CHECKS, MOST_ROWS, SETTINGS, TAX_RULES, YEAR_END, layout
from sheetfns.log.read import LogContent, read_log
from sheetfns.log.year_rows import Span
from sheetfns.yearend.rows import rows_by_line, sums_that_differ

_SHOWN_DIFFERENCES: Final = 20


@dataclass(frozen=True)
class Reason:
    """One thing to mend: where it is, what is wrong and what to do."""

    sheet: str
    cell: str
    words: str

    def __str__(self) -> str:
        where = f"{self.sheet}, {self.cell}" if self.cell else self.sheet
        return f"{where}: {self.words}"


def reasons_against(figures: LogFigures, year: YearFigures) -> list[Reason]:
    """Everything that keeps a year from being complete; none if it is.

    The log is built anew with that tax year, recalculated, and compared with Python: a figure is
    taken for right only if both ways agree.

    Errors:
        LogFileError: the rules have no lines for the year.
    """
    if not year.lines:
        raise LogFileError(
            f"{figures.content.path.name}: table tax_lines (sheet {TAX_RULES}) has no lines of "
            f"'{year.rules}' for {year.year}; choose other rules on Settings or another year, or "
            "take a newer sheetfns"
        )
    return [
        *_of_reading(figures),
        *_of_the_year(figures.content, year),
        *(
            Reason(YEAR_END, "", words)
            for words in sums_that_differ(year, rows_by_line(year, figures.content))
        ),
        *_of_the_file(figures),
        *_of_a_second_way(figures.content, year),
    ]


def _of_reading(figures: LogFigures) -> Iterator[Reason]:
    for problem in figures.content.problems:
        yield Reason(problem.sheet, problem.cell, problem.message)
    if figures.left_out:
        rows = "1 row lacks" if figures.left_out == 1 else f"{figures.left_out} rows lack"
        yield Reason(
            layout().table("Log").name, "", f"{rows} what figures need; totals leave that out"
        )


def _of_the_year(content: LogContent, year: YearFigures) -> Iterator[Reason]:
    last, as_of = Span(year.year).last, content.settings["As_of_date"]
    if as_of < last:
        yield Reason(
            SETTINGS,
            "",
            f"Figures as of is {as_of}, but the year runs to {last}; set it to a later day when "
            "the year is over and all is entered",
        )
    for name in year.missing:
        yield Reason(
            SETTINGS,
            "",
            f"Tax figures by date: no single row of {name} covers {last}; add it when it is "
            "published",
        )


def _of_the_file(figures: LogFigures) -> Iterator[Reason]:
    """What the given workbook shows: a formula typed over, or never calculated again."""
    if any(problem.key == "older_layout" for problem in figures.content.problems):
        return
    yield from _differences(
        compare(figures).differences,
        "run 'sheetfns recalc' on the file; if it stays, a formula was typed over",
    )


def _differences(found: list[Difference], advice: str) -> Iterator[Reason]:
    for one in found[:_SHOWN_DIFFERENCES]:
        words = (
            f"{one.column}: the workbook shows {one.shown}, Python works out {one.worked_out}; "
            f"{advice}"
        )
        yield Reason(one.sheet, f"row {one.row}" if one.row else "", words)
    more = len(found) - _SHOWN_DIFFERENCES
    if more > 0:
        yield Reason(found[0].sheet, "", f"and {more} more figures differ; {advice}")


def _of_a_second_way(content: LogContent, year: YearFigures) -> Iterator[Reason]:
    try:
        rebuilt = _rebuilt(content, year.year)
    except LogFileError as error:
        yield Reason(SETTINGS, "", f"the log could not be worked out a second time: {error}")
        return
    told = {problem.sheet for problem in content.problems}
    checks = rebuilt.shown["Checks"]
    failing = checks[(checks["kind"] == "mend") & (checks["count"] != 0)]
    for check in failing.to_dict("records"):
        if check["sheet"] not in told:
            row = f"row {check['first']:.0f}" if check["first"] == check["first"] else ""
            yield Reason(check["sheet"], row, f"{check['label']} (sheet {CHECKS})")
    yield from _differences(
        compare(work_out(rebuilt)).differences,
        "the two ways of working it out disagree: do not use this figure, and report it",
    )


def _rebuilt(content: LogContent, year: int) -> LogContent:
    """The same entries in a new log with that tax year, recalculated."""
    entries = content.entries()
    entries.settings["Tax_year"] = year
    rows = max(1, content.ready_rows.get("Log", 1))
    while rows < MOST_ROWS and any(
        len(typed) > layout(rows).table(key).ready_rows for key, typed in entries.rows.items()
    ):
        rows = min(2 * rows, MOST_ROWS)
    with tempfile.TemporaryDirectory() as folder:
        return read_log(build_log(Path(folder) / "log.xlsx", "plain", rows, entries))
