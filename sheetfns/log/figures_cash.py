"""What came in and went out day by day, and the cash at the end of a day."""

from __future__ import annotations

from typing import Any

import pandas as pd

from sheetfns.log.figures_rows import setting
from sheetfns.log.read import LogContent
from sheetfns.money import round_money


class CashFlows:
    """Every movement of cash since the first month."""

    def __init__(
        self,
        content: LogContent,
        pieces: pd.DataFrame,
        lots: pd.DataFrame,
        expenses: pd.DataFrame,
    ) -> None:
        owner = content.sheets["Owner"]
        paid_out = pieces["fee"].fillna(0) + pieces["postage_used"] + pieces["packing_used"]
        flows = pd.concat(
            [
                pd.DataFrame({"day": days, "amount": amounts})
                for days, amounts in (
                    (pieces["sold_on"], pieces["income"].fillna(0) - paid_out),
                    (pieces["refund_day"], -pieces["refund"]),
                    (pieces["stock_date"], pieces["owner_paid"] - pieces["outlay"]),
                    (lots["bought_on"], lots["owner_paid"] - lots["total"]),
                    (expenses["spent_on"], expenses["owner_paid"] - expenses["amount"]),
                    (owner["moved_on"], owner["put_in"].fillna(0) - owner["took_out"].fillna(0)),
                )
            ]
        )
        self._flows = flows[flows["day"] >= pd.Timestamp(content.settings["First_month"])]
        self._opening = setting(content, "Opening_cash")

    def cash(self, day: Any) -> float:
        """The cash at the end of a day; what was there at the start if the day is not known."""
        end = pd.NaT if pd.isna(day) else day.normalize() + pd.Timedelta(days=1)
        until = self._flows["day"] < end
        return float(round_money(self._opening + float(self._flows.loc[until, "amount"].sum())))
