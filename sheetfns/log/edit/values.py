"""What is typed into cells, in words and as a file takes it, and which sheets are the log's."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sheetfns.errors import CellError
from sheetfns.files.sheet_xml import Value
from sheetfns.log.model.earlier_words import TODAYS_WORDS, EarlierWords
from sheetfns.log.model.sheets import Layout
from sheetfns.log.read.sheet_reader import plain
from sheetfns.log.sheets.words import CAUTIONS, CHECKS, FUNCTIONS, SETTINGS, START, TAX_RULES


def shown(value: Any) -> str:
    """A value in words."""
    if isinstance(value, float):
        return f"{value:.15g}"
    if isinstance(value, dt.date):
        return value.isoformat()
    return "" if value is None else str(value)


def plain_value(value: Any) -> Any:
    """A value as it is compared: an error by its code, a whole number as any other."""
    if isinstance(value, CellError):
        return value.code
    return float(value) if type(value) is int else value


def writable(value: Any) -> Value:
    """A value as a cell takes it; blank for an empty text, and words for what no cell holds."""
    value = plain_value(value)
    if value is None or value == "":
        return None
    return value if isinstance(value, (str, float, bool, dt.date)) else str(value)


def names_of_sheets(layout: Layout, edition: str | None, words: EarlierWords = TODAYS_WORDS) -> set[str]:
    """The names of the sheets that a log in some words has by itself, as they are compared."""
    names = {START, SETTINGS, TAX_RULES, CAUTIONS, CHECKS}
    names |= {table.name for table in layout.tables} | {form.name for form in layout.forms}
    if edition == "lambda":
        names.add(FUNCTIONS)
    return {plain(words.sheet(name)) for name in names}
