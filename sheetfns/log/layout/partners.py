"""Sheet Partners: what each partner has in the business."""

from __future__ import annotations

from sheetfns.kinds import MONEY
from sheetfns.log.layout.form_parts import heading, result, working
from sheetfns.log.layout.words import PARTNERS
from sheetfns.log.sheets import FormSheet, Plain


def partners_form() -> FormSheet:
    """Sheet Partners."""
    rows = (
        heading("To come"),
        result("cash", "Cash", MONEY, Plain("Opening_cash+0")),
        heading("Workings (do not type)"),
        working("step", "Step", MONEY, Plain("Opening_cash+0")),
    )
    return FormSheet(
        PARTNERS, "Partners", "What each partner has in the business.", rows, (30, 14, 14), 4
    )
