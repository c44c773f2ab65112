"""The cases of tests/cases through plain Python, the headless engine and LibreOffice."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest

import sheetfns
from sheetfns import REGISTRY, CellError
from sheetfns.calling import evaluate
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
    return cells is None or (isinstance(cells, list) and all(cell is None for cell in cells))
