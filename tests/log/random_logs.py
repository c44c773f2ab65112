"""Random logs of any size and mix of states, for tests and benchmarks."""

from __future__ import annotations

import datetime as dt
import random
from typing import Any

from sheetfns.log.model.inputs import Inputs, Row

FIRST = dt.date(2025, 7, 1)
DAYS = 450
AS_OF = FIRST + dt.timedelta(days=DAYS + 60)
PARTNERS = ("Ada", "Bo")
CHANNELS: list[Row] = [
    {"name": "Booth"},
    {"name": "First site", "rate": 0.115, "per_order": 0.45, "tax_rate": 0.08, "band_limit": 60,
     "rate_above": 0.05, "ad_rate": 0.02},
    {"name": "Second site", "rate": 0.1, "per_order": 0.3, "minimum": 0.5, "maximum": 7.5},
]  # fmt: skip
HEADINGS = ("Advertising", "Other expenses", "Supplies and packaging")


def _day(draw: random.Random, start: dt.date, maximum: int = 90) -> dt.date:
    return min(start + dt.timedelta(days=draw.randint(0, maximum)), FIRST + dt.timedelta(days=DAYS))


def _money(draw: random.Random, low: float, high: float) -> float:
    return round(draw.uniform(low, high) * 100) / 100


def _item(draw: random.Random, number: int, lots: list[Row]) -> Row:
    item: Row = {"item_no": f"P{number:05d}", "description": f"Item {number}"}
    bought = FIRST + dt.timedelta(days=draw.randint(0, DAYS - 120))
    if lots and draw.random() < 0.2:
        lot = draw.choice(lots)
        item |= {"lot_no": lot["lot_no"], "expected_price": _money(draw, 1, 50)}
        bought = lot["bought_on"]
    else:
        item |= {"bought_on": bought, "paid": _money(draw, 0, 30)}
        if draw.random() < 0.5:
            item["expected_price"] = _money(draw, 5, 60)
    if draw.random() < 0.3:
        item["paid_from"] = draw.choice((*PARTNERS, "Business"))
    if draw.random() < 0.3:
        item["purchase_tax" if "paid" in item else "prep_cost"] = _money(draw, 0, 3)
    if draw.random() < 0.2:
        item |= {"expected_postage": _money(draw, 2, 9), "postage_payer": "Buyer"}
    if draw.random() < 0.8:
        listed = _day(draw, bought, 20)
        item |= {"channel": draw.choice(CHANNELS)["name"], "listed_on": listed, "asking_price": _money(draw, 5, 90)}
        if draw.random() < 0.7:
            _sale(draw, item, listed)
    if "sold_on" not in item and draw.random() < 0.15:
        how = draw.choice(("Personal use", "Donated", "Discarded"))
        item |= {"disposition": how, "disposition_date": _day(draw, bought)}
    return item


def _sale(draw: random.Random, item: Row, listed: dt.date) -> None:
    sold = _day(draw, listed)
    item |= {"sold_on": sold, "sale_price": _money(draw, 3, 90), "postage_paid": _money(draw, 3, 12)}
    optional: dict[str, Any] = {
        "shipping_charged": _money(draw, 0, 9),
        "tax_collected": _money(draw, 0, 7),
        "packaging": _money(draw, 0, 2),
        "fee_charged": _money(draw, 0, 9),
    }
    item |= {key: value for key, value in optional.items() if draw.random() < 0.4}
    if draw.random() < 0.12:
        whole = round(item["sale_price"] + item.get("shipping_charged", 0), 2)
        in_full = draw.random() < 0.5
        item["refund"] = whole if in_full else _money(draw, 0, whole)
        back = _day(draw, sold, 30)
        if draw.random() < 0.5:
            item["refunded_on"] = back
        if in_full and draw.random() < 0.6:
            item["returned_on"] = back
            if draw.random() < 0.5:
                item |= {
                    "disposition": draw.choice(("Personal use", "Discarded")),
                    "disposition_date": _day(draw, back),
                }


def _own_thing(draw: random.Random, number: int) -> Row:
    thing: Row = {"item": f"Own thing {number}", "whose": draw.choice(PARTNERS), "cost": _money(draw, 0, 60)}
    if draw.random() < 0.8:
        thing |= {
            "channel": draw.choice(CHANNELS)["name"],
            "sold_on": _day(draw, FIRST, DAYS),
            "sale_price": _money(draw, 1, 80),
            "shipping_charged": _money(draw, 0, 9),
            "tax_collected": _money(draw, 0, 5),
            "selling_costs": _money(draw, 0, 12),
        }
    return thing


def _tax_tables(draw: random.Random) -> dict[str, list[Row]]:
    """What is typed for each tax year."""
    years = (2025, 2026)
    return {
        "ByYear": [{"year": year, "area": draw.randint(0, 400), "months": draw.randint(1, 12)} for year in years],
        "Taxes": [
            {
                "year": year,
                "partner": name,
                "wages": _money(draw, 0, 200_000),
                "rate": draw.randint(0, 3_000) / 10_000,
                "paid": _money(draw, 0, 300),
            }
            for year in years
            for name in PARTNERS
        ],
        "Reported": [
            {"year": year, "channel": channel["name"], "gross": _money(draw, 0, 5_000)}
            for year in years
            for channel in CHANNELS[1:]
        ],
    }


def random_entries(seed: int, items: int) -> Inputs:
    """A log in which every state of an item occurs, with nothing that a check would fix."""
    draw = random.Random(seed)
    lots: list[Row] = []
    for number in range(1, max(1, items // 30) + 1):
        lot = {
            "lot_no": f"L{number:04d}",
            "bought_on": FIRST + dt.timedelta(days=draw.randint(0, DAYS - 120)),
            "paid": _money(draw, 1, 80),
            "paid_from": draw.choice((*PARTNERS, "Business")),
        }
        if draw.random() < 0.5:
            lot["purchase_tax"] = _money(draw, 0, 5)
        lots.append(lot)
    others = max(3, items // 10)
    inputs = Inputs(
        settings={
            "First_month": FIRST,
            "As_of_date": AS_OF,
            "Tax_year": 2026,
            "Opening_cash": 500.0,
            "Usual_packaging": 0.85,
        },
        blocks={"Partner": [{"name": name, "share": 0.5} for name in PARTNERS], "Channel": CHANNELS},
        rows={
            "Log": [_item(draw, number, lots) for number in range(1, items + 1)],
            "Lots": lots,
            "Expenses": [
                {
                    "spent_on": _day(draw, FIRST, DAYS),
                    "heading": draw.choice(HEADINGS),
                    "amount": _money(draw, 1, 40),
                    "paid_from": draw.choice((*PARTNERS, "Business")),
                }
                for _ in range(others)
            ],
            "Trips": [
                {
                    "driven_on": _day(draw, FIRST, DAYS),
                    "purpose": "Buying",
                    "from_place": "Home",
                    "to_place": "Thrift shop",
                    "miles": draw.randint(1, 600) / 10,
                }
                for _ in range(others)
            ],
            "Owner": [
                {
                    "moved_on": _day(draw, FIRST, DAYS),
                    "partner": draw.choice(PARTNERS),
                    draw.choice(("put_in", "took_out")): _money(draw, 1, 200),
                }
                for _ in range(max(2, items // 50))
            ],
        },
    )
    # Drawn last, so that the other draws of a seed stay as they are.
    inputs.rows["Personal"] = [_own_thing(draw, number) for number in range(1, max(2, others // 4))]
    inputs.blocks |= _tax_tables(draw)
    return inputs
