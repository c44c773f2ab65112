"""Sheet Outlook: the money week by week if the averages go on."""

from __future__ import annotations

from sheetfns.kinds import COUNT
from sheetfns.log.layout.parts import grouped, working_column
from sheetfns.log.sheets import FIRST_ROW, Column, Plain, TableSheet


def outlook_sheet() -> TableSheet:
    """Sheet Outlook."""
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
        "Outlook",
        "Outlook",
        "The money week by week if the averages of sheet Pay go on.",
        columns,
        20,
    )
