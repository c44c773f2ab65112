"""Sheets Pay and Outlook worked out in Python, apart from the formulas."""

from __future__ import annotations

import numpy as np
import pandas as pd

from sheetfns.log.figures_rows import setting
from sheetfns.log.read import LogContent


def window(content: LogContent) -> tuple[pd.Timestamp, pd.Timestamp, int]:
    """First and last day that averages are taken over, and how many days that are."""
    last = pd.Timestamp(content.settings["As_of_date"]).normalize()
    begun = pd.Timestamp(content.settings["First_month"]).normalize()
    first = max(begun, last - pd.Timedelta(days=setting(content, "Average_days") - 1))
    return first, last, (last - first).days + 1


def work_out_pay(
    content: LogContent, pieces: pd.DataFrame, expenses: pd.DataFrame, months: pd.DataFrame
) -> pd.DataFrame:
    """The results of Pay in one row."""
    first, _, days = window(content)
    pay = {
        "cash": setting(content, "Opening_cash"),
        "first_day": first,
        "days_counted": float(days),
    }
    return pd.DataFrame([pay])


def work_out_outlook(content: LogContent, pay: pd.DataFrame) -> pd.DataFrame:
    """Outlook, a row for each week."""
    return pd.DataFrame({"number": np.arange(1.0, 21), "step": np.arange(7.0, 27)})
