"""Write a sourcing log: either edition, empty or filled, every formula cell with its value."""

from __future__ import annotations

import datetime as dt
import tempfile
from pathlib import Path
from typing import Any, Final

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

import sheetfns
from sheetfns.errors import CellError, LogFileError
from sheetfns.hosts import engine
from sheetfns.kinds import DATE, TEXT, Kind, shown_cell
from sheetfns.log.entries import Entries, Row
from sheetfns.log.layout import (
    CHECKS,
    DEFAULT_ROWS,
    MOST_ROWS,
    SETTINGS,
    START,
    YEAR_END,
    layout,
)
from sheetfns.log.places import BLOCK_HEAD, CHECK_COLUMNS, YEAR_COLUMNS, Places
from sheetfns.log.safe_files import written_beside
from sheetfns.log.sheets import (
    CHECK_ROW,
    FIRST_ROW,
    GROUP_ROW,
    HEADER_ROW,
    PURPOSE_ROW,
    TITLE_ROW,
    UNIT_ROW,
    Column,
    Edition,
    Layout,
    Setting,
    TableSheet,
)

INK: Final = "#1A1A1A"
FAINT: Final = "#595959"
LINE: Final = "#A6A6A6"
RESULT_FILL: Final = "#EFEFEF"
HEAD_FILL: Final = "#D9E1E8"
CREATED: Final = dt.datetime(2026, 1, 1, tzinfo=dt.UTC).replace(tzinfo=None)
"""A fixed date of creation: the same entries give the same file."""
PRINTED_ROWS: Final = 32
MOST_LETTERS: Final = 32_767
"""What the file format allows in one cell."""

_HEAD: Final = {"bold": True, "bg_color": HEAD_FILL, "text_wrap": True, "border": 1}

CAUTION: Final = (
    "An aid to record keeping, not tax advice. Rules differ by place and year; have a licensed "
    "preparer check."
)


def build_log(
    path: Path | str,
    edition: Edition = "plain",
    rows: int = DEFAULT_ROWS,
    entries: Entries | None = None,
) -> Path:
    """Write a log.

    Args:
        path: the new file; it is written beside and renamed when it is whole.
        edition: "plain" has ordinary formulas only, "functions" calls the named functions.
        rows: ready rows on the sourcing log.
        entries: what is filled in; nothing if left out.

    Errors:
        LogFileError: the path cannot be written, or the entries do not fit.
    """
    if not 1 <= rows <= MOST_ROWS:
        raise LogFileError(f"rows: {rows} is not between 1 and {MOST_ROWS}; choose fewer rows")
    path = Path(path)
    entries = entries or Entries()
    plan = layout(rows)
    _refuse_what_does_not_fit(plan, entries)
    with tempfile.TemporaryDirectory() as folder:
        draft = Path(folder) / "draft.xlsx"
        _Writer(draft, plan, edition, entries, None).write()
        values = engine.recalculate(draft)
    with written_beside(path) as beside:
        _Writer(beside, plan, edition, entries, values).write()
    return path


def _refuse_what_does_not_fit(plan: Layout, entries: Entries) -> None:
    for key, rows in entries.rows.items():
        table = plan.table(key)
        if len(rows) > table.ready_rows:
            raise LogFileError(
                f"{table.name}: {len(rows)} rows do not fit into {table.ready_rows}; "
                "build the log with more rows"
            )
        known = {column.key for column in table.inputs()}
        for row in rows:
            if unknown := set(row) - known:
                raise LogFileError(f"{table.name}: no input column {', '.join(sorted(unknown))}")
        _refuse_long_texts(table.name, rows)
    for key, rows in entries.blocks.items():
        block = plan.block(key)
        if len(rows) > block.rows:
            raise LogFileError(f"{SETTINGS}: {len(rows)} rows do not fit into {block.title}")


def _refuse_long_texts(sheet: str, rows: list[Row]) -> None:
    for row in rows:
        for key, value in row.items():
            if isinstance(value, str) and len(value) > MOST_LETTERS:
                raise LogFileError(
                    f"{sheet}: {key} {shown_cell(value)!r} has {len(value)} letters; a cell holds "
                    f"{MOST_LETTERS} at most, shorten it"
                )


class _LogSheet(Worksheet):  # type: ignore[misc]  # its package has no types
    """A sheet whose formulas use no function that needs a prefix in the file.

    Looking for such functions takes four fifths of the time of writing a large log.
    """

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:  # noqa: ARG002
        return formula.removeprefix("=")


class _Writer:
    """Writes one workbook; with `values` every formula cell carries its result."""

    def __init__(
        self,
        path: Path,
        plan: Layout,
        edition: Edition,
        entries: Entries,
        values: engine.Recalculated | None,
    ) -> None:
        self.plan = plan
        self.places = Places(plan)
        self.edition = edition
        self.entries = entries
        self.values = values
        self.book = xlsxwriter.Workbook(str(path), {"strings_to_formulas": False})
        self.book.set_properties({"title": "Sourcing log", "created": CREATED})
        self.book.set_calc_mode("auto")
        self._formats: dict[tuple[tuple[str, Any], ...], Format] = {}

    def write(self) -> None:
        self._start_sheet()
        self._settings_sheet()
        for table in self.plan.tables:
            self._table_sheet(table)
        self._year_sheet()
        self._checks_sheet()
        for name, place in sorted(self.places.names.items()):
            self.book.define_name(name, f"={place}")
        self.book.close()

    def _sheet(self, name: str) -> Worksheet:
        return self.book.add_worksheet(name, worksheet_class=_LogSheet)

    # ---- cells -------------------------------------------------------------------------------

    def _format(self, **marks: Any) -> Format:
        marks = {
            "font_name": "Calibri",
            "font_size": 10,
            "font_color": INK,
            "valign": "top",
        } | marks
        key = tuple(sorted(marks.items()))
        if key not in self._formats:
            self._formats[key] = self.book.add_format(dict(marks))
        return self._formats[key]

    def _cell_format(self, role: str, cell_format: str, **more: Any) -> Format:
        marks: dict[str, Any] = {"num_format": cell_format, "border": 1, "border_color": LINE}
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
        return self._format(**(marks | more))

    def _formula(self, sheet: Worksheet, row: int, column: int, text: str, form: Format) -> None:
        """Row counted from 1, column from 0; the result from the engine stands in the cell."""
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

    def _value(self, sheet: Worksheet, row: int, column: int, value: Any, form: Format) -> None:
        if value is None or value == "":
            sheet.write_blank(row - 1, column, None, form)
        elif isinstance(value, dt.date):
            sheet.write_datetime(row - 1, column, value, form)
        elif isinstance(value, str):
            sheet.write_string(row - 1, column, value, form)
        else:
            sheet.write(row - 1, column, value, form)

    def _heads(self, sheet: Worksheet, name: str, purpose: str) -> None:
        sheet.hide_gridlines(2)
        sheet.set_row(TITLE_ROW - 1, 22)
        sheet.write_string(TITLE_ROW - 1, 0, name, self._format(bold=True, font_size=16))
        sheet.write_string(PURPOSE_ROW - 1, 0, purpose, self._format(font_color=FAINT))
        own = f'SUMIFS(Check_count,Check_sheet,"{name}",Check_kind,"mend")'
        words = f'"To mend here: "&{own}&"   In the whole log: "&Check_total'
        if name in (START, CHECKS):
            words = '"To mend in the whole log: "&Check_total'
        self._formula(sheet, CHECK_ROW, 0, words, self._format(bold=True))

    def _finish(self, sheet: Worksheet, name: str, *, landscape: bool = True) -> None:
        if landscape:
            sheet.set_landscape()
        sheet.set_paper(9)
        sheet.set_margins(0.4, 0.4, 0.7, 0.6)
        sheet.set_footer(f"&L&8{CAUTION}&R&8{name}, page &P of &N")
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

    # ---- sheets with rows --------------------------------------------------------------------

    def _table_sheet(self, table: TableSheet) -> None:
        sheet = self._sheet(table.name)
        self._heads(sheet, table.name, table.purpose)
        entries = self.entries.rows.get(table.key, [])
        group = ""
        sheet.set_row(HEADER_ROW - 1, 32)
        for place, column in enumerate(table.columns):
            head = self._format(**_HEAD)
            first = column.group if column.group != group else ""
            group = column.group
            sheet.write_string(GROUP_ROW - 1, place, first, self._format(bold=True, top=2))
            sheet.write_string(HEADER_ROW - 1, place, column.header, head)
            self._unit(sheet, UNIT_ROW, place, column)
            sheet.set_column(place, place, column.width)
            if column.role == "input":
                self._validation(sheet, FIRST_ROW, table.last_row, place, column)
        for place, column in enumerate(table.columns):
            self._column(sheet, table, place, column, entries)
        if table.checks:
            place = table.position("row_check")
            sheet.conditional_format(
                FIRST_ROW - 1,
                place,
                table.last_row - 1,
                place,
                {
                    "type": "formula",
                    "criteria": f"=LEN(${self._letter(table, 'row_check')}{FIRST_ROW})>2",
                    "format": self.book.add_format({"bold": True, "underline": 1, "border": 2}),
                },
            )
            sheet.autofilter(HEADER_ROW, 0, table.last_row - 1, len(table.columns) - 1)
        sheet.freeze_panes(FIRST_ROW - 1, table.frozen_columns)
        self._print_setup(sheet, table, len(entries))
        self._finish(sheet, table.name)

    def _letter(self, table: TableSheet, key: str) -> str:
        return self.places.names[table.defined_name(key)].split("$")[1]

    def _print_setup(self, sheet: Worksheet, table: TableSheet, filled: int) -> None:
        shown = [i for i, column in enumerate(table.columns) if column.role != "working"]
        last = min(FIRST_ROW + max(PRINTED_ROWS, filled + 5), table.last_row)
        sheet.print_area(GROUP_ROW - 1, 0, last - 1, shown[-1])
        sheet.set_header(f'&L&"Calibri,Bold"&12{table.name}&"Calibri,Regular"&9   {table.purpose}')
        sheet.repeat_rows(GROUP_ROW - 1, UNIT_ROW - 1)
        width = sum(table.columns[i].width for i in shown)
        pages = max(1, round(width / 165))
        if pages > 1:
            sheet.repeat_columns(0, table.frozen_columns - 1)
        sheet.fit_to_pages(pages, 0)

    def _unit(self, sheet: Worksheet, row: int, place: int, column: Column) -> None:
        form = self._format(italic=True, font_size=8, font_color=FAINT, bottom=2)
        units = {"money": "Currency", "weight": "Weight_unit", "length": "Length_unit"}
        if column.unit in units:
            self._formula(sheet, row, place, units[column.unit], form)
        else:
            sheet.write_string(row - 1, place, column.unit, form)

    def _column(
        self,
        sheet: Worksheet,
        table: TableSheet,
        place: int,
        column: Column,
        entries: list[dict[str, Any]],
    ) -> None:
        form = self._cell_format(column.role, column.cell_format or column.kind.cell_format)
        if column.formula is None:
            for row in range(FIRST_ROW, table.last_row + 1):
                filled = row - FIRST_ROW < len(entries)
                value = entries[row - FIRST_ROW].get(column.key) if filled else None
                self._value(sheet, row, place, value, form)
            return
        template = self.places.template(table, column.formula.formula(self.edition))
        for row in range(FIRST_ROW, table.last_row + 1):
            self._formula(sheet, row, place, template.format(row=row, before=row - 1), form)

    def _validation(
        self, sheet: Worksheet, first: int, last: int, place: int, column: Column | Setting
    ) -> None:
        header = column.header if isinstance(column, Column) else column.label
        names = column.names if isinstance(column, Column) else ""
        rule = _rule(column.kind, names, column.choices)
        rule["input_title"] = header[:32]
        rule["input_message"] = (column.help or header)[:255]
        if "validate" in rule and rule["validate"] != "any":
            rule["error_title"] = header[:32]
            rule["error_message"] = _refusal(column.kind, names, column.choices)
        sheet.data_validation(first - 1, place, last - 1, place, rule)

    # ---- the other sheets --------------------------------------------------------------------

    def _start_sheet(self) -> None:
        sheet = self._sheet(START)
        self._heads(
            sheet, START, "A log for buying used goods and selling them on, and what it earns."
        )
        sheet.set_column(0, 0, 4)
        sheet.set_column(1, 1, 24)
        sheet.set_column(2, 2, 76)
        head = self._format(bold=True, font_size=12)
        text = self._format(text_wrap=True)
        row = GROUP_ROW + 1
        sheet.write_string(row - 1, 0, "Five steps", head)
        for number, (what, how) in enumerate(_STEPS, 1):
            row += 1
            sheet.write_number(row - 1, 0, number, text)
            sheet.write_string(row - 1, 1, what, self._format(bold=True))
            sheet.write_string(row - 1, 2, how, text)
            sheet.set_row(row - 1, 15 * (1 + len(how) // 84))
        row += 2
        sheet.write_string(row - 1, 0, "What the cells are", head)
        legend = (
            ("input", "type here", "Upright in a plain box: yours to fill in."),
            ("result", "result", "Bold on grey: worked out; what you came for."),
            ("working", "working", "Slanted, dashed box: a step on the way to a result; leave it."),
        )
        for role, word, meaning in legend:
            row += 1
            sheet.write_string(row - 1, 1, word, self._cell_format(role, "@"))
            sheet.write_string(row - 1, 2, meaning, text)
        row += 2
        sheet.write_string(row - 1, 0, "Take care", head)
        for caution in _CAUTIONS:
            row += 1
            sheet.write_string(row - 1, 1, caution[0], self._format(bold=True))
            sheet.write_string(row - 1, 2, caution[1], text)
            sheet.set_row(row - 1, 15 * (1 + len(caution[1]) // 84))
        row += 2
        sheet.write_string(row - 1, 0, "This file", head)
        facts = (
            ("Edition", _EDITION_WORDS[self.edition]),
            ("Layout version", sheetfns.__version__),
            ("Ready rows", f"{self.plan.table('Log').ready_rows} on {self.plan.table('Log').name}"),
            (
                "Protection",
                "Formulas are locked without a password, so that they are not typed over by "
                "accident; unprotect the sheet in your program's menu if you must.",
            ),
        )
        for label, fact in facts:
            row += 1
            sheet.write_string(row - 1, 1, label, self._format(bold=True))
            sheet.write_string(row - 1, 2, fact, text)
            sheet.set_row(row - 1, 15 * (1 + len(fact) // 84))
        sheet.print_area(0, 0, row - 1, 2)
        sheet.fit_to_pages(1, 0)
        self._finish(sheet, START, landscape=False)

    def _settings_sheet(self) -> None:
        sheet = self._sheet(SETTINGS)
        self._heads(
            sheet, SETTINGS, "Your shop, its channels and rates; every other sheet uses them."
        )
        sheet.set_column(0, 0, 32)
        sheet.set_column(1, 1, 22)
        sheet.set_column(2, 8, 12.5)
        head = self._format(**_HEAD)
        for place, header in enumerate(("Setting", "Value", "Unit", "What it does")):
            sheet.write_string(HEADER_ROW - 1, place, header, head)
        for setting in self.plan.settings:
            self._setting(sheet, setting)
        last = FIRST_ROW
        for block in self.plan.blocks:
            first = self.places.block_rows[block.key]
            sheet.write_string(
                first - BLOCK_HEAD - 1, 0, block.title, self._format(bold=True, font_size=12)
            )
            sheet.write_string(first - BLOCK_HEAD, 0, block.help, self._format(font_color=FAINT))
            sheet.set_row(first - 2, 16)
            last = first + block.rows - 1
            content = self._block_content(block.key)
            for place, column in enumerate(block.columns):
                over = {"text_wrap": False} if column.runs_over else {}
                sheet.write_string(first - 2, place, column.header, self._format(**(_HEAD | over)))
                more = {"border": 0} if column.runs_over else {}
                cell_format = column.cell_format or column.kind.cell_format
                form = self._cell_format(column.role, cell_format, **more)
                if column.role == "input":
                    self._validation(sheet, first, last, place, column)
                for offset in range(block.rows):
                    value = content[offset][place] if offset < len(content) else None
                    if column.role == "result":
                        self._formula(sheet, first + offset, place, str(value)[1:], form)
                    else:
                        self._value(sheet, first + offset, place, value, form)
        sheet.freeze_panes(FIRST_ROW - 1, 1)
        sheet.print_area(0, 0, last - 1, 8)
        sheet.fit_to_pages(1, 0)
        self._finish(sheet, SETTINGS, landscape=False)

    def _setting(self, sheet: Worksheet, setting: Setting) -> None:
        row = self.places.setting_rows[setting.name]
        sheet.write_string(row - 1, 0, setting.label, self._format(bold=True))
        role = "result" if setting.formula else "input"
        form = self._cell_format(role, "0" if setting.unit == "year" else setting.kind.cell_format)
        if setting.formula:
            self._formula(sheet, row, 1, setting.formula, form)
        else:
            value = self.entries.settings.get(setting.name, setting.default)
            self._value(sheet, row, 1, value, form)
            self._validation(sheet, row, row, 1, setting)
        unit = self._format(italic=True, font_color=FAINT, align="left", indent=1)
        if setting.kind.unit == "money":
            self._formula(sheet, row, 2, "Currency", unit)
        else:
            sheet.write_string(row - 1, 2, setting.unit or setting.kind.unit, unit)
        sheet.write_string(row - 1, 3, setting.help, self._format(font_color=FAINT))

    def _block_content(self, key: str) -> list[tuple[Any, ...]]:
        block = self.plan.block(key)
        rows: list[tuple[Any, ...]] = list(block.content)
        if key in self.entries.blocks:
            rows = [
                tuple(row.get(column.key) for column in block.columns)
                for row in self.entries.blocks[key]
            ]
        return [row + (None,) * (len(block.columns) - len(row)) for row in rows]

    def _year_sheet(self) -> None:
        sheet = self._sheet(YEAR_END)
        self._heads(sheet, YEAR_END, CAUTION)
        title = self._format(bold=True, font_size=12)
        self._formula(
            sheet, GROUP_ROW, 0, '"Figures of the tax year "&Tax_year&" in "&Currency', title
        )
        sheet.set_column(0, 0, 54)
        sheet.set_column(1, 4, 13)
        sheet.set_column(5, 5, 62)
        head = self._format(**_HEAD)
        headers = ("Line", "Line no.", "From the log", "From Expenses", "Amount", "Note")
        for place, header in enumerate(headers):
            sheet.write_string(HEADER_ROW - 1, place, header, head)
        last = FIRST_ROW
        for line in self.plan.year_end:
            last = row = self.places.year_rows[line.key]
            if line.heading:
                sheet.write_string(row - 1, 0, line.label, title)
                continue
            edge = {"top": 1} if line.strong else {}
            words = self._format(bold=line.strong, **edge)
            for place, text in (
                (YEAR_COLUMNS["label"], line.label),
                (YEAR_COLUMNS["reference"], line.reference),
            ):
                if text.startswith("="):
                    self._formula(sheet, row, place, text[1:], words)
                else:
                    sheet.write_string(row - 1, place, text, words)
            for place in (YEAR_COLUMNS["from_log"], YEAR_COLUMNS["entered"]):
                sheet.write_blank(row - 1, place, None, words)
            role = "result" if line.reference else "working"
            for part in ("from_log", "entered"):
                formula = getattr(line, part)
                if formula is not None:
                    form = self._cell_format("working", "#,##0.00")
                    text = self.places.year_formula(formula.formula(self.edition))
                    self._formula(sheet, row, YEAR_COLUMNS[part], text, form)
            if line.formula is not None:
                form = self._cell_format(role, "#,##0.00")
                text = self.places.year_formula(line.formula.formula(self.edition))
                self._formula(sheet, row, YEAR_COLUMNS["amount"], text, form)
            sheet.write_string(
                row - 1,
                YEAR_COLUMNS["note"],
                line.note,
                self._format(font_color=FAINT, align="left", indent=1),
            )
        sheet.freeze_panes(FIRST_ROW - 1, 1)
        sheet.print_area(0, 0, last - 1, len(headers) - 1)
        sheet.repeat_rows(TITLE_ROW - 1, HEADER_ROW - 1)
        sheet.fit_to_pages(1, 0)
        self._finish(sheet, YEAR_END)

    def _checks_sheet(self) -> None:
        sheet = self._sheet(CHECKS)
        self._heads(
            sheet,
            CHECKS,
            "Everything that the log looks at by itself, and the first row where it fails.",
        )
        for place, width in enumerate((15, 9, 66, 9, 9, 12)):
            sheet.set_column(place, place, width)
        head = self._format(**_HEAD)
        for place, header in enumerate(
            ("Sheet", "Kind", "What is wrong", "Count", "First row", "Result")
        ):
            sheet.write_string(HEADER_ROW - 1, place, header, head)
        units = ("text", "mend or look", "text", "times", "row", "text")
        for place, unit in enumerate(units):
            sheet.write_string(
                UNIT_ROW - 1, place, unit, self._format(italic=True, font_size=8, font_color=FAINT)
            )
        sheet.write_string(
            self.places.total_row - 1, 2, "All that must be mended", self._format(bold=True)
        )
        self._formula(
            sheet,
            self.places.total_row,
            CHECK_COLUMNS["count"],
            'SUMIFS(Check_count,Check_kind,"mend")',
            self._cell_format("result", "0"),
        )
        last = FIRST_ROW
        for check in self.plan.checks:
            last = row = self.places.check_rows[check.key]
            text = self._format(text_wrap=True)
            sheet.write_string(row - 1, CHECK_COLUMNS["sheet"], check.sheet, text)
            kind = "look" if check.notice else "mend"
            sheet.write_string(row - 1, CHECK_COLUMNS["kind"], kind, text)
            sheet.write_string(row - 1, CHECK_COLUMNS["label"], check.label, text)
            count = f"$D{row}"
            form = self._cell_format("result", "0")
            label = f"$C{row}"
            self._formula(
                sheet, row, CHECK_COLUMNS["count"], check.count.replace("{label}", label), form
            )
            self._formula(
                sheet, row, CHECK_COLUMNS["first"], check.first.replace("{label}", label), form
            )
            words = "look here" if check.notice else "mend this"
            result = self._cell_format("result", TEXT.cell_format)
            self._formula(
                sheet, row, CHECK_COLUMNS["result"], f'IF({count}=0,"holds","{words}")', result
            )
        sheet.conditional_format(
            FIRST_ROW - 1,
            CHECK_COLUMNS["result"],
            last - 1,
            CHECK_COLUMNS["result"],
            {
                "type": "formula",
                "criteria": f"=$D{FIRST_ROW}<>0",
                "format": self.book.add_format({"bold": True, "underline": 1, "border": 2}),
            },
        )
        sheet.freeze_panes(FIRST_ROW - 1, 0)
        sheet.print_area(0, 0, last - 1, 5)
        sheet.repeat_rows(HEADER_ROW - 1)
        sheet.fit_to_pages(1, 0)
        self._finish(sheet, CHECKS, landscape=False)


def _rule(kind: Kind, names: str, choices: tuple[str, ...]) -> dict[str, Any]:
    if names:
        own_words = names in ("Category_name", "Condition_name")
        kind_of_stop = "information" if own_words else "stop"
        return {"validate": "list", "source": f"={names}", "error_type": kind_of_stop}
    if choices:
        return {"validate": "list", "source": list(choices)}
    if kind.holds == "date":
        first, last = dt.date(2000, 1, 1), dt.date(2199, 12, 31)
        return {"validate": "date", "criteria": "between", "minimum": first, "maximum": last}
    if kind.holds == "number":
        if kind.least is not None and kind.most is not None:
            bounds = {"minimum": kind.least, "maximum": kind.most}
            return {"validate": "decimal", "criteria": "between", **bounds}
        least = kind.least if kind.least is not None else -1e12
        return {"validate": "decimal", "criteria": ">=", "value": least}
    return {"validate": "any"}


def _refusal(kind: Kind, names: str, choices: tuple[str, ...]) -> str:
    if names in ("Category_name", "Condition_name"):
        return "A new word: it works as it is. To find it in the list, add it on Settings."
    if names:
        return "Choose from the list; the names stand on sheet Settings."
    if choices:
        return f"Choose one of: {', '.join(choices)}."
    if kind.holds == "date":
        return "Type a date, year-month-day, such as 2026-03-31."
    return f"Type a number, {kind.in_words()}, with no currency sign."


_STEPS: Final = (
    (
        SETTINGS,
        "Name the shop, its partners and channels with their fee terms; set the first month, the "
        "cash at that start, and the day that figures are as of.",
    ),
    (
        "Buy",
        "On Sourcing log, one row for each piece that can be sold on its own: number, day, place, "
        "price. Several pieces for one price: enter the lot on Lots and its number in each row.",
    ),
    ("List", "Fill in channel, asking price and expected postage; break-even price appears."),
    (
        "Sell",
        "Fill in day, price, shipping charged, postage paid; net profit appears. Refunds, own use, "
        "gifts and discarded pieces have their own columns.",
    ),
    (
        "Look",
        "Money shows cash and stock month by month, Year end the tax year, Checks what to mend. "
        "Costs, trips and owners' money have their own sheets.",
    ),
)
_CAUTIONS: Final = (
    ("Tax", CAUTION),
    (
        "Recalls, safety",
        "Check each piece against recall lists and local rules before you buy and before you list.",
    ),
    (
        "Lithium cells",
        "Ask your carrier before you post anything with a lithium cell; loose or damaged cells may "
        "be barred.",
    ),
)
_EDITION_WORDS: Final[dict[Edition, str]] = {
    "plain": "Plain: ordinary formulas only; works in any spreadsheet program, on a phone too.",
    "functions": "Functions: calls the named functions of sheetfns, which must be installed in "
    "your program, or run by its command recalc. The plain edition gives the same figures.",
}
