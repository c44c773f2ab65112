"""LibreOffice Calc: cells as its add-in interface delivers them, and results as it takes them.

In: numbers, dates, yes and no are floats; a blank in a range is "", but a single blank cell is 0
and cannot be told from it, so that formulas guard blanks themselves; what is left out is None; a
range is a tuple of rows. A cell that holds an error never gets here: the program passes it on, and
a range with one gives Err:504.

Out: rows of floats and texts, nothing else; an error is a float that is not a number, whose lowest
bits are the program's code, so that a cell holds a true error and SUM over it fails. There is no
way for the message: `sheetfns check` says it for the cells of a log.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from typing import Any, Final

from sheetfns.calling import MISSING, evaluate, single_figure
from sheetfns.errors import CODES, VALUE, CellError
from sheetfns.registry import FORMER, REGISTRY

ERROR_NUMBERS: Final = {
    "#NULL!": 521,
    "#DIV/0!": 532,
    "#VALUE!": 519,
    "#REF!": 524,
    "#NAME?": 525,
    "#NUM!": 503,
    "#N/A": 32767,
}
_NOT_A_NUMBER: Final = 0x7FF8_0000_0000_0000

Rows = tuple[tuple[float | str, ...], ...]


def answer(name: str, cells: Sequence[Any]) -> Rows:
    """Call a worksheet function.

    Args:
        name: its worksheet name, or a former one.
        cells: its arguments as the program hands them over.

    Returns:
        rows of floats and texts. It never raises: one exception would make a whole array an error.
    """
    try:
        spec = REGISTRY.get(name) or FORMER[name]
        given = [MISSING if cell is None else cell for cell in cells]
        while given and given[-1] is MISSING:
            given.pop()
        single = single_figure(spec, given)
        if single is not MISSING:
            return ((_shown(single),),)
        return tuple(tuple(map(_shown, row)) for row in evaluate(spec, given).cells())
    except Exception:  # noqa: BLE001  (a fault shows as an error too, never as a text or 0)
        return ((error_float(VALUE),),)


def error_float(code: str) -> float:
    """An error as the program knows it: not a number, with its code in the lowest bits.

    >>> error_float("#N/A")
    nan
    """
    number = ERROR_NUMBERS.get(code, ERROR_NUMBERS[VALUE])
    (made,) = struct.unpack("<d", struct.pack("<Q", _NOT_A_NUMBER | number))
    return float(made)


def _shown(cell: Any) -> float | str:
    if cell is None:
        return ""
    if isinstance(cell, CellError):
        return error_float(cell.code)
    return cell if isinstance(cell, str) else float(cell)


assert set(ERROR_NUMBERS) == set(CODES)  # noqa: S101  (a code without its number would be lost)
