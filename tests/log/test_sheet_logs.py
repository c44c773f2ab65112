"""Logs of some sheets hold, on these sheets, what whole logs hold."""

from __future__ import annotations

from pathlib import Path

import pytest

from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import EDITIONS, HEADER_ROW, Edition
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import CHECKS, SETTINGS
from tests.log.filled_logs import full_entries
from tests.log.quick_logs import quick_log
from tests.log.sheet_logs import sheet_log
from tests.log.test_quick_logs import cells_of, formulas_of

GROUPS = (("Log",), ("Desk",), ("Shelf",), ("Inventory", "Stale"), ("Partners",), ("Year",), ("Charts",))


@pytest.mark.parametrize("edition", EDITIONS)
def test_cells_formulas_and_figures_are_those_of_a_whole_log(tmp_path: Path, edition: Edition) -> None:
    whole = quick_log(tmp_path / "whole.xlsx", edition, full_entries())
    cells, formulas = cells_of(whole), formulas_of(whole)
    layout = log_layout()
    names = {sheet.key: sheet.name for sheet in (*layout.tables, *layout.forms)}
    compared = compare(compute_log(load_log(whole))).compared
    for keys in GROUPS:
        log = sheet_log(edition, *keys)
        assert set(keys) <= log.keys
        assert log.keys < set(names)
        path = log.filled(tmp_path / "part.xlsx", full_entries())
        some_cells, some_formulas = cells_of(path), formulas_of(path)
        for name in {SETTINGS, *(names[key] for key in log.keys)}:
            assert some_formulas[name] == formulas[name]
            assert below_the_head(some_cells[name]) == below_the_head(cells[name])
        assert 0 < len(some_formulas[CHECKS]) < len(formulas[CHECKS])
        assert some_formulas[CHECKS].items() <= formulas[CHECKS].items()
        found = compare(compute_log(log.read(path)), sheets=log.keys)
        assert found.differences == []
        assert 200 < found.compared < compared


def below_the_head(cells: dict[tuple[int, int], object]) -> dict[tuple[int, int], object]:
    """Without the count of what is wrong in the whole log."""
    return {place: cell for place, cell in cells.items() if place[0] >= HEADER_ROW}


def test_a_wrong_figure_is_found(tmp_path: Path) -> None:
    log = sheet_log("plain", "Pay")
    figures = compute_log(log.read(log.filled(tmp_path / "log.xlsx", full_entries())))
    figures.content.shown["Pay"]["cash"] += 0.01
    figures.content.shown["Log"].loc[0, "net_profit"] += 0.01
    figures.content.shown["Data checks"].loc[:, "count"] += 1
    wrong = {difference.sheet for difference in compare(figures, sheets=log.keys).differences}
    assert wrong == {"Pay", "Sourcing log", CHECKS}


def test_what_is_left_out_cannot_be_compared(tmp_path: Path) -> None:
    log = sheet_log("plain", "Desk")
    figures = compute_log(log.read(log.filled(tmp_path / "log.xlsx", full_entries())))
    with pytest.raises(LookupError):
        compare(figures)
