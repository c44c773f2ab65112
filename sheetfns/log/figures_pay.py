"""Sheets Pay and Outlook worked out in Python, apart from the formulas."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.figures_rows import figure, setting, single, typed_setting
from sheetfns.log.figures_stock import stock_at_cost
from sheetfns.log.layout import DISCARDED, MONTHS, ODDS_EVERY, WEEKS_AHEAD
from sheetfns.log.read import LogContent
from sheetfns.money import round_money

_WEEK: Final = 7
MONTH_DAYS: Final = 365 / 12
_TYPED: Final = {"fixed_typed": "Fixed_costs", "limit_typed": "Weekly_limit"}
"""Amounts that are averages of the log where they are not typed."""
_ODDS_COLUMNS: Final = ("low", "middle", "high", "chance")


def window(content: LogContent) -> tuple[pd.Timestamp, pd.Timestamp, int]:
    """First and last day that averages are taken over, and how many days that are."""
    last = pd.Timestamp(content.settings["As_of_date"]).normalize()
    begun = pd.Timestamp(content.settings["First_month"]).normalize()
    first = max(begun, last - pd.Timedelta(days=setting(content, "Average_days") - 1))
    return first, last, max(1, (last - first).days + 1)


def work_out_pay(
    content: LogContent,
    pieces: pd.DataFrame,
    lots: pd.DataFrame,
    expenses: pd.DataFrame,
    *,
    owner: pd.DataFrame,
    months: pd.DataFrame,
) -> pd.DataFrame:
    """The results of Pay in one row; the odds in the functions edition only."""
    pay = _claims(content, owner, months)
    pay |= _averages(content, pieces, lots, expenses, pay["stock_now"])
    pay |= _break_even(content, pieces, pay)
    pay |= _needs(pay)
    pay |= _weeks(content, pay)
    pay |= _sentences(pay)
    pay |= _outlook(content, pieces, pay)
    return pd.DataFrame([pay])


def _claims(content: LogContent, owner: pd.DataFrame, months: pd.DataFrame) -> dict[str, Any]:
    """The cash and what has a claim on it."""
    shown = months.iloc[:MONTHS]
    pay: dict[str, Any] = {
        "months": float(len(shown)),
        "cash": float(shown["closing_cash"].iloc[-1]) if len(shown) else 0.0,
        "stock_now": float(shown["closing_stock"].iloc[-1]) if len(shown) else 0.0,
    }
    claims = ("bills_due", "open_refunds", "tax_reserve", "restock_reserve")
    pay["to_mend"] = 0.0
    for key in (*claims, "pay_wanted"):
        typed = typed_setting(content, key.capitalize())
        pay[key] = 0.0 if typed is None or math.isnan(typed) else typed
        pay["to_mend"] += typed is None or math.isnan(typed)
    for key, name in _TYPED.items():
        typed = typed_setting(content, name)
        pay["to_mend"] += typed is not None and math.isnan(typed)
        pay[key] = math.nan if typed is None else typed
    amounts = [pay[key] for key in (*claims, "pay_wanted", *_TYPED)]
    pay["to_mend"] += min(amount for amount in amounts if not math.isnan(amount)) < 0
    arguments = [
        pay[key] for key in ("cash", "bills_due", "restock_reserve", "tax_reserve", "open_refunds")
    ]
    pay["safe_draw"] = single("SAFE_DRAW", *arguments)
    pay["reason"] = "" if pay["to_mend"] else single("DRAW_REMARK", *arguments)
    pay["answer"] = "Take nothing out now"
    if pay["to_mend"]:
        pay["answer"] = "Mend the amounts on Settings first"
    elif round_money(pay["safe_draw"]) > 0:
        pay["answer"] = f"You may take out {pay['safe_draw']:,.2f}"
    counts = owner.dropna(subset=["count_key"]).sort_values("count_key")
    off = float(counts["difference"].iloc[-1]) if len(counts) else math.nan
    pay["count_off"] = off
    pay["count_words"] = "The last count of cash agrees with the log."
    if not len(counts):
        pay["count_words"] = "Cash was never counted; count it before you take any out."
    elif off:
        pay["count_words"] = (
            f"The last count of cash differs from the log by {off:,.2f}; find out why before you "
            "take any out."
        )
    return pay


def _averages(
    content: LogContent,
    pieces: pd.DataFrame,
    lots: pd.DataFrame,
    expenses: pd.DataFrame,
    stock_now: float,
) -> dict[str, Any]:
    """What the days of the averages come to, and one sale in them."""
    first, last, days = window(content)

    def within(amounts: pd.Series[float], dates: pd.Series[Any]) -> float:
        return float(amounts[dates.dt.normalize().between(first, last)].sum())

    thrown_away = pieces["landed_cost"].where(pieces["left_how"] == DISCARDED)
    pay: dict[str, Any] = {
        "first_day": first,
        "days_counted": float(days),
        "month_start": last.replace(day=1),
        "pieces": within(pieces["kept"], pieces["sold_on"]),
        "net_sales": within(pieces["net_sales"], pieces["sold_on"]),
        "net_profit": within(pieces["net_profit"], pieces["sold_on"]),
        "discarded": within(thrown_away, pieces["left_on"]),
        "expenses": within(expenses["amount"], expenses["spent_on"]),
        "bought": within(pieces["outlay"], pieces["stock_date"])
        + within(lots["total"], lots["bought_on"]),
        "listed_now": float(pieces.loc[pieces["listed_on"].notna(), "on_hand"].sum()),
        "cost_now": float(pieces.loc[pieces["listed_on"].notna(), "cost_on_hand"].sum()),
        "stock_then": stock_at_cost(pieces, lots, first - pd.Timedelta(days=1)),
    }
    cost = pieces["landed_cost"]
    pay["turned_cost"] = (
        within(cost, pieces["sold_on"]) - within(cost, pieces["returned_on"]) + pay["discarded"]
    )
    for key in ("price", "variable_cost", "contribution", "ratio", "cost_per_piece"):
        pay[key] = math.nan
    sold = pay["pieces"]
    pay["days_words"] = "the last day" if days == 1 else f"the last {days} days"
    pay["average_words"] = f"No piece was sold and kept in {pay['days_words']}."
    if sold:
        how_many = "1 piece" if sold == 1 else f"{sold:.0f} pieces"
        pay["average_words"] = (
            f"{how_many} sold in {pay['days_words']}, with what refunds and discarded pieces cost."
        )
        pay["cost_per_piece"] = max(0.0, pay["turned_cost"]) / sold
    if sold and pay["net_sales"] >= 0:
        pay["price"] = pay["net_sales"] / sold
        costs = pay["net_sales"] - pay["net_profit"] + pay["discarded"]
        pay["variable_cost"] = max(0.0, costs) / sold
        pay["contribution"] = single("CONTRIBUTION_MARGIN", pay["price"], pay["variable_cost"])
        if pay["price"]:
            pay["ratio"] = pay["contribution"] / pay["price"]
    pay["return_rate"] = pay["days_to_turn"] = math.nan
    if pay["turned_cost"] > 0:
        pay["return_rate"] = (pay["net_profit"] - pay["discarded"]) / pay["turned_cost"]
        mean = (pay["stock_then"] + stock_now) / 2
        if mean > 0:
            pay["days_to_turn"] = single("DAYS_ON_HAND", mean, pay["turned_cost"], float(days))
    return pay


def _break_even(content: LogContent, pieces: pd.DataFrame, pay: dict[str, Any]) -> dict[str, Any]:
    """What a month must sell, and what this one has sold so far."""
    fixed = pay["fixed_typed"]
    if math.isnan(fixed):
        fixed = pay["expenses"] / pay["days_counted"] * MONTH_DAYS
    this_month = pieces["sold_on"].dt.normalize().between(pay["month_start"], window(content)[1])
    found: dict[str, Any] = {
        "fixed_costs": fixed,
        "month_pieces": float(pieces.loc[this_month, "kept"].sum()),
        "month_sales": float(pieces.loc[this_month, "net_sales"].sum()),
        "break_even_pieces": math.nan,
        "break_even_sales": math.nan,
        "month_safety": math.nan,
    }
    if pay["contribution"] > 0:
        found["break_even_pieces"] = single(
            "BREAK_EVEN_UNITS", fixed, pay["price"], pay["variable_cost"]
        )
        found["break_even_sales"] = single("BREAK_EVEN_SALES", fixed, pay["ratio"])
        if found["month_sales"] > 0:
            found["month_safety"] = single(
                "MARGIN_OF_SAFETY", found["month_sales"], found["break_even_sales"]
            )
    return found


def _needs(pay: dict[str, Any]) -> dict[str, Any]:
    """What a monthly pay asks for, beside what there is."""
    wanted = pay["pay_wanted"]
    pace = pay["pieces"] / pay["days_counted"] * MONTH_DAYS
    share = pace / (pace + max(0.0, pay["listed_now"])) if pace else math.nan
    found = {
        "month_pace": pace,
        "sold_share": share,
        "month_needs": wanted + pay["fixed_costs"],
        "month_brings": pay["contribution"] * pace,
    }
    keys = ("pieces_needed", "listed_needed", "cost_needed")
    needed: Any = None
    if pay["contribution"] > 0 and share > 0:
        needed = figure(
            "STOCK_FOR_PAY",
            wanted,
            pay["fixed_costs"],
            pay["contribution"],
            share,
            pay["cost_per_piece"],
        )
    return found | dict(zip(keys, needed[0] if needed else [math.nan] * len(keys), strict=True))


def _weeks(content: LogContent, pay: dict[str, Any]) -> dict[str, Any]:
    """The averages as amounts of a week, and whether there is an outlook."""
    to_week = _WEEK / MONTH_DAYS
    limit = pay["limit_typed"]
    found: dict[str, Any] = {
        "fixed_week": pay["fixed_costs"] * to_week,
        "pay_week": pay["pay_wanted"] * to_week,
        "limit_week": pay["bought"] / pay["days_counted"] * _WEEK if math.isnan(limit) else limit,
    }
    amounts = (pay["cash"], pay["stock_now"], *found.values())
    found["ready"] = float(
        pay["return_rate"] >= -1
        and not math.isnan(pay["days_to_turn"])
        and min(amounts) >= 0
        and not pay["to_mend"]
    )
    found["weeks_to_pay"] = math.nan
    if found["ready"] and pay["pay_wanted"]:
        found["weeks_to_pay"] = single("WEEKS_TO_PAY", *_terms(content, pay | found))
    return found


def _terms(content: LogContent, pay: dict[str, Any]) -> tuple[float, ...]:
    """The arguments of GROWTH_PATH and WEEKS_TO_PAY."""
    return (
        *(pay["cash"], pay["return_rate"], pay["days_to_turn"], WEEKS_AHEAD),
        *(pay["fixed_week"], pay["pay_week"], setting(content, "Restock_reserve")),
        *(pay["limit_week"], pay["stock_now"]),
    )


def _sentences(pay: dict[str, Any]) -> dict[str, str]:
    found = {"no_margin_words": "No sales in these days, so nothing can be said."}
    if pay["pieces"]:
        found["no_margin_words"] = (
            "A sale loses money on average: no number of sales covers the fixed costs."
        )
    found["not_ready_words"] = f"No outlook yet: it needs stock and sales in {pay['days_words']}."
    if pay["to_mend"]:
        found["not_ready_words"] = "No outlook: mend the amounts on Settings first."
    elif pay["cash"] < 0:
        found["not_ready_words"] = (
            "No outlook: cash by the log is below 0. Enter what is missing first."
        )
    short = float(round_money(pay["break_even_sales"] - pay["month_sales"]))
    if math.isnan(short):
        found["month_words"] = found["no_margin_words"]
    elif short > 0:
        found["month_words"] = (
            f"This month needs sales of {short:,.2f} more to cover its fixed costs."
        )
    elif math.isnan(pay["month_safety"]):
        found["month_words"] = "This month has no fixed costs to cover."
    else:
        found["month_words"] = "This month covers its fixed costs; sales could fall by that share."
    gap = float(round_money(pay["month_brings"] - pay["month_needs"]))
    found["pay_gap_words"] = ""
    if gap >= 0:
        found["pay_gap_words"] = (
            f"An average month carries the pay and leaves {gap:,.2f} for more stock."
        )
    elif gap < 0:
        found["pay_gap_words"] = f"An average month is {-gap:,.2f} short of the pay."
    wanted = pay["pay_wanted"]
    if not wanted:
        found["pay_words"] = "Write the pay that you want a month on Settings."
    else:
        known = not math.isnan(pay["contribution"])
        found["pay_words"] = found["pay_gap_words"] if known else found["no_margin_words"]
    return found


def _words_ahead(pay: dict[str, Any], worth: float) -> dict[str, str]:
    """When the pay is carried, and whether it eats up what is there; `worth` is that at the end."""
    found = dict.fromkeys(("weeks_words", "worth_words"), "")
    if pay["ready"]:
        week = pay["weeks_to_pay"]
        when = "now" if week == 1 else f"week {week:.0f}"
        found["weeks_words"] = "If the averages go on, the pay is " + (
            f"not carried within {WEEKS_AHEAD} weeks."
            if math.isnan(week)
            else f"carried from {when} on."
        )
        now = pay["cash"] + pay["stock_now"]
        if round_money(worth - now) < 0:
            found["worth_words"] = (
                f" Cash and stock fall from {round_money(now):,.2f} to {round_money(worth):,.2f} "
                f"in {WEEKS_AHEAD} weeks."
            )
    outlook = found["weeks_words"] + found["worth_words"]
    if not pay["ready"]:
        outlook = pay["not_ready_words"]
    return found | {"outlook_words": outlook if pay["pay_wanted"] else ""}


def odds_arguments(
    content: LogContent, pieces: pd.DataFrame, pay: dict[str, Any]
) -> tuple[Any, ...] | None:
    """The arguments of GROWTH_ODDS up to the opening stock, or None if there are no odds."""
    sales = (pieces["kept"] == 1) & (pieces["history_cost"] > 0)
    if not pay["ready"] or sales.sum() <= 1:
        return None
    stake, _, _, *rest = _terms(content, pay)
    history = ("history_cost", "history_profit", "history_days")
    over = [None if math.isnan(over) else over == 1 for over in pieces["history_over"]]
    return (*(pieces[name].to_numpy(float) for name in history), over, stake, *rest)


def _outlook(content: LogContent, pieces: pd.DataFrame, pay: dict[str, Any]) -> dict[str, Any]:
    """The odds of some weeks beside the averages."""
    weeks = range(ODDS_EVERY, WEEKS_AHEAD + 1, ODDS_EVERY)
    path = work_out_outlook(content, pd.DataFrame([pay]))
    found: dict[str, Any] = {f"week_{week}": float(week) for week in weeks}
    found["worth_then"] = float(path["worth"].iloc[-1])
    found |= _words_ahead(pay, found["worth_then"])
    found |= {f"average_{week}": path["worth"].iloc[week - 1] for week in weeks}
    rows: Any = None
    arguments = None
    found["odds_words"] = ""
    found["odds_remark"] = (
        "Low, middle, high and chances are worked out in the functions edition, or by the command "
        "outlook."
    )
    if content.edition == "functions":
        arguments = odds_arguments(content, pieces, pay)
        found["odds_ready"] = float(arguments is not None)
        found["odds_remark"] = (
            "Odds need two sales of pieces that cost something."
            if pay["ready"]
            else pay["not_ready_words"]
        )
    if arguments is not None:
        rows = figure("GROWTH_ODDS", *arguments, setting(content, "Outlook_paths"))
        found["odds_words"] = found["odds_remark"] = rows[0][5]
    for week in weeks:
        for place, column in enumerate(_ODDS_COLUMNS, 1):
            found[f"{column}_{week}"] = math.nan if rows is None else rows[week - 1][place]
    return found


def work_out_outlook(content: LogContent, pay: pd.DataFrame) -> pd.DataFrame:
    """Outlook, a row for each week."""
    as_of = pd.Timestamp(content.settings["As_of_date"]).normalize()
    weeks = np.arange(1.0, WEEKS_AHEAD + 1)
    path = pd.DataFrame(
        {"week": weeks, "week_end": as_of + pd.to_timedelta(weeks * _WEEK, unit="D")}
    )
    terms = {str(key): value for key, value in pay.iloc[0].items()}
    columns = ("cash", "stock", "drawn", "owed")
    rows = figure("GROWTH_PATH", *_terms(content, terms)) if terms["ready"] else None
    path[list(columns)] = np.nan if rows is None else np.array(rows, dtype=float)
    path["paid_out"] = terms["fixed_week"] if rows is not None else math.nan
    path["worth"] = path["cash"] + path["stock"]
    return path
