"""What a CSV file is: encoding, separator, headers, rows, and how it writes numbers and dates."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheetfns.errors import LogFileError
from sheetfns.log.edit.csv_import import csv_file
from sheetfns.log.edit.csv_import.csv_file import CsvFile, FileFacts, read_csv
from sheetfns.log.edit.csv_import.number_formats import (
    Cell,
    date_text,
    find_date_order,
    find_marks,
    number_of,
    number_text,
)

TEXT = "Number;Name;Price\n1;Café grün;12,50\n2;Vase, blau;4,00\n"


def read(folder: Path, content: str | bytes, **facts: object) -> CsvFile:
    path = folder / "sales.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_csv(path, FileFacts(**facts))  # type: ignore[arg-type]


def cells(file: CsvFile) -> list[list[str]]:
    return [list(row.cells) for row in file.rows]


def refusal(folder: Path, content: str | bytes, **facts: object) -> str:
    with pytest.raises(LogFileError) as error:
        read(folder, content, **facts)
    return str(error.value)


# ---- encoding ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("encoding", "shown"),
    [
        ("utf-8", "UTF-8 (every byte fits it)"),
        ("utf-8-sig", "UTF-8 (the file begins with its mark)"),
        ("utf-16", "UTF-16 (the file begins with its mark)"),
    ],
)
def test_certain_encodings(tmp_path, encoding, shown):
    file = read(tmp_path, TEXT.encode(encoding))
    assert file.headers == ("Number", "Name", "Price")
    assert cells(file) == [["1", "Café grün", "12,50"], ["2", "Vase, blau", "4,00"]]
    assert file.found[0].shown == shown


def test_utf_16_of_the_other_byte_order(tmp_path):
    content = b"\xfe\xff" + TEXT.encode("utf-16-be")
    assert cells(read(tmp_path, content))[0][1] == "Café grün"


@pytest.mark.parametrize(
    ("text", "encoding", "reads"),
    [
        (TEXT, "cp1252", "Café grün"),
        ("Nummer,Name\n1,Café\n", "cp1252", "Café"),
        ("Číslo;Název\n1;žluťoučký kůň\n", "cp1250", "žluťoučký kůň"),
        ("Номер;Имя\n1;Старая лампа\n", "cp1251", "Старая лампа"),
        ("No.;Name\n1;古いランプ\n2;花瓶\n", "shift_jis", "古いランプ"),
    ],
)
def test_other_encodings_are_suggested_with_a_sample_and_have_to_be_stated(tmp_path, text, encoding, reads):
    said = refusal(tmp_path, text.encode(encoding))
    assert "is not UTF-8 (line " in said
    assert "under [file] in the map" in said
    assert reads in said
    file = read(tmp_path, text.encode(encoding), encoding=encoding)
    assert reads in cells(file)[0][1]
    assert file.found[0].shown.endswith("(stated in the map)")


def test_a_stated_encoding_that_is_wrong(tmp_path):
    said = refusal(tmp_path, TEXT, encoding="cp1252")
    assert 'but the file is UTF-8; write encoding = "utf-8" or ""' in said
    said = refusal(tmp_path, TEXT.encode("cp1252"), encoding="utf-8")
    assert said.startswith("sales.csv, line 2: cannot be read as utf-8")
    assert "there is no such encoding" in refusal(tmp_path, TEXT, encoding="rot13")
    assert "did you mean 'cp1252'" in refusal(tmp_path, TEXT, encoding="cp125")
    assert read(tmp_path, "a,b\n1,2\n", encoding="cp1252").headers == ("a", "b")


def test_the_mark_of_the_file_is_more_certain_than_the_map(tmp_path):
    file = read(tmp_path, TEXT.encode("utf-8-sig"), encoding="cp1252")
    assert cells(file)[0][1] == "Café grün"
    assert "cp1252 in the map is not used" in file.found[0].shown


def test_nul_bytes(tmp_path):
    said = refusal(tmp_path, "a,b\n1,2\n3,\x004\n")
    assert said.startswith("sales.csv, line 3: holds a NUL byte")
    said = refusal(tmp_path, TEXT.encode("utf-16-le"))
    assert 'encoding = "utf-16-le"' in said
    file = read(tmp_path, TEXT.encode("utf-16-le"), encoding="utf-16-le")
    assert cells(file)[0][1] == "Café grün"


# ---- separator -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("mark", "name"), [(",", "comma"), (";", "semicolon"), ("\t", "tab"), ("|", "bar")])
def test_separators(tmp_path, mark, name):
    rows = [["Number", "Name", "Price"], ["1", "jug", "5.25"], ["2", "vase", "3"]]
    file = read(tmp_path, "".join(f"{mark.join(row)}\n" for row in rows))
    assert [list(file.headers), *cells(file)] == rows
    assert file.found[1].shown == f"{name} (3 columns)"


def test_decimal_commas_are_no_separators(tmp_path):
    file = read(tmp_path, "Name;Price\njug;12,50\nBowl, blue;3,40\n")
    assert cells(file) == [["jug", "12,50"], ["Bowl, blue", "3,40"]]
    assert file.found[1].value == ";"


def test_a_separator_that_cannot_be_told(tmp_path):
    content = "Name, long;Price, net\njug, red;12,50\nvase, old;3,40\n"
    said = refusal(tmp_path, content)
    assert 'comma (separator = "comma") or semicolon (separator = "semicolon")' in said
    assert cells(read(tmp_path, content, separator=";"))[0] == ["jug, red", "12,50"]


def test_a_line_that_states_the_separator_is_no_row(tmp_path):
    file = read(tmp_path, "sep=;\r\nName;Price, net\r\njug;5,0\r\n")
    assert (file.headers, file.header_row) == (("Name", "Price, net"), 2)
    assert file.rows[0].number == 3


def test_one_column(tmp_path):
    file = read(tmp_path, "Item no.\nP1\nP2\n")
    assert (file.headers, cells(file)) == (("Item no.",), [["P1"], ["P2"]])


# ---- headers and rows ----------------------------------------------------------------------------


def test_lines_before_the_headers(tmp_path):
    content = "Sales\n\nFrom,2026-01-01\n\nItem,Sold,Price\nP1,2026-02-01,5\nP2,2026-02-02,6\n"
    file = read(tmp_path, content)
    assert file.header_row == 5
    assert file.headers == ("Item", "Sold", "Price")
    assert [row.number for row in file.rows] == [6, 7]
    assert file.found[2].shown == "row 5 (4 rows above it left out)"
    assert read(tmp_path, content, header_row=5).headers == file.headers


def test_a_stated_header_row_that_holds_none(tmp_path):
    assert "row 3 should hold headers" in refusal(tmp_path, "a,b\n1,2\n3,4\n5,6\n", header_row=3)
    said = refusal(tmp_path, "a,b\n1,2\n", header_row=9)
    assert "row 9 has no headers, and the file has 2 rows" in said
    assert "row 1 should hold headers (found: '1, 2'" in refusal(tmp_path, "1,2\n3,4\n")
    assert "nothing below the headers in row 1" in refusal(tmp_path, "a,b\n\n")


def test_line_breaks_and_quotation_marks_in_cells(tmp_path):
    file = read(tmp_path, 'Name,Note\njug,"two\nlines"\n"5"" pipe",6" long\nvase,x\n')
    assert cells(file) == [["jug", "two\nlines"], ['5" pipe', '6" long'], ["vase", "x"]]
    assert [row.number for row in file.rows] == [2, 3, 4]


def test_a_quotation_mark_that_is_never_closed(tmp_path):
    content = 'Name,Note\njug,a\nvase,"b\n' + "cup,c\n" * 9
    said = refusal(tmp_path, content)
    assert said.startswith("sales.csv, row 3 (line 3): a quotation mark opens a cell there")
    said = refusal(tmp_path, content + "cup,c\n" * 40_000)
    assert said.startswith("sales.csv, row 3 (line 3): a quotation mark")


def test_rows_with_fewer_and_with_more_cells(tmp_path):
    file = read(tmp_path, "a,b,c\n1,2,3\n1,2\n1,2,3,4\n1,2,3,,\n\n,,\n")
    said = [file.misfit(row) for row in file.rows]
    assert [bool(one) for one in said] == [False, True, True, False]
    assert said[1].startswith("the row has 2 cells and the headers have 3")
    assert file.blank_rows == 2


def test_blank_headers_at_the_end_may_lack_cells(tmp_path):
    file = read(tmp_path, "a,b,,\n1,2,,\n1,2\n1,2,,\n")
    assert [file.misfit(row) for row in file.rows] == ["", "", ""]


def test_headers_that_stand_twice(tmp_path):
    assert read(tmp_path, "Price,Name, price\n1,x,2\n").twice() == {"price"}


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_line_ends(tmp_path, end):
    assert cells(read(tmp_path, f"a,b{end}1,2{end}3,4")) == [["1", "2"], ["3", "4"]]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty; export it again"),
        (b"\xef\xbb\xbf\r\n \r\n", "is empty; export it again"),
        (b"PK\x03\x04more", "is a workbook or another packed file, not a CSV file"),
        (bytes.fromhex("d0cf11e0a1b11ae1"), "is a workbook in the old format"),
        (b"%PDF-1.7", "is a PDF"),
        (b"\n<!DOCTYPE html><html>", "is a web page, not a CSV file"),
        (b"<table><tr><td>a</td></tr></table>", "is a web page"),
        (b'[{"item": 1}]', "is a data file of another kind (JSON)"),
    ],
)
def test_files_that_are_no_csv(tmp_path, content, words):
    assert words in refusal(tmp_path, content)


def test_files_that_are_not_there(tmp_path):
    with pytest.raises(LogFileError, match="there is no such file"):
        read_csv(tmp_path / "none.csv", FileFacts())
    with pytest.raises(LogFileError, match="is a folder"):
        read_csv(tmp_path, FileFacts())


def test_limits(tmp_path, monkeypatch):
    content = "a,b\n" + "1,2\n" * 100
    monkeypatch.setattr(csv_file, "MOST_ROWS", 40)
    assert "has more than 40 rows" in refusal(tmp_path, content)
    monkeypatch.setattr(csv_file, "MOST_BYTES", 100)
    assert "a CSV file may have 0 MB" in refusal(tmp_path, content)


def test_the_limits_themselves():
    assert csv_file.MOST_BYTES == 200 << 20
    assert csv_file.MOST_ROWS == 1_000_000


# ---- numbers -------------------------------------------------------------------------------------


def numbers(*texts: str, decimal: str = "", thousands: str = ""):
    found = [Cell(row, "Price", text) for row, text in enumerate(texts, 2)]
    return find_marks(found, decimal, thousands)[0]


@pytest.mark.parametrize(
    ("texts", "mark"),
    [
        (("1.234,56",), ","),
        (("12,50", "1.234"), ","),
        (("1,234.56",), "."),
        (("12.5", "1,234"), "."),
        (("1,234,567",), "."),
        (("1.234.567", "1,234"), ","),
        (("0,250",), ","),
        (("1234,567",), ","),
        (("1 234,567",), ","),
        (("1'234.50",), "."),
        (("12", "7"), ""),
    ],
)
def test_decimal_marks_that_are_certain(texts, mark):
    found = numbers(*texts)
    assert (found.value, found.doubt) == (mark, "")


def test_a_decimal_mark_that_cannot_be_told():
    found = numbers("5", "1,234", "2,500")
    assert "row 3, column 'Price' ('1,234') can be 1234 or 1.234" in found.doubt
    assert "decimal_mark" in found.doubt
    assert numbers("1,234", decimal=".").doubt == ""
    assert numbers("1,234", thousands=",").value == "."
    assert numbers("1,234", thousands=".").value == ","


def test_decimal_marks_that_contradict_each_other():
    found = numbers("12,50", "7", "12.50")
    assert "a point in row 4, column 'Price' ('12.50')" in found.doubt
    assert "a comma in row 2, column 'Price' ('12,50')" in found.doubt


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("$1,234.50", 1234.5),
        ("1,234.50\u00a0USD", 1234.5),
        ("US$ 4.50", 4.5),
        ("\u20ac\u202f4.50", 4.5),
        ("-3.20", -3.2),
        ("3.20-", -3.2),
        ("(3.20)", -3.2),
        ("-$3.20", -3.2),
        ("$-3.20", -3.2),
        ("($3.20)", -3.2),
        ("\u22123.20", -3.2),
        ("+3.20", 3.2),
        (".5", 0.5),
        ("12.", 12),
        ("1 234 567.5", 1234567.5),
    ],
)
def test_numbers_with_signs_around_them(text, value):
    number = number_text(text)
    assert number is not None
    assert number.sign * number_of(number.digits, ".") == value


@pytest.mark.parametrize(
    "text", ["", "-", "--", "n/a", "about 5", "5 items", "(5", "-(5)", "1e5", "$5 USD", "2026-03-01"]
)
def test_texts_that_are_no_numbers(text):
    assert number_text(text) is None


@pytest.mark.parametrize("digits", ["1.23.4", "12,34", "1,23,456", "1,234,5", "1 23", "1.2.3"])
def test_digits_that_do_not_fit_the_mark(digits):
    assert number_of(digits, ".") is None


@given(
    cents=st.lists(st.integers(0, 10**9), min_size=1, max_size=20),
    decimal=st.sampled_from(".,"),
    group=st.sampled_from(["", ".", ",", " ", "\u00a0", "'"]),
    around=st.sampled_from(["{}", "{} EUR", "$ {}", "{}\u00a0\u20ac"]),
)
def test_amounts_with_two_digits_are_always_read_as_they_were_meant(cents, decimal, group, around):
    if group == decimal:
        group = ""
    texts = []
    for amount in cents:
        whole, part = divmod(amount, 100)
        written = f"{whole:,}".replace(",", group)
        texts.append(around.format(f"{written}{decimal}{part:02d}"))
    mark = numbers(*texts)
    assert (mark.value, mark.doubt) == (decimal, "")
    read_back = [number_of(number_text(text).digits, decimal) for text in texts]  # type: ignore[union-attr]
    assert read_back == [amount / 100 for amount in cents]


# ---- dates ---------------------------------------------------------------------------------------


def order(*texts: str, stated: str = ""):
    found = [Cell(row, "Sold", text) for row, text in enumerate(texts, 2)]
    return find_date_order(found, stated)


@pytest.mark.parametrize(
    "text",
    [
        "2026-04-03",
        "2026/4/3",
        "20260403",
        "2026-04-03T23:59:59Z",
        "2026-04-03 08:15:00.000 +0200",
        "3 April 2026",
        "3-Apr-26",
        "03 Apr. 2026, 8:05 pm",
        "Apr 3, 2026",
        "April 3rd, 2026 at 20:05",
        "Fri, Apr 3, 2026",
        "10:22:11 Apr 3, 2026 PDT",
        "2026-Apr-03",
    ],
)
def test_certain_dates(text):
    date = date_text(text)
    assert date is not None
    assert date.day == dt.date(2026, 4, 3)


@pytest.mark.parametrize(
    "text", ["", "soon", "2026-13-01", "2026-02-30", "31 Feb 2026", "3/4", "46115", "5.25", "Mai 3 2026"]
)
def test_texts_that_are_no_dates(text):
    assert date_text(text) is None


@pytest.mark.parametrize(
    ("texts", "found", "day"),
    [
        (("3/4/2026", "25/4/2026"), "dmy", dt.date(2026, 4, 3)),
        (("3/4/2026", "4/25/2026"), "mdy", dt.date(2026, 3, 4)),
        (("3.4.26", "25.4.26 10:15"), "dmy", dt.date(2026, 4, 3)),
        (("3-4-2026", "12-31-2026 8:05 AM"), "mdy", dt.date(2026, 3, 4)),
    ],
)
def test_orders_that_one_cell_decides_for_all(texts, found, day):
    known, _ = order(*texts)
    assert (known.value, known.doubt) == (found, "")
    assert date_text(texts[0]).by(known.value) == day  # type: ignore[union-attr]


def test_an_order_that_cannot_be_told():
    known, _ = order("2026-01-05", "3/4/2026", "5/5/2026")
    assert "row 3, column 'Sold' ('3/4/2026') can be 2026-04-03 or 2026-03-04" in known.doubt
    assert 'date_order under [file] in the map, "dmy" or "mdy"' in known.doubt
    assert order("3/4/2026", stated="mdy")[0].value == "mdy"


def test_an_order_that_does_not_matter():
    known, _ = order("5/5/2026", "1/1/2026")
    assert known.doubt == ""


def test_orders_that_contradict_each_other():
    known, _ = order("25/4/2026", "1/1/2026", "4/26/2026")
    assert "the day is first in row 2, column 'Sold' ('25/4/2026')" in known.doubt
    assert "the month is first in row 4, column 'Sold' ('4/26/2026')" in known.doubt


def test_short_years_are_shown():
    known, years = order("25.4.26", "3.4.26")
    assert known.value == "dmy"
    assert years == "read as 20yy, so row 2, column 'Sold' ('25.4.26') is 2026-04-25"
    assert order("3-Apr-26")[1].endswith("is 2026-04-03")


def test_short_years_that_may_stand_first():
    known, _ = order("26-04-12", "26-04-15", "26-05-03")
    assert "the year may be first or last" in known.doubt
    assert date_text("26-04-12").by("ymd") == dt.date(2026, 4, 12)  # type: ignore[union-attr]
    assert order("26.04.26", "27.04.26")[0].value == "dmy"


@given(
    days=st.lists(st.dates(dt.date(2000, 1, 1), dt.date(2099, 12, 31)), min_size=1, max_size=15),
    written=st.sampled_from(["dmy", "mdy"]),
    mark=st.sampled_from("/.-"),
)
def test_dates_are_read_as_they_were_meant_or_not_at_all(days, written, mark):
    parts = [{"d": f"{day.day:02d}", "m": f"{day.month}", "y": f"{day.year}"} for day in days]
    texts = [mark.join(part[letter] for letter in written) for part in parts]
    known, _ = order(*texts)
    if not known.doubt:
        assert [date_text(text).by(known.value) for text in texts] == days  # type: ignore[union-attr]
    else:
        assert all(day.day <= 12 for day in days)
