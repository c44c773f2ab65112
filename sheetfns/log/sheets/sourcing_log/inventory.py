"""The workings of stock: what is on hand, what waits too long, what pieces tell of the past."""

from __future__ import annotations

import datetime as dt
from typing import Final

import numpy as np
import pandas as pd

from sheetfns.log.model.sheets import FIRST_ROW
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.lookups import KEY_STEP, looked_up, setting
from sheetfns.log.sheets.words import DISCARDED, DONATED, NO_PLACE, OWN_USE, RELISTED
from sheetfns.money import round_money

_HIGHEST_SCORE: Final = 9999


def stock_at_cost(pieces: pd.DataFrame, lots: pd.DataFrame, day: dt.date | pd.Timestamp) -> float:
    """Landed cost of the pieces on hand at the end of a day, and of lots not shared out yet."""
    last = pd.Timestamp(day).normalize() + pd.Timedelta(days=1)
    cost = pieces["landed_cost"].fillna(0)
    on_hand = (
        (pieces["stock_date"] < last).astype(float)
        - (pieces["sold_on"] < last)
        + (pieces["returned_on"] < last)
        - (pieces["left_on"] < last)
    )
    waiting = float(lots.loc[lots["bought_on"] < last, "not_shared"].sum())
    return float(round_money(float((cost * on_hand).sum()) + waiting))


def add_stock_columns(content: LogContent, pieces: pd.DataFrame, lots: pd.DataFrame) -> None:
    """Add what sheets Pay, Stock, Stale stock and Outlook look at to the pieces."""
    as_of = pd.Timestamp(content.settings["As_of_date"]).normalize()
    named = pieces["item_no"] != ""
    known = pieces["net_profit"].notna()
    kept = known & pieces["returned_on"].isna()
    pieces["kept"] = kept.astype(float).where(named)
    pieces["net_sales"] = (pieces["income"] - pieces["refund"].fillna(0)).where(known)
    on_hand = pd.Series(0.0, pieces.index)
    for sign, day in ((1, "stock_date"), (-1, "sold_on"), (1, "returned_on"), (-1, "left_on")):
        on_hand += sign * (pieces[day].dt.normalize() <= as_of)
    pieces["on_hand"] = on_hand.where(named)
    pieces["cost_on_hand"] = pieces["on_hand"] * pieces["landed_cost"]
    begun = pieces["listed_on"].fillna(pieces["stock_date"]).dt.normalize()
    pieces["days_waiting"] = (as_of - begun).dt.days.where(pieces["on_hand"] == 1).astype(float)
    order = KEY_STEP - pieces["sheet_row"]
    stale = pieces["days_waiting"] >= setting(content, "Stale_days")
    pieces["stale_key"] = (pieces["days_waiting"] * KEY_STEP + order).where(stale)
    _add_history(pieces, kept=kept, named=named)
    _add_places(pieces, lots, order)


def _add_history(pieces: pd.DataFrame, *, kept: pd.Series[bool], named: pd.Series[bool]) -> None:
    """What each piece tells of how money comes back."""
    how = pieces["left_how"]
    incomplete = pieces["sold_on"].notna() & pieces["net_profit"].isna()
    tells = named & (pieces["days_held"] >= 0) & ~how.isin((OWN_USE, DONATED)) & ~incomplete
    pieces["history_cost"] = pieces["landed_cost"].mask(how == RELISTED, 0 * pieces["landed_cost"])
    pieces["history_cost"] = pieces["history_cost"].where(tells)
    tells = pieces["history_cost"].notna()
    lost = pieces["history_cost"].where(how == DISCARDED, 0.0)
    pieces["history_profit"] = (pieces["net_profit"].fillna(0) - lost).where(tells)
    pieces["history_days"] = pieces["days_held"].where(tells)
    over = kept | how.isin((DISCARDED, RELISTED))
    pieces["history_over"] = over.astype(float).where(tells)
    pieces["cost_days"] = pieces["history_cost"] * pieces["history_days"].clip(lower=1)


def _add_places(pieces: pd.DataFrame, lots: pd.DataFrame, order: pd.Series[int]) -> None:
    """Where pieces were found, and the order of places by what a unit of money earned a day."""
    first_lots = lots.drop_duplicates("lot_no").set_index("lot_no")
    of_lot = looked_up(pieces["lot_no"], first_lots["found_at"]).fillna("").map(_trimmed)
    pieces["lot_place"] = of_lot = of_lot.where(pieces["lot_no"] != "", "")
    found_at = pieces["found_at"].map(_trimmed)
    pieces["place"] = found_at.mask(found_at == "", of_lot).replace("", NO_PLACE)
    pieces["place"] = pieces["place"].where(pieces["item_no"] != "", "")
    groups = pieces[pieces["place"] != ""].groupby(pieces["place"].str.casefold(), sort=False)
    pieces["place_row"] = pieces["place_key"] = np.nan
    for _, of_place in groups:
        earned = of_place["history_profit"].sum() / max(1.0, of_place["cost_days"].sum())
        score = np.clip(earned, -_HIGHEST_SCORE, _HIGHEST_SCORE)
        first = of_place.index[0]
        pieces.loc[of_place.index, "place_row"] = pieces.loc[first, "sheet_row"] - FIRST_ROW + 1.0
        pieces.loc[first, "place_key"] = float(round_money(float(score) * 1e6, 0)) * KEY_STEP + order[first]


def _trimmed(text: str) -> str:
    """Without blanks at its ends, and one between words."""
    return " ".join(word for word in text.split(" ") if word)
