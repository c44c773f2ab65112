"""Partners: each one's share of the profit, and what each has in the business."""

from __future__ import annotations

from typing import Final

import numpy as np

from sheetfns.cell_types import Cost, Money, Monies, Rates
from sheetfns.errors import NUMBER
from sheetfns.money import MOST_SHARED, split_money
from sheetfns.refusals import Refusal
from sheetfns.registry import worksheet

SHARE_NOISE: Final = 1e-9
"""Thirds and percentages add up to 1 with far less noise; a share typed wrong is far more."""


@worksheet(
    "Partners",
    refuse=[
        Refusal(f"ABS({{profit}})>{MOST_SHARED:.0E}", NUMBER, "profit: too large to split to the cent; check it"),
        Refusal(
            f"ABS(SUM({{shares}})-1)>{SHARE_NOISE:.0E}",
            NUMBER,
            "shares: add up to {SUM(shares)*100:.10g}%, not 100%; correct the shares",
        ),
    ],
)
def profit_share(profit: Money, shares: Rates) -> Monies:
    """Splits a profit or a loss among partners so that the parts add up to it to the cent.

    Args:
        profit: what is split, in money; below 0 for a loss, which is split too.
        shares: a whole range: each partner's share, fractions or percentages that add up to 100%; a blank row stays blank.
    Returns: a range of the size of shares, in money, to the cent; it adds up to profit.
    Shape: one cell and a whole range in, a range out.
    Errors: #NUM!: shares do not add up to 100%, below 0, or profit too large to split. #VALUE!: text instead of a number. #N/A: a required cell is blank.
    Formula: profit x share in whole cents, leftover cents to the largest remainders, the
        earlier partner first
    Source: largest remainder: definition; the shares are your own agreement. Two who share a profit
        are usually a partnership, which files a return of its own (M): ask a licensed preparer
    Examples:
        >>> profit_share(100.01, [0.5, 0.5]).tolist()
        [50.01, 50.0]
        >>> profit_share(-30, [0.6, 0.4]).tolist()
        [-18.0, -12.0]
    """
    weights = np.nan_to_num(shares)
    # A loss would make -0.0 of a share of nothing.
    return split_money(float(profit), weights) + 0.0


@worksheet("Partners", formula="={opening}+{put_in}+{profit_share}-{taken_out}")
def capital_balance(put_in: Cost, profit_share: Money, taken_out: Cost, opening: Money = 0) -> Money:
    """What one partner has in the business at the end of a period.

    Args:
        put_in: what the partner paid in during the period, in money or goods at cost.
        profit_share: the partner's share of the profit, see PROFIT_SHARE, in money; below 0 for a loss.
        taken_out: what the partner took out during the period, in money or goods at cost.
        opening: what the partner had in the business at the beginning, in money; 0 if left out.
    Returns: money, not rounded; below 0 if more was taken out than was there.
    Errors: #NUM!: put_in or taken_out below 0. #VALUE!: text instead of a number. #N/A: a required amount is blank.
    Formula: opening + put_in + profit_share - taken_out
    Source: definition. A balance between partners is not a tax basis, and partners usually file as a
        partnership (M): ask a licensed preparer
    Examples:
        >>> capital_balance(500, 320.5, 200, 1000)
        1620.5
        >>> capital_balance(500, -80, 450)
        -30.0
    """
    return opening + put_in + profit_share - taken_out
