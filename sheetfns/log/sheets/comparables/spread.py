"""Which of some sold prices count: how far each lies from their middle, and how far is usual."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from sheetfns.functions.comps import LEAST_SPREAD, NOISE_DIGITS, SPREAD_SCALE, WILD_DISTANCE


def price_spread(prices: pd.Series[float], items: pd.Series[Any]) -> pd.DataFrame:
    """Of each price: the median of its item's, its distance from that, how far is usual there, and if it counts."""
    center = prices.groupby(items).transform("median")
    distance = (prices - center).abs().round(NOISE_DIGITS)
    usual = distance.groupby(items).transform("median")
    spread = np.maximum(SPREAD_SCALE * usual, LEAST_SPREAD * center)
    counts = (distance <= WILD_DISTANCE * spread) | (spread == 0)
    return pd.DataFrame({"center": center, "distance": distance, "spread": spread, "counts": counts})
