"""A workbook for reading, whichever of the two kinds it is: what it is decides, not its name."""

from __future__ import annotations

import zipfile
from pathlib import Path
from typing import Final

from sheetfns.errors import LogFileError
from sheetfns.files import sheet_xml
from sheetfns.files.ods_file import CONTENT_PART, OdsFile
from sheetfns.files.xlsx_file import WORKBOOK_PART, XlsxFile

WorkbookFile = XlsxFile | OdsFile

SAVE_AS_XLSX: Final = "save it as an .xlsx workbook in your spreadsheet program"


def open_workbook(path: Path) -> WorkbookFile:
    """Open an .xlsx or an .ods workbook.

    Errors:
        LogFileError: the file is missing, damaged, protected, too large or no such workbook.
    """
    return OdsFile(path) if is_ods(path) else XlsxFile(path)


def is_ods(path: Path) -> bool:
    """Whether a file is packed as OpenDocument programs pack theirs; only its list is read."""
    try:
        with zipfile.ZipFile(path) as packed:
            names = set(packed.namelist())
    except (OSError, ValueError, zipfile.BadZipFile):
        return False
    return WORKBOOK_PART not in names and bool({CONTENT_PART, "mimetype"} & names)


def refuse_ods(path: Path) -> None:
    """Refuse a file that is to be changed and is an .ods workbook.

    Errors:
        LogFileError: it is; the message says how to have it changed, or that it is damaged.
    """
    if is_ods(path):
        with OdsFile(path):
            pass  # of a damaged file the damage is said
        whatever = "" if path.suffix.lower() == ".ods" else ", whatever its name says"
        raise LogFileError(
            f"{path}: is an OpenDocument workbook (.ods){whatever}, which can be read but not changed; {SAVE_AS_XLSX}, "
            "and run this again on that"
        )


def formulas_of(book: WorkbookFile, sheet: str) -> dict[sheet_xml.Cell, str]:
    """The formulas of a sheet without the equals sign, as .xlsx workbooks write them."""
    if isinstance(book, OdsFile):
        return book.formulas(sheet)
    return sheet_xml.formulas(book.part(sheet))
