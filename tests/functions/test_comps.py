"""Comparables: what must hold for every list of sales, and agreement with other libraries."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from sheetfns import CellError, asking_rank, comp_spread, comp_value, sell_through, sell_through_floor
from sheetfns.functions.comps import weighted_quantile

levels = st.integers(0, 100).map(lambda percent: percent / 100)
ages = st.integers(0, 900).map(float)


def cents(minimum: int, maximum: int) -> st.SearchStrategy[float]:
    return st.integers(minimum, maximum).map(lambda amount: amount / 100)


@st.composite
def weighted(draw: st.DrawFn) -> tuple[list[float], list[float]]:
    values = draw(st.lists(cents(0, 50_000), min_size=1, max_size=12))
    weights = st.sampled_from([1.0, 0.5, 0.25, 0.125, 0.75, 3.0])
    return values, draw(st.lists(weights, min_size=len(values), max_size=len(values)))


@given(st.lists(cents(0, 50_000), min_size=1, max_size=30), levels)
def test_equal_weights_give_the_quantile_of_numpy(values: list[float], level: float) -> None:
    found = weighted_quantile(np.array(values), np.full(len(values), 0.3), level)
    assert found == pytest.approx(np.quantile(values, level), rel=1e-9, abs=1e-9)


@given(weighted(), levels)
def test_a_weighted_quantile_is_the_mean_of_the_steps_under_its_window(
    sales: tuple[list[float], list[float]], level: float
) -> None:
    """In fractions, as an integral: n x the area of the steps between h / n and (h + 1) / n."""
    pairs = sorted(zip(*sales, strict=True), key=lambda pair: pair[0])
    values, weights = ([Fraction(pair[place]) for pair in pairs] for place in (0, 1))
    total = sum(weights)
    number = total**2 / sum(weight**2 for weight in weights)
    start = Fraction(level) * (number - 1) / number
    end = start + 1 / number
    area = lower = Fraction(0)
    for value, weight in zip(values, weights, strict=True):
        upper = lower + weight / total
        area += value * max(0, min(upper, end) - max(lower, start))
        lower = upper
    found = weighted_quantile(np.array(sales[0]), np.array(sales[1]), level)
    assert found == pytest.approx(float(number * area), rel=1e-9, abs=1e-9)


@given(weighted(), levels, st.floats(0.01, 100))
def test_only_ratios_of_weights_count(sales: tuple[list[float], list[float]], level: float, times: float) -> None:
    values, weights = map(np.array, sales)
    assert weighted_quantile(values, weights * times, level) == pytest.approx(
        weighted_quantile(values, weights, level), rel=1e-9, abs=1e-9
    )


@given(weighted(), levels, levels)
def test_a_higher_quantile_is_never_lower(sales: tuple[list[float], list[float]], one: float, other: float) -> None:
    values, weights = map(np.array, sales)
    low, high = (weighted_quantile(values, weights, level) for level in sorted([one, other]))
    assert min(values) <= low <= high + 1e-9
    assert high <= max(values)


@st.composite
def sales_lists(draw: st.DrawFn) -> dict[str, Any]:
    size = draw(st.integers(1, 12))

    def column(cell: st.SearchStrategy[Any]) -> list[Any]:
        return draw(st.lists(cell, min_size=size, max_size=size))

    return {
        "prices": column(cents(0, 30_000)),
        "postage_in": column(st.none() | st.booleans()),
        "postage": column(cents(0, 1_500)),
        "missing_value": draw(cents(0, 2_000)),
        "complete": column(st.none() | st.booleans()),
        "condition_rate": column(st.none() | st.sampled_from([0.5, 0.8, 1, 1.25])),
        "age_days": column(st.none() | ages),
        "half_life_days": draw(st.sampled_from([30, 90, 365])),
    }


@given(sales_lists(), levels, st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(sales: dict[str, Any], level: float, rng: Any) -> None:
    order = list(range(len(sales["prices"])))
    rng.shuffle(order)
    other = {
        name: [cells[place] for place in order] if isinstance(cells, list) else cells for name, cells in sales.items()
    }
    assert comp_value(**other, quantile=level) == pytest.approx(comp_value(**sales, quantile=level), rel=1e-9, abs=1e-9)


@given(sales_lists(), st.sampled_from([0, 0.1, 0.25, 0.5]))
def test_the_spread_is_three_values_and_counts_every_sale(sales: dict[str, Any], level: float) -> None:
    ((low, middle, high, used, dropped, remark),) = comp_spread(**sales, quantile=level)
    parts = (level, 0.5, 1 - level)
    assert [low, middle, high] == [comp_value(**sales, quantile=part) for part in parts]
    assert used + dropped == len(sales["prices"])
    assert ("excluded" in remark) == (dropped > 0)
    assert ("rough estimate" in remark) == (used <= 4 or high > 2 * low + 1e-9)


near = st.lists(cents(9_500, 10_500), min_size=5, max_size=12)


@given(near, st.data(), cents(0, 500) | cents(25_000, 900_000))
def test_one_wild_price_among_five_or_more_moves_nothing(prices: list[float], data: st.DataObject, wild: float) -> None:
    days = data.draw(st.lists(ages, min_size=len(prices), max_size=len(prices)))
    place = data.draw(st.integers(0, len(prices)))
    with_it = [*prices[:place], wild, *prices[place:]]
    days_with_it = [*days[:place], 0, *days[place:]]
    assert comp_value(with_it, age_days=days_with_it) == comp_value(prices, age_days=[day - min(days) for day in days])
    assert comp_spread(with_it).tolist()[0][3:5] == [len(prices), 1]


@given(near)
def test_one_more_sale_at_the_value_leaves_it_there(prices: list[float]) -> None:
    doubled = [2 * price for price in prices]
    value = comp_value(doubled)
    assert comp_value([*doubled, value]) == pytest.approx(value, abs=1e-9)


@given(near, cents(9_500, 10_500), levels)
def test_a_sale_of_long_ago_counts_for_nothing(prices: list[float], old: float, level: float) -> None:
    days = [*[0] * len(prices), 100_000]
    assert comp_value([*prices, old], age_days=days, quantile=level) == pytest.approx(
        comp_value(prices, quantile=level), abs=1e-9
    )


@given(near, cents(0, 9_000), st.sampled_from([0.5, 0.8, 1.25]))
def test_a_part_that_mine_lacks_comes_off_whatever_the_condition(
    prices: list[float], missing: float, rate: float
) -> None:
    incomplete = comp_value(prices, complete=False, missing_value=missing, condition_rate=rate)
    whole = comp_value(prices, condition_rate=rate)
    assert incomplete == whole
    bases = np.array([comp_value([price], condition_rate=rate) for price in prices])
    assert comp_value(bases, missing_value=missing) == comp_value(prices, missing_value=missing, condition_rate=rate)


@pytest.mark.parametrize("seed", range(40))
def test_wild_prices_are_those_far_out_by_scipys_deviation(seed: int) -> None:
    rng = np.random.default_rng(seed)
    prices = np.round(rng.lognormal(3, 0.8, 25), 2)
    middle = np.median(prices)
    scale = max(stats.median_abs_deviation(prices, scale="normal"), 0.1 * middle)
    kept = prices[np.abs(prices - middle) <= 3.5 * scale]
    assert comp_value(prices, quantile=1) == kept.max()
    assert comp_value(prices) == pytest.approx(np.median(kept))
    assert comp_spread(prices).tolist()[0][3:5] == [kept.size, prices.size - kept.size]


def test_two_remarks_stand_side_by_side() -> None:
    ((*_, used, dropped, remark),) = comp_spread([10, 10.5, 11, 200, 300]).tolist()
    assert (used, dropped) == (3, 2)
    assert remark == "rough estimate (3 sales); 2 outliers excluded"


def test_a_bad_row_of_terms_stays_alone() -> None:
    found = comp_value([10, 20], age_days=[0, 90], half_life_days=[90, 0, 90])
    assert found[[0, 2]].tolist() == [12, 12]
    assert isinstance(found[1], CellError)
    assert found[1].message.startswith("half_life_days: is 0")


def test_a_range_that_is_wrong_is_an_error_in_each_row() -> None:
    found = comp_value([10, 20], condition_rate=-1, missing_value=[0, 1, "x"])
    assert [str(cell).split(";")[0] for cell in found] == [
        "#NUM! condition_rate: -1 beside price 1 is below 0",
        "#NUM! condition_rate: -1 beside price 1 is below 0",
        "#VALUE! missing_value: 'x' is not a number",
    ]


def test_a_bad_term_in_a_column_leaves_the_others() -> None:
    found = comp_value([10, 20], missing_value=[0, "x", np.inf, -1e308], quantile=[0.5] * 4)
    assert found[0] == 15
    assert all(isinstance(cell, CellError) for cell in found[1:])


@pytest.mark.parametrize(
    ("terms", "message"),
    [
        ({"age_days": [1, 2]}, "age_days: 2 cells for 3 prices; give one for each price, or "),
        ({"postage_in": [True] * 4}, "postage_in: 4 cells for 3 prices; give one for each price"),
        ({"condition_rate": [1, 1, -0.5]}, "condition_rate: -0.5 beside price 3 is below 0; write"),
    ],
)
def test_what_does_not_fit_the_prices_is_named(terms: dict[str, Any], message: str) -> None:
    with pytest.raises(CellError) as error:
        comp_value([10, 20, 30], **terms)
    assert error.value.message.startswith(message)


@given(cents(0, 3_000), st.lists(cents(0, 3_000), min_size=1, max_size=9))
def test_the_rank_is_that_of_scipy(mine: float, asked: list[float]) -> None:
    found = asking_rank(mine, asked)
    assert found == stats.rankdata([mine, *asked], method="min")[0]
    assert asking_rank([mine, mine], [*asked, None]).tolist() == [found, found]


@settings(max_examples=200)
@given(st.data(), st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99, 0.999]))
def test_the_floor_is_scipys_wilson_bound(data: st.DataObject, confidence: float) -> None:
    offered = data.draw(st.integers(1, 2_000))
    sold = data.draw(st.integers(0, offered))
    interval = stats.binomtest(sold, offered).proportion_ci(confidence, method="wilson")
    found = sell_through_floor(sold, offered, confidence)
    assert found == pytest.approx(interval.low, rel=1e-9, abs=1e-12)
    assert (found == 0) == (sold == 0)
    assert found <= sell_through(sold, offered)


@given(st.integers(1, 300), st.integers(2, 20))
def test_more_of_the_same_raises_the_floor(sold: int, times: int) -> None:
    offered = 2 * sold
    assert sell_through_floor(sold, offered) < sell_through_floor(times * sold, times * offered)
