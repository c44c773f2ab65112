"""The cells of the workbook that is open in Excel, as the add-in hands them over.

Formulas cannot be seen this way, only what cells show; the names of the workbook can.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

from sheetfns.errors import CODES, LogFileError
from sheetfns.files.sheet_cells import Hidden, with_errors
from sheetfns.hosts.excel_cells import NEW_ERRORS

_ERRORS: Final = frozenset((*CODES, *NEW_ERRORS.values()))


class OpenWorkbook:
    """An open workbook as the log's reader takes it (`sheetfns.files.sheet_cells.CellSource`).

    Each sheet is fetched once, when it is asked for.

    Args:
        book: the add-in's Book.

    Errors:
        LogFileError: its names cannot be read.
    """

    def __init__(self, book: Any) -> None:
        self._book = book
        self.path = Path(str(book.name))
        self.sheet_names = [str(sheet.name) for sheet in book.sheets]
        self.defined_names = _names(book)
        self.counts_from_1904 = False
        self._read: dict[str, tuple[list[list[Any]], Hidden]] = {}

    def hidden(self, sheet: str) -> Hidden:
        """The error cells of a sheet; its formulas cannot be seen."""
        return self._sheet(sheet)[1]

    def cells(self, sheet: str) -> list[list[Any]]:
        """Every cell from A1 on, "" where it is blank or shows an error."""
        return [list(row) for row in self._sheet(sheet)[0]]

    def numbers(self, sheet: str, cells: set[str]) -> dict[str, float]:  # noqa: ARG002  (a file has more to say)
        """The bare numbers behind times of day: the add-in hands over no more than it shows."""
        return {}

    def _sheet(self, name: str) -> tuple[list[list[Any]], Hidden]:
        if name not in self._read:
            sheet = self._book.sheets[name]
            last = sheet.used_range.last_cell
            whole = sheet.range((1, 1), (last.row, last.column))
            rows = whole.options(ndim=2, err_to_str=True).value
            hidden = Hidden(calculated=True, formulas=None)
            hidden.errors = {
                (row, column): cell
                for row, line in enumerate(rows, 1)
                for column, cell in enumerate(line)
                if isinstance(cell, str) and cell in _ERRORS
            }
            self._read[name] = [[_plain(cell) for cell in line] for line in rows], hidden
        return self._read[name]


class ShownCells:
    """What the cells of an open workbook show (`sheetfns.log.check.findings.ShownCells`)."""

    def __init__(self, workbook: OpenWorkbook) -> None:
        self.sheets = {name: with_errors(workbook.cells(name), workbook.hidden(name)) for name in workbook.sheet_names}

    def value(self, sheet: str, row: int, column: int) -> Any:
        """The cell at a row and column, counted from 1; None where it is blank."""
        rows = self.sheets[sheet]
        cell = rows[row - 1][column - 1] if row <= len(rows) and column <= len(rows[row - 1]) else ""
        return None if isinstance(cell, str) and not cell else cell


def _plain(cell: Any) -> Any:
    if cell is None or (isinstance(cell, str) and cell in _ERRORS):
        return ""
    return float(cell) if type(cell) is int else cell


def _names(book: Any) -> dict[str, str]:
    """The names of the workbook; one that stands for no cells may not say what it stands for."""
    found: dict[str, str] = {}
    for name in book.names:
        try:
            found[str(name.name)] = str(name.refers_to).removeprefix("=")
        except Exception:  # noqa: BLE001  (the add-in's errors are its own)
            found[str(name.name)] = ""
    if not any(found.values()):
        raise LogFileError(
            f"{book.name}: has no names that can be read, so it cannot be told which rows have formulas; "
            "check that this is a sourcing log"
        )
    return found
