"""Excel on Windows, through xlwings: every worksheet function as a user-defined function.

The VBA module of programs/excel calls it; or name it in a workbook's xlwings settings,
`UDF Modules` = sheetfns.hosts.excel, and xlwings makes wrappers of its own. It holds one function
for each name in the registry and each former name, and only translates: cells as COM delivers them on the way in,
figures and texts that COM can carry on the way out.

In: a blank is None, a currency cell a Decimal of 4 places, a date cell a datetime, which becomes
the number that the other hosts get for it. An error cell is
a number in COM; xlwings turns the seven oldest into their text, so a text cell in which someone
typed #N/A cannot be told from an error and passes for one.

Out: a blank is "". COM loses the code of a true error, so an error is a text
`#ERR NAME: code message`, of at most 255 characters, of which our VBA module makes an error again.
xlwings' own wrappers leave the text, which SUM skips in silence: there, count `#ERR*` in every
column that is added up. Such a text in an argument's cell passes on as it is.

xlwings is an extra, and does something on Windows only. Without it this module can be imported, and
asking it for a worksheet function is an ImportError that says what to install.
"""

from __future__ import annotations

import importlib
import importlib.util
from collections.abc import Callable
from typing import Any, Final

from sheetfns.calling import MISSING, evaluate, single_figure
from sheetfns.errors import VALUE, CellError
from sheetfns.hosts.excel_cells import described, read_argument
from sheetfns.hosts.excel_marks import ERROR_MARK
from sheetfns.registry import FORMER, REGISTRY, FunctionSpec

TEXT_LIMIT: Final = 255
"""Short enough for every version of Excel, in arrays too."""


def user_function(spec: FunctionSpec) -> Callable[..., Any]:
    """One worksheet function as xlwings finds it in a module, not yet marked for Excel."""

    def function(*cells: Any) -> Any:
        try:
            given = zip(spec.arguments, cells, strict=True)
            args = [read_argument(argument, block) for argument, block in given]
            single = single_figure(spec, args)
            if single is not MISSING:
                return _shown(spec, single)
            rows = [[_shown(spec, cell) for cell in row] for row in evaluate(spec, args).cells()]
        except Exception as fault:  # noqa: BLE001  (else it shows as text that no check counts)
            return error_text(spec.name, CellError(VALUE, f"fault in the function: {fault!r}"))
        return rows[0][0] if len(rows) == len(rows[0]) == 1 else rows

    return described(function, spec, left_out=MISSING)


def _marked(spec: FunctionSpec, xw: Any) -> Callable[..., Any]:
    """The function with what Excel shows of it; every argument arrives as rows of cells."""
    function = user_function(spec)
    for argument in spec.arguments:
        function = xw.arg(argument.name, ndim=2, err_to_str=True, doc=argument.help)(function)
    marked: Callable[..., Any] = xw.func(category=spec.category)(function)
    return marked


def _shown(spec: FunctionSpec, cell: Any) -> Any:
    if cell is None:
        return ""
    if isinstance(cell, CellError):
        return error_text(spec.name, cell)
    return float(cell) if type(cell) is int else cell


def error_text(name: str, error: CellError) -> str:
    """An error as the cell shows it.

    >>> error_text("NET_PROFIT", CellError("#NUM!", "fee: -3 is below 0; write 0 or more"))
    '#ERR NET_PROFIT: #NUM! fee: -3 is below 0; write 0 or more'
    """
    passed_on = error.message.startswith(ERROR_MARK)
    text = error.message if passed_on else f"{ERROR_MARK}{name}: {error}"
    return text if len(text) <= TEXT_LIMIT else text[: TEXT_LIMIT - 3] + "..."


def __getattr__(name: str) -> Any:
    if name in REGISTRY or name in FORMER:
        raise ImportError(
            f"{name} as a function of Excel needs xlwings, which is not installed: "
            "install xlwings in this environment, on Windows"
        )
    raise AttributeError(f"{__name__} has no {name}")


if importlib.util.find_spec("xlwings"):
    _xlwings = importlib.import_module("xlwings")
    globals().update({name: _marked(spec, _xlwings) for name, spec in {**REGISTRY, **FORMER}.items()})
