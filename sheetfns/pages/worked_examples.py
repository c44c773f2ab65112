"""The examples of the docstrings as a person has them in a workbook: cells, formula and result.

An example is written once, as a call in Python that doctest runs. Here the call is read, its lists
get cells, and a cell formula is made of it.
"""

from __future__ import annotations

import ast
import datetime as dt
import doctest
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from sheetfns import calling
from sheetfns.cell_types import (
    COST,
    COUNT,
    DATE,
    MONEY,
    QUANTITY,
    RATIO,
    TEXT,
    WEIGHT,
    CellType,
    date_of_number,
    read_cell,
)
from sheetfns.errors import DeclarationError
from sheetfns.registry import Argument, FunctionSpec

FIRST_ROW: Final = 2
"""Row 1 of a sheet is for headers."""
CELLS_OF_A_ROW: Final[Mapping[str, tuple[tuple[str, CellType], ...]]] = {
    "COMP_SPREAD": (
        ("low", MONEY),
        ("median", MONEY),
        ("high", MONEY),
        ("used", COUNT),
        ("excluded", COUNT),
        ("remark", TEXT),
    ),
    "ESTIMATE_BIAS": (
        ("pairs used", COUNT),
        ("mean error", WEIGHT),
        ("share underestimated", RATIO),
        ("allowance", WEIGHT),
    ),
    "GROWTH_ODDS": (
        ("week", COUNT),
        ("low", MONEY),
        ("median", MONEY),
        ("high", MONEY),
        ("chance of full pay", RATIO),
        ("remark", TEXT),
    ),
    "GROWTH_PATH": (("cash", MONEY), ("inventory at cost", COST), ("pay taken", COST), ("owed", COST)),
    "RECEIPTS_GAP": (("gap", MONEY), ("gross by your log", COST), ("receipts", COST), ("remark", TEXT)),
    "INVENTORY_FOR_PAY": (("items to sell", QUANTITY), ("items listed", QUANTITY), ("their cost", COST)),
    "TAX_SET_ASIDE": (("to set aside, then each payment", COST), ("due date", DATE)),
    "YEAR_TOTALS": (("line", TEXT), ("total", MONEY)),
}
"""Header and kind of each cell, for functions whose result is rows of different things."""


@dataclass(frozen=True)
class Shown:
    """A formula and what its cells show, row by row; a row of one cell for a single figure."""

    formula: str
    rows: list[list[str]]


@dataclass
class Example:
    """One call of a docstring as a person has it in a workbook."""

    typed: list[tuple[str, list[str]]] = field(default_factory=list)
    """Cells, such as A2:A4, and what is typed into them."""
    calls: list[Shown] = field(default_factory=list)
    """One formula, or one for each row where it is copied down."""
    ordinary: Shown | None = None
    """The first of them without the function."""
    headers: list[str] = field(default_factory=list)
    """Of a result of several cells beside each other."""


def examples(spec: FunctionSpec) -> list[Example]:
    """The calls in a function's docstring, in their order, as a person has them in a workbook.

    Args:
        spec: the function.

    Errors:
        DeclarationError: a call uses something that has no place in a cell.
    """
    known: dict[str, Any] = {}
    found = []
    for step in doctest.DocTestParser().get_examples(spec.sections["Examples"]):
        for statement in ast.parse(step.source).body:
            for call, picked in _calls(spec, statement):
                positional = [_value(spec, node, known) for node in call.args]
                names = [argument.name for argument in spec.arguments]
                given = dict(zip(names, positional, strict=False))
                for keyword in call.keywords:
                    given[str(keyword.arg)] = _value(spec, keyword.value, known)
                found.append(_in_cells(spec, given, picked))
            match statement:
                case ast.Assign(targets=[ast.Name(id=name)], value=value) if not any(_calls(spec, statement)):
                    known[name] = _value(spec, value, known)
    return found


_Picked = tuple[int, int] | None
"""Row and column, counted from 1, of the one cell that an example takes out of a result."""


def _calls(spec: FunctionSpec, node: ast.AST) -> Iterator[tuple[ast.Call, _Picked]]:
    """Every call of the function in a statement, and which cell of its result is looked at."""
    match node:
        case (
            ast.Subscript(
                value=ast.Subscript(value=result, slice=ast.Constant(value=int(row))),
                slice=ast.Constant(value=int(column)),
            )
            | ast.Subscript(
                value=result, slice=ast.Tuple(elts=[ast.Constant(value=int(row)), ast.Constant(value=int(column))])
            )
        ):
            for call, _ in _calls(spec, result):
                yield call, (row + 1, column + 1)
        case ast.Call(func=ast.Name(id=spec.python_name)):
            yield node, None
        case _:
            for child in ast.iter_child_nodes(node):
                yield from _calls(spec, child)


def _value(spec: FunctionSpec, node: ast.AST, known: Mapping[str, Any]) -> Any:
    """What stands for an argument: figures, texts, dates and lists of them."""
    match node:
        case ast.Constant(value=value):
            return value
        case ast.List(elts=parts):
            return [_value(spec, part, known) for part in parts]
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_value(spec, operand, known)
        case ast.BinOp(left=ast.List() as cells, op=ast.Mult(), right=ast.Constant(value=times)):
            return _value(spec, cells, known) * times
        case ast.Call(func=ast.Attribute(attr="date"), args=parts):
            return dt.date(*(_value(spec, part, known) for part in parts))
        case ast.Name(id=name) if name in known:
            return known[name]
    raise DeclarationError(f"{spec.name}: {ast.unparse(node)} in an example has no cell formula")


def _in_cells(spec: FunctionSpec, given: Mapping[str, Any], picked: _Picked) -> Example:
    """Lists go into columns of their own; where a function works cell by cell, a formula for each.

    Args:
        spec: the function.
        given: the arguments by name.
        picked: the one cell of the result that is shown; None for all of it.
    """
    last = max(i for i, argument in enumerate(spec.arguments) if argument.name in given)
    arguments = spec.arguments[: last + 1]
    cells = [given.get(argument.name, calling.MISSING) for argument in arguments]
    results = calling.evaluate(spec, cells).cells()
    apart = [
        isinstance(cell, list) and not argument.kind.takes_range
        for argument, cell in zip(arguments, cells, strict=True)
    ]
    height = len(results) if any(apart) else 1
    example = Example()
    texts: list[dict[str, str]] = [{} for _ in range(height)]
    column = 0
    for argument, cell, is_apart in zip(arguments, cells, apart, strict=True):
        if not isinstance(cell, list):
            text = _in_formula(argument, cell)
            for row in texts:
                row[argument.name] = text
            continue
        block = cell if isinstance(cell[0], list) else [[one] for one in cell]
        area = _type_in(example, argument.kind, block, column)
        column += max(map(len, block))
        for place, row in enumerate(texts):
            one = f"{area[0]}{FIRST_ROW + place}"
            whole = re.sub(r"([A-Z]+)(\d+)", r"$\1$\2", area) if height > 1 else area
            row[argument.name] = one if is_apart else whole
    headers = dict(CELLS_OF_A_ROW.get(spec.name, (("", spec.returns),)))
    if spec.returns.own_shape and spec.name not in CELLS_OF_A_ROW:
        raise DeclarationError(f"{spec.name}: its result needs headers in CELLS_OF_A_ROW")
    shown = [[_result(kind, cell) for kind, cell in zip(headers.values(), row, strict=True)] for row in results]
    for place, row in enumerate(texts):
        call = spec.call_formula(row)
        rows = [shown[place]] if any(apart) else shown
        if picked is not None:
            call = f"INDEX({call},{picked[0]},{picked[1]})"
            rows = [[shown[picked[0] - 1][picked[1] - 1]]]
        example.calls.append(Shown(f"={call}", rows))
    if len(headers) > 1 and picked is None:
        example.headers = list(headers)
    if spec.formula is not None:
        formula = spec.filled_formula({name: texts[0][name] for name in given})
        # A percentage or a date needs no brackets of its own.
        formula = re.sub(r"(?<![\w.])\((\d[\d.]*%|DATE\([^()]*\))\)", r"\1", formula)
        example.ordinary = Shown(f"={formula}", example.calls[0].rows)
    return example


def _type_in(example: Example, kind: CellType, block: list[list[Any]], column: int) -> str:
    """Note what is typed into a block of cells; gives the block's address."""
    height, width = len(block), max(map(len, block))
    first, last = chr(ord("A") + column), chr(ord("A") + column + width - 1)
    lines = [[row[0] for row in block]] if width == 1 else block
    for place, line in enumerate(lines):
        top = FIRST_ROW + place
        bottom = top + height - 1 if width == 1 else top
        one_cell = (first, top) == (last, bottom)
        cells = f"{first}{top}" if one_cell else f"{first}{top}:{last}{bottom}"
        example.typed.append((cells, [_cell(kind, cell) for cell in line]))
    end = f"{last}{FIRST_ROW + height - 1}"
    return end if (height, width) == (1, 1) else f"{first}{FIRST_ROW}:{end}"


def _cell(kind: CellType, cell: Any) -> str:
    return "(blank)" if cell is None else f"`{typed(kind, cell)}`"


def typed(kind: CellType, cell: Any) -> str:
    """What a person types into a cell.

    Args:
        kind: what the cell is to hold.
        cell: a figure, a text, a date (or its number) or a flag.

    Errors:
        CellError: a flag that is neither yes nor no.
    """
    if kind.holds == "date" and isinstance(cell, (int, float)):
        cell = date_of_number(cell)
    if isinstance(cell, dt.date):
        return cell.isoformat()
    if kind.holds == "flag":
        return "yes" if read_cell(kind, "a flag", cell) else "no"
    if isinstance(cell, str):
        # A spreadsheet makes a number of figures unless they are marked as text.
        return f"'{cell}" if re.fullmatch(r"[\d.]+", cell) else cell
    if kind.unit == "%":
        return f"{100 * cell:.12g}%"
    return f"{cell:.15g}"


def _in_formula(argument: Argument, cell: Any) -> str:
    """What stands for an argument within a formula."""
    if cell is calling.MISSING:
        return argument.default_in_formula()
    text = typed(argument.kind, cell)
    if argument.kind.holds == "date":
        day = dt.date.fromisoformat(text)
        return f"DATE({day.year},{day.month},{day.day})"
    if isinstance(cell, str) or argument.kind.holds == "flag":
        bare = cell if isinstance(cell, str) else text
        return '"' + bare.replace('"', '""') + '"'
    return text


def _result(kind: CellType, cell: Any) -> str:
    """A result as its cell shows it."""
    if cell is None or cell == "":
        return "(blank)"
    if isinstance(cell, str):
        return " and on a new line ".join(f"`{line}`" for line in cell.split("\n"))
    if kind.holds == "date":
        return date_of_number(cell).isoformat()
    percent = kind.cell_format.endswith("%")
    decimals = len(kind.cell_format.rstrip("%").partition(".")[2])
    text = f"{cell * 100 if percent else cell:,.{decimals}f}"
    return f"{text}%" if percent else text
