"""Sheet Tax rules: the sets of rules, and the lines of the year's statement under each."""

from __future__ import annotations

import datetime as dt
import functools
from dataclasses import dataclass
from typing import Final

from sheetfns.log.model.cells import NamedRange, named_columns
from sheetfns.log.model.sheets import FIRST_ROW
from sheetfns.log.sheets.words import HEADING_ROWS, LOG, TAX_RULES
from sheetfns.tables import table_rows

RULE_COLUMNS: Final = {"name": 0, "miles": 1, "office": 2, "self": 3, "lines": 4}
LINE_COLUMNS: Final = {
    "rules": 0,
    "label": 1,
    "line": 2,
    "from": 3,
    "until": 4,
    "part": 5,
    "figure": 6,
    "note": 7,
    "source": 8,
    "place": 9,
    "number": 10,
    "sheet": 11,
}
EXPENSE_LINE_COLUMNS: Final = {"name": 12}
_OF_THE_LOG: Final = (
    *("gross_receipts", "returns", "opening_inventory", "purchases", "personal_use", "net_purchases", "materials"),
    *("closing_inventory", "inventory_change", "cost_of_goods_sold"),
)
"""Figures that come from the rows of the sourcing log."""
_HEAD: Final = 3
"""A blank row, a title and the headers are over the lines."""


@dataclass(frozen=True)
class TaxLine:
    """A line of the year's statement under one set of rules, as long as it holds.

    `part` is heading, line or total; `figure` the key of the figure on sheet Year end that it
    shows; a `label` that is blank is the name of an expense heading.
    """

    rules: str
    part: str
    figure: str
    label: str
    line: str
    valid_from: dt.date
    valid_until: dt.date
    note: str
    source: str
    status: str

    @property
    def sheet(self) -> str:
        """The sheet with the rows that it comes from; "" for what is worked out from other lines."""
        if self.figure in _OF_THE_LOG:
            return LOG
        if self.figure == "spent_car":
            return "Trips"
        return "Expenses" if self.figure.startswith(("spent_", "heading_")) else ""

    def holds_in(self, year: int) -> bool:
        """Whether the line holds for a tax year: on its last day."""
        return self.valid_from <= dt.date(year, 12, 31) <= self.valid_until


@functools.cache
def tax_lines() -> tuple[TaxLine, ...]:
    """Every line of every set of rules, in reading order."""
    found = []
    for row in table_rows("tax_lines"):
        each = row["part"] == "each heading"
        places = range(1, HEADING_ROWS + 1)
        figures = [f"{row['figure']}_{place}" for place in places] if each else [row["figure"]]
        found += [
            TaxLine(
                row["rules"],
                "line" if each else row["part"],
                figure,
                row["label"],
                row["line"],
                dt.date.fromisoformat(row["valid_from"]),
                dt.date.fromisoformat(row["valid_until"]),
                row["note"],
                row["source"],
                row["status"],
            )
            for figure in figures
        ]
    return tuple(found)


EXPENSE_LINES: Final = tuple(
    dict.fromkeys((line.figure, line.label) for line in tax_lines() if line.figure.startswith("spent_"))
)
"""Key and label of each line that expense headings may belong to."""
TAX_RULES_NAMES: Final = tuple(row["rules"] for row in table_rows("tax_rules"))
LINES_ROW: Final = FIRST_ROW + len(TAX_RULES_NAMES) + _HEAD
"""The row of the first line."""


def named_ranges() -> tuple[NamedRange, ...]:
    """The defined names on Tax rules."""
    return (
        *named_columns("Rules", RULE_COLUMNS, TAX_RULES, FIRST_ROW, len(TAX_RULES_NAMES)),
        *named_columns("TaxLine", LINE_COLUMNS, TAX_RULES, LINES_ROW, len(tax_lines())),
        *named_columns("ExpenseLine", EXPENSE_LINE_COLUMNS, TAX_RULES, LINES_ROW, len(EXPENSE_LINES)),
    )
