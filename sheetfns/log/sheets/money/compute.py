"""Sheet Money worked out in Python, apart from the formulas."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Annotated, Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.model.reads import Amount, Results, SettingValue
from sheetfns.log.sheets.lookups import cents, day_numbers
from sheetfns.log.sheets.sourcing_log.inventory import inventory_at_cost
from sheetfns.log.sheets.words import DISCARDED, DONATED, KEY_STEP, MONTHS, PERSONAL_USE, RELISTED, ROW_ONE

_LOG_COLUMNS: Final = (
    *("landed_cost", "outlay", "carried_over", "owner_paid", "inventory_date", "disposition", "disposition_date"),
    *("income", "fee", "postage_used", "packaging_used", "sold_on", "refund", "refund_day", "returned_on"),
)
_OWNER_COLUMNS: Final = ("sheet_row", "moved_on", "put_in", "took_out", "cash_counted", "difference", "count_key")


@dataclass(frozen=True)
class Reads:
    """What sheet Money is worked out from."""

    log: Annotated[pd.DataFrame, Results("Log", *_LOG_COLUMNS)]
    lots: Annotated[pd.DataFrame, Results("Lots", "bought_on", "total", "owner_paid", "not_shared")]
    expenses: Annotated[pd.DataFrame, Results("Expenses", "spent_on", "amount", "owner_paid")]
    owner: Annotated[pd.DataFrame, Results("Owner", *_OWNER_COLUMNS)]
    first_month: Annotated[dt.date, SettingValue("Figures_from")]
    as_of: Annotated[dt.date, SettingValue("Figures_until")]
    opening_cash: Annotated[float, Amount("Opening_cash")]


def compute(reads: Reads) -> pd.DataFrame:
    """Month by month what came in and went out, cash and inventory at its ends, profit, and the last count of cash."""
    first = pd.Timestamp(reads.first_month)
    all_starts = pd.date_range(first.replace(day=1), pd.Timestamp(reads.as_of), freq="MS", name="month")
    starts = all_starts[:MONTHS]  # The sheet ends there, and Data checks says so.
    sums = _sums(starts, reads.log, reads.lots, reads.expenses, reads.owner)
    opening_inventory = inventory_at_cost(reads.log, reads.lots, first - pd.Timedelta(days=1))
    months = _balances(sums, reads.opening_cash, opening_inventory)
    months = _profit(months, reads.opening_cash + opening_inventory).assign(month_end=starts + pd.offsets.MonthEnd())
    return months.join(_last_counts(reads.owner, months["month_end"])).reset_index()


def _month_of(days: pd.Series[Any]) -> pd.Series[Any]:
    """The first day of each day's month."""
    months: pd.Series[Any] = days.dt.to_period("M").dt.to_timestamp()
    return months


def _sums(
    starts: pd.DatetimeIndex, log: pd.DataFrame, lots: pd.DataFrame, expenses: pd.DataFrame, owner: pd.DataFrame
) -> pd.DataFrame:
    """What came in and went out in each month: money, and inventory at cost."""

    def monthly(amounts: pd.Series[float], days: pd.Series[Any]) -> pd.Series[float]:
        sums = amounts.fillna(0).groupby(_month_of(days)).sum()
        return sums.reindex(starts, fill_value=0.0)

    def left(how: str) -> pd.Series[float]:
        return monthly(log["landed_cost"].where(log["disposition"] == how), log["disposition_date"])

    bought = monthly(log["outlay"], log["inventory_date"]) + monthly(lots["total"], lots["bought_on"])
    return pd.DataFrame(
        {
            "sales": monthly(log["income"], log["sold_on"]),
            "refunds": monthly(log["refund"], log["refund_day"]),
            "fees": monthly(log["fee"], log["sold_on"]),
            "postage": monthly(log["postage_used"], log["sold_on"]),
            "packaging": monthly(log["packaging_used"], log["sold_on"]),
            "inventory_bought": bought,
            "expenses": monthly(expenses["amount"], expenses["spent_on"]),
            "put_in": monthly(owner["put_in"], owner["moved_on"])
            + monthly(log["owner_paid"], log["inventory_date"])
            + monthly(lots["owner_paid"], lots["bought_on"])
            + monthly(expenses["owner_paid"], expenses["spent_on"]),
            "took_out": monthly(owner["took_out"], owner["moved_on"]),
            "inventory_in": bought,
            "cost_of_sold": monthly(log["landed_cost"], log["sold_on"])
            - monthly(log["landed_cost"], log["returned_on"]),
            "personal_use": left(PERSONAL_USE) + left(DONATED),
            "discarded": left(DISCARDED),
            "relisted": monthly(log["carried_over"], log["inventory_date"]) - left(RELISTED),
        },
        index=starts,
    )


def _balances(sums: pd.DataFrame, opening_cash: float, opening_inventory: float) -> pd.DataFrame:
    """The sums with cash and inventory at the start and at the end of each month."""
    paid_out = sums[["refunds", "fees", "postage", "packaging", "inventory_bought", "expenses"]].sum(axis=1)
    went = sums[["cost_of_sold", "personal_use", "discarded"]].sum(axis=1)
    from_trade = sums["sales"] - paid_out
    closing_cash = cents(opening_cash + (from_trade + sums["put_in"] - sums["took_out"]).cumsum())
    closing_inventory = cents(opening_inventory + (sums["inventory_in"] - went + sums["relisted"]).cumsum())
    return sums.assign(
        from_trade=from_trade,
        closing_cash=closing_cash,
        closing_inventory=closing_inventory,
        opening_cash=closing_cash.shift(fill_value=opening_cash),
        opening_inventory=closing_inventory.shift(fill_value=opening_inventory),
    )


def _profit(months: pd.DataFrame, opening_worth: float) -> pd.DataFrame:
    """The months with their profit, and what proves it: it is all that cash and inventory grew by, without owners."""
    gross_profit = months["sales"] - months["refunds"] - months["cost_of_sold"] - months["discarded"]
    selling_costs = months["fees"] + months["postage"] + months["packaging"]
    profit = cents(gross_profit - selling_costs - months["expenses"])
    profit_so_far = cents(profit.cumsum())
    closing = months["closing_cash"] + months["closing_inventory"]
    opening = months["opening_cash"] + months["opening_inventory"]
    owners = months["put_in"] - months["took_out"] - months["personal_use"] + months["relisted"]
    owners_so_far = cents(opening_worth + owners.cumsum())
    return months.assign(
        gross_profit=gross_profit,
        selling_costs=selling_costs,
        profit=profit,
        tie_out=cents(closing - opening - owners - profit),
        owners_so_far=owners_so_far,
        profit_so_far=profit_so_far,
        tie_so_far=cents(closing - owners_so_far - profit_so_far),
    )


def _last_counts(owner: pd.DataFrame, month_ends: pd.Series[Any]) -> pd.DataFrame:
    """The last count of cash in each month, and by how much it differs from the log."""
    counts = owner.dropna(subset=["count_key"]).sort_values("count_key")
    keys = counts["count_key"].to_numpy(float)
    so_far = np.searchsorted(keys, (day_numbers(month_ends) + 1) * KEY_STEP)
    of_month = counts.groupby(_month_of(counts["moved_on"])).last().reindex(month_ends.index)
    return pd.DataFrame(
        {
            "last_count": np.append(keys, np.nan)[so_far - 1],
            "count_row": of_month["sheet_row"] - float(ROW_ONE),
            "cash_counted": of_month["cash_counted"].astype(float),
            "difference": of_month["difference"].astype(float),
        },
        index=month_ends.index,
    )
