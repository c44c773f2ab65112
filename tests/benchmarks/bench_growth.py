"""Odds of 10,000 paths for two years of weeks, from histories of three lengths.

Run: pytest tests/benchmarks -o python_files="bench_*.py"
"""

from __future__ import annotations

import numpy as np
import pytest

from sheetfns import growth_odds, growth_path, weeks_to_pay
from sheetfns.functions import growth


def history(items: int) -> list[np.ndarray]:
    rng = np.random.default_rng(3)
    costs = np.round(rng.uniform(3, 25, items), 2)
    profits = np.round(rng.normal(8, 6, items), 2)
    days = rng.integers(2, 150, items).astype(float)
    return [costs, profits, days, rng.random(items) < 0.8]


def _fresh(columns, weeks=104, **named):
    growth._odds.cache_clear()
    return growth_odds(*columns, 500, weeks, 10, 40, 300, **named)


@pytest.mark.parametrize("items", [20, 200, 2_000, 20_000])
def test_odds_of_104_weeks(benchmark, items):
    found = benchmark.pedantic(_fresh, args=(history(items),), rounds=3)
    assert len(found) == 104


@pytest.mark.parametrize("items", [20, 200, 2_000])
def test_odds_of_104_weeks_with_opening_inventory(benchmark, items):
    named = {"opening_inventory": 2_000}
    found = benchmark.pedantic(_fresh, args=(history(items),), kwargs=named, rounds=3)
    assert len(found) == 104


@pytest.mark.parametrize("items_a_week", [4, 12, 40, 400])
def test_odds_of_104_weeks_by_what_a_week_buys(benchmark, items_a_week):
    columns = history(200)
    at_cost = items_a_week * float(columns[0].mean())

    def bought():
        growth._odds.cache_clear()
        named = {"buying_limit_week": at_cost, "opening_inventory": 10 * at_cost}
        return growth_odds(*columns, 10 * at_cost, 104, 10, 40, 300, **named)

    assert len(benchmark.pedantic(bought, rounds=3)) == 104


def test_odds_of_104_weeks_with_progress(benchmark):
    done = []

    def told():
        return growth.odds_with_progress(*history(200), 500, 104, 10, 40, 300, tick=done.append)

    assert len(benchmark.pedantic(told, rounds=3)) == 104
    assert done[-1] == 10_000


def test_odds_of_520_weeks(benchmark):
    found = benchmark.pedantic(_fresh, args=(history(200), 520), rounds=3)
    assert len(found) == 520


def test_odds_asked_for_again_for_one_more_cell(benchmark):
    columns = history(200)
    _fresh(columns)
    benchmark(growth_odds, *columns, 500, 104, 10, 40, 300)


def test_path_of_520_weeks(benchmark):
    assert len(benchmark(growth_path, 500, 0.2, 40, 520, 10, 40, 300, 300)) == 520


def test_weeks_to_pay_on_a_column(benchmark):
    stakes = np.linspace(500, 5_000, 100)
    found = benchmark(weeks_to_pay, stakes, 0.2, 40, 104, 10, 40, 300, 300)
    assert found.shape == (100,)
