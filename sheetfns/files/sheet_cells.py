"""The cells of a workbook as the log's reader takes them, whatever opened it: a file, or a program that has it open.

It needs no library that reads files.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, Protocol

from sheetfns.errors import CellError

DAYS_TO_1904: Final = 1462
"""The day on which some workbooks begin to count, counted as the others do."""

Place = tuple[int, int]
"""Row counted from 1, column counted from 0."""


@dataclass
class Hidden:
    """What there is to know of a sheet beyond the values of its cells.

    Attributes:
        errors: the code of each cell that shows an error.
        not_calculated: rows of cells with a formula and no result, by column.
        calculated: whether any formula has a result.
        formulas: the first item of the sheet that has formulas; None if formulas cannot be seen.
    """

    errors: dict[Place, str] = field(default_factory=dict)
    not_calculated: dict[int, list[int]] = field(default_factory=dict)
    calculated: bool = False
    formulas: bytes | None = b""


class CellSource(Protocol):
    """A workbook that is open for reading."""

    @property
    def path(self) -> Path:
        """Its file, or at least its name."""

    @property
    def sheet_names(self) -> list[str]:
        """The sheets in the order of the workbook."""

    @property
    def defined_names(self) -> dict[str, str]:
        """What each defined name stands for, without an equals sign."""

    @property
    def counts_from_1904(self) -> bool:
        """Whether its days are counted from 1904 on."""

    def hidden(self, sheet: str) -> Hidden:
        """What there is to know beyond the values; it is called before `cells`."""

    def cells(self, sheet: str) -> list[list[Any]]:
        """Every cell from A1 on, "" where it is blank or shows an error."""

    def numbers(self, sheet: str, cells: set[str]) -> dict[str, float]:
        """The bare numbers in cells such as E13, whatever their format makes of them."""


def with_errors(cells: list[list[Any]], hidden: Hidden) -> list[list[Any]]:
    """The cells of a sheet, with an error where one is shown."""
    for (row, column), code in hidden.errors.items():
        while len(cells) < row:
            cells.append([""] * (len(cells[0]) if cells else column + 1))
        line = cells[row - 1]
        line += [""] * (column + 1 - len(line))
        line[column] = CellError(code, f"shows {code}; enter the value again")
    width = max(map(len, cells), default=0)
    for line in cells:
        line.extend([""] * (width - len(line)))
    return cells


def is_time(cell: Any) -> bool:
    """Whether a cell is a time of day or a span of time, or a number that looks like one."""
    return isinstance(cell, (dt.time, dt.timedelta))
