"""Sheets Pay and Outlook worked out in Python, apart from the formulas."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns.functions.growth import FEW_SALES, LONGEST_HISTORY, MOST_WEEKS, NOTHING
from sheetfns.functions.pay import CLAIMS, FREE
from sheetfns.log.model.sheets import FIRST_ROW
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.lookups import figure, setting, single, typed_setting
from sheetfns.log.sheets.owner_money.cash_flows import CashFlows
from sheetfns.log.sheets.sourcing_log.inventory import stock_at_cost
from sheetfns.log.sheets.words import DISCARDED, MONTHS, ODDS_EVERY, WEEKS_AHEAD
from sheetfns.money import PART_DIGITS, round_money

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
    flows: CashFlows,
    owner: pd.DataFrame,
    months: pd.DataFrame,
) -> pd.DataFrame:
    """The results of Pay in one row; the odds in the functions edition only."""
    as_of = pd.Timestamp(content.settings["As_of_date"]).normalize()
    came_in, went_out = flows.until(as_of)
    pay: dict[str, Any] = {
        "cash_in": came_in,
        "cash_out": went_out,
        "cash": flows.cash(as_of),
        "stock_now": stock_at_cost(pieces, lots, as_of),
        "profit_so_far": float(months["profit"].iloc[:MONTHS].sum()),
    }
    pay |= _claims(content, owner, pay)
    pay |= _averages(content, pieces, lots, expenses, pay["stock_now"])
    pay |= _break_even(content, pieces, pay)
    pay |= _needs(pay)
    pay |= _weeks(content, pay)
    pay |= _sentences(pay)
    pay |= _outlook(content, pieces, pay)
    return pd.DataFrame([pay])


def _claims(content: LogContent, owner: pd.DataFrame, pay: dict[str, Any]) -> dict[str, Any]:
    """What has a claim on the cash, and what is left."""
    pay = dict(pay)
    claims = ("bills_due", "open_refunds", "tax_reserve", "restock_reserve")
    pay["to_mend"] = 0.0
    for key in (*claims, "pay_wanted"):
        typed = typed_setting(content, key.capitalize())
        pay[key] = 0.0 if typed is None or math.isnan(typed) else typed
        pay["to_mend"] += typed is None or math.isnan(typed)
    for name in ("Average_days", "Stale_days"):
        typed = typed_setting(content, name)
        pay["to_mend"] += typed is None or math.isnan(typed)
    for key, name in _TYPED.items():
        typed = typed_setting(content, name)
        pay["to_mend"] += typed is not None and math.isnan(typed)
        pay[key] = math.nan if typed is None else typed
    amounts = [pay[key] for key in (*claims, "pay_wanted", *_TYPED)]
    pay["to_mend"] += min(amount for amount in amounts if not math.isnan(amount)) < 0
    arguments = [pay[key] for key in ("cash", "bills_due", "restock_reserve", "tax_reserve", "open_refunds")]
    pay["claims"] = sum(pay[key] for key in claims)
    left = pay["cash"]
    for name, claim in zip(("bills", "refunds", "taxes", "stock"), claims, strict=True):
        left = pay[f"left_{name}"] = round(left - pay[claim], PART_DIGITS)
    pay |= {f"remark_{place}": words for place, words in enumerate((*CLAIMS, FREE), 1)}
    pay["safe_draw"] = math.nan if pay["to_mend"] else single("SAFE_DRAW", *arguments)
    pay["reason"] = "" if pay["to_mend"] else single("DRAW_REMARK", *arguments)
    if not pay["to_mend"] and not pay["claims"] and pay["cash"] > 0:
        pay["reason"] = "no bills, refunds, taxes or reserve are typed on Settings: type what has a claim on it first"
    pay["answer"] = "Take nothing out now"
    if pay["to_mend"]:
        pay["answer"] = "Mend the amounts on Settings first"
    elif round_money(pay["safe_draw"]) > 0:
        pay["answer"] = f"You may take out {pay['safe_draw']:,.2f}"
    pay |= _last_count(content, owner)
    profit = float(round_money(pay["profit_so_far"]))
    pay["profit_words"] = f"Net profit so far: {profit:,.2f}. Partners shows whose it is."
    if profit < 0:
        pay["profit_words"] = (
            f"So far the business has lost {-profit:,.2f}: what you take out is money that was put in."
        )
    return pay


def _last_count(content: LogContent, owner: pd.DataFrame) -> dict[str, Any]:
    """When the cash was last counted, and by how much it differed from the log."""
    none = dict.fromkeys(("count_row", "count_off", "count_age"), math.nan)
    counts = owner.dropna(subset=["count_key"]).sort_values("count_key")
    if counts.empty:
        return none | {"count_words": "Cash was never counted; count it before you take any out."}
    last = counts.iloc[-1]
    as_of = pd.Timestamp(content.settings["As_of_date"]).normalize()
    age, off = (as_of - last["moved_on"].normalize()).days, float(last["difference"])
    words = f"Cash counted {age} days ago agreed with the log."
    if off:
        words = (
            f"Cash counted {age} days ago differed from the log by {off:,.2f}; find out why before you take any out."
        )
    return {
        "count_row": float(last["sheet_row"] - FIRST_ROW + 1),
        "count_off": off,
        "count_age": float(age),
        "count_words": words,
    }


def _averages(
    content: LogContent, pieces: pd.DataFrame, lots: pd.DataFrame, expenses: pd.DataFrame, stock_now: float
) -> dict[str, Any]:
    """What the days of the averages come to, and one sale in them."""
    first, last, days = window(content)

    def within(amounts: pd.Series[float], dates: pd.Series[Any]) -> float:
        return float(amounts[dates.dt.normalize().between(first, last)].sum())

    gone = pieces["sold_on"].notna() | pieces["returned_on"].notna()
    listed = pieces["listed_on"].notna() & ~gone
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
        "bought": within(pieces["outlay"], pieces["stock_date"]) + within(lots["total"], lots["bought_on"]),
        "listed_now": float(pieces.loc[listed, "on_hand"].sum()),
        "listed_cost": float(pieces.loc[listed, "cost_on_hand"].sum()),
        "stock_then": stock_at_cost(pieces, lots, first - pd.Timedelta(days=1)),
    }
    cost = pieces["landed_cost"]
    kept = pieces["kept"] == 1
    pay["turned_cost"] = within(cost.where(kept), pieces["sold_on"]) + pay["discarded"]
    pay["free_profit"] = within(pieces["net_profit"].where(cost <= 0), pieces["sold_on"])
    for key in ("price", "variable_cost", "contribution", "ratio", "cost_per_piece"):
        pay[key] = math.nan
    sold = pay["pieces"]
    pay["days_words"] = "the last day" if days == 1 else f"the last {days} days"
    pay["average_words"] = f"No piece was sold and kept in {pay['days_words']}."
    if sold:
        how_many = "1 piece" if sold == 1 else f"{sold:.0f} pieces"
        pay["average_words"] = (
            f"{how_many} sold in {pay['days_words']}, with what their refunds and discarded pieces cost."
        )
        pay["cost_per_piece"] = max(0.0, pay["turned_cost"]) / sold
    if sold and pay["net_sales"] >= 0:
        pay["price"] = pay["net_sales"] / sold
        costs = pay["net_sales"] - pay["net_profit"] + pay["discarded"]
        pay["variable_cost"] = max(0.0, costs) / sold
        pay["contribution"] = single("CONTRIBUTION_MARGIN", pay["price"], pay["variable_cost"])
        if pay["price"]:
            pay["ratio"] = pay["contribution"] / pay["price"]
    for key in ("return_rate", "days_to_turn", "weeks_of_stock"):
        pay[key] = math.nan
    if pay["turned_cost"] > 0:
        earned = pay["net_profit"] - pay["free_profit"] - pay["discarded"]
        pay["return_rate"] = earned / pay["turned_cost"]
        if pay["stock_then"] + stock_now > 0:
            stock = max(stock_now, (pay["stock_then"] + stock_now) / 2)
            pay["days_to_turn"] = single("DAYS_ON_HAND", stock, pay["turned_cost"], float(days))
            pay["weeks_of_stock"] = max(pay["days_to_turn"] / _WEEK, 1.0)
    pay["weeks_to_turn"] = min(pay["weeks_of_stock"], MOST_WEEKS + 1.0)
    pay["whole_weeks"] = np.floor(pay["weeks_to_turn"])
    pay["later_part"] = pay["weeks_to_turn"] - pay["whole_weeks"]
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
        found["break_even_pieces"] = single("BREAK_EVEN_UNITS", fixed, pay["price"], pay["variable_cost"])
        found["break_even_sales"] = single("BREAK_EVEN_SALES", fixed, pay["ratio"])
        if found["month_sales"] > 0:
            found["month_safety"] = single("MARGIN_OF_SAFETY", found["month_sales"], found["break_even_sales"])
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
        "on_offer": pay["listed_now"] + pace,
        "offer_cost": pay["listed_cost"] + pace * float(np.nan_to_num(pay["cost_per_piece"])),
    }
    keys = ("pieces_needed", "listed_needed", "cost_needed")
    needed: Any = None
    if pay["contribution"] > 0 and share > 0:
        needed = figure("STOCK_FOR_PAY", wanted, pay["fixed_costs"], pay["contribution"], share, pay["cost_per_piece"])
    return found | dict(zip(keys, needed[0] if needed else [math.nan] * len(keys), strict=True))


def _weeks(content: LogContent, pay: dict[str, Any]) -> dict[str, Any]:
    """The averages as amounts of a week, and whether there is an outlook."""
    to_week = _WEEK / MONTH_DAYS
    limit = pay["limit_typed"]
    found: dict[str, Any] = {
        "fixed_week": pay["fixed_costs"] * to_week,
        "pay_week": pay["pay_wanted"] * to_week,
        "limit_week": limit,
    }
    if math.isnan(limit):
        pace = min(pay["bought"], max(0.0, pay["turned_cost"]))
        found["limit_week"] = pace / pay["days_counted"] * _WEEK
    amounts = (pay["left_taxes"], pay["stock_now"], *found.values())
    found["ready"] = float(
        pay["return_rate"] >= -1 and not math.isnan(pay["days_to_turn"]) and min(amounts) >= 0 and not pay["to_mend"]
    )
    found["weeks_to_pay"] = math.nan
    if found["ready"] and pay["pay_wanted"]:
        found["weeks_to_pay"] = single("WEEKS_TO_PAY", *_terms(content, pay | found))
    return found


def _terms(content: LogContent, pay: dict[str, Any]) -> tuple[float, ...]:
    """The arguments of GROWTH_PATH and WEEKS_TO_PAY."""
    return (
        *(pay["left_taxes"], pay["return_rate"], pay["days_to_turn"], WEEKS_AHEAD),
        *(pay["fixed_week"], pay["pay_week"], setting(content, "Restock_reserve")),
        *(pay["limit_week"], pay["stock_now"]),
    )


def _sentences(pay: dict[str, Any]) -> dict[str, str]:
    found = {"no_margin_words": f"No sales in {pay['days_words']}, so nothing can be said."}
    if pay["pieces"]:
        found["no_margin_words"] = "A sale loses money on average: no number of sales covers the fixed costs."
    rough = pay["pieces"] < FEW_SALES or pay["days_counted"] < MONTH_DAYS - 1
    found["few_words"] = ""
    if pay["pieces"] and rough:
        found["few_words"] = "So few sales or days make a rough guess."
        found["average_words"] = f"{pay['average_words']} {found['few_words']}"
    return found | _why_no_outlook(pay) | _of_the_month(pay, found["no_margin_words"])


def _why_no_outlook(pay: dict[str, Any]) -> dict[str, str]:
    why = "No outlook: there is no stock, or sales lose more than it cost."
    if not pay["pieces"]:
        why = f"No outlook yet: it needs sales in {pay['days_words']}."
    elif pay["turned_cost"] <= 0:
        why = "No outlook: what was sold in these days had cost nothing."
    first = why
    if pay["to_mend"]:
        first = "No outlook: mend the amounts on Settings first."
    elif pay["left_taxes"] < 0:
        first = "No outlook: bills, refunds and taxes take more than the cash by the log."
    return {"why_words": why, "not_ready_words": first}


def _of_the_month(pay: dict[str, Any], no_margin: str) -> dict[str, str]:
    """How far this month is, and whether an average one carries the pay."""
    found = {"covered_words": "No fixed costs are known: enter them on Expenses, or type them on Settings."}
    if not math.isnan(pay["month_safety"]):
        lower = float(round_money(100 * pay["month_safety"], 1))
        found["covered_words"] = f"This month covers its fixed costs, and would with sales {lower:,.1f} % lower."
    short = float(round_money(pay["break_even_sales"] - pay["month_sales"]))
    if math.isnan(short):
        found["month_words"] = no_margin
    elif short > 0:
        found["month_words"] = f"This month needs sales of {short:,.2f} more to cover its fixed costs."
    else:
        found["month_words"] = found["covered_words"]
    gap = float(round_money(pay["month_brings"] - pay["month_needs"]))
    found["pay_gap_words"] = ""
    if gap >= 0:
        found["pay_gap_words"] = f"An average month carries the pay and leaves {gap:,.2f} for more stock."
    elif gap < 0:
        found["pay_gap_words"] = f"An average month is {-gap:,.2f} short of the pay."
    wanted = pay["pay_wanted"]
    if not wanted:
        found["pay_words"] = "Write the pay that you want a month on Settings."
    else:
        known = not math.isnan(pay["contribution"])
        found["pay_words"] = found["pay_gap_words"] if known else no_margin
    return found


def _words_ahead(pay: dict[str, Any], worth: float) -> dict[str, str]:
    """When the pay is carried, and whether it eats up what is there; `worth` is that at the end."""
    found = dict.fromkeys(("weeks_words", "worth_words", "limit_words"), "")
    if not pay["ready"]:
        return found | {"outlook_words": pay["not_ready_words"]}
    week = pay["weeks_to_pay"]
    when = "now" if week == 1 else f"week {week:.0f}"
    found["weeks_words"] = (
        f"By the averages alone the pay is not carried within {WEEKS_AHEAD} weeks."
        if math.isnan(week)
        else f"By the averages alone, which no month follows, the pay is carried from {when} on."
    )
    now = pay["left_taxes"] + pay["stock_now"]
    if round_money(worth - now) < 0:
        found["worth_words"] = (
            f"What is there shrinks: free cash and stock go from {round_money(now):,.2f} to "
            f"{round_money(worth):,.2f} in {WEEKS_AHEAD} weeks."
        )
    if pay["limit_week"] <= 0:
        found["limit_words"] = "No stock is bought in it: type the most that you buy in a week on Settings."
    carried = found["weeks_words"] if pay["pay_wanted"] else ""
    words = (carried, found["worth_words"], found["limit_words"])
    return found | {"outlook_words": " ".join(filter(None, words))}


def odds_arguments(content: LogContent, pieces: pd.DataFrame, pay: dict[str, Any]) -> tuple[Any, ...] | None:
    """The arguments of GROWTH_ODDS up to the opening stock, or None if there are no odds."""
    sales = (pieces["kept"] == 1) & (pieces["history_cost"] > 0)
    if not pay["ready"] or sales.sum() <= 1 or pieces["history_cost"].count() > LONGEST_HISTORY:
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
    found["odds_ready"] = float(odds_arguments(content, pieces, pay) is not None)
    rows: Any = None
    found["odds_words"] = found["chance_words"] = ""
    found["odds_remark"] = (
        "Low, middle, high and chances are worked out in the functions edition, or by the command outlook."
    )
    if content.edition == "functions":
        arguments = odds_arguments(content, pieces, pay)
        found["odds_ready"] = float(arguments is not None)
        found["odds_remark"] = pay["not_ready_words"]
        if pay["ready"]:
            found["odds_remark"] = "Odds need two sales of pieces that cost something, and no more than 20,000 pieces."
        if arguments is not None:
            rows = figure("GROWTH_ODDS", *arguments, setting(content, "Outlook_paths"))
    if rows is not None:
        found["odds_words"] = rows[0][5]
        found["chance_words"] = "Drawn from the pieces of this log."
        if pay["pay_wanted"]:
            chance = round_money(100 * rows[ODDS_EVERY - 1][4], 0)
            found["chance_words"] = (
                f"The whole pay is drawn in every week from week {ODDS_EVERY} on in {chance:.0f} of 100 courses."
            )
        found["odds_remark"] = f"{found['chance_words']} {found['odds_words']}".strip()
    for week in weeks:
        for place, column in enumerate(_ODDS_COLUMNS, 1):
            blank = rows is None or (column == "chance" and not pay["pay_wanted"])
            found[f"{column}_{week}"] = math.nan if blank else rows[week - 1][place]
    return found


def work_out_outlook(content: LogContent, pay: pd.DataFrame) -> pd.DataFrame:
    """Outlook, a row for each week."""
    as_of = pd.Timestamp(content.settings["As_of_date"]).normalize()
    weeks = np.arange(1.0, WEEKS_AHEAD + 1)
    path = pd.DataFrame({"week": weeks, "week_end": as_of + pd.to_timedelta(weeks * _WEEK, unit="D")})
    terms = {str(key): value for key, value in pay.iloc[0].items()}
    columns = ("cash", "stock", "drawn", "owed")
    rows = figure("GROWTH_PATH", *_terms(content, terms)) if terms["ready"] else None
    path[list(columns)] = np.nan if rows is None else np.array(rows, dtype=float)
    path["paid_out"] = terms["fixed_week"] if rows is not None else math.nan
    path["worth"] = path["cash"] + path["stock"] - path["owed"]
    steps = ("cost_sold", "came_in", "bought", "left_over", "before_pay", "short_week")
    path[list(steps)] = np.nan
    if rows is not None:
        _add_steps(path, terms)
    return path


def _add_steps(path: pd.DataFrame, terms: dict[str, Any]) -> None:
    """What comes in and goes out on the way to the cash that GROWTH_PATH has for each week."""
    before = path.shift(1)
    begin = (before["cash"].fillna(terms["left_taxes"]) - before["owed"].fillna(0)).to_numpy(float)
    left_there = (path["drawn"] + path["cash"]).to_numpy(float)
    turn = min(terms["weeks_of_stock"], MOST_WEEKS + 1)
    of_stock = (path["week"] / terms["weeks_of_stock"]).clip(upper=1)
    sold = (terms["stock_now"] * of_stock.diff().fillna(of_stock)).to_numpy(float).copy()
    came_in, left_over, bought = (np.zeros(len(path)) for _ in range(3))
    for week in range(len(path)):
        for lag, part in ((int(turn), 1 - turn % 1), (int(turn) + 1, turn % 1)):
            if week >= lag:
                sold[week] += bought[week - lag] * part
        came_in[week] = sold[week] * (1 + terms["return_rate"])
        left_over[week] = begin[week] + came_in[week] - terms["fixed_week"]
        bought[week] = max(left_over[week], 0) - left_there[week]
    path["cost_sold"], path["came_in"], path["bought"] = sold, came_in, bought
    path["left_over"], path["before_pay"] = left_over, np.maximum(left_over, 0)
    short = path["drawn"] < terms["pay_week"] - NOTHING
    path["short_week"] = path["week"].where(short, 0.0)
