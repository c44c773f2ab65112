"""Formulas that show words and lead to a cell on a click."""

from __future__ import annotations


def link_to(sheet: str, cell: str = "A1", words: str = "") -> str:
    """The way to a cell; it shows words, or the sheet's name."""
    shown = words or f'"{sheet}"'
    return f"HYPERLINK(\"#'{sheet}'!{cell}\",{shown})"


def link_to_named(sheet: str, words: str) -> str:
    """The way to a sheet whose name a formula finds; `words` is a formula too."""
    return f'HYPERLINK("#\'"&{sheet}&"\'!A1",{words})'


def link_to_row(sheet: str, column: str, row: str, words: str) -> str:
    """The way to a row that a formula finds, in a column named by its letters; `words` is a formula too."""
    return f"HYPERLINK(\"#'{sheet}'!{column}\"&{row},{words})"
