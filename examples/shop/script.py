"""What is settled before the invented shop is played: days, partners, terms, places, bills, incidents."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

from examples.shop.shelf import BOOTH, COLLECTORS, GENERAL
from sheetfns.log.sheets.words import DISCARDED, DONATED, PERSONAL_USE

FIRST_DAY: Final = dt.date(2025, 7, 1)
LAST_DAY: Final = dt.date(2026, 9, 30)
RUTH, MARTIN = "Ruth", "Martin"
PARTNERS: Final = (RUTH, MARTIN)
CASH_DIFFERENCES: Final = {dt.date(2025, 11, 30): -300, dt.date(2026, 5, 31): 175}
"""Cash counts that are meant to differ from the log, in cents: a short cash box and a miscount."""

SINGLES: Final = 132
"""Items bought one by one; lots, gifts and relisted items come on top."""
OPENING_CASH: Final = 6000
OPENING_PARTS: Final = (40, 20)
"""What each partner had of it."""
RESERVE: Final = 2000
"""Cash that is never spent on inventory or bills; a partner pays instead."""
KEPT: Final = 25000
"""Cash that stays in the shop before the partners take anything out."""
PURCHASE_TAX_RATE: Final = 0.07
ODD_TAX_RATE: Final = 0.08
"""Some buyers live where sales tax is higher: the fee on the statement is then a few cents more."""
STALE_DAYS: Final = 150
DEAR: Final = 6000
"""What is worth so much waits for its buyer; the rest is sold cheaply once it is stale."""
LEAST_PRICE: Final = 500
"""The booth sells nothing for less."""
DAYS_TO_SELL: Final = (3, 7, 13, 20, 29, 40, 54, 73, 100, 150, 220)
"""Deciles of the days from listing to sale."""

FEE_TERMS: Final[dict[str, dict[str, float]]] = {
    GENERAL: {"rate": 0.115, "per_order": 0.45, "tax_rate": 0.07, "band_limit": 100, "rate_above": 0.05},
    COLLECTORS: {"rate": 0.08, "per_order": 0.25, "minimum": 2.00, "ad_rate": 0.025},
    BOOTH: {"rate": 0.05, "per_order": 0, "maximum": 2.50},
}


@dataclass(frozen=True)
class Place:
    """Where inventory is found.

    `share` is what items cost there as a share of what they bring; `step` and `off` make prices
    of its kind: whole dollars, halves, or a cent under a half.
    """

    name: str
    tenths_of_miles: int
    weekdays: tuple[int, ...]
    share: tuple[float, float]
    step: int
    off: int
    categories: tuple[str, ...]
    taxed: bool = False


TUESDAY, WEDNESDAY, THURSDAY, FRIDAY, SATURDAY, SUNDAY = range(1, 7)
PLACES: Final = (
    Place(
        "Thrift shop, Mill Street",
        92,
        (TUESDAY, WEDNESDAY, THURSDAY, FRIDAY),
        (0.18, 0.34),
        50,
        1,
        ("Clothing", "Household", "Books", "Electronics", "Media"),
        taxed=True,
    ),
    Place(
        "Thrift shop, Canal Road",
        146,
        (TUESDAY, THURSDAY, FRIDAY),
        (0.16, 0.32),
        50,
        1,
        ("Clothing", "Household", "Sports", "Games and toys", "Media"),
        taxed=True,
    ),
    Place(
        "Church sale, parish hall",
        118,
        (SATURDAY,),
        (0.06, 0.18),
        50,
        0,
        ("Household", "Books", "Games and toys", "Clothing", "Media"),
    ),
    Place(
        "Yard sales, Orchard Lane",
        174,
        (SATURDAY, SUNDAY),
        (0.07, 0.20),
        100,
        0,
        ("Tools", "Sports", "Games and toys", "Household", "Electronics"),
    ),
    Place(
        "Estate auction, river barn",
        524,
        (FRIDAY,),
        (0.20, 0.34),
        100,
        0,
        ("Tools", "Other", "Household", "Electronics"),
    ),
    Place(
        "Flea market, fairground",
        335,
        (SUNDAY,),
        (0.15, 0.30),
        100,
        0,
        ("Other", "Tools", "Media", "Electronics", "Sports"),
    ),
    Place("Library book sale", 84, (THURSDAY,), (0.08, 0.18), 50, 0, ("Books", "Media")),
    Place(
        "Moving sale, Hillside",
        229,
        (SATURDAY, SUNDAY),
        (0.08, 0.22),
        100,
        0,
        ("Sports", "Electronics", "Other", "Tools"),
    ),
)
BY_NAME: Final = {place.name: place for place in PLACES}
MARKET: Final = ("Saturday market, town square", 96)

QUIET_WEEKS: Final = (dt.date(2025, 8, 4), dt.date(2025, 12, 22), dt.date(2025, 12, 29))
NO_MARKET: Final = ((2025, 7), (2026, 1), (2026, 2))
NOT_COUNTED: Final = ((2025, 12), (2026, 7))
PHONE: Final = ("Utilities", "Phone and internet, business share", 900, RUTH)
EXPENSES: Final = (
    ("2025-07-03", "Taxes and licenses", "Business license, first year", 3500, RUTH),
    ("2025-07-08", "Supplies and packaging", "Mailers and tape", 1380, ""),
    ("2025-07-24", "Office expense and postage", "Label sheets", 940, ""),
    ("2025-08-08", "Supplies and packaging", "Used boxes, bundle", 600, ""),
    ("2025-08-14", "Advertising", "Cards for the booth", 1850, MARTIN),
    ("2025-09-05", "Supplies and packaging", "Packing paper, tape", 1125, ""),
    ("2025-09-22", "Other expenses", "Magnifier and tape measure", 1340, ""),
    ("2025-10-02", "Supplies and packaging", "Mailers, three sizes", 1690, ""),
    ("2025-10-10", "Car: parking and tolls", "Bridge toll, auction", 350, ""),
    ("2025-10-20", "Office expense and postage", "Ink", 2195, ""),
    ("2025-11-06", "Supplies and packaging", "Boxes, 20", 2240, ""),
    ("2025-11-19", "Utilities", "Lamp and daylight bulb for photos", 1480, MARTIN),
    ("2025-12-01", "Other expenses", "Cash box short at the November count", 300, ""),
    ("2025-12-03", "Supplies and packaging", "Tape and record mailers", 1830, ""),
    ("2026-01-09", "Insurance", "Booth liability, one year", 4800, ""),
    ("2026-01-15", "Repairs and maintenance", "Feed roller for the label printer", 1260, ""),
    ("2026-01-27", "Supplies and packaging", "Cleaning cloths, metal polish", 1415, ""),
    ("2026-02-11", "Legal and professional", "Preparer, tax return of the shop", 8500, ""),
    ("2026-02-24", "Supplies and packaging", "Mailers and tape", 1570, ""),
    ("2026-03-05", "Office expense and postage", "Label sheets, pens", 1180, ""),
    ("2026-03-19", "Supplies and packaging", "Boxes, 25", 2675, ""),
    ("2026-03-27", "Advertising", "Notice on the town board, spring", 1200, ""),
    ("2026-04-08", "Commissions and fees", "Card reader, monthly statement", 415, ""),
    ("2026-04-22", "Supplies and packaging", "Tissue, foam sheets", 1305, ""),
    ("2026-05-04", "Taxes and licenses", "Market permit, season", 2500, ""),
    ("2026-05-09", "Commissions and fees", "Card reader, monthly statement", 380, ""),
    ("2026-05-20", "Supplies and packaging", "Mailers, tape", 1745, ""),
    ("2026-06-09", "Office expense and postage", "Ink", 2250, ""),
    ("2026-06-25", "Supplies and packaging", "Boxes, 25", 2725, ""),
    ("2026-07-02", "Taxes and licenses", "Business license, second year", 3500, ""),
    ("2026-07-14", "Rent: tables, booths, storage", "Storage shelf, quarter", 4500, ""),
    ("2026-07-22", "Supplies and packaging", "Tape, packing paper", 1290, ""),
    ("2026-08-12", "Repairs and maintenance", "Battery for the parcel scale", 595, ""),
    ("2026-08-20", "Travel", "Guest room, night before the auction", 5900, MARTIN),
    ("2026-08-21", "Car: parking and tolls", "Bridge toll and parking, auction", 700, ""),
    ("2026-08-22", "Contract labor", "Neighbor, hauling from the auction", 2000, ""),
    ("2026-09-03", "Supplies and packaging", "Mailers, boxes", 2460, ""),
    ("2026-09-17", "Advertising", "New sign for the booth", 2650, RUTH),
)
TABLE_FEE: Final = ("Rent: tables, booths, storage", "Table at the Saturday market", 1400)

PUT_IN: Final = (
    ("2025-07-01", RUTH, 12000, "Starting cash"),
    ("2025-07-01", MARTIN, 12000, "Starting cash"),
    ("2025-08-29", RUTH, 8000, "For the autumn auctions"),
)

FATES: Final = {
    9: DONATED,
    14: PERSONAL_USE,
    21: DISCARDED,
    27: DONATED,
    36: DISCARDED,
    41: PERSONAL_USE,
    47: DONATED,
    54: DISCARDED,
    60: DONATED,
    83: PERSONAL_USE,
}
"""What becomes of the items bought one by one that are never sold, by their order."""
INCIDENTS: Final = (
    (5, "part"),
    (13, "relisted"),
    (17, "part at once"),
    (22, "part next month"),
    (29, "lost"),
    (36, "back"),
    (43, "part"),
    (50, "relisted"),
    (57, "broken"),
    (64, "part next month"),
    (72, "part"),
)
"""From which sale by post on a refund happens, and its kind."""
ODD_TAX_SALES: Final = (6, 18, 30, 42)
"""From which sale on the general site on a buyer lives where tax is higher."""
COLLECTED: Final = {"Books": 0.7, "Electronics": 0.3, "Games and toys": 0.6, "Media": 0.8, "Other": 0.7, "Tools": 0.5}
"""How many of the items that go by post are offered to collectors."""
PREP: Final = {
    "Books": ((145, 260), 0.06),
    "Clothing": ((350, 725), 0.22),
    "Electronics": ((180, 640), 0.35),
    "Games and toys": ((110, 320), 0.12),
    "Household": ((120, 480), 0.16),
    "Media": ((95, 240), 0.10),
    "Sports": ((150, 520), 0.14),
    "Tools": ((125, 410), 0.25),
    "Other": ((160, 680), 0.20),
}
"""Prep cost in cents from and to, and how many items of the category have one."""
