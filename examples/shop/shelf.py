"""What the invented shop looks up, plans and is about to list, on top of its log.

Everything here is drawn from a generator of its own, so that the log stays as it was played.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from examples.shop.rng import Rng
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import COMP_ASKED, COMP_SOLD, NO, YES

GENERAL, COLLECTORS, BOOTH = "General site", "Collectors' site", "Saturday booth"
TITLE_LIMITS: Final = {GENERAL: 70, COLLECTORS: 60}
COMPARABLE_DAYS: Final = 200
"""How far back the partners look for sales."""
OFFER_DAYS: Final = 20
"""An offer that was seen longer ago may be gone."""
WORTH: Final = {"New": 1.0, "Like new": 0.9, "Good": 0.75, "Worn": 0.5, "For parts": 0.2}
OWN_CATEGORY: Final = "Kitchenware"


@dataclass(frozen=True)
class Parcel:
    """An item packed: pounds, and inches with the longest side first."""

    pounds: float
    sides: tuple[int, int, int]

    @property
    def bulky(self) -> bool:
        """Over a cubic foot, from where on parcel rules count volume."""
        return math.prod(self.sides) > _CUBIC_FOOT

    def fits(self, box: Row) -> bool:
        """Whether it goes into a box, turned as it may."""
        own = (box["length"], box["width"], box["height"])
        pairs = zip(sorted(self.sides), sorted(own), strict=True)
        return all(side <= inner for side, inner in pairs)


_CUBIC_FOOT: Final = 12**3
_SETTINGS: Final = {
    "Trip_cash": 95,
    "Trip_reserve": 20,
    "Target_profit": 6,
    "Target_return": 0.75,
    "Buying_tax_rate": 0.07,
    "Filling_rate": 0.08,
    "Weight_allowance": 0.1,
}
BOXES: Final[tuple[Row, ...]] = tuple(
    dict(zip(("name", "length", "width", "height", "weight"), row, strict=True))
    for row in (
        ("Flat mailer", 10, 8, 1, 0.1),
        ("Padded mailer", 13, 10, 3, 0.2),
        ("Record box", 14, 14, 2, 0.5),
        ("Small box", 12, 9, 6, 0.5),
        ("Medium box", 16, 13, 9, 1.1),
        ("Large box", 20, 14, 12, 1.7),
    )
)
_ZONES: Final = (("Ground, near zone", 395, 52), ("Ground, middle zone", 435, 78), ("Ground, far zone", 485, 115))
"""Name, cents of a parcel and cents of each pound."""
_STEPS: Final = (0.5, 1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30)

_PLAN: Final = (
    ("Dress patterns, uncut", 0.75, 9.00, 4.75, COLLECTORS, 8, 60),
    ("Enamel stockpot, 3 gallons", 9.00, 34.00, 10.40, GENERAL, 1, 25),
    ("Slide viewer, battery", 6.50, 25.00, 6.20, COLLECTORS, 1, 30),
    ("Ice cream freezer, hand crank", 18.00, 51.00, 14.20, GENERAL, 1, 35),
    ("Canning jars, glass lids", 2.00, 11.50, 7.60, GENERAL, 6, 40),
    ("Doctor's bag, leather", 36.00, 104.00, 9.90, COLLECTORS, 1, 75),
    ("Desk fan, brass blades", 27.50, 79.00, 14.80, GENERAL, 1, 30),
    ("Map puzzles, wood", 4.00, 16.00, 6.10, GENERAL, 2, 20),
    ("Opera glasses, brass", 15.00, 48.00, 5.60, COLLECTORS, 1, 45),
    ("Wool rug, 3 x 5 feet", 21.00, 44.00, 13.50, GENERAL, 1, 50),
    ("Paint box, walnut", 5.50, 21.00, 6.90, GENERAL, 1, 40),
    ("Milk crates, wood", 3.00, 12.00, None, BOOTH, 3, 14),
    ("Bread machine", 15.00, 19.00, 17.60, GENERAL, 1, 60),
    ("Porch bench, weathered", 22.00, 40.00, None, BOOTH, 1, 28),
)
SHELF_ITEM: Final = "Ice cream freezer, hand crank"
_SHELF: Final = {
    "sold_1": 59.00,
    "sold_2": 54.50,
    "sold_3": 198.00,
    "sold_4": 63.00,
    "sold_5": 57.00,
    "postage_in": NO,
    "missing_value": 7.00,
    "postage": 14.20,
    "channel": GENERAL,
    "price_tag": 18.00,
    "category": OWN_CATEGORY,
}

_SEARCHED: Final = {
    "Books": ("home library", "reading copy"),
    "Clothing": ("vintage accessory", "evening wear"),
    "Electronics": ("retro electronics", "workbench"),
    "Games and toys": ("classic toy", "family play"),
    "Household": ("farmhouse kitchen", "home decor"),
    "Media": ("collection", "home listening"),
    "Sports": ("outdoor gear", "cabin decor"),
    "Tools": ("hand tool", "workshop"),
    "Other": ("collectible", "curio cabinet"),
}
"""What buyers may type besides the item's name."""


@dataclass(frozen=True)
class _Item:
    """An item whose comparables were looked up; money in cents."""

    name: str
    value: int
    condition: str
    lacks: int
    sold: int
    asked: int
    wild: bool = False


_OWN_WORDS: Final = (
    _Item("Enamel stockpot", 3400, "Good", 0, 7, 2, wild=True),
    _Item("Slide viewer", 2500, "Good", 400, 6, 3),
)
_ROWS_OF_ITEM: Final = ((7, 3), (6, 2), (3, 2), (5, 4), (6, 2), (4, 1))
"""Sold and asked rows of the items of the log; the first is the one on Listing desk."""


def add_shelf(inputs: Inputs, seed: int, parcels: Mapping[str, Parcel]) -> None:
    """Add what the shop's log does not say: settings, comparables, plan, forms, billed weights.

    Args:
        entries: the shop as played; rows of its log get a billed weight, nothing else in them
            changes.
        seed: of draws that are apart from those of the shop.
        parcels: each item by its description, packed.
    """
    rng = Rng(seed)
    log = inputs.rows["Log"]
    as_of = inputs.settings["As_of_date"]
    inputs.settings |= _SETTINGS
    _fill_settings_tables(inputs)
    for row in log:
        _weigh(row, parcels[row["description"]], rng)
    items = _looked_up(log, parcels)
    inputs.rows["Comps"] = [row for item in (*_items(items), *_OWN_WORDS) for row in _comparables(item, as_of, rng)]
    keys = ("item", "price_tag", "expected_price", "postage", "channel", "maximum", "days_to_sell")
    inputs.rows["Plan"] = [
        {key: cell for key, cell in zip(keys, row, strict=True) if cell is not None} for row in _PLAN
    ]
    inputs.forms = {"Shelf": dict(_SHELF), "Desk": _desk(items[0], parcels[items[0]["description"]])}


def _fill_settings_tables(inputs: Inputs) -> None:
    for channel in inputs.blocks["Channel"]:
        if channel["name"] in TITLE_LIMITS:
            channel["title_limit"] = TITLE_LIMITS[channel["name"]]
    own = {"name": OWN_CATEGORY, "caution": "Household"}
    words = [words[0] for words in log_layout().block("Category").content]
    inputs.blocks |= {
        "Category": [*({"name": word} for word in words), own],
        "Condition": [{"name": name, "worth": worth} for name, worth in WORTH.items()],
        "Box": [dict(box) for box in BOXES],
        "Service": [{"name": name, "rule": "Domestic mail"} for name, _, _ in _ZONES],
        "Postage": [
            {
                "up_to": pounds,
                **{
                    f"no_{place}": _shaped(base + each * pounds, 5) / 100
                    for place, (_, base, each) in enumerate(_ZONES, 1)
                },
            }
            for pounds in _STEPS
        ],
    }


def _weigh(row: Row, parcel: Parcel, rng: Rng) -> None:
    """What the carrier's scale says; a bulky parcel's label counts volume and does not say it."""
    if "postage_paid" not in row or parcel.bulky:
        return
    scale = row["packed_weight"] * rng.between(0.93, 1.12)
    if rng.chance(0.9):
        row["scale_weight"] = round(scale, 1)


# ---- comparables ---------------------------------------------------------------------------------


def _looked_up(log: list[Row], parcels: Mapping[str, Parcel]) -> list[Row]:
    """The item that goes on Listing desk, then those of other categories listed longest.

    On the desk goes an item with something to say about it that a box holds, and best one that was
    not packed yet.
    """
    listed = sorted(
        (row for row in log if "listed_on" in row and not {"sold_on", "disposition"} & row.keys()),
        key=lambda row: row["listed_on"],
    )
    faulty = [row for row in listed if "missing" in row and _boxed(parcels[row["description"]])]
    desk = min(faulty, key=lambda row: sum(key in row for key in ("packed_weight", "length")))
    items = {desk["category"]: desk}
    for row in listed:
        if row["channel"] != BOOTH:
            items.setdefault(row["category"], row)
    return list(items.values())[: len(_ROWS_OF_ITEM)]


def _boxed(parcel: Parcel) -> bool:
    return not parcel.bulky and any(parcel.fits(box) for box in BOXES)


def _items(items: list[Row]) -> list[_Item]:
    found = []
    for place, (row, (sold, asked)) in enumerate(zip(items, _ROWS_OF_ITEM, strict=True)):
        value = int(100 * (row.get("expected_price") or row["asking_price"]))
        lacks = _shaped(value * 0.12, 50) if "missing" in row else 0
        wild = place == 0
        found.append(_Item(row["item_no"], value, row["condition"], lacks, sold, asked, wild))
    return found


def _comparables(item: _Item, as_of: dt.date, rng: Rng) -> list[Row]:
    """An item's rows by date; what holds for the shop's own item stands in the first."""
    rows = [_one_comparable(item, as_of, rng, COMP_SOLD) for _ in range(item.sold)]
    if item.wild:
        odd = rows[item.sold // 2]
        odd["price"] = _shaped(100 * odd["price"] * rng.between(3.2, 4.5), 50) / 100
    rows += [_one_comparable(item, as_of, rng, COMP_ASKED) for _ in range(item.asked)]
    rows.sort(key=lambda row: row["seen_on"])
    rows[0]["my_condition"] = item.condition
    if item.lacks:
        rows[0]["missing_parts"] = item.lacks / 100
    return rows


def _one_comparable(item: _Item, as_of: dt.date, rng: Rng, kind: str) -> Row:
    asked = kind == COMP_ASKED
    condition = rng.pick((item.condition, item.condition, "Like new", "Good", "Worn"))
    incomplete = bool(item.lacks) and rng.chance(0.35)
    whole = item.value + (0 if incomplete else item.lacks)
    spread = rng.between(1.0, 1.3) if asked else rng.between(0.87, 1.13)
    price = whole * WORTH[condition] / WORTH[item.condition] * spread
    postage = rng.whole(9, 22) * 50
    included = rng.chance(0.3)
    row: Row = {
        "item": item.name,
        "kind": kind,
        "price": _shaped(price + (postage if included else 0), 50) / 100,
        "condition": condition,
        "seen_on": as_of - dt.timedelta(rng.whole(0, OFFER_DAYS if asked else COMPARABLE_DAYS)),
        "seen_at": rng.pick((GENERAL, GENERAL, COLLECTORS)),
    }
    if included:
        row["postage_in"] = YES
    if included or asked:
        row["postage"] = postage / 100
    if incomplete:
        row["complete"] = NO
    return row


# ---- Listing desk --------------------------------------------------------------------------------


def _desk(item: Row, parcel: Parcel) -> Row:
    name, _, rest = item["description"].partition(", ")
    details = rest.split(", ") if rest else []
    keywords = [
        (name, 10),
        *((detail, 7) for detail in details),
        *((words, 5) for words in _SEARCHED[item["category"]]),
        # A filler word, so that the remarks on the title have something to say.
        ("great gift", 4),
        ("pre-owned", 3),
        ("from a small shop", 1),
    ]
    desk: Row = {
        "item_no": item["item_no"],
        "channel": GENERAL,
        "box": next(box["name"] for box in BOXES if parcel.fits(box)),
        "item_weight": round(parcel.pounds * 0.7, 2),
        "service": _ZONES[1][0],
    }
    for place, (keyword, weight) in enumerate(keywords, 1):
        desk |= {f"keyword_{place}": keyword, f"weight_{place}": weight}
    return desk


def _shaped(cents: float, step: int) -> int:
    """The nearest multiple of a step."""
    return int(cents / step + 0.5) * step
