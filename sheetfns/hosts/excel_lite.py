"""Excel without Python on the machine: every worksheet function through the add-in xlwings Lite.

Python runs inside the add-in (Pyodide), on Windows, macOS and in the browser. In the add-in's main.py,
`from sheetfns.hosts.excel_lite import *` makes a custom function of every name in the registry and every
former name. `func` and `arg` are those of the xlwings that the add-in has; nothing else of it is used.

In: `ndim=2` asks for rows of cells, and what comes otherwise (a single cell, one list) is read too. A blank is
None, a date its number, an error cell its text. A blank single cell counts as left out where there is a default.

Out: a blank is "". An error is its code, such as "#NUM!", of which the add-in makes a true error, so that a sum
over a failed row fails. Its words have no way into the cell: `LAST_ERRORS` keeps them for the command that shows
them (programs/lite).

Without xlwings this module can be imported; it then has no worksheet function.
"""

from __future__ import annotations

import importlib
import importlib.util
from collections import OrderedDict
from collections.abc import Callable, Iterator
from typing import Any, Final

from sheetfns.calling import MISSING, evaluate, single_figure
from sheetfns.errors import VALUE, CellError
from sheetfns.hosts.excel_cells import NEW_ERRORS, described, error_in_cell, read_argument
from sheetfns.registry import FORMER, REGISTRY, Argument, FunctionSpec

ERRORS_KEPT: Final = 50
LAST_ERRORS: Final[OrderedDict[tuple[str, CellError], None]] = OrderedDict()
"""Function and error of the calls that failed last, the newest at the end; each once."""
_NEW_CODES: Final = frozenset(NEW_ERRORS.values())


def custom_function(spec: FunctionSpec) -> Callable[..., Any]:
    """One worksheet function as the add-in calls it, not yet marked for it."""

    def function(*cells: Any) -> Any:
        try:
            args = [
                _argument(argument, cell) for argument, cell in zip(spec.arguments, _filled(spec, cells), strict=True)
            ]
            while args and args[-1] is MISSING:
                args.pop()
            single = single_figure(spec, args)
            if single is not MISSING:
                return _shown(spec, single)
            rows = [[_shown(spec, cell) for cell in row] for row in evaluate(spec, args).cells()]
        except Exception as fault:  # noqa: BLE001  (else the add-in shows a trace of the program)
            return _shown(spec, CellError(VALUE, f"fault in the function: {fault!r}"))
        return rows[0][0] if len(rows) == len(rows[0]) == 1 else rows

    return described(function, spec, left_out=None)


def custom_functions(xlwings: Any) -> dict[str, Callable[..., Any]]:
    """Every worksheet function by its name, marked for the add-in.

    Args:
        xlwings: the add-in's xlwings; its `func` and `arg` are used.
    """
    return {name: _marked(spec, xlwings) for name, spec in {**REGISTRY, **FORMER}.items()}


def _marked(spec: FunctionSpec, xlwings: Any) -> Callable[..., Any]:
    function = custom_function(spec)
    for argument in spec.arguments:
        function = xlwings.arg(argument.name, ndim=2, err_to_str=True, doc=argument.help)(function)
    marked: Callable[..., Any] = xlwings.func(function)
    return marked


def _filled(spec: FunctionSpec, cells: tuple[Any, ...]) -> Iterator[Any]:
    yield from cells
    yield from [None] * (len(spec.arguments) - len(cells))


def _argument(argument: Argument, block: Any) -> Any:
    """A cell, or rows of cells, as the registry's functions take them."""
    if block is None:
        # A blank cell and one that is left out arrive alike.
        return None if argument.required else MISSING
    if not isinstance(block, (list, tuple)):
        block = [[block]]
    elif not all(isinstance(row, (list, tuple)) for row in block):
        block = [[cell] for cell in block]
    return read_argument(argument, [[_cell(argument.name, cell) for cell in row] for row in block])


def _cell(name: str, cell: Any) -> Any:
    if cell == "":
        return None
    return error_in_cell(name, cell) if isinstance(cell, str) and cell in _NEW_CODES else cell


def _shown(spec: FunctionSpec, cell: Any) -> Any:
    if cell is None:
        return ""
    if isinstance(cell, CellError):
        _keep(spec.name, cell)
        return cell.code
    return float(cell) if type(cell) is int else cell


def _keep(name: str, error: CellError) -> None:
    LAST_ERRORS.pop((name, error), None)
    LAST_ERRORS[name, error] = None
    if len(LAST_ERRORS) > ERRORS_KEPT:
        LAST_ERRORS.popitem(last=False)


_functions = custom_functions(importlib.import_module("xlwings")) if importlib.util.find_spec("xlwings") else {}
globals().update(_functions)
__all__ = list(_functions)
