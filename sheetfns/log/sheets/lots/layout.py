"""Sheet Lots: pieces bought together for one price."""

from __future__ import annotations

from sheetfns.cell_types import COUNT, MONEY
from sheetfns.log.model.sheets import Column, Formula, TableSheet
from sheetfns.log.sheets.columns import (
    date_column,
    findings_column,
    grouped,
    money_column,
    owner_paid_column,
    row_check_column,
    text_column,
)
from sheetfns.log.sheets.lots.validate import CHECKS, ENTRY_CHECKS
from sheetfns.log.sheets.words import ROW_ONE


def lots_sheet(rows: int) -> TableSheet:
    """Sheet Lots."""
    columns = (
        *grouped(
            "Lot",
            (
                text_column("lot_no", "Lot no.", "Your own number for the lot, such as L-01.", 9),
                text_column("description", "Description", "What came together for one price.", 28),
                date_column("bought_on", "Bought on", "Day of purchase; counts for all its pieces."),
                text_column("bought_by", "Bought by", "Who bought it.", names="Partner_name"),
                text_column("paid_from", "Paid from", "Business or a partner.", names="Source_name"),
                text_column("found_at", "Found at", "Shop, sale or house where you found it.", 23),
                money_column("paid", "Paid", "Price of the whole lot, without tax."),
                money_column("purchase_tax", "Purchase tax", "Sales tax paid with it; blank if none."),
            ),
        ),
        *grouped(
            "Results",
            (
                money_column(
                    "total",
                    "Lot cost",
                    "Paid and tax.",
                    MONEY,
                    formula=Formula("ROUND({paid}+{purchase_tax},2)", blank_if='{lot_no}=""'),
                ),
                Column(
                    "pieces",
                    "Pieces",
                    COUNT,
                    "Pieces of the lot in the log.",
                    8,
                    unit="pieces",
                    formula=Formula(f"COUNTIF(Log_lot_row,ROW()-{ROW_ONE})", blank_if='{lot_no}=""'),
                ),
                money_column(
                    "expected_sum",
                    "Expected prices",
                    "Sum of the expected prices of its pieces.",
                    MONEY,
                    formula=Formula(f"SUMIFS(Log_expected_price,Log_lot_row,ROW()-{ROW_ONE})", blank_if='{lot_no}=""'),
                ),
                money_column(
                    "not_shared",
                    "Not shared yet",
                    "Lot cost less the shares of its pieces; 0.00 once all are in the log.",
                    MONEY,
                    formula=Formula(
                        f"ROUND({{total}}-SUMIFS(Log_lot_share,Log_lot_row,ROW()-{ROW_ONE}),2)", blank_if='{lot_no}=""'
                    ),
                ),
                row_check_column("lot_no"),
            ),
        ),
        owner_paid_column("SUM({total})"),
        findings_column(CHECKS),
    )
    return TableSheet(
        "Lots",
        "Lots",
        "Pieces bought together for one price; each takes its share by expected price.",
        columns,
        rows,
        CHECKS,
        entry_checks=ENTRY_CHECKS,
    )
