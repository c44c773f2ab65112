"""Forms: labels, and cells beside them."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Any, Final

from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from sheetfns.cell_types import DATE, MONEY, RATIO, TEXT
from sheetfns.files.cell_names import column_letters
from sheetfns.log.model.sheets import PURPOSE_ROW, FormCell, FormRow, FormSheet
from sheetfns.log.sheets.home.ways import ways_beside_title
from sheetfns.log.write.canvas import Canvas
from sheetfns.log.write.charts import HEIGHT, SMALL_HEIGHT, ChartPlace, write_chart, write_charts_beside
from sheetfns.log.write.printing import FormPages, pages_of, words_on_form
from sheetfns.log.write.styles import FAINT, LINE_HEIGHT, LINK, LOUD_HEIGHT

USUAL_HEIGHT: Final = 15


def write_form(canvas: Canvas, form: FormSheet) -> None:
    """A sheet that answers one question at a time."""
    sheet = canvas.sheet(form.name)
    ways = ways_beside_title(canvas.others(form.name), form.widths)
    canvas.heads(sheet, form.name, form.purpose, ways=ways)
    for place, width in enumerate(form.widths):
        sheet.set_column(place, place, width)
    currency_named = False
    for row, line in enumerate(form.rows, form.first_row):
        if line.heading:
            _heading(canvas, sheet, form, line, row)
            currency_named = "money" in line.headers
        else:
            again = line.unit == "money" and currency_named
            _row(canvas, sheet, form, replace(line, unit="") if again else line, row)
            currency_named |= line.unit == "money"
    if form.frozen_rows:
        sheet.freeze_panes(form.frozen_rows, 0)
    write_charts_beside(canvas, sheet, form)
    if form.name in canvas.on_screen:
        sheet.fit_to_pages(1, 0)
    else:
        _print_setup(canvas, sheet, form)
    canvas.finish(sheet, form.name, landscape=form.landscape)


def _print_setup(canvas: Canvas, sheet: Worksheet, form: FormSheet) -> None:
    """Print what stands over the workings, on as many pages as there may be; what is left out is said in the head."""
    pages = _pages(canvas, form)
    last = column_letters(len(form.widths) - 1)
    # Each page is a range of its own: a program that fits the width need not keep to page breaks.
    ends = (0, *pages.breaks, pages.last_row)
    sheet.print_area_range = ",".join(f"'{form.name}'!$A${a + 1}:${last}${b}" for a, b in itertools.pairwise(ends))
    if pages.fits_width:
        sheet.fit_to_pages(1, 0)
    else:
        sheet.set_print_scale(int(100 * pages.scale))
    if not pages.whole:
        faint = canvas.format(font_color=FAINT, valign="vcenter")
        canvas.formula(sheet, PURPOSE_ROW, 0, words_on_form(form, pages), faint)


def _pages(canvas: Canvas, form: FormSheet) -> FormPages:
    """As many pages as it may have, or as there are figures and charts for."""
    heights = [_height(line) for line in form.rows]
    for most in itertools.count(form.printed_pages or 1):
        pages = pages_of(form, heights, most)
        below = range(pages.last_row + 1, pages.whole_until + 1)
        if form.printed_pages or not any(_shows(canvas, form, row) for row in below):
            break
    return pages


def _shows(canvas: Canvas, form: FormSheet, row: int) -> bool:
    """Whether a row has a chart or a figure."""
    if form.rows[row - form.first_row].chart:
        return True
    values = [] if canvas.values is None else [canvas.values.value(form.name, row, place) for place in _beside(form)]
    return any(isinstance(value, float | int) for value in values)


def _beside(form: FormSheet) -> range:
    """The columns, from 1, beside the labels."""
    return range(2, len(form.widths) + 1)


def _heading(canvas: Canvas, sheet: Worksheet, form: FormSheet, line: FormRow, row: int) -> None:
    head = canvas.format(bold=True, font_size=11, top=2, valign="vcenter")
    for place in range(len(form.widths)):
        sheet.write_blank(row - 1, place, None, head)
    sheet.write_string(row - 1, 0, line.label, head)
    small = {"bold": True, "font_size": 9, "top": 2, "valign": "vcenter", "text_wrap": True}
    for place, header in enumerate(line.headers, 1):
        # A unit is chosen on Settings.
        canvas.unit_words(sheet, row, place, header, canvas.format(**small | _side(form, row, place)))
    sheet.set_row(row - 1, _height(line))


def _height(line: FormRow) -> float:
    """How high a row is, in points."""
    if line.chart:
        return SMALL_HEIGHT if line.beside else HEIGHT
    if line.heading:
        return 18
    emphasized = any(cell.emphasized for cell in line.cells)
    return max(USUAL_HEIGHT, LOUD_HEIGHT if emphasized and line.lines else LINE_HEIGHT * line.lines)


def _side(form: FormSheet, row: int, place: int) -> dict[str, Any]:
    """A header stands as the cells below it do: words to the left, figures to the right."""
    below = next((line for line in form.rows[row - form.first_row + 1 :] if line.cells), FormRow())
    cells = dict(enumerate(below.cells, below.first_place))
    kind = cells[place].kind if place in cells and not below.lines else None
    if kind is DATE:
        return {"align": "center"}
    if kind is not TEXT:
        return {"align": "right"}
    return {"align": "left", "indent": 0 if cells[place].look == "label" else 1}


def _row(canvas: Canvas, sheet: Worksheet, form: FormSheet, line: FormRow, row: int) -> None:
    last = len(form.widths) - 1
    if line.chart:
        sheet.set_row(row - 1, _height(line))
        charts = [line.chart, line.beside] if line.beside else [line.chart]
        for place, chart in enumerate(charts):
            write_chart(canvas, sheet, form, chart, row, place=ChartPlace(place, len(charts), _height(line)))
        return
    if line.note:
        form_of = canvas.format(text_wrap=True, font_color=FAINT, font_size=9, valign="vcenter")
        sheet.merge_range(row - 1, 0, row - 1, last, line.note, form_of)
    if line.label:
        label = canvas.format(text_wrap=False, valign="vcenter")
        sheet.write_string(row - 1, 0, line.label, label)
    for cell in line.cells:
        _cell(canvas, sheet, form, line, cell)
    if line.lines:
        sheet.set_row(row - 1, _height(line))
    if line.unit:
        place = 1 + len(line.cells)
        marks = {"italic": True, "font_size": 9, "font_color": FAINT, "valign": "vcenter"}
        faint = canvas.format(align="left", indent=1, **marks)
        canvas.unit_words(sheet, row, place, line.unit, faint)


def _cell(canvas: Canvas, sheet: Worksheet, form: FormSheet, line: FormRow, cell: FormCell) -> None:
    row, place = canvas.places.form_cells[form.key][cell.key]
    shape = _format(canvas, form, line, cell)
    if line.lines:
        sheet.merge_range(row - 1, place, row - 1, len(form.widths) - 1, "", shape)
    if cell.formula is None:
        value = canvas.inputs.forms.get(form.key, {}).get(cell.key, cell.default)
        canvas.value(sheet, row, place, value, shape)
        canvas.validation(sheet, (row, row), place, cell, line.label)
        return
    text = canvas.places.form_formula(form, cell.formula.formula(canvas.edition), cell.key)
    canvas.formula(sheet, row, place, text, shape)
    if cell.role == "result" and cell.kind in (MONEY, RATIO):
        loss = {"type": "cell", "criteria": "<", "value": 0, "format": canvas.alarm}
        sheet.conditional_format(row - 1, place, row - 1, place, loss)
    for condition, marks in ((cell.bold_if, {"bold": True}), (cell.leads_if, {"font_color": LINK})):
        if condition:
            criteria = f"={canvas.places.form_formula(form, condition, cell.key)}"
            rule = {"type": "formula", "criteria": criteria, "format": canvas.book.add_format(marks)}
            sheet.conditional_format(row - 1, place, row - 1, place, rule)


def _format(canvas: Canvas, form: FormSheet, line: FormRow, cell: FormCell) -> Format:
    more: dict[str, Any] = {}
    _, place = canvas.places.form_cells[form.key][cell.key]
    if cell.look:
        number_format = cell.cell_format or cell.kind.cell_format
        marks: dict[str, Any] = {"num_format": number_format, "align": "left", "valign": "vcenter"}
        if cell.look == "link":
            return canvas.format(font_color=LINK, underline=1, indent=1, **marks)
        if cell.look == "label":
            return canvas.format(**marks)
        # Behind the last column nothing prints, so that a note there cannot run over.
        wraps = {"text_wrap": True} if place == len(form.widths) - 1 else {}
        return canvas.format(font_color=FAINT, indent=1, **marks, **wraps)
    if line.lines:
        more |= {"text_wrap": True, "indent": 0, "align": "left"}
    if cell.emphasized:
        more |= {"font_size": 16}
    elif line.lines and not line.label and not cell.working:
        more |= {"bold": False}
    if line.lines == 1 and cell.working:
        more |= {"text_wrap": False}
    return canvas.cell_format(cell.role, cell.cell_format or cell.kind.cell_format, **more)
