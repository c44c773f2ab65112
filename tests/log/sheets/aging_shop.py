"""A small shop whose inventory, stale inventory and prices are worked out by hand."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pandas as pd

from sheetfns.log.compare import compare
from sheetfns.log.compute import LogResults, compute_log
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import log_layout

AS_OF = dt.date(2026, 4, 30)
IN_MONTH = 365 / 12


def day(month: int, number: int) -> dt.date:
    return dt.date(2026, month, number)


def ago(days: int) -> dt.date:
    return AS_OF - dt.timedelta(days=days)


def bought(item: str, on: dt.date, paid: float, category: str, place: str, **more: Any) -> Row:
    return {
        "item_no": item, "bought_on": on, "paid": paid, "category": category, "found_at": place,
    } | more  # fmt: skip


def listed(on: dt.date, asking: float | None, channel: str = "Booth") -> Row:
    return {"listed_on": on, "asking_price": asking, "channel": channel}


def sold(on: dt.date, price: float, channel: str = "Booth", **more: Any) -> Row:
    return {"sold_on": on, "sale_price": price, "channel": channel} | more


def hand_made(**settings: Any) -> Inputs:
    """90 days are counted: from January 31 to April 30."""
    barn, auction = "Barn sale", "Auction"
    return Inputs(
        settings={
            "First_month": day(1, 1), "As_of_date": AS_OF, "Opening_cash": 200,
            "Usual_packaging": 0.5, "Average_days": 90, "Stale_days": 60,
        } | settings,
        blocks={"Channel": [{"name": "Site", "rate": 0.1, "per_order": 0.3}, {"name": "Booth"}]},
        rows={
            "Log": [
                # On hand for 30, 31, 60, 61, 90 and 91 days; A3 was free, A6 asks for a loss.
                bought("A1", day(3, 31), 4, "Books", barn, **listed(day(4, 1), 20, "Site")),
                bought("A2", day(3, 30), 6, "Tools", barn),
                bought("A3", day(3, 1), 0, "", ""),
                bought("A4", day(2, 28), 5, "books", " barn  SALE ", **listed(day(3, 1), 15)),
                bought("A5", day(1, 30), 6, "Tools", auction, **listed(day(1, 30), 10, "Site")),
                bought("A6", day(1, 29), 7, "Lamps", auction, **listed(day(1, 29), 5)),
                # A lot of 9.00 by 10 and 20: 3.00 waits, 6.00 sold after 30 days for 16.
                {"item_no": "L1a", "lot_no": "L1", "expected_price": 10, "category": "Books"},
                {"item_no": "L1b", "lot_no": "L1", "expected_price": 20, "category": "Books",
                 **sold(day(3, 12), 16)},
                bought("D1", day(2, 3), 2, "", barn, disposition="Discarded", disposition_date=day(3, 5)),
                bought("R1", day(2, 1), 3, "Tools", auction, listed_on=day(2, 2),
                       **sold(day(2, 20), 12, refund=12, refunded_on=day(3, 1),
                              returned_on=day(3, 1))),
                # Sold before the days that are counted, and on the last of them.
                bought("S1", day(1, 5), 5, "Books", barn, **sold(day(1, 20), 25)),
                bought("S2", day(4, 1), 10, "Tools", barn,
                       **sold(AS_OF, 40, "Site", postage_paid=5)),
                bought("O1", day(2, 5), 1.5, "Books", barn, disposition="Personal use",
                       disposition_date=day(2, 25)),
                bought("M1", day(2, 15), 2, "Books", barn, **listed(day(2, 15), None)),
                bought("C1", day(2, 20), 3, "Lamps", "Attic", **listed(day(2, 20), 9, "")),
            ],
            "Lots": [
                {"lot_no": "L1", "bought_on": day(2, 10), "paid": 9, "found_at": auction},
                {"lot_no": "L2", "bought_on": day(4, 20), "paid": 8, "found_at": auction},
            ],
        },
    )  # fmt: skip


def agreed(content: LogContent) -> LogContent:
    """The content of a whole log, once the two sheets were found to show what Python works out."""
    figures = compute_log(content)
    assert compare(figures, sheets=("Inventory", "Stale")).differences == []
    return words_agree(figures)


def words_agree(figures: LogResults) -> LogContent:
    content = figures.content
    # The comparison leaves out keys that are steps on other forms.
    shown = content.shown["Inventory"].iloc[0]
    for cell in log_layout().form("Inventory").cells():
        if cell.role == "result" and cell.kind.holds == "text":
            assert shown[cell.key] == figures["Inventory"].iloc[0][cell.key], cell.key
    assert not [p for p in content.problems if p.sheet in ("Inventory", "Stale inventory")]
    return content


def several(inventory: Any, *keys: str) -> list[Any]:
    return [None if pd.isna(inventory[key]) else inventory[key] for key in keys]
