"""Forms: labels, and cells beside them."""

from __future__ import annotations

from typing import Any, Final

from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from sheetfns.log.sheets import FormCell, FormRow, FormSheet
from sheetfns.log.write.canvas import FAINT, LINE_HEIGHT, Canvas
from sheetfns.log.write.charts import write_chart

LOUD_HEIGHT: Final = 27
_FOR_WORDS: Final = 30
"""Wider columns hold words: their headers stand over the words' beginning."""


def write_form(canvas: Canvas, form: FormSheet) -> None:
    """A sheet that answers one question at a time."""
    sheet = canvas.sheet(form.name)
    canvas.heads(sheet, form.name, form.purpose)
    for place, width in enumerate(form.widths):
        sheet.set_column(place, place, width)
    for row, line in enumerate(form.rows, form.first_row):
        _row(canvas, sheet, form, line, row)
    breaks = [row - 1 for row, line in enumerate(form.rows, form.first_row) if line.new_page]
    if breaks:
        sheet.set_h_pagebreaks(breaks)
    if form.frozen_rows:
        sheet.freeze_panes(form.frozen_rows, 0)
    # The heading of the workings stands over them.
    printed = next(i for i, line in enumerate(form.rows) if any(c.working for c in line.cells)) - 1
    sheet.print_area(0, 0, form.first_row + printed - 2, len(form.widths) - 1)
    sheet.fit_to_pages(1, 0)
    canvas.finish(sheet, form.name, landscape=form.landscape)


def _row(canvas: Canvas, sheet: Worksheet, form: FormSheet, line: FormRow, row: int) -> None:
    last = len(form.widths) - 1
    if line.heading:
        head = canvas.format(bold=True, font_size=11, top=2)
        for place in range(last + 1):
            sheet.write_blank(row - 1, place, None, head)
        sheet.write_string(row - 1, 0, line.label, head)
        for place, header in enumerate(line.headers, 1):
            side = "left" if form.widths[place] > _FOR_WORDS else "right"
            small = canvas.format(bold=True, font_size=9, top=2, align=side, text_wrap=True)
            sheet.write_string(row - 1, place, header, small)
        sheet.set_row(row - 1, 18)
        return
    if line.chart:
        write_chart(canvas, sheet, form, line.chart, row)
        return
    if line.note:
        form_of = canvas.format(text_wrap=True, font_color=FAINT, font_size=9)
        sheet.merge_range(row - 1, 0, row - 1, last, line.note, form_of)
    if line.label:
        sheet.write_string(row - 1, 0, line.label, canvas.format(text_wrap=False))
    for cell in line.cells:
        _cell(canvas, sheet, form, line, cell)
    if line.lines:
        loud = any(cell.loud for cell in line.cells)
        height = LOUD_HEIGHT if loud else LINE_HEIGHT * line.lines
        sheet.set_row(row - 1, max(15, height))
    if line.unit:
        place = 1 + len(line.cells)
        faint = canvas.format(italic=True, font_size=9, font_color=FAINT, align="left", indent=1)
        canvas.unit_words(sheet, row, place, line.unit, faint)


def _cell(canvas: Canvas, sheet: Worksheet, form: FormSheet, line: FormRow, cell: FormCell) -> None:
    row, place = canvas.places.form_cells[form.key][cell.key]
    shape = _format(canvas, line, cell)
    if line.lines:
        sheet.merge_range(row - 1, place, row - 1, len(form.widths) - 1, "", shape)
    if cell.formula is None:
        value = canvas.entries.forms.get(form.key, {}).get(cell.key, cell.default)
        canvas.value(sheet, row, place, value, shape)
        canvas.validation(sheet, (row, row), place, cell, line.label)
        return
    text = canvas.places.form_formula(form, cell.formula.formula(canvas.edition))
    canvas.formula(sheet, row, place, text, shape)
    if cell.bold_if:
        bold = canvas.book.add_format({"bold": True})
        criteria = f"={canvas.places.form_formula(form, cell.bold_if)}"
        rule = {"type": "formula", "criteria": criteria, "format": bold}
        sheet.conditional_format(row - 1, place, row - 1, place, rule)


def _format(canvas: Canvas, line: FormRow, cell: FormCell) -> Format:
    more: dict[str, Any] = {}
    if cell.look:
        number_format = cell.cell_format or cell.kind.cell_format
        marks: dict[str, Any] = {"num_format": number_format, "align": "left"}
        if cell.look == "label":
            return canvas.format(**marks)
        return canvas.format(font_color=FAINT, indent=1, **marks)
    if line.lines:
        more |= {"text_wrap": True, "indent": 0, "align": "left"}
    if cell.loud:
        more |= {"font_size": 16, "valign": "vcenter"}
    elif line.lines and not line.label and not cell.working:
        more |= {"bold": False}
    if line.lines == 1 and cell.working:
        more |= {"text_wrap": False}
    return canvas.cell_format(cell.role, cell.cell_format or cell.kind.cell_format, **more)
