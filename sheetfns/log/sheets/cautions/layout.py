"""Sheet Cautions: what to check before goods of a category are bought or listed, and by which words it is found."""

from __future__ import annotations

from typing import Final

from sheetfns.log.model.cells import NamedRange, named_columns
from sheetfns.log.model.sheets import FIRST_ROW
from sheetfns.log.sheets.words import CAUTIONS
from sheetfns.tables import table_rows

COLUMNS: Final = {"category": 0, "brief": 1, "text": 2, "source": 3}
WORD_COLUMNS: Final = {"word": 5, "entry": 6}
_NAMED: Final = ("category", "brief", "text")


def caution_words() -> list[tuple[str, str]]:
    """Every word by which a caution is found, and the category of its entry."""
    return [
        (word, row["category"])
        for row in table_rows("cautions")
        for word in (row["category"], *row["also"].split("|"))
        if word
    ]


def named_ranges() -> tuple[NamedRange, ...]:
    """The defined names on Cautions."""
    named = {key: COLUMNS[key] for key in _NAMED}
    return (
        *named_columns("Caution", named, CAUTIONS, FIRST_ROW, len(table_rows("cautions"))),
        *named_columns("Caution", WORD_COLUMNS, CAUTIONS, FIRST_ROW, len(caution_words())),
    )
