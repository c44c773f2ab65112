"""Where everything of a layout stands: cells, defined names, and formulas with real addresses."""

from __future__ import annotations

import re
from typing import Final

from sheetfns.log.model.sheets import FIRST_ROW, UNIT_ROW, FormSheet, Layout, SettingsBlock, TableSheet
from sheetfns.log.sheets.words import (
    CAUTIONS,
    CHECKS,
    EXPENSE_LINES,
    RISING_BLOCKS,
    SETTINGS,
    TAX_RULES,
    TAX_RULES_NAMES,
    caution_words,
    tax_lines,
)
from sheetfns.tables import table_rows

CHECK_COLUMNS: Final = {"sheet": 0, "kind": 1, "label": 2, "count": 3, "first": 4, "result": 5}
TAX_RULE_COLUMNS: Final = {"name": 0, "miles": 1, "office": 2, "self": 3, "lines": 4}
TAX_LINE_COLUMNS: Final = {
    "rules": 0,
    "label": 1,
    "line": 2,
    "from": 3,
    "until": 4,
    "part": 5,
    "figure": 6,
    "note": 7,
    "source": 8,
    "place": 9,
    "number": 10,
}
EXPENSE_LINE_COLUMNS: Final = {"name": 12}
CAUTION_COLUMNS: Final = {"category": 0, "brief": 1, "text": 2, "source": 3, "word": 5, "entry": 6}
_TABLES: Final = (("Mileage", "rate"), ("TaxFigure", "value"), ("Due", "day_4"))
"""Small tables that functions take whole, and the last column that they take."""
TAX_LINES_HEAD: Final = 3
"""A blank row, a title and the headers stand over the lines on sheet Tax rules."""
BLOCK_HEAD: Final = 3
"""Title, help and headers stand over the rows of a small table on Settings."""


def column_letter(position: int) -> str:
    """A for 0, AA for 26."""
    letters = ""
    position += 1
    while position:
        position, rest = divmod(position - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


class AddressMap:
    """The addresses of a layout. Rows and columns are counted from 1 and from 0."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.setting_rows = {setting.name: FIRST_ROW + place for place, setting in enumerate(layout.settings)}
        self.block_rows: dict[str, int] = {}
        row = FIRST_ROW + len(layout.settings) + 1
        for block in layout.blocks:
            self.block_rows[block.key] = row + BLOCK_HEAD
            row += BLOCK_HEAD + block.rows + 1
        self.tax_lines_row = FIRST_ROW + len(TAX_RULES_NAMES) + TAX_LINES_HEAD
        self.check_rows = {check.key: FIRST_ROW + i for i, check in enumerate(layout.checks)}
        self.form_cells = {form.key: _form_cells(form) for form in layout.forms}
        self.total_row = FIRST_ROW - 3
        self.names = self._names()

    def _names(self) -> dict[str, str]:
        names = {setting: f"'{SETTINGS}'!$B${row}" for setting, row in self.setting_rows.items()}
        for block in self.layout.blocks:
            names |= self._names_of_block(block)
        for table in self.layout.tables:
            names |= _names_of_table(table)
        for form in self.layout.forms:
            names |= self._names_of_form(form)
        for key in ("Postage", "Markdown"):
            names[f"{key}_table"] = self._with_headers(key)
        for key, last in _TABLES:
            names[f"{key}_table"] = self._up_to(key, last)
        for key in RISING_BLOCKS:
            names |= self._but_last_and_but_first(key)
        return names | _caution_names() | self._names_of_tax_rules() | self._names_of_figures()

    def _names_of_block(self, block: SettingsBlock) -> dict[str, str]:
        first = self.block_rows[block.key]
        last = first + block.rows - 1
        return {
            block.defined_name(column.key): f"'{SETTINGS}'!${letter}${first}:${letter}${last}"
            for place, column in enumerate(block.columns)
            for letter in [column_letter(place)]
        }

    def _names_of_form(self, form: FormSheet) -> dict[str, str]:
        last = f"${column_letter(len(form.widths) - 1)}${form.first_row + len(form.rows) - 1}"
        return {f"{form.key}_all": f"'{form.name}'!$A${form.first_row}:{last}"} | {
            form.defined_name(key): f"'{form.name}'!${column_letter(place)}${row}"
            for key, (row, place) in self.form_cells[form.key].items()
        }

    def _names_of_figures(self) -> dict[str, str]:
        """Names on Checks."""
        count = column_letter(CHECK_COLUMNS["count"])
        names: dict[str, str] = {}
        last_check = FIRST_ROW + len(self.layout.checks) - 1
        for key in ("sheet", "kind", "count"):
            letter = column_letter(CHECK_COLUMNS[key])
            names[f"Check_{key}"] = f"'{CHECKS}'!${letter}${FIRST_ROW}:${letter}${last_check}"
        return names | {"Check_total": f"'{CHECKS}'!${count}${self.total_row}"}

    def _names_of_tax_rules(self) -> dict[str, str]:
        names = {}
        for prefix, columns, first, count in (
            ("Rules", TAX_RULE_COLUMNS, FIRST_ROW, len(TAX_RULES_NAMES)),
            ("TaxLine", TAX_LINE_COLUMNS, self.tax_lines_row, len(tax_lines())),
            ("ExpenseLine", EXPENSE_LINE_COLUMNS, self.tax_lines_row, len(EXPENSE_LINES)),
        ):
            for key, place in columns.items():
                letter = column_letter(place)
                cells = f"${letter}${first}:${letter}${first + count - 1}"
                names[f"{prefix}_{key}"] = f"'{TAX_RULES}'!{cells}"
        return names

    def _up_to(self, key: str, column: str) -> str:
        """A small table on Settings without its headers, from its first column to another."""
        block, first = self.layout.block(key), self.block_rows[key]
        last = column_letter([one.key for one in block.columns].index(column))
        return f"'{SETTINGS}'!$A${first}:${last}${first + block.rows - 1}"

    def _with_headers(self, key: str) -> str:
        """A small table on Settings together with the headers over it."""
        block, first = self.layout.block(key), self.block_rows[key]
        last = column_letter(len(block.columns) - 1)
        return f"'{SETTINGS}'!$A${first - 1}:${last}${first + block.rows - 1}"

    def _but_last_and_but_first(self, key: str) -> dict[str, str]:
        """The first column of a small table without its last row, and without its first."""
        first = self.block_rows[key]
        last = first + self.layout.block(key).rows - 1
        return {
            f"{key}_earlier": f"'{SETTINGS}'!$A${first}:$A${last - 1}",
            f"{key}_later": f"'{SETTINGS}'!$A${first + 1}:$A${last}",
        }

    def form_formula(self, form: FormSheet, text: str) -> str:
        """A formula of a form with addresses; {{ and }} stand for the braces themselves."""
        cells = self.form_cells[form.key]

        def cell(found: re.Match[str]) -> str:
            row, place = cells[found[1]]
            return f"${column_letter(place)}${row}"

        text = text.replace("{{", "\0").replace("}}", "\1")
        return re.sub(r"\{(\w+)\}", cell, text).replace("\0", "{").replace("\1", "}")

    def template(self, table: TableSheet, text: str) -> str:
        """A formula of a sheet with rows, with {row} and {before} left to fill in.

        {column@-1} is the cell above, {column@above} all cells above together with the unit.
        """

        def cell(found: re.Match[str]) -> str:
            letter = column_letter(table.position(found[1]))
            if found[2] == "@above":
                return f"${letter}${UNIT_ROW}:${letter}{{before}}"
            return f"${letter}{{before}}" if found[2] else f"${letter}{{row}}"

        def words(found: re.Match[str]) -> str:
            letter = column_letter(CHECK_COLUMNS["label"])
            return f"{CHECKS}!${letter}${self.check_rows[f'{table.key}_{found[1]}']}"

        text = re.sub(r"\[(\w+)\]", words, text)
        return re.sub(r"\{(\w+)(@-1|@above)?\}", cell, text)


def _names_of_table(table: TableSheet) -> dict[str, str]:
    last = column_letter(len(table.columns) - 1)
    return {f"{table.key}_all": f"'{table.name}'!$A${FIRST_ROW}:${last}${table.last_row}"} | {
        table.defined_name(column.key): (f"'{table.name}'!${letter}${FIRST_ROW}:${letter}${table.last_row}")
        for place, column in enumerate(table.columns)
        for letter in [column_letter(place)]
    }


def _form_cells(form: FormSheet) -> dict[str, tuple[int, int]]:
    """Row, counted from 1, and column, from 0, of each cell; words without a label begin at A."""
    cells = {}
    for row, line in enumerate(form.rows, form.first_row):
        for place, cell in enumerate(line.cells, line.first_place):
            cells[cell.key] = (row, place)
    return cells


def _caution_names() -> dict[str, str]:
    entries, found_by = len(table_rows("cautions")), len(caution_words())
    names = {}
    for key, rows in (
        ("category", entries),
        ("brief", entries),
        ("text", entries),
        ("word", found_by),
        ("entry", found_by),
    ):
        letter = column_letter(CAUTION_COLUMNS[key])
        last = FIRST_ROW + rows - 1
        names[f"Caution_{key}"] = f"'{CAUTIONS}'!${letter}${FIRST_ROW}:${letter}${last}"
    return names
