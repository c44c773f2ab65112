"""The example shop's sales export and its map: what they fill in the example log."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import pytest

from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.edit.csv_import import ImportPlan, apply_import, plan_import, write_draft_map
from sheetfns.log.load import load_log
from tests import EXAMPLES

LOG = EXAMPLES / "sourcing_log_example.xlsx"
EXPORT = EXAMPLES / "sales_export.csv"
MAP = EXAMPLES / "sales_export_map.toml"
WRITTEN = ("Sold on", "Sale price", "Shipping charged", "Tax collected", "Fee charged", "Postage paid")


def day(number: int) -> dt.date:
    return dt.date(2026, 9, number)


EXPECTED = {
    "P062": (day(2), 33.5, 5.5, 2.73, 5.25, 5.31),
    "P093": (day(3), 64.0, None, None, 6.97, 9.9),
    "P101": (day(5), 45.5, None, None, 5.03, 6.05),
    "P112": (day(9), 44.0, 9.5, 3.75, 7.03, 9.62),
    "P120": (day(14), 50.0, None, None, 5.5, 8.35),
    "P128": (day(17), 30.0, 9.0, 2.73, 5.25, 8.75),
    "P130": (day(21), 70.5, None, 4.94, 9.13, 15.8),
    "P138": (day(28), 33.0, 8.5, 2.91, 5.56, 8.61),
}


@pytest.fixture(scope="module")
def plan() -> ImportPlan:
    return plan_import(EXPORT, LOG, MAP)


def test_the_plan_is_exactly_this(plan):
    found: dict[str, dict[str, object]] = {}
    for change in plan.changes:
        found.setdefault(change.item, {})[change.header] = change.new
    assert found == {
        item: {header: value for header, value in zip(WRITTEN, values, strict=True) if value is not None}
        for item, values in EXPECTED.items()
    }
    assert [(one.csv_row, one.item) for one in plan.already_there] == [(13, "P140")]
    assert [(one.csv_row, one.reason) for one in plan.unmatched] == [
        (10, "Item no. 'P205' is not on sheet Sourcing log"),
        (15, "Item no. 'T-17' is not on sheet Sourcing log"),
    ]
    (conflict,) = plan.conflicts
    assert (conflict.csv_rows, conflict.item, conflict.header) == ((8,), "P148", "Sale price")
    assert (conflict.log_value, conflict.csv_values) == (40.5, (42.5,))
    assert (plan.unreadable, plan.new_rows) == ((), ())
    shown = {one.label: one.value for one in plan.detected}
    assert shown["Header row"] == "row 4 (3 rows above it left out)"
    assert shown["Decimal mark"].startswith("point '.'")
    assert shown["Date order"].startswith("month, day, year (as in row 11")
    assert shown["Columns not used"] == "Order, What it was"


def test_it_is_written_and_the_log_agrees_with_itself(tmp_path):
    log = Path(shutil.copy(LOG, tmp_path))
    export = Path(shutil.copy(EXPORT, tmp_path))
    done = apply_import(plan_import(export, log, MAP))
    assert (done.cells, done.left_rows, done.new_problems) == (41, 3, ())
    content = load_log(log)
    assert content.problems == []
    assert compare(compute_log(content)).differences == []
    items = list(content.sheets["Log"]["item_no"])
    shown = content.shown["Log"]
    for item in EXPECTED:
        row = shown.iloc[items.index(item)]
        assert (row["status"], row["row_check"]) == ("Sold", "ok")
        assert row["fee"] == row["fee_by_terms"]
    after = log.read_bytes()
    assert apply_import(plan_import(export, log, MAP)).cells == 0
    assert log.read_bytes() == after


def test_a_first_map_of_the_export_finds_what_resembles_the_log(tmp_path):
    draft = write_draft_map(EXPORT, load_log(LOG), tmp_path / "map.toml")
    assert draft.doubts == ()
    # Nothing else is like enough: a price may be any, and postage may be paid or received.
    assert draft.suggested == {"Sold on": "Date of sale"}
    for header in ("Own number", "Price", "Postage received", "Selling fee"):
        assert f'# "" = "{header}"  # such as' in draft.path.read_text(encoding="utf-8")
