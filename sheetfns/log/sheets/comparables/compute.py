"""Sheet Comparables worked out in Python, apart from the formulas."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Annotated, Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.model.reads import Amount, Block, SettingValue, Typed, Verdicts
from sheetfns.log.sheets.comparables.spread import price_spread
from sheetfns.log.sheets.comparables.validate import CHECKS
from sheetfns.log.sheets.lookups import called, cents, figure, first_of, looked_up, single, whole
from sheetfns.log.sheets.row_checks import RowVerdicts, with_row_checks
from sheetfns.log.sheets.words import COMP_ASKED, COMP_SOLD, KEY_STEP, NO, ROW_ONE, YES

_MILLS: Final = 1000
"""Distances are put in order to the tenth of a cent."""


@dataclass(frozen=True)
class Reads:
    """What sheet Comparables is worked out from."""

    comparables: Annotated[pd.DataFrame, Typed("Comps")]
    conditions: Annotated[pd.DataFrame, Block("Condition")]
    as_of: Annotated[dt.date, SettingValue("Figures_until")]
    half_life: Annotated[float, Amount("Comp_half_life")]
    low_share: Annotated[float, Amount("Comp_low_share")]
    verdicts: Annotated[RowVerdicts, Verdicts("Comps")]


def compute(reads: Reads) -> pd.DataFrame:
    """Each comparable on one basis, and whether it counts; the results of an item stand in its first row."""
    rows = reads.comparables
    item = rows["item"].str.casefold()
    named = rows["item"] != ""
    is_sale = named & (rows["kind"] == COMP_SOLD) & rows["price"].notna()
    is_offer = named & (rows["kind"] == COMP_ASKED)
    first_places = rows.index.to_series().groupby(item).transform("first")
    mine = rows.loc[first_places].set_axis(rows.index)
    first = named & (first_places == rows.index)
    rows = rows.assign(
        first_row=(mine["sheet_row"] - float(ROW_ONE)).where(named),
        missing_value=mine["missing_parts"].fillna(0).where(named),
        my_worth=_worth(reads.conditions, mine["my_condition"]).where(named),
        worth=_worth(reads.conditions, rows["condition"]).where(named),
        sold=is_sale.groupby(item).transform("sum").astype(float).where(first),
        asked=is_offer.groupby(item).transform("sum").astype(float).where(first),
    )
    listed = _as_listed(rows[is_sale], reads.as_of)
    sales = _ranked(_on_one_basis(listed), item, rows["sheet_row"])
    spreads = _spreads(listed.groupby(first_places), reads.half_life, reads.low_share)
    rows = rows.join(sales.drop(columns="counts")).join(spreads)
    offered, counted = rows["sold"] + rows["asked"], rows["asked"].fillna(0) > 0
    on_top = rows["postage"].fillna(0).where(rows["postage_in"] != YES, 0.0)
    rows = rows.assign(
        used=sales["counts"].astype(float).reindex(rows.index),
        counts=_words_of_counts(sales["counts"], is_offer),
        remark=rows["remark"].fillna(""),
        sell_through=called("SELL_THROUGH", counted, sold=rows["sold"], offered=offered),
        sell_through_floor=called("SELL_THROUGH_FLOOR", counted, sold=rows["sold"], offered=offered),
        delivered=cents((rows["price"] + on_top).where(is_offer)),
    )
    return with_row_checks(rows, CHECKS, reads.verdicts, named)


def _worth(conditions: pd.DataFrame, names: pd.Series[Any]) -> pd.Series[float]:
    """What conditions are worth; 0 where that is not known."""
    return looked_up(names, first_of(conditions, "name")["worth"]).astype(float).fillna(0.0)


def _as_listed(sales: pd.DataFrame, as_of: dt.date) -> pd.DataFrame:
    """Price of each sale and what stands beside it, as the functions take them."""
    ages = (pd.Timestamp(as_of) - sales["seen_on"].dt.normalize()).dt.days
    known = (sales["my_worth"] > 0) & (sales["worth"] > 0)
    rates = (sales["my_worth"] / sales["worth"].where(known, 1.0)).where(known, 1.0)
    return pd.DataFrame(
        {
            "price": sales["price"],
            "postage_in": sales["postage_in"] == YES,
            "postage": sales["postage"].fillna(0),
            "missing_value": sales["missing_value"],
            "complete": sales["complete"] != NO,
            "rate": rates,
            "age": ages.clip(lower=0).fillna(0).astype(float),
        }
    )


def _on_one_basis(listed: pd.DataFrame) -> pd.Series[float]:
    """What mine would have brought in the place of each item."""
    found = [
        single(
            *("COMP_VALUE", [sale.price], [sale.postage_in], [sale.postage]),
            *(sale.missing_value, [sale.complete], [sale.rate]),
        )
        for sale in listed.itertuples()
    ]
    return pd.Series(found, listed.index, dtype=float)


def _ranked(basis: pd.Series[float], items: pd.Series[Any], sheet_rows: pd.Series[int]) -> pd.DataFrame:
    """The sales of each item in the order of their prices, and of their distances from the middle."""
    item, spread = items[basis.index], price_spread(basis, items[basis.index])
    key = whole(100 * basis) * KEY_STEP + sheet_rows[basis.index]
    distance_key = whole(_MILLS * spread["distance"]) * KEY_STEP + sheet_rows[basis.index]
    return spread.assign(
        basis=basis,
        key=key,
        number=basis.groupby(item).transform("count").astype(float),
        rank_of_price=key.groupby(item).rank(),
        distance_key=distance_key,
        distance_rank=distance_key.groupby(item).rank(),
    )


def _spreads(listed: Any, half_life: float, low_share: float) -> pd.DataFrame:
    """Low, middle and high price, sales dropped and the remark on an item's sales, by its first row."""
    found = {}
    for place, sales in listed:
        beside = {key: sales[key].to_numpy() for key in sales} | {"missing_value": sales["missing_value"].iloc[0]}
        spread = figure("COMP_SPREAD", *beside.values(), half_life, low_share)
        if spread is not None:
            low, middle, high, _, dropped, remark = spread[0]
            found[place] = (low, middle, high, dropped, remark)
    numbers = ("low", "middle", "high", "dropped")
    frame = pd.DataFrame.from_dict(found, orient="index", columns=[*numbers, "remark"])
    return frame.astype(dict.fromkeys(numbers, float))


def _words_of_counts(sale_counts: pd.Series[bool], is_offer: pd.Series[bool]) -> pd.Series[Any]:
    """Whether each row counts as a sale, or why not."""
    words = pd.Series(np.where(is_offer, "asked", ""), is_offer.index, dtype=object)
    of_sales = pd.Series(np.where(sale_counts, "yes", "outlier"), sale_counts.index, dtype=object)
    return of_sales.reindex(words.index).fillna(words)
