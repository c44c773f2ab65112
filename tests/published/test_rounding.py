"""Rounding of money.

ISO 4217 gives US dollars 2, yen 0 and Kuwaiti dinars 3 digits after the point (M: from memory).
Half away from zero at 15 significant digits is what spreadsheet programs do (definition).
"""

from __future__ import annotations

import numpy as np
import pytest

from sheetfns import selling_fee
from sheetfns.money import round_money, split_money

USD, JPY, KWD = 2, 0, 3


@pytest.mark.parametrize(
    ("amount", "digits", "rounded"),
    [
        (2.675, USD, 2.68),
        (1.005, USD, 1.01),
        (-2.675, USD, -2.68),
        (1234.5, JPY, 1235),
        (2.5, JPY, 3),
        (-0.5, JPY, -1),
        (0.0005, KWD, 0.001),
        (1.0005, KWD, 1.001),
        (2.6745, KWD, 2.675),
    ],
)
def test_half_away_from_zero(amount: float, digits: int, rounded: float) -> None:
    assert round_money(amount, digits) == rounded
    assert round_money(np.array([amount]), digits).tolist() == [rounded]


@pytest.mark.parametrize(("amount", "binary"), [(2.675, 2.67), (1.005, 1.00)])
def test_what_binary_rounding_would_give(amount: float, binary: float) -> None:
    """The reason for rounding of our own."""
    assert round(amount, 2) == binary
    assert round_money(amount) == pytest.approx(binary + 0.01)


def test_round_last() -> None:
    """1.50 less 5% is 1.43, not 1.42, when only the result is rounded (definition)."""
    assert round_money(1.50 * (1 - 0.05)) == 1.43
    assert round_money(1.50 - selling_fee(1.50, 0, 0.05, 0)) == 1.42


@pytest.mark.parametrize(
    ("digits", "total", "shares"),
    [(USD, 100.0, [33.34, 33.33, 33.33]), (JPY, 100.0, [34, 33, 33]), (KWD, 1.0, [0.334, 0.333, 0.333])],
)
def test_shares_in_each_currency(digits: int, total: float, shares: list[float]) -> None:
    assert split_money(total, np.ones(3), digits).tolist() == shares
