"""The menu's commands that explain: a cell, and what is installed."""

from __future__ import annotations

import platform

import sheetfns
from sheetfns.errors import CellError, LogFileError
from sheetfns.files.cell_names import cell_name
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
    screen.show_message("\n\n".join(explained(report, content, *where)))


def explained(report: Report, content: LogContent, sheet: str, row: int, column: int) -> list[str]:
    """What there is to say of a cell, a paragraph for each thing.

    Args:
        report: what the check of the log found.
        content: the log.
        sheet, row, column: the cell, counted from 1.
    """
    cell = cell_name(row, column)
    here = [one.message for one in report.findings if one.sheet == sheet and one.cell == cell]
    in_row = [
        one
        for one in report.findings
        if one.sheet == sheet and one.cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ") == str(row)
    ]
    words = [f"{sheet}, {cell}"]
    declared = _column_at(content, sheet, column) if row >= FIRST_ROW else None
    if declared is not None:
        kind = "You enter it." if declared.role == "input" else "The log works it out."
        words.append(f"{declared.header}: {declared.help} {kind}")
    said = _said_by_row(content, sheet, row)
    if here:
        words += here
    elif in_row:
        words += [f"In this row, {one.cell}: {one.message}" for one in in_row]
    elif said:
        words.append(f"Row check: {said}")
    elif report.findings:
        words.append("Nothing is wrong with this cell or its row. 'Check and fix' lists what is wrong elsewhere.")
    else:
        words.append("Nothing is wrong with this cell, nor anywhere in the log.")
    return words


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
