"""Federal taxes of a US sole proprietor as published; the source stands at each check.

An aid to record keeping, not tax advice: have a licensed preparer check. Nothing is known here of 2027.
"""

from __future__ import annotations

import datetime as dt

import pytest

from sheetfns import (
    CellError,
    contribution_margin,
    cost_of_goods_sold,
    estimated_tax,
    home_office_simple,
    mileage_deduction,
    self_employment_tax,
)
from sheetfns.tables import figure_on
from tests.published.printed import exactly

NOT_PUBLISHED = 2027


@pytest.mark.parametrize(
    ("source", "first", "last", "cents"),
    [
        ("IRS standard mileage rate 2018 (R2)", "2018-01-01", "2018-12-31", 54.5),
        ("IRS standard mileage rate 2019 (R2)", "2019-01-01", "2019-12-31", 58),
        ("IRS standard mileage rate 2020 (R2)", "2020-01-01", "2020-12-31", 57.5),
        ("IRS standard mileage rate 2021 (R2)", "2021-01-01", "2021-12-31", 56),
        ("IRS standard mileage rate 2022 (R2)", "2022-01-01", "2022-06-30", 58.5),
        ("IRS standard mileage rate from 1 July 2022 (R2)", "2022-07-01", "2022-12-31", 62.5),
        ("IRS standard mileage rate 2023 (R2)", "2023-01-01", "2023-12-31", 65.5),
        ("IRS standard mileage rate 2024 (R2)", "2024-01-01", "2024-12-31", 67),
        ("IRS Notice 2025-05 (R2)", "2025-01-01", "2025-12-31", 70),
        ("IRS Notice 2026-10 (R)", "2026-01-01", "2026-06-30", 72.5),
        ("IRS Announcement 2026-11 (R2)", "2026-07-01", "2026-12-31", 76),
    ],
)
def test_the_rate_per_mile(source: str, first: str, last: str, cents: float) -> None:
    for day in (first, last):
        assert exactly(mileage_deduction([dt.date.fromisoformat(day)], [100]), cents), source


@pytest.mark.parametrize(
    ("source", "trips", "amount"),
    [
        ("Notice 2026-10 (R)", {"2026-06-30": 1000}, 725.00),
        ("Announcement 2026-11 (R2)", {"2026-09-10": 1000}, 760.00),
        ("both rates of 2022 (R2)", {"2022-06-30": 500, "2022-07-01": 500}, 605.00),
    ],
)
def test_trips(source: str, trips: dict[str, float], amount: float) -> None:
    days = [dt.date.fromisoformat(day) for day in trips]
    assert mileage_deduction(days, list(trips.values())) == amount, source


@pytest.mark.parametrize(
    ("year", "base"),
    [
        (2018, 128_400),
        (2019, 132_900),
        (2020, 137_700),
        (2021, 142_800),
        (2022, 147_000),
        (2023, 160_200),
        (2024, 168_600),
        (2025, 176_100),
        (2026, 184_500),
    ],
)
def test_the_wage_base(year: int, base: float) -> None:
    """Social Security Administration, contribution and benefit base (R)."""
    assert figure_on("Wage base", dt.date(year, 1, 1)) == base
    assert figure_on("Wage base", dt.date(year, 12, 31)) == base


@pytest.mark.parametrize(
    ("profit", "year", "tax"),
    [
        (50_000, 2026, 7_064.78),
        (100_000, 2025, 14_129.55),
        (200_000, 2026, 28_234.30),
        (10_000, 2026, 1_412.96),
        (433.13, 2026, 0),
        (433.14, 2026, 61.20),
    ],
)
def test_self_employment_tax(profit: float, year: int, tax: float) -> None:
    """Rates and steps of Schedule SE (R2), the wage base (R); the results are worked out by hand."""
    assert self_employment_tax(profit, year) == tax


def test_both_parts_of_self_employment_tax() -> None:
    """Schedule SE (R2): 50,000 in 2026 is 46,175.00 of earnings, 5,725.70 and 1,339.08; 10,000 is 1,145.14
    and 267.815, half up. With wages over the base only the second part is left."""
    assert self_employment_tax(50_000, 2026, 184_500) == 1_339.08
    assert exactly(self_employment_tax(50_000, 2026) - 1_339.08, 5_725.70)
    assert self_employment_tax(10_000, 2026, 184_500) == 267.82
    assert exactly(self_employment_tax(10_000, 2026) - 267.82, 1_145.14)


@pytest.mark.parametrize(
    ("figure", "value"),
    [
        ("Net earnings share", 0.9235),
        ("Minimum net earnings", 400),
        ("Social security rate", 0.124),
        ("Medicare rate", 0.029),
        ("Deductible share", 0.5),
    ],
)
def test_the_figures_of_self_employment_tax(figure: str, value: float) -> None:
    """Schedule SE (Form 1040) (R2)."""
    assert figure_on(figure, dt.date(2026, 12, 31)) == value


@pytest.mark.parametrize(("square_feet", "amount"), [(120, 600), (300, 1_500), (450, 1_500)])
def test_a_home_office(square_feet: float, amount: float) -> None:
    """IRS, simple method: 5 a square foot, at most 300 (R2)."""
    assert home_office_simple(square_feet, 12, 2026) == amount


@pytest.mark.parametrize(("income", "minimum"), [(0, 9_000), (150_000, 9_000), (160_000, 9_900)])
def test_estimated_tax(income: float, minimum: float) -> None:
    """IRS, estimated tax (R2): the lesser of 90% of this year's tax and 100% of last year's, 110% with
    an income over 150,000; 12,000 and 9,000."""
    assert estimated_tax(12_000, 9_000, 2026, income) == minimum


@pytest.mark.parametrize(
    ("source", "figure", "year", "value"),
    [
        ("IRC 471(c), figure for 2025 (R)", "Receipts test", 2025, 31_000_000),
        ("IRC 471(c), figure for 2026 (R2)", "Receipts test", 2026, 32_000_000),
        ("Form 1099-K from 2025 (R)", "Reported gross over", 2025, 20_000),
        ("Form 1099-K from 2025 (R)", "Reported sales over", 2026, 200),
    ],
)
def test_thresholds(source: str, figure: str, year: int, value: float) -> None:
    assert figure_on(figure, dt.date(year, 12, 31)) == value, source


def test_the_illustration_of_cost_of_goods_sold() -> None:
    """IRS Publication 334, 2016 edition, chapter 7 (R)."""
    net_receipts = contribution_margin(400_000, 14_940)
    assert exactly(net_receipts, 385_060)
    # With no closing inventory all that was bought, or was available, counts as sold.
    assert exactly(cost_of_goods_sold(0, 285_900, 2_650, 0), 283_250)
    assert exactly(cost_of_goods_sold(37_845, 285_900, 2_650, 0), 321_095)
    sold = cost_of_goods_sold(37_845, 285_900, 2_650, 32_955)
    assert exactly(sold, 288_140)
    assert exactly(contribution_margin(net_receipts, sold), 96_920)


def test_nothing_is_published_for_2027() -> None:
    """The wage base (R) and rate per mile (R, R2) of 2027 had not been published: an error, no guess."""
    for call in (
        lambda: self_employment_tax(50_000, NOT_PUBLISHED),
        lambda: mileage_deduction([dt.date(NOT_PUBLISHED, 1, 1)], [10]),
        lambda: home_office_simple(120, 12, NOT_PUBLISHED),
        lambda: estimated_tax(12_000, 9_000, NOT_PUBLISHED),
    ):
        with pytest.raises(CellError) as caught:
            call()
        assert caught.value.code == "#N/A"
        assert str(NOT_PUBLISHED) in caught.value.message
