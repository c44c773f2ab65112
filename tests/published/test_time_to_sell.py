"""Times to an event and days on hand as printed; the source stands at each check."""

from __future__ import annotations

import numpy as np
import pytest

from sheetfns import days_on_hand, median_days_to_sell, sold_by_chance
from tests.published.printed import as_printed, exactly

REMISSION = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+".split()
WEEKS = [int(mark.removesuffix("+")) for mark in REMISSION]
ENDED = [not mark.endswith("+") for mark in REMISSION]


@pytest.mark.parametrize(
    ("week", "printed"),
    [(6, "0.8571"), (7, "0.8067"), (10, "0.7529"), (13, "0.6902"), (16, "0.6275"), (22, "0.5378"), (23, "0.4482")],
)
def test_weeks_in_remission(week: int, printed: str) -> None:
    """Freireich et al. (1963), the treated arm, product-limit estimates (M)."""
    assert as_printed(1 - sold_by_chance(WEEKS, ENDED, week), printed)
    before = 1 - sold_by_chance(WEEKS, ENDED, week - 0.5)
    assert before > float(printed) + 0.01


def test_the_median_remission() -> None:
    """The same (M): 23 weeks."""
    assert median_days_to_sell(WEEKS, ENDED) == 23


def test_lifelines_says_the_same_of_weeks_in_remission() -> None:
    """The same data through an open-source library for times to an event: every week, its median."""
    from lifelines import KaplanMeierFitter

    fitted = KaplanMeierFitter().fit(WEEKS, ENDED)
    weeks = np.arange(0, max(WEEKS) + 0.5, 0.5)
    remaining = fitted.survival_function_at_times(weeks).to_numpy()
    assert sold_by_chance(WEEKS, ENDED, weeks) == pytest.approx(1 - remaining, abs=1e-12)
    assert median_days_to_sell(WEEKS, ENDED) == fitted.median_survival_time_


def test_days_in_inventory() -> None:
    """Saylor Academy, Financial Accounting, ch. 9 (R): 520,000 at 40,000 a day are 13 days."""
    assert exactly(days_on_hand(520_000, 40_000, 1), 13)
