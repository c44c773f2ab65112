"""The workbook's figures against Python's: every result cell, to the cent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.figures import LogFigures
from sheetfns.log.layout import layout
from sheetfns.yearend.totals import year_totals

TOLERANCE: Final = 1e-7
"""Far below a cent; rates are compared to the same figure."""
NOT_COMPARED: Final = frozenset(
    {
        # The steps of sharing a lot; the shares themselves are compared.
        *("lot_row", "day_typed", "lot_exact", "lot_floor", "lot_key", "lot_left", "lot_cents"),
        # Steps that Python does in another way.
        *("channel_row", "stage", "findings", "money_in", "money_out", "month_end"),
        # Words of the reader of the log say more than those of the row.
        "row_check",
    }
)


@dataclass(frozen=True)
class Difference:
    """A figure that the workbook and Python do not agree on."""

    sheet: str
    row: int
    column: str
    shown: Any
    worked_out: Any

    def __str__(self) -> str:
        return (
            f"{self.sheet}, row {self.row}, {self.column}: the workbook shows {self.shown}, "
            f"Python works out {self.worked_out}"
        )


@dataclass(frozen=True)
class Comparison:
    """How many figures were compared, and those that differ."""

    compared: int
    differences: list[Difference]


def compare(figures: LogFigures, shown: dict[str, pd.DataFrame] | None = None) -> Comparison:
    """Compare what a workbook shows with what Python works out from its entries.

    Args:
        figures: see `work_out`.
        shown: the workbook's results by sheet; those stored in the file if left out.
    """
    content = figures.content
    shown = content.shown if shown is None else shown
    frames = {
        "Log": figures.pieces,
        "Lots": figures.lots,
        "Trips": figures.trips,
        "Expenses": figures.expenses,
        "Owner": figures.owner,
        "Money": figures.months,
    }
    compared = 0
    differences: list[Difference] = []
    for table in layout().tables:
        cells, worked = shown[table.key], frames[table.key]
        for column in table.columns:
            if column.role == "input" or column.key in NOT_COMPARED:
                continue
            theirs = cells[column.key].to_numpy()
            ours = worked[column.key].to_numpy()[: len(theirs)]
            theirs = theirs[: len(ours)]
            compared += len(ours)
            for place in np.flatnonzero(~_same(theirs, ours)):
                row = int(cells["sheet_row"].iloc[place])
                differences.append(
                    Difference(table.name, row, column.header, theirs[place], ours[place])
                )
    year = int(content.settings["Tax_year"])
    totals = year_totals(figures, year)
    lines = shown["Year"].set_index("key")["amount"]
    amounts = totals.amounts | {
        f"heading_{place}": amount for place, amount in enumerate(totals.headings["amount"], 1)
    }
    for key, amount in amounts.items():
        if key in lines.index:
            compared += 1
            if not abs(float(lines[key]) - amount) <= TOLERANCE:
                differences.append(Difference("Year end", year, key, lines[key], amount))
    return Comparison(compared, differences)


def _same(theirs: Any, ours: Any) -> Any:
    """Equal, or both blank; dates and numbers by value, words by letter."""
    if pd.api.types.is_numeric_dtype(ours):
        left = pd.to_numeric(pd.Series(theirs), errors="coerce").to_numpy(float)
        right = np.asarray(ours, dtype=float)
        return (np.abs(left - right) <= TOLERANCE) | (np.isnan(left) & np.isnan(right))
    if pd.api.types.is_datetime64_any_dtype(ours):
        left = pd.to_datetime(pd.Series(theirs)).to_numpy()
        return (left == ours) | (pd.isna(left) & pd.isna(ours))
    return np.array([str(a) == str(b) for a, b in zip(theirs, ours, strict=True)], dtype=bool)
