"""Buying plan: counts, ties and cash by hand, and the best choice against every choice there is."""

from __future__ import annotations

import itertools
import random
from pathlib import Path

import pytest

from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import EDITIONS, Edition
from sheetfns.log.read.content import LogContent
from tests.log.quick_logs import quick_log
from tests.log.sheets.buying_plans import candidate, log_with_plan

both = pytest.mark.parametrize("edition", EDITIONS)


def planned(path: Path, edition: Edition, cash: float, rows: list[Row], **more: float) -> LogContent:
    """No wishes: what leaves a profit may be bought (test_plan_keeps_wishes.py has the others)."""
    settings = {"Wanted_profit": 0, "Wanted_return": 0, "Trip_cash": cash} | more
    return log_with_plan(path, edition, settings, rows)


@both
def test_as_many_as_the_cash_buys(tmp_path: Path, edition: Edition) -> None:
    rows = [
        candidate("Loss", 1, 0.5),
        candidate("Second", 8, 14, most=5),  # 75 %
        candidate("First", 5, 10, most=3),  # 100 %
        candidate("None left", 1, 50, most=0),
    ]
    content = planned(tmp_path, edition, 34, rows, Trip_reserve=2)
    plan = content.shown["Plan"]
    # 49 for 1, though there are none of it; then 100 %, 75 % and the loss.
    assert plan["rank"].tolist() == [4, 3, 2, 1]
    # Of 32, three at 5 leave 17: two at 8. All of it earns 15 + 12; four at 8 would earn 24.
    assert plan["buy"].tolist() == [0, 2, 3, 0]
    assert plan["buy_cost"].tolist() == [0, 16, 15, 0]
    assert plan["buy_profit"].tolist() == [0, 12, 15, 0]
    shelf = content.shown["Shelf"].iloc[0]
    assert (shelf["plan_cost"], shelf["plan_profit"]) == (31, 27)


@both
def test_ties_go_to_the_earlier_row(tmp_path: Path, edition: Edition) -> None:
    rows = [candidate(piece, 6, 9) for piece in ("one", "two", "three")]
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
    """9.99 and 8 % are 10.79 at the till: 10.78 does not buy it."""
    rows = [candidate("Lamp", 9.99, 20)]
    for cash, bought in ((10.78, 0), (10.79, 1)):
        wishes = {"Wanted_profit": 5, "Wanted_return": 0.5}
        content = planned(tmp_path, edition, cash, rows, Buying_tax_rate=0.08, **wishes)
        plan = content.shown["Plan"].iloc[0]
        assert plan["buy"] == bought
        assert plan["profit"] == pytest.approx(9.21)
        # Half as much again as it costs, and 5 more: 20 - 5 = 15 and 20 / 1.5, / 1.08.
        assert plan["ceiling"] == 12.34


@both
def test_rows_without_what_they_need_are_left_out(tmp_path: Path, edition: Edition) -> None:
    rows = [candidate("Lamp", 5, 9), {"piece": "Unclear"}, candidate("Jug", 5, 8)]
    settings = {"Trip_cash": 50, "Usual_packing": 0, "Wanted_profit": 0, "Wanted_return": 0}
    made = Inputs(settings, rows={"Plan": rows})
    content = load_log(quick_log(tmp_path / "log.xlsx", edition, made))
    plan = content.shown["Plan"]
    assert plan["rank"].isna().tolist() == [False, True, False]
    assert plan["buy"].dropna().tolist() == [1, 1]
    assert "fill in ticket and expected price" in plan["row_check"][1]
    assert compare(compute_log(content)).differences == []


@pytest.mark.parametrize("seed", range(3))
def test_the_best_of_all_choices(tmp_path: Path, seed: int) -> None:
    draw = random.Random(seed)
    tickets = [draw.randint(2, 9) for _ in range(6)]
    rows = [candidate(f"No. {t}", t, t + draw.randint(1, 9), most=2) for t in tickets]
    cash = draw.randint(12, 30)
    best = 0.0
    for counts in itertools.product(range(3), repeat=len(rows)):
        cost = sum(n * row["ticket"] for n, row in zip(counts, rows, strict=True))
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
