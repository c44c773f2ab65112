"""Reading cells: what counts, what is refused, and what the message tells a person to do."""

from __future__ import annotations

import datetime as dt
import math
from decimal import Decimal
from typing import Any

import numpy as np
import pandas as pd
import pytest

from sheetfns import cell_types as kinds
from sheetfns.cell_types import (
    COST,
    COUNT,
    DATE,
    FLAG,
    MONEY,
    RATE,
    TEXT,
    CellType,
    date_in_text,
    date_number,
    date_of_number,
    is_blank,
    number_in_text,
    numbers_in_text,
    read_cell,
    shown_cell,
)
from sheetfns.errors import CellError

ALL_KINDS = [kind for kind in vars(kinds).values() if isinstance(kind, CellType)]


def refused(kind: CellType, cell: Any) -> CellError:
    with pytest.raises(CellError) as caught:
        read_cell(kind, "paid", cell)
    return caught.value


@pytest.mark.parametrize(
    "cell", [None, "", math.nan, np.float64("nan"), np.float32("nan"), pd.NA, pd.NaT, np.datetime64("NaT")], ids=repr
)
def test_blank(cell: Any) -> None:
    assert is_blank(cell)


@pytest.mark.parametrize("cell", [0, 0.0, False, " ", "0", "#N/A", np.int64(0)], ids=repr)
def test_not_blank(cell: Any) -> None:
    assert not is_blank(cell)


@pytest.mark.parametrize(
    ("cell", "number"),
    [
        (4, 4.0),
        (4.5, 4.5),
        (-0.0, 0.0),
        (Decimal("4.50"), 4.5),
        (np.float32(4.5), 4.5),
        (np.float64(4.5), 4.5),
        (np.int64(4), 4.0),
        (np.uint8(4), 4.0),
        (10**15, 1e15),
    ],
    ids=repr,
)
def test_numbers(cell: Any, number: float) -> None:
    found = read_cell(MONEY, "paid", cell)
    assert type(found) is float
    assert found == number


@pytest.mark.parametrize(
    ("cell", "message"),
    [
        ("4,50", "paid: '4,50' is not a number; write 4.5"),
        ("$4.50", "paid: '$4.50' is not a number; write 4.5"),
        ("1.234,50", "paid: '1.234,50' is not a number; write 1234.5"),
        ("(3.20)", "paid: '(3.20)' is not a number; write -3.2"),
        ("-$3.20", "paid: '-$3.20' is not a number; write -3.2"),
        ("12", "paid: '12' is not a number; write 12"),
        ("1,234", "paid: '1,234' is not a number; write 1234 or 1.234"),
        ("about 5", "paid: 'about 5' is not a number; write a number"),
        ("  ", "paid: holds only spaces; clear the cell"),
        (True, "paid: TRUE is not a number; write a number"),
        (np.bool_(False), "paid: FALSE is not a number; write a number"),
        (dt.date(2026, 3, 31), "paid: 2026-03-31 is a date; write a number"),
        (dt.datetime(2026, 3, 31, 9, 30), "paid: 2026-03-31 09:30:00 is a date; write a number"),
        (dt.timedelta(hours=1), "paid: '1:00:00' is not a number; write a number"),
        (1 + 2j, "paid: '(1+2j)' is not a number; write a number"),
    ],
    ids=repr,
)
def test_what_is_no_number(cell: Any, message: str) -> None:
    error = refused(MONEY, cell)
    assert (error.code, error.message) == ("#VALUE!", message)


@pytest.mark.parametrize(
    ("kind", "cell", "message"),
    [
        (COST, -4.5, "paid: -4.5 is below 0; write 0 or more"),
        (RATE, 11.5, "paid: 11.5 is over 100%; write a percentage as 11.5% or 0.115"),
        (RATE, 40, "paid: 40 is over 100%; write a percentage as 40% or 0.4"),
        (RATE, -0.1, "paid: -0.1 is below 0; write 0% to 100%"),
        (COUNT, 2.5, "paid: 2.5 is not a whole number; round it"),
        (COUNT, -1, "paid: -1 is below 0; write 0 or more"),
        (MONEY, math.inf, "paid: not a finite number; check where it comes from"),
        (MONEY, -math.inf, "paid: not a finite number; check where it comes from"),
        (MONEY, 10**400, "paid: not a finite number; check where it comes from"),
        (MONEY, Decimal("1e999"), "paid: not a finite number; check where it comes from"),
    ],
    ids=repr,
)
def test_limits(kind: CellType, cell: Any, message: str) -> None:
    error = refused(kind, cell)
    assert (error.code, error.message) == ("#NUM!", message)


@pytest.mark.parametrize("kind", [kind for kind in ALL_KINDS if kind.holds == "number"], ids=lambda kind: kind.name)
def test_both_limits_belong_to_a_kind(kind: CellType) -> None:
    for limit in (kind.minimum, kind.maximum):
        if limit is None:
            continue
        assert read_cell(kind, "x", limit) == limit
        beyond = math.nextafter(limit, math.inf if limit == kind.maximum else -math.inf)
        assert refused(kind, beyond).code == "#NUM!"
    assert kind.in_words()
    assert kind.cell_format


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("4.50", 4.5),
        ("4,50", 4.5),
        ("4,5", 4.5),
        (",50", 0.5),
        (".5", 0.5),
        ("5.", 5),
        ("12", 12),
        ("$4.50", 4.5),
        ("$ 4.50", 4.5),
        ("4.50 $", 4.5),
        ("4,50 \u20ac", 4.5),
        ("USD 4.50", 4.5),
        ("4.50 EUR", 4.5),
        ("-4.50", -4.5),
        ("\u22124.50", -4.5),
        ("-$4.50", -4.5),
        ("$-4.50", -4.5),
        ("(3.20)", -3.2),
        ("($3.20)", -3.2),
        ("$(3.20)", -3.2),
        ("+3", 3),
        ("1,234.50", 1234.5),
        ("1.234,50", 1234.5),
        ("1 234,50", 1234.5),
        ("1\u00a0234,50", 1234.5),
        ("1\u202f234,50", 1234.5),
        ("1'234.50", 1234.5),
        ("1,234,567", 1234567),
        ("1.234.567", 1234567),
        ("1.234.567,89", 1234567.89),
        ("12,3456", 12.3456),
        ("1234,567", 1234.567),
        ("0,125", 0.125),
        ("1.234", 1.234),
        ("11.5%", 0.115),
        ("11,5 %", 0.115),
        ("  7 ", 7),
    ],
)
def test_a_number_that_was_meant(text: str, number: float) -> None:
    assert number_in_text(text) == number
    assert numbers_in_text(text) == [number]


@pytest.mark.parametrize(
    "text",
    [
        *("", "about 5", "5 or 6", "4 5", "1,2,3", "1.2,3.4", "1,23,456", "12.34.56", "1.234,567.8"),
        *("--5", "-", "$", "%", "1e5", "4.50.", "()", "-(3)", "5-6", "NaN", "inf", "2026-03-31"),
        *("1,,5", ",", "."),
    ],
)
def test_a_text_that_means_no_number_for_sure(text: str) -> None:
    assert number_in_text(text) is None
    assert numbers_in_text(text) == []


def test_a_comma_before_three_digits_can_mean_two_numbers() -> None:
    assert number_in_text("1,234") is None
    assert numbers_in_text("1,234") == [1234, 1.234]
    assert numbers_in_text("-$12,500") == [-12500, -12.5]


@pytest.mark.parametrize(
    "cell",
    [
        dt.date(2026, 3, 31),
        dt.datetime(2026, 3, 31),
        pd.Timestamp(2026, 3, 31),
        np.datetime64("2026-03-31"),
        np.datetime64("2026-03-31T00:00:00", "ns"),
        46112,
        46112.0,
    ],
    ids=repr,
)
def test_dates(cell: Any) -> None:
    assert read_cell(DATE, "sold_on", cell) == 46112
    assert date_of_number(46112.75) == dt.date(2026, 3, 31)


def test_a_time_of_day_is_a_part_of_a_day() -> None:
    noon = dt.datetime(2026, 3, 31, 12)
    assert date_number(noon) == 46112.5
    assert date_number(dt.date(1900, 3, 1)) == 61, "day 60 is the leap day that 1900 never had"


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("2026-03-31", "enter 2026-03-31 again, so the cell holds a date"),
        ("2026/3/31", "enter 2026-03-31 again"),
        ("2026-03-31T00:00:00", "enter 2026-03-31 again"),
        ("31.3.2026", "write 2026-03-31"),
        ("3/4/26", "write 2026-03-04 or 2026-04-03"),
        ("2026-02-30", "write year-month-day, such as 2026-03-31"),
        ("in spring", "write year-month-day, such as 2026-03-31"),
        (" ", "clear the cell"),
        (12, "12 is not a date"),
        (-5.0, "-5 is not a date"),
        (3e6, "3000000 is not a date"),
        (dt.date(1899, 1, 1), "is not a date"),
        (True, "TRUE"),
        (math.inf, "is not a date"),
    ],
    ids=repr,
)
def test_what_is_no_date(cell: Any, words: str) -> None:
    error = refused(DATE, cell)
    assert error.code == "#VALUE!"
    assert error.message.startswith("paid: ")
    assert words in error.message


def test_dates_in_text_are_in_one_order_only() -> None:
    assert date_in_text(" 2026.3.1 ") == dt.date(2026, 3, 1)
    assert date_in_text("3/1/2026") is None
    assert date_in_text("0000-01-01") is None


@pytest.mark.parametrize("cell", [True, 1, 1.0, np.int64(1), np.bool_(True), "yes", "Y", " x ", "TRUE"])
def test_yes(cell: Any) -> None:
    assert read_cell(FLAG, "mine", cell) is True


@pytest.mark.parametrize("cell", [False, 0, 0.0, "no", "N", "false", "0"])
def test_no(cell: Any) -> None:
    assert read_cell(FLAG, "mine", cell) is False


@pytest.mark.parametrize("cell", ["perhaps", 2, 0.5, " "], ids=repr)
def test_neither_yes_nor_no(cell: Any) -> None:
    error = refused(FLAG, cell)
    assert (error.code, error.message) == (
        "#VALUE!",
        f"paid: '{shown_cell(cell)}' is neither yes nor no; write yes or no",
    )


@pytest.mark.parametrize(("cell", "text"), [("blue vase", "blue vase"), (12.0, "12"), (0.1 + 0.2, "0.3"), (7, "7")])
def test_text(cell: Any, text: str) -> None:
    assert read_cell(TEXT, "description", cell) == text


@pytest.mark.parametrize("kind", ALL_KINDS, ids=lambda kind: kind.name)
def test_an_error_cell_stays_that_error(kind: CellType) -> None:
    error = CellError("#REF!", "elsewhere")
    assert refused(kind, error) is error


def test_a_long_cell_is_shown_short() -> None:
    error = refused(MONEY, "a very long story\nabout what was paid, and to whom, and why")
    assert error.message == ("paid: 'a very long story about what was paid...' is not a number; write a number")


def test_an_error_shows_its_code_and_is_a_value() -> None:
    error = CellError("#NUM!", "paid: too low")
    assert str(error) == "#NUM! paid: too low"
    assert repr(error) == "CellError('#NUM!', 'paid: too low')"
    assert error == CellError("#NUM!", "paid: too low")
    assert error != CellError("#NUM!", "paid: too high")
    assert error != "#NUM! paid: too low"
    assert len({error, CellError("#NUM!", "paid: too low")}) == 1
