"""Sheet Expenses worked out in Python, apart from the formulas."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import pandas as pd

from sheetfns.log.model.reads import Block, Typed, Verdicts
from sheetfns.log.sheets.expenses.validate import CHECKS
from sheetfns.log.sheets.lookups import owner_paid
from sheetfns.log.sheets.row_checks import RowVerdicts, with_row_checks


@dataclass(frozen=True)
class Reads:
    """What sheet Expenses is worked out from."""

    expenses: Annotated[pd.DataFrame, Typed("Expenses")]
    partners: Annotated[pd.DataFrame, Block("Partner")]
    verdicts: Annotated[RowVerdicts, Verdicts("Expenses")]


def compute(reads: Reads) -> pd.DataFrame:
    """What a partner paid of each expense."""
    expenses = reads.expenses
    paid = owner_paid(reads.partners, expenses["paid_from"], expenses["amount"])
    return with_row_checks(expenses.assign(owner_paid=paid), CHECKS, reads.verdicts, expenses["spent_on"].notna())
