"""Where everything of a layout is: cells, defined names, and formulas with real addresses."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from typing import Final

from sheetfns.files.cell_names import column_letters
from sheetfns.log.model.sheets import (
    FIRST_ROW,
    HEADER_ROW,
    LEFT_EDGE,
    NUMBER_ROW,
    FormSheet,
    Layout,
    SettingsBlock,
    TableSheet,
)

BLOCK_HEAD: Final = 3
"""Title, help and headers stand over the rows of a small table on Settings."""


class UnknownKeyError(LookupError):
    """A formula of the layout names a column, cell or check that its sheet has not."""

    def __init__(self, sheet: str, of: str, key: str, known: Iterable[str]) -> None:
        near = difflib.get_close_matches(key, list(known), 1)
        hint = f"; did you mean '{near[0]}'?" if near else ""
        super().__init__(f"{sheet}, {of or 'a formula'}: the formula names '{key}', which the sheet has not{hint}")


class AddressMap:
    """The addresses of a layout. Rows and columns are counted from 1 and from 0."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.setting_rows: dict[str, int] = {}
        self.section_rows: dict[str, int] = {}
        row = FIRST_ROW
        for setting in layout.settings:
            if setting.section:
                # A blank row parts the sections.
                row += len(self.section_rows) > 0
                self.section_rows[setting.section] = row
                row += 1
            self.setting_rows[setting.name] = row
            row += 1
        self.block_rows: dict[str, int] = {}
        row += 1
        for block in layout.blocks:
            self.block_rows[block.key] = row + BLOCK_HEAD
            row += BLOCK_HEAD + block.rows + 1
        self.check_rows = {check.key: FIRST_ROW + i for i, check in enumerate(layout.checks)}
        self.form_cells = {form.key: _form_cells(form) for form in layout.forms}
        self.names = self._names()

    def _names(self) -> dict[str, str]:
        names = {setting: f"'{self.layout.settings_sheet}'!$B${row}" for setting, row in self.setting_rows.items()}
        for block in self.layout.blocks:
            names |= self._names_of_block(block)
        for table in self.layout.tables:
            names |= _names_of_table(table)
        for form in self.layout.forms:
            names |= self._names_of_form(form)
        for block in self.layout.blocks:
            names |= self._names_of_whole_block(block)
        return names | {one.name: one.cells for one in self.layout.named_ranges}

    def _names_of_block(self, block: SettingsBlock) -> dict[str, str]:
        first = self.block_rows[block.key]
        last = first + block.rows - 1
        return {
            block.defined_name(column.key): f"'{self.layout.settings_sheet}'!${letter}${first}:${letter}${last}"
            for place, column in enumerate(block.columns)
            for letter in [column_letters(place)]
        }

    def _names_of_whole_block(self, block: SettingsBlock) -> dict[str, str]:
        """Names of more than one column, or of a part of the first."""
        first = self.block_rows[block.key]
        last = first + block.rows - 1

        def cells(top: int, bottom: int, column: str = "A") -> str:
            return f"'{self.layout.settings_sheet}'!$A${top}:${column}${bottom}"

        names = {}
        if block.table_until:
            column = column_letters([one.key for one in block.columns].index(block.table_until))
            names[f"{block.key}_table"] = cells(first - block.table_with_headers, last, column)
        if block.rises:
            names |= {f"{block.key}_earlier": cells(first, last - 1), f"{block.key}_later": cells(first + 1, last)}
        return names

    def _names_of_form(self, form: FormSheet) -> dict[str, str]:
        last = f"${column_letters(len(form.widths) - 1)}${form.first_row + len(form.rows) - 1}"
        return {f"{form.key}_all": f"'{form.name}'!$A${form.first_row}:{last}"} | {
            form.defined_name(key): f"'{form.name}'!${column_letters(place)}${row}"
            for key, (row, place) in self.form_cells[form.key].items()
        }

    def form_formula(self, form: FormSheet, text: str, of: str = "") -> str:
        """A formula of a form with addresses; {{ and }} stand for the braces themselves.

        Errors:
            UnknownKeyError: it names a cell that the form has not; `of` is the cell that it belongs to.
        """
        cells = self.form_cells[form.key]

        def cell(found: re.Match[str]) -> str:
            if found[1] not in cells:
                raise UnknownKeyError(form.name, of, found[1], cells)
            row, place = cells[found[1]]
            return f"${column_letters(place)}${row}"

        text = text.replace("{{", "\0").replace("}}", "\1")
        return re.sub(r"\{(\w+)\}", cell, text).replace("\0", "{").replace("\1", "}")

    def template(self, table: TableSheet, text: str, of: str = "") -> str:
        """A formula of a sheet with rows, with {row} and {before} left to fill in.

        {column@-1} is the cell above, {column@above} all cells above together with the header, [check] the words of a
        check. An entry is referred to by its place between the edges of the entries; {first}:{last} of two entries is
        each of those from one to the other.

        Errors:
            UnknownKeyError: it names a column or check that the sheet has not; `of` is the column that it belongs to.
        """
        columns = {column.key for column in table.columns}
        typed = [column.key for column in table.inputs()] if LEFT_EDGE in columns else []
        checks = {check.key for check in table.checks}

        def cell(found: re.Match[str]) -> str:
            if found[1] not in columns:
                raise UnknownKeyError(table.name, of, found[1], columns)
            letter = column_letters(table.position(found[1]))
            if found[1] in typed:
                left, right = map(column_letters, table.edges_around(found[1]))
                return f"INDEX(${left}{{row}}:${right}{{row}},1,${letter}${NUMBER_ROW})"
            if found[2] == "@above":
                return f"${letter}${HEADER_ROW}:${letter}{{before}}"
            return f"${letter}{{before}}" if found[2] else f"${letter}{{row}}"

        def words(found: re.Match[str]) -> str:
            if found[1] not in checks:
                raise UnknownKeyError(table.name, of, found[1], checks)
            return self.layout.check_label.format(row=self.check_rows[f"{table.key}_{found[1]}"])

        def each(found: re.Match[str]) -> str:
            if found[1] not in typed or found[2] not in typed:
                return found[0]
            keys = typed[typed.index(found[1]) : typed.index(found[2]) + 1]
            return ",".join(f"{{{key}}}" for key in keys)

        text = re.sub(r"\[(\w+)\]", words, text)
        text = re.sub(r"\{(\w+)\}:\{(\w+)\}", each, text)
        return re.sub(r"\{(\w+)(@-1|@above)?\}", cell, text)


def _names_of_table(table: TableSheet) -> dict[str, str]:
    last = column_letters(len(table.columns) - 1)
    first_row, last_row = table.names_from, table.names_to
    return {f"{table.key}_all": f"'{table.name}'!$A${first_row}:${last}${last_row}"} | {
        table.defined_name(column.key): (f"'{table.name}'!${letter}${first_row}:${letter}${last_row}")
        for place, column in enumerate(table.columns)
        for letter in [column_letters(place)]
    }


def _form_cells(form: FormSheet) -> dict[str, tuple[int, int]]:
    """Row, counted from 1, and column, from 0, of each cell; words without a label begin at A."""
    cells = {}
    for row, line in enumerate(form.rows, form.first_row):
        for place, cell in enumerate(line.cells, line.first_place):
            cells[cell.key] = (row, place)
    return cells
