"""A small Excel of our own: workbooks, sheets and cells as COM shows them to xlwings' own code.

It does to texts what Excel does: what looks like a number, or begins with =, does not stay a text
unless an apostrophe stands before it. Works in the process of `xlwings_on_linux.install()`.
"""

from __future__ import annotations

import importlib
import re
import shutil
import sys
import types
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.hosts.xlwings_on_linux import ComError

BUTTONS = {"MB_OK": 0, "MB_OKCANCEL": 1, "MB_YESNOCANCEL": 3, "MB_YESNO": 4}
ICONS = {"MB_ICONINFORMATION": 64, "MB_ICONWARNING": 48}
YES, NO, OK = 6, 7, 1


class Cell:
    """One cell: what it holds, its formula, whether it is locked."""

    def __init__(self) -> None:
        self.value: Any = None
        self.formula = ""
        self.locked = True

    def put(self, content: Any) -> None:
        self.formula = ""
        if content in ("", None):
            self.value = None
        elif isinstance(content, str) and content.startswith("'"):
            self.value = content[1:]
        elif isinstance(content, str) and content.startswith("="):
            self.value, self.formula = f"result of {content}", content
        elif isinstance(content, str) and re.fullmatch(r"[+-]?\d+(\.\d+)?", content):
            self.value = float(content)
        else:
            self.value = content

    def shown_formula(self) -> Any:
        return self.formula or ("" if self.value is None else self.value)


class Cells:
    """A range: rows and columns of one sheet."""

    def __init__(self, sheet: Sheet, first: tuple[int, int], last: tuple[int, int]) -> None:
        self.Worksheet, self._first, self._last = sheet, first, last
        self.Row, self.Column = first

    def __call__(self, row: int, column: int) -> Cells:
        place = self.Row + row - 1, self.Column + column - 1
        return Cells(self.Worksheet, place, place)

    def _all(self) -> list[list[Cell]]:
        (top, left), (bottom, right) = self._first, self._last
        return [
            [self.Worksheet.cell(row, column) for column in range(left, right + 1)] for row in range(top, bottom + 1)
        ]

    def _given(self, ask: Callable[[Cell], Any]) -> Any:
        rows = tuple(tuple(map(ask, row)) for row in self._all())
        return rows[0][0] if len(rows) == len(rows[0]) == 1 else rows

    def _put(self, content: Any) -> None:
        rows = content if isinstance(content, (list, tuple)) else [[content]]
        if not isinstance(rows[0], (list, tuple)):
            rows = [rows]
        for cells, contents in zip(self._all(), rows, strict=True):
            for cell, one in zip(cells, contents, strict=True):
                if self.Worksheet.ProtectContents and cell.locked:
                    raise ComError("1004, the cell is protected")
                if self.Worksheet.refuses == one:
                    raise ComError("1004, refused")
                cell.put(one)

    Value = property(lambda self: self._given(lambda cell: cell.value), _put)
    Value2 = property(lambda self: self._given(lambda cell: cell.value))
    Formula = property(lambda self: self._given(Cell.shown_formula), _put)

    @property
    def Locked(self) -> bool | None:  # noqa: N802  (Excel's name)
        found = {cell.locked for row in self._all() for cell in row}
        return found.pop() if len(found) == 1 else None

    @property
    def Rows(self) -> Any:  # noqa: N802
        return types.SimpleNamespace(Count=self._last[0] - self._first[0] + 1)

    @property
    def Columns(self) -> Any:  # noqa: N802
        return types.SimpleNamespace(Count=self._last[1] - self._first[1] + 1)

    @property
    def Font(self) -> Any:  # noqa: N802
        self.Worksheet.bold.append(self._first + self._last)
        return types.SimpleNamespace(Bold=False)

    def __setattr__(self, name: str, value: Any) -> None:
        if name in ("ColumnWidth", "WrapText", "VerticalAlignment", "NumberFormat"):
            self.Worksheet.looks[name, self._first[1], self._last[1]] = value
        object.__setattr__(self, name, value)


class Sheet:
    def __init__(self, name: str) -> None:
        self.Name = name
        self.ProtectContents = False
        self.refuses: Any = object()
        self.looks: dict[tuple[str, int, int], Any] = {}
        self.bold: list[tuple[int, ...]] = []
        self._cells: dict[tuple[int, int], Cell] = {}
        self.Parent: Any = None

    def cell(self, row: int, column: int) -> Cell:
        return self._cells.setdefault((row, column), Cell())

    def Cells(self, row: int, column: int) -> Cells:  # noqa: N802
        return Cells(self, (row, column), (row, column))

    def Range(self, first: Cells, last: Cells | None = None) -> Cells:  # noqa: N802
        return Cells(self, first._first, (last or first)._last)


class Sheets(list[Sheet]):
    Count = property(len)

    def __call__(self, which: int | str) -> Sheet:
        if isinstance(which, int):
            return self[which - 1]
        return next(sheet for sheet in self if sheet.Name == which)


class Component:
    def __init__(self, name: str, text: str = "") -> None:
        self.Name, self.text = name, text

    def Export(self, path: str) -> None:  # noqa: N802
        Path(path).write_text(f'Attribute VB_Name = "{self.Name}"\n{self.text}', encoding="ascii")


class Components(list[Component]):
    fails: str = ""

    def Remove(self, component: Component) -> None:  # noqa: N802
        self.remove(component)

    def Import(self, path: str) -> None:  # noqa: N802
        first, _, text = Path(path).read_bytes().decode("ascii").partition("\n")
        name = first.split('"')[1]
        if name == self.fails and "old_" not in path:
            raise ComError("automation error 440")
        taken = {component.Name for component in self}
        self.append(Component(name + ("1" if name in taken else ""), text))


class Workbook:
    def __init__(self, application: Application, name: str, *sheets: str) -> None:
        self.Application, self.Name = application, name
        self.FullName, self.Path = name, "C:/logs"
        self.FileFormat = 52  # with macros
        self.Worksheets = Sheets(Sheet(one) for one in sheets)
        for sheet in self.Worksheets:
            sheet.Parent = self
        self.Saved = False
        self.saves = 0
        self.source: Path | None = None
        self.VBProject: Any = types.SimpleNamespace(
            VBComponents=Components([Component("ThisWorkbook"), Component("xlwings")]), References=[]
        )

    def SaveCopyAs(self, path: str) -> None:  # noqa: N802
        if self.source is None:
            Path(path).write_bytes(b"a copy")
        else:
            shutil.copyfile(self.source, path)

    def Save(self) -> None:  # noqa: N802
        self.saves += 1

    def Close(self, *_: Any, **__: Any) -> None:  # noqa: N802
        self.Application.Workbooks.remove(self)


class Workbooks(list[Workbook]):
    Count = property(len)

    def __init__(self, application: Application) -> None:
        self.Application = application

    def Add(self) -> Workbook:  # noqa: N802
        self.append(Workbook(self.Application, f"Book{len(self) + 1}", "Sheet1"))
        return self[-1]

    def __call__(self, which: int | str) -> Workbook:
        for place, book in enumerate(self, 1):
            if which in (place, book.Name):
                return book
        raise ComError("no such workbook")

    def Open(self, path: str, *rest: Any, **named: Any) -> Workbook:  # noqa: N802
        self.append(Workbook(self.Application, Path(path).name, "Sheet1"))
        self[-1].FullName = path
        return self[-1]


class Application:
    """The program: its workbooks, its settings, and a user who answers from a list."""

    Hwnd = 7
    Version = "16.0"

    def __init__(self, answers: list[Any] | None = None) -> None:
        self.answers = list(answers or [])
        self.asked: list[tuple[Any, ...]] = []
        self.ScreenUpdating = self.EnableEvents = True
        self.Calculation = -4105
        self.Workbooks = Workbooks(self)
        self.ActiveWindow = types.SimpleNamespace()
        self.ran: list[str] = []
        self.run_fails = False
        sys.modules["win32api"].MessageBox = self._box  # type: ignore[attr-defined]
        vars(sys.modules["win32con"]).update(BUTTONS | ICONS)

    @property
    def settings(self) -> tuple[Any, ...]:
        return self.ScreenUpdating, self.EnableEvents, self.Calculation

    def _box(self, hwnd: int, prompt: str, title: str, style: int) -> int:
        self.asked.append(("box", prompt, title, style & 15))
        return self.answers.pop(0) if style & 15 == BUTTONS["MB_YESNO"] else OK

    def InputBox(self, prompt: str, title: str, default: str) -> Any:  # noqa: N802
        self.asked.append(("InputBox", prompt, title, default))
        answer = self.answers.pop(0)
        return default if answer is None else answer

    def GetOpenFilename(self, *said: Any) -> Any:  # noqa: N802
        self.asked.append(("open", *said))
        return self.answers.pop(0)

    def GetSaveAsFilename(self, *said: Any) -> Any:  # noqa: N802
        self.asked.append(("save", *said))
        return self.answers.pop(0)

    def FileDialog(self, kind: int) -> Any:  # noqa: N802
        chosen = self.answers.pop(0)
        self.asked.append(("dialog", kind))
        return types.SimpleNamespace(
            Title="", Show=lambda: -1 if chosen else 0, SelectedItems=types.SimpleNamespace(Item=lambda place: chosen)
        )

    def Run(self, macro: str, *arguments: Any) -> None:  # noqa: N802
        if self.run_fails:
            raise ComError("macros are off")
        self.ran.append(macro)


def opened(application: Application, name: str, *sheets: str) -> tuple[Workbook, Any]:
    """A workbook of this Excel, and xlwings' Book for it."""
    book = Workbook(application, name, *sheets)
    application.Workbooks.append(book)
    windows = importlib.import_module("xlwings._xlwindows")
    main = importlib.import_module("xlwings.main")
    return book, main.Book(impl=windows.Book(xl=book))
