"""Sheet Stale stock: pieces that wait too long, and their marked-down prices."""

from __future__ import annotations

from sheetfns.kinds import COUNT
from sheetfns.log.layout.parts import grouped, working_column
from sheetfns.log.sheets import FIRST_ROW, Column, Plain, TableSheet


def stale_sheet() -> TableSheet:
    """Sheet Stale stock."""
    columns = (
        *grouped(
            "To come",
            (
                Column(
                    "number",
                    "No.",
                    COUNT,
                    "Count.",
                    8,
                    unit="number",
                    formula=Plain(f"ROW()-{FIRST_ROW}+1"),
                ),
            ),
        ),
        working_column("step", "Step", COUNT, Plain("ROW()"), "A step."),
    )
    return TableSheet(
        "Stale stock",
        "Stale",
        "Pieces on hand that wait too long, and what a lower price would leave.",
        columns,
        20,
    )
