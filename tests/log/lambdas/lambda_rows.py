"""Rows of arguments for the LAMBDA names, and what Python makes of each."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sheetfns import CellError
from sheetfns.calling import evaluate
from sheetfns.errors import DIVISION, VALUE
from sheetfns.log.lambdas.bodies import ROWS
from sheetfns.registry import FunctionSpec
from tests.case_files import load_cases
from tests.functions.test_formulas import draw_row

RANDOM_ROWS = 60
Arguments = dict[str, Any]
Rows = dict[str, list[tuple[Arguments, Any]]]
"""For each function rows of arguments, and the cell or the row of cells that they give."""


def rows_of_each(specs: list[FunctionSpec]) -> Rows:
    """The cases, a range for each argument that takes one cell, and rows at random."""
    return {
        spec.name: [
            *of_cases(spec),
            *_of_ranges(spec),
            *((row, _in_python(spec, row)) for row in _at_random(spec, RANDOM_ROWS)),
        ]
        for spec in specs
    }


def of_cases(spec: FunctionSpec) -> list[tuple[Arguments, Any]]:
    """Each case of single cells, and ranges where a range is wanted."""
    return [
        (case.arguments, case.expected)
        for case in load_cases([spec.name])
        if not any(
            isinstance(case.arguments[argument.name], list) and not argument.kind.takes_range
            for argument in spec.arguments
        )
    ]


ERROR = CellError(DIVISION, "a cell that it uses holds #DIV/0!")
SPOILED: list[Any] = [None, "", " ", "x", -1, -0.01, 0, 0.5, 1, 1.5, 2, 1e14, ERROR]
WORDS = ["", " ", "x", "UP", " nearest ", "*", ERROR]


def _price_list(rng: np.random.Generator) -> Arguments:
    zones: list[Any] = [["local", "far away", 3.0], [1.0, 2.0, "3"]][rng.integers(2)]
    table: list[list[Any]] = [[[None, "weight", 0.0, 100.0][rng.integers(4)], *zones]]
    weights = np.sort(rng.integers(1, 200, 4)) / 10
    table += [[float(weight), *(rng.integers(100, 900, 3) / 100)] for weight in weights]
    if rng.random() < 0.4:
        bad = [None, "x", -4.5, 0.0][rng.integers(4)]
        table[rng.integers(1, 5)][rng.integers(4)] = bad
    if rng.random() < 0.3:
        table.append([None] * 4)
    zone = [*zones, *zones, "Local", "2", " 3 ", 9.0, "no such"][rng.integers(11)]
    return {"weight": int(rng.integers(0, 220)) / 10, "zone": zone, "table": table}


def _steps(rng: np.random.Generator) -> Arguments:
    days = np.sort(rng.integers(0, 90, 3))
    table: list[list[Any]] = [[float(day), int(rng.integers(0, 100)) / 100] for day in days]
    if rng.random() < 0.4:
        bad = [None, "x", -4.0, 2.0][rng.integers(4)]
        table[rng.integers(3)][rng.integers(2)] = bad
    if rng.random() < 0.4:
        table.insert(0, ["from day", "off"])
    if rng.random() < 0.3:
        table.append([None, None])
    asking, floor = (int(cents) / 100 for cents in rng.integers(0, 9_000, 2))
    return {
        "asking": asking,
        "days_listed": int(rng.integers(0, 100)),
        "steps": table,
        "floor": None if rng.random() < 0.5 else floor,
    }


def _receipts(rng: np.random.Generator) -> Arguments:
    price, *parts = (float(cents) / 100 for cents in rng.integers(0, 90_000, 4))
    shipping, tax, refunds = (part if rng.random() < 0.7 else 0.0 for part in parts)
    left_out = [part for part in (shipping, tax, refunds) if rng.random() < 0.4]
    reported = price + shipping + tax - sum(left_out)
    if rng.random() < 0.3:
        reported += float(rng.integers(-9_000, 900_000)) / 100
    return {
        "reported_gross": max(0.0, round(reported, 2)),
        "price": price,
        "shipping": shipping,
        "tax_collected": tax,
        "refunds": refunds,
    }


def _at_random(spec: FunctionSpec, count: int, *, spoil: bool = True) -> list[Arguments]:
    """Rows, two thirds of them with one or two cells that are blank or wrong."""
    rng = np.random.default_rng([7, *spec.name.encode()])
    own = {"MARKDOWN_PRICE": _steps, "POSTAGE_COST": _price_list, "RECEIPTS_GAP": _receipts}.get(spec.name)
    rows = []
    for _ in range(count):
        row = own(rng) if own else draw_row(spec, rng)
        spoiled: set[str] = set()
        for _ in range(rng.integers(3) if spoil else 0):
            argument = spec.arguments[rng.integers(len(spec.arguments))]
            choice = WORDS if argument.kind.holds == "text" else SPOILED
            bad = choice[rng.integers(len(choice))]
            if argument.kind.own_shape or argument.name in spoiled:
                # Which of two faults in one range is shown differs: Python names the first cell.
                continue
            spoiled.add(argument.name)
            if argument.kind.takes_range:
                cells = list(row[argument.name])
                cells[rng.integers(len(cells))] = bad
                row[argument.name] = cells
            else:
                row[argument.name] = bad
        rows.append(row)
    return rows


def _of_ranges(spec: FunctionSpec) -> list[tuple[Arguments, Any]]:
    """A row for each argument that takes one cell, with two cells there."""
    refused = CellError(VALUE, "one cell is wanted")
    found = []
    for argument in spec.arguments:
        row = _at_random(spec, 1, spoil=False)[0]
        if not argument.kind.takes_range:
            row[argument.name] = [row[argument.name] or 1] * 2
            found.append((row, refused))
    return found


def _in_python(spec: FunctionSpec, row: Arguments) -> Any:
    """A cell, or the cells of a row."""
    (cells,) = evaluate(spec, list(row.values())).cells()
    return cells if len(cells) > 1 else cells[0]


def width_of(spec: FunctionSpec) -> int:
    """How many cells a result has."""
    return len(ROWS.get(spec.name, [""]))


def shown(cell: Any) -> Any:
    """A result as all programs have it: figure, error code, or "" for blank; a row as a list."""
    if isinstance(cell, list):
        return [shown(one) for one in cell]
    if isinstance(cell, CellError):
        return cell.code
    if cell is None:
        return ""
    return cell if isinstance(cell, str) else float(cell)


def found_in(expected: Any, cells: list[Any]) -> Any:
    """Of the cells that a call may fill those that it fills: one where it shows no row."""
    return cells if isinstance(expected, list) else cells[0]


def same(one: Any, other: Any) -> bool:
    one, other = shown(one), shown(other)
    if isinstance(one, list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, str) or isinstance(other, str):
        return bool(one == other)
    return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-7)


def block_of(cell: Any) -> list[list[Any]]:
    cells = cell if isinstance(cell, list) else [cell]
    return cells if isinstance(cells[0], list) else [[one] for one in cells]


def left_out(spec: FunctionSpec, row: Arguments) -> set[str]:
    """The blank arguments at the end, which need not be given."""
    found = set()
    for argument in reversed(spec.arguments):
        if argument.required or row[argument.name] not in (None, ""):
            break
        found.add(argument.name)
    return found
