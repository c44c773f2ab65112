"""What prints of a log, on how many pages, how large, and what is said of rows that don't."""

from __future__ import annotations

import dataclasses
import re
from collections import Counter
from pathlib import Path

import openpyxl
import pytest
from openpyxl.utils import range_boundaries
from openpyxl.worksheet.worksheet import Worksheet
from pypdf import PdfReader

from sheetfns.demo import example_inputs
from sheetfns.files.cell_names import cell_name
from sheetfns.hosts.engine import recalculate
from sheetfns.log.check.report import FORMULAS, check_log
from sheetfns.log.edit.patch import CellEdit, patch
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import FIRST_ROW, HEADER_ROW, UNIT_ROW
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import DEFAULT_ROWS
from sheetfns.log.write.build import build_log
from sheetfns.log.write.printing import ON_SCREEN, last_printed_row, last_row_cells, row_in_formula
from tests.libreoffice import hands_on, print_pdf, type_into

ITEMS, MOST_PAGES = 26, 20
READABLE, LETTERS = 7.0, 10.0
"""Points: the least that is read with ease (from memory), and what the cells of a log are written in."""
WIDER = 1.065
"""How much wider than in the file LibreOffice 7.4 shows columns, with the font Carlito."""
_FOOTER = re.compile(r"([A-Z][A-Za-z -]+?), page (\d+) of")
_KEPT = {"Log": ITEMS, "Lots": 3, "Expenses": 12, "Trips": 12, "Owner": 8, "Personal": 2, "Comps": 24, "Plan": 6}


def shop_of_few_items() -> Inputs:
    """The example shop as it was when it had few items, with something on every sheet to fill in."""
    whole = example_inputs()
    return dataclasses.replace(whole, rows={key: rows[: _KEPT[key]] for key, rows in whole.rows.items()})


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_log(tmp_path_factory.mktemp("print") / "log.xlsx", "plain", DEFAULT_ROWS, shop_of_few_items())


@pytest.fixture(scope="module")
def book(log: Path) -> openpyxl.Workbook:
    return openpyxl.load_workbook(log)


@pytest.fixture(scope="module")
def printed(log: Path, tmp_path_factory: pytest.TempPathFactory) -> PdfReader:
    return PdfReader(print_pdf(log, tmp_path_factory.mktemp("pdf")))


def pages_by_sheet(pdf: PdfReader) -> Counter[str]:
    return Counter(_FOOTER.findall(page.extract_text().replace("\n", " "))[-1][0] for page in pdf.pages)


def areas(sheet: Worksheet) -> list[tuple[int, int, int, int]]:
    """First column, first row, last column and last row of each part that prints."""
    return [range_boundaries(area.rpartition("!")[2]) for area in sheet.print_area.split(",")]


def scale(sheet: Worksheet, first: int, last: int) -> float:
    """At which scale columns print, in the program that shows them wider."""
    if not sheet.sheet_properties.pageSetUpPr or not sheet.sheet_properties.pageSetUpPr.fitToPage:
        return (sheet.page_setup.scale or 100) / 100
    widths, hidden = {}, set()
    for shape in sheet.column_dimensions.values():
        for place in range(shape.min or 1, (shape.max or 1) + 1):
            widths[place] = shape.width
            hidden |= {place} if shape.hidden else set()
    shown = sum(widths.get(place, 9.14) for place in range(first, last + 1) if place not in hidden)
    across = 11 if sheet.page_setup.orientation == "landscape" else 8.5
    room = (across - sheet.page_margins.left - sheet.page_margins.right) * 72
    return min(1.0, (sheet.page_setup.fitToWidth or 1) * room / (shown * 7 * 0.75 * WIDER))


# ---- from the file -------------------------------------------------------------------------------


def test_every_sheet_is_large_enough_to_read(book: openpyxl.Workbook) -> None:
    for sheet in book:
        if sheet.title in ON_SCREEN:
            # With its print range cleared.
            columns = [(1, max(c for row in sheet.iter_rows(max_row=60) for c in [x.column for x in row if x.value]))]
        else:
            columns = [(first, last) for first, _, last, _ in areas(sheet)]
        for first, last in columns:
            assert scale(sheet, first, last) * LETTERS >= READABLE - 0.01, (sheet.title, first, last)


def test_the_headers_of_a_sheet_with_rows_stand_on_every_page(book: openpyxl.Workbook) -> None:
    for table in log_layout().tables:
        assert book[table.name].print_title_rows == f"$1:${HEADER_ROW}"
    assert book["Sourcing log"].print_title_cols == "$E:$E", "the item number"


def test_print_ranges_end_where_the_page_of_the_last_filled_row_ends(book: openpyxl.Workbook) -> None:
    for table in log_layout(DEFAULT_ROWS).tables:
        if table.name in ON_SCREEN or not table.holds_entries:
            continue
        filled = FIRST_ROW - 1 + _KEPT[table.key]
        (end,) = {last for *_, last in areas(book[table.name])}
        assert filled <= end == last_printed_row(table, filled) <= FIRST_ROW + 60, table.name
        assert row_in_formula(book[table.name][last_row_cell(table.key)].value) == end


def test_what_is_folded_does_not_print(book: openpyxl.Workbook) -> None:
    for table in log_layout().tables:
        if table.name not in ON_SCREEN and table.holds_entries:
            last = max(last for _, _, last, _ in areas(book[table.name]))
            steps = [i for i, column in enumerate(table.columns, 1) if column.role == "working" and not column.edge]
            assert last < min(steps), table.name


def test_full_pages_begin_another() -> None:
    table = log_layout(DEFAULT_ROWS).table("Log")
    first = last_printed_row(table, FIRST_ROW - 1)
    assert last_printed_row(table, first) == first
    assert last_printed_row(table, first + 1) == FIRST_ROW - 1 + 2 * (first - FIRST_ROW + 1)
    assert last_printed_row(log_layout(10).table("Log"), FIRST_ROW) == FIRST_ROW + 9, "never beyond the ready rows"


# ---- rows that come later ------------------------------------------------------------------------


def last_row_cell(key: str) -> str:
    cell, _ = last_row_cells(log_layout().table(key), FIRST_ROW)
    return cell_name(cell.row, cell.column + 1)


def last_row_of(path: Path, sheet: str, cell: str) -> tuple[str, str]:
    book = openpyxl.load_workbook(path)
    return book[sheet].print_area, book[sheet][cell].value


def test_a_command_that_adds_rows_lets_the_print_range_grow(log: Path, tmp_path: Path) -> None:
    area, formula = last_row_of(log, "Sourcing log", last_row_cell("Log"))
    end = row_in_formula(formula)
    assert end is not None
    out = tmp_path / "out.xlsx"
    patched = patch(log, [CellEdit("Sourcing log", end + 1, 5, "new")], out=out)
    grown, formula = last_row_of(out, "Sourcing log", last_row_cell("Log"))
    new_end = row_in_formula(formula)
    assert new_end == last_printed_row(log_layout(DEFAULT_ROWS).table("Log"), end + 1)
    assert grown == area.replace(f"${end}", f"${new_end}")
    assert patched.values is not None
    assert [one for one in check_log(out).findings if one.group == FORMULAS] == []
    assert patched.values.value("Sourcing log", UNIT_ROW, 1) == "text"
    assert last_row_of(out, "Expenses", last_row_cell("Expenses")) == last_row_of(
        log, "Expenses", last_row_cell("Expenses")
    )


def test_a_command_that_adds_no_row_leaves_the_workbook_part_as_it_was(log: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.xlsx"
    patch(log, [CellEdit("Sourcing log", FIRST_ROW, 6, "another description")], out=out)
    assert last_row_of(out, "Sourcing log", last_row_cell("Log")) == last_row_of(
        log, "Sourcing log", last_row_cell("Log")
    )


def test_a_print_range_that_the_seller_has_set_stays(log: Path, tmp_path: Path) -> None:
    own = tmp_path / "own.xlsx"
    book = openpyxl.load_workbook(log)
    book["Sourcing log"].print_area = "A1:H40"
    book.save(own)
    out = tmp_path / "out.xlsx"
    patch(own, [CellEdit("Sourcing log", 300, 5, "new")], out=out)
    area, formula = last_row_of(out, "Sourcing log", last_row_cell("Log"))
    assert area == "'Sourcing log'!$A$1:$H$40"
    assert formula == last_row_of(log, "Sourcing log", last_row_cell("Log"))[1]


def test_rows_that_do_not_print_are_told_at_the_head_until_the_row_is_entered(log: Path, tmp_path: Path) -> None:
    def says(*edits: CellEdit) -> object:
        book = openpyxl.load_workbook(log)
        for edit in edits:
            book[edit.sheet].cell(edit.row, edit.column).value = edit.value
        path = tmp_path / "log.xlsx"
        book.save(path)
        return recalculate(path).value("Expenses", UNIT_ROW, 1)

    end = row_in_formula(last_row_of(log, "Expenses", last_row_cell("Expenses"))[1])
    assert end is not None
    assert says() == "text"
    assert says(CellEdit("Expenses", end, 5, "on the last row that prints")) == "text"
    beyond = CellEdit("Expenses", end + 2, 5, "beyond")
    assert says(beyond) == f"Rows after {end} don't print: see Start"
    assert says(beyond, CellEdit("Expenses", UNIT_ROW, 2, end + 2)) == f"Prints to row {end + 2}, see B4"


# ---- in LibreOffice ------------------------------------------------------------------------------


@pytest.mark.libreoffice
def test_a_log_of_few_items_prints_on_few_pages(printed: PdfReader) -> None:
    pages = pages_by_sheet(printed)
    assert len(printed.pages) == sum(pages.values()) <= MOST_PAGES, pages
    assert pages["Year end"] == 2
    assert pages["Sourcing log"] == 4, "bought, listed, sold, results"
    in_parts = {"Year end": 2, "Sourcing log": 4, "Money": 2}
    assert {name: count for name, count in pages.items() if count != in_parts.get(name, 1)} in ({}, {"Inventory": 2})
    names = {*(sheet.name for sheet in (*log_layout().tables, *log_layout().forms)), "Start", "Settings"}
    assert set(pages) == names - ON_SCREEN


@pytest.mark.libreoffice
def test_every_entry_is_on_paper(printed: PdfReader) -> None:
    text = "\n".join(page.extract_text() for page in printed.pages)
    for key, rows in shop_of_few_items().rows.items():
        table = log_layout().table(key)
        if table.name not in ON_SCREEN:
            for row in rows:
                said = max((value for value in row.values() if isinstance(value, str)), key=len)
                assert said[:18] in text, (table.name, said)


@pytest.mark.libreoffice
def test_letters_are_large_enough_on_paper(printed: PdfReader) -> None:
    sizes: dict[str, float] = {}

    def look(text: str, cm: list[float], tm: list[float], _font: object, size: float) -> None:
        if text.strip():
            sizes[text.strip()] = abs(size * tm[3] * cm[3]) or sizes.get(text.strip(), 0)

    for page in printed.pages:
        page.extract_text(visitor_text=look)
    items = [row["item_no"] for row in shop_of_few_items().rows["Log"]]
    found = [size for text, size in sizes.items() if any(item in text for item in items)]
    assert len(found) >= len(items) / 2
    assert min(found) >= READABLE - 0.05


@pytest.mark.libreoffice
def test_rows_that_do_not_print_are_told_in_libreoffice(log: Path, tmp_path: Path) -> None:
    typed = type_into(log, tmp_path / "typed.xlsx", [("Expenses", "E80", "beyond")])
    shown = openpyxl.load_workbook(typed, data_only=True)["Expenses"].cell(UNIT_ROW, 1).value
    assert re.fullmatch(r"Rows after \d+ don't print: see Start", shown)


@pytest.mark.libreoffice
def test_the_last_row_that_prints_follows_the_range_when_rows_are_inserted_in_libreoffice(
    log: Path, tmp_path: Path
) -> None:
    end = row_in_formula(last_row_of(log, "Expenses", last_row_cell("Expenses"))[1])
    assert end is not None
    rows = [["insert", "Expenses", "A20:L22"], ["insert", "Expenses", f"A{end + 4}:L{end + 4}"]]
    hands_on(log, tmp_path, {"rows": rows, "delete": [["delete", "Expenses", f"A{end}:L{end}"]]})
    for name, row in (("rows", end + 3), ("delete", end - 1)):
        area, formula = last_row_of(tmp_path / f"{name}.xlsx", "Expenses", last_row_cell("Expenses"))
        assert row_in_formula(formula) == row
        assert area.endswith(f"${row}")


def test_a_formula_that_is_not_ours_is_no_last_row() -> None:
    assert row_in_formula("=ROWS($D$6:$D$50)+5") == 50
    assert row_in_formula("=ROWS($D$6:$D$50)+6") is None
    assert row_in_formula("=50") is None
