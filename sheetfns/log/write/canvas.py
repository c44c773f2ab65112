"""What every sheet of a log is written with: formats, cells, heads, printing, protection."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from sheetfns.cell_types import DATE, TEXT, CellType
from sheetfns.errors import CellError
from sheetfns.files.excel_limits import PROMPT, PROMPT_TITLE, LimitedSheet, LimitedWorkbook
from sheetfns.files.formula_signs import FORMULA_SIGNS
from sheetfns.hosts import engine
from sheetfns.log.lambdas.names import lambda_comment, lambda_formula, lambda_specs
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import CHECK_ROW, PURPOSE_ROW, TITLE_ROW, Column, Edition, FormCell, Layout, Setting
from sheetfns.log.sheets.home.ways import group_of, neighbors
from sheetfns.log.sheets.words import CAUTION, CAUTIONS, CHECKS, HOME, OWN_WORDS, SETTINGS, SHELF, START, TAX_RULES
from sheetfns.log.write.printing import BOTTOM, FOOTER, NOWHERE, ON_SCREEN, ON_SCREEN_WORDS, SIDE, TOP
from sheetfns.log.write.styles import CREATED, FAINT, LETTER, LINE, LINK, LOSS, RESULT_FILL, TABS, Styles, write_value

TYPED_OVER: Final = (
    "This cell holds a formula: the log works it out from what you enter between the columns [ and ]. "
    "Press Escape to keep it."
)


class _LogSheet(LimitedSheet):
    """A sheet whose formulas use no function that needs a prefix in the file.

    Looking for such functions takes four fifths of the time of writing a large log.
    """

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:  # noqa: ARG002
        return formula.removeprefix("=")


class _LogBook(LimitedWorkbook):
    """A workbook whose defined names may hold a formula and a comment."""

    def __init__(self, path: str) -> None:
        super().__init__(path, {"strings_to_formulas": False})
        self._comments: dict[str, str] = {}

    def name_formula(self, name: str, formula: str, comment: str) -> None:
        """Define a name that stands for no cells."""
        self.define_name(name, f"={formula}", comment)
        self._comments[name] = comment

    def _write_defined_name(self, defined_name: list[Any]) -> None:
        name, _, formula, _ = defined_name
        if name not in self._comments:
            super()._write_defined_name(defined_name)
            return
        attributes = [("name", name), ("comment", self._comments[name])]
        self._xml_data_element("definedName", formula, attributes)

    def _extract_named_ranges(self, defined_names: list[list[Any]]) -> list[str]:
        # An error such as #NUM! in a formula is taken for the name of a sheet there.
        ranges = [one for one in defined_names if one[0] not in self._comments]
        found: list[str] = super()._extract_named_ranges(ranges)
        return found


class Canvas:
    """One workbook being written; with `values` every formula cell carries its result."""

    on_screen: frozenset[str] = ON_SCREEN
    """The sheets that do not print with the others."""

    def __init__(
        self, path: Path, layout: Layout, edition: Edition, inputs: Inputs, values: engine.Recalculated | None
    ) -> None:
        self.layout = layout
        self.places = AddressMap(layout)
        self.edition = edition
        self.inputs = inputs
        self.values = values
        self.book = _LogBook(str(path))
        self.book.set_properties({"title": "Sourcing log", "created": CREATED})
        self.book.set_calc_mode("auto")
        self.styles = Styles(self.book)
        self.alarm = self.book.add_format({"bold": True, "font_color": LOSS})

    def close(self) -> None:
        """Name everything and finish the file."""
        for name, place in sorted(self.places.names.items()):
            self.book.define_name(name, f"={place}")
        if self.edition == "lambda":
            for spec in lambda_specs():
                self.book.name_formula(spec.name, lambda_formula(spec), lambda_comment(spec))
        self.book.close()

    def sheet(self, name: str) -> Worksheet:
        """A new sheet, the last one."""
        sheet = self.book.add_worksheet(name, worksheet_class=_LogSheet)
        sheet.set_tab_color(TABS[group_of(name)])
        return sheet

    def format(self, **marks: Any) -> Format:
        """A format; fonts and colors that are not named are the usual ones."""
        return self.styles.format(**marks)

    def cell_format(self, role: str, cell_format: str, **more: Any) -> Format:
        """The format of a cell that is typed in, shows a result or a step on the way."""
        marks: dict[str, Any] = {"num_format": cell_format, "border": 1, "border_color": LINE}
        marks |= {"valign": "vcenter"}
        if cell_format == TEXT.cell_format:
            marks |= {"align": "left", "indent": 1}
        elif cell_format == DATE.cell_format:
            marks |= {"align": "center"}
        if role == "input":
            marks |= {"locked": False}
        elif role == "result":
            marks |= {"bg_color": RESULT_FILL, "bold": True}
        else:
            marks |= {"italic": True, "font_color": FAINT, "border": 4}
        return self.format(**(marks | more))

    def formula(self, sheet: Worksheet, row: int, column: int, text: str, form: Format) -> None:
        """Write a formula with its result; row counted from 1, column from 0."""
        value: Any = 0
        if self.values is not None:
            value = self.values.value(sheet.get_name(), row, column + 1)
            if isinstance(value, CellError):
                value = value.code
            elif value is None:
                value = ""
            elif value == 0:
                value = 0  # a result of -0 would be shown as such
        sheet.write_formula(row - 1, column, f"={text}", form, value)

    def value(self, sheet: Worksheet, row: int, column: int, value: Any, form: Format) -> None:
        """Write what was typed; row counted from 1, column from 0."""
        if isinstance(value, str) and value.startswith(FORMULA_SIGNS):
            form = self.styles.quoted(form)
        write_value(sheet, row - 1, column, None if value == "" else value, form)

    def heads(
        self,
        sheet: Worksheet,
        name: str,
        purpose: str,
        purpose_at: tuple[int, int] = (PURPOSE_ROW, 0),
        *,
        check_row: int = CHECK_ROW,
        ways: Sequence[tuple[int, str]] = (),
    ) -> None:
        """Title, purpose, what is to fix and the ways to other sheets; rows from 1, columns from 0."""
        sheet.hide_gridlines(2)
        sheet.set_row(TITLE_ROW - 1, 22)
        sheet.write_string(TITLE_ROW - 1, 0, name, self.format(bold=True, font_size=16))
        if name in self.on_screen - {START, SHELF}:  # one says how to print, the other is narrow
            purpose += ON_SCREEN_WORDS
        sheet.write_string(purpose_at[0] - 1, purpose_at[1], purpose, self.format(font_color=FAINT, valign="vcenter"))
        for place, other in ways:
            self.link(sheet, place, other)
        self.errors(sheet, name, check_row)

    def others(self, name: str) -> tuple[str, ...]:
        """The sheets to which the head of a sheet leads."""
        return () if name == HOME else (HOME, *neighbors(name))

    def link(self, sheet: Worksheet, place: int, target: str) -> None:
        """The way to a sheet, beside the title."""
        marks = {"font_color": LINK, "underline": 1, "valign": "vcenter", "align": "left"}
        # Not the function HYPERLINK: LibreOffice works it out on loading, and all that looks at its column with it.
        sheet.write_url(TITLE_ROW - 1, place, f"internal:'{target}'!A1", self.format(**marks), target)

    def errors(self, sheet: Worksheet, name: str, row: int) -> None:
        """How many errors there are, on this sheet and in the log; the row is counted from 1."""
        own, following = (f'SUMIFS(Check_count,Check_sheet,"{name}",Check_kind,"{kind}")' for kind in ("fix", "wait"))
        words = f'"Errors: "&{own}+IF(Check_waits=0,{following},0)&" on this sheet, "&Check_total&" in the log"'
        if name in (HOME, START, CHECKS):
            words = '"Errors: "&Check_total&" in the log"'
        words += '&IF(Check_waits=0,""," ("&Check_waits&" more checks wait)")'
        self.error_words(sheet, row, words)

    def error_words(self, sheet: Worksheet, row: int, formula: str) -> None:
        """The words that a formula says of errors, which begin with "Errors: "; loud unless there is none."""
        self.formula(sheet, row, 0, formula, self.format(bold=True))
        loud = {"type": "formula", "criteria": f'=LEFT($A${row},9)<>"Errors: 0"', "format": self.alarm}
        sheet.conditional_format(row - 1, 0, row - 1, 0, loud)

    def finish(self, sheet: Worksheet, name: str, *, landscape: bool = True, protected: bool = True) -> None:
        """Printing and protection.

        A sheet whose rows the seller fills in is not protected: a protected one can't be sorted, and nobody can insert,
        copy, clear or delete a row of it.
        """
        if landscape:
            sheet.set_landscape()
        sheet.set_paper(LETTER)
        sheet.set_margins(SIDE, SIDE, TOP, BOTTOM)
        sheet.set_footer(f"&L&8{CAUTION}&R&8{name}, page &P of &N", {"margin": FOOTER})
        if name in self.on_screen:
            sheet.print_area_range = f"'{name}'!{NOWHERE}"
        if not protected:
            return
        sheet.protect(
            "",
            {
                "format_cells": True,
                "format_columns": True,
                "format_rows": True,
                "insert_columns": True,
                "sort": True,
                "autofilter": True,
            },
        )

    def unit(self, sheet: Worksheet, row: int, place: int, column: Column) -> None:
        """The unit under a header."""
        form = self.format(italic=True, font_size=8, font_color=FAINT, valign="vcenter")
        self.unit_words(sheet, row, place, column.unit, form)

    def unit_words(self, sheet: Worksheet, row: int, place: int, unit: str, form: Format) -> None:
        """A unit; money, weight and length as they are chosen on Settings."""
        names = {"money": "Currency", "weight": "Weight_unit", "length": "Length_unit"}
        if unit in names:
            name = names[unit]
            self.formula(sheet, row, place, f'IF({name}="","{unit}",{name})', form)
        else:
            sheet.write_string(row - 1, place, unit, form)

    def refuse_typing(self, sheet: Worksheet, rows: tuple[int, int], columns: tuple[int, int]) -> None:
        """Refuse what is typed over formulas, with a sentence; rows from 1, columns from 0."""
        rule = {
            "validate": "custom",
            "value": "=FALSE",
            "ignore_blank": False,
            "error_title": "Worked out by the log",
            "error_message": TYPED_OVER,
        }
        sheet.data_validation(rows[0] - 1, columns[0], rows[1] - 1, columns[1], rule)

    def validation(
        self, sheet: Worksheet, rows: tuple[int, int], place: int, column: Column | Setting | FormCell, header: str
    ) -> None:
        """What may be typed into a column, setting or cell, and what the program says about it."""
        names = column.names
        rule = _rule(column.kind, names, column.choices)
        rule["input_title"] = header[:PROMPT_TITLE]
        rule["input_message"] = (column.help or header)[:PROMPT]
        if "validate" in rule and rule["validate"] != "any":
            rule["error_title"] = header[:PROMPT_TITLE]
            rule["error_message"] = _refusal(column.kind, names, column.choices)
        sheet.data_validation(rows[0] - 1, place, rows[1] - 1, place, rule)


def _rule(kind: CellType, names: str, choices: tuple[str, ...]) -> dict[str, Any]:
    if names:
        own_words = names in OWN_WORDS
        kind_of_stop = "information" if own_words else "stop"
        return {"validate": "list", "source": f"={names}", "error_type": kind_of_stop}
    if choices:
        return {"validate": "list", "source": list(choices)}
    if kind.holds == "date":
        first, last = dt.date(2000, 1, 1), dt.date(2199, 12, 31)
        return {"validate": "date", "criteria": "between", "minimum": first, "maximum": last}
    if kind.holds == "number":
        if kind.minimum is not None and kind.maximum is not None:
            bounds = {"minimum": kind.minimum, "maximum": kind.maximum}
            return {"validate": "decimal", "criteria": "between", **bounds}
        minimum = kind.minimum if kind.minimum is not None else -1e12
        return {"validate": "decimal", "criteria": ">=", "value": minimum}
    return {"validate": "any"}


def _refusal(kind: CellType, names: str, choices: tuple[str, ...]) -> str:
    if names in OWN_WORDS:
        return "A new word; it works as it is. To see it in the list, add it on Settings."
    if names:
        sheets = {"Log_item_no": "Sourcing log", "Caution_category": CAUTIONS, "ExpenseLine_name": TAX_RULES}
        return f"Choose from the list; the names are on sheet {sheets.get(names, SETTINGS)}."
    if choices:
        words = f"Choose one of: {', '.join(choices)}."
        return words if len(words) <= PROMPT else "Choose one from the list."
    if kind.holds == "date":
        return "Enter a date as year-month-day, such as 2026-03-31."
    return f"Enter a number, {kind.in_words()}, without a currency sign."
