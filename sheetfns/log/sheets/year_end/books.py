"""Every row of a log that counts in one tax year, and for which figure."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import layout
from sheetfns.log.sheets.words import DONATED, OWN_USE
from sheetfns.money import round_money

COLUMNS: Final = ("figure", "day", "sheet", "sheet_row", "item", "what", "amount")
_SHEETS: Final = {key: layout().table(key).name for key in ("Log", "Lots", "Expenses", "Trips", "Own")}


@dataclass(frozen=True)
class YearBooks:
    """What a tax year is worked out from: the sheets with their results."""

    content: LogContent
    pieces: pd.DataFrame
    lots: pd.DataFrame
    expenses: pd.DataFrame
    trips: pd.DataFrame
    own: pd.DataFrame
    months: pd.DataFrame


@dataclass(frozen=True)
class Span:
    """The days of a tax year."""

    year: int

    @property
    def first(self) -> dt.date:
        """The first of January."""
        return dt.date(self.year, 1, 1)

    @property
    def last(self) -> dt.date:
        """The last of December."""
        return dt.date(self.year, 12, 31)

    def holds(self, days: pd.Series[Any]) -> pd.Series[bool]:
        """Which days are in it."""
        after = pd.Timestamp(self.last) + pd.Timedelta(days=1)
        return (days >= pd.Timestamp(self.first)) & (days < after)


def contributing_rows(books: YearBooks, year: int) -> pd.DataFrame:
    """The rows that figures of a tax year are the sums of.

    Returns:
        figure: the key of the figure; entered_1 and so on for expenses by the place of their
        heading; day, sheet, sheet_row, item (its number, or the lot's), what (in words), amount.
    """
    span = Span(year)
    gathered = [
        *_of_pieces(books, span),
        *_of_lots(books, span),
        *_stock(books, "opening_stock", pd.Timestamp(span.first)),
        *_stock(books, "closing_stock", pd.Timestamp(span.last) + pd.Timedelta(days=1)),
        *_of_expenses(books, span),
        _rows(
            "log_miles",
            "Trips",
            books.trips,
            (books.trips["driven_on"], books.trips["deduction"], books.trips["purpose"]),
            span.holds(books.trips["driven_on"]),
        ),
    ]
    filled = [rows for rows in gathered if len(rows)]
    if not filled:
        return pd.DataFrame(columns=list(COLUMNS))
    return pd.concat(filled, ignore_index=True)


def _rows(
    figure: str,
    sheet: str,
    frame: pd.DataFrame,
    columns: tuple[pd.Series[Any], pd.Series[Any], pd.Series[Any]],
    chosen: pd.Series[Any],
) -> pd.DataFrame:
    """Rows of one sheet under one figure; `columns` are day, amount and words."""
    day, amount, what = columns
    chosen = chosen & amount.notna() & (amount != 0)
    item = frame.get("item_no", frame.get("lot_no"))
    return pd.DataFrame(
        {
            "figure": figure,
            "day": day[chosen],
            "sheet": _SHEETS[sheet],
            "sheet_row": frame.loc[chosen, "sheet_row"],
            "item": "" if item is None else item[chosen],
            "what": what[chosen],
            "amount": amount[chosen].astype(float),
        }
    )


def _of_pieces(books: YearBooks, span: Span) -> list[pd.DataFrame]:
    pieces = books.pieces
    words = pieces["description"]
    prep = pieces["prep_cost"].fillna(0)
    bought = pd.Series(round_money((pieces["outlay"] - prep).to_numpy(float)), pieces.index)
    used = pieces["landed_cost"].where(pieces["left_how"].isin((OWN_USE, DONATED)))
    return [
        _rows(figure, "Log", pieces, (pieces[day], amount, words), span.holds(pieces[day]))
        for figure, day, amount in (
            ("gross_receipts", "sold_on", pieces["income"]),
            ("returns", "refund_day", pieces["refund"]),
            ("purchases", "stock_date", bought),
            ("materials", "stock_date", prep),
            ("own_use", "left_on", used),
            ("log_fees", "sold_on", pieces["fee"]),
            ("log_postage", "sold_on", pieces["postage_used"]),
            ("log_packing", "sold_on", pieces["packing_used"]),
        )
    ]


def _of_lots(books: YearBooks, span: Span) -> list[pd.DataFrame]:
    lots = books.lots
    day = lots["bought_on"]
    return [_rows("purchases", "Lots", lots, (day, lots["total"], lots["description"]), span.holds(day))]


def _stock(books: YearBooks, figure: str, before: pd.Timestamp) -> list[pd.DataFrame]:
    """Pieces on hand before a day, at landed cost, and lots not shared out yet."""
    pieces, lots = books.pieces, books.lots
    number = sum(
        sign * (pieces[day] < before).astype(int)
        for sign, day in ((1, "stock_date"), (-1, "sold_on"), (1, "returned_on"), (-1, "left_on"))
    )
    cost = pieces["landed_cost"] * number
    everywhere = pd.Series(np.ones(len(pieces), dtype=bool), pieces.index)
    waiting = lots["bought_on"] < before
    return [
        _rows(figure, "Log", pieces, (pieces["stock_date"], cost, pieces["description"]), everywhere),
        _rows(
            figure,
            "Lots",
            lots,
            (lots["bought_on"], lots["not_shared"], lots["description"] + ", not shared out yet"),
            waiting,
        ),
    ]


def _of_expenses(books: YearBooks, span: Span) -> list[pd.DataFrame]:
    expenses = books.expenses
    names = expenses["heading"].str.casefold()
    found = []
    for place, heading in heading_places(books.content):
        chosen = span.holds(expenses["spent_on"]) & (names == heading.casefold())
        columns = (expenses["spent_on"], expenses["amount"], expenses["description"])
        found.append(_rows(f"entered_{place}", "Expenses", expenses, columns, chosen))
    return found


def heading_places(content: LogContent) -> list[tuple[int, str]]:
    """The named expense headings with their places in the table on Settings, from 1."""
    headings = content.blocks["Heading"]["heading"]
    places = content.places_in_block("Heading")
    return [(place, name) for place, name in zip(places, headings, strict=True) if name]
