"""What came in and went out day by day, and the cash at the end of a day."""

from __future__ import annotations

import datetime as dt
from typing import Any, Final

import pandas as pd

from sheetfns.money import round_money

LOG_COLUMNS: Final = (
    *("sold_on", "income", "fee", "postage_used", "packaging_used"),
    *("refund_day", "refund", "inventory_date", "owner_paid", "outlay"),
)
LOTS_COLUMNS: Final = ("bought_on", "owner_paid", "total")
EXPENSES_COLUMNS: Final = ("spent_on", "owner_paid", "amount")
"""What cash flows need of the sheets that are worked out before; of Owner money, its typed rows."""


class CashFlows:
    """Every movement of cash since the first month."""

    def __init__(
        self,
        log: pd.DataFrame,
        lots: pd.DataFrame,
        expenses: pd.DataFrame,
        owner: pd.DataFrame,
        *,
        first_month: dt.date,
        opening_cash: float,
    ) -> None:
        of_sales = log["fee"].fillna(0) + log["postage_used"] + log["packaging_used"]
        nothing = pd.Series(0.0, log.index)
        flows = pd.concat(
            [
                pd.DataFrame({"day": days, "in": came_in.fillna(0), "out": went_out.fillna(0)})
                for days, came_in, went_out in (
                    (log["sold_on"], log["income"], of_sales),
                    (log["refund_day"], nothing, log["refund"]),
                    (log["inventory_date"], log["owner_paid"], log["outlay"]),
                    (lots["bought_on"], lots["owner_paid"], lots["total"]),
                    (expenses["spent_on"], expenses["owner_paid"], expenses["amount"]),
                    (owner["moved_on"], owner["put_in"], owner["took_out"]),
                )
            ]
        )
        self._flows = flows[flows["day"] >= pd.Timestamp(first_month)]
        self._opening = opening_cash

    def until(self, day: Any) -> tuple[float, float]:
        """What came in and went out up to the end of a day; nothing if the day is not known."""
        end = pd.NaT if pd.isna(day) else day.normalize() + pd.Timedelta(days=1)
        before = self._flows[self._flows["day"] < end]
        return float(before["in"].sum()), float(before["out"].sum())

    def cash(self, day: Any) -> float:
        """The cash at the end of a day; what was there at the start if the day is not known."""
        came_in, went_out = self.until(day)
        return float(round_money(self._opening + came_in - went_out))
