"""The commands of the menu in Excel on Windows, through xlwings.

The macros of the VBA module (vba.py) run `run("check_log")` and its neighbors here, in a
Python of their own, while Excel waits.

Name this module as `UDF Modules` in a workbook that holds the VBA module: xlwings' own Import
Functions then finds no function and does no harm. Were it to find the functions, each would stand
twice in the workbook, and Excel would know none of them.
"""

from __future__ import annotations

import importlib
import itertools
import re
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, Final

from sheetfns.errors import LogFileError
from sheetfns.files.sheet_xml import FormulaText
from sheetfns.log.edit.patch import CellEdit
from sheetfns.programs import menu
from sheetfns.programs.menu_entries import MENU

LOG_ENDINGS: Final = (".xlsx", ".xlsm")
FOLDER_PICKER: Final = 4
"""msoFileDialogFolderPicker, of the enumeration MsoFileDialogType."""
CHOSEN: Final = -1
"""What a dialog of Office gives when it was left by its button."""
ALIGNED_TO_TOP: Final = -4160
"""xlVAlignTop, of the enumeration XlVAlign (xlwings.constants)."""
WRAP_FROM: Final = 40
"""Columns of so many characters hold sentences, which go over several lines."""
_NAME_LIMIT: Final = 31
_NOT_IN_NAMES: Final = re.compile(r"[\[\]:*?/\\]")


def run(key: str) -> None:
    """Run a command of the menu for the workbook whose macro called.

    Args:
        key: which command, see `sheetfns.programs.menu_entries.COMMANDS`.
    """
    xlwings = importlib.import_module("xlwings")
    book = xlwings.Book.caller()
    if not sys.platform.startswith("win"):
        book.app.alert(
            f"The commands of '{MENU}' need Excel on Windows. Here, run the same commands in a terminal: see 'sheetfns "
            "--help'.",
            MENU,
        )
        return
    menu.run(key, ExcelScreen(book))


class ExcelScreen:
    """What Excel asks, shows and changes for a command (`sheetfns.programs.menu.Screen`).

    Args:
        book: the xlwings Book that is the log on the screen.
    """

    def __init__(self, book: Any) -> None:
        self.book = book
        self.app = book.app

    def ask_file(self, title: str, ending: str) -> Path | None:
        """A file that is there, chosen by the user."""
        return _path(self.app.api.GetOpenFilename(_file_filter(ending), 1, title))

    def ask_new_file(self, title: str, name: str) -> Path | None:
        """A file to be made, chosen by the user."""
        ending = Path(name).suffix
        return _path(self.app.api.GetSaveAsFilename(name, _file_filter(ending), 1, title))

    def ask_folder(self, title: str) -> Path | None:
        """A folder, chosen by the user."""
        dialog = self.app.api.FileDialog(FOLDER_PICKER)
        dialog.Title = title
        return Path(dialog.SelectedItems.Item(1)) if dialog.Show() == CHOSEN else None

    def ask_yes(self, question: str) -> bool:
        """Yes or no."""
        return bool(self.app.alert(question, MENU, "yes_no", "info") == "yes")

    def show_message(self, text: str) -> None:
        """A message that waits until it is read."""
        self.app.alert(text, MENU, "ok", "info")

    def show_table(self, title: str, rows: menu.Rows, widths: Sequence[float]) -> None:
        """A new workbook, not saved, with these rows."""
        with self._quickly():
            sheet = self.app.books.add().sheets[0]
            sheet.name = _NOT_IN_NAMES.sub(" ", title)[:_NAME_LIMIT]
            width = max(len(widths), *(len(row) for row in rows))
            block = sheet.range((1, 1), (len(rows), width))
            block.value = [[_typed(cell) for cell in row] + [None] * (width - len(row)) for row in rows]
            block.api.VerticalAlignment = ALIGNED_TO_TOP
            for place, characters in enumerate(widths):
                column = sheet.range((1, place + 1), (len(rows), place + 1))
                column.column_width = characters
                column.api.WrapText = characters >= WRAP_FROM
                figures = [row[place] for row in rows[1:] if place < len(row)]
                if any(isinstance(one, float) and not one.is_integer() for one in figures):
                    column.number_format = "#,##0.00"
            sheet.range((1, 1), (1, width)).font.bold = True
            window = self.app.api.ActiveWindow
            window.SplitRow = 1
            window.FreezePanes = True
            sheet.book.api.Saved = True  # nobody is asked whether to keep it

    def current_copy(self, folder: Path) -> Path | None:
        """A copy of the log as it stands on the screen, saved or not."""
        name = str(self.book.name)
        if "." not in name:
            name += ".xlsx"  # it was never saved
        path = folder / name
        if path.suffix.lower() not in LOG_ENDINGS:
            raise LogFileError(
                f"{name}: is not an .xlsx or .xlsm workbook; choose File > Save As, choose Excel Workbook, and choose "
                "this command again"
            )
        self.book.api.SaveCopyAs(str(path))
        return path

    def open_file(self, path: Path) -> None:
        """Open a workbook."""
        self.app.books.open(str(path))

    def set_cells(self, edits: Iterable[CellEdit]) -> None:
        """Type values into the log on the screen: all of them, or none.

        Errors:
            LogFileError: a sheet is missing, a cell is locked, or Excel refuses a value.
        """
        blocks = [self._block(cells) for cells in _side_by_side(edits)]
        done: list[tuple[Any, Any]] = []
        with self._quickly():
            for block, cells in blocks:
                before = _as_it_stands(block)
                try:
                    done.append((block, before))
                    block.value = [[_typed(edit.value) for edit in cells]]
                except Exception as error:
                    for changed, old in reversed(done):
                        with suppress(Exception):
                            changed.api.Formula = old
                    raise LogFileError(
                        f"Sheet {cells[0].sheet}, cell {cells[0].cell}: Excel doesn't accept {cells[0].value!r} there "
                        f"({error}); nothing was changed"
                    ) from error

    def _block(self, cells: list[CellEdit]) -> tuple[Any, list[CellEdit]]:
        first, last = cells[0], cells[-1]
        by_name = {sheet.name: sheet for sheet in self.book.sheets}
        if first.sheet not in by_name:
            raise LogFileError(
                f"There is no sheet '{first.sheet}' in {self.book.name}; nothing was changed. "
                "Open the log that you want to fill, and choose this command there"
            )
        sheet = by_name[first.sheet]
        block = sheet.range((first.row, first.column), (last.row, last.column))
        # Of several cells that differ, Excel gives neither yes nor no.
        if sheet.api.ProtectContents and block.api.Locked is not False:
            raise LogFileError(
                f"Sheet {first.sheet}: cell {first.cell} or one next to it is locked; nothing was "
                "changed. Choose Review > Unprotect Sheet, and choose this command again"
            )
        return block, cells

    @contextmanager
    def _quickly(self) -> Iterator[None]:
        """Nothing is drawn or worked out until all cells are in."""
        with self.app.properties(screen_updating=False, enable_events=False, calculation="manual"):
            yield


def _path(chosen: Any) -> Path | None:
    """What a dialog gave: a path, or False if it was left."""
    return Path(chosen) if isinstance(chosen, str) else None


def _file_filter(ending: str) -> str:
    return f"Files that end in {ending} (*{ending}), *{ending}"


def _typed(value: Any) -> Any:
    """A value as a person would type it: a text stays a text, whatever it looks like."""
    if isinstance(value, FormulaText):
        return f"={value.text}"
    return f"'{value}" if isinstance(value, str) and value else value


def _as_it_stands(block: Any) -> Any:
    """What to put into the cells to have them as they are now."""
    formulas, values = _rows(block.api.Formula), _rows(block.api.Value2)
    return tuple(
        tuple(
            # A text looks like its formula; a figure is the same either way.
            f"'{value}" if isinstance(value, str) and value and value == formula else formula
            for formula, value in zip(*pair, strict=True)
        )
        for pair in zip(formulas, values, strict=True)
    )


def _rows(given: Any) -> tuple[tuple[Any, ...], ...]:
    return given if isinstance(given, tuple) else ((given,),)


def _side_by_side(edits: Iterable[CellEdit]) -> Iterator[list[CellEdit]]:
    """Cells of one row that stand side by side, which are filled at one go."""
    last = {(edit.sheet, edit.row, edit.column): edit for edit in edits}
    ordered = [last[key] for key in sorted(last)]
    beside = itertools.groupby(enumerate(ordered), lambda one: (one[1].sheet, one[1].row, one[1].column - one[0]))
    for _, cells in beside:
        yield [edit for _, edit in cells]
