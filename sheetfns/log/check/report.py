"""Everything that is wrong with a log, cell by cell, and the repair of what is certain."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from sheetfns.cell_types import CellType, read_cell
from sheetfns.errors import CellError, LogFileError
from sheetfns.files import sheet_xml
from sheetfns.files.safe_files import file_mark, sole_use
from sheetfns.files.sheet_xml import FormulaText
from sheetfns.files.workbook_file import is_ods
from sheetfns.files.xlsx_file import XlsxFile
from sheetfns.hosts import engine
from sheetfns.log.check.findings import (
    FORMULAS,
    GROUPS,
    LOOK,
    ROWS,
    SHOWN,
    UNREADABLE,
    Finding,
    counted_findings,
    in_groups,
    of_reading,
    of_results,
    of_shown_cells,
    old_cautions,
    told_by_reading,
)
from sheetfns.log.check.formulas import CHANGED, FormulaFault, formula_faults
from sheetfns.log.edit.macros import CONF_SHEET, foreign_settings, has_macros, right_ending, searches_own_folder
from sheetfns.log.edit.patch import CellEdit, Patched, patch
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import Layout, SettingsBlock, TableSheet
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import layout_of, log_layout
from sheetfns.log.sheets.words import CHECKS, SETTINGS
from sheetfns.registry import ADD_IN

__all__ = [
    "FORMULAS",
    "GROUPS",
    "LOOK",
    "ROWS",
    "SHOWN",
    "UNREADABLE",
    "Finding",
    "Fixed",
    "Report",
    "check_log",
    "fix_log",
    "in_groups",
    "told_by_reading",
]

_CERTAIN_NUMBER: Final = re.compile(r"\s*[+-]?\d{1,15}(?:\.\d{1,10})?\s*")
_CERTAIN_DAY: Final = re.compile(r"\s*(\d{4})-(\d{2})-(\d{2})\s*")
_ODS_ENDINGS: Final = {".ods", ".ots"}
_CELLS_NAMED: Final = 4
_ADD_IN_NAME: Final = re.compile(rf"(?i)\b{ADD_IN}\.([A-Z_]+)(?=\s*\()")


@dataclass(frozen=True)
class Report:
    """What was found in a log.

    Attributes:
        content: the log.
        findings: in the order of GROUPS.
        mark: tells whether the file is still the one that was looked at.
    """

    content: LogContent
    findings: tuple[Finding, ...]
    mark: str

    @property
    def count(self) -> int:
        """How many cells are concerned."""
        return sum(finding.times for finding in self.findings)

    @property
    def summary(self) -> str:
        """How many errors and warnings there are, such as `1 error, 2 warnings`."""
        return counted_findings(self.findings)


@dataclass(frozen=True)
class Fixed:
    """What was repaired: each finding with its cells, and what came of writing."""

    findings: tuple[Finding, ...]
    patched: Patched


def check_log(path: Path | str, step: Callable[[str], None] = lambda _: None) -> Report:
    """Check a log.

    Args:
        path: a log of either edition.
        step: is told what is being done.

    Errors:
        LogFileError: no workbook, or no log.
    """
    path = Path(path)
    step("Reading the log")
    content = load_log(path)
    mark = file_mark(path)
    found = list(of_reading(content, _certain_values(content)))
    if not content.lacks:
        layout = layout_of(content.ready_rows)
        found += _of_add_in_names(content)
        if content.edition is not None:
            step("Comparing its formulas")
            faults = formula_faults(content, content.edition, layout)
            if content.older:
                # Its formulas may say the same in another way; what they show is compared below.
                faults = [fault for fault in faults if fault.key != CHANGED]
            found += map(_of_formula, faults)
        step("Recalculating it")
        found += of_results(content, changed=any(f.group == FORMULAS for f in found))
        found += _of_the_log_itself(content, content.worded(layout))
    found += old_cautions(content)
    found += _of_macro_settings(content)
    found += _of_the_name(content)
    found.sort(key=lambda one: GROUPS.index(one.group))
    return Report(content, tuple(found), mark)


def fix_log(report: Report) -> Fixed | None:
    """Repair what is certain: restore formulas, turn numbers and dates stored as text into numbers and dates.

    Returns:
        what was done; None if nothing can be fixed for certain.

    Errors:
        LogFileError: the file has changed since, is open or cannot be written.
    """
    findings = tuple(finding for finding in report.findings if finding.repairs)
    if not findings:
        return None
    path = report.content.path
    with sole_use(path):
        if file_mark(path) != report.mark:
            raise LogFileError(f"{path}: has changed since it was checked; run this again")
        edits = [edit for finding in findings for edit in finding.repairs]
        return Fixed(findings, patch(path, edits, locked=True))


def _of_macro_settings(content: LogContent) -> Iterator[Finding]:
    """What would let somebody else's program run when the log is used."""
    if is_ods(content.path):
        return  # the macros need Excel
    names = [name for name in content.sheet_names if name.casefold() == CONF_SHEET]
    for sheet, cell, name, value in foreign_settings(content.path) if names else ():
        yield Finding(
            LOOK,
            sheet,
            cell,
            str(value),
            f"{name}: Excel starts this program or code when a function or button is used; if you did not choose it, "
            "delete the row, or run 'sheetfns upgrade', which leaves it out",
            "foreign_setting",
        )
    if has_macros(content.path) and searches_own_folder(content.path):
        yield Finding(
            LOOK,
            names[0] if names else content.sheet_names[0],
            "A1",
            "",
            "Excel looks for code in this log's own folder, so whoever can write there can run a program; run "
            "'sheetfns upgrade', which stops that",
            "folder_searched",
        )


def _of_the_name(content: LogContent) -> Iterator[Finding]:
    """A name of the file by which programs take it for another kind of workbook."""
    ending = content.path.suffix.lower()
    ods = is_ods(content.path)
    if ods != (ending in _ODS_ENDINGS):
        kind = "an OpenDocument workbook" if ods else "an Excel workbook"
        right = ".ods" if ods else right_ending(content.path) or ".xlsx"
        yield Finding(
            LOOK,
            content.sheet_names[0],
            "A1",
            content.path.name,
            f"the file is {kind}, whatever its name says; give it a name that ends in {right}, or a program may not "
            "open it",
            "wrong_ending",
        )


# ---- what reading finds ----------------------------------------------------------------------


def _certain_values(content: LogContent) -> Iterator[CellEdit]:
    """Texts in cells for numbers and days that can mean only one number or day."""
    layout = log_layout()
    parts: list[TableSheet | SettingsBlock] = [*layout.tables, *layout.blocks]
    columns = {(part.key, column.key): column for part in parts for column in part.columns}
    for key, cells in content.unread.items():
        for (row, name), text in cells.items():
            if not isinstance(text, str) or (key, name) not in columns or row == 0:
                continue
            column = columns[key, name]
            value = _certain(column.kind, column.header, text)
            if value is not None:
                place = content.places[key]
                yield CellEdit(place.sheet, row, place.columns[name] + 1, value)
    places = content.setting_places
    for (_, name), text in content.unread.get(SETTINGS, {}).items():
        setting = layout.setting(name)
        if isinstance(text, str) and (value := _certain(setting.kind, setting.label, text)):
            row, position = places.cells[name]
            yield CellEdit(places.sheet, row, position + 1, value)


def _certain(kind: CellType, header: str, text: str) -> float | dt.date | None:
    try:
        if kind.holds == "number" and _CERTAIN_NUMBER.fullmatch(text):
            number = float(text)
            read_cell(kind, header, number)
            return number
        if kind.holds == "date" and (parts := _CERTAIN_DAY.fullmatch(text)):
            return dt.date(*(int(part) for part in parts.groups()))
    except (CellError, ValueError):
        return None
    return None


def _of_add_in_names(content: LogContent) -> Iterator[Finding]:
    """Calls with the add-in's name before the function's, which only LibreOffice knows."""
    if is_ods(content.path):
        return  # there these names are right
    with XlsxFile(content.path) as book:
        for sheet in book.sheet_names:
            repairs = [
                CellEdit(sheet, row, column, FormulaText(_ADD_IN_NAME.sub(r"\1", text)))
                for (row, column), text in sheet_xml.formulas(book.part(sheet)).items()
                if _ADD_IN_NAME.search(text)
            ]
            if repairs:
                cells = "1 cell calls" if len(repairs) == 1 else f"{len(repairs)} cells call"
                yield Finding(
                    FORMULAS,
                    sheet,
                    repairs[0].cell,
                    f"{ADD_IN}.",
                    f"{cells} functions by a name that only LibreOffice knows; --fix replaces it with the plain name",
                    "add_in_name",
                    len(repairs),
                    tuple(repairs),
                )


def _of_formula(fault: FormulaFault) -> Finding:
    cells = ", ".join(fault.cells[:_CELLS_NAMED])
    more = len(fault.cells) - _CELLS_NAMED
    where = "" if len(fault.cells) == 1 else f" in {len(fault.cells)} cells ({cells}"
    where += f" and {more} more)" if more > 0 else ")" if where else ""
    if fault.repairs:
        then = "; --fix restores it"
    elif fault.key.startswith("formula"):
        then = "; run 'sheetfns upgrade' on the log to restore it"
    else:
        then = ""
    return Finding(
        FORMULAS,
        fault.sheet,
        fault.cells[0],
        fault.found,
        f"{fault.message}{where}{then}",
        fault.key,
        len(fault.cells),
        fault.repairs,
    )


def _of_the_log_itself(content: LogContent, layout: Layout) -> Iterator[Finding]:
    try:
        values = engine.recalculate(content.path)
    except LogFileError as error:
        words = f"the log could not be calculated: {error}"
        yield Finding(SHOWN, content.words.sheet(CHECKS), "A1", "", words, "not_worked_out")
        return
    yield from of_shown_cells(content, layout, values)
