"""What hands do to a log, in an open LibreOffice; run by a Python that has uno.

Usage: hands_in_libreoffice.py SOFFICE PROFILE_URI SOURCE_URI FOLDER_URI HABITS_JSON, where the habits are lists of steps
by name. Each begins with SOURCE as it is and leaves FOLDER/NAME.xlsx; a line of JSON says what the program showed after
each. It stands apart from the package: it is the program's own Python, which has none of our libraries.
"""

import json
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import uno
from com.sun.star.sheet.CellDeleteMode import ROWS as DELETE_ROWS
from com.sun.star.sheet.CellInsertMode import COLUMNS as INSERT_COLUMNS
from com.sun.star.sheet.CellInsertMode import ROWS as INSERT_ROWS
from com.sun.star.sheet.FillDirection import TO_BOTTOM
from com.sun.star.table import TableSortField
from typing_in_libreoffice import option, running

VALUES, DATES, TEXTS, FORMULAS = 1, 2, 4, 16


class Hands:
    """The steps, each what the program itself does on such a key or command."""

    def __init__(self, book):
        self.book = book

    def range(self, sheet, cells):
        return self.book.Sheets.getByName(sheet).getCellRangeByName(cells)

    def address(self, sheet, cell):
        return self.range(sheet, cell).getCellByPosition(0, 0).CellAddress

    def cut(self, sheet, cells, to_sheet, to):
        self.book.Sheets.getByName(sheet).moveRange(self.address(to_sheet, to), self.range(sheet, cells).RangeAddress)

    def copy(self, sheet, cells, to_sheet, to):
        self.book.Sheets.getByName(sheet).copyRange(self.address(to_sheet, to), self.range(sheet, cells).RangeAddress)

    def insert(self, sheet, cells):
        self.book.Sheets.getByName(sheet).insertCells(self.range(sheet, cells).RangeAddress, INSERT_ROWS)

    def insert_column(self, sheet, cells):
        self.book.Sheets.getByName(sheet).insertCells(self.range(sheet, cells).RangeAddress, INSERT_COLUMNS)

    def delete(self, sheet, cells):
        self.book.Sheets.getByName(sheet).removeRange(self.range(sheet, cells).RangeAddress, DELETE_ROWS)

    def clear(self, sheet, cells):
        self.range(sheet, cells).clearContents(VALUES | DATES | TEXTS | FORMULAS)

    def type(self, sheet, cell, value):
        place = self.range(sheet, cell)
        if isinstance(value, str):
            place.setFormula(value)
        else:
            place.Value = value

    def paste(self, sheet, cell, rows):
        """Cells from another program, as it gives them: texts and numbers, blanks among them."""
        first = self.address(sheet, cell)
        last_column, last_row = first.Column + len(rows[0]) - 1, first.Row + len(rows) - 1
        cells = self.book.Sheets.getByName(sheet)
        target = cells.getCellRangeByPosition(first.Column, first.Row, last_column, last_row)
        target.setFormulaArray(tuple(tuple(str(cell) for cell in row) for row in rows))

    def fill_down(self, sheet, cells):
        self.range(sheet, cells).fillAuto(TO_BOTTOM, 1)

    def sort(self, sheet, cells, column, rising, header):
        field = TableSortField()
        field.Field, field.IsAscending = column, rising
        descriptor = (
            option("SortFields", uno_fields(field)),
            option("ContainsHeader", header),
            option("IsSortColumns", False),
        )
        self.range(sheet, cells).sort(descriptor)

    def sort_list(self, sheet, column, rising):
        """The sort button: the program finds the list by itself."""
        ranges = self.book.getPropertyValue("UnnamedDatabaseRanges")
        number = [one.Name for one in self.book.Sheets].index(sheet)
        area = ranges.getByTable(number).DataArea
        cells = self.book.Sheets.getByIndex(number).getCellRangeByPosition(
            area.StartColumn, area.StartRow, area.EndColumn, area.EndRow
        )
        self.sort(sheet, _plain(cells), column, rising, True)

    def undo(self, times):
        for _ in range(times):
            self.book.getUndoManager().undo()


def _plain(cells):
    first, _, last = cells.AbsoluteName.replace("$", "").partition(":")
    return f"{first.rpartition('.')[2]}:{last.rpartition('.')[2]}"


def uno_fields(field):
    return uno.Any("[]com.sun.star.table.TableSortField", (field,))


def shown(book):
    """What the log says of itself: errors in all and by sheet, and what is to fix."""
    checks = book.Sheets.getByName("Data checks")
    cursor = checks.createCursor()
    cursor.gotoEndOfUsedArea(False)
    rows = checks.getCellRangeByPosition(0, 6, 5, cursor.RangeAddress.EndRow).getDataArray()
    failing = [
        [row[0], row[2], row[3], row[4]]
        for row in rows
        if row[0] and row[1] in ("fix", "wait") and row[3] not in (0, "")
    ]
    return {"errors": checks.getCellRangeByName("D4").Value, "failing": failing}


def refusal(hands, steps):
    """Do the steps; the last one that was refused, and why, or nothing."""
    refused = ""
    for step, *rest in steps:
        try:
            getattr(hands, step)(*rest)
        except Exception as error:  # noqa: BLE001  (a refusal is what is looked for)
            refused = f"{step} {rest}: {type(error).__name__} {error}"
    return refused


def main(soffice, profile, source, folder, habits):
    """Each habit on a log of its own."""
    told = {}
    with running(soffice, profile) as desktop:
        for name, steps in json.loads(Path(habits).read_text(encoding="utf-8")).items():
            book = desktop.loadComponentFromURL(source, "_blank", 0, (option("Hidden", True),))
            book.calculateAll()
            refused = refusal(Hands(book), steps)
            told[name] = shown(book) | {"refused": refused}
            book.storeToURL(f"{folder}/{name}.xlsx", (option("FilterName", "Calc MS Excel 2007 XML"),))
            book.close(True)
    print(json.dumps(told))


if __name__ == "__main__":
    main(*sys.argv[1:])
