"""Rounding and splitting, held against exact arithmetic."""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheetfns.money import part_over, round_money, round_up_money, split_money


@given(st.integers(-(10**11), 10**11), st.integers(0, 3))
def test_half_units_go_away_from_zero(halves: int, digits: int) -> None:
    """Every half cent, written in decimals and stored in binary."""
    amount = float(Decimal(halves).scaleb(-digits) / 2)
    step = Decimal(1).scaleb(-digits)
    exact = float((Decimal(halves).scaleb(-digits) / 2).quantize(step, ROUND_HALF_UP))
    assert round_money(amount, digits) == exact
    assert round_money(np.array([amount]), digits)[0] == exact


@given(st.integers(-(10**12), 10**12), st.integers(0, 3))
def test_decimals_of_15_digits_are_rounded_as_decimals(units: int, digits: int) -> None:
    exact = Decimal(units).scaleb(-6)
    rounded = float(exact.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP))
    assert round_money(float(exact), digits) == rounded


@given(st.integers(0, 10**7), st.integers(0, 10_000))
def test_products_of_cents_and_rates(cents: int, rate: int) -> None:
    """A fee: an amount times a rate of four digits, ties included."""
    exact = (Decimal(cents) * rate).scaleb(-6)
    rounded = float(exact.quantize(Decimal("0.01"), ROUND_HALF_UP))
    assert round_money(cents / 100 * (rate / 10_000)) == rounded


@given(st.floats(-1e9, 1e9))
def test_rounding_twice_changes_nothing(amount: float) -> None:
    once = round_money(amount)
    assert round_money(once) == once
    assert abs(once - amount) <= 0.005 + 1e-6
    assert round_money(-amount) == -once
    assert round_money(np.array([amount]))[0] == once


@pytest.mark.parametrize("amount", [math.inf, -math.inf, math.nan])
def test_what_is_no_amount_stays_what_it_is(amount: float) -> None:
    assert round_money(amount) == pytest.approx(amount, nan_ok=True)
    assert round_money(np.array([amount, 1.005])).tolist() == pytest.approx([amount, 1.01], nan_ok=True)


@pytest.mark.parametrize(
    ("amount", "up"),
    [(10.001, 10.01), (10.0, 10.0), (0.1 + 0.2, 0.3), (10.0000000001, 10.0), (0.0, 0.0), (9.999, 10.0)],
)
def test_prices_are_rounded_up(amount: float, up: float) -> None:
    assert round_up_money(np.array([amount])).tolist() == [up]


@given(st.integers(0, 10**8))
def test_whole_cents_are_not_raised(cents: int) -> None:
    assert round_up_money(np.array([cents / 100]))[0] == cents / 100


@given(st.integers(0, 10**8), st.integers(0, 10**8))
def test_the_part_over_a_limit_is_exact(amount: int, limit: int) -> None:
    """Up to a million; beyond some millions binary figures have no ninth digit to round."""
    exact = Decimal(max(amount - limit, 0)).scaleb(-2)
    assert part_over(amount / 100, limit / 100) == float(exact)
    assert part_over(np.array([amount / 100]), limit / 100)[0] == float(exact)


@given(
    st.integers(-(10**10), 10**10),
    st.lists(st.integers(0, 10**9), min_size=1, max_size=60).filter(any),
    st.integers(0, 3),
)
def test_shares_add_up_in_every_currency(units: int, weights: list[int], digits: int) -> None:
    total = float(Decimal(units).scaleb(-digits))
    shares = split_money(total, np.array(weights, float), digits)
    in_units = [round(share * 10**digits) for share in shares.tolist()]
    assert sum(in_units) == units
    exact = [Fraction(units * weight, sum(weights)) for weight in weights]
    assert all(abs(share - ideal) < 1 for share, ideal in zip(in_units, exact, strict=True))
    assert all(share == 0 for share, weight in zip(in_units, weights, strict=True) if weight == 0)


def test_the_largest_remainders_get_the_cents_left_over() -> None:
    # 1.00 by 50 : 30 : 17 : 3.5 of 100.5 is 49.75, 29.85, 16.92 and 3.48 cents.
    assert split_money(1.0, np.array([50, 30, 17, 3.5])).tolist() == [0.50, 0.30, 0.17, 0.03]
    # 0.10 by 5 : 3 : 2.2 of 10.2 is 4.90, 2.94 and 2.16 cents.
    assert split_money(0.1, np.array([5, 3, 2.2])).tolist() == [0.05, 0.03, 0.02]


def test_equal_remainders_go_to_the_earlier_rows_however_many() -> None:
    # 1,428 cents for each of seven leave four.
    assert split_money(100.0, np.ones(7)).tolist() == [14.29] * 4 + [14.28] * 3
    many = split_money(123.45, np.ones(10_000))
    assert many.tolist() == [0.02] * 2345 + [0.01] * 7655


def test_equal_remainders_in_a_long_mixed_lot_go_to_the_earlier_rows() -> None:
    weights = np.tile([3.0, 1.0, 2.0], 2_000)
    in_cents = np.round(split_money(1234.56, weights) * 100).astype(int)
    assert in_cents.sum() == 123_456
    for kind in range(3):
        assert (np.diff(in_cents[kind::3]) <= 0).all()


def test_a_worthless_row_gets_no_cent_even_if_all_remainders_are_too_small_to_see() -> None:
    shares = split_money(0.01, np.concatenate([[0.0], np.ones(3_000_000)]))
    assert shares[:2].tolist() == [0, 0.01]
    assert shares.sum() == pytest.approx(0.01)


def test_a_negative_total_is_split_like_a_positive_one() -> None:
    assert split_money(-100.0, np.ones(3)).tolist() == [-33.34, -33.33, -33.33]


def test_weights_of_any_size_share_alike() -> None:
    for size in (1e-6, 1.0, 1e12):
        assert split_money(10.0, np.array([3, 0, 1]) * size).tolist() == [7.5, 0, 2.5]


def test_an_amount_beyond_all_cents_stays_as_it_is():
    assert round_money(np.array([1e308, -1e308, 1.005])).tolist() == [1e308, -1e308, 1.01]
    assert round_money(1e308) == 1e308
