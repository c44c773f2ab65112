"""Every fixed text of a log fits its cell, and the blank cells beside it that it may run over.

Widths are those of Calibri at 96 dots an inch, from the table that XlsxWriter has of them. How much
wider bold letters are, how wide an indent and the margins of a cell are: from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import openpyxl
import pytest
from openpyxl.cell.cell import Cell
from openpyxl.styles import Alignment, Border, Side
from openpyxl.utils import range_boundaries
from openpyxl.worksheet.worksheet import Worksheet
from xlsxwriter.utility import xl_pixel_width

from sheetfns.functions.cautions import resale_caution
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.sheets import FIRST_ROW, Edition
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import NO_ENTRY
from sheetfns.log.write.styles import LINE_HEIGHT
from sheetfns.tables import table_rows
from tests.log.filled_logs import FEW_ROWS, small_log

EDITIONS: tuple[Edition, ...] = ("plain", "functions", "lambda")
BOLD, INDENT, MARGINS = 1.05, 9, 5
PIXELS_A_UNIT, USUAL_WIDTH = 7, 9.14
LINE = 12.0
"""Points that a line of 10 point letters takes, the least; of others in proportion."""


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> dict[str, openpyxl.Workbook]:
    folder = tmp_path_factory.mktemp("texts")
    return {edition: openpyxl.load_workbook(small_log(folder / f"{edition}.xlsx", edition)) for edition in EDITIONS}


def text_width(text: str, cell: Cell) -> float:
    """In pixels; the table is of letters of 11 points."""
    wide = BOLD if cell.font.b else 1.0
    return max(xl_pixel_width(line) for line in text.split("\n")) * cell.font.sz / 11 * wide


class Rooms:
    """How much room the texts of a sheet have."""

    def __init__(self, sheet: Worksheet) -> None:
        self.sheet = sheet
        # A column may stand for those after it, too.
        self.widths: dict[int, float] = {}
        for found in sheet.column_dimensions.values():
            for column in range(found.min or 1, (found.max or 1) + 1):
                self.widths[column] = round(PIXELS_A_UNIT * found.width)
        self.merged = {(one.min_row, one.min_col): one for one in sheet.merged_cells.ranges}
        self.printed = range_boundaries(sheet.print_area.rpartition("!")[2])

    def width(self, column: int) -> float:
        return self.widths.get(column, round(PIXELS_A_UNIT * USUAL_WIDTH))

    def of(self, cell: Cell) -> float:
        block = self.merged.get((cell.row, cell.column))
        last = block.max_col if block else cell.column
        room = sum(self.width(column) for column in range(cell.column, last + 1))
        side = cell.alignment.horizontal or "left"
        if side == "left" and not cell.alignment.wrap_text:
            for beside in self._blank_beside(cell, last):
                room += self.width(beside)
        return room - MARGINS - INDENT * int(cell.alignment.indent or 0)

    def _blank_beside(self, cell: Cell, last: int) -> Iterator[int]:
        """The columns to the right that are blank, up to a line between cells and in print."""
        first_column, first_row, last_column, last_row = self.printed
        printed = first_row <= cell.row <= last_row and first_column <= last <= last_column
        end = last_column if printed else last + 40
        for column in range(last + 1, end + 1):
            before, here = (self.sheet.cell(cell.row, place) for place in (column - 1, column))
            if here.value is not None or before.border.right.style or here.border.left.style:
                return
            yield column


def wrapped_lines(text: str, cell: Cell, room: float) -> int:
    """In how many lines a text stands, broken after blanks and hyphens; 99: a word is too wide."""
    count = 0
    for part in text.split("\n"):
        count, line = count + 1, ""
        for word in re.findall(r"[^ -]*[ -]|[^ -]+$", part):
            if text_width(word.rstrip(), cell) > room:
                return 99
            if text_width((line + word).rstrip(), cell) > room:
                count, line = count + 1, word
            else:
                line += word
    return count


def misfit(rooms: Rooms, cell: Cell, text: str) -> str:
    """What is wrong with a text in a cell; nothing if it fits."""
    room = rooms.of(cell)
    if not cell.alignment.wrap_text:
        wide = text_width(text, cell)
        return f"{wide:.0f} in {room:.0f} pixels" if wide > room else ""
    lines = wrapped_lines(text, cell, room)
    height = rooms.sheet.row_dimensions[cell.row].height
    if lines == 99:
        return f"a word does not fit {room:.0f} pixels"
    # A row without a height of its own is made as high as its texts.
    wanted = lines * LINE * cell.font.sz / 10
    return f"{lines} lines in {height} points" if height and wanted > height + 0.5 else ""


def fixed_texts(sheet: Worksheet) -> Iterator[tuple[Cell, str]]:
    """Headers, labels and words: no formula, and nothing in a cell that the seller may fill in."""
    for row in sheet.iter_rows():
        for cell in row:
            text = cell.value
            if isinstance(text, str) and not text.startswith("=") and cell.protection.locked:
                yield cell, text


@pytest.mark.parametrize("edition", EDITIONS)
def test_every_header_and_fixed_text_fits(books: dict[str, openpyxl.Workbook], edition: Edition) -> None:
    wrong, count = [], 0
    for sheet in books[edition]:
        rooms = Rooms(sheet)
        for cell, text in fixed_texts(sheet):
            count += 1
            if fault := misfit(rooms, cell, text):
                wrong.append(f"{sheet.title}!{cell.coordinate}: {fault}: {text[:60]}")
    assert count > 1500
    assert not wrong, "\n".join(wrong)


def briefs() -> list[str]:
    return [NO_ENTRY, *(row["brief"] for row in table_rows("cautions"))]


def wholes() -> list[str]:
    return [resale_caution(row["category"]) for row in table_rows("cautions")]


LONGEST_REASON = "no price is low enough: 1,234.56 is left after fee, postage and packaging"


def test_the_caution_of_a_item_fits_its_column(books: dict[str, openpyxl.Workbook]) -> None:
    table = log_layout(FEW_ROWS).table("Log")
    sheet = books["plain"][table.name]
    cell = sheet.cell(FIRST_ROW, table.position("caution") + 1)
    for brief in briefs():
        assert not misfit(Rooms(sheet), cell, brief), brief


@pytest.mark.parametrize(
    ("form_key", "key", "told", "spare"),
    [
        ("Shelf", "reason", [LONGEST_REASON], 0),
        ("Shelf", "check_first", [f"Check: {brief}" for brief in briefs()], 0),
        ("Shelf", "caution", wholes(), 1),
        ("Desk", "caution", wholes(), 1),
    ],
)
def test_words_of_a_form_fit_and_leave_little_room(
    books: dict[str, openpyxl.Workbook], form_key: str, key: str, told: list[str], spare: int
) -> None:
    """A row is as high as its longest text needs, and `spare` lines for wider letters."""
    layout = log_layout(FEW_ROWS)
    form = layout.form(form_key)
    sheet = books["plain"][form.name]
    row, place = AddressMap(layout).form_cells[form_key][key]
    cell, rooms = sheet.cell(row, place + 1), Rooms(sheet)
    faults = [fault for text in told if (fault := misfit(rooms, cell, text))]
    assert not faults
    longest = max(wrapped_lines(text, cell, rooms.of(cell)) for text in told)
    assert (sheet.row_dimensions[row].height or 15) <= max(15, LINE_HEIGHT * (longest + spare))


@pytest.mark.parametrize("edition", EDITIONS)
def test_no_text_touches_a_thick_line_above_it(books: dict[str, openpyxl.Workbook], edition: Edition) -> None:
    """It stands in the middle of its row, not at the top."""
    count, wrong = 0, []
    for sheet in books[edition]:
        for row in sheet.iter_rows():
            for cell in row:
                above = sheet.cell(max(1, cell.row - 1), cell.column)
                thick = "medium" in (cell.border.top.style, above.border.bottom.style)
                if thick and cell.row > 1:
                    count += 1
                    if cell.alignment.vertical != "center":
                        wrong.append(f"{sheet.title}!{cell.coordinate}")
    assert count > 500
    assert not wrong


@pytest.mark.parametrize("edition", EDITIONS)
def test_two_headers_side_by_side_do_not_read_as_one(books: dict[str, openpyxl.Workbook], edition: Edition) -> None:
    """One at the right of its cell, the next at the left of its own: an indent or a line parts them."""
    count, wrong = 0, []
    for sheet in books[edition]:
        for cell, _ in fixed_texts(sheet):
            beside = sheet.cell(cell.row, cell.column + 1)
            left = (beside.alignment.horizontal or "left") == "left"
            if cell.alignment.horizontal == "right" and beside.value is not None and left:
                count += 1
                line = cell.border.right.style or beside.border.left.style
                if not (line or beside.alignment.indent):
                    wrong.append(f"{sheet.title}!{cell.coordinate}")
    assert count > 0
    assert not wrong


def test_a_header_stands_as_the_cells_below_it(books: dict[str, openpyxl.Workbook]) -> None:
    layout = log_layout(FEW_ROWS)
    sheet, (row, _) = books["plain"]["Year end"], AddressMap(layout).form_cells["Year"]["label_1"]
    sides = {
        cell.value: (cell.alignment.horizontal, int(cell.alignment.indent or 0))
        for cell in sheet[row - 1]
        if cell.value
    }
    assert sides["Line no."] == ("left", 0)
    assert sides["Amount"] == sides["Whole"] == ("right", 0)
    assert sides["Note"] == ("left", 1)


def test_a_text_that_is_too_wide_is_seen() -> None:
    """So that the tests above can fail: a header in a box, and one whose neighbor is filled."""
    sheet = openpyxl.Workbook().active
    assert sheet is not None
    sheet.print_area = "A1:D3"
    sheet.column_dimensions["A"].width = 12.71
    cell = sheet["A1"]
    cell.value = "A header of many words"
    assert not misfit(Rooms(sheet), cell, cell.value)
    sheet["B1"].value = "next"
    assert "in 84 pixels" in misfit(Rooms(sheet), cell, cell.value)
    sheet["B1"].value = None
    cell.border = Border(right=Side("thin"))
    assert misfit(Rooms(sheet), cell, cell.value)
    cell.alignment = Alignment(wrap_text=True)
    assert not misfit(Rooms(sheet), cell, cell.value)
    sheet.row_dimensions[1].height = 15
    assert misfit(Rooms(sheet), cell, cell.value) == "2 lines in 15.0 points"
    assert misfit(Rooms(sheet), cell, "Unbreakablebeyondmeasure").startswith("a word")
