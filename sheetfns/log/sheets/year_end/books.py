"""Every row of a log that counts in one tax year, and for which figure."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.model.reads import Amount, Block, Results, SettingValue, Unread
from sheetfns.log.sheets.words import DONATED, PERSONAL_USE
from sheetfns.money import round_money

COLUMNS: Final = ("figure", "day", "sheet", "sheet_row", "item", "what", "amount")
_SHEETS: Final = {"Log": "Sourcing log", "Lots": "Lots", "Expenses": "Expenses", "Trips": "Trips"}


@dataclass(frozen=True)
class YearReads:
    """What a tax year is worked out from."""

    log: Annotated[pd.DataFrame, Results("Log")]
    lots: Annotated[pd.DataFrame, Results("Lots")]
    expenses: Annotated[pd.DataFrame, Results("Expenses")]
    trips: Annotated[pd.DataFrame, Results("Trips")]
    own: Annotated[pd.DataFrame, Results("Personal")]
    months: Annotated[pd.DataFrame, Results("Money", "month", "profit", "closing_inventory")]
    headings: Annotated[pd.DataFrame, Block("Heading")]
    mileage: Annotated[pd.DataFrame, Block("Mileage")]
    tax_figures: Annotated[pd.DataFrame, Block("TaxFigure")]
    by_year: Annotated[pd.DataFrame, Block("ByYear")]
    partners: Annotated[pd.DataFrame, Block("Partner")]
    partners_unread: Annotated[Mapping[tuple[int, str], Any], Unread("Partner")]
    taxes: Annotated[pd.DataFrame, Block("Taxes")]
    due: Annotated[pd.DataFrame, Block("Due")]
    channels: Annotated[pd.DataFrame, Block("Channel")]
    reported: Annotated[pd.DataFrame, Block("Reported")]
    rules: Annotated[str | None, SettingValue("Year_rules")]
    currency: Annotated[str | None, SettingValue("Currency")]
    shop: Annotated[str | None, SettingValue("Shop_name")]
    as_of: Annotated[dt.date, SettingValue("Figures_until")]
    tax_year: Annotated[float, Amount("Tax_year")]


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


def rows_to_fix(trips: pd.DataFrame, year: int) -> pd.Series[bool]:
    """The trips of a tax year, and those without a date, that need fixing."""
    days = trips["driven_on"]
    return (trips["findings"] != "") & (days.isna() | Span(year).holds(days))


def contributing_rows(reads: YearReads, year: int) -> pd.DataFrame:
    """The rows that figures of a tax year are the sums of.

    Returns:
        figure: the key of the figure; entered_1 and so on for expenses by the place of their
        heading; day, sheet, sheet_row, item (its number, or the lot's), what (in words), amount.
    """
    span = Span(year)
    gathered = [
        *_of_items(reads, span),
        *_of_lots(reads, span),
        *_inventory(reads, "opening_inventory", pd.Timestamp(span.first)),
        *_inventory(reads, "closing_inventory", pd.Timestamp(span.last) + pd.Timedelta(days=1)),
        *_of_expenses(reads, span),
        _rows(
            "log_miles",
            "Trips",
            reads.trips,
            (reads.trips["driven_on"], reads.trips["deduction"], reads.trips["purpose"]),
            span.holds(reads.trips["driven_on"]),
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


def _of_items(reads: YearReads, span: Span) -> list[pd.DataFrame]:
    items = reads.log
    words = items["description"]
    prep = items["prep_cost"].fillna(0)
    bought = pd.Series(round_money((items["outlay"] - prep).to_numpy(float)), items.index)
    used = items["landed_cost"].where(items["disposition"].isin((PERSONAL_USE, DONATED)))
    return [
        _rows(figure, "Log", items, (items[day], amount, words), span.holds(items[day]))
        for figure, day, amount in (
            ("gross_receipts", "sold_on", items["income"]),
            ("returns", "refund_day", items["refund"]),
            ("purchases", "inventory_date", bought),
            ("materials", "inventory_date", prep),
            ("personal_use", "disposition_date", used),
            ("log_fees", "sold_on", items["fee"]),
            ("log_postage", "sold_on", items["postage_used"]),
            ("log_packaging", "sold_on", items["packaging_used"]),
        )
    ]


def _of_lots(reads: YearReads, span: Span) -> list[pd.DataFrame]:
    lots = reads.lots
    day = lots["bought_on"]
    return [_rows("purchases", "Lots", lots, (day, lots["total"], lots["description"]), span.holds(day))]


def _inventory(reads: YearReads, figure: str, before: pd.Timestamp) -> list[pd.DataFrame]:
    """Items on hand before a day, at landed cost, and lots not shared out yet."""
    items, lots = reads.log, reads.lots
    number = sum(
        sign * (items[day] < before).astype(int)
        for sign, day in ((1, "inventory_date"), (-1, "sold_on"), (1, "returned_on"), (-1, "disposition_date"))
    )
    cost = items["landed_cost"] * number
    everywhere = pd.Series(np.ones(len(items), dtype=bool), items.index)
    waiting = lots["bought_on"] < before
    return [
        _rows(figure, "Log", items, (items["inventory_date"], cost, items["description"]), everywhere),
        _rows(
            figure,
            "Lots",
            lots,
            (lots["bought_on"], lots["not_shared"], lots["description"] + ", not split yet"),
            waiting,
        ),
    ]


def _of_expenses(reads: YearReads, span: Span) -> list[pd.DataFrame]:
    expenses = reads.expenses
    names = expenses["heading"].str.casefold()
    found = []
    for place, heading in heading_places(reads.headings):
        chosen = span.holds(expenses["spent_on"]) & (names == heading.casefold())
        columns = (expenses["spent_on"], expenses["amount"], expenses["description"])
        found.append(_rows(f"entered_{place}", "Expenses", expenses, columns, chosen))
    return found


def heading_places(headings: pd.DataFrame) -> list[tuple[int, str]]:
    """The named expense headings with their rows in the table on Settings, from 1."""
    return [(place, name) for place, name in zip(headings["place"], headings["heading"], strict=True) if name]
