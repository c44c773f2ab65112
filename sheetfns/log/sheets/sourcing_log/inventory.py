"""The workings of inventory: what is on hand, what waits too long, what items tell of the past."""

from __future__ import annotations

import datetime as dt
from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.sheets.lookups import looked_up
from sheetfns.log.sheets.words import DISCARDED, DONATED, KEY_STEP, NO_PLACE, PERSONAL_USE, RELISTED, ROW_ONE
from sheetfns.money import round_money

_CHANGES: Final = ((1, "inventory_date"), (-1, "sold_on"), (1, "returned_on"), (-1, "disposition_date"))
"""How the number of an item on hand changes with the days of its row."""
_HIGHEST_SCORE: Final = 9999


def inventory_at_cost(log: pd.DataFrame, lots: pd.DataFrame, day: dt.date | pd.Timestamp) -> float:
    """Landed cost of the items on hand at the end of a day, and of lots not shared out yet."""
    next_day = pd.Timestamp(day).normalize() + pd.Timedelta(days=1)
    cost = log["landed_cost"].fillna(0) * _on_hand(log, next_day)
    waiting = float(lots.loc[lots["bought_on"] < next_day, "not_shared"].sum())
    return float(round_money(float(cost.sum()) + waiting))


def _on_hand(log: pd.DataFrame, next_day: pd.Timestamp) -> pd.Series[float]:
    """How many of each item are on hand when a day begins: 1 or 0."""
    number = pd.Series(0.0, log.index)
    for sign, changed_on in _CHANGES:
        number = number + sign * (log[changed_on] < next_day)
    return number


def inventory_columns(
    log: pd.DataFrame, place_of_lot: pd.Series[str], as_of: pd.Timestamp, stale_days: float
) -> pd.DataFrame:
    """What sheets Pay, Inventory, Stale inventory and Forecast look at.

    Args:
        log: the items with their cost and results.
        place_of_lot: where each lot was found, by its number.
        as_of: the day that figures are as of.
        stale_days: from how many days on an item has waited too long.
    """
    named, known = log["item_no"] != "", log["net_profit"].notna()
    kept = known & log["returned_on"].isna()
    on_hand = _on_hand(log, as_of + pd.Timedelta(days=1)).where(named)
    begun = log["listed_on"].fillna(log["inventory_date"]).dt.normalize()
    waiting = (as_of - begun).dt.days.where(on_hand == 1).astype(float)
    order = KEY_STEP - log["sheet_row"]
    columns = {
        "kept": kept.astype(float).where(named),
        "net_sales": (log["income"] - log["refund"].fillna(0)).where(known),
        "on_hand": on_hand,
        "cost_on_hand": on_hand * log["landed_cost"],
        "days_waiting": waiting,
        "stale_key": (waiting * KEY_STEP + order).where(waiting >= stale_days),
    }
    history = _history(log, kept=kept)
    return pd.DataFrame(columns).join(history).join(_places(log.join(history), place_of_lot, order))


def _history(log: pd.DataFrame, *, kept: pd.Series[bool]) -> pd.DataFrame:
    """What each item tells of how money comes back."""
    how, cost = log["disposition"], log["landed_cost"]
    incomplete = log["sold_on"].notna() & log["net_profit"].isna()
    tells = (log["item_no"] != "") & (log["days_held"] >= 0) & ~how.isin((PERSONAL_USE, DONATED)) & ~incomplete
    tied_up = cost.mask(how == RELISTED, 0 * cost).where(tells)
    tells = tied_up.notna()
    days = log["days_held"].where(tells)
    columns = {
        "history_cost": tied_up,
        "history_profit": (log["net_profit"].fillna(0) - tied_up.where(how == DISCARDED, 0.0)).where(tells),
        "history_days": days,
        "history_over": (kept | how.isin((DISCARDED, RELISTED))).astype(float).where(tells),
        "cost_days": tied_up * days.clip(lower=1),
    }
    return pd.DataFrame(columns)


def _places(log: pd.DataFrame, place_of_lot: pd.Series[str], order: pd.Series[Any]) -> pd.DataFrame:
    """Where items were found, and the order of places by what a unit of money earned a day."""
    lot_place = looked_up(log["lot_no"], place_of_lot).fillna("").map(_trimmed).where(log["lot_no"] != "", "")
    found_at = log["found_at"].map(_trimmed)
    place = found_at.mask(found_at == "", lot_place).replace("", NO_PLACE).where(log["item_no"] != "", "")
    place_row, place_key = pd.Series(np.nan, log.index), pd.Series(np.nan, log.index)
    for _, of_place in log[place != ""].groupby(place.str.casefold(), sort=False):
        earned = of_place["history_profit"].sum() / max(1.0, of_place["cost_days"].sum())
        score = float(np.clip(earned, -_HIGHEST_SCORE, _HIGHEST_SCORE))
        first = of_place.index[0]
        place_row[of_place.index] = of_place.loc[first, "sheet_row"] - float(ROW_ONE)
        place_key[first] = float(round_money(score * 1e6, 0)) * KEY_STEP + order[first]
    return pd.DataFrame(
        {"lot_place": lot_place, "place": place, "place_row": place_row, "place_key": place_key}, log.index
    )


def _trimmed(text: str) -> str:
    """Without blanks at its ends, and one between words."""
    return " ".join(word for word in text.split(" ") if word)
