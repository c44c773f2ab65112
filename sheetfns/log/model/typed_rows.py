"""Typed rows as they are read from a file, and what is wrong with a cell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sheetfns.files.cell_names import column_letters

USUAL_YEARS: Final = (2000, 2199)
"""The years that the log's own cells take when a date is typed."""


@dataclass(frozen=True)
class Issue:
    """Something in a log that cannot be read, or cannot be right.

    Attributes:
        sheet: the sheet's name.
        cell: the cell, such as M12.
        found: what stands there, short.
        message: what is wrong and what to write instead.
        key: a stable word for the sort of problem; that of the row check in the layout where the
            sheet finds the same.
    """

    sheet: str
    cell: str
    found: str
    message: str
    key: str

    def __str__(self) -> str:
        return f"{self.sheet}!{self.cell}: {self.message}"


@dataclass
class ReadRows:
    """The typed rows of a sheet, or of a small table on Settings.

    Attributes:
        sheet: the sheet's name.
        frame: input columns by key.
        rows: the sheet's row of each row of the frame, counted from 1.
        columns: the place of each column on the sheet, counted from 0.
        filled: by column, whether anything stands in the cell.
        numbers: by column of texts, the places of those in which a number stands.
    """

    sheet: str
    frame: pd.DataFrame
    rows: NDArray[np.int64]
    columns: dict[str, int]
    filled: dict[str, NDArray[np.bool_]]
    numbers: dict[str, set[int]]

    def cell(self, key: str, place: int) -> str:
        """The name of a cell, such as M12."""
        return f"{column_letters(self.columns[key])}{self.rows[place]}"

    def dates(self, key: str) -> NDArray[np.datetime64]:
        """A column of dates; NaT compares as false with everything."""
        values: NDArray[np.datetime64] = self.frame[key].to_numpy()
        return values

    def amounts(self, key: str) -> NDArray[np.float64]:
        """A column of numbers; NaN compares as false with everything."""
        values: NDArray[np.float64] = self.frame[key].to_numpy(float)
        return values

    def words(self, key: str) -> list[str]:
        """A column of texts."""
        return list(self.frame[key])
