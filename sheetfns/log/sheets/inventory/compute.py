"""Sheet Inventory worked out in Python, apart from the formulas."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.model.reads import Amount, Block, EditionOfLog, Results, SettingValue
from sheetfns.log.model.sheets import Edition
from sheetfns.log.sheets.inventory.layout import FEWEST_SALES, PLACE_ROWS
from sheetfns.log.sheets.lookups import by_place, is_listed, single
from sheetfns.log.sheets.pay.averaged_days import MONTH_DAYS, AveragedDays, averaged_days
from sheetfns.log.sheets.words import AGE_ROWS, CATEGORY_ROWS, DISCARDED
from sheetfns.money import round_money

_YEAR_DAYS: Final = MONTH_DAYS * 12
_FIGURES: Final = ("on_hand", "cost_now", "sold", "profit", "cost_over", "cost_days")
"""What is added up for each category and each place."""
_NO_GROUP: Final = dict.fromkeys((*_FIGURES, "return", "monthly"), np.nan)


@dataclass(frozen=True)
class Reads:
    """What sheet Inventory is worked out from."""

    log: Annotated[pd.DataFrame, Results("Log")]
    lots: Annotated[pd.DataFrame, Results("Lots", "bought_on", "not_shared")]
    months: Annotated[pd.DataFrame, Results("Money", "closing_inventory")]
    ages: Annotated[pd.DataFrame, Block("Age")]
    categories: Annotated[pd.DataFrame, Block("Category")]
    as_of: Annotated[dt.date, SettingValue("Figures_until")]
    first_month: Annotated[dt.date, SettingValue("Figures_from")]
    average_days: Annotated[float, Amount("Average_days")]
    edition: Annotated[Edition | None, EditionOfLog()]


@dataclass(frozen=True)
class _History:
    """What items tell of the time that it takes to sell.

    Attributes:
        past: days held and whether sold, of the items that tell something, as the functions take them.
        longest: the longest that one was held.
        in_the_end: the chance to sell within that time; NaN if it is not known.
        known: whether times and chances are worked out.
    """

    past: tuple[Any, Any]
    longest: float
    in_the_end: float
    known: bool

    def chance_within(self, days: float) -> float:
        """The chance to sell within so many days; NaN where no item was held that long yet."""
        seen = self.known and (days <= self.longest or self.in_the_end >= 1) and not np.isnan(days)
        return float(single("SOLD_BY_CHANCE", *self.past, days)) if seen else np.nan


def compute(reads: Reads) -> pd.DataFrame:
    """The results of Inventory in one row."""
    log = reads.log
    days = averaged_days(reads.as_of, reads.first_month, reads.average_days)
    on_hand = _on_hand(log, reads.lots[reads.lots["bought_on"].dt.normalize() <= days.last])
    by_money = reads.months["closing_inventory"].tolist()
    ties = {
        "inventory_on_money": by_money[-1] if by_money else np.nan,
        "inventory_tie": _rounded(on_hand["inventory_now"] - by_money[-1]) if by_money else np.nan,
    }
    turning = _turning(log, days, _inventory_before(log, reads.lots, days.first), on_hand["inventory_now"])
    offered = turning["sold_count"] + on_hand["listed_count"]
    sell_through = single("SELL_THROUGH", turning["sold_count"], offered) if offered else np.nan
    time, history = _time_to_sell(log, in_functions=reads.edition == "functions")
    ages = _ages(by_place(reads.ages, "from_day", AGE_ROWS), log[log["on_hand"] == 1], on_hand["items_cost"], history)
    categories = _categories(by_place(reads.categories, "name", CATEGORY_ROWS), log)
    items = on_hand["items_count"]
    answer = f"{on_hand['inventory_now']:,.2f} at cost in {items:.0f} item{'' if items == 1 else 's'}"
    said = {"answer": answer, "sell_through": sell_through}
    cells = said | on_hand | ties | turning | time | ages | categories | _places(log)
    return pd.DataFrame([cells])


def _on_hand(log: pd.DataFrame, lots: pd.DataFrame) -> dict[str, float]:
    """What is on hand, listed or not, and of the lots that are bought by now what is not shared out yet."""
    on_hand = log["on_hand"] == 1
    listed = on_hand & is_listed(log)
    chosen = {"listed": listed, "unlisted": on_hand & ~listed, "items": on_hand, "stale": log["stale_key"].notna()}
    found = {f"{name}_cost": _rounded(log.loc[rows, "cost_on_hand"].sum()) for name, rows in chosen.items()}
    found |= {f"{name}_count": float(rows.sum()) for name, rows in chosen.items()}
    lots_cost = _rounded(lots["not_shared"].sum())
    return found | {
        "listed_asked": _rounded(log.loc[listed, "asking_price"].sum()),
        "lots_cost": lots_cost,
        "lots_count": float((lots["not_shared"] > 0).sum()),
        "inventory_now": _rounded(found["items_cost"] + lots_cost),
    }


def _inventory_before(log: pd.DataFrame, lots: pd.DataFrame, day: pd.Timestamp) -> float:
    """Inventory at cost at the start of a day."""
    cost = log["landed_cost"].fillna(0)
    there = (
        (log["inventory_date"] < day).astype(float)
        - (log["sold_on"] < day)
        + (log["returned_on"] < day)
        - (log["disposition_date"] < day)
    )
    return _rounded((cost * there).sum() + lots.loc[lots["bought_on"] < day, "not_shared"].sum())


def _turning(log: pd.DataFrame, days: AveragedDays, inventory_then: float, inventory_now: float) -> dict[str, Any]:
    """How fast inventory turned in the days that are counted."""
    cost = log["landed_cost"]
    sold = _rounded(
        days.total(cost, log["sold_on"])
        - days.total(cost, log["returned_on"])
        + days.total(cost.where(log["disposition"] == DISCARDED), log["disposition_date"])
    )
    sales = days.total(log["income"], log["sold_on"]) - days.total(log["refund"], log["refund_day"])
    margin = _rounded(sales - sold)
    note = ""
    if days.first > days.last:
        note = "As of is before the first month: see Settings."
    elif sold < 0:
        note = "More came back than was sold in these days."
    elif sold == 0:
        note = "Nothing that cost money was sold in these days."
    elif inventory_then + inventory_now <= 0:
        note = "There is no inventory at cost."
    turns = lasts = earns = np.nan
    if not note:
        opening, closing = max(0.0, inventory_then), max(0.0, inventory_now)
        in_year = _YEAR_DAYS / days.count
        turns = single("INVENTORY_TURNOVER", sold, opening, closing) * in_year
        lasts = single("DAYS_ON_HAND", closing, sold, float(days.count))
        earns = single("GROSS_MARGIN_RETURN", margin, opening, closing) * in_year
    return {
        "first_day": days.first,
        "days_counted": float(days.count),
        "year_days": _YEAR_DAYS,
        "inventory_then": inventory_then,
        "cost_of_sold": sold,
        "gross_margin": margin,
        "sold_count": float(((log["kept"] == 1) & days.hold(log["sold_on"])).sum()),
        "turn_note": note,
        "turns": turns,
        "lasts": lasts,
        "earns": earns,
    }


def _time_to_sell(log: pd.DataFrame, *, in_functions: bool) -> tuple[dict[str, Any], _History]:
    """What the log tells of the time that it takes to sell; in the functions edition only."""
    told = log[log["history_days"].notna()]
    past = (told["history_days"].to_numpy(float), told["kept"].to_numpy(float))
    sales = int((told["kept"] == 1).sum())
    short = sales < FEWEST_SALES
    longest = max(0.0, float(told["history_days"].max())) if len(told) else 0.0
    median = in_the_end = np.nan
    note = "Time and chances to sell need the functions edition."
    if in_functions and short:
        note = f"History too short: fewer than {FEWEST_SALES} sales that were kept."
    elif in_functions:
        in_the_end = single("SOLD_BY_CHANCE", *past, longest)
        median = single("MEDIAN_DAYS_TO_SELL", *past)
        note = "Items not sold yet are included."
        if np.isnan(median):
            note = "Over half are not sold yet, not even those held longest."
    cells = {
        "history_sales": float(sales),
        "history_short": float(short),
        "longest": longest,
        "median_days": median,
        "sold_in_the_end": in_the_end,
        "time_note": note,
    }
    return cells, _History(past, longest, in_the_end, in_functions and not short)


def _ages(begins: list[Any], on_hand: pd.DataFrame, cost: float, history: _History) -> dict[str, Any]:
    """A row for each age class of what is on hand."""
    found: dict[str, Any] = {}
    for i, (begin, after) in enumerate(zip(begins, [*begins[1:], None], strict=True), 1):
        row: dict[str, Any] = dict.fromkeys(("from", "until", "items", "cost", "share", "chance"), np.nan)
        row |= {"label": "", "age_no": float(i)}
        if begin is not None:
            row |= _age_class(on_hand, begin, None if after is None else after - 1, cost)
            row["chance"] = history.chance_within(row["until"])
        found |= {f"{key}_{i}": value for key, value in row.items()}
    return found


def _age_class(on_hand: pd.DataFrame, begin: float, until: float | None, cost: float) -> dict[str, Any]:
    held = on_hand[on_hand["days_held"].between(begin, np.inf if until is None else until)]
    if until is None:
        label = f"over {begin - 1:g} days" if begin else "any age"
    else:
        label = f"{begin:g} to {until:g} days"
    own = _rounded(held["cost_on_hand"].sum())
    return {
        "label": label,
        "from": begin,
        "until": np.nan if until is None else until,
        "items": float(len(held)),
        "cost": own,
        "share": own / cost if cost > 0 else np.nan,
    }


def _of_group(rows: pd.DataFrame) -> dict[str, float]:
    """What is on hand of some items, and what they earned so far."""
    on_hand = rows["on_hand"] == 1
    sums = (
        float(on_hand.sum()),
        rows.loc[on_hand, "cost_on_hand"].sum(),
        float((rows["kept"] == 1).sum()),
        rows["history_profit"].sum(),
        rows.loc[rows["history_over"] == 1, "history_cost"].sum(),
        rows["cost_days"].sum(),
    )
    group = {key: _rounded(figure) for key, figure in zip(_FIGURES, sums, strict=True)}
    over, days = group["cost_over"], group["cost_days"]
    earned = group["profit"] / over if over > 0 else np.nan
    return group | {"return": earned, "monthly": group["profit"] / days * MONTH_DAYS if days > 0 else np.nan}


def _under(group: str, i: int, row: Mapping[str, Any]) -> dict[str, Any]:
    """A row of a table of groups under the keys of its cells."""
    return {f"{group}_{key}_{i}": value for key, value in row.items()}


def _categories(names: list[Any], log: pd.DataFrame) -> dict[str, Any]:
    """A row for each category of Settings, the first of a name; then the rest and all."""
    found: dict[str, Any] = {}
    words = log["category"].str.casefold()
    known: dict[str, int] = {}
    for i, name in enumerate(names, 1):
        row: dict[str, Any] = _NO_GROUP | {"name": "", "no": float(i), "word": "", "first": np.nan}
        if name is not None:
            first = known.setdefault(name.casefold(), i)
            row |= {"word": re.sub(r"([~*?])", r"~\1", name), "first": float(first)}
            if first == i:
                row |= _of_group(log[words == name.casefold()]) | {"name": name}
        found |= _under("category", i, row)
    found |= _under("category", len(names) + 1, {"name": "Other or blank", **_of_group(log[~words.isin(known)])})
    return found | _under("category", len(names) + 2, {"name": "Total", **_of_group(log)})


def _places(log: pd.DataFrame) -> dict[str, Any]:
    """A row for each of the places that earned most for the money."""
    ranked = log["place_key"].dropna().sort_values(ascending=False, kind="stable").index
    found: dict[str, Any] = {}
    for i in range(1, PLACE_ROWS + 1):
        row: dict[str, Any] = _NO_GROUP | {"name": "", "row": np.nan, "no": float(i)}
        if i <= len(ranked):
            first = log.loc[ranked[i - 1]]
            of_place = log[log["place_row"] == first["place_row"]]
            row |= _of_group(of_place) | {"name": first["place"], "row": first["place_row"]}
        found |= _under("place", i, row)
    more = len(ranked) - PLACE_ROWS
    return found | {"more_places": f"Not shown: places that earned no more; {more} of them." if more > 0 else ""}


def _rounded(amount: float) -> float:
    return float(round_money(float(amount)))
