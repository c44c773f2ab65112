"""Dated figures and texts that come with the package, one CSV file each."""

from __future__ import annotations

import csv
import datetime as dt
import functools
import math
from collections.abc import Iterable
from dataclasses import dataclass
from importlib import resources
from typing import Final

from sheetfns.cell_types import date_number
from sheetfns.errors import BLANK, CellError

DATED_TABLES: Final = (
    "mileage",
    "wage_base",
    "self_employment",
    "home_office",
    "reporting_threshold",
    "receipts_test",
    "estimated_tax",
    "estimated_due",
)
MILE_RATE: Final = "Rate per mile"
"""The figure of table mileage, which has no column for names."""
ASKED_BY_DAY: Final = ("mileage",)
"""Tables whose figures are asked for by the day; those of the others hold for a tax year."""
STATUSES: Final = ("read", "second hand", "memory")
_COLUMNS: Final = ("valid_from", "valid_until", "value", "unit", "source", "status")


class TableError(Exception):
    """A table of the package is broken: the message names table and line."""


@dataclass(frozen=True)
class DatedFigure:
    """One row of a dated table.

    Attributes:
        valid_from: the first day on which it holds.
        valid_until: the last day.
        value: a number; a date as a spreadsheet's date number.
        status: how its source was seen: read, second hand or memory.
    """

    table: str
    figure: str
    valid_from: dt.date
    valid_until: dt.date
    value: float
    unit: str
    source: str
    status: str


def table_rows(name: str) -> list[dict[str, str]]:
    """The rows of a table by its name, each with its column names."""
    text = resources.files("sheetfns.tables").joinpath(f"{name}.csv").read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))


@functools.cache
def dated_figures(*tables: str) -> tuple[DatedFigure, ...]:
    """The rows of the named tables, or of all dated tables, in their order.

    Errors:
        TableError: a row is broken, or two rows of one figure share a day.
    """
    return tuple(row for table in tables or DATED_TABLES for row in _read_table(table))


def figure_on(figure: str, day: dt.date) -> float:
    """What a figure is on a day; that of a tax year is asked for on its 31 December.

    Errors:
        CellError: no row covers the day.

    >>> figure_on("Wage base", dt.date(2026, 12, 31))
    184500.0
    """
    rows = [row for row in dated_figures() if row.figure == figure]
    if not rows:
        raise KeyError(f"no dated table has the figure {figure}")
    for row in rows:
        if row.valid_from <= day <= row.valid_until:
            return row.value
    table = rows[0].table
    when = day.isoformat() if table in ASKED_BY_DAY else day.year
    raise CellError(BLANK, f"table {table} has no {figure} for {when}; add it when it is published")


def _read_table(table: str) -> Iterable[DatedFigure]:
    read: list[DatedFigure] = []
    # The header is line 1.
    for line, cells in enumerate(table_rows(table), 2):
        try:
            row = _read_row(table, cells)
            _refuse_overlap(row, read)
        except ValueError as error:
            raise TableError(f"table {table}, line {line}: {error}") from None
        read.append(row)
    if not read:
        raise TableError(f"table {table}: holds no rows; put them back")
    return read


def _read_row(table: str, cells: dict[str, str]) -> DatedFigure:
    for column in _COLUMNS:
        if not (cells.get(column) or "").strip():
            raise ValueError(f"{column} is blank; fill it in")
    # A row of more cells than columns has its rest under None.
    if None in cells:
        raise ValueError("has more cells than the header; put texts with commas in quotes")
    figure = cells.get("figure", MILE_RATE if table in ASKED_BY_DAY else "")
    if not figure:
        raise ValueError("figure is blank; fill it in")
    first, last = _day(cells, "valid_from"), _day(cells, "valid_until")
    if last < first:
        raise ValueError(f"valid_until {last} is before valid_from {first}; swap them")
    if cells["status"] not in STATUSES:
        raise ValueError(f"status '{cells['status']}' is unknown; write {', '.join(STATUSES)}")
    return DatedFigure(*(table, figure, first, last, _value(cells)), *(cells["unit"], cells["source"], cells["status"]))


def _day(cells: dict[str, str], column: str) -> dt.date:
    try:
        return dt.date.fromisoformat(cells[column])
    except ValueError:
        raise ValueError(
            f"{column} '{cells[column]}' is not a date; write year-month-day, such as 2026-03-31"
        ) from None


def _value(cells: dict[str, str]) -> float:
    if cells["unit"] == "date":
        return date_number(_day(cells, "value"))
    try:
        value = float(cells["value"])
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise ValueError(f"value '{cells['value']}' is not a number; write a number")
    return value


def _refuse_overlap(row: DatedFigure, earlier: list[DatedFigure]) -> None:
    for other in earlier:
        shared = max(row.valid_from, other.valid_from)
        if row.figure == other.figure and shared <= min(row.valid_until, other.valid_until):
            raise ValueError(f"{row.figure} has two rows for {shared}; let none overlap")
