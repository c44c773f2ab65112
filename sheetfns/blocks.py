"""Blocks of cells as a body reads them, and questions about them as parts of formulas."""

from __future__ import annotations

from typing import Any

from sheetfns.cell_types import Table


def is_filled(cell: Any) -> bool:
    """Whether something stands in a cell of a block; spaces are nothing."""
    return cell is not None and not (isinstance(cell, str) and not cell.strip())


def filled_rows(block: Table) -> list[list[Any]]:
    """The rows of a block without blank ones at its end."""
    rows: list[list[Any]] = block.tolist()
    while rows and not any(map(is_filled, rows[-1])):
        rows.pop()
    return rows


def row_place(block: str) -> str:
    """The place of each row in a block, from 1 on."""
    return f"(ROW({block})-MIN(ROW({block}))+1)"


def are_texts(cells: str) -> str:
    """Whether each cell holds a text: they come after all numbers; ISTEXT takes one cell in some
    programs.
    """
    return f'({cells}<>"")*({cells}>="")'


def last_filled(block: str, cells: str) -> str:
    """The place of the last row that is not blank."""
    return f'SUMPRODUCT(MAX(({cells}<>"")*{row_place(block)}))'


def not_rising(block: str, column: str, above: str) -> str:
    """Whether one of the numbers below the first `above` rows is not over all before it."""
    place = row_place(block)
    return (
        f'SUMPRODUCT(({column}<>"")*(TRANSPOSE({column})<>"")*({column}>=TRANSPOSE({column}))'
        f"*({place}>{above})*({place}<TRANSPOSE({place})))>0"
    )
