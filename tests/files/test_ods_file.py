"""Cells, formulas and names of .ods workbooks, and what of them is refused."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from sheetfns.errors import LogFileError
from sheetfns.files import ods_file, packed_file
from sheetfns.files.ods_file import OdsFile
from sheetfns.files.sheet_cells import with_errors
from sheetfns.files.workbook_file import is_ods, open_workbook, refuse_ods
from sheetfns.hosts import engine
from tests.ods_books import MIMETYPE, book, cell, content, packed, row, sheet, text

BREAK, ANNOTATION = "<text:line-break/>", "<office:annotation><text:p>note</text:p></office:annotation>"


def number(value: str, formula: str = "") -> str:
    made_by = f'table:formula="{formula}" ' if formula else ""
    return cell(f'{made_by}office:value-type="float" office:value="{value}"')


def read_one(folder: Path, one: str) -> Any:
    with OdsFile(book(folder / "one.ods", sheet(row(one)))) as file:
        cells = with_errors(file.cells("S"), file.hidden("S"))
    return cells[0][0] if cells else ""


@pytest.mark.parametrize(
    ("one", "wanted"),
    [
        (number("25"), 25.0),
        (number("1.5E+3"), 1500.0),
        (cell('office:value-type="percentage" office:value="0.125"'), 0.125),
        (cell('office:value-type="currency" office:currency="XTS" office:value="4.5"'), 4.5),
        (cell('office:value-type="boolean" office:boolean-value="true"'), True),
        (cell('table:formula="of:=TRUE()" office:value-type="float" office:value="1"',
              "<text:p>1.00</text:p>"), True),
        (cell('office:value-type="date" office:date-value="2026-03-31"'), dt.date(2026, 3, 31)),
        (cell('office:value-type="date" office:date-value="2026-03-31T00:00:00"'),
         dt.date(2026, 3, 31)),
        (cell('office:value-type="date" office:date-value="2026-03-31T13:45:30"'),
         dt.datetime(2026, 3, 31, 13, 45, 30)),
        (cell('office:value-type="date" office:date-value="2026-02-30"'), "2026-02-30"),
        (cell('office:value-type="date" office:date-value="1899-12-30T13:45:30"'),
         dt.time(13, 45, 30)),
        (cell('office:value-type="time" office:time-value="PT13H45M30S"'), dt.time(13, 45, 30)),
        (cell('office:value-type="time" office:time-value="PT042H00M00S"'), dt.timedelta(hours=42)),
        (cell('office:value-type="time" office:time-value="-PT1H"'), dt.timedelta(hours=-1)),
        (text("plain"), "plain"),
        (text("a<text:s/> b  c\n d"), "a  b  c d"),
        (text('<text:s text:c="3"/>lead'), "   lead"),
        (text("one blank at the end "), "one blank at the end "),
        (text("\n   indented\n  "), "indented"),
        (text(f"a{BREAK}b<text:tab/>c"), "a\nb\tc"),
        (text("a <text:span>bold</text:span> <text:a>link</text:a>"), "a bold link"),
        (text("a</text:p><text:p/><text:p>c"), "a\n\nc"),
        (cell('office:value-type="string"', f"{ANNOTATION}<text:p>typed</text:p>"), "typed"),
        (cell("", ANNOTATION), ""),
        (cell('office:value-type="string" office:string-value="whole"', "<text:p>w</text:p>"),
         "whole"),
        (cell("", "<text:p>of no type</text:p>"), "of no type"),
        (text("#N/A"), "#N/A"),
    ],
)  # fmt: skip
def test_value(one: str, wanted: Any, tmp_path: Path) -> None:
    found = read_one(tmp_path, one)
    assert found == wanted
    assert type(found) is type(wanted)


@pytest.mark.parametrize(
    ("attributes", "shown", "code"),
    [
        ('table:formula="of:=1/0" office:value-type="string" office:string-value="" '
         'calcext:value-type="error"', "#DIV/0!", "#DIV/0!"),
        ('table:formula="of:=SQRT(-1)" office:value-type="string" office:string-value="#NUM!"',
         "#NUM!", "#NUM!"),
        ('table:formula="of:=x" office:value-type="float" office:value="0"', "Err:508", "Err:508"),
        ('office:value-type="string" calcext:value-type="error"', "#N/A", "#N/A"),
        ('table:formula="of:=1E999" office:value-type="float" office:value="inf"', "", "#NUM!"),
    ],
)  # fmt: skip
def test_error(attributes: str, shown: str, code: str, tmp_path: Path) -> None:
    found = read_one(tmp_path, cell(attributes, f"<text:p>{shown}</text:p>"))
    assert found.code == code


def test_formulas_and_what_was_never_calculated(tmp_path: Path) -> None:
    blank = cell('table:formula="of:=&quot;&quot;"', "<text:p/>")
    never = cell('table:formula="of:=SUM([.A1];2)"')
    path = book(tmp_path / "f.ods", sheet(row(number("3", "of:=[.A2]+1"), blank, never)))
    with OdsFile(path) as file:
        hidden = file.hidden("S")
        assert file.formulas("S") == {(1, 1): "A2+1", (1, 2): '""', (1, 3): "SUM(A1,2)"}
        assert file.cells("S") == [[3.0, "", ""]]
        assert file.size("S") == (1, 3)
    assert hidden.not_calculated == {2: [1]}
    assert hidden.calculated
    assert b"SUM(" in hidden.formulas


def test_repeated_cells_and_rows(tmp_path: Path) -> None:
    two = cell('table:number-columns-repeated="2" office:value-type="float" office:value="7"')
    covered = '<table:covered-table-cell table:number-columns-repeated="2"/>'
    empty = cell('table:number-columns-repeated="16380"')
    rows = row(two, covered, text("x"), empty, times=2) + row(empty, times=3) + row(number("1"))
    tail = row(empty, times=1_048_570)
    with OdsFile(book(tmp_path / "r.ods", sheet(rows + tail))) as file:
        cells = file.cells("S")
    assert cells == [
        [7.0, 7.0, "", "", "x"], [7.0, 7.0, "", "", "x"],
        *[[""] * 5] * 3,
        [1.0, "", "", "", ""],
    ]  # fmt: skip
    cells[0][0] = "changed"
    assert cells[1][0] == 7.0


def test_rows_in_groups_and_what_is_no_sheet(tmp_path: Path) -> None:
    group = f"<table:table-header-rows>{row(text('head'))}</table:table-header-rows>"
    group += f"<table:table-row-group>{row(text('in a group'))}</table:table-row-group>"
    nested = cell("", sheet(row(text("in a cell")), "Nested")) + text("beside it")
    cached = sheet(row(text("of another file")), "'file:///other.ods'#$S")
    links = f"<table:dde-links><table:dde-link>{sheet(row(text('x')), 'D')}</table:dde-link>"
    inside = sheet(group + row(nested)) + cached + f"{links}</table:dde-links>" + sheet("", "Bare")
    with OdsFile(book(tmp_path / "g.ods", inside)) as file:
        assert file.sheet_names == ["S", "Bare"]
        assert file.cells("S") == [["head", ""], ["in a group", ""], ["", "beside it"]]
        assert file.cells("Bare") == []
        assert file.size("Bare") == (0, 0)


def test_names_and_the_first_day(tmp_path: Path) -> None:
    def named(name: str, address: str) -> str:
        return f'<table:named-range table:name="{name}" table:cell-range-address="{address}"/>'

    own = f"<table:named-expressions>{named('Own', '$S.$A$2')}</table:named-expressions>"
    rate = '<table:named-expression table:name="Rate" table:expression="of:=[$S.$A$1]*2"/>'
    first_day = '<table:null-date table:date-value="1904-01-01"/>'
    inside = f"<table:calculation-settings>{first_day}</table:calculation-settings>"
    inside += sheet(row(number("1")), more=own)
    whole = named("Whole", "$S.$A$1:.$B$9")
    inside += f"<table:named-expressions>{whole}{rate}</table:named-expressions>"
    path = book(tmp_path / "n.ods", inside)
    with OdsFile(path) as file:
        assert file.defined_names == {"Whole": "'S'!$A$1:$B$9", "Rate": "'S'!$A$1*2"}
        assert file.local_names == [("S", "Own", "'S'!$A$2")]
        assert file.counts_from_1904
    other = book(tmp_path / "o.ods", first_day.replace("1904", "1900"))
    with pytest.raises(LogFileError, match="counts its days from 1900-01-01"):
        OdsFile(other)


def test_times_as_bare_numbers(tmp_path: Path) -> None:
    noon = cell('office:value-type="time" office:time-value="PT12H"')
    with OdsFile(book(tmp_path / "t.ods", sheet(row(number("1"), noon)))) as file:
        assert file.numbers("S", {"A1", "B1"}) == {"B1": 0.5}


def test_the_engine_works_it_out(tmp_path: Path) -> None:
    name = '<table:named-range table:name="Rate" table:cell-range-address="$S.$A$1"/>'
    day = cell('office:value-type="date" office:date-value="2026-03-31"')
    elsewhere = number("44", "of:=[&apos;file:///b.ods&apos;#$S.A1]")
    wrong = cell(
        'table:formula="of:=1/0" office:value-type="string" calcext:value-type="error"', "<text:p>#DIV/0!</text:p>"
    )
    inside = sheet(
        row(number("2"), day, text("=text"), number("0", "of:=Rate*3+[.B1]-[.$B$1]"), elsewhere)
        + row(number("0", "of:=NET_PROFIT(25;4;3.5;4.25;0.75;8)"), wrong)
    )
    inside += f"<table:named-expressions>{name}</table:named-expressions>"
    values = engine.recalculate(book(tmp_path / "e.ods", inside))
    assert values.value("S", 1, 4) == 6
    assert values.value("S", 1, 3) == "=text"
    assert values.value("S", 1, 5) == 44
    assert values.value("S", 2, 1) == 12.5
    assert values.value("S", 2, 2).code == "#DIV/0!"


# ---- what is refused -------------------------------------------------------------------------


def refusal(path: Path) -> str:
    with pytest.raises(LogFileError) as caught:
        open_workbook(path)
    message = str(caught.value)
    assert path.name in message
    assert "\n" not in message
    return message


def test_content_decides_what_a_file_is(tmp_path: Path) -> None:
    path = book(tmp_path / "book.xlsx", sheet(row(number("1"))))
    assert is_ods(path)
    with open_workbook(path) as file:
        assert file.cells("S") == [[1.0]]
    with pytest.raises(LogFileError) as caught:
        refuse_ods(path)
    assert str(caught.value) == (
        f"{path}: is an OpenDocument workbook (.ods), whatever its name says, which can be "
        "read but not changed; save it as an .xlsx workbook in your spreadsheet program, and run this "
        "again on that"
    )
    refuse_ods(tmp_path / "missing.ods")
    cut = tmp_path / "cut.ods"
    cut.write_bytes(path.read_bytes()[:200])
    refuse_ods(cut)
    damaged = packed(tmp_path / "damaged.ods", {"mimetype": MIMETYPE, "content.xml": "<cut"})
    with pytest.raises(LogFileError, match=r"damaged\.ods: is damaged or cut off"):
        refuse_ods(damaged)


@pytest.mark.parametrize(
    "parts",
    [
        {"META-INF/manifest.xml": "<manifest><encryption-data/></manifest>", "content.xml": b"\1"},
        {"encrypted-package": b"\1"},
    ],
)
def test_a_password(parts: dict[str, str | bytes], tmp_path: Path) -> None:
    path = packed(tmp_path / "locked.ods", {"mimetype": MIMETYPE} | parts)
    assert refusal(path) == (
        "locked.ods: is protected with a password; open it in your spreadsheet program, remove the password and save it"
    )


def test_another_kind_of_document(tmp_path: Path) -> None:
    letter = {"mimetype": MIMETYPE.replace("spreadsheet", "text"), "content.xml": "<o/>"}
    assert "is a text document, not a workbook" in refusal(packed(tmp_path / "l.ods", letter))


@pytest.mark.parametrize(
    ("inside", "words"),
    [
        (sheet(row(number("x"))), "is damaged or cut off"),
        (sheet(row(cell('table:number-columns-repeated="-1"'))), "where a number of columns"),
        (sheet(row(text('<text:s text:c="30000"/>' * 2))), "more blanks than a cell holds"),
        (sheet(row(text("<text:span>" * 150 + "x" + "</text:span>" * 150))), "nested too deep"),
        ("".join(sheet("", f"S{place}") for place in range(2001)), "more than 2000 sheets"),
        (sheet("") + sheet(""), "two sheets in it are named S"),
    ],
)
def test_what_cannot_be(inside: str, words: str, tmp_path: Path) -> None:
    assert words in refusal(book(tmp_path / "b.ods", inside))


def test_a_row_without_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ods_file, "_MOST_BETWEEN_ROWS", 1 << 17)
    rows = row(text("x"), *[cell()] * 400) * 20
    with open_workbook(book(tmp_path / "b.ods", sheet(rows))) as file:
        assert len(file.cells("S")) == 20
    path = book(tmp_path / "b.ods", sheet(row(text("x"), *[cell()] * 8000)))
    assert "one of its rows is longer than any workbook's" in refusal(path)


def test_a_part_that_is_cut_or_missing(tmp_path: Path) -> None:
    whole = content(sheet(row(number("1"))))
    cut = packed(tmp_path / "cut.ods", {"mimetype": MIMETYPE, "content.xml": whole[:-30]})
    assert "a part of it is not complete XML" in refusal(cut)
    gone = packed(tmp_path / "gone.ods", {"mimetype": MIMETYPE})
    assert "its part content.xml is missing" in refusal(gone)
    other = packed(tmp_path / "other.ods", {"mimetype": MIMETYPE, "content.xml": "<o/>"})
    assert "there is no workbook in it" in refusal(other)


def test_nothing_is_declared_or_fetched(tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("secret")
    head, rest = content(sheet(row(text("&x;")))).split("\n")
    entity = f'<!DOCTYPE o [<!ENTITY x SYSTEM "{secret.as_uri()}">]>'
    path = packed(tmp_path / "x.ods", {"mimetype": MIMETYPE, "content.xml": head + entity + rest})
    assert "has declarations of its own (a DTD)" in refusal(path)


@pytest.mark.parametrize(
    "rows",
    [
        row(number("1"), times=1_000_000),
        row(number("1", "of:=1"), times=190_000) * 6,
        row(cell('table:number-columns-repeated="16000"'), number("1")) + row("", times=1_000_000)
        + row(number("1")),
        "".join(row(cell('table:number-columns-repeated="16000" office:value-type="float" '
                         'office:value="1"')) for _ in range(1300)),
    ],
)  # fmt: skip
def test_what_would_take_too_much_memory(rows: str, tmp_path: Path) -> None:
    message = refusal(book(tmp_path / "far.ods", sheet(rows)))
    assert "on sheet S, cell " in message
    assert "clear that cell" in message


def test_all_sheets_together_have_a_limit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    many = "".join(sheet(row(number("1"), times=90), f"S{place}") for place in range(5))
    path = book(tmp_path / "m.ods", many)
    monkeypatch.setattr(ods_file, "MOST_CELLS", 10_000)
    with OdsFile(path) as file:
        assert len(file.sheet_names) == 5
    many = many.replace("office:value-type", 'table:number-columns-repeated="99" office:value-type')
    with pytest.raises(LogFileError, match="on sheet S1, cell CU90"):
        OdsFile(book(path, many))


def test_what_would_unpack_to_too_much(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packed_file, "SMALL", 1 << 20)
    path = book(tmp_path / "z.ods", " " * (2 << 20))
    assert "would unpack to 2 MB from 0 MB" in refusal(path)
