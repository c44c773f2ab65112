"""A log that an earlier version wrote, or that is damaged: what it lacks is read as if blank.

So its entries can be read, summed up, and taken over into a new log. Small tables that are new, and
new columns of old ones, hold what a new log would have in them.
"""

from __future__ import annotations

import re
from typing import Any, Final

import pandas as pd

from sheetfns.files.sheet_cells import Hidden
from sheetfns.log.model.addresses import BLOCK_HEAD
from sheetfns.log.model.sheets import HEADER_ROW, Column, FormSheet, Layout, SettingsBlock, TableSheet
from sheetfns.log.read.sheet_reader import OpenSheet, plain
from sheetfns.log.sheets.tax_rules.layout import tax_lines
from sheetfns.log.sheets.words import YEAR_END

_HEADERS_WITHIN: Final = 20


def sheet_as_if_blank(layout: Layout, name: str) -> OpenSheet | None:
    """A sheet that is not there, with headers or labels and nothing typed; None if it has none."""
    for table in layout.tables:
        if plain(table.name) == plain(name):
            headers = [column.header for column in table.columns]
            blank: list[list[Any]] = [[""] * len(headers) for _ in range(HEADER_ROW - 1)]
            return OpenSheet(table.name, [*blank, headers], Hidden())
    for form in layout.forms:
        if plain(form.name) == plain(name):
            return OpenSheet(form.name, _labels(form), Hidden())
    return None


def _labels(form: FormSheet) -> list[list[Any]]:
    blank = [""] * (len(form.widths) - 1)
    above: list[list[Any]] = [["", *blank] for _ in range(form.first_row - 1)]
    return [*above, *([row.label, *blank] for row in form.rows)]


REBUILT: Final = {YEAR_END: 4}
"""Sheets without entries that are no longer what they were, and the layout since which."""


def rebuilt_since(number: int, name: str) -> bool:
    """Whether a sheet without entries has another form now than in the layout of a log."""
    return any(plain(sheet) == plain(name) and number < since for sheet, since in REBUILT.items())


_PLACE: Final = re.compile(r"(place|first|lot|count|log|item|comps|lacking)_row(_\d+)?")
"""The keys of results that are a row's place among those that the names cover."""


def show_places_of_today(shown: dict[str, pd.DataFrame]) -> None:
    """Count places of rows as today's names do, which cover the headers too; up to layout 7 they did not."""
    for frame in shown.values():
        for key in frame.columns:
            if _PLACE.fullmatch(key):
                frame[key] += 1


def add_columns(sheet: OpenSheet, table: TableSheet) -> list[Column]:
    """Add the headers of the typed columns that are not there, and give these columns."""
    known = {plain(column.header) for column in table.columns}
    rows = sheet.cells[:_HEADERS_WITHIN]
    hits = [len(known.intersection(sheet.texts(row))) for row in range(len(rows))]
    return _add_headers(sheet, hits.index(max(hits)), table.inputs()) if any(hits) else []


def add_small_tables(sheet: OpenSheet, layout: Layout) -> list[str]:
    """Add small tables of Settings that are not there, and columns of the others; gives titles."""
    added = []
    for block in layout.blocks:
        header_row = _header_row(sheet, block)
        if header_row is None:
            header_row = _without_title(sheet, block)
        if header_row is None:
            _append(sheet, block)
            added.append(block.title)
            continue
        for column in _add_headers(sheet, header_row, block.columns):
            added.append(f"{column.header} of {block.title}")
            _fill(sheet, header_row, block, column)
            if (block.key, column.key) == ("Heading", "tax_line"):
                _lines_by_number(sheet, header_row, block)
    return added


def _header_row(sheet: OpenSheet, block: SettingsBlock) -> int | None:
    first = plain(block.columns[0].header)
    for row in range(len(sheet.cells)):
        if plain(sheet.value(row, 0)) == plain(block.title):
            for below in range(row + 1, row + BLOCK_HEAD + 1):
                if first in sheet.texts(below):
                    return below
    return None


def _without_title(sheet: OpenSheet, block: SettingsBlock) -> int | None:
    """The headers of a small table whose title is gone; the title is put back."""
    headers = {plain(column.header) for column in block.columns}
    for row in range(BLOCK_HEAD - 1, len(sheet.cells)):
        if headers <= set(sheet.texts(row)):
            sheet.cells[row - BLOCK_HEAD + 1][0] = block.title
            return row
    return None


def _add_headers(sheet: OpenSheet, row: int, columns: tuple[Column, ...]) -> list[Column]:
    texts = set(sheet.texts(row))
    new = [column for column in columns if plain(column.header) not in texts]
    for column in new:
        for place, cells in enumerate(sheet.cells):
            cells.append(column.header if place == row else "")
    return new


def _fill(sheet: OpenSheet, header_row: int, block: SettingsBlock, column: Column) -> None:
    """What a new log has in a new column, beside the words that it has in the first one."""
    place = [one.key for one in block.columns].index(column.key)
    usual = {plain(row[0]): row[place] for row in block.content if len(row) > place}
    names = sheet.texts(header_row).index(plain(block.columns[0].header))
    for row in range(header_row + 1, min(header_row + 1 + block.rows, len(sheet.cells))):
        value = usual.get(plain(sheet.value(row, names)))
        if value is not None:
            sheet.cells[row][-1] = value


_LINE_NUMBERS: Final = ("Line from 2025", "Line to 2024")
"""Headers of the line numbers that headings had up to version 0.3.0."""


def _lines_by_number(sheet: OpenSheet, header_row: int, block: SettingsBlock) -> None:
    """The tax line that a heading's own line number names; then nobody needs the numbers."""
    texts = sheet.texts(header_row)
    columns = [texts.index(plain(h)) for h in _LINE_NUMBERS if plain(h) in texts]
    by_number = {line.line: line.label for line in tax_lines() if line.figure.startswith("spent_")}
    understood = True
    for row in range(header_row + 1, min(header_row + 1 + block.rows, len(sheet.cells))):
        cells = sheet.cells[row]
        typed = [f"{c:g}" if isinstance(c := cells[place], float) else str(c) for place in columns]
        numbers = [number for text in typed if (number := plain(text))]
        named = [by_number[number] for number in numbers if number in by_number]
        if named:
            cells[-1] = named[0]
        understood &= len(named) == len(numbers)
    if understood:
        for cells in sheet.cells[header_row : header_row + 1 + block.rows]:
            for place in columns:
                cells[place] = ""


def _append(sheet: OpenSheet, block: SettingsBlock) -> None:
    width = max(len(sheet.cells[0]), len(block.columns))
    for cells in sheet.cells:
        cells.extend([""] * (width - len(cells)))
    headers = [column.header for column in block.columns]
    rows = [["" if cell is None else cell for cell in row] for row in block.content]
    for cells in ([block.title], [block.help], headers, *rows):
        sheet.cells.append([*cells, *[""] * (width - len(cells))])
