"""Which rate per mile holds on a day."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray


def rate_rows(mileage: pd.DataFrame, days: NDArray[np.datetime64]) -> NDArray[Any]:
    """The row of the rates, from 0, that holds on each day: the latest that has begun; -1 where it has ended already.

    The rows of the table may stand in any order, and their days may be blank.
    """
    dated = mileage.reset_index(drop=True).dropna(subset=["from"]).sort_values("from", kind="stable")
    begun = np.searchsorted(dated["from"].to_numpy(), days, side="right")
    ends = np.append(np.datetime64("NaT"), (dated["until"] + pd.Timedelta(days=1)).to_numpy())
    rows = np.append(-1, dated.index.to_numpy())
    return np.where(days < ends[begun], rows[begun], -1)
