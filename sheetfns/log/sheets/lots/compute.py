"""Sheet Lots worked out in Python, apart from the formulas."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import pandas as pd

from sheetfns.log.model.reads import Block, Results, Typed, Verdicts
from sheetfns.log.sheets.lookups import cents, looked_up, owner_paid, paid_with_tax
from sheetfns.log.sheets.lots.validate import CHECKS
from sheetfns.log.sheets.row_checks import RowVerdicts, with_row_checks


@dataclass(frozen=True)
class Reads:
    """What sheet Lots is worked out from."""

    lots: Annotated[pd.DataFrame, Typed("Lots")]
    log: Annotated[pd.DataFrame, Results("Log", "lot_no", "lot_share", "expected_price")]
    partners: Annotated[pd.DataFrame, Block("Partner")]
    verdicts: Annotated[RowVerdicts, Verdicts("Lots")]


def compute(reads: Reads) -> pd.DataFrame:
    """Cost, items and what is not shared yet of each lot; of a number that is duplicated, the first has them."""
    lots = reads.lots
    total = cents(paid_with_tax(lots))
    of_lot = reads.log.groupby("lot_no")
    first = ~lots["lot_no"].duplicated()
    shared = looked_up(lots["lot_no"], of_lot["lot_share"].sum()).where(first)
    results = lots.assign(
        total=total,
        owner_paid=owner_paid(reads.partners, lots["paid_from"], total),
        not_shared=cents(total - shared.fillna(0)),
        items=looked_up(lots["lot_no"], of_lot.size()).where(first).fillna(0),
        expected_sum=looked_up(lots["lot_no"], of_lot["expected_price"].sum()).where(first).fillna(0),
    )
    return with_row_checks(results, CHECKS, reads.verdicts, lots["lot_no"] != "")
