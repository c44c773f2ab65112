"""Sheet Listing desk worked out in Python, apart from the formulas."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Final, NamedTuple

import numpy as np
import pandas as pd

from sheetfns.log.model.reads import Amount, Block, EditionOfLog, FormInputs, OlderLayout, Results, SettingValue
from sheetfns.log.model.sheets import Edition
from sheetfns.log.sheets.listing_desk.parcel import SIDES, packed, postage, rule_on
from sheetfns.log.sheets.lookups import (
    called,
    caution_text,
    caution_topic,
    cells_of_terms,
    channel_terms,
    figure,
    first_row,
    single,
    terms_of,
)
from sheetfns.log.sheets.words import ITEM_HEADER, ITEM_NO_HEADER, KEYWORDS, LOG, ROW_ONE, TEXT_ROWS
from sheetfns.money import round_up_money

_FROM_LOG: Final = ("description", "status", "category", "condition", "missing")
_FROM_COMPARABLES: Final = {
    "comps_low": "low",
    "comps_middle": "middle",
    "comps_high": "high",
    "offers": "asked",
    "sell_through": "sell_through",
    "comps_remark": "remark",
}
_LABEL_UNKNOWN: Final = "A label in the description text on Settings is unknown."
_IN_FUNCTIONS_ONLY: Final = "functions edition only"


@dataclass(frozen=True)
class Reads:
    """What sheet Listing desk is worked out from."""

    typed: Annotated[Mapping[str, Any], FormInputs("Desk")]
    older_layout: Annotated[bool, OlderLayout()]
    log: Annotated[
        pd.DataFrame,
        Results(
            "Log",
            *("sheet_row", "item_no", *_FROM_LOG, "channel", "asking_price", "expected_price", "landed_cost"),
            *("expected_postage", "postage_paid", "packed_weight", "scale_weight", *SIDES),
        ),
    ]
    comparables: Annotated[
        pd.DataFrame, Results("Comps", "sheet_row", "item", "delivered", *_FROM_COMPARABLES.values())
    ]
    channels: Annotated[pd.DataFrame, Block("Channel")]
    categories: Annotated[pd.DataFrame, Block("Category")]
    filler_words: Annotated[pd.DataFrame, Block("Filler")]
    boxes: Annotated[pd.DataFrame, Block("Box")]
    services: Annotated[pd.DataFrame, Block("Service")]
    rules: Annotated[pd.DataFrame, Block("Rule")]
    postage: Annotated[pd.DataFrame, Block("Postage")]
    text: Annotated[pd.DataFrame, Block("Text")]
    edition: Annotated[Edition | None, EditionOfLog()]
    as_of: Annotated[dt.date, SettingValue("Figures_until")]
    weight_unit: Annotated[str, SettingValue("Weight_unit")]
    length_unit: Annotated[str, SettingValue("Length_unit")]
    filling: Annotated[float, Amount("Filling_rate")]
    allowance: Annotated[float, Amount("Weight_allowance")]
    packaging: Annotated[float, Amount("Usual_packaging")]
    cover_share: Annotated[float, Amount("Cover_share")]


def compute(reads: Reads) -> pd.DataFrame:
    """Title, parcel, prices and description of one item of the log, in one row."""
    typed = reads.typed
    item, comparable = (
        first_row(rows, column, "" if typed["item_no"].casefold() == header.casefold() else typed["item_no"])
        for rows, column, header in ((reads.log, "item_no", ITEM_NO_HEADER), (reads.comparables, "item", ITEM_HEADER))
    )
    channel = first_row(reads.channels, "name", typed["channel"] or item["channel"])
    topic = caution_topic(reads.categories, item["category"]) if item["category"] else ""
    desk: dict[str, Any] = {
        **{key: item[key] for key in _FROM_LOG},
        **{key: comparable[column] for key, column in _FROM_COMPARABLES.items()},
        "item_row": item["sheet_row"] - float(ROW_ONE),
        "item_way": "" if np.isnan(item["sheet_row"]) else f"{LOG}, row {item['sheet_row']:.0f}",
        "comps_row": comparable["sheet_row"] - float(ROW_ONE),
        "channel_used": typed["channel"] or item["channel"],
        "topic": topic,
        "caution": caution_text(topic, older_layout=reads.older_layout),
        **_bias("postage_bias", reads.log["expected_postage"], reads.log["postage_paid"], reads.cover_share),
        **_bias("weight_bias", reads.log["packed_weight"], reads.log["scale_weight"], reads.cover_share),
    }
    desk |= _title(typed, channel["title_limit"], item["missing"], reads.edition, reads.filler_words["word"])
    box = first_row(reads.boxes, "name", typed["box"])
    service = first_row(reads.services, "name", typed["service"])
    rule = rule_on(reads.rules, service["rule"], reads.as_of, f"{reads.weight_unit} and {reads.length_unit}")
    desk |= packed(item, box, typed["item_weight"], reads.filling, reads.allowance)
    desk |= postage(item, service, desk, rule, reads.postage)
    terms = channel_terms(reads.channels, pd.Series([channel["name"]]))
    desk |= _prices(typed["asking"], item, terms, float(desk["postage"]), reads.packaging)
    of_item = reads.comparables["item"].str.casefold() == comparable["item"].casefold()
    desk["rank"] = _rank(desk["price_with"], reads.comparables.loc[of_item & bool(comparable["item"]), "delivered"])
    lines = [line for line in reads.text["line"] if line]
    return pd.DataFrame([desk | _text(lines, _labels(typed["item_no"], desk, reads), known=bool(item["item_no"]))])


def _bias(key: str, estimated: pd.Series[float], actual: pd.Series[float], cover: float) -> dict[str, float]:
    """Estimates against actuals."""
    cells = figure("ESTIMATE_BIAS", estimated.to_numpy(float), actual.to_numpy(float), cover)
    # All blank gives one blank cell.
    none = cells is None or len(cells[0]) == 1
    names = (f"{key}_{name}" for name in ("pairs", "mean", "short", "allowance"))
    return dict(zip(names, [np.nan] * 4 if none else cells[0], strict=True))


def _title(
    typed: Mapping[str, Any], limit: float, missing: str, edition: Edition | None, filler_words: pd.Series[str]
) -> dict[str, Any]:
    """The title to copy, what room it leaves, and what should be said in it."""
    with_functions, known = edition == "functions", not np.isnan(limit)
    best = ""
    if with_functions and known:
        keywords = [typed[f"keyword_{i}"] or None for i in range(1, KEYWORDS + 1)]
        weights = [typed[f"weight_{i}"] for i in range(1, KEYWORDS + 1)]
        packed = figure("TITLE_PACK", keywords, weights, float(limit)) if any(keywords) else None
        best = "" if packed is None else packed[0][0]
    text = typed["title"] or best
    room, remarks = np.nan, ""
    if text and known and with_functions:
        room = single("TITLE_ROOM", text, float(limit))
        remarks = single("TITLE_REMARKS", text, float(limit), list(filler_words))
    elif text and known:
        # LEN counts the units in which spreadsheets store a text: two for an emoji.
        room = float(limit) - len(text.encode("utf-16-le")) / 2
        over = f"{-room:g} over the limit; " if room < 0 else ""
        remarks = f"{over}filler words, repeats and symbols: {_IN_FUNCTIONS_ONLY}"
    return {
        "limit": limit,
        "packed": best if with_functions else f"{_IN_FUNCTIONS_ONLY}",
        "title_used": text,
        "room": room,
        "remarks": remarks,
        "missing_remark": missing if text and missing.casefold() not in text.casefold() else "",
    }


class _Offer(NamedTuple):
    """A price, and what the buyer pays for postage beside it."""

    price: float
    shipping: float


def _prices(
    asking: float | None, item: pd.Series[Any], terms: pd.DataFrame, postage: float, packaging: float
) -> dict[str, Any]:
    """The price with postage apart and with postage in it, and what each leaves."""
    known, in_log, cost = bool(terms["channel_known"].iloc[0]), bool(item["item_no"]), item["landed_cost"]
    logged = item["expected_price"] if np.isnan(item["asking_price"]) else item["asking_price"]
    price = (logged if asking is None else asking) if in_log and known else np.nan
    priced = pd.Series([not np.isnan(price) and not np.isnan(postage)])
    costed = priced & (not np.isnan(cost))
    costs = {"postage": postage, "packaging": packaging, "landed_cost": cost}
    some_terms = {term: terms[f"fee_{term}"] for term in ("rate", "per_order", "tax_rate")}
    price_with = called("PRICE_WITH_POSTAGE", priced, price=price, shipping=postage, postage=postage, **some_terms)[0]
    offers = {"without": _Offer(price, postage), "with": _Offer(price_with, 0.0)}
    prices: dict[str, Any] = {}
    for key, offer in offers.items():
        fee = called("SELLING_FEE", priced, **offer._asdict(), **terms_of(terms))
        prices |= {
            f"price_{key}": offer.price,
            f"shipping_{key}": offer.shipping if priced[0] else np.nan,
            f"fee_{key}": fee[0],
            f"net_{key}": called("NET_PROFIT", costed, **offer._asdict(), fee=fee, **costs)[0],
        }
    break_even = called("BREAK_EVEN_PRICE", costed, **costs, shipping=postage, **terms_of(terms))
    notes = (
        (np.isnan(cost), "Landed cost is unknown: fix its row in the log."),
        (np.isnan(postage), "Postage is unknown, see above."),
        (not known, "Choose a channel."),
    )
    return {
        **prices,
        **cells_of_terms(terms),
        "logged_price": logged,
        "landed_cost": cost,
        "break_even": round_up_money(break_even)[0],
        "cost_note": " ".join(words for lacks, words in notes if lacks and in_log),
    }


def _rank(price: float, delivered: pd.Series[float]) -> float:
    """The place of a price with postage among the offers of others."""
    offers = delivered.dropna().to_numpy()
    return np.nan if np.isnan(price) or not len(offers) else float(single("ASKING_RANK", price, offers))


def _labels(item_no: str, desk: Mapping[str, Any], reads: Reads) -> dict[str, str]:
    """What the labels in the description text stand for."""
    weight, sides = desk["packed_weight"], [desk[side] for side in SIDES]
    return {
        "item": item_no,
        "description": desk["description"],
        "category": desk["category"],
        "condition": desk["condition"],
        "missing": desk["missing"] or "none noted, please ask",
        "weight": "" if np.isnan(weight) else f"{round(weight, 2):g} {reads.weight_unit}",
        "sides": "" if np.isnan(desk["girth"]) else f"{' x '.join(f'{s:g}' for s in sides)} {reads.length_unit}",
    }


def _text(template_lines: Sequence[str], labels: Mapping[str, str], *, known: bool) -> dict[str, str]:
    """The description, filled in."""
    template = "\n".join(template_lines)
    found = figure("FILL_IN", template, list(labels), list(labels.values())) if known and template else [[""]]
    filled = "" if found is None else found[0][0]
    lines = [" ".join(word for word in line.split(" ") if word) for line in filled.split("\n")]
    lines += [""] * (TEXT_ROWS + 1 - len(lines))
    cells = {"template": template, "filled": filled, "label_check": _LABEL_UNKNOWN if found is None else ""}
    cells |= {f"line_{place}": lines[place - 1] for place in range(1, TEXT_ROWS + 2)}
    for place, (label, value) in enumerate(labels.items(), 1):
        cells |= {f"label_{place}": label, f"value_{place}": value}
    return cells
