"""Sheet Forecast worked out in Python, apart from the formulas: the averages of sheet Pay going on, week by week."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final, NamedTuple

import numpy as np
import pandas as pd

from sheetfns.functions.growth import MOST_WEEKS, NOTHING
from sheetfns.log.model.reads import Results, SettingValue
from sheetfns.log.sheets.lookups import figure, of_form
from sheetfns.log.sheets.words import WEEKS_AHEAD

WEEK_DAYS: Final = 7
_PATH: Final = ("cash", "inventory", "drawn", "owed")
"""What GROWTH_PATH has for each week."""
_STEPS: Final = ("cost_sold", "came_in", "bought", "left_over", "before_pay", "short_week")


@dataclass(frozen=True)
class Reads:
    """What sheet Forecast is worked out from."""

    pay: Annotated[pd.DataFrame, Results("Pay")]
    as_of: Annotated[dt.date, SettingValue("Figures_until")]


class GrowthTerms(NamedTuple):
    """What the weeks ahead begin with: the arguments of GROWTH_PATH and WEEKS_TO_PAY in their order."""

    starting_cash: float
    return_rate: float
    days_to_turn: float
    weeks: int
    fixed_costs_week: float
    pay_week: float
    pay_from_reserve: float
    buying_limit_week: float
    opening_inventory: float


def growth_terms(pay: Mapping[str, Any]) -> GrowthTerms:
    """The terms by the figures of sheet Pay."""
    return GrowthTerms(
        *(pay["left_taxes"], pay["return_rate"], pay["days_to_turn"], WEEKS_AHEAD),
        *(pay["fixed_week"], pay["pay_week"], pay["restock_reserve"], pay["limit_week"], pay["inventory_now"]),
    )


def compute(reads: Reads) -> pd.DataFrame:
    """A row for each week; blank but for its dates where there is no forecast."""
    pay = of_form(reads.pay)
    return weeks_ahead(reads.as_of, growth_terms(pay) if pay["ready"] else None)


def weeks_ahead(as_of: dt.date, terms: GrowthTerms | None) -> pd.DataFrame:
    """The weeks after a day, a row for each; blank but for their dates without terms."""
    weeks = np.arange(1.0, WEEKS_AHEAD + 1)
    ends = pd.Timestamp(as_of).normalize() + pd.to_timedelta(weeks * WEEK_DAYS, unit="D")
    path = pd.DataFrame({"week": weeks, "week_end": ends})
    rows = None if terms is None else figure("GROWTH_PATH", *terms)
    if terms is None or rows is None:
        return path.assign(**dict.fromkeys((*_PATH, "paid_out", "worth", *_STEPS), np.nan))
    path[list(_PATH)] = np.array(rows, dtype=float)
    worth = path["cash"] + path["inventory"] - path["owed"]
    return path.assign(paid_out=terms.fixed_costs_week, worth=worth, **_steps(path, terms))


def _steps(path: pd.DataFrame, terms: GrowthTerms) -> dict[str, Any]:
    """What comes in and goes out on the way to the cash that GROWTH_PATH has for each week."""
    before = path.shift(1)
    begin = (before["cash"].fillna(terms.starting_cash) - before["owed"].fillna(0)).to_numpy(float)
    left_there = (path["drawn"] + path["cash"]).to_numpy(float)
    weeks_of_inventory = max(terms.days_to_turn / WEEK_DAYS, 1.0)
    turn = min(weeks_of_inventory, MOST_WEEKS + 1)
    of_inventory = (path["week"] / weeks_of_inventory).clip(upper=1)
    sold = (terms.opening_inventory * of_inventory.diff().fillna(of_inventory)).to_numpy(float).copy()
    came_in, left_over, bought = (np.zeros(len(path)) for _ in range(3))
    for week in range(len(path)):
        for lag, part in ((int(turn), 1 - turn % 1), (int(turn) + 1, turn % 1)):
            if week >= lag:
                sold[week] += bought[week - lag] * part
        came_in[week] = sold[week] * (1 + terms.return_rate)
        left_over[week] = begin[week] + came_in[week] - terms.fixed_costs_week
        bought[week] = max(left_over[week], 0) - left_there[week]
    short_week = path["week"].where(path["drawn"] < terms.pay_week - NOTHING, 0.0)
    return dict(zip(_STEPS, (sold, came_in, bought, left_over, np.maximum(left_over, 0), short_week), strict=True))
