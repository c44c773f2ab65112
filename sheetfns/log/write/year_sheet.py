"""Sheet Year end."""

from __future__ import annotations

from xlsxwriter.worksheet import Worksheet

from sheetfns.log.layout.words import CAUTION, YEAR_END
from sheetfns.log.places import YEAR_COLUMNS
from sheetfns.log.sheets import FIRST_ROW, GROUP_ROW, HEADER_ROW, TITLE_ROW, FigureLine
from sheetfns.log.write.canvas import FAINT, HEAD, Canvas


def write_year(canvas: Canvas) -> None:
    """Sheet Year end: the figures of one tax year, one below the other."""
    sheet = canvas.sheet(YEAR_END)
    canvas.heads(sheet, YEAR_END, CAUTION)
    title = canvas.format(bold=True, font_size=12)
    canvas.formula(
        sheet,
        GROUP_ROW,
        0,
        '"Figures of the tax year "&Tax_year&IF(Currency="",""," in "&Currency)'
        '&IF(Shop_name="","",", "&Shop_name)',
        title,
    )
    sheet.set_column(0, 0, 54)
    sheet.set_column(1, 4, 13)
    sheet.set_column(5, 5, 62)
    head = canvas.format(**HEAD)
    headers = ("Line", "Line no.", "From the log", "From Expenses", "Amount", "Note")
    for place, header in enumerate(headers):
        sheet.write_string(HEADER_ROW - 1, place, header, head)
    for line in canvas.plan.year_end:
        if line.heading:
            sheet.write_string(canvas.places.year_rows[line.key] - 1, 0, line.label, title)
        else:
            _line(canvas, sheet, line)
    last = max(canvas.places.year_rows.values())
    sheet.freeze_panes(FIRST_ROW - 1, 1)
    sheet.print_area(0, 0, last - 1, len(headers) - 1)
    sheet.repeat_rows(TITLE_ROW - 1, HEADER_ROW - 1)
    sheet.fit_to_pages(1, 0)
    canvas.finish(sheet, YEAR_END)


def _line(canvas: Canvas, sheet: Worksheet, line: FigureLine) -> None:
    row = canvas.places.year_rows[line.key]
    words = canvas.format(bold=line.strong, top=1 if line.strong else 0)
    for part, text in (("label", line.label), ("reference", line.reference)):
        if text.startswith("="):
            canvas.formula(sheet, row, YEAR_COLUMNS[part], text[1:], words)
        else:
            sheet.write_string(row - 1, YEAR_COLUMNS[part], text, words)
    role = "result" if line.reference else "working"
    for part, formula, of_part in (
        ("from_log", line.from_log, "working"),
        ("entered", line.entered, "working"),
        ("amount", line.formula, role),
    ):
        if formula is None:
            sheet.write_blank(row - 1, YEAR_COLUMNS[part], None, words)
        else:
            form = canvas.cell_format(of_part, "#,##0.00")
            text = canvas.places.year_formula(formula.formula(canvas.edition))
            canvas.formula(sheet, row, YEAR_COLUMNS[part], text, form)
    faint = canvas.format(font_color=FAINT, align="left", indent=1)
    sheet.write_string(row - 1, YEAR_COLUMNS["note"], line.note, faint)
