"""Markup and margin as printed; the source stands at each check."""

from __future__ import annotations

import pytest

from sheetfns import contribution_margin, markup_rate, net_margin
from tests.published.printed import as_printed, exactly


def test_a_markup_of_18_percent_in_court() -> None:
    """US Tax Court memorandum 1998 (R): cost 100, price 118, gross profit 15.254%."""
    assert exactly(markup_rate(100, 118), 0.18)
    assert as_printed(100 * net_margin(contribution_margin(118, 100), 118), "15.254")


def test_testing_gross_profit() -> None:
    """IRS Publication 334, testing gross profit, 2008 edition (R)."""
    gross_profit = contribution_margin(300_000, 200_000)
    assert exactly(gross_profit, 100_000)
    assert exactly(net_margin(gross_profit, 300_000), 1 / 3)


@pytest.mark.parametrize(("margin", "markup"), [(0.20, 0.25), (0.50, 1.00)])
def test_a_margin_and_its_markup(margin: float, markup: float) -> None:
    """Definition: a margin of m is a markup of m / (1 - m)."""
    price, cost = 100, 100 * (1 - margin)
    assert exactly(net_margin(price - cost, price), margin)
    assert exactly(markup_rate(cost, price), markup)
    assert exactly(margin / (1 - margin), markup)
