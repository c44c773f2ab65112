"""Rounding and splitting of money: the only place where money is rounded."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from sheetfns.cell_types import Column, Number

_LIFT: Final = 1 + 2.0**-50
"""Lifts what binary arithmetic leaves just under a half (1.005 is stored as 1.00499...89) over it.
2**-50 is below one unit in the 15th digit, so no figure of 15 digits is moved past a half."""

PART_DIGITS: Final = 9
"""Of an amount with tax in it a part has up to six digits after the point; noise is far below."""

_WHOLE: Final = 1e14
"""From so many cents on, an amount of 15 digits has no half cents left to round."""
SHARE_DIGITS: Final = 6
"""Remainders of shares are compared to the millionth of a cent: noise below it is no difference."""

MOST_SHARED: Final = 1e12
"""Over it there are too few binary digits left to share to the cent."""


def round_money(amount: Number, digits: int = 2) -> Number:
    """Round half away from zero at 15 significant digits.

    Args:
        amount: a figure or a column.
        digits: digits after the point: 2 for cents, 0 for currencies without them.

    >>> round_money(2.675), round_money(1.005), round_money(-0.125), round_money(1.5 * 0.95)
    (2.68, 1.01, -0.13, 1.43)
    """
    scale = 10.0**digits
    if not isinstance(amount, np.ndarray):
        if not abs(amount) * scale < _WHOLE:
            return amount
        # A sum of -1e-17 would round to -0.0 and be shown as such.
        return math.copysign(math.floor(abs(amount) * scale * _LIFT + 0.5) / scale, amount) + 0.0
    with np.errstate(over="ignore"):  # such an amount has no cents and stays as it is
        units = np.abs(amount) * scale
        rounded: Column = np.copysign(np.floor(units * _LIFT + 0.5) / scale, amount) + 0.0
    return np.where(units < _WHOLE, rounded, amount)


def part_over(amount: Number, limit: Number) -> Column:
    """The part of an amount over a limit, without the noise that subtracting lays bare.

    >>> float(part_over(529.11, 500.0)), 529.11 - 500.0
    (29.11, 29.110000000000014)
    """
    over: Column = np.maximum(amount - limit, 0)
    return over.round(PART_DIGITS)


def round_up_money(amount: Column, digits: int = 2) -> Column:
    """Round a column up to the next cent, for prices that must not fall short.

    >>> round_up_money(np.array([10.001, 10.0, 0.1 + 0.2])).tolist()
    [10.01, 10.0, 0.3]
    """
    scale = 10.0**digits
    rounded: Column = np.ceil(np.round(amount * scale, SHARE_DIGITS)) / scale
    return rounded


def split_money(total: float, weights: Column, digits: int = 2) -> Column:
    """Share `total` by `weights` so that the shares add up to it to the cent (largest remainder).

    Args:
        total: what is shared, up to MOST_SHARED; it is rounded to the cent first.
        weights: none below 0, at least one above 0.

    Ties go to the earlier row. A weight of 0 gets 0.

    >>> split_money(100.0, np.array([1.0, 1.0, 1.0])).tolist()
    [33.34, 33.33, 33.33]
    """
    scale = 10.0**digits
    units = round(abs(float(round_money(total, digits))) * scale)
    exact = np.round(units * weights / weights.sum(), SHARE_DIGITS)
    floors = np.floor(exact)
    left_over = int(units - floors.sum())
    remainders = np.round((exact - floors) * 10**SHARE_DIGITS)
    remainders[weights == 0] = -1
    first = np.argsort(-remainders, kind="stable")[:left_over]
    floors[first] += 1
    shares: Column = floors / scale
    return -shares if total < 0 else shares
