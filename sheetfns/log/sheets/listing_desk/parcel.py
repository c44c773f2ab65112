"""The parcel on sheet Listing desk: its weight and size, what they count as, and the postage."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any, Final, NamedTuple

import numpy as np
import pandas as pd

from sheetfns.log.sheets.lookups import single
from sheetfns.log.sheets.words import POSTAGE_COLUMNS

SIDES: Final = ("length", "width", "height")


class ParcelRule(NamedTuple):
    """What a parcel's size counts as, in the order of the function's arguments."""

    divisor: float | None = None
    gate: float = 0
    side_rounding: str = "none"
    weight_step: float = 0


def rule_on(rules: pd.DataFrame, name: str, day: dt.date, units: str) -> ParcelRule | None:
    """A rule as it stands on a day; None where it has no row for that day and the units of the log."""
    if not name:
        return ParcelRule()
    rows = rules[(rules["name"].str.casefold() == name.casefold()) & (rules["from"] <= pd.Timestamp(day))]
    if rows.empty or rows.iloc[-1]["units"].casefold() not in {"", units.casefold()}:
        return None
    row = rows.iloc[-1]
    divisor = None if np.isnan(row["divisor"]) else row["divisor"]
    gate, step = np.nan_to_num([row["gate"], row["weight_step"]]).tolist()
    return ParcelRule(divisor, gate, row["side_rounding"] or "none", step)


def packed(
    item: pd.Series[Any], box: pd.Series[Any], own_weight: float | None, filling: float, allowance: float
) -> dict[str, float]:
    """Weight and sides of an item in its box: those of the log, else from the box."""
    weight = item["packed_weight"]
    found = dict.fromkeys((*SIDES, "girth", "sides_logged"), np.nan)
    found |= {"weight_logged": weight, "packed_weight": weight, "box_row": float(box["place"])}
    found["box_weight"] = float(np.nan_to_num(box["weight"])) if box["name"] else np.nan
    if not item["item_no"]:
        return found
    if np.isnan(weight) and box["name"] and own_weight is not None:
        found["packed_weight"] = single("PACKED_WEIGHT", own_weight, found["box_weight"], filling, allowance)
    logged = not any(np.isnan(item[side]) for side in SIDES)
    found["sides_logged"] = float(logged)
    if logged or box["name"]:
        sides = {side: float(np.nan_to_num((item if logged else box)[side])) for side in SIDES}
        found |= sides
        if min(sides.values()) > 0:
            found["girth"] = single("LENGTH_GIRTH", *sides.values())
    return found


def postage(
    item: pd.Series[Any],
    service: pd.Series[Any],
    size: Mapping[str, float],
    rule: ParcelRule | None,
    prices: pd.DataFrame,
) -> dict[str, Any]:
    """What the label costs, and where that is from: by a service's rule and the postage table, else from the log."""
    column = f"No. {service['place']:.0f}" if service["name"] else ""
    measures = [size[key] for key in ("packed_weight", *SIDES)]
    billed = price = np.nan
    if rule is not None and not np.isnan(size["packed_weight"] + size["girth"]):
        billed = single("BILLED_WEIGHT", *measures, *rule)
        # Within the first step a table may have finer rows of its own.
        unstepped = single("BILLED_WEIGHT", *measures, *rule[:3], 0)
        weight = unstepped if unstepped <= rule.weight_step else billed
        price = single("POSTAGE_COST", weight, column, _table(prices)) if column else np.nan
    why = "the table has no price for this weight"
    if rule is None:
        why = "its parcel rule has no row for this day and these units"
    elif np.isnan(billed):
        why = "weight or box is missing"
    expected = item["expected_postage"]
    words = f"unknown: {why}"
    if not column:
        words = "unknown: choose a box and a service" if np.isnan(expected) else "the log's expected postage"
    note = words if np.isnan(price) else "the postage table"
    terms = ParcelRule() if rule is None else rule
    return {
        "service_row": float(service["place"]),
        "service_column": column,
        "rule": service["rule"],
        "rule_divisor": np.nan if terms.divisor is None else terms.divisor,
        "rule_gate": terms.gate,
        "rule_side_rounding": terms.side_rounding,
        "rule_weight_step": terms.weight_step,
        "billed_weight": billed,
        "table_price": price,
        "expected_postage": expected,
        "postage": price if column else expected,
        "no_price_words": why,
        "no_postage_words": words,
        "postage_note": note if item["item_no"] else "",
    }


def _table(prices: pd.DataFrame) -> list[list[Any]]:
    """The postage table as the function takes it: weights down, services across."""
    names = [f"No. {i}" for i in range(1, POSTAGE_COLUMNS + 1)]
    columns = ["up_to", *(f"no_{i}" for i in range(1, POSTAGE_COLUMNS + 1))]
    rows = prices[columns].to_numpy(float)
    return [["", *names], *[[None if np.isnan(cell) else cell for cell in row] for row in rows]]
