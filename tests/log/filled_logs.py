"""Logs for the tests of the reader: one with every column filled, one with every mistake."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from sheetfns.log.entries import Entries, Row


def day(month: int, number: int) -> dt.date:
    return dt.date(2026, month, number)


SETTINGS: Row = {
    "Shop_name": "Two Attics",
    "Currency": "EUR",
    "As_of_date": day(3, 31),
    "First_month": day(1, 1),
    "Opening_cash": 250.75,
    "Usual_packing": 0.4,
    "Weight_unit": "kg",
    "Length_unit": "cm",
    "Tax_year": 2026,
    "Lines_change": 2025,
}
BLOCKS: dict[str, list[Row]] = {
    "Partner": [{"name": "Ada", "share": 0.6}, {"name": "Bo", "share": 0.4}],
    "Channel": [
        {"name": "Stall", "rate": 0, "per_order": 0},
        {"name": "First site", "rate": 0.1325, "per_order": 0.4, "tax_rate": 0.08,
         "band_limit": 60, "rate_above": 0.0235, "least": 0.3, "most": 50, "ad_rate": 0.02},
    ],
    "Heading": [
        {"heading": "Supplies", "line_old": "22", "line_new": "22", "from_log": "packing",
         "note": "Boxes, tape"},
        {"heading": "Other", "line_old": "27a", "line_new": "27b"},
        {"heading": "Selling", "line_old": "10", "line_new": "10", "from_log": "fees"},
        {"heading": "Labels", "line_old": "18", "line_new": "18", "from_log": "postage"},
        {"heading": "Car", "line_old": "9", "line_new": "9", "from_log": "miles"},
    ],
    "Mileage": [
        {"from": day(1, 1), "until": day(6, 30), "rate": 0.7, "source": "invented for a test"},
        {"from": day(7, 1), "until": day(12, 31), "rate": 0.725, "source": "invented for a test"},
    ],
    "Category": [{"name": "Books"}, {"name": "Tools"}],
    "Condition": [{"name": "Good"}],
}  # fmt: skip

PIECE: Row = {
    "bought_on": day(1, 10), "bought_by": "Ada", "paid_from": "Business", "found_at": "Yard sale",
    "category": "Books", "condition": "Good", "paid": 6.5,
}  # fmt: skip
SALE: Row = {"channel": "Stall", "sold_on": day(2, 10), "sale_price": 20, "shipping_charged": 4}
LOT_PIECE: Row = {"lot_no": "L-1", "expected_price": 10}


def full_entries() -> Entries:
    """Every input column is filled somewhere, and nothing is wrong."""
    return Entries(
        dict(SETTINGS),
        {key: [dict(row) for row in rows] for key, rows in BLOCKS.items()},
        {
            "Log": [
                PIECE | SALE | {
                    "item_no": "P1", "description": 'Réglisse & <Co> \u2013 "box"\nsecond line',
                    "missing": "lid", "purchase_tax": 0.55, "prep_cost": 1.2, "expected_price": 25,
                    "expected_postage": 4.1, "channel": "First site", "listed_on": day(1, 20),
                    "asking_price": 24.99, "postage_payer": "Buyer", "packed_weight": 1.25,
                    "length": 30.5, "width": 20, "height": 5.5, "tax_collected": 1.6,
                    "fee_charged": 3.9, "postage_paid": 4.05, "packing": 0.35, "refund": 24,
                    "refunded_on": day(2, 20), "returned_on": day(2, 25), "left_how": "Relisted",
                    "left_on": day(2, 26),
                },
                PIECE | {"item_no": "P2", "paid_from": "Returned piece", "bought_on": day(2, 26),
                         "paid": 8.25},
                LOT_PIECE | SALE | {"item_no": "P3", "description": "First of the lot"},
                LOT_PIECE | {"item_no": "P4", "left_how": "Own use", "left_on": day(3, 1)},
                PIECE | {"item_no": "5", "paid": 0, "postage_payer": "Seller"},
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
            "Owner": [
                {"moved_on": day(1, 2), "partner": "Ada", "put_in": 100, "note": "To start with"},
                {"moved_on": day(3, 1), "partner": "Bo", "took_out": 20},
                {"moved_on": day(3, 2), "cash_counted": 314.56},
            ],
        },
    )  # fmt: skip


@dataclass(frozen=True)
class Mistake:
    """A row with something wrong: for each column the problem's key and words of its message."""

    sheet: str
    row: Row
    said: dict[str, tuple[str, str]]
    numbered: bool = True


def _piece(change: Row, **said: tuple[str, str]) -> Mistake:
    return Mistake("Log", PIECE | change, said)


def _sale(change: Row, **said: tuple[str, str]) -> Mistake:
    return Mistake("Log", PIECE | SALE | change, said)


def _without(row: Row, *keys: str) -> Row:
    return {key: value for key, value in row.items() if key not in keys}


def _other(sheet: str, row: Row, **said: tuple[str, str]) -> Mistake:
    return Mistake(sheet, row, said, numbered=False)


EXPENSE: Row = {"spent_on": day(1, 5), "heading": "Other", "amount": 3, "paid_from": "Ada"}
TRIP: Row = {"driven_on": day(1, 10), "purpose": "Buying", "to_place": "Town", "miles": 3}
PUT_IN: Row = {"moved_on": day(1, 2), "partner": "Ada", "put_in": 5}
LOT: Row = {"bought_on": day(1, 12), "paid": 15}

MISTAKES: list[Mistake] = [
    _piece({"paid": "$4.50"}, paid=("not_a_number", "Paid: '$4.50' is not a number; write 4.5")),
    _piece({"paid": "4,50"}, paid=("not_a_number", "'4,50' is not a number; write 4.5")),
    _piece({"paid": "1,234"}, paid=("not_a_number", "write 1234 or 1.234")),
    _piece({"paid": "about 5"}, paid=("not_a_number", "'about 5' is not a number; write a number")),
    _piece({"prep_cost": True}, prep_cost=("not_a_number", "TRUE is not a number")),
    _piece({"packed_weight": "2 kg"}, packed_weight=("not_a_number", "'2 kg' is not a number")),
    _piece({"length": "  "}, length=("only_spaces", "Length: holds only spaces; clear the cell")),
    _piece(
        {"bought_on": "2026-01-31"},
        bought_on=("not_a_date", "it is text: type 2026-01-31 again"),
    ),
    _piece(
        {"bought_on": "3/4/26"}, bought_on=("not_a_date", "write 2026-03-04 or 2026-04-03")
    ),
    _piece({"listed_on": "31.1.2026"}, listed_on=("not_a_date", "write 2026-01-31")),
    _piece({"listed_on": "in May"}, listed_on=("not_a_date", "such as 2026-03-31")),
    _piece({"paid": -5}, paid=("negative", "-5 is below 0; write 0 or more")),
    _sale({"postage_paid": -4.25}, postage_paid=("negative", "-4.25 is below 0")),
    Mistake("Log", PIECE, {"item_no": ("no_item", "Item no. is blank")}, numbered=False),
    Mistake(
        "Log",
        {"description": "A jug"},
        {"item_no": ("no_item", "Item no. is blank")},
        numbered=False,
    ),
    _piece({"item_no": "m1"}, item_no=("item_twice", "'m1' stands in row 7 already and again in")),
    Mistake("Log", _without(PIECE, "bought_on"), {"bought_on": ("no_date", "Bought on is blank")}),
    Mistake("Log", _without(PIECE, "paid"), {"paid": ("no_paid", "write 0 if the piece was free")}),
    Mistake("Log", LOT_PIECE | {"lot_no": "L-9"}, {"lot_no": ("no_lot", "'L-9' is not on sheet")}),
    Mistake(
        "Log",
        LOT_PIECE | {"lot_no": "L-1 "},
        {"lot_no": ("no_lot", "'L-1 ' has a blank at the end; write 'L-1'")},
    ),
    Mistake("Log", LOT_PIECE | {"paid": 3}, {"paid": ("lot_and_paid", "3.00 is typed though lot")}),
    Mistake(
        "Log",
        LOT_PIECE | {"purchase_tax": 2},
        {"purchase_tax": ("lot_and_paid", "2.00 is typed though lot 'L-1' paid for the piece")},
    ),
    Mistake(
        "Log",
        LOT_PIECE | {"paid": 4, "purchase_tax": 1},
        {"paid": ("lot_and_paid", "4.00 is typed though lot")},
    ),
    # A lot without a date gives its piece none, so that nothing is early.
    Mistake("Log", LOT_PIECE | SALE | {"lot_no": "L-5"}, {}),
    Mistake("Log", {"lot_no": "L-1"}, {"expected_price": ("lot_no_value", "takes its share")}),
    _piece(
        {"paid_from": "Cash box"},
        paid_from=("no_source", "'Cash box' is not on Settings; write one of 'Business', 'Returned"),
    ),
    _piece({"bought_by": "Cy"}, bought_by=("no_partner", "write one of 'Ada', 'Bo', or add it")),
    _sale(
        {"sold_on": day(1, 9)},
        sold_on=("sold_early", "2026-01-09 is before the day of purchase, 2026-01-10"),
    ),
    Mistake(
        "Log",
        LOT_PIECE | SALE | {"sold_on": day(1, 11)},
        {"sold_on": ("sold_early", "2026-01-11 is before the day of purchase, 2026-01-12")},
    ),
    Mistake(
        "Log",
        PIECE | _without(SALE, "sale_price"),
        {"sale_price": ("no_price", "Sale price is blank")},
    ),
    Mistake(
        "Log", PIECE | _without(SALE, "sold_on"), {"sold_on": ("no_sale_date", "Sold on is blank")}
    ),
    Mistake(
        "Log", PIECE | _without(SALE, "channel"), {"channel": ("no_channel", "Channel is blank")}
    ),
    _sale({"channel": "Stall "}, channel=("no_channel", "'Stall ' has a blank at the end; write")),
    _sale({"channel": " Stall"}, channel=("no_channel", "' Stall' has a blank before it; write")),
    _piece(
        {"channel": "Nowhere"},
        channel=("no_channel", "'Nowhere' is not on Settings; write one of 'Stall', 'First site'"),
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
        refund=("back_no_refund", "Refund is blank, but the piece came back on 2026-02-20"),
    ),
    _sale(
        {"returned_on": day(2, 20), "refund": 0},
        refund=("back_no_refund", "Refund is 0.00, but the piece came back on 2026-02-20"),
    ),
    _sale(
        {"refunded_on": day(2, 20)},
        refund=("refund_no_amount", "Refund is blank, but it was paid on 2026-02-20"),
    ),
    _piece({"left_how": "Donated"}, left_on=("left_half", "Left on is blank")),
    _piece({"left_on": day(2, 1)}, left_how=("left_half", "Left how is blank")),
    _piece(
        {"left_how": "Discarded", "left_on": day(1, 9)},
        left_on=("left_early", "2026-01-09 is before the day of purchase, 2026-01-10"),
    ),
    _sale(
        {"refund": 24, "returned_on": day(2, 20), "left_how": "Own use", "left_on": day(2, 15)},
        left_on=("left_early", "2026-02-15 is before the piece came back, 2026-02-20"),
    ),
    _sale(
        {"left_how": "Own use", "left_on": day(2, 15)},
        left_how=("sold_and_left", "sold on 2026-02-10 and did not come back"),
    ),
    _piece(
        {"left_how": "Lost", "left_on": day(2, 1)},
        left_how=("no_left_how", "'Lost' is not on the list; write one of 'Own use', 'Donated'"),
    ),
    _piece({"postage_payer": "Me"}, postage_payer=("no_payer", "one of 'Buyer', 'Seller'")),
    _piece({"bought_on": day(4, 1)}, bought_on=("after_as_of", "2026-04-01 is after 2026-03-31")),
    _sale(
        {"bought_on": dt.date(2025, 1, 1), "sold_on": dt.date(2025, 12, 31)},
        sold_on=("before_first", "2025-12-31 is before 2026-01-01, with which this log begins"),
    ),
    _other("Lots", LOT, lot_no=("no_item", "Lot no. is blank")),
    _other("Lots", LOT | {"lot_no": "l-1"}, lot_no=("item_twice", "stands in row 7 already")),
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
    _other("Lots", LOT | {"lot_no": "L-8"}, lot_no=("no_values", "none of the pieces of lot 'L-8'")),
    Mistake("Log", {"lot_no": "L-8"}, {"expected_price": ("lot_no_value", "is blank")}),
    _other("Lots", LOT | {"lot_no": "L-10", "bought_by": "Cy"}, bought_by=("no_partner", "'Cy'")),
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


def mistaken_entries() -> tuple[Entries, list[tuple[int, Mistake]]]:
    """A log with all mistakes, and the row of its sheet in which each stands."""
    rows: dict[str, list[dict[str, Any]]] = {
        "Log": [PIECE | {"item_no": "M1"}, LOT_PIECE | {"item_no": "M2"}],
        "Lots": [LOT | {"lot_no": "L-1"}],
        "Expenses": [dict(EXPENSE)],
        "Trips": [dict(TRIP)],
        "Owner": [dict(PUT_IN)],
    }
    placed = []
    for mistake in MISTAKES:
        of_sheet = rows[mistake.sheet]
        number = {"item_no": f"M{len(of_sheet) + 1}"} if mistake.numbered else {}
        of_sheet.append(number | mistake.row)
        placed.append((6 + len(of_sheet), mistake))
    return Entries(dict(SETTINGS), BLOCKS, rows), placed
