"""What comparable items say about a price: sold prices, asking prices, and the share that sells."""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

import numpy as np

from sheetfns.cell_types import (
    Column,
    Cost,
    Costs,
    Count,
    Duration,
    Durations,
    Factors,
    Flags,
    Money,
    Number,
    Quantity,
    Rate,
    Ratio,
    Rows,
    counted,
)
from sheetfns.errors import BLANK, DIVISION, NUMBER, VALUE, CellError, row_by_row
from sheetfns.money import part_over, round_money
from sheetfns.refusals import Refusal
from sheetfns.registry import worksheet

SPREAD_SCALE: Final = 1.4826
"""Times the median absolute deviation it estimates the standard deviation of a normal
distribution: 1 / 0.67449."""
WILD_DISTANCE: Final = 3.5
"""Iglewicz and Hoaglin (1993), How to Detect and Handle Outliers (M)."""
LEAST_SPREAD: Final = 0.10
"""Of the median: prices within about a third of it are never outliers (common practice, no source)."""
FEW_SALES: Final = 4
FAR_APART: Final = 2
"""So many sales, or so many times the low price, make an estimate rough (common practice, no source)."""
NOISE_DIGITS: Final = 6
LARGEST_PRICE: Final = 1e13


class _Sales(NamedTuple):
    """What mine would have sold for instead of each item, as it was listed."""

    bases: Column
    weights: Column
    dropped: int


def weighted_quantile(values: Column, weights: Column, quantile: float) -> float:
    """The quantile of weighted values: A. Akinshin, Weighted quantile estimators (2023) (M).

    Each value gets the share of a uniform density on [h, h + 1] of n, h = quantile x (n - 1), that
    lies over its weight; n is Kish's effective number. Equal weights give the ordinary quantile
    (type 7 of Hyndman and Fan, as in the NIST e-Handbook 7.2.6.2).

    >>> weighted_quantile(np.array([10.0, 20.0, 40.0]), np.ones(3), 0.5)
    20.0
    >>> weighted_quantile(np.array([10.0, 20.0]), np.array([1.0, 0.0]), 0.5)
    10.0
    """
    order = np.argsort(values, kind="stable")
    ordered, sums = values[order], np.cumsum(weights[order])
    # Summing in two orders leaves noise, and fewer than one value there cannot be.
    effective = max(1.0, sums[-1] ** 2 / (weights**2).sum())
    reached = np.clip(effective * sums / sums[-1] - quantile * (effective - 1), 0, 1)
    reached[-1] = 1
    found = np.diff(reached, prepend=0) @ ordered
    return float(np.clip(found, ordered[0], ordered[-1]))


def _of_each(name: str, cells: Any, blank: Any, prices: Column) -> Column:
    """A range as numbers, one for each price; one cell stands for all."""
    if cells.size not in (0, 1, prices.size):
        raise CellError(
            VALUE, f"{name}: {cells.size} cells for {prices.size} prices; give one for each price, or one cell for all"
        )
    filled = [blank if cell is None or np.isnan(cell) else float(cell) for cell in cells]
    return np.broadcast_to(np.array(filled or [blank], float), prices.shape)


class _Comparables:
    """The comparable items as they were listed, blank rows left out."""

    def __init__(
        self, prices: Column, postage_in: Any, postage: Column, complete: Any, condition_rate: Column, age_days: Column
    ) -> None:
        rates = _of_each("condition_rate", condition_rate, 1, prices)
        paid_with = _of_each("postage_in", postage_in, 0, prices)
        postages = paid_with * _of_each("postage", postage, 0, prices)
        whole = _of_each("complete", complete, 1, prices)
        ages = _of_each("age_days", age_days, 0, prices)
        used = ~np.isnan(prices)
        if not used.size:
            raise CellError(BLANK, "prices: there are none; give at least one")
        below = np.flatnonzero(used & (rates < 0))
        if below.size:
            raise CellError(
                NUMBER,
                f"condition_rate: {rates[below[0]]:g} beside price {below[0] + 1} is below 0; "
                "write 1 for the same condition, 0.8 if mine is worth a fifth less",
            )
        items = np.maximum((prices - postages)[used], 0)
        self.worth = items * rates[used]
        if not (self.worth < LARGEST_PRICE).all():
            raise CellError(NUMBER, "prices: too large to be prices; check prices and rates")
        self.whole, self.ages = whole[used], ages[used]

    def sales(self, missing_value: float, half_life_days: float) -> _Sales:
        """Comparables turned into mine, without outliers, weighted by age."""
        if half_life_days == 0:
            raise CellError(NUMBER, "half_life_days: is 0, so no sale would count; write 90, or leave it out")
        # A price below 0 is none, and a part costs what it costs, whatever the condition.
        bases = np.asarray(round_money(np.maximum(self.worth - missing_value * self.whole, 0)))
        middle = np.median(bases)
        away = np.abs(bases - middle).round(NOISE_DIGITS)
        scale = max(SPREAD_SCALE * np.median(away), LEAST_SPREAD * middle)
        kept = (away <= WILD_DISTANCE * scale) | (scale == 0)
        ages = self.ages[kept]
        # Only ratios of weights count: from the latest sale on, old ones alone are not all 0.
        weights = 0.5 ** ((ages - ages.min()) / half_life_days)
        return _Sales(bases[kept], weights, int(bases.size - kept.sum()))


@worksheet("Comps")
def comp_value(
    prices: Costs,
    postage_in: Flags = False,  # type: ignore[assignment]
    postage: Costs = 0,  # type: ignore[assignment]
    missing_value: Cost = 0,
    complete: Flags = True,  # type: ignore[assignment]
    condition_rate: Factors = 1,  # type: ignore[assignment]
    age_days: Durations = 0,  # type: ignore[assignment]
    half_life_days: Duration = 90,
    quantile: Rate = 0.5,
) -> Money:
    """What an item should sell for, from sold prices of comparable items: newer sales count more, outliers are excluded. An estimate from your own list; it knows nothing that is not in it.

    Args:
        prices: a whole range: what comparable items sold for, in money; never asking prices, which nobody has paid. Blank rows are skipped.
        postage_in: yes where the price includes postage; one for each price or one cell for all; no if left out.
        postage: the postage that the price includes, in money; one for each price or one cell for all.
        missing_value: what the parts missing from my item cost, in money; deducted from each complete comparable; 0 if mine is complete.
        complete: no where the comparable was missing the same parts; one for each price or one cell for all; yes if left out.
        condition_rate: the worth of my item's condition for each 1 of the comparable's: 0.8 if mine is worth a fifth less; one for each price or one cell for all.
        age_days: how many days ago it sold; one for each price or one cell for all.
        half_life_days: a sale that is this many days older counts half as much; 90 if left out.
        quantile: 50% for the median, 25% for a quick sale, 75% if you can wait.
    Returns: money, not rounded.
    Shape: prices and the columns beside it are whole ranges; missing_value, half_life_days and quantile cell by cell.
    Errors: #VALUE!: text, or a range of another size. #NUM!: a figure below 0, half_life_days 0, quantile over 100%. Blank while prices is blank.
    Formula: base = (price - postage included) x condition_rate - missing_value, to the cent, not below
        0; excluded where it is over 3.5 x scale from the median, scale = 1.4826 x the median
        distance from the median and at least 10% of it; weight = 0.5 ^ (age_days / half_life_days); then
        the weighted quantile
    Source: 3.5: Iglewicz and Hoaglin (1993) (M); weighted quantile: A. Akinshin (2023) (M);
        equal weights: NIST e-Handbook 7.2.6.2; 10% and 90 days: common practice, no source
    Examples:
        >>> comp_value([20, 24, 31, 22, 200])
        23.0
        >>> comp_value([20, 30], True, 5, condition_rate=[1, 0.8])
        17.5
    """

    def value(missing: float, half_life: float, level: float) -> float:
        # Made here, so that what is wrong with a range is an error in each row of a column.
        comparables = _Comparables(prices, postage_in, postage, complete, condition_rate, age_days)
        if not (0 <= missing < math.inf and 0 <= half_life < math.inf and 0 <= level <= 1):
            return math.nan  # The row's error is known already.
        bases, weights, _ = comparables.sales(missing, half_life)
        return weighted_quantile(bases, weights, level)

    found = row_by_row(value, missing_value, half_life_days, quantile)
    return np.asarray(found, dtype=np.float64)


@worksheet(
    "Comps",
    refuse=[
        Refusal("{quantile}>0.5", NUMBER, "quantile: {quantile:g} is over 50%, so low would be over high; write 25%")
    ],
)
def comp_spread(
    prices: Costs,
    postage_in: Flags = False,  # type: ignore[assignment]
    postage: Costs = 0,  # type: ignore[assignment]
    missing_value: Cost = 0,
    complete: Flags = True,  # type: ignore[assignment]
    condition_rate: Factors = 1,  # type: ignore[assignment]
    age_days: Durations = 0,  # type: ignore[assignment]
    half_life_days: Duration = 90,
    quantile: Rate = 0.25,
) -> Rows:
    """How far to trust COMP_VALUE: one row of low, median and high price, how many sales were used, how many outliers were excluded, and a remark where the estimate is rough.

    Args:
        quantile: the share of the sales below low, and above high: 25% leaves a quarter of them below low and a quarter above high; up to 50%.
        as in COMP_VALUE: prices, postage_in, postage, missing_value, complete, condition_rate, age_days,
            half_life_days.
    Returns: one row: low, median, high (money, not rounded), used, excluded, remark.
    Shape: prices and the columns beside it are whole ranges, the others one cell; a row of six cells out.
    Errors: #VALUE!: text, or a range of another size. #NUM!: a figure below 0, half_life_days 0, quantile over 50%. Blank while prices is blank.
    Formula: COMP_VALUE at quantile, at 50% and at 1 - quantile; rough: up to 4 sales, or high over
        2 x low
    Source: as COMP_VALUE; 4 sales and 2 x low: common practice, no source
    Examples:
        >>> comp_spread([20, 24, 31, 22, 26, 200]).tolist()
        [[22.0, 24.0, 26.0, 5.0, 1.0, '1 outlier excluded']]
        >>> comp_spread([15, 18]).tolist()
        [[15.75, 16.5, 17.25, 2.0, 0.0, 'rough estimate (2 sales)']]
    """
    level = float(quantile)
    comparables = _Comparables(prices, postage_in, postage, complete, condition_rate, age_days)
    bases, weights, dropped = comparables.sales(float(missing_value), float(half_life_days))
    low, middle, high = (weighted_quantile(bases, weights, part) for part in (level, 0.5, 1 - level))
    remarks = []
    if bases.size <= FEW_SALES:
        remarks.append(f"rough estimate ({counted(bases.size, 'sale')})")
    elif part_over(high, FAR_APART * low) > 0:
        remarks.append("rough estimate (wide range)")
    if dropped:
        remarks.append(f"{counted(dropped, 'outlier')} excluded")
    return [[low, middle, high, bases.size, dropped, "; ".join(remarks)]]


@worksheet(
    "Comps",
    formula=(
        '=SUMPRODUCT(({asking_delivered_prices}<>"")*({asking_delivered_prices}<ROUND({my_delivered_price},2)-0.005))+1'
    ),
)
def asking_rank(my_delivered_price: Cost, asking_delivered_prices: Costs) -> Count:
    """How my offer ranks among the others when a buyer sorts by price plus shipping: 1 is the cheapest.

    Args:
        my_delivered_price: my price plus shipping, in money.
        asking_delivered_prices: a whole range: what the others ask, shipping included, in money; blank rows are skipped.
    Returns: a whole number from 1 up; offers at the same price share a rank.
    Shape: my_delivered_price cell by cell; asking_delivered_prices is a whole range.
    Errors: #NUM!: a figure below 0. #VALUE!: text instead of a number. #N/A: one of the two is blank.
    Formula: 1 + the number of offers that are lower by more than half a cent
    Source: definition
    Examples:
        >>> asking_rank(21.50, [19.99, 21.50, 24, 18])
        3.0
        >>> asking_rank([10, 30], [15, 20]).tolist()
        [1.0, 3.0]
    """
    # Prices put together from price and postage can differ by noise and still be the same cent.
    mine = np.asarray(round_money(my_delivered_price) - 0.005)
    asked = asking_delivered_prices[~np.isnan(asking_delivered_prices)]
    return np.asarray(np.searchsorted(np.sort(asked), mine, side="left") + 1, dtype=np.float64)


_SOLD_OF_OFFERED: Final = (
    Refusal("{offered}=0", DIVISION, "offered: is 0, so there is no share; check the count"),
    Refusal("{sold}>{offered}", NUMBER, "sold: is more than offered; include the sold items in offered"),
)


@worksheet("Comps", formula="={sold}/{offered}", refuse=_SOLD_OF_OFFERED)
def sell_through(sold: Quantity, offered: Quantity) -> Ratio:
    """Sell-through: the share of the items offered that sold.

    Args:
        sold: how many sold.
        offered: how many were offered over the same days, including those that sold.
    Returns: a fraction: 0.4 is 40%.
    Errors: #DIV/0!: offered is 0. #NUM!: sold over offered, or below 0. #N/A: a required cell is blank.
    Formula: sold / offered
    Source: definition
    Examples:
        >>> sell_through(30, 75)
        0.4
        >>> sell_through([0, 5], 20).tolist()
        [0.0, 0.25]
    """
    return sold / offered


_Z: Final = 'NORMSINV((1+IF({confidence}="",0.95,{confidence}))/2)'


def _normal_quantile(share: Any) -> Any:
    """Below which deviation this share of the standard normal distribution lies; NaN at 0 and 1."""
    from statistics import NormalDist  # noqa: PLC0415  (only those who call it pay)

    shares = np.asarray(share, np.float64)
    known = np.unique(shares[(shares > 0) & (shares < 1)])
    quantiles = np.array([NormalDist().inv_cdf(one) for one in known.tolist()])
    found = np.full(shares.shape, np.nan)
    inside = np.isin(shares, known)
    found[inside] = quantiles[np.searchsorted(known, shares[inside])]
    return found


@worksheet(
    "Comps",
    formula=(
        f"={{sold}}^2/({{offered}}*({{sold}}+{_Z}^2/2+{_Z}*SQRT({{sold}}*({{offered}}-{{sold}})/{{offered}}+{_Z}^2/4)))"
    ),
    refuse=[
        *_SOLD_OF_OFFERED,
        Refusal("OR({confidence}=0,{confidence}=1)", NUMBER, "confidence: must be between 0% and 100%; write 95%"),
    ],
)
def sell_through_floor(sold: Quantity, offered: Quantity, confidence: Rate = 0.95) -> Ratio:
    """How low the true sell-through may be, given how few items were counted: 2 of 2 sold says less than 80 of 80. Assumes that items sell independently of each other.

    Args:
        confidence: the confidence level of the interval whose lower end this is; 95% if left out; over 0% and under 100%.
        as in SELL_THROUGH: sold, offered.
    Returns: a fraction, never above SELL_THROUGH.
    Errors: #DIV/0!: offered is 0. #NUM!: sold over offered, below 0, confidence 0% or 100%. #N/A: a required cell is blank.
    Formula: lower end of Wilson's score interval: with p = sold / offered, n = offered and z of the
        normal distribution, (p + z^2/2n - z x square root(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n)
    Source: E. B. Wilson (1927), as in R. G. Newcombe (1998), method 3 (M)
    Examples:
        >>> round(sell_through_floor(81, 263), 4)
        0.2553
        >>> sell_through_floor(0, 20)
        0.0
    """
    with np.errstate(all="ignore"):
        z = -_normal_quantile((1 - confidence) / 2)
        # The two ends multiply to p^2 / (1 + z^2/n): so nothing cancels, and 0 sold gives just 0.
        half = sold + z * z / 2 + z * np.sqrt(sold * (1 - sold / offered) + z * z / 4)
        floor: Number = np.where(sold == 0, 0.0, sold / offered * (sold / half))
    return floor
