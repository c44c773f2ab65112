"""The commands of xlwings Lite on a stand-in for the open workbook: they see what the file holds, and change nothing."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np
import pandas as pd
import pytest

from sheetfns import REGISTRY
from sheetfns.errors import LogFileError
from sheetfns.hosts import engine, excel_lite
from sheetfns.log.check.report import FORMULAS, check_log
from sheetfns.log.compute import compute_log
from sheetfns.log.load import load_cells, load_log
from sheetfns.log.write.build import build_log
from sheetfns.programs.lite import scripts
from sheetfns.programs.lite.cells import OpenWorkbook
from sheetfns.programs.shown_rows import forecast_rows, year_rows
from tests import ROOT
from tests.hosts.lite_stand_in import Lite, OpenBook, call
from tests.log.filled_logs import full_entries, mistaken_entries
from tests.log.quick_logs import quick_log

LITE = Lite()
COMMANDS = scripts.marked(LITE)
EXAMPLE = ROOT / "examples" / "sourcing_log_example.xlsx"


@pytest.fixture(scope="module", params=["plain", "functions", "lambda"])
def log(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return quick_log(tmp_path_factory.mktemp("lite") / "log.xlsx", request.param, full_entries())


@pytest.fixture(scope="module")
def wrong(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log with every mistake that the tests of reading know."""
    path = tmp_path_factory.mktemp("lite") / "wrong.xlsx"
    with mock.patch.object(engine, "MESSAGES_WANTED", 0):
        return build_log(path, "plain", 200, mistaken_entries()[0])


def run(command: str, book: OpenBook) -> tuple[str, list[list[Any]]]:
    """What a command shows: title and rows; nothing else in the workbook may have changed."""
    before = copy.deepcopy(book.whole())
    COMMANDS[command](book)
    new = book.sheets[-1]
    assert new.active
    after = book.whole()
    assert after.pop(new.name) == new.cells
    assert after == before
    return new.name, new.cells


def filled(rows: list[list[Any]], width: int) -> list[list[Any]]:
    return [[("" if cell is None else cell) for cell in row] + [""] * (width - len(row)) for row in rows]


@pytest.mark.parametrize("dates", [True, False], ids=["as dates", "as numbers"])
def test_the_open_workbook_reads_as_the_file_does(log: Path, dates: bool) -> None:
    by_file, by_cells = load_log(log), load_cells(OpenWorkbook(OpenBook(log, dates=dates)))
    assert by_cells.edition == by_file.edition
    for name in ("settings", "forms", "ready_rows", "places", "block_rows", "sheet_names", "problems", "layout"):
        assert getattr(by_cells, name) == getattr(by_file, name), name
    for kind in ("sheets", "blocks", "shown"):
        frames, others = getattr(by_file, kind), getattr(by_cells, kind)
        assert list(frames) == list(others)
        for key, frame in frames.items():
            pd.testing.assert_frame_equal(frame, others[key], obj=f"{kind} {key}")


def test_mistakes_are_seen_as_in_the_file(wrong: Path) -> None:
    by_file, by_cells = load_log(wrong), load_cells(OpenWorkbook(OpenBook(wrong)))
    assert len(by_file.problems) > 50
    assert by_cells.problems == by_file.problems
    assert by_cells.unread == by_file.unread


def test_commands_are_told_to_the_add_in() -> None:
    assert set(LITE.scripts) == set(COMMANDS) == {command.__name__ for command in scripts.SCRIPTS}
    assert all(command.__doc__ for command in COMMANDS.values())


def test_forecast_and_year_of_the_example() -> None:
    figures = compute_log(load_log(EXAMPLE))
    for command, title, rows, width in (
        ("forecast", "Weeks ahead", forecast_rows(figures), 8),
        ("year_end_figures", "Year 2026", year_rows(figures, 2026), 3),
    ):
        name, shown = run(command, OpenBook(EXAMPLE))
        assert name == title
        assert shown[: len(rows)] == filled(rows, width)
        assert sum(isinstance(cell, float) for row in shown for cell in row) > 20


def test_figures_to_the_cent(log: Path) -> None:
    content = load_log(log)
    year = int(content.settings["Tax_year"])
    rows = year_rows(compute_log(content), year)
    assert run("year_end_figures", OpenBook(log))[1][: len(rows)] == filled(rows, 3)


def findings_of_file(path: Path) -> list[tuple[Any, ...]]:
    # Formulas, which cannot be seen through the add-in, are all of one group.
    found = [one for one in check_log(path).findings if one.group != FORMULAS]
    return [(one.sheet, one.cell, one.times, one.found, one.group) for one in found]


def test_check_finds_what_it_finds_in_the_file(log: Path) -> None:
    assert len(as_in_the_file(log)) > 1


def test_check_finds_every_mistake_that_it_finds_in_the_file(wrong: Path) -> None:
    assert len(as_in_the_file(wrong)) > 20


def as_in_the_file(path: Path) -> list[tuple[Any, ...]]:
    """What the command finds, which is what `check` finds in the file but for changed formulas."""
    name, rows = run("check_log", OpenBook(path))
    assert name == "Findings"
    head, *body = rows
    assert head[:6] == ["Sheet", "Cell", "Cells", "What to do", "Found", "Kind"]
    listed = [(row[0], row[1], row[2], row[4], row[5]) for row in body if row[5]]
    expected = findings_of_file(path)
    assert [one for one in listed if one[4] != FORMULAS] == expected
    words = [row[0] for row in body if not row[5]]
    assert words[-1] == scripts.FORMULAS_NOT_SEEN
    assert "warning" in words[-2]
    return expected


def test_a_figure_that_does_not_match_its_entries_is_found(log: Path) -> None:
    book = OpenBook(log)
    place = load_log(log).places["Log"]
    row, column = place.first - 1, place.columns["net_profit"]
    assert isinstance(book.sheets[place.sheet].cells[row][column], float)
    book.sheets[place.sheet].cells[row][column] += 1.0
    _, rows = run("check_log", book)
    (found,) = [one for one in rows if one[5] == "Results"]
    assert (found[0], found[1]) == (place.sheet, f"A{row + 1}")
    assert "doesn't match" in found[3]
    assert "Ctrl+Alt+F9" in found[3]


def test_a_second_result_gets_a_sheet_of_its_own(log: Path) -> None:
    book = OpenBook(log)
    names = [run("list_functions", book)[0] for _ in range(3)]
    assert names == ["Functions explained", "Functions explained 2", "Functions explained 3"]


def test_help_lists_every_function(log: Path) -> None:
    _, rows = run("list_functions", OpenBook(log))
    assert {row[0] for row in rows[1:]} == set(REGISTRY)


def test_errors_are_explained_newest_first(log: Path) -> None:
    excel_lite.LAST_ERRORS.clear()
    book = OpenBook(log)
    assert run("explain_errors", book)[1][1][0].startswith("No function has given an error")
    profit = excel_lite.custom_functions(LITE)["NET_PROFIT"]
    call(profit, 25.0, 4.0, -3.0, 4.25, 0.75, 8.0)
    call(profit, "4,50", 4.0, 3.0, 4.25, 0.75, 8.0)
    assert run("explain_errors", book)[1][1:] == [
        ["NET_PROFIT", "#VALUE!", "price: '4,50' is not a number; write 4.5"],
        ["NET_PROFIT", "#NUM!", "fee: -3 is below 0; write 0 or more"],
    ]


@pytest.mark.parametrize("command", ["check_log", "forecast", "year_end_figures"])
def test_what_is_no_log_is_said_in_a_sentence(command: str, log: Path) -> None:
    book = OpenBook(log)
    book.sheets[:] = [sheet for sheet in book.sheets if sheet.name != "Settings"]
    name, rows = run(command, book)
    assert name == {"check_log": "Findings", "forecast": "Weeks ahead", "year_end_figures": "Year-end figures"}[command]
    assert rows[0][0].startswith("log.xlsx: there is no sheet 'Settings'")


def test_a_workbook_without_names_is_no_log(log: Path) -> None:
    book = OpenBook(log)
    book.names = []
    with pytest.raises(LogFileError, match="has no names that can be read"):
        OpenWorkbook(book)


def test_too_little_history_and_no_year_are_said(tmp_path: Path) -> None:
    book = OpenBook(quick_log(tmp_path / "new.xlsx"))
    assert run("forecast", book)[1][0][0].startswith("new.xlsx: ")
    places = load_log(tmp_path / "new.xlsx").setting_places
    row, column = places.cells["Tax_year"]
    book.sheets[places.sheet].cells[row - 1][column] = ""
    assert run("year_end_figures", book)[1][0][0].startswith("Settings has no tax year that can be used")


def test_a_fault_is_a_sentence_too(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(scripts, "compute_log", lambda _: np.zeros(2)[3])
    assert run("forecast", OpenBook(log))[1][0][0].startswith("A fault in the program (IndexError: ")
