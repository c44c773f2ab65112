"""What came in and went out day by day, and the cash at the end of a day."""

from __future__ import annotations

from typing import Any

import pandas as pd

from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.lookups import setting
from sheetfns.money import round_money


class CashFlows:
    """Every movement of cash since the first month."""

    def __init__(self, content: LogContent, pieces: pd.DataFrame, lots: pd.DataFrame, expenses: pd.DataFrame) -> None:
        owner = content.sheets["Owner"]
        of_sales = pieces["fee"].fillna(0) + pieces["postage_used"] + pieces["packing_used"]
        nothing = pd.Series(0.0, pieces.index)
        flows = pd.concat(
            [
                pd.DataFrame({"day": days, "in": came_in.fillna(0), "out": went_out.fillna(0)})
                for days, came_in, went_out in (
                    (pieces["sold_on"], pieces["income"], of_sales),
                    (pieces["refund_day"], nothing, pieces["refund"]),
                    (pieces["stock_date"], pieces["owner_paid"], pieces["outlay"]),
                    (lots["bought_on"], lots["owner_paid"], lots["total"]),
                    (expenses["spent_on"], expenses["owner_paid"], expenses["amount"]),
                    (owner["moved_on"], owner["put_in"], owner["took_out"]),
                )
            ]
        )
        self._flows = flows[flows["day"] >= pd.Timestamp(content.settings["First_month"])]
        self._opening = setting(content, "Opening_cash")

    def until(self, day: Any) -> tuple[float, float]:
        """What came in and went out up to the end of a day; nothing if the day is not known."""
        end = pd.NaT if pd.isna(day) else day.normalize() + pd.Timedelta(days=1)
        before = self._flows[self._flows["day"] < end]
        return float(before["in"].sum()), float(before["out"].sum())

    def cash(self, day: Any) -> float:
        """The cash at the end of a day; what was there at the start if the day is not known."""
        came_in, went_out = self.until(day)
        return float(round_money(self._opening + came_in - went_out))
