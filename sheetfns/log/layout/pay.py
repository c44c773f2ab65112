"""Sheet Pay: what may be taken out, and what a monthly pay asks for."""

from __future__ import annotations

from sheetfns.kinds import DATE, DAYS, MONEY
from sheetfns.log.layout.form_parts import heading, result, working
from sheetfns.log.layout.words import PAY
from sheetfns.log.sheets import FormSheet, Plain


def pay_form() -> FormSheet:
    """Sheet Pay."""
    rows = (
        heading("To come"),
        result("cash", "Cash", MONEY, Plain("Opening_cash+0")),
        heading("Workings (do not type)"),
        working(
            "first_day",
            "Averages from",
            DATE,
            Plain("MAX(INT(First_month),INT(As_of_date)-Average_days+1)"),
            "date",
        ),
        working(
            "days_counted", "Days counted", DAYS, Plain("INT(As_of_date)-{first_day}+1"), "days"
        ),
    )
    return FormSheet(
        PAY, "Pay", "What may be taken out, and what a monthly pay asks for.", rows, (30, 14, 14), 4
    )
