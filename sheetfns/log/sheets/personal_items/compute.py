"""Sheet Personal items worked out in Python, apart from the formulas."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import pandas as pd

from sheetfns.log.model.reads import Typed, Verdicts
from sheetfns.log.sheets.lookups import cents
from sheetfns.log.sheets.personal_items.validate import CHECKS
from sheetfns.log.sheets.row_checks import RowVerdicts, with_row_checks


@dataclass(frozen=True)
class Reads:
    """What sheet Personal items is worked out from."""

    own: Annotated[pd.DataFrame, Typed("Personal")]
    verdicts: Annotated[RowVerdicts, Verdicts("Personal")]


def compute(reads: Reads) -> pd.DataFrame:
    """What each thing brought, and its gain or loss."""
    own = reads.own
    named = own["item"] != ""
    income = own["sale_price"] + own["shipping_charged"].fillna(0)
    proceeds = (income - own["selling_costs"].fillna(0)).where(named & own["sold_on"].notna())
    over = cents(proceeds - own["cost"])
    results = own.assign(proceeds=proceeds, gain=over.clip(lower=0), loss=(0.0 - over).clip(lower=0))
    return with_row_checks(results, CHECKS, reads.verdicts, named)
