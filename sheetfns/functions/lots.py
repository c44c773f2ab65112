"""Splitting one price among the items that were bought for it."""

from __future__ import annotations

from typing import Final

import numpy as np

from sheetfns.cell_types import Cost, Costs, Quantities
from sheetfns.errors import NUMBER, CellError
from sheetfns.money import MOST_SHARED, split_money
from sheetfns.refusals import Refusal
from sheetfns.registry import worksheet

LARGEST_VALUES: Final = 1e150


@worksheet(
    "Lots",
    refuse=[Refusal(f"{{lot_cost}}>{MOST_SHARED:.0E}", NUMBER, "lot_cost: too large to split to the cent; check it")],
)
def lot_share(lot_cost: Cost, values: Costs, quantities: Quantities = np.nan) -> Costs:  # type: ignore[assignment]
    """Splits a lot's cost among its items by their expected price, so that the shares add up to the cent.

    Args:
        lot_cost: what the lot cost, tax included, in money.
        values: a whole range: what each item is expected to sell for, in money; a blank row stays blank.
        quantities: a whole range of the same size: how many identical items the row holds; 1 if left out.
    Returns: a range of the size of values, in money, to the cent; it adds up to lot_cost.
    Shape: one cell and whole ranges in, a range out.
    Errors: #NUM!: all values are 0, or one is below 0, or too large. #VALUE!: text, or ranges of different sizes. #N/A: a required cell is blank.
    Formula: lot_cost x value / sum of values in whole cents, leftover cents to the largest
        remainders, the earlier row first
    Source: relative sales value: Saylor Academy (2012), Managerial Accounting, ch. 7 appendix;
        largest remainder: definition
    Examples:
        >>> lot_share(100, [5, 5, 5]).tolist()
        [33.34, 33.33, 33.33]
        >>> lot_share(10, [30, 0, 10]).tolist()
        [7.5, 0.0, 2.5]
    """
    weights = np.nan_to_num(values)
    if quantities.size:
        weights = weights * np.where(np.isnan(quantities), 1.0, quantities)
    if not weights.sum() < LARGEST_VALUES:
        raise CellError(NUMBER, "values: too large to split by; check them")
    if weights.sum() <= 0:
        raise CellError(NUMBER, "values: all are 0; give each item its expected price")
    return split_money(float(lot_cost), weights)
