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
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, Final

from sheetfns.errors import LogFileError
from sheetfns.files.sheet_xml import FormulaText
from sheetfns.log.edit.patch import CellEdit, NewSheet
from sheetfns.programs import menu
from sheetfns.programs.forms import Answers, Field, Form, read_answers
from sheetfns.programs.menu_entries import MENU
from sheetfns.programs.result_files import result_path, write_result
from sheetfns.programs.shown_rows import Rows

LOG_ENDINGS: Final = (".xlsx", ".xlsm")
FOLDER_PICKER: Final = 4
"""msoFileDialogFolderPicker, of the enumeration MsoFileDialogType."""
CHOSEN: Final = -1
"""What a dialog of Office gives when it was left by its button."""
_CHOICES_SHOWN: Final = 12
"""A box of Excel shows some 250 letters, so that a long list is cut."""


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
    """What Excel asks, shows and changes for a command (`sheetfns.programs.screens.Screen`).

    Args:
        book: the xlwings Book that is the log on the screen.
    """

    def __init__(self, book: Any) -> None:
        self.book = book
        self.app = book.app

    def step(self, words: str) -> None:
        """What is being done, in the bar at the foot; while Python runs, Excel takes no key that could stop it."""
        self.app.status_bar = f"{MENU}: {words} ..."

    def finish(self) -> None:
        """Give the bar back to Excel."""
        self.app.status_bar = False

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

    def ask_form(self, form: Form) -> Answers | None:
        """Each field in a box of its own, and at the end what follows from them, to be agreed to."""
        texts: dict[str, str] = {}
        place = 0
        while place < len(form.fields):
            field = form.fields[place]
            given = self.app.api.InputBox(_prompt(form, field, place), form.title, texts.get(field.key, field.default))
            if given is False:
                return None
            texts[field.key] = _chosen(field, str(given))
            wrong = read_answers(Form(form.title, (field,), today=form.today), texts)[1]
            if wrong:
                self.show_message(wrong[0])
            else:
                place += 1
        answers, _ = read_answers(form, texts)
        lines = [f"{field.label}: {texts[field.key]}" for field in form.fields if texts[field.key]]
        follows = form.said(texts)
        agreed = self.ask_yes("\n".join([*lines, *(["", follows] if follows else []), "", f"{form.button}?"]))
        return answers if agreed else None

    def show_table(self, title: str, rows: Rows, widths: Sequence[float]) -> None:
        """See Screen."""
        log = self.log_path()
        path = result_path(title, log)
        for book in list(self.app.books):
            if str(book.fullname).casefold() == str(path).casefold():
                book.close()
        write_result(path, title, rows, widths, log)
        self.open_file(path)

    def log_path(self) -> Path | None:
        """See Screen."""
        path = Path(str(self.book.fullname))
        return path if path.is_absolute() and path.is_file() else None

    def selected(self) -> tuple[str, int, int] | None:
        """See Screen."""
        cell = self.app.selection
        return None if cell is None else (cell.sheet.name, cell.row, cell.column)

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

    def set_cells(self, edits: Iterable[CellEdit], new_sheets: Iterable[NewSheet] = ()) -> None:
        """Type values into the log on the screen, and add sheets behind the others: all of them, or none.

        Errors:
            LogFileError: a sheet is missing, a cell is locked, or Excel refuses a value.
        """
        blocks = [self._block(cells) for cells in _side_by_side(edits)]
        done: list[tuple[Any, Any]] = []
        with self._quickly():
            added = [self._add_sheet(one) for one in new_sheets]
            for block, cells in blocks:
                before = _as_it_stands(block)
                try:
                    done.append((block, before))
                    block.value = [[_typed(edit.value) for edit in cells]]
                except Exception as error:
                    for changed, old in reversed(done):
                        with suppress(Exception):
                            changed.api.Formula = old
                    for sheet in added:
                        with suppress(Exception):
                            sheet.delete()
                    raise LogFileError(
                        f"Sheet {cells[0].sheet}, cell {cells[0].cell}: Excel doesn't accept {cells[0].value!r} there "
                        f"({error}); nothing was changed"
                    ) from error

    def _add_sheet(self, new: NewSheet) -> Any:
        last = self.book.sheets[len(self.book.sheets) - 1]
        sheet = self.book.sheets.add(new.name, after=last)
        width = max(map(len, new.rows))
        rows = [[_typed(cell) for cell in row] + [None] * (width - len(row)) for row in new.rows]
        sheet.range((1, 1), (len(rows), width)).value = rows
        for place, characters in enumerate(new.widths, 1):
            sheet.range((1, place), (len(rows), place)).column_width = characters
        if new.heads:
            sheet.range((1, 1), (new.heads, width)).font.bold = True
        # The new sheet comes to the front; the log stays on the screen.
        self.book.sheets[0].activate()
        return sheet

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


def _prompt(form: Form, field: Field, place: int) -> str:
    """What a box says: the field, what may be chosen, by number too, and which one of how many it is."""
    lines = [f"{place + 1} of {len(form.fields)}: {field.label}{'' if field.needed else ' (may stay blank)'}"]
    if field.note:
        lines.append(field.note)
    lines += [f"{number}  {one}" for number, one in enumerate(field.choices[:_CHOICES_SHOWN], 1)]
    if len(field.choices) > _CHOICES_SHOWN:
        lines.append(f"... and {len(field.choices) - _CHOICES_SHOWN} more")
    if field.choices:
        lines.append("Enter it, or its number in this list with a point, such as 2.")
    return "\n".join([form.words, *lines] if form.words and place == 0 else lines)


def _chosen(field: Field, text: str) -> str:
    """The choice that a number with a point stands for; else what was entered."""
    number = text.strip().removesuffix(".")
    if field.choices and text.strip().endswith(".") and number.isdigit() and 1 <= int(number) <= len(field.choices):
        return field.choices[int(number) - 1]
    return text


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
