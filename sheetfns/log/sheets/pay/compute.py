"""Sheet Pay worked out in Python, apart from the formulas."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final

import numpy as np
import pandas as pd

from sheetfns.functions.growth import LONGEST_HISTORY, MOST_WEEKS
from sheetfns.functions.pay import CLAIMS, FREE
from sheetfns.log.model.reads import Amount, EditionOfLog, Results, SettingValue, Unread
from sheetfns.log.model.sheets import Edition
from sheetfns.log.sheets.forecast.compute import WEEK_DAYS, GrowthTerms, growth_terms, weeks_ahead
from sheetfns.log.sheets.lookups import as_typed, figure, is_listed, single
from sheetfns.log.sheets.owner_money.cash_flows import CashFlows
from sheetfns.log.sheets.pay import sentences
from sheetfns.log.sheets.pay.averaged_days import MONTH_DAYS, AveragedDays, averaged_days
from sheetfns.log.sheets.sourcing_log.inventory import inventory_at_cost
from sheetfns.log.sheets.words import DISCARDED, ODDS_EVERY, ROW_ONE, WEEKS_AHEAD
from sheetfns.money import PART_DIGITS, round_money

_CLAIMS: Final = ("bills_due", "open_refunds", "tax_reserve", "restock_reserve")
_AMOUNTS: Final = (*_CLAIMS, "target_pay")
_RESERVES: Final = {"tax_reserve": "careful_tax", "restock_reserve": "careful_restock"}
"""Amounts that are careful guesses from the log where they are not typed, and the keys of these."""
_AVERAGED: Final = ("fixed_costs", "weekly_limit")
"""Amounts that are averages of the log where they are not typed."""
_SHARES_AND_DAYS: Final = ("average_days", "stale_days", "tax_share", "restock_days")
_ODDS_COLUMNS: Final = ("low", "middle", "high", "chance")


@dataclass(frozen=True)
class Reads:
    """What sheet Pay is worked out from; amounts of Settings as typed, see `unread`."""

    log: Annotated[pd.DataFrame, Results("Log")]
    lots: Annotated[pd.DataFrame, Results("Lots")]
    expenses: Annotated[pd.DataFrame, Results("Expenses", "spent_on", "amount", "owner_paid")]
    owner: Annotated[pd.DataFrame, Results("Owner")]
    months: Annotated[pd.DataFrame, Results("Money", "month", "profit")]
    as_of: Annotated[dt.date, SettingValue("Figures_until")]
    first_month: Annotated[dt.date, SettingValue("Figures_from")]
    opening_cash: Annotated[float, Amount("Opening_cash")]
    forecast_paths: Annotated[float, Amount("Forecast_paths")]
    bills_due: Annotated[float | None, SettingValue("Bills_due")]
    open_refunds: Annotated[float | None, SettingValue("Open_refunds")]
    tax_reserve: Annotated[float | None, SettingValue("Tax_reserve")]
    restock_reserve: Annotated[float | None, SettingValue("Restock_reserve")]
    tax_share: Annotated[float | None, SettingValue("Tax_share")]
    restock_days: Annotated[float | None, SettingValue("Restock_days")]
    trip_cash: Annotated[float | None, SettingValue("Trip_cash")]
    target_pay: Annotated[float | None, SettingValue("Pay_target")]
    fixed_costs: Annotated[float | None, SettingValue("Fixed_costs")]
    weekly_limit: Annotated[float | None, SettingValue("Weekly_limit")]
    average_days: Annotated[float | None, SettingValue("Average_days")]
    stale_days: Annotated[float | None, SettingValue("Stale_days")]
    unread: Annotated[Mapping[tuple[int, str], Any], Unread("Settings")]
    edition: Annotated[Edition | None, EditionOfLog()]


def compute(reads: Reads) -> pd.DataFrame:
    """The results of Pay in one row; the odds in the functions edition only."""
    days = averaged_days(reads.as_of, reads.first_month, reads.average_days or 0.0)
    pay: dict[str, Any] = {
        **_settings(reads),
        **_careful(reads, days.last),
        **_cash(reads, days.last),
        "inventory_now": inventory_at_cost(reads.log, reads.lots, days.last),
        "inventory_then": inventory_at_cost(reads.log, reads.lots, days.first - pd.Timedelta(days=1)),
        "profit_so_far": float(reads.months["profit"].sum()),
    }
    pay |= sentences.of_reserves(pay, pay.pop("share"), pay.pop("days"))
    pay |= {key: pay[careful] for key, careful in _RESERVES.items() if key not in pay}
    pay |= _draw(pay["cash"], [pay[key] for key in _CLAIMS], to_fix=pay["to_fix"])
    pay["buying_cash"] = pay["buying_shown"] = _buying_cash(reads, pay)
    pay |= _last_count(reads.owner, days.last)
    pay["profit_note"] = sentences.of_profit(pay["profit_so_far"])
    pay["profit_shown"] = pay["profit_so_far"]
    pay |= _in_the_days(reads, days)
    pay |= sentences.of_averages(pay["items"], days.count)
    pay |= _one_sale(pay["items"], pay["net_sales"], pay["net_profit"], pay["discarded"], pay["turned_cost"])
    pay |= _turning(pay, days.count)
    fixed_costs = pay["fixed_typed"]
    if math.isnan(fixed_costs):
        fixed_costs = pay["expenses"] / days.count * MONTH_DAYS
    pay |= _break_even(pay, fixed_costs, _this_month(reads.log, days.last))
    pay |= _needs(pay, days.count)
    pay |= _weeks(pay, days.count)
    pay |= sentences.why_no_forecast(pay) | sentences.of_month(pay) | sentences.of_pay(pay)
    terms = growth_terms(pay)
    pay |= _averages_ahead(weeks_ahead(reads.as_of, terms if pay["ready"] else None))
    pay |= sentences.of_weeks_ahead(pay)
    pay |= _odds(pay, odds_arguments(reads.log, terms, ready=bool(pay["ready"])), reads.edition, reads.forecast_paths)
    return pd.DataFrame([pay])


def _settings(reads: Reads) -> dict[str, float]:
    """The amounts of Settings, and how many of them are to fix."""
    typed = {
        key: as_typed(reads.unread, key.capitalize(), getattr(reads, key))
        for key in (*_AMOUNTS, *_AVERAGED, *_SHARES_AND_DAYS)
    }
    text = {key for key, number in typed.items() if number is not None and math.isnan(number)}
    blank = {key for key, number in typed.items() if number is None}
    given = {
        key: 0.0 if key in text else typed[key] or 0.0 for key in _AMOUNTS if key not in blank.intersection(_RESERVES)
    }
    fixed, limit = (math.nan if number is None else number for number in (typed[key] for key in _AVERAGED))
    shares_and_days = (typed[key] or 0.0 for key in _SHARES_AND_DAYS)
    amounts = (*given.values(), *shares_and_days, fixed, limit)
    below_zero = min(amount for amount in amounts if not math.isnan(amount)) < 0
    lacking = blank.difference(_AVERAGED, _RESERVES)
    return given | {"fixed_typed": fixed, "limit_typed": limit, "to_fix": float(len(text | lacking) + below_zero)}


def _careful(reads: Reads, last: pd.Timestamp) -> dict[str, float]:
    """What is kept for taxes and purchases where no amount is typed."""
    share, days = (
        _number(as_typed(reads.unread, key.capitalize(), getattr(reads, key))) for key in ("tax_share", "restock_days")
    )
    months = reads.months
    year = months["month"] > last.replace(day=1) - pd.DateOffset(years=1)
    year_profit = float(round_money(months.loc[year, "profit"].sum()))
    kept = AveragedDays(last - pd.Timedelta(days=days - 1), last, 0)
    spent = kept.total(reads.log["outlay"], reads.log["inventory_date"])
    spent += kept.total(reads.lots["total"], reads.lots["bought_on"])
    return {
        "share": share,
        "days": days,
        "year_profit": year_profit,
        "careful_tax": float(round_money(max(0.0, year_profit) * max(0.0, share))),
        "careful_restock": float(round_money(spent)),
    }


def _number(typed: float | None) -> float:
    """A figure as a sum takes it: blanks and text count as 0."""
    return 0.0 if typed is None or math.isnan(typed) else typed


def _buying_cash(reads: Reads, pay: Mapping[str, Any]) -> float:
    """The cash for the next buying trip: as it is typed, or what nothing but purchases has a claim on."""
    typed = as_typed(reads.unread, "Trip_cash", reads.trip_cash)
    free = 0.0 if pay["to_fix"] else float(pay["left_taxes"])
    return max(0.0, free if typed is None else _number(typed))


def _cash(reads: Reads, last: pd.Timestamp) -> dict[str, float]:
    """What came in and went out so far, and the cash that is left by the log."""
    rows = (reads.log, reads.lots, reads.expenses, reads.owner)
    flows = CashFlows(*rows, first_month=reads.first_month, opening_cash=reads.opening_cash)
    came_in, went_out = flows.until(last)
    return {"cash_in": came_in, "cash_out": went_out, "cash": flows.cash(last)}


def _draw(cash: float, claims: list[float], *, to_fix: float) -> dict[str, Any]:
    """What has a claim on the cash, what is left after each, and what may be taken out."""
    found: dict[str, Any] = {"claims": sum(claims)}
    left = cash
    for key, claim in zip(("left_bills", "left_refunds", "left_taxes", "left_inventory"), claims, strict=True):
        left = found[key] = round(left - claim, PART_DIGITS)
    found |= {f"remark_{place}": words for place, words in enumerate((*CLAIMS, FREE), 1)}
    bills, refunds, taxes, restock = claims
    arguments = (cash, bills, restock, taxes, refunds)
    safe = math.nan if to_fix else single("SAFE_DRAW", *arguments)
    reason = "" if to_fix else single("DRAW_REMARK", *arguments)
    if not to_fix and not found["claims"] and cash > 0:
        reason = sentences.NOTHING_TYPED
    return found | {"safe_draw": safe, "reason": reason, "answer": sentences.answer(safe, to_fix=to_fix)}


def _last_count(owner: pd.DataFrame, as_of: pd.Timestamp) -> dict[str, Any]:
    """When the cash was last counted, and by how much it differed from the log."""
    row = off = age = math.nan
    counts = owner.dropna(subset=["count_key"]).sort_values("count_key")
    if not counts.empty:
        last = counts.iloc[-1]
        row, off = float(last["sheet_row"] - ROW_ONE), float(last["difference"])
        age = float((as_of - last["moved_on"].normalize()).days)
    return {
        "count_row": row,
        "count_off": off,
        "count_age": age,
        "count_day": sentences.count_day(age),
        "count_note": sentences.of_count(age, off),
    }


def _in_the_days(reads: Reads, days: AveragedDays) -> dict[str, Any]:
    """What the days of the averages come to."""
    log, lots, expenses = reads.log, reads.lots, reads.expenses
    listed = is_listed(log)
    cost = log["landed_cost"]
    discarded = days.total(cost.where(log["disposition"] == DISCARDED), log["disposition_date"])
    return {
        "first_day": days.first,
        "days_counted": float(days.count),
        "month_start": days.last.replace(day=1),
        "items": days.total(log["kept"], log["sold_on"]),
        "net_sales": days.total(log["net_sales"], log["sold_on"]),
        "net_profit": days.total(log["net_profit"], log["sold_on"]),
        "discarded": discarded,
        "expenses": days.total(expenses["amount"], expenses["spent_on"]),
        "bought": days.total(log["outlay"], log["inventory_date"]) + days.total(lots["total"], lots["bought_on"]),
        "listed_now": float(log.loc[listed, "on_hand"].sum()),
        "listed_cost": float(log.loc[listed, "cost_on_hand"].sum()),
        "turned_cost": days.total(cost.where(log["kept"] == 1), log["sold_on"]) + discarded,
        "free_profit": days.total(log["net_profit"].where(cost <= 0), log["sold_on"]),
    }


def _one_sale(
    items: float, net_sales: float, net_profit: float, discarded: float, turned_cost: float
) -> dict[str, float]:
    """The average item sold: its price, what it costs, what is left."""
    found = dict.fromkeys(("price", "variable_cost", "contribution", "ratio", "cost_per_item"), math.nan)
    if items:
        found["cost_per_item"] = max(0.0, turned_cost) / items
    if items and net_sales >= 0:
        found["price"] = net_sales / items
        found["variable_cost"] = max(0.0, net_sales - net_profit + discarded) / items
        found["contribution"] = single("CONTRIBUTION_MARGIN", found["price"], found["variable_cost"])
        if found["price"]:
            found["ratio"] = found["contribution"] / found["price"]
    return found


def _turning(pay: Mapping[str, Any], days: int) -> dict[str, float]:
    """What inventory earns, and how long it takes to sell."""
    return_rate = days_to_turn = math.nan
    turned_cost, then, now = pay["turned_cost"], pay["inventory_then"], pay["inventory_now"]
    if turned_cost > 0:
        return_rate = (pay["net_profit"] - pay["free_profit"] - pay["discarded"]) / turned_cost
        if then + now > 0:
            days_to_turn = single("DAYS_ON_HAND", max(now, (then + now) / 2), turned_cost, float(days))
    weeks_of_inventory = math.nan if math.isnan(days_to_turn) else max(days_to_turn / WEEK_DAYS, 1.0)
    weeks_to_turn = min(weeks_of_inventory, MOST_WEEKS + 1.0)
    whole_weeks = np.floor(weeks_to_turn)
    return {
        "return_rate": return_rate,
        "days_to_turn": days_to_turn,
        "weeks_of_inventory": weeks_of_inventory,
        "weeks_to_turn": weeks_to_turn,
        "whole_weeks": whole_weeks,
        "later_part": weeks_to_turn - whole_weeks,
    }


def _this_month(log: pd.DataFrame, last: pd.Timestamp) -> tuple[float, float]:
    """Items that this month sold so far, and their sales."""
    sold = log["sold_on"].dt.normalize().between(last.replace(day=1), last)
    return float(log.loc[sold, "kept"].sum()), float(log.loc[sold, "net_sales"].sum())


def _break_even(pay: Mapping[str, Any], fixed_costs: float, this_month: tuple[float, float]) -> dict[str, float]:
    """What a month must sell, and what this one has sold so far."""
    month_items, month_sales = this_month
    items = sales = safety = math.nan
    if pay["contribution"] > 0:
        items = single("BREAK_EVEN_UNITS", fixed_costs, pay["price"], pay["variable_cost"])
        sales = single("BREAK_EVEN_SALES", fixed_costs, pay["ratio"])
        if month_sales > 0:
            safety = single("MARGIN_OF_SAFETY", month_sales, sales)
    return {
        "fixed_costs": fixed_costs,
        "month_items": month_items,
        "month_sales": month_sales,
        "break_even_items": items,
        "break_even_sales": sales,
        "month_safety": safety,
    }


def _needs(pay: Mapping[str, Any], days: int) -> dict[str, Any]:
    """What a monthly pay asks for, beside what there is."""
    wanted, fixed, contribution, cost = (
        pay[key] for key in ("target_pay", "fixed_costs", "contribution", "cost_per_item")
    )
    pace = pay["items"] / days * MONTH_DAYS
    share = pace / (pace + max(0.0, pay["listed_now"])) if pace else math.nan
    needed: Any = None
    if contribution > 0 and share > 0:
        needed = figure("INVENTORY_FOR_PAY", wanted, fixed, contribution, share, cost)
    items, listed, at_cost = needed[0] if needed else [math.nan] * 3
    return {
        "month_pace": pace,
        "sold_share": share,
        "month_needs": wanted + fixed,
        "month_brings": contribution * pace,
        "on_offer": pay["listed_now"] + pace,
        "offer_cost": pay["listed_cost"] + pace * float(np.nan_to_num(cost)),
        "items_needed": items,
        "listed_needed": listed,
        "cost_needed": at_cost,
    }


def _weeks(pay: Mapping[str, Any], days: int) -> dict[str, float]:
    """The averages as amounts of a week, and whether there is an forecast."""
    to_week = WEEK_DAYS / MONTH_DAYS
    limit = pay["limit_typed"]
    if math.isnan(limit):
        limit = min(pay["bought"], max(0.0, pay["turned_cost"])) / days * WEEK_DAYS
    found = {"fixed_week": pay["fixed_costs"] * to_week, "pay_week": pay["target_pay"] * to_week, "limit_week": limit}
    none_below_zero = min(pay["left_taxes"], pay["inventory_now"], *found.values()) >= 0
    sells = pay["return_rate"] >= -1 and not math.isnan(pay["days_to_turn"])
    ready = float(sells and none_below_zero and not pay["to_fix"])
    weeks_to_pay = math.nan
    if ready and pay["target_pay"]:
        weeks_to_pay = single("WEEKS_TO_PAY", *growth_terms({**pay, **found}))
    return found | {"ready": ready, "weeks_to_pay": weeks_to_pay}


def _averages_ahead(path: pd.DataFrame) -> dict[str, float]:
    """Cash and inventory in some weeks, and at the end, if the averages go on."""
    worth = path["worth"].tolist()
    weeks = range(ODDS_EVERY, WEEKS_AHEAD + 1, ODDS_EVERY)
    found = {"worth_then": worth[-1]}
    return (
        found | {f"week_{week}": float(week) for week in weeks} | {f"average_{week}": worth[week - 1] for week in weeks}
    )


def odds_arguments(log: pd.DataFrame, terms: GrowthTerms, *, ready: bool) -> tuple[Any, ...] | None:
    """The arguments of GROWTH_ODDS up to the opening inventory, or None if there are no odds.

    Args:
        log: the rows of the sourcing log.
        terms: what the weeks ahead begin with.
        ready: whether there is an forecast.
    """
    sales = (log["kept"] == 1) & (log["history_cost"] > 0)
    if not ready or sales.sum() <= 1 or log["history_cost"].count() > LONGEST_HISTORY:
        return None
    over = [None if math.isnan(over) else over == 1 for over in log["history_over"]]
    history = (log[name].to_numpy(float) for name in ("history_cost", "history_profit", "history_days"))
    starting_cash, _, _, *rest = terms
    return (*history, over, starting_cash, *rest)


def _odds(
    pay: Mapping[str, Any], arguments: tuple[Any, ...] | None, edition: Edition | None, paths: float
) -> dict[str, Any]:
    """Low, middle, high and chance of some weeks; in the functions edition only."""
    rows: Any = None
    remark = sentences.ODDS_ELSEWHERE
    odds_words = chance_words = ""
    if edition == "functions":
        remark = sentences.ODDS_LACK if pay["ready"] else pay["not_ready_words"]
        if arguments is not None:
            rows = figure("GROWTH_ODDS", *arguments, paths)
    if rows is not None:
        odds_words = rows[0][5]
        chance_words = sentences.of_chance(rows[ODDS_EVERY - 1][4] if pay["target_pay"] else math.nan)
        remark = f"{chance_words} {odds_words}".strip()
    found = {"odds_ready": float(arguments is not None), "odds_remark": remark}
    found |= {"odds_words": odds_words, "chance_words": chance_words}
    for week in range(ODDS_EVERY, WEEKS_AHEAD + 1, ODDS_EVERY):
        for place, column in enumerate(_ODDS_COLUMNS, 1):
            blank = rows is None or (column == "chance" and not pay["target_pay"])
            found[f"{column}_{week}"] = math.nan if blank else rows[week - 1][place]
    return found
