"""What to pay for an item, and which items to buy with the cash on hand."""

from __future__ import annotations

import functools
import math
import time
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from sheetfns.cell_types import Column, Cost, Costs, Count, Counts, Durations, Factor, Money, Monies, Number, Rate, Text
from sheetfns.errors import BLANK, NUMBER, CellError, row_by_row
from sheetfns.money import PART_DIGITS, round_money
from sheetfns.refusals import Refusal, divides_by
from sheetfns.registry import REGISTRY, worksheet

_LEFT: Final = (
    "({expected_price}+{shipping}"
    "-ROUND(({expected_price}+{shipping})*(1+{tax_rate})*{rate}+{per_order},2)"
    "-{postage}-{packaging})"
)


class _Targets(NamedTuple):
    """What a sale leaves, and the most that the item may then cost in all by each target."""

    left: Number
    by_profit: Number
    by_return: Number


def _targets(
    expected_price: Cost,
    shipping: Cost,
    postage: Cost,
    packaging: Cost,
    rate: Rate,
    per_order: Cost,
    target_profit: Cost,
    target_return: Factor,
    tax_rate: Rate,
) -> _Targets:
    fee_of = REGISTRY["SELLING_FEE"].body
    fee = fee_of(expected_price, shipping, rate, per_order, tax_rate)
    left = expected_price + shipping - fee - postage - packaging
    return _Targets(left, left - target_profit, left / (1 + np.abs(target_return)))


_RETURN_BELOW_0: Final = Refusal(
    "{target_return}<0",
    NUMBER,
    "target_return: is below 0; write 50% if an item that cost 10.00 should earn 5.00, or 0",
)


@worksheet(
    "Buying",
    formula=(
        f"=MAX(0,(MIN({_LEFT}-{{target_profit}},{_LEFT}/(1+{{target_return}}))-{{prep_cost}})"
        "/(1+{purchase_tax_rate}))"
    ),
    refuse=[_RETURN_BELOW_0],
)
def buy_ceiling(
    expected_price: Cost,
    shipping: Cost,
    postage: Cost,
    packaging: Cost,
    rate: Rate,
    per_order: Cost,
    target_profit: Cost = 0,
    target_return: Factor = 0,
    tax_rate: Rate = 0,
    prep_cost: Cost = 0,
    purchase_tax_rate: Rate = 0,
) -> Money:
    """The highest price tag at which the sale still earns both your target profit and your target return.

    Args:
        expected_price: what the item should sell for, see COMP_VALUE, in money.
        shipping: what the buyer will pay for postage, in money.
        postage: what the label will cost you, in money.
        packaging: box, tape and padding, in money.
        rate: the channel's fee rate, a fraction or percentage of price and shipping.
        per_order: the channel's fixed fee for each order, in money.
        target_profit: your target profit from the item, in money; 0 if left out.
        target_return: your target return on cost, a fraction or percentage, 0 or more: 1 or 100% to double your money; 0 if left out.
        tax_rate: sales tax that counts in the fee base, a fraction of price and shipping.
        prep_cost: cleaning, parts, batteries and the like, in money.
        purchase_tax_rate: sales tax that the register adds to the price tag, a fraction of it.
    Returns: money, not rounded; 0 if no price is low enough. Round it down before you make an offer.
    Errors: #NUM!: an amount or target_return below 0, a rate over 100%. #VALUE!: text instead of a number. #N/A: a required cell is blank.
    Formula: left = expected_price + shipping - SELLING_FEE - postage - packaging; (the lower of left -
        target_profit and left / (1 + target_return), - prep_cost) / (1 + purchase_tax_rate), not
        below 0
    Source: definition (NET_PROFIT and RETURN_ON_COST solved for the price paid)
    Examples:
        >>> buy_ceiling(45, 5, 6.25, 0.75, 0.10, 0.50, target_profit=10)
        27.5
        >>> buy_ceiling(45, 5, 6.25, 0.75, 0.10, 0.50, target_profit=10, target_return=1)
        18.75
    """
    _, by_profit, by_return = _targets(
        expected_price, shipping, postage, packaging, rate, per_order, target_profit, target_return, tax_rate
    )
    in_all = np.minimum(by_profit, by_return) - prep_cost
    ceiling: Column = np.maximum(in_all / (1 + purchase_tax_rate), 0)
    return ceiling


NO_PRICE: Final = "no price is low enough: "
NO_PRICE_LEFT: Final = " is left after fee, postage and packaging"
NOTHING_WANTED: Final = "break-even: no target profit or return"
PROFIT_SETS: Final = "the target profit sets the limit"
RETURN_SETS: Final = "the target return sets the limit"
BOTH_SET: Final = "both targets set the limit"
_BY_PROFIT: Final = f"{_LEFT}-{{target_profit}}"
_BY_RETURN: Final = f"{_LEFT}/(1+{{target_return}})"
_APART: Final = f"ROUND({_BY_PROFIT}-{_BY_RETURN},{PART_DIGITS})"


@worksheet(
    "Buying",
    formula=(
        f"=IF(ROUND(MIN({_BY_PROFIT},{_BY_RETURN})-{{prep_cost}},{PART_DIGITS})<0,"
        f'"{NO_PRICE}"&FIXED(ROUND({_LEFT},2),2,TRUE)&"{NO_PRICE_LEFT}",'
        f'IF(AND({{target_profit}}=0,{{target_return}}=0),"{NOTHING_WANTED}",'
        f"IF(AND({{target_profit}}<>0,OR({_APART}<0,{{target_return}}=0)),"
        f'"{PROFIT_SETS}",IF(OR({_APART}>0,{{target_profit}}=0),"{RETURN_SETS}","{BOTH_SET}"))))'
    ),
    refuse=[_RETURN_BELOW_0],
)
def buy_remark(
    expected_price: Cost,
    shipping: Cost,
    postage: Cost,
    packaging: Cost,
    rate: Rate,
    per_order: Cost,
    target_profit: Cost = 0,
    target_return: Factor = 0,
    tax_rate: Rate = 0,
    prep_cost: Cost = 0,
    purchase_tax_rate: Rate = 0,
) -> Text:
    """What sets BUY_CEILING: the target profit, the target return, both or neither; or that no price is low enough.

    Args:
        purchase_tax_rate: sales tax that the register adds to the price tag; it does not change the remark.
        as in BUY_CEILING: expected_price, shipping, postage, packaging, rate, per_order, target_profit,
            target_return, tax_rate, prep_cost.
    Returns: text.
    Errors: #NUM!: an amount or target_return below 0, a rate over 100%. #VALUE!: text instead of a number. #N/A: a required cell is blank.
    Formula: as BUY_CEILING; no price is low enough where even a free item misses a target
    Source: definition
    Examples:
        >>> buy_remark(40, 5, 6, 0.80, 0.10, 0.30, target_profit=10, target_return=1)
        'the target return sets the limit'
        >>> buy_remark(8, 0, 6, 0.80, 0.10, 0.30, target_profit=10)
        'no price is low enough: 0.10 is left after fee, postage and packaging'
    """
    targets = _targets(
        expected_price, shipping, postage, packaging, rate, per_order, target_profit, target_return, tax_rate
    )
    return row_by_row(_remark, *targets, target_profit, target_return, prep_cost)


def _remark(
    left: float, by_profit: float, by_return: float, target_profit: float, target_return: float, prep_cost: float
) -> str:
    if round(min(by_profit, by_return) - prep_cost, PART_DIGITS) < 0:
        shown = round_money(left) + 0.0
        return f"{NO_PRICE}{shown:.2f}{NO_PRICE_LEFT}"
    if target_profit == 0 and target_return == 0:
        return NOTHING_WANTED
    apart = round(by_profit - by_return, PART_DIGITS)
    if target_profit and (apart < 0 or not target_return):
        return PROFIT_SETS
    if apart > 0 or not target_profit:
        return RETURN_SETS
    return BOTH_SET


LARGEST_CASH: Final = 1e13
"""Over it there are too few binary digits left to count to the cent."""


@worksheet(
    "Buying",
    formula="=INT(ROUND({cash}*100,0)/ROUND({price}*100,0))",
    refuse=[
        Refusal(f"{{cash}}>{LARGEST_CASH:.0E}", NUMBER, "cash: too large to count in cents; check it"),
        Refusal(f"{{price}}>{LARGEST_CASH:.0E}", NUMBER, "price: too large to count in cents; check it"),
        divides_by("ROUND({price},2)", "price: is 0, so the cash covers any number of items; check it"),
    ],
)
def afford_count(cash: Cost, price: Cost) -> Count:
    """How many whole items the cash covers at this price.

    Args:
        cash: what you have to spend, in money.
        price: what one item costs in all, tax and prep included, in money, above 0.
    Returns: a whole number.
    Errors: #DIV/0!: price is 0. #NUM!: a figure below 0, or too large to count in cents. #N/A: a required cell is blank.
    Formula: cash / price in whole cents, rounded down
    Source: definition
    Examples:
        >>> afford_count(0.30, 0.10)
        3.0
        >>> afford_count([50, 49.99], 12.50).tolist()
        [4.0, 3.0]
    """
    with np.errstate(all="ignore"):
        count: Column = np.floor(np.round(round_money(cash) * 100) / np.round(round_money(price) * 100))
    return count


LARGEST_PLANNED: Final = 1e7
"""Far over what anybody buys, and far below what whole numbers can hold."""
LARGEST_VALUE: Final = 2**52
SECONDS: Final = 10.0
RATE_UNITS: Final = 10**6
"""Profits for each day are compared in millionths: in whole units a tie is a tie."""
TABLE_CELLS: Final = 400_000_000
"""So many steps of the table take well under a second and 50 MB; over it the solver is asked."""
STATES: Final = 8_000_000
STATES_KEPT: Final = 60_000_000
"""Four bytes each, for the way back."""


class _Choice(NamedTuple):
    """Candidates that are alike: so many at most, each at this cost and of this value."""

    cost: int
    value: int
    maximum: int


@worksheet("Buying")
def buy_plan(
    costs: Costs,
    profits: Monies,
    cash: Cost,
    days_to_sell: Durations = np.nan,  # type: ignore[assignment]
    maximum_of_each: Counts = 1,  # type: ignore[assignment]
    reserve: Cost = 0,
) -> Counts:
    """How many of each item to buy so that the cash earns the most profit: the best choice there is, not a rule of thumb. It is only as good as the profits that you expect.

    Args:
        costs: a whole range: what one item costs in all, see LANDED_COST, in money; a blank row stays blank.
        profits: a whole range of the same size: what one item should earn, see NET_PROFIT, in money; items that earn nothing are never chosen.
        cash: what you have to spend, in money.
        days_to_sell: a whole range of the same size: in how many days each item should sell, above 0. If given, the plan earns the most profit per day.
        maximum_of_each: a whole range of the same size: how many of each are for sale; 1 where left out or blank.
        reserve: the part of the cash not to spend, in money; if it is over cash, nothing is bought.
    Returns: a range of the size of costs: whole numbers; what they cost together is within cash - reserve.
    Shape: whole ranges of one size and single cells in, a range out.
    Errors: #N/A: a blank cell in a row that is in use. #NUM!: a figure below 0, days_to_sell 0, too large, or no best choice proved within 10 s. #VALUE!: text, or ranges of different sizes.
    Formula: the highest sum of count x profit, or of count x profit / days_to_sell in millionths,
        with the sum of count x cost up to cash - reserve, all in whole cents; of plans that earn
        the same, the cheapest; of equal rows, the earlier first
    Source: definition (bounded knapsack problem); solved by dynamic programming, or where cash in
        cents x rows is over 400 million, over the states that can still lead to more. Tested with 500 rows
    Examples:
        >>> buy_plan([60, 50, 50], [33, 25, 25], 100).tolist()
        [0.0, 1.0, 1.0]
        >>> buy_plan([10, 10], [9, 5], 25, days_to_sell=[90, 10], maximum_of_each=[2, 3]).tolist()
        [0.0, 2.0]
    """
    used = ~(np.isnan(costs) & np.isnan(profits))
    _refuse_in_range("costs", np.isnan(costs) & used, BLANK, "is blank; fill it in, or clear the cell in profits")
    _refuse_in_range("profits", np.isnan(profits) & used, BLANK, "is blank; fill it in, or write 0")
    if days_to_sell.size:
        no_days = np.isnan(days_to_sell) & used
        _refuse_in_range("days_to_sell", no_days, BLANK, "is blank; fill in every row, or clear them all")
        _refuse_in_range("days_to_sell", (days_to_sell == 0) & used, NUMBER, "is 0; write 1 or more")
    for name, column in (("costs", costs), ("profits", profits)):
        _refuse_in_range(name, column > LARGEST_PLANNED, NUMBER, "is over 10,000,000; check it")
    room = _cents(min(float(cash), LARGEST_CASH)) - _cents(min(float(reserve), LARGEST_CASH))
    if room < 0:
        return np.where(used, 0.0, np.nan)
    columns = (costs, profits, days_to_sell, maximum_of_each)
    found = _planned(room, *(np.ascontiguousarray(column).tobytes() for column in columns))
    if isinstance(found, str):
        raise CellError(NUMBER, found)
    return np.array(found)


def _refuse_in_range(name: str, bad: NDArray[np.bool_], code: str, rule: str) -> None:
    if bad.any():
        raise CellError(code, f"{name}: cell {np.flatnonzero(bad)[0] + 1} of the range {rule}")


def _cents(amount: float) -> int:
    return round(float(round_money(amount)) * 100)


@functools.lru_cache(maxsize=16)
def _planned(
    room: int, costs: bytes, profits: bytes, days_to_sell: bytes, maximum_of_each: bytes
) -> tuple[float, ...] | str:
    """The counts, or what is wrong; a workbook asks for the same plan once for each of its rows.

    Args:
        room: the cents that may be spent.
        costs: this and the following are columns as bytes, so that they can be looked up.
        profits: see BUY_PLAN.
        days_to_sell: see BUY_PLAN.
        maximum_of_each: see BUY_PLAN.
    """
    each = [np.frombuffer(column).tolist() for column in (costs, profits)]
    days = np.frombuffer(days_to_sell).tolist() or [1.0] * len(each[0])
    maximum = np.frombuffer(maximum_of_each).tolist() or [1.0] * len(each[0])
    by_day = bool(days_to_sell)
    counts = [np.nan if np.isnan(cost) else 0.0 for cost in each[0]]
    alike: dict[tuple[int, int], list[int]] = {}
    for row, (cost, profit) in enumerate(zip(*each, strict=True)):
        if np.isnan(cost) or _cents(profit) <= 0:
            continue
        limit = 1 if np.isnan(maximum[row]) else int(maximum[row])
        if _cents(cost) == 0:
            counts[row] = float(limit)
            continue
        maximum[row] = min(limit, room // _cents(cost))
        value = _value(_cents(profit), days[row]) if by_day else _cents(profit)
        if maximum[row]:
            alike.setdefault((_cents(cost), value), []).append(row)
    choices = [
        _Choice(cost, value, min(sum(int(maximum[row]) for row in rows), room // cost))
        for (cost, value), rows in alike.items()
    ]
    chosen = _best(choices, room)
    if isinstance(chosen, str):
        return chosen
    for number, rows in zip(chosen, alike.values(), strict=True):
        left = number
        for row in rows:
            counts[row] = float(min(left, int(maximum[row])))
            left -= int(counts[row])
    return tuple(counts)


def _value(profit: int, days: float) -> int:
    """Profit for each day in RATE_UNITS; never 0, as it is a profit."""
    return max(1, round(Fraction(profit, 100) * RATE_UNITS / Fraction(days)))


def _best(choices: Sequence[_Choice], room: int) -> list[int] | str:
    """How many of each: the highest value within `room`, and of such choices the cheapest."""
    if sum(one.cost * one.maximum for one in choices) <= room:
        return [one.maximum for one in choices]
    if sum(one.value * one.maximum for one in choices) > LARGEST_VALUE:
        return "profits: too large to compare; check profits, maximum_of_each and days_to_sell"
    unit = math.gcd(*(one.cost for one in choices))
    gain = math.gcd(*(one.value for one in choices))
    choices = [_Choice(one.cost // unit, one.value // gain, one.maximum) for one in choices]
    room //= unit
    steps = sum(one.maximum.bit_length() for one in choices) * room
    return by_table(choices, room) if steps <= TABLE_CELLS else by_states(choices, room)


def by_table(choices: Sequence[_Choice], room: int) -> list[int]:
    """Dynamic programming over every amount up to `room`, in whole numbers throughout."""
    best = np.zeros(room + 1, np.int64)
    parts: list[tuple[int, int, NDArray[np.uint8]]] = []
    for place, one in enumerate(choices):
        for number in _binary_parts(one.maximum):
            cost = number * one.cost
            if cost > room:
                continue
            with_it = best[: room + 1 - cost] + number * one.value
            parts.append((place, number, np.packbits(with_it > best[cost:], bitorder="little")))
            np.maximum(best[cost:], with_it, out=best[cost:])
    counts = [0] * len(choices)
    # The first amount that brings the highest value is the least that has to be spent for it.
    spent = int(np.searchsorted(best, best[-1]))
    for place, number, taken in reversed(parts):
        before = spent - number * choices[place].cost
        if before >= 0 and taken[before >> 3] >> (before & 7) & 1:
            counts[place] += number
            spent = before
    return counts


def _binary_parts(maximum: int) -> Iterator[int]:
    """1, 2, 4 ... and a rest, which add up to every number up to the maximum.

    >>> list(_binary_parts(10))
    [1, 2, 4, 3]
    """
    part = 1
    while maximum > 0:
        yield min(part, maximum)
        maximum -= part
        part *= 2


class _Part(NamedTuple):
    """So many of one choice, bought together or not at all."""

    cost: int
    value: int
    place: int
    number: int


def by_states(choices: Sequence[_Choice], room: int) -> list[int] | str:
    """Dynamic programming about the choices near the best ratio of value to cost, in whole numbers.

    It begins with what has the best ratios, as far as there is room, and at each step decides about one
    more part: one to be added, or one to be given back. A state that cannot lead to more than the best plan
    so far is dropped; when none is left, that plan is proved.
    """
    end = time.monotonic() + SECONDS
    parts = [
        _Part(number * one.cost, number * one.value, place, number)
        for place, one in enumerate(choices)
        for number in _binary_parts(one.maximum)
        if number * one.cost <= room
    ]
    parts.sort(key=lambda part: (-part.value / part.cost, part.cost))
    ratios = [part.value / part.cost for part in parts]
    taken = _greedy(parts, room)
    best = _worth(parts, taken)
    first = next(place for place, is_taken in enumerate([*taken, False]) if not is_taken)
    begun = [place < first for place in range(len(parts))]
    spent, values = (np.array([abs(figure)], np.int64) for figure in reversed(_worth(parts, begun)))
    steps: list[tuple[int, int, NDArray[np.int32]]] = []
    following, returned, kept = first, first - 1, 0
    while spent.size and (following < len(parts) or returned >= 0):
        # By turns, so that what is undecided lies on both sides of the break.
        adds = following < len(parts) and (returned < 0 or following - first < first - returned)
        part, sign = (following, 1) if adds else (returned, -1)
        following, returned = (following + 1, returned) if adds else (following, returned - 1)
        before = spent.size
        spent = np.concatenate([spent, spent + sign * parts[part].cost])
        values = np.concatenate([values, values + sign * parts[part].value])
        order = np.argsort(spent, kind="stable")
        order = order[_rising(values[order])]
        spent, values = spent[order], values[order]
        last = int(np.searchsorted(spent, room, side="right")) - 1
        better = last >= 0 and (int(values[last]), -int(spent[last])) > best
        if better:
            best = (int(values[last]), -int(spent[last]))
            taken = _taken_back([*steps, (part, before, order)], last, begun)
        up = ratios[following] if following < len(parts) else 0.0
        down = ratios[returned] if returned >= 0 else LARGEST_VALUE
        # More value within the cash, or the same for a cent less.
        useful = _reaches(best[0] + 1, room, spent, values, (up, down))
        useful |= _reaches(best[0], -best[1] - 1, spent, values, (up, down))
        spent, values, order = spent[useful], values[useful], order[useful]
        steps.append((part, before, order.astype(np.int32)))
        kept += spent.size
        if spent.size > STATES or kept > STATES_KEPT or time.monotonic() > end:
            return (
                f"costs: no best choice could be proved within {SECONDS:g} s; use fewer rows, or costs in whole dollars"
            )
    counts = [0] * len(choices)
    for part_of, is_taken in zip(parts, taken, strict=True):
        counts[part_of.place] += part_of.number if is_taken else 0
    return counts


def _greedy(parts: Sequence[_Part], room: int) -> list[bool]:
    """Each part, in its order, for which there is still room."""
    taken = []
    for part in parts:
        taken.append(part.cost <= room)
        room -= part.cost if taken[-1] else 0
    return taken


def _worth(parts: Sequence[_Part], taken: Sequence[bool]) -> tuple[int, int]:
    """The value, and the cost below 0: of two plans the better is the larger pair."""
    bought = [part for part, is_taken in zip(parts, taken, strict=True) if is_taken]
    return sum(part.value for part in bought), -sum(part.cost for part in bought)


def _rising(values: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Which states bring more than every cheaper one."""
    rising = np.ones(values.size, bool)
    rising[1:] = values[1:] > np.maximum.accumulate(values)[:-1]
    return rising


def _reaches(
    wanted: int, room: int, spent: NDArray[np.int64], values: NDArray[np.int64], ratios: tuple[float, float]
) -> NDArray[np.bool_]:
    """Which states may still bring a value within a room, whatever is decided about the parts that are left.

    Args:
        wanted: the value.
        room: what may be spent.
        spent: of each state.
        values: of each state.
        ratios: the best ratio of what can be added, and the least of what can be given back.
    """
    left = (room - spent).astype(float)
    change = left * np.where(left >= 0, *ratios)
    # More than binary fractions can be off by: too many states stay, never too few.
    found: NDArray[np.bool_] = values + change + 2e-15 * (values + np.abs(change)) >= wanted
    return found


def _taken_back(
    steps: Sequence[tuple[int, int, NDArray[np.integer[Any]]]], state: int, begun: Sequence[bool]
) -> list[bool]:
    """The parts of a state after the last step: each step says from which state of the step before it came."""
    taken = list(begun)
    for part, before, order in reversed(steps):
        changed, state = divmod(int(order[state]), before)
        taken[part] ^= bool(changed)
    return taken
