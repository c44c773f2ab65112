"""The types of all worksheet functions for type checkers, a stub made from their declarations.

`sheetfns/__init__.py` finds a function by its name at run time, so a checker sees none of them
without the stub beside it.
"""

from __future__ import annotations

import inspect
import json
import math
import textwrap
from collections.abc import Iterator
from typing import Final

from sheetfns.cell_types import CellType, Holds
from sheetfns.registry import REGISTRY, Argument, FunctionSpec

HEAD: Final = '''\
# Made by `sheetfns functions --stub --write`; do not change it by hand.
#
# A call on single cells gives a single result; None stands for a blank cell. A call on a column
# gives an array: float64 with NaN for blanks, or objects where a row is a text or a CellError. A
# figure that is not a number (NaN) counts as blank, which no type can show.
#
# The last way to call a function takes what the ways above it take; the first that fits counts.
# mypy: disable-error-code="overload-overlap"

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal
from typing import Any, Protocol, TypeAlias, TypeVar, overload

import numpy as np
from numpy.typing import NDArray

from sheetfns.errors import CellError as CellError
from sheetfns.registry import REGISTRY as REGISTRY

__all__ = ["REGISTRY", "CellError", "__version__"]
__version__: str

class _HasToNumpy(Protocol):
    """A column or table of pandas, or of a library like it."""

    def to_numpy(self) -> NDArray[Any]: ...

_T = TypeVar("_T")
# One kind of sequence, of cells or rows: of two, a checker could not tell what a list is to hold.
_Range: TypeAlias = Sequence[_T | Sequence[_T | None] | None] | _HasToNumpy

_Number: TypeAlias = float | Decimal | np.floating[Any] | np.integer[Any]
_Date: TypeAlias = dt.date | np.datetime64 | _Number
_Text: TypeAlias = str | _Date
_Flag: TypeAlias = bool | np.bool | str | _Number
_Value: TypeAlias = str | _Date
_Numeric: TypeAlias = np.floating[Any] | np.integer[Any]
_Numbers: TypeAlias = _Range[_Number] | NDArray[_Numeric | np.object_]
_Dates: TypeAlias = _Range[_Date] | NDArray[_Numeric | np.datetime64 | np.object_]
_Texts: TypeAlias = _Range[_Text] | NDArray[Any]
_Flags: TypeAlias = _Range[_Flag] | NDArray[_Numeric | np.bool | np.str_ | np.object_]
_Table: TypeAlias = (
    Sequence[Sequence[_Value | None]]
    | _HasToNumpy
    | NDArray[_Numeric | np.datetime64 | np.str_ | np.object_]
)
'''

_ONE_CELL: Final[dict[Holds, str]] = {
    "number": "_Number",
    "date": "_Date",
    "text": "_Text",
    "flag": "_Flag",
    "any": "_Value",
}
_RESULTS: Final[dict[Holds, str]] = {"number": "float", "date": "float", "text": "str", "flag": "bool"}
_WIDTH: Final = 100
_INDENT: Final = "    "


def stub() -> str:
    """The whole stub."""
    specs = sorted(REGISTRY.values(), key=lambda spec: spec.python_name)
    text = "".join([HEAD, "\n", *(_function(spec) for spec in specs)])
    return f"{text.rstrip()}\n"


def _function(spec: FunctionSpec) -> str:
    ways = list(_ways(spec))
    lines = []
    for number, (types, result) in enumerate(ways):
        if len(ways) > 1:
            lines.append("@overload\n")
        lines.append(_signature(spec, types, result, explained=number == 0))
    return "".join(lines)


def _ways(spec: FunctionSpec) -> Iterator[tuple[list[str], str]]:
    """Each way to call a function: the arguments' types and the result's."""
    if spec.returns.own_shape:
        yield from _single_ways(spec, "NDArray[np.object_]")
    elif spec.returns.takes_range:
        yield from _like_a_range(spec)
    else:
        yield from _single_ways(spec, _RESULTS[spec.returns.holds])
        if any(not argument.kind.takes_range for argument in spec.arguments):
            columns = [
                _blankable(one) if one.kind.takes_range else f"{_single(one)} | {_column(one.kind)} | None"
                for one in spec.arguments
            ]
            yield columns, "NDArray[Any]"


def _single_ways(spec: FunctionSpec, result: str) -> Iterator[tuple[list[str], str]]:
    """Single cells where cells go one by one; the result is blank if all that is needed is.

    A text may be "" and all cells of a range may be: only a figure or date is surely not blank.
    """
    if any(
        one.required and not one.kind.takes_range and one.kind.holds in ("number", "date") for one in spec.arguments
    ):
        yield [_filled(one) if one.required else _blankable(one) for one in spec.arguments], result
    yield [_blankable(one) for one in spec.arguments], f"{result} | None"


def _like_a_range(spec: FunctionSpec) -> Iterator[tuple[list[str], str]]:
    """A result of the size of the first range: one cell for one cell."""
    frame = next(one for one in spec.arguments if one.kind.takes_range)
    for frame_type, result in (
        (_ONE_CELL[frame.kind.holds], _RESULTS[spec.returns.holds]),
        (_column(frame.kind), "NDArray[np.float64]"),
    ):
        types = [frame_type if one is frame else _blankable(one) for one in spec.arguments]
        yield types, result


def _single(argument: Argument) -> str:
    return _ONE_CELL[argument.kind.holds]


def _column(kind: CellType) -> str:
    return f"{_ONE_CELL[kind.holds]}s"


def _filled(argument: Argument) -> str:
    """One cell; a whole range may be one cell too, and a table is rows."""
    if argument.kind.own_shape:
        return "_Table"
    one = _single(argument)
    return f"{one} | {_column(argument.kind)}" if argument.kind.takes_range else one


def _blankable(argument: Argument) -> str:
    return f"{_filled(argument)} | None"


def _signature(spec: FunctionSpec, types: list[str], result: str, *, explained: bool) -> str:
    given = inspect.signature(spec.body).parameters
    lines = [f"def {spec.python_name}(\n"]
    for argument, its_type in zip(spec.arguments, types, strict=True):
        default = "" if argument.required else f" = {_default(given[argument.name].default)}"
        lines.append(f"    {argument.name}: {its_type}{default},\n")
    if explained:
        lines.append(f") -> {result}:\n{_docstring(spec.help)}\n")
    else:
        lines.append(f") -> {result}: ...\n")
    return "".join(lines)


def _docstring(text: str) -> str:
    # Programs to write code in show it; the function itself they cannot find.
    lines = textwrap.wrap(f'"""{text}', _WIDTH - len(_INDENT + '"""'))
    end = '"""' if len(lines) == 1 else '\n"""'
    return textwrap.indent("\n".join(lines) + end, _INDENT) + "\n"


def _default(given: object) -> str:
    """The default as it is; one that stands for nothing is a blank cell."""
    if isinstance(given, str):
        return json.dumps(given, ensure_ascii=False)
    return "None" if isinstance(given, float) and not math.isfinite(given) else repr(given)
