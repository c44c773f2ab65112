"""Single cells are changed in workbooks of three makers, and nothing else in them."""

from __future__ import annotations

import datetime as dt
import re
import struct
import warnings
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import openpyxl
import pytest
import python_calamine
import xlsxwriter
from openpyxl.cell.cell import Cell

from sheetfns.errors import LogFileError
from sheetfns.files import sheet_xml
from sheetfns.files.sheet_xml import FormulaText, Value
from sheetfns.log.edit.patch import CellEdit, NewSheet, patch
from tests.libreoffice import recalculate

SHEET, OTHER = "Data & more", "Mine alone"
WORKBOOK, STYLES = "xl/workbook.xml", "xl/styles.xml"
CHAIN, TYPES, RELATIONS = "xl/calcChain.xml", "[Content_Types].xml", "xl/_rels/workbook.xml.rels"
MACROS = "xl/vbaProject.bin"
ODD_TEXTS = (
    "  leading", "trailing  ", "two\nlines", "<&>\"'", "]]>", "\U0001f9f8 e\u0301 \u200f\u05d0",
    "_x0041_", "_x0041", "a_x000D_b", "tab\there", "bell\x07", "\x00", "back\rthen", "_", " ", "\ufffe",
    "=1+1", "+1", "-1", "@x", "\t=1", "x" * 32_767, "_x005F_x0041_", "12", "TRUE", "2026-01-31",
)  # fmt: skip


def png(width: int = 2, height: int = 2) -> bytes:
    """A red picture, made by hand."""

    def chunk(kind: bytes, content: bytes) -> bytes:
        checked = zlib.crc32(kind + content)
        return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", checked)

    lines = b"".join(b"\0" + b"\xff\0\0" * width for _ in range(height))
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
        + chunk(b"IDAT", zlib.compress(lines))
        + chunk(b"IEND", b"")
    )


# ---- workbooks -----------------------------------------------------------------------------------


def by_xlsxwriter(path: Path) -> Path:
    """With everything that other libraries lose."""
    picture = path.with_name("picture.png")
    picture.write_bytes(png())
    book = xlsxwriter.Workbook(str(path))
    sheet = book.add_worksheet(SHEET)
    money = book.add_format({"num_format": "#,##0.00", "border": 1, "bg_color": "#FFF2CC"})
    day = book.add_format({"num_format": "yyyy-mm-dd", "italic": True})
    words = book.add_format({"bold": True, "align": "left"})
    for row in range(10):
        sheet.write_number(row, 0, row + 1, money)
        sheet.write_string(row, 1, f"word {row}", words)
        sheet.write_datetime(row, 2, dt.datetime(2026, 1, row + 1), day)
        sheet.write_formula(row, 3, f"=A{row + 1}*2", money, 2 * (row + 1))
        sheet.write_blank(row, 4, None, money)
        sheet.write_boolean(row, 5, row % 2 == 0)
    sheet.write_formula("D11", '=IF(SUM(A1:A10)>10,"many","few")', None, "many")
    sheet.write_rich_string("B12", "plain ", words, "bold", " plain")
    sheet.write_comment("A1", "a note")
    sheet.add_sparkline("H1", {"range": f"'{SHEET}'!A1:A10"})
    sheet.conditional_format("A1:A10", {"type": "data_bar"})
    sheet.data_validation("E1:E10", {"validate": "list", "source": ["yes", "no"]})
    chart = book.add_chart({"type": "line"})
    chart.add_series({"values": f"='{SHEET}'!$A$1:$A$10"})
    sheet.insert_chart("J2", chart)
    sheet.insert_image("J20", str(picture))
    sheet.insert_textbox("J30", "a box")
    sheet.freeze_panes(1, 0)
    other = book.add_worksheet(OTHER)
    other.write("A1", "mine")
    other.write_formula("B1", f"='{SHEET}'!A1", None, 1)
    book.define_name("First", f"='{SHEET}'!$A$1")
    book.close()
    picture.unlink()
    return path


def by_openpyxl(path: Path) -> Path:
    """The same, as openpyxl saves it; it stores no results."""
    by_xlsxwriter(path)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # what it drops
        openpyxl.load_workbook(path).save(path)
    return path


def with_chain(source: Path, path: Path, *, macros: bool = False) -> Path:
    """With an order of calculation, as spreadsheet programs store it; and macros."""
    with zipfile.ZipFile(source) as book:
        made = {part.filename: book.read(part) for part in book.infolist()}
    cells = re.findall(rb'<c r="(D\d+)"[^>]*><f', made["xl/worksheets/sheet1.xml"])
    listed = b"".join(b'<c r="%s" i="1"/>' % cell for cell in cells)
    made[CHAIN] = (
        b'<calcChain xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">%s</calcChain>' % listed
    )
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    types = f'<Override PartName="/{CHAIN}" ContentType="{kind}.calcChain+xml"/>'
    relations = f'<Relationship Id="rId77" Type="{office}/calcChain" Target="calcChain.xml"/>'
    if macros:
        made[MACROS] = b"\xd0\xcf\x11\xe0 not really macros"
        types += f'<Override PartName="/{MACROS}" ContentType="application/vnd.ms-office.vbaProject"/>'
        relations += (
            '<Relationship Id="rId78" Type="http://schemas.microsoft.com/office/2006/relationships/'
            'vbaProject" Target="vbaProject.bin"/>'
        )
        main = f"{kind}.sheet.main+xml".encode()
        assert main in made[TYPES]
        made[TYPES] = made[TYPES].replace(main, b"application/vnd.ms-excel.sheet.macroEnabled.main+xml")
    made[TYPES] = made[TYPES].replace(b"</Types>", types.encode() + b"</Types>")
    made[RELATIONS] = made[RELATIONS].replace(b"</Relationships>", relations.encode() + b"</Relationships>")
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        for name, content in made.items():
            book.writestr(name, content)
    return path


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("books")
    plain = by_xlsxwriter(folder / "plain.xlsx")
    return {
        "xlsxwriter": plain,
        "openpyxl": by_openpyxl(folder / "openpyxl.xlsx"),
        "with chain": with_chain(plain, folder / "chain.xlsx"),
        "macros": with_chain(plain, folder / "macros.xlsm", macros=True),
    }


@pytest.fixture(scope="module")
def from_libreoffice(books: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    return recalculate(books["xlsxwriter"], tmp_path_factory.mktemp("saved"))


MAKERS = [
    "xlsxwriter", "openpyxl", "with chain", "macros",
    pytest.param("libreoffice", marks=pytest.mark.libreoffice),
]  # fmt: skip


@pytest.fixture
def book(request: pytest.FixtureRequest, books: dict[str, Path], tmp_path: Path) -> Path:
    """A copy of one maker's workbook, to be changed."""
    made = request.param
    source = request.getfixturevalue("from_libreoffice") if made == "libreoffice" else books[made]
    path = tmp_path / source.name
    path.write_bytes(source.read_bytes())
    return path


def parts(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as book:
        assert book.testzip() is None
        return {part.filename: book.read(part) for part in book.infolist()}


def opened(path: Path, *, results: bool = False) -> openpyxl.Workbook:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # extensions that openpyxl drops
        return openpyxl.load_workbook(path, data_only=results)


def cells(book: openpyxl.Workbook) -> dict[tuple[str, str], Any]:
    return {
        (sheet.title, cell.coordinate): cell.value
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None
    }


def looks(cell: Cell) -> tuple[Any, ...]:
    return (
        cell.number_format,
        cell.font.b,
        cell.font.i,
        cell.fill.fgColor.rgb,
        cell.border.left.style,
        cell.alignment.horizontal or "general",
    )


def without_calculation(workbook: bytes) -> str:
    """The workbook's part, apart from what is set for calculation and from how marks are written."""
    return ET.canonicalize(re.sub(rb"<calcPr[^>]*/>", b"", workbook).decode())


# ---- one change ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Change:
    """A cell, what it is given, what openpyxl reads then, and what else changes in the file."""

    cell: str
    value: Value
    read: Any
    quoted: bool = False
    formulas: bool = False

    @property
    def edit(self) -> CellEdit:
        column = ord(self.cell[0]) - 64
        return CellEdit(SHEET, int(self.cell[1:]), column, self.value)


CHANGES = {
    "text": Change("B2", "new words", "new words"),
    "text over a number": Change("A2", "none", "none"),
    "number": Change("A3", 12.34, 12.34),
    "whole number": Change("A4", 7, 7),
    "tiny number": Change("A4", 1.5e-300, 1.5e-300),
    "day": Change("C2", dt.date(2027, 12, 31), dt.datetime(2027, 12, 31)),
    "day and time": Change("C3", dt.datetime(2026, 5, 6, 7, 30), dt.datetime(2026, 5, 6, 7, 30)),
    "blank": Change("A5", None, None),
    "blank text": Change("B5", "", None),
    "yes": Change("F2", True, True),
    "no": Change("F3", False, False),
    "into a blank cell": Change("E4", "yes", "yes"),
    "below the last row": Change("B40", "far below", "far below"),
    "in a gap": Change("B11", "between", "between"),
    "formula put in": Change("E5", FormulaText('A5*3&"<"'), '=A5*3&"<"', formulas=True),
    "formula over a formula": Change("D3", FormulaText("A3*3"), "=A3*3", formulas=True),
    "formula replaced": Change("D4", 99.5, 99.5, formulas=True),
    "formula cleared": Change("D5", None, None, formulas=True),
    "text like a formula": Change("B6", "=1+1", "=1+1", quoted=True),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
@pytest.mark.parametrize("book", MAKERS, indirect=True)
def test_only_that_changes(book: Path, change: Change) -> None:
    before, was = parts(book), opened(book)
    was_cells = cells(was)
    done = patch(book, [change.edit])
    after, now = parts(book), opened(book)
    intended = {f"xl/worksheets/sheet{was.sheetnames.index(SHEET) + 1}.xml", WORKBOOK}
    if change.quoted:
        intended.add(STYLES)
    gone = {CHAIN} & set(before) if change.formulas else set()
    if gone:
        intended |= {TYPES, RELATIONS}
    assert set(before) - set(after) == gone
    assert set(after) <= set(before)
    # A formula elsewhere may have another result.
    other = {"xl/worksheets/sheet2.xml"}
    differ = {name for name in after if after[name] != before[name]}
    assert intended - {WORKBOOK} <= differ <= intended | other
    assert re.search(rb'<calcPr[^>]* fullCalcOnLoad="(1|true)"', after[WORKBOOK])
    assert without_calculation(after[WORKBOOK]) == without_calculation(before[WORKBOOK])
    if gone:
        assert b"calcChain" not in after[TYPES] + after[RELATIONS]
    wanted = was_cells | {(SHEET, change.cell): change.read}
    assert cells(now) == {place: value for place, value in wanted.items() if value is not None}
    like = {"B11": "B10"}.get(change.cell, change.cell)  # a new cell takes the look of the one above
    assert looks(now[SHEET][change.cell]) == looks(was[SHEET][like])
    assert now[SHEET][change.cell].quotePrefix == change.quoted
    if isinstance(change.value, str) and change.value:
        assert now[SHEET][change.cell].data_type in {"s", "inlineStr"}
    assert done.copy is not None
    assert parts(done.copy) == before
    assert not done.not_recalculated


@pytest.mark.parametrize("book", MAKERS, indirect=True)
def test_results_are_stored_and_a_second_run_changes_nothing(book: Path) -> None:
    """All changes at once."""
    edits = [change.edit for change in CHANGES.values()]
    first = patch(book, edits)
    results, formulas = cells(opened(book, results=True)), cells(opened(book))
    assert results[SHEET, "D3"] == pytest.approx(12.34 * 3)
    assert results[SHEET, "D2"] == "#VALUE!"
    assert results[SHEET, "E5"] == "0<"
    assert formulas[SHEET, "D2"] == "=A2*2"
    made = parts(book)
    second = patch(book, edits)
    assert cells(opened(book)) == formulas
    assert cells(opened(book, results=True)) == results
    assert {name for name in made if parts(book)[name] != made[name]} <= {STYLES}
    assert first.values is not None
    assert second.values is not None
    assert first.values.sheets == second.values.sheets


@pytest.mark.libreoffice
def test_libreoffice_reads_what_was_put_in(books: dict[str, Path], tmp_path: Path) -> None:
    path = tmp_path / "patched.xlsx"
    edits = [change.edit for change in CHANGES.values()]
    odd = [CellEdit(SHEET, 60 + row, 2, text) for row, text in enumerate(ODD_TEXTS)]
    patch(books["xlsxwriter"], [*edits, *odd], out=path, new_sheets=[MORE])
    saved = recalculate(path, tmp_path / "saved")
    read, results = cells(opened(saved)), cells(opened(saved, results=True))
    last = {change.cell: change for change in CHANGES.values()}
    for cell, change in last.items():
        if change.read is not None and not change.formulas:
            assert results[SHEET, cell] == change.read, cell
    assert read[SHEET, "D3"] == "=A3*3"
    assert results[SHEET, "D3"] == pytest.approx(12.34 * 3)
    assert results[SHEET, "E5"] == "0<"
    assert [results[MORE.name, cell] for cell in ("A1", "B1", "A2", "B2")] == [
        "Head", "Second", "a line", 12.5,
    ]  # fmt: skip
    assert opened(saved).sheetnames == [SHEET, OTHER, MORE.name]
    assert (SHEET, "A5") not in read
    for row, text in enumerate(ODD_TEXTS):
        if not re.search(r"[\x00-\x08\r\ufffe]|_x", text):
            assert results[SHEET, f"B{60 + row}"] == text


# ---- texts ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ODD_TEXTS, ids=lambda text: repr(text[:12]))
def test_texts_come_back_the_same(books: dict[str, Path], text: str, tmp_path: Path) -> None:
    out = tmp_path / "out.xlsx"
    patch(books["xlsxwriter"], [CellEdit(SHEET, 2, 2, text)], out=out)
    sheet = python_calamine.CalamineWorkbook.from_path(out).get_sheet_by_name(SHEET)
    # U+FFFE is no character; python-calamine leaves it as it is written.
    by_calamine = sheet.to_python(skip_empty_area=False)[1][1].replace("_xFFFE_", "\ufffe")
    assert by_calamine == text
    # openpyxl gives _x0007_ and the like as they stand in the file; other programs decode them.
    read = opened(out)[SHEET]["B2"].value
    assert re.sub("_x([0-9A-F]{4})_", lambda found: chr(int(found[1], 16)), read) == text
    content = parts(out)["xl/worksheets/sheet1.xml"]
    assert b'<t xml:space="preserve">' in content


def test_a_line_break_of_two_characters_becomes_one(books: dict[str, Path], tmp_path: Path) -> None:
    out = tmp_path / "out.xlsx"
    patch(books["xlsxwriter"], [CellEdit(SHEET, 2, 2, "a\r\nb")], out=out)
    assert opened(out)[SHEET]["B2"].value == "a\nb"


# ---- sheets --------------------------------------------------------------------------------------

MORE = NewSheet("More & <more>", (("Head", "Second"), ("a line", 12.5), ("=1", None)), (20.0, 9.5))


@pytest.mark.parametrize("book", MAKERS, indirect=True)
def test_new_sheets_stand_behind_the_others(book: Path) -> None:
    before, was = parts(book), opened(book)
    was_cells = cells(was)
    again = NewSheet("Last", (("only",),), (10.0,))
    patch(book, [], new_sheets=[MORE, again])
    after, now = parts(book), opened(book)
    assert now.sheetnames == [SHEET, OTHER, MORE.name, "Last"]
    assert len(set(after) - set(before)) == 2
    assert set(before) <= set(after)
    changed = {name for name in before if before[name] != after[name]}
    assert {WORKBOOK, TYPES, RELATIONS, STYLES} <= changed
    assert changed <= {WORKBOOK, TYPES, RELATIONS, STYLES} | {f"xl/worksheets/sheet{number}.xml" for number in (1, 2)}
    new = {
        (MORE.name, "A1"): "Head", (MORE.name, "B1"): "Second", (MORE.name, "A2"): "a line",
        (MORE.name, "B2"): 12.5, (MORE.name, "A3"): "=1", ("Last", "A1"): "only",
    }  # fmt: skip
    assert cells(now) == was_cells | new
    sheet = now[MORE.name]
    assert sheet["A3"].data_type != "f"
    assert (sheet["A1"].font.b, sheet["A2"].font.b) == (True, False)
    assert sheet.freeze_panes == "A2"
    assert sheet.column_dimensions["A"].width == 20.0
    calamine = python_calamine.CalamineWorkbook.from_path(book)
    assert calamine.sheet_names == now.sheetnames
    assert calamine.get_sheet_by_name(MORE.name).to_python()[1] == ["a line", 12.5]


# ---- formulas of several cells -------------------------------------------------------------------


def with_formulas(books: dict[str, Path], path: Path, *changes: tuple[str, str]) -> Path:
    """With cells in column D written by hand."""
    with zipfile.ZipFile(books["xlsxwriter"]) as book:
        made = {part.filename: book.read(part) for part in book.infolist()}
    sheet = made["xl/worksheets/sheet1.xml"]
    for cell, inside in changes:
        sheet, count = re.subn(rf'(<c r="{cell}" s="\d+">)<f>.*?</f>'.encode(), rb"\g<1>" + inside.encode(), sheet)
        assert count == 1
    made["xl/worksheets/sheet1.xml"] = sheet
    with zipfile.ZipFile(path, "w") as book:
        for name, content in made.items():
            book.writestr(name, content)
    return path


SHARED = (
    ("D2", '<f t="shared" ref="D2:D5" si="0">A2*2+$A$1+Mine!A1</f>'.replace("Mine!", "'Mine alone'!")),
    ("D3", '<f t="shared" si="0"/>'),
    ("D4", '<f t="shared" si="0"></f>'),
    ("D5", '<f si="0" t="shared"/>'),
    ("D7", '<f t="shared" ref="D7:D8" si="1">A7&amp;"&lt;"</f>'),
    ("D8", '<f t="shared" si="1"/>'),
)


def test_shared_formulas_are_written_out(books: dict[str, Path], tmp_path: Path) -> None:
    path = with_formulas(books, tmp_path / "shared.xlsx", *SHARED)
    before = {place: opened(path)[SHEET][place].value for place in ("D3", "D4", "D5", "D8")}
    assert before["D4"] == "=A4*2+$A$1+'Mine alone'!A3"
    out = tmp_path / "out.xlsx"
    patch(path, [CellEdit(SHEET, 2, 4, 1.0)], out=out)
    content = parts(out)["xl/worksheets/sheet1.xml"].decode()
    assert 'si="0"' not in content
    assert content.count('si="1"') == 2
    assert re.search(r'<c r="D4" s="\d+"[^>]*><f>A4\*2\+\$A\$1\+\'Mine alone\'!A3</f>', content)
    now = opened(out)[SHEET]
    assert {place: now[place].value for place in before} == before
    assert now["D2"].value == 1
    formulas = sheet_xml.formulas(content.encode())
    assert formulas[4, 4] == before["D4"][1:]
    assert formulas[8, 4] == 'A8&"<"'


def test_another_cell_of_a_shared_formula(books: dict[str, Path], tmp_path: Path) -> None:
    path = with_formulas(books, tmp_path / "shared.xlsx", *SHARED)
    before = cells(opened(path))
    out = tmp_path / "out.xlsx"
    patch(path, [CellEdit(SHEET, 8, 4, "gone"), CellEdit(SHEET, 4, 4, None)], out=out)
    del before[SHEET, "D4"]
    assert cells(opened(out)) == before | {(SHEET, "D8"): "gone"}
    assert opened(out, results=True)[SHEET]["D5"].value == 11


@pytest.mark.parametrize("row", [2, 3, 4])
def test_part_of_a_formula_over_several_cells_is_refused(books: dict[str, Path], row: int, tmp_path: Path) -> None:
    path = with_formulas(
        books, tmp_path / "array.xlsx", ("D2", '<f t="array" ref="D2:D4">A2:A4*2</f>'),
        ("D3", ""), ("D4", ""),
    )  # fmt: skip
    before = path.read_bytes()
    with pytest.raises(LogFileError, match=rf"cell D{row} is part of a formula over several cells"):
        patch(path, [CellEdit(SHEET, row, 4, 1.0)])
    assert path.read_bytes() == before
    assert [one.name for one in tmp_path.iterdir()] == ["array.xlsx"]


def test_a_formula_over_one_cell_can_be_replaced(books: dict[str, Path], tmp_path: Path) -> None:
    """Programs write those for single results as well; nothing else belongs to them."""
    path = with_formulas(
        books, tmp_path / "array.xlsx", ("D2", '<f t="array" ref="D2">SUM(A2:A4*2)</f>'),
        ("D4", '<f t="array" ref="D4:D5">A4:A5*2</f>'), ("D5", ""),
    )  # fmt: skip
    patch(path, [CellEdit(SHEET, 2, 4, 1.0), CellEdit(SHEET, 3, 4, 2.0)])
    sheet = opened(path)[SHEET]
    assert (sheet["D2"].value, sheet["D3"].value) == (1, 2)
    assert sheet["D4"].value.ref == "D4:D5"


# ---- the sheet alone -----------------------------------------------------------------------------

HEAD = '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'


def sheet_of(rows: str, before: str = "") -> bytes:
    return f"{HEAD}{before}<sheetData>{rows}</sheetData></worksheet>".encode()


def rows_of(content: bytes) -> str:
    return content.decode().split("<sheetData>")[1].split("</sheetData>")[0]


def changed(content: bytes, cells: dict[tuple[int, int], Value], **more: Any) -> str:
    made = sheet_xml.with_cells(content, cells, quoted=lambda style: style + 100, **more)
    return rows_of(made.content)


ROW = '<row r="2" spans="1:3"><c r="A2" s="3"><v>1</v></c><c r="C2" s="4"/></row>'


@pytest.mark.parametrize(
    ("rows", "cells", "wanted"),
    [
        ("", {(1, 1): 1.0}, '<row r="1"><c r="A1"><v>1</v></c></row>'),
        (ROW, {(2, 2): 2.5}, ROW.replace(' spans="1:3"', "").replace('<c r="C2', '<c r="B2"><v>2.5</v></c><c r="C2')),
        (ROW, {(2, 3): True}, '<row r="2"><c r="A2" s="3"><v>1</v></c><c r="C2" s="4" t="b"><v>1</v></c></row>'),
        (ROW, {(2, 1): None}, '<row r="2"><c r="A2" s="3"/><c r="C2" s="4"/></row>'),
        (ROW, {(1, 2): 1}, '<row r="1"><c r="B1"><v>1</v></c></row>' + ROW),
        (ROW, {(3, 3): 1}, ROW + '<row r="3"><c r="C3" s="4"><v>1</v></c></row>'),
        (ROW, {(2, 28): 1}, '<row r="2"><c r="A2" s="3"><v>1</v></c><c r="C2" s="4"/><c r="AB2"><v>1</v></c></row>'),
        ('<row r="2"/>', {(2, 1): 1}, '<row r="2"><c r="A2"><v>1</v></c></row>'),
        ('<row r="9"><c r="C9"><v>1</v></c><c r="A9"><v>2</v></c></row>', {(9, 2): 3},
         '<row r="9"><c r="A9"><v>2</v></c><c r="B9"><v>3</v></c><c r="C9"><v>1</v></c></row>'),
        ('<row r="9"><c r="A9"><v>1</v></c><c r="A9"><v>2</v></c></row>', {(9, 1): 3},
         '<row r="9"><c r="A9"><v>3</v></c></row>'),
        ('<row r="9"><c r="A9"><v>1</v></c><c r="A9"><v>2</v></c></row>', {(9, 2): 3},
         '<row r="9"><c r="A9"><v>2</v></c><c r="B9"><v>3</v></c></row>'),
        ('<row r="3"><c r="A3"><v>3</v></c></row><row r="2"><c r="A2"><v>2</v></c></row>', {(2, 1): 4},
         '<row r="2"><c r="A2"><v>4</v></c></row><row r="3"><c r="A3"><v>3</v></c></row>'),
        ('<row r="3"><c r="a3"><v>3</v></c></row>', {(3, 1): 4}, '<row r="3"><c r="A3"><v>4</v></c></row>'),
        ("<row><c><v>1</v></c><c><v>2</v></c></row>", {(1, 2): 4},
         '<row r="1"><c r="A1"><v>1</v></c><c r="B1"><v>4</v></c></row>'),
    ],
)  # fmt: skip
def test_cells_find_their_place(rows: str, cells: dict[tuple[int, int], Value], wanted: str) -> None:
    assert changed(sheet_of(rows), cells) == wanted


@pytest.mark.parametrize(
    ("before", "wanted"),
    [
        ('<dimension ref="A1"/>', '<dimension ref="A1:C5"/>'),
        ('<dimension ref="B2:D9"/>', '<dimension ref="B2:D9"/>'),
        ('<dimension ref="D9:E10"/>', '<dimension ref="C5:E10"/>'),
    ],
)
def test_the_used_range_grows(before: str, wanted: str) -> None:
    made = sheet_xml.with_cells(sheet_of("", before), {(5, 3): 1.0}, quoted=lambda style: style)
    assert wanted in made.content.decode()
    assert made.formulas_changed is False


def test_a_sheet_without_rows() -> None:
    content = f"{HEAD}<sheetData/></worksheet>".encode()
    assert changed(content, {(1, 1): "x"}).startswith('<row r="1"><c r="A1" t="inlineStr">')


@pytest.mark.parametrize(
    ("day", "number", "from_1904"),
    [
        (dt.date(2026, 1, 31), "46053", False),
        (dt.date(2026, 1, 31), "44591", True),
        (dt.datetime(2026, 1, 31, 12), "46053.5", False),
        (dt.date(1900, 3, 1), "61", False),
        (dt.date(1900, 2, 28), "59", False),
        (dt.date(1900, 1, 1), "1", False),
        (dt.date(1904, 1, 1), "0", True),
    ],
)
def test_days_are_counted_as_the_format_counts_them(day: dt.date, number: str, from_1904: bool) -> None:
    """ECMA-376 Part 1, 18.17.4: 1 is 1900-01-01, 60 a 29 February that never was."""
    made = changed(sheet_of(""), {(1, 1): day}, counts_from_1904=from_1904)
    assert made == f'<row r="1"><c r="A1"><v>{number}</v></c></row>'


def test_a_changed_sheet_is_the_same_when_changed_again() -> None:
    content = sheet_of(ROW)
    cells: dict[tuple[int, int], Value] = {(2, 1): "=x", (4, 2): 1.5}
    once = sheet_xml.with_cells(content, cells, quoted=lambda style: style)
    again = sheet_xml.with_cells(once.content, cells, quoted=lambda style: style)
    assert again.content == once.content


Form = Callable[[bytes], bytes]
FORMS: dict[str, Form] = {
    "prefixes": lambda content: re.sub(rb"<(/?)(?=\w)", rb"<\1x:", content).replace(b"xmlns=", b"xmlns:x="),
    "utf-16": lambda content: ('<?xml version="1.0" encoding="UTF-16"?>' + content.decode()).encode("utf-16"),
    "comments": lambda content: content.replace(b"</c>", b"</c><!-- <c r='A2'><v>9</v></c> -->"),
    "cdata": lambda content: content.replace(b"<v>1</v>", b"<v><![CDATA[1]]></v>"),
    "other order": lambda content: re.sub(rb'<c (r="\w+") (s="\d+")', rb"<c \2 \1", content),
    "single quotes": lambda content: content.replace(b'"', b"'"),
    "line breaks": lambda content: content.replace(b"<c ", b"\n  <c ").replace(b"</row>", b"\n</row>"),
}


@pytest.mark.parametrize("form", FORMS.values(), ids=FORMS)
def test_other_forms_of_a_sheet(form: Form) -> None:
    content = form(sheet_of(ROW))
    made = changed(content, {(2, 2): 2.5})
    made = re.sub(r"\s+(?=<)", "", made)
    assert re.sub(r' spans="1:3"', "", made) == (
        '<row r="2"><c r="A2" s="3"><v>1</v></c><c r="B2"><v>2.5</v></c><c r="C2" s="4"/></row>'
    )
