"""An .ods workbook written as .xlsx, for the headless engine, which loads no other kind."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path
from typing import Any, Final

import xlsxwriter
from xlsxwriter.worksheet import Worksheet

from sheetfns.errors import CODES
from sheetfns.files.ods_file import OdsFile

_ELSEWHERE: Final = re.compile(r"\[")
"""A formula with it names another file, or could not be translated: its stored result is taken."""
_NAME: Final = re.compile(r"[^\W\d][\w.]*")
_PROGRAMS_OWN: Final = re.compile(r"(?i)_xlnm\.|Print_Area$|Print_Titles$|Sheet_Title$")


class _Draft(Worksheet):  # type: ignore[misc]  # its package has no types
    """A sheet whose formulas are not searched for new functions, which takes most of the time."""

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:  # noqa: ARG002
        return formula.removeprefix("=")


def write_draft(book: OdsFile, path: Path) -> None:
    """Write every value, formula and name of a workbook, and nothing of its looks."""
    draft = xlsxwriter.Workbook(path, {"strings_to_formulas": False, "strings_to_urls": False})
    day = draft.add_format({"num_format": "yyyy-mm-dd"})
    for name in book.sheet_names:
        _write_sheet(draft.add_worksheet(name, _Draft), book, name, day)
    names = list(book.defined_names.items())
    names += [(f"'{sheet}'!{name}", text) for sheet, name, text in book.local_names]
    for name, text in names:
        bare = name.rpartition("!")[2]
        is_error = "#" in text  # a name that is not there gives an error as well
        if text and not is_error and _NAME.fullmatch(bare) and not _PROGRAMS_OWN.match(bare):
            draft.define_name(name, f"={text}")
    draft.close()


def _write_sheet(sheet: Worksheet, book: OdsFile, name: str, day: Any) -> None:
    formulas = {
        (row - 1, column - 1): text
        for (row, column), text in book.formulas(name).items()
        if not _ELSEWHERE.search(text)
    }
    errors = book.hidden(name).errors
    for row, line in enumerate(book.cells(name)):
        for column, value in enumerate(line):
            if (row, column) not in formulas and value != "":
                _write_value(sheet, (row, column), value, day)
    for (row, column), code in errors.items():
        if (row - 1, column) not in formulas:
            sheet.write_formula(row - 1, column, f"={code if code in CODES else '#VALUE!'}")
    for (row, column), text in formulas.items():
        sheet.write_formula(row, column, f"={text}")


def _write_value(sheet: Worksheet, place: tuple[int, int], value: Any, day: Any) -> None:
    if isinstance(value, bool):
        sheet.write_boolean(*place, value)
    elif isinstance(value, float):
        sheet.write_number(*place, value)
    elif isinstance(value, (dt.date, dt.time, dt.timedelta)) and _has_number(value):
        sheet.write_datetime(*place, value, day)
    else:
        sheet.write_string(*place, str(value))


def _has_number(value: dt.date | dt.time | dt.timedelta) -> bool:
    return not isinstance(value, dt.date) or value.year >= 1900
