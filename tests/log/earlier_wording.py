"""A log as an earlier layout with other words would have written it: every word that a log has is another one."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import get_args
from unittest import mock

from openpyxl import Workbook
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.worksheet import Worksheet

from sheetfns.log.edit.patch import refresh_values
from sheetfns.log.model import earlier_words
from sheetfns.log.model.addresses import BLOCK_HEAD, AddressMap
from sheetfns.log.model.earlier_words import EarlierWords, Part, Renamed, label_key
from sheetfns.log.model.sheets import FIRST_ROW, HEADER_ROW, UNIT_ROW, Layout
from sheetfns.log.model.version import LAYOUT
from sheetfns.log.sheets.data_checks.layout import CHECK_COLUMNS
from sheetfns.log.sheets.words import (
    CAUTIONS,
    CHECKS,
    EDITION_LABEL,
    LAYOUT_VERSION,
    READY_ROWS_LABEL,
    SETTINGS,
    START,
    TAX_RULES,
)
from tests.log.model.earlier_words import words
from tests.log.quick_logs import loaded

BEFORE = LAYOUT - 1
_TEXT_OR_NOT = re.compile(r'("(?:[^"]|"")*")')
_IDENTIFIER = re.compile(r"'((?:[^']|'')+)'!|\b([A-Za-z_]\w*)(!|\b(?!\())")


PARTS = get_args(Part)
NO_CHOICES = tuple(part for part in PARTS if part != "choice")
"""Functions take choices as arguments, and know the words of today."""


_IN_PIECES = ("Weight_unit", "Length_unit", "Rule.units", "Postage.")
"""Formulas put these words together from pieces."""


def invented(parts: Sequence[str] = PARTS) -> tuple[Renamed, ...]:
    """Another word for every one of the log that is of some parts; what a new log holds for a seller stays as it is."""
    rows = []
    for part, sheet, key, word in words():
        fixed = not word or word == "money" or part == "preset" or key.startswith(_IN_PIECES)
        if part in parts and not fixed:
            rows.append(Renamed(BEFORE, part, sheet, key, f"Old{'_' if part == 'name' else ' '}{word}", word))
    return tuple(rows)


@contextmanager
def with_stored(rows: Sequence[Renamed]) -> Iterator[None]:
    """These are the words that have changed meanwhile."""
    with mock.patch.object(earlier_words, "renamed", return_value=tuple(rows)):
        yield


def reworded(log: Path, layout: Layout, rows: Sequence[Renamed], path: Path) -> Path:
    """A log of today with the earlier words and the earlier layout's number, worked out."""
    book = loaded(log)
    _Rewording(book, layout, EarlierWords(rows), rows).everything()
    book.save(path)
    refresh_values(path)[1].unlink()
    return path


class _Rewording:
    def __init__(self, book: Workbook, layout: Layout, old: EarlierWords, rows: Sequence[Renamed]) -> None:
        self.book, self.layout, self.old = book, layout, old
        self.places = AddressMap(layout)
        self.names = {row.today: row.earlier for row in rows if row.part == "name"}
        self.titles = {row.today: row.earlier for row in rows if row.part == "sheet"}
        self.choices = {row.today: row.earlier for row in rows if row.part == "choice" and row.sheet != START}

    def everything(self) -> None:
        for sheet in self.book:
            self._formulas(sheet)
        self._settings(self.book[SETTINGS])
        self._tables()
        self._forms()
        self._fixed()
        for name in self.book.defined_names.values():
            name.attr_text = self._formula(name.attr_text)
        for today, earlier in self.names.items():
            if today in self.book.defined_names:
                self.book.defined_names[today].name = earlier
        for sheet in list(self.book):
            sheet.title = self.titles.get(sheet.title, sheet.title)

    def _formula(self, text: str) -> str:
        pieces = _TEXT_OR_NOT.split(text)
        return "".join(self._literal(one) if one[:1] == '"' else _IDENTIFIER.sub(self._word, one) for one in pieces)

    def _word(self, found: re.Match[str]) -> str:
        title, identifier, sign = found.groups()
        if title or sign == "!":
            return f"'{self.titles.get(title or identifier, title or identifier)}'!"
        return f"{self.names.get(identifier, identifier)}{sign}"

    def _literal(self, text: str) -> str:
        return f'"{self.choices.get(text[1:-1], text[1:-1])}"'

    def _formulas(self, sheet: Worksheet) -> None:
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, ArrayFormula):
                    cell.value.text = self._formula(cell.value.text)
                elif isinstance(cell.value, str) and cell.value[:1] == "=":
                    cell.value = self._formula(cell.value)
        for validation in sheet.data_validations.dataValidation:
            first = str(validation.formula1 or "")
            if first[:1] == '"':
                listed = (self.choices.get(one, one) for one in first[1:-1].split(","))
                validation.formula1 = f'"{",".join(listed)}"'
            elif first:
                validation.formula1 = self._formula(first)
        for rules in sheet.conditional_formatting:
            for rule in rules.rules:
                rule.formula = [self._formula(text) for text in rule.formula]

    def _choose(self, sheet: Worksheet, rows: range, column: int, title: str, key: str) -> None:
        choices = self.old.choices(title, key)
        for row in rows if choices else ():
            cell = sheet.cell(row, column)
            cell.value = choices.get(cell.value, cell.value)

    def _settings(self, sheet: Worksheet) -> None:
        for setting in self.layout.settings:
            row = self.places.setting_rows[setting.name]
            sheet.cell(row, 1).value = self.old.of("label", SETTINGS, setting.name, setting.label)
            self._choose(sheet, range(row, row + 1), 2, SETTINGS, setting.name)
        for block in self.layout.blocks:
            first = self.places.block_rows[block.key]
            sheet.cell(first - BLOCK_HEAD, 1).value = self.old.of("block", SETTINGS, block.key, block.title)
            for place, column in enumerate(block.columns, 1):
                key = f"{block.key}.{column.key}"
                sheet.cell(first - 1, place).value = self.old.of("header", SETTINGS, key, column.header)
                self._choose(sheet, range(first, first + block.rows), place, SETTINGS, key)

    def _tables(self) -> None:
        for table in self.layout.tables:
            sheet = self.book[table.name]
            for place, column in enumerate(table.columns, 1):
                head, unit = sheet.cell(HEADER_ROW, place), sheet.cell(UNIT_ROW, place)
                assert head.value == column.header
                head.value = self.old.of("header", table.name, column.key, column.header)
                if unit.value == column.unit:
                    unit.value = self.old.of("unit", table.name, column.key, column.unit)
                if column.role == "input":
                    self._choose(sheet, range(FIRST_ROW, table.last_row + 1), place, table.name, column.key)

    def _forms(self) -> None:
        for form in self.layout.forms:
            sheet = self.book[form.name]
            for at, row in enumerate(form.rows, form.first_row):
                if row.label:
                    assert sheet.cell(at, 1).value == row.label
                    sheet.cell(at, 1).value = self.old.of("label", form.name, label_key(row), row.label)
            for cell in form.cells():
                at, place = self.places.form_cells[form.key][cell.key]
                self._choose(sheet, range(at, at + 1), place + 1, form.name, cell.key)

    def _fixed(self) -> None:
        checks = self.book[CHECKS]
        for check in self.layout.checks:
            row = self.places.check_rows[check.key]
            checks.cell(row, CHECK_COLUMNS["sheet"] + 1).value = self.old.sheet(check.sheet)
            label = self.old.of("check", check.sheet, check.key, check.label)
            checks.cell(row, CHECK_COLUMNS["label"] + 1).value = label
        for name in (TAX_RULES, CAUTIONS):
            _replace(self.book[name], lambda text: self.choices.get(text, text))
        labels = {
            label: self.old.of("label", START, key, label)
            for key, label in (("layout", LAYOUT_VERSION), ("edition", EDITION_LABEL), ("rows", READY_ROWS_LABEL))
        }
        editions = self.old.choices(START, "edition")
        start = self.book[START]
        for row in start.iter_rows():
            for cell in row:
                if cell.value == LAYOUT_VERSION:
                    cell.offset(0, 1).value = str(BEFORE)
                if cell.value == EDITION_LABEL:
                    word, sign, rest = cell.offset(0, 1).value.partition(":")
                    cell.offset(0, 1).value = f"{editions.get(word, word)}{sign}{rest}"
        _replace(start, lambda text: labels.get(text, text))


def _replace(sheet: Worksheet, word: Callable[[str], str]) -> None:
    for row in sheet.iter_rows():
        for cell in row:
            if isinstance(cell.value, str) and cell.value[:1] != "=":
                cell.value = word(cell.value)
