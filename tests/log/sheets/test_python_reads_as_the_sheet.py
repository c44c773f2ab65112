"""What a sheet takes for the same word or the same blank, Python takes for the same."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from sheetfns.log.compare import compare
from sheetfns.log.compute import LogResults, compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import EDITIONS
from tests.log.quick_logs import quick_log

AS_OF = dt.date(2026, 9, 30)
CHANNEL: Row = {"name": "Site", "rate": 0.1, "per_order": 0.5, "title_limit": 40}
STOOL: Row = {
    "item_no": "A1", "bought_on": dt.date(2026, 9, 1), "paid": 4, "expected_price": 30,
    "packed_weight": 2, "length": 4, "width": 4, "height": 4,
}  # fmt: skip
SHELF: Row = {"sold_1": 20, "sold_2": 24, "postage_in": "YES", "postage": 4, "channel": "site", "price_tag": 3}
DESK: Row = {"item_no": "a1", "channel": "SITE", "box": "cube", "service": "near"}
CANDIDATES: list[Row] = [
    {"item": "Lamp", "price_tag": 3, "expected_price": 20, "channel": "site", "days_to_sell": 5},
    {"item": "Vase", "price_tag": 3, "expected_price": 20, "channel": "SITE"},
]
POSTAGE: list[Row] = [{"up_to": 5, "no_1": 6, "no_2": 9}]


def results(path: Path, edition: str, made: Inputs) -> LogResults:
    made.settings |= {"As_of_date": AS_OF, "First_month": dt.date(2026, 1, 1), "Trip_cash": 40}
    made.blocks |= {"Channel": [dict(CHANNEL)], "Postage": POSTAGE, "Box": [{"name": "Cube", "weight": 1}]}
    made.rows |= {"Log": [dict(STOOL)]}
    found = compute_log(load_log(quick_log(path, edition, made)))
    assert compare(found).differences == []
    return found


@pytest.mark.parametrize("edition", EDITIONS)
def test_capitals_of_words_do_not_count(tmp_path: Path, edition: str) -> None:
    made = Inputs(
        {"Plan_by": "profit Per day"},
        {"Service": [{"name": "Near"}]},
        {"Plan": CANDIDATES},
        {"Shelf": SHELF, "Desk": DESK},
    )
    found = results(tmp_path / "log.xlsx", edition, made)
    assert found["Shelf"]["asks"].iloc[0] == ""
    assert found["Desk"][["postage", "price_without"]].iloc[0].tolist() == [6, 30]
    assert found["Plan"]["days_used"].tolist() == [5, 0]


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_service_below_a_blank_row_keeps_its_column(tmp_path: Path, edition: str) -> None:
    made = Inputs(blocks={"Service": [{}, {"name": "Near"}]}, forms={"Desk": DESK})
    assert results(tmp_path / "log.xlsx", edition, made)["Desk"]["postage"].iloc[0] == 9


@pytest.mark.parametrize("edition", EDITIONS)
def test_an_item_without_sales_has_no_price(tmp_path: Path, edition: str) -> None:
    made = Inputs(
        rows={"Comps": [{"item": "bench", "kind": "Asked", "price": 4}]},
        forms={"Shelf": {"comps_of": "Bench", "channel": "Site"}},
    )
    shelf = results(tmp_path / "log.xlsx", edition, made)["Shelf"]
    assert shelf["verdict"].iloc[0] == "The item has no sales yet"
