"""Sheet Sourcing log worked out in Python, apart from the formulas."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Annotated

import numpy as np
import pandas as pd

from sheetfns import calling
from sheetfns.functions.cautions import resale_caution
from sheetfns.log.model.reads import Amount, Block, SettingValue, Typed, Verdicts
from sheetfns.log.sheets.lookups import (
    CENT_NOISE,
    called,
    caution_topic,
    cents,
    channel_terms,
    first_of,
    looked_up,
    owner_paid,
    paid_with_tax,
    terms_of,
)
from sheetfns.log.sheets.row_checks import RowVerdicts, with_row_checks
from sheetfns.log.sheets.sourcing_log.inventory import inventory_columns
from sheetfns.log.sheets.sourcing_log.validate import CHECKS
from sheetfns.log.sheets.words import (
    BUYER,
    ENTER_POSTAGE,
    IN_STOCK,
    LIST_IT,
    LISTED,
    MARK_DOWN,
    RELIST,
    RETURNED_ITEM,
    ROW_ONE,
    STAGES,
)
from sheetfns.money import round_up_money
from sheetfns.registry import REGISTRY


@dataclass(frozen=True)
class Reads:
    """What sheet Sourcing log is worked out from."""

    log: Annotated[pd.DataFrame, Typed("Log")]
    lots: Annotated[pd.DataFrame, Typed("Lots")]
    partners: Annotated[pd.DataFrame, Block("Partner")]
    channels: Annotated[pd.DataFrame, Block("Channel")]
    categories: Annotated[pd.DataFrame, Block("Category")]
    usual_packaging: Annotated[float, Amount("Usual_packaging")]
    stale_days: Annotated[float, Amount("Stale_days")]
    as_of: Annotated[dt.date, SettingValue("Figures_until")]
    verdicts: Annotated[RowVerdicts, Verdicts("Log")]


def compute(reads: Reads) -> pd.DataFrame:
    """Cost, sale, results and status of each item, and what other sheets look at."""
    log, as_of = reads.log, pd.Timestamp(reads.as_of).normalize()
    lots = first_of(reads.lots, "lot_no")
    log = log.join(_cost(log, lots, reads.partners))
    log = log.join(_sale(log, reads.usual_packaging)).join(channel_terms(reads.channels, log["channel"]))
    log = log.join(_fee(log))
    log = log.join(_results(log))
    log = log.join(_days_held(log, as_of)).join(_estimates(log, reads.categories)).join(_status(log))
    log = log.join(inventory_columns(log, lots["found_at"], as_of, reads.stale_days))
    log = log.join(_next_step(log, reads.stale_days))
    return with_row_checks(log, CHECKS, reads.verdicts, log["item_no"] != "")


def _cost(log: pd.DataFrame, lots: pd.DataFrame, partners: pd.DataFrame) -> pd.DataFrame:
    """When each item came into inventory, who paid, and its landed cost; `lots` are by their number."""
    in_lot = log["lot_no"] != ""
    lot_row = looked_up(log["lot_no"], lots["sheet_row"] - float(ROW_ONE))
    lot_share = _lot_shares(log["lot_no"], log["expected_price"], cents(paid_with_tax(lots)))
    own = paid_with_tax(log)
    taken_over = log["paid_from"] == RETURNED_ITEM
    outlay = own.where(~taken_over, 0.0) + log["prep_cost"].fillna(0)
    landed_cost = called(
        "LANDED_COST",
        lot_share.notna() & (in_lot | log["paid"].notna()),
        paid=log["paid"].fillna(0),
        purchase_tax=log["purchase_tax"],
        prep_cost=log["prep_cost"],
        buying_share=lot_share,
    )
    columns = {
        "inventory_date": log["bought_on"].where(~in_lot, looked_up(log["lot_no"], lots["bought_on"])),
        "lot_row": lot_row.where(in_lot),
        "lot_share": lot_share,
        "carried_over": own.where(taken_over, 0.0),
        "outlay": outlay,
        "owner_paid": owner_paid(partners, log["paid_from"], outlay),
        "landed_cost": landed_cost,
    }
    return pd.DataFrame(columns, log.index)


def _lot_shares(
    numbers: pd.Series[str], expected_prices: pd.Series[float], totals: pd.Series[float]
) -> pd.Series[float]:
    """The share of its lot's cost that each item takes; 0 outside of lots, blank where it cannot be shared out."""
    shares = pd.Series(np.where(numbers == "", 0.0, np.nan), numbers.index)
    for number, values in expected_prices[numbers != ""].fillna(0).groupby(numbers):
        if number in totals.index:
            outcome = calling.evaluate(REGISTRY["LOT_SHARE"], [float(totals[number]), values.to_numpy(float)])
            if not outcome.errors:
                shares[values.index] = np.asarray(outcome.values, dtype=float)
    return shares


def _sale(log: pd.DataFrame, usual_packaging: float) -> pd.DataFrame:
    """What counts for each item: the figures of its sale, before it the planned ones."""
    sold = log["sold_on"].notna()
    price = log["sale_price"].where(sold, log["asking_price"].fillna(log["expected_price"].fillna(0)))
    postage = log["expected_postage"].fillna(0)
    buyer_pays = postage.where(log["postage_payer"] == BUYER, 0.0)
    shipping = log["shipping_charged"].fillna(0).where(sold, buyer_pays)
    refund_day = log["refunded_on"].fillna(log["sold_on"]).where(sold & log["refund"].notna())
    columns = {
        "price_used": price,
        "shipping_used": shipping,
        "postage_used": log["postage_paid"].fillna(0).where(sold, postage),
        "packaging_used": log["packaging"].fillna(0).where(sold, usual_packaging),
        "income": (price + shipping).where(sold),
        "refund_day": refund_day,
        "cost_of_sale": log["landed_cost"].where(log["returned_on"].isna(), 0.0).where(sold),
    }
    return pd.DataFrame(columns)


def _fee(log: pd.DataFrame) -> pd.DataFrame:
    """The fee by the channel's terms, and the one that counts."""
    sold = log["sold_on"].notna()
    by_terms = called(
        "SELLING_FEE",
        sold & log["channel_known"] & log["price_used"].notna(),
        price=log["price_used"],
        shipping=log["shipping_used"],
        **terms_of(log),
    )
    fee_by_terms = pd.Series(by_terms, log.index)
    return pd.DataFrame({"fee_by_terms": fee_by_terms, "fee": log["fee_charged"].fillna(fee_by_terms).where(sold)})


def _results(log: pd.DataFrame) -> pd.DataFrame:
    """What each sale left, and how far a price may fall."""
    price, shipping = log["price_used"], log["shipping_used"]
    parcel = {"postage": log["postage_used"], "packaging": log["packaging_used"]}
    sale = {"price": price, "shipping": shipping, "fee": log["fee"], "refund": log["refund"], **parcel}
    complete = log["sold_on"].notna() & log["fee"].notna() & price.notna()
    cost = log["cost_of_sale"]
    costed = complete & cost.notna()
    net_profit = called("NET_PROFIT", costed, landed_cost=cost, **sale)
    break_even_price = called(
        "BREAK_EVEN_PRICE",
        log["landed_cost"].notna() & log["channel_known"],
        landed_cost=log["landed_cost"],
        shipping=shipping,
        **parcel,
        **terms_of(log),
    )
    up_to_the_cent = pd.Series(round_up_money(break_even_price), log.index)
    priced = up_to_the_cent.notna() & (price.fillna(0) != 0)
    columns = {
        "net_proceeds": called("NET_PROCEEDS", complete, **sale),
        "net_profit": net_profit,
        "net_margin": called(
            "NET_MARGIN", costed & (log["income"] != 0), net_profit=net_profit, price=price, shipping=shipping
        ),
        "return_on_cost": called("RETURN_ON_COST", costed & (cost != 0), net_profit=net_profit, landed_cost=cost),
        "break_even_price": up_to_the_cent,
        "margin_of_safety": called("MARGIN_OF_SAFETY", priced, actual=price, break_even=up_to_the_cent),
    }
    return pd.DataFrame(columns, log.index)


def _days_held(log: pd.DataFrame, as_of: pd.Timestamp) -> pd.Series[float]:
    """Days from purchase to the day on which an item left, or to the day that figures are as of."""
    sold_for_good = log["sold_on"].where(log["returned_on"].isna())
    last_day = log["disposition_date"].fillna(sold_for_good).fillna(as_of)
    held = last_day.dt.normalize() - log["inventory_date"].dt.normalize()
    days: pd.Series[float] = held.dt.days.astype(float).rename("days_held")
    return days


def _estimates(log: pd.DataFrame, categories: pd.DataFrame) -> pd.DataFrame:
    """Cautions, and how far estimates were off."""
    topics = {category: caution_topic(categories, category) for category in log["category"].unique()}
    named = log["item_no"] != ""
    topic = [topics[category] if known else "" for category, known in zip(log["category"], named, strict=True)]
    columns = {
        "caution_for": topic,
        "caution": [resale_caution(one, brief=True) if one else "" for one in topic],
        "postage_error": (log["postage_paid"] - log["expected_postage"]).round(6),
        "weight_error": (log["scale_weight"] - log["packed_weight"]).round(6),
    }
    return pd.DataFrame(columns, log.index)


def _next_step(log: pd.DataFrame, stale_days: float) -> pd.DataFrame:
    """What each row asks for next."""
    on_hand = log["on_hand"] == 1
    stale = on_hand & (stale_days >= 1) & (log["days_waiting"] >= stale_days)
    unlisted, back = log["stage"] == 1 + STAGES.index(IN_STOCK), log["stage"] > 1 + STAGES.index(LISTED)
    parcel = log["expected_postage"].fillna(0) + log["shipping_charged"].fillna(0) > 0
    no_postage = (log["item_no"] != "") & log["sold_on"].notna() & log["postage_paid"].isna() & parcel
    columns = {"stale_step": np.where(stale, MARK_DOWN, "")}
    asks = np.select([on_hand & unlisted, on_hand & back], [LIST_IT, RELIST], columns["stale_step"])
    columns["on_hand_step"] = np.where(on_hand, asks, "")
    columns["next_step"] = np.select([on_hand, no_postage], [columns["on_hand_step"], ENTER_POSTAGE], "")
    return pd.DataFrame(columns, log.index, dtype=object)


def _status(log: pd.DataFrame) -> pd.DataFrame:
    """How far each item has come, by number; and its status, which is also how it left."""
    refund = log["refund"].fillna(0).where(log["sold_on"].notna(), 0.0)
    in_full = refund > log["income"].fillna(0) - CENT_NOISE
    reached = [
        log["returned_on"].notna(),
        (refund > 0) & in_full,
        refund > 0,
        log["sold_on"].notna(),
        log["listed_on"].notna(),
    ]
    stage = np.select(reached, range(len(STAGES), 1, -1), 1)
    named = log["item_no"] != ""
    words = pd.Series(np.array(STAGES)[stage - 1], log.index, dtype=object)
    status = words.where(log["disposition"] == "", log["disposition"])
    return pd.DataFrame(
        {"stage": pd.Series(stage, log.index, dtype=float).where(named), "status": status.where(named, "")}
    )
