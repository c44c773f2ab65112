"""Texts that a spreadsheet program takes for a formula when they are typed or read from CSV."""

from __future__ import annotations

from typing import Final

FORMULA_SIGNS: Final = ("=", "+", "-", "@", "\t", "\r")


def harmless(text: str) -> str:
    """A text that no program takes for a formula.

    >>> harmless("=1+1"), harmless("a lamp")
    ("'=1+1", 'a lamp')
    """
    return f"'{text}" if text.startswith(FORMULA_SIGNS) else text
