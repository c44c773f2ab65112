"""One tax year's figures of a log, worked out in Python from its rows."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

import pandas as pd

from sheetfns.log.figures import LogFigures
from sheetfns.log.figures_stock import stock_at_cost
from sheetfns.log.layout import DISCARDED, DONATED, OWN_USE
from sheetfns.money import round_money


@dataclass(frozen=True)
class YearTotals:
    """The lines of a tax year.

    Attributes:
        amounts: by key, as on sheet Year end: gross_receipts, returns, ... net_profit.
        headings: heading, line, from_log, entered, amount for each expense heading.
    """

    year: int
    amounts: dict[str, float]
    headings: pd.DataFrame


def year_totals(figures: LogFigures, year: int) -> YearTotals:
    """The figures of one tax year; an empty year gives zeros."""
    content, pieces, lots = figures.content, figures.pieces, figures.lots
    first, last = dt.date(year, 1, 1), dt.date(year, 12, 31)

    def total(amounts: pd.Series[Any], days: pd.Series[Any]) -> float:
        return float(amounts[days.dt.year == year].sum())

    def left(how: str) -> float:
        chosen = pieces[pieces["left_how"] == how]
        return total(chosen["landed_cost"], chosen["left_on"])

    amounts = {
        "gross_receipts": total(pieces["income"], pieces["sold_on"]),
        "returns": total(pieces["refund"], pieces["refund_day"]),
        "opening_stock": stock_at_cost(pieces, lots, first - dt.timedelta(days=1)),
        "purchases": total(pieces["outlay"], pieces["stock_date"])
        + total(lots["total"], lots["bought_on"]),
        "own_use": left(OWN_USE) + left(DONATED),
        "closing_stock": stock_at_cost(pieces, lots, last),
        "log_fees": total(pieces["fee"], pieces["sold_on"]),
        "log_postage": total(pieces["postage_used"], pieces["sold_on"]),
        "log_packing": total(pieces["packing_used"], pieces["sold_on"]),
        "log_miles": total(figures.trips["deduction"], figures.trips["driven_on"]),
        "discarded": left(DISCARDED),
    }
    amounts["net_receipts"] = amounts["gross_receipts"] - amounts["returns"]
    amounts["net_purchases"] = amounts["purchases"] - amounts["own_use"]
    amounts["available"] = amounts["opening_stock"] + amounts["net_purchases"]
    amounts["cost_of_goods_sold"] = amounts["available"] - amounts["closing_stock"]
    amounts["gross_profit"] = amounts["net_receipts"] - amounts["cost_of_goods_sold"]
    headings = content.blocks["Heading"]
    headings = headings[headings["heading"] != ""].copy()
    change = int(content.settings["Lines_change"])
    headings["line"] = headings["line_old" if year < change else "line_new"]
    headings["from_log"] = [
        amounts.get(f"log_{word}", 0.0) if word else 0.0 for word in headings["from_log"]
    ]
    expenses = figures.expenses
    in_year = expenses[expenses["spent_on"].dt.year == year]
    spent = in_year.groupby("heading")["amount"].sum()
    headings["entered"] = headings["heading"].map(spent).fillna(0.0)
    headings["amount"] = headings["from_log"] + headings["entered"]
    amounts["total_expenses"] = float(headings["amount"].sum())
    net = float(round_money(amounts["gross_profit"] - amounts["total_expenses"]))
    amounts["net_profit"] = net
    amounts = {key: float(round_money(amount)) for key, amount in amounts.items()}
    columns = ["heading", "line", "from_log", "entered", "amount"]
    return YearTotals(year, amounts, headings[columns])
