"""What to check before an item is resold: a reminder, never a clearance."""

from __future__ import annotations

import functools
from typing import Any, Final

from sheetfns.cell_types import Flag, Text
from sheetfns.errors import row_by_row
from sheetfns.registry import worksheet
from sheetfns.tables import table_rows

NO_ENTRY: Final = "no entry: check recalls and local rules"


def _key(text: str) -> str:
    """A category as it is looked up: capitals, blanks and the form of the apostrophe do not count."""
    return " ".join(text.replace("\u2019", "'").casefold().split())


@functools.cache
def _cautions() -> dict[str, tuple[str, str]]:
    """For each category, and each other word for it, the whole text and the headline."""
    found = {}
    for row in table_rows("cautions"):
        whole = f"{row['what_to_check']} See {row['authority']}. Local rules come first."
        for name in (row["category"], *row["also"].split("|")):
            found[_key(name)] = (whole, row["brief"])
    return found


@worksheet("Cautions")
def resale_caution(category: Text, brief: Flag = False) -> Text:
    """What to check before you resell an item of this category in the US. A reminder, not advice: it never clears an item, and local rules come first.

    Args:
        category: what the item is, such as toys, cribs or electronics; capitals and spaces make no difference.
        brief: yes for a headline of up to 40 characters, for a list for example.
    Returns: what to check and with which authority; for a category that is not listed "no entry: check
        recalls and local rules", which does not mean that there is nothing to check.
    Errors: #VALUE!: brief is neither yes nor no. Blank while category is blank.
    Formula: looked up in the table cautions of this package
    Source: the authorities named in the table cautions, each row with its status (read, memory)
    Examples:
        >>> resale_caution("Toys", True)
        'recalls, small parts, magnets'
        >>> resale_caution("gizmos")
        'no entry: check recalls and local rules'
    """

    def caution(one: str | None, only_brief: Any) -> str:
        if one is None:
            return ""
        whole, headline = _cautions().get(_key(one), (NO_ENTRY, NO_ENTRY))
        return headline if only_brief else whole

    return row_by_row(caution, category, brief)
