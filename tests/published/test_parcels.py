"""Parcels by size, as published and as the published rules give them.

Status: R, read in a copy of the source; R2, read in a copy that cites the official document. Where
only the rule is published, the figures are worked out by hand from it, and it says so.
"""

from __future__ import annotations

import pytest

from sheetfns import billed_weight, length_girth
from sheetfns.tables import table_rows
from tests.published.printed import exactly

LIGHT = 1.0
GATE = 1_728


def test_length_and_girth() -> None:
    """5 x 8 x 12 inches are 38 inches: a published example, R."""
    assert exactly(length_girth(5, 8, 12), 38)


def test_a_divisor_of_6000_for_centimetres_and_kilograms() -> None:
    """30 x 45 x 65 cm / 6,000 = 14.625, billed as 15 kg: a published example, R."""
    assert exactly(billed_weight(LIGHT, 30, 45, 65, 6_000), 14.625)
    assert exactly(billed_weight(LIGHT, 30, 45, 65, 6_000, 0, "none", 1), 15)


@pytest.mark.parametrize(
    ("sides", "billed"),
    [
        ((12, 12, 12), (LIGHT, LIGHT, LIGHT)),  # 1,728, not over it
        ((12, 12, 13), (10, 12, 14)),  # 1,872: 9.65, 11.28, 13.47
        ((18, 14, 10), (13, 16, 19)),  # 2,520: 12.99, 15.18, 18.13
    ],
)
def test_whole_sides_under_three_divisors(
    sides: tuple[float, float, float], billed: tuple[float, float, float]
) -> None:
    """US Domestic Mail Manual: only over 1,728 cubic inches; divisors 194 and 166
    (R), 139 (91 FR 27837, R2). The examples are worked out by hand from the rules."""
    for divisor, rounding, pounds in zip((194, 166, 139), ("nearest", "nearest", "up"), billed, strict=True):
        assert exactly(billed_weight(LIGHT, *sides, divisor, GATE, rounding, 1), pounds)


def test_sides_rounded_to_the_nearest_and_up() -> None:
    """The same rules (166: R; 139: R2), worked out by hand: 20 x 15 x 10 = 3,000 / 166 = 18.07;
    21 x 15 x 10 = 3,150 / 139 = 22.66."""
    sides = (20.25, 14.5, 9.75)
    assert exactly(billed_weight(LIGHT, *sides, 166, GATE, "nearest", 1), 19)
    assert exactly(billed_weight(LIGHT, *sides, 139, GATE, "up", 1), 23)


@pytest.mark.parametrize(("day", "pounds"), [("2026-07-11", 19), ("2026-07-12", 23)])
def test_the_table_of_rules_gives_the_same(day: str, pounds: float) -> None:
    rules = [row for row in table_rows("parcel_rules") if row["rule"] == "Domestic mail"]
    rule = max((row for row in rules if row["valid_from"] <= day), key=lambda row: row["valid_from"])
    found = billed_weight(
        LIGHT,
        *(20.25, 14.5, 9.75),
        float(rule["divisor"]),
        float(rule["gate"]),
        rule["side_rounding"],
        float(rule["weight_step"]),
    )
    assert exactly(found, pounds)
