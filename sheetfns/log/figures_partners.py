"""Sheet Partners worked out in Python, apart from the formulas."""

from __future__ import annotations

import numpy as np
import pandas as pd

from sheetfns.log.figures_rows import setting
from sheetfns.log.read import LogContent


def work_out_partners(
    content: LogContent,
    pieces: pd.DataFrame,
    lots: pd.DataFrame,
    expenses: pd.DataFrame,
    months: pd.DataFrame,
) -> pd.DataFrame:
    """The results of Partners in one row."""
    return pd.DataFrame(
        [{"cash": setting(content, "Opening_cash"), "step": setting(content, "Opening_cash")}]
    )
