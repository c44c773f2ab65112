"""Partners: what is shared adds up, and balances carry on from period to period."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from sheetfns import CellError, capital_balance, profit_share

percents = st.lists(st.integers(0, 100), min_size=1, max_size=5)


def as_shares(parts: list[int]) -> list[Fraction]:
    return [Fraction(part, sum(parts)) for part in parts]


@given(st.integers(-(10**8), 10**8), percents)
def test_a_profit_is_shared_to_the_cent(cents: int, parts: list[int]) -> None:
    assume(sum(parts) > 0)
    shares = as_shares(parts)
    found = profit_share(cents / 100, [float(share) for share in shares])
    in_cents = [round(part * 100) for part in found]
    assert [part / 100 for part in in_cents] == list(found)
    assert sum(in_cents) == cents
    for part, share in zip(in_cents, shares, strict=True):
        assert abs(part - share * cents) < 1
        assert share or part == 0


@given(st.integers(1, 10**8), percents)
def test_a_loss_is_shared_as_the_profit_would_be(cents: int, parts: list[int]) -> None:
    assume(sum(parts) > 0)
    shares = [float(share) for share in as_shares(parts)]
    profit, loss = (profit_share(sign * cents / 100, shares) for sign in (1, -1))
    assert list(profit) == [-part for part in loss]


def test_nothing_is_no_negative_zero() -> None:
    assert [str(part) for part in profit_share(-5, [1, 0])] == ["-5.0", "0.0"]


@pytest.mark.parametrize(
    ("shares", "message"),
    [
        ([0.5, 0.4], "shares: add up to 90%, not 100%; correct the shares"),
        ([0.3333, 0.3333, 0.3333], "shares: add up to 99.99%, not 100%; correct the shares"),
    ],
)
def test_shares_that_do_not_add_up(shares: list[float], message: str) -> None:
    with pytest.raises(CellError) as caught:
        profit_share(100, shares)
    assert (caught.value.code, caught.value.message) == ("#NUM!", message)


money = st.integers(0, 500_000)


@given(st.lists(st.tuples(money, money, st.integers(-200_000, 500_000), money), min_size=1, max_size=8))
def test_two_balances_are_what_the_business_has(periods: list[tuple[int, int, int, int]]) -> None:
    """Both balances together: all that was put in and earned, less all that was taken out."""
    one = other = 0.0
    for put_in, put_in_by_other, profit, taken in periods:
        parts = profit_share(profit / 100, [0.6, 0.4])
        one = capital_balance(put_in / 100, parts[0], taken / 100, one)
        other = capital_balance(put_in_by_other / 100, parts[1], 0, other)
    in_all = sum(a + b + profit - taken for a, b, profit, taken in periods)
    assert one + other == pytest.approx(in_all / 100, abs=1e-6)
