"""Print ranges that grow with the rows that a command adds to a log.

A range stays as it is where it is not the one that the log was written with: the seller has set another one.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from sheetfns.files.cell_names import cell_name
from sheetfns.files.xlsx_file import XlsxFile
from sheetfns.log.model.sheets import FIRST_ROW, HEADER_ROW, LEFT_EDGE, TableSheet
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.write.printing import (
    ON_SCREEN,
    HeadCell,
    last_printed_row,
    last_row_cells,
    print_range,
    row_in_formula,
)
from sheetfns.log.write.table_sheet import CLOSING_WORDS

PRINT_AREA: Final = "_xlnm.Print_Area"
_EDGES: Final = ("[", "|", "]")


@dataclass(frozen=True)
class Grown:
    """A sheet's print range before and after, and the cells in its head that go by its last row."""

    sheet: str
    before: str
    after: str
    heads: tuple[HeadCell, ...]


def grown_ranges(book: XlsxFile, filled_too: Iterable[tuple[str, int]]) -> Iterator[Grown]:
    """The print ranges that leave out rows that are filled in.

    Args:
        book: the workbook.
        filled_too: sheet and row, from 1, of cells that are about to be filled in.
    """
    about_to = list(filled_too)
    for table in log_layout().tables:
        if table.name not in book.parts or table.name in ON_SCREEN or not table.holds_entries:
            continue
        known, _ = last_row_cells(table, FIRST_ROW)
        last = _last_row(book.part(table.name), cell_name(known.row, known.column + 1))
        if last is None:
            continue
        book.hidden(table.name)
        cells = book.cells(table.name)
        rows = [*_filled(table, cells), *(row for name, row in about_to if name == table.name)]
        filled = max(rows, default=FIRST_ROW - 1)
        if filled <= last:
            continue
        whole = _as_long_as(table, cells, filled)
        end = last_printed_row(whole, filled)
        yield Grown(
            table.name,
            print_range(table, table.name, last),
            print_range(table, table.name, end),
            last_row_cells(whole, end),
        )


def same_range(one: str, other: str) -> bool:
    """Whether two print ranges are the same, in quotes or not."""
    return one.replace("'", "") == other.replace("'", "")


def _last_row(content: bytes, cell: str) -> int | None:
    found = re.search(rb'<c r="%s"[^>]*>\s*<f[^>]*>([^<]*)</f>' % cell.encode(), content)
    return row_in_formula(found[1].decode()) if found else None


def _filled(table: TableSheet, cells: Sequence[Sequence[Any]]) -> Iterator[int]:
    """The rows, from 1, with an entry between the edges; none where the edges are elsewhere now."""
    heads = list(cells[HEADER_ROW - 1]) if len(cells) >= HEADER_ROW else []
    edges = [place for place, head in enumerate(heads) if head in _EDGES]
    if not edges or edges[0] != table.position(LEFT_EDGE):
        return
    between = [place for place in range(edges[0], edges[-1]) if place not in edges]
    for row, line in enumerate(cells[FIRST_ROW - 1 :], FIRST_ROW):
        if any(line[place] != "" for place in between if place < len(line)):
            yield row


def _as_long_as(table: TableSheet, cells: Sequence[Sequence[Any]], filled: int) -> TableSheet:
    """The sheet with as many ready rows as the log has, or as are filled in."""
    place = table.position(LEFT_EDGE)
    closing = (row for row, line in enumerate(cells, 1) if place < len(line) and line[place] == CLOSING_WORDS)
    last = max(next(closing, FIRST_ROW + table.ready_rows) - 1, filled)
    return dataclasses.replace(table, ready_rows=last - FIRST_ROW + 1)
