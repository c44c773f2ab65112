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

from sheetfns.files.sheet_xml import formulas
from sheetfns.files.xlsx_file import XlsxFile
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import Edition
from sheetfns.log.read.content import LogContent
from tests.log.filled_logs import full_entries, small_log
from tests.log.quick_logs import quick_log
from tests.log.random_logs import random_entries


def odd_entries() -> Inputs:
    """Text for numbers and dates, truth, times of day, signs, blank settings, gaps in tables."""
    entries = full_entries()
    entries.rows["Log"][0] |= {"paid": "4,50", "prep_cost": True, "description": "=1+1"}
    entries.rows["Log"][2] |= {"sold_on": dt.datetime(2026, 2, 10, 18, 30), "sale_price": -1}
    entries.rows["Log"][4] |= {"item_no": ">A*", "bought_on": "soon", "length": "  "}
    entries.rows["Expenses"][0]["amount"] = None
    entries.settings |= {"As_of_date": None, "Fixed_costs": "some", "Shop_name": "@shop"}
    entries.blocks["Age"].insert(1, {})
    entries.blocks["Markdown"] = []
    entries.blocks["Channel"][1]["rate"] = "10 %"
    entries.forms["Shelf"] |= {"sold_1": "20 EUR", "missing_value": None}
    return entries


LOGS: dict[str, Any] = {
    "nothing": Inputs,
    "every column": full_entries,
    "odd cells": odd_entries,
    "random": lambda: random_entries(5, 16),
}


def cells_of(path: Path) -> dict[str, dict[tuple[int, int], Any]]:
    """What stands in each cell that is not blank."""
    with XlsxFile(path) as book:
        return {
            name: {
                (row, column): cell
                for row, cells in enumerate(book.cells(name), 1)
                for column, cell in enumerate(cells, 1)
                if cell != ""
            }
            for name in book.sheet_names
        }


def formulas_of(path: Path) -> dict[str, dict[tuple[int, int], str]]:
    with XlsxFile(path) as book:
        return {name: formulas(book.part(name)) for name in book.sheet_names}


def kinds_of(path: Path) -> dict[str, list[tuple[bytes, bytes]]]:
    """Place and type of each formula's result as the file has them; a blank has no type."""
    cell = re.compile(rb'<c r="(\w+)"[^>]*?( t="\w+")?><f>[^<]*</f><v>([^<]*)</v></c>')
    found = {}
    with XlsxFile(path) as book:
        for name in book.sheet_names:
            cells = cell.findall(book.part(name))
            assert len(cells) == book.part(name).count(b"<f>")
            found[name] = [(place, kind if value else b"") for place, kind, value in cells]
    return found


def assert_same(made: LogContent, built: LogContent) -> None:
    for field in dataclasses.fields(LogContent):
        one, other = getattr(made, field.name), getattr(built, field.name)
        if field.name in ("blocks", "sheets", "shown"):
            assert one.keys() == other.keys()
            for key, frame in other.items():
                pd.testing.assert_frame_equal(one[key], frame, obj=f"{field.name} {key}")
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


def test_one_log_leaves_nothing_in_the_next(tmp_path: Path) -> None:
    first = quick_log(tmp_path / "first.xlsx")
    quick_log(tmp_path / "log.xlsx", entries=odd_entries())
    assert quick_log(tmp_path / "log.xlsx").read_bytes() == first.read_bytes()
