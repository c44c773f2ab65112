"""Sheet Owner money: put in, taken out, counted."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COST, COUNT, DATE, MONEY, TEXT
from sheetfns.log.model.sheets import Column, TableSheet
from sheetfns.log.sheets.columns import (
    CASH_IN,
    CASH_OUT,
    around_entries,
    cash_until,
    entry,
    findings_column,
    grouped,
    result,
    row_check_column,
    step,
)
from sheetfns.log.sheets.owner_money.validate import CHECKS
from sheetfns.log.sheets.words import KEY_STEP

_NOT_COUNTED: Final = '{cash_counted}=""'
_NEXT_DAY: Final = "INT({moved_on})+1"

# A table: key, header, type, width, formula of what is worked out, help; a step has no width.
# fmt: off
COLUMNS: Final[tuple[Column, ...]] = around_entries(
    grouped("Results", (row_check_column("moved_on"),)),
    grouped("Owner money", (
        entry("moved_on", "Date", DATE, 11.5, "Day of the payment or count."),
        entry("partner", "Partner", TEXT, 14, "Whose money.", names="Partner_name"),
        entry("put_in", "Put in", COST, 10.5, "Money put into the business."),
        entry("took_out", "Took out", COST, 10.5, "Money taken out of the business."),
        entry("cash_counted", "Cash counted", MONEY, 10.5, "All business money at the end of the day."),
        entry("note", "Note", TEXT, 26, "Anything to remember."),
    )),
    (*grouped("Results", (
        result("cash_by_log", "Cash per log", MONEY, 10.5, "ROUND(Opening_cash+{money_in}-{money_out},2)",
               "Cash at the end of that day according to the log.", blank_if=_NOT_COUNTED),
        result("difference", "Difference", MONEY, 10.5, "ROUND({cash_counted}-{cash_by_log},2)",
               "Counted minus cash per log.", blank_if=_NOT_COUNTED),
    )),
    step("money_in", "In to date", MONEY, cash_until(_NEXT_DAY, CASH_IN).text,
         "Up to the end of that day.", blank_if=_NOT_COUNTED),
    step("money_out", "Out to date", MONEY, cash_until(_NEXT_DAY, CASH_OUT).text,
         "Up to the end of that day.", blank_if=_NOT_COUNTED),
    step("count_key", "Order of counts", COUNT, f"INT({{moved_on}})*{KEY_STEP}+ROW()",
         "By day, then by row.", blank_if='OR({cash_counted}="",SUM({moved_on})=0)'),
    findings_column(CHECKS)),
)
# fmt: on


def sheet(rows: int) -> TableSheet:
    """Sheet Owner money."""
    purpose = "Owners' money and cash."
    return TableSheet("Owner money", "Owner", purpose, COLUMNS, rows, CHECKS, landscape=False)
