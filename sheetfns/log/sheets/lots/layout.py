"""Sheet Lots: items bought together for one price."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COST, COUNT, DATE, MONEY, TEXT
from sheetfns.log.model.sheets import Column, TableSheet
from sheetfns.log.sheets.columns import (
    around_entries,
    entry,
    findings_column,
    grouped,
    owner_paid_column,
    result,
    row_check_column,
)
from sheetfns.log.sheets.lots.validate import CHECKS, ENTRY_CHECKS
from sheetfns.log.sheets.words import ROW_ONE

_NO_LOT: Final = '{lot_no}=""'
_OF_LOT: Final = f"Log_lot_row,ROW()-{ROW_ONE}"

# A table: key, header, type, width, formula of what is worked out, help.
# fmt: off
COLUMNS: Final[tuple[Column, ...]] = around_entries(
    grouped("Results", (row_check_column("lot_no"),)),
    grouped("Lot", (
        entry("lot_no", "Lot no.", TEXT, 9, "Your own number for the lot, such as L-01."),
        entry("description", "Description", TEXT, 25, "What you bought for one price."),
        entry("bought_on", "Bought on", DATE, 11.5, "Day of purchase; applies to all its items."),
        entry("bought_by", "Bought by", TEXT, 13, "Who bought it.", names="Partner_name"),
        entry("paid_from", "Paid from", TEXT, 13, "Business or a partner.", names="Source_name"),
        entry("found_at", "Found at", TEXT, 20, "Shop, sale or house where you found it."),
        entry("paid", "Paid", COST, 10.5, "Price of the whole lot, without tax."),
        entry("purchase_tax", "Purchase tax", COST, 10.5, "Sales tax paid with it; blank if none."),
    )),
    (*grouped("Results", (
        result("total", "Lot cost", MONEY, 10.5, "ROUND({paid}+{purchase_tax},2)", "Paid and tax.", blank_if=_NO_LOT),
        result("items", "Items", COUNT, 8, f"COUNTIF({_OF_LOT})",
               "Items of the lot in the log.", blank_if=_NO_LOT, unit="items"),
        result("expected_sum", "Expected prices", MONEY, 10.5, f"SUMIFS(Log_expected_price,{_OF_LOT})",
               "Sum of the expected prices of its items.", blank_if=_NO_LOT),
        result("not_shared", "Not split yet", MONEY, 10.5, f"ROUND({{total}}-SUMIFS(Log_lot_share,{_OF_LOT}),2)",
               "Lot cost minus the shares of its items; 0.00 once all are in the log.", blank_if=_NO_LOT),
    )),
    owner_paid_column("SUM({total})"),
    findings_column(CHECKS)),
)
# fmt: on


def sheet(rows: int) -> TableSheet:
    """Sheet Lots."""
    purpose = "Several items for one price, split by expected price."
    return TableSheet("Lots", "Lots", purpose, COLUMNS, rows, CHECKS, entry_checks=ENTRY_CHECKS)
