"""Sheet Stale inventory worked out in Python, apart from the formulas."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.model.reads import Block, Results, SettingValue
from sheetfns.log.sheets.columns import FEE_TERMS
from sheetfns.log.sheets.lookups import by_place, called, cents, is_listed, single, terms_of
from sheetfns.log.sheets.stale_inventory.layout import STALE_ROWS
from sheetfns.log.sheets.words import ROW_ONE, STEP_ROWS, YES

_OF_LOG: Final = {
    "item": "item_no",
    "found": "place",
    "waiting": "days_waiting",
    "shipping": "shipping_used",
    "postage": "postage_used",
    "packaging": "packaging_used",
}
"""Columns of the sourcing log that have another key here."""
_TEXTS: Final = ("item", "description", "found", "channel", "not_ready", "stay", "advice", "what_to_do")
_NUMBERS: Final = (
    *("log_row", "waiting", "landed_cost", "asking", "break_even", "share_off", "new_price", "net_first", "net_new"),
    *("given_up", "priced", "floor", "marked_down", "fee_first", "fee_new", "shipping", "postage", "packaging"),
    *(f"fee_{term.key}" for term in FEE_TERMS),
)


@dataclass(frozen=True)
class Reads:
    """What sheet Stale inventory is worked out from."""

    log: Annotated[pd.DataFrame, Results("Log")]
    markdown: Annotated[pd.DataFrame, Block("Markdown")]
    below_break_even: Annotated[str, SettingValue("Below_break_even")]


def compute(reads: Reads) -> pd.DataFrame:
    """The items that wait too long, longest first, in as many rows as the sheet has."""
    order = reads.log["stale_key"].dropna().sort_values(ascending=False, kind="stable").index
    rows = reads.log.loc[order[:STALE_ROWS]].reset_index(drop=True)
    lacks = _what_it_lacks(rows)
    priced = lacks == ""
    rows = rows.assign(
        **{ours: rows[theirs] for ours, theirs in _OF_LOG.items()},
        log_row=rows["sheet_row"] - float(ROW_ONE),
        not_ready=lacks,
        priced=priced.astype(float),
        asking=rows["asking_price"].where(priced),
        break_even=rows["break_even_price"].where(priced),
    )
    loss_allowed = str(reads.below_break_even).casefold() == YES.casefold()
    rows["floor"] = (0.0 * rows["priced"] if loss_allowed else rows["break_even"]).where(priced)
    rows = rows.assign(**_marked_down(rows, reads.markdown))
    rows = rows.assign(**_net(rows, rows["asking"], "first"), **_net(rows, rows["new_price"], "new"))
    rows = rows.assign(given_up=cents(rows["net_first"] - rows["net_new"]), **_advice(rows))
    shown = rows[[*_TEXTS, *_NUMBERS]].reindex(range(STALE_ROWS))
    return shown.fillna(dict.fromkeys(_TEXTS, "")).astype(dict.fromkeys(_NUMBERS, float))


def _what_it_lacks(rows: pd.DataFrame) -> pd.Series[Any]:
    """Why an item has no price to mark down."""
    came_back = rows["sold_on"].notna() | rows["returned_on"].notna()
    lacks = np.select(
        [came_back, ~is_listed(rows), ~(rows["asking_price"] > 0)],
        ["came back: list it in a new row", "list it first", "enter its asking price"],
        "",
    )
    return pd.Series(lacks, rows.index, dtype=object)


def _marked_down(rows: pd.DataFrame, markdown: pd.DataFrame) -> dict[str, Any]:
    """The share that comes off by now, and the price that is left."""
    days, shares = (by_place(markdown, column, STEP_ROWS) for column in ("from_day", "share"))
    steps = [["From day", "Markdown"], *([day, share] for day, share in zip(days, shares, strict=True))]
    begun = [sum(day is not None and day <= waits for day in days) for waits in rows["waiting"]]
    off = [0.0 if not reached else shares[reached - 1] or 0.0 for reached in begun]
    there_are_steps = any(day is not None for day in days)
    marked = [
        single("MARKDOWN_PRICE", asking, waits, steps, floor) if there_are_steps and not np.isnan(floor) else np.nan
        for asking, waits, floor in rows[["asking", "waiting", "floor"]].itertuples(index=False)
    ]
    marked_down = pd.Series(marked, rows.index, dtype=float)
    new_price = marked_down if there_are_steps else rows["asking"]
    return {
        "share_off": pd.Series(off, rows.index, dtype=float).where(rows["priced"] == 1),
        "marked_down": marked_down,
        "new_price": new_price.where(rows["floor"].notna()),
    }


def _net(rows: pd.DataFrame, price: pd.Series[float], name: str) -> dict[str, Any]:
    """What the sale would leave at a price, and its fee."""
    sale = {"price": price, "shipping": rows["shipping"]}
    fee = pd.Series(called("SELLING_FEE", rows["break_even"].notna() & price.notna(), **sale, **terms_of(rows)))
    costs = {key: rows[key] for key in ("postage", "packaging", "landed_cost")}
    net = called("NET_PROFIT", fee.notna(), **sale, fee=fee, **costs)
    return {f"fee_{name}": fee, f"net_{name}": net}


def _advice(rows: pd.DataFrame) -> dict[str, Any]:
    """What to do with an item: lower its price, keep it, or what it lacks."""
    new, first = rows["new_price"], rows["asking"]
    stay = np.select(
        [new.isna(), first < rows["floor"], rows["share_off"] == 0],
        ["", "asked below break-even: it loses", "wait: no step reached yet"],
        "keep it: no room above its floor",
    )
    advice = np.select(
        [new.isna(), (new < first) & (new == rows["floor"]), new < first],
        ["", "lower it, but only to its floor", "lower the price"],
        stay,
    )
    what_to_do = np.select(
        [rows["priced"] != 1, rows["break_even"].isna()], [rows["not_ready"], "fix its row: channel or cost"], advice
    )
    return {"stay": stay, "advice": advice, "what_to_do": what_to_do}
