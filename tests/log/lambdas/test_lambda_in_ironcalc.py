"""The LAMBDA names of a whole log in IronCalc, which knows LAMBDA, LET and what is left out.

A second engine, for which nothing of ours was made, reads the names as they stand in the file.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import ironcalc
import pytest
from xlsxwriter.utility import xl_range

from sheetfns import REGISTRY, CellError
from sheetfns.log.lambdas.names import lambda_specs
from sheetfns.log.write.build import build_log
from sheetfns.registry import FunctionSpec
from tests.case_files import agrees
from tests.log.filled_logs import few_rows
from tests.log.lambdas.lambda_rows import Arguments, Rows, block_of, found_in, left_out, of_cases, rows_of_each, same

SPECS = lambda_specs()
each = pytest.mark.parametrize("spec", SPECS, ids=lambda spec: spec.name)
CALLS = (1, 9)
"""Columns with calls: every argument referred to, and the last blank ones left out."""
FIRST_INPUT = 17


class _Typed:
    """A sheet of the log into which calls are typed, each beside the cells that it refers to."""

    def __init__(self, model: ironcalc.Model, sheet: int) -> None:
        self.model, self.sheet, self.next = model, sheet, 1

    def call(self, spec: FunctionSpec, row: Arguments) -> int:
        """Types a row's inputs and its calls; gives the row of the calls."""
        place, column, references = self.next, FIRST_INPUT, {}
        for argument in spec.arguments:
            block = block_of(row[argument.name])
            height, width = len(block), len(block[0])
            for down, line in enumerate(block):
                for right, cell in enumerate(line):
                    self._type(place + down, column + right, cell)
            references[argument.name] = xl_range(place - 1, column - 1, place + height - 2, column + width - 2)
            column += width
            self.next = max(self.next, place + height)
        needed = {name: cells for name, cells in references.items() if name not in left_out(spec, row)}
        for first, used in zip(CALLS, (references, needed), strict=True):
            self.model.set_user_input(self.sheet, place, first, f"={spec.call_formula(used)}")
        return place

    def _type(self, row: int, column: int, cell: Any) -> None:
        if isinstance(cell, CellError):
            self.model.set_user_input(self.sheet, row, column, "=1/0")
        elif isinstance(cell, bool):
            self.model.update_cell_with_bool(self.sheet, row, column, cell)
        elif isinstance(cell, str):
            if cell:
                self.model.update_cell_with_text(self.sheet, row, column, cell)
            else:
                self.model.set_user_input(self.sheet, row, column, '=""')
        elif cell is not None:
            self.model.update_cell_with_number(self.sheet, row, column, cell)

    def shown(self, place: int, expected: Any) -> list[Any]:
        """What the calls of a row show, errors as their codes; a row spills to the right."""
        width = len(expected) if isinstance(expected, list) else 1
        lines = [
            [self.model.get_cell_value(self.sheet, place, first + right) for right in range(width)] for first in CALLS
        ]
        return [found_in(expected, line) for line in lines]


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    with few_rows():
        return build_log(tmp_path_factory.mktemp("log") / "log.xlsx", "lambda", rows=5)


def _in_log(log: Path, rows: Rows) -> dict[str, list[list[Any]]]:
    """What the calls of each function's rows show, typed on a new sheet of the log."""
    model = ironcalc.load_from_xlsx(str(log), "en", "UTC", "en")
    model.add_sheet("My calls")
    typed = _Typed(model, len(model.get_worksheets_properties()) - 1)
    places = {name: [typed.call(REGISTRY[name], row) for row, _ in of_function] for name, of_function in rows.items()}
    model.evaluate()
    return {
        name: [typed.shown(place, expected) for place, (_, expected) in zip(places[name], of_function, strict=True)]
        for name, of_function in rows.items()
    }


def test_every_case_agrees(log: Path) -> None:
    cases = {spec.name: of_cases(spec) for spec in SPECS}
    found = _in_log(log, cases)
    agreeing: Counter[str] = Counter()
    wrong = []
    for name, of_function in cases.items():
        for (row, expected), cells in zip(of_function, found[name], strict=True):
            agreeing[name] += sum(agrees(expected, cell) for cell in cells)
            if not all(agrees(expected, cell) for cell in cells):
                wrong.append(f"{name} {row}: {cells}, not {expected}")
    assert not wrong, f"{len(wrong)} rows\n" + "\n".join(wrong[:20])
    assert set(agreeing) == {spec.name for spec in SPECS}
    assert agreeing.total() >= 1_000


@pytest.fixture(scope="module")
def rows() -> Rows:
    return rows_of_each(SPECS)


@pytest.fixture(scope="module")
def found(log: Path, rows: Rows) -> dict[str, list[list[Any]]]:
    return _in_log(log, rows)


@each
def test_ranges_and_rows_at_random_agree(spec: FunctionSpec, rows: Rows, found: dict[str, list[list[Any]]]) -> None:
    wrong = [
        f"{row}: {cells}, Python {expected}"
        for (row, expected), cells in zip(rows[spec.name], found[spec.name], strict=True)
        if not all(same(expected, cell) for cell in cells)
    ]
    assert not wrong, f"{len(wrong)} of {len(found[spec.name])} rows\n" + "\n".join(wrong[:20])


AVOIDED = [
    ("COUNTIF of one cell", '=COUNTIF(A1,">1")', 1.0),
    ("COUNTIF with a range of criteria", '=SUMPRODUCT(COUNTIF(A1:A2,"<="&A1:A2))', 3.0),
    ("INDEX of a range of one cell", "=LAMBDA(cells,INDEX(cells,1))(A1:A1)", 5.0),
    ("ISNUMBER of a range", "=SUMPRODUCT(ISNUMBER(A1:A2)*1)", 2.0),
    ("a name that compares comparisons, as it drops their brackets", "=UNLIKE(A1,A2)", False),
    ("a parameter that bears a name of the workbook", "=LAMBDA(paid_in,paid_in+1)(A1)", 6.0),
]


@pytest.mark.parametrize(("what", "formula", "right"), AVOIDED, ids=[row[0] for row in AVOIDED])
def test_what_the_formulas_do_without(what: str, formula: str, right: Any) -> None:
    """Why some formulas are written as they are; what comes out right needs no care any more."""
    model = ironcalc.create("avoided", "en", "UTC", "en")
    model.update_cell_with_number(0, 1, 1, 5)
    model.update_cell_with_number(0, 2, 1, 7)
    model.new_defined_name("PAID_IN", None, "LAMBDA(cell,cell*2)")
    model.new_defined_name("UNLIKE", None, 'LAMBDA(one,other,(one<>"")<>(other<>""))')
    model.set_user_input(0, 3, 1, formula)
    model.evaluate()
    assert model.get_cell_value(0, 3, 1) != right, f"{what}: may be used again"
