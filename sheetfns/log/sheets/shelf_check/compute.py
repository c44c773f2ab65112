"""Sheet Shelf check worked out in Python, apart from the formulas."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final

import numpy as np
import pandas as pd

from sheetfns.functions.cautions import resale_caution
from sheetfns.log.model.reads import Amount, Block, FormInputs, OlderLayout, Results, SettingValue, Unread
from sheetfns.log.sheets.buying_plan.compute import down_to_the_cent
from sheetfns.log.sheets.comparables.spread import price_spread
from sheetfns.log.sheets.lookups import (
    by_place,
    called,
    caution_text,
    caution_topic,
    cells_of_terms,
    channel_terms,
    figure,
    single,
    spelled,
    terms_of,
)
from sheetfns.log.sheets.words import ITEM_HEADER, NO, ROW_ONE, SHELF_PRICES, THREE_PRICES, YES
from sheetfns.money import round_money, round_up_money

_SOLD: Final = tuple(f"sold_{i}" for i in range(1, SHELF_PRICES + 1))
_NUMBERS: Final = frozenset({*_SOLD, "missing_value", "postage", "price_tag"})
_NO_PRICES: Final[Mapping[str, Any]] = {"low": np.nan, "middle": np.nan, "high": np.nan, "remark": ""}
_NOISE_DIGITS: Final = 6
_ONLY_WITH_AN_ANSWER: Final = (
    *("ceiling", "careful", "profit", "break_even", "safety", "afford", "landed_cost"),
    *("left", "low_fee", "most_in_all", "targets", "too_dear"),
)


@dataclass(frozen=True)
class Reads:
    """What sheet Shelf check is worked out from."""

    typed: Annotated[Mapping[str, Any], FormInputs("Shelf")]
    older_layout: Annotated[bool, OlderLayout()]
    unread: Annotated[Mapping[tuple[int, str], Any], Unread("Shelf")]
    comparables: Annotated[pd.DataFrame, Results("Comps", "sheet_row", "item", "low", "middle", "high", "remark")]
    plan: Annotated[pd.DataFrame, Results("Plan", "buy_cost", "buy_profit")]
    channels: Annotated[pd.DataFrame, Block("Channel")]
    categories: Annotated[pd.DataFrame, Block("Category")]
    half_life: Annotated[float, Amount("Comp_half_life")]
    low_share: Annotated[float, Amount("Comp_low_share")]
    purchase_tax: Annotated[float, Amount("Buying_tax_rate")]
    packaging: Annotated[float, Amount("Usual_packaging")]
    target_profit: Annotated[float, Amount("Target_profit")]
    target_return: Annotated[float, Amount("Target_return")]
    default_channel: Annotated[str, SettingValue("Default_channel")]
    pay: Annotated[pd.DataFrame, Results("Pay", "buying_cash")]
    reserve: Annotated[float, Amount("Trip_reserve")]


def compute(reads: Reads) -> pd.DataFrame:
    """What one item may cost, in one row: verdict, prices, profit, and the steps to them."""
    listed: dict[str, Iterable[str]] = {"postage_in": (YES, NO), "channel": reads.channels["name"]}
    typed: dict[str, Any] = {**reads.typed, **{key: spelled(reads.typed[key], names) for key, names in listed.items()}}
    to_fix = any(key in _NUMBERS for _, key in reads.unread) or typed["postage_in"] not in {"", YES, NO}
    topic = caution_topic(reads.categories, typed["category"]) if typed["category"] else ""
    channel = typed["channel"] or reads.default_channel
    terms = channel_terms(reads.channels, pd.Series([spelled(channel, reads.channels["name"])]))
    item = _item(reads.comparables, typed["comps_of"], typed["missing_value"] or 0.0)
    spread = _spread(typed, to_fix=to_fix)
    prices = _NO_PRICES if to_fix else _prices(typed, item, reads.half_life, reads.low_share)
    shelf: dict[str, Any] = {
        "plan_cost": float(reads.plan["buy_cost"].sum()),
        "plan_profit": float(reads.plan["buy_profit"].sum()),
        "topic": topic,
        "caution": caution_text(topic, older_layout=reads.older_layout),
        "check_first": f"Check: {resale_caution(topic, brief=True)}" if topic else _fees_of(terms, reads.channels),
        "to_fix": float(to_fix),
        **item,
        **spread,
        **prices,
        **cells_of_terms(terms),
        "postage_used": typed["postage"] or 0.0,
        "typed_remark": prices["remark"] if spread["number"] else "",
        "fee": _by_terms("SELLING_FEE", terms, price=prices["middle"], shipping=typed["postage"] or 0.0),
    }
    shelf |= _asks(typed, shelf)
    if shelf["asks"]:
        shelf |= dict.fromkeys(_ONLY_WITH_AN_ANSWER, np.nan)
        shelf |= {"verdict": shelf["asks"], "reason": THREE_PRICES if np.isnan(shelf["middle"]) else ""}
    else:
        shelf |= _answers(reads, shelf, terms)
    shelf["limit_words"] = _limit_words(shelf["targets"], wanted=reads.target_profit + reads.target_return)
    return pd.DataFrame([shelf])


def _fees_of(terms: pd.DataFrame, channels: pd.DataFrame) -> str:
    row = terms["channel_row"].iloc[0]
    return "" if np.isnan(row) else f"With the fees of: {by_place(channels, 'name', int(row))[-1]}"


def _item(comparables: pd.DataFrame, name: str, lacks: float) -> dict[str, Any]:
    """What Comparables has of an item, less what mine lacks."""
    keys = ("low", "middle", "high")
    of_item = comparables[comparables["item"].str.casefold() == name.casefold()]
    if name.casefold() in {"", ITEM_HEADER.casefold()} or of_item.empty:
        return dict.fromkeys(("comps_row", *(f"item_{key}" for key in keys)), np.nan) | {"item_remark": ""}
    first = of_item.iloc[0]
    prices = {f"item_{key}": float(np.maximum(first[key] - lacks, 0.0)) for key in keys}
    return prices | {"comps_row": first["sheet_row"] - float(ROW_ONE), "item_remark": first["remark"]}


def _spread(typed: Mapping[str, Any], *, to_fix: bool) -> dict[str, float]:
    """The typed prices on one basis, and how far each lies from their middle."""
    postage = (typed["postage"] or 0.0) if typed["postage_in"] == YES else 0.0
    paid = np.array([np.nan if to_fix or typed[key] is None else typed[key] for key in _SOLD], dtype=float)
    bases = round_money(np.maximum(paid - postage - (typed["missing_value"] or 0.0), 0))
    basis = pd.Series(bases, range(1, SHELF_PRICES + 1))
    spread = price_spread(basis, pd.Series("", basis.index))
    kept = basis.where(spread["counts"])
    columns = {"basis": basis, "distance": spread["distance"], "kept": kept}
    cells = {f"{key}_{i}": float(value) for key, values in columns.items() for i, value in values.items()}
    of_all = {key: float(spread[key].iloc[0]) for key in ("center", "spread")}
    return cells | of_all | {"number": float(basis.count()), "used": float(kept.count())}


def _prices(typed: Mapping[str, Any], item: dict[str, Any], half_life: float, low_share: float) -> Mapping[str, Any]:
    """Low, middle, high and remark: from the typed prices, or of the item if none is typed."""
    sold = [typed[key] for key in _SOLD]
    if all(price is None for price in sold):
        return {key: item[f"item_{key}"] for key in _NO_PRICES}
    postage_in, same_condition, age = typed["postage_in"] or None, 1, 0
    found = figure(
        "COMP_SPREAD",
        *(sold, postage_in, typed["postage"], typed["missing_value"], YES),
        *(same_condition, age, half_life, low_share),
    )
    if found is None:
        return _NO_PRICES
    low, middle, high, _, _, remark = found[0]
    return {"low": low, "middle": middle, "high": high, "remark": remark}


def _by_terms(name: str, terms: pd.DataFrame, **figures: float) -> float:
    """A function of one sale by a channel's terms; NaN where the channel or a figure is not known."""
    known = terms["channel_known"] & (not np.isnan(list(figures.values())).any())
    return float(called(name, known, **figures, **terms_of(terms))[0])


def _asks(typed: Mapping[str, Any], shelf: Mapping[str, Any]) -> dict[str, str]:
    """What is needed before there is an answer."""
    prices = "Enter sold prices"
    if typed["comps_of"]:
        prices = "Item is not on Comparables" if np.isnan(shelf["comps_row"]) else "The item has no sales yet"
    more = "Choose a channel" if np.isnan(shelf["channel_row"]) else ""
    if typed["postage_in"] == YES and typed["postage"] is None:
        more = "Enter the postage"
    asks = prices if np.isnan(shelf["middle"]) else more
    return {"asks_prices": prices, "asks_more": more, "asks": "Check your entries" if shelf["to_fix"] else asks}


def _answers(reads: Reads, shelf: Mapping[str, Any], terms: pd.DataFrame) -> dict[str, Any]:
    """The verdict, and what the item leaves at its price or at the most to pay."""
    postage, fee, tax = shelf["postage_used"], shelf["fee"], reads.purchase_tax
    cash = float(reads.pay["buying_cash"].iloc[0])
    no_rate = no_tax_rate = no_prep_cost = 0
    targets = (reads.target_profit, reads.target_return, no_tax_rate, no_prep_cost, tax)

    def most_to_pay(function: str, price: float, fee: float) -> Any:
        return single(function, price, postage, postage, reads.packaging, no_rate, fee, *targets)

    low_fee = _by_terms("SELLING_FEE", terms, price=shelf["low"], shipping=postage)
    ceiling = float(down_to_the_cent(most_to_pay("BUY_CEILING", shelf["middle"], fee)))
    price_tag = reads.typed["price_tag"]
    too_dear = float(round_money((price_tag or 0.0) - ceiling)) > 0
    landed = float(round_money((ceiling if price_tag is None else price_tag) * (1 + tax)))
    costs = {"landed_cost": landed, "postage": postage, "packaging": reads.packaging}
    break_even = round_up_money(np.array([_by_terms("BREAK_EVEN_PRICE", terms, **costs, shipping=postage)]))[0]
    sold_for = (shelf["middle"], postage, fee, postage, reads.packaging)
    left = single("NET_PROCEEDS", *sold_for)
    by_profit, by_return = left - reads.target_profit, left / (1 + reads.target_return)
    verdict = f"Only at {ceiling:,.2f} or less" if too_dear else f"Buy up to {ceiling:,.2f}"
    return {
        "verdict": "Leave it" if ceiling <= 0 else verdict,
        "reason": most_to_pay("BUY_REMARK", shelf["middle"], fee),
        "ceiling": ceiling,
        "careful": float(down_to_the_cent(most_to_pay("BUY_CEILING", shelf["low"], low_fee))),
        "left": left,
        "low_fee": low_fee,
        "most_in_all": min(by_profit, by_return),
        "targets": round(by_profit - by_return, _NOISE_DIGITS),
        "too_dear": float(too_dear),
        "landed_cost": landed,
        "profit": single("NET_PROFIT", *sold_for, landed),
        "break_even": break_even,
        "safety": single("MARGIN_OF_SAFETY", shelf["middle"], break_even) if shelf["middle"] else np.nan,
        "afford": single("AFFORD_COUNT", max(0.0, cash - reads.reserve), landed) if landed else np.nan,
    }


def _limit_words(between: float, wanted: float) -> str:
    """Which target sets the limit; `between` is what a wanted profit leaves over a wanted return."""
    if between < 0:
        return "the target profit sets the limit"
    if between != 0:
        return "the target return sets the limit"
    return "both targets set the limit" if wanted else "break-even: no target profit or return"
