"""What to pay and what to buy: targets hold, plans are the best of all."""

from __future__ import annotations

import itertools
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
import scipy.optimize
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sheetfns import CellError, afford_count, buy_ceiling, buy_plan, buy_remark, landed_cost, net_profit, selling_fee
from sheetfns.functions import buying


def cents(minimum: int, maximum: int) -> st.SearchStrategy[float]:
    return st.integers(minimum, maximum).map(lambda amount: amount / 100)


offers = st.fixed_dictionaries(
    {
        "expected_price": cents(0, 20_000),
        "shipping": cents(0, 1_500),
        "postage": cents(0, 1_500),
        "packaging": cents(0, 200),
        "rate": st.sampled_from([0, 0.1, 0.115, 0.2]),
        "per_order": st.sampled_from([0, 0.3, 0.45]),
        "target_profit": st.just(0.0) | cents(1, 4_000),
        "target_return": st.sampled_from([0, 0.3, 0.5, 1, 2.5]),
        "tax_rate": st.sampled_from([0, 0.0725, 0.1]),
        "prep_cost": cents(0, 500),
        "purchase_tax_rate": st.sampled_from([0, 0.05, 0.0825]),
    }
)


def profit_at(price_tag: float, offer: dict[str, float]) -> tuple[float, float]:
    """Profit and landed cost by the functions that the log uses after the purchase."""
    sale = {name: offer[name] for name in ("shipping", "postage", "packaging")}
    price = offer["expected_price"]
    fee = selling_fee(price, offer["shipping"], offer["rate"], offer["per_order"], offer["tax_rate"])
    cost = landed_cost(price_tag, price_tag * offer["purchase_tax_rate"], offer["prep_cost"])
    return net_profit(price, fee=fee, landed_cost=cost, **sale), cost


@settings(max_examples=400)
@given(offers)
def test_at_the_ceiling_one_target_is_just_met_and_the_other_holds(offer: dict[str, float]) -> None:
    ceiling = buy_ceiling(**offer)
    profit, cost = profit_at(ceiling, offer)
    over_profit = profit - offer["target_profit"]
    over_return = profit - offer["target_return"] * cost
    remark = buy_remark(**offer)
    if remark.startswith("no price is low enough"):
        assert ceiling == 0
        assert min(over_profit, over_return) < 0
        shown = remark.removeprefix("no price is low enough: ").split()[0]
        assert shown != "-0.00"
        assert float(shown) == pytest.approx(profit + cost, abs=1e-9)
        return
    assert min(over_profit, over_return) == pytest.approx(0, abs=1e-7)
    binding = {
        "the target profit sets the limit": over_profit,
        "the target return sets the limit": over_return,
        "both targets set the limit": max(over_profit, over_return),
        "break-even: no target profit or return": profit,
    }[remark]
    assert binding == pytest.approx(0, abs=1e-7)


@given(offers, cents(1, 1_000))
def test_a_dearer_price_tag_breaks_a_target(offer: dict[str, float], more: float) -> None:
    profit, cost = profit_at(buy_ceiling(**offer) + more, offer)
    assert profit < offer["target_profit"] or profit < offer["target_return"] * cost


def test_a_column_with_a_bad_row() -> None:
    found = buy_remark([45, 45], 5, 6.25, 0.75, 0.1, 0.5, [10, -1])
    assert found[0] == "the target profit sets the limit"
    assert isinstance(found[1], CellError)
    assert found[1].message.startswith("target_profit: ")


@given(st.integers(0, 10**7), st.integers(1, 10**5))
def test_cash_buys_whole_items_to_the_cent(cash: int, price: int) -> None:
    assert afford_count(cash / 100, price / 100) == cash // price


Candidates = list[tuple[int, int, int, int]]
"""Cost and profit in cents, days, most of it."""
DAYS = [1, 2, 4, 5, 8, 10, 20, 25, 40, 50]
"""A profit in cents through these has no more than six digits."""
candidates: st.SearchStrategy[Candidates] = st.lists(
    st.tuples(st.integers(0, 40), st.integers(-5, 40), st.sampled_from(DAYS), st.integers(0, 3)), min_size=1, max_size=5
)


def gain(row: tuple[int, int, int, int], by_day: bool) -> Fraction:
    return Fraction(row[1], row[2] if by_day else 1)


def plan(rows: Candidates, room: int, by_day: bool, reserve: int = 0) -> list[int]:
    costs, profits, days, maximum = zip(*rows, strict=True)
    found = buy_plan(
        [cost / 100 for cost in costs],
        [profit / 100 for profit in profits],
        (room + reserve) / 100,
        list(days) if by_day else None,
        list(maximum),
        reserve / 100,
    )
    return [int(count) for count in found]


def totals(rows: Candidates, counts: Any, by_day: bool) -> tuple[Fraction, int]:
    """Value, and cash spent."""
    pairs = list(zip(rows, counts, strict=True))
    return (
        sum((gain(row, by_day) * count for row, count in pairs), Fraction(0)),
        sum(row[0] * count for row, count in pairs),
    )


def best_by_trying(rows: Candidates, room: int, by_day: bool) -> tuple[Fraction, int]:
    """The highest value within `room`, and the least cash that brings it."""
    every = (totals(rows, counts, by_day) for counts in itertools.product(*(range(row[3] + 1) for row in rows)))
    within = [(value, spent) for value, spent in every if spent <= room]
    value = max(value for value, _ in within)
    return value, min(spent for worth, spent in within if worth == value)


@settings(max_examples=300, deadline=None)
@given(candidates, st.integers(0, 120), st.booleans(), st.integers(0, 50))
def test_no_other_choice_is_better(rows: Candidates, room: int, by_day: bool, reserve: int) -> None:
    counts = plan(rows, room, by_day, reserve)
    assert all(0 <= count <= row[3] for count, row in zip(counts, rows, strict=True))
    assert not any(count for count, row in zip(counts, rows, strict=True) if row[1] <= 0)
    assert totals(rows, counts, by_day) == best_by_trying(rows, room, by_day)


@settings(max_examples=60, deadline=None)
@given(candidates, st.integers(0, 120), st.booleans())
def test_the_solver_finds_the_best_choice_too(rows: Candidates, room: int, by_day: bool) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(buying, "TABLE_CELLS", -1)
        buying._planned.cache_clear()
        counts = plan(rows, room, by_day)
        buying._planned.cache_clear()
    assert totals(rows, counts, by_day) == best_by_trying(rows, room, by_day)


@settings(deadline=None)
@given(
    candidates,
    st.integers(0, 120),
    st.booleans(),
    st.tuples(st.integers(0, 40), st.integers(-5, 40), st.sampled_from(DAYS), st.just(1)),
    st.integers(0, 5),
)
def test_one_more_candidate_never_lowers_the_value(
    rows: Candidates, room: int, by_day: bool, more: tuple[int, int, int, int], place: int
) -> None:
    longer = [*rows[:place], more, *rows[place:]]
    before = totals(rows, plan(rows, room, by_day), by_day)[0]
    assert totals(longer, plan(longer, room, by_day), by_day)[0] >= before


@settings(deadline=None)
@given(candidates, st.integers(0, 120), st.randoms(use_true_random=False))
def test_the_order_of_candidates_changes_neither_value_nor_cash(rows: Candidates, room: int, rng: Any) -> None:
    shuffled = rows.copy()
    rng.shuffle(shuffled)
    assert totals(rows, plan(rows, room, False), False) == totals(shuffled, plan(shuffled, room, False), False)


def test_alike_rows_go_by_their_order_across_the_list() -> None:
    costs, profits = [5, 7, 5, 7, 5], [3, 4, 3, 4, 3]
    assert buy_plan(costs, profits, 17).tolist() == [1, 1, 1, 0, 0]
    assert buy_plan([5, 5], [3, 3], 20, maximum_of_each=[3, 3]).tolist() == [3, 1]


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(("kind", "number"), [("random", 24), ("alike in profit", 24), ("alike in return", 9)])
def test_table_and_solver_agree_where_costs_are_large(seed: int, kind: str, number: int) -> None:
    rng = np.random.default_rng(seed)
    costs = rng.integers(1_000, 400_000, number)
    profits = {
        "random": rng.integers(1, 500_000, number),
        "alike in profit": costs + 5_000,
        "alike in return": costs // 2,
    }[kind]
    maximum = rng.integers(1, 4, number)
    choices = [buying._Choice(*map(int, row)) for row in zip(costs, profits, maximum, strict=True)]
    room = int(costs @ maximum) // 4
    both = [by(choices, room) for by in (buying.by_table, buying.by_states)]
    spent = [int(costs @ counts) for counts in both]
    assert int(profits @ both[0]) == int(profits @ both[1])
    assert spent[0] == spent[1] <= room


def hard_rows(number: int) -> tuple[list[float], list[float]]:
    """Profit = cost + 5.00: what branch and bound is slow at."""
    costs = np.random.default_rng(2).integers(50, 5_000, number) / 100
    return costs.tolist(), (costs + 5).round(2).tolist()


def test_without_a_proof_in_time_there_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    costs, profits = hard_rows(1_000)
    cash = round(sum(costs) / 10, 2)
    monkeypatch.setattr(buying, "TABLE_CELLS", 0)
    monkeypatch.setattr(buying, "SECONDS", 0.0)
    buying._planned.cache_clear()
    with pytest.raises(CellError) as error:
        buy_plan(costs, profits, cash)
    assert error.value.code == "#NUM!"
    assert error.value.message.startswith("costs: no best choice could be proved within 0 s; use ")
    monkeypatch.undo()
    buying._planned.cache_clear()
    assert buy_plan(costs, profits, cash).sum() > 0


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("kind", ["random", "by day", "a fifth"])
def test_the_solver_agrees_with_another_solver_where_a_table_would_be_too_large(seed: int, kind: str) -> None:
    rng = np.random.default_rng(seed)
    costs = rng.integers(10_000, 9_000_000, 60)
    values = {
        "random": rng.integers(1, 9_000_000, 60),
        "by day": costs * 10_000 // rng.integers(5, 300, 60),
        "a fifth": costs // 5 + rng.integers(0, 500, 60),
    }[kind]
    maximum = rng.integers(1, 6, 60)
    room = int(costs @ maximum) // 3
    choices = [buying._Choice(*map(int, row)) for row in zip(costs, values, maximum, strict=True)]
    counts = np.array(buying.by_states(choices, room))
    assert (counts >= 0).all() and (counts <= maximum).all() and costs @ counts <= room
    other = scipy.optimize.milp(
        -values.astype(float),
        constraints=scipy.optimize.LinearConstraint(costs[None].astype(float), -np.inf, room + 0.5),
        integrality=np.ones(60),
        bounds=scipy.optimize.Bounds(0, maximum),
        options={"time_limit": 20, "mip_rel_gap": 1e-9},
    )
    assert values @ counts >= values @ np.round(other.x).astype(int)
    # The proof of the other: nothing is worth more than this.
    assert values @ counts <= -other.mip_dual_bound * (1 + 1e-9) + 0.5


def test_a_plan_is_worked_out_once_for_all_its_rows() -> None:
    buying._planned.cache_clear()
    costs, profits = hard_rows(50)
    found = [buy_plan(costs, profits, 200)[row] for row in range(50)]
    assert sum(found) > 0
    info = buying._planned.cache_info()
    assert (info.misses, info.hits) == (1, 49)


def test_a_result_may_be_changed_without_changing_the_next() -> None:
    first = buy_plan([10, 20], [5, 6], 10)
    first[:] = 99
    assert buy_plan([10, 20], [5, 6], 10).tolist() == [1, 0]


@pytest.mark.parametrize(
    ("cells", "message"),
    [
        (([10, 20], [5, None], 30), "profits: cell 2 of the range is blank; "),
        (([None, 20], [5, 6], 30), "costs: cell 1 of the range is blank; "),
        (([10, 20], [5, 6], 30, [4, None]), "days_to_sell: cell 2 of the range is blank; "),
        (([10, 20], [5, 6], 30, [4, 0]), "days_to_sell: cell 2 of the range is 0; "),
        (([10, 2e7], [5, 6], 30), "costs: cell 2 of the range is over 10,000,000; "),
        (([1e6, 1e6], [1e7, 1e7], 15e5, [1e-4, 1e-3]), "profits: too large to compare"),
    ],
)
def test_errors_name_the_cell(cells: tuple[Any, ...], message: str) -> None:
    with pytest.raises(CellError) as error:
        buy_plan(*cells)
    assert error.value.message.startswith(message)


def test_a_blank_row_may_lie_between() -> None:
    found = buy_plan([10, None, 20], [5, None, 30], 30, [4, None, 5], [1, 7, None])
    assert np.isnan(found[1])
    assert found[[0, 2]].tolist() == [1, 1]


@given(st.integers(1, 300), st.integers(1, 60))
def test_one_candidate_is_a_matter_of_dividing(room: int, cost: int) -> None:
    assume(cost <= room)
    assert plan([(cost, 7, 1, 400)], room, False) == [room // cost]
