"""The headless engine: what it hands to the functions, and what it keeps."""

from __future__ import annotations

from pathlib import Path
from unittest import mock

import pytest
import xlsxwriter

from sheetfns import growth_odds
from sheetfns.functions import growth
from sheetfns.hosts import engine

HISTORY = [[10.0, 8.0, 12.0], [4.0, 5.0, -2.0], [20.0, 9.0, 40.0], [True, True, True]]


def workbook(path: Path, formulas: list[str]) -> Path:
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        for column, cells in enumerate(HISTORY):
            sheet.write_column(0, column, cells)
        for row, formula in enumerate(formulas):
            sheet.write_formula(row, 5, formula)
    return path


def test_cells_out_of_the_same_rows_read_their_columns_once(tmp_path: Path) -> None:
    """And a cell with another argument, or another column, does not get the rows of its neighbor."""
    call = "INDEX(GROWTH_ODDS(A1:A3,B1:B3,C1:C3,D1:D3,{starting_cash},6,2,1,0,9999,0,200),{row},{column})"
    wanted = [(500, 2, 2), (500, 6, 3), (500, 6, 4), (900, 6, 4), (500, 6, 4), (0, 6, 2)]
    formulas = [
        "=" + call.format(starting_cash=starting_cash, row=row, column=column) for starting_cash, row, column in wanted
    ]
    path = workbook(tmp_path / "odds.xlsx", formulas)
    with mock.patch.object(growth, "_history", wraps=growth._history) as reads:
        values = engine.recalculate(path)
    assert values.errors == []
    for place, (starting_cash, row, column) in enumerate(wanted, 1):
        odds = growth_odds(*HISTORY, starting_cash, 6, 2, 1, 0, 9999, paths=200)
        shown = values.value("Sheet1", place, 6)
        assert shown == pytest.approx(odds[row - 1, column - 1])
    assert reads.call_count < len(wanted)


def test_an_error_is_given_again_with_its_words(tmp_path: Path) -> None:
    call = "=INDEX(GROWTH_ODDS(A1:A3,B1:B3,C1:C3,D1:D3,500,{weeks}),1,2)"
    formulas = [call.format(weeks=weeks) for weeks in (0, 0, 4, 0)]
    values = engine.recalculate(workbook(tmp_path / "odds.xlsx", formulas))
    assert [error.cell for error in values.errors] == ["F1", "F2", "F4"]
    assert all("weeks: 0 is out of range" in str(error) for error in values.errors)
    assert isinstance(values.value("Sheet1", 3, 6), float)


def test_a_flag_does_not_get_the_rows_of_the_number_it_equals(tmp_path: Path) -> None:
    """TRUE equals 1 in Python; as starting cash or a rate it is refused, whatever was asked before it."""
    formulas = [
        "=INDEX(GROWTH_PATH(1,0.5,7,2),2,2)",
        "=INDEX(GROWTH_PATH(TRUE,0.5,7,2),2,2)",
        "=INDEX(GROWTH_PATH(1,1,7,2),2,2)",
        "=INDEX(GROWTH_PATH(1,TRUE,7,2),2,2)",
        "=INDEX(GROWTH_PATH(1,0.5,7,2),2,2)",
    ]
    values = engine.recalculate(workbook(tmp_path / "path.xlsx", formulas))
    assert [values.value("Sheet1", row, 6) for row in (1, 3, 5)] == [1.5, 2, 1.5]
    assert [error.cell for error in values.errors] == ["F2", "F4"]
    assert "starting_cash: " in str(values.errors[0])
    assert "return_rate: " in str(values.errors[1])


def test_a_call_without_arguments_does_not_get_rows_that_were_never_asked_for(tmp_path: Path) -> None:
    values = engine.recalculate(workbook(tmp_path / "path.xlsx", ["=GROWTH_PATH()"]))
    assert [error.cell for error in values.errors] == ["F1"]
