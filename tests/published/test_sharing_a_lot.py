"""A joint price shared by value as printed; the source stands at each check."""

from __future__ import annotations

import pytest

from sheetfns import lot_share

MANAGERIAL = "Saylor Academy (2012), Managerial Accounting, chapter 7, appendix (R)"
FINANCIAL = "Saylor Academy, Financial Accounting, chapter 10 (R)"
DEFINITION = "definition of the largest remainder"


@pytest.mark.parametrize(
    ("source", "cost", "values", "printed"),
    [
        (MANAGERIAL, 250_000, [240_000, 60_000], [200_000, 50_000]),
        (MANAGERIAL, 4_000, [2_400, 3_500], [1_627.12, 2_372.88]),
        (FINANCIAL, 5_030_000, [4_500_000, 1_500_000], [3_772_500, 1_257_500]),
        (DEFINITION, 100.00, [1, 1, 1], [33.34, 33.33, 33.33]),
    ],
)
def test_by_value(source: str, cost: float, values: list[float], printed: list[float]) -> None:
    assert lot_share(cost, values).tolist() == printed, source
