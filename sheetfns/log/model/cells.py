"""Names of cells and of ranges of cells."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


def column_letter(position: int) -> str:
    """A for 0, AA for 26."""
    letters = ""
    position += 1
    while position:
        position, rest = divmod(position - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


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
        for letter in [column_letter(column)]
    )
