"""The cases of tests/cases through plain Python, the headless engine and LibreOffice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import xlsxwriter
from xlsxwriter.utility import xl_range_abs

import sheetfns
from sheetfns import REGISTRY, CellError
from sheetfns.calling import evaluate
from sheetfns.hosts import engine
from tests import libreoffice
from tests.case_files import CASES, SORTS, Case, agrees, load_cases

ALL = load_cases()
each_case = pytest.mark.parametrize("case", ALL, ids=str)


@pytest.mark.parametrize("name", list(REGISTRY))
def test_every_function_has_its_cases(name: str) -> None:
    cases = load_cases([name])
    sorts = Counter(case.sort for case in cases)
    assert set(sorts) <= set(SORTS)
    assert sum(sorts.values()) >= 6
    assert all(sorts[sort] for sort in SORTS), f"{name} lacks a sort of case: {dict(sorts)}"
    assert all(case.source for case in cases)
    for case in cases:
        assert (case.sort == "error") == case.is_error(), case
        assert (case.sort == "blank") <= (case.expected is None), case
    seen = [str(case.arguments) for case in cases]
    assert len(set(seen)) == len(seen), "the same case stands twice"


def test_no_case_file_is_without_a_function() -> None:
    assert {path.stem.upper() for path in CASES.iterdir()} == set(REGISTRY)


def in_python(case: Case) -> Any:
    try:
        return getattr(sheetfns, case.spec.python_name)(**case.arguments)
    except CellError as error:
        return error


@each_case
def test_in_python(case: Case) -> None:
    found = in_python(case)
    assert agrees(case.expected, found), f"{case.why}: {found}"


@each_case
def test_in_python_with_the_last_arguments_left_out(case: Case) -> None:
    cells = list(case.arguments.values())
    while cells and _blank(cells[-1]) and not case.spec.arguments[len(cells) - 1].required:
        cells.pop()
    found = evaluate(case.spec, cells).cells()
    assert agrees(case.expected, found), f"{case.why}: {found}"


@each_case
def test_an_error_says_which_argument_and_what_to_do(case: Case) -> None:
    found = in_python(case)
    if not isinstance(found, CellError):
        assert not case.is_error()
        return
    names = [argument.name for argument in case.spec.arguments]
    assert any(name in found.message for name in names), found.message
    assert len(found.message) <= 255


def _blank(cells: Any) -> bool:
    return cells is None or (isinstance(cells, list) and all(map(_blank, cells)))


FORMULA_COLUMNS = (0, 8)
"""Results of whole ranges need room; none in the cases has more than seven cells."""
FIRST_INPUT = 16

Formulas = Callable[[Case, dict[str, str]], str]


def _write_cases(path: Path, cases: list[Case], formulas: Formulas) -> None:
    """A sheet per function, a row per case: its formula, with blanks referred to and left out."""
    book = xlsxwriter.Workbook(path)
    names = list(dict.fromkeys(case.function for case in cases))
    sheets = {name: book.add_worksheet(name) for name in names}
    tables = _Inputs(book.add_worksheet("Tables"))
    for case, row in _rows(cases):
        sheet = sheets[case.function]
        inputs = _Inputs(sheet, row - 1, FIRST_INPUT)
        references = {
            argument.name: (
                f"Tables!{tables.write(cells, below=True)}"
                if argument.kind.own_shape
                else inputs.write([cells if isinstance(cells, list) else [cells]])
            )
            for argument, cells in zip(case.spec.arguments, case.arguments.values(), strict=True)
        }
        needed = references.copy()
        for argument in reversed(case.spec.arguments):
            if argument.required or not _blank(case.arguments[argument.name]):
                break
            del needed[argument.name]
        for column, used in zip(FORMULA_COLUMNS, (references, needed), strict=True):
            # -99 is what stays if a formula is never calculated.
            sheet.write_formula(row - 1, column, f"={formulas(case, used)}", value=-99)
    book.close()


class _Inputs:
    """Writes blocks of cells one after the other and says where they stand."""

    def __init__(
        self, sheet: xlsxwriter.worksheet.Worksheet, row: int = 0, column: int = 0
    ) -> None:
        self.sheet, self.row, self.column = sheet, row, column

    def write(self, block: list[list[Any]], *, below: bool = False) -> str:
        height, width = len(block), len(block[0])
        for row, cells in enumerate(block, self.row):
            for place, cell in enumerate(cells, self.column):
                if isinstance(cell, str):
                    self.sheet.write_string(row, place, cell)
                elif cell is not None:
                    self.sheet.write(row, place, cell)
        last = (self.row + height - 1, self.column + width - 1)
        cells = xl_range_abs(self.row, self.column, *last)
        if below:
            self.row += height
        else:
            self.column += width
        return cells


def _rows(cases: list[Case]) -> list[tuple[Case, int]]:
    """Each case with the first of its rows; a result of several rows needs as many."""
    used: Counter[str] = Counter()
    numbered = []
    for case in cases:
        numbered.append((case, used[case.function] + 1))
        used[case.function] += len(case.rows)
    return numbered


def test_in_the_headless_engine(tmp_path: Path) -> None:
    path = tmp_path / "cases.xlsx"
    _write_cases(path, ALL, lambda case, cells: case.spec.call_formula(cells))
    result = engine.recalculate(path)
    wrong = []
    for case, row in _rows(ALL):
        for column in FORMULA_COLUMNS:
            found = [
                result.value(case.function, row + down, column + 1 + right)
                for down, cells in enumerate(case.rows)
                for right in range(len(cells))
            ]
            if not agrees(case.expected, found):
                wrong.append(f"{case}: {found}, not {case.expected} ({case.why})")
    assert not wrong, "\n".join(wrong)


@pytest.mark.libreoffice
def test_as_ordinary_formulas_in_libreoffice(tmp_path: Path) -> None:
    """Only figures: an ordinary formula has no limits of its own and takes a blank as 0."""
    cases = [case for case in ALL if case.spec.native and isinstance(case.expected, float)]
    path = tmp_path / "cases.xlsx"
    _write_cases(path, cases, lambda case, cells: case.spec.native_formula(cells))
    book = openpyxl.load_workbook(libreoffice.recalculate(path, tmp_path / "out"), data_only=True)
    wrong = []
    for case, row in _rows(cases):
        for column in FORMULA_COLUMNS:
            found = book[case.function].cell(row, column + 1).value
            if not agrees(case.expected, found):
                wrong.append(f"{case}: {found}, not {case.expected} ({case.why})")
    assert not wrong, "\n".join(wrong)
    assert {case.function for case in cases} == {
        spec.name for spec in REGISTRY.values() if spec.native
    }
