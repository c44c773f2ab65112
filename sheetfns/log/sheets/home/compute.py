"""Sheet Home worked out in Python, apart from the formulas."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final

import pandas as pd

from sheetfns.log.model.reads import Block, FormInputs, Results, SettingValue, Unread
from sheetfns.log.sheets.home.layout import NEXT_STEPS
from sheetfns.log.sheets.home.ways import GROUPS
from sheetfns.log.sheets.lookups import of_form
from sheetfns.log.sheets.words import A_CHANNEL, A_PARTNER, LOG, PAYMENTS, SETTINGS, SHELF, YEAR_END

_MONTH_DAYS: Final = 365 / 12
"""Days after which cash should be counted again. Rule of this log, no source."""


@dataclass(frozen=True)
class Reads:
    """What sheet Home is worked out from."""

    log: Annotated[pd.DataFrame, Results("Log", "sheet_row", "stage", "next_step")]
    months: Annotated[pd.DataFrame, Results("Money", "month", "profit")]
    pay: Annotated[pd.DataFrame, Results("Pay")]
    partners: Annotated[pd.DataFrame, Block("Partner")]
    channels: Annotated[pd.DataFrame, Block("Channel")]
    due: Annotated[pd.DataFrame, Block("Due")]
    shelf: Annotated[dict[str, Any], FormInputs("Shelf")]
    until: Annotated[dt.date, SettingValue("Figures_until")]
    shop_name: Annotated[str | None, SettingValue("Shop_name")]
    default_channel: Annotated[str | None, SettingValue("Default_channel", as_typed=True)]
    opening_cash: Annotated[float | None, SettingValue("Opening_cash")]
    buying_tax: Annotated[float | None, SettingValue("Buying_tax_rate")]
    unread: Annotated[Mapping[tuple[int, str], Any], Unread("Settings")]


def compute(reads: Reads) -> pd.DataFrame:
    """The figures of today, what to do next and the words of the links, in one row."""
    pay = of_form(reads.pay)
    items = int(reads.log["stage"].notna().sum())
    month_start = pd.Timestamp(reads.until.year, reads.until.month, 1)
    profit, month = reads.months["profit"].astype(float), pd.to_datetime(reads.months["month"])
    this_month = float(profit[month == month_start].sum())
    cells: dict[str, Any] = {
        "answer": _answer(items, this_month),
        "cash": pay["cash"],
        "inventory": pay["inventory_now"],
        "profit_month": this_month,
        "profit_year": round(float(profit[month >= pd.Timestamp(reads.until.year, 1, 1)].sum()), 2),
        "take_out": pay["safe_draw"],
        **_first_steps(reads, items),
        **_next_steps(reads.log),
        **_count(pay["count_age"]),
        **_due(reads.due, reads.until),
        "items": float(items),
    }
    for key in ("open_refunds", "bills_due"):
        cells |= {f"{key}_amount": pay[key], f"{key}_link": SETTINGS if pay[key] else ""}
    for number, (_, sheets) in enumerate(GROUPS, 1):
        cells |= {f"way_{number}_{place}": sheet for place, sheet in enumerate(sheets, 1)}
    return pd.DataFrame([cells])


def _answer(items: int, this_month: float) -> str:
    if not items:
        return "Begin with the three steps below"
    did = "lost" if round(this_month, 2) < 0 else "earned"
    return f"This month {did} {abs(this_month):,.2f}"


def _first_steps(reads: Reads, items: int) -> dict[str, str]:
    own_names = [
        any(name and name.casefold() != usual.casefold() for name in block["name"])
        for block, usual in ((reads.partners, A_PARTNER), (reads.channels, A_CHANNEL))
    ]
    amounts = {"Opening_cash": reads.opening_cash, "Buying_tax_rate": reads.buying_tax}
    typed = [value is not None or (0, name) in reads.unread for name, value in amounts.items()]
    filled = [bool(reads.shop_name), *own_names, bool(reads.default_channel), *typed]
    tagged = reads.shelf.get("price_tag") not in (None, "")
    return {
        "settings_filled": f"{sum(filled)} of {len(filled)}",
        "settings_link": SETTINGS,
        "shelf_filled": "price tag entered" if tagged else "no price tag",
        "shelf_link": SHELF,
        "items_filled": f"{items} item" if items == 1 else f"{items} items",
        "log_link": LOG,
    }


def _next_steps(log: pd.DataFrame) -> dict[str, Any]:
    """For each kind how many rows ask for it, and the first of them."""
    found: dict[str, Any] = {}
    for key, step, _ in NEXT_STEPS:
        rows = log.loc[log["next_step"] == step, "sheet_row"]
        first = float(rows.min()) if len(rows) else math.nan
        found |= {
            f"{key}_count": float(len(rows)),
            f"{key}_link": f"{LOG}, row {first:.0f}" if len(rows) else "",
            f"{key}_words": step,
            f"{key}_row": first,
        }
    return found


def _count(age: float) -> dict[str, Any]:
    """When cash was counted last."""
    fresh = not math.isnan(age) and age <= _MONTH_DAYS
    days = "today" if age == 0 else f"{age:.0f} day" if age == 1 else f"{age:.0f} days"
    says = "never" if math.isnan(age) else days
    return {"count_says": says, "count_fresh": float(fresh), "count_link": "" if fresh else "Owner money: count it"}


def _due(due: pd.DataFrame, until: dt.date) -> dict[str, Any]:
    """The next day on which a payment of estimated tax is due."""
    days = pd.concat([pd.to_datetime(due[f"day_{n}"]) for n in range(1, PAYMENTS + 1)]).dropna()
    later = days[days >= pd.Timestamp(until)]
    return {"due_on": later.min() if len(later) else pd.NaT, "due_link": YEAR_END}
