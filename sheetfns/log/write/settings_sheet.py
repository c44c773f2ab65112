"""Sheet Settings."""

from __future__ import annotations

from typing import Any, Final

from xlsxwriter.worksheet import Worksheet

from sheetfns.log.model.addresses import BLOCK_HEAD
from sheetfns.log.model.sheets import FIRST_ROW, LIST_HEADER_ROW, Column, Setting
from sheetfns.log.sheets.home.ways import ways_beside_title
from sheetfns.log.sheets.words import SETTINGS
from sheetfns.log.write.canvas import Canvas
from sheetfns.log.write.styles import FAINT, HEAD, LINK

LAST_COLUMN: Final = 9
_WIDTHS: Final = (32, 22, *[15] * (LAST_COLUMN - 1))


def write_settings(canvas: Canvas) -> None:
    """Sheet Settings: single figures, then small tables."""
    sheet = canvas.sheet(SETTINGS)
    ways = ways_beside_title(canvas.others(SETTINGS), _WIDTHS)
    canvas.heads(sheet, SETTINGS, "Your shop, its channels and rates; every other sheet uses them.", ways=ways)
    for place, width in enumerate(_WIDTHS):
        sheet.set_column(place, place, width)
    head = canvas.format(**HEAD)
    for place, header in enumerate(("Setting", "Value", "Unit", "What it does")):
        sheet.write_string(LIST_HEADER_ROW - 1, place, header, head)
    _sections(canvas, sheet)
    for setting in canvas.layout.settings:
        _setting(canvas, sheet, setting)
    last = FIRST_ROW
    for block in canvas.layout.blocks:
        first = canvas.places.block_rows[block.key]
        sheet.write_string(first - BLOCK_HEAD - 1, 0, block.title, canvas.format(bold=True, font_size=12))
        sheet.write_string(first - BLOCK_HEAD, 0, block.help, canvas.format(font_color=FAINT))
        sheet.set_row(first - 2, 16)
        last = first + block.rows - 1
        content = _block_content(canvas, block.key)
        for place, column in enumerate(block.columns):
            _block_header(canvas, sheet, first - 1, place, column)
            more = {"border": 0} if column.runs_over else {}
            cell_format = column.cell_format or column.kind.cell_format
            form = canvas.cell_format(column.role, cell_format, **more)
            if column.role == "input":
                canvas.validation(sheet, (first, last), place, column, column.header)
            for offset in range(block.rows):
                value = content[offset][place] if offset < len(content) else None
                if column.role == "result":
                    canvas.formula(sheet, first + offset, place, str(value)[1:], form)
                else:
                    canvas.value(sheet, first + offset, place, value, form)
    sheet.freeze_panes(FIRST_ROW - 1, 1)
    sheet.print_area(0, 0, last - 1, LAST_COLUMN)
    sheet.fit_to_pages(1, 0)
    canvas.finish(sheet, SETTINGS)


def _sections(canvas: Canvas, sheet: Worksheet) -> None:
    """The titles over the single figures."""
    for title, row in canvas.places.section_rows.items():
        over = canvas.format(bold=True, font_size=12, top=2, valign="vcenter")
        for place in range(LAST_COLUMN + 1):
            sheet.write_string(row - 1, place, title if place == 0 else "", over)
        sheet.set_row(row - 1, 18)


def _block_header(canvas: Canvas, sheet: Worksheet, row: int, place: int, column: Column) -> None:
    """A header in its box; over a text that may run over, the box is as long as the text may be."""
    if not column.runs_over:
        sheet.write_string(row - 1, place, column.header, canvas.format(**HEAD))
        return
    marks = {mark: value for mark, value in HEAD.items() if mark not in {"border", "text_wrap"}}
    marks |= {"top": 1, "bottom": 1}
    sheet.write_string(row - 1, place, column.header, canvas.format(**marks, left=1))
    for beside in range(place + 1, LAST_COLUMN):
        sheet.write_blank(row - 1, beside, None, canvas.format(**marks))
    sheet.write_blank(row - 1, LAST_COLUMN, None, canvas.format(**marks, right=1))


def _setting(canvas: Canvas, sheet: Worksheet, setting: Setting) -> None:
    row = canvas.places.setting_rows[setting.name]
    if setting.leads_to:
        form = canvas.format(font_color=LINK, underline=1, valign="vcenter")
        table = canvas.places.block_rows[setting.leads_to]
        sheet.write_url(row - 1, 0, f"internal:'{SETTINGS}'!A{table}", form, setting.label)
    else:
        sheet.write_string(row - 1, 0, setting.label, canvas.format(bold=True, valign="vcenter"))
    role = "result" if setting.formula else "input"
    form = canvas.cell_format(role, "0" if setting.unit == "year" else setting.kind.cell_format)
    if setting.formula:
        canvas.formula(sheet, row, 1, setting.formula, form)
    else:
        value = canvas.inputs.settings.get(setting.name, setting.default)
        canvas.value(sheet, row, 1, value, form)
        canvas.validation(sheet, (row, row), 1, setting, setting.label)
    faint = {"font_color": FAINT, "valign": "vcenter"}
    unit = canvas.format(italic=True, align="left", indent=1, **faint)
    if setting.kind.unit == "money":
        canvas.formula(sheet, row, 2, 'IF(Currency="","money",Currency)', unit)
    else:
        # What a text or a date is needs no word.
        words = "" if setting.kind.holds in {"text", "date"} else setting.unit or setting.kind.unit
        sheet.write_string(row - 1, 2, words, unit)
    sheet.write_string(row - 1, 3, setting.help, canvas.format(**faint))


def _block_content(canvas: Canvas, key: str) -> list[tuple[Any, ...]]:
    block = canvas.layout.block(key)
    rows: list[tuple[Any, ...]] = list(block.content)
    if key in canvas.inputs.blocks:
        rows = [tuple(row.get(column.key) for column in block.columns) for row in canvas.inputs.blocks[key]]
    return [row + (None,) * (len(block.columns) - len(row)) for row in rows]
