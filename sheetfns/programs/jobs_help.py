"""The menu's commands that explain: a cell, and what is installed."""

from __future__ import annotations

import platform
from collections.abc import Iterator

import sheetfns
from sheetfns.errors import CellError, LogFileError
from sheetfns.files.cell_names import cell_name, column_letters
from sheetfns.files.workbook_file import open_workbook
from sheetfns.log.check.findings import LOOK
from sheetfns.log.check.report import Report, check_log
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import FIRST_ROW, Column
from sheetfns.log.model.version import LAYOUT
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import CAUTION, EDITION_LABEL
from sheetfns.programs.screens import Screen, copy_of_log


def explain_cell(screen: Screen) -> None:
    """Say of the cell under the cursor what is wrong with it or with its row, and what its column is."""
    with copy_of_log(screen) as log:
        where = screen.selected()
        if where is None:
            raise LogFileError("Click on a cell of the log first, then choose this command again")
        report, content = check_log(log, screen.step), load_log(log)
        with open_workbook(log) as book:
            code = book.hidden(where[0]).errors.get((where[1], where[2] - 1), "")
    screen.show_message("\n\n".join(explained(report, content, where, code)))


def explained(report: Report, content: LogContent, where: tuple[str, int, int], code: str = "") -> list[str]:
    """What there is to say of a cell, a paragraph for each thing.

    Args:
        report: what the check of the log found.
        content: the log.
        where: sheet, row and column of the cell, counted from 1.
        code: the error that it shows; "" if it shows none.
    """
    sheet, row, column = where
    words = [f"{sheet}, {cell_name(row, column)}"]
    declared = _column_at(content, sheet, column) if row >= FIRST_ROW else None
    if declared is not None:
        kind = "You enter it." if declared.role == "input" else "The log works it out."
        words.append(f"{declared.header}: {declared.help} {kind}")
    if code:
        words.append(f"It shows {code}.")
    wrong = list(_wrong(report, content, sheet, row, column))
    if not wrong and code:
        wrong = [f"It follows from another cell. Correct this first: {one}" for one in _first_errors(report)]
    if not wrong and not code:
        elsewhere = (
            "'Check and fix' lists what is wrong elsewhere." if report.findings else "Nor is anything elsewhere."
        )
        wrong = [f"Nothing was found to be wrong with this cell or its row. {elsewhere}"]
    return words + wrong


def _wrong(report: Report, content: LogContent, sheet: str, row: int, column: int) -> Iterator[str]:
    """What was found of a cell; else of its row, and of cells of its column that are listed together."""
    here = [one for one in report.findings if one.sheet == sheet and one.cell == cell_name(row, column)]
    if here:
        yield from (one.message for one in here)
        return
    for one in report.findings:
        letters = one.cell.rstrip("0123456789")
        if one.sheet != sheet or not one.cell:
            continue
        if one.cell == f"{letters}{row}":
            yield f"In this row, {one.cell}: {one.message}"
        elif one.times > 1 and letters == column_letters(column - 1):
            yield f"Of {one.times} cells in this column, from {one.cell} on: {one.message}"
    said = _said_by_row(content, sheet, row)
    if said:
        yield f"Row check: {said}"


def _first_errors(report: Report) -> list[str]:
    errors = [one for one in report.findings if one.group != LOOK]
    return [f"{one.sheet}, {one.cell}: {one.message}" for one in errors[:1]]


def _column_at(content: LogContent, sheet: str, column: int) -> Column | None:
    for table in log_layout().tables:
        place = content.places.get(table.key)
        if place is not None and place.sheet == sheet:
            return next((one for one in table.columns if place.columns.get(one.key) == column - 1), None)
    return None


def _said_by_row(content: LogContent, sheet: str, row: int) -> str:
    for table in log_layout().tables:
        place = content.places.get(table.key)
        frame = content.shown.get(table.key)
        if place is None or place.sheet != sheet or frame is None or "row_check" not in frame:
            continue
        found = frame.loc[frame["sheet_row"] == row, "row_check"].tolist()
        check = found[0] if found else ""
        return "" if isinstance(check, CellError) or check in {"", "ok", None} else str(check)
    return ""


def about(screen: Screen) -> None:
    """Say what is installed, and which edition and layout the log on the screen has."""
    words = [
        f"sheetfns {sheetfns.__version__}, for logs of layout {LAYOUT} and those before",
        f"Python {platform.python_version()}, {platform.system()}",
    ]
    try:
        with copy_of_log(screen) as log:
            content = load_log(log)
            words.append(
                f"This log: layout {content.layout}, {EDITION_LABEL.casefold()} {content.edition or 'not known'}"
            )
    except LogFileError as error:
        words.append(str(error))
    screen.show_message("\n".join([*words, "", CAUTION]))
