"""Which cells are compared with Python, and that none is left out by accident."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from unittest import mock

import pytest

from sheetfns.files.sheet_xml import FormulaText
from sheetfns.log.compare import NoCounterpartError, compare, compared_keys
from sheetfns.log.compute import LogResults, compute_log
from sheetfns.log.edit.patch import CellEdit
from sheetfns.log.load import load_log
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.sheets import EDITIONS, FormRow, FormSheet, Formula, TableSheet
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.year_end import layout as year
from tests.log.filled_logs import build_small_log, full_entries
from tests.log.quick_logs import changed_log, quick_log
from tests.log.random_logs import random_entries

SHEETS = (*log_layout().tables, *log_layout().forms)
OF_ROW_BELOW = range(1, 14)
"""The lines of the year's statement whose number is taken from the row below."""


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> list[LogResults]:
    folder = tmp_path_factory.mktemp("filled")
    logs = [
        quick_log(folder / f"{edition} {name}.xlsx", edition, inputs)
        for edition in EDITIONS
        for name, inputs in (("full", full_entries()), ("random", random_entries(3, 16)))
    ]
    return [compute_log(load_log(path)) for path in logs]


def names(sheet: TableSheet | FormSheet) -> dict[str, str]:
    """Why each formula of a sheet is not compared, by its key; "" if it is."""
    parts = sheet.columns if isinstance(sheet, TableSheet) else sheet.cells()
    return {part.key: part.not_compared for part in parts if part.role != "input"}


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.key)
def test_what_python_works_out_is_compared(filled: list[LogResults], sheet) -> None:
    """A cell is left out only if Python has none, and never if it has."""
    for figures in filled:
        worked = set(figures[sheet.key].columns)
        left_out = {key for key, reason in names(sheet).items() if reason}
        assert left_out & worked == set(), f"{sheet.name}: compare these"
        assert set(compared_keys(sheet)) - worked == set(), f"{sheet.name}: Python lacks these"


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.key)
def test_only_steps_are_left_out(sheet) -> None:
    parts = sheet.columns if isinstance(sheet, TableSheet) else sheet.cells()
    assert [part.key for part in parts if part.not_compared and part.role != "working"] == []


def test_few_are_left_out() -> None:
    """A cell more that is not compared is a decision, and this number says so."""
    reasons = [reason for sheet in SHEETS for reason in names(sheet).values()]
    assert len(reasons) == 2_904
    around_rows = 8 * 4 + 1
    assert sum(bool(reason) for reason in reasons) == 31 + around_rows, "edges, entries and overwritten on eight sheets"


def without(figures: LogResults, sheet: str, key: str) -> LogResults:
    """The same results, of which one sheet lacks a column."""
    results = LogResults(figures.content)
    frames = {one.key: figures[one.key] for one in SHEETS}
    results._frames.update(frames | {sheet: frames[sheet].drop(columns=key)})
    return results


@pytest.mark.parametrize("key", ["net_profit", "row_check"])
def test_a_column_that_python_lacks_is_named(filled: list[LogResults], key: str) -> None:
    with pytest.raises(NoCounterpartError, match=rf"Sourcing log, {key}: the layout has this cell"):
        compare(without(filled[0], "Log", key))


def test_a_cell_that_python_lacks_is_named(filled: list[LogResults]) -> None:
    with pytest.raises(NoCounterpartError, match="Year end, line_1: the layout has this cell"):
        compare(without(filled[0], "Year", "line_1"))


# ---- line numbers of the year's statement, each taken from the row below --------------------------


def wrong_line(number: int) -> str:
    return f'INDEX(TaxLine_line,{{line_row_{number}}}+1)&""'


@contextlib.contextmanager
def wrong_layout() -> Iterator[None]:
    """The layout itself is wrong; every log is built and looked over by it meanwhile."""
    right = year._summary_line

    def wrong(number: int) -> FormRow:
        line = right(number)
        if number not in OF_ROW_BELOW:
            return line
        cells = [
            replace(cell, formula=Formula(wrong_line(number), cell.formula.blank_if))
            if cell.key == f"line_{number}" and isinstance(cell.formula, Formula)
            else cell
            for cell in line.cells
        ]
        return replace(line, cells=tuple(cells))

    log_layout.cache_clear()
    try:
        with mock.patch.object(year, "_summary_line", wrong):
            yield
    finally:
        log_layout.cache_clear()


def by_wrong_layout(path: Path) -> Path:
    return build_small_log(path, inputs=full_entries())


def by_wrong_formulas(path: Path) -> Path:
    """The formulas of a good log are changed, and it holds the results that they give."""
    good = quick_log(path.with_name("good.xlsx"), inputs=full_entries())
    form = log_layout().form("Year")
    places = AddressMap(log_layout())
    edits = []
    for number in OF_ROW_BELOW:
        row, place = places.form_cells["Year"][f"line_{number}"]
        formula = FormulaText(places.form_formula(form, wrong_line(number)))
        edits.append(CellEdit(form.name, row, place + 1, formula))
    changed_log(good, tuple(edits), path)
    good.unlink()
    return path


@pytest.mark.parametrize(
    ("meanwhile", "made", "said"),
    [
        (wrong_layout, by_wrong_layout, "13 figures on this sheet don't match their entries"),
        (contextlib.nullcontext, by_wrong_formulas, "the formula is no longer the log's own"),
    ],
)
def test_wrong_line_numbers_are_found_by_all(
    run,
    tmp_path: Path,
    meanwhile: Callable[[], contextlib.AbstractContextManager[None]],
    made: Callable[[Path], Path],
    said: str,
) -> None:
    with meanwhile():
        path = made(tmp_path / "log.xlsx")
        differences = compare(compute_log(load_log(path))).differences
        assert [one.column for one in differences] == [f"line_{n}" for n in OF_ROW_BELOW]
        assert {one.sheet for one in differences} == {"Year end"}
        code, out, err = run("check", "log.xlsx")
        assert code == 1
        assert "Year end" in out + err
        assert said in " ".join((out + err).split())
        code, out, err = run("year-end", "log.xlsx", "--out", "package")
        assert code == 1
        one = differences[1]
        row, _ = AddressMap(log_layout()).form_cells["Year"][one.column]
        wrong = f"the workbook shows {one.shown}, Python calculates {one.worked_out}"
        assert f"Year end, B{row}: {one.column.replace('_', ' ')}: {wrong}" in err
        assert not (tmp_path / "package").exists()
