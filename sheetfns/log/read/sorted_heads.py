"""A sheet with rows whose headers were sorted in among the entries."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from sheetfns.files.sheet_cells import Hidden
from sheetfns.log.model.sheets import HEADER_ROW, TableSheet
from sheetfns.log.read.sheet_reader import OpenSheet, plain
from sheetfns.log.sheets.home.ways import neighbors
from sheetfns.log.sheets.words import HOME

_FIRST_BEHIND_EDGE = 2
"""The count of places begins anew at each edge."""


def with_headers_on_top(sheet: OpenSheet, table: TableSheet) -> OpenSheet:
    """The sheet with its headers in their row and every other row of entries below them, as the rows now follow.

    What stood over the headers (title, groups, units, numbers of columns) was sorted in too; it is left out, or a new
    log would take it for entries. A sheet whose headers nothing but that stands above stays as it is.
    """
    known = {plain(column.header): column for column in table.inputs()}
    hits = [len(known.keys() & set(sheet.texts(row))) for row in range(len(sheet.cells))]
    if not hits or max(hits) <= len(known) / 2:
        return sheet
    header_row = hits.index(max(hits))
    places = {place: known[text] for place, text in enumerate(sheet.texts(header_row)) if text in known}
    entries = [
        row for number, row in enumerate(sheet.cells) if number != header_row and not _is_head(table, places, row)
    ]
    above = [row for row in sheet.cells[:header_row] if _is_entry(table, places, row)]
    if not above:
        return sheet
    width = len(sheet.cells[header_row])
    blank = [[""] * width for _ in range(HEADER_ROW - 1)]
    return OpenSheet(sheet.name, [*blank, sheet.cells[header_row], *entries], Hidden())


def _filled(places: dict[int, Any], row: list[Any]) -> dict[int, Any]:
    return {place: row[place] for place in places if row[place] != ""}


def _is_entry(table: TableSheet, places: dict[int, Any], row: list[Any]) -> bool:
    """Whether a row can only be one of entries: several cells, and a number or a date among them."""
    filled = _filled(places, row)
    several = len(filled) > 1 and any(not isinstance(cell, str) for cell in filled.values())
    return several and not _is_head(table, places, row)


def _is_head(table: TableSheet, places: dict[int, Any], row: list[Any]) -> bool:
    """Whether a row is one of those that stand over the headers."""
    filled = _filled(places, row)
    if not filled:
        return False
    titles = (table.name, table.purpose, HOME, *neighbors(table.name))
    over = {plain(text) for text in (*titles, *(column.group for column in table.columns))}
    if all(isinstance(cell, str) and plain(cell) in over for cell in filled.values()):
        return True
    numbers = list(filled.values())
    if len(numbers) == len(places) and all(isinstance(cell, float | int) for cell in numbers):
        return all(one < next_one or next_one == _FIRST_BEHIND_EDGE for one, next_one in pairwise(numbers))
    units = sum(plain(cell) == plain(places[place].unit) for place, cell in filled.items())
    return units > len(places) / 2
