"""The days that the averages of Pay and Inventory are taken over."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any, Final

import pandas as pd

MONTH_DAYS: Final = 365 / 12


@dataclass(frozen=True)
class AveragedDays:
    """First and last day, and how many days that are."""

    first: pd.Timestamp
    last: pd.Timestamp
    count: int

    def hold(self, days: pd.Series[Any]) -> pd.Series[bool]:
        """Which of some days are among them."""
        held: pd.Series[bool] = days.dt.normalize().between(self.first, self.last)
        return held

    def total(self, amounts: pd.Series[float], days: pd.Series[Any]) -> float:
        """The sum of the amounts dated in these days."""
        return float(amounts[self.hold(days)].sum())


def averaged_days(as_of: dt.date, first_month: dt.date, average_days: float) -> AveragedDays:
    """So many days up to the one that figures are as of, and none before the log begins."""
    last = pd.Timestamp(as_of).normalize()
    begun = pd.Timestamp(first_month).normalize()
    first = max(begun, last - pd.Timedelta(days=average_days - 1))
    return AveragedDays(first, last, max(1, (last - first).days + 1))
