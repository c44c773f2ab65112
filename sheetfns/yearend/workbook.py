"""The package's .xlsx: the same pages as its .csv files, made to be printed."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from xlsxwriter.format import Format
from xlsxwriter.utility import xl_rowcol_to_cell
from xlsxwriter.worksheet import Worksheet

from sheetfns.cell_types import DATE
from sheetfns.files.excel_limits import LimitedWorkbook
from sheetfns.log.sheets.words import CAUTION
from sheetfns.log.write.styles import CREATED, FAINT, HEAD, LETTER, LINE, LINE_HEIGHT, RESULT_FILL, Styles, write_value
from sheetfns.yearend.pages import ROWS_PAGE, Holds, Page

STAMP: Final = "DRAFT"
_NUMBERS: Final[dict[Holds, str]] = {
    "text": "@",
    "money": "#,##0.00",
    "whole": "#,##0",
    "date": DATE.cell_format,
    "number": "#,##0.##",
    "rate": "#,##0.00##",
}
_LANDSCAPE_FROM: Final = 105
"""Wider pages, in letters, lie on their side."""
_LETTERS_A_LINE: Final = 1.15
_HEADING_LETTERS: Final = 80


def write_package(path: Path, pages: Sequence[Page], heading: str, *, draft: bool) -> None:
    """Write pages into one workbook; with `draft` each is stamped."""
    options = {"strings_to_formulas": False, "strings_to_urls": False}
    with LimitedWorkbook(str(path), options) as book:
        book.set_properties({"title": heading, "created": CREATED})
        writer = _Writer(book, pages, heading, draft=draft)
        for page in pages:
            writer.page(page)


class _Writer:
    def __init__(self, book: LimitedWorkbook, pages: Sequence[Page], heading: str, *, draft: bool) -> None:
        self.book = book
        self.heading = heading
        self.draft = draft
        self.rows_page = next((page for page in pages if page.title == ROWS_PAGE), None)
        self.form = Styles(book).format

    def head_rows(self, page: Page) -> int:
        """How many rows stand over the first row of a page's table."""
        return len(page.says) + self.draft + bool(page.caution) + 3

    def page(self, page: Page) -> None:
        """One sheet."""
        sheet = self.book.add_worksheet(page.title)
        sheet.hide_gridlines(2)
        for place, column in enumerate(page.columns):
            sheet.set_column(place, place, column.width)
        row = self._above(sheet, page)
        for place, column in enumerate(page.columns):
            side = {"align": "left", "indent": 1} if column.holds == "text" else {"align": "right"}
            sheet.write_string(row, place, column.header, self.form(**HEAD, **side))
        first = row + 1
        for number, cells in enumerate(page.rows):
            self._row(sheet, page, number, first + number, cells)
        sheet.freeze_panes(first, 0)
        sheet.repeat_rows(row)
        sheet.print_area(0, 0, first + max(len(page.rows), 1) - 1, len(page.columns) - 1)
        self._print_setup(sheet, page)

    def _above(self, sheet: Worksheet, page: Page) -> int:
        """Title, stamp and sentences; the row of the headers."""
        width = sum(column.width for column in page.columns)
        last = len(page.columns) - 1
        sheet.write_string(0, 0, page.title, self.form(bold=True, font_size=16))
        sheet.set_row(0, 22)
        row = 1
        texts = [(self.heading, self.form(bold=True))]
        if self.draft:
            words = f"{STAMP}: not final, not for filing. See sheet Problems."
            texts.insert(0, (words, self.form(bold=True, font_size=14)))
        if page.caution:
            texts.append((page.caution, self.form(bold=True, text_wrap=True)))
        texts += [(text, self.form(text_wrap=True, font_color=FAINT)) for text in page.says]
        for text, form in texts:
            if last:
                sheet.merge_range(row, 0, row, last, "", form)
            sheet.write_string(row, 0, text, form)
            size = 18.5 if form.font_size > 12 else LINE_HEIGHT
            sheet.set_row(row, size * max(1, -(-len(text) // int(width * _LETTERS_A_LINE))))
            row += 1
        return row + 1

    def _row(self, sheet: Worksheet, page: Page, number: int, row: int, cells: Sequence[Any]) -> None:
        look = page.looks.get(number, "")
        alone = look == "" and sum(cell is not None for cell in cells) == 1
        words_alone = alone and isinstance(cells[0], str) and len(page.columns) > 1
        words_alone = words_alone and len(cells[0]) > page.columns[0].width
        if look == "heading" or words_alone:
            self._words(sheet, page, row, str(cells[0]), heading=look == "heading")
            return
        lines = 1
        for place, (column, cell) in enumerate(zip(page.columns, cells, strict=True)):
            marks: dict[str, Any] = {"num_format": _NUMBERS[column.holds], "border": 1, "border_color": LINE}
            if column.holds == "text":
                marks |= {"text_wrap": True, "align": "left", "indent": 1}
            if look == "total":
                marks |= {"bold": True, "bg_color": RESULT_FILL, "top": 1}
            form = self.form(**marks)
            if number in page.summed and column.header == "Sum of rows":
                self._sum_of_rows(sheet, (row, place), cell, form)
            else:
                write_value(sheet, row, place, cell, form)
            if isinstance(cell, str):
                lines = max(lines, -(-len(cell) // max(1, int(column.width * _LETTERS_A_LINE))))
        if lines > 1:
            sheet.set_row(row, LINE_HEIGHT * lines)

    def _words(self, sheet: Worksheet, page: Page, row: int, text: str, *, heading: bool) -> None:
        """Words over the whole width."""
        marks: dict[str, Any] = {"bold": True, "font_size": 11} if heading else {"font_color": FAINT}
        last = len(page.columns) - 1
        form = self.form(text_wrap=True, **marks)
        sheet.merge_range(row, 0, row, last, "", form)
        sheet.write_string(row, 0, text, form)
        width = sum(column.width for column in page.columns)
        lines = max(1, -(-len(text) // int(width * _LETTERS_A_LINE)))
        sheet.set_row(row, 18 if heading else LINE_HEIGHT * lines)

    def _sum_of_rows(self, sheet: Worksheet, place: tuple[int, int], value: Any, form: Format) -> None:
        """A line is the sum of the rows under its name on the other sheet."""
        if self.rows_page is None:
            write_value(sheet, *place, value, form)
            return
        rows = self.rows_page
        first = self.head_rows(rows) + 1
        last = first + len(rows.rows) - 1
        headers = [column.header for column in rows.columns]

        def span(header: str) -> str:
            column = headers.index(header)
            cells = [xl_rowcol_to_cell(r, column, True, True) for r in (first, last)]
            return f"'{rows.title}'!{':'.join(cells)}"

        name = xl_rowcol_to_cell(place[0], 0)
        formula = f"=SUMPRODUCT(({span('Line')}={name})*{span('Amount')})"
        sheet.write_formula(*place, formula, form, value)

    def _print_setup(self, sheet: Worksheet, page: Page) -> None:
        if sum(column.width for column in page.columns) > _LANDSCAPE_FROM:
            sheet.set_landscape()
        sheet.set_paper(LETTER)
        sheet.set_margins(0.4, 0.4, 0.8, 0.6)
        sheet.fit_to_pages(1, 0)
        # A header holds 255 letters; a longer one would be left out, and its stamp with it.
        heading = self.heading[:_HEADING_LETTERS].replace("&", "&&")
        stamp = f'&C&"Calibri,Bold"&20{STAMP}' if self.draft else ""
        sheet.set_header(f"&L&9{heading}{stamp}&R&9{page.title}")
        sheet.set_footer(f"&L&8{CAUTION}&R&8{page.title}, page &P of &N")
