"""What can be wrong with a row of sheet Trips: what the sheet says, its formula, and Python's verdict."""

from __future__ import annotations

from typing import Final

import numpy as np

from sheetfns.log.model.sheets import RowCheck
from sheetfns.log.sheets.checked_rows import CheckedRows, blank_in_filled_row, late_check, number_check, swapped_check
from sheetfns.log.sheets.trips.rates import rate_rows
from sheetfns.log.sheets.words import SETTINGS


def _not_recorded(rows: CheckedRows) -> None:
    for column in ("purpose", "to_place", "miles"):
        missing = rows.filled("driven_on") & ~rows.filled(column)
        rows.blank(missing, column, "a trip needs day, purpose, place and miles to count")


def _no_rate(rows: CheckedRows) -> None:
    days = rows.read.dates("driven_on")
    rows.say(
        ~np.isnat(days) & (rate_rows(rows.lists.mileage, days) < 0),
        "driven_on",
        lambda i: (
            f"{rows.header('driven_on')}: {SETTINGS} has no rate per mile for {rows.shown('driven_on', i)}; "
            "fix the date, or add the rate there"
        ),
    )


# A table: key, message, formula, Python's verdict.
# fmt: off
CHECKS: Final = (
    RowCheck("no_date", "the date is blank", 'AND({driven_on}="",{entered}>0)',
             blank_in_filled_row("driven_on", "the trip counts only with its day")),
    number_check((("driven_on", "driven_on"), ("miles", "miles"))),
    RowCheck("negative", "miles are below 0", "MIN({miles},0)<0"),
    RowCheck("not_recorded", "fill in purpose, to and miles",
             'AND({driven_on}<>"",OR({purpose}="",{to_place}="",{miles}=""))', _not_recorded),
    RowCheck("no_rate", "no rate for this date on Settings", 'AND({driven_on}<>"",{rate}="")', _no_rate),
    late_check("driven_on"),
    swapped_check("Trips_driven_on", "driven_on"),
)
# fmt: on
