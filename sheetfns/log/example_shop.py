"""An invented two-person shop: fifteen months of a log, made from a seed, the same every time.

The shop is played day by day: sales and refunds come in, then bills, then a buying round with what
the cash allows. Amounts are whole cents until they are written into a row. The cash follows the
rules of sheet Money, so that the counts on Owner money agree with the log but for two meant ones.
"""

from __future__ import annotations

import calendar
import datetime as dt
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from typing import Final

from sheetfns.functions.fees import selling_fee
from sheetfns.functions.lots import lot_share
from sheetfns.log.example_dice import Dice
from sheetfns.log.example_shelf import COLLECTORS, GENERAL, STALL, Parcel, add_shelf
from sheetfns.log.example_year import add_year
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.sheets.words import BUSINESS, BUYER, DISCARDED, DONATED, OWN_USE, RELISTED, RETURNED_PIECE, SELLER
from sheetfns.money import round_money

FIRST_DAY: Final = dt.date(2025, 7, 1)
LAST_DAY: Final = dt.date(2026, 9, 30)
RUTH, MARTIN = "Ruth", "Martin"
PARTNERS: Final = (RUTH, MARTIN)
CASH_DIFFERENCES: Final = {dt.date(2025, 11, 30): -300, dt.date(2026, 5, 31): 175}
"""Cash counts that are meant to differ from the log, in cents: a short cash box and a miscount."""

SINGLES: Final = 132
"""Pieces bought one by one; lots, gifts and relisted pieces come on top."""
OPENING_CASH: Final = 6000
OPENING_PARTS: Final = (40, 20)
"""What each partner had of it."""
RESERVE: Final = 2000
"""Cash that is never spent on stock or bills; a partner pays instead."""
KEPT: Final = 25000
"""Cash that stays in the shop before the partners take anything out."""
PURCHASE_TAX_RATE: Final = 0.07
ODD_TAX_RATE: Final = 0.08
"""Some buyers live where sales tax is higher: the fee on the statement is then a few cents more."""
STALE_DAYS: Final = 150
DEAR: Final = 6000
"""What is worth so much waits for its buyer; the rest is sold cheaply once it is stale."""
LEAST_PRICE: Final = 500
"""The stall sells nothing for less."""
DAYS_TO_SELL: Final = (3, 7, 13, 20, 29, 40, 54, 73, 100, 150, 220)
"""Deciles of the days from listing to sale."""

_FEE_TERMS: Final[dict[str, dict[str, float]]] = {
    GENERAL: {"rate": 0.115, "per_order": 0.45, "tax_rate": 0.07, "band_limit": 100, "rate_above": 0.05},
    COLLECTORS: {"rate": 0.08, "per_order": 0.25, "least": 2.00, "ad_rate": 0.025},
    STALL: {"rate": 0.05, "per_order": 0, "most": 2.50},
}


@dataclass(frozen=True)
class _Good:
    """A kind of piece; value in whole money, weight in pounds, sides in inches."""

    category: str
    description: str
    value: int
    pounds: float
    sides: tuple[int, int, int]
    fault: str = ""


def _goods(category: str, *rows: tuple[str, int, float, tuple[int, int, int], str]) -> list[_Good]:
    return [_Good(category, *row) for row in rows]


GOODS: Final = (
    *_goods(
        "Books",
        ("Cookbook, regional, spiral bound", 16, 1.4, (9, 7, 1), "stains on some pages"),
        ("Field guide to birds, 1960s, cloth", 18, 1.1, (8, 5, 1), "fold-out map missing"),
        ("Atlas, large, 1950s", 42, 5.5, (17, 12, 2), "spine loose"),
        ("Sewing manual with patterns", 22, 2.0, (11, 9, 1), "two patterns missing"),
        ("Woodworking handbook, two volumes", 38, 4.8, (11, 9, 3), ""),
        ("Picture books for children, set of 6", 24, 3.1, (11, 9, 2), "one cover torn"),
        ("Poetry, leather bound, pocket size", 28, 0.7, (7, 5, 1), ""),
        ("Railway history with photographs", 34, 3.2, (11, 9, 1), "dust jacket torn"),
        ("Chess openings, hardback", 19, 1.3, (9, 6, 1), ""),
        ("Garden encyclopedia, illustrated", 26, 4.4, (11, 9, 2), "previous owner's name"),
        ("Sheet music, piano, bundle of 20", 21, 2.6, (12, 9, 2), "pencil marks"),
        ("Physics textbook, hardback", 45, 4.1, (11, 9, 2), ""),
        ("Mystery novels, 8 paperbacks", 20, 2.7, (8, 7, 5), ""),
        ("Fishing almanac, 1930s", 55, 0.8, (8, 6, 1), "brown spots on some pages"),
        ("Car repair manual, shop copy", 32, 2.9, (11, 9, 2), "oily fingerprints"),
        ("Town history, signed and numbered", 64, 2.2, (10, 7, 1), ""),
    ),
    *_goods(
        "Clothing",
        ("Wool overcoat, gray, size 42", 68, 4.6, (16, 13, 5), "lining torn at the pocket"),
        ("Denim jacket, lined, M", 38, 2.6, (14, 11, 4), "one button missing"),
        ("Leather work boots, size 10", 54, 4.4, (14, 12, 5), "soles worn"),
        ("Silk scarf, hand rolled", 24, 0.4, (9, 7, 1), "small pull"),
        ("Rain jacket, hooded, L", 32, 1.6, (13, 10, 3), ""),
        ("Wool sweater, cable knit, M", 34, 1.9, (13, 11, 3), "moth hole at the cuff"),
        ("Linen shirt, L", 19, 0.8, (12, 9, 1), ""),
        ("Corduroy trousers, 34 x 32", 22, 1.5, (13, 10, 2), ""),
        ("Down vest, S", 36, 1.2, (13, 11, 4), "zip stiff"),
        ("Evening dress, velvet, size 8", 48, 2.1, (14, 11, 3), "hem let down"),
        ("Felt hat, brown, 7 1/4", 29, 1.3, (14, 12, 7), "band faded"),
        ("Leather belt, tooled", 17, 0.9, (9, 7, 2), ""),
        ("Ski pants, M", 33, 1.9, (14, 11, 3), ""),
        ("Tweed jacket, size 40", 58, 2.8, (15, 12, 4), "one elbow patch loose"),
        ("Apron dress, cotton, M", 21, 1.0, (12, 9, 2), ""),
        ("Leather handbag, black", 62, 2.2, (14, 11, 6), "strap scuffed"),
        ("Riding boots, tall, size 9", 84, 5.2, (20, 13, 5), "one heel worn"),
    ),
    *_goods(
        "Electronics",
        ("Table radio, tubes, wood case", 78, 11.5, (18, 12, 11), "hums when warm"),
        ("Cassette recorder, portable", 36, 4.2, (14, 10, 5), "door latch weak"),
        ("Film camera, 35 mm, with 50 mm lens", 95, 2.8, (9, 8, 7), "light meter dead"),
        ("Slide projector with tray", 64, 12.4, (16, 14, 9), "spare lamp missing"),
        ("Desk calculator with paper roll", 29, 4.6, (14, 11, 6), ""),
        ("Turntable, belt drive", 110, 14.5, (21, 18, 9), "dust cover cracked"),
        ("Stereo amplifier, two channels", 135, 19.0, (21, 18, 10), "one channel crackles"),
        ("Headphones, over ear", 48, 1.4, (10, 9, 5), "ear pads worn"),
        ("Shortwave receiver, portable", 88, 5.4, (15, 11, 6), ""),
        ("Clock radio, flip digits", 57, 4.1, (14, 9, 7), "one digit sticks"),
        ("Darkroom timer", 31, 3.3, (10, 9, 7), ""),
        ("Multimeter, needle, with case", 26, 1.9, (9, 7, 4), "test leads missing"),
        ("Graphing calculator", 42, 0.9, (9, 6, 2), "battery cover missing"),
        ("Video recorder, tape", 52, 11.0, (19, 16, 7), "remote missing"),
        ("Microphone, dynamic, with cable", 58, 2.1, (11, 8, 4), ""),
        ("Speakers for a shelf, pair", 120, 17.5, (20, 15, 12), "one grille dented"),
        ("Light meter, needle", 33, 0.8, (6, 5, 3), ""),
    ),
    *_goods(
        "Games and toys",
        ("Wooden chess set, weighted", 46, 4.4, (16, 9, 5), "one pawn replaced"),
        ("Wooden building blocks, 80", 27, 6.2, (13, 11, 6), ""),
        ("Model train, engine and 4 cars", 98, 5.1, (18, 10, 5), "one coupler broken"),
        ("Jigsaw puzzle, 1000 pieces", 17, 2.1, (13, 10, 3), ""),
        ("Strategy board game, boxed", 34, 3.8, (14, 12, 4), "two tokens missing"),
        ("Dollhouse furniture, 14 pieces", 44, 2.3, (11, 9, 5), "one chair leg glued"),
        ("Tin car with clockwork", 52, 1.1, (9, 6, 5), "key missing"),
        ("Backgammon case", 31, 3.9, (17, 11, 4), ""),
        ("Pull-along train, wood", 23, 2.4, (15, 7, 6), ""),
        ("Marbles, jar of 200", 19, 4.2, (8, 8, 9), ""),
        ("Hand puppets, set of 5", 26, 1.6, (13, 10, 5), ""),
        ("Card game, boxed, 1970s", 15, 0.9, (9, 6, 2), "rules missing"),
        ("Slot car track with 2 cars", 87, 8.4, (22, 16, 5), "one controller stiff"),
        ("Dominoes, bone colored, in box", 24, 1.8, (9, 5, 3), ""),
        ("Kite, two lines, with bag", 28, 1.2, (24, 5, 4), ""),
        ("Teddy bear, mohair, jointed", 76, 1.9, (16, 10, 8), "one eye loose"),
        ("Metal construction set in case", 66, 7.3, (17, 12, 4), "some screws missing"),
    ),
    *_goods(
        "Household",
        ("Enamel coffee pot, blue", 28, 2.6, (11, 10, 9), "lid missing"),
        ("Cast iron skillet, 10 inch", 38, 6.4, (17, 12, 4), "rust spots"),
        ("Copper saucepan, tin lined", 72, 4.6, (15, 9, 7), "tin worn thin"),
        ("Stoneware crock, 2 gallons", 54, 14.0, (13, 13, 13), "hairline at the rim"),
        ("Pressed glass bowls, set of 6", 33, 6.8, (14, 12, 8), "one chip"),
        ("Wall clock, wind-up", 86, 9.8, (24, 14, 8), "key missing"),
        ("Table lamp, brass", 42, 6.9, (19, 11, 11), "shade missing"),
        ("Wool blanket, striped", 58, 4.8, (16, 13, 6), "moth hole"),
        ("Bread box, tin", 24, 4.3, (16, 12, 9), ""),
        ("Coffee grinder, hand, wood", 46, 3.4, (11, 8, 8), "drawer knob missing"),
        ("Kitchen scale with brass pans", 49, 8.7, (16, 11, 11), "one weight missing"),
        ("Cake stand, glass", 27, 5.0, (14, 14, 8), ""),
        ("Quilt, hand stitched, double", 120, 6.6, (18, 15, 8), "binding worn"),
        ("Tea set, porcelain, 15 pieces", 68, 11.2, (18, 15, 11), "one cup cracked"),
        ("Sewing basket with thread", 23, 3.0, (13, 11, 8), ""),
        ("Picture frames, oak, pair", 31, 5.1, (21, 17, 4), ""),
        ("Oil lamp with glass chimney", 36, 4.2, (17, 9, 9), "needs a wick"),
        ("Serving tray, inlaid wood", 29, 3.7, (21, 14, 3), ""),
    ),
    *_goods(
        "Media",
        ("Record, jazz, live at a club", 26, 1.2, (13, 13, 1), ""),
        ("Records, brass band, set of 5", 18, 3.4, (13, 13, 2), ""),
        ("Nature films, 6 discs", 22, 1.3, (8, 6, 3), ""),
        ("Folk songs, 12 cassettes", 20, 2.4, (12, 8, 3), "two cases cracked"),
        ("Opera, 3 records, boxed", 24, 2.6, (13, 13, 2), "booklet missing"),
        ("Record, blues, mono pressing", 62, 1.2, (13, 13, 1), "light scratches on side two"),
        ("Audio book, 10 discs", 16, 1.1, (7, 6, 3), ""),
        ("Silent films, 4 discs", 27, 1.0, (8, 6, 2), ""),
        ("Record, stories for children", 14, 1.1, (13, 13, 1), ""),
        ("Concert posters, 1970s, set of 3", 48, 1.0, (25, 4, 4), "pinholes in the corners"),
        ("Game cartridge, puzzle", 35, 0.4, (7, 5, 2), "label worn"),
        ("Racing games, 3 discs", 30, 1.0, (8, 6, 2), "one case missing"),
        ("Reel tapes, box of 6", 38, 4.5, (15, 8, 5), ""),
        ("Railway films, 5 discs", 25, 1.2, (8, 6, 3), ""),
        ("Piano sonatas, 4 records, boxed", 33, 3.1, (13, 13, 2), ""),
        ("Single records, case of 30", 54, 4.9, (12, 9, 9), ""),
    ),
    *_goods(
        "Sports",
        ("Fly reel with line", 57, 1.1, (7, 6, 4), "handle loose"),
        ("Bamboo fly rod, 3 parts, in tube", 128, 2.9, (44, 4, 4), "one guide missing"),
        ("Tennis racket, wood, with press", 26, 2.3, (28, 11, 4), "strings broken"),
        ("Baseball glove, left hand", 44, 1.8, (12, 10, 6), ""),
        ("Golf putter, brass head", 36, 1.9, (37, 5, 4), "grip worn"),
        ("Ice skates, size 8", 29, 4.1, (14, 12, 5), ""),
        ("Camp stove, two burners", 52, 10.8, (24, 14, 7), "hose missing"),
        ("Hiking backpack, 60 liters", 66, 4.9, (26, 14, 9), "one buckle cracked"),
        ("Sleeping bag, down", 74, 4.4, (18, 11, 11), ""),
        ("Bowling ball with bag", 32, 15.0, (12, 11, 10), ""),
        ("Croquet set, 6 mallets", 64, 16.5, (36, 12, 7), "one ball missing"),
        ("Snowshoes, wood, pair", 82, 6.0, (44, 14, 6), "one strap torn"),
        ("Bicycle lamps, pair", 22, 1.2, (8, 6, 4), ""),
        ("Recurve bow", 96, 3.3, (62, 6, 4), "string missing"),
        ("Binoculars, 8 x 40, with case", 58, 2.7, (10, 9, 5), "one lens cap missing"),
        ("Dart board, bristle", 25, 10.2, (19, 19, 3), ""),
        ("Roller skates, leather, size 7", 41, 5.3, (14, 12, 6), ""),
    ),
    *_goods(
        "Tools",
        ("Smoothing plane, iron", 48, 4.4, (12, 6, 6), "handle cracked"),
        ("Jointer plane, beech", 36, 5.9, (25, 6, 6), ""),
        ("Brace with 8 bits", 42, 4.7, (16, 9, 4), ""),
        ("Wood chisels, set of 5", 55, 3.2, (14, 8, 3), "one tip chipped"),
        ("Socket set in case", 39, 6.1, (15, 9, 3), "one socket missing"),
        ("Bench vise, 4 inch", 76, 19.5, (14, 9, 9), ""),
        ("Spokeshaves, pair", 34, 1.7, (12, 6, 3), ""),
        ("Tenon saw, brass back", 45, 2.3, (20, 7, 3), "two teeth bent"),
        ("Micrometer in box", 52, 1.3, (8, 6, 3), ""),
        ("Pipe wrench, 18 inch", 31, 6.2, (20, 6, 3), ""),
        ("Soldering iron with stand", 24, 1.9, (11, 7, 4), ""),
        ("Carving gouges, roll of 12", 118, 4.1, (15, 9, 3), ""),
        ("Folding rule, boxwood", 21, 0.5, (9, 4, 2), ""),
        ("Hatchet with sheath", 37, 2.8, (16, 8, 3), ""),
        ("Level, rosewood and brass", 64, 3.6, (27, 5, 4), "one vial dry"),
        ("Taps and dies in case", 69, 7.0, (14, 10, 4), "two taps missing"),
        ("Torque wrench", 58, 3.9, (22, 5, 4), ""),
    ),
    *_goods(
        "Other",
        ("Typewriter, portable, with case", 92, 15.8, (16, 15, 8), "one key sticks"),
        ("Accordion, 48 bass", 150, 16.0, (18, 17, 11), "one strap missing"),
        ("Violin case with bow", 44, 5.2, (32, 11, 7), ""),
        ("Harmonica in case", 28, 0.6, (7, 4, 2), ""),
        ("Fountain pen, gold nib", 74, 0.4, (8, 4, 2), "does not fill"),
        ("Globe, 12 inch", 47, 5.1, (17, 15, 15), "stand scratched"),
        ("Student microscope, brass", 105, 8.3, (16, 10, 9), ""),
        ("Postcard album, 120 cards", 56, 3.7, (13, 11, 3), ""),
        ("Pocket watch, silver case", 130, 0.6, (6, 5, 3), "does not run"),
        ("Stamp albums, world, 3", 48, 6.6, (13, 12, 6), ""),
        ("Oil painting, landscape, framed", 88, 7.4, (27, 22, 4), ""),
        ("Music stand, folding", 18, 2.2, (21, 4, 4), ""),
        ("Buttons, cigar box full", 19, 2.4, (9, 7, 4), ""),
        ("Small trunk, wood and brass", 95, 18.0, (24, 15, 14), "lock stuck"),
        ("Guitar, three-quarter size", 72, 6.5, (40, 16, 6), "one tuner bent"),
        ("Walking stick, carved", 39, 1.6, (38, 5, 4), ""),
        ("Barometer, brass", 67, 3.4, (12, 11, 5), "glass scratched"),
        ("Ship in a bottle", 43, 3.3, (15, 7, 7), ""),
    ),
)


@dataclass(frozen=True)
class _Place:
    """Where stock is found.

    `share` is what pieces cost there as a share of what they bring; `step` and `off` make prices
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


_TUESDAY, _WEDNESDAY, _THURSDAY, _FRIDAY, _SATURDAY, _SUNDAY = range(1, 7)
_PLACES: Final = (
    _Place(
        "Thrift shop, Mill Street",
        92,
        (_TUESDAY, _WEDNESDAY, _THURSDAY, _FRIDAY),
        (0.18, 0.34),
        50,
        1,
        ("Clothing", "Household", "Books", "Electronics", "Media"),
        taxed=True,
    ),
    _Place(
        "Thrift shop, Canal Road",
        146,
        (_TUESDAY, _THURSDAY, _FRIDAY),
        (0.16, 0.32),
        50,
        1,
        ("Clothing", "Household", "Sports", "Games and toys", "Media"),
        taxed=True,
    ),
    _Place(
        "Church sale, parish hall",
        118,
        (_SATURDAY,),
        (0.06, 0.18),
        50,
        0,
        ("Household", "Books", "Games and toys", "Clothing", "Media"),
    ),
    _Place(
        "Yard sales, Orchard Lane",
        174,
        (_SATURDAY, _SUNDAY),
        (0.07, 0.20),
        100,
        0,
        ("Tools", "Sports", "Games and toys", "Household", "Electronics"),
    ),
    _Place(
        "Estate auction, river barn",
        524,
        (_FRIDAY,),
        (0.20, 0.34),
        100,
        0,
        ("Tools", "Other", "Household", "Electronics"),
    ),
    _Place(
        "Flea market, fairground",
        335,
        (_SUNDAY,),
        (0.15, 0.30),
        100,
        0,
        ("Other", "Tools", "Media", "Electronics", "Sports"),
    ),
    _Place("Library book sale", 84, (_THURSDAY,), (0.08, 0.18), 50, 0, ("Books", "Media")),
    _Place(
        "Moving sale, Hillside",
        229,
        (_SATURDAY, _SUNDAY),
        (0.08, 0.22),
        100,
        0,
        ("Sports", "Electronics", "Other", "Tools"),
    ),
)
_BY_NAME: Final = {place.name: place for place in _PLACES}
_MARKET: Final = ("Saturday market, town square", 96)
_GIVEN: Final = {
    dt.date(2025, 9, 3): _Good("Household", "Desk lamp, jointed arm", 26, 5.6, (20, 9, 8)),
    dt.date(2026, 3, 18): _Good("Other", "Bird cage, wire", 32, 6.1, (20, 15, 15), "door spring weak"),
}


@dataclass(frozen=True)
class _Lot:
    """Pieces bought together; a piece that is worth nothing is thrown away."""

    day: dt.date
    description: str
    place: str
    paid: int
    pieces: tuple[_Good, ...]
    paid_by: str = BUSINESS


_LOTS: Final = (
    _Lot(
        dt.date(2025, 8, 16),
        "Box of board games",
        "Church sale, parish hall",
        1800,
        tuple(
            _goods(
                "Games and toys",
                ("Word game with wooden tiles", 22, 2.4, (12, 9, 3), "one tile missing"),
                ("Detective board game, 1970s", 26, 2.8, (15, 11, 3), ""),
                ("Map puzzle, 500 pieces", 13, 1.6, (12, 9, 2), "one piece missing"),
                ("Tabletop football, tin", 31, 4.9, (22, 13, 4), ""),
                ("Card games, tin of 4", 9, 1.0, (7, 6, 3), ""),
            )
        ),
    ),
    _Lot(
        dt.date(2025, 10, 10),
        "Toolbox with contents",
        "Estate auction, river barn",
        4600,
        tuple(
            _goods(
                "Tools",
                ("Combination square", 24, 1.7, (14, 6, 2), ""),
                ("Block plane", 38, 2.1, (8, 5, 4), ""),
                ("Ball-peen hammers, 3", 29, 5.2, (15, 7, 4), "one handle split"),
                ("Hand drill, two speeds", 33, 3.6, (15, 7, 5), ""),
                ("Marking gauge, brass face", 19, 0.8, (11, 4, 4), ""),
                ("Screwdrivers, wooden grips, 6", 27, 2.2, (14, 6, 3), "one tip bent"),
                ("Toolbox, empty", 0, 9.0, (21, 10, 10), "bottom rusted through"),
            )
        ),
    ),
    _Lot(
        dt.date(2025, 12, 4),
        "Winter rack, four pieces",
        "Thrift shop, Mill Street",
        2999,
        tuple(
            _goods(
                "Clothing",
                ("Pea coat, navy, M", 58, 4.4, (16, 13, 5), "one button missing"),
                ("Cardigan, shawl collar, L", 41, 2.4, (14, 11, 4), ""),
                ("Wool skirt, plaid, size 10", 23, 1.3, (13, 10, 2), ""),
                ("Knit hats and mittens, 4", 14, 1.0, (11, 8, 4), ""),
            )
        ),
    ),
    _Lot(
        dt.date(2026, 2, 15),
        "Crate of records",
        "Flea market, fairground",
        4000,
        tuple(
            _goods(
                "Media",
                ("Record, big band, first pressing", 35, 1.2, (13, 13, 1), ""),
                ("Record, country ballads", 22, 1.2, (13, 13, 1), "sleeve split"),
                ("Record, film music, 1960s", 17, 1.2, (13, 13, 1), ""),
                ("Record, organ recital", 12, 1.2, (13, 13, 1), ""),
                ("Record, soul, with inner sleeve", 28, 1.2, (13, 13, 1), ""),
                ("Record, sea songs", 9, 1.2, (13, 13, 1), ""),
                ("Record, electronic, 1970s", 46, 1.2, (13, 13, 1), "corner bent"),
                ("Record, string quartets", 15, 1.2, (13, 13, 1), ""),
                ("Record, comedy, live", 13, 1.2, (13, 13, 1), ""),
            )
        ),
        MARTIN,
    ),
    _Lot(
        dt.date(2026, 4, 9),
        "Camera bag and darkroom things",
        "Thrift shop, Canal Road",
        6499,
        tuple(
            _goods(
                "Electronics",
                ("Folding camera with case", 68, 2.6, (10, 8, 6), "bellows taped"),
                ("Lens, 135 mm", 54, 1.4, (8, 5, 5), ""),
                ("Lens, 28 mm", 61, 1.1, (6, 5, 5), ""),
                ("Flash unit with cord", 19, 1.3, (9, 7, 5), "takes long to charge"),
                ("Tripod, aluminum", 27, 4.7, (25, 6, 6), ""),
                ("Trays and tongs, set", 16, 2.2, (13, 11, 4), ""),
            )
        ),
    ),
    _Lot(
        dt.date(2026, 6, 14),
        "Garage corner, water and snow",
        "Moving sale, Hillside",
        3700,
        tuple(
            _goods(
                "Sports",
                ("Fly boxes with flies, 3", 34, 0.9, (8, 6, 3), ""),
                ("Tackle box, wood", 47, 6.3, (18, 10, 9), "hinge loose"),
                ("Landing net, wood frame", 26, 1.4, (26, 12, 3), ""),
                ("Canoe paddle, ash", 39, 3.1, (58, 9, 4), ""),
                ("Skis, wood, pair", 72, 9.4, (78, 7, 6), "one binding stiff"),
            )
        ),
    ),
    _Lot(
        dt.date(2026, 8, 21),
        "Kitchen shelf of an estate",
        "Estate auction, river barn",
        7100,
        tuple(
            _goods(
                "Household",
                ("Dutch oven, enamel, green", 64, 13.5, (14, 13, 9), "chip on the lid"),
                ("Rolling pin and cutters", 16, 2.7, (18, 6, 5), ""),
                ("Mixing bowls, nested, 4", 58, 8.8, (13, 13, 8), ""),
                ("Egg scale, tin", 33, 1.9, (9, 7, 7), ""),
                ("Spice drawers, wood", 46, 4.0, (14, 9, 7), "one label gone"),
                ("Cookie press with plates", 21, 1.7, (13, 5, 4), ""),
                ("Butter churn, glass", 74, 7.2, (16, 9, 9), "paddle worn"),
                ("Recipe tin, handwritten cards", 18, 1.5, (8, 6, 6), ""),
            )
        ),
    ),
)

_QUIET_WEEKS: Final = (dt.date(2025, 8, 4), dt.date(2025, 12, 22), dt.date(2025, 12, 29))
_NO_MARKET: Final = ((2025, 7), (2026, 1), (2026, 2))
_NOT_COUNTED: Final = ((2025, 12), (2026, 7))
_PHONE: Final = ("Utilities", "Phone and internet, business part", 900, RUTH)
_EXPENSES: Final = (
    ("2025-07-03", "Taxes and licenses", "Business license, first year", 3500, RUTH),
    ("2025-07-08", "Supplies and packing", "Mailers and tape", 1380, ""),
    ("2025-07-24", "Office expense and postage", "Label sheets", 940, ""),
    ("2025-08-08", "Supplies and packing", "Used boxes, bundle", 600, ""),
    ("2025-08-14", "Advertising", "Cards for the stall", 1850, MARTIN),
    ("2025-09-05", "Supplies and packing", "Paper filling, tape", 1125, ""),
    ("2025-09-22", "Other expenses", "Magnifier and tape measure", 1340, ""),
    ("2025-10-02", "Supplies and packing", "Mailers, three sizes", 1690, ""),
    ("2025-10-10", "Car: parking and tolls", "Bridge toll, auction", 350, ""),
    ("2025-10-20", "Office expense and postage", "Ink", 2195, ""),
    ("2025-11-06", "Supplies and packing", "Boxes, 20", 2240, ""),
    ("2025-11-19", "Utilities", "Lamp and daylight bulb for pictures", 1480, MARTIN),
    ("2025-12-01", "Other expenses", "Cash box short at the November count", 300, ""),
    ("2025-12-03", "Supplies and packing", "Tape and record mailers", 1830, ""),
    ("2026-01-09", "Insurance", "Stall liability, one year", 4800, ""),
    ("2026-01-15", "Repairs and maintenance", "Feed roller for the label printer", 1260, ""),
    ("2026-01-27", "Supplies and packing", "Cleaning cloths, metal polish", 1415, ""),
    ("2026-02-11", "Legal and professional", "Preparer, tax return of the shop", 8500, ""),
    ("2026-02-24", "Supplies and packing", "Mailers and tape", 1570, ""),
    ("2026-03-05", "Office expense and postage", "Label sheets, pens", 1180, ""),
    ("2026-03-19", "Supplies and packing", "Boxes, 25", 2675, ""),
    ("2026-03-27", "Advertising", "Notice on the town board, spring", 1200, ""),
    ("2026-04-08", "Commissions and fees", "Card reader, monthly statement", 415, ""),
    ("2026-04-22", "Supplies and packing", "Tissue, foam sheets", 1305, ""),
    ("2026-05-04", "Taxes and licenses", "Market permit, season", 2500, ""),
    ("2026-05-09", "Commissions and fees", "Card reader, monthly statement", 380, ""),
    ("2026-05-20", "Supplies and packing", "Mailers, tape", 1745, ""),
    ("2026-06-09", "Office expense and postage", "Ink", 2250, ""),
    ("2026-06-25", "Supplies and packing", "Boxes, 25", 2725, ""),
    ("2026-07-02", "Taxes and licenses", "Business license, second year", 3500, ""),
    ("2026-07-14", "Rent: tables, stalls, storage", "Storage shelf, quarter", 4500, ""),
    ("2026-07-22", "Supplies and packing", "Tape, paper filling", 1290, ""),
    ("2026-08-12", "Repairs and maintenance", "Battery for the parcel scale", 595, ""),
    ("2026-08-20", "Travel", "Guest room, night before the auction", 5900, MARTIN),
    ("2026-08-21", "Car: parking and tolls", "Bridge toll and parking, auction", 700, ""),
    ("2026-08-22", "Contract labor", "Neighbor, carrying from the auction", 2000, ""),
    ("2026-09-03", "Supplies and packing", "Mailers, boxes", 2460, ""),
    ("2026-09-17", "Advertising", "New sign for the stall", 2650, RUTH),
)
_TABLE_FEE: Final = ("Rent: tables, stalls, storage", "Table at the Saturday market", 1400)

_PUT_IN: Final = (
    ("2025-07-01", RUTH, 12000, "Starting stake"),
    ("2025-07-01", MARTIN, 12000, "Starting stake"),
    ("2025-08-29", RUTH, 8000, "For the autumn auctions"),
)

_FATES: Final = {
    9: DONATED,
    14: OWN_USE,
    21: DISCARDED,
    27: DONATED,
    36: DISCARDED,
    41: OWN_USE,
    47: DONATED,
    54: DISCARDED,
    60: DONATED,
    83: OWN_USE,
}
"""What becomes of the pieces bought one by one that are never sold, by their order."""
_INCIDENTS: Final = (
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
_ODD_TAX_SALES: Final = (6, 18, 30, 42)
"""From which sale on the general site on a buyer lives where tax is higher."""
_COLLECTED: Final = {"Books": 0.7, "Electronics": 0.3, "Games and toys": 0.6, "Media": 0.8, "Other": 0.7, "Tools": 0.5}
"""How many of the pieces that go by post are offered to collectors."""
_PREP: Final = {
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
"""Prep cost in cents from and to, and how many pieces of the category have one."""


@dataclass
class _Held:
    """A piece that the shop has or had; cents."""

    row: Row
    good: _Good
    landed: int
    expected: int
    label: int
    stall: bool = False
    second_time: bool = False
    fate: str = ""


@dataclass
class _Shop:
    """The shop while it is played; cash and what is owed to buyers in cents."""

    dice: Dice
    today: dt.date = FIRST_DAY
    cash: int = OPENING_CASH
    owed: int = 0
    bought: int = 0
    sent: int = 0
    general_sales: int = 0
    later: dict[dt.date, list[Callable[[], None]]] = field(default_factory=lambda: defaultdict(list))
    deciles: list[int] = field(default_factory=list)
    table: list[_Held] = field(default_factory=list)
    goods: list[_Good] = field(default_factory=lambda: list(GOODS))
    incidents: list[tuple[int, str]] = field(default_factory=lambda: list(_INCIDENTS))
    odd_tax: list[int] = field(default_factory=lambda: list(_ODD_TAX_SALES))
    log: list[Row] = field(default_factory=list)
    lots: list[Row] = field(default_factory=list)
    expenses: list[Row] = field(default_factory=list)
    trips: list[Row] = field(default_factory=list)
    owner: list[Row] = field(default_factory=list)

    # ---- the days ----------------------------------------------------------------------------

    def play(self) -> None:
        market = _market_days()
        rounds = self._plan_rounds(market)
        lots = {lot.day: lot for lot in _LOTS}
        done = 0
        for number in range((LAST_DAY - FIRST_DAY).days + 1):
            self.today = FIRST_DAY + dt.timedelta(number)
            self._put_in()
            for event in self.later.pop(self.today, []):
                event()
            if self.today in market:
                self._market_day()
            self._pay_bills()
            if self.today in lots:
                self._buy_lot(lots[self.today])
            if self.today in rounds:
                done += 1
                self._buying_round(rounds[self.today], done / len(rounds))
            if self.today in _GIVEN:
                self._given(_GIVEN[self.today])
            self._close_the_day()

    def _plan_rounds(self, market: set[dt.date]) -> dict[dt.date, _Place]:
        """One buying round in most weeks; a lot is that week's, the stall takes a Saturday."""
        rounds = {dt.date(2025, 7, 5): _BY_NAME["Yard sales, Orchard Lane"]}
        monday = dt.date(2025, 7, 7)
        while monday <= LAST_DAY:
            week = [monday + dt.timedelta(day) for day in range(7)]
            has_lot = any(lot.day in week for lot in _LOTS)
            if not (has_lot or monday in _QUIET_WEEKS or self.dice.chance(0.16)):
                free = [day for day in week if day not in market and day <= LAST_DAY]
                choices = [(day, place) for place in _PLACES for day in free if day.weekday() in place.weekdays]
                day, place = self.dice.pick(choices)
                rounds[day] = place
            monday += dt.timedelta(7)
        return rounds

    def _spendable(self) -> int:
        return self.cash - self.owed - RESERVE

    def _pay_bills(self) -> None:
        for day, heading, description, cents, partner in _EXPENSES:
            if day == self.today.isoformat():
                self._expense(heading, description, cents, partner)
        started = self.today >= dt.date(2025, 10, 1)
        if started and self.today.day == 5:
            self._expense(*_PHONE)

    def _expense(self, heading: str, description: str, cents: int, partner: str = "") -> None:
        if not partner and cents > self._spendable():
            partner = self.dice.pick(PARTNERS)
        if not partner:
            self.cash -= cents
        self.expenses.append(
            {
                "spent_on": self.today,
                "heading": heading,
                "description": description,
                "amount": cents / 100,
                "paid_from": partner or BUSINESS,
            }
        )

    def _trip(self, purpose: str, to_place: str, tenths: int) -> None:
        self.trips.append(
            {
                "driven_on": self.today,
                "purpose": purpose,
                "from_place": "Home",
                "to_place": to_place,
                "miles": (tenths + self.dice.whole(0, 12)) / 10,
            }
        )

    # ---- buying ------------------------------------------------------------------------------

    def _buying_round(self, place: _Place, season: float) -> None:
        target = int(SINGLES * (0.3 * season + 0.7 * season**2) + 0.5)
        wanted = min(target - self.bought, 7)
        budget = max(self._spendable() * 55 // 100, 0)
        buyer = self.dice.pick(PARTNERS)
        before = self.bought
        while wanted > 0:
            spent = self._buy_one(place, budget, buyer)
            if spent is None:
                break
            budget -= spent
            wanted -= 1
        found = self.bought > before
        self._trip("Buying round" if found else "Buying round, nothing bought", place.name, place.tenths_of_miles)

    def _buy_one(self, place: _Place, budget: int, buyer: str) -> int | None:
        """Buy a piece that the budget allows; what it took from the budget, None if none fits."""
        share = self.dice.between(*place.share)
        fitting = [
            good
            for good in self.goods
            if good.category in place.categories and _ticket(good, place, share) * 11 <= budget * 10
        ]
        if not fitting:
            return None
        good = self.dice.pick(fitting)
        other = self.dice.pick(fitting)
        if self._spendable() > 30000 and other.value > good.value:
            good = other
        self.goods.remove(good)
        paid = _ticket(good, place, share)
        tax = _of(paid, PURCHASE_TAX_RATE) if place.taxed else 0
        payer = buyer if self.dice.chance(0.06) else BUSINESS
        piece = self._enter(good, buyer, place.name, paid, tax)
        if payer != BUSINESS or self.dice.chance(0.85):
            piece.row["paid_from"] = payer
        self.bought += 1
        piece.fate = _FATES.get(self.bought, "")
        self._plan(piece)
        if payer == BUSINESS:
            self.cash -= piece.landed
            return piece.landed
        return 0

    def _given(self, good: _Good) -> None:
        piece = self._enter(good, self.dice.pick(PARTNERS), "Given by a neighbor", 0, 0)
        piece.row["paid_from"] = BUSINESS
        self.cash -= piece.landed
        self._plan(piece)

    def _enter(self, good: _Good, buyer: str, place: str, paid: int, tax: int) -> _Held:
        row: Row = {
            "item_no": self._next_number(),
            "description": good.description,
            "bought_on": self.today,
            "bought_by": buyer,
            "found_at": place,
            "paid": paid / 100,
        }
        if tax:
            row["purchase_tax"] = tax / 100
        piece = self._describe(row, good)
        if self.dice.chance(0.92):
            row["expected_price"] = piece.expected / 100
        piece.landed += paid + tax
        self.log.append(row)
        return piece

    def _describe(self, row: Row, good: _Good) -> _Held:
        """Category, condition, faults and prep cost of a piece."""
        faulty = bool(good.fault) and (good.value == 0 or self.dice.chance(0.4))
        row["category"] = good.category
        if good.value == 0:
            row["condition"] = "For parts"
        elif faulty:
            row["condition"] = self.dice.pick(("Worn", "Worn", "Good"))
        else:
            row["condition"] = self.dice.pick(("Good", "Good", "Good", "Worn", "Like new"))
        if faulty:
            row["missing"] = good.fault
        worth = good.value * (0.72 if faulty else 1) * self.dice.between(0.92, 1.1)
        prep = 0
        (low, high), probability = _PREP[good.category]
        if good.value > 20 and self.dice.chance(probability):
            prep = self.dice.whole(low, high)
            row["prep_cost"] = prep / 100
        label = _shaped(410 + 78 * good.pounds + max(good.sides) * 4, 5)
        return _Held(row, good, prep, _shaped(worth * 100, 100), label)

    def _buy_lot(self, lot: _Lot) -> None:
        place = _BY_NAME[lot.place]
        buyer = self.dice.pick(PARTNERS)
        tax = _of(lot.paid, PURCHASE_TAX_RATE) if place.taxed else 0
        number = f"L-{len(self.lots) + 1:02}"
        pieces = []
        for good in lot.pieces:
            row: Row = {
                "item_no": self._next_number(),
                "description": good.description,
                "bought_by": buyer,
                "found_at": lot.place,
                "lot_no": number,
            }
            piece = self._describe(row, good)
            row["expected_price"] = piece.expected / 100
            self.log.append(row)
            pieces.append(piece)
        total = lot.paid + tax
        payer = lot.paid_by
        if payer == BUSINESS and total > self._spendable():
            payer = buyer
        lot_row: Row = {
            "lot_no": number,
            "description": lot.description,
            "bought_on": self.today,
            "bought_by": buyer,
            "paid_from": payer,
            "found_at": lot.place,
            "paid": lot.paid / 100,
        }
        if tax:
            lot_row["purchase_tax"] = tax / 100
        self.lots.append(lot_row)
        self.cash -= sum(piece.landed for piece in pieces) + (total if payer == BUSINESS else 0)
        shares = lot_share(total / 100, [piece.expected / 100 for piece in pieces])
        for piece, share in zip(pieces, shares, strict=True):
            piece.landed += _cents(share)
            if piece.good.value == 0:
                piece.fate = DISCARDED
            self._plan(piece)
        self._trip("Buying round, lot", lot.place, place.tenths_of_miles)

    def _next_number(self) -> str:
        return f"P{len(self.log) + 1:03}"

    # ---- listing -----------------------------------------------------------------------------

    def _plan(self, piece: _Held) -> None:
        """Decide where a piece will be offered and from when on."""
        heavy = piece.good.pounds > 12
        cheap = piece.expected < 1800
        piece.stall = self.dice.chance(0.6 if heavy else 0.4 if cheap else 0.05)
        if not piece.stall:
            piece.row["expected_postage"] = piece.label / 100
        if piece.fate == OWN_USE or piece.good.value == 0:
            self._in_days(self.dice.whole(6, 70), partial(self._leave, piece, piece.fate))
            return
        wait = self.dice.whole(30, 110) if self.dice.chance(0.16) else self.dice.whole(1, 16)
        self._in_days(wait, partial(self._list, piece))

    def _list(self, piece: _Held) -> None:
        row = piece.row
        row["listed_on"] = self.today
        if piece.stall:
            row["channel"] = STALL
            row["asking_price"] = max(_shaped(piece.expected * 1.05, 100), LEAST_PRICE) / 100
        else:
            self._list_by_post(piece)
        if piece.fate:
            self._in_days(self.dice.whole(75, 140), partial(self._leave, piece, piece.fate))
        elif piece.stall:
            self.table.append(piece)
        else:
            days = self._days_to_sell()
            if piece.second_time:
                days = min(days, self.dice.whole(12, 40))
            if days < STALE_DAYS or piece.expected >= DEAR:
                self._in_days(days, partial(self._sell_by_post, piece))
            else:
                self._in_days(STALE_DAYS, partial(self._move_to_table, piece))

    def _list_by_post(self, piece: _Held) -> None:
        row = piece.row
        likely = _COLLECTED.get(piece.good.category, 0)
        row["channel"] = COLLECTORS if self.dice.chance(likely) else GENERAL
        asking = piece.expected * self.dice.between(1.0, 1.18)
        row["postage_payer"] = BUYER
        if piece.expected > 3000 and self.dice.chance(0.3):
            row["postage_payer"] = SELLER
            asking += piece.label
        row["asking_price"] = _shaped(asking, 50) / 100
        row["packed_weight"] = piece.good.pounds
        if self.dice.chance(0.8):
            row["length"], row["width"], row["height"] = piece.good.sides

    def _days_to_sell(self) -> int:
        """Deciles are dealt like cards: of ten listings in a row one falls into each."""
        if not self.deciles:
            self.deciles = list(range(len(DAYS_TO_SELL) - 1))
        decile = self.dice.pick(self.deciles)
        self.deciles.remove(decile)
        days = self.dice.whole(DAYS_TO_SELL[decile], DAYS_TO_SELL[decile + 1])
        before_the_holidays = self.today.month in (10, 11)
        return days * 6 // 10 + 1 if before_the_holidays else days

    def _move_to_table(self, piece: _Held) -> None:
        """What has stood too long goes to the stall for much less."""
        piece.row["channel"] = STALL
        piece.row["asking_price"] = max(_shaped(piece.expected * self.dice.between(0.3, 0.55), 100), LEAST_PRICE) / 100
        del piece.row["postage_payer"]
        del piece.row["expected_postage"]
        self.table.append(piece)

    def _in_days(self, days: int, event: Callable[[], None]) -> None:
        self.later[self.today + dt.timedelta(days)].append(event)

    # ---- selling -----------------------------------------------------------------------------

    def _market_day(self) -> None:
        self._trip("Stall day", *_MARKET)
        self._expense(*_TABLE_FEE)
        for piece in list(self.table):
            if self.dice.chance(0.4):
                self.table.remove(piece)
                bargained = piece.row["asking_price"] * self.dice.pick((1, 1, 0.9, 0.8)) * 100
                self._sell(piece, max(_shaped(bargained, 100), LEAST_PRICE), 0, 0)

    def _sell_by_post(self, piece: _Held) -> None:
        row = piece.row
        offer = row["asking_price"] * self.dice.pick((1, 1, 1, 0.95, 0.92, 0.88)) * 100
        price = _shaped(offer, 25)
        shipping = _shaped(piece.label + 20, 50) if row["postage_payer"] == BUYER else 0
        label = int(piece.label * self.dice.between(0.93, 1.09))
        self._sell(piece, price, shipping, label)
        self.sent += 1
        self._refund_if_due(piece, price, shipping)

    def _sell(self, piece: _Held, price: int, shipping: int, label: int) -> None:
        row = piece.row
        row["sold_on"] = self.today
        row["sale_price"] = price / 100
        if shipping:
            row["shipping_charged"] = shipping / 100
        fee = self._charge(row, price, shipping)
        packing = 0
        if label:
            row["postage_paid"] = label / 100
            bulky = piece.good.pounds > 6
            if self.dice.chance(0.7 if bulky else 0.12):
                packing = self.dice.whole(140, 340) if bulky else self.dice.whole(60, 110)
                row["packing"] = packing / 100
        self.cash += price + shipping - fee - label - packing

    def _charge(self, row: Row, price: int, shipping: int) -> int:
        """The fee that counts, and on most rows the statement's fee."""
        channel = row["channel"]
        terms = dict(_FEE_TERMS[channel])
        fee = _fee(price, shipping, terms)
        typed = {GENERAL: 0.85, COLLECTORS: 0.75, STALL: 0.1}[channel]
        if channel == GENERAL:
            self.general_sales += 1
            due = bool(self.odd_tax) and self.general_sales >= self.odd_tax[0]
            if due and 2600 <= price + shipping <= 8000:
                self.odd_tax.pop(0)
                typed = 1
                terms["tax_rate"] = ODD_TAX_RATE
                fee = _fee(price, shipping, terms)
            row["tax_collected"] = _of(price + shipping, terms["tax_rate"]) / 100
        if self.dice.chance(typed):
            row["fee_charged"] = fee / 100
        return fee

    # ---- refunds and pieces that come back ---------------------------------------------------

    def _refund_if_due(self, piece: _Held, price: int, shipping: int) -> None:
        due = bool(self.incidents) and self.sent >= self.incidents[0][0]
        early = self.today <= LAST_DAY - dt.timedelta(60)
        if not (due and early and price >= 2000) or piece.second_time or piece.row.get("lot_no"):
            return
        _, kind = self.incidents.pop(0)
        if kind.startswith("part"):
            amount = _shaped((price + shipping) * self.dice.between(0.15, 0.35), 50)
        else:
            amount = price if kind == "back" else price + shipping
        days = self.dice.whole(9, 18)
        if kind == "part at once":
            self.cash -= amount
            piece.row["refund"] = amount / 100
            return
        if kind in ("part next month", "lost"):
            days = _days_into_next_month(self.today) + self.dice.whole(1, 5)
        piece.row["refund"] = amount / 100
        piece.row["refunded_on"] = self.today + dt.timedelta(days)
        self.owed += amount
        self._in_days(days, partial(self._pay_back, amount))
        if kind in ("relisted", "back", "broken"):
            days_back = days - self.dice.whole(0, 3)
            piece.row["returned_on"] = self.today + dt.timedelta(days_back)
            if kind == "relisted":
                self._in_days(days + 2, partial(self._relist, piece))
            elif kind == "broken":
                self._in_days(days + 5, partial(self._leave, piece, DISCARDED))

    def _pay_back(self, cents: int) -> None:
        self.cash -= cents
        self.owed -= cents

    def _relist(self, old: _Held) -> None:
        """The old row ends; a new one takes over its landed cost."""
        self._leave(old, RELISTED)
        old_row = old.row
        row: Row = {
            "item_no": self._next_number(),
            "description": old_row["description"],
            "bought_on": self.today,
            "bought_by": old_row["bought_by"],
            "paid_from": RETURNED_PIECE,
            "found_at": old_row["found_at"],
            "category": old_row["category"],
            "condition": old_row["condition"],
            "missing": old_row.get("missing") or "box opened",
            "paid": old.landed / 100,
            "expected_price": old.expected / 100,
        }
        self.log.append(row)
        piece = _Held(row, old.good, old.landed, old.expected, old.label, second_time=True)
        row["expected_postage"] = old.label / 100
        self._in_days(self.dice.whole(1, 4), partial(self._list, piece))

    def _leave(self, piece: _Held, how: str) -> None:
        piece.row["left_how"] = how
        piece.row["left_on"] = self.today
        if how == OWN_USE:
            piece.row["taken_by"] = piece.row["bought_by"]

    # ---- owners ------------------------------------------------------------------------------

    def _put_in(self) -> None:
        for day, partner, cents, note in _PUT_IN:
            if day == self.today.isoformat():
                self.cash += cents
                self._move(partner=partner, put_in=cents / 100, note=note)

    def _close_the_day(self) -> None:
        last = self.today.day == calendar.monthrange(self.today.year, self.today.month)[1]
        if last and self.today >= dt.date(2026, 1, 1):
            each = (self._spendable() - KEPT) * 15 // 100 // 500 * 500
            if each >= 2000:
                for partner in PARTNERS:
                    self.cash -= each
                    self._move(partner=partner, took_out=each / 100, note="Monthly draw")
        month = (self.today.year, self.today.month)
        recount = self.today == dt.date(2026, 6, 1)
        if (last and month not in _NOT_COUNTED) or recount:
            difference = CASH_DIFFERENCES.get(self.today, 0)
            note = "Month-end count"
            if difference:
                note = "Cash box short" if difference < 0 else "Miscounted, see the next day"
            elif recount:
                note = "Counted again"
            self._move(cash_counted=(self.cash + difference) / 100, note=note)

    def _move(self, **cells: str | float) -> None:
        self.owner.append({"moved_on": self.today, **cells})


def _market_days() -> set[dt.date]:
    """Every second Saturday of a month, but not in the first month and not in winter."""
    days = set()
    for number in range((LAST_DAY - FIRST_DAY).days + 1):
        day = FIRST_DAY + dt.timedelta(number)
        second_saturday = day.weekday() == _SATURDAY and 8 <= day.day <= 14
        if second_saturday and (day.year, day.month) not in _NO_MARKET:
            days.add(day)
    return days


def _days_into_next_month(day: dt.date) -> int:
    return calendar.monthrange(day.year, day.month)[1] - day.day


def _ticket(good: _Good, place: _Place, share: float) -> int:
    """What a place asks for a piece: 1 to 40, in prices of its kind."""
    asked = _shaped(good.value * 100 * share, place.step) - place.off
    return min(max(asked, 150 - place.off), 4000 - place.off)


def _shaped(cents: float, step: int) -> int:
    """The nearest multiple of a step."""
    return int(cents / step + 0.5) * step


def _cents(money: float) -> int:
    return int(money * 100 + 0.5)


def _of(cents: int, rate: float) -> int:
    """Tax on an amount, rounded to the cent."""
    return _cents(float(round_money(cents / 100 * rate)))


def _fee(price: int, shipping: int, terms: dict[str, float]) -> int:
    return _cents(selling_fee(price / 100, shipping / 100, **terms))


def example_entries(seed: int = 7) -> Inputs:
    """What the two partners of the invented shop have typed into their log by 2026-09-30."""
    shop = _Shop(Dice(seed))
    shop.play()
    entries = Inputs(
        settings={
            "Shop_name": "Two Baskets (invented)",
            "Currency": "USD",
            "As_of_date": LAST_DAY,
            "First_month": FIRST_DAY,
            "Opening_cash": OPENING_CASH / 100,
            "Pay_wanted": 300,
            "Bills_due": 46.5,
            "Open_refunds": 18,
            "Tax_reserve": 240,
            "Restock_reserve": 200,
            "Usual_packing": 0.65,
            "Weight_unit": "lb",
            "Length_unit": "in",
            "Tax_year": 2026,
        },
        blocks={
            "Partner": [
                {"name": name, "share": 0.5, "opening": opening}
                for name, opening in zip(PARTNERS, OPENING_PARTS, strict=True)
            ],
            "Channel": [{"name": name, **terms} for name, terms in _FEE_TERMS.items()],
        },
        rows={"Log": shop.log, "Lots": shop.lots, "Expenses": shop.expenses, "Trips": shop.trips, "Owner": shop.owner},
    )
    add_year(entries, RUTH, MARTIN)
    # From a seed of its own: the draws of the log stay as they are.
    add_shelf(entries, seed + 1000, _parcels())
    return entries


def _parcels() -> dict[str, Parcel]:
    goods = (*GOODS, *_GIVEN.values(), *(good for lot in _LOTS for good in lot.pieces))
    return {good.description: Parcel(good.pounds, good.sides) for good in goods}
