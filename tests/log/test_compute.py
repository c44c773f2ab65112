"""Whole logs: the workbook and Python agree on every sheet, and say what they cannot work out."""

from __future__ import annotations

import datetime as dt

import pytest

from sheetfns.errors import LogFileError
from sheetfns.log.compare import compare
from sheetfns.log.compute import LogResults, compute_log, year_figures
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import EDITIONS
from sheetfns.log.write.build import build_log
from tests.log.hand_made_log import hand_made
from tests.log.quick_logs import in_turn, quick_log
from tests.log.random_logs import random_entries

D = dt.date
ROWS = 40


@pytest.fixture(scope="module", params=EDITIONS)
def figures(request, tmp_path_factory) -> LogResults:
    path = tmp_path_factory.mktemp("hand") / "log.xlsx"
    return compute_log(load_log(build_log(path, request.param, ROWS, hand_made())))


def test_the_workbook_and_python_agree(figures):
    result = compare(figures)
    assert result.differences == []
    assert result.compared > 300


def test_no_problem_and_nothing_left_out(figures):
    assert figures.content.problems == []
    assert figures.left_out == 0
    assert set(figures.content.shown["Log"]["row_check"]) <= {"ok", ""}


@pytest.mark.parametrize(("edition", "seed"), in_turn(range(4)))
def test_random_logs_agree_and_tie(tmp_path, seed, edition):
    content = load_log(quick_log(tmp_path / "log.xlsx", edition, random_entries(seed, 150), 150))
    figures = compute_log(content)
    result = compare(figures)
    assert result.differences == []
    assert result.compared > 4_000
    months = figures["Money"]
    change = (months["closing_cash"] + months["closing_inventory"]).iloc[-1] - 500.0
    owners = (months["put_in"] - months["took_out"] - months["personal_use"]).sum()
    assert change - owners == pytest.approx(months["profit"].sum(), abs=1e-6)
    checks = content.shown["Data checks"]
    assert checks.loc[checks["kind"] == "fix", "count"].sum() == 0


def test_a_wrong_figure_in_the_workbook_is_found(figures):
    shown = {key: frame.copy() for key, frame in figures.content.shown.items()}
    shown["Log"].loc[shown["Log"].index[0], "net_profit"] += 0.01
    (difference,) = compare(figures, shown).differences
    assert "Sourcing log, row 7, Net profit: the workbook shows 11.31" in str(difference)


def test_an_empty_log(tmp_path):
    figures = compute_log(load_log(quick_log(tmp_path / "log.xlsx")))
    assert compare(figures).differences == []
    assert figures["Money"][["closing_cash", "closing_inventory"]].to_numpy().tolist() == [[0.0, 0.0]]
    assert year_figures(figures, 2026).amounts["net_profit"] == 0


@pytest.mark.parametrize(
    ("setting", "value", "label"),
    [
        ("As_of_date", "today", "As of"),
        ("First_month", "1.11.2025", "First month of this log"),
        ("Tax_year", None, "Tax year"),
    ],
)
def test_without_its_dates_a_log_gives_no_figures(tmp_path, setting, value, label):
    inputs = hand_made()
    inputs.settings[setting] = value
    content = load_log(quick_log(tmp_path / "log.xlsx", inputs=inputs))
    with pytest.raises(LogFileError, match=f"log.xlsx: {label} on sheet Settings is blank"):
        compute_log(content)
