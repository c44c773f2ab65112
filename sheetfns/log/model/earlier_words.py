"""Words that logs of earlier layouts have where today's have others: titles, headers, labels, choices, names.

A log is read in its own words: `in_words` gives the layout as it was worded, so that sheets, columns and labels are
found, and messages name them as the file does. Keys, roles and order are those of today.
"""

from __future__ import annotations

import csv
import functools
from collections.abc import Iterable
from dataclasses import dataclass, replace
from importlib import resources
from typing import Any, Final, Literal

from sheetfns.log.model.cells import NamedRange
from sheetfns.log.model.sheets import Check, Column, FormRow, FormSheet, Layout, Setting, SettingsBlock, TableSheet

STORED: Final = "earlier_words.csv"
Part = Literal["sheet", "header", "label", "block", "unit", "choice", "preset", "check", "name"]
"""What a word is: `preset` stands in a small table of a new log, `name` is a defined name."""


@dataclass(frozen=True)
class Renamed:
    """A word that was another one up to some layout.

    Attributes:
        until: the last layout that had it.
        part: what it is.
        sheet: today's title of its sheet; blank for defined names.
        key: today's key of its column, cell, check or small table; BLOCK.column for a column of a small table.
        earlier, today: the word.
    """

    until: int
    part: str
    sheet: str
    key: str
    earlier: str
    today: str


@functools.cache
def renamed() -> tuple[Renamed, ...]:
    """Every word that has changed, as it is stored."""
    text = resources.files("sheetfns.log.model").joinpath(STORED).read_text("utf-8")
    return tuple(Renamed(int(row.pop("until")), **row) for row in csv.DictReader(text.splitlines()))


class EarlierWords:
    """The words of one layout, as far as they are not today's."""

    def __init__(self, rows: Iterable[Renamed] = ()) -> None:
        self._earlier: dict[tuple[str, str, str, str], str] = {}
        # Of a word that has changed twice, the one that was replaced first is the layout's own.
        for row in sorted(rows, key=lambda one: -one.until):
            self._earlier[row.part, row.sheet, row.key, row.today] = row.earlier
        self._titles = {
            earlier.casefold(): sheet for (part, sheet, *_), earlier in self._earlier.items() if part == "sheet"
        }

    def __bool__(self) -> bool:
        return bool(self._earlier)

    def of(self, part: Part, sheet: str, key: str, today: str) -> str:
        """The word that the layout had where today's has this one; sheets go by today's titles."""
        return self._earlier.get((part, sheet, key, today), today)

    def sheet(self, today: str) -> str:
        """The title that a sheet had."""
        return self.of("sheet", today, "", today)

    def today_sheet(self, title: str) -> str:
        """Today's title of the sheet that had this one."""
        return self._titles.get(title.casefold(), title)

    def name(self, today: str) -> str:
        """The defined name that there was for one of today."""
        return self.of("name", "", "", today)

    def choices(self, sheet: str, key: str = "") -> dict[str, str]:
        """The words that a column or cell was chosen from and that are others today, by today's.

        Without a key those of every cell of the sheet.
        """
        return {
            today: earlier
            for (part, at, of, today), earlier in self._earlier.items()
            if (part, at) == ("choice", sheet) and key in {"", of}
        }


TODAYS_WORDS: Final = EarlierWords()


def words_of(layout: int) -> EarlierWords:
    """The words of a layout by its number."""
    return EarlierWords(row for row in renamed() if row.until >= layout)


def layouts_with_other_words() -> list[int]:
    """The numbers of the last layouts before words were changed, the newest first."""
    return sorted({row.until for row in renamed()}, reverse=True)


def every_word(part: Part, sheet: str, key: str, today: str) -> set[str]:
    """A word of today and all that stood in its place."""
    return {today, *(words_of(until).of(part, sheet, key, today) for until in layouts_with_other_words())}


# ---- the layout in the words of another one ---------------------------------------------------


def in_words(layout: Layout, words: EarlierWords) -> Layout:
    """The layout of today as it was worded; choices of columns and forms are those of today."""
    if not words:
        return layout
    settings = layout.settings_sheet
    return replace(
        layout,
        settings=tuple(_setting(one, settings, words) for one in layout.settings),
        blocks=tuple(_block(one, settings, words) for one in layout.blocks),
        tables=tuple(_table(one, words) for one in layout.tables),
        forms=tuple(_form(one, words) for one in layout.forms),
        checks=tuple(_check(one, words) for one in layout.checks),
        named_ranges=tuple(NamedRange(one.name, address_in_words(one.cells, words)) for one in layout.named_ranges),
        settings_sheet=words.sheet(settings),
    )


def address_in_words(address: str, words: EarlierWords) -> str:
    """The address of cells on a sheet, such as 'Settings'!$B$7, with the title that the sheet had."""
    title, sign, cells = address.rpartition("!")
    return f"'{words.sheet(title.strip(chr(39)))}'{sign}{cells}" if sign else address


def _setting(setting: Setting, sheet: str, words: EarlierWords) -> Setting:
    # A setting is judged as it stands in the file, before its word is taken for one of today.
    choices = tuple(words.of("choice", sheet, setting.name, word) for word in setting.choices)
    return replace(setting, label=words.of("label", sheet, setting.name, setting.label), choices=choices)


def _block(block: SettingsBlock, sheet: str, words: EarlierWords) -> SettingsBlock:
    keys = [f"{block.key}.{column.key}" for column in block.columns]

    def cell(key: str, value: Any) -> Any:
        if not isinstance(value, str):
            return value
        return words.of("preset", sheet, key, words.of("choice", sheet, key, value))

    return replace(
        block,
        title=words.of("block", sheet, block.key, block.title),
        columns=tuple(_column(one, sheet, key, words) for one, key in zip(block.columns, keys, strict=True)),
        content=tuple(tuple(map(cell, keys, row)) for row in block.content),
    )


def _table(table: TableSheet, words: EarlierWords) -> TableSheet:
    checks = tuple(
        replace(one, message=words.of("check", table.name, f"{table.key}_{one.key}", one.message))
        for one in table.checks
    )
    columns = tuple(_column(one, table.name, one.key, words) for one in table.columns)
    return replace(table, name=words.sheet(table.name), columns=columns, checks=checks)


def _column(column: Column, sheet: str, key: str, words: EarlierWords) -> Column:
    header = words.of("header", sheet, key, column.header)
    unit = words.of("unit", sheet, key, column.unit)
    return column if (header, unit) == (column.header, column.unit) else replace(column, header=header, unit=unit)


def _form(form: FormSheet, words: EarlierWords) -> FormSheet:
    return replace(form, name=words.sheet(form.name), rows=tuple(_form_row(row, form.name, words) for row in form.rows))


def _form_row(row: FormRow, sheet: str, words: EarlierWords) -> FormRow:
    label = words.of("label", sheet, label_key(row), row.label)
    return row if label == row.label else replace(row, label=label)


def label_key(row: FormRow) -> str:
    """The key by which the label of a row is known: that of its first cell, if it has any."""
    return row.cells[0].key if row.cells else ""


def _check(check: Check, words: EarlierWords) -> Check:
    label = words.of("check", check.sheet, check.key, check.label)
    return replace(check, sheet=words.sheet(check.sheet), label=label)
