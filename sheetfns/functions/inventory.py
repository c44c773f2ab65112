"""How long inventory is held, how often it turns over, what it returns, and how its price is marked down."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np

from sheetfns.blocks import are_texts, filled_rows, is_filled, last_filled, not_rising, row_place
from sheetfns.cell_types import (
    Column,
    Cost,
    Date,
    Days,
    Duration,
    Durations,
    Factor,
    Flags,
    Money,
    Rate,
    Ratio,
    Table,
    shown_cell,
)
from sheetfns.errors import BLANK, NUMBER, VALUE, CellError, refuse_where
from sheetfns.money import round_money
from sheetfns.refusals import Refusal, divides_by, unlike_sizes
from sheetfns.registry import worksheet


@worksheet(
    "Inventory",
    formula="=INT({held_until})-INT({bought_on})",
    refuse=[Refusal("INT({held_until})<INT({bought_on})", NUMBER, "held_until: is before bought_on; check both dates")],
)
def days_held(bought_on: Date, held_until: Date) -> Days:
    """How many days an item was held before it sold, or has been held up to the date that you give.

    Args:
        bought_on: the date on which it was bought.
        held_until: the date on which it sold; if it has not sold, today's date.
    Returns: whole days; 0 if both are the same day. The time of day is ignored.
    Errors: #NUM!: held_until before bought_on. #VALUE!: not a date. #N/A: one of them is blank.
    Formula: held_until - bought_on
    Source: definition
    Examples:
        >>> import datetime as dt
        >>> days_held(dt.date(2026, 1, 30), dt.date(2026, 3, 1))
        30.0
        >>> days_held(46052, 46052)
        0.0
    """
    held: Column = np.floor(held_until) - np.floor(bought_on)
    return held


_NO_INVENTORY: Final = divides_by(
    "{opening}+{closing}", "opening and closing: both are 0, so there is no inventory to measure by; check both"
)


@worksheet("Inventory", formula="={cost_of_goods_sold}/(({opening}+{closing})/2)", refuse=[_NO_INVENTORY])
def inventory_turnover(cost_of_goods_sold: Cost, opening: Cost, closing: Cost) -> Factor:
    """Inventory turnover: how often the inventory was sold and replaced in a period.

    Args:
        cost_of_goods_sold: what the items sold in the period cost, in money.
        opening: inventory at cost at the beginning of the period, in money.
        closing: inventory at cost at the end of the period, in money.
    Returns: a factor: 4 means that the inventory turned over four times in the period.
    Errors: #DIV/0!: opening and closing are both 0. #NUM!: a figure below 0. #VALUE!: text instead of a number. #N/A: a required cell is blank.
    Formula: cost_of_goods_sold / ((opening + closing) / 2)
    Source: definition
    Examples:
        >>> inventory_turnover(6000, 1000, 2000)
        4.0
        >>> inventory_turnover(0, 1000, 1000)
        0.0
    """
    return cost_of_goods_sold / ((opening + closing) / 2)


@worksheet(
    "Inventory",
    formula='={inventory}/({cost_of_goods_sold}/IF({days}="",365,{days}))',
    refuse=[
        Refusal("{days}=0", NUMBER, "days: is 0; write the length of the period in days"),
        divides_by(
            "{cost_of_goods_sold}", "cost_of_goods_sold: is 0, so the inventory never runs out; use a longer period"
        ),
    ],
)
def days_on_hand(inventory: Cost, cost_of_goods_sold: Cost, days: Duration = 365) -> Duration:
    """Days of inventory on hand: how many days the inventory lasts at the pace at which it has sold.

    Args:
        inventory: inventory at cost, in money.
        cost_of_goods_sold: what the items sold in the period cost, in money, above 0.
        days: the length of the period in days, above 0; a year of 365 if left out.
    Returns: days, the exact quotient.
    Errors: #DIV/0!: nothing was sold. #NUM!: a figure below 0, or days 0. #VALUE!: text instead of a number. #N/A: a required cell is blank.
    Formula: inventory / (cost_of_goods_sold / days)
    Source: Saylor Academy, Financial Accounting, ch. 9
    Examples:
        >>> days_on_hand(520000, 40000, 1)
        13.0
        >>> days_on_hand(300, 900, 30)
        10.0
    """
    return inventory / (cost_of_goods_sold / days)


@worksheet("Inventory", formula="={gross_margin}/(({opening}+{closing})/2)", refuse=[_NO_INVENTORY])
def gross_margin_return(gross_margin: Money, opening: Cost, closing: Cost) -> Factor:
    """Gross margin return on inventory: the gross margin that each 1.00 of inventory at cost earned in a period.

    Args:
        gross_margin: sales of the period less the cost of the items sold, in money; below 0 for a loss.
        as in INVENTORY_TURNOVER: opening, closing.
    Returns: a factor: 1.5 means that each 1.00 of inventory earned 1.50 of gross margin.
    Errors: #DIV/0!: opening and closing are both 0. #NUM!: an inventory below 0. #VALUE!: text instead of a number. #N/A: a required cell is blank.
    Formula: gross_margin / ((opening + closing) / 2)
    Source: definition. Another one multiplies gross margin as a share of sales by sales over mean
        inventory, and some value inventory at selling prices: compare only figures of one definition
    Examples:
        >>> gross_margin_return(4500, 2000, 4000)
        1.5
        >>> gross_margin_return(-300, 1000, 2000)
        -0.2
    """
    return gross_margin / ((opening + closing) / 2)


CHANCE_NOISE: Final = 1e-12
"""5/6 x 4/5 x 3/4 is a half, and in binary a little more or less."""


class _Unsold(NamedTuple):
    """The share still unsold after each number of days: a step at each of `days`."""

    days: Column
    shares: Column


def _still_unsold(days: Column, sold_flags: Any) -> _Unsold:
    """The product-limit estimate; what has not sold yet counts as far as it has been held."""
    used = ~np.isnan(days)
    sold = np.array([flag is True for flag in sold_flags[used]], bool)
    steps, place = np.unique(days[used], return_inverse=True)
    leaving = np.bincount(place, minlength=steps.size)
    selling = np.bincount(place, weights=sold, minlength=steps.size)
    # A sale counts before an item that is unsold on the same day: both were still there that morning.
    there = leaving[::-1].cumsum()[::-1]
    return _Unsold(steps, np.cumprod((there - selling) / there))


@worksheet(
    "Inventory",
    refuse=[
        Refusal("{sold_share}=0", NUMBER, "sold_share: is 0; write the share that should have sold, such as 50%"),
        unlike_sizes("sold_flags", "days"),
    ],
)
def median_days_to_sell(days: Durations, sold_flags: Flags, sold_share: Rate = 0.5) -> Duration:
    """Median days to sell: the days in which half of the items sell, counting those not sold yet. Leaving them out would make inventory look faster than it is.

    Args:
        days: a whole range: days from listing, or from buying, to the sale; for an item not sold yet, the days until now. A blank row is ignored.
        sold_flags: a whole range of the same size: yes if the item has sold; blank is no.
        sold_share: the share that has sold by then, a fraction or percentage above 0; half if left out, which gives the median.
    Returns: days.
    Shape: whole ranges and cell by cell sold_share.
    Errors: #N/A: a required cell is blank, or not that many have sold yet. #NUM!: a figure below 0, or sold_share 0. #VALUE!: text, or ranges of different sizes.
    Formula: the lowest number of days after which the product-limit estimate of the share still
        unsold is 1 - sold_share or less; a sale counts before an item that is unsold on the same day
    Source: E. L. Kaplan and P. Meier (1958), Nonparametric estimation from incomplete observations (M)
    Examples:
        >>> median_days_to_sell([5, 8, 12, 20], ["yes", "yes", "no", "yes"])
        8.0
        >>> median_days_to_sell([6, 6, 9, 14], [True, True, False, True], sold_share=0.8)
        14.0
    """
    share = np.asarray(sold_share, np.float64)
    if not days.size or not sold_flags.size:
        return np.full(share.shape, np.nan)
    unsold = _still_unsold(days, sold_flags)
    # Falling shares, turned round so that they rise: the number of steps that are not low enough.
    steps = unsold.shares.size - np.searchsorted(unsold.shares[::-1], 1 - share + CHANCE_NOISE, side="right")
    reached = steps < unsold.shares.size
    longest = float(unsold.days[-1])
    refuse_where(
        ~np.asarray(reached),
        BLANK,
        f"days: {unsold.shares[-1]:.0%} of the items would be unsold after {longest:.10g} days, the "
        "longest so far, so sold_share is not reached yet; wait, or write a lower one",
    )
    found: Column = unsold.days[np.where(reached, steps, 0)]
    return found


@worksheet("Inventory", refuse=[unlike_sizes("sold_flags", "days")])
def sold_by_chance(days: Durations, sold_flags: Flags, horizon: Duration) -> Ratio:
    """The chance that an item like yours sells within a number of days, counting items that have not sold yet.

    Args:
        horizon: within how many days; no more than the longest of days, because nothing is known beyond it, unless the chance has reached 100% by then.
        as in MEDIAN_DAYS_TO_SELL: days, sold_flags.
    Returns: a fraction: 0.6 is 60%.
    Shape: whole ranges and cell by cell horizon.
    Errors: #N/A: a required cell is blank, or horizon is beyond the longest of days. #NUM!: a figure below 0. #VALUE!: text, or ranges of different sizes.
    Formula: 1 - the product-limit estimate of the share still unsold after horizon days
    Source: E. L. Kaplan and P. Meier (1958), Nonparametric estimation from incomplete observations (M)
    Examples:
        >>> sold_by_chance([5, 8, 12, 20], ["yes", "yes", "no", "yes"], 10)
        0.5
        >>> sold_by_chance([5, 8, 12, 20], ["yes", "yes", "no", "yes"], [4, 5, 30]).tolist()
        [0.0, 0.25, 1.0]
    """
    wanted = np.asarray(horizon, np.float64)
    if not days.size or not sold_flags.size:
        return np.full(wanted.shape, np.nan)
    unsold = _still_unsold(days, sold_flags)
    longest = float(unsold.days[-1])
    refuse_where(
        np.asarray((wanted > longest) & (unsold.shares[-1] > CHANCE_NOISE)),
        BLANK,
        f"horizon: is beyond {longest:.10g} days, the longest that an item was held so far; write "
        f"{longest:.10g} or less",
    )
    after = np.concatenate([[1.0], unsold.shares])
    chance: Column = 1 - after[np.searchsorted(unsold.days, wanted, side="right")]
    return chance


_STEPS_REACHED: Final = 'SUMPRODUCT((INDEX({steps},0,1)<>"")*(INDEX({steps},0,1)<={days_listed}))'
# A first row without a number is a heading.
_SHARE_OFF: Final = (
    f"IF({_STEPS_REACHED}=0,0,INDEX({{steps}},{_STEPS_REACHED}+IF(ISNUMBER(INDEX({{steps}},1,1)),0,1),2))"
)
_DAYS: Final = "INDEX({steps},0,1)"
_SHARES: Final = "INDEX({steps},0,2)"
_HEADING: Final = "(1-ISNUMBER(INDEX({steps},1,1)))"
_BELOW_HEADING: Final = f"({row_place('{steps}')}>{_HEADING})"
# Of `steps` the body says which row is wrong.
_STEPS: Final = (
    Refusal("COLUMNS({steps})<2", VALUE),
    Refusal(f"SUMPRODUCT({_BELOW_HEADING}*{are_texts(_DAYS)})>0", VALUE),
    Refusal(f"SUMPRODUCT({_BELOW_HEADING}*{are_texts(_SHARES)})>0", VALUE),
    Refusal(f"COUNT({_DAYS})=0", BLANK),
    Refusal(f'SUMPRODUCT({_BELOW_HEADING}*(({_DAYS}="")-({_SHARES}=""))^2)>0', BLANK),
    Refusal(f"{last_filled('{steps}', _DAYS)}-{_HEADING}>COUNT({_DAYS})", BLANK),
    Refusal(f"SUMPRODUCT({_BELOW_HEADING}*(({_DAYS}<0)+({_SHARES}<0)+({_SHARES}>1)))>0", NUMBER),
    Refusal(not_rising("{steps}", _DAYS, _HEADING), NUMBER),
)


@worksheet("Inventory", formula=f"=MIN({{asking}},MAX({{floor}},ROUND({{asking}}*(1-{_SHARE_OFF}),2)))", refuse=_STEPS)
def markdown_price(asking: Cost, days_listed: Days, steps: Table, floor: Cost = 0) -> Money:
    """The price after a number of days by your own markdown steps, not below a floor.

    Args:
        asking: the price at which the item was first listed, in money.
        days_listed: how many days it has been listed.
        steps: a whole block of two columns: the day from which a step applies, rising; the share taken off asking, a fraction or percentage. The first row may be a heading.
        floor: the lowest price that you accept, in money; 0 if left out. BREAK_EVEN_PRICE gives one.
    Returns: money, rounded half up to the cent; asking itself where it is already under the floor.
    Shape: asking, days_listed and floor cell by cell; steps is a whole block. Blank rows at its end are ignored.
    Errors: #NUM!: days that do not rise, a share over 100%, below 0. #VALUE!: text, or fewer than two columns. #N/A: a required cell is blank.
    Formula: asking x (1 - share of the last step reached, which is not added to the earlier ones), not
        below floor, not above asking
    Source: common practice, no source; the steps are your own
    Examples:
        >>> markdown_price(40, 45, [["from day", "off"], [30, 0.10], [60, 0.20]])
        36.0
        >>> markdown_price(40, [0, 30, 90], [[30, 0.10], [60, 0.20]], 34).tolist()
        [40.0, 36.0, 34.0]
    """
    shape = np.broadcast_shapes(np.shape(asking), np.shape(days_listed), np.shape(floor))
    if not steps.size:
        return np.full(shape, np.nan)
    try:
        from_day, off = _markdown_steps(steps)
    except CellError as error:
        # By row: what is wrong with a row's own cells is said first.
        refuse_where(np.ones(shape, bool), error.code, error.message)
        return np.full(shape, np.nan)
    share = np.concatenate([[0.0], off])[np.searchsorted(from_day, days_listed, side="right")]
    price: Column = np.minimum(asking, np.maximum(floor, round_money(asking * (1 - share))))
    return price


def _markdown_steps(steps: Table) -> tuple[Column, Column]:
    """Days and shares off; refuses a block that is not one rising list of steps."""
    cells = filled_rows(steps)
    if not cells or len(cells[0]) < 2:
        raise CellError(VALUE, "steps: is too narrow; give two columns: from which day, and which share is taken off")
    first = 0 if isinstance(cells[0][0], float) else 1
    if len(cells) == first:
        raise CellError(BLANK, "steps: has no step; write one, such as 30 and 10%")
    for number, row in enumerate(cells[first:], first + 1):
        _refuse_step(number, row)
    days = np.array([row[0] for row in cells[first:]])
    falls = np.flatnonzero(np.diff(days) <= 0)
    if falls.size:
        number = int(falls[0]) + first + 2
        raise CellError(
            NUMBER, f"steps: the day in row {number} is not above the one before; put the days in rising order"
        )
    return days, np.array([row[1] for row in cells[first:]])


def _refuse_step(number: int, row: list[Any]) -> None:
    for cell, what in zip(row[:2], ("day", "share"), strict=True):
        if not is_filled(cell):
            raise CellError(BLANK, f"steps: row {number} has no {what}; fill it in")
        if not isinstance(cell, float):
            raise CellError(VALUE, f"steps: '{shown_cell(cell)}' in row {number} is not a {what}; write a number")
        if cell < 0:
            raise CellError(NUMBER, f"steps: {cell:.15g} in row {number} is below 0; write 0 or more")
    if row[1] > 1:
        raise CellError(NUMBER, f"steps: {row[1]:.15g} in row {number} is over 100%; write 10% or 0.1 for a tenth")
