"""What LibreOffice's add-in interface hands over, and what it is given back."""

from __future__ import annotations

import math
import struct
from typing import Any

import pytest

from sheetfns import REGISTRY
from sheetfns.errors import CODES
from sheetfns.hosts import calc
from sheetfns.hosts.calc import ERROR_NUMBERS, answer, error_float
from tests.case_files import Case, agrees, load_cases

CODE_OF = {number: code for code, number in ERROR_NUMBERS.items()}


def code_in(cell: Any) -> Any:
    """A cell as a person sees it: an error as its code."""
    if isinstance(cell, float) and math.isnan(cell):
        (bits,) = struct.unpack("<Q", struct.pack("<d", cell))
        return CODE_OF[bits & 0xFFFF]
    return cell


def delivered(cells: Any) -> Any:
    """An argument as the program hands it over: yes and no as numbers, a range as rows."""
    if not isinstance(cells, list):
        return float(cells) if isinstance(cells, bool) else cells
    rows = cells if isinstance(cells[0], list) else [cells]
    return tuple(tuple("" if cell is None else delivered(cell) for cell in row) for row in rows)


def with_yes_for_a_number(case: Case) -> bool:
    """A case about yes or no in the place of a number: here they arrive as numbers."""
    return any(isinstance(case.arguments[one.name], bool) and one.kind.holds == "number" for one in case.spec.arguments)


CASES = [case for case in load_cases() if not with_yes_for_a_number(case)]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_cases_as_the_program_hands_them_over(case: Case) -> None:
    cells = [delivered(case.arguments[one.name]) for one in case.spec.arguments]
    needed = [
        "" if cell is None and one.required else cell for cell, one in zip(cells, case.spec.arguments, strict=True)
    ]
    rows = answer(case.function, needed)
    assert all(type(cell) in (float, str) for row in rows for cell in row)
    found = [[code_in(cell) for cell in row] for row in rows]
    assert agrees(case.expected, found), found


@pytest.mark.parametrize("code", CODES)
def test_an_error_is_no_number_and_carries_its_code(code: str) -> None:
    made = error_float(code)
    assert math.isnan(made)
    assert math.isnan(made + 1)
    assert code_in(made) == code


def test_one_bad_row_of_a_column() -> None:
    column = ((10.0,), (-1.0,), ("",), (12.0,))
    found = answer("LANDED_COST", [column, None, None, None])
    assert [code_in(cell) for (cell,) in found] == [10.0, "#NUM!", "", 12.0]


def test_a_fault_is_an_error_and_no_exception(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: Any) -> Any:
        raise RuntimeError("broken")

    monkeypatch.setattr(calc, "single_figure", fails)
    assert code_in(answer("LANDED_COST", [1.0])[0][0]) == "#VALUE!"
    assert code_in(answer("NO_SUCH_NAME", [1.0])[0][0]) == "#VALUE!"


def test_too_many_arguments() -> None:
    cells = [1.0] * (len(REGISTRY["LANDED_COST"].arguments) + 1)
    assert code_in(answer("LANDED_COST", cells)[0][0]) == "#VALUE!"
