"""Sheet Trips: miles driven for the business."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COST, COUNT, DATE, MONEY, TEXT
from sheetfns.log.model.sheets import Column, EditionFormula, Formula, TableSheet
from sheetfns.log.sheets.columns import (
    around_entries,
    call,
    entry,
    findings_column,
    grouped,
    result,
    row_check_column,
    step,
)
from sheetfns.log.sheets.trips.validate import CHECKS

# The latest row that has begun by that day: rows may be blank, or in any order.
_RATE_ROW: Final = 'MATCH(LARGE(Mileage_from,COUNTIF(Mileage_from,">"&{driven_on})+1),Mileage_from,0)'
_RATE: Final = f'IFERROR(IF({{driven_on}}<INDEX(Mileage_until,{_RATE_ROW})+1,INDEX(Mileage_rate,{_RATE_ROW}),""),"")'
_COUNTS: Final = 'OR({driven_on}="",AND(SUM({driven_on})>=Year_start,SUM({driven_on})<Year_end+1))'
_NO_DEDUCTION: Final = 'OR({driven_on}="",{rate}="",{miles}="")'
_DEDUCTION: Final = EditionFormula(
    Formula("ROUND({miles}*{rate},2)", _NO_DEDUCTION),
    call("MILEAGE_DEDUCTION", dates="driven_on", miles="miles", rates="Mileage_table", blank_if=_NO_DEDUCTION),
)

# A table: key, header, type, width, formula of what is worked out, help.
# fmt: off
COLUMNS: Final[tuple[Column, ...]] = around_entries(
    grouped("Results", (row_check_column("driven_on"),)),
    grouped("Trip", (
        entry("driven_on", "Date", DATE, 11.5, "Day of the trip."),
        entry("purpose", "Purpose", TEXT, 28, "Why the business needed it."),
        entry("from_place", "From", TEXT, 16, "Where it began."),
        entry("to_place", "To", TEXT, 22, "Where it went."),
        entry("miles", "Miles", COST, 9, "Miles there and back.", unit="miles", cell_format="#,##0.0"),
    )),
    (*grouped("Results", (
        result("rate", "Rate per mile", COST, 9, _RATE, "The rate on that date, from Settings.",
               blank_if='{driven_on}=""', cell_format="0.000"),
        result("deduction", "Deduction", MONEY, 12, _DEDUCTION, "Miles at the rate, rounded to the cent."),
    )),
    findings_column(CHECKS),
    step("lacking_no", "No. to fix", COUNT, f'IF({_COUNTS},COUNT({{lacking_no@above}})+1,"")',
         "Counts the rows of the tax year, and those without a date, that need fixing.", blank_if='{findings}=""')),
)
# fmt: on


def sheet(rows: int) -> TableSheet:
    """Sheet Trips."""
    purpose = "Miles driven for the business: date, purpose, place and miles, written down at the time."
    return TableSheet("Trips", "Trips", purpose, COLUMNS, rows, CHECKS, landscape=False)
