"""Compound growth as printed; the source stands at each check."""

from __future__ import annotations

import pytest

from sheetfns import growth_odds, growth_path
from tests.published.printed import as_printed


@pytest.mark.parametrize(
    ("starting_cash", "rate", "periods", "printed"), [(5_000, 0.06, 3, "5,955.08"), (10_000, 0.10, 4, "14,641")]
)
def test_compound_interest(starting_cash: float, rate: float, periods: int, printed: str) -> None:
    """Compound interest as printed (R; the page was not noted); a period is a week and one turn."""
    last = growth_path(starting_cash, rate, 7, periods + 1).tolist()[-1]
    assert as_printed(last[0] + last[1], printed)
    items = 12
    history = [[100] * items, [100 * rate] * items, [7] * items, [True] * items]
    odds = growth_odds(*history, starting_cash, periods + 1, paths=100).tolist()[-1]
    assert all(as_printed(band, printed) for band in odds[1:4])
    # Opening inventory that sells within the week has grown once in week 1 already.
    last = growth_path(0, rate, 7, periods, opening_inventory=starting_cash).tolist()[-1]
    assert as_printed(last[0] + last[1], printed)
    odds = growth_odds(*history, 0, periods, opening_inventory=starting_cash, paths=100).tolist()[-1]
    assert all(as_printed(band, printed) for band in odds[1:4])
