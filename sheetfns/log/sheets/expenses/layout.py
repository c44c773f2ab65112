"""Sheet Expenses: costs of the business that do not belong to one item."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COST, DATE, TEXT
from sheetfns.log.model.sheets import Column, TableSheet
from sheetfns.log.sheets.columns import (
    around_entries,
    entry,
    findings_column,
    grouped,
    owner_paid_column,
    row_check_column,
)
from sheetfns.log.sheets.expenses.validate import CHECKS

# A table: key, header, type, width, help.
# fmt: off
COLUMNS: Final[tuple[Column, ...]] = around_entries(
    grouped("Results", (row_check_column("spent_on"),)),
    grouped("Expense", (
        entry("spent_on", "Date", DATE, 11.5, "Day of payment."),
        entry("heading", "Heading", TEXT, 30, "From Settings.", names="Heading_heading"),
        entry("description", "Description", TEXT, 30, "What it was."),
        entry("amount", "Amount", COST, 10.5, "What was paid, tax included."),
        entry("paid_from", "Paid from", TEXT, 14, "Business or a partner.", names="Source_name"),
    )),
    (owner_paid_column("SUM({amount})"), findings_column(CHECKS)),
)
# fmt: on


def sheet(rows: int) -> TableSheet:
    """Sheet Expenses."""
    purpose = "Costs of the business that do not belong to one item."
    return TableSheet("Expenses", "Expenses", purpose, COLUMNS, rows, CHECKS, landscape=False)
