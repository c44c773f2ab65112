"""Sheet Buying plan worked out in Python, apart from the formulas."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.model.reads import Amount, Block, EditionOfLog, Results, SettingValue, Typed, Unread, Verdicts
from sheetfns.log.model.sheets import Edition
from sheetfns.log.sheets.buying_plan.validate import CHECKS
from sheetfns.log.sheets.lookups import CENT_NOISE, called, cents, channel_terms, figure, terms_of, whole
from sheetfns.log.sheets.reference_lists import Names
from sheetfns.log.sheets.row_checks import RowVerdicts, with_row_checks
from sheetfns.log.sheets.words import BY_DAY, KEY_STEP, SETTINGS

_NOISE_DIGITS: Final = 6
_LARGEST_RETURN: Final = 1000
"""What a free item returns, too; what is not bought comes after all that may be, by twice as much."""
_RETURN_STEPS: Final = 10_000
"""A return is ranked to the hundredth of a percent."""


@dataclass(frozen=True)
class Reads:
    """What sheet Buying plan is worked out from."""

    candidates: Annotated[pd.DataFrame, Typed("Plan")]
    channels: Annotated[pd.DataFrame, Block("Channel")]
    unread: Annotated[Mapping[tuple[int, str], Any], Unread("Plan")]
    edition: Annotated[Edition | None, EditionOfLog()]
    plan_by: Annotated[str | None, SettingValue("Plan_by")]
    purchase_tax: Annotated[float, Amount("Buying_tax_rate")]
    packaging: Annotated[float, Amount("Usual_packaging")]
    target_profit: Annotated[float, Amount("Target_profit")]
    target_return: Annotated[float, Amount("Target_return")]
    default_channel: Annotated[str, SettingValue("Default_channel")]
    pay: Annotated[pd.DataFrame, Results("Pay", "buying_cash")]
    reserve: Annotated[float, Amount("Trip_reserve")]
    verdicts: Annotated[RowVerdicts, Verdicts("Plan")]


def compute(reads: Reads) -> pd.DataFrame:
    """What one of each candidate leaves, the most to pay for it, its rank, and how many of it to buy."""
    by_day = str(reads.plan_by or "").casefold() == BY_DAY.casefold()
    cash = float(reads.pay["buying_cash"].iloc[0])
    budget = max(0.0, cash - reads.reserve)
    rows = _profits(_with_terms(reads), reads)
    cost, profit = rows["landed_cost"], rows["profit"]
    over = rows["price_tag"] - rows["ceiling"] > CENT_NOISE
    # A free item is not over a most to pay of 0, and yet may leave less than is wanted.
    too_little = reads.target_profit - profit > CENT_NOISE
    misses, priced = over | too_little, profit.notna()
    days = rows["days_to_sell"].fillna(0) if by_day else pd.Series(1.0, rows.index)
    ready = priced & (days > 0)
    maximum = np.floor(rows["maximum"].where(rows["maximum"] >= 0, 1.0)).mask(misses, 0.0).where(priced)
    within = (profit > 0) & (cost <= budget)
    key, rank = _ranking((profit / days).where(ready), cost, misses, rows["sheet_row"])
    rows = rows.assign(
        plan_remark=np.select([over, too_little], ["over your most to pay", "no price is low enough"], ""),
        maximum_used=maximum,
        days_used=days.where(priced),
        all_cost=(maximum * cost).where(within, 0.0).where(priced),
        cost_used=cost.where(ready),
        profit_used=profit.where(ready),
        key=key,
        rank=rank,
    )
    bought = _best_choice(rows, cash, reads.reserve) if reads.edition == "functions" else _down(rows, budget)
    rows = rows.assign(buy=bought)
    rows = rows.assign(buy_cost=rows["buy"] * cost, buy_profit=rows["buy"] * profit)
    asked_for = _asked_for(rows, reads.unread, by_day=by_day)
    return with_row_checks(rows, CHECKS, reads.verdicts, rows["item"] != "", asked_for)


def _with_terms(reads: Reads) -> pd.DataFrame:
    """The candidates with the channel that counts for each, and its terms."""
    rows = reads.candidates
    used = [
        (chosen or reads.default_channel) if item else ""
        for chosen, item in zip(rows["channel"], rows["item"], strict=True)
    ]
    known = pd.Series(Names(reads.channels["name"], SETTINGS).spelled(used), rows.index, dtype=object)
    return rows.join(channel_terms(reads.channels, known))


def _profits(rows: pd.DataFrame, reads: Reads) -> pd.DataFrame:
    """The rows with what one of them costs and leaves, and the most to pay for it."""
    named = rows["item"] != ""
    rows = rows.assign(
        postage_used=rows["postage"].fillna(0).where(named),
        landed_cost=cents((rows["price_tag"] * (1 + reads.purchase_tax)).where(named)),
    )
    priced = named & rows["channel_known"] & rows["expected_price"].notna()
    paid = {"price": rows["expected_price"], "shipping": rows["postage_used"]}
    rows = rows.assign(fee=called("SELLING_FEE", priced, **paid, **terms_of(rows)))
    costed = priced & rows["landed_cost"].notna() & rows["fee"].notna()
    costs = {"fee": rows["fee"], "postage": rows["postage_used"], "packaging": reads.packaging}
    rows = rows.assign(profit=called("NET_PROFIT", costed, **paid, **costs, landed_cost=rows["landed_cost"]))
    costly = costed & (rows["landed_cost"] != 0)
    ceiling = called(
        "BUY_CEILING",
        costed,
        expected_price=rows["expected_price"],
        shipping=rows["postage_used"],
        postage=rows["postage_used"],
        packaging=reads.packaging,
        rate=0.0,
        per_order=rows["fee"],
        target_profit=reads.target_profit,
        target_return=reads.target_return,
        purchase_tax_rate=reads.purchase_tax,
    )
    return rows.assign(
        return_on_cost=called("RETURN_ON_COST", costly, net_profit=rows["profit"], landed_cost=rows["landed_cost"]),
        ceiling=down_to_the_cent(ceiling),
    )


def down_to_the_cent(amounts: Any) -> Any:
    """Rounded down, past the noise of dividing."""
    return np.floor(np.round(100 * np.asarray(amounts, float), _NOISE_DIGITS)) / 100


def _ranking(
    a_day: pd.Series[float], cost: pd.Series[float], misses: pd.Series[bool], sheet_rows: pd.Series[int]
) -> tuple[pd.Series[float], pd.Series[float]]:
    """Key and rank by profit a day for the cash, the earlier row first; what misses a target comes last."""
    of_free = pd.Series(_LARGEST_RETURN * np.sign(a_day), a_day.index)
    for_cash = (a_day / cost.where(cost > 0)).where(cost > 0, of_free)
    limited = for_cash.clip(-_LARGEST_RETURN, _LARGEST_RETURN)
    order = whole(_RETURN_STEPS * limited)
    key = (order - _RETURN_STEPS * 2 * _LARGEST_RETURN * misses) * KEY_STEP - sheet_rows
    # `first` ranks equal rows in their order, which is that of the sheet.
    rank = order.groupby(misses).rank(ascending=False, method="first")
    return key, rank + misses * (order.notna() & ~misses).sum()


def _best_choice(rows: pd.DataFrame, cash: float, reserve: float) -> pd.Series[float]:
    """How many of each to buy, by BUY_PLAN."""
    ready = rows["key"].notna()
    costs, profits, days, maximum = (
        rows[key].where(ready).to_numpy(float) for key in ("cost_used", "profit_used", "days_used", "maximum_used")
    )
    chosen = figure("BUY_PLAN", costs, profits, cash, days, maximum, reserve) if ready.any() else None
    counts = [np.nan] * len(rows) if chosen is None else [np.nan if count is None else count for (count,) in chosen]
    return pd.Series(counts, rows.index, dtype=float)


def _down(rows: pd.DataFrame, budget: float) -> pd.Series[float]:
    """How many of each to buy, down the ranking: no other is taken in the place of one that the cash does not pay."""
    left, bought = budget, {}
    ranked = rows[rows["key"].notna()].sort_values("rank")
    for place in ranked.index:
        cost, profit, maximum = (float(ranked.loc[place, key]) for key in ("landed_cost", "profit", "maximum_used"))
        if profit <= 0 or cost > budget:
            bought[place] = 0.0
            continue
        affordable = math.inf if cost == 0 else math.floor(round(left / cost, 9))
        bought[place] = max(0.0, min(maximum, affordable))
        left = round(left - maximum * cost, _NOISE_DIGITS)
    return pd.Series(bought, dtype=float).reindex(rows.index)


def _asked_for(
    rows: pd.DataFrame, unread: Mapping[tuple[int, str], Any], *, by_day: bool
) -> dict[str, pd.Series[bool]]:
    """Where text or an amount below 0 stands, the sheet asks for the figure as well."""

    def no_number(key: str, over: float) -> pd.Series[bool]:
        cells = [unread.get((row, key)) for row in rows["sheet_row"]]
        wrong = [cell is not None and not (isinstance(cell, (int, float)) and cell > over) for cell in cells]
        return (rows["item"] != "") & pd.Series(wrong, rows.index, dtype=bool)

    verdicts = {"no_price": no_number("price_tag", -math.inf) | no_number("expected_price", -math.inf)}
    return verdicts | ({"no_days": no_number("days_to_sell", 0.0)} if by_day else {})
