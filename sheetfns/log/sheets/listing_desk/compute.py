"""Listing desk worked out in Python, apart from the formulas."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns.functions.cautions import resale_caution
from sheetfns.log.model.sheets import FIRST_ROW
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.lookups import (
    FEE_TERMS,
    add_channel_terms,
    called,
    figure,
    setting,
    single,
    terms_of,
    topic_of,
)
from sheetfns.log.sheets.words import KEYWORDS, POSTAGE_COLUMNS, TEXT_ROWS
from sheetfns.money import round_up_money

_FROM_LOG: Final = ("description", "status", "category", "condition", "missing")
_LABEL_UNKNOWN: Final = "A label in the description text on Settings is unknown."
_FROM_COMPARABLES: Final = {
    "comps_low": "low",
    "comps_middle": "middle",
    "comps_high": "high",
    "offers": "asked",
    "sell_through": "sell_through",
    "comps_remark": "remark",
}


def work_out_desk(content: LogContent, pieces: pd.DataFrame, comparables: pd.DataFrame) -> pd.DataFrame:
    """The results of Listing desk in one row."""
    typed = content.forms["Desk"]
    desk: dict[str, Any] = _bias(content, pieces)
    piece = _first(pieces, "item_no", typed["item_no"])
    for key in _FROM_LOG:
        desk[key] = "" if piece is None else piece[key]
    topic = topic_of(content, desk["category"]) if desk["category"] else ""
    desk |= {"topic": topic, "caution": resale_caution(topic) if topic else ""}
    desk |= _title(content, typed, piece, desk["missing"])
    item = _first(comparables, "item", typed["item_no"])
    for key, row in (("piece_row", piece), ("comps_row", item)):
        desk[key] = np.nan if row is None else row["sheet_row"] - FIRST_ROW + 1.0
    for key, column in _FROM_COMPARABLES.items():
        blank: Any = "" if column == "remark" else np.nan
        desk[key] = blank if item is None else item[column]
    desk |= _parcel(content, typed, piece)
    desk |= _prices(content, typed, piece, desk)
    desk |= _place_among_offers(comparables, item, desk)
    desk |= _text(content, typed, piece, desk)
    return pd.DataFrame([desk])


def _first(rows: pd.DataFrame, column: str, word: str) -> Any:
    """The first row with a word, or None; capitals do not count."""
    if not word:
        return None
    found = rows[rows[column].str.casefold() == word.casefold()]
    return None if found.empty else found.iloc[0]


def _place_in(content: LogContent, block: str, row: Any) -> float:
    """The place, from 1, of a row of a small table on Settings."""
    if row is None:
        return np.nan
    place = list(content.blocks[block].index).index(row.name)
    return float(content.places_in_block(block)[place])


def _title(content: LogContent, typed: dict[str, Any], piece: Any, missing: str) -> dict[str, Any]:
    channel = typed["channel"] or ("" if piece is None else piece["channel"])
    channels = content.blocks["Channel"]
    row = _first(channels, "name", channel)
    limit = np.nan if row is None else row["title_limit"]
    title = {"channel_used": channel, "limit": limit, "packed": "worked out in the functions edition only"}
    best = ""
    if content.edition == "functions":
        keywords = [typed[f"keyword_{i}"] or None for i in range(1, KEYWORDS + 1)]
        weights = [typed[f"weight_{i}"] for i in range(1, KEYWORDS + 1)]
        if not np.isnan(limit) and any(keywords):
            packed = figure("TITLE_PACK", keywords, weights, float(limit))
            best = "" if packed is None else packed[0][0]
        title["packed"] = best
    text = typed["title"] or best
    title |= {"title_used": text, "room": np.nan, "remarks": ""}
    if text and not np.isnan(limit):
        if content.edition == "functions":
            fillers = list(content.blocks["Filler"]["word"])
            title["room"] = single("TITLE_ROOM", text, float(limit))
            title["remarks"] = single("TITLE_REMARKS", text, float(limit), fillers)
        else:
            # LEN counts the units in which spreadsheets store a text: two for an emoji.
            room = float(limit) - len(text.encode("utf-16-le")) / 2
            over = f"{-room:g} over the limit; " if room < 0 else ""
            title["room"] = room
            title["remarks"] = f"{over}filler words, repeats and symbols: functions edition only"
    said = missing.casefold() in text.casefold()
    title["missing_remark"] = missing if text and missing and not said else ""
    return title


def _parcel(content: LogContent, typed: dict[str, Any], piece: Any) -> dict[str, Any]:
    sides = ("length", "width", "height")
    parcel: dict[str, Any] = dict.fromkeys(
        (*sides, "packed_weight", "girth", "billed_weight", "postage", "expected_postage"), np.nan
    )
    parcel |= dict.fromkeys(("weight_logged", "sides_logged"), np.nan)
    parcel["postage_note"] = ""
    box = _first(content.blocks["Box"], "name", typed["box"])
    parcel["box_row"] = _place_in(content, "Box", box)
    parcel["box_weight"] = np.nan if box is None else float(np.nan_to_num(box["weight"]))
    service = _first(content.blocks["Service"], "name", typed["service"])
    place = parcel["service_row"] = _place_in(content, "Service", service)
    parcel["service_column"] = "" if service is None else f"No. {place:.0f}"
    parcel["rule"] = "" if service is None else service["rule"]
    rule = _rule(content, parcel["rule"])
    divisor, *terms = rule or (None, 0, "none", 0)
    parcel["rule_divisor"] = np.nan if divisor is None else divisor
    parcel |= dict(zip(("rule_gate", "rule_side_rounding", "rule_weight_step"), terms, strict=True))
    parcel["table_price"] = np.nan
    if piece is None:
        return parcel | _no_postage_words(piece, service, rule, np.nan)
    weight = parcel["weight_logged"] = piece["packed_weight"]
    if not np.isnan(weight):
        parcel["packed_weight"] = weight
    elif box is not None and typed["piece_weight"] is not None:
        parcel["packed_weight"] = single(
            "PACKED_WEIGHT",
            typed["piece_weight"],
            float(np.nan_to_num(box["weight"])),
            setting(content, "Filling_rate"),
            setting(content, "Weight_allowance"),
        )
    logged = all(not np.isnan(piece[side]) for side in sides)
    parcel["sides_logged"] = float(logged)
    if logged or box is not None:
        for side in sides:
            parcel[side] = float(np.nan_to_num((piece if logged else box)[side]))
        if min(parcel[side] for side in sides) > 0:
            parcel["girth"] = single("LENGTH_GIRTH", *(parcel[side] for side in sides))
    measures = (parcel["packed_weight"], *(parcel[side] for side in sides))
    if rule is not None and not np.isnan(parcel["packed_weight"] + parcel["girth"]):
        parcel["billed_weight"] = single("BILLED_WEIGHT", *measures, *rule)
    parcel |= _no_postage_words(piece, service, rule, parcel["billed_weight"])
    return parcel | _postage(content, piece, service, rule, parcel)


def _postage(content: LogContent, piece: Any, service: Any, rule: Any, parcel: dict[str, Any]) -> dict[str, Any]:
    """What the label costs, and where that is from."""
    found: dict[str, Any] = {"expected_postage": piece["expected_postage"], "postage": np.nan}
    if service is None:
        found["postage"] = found["expected_postage"]
        return found | {"postage_note": parcel["no_postage_words"]}
    if rule is None or np.isnan(parcel["billed_weight"]):
        return found | {"postage_note": parcel["no_postage_words"]}
    names = [f"No. {i}" for i in range(1, POSTAGE_COLUMNS + 1)]
    prices = content.blocks["Postage"].to_numpy(float)
    table = [["", *names], *[[None if np.isnan(c) else c for c in row] for row in prices]]
    place = content.blocks["Service"].index.get_loc(service.name)
    # Within the first step a table may have finer rows of its own.
    sides = (parcel[side] for side in ("length", "width", "height"))
    unstepped = single("BILLED_WEIGHT", parcel["packed_weight"], *sides, *rule[:3], 0)
    weight = unstepped if unstepped <= rule[3] else parcel["billed_weight"]
    cost = figure("POSTAGE_COST", weight, names[place], table)
    if cost is None:
        return found | {"postage_note": parcel["no_postage_words"]}
    price = cost[0][0]
    return found | {"postage": price, "table_price": price, "postage_note": "the postage table"}


def _no_postage_words(piece: Any, service: Any, rule: Any, billed_weight: float) -> dict[str, str]:
    """Why the postage table has no price, and what the note on postage says then."""
    why = "the table has no price for this weight"
    if rule is None:
        why = "its parcel rule has no row for this day and these units"
    elif np.isnan(billed_weight):
        why = "weight or box is missing"
    words = f"not known: {why}"
    if service is None:
        known = piece is not None and not np.isnan(piece["expected_postage"])
        words = "not known: choose a box and a service"
        words = "the log's expected postage" if known else words
    return {"no_price_words": why, "no_postage_words": words}


def _rule(content: LogContent, name: str) -> tuple[Any, ...] | None:
    """Divisor, gate, side rounding and weight step of a rule on the day that figures are as of.

    None where it has no row for that day and the units of the log.
    """
    rules = content.blocks["Rule"]
    as_of = pd.Timestamp(content.settings["As_of_date"])
    rows = rules[(rules["name"].str.casefold() == name.casefold()) & (rules["from"] <= as_of)]
    if not name:
        return (None, 0, "none", 0)
    units = f"{content.settings['Weight_unit']} and {content.settings['Length_unit']}"
    if rows.empty or rows.iloc[-1]["units"].casefold() not in ("", units.casefold()):
        return None
    row = rows.iloc[-1]
    divisor = None if np.isnan(row["divisor"]) else row["divisor"]
    gate, step = np.nan_to_num([row["gate"], row["weight_step"]]).tolist()
    return (divisor, gate, row["side_rounding"] or "none", step)


def _prices(content: LogContent, typed: dict[str, Any], piece: Any, desk: dict[str, Any]) -> dict[str, Any]:
    terms = pd.DataFrame({"channel": [desk["channel_used"]]})
    add_channel_terms(content, terms)
    known = bool(terms["channel_known"].iloc[0])
    prices: dict[str, Any] = {"channel_row": terms["channel_row"].iloc[0]}
    prices |= {f"fee_{term}": terms[f"fee_{term}"].iloc[0] for term in FEE_TERMS}
    wanted = typed["asking"]
    logged = np.nan
    if piece is not None:
        logged = piece["asking_price"]
        logged = piece["expected_price"] if np.isnan(logged) else logged
    prices["logged_price"] = logged
    prices["landed_cost"] = np.nan if piece is None else piece["landed_cost"]
    price = logged if wanted is None else wanted
    if piece is None or not known:
        price = np.nan
    postage, cost = float(desk["postage"]), float(prices["landed_cost"])
    packing = setting(content, "Usual_packing")
    priced = pd.Series([not np.isnan(price) and not np.isnan(postage)])
    costed = priced & (not np.isnan(cost))
    with_postage = called(
        "PRICE_WITH_POSTAGE",
        priced,
        price=[price],
        shipping=[postage],
        postage=[postage],
        rate=terms["fee_rate"],
        per_order=terms["fee_per_order"],
        tax_rate=terms["fee_tax_rate"],
    )[0]
    offers = (
        ("without", price, postage if priced[0] else np.nan),
        ("with", with_postage, 0.0 if priced[0] else np.nan),
    )
    for offer, asked, shipping in offers:
        sale = {"price": [asked], "shipping": [shipping]}
        fee = called("SELLING_FEE", priced, **sale, **terms_of(terms))
        net = called("NET_PROFIT", costed, **sale, fee=fee, postage=[postage], packing=[packing], landed_cost=[cost])
        prices |= {
            f"price_{offer}": asked,
            f"shipping_{offer}": shipping,
            f"fee_{offer}": fee[0],
            f"net_{offer}": net[0],
        }
    break_even = called(
        "BREAK_EVEN_PRICE",
        costed,
        landed_cost=[cost],
        postage=[postage],
        packing=[packing],
        shipping=[postage],
        **terms_of(terms),
    )
    prices["break_even"] = round_up_money(break_even)[0]
    notes = (
        (np.isnan(cost), "Landed cost is not known: mend its row in the log."),
        (np.isnan(postage), "Postage is not known, see above."),
        (not known, "Choose a channel."),
    )
    prices["cost_note"] = " ".join(words for lacks, words in notes if lacks and piece is not None)
    return prices


def _place_among_offers(comparables: pd.DataFrame, item: Any, desk: dict[str, Any]) -> dict[str, Any]:
    if item is None or np.isnan(desk["price_with"]):
        return {"rank": np.nan}
    same = comparables["item"].str.casefold() == item["item"].casefold()
    offers = comparables.loc[same, "delivered"].dropna().to_numpy()
    rank = figure("ASKING_RANK", desk["price_with"], offers) if len(offers) else None
    return {"rank": rank[0][0] if rank else np.nan}


def _text(content: LogContent, typed: dict[str, Any], piece: Any, desk: dict[str, Any]) -> dict[str, Any]:
    """The description, filled in."""
    template = "\n".join(line for line in content.blocks["Text"]["line"] if line)
    labels = {
        "item": typed["item_no"],
        "description": desk["description"],
        "category": desk["category"],
        "condition": desk["condition"],
        "missing": desk["missing"] or "none noted, please ask",
        "weight": _with_unit(content, "Weight_unit", desk["packed_weight"]),
        "sides": "",
    }
    if not np.isnan(desk["girth"]):
        sides = " x ".join(f"{desk[side]:g}" for side in ("length", "width", "height"))
        labels["sides"] = f"{sides} {content.settings['Length_unit']}"
    filled, unknown = "", False
    if piece is not None and template:
        found = figure("FILL_IN", template, list(labels), list(labels.values()))
        unknown = found is None
        filled = "" if found is None else found[0][0]
    lines = [] if unknown else filled.split("\n")
    cells = {"template": template, "filled": filled}
    cells["label_check"] = _LABEL_UNKNOWN if unknown else ""
    for place in range(1, TEXT_ROWS + 2):
        line = lines[place - 1] if place <= len(lines) else ""
        cells[f"line_{place}"] = " ".join(word for word in line.split(" ") if word)
    for place, (label, value) in enumerate(labels.items(), 1):
        cells |= {f"label_{place}": label, f"value_{place}": value}
    return cells


def _with_unit(content: LogContent, unit: str, weight: float) -> str:
    return "" if np.isnan(weight) else f"{round(weight, 2):g} {content.settings[unit]}"


def _bias(content: LogContent, pieces: pd.DataFrame) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, estimated, actual in (
        ("postage_bias", "expected_postage", "postage_paid"),
        ("weight_bias", "packed_weight", "scale_weight"),
    ):
        cells = figure(
            "ESTIMATE_BIAS",
            pieces[estimated].to_numpy(float),
            pieces[actual].to_numpy(float),
            setting(content, "Cover_share"),
        )
        # All blank gives one blank cell.
        none = cells is None or len(cells[0]) == 1
        values = [np.nan] * 4 if none else cells[0]
        names = (f"{key}_{name}" for name in ("pairs", "mean", "short", "allowance"))
        found |= dict(zip(names, values, strict=True))
    return found
