"""Plans for 500 candidates: by table and by solver, ordinary and hard ones, in one run.

Run: pytest tests/benchmarks -o python_files="bench_*.py"
"""

from __future__ import annotations

import numpy as np
import pytest

from sheetfns import buy_plan
from sheetfns.functions import buying

ROWS = 500
KINDS = ("random", "alike in profit", "alike in return")


def candidates(kind: str) -> tuple[list[float], list[float], float]:
    """Costs of 0.50 to 50.00, profits, and cash for a tenth of all."""
    rng = np.random.default_rng(1)
    cents = rng.integers(50, 5_000, ROWS)
    profits = {"random": rng.integers(1, 8_000, ROWS), "alike in profit": cents + 500, "alike in return": cents // 2}[
        kind
    ]
    return (cents / 100).tolist(), (profits / 100).tolist(), float(cents.sum() // 1_000)


def _fresh(costs, profits, cash, days=None):
    buying._planned.cache_clear()
    return buy_plan(costs, profits, cash, days)


@pytest.mark.parametrize("kind", KINDS)
def test_plan_by_table(benchmark, kind):
    costs, profits, cash = candidates(kind)
    assert benchmark(_fresh, costs, profits, cash) @ costs <= cash


def test_plan_by_table_for_each_day(benchmark):
    costs, profits, cash = candidates("random")
    days = np.random.default_rng(2).integers(1, 200, ROWS).tolist()
    assert benchmark(_fresh, costs, profits, cash, days) @ costs <= cash


def test_plan_by_table_with_cash_of_5_000(benchmark):
    costs, profits, _ = candidates("random")
    counts = benchmark.pedantic(_fresh, args=(costs, profits, 5_000), rounds=3)
    assert counts @ costs <= 5_000


@pytest.mark.parametrize("kind", KINDS)
def test_plan_by_states(benchmark, kind, monkeypatch):
    monkeypatch.setattr(buying, "TABLE_CELLS", 0)
    costs, profits, cash = candidates(kind)
    choices = [
        buying._Choice(round(cost * 100), round(profit * 100), 1) for cost, profit in zip(costs, profits, strict=True)
    ]
    found = benchmark.pedantic(buying.by_states, args=(choices, round(cash * 100)), rounds=3)
    assert len(found) == ROWS


def test_plan_asked_for_again_for_one_more_row(benchmark):
    costs, profits, cash = candidates("random")
    _fresh(costs, profits, cash)
    benchmark(buy_plan, costs, profits, cash)
