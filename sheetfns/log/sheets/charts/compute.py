"""Sheet Charts worked out in Python, apart from the formulas."""

from __future__ import annotations

import math
from typing import Any

import pandas as pd

from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.lookups import typed_setting
from sheetfns.log.sheets.words import CHART_MONTHS, MONTHS


def work_out_charts(content: LogContent, pieces: pd.DataFrame, months: pd.DataFrame, pay: pd.DataFrame) -> pd.DataFrame:
    """The sentences of Charts and the figures that its charts show, in one row."""
    on_sheet = months.iloc[:MONTHS].reset_index(drop=True)
    shown = on_sheet.tail(CHART_MONTHS)
    of_pay = pay.iloc[0]
    count = len(on_sheet)
    days = typed_setting(content, "Stale_days") or 0.0
    stale = math.nan
    age_says = "Write Stale after on Settings."
    if days >= 1:
        stale = float(pieces.loc[pieces["days_waiting"] >= days, "cost_on_hand"].sum())
        age_says = f"Of stock at cost {of_pay['stock_now']:,.2f}, {stale:,.2f} has waited {days:.0f} days or more."
    found: dict[str, Any] = {
        "months": float(count),
        "cash_now": of_pay["cash"],
        "stock_now": of_pay["stock_now"],
        "profit_so_far": on_sheet["profit_so_far"].iloc[-1] if count else math.nan,
        "break_even_says": of_pay["month_words"],
        "outlook_says": of_pay["outlook_words"] or of_pay["pay_words"],
        "stale_cost": stale,
        "age_says": age_says,
    }
    found["money_says"] = found["profit_says"] = "No month yet."
    if count:
        found["money_says"] = (
            f"Cash {found['cash_now']:,.2f} and stock at cost {found['stock_now']:,.2f} on the day "
            "that figures are as of."
        )
        words = "1 month." if count == 1 else f"{count} months."
        found["profit_says"] = f"Net profit so far {found['profit_so_far']:,.2f}, in {words}"
    before = count - len(shown)
    for place in range(1, CHART_MONTHS + 1):
        row = shown.iloc[place - 1] if place <= len(shown) else None
        found[f"month_{place}"] = pd.NaT if row is None else row["month"]
        found[f"month_row_{place}"] = math.nan if row is None else float(before + place)
        for key, column in (("cash", "closing_cash"), ("stock", "closing_stock"), ("profit", "profit")):
            found[f"{key}_{place}"] = math.nan if row is None else row[column]
    return pd.DataFrame([found | _break_even(of_pay)])


def _break_even(pay: pd.Series[Any]) -> dict[str, float]:
    """The ends of the lines of the break-even chart, and its two points."""
    even = pay["break_even_pieces"]
    ends = (0.0, 2 * max(1.0, 0.0 if math.isnan(even) else even, pay["month_pieces"]))
    found: dict[str, float] = {
        "even_sold": 0.0 if math.isnan(even) else even,
        "even_sales": 0.0 if math.isnan(even) else pay["break_even_sales"],
        "now_sold": pay["month_pieces"],
        "now_sales": pay["month_sales"],
    }
    known = not math.isnan(pay["contribution"])
    for place, sold in enumerate(ends, 1):
        costs = pay["fixed_costs"] + pay["variable_cost"] * sold
        found |= {
            f"sold_{place}": sold,
            f"sales_{place}": pay["price"] * sold if known else math.nan,
            f"costs_{place}": costs if known else math.nan,
            f"fixed_{place}": pay["fixed_costs"] if known else math.nan,
        }
    return found
