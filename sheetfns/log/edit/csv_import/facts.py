"""What is found out about a file, in words, and what may have been meant by a word that is not known."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Self

from sheetfns.log.read.sheet_reader import plain


@dataclass(frozen=True)
class Found:
    """One fact about a file.

    Attributes:
        label: what it is about.
        value: what was found, as the map would state it; "" if nothing needs to be known.
        shown: the same in words, and how it is known.
        doubt: why it cannot be told and what to do; "" if it can.
    """

    label: str
    value: str
    shown: str
    doubt: str = ""

    @classmethod
    def stated(cls, label: str, value: str, shown: str) -> Self:
        """What the map says."""
        return cls(label, value, f"{shown} (stated in the map)")

    @classmethod
    def doubtful(cls, label: str, doubt: str) -> Self:
        """What cannot be told."""
        return cls(label, "", "", doubt)


@dataclass(frozen=True)
class Detected:
    """A fact about the file, in words, with how it is known."""

    label: str
    value: str

    @classmethod
    def of(cls, found: Found) -> Self:
        """The fact without its doubt."""
        return cls(found.label, found.shown)


def near(word: str, words: Iterable[str]) -> str:
    """What may have been meant by a word, as the end of a message; "" if nothing is near."""
    by_text = {plain(one): one for one in words}
    found = difflib.get_close_matches(plain(word), by_text, 1, 0.6)
    return f" (did you mean '{by_text[found[0]]}'?)" if found else ""
