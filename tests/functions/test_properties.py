"""What must hold for every input: inverses undo each other, shares add up, shapes agree.

The first half names functions; the second half runs over the whole registry, with cells drawn from
the limits of each argument's kind.
"""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sheetfns import (
    REGISTRY,
    CellError,
    band_break_even,
    band_fee,
    break_even_price,
    net_proceeds,
    net_profit,
    price_for_profit,
    price_with_postage,
    selling_fee,
)
from sheetfns.calling import MISSING, evaluate, single_figure
from sheetfns.cell_types import CellType
from sheetfns.registry import Argument, FunctionSpec

CENT = 0.01 + 1e-6


def cents(maximum: int) -> st.SearchStrategy[float]:
    return st.integers(0, maximum).map(lambda amount: amount / 100)


def rates(maximum: float) -> st.SearchStrategy[float]:
    """Fractions of four digits: 11.25% is 0.1125."""
    return st.integers(0, round(maximum * 10_000)).map(lambda rate: rate / 10_000)


@st.composite
def fee_terms(draw: st.DrawFn) -> dict[str, float | None]:
    """A channel's terms, with and without a band, bounds, advertising and tax in the base."""
    band_limit = draw(st.none() | cents(200_000))
    minimum = draw(st.none() | cents(500))
    maximum = draw(st.none() | cents(10_000))
    assume(minimum is None or maximum is None or minimum <= maximum)
    return {
        "rate": draw(rates(0.4)),
        "per_order": draw(cents(200)),
        "tax_rate": draw(st.none() | rates(0.25)),
        "band_limit": band_limit,
        "rate_above": None if band_limit is None else draw(rates(0.4)),
        "ad_rate": draw(st.none() | rates(0.3)),
        "minimum": minimum,
        "maximum": maximum,
    }


item = st.fixed_dictionaries({"landed_cost": cents(50_000), "postage": cents(5_000), "packaging": cents(500)})


def earned(price: float, shipping: float, costs: dict[str, float], terms: dict[str, Any]) -> float:
    fee = selling_fee(price, shipping, **terms)
    return float(net_profit(price, shipping, fee, **costs))


@given(item, cents(3_000), fee_terms())
def test_at_break_even_a_sale_earns_nothing(costs: dict[str, float], shipping: float, terms: dict[str, Any]) -> None:
    price = break_even_price(**costs, shipping=shipping, **terms)
    profit = earned(price, shipping, costs, terms)
    if price > 0:
        assert abs(profit) < CENT
    else:
        assert profit > -CENT, "even as a gift it earns what postage brings in"


@given(cents(20_000), item, cents(3_000), fee_terms())
def test_at_the_price_for_a_profit_it_is_earned(
    target: float, costs: dict[str, float], shipping: float, terms: dict[str, Any]
) -> None:
    price = price_for_profit(target, **costs, shipping=shipping, **terms)
    profit = earned(price, shipping, costs, terms)
    assert profit > target - CENT
    if price > 0:
        assert profit < target + CENT


@given(item, cents(3_000), fee_terms(), cents(1_000))
def test_below_break_even_a_sale_loses(
    costs: dict[str, float], shipping: float, terms: dict[str, Any], less: float
) -> None:
    """Break-even is the lowest price without a loss, also where a band or a bound changes the fee."""
    price = break_even_price(**costs, shipping=shipping, **terms)
    assume(price > 0 and price >= less)
    assert earned(price - less, shipping, costs, terms) < CENT


@st.composite
def band_tables(draw: st.DrawFn) -> tuple[list[float], list[float]]:
    steps = draw(st.lists(st.integers(1, 500_000), max_size=5))
    limits = (np.cumsum(steps) / 100).tolist() if steps else []
    of_band = draw(st.lists(rates(0.95), min_size=len(limits) + 1, max_size=len(limits) + 1))
    return limits, of_band


@given(cents(5_000_000), band_tables(), cents(500))
def test_a_banded_fee_and_its_inverse(needed: float, table: tuple[list[float], list[float]], per_order: float) -> None:
    amount = band_break_even(needed, *table, per_order)
    assert amount - band_fee(amount, *table, per_order) == pytest.approx(needed, abs=CENT)


@given(cents(5_000_000), band_tables(), cents(500))
def test_the_inverse_finds_the_amount_again(
    amount: float, table: tuple[list[float], list[float]], per_order: float
) -> None:
    left = amount - band_fee(amount, *table, per_order)
    assume(left >= 0)
    # Rounding the fee moves what is left by half a cent; a rate near 100% makes more of it.
    half_cent = 0.005 / (1 - max(table[1])) + 1e-6
    assert band_break_even(left, *table, per_order) == pytest.approx(amount, abs=half_cent)


@given(st.lists(cents(2_000_000), min_size=2, max_size=20), band_tables(), cents(500))
def test_a_banded_fee_never_falls_and_never_exceeds_the_amount(
    amounts: list[float], table: tuple[list[float], list[float]], per_order: float
) -> None:
    amounts = sorted(amounts)
    fees = band_fee(amounts, *table, per_order)
    assert (np.diff(fees) >= 0).all()
    assert (fees <= np.array(amounts) + per_order + 0.005).all()


@given(cents(500_000), cents(5_000), rates(1), cents(500), rates(0.3))
def test_one_band_is_a_plain_fee(price: float, shipping: float, rate: float, per_order: float, tax_rate: float) -> None:
    base = float(Decimal(repr(price)) + Decimal(repr(shipping)))
    plain = selling_fee(price, shipping, rate, per_order)
    assert plain == band_fee(base, [], [rate], per_order)
    assert plain == selling_fee(price, shipping, rate, per_order, 0, 1e9, 0)
    assert plain <= selling_fee(price, shipping, rate, per_order, tax_rate)


values = st.lists(st.none() | st.just(0.0) | cents(10_000_000), min_size=1, max_size=40)


@given(cents(100_000_000), values, st.data())
def test_a_lot_is_shared_to_the_cent(cost: float, worth: list[float | None], data: st.DataObject) -> None:
    items = data.draw(st.none() | st.lists(st.none() | st.integers(0, 9), min_size=len(worth), max_size=len(worth)))
    counts = [1 if count is None else count for count in items or [None] * len(worth)]
    weights = [
        Fraction(0) if value is None else Fraction(round(value * 100)) * count
        for value, count in zip(worth, counts, strict=True)
    ]
    assume(sum(weights) > 0)
    shares = evaluate(REGISTRY["LOT_SHARE"], [cost, worth, items]).cells()
    found = [share for (share,) in shares]
    assert [share is None for share in found] == [value is None for value in worth]
    in_cents = [0 if share is None else round(share * 100) for share in found]
    assert all(share is None or share == share_cents / 100 for share, share_cents in zip(found, in_cents, strict=True))
    assert sum(in_cents) == round(cost * 100)
    exact = [Fraction(round(cost * 100)) * weight / sum(weights) for weight in weights]
    for place, (share, ideal) in enumerate(zip(in_cents, exact, strict=True)):
        assert abs(share - ideal) < 1
        assert weights[place] or share == 0, "what is worth nothing costs nothing"
    for earlier in range(len(weights)):
        for later in range(earlier + 1, len(weights)):
            if weights[earlier] == weights[later]:
                assert in_cents[earlier] >= in_cents[later], "ties go to the earlier row"


@given(cents(100_000), cents(5_000), cents(5_000), st.tuples(rates(0.8), cents(500), rates(0.2)))
def test_postage_in_the_price_nets_the_same(
    price: float, shipping: float, postage: float, terms: tuple[float, float, float]
) -> None:
    inclusive = price_with_postage(price, shipping, postage, *terms)
    apart = net_proceeds(price, shipping, selling_fee(price, shipping, *terms), postage, 0)
    together = net_proceeds(inclusive, 0, selling_fee(inclusive, 0, *terms), postage, 0)
    assert together == pytest.approx(apart, abs=1e-9)


# From here on: every function of the registry.

ALL = list(REGISTRY.values())
CELLWISE = [
    spec
    for spec in ALL
    if not (spec.returns.takes_range or spec.returns.own_shape)
    and any(not argument.kind.takes_range for argument in spec.arguments)
]
every_function = pytest.mark.parametrize("name", [spec.name for spec in ALL])
every_cellwise_function = pytest.mark.parametrize("name", [spec.name for spec in CELLWISE])


def holds_numbers(kind: CellType) -> bool:
    return kind.holds in ("number", "date")


def figures(kind: CellType) -> st.SearchStrategy[Any]:
    """A cell within the limits of a kind, the limits themselves often enough."""
    if kind.holds == "flag":
        return st.booleans()
    if kind.holds in ("text", "any"):
        return st.text(min_size=1, max_size=20)
    if kind.holds == "date":
        return st.integers(36_526, 55_000).map(float)
    minimum = -1e6 if kind.minimum is None else kind.minimum
    maximum = 1e6 if kind.maximum is None else kind.maximum
    if kind.whole:
        return st.integers(math.ceil(minimum), math.floor(maximum)).map(float)
    edges = st.sampled_from([float(minimum), 0.0, min(1.0, maximum), float(maximum)])
    digits = 4 if kind.maximum == 1 else 2
    return edges | st.floats(minimum, maximum).map(lambda figure: round(figure, digits))


RANGES: dict[str, st.SearchStrategy[list[Any]]] = {
    "limits": st.sampled_from([[10.0, 500.5], [0.01, 1e6]]),
    "rates": st.lists(rates(0.95), min_size=3, max_size=3),
    "margins": st.sampled_from([[10.0, -2.5], [0.01, 1e6]]),
    "mix": st.sampled_from([[3.0, 1.0], [0.01, 0.0]]),
    "keywords": st.lists(st.text(max_size=5), min_size=2, max_size=2),
    "weights": st.sampled_from([[3.0, 1.0], [0.01, 0.0]]),
    "labels": st.sampled_from([["a", "b"], ["A", "missing"]]),
    "table": st.sampled_from([[[None, "0", "A"], [1.0, 4.0, 5.0], [1e5, 5.0, None]]]),
}
"""Ranges that must fit each other; others are two cells of their kind. A table that does not fit is
one error for the whole call, see below."""


def argument_cells(argument: Argument) -> st.SearchStrategy[Any]:
    if argument.kind.takes_range:
        two = st.lists(figures(argument.kind), min_size=2, max_size=2)
        return RANGES.get(argument.name, two)
    return figures(argument.kind)


def rows_of(spec: FunctionSpec) -> st.SearchStrategy[tuple[Any, ...]]:
    """Cells for one call; an argument that may be left out is blank half of the time."""
    return st.tuples(
        *(
            argument_cells(argument) if argument.required else st.none() | argument_cells(argument)
            for argument in spec.arguments
        )
    )


def outcome(spec: FunctionSpec, cells: Any) -> Any:
    """The result of one call: a figure, None, or an error as (code, message)."""
    ((cell,),) = evaluate(spec, cells).cells()
    return as_seen(cell)


def as_seen(cell: Any) -> Any:
    return (cell.code, cell.message) if isinstance(cell, CellError) else cell


def by_row(spec: FunctionSpec, rows: list[tuple[Any, ...]], shape: Any, words: Any = None) -> list[Any]:
    """The rows as columns (or as what `shape` makes of a list of cells); ranges as of the first.

    `words` is the shape of columns of texts and flags, if it is another.
    """
    arguments = []
    for place, argument in enumerate(spec.arguments):
        make = shape if words is None or holds_numbers(argument.kind) else words
        cells = [row[place] for row in rows]
        arguments.append(rows[0][place] if argument.kind.takes_range else make(cells))
    return [as_seen(cell) for line in evaluate(spec, arguments).cells() for cell in line]


def same(one: Any, other: Any) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=1e-12, abs_tol=1e-12)
    return bool(one == other)


def all_same(ones: list[Any], others: list[Any]) -> bool:
    return len(ones) == len(others) and all(map(same, ones, others))


BAD_CELLS = ["4,50", "", None, -1e9, math.inf, True, CellError("#REF!", "elsewhere")]


@every_cellwise_function
@settings(max_examples=60)
@given(st.data())
def test_cell_column_row_and_block_agree(name: str, data: st.DataObject) -> None:
    spec = REGISTRY[name]
    first = data.draw(rows_of(spec))
    rest = data.draw(st.lists(rows_of(spec), min_size=3, max_size=3))
    shared = {place for place, argument in enumerate(spec.arguments) if argument.kind.takes_range}
    rows = [
        first,
        *(tuple(first[place] if place in shared else cell for place, cell in enumerate(row)) for row in rest),
    ]
    # Bad cells stand beside the first row and must not touch it.
    places = [place for place in range(len(first)) if place not in shared]
    for number in (1, 2):
        bad = data.draw(st.sampled_from(BAD_CELLS))
        where = data.draw(st.sampled_from(places))
        rows[number] = (*rows[number][:where], bad, *rows[number][where + 1 :])
    single = [outcome(spec, row) for row in rows]
    assert all_same(single, by_row(spec, rows, list)), "column as a list"
    assert all_same(single, by_row(spec, rows, lambda cells: [[cell] for cell in cells])), "column"
    assert all_same(single, by_row(spec, rows, lambda cells: [cells])), "row"
    assert all_same(single, by_row(spec, rows, lambda cells: [cells[:2], cells[2:]])), "block"
    one_by_one = by_row(spec, rows[:1], lambda cells: [[cells[0]]])
    assert all_same(single[:1], one_by_one), "a range of one cell"


@pytest.mark.parametrize(
    ("name", "cells"),
    [
        ("BAND_FEE", [[500, None, 700], [1000], [0.1]]),
        ("BAND_BREAK_EVEN", [[500, 600], [1000], [0.1, 1]]),
        ("MIX_BREAK_EVEN", [[24_000, 12_000], [400, 150], [0, 0]]),
    ],
)
def test_a_table_that_does_not_fit_is_one_error_for_the_call(name: str, cells: Any) -> None:
    found = evaluate(REGISTRY[name], cells).cells()
    assert [len(row) for row in found] == [1]
    assert isinstance(found[0][0], CellError)


@every_cellwise_function
@settings(max_examples=60)
@given(st.data())
def test_a_column_given_as_array_or_series_agrees(name: str, data: st.DataObject) -> None:
    spec = REGISTRY[name]
    rows = data.draw(st.lists(rows_of(spec), min_size=3, max_size=3))
    expected = by_row(spec, rows, list)

    def numeric(cells: list[Any]) -> list[Any]:
        return [math.nan if cell is None else cell for cell in cells]

    def series(cells: list[Any]) -> Any:
        return pd.Series(cells, dtype=object)

    def objects(cells: list[Any]) -> Any:
        array = np.empty(len(cells), object)
        array[:] = cells
        return array

    for shape, words in (
        (lambda cells: np.array(numeric(cells)), objects),
        (lambda cells: pd.Series(numeric(cells), index=range(10, 10 + len(cells))), series),
        (series, series),
        (lambda cells: pd.array(cells, dtype="Float64"), series),
        (tuple, tuple),
    ):
        assert all_same(expected, by_row(spec, rows, shape, words))


@every_cellwise_function
@settings(max_examples=60)
@given(st.data())
def test_whole_numbers_are_figures_like_others(name: str, data: st.DataObject) -> None:
    """An integer column must not cut off cents."""

    spec = REGISTRY[name]

    def whole(cell: Any) -> Any:
        if isinstance(cell, list):
            return [whole(one) for one in cell]
        return float(round(cell)) if isinstance(cell, float) else cell

    rows = [tuple(whole(cell) for cell in row) for row in data.draw(st.lists(rows_of(spec), min_size=2, max_size=2))]
    # A column with a blank has no integer type.
    rows = [
        tuple(None if None in (rows[0][place], rows[1][place]) else cell for place, cell in enumerate(row))
        for row in rows
    ]
    expected = by_row(spec, rows, list)

    def integers(cells: list[Any]) -> Any:
        return cells if None in cells else np.array(cells, dtype=np.int64)

    def ints(cells: list[Any]) -> list[Any]:
        return [None if cell is None else int(cell) for cell in cells]

    assert all_same(expected, by_row(spec, rows, integers, list))
    assert all_same(expected, by_row(spec, rows, ints, list))


@every_function
@settings(max_examples=150)
@given(st.data())
def test_the_quick_way_for_single_cells_agrees_with_the_general_one(name: str, data: st.DataObject) -> None:
    spec = REGISTRY[name]
    row = list(data.draw(rows_of(spec)))
    if data.draw(st.booleans()):
        where = data.draw(st.integers(0, len(row) - 1))
        row[where] = data.draw(st.sampled_from([*BAD_CELLS, MISSING, 0, -1, 10**400, math.nan]))
    quick = single_figure(spec, row)
    if quick is not MISSING:
        assert same(as_seen(quick), outcome(spec, row))


def test_the_quick_way_is_taken() -> None:
    assert single_figure(REGISTRY["NET_PROFIT"], [25, 4, 3.5, 4.25, 0.75, 8]) == 12.5


@every_function
@settings(max_examples=100)
@given(st.data())
def test_a_result_is_a_figure_a_blank_or_an_error(name: str, data: st.DataObject) -> None:
    """Whatever stands in the cells: no Python exception, no NaN, no infinity."""
    spec = REGISTRY[name]
    anything = st.sampled_from([*BAD_CELLS, 0, -0.0, 1e300, -1e300, 5e-324, 1e15, "x", 10**400])
    row = [
        data.draw(
            st.lists(anything, min_size=1, max_size=4)
            if argument.kind.takes_range
            else anything | figures(argument.kind)
        )
        for argument in spec.arguments
    ]
    for line in evaluate(spec, row).cells():
        for cell in line:
            assert cell is None or isinstance(cell, (CellError, str)) or math.isfinite(cell)
            if isinstance(cell, CellError):
                assert 0 < len(cell.message) <= 255


def ordinary(argument: Argument) -> Any:
    kind = argument.kind
    figure = {"date": 46_000.0, "flag": True, "text": "text"}.get(kind.holds, 0.5)
    figure = max(1.0, kind.minimum or 0.0) if kind.whole else figure
    if argument.name == "limits":
        return [10.0]
    return [figure, figure] if kind.takes_range else figure


@every_function
def test_blank_rule(name: str) -> None:
    spec = REGISTRY[name]
    filled = [ordinary(argument) for argument in spec.arguments]
    blanks = [None if argument.required else cell for argument, cell in zip(spec.arguments, filled, strict=True)]
    for blank in (None, "", math.nan):
        row = [
            [blank, blank] if cell is None and argument.kind.takes_range else blank if cell is None else cell
            for argument, cell in zip(spec.arguments, blanks, strict=True)
        ]
        for line in evaluate(spec, row).cells():
            assert line == [None] * len(line), "all that is needed is blank: the result is blank"
    if len(spec.required) == 1:
        return
    for place in spec.required:
        row = [*filled[:place], None, *filled[place + 1 :]]
        error = evaluate(spec, row).cells()[0][0]
        assert isinstance(error, CellError)
        assert error.code == "#N/A"
        assert error.message.startswith(f"{spec.arguments[place].name} is blank; ")


@every_function
def test_an_optional_blank_is_as_if_left_out(name: str) -> None:
    spec = REGISTRY[name]
    needed = [ordinary(spec.arguments[place]) for place in spec.required]
    assert list(spec.required) == list(range(len(needed))), "what may be left out stands last"
    left_out = evaluate(spec, needed).cells()
    for blank in (None, "", math.nan, MISSING):
        cells = [*needed, *[blank] * (len(spec.arguments) - len(needed))]
        assert evaluate(spec, cells).cells() == left_out


@every_function
def test_an_error_in_a_cell_is_passed_on(name: str) -> None:
    spec = REGISTRY[name]
    filled = [ordinary(argument) for argument in spec.arguments]
    error = CellError("#REF!", "paid: from another sheet")
    for place, argument in enumerate(spec.arguments):
        bad = [*filled[place][1:], error] if argument.kind.takes_range else error
        found = evaluate(spec, [*filled[:place], bad, *filled[place + 1 :]]).cells()[0][0]
        assert isinstance(found, CellError)
        assert found.code == "#REF!"
        assert error.message in found.message


@every_function
def test_too_many_arguments_and_none(name: str) -> None:
    spec = REGISTRY[name]
    filled = [ordinary(argument) for argument in spec.arguments]
    for cells, words in (([*filled, 1], "at most"), ([], f"needs {spec.arguments[0].name}")):
        ((error,),) = evaluate(spec, cells).cells()
        assert isinstance(error, CellError)
        assert words in error.message
