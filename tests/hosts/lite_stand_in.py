"""A stand-in for the xlwings that the add-in has: `func`, `arg`, `script`, and an open workbook.

The decorators keep what the open-source ones keep (xlwings' udfs.py): a record of arguments and options on the
function, and nothing changed in it. Arguments are delivered as published for the add-in: a single cell as it is,
a range as rows, a blank as None, an error as its text where `err_to_str` asks for it.
"""

from __future__ import annotations

import datetime as dt
import inspect
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from sheetfns.cell_types import date_number
from sheetfns.errors import CODES, CellError
from sheetfns.files.sheet_cells import with_errors

LEFT_OUT = object()


class Book:
    """The type that a script's argument has."""


class Lite:
    """The module `xlwings` of the add-in, as far as it is used."""

    Book = Book

    def __init__(self) -> None:
        self.scripts: dict[str, Callable[..., Any]] = {}

    @staticmethod
    def func(function: Callable[..., Any]) -> Callable[..., Any]:
        if not hasattr(function, "__xlfunc__"):
            arguments = {
                name: {"options": {}, "optional": one.default is not inspect.Parameter.empty, "default": one.default}
                for name, one in inspect.signature(function).parameters.items()
            }
            assert not function.__annotations__, "a hint on a cell argument would convert it"
            function.__xlfunc__ = {"name": function.__name__, "doc": function.__doc__, "args": arguments}
        return function

    def arg(self, name: str, **options: Any) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
        def keep(function: Callable[..., Any]) -> Callable[..., Any]:
            known = self.func(function).__xlfunc__["args"]
            assert name in known, f"Invalid argument name {name}"
            known[name]["doc"] = options.pop("doc")
            known[name]["options"] |= options
            return function

        return keep

    def script(self, function: Callable[..., Any]) -> Callable[..., Any]:
        assert list(inspect.signature(function).parameters) == list(function.__annotations__) == ["book"]
        assert function.__annotations__["book"] is Book
        self.scripts[function.__name__] = function
        return function


def call(function: Callable[..., Any], *sent: Any) -> Any:
    """What the add-in gives back to Excel, given what Excel sends for each argument."""
    given = []
    for (_, argument), cell in zip(function.__xlfunc__["args"].items(), sent, strict=False):
        given.append(_converted(argument, cell))
    result = function(*given)
    return json.loads(json.dumps(result, allow_nan=False))  # what cannot go over fails here


def _converted(argument: dict[str, Any], sent: Any) -> Any:
    if sent is LEFT_OUT or (argument["optional"] and sent in (None, "")):
        return argument["default"] if argument["optional"] else None
    rows = sent if isinstance(sent, list) else [[sent]]
    options = argument["options"]
    rows = [[_clean(cell, as_text=options.get("err_to_str", False)) for cell in row] for row in rows]
    if options.get("ndim") == 2:
        return rows
    if len(rows) == len(rows[0]) == 1:
        return rows[0][0]
    return rows[0] if len(rows) == 1 else [row[0] for row in rows] if len(rows[0]) == 1 else rows


def _clean(cell: Any, *, as_text: bool) -> Any:
    if isinstance(cell, dt.date):
        return date_number(cell)
    if cell == "" or (cell in CODES and not as_text):
        return None
    return cell


class OpenBook:
    """A workbook that is open in Excel, with what a file holds; only what the add-in is known to have.

    Args:
        path: the file.
        dates: whether dates arrive as dates; else as their numbers.
    """

    def __init__(self, path: Path, *, dates: bool = True) -> None:
        from sheetfns.files.xlsx_file import XlsxFile

        self.name = path.name
        self.sheets = Sheets()
        with XlsxFile(path) as file:
            for name in file.sheet_names:
                hidden = file.hidden(name)
                cells = with_errors(file.cells(name), hidden)
                self.sheets.append(Sheet(name, [[_delivered(cell, dates=dates) for cell in row] for row in cells]))
            self.names = [Name(name, f"={text}") for name, text in file.defined_names.items()]

    def whole(self) -> dict[str, list[list[Any]]]:
        return {sheet.name: sheet.cells for sheet in self.sheets}


def _delivered(cell: Any, *, dates: bool) -> Any:
    if isinstance(cell, CellError):
        return cell.code
    if isinstance(cell, dt.date):
        moment = cell if isinstance(cell, dt.datetime) else dt.datetime.combine(cell, dt.time())
        return moment if dates else date_number(cell)
    return cell


class Sheets(list[Any]):
    def __getitem__(self, key: Any) -> Any:
        return next(one for one in self if one.name == key) if isinstance(key, str) else super().__getitem__(key)

    def add(self, name: str, after: Any = None) -> Sheet:
        assert len(name) <= 31 and name.casefold() not in {one.name.casefold() for one in self}
        new = Sheet(name, [[""]])
        self.insert(self.index(after) + 1, new)
        return new


class Name:
    def __init__(self, name: str, refers_to: str) -> None:
        self.name, self._refers_to = name, refers_to

    @property
    def refers_to(self) -> str:
        if "LAMBDA" in self._refers_to:
            raise NotImplementedError("a name that stands for no cells")
        return self._refers_to


class Sheet:
    def __init__(self, name: str, cells: list[list[Any]]) -> None:
        self.name, self.cells, self.active = name, cells, False

    @property
    def used_range(self) -> Range:
        return Range(self, (1, 1), (max(len(self.cells), 1), max(map(len, self.cells), default=1)))

    def range(self, first: tuple[int, int], last: tuple[int, int]) -> Range:
        return Range(self, first, last)

    def activate(self) -> None:
        self.active = True


class Range:
    def __init__(self, sheet: Sheet, first: tuple[int, int], last: tuple[int, int], **options: Any) -> None:
        self._sheet, self._first, self._last, self._options = sheet, first, last, options

    @property
    def last_cell(self) -> Range:
        return Range(self._sheet, self._last, self._last)

    @property
    def row(self) -> int:
        return self._first[0]

    @property
    def column(self) -> int:
        return self._first[1]

    def options(self, **options: Any) -> Range:
        return Range(self._sheet, self._first, self._last, **options)

    @property
    def value(self) -> Any:
        assert self._options == {"ndim": 2, "err_to_str": True}, "else a shape or an error is lost"
        (top, left), (bottom, right) = self._first, self._last
        rows = [row[left - 1 : right] for row in self._sheet.cells[top - 1 : bottom]]
        return [[None if cell == "" else cell for cell in row] for row in rows]

    @value.setter
    def value(self, rows: list[list[Any]]) -> None:
        (top, left), (bottom, right) = self._first, self._last
        assert (top, left) == (1, 1) and len(rows) == bottom and {len(row) for row in rows} == {right}
        for row in rows:
            for cell in row:
                assert cell is None or type(cell) in (int, float) or cell.startswith("'"), (
                    "would be taken for a formula"
                )
        self._sheet.cells = [["" if cell is None else _typed(cell) for cell in row] for row in rows]

    def __setattr__(self, name: str, value: Any) -> None:
        assert name.startswith("_") or name in ("value", "column_width", "number_format"), "not known of the add-in"
        super().__setattr__(name, value)


def _typed(cell: Any) -> Any:
    return cell[1:] if isinstance(cell, str) else cell
