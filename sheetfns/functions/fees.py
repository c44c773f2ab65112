"""What a channel charges for a sale: one or two bands with a minimum and maximum, or any number of bands."""

from __future__ import annotations

import math

import numpy as np

from sheetfns.cell_types import Column, Cost, Costs, Money, Number, Rate, Rates
from sheetfns.errors import BLANK, NUMBER, VALUE
from sheetfns.money import part_over, round_money
from sheetfns.refusals import Refusal
from sheetfns.registry import worksheet

NO_LIMIT = math.inf
NOT_GIVEN = math.nan

BAND_LIMIT = 'IF({band_limit}="",1E+15,{band_limit})'
RATE_ABOVE = 'IF({rate_above}="",0,{rate_above})'
_BASE = "(({price}+{shipping})*(1+{tax_rate}))"
# The part over the limit is rounded as PART_DIGITS says: half cents do not survive its noise.
_SUM = (
    f"MIN({_BASE},{BAND_LIMIT})*{{rate}}+ROUND(MAX({_BASE}-{BAND_LIMIT},0),9)*{RATE_ABOVE}"
    "+{per_order}+{ad_rate}*({price}+{shipping})"
)
FEE_TERMS = (
    Refusal("{minimum}>{maximum}", NUMBER, "minimum: the minimum fee is above the maximum; check both"),
    Refusal(
        'AND({band_limit}<>"",{rate_above}="")',
        BLANK,
        "rate_above is blank; band_limit needs the rate on the part over it (0 if there is none)",
    ),
)


@worksheet(
    "Fees", formula=f'=MAX({{minimum}},MIN(IF({{maximum}}="",1E+15,{{maximum}}),ROUND({_SUM},2)))', refuse=FEE_TERMS
)
def selling_fee(
    price: Cost,
    shipping: Cost,
    rate: Rate,
    per_order: Cost,
    tax_rate: Rate = 0,
    band_limit: Cost = NO_LIMIT,
    rate_above: Rate = NOT_GIVEN,
    minimum: Cost = 0,
    maximum: Cost = NO_LIMIT,
    ad_rate: Rate = 0,
) -> Money:
    """The channel's fee for one order, rounded once to the cent.

    Args:
        price: what the buyer pays for the item, without sales tax, in money.
        shipping: what the buyer pays for postage, in money.
        rate: the channel's fee rate, a fraction or percentage of the fee base.
        per_order: the channel's fixed fee for each order, in money.
        tax_rate: sales tax that counts in the fee base, a fraction of price and shipping.
        band_limit: the fee base up to which rate applies, in money; no limit if left out.
        rate_above: the fee rate on the part over band_limit.
        minimum: the minimum fee that the channel charges for an order, in money.
        maximum: the maximum fee that the channel charges for an order, in money; no maximum if left out.
        ad_rate: advertising fee, a fraction of price and shipping.
    Returns: money, rounded half up to the cent.
    Errors: #NUM!: a figure below 0, a rate over 100%, minimum over maximum. #N/A: a required cell is blank. #VALUE!: text instead of a number.
    Formula: base = (price + shipping) x (1 + tax_rate); rate x base up to band_limit + rate_above x
        the part over it + per_order + ad_rate x (price + shipping); not under minimum, not over maximum
    Source: common practice, no source; the terms are your channel's own, on Settings
    Examples:
        >>> selling_fee(25, 5, 0.10, 0.30)
        3.3
        >>> selling_fee(1.50, 0, 0.05, 0)
        0.08
    """
    banded = band_limit < NO_LIMIT
    income = price + shipping
    base = income * (1 + tax_rate)
    upper_rate = np.where(banded, rate_above, 0.0)
    limit = np.where(banded, band_limit, base)
    banded_fee = np.minimum(base, limit) * rate + part_over(base, limit) * upper_rate
    fee = round_money(banded_fee + per_order + ad_rate * income)
    bounded: Number = np.maximum(minimum, np.minimum(maximum, fee))
    return bounded


FORMULA_LIMITS = 5
"""The ordinary formula goes through so many limits one by one: a range built from two INDEX, which
would need no such end, is unknown to several spreadsheet engines. A longer table shows #N/A. Limits
rise, so that the second is the second smallest; some engines take no INDEX of one cell."""
_OVER = "".join(
    f"+IF(COUNT({{limits}})<{band},0,MAX({{amount}}-SMALL({{limits}},{band}),0)"
    f"*(INDEX({{rates}},{band + 1})-INDEX({{rates}},{band})))"
    for band in range(1, FORMULA_LIMITS + 1)
)


# Limits are looked at one by one, as the formula does; a longer table shows #N/A.
_ABOVE_THE_ONE_BEFORE = "".join(
    f",IF(COUNT({{limits}})<{place},FALSE,INDEX({{limits}},{place})<=INDEX({{limits}},{place - 1}))"
    for place in range(2, FORMULA_LIMITS + 1)
)
_GAPS = ",".join(
    f'IF(COUNT({{rates}})<{place},FALSE,INDEX({{rates}},{place})="")' for place in range(1, FORMULA_LIMITS + 2)
)


def _do_not_rise(limits: Column) -> np.bool_:
    return (np.diff(limits[~np.isnan(limits)], prepend=0) <= 0).any()


_BANDS = (
    Refusal("COUNT({rates})=0", BLANK, "rates is blank; give one rate for each band", guard=False),
    Refusal(
        "COUNT({limits})<>COUNT({rates})-1",
        VALUE,
        "limits: {COUNT(limits)} upper limits for {COUNT(rates)} rates; give one fewer limit than rates (the last "
        "band has no upper limit)",
    ),
    # The formula finds a rate by its place; Python leaves blank cells out.
    Refusal(f"OR({_GAPS})", VALUE),
    Refusal(
        f"OR(MIN({{limits}})<=0{_ABOVE_THE_ONE_BEFORE})",
        NUMBER,
        "limits: must be above 0 and rise from band to band; put them in order",
        python=_do_not_rise,
    ),
)


def _bands(limits: Column, rates: Column) -> tuple[Column, Column]:
    """Lower ends and rates of the bands."""
    return np.concatenate([[0.0], limits[~np.isnan(limits)]]), rates[~np.isnan(rates)]


@worksheet(
    "Fees",
    # The inner rounding takes the noise of the subtractions away.
    formula=(
        f"=IF(COUNT({{limits}})>{FORMULA_LIMITS},NA(),"
        f"ROUND(ROUND(INDEX({{rates}},1)*{{amount}}{_OVER}+{{per_order}},9),2))"
    ),
    refuse=_BANDS,
)
def band_fee(amount: Cost, limits: Costs, rates: Rates, per_order: Cost = 0) -> Money:
    """A tiered fee: each part of the amount pays the rate of the band that it falls into.

    Args:
        amount: the amount on which the fee is charged, in money.
        limits: the upper limits of the bands, rising, in money; the last band has none, so give one fewer limit than rates.
        rates: the rate of each band, in the same order, fractions or percentages.
        per_order: a fixed fee that is added, in money.
    Returns: money, rounded half up to the cent.
    Shape: amount and per_order cell by cell; limits and rates are whole ranges.
    Errors: #VALUE!: limits and rates do not match in number. #NUM!: a figure below 0, limits that do not rise. #N/A: a required cell is blank.
    Formula: the sum over bands of rate x the part of amount within the band, + per_order
    Source: common practice, no source; the terms are your channel's own
    Examples:
        >>> band_fee(1500, [1000], [0.10, 0.02])
        110.0
        >>> band_fee([500, 6000], [1000, 5000], [0.10, 0.05, 0.02], 1).tolist()
        [51.0, 321.0]
    """
    lower, of_band = _bands(limits, rates)
    widths = np.append(part_over(lower[1:], lower[:-1]), np.inf)
    parts = np.minimum(part_over(np.asarray(amount)[..., None], lower), widths)
    fee: Column = (parts * of_band).sum(axis=-1) + per_order
    return round_money(fee)


def _left_at(band: int) -> str:
    """What the fee leaves of a band's upper limit, without the fee per order."""
    below = "".join(
        f"+SMALL({{limits}},{lower})*(INDEX({{rates}},{lower + 1})-INDEX({{rates}},{lower}))"
        for lower in range(1, band)
    )
    return f"SMALL({{limits}},{band})*(1-INDEX({{rates}},{band})){below}"


# Over each limit more, or less, of the amount is kept.
_NEEDED_OVER = "".join(
    f"+IF(COUNT({{limits}})<{band},0,MAX({{needed}}+{{per_order}}-({_left_at(band)}),0)"
    f"*(1/(1-INDEX({{rates}},{band + 1}))-1/(1-INDEX({{rates}},{band}))))"
    for band in range(1, FORMULA_LIMITS + 1)
)


@worksheet(
    "Fees",
    formula=(
        f"=IF(COUNT({{limits}})>{FORMULA_LIMITS},NA(),({{needed}}+{{per_order}})/(1-INDEX({{rates}},1)){_NEEDED_OVER})"
    ),
    refuse=[*_BANDS, Refusal("MAX({rates})>=1", NUMBER, "rates: a band takes the whole amount; check the rates")],
)
def band_break_even(needed: Cost, limits: Costs, rates: Rates, per_order: Cost = 0) -> Money:
    """The amount that leaves what you need after a tiered fee: the reverse of BAND_FEE.

    Args:
        needed: what you need to have left after the fee, in money.
        limits: the upper limits of the bands, rising, in money; one fewer limit than rates.
        rates: the rate of each band, in the same order, fractions or percentages; below 100%.
        per_order: a fixed fee that is added, in money.
    Returns: money, exact, not rounded; round it up for your asking price.
    Shape: needed and per_order cell by cell; limits and rates are whole ranges.
    Errors: #VALUE!: limits and rates do not match in number. #NUM!: a rate that takes the whole amount, limits that do not rise. #N/A: a required cell is blank.
    Formula: the x for which x - (unrounded BAND_FEE of x) = needed
    Source: definition (inverse of BAND_FEE)
    Examples:
        >>> band_break_even(1390, [1000], [0.10, 0.02])
        1500.0
        >>> band_break_even(9, [1000], [0.10, 0.02], 0.90)
        11.0
    """
    lower, of_band = _bands(limits, rates)
    widths = np.diff(lower)
    left_at_lower = np.concatenate([[0.0], np.cumsum(widths * (1 - of_band[:-1]))])
    wanted = np.asarray(needed + per_order)
    band = np.searchsorted(left_at_lower, wanted, side="right") - 1
    band = np.clip(band, 0, of_band.size - 1)
    amount: Column = lower[band] + (wanted - left_at_lower[band]) / (1 - of_band[band])
    return amount
