"""The forecast as a picture: average, and low, middle and high of many runs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from sheetfns.files.safe_files import atomic_write


def save_fan(path: Path, weeks: pd.DataFrame, odds: Sequence[Sequence[float]], money: str) -> None:
    """Save the picture.

    Args:
        path: the new file, ending in .png; it is written beside and renamed when it is whole.
        weeks: the averages, see sheet Forecast.
        odds: the rows of GROWTH_ODDS.
        money: the currency, for the axis.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg  # noqa: PLC0415  (heavy)
    from matplotlib.figure import Figure  # noqa: PLC0415  (heavy)

    number, low, middle, high, *_ = zip(*odds, strict=True)
    figure = Figure(figsize=(9, 5.2), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.subplots()
    axes.fill_between(number, low, high, color="#D9D9D9", label="Eight of ten runs lie here")
    axes.plot(number, low, color="#1A1A1A", linewidth=0.8, linestyle="--")
    axes.plot(number, high, color="#1A1A1A", linewidth=0.8, linestyle="--")
    axes.plot(number, middle, color="#1A1A1A", linewidth=2.2, label="Middle")
    axes.plot(
        weeks["week"], weeks["worth"], color="#595959", linewidth=1.5, linestyle=":", label="If the averages go on"
    )
    axes.set_title("Cash and inventory at cost in the weeks ahead", loc="left", weight="bold")
    axes.set_xlabel("Weeks from the as-of date")
    axes.set_ylabel(f"Money ({money})" if money else "Money")
    axes.yaxis.set_major_formatter(lambda amount, _: f"{amount:,.0f}")
    axes.set_ylim(bottom=min(0.0, *low, *weeks["worth"]))
    axes.set_xlim(0, len(odds))
    axes.grid(axis="y", color="#E0E0E0")
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
    figure.legend(loc="outside lower center", ncols=3, frameon=False)
    with atomic_write(path) as beside:
        figure.savefig(beside, format="png", dpi=150)
