"""Names of cells and of ranges of cells."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sheetfns.files.cell_names import column_letters


@dataclass(frozen=True)
class NamedRange:
    """A defined name and the cells that it stands for."""

    name: str
    cells: str


def named_columns(
    prefix: str, columns: Mapping[str, int], sheet: str, first_row: int, rows: int
) -> tuple[NamedRange, ...]:
    """Names PREFIX_key of the rows of some columns, which are counted from 0."""
    return tuple(
        NamedRange(f"{prefix}_{key}", f"'{sheet}'!${letter}${first_row}:${letter}${first_row + rows - 1}")
        for key, column in columns.items()
        for letter in [column_letters(column)]
    )
