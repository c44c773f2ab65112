"""The commands of the menu in xlwings Lite: those that need no file of the disk.

In the add-in's main.py, `from sheetfns.programs.lite.scripts import *` lists them beside its run button. Each
reads the open workbook and puts what it finds on a new sheet of it; nothing that stands there is changed.
"""

from __future__ import annotations

import importlib
import importlib.util
from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import Any, Final

from sheetfns.errors import LogFileError
from sheetfns.hosts.excel_lite import LAST_ERRORS
from sheetfns.log.check.findings import (
    FORMULAS,
    GROUPS,
    Finding,
    counted_findings,
    of_reading,
    of_results,
    of_shown_cells,
    old_cautions,
)
from sheetfns.log.compute import LAST_TAX_YEAR, compute_log
from sheetfns.log.load import load_cells
from sheetfns.log.read.sheet_reader import CALCULATE
from sheetfns.log.sheets.registry import layout_of
from sheetfns.programs.lite.cells import OpenWorkbook, ShownCells
from sheetfns.programs.shown_rows import Cell, Rows, finding_rows, forecast_rows, function_rows, gap_rows, year_rows

NAME_LIMIT: Final = 31
"""Characters in the name of a sheet."""
CHECK: Final = "Check log"
"""What the add-in's button calls `check_log`."""
CALCULATE_HERE: Final = "press Ctrl+Alt+F9 (on a Mac and in a browser: Formulas > Calculate Now)"
FORMULAS_NOT_SEEN: Final = (
    "The add-in shows what cells hold, not their formulas. So whether a formula was changed is seen only where its "
    "figure is wrong, and nothing is fixed for you."
)


def check_log(book: Any) -> None:
    """List what is to fix in the open log."""

    def work() -> tuple[str, Rows, Sequence[float]]:
        findings = find(OpenWorkbook(book))
        rows = finding_rows(findings)
        for row in rows:
            row[3] = str(row[3]).replace(CALCULATE, CALCULATE_HERE)
        rows += [[None], [f"{counted_findings(findings)}."], [FORMULAS_NOT_SEEN]]
        return "Findings", rows, (16, 8, 6, 90, 24, 24)

    _show_what_comes(book, "Findings", work)


def find(workbook: OpenWorkbook) -> list[Finding]:
    """What is wrong with an open log by its entries, its results and its own checks.

    Errors:
        LogFileError: it is no log.
    """
    content = load_cells(workbook)
    found = list(of_reading(content))
    if not content.lacks:
        found += of_results(content, changed=any(one.group == FORMULAS for one in found))
        layout = content.worded(layout_of(content.ready_rows))
        found += of_shown_cells(content, layout, ShownCells(workbook))
    found += old_cautions(content)
    return sorted(found, key=lambda one: GROUPS.index(one.group))


def forecast(book: Any) -> None:
    """Show the weeks ahead of the open log."""

    def work() -> tuple[str, Rows, Sequence[float]]:
        figures = compute_log(load_cells(OpenWorkbook(book)))
        rows = [*forecast_rows(figures), *gap_rows(figures, CHECK)]
        return "Weeks ahead", rows, (8, 12, 12, 12, 12, 12, 12, 30)

    _show_what_comes(book, "Weeks ahead", work)


def year_end_figures(book: Any) -> None:
    """Show the figures of the open log's tax year."""

    def work() -> tuple[str, Rows, Sequence[float]]:
        content = load_cells(OpenWorkbook(book))
        year = content.settings["Tax_year"]
        if not year or not 1 <= year <= LAST_TAX_YEAR:
            raise LogFileError(f"Settings has no tax year that can be used (found: {year}); enter one, such as 2026")
        figures = compute_log(content)
        rows = [*year_rows(figures, int(year)), *gap_rows(figures, CHECK)]
        return f"Year {int(year)}", rows, (70, 8, 14)

    _show_what_comes(book, "Year-end figures", work)


def explain_errors(book: Any) -> None:
    """Show what the functions said of the errors that they gave last."""
    rows: Rows = [["Function", "Error", "What it says"]]
    rows += [[name, error.code, error.message] for name, error in reversed(LAST_ERRORS)]
    if not LAST_ERRORS:
        rows.append(["No function has given an error since the add-in was started."])
    _show(book, "Errors explained", rows, (28, 10, 90))


def list_functions(book: Any) -> None:
    """List every function with its help."""
    _show(book, "Functions explained", function_rows(), (24, 90, 90))


SCRIPTS: Final = (check_log, forecast, year_end_figures, explain_errors, list_functions)


def marked(xlwings: Any) -> dict[str, Callable[..., Any]]:
    """The commands by their names, marked for the add-in.

    Args:
        xlwings: the add-in's xlwings; its `script` is used, and its Book as the type of the one argument.
    """
    for command in SCRIPTS:
        command.__annotations__ = {"book": xlwings.Book}
    return {command.__name__: xlwings.script(command) for command in SCRIPTS}


def _show_what_comes(book: Any, title: str, work: Callable[[], tuple[str, Rows, Sequence[float]]]) -> None:
    """Show what a command finds, or the sentence that says why it finds nothing."""
    try:
        shown = work()
    except LogFileError as error:
        shown = title, [[str(error)]], (90,)
    except Exception as fault:  # noqa: BLE001  (the add-in would show a trace)
        words = f"A fault in the program ({type(fault).__name__}: {fault}). Your workbook is as it was. Report this."
        shown = title, [[words]], (90,)
    _show(book, *shown)


def _show(book: Any, title: str, rows: Rows, widths: Sequence[float]) -> None:
    """A new sheet, behind all others, with these rows; the first is the header."""
    sheets = list(book.sheets)
    sheet = book.sheets.add(_free_name(title, [str(one.name) for one in sheets]), after=sheets[-1])
    width = max(len(widths), *map(len, rows))
    # The whole block by its corners: from one cell alone the add-in may not find the size.
    sheet.range((1, 1), (len(rows), width)).value = [
        [_typed(cell) for cell in row] + [None] * (width - len(row)) for row in rows
    ]
    with suppress(Exception):  # looks, which not every version of the add-in can set
        for place, characters in enumerate(widths, 1):
            figures = [row[place - 1] for row in rows[1:] if place <= len(row)]
            if any(isinstance(one, float) and not one.is_integer() for one in figures):
                sheet.range((2, place), (len(rows), place)).number_format = "#,##0.00"
            sheet.range((1, place), (len(rows), place)).column_width = characters
        sheet.range((1, 1), (1, width)).font.bold = True
    with suppress(Exception):
        sheet.activate()


def _free_name(title: str, taken: Sequence[str]) -> str:
    """A name that no sheet has: the title, or the title with a number."""
    known = {name.casefold() for name in taken}
    numbered = (f"{title[: NAME_LIMIT - 4]} {number}" for number in range(2, 1000))
    return next(name for name in (title[:NAME_LIMIT], *numbered) if name.casefold() not in known)


def _typed(cell: Cell) -> Cell:
    """A cell as a person would type it: a text stays a text, whatever it looks like; a number is a plain one."""
    if isinstance(cell, str):
        return f"'{cell}" if cell else None
    return None if cell is None else float(cell)


_scripts = marked(importlib.import_module("xlwings")) if importlib.util.find_spec("xlwings") else {}
globals().update(_scripts)
__all__ = list(_scripts)
