"""The lists and days that rows are judged against: names on Settings, and the first and last day of the log."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sheetfns.cell_types import shown_cell
from sheetfns.log.model.sheets import Column, TableSheet
from sheetfns.log.model.typed_rows import ReadRows
from sheetfns.log.sheets.words import BUSINESS, BY_DAY, RETURNED_ITEM, SETTINGS

_NAMES_LISTED: Final = 8
_PATTERN_MARKS: Final = re.compile(r"[*?~]|^[<>=]")
_BLANK_PLACES: Final = {
    (True, True): "spaces before and after it",
    (True, False): "a space before it",
    (False, True): "a space at the end",
    (False, False): "other spaces within it",
}

Rows = NDArray[np.bool_]


class Names:
    """The words that a column may hold, compared as a spreadsheet does: capitals do not count."""

    def __init__(
        self, words: Iterable[str], home: str, *, own_words: bool = True, also: Mapping[str, str] = MappingProxyType({})
    ) -> None:
        """`also` holds words that stand for one of these, and that one."""
        self.words = list(dict.fromkeys(word for word in words if word))
        self.home = home
        self.own_words = own_words
        self._folded = {word.casefold(): one for word, one in also.items()}
        self._folded |= {word.casefold(): word for word in reversed(self.words)}
        self._by_letters = {_letters(word): word for word in reversed(self.words)}

    def __contains__(self, word: str) -> bool:
        return word.casefold() in self._folded

    def spelled(self, words: Sequence[str]) -> list[str]:
        """The words with the capitals that they have in this list."""
        return [self._folded.get(word.casefold(), word) for word in words]

    def unknown(self, words: Sequence[str]) -> Rows:
        """Which of the words are none of these; a blank is not."""
        verdict = {word: bool(word) and word not in self for word in set(words)}
        return np.array([verdict[word] for word in words], dtype=bool)

    def refusal(self, header: str, word: str) -> str:
        """Why the word is not known, and what to write."""
        shown = shown_cell(word) if word == word.strip() else word[:40]
        near = self._by_letters.get(_letters(word))
        if near is None:
            listed = ", ".join(f"'{name}'" for name in self.words[:_NAMES_LISTED])
            listed += ", ..." if len(self.words) > _NAMES_LISTED else ""
            or_add = f", or add it on {self.home}" if self.own_words else ""
            choices = f"enter one of {listed}{or_add}" if listed else f"add it on {self.home}"
            return f"{header}: '{shown}' is not on {self.home}; {choices}"
        if word.strip() != word:
            ends = _BLANK_PLACES[word[:1].isspace(), word[-1:].isspace()]
            return f"{header}: '{shown}' has {ends}; enter '{near}'"
        ends = _BLANK_PLACES[near[:1].isspace(), near[-1:].isspace()]
        return f"{header}: '{shown}' is not on {self.home}, where '{near}' has {ends}; remove the space there"


def _letters(word: str) -> str:
    return "".join(word.split()).casefold()


def pattern_refusal(header: str, name: str) -> str | None:
    """Why a spreadsheet would not look for just this name, and what to write; None if it would."""
    marks = sorted(set(_PATTERN_MARKS.findall(name)))
    if not marks:
        return None
    return (
        f"{header}: '{shown_cell(name)}' contains {' and '.join(marks)}, which a spreadsheet reads as a wildcard or "
        "comparison when it looks up the name; enter it without"
    )


@dataclass(frozen=True)
class ReferenceLists:
    """What rows are judged against."""

    partners: Names
    sources: Names
    channels: Names
    headings: Names
    categories: Names
    conditions: Names
    mileage: pd.DataFrame
    as_of: dt.date | None
    first_month: dt.date | None
    plan_by_day: bool
    default_channel: str = ""
    """The one that counts where none is chosen."""

    @classmethod
    def of(
        cls, settings: Mapping[str, Any], blocks: Mapping[str, pd.DataFrame], default_channel: str = ""
    ) -> ReferenceLists:
        """The names and dates on Settings."""
        partners = list(blocks["Partner"]["name"])
        return cls(
            Names(partners, SETTINGS),
            Names([BUSINESS, RETURNED_ITEM, *partners], SETTINGS),
            Names(blocks["Channel"]["name"], SETTINGS),
            Names(blocks["Heading"]["heading"], SETTINGS),
            Names(blocks["Category"]["name"], SETTINGS),
            Names(blocks["Condition"]["name"], SETTINGS),
            blocks["Mileage"],
            settings.get("As_of_date"),
            settings.get("First_month"),
            str(settings.get("Plan_by") or "").casefold() == BY_DAY.casefold(),
            default_channel,
        )

    def listed(self, column: Column) -> Names | None:
        """The words that a column is chosen from."""
        lists = {
            "Partner_name": self.partners,
            "Source_name": self.sources,
            "Channel_name": self.channels,
            "Heading_heading": self.headings,
            "Category_name": self.categories,
            "Condition_name": self.conditions,
        }
        if column.choices:
            return Names(column.choices, "the list", own_words=False)
        return lists[column.names] if column.names else None


def spell_as_listed(tables: Mapping[str, TableSheet], read: Mapping[str, ReadRows], background: ReferenceLists) -> None:
    """Give words from lists the capitals that they have there; the sheets take both for equal."""
    lots = Names(read["Lots"].words("lot_no"), "sheet Lots")
    for key, rows in read.items():
        for column in tables[key].inputs():
            names = background.listed(column)
            if (key, column.key) == ("Log", "lot_no"):
                names = lots
            if names is not None:
                spelled = names.spelled(rows.words(column.key))
                rows.frame[column.key] = pd.Series(spelled, rows.frame.index, dtype=object)
