"""Sheet Functions: the functions that this file holds as names."""

from __future__ import annotations

from typing import Final

from xlsxwriter.worksheet import Worksheet

from sheetfns.log.lambdas.bodies import NO_LAMBDA, specs_without_lambda
from sheetfns.log.lambdas.names import lambda_specs
from sheetfns.log.model.sheets import LIST_TITLE_ROW
from sheetfns.log.sheets.words import FUNCTIONS, HOME
from sheetfns.log.write.canvas import Canvas
from sheetfns.log.write.styles import HEAD, LINE, LINE_HEIGHT, RESULT_FILL
from sheetfns.pages.worked_examples import Example, examples
from sheetfns.registry import FunctionSpec

_HEADERS: Final = ("About", "What it answers", "How it is called", "For example", "It shows")
_WIDTHS: Final = (11.0, 44.0, 50.0, 44.0, 20.0)
_NOTES: Final = (
    "Enter a function in any cell, ideally on a sheet of your own: an equals sign, the name, and in parentheses "
    "numbers or the cells that hold them.",
    "The names work where a program has LAMBDA: spreadsheet programs of recent years on Windows, "
    "macOS and the web. Nothing has to be installed, and the log itself doesn't need them.",
    "Other programs, also on phones, show #NAME? in cells that use a name, and only there. If one saves the file, the "
    "names may be lost: 'sheetfns upgrade' restores them.",
    "Arguments in [ ] may be left out. Enter a rate as 10% or 0.1. An argument takes one "
    "cell, or a range where the example shows one; for a column, copy the formula down.",
    "#N/A: something needed is blank. #VALUE!: text instead of a number, or ranges that don't match. #NUM!: a number "
    "that can't be right, such as one below 0. #DIV/0!: division by 0.",
    "Where the example shows several results, they go into the cells to the right of the formula.",
)
_NOT_HERE: Final = "Not in this edition: these need Python, and are in the functions edition"
_LETTERS: Final = 1.1
"""How many letters of a text go into a column's unit of width, which is that of a digit."""


def write_functions(canvas: Canvas) -> None:
    """Sheet Functions: each name, what it answers, how it is called, and an example."""
    sheet = canvas.sheet(FUNCTIONS)
    canvas.heads(sheet, FUNCTIONS, "The functions that you can enter in the cells of this file.", ways=[(2, HOME)])
    for place, width in enumerate(_WIDTHS):
        sheet.set_column(place, place, width)
    for row, note in enumerate(_NOTES, LIST_TITLE_ROW):
        sheet.write_string(row - 1, 0, note, canvas.format())
    header_row = LIST_TITLE_ROW + len(_NOTES) + 1
    for place, header in enumerate(_HEADERS):
        sheet.write_string(header_row - 1, place, header, canvas.format(**HEAD))
    row = header_row
    for spec in lambda_specs():
        row += 1
        _function(canvas, sheet, row, spec)
    row += 2
    sheet.write_string(row - 1, 0, _NOT_HERE, canvas.format(bold=True, font_size=12))
    text = _text(canvas)
    for spec in specs_without_lambda():
        row += 1
        cells = (spec.category, spec.help, spec.name, NO_LAMBDA[spec.name])
        for place, cell in enumerate(cells):
            sheet.write_string(row - 1, place, cell, text)
        sheet.write_blank(row - 1, len(cells), None, text)
        _set_height(sheet, row, cells)
    sheet.freeze_panes(header_row, 1)
    sheet.print_area(0, 0, row - 1, len(_WIDTHS) - 1)
    sheet.repeat_rows(header_row - 1)
    sheet.fit_to_pages(1, 0)
    canvas.finish(sheet, FUNCTIONS)


def _function(canvas: Canvas, sheet: Worksheet, row: int, spec: FunctionSpec) -> None:
    example = examples(spec)[0]
    shown = example.calls[0]
    cells = (spec.category, spec.help, spec.usage(), _example(shown.formula, example))
    for place, cell in enumerate(cells):
        canvas.value(sheet, row, place, cell, _text(canvas))
    result = _text(canvas, align="right", bold=True, bg_color=RESULT_FILL)
    answer = "\n".join(cell.strip("`") for cell in shown.rows[0])
    sheet.write_string(row - 1, len(cells), answer, result)
    _set_height(sheet, row, (*cells, answer))


def _text(canvas: Canvas, **more: str | bool) -> object:
    return canvas.format(text_wrap=True, border=1, border_color=LINE, **more)


def _example(formula: str, example: Example) -> str:
    lines = [f"{cells}: {', '.join(cell.strip('`') for cell in typed)}" for cells, typed in example.typed]
    return "\n".join([formula, *lines])


def _set_height(sheet: Worksheet, row: int, cells: tuple[str, ...]) -> None:
    lines = 1
    for cell, width in zip(cells, _WIDTHS, strict=False):
        parts = cell.split("\n")
        room = int(width * _LETTERS)
        lines = max(lines, sum(max(1, -(-len(part) // room)) for part in parts))
    sheet.set_row(row - 1, LINE_HEIGHT * lines + 2)
