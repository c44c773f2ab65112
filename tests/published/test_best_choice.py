"""The best choice for a given cash: known 0/1 knapsack problems with known optimum.

Source: J. Burkardt, KNAPSACK_01, data for the 01 knapsack problem: optimum (R), data (M). Each
optimum is worked out here once more, by listing all subsets of two halves.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest

from sheetfns import buy_plan
from sheetfns.functions import buying


class Problem(NamedTuple):
    room: int
    costs: list[int]
    profits: list[int]
    best: int


def _figures(text: str) -> list[int]:
    return [int(figure) for figure in text.split()]


PROBLEMS = {
    "P01": Problem(165, _figures("23 31 29 44 53 38 63 85 89 82"), _figures("92 57 49 68 60 43 67 84 87 72"), 309),
    "P02": Problem(26, _figures("12 7 11 8 9"), _figures("24 13 23 15 16"), 51),
    "P07": Problem(
        750,
        _figures("70 73 77 80 82 87 90 94 98 106 110 113 115 118 120"),
        _figures("135 139 149 150 156 163 173 184 192 201 210 214 221 229 240"),
        1458,
    ),
    "P08": Problem(
        6_404_180,
        _figures(
            "382745 799601 909247 729069 467902 44328 34610 698150 823460 903959 853665 551830 "
            "610856 670702 488960 951111 323046 446298 931161 31385 496951 264724 224916 169684"
        ),
        _figures(
            "825594 1677009 1676628 1523970 943972 97426 69666 1296457 1679693 1902996 1844992 "
            "1049289 1252836 1319836 953277 2067538 675367 853655 1826027 65731 901489 577243 "
            "466257 369261"
        ),
        13_549_094,
    ),
}
each_problem = pytest.mark.parametrize("problem", PROBLEMS.values(), ids=list(PROBLEMS))


def _every_sum(figures: list[int]) -> np.ndarray:
    sums = np.zeros(1, np.int64)
    for figure in figures:
        sums = np.concatenate([sums, sums + figure])
    return sums


def best_of_all_subsets(problem: Problem) -> int:
    """Every subset of the first half with the best of the second that there is still room for."""
    half = len(problem.costs) // 2
    costs, other_costs = _every_sum(problem.costs[:half]), _every_sum(problem.costs[half:])
    profits, other_profits = _every_sum(problem.profits[:half]), _every_sum(problem.profits[half:])
    order = np.argsort(other_costs)
    best_up_to = np.maximum.accumulate(other_profits[order])
    left = problem.room - costs
    place = np.searchsorted(other_costs[order], left, side="right") - 1
    return int((profits + best_up_to[place])[left >= 0].max())


@each_problem
def test_the_optimum_is_the_printed_one(problem: Problem) -> None:
    assert best_of_all_subsets(problem) == problem.best


@each_problem
@pytest.mark.parametrize("way", ["table", "solver"])
def test_the_plan_reaches_it(problem: Problem, way: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(buying, "TABLE_CELLS", buying.TABLE_CELLS if way == "table" else 0)
    buying._planned.cache_clear()
    counts = buy_plan(problem.costs, problem.profits, problem.room)
    buying._planned.cache_clear()
    assert set(counts.tolist()) <= {0.0, 1.0}
    assert counts @ problem.costs <= problem.room
    assert counts @ problem.profits == problem.best
