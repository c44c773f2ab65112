"""Sheets Stock and Stale stock worked out in Python, apart from the formulas."""

from __future__ import annotations

import re
from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns.cell_types import Column
from sheetfns.log.model.sheets import FIRST_ROW
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.inventory.layout import FEWEST_SALES, PLACE_ROWS
from sheetfns.log.sheets.lookups import FEE_TERMS, called, single, terms_of
from sheetfns.log.sheets.pay.compute import MONTH_DAYS, window
from sheetfns.log.sheets.registry import layout
from sheetfns.log.sheets.stale_inventory.layout import STALE_ROWS
from sheetfns.log.sheets.words import AGE_ROWS, CATEGORY_ROWS, DISCARDED, STEP_ROWS, YES
from sheetfns.money import round_money

_GROUP_FIGURES: Final = ("on_hand", "cost_now", "sold", "profit", "cost_over", "cost_days")


def work_out_stock(content: LogContent, pieces: pd.DataFrame, lots: pd.DataFrame, months: pd.DataFrame) -> pd.DataFrame:
    """The results of Stock in one row."""
    stock = _on_hand(content, pieces, lots, months)
    stock |= _turning(content, pieces, lots, stock)
    stock |= _time_to_sell(content, pieces)
    stock |= _ages(content, pieces, stock)
    stock |= _categories(content, pieces) | _places(pieces)
    return pd.DataFrame([stock])


def _on_hand(content: LogContent, pieces: pd.DataFrame, lots: pd.DataFrame, months: pd.DataFrame) -> dict[str, Any]:
    on_hand = pieces["on_hand"] == 1
    listed = on_hand & _is_listed(pieces)
    stale = pieces["stale_key"].notna()
    stock: dict[str, Any] = {}
    for name, chosen in (("listed", listed), ("unlisted", on_hand & ~listed), ("pieces", on_hand), ("stale", stale)):
        stock[f"{name}_cost"] = _rounded(pieces.loc[chosen, "cost_on_hand"].sum())
        stock[f"{name}_count"] = float(chosen.sum())
    stock["listed_asked"] = _rounded(pieces.loc[listed, "asking_price"].sum())
    waiting = lots[lots["bought_on"].dt.normalize() <= window(content)[1]]
    stock["lots_cost"] = _rounded(waiting["not_shared"].sum())
    stock["lots_count"] = float((waiting["not_shared"] > 0).sum())
    stock["stock_now"] = _rounded(stock["pieces_cost"] + stock["lots_cost"])
    # Sheet Money ends after a number of months.
    shown = months["closing_stock"].iloc[: layout().table("Money").ready_rows]
    stock["stock_on_money"] = float(shown.iloc[-1]) if len(shown) else np.nan
    stock["stock_tie"] = _rounded(stock["stock_now"] - stock["stock_on_money"])
    return stock


def _is_listed(pieces: pd.DataFrame) -> pd.Series[bool]:
    """Whether a piece is offered; one that came back is not, as it gets a new row."""
    listed: pd.Series[bool] = pieces["listed_on"].notna() & pieces["sold_on"].isna() & pieces["returned_on"].isna()
    return listed


def _turning(content: LogContent, pieces: pd.DataFrame, lots: pd.DataFrame, stock: dict[str, Any]) -> dict[str, Any]:
    first, last, days = window(content)

    def in_days(amount: str, day: str, chosen: Any = True) -> float:
        dated = (pieces[day].dt.normalize() >= first) & (pieces[day].dt.normalize() <= last)
        return float(pieces.loc[dated & chosen, amount].sum())

    cost = (
        in_days("landed_cost", "sold_on")
        - in_days("landed_cost", "returned_on")
        + in_days("landed_cost", "left_on", pieces["left_how"] == DISCARDED)
    )
    sales = in_days("income", "sold_on") - in_days("refund", "refund_day")
    kept = pieces["kept"] == 1
    turning: dict[str, Any] = {
        "first_day": first,
        "days_counted": float(days),
        "stock_then": _rounded(_stock_before(pieces, lots, first)),
        "cost_of_sold": _rounded(cost),
        "gross_margin": _rounded(sales - _rounded(cost)),
        "sold_count": float((kept & pieces["sold_on"].dt.normalize().between(first, last)).sum()),
    }
    year_days = MONTH_DAYS * 12
    turning["year_days"] = year_days
    opening, closing = max(0.0, turning["stock_then"]), max(0.0, stock["stock_now"])
    note = ""
    if first > last:
        note = "Figures as of is before the first month: see Settings."
    elif turning["cost_of_sold"] < 0:
        note = "More came back than was sold in these days."
    elif turning["cost_of_sold"] == 0:
        note = "Nothing that cost money was sold in these days."
    elif turning["stock_then"] + stock["stock_now"] <= 0:
        note = "There is no stock at cost."
    turning |= dict.fromkeys(("turns", "lasts", "earns", "sell_through"), np.nan)
    turning["turn_note"] = note
    if not note:
        in_year = year_days / days
        sold = turning["cost_of_sold"]
        turning["turns"] = single("STOCK_TURN", sold, opening, closing) * in_year
        turning["lasts"] = single("DAYS_ON_HAND", closing, sold, float(days))
        margin = turning["gross_margin"]
        turning["earns"] = single("STOCK_RETURN", margin, opening, closing) * in_year
    offered = turning["sold_count"] + stock["listed_count"]
    if offered:
        turning["sell_through"] = single("SELL_THROUGH", turning["sold_count"], offered)
    return turning


def _stock_before(pieces: pd.DataFrame, lots: pd.DataFrame, day: pd.Timestamp) -> float:
    """Stock at cost at the start of a day."""
    cost = pieces["landed_cost"].fillna(0)
    there = (
        (pieces["stock_date"] < day).astype(float)
        - (pieces["sold_on"] < day)
        + (pieces["returned_on"] < day)
        - (pieces["left_on"] < day)
    )
    return float((cost * there).sum() + lots.loc[lots["bought_on"] < day, "not_shared"].sum())


def _time_to_sell(content: LogContent, pieces: pd.DataFrame) -> dict[str, Any]:
    told = pieces["history_days"].notna()
    sales = int((told & (pieces["kept"] == 1)).sum())
    short = sales < FEWEST_SALES
    found: dict[str, Any] = {
        "history_sales": float(sales),
        "history_short": float(short),
        "longest": float(pieces["history_days"].max()) if told.any() else 0.0,
        "median_days": np.nan,
        "sold_in_the_end": np.nan,
        "time_note": "Times and chances to sell are worked out in the functions edition only.",
    }
    found["longest"] = max(0.0, found["longest"])
    if content.edition != "functions":
        return found
    if short:
        return found | {"time_note": f"History too short: fewer than {FEWEST_SALES} sales that were kept."}
    history = _history(pieces)
    found["sold_in_the_end"] = single("SOLD_BY_CHANCE", *history, found["longest"])
    found["median_days"] = single("MEDIAN_DAYS_TO_SELL", *history)
    found["time_note"] = (
        "Over half have not sold yet, not even those held longest."
        if np.isnan(found["median_days"])
        else "Pieces that have not sold yet are counted in."
    )
    return found


def _history(pieces: pd.DataFrame) -> tuple[Column, Column]:
    """Days held and whether sold, of pieces that tell something of the past."""
    told = pieces[pieces["history_days"].notna()]
    return told["history_days"].to_numpy(float), told["kept"].to_numpy(float)


def _placed(content: LogContent, block: str, column: str, rows: int) -> list[Any]:
    """A column of a small table, with None in its blank rows."""
    found: list[Any] = [None] * rows
    cells = content.blocks[block][column].tolist()
    for place, cell in zip(content.places_in_block(block), cells, strict=True):
        if cell != "" and not pd.isna(cell) and place <= rows:
            found[place - 1] = cell
    return found


def _ages(content: LogContent, pieces: pd.DataFrame, stock: dict[str, Any]) -> dict[str, Any]:
    begins = _placed(content, "Age", "from_day", AGE_ROWS)
    on_hand = pieces[pieces["on_hand"] == 1]
    measured = content.edition == "functions" and not stock["history_short"]
    found: dict[str, Any] = {}
    for i, (begin, after) in enumerate(zip(begins, [*begins[1:], None], strict=True), 1):
        keys = ("from", "until", "pieces", "cost", "share", "chance")
        row: dict[str, Any] = dict.fromkeys(keys, np.nan) | {"label": "", "age_no": float(i)}
        if begin is not None:
            until = np.inf if after is None else after - 1
            row |= _age_class(on_hand, begin, until, stock["pieces_cost"])
        horizon = row["until"]
        seen = measured and (horizon <= stock["longest"] or stock["sold_in_the_end"] >= 1)
        if seen and not np.isnan(horizon):
            row["chance"] = single("SOLD_BY_CHANCE", *_history(pieces), horizon)
        found |= {f"{key}_{i}": value for key, value in row.items()}
    return found


def _age_class(on_hand: pd.DataFrame, begin: float, until: float, cost: float) -> dict[str, Any]:
    held = on_hand[on_hand["days_held"].between(begin, until)]
    if np.isfinite(until):
        label = f"{begin:g} to {until:g} days"
    else:
        label = f"over {begin - 1:g} days" if begin else "any age"
    own = _rounded(held["cost_on_hand"].sum())
    return {
        "label": label,
        "from": begin,
        "until": until if np.isfinite(until) else np.nan,
        "pieces": float(len(held)),
        "cost": own,
        "share": own / cost if cost > 0 else np.nan,
    }


def _of_group(pieces: pd.DataFrame) -> dict[str, Any]:
    """What is on hand of some pieces, and what they earned so far."""
    on_hand = pieces["on_hand"] == 1
    sums = {
        "on_hand": float(on_hand.sum()),
        "cost_now": pieces.loc[on_hand, "cost_on_hand"].sum(),
        "sold": float((pieces["kept"] == 1).sum()),
        "profit": pieces["history_profit"].sum(),
        "cost_over": pieces.loc[pieces["history_over"] == 1, "history_cost"].sum(),
        "cost_days": pieces["cost_days"].sum(),
    }
    group: dict[str, Any] = {key: _rounded(figure) for key, figure in sums.items()}
    over, days = group["cost_over"], group["cost_days"]
    group["return"] = group["profit"] / over if over > 0 else np.nan
    group["monthly"] = group["profit"] / days * MONTH_DAYS if days > 0 else np.nan
    return group


_NO_GROUP: Final = dict.fromkeys((*_GROUP_FIGURES, "return", "monthly"), np.nan)


def _categories(content: LogContent, pieces: pd.DataFrame) -> dict[str, Any]:
    found: dict[str, Any] = {}
    names = _placed(content, "Category", "name", CATEGORY_ROWS)
    words = pieces["category"].str.casefold()
    known: dict[str, int] = {}
    for i, name in enumerate(names, 1):
        row: dict[str, Any] = _NO_GROUP | {"name": "", "no": float(i), "word": "", "first": np.nan}
        if name is not None:
            row["word"] = re.sub(r"([~*?])", r"~\1", name)
            row["first"] = float(known.setdefault(name.casefold(), i))
            if row["first"] == i:
                row |= _of_group(pieces[words == name.casefold()]) | {"name": name}
        found |= {f"category_{key}_{i}": value for key, value in row.items()}
    rest = pieces[~words.isin(known)]
    for i, (name, group) in enumerate((("Other words or none", rest), ("All together", pieces)), CATEGORY_ROWS + 1):
        row = _of_group(group) | {"name": name}
        found |= {f"category_{key}_{i}": value for key, value in row.items()}
    return found


def _places(pieces: pd.DataFrame) -> dict[str, Any]:
    ranked = pieces["place_key"].dropna().sort_values(ascending=False, kind="stable").index
    found: dict[str, Any] = {}
    for i in range(1, PLACE_ROWS + 1):
        row: dict[str, Any] = _NO_GROUP | {"name": "", "row": np.nan, "no": float(i)}
        if i <= len(ranked):
            first = pieces.loc[ranked[i - 1]]
            of_place = pieces[pieces["place_row"] == first["place_row"]]
            row |= _of_group(of_place)
            row |= {"name": first["place"], "row": first["place_row"]}
        found |= {f"place_{key}_{i}": value for key, value in row.items()}
    more = len(ranked) - PLACE_ROWS
    words = f"Not shown: places that earned no more, {more} of them." if more > 0 else ""
    return found | {"more_places": words}


def work_out_stale(content: LogContent, pieces: pd.DataFrame) -> pd.DataFrame:
    """Stale stock, a row for each of its rows."""
    order = pieces["stale_key"].dropna().sort_values(ascending=False, kind="stable").index
    stale = pieces.loc[order[:STALE_ROWS]].reset_index(drop=True)
    stale["log_row"] = stale["sheet_row"] - FIRST_ROW + 1.0
    came_back = stale["sold_on"].notna() | stale["returned_on"].notna()
    listed = _is_listed(stale)
    stale["not_ready"] = np.select(
        [came_back, ~listed, ~(stale["asking_price"] > 0)],
        ["came back: list it in a new row", "list it first", "type its asking price"],
        "",
    )
    priced = stale["not_ready"] == ""
    stale["priced"] = priced.astype(float)
    for ours, theirs in (("asking", "asking_price"), ("break_even", "break_even_price")):
        stale[ours] = stale[theirs].where(priced)
    loss_allowed = str(content.settings["Below_break_even"]).casefold() == YES.casefold()
    stale["floor"] = (0.0 * priced if loss_allowed else stale["break_even"]).where(priced)
    _mark_down(content, stale)
    _leave(stale, priced)
    new, first = stale["new_price"], stale["asking"]
    stale["stay"] = np.select(
        [new.isna(), first < stale["floor"], stale["share_off"] == 0],
        ["", "asked below break-even: it loses", "wait: no step reached yet"],
        "keep it: no room above its floor",
    )
    stale["advice"] = np.select(
        [new.isna(), (new < first) & (new == stale["floor"]), new < first],
        ["", "lower it, but only to its floor", "lower the price"],
        stale["stay"],
    )
    stale["what_to_do"] = np.select(
        [~priced, stale["break_even"].isna()], [stale["not_ready"], "mend its row: channel or cost"], stale["advice"]
    )
    return _with_blank_rows(stale)


def _mark_down(content: LogContent, stale: pd.DataFrame) -> None:
    """The share that comes off by now, and the price that is left."""
    days = _placed(content, "Markdown", "from_day", STEP_ROWS)
    shares = _placed(content, "Markdown", "share", STEP_ROWS)
    steps = [["From day", "Comes off"], *([d, s] for d, s in zip(days, shares, strict=True))]
    begun = [sum(d is not None and d <= waits for d in days) for waits in stale["days_waiting"]]
    off = [0.0 if not reached else shares[reached - 1] or 0.0 for reached in begun]
    stale["share_off"] = pd.Series(off, stale.index, dtype=float).where(stale["priced"] == 1)
    there_are_steps = any(day is not None for day in days)
    marked = [
        single("MARKDOWN_PRICE", asking, days_waiting, steps, floor)
        if there_are_steps and not np.isnan(floor)
        else np.nan
        for asking, days_waiting, floor in zip(
            *(stale[key].tolist() for key in ("asking", "days_waiting", "floor")), strict=True
        )
    ]
    stale["marked_down"] = pd.Series(marked, stale.index, dtype=float)
    new = stale["marked_down"] if there_are_steps else stale["asking"]
    stale["new_price"] = new.where(stale["floor"].notna())


def _leave(stale: pd.DataFrame, priced: pd.Series[bool]) -> None:
    """What the sale would leave at either price."""
    known = priced & stale["break_even"].notna()
    for name, price in (("first", "asking"), ("new", "new_price")):
        sale = {"price": stale[price], "shipping": stale["shipping_used"]}
        fee = called("SELLING_FEE", known & stale[price].notna(), **sale, **terms_of(stale))
        stale[f"fee_{name}"] = fee
        stale[f"net_{name}"] = called(
            "NET_PROFIT",
            stale[f"fee_{name}"].notna(),
            **sale,
            fee=fee,
            postage=stale["postage_used"],
            packing=stale["packing_used"],
            landed_cost=stale["landed_cost"],
        )
    stale["given_up"] = round_money((stale["net_first"] - stale["net_new"]).to_numpy(float))


def _with_blank_rows(stale: pd.DataFrame) -> pd.DataFrame:
    """As many rows as the sheet has, with the keys that it has."""
    shown = stale.assign(
        item=stale["item_no"],
        found=stale["place"],
        waiting=stale["days_waiting"],
        shipping=stale["shipping_used"],
        postage=stale["postage_used"],
        packing=stale["packing_used"],
    )
    texts = ("item", "description", "found", "channel", "not_ready", "stay", "advice", "what_to_do")
    numbers = (
        *("log_row", "waiting", "landed_cost", "asking", "break_even", "share_off", "new_price"),
        *("net_first", "net_new", "given_up", "priced", "floor", "marked_down", "fee_first"),
        *("fee_new", "shipping", "postage", "packing", *(f"fee_{term}" for term in FEE_TERMS)),
    )
    rows = shown[[*texts, *numbers]].reindex(range(STALE_ROWS))
    rows[list(texts)] = rows[list(texts)].fillna("")
    rows[list(numbers)] = rows[list(numbers)].astype(float)
    return rows


def _rounded(amount: float) -> float:
    return float(round_money(float(amount)))
