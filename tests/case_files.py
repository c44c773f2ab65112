"""Reads tests/cases/<function>.csv: the same cases are run through every host.

A file has a column per argument, in the function's order, then `expected`, `source` and `why`.

* A blank cell is a blank cell of a spreadsheet (and an argument that is left out).
* `1000;5000` is a range of two cells, `1000;` a range of a filled and a blank cell. An argument that
  takes a whole range is always read as one. In a table `|` stands between the rows.
* `'4.50` is text, as in a spreadsheet; TRUE and FALSE are yes and no; the rest are numbers.
* `expected` is a number, a quotient of two (5000/13, where decimals never end), a text, a range, an
  error code such as #NUM!, or blank; `|` stands between rows of a range. A quotient and a number are
  worked out by hand; `why` shows how.
* `why` begins with ordinary, edge, blank or error.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from sheetfns import REGISTRY
from sheetfns.errors import CODES, CellError
from sheetfns.kinds import Kind
from sheetfns.registry import FunctionSpec

CASES = Path(__file__).parent / "cases"
SORTS = ("ordinary", "edge", "blank", "error")
_QUOTIENT = re.compile(r"^-?\d+(\.\d+)?/\d+(\.\d+)?$")


@dataclass(frozen=True)
class Case:
    """One row: `function` is the worksheet name, `line` the row's line in its file."""

    function: str
    arguments: dict[str, Any]
    expected: Any
    source: str
    why: str
    line: int

    @property
    def sort(self) -> str:
        """ordinary, edge, blank or error."""
        return self.why.partition(":")[0]

    @property
    def spec(self) -> FunctionSpec:
        return REGISTRY[self.function]

    @property
    def rows(self) -> list[list[Any]]:
        """What is expected, as rows of cells."""
        if not isinstance(self.expected, list):
            return [[self.expected]]
        return self.expected if isinstance(self.expected[0], list) else [self.expected]

    def is_error(self) -> bool:
        return isinstance(self.expected, str) and self.expected in CODES

    def __str__(self) -> str:
        return f"{self.function}-{self.line}-{self.sort}"


def load_cases(functions: Iterable[str] | None = None) -> list[Case]:
    """All cases of the named functions, or of every function that has a file."""
    names = [path.stem.upper() for path in sorted(CASES.glob("*.csv"))]
    wanted = names if functions is None else list(functions)
    return [case for name in wanted for case in _read_file(name)]


def agrees(expected: Any, found: Any) -> bool:
    """Whether a result is what a case expects: figures to 1e-9, errors by their code.

    A blank may come back as None, as "" or (in a column) as NaN; a range as a list, as rows of
    cells, or as an array.
    """
    if isinstance(found, CellError):
        return isinstance(expected, str) and expected == found.code
    if isinstance(expected, list):
        cells, wanted = _flat(found), _flat(expected)
        return len(cells) == len(wanted) and all(map(agrees, wanted, cells))
    cells = _flat(found)
    if len(cells) != 1:
        # A whole range may be blank.
        return expected is None and all(agrees(None, cell) for cell in cells)
    (cell,) = cells
    if isinstance(cell, CellError):
        return expected == cell.code
    if expected is None:
        return cell is None or cell == "" or (isinstance(cell, float) and math.isnan(cell))
    if isinstance(expected, str) or isinstance(cell, (str, bool)) or cell is None:
        return bool(expected == cell)
    return math.isclose(expected, float(cell), rel_tol=1e-12, abs_tol=1e-9)


def _flat(found: Any) -> list[Any]:
    if hasattr(found, "ravel"):
        return list(found.ravel().tolist())
    if isinstance(found, (list, tuple)):
        return [cell for part in found for cell in _flat(part)]
    return [found]


def _read_file(function: str) -> list[Case]:
    spec = REGISTRY[function]
    names = [argument.name for argument in spec.arguments]
    path = CASES / f"{spec.python_name}.csv"
    with path.open(newline="", encoding="utf-8") as file:
        rows = csv.DictReader(file)
        headers = [*names, "expected", "source", "why"]
        if rows.fieldnames != headers:
            raise ValueError(f"{path.name}: the columns are {rows.fieldnames}, not {headers}")
        return [
            Case(
                function=function,
                arguments={
                    argument.name: _cells(row[argument.name], argument.kind)
                    for argument in spec.arguments
                },
                expected=_expected(row["expected"]),
                source=row["source"],
                why=row["why"],
                line=rows.line_num,
            )
            for row in rows
        ]


def _cells(text: str, kind: Kind) -> Any:
    if kind.own_shape:
        return [[_cell(part) for part in row.split(";")] for row in text.split("|")]
    if ";" in text or kind.takes_range:
        return [_cell(part) for part in text.split(";")]
    return _cell(text)


def _cell(text: str) -> Any:
    text = text.strip()
    if not text:
        return None
    if text.startswith("'"):
        return text[1:]
    if text in ("TRUE", "FALSE"):
        return text == "TRUE"
    return float(text)


def _expected(text: str) -> Any:
    text = text.strip()
    if text in CODES:
        return text
    if "|" in text:
        return [[_expected(cell) for cell in row.split(";")] for row in text.split("|")]
    if ";" in text:
        return [_expected(part) for part in text.split(";")]
    if not text:
        return None
    if text.startswith("'"):
        return text[1:]
    if _QUOTIENT.match(text):
        upper, lower = text.split("/")
        return float(Fraction(upper) / Fraction(lower))
    return float(text)
