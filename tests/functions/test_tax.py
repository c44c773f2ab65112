"""Figures for the tax return: sums that agree, an independent computation, and tables of one's own."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from sheetfns import (
    CellError,
    cost_of_goods_sold,
    estimated_tax,
    home_office_simple,
    mileage_deduction,
    receipts_gap,
    self_employment_tax,
    tax_set_aside,
    year_totals,
)
from sheetfns.cell_types import date_number
from sheetfns.functions.tax import GAP_ALTERNATIVES, LESS_REPORTED, MORE_REPORTED
from sheetfns.tables import dated_figures

# The tables' figures once more, exact and by hand: what is computed with them must not come from them.
BASES = {2018: 128_400, 2023: 160_200, 2024: 168_600, 2025: 176_100, 2026: 184_500}
SHARE, LEAST = Fraction(9_235, 10_000), 400
SOCIAL_SECURITY, MEDICARE = Fraction(124, 1000), Fraction(29, 1000)
MILE_RATES = {(2025, 1): "0.70", (2025, 7): "0.70", (2026, 1): "0.725", (2026, 7): "0.76"}

cents = st.integers(0, 50_000_000)
"""Amounts up to 500,000."""


def half_up(amount: Fraction) -> int:
    """Whole cents of an amount in cents that is not below 0."""
    return int(amount + Fraction(1, 2))


def in_cents(amount: float) -> int:
    """A result is whole cents: the nearest float, and no other."""
    whole = round(amount * 100)
    assert amount == whole / 100
    return whole


def day(year: int, month: int, of_month: int) -> float:
    return date_number(dt.date(year, month, of_month))


def exact_self_employment(profit: int, year: int, wages: int) -> int:
    """Schedule SE in cents, with fractions."""
    earnings = Fraction(max(profit, 0)) * SHARE
    if earnings < LEAST * 100:
        return 0
    room = max(0, BASES[year] * 100 - wages)
    return half_up(min(earnings, Fraction(room)) * SOCIAL_SECURITY) + half_up(earnings * MEDICARE)


near_the_base = st.sampled_from(sorted(BASES.values())).flatmap(
    lambda base: st.integers(base * 100 - 1_000, base * 100 + 1_000)
)
profits = st.integers(-1_000_000, 50_000_000) | near_the_base | st.integers(43_000, 43_500)


@given(st.lists(st.tuples(profits, st.sampled_from(sorted(BASES)), cents | near_the_base)))
def test_self_employment_tax_in_fractions(rows: list[tuple[int, int, int]]) -> None:
    exact = [exact_self_employment(*row) for row in rows]
    single = [self_employment_tax(profit / 100, year, wages / 100) for profit, year, wages in rows]
    assert list(map(in_cents, single)) == exact
    if rows:
        profit, years, wages = (np.array(column, float) for column in zip(*rows, strict=True))
        column = self_employment_tax(profit / 100, years, wages / 100)
        assert column.tolist() == single


def test_half_cents_go_up() -> None:
    """Every 5,000 one of the two parts ends in half a cent, as 10,000 x 0.9235 x 0.029 = 267.815 does."""
    halves = 0
    for profit in range(2_500, 2_000_000, 2_500):
        earnings = profit * 100 * SHARE
        ends = {earnings * rate % 1 for rate in (SOCIAL_SECURITY, MEDICARE)}
        halves += Fraction(1, 2) in ends
        exact = exact_self_employment(profit * 100, 2026, 0)
        assert in_cents(self_employment_tax(profit, 2026)) == exact, profit
    assert halves > 400


def exact_total(profit: int, year: int, rate: int, wages: int) -> int:
    tax = exact_self_employment(profit, year, wages)
    income = max(Fraction(0), profit - Fraction(tax, 2))
    return half_up(tax + Fraction(rate, 10_000) * income)


@given(profits, st.sampled_from([2024, 2025, 2026]), st.integers(0, 10_000), cents, cents)
def test_four_payments_and_their_sum(profit: int, year: int, rate: int, wages: int, paid: int) -> None:
    (held_back, nothing), *payments = tax_set_aside(profit / 100, year, rate / 10_000, wages / 100, paid / 100).tolist()
    assert nothing is None
    total = exact_total(profit, year, rate, wages)
    open_parts = [in_cents(part) for part, _ in payments]
    assert in_cents(held_back) == max(0, total - paid) == sum(open_parts)
    parts = [total // 4 + (number < total % 4) for number in range(4)]
    for number, part in enumerate(open_parts):
        covered = min(parts[number], max(0, paid - sum(parts[:number])))
        assert part == parts[number] - covered, "the earliest payments are covered first"
    due = [when for _, when in payments]
    assert due == sorted(due)
    assert due == [row.value for row in dated_figures("estimated_due") if row.valid_from.year == year]


@given(profits, st.integers(0, 10_000), cents)
def test_what_is_paid_in_part_cents_is_taken_to_the_cent(profit: int, rate: int, paid: int) -> None:
    whole, parted = (
        tax_set_aside(profit / 100, 2026, rate / 10_000, already_paid=(paid + more) / 100).tolist() for more in (0, 0.4)
    )
    assert parted == whole


def exact_trip(when: dt.date, tenths: int) -> int:
    rate = Fraction(MILE_RATES[when.year, 1 if when.month < 7 else 7])
    return half_up(Fraction(tenths, 10) * rate * 100)


trips = st.lists(
    st.tuples(st.dates(dt.date(2025, 1, 1), dt.date(2026, 12, 31)), st.integers(0, 20_000)), min_size=1, max_size=30
)


@given(trips)
def test_mileage_is_the_sum_of_its_rows(rows: list[tuple[dt.date, int]]) -> None:
    days, miles = [when for when, _ in rows], [tenths / 10 for _, tenths in rows]
    by_row = [in_cents(mileage_deduction([when], [far])) for when, far in zip(days, miles, strict=True)]
    assert by_row == [exact_trip(*row) for row in rows]
    assert in_cents(mileage_deduction(days, miles)) == sum(by_row)
    own = [[row.valid_from, row.valid_until, row.value] for row in dated_figures("mileage")]
    assert mileage_deduction(days, miles, own) == mileage_deduction(days, miles)
    assert mileage_deduction(days[::-1], miles[::-1]) == mileage_deduction(days, miles)


lines = st.sampled_from(["8", "16b", "27a", "Ads", "ads", 8, " 8", "1"])
inputs = st.lists(
    st.tuples(st.dates(dt.date(2024, 6, 1), dt.date(2027, 6, 1)), st.integers(-10_000_000, 10_000_000), lines),
    min_size=1,
    max_size=40,
)


@given(inputs)
def test_lines_add_up_to_the_whole(rows: list[tuple[dt.date, int, Any]]) -> None:
    days, amounts, named = (list(column) for column in zip(*rows, strict=True))
    money = [amount / 100 for amount in amounts]
    whole = 0
    for year in range(2024, 2028):
        found = year_totals(year, days, money, named).tolist()
        keys = [None if line is None else line.casefold() for line, _ in found]
        assert len(set(keys)) == len(keys)
        in_year = [row for row in rows if row[0].year == year]
        wanted: dict[str, int] = {}
        for _, amount, line in in_year:
            key = str(line).strip().casefold()
            wanted[key] = wanted.get(key, 0) + amount
        totals = {key: in_cents(total) for key, (_, total) in zip(keys, found, strict=True)}
        assert totals == (wanted or {None: 0})
        numbered = [key for key in ("1", "8", "16b", "27a", "ads") if key in wanted]
        assert keys == (numbered or [None])
        whole += sum(totals.values())
    assert whole == sum(amounts)


@given(inputs, st.randoms(use_true_random=False))
def test_the_order_of_rows_makes_no_difference(rows: list[tuple[dt.date, int, Any]], chance: Any) -> None:
    """Amounts in tenths of a cent: binary sums would differ by the order."""

    def totals(of: list[tuple[dt.date, int, Any]]) -> list[Any]:
        days, amounts, named = (list(column) for column in zip(*of, strict=True))
        found = year_totals(2026, days, [amount / 1000 for amount in amounts], named).tolist()
        return [total for _, total in found]

    shuffled = rows.copy()
    chance.shuffle(shuffled)
    assert totals(shuffled) == totals(rows)


parts = st.integers(0, 3_000) | st.just(0)


@given(cents, parts, parts, parts, st.sampled_from(GAP_ALTERNATIVES))
def test_a_gap_of_parts_of_the_log_is_explained(
    price: int, shipping: int, tax: int, refunds: int, alternative: tuple[str, bool, bool, bool]
) -> None:
    amounts = (shipping, tax, refunds)
    words, *used = alternative
    reported = price + shipping + tax - sum(a for a, of in zip(amounts, used, strict=True) if of)
    assume(reported >= 0)
    ((gap, gross, receipts, remark),) = receipts_gap(*(amount / 100 for amount in (reported, price, *amounts))).tolist()
    assert in_cents(gross) == price + shipping + tax
    assert in_cents(receipts) == price + shipping
    assert in_cents(gap) == reported - price - shipping - tax
    fitting = [
        text
        for text, *mask in GAP_ALTERNATIVES
        if in_cents(gap) == -sum(a for a, of in zip(amounts, mask, strict=True) if of)
    ]
    assert remark == fitting[0]
    assert words in fitting


@given(cents, cents, parts, parts, parts)
def test_what_is_reported_is_the_log_and_the_gap(
    reported: int, price: int, shipping: int, tax: int, refunds: int
) -> None:
    ((gap, gross, receipts, remark),) = receipts_gap(
        *(amount / 100 for amount in (reported, price, shipping, tax, refunds))
    ).tolist()
    assert in_cents(gap) + in_cents(gross) == reported
    assert in_cents(gross) - in_cents(receipts) == tax
    known = {words for words, *_ in GAP_ALTERNATIVES}
    amount = f"{Fraction(abs(in_cents(gap)), 100).__float__():,.2f}"
    assert remark in known | {f"{amount} {MORE_REPORTED if gap > 0 else LESS_REPORTED}"}
    assert gap <= 0 or remark not in known


@given(st.lists(st.integers(0, 10_000_000), min_size=7, max_size=7))
def test_goods_sold_and_left_are_what_there_was(amounts: list[int]) -> None:
    opening, purchases, personal_use, closing, *more = (amount / 100 for amount in amounts)
    sold = cost_of_goods_sold(opening, purchases, personal_use, closing, *more)
    assert sold + closing + personal_use == pytest.approx(opening + purchases + sum(more), abs=1e-6)


@given(cents, cents, st.integers(0, 30_000_000), st.sampled_from([2025, 2026]))
def test_what_to_pay_in_by_fractions(this: int, last: int, income: int, year: int) -> None:
    share = Fraction(11, 10) if income > 15_000_000 else Fraction(1)
    minimum = min(Fraction(9, 10) * this, share * last)
    found = estimated_tax(this / 100, last / 100, year, income / 100)
    assert in_cents(found) == half_up(minimum)


@given(st.integers(0, 6_000), st.integers(0, 12), st.integers(2018, 2026))
def test_a_home_office_by_fractions(tenths: int, months: int, year: int) -> None:
    exact = min(Fraction(tenths, 10), Fraction(300)) * 500 * months / 12
    assert in_cents(home_office_simple(tenths / 10, months, year)) == half_up(exact)


# Tables of one's own.

SPAN = [day(2026, 1, 1), day(2026, 12, 31)]
OWN = [
    ["figure", "from", "until", "value"],
    *([row.figure, row.valid_from, row.valid_until, row.value] for row in dated_figures()),
]


@given(profits, cents, st.integers(0, 10_000), cents)
def test_own_figures_that_are_the_packages_give_the_same(profit: int, wages: int, rate: int, paid: int) -> None:
    given_cells = (profit / 100, 2026, rate / 10_000, wages / 100, paid / 100)
    due = [
        [year, *(row.value for row in dated_figures("estimated_due") if row.valid_from.year == year)]
        for year in (2025, 2026)
    ]
    assert tax_set_aside(*given_cells, OWN, due).tolist() == tax_set_aside(*given_cells).tolist()
    assert self_employment_tax(profit / 100, 2026, wages / 100, OWN) == self_employment_tax(
        profit / 100, 2026, wages / 100
    )
    assert home_office_simple(rate / 10, figures=OWN) == home_office_simple(rate / 10)
    assert estimated_tax(paid / 100, wages / 100, 2026, 0, OWN) == estimated_tax(paid / 100, wages / 100, 2026)


def message(function: Any, *args: Any, **named: Any) -> str:
    with pytest.raises(CellError) as caught:
        function(*args, **named)
    assert caught.value.code == "#N/A"
    return caught.value.message


def test_what_is_missing_is_named() -> None:
    published = "add it when it is published"
    assert message(self_employment_tax, 50_000, 2027) == (
        f"year: table wage_base has no Wage base for 2027; {published}"
    )
    assert message(self_employment_tax, 50_000, 2027, 0, OWN) == (f"figures: no Wage base for 2027; {published}")
    twice = [*OWN, [" WAGE base", *SPAN, 1]]
    assert message(self_employment_tax, 50_000, 2026, 0, twice) == (
        "figures: Wage base is duplicated for 2026; keep one row"
    )
    assert message(tax_set_aside, 50_000, 2022, 0.1) == (
        f"year: table estimated_due has no Payment 1 for 2022; {published}"
    )
    assert message(tax_set_aside, 50_000, 2026, 0.1, due_dates=[[2025, *range(46_000, 46_004)]]) == (
        f"due_dates: no row for 2026; {published}"
    )
    trip = [dt.date(2027, 1, 5)]
    assert message(mileage_deduction, trip, [10]) == (
        f"dates: row 1: table mileage has no Rate per mile for 2027-01-05; {published}"
    )
    assert message(mileage_deduction, trip, [10], [[*SPAN, 0.7]]) == (
        f"rates: no rate for 2027-01-05, the date in row 1 of dates; {published}"
    )


def test_rows_that_lack_something_are_named() -> None:
    days = [day(2026, 3, 1), None, None, day(2026, 3, 2)]
    assert message(mileage_deduction, days, [5, None, 7, 8]) == ("dates: row 3 has miles and no date; fill it in")
    assert message(mileage_deduction, days, [5, None, None, None]) == (
        "miles: row 4 has a date and no miles; fill it in"
    )
    assert message(year_totals, 2026, days, [5, None, 12.5, 8], ["8"] * 4) == (
        "dates: row 3 has an amount (12.5) and no date; fill it in"
    )
    assert message(year_totals, 2026, days, [5, None, None, 8], ["8", "8", "8", None]) == (
        "lines: row 4 has an amount (8) and no line; fill it in"
    )
    assert message(mileage_deduction, days, [5, None, None, 8], [[*SPAN, 0.7], [None, 1, 2]]) == (
        "rates: row 2 has no first day; fill it in"
    )


def test_a_year_without_figures_spoils_no_other_row() -> None:
    found = self_employment_tax([50_000, 50_000, None, "x", 10_000], [2026, 2027, None, 2026, 2025])
    assert found[0] == 7_064.78
    assert found[1].message == ("year: table wage_base has no Wage base for 2027; add it when it is published")
    assert found[2] is None
    assert found[3].code == "#VALUE!"
    assert found[4] == 1_412.96


def test_a_bad_table_is_an_error_in_each_row_that_needs_it() -> None:
    found = self_employment_tax([50_000, None, -1], [2026, None, 2025], 0, [["Wage base", *SPAN]])
    assert found[1] is None
    wanted = "figures: too narrow; give four columns: name, from, until, value"
    assert [found[0].message, found[2].message] == [wanted] * 2
    rate_only = [["Home office rate", *SPAN, 5]]
    found = home_office_simple([120, None], figures=rate_only)
    assert found[0].message.startswith("figures: no Home office limit for 2026")
    assert found[1] is None
    found = home_office_simple([120, 100], year=[None, 2026], figures=[["Wage base", *SPAN, 5]])
    assert [cell.message for cell in found] == [
        "figures: no Home office rate; add it",
        "figures: no Home office rate for 2026; add it when it is published",
    ]


def test_a_figure_that_changes_within_a_year_holds_as_on_its_last_day() -> None:
    own = [
        ["Home office rate", day(2026, 1, 1), day(2026, 6, 30), 5],
        ["Home office rate", day(2026, 7, 1), day(2026, 12, 31), 6],
        ["Home office limit", *SPAN, 300],
    ]
    assert home_office_simple(100, 12, 2026, own) == 600
    own[1][2] = day(2026, 12, 30)
    assert message(home_office_simple, 100, 12, 2026, own).startswith("figures: no Home office rate for 2026")


def test_sums_beyond_all_numbers_are_errors() -> None:
    huge = [1.7e308] * 3
    for function, args in (
        (year_totals, (2026, [SPAN[0]] * 3, huge, ["8"] * 3)),
        (mileage_deduction, ([SPAN[0]] * 3, huge)),
        (tax_set_aside, (1.7e308, 2026, 0.5)),
    ):
        with pytest.raises(CellError) as caught:
            function(*args)
        assert caught.value.code == "#NUM!"
