"""What the two ways into Excel share: its cells as xlwings hands them over."""

from __future__ import annotations

import datetime as dt
import inspect
import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any, Final

from sheetfns.calling import MISSING
from sheetfns.cell_types import date_number
from sheetfns.errors import CODES, VALUE, CellError
from sheetfns.hosts.excel_marks import ERROR_MARK
from sheetfns.registry import Argument, FunctionSpec

FIRST_ERROR: Final = -2146828288
"""COM's number of an error is this plus a number from 2000 on (XlCVError)."""
ERROR_NUMBERS: Final = range(FIRST_ERROR + 2000, FIRST_ERROR + 3000)
NEW_ERRORS: Final = {
    2043: "#GETTING_DATA",
    2045: "#SPILL!",
    2046: "#CONNECT!",
    2047: "#BLOCKED!",
    2048: "#UNKNOWN!",
    2049: "#FIELD!",
    2050: "#CALC!",
}
"""The errors of newer versions, which xlwings leaves as numbers."""
_OWN_ERROR: Final = re.compile(rf"{ERROR_MARK}[A-Z][A-Z0-9_]*: (#[A-Z/0]+[!?]?) ")


def described(function: Callable[..., Any], spec: FunctionSpec, left_out: Any) -> Callable[..., Any]:
    """A function with the name, help and parameters that xlwings reads from it.

    Args:
        function: takes cells, in the order of the arguments.
        spec: what it is.
        left_out: what stands for an optional argument that is not given.
    """
    function.__name__ = function.__qualname__ = spec.name
    function.__doc__ = spec.help
    function.__annotations__ = {}  # they would choose a conversion
    kind = inspect.Parameter.POSITIONAL_OR_KEYWORD
    defaults = (inspect.Parameter.empty if argument.required else left_out for argument in spec.arguments)
    function.__signature__ = inspect.Signature(  # type: ignore[attr-defined]
        [
            inspect.Parameter(argument.name, kind, default=default)
            for argument, default in zip(spec.arguments, defaults, strict=True)
        ]
    )
    return function


def read_argument(argument: Argument, block: Any) -> Any:
    """Rows of cells as the registry's functions take them; a single cell stands alone."""
    if block is MISSING or block is None:  # None: left out, though it is needed
        return MISSING
    if len(block) == len(block[0]) == 1:
        return read_cell(argument.name, block[0][0])
    return [[read_cell(argument.name, cell) for cell in row] for row in block]


def read_cell(name: str, cell: Any) -> Any:
    """One cell of the argument of that name."""
    if isinstance(cell, str):
        if cell in CODES:
            return error_in_cell(name, cell)
        own = _OWN_ERROR.match(cell)
        return CellError(own[1], cell) if own else cell
    if isinstance(cell, Decimal):
        return float(cell)
    if isinstance(cell, dt.date):
        return date_number(cell)
    if type(cell) is int and cell in ERROR_NUMBERS:
        number = cell - FIRST_ERROR
        return error_in_cell(name, NEW_ERRORS.get(number, f"error {number}"))
    return cell


def error_in_cell(name: str, code: str) -> CellError:
    """The error of an argument in whose cell an error stands."""
    return CellError(code if code in CODES else VALUE, f"{name}: holds {code}; fix that cell first")
