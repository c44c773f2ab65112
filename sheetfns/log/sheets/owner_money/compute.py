"""Sheet Owner money worked out in Python, apart from the formulas."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Annotated

import numpy as np
import pandas as pd

from sheetfns.log.model.reads import Amount, Results, SettingValue, Typed, Verdicts
from sheetfns.log.sheets.lookups import cents, day_numbers
from sheetfns.log.sheets.owner_money.cash_flows import EXPENSES_COLUMNS, LOG_COLUMNS, LOTS_COLUMNS, CashFlows
from sheetfns.log.sheets.owner_money.validate import CHECKS
from sheetfns.log.sheets.row_checks import RowVerdicts, with_row_checks
from sheetfns.log.sheets.words import KEY_STEP


@dataclass(frozen=True)
class Reads:
    """What sheet Owner money is worked out from."""

    owner: Annotated[pd.DataFrame, Typed("Owner")]
    log: Annotated[pd.DataFrame, Results("Log", *LOG_COLUMNS)]
    lots: Annotated[pd.DataFrame, Results("Lots", *LOTS_COLUMNS)]
    expenses: Annotated[pd.DataFrame, Results("Expenses", *EXPENSES_COLUMNS)]
    first_month: Annotated[dt.date, SettingValue("Figures_from")]
    opening_cash: Annotated[float, Amount("Opening_cash")]
    verdicts: Annotated[RowVerdicts, Verdicts("Owner")]


def compute(reads: Reads) -> pd.DataFrame:
    """What the log says was there at the end of each day on which cash was counted."""
    owner = reads.owner
    flows = CashFlows(
        *(reads.log, reads.lots, reads.expenses, owner), first_month=reads.first_month, opening_cash=reads.opening_cash
    )
    counted = owner["cash_counted"].notna()
    moved = np.array([flows.until(day) for day in owner["moved_on"].where(counted)], dtype=float).reshape(-1, 2)
    money_in, money_out = (pd.Series(moved[:, i], owner.index).where(counted) for i in (0, 1))
    cash_by_log = cents(reads.opening_cash + money_in - money_out)
    results = owner.assign(
        money_in=money_in,
        money_out=money_out,
        cash_by_log=cash_by_log,
        difference=cents(owner["cash_counted"] - cash_by_log),
        count_key=(day_numbers(owner["moved_on"]) * KEY_STEP + owner["sheet_row"]).where(counted),
    )
    return with_row_checks(results, CHECKS, reads.verdicts, owner["moved_on"].notna())
