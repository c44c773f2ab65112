"""Sheets with rows."""

from __future__ import annotations

from typing import Any, Final

from xlsxwriter.worksheet import Worksheet

from sheetfns.cell_types import MONEY, RATIO, TEXT
from sheetfns.files.cell_names import column_letters
from sheetfns.log.model.sheets import (
    FIRST_ROW,
    GROUP_ROW,
    HEADER_ROW,
    LEFT_EDGE,
    NUMBER_ROW,
    RIGHT_EDGE,
    TITLE_ROW,
    UNIT_ROW,
    Column,
    TableSheet,
)
from sheetfns.log.sheets.home.ways import head_of_rows
from sheetfns.log.sheets.links import link_to_row
from sheetfns.log.sheets.words import BACK, IN_STOCK, LISTED, ROW_ONE
from sheetfns.log.write.canvas import Canvas
from sheetfns.log.write.printing import (
    FOOTER,
    by_hand_cell,
    last_printed_row,
    last_row_cells,
    pages_across,
    parts_of,
    print_range,
    repeated_columns,
    scale_of,
    words_on_rows,
)
from sheetfns.log.write.styles import FAINT, GONE_TINT, HEAD, LINE, LINK, LISTED_TINT, LOUD_HEIGHT

FIND: Final = "find item"
FIND_PROMPT: Final = "Type an item number or a word of its description; a click on the cell to the right goes there."
BY_HAND_PROMPT: Final = "If you set this sheet's print range by hand, enter its last row here; else leave it blank."
_ERRORS_WIDTH: Final = 44
"""In letters; of the words that count errors."""
CLOSING_WORDS: Final = "End of the list. Insert new rows above this line, and copy a whole row into them."


def write_table(canvas: Canvas, table: TableSheet) -> None:
    """A sheet with rows: entries of the seller, or months."""
    sheet = canvas.sheet(table.name)
    ways, purpose_place = head_of_rows(table, canvas.others(table.name))
    canvas.heads(sheet, table.name, table.purpose, (TITLE_ROW, purpose_place), check_row=NUMBER_ROW, ways=ways)
    _answer(canvas, sheet, table)
    inputs = canvas.inputs.rows.get(table.key, [])
    group = ""
    sheet.set_row(HEADER_ROW - 1, 32)
    sheet.set_row(HEADER_ROW - 2, 6)
    for place, column in enumerate(table.columns):
        head = canvas.format(**HEAD)
        first = column.group if column.group != group else ""
        group = column.group
        over = canvas.format(bold=True, top=2, valign="vcenter")
        # A blank cell, and not an empty text: a text beside it may run over a blank one alone.
        canvas.value(sheet, GROUP_ROW, place, first, over)
        sheet.write_string(HEADER_ROW - 1, place, column.header, head)
        canvas.unit(sheet, UNIT_ROW, place, column)
        sheet.set_column(place, place, column.width, None, _folding(table, place))
        if column.role == "input":
            canvas.validation(sheet, (FIRST_ROW, table.last_row), place, column, column.header)
            if table.holds_entries:
                first_letter, letter = map(column_letters, (table.edges_around(column.key)[0], place))
                # Only formulas need it; a seller would wonder what it counts.
                number = canvas.format(num_format=";;;")
                canvas.formula(sheet, NUMBER_ROW, place, f"COLUMNS(${first_letter}$1:{letter}$1)", number)
    for column in table.columns:
        _column(canvas, sheet, table, column, inputs)
    if table.holds_entries:
        # So that Excel shows the sign that unfolds the calculation steps before it.
        behind = len(table.columns)
        sheet.set_column(behind, behind, None, None, {"collapsed": True})
    _losses(canvas, sheet, table)
    if table.tinted_by:
        _tints(canvas, sheet, table)
    if table.found_by:
        _find(canvas, sheet, table, *table.found_by)
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
        sheet.autofilter(HEADER_ROW - 1, 0, table.last_row - 1, len(table.columns) - 1)
    sheet.freeze_panes(FIRST_ROW - 1, table.frozen_columns)
    _print_setup(canvas, sheet, table)
    if table.holds_entries:
        _close_list(canvas, sheet, table)
    canvas.finish(sheet, table.name, landscape=table.landscape, protected=not table.holds_entries)


def _answer(canvas: Canvas, sheet: Worksheet, table: TableSheet) -> None:
    """What the sheet is there to say, behind the count of errors."""
    if table.answer:
        sheet.set_row(NUMBER_ROW - 1, LOUD_HEIGHT)
        loud = canvas.format(bold=True, font_size=14, valign="vcenter")
        canvas.formula(sheet, NUMBER_ROW, _behind_errors(table), table.answer, loud)


def _behind_errors(table: TableSheet) -> int:
    """The column, from 0, behind the count of errors in the sheet's head."""
    place = 0
    while sum(column.width for column in table.columns[:place]) < _ERRORS_WIDTH:
        place += 1
    return place


def _folding(table: TableSheet, place: int) -> dict[str, Any]:
    """How a column folds: workings are folded at the right end; of a section its first column stays in sight.

    On a protected sheet nobody could unfold them, so that they stay in sight there.
    """
    column, before = table.columns[place], table.columns[place - 1] if place else None
    if not table.holds_entries:
        return {}
    if column.role == "working" and not column.edge:
        return {"level": 1, "hidden": True}
    folds = table.folds and column.role == "input" and before is not None and before.group == column.group
    return {"level": 1} if folds and place >= table.frozen_columns else {}


def _losses(canvas: Canvas, sheet: Worksheet, table: TableSheet) -> None:
    """Results below 0 in the color of losses; their minus says it too."""
    for place, column in enumerate(table.columns):
        if column.role == "result" and column.kind in (MONEY, RATIO):
            rule = {"type": "cell", "criteria": "<", "value": 0, "format": canvas.alarm}
            sheet.conditional_format(FIRST_ROW - 1, place, table.last_row - 1, place, rule)


def _tints(canvas: Canvas, sheet: Worksheet, table: TableSheet) -> None:
    """Rows of listed items, and of those that are gone; a column says it too."""
    status = f"${_letter(canvas, table, table.tinted_by)}{FIRST_ROW}"
    last = table.position(RIGHT_EDGE)
    here = f'{status}="{IN_STOCK}",{status}="{BACK}",{status}="{LISTED}",{status}=""'
    for criteria, color in ((f'={status}="{LISTED}"', LISTED_TINT), (f"=NOT(OR({here}))", GONE_TINT)):
        rule = {"type": "formula", "criteria": criteria, "format": canvas.book.add_format({"bg_color": color})}
        sheet.conditional_format(FIRST_ROW - 1, table.position(LEFT_EDGE), table.last_row - 1, last, rule)


def _find(canvas: Canvas, sheet: Worksheet, table: TableSheet, number: str, words: str) -> None:
    """A cell for a number or a word behind the title, and behind it the way to the first row that has it."""
    place = 1
    asked = f"${column_letters(place)}${TITLE_ROW}"
    numbers, texts = map(table.defined_name, (number, words))
    letter, first = _letter(canvas, table, number), f"${_letter(canvas, table, words)}${FIRST_ROW}"
    pattern, rows = f'"*"&{asked}&"*"', f"{first}:${_letter(canvas, table, words)}${table.names_to}"
    by_number = f'IFERROR(MATCH({asked},{numbers},0),MATCH({asked}&"",{numbers},0))'
    # The names cover the headers, in which a word may stand too; a row inserted first is within the names alone.
    named, below = f"MATCH({pattern},{texts},0)", f"MATCH({pattern},{rows},0)+ROW({first})-{ROW_ONE + 1}"
    by_word = f"IF({named}>1,{named},{below})"
    row = f"(IFERROR({by_number},{by_word})+{ROW_ONE})"
    canvas.value(sheet, TITLE_ROW, place, None, canvas.cell_format("input", "General", align="left"))
    prompt = {"validate": "any", "input_title": "Find", "input_message": FIND_PROMPT}
    sheet.data_validation(TITLE_ROW - 1, place, TITLE_ROW - 1, place, prompt)
    link = canvas.format(font_color=LINK, underline=1, valign="vcenter", align="left")
    go = link_to_row(table.name, letter, row, f'"row "&{row}')
    canvas.formula(sheet, TITLE_ROW, place + 1, f'IF({asked}="","{FIND}",IFERROR({go},"not found"))', link)


def _close_list(canvas: Canvas, sheet: Worksheet, table: TableSheet) -> None:
    """The row below the last ready one, and what is said where somebody types over a formula."""
    place = table.position(LEFT_EDGE)
    form = canvas.format(italic=True, font_color=FAINT, top=2, valign="vcenter")
    for column in range(len(table.columns)):
        sheet.write_blank(table.last_row, column, None, form)
    sheet.write_string(table.last_row, place, CLOSING_WORDS, form)
    for first, last in _worked_out(table):
        canvas.refuse_typing(sheet, (FIRST_ROW, table.last_row), (first, last))


def _worked_out(table: TableSheet) -> list[tuple[int, int]]:
    """The first and last place of each run of columns that hold formulas."""
    typed = [place for place, column in enumerate(table.columns) if column.role == "input"]
    ends = zip((-1, *typed), (*typed, len(table.columns)), strict=True)
    return [(before + 1, behind - 1) for before, behind in ends if behind - before > 1]


def _letter(canvas: Canvas, table: TableSheet, key: str) -> str:
    return canvas.places.names[table.defined_name(key)].split("$")[1]


def _print_setup(canvas: Canvas, sheet: Worksheet, table: TableSheet) -> None:
    """Print as many rows as are filled in, to the end of the page; the head says so where more are filled later."""
    sheet.repeat_rows(TITLE_ROW - 1, HEADER_ROW - 1)
    if table.name in canvas.on_screen:
        sheet.repeat_columns(0, table.frozen_columns - 1)
        sheet.fit_to_pages(pages_across(table), 0)
        return
    # A sheet that does not count its entries can't tell which rows don't print: it prints them all.
    counts = not table.holds_entries or any(column.key == "entered" for column in table.columns)
    last_row = last_printed_row(table, _last_filled(canvas, table) if counts else table.last_row)
    sheet.print_area_range = print_range(table, table.name, last_row)
    repeats = repeated_columns(table)
    if repeats:
        sheet.repeat_columns(*repeats)
        # A program that fits the width does so for each part by itself, and then fewer rows fit the page.
        sheet.set_print_scale(int(100 * scale_of(table)))
    else:
        sheet.fit_to_pages(1, 0)
    if parts_of(table)[0][0]:
        sheet.set_header(f'&L&"Calibri,Bold"&12{table.name}', {"margin": FOOTER})
    if not counts or (last_row == table.last_row and not table.holds_entries):
        return
    unseen = {"num_format": ";;;"}
    for one in last_row_cells(table, last_row):
        canvas.formula(sheet, one.row, one.column, one.formula, canvas.format(**unseen))
    if table.holds_entries:
        small = canvas.format(italic=True, font_size=8, font_color=FAINT, valign="vcenter")
        canvas.formula(sheet, UNIT_ROW, 0, words_on_rows(table), small)
        loud = {"type": "text", "criteria": "begins with", "value": "Rows after", "format": canvas.alarm}
        sheet.conditional_format(UNIT_ROW - 1, 0, UNIT_ROW - 1, 0, loud)
    else:
        _, purpose_place = head_of_rows(table, canvas.others(table.name))
        faint = canvas.format(font_color=FAINT, valign="vcenter")
        canvas.formula(sheet, TITLE_ROW, purpose_place, words_on_rows(table), faint)
    by_hand = by_hand_cell(table)
    if by_hand:
        row, place = by_hand
        canvas.value(sheet, row, place, None, canvas.format(**unseen, locked=False))
        prompt = {"input_title": "Print range", "input_message": BY_HAND_PROMPT}
        rule = {"validate": "integer", "criteria": ">=", "value": FIRST_ROW, "ignore_blank": True}
        sheet.data_validation(row - 1, place, row - 1, place, rule | prompt)


def _last_filled(canvas: Canvas, table: TableSheet) -> int:
    """The last row with an entry, or with a result in its first column; one before the first if there is none."""
    if table.holds_entries:
        return FIRST_ROW - 1 + len(canvas.inputs.rows.get(table.key, []))
    if canvas.values is None:
        return FIRST_ROW - 1
    rows = range(FIRST_ROW, table.last_row + 1)
    return max(
        (row for row in rows if canvas.values.value(table.name, row, 1) not in (None, "")), default=FIRST_ROW - 1
    )


def _column(canvas: Canvas, sheet: Worksheet, table: TableSheet, column: Column, inputs: list[dict[str, Any]]) -> None:
    place = table.position(column.key)
    form = canvas.cell_format(column.role, column.cell_format or column.kind.cell_format)
    if column.link:
        form = canvas.cell_format(column.role, TEXT.cell_format, font_color=LINK, underline=1)
    if column.edge:
        form = canvas.format(align="center", font_color=FAINT, border=1, border_color=LINE)
    if column.formula is None:
        for row in range(FIRST_ROW, table.last_row + 1):
            filled = row - FIRST_ROW < len(inputs)
            value = inputs[row - FIRST_ROW].get(column.key) if filled else None
            canvas.value(sheet, row, place, value, form)
        return
    template = canvas.places.template(table, column.formula.formula(canvas.edition), column.key)
    for row in range(FIRST_ROW, table.last_row + 1):
        canvas.formula(sheet, row, place, template.format(row=row, before=row - 1), form)
