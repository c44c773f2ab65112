"""What can be wrong with a row of sheet Owner money: what the sheet says, its formula, and Python's verdict."""

from __future__ import annotations

from typing import Final

import numpy as np

from sheetfns.log.model.sheets import RowCheck
from sheetfns.log.sheets.checked_rows import (
    CheckedRows,
    blank_in_filled_row,
    both,
    early_check,
    late_check,
    not_listed,
    number_check,
    swapped_check,
)


def _whose_money(rows: CheckedRows) -> None:
    moved = sum(np.nan_to_num(rows.read.amounts(key)) for key in ("put_in", "took_out"))
    rows.blank(np.asarray(moved != 0) & ~rows.filled("partner"), "partner", "enter whose money it is")


# A table: key, message, formula, Python's verdict.
# fmt: off
CHECKS: Final = (
    RowCheck("no_date", "the date is blank", 'AND({moved_on}="",{entered}>0)',
             blank_in_filled_row("moved_on", "the money counts only with its day")),
    number_check((("moved_on", "moved_on"), ("put_in", "cash_counted"))),
    RowCheck("negative", "an amount is below 0", "MIN({put_in}:{took_out},0)<0"),
    RowCheck("no_partner", "partner is not on Settings",
             'AND(SUM({put_in})+SUM({took_out})<>0,IF({partner}="",TRUE,COUNTIF(Partner_name,{partner})=0))',
             both(not_listed("partner"), _whose_money)),
    late_check("moved_on"),
    early_check("moved_on"),
    RowCheck("count_differs", "cash count doesn't match the log", 'IF({difference}="",FALSE,{difference}<>0)',
             of_results=lambda owner: owner["difference"].fillna(0) != 0, notice=True),
    swapped_check("Owner_moved_on", "moved_on"),
)
# fmt: on
