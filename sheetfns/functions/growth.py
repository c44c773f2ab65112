"""Reinvesting: what starting cash becomes week by week, from averages or from your own history."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from sheetfns import calling
from sheetfns.cell_types import Column, Cost, Costs, Count, Duration, Durations, Flags, Monies, Number, Ratio, Rows
from sheetfns.errors import BLANK, NUMBER, VALUE, CellError, row_by_row
from sheetfns.functions.fees import NO_LIMIT
from sheetfns.registry import REGISTRY, worksheet

DAYS_OF_WEEK: Final = 7
MOST_WEEKS: Final = 520
NOTHING: Final = 1e-6
"""A pay that is short by a ten-thousandth of a cent is full: binary sums are short by that much."""


class _Terms(NamedTuple):
    """What is paid and bought in each week, in money."""

    fixed_costs: float
    pay: float
    pay_from_reserve: float
    buying_limit: float


class _Week(NamedTuple):
    """One week of one path, or of many: what is there at its end, drawn and bought in it."""

    cash: Any
    owed: Any
    drawn: Any
    bought: Any


def _one_week(cash: Any, owed: Any, came_in: Any, terms: _Terms) -> _Week:
    """The order of every week: sales come in, costs go out, then pay, and the rest buys inventory."""
    left = cash + came_in - owed - terms.fixed_costs
    owed = np.maximum(-left, 0)
    cash = np.maximum(left, 0)
    drawn = np.minimum(np.maximum(cash - terms.pay_from_reserve, 0), terms.pay)
    cash = cash - drawn
    bought = np.minimum(np.maximum(cash - terms.fixed_costs, 0), terms.buying_limit)
    return _Week(cash - bought, owed, drawn, bought)


def _turn_weeks(days: Number) -> Column:
    """In how many weeks inventory sells; less than a week counts as a week."""
    return np.maximum(np.divide(days, DAYS_OF_WEEK), 1)


def _whole_weeks(days: Number) -> tuple[Column, Column]:
    """After how many whole weeks a purchase comes back, and which share of it a week later."""
    weeks = np.minimum(_turn_weeks(days), MOST_WEEKS + 1)
    whole = np.floor(weeks)
    return whole, weeks - whole


def _refuse_weeks(weeks: float) -> None:
    if not 1 <= weeks <= MOST_WEEKS:
        raise CellError(NUMBER, f"weeks: {weeks:.15g} is out of range; write 1 to {MOST_WEEKS}")


class _PathWeek(NamedTuple):
    cash: float
    inventory: float
    drawn: float
    owed: float


def _path(
    starting_cash: float, return_rate: float, days_to_turn: float, weeks: float, terms: _Terms, opening_inventory: float
) -> list[_PathWeek]:
    """One path of averages, a row for each week; refuses what has no path."""
    _refuse_weeks(weeks)
    if return_rate < -1:
        raise CellError(
            NUMBER, f"return_rate: {return_rate:.15g} is below -100%; an item cannot lose more than it cost"
        )
    if days_to_turn <= 0:
        raise CellError(NUMBER, "days_to_turn: must be above 0; write the days in which the inventory sells")
    count = int(weeks)
    whole, part = _whole_weeks(days_to_turn)
    lag, later = int(whole), float(part)
    turn = float(_turn_weeks(days_to_turn))
    bought = [0.0] * count
    rows: list[_PathWeek] = []
    cash, owed, inventory = starting_cash, 0.0, opening_inventory
    for week in range(count):
        sold = opening_inventory * (min(1.0, (week + 1) / turn) - min(1.0, week / turn))
        if week >= lag:
            sold += bought[week - lag] * (1 - later)
        if week > lag:
            sold += bought[week - lag - 1] * later
        now = _one_week(cash, owed, sold * (1 + return_rate), terms)
        cash, owed, bought[week] = float(now.cash), float(now.owed), float(now.bought)
        inventory = max(inventory - sold, 0.0) + bought[week]
        rows.append(_PathWeek(cash, inventory, float(now.drawn), owed))
        if not math.isfinite(cash + inventory + owed):
            raise CellError(NUMBER, "return_rate: the money grows too large to calculate; check return_rate and weeks")
    return rows


@worksheet("Growth")
def growth_path(
    starting_cash: Cost,
    return_rate: Ratio,
    days_to_turn: Duration,
    weeks: Count,
    fixed_costs_week: Cost = 0,
    pay_week: Cost = 0,
    pay_from_reserve: Cost = 0,
    buying_limit_week: Cost = NO_LIMIT,
    opening_inventory: Cost = 0,
) -> Rows:
    """What starting cash becomes week by week if all inventory earns the same return and sells in the same time. Steady averages: real weeks differ, see GROWTH_ODDS.

    Args:
        starting_cash: the cash that you have at the start of week 1, in money; 0 if all is in inventory.
        return_rate: return on the cost of inventory, a fraction or percentage, see RETURN_ON_COST; below 0 for a loss, not below -100%.
        days_to_turn: in how many days purchased inventory is sold and paid for, above 0; less than a week counts as a week.
        weeks: how many weeks to look ahead, 1 to 520.
        fixed_costs_week: what you pay each week whether you sell or not, in money; 0 if left out.
        pay_week: your target pay each week, in money; 0 if left out.
        pay_from_reserve: pay is taken only from cash above this amount, which stays to buy inventory, in money; 0 if left out.
        buying_limit_week: the most inventory that you can find and list in a week, at cost, in money; no limit if left out.
        opening_inventory: inventory at cost on hand at the beginning, in money; it sells evenly over days_to_turn, from week 1 on; 0 if left out.
    Returns: a row of four cells for each week: cash, inventory at cost, pay taken in the week, and what
        is owed at its end; in money, not rounded.
    Shape: single cells in; a row of four cells for each week out.
    Errors: #NUM!: weeks not 1 to 520, days_to_turn 0, return_rate below -100%, or below 0. #VALUE!: text instead of a number. #N/A: a required cell is blank.
    Formula: in each week (1) the cost of inventory bought days_to_turn ago x (1 + return_rate) comes in,
        split linearly over two weeks where the days are not whole weeks; and of the
        opening inventory in week k the share min(1, k/T) - min(1, (k - 1)/T) x (1 + return_rate), where
        T is days_to_turn/7, at least 1: it was bought over the weeks before, so a part of it is due
        in each week; (2) what is owed
        and fixed_costs_week are paid, what cannot be paid stays owed, without interest; (3) the pay:
        cash - pay_from_reserve, 0 to pay_week; (4) the rest less next week's fixed costs buys
        inventory, 0 to buying_limit_week. Where all is bought at once and sold weeks later, money and
        pay come in irregularly; a buying_limit_week spreads them
    Source: definition; without costs and with 7 days it is compound interest
    Examples:
        >>> growth_path(1000, 0.10, 7, 3).tolist()[0]
        [0.0, 1000.0, 0.0, 0.0]
        >>> growth_path(1000, 0.25, 14, 3, pay_week=50).tolist()[2]
        [0.0, 1137.5, 50.0, 0.0]
        >>> growth_path(0, 0.25, 14, 2, opening_inventory=800).tolist()
        [[0.0, 900.0, 0.0, 0.0], [0.0, 1000.0, 0.0, 0.0]]
    """
    terms = _Terms(float(fixed_costs_week), float(pay_week), float(pay_from_reserve), float(buying_limit_week))
    return _path(
        *(float(starting_cash), float(return_rate), float(days_to_turn), float(weeks)),
        *(terms, float(opening_inventory)),
    )


@worksheet("Growth")
def weeks_to_pay(
    starting_cash: Cost,
    return_rate: Ratio,
    days_to_turn: Duration,
    weeks: Count,
    fixed_costs_week: Cost,
    pay_week: Cost,
    pay_from_reserve: Cost = 0,
    buying_limit_week: Cost = NO_LIMIT,
    opening_inventory: Cost = 0,
) -> Count:
    """The first week from which GROWTH_PATH covers the full pay in every week to the end. Steady averages: your own weeks will differ.

    Args:
        fixed_costs_week: what you pay each week whether you sell or not, in money; 0 if nothing.
        pay_week: your target pay each week, in money, above 0.
        as in GROWTH_PATH: starting_cash, return_rate, days_to_turn, weeks, pay_from_reserve, buying_limit_week,
            opening_inventory.
    Returns: the number of the week, a whole number.
    Errors: #N/A: never covered to the end, or blank. #NUM!: pay_week 0, weeks not 1 to 520, days_to_turn 0, return_rate below -100%. #VALUE!: text instead of a number.
    Formula: the first week from which no week of GROWTH_PATH pays less than pay_week, with at
        least the weeks of one turn left to the end: a single good last week covers nothing. Pay from
        starting_cash and opening inventory counts unless a later week falls short
    Source: definition
    Examples:
        >>> weeks_to_pay(1000, 0.10, 7, 52, 0, 80, 1000)
        2.0
        >>> weeks_to_pay(1000, 0.10, [7, 10], 52, 0, 60, 1200).tolist()
        [4.0, 10.0]
        >>> weeks_to_pay(0, 0.25, 28, 52, 0, 80, 0, 320, 1600)
        1.0
    """

    def first_week(
        starting_cash: float, rate: float, days: float, weeks: float, opening_inventory: float, *each: float
    ) -> float:
        terms = _Terms(*each)
        if not all(map(math.isfinite, (starting_cash, rate, days, weeks, opening_inventory, *each[:-1]))):
            return math.nan  # A blank or a bad cell; its error is known already.
        if terms.pay == 0:
            raise CellError(NUMBER, "pay_week: is 0; write your target pay for each week")
        rows = _path(starting_cash, rate, days, weeks, terms, opening_inventory)
        short = [week for week, row in enumerate(rows, 1) if row.drawn < terms.pay - NOTHING]
        first = short[-1] + 1 if short else 1
        if len(rows) - first + 1 < math.ceil(days / DAYS_OF_WEEK):
            raise CellError(
                BLANK,
                f"pay_week: {terms.pay:.15g} is not covered by week {len(rows)}; try less pay, more "
                "starting_cash or weeks, or a lower buying_limit_week, which spreads what comes in",
            )
        return float(first)

    cells = (
        *(starting_cash, return_rate, days_to_turn, weeks, opening_inventory),
        *(fixed_costs_week, pay_week, pay_from_reserve, buying_limit_week),
    )
    return np.asarray(row_by_row(first_week, *cells), np.float64)


DRAWS_OF_A_WEEK: Final = 40
DRAWS_ON_HAND: Final = 200
"""Inventory is spread over up to so many draws: with fewer draws than items the bands are too wide. More
of them cost time and smooth less and less, as the standard error of their mean falls with the root;
opening inventory is drawn only once, so that it can have more."""
SLOTS: Final = 2048
"""Chances of a path are held in whole slots: one slot is far below what a history can tell."""
PATHS_AT_ONCE: Final = 1000
WEIGHTS_AT_ONCE: Final = 2_000_000
"""Both keep arrays so small that they stay near the processor; figures depend on them, as they set
the order of the random numbers."""
LEAST_PATHS: Final = 100
MOST_PATHS: Final = 20_000
LONGEST_HISTORY: Final = 20_000
LEAST_SALES: Final = 2
FEW_SALES: Final = 10
QUANTILES: Final = (10, 50, 90)


@worksheet("Growth")
def growth_odds(
    costs: Costs,
    profits: Monies,
    days: Durations,
    sold_flags: Flags,
    starting_cash: Cost,
    weeks: Count,
    fixed_costs_week: Cost = 0,
    pay_week: Cost = 0,
    pay_from_reserve: Cost = 0,
    buying_limit_week: Cost = NO_LIMIT,
    opening_inventory: Cost = 0,
    paths: Count = 10_000,
    seed: Count = 1,
) -> Rows:
    """How much money there may be week by week, and the chance that it covers a pay, if purchases turn out as your own items did. It reflects your past, not what the market will do.

    Args:
        costs: a whole range: what each item of your history cost, in money. Free items are left out: money buys no more of them.
        profits: a whole range of the same size: what each sold item earned, see NET_PROFIT, in money; unsold items need none.
        days: a whole range of the same size: days held until the sale; for an item not sold yet, until now, see DAYS_HELD.
        sold_flags: a whole range of the same size: yes if the item has sold; blank is no.
        opening_inventory: inventory at cost on hand at the beginning, in money; it sells evenly over the days of items drawn for it, from week 1 on; 0 if left out.
        paths: how many simulated runs, 100 to 20,000; 10,000 if left out.
        seed: the number that the random draws start from: the same seed gives the same figures; 1 if left out.
        as in GROWTH_PATH: starting_cash, weeks, fixed_costs_week, pay_week, pay_from_reserve, buying_limit_week.
    Returns: a row of six cells for each week: the week; low (10%), median (50%) and high (90%) of
        cash and inventory at cost together, in money, less what is owed, so they may be below 0;
        the chance that the full pay is covered in every week from this one to the end, 1 if there is
        no target pay; a remark, in the first row only.
    Shape: whole ranges of one size and single cells in; a row of six cells for each week out.
    Errors: #N/A: fewer than 2 sales, or a blank cell in a row in use. #NUM!: weeks, paths, over 20,000 items, or below 0. #VALUE!: text, or ranges of different sizes.
    Formula: the weeks of GROWTH_PATH, in many simulated runs. A week's purchase is split evenly over as
        many draws as it buys items at mean cost, 1 to 40; each draw picks an item in proportion to
        its cost, as money does, and comes back with its return on cost after its own days. The
        opening inventory is split over 1 to 200 draws by cost and days, because slow items fill the
        shelf, and each comes back evenly over the item's own days, as in GROWTH_PATH. The chance of unsold
        items passes to those that sold after more days (product limit); chance beyond the last sale
        is inventory that never sells. Each run weights the items again (Dirichlet 1, ..., 1), rounded to
        1/2048 without bias, so that a short history gives a wide range; under 10 sales a remark says so
    Source: B. Efron (1967), The two sample problem with censored data (M); D. B. Rubin (1981), The
        Bayesian bootstrap (M)
    Examples:
        >>> rows = growth_odds([10] * 12, [1] * 12, [7] * 12, ["yes"] * 12, 1000, 3)
        >>> [[round(cell, 6) for cell in row[:5]] for row in rows.tolist()]
        [[1.0, 1000.0, 1000.0, 1000.0, 1.0], [2.0, 1100.0, 1100.0, 1100.0, 1.0], [3.0, 1210.0, 1210.0, 1210.0, 1.0]]
        >>> growth_odds([10, 8], [4, 5], [20, 9], ["yes", "yes"], 500, 1)[0, 5]
        'rough estimate (2 sales)'
    """
    asked = _question(
        *(costs, profits, days, sold_flags, starting_cash, weeks),
        *(fixed_costs_week, pay_week, pay_from_reserve, buying_limit_week, opening_inventory),
        *(paths, seed),
    )
    return _in_rows(asked, _odds(asked))


def odds_with_progress(*cells: Any, tick: Callable[[int], None], **named: Any) -> Any:
    """The rows of GROWTH_ODDS for the same arguments, drawn again, with progress reports.

    Args:
        cells: the arguments of GROWTH_ODDS in their order.
        tick: is called after each block of paths with the number of paths that are done; the last
            number is that of all.
        named: the other arguments by their names.
    """

    def body(*columns: Any) -> Rows:
        asked = _question(*columns)
        return _in_rows(asked, _simulated(asked, tick))

    return calling.call(replace(REGISTRY["GROWTH_ODDS"], body=body), cells, named)


class _History(NamedTuple):
    """Items in the order of their days, sales before items that are unsold at the same day."""

    costs: Column
    profits: Column
    days: Column
    sold: NDArray[np.bool_]


class _Question(NamedTuple):
    """All that the odds depend on. The history's columns are bytes, so that it can be looked up."""

    costs: bytes
    profits: bytes
    days: bytes
    sold: bytes
    starting_cash: float
    opening_inventory: float
    terms: _Terms
    weeks: int
    paths: int
    seed: int

    def history(self) -> _History:
        """The history's columns as arrays."""
        return _History(
            np.frombuffer(self.costs),
            np.frombuffer(self.profits),
            np.frombuffer(self.days),
            np.frombuffer(self.sold, bool),
        )


_Answer = tuple[tuple[float, ...], ...] | str
"""The rows, or what is wrong: an exception would not be kept for the next cell that asks."""


def _question(costs: Costs, profits: Monies, days: Durations, sold_flags: Flags, *cells: Number) -> _Question:
    """The arguments of GROWTH_ODDS in their order; refuses what has no odds."""
    starting_cash, weeks, *terms, opening_inventory, paths, seed = map(float, cells)
    _refuse_weeks(weeks)
    if not LEAST_PATHS <= paths <= MOST_PATHS:
        raise CellError(NUMBER, f"paths: {paths:.15g} is out of range; write {LEAST_PATHS} to {MOST_PATHS}")
    history = _history(costs, profits, days, sold_flags)
    return _Question(
        history.costs.tobytes(),
        history.profits.tobytes(),
        history.days.tobytes(),
        history.sold.tobytes(),
        *(starting_cash, opening_inventory, _Terms(*terms), int(weeks), int(paths), int(seed)),
    )


def _in_rows(asked: _Question, answer: _Answer) -> Rows:
    if isinstance(answer, str):
        raise CellError(NUMBER, answer)
    sales = int(asked.history().sold.sum())
    few = f"rough estimate ({sales} sales)" if sales < FEW_SALES else ""
    return [[*row, "" if place else few] for place, row in enumerate(answer)]


def _history(costs: Costs, profits: Monies, days: Durations, sold_flags: Flags) -> _History:
    """The items that can be drawn; refuses rows that are incomplete."""
    for name, column in (("profits", profits), ("days", days), ("sold_flags", sold_flags)):
        if column.size != costs.size:
            raise CellError(
                VALUE, f"{name} has {column.size} cells, costs has {costs.size}; give ranges of the same size"
            )
    sold = np.array([flag is True for flag in sold_flags], bool)
    used = ~(np.isnan(costs) & np.isnan(days))
    for name, lacking in (
        ("costs", np.isnan(costs) & used),
        ("days", np.isnan(days) & used),
        ("profits", np.isnan(profits) & used & sold),
    ):
        if lacking.any():
            raise CellError(
                BLANK,
                f"{name}: cell {np.flatnonzero(lacking)[0] + 1} of the range is blank; fill it in, or clear the row",
            )
    used &= costs > 0
    if used.sum() > LONGEST_HISTORY:
        raise CellError(NUMBER, f"costs: more than {LONGEST_HISTORY} items; use the latest of them")
    sales = int((used & sold).sum())
    if sales < LEAST_SALES:
        raise CellError(
            BLANK,
            f"sold_flags: too few sales: {sales}; at least {LEAST_SALES} sold items with a cost above 0 are needed",
        )
    order = np.lexsort((~sold[used], days[used]))
    kept = np.flatnonzero(used)[order]
    return _History(costs[kept], profits[kept], days[kept], sold[kept])


class _Items(NamedTuple):
    """How each sold item comes back; the last entry is inventory that never sells.

    `shares` are those of a purchase: what it cost and what it brings in, each in the first week and
    in the one after it. Opening inventory sells `evenly` in each of `lag` weeks, and the rest after it;
    the longer an item `waits`, the more of such items is on hand at any time.
    """

    lag: NDArray[np.int64]
    brings: Column
    waits: Column
    evenly: Column
    shares: tuple[Column, Column, Column, Column]


def _items(history: _History, weeks: int) -> _Items:
    sold = history.sold
    whole, later = _whole_weeks(history.days[sold])
    brings = 1 + history.profits[sold] / history.costs[sold]

    def or_never(share: Column) -> Column:
        return np.append(share, 0.0)

    return _Items(
        np.append(np.minimum(whole, weeks), weeks).astype(np.int64),
        or_never(brings),
        np.append(_turn_weeks(history.days[sold]), _turn_weeks(history.days.max())),
        or_never(1 / _turn_weeks(history.days[sold])),
        (*(or_never(1 - later), or_never(later)), *(or_never(brings * (1 - later)), or_never(brings * later))),
    )


@functools.lru_cache(maxsize=16)
def _odds(asked: _Question) -> _Answer:
    """A workbook asks for the same rows once for each of its cells."""
    return _simulated(asked, lambda _: None)


def _simulated(asked: _Question, tick: Callable[[int], None]) -> _Answer:
    """Draws the paths, block by block.

    Args:
        asked: what the odds depend on.
        tick: is called after each block with the number of paths that are done.
    """
    weeks, paths = asked.weeks, asked.paths
    history = asked.history()
    items = _items(history, weeks)
    mean_cost = float(history.costs.mean())
    rng = np.random.Generator(np.random.PCG64(asked.seed))
    worth = np.empty((weeks, paths))
    covered = np.zeros(weeks)
    for first in range(0, paths, PATHS_AT_ONCE):
        block = worth[:, first : first + PATHS_AT_ONCE]
        slots = _slots(rng, history.costs, history.sold, block.shape[1])
        full = np.empty(block.shape, bool)
        for week, (now, inventory) in enumerate(_weeks(rng, slots, items, mean_cost, asked)):
            block[week] = now.cash + inventory - now.owed
            full[week] = now.drawn >= asked.terms.pay - NOTHING
        to_the_end = np.logical_and.accumulate(full[::-1])[::-1]
        covered += to_the_end.sum(axis=1)
        tick(first + block.shape[1])
    if not np.isfinite(worth).all():
        return "profits: the money grows too large to calculate; check profits, costs and weeks"
    bands = np.percentile(worth, QUANTILES, axis=1)
    rows = np.column_stack([np.arange(1, weeks + 1), *bands, covered / paths])
    return tuple(map(tuple, rows.tolist()))


def _slots(rng: np.random.Generator, costs: Column, sold: NDArray[np.bool_], paths: int) -> NDArray[np.uint16]:
    """For each path which sold item each of its SLOTS stands for, by weights of its own.

    A slot stands for money, and an expensive item takes more of it than a cheap one. The last number is
    that of inventory that never sells.
    """
    rows = []
    kinds = np.arange(int(sold.sum()) + 1, dtype=np.uint16)
    at_once = max(1, WEIGHTS_AT_ONCE // sold.size)
    for first in range(0, paths, at_once):
        size = min(at_once, paths - first)
        weights = rng.standard_exponential((size, sold.size)) * costs
        at_risk = np.cumsum(weights[:, ::-1], axis=1)[:, ::-1]
        unsold = np.cumprod(np.where(sold, 1 - weights / at_risk, 1.0), axis=1)
        # One offset for all slots of a path: on average each item gets what it weighs.
        ends = np.floor((1 - unsold[:, sold]) * SLOTS + rng.random((size, 1))).astype(np.int64)
        counts = np.diff(ends, axis=1, prepend=0, append=SLOTS)
        rows.append(np.repeat(np.tile(kinds, size), counts.ravel()).reshape(size, SLOTS))
    return np.concatenate(rows)


def _weeks(
    rng: np.random.Generator, slots: NDArray[np.uint16], items: _Items, mean_cost: float, asked: _Question
) -> Iterator[tuple[_Week, Column]]:
    """The weeks of some paths, each with the inventory at its end."""
    size, weeks = len(slots), asked.weeks
    path = np.arange(size)
    flat, first_slot = slots.ravel(), path * SLOTS
    place_of_draw = np.arange(DRAWS_OF_A_WEEK)[:, None]
    # What comes in by week and path; the last row holds what comes after the last week.
    cost_first, cost_later, cash_first, cash_later = coming = [np.zeros((weeks + 1) * size) for _ in range(4)]
    if asked.opening_inventory:
        parts = int(_draws_of(asked.opening_inventory, mean_cost, DRAWS_ON_HAND))
        item = flat.take(_slots_on_hand(rng, items.waits.take(slots), parts))
        _sell_evenly(cost_first, cash_first, items, item, asked.opening_inventory / parts)
    inventory, cash, owed = (np.full(size, start) for start in (asked.opening_inventory, asked.starting_cash, 0.0))
    for week in range(weeks):
        here = slice(week * size, (week + 1) * size)
        sold, came_in = cost_first[here], cash_first[here]
        if week:
            before = slice((week - 1) * size, week * size)
            sold = sold + cost_later[before]
            came_in = came_in + cash_later[before]
        now = _one_week(cash, owed, came_in, asked.terms)
        inventory = np.maximum(inventory - sold, 0) + now.bought
        cash, owed = now.cash, now.owed
        yield now, inventory
        draws = _draws_of(now.bought, mean_cost, DRAWS_OF_A_WEEK)
        maximum = int(draws.max())
        each = np.where(place_of_draw[:maximum] < draws, now.bought / draws, 0.0)
        drawn = rng.integers(0, SLOTS, (maximum, size), dtype=np.uint16)
        item = flat.take(drawn + first_slot)
        target = np.minimum(items.lag.take(item) + week, weeks) * size + path
        for by_week, share in zip(coming, items.shares, strict=True):
            np.add.at(by_week, target.ravel(), (share.take(item) * each).ravel())


def _draws_of(cost: Number, mean_cost: float, maximum: int) -> Column:
    """Over how many draws inventory is spread: as many as it is items, within limits."""
    # Money beyond all numbers, refused at the end, is no number here: fmax makes it one draw.
    return np.fmin(np.fmax(np.floor(cost / mean_cost + NOTHING), 1), maximum)


def _slots_on_hand(rng: np.random.Generator, waits: NDArray[np.float64], draws: int) -> NDArray[np.int64]:
    """Draws of what is on hand: a slot as often as its item waits long, for each path."""
    path = np.arange(len(waits))[:, None]
    # All paths one after the other, each over a unit of its own.
    reach = waits.cumsum(axis=1)
    ends = (reach / reach[:, -1:] + path).ravel()
    # Numbers in their order are found much faster, and all draws of a path count alike.
    points = np.sort(rng.random((len(waits), draws)), axis=1) + path
    drawn = np.searchsorted(ends, points, side="right")
    return np.minimum(drawn, (path + 1) * SLOTS - 1).T


def _sell_evenly(costs: Column, cash: Column, items: _Items, drawn: NDArray[np.uint16], part: float) -> None:
    """Adds to what comes in by week and path what drawn items of the opening inventory bring.

    Args:
        costs: what has sold, at cost, by week and path.
        cash: what came in for it.
        items: how they come back.
        drawn: a row for each draw, a column for each path.
        part: what inventory of one draw cost.
    """
    size = drawn.shape[1]
    after = (items.lag.take(drawn) * size + np.arange(size)).ravel()
    rest = items.shares[1].take(drawn).ravel()
    for by_week, evenly in ((costs, items.evenly), (cash, items.evenly * items.brings)):
        in_a_week = evenly.take(drawn).ravel() * part
        # What sells in one week sold in all before it: sums from the last week back are exactly 0
        # where nothing is left.
        last = np.zeros(by_week.size)
        np.add.at(last, after - size, in_a_week)
        np.add(by_week, last.reshape(-1, size)[::-1].cumsum(axis=0)[::-1].ravel(), out=by_week)
        np.add.at(by_week, after, in_a_week * rest)
