"""A log in the words of an earlier layout: typed choices are taken for those of today, and messages name its own."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, MutableMapping
from dataclasses import replace
from typing import Any, Final

import pandas as pd

from sheetfns.log.model.earlier_words import TODAYS_WORDS, EarlierWords, layouts_with_other_words, words_of
from sheetfns.log.model.typed_rows import Issue, ReadRows
from sheetfns.log.model.version import LAYOUT, layout_number
from sheetfns.log.read.cells import shown_of
from sheetfns.log.read.sheet_reader import plain
from sheetfns.log.sheets.words import LAYOUT_VERSION, START

_QUOTED: Final = r"(?<!\w)'([^']*)'(?!\w)"
Originals = MutableMapping[tuple[str, str], str]
"""Words as they stand in the file, by sheet and cell, where content has today's."""


def layout_of_file(
    titles: Iterable[str], known: Iterable[str], fact: Callable[[str, str], str]
) -> tuple[int, EarlierWords]:
    """The number of a log's layout, and the words that it is in.

    Args:
        titles: those of the file's sheets.
        known: today's titles of the sheets that a log has.
        fact: gives what stands beside a label on a sheet of that title, "" if nothing does.
    """
    found = {plain(title) for title in titles}
    known = list(known)

    def hits(words: EarlierWords) -> int:
        return sum(plain(words.sheet(title)) in found for title in known)

    layouts = layouts_with_other_words()
    for words in (TODAYS_WORDS, *map(words_of, layouts)):
        stated = layout_number(fact(words.sheet(START), words.of("label", START, "layout", LAYOUT_VERSION)))
        if stated is not None:
            return stated, words_of(stated)
    # A log that states no layout is taken for one of today, unless its sheets have earlier titles.
    number = max((LAYOUT, *layouts), key=lambda one: hits(words_of(one)))
    return number, words_of(number)


def todays_word(choices: Mapping[str, str], typed: Any) -> Any:
    """A typed word as today's choices have it; `choices` are the earlier words by today's."""
    if not isinstance(typed, str):
        return typed
    folded = typed.casefold()
    return next((today for today, earlier in choices.items() if earlier.casefold() == folded), typed)


def take_for_todays(rows: ReadRows, column: str, choices: Mapping[str, str], originals: Originals) -> None:
    """Let a column of typed rows hold today's words."""
    if not choices:
        return
    typed = rows.words(column)
    todays = [todays_word(choices, word) for word in typed]
    for place, (word, today) in enumerate(zip(typed, todays, strict=True)):
        if word != today:
            originals[rows.sheet, rows.cell(column, place)] = word
    rows.frame[column] = pd.Series(todays, rows.frame.index, dtype=object)


def as_in_file(issue: Issue, originals: Mapping[tuple[str, str], str], offered: Mapping[str, str]) -> Issue:
    """A problem with the words that stand in the file.

    Args:
        issue: the problem, with today's words.
        originals: the words of the file by sheet and cell.
        offered: the words that the sheet's cells are chosen from there, by today's.
    """
    original = originals.get((issue.sheet, issue.cell))
    found = issue.found if original is None else shown_of(original)
    # Bare words of one part may be other ones than those of a list.
    bare = "|".join(re.escape(word) for word in sorted(offered, key=len, reverse=True) if " " in word)

    def in_file(word: re.Match[str]) -> str:
        if word[1] is None:
            return offered[word[0]]
        return f"'{found if word[1] == issue.found else offered.get(word[1], word[1])}'"

    message = re.sub(rf"{_QUOTED}|\b(?:{bare})\b" if bare else _QUOTED, in_file, issue.message)
    return replace(issue, found=found, message=message)
