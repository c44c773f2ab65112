"""Pocket copies for tests, and finds typed into them as a phone would leave them."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any, Final

import openpyxl

from sheetfns.log.edit.pocket import make_pocket
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.sheets import FIRST_ROW, HEADER_ROW
from sheetfns.log.sheets.pocket import pocket_layout
from sheetfns.log.sheets.words import FINDS

MARK: Final = "TSTM"
TODAY: Final = dt.date(2026, 3, 20)
DAY: Final = dt.date(2026, 3, 21)
LAMP: Final = {"description": "Lamp", "paid": 4.5, "bought_on": DAY, "found_at": "Yard sale", "category": "Tools"}
CUPS: Final = {"description": "Two cups", "paid": 0, "bought_on": DAY, "bought_by": "Bo", "paid_from": "Bo"}
LAYOUT: Final = pocket_layout({}, "", "")
PLACES: Final = AddressMap(LAYOUT)


def pocket_of(log: Path, path: Path, mark: str = MARK) -> Path:
    """A pocket copy of a log."""
    return make_pocket(log, path, mark=mark, today=TODAY).path


def with_finds(pocket: Path, path: Path, *finds: dict[str, Any], first: int = FIRST_ROW) -> Path:
    """The pocket copy with finds in rows one below the other, by column key; None clears a cell."""
    book = openpyxl.load_workbook(pocket)
    sheet = book[FINDS]
    table = LAYOUT.table("Finds")
    headers = {cell.value: cell.column for cell in sheet[HEADER_ROW]}
    for row, find in enumerate(finds, first):
        for key, value in find.items():
            sheet.cell(row, headers[table.column(key).header]).value = value
    book.save(path)
    return path
