"""Comparables, Buying plan and Shelf check worked out in Python, apart from the formulas."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns.functions.cautions import resale_caution
from sheetfns.functions.comps import LEAST_SPREAD, SPREAD_SCALE, WILD_DISTANCE
from sheetfns.log.model.sheets import FIRST_ROW
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.lookups import (
    FEE_TERMS,
    KEY_STEP,
    add_channel_terms,
    called,
    figure,
    setting,
    single,
    terms_of,
    topic_of,
)
from sheetfns.log.sheets.words import BY_DAY, NO, SHELF_PRICES, YES
from sheetfns.money import round_money, round_up_money

_TO_THE_CENT: Final = 6
CENT_NOISE: Final = 0.005


def _spread(basis: pd.Series[float]) -> tuple[float, pd.Series[float], float, pd.Series[bool]]:
    """The median of prices, how far each is from it, how far is usual, and which count."""
    center = float(basis.median())
    distance = (basis - center).abs().round(_TO_THE_CENT)
    spread = max(SPREAD_SCALE * float(distance.median()), LEAST_SPREAD * center)
    return center, distance, spread, (distance <= WILD_DISTANCE * spread) | (spread == 0)


def work_out_plan(content: LogContent) -> pd.DataFrame:
    """One row for each candidate."""
    rows = content.sheets["Plan"].copy()
    add_channel_terms(content, rows)
    named = rows["piece"] != ""
    tax = setting(content, "Buying_tax_rate")
    packing = pd.Series(setting(content, "Usual_packing"), rows.index)
    rows["postage_used"] = rows["postage"].fillna(0).where(named)
    rows["landed_cost"] = round_money((rows["ticket"] * (1 + tax)).where(named).to_numpy(float))
    priced = named & rows["channel_known"] & rows["expected_price"].notna()
    sale = {"price": rows["expected_price"], "shipping": rows["postage_used"]}
    rows["fee"] = called("SELLING_FEE", priced, **sale, **terms_of(rows))
    costed = priced & rows["landed_cost"].notna() & rows["fee"].notna()
    sale |= {"fee": rows["fee"], "postage": rows["postage_used"], "packing": packing}
    rows["profit"] = called("NET_PROFIT", costed, **sale, landed_cost=rows["landed_cost"])
    rows["return_on_cost"] = called(
        "RETURN_ON_COST",
        costed & (rows["landed_cost"] != 0),
        net_profit=rows["profit"],
        landed_cost=rows["landed_cost"],
    )
    rows["ceiling"] = _down(
        called(
            "BUY_CEILING",
            costed,
            expected_price=rows["expected_price"],
            shipping=rows["postage_used"],
            postage=rows["postage_used"],
            packing=packing,
            rate=rows["postage_used"] * 0,
            per_order=rows["fee"],
            target_profit=packing * 0 + setting(content, "Wanted_profit"),
            target_return=packing * 0 + setting(content, "Wanted_return"),
            purchase_tax_rate=packing * 0 + tax,
        )
    )
    by_day = str(content.settings.get("Plan_by")) == BY_DAY
    days = rows["days_to_sell"].fillna(0) if by_day else pd.Series(1.0, rows.index)
    ready = rows["profit"].notna() & (days > 0)
    over = rows["ticket"] - rows["ceiling"] > CENT_NOISE
    # A free piece is not over a most to pay of 0, and yet may leave less than is wanted.
    too_little = setting(content, "Wanted_profit") - rows["profit"] > CENT_NOISE
    rows["plan_remark"] = np.select([over, too_little], ["over your most to pay", "no price is low enough"], "")
    misses = over | too_little
    priced = rows["profit"].notna()
    typed = rows["most"].where(rows["most"] >= 0, 1.0)
    rows["most_used"] = np.floor(typed).mask(misses, 0.0).where(priced)
    rows["days_used"] = days.where(priced)
    budget = max(0.0, setting(content, "Trip_cash") - setting(content, "Trip_reserve"))
    within = (rows["profit"] > 0) & (rows["landed_cost"] <= budget)
    rows["all_cost"] = (rows["most_used"] * rows["landed_cost"]).where(within, 0.0).where(priced)
    rows["cost_used"], rows["profit_used"] = (rows[key].where(ready) for key in ("landed_cost", "profit"))
    _rank(rows, days, ready, misses)
    _choose(content, rows, days, ready, misses)
    rows["buy_cost"] = rows["buy"] * rows["landed_cost"]
    rows["buy_profit"] = rows["buy"] * rows["profit"]
    return rows


def _rank(rows: pd.DataFrame, days: pd.Series[float], ready: pd.Series[bool], misses: pd.Series[bool]) -> None:
    """By profit for the cash and the day to a hundredth of a percent, the earlier row first.

    What misses a wish comes after all that does not.
    """
    cost, profit = rows["landed_cost"], rows["profit"]
    per_cash = (profit / days / cost.where(cost > 0)).where(cost > 0, np.sign(profit) * 1000)
    rounded = round_money(10_000 * per_cash.clip(-1000, 1000).to_numpy(float), 0)
    order = pd.Series(rounded, rows.index).where(ready)
    rows["key"] = (order - 10_000 * 2000 * misses) * KEY_STEP - rows["sheet_row"]
    # `first` ranks equal rows in their order, which is that of the sheet.
    places = order.groupby(misses).rank(ascending=False, method="first")
    rows["rank"] = places + misses * (ready & ~misses).sum()


def _choose(
    content: LogContent, rows: pd.DataFrame, days: pd.Series[float], ready: pd.Series[bool], misses: pd.Series[bool]
) -> None:
    """The best choice in the functions edition, down the ranking in the plain one.

    Nothing that misses a wish is bought.
    """
    most = rows["most"].fillna(1).mask(misses, 0).where(ready)
    cash, reserve = setting(content, "Trip_cash"), setting(content, "Trip_reserve")
    rows["buy"] = np.nan
    if content.edition == "functions":
        if ready.any():
            cost, profit = rows["landed_cost"].where(ready), rows["profit"].where(ready)
            chosen = figure(
                "BUY_PLAN",
                cost.to_numpy(),
                profit.to_numpy(),
                cash,
                days.to_numpy(float),
                most.to_numpy(float),
                reserve,
            )
            if chosen is not None:
                rows["buy"] = [np.nan if count is None else count for (count,) in chosen]
        return
    left = budget = max(0.0, cash - reserve)
    for place in rows[ready].sort_values("rank").index:
        if rows.loc[place, "profit"] <= 0:
            rows.loc[place, "buy"] = 0.0
            continue
        one = float(rows.loc[place, "landed_cost"])
        if one > budget:
            rows.loc[place, "buy"] = 0.0
            continue
        afford = np.inf if one == 0 else np.floor(round(left / one, 9))
        rows.loc[place, "buy"] = max(0.0, min(float(most[place]), afford))
        left = round(left - most[place] * one, _TO_THE_CENT)


def _down(amounts: Any) -> Any:
    """Rounded down to the cent, past the noise of dividing."""
    return np.floor(np.round(100 * np.asarray(amounts, float), _TO_THE_CENT)) / 100


def work_out_shelf(content: LogContent, comparables: pd.DataFrame, plan: pd.DataFrame) -> pd.DataFrame:
    """The results of Shelf check in one row."""
    typed = content.forms["Shelf"]
    prices = [typed[f"sold_{i}"] for i in range(1, SHELF_PRICES + 1)]
    shelf: dict[str, Any] = {"plan_cost": float(plan["buy_cost"].sum()), "plan_profit": float(plan["buy_profit"].sum())}
    topic = topic_of(content, typed["category"]) if typed["category"] else ""
    shelf |= {"topic": topic, "caution": resale_caution(topic) if topic else ""}
    shelf["check_first"] = f"Check: {resale_caution(topic, brief=True)}" if topic else ""
    numbers = {*(f"sold_{i}" for i in range(1, SHELF_PRICES + 1)), "lacks", "postage", "ticket"}
    to_mend = any(key in numbers for _, key in content.unread.get("Shelf", {}))
    to_mend |= typed["postage_in"] not in ("", YES, NO)
    shelf["to_mend"] = float(to_mend)
    shelf |= _of_item(typed, comparables)
    nothing: dict[str, Any] = {"low": np.nan, "middle": np.nan, "high": np.nan, "remark": ""}
    shelf |= _spread_of(typed, [np.nan] * SHELF_PRICES if to_mend else prices)
    shelf |= nothing if to_mend else _prices_of(content, typed, prices, comparables)
    sale = pd.DataFrame(
        {"channel": [typed["channel"]], "price": [shelf["middle"]], "shipping": [typed["postage"] or 0.0]}
    )
    add_channel_terms(content, sale)
    shelf |= {f"fee_{term}": sale[f"fee_{term}"].iloc[0] for term in FEE_TERMS}
    shelf |= {"channel_row": sale["channel_row"].iloc[0], "postage_used": typed["postage"] or 0.0}
    known = not np.isnan(shelf["comps_row"])
    missing = "The item has no sales yet" if known else "Item is not on Comparables"
    shelf["asks_prices"] = missing if typed["comps_of"] else "Type sold prices"
    shelf["asks_more"] = ""
    if typed["postage_in"] == YES and typed["postage"] is None:
        shelf["asks_more"] = "Type the postage"
    elif not sale["channel_known"].iloc[0]:
        shelf["asks_more"] = "Choose a channel"
    shelf["typed_remark"] = shelf["remark"] if shelf["number"] else ""
    shelf["asks"] = shelf["asks_prices" if np.isnan(shelf["middle"]) else "asks_more"]
    if to_mend:
        shelf["asks"] = "Mend what you typed"
    shelf |= _verdict(content, typed, shelf, sale)
    shelf["limit_words"] = _limit_words(content, shelf["wishes"])
    return pd.DataFrame([shelf])


def _prices_of(
    content: LogContent, typed: dict[str, Any], prices: list[Any], comparables: pd.DataFrame
) -> dict[str, Any]:
    """Low, middle, high and remark: from the typed prices, or of an item on Comparables."""
    none = {"low": np.nan, "middle": np.nan, "high": np.nan, "remark": ""}
    if any(price is not None for price in prices):
        found = figure(
            "COMP_SPREAD",
            prices,
            typed["postage_in"] or None,
            typed["postage"],
            typed["lacks"],
            YES,
            1,
            0,
            setting(content, "Comp_half_life"),
            setting(content, "Comp_low_share"),
        )
        if found is None:
            return none
        low, middle, high, _, _, remark = found[0]
        return {"low": low, "middle": middle, "high": high, "remark": remark}
    item = _of_item(typed, comparables)
    return {key: item[f"item_{key}"] for key in none}


def _spread_of(typed: dict[str, Any], prices: list[Any]) -> dict[str, Any]:
    """The typed prices on one basis, and how far each lies from their middle."""
    postage = (typed["postage"] or 0.0) if typed["postage_in"] == YES else 0.0
    paid = np.array([np.nan if price is None else price for price in prices], dtype=float)
    bases = round_money(np.maximum(paid - postage - (typed["lacks"] or 0.0), 0))
    basis = pd.Series(bases, range(1, SHELF_PRICES + 1))
    center, distance, spread, counts = _spread(basis)
    kept = basis.where(counts)
    columns = {"basis": basis, "distance": distance, "kept": kept}
    cells = {f"{key}_{i}": value for key, each in columns.items() for i, value in each.items()}
    number, used = float(basis.count()), float(kept.count())
    return cells | {"number": number, "center": center, "spread": spread, "used": used}


def _limit_words(content: LogContent, between: float) -> str:
    """Which wish sets the limit; `between` is what a wanted profit leaves over a wanted return."""
    if between < 0:
        return "the wanted profit sets the limit"
    if between != 0:
        return "the wanted return sets the limit"
    if setting(content, "Wanted_profit") + setting(content, "Wanted_return") == 0:
        return "break-even: no profit or return is wanted"
    return "both wishes set the limit"


def _of_item(typed: dict[str, Any], comparables: pd.DataFrame) -> dict[str, Any]:
    """What Comparables has of the item that is typed."""
    nothing = dict.fromkeys(("comps_row", "item_low", "item_middle", "item_high"), np.nan)
    of_item = comparables[comparables["item"].str.casefold() == typed["comps_of"].casefold()]
    if not typed["comps_of"] or of_item.empty:
        return nothing | {"item_remark": ""}
    first, lacks = of_item.iloc[0], typed["lacks"] or 0.0
    found = {f"item_{key}": max(0.0, first[key] - lacks) for key in ("low", "middle", "high")}
    place = first["sheet_row"] - FIRST_ROW + 1.0
    return found | {"comps_row": place, "item_remark": first["remark"]}


def _verdict(content: LogContent, typed: dict[str, Any], shelf: dict[str, Any], sale: pd.DataFrame) -> dict[str, Any]:
    blank = dict.fromkeys(
        (
            *("ceiling", "careful", "profit", "break_even", "safety", "afford", "landed_cost"),
            *("left", "low_fee", "most_in_all", "wishes", "too_dear"),
        ),
        np.nan,
    )
    fee = called(
        "SELLING_FEE",
        sale["channel_known"] & sale["price"].notna(),
        price=sale["price"],
        shipping=sale["shipping"],
        **terms_of(sale),
    )
    blank["fee"] = fee[0]
    if shelf["asks"]:
        return blank | {"verdict": shelf["asks"], "reason": ""}
    postage = float(sale["shipping"].iloc[0])
    packing, tax = setting(content, "Usual_packing"), setting(content, "Buying_tax_rate")
    wishes = (
        *(shelf["middle"], postage, postage, packing, 0, fee[0]),
        *(setting(content, "Wanted_profit"), setting(content, "Wanted_return"), 0, 0, tax),
    )
    exact = single("BUY_CEILING", *wishes)
    reason = single("BUY_REMARK", *wishes)
    ceiling = float(_down(exact))
    low_fee = called("SELLING_FEE", pd.Series([True]), price=[shelf["low"]], shipping=[postage], **terms_of(sale))[0]
    low = (shelf["low"], *wishes[1:5], low_fee, *wishes[6:])
    careful = single("BUY_CEILING", *low)
    ticket = typed["ticket"]
    landed = float(round_money((ceiling if ticket is None else ticket) * (1 + tax)))
    one = pd.Series([True])
    break_even = round_up_money(
        called(
            "BREAK_EVEN_PRICE",
            one,
            landed_cost=[landed],
            postage=[postage],
            packing=[packing],
            shipping=[postage],
            **terms_of(sale),
        )
    )[0]
    sold_for = (shelf["middle"], postage, fee[0], postage, packing)
    safety = figure("MARGIN_OF_SAFETY", shelf["middle"], break_even) if shelf["middle"] else None
    budget = max(0.0, setting(content, "Trip_cash") - setting(content, "Trip_reserve"))
    left = single("NET_PROCEEDS", *sold_for)
    by_profit = left - setting(content, "Wanted_profit")
    by_return = left / (1 + setting(content, "Wanted_return"))
    return {
        "ceiling": ceiling,
        "careful": float(_down(careful)),
        "fee": fee[0],
        "left": left,
        "low_fee": low_fee,
        "most_in_all": min(by_profit, by_return),
        "wishes": round(by_profit - by_return, _TO_THE_CENT),
        "too_dear": float(_is_over(ticket, ceiling)),
        "landed_cost": landed,
        "profit": single("NET_PROFIT", *sold_for, landed),
        "break_even": break_even,
        "safety": safety[0][0] if safety else np.nan,
        "afford": single("AFFORD_COUNT", budget, landed) if landed else np.nan,
        "verdict": _verdict_words(ceiling, ticket),
        "reason": reason,
    }


def _verdict_words(ceiling: float, ticket: float | None) -> str:
    if ceiling <= 0:
        return "Leave it"
    over = _is_over(ticket, ceiling)
    return f"Only at {ceiling:,.2f} or less" if over else f"Buy up to {ceiling:,.2f}"


def _is_over(ticket: float | None, ceiling: float) -> bool:
    return float(round_money((ticket or 0.0) - ceiling)) > 0
