"""Sheet Charts worked out in Python, apart from the formulas."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final

import pandas as pd

from sheetfns.log.model.reads import Results, SettingValue, Unread
from sheetfns.log.sheets.charts.layout import LEGEND
from sheetfns.log.sheets.lookups import as_typed, of_form
from sheetfns.log.sheets.words import CHART_MONTHS

_BY_MONTH: Final = {"cash": "closing_cash", "inventory": "closing_inventory", "profit": "profit"}


@dataclass(frozen=True)
class Reads:
    """What sheet Charts is worked out from."""

    log: Annotated[pd.DataFrame, Results("Log", "days_waiting", "cost_on_hand")]
    months: Annotated[pd.DataFrame, Results("Money", "month", "profit_so_far", *_BY_MONTH.values())]
    pay: Annotated[pd.DataFrame, Results("Pay")]
    stale_days: Annotated[float | None, SettingValue("Stale_days")]
    currency: Annotated[str | None, SettingValue("Currency")]
    unread: Annotated[Mapping[tuple[int, str], Any], Unread("Settings")]


def compute(reads: Reads) -> pd.DataFrame:
    """The sentences of Charts and the figures that its charts show, in one row."""
    months = reads.months
    pay = of_form(reads.pay)
    count = len(months)
    cash, inventory = pay["cash"], pay["inventory_now"]
    profit = months["profit_so_far"].iloc[-1] if count else math.nan
    money_says = profit_says = "No month yet."
    if count:
        money_says = f"Cash {cash:,.2f} and inventory at cost {inventory:,.2f} on the as-of date."
        profit_says = f"Net profit so far {profit:,.2f}, in {'1 month' if count == 1 else f'{count} months'}."
    cells = {
        "months": float(count),
        "cash_now": cash,
        "inventory_now": inventory,
        "profit_so_far": profit,
        "money_says": money_says,
        "profit_says": profit_says,
        "break_even_says": pay["month_words"],
        "forecast_says": pay["forecast_words"] or pay["pay_words"],
        **_stale(reads.log, as_typed(reads.unread, "Stale_days", reads.stale_days) or 0.0, inventory),
        **_last_months(months),
        **_break_even(pay),
    }
    cells |= _shown(cells)
    cells |= {f"{key}_legend": f"{says}, {reads.currency}" if reads.currency else says for key, says in LEGEND.items()}
    return pd.DataFrame([cells])


def _shown(cells: Mapping[str, Any]) -> dict[str, float]:
    """What charts show of a month in columns or labels of their own."""
    found: dict[str, float] = {}
    for place in range(1, CHART_MONTHS + 1):
        profit, latest = cells[f"profit_{place}"], cells[f"month_row_{place}"] == cells["months"]
        found[f"earned_{place}"] = profit if profit >= 0 else math.nan
        found[f"lost_{place}"] = profit if profit < 0 else math.nan
        found[f"latest_{place}"] = profit if latest else math.nan
        found[f"latest_total_{place}"] = cells[f"cash_{place}"] + cells[f"inventory_{place}"] if latest else math.nan
    return found


def _stale(log: pd.DataFrame, days: float, inventory: float) -> dict[str, Any]:
    """How much of the inventory has waited so many days."""
    if not days >= 1:
        return {"stale_cost": math.nan, "age_says": "Enter Stale after on Settings."}
    stale = float(log.loc[log["days_waiting"] >= days, "cost_on_hand"].sum())
    says = f"Of inventory at cost {inventory:,.2f}, {stale:,.2f} has waited {days:.0f} days or more."
    return {"stale_cost": stale, "age_says": says}


def _last_months(months: pd.DataFrame) -> dict[str, Any]:
    """The last months, as many as a chart shows."""
    before = max(0, len(months) - CHART_MONTHS)
    found: dict[str, Any] = {}
    for place in range(1, CHART_MONTHS + 1):
        there = before + place <= len(months)
        row = months.iloc[before + place - 1] if there else dict.fromkeys(_BY_MONTH.values(), math.nan)
        found[f"month_{place}"] = row["month"] if there else pd.NaT
        found[f"month_row_{place}"] = float(before + place) if there else math.nan
        found |= {f"{key}_{place}": row[column] for key, column in _BY_MONTH.items()}
    return found


def _break_even(pay: Mapping[str, Any]) -> dict[str, float]:
    """The ends of the lines of the break-even chart, and its two points."""
    known = not math.isnan(pay["break_even_items"])
    even = pay["break_even_items"] if known else 0.0
    found: dict[str, float] = {
        "even_sold": even,
        "even_sales": pay["break_even_sales"] if known else 0.0,
        "now_sold": pay["month_items"],
        "now_sales": pay["month_sales"],
    }
    fixed_costs = math.nan if math.isnan(pay["contribution"]) else pay["fixed_costs"]
    for place, sold in enumerate((0.0, 2 * max(1.0, even, pay["month_items"])), 1):
        found |= {
            f"sold_{place}": sold,
            f"sales_{place}": pay["price"] * sold,
            f"costs_{place}": fixed_costs + pay["variable_cost"] * sold,
            f"fixed_{place}": fixed_costs,
        }
    return found
