"""Cost, volume and profit as worked out in print.

Source of all: Saylor Academy (2012), Managerial Accounting, chapter 6; status R. The section stands
at each check. The functions give exact quotients; the book rounds to whole items, up and down.
"""

from __future__ import annotations

import math

import pytest

from sheetfns import (
    break_even_sales,
    break_even_units,
    contribution_margin,
    margin_of_safety,
    mix_break_even,
    units_for_profit,
)
from tests.published.printed import as_printed, exactly


def test_one_product_6_1() -> None:
    margin = contribution_margin(250, 150)
    ratio = margin / 250
    assert exactly(margin, 100)
    assert exactly(ratio, 0.40)
    assert exactly(break_even_units(50_000, 250, 150), 500)
    assert exactly(break_even_sales(50_000, ratio), 125_000)
    assert exactly(units_for_profit(50_000, 30_000, 250, 150), 800)
    assert exactly(break_even_sales(50_000 + 30_000, ratio), 200_000)


def test_margin_of_safety_of_700_planned_items_6_1() -> None:
    share = margin_of_safety(700, break_even_units(50_000, 250, 150))
    assert exactly(share * 700, 200)
    assert exactly(share * 700 * 250, 50_000)


def test_a_second_product_6_1() -> None:
    ratio = contribution_margin(15, 2) / 15
    units = break_even_units(5_000, 15, 2)
    assert as_printed(units, "384.62")
    assert as_printed(break_even_sales(5_000, ratio), "5,769")
    assert as_printed(units_for_profit(5_000, 7_000, 15, 2), "923.08")
    assert as_printed(break_even_sales(5_000 + 7_000, ratio), "13,846")
    share = margin_of_safety(500, math.ceil(units))
    assert math.ceil(units) == 385, "the book goes on with whole items"
    assert exactly(share * 500, 115)
    assert exactly(share * 500 * 15, 1_725)


def test_two_products_6_2() -> None:
    margins, mix = [400, 150], [0.60, 0.40]
    assert exactly(mix_break_even(24_000, margins, mix), 80)
    assert exactly(24_000 / mix_break_even(24_000, margins, mix), 300)
    wanted = mix_break_even(24_000 + 96_000, margins, mix)
    assert exactly(wanted, 400)
    assert exactly(wanted * mix[0], 240)
    assert exactly(wanted * mix[1], 160)


def test_three_products_6_2() -> None:
    margins, mix = [150, 250, 800], [0.60, 0.30, 0.10]
    units = mix_break_even(5_000_000, margins, mix)
    assert exactly(5_000_000 / units, 245)
    assert as_printed(units, "20,408")
    assert all(
        as_printed(units * share, printed) for share, printed in zip(mix, ["12,245", "6,122", "2,041"], strict=True)
    )
    assert as_printed(mix_break_even(5_000_000 + 1_000_000, margins, mix), "24,490")


def test_three_departments_in_sales_6_2() -> None:
    ratios, sales = [0.70, 0.20, 0.50], [100_000, 150_000, 250_000]
    break_even = mix_break_even(120_000, ratios, sales)
    assert exactly(120_000 / break_even, 0.45)
    assert as_printed(break_even, "266,667")
    wanted = mix_break_even(120_000 + 250_000, ratios, sales)
    assert as_printed(wanted, "822,222")
    # The book subtracts the two printed figures.
    assert exactly(margin_of_safety(822_222, 266_667) * 822_222, 555_555)


@pytest.mark.parametrize(("fixed", "ratio", "printed"), [(300_000, 0.80, "375,000"), (50_000, 0.30, "166,667")])
def test_two_cost_structures_6_4(fixed: float, ratio: float, printed: str) -> None:
    assert as_printed(break_even_sales(fixed, ratio), printed)


@pytest.mark.parametrize(("after_tax", "before_tax", "units"), [(30_000, 37_500, 875), (50_000, 62_500, 1_125)])
def test_with_income_tax_of_20_percent_6_6(after_tax: float, before_tax: float, units: int) -> None:
    assert exactly(after_tax / (1 - 0.20), before_tax)
    assert exactly(units_for_profit(50_000, before_tax, 250, 150), units)
