"""Inventory: days, turns, chances by the product limit held against fractions, and markdowns."""

from __future__ import annotations

import datetime as dt
import math
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheetfns import (
    REGISTRY,
    CellError,
    days_held,
    days_on_hand,
    gross_margin_return,
    inventory_turnover,
    markdown_price,
    median_days_to_sell,
    sold_by_chance,
)
from sheetfns.calling import evaluate
from sheetfns.cell_types import date_number
from sheetfns.hosts import engine
from tests import libreoffice
from tests.functions.test_parcel import disagreements, write


@given(st.dates(dt.date(1990, 1, 1), dt.date(2100, 1, 1)), st.integers(0, 5_000))
def test_days_held_are_those_of_the_calendar(day: dt.date, days: int) -> None:
    later = day + dt.timedelta(days=days)
    assert days_held(day, later) == days
    assert days_held(date_number(day), date_number(later)) == days
    at_noon = dt.datetime.combine(day, dt.time(12))
    assert days_held(at_noon, later) == days


def test_days_of_a_column_with_bad_rows() -> None:
    found = days_held([46_052, 46_112, None, "3/4/26"], [46_112, 46_052, None, 46_112])
    assert found[0] == 60
    assert found[1].message == "held_until: is before bought_on; check both dates"
    assert found[2] is None
    assert found[3].message.startswith("bought_on: '3/4/26' is not a date; write 2026-03-04 or")


@given(*[st.integers(1, 10**7)] * 3)
def test_turns_and_days_say_the_same(sold: int, opening: int, closing: int) -> None:
    """365 / turn is the days that the mean inventory lasts."""
    turn = inventory_turnover(sold / 100, opening / 100, closing / 100)
    days = days_on_hand((opening + closing) / 200, sold / 100)
    assert turn * days == pytest.approx(365)
    assert gross_margin_return(sold / 100, opening / 100, closing / 100) == turn


def test_refusals_name_what_to_do() -> None:
    for function, cells, message in [
        (inventory_turnover, (5, 0, 0), "opening and closing: both are 0, so there is no inventory to measure by; check both"),
        (days_on_hand, (5, 0), "cost_of_goods_sold: is 0, so the inventory never runs out; use a longer period"),
        (days_on_hand, (5, 1, 0), "days: is 0; write the length of the period in days"),
        (median_days_to_sell, ([5, 8, 12], [1, 0, 0]), "days: 67% of the items would be unsold after 12 days, the longest so far, so sold_share is not reached yet; wait, or write a lower one"),
        (sold_by_chance, ([5, 8], [1, 0], 9), "horizon: is beyond 8 days, the longest that an item was held so far; write 8 or less"),
        (sold_by_chance, ([5, 8], [1], 9), "sold_flags has 1 cells, days has 2; give ranges of the same size"),
        (markdown_price, (40, 45, [[30, 10]]), "steps: 10 in row 1 is over 100%; write 10% or 0.1 for a tenth"),
        (markdown_price, (40, 45, [["a", "b"], [60, 0.1], [30, 0.2]]), "steps: the day in row 3 is not above the one before; put the days in rising order"),
        (markdown_price, (40, 45, [[30, None]]), "steps: row 1 has no share; fill it in"),
        (markdown_price, (40, 45, [[30], [60]]), "steps: is too narrow; give two columns: from which day, and which share is taken off"),
    ]:  # fmt: skip
        with pytest.raises(CellError) as caught:
            function(*cells)
        assert caught.value.message == message


# The product limit.

Held = list[tuple[int, bool]]
histories: st.SearchStrategy[Held] = st.lists(st.tuples(st.integers(0, 12), st.booleans()), min_size=1, max_size=14)


def still_unsold(held: Held, day: float) -> Fraction:
    """Kaplan and Meier, in fractions: over the days with sales, 1 - sold / at risk."""
    share = Fraction(1)
    for sale in sorted({days for days, sold in held if sold and days <= day}):
        at_risk = sum(days >= sale for days, _ in held)
        share *= 1 - Fraction(sum(one == (sale, True) for one in held), at_risk)
    return share


def columns(held: Held) -> tuple[list[float], list[bool]]:
    return [float(days) for days, _ in held], [sold for _, sold in held]


@given(histories, st.integers(0, 28))
def test_chances_are_those_in_fractions(held: Held, half_days: int) -> None:
    horizon = half_days / 2
    longest = max(days for days, _ in held)
    if horizon > longest and still_unsold(held, longest) > 0:
        with pytest.raises(CellError) as caught:
            sold_by_chance(*columns(held), horizon)
        assert caught.value.code == "#N/A"
        return
    chance = sold_by_chance(*columns(held), horizon)
    assert chance == pytest.approx(float(1 - still_unsold(held, horizon)), abs=1e-12)


@given(histories, st.integers(1, 20))
def test_medians_are_those_in_fractions(held: Held, twentieths: int) -> None:
    wanted = 1 - Fraction(twentieths, 20)
    low_enough = [day for day in sorted({days for days, _ in held}) if still_unsold(held, day) <= wanted]
    if not low_enough:
        with pytest.raises(CellError) as caught:
            median_days_to_sell(*columns(held), twentieths / 20)
        assert caught.value.code == "#N/A"
        return
    assert median_days_to_sell(*columns(held), twentieths / 20) == low_enough[0]


@pytest.mark.parametrize("seed", range(25))
def test_lifelines_says_the_same(seed: int) -> None:
    """An open-source library for times to an event, on items that share days and are often unsold."""
    from lifelines import KaplanMeierFitter
    from lifelines.utils import qth_survival_time

    rng = np.random.default_rng(seed)
    items = int(rng.integers(12, 120))
    days = rng.integers(0, int(rng.integers(3, 40)), items).astype(float)
    sold = rng.random(items) < rng.uniform(0.2, 1)
    sold[0] = True
    assert len(set(days)) < items, "days are shared"
    fitted = KaplanMeierFitter().fit(days, sold)

    horizons = np.arange(0, days.max() + 0.5, 0.5)
    unsold = fitted.survival_function_at_times(horizons).to_numpy()
    assert sold_by_chance(days, sold, horizons) == pytest.approx(1 - unsold, abs=1e-12)

    # Shares that no product of fractions meets: there the last bit would decide in both.
    shares = rng.uniform(0.02, 0.98, 8)
    wanted = [qth_survival_time(1 - share, fitted.survival_function_) for share in shares]
    for share, day in zip(shares, wanted, strict=True):
        if math.isfinite(day):
            assert median_days_to_sell(days, sold, share) == day
        else:
            with pytest.raises(CellError, match="sold_share is not reached yet"):
                median_days_to_sell(days, sold, share)
    assert any(map(math.isfinite, wanted))


@given(st.lists(st.integers(0, 300), min_size=1, max_size=30), st.integers(0, 300))
def test_where_all_has_sold_it_is_plain_counting(days: list[int], horizon: int) -> None:
    sold = ["yes"] * len(days)
    share = sum(day <= horizon for day in days) / len(days)
    assert sold_by_chance(days, sold, horizon) == pytest.approx(share)
    assert median_days_to_sell(days, sold) == sorted(days)[(len(days) - 1) // 2]


@given(histories)
def test_a_longer_wait_never_lowers_the_chance(held: Held) -> None:
    longest = max(days for days, _ in held)
    chances = sold_by_chance(*columns(held), np.arange(longest + 1.0))
    assert (np.diff(chances) >= 0).all()
    assert (chances >= 0).all()
    assert (chances <= 1).all()


def test_leaving_out_the_unsold_makes_inventory_look_faster() -> None:
    days, sold = [5, 8, 12, 20, 40, 40, 60], [1, 1, 1, 1, 0, 0, 1]
    only_sold = [day for day, flag in zip(days, sold, strict=True) if flag]
    assert median_days_to_sell(days, sold) > median_days_to_sell(only_sold, [1] * len(only_sold))


def test_one_bad_row_of_a_column_spoils_no_other() -> None:
    found = sold_by_chance([6, 7, 10, 12], [1, 0, 1, 0], [6, 13, None, -1, 12])
    assert found[0] == pytest.approx(1 / 4)
    assert found[4] == pytest.approx(5 / 8)
    assert [found[row].code for row in (1, 2, 3)] == ["#N/A", "#N/A", "#NUM!"]
    found = median_days_to_sell([6, 7, 10, 12], [1, 0, 1, 0], [0.25, 0.9, 0.5, 0])
    assert [found[0], found[2]] == [6, 10]
    assert [found[row].code for row in (1, 3)] == ["#N/A", "#NUM!"]


# Markdowns.

step_lists = st.lists(
    st.tuples(st.integers(0, 200), st.integers(0, 100)), min_size=1, max_size=5, unique_by=lambda step: step[0]
).map(sorted)


@given(st.integers(0, 100_000), st.integers(0, 250), step_lists, st.integers(0, 50_000))
def test_markdowns_are_those_in_decimals(asking: int, days: int, steps: list[tuple[int, int]], floor: int) -> None:
    table = [["from day", "off"], *([day, percent / 100] for day, percent in steps)]
    reached = [percent for day, percent in steps if day <= days]
    exact = Decimal(asking) * (100 - (reached[-1] if reached else 0)) / 10_000
    price = exact.quantize(Decimal("0.01"), ROUND_HALF_UP)
    wanted = min(asking / 100, max(floor / 100, float(price)))
    assert markdown_price(asking / 100, days, table, floor / 100) == pytest.approx(wanted, abs=1e-9)
    assert markdown_price(asking / 100, days, table[1:], floor / 100) == pytest.approx(wanted)


@given(st.integers(0, 100_000), step_lists, st.integers(0, 50_000))
def test_with_rising_steps_a_price_never_rises(asking: int, steps: list[tuple[int, int]], floor: int) -> None:
    shares = sorted(percent for _, percent in steps)
    table = [[day, share / 100] for (day, _), share in zip(steps, shares, strict=True)]
    prices = markdown_price(asking / 100, np.arange(250.0), table, floor / 100)
    assert (np.diff(prices) <= 0).all()
    assert prices.max() <= asking / 100
    assert prices.min() >= min(asking, floor) / 100


def test_a_bad_block_of_steps_comes_after_what_is_wrong_with_a_row() -> None:
    found = markdown_price([40, None, 40], [45, 45, -1], [[60, 0.2], [30, 0.1]])
    assert [error.message.split()[0] for error in found] == ["steps:", "asking", "days_listed:"]


ROWS = 400


@pytest.fixture(scope="module")
def drawn() -> dict[str, list[tuple[dict[str, Any], float]]]:
    """Rows for the ordinary formula, with headings, blank rows at the end, days on a step."""
    rng = np.random.default_rng(12)
    rows: list[tuple[dict[str, Any], float]] = []
    for _ in range(ROWS):
        days = sorted({int(day) for day in rng.integers(0, 200, 4)})
        table: list[list[Any]] = [[day, int(rng.integers(0, 21)) / 20] for day in days]
        if rng.random() < 0.5:
            table.insert(0, ["from day", "off"])
        table += [[None, None]] * int(rng.integers(0, 3))
        row = {
            "asking": int(rng.integers(0, 20_000)) / 100,
            "days_listed": int(rng.choice([*days, int(rng.integers(0, 250))])),
            "steps": table,
            "floor": [None, 0.0, int(rng.integers(0, 15_000)) / 100][int(rng.integers(3))],
        }
        ((found,),) = evaluate(REGISTRY["MARKDOWN_PRICE"], list(row.values())).cells()
        rows.append((row, math.nan if isinstance(found, CellError) else found))
    return {"MARKDOWN_PRICE": rows}


def test_drawn_rows_are_marked_down_often_enough(drawn: Any) -> None:
    rows = drawn["MARKDOWN_PRICE"]
    assert not any(math.isnan(figure) for _, figure in rows)
    assert sum(figure < row["asking"] for row, figure in rows) > ROWS / 4
    assert sum(figure == row["floor"] for row, figure in rows) > 20


@pytest.mark.libreoffice
def test_libreoffice_agrees(drawn: Any, tmp_path: Path) -> None:
    write(tmp_path / "inventory.xlsx", drawn)
    made = libreoffice.recalculate(tmp_path / "inventory.xlsx", tmp_path / "out")
    sheet = openpyxl.load_workbook(made, data_only=True)["MARKDOWN_PRICE"]
    found = [sheet.cell(place, 1).value for place in range(1, ROWS + 1)]
    assert not disagreements(drawn["MARKDOWN_PRICE"], found)[:5]


def test_the_headless_engine_agrees(drawn: Any, tmp_path: Path) -> None:
    write(tmp_path / "inventory.xlsx", drawn)
    result = engine.recalculate(tmp_path / "inventory.xlsx")
    found = [result.value("MARKDOWN_PRICE", place, 1) for place in range(1, ROWS + 1)]
    assert not disagreements(drawn["MARKDOWN_PRICE"], found)[:5]
