"""What a log comes to, as rows for a sheet; it needs no file and no program."""

from __future__ import annotations

from collections.abc import Iterable

from sheetfns.errors import LogFileError
from sheetfns.log.check.findings import Finding
from sheetfns.log.compute import LogResults, year_figures
from sheetfns.log.forecast import look_ahead
from sheetfns.log.sheets.words import CAUTION
from sheetfns.registry import REGISTRY

Cell = str | float | None
Rows = list[list[Cell]]


def finding_rows(findings: Iterable[Finding]) -> Rows:
    """What is to fix, a row each."""
    rows: Rows = [["Sheet", "Cell", "Cells", "What to do", "Found", "Kind"]]
    rows += [[one.sheet, one.cell, float(one.times), one.message, one.found, one.group] for one in findings]
    return rows


def year_rows(figures: LogResults, year: int) -> Rows:
    """The lines of a tax year.

    Errors:
        LogFileError: there are no lines for that year.
    """
    found = year_figures(figures, year)
    if not found.lines:
        raise LogFileError(
            f"There are no lines of '{found.rules}' for {year}; choose other rules or another year on Settings, or "
            "install a newer sheetfns"
        )
    currency = str(figures.content.settings.get("Currency") or "Amount")
    rows: Rows = [["Line", "No.", currency]]
    rows += [[line.label, line.line.line, line.amount] for line in found.lines]
    return [*rows, [None, None, None], [CAUTION, None, None]]


def forecast_rows(figures: LogResults) -> Rows:
    """The weeks ahead: the averages going on, and the odds drawn from the log's items.

    Errors:
        LogFileError: the log has too little history, and what it lacks.
    """
    ahead = look_ahead(figures)
    rows: Rows = [["Week", "Cash", "Inventory", "Drawn", "Low", "Middle", "High"]]
    if ahead.with_pay:
        rows[0].append("Chance that the pay is covered, %")
    for week, cash, inventory, drawn, (_, low, middle, high, chance, _) in ahead.shown_weeks():
        covered = [100 * chance] if ahead.with_pay else []
        amounts = [cash, inventory, drawn, low, middle, high, *covered]
        rows.append([float(week), *(float(f"{amount:.0f}") for amount in amounts)])
    notes = [
        *ahead.words,
        "Cash, inventory, drawn: if the averages continue. Low, middle, high: cash plus inventory less what is owed, "
        "in simulated runs; 10% of them end below low, 50% below middle, 90% below high.",
        "This is based on this log's past; it doesn't know what the market will do.",
    ]
    rows.append([None])
    rows += [[note] for note in notes]
    return rows


def gap_rows(figures: LogResults, check: str) -> Rows:
    """A sentence on what the figures leave out, if they do; `check` is the command that lists it."""
    problems = len(figures.content.problems)
    if not problems and not figures.left_out:
        return []
    words = f"Cells to check: {problems}; rows that the figures leave out: {figures.left_out}. '{check}' lists them."
    return [[words]]


def function_rows() -> Rows:
    """Every function with its help and how a cell calls it."""
    rows: Rows = [["Name", "What it does", "How a cell calls it"]]
    specs = sorted(REGISTRY.values(), key=lambda spec: (spec.category, spec.name))
    return rows + [[spec.name, spec.help, spec.usage()] for spec in specs]
