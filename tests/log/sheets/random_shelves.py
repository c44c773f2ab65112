"""Random entries for Shelf check, Buying plan, Comparables and Listing desk."""

from __future__ import annotations

import datetime as dt
import random
from typing import Any

from sheetfns.log.model.inputs import Inputs, Row
from tests.log.random_logs import AS_OF, CHANNELS

CONDITIONS = ("New", "Like new", "Good", "Worn", "For parts")
CATEGORIES = ("Electronics", "Games and toys", "Books", "cribs", "Lamps", "Kitchen")
MISSING = ("lid", "no box", "two items", "Brass")
WORDS = ("lamp", "brass", "blue", "wow", "vintage", "table lamp", "nice", "1960s", "Glas", "rare")
TEXTS = (
    ["{description}, {condition}", "Missing: {missing}"],
    ["{description}", "Weight {weight}, sides {sides}", "{item}"],
    ["Ask first.", "{category}: {description}"],
)


def _money(draw: random.Random, low: float, high: float) -> float:
    return draw.randint(int(low * 100), int(high * 100)) / 100


def _some(draw: random.Random, cells: dict[str, Any], share: float = 0.6) -> Row:
    return {key: cell for key, cell in cells.items() if draw.random() < share}


def _comparables(draw: random.Random, items: list[str], count: int) -> list[Row]:
    rows: list[Row] = []
    for _ in range(count):
        item = draw.choice(items)
        level = 8.0 + 3 * items.index(item)
        row: Row = {"item": item, "kind": draw.choice(("Sold", "Sold", "Sold", "Asked"))}
        wild = draw.random() < 0.08
        row["price"] = _money(draw, level, 1.8 * level) * (9 if wild else 1)
        row["price"] = round(row["price"], 2)
        row["seen_on"] = AS_OF - dt.timedelta(days=draw.randint(0, 900))
        row |= _some(
            draw,
            {
                "postage": _money(draw, 0, 9),
                "complete": draw.choice(("Yes", "No")),
                "condition": draw.choice(CONDITIONS),
                "seen_at": "a list",
            },
        )
        if "postage" in row:
            row |= _some(draw, {"postage_in": draw.choice(("Yes", "No"))})
        if not any(other["item"].casefold() == item.casefold() for other in rows):
            row |= _some(draw, {"my_condition": draw.choice(CONDITIONS), "missing_parts": _money(draw, 0, 6)})
        rows.append(row)
    return rows


def _plan(draw: random.Random, count: int) -> list[Row]:
    rows = []
    for number in range(1, count + 1):
        row: Row = {
            "item": f"Candidate {number}",
            "price_tag": _money(draw, 0, 20) if draw.random() < 0.9 else 0.0,
            "expected_price": _money(draw, 1, 60),
            "channel": draw.choice(CHANNELS)["name"],
            "days_to_sell": float(draw.randint(1, 120)),
        }
        row |= _some(draw, {"postage": _money(draw, 0, 9), "maximum": float(draw.randint(0, 4))}, share=0.5)
        rows.append(row)
    return rows


def with_shelves(inputs: Inputs, seed: int) -> Inputs:
    """The entries, and shelf, plan, comparables and desk with nothing that a check would fix."""
    draw = random.Random(seed)
    items = inputs.rows["Log"]
    numbers = [item["item_no"] for item in items]
    for item in items:
        more = _some(
            draw,
            {
                "category": draw.choice(CATEGORIES),
                "condition": draw.choice(CONDITIONS),
                "missing": draw.choice(MISSING),
                "packed_weight": _money(draw, 0.2, 20),
                "length": float(draw.randint(3, 25)),
                "width": float(draw.randint(3, 20)),
                "height": float(draw.randint(1, 15)),
            },
            share=0.7,
        )
        if "sold_on" in item:
            more |= _some(draw, {"scale_weight": float(draw.randint(1, 20)), "expected_postage": _money(draw, 2, 12)})
        item.update(more)
    named = [*draw.sample(numbers, min(5, len(numbers))), "own word"]
    inputs.settings |= {
        "Trip_cash": _money(draw, 0, 120),
        "Trip_reserve": _money(draw, 0, 15),
        "Plan_by": draw.choice(("Profit", "Profit per day")),
        "Target_profit": draw.choice((0, 2, 5, 12.5)),
        "Target_return": draw.choice((0, 0.5, 1, 2.5)),
        "Buying_tax_rate": draw.choice((0, 0.0725)),
        "Comp_half_life": draw.choice((1, 30, 90, 365)),
        "Comp_low_share": draw.choice((0, 0.1, 0.25, 0.5)),
        "Filling_rate": draw.choice((0, 0.1)),
        "Weight_allowance": draw.choice((0, 0.25)),
        "Cover_share": draw.choice((0.5, 0.9, 1)),
    }
    boxes = [
        {"name": f"Box {i}", "length": 6.0 * i, "width": 5.0 * i, "height": 4.25 * i, "weight": i / 4}
        for i in (1, 2, 3)
    ]
    inputs.blocks |= {
        "Channel": [row | _some(draw, {"title_limit": draw.randint(20, 90)}) for row in CHANNELS],
        "Box": boxes,
        "Service": [
            {"name": "Near", "rule": "Domestic mail"},
            {"name": "Far"},
            {"name": "Big", "rule": "Metric"},
        ],
        "Rule": [
            {"name": "Domestic mail", "from": dt.date(2020, 1, 1), "divisor": 166, "gate": 1728,
             "side_rounding": "nearest", "weight_step": 1},
            {"name": "Domestic mail", "from": dt.date(2026, 7, 12), "divisor": 139, "gate": 1728,
             "side_rounding": "up", "weight_step": 1},
            {"name": "Metric", "from": dt.date(2020, 1, 1), "divisor": 305},
        ],
        "Postage": [
            {"up_to": w, "no_1": 4 + w / 2, "no_2": 5 + w, "no_3": 6.5 + w}
            for w in (0.5, 1, 2, 5, 10, 20, 50, 100, 1000)
        ],
        "Text": [{"line": line} for line in draw.choice(TEXTS)],
    }  # fmt: skip
    inputs.rows["Comps"] = _comparables(draw, named, draw.randint(6, 60))
    inputs.rows["Plan"] = _plan(draw, draw.randint(1, 30))
    prices = {f"sold_{i}": _money(draw, 10, 40) for i in range(1, 6)}
    inputs.forms = {
        "Shelf": {
            **_some(draw, prices, draw.choice((0, 0.5, 1))),
            **_some(
                draw,
                {
                    "comps_of": draw.choice(named),
                    "postage_in": draw.choice(("Yes", "No")),
                    "missing_value": _money(draw, 0, 8),
                    "postage": _money(draw, 0, 9),
                    "channel": draw.choice(CHANNELS)["name"],
                    "price_tag": _money(draw, 0, 15),
                    "category": draw.choice(CATEGORIES),
                },
                0.8,
            ),
        },
        "Desk": {
            "item_no": draw.choice(named[:-1]),
            **_some(
                draw,
                {
                    "channel": draw.choice(CHANNELS)["name"],
                    "title": " ".join(draw.choices(WORDS, k=draw.randint(1, 9))),
                    "box": draw.choice(boxes)["name"],
                    "item_weight": _money(draw, 0.2, 9),
                    "service": draw.choice(("Near", "Far", "Big")),
                    "asking": _money(draw, 5, 60),
                },
            ),
            **{
                key: cell
                for i, word in enumerate(draw.sample(WORDS, 8), 1)
                for key, cell in ((f"keyword_{i}", word), (f"weight_{i}", float(draw.randint(1, 9))))
            },
        },
    }
    return inputs
