"""Sheet Year end."""

from __future__ import annotations

from sheetfns.log.layout.words import CAUTION, YEAR_END
from sheetfns.log.places import YEAR_COLUMNS
from sheetfns.log.sheets import FIRST_ROW, GROUP_ROW, HEADER_ROW, TITLE_ROW
from sheetfns.log.write.canvas import FAINT, HEAD, Canvas


def write_year(canvas: Canvas) -> None:
    """Sheet Year end: the figures of one tax year, one below the other."""
    sheet = canvas.sheet(YEAR_END)
    canvas.heads(sheet, YEAR_END, CAUTION)
    title = canvas.format(bold=True, font_size=12)
    canvas.formula(
        sheet, GROUP_ROW, 0, '"Figures of the tax year "&Tax_year&" in "&Currency', title
    )
    sheet.set_column(0, 0, 54)
    sheet.set_column(1, 4, 13)
    sheet.set_column(5, 5, 62)
    head = canvas.format(**HEAD)
    headers = ("Line", "Line no.", "From the log", "From Expenses", "Amount", "Note")
    for place, header in enumerate(headers):
        sheet.write_string(HEADER_ROW - 1, place, header, head)
    last = FIRST_ROW
    for line in canvas.plan.year_end:
        last = row = canvas.places.year_rows[line.key]
        if line.heading:
            sheet.write_string(row - 1, 0, line.label, title)
            continue
        edge = {"top": 1} if line.strong else {}
        words = canvas.format(bold=line.strong, **edge)
        for place, text in (
            (YEAR_COLUMNS["label"], line.label),
            (YEAR_COLUMNS["reference"], line.reference),
        ):
            if text.startswith("="):
                canvas.formula(sheet, row, place, text[1:], words)
            else:
                sheet.write_string(row - 1, place, text, words)
        for place in (YEAR_COLUMNS["from_log"], YEAR_COLUMNS["entered"]):
            sheet.write_blank(row - 1, place, None, words)
        role = "result" if line.reference else "working"
        for part in ("from_log", "entered"):
            formula = getattr(line, part)
            if formula is not None:
                form = canvas.cell_format("working", "#,##0.00")
                text = canvas.places.year_formula(formula.formula(canvas.edition))
                canvas.formula(sheet, row, YEAR_COLUMNS[part], text, form)
        if line.formula is not None:
            form = canvas.cell_format(role, "#,##0.00")
            text = canvas.places.year_formula(line.formula.formula(canvas.edition))
            canvas.formula(sheet, row, YEAR_COLUMNS["amount"], text, form)
        sheet.write_string(
            row - 1,
            YEAR_COLUMNS["note"],
            line.note,
            canvas.format(font_color=FAINT, align="left", indent=1),
        )
    sheet.freeze_panes(FIRST_ROW - 1, 1)
    sheet.print_area(0, 0, last - 1, len(headers) - 1)
    sheet.repeat_rows(TITLE_ROW - 1, HEADER_ROW - 1)
    sheet.fit_to_pages(1, 0)
    canvas.finish(sheet, YEAR_END)
