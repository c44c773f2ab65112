"""Growth: paths against fractions, odds against paths, theory and a slow simulation."""

from __future__ import annotations

import functools
import json
import math
import random
import statistics
import subprocess
import sys
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sheetfns import CellError, growth_odds, growth_path, weeks_to_pay
from sheetfns.functions import growth

# Paths.


def cents(maximum: int) -> st.SearchStrategy[Fraction]:
    return st.integers(0, maximum).map(lambda amount: Fraction(amount, 100))


terms = st.fixed_dictionaries(
    {
        "fixed_costs_week": cents(6_000),
        "pay_week": cents(6_000),
        "pay_from_reserve": cents(60_000),
        "buying_limit_week": st.none() | cents(40_000),
        "opening_inventory": st.just(Fraction(0)) | cents(200_000),
    }
)


def plain(values: dict[str, Fraction | None]) -> dict[str, float | None]:
    return {name: None if value is None else float(value) for name, value in values.items()}


def in_fractions(
    starting_cash: Fraction, rate: Fraction, days: Fraction, weeks: int, each: dict[str, Any]
) -> list[tuple[Fraction, Fraction, Fraction, Fraction]]:
    """The rule once more, from purchases that are kept as a list, in exact fractions."""
    cash, owed = starting_cash, Fraction(0)
    on_hand = each["opening_inventory"]
    purchases: list[tuple[Fraction, Fraction]] = []  # due in week, cost
    turn = max(days / 7, Fraction(1))
    rows = []
    for week in range(1, weeks + 1):
        sold = min(on_hand, each["opening_inventory"] / turn)
        on_hand -= sold
        cash += sold * (1 + rate)
        for due, cost in purchases:
            if due == week:
                cash += cost * (1 + rate)
        purchases = [one for one in purchases if one[0] > week]
        to_pay = owed + each["fixed_costs_week"]
        paid = min(cash, to_pay)
        cash, owed = cash - paid, to_pay - paid
        drawn = min(each["pay_week"], max(cash - each["pay_from_reserve"], Fraction(0)))
        cash -= drawn
        spent = max(cash - each["fixed_costs_week"], Fraction(0))
        if each["buying_limit_week"] is not None:
            spent = min(spent, each["buying_limit_week"])
        cash -= spent
        whole, later = divmod(turn, 1)
        purchases += [(week + whole, spent * (1 - later)), (week + whole + 1, spent * later)]
        rows.append((cash, sum((cost for _, cost in purchases), on_hand), drawn, owed))
    return rows


@given(
    cents(200_000),
    st.integers(-100, 80).map(lambda percent: Fraction(percent, 100)),
    st.integers(1, 120).map(lambda halves: Fraction(halves, 2)),
    st.integers(1, 30),
    terms,
)
def test_a_path_is_that_in_fractions(
    starting_cash: Fraction, rate: Fraction, days: Fraction, weeks: int, each: dict[str, Any]
) -> None:
    found = growth_path(float(starting_cash), float(rate), float(days), weeks, **plain(each))
    exact = in_fractions(starting_cash, rate, days, weeks, each)
    assert found.shape == (weeks, 4)
    for row, wanted in zip(found.tolist(), exact, strict=True):
        assert row == pytest.approx([float(figure) for figure in wanted], rel=1e-9, abs=1e-6)
        assert min(row) >= 0


@given(cents(10**6), st.integers(-50, 50), st.integers(1, 60))
def test_without_costs_it_is_compound_growth(starting_cash: Fraction, percent: int, weeks: int) -> None:
    rows = growth_path(float(starting_cash), percent / 100, 7, weeks).tolist()
    for week, (cash, inventory, drawn, owed) in enumerate(rows):
        assert cash + inventory == pytest.approx(float(starting_cash) * (1 + percent / 100) ** week)
        assert drawn == owed == 0


@given(cents(200_000), st.integers(1, 90), st.integers(1, 40), terms)
def test_without_a_return_no_money_comes_or_goes(
    starting_cash: Fraction, days: int, weeks: int, each: dict[str, Any]
) -> None:
    paid_out = 0.0
    began_with = float(starting_cash + each["opening_inventory"])
    rows = growth_path(float(starting_cash), 0, days, weeks, **plain(each)).tolist()
    for cash, inventory, drawn, owed in rows:
        paid_out += drawn + float(each["fixed_costs_week"])
        assert cash + inventory - owed == pytest.approx(began_with - paid_out, abs=1e-6)


def only_bought(each: dict[str, Any]) -> dict[str, float | None]:
    """Terms under which nothing goes out."""
    return plain(each | {"fixed_costs_week": Fraction(0), "pay_week": Fraction(0)})


@given(cents(200_000), st.integers(1, 200).map(lambda halves: halves / 2), st.integers(1, 60), terms)
def test_without_a_return_or_pay_the_value_stays(
    starting_cash: Fraction, days: float, weeks: int, each: dict[str, Any]
) -> None:
    began_with = float(starting_cash + each["opening_inventory"])
    for cash, inventory, drawn, owed in growth_path(float(starting_cash), 0, days, weeks, **only_bought(each)):
        assert cash + inventory == pytest.approx(began_with, abs=1e-6)
        assert drawn == owed == 0


def test_opening_inventory_of_five_weeks_by_hand() -> None:
    """17.5 days are two weeks and a half: 0.4, 0.4 and 0.2 of the opening 1,000 sell in weeks 1 to 3;
    half of a purchase comes back after two weeks, half after three. All brings 1.5 for each 1.

    week  sold of opening  sold of purchases    comes in  + cash - 20 - 100  bought  cash  inventory at cost
    1     400              -                    600        50 + 600 - 120 = 530   300   230  1,000 - 400 + 300 = 900
    2     400              -                    600       230 + 600 - 120 = 710   300   410    900 - 400 + 300 = 800
    3     200              150 (1)              525       410 + 525 - 120 = 815   300   515    800 - 350 + 300 = 750
    4     0                150 (1) + 150 (2)    450       515 + 450 - 120 = 845   300   545    750 - 300 + 300 = 750
    5     0                150 (2) + 150 (3)    450       545 + 450 - 120 = 875   300   575    750 - 300 + 300 = 750
    """
    cells = (50, 0.5, 17.5, 5, 20, 100, 0, 300, 1000)
    by_hand = [[230, 900, 100, 0], [410, 800, 100, 0], [515, 750, 100, 0], [545, 750, 100, 0], [575, 750, 100, 0]]
    for row, wanted in zip(growth_path(*cells).tolist(), by_hand, strict=True):
        assert row == pytest.approx(wanted, rel=1e-12)
    assert weeks_to_pay(*cells) == 1
    history = [[20] * 12, [10] * 12, [17.5] * 12, [True] * 12]
    found = odds(history, 50, 5, 20, 100, 0, 300, 1000, paths=LEAST)
    for band in (1, 2, 3):
        assert found[:, band] == pytest.approx([1130, 1210, 1265, 1295, 1325], rel=1e-12)
    assert found[:, 4].tolist() == [1] * 5


def test_opening_inventory_that_does_not_carry_the_costs_by_hand() -> None:
    """No cash, 80 of inventory for two weeks at 1.25, costs of 60, a pay of 10 that is never drawn.

    week  sold  comes in  goes out        owed  inventory
    1     40    50        60                10     40
    2     40    50        10 + 60 = 70      20      0
    3     0     0         20 + 60 = 80      80      0
    """
    assert growth_path(0, 0.25, 14, 3, 60, 10, opening_inventory=80).tolist() == [
        [0, 40, 0, 10],
        [0, 0, 0, 20],
        [0, 0, 0, 80],
    ]


def test_opening_inventory_comes_back_sooner_than_a_purchase() -> None:
    """It was bought over the weeks before: of 400 for four weeks, 100 are due in each from week 1."""
    rows = growth_path(0, 0.5, 28, 5, buying_limit_week=0, opening_inventory=400).tolist()
    assert [row[:2] for row in rows] == [[150, 300], [300, 200], [450, 100], [600, 0], [600, 0]]
    bought = growth_path(400, 0.5, 28, 5).tolist()
    assert [row[:2] for row in bought] == [[0, 400]] * 4 + [[0, 600]]


def test_opening_inventory_for_longer_than_any_path_sells_at_its_own_pace() -> None:
    last = growth_path(0, 0, 7_000, 520, buying_limit_week=0, opening_inventory=1_000).tolist()[-1]
    assert last == pytest.approx([520, 480, 0, 0])


def test_four_weeks_by_hand() -> None:
    """10.5 days are a week and a half: half of a purchase comes back after one week, half after two.

    Week 1: 1,000 - 20 = 980, 100 drawn, 20 kept, 860 bought. Week 2: 430 x 1.5 = 645, under the
    reserve of 650: no pay, 625 bought. Week 3: (430 + 312.50) x 1.5 = 1,113.75, 100 drawn, 993.75
    bought. Week 4: (312.50 + 496.875) x 1.5 = 1,214.0625, 100 drawn, 1,094.0625 bought.
    """
    assert growth_path(1000, 0.5, 10.5, 4, 20, 100, 650).tolist() == [
        [20, 860, 100, 0],
        [20, 430 + 625, 0, 0],
        [20, 312.5 + 993.75, 100, 0],
        [20, 496.875 + 1_094.0625, 100, 0],
    ]


@given(st.integers(1, 60), st.integers(1, 30), st.integers(1, 60), terms)
def test_the_first_week_of_pay_is_the_paths(percent: int, days: int, weeks: int, each: dict[str, Any]) -> None:
    cells = (1_000, percent / 100, days, weeks)
    each = plain(each | {"pay_week": each["pay_week"] + 1})
    drawn = growth_path(*cells, **each)[:, 2].astype(float)
    full = drawn >= each["pay_week"] - 1e-6
    turn = -(-days // 7)
    if weeks < turn or not full[-turn:].all():
        with pytest.raises(CellError, match="is not covered by week") as caught:
            weeks_to_pay(*cells, **each)
        assert caught.value.code == "#N/A"
        return
    first = int(weeks_to_pay(*cells, **each))
    assert full[first - 1 :].all()
    assert first == 1 or not full[first - 2]


def test_refusals_name_what_to_do() -> None:
    for cells, message in [
        ((1000, -1.5, 7, 10), "return_rate: -1.5 is below -100%; an item cannot lose more than it cost"),
        ((1000, 0.1, 0, 10), "days_to_turn: must be above 0; write the days in which the inventory sells"),
        ((1000, 0.1, 7, 600), "weeks: 600 is out of range; write 1 to 520"),
        ((1000, 1e6, 7, 520), "return_rate: the money grows too large to calculate; check return_rate and weeks"),
    ]:  # fmt: skip
        with pytest.raises(CellError) as caught:
            growth_path(*cells)
        assert (caught.value.code, caught.value.message) == ("#NUM!", message)


def test_one_bad_row_of_a_column_spoils_no_other() -> None:
    found = weeks_to_pay(1000, [0.1, -2, None, 0.01], 7, 52, 0, [100, 100, None, 100], 1000)
    assert found[0] == 2
    assert [found[row].code for row in (1, 2, 3)] == ["#NUM!", "#N/A", "#N/A"]
    found = weeks_to_pay(1000, 0.1, ["soon", 7, None], [52, 52, 1.5], 0, 100, 1000)
    assert found[1] == 2
    assert found[0].message == "days_to_turn: 'soon' is not a number; write a number"
    assert found[2].message == "weeks: 1.5 is not a whole number; round it"


# Odds.

LEAST = growth.LEAST_PATHS


def odds(history: Any, *cells: Any, **named: Any) -> np.ndarray:
    """The figures of GROWTH_ODDS, without the remark."""
    return growth_odds(*history, *cells, **named)[:, :5].astype(float)


def some_history(items: int, seed: int = 5, sold: float = 0.75) -> list[list[Any]]:
    rng = random.Random(seed)
    costs = [rng.randint(300, 2_500) / 100 for _ in range(items)]
    profits = [round(cost * rng.uniform(-0.4, 1.6), 2) for cost in costs]
    days = [rng.randint(1, 80) for _ in range(items)]
    flags = [rng.random() < sold for _ in range(items)]
    flags[0] = flags[1] = True
    return [costs, profits, days, flags]


plans = st.fixed_dictionaries(
    {
        "starting_cash": cents(200_000).map(float),
        "rate": st.integers(-100, 80).map(lambda percent: percent / 100),
        "days": st.integers(1, 120).map(lambda halves: halves / 2),
        "weeks": st.integers(1, 30),
    }
)


@settings(max_examples=60, deadline=None)
@given(plans, terms, st.integers(2, 15))
def test_a_constant_history_has_the_odds_of_its_path(plan: dict[str, Any], each: dict[str, Any], items: int) -> None:
    each = plain(each)
    starting_cash, rate, days, weeks = (plan[name] for name in ("starting_cash", "rate", "days", "weeks"))
    path = growth_path(starting_cash, rate, days, weeks, **each).astype(float)
    history = [[20] * items, [20 * rate] * items, [days] * items, [True] * items]
    found = odds(history, starting_cash, weeks, **each, paths=LEAST)
    worth = path[:, 0] + path[:, 1] - path[:, 3]
    for band in (1, 2, 3):
        assert found[:, band] == pytest.approx(worth, rel=1e-9, abs=1e-6)
    full = path[:, 2] >= each["pay_week"] - 1e-6
    covered = np.logical_and.accumulate(full[::-1])[::-1]
    assert found[:, 4].tolist() == covered.astype(float).tolist()


@settings(max_examples=40, deadline=None)
@given(st.integers(2, 30), st.integers(0, 10**6), st.integers(1, 40), terms)
def test_bands_are_in_order_and_chances_do_not_fall(items: int, seed: int, weeks: int, each: dict[str, Any]) -> None:
    """From a later week to the end is less than from an earlier one: the chance can only rise."""
    found = odds(some_history(items, seed), 800, weeks, **plain(each), paths=LEAST, seed=seed)
    assert found[:, 0].tolist() == list(range(1, weeks + 1))
    assert (np.diff(found[:, 1:4], axis=1) >= 0).all()
    # No item brings less than nothing: at worst all costs up to now are owed.
    assert (found[:, 1] >= -float(each["fixed_costs_week"]) * found[:, 0] - 1e-6).all()
    assert (np.diff(found[:, 4]) >= 0).all()
    assert found[0, 4] >= 0
    assert found[-1, 4] <= 1


def test_the_same_seed_gives_the_same_figures() -> None:
    history, cells = some_history(40), (800, 30, 5, 20, 300, 250)
    first = odds(history, *cells, paths=1_500, seed=8)
    growth._odds.cache_clear()
    assert (odds(history, *cells, paths=1_500, seed=8) == first).all()
    assert (odds(history, *cells, paths=1_500, seed=9) != first).any()
    code = (
        "import json, sys; from sheetfns import growth_odds;"
        "history, cells = json.load(sys.stdin);"
        "print(json.dumps(growth_odds(*history, *cells, 0, 1500, 8).tolist()))"
    )
    other = subprocess.run(
        [sys.executable, "-c", code],
        input=json.dumps([history, cells]),
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert [row[:5] for row in json.loads(other.stdout)] == first.tolist()


def test_the_order_of_the_history_does_not_matter() -> None:
    """As long as no two items have the same days, draws meet the same items."""
    costs, profits, _, sold = some_history(20)
    history = [costs, profits, list(range(3, 63, 3)), sold]
    turned = [column[::-1] for column in history]
    cells = (500, 20, 0, 10)
    assert odds(history, *cells, paths=200).tolist() == odds(turned, *cells, paths=200).tolist()


def test_more_paths_than_one_block_tell_the_same() -> None:
    """A median of 1,000 paths is off by a few hundredths of the band."""
    history = some_history(30)
    one, some = (odds(history, 500, 12, 0, 10, paths=paths)[-1] for paths in (1_000, 2_500))
    for band in (1, 2, 3):
        assert abs(one[band] - some[band]) < 0.1 * (some[3] - some[1])
    assert one[2] != some[2]


def jumps_in_fractions(history: list[tuple[int, bool]]) -> list[Fraction]:
    """Efron: the mass of an unsold item goes to all later ones alike; the rest stays at the end."""
    ordered = sorted(history, key=lambda item: (item[0], not item[1]))
    mass = [Fraction(1, len(ordered))] * len(ordered)
    left_over = Fraction(0)
    for place, (_, sold) in enumerate(ordered):
        if sold:
            continue
        later = len(ordered) - place - 1
        if not later:
            left_over += mass[place]
        for other in range(place + 1, len(ordered)):
            mass[other] += mass[place] / later
        mass[place] = Fraction(0)
    return [share for share, (_, sold) in zip(mass, ordered, strict=True) if sold] + [left_over]


@pytest.mark.parametrize("seed", range(4))
def test_on_average_a_item_is_drawn_by_its_product_limit_mass(seed: int) -> None:
    _, _, days, sold = some_history(9, seed, 0.6)
    items = list(zip(days, sold, strict=True))
    wanted = [float(share) for share in jumps_in_fractions(items)]
    assert sum(jumps_in_fractions(items)) == 1
    flags = np.array([flag for _, flag in sorted(items, key=lambda one: (one[0], not one[1]))])
    slots = growth._slots(np.random.default_rng(seed), np.ones(flags.size), flags, 20_000)
    shares = np.stack([(slots == kind).mean(axis=1) for kind in range(len(wanted))])
    error = shares.std(axis=1) / np.sqrt(20_000)
    assert (np.abs(shares.mean(axis=1) - wanted) <= 5 * error + 1e-12).all()


def test_weights_of_a_path_vary_as_dirichlet_weights_do() -> None:
    """Definition: of n weights each has mean 1/n and variance (n - 1) / (n^2 (n + 1))."""
    n = 12
    slots = growth._slots(np.random.default_rng(2), np.full(n, 7.5), np.ones(n, bool), 20_000)
    shares = np.stack([(slots == kind).mean(axis=1) for kind in range(n)])
    assert shares.mean(axis=1) == pytest.approx(np.full(n, 1 / n), rel=0.05)
    assert shares.var(axis=1) == pytest.approx(np.full(n, (n - 1) / (n**2 * (n + 1))), rel=0.08)
    assert not (slots == n).any(), "all have sold: nothing is left over"


def test_slots_are_rounded_without_bias() -> None:
    """Two slots an item: the first and the last would be half a slot off without an offset."""
    n = 1_000
    slots = growth._slots(np.random.default_rng(4), np.ones(n), np.ones(n, bool), 10_000)
    for kind in (0, 1, n - 1):
        shares = (slots == kind).mean(axis=1)
        assert abs(shares.mean() - 1 / n) < 5 * shares.std() / 100
        assert 5 * shares.std() / 100 < 0.25 / growth.SLOTS


def test_a_item_of_less_than_a_slot_is_drawn_by_what_it_weighs() -> None:
    """One of 1 before 100 of 100: of X and the sum S of 100 exponentials it takes X / (X + 100 S).

    Definition: the mean of 1/S is 1/99, so that it weighs 1/9,900 and 0.207 of a slot; the X below
    the line takes less than a thousandth off. Rounded to the nearest slot it would be less than
    half of that.
    """
    costs = np.array([1.0] + [100.0] * 100)
    slots = growth._slots(np.random.default_rng(6), costs, np.ones(101, bool), 20_000)
    of_the_first = (slots == 0).sum(axis=1)
    error = of_the_first.std() / np.sqrt(20_000)
    assert error < 0.01
    assert abs(of_the_first.mean() - growth.SLOTS / 9_900) < 5 * error


def test_a_item_unsold_at_the_day_of_a_sale_was_not_sold_that_day() -> None:
    sold_later, not_sold = [7, 7, 21, 7], [True, True, True, False]
    with_tie = growth._history(
        *(np.array(column, float) for column in ([10] * 4, [5] * 4, sold_later)), np.array(not_sold, object)
    )
    assert with_tie.sold.tolist() == [True, True, False, True]
    found = odds([[10] * 3, [5] * 3, [7] * 3, [True, True, False]], 500, 10)
    compound = 500 * 1.5 ** np.arange(10)
    assert (found[1:, 2] < 0.99 * compound[1:]).all(), "some of it is never sold"


def slow_odds(history: Any, starting_cash: float, weeks: int, each: tuple[float, ...], paths: int) -> list[list[float]]:
    """The same rule piece by piece in plain Python, with random numbers of another kind."""
    rng = random.Random(3)
    fixed, pay, reserve, limit, opening = each
    items = sorted(zip(*history, strict=True), key=lambda one: (one[2], not one[3]))
    mean_cost = statistics.fmean(item[0] for item in items)
    parts = min(max(int(opening / mean_cost), 1), 200)
    longest = max(item[2] for item in items)
    waits = [max(days if sold else longest, 7) for _, _, days, sold in items]
    ends = []
    for _ in range(paths):
        weights = [rng.expovariate(1) * item[0] for item in items]
        # An unsold item gives its weight to the later ones by theirs; the last one keeps it.
        mass = weights.copy()
        for place, item in enumerate(items):
            later = sum(weights[place + 1 :])
            if not item[3] and later:
                for other in range(place + 1, len(items)):
                    mass[other] += mass[place] * weights[other] / later
                mass[place] = 0.0
        cash, owed, inventory = starting_cash, 0.0, opening
        coming = [[0.0, 0.0] for _ in range(weeks + 40)]
        in_stock = [m * w for m, w in zip(mass, waits, strict=True)]
        for cost, profit, days, sold in rng.choices(items, in_stock, k=parts):
            left = opening / parts if sold else 0.0
            for into in coming:
                in_a_week = min(left, opening / parts / max(days / 7, 1))
                left -= in_a_week
                into[0] += in_a_week * (1 + profit / cost)
                into[1] += in_a_week
        row = []
        for week in range(weeks):
            cash += coming[week][0]
            inventory -= coming[week][1]
            paid = min(cash, owed + fixed)
            cash, owed = cash - paid, owed + fixed - paid
            drawn = min(pay, max(cash - reserve, 0))
            cash -= drawn
            spent = min(max(cash - fixed, 0), limit)
            cash -= spent
            inventory += spent
            draws = min(max(int(spent / mean_cost), 1), 40)
            for cost, profit, days, sold in rng.choices(items, mass, k=draws):
                if sold:
                    turn = max(days / 7, 1)
                    part = spent / draws
                    for due, share in ((int(turn), 1 - turn % 1), (int(turn) + 1, turn % 1)):
                        coming[week + due][0] += part * share * (1 + profit / cost)
                        coming[week + due][1] += part * share
            row.append(cash + inventory - owed)
        ends.append(row)
    return ends


@pytest.mark.parametrize(
    ("items", "each"),
    [
        (8, (5.0, 20.0, 250.0, 60.0, 0.0)),
        (30, (0.0, 0.0, 0.0, 1e9, 0.0)),
        (15, (15.0, 60.0, 100.0, 1e9, 0.0)),
        (12, (5.0, 20.0, 100.0, 60.0, 600.0)),
        (25, (0.0, 0.0, 0.0, 0.0, 25.0)),
        (10, (10.0, 40.0, 0.0, 1e9, 65.0)),
        (40, (30.0, 50.0, 0.0, 300.0, 4_000.0)),
        (9, (60.0, 20.0, 0.0, 1e9, 100.0)),
    ],
)
def test_odds_are_those_of_a_slow_simulation(items: int, each: tuple[float, ...]) -> None:
    weeks, paths = 16, 1_500
    history = some_history(items, items, 0.7)
    slow = np.array(slow_odds(history, 400, weeks, each, paths))
    found = odds(history, 400, weeks, *each)
    for week in (4, 8, 12, 16):
        low, middle, high = found[week - 1, 1:4]
        # Of 1,500 paths a share p lies below a quantile p, with an error of sqrt(p (1 - p) / paths).
        for quantile, share in ((low, 0.1), (middle, 0.5), (high, 0.9)):
            error = np.sqrt(share * (1 - share) / paths)
            assert (slow[:, week - 1] < quantile - 1e-6).mean() <= share + 5 * error
            assert (slow[:, week - 1] <= quantile + 1e-6).mean() >= share - 5 * error


def test_a_short_history_gives_wide_bands() -> None:
    """The same items twenty times over are the same averages, known better."""
    short = [column[:6] for column in some_history(6, 3, 1.0)]
    long = [column * 20 for column in short]
    cells = (500, 30, 0, 0, 0, 100)
    wide, narrow = (odds(history, *cells)[-1] for history in (short, long))
    assert wide[3] - wide[1] > 1.5 * (narrow[3] - narrow[1])
    remarks = [growth_odds(*one, *cells, paths=LEAST)[:2, 5].tolist() for one in (short, long)]
    assert remarks == [["rough estimate (6 sales)", ""], ["", ""]]


def test_nothing_is_drawn_for_opening_inventory_where_there_is_none() -> None:
    cells = (500, 20, 10, 40, 300)
    found = odds(some_history(20), *cells, paths=1_500, seed=8)
    assert (odds(some_history(20), *cells, opening_inventory=0, paths=1_500, seed=8) == found).all()
    assert (odds(some_history(20), *cells, opening_inventory=1, paths=1_500, seed=8) != found).any()


def test_money_falls_on_items_by_what_they_cost() -> None:
    """Half of the items cost 10 and earn 10, half cost 40 and earn 4: of five, one falls on the first.

    Of 12 draws with chance 1/5 the quantiles are 1, 2 and 4 (binomial: 27% up to 1, 56% up to 2,
    93% up to 4, 7% at 0).
    """
    history = [[10, 40] * 600, [10, 4] * 600, [7] * 1_200, [True] * 1_200]
    _, second = odds(history, 300, 2, paths=2_000)
    for band, draws in zip(second[1:4], (1, 2, 4), strict=True):
        assert band == pytest.approx(25 * (2 * draws + 1.1 * (12 - draws)))


def test_slow_items_fill_the_shelf() -> None:
    """Half of the money sells in 7 days, half in 70: of the inventory 1 in 11 is of the first kind.

    In week 1 the quick part sells and a tenth of the slow one: 1/11 + 10/11/10 = 2/11.
    """
    history = [[10] * 600, [-10] * 600, [7, 70] * 300, [True] * 600]
    paths = odds(history, 0, 1, buying_limit_week=0, opening_inventory=120, paths=20_000)
    draws = np.arange(13)
    # Of 12 draws as many quick ones as a binomial with chance 1/11 gives; what is left is the rest.
    chances = [math.comb(12, n) * (1 / 11) ** n * (10 / 11) ** (12 - n) for n in draws]
    left = 120 - 10 * (draws + (12 - draws) / 10)
    for column, share in ((1, 0.1), (2, 0.5), (3, 0.9)):
        rising = np.argsort(left)
        reached = np.cumsum(np.array(chances)[rising])
        wanted = left[rising][np.searchsorted(reached, share)]
        assert paths[0, column] == pytest.approx(wanted)


@settings(max_examples=40, deadline=None)
@given(st.integers(2, 30), st.integers(0, 10**6), st.integers(1, 40), terms)
def test_without_profits_all_paths_keep_their_value(items: int, seed: int, weeks: int, each: dict[str, Any]) -> None:
    """Whether it sells or not, and in however many parts."""
    costs, _, days, sold = some_history(items, seed)
    history = [costs, [0] * items, days, sold]
    found = odds(history, 300, weeks, **only_bought(each), paths=LEAST, seed=seed)
    assert found[:, 1:4] == pytest.approx(np.full((weeks, 3), 300 + float(each["opening_inventory"])), rel=1e-9)


def test_opening_inventory_that_never_sells_stays() -> None:
    """Half of the items sold, within a week and for nothing; most of the inventory is of the others."""
    history = [[10] * 40, [-10] * 40, [7] * 20 + [90] * 20, [True] * 20 + [False] * 20]
    found = odds(history, 0, 30, opening_inventory=600)
    assert (found[1:][:, 1:4] == found[0, 1:4]).all(), "what sells has sold in week 1"
    assert 0.9 * 600 <= found[0, 2] <= 600
    assert found[0, 1] < 600


def lost_or_doubled(items: int) -> list[list[Any]]:
    """Items of 10 that sell within the week, half of them for nothing and half for 20."""
    return [[10] * items, [-10, 10] * (items // 2), [7] * items, [True] * items]


def test_opening_inventory_goes_to_as_many_draws_as_it_is_items() -> None:
    """Half of the items are lost: of one draw all or nothing comes back, of twelve about half."""
    history = lost_or_doubled(4_000)

    def week_1(opening: float) -> list[float]:
        named = {"buying_limit_week": 0, "opening_inventory": opening, "paths": 4_000}
        row = odds(history, 0, 1, **named)[0, 1:4]
        return (row / opening).tolist()

    assert week_1(19.99)[::2] == pytest.approx([0, 2])
    # Twice the share of draws that bring something: of two draws the quantiles are 0, 1 and 2, of
    # twelve 4, 6 and 8, of 200 they are 91, 100 and 109 (binomial with chance 1/2).
    assert week_1(20) == pytest.approx([0, 1, 2])
    assert week_1(120) == pytest.approx([2 * 4 / 12, 1, 2 * 8 / 12])
    of_200 = pytest.approx([2 * 91 / 200, 1, 2 * 109 / 200], abs=2 / 200 + 1e-9)
    assert week_1(2_000) == of_200
    assert week_1(1_000_000) == of_200


def test_a_purchase_goes_to_as_many_draws_as_it_is_items() -> None:
    """As above; up to 40 draws, of which the quantiles are 16, 20 and 24."""
    history = lost_or_doubled(4_000)

    def week_2(starting_cash: float) -> list[float]:
        row = odds(history, starting_cash, 2, paths=4_000)[1, 1:4]
        return (row / starting_cash).tolist()

    assert week_2(19.99)[::2] == pytest.approx([0, 2])
    assert week_2(20) == pytest.approx([0, 1, 2])
    assert week_2(120) == pytest.approx([2 * 4 / 12, 1, 2 * 8 / 12])
    assert week_2(400) == pytest.approx([2 * 16 / 40, 1, 2 * 24 / 40])
    assert week_2(1_000_000) == pytest.approx(week_2(400))


def test_paths_of_one_week_buy_in_parts_of_their_own() -> None:
    """What one path buys is not spread over more draws because another path buys more.

    Week 2 draws 4 times; a path then has 2 for each 1 of draws that were not lost, and buys with it.
    The value after week 3 is 20 x n, where n are as many of 2 x m draws as bring something, and m of
    4 draws did before: a whole number of items of 20.
    """
    found = odds(lost_or_doubled(1_000), 40, 3, paths=20_000)[2, 1:4]
    chances = np.zeros(9)
    for m in range(5):
        for n in range(2 * m + 1):
            chances[n] += math.comb(4, m) / 16 * math.comb(2 * m, n) / 4**m
    reached = chances.cumsum()
    wanted = [20 * int(np.searchsorted(reached, share)) for share in (0.1, 0.5, 0.9)]
    assert found == pytest.approx(wanted)


def test_items_are_counted_at_the_mean_cost_of_all() -> None:
    """200 sold for 10, as many unsold for 30: 40 buy two items, not four."""
    sold = lost_or_doubled(200)
    unsold = [[30] * 200, [None] * 200, [1] * 200, [False] * 200]
    history = [one + other for one, other in zip(sold, unsold, strict=True)]
    in_stock = odds(history, 0, 1, buying_limit_week=0, opening_inventory=40)[0, 1:4]
    bought = odds(history, 40, 2)[1, 1:4]
    # Of four draws the quantiles were 1, 2 and 3 (binomial with chance 1/2).
    assert in_stock == pytest.approx([0, 40, 80])
    assert bought == pytest.approx([0, 40, 80])


def test_bands_of_a_full_shelf_are_those_of_its_items() -> None:
    """400 items of 10 that sell over ten weeks, half for 5 and half for 25, drawn one by one."""
    items, paths = 400, 10_000
    history = [[10] * items, [-5, 15] * (items // 2), [70] * items, [True] * items]
    found = odds(history, 0, 10, buying_limit_week=0, opening_inventory=4_000)[-1, 1:4]
    rng = np.random.default_rng(12)
    dear = rng.dirichlet(np.ones(items), paths)[:, ::2].sum(axis=1)
    brings = np.where(rng.random((paths, items)) < dear[:, None], 25, 5).sum(axis=1)
    low, middle, high = np.percentile(brings, [10, 50, 90])
    assert (low, high) == pytest.approx((5_640, 6_360), abs=30)
    # With 200 draws instead of 400 the standard deviation is 346 instead of 283.
    assert found == pytest.approx([low, middle, high], rel=0.025)
    assert found[2] - found[0] == pytest.approx((high - low) * 346 / 283, rel=0.06)


def test_a_pay_that_lacks_a_binary_rest_is_full() -> None:
    """0.3 over the reserve of 100 are there, but 100.3 - 100 is less than 0.3 in binary."""
    assert 100.3 - 100 < 0.3
    history = lost_or_doubled(10)
    assert odds(history, 100.3, 1, 0, 0.3, 100, paths=LEAST)[0, 4] == 1
    assert odds(history, 100.29, 1, 0, 0.3, 100, paths=LEAST)[0, 4] == 0


def test_progress_is_told_and_the_rows_are_the_same() -> None:
    history, cells = some_history(40), (800, 12, 5, 20, 300, 250, 400, 2_500, 8)
    growth._odds.cache_clear()
    done: list[int] = []
    for _ in range(2):
        found = growth.odds_with_progress(*history, *cells, tick=done.append)
        assert found.tolist() == growth_odds(*history, *cells).tolist()
    assert done == [1_000, 2_000, 2_500] * 2, "told again, although the rows are known by now"
    done.clear()
    named = {"pay_week": 20, "opening_inventory": 100, "paths": 100}
    found = growth.odds_with_progress(*history, 0, 4, tick=done.append, **named)
    assert found.tolist() == growth_odds(*history, 0, 4, **named).tolist()
    assert done == [100]


def test_progress_refuses_what_the_function_refuses() -> None:
    done: list[int] = []
    for changed, named in [
        ({3: [True] * 7 + ["perhaps"]}, {}),
        ({0: [10] * 9}, {}),
        ({1: [1e300] * 8}, {}),
        ({}, {"paths": 50}),
        ({}, {"opening_inventory": -1}),
        ({}, {"weeks": 0}),
    ]:
        history = [changed.get(place, column) for place, column in enumerate(some_history(8))]
        asked = {"starting_cash": 500, "weeks": 60, "paths": LEAST} | named
        refusals = []
        for function in (growth_odds, functools.partial(growth.odds_with_progress, tick=done.append)):
            with pytest.raises(CellError) as caught:
                function(*history, **asked)
            refusals.append(caught.value)
        assert refusals[0] == refusals[1]
    assert done == [LEAST], "only the one that grows too large to calculate is drawn first"
    with pytest.raises(TypeError, match="GROWTH_ODDS has no argument pace"):
        growth.odds_with_progress(*some_history(8), 500, 2, pace=1, tick=done.append)


def test_unsold_items_make_the_forecast_worse() -> None:
    costs, profits, days = [10] * 12, [6] * 12, [7] * 12
    all_sold = odds([costs, profits, days, [True] * 12], 500, 20)
    some_not = odds([costs + [10] * 4, profits + [None] * 4, days + [60] * 4, [True] * 12 + [False] * 4], 500, 20)
    assert (some_not[5:, 3] < all_sold[5:, 1]).all()


def test_inventory_that_never_sells_ties_up_its_money() -> None:
    """A third of the chance lies beyond the last sale: without profit all money ends as such inventory."""
    history = [[10] * 30, [0] * 30, [7] * 20 + [90] * 10, [True] * 20 + [False] * 10]
    found = odds(history, 600, 60, 0, 0, 0, 200)
    assert found[:, 1:4] == pytest.approx(np.full((60, 3), 600.0))
    with_pay = odds(history, 600, 60, 0, 10, 0, 200)
    assert with_pay[-1, 4] < 0.01


def test_free_items_are_not_drawn() -> None:
    history = some_history(20)
    with_free = [[*column, more] for column, more in zip(history, (0, 50, 3, True), strict=True)]
    cells = (500, 15, 2, 10)
    assert odds(with_free, *cells, paths=200).tolist() == odds(history, *cells, paths=200).tolist()


def test_refusals_of_odds_name_what_to_do() -> None:
    whole = [[10, 20, 30], [5, 8, 2], [10, 30, 4], [True, True, False]]

    def changed(place: int, column: list[Any]) -> list[Any]:
        return [*whole[:place], column, *whole[place + 1 :]]

    for history, named, code, message in [
        (changed(3, [True, False, False]), {}, "#N/A", "sold_flags: too few sales: 1; at least 2 sold items with a cost above 0 are needed"),
        (changed(1, [5, None, 2]), {}, "#N/A", "profits: cell 2 of the range is blank; fill it in, or clear the row"),
        (changed(0, [10, 20, None]), {}, "#N/A", "costs: cell 3 of the range is blank; fill it in, or clear the row"),
        (changed(2, [None, 30, 4]), {}, "#N/A", "days: cell 1 of the range is blank; fill it in, or clear the row"),
        (changed(2, [10, 30]), {}, "#VALUE!", "days has 2 cells, costs has 3; give ranges of the same size"),
        (whole, {"paths": 50}, "#NUM!", "paths: 50 is out of range; write 100 to 20000"),
        (changed(1, [1e300, 1e300, 2]), {"paths": 100}, "#NUM!", "profits: the money grows too large to calculate; check profits, costs and weeks"),
    ]:  # fmt: skip
        with pytest.raises(CellError) as caught:
            growth_odds(*history, 500, 60, **named)
        assert (caught.value.code, caught.value.message) == (code, message)
    with pytest.raises(CellError, match="costs: more than 20000 items; use the latest of them"):
        growth_odds(*([column[0]] * 20_001 for column in whole), 500, 2)


def test_a_workbook_asks_once_for_all_its_cells() -> None:
    growth._odds.cache_clear()
    for _ in range(5):
        growth_odds(*some_history(20), 500, 10, paths=LEAST)
    assert growth._odds.cache_info().misses == 1
    assert growth._odds.cache_info().hits == 4


def test_a_sale_that_loses_more_than_the_item_cost_leaves_something_owed() -> None:
    """100 buy ten items, each of which costs 5 more on its way out."""
    history = [[10] * 10, [-15] * 10, [7] * 10, [True] * 10]
    found = odds(history, 100, 3, paths=LEAST)
    assert found[:, 1:4].tolist() == [[100] * 3, [-50] * 3, [-50] * 3]


def test_what_is_owed_is_taken_off_by_hand() -> None:
    """No cash, 80 of inventory for two weeks at 1.25, costs of 60: see the path above.

    week  cash  inventory  owed  worth
    1     0     40     10     30
    2     0      0     20    -20
    3     0      0     80    -80
    """
    history = [[20] * 10, [5] * 10, [14] * 10, [True] * 10]
    found = odds(history, 0, 3, 60, opening_inventory=80, paths=LEAST)
    assert found[:, 1:4].tolist() == [[30] * 3, [-20] * 3, [-80] * 3]
