"""The ways between sheets: which are there for the same thing, and where the links to them stand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from sheetfns.log.model.sheets import TableSheet
from sheetfns.log.sheets.words import (
    CAUTIONS,
    CHARTS,
    CHECKS,
    DESK,
    FORECAST,
    HOME,
    INVENTORY,
    LOG,
    MONEY_SHEET,
    PARTNERS,
    PAY,
    PERSONAL_ITEMS,
    SETTINGS,
    SHELF,
    START,
    TAX_RULES,
    YEAR_END,
)

GROUPS: Final = (
    ("Decide", (SHELF, "Buying plan", "Comparables", DESK)),
    ("Record", (LOG, "Lots", "Expenses", "Trips")),
    ("", (PERSONAL_ITEMS, "Owner money")),
    ("See", (MONEY_SHEET, CHARTS, PAY, FORECAST)),
    ("", (INVENTORY, "Stale inventory", PARTNERS)),
    ("Tax", (YEAR_END, TAX_RULES)),
    ("Set up", (SETTINGS, CAUTIONS, CHECKS, START)),
)
"""The sheets by what they are for; a group without a word goes on with the one before it."""
_USUAL_WIDTH: Final = 8.43
"""Of a column whose width nobody has set."""


def group_of(sheet: str) -> str:
    """The word for what a sheet is for; what is in no group, and Home, is there to see."""
    return next((word for word, sheets in _whole_groups() if sheet in sheets), "See")


def neighbors(sheet: str) -> tuple[str, ...]:
    """The other sheets that are there for the same thing."""
    word = group_of(sheet)
    return tuple(one for name, sheets in _whole_groups() for one in sheets if name == word and one != sheet)


def _whole_groups() -> Iterator[tuple[str, tuple[str, ...]]]:
    word = ""
    for name, sheets in GROUPS:
        word = name or word
        yield word, sheets


def ways_beside_title(others: Sequence[str], widths: Sequence[float], first: int = 1) -> list[tuple[int, str]]:
    """Where the ways to other sheets stand beside a sheet's title.

    Args:
        others: the sheets to which they lead.
        widths: those of the sheet's columns, in letters.
        first: the column, from 0, with the first way.
    """
    return _side_by_side(others, widths, first)


def head_of_rows(table: TableSheet, others: Sequence[str] | None = None) -> tuple[list[tuple[int, str]], int]:
    """The same for a sheet with rows; and the column, from 0, from which the words on its purpose begin.

    Without `others` the ways are those to Home and to the sheets of the same group.
    """
    others = (HOME, *neighbors(table.name)) if others is None else others
    first = table.home_place if others else table.behind_title
    places = _side_by_side((*others, ""), [column.width for column in table.columns], first)
    return places[:-1], places[-1][0]


def _side_by_side(words: Sequence[str], widths: Sequence[float], first: int) -> list[tuple[int, str]]:
    """The column of each word; a long one runs over the columns beside it."""
    places, place = [], first
    for word in words:
        places.append((place, word))
        room = 0.0
        while room < len(word) + 1:
            room += widths[place] if place < len(widths) else _USUAL_WIDTH
            place += 1
    return places
