"""What prints of each sheet, and how: paper, scale, the last row, and what is said of rows after it.

A print range is fixed, because LibreOffice ignores one that is a formula. So it ends at the last row that is filled
in, with room to fill the page on which it ends; a cell that grows with inserted rows knows that row, and the head of
the sheet says so where entries stand after it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from sheetfns.files.cell_names import column_letters
from sheetfns.log.model.sheets import (
    FIRST_ROW,
    HEADER_ROW,
    LEFT_EDGE,
    NUMBER_ROW,
    TITLE_ROW,
    UNIT_ROW,
    FormRow,
    FormSheet,
    TableSheet,
)
from sheetfns.log.sheets.words import CAUTIONS, CHECKS, DESK, FORECAST, FUNCTIONS, SETTINGS, SHELF, START, TAX_RULES

ON_SCREEN: Final = frozenset(
    {*(START, SETTINGS, CAUTIONS, CHECKS, FUNCTIONS, TAX_RULES), *(SHELF, "Buying plan", "Comparables", DESK, FORECAST)}
)
"""Sheets that print only once their print range is cleared: they set up and explain, or help to decide.

Whoever prints the whole log gets what is recorded and what comes of it.
"""
ON_SCREEN_WORDS: Final = " Not printed with the log: see Start."
NOWHERE: Final = "$AZ$1"
"""A blank cell: a sheet that prints it alone prints nothing in LibreOffice. From memory: a blank page in Excel."""
SMALLEST: Final = 0.7
"""The least scale: letters of 10 points are 7 points high then."""
WIDTH, HEIGHT = 612, 792
"""Points; the paper is Letter."""
SIDE, TOP, BOTTOM, FOOTER = 0.25, 0.35, 0.5, 0.25
"""Margins, in inches."""
_POINTS_AN_INCH: Final = 72
_POINTS_A_PIXEL: Final = 0.75
_PIXELS_A_LETTER, _PIXELS_A_CELL = 7, 5
_ROW, _TITLE, _GAP, _HEADERS = 15.0, 22.0, 6.0, 32.0
"""Heights of rows, in points: a usual one, and those of a head that differ."""
_WIDER: Final = 1.065
"""LibreOffice does not round the width of a digit to 7 pixels; measured with version 7.4 and the font Carlito."""
_SURE: Final = 0.98
"""Programs measure letters, and with them columns, a little differently."""


@dataclass(frozen=True)
class Page:
    """A page: how much of a sheet it shows at a scale, in points of the sheet."""

    landscape: bool

    @property
    def room(self) -> tuple[float, float]:
        """Width and height between the margins, in points of the paper."""
        across, down = (HEIGHT, WIDTH) if self.landscape else (WIDTH, HEIGHT)
        return across - 2 * SIDE * _POINTS_AN_INCH, down - (TOP + BOTTOM) * _POINTS_AN_INCH

    def scale(self, width: float) -> float:
        """The scale at which a width fits the page; no program enlarges."""
        return min(1.0, self.room[0] / width)

    def height(self, scale: float) -> float:
        """How much of a sheet's height it shows at a scale."""
        return _SURE * self.room[1] / scale


def width_of(widths: list[float]) -> float:
    """Points that columns take at the most, of widths in letters."""
    return _WIDER * sum(round(_PIXELS_A_LETTER * width) + _PIXELS_A_CELL for width in widths) * _POINTS_A_PIXEL


# ---- sheets with rows ----------------------------------------------------------------------------


def parts_of(table: TableSheet) -> list[tuple[int, int]]:
    """The first and last column, from 0, of each part that prints on a page of its own."""
    if table.print_parts:
        return [(table.position(first), table.position(last)) for first, last in table.print_parts]
    return [(0, max(i for i, column in enumerate(table.columns) if column.role != "working" or column.edge))]


def repeated_columns(table: TableSheet) -> tuple[int, int] | None:
    """The columns, from 0, that stand on every page of a sheet that prints in several parts."""
    if not table.print_repeats:
        return None
    first, last = table.print_repeats
    return table.position(first), table.position(last)


def scale_of(table: TableSheet) -> float:
    """The scale at which the widest part fits its page."""
    repeats = repeated_columns(table)
    widest = 0.0
    for first, last in parts_of(table):
        places = list(range(first, last + 1))
        if repeats and first > repeats[1]:
            places += range(repeats[0], repeats[1] + 1)
        widest = max(widest, width_of([table.columns[place].width for place in places]))
    return Page(table.landscape).scale(widest)


def rows_on_a_page(table: TableSheet) -> int:
    """How many rows a page shows below the head, which stands on each."""
    head = _TITLE + _GAP + _HEADERS + _ROW * (FIRST_ROW - 1 - 3)
    return int((Page(table.landscape).height(scale_of(table)) - head) / _ROW)


def last_printed_row(table: TableSheet, filled: int) -> int:
    """The last row to print: the page that holds the last filled one, to its end.

    Args:
        table: the sheet.
        filled: the last row that is filled in; one before the first if none is.
    """
    on_page = rows_on_a_page(table)
    pages = max(1, -(-(filled - FIRST_ROW + 1) // on_page))
    return min(table.last_row, FIRST_ROW - 1 + pages * on_page)


def print_range(table: TableSheet, name: str, last_row: int) -> str:
    """The print range down to a row, as a defined name holds it."""
    return ",".join(
        f"'{name}'!${column_letters(first)}${TITLE_ROW}:${column_letters(last)}${last_row}"
        for first, last in parts_of(table)
    )


@dataclass(frozen=True)
class HeadCell:
    """A cell in the head of a sheet with rows: its row from 1, its column from 0, and its formula."""

    row: int
    column: int
    formula: str


def last_row_cells(table: TableSheet, last_row: int) -> tuple[HeadCell, HeadCell]:
    """The cells that know the last row that prints, and how many rows after it are filled in.

    They follow the print range when rows are inserted or deleted.
    """
    if table.holds_entries:
        place = table.position("entered")
        letter = column_letters(place)
        count, sign = "COUNTIF", ',">0"'
    else:
        place, letter = len(table.columns), "A"
        count, sign = "COUNT", ""
    last, end = (f"${letter}${HEADER_ROW}:${letter}${row}" for row in (last_row, table.names_to))
    beyond = f"{count}({end}{sign})-{count}({last}{sign})"
    return (HeadCell(NUMBER_ROW, place, f"ROWS({last})+{HEADER_ROW - 1}"), HeadCell(NUMBER_ROW, place + 1, beyond))


_LAST_ROW: Final = re.compile(rf"=?ROWS\(\$[A-Z]+\${HEADER_ROW}:\$[A-Z]+\$(\d+)\)\+{HEADER_ROW - 1}")


def row_in_formula(formula: str) -> int | None:
    """The last row that prints by the formula of the first of these cells; None if it is another one."""
    found = _LAST_ROW.fullmatch(formula.strip())
    return int(found[1]) if found else None


def by_hand_cell(table: TableSheet) -> tuple[int, int] | None:
    """Row, from 1, and column, from 0, of the cell for the last row of a print range that was set by hand.

    It stands over the edge, between the units, where nobody cuts; on a sheet without entries nobody can fill in one.
    """
    return (UNIT_ROW, table.position(LEFT_EDGE)) if table.holds_entries else None


def words_on_rows(table: TableSheet) -> str:
    """What a sheet says in the place of other words where rows don't print.

    Where the seller enters, these are the unit over the first column, which is in sight everywhere and on paper; else
    what the sheet is for.
    """

    def cell(row: int, column: int) -> str:
        return f"${column_letters(column)}${row}"

    last, beyond = (cell(one.row, one.column) for one in last_row_cells(table, FIRST_ROW))
    usual = table.columns[0].unit if table.holds_entries else table.purpose
    says = f'IF({beyond}=0,"{usual}","Rows after "&{last}&" don\'t print: see {START}")'
    place = by_hand_cell(table)
    if place is None:
        return says
    hand = cell(*place)
    return f'IF({hand}="",{says},"Prints to row "&{hand}&", see {hand.replace("$", "")}")'


def pages_across(table: TableSheet) -> int:
    """On how many pages side by side a sheet prints whole, so that it stays readable."""
    return -(-int(100 * SMALLEST) // int(100 * scale_of(table)))


# ---- forms ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class FormPages:
    """How a form prints: its last row, where pages begin, and the last row that might be filled."""

    last_row: int
    breaks: tuple[int, ...]
    scale: float
    whole_until: int
    fits_width: bool
    """Whether the width alone makes the scale."""

    @property
    def whole(self) -> bool:
        """Whether nothing is left out but the workings."""
        return self.last_row == self.whole_until


def pages_of(form: FormSheet, heights: list[float], most: int) -> FormPages:
    """The pages of a form.

    Args:
        form: it.
        heights: of its own rows, in points.
        most: how many pages there may be.
    """
    heights = [_TITLE, *(_ROW for _ in range(TITLE_ROW + 1, form.first_row)), *heights]
    steps = next(i for i, line in enumerate(form.rows) if any(cell.working for cell in line.cells)) - 1
    end = form.first_row + steps - 1
    page = Page(form.landscape)
    scale = page.scale(width_of(list(form.widths)))
    # Smaller where that saves a page, and still readable.
    for smaller in (scale, *(one / 100 for one in range(int(100 * scale), int(100 * SMALLEST) - 1, -1))):
        made = _broken(form, heights, end, most, page.height(smaller))
        if made[0] == end:
            return FormPages(end, made[1], smaller, end, fits_width=smaller == scale)
    return FormPages(*made, smaller, end, fits_width=smaller == scale)


def _broken(form: FormSheet, heights: list[float], end: int, most: int, room: float) -> tuple[int, tuple[int, ...]]:
    """The last row, and the rows, from 1, after which a page ends."""
    breaks: list[int] = []
    used = 0.0
    for row in range(1, end + 1):
        line = form.rows[row - form.first_row] if row >= form.first_row else FormRow()
        high = heights[row - 1]
        if line.new_page or used + high > room:
            at = row - 1 if line.new_page else _may_end(form, row - 1)
            if len(breaks) + 1 == most:
                return at, tuple(breaks)
            breaks.append(at)
            used = sum(heights[at : row - 1])
        used += high
    return end, tuple(breaks)


def _may_end(form: FormSheet, row: int) -> int:
    """The last row up to this one after which a page may end: before a heading, or within a list."""
    while row >= form.first_row:
        here, below = form.rows[row - form.first_row : row + 2 - form.first_row]
        if not here.heading and (below.heading or (below.heads_row and not below.label)):
            return row
        row -= 1
    return row


def words_on_form(form: FormSheet, pages: FormPages) -> str:
    """The words under a form's title, where some of its rows may not print."""
    last = column_letters(len(form.widths) - 1)
    beyond = f"COUNT($B${pages.last_row + 1}:${last}${pages.whole_until})"
    return f'"{form.purpose}"&IF({beyond}=0,""," Rows after {pages.last_row} don\'t print.")'
