"""Sheet Trips worked out in Python, apart from the formulas."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
import pandas as pd

from sheetfns.log.model.reads import Amount, Block, Typed, Verdicts
from sheetfns.log.sheets.lookups import cents
from sheetfns.log.sheets.row_checks import RowVerdicts, with_row_checks
from sheetfns.log.sheets.trips.rates import rate_rows
from sheetfns.log.sheets.trips.validate import CHECKS


@dataclass(frozen=True)
class Reads:
    """What sheet Trips is worked out from."""

    trips: Annotated[pd.DataFrame, Typed("Trips")]
    mileage: Annotated[pd.DataFrame, Block("Mileage")]
    tax_year: Annotated[float, Amount("Tax_year")]
    verdicts: Annotated[RowVerdicts, Verdicts("Trips")]


def compute(reads: Reads) -> pd.DataFrame:
    """Rate and deduction of each trip, and which trips of the tax year need fixing."""
    trips = reads.trips
    rates = np.append(reads.mileage["rate"].to_numpy(float), np.nan)
    rate = pd.Series(rates[rate_rows(reads.mileage, trips["driven_on"].to_numpy())], trips.index)
    results = trips.assign(rate=rate, deduction=cents(trips["miles"] * rate))
    checked = with_row_checks(results, CHECKS, reads.verdicts, trips["driven_on"].notna())
    return numbered_to_fix(checked, int(reads.tax_year))


def numbered_to_fix(trips: pd.DataFrame, year: int) -> pd.DataFrame:
    """The trips with lacking_no, which counts those of a tax year, and those without a date, that need fixing."""
    days = trips["driven_on"]
    wrong = (trips["findings"] != "") & (days.isna() | (days.dt.year == year))
    return trips.assign(lacking_no=wrong.cumsum().astype(float).where(wrong))
