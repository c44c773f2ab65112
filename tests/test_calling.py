"""From cells to columns and back: shapes, blanks, errors by row, and what Python callers get."""

from __future__ import annotations

import datetime as dt
import math
from array import array
from collections import deque
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import numpy as np
import pandas as pd
import pytest

from sheetfns import (
    REGISTRY,
    CellError,
    band_fee,
    comp_spread,
    comp_value,
    home_office_simple,
    landed_cost,
    lot_share,
    margin_of_safety,
    mix_break_even,
    net_profit,
    postage_cost,
    selling_fee,
)
from sheetfns.calling import MISSING, Outcome, evaluate, failed, single_figure
from sheetfns.cell_types import Count, Date, Flag, Money, Text
from sheetfns.errors import refuse_where
from sheetfns.registry import SECTIONS, FunctionSpec, Registry, _spec

SALE = (25, 4, 3.50, 4.25, 0.75, 8)
"""NET_PROFIT's needed cells; 12.50 is left."""


def cells_of(name: str, *args: Any) -> list[list[Any]]:
    return evaluate(REGISTRY[name], args).cells()


def only_error(name: str, *args: Any) -> CellError:
    ((cell,),) = cells_of(name, *args)
    assert isinstance(cell, CellError)
    return cell


# Results for Python.


def test_a_single_figure_is_a_plain_float() -> None:
    for result in (net_profit(*SALE), net_profit(*map(np.float64, SALE)), selling_fee(25, 4, 0.1, 0)):
        assert type(result) is float


def test_a_single_error_is_raised() -> None:
    with pytest.raises(CellError) as caught:
        net_profit(25, 4, 3.50, 4.25, 0.75, -8)
    assert str(caught.value) == "#NUM! landed_cost: -8 is below 0; write 0 or more"


def test_a_blank_is_none_and_in_a_column_nan() -> None:
    assert net_profit(*[None] * 6) is None
    column = net_profit([25, None], [4, None], [3.5, None], [4.25, None], [0.75, None], [8, None])
    assert column.dtype == np.float64
    assert column[0] == 12.5
    assert math.isnan(column[1])


def test_errors_stay_in_their_rows() -> None:
    column = net_profit([25, "4,50", 30], 4, 3.5, 4.25, 0.75, [8, 8, -8])
    assert column.dtype == object
    assert column[0] == 12.5
    assert column[1].message == "price: '4,50' is not a number; write 4.5"
    assert column[2].message == "landed_cost: -8 is below 0; write 0 or more"


@pytest.mark.parametrize("prices", [range(25, 27), deque([25, 26]), array("d", [25, 26])])
def test_any_sequence_is_a_column(prices: Any) -> None:
    column = net_profit(prices, 4, 3.5, 4.25, 0.75, 8)
    assert column.tolist() == [12.5, 13.5]
    rows = net_profit([prices, prices], 4, 3.5, 4.25, 0.75, 8)
    assert rows.tolist() == [[12.5, 13.5], [12.5, 13.5]]


@pytest.mark.parametrize("price", ["25", b"25", bytearray(b"25"), memoryview(b"25")])
def test_a_text_is_no_column(price: Any) -> None:
    with pytest.raises(CellError, match=r"#VALUE! price: .* is not a number"):
        net_profit(price, 4, 3.5, 4.25, 0.75, 8)


@pytest.mark.parametrize("nothing", [[], (), [[]], np.array([]), pd.Series([], dtype=float)])
def test_a_range_without_a_cell(nothing: Any) -> None:
    """Only Python has one; it is an error, or none of what it lists."""
    for function in (comp_value, comp_spread):
        with pytest.raises(CellError, match="#N/A prices: there are none; give at least one"):
            function(nothing)
    with pytest.raises(CellError, match="#N/A table is blank"):
        postage_cost(1, 2, nothing)
    assert home_office_simple(100, 12, 2025, nothing) == home_office_simple(100, 12, 2025)
    assert comp_value([20, 24, 31], postage=nothing) == comp_value([20, 24, 31])
    assert band_fee(100, nothing, [0.1]) == 10


def test_a_column_without_a_row_gives_none() -> None:
    column = net_profit([], 4, 3.5, 4.25, 0.75, 8)
    assert (column.dtype, column.shape) == (np.float64, (0,))


def test_a_blank_beside_an_error_is_none() -> None:
    column = net_profit([None, -1], [None, 4], [None, 0], [None, 0], [None, 0], [None, 0])
    assert column[0] is None
    assert column[1].code == "#NUM!"


def test_a_sum_over_a_failed_row_fails() -> None:
    with pytest.raises(TypeError):
        sum(landed_cost([8, -1]))


def test_a_column_is_the_callers_own() -> None:
    price = np.array([25.0, 30.0])
    for column in (landed_cost(price), landed_cost(price, [[1.0], [2.0]]), net_profit(price, *SALE[1:])):
        np.add(column, 1, out=column)
    assert price.tolist() == [25, 30]


# Arguments by name.


def test_arguments_by_name() -> None:
    assert landed_cost(8, prep_cost=1.5) == 9.5
    assert landed_cost(paid=8, buying_share=2) == 10
    assert net_profit(*SALE, refund=None) == 12.5


@pytest.mark.parametrize(
    ("args", "named", "words"),
    [
        ((8,), {"tax": 1}, "LANDED_COST has no argument tax; it takes paid, purchase_tax"),
        ((8,), {"paid": 8}, "LANDED_COST: paid is given twice"),
    ],
)
def test_wrong_names(args: Any, named: Any, words: str) -> None:
    with pytest.raises(TypeError, match=words):
        landed_cost(*args, **named)


def test_a_needed_argument_is_missing() -> None:
    with pytest.raises(CellError, match="NET_PROFIT needs shipping"):
        net_profit(25, fee=3)


# Shapes.


@pytest.mark.parametrize(
    ("price", "shipping", "expected"),
    [
        ([20, 30], 4, [24, 34]),
        (20, [4, 5], [24, 25]),
        ([20, 30], [4, 5], [24, 35]),
        ([20, 30], [4], [24, 34]),
        ([[20], [30]], [[4, 5]], [[24, 25], [34, 35]]),
        ([[20, 30]], 4, [[24, 34]]),
        ([[20, 30], [40, 50]], [[4], [5]], [[24, 34], [45, 55]]),
        ([[20, 30], [40, 50]], [4, 5], [[24, 34], [45, 55]]),
        (np.array([[20.0], [30.0]]), [4, 5], [[24], [35]]),
        (((20,), (30,)), 4, [[24], [34]]),
        ([], 4, []),
        ([], [], []),
    ],
)
def test_cells_rows_columns_and_blocks_broadcast(price: Any, shipping: Any, expected: Any) -> None:
    assert net_profit(price, shipping, 0, 0, 0, 0).tolist() == expected


@pytest.mark.parametrize(
    ("args", "message"),
    [
        (([1, 2, 3], [1, 2]), "purchase_tax has 2 cells, paid has 3 cells; give ranges of the same size"),
        (([1, 2], [1, 2, 3]), "paid has 2 cells, purchase_tax has 3 cells; give ranges of the same size"),
        (
            ([[1, 2], [3, 4]], [[1, 2, 3]]),
            "purchase_tax has 1 row and 3 columns, paid has 2 rows and 2 columns; give ranges of the same size",
        ),
        (([[1, 2], [3]],), "paid: the rows of the range differ in length"),
        (([[1, 2], 3],), "paid: the rows of the range differ in length"),
        ((np.zeros((2, 2, 2)),), "paid: give a cell, a row, a column or a block"),
        ((np.zeros((2, 2, 2), object),), "paid: give a cell, a row, a column or a block"),
    ],
)
def test_shapes_that_do_not_fit(args: Any, message: str) -> None:
    error = only_error("LANDED_COST", *args)
    assert (error.code, error.message) == ("#VALUE!", message)


def test_ranges_that_do_not_fit() -> None:
    message = "quantities has 3 cells, values has 2 cells; give ranges of the same size"
    assert only_error("LOT_SHARE", 10, [1, 2], [1, 1, 1]).message == message


def test_one_cell_where_a_range_makes_no_sense() -> None:
    assert only_error("LOT_SHARE", [10, 20], [1, 2]).message == "lot_cost: give one cell, not a range"
    assert only_error("LOT_SHARE", [], [1, 2]).message == "lot_cost: give one cell, not a range"


@pytest.mark.parametrize("cost", [10, [10], [[10]], np.array([10]), pd.Series([10.0])], ids=repr)
def test_a_range_of_one_cell_is_a_cell(cost: Any) -> None:
    assert lot_share(cost, [3, 1]).tolist() == [7.5, 2.5]
    assert mix_break_even(cost, [5], [1]) in (2, [2])


def test_a_result_has_the_shape_of_its_range() -> None:
    assert lot_share(10, [[3, 1]]).tolist() == [[7.5, 2.5]]
    assert lot_share(10, [[3], [1]]).tolist() == [[7.5], [2.5]]
    assert lot_share(10, 5) == 10
    assert cells_of("LOT_SHARE", 10, [[3, None], [1, 1]]) == [[6, None], [2, 2]]
    assert cells_of("LOT_SHARE", None, [[None, None]]) == [[None, None]]


def test_whole_ranges_stand_in_any_direction() -> None:
    for limits, rates in (
        ([1000, 5000], [0.1, 0.05, 0.02]),
        ([[1000, 5000]], [[0.1, 0.05, 0.02]]),
        ([[1000], [5000]], [[0.1], [0.05], [0.02]]),
        ([[1000], [5000]], [[0.1, 0.05, 0.02]]),
    ):
        assert band_fee(6000, limits, rates) == 320


def test_rows_of_cells_for_hosts() -> None:
    assert cells_of("LANDED_COST", 8) == [[8.0]]
    assert cells_of("LANDED_COST", [8, 9]) == [[8.0], [9.0]]
    assert cells_of("LANDED_COST", [[8, 9]]) == [[8.0, 9.0]]
    assert cells_of("LANDED_COST", []) == []
    error = CellError("#REF!", "gone")
    assert failed(error).cells() == [[error]]
    for row in cells_of("LANDED_COST", np.array([8, 9])):
        assert [type(cell) for cell in row] == [float]


# What columns may be made of.


@pytest.mark.parametrize(
    "paid",
    [
        [8, 9],
        (8, 9),
        [8, 9.0],
        [Decimal(8), np.int64(9)],
        np.array([8, 9]),
        np.array([8, 9], np.uint8),
        np.array([8, 9], np.float32),
        np.array([8, 9], object),
        np.array([8.0, 9.0], ">f8"),
        np.array([0.0, 8.0, 1.0, 9.0])[1::2],
        pd.Series([8, 9]),
        pd.Series([8, 9], dtype="Int64"),
        pd.Series([8.0, 9.0], index=[5, 3]),
        pd.Series([8, 9], dtype="category"),
        pd.Index([8, 9]),
    ],
    ids=repr,
)
def test_columns(paid: Any) -> None:
    assert landed_cost(paid, 1).tolist() == [9, 10]


def test_a_data_frame_is_a_block() -> None:
    assert landed_cost(pd.DataFrame({"a": [8, 9], "b": [1, 2]}), 1).tolist() == [[9, 2], [10, 3]]


@pytest.mark.parametrize(
    "paid", [[8, None], [8, ""], [8, math.nan], np.array([8, math.nan]), pd.Series([8, None], dtype="Int64")], ids=repr
)
def test_blanks_in_columns(paid: Any) -> None:
    assert cells_of("LANDED_COST", paid, 1) == [[9.0], [None]]


@pytest.mark.parametrize(
    ("paid", "code", "words"),
    [
        (np.array(["8", "9,5"]), "#VALUE!", "write 9.5"),
        (np.array([True, False]), "#VALUE!", "FALSE is not a number"),
        (np.array([8, -9]), "#NUM!", "-9 is below 0"),
        (np.array([8, math.inf]), "#NUM!", "not a finite number"),
        ([8, math.inf], "#NUM!", "not a finite number"),
        ([8, 10**400], "#NUM!", "not a finite number"),
        (np.array([8, -math.inf]), "#NUM!", "not a finite number"),
        (pd.Series(["8", "x"], dtype="string"), "#VALUE!", "write a number"),
        (pd.Series(pd.to_datetime(["2026-03-30", "2026-03-31"])), "#VALUE!", "is a date"),
    ],
    ids=repr,
)
def test_bad_cells_in_columns(paid: Any, code: str, words: str) -> None:
    cell = cells_of("LANDED_COST", paid)[1][0]
    assert isinstance(cell, CellError)
    assert cell.code == code
    assert words in cell.message
    assert cell.message.startswith("paid: ")


def test_limits_hold_for_columns_as_for_cells() -> None:
    for rate in (-1e-9, 1.0000001):
        single = only_error("SELLING_FEE", 25, 0, rate, 0)
        assert cells_of("SELLING_FEE", 25, 0, np.array([0.1, rate]), 0)[1] == [single]
        assert cells_of("SELLING_FEE", 25, 0, [0.1, rate], 0)[1] == [single]
    assert selling_fee(25, 0, np.array([0.0, -0.0, 1.0]), 0).tolist() == [0, 0, 25]


# Blanks and errors by row.


def test_the_blank_rule_goes_row_by_row() -> None:
    column = [[None, None, None, None, None, None], [25, None, 3.5, 4.25, 0.75, 8], [25, 4, 3.5, 4.25, 0.75, 8]]
    (blank,), (missing,), (figure,) = cells_of("NET_PROFIT", *map(list, zip(*column, strict=True)))
    assert blank is None
    assert missing == CellError("#N/A", "shipping is blank; fill it in, or write 0 if there is none")
    assert figure == 12.5


def test_a_blank_cell_for_the_whole_column() -> None:
    cells = cells_of("NET_PROFIT", [25, None], None, [3, None], [4, None], [1, None], [8, None])
    assert cells[0][0].code == "#N/A"
    assert cells[1] == [None]


def test_an_error_cell_wins_over_a_blank_one() -> None:
    error = CellError("#DIV/0!", "elsewhere")
    assert only_error("NET_PROFIT", None, 4, error, 0, 0, 0) == error


def test_the_first_bad_argument_is_named() -> None:
    assert only_error("NET_PROFIT", -1, -2, 0, 0, 0, 0).message.startswith("price: -1")
    cells = cells_of("NET_PROFIT", [-1, 25], [-2, -2], 0, 0, 0, 0)
    assert [cell.message.split(":")[0] for (cell,) in cells] == ["price", "shipping"]


def test_one_error_cell_for_many_rows() -> None:
    error = CellError("#N/A", "elsewhere")
    assert cells_of("LANDED_COST", [1, 2], error) == [[error], [error]]
    assert cells_of("LANDED_COST", [[1, 2]], [[error], [5]]) == [[error, error], [6, 7]]


def test_a_bad_cell_in_a_range_is_told_by_its_place() -> None:
    error = only_error("BAND_FEE", 500, [1000], [0.1, "5%"])
    assert error.message == "cell 2 of the range rates: '5%' is not a number; write 0.05"
    error = only_error("LOT_SHARE", 500, [1, CellError("#REF!", "elsewhere"), -1])
    assert (error.code, error.message) == ("#REF!", "cell 2 of the range elsewhere")
    error = only_error("LOT_SHARE", "a lot", [1])
    assert error.message == "lot_cost: 'a lot' is not a number; write a number"


def test_conditions_across_arguments_go_row_by_row() -> None:
    cells = cells_of("MARGIN_OF_SAFETY", [20, 0], [14, 14])
    assert cells[0] == [pytest.approx(0.3)]
    assert cells[1][0].code == "#DIV/0!"
    with pytest.raises(CellError, match="actual: is 0"):
        margin_of_safety(0, 14)


def test_too_large_a_result_is_an_error() -> None:
    for cells in (cells_of("LANDED_COST", 1e308, 1e308), cells_of("LANDED_COST", [1e308], [1e308])):
        assert isinstance(cells[0][0], CellError)


# Kinds that no present function has, through the same way.


@pytest.fixture(scope="module")
def kinds_function() -> FunctionSpec:
    def kinds_probe(day: Date, count: Count, label: Text, mine: Flag = False) -> Money:  # type: ignore[assignment]
        """A function for the tests.

        Args:
            day: a date.
            count: a whole number.
            label: a text.
            mine: yes or no.
        Returns: money
        Shape: cell by cell
        Errors: none
        Formula: day + count
        Source: definition
        Examples: none
        """
        return day + count

    return _spec(kinds_probe, "Tests", None)


@pytest.mark.parametrize(
    "days",
    [
        [dt.date(2026, 3, 31), None],
        [dt.datetime(2026, 3, 31), None],
        np.array(["2026-03-31", "NaT"], "datetime64[D]"),
        np.array(["2026-03-31", "NaT"], "datetime64[s]"),
        np.array(["2026-03-31", "NaT"], "datetime64[ns]"),
        pd.Series(pd.to_datetime(["2026-03-31", None])),
        pd.Series([dt.date(2026, 3, 31), None], dtype=object),
        [46112, ""],
        np.array([46112, math.nan]),
    ],
    ids=repr,
)
def test_columns_of_dates(kinds_function: FunctionSpec, days: Any) -> None:
    cells = evaluate(kinds_function, [days, [2, None], ["a", None]]).cells()
    assert cells == [[46114.0], [None]]


def test_whole_numbers_texts_and_flags(kinds_function: FunctionSpec) -> None:
    cells = evaluate(kinds_function, [46112, [1, 1.5], ["vase", 12], ["yes", "no"]]).cells()
    assert cells[0] == [46113.0]
    assert cells[1][0].message == "count: 1.5 is not a whole number; round it"
    cells = evaluate(kinds_function, [46112, np.array([1.0, 1.5]), "vase", "perhaps"]).cells()
    assert [cell.message.split(":")[0] for (cell,) in cells] == ["mine", "count"]


def test_the_quick_way_leaves_whole_numbers_and_texts_to_the_general_one() -> None:
    def kinds_probe(count: Count, label: Text) -> Money:
        return count

    doc = "\n".join(f"{section}: x" for section in SECTIONS if section != "Args")
    kinds_probe.__doc__ = f"Help.\n\nArgs:\n    count: x\n    label: x\n{doc}"
    spec = _spec(kinds_probe, "Tests", None)
    for row in ([1.5, "a"], [2, "a"], [2.0, 3.0]):
        assert single_figure(spec, row) is MISSING
    assert evaluate(spec, [2.0, 3.0]).cells() == [[2.0]]
    assert evaluate(spec, [1.5, 3.0]).cells()[0][0].code == "#NUM!"

    def count_probe(count: Count) -> Money:
        return count

    count_probe.__doc__ = f"Help.\n\nArgs:\n    count: x\n{doc}"
    assert single_figure(_spec(count_probe, "Tests", None), [1.5]) is MISSING


def test_a_condition_outside_a_call_is_raised() -> None:
    with pytest.raises(CellError, match="too low"):
        refuse_where(np.array([False, True]), "#NUM!", "paid: too low")
    refuse_where(np.array([False, False]), "#NUM!", "paid: too low")
    with pytest.raises(CellError, match="too low"):
        refuse_where(True, "#NUM!", "paid: too low")


def test_an_outcome_for_python_and_for_hosts() -> None:
    outcome = Outcome(np.array([1.0, 2.0]), np.array([False, True]), {0: CellError("#NUM!", "x")})
    assert outcome.cells() == [[CellError("#NUM!", "x")], [None]]
    assert outcome.python().tolist() == [CellError("#NUM!", "x"), None]
    assert repr(MISSING) == "MISSING"


def _all_messages() -> Iterator[tuple[str, CellError]]:
    bad_cells = ["4,50", -1.0, 1e9, True, "  ", math.inf]
    for spec in REGISTRY.values():
        for place, argument in enumerate(spec.arguments):
            for bad in bad_cells:
                row = [[0.5, 0.5] if a.kind.takes_range else 0.5 for a in spec.arguments]
                row[place] = [bad, 0.5] if argument.kind.takes_range else bad
                for cells in evaluate(spec, row).cells():
                    for cell in cells:
                        if isinstance(cell, CellError):
                            yield argument.name, cell


def test_every_message_says_argument_and_next_step() -> None:
    seen = 0
    for name, error in _all_messages():
        argument, _, rest = error.message.removeprefix("cell 1 of the range ").partition(": ")
        seen += 1
        assert rest, error.message
        if argument == name:
            assert ";" in rest, error.message
    assert seen > 400


def test_an_empty_registry_has_nothing() -> None:
    assert dict(Registry()) == {}
