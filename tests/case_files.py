"""Reads tests/cases/<function>.csv: the same cases are run through every host.

A file has a column per argument, in the function's order, then `expected`, `source` and `why`. The name
that an argument had before is understood.

* A blank cell is a blank cell of a spreadsheet (and an argument that is left out).
* `1000;5000` is a range of two cells, `1000;` a range of a filled and a blank cell. An argument that
  takes a whole range is always read as one. In a table `|` stands between the rows.
* `'4.50` is text, as in a spreadsheet; TRUE and FALSE are yes and no; the rest are numbers.
* `expected` is a number, a quotient of two (5000/13, where decimals never end), a text, a range, an
  error code such as #NUM!, or blank; `|` stands between rows of a range. A quotient and a number are
  worked out by hand; `why` shows how.
* `why` begins with ordinary, edge, blank or error. A function needs each of these sorts, and six
  cases in all.

A line that breaks a rule is left out and is a fault, which tests/functions/test_cases.py fails for by file and
line; so one slip in a file does not keep the tests of all others from being collected.
"""

from __future__ import annotations

import csv
import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

from sheetfns import REGISTRY, former_names
from sheetfns.cell_types import CellType, date_in_text, date_number
from sheetfns.errors import CODES, CellError
from sheetfns.registry import FunctionSpec

CASES = Path(__file__).parent / "cases"
SORTS = ("ordinary", "edge", "blank", "error")
LEAST_CASES = 6
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?", re.IGNORECASE)
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


@dataclass(frozen=True)
class CaseFile:
    """What a file holds: its good lines, and what is wrong with the others or with the whole."""

    cases: list[Case] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)


class _UnreadableError(Exception):
    """A cell cannot be read: what stands there, and what to write instead."""


def load_cases(functions: Iterable[str] | None = None) -> list[Case]:
    """All cases of the named functions, or of every function that has a file."""
    wanted = REGISTRY if functions is None else functions
    return [case for name in wanted for case in read_case_file(REGISTRY[name]).cases]


def faults_of_case_files() -> list[str]:
    """Everything that is wrong in tests/cases, by file and line."""
    faults = [fault for spec in REGISTRY.values() for fault in read_case_file(spec).faults]
    known = {path_of(name) for name in REGISTRY}
    faults += [
        f"{_shown(path)}: is not named after a function; name it as in Python, ending in .csv"
        for path in sorted(CASES.iterdir())
        if path not in known
    ]
    return faults


def path_of(function: str) -> Path:
    """Where a function's cases stand."""
    return CASES / f"{REGISTRY[function].python_name}.csv"


def read_case_file(spec: FunctionSpec) -> CaseFile:
    """A function's cases and what is wrong with them; nothing of it is raised."""
    path = path_of(spec.name)
    names = [argument.name for argument in spec.arguments]
    headers = [*names, "expected", "source", "why"]
    found = CaseFile()
    try:
        with path.open(newline="", encoding="utf-8-sig") as file:
            # Strict: a quote that is never closed would else swallow the lines below it.
            rows = csv.reader(file, strict=True)
            header = [former_names.argument_now(name, names) for name in next(rows, [])]
            wrong = _wrong_header(header, headers)
            if wrong:
                found.faults.append(f"{_shown(path)}, line 1: {wrong}")
                return found
            for cells in filter(None, rows):
                where = f"{_shown(path)}, line {rows.line_num}"
                case, faults = _read_line(spec, headers, cells, rows.line_num)
                found.faults.extend(f"{where}: {fault}" for fault in faults)
                if case is not None and not faults:
                    found.cases.append(case)
    except FileNotFoundError:
        found.faults.append(f"{_shown(path)}: is missing; write {spec.name}'s cases into it")
        return found
    except UnicodeDecodeError as error:
        found.faults.append(f"{_shown(path)}: is not UTF-8 ({error.reason}); save it as UTF-8")
    except csv.Error as error:
        line = f"{_shown(path)}, line {rows.line_num}"
        found.faults.append(f"{line}: {error}; fix the quotes, a quote in a cell is written twice")
    if not found.faults:
        found.faults.extend(f"{_shown(path)}: {fault}" for fault in _faults_of_all(found.cases))
    return found


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


def _shown(path: Path) -> str:
    return f"tests/cases/{path.name}"


def _wrong_header(header: list[str], wanted: list[str]) -> str:
    missing = [name for name in wanted if name not in header]
    unknown = [name for name in header if name not in wanted]
    if missing or unknown:
        said = [f"lacks {' and '.join(missing)}"] if missing else []
        said += [f"has {name!r}, which is no argument" for name in unknown]
        return f"{'; '.join(said)}; the columns are {','.join(wanted)}"
    if header != wanted:
        return f"its columns are not in the order {','.join(wanted)}; put them so, once each"
    return ""


def _read_line(spec: FunctionSpec, headers: list[str], cells: list[str], line: int) -> tuple[Case | None, list[str]]:
    if len(cells) != len(headers):
        return None, [
            f"has {len(cells)} cells, not {len(headers)}; write each cell, a blank one too, and "
            "put one with a comma in quotes"
        ]
    row = dict(zip(headers, cells, strict=True))
    faults: list[str] = []
    arguments = {}
    for argument in spec.arguments:
        try:
            arguments[argument.name] = _cells(row[argument.name], argument.kind)
        except _UnreadableError as wrong:
            faults.append(f"{argument.name}: {wrong}")
    expected = None
    try:
        expected = _expected(row["expected"])
    except _UnreadableError as wrong:
        faults.append(f"expected: {wrong}")
    case = Case(spec.name, arguments, expected, row["source"], row["why"], line)
    if not case.source.strip():
        faults.append("source: is blank; write where the figures are from, or definition")
    if case.sort not in SORTS:
        sorts = f"{', '.join(SORTS[:-1])} or {SORTS[-1]}"
        faults.append(f"why: begins with none of {sorts}; write 'ordinary: ...', say")
    elif not faults and (case.sort == "error") != case.is_error():
        faults.append(
            "why: an error is expected, so it begins with error"
            if case.is_error()
            else f"expected: is no error code, as why says; write one of {' '.join(CODES)}"
        )
    elif not faults and case.sort == "blank" and case.expected is not None:
        faults.append("expected: is not blank, as why says; leave it out")
    return case, faults


def _faults_of_all(cases: list[Case]) -> Iterator[str]:
    """What is wrong with a file whose every line is right."""
    first: dict[str, int] = {}
    for case in cases:
        line = first.setdefault(str(case.arguments), case.line)
        if line != case.line:
            yield f"line {case.line} is the same case as line {line}; change it or take it out"
    sorts = Counter(case.sort for case in cases)
    for sort in SORTS:
        if not sorts[sort]:
            yield f"lacks a case whose why begins with {sort}; add one"
    if len(cases) < LEAST_CASES:
        yield f"has {len(cases)} cases; write at least {LEAST_CASES}"


def _cells(text: str, kind: CellType) -> Any:
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
    return _number(text)


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
        if not Fraction(lower):
            raise _UnreadableError(f"{text} divides by 0; write another quotient")
        return float(Fraction(upper) / Fraction(lower))
    if text.startswith("#"):
        raise _UnreadableError(f"{text} is no error code; write one of {' '.join(CODES)}")
    return _number(text)


def _number(text: str) -> float:
    if _NUMBER.fullmatch(text):
        number = float(text)
        if math.isfinite(number):
            return number
    day = date_in_text(text)
    if day is not None:
        raise _UnreadableError(f"{text} is not a number; write {date_number(day):g}, its date number")
    raise _UnreadableError(f"{text} is not a number; write '{text} for a text")
