"""Parcels: what holds for every parcel and price list, and the ordinary formulas of both."""

from __future__ import annotations

import math
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
import xlsxwriter
from hypothesis import given
from hypothesis import strategies as st
from xlsxwriter.utility import xl_range_abs, xl_rowcol_to_cell

from sheetfns import REGISTRY, CellError, billed_weight, estimate_bias, length_girth, packed_weight, postage_cost
from sheetfns.calling import evaluate
from sheetfns.hosts import engine
from sheetfns.tables import table_rows
from tests import libreoffice

PRICES = [[None, 1, 2, "Far"], [1, 4.5, 5, 5.5], [5, 7.25, 8, 9.1], [20, 15, None, 22.4]]


def hundredths(maximum: int, minimum: int = 0) -> st.SearchStrategy[Decimal]:
    return st.integers(minimum, maximum).map(lambda number: Decimal(number) / 100)


PARCELS = st.tuples(
    hundredths(5_000),
    st.lists(hundredths(6_000), min_size=3, max_size=3),
    st.none() | hundredths(60_000, 1),
    hundredths(1_000_000),
    st.sampled_from(["none", "nearest", "up"]),
    st.sampled_from(["0", "0.1", "0.25", "0.5", "0.7", "1"]).map(Decimal),
)
Parcel = tuple[Decimal, list[Decimal], Decimal | None, Decimal, str, Decimal]


def exact_billed_weight(parcel: Parcel) -> Decimal:
    """The rule once more, in decimals and with fractions where decimals end."""
    weight, sides, divisor, gate, rounding, step = parcel
    how = {"nearest": ROUND_HALF_UP, "up": ROUND_CEILING}.get(rounding)
    volume = Decimal(1)
    for side in sides:
        volume *= side if how is None else side.to_integral_value(how)
    heavier = Fraction(weight)
    if divisor is not None and volume > gate:
        heavier = max(heavier, Fraction(volume) / Fraction(divisor))
    if step:
        heavier = math.ceil(heavier / Fraction(step)) * Fraction(step)
    return Decimal(heavier.numerator) / Decimal(heavier.denominator)


@given(PARCELS)
def test_billed_weight_is_what_decimals_give(parcel: Parcel) -> None:
    weight, sides, *terms = parcel
    found, wanted = billed_weight(weight, *sides, *terms), exact_billed_weight(parcel)
    assert math.isclose(found, float(wanted), rel_tol=1e-12, abs_tol=1e-9)


@given(hundredths(5_000), st.lists(hundredths(6_000), min_size=3, max_size=3), hundredths(900, 1))
def test_a_parcel_is_never_billed_under_its_weight(weight: Decimal, sides: list[Decimal], divisor: Decimal) -> None:
    for step in (0, 0.1, 1):
        assert billed_weight(weight, *sides, divisor, 0, "up", step) >= float(weight) - 1e-9


@pytest.mark.parametrize("step", [0.1, 0.05, 0.7, 0.01, 1 / 3])
def test_whole_steps_stay_as_they_are(step: float) -> None:
    for count in range(1, 500):
        assert billed_weight(count * step, 1, 1, 1, weight_step=step) == pytest.approx(count * step, abs=1e-8)


def test_a_bad_word_or_divisor_stays_in_its_row() -> None:
    column = billed_weight(1, 10, 10, [20, 20, 20, 20], [100, 0, None, 100], 0, ["up", "up", "none", "Down"])
    assert column[[0, 2]].tolist() == [20.0, 1.0]
    assert column[1].message.startswith("divisor: must be above 0")
    assert column[3].message == "side_rounding: 'Down' is unknown; write none, nearest or up"


def test_columns_of_every_argument() -> None:
    rows = [(5, 12, 12, 13, 166, 1728, "nearest", 1), (5, 20.25, 14.5, 9.75, 139, 1728, "up", 1)]
    assert billed_weight(*map(list, zip(*rows, strict=True))).tolist() == [12.0, 23.0]


@given(st.permutations([Decimal(5), Decimal(8), Decimal(12)]), hundredths(300))
def test_length_and_girth_do_not_depend_on_the_order(sides: list[Decimal], more: Decimal) -> None:
    sides = [sides[0], sides[1], sides[2] + more]
    longest = max(sides)
    assert length_girth(*sides) == pytest.approx(float(2 * sum(sides) - longest))


def test_the_margin_of_one_function_is_the_allowance_of_the_other() -> None:
    estimated, actual = [2.0, 3.0, 1.0, 4.0], [2.2, 3.1, 1.4, 3.9]
    ((_, _, _, allowance),) = estimate_bias(estimated, actual, 0.75).tolist()
    enough = [
        packed_weight(one, 0, margin=allowance) >= other - 1e-9 for one, other in zip(estimated, actual, strict=True)
    ]
    assert sum(enough) == 3


# Postage.


@given(st.integers(0, 2_100), st.lists(st.integers(1, 2_000), min_size=1, max_size=12, unique=True), st.integers(0, 3))
def test_postage_is_the_first_row_that_holds(grams: int, steps: list[int], column: int) -> None:
    limits = sorted(steps)
    zones = ["A", "b", 3.0, "Far Away"]
    table: list[list[Any]] = [[None, *zones]]
    table += [[limit / 100, *(row * 10 + place for place in range(4))] for row, limit in enumerate(limits)]
    holds = [row for row, limit in enumerate(limits) if grams <= limit]
    if not holds:
        with pytest.raises(CellError, match=f"is over {limits[-1] / 100:g}, the last weight"):
            postage_cost(grams / 100, zones[column], table)
        return
    assert postage_cost(grams / 100, zones[column], table) == holds[0] * 10 + column


def test_a_computed_weight_is_not_over_its_row_by_noise() -> None:
    table = [[None, 1], [0.3, 4.0], [1, 5.0]]
    assert 0.1 + 0.2 > 0.3
    assert postage_cost(0.1 + 0.2, 1, table) == 4.0


@pytest.mark.parametrize("zone", [1, 1.0, "1", " 1 "])
def test_numbers_and_digits_are_one_zone(zone: Any) -> None:
    assert postage_cost(3, zone, PRICES) == 7.25
    assert postage_cost(3, zone, [[None, "1"], [5, 7.25]]) == 7.25


def test_errors_of_postage_name_what_to_fix() -> None:
    for weight, zone, table, words in [
        (3, "9", PRICES, "zone: '9' is not in the table's first row; write one of 1, 2, Far"),
        (21, 1, PRICES, "weight: 21 is over 20, the last weight of the table; split the parcel or add a row"),
        (12, 2, PRICES, "table: no price in row 4 under zone 2; fill it in, or choose another zone"),
        (
            3,
            1,
            [[None, 1], [5, 1], [5, 2]],
            "table: the weight 5 in row 3 is not above 5 in the row before; put the rows in rising order",
        ),
        (3, 1, [[None, 1], ["5 lb", 1]], "table: '5 lb' in row 2 is not a weight; write a number"),
        (3, 1, [[None, 1], [5, 1], [None, 2]], "table: row 3 has no weight in its first cell; add it"),
        (3, 1, [[None, 1, 1], [5, 1, 2]], "zone: '1' is duplicated in the table's first row; keep one"),
        (3, 1, [["1", 1], [5, 1]], "zone: '1' is also in the table's top-left cell; clear that cell"),
        (3, 1, [5, 6], "table: too small; give zones in its first row, weights in its first column, and prices"),
    ]:
        with pytest.raises(CellError) as caught:
            postage_cost(weight, zone, table)
        assert caught.value.message == words


def test_a_long_list_of_zones_is_cut_in_the_message() -> None:
    table = [[None, *(f"zone number {number}" for number in range(60))], [5, *range(60)]]
    with pytest.raises(CellError) as caught:
        postage_cost(1, "x" * 300, table)
    assert len(caught.value.message) <= 255


def test_one_bad_row_of_postage_spoils_no_other() -> None:
    column = postage_cost([0.5, 30, 3, None], ["far", 1, "x", None], PRICES)
    assert column[0] == 5.5
    assert [column[row].code for row in (1, 2, 3)] == ["#NUM!", "#VALUE!", "#N/A"]


# Estimates.


@given(st.lists(st.tuples(st.integers(0, 900), st.integers(0, 900)), min_size=1, max_size=40), st.integers(0, 100))
def test_the_allowance_is_the_least_that_covers(pairs: list[tuple[int, int]], percent: int) -> None:
    estimated = [one / 100 for one, _ in pairs]
    actual = [other / 100 for _, other in pairs]
    ((used, mean, under, allowance),) = estimate_bias(estimated, actual, percent / 100).tolist()
    errors = [other - one for one, other in pairs]
    assert used == len(pairs)
    assert mean == pytest.approx(sum(errors) / len(errors) / 100, abs=1e-9)
    assert under == sum(error > 0 for error in errors) / len(errors)
    needed = math.ceil(Fraction(percent, 100) * len(pairs))
    minimum = next(hundredth for hundredth in range(901) if sum(e <= hundredth for e in errors) >= needed)
    assert allowance == pytest.approx(minimum / 100, abs=1e-9)


def test_unlike_sizes_and_no_pair() -> None:
    with pytest.raises(CellError, match="actual has 3 cells, estimated has 2; give ranges"):
        estimate_bias([1, 2], [1, 2, 3])
    with pytest.raises(CellError, match="estimated and actual: no row has both"):
        estimate_bias([1, None], [None, 2])


# The ordinary formulas, on drawn rows.

ROWS = 400


def drawn_rows() -> dict[str, list[tuple[dict[str, Any], float]]]:
    rng = np.random.default_rng(11)

    def hundredth(maximum: int) -> float:
        return int(rng.integers(0, maximum)) / 100

    def billed() -> dict[str, Any]:
        row = {"weight": hundredth(5_000)} | {side: hundredth(4_000) for side in ("length", "width", "height")}
        row["divisor"] = rng.choice([None, 139, 166, 194, 5_000, 6_000])
        row["gate"] = rng.choice([None, 0, 1_728])
        row["side_rounding"] = rng.choice([None, "none", "nearest", "up", "Up "])
        row["weight_step"] = rng.choice([None, 0, 0.1, 0.25, 0.7, 1])
        if rng.random() < 0.3:
            # Halves, and volumes just at the gate.
            row |= (
                {"length": 11.5, "width": 12, "height": 12}
                if rng.random() < 0.5
                else {"length": 14.4, "width": 12, "height": 10}
            )
        return row

    def postage() -> dict[str, Any]:
        zones = [1.0, 2.0, "Far", "3"]
        wanted = [1.0, "1", 2.0, " 2 ", "Far", "FAR", "3", 3.0, "*", "weight"]
        limits = sorted({int(limit) / 100 for limit in rng.integers(1, 2_000, 5)})
        corner = [None, 0.5, 7.0, "weight", 1.0, "2", "far"][rng.integers(7)]
        table = [[corner, *zones]] + [
            [limit, *(None if rng.random() < 0.1 else hundredth(9_000) for _ in zones)] for limit in limits
        ]
        table += [[None] * 5] * int(rng.integers(0, 3))
        weight = rng.choice([*limits, hundredth(2_000), 0.1 + 0.2])
        return {"weight": float(weight), "zone": wanted[rng.integers(10)], "table": table}

    drawn: dict[str, list[tuple[dict[str, Any], float]]] = {}
    for name, draw in (("BILLED_WEIGHT", billed), ("POSTAGE_COST", postage)):
        rows: list[tuple[dict[str, Any], float]] = []
        while len(rows) < ROWS:
            row = {key: cell.item() if isinstance(cell, np.generic) else cell for key, cell in draw().items()}
            ((found,),) = evaluate(REGISTRY[name], list(row.values())).cells()
            # Where the function refuses, the formula must show an error: NaN stands for it.
            rows.append((row, math.nan if isinstance(found, CellError) else found))
        drawn[name] = rows
    return drawn


@pytest.fixture(scope="module")
def drawn() -> dict[str, list[tuple[dict[str, Any], float]]]:
    return drawn_rows()


def write(path: Path, drawn: dict[str, list[tuple[dict[str, Any], float]]]) -> None:
    book = xlsxwriter.Workbook(path)
    for name, rows in drawn.items():
        sheet = book.add_worksheet(name)
        tables = book.add_worksheet(f"{name} tables")
        below = 0
        for place, (row, _) in enumerate(rows):
            cells = {}
            for column, (argument, cell) in enumerate(row.items(), 1):
                if isinstance(cell, list):
                    last = (below + len(cell) - 1, len(cell[0]) - 1)
                    cells[argument] = f"'{name} tables'!{xl_range_abs(below, 0, *last)}"
                    for line, of_line in enumerate(cell):
                        tables.write_row(below + line, 0, of_line)
                    below += len(cell)
                else:
                    sheet.write(place, column, cell)
                    cells[argument] = xl_rowcol_to_cell(place, column)
            sheet.write_formula(place, 0, f"={REGISTRY[name].filled_formula(cells)}", value=-99)
    book.close()


def disagreements(
    rows: list[tuple[dict[str, Any], float]], found: list[Any]
) -> list[tuple[dict[str, Any], float, Any]]:
    return [
        (row, figure, cell)
        for (row, figure), cell in zip(rows, found, strict=True)
        if (
            isinstance(cell, (int, float))
            if math.isnan(figure)
            else not isinstance(cell, (int, float)) or not math.isclose(figure, cell, abs_tol=1e-9)
        )
    ]


def test_drawn_rows_have_figures_and_refusals(drawn: dict[str, list[tuple[dict[str, Any], float]]]) -> None:
    refused = {name: sum(math.isnan(f) for _, f in rows) for name, rows in drawn.items()}
    assert refused["BILLED_WEIGHT"] == 0
    assert 20 < refused["POSTAGE_COST"] < ROWS / 2


@pytest.mark.libreoffice
def test_libreoffice_agrees(drawn: dict[str, list[tuple[dict[str, Any], float]]], tmp_path: Path) -> None:
    write(tmp_path / "parcels.xlsx", drawn)
    made = libreoffice.recalculate(tmp_path / "parcels.xlsx", tmp_path / "out")
    book = openpyxl.load_workbook(made, data_only=True)
    for name, rows in drawn.items():
        found = [book[name].cell(place, 1).value for place in range(1, ROWS + 1)]
        assert not disagreements(rows, found)[:5]


def test_the_headless_engine_agrees(drawn: dict[str, list[tuple[dict[str, Any], float]]], tmp_path: Path) -> None:
    write(tmp_path / "parcels.xlsx", drawn)
    result = engine.recalculate(tmp_path / "parcels.xlsx")
    for name, rows in drawn.items():
        found = [result.value(name, place, 1) for place in range(1, ROWS + 1)]
        assert not disagreements(rows, found)[:5]


# The table of dated rules.


def test_every_rule_can_be_used_as_it_stands() -> None:
    rules = table_rows("parcel_rules")
    assert rules
    for rule in rules:
        divisor, gate, step = (float(rule[key]) for key in ("divisor", "gate", "weight_step"))
        heavy = billed_weight(1, gate, 2, 1, divisor, gate, rule["side_rounding"], step)
        assert heavy == math.ceil(2 * gate / divisor)
        assert len(rule["valid_from"]) == len("2026-01-01")
        assert rule["units"]
