"""Logs for the tests of the reader: one with every column filled, one with every mistake."""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import shutil
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest import mock
from xml.etree import ElementTree as ET

import sheetfns.log.sheets.registry as layout_of_logs
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import Edition, TableSheet
from sheetfns.log.write.build import build_log
from tests.made_once import made_once

RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"


def part_of(path: Path, sheet: str) -> str:
    """The part of a workbook that holds a sheet; parts are numbered by the order of the sheets."""
    with zipfile.ZipFile(path) as book:
        names = ET.fromstring(book.read("xl/workbook.xml"))
        parts = ET.fromstring(book.read("xl/_rels/workbook.xml.rels"))
    relation = next(e.get(RELATION) for e in names.iter() if e.get("name") == sheet)
    return next(f"xl/{e.get('Target')}" for e in parts.iter() if e.get("Id") == relation)


FEW_ROWS = 16
_WITH_MANY_ROWS = (
    layout_of_logs.comparables, layout_of_logs.lots, layout_of_logs.expenses, layout_of_logs.trips,
    layout_of_logs.personal_items, layout_of_logs.owner_money,
)  # fmt: skip
"""The rooms of the sheets that have many ready rows."""


@contextlib.contextmanager
def few_rows() -> Iterator[None]:
    """Logs that are built meanwhile have few ready rows on every sheet: a third of the time."""

    def few(make: Callable[[int], TableSheet]) -> Callable[[int], TableSheet]:
        return lambda _: make(FEW_ROWS)

    layout_of_logs.log_layout.cache_clear()
    with contextlib.ExitStack() as stack:
        for room in _WITH_MANY_ROWS:
            stack.enter_context(mock.patch.object(room, "sheet", few(room.sheet)))
        yield
    layout_of_logs.log_layout.cache_clear()


def small_log(path: Path, edition: Edition = "plain", inputs: Inputs | None = None, rows: int = FEW_ROWS) -> Path:
    """A log with few ready rows on every sheet; what others in this run have built already is copied."""
    typed = hashlib.sha256(repr(inputs or Inputs()).encode()).hexdigest()
    made = made_once(f"{edition}_{rows}_{typed}.xlsx", lambda new: build_small_log(new, edition, inputs, rows))
    shutil.copyfile(made, path)
    return path


def build_small_log(path: Path, edition: Edition = "plain", inputs: Inputs | None = None, rows: int = FEW_ROWS) -> Path:
    """The same, for tests of the building itself."""
    with few_rows():
        return build_log(path, edition, rows, inputs)


def day(month: int, number: int) -> dt.date:
    return dt.date(2026, month, number)


SETTINGS: Row = {
    "Shop_name": "Two Attics",
    "Currency": "EUR",
    "As_of_date": day(3, 31),
    "First_month": day(1, 1),
    "Opening_cash": 250.75,
    "Pay_target": 120,
    "Bills_due": 12.5,
    "Open_refunds": 3,
    "Tax_reserve": 20,
    "Tax_share": 0.25,
    "Restock_reserve": 60,
    "Restock_days": 45,
    "Fixed_costs": 15,
    "Weekly_limit": 40,
    "Average_days": 60,
    "Stale_days": 21,
    "Below_break_even": "Yes",
    "Forecast_paths": 200,
    "Default_channel": "Booth",
    "Usual_packaging": 0.4,
    "Trip_cash": 60,
    "Trip_reserve": 10.5,
    "Plan_by": "Profit per day",
    "Target_profit": 4,
    "Target_return": 1.25,
    "Buying_tax_rate": 0.07,
    "Comp_half_life": 60,
    "Comp_low_share": 0.2,
    "Filling_rate": 0.15,
    "Weight_allowance": 0.05,
    "Cover_share": 0.75,
    "Weight_unit": "kg",
    "Length_unit": "cm",
    "Tax_year": 2026,
    "Year_rules": "US sole proprietor",
}
BLOCKS: dict[str, list[Row]] = {
    "Partner": [
        {"name": "Ada", "share": 0.6, "opening": 150.75}, {"name": "Bo", "share": 0.4, "opening": 100},
    ],
    "Channel": [
        {"name": "Booth", "rate": 0, "per_order": 0, "title_limit": 60},
        {"name": "First site", "rate": 0.115, "per_order": 0.45, "tax_rate": 0.08,
         "band_limit": 60, "rate_above": 0.05, "minimum": 0.3, "maximum": 50, "ad_rate": 0.03},
    ],
    "Heading": [
        {"heading": "Supplies", "tax_line": "Supplies", "from_log": "packaging",
         "note": "Boxes, tape"},
        {"heading": "Other", "tax_line": "Other expenses"},
        {"heading": "Selling", "tax_line": "Commissions and fees", "from_log": "fees"},
        {"heading": "Labels", "tax_line": "Office expense", "from_log": "postage"},
        {"heading": "Car", "tax_line": "Car and truck expenses", "from_log": "miles"},
    ],
    "ByYear": [
        {"year": 2025, "filed_inventory": 0, "note": "the first return"},
        {"year": 2026, "area": 80, "months": 3},
    ],
    "Taxes": [
        {"year": 2026, "partner": "Ada", "wages": 20_000, "rate": 0.12, "paid": 15},
        {"year": 2025, "partner": "Ada", "paid": 1},
    ],
    "Reported": [
        {"year": 2026, "channel": "Booth", "gross": 24}, {"year": 2026, "channel": "Booth", "gross": 1.5},
    ],
    "TaxFigure": [
        {"name": name, "from": day(1, 1), "until": day(12, 31), "value": value, "source": "invented for a test"}
        for name, value in (
            ("Wage base", 90_000), ("Net earnings share", 0.9), ("Minimum net earnings", 10),
            ("Social security rate", 0.1), ("Medicare rate", 0.03), ("Deductible share", 0.5),
            ("Home office rate", 4), ("Home office limit", 60), ("Reported gross over", 5),
            ("Reported sales over", 0), ("Receipts test", 1_000),
        )
    ],
    "Due": [
        {"year": 2026, "day_1": day(4, 15), "day_2": day(6, 15), "day_3": day(9, 15),
         "day_4": dt.date(2027, 1, 15), "source": "invented for a test"},
    ],
    "Mileage": [
        {"from": day(1, 1), "until": day(6, 30), "rate": 0.7, "source": "invented for a test"},
        {"from": day(7, 1), "until": day(12, 31), "rate": 0.725, "source": "invented for a test"},
    ],
    "Category": [{"name": "Books", "caution": "Electronics"}, {"name": "Tools"}],
    "Condition": [{"name": "New", "worth": 1}, {"name": "Good", "worth": 0.8}],
    "Age": [{"from_day": 0}, {"from_day": 30}, {"from_day": 90}],
    "Markdown": [{"from_day": 14, "share": 0.05}, {"from_day": 28, "share": 0.15}],
    "Box": [
        {"name": "Small", "length": 30, "width": 20, "height": 10, "weight": 0.2},
        {"name": "Tube", "length": 60, "width": 8, "height": 8, "weight": 0.15},
    ],
    "Rule": [
        {"name": "By size", "from": day(1, 1), "divisor": 5000, "gate": 1000,
         "side_rounding": "nearest", "weight_step": 0.5, "units": "kg and cm", "source": "invented for a test"},
        {"name": "By size", "from": day(3, 1), "divisor": 4000, "side_rounding": "up"},
        {"name": "Letters", "from": day(1, 1), "weight_step": 0.1},
    ],
    "Service": [
        {"name": "Near", "rule": "By size"}, {"name": "Far", "rule": "By size"},
        {"name": "Letter", "rule": "Letters"}, {"name": "Any"},
        *({"name": f"Zone {number}"} for number in (5, 6, 7, 8)),
    ],
    "Postage": [
        {"up_to": weight, **{f"no_{number}": round(2 + number / 2 + weight, 2)
                             for number in range(1, 9)}}
        for weight in (0.5, 1, 2, 5, 20)
    ],
    "Filler": [{"word": "wow"}, {"word": "must have"}],
    "Text": [{"line": "{description}, {condition}"}, {"line": "Weight {weight}, sides {sides}"}],
}  # fmt: skip

ITEM: Row = {
    "bought_on": day(1, 10), "bought_by": "Ada", "paid_from": "Business", "found_at": "Yard sale",
    "category": "Books", "condition": "Good", "paid": 6.5,
}  # fmt: skip
SALE: Row = {"channel": "Booth", "sold_on": day(2, 10), "sale_price": 20, "shipping_charged": 4}
LOT_ITEM: Row = {"lot_no": "L-1", "expected_price": 10}
CANDIDATE: Row = {
    "item": "Lamp", "price_tag": 4, "expected_price": 20, "channel": "Booth", "days_to_sell": 30,
}  # fmt: skip
COMPARABLE: Row = {"item": "jug", "kind": "Sold", "price": 18, "seen_on": day(2, 1)}
FORMS: dict[str, Row] = {
    "Shelf": {
        "sold_1": 20, "sold_2": 22.5, "sold_3": 24, "sold_4": 26, "sold_5": 31, "comps_of": "P1",
        "postage_in": "Yes", "missing_value": 1.5, "postage": 4, "channel": "First site", "price_tag": 3.5,
        "category": "Books",
    },
    "Desk": {
        "item_no": "P1", "channel": "Booth", "title": "R\u00e9glisse in a brass box, lid missing",
        "box": "Small", "item_weight": 1.1, "service": "Near", "asking": 25.5,
        **{f"keyword_{number}": f"word{number}" for number in range(1, 13)},
        **{f"weight_{number}": number / 2 for number in range(1, 13)},
    },
}  # fmt: skip


def full_entries() -> Inputs:
    """Every input column is filled somewhere, and nothing is wrong."""
    return Inputs(
        dict(SETTINGS),
        {key: [dict(row) for row in rows] for key, rows in BLOCKS.items()},
        {
            "Plan": [
                CANDIDATE | {"postage": 3.5, "maximum": 2},
                CANDIDATE | {"item": "Jug", "price_tag": 0, "channel": "First site"},
            ],
            "Comps": [
                COMPARABLE | {
                    "item": "P1", "postage_in": "Yes", "postage": 3, "complete": "No",
                    "condition": "New", "seen_at": "a list", "my_condition": "Good",
                    "missing_parts": 2.5,
                },
                COMPARABLE | {"item": "P1", "price": 21, "condition": "Good"},
                COMPARABLE | {"item": "P1", "kind": "Asked", "price": 30, "postage": 4},
                dict(COMPARABLE),
            ],
            "Log": [
                ITEM | SALE | {
                    "item_no": "P1", "description": 'Réglisse & <Co> \u2013 "box"\nsecond line',
                    "missing": "lid", "purchase_tax": 0.55, "prep_cost": 1.2, "expected_price": 25,
                    "expected_postage": 4.1, "channel": "First site", "listed_on": day(1, 20),
                    "asking_price": 24.99, "postage_payer": "Buyer", "packed_weight": 1.25,
                    "length": 30.5, "width": 20, "height": 5.5, "tax_collected": 1.6,
                    "fee_charged": 3.9, "postage_paid": 4.05, "scale_weight": 1.3, "packaging": 0.35, "refund": 24,
                    "refunded_on": day(2, 20), "returned_on": day(2, 25), "disposition": "Relisted",
                    "disposition_date": day(2, 26),
                },
                ITEM | {"item_no": "P2", "paid_from": "Returned item", "bought_on": day(2, 26),
                         "paid": 8.25},
                LOT_ITEM | SALE | {"item_no": "P3", "description": "First of the lot"},
                LOT_ITEM | {"item_no": "P4", "disposition": "Personal use", "disposition_date": day(3, 1),
                             "taken_by": "Bo"},
                ITEM | {"item_no": "5", "paid": 0, "postage_payer": "Seller"},
            ],
            "Lots": [
                {"lot_no": "L-1", "description": "Two boxes", "bought_on": day(1, 12),
                 "bought_by": "Bo", "paid_from": "Bo", "found_at": "Auction", "paid": 15,
                 "purchase_tax": 0.01},
            ],
            "Expenses": [
                {"spent_on": day(1, 5), "heading": "Other", "description": "Table", "amount": 12.5,
                 "paid_from": "Ada"},
            ],
            "Trips": [
                {"driven_on": day(1, 10), "purpose": "Buying", "from_place": "Home",
                 "to_place": "Yard sales", "miles": 17.5},
            ],
            "Personal": [
                {"item": "Sofa", "whose": "Bo", "cost": 90, "channel": "Booth",
                 "sold_on": day(2, 2), "sale_price": 40, "shipping_charged": 5,
                 "tax_collected": 2.5, "selling_costs": 3},
                {"item": "Guitar", "cost": 10, "sold_on": day(2, 3), "sale_price": 30},
                {"item": "Desk", "cost": 0},
            ],
            "Owner": [
                {"moved_on": day(1, 2), "partner": "Ada", "put_in": 100, "note": "To start with"},
                {"moved_on": day(3, 1), "partner": "Bo", "took_out": 20},
                {"moved_on": day(3, 2), "cash_counted": 314.56},
            ],
        },
        {key: dict(cells) for key, cells in FORMS.items()},
    )  # fmt: skip


@dataclass(frozen=True)
class Mistake:
    """A row with something wrong: for each column the problem's key and words of its message."""

    sheet: str
    row: Row
    said: dict[str, tuple[str, str]]
    numbered: bool = True


def _item(change: Row, **said: tuple[str, str]) -> Mistake:
    return Mistake("Log", ITEM | change, said)


def _sale(change: Row, **said: tuple[str, str]) -> Mistake:
    return Mistake("Log", ITEM | SALE | change, said)


def _without(row: Row, *keys: str) -> Row:
    return {key: value for key, value in row.items() if key not in keys}


def _other(sheet: str, row: Row, **said: tuple[str, str]) -> Mistake:
    return Mistake(sheet, row, said, numbered=False)


EXPENSE: Row = {"spent_on": day(1, 5), "heading": "Other", "amount": 3, "paid_from": "Ada"}
TRIP: Row = {"driven_on": day(1, 10), "purpose": "Buying", "to_place": "Town", "miles": 3}
PUT_IN: Row = {"moved_on": day(1, 2), "partner": "Ada", "put_in": 5}
LOT: Row = {"bought_on": day(1, 12), "paid": 15}
THING: Row = {
    "item": "Sofa", "whose": "Ada", "cost": 9, "channel": "Booth", "sold_on": day(2, 2), "sale_price": 4,
}  # fmt: skip

MISTAKES: list[Mistake] = [
    _other("Plan", _without(CANDIDATE, "item"), item=("no_item", "Item is blank; the row")),
    _other("Plan", CANDIDATE | {"maximum": "two"}, maximum=("not_a_number", "'two' is not a number")),
    _other("Plan", CANDIDATE | {"price_tag": "4 EUR"}, price_tag=("not_a_number", "write 4")),
    _other("Plan", CANDIDATE | {"days_to_sell": "soon"}, days_to_sell=("not_a_number", "'soon'")),
    _other("Plan", CANDIDATE | {"postage": -3.5}, postage=("negative", "-3.5 is below 0")),
    _other("Plan", CANDIDATE | {"maximum": -1}, maximum=("negative", "-1 is below 0")),
    _other("Plan", CANDIDATE | {"price_tag": -4}, price_tag=("negative", "Price tag: -4 is below 0")),
    _other("Plan", _without(CANDIDATE, "price_tag"), price_tag=("no_price", "Price tag is blank")),
    _other(
        "Plan",
        _without(CANDIDATE, "price_tag", "expected_price"),
        price_tag=("no_price", "the plan needs both prices"),
        expected_price=("no_price", "Expected price is blank"),
    ),
    _other("Plan", CANDIDATE | {"channel": "Fair"}, channel=("no_channel", "'Fair' is not on")),
    _other("Plan", CANDIDATE | {"maximum": 1.5}, maximum=("not_whole", "1.5 is not a whole number")),
    _other(
        "Plan",
        _without(CANDIDATE, "days_to_sell"),
        days_to_sell=("no_days", "Days to sell is blank; the plan goes by profit per day (Settings)"),
    ),
    _other(
        "Plan",
        CANDIDATE | {"days_to_sell": 0},
        days_to_sell=("no_days", "Days to sell is 0; the plan goes by profit per day"),
    ),
    _other(
        "Plan",
        {"item": "Chest"},
        price_tag=("no_price", "is blank"),
        expected_price=("no_price", "is blank"),
        days_to_sell=("no_days", "is blank"),
    ),
    _other("Comps", _without(COMPARABLE, "item"), item=("no_item", "Item is blank; the row counts")),
    _other("Comps", {"seen_at": "a list"}, item=("no_item", "Item is blank")),
    _other("Comps", COMPARABLE | {"price": "18.-"}, price=("not_a_number", "'18.-' is not a")),
    _other("Comps", COMPARABLE | {"postage": "free"}, postage=("not_a_number", "'free' is not a")),
    _other("Comps", COMPARABLE | {"seen_on": "1.2.2026"}, seen_on=("not_a_date", "2026-02-01")),
    _other("Comps", COMPARABLE | {"price": -18}, price=("negative", "-18 is below 0")),
    _other(
        "Comps",
        COMPARABLE | {"item": "own", "missing_parts": -2},
        missing_parts=("negative", "Missing parts: -2 is below 0"),
    ),
    _other("Comps", COMPARABLE | {"postage": -3}, postage=("negative", "Postage: -3 is below 0")),
    _other("Comps", _without(COMPARABLE, "kind"), kind=("no_kind", "is blank; enter Sold or Asked")),
    _other("Comps", COMPARABLE | {"kind": "Bid"}, kind=("no_kind", "enter one of 'Sold', 'Asked'")),
    _other("Comps", _without(COMPARABLE, "price"), price=("no_price", "Price is blank; enter what")),
    _other("Comps", _without(COMPARABLE, "seen_on"), seen_on=("no_date", "newer sales count more")),
    # An offer may have no day: it weighs nothing.
    _other("Comps", _without(COMPARABLE, "seen_on") | {"kind": "Asked"}),
    _other(
        "Comps",
        COMPARABLE | {"postage_in": "Yes"},
        postage=("no_postage", "postage is in the price, so enter how much of it"),
    ),
    _other("Comps", COMPARABLE | {"postage_in": "Yes", "kind": "Asked"}),
    _other(
        "Comps",
        COMPARABLE | {"postage_in": "Ja"},
        postage_in=("no_yes_or_no", "'Ja' is not on the list; enter one of 'Yes', 'No'"),
    ),
    _other(
        "Comps",
        COMPARABLE | {"complete": "partly"},
        complete=("no_yes_or_no", "Complete: 'partly' is not on the list"),
    ),
    _other(
        "Comps",
        COMPARABLE | {"condition": "Mint"},
        condition=("no_condition", "enter one of 'New', 'Good', or add it on Settings"),
    ),
    _other(
        "Comps",
        _without(COMPARABLE, "item") | {"condition": "Mint"},
        item=("no_item", "Item is blank"),
        condition=("no_condition", "'Mint' is not on Settings"),
    ),
    _other(
        "Comps",
        COMPARABLE | {"item": "other", "my_condition": "Mint"},
        my_condition=("no_condition", "My condition: 'Mint' is not on Settings"),
    ),
    _other(
        "Comps",
        COMPARABLE | {"item": "JUG", "my_condition": "Good"},
        my_condition=("mine_below", "'Good' counts only in the first row of its item"),
    ),
    _other(
        "Comps",
        COMPARABLE | {"missing_parts": 2},
        missing_parts=("mine_below", "Missing parts: 2.00 counts only in the first row of its item"),
    ),
    _other("Comps", COMPARABLE | {"seen_on": day(4, 1)}, seen_on=("after_as_of", "2026-04-01 is")),
    _item({"paid": "$4.50"}, paid=("not_a_number", "Paid: '$4.50' is not a number; write 4.5")),
    _item({"paid": "4,50"}, paid=("not_a_number", "'4,50' is not a number; write 4.5")),
    _item({"paid": "1,234"}, paid=("not_a_number", "write 1234 or 1.234")),
    _item({"paid": "about 5"}, paid=("not_a_number", "'about 5' is not a number; write a number")),
    _item({"prep_cost": True}, prep_cost=("not_a_number", "TRUE is not a number")),
    _item({"packed_weight": "2 kg"}, packed_weight=("not_a_number", "'2 kg' is not a number")),
    _item({"length": "  "}, length=("only_spaces", "Length: holds only spaces; clear the cell")),
    _item(
        {"bought_on": "2026-01-31"},
        bought_on=("not_a_date", "it is text: enter 2026-01-31 again"),
    ),
    _item(
        {"bought_on": "3/4/26"}, bought_on=("not_a_date", "write 2026-03-04 or 2026-04-03")
    ),
    _item({"listed_on": "31.1.2026"}, listed_on=("not_a_date", "write 2026-01-31")),
    _item({"listed_on": "in May"}, listed_on=("not_a_date", "such as 2026-03-31")),
    _item({"paid": -5}, paid=("negative", "-5 is below 0; write 0 or more")),
    _sale({"postage_paid": -4.25}, postage_paid=("negative", "-4.25 is below 0")),
    Mistake("Log", ITEM, {"item_no": ("no_item", "Item no. is blank")}, numbered=False),
    Mistake(
        "Log",
        {"description": "A jug"},
        {"item_no": ("no_item", "Item no. is blank")},
        numbered=False,
    ),
    _item({"item_no": "m1"}, item_no=("item_twice", "'m1' is in row 7 and again in")),
    Mistake("Log", _without(ITEM, "bought_on"), {"bought_on": ("no_date", "Bought on is blank")}),
    Mistake("Log", _without(ITEM, "paid"), {"paid": ("no_paid", "enter 0 if the item was free")}),
    Mistake("Log", LOT_ITEM | {"lot_no": "L-9"}, {"lot_no": ("no_lot", "'L-9' is not on sheet")}),
    Mistake(
        "Log",
        LOT_ITEM | {"lot_no": "L-1 "},
        {"lot_no": ("no_lot", "'L-1 ' has a space at the end; enter 'L-1'")},
    ),
    Mistake("Log", LOT_ITEM | {"paid": 3}, {"paid": ("lot_and_paid", "3.00 is entered, but the item is part of lot")}),
    Mistake(
        "Log",
        LOT_ITEM | {"purchase_tax": 2},
        {"purchase_tax": ("lot_and_paid", "2.00 is entered, but the item is part of lot 'L-1', which paid for it")},
    ),
    Mistake(
        "Log",
        LOT_ITEM | {"paid": 4, "purchase_tax": 1},
        {"paid": ("lot_and_paid", "4.00 is entered, but the item is part of lot")},
    ),
    # A lot without a date gives its item none, so that nothing is early.
    Mistake("Log", LOT_ITEM | SALE | {"lot_no": "L-5"}, {}),
    Mistake("Log", {"lot_no": "L-1"}, {"expected_price": ("lot_no_value", "it sets the item's share")}),
    _item(
        {"paid_from": "Cash box"},
        paid_from=("no_source", "'Cash box' is not on Settings; enter one of 'Business', 'Returned"),
    ),
    _item({"bought_by": "Cy"}, bought_by=("no_partner", "enter one of 'Ada', 'Bo', or add it")),
    _sale(
        {"sold_on": day(1, 9)},
        sold_on=("sold_early", "2026-01-09 is before the day of purchase, 2026-01-10"),
    ),
    Mistake(
        "Log",
        LOT_ITEM | SALE | {"sold_on": day(1, 11)},
        {"sold_on": ("sold_early", "2026-01-11 is before the day of purchase, 2026-01-12")},
    ),
    Mistake(
        "Log",
        ITEM | _without(SALE, "sale_price"),
        {"sale_price": ("no_price", "Sale price is blank")},
    ),
    Mistake(
        "Log", ITEM | _without(SALE, "sold_on"), {"sold_on": ("no_sale_date", "Sold on is blank")}
    ),
    Mistake(
        "Log", ITEM | _without(SALE, "channel"), {"channel": ("no_channel", "Channel is blank")}
    ),
    _sale({"channel": "Booth "}, channel=("no_channel", "'Booth ' has a space at the end; enter")),
    _sale({"channel": " Booth"}, channel=("no_channel", "' Booth' has a space before it; enter")),
    _item(
        {"channel": "Nowhere"},
        channel=("no_channel", "'Nowhere' is not on Settings; enter one of 'Booth', 'First site'"),
    ),
    _sale({"refund": 24.01}, refund=("refund_high", "24.01 is more than price and shipping, 24.00")),
    _sale(
        {"refund": 5, "refunded_on": day(2, 9)},
        refunded_on=("refund_early", "2026-02-09 is before the day of the sale, 2026-02-10"),
    ),
    _sale(
        {"returned_on": day(2, 9), "refund": 24},
        returned_on=("refund_early", "Came back on: 2026-02-09"),
    ),
    _sale(
        {"returned_on": day(2, 20)},
        refund=("back_no_refund", "Refund is blank, but the item came back on 2026-02-20"),
    ),
    _sale(
        {"returned_on": day(2, 20), "refund": 0},
        refund=("back_no_refund", "Refund is 0.00, but the item came back on 2026-02-20"),
    ),
    _sale(
        {"refunded_on": day(2, 20)},
        refund=("refund_no_amount", "Refund is blank, but it was paid on 2026-02-20"),
    ),
    _item({"disposition": "Donated"}, disposition_date=("left_half", "Disposition date is blank")),
    _item({"disposition_date": day(2, 1)}, disposition=("left_half", "Disposition is blank")),
    _item(
        {"disposition": "Discarded", "disposition_date": day(1, 9)},
        disposition_date=("left_early", "2026-01-09 is before the day of purchase, 2026-01-10"),
    ),
    _sale(
        {"refund": 24, "returned_on": day(2, 20), "disposition": "Personal use", "disposition_date": day(2, 15)},
        disposition_date=("left_early", "2026-02-15 is before the item came back, 2026-02-20"),
    ),
    _sale(
        {"disposition": "Personal use", "disposition_date": day(2, 15)},
        disposition=("sold_and_left", "sold on 2026-02-10 and did not come back"),
    ),
    _item(
        {"disposition": "Lost", "disposition_date": day(2, 1)},
        disposition=("no_disposition", "'Lost' is not on the list; enter one of 'Personal use', 'Donated'"),
    ),
    _item(
        {"disposition": "Personal use", "disposition_date": day(2, 1), "taken_by": "Cy"},
        taken_by=("no_taker", "'Cy' is not on Settings; enter one of 'Ada', 'Bo', or add it"),
    ),
    _item(
        {"disposition": "Donated", "disposition_date": day(2, 1), "taken_by": "Ada"},
        taken_by=("taken_not_own", "Taken by: 'Ada' counts only with Personal use under Disposition"),
    ),
    _item({"postage_payer": "Me"}, postage_payer=("no_payer", "one of 'Buyer', 'Seller'")),
    _item({"bought_on": day(4, 1)}, bought_on=("after_as_of", "2026-04-01 is after the as-of date, 2026-03-31")),
    _sale(
        {"bought_on": dt.date(2025, 1, 1), "sold_on": dt.date(2025, 12, 31)},
        sold_on=("before_first", "2025-12-31 is before 2026-01-01, the first day of this log"),
    ),
    _other("Lots", LOT, lot_no=("no_item", "Lot no. is blank")),
    _other("Lots", LOT | {"lot_no": "l-1"}, lot_no=("item_twice", "is in row 7 and again")),
    _other("Lots", LOT | {"lot_no": "L-3", "paid": "12 EUR"}, paid=("not_a_number", "write 12")),
    _other(
        "Lots", LOT | {"lot_no": "L-3b", "bought_on": "12.1.2026"},
        bought_on=("not_a_date", "write 2026-12-01 or 2026-01-12"),
    ),
    _other("Lots", LOT | {"lot_no": "L-4", "purchase_tax": -1}, purchase_tax=("negative", "-1 is")),
    _other("Lots", {"lot_no": "L-5", "paid": 3}, bought_on=("no_date", "Bought on is blank")),
    _other("Lots", {"lot_no": "L-6", "bought_on": day(1, 2)}, paid=("no_paid", "Paid is blank")),
    _other(
        "Lots", LOT | {"lot_no": "L-7", "paid_from": "Cy"}, paid_from=("no_source", "'Cy' is not")
    ),
    _other("Lots", LOT | {"lot_no": "L-8"}, lot_no=("no_values", "none of the items of lot 'L-8'")),
    Mistake("Log", {"lot_no": "L-8"}, {"expected_price": ("lot_no_value", "is blank")}),
    _other("Lots", LOT | {"lot_no": "L-10", "bought_by": "Cy"}, bought_by=("no_partner", "'Cy'")),
    _other(
        "Lots",
        LOT | {"lot_no": "L-11", "bought_on": day(4, 1)},
        bought_on=("after_as_of", "2026-04-01 is after the as-of date, 2026-03-31"),
    ),
    _other(
        "Lots", LOT | {"lot_no": "L-12", "found_at": "=Mill"},
        found_at=("read_as_pattern", "'=Mill' contains =, which a spreadsheet reads as a wildcard"),
    ),
    _other("Expenses", _without(EXPENSE, "spent_on"), spent_on=("no_date", "Date is blank")),
    _other("Expenses", EXPENSE | {"amount": "5-"}, amount=("not_a_number", "'5-' is not a number")),
    _other("Expenses", EXPENSE | {"amount": -1}, amount=("negative", "-1 is below 0")),
    _other("Expenses", _without(EXPENSE, "amount"), amount=("no_paid", "Amount is blank")),
    _other("Expenses", _without(EXPENSE, "heading"), heading=("no_heading", "Heading is blank")),
    _other("Expenses", EXPENSE | {"heading": "Misc"}, heading=("no_heading", "'Misc' is not on")),
    _other("Expenses", EXPENSE | {"paid_from": "Cy"}, paid_from=("no_source", "'Cy' is not on")),
    _other("Expenses", EXPENSE | {"spent_on": day(5, 1)}, spent_on=("after_as_of", "2026-05-01 is")),
    _other(
        "Expenses",
        EXPENSE | {"spent_on": dt.date(2025, 5, 1)},
        spent_on=("before_first", "2025-05-01 is before 2026-01-01"),
    ),
    _other("Trips", _without(TRIP, "driven_on"), driven_on=("no_date", "Date is blank")),
    _other("Trips", TRIP | {"miles": "3 mi"}, miles=("not_a_number", "'3 mi' is not a number")),
    _other("Trips", TRIP | {"miles": -3}, miles=("negative", "-3 is below 0")),
    _other("Trips", _without(TRIP, "purpose"), purpose=("not_recorded", "Purpose is blank")),
    _other("Trips", _without(TRIP, "to_place"), to_place=("not_recorded", "To is blank")),
    _other("Trips", _without(TRIP, "miles"), miles=("not_recorded", "Miles is blank")),
    _other(
        "Trips",
        TRIP | {"driven_on": dt.date(2025, 12, 31)},
        driven_on=("no_rate", "no rate per mile for 2025-12-31"),
    ),
    _other("Trips", TRIP | {"driven_on": day(4, 1)}, driven_on=("after_as_of", "2026-04-01 is")),
    _other("Personal", _without(THING, "item"), item=("no_item", "Item is blank; the row counts only")),
    _other("Personal", _without(THING, "cost"), cost=("no_cost", "Original cost is blank; gain or loss")),
    _other("Personal", THING | {"cost": "9 EUR"}, cost=("not_a_number", "write 9")),
    _other("Personal", THING | {"sold_on": "soon"}, sold_on=("not_a_date", "'soon' is not a date")),
    _other("Personal", THING | {"selling_costs": -1}, selling_costs=("negative", "-1 is below 0")),
    _other("Personal", THING | {"cost": -1}, cost=("negative", "Original cost: -1 is below 0")),
    _other("Personal", _without(THING, "sold_on"), sold_on=("no_sale_date", "Sold on is blank; the sale")),
    _other("Personal", _without(THING, "sale_price"), sale_price=("no_price", "Sale price is blank")),
    _other("Personal", THING | {"whose": "Cy"}, whose=("no_owner", "Whose: 'Cy' is not on Settings")),
    _other("Personal", THING | {"channel": "Fair"}, channel=("no_channel", "'Fair' is not on Settings")),
    _other("Personal", THING | {"sold_on": day(4, 1)}, sold_on=("after_as_of", "2026-04-01 is after")),
    _other("Owner", _without(PUT_IN, "moved_on"), moved_on=("no_date", "Date is blank")),
    _other("Owner", PUT_IN | {"put_in": "5 EUR"}, put_in=("not_a_number", "write 5")),
    _other("Owner", PUT_IN | {"took_out": -1}, took_out=("negative", "-1 is below 0")),
    _other("Owner", _without(PUT_IN, "partner"), partner=("no_partner", "Partner is blank")),
    _other("Owner", PUT_IN | {"partner": "Cy"}, partner=("no_partner", "'Cy' is not on Settings")),
    _other("Owner", PUT_IN | {"moved_on": day(4, 1)}, moved_on=("after_as_of", "2026-04-01")),
    _other(
        "Owner", PUT_IN | {"moved_on": dt.date(2025, 4, 1)}, moved_on=("before_first", "2025-04-01")
    ),
]  # fmt: skip


@dataclass(frozen=True)
class FormMistake:
    """A cell of a form with something wrong: the problem's key, and words of its message."""

    form: str
    cell: str
    typed: Any
    key: str
    words: str


FORM_MISTAKES: list[FormMistake] = [
    FormMistake("Shelf", "sold_1", "20 EUR", "not_a_number", "Sold price 1: '20 EUR' is not a"),
    FormMistake("Shelf", "sold_3", -5, "negative", "Sold price 3: -5 is below 0; write 0 or more"),
    FormMistake("Shelf", "missing_value", " ", "only_spaces", "Missing parts, value: holds only spaces"),
    FormMistake("Shelf", "postage", "4,50", "not_a_number", "Postage: '4,50' is not a number"),
    FormMistake("Shelf", "postage_in", "maybe", "unknown_choice", "enter one of 'Yes', 'No'"),
    FormMistake("Shelf", "channel", "Fair", "unknown_choice", "enter one of 'Booth', 'First site'"),
    FormMistake("Shelf", "price_tag", True, "not_a_number", "Price tag: TRUE is not a number"),
    FormMistake("Desk", "item_no", "none", "unknown_choice", "Item no.: 'none' is not on"),
    FormMistake("Desk", "channel", "booth ", "unknown_choice", "has a space at the end; enter 'Boot"),
    FormMistake("Desk", "box", "Crate", "unknown_choice", "enter one of 'Small', 'Tube'"),
    FormMistake("Desk", "service", "Air", "unknown_choice", "Postage service: 'Air' is not on"),
    FormMistake("Desk", "item_weight", -1, "negative", "Weight of the item: -1 is below 0"),
    FormMistake("Desk", "asking", "$25", "not_a_number", "Price plus shipping: '$25' is not a"),
    FormMistake("Desk", "weight_1", "much", "not_a_number", "'much' is not a number"),
    FormMistake("Desk", "weight_2", -2, "negative", "-2 is below 0"),
]
FORM_CELLS_THAT_ARE_FREE = {"Shelf": {"category": "Odds", "comps_of": "not there"}}


def mistaken_entries() -> tuple[Inputs, list[tuple[int, Mistake]]]:
    """A log with all mistakes, and the row of its sheet in which each stands."""
    rows: dict[str, list[dict[str, Any]]] = {
        "Plan": [dict(CANDIDATE)],
        "Comps": [dict(COMPARABLE)],
        "Log": [ITEM | {"item_no": "M1"}, LOT_ITEM | {"item_no": "M2"}],
        "Lots": [LOT | {"lot_no": "L-1"}],
        "Expenses": [dict(EXPENSE)],
        "Trips": [dict(TRIP)],
        "Personal": [dict(THING)],
        "Owner": [dict(PUT_IN)],
    }
    placed = []
    for mistake in MISTAKES:
        of_sheet = rows[mistake.sheet]
        number = {"item_no": f"M{len(of_sheet) + 1}"} if mistake.numbered else {}
        of_sheet.append(number | mistake.row)
        placed.append((6 + len(of_sheet), mistake))
    forms = {
        form: {mistake.cell: mistake.typed for mistake in FORM_MISTAKES if mistake.form == form}
        | FORM_CELLS_THAT_ARE_FREE.get(form, {})
        for form in FORMS
    }
    return Inputs(dict(SETTINGS), BLOCKS, rows, forms), placed
