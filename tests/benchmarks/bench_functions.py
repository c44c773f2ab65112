"""A function on whole columns against the bare NumPy expression, in one run.

Run: pytest tests/benchmarks -o python_files="bench_*.py"
"""

from __future__ import annotations

import numpy as np
import pytest

from sheetfns import calling, net_profit
from sheetfns.registry import REGISTRY

ROWS = 100_000


@pytest.fixture(scope="module")
def columns() -> list[np.ndarray]:
    draw = np.random.default_rng(1)
    return [np.round(draw.uniform(0, 50, ROWS), 2) for _ in range(7)]


def test_bare_numpy_on_100_000_rows(benchmark, columns):
    price, shipping, fee, postage, packaging, cost, refund = columns
    benchmark(lambda: price + shipping - fee - postage - packaging - cost - refund)


def test_net_profit_on_100_000_rows(benchmark, columns):
    benchmark(net_profit, *columns)


def test_net_profit_on_100_000_rows_with_text_in_one(benchmark, columns):
    mixed = columns[0].astype(object)
    mixed[500] = "4,50"
    outcome = benchmark(calling.evaluate, REGISTRY["NET_PROFIT"], [mixed, *columns[1:]])
    assert list(outcome.errors) == [500]


def test_net_profit_on_one_row(benchmark):
    benchmark(net_profit, 25.0, 4.0, 3.5, 4.25, 0.75, 8.0)
