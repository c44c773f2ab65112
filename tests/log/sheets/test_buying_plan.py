"""Buying plan: counts, ties and cash by hand, and the best choice against every choice there is."""

from __future__ import annotations

import itertools
import math
import random
from pathlib import Path
from typing import Any

import pytest

from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import EDITIONS, Edition
from sheetfns.log.read.content import LogContent
from tests.log.sheet_logs import sheet_figures
from tests.log.sheets.buying_plans import candidate, log_with_plan
from tests.log.sheets.small_shop import form, inputs, read

both = pytest.mark.parametrize("edition", EDITIONS)


def planned(path: Path, edition: Edition, cash: float, rows: list[Row], **more: float) -> LogContent:
    """No targets: what leaves a profit may be bought (test_plan_keeps_targets.py has the others)."""
    settings = {"Target_profit": 0, "Target_return": 0, "Trip_cash": cash} | more
    return log_with_plan(path, edition, settings, rows)


@both
def test_as_many_as_the_cash_buys(tmp_path: Path, edition: Edition) -> None:
    rows = [
        candidate("Loss", 1, 0.5),
        candidate("Second", 8, 14, maximum=5),  # 75%
        candidate("First", 5, 10, maximum=3),  # 100%
        candidate("None left", 1, 50, maximum=0),
    ]
    content = planned(tmp_path, edition, 34, rows, Trip_reserve=2)
    plan = content.shown["Plan"]
    # 49 for 1, though there are none of it; then 100%, 75% and the loss.
    assert plan["rank"].tolist() == [4, 3, 2, 1]
    # Of 32, three at 5 leave 17: two at 8. All of it earns 15 + 12; four at 8 would earn 24.
    assert plan["buy"].tolist() == [0, 2, 3, 0]
    assert plan["buy_cost"].tolist() == [0, 16, 15, 0]
    assert plan["buy_profit"].tolist() == [0, 12, 15, 0]
    shelf = content.shown["Shelf"].iloc[0]
    assert (shelf["plan_cost"], shelf["plan_profit"]) == (31, 27)


@both
@pytest.mark.parametrize(
    ("settings", "channel", "profit"),
    [
        # 20.00 less 10.00: no fee at the booth, which is the first channel; a tenth on the site.
        ({}, "", 10.0),
        ({"Default_channel": "Site"}, "", 8.0),
        ({"Default_channel": "site"}, "", 8.0),
        ({"Default_channel": "Site"}, "Booth", 10.0),
    ],
)
def test_without_a_channel_the_default_one_counts(
    tmp_path: Path, edition: Edition, settings: Row, channel: str, profit: float
) -> None:
    shown = lamp(tmp_path, edition, settings, {"name": "Booth"}, channel)
    assert (shown["profit"], shown["row_check"]) == (pytest.approx(profit), "ok")


@both
@pytest.mark.parametrize(("settings", "first"), [({}, {}), ({"Default_channel": "Fair"}, {"name": "Booth"})])
def test_without_any_channel_the_row_says_so(tmp_path: Path, edition: Edition, settings: Row, first: Row) -> None:
    shown = lamp(tmp_path, edition, settings, first, "")
    assert math.isnan(shown["profit"])
    assert shown["row_check"] == "channel is blank or not on Settings"


def lamp(path: Path, edition: Edition, settings: Row, first: Row, channel: str) -> dict[str, Any]:
    """What the plan shows of one candidate; `first` is the first channel of the table."""
    made = inputs(
        settings={"Usual_packaging": 0, "Trip_cash": 50} | settings,
        blocks={"Channel": [first, {"name": "Site", "rate": 0.1}]},
        rows={"Plan": [{**candidate("Lamp", 10, 20), "channel": channel}], "Log": []},
    )
    plan = sheet_figures(path / "log.xlsx", made, edition, "Plan").content.shown["Plan"]
    return {str(key): value for key, value in plan.iloc[0].items()}


@both
def test_ties_go_to_the_earlier_row(tmp_path: Path, edition: Edition) -> None:
    rows = [candidate(item, 6, 9) for item in ("one", "two", "three")]
    plan = planned(tmp_path, edition, 12.5, rows).shown["Plan"]
    assert plan["rank"].tolist() == [1, 2, 3]
    assert plan["buy"].tolist() == [1, 1, 0]


@both
def test_more_kept_back_than_there_is(tmp_path: Path, edition: Edition) -> None:
    rows = [candidate("Lamp", 0.01, 9)]
    plan = planned(tmp_path, edition, 5, rows, Trip_reserve=5.01).shown["Plan"]
    assert plan["buy"].tolist() == [0]


@both
def test_the_till_adds_tax(tmp_path: Path, edition: Edition) -> None:
    """9.99 and 8% are 10.79 at the till: 10.78 does not buy it."""
    rows = [candidate("Lamp", 9.99, 20)]
    for cash, bought in ((10.78, 0), (10.79, 1)):
        targets = {"Target_profit": 5, "Target_return": 0.5}
        content = planned(tmp_path, edition, cash, rows, Buying_tax_rate=0.08, **targets)
        plan = content.shown["Plan"].iloc[0]
        assert plan["buy"] == bought
        assert plan["profit"] == pytest.approx(9.21)
        # Half as much again as it costs, and 5 more: 20 - 5 = 15 and 20 / 1.5, / 1.08.
        assert plan["ceiling"] == 12.34


@both
def test_rows_without_what_they_need_are_left_out(tmp_path: Path, edition: Edition) -> None:
    rows = [candidate("Lamp", 5, 9), {"item": "Unclear"}, candidate("Jug", 5, 8)]
    settings = {"Trip_cash": 50, "Usual_packaging": 0, "Target_profit": 0, "Target_return": 0}
    made = Inputs(settings, rows={"Plan": rows})
    plan = sheet_figures(tmp_path / "log.xlsx", made, edition, "Shelf").content.shown["Plan"]
    assert plan["rank"].isna().tolist() == [False, True, False]
    assert plan["buy"].dropna().tolist() == [1, 1]
    assert "fill in price tag and expected price" in plan["row_check"][1]


@pytest.mark.parametrize("seed", range(3))
def test_the_best_of_all_choices(tmp_path: Path, seed: int) -> None:
    draw = random.Random(seed)
    price_tags = [draw.randint(2, 9) for _ in range(6)]
    rows = [candidate(f"No. {t}", t, t + draw.randint(1, 9), maximum=2) for t in price_tags]
    cash = draw.randint(12, 30)
    best = 0.0
    for counts in itertools.product(range(3), repeat=len(rows)):
        cost = sum(n * row["price_tag"] for n, row in zip(counts, rows, strict=True))
        if cost <= cash:
            prices = sum(n * row["expected_price"] for n, row in zip(counts, rows, strict=True))
            best = max(best, prices - cost)
    totals = {}
    for edition in EDITIONS:
        shelf = planned(tmp_path, edition, cash, rows).shown["Shelf"].iloc[0]
        assert shelf["plan_cost"] <= cash
        totals[edition] = shelf["plan_profit"]
    assert totals["functions"] == best
    assert 0 < totals["plain"] <= best


# Landed 6, 5, 5 (no tax); profits by hand: price - fee - 0.50 - cost at the booth, which has no fee.
PLAN: list[Row] = [
    {"item": "Six", "price_tag": 6, "expected_price": 16.5, "channel": "Booth"},  # 10.00
    {"item": "Five", "price_tag": 5, "expected_price": 13, "channel": "Booth"},  # 7.50
    {"item": "Other five", "price_tag": 5, "expected_price": 13, "channel": "Booth"},  # 7.50
    {"item": "Dud", "price_tag": 5, "expected_price": 5, "channel": "Booth"},  # -0.50
]


@pytest.mark.parametrize(("edition", "bought"), [("plain", [1, 0, 0, 0]), ("functions", [0, 1, 1, 0])])
def test_the_best_plan_against_the_ranking(tmp_path: Path, edition: Edition, bought: list[int]) -> None:
    """With 10 to spend, 6 ranks first (10 / 6 over 7.50 / 5), but two at 5 earn 15."""
    made = inputs(settings={"Trip_cash": 12, "Trip_reserve": 2}, rows={"Plan": PLAN})
    content = read(tmp_path, edition, made, "Shelf")
    shown = content.shown["Plan"]
    assert content.problems == []
    assert shown["profit"].tolist() == [10, 7.5, 7.5, -0.5]
    assert shown["rank"].tolist() == [1, 2, 3, 4]
    # The targets, 5 and 100%, allow up to 8.00, 6.25 and 2.50.
    assert shown["plan_remark"].tolist() == ["", "", "", "over your most to pay"]
    assert shown["buy"].tolist() == bought
    total = form(content, "Shelf")
    assert total["plan_cost"] == sum(n * c for n, c in zip(bought, (6, 5, 5, 5), strict=True))
    assert total["plan_profit"] == (10 if edition == "plain" else 15)


@both
def test_plan_by_the_day_free_items_and_no_cash(tmp_path: Path, edition: Edition) -> None:
    rows: list[Row] = [
        PLAN[0] | {"days_to_sell": 100.0},
        PLAN[1] | {"days_to_sell": 10.0},
        {"item": "Gift", "price_tag": 0, "expected_price": 6, "channel": "Booth", "maximum": 2,
         "days_to_sell": 5.0},
        {"item": "Unclear", "price_tag": "3 EUR", "expected_price": 9, "channel": "Booth",
         "days_to_sell": 5.0},
    ]  # fmt: skip
    by_day = {"Trip_cash": 6, "Trip_reserve": 0, "Plan_by": "Profit per day"}
    content = read(tmp_path, edition, inputs(settings=by_day, rows={"Plan": rows}), "Shelf")
    assert content.shown["Plan"]["rank"].tolist()[:3] == [3, 2, 1]
    assert content.shown["Plan"]["buy"].tolist()[:3] == [0, 1, 2]
    made = inputs(settings=by_day | {"Trip_cash": 0}, rows={"Plan": rows})
    assert read(tmp_path, edition, made, "Shelf").shown["Plan"]["buy"].tolist()[:3] == [0, 0, 2]
