"""The cases of tests/cases through plain Python, the headless engine and LibreOffice."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

import sheetfns
from sheetfns import REGISTRY, CellError
from sheetfns.calling import evaluate
from sheetfns.hosts import engine
from tests import libreoffice
from tests.case_books import FORMULA_COLUMNS, is_blank, rows_of, write_cases
from tests.case_files import Case, agrees, faults_of_case_files, load_cases

ALL = load_cases()
each_case = pytest.mark.parametrize("case", ALL, ids=str)


def test_the_case_files_keep_their_rules() -> None:
    """A line that breaks one is in no other test."""
    faults = faults_of_case_files()
    if faults:
        pytest.fail("\n".join(faults), pytrace=False)


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
    while cells and is_blank(cells[-1]) and not case.spec.arguments[len(cells) - 1].required:
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


def test_in_the_headless_engine(tmp_path: Path) -> None:
    path = tmp_path / "cases.xlsx"
    write_cases(path, ALL, lambda case, cells: case.spec.call_formula(cells))
    result = engine.recalculate(path)
    wrong = []
    for case, row in rows_of(ALL):
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
    """Only figures and texts: an ordinary formula has no limits and takes a blank as 0."""
    cases = [case for case in ALL if case.spec.formula and case.expected is not None and not case.is_error()]
    path = tmp_path / "cases.xlsx"
    write_cases(path, cases, lambda case, cells: case.spec.filled_formula(cells))
    book = openpyxl.load_workbook(libreoffice.recalculate(path, tmp_path / "out"), data_only=True)
    wrong = []
    for case, row in rows_of(cases):
        for column in FORMULA_COLUMNS:
            found = book[case.function].cell(row, column + 1).value
            if not agrees(case.expected, found):
                wrong.append(f"{case}: {found}, not {case.expected} ({case.why})")
    assert not wrong, "\n".join(wrong)
    assert {case.function for case in cases} == {spec.name for spec in REGISTRY.values() if spec.formula}
