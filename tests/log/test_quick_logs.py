"""Logs that are made by typing into a built one are what is built with these entries."""

from __future__ import annotations

import dataclasses
import datetime as dt
import re
import zipfile
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from sheetfns.errors import CellError
from sheetfns.files.cell_names import cell_name
from sheetfns.files.sheet_xml import FormulaText, formulas
from sheetfns.files.xlsx_file import XlsxFile
from sheetfns.hosts import engine
from sheetfns.log.edit.patch import CellEdit
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import EDITIONS, PURPOSE_ROW, Edition
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import log_layout
from tests.log.filled_logs import FEW_ROWS, full_entries, small_log
from tests.log.quick_logs import KeptOpen, changed_log, empty_log, entered, quick_log
from tests.log.random_logs import random_entries


def odd_entries() -> Inputs:
    """Text for numbers and dates, truth, times of day, signs, blank settings, gaps in tables."""
    inputs = full_entries()
    inputs.rows["Log"][0] |= {"paid": "4,50", "prep_cost": True, "description": "=1+1"}
    inputs.rows["Log"][2] |= {"sold_on": dt.datetime(2026, 2, 10, 18, 30), "sale_price": -1}
    inputs.rows["Log"][4] |= {"item_no": ">A*", "bought_on": "soon", "length": "  "}
    inputs.rows["Expenses"][0]["amount"] = None
    inputs.settings |= {"As_of_date": None, "Fixed_costs": "some", "Shop_name": "@shop"}
    inputs.blocks["Age"].insert(1, {})
    inputs.blocks["Markdown"] = []
    inputs.blocks["Channel"][1]["rate"] = "10 %"
    inputs.forms["Shelf"] |= {"sold_1": "20 EUR", "missing_value": None}
    return inputs


LOGS: dict[str, Any] = {
    "nothing": Inputs,
    "every column": full_entries,
    "odd cells": odd_entries,
    "random": lambda: random_entries(5, 16),
}


FORMS = {form.name for form in log_layout().forms}


def says_how_far(sheet: str, cell: tuple[int, int]) -> bool:
    """Whether a cell tells what of a form prints: that goes by the entries with which the log was written."""
    return sheet in FORMS and cell == (PURPOSE_ROW, 1)


def cells_of(path: Path) -> dict[str, dict[tuple[int, int], Any]]:
    """What stands in each cell that is not blank."""
    with XlsxFile(path) as book:
        return {
            name: {
                (row, column): cell
                for row, cells in enumerate(book.cells(name), 1)
                for column, cell in enumerate(cells, 1)
                if cell != "" and not says_how_far(name, (row, column))
            }
            for name in book.sheet_names
        }


def formulas_of(path: Path) -> dict[str, dict[tuple[int, int], str]]:
    with XlsxFile(path) as book:
        return {
            name: {cell: text for cell, text in formulas(book.part(name)).items() if not says_how_far(name, cell)}
            for name in book.sheet_names
        }


def kinds_of(path: Path) -> dict[str, list[tuple[bytes, bytes]]]:
    """Place and type of each formula's result as the file has them; a blank has no type."""
    cell = re.compile(rb'<c r="(\w+)"[^>]*?( t="\w+")?><f>[^<]*</f><v>([^<]*)</v></c>')
    found = {}
    with XlsxFile(path) as book:
        for name in book.sheet_names:
            cells = cell.findall(book.part(name))
            assert len(cells) == book.part(name).count(b"<f>")
            told = cell_name(PURPOSE_ROW, 1).encode() if name in FORMS else b""
            found[name] = [(place, kind if value else b"") for place, kind, value in cells if place != told]
    return found


def assert_same(made: LogContent, built: LogContent) -> None:
    for field in dataclasses.fields(LogContent):
        one, other = getattr(made, field.name), getattr(built, field.name)
        if field.name in ("blocks", "sheets", "shown"):
            assert one.keys() == other.keys()
            for key, frame in other.items():
                pd.testing.assert_frame_equal(one[key], frame, obj=f"{field.name} {key}")
        elif field.name == "words":
            assert not one
            assert not other
        elif field.name != "path":
            assert one == other, field.name


@pytest.mark.parametrize(
    ("name", "edition"),
    [
        ("nothing", "functions"),
        ("every column", "plain"),
        ("every column", "functions"),
        ("odd cells", "plain"),
        ("random", "functions"),
    ],
)
def test_a_quick_log_is_the_log_that_is_built(name: str, edition: Edition, tmp_path: Path) -> None:
    quick = quick_log(tmp_path / "quick.xlsx", edition, LOGS[name]())
    built = small_log(tmp_path / "built.xlsx", edition, LOGS[name]())
    assert cells_of(quick) == cells_of(built)
    assert formulas_of(quick) == formulas_of(built)
    assert kinds_of(quick) == kinds_of(built)
    assert_same(load_log(quick), load_log(built))
    with zipfile.ZipFile(quick) as one, zipfile.ZipFile(built) as other:
        assert one.namelist() == other.namelist()


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_log_kept_open_gives_what_one_opened_anew_gives(edition: Edition, tmp_path: Path) -> None:
    empty, *_ = empty_log(edition, FEW_ROWS)
    kept = KeptOpen(empty)
    for made in (full_entries(), random_entries(1, 16), odd_entries(), Inputs(), random_entries(2, 9), full_entries()):
        opened_anew = engine.recalculate(quick_log(tmp_path / "log.xlsx", edition, made), messages=False)
        again = kept.with_cells(entered(edition, FEW_ROWS, made))
        assert again is not None
        assert as_shown(again) == as_shown(opened_anew)


def as_shown(book: engine.Recalculated) -> dict[str, list[list[Any]]]:
    """Every cell; of an error its code, and a blank where a formula gives an empty text."""

    def shown(cell: Any) -> Any:
        return cell.code if isinstance(cell, CellError) else (cell or None) if isinstance(cell, str) else cell

    return {name: [[shown(cell) for cell in row] for row in rows] for name, rows in book.sheets.items()}


def test_a_formula_is_worked_out_from_a_file(tmp_path: Path) -> None:
    empty, *_ = empty_log("plain", FEW_ROWS)
    formula = CellEdit("Settings", 40, 20, FormulaText("1+1"))
    assert KeptOpen(empty).with_cells([formula]) is None
    assert changed_log(empty, (formula,), tmp_path / "log.xlsx").value("Settings", 40, 20) == 2


def test_one_log_leaves_nothing_in_the_next(tmp_path: Path) -> None:
    first = quick_log(tmp_path / "first.xlsx")
    quick_log(tmp_path / "log.xlsx", inputs=odd_entries())
    assert quick_log(tmp_path / "log.xlsx").read_bytes() == first.read_bytes()
