"""Sheet Stock: what is on hand, how old it is, and what it earns."""

from __future__ import annotations

from sheetfns.kinds import MONEY
from sheetfns.log.layout.form_parts import heading, result, working
from sheetfns.log.layout.words import STOCK
from sheetfns.log.sheets import FormSheet, Plain


def stock_form() -> FormSheet:
    """Sheet Stock."""
    rows = (
        heading("To come"),
        result("cash", "Cash", MONEY, Plain("Opening_cash+0")),
        heading("Workings (do not type)"),
        working("step", "Step", MONEY, Plain("Opening_cash+0")),
    )
    return FormSheet(
        STOCK, "Stock", "What is on hand, how old it is, and what it earns.", rows, (30, 14, 14), 4
    )
