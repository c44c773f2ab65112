"""What sheet Pay says in words, worked out in Python, apart from the formulas.

`pay` holds the figures of the sheet by key.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from typing import Any, Final

from sheetfns.functions.growth import FEW_SALES
from sheetfns.log.sheets.pay.averaged_days import MONTH_DAYS
from sheetfns.log.sheets.words import ODDS_EVERY, WEEKS_AHEAD
from sheetfns.money import round_money

NOTHING_TYPED: Final = (
    "no bills, refunds, taxes or reserve are entered on Settings: first enter what cash is reserved for"
)
ODDS_ELSEWHERE: Final = "Low, middle, high and chances need the functions edition or the command forecast."
ODDS_LACK: Final = "Odds need two sales of items that cost something, and no more than 20,000 items."


def answer(safe_draw: float, *, to_fix: float) -> str:
    """How much may be taken out."""
    if to_fix:
        return "Fix the amounts on Settings first"
    return f"You may take out {safe_draw:,.2f}" if round_money(safe_draw) > 0 else "Take nothing out now"


def of_count(age: float, off: float) -> str:
    """When cash was last counted, and whether it agreed with the log."""
    if math.isnan(age):
        return "never counted: count it before you take any out"
    return f"{count_day(age)}: off by {off:,.2f}; find out why" if off else f"{count_day(age)}: matched"


def count_day(age: float) -> str:
    """How long ago cash was counted; blank if it never was."""
    if math.isnan(age):
        return ""
    return {0: "counted today", 1: "counted yesterday"}.get(int(age), f"counted {age:.0f} days ago")


def of_reserves(typed: Collection[str], share: float, days: float) -> dict[str, str]:
    """How much is kept where nothing is typed; `typed` holds the keys of the amounts that are."""
    tax = f"careful: {round_money(100 * max(0.0, share), 0):.0f}% of the last 12 months' profit"
    restock = f"careful: what the last {days:g} days' purchases cost"
    return {
        "tax_note": "" if "tax_reserve" in typed else tax,
        "restock_note": "" if "restock_reserve" in typed else restock,
    }


def of_profit(profit_so_far: float) -> str:
    """What the business has earned or lost."""
    if round_money(profit_so_far) < 0:
        return "a loss: what you take out is money that the owners put in"
    return "sheet Partners shows whose it is"


def of_averages(items: float, days: float) -> dict[str, str]:
    """Over which days the averages are taken, and how much they are worth."""
    day_words = "the last day" if days == 1 else f"the last {days:.0f} days"
    if not items:
        average = f"No item was sold and kept in {day_words}."
        no_margin = f"No sales in {day_words}, so there is nothing to go by."
        return {"days_words": day_words, "average_words": average, "no_margin_words": no_margin, "few_words": ""}
    how_many = "1 item" if items == 1 else f"{items:.0f} items"
    rough = items < FEW_SALES or days < MONTH_DAYS - 1
    few = "Few sales or days: a rough estimate." if rough else ""
    average = f"{how_many} sold in {day_words}, after refunds and discarded items. {few}".rstrip()
    no_margin = "A sale loses money on average: no number of sales covers the fixed costs."
    return {"days_words": day_words, "average_words": average, "no_margin_words": no_margin, "few_words": few}


def why_no_forecast(pay: Mapping[str, Any]) -> dict[str, str]:
    """Why the weeks ahead cannot be worked out, if they cannot."""
    why = "No forecast: there is no inventory, or sales lose more than it cost."
    if not pay["items"]:
        why = f"No forecast yet: it needs sales in {pay['days_words']}."
    elif pay["turned_cost"] <= 0:
        why = "No forecast: what was sold in these days cost nothing."
    first = why
    if pay["to_fix"]:
        first = "No forecast: fix the amounts on Settings first."
    elif pay["left_taxes"] < 0:
        first = "No forecast: bills, refunds and taxes take more than the cash by the log."
    return {"why_words": why, "not_ready_words": first}


def of_month(pay: Mapping[str, Any]) -> dict[str, str]:
    """How far this month is."""
    covered = "No fixed costs are known: enter them on Expenses, or on Settings."
    if not math.isnan(pay["month_safety"]):
        lower = float(round_money(100 * pay["month_safety"], 1))
        covered = f"Past break-even this month; sales could be {lower:,.1f}% lower."
    short = float(round_money(pay["break_even_sales"] - pay["month_sales"]))
    words = covered
    if math.isnan(short):
        words = pay["no_margin_words"]
    elif short > 0:
        words = f"This month needs sales of {short:,.2f} more to cover its fixed costs."
    return {"covered_words": covered, "month_words": words}


def of_pay(pay: Mapping[str, Any]) -> dict[str, str]:
    """Whether an average month carries the pay."""
    gap = float(round_money(pay["month_brings"] - pay["month_needs"]))
    of_gap = ""
    if gap >= 0:
        of_gap = f"An average month covers the pay and leaves {gap:,.2f} for more inventory."
    elif gap < 0:
        of_gap = f"An average month is {-gap:,.2f} short of the pay."
    words = pay["no_margin_words"] if math.isnan(pay["contribution"]) else of_gap
    if not pay["target_pay"]:
        words = "Enter your monthly pay target on Settings."
    return {"pay_gap_words": of_gap, "pay_words": words}


def of_weeks_ahead(pay: Mapping[str, Any]) -> dict[str, str]:
    """When the pay is covered, and whether it eats up what is there."""
    if not pay["ready"]:
        blank = dict.fromkeys(("weeks_words", "worth_words", "limit_words"), "")
        return blank | {"forecast_words": pay["not_ready_words"]}
    week = pay["weeks_to_pay"]
    when = "now" if week == 1 else f"week {week:.0f}"
    of_weeks = f"At current averages, which no month follows exactly, the pay is covered from {when} on."
    if math.isnan(week):
        of_weeks = f"At current averages the pay is not covered within {WEEKS_AHEAD} weeks."
    of_worth = of_limit = ""
    now, worth = pay["left_taxes"] + pay["inventory_now"], pay["worth_then"]
    if round_money(worth - now) < 0:
        of_worth = (
            f"Cash plus inventory falls from {round_money(now):,.2f} to "
            f"{round_money(worth):,.2f} in {WEEKS_AHEAD} weeks."
        )
    if pay["limit_week"] <= 0:
        of_limit = "It assumes no purchases: enter your weekly buying limit on Settings."
    said = (of_weeks if pay["target_pay"] else "", of_worth, of_limit)
    return {
        "weeks_words": of_weeks,
        "worth_words": of_worth,
        "limit_words": of_limit,
        "forecast_words": " ".join(filter(None, said)),
    }


def of_chance(chance: float) -> str:
    """How likely the whole pay is covered; NaN if none is wanted."""
    if math.isnan(chance):
        return "Simulated from the items of this log."
    times = round_money(100 * chance, 0)
    return f"In {times:.0f}% of simulated runs the full pay is covered every week from week {ODDS_EVERY} on."
