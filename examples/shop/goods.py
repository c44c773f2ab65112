"""What the invented shop may find: goods one by one, in lots, and given away. No brands."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

from examples.shop.script import MARTIN
from sheetfns.log.sheets.words import BUSINESS


@dataclass(frozen=True)
class Good:
    """A kind of item; value in whole units, weight in pounds, sides in inches."""

    category: str
    description: str
    value: int
    pounds: float
    sides: tuple[int, int, int]
    fault: str = ""


def _goods(category: str, *rows: tuple[str, int, float, tuple[int, int, int], str]) -> list[Good]:
    return [Good(category, *row) for row in rows]


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


GIVEN: Final = {
    dt.date(2025, 9, 3): Good("Household", "Desk lamp, jointed arm", 26, 5.6, (20, 9, 8)),
    dt.date(2026, 3, 18): Good("Other", "Bird cage, wire", 32, 6.1, (20, 15, 15), "door spring weak"),
}


@dataclass(frozen=True)
class Lot:
    """Items bought together; an item that is worth nothing is thrown away."""

    day: dt.date
    description: str
    place: str
    paid: int
    items: tuple[Good, ...]
    paid_by: str = BUSINESS


LOTS: Final = (
    Lot(
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
    Lot(
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
    Lot(
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
    Lot(
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
    Lot(
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
    Lot(
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
    Lot(
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
