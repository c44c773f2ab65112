"""What tells a log with macros from one without: its ending, its macros and their settings.

Which macros they are, sheetfns/programs knows.
"""

from __future__ import annotations

import sys
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from lxml import etree

from sheetfns.files.cell_names import cell_name
from sheetfns.files.packed_file import parsed
from sheetfns.files.sheet_cells import with_errors
from sheetfns.files.workbook_file import WorkbookFile, formulas_of, open_workbook
from sheetfns.files.xlsx_file import CONTENT_TYPES, WORKBOOK_PART
from sheetfns.log.edit.values import shown
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.read.sheet_reader import plain

CONF_SHEET: Final = "xlwings.conf"
"""The sheet with the settings of the macros; the name is one that xlwings looks for."""
NOTES_COLUMN: Final = 3
NOTES: Final = 3
"""Where a log with macros explains the settings: so many rows of column D."""
SAFE_SETTINGS: Final = {"ADD_WORKBOOK_TO_PYTHONPATH": "false", "PYTHONPATH": r"%USERPROFILE%\sheetfns"}
"""What keeps xlwings from looking for code in the log's folder, where a partner's program may write too.

Without a PYTHONPATH its prepare_sys_path would put the folder in which Excel is on the path instead. This one is where
`install excel` writes, which belongs to the user.
"""
_STARTS_CODE: Final = frozenset(
    {
        *("INTERPRETER", "INTERPRETER_WIN", "INTERPRETER_MAC", "CONDA PATH", "CONDA ENV"),
        *("PYTHONPATH", "ADD_WORKBOOK_TO_PYTHONPATH", "LICENSE_KEY", "TEMP DIR"),
        *(
            f"{drive}_{end}"
            for drive in ("ONEDRIVE_CONSUMER", "ONEDRIVE_COMMERCIAL", "SHAREPOINT")
            for end in ("WIN", "MAC")
        ),
    }
)
"""Settings that xlwings puts into the command by which Python is started (xlwings.bas)."""
_TYPES: Final = {
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml": ".xlsx",
    "application/vnd.openxmlformats-officedocument.spreadsheetml.template.main+xml": ".xltx",
    "application/vnd.ms-excel.sheet.macroEnabled.main+xml": ".xlsm",
    "application/vnd.ms-excel.template.macroEnabled.main+xml": ".xltm",
}
"""Types of a workbook (the first two ECMA-376 part 1, the others MS-OFFMACRO2; from memory)."""
_MOST_BYTES: Final = 1 << 20

Setting = str | float | bool
DraftWriter = Callable[[Path, int, Inputs], Path]
"""Writes a log with macros: the new file, ready rows on the sourcing log, what is filled in."""


def right_ending(path: Path) -> str | None:
    """The ending that a workbook has to have by what it is; None if that cannot be told.

    Only a few bytes are read.
    """
    try:
        with zipfile.ZipFile(path) as book, book.open(CONTENT_TYPES) as part:
            types = parsed(part.read(_MOST_BYTES))
    except (
        OSError,
        KeyError,
        ValueError,
        EOFError,
        RuntimeError,  # a password, or a way of packaging that is not known
        zipfile.BadZipFile,
        zlib.error,
        etree.XMLSyntaxError,
    ):
        return None
    named = (one.get("ContentType") for one in types if one.get("PartName") == f"/{WORKBOOK_PART}")
    return _TYPES.get(next(named, None) or "")


def upgrade_command(log: Path, rows: int | str = "") -> str:
    """The command that makes a new log in place of one, as a message names it: macros stay macros."""
    new = "NEW.xlsm" if log.suffix.lower() == ".xlsm" else "NEW.xlsx"
    return f"'sheetfns upgrade {log.name} --out {new}{f' --rows {rows}' if rows else ''}'"


def has_macros(path: Path) -> bool:
    """Whether a workbook, which has been read before, holds macros."""
    with zipfile.ZipFile(path) as book:
        return any(name.endswith("vbaProject.bin") for name in book.namelist())


def macro_settings(path: Path) -> dict[str, Setting]:
    """The settings of the macros, as they stand on their sheet; none if there is no such sheet.

    Errors:
        LogFileError: the file is no workbook, or is damaged.
    """
    with open_workbook(path) as book:
        for name in _conf_sheets(book):
            return dict(_settings(with_errors(book.cells(name), book.hidden(name))))
    return {}


def beside_settings(path: Path) -> Iterator[tuple[str, str, Any, str]]:
    """What else stands on the sheet of settings: sheet, cell, value, and why it is not kept.

    Errors:
        LogFileError: the file is damaged.
    """
    with open_workbook(path) as book:
        for name in _conf_sheets(book):
            formulas = formulas_of(book, name)
            cells = with_errors(book.cells(name), book.hidden(name))
            many = sum(1 for _ in _settings(cells))
            for row, line in enumerate(cells):
                for column, value in enumerate(line):
                    ours = (column < 2 and row < many) or (column == NOTES_COLUMN and row < NOTES)
                    here, formula = (row + 1, column + 1), formulas.get((row + 1, column + 1))
                    if formula is not None:
                        why = "a formula on the sheet of the macros' settings, which holds values only"
                        yield name, cell_name(*here), f"={formula}", why
                    elif value != "" and not ours:
                        why = "not a setting of the macros; those end at the first blank row"
                        yield name, cell_name(*here), value, why


def foreign_settings(path: Path, python: str = sys.executable) -> Iterator[tuple[str, str, str, Setting]]:
    """Settings of a workbook that start a program, or code, that is not of this computer: sheet, cell, name, value.

    Args:
        path: the workbook.
        python: the program that runs Python here, which the workbook may name.

    Errors:
        LogFileError: the file is no workbook, or is damaged.
    """
    return (one for one in settings_by_cell(path) if is_foreign(one[2], one[3], python))


def settings_by_cell(path: Path) -> Iterator[tuple[str, str, str, Setting]]:
    """The settings of the macros with where they stand: sheet, cell, name, value.

    Errors:
        LogFileError: the file is no workbook, or is damaged.
    """
    with open_workbook(path) as book:
        for sheet in _conf_sheets(book):
            cells = with_errors(book.cells(sheet), book.hidden(sheet))
            for row, (name, value) in enumerate(_settings(cells), 1):
                yield sheet, cell_name(row, 2), name, value


def is_foreign(name: str, value: Setting, python: str = sys.executable) -> bool:
    """Whether a setting has a program started, or code found, that is not of this computer."""
    key, said = name.strip().upper(), str(value).strip()
    if key not in _STARTS_CODE or not said or said.casefold() == SAFE_SETTINGS.get(key, "").casefold():
        return False
    return not (key.startswith("INTERPRETER") and said.casefold() == python.casefold())


def searches_own_folder(path: Path) -> bool:
    """Whether the macros of a workbook let Python look for code in the workbook's folder.

    Errors:
        LogFileError: the file is no workbook, or is damaged.
    """
    settings = {name.strip().upper(): str(value) for name, value in macro_settings(path).items()}
    kept_off = settings.get("ADD_WORKBOOK_TO_PYTHONPATH", "").strip().casefold() in {"false", "0", "0.0"}
    return has_macros(path) and not (kept_off and settings.get("PYTHONPATH", "").strip())


def _conf_sheets(book: WorkbookFile) -> list[str]:
    return [name for name in book.sheet_names if plain(name) == plain(CONF_SHEET)]


def _settings(cells: list[list[Any]]) -> Iterator[tuple[str, Setting]]:
    for line in cells:
        if not line or line[0] == "":
            return
        value = line[1] if len(line) > 1 else ""
        yield shown(line[0]), value if isinstance(value, (str, float, bool)) else shown(value)


def with_settings(own: Mapping[str, Setting], old: Mapping[str, Setting]) -> dict[str, Setting]:
    """Settings with the values that they had in an old log; capitals in names do not count."""
    names = {name.casefold(): name for name in own}
    return {**own, **{names.get(name.casefold(), name): value for name, value in old.items()}}
