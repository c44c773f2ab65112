"""The menu's screen in LibreOffice: its dialogs, its windows, its cells."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final
from urllib.parse import unquote

import uno
from com.sun.star.beans import PropertyValue

from sheetfns.cell_types import date_number
from sheetfns.errors import LogFileError
from sheetfns.files.sheet_xml import FormulaText
from sheetfns.log.edit.patch import CellEdit, NewSheet
from sheetfns.programs.calc.form_dialog import FormDialog, Progress
from sheetfns.programs.calc.plain_names import rewrite, with_add_in_names
from sheetfns.programs.forms import Answers, Form, read_answers
from sheetfns.programs.menu_entries import MENU
from sheetfns.programs.result_files import result_path, write_result
from sheetfns.programs.screens import StoppedError
from sheetfns.programs.shown_rows import Rows

_SPREADSHEET: Final = "com.sun.star.sheet.SpreadsheetDocument"
_OPEN, _SAVE = 0, 1
_OK, _YES = 1, 2
_BUTTONS_OK, _BUTTONS_YES_NO = 1, 3
_CHARACTER: Final = 200
"""The width of a character in hundredths of a millimetre."""
_AS_IN_FILES: Final = 3
"""AddressConvention.XL_OOX: formulas as .xlsx files hold them."""


class CalcScreen:
    """See `sheetfns.programs.screens.Screen`.

    With `answers` nothing is shown: they are given one after the other, and what would be told is
    kept in `said`.
    """

    def __init__(self, context: Any, frame: Any, answers: Sequence[Any] | None) -> None:
        self._context = context
        self._frame = frame
        self._answers = None if answers is None else list(answers)
        self.said: list[str] = []
        self._progress: Progress | None = None

    def step(self, words: str) -> None:
        """See Screen."""
        if self._answers is not None:
            return
        if self._progress is None:
            self._progress = Progress(self._context, self._frame)
        self._progress.say(words)
        if self._progress.stopped:
            raise StoppedError(words)

    def finish(self) -> None:
        """See Screen."""
        if self._progress is not None:
            self._progress.close()
            self._progress = None

    def ask_file(self, title: str, ending: str) -> Path | None:
        """See Screen."""
        return self._pick(title, _OPEN, ending=ending)

    def ask_new_file(self, title: str, name: str) -> Path | None:
        """See Screen."""
        return self._pick(title, _SAVE, name=name, ending=Path(name).suffix)

    def ask_folder(self, title: str) -> Path | None:
        """See Screen."""
        self.finish()
        if self._answers is not None:
            return self._path(self._next())
        picker = self._service("com.sun.star.ui.dialogs.FolderPicker")
        picker.setTitle(title)
        return self._path_of(picker.getDirectory()) if picker.execute() == _OK else None

    def ask_yes(self, question: str) -> bool:
        """See Screen."""
        self.finish()
        if self._answers is not None:
            self.said.append(question)
            return bool(self._next())
        return bool(self._box("QUERYBOX", _BUTTONS_YES_NO, question) == _YES)

    def show_message(self, text: str) -> None:
        """See Screen."""
        self.finish()
        self.said.append(text)
        if self._answers is None:
            self._box("INFOBOX", _BUTTONS_OK, text)

    def ask_form(self, form: Form) -> Answers | None:
        """See Screen. Among `answers` one is the texts of some fields, in lines such as price=12.50."""
        self.finish()
        if self._answers is None:
            return FormDialog(self._context, self._frame, form).answers()
        given = self._next()
        if given is None:
            return None
        texts = {one.key: one.default for one in form.fields}
        texts |= dict(line.split("=", 1) for line in str(given).splitlines())
        answers, wrong = read_answers(form, texts)
        self.said += [one for one in (form.said(texts), *wrong) if one]
        return None if wrong else answers

    def show_table(self, title: str, rows: Rows, widths: Sequence[float]) -> None:
        """See Screen."""
        self.finish()
        log = self.log_path()
        path = result_path(title, log)
        self._close(path)
        write_result(path, title, rows, widths, log)
        self.open_file(path)

    def log_path(self) -> Path | None:
        """See Screen."""
        book = self._book()
        return self._path_of(book.URL) if book is not None and book.URL.startswith("file:") else None

    def selected(self) -> tuple[str, int, int] | None:
        """See Screen."""
        if self._book() is None:
            return None
        chosen = self._frame.Controller.getSelection()
        if not hasattr(chosen, "RangeAddress"):  # several ranges, or a chart
            return None
        place = chosen.RangeAddress
        sheet = self._book().Sheets.getByIndex(place.Sheet)
        return sheet.Name, place.StartRow + 1, place.StartColumn + 1

    def current_copy(self, folder: Path) -> Path | None:
        """See Screen."""
        book = self._book()
        if book is None:
            return None
        # It may be opened from a server: there is no path then.
        name = Path(unquote(book.URL)).stem if book.URL else "log"
        path = folder / f"{name}.xlsx"
        options = (_option("FilterName", "Calc MS Excel 2007 XML"),)
        book.storeToURL(uno.systemPathToFileUrl(str(path)), options)
        rewrite(path)
        return path

    def open_file(self, path: Path) -> None:
        """See Screen."""
        url = uno.systemPathToFileUrl(str(path))
        self._desktop().loadComponentFromURL(url, "_blank", 0, ())

    def set_cells(self, edits: Iterable[CellEdit], new_sheets: Iterable[NewSheet] = ()) -> None:
        """See Screen."""
        book = self._book()
        if book is None:
            raise LogFileError("The log was closed in the meantime; open it and try again")
        undo = book.UndoManager
        sheets = list(new_sheets)
        with _not_undone(undo):
            for one in sheets:
                book.Sheets.insertNewByName(one.name, book.Sheets.Count)
        undo.enterUndoContext(MENU)
        book.lockControllers()
        done = 0
        edit: CellEdit | None = None
        try:
            for one in sheets:
                _fill_sheet(book, one)
                done += 1
            for edit in edits:
                sheet = book.Sheets.getByName(edit.sheet)
                cell = sheet.getCellByPosition(edit.column - 1, edit.row - 1)
                if isinstance(edit.value, FormulaText):
                    cell.setTokens(_tokens(book, cell, edit.value.text))
                else:
                    _type(cell, edit.value)
                done += 1
        except Exception as fault:
            undo.leaveUndoContext()
            if done:
                undo.undo()
            with _not_undone(undo):
                for one in sheets:
                    book.Sheets.removeByName(one.name)
            where = "a new sheet" if edit is None else f"{edit.sheet}, {edit.cell}"
            raise LogFileError(
                f"{where}: cannot be filled ({fault}); nothing was changed. Check that the sheet exists and the cell "
                "is not locked, and try again"
            ) from fault
        else:
            undo.leaveUndoContext()
        finally:
            book.unlockControllers()
        self._to_front()

    def _to_front(self) -> None:
        """Bring the log back: a list may stand before it."""
        if self._answers is None:
            self._frame.ContainerWindow.toFront()

    def _book(self) -> Any:
        book = self._frame.Controller.Model if self._frame and self._frame.Controller else None
        return book if book is not None and book.supportsService(_SPREADSHEET) else None

    def _close(self, path: Path) -> None:
        """Close a list of an earlier command, whose file a new one takes."""
        url = uno.systemPathToFileUrl(str(path))
        books = self._desktop().Components.createEnumeration()
        while books.hasMoreElements():
            book = books.nextElement()
            if getattr(book, "URL", "") == url:
                book.close(True)

    def _pick(self, title: str, kind: int, name: str = "", ending: str = "") -> Path | None:
        self.finish()
        if self._answers is not None:
            return self._path(self._next())
        picker = self._context.ServiceManager.createInstanceWithArgumentsAndContext(
            "com.sun.star.ui.dialogs.FilePicker", (kind,), self._context
        )
        picker.setTitle(title)
        if ending:
            picker.appendFilter(f"*{ending}", f"*{ending}")
            picker.appendFilter("*", "*")
        if name:
            picker.setDefaultName(name)
        return self._path_of(picker.getFiles()[0]) if picker.execute() == _OK else None

    def _next(self) -> Any:
        return self._answers.pop(0) if self._answers else None

    @staticmethod
    def _path(answer: Any) -> Path | None:
        return Path(answer) if answer else None

    @staticmethod
    def _path_of(url: str) -> Path:
        return Path(uno.fileUrlToSystemPath(url))

    def _box(self, kind: str, buttons: int, text: str) -> int:
        toolkit = self._service("com.sun.star.awt.Toolkit")
        box = toolkit.createMessageBox(
            self._frame.ContainerWindow, uno.Enum("com.sun.star.awt.MessageBoxType", kind), buttons, MENU, text
        )
        return int(box.execute())

    def _desktop(self) -> Any:
        return self._service("com.sun.star.frame.Desktop")

    def _service(self, name: str) -> Any:
        return self._context.ServiceManager.createInstanceWithContext(name, self._context)


def _tokens(book: Any, cell: Any, formula: str) -> Any:
    """A formula as files hold it, in the program's own terms."""
    parser = book.createInstance("com.sun.star.sheet.FormulaParser")
    parser.CompileEnglish = True
    parser.FormulaConvention = _AS_IN_FILES
    return parser.parseFormula(with_add_in_names(formula), cell.CellAddress)


def _type(cell: Any, value: Any) -> None:
    if value is None:
        cell.String = ""
    elif isinstance(value, str):
        cell.String = value
    elif isinstance(value, dt.date):
        cell.Value = date_number(value)
    elif isinstance(value, (bool, int, float)):
        cell.Value = float(value)
    else:
        raise LogFileError(f"{value!r} cannot be entered in a cell; use 'sheetfns import'")


@contextmanager
def _not_undone(undo: Any) -> Iterator[None]:
    """What is done meanwhile is none of the steps that Undo takes back.

    LibreOffice 7.4 ends when the insertion of a sheet is undone after another workbook was opened and closed. So an
    inserted sheet stays; what was written into it is undone.
    """
    undo.lock()
    try:
        yield
    finally:
        undo.unlock()


def _fill_sheet(book: Any, new: NewSheet) -> None:
    """The cells of an inserted sheet, its heads in bold."""
    width = max(map(len, new.rows))
    rows = tuple(tuple("" if cell is None else cell for cell in row) + ("",) * (width - len(row)) for row in new.rows)
    sheet = book.Sheets.getByName(new.name)
    for place, characters in enumerate(new.widths):
        sheet.Columns.getByIndex(place).Width = int(characters * _CHARACTER)
    for row in range(new.heads):
        sheet.Rows.getByIndex(row).CharWeight = 150.0
    # Texts that are handed over as data are never taken for formulas.
    sheet.getCellRangeByPosition(0, 0, width - 1, len(rows) - 1).setDataArray(rows)


def _option(name: str, value: Any) -> Any:
    made = PropertyValue()
    made.Name, made.Value = name, value
    return made
