"""Both editions in every engine: LibreOffice, the headless engine and Python show the same."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import python_calamine

from sheetfns.hosts.engine import recalculate
from sheetfns.kinds import date_number
from sheetfns.log.build import build_log
from sheetfns.log.compare import compare
from sheetfns.log.figures import work_out
from sheetfns.log.layout import START
from sheetfns.log.read import read_log
from tests import libreoffice
from tests.log.random_logs import random_entries

EXAMPLES = Path(__file__).parents[2] / "examples"
PLAIN = EXAMPLES / "sourcing_log_example.xlsx"
FUNCTIONS = EXAMPLES / "sourcing_log_example_functions.xlsx"
ERRORS = ("#N/A", "#NAME?", "#VALUE!", "#REF!", "#DIV/0!", "#NUM!", "#NULL!", "Err:")


def plain_cell(cell: Any) -> Any:
    """A cell as number or text: a blank is "", a date its number."""
    if cell is None:
        return ""
    if isinstance(cell, (dt.date, dt.timedelta)):
        return date_number(cell)
    return float(cell) if isinstance(cell, (bool, int)) else cell


def same(one: Any, other: Any) -> bool:
    one, other = plain_cell(one), plain_cell(other)
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= 1e-7
    return one == other


def sheets_of(path: Path) -> dict[str, list[list[Any]]]:
    with python_calamine.CalamineWorkbook.from_path(path) as book:
        return {
            name: book.get_sheet_by_name(name).to_python(skip_empty_area=False)
            for name in book.sheet_names
        }


def differing_cells(shown: dict[str, list[list[Any]]], values: Any) -> tuple[int, list[str]]:
    compared, differing = 0, []
    for name, rows in shown.items():
        for row, cells in enumerate(rows, 1):
            for column, cell in enumerate(cells, 1):
                compared += 1
                other = values.value(name, row, column)
                if not same(cell, other) and name != START:
                    differing.append(f"{name} row {row} column {column}: {cell!r}, {other!r}")
    return compared, differing


def error_cells(path: Path) -> list[str]:
    """Read by another library than the comparison, which shows errors as their text."""
    book = openpyxl.load_workbook(path, data_only=True, read_only=True)
    return [
        f"{sheet.title}!{cell.coordinate} {cell.value}"
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, str) and cell.value.startswith(ERRORS)
    ]


@pytest.mark.parametrize("path", [PLAIN, FUNCTIONS], ids=["plain", "functions"])
def test_example_as_stored_equals_python(path):
    content = read_log(path)
    result = compare(work_out(content))
    assert content.problems == []
    assert result.differences == []
    assert result.compared > 6_000


@pytest.mark.parametrize("path", [PLAIN, FUNCTIONS], ids=["plain", "functions"])
def test_example_recalculated_headless_is_as_stored(path):
    values = recalculate(path)
    assert values.errors == []
    compared, differing = differing_cells(sheets_of(path), values)
    assert differing == []
    assert compared > 20_000


@pytest.fixture(scope="module")
def recalculated(tmp_path_factory) -> Path:
    return libreoffice.recalculate(PLAIN, tmp_path_factory.mktemp("libreoffice"))


@pytest.mark.libreoffice
def test_example_recalculated_by_libreoffice_equals_the_functions_edition(recalculated):
    """The plain edition in one program, the functions edition in the other, cell by cell."""
    assert error_cells(recalculated) == []
    compared, differing = differing_cells(sheets_of(recalculated), recalculate(FUNCTIONS))
    assert differing == []
    assert compared > 20_000


@pytest.mark.libreoffice
def test_example_recalculated_by_libreoffice_equals_python(recalculated):
    result = compare(work_out(read_log(recalculated)))
    assert result.differences == []
    assert result.compared > 6_000


@pytest.mark.libreoffice
def test_random_log_recalculated_by_libreoffice(tmp_path):
    entries = random_entries(11, 400)
    files = {
        edition: build_log(tmp_path / f"{edition}.xlsx", edition, 400, entries)
        for edition in ("plain", "functions")
    }
    out = tmp_path / "out"
    out.mkdir()
    shown = libreoffice.recalculate(files["plain"], out)
    assert error_cells(shown) == []
    _, differing = differing_cells(sheets_of(shown), recalculate(files["functions"]))
    assert differing == []
    assert compare(work_out(read_log(shown))).differences == []


@pytest.mark.libreoffice
@pytest.mark.parametrize(("seed", "rows"), [(2, 60), (3, 300), (4, 1000)])
def test_libreoffice_calculates_a_log_without_stored_values(tmp_path, seed, rows):
    """Nothing to fall back on: each result is worked out on the way to another one.

    LibreOffice 7.4 once took 0 for a lot's cost here, as log and lots looked at each other's
    results. With a price changed, the profit must follow.
    """
    path = build_log(tmp_path / "log.xlsx", "plain", rows, random_entries(seed, rows))
    before = read_log(path)
    sold = before.sheets["Log"].dropna(subset=["sold_on"]).iloc[0]
    book = openpyxl.load_workbook(path)
    sheet = book["Sourcing log"]
    header = [cell.value for cell in sheet[5]]
    sheet.cell(int(sold["sheet_row"]), header.index("Sale price") + 1).value = 1234.0
    book.save(path)  # openpyxl stores no values
    out = tmp_path / "out"
    out.mkdir()
    after = read_log(libreoffice.recalculate(path, out))
    figures = work_out(after)
    assert compare(figures).differences == []
    changed = figures.pieces.set_index("sheet_row").loc[sold["sheet_row"]]
    assert changed["net_profit"] > 500


def test_twenty_thousand_rows(tmp_path):
    """More than a shop of many years would reach: built, recalculated headless, read, equal."""
    path = build_log(tmp_path / "log.xlsx", "functions", 20_000, random_entries(5, 20_000))
    content = read_log(path)
    assert len(content.sheets["Log"]) == 20_000
    result = compare(work_out(content))
    assert result.differences == []
    assert result.compared > 500_000
