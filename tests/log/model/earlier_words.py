"""Stores which words of the log have changed: python -m tests.log.model.earlier_words

tests/log/earlier/words_6.csv holds every word of layout 6 in the order of the layout, and so on for later ones. A rename
changes neither order nor number, so the words of then and of now belong together by their place. A change of the layout
that renames nothing stores its words with --words.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import astuple, fields, replace
from pathlib import Path
from typing import NamedTuple

from sheetfns.log.model import earlier_words
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.earlier_words import Renamed, label_key
from sheetfns.log.model.sheets import Column, Layout
from sheetfns.log.model.version import LAYOUT
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import (
    BUSINESS,
    CAUTIONS,
    CHECKS,
    EDITION_LABEL,
    FUNCTIONS,
    LAYOUT_VERSION,
    READY_ROWS_LABEL,
    RETURNED_ITEM,
    SETTINGS,
    START,
    TAX_RULES,
)  # fmt: skip
from sheetfns.log.write.start_sheet import EDITION_WORDS
from sheetfns.tables import table_rows
from tests import EARLIER

STORED = Path(earlier_words.__file__).with_name(earlier_words.STORED)
LOOKED_UP = ("TaxFigure", "name")
"""The column of a small table whose words formulas and Python look for, although it has no list."""


_THEN = "Rename in one layout and change the rest in the next; where nothing is renamed, run this with --words"


class Word(NamedTuple):
    """A word of a layout: what it is, the title of its sheet, the key of its column or cell, itself."""

    part: str
    sheet: str
    key: str
    word: str


class OtherStructureError(Exception):
    """The layout has changed by more than its words."""


def words() -> list[Word]:
    """Every word of the layout by which a log is read, in its order."""
    layout = log_layout()
    listed = [*_of_sheets(layout), *_of_settings(layout), *_of_tables(layout), *_of_forms(layout)]
    listed += [Word("check", check.sheet, check.key, check.label) for check in layout.checks]
    listed += [Word("name", "", "", name) for name in AddressMap(layout).names]
    return listed


def _of_sheets(layout: Layout) -> Iterator[Word]:
    fixed = (START, SETTINGS, TAX_RULES, CAUTIONS, CHECKS, FUNCTIONS)
    for title in (*fixed, *(table.name for table in layout.tables), *(form.name for form in layout.forms)):
        yield Word("sheet", title, "", title)
    for key, label in (("layout", LAYOUT_VERSION), ("edition", EDITION_LABEL), ("rows", READY_ROWS_LABEL)):
        yield Word("label", START, key, label)
    for text in EDITION_WORDS.values():
        yield Word("choice", START, "edition", text.partition(":")[0])


def _choices(column: Column) -> tuple[str, ...]:
    if column.names == "Caution_category":
        return tuple(row["category"] for row in table_rows("cautions"))
    if column.names == "Source_name":
        return (BUSINESS, RETURNED_ITEM)
    return column.choices


def _of_settings(layout: Layout) -> Iterator[Word]:
    for setting in layout.settings:
        yield Word("label", SETTINGS, setting.name, setting.label)
        yield from (Word("choice", SETTINGS, setting.name, word) for word in setting.choices)
    for block in layout.blocks:
        yield Word("block", SETTINGS, block.key, block.title)
        for place, column in enumerate(block.columns):
            key = f"{block.key}.{column.key}"
            yield Word("header", SETTINGS, key, column.header)
            typed = [] if column.role != "input" or column.runs_over else [row[place:] for row in block.content]
            there = list(dict.fromkeys(row[0] for row in typed if row and isinstance(row[0], str)))
            choices = there if (block.key, column.key) == LOOKED_UP else _choices(column)
            yield from (Word("choice", SETTINGS, key, word) for word in choices)
            yield from (Word("preset", SETTINGS, key, word) for word in there if word not in choices)


def _of_tables(layout: Layout) -> Iterator[Word]:
    for table in layout.tables:
        for column in table.columns:
            yield Word("header", table.name, column.key, column.header)
            yield Word("unit", table.name, column.key, column.unit)
            yield from (Word("choice", table.name, column.key, word) for word in _choices(column))


def _of_forms(layout: Layout) -> Iterator[Word]:
    for form in layout.forms:
        for row in form.rows:
            if row.label:
                yield Word("label", form.name, label_key(row), row.label)
            for cell in row.cells:
                yield from (Word("choice", form.name, cell.key, word) for word in cell.choices)


# ---- the words of then beside those of now -----------------------------------------------------


def path_of(number: int) -> Path:
    """Where the words of a layout are stored."""
    return EARLIER / f"words_{number}.csv"


def read_words(path: Path) -> list[Word]:
    """The words of a layout as they are stored."""
    with path.open(encoding="utf-8", newline="") as file:
        return [Word(**row) for row in csv.DictReader(file)]


def write_words(path: Path, listed: Iterable[Word]) -> None:
    """Store the words of a layout."""
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([Word._fields, *listed])


def changed(until: int, then: Sequence[Word], now: Sequence[Word]) -> list[Renamed]:
    """The words that are others now; `until` is the number of the layout that had those of then.

    Errors:
        OtherStructureError: they do not belong together by their place.
    """
    for place, (one, other) in enumerate(zip(then, now, strict=False)):
        if one.part != other.part or bool(one.word) != bool(other.word):
            raise OtherStructureError(
                f"word {place + 1} was {tuple(one)} in layout {until} and is {tuple(other)} now: the layout has "
                f"changed by more than words. {_THEN}"
            )
    if len(then) != len(now):
        raise OtherStructureError(
            f"layout {until} had {len(then)} words, and there are {len(now)} now: the layout has changed by more than "
            f"words. {_THEN}"
        )
    pairs = zip(then, now, strict=True)
    return [Renamed(until, b.part, b.sheet, b.key, a.word, b.word) for a, b in pairs if a.word != b.word]


def carried_on(stored: Iterable[Renamed], then: Sequence[Word], now: Sequence[Word]) -> list[Renamed]:
    """Changes of earlier layouts with the sheets, keys and words of now in place of those of then."""
    places = {one: place for place, one in reversed(list(enumerate(then)))}
    known: list[Renamed] = []
    for row in stored:
        at = now[places[Word(row.part, row.sheet, row.key, row.today)]]
        known.append(replace(row, sheet=at.sheet, key=at.key, today=at.word))
    return known


def store(into: Path = STORED) -> None:
    """Store what has changed since the layout before, beside what had changed before it."""
    until = LAYOUT - 1
    if not path_of(until).exists():
        raise SystemExit(f"{path_of(until)} is missing: there is nothing to compare the words of layout {LAYOUT} with")
    then, now = read_words(path_of(until)), words()
    kept = [row for row in earlier_words.renamed() if row.until < until]
    rows = [*carried_on(kept, then, now), *changed(until, then, now)]
    with into.open("w", encoding="utf-8", newline="") as file:
        header = [field.name for field in fields(Renamed)]
        csv.writer(file, lineterminator="\n").writerows([header, *map(astuple, rows)])


def main(*, only_words: bool) -> None:
    """Store what has changed, unless the layout has changed by more than words; then the words of today."""
    if not only_words:
        store()
    write_words(path_of(LAYOUT), words())


if __name__ == "__main__":
    sys.exit(main(only_words=sys.argv[1:] == ["--words"]))
