"""What the invented shop typed for its tax years: personal items, office, taxes, channels' reports."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Any, Final

from examples.shop.shelf import BOOTH, COLLECTORS, GENERAL
from sheetfns.functions.lots import lot_share
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.money import round_money

_REPORTED_YEAR: Final = 2025
_MOVES: Final = ((-1, "sold_on"), (1, "returned_on"), (-1, "disposition_date"))


def _things(ruth: str, martin: str) -> list[Row]:
    return [
        {
            "item": "Bicycle, ten gears",
            "whose": martin,
            "cost": 240,
            "channel": GENERAL,
            "sold_on": dt.date(2025, 10, 18),
            "sale_price": 95,
            "shipping_charged": 22,
            "tax_collected": 8.19,
            "selling_costs": 34.95,
        },
        {
            "item": "Camp chairs from the garage, pair",
            "whose": ruth,
            "cost": 36,
            "channel": BOOTH,
            "sold_on": dt.date(2026, 5, 9),
            "sale_price": 14,
            "selling_costs": 0.7,
        },
        {"item": "Sheet music cabinet", "whose": ruth, "cost": 45, "sold_on": dt.date(2026, 3, 21), "sale_price": 120},
        {"item": "Rowing machine", "whose": martin, "cost": 180, "channel": GENERAL},
    ]


def add_year(inputs: Inputs, ruth: str, martin: str) -> None:
    """Add personal items and the tables of tax years on Settings to the shop's entries."""
    inputs.rows["Personal"] = _things(ruth, martin)
    inputs.blocks["ByYear"] = [
        {"year": 2025, "filed_inventory": _inventory(inputs), "note": "From the return"},
        {"year": 2026, "area": 20, "months": 9, "note": "Shelf and packing table, months so far"},
    ]
    inputs.blocks["Taxes"] = [
        {"year": 2025, "partner": ruth, "wages": 21400, "rate": 0.12},
        {"year": 2025, "partner": martin, "wages": 34800, "rate": 0.16},
        {"year": 2026, "partner": ruth, "wages": 16500, "rate": 0.12, "paid": 50},
        {"year": 2026, "partner": martin, "wages": 26200, "rate": 0.16, "paid": 40},
    ]
    general = _sum(inputs, GENERAL, "sale_price", "shipping_charged", "tax_collected")
    collectors = _sum(inputs, COLLECTORS, "sale_price", "shipping_charged")
    refunds = _sum(inputs, COLLECTORS, "refund")
    # One report is as it should be; the other, it turns out, is of what was left after refunds.
    inputs.blocks["Reported"] = [
        {"year": _REPORTED_YEAR, "channel": GENERAL, "gross": float(general)},
        {"year": _REPORTED_YEAR, "channel": COLLECTORS, "gross": float(collectors - refunds)},
    ]


def _sum(inputs: Inputs, channel: str, *columns: str) -> Decimal:
    """What a channel took in the year, or paid back, personal items among it."""

    def counts(row: Row) -> bool:
        when: Any = row.get("sold_on")
        if columns == ("refund",):
            when = row.get("refunded_on", when)
        return row.get("channel") == channel and when is not None and when.year == _REPORTED_YEAR

    rows = [row for key in ("Log", "Personal") for row in inputs.rows[key] if counts(row)]
    return sum((Decimal(str(row.get(c, 0))) for row in rows for c in columns), Decimal(0))


def _inventory(inputs: Inputs) -> float:
    """Inventory at cost at the end of the year, as it went into the return."""
    last = dt.date(_REPORTED_YEAR, 12, 31)
    lots = {lot["lot_no"]: lot for lot in inputs.rows["Lots"]}
    shares: dict[str, Any] = {}
    for number, lot in lots.items():
        items = [row for row in inputs.rows["Log"] if row.get("lot_no") == number]
        cost = lot["paid"] + lot.get("purchase_tax", 0)
        parts = lot_share(cost, [row["expected_price"] for row in items])
        shares |= {row["item_no"]: part for row, part in zip(items, parts, strict=True)}

    def on_hand(row: Row) -> int:
        bought = lots[row["lot_no"]]["bought_on"] if "lot_no" in row else row["bought_on"]
        days = ((1, bought), *((sign, row.get(day)) for sign, day in _MOVES))
        return sum(sign for sign, day in days if day is not None and day <= last)

    costs = ("paid", "purchase_tax", "prep_cost")
    cost = sum(
        on_hand(row) * (sum(row.get(c, 0) for c in costs) + shares.get(row["item_no"], 0)) for row in inputs.rows["Log"]
    )
    return float(round_money(float(cost)))
