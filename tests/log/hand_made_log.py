"""A small log worked out by hand: every state of an item, two calendar years, a lot, a cash count."""

from __future__ import annotations

import datetime as dt

from sheetfns.log.model.inputs import Inputs
from sheetfns.log.read.content import LogContent

D = dt.date


def hand_made() -> Inputs:
    return Inputs(
        settings={
            "First_month": D(2025, 11, 1),
            "As_of_date": D(2026, 2, 28),
            "Tax_year": 2025,
            "Opening_cash": 100.0,
            "Usual_packaging": 0.5,
        },
        blocks={
            "Partner": [{"name": "Ada", "share": 0.6}, {"name": "Bo", "share": 0.4}],
            "Channel": [
                {"name": "Site", "rate": 0.1, "per_order": 0.3},
                {"name": "Booth"},
            ],
        },
        rows={
            "Log": [
                # 0: sold in November at a profit; fee 0.1 x 24 + 0.3 = 2.70
                {"item_no": "A1", "bought_on": D(2025, 11, 3), "paid": 5.0, "purchase_tax": 0.35,
                 "channel": "Site", "listed_on": D(2025, 11, 4), "sold_on": D(2025, 11, 20),
                 "sale_price": 20.0, "shipping_charged": 4.0, "tax_collected": 1.7,
                 "postage_paid": 4.25, "packaging": 0.4},
                # 1: sold in December, refunded in part in January; the fee on the statement wins
                {"item_no": "A2", "bought_on": D(2025, 11, 3), "paid": 8.0, "paid_from": "Bo",
                 "channel": "Site", "sold_on": D(2025, 12, 30), "sale_price": 30.0,
                 "fee_charged": 3.31, "postage_paid": 6.0, "refund": 10.0,
                 "refunded_on": D(2026, 1, 5)},
                # 2: sold in December, came back in January with all money, relisted as A4
                {"item_no": "A3", "bought_on": D(2025, 12, 1), "paid": 7.0, "channel": "Booth",
                 "sold_on": D(2025, 12, 13), "sale_price": 15.0, "refund": 15.0,
                 "refunded_on": D(2026, 1, 10), "returned_on": D(2026, 1, 10),
                 "disposition": "Relisted", "disposition_date": D(2026, 1, 10)},
                {"item_no": "A4", "bought_on": D(2026, 1, 10), "paid": 7.0,
                 "paid_from": "Returned item", "prep_cost": 1.0, "expected_price": 18.0},
                # 4, 5, 6: a lot of 10.00 by 5, 5, 5 -> 3.34, 3.33, 3.33
                {"item_no": "L1a", "lot_no": "L1", "expected_price": 5.0, "disposition": "Personal use",
                 "disposition_date": D(2025, 12, 24)},
                {"item_no": "L1b", "lot_no": "L1", "expected_price": 5.0, "disposition": "Discarded",
                 "disposition_date": D(2026, 2, 1)},
                {"item_no": "L1c", "lot_no": "L1", "expected_price": 5.0, "channel": "Site",
                 "asking_price": 9.0, "expected_postage": 3.0, "postage_payer": "Buyer"},
                # 7: donated; 8: free, sold at the booth for all of its price
                {"item_no": "A5", "bought_on": D(2025, 12, 2), "paid": 2.0, "disposition": "Donated",
                 "disposition_date": D(2025, 12, 20)},
                {"item_no": "A6", "bought_on": D(2025, 12, 2), "paid": 0.0, "channel": "Booth",
                 "sold_on": D(2026, 2, 2), "sale_price": 6.0},
            ],
            "Lots": [{"lot_no": "L1", "bought_on": D(2025, 12, 5), "paid": 9.5, "purchase_tax": 0.5,
                      "paid_from": "Ada"}],
            "Expenses": [
                {"spent_on": D(2025, 12, 9), "heading": "Advertising", "amount": 12.0},
                {"spent_on": D(2026, 1, 9), "heading": "Other expenses", "amount": 3.0,
                 "paid_from": "Ada"},
            ],
            "Trips": [
                {"driven_on": D(2025, 12, 5), "purpose": "Auction", "to_place": "Barn",
                 "miles": 30.0},
                {"driven_on": D(2026, 1, 5), "purpose": "Post", "to_place": "Town", "miles": 10.5},
            ],
            "Owner": [
                {"moved_on": D(2025, 11, 1), "partner": "Ada", "put_in": 50.0},
                {"moved_on": D(2026, 2, 15), "partner": "Bo", "took_out": 20.0},
                {"moved_on": D(2025, 11, 30), "cash_counted": 161.30},
            ],
        },
    )  # fmt: skip


def failing(content: LogContent) -> dict[str, float]:
    """The checks that fail, with their counts."""
    checks = content.shown["Data checks"]
    counts: dict[str, float] = checks[checks["count"] > 0].set_index("key")["count"].to_dict()
    return counts
