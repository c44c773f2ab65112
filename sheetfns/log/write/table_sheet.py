"""Sheets with rows."""

from __future__ import annotations

from typing import Any

from xlsxwriter.worksheet import Worksheet

from sheetfns.log.model.sheets import FIRST_ROW, GROUP_ROW, HEADER_ROW, UNIT_ROW, Column, TableSheet
from sheetfns.log.write.canvas import Canvas
from sheetfns.log.write.styles import HEAD


def write_table(canvas: Canvas, table: TableSheet) -> None:
    """A sheet with rows: entries of the seller, or months."""
    sheet = canvas.sheet(table.name)
    canvas.heads(sheet, table.name, table.purpose)
    inputs = canvas.inputs.rows.get(table.key, [])
    group = ""
    sheet.set_row(HEADER_ROW - 1, 32)
    for place, column in enumerate(table.columns):
        head = canvas.format(**HEAD)
        first = column.group if column.group != group else ""
        group = column.group
        over = canvas.format(bold=True, top=2, valign="vcenter")
        # A blank cell, and not an empty text: a text beside it may run over a blank one alone.
        canvas.value(sheet, GROUP_ROW, place, first, over)
        sheet.write_string(HEADER_ROW - 1, place, column.header, head)
        canvas.unit(sheet, UNIT_ROW, place, column)
        sheet.set_column(place, place, column.width)
        if column.role == "input":
            canvas.validation(sheet, (FIRST_ROW, table.last_row), place, column, column.header)
    for column in table.columns:
        _column(canvas, sheet, table, column, inputs)
    if table.checks:
        place = table.position("row_check")
        sheet.conditional_format(
            FIRST_ROW - 1,
            place,
            table.last_row - 1,
            place,
            {
                "type": "formula",
                "criteria": f"=LEN(${_letter(canvas, table, 'row_check')}{FIRST_ROW})>2",
                "format": canvas.book.add_format({"bold": True, "underline": 1, "border": 1}),
            },
        )
        sheet.autofilter(HEADER_ROW, 0, table.last_row - 1, len(table.columns) - 1)
    sheet.freeze_panes(FIRST_ROW - 1, table.frozen_columns)
    _print_setup(sheet, table)
    canvas.finish(sheet, table.name)


def _letter(canvas: Canvas, table: TableSheet, key: str) -> str:
    return canvas.places.names[table.defined_name(key)].split("$")[1]


def _print_setup(sheet: Worksheet, table: TableSheet) -> None:
    shown = [i for i, column in enumerate(table.columns) if column.role != "working"]
    sheet.print_area(GROUP_ROW - 1, 0, table.last_row - 1, shown[-1])
    sheet.set_header(f'&L&"Calibri,Bold"&12{table.name}&"Calibri,Regular"&9   {table.purpose}')
    sheet.repeat_rows(GROUP_ROW - 1, UNIT_ROW - 1)
    width = sum(table.columns[i].width for i in shown)
    pages = max(1, round(width / 165))
    if pages > 1:
        sheet.repeat_columns(0, table.frozen_columns - 1)
    sheet.fit_to_pages(pages, 1 if table.one_page_high else 0)


def _column(canvas: Canvas, sheet: Worksheet, table: TableSheet, column: Column, inputs: list[dict[str, Any]]) -> None:
    place = table.position(column.key)
    form = canvas.cell_format(column.role, column.cell_format or column.kind.cell_format)
    if column.formula is None:
        for row in range(FIRST_ROW, table.last_row + 1):
            filled = row - FIRST_ROW < len(inputs)
            value = inputs[row - FIRST_ROW].get(column.key) if filled else None
            canvas.value(sheet, row, place, value, form)
        return
    template = canvas.places.template(table, column.formula.formula(canvas.edition), column.key)
    for row in range(FIRST_ROW, table.last_row + 1):
        canvas.formula(sheet, row, place, template.format(row=row, before=row - 1), form)
