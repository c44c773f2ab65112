"""Buying plan buys nothing that misses a target on Settings, in either edition."""

from __future__ import annotations

import itertools
import random
from pathlib import Path

import pytest

from sheetfns.log.model.inputs import Row
from sheetfns.log.model.sheets import EDITIONS, Edition
from sheetfns.log.read.content import LogContent
from tests.log.sheets.buying_plans import candidate, log_with_plan

both = pytest.mark.parametrize("edition", EDITIONS)
OVER, NO_PRICE = "over your most to pay", "no price is low enough"
TARGETS = {"Target_profit": 5, "Target_return": 0.5}


def planned(path: Path, edition: Edition, rows: list[Row], shelf: Row | None = None, **settings: float) -> LogContent:
    return log_with_plan(path, edition, {"Trip_cash": 1000, **TARGETS, **settings}, rows, shelf)


@both
def test_what_misses_a_target_is_not_bought_however_much_cash_there_is(tmp_path: Path, edition: Edition) -> None:
    rows = [
        # The most to pay, by hand: the lower of price - 5 and price / 1.5, down to the cent.
        candidate("many at a high return", 0.75, 5, maximum=8),  # most 0: 4.25 is under 5
        candidate("at the most", 13.33, 20, maximum=2),  # 15 and 13.33
        candidate("a cent over", 13.34, 20, maximum=2),
        candidate("free, just the target", 0, 5),
        candidate("free, under the target", 0, 4.99),
        candidate("a loss", 9, 8),  # most 3
        candidate("by the wanted profit", 7.5, 12.5),  # 7.5 and 8.33
        candidate("well under", 2, 12.5),
    ]
    plan = planned(tmp_path, edition, rows).shown["Plan"]
    assert plan["ceiling"].tolist() == [0, 13.33, 13.33, 0, 0, 3, 7.5, 7.5]
    assert plan["plan_remark"].tolist() == [OVER, "", OVER, "", NO_PRICE, OVER, "", ""]
    assert plan["buy"].tolist() == [0, 2, 0, 1, 0, 0, 1, 1]
    # Free, 525%, 67%, 50%; then free, 567%, 49.9%, the loss: none of them is bought.
    assert plan["rank"].tolist() == [6, 4, 7, 1, 5, 8, 3, 2]
    assert plan["buy_cost"].sum() == pytest.approx(2 * 13.33 + 7.5 + 2)


@both
def test_what_is_not_bought_takes_no_cash_from_the_others(tmp_path: Path, edition: Edition) -> None:
    rows = [candidate("over", 8, 12.5, maximum=3), candidate("under", 10, 16, maximum=2)]
    plan = planned(tmp_path, edition, rows, Trip_cash=20).shown["Plan"]
    assert plan["return_on_cost"][0] == pytest.approx(4.5 / 8)
    assert plan["plan_remark"].tolist() == [OVER, ""]
    assert plan["buy"].tolist() == [0, 2]


@both
def test_without_targets_whatever_leaves_a_profit_may_be_bought(tmp_path: Path, edition: Edition) -> None:
    rows = [candidate("a cent", 5, 5.01, maximum=2), candidate("nothing", 5, 5), candidate("-", 5, 4)]
    plan = planned(tmp_path, edition, rows, Target_profit=0, Target_return=0).shown["Plan"]
    assert plan["plan_remark"].tolist() == ["", "", OVER]
    assert plan["buy"].tolist() == [2, 0, 0]


@both
@pytest.mark.parametrize(
    ("price_tag", "verdict", "bought"), [(12.33, "Buy up to 12.33", 1), (12.34, "Only at 12.33 or less", 0)]
)
def test_shelf_check_and_plan_say_the_same(
    tmp_path: Path, edition: Edition, price_tag: float, verdict: str, bought: int
) -> None:
    """20 for it, and 8.1% of tax at the till: 20 / 1.5 / 1.081 is 12.334."""
    shelf = {"sold_1": 20, "channel": "Local sale", "price_tag": price_tag}
    content = planned(tmp_path, edition, [candidate("Lamp", price_tag, 20)], shelf, Buying_tax_rate=0.081)
    assert content.shown["Shelf"].iloc[0]["verdict"] == verdict
    assert content.shown["Plan"]["buy"].tolist() == [bought]
    assert content.shown["Shelf"].iloc[0]["plan_cost"] == pytest.approx(bought * round(price_tag * 1.081, 2))


@both
def test_by_the_day_too(tmp_path: Path, edition: Edition) -> None:
    rows = [candidate("over, soon", 1, 5.5, days_to_sell=1), candidate("under, late", 10, 30, days_to_sell=300)]
    content = planned(tmp_path, edition, rows, Plan_by="Profit per day")  # type: ignore[arg-type]
    assert content.shown["Plan"]["buy"].tolist() == [0, 1]
    assert content.shown["Plan"]["rank"].tolist() == [2, 1]


@pytest.mark.parametrize("seed", range(2))
def test_the_best_of_all_choices_that_keep_the_targets(tmp_path: Path, seed: int) -> None:
    draw = random.Random(seed)
    price_tags = [draw.randint(2, 9) for _ in range(7)]
    rows = [candidate(f"No. {t}", t, t + draw.randint(2, 9), maximum=2) for t in price_tags]
    keeps = [r["expected_price"] - r["price_tag"] >= max(5, r["price_tag"] / 2) for r in rows]
    assert 0 < sum(keeps) < len(rows)
    cash = draw.randint(12, 30)
    best = 0.0
    for counts in itertools.product(*(range(3) if keep else (0,) for keep in keeps)):
        cost = sum(n * row["price_tag"] for n, row in zip(counts, rows, strict=True))
        if cost <= cash:
            prices = sum(n * row["expected_price"] for n, row in zip(counts, rows, strict=True))
            best = max(best, prices - cost)
    totals = {}
    for edition in EDITIONS:
        plan = planned(tmp_path, edition, rows, Trip_cash=cash).shown["Plan"]
        assert not plan["buy"][[not keep for keep in keeps]].any()
        totals[edition] = plan["buy_profit"].sum()
    assert totals["functions"] == best
    assert 0 < totals["plain"] <= best
