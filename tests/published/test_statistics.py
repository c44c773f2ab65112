"""Quantiles and intervals as printed; the source stands at each check."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from sheetfns import comp_value, sell_through, sell_through_floor
from sheetfns.functions.comps import SPREAD_SCALE, weighted_quantile
from tests.published.printed import as_printed

GAUGE = [95.1772, 95.1567, 95.1937, 95.1959, 95.1442, 95.0610, 95.1591, 95.1195, 95.1065, 95.0925, 95.1990, 95.1682]


def test_the_90th_percentile_of_twelve_measurements() -> None:
    """NIST e-Handbook 7.2.6.2 (R): by the rule of most spreadsheets 95.19568."""
    found = weighted_quantile(np.array(GAUGE), np.ones(12), 0.9)
    assert as_printed(found, "95.19568")
    # Prices have cents: in hundredths of a cent the same figures are whole cents.
    in_hundredths = [round(figure * 100, 2) for figure in GAUGE]
    assert as_printed(comp_value(in_hundredths, quantile=0.9) / 100, "95.19568")


@pytest.mark.parametrize(
    ("sold", "offered", "low", "high"),
    [
        (81, 263, "0.2553", "0.3662"),
        (15, 148, "0.0624", "0.1605"),
        (0, 20, "0.0000", "0.1611"),
        (1, 29, "0.0061", "0.1718"),
    ],
)
def test_score_intervals(sold: int, offered: int, low: str, high: str) -> None:
    """R. G. Newcombe (1998), Two-sided confidence intervals, method 3 (M).

    The upper end is what the lower end of those that were not sold leaves.
    """
    assert as_printed(sell_through_floor(sold, offered), low)
    assert as_printed(1 - sell_through_floor(offered - sold, offered), high)
    assert float(low) <= sell_through(sold, offered) <= float(high)


def test_the_scale_of_the_median_deviation() -> None:
    """Definition: 1 / the upper quartile of the standard normal distribution, printed 1.4826."""
    assert as_printed(float(1 / stats.norm.ppf(0.75)), str(SPREAD_SCALE))
