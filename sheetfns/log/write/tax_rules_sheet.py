"""Sheet Tax rules: the sets of rules, and the lines of each by year."""

from __future__ import annotations

from typing import Final

from xlsxwriter.worksheet import Worksheet

from sheetfns.cell_types import DATE
from sheetfns.files.cell_names import column_letters
from sheetfns.log.model.sheets import FIRST_ROW, LIST_HEADER_ROW, LIST_TITLE_ROW
from sheetfns.log.sheets.home.ways import ways_beside_title
from sheetfns.log.sheets.tax_rules.layout import (
    EXPENSE_LINE_COLUMNS,
    EXPENSE_LINES,
    LINE_COLUMNS,
    LINES_ROW,
    TaxLine,
    tax_lines,
)
from sheetfns.log.sheets.words import TAX_RULES
from sheetfns.log.sheets.year_end.lines import FIGURE_KEYS, figure_label
from sheetfns.log.write.canvas import Canvas
from sheetfns.log.write.styles import HEAD, LINE, LINE_HEIGHT
from sheetfns.tables import table_rows

_FLAGS: Final = ("miles_count", "home_office_counts", "self_employment_counts", "lines_needed")
_WIDTHS: Final = (21, 36, 13, 13, 13, 12, 34, 48, 50, 9, 9, 13, 33)
NO_SOURCE: Final = "common practice, no source"
STATUS_WORDS: Final = {
    "read": "read in a copy",
    "second hand": "in a copy that cites it",
    "memory": "from memory, not checked",
}


def source_words(source: str, status: str) -> str:
    """A source, and how well it is known."""
    return source if source == NO_SOURCE else f"{source} ({STATUS_WORDS[status]})"


def write_tax_rules(canvas: Canvas) -> None:
    """Sheet Tax rules: nothing is typed here; Settings says which rules hold."""
    sheet = canvas.sheet(TAX_RULES)
    canvas.heads(
        sheet,
        TAX_RULES,
        "Which lines sheet Year end shows under which rules, and for which tax years.",
        ways=ways_beside_title(canvas.others(TAX_RULES), _WIDTHS),
    )
    for place, width in enumerate(_WIDTHS):
        sheet.set_column(place, place, width)
    title = canvas.format(bold=True, font_size=12)
    sheet.write_string(LIST_TITLE_ROW - 1, 0, "Sets of rules (choose one on Settings)", title)
    _heads(
        canvas,
        sheet,
        LIST_HEADER_ROW,
        ("Rules", "Miles count", "Home office", "Self-empl. tax", "Tax lines", "What they are"),
    )
    text = canvas.format(border=1, border_color=LINE)
    for row, rules in enumerate(table_rows("tax_rules"), FIRST_ROW):
        source = source_words(rules["source"], rules["status"])
        cells = (rules["rules"], *(rules[flag] for flag in _FLAGS))
        for place, cell in enumerate(cells):
            sheet.write_string(row - 1, place, cell, text)
        words = f"{rules['what_it_is']}. {source[0].upper()}{source[1:]}."
        sheet.write_string(row - 1, len(cells), words, canvas.format())
    first = LINES_ROW
    sheet.write_string(first - 3, 0, "Lines of each, in reading order", title)
    headers = ("Rules", "Line", "Line no.", "From", "Until", "Part", "Figure on Year end", "Note")
    _heads(canvas, sheet, first - 1, (*headers, "Source", "Figure no.", "Shown as", "From sheet"))
    place = EXPENSE_LINE_COLUMNS["name"]
    sheet.write_string(first - 2, place, "Lines of expenses", canvas.format(**HEAD))
    for row, (_, label) in enumerate(EXPENSE_LINES, first):
        sheet.write_string(row - 1, place, label, text)
    for row, line in enumerate(tax_lines(), first):
        _line(canvas, sheet, row, line)
    last = first + len(tax_lines()) - 1
    sheet.freeze_panes(FIRST_ROW - 1, 0)
    sheet.print_area(0, 0, last - 1, LINE_COLUMNS["source"])
    # On one page across it would be too small to read.
    sheet.fit_to_pages(2, 0)
    canvas.finish(sheet, TAX_RULES)


def _heads(canvas: Canvas, sheet: Worksheet, row: int, headers: tuple[str, ...]) -> None:
    for place, header in enumerate(headers):
        sheet.write_string(row - 1, place, header, canvas.format(**HEAD))


def _line(canvas: Canvas, sheet: Worksheet, row: int, line: TaxLine) -> None:
    columns = LINE_COLUMNS
    text = canvas.format(border=1, border_color=LINE, text_wrap=True)
    day = canvas.format(border=1, border_color=LINE, num_format=DATE.cell_format, align="center")
    for key, cell in (
        ("rules", line.rules),
        ("line", line.line),
        ("part", line.part),
        ("figure", figure_label(line.figure) if line.figure else ""),
        ("note", line.note),
        ("sheet", line.sheet),
        ("source", source_words(line.source, line.status)),
    ):
        sheet.write_string(row - 1, columns[key], cell, text)
    sheet.write_datetime(row - 1, columns["from"], line.valid_from, day)
    sheet.write_datetime(row - 1, columns["until"], line.valid_until, day)
    if line.label:
        sheet.write_string(row - 1, columns["label"], line.label, text)
    else:
        name = f"INDEX(Heading_heading,{line.figure.removeprefix('heading_')})"
        canvas.formula(sheet, row, columns["label"], f'IF({name}="","",{name})', text)
    if line.figure:
        sheet.write_number(row - 1, columns["place"], FIGURE_KEYS.index(line.figure) + 1, text)
    else:
        sheet.write_blank(row - 1, columns["place"], None, text)
    letters = {key: column_letters(place) for key, place in columns.items()}
    above = f"${letters['number']}${LINES_ROW - 1}:${letters['number']}{row - 1}"
    holds = (
        f"AND(${letters['rules']}{row}=Year_rules,${letters['from']}{row}<=Year_end,"
        f'${letters["until"]}{row}>=Year_end,${letters["label"]}{row}<>"")'
    )
    working = canvas.cell_format("working", "0", valign="top")
    canvas.formula(sheet, row, columns["number"], f'IF({holds},COUNT({above})+1,"")', working)
    lines = max(-(-len(line.note) // 46), 1)
    sheet.set_row(row - 1, LINE_HEIGHT * lines + 2)
