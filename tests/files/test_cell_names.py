"""Names of columns and cells, there and back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheetfns.files.cell_names import cell_name, column_letters, column_number


@pytest.mark.parametrize(
    ("number", "letters"), [(0, "A"), (25, "Z"), (26, "AA"), (701, "ZZ"), (702, "AAA"), (16383, "XFD")]
)
def test_columns(number: int, letters: str) -> None:
    assert column_letters(number) == letters
    assert column_number(letters) == number


@given(st.integers(0, 16383))
def test_there_and_back(number: int) -> None:
    assert column_number(column_letters(number)) == number


def test_a_cell_counts_from_1() -> None:
    assert cell_name(1, 1) == "A1"
    assert cell_name(12, 27) == "AA12"
