"""The weeks ahead of a log: its averages going on, and runs drawn from its own items."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, Final

import pandas as pd

from sheetfns.errors import CellError, LogFileError
from sheetfns.functions.growth import odds_with_progress
from sheetfns.log.compute import LogResults
from sheetfns.log.model.reads import Results
from sheetfns.log.sheets.forecast.compute import growth_terms
from sheetfns.log.sheets.lookups import of_form
from sheetfns.log.sheets.pay.compute import odds_arguments
from sheetfns.log.sheets.words import ODDS_EVERY

PATHS: Final = 10_000


@dataclass(frozen=True)
class _Reads:
    """What the weeks ahead are worked out from."""

    pay: Annotated[pd.DataFrame, Results("Pay")]
    log: Annotated[
        pd.DataFrame, Results("Log", "kept", "history_cost", "history_profit", "history_days", "history_over")
    ]
    weeks: Annotated[pd.DataFrame, Results("Forecast")]


@dataclass(frozen=True)
class Forecast:
    """What may come.

    Attributes:
        averages: the figures of sheet Pay by key, from which it begins.
        weeks: the averages going on, a row for each week: week, cash, inventory, drawn.
        odds: the rows of GROWTH_ODDS: week, low, middle, high, chance, remark.
        words: what to know about it, in sentences.
    """

    averages: dict[str, Any]
    weeks: pd.DataFrame
    odds: list[list[Any]]
    words: list[str]

    @property
    def with_pay(self) -> bool:
        """Whether a monthly pay is wanted."""
        return bool(self.averages["target_pay"] > 0)

    def shown_weeks(self) -> list[tuple[int, float, float, float, list[Any]]]:
        """Every few weeks: week, cash, inventory, drawn, and that week's row of the odds."""
        columns = (self.weeks[key].tolist() for key in ("week", "cash", "inventory", "drawn"))
        return [
            (int(week), cash, inventory, drawn, self.odds[int(week) - 1])
            for week, cash, inventory, drawn in zip(*columns, strict=True)
            if not int(week) % ODDS_EVERY
        ]


def look_ahead(
    figures: LogResults, paths: int = PATHS, seed: int = 1, tick: Callable[[int], None] = lambda _: None
) -> Forecast:
    """Work out the weeks ahead.

    Args:
        figures: a log that was worked out.
        paths: how many runs are drawn.
        seed: the same seed gives the same figures.
        tick: is told how many runs are drawn.

    Errors:
        LogFileError: the log has too little history, and what it lacks.
    """
    path = figures.content.path
    reads: _Reads = figures.reads(_Reads)
    averages = of_form(reads.pay)
    terms = growth_terms(averages)
    asked = odds_arguments(reads.log, terms, ready=bool(averages["ready"]))
    if asked is None:
        why = averages["not_ready_words"]
        if averages["ready"]:
            why = "the simulation needs two sales of items with a cost, and no more than 20,000 items"
        raise LogFileError(f"{path.name}: {why}")
    try:
        rows: list[list[Any]] = odds_with_progress(*asked, paths, seed, tick=tick).tolist()
    except CellError as error:
        raise LogFileError(f"{path.name}: cannot simulate: {error.message}") from error
    words = (rows[0][5], averages["pay_words"], averages["forecast_words"])
    said = [f"{text[0].upper()}{text[1:]}" for text in words if text]
    return Forecast(averages, reads.weeks, rows, said)
