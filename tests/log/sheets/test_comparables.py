"""Comparables worked out by hand: many items in one log, so that none looks at another's rows."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from sheetfns import comp_spread
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import EDITIONS, Edition
from sheetfns.log.read.content import LogContent
from tests.log.filled_logs import FEW_ROWS
from tests.log.sheet_logs import sheet_figures
from tests.log.sheets.small_shop import AS_OF, inputs, read


def days_ago(days: int) -> dt.date:
    return AS_OF - dt.timedelta(days=days)


def sold(item: str, *prices: float, **beside: Any) -> list[Row]:
    return [{"item": item, "kind": "Sold", "price": price, "seen_on": AS_OF} | beside for price in prices]


LOGS: dict[str, list[Row]] = {
    # The same price three times, and one 3% off: within a tenth of the middle nothing is wild.
    "ties": [*sold("tie", 10, 10, 10, 10.3), *sold("five", 10, 20, 20, 20, 50)],
    "far apart": [*sold("far", 10, 14, 20, 26, 30, 34), *sold("near", 10, 11, 12, 13, 14)],
    "ages": [
        *sold("old", 40, seen_on=days_ago(3000)),
        *sold("both", 10),
        *sold("both", 30, seen_on=days_ago(3000)),
        *sold("ahead", 10, seen_on=AS_OF),
        *sold("ahead", 20, seen_on=AS_OF),
    ],
    "basis": [
        # Postage over the price leaves nothing; a part over what is left does not go below 0.
        *sold("less", 3, postage_in="Yes", postage=5, missing_parts=1),
        *sold("less", 3.5, complete="No"),
        *sold("less", 0.4),
        # A condition of theirs that is blank is taken for mine.
        *sold("blank", 20, my_condition="Worn"),
        *sold("blank", 20, condition="New"),
    ],
    "offers": [
        {"item": "asked", "kind": "Asked", "price": 12.5, "postage_in": "Yes", "postage": 4},
        {"item": "asked", "kind": "Asked", "price": 12.5, "postage": 4},
        *sold("asked", 9),
    ],
}


@pytest.fixture(scope="module", params=EDITIONS)
def shown(request, tmp_path_factory) -> dict[str, tuple[LogContent, pd.DataFrame]]:
    folder = tmp_path_factory.mktemp("comparables")
    found = {}
    for name, rows in LOGS.items():
        assert len(rows) <= FEW_ROWS
        made = Inputs({"As_of_date": AS_OF, "Comp_half_life": 90}, rows={"Comps": rows})
        content = sheet_figures(folder / f"{name}.xlsx", made, request.param, "Comps").content
        of_item = [row["item"] for row in rows]
        frame = content.shown["Comps"].assign(item=of_item)
        found[name] = content, frame
    return found


def first_of(frame: pd.DataFrame, item: str) -> Any:
    return frame[frame["item"] == item].iloc[0]


@pytest.mark.parametrize("name", LOGS)
def test_no_row_is_wrong(shown, name):
    content, _ = shown[name]
    assert content.problems == []


def test_ties(shown):
    _, frame = shown["ties"]
    tie = first_of(frame, "tie")
    # Type 7 at 3/4 of 10, 10, 10, 10.3: place 2.25 of 0 to 3, 10 + 0.25 x 0.3.
    assert [tie["low"], tie["middle"], tie["dropped"]] == [10, 10, 0]
    assert tie["high"] == pytest.approx(10.075)
    assert tie["remark"] == "rough estimate (4 sales)"
    # Distances 10, 0, 0, 0, 30: their median is 0, so a tenth of 20 counts, and 3.5 x 2 = 7.
    five = first_of(frame, "five")
    assert [five["low"], five["middle"], five["high"], five["dropped"]] == [20, 20, 20, 2]
    assert five["remark"] == "rough estimate (3 sales); 2 outliers excluded"
    counts = frame[frame["item"] == "five"]["counts"].tolist()
    assert counts == ["outlier", "yes", "yes", "yes", "outlier"]


def test_far_apart(shown):
    _, frame = shown["far apart"]
    far = first_of(frame, "far")
    # Places 1.25, 2.5 and 3.75 of 0 to 5: 14 + 1.5, 20 + 3, 26 + 3.
    assert [far["low"], far["middle"], far["high"]] == pytest.approx([15.5, 23, 29])
    assert far["remark"] == "", "29 is less than twice 15.5"
    near = first_of(frame, "near")
    assert [near["low"], near["middle"], near["high"]] == pytest.approx([11, 12, 13])


def test_ages(shown):
    _, frame = shown["ages"]
    assert first_of(frame, "old")["middle"] == 40, "old sales alone are not worth nothing"
    # Beside a sale of today one of eight years ago weighs a ten-billionth.
    assert first_of(frame, "both")["middle"] == pytest.approx(10, abs=1e-6)
    assert first_of(frame, "both")["sold"] == 2
    assert first_of(frame, "ahead")["middle"] == 15


def test_on_one_basis(shown):
    _, frame = shown["basis"]
    # 3 - 5 is no price; 3.50 lacked the same; 0.40 - 1 is none. Then Worn is half of New.
    assert frame["basis"].tolist() == [0, 3.5, 0, 20, 10]


def test_offers_never_count_as_sales(shown):
    _, frame = shown["offers"]
    asked = first_of(frame, "asked")
    assert [asked["low"], asked["middle"], asked["high"]] == [9, 9, 9]
    assert [asked["sold"], asked["asked"]] == [1, 2]
    assert frame["delivered"].tolist()[:2] == [12.5, 16.5]
    assert asked["sell_through"] == pytest.approx(1 / 3)
    assert asked["remark"] == "rough estimate (1 sale)"
    # Wilson's floor of 1 of 3 at 95%: (1/3 + z2/6 - z sqrt(2/27 + z2/36)) / (1 + z2/3), z = 1.96.
    assert asked["sell_through_floor"] == pytest.approx(0.0615, abs=5e-5)


@pytest.mark.parametrize("item", ["tie", "five", "far", "near"])
def test_words_and_prices_are_those_of_the_function(shown, item):
    _, frame = shown["ties" if item in ("tie", "five") else "far apart"]
    prices = [row["price"] for rows in LOGS.values() for row in rows if row["item"] == item]
    ((low, middle, high, used, dropped, remark),) = comp_spread(prices).tolist()
    first = first_of(frame, item)
    assert [first["low"], first["middle"], first["high"]] == pytest.approx([low, middle, high])
    assert first["sold"] - first["dropped"] == used
    assert (first["dropped"], first["remark"]) == (dropped, remark)


@pytest.mark.parametrize("edition", EDITIONS)
def test_comparables_on_one_basis(tmp_path: Path, edition: Edition) -> None:
    rows: list[Row] = [
        # (30 - 6) x 0.75 / 0.9 - 3 = 17.00: mine is good and lacks a part, theirs was like new.
        {"item": "jug", "kind": "Sold", "price": 30, "postage_in": "Yes", "postage": 6,
         "condition": "Like new", "seen_on": AS_OF, "my_condition": "Good", "missing_parts": 3},
        # It lacked the same: 20 x 0.75 / 0.75 = 20.00. 90 days old: half the weight.
        {"item": "jug", "kind": "Sold", "price": 20, "postage": 5, "complete": "No",
         "condition": "Good", "seen_on": AS_OF - dt.timedelta(days=90)},
        {"item": "jug", "kind": "Asked", "price": 12, "postage": 5.5, "seen_on": AS_OF},
        {"item": "mug", "kind": "Asked", "price": 9, "seen_on": AS_OF},
        {"item": "cup", "kind": "Sold", "price": 8.01, "seen_on": AS_OF},
    ]  # fmt: skip
    content = read(tmp_path, edition, inputs(rows={"Comps": rows}), "Comps")
    assert content.problems == []
    shown = content.shown["Comps"]
    assert shown["basis"].tolist()[:2] == [17, 20]
    assert shown["counts"].tolist() == ["yes", "yes", "asked", "asked", "yes"]
    # Weights 1 and 1/2: n = 1.5^2 / 1.25 = 1.8; the middle takes 0.4 to 1.4 of 1.8. The first sale
    # reaches to 1.2 and has 0.8 of it, the second 0.2: 17 x 0.8 + 20 x 0.2 = 17.60.
    assert shown["middle"][0] == pytest.approx(17.6)
    assert shown["sold"].tolist()[0] == 2
    assert shown["asked"].tolist()[0] == 1
    assert shown["sell_through"][0] == pytest.approx(2 / 3)
    assert shown["sell_through"].isna().tolist() == [False, True, True, False, True]
    assert shown["remark"].tolist() == ["rough estimate (2 sales)", "", "", "",
                                        "rough estimate (1 sale)"]  # fmt: skip
    assert shown["middle"][4] == 8.01
    assert shown["sold"][3] == 0
    assert shown["middle"].isna().tolist() == [False, True, True, True, False]


def test_one_bad_row_of_comparables_spoils_no_other(tmp_path: Path) -> None:
    rows: list[Row] = [
        {"item": "jug", "kind": "Sold", "price": 30, "seen_on": AS_OF},
        {"item": "jug", "kind": "Sold", "price": "20 EUR", "seen_on": AS_OF},
        {"item": "jug", "kind": "Sold", "price": 32, "seen_on": "in May"},
        {"item": "mug", "kind": "Sold", "price": 7, "seen_on": AS_OF},
    ]
    content = read(tmp_path, "functions", inputs(rows={"Comps": rows}), "Comps")
    assert content.shown["Comps"]["middle"].tolist()[:1] == [31]
    assert content.shown["Comps"]["middle"][3] == 7
    assert {p.key for p in content.problems} == {"not_a_number", "not_a_date"}
