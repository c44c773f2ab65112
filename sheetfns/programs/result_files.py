"""What a command of the menu lists, as a named workbook beside the log, with links to the log's cells."""

from __future__ import annotations

import os
import re
import tempfile
import textwrap
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final, Self

import xlsxwriter
from xlsxwriter.format import Format

from sheetfns.errors import LogFileError
from sheetfns.files.safe_files import atomic_write
from sheetfns.log.write.styles import LINK
from sheetfns.programs.shown_rows import Cell, Rows

MARK: Final = "A result of the menu Sourcing log; the next one takes its place."
"""Only a file that says so is written over."""
WRAP_FROM: Final = 30
"""Columns of so many characters hold sentences, which go over several lines."""
_PROPERTIES: Final = "docProps/core.xml"
_NAME_LIMIT: Final = 31
_NOT_IN_NAMES: Final = re.compile(r"[\[\]:*?/\\]")
_MOST_NAMES: Final = 100
_LINE_HEIGHT: Final = 15
"""In points, of a line of 11 points."""


class Place(str):  # noqa: SLOT000  (it has an attribute of its own)
    """The name of a cell of the log, which its list leads to."""

    sheet: str

    def __new__(cls, cell: str, sheet: str) -> Self:
        """A cell such as E7, and its sheet."""
        made = super().__new__(cls, cell)
        made.sheet = sheet
        return made


def result_path(title: str, log: Path | None) -> Path:
    """Where a list goes: beside the log, or with the system's own temporary files where that cannot be.

    Args:
        title: what is listed, such as Findings.
        log: the log; None if it has not been saved yet.
    """
    folder = log.parent if log is not None and os.access(log.parent, os.W_OK) else None
    if folder is None:
        folder = Path(tempfile.gettempdir()) / "sourcing log results"
        folder.mkdir(exist_ok=True)
    stem = f"{log.stem if log is not None else 'log'} {_NOT_IN_NAMES.sub('', title)[:_NAME_LIMIT].casefold()}"
    names = (f"{stem}.xlsx", *(f"{stem} {number}.xlsx" for number in range(2, _MOST_NAMES)))
    paths = (folder / name for name in names)
    found = next((path for path in paths if not path.exists() or _is_ours(path)), None)
    if found is None:
        raise LogFileError(f"{folder}: there are too many files named {stem}; delete or move them, and try again")
    return found


def _is_ours(path: Path) -> bool:
    try:
        with zipfile.ZipFile(path) as file:
            return MARK.encode() in file.read(_PROPERTIES)
    except (OSError, KeyError, zipfile.BadZipFile):
        return False


def write_result(path: Path, title: str, rows: Rows, widths: Sequence[float], log: Path | None) -> None:
    """Write a list; what stands there is written over.

    Args:
        path: see `result_path`.
        title: the sheet's name.
        rows: the first is the header; texts are put in as texts, whatever they begin with.
        widths: of the columns, in characters.
        log: where a `Place` leads to.

    Errors:
        LogFileError: the folder cannot be written.
    """
    with atomic_write(path) as beside:
        book = xlsxwriter.Workbook(str(beside), {"strings_to_formulas": False, "strings_to_urls": False})
        book.set_properties({"title": title, "comments": MARK})
        sheet = book.add_worksheet(_NOT_IN_NAMES.sub(" ", title)[:_NAME_LIMIT])
        styles = _styles(book)
        for place, width in enumerate(widths):
            column = [row[place] if place < len(row) else None for row in rows]
            cents = any(isinstance(one, float) and not one.is_integer() for one in column[1:])
            style = styles["cents" if cents else "wrapped" if width >= WRAP_FROM else "plain"]
            sheet.set_column(place, place, width, style)
            sheet.write_string(0, place, str(column[0] or ""), styles["head"])
            for row, cell in enumerate(column[1:], 1):
                if isinstance(cell, Place) and cell and log is not None:
                    quoted = cell.sheet.replace("'", "''")
                    sheet.write_url(row, place, f"external:{log.name}#'{quoted}'!{cell}", styles["link"], str(cell))
                elif isinstance(cell, str):
                    sheet.write_string(row, place, cell, style)
                elif cell is not None:
                    sheet.write_number(row, place, cell, style)
        for row, cells in enumerate(rows[1:], 1):
            lines = max((_lines(cell, width) for cell, width in zip(cells, widths, strict=False)), default=1)
            if lines > 1:  # LibreOffice leaves a row of a file of Excel as it is.
                sheet.set_row(row, _LINE_HEIGHT * lines)
        sheet.freeze_panes(1, 0)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(0)
        book.close()


def _lines(cell: Cell, width: float) -> int:
    """In how many lines a cell stands."""
    if not isinstance(cell, str) or width < WRAP_FROM:
        return 1
    return len(textwrap.wrap(cell, int(width))) or 1


def _styles(book: Any) -> dict[str, Format]:
    top = {"valign": "top"}
    return {
        "head": book.add_format({"bold": True, "bottom": 1, "text_wrap": True, **top}),
        "plain": book.add_format(top),
        "wrapped": book.add_format({"text_wrap": True, **top}),
        "cents": book.add_format({"num_format": "#,##0.00", **top}),
        "link": book.add_format({"font_color": LINK, "underline": 1, **top}),
    }
