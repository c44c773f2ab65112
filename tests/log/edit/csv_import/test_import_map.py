"""The map: what it may say, what is wrong with it, and the first one that is written."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sheetfns.errors import LogFileError
from sheetfns.log.edit.csv_import import plan_import, read_map, write_draft_map
from sheetfns.log.load import load_log
from sheetfns.log.read.content import LogContent
from tests.log.filled_logs import full_entries, small_log

CSV = "Number,Day,Price,Note\nP2,2026-03-05,20.50,x\n"
LOG = '[log]\nsheet = "Sourcing log"\nmatch = "Item no."\n'
COLUMNS = '[columns]\n"Item no." = "Number"\n"Sale price" = "Price"\n'


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_log(tmp_path_factory.mktemp("log") / "log.xlsx", inputs=full_entries())


@pytest.fixture(scope="module")
def content(log: Path) -> LogContent:
    return load_log(log)


@pytest.fixture
def given_content(content: LogContent) -> Callable[[], LogContent]:
    """The content behind a short name, as examples that fail are printed with it."""
    return lambda: content


def written(folder: Path, text: str, csv: str = CSV) -> tuple[Path, Path]:
    (folder / "map.toml").write_text(text, encoding="utf-8")
    (folder / "sales.csv").write_text(csv, encoding="utf-8")
    return folder / "sales.csv", folder / "map.toml"


def refusal(folder: Path, log: Path, text: str, csv: str = CSV) -> str:
    csv_path, map_path = written(folder, text, csv)
    with pytest.raises(LogFileError) as error:
        plan_import(csv_path, log, map_path)
    return str(error.value)


def test_everything_that_a_map_may_say(tmp_path):
    _, path = written(
        tmp_path,
        '\ufeff[file]\nencoding = "cp1252"\nseparator = "tab"\ndecimal_mark = ","\n'
        'thousands_mark = "."\ndate_order = "d/m/y"\nheader_row = 3\nblank_words = ["--"]\n'
        '[log]\nsheet = "Expenses"\nmatch = ""\nnew_rows = true\nminus_as_plus = ["Amount"]\n'
        '[columns]\n"Date" = "Day"\n"Amount" = "Paid"\n"Description" = ""\n'
        '[fixed]\n"Heading" = "Other"\n"Paid from" = ""\n',
    )
    found = read_map(path)
    assert (found.file.encoding, found.file.separator) == ("cp1252", "\t")
    assert (found.file.decimal_mark, found.file.thousands_mark) == (",", ".")
    assert (found.file.date_order, found.file.header_row) == ("dmy", 3)
    assert found.file.blank_words == ("--",)
    assert (found.sheet, found.match, found.new_rows) == ("Expenses", "", True)
    assert found.minus_as_plus == ("Amount",)
    assert found.columns == {"Date": "Day", "Amount": "Paid"}
    assert found.fixed == {"Heading": "Other"}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (LOG + "[columns\n", "map.toml: is not a proper map: "),
        (LOG + "[columns\n", "line 4"),
        (LOG + LOG, "line 4"),
        (LOG + '[colums]\n"a" = "b"\n', "the map has no 'colums' (did you mean 'columns'?)"),
        ('columns = "a"\n' + LOG, "'columns' is a heading; write it as [columns]"),
        (LOG + "new_row = true\n" + COLUMNS, "[log]: there is no 'new_row' here (did you mean 'new_rows'?)"),
        ("[file]\nheader_row = 0\n" + LOG + COLUMNS, "header_row is not a row; write a whole number"),
        ('[file]\nheader_row = "3"\n' + LOG + COLUMNS, "header_row is not a row"),
        ('[file]\nseparator = "/"\n' + LOG + COLUMNS, "separator is '/'; write one of"),
        ('[file]\ndate_order = "ydm"\n' + LOG + COLUMNS, "date_order is 'ydm'; write one of"),
        ('[file]\ndecimal_mark = ","\nthousands_mark = ","\n' + LOG, "are the same; change one"),
        ('[file]\nblank_words = "--"\n' + LOG, "blank_words is not a list of texts"),
        (LOG + "new_rows = 1\n", "new_rows is neither true nor false"),
        ("[log]\nsheet = 3\n", "sheet is not text"),
        (COLUMNS, "sheet is missing"),
        (LOG + '[columns]\n"Item no." = 3\n', "'Item no.' names no column"),
        (LOG + COLUMNS + '[fixed]\n"Channel" = true\n', "'Channel' is not a text, number or date"),
    ],
)  # fmt: skip
def test_maps_that_mean_nothing(tmp_path, log, text, words):
    assert words in refusal(tmp_path, log, text)


def test_a_map_in_another_encoding(tmp_path):
    path = tmp_path / "map.toml"
    path.write_bytes('[log]\nsheet = "Café"\n'.encode("cp1252"))
    with pytest.raises(LogFileError, match=r"map.toml, line 2: is not UTF-8"):
        read_map(path)
    with pytest.raises(LogFileError, match="there is no such map"):
        read_map(tmp_path / "none.toml")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[log]\nsheet = "Sourcing"\n' + COLUMNS, "the log has no sheet 'Sourcing' (did you mean 'Sourcing log'?)"),
        ('[log]\nsheet = "Money"\n' + COLUMNS, "nothing can be imported into sheet 'Money'; write one of"),
        (LOG + '[columns]\n"Item no." = "Number"\n"Sale prise" = "Price"\n', "has no column 'Sale prise' (did you mean 'Sale price'?)"),
        (LOG + '[columns]\n"Item no." = "Number"\n"Net profit" = "Price"\n', "'Net profit' is calculated by the log and cannot be imported"),
        (LOG + '[columns]\n"Item no." = "Number"\n"Landed cost" = "Price"\n', "is calculated by the log"),
        (LOG + '[columns]\n"Item no." = "Numbre"\n"Sale price" = "Price"\n', "row 1 of sales.csv has no such header (did you mean 'Number'?)"),
        ('[log]\nsheet = "Sourcing log"\nmatch = "Order no."\n' + COLUMNS, "has no column 'Order no.'"),
        (LOG + '[columns]\n"Sale price" = "Price"\n', "rows are matched by 'Item no.', so write here"),
        ('[log]\nsheet = "Sourcing log"\n' + COLUMNS, "match is blank, and new_rows is not true"),
        (LOG, "[columns]: no column is named"),
        (LOG + '[columns]\n"Item no." = "Number"\n', "only the column that rows are matched by is named"),
        (LOG + COLUMNS + '[fixed]\n"sale price" = 3\n', "'Sale price' has two values in the map"),
        (LOG + COLUMNS + '"sale  price" = "Note"\n', "'Sale price' has two values in the map"),
        (LOG + COLUMNS + '[fixed]\n"Channel" = "Fair"\n', "Channel: 'Fair' is not on Settings; enter one of 'Booth', "
                                                          "'First site'"),
        (LOG + COLUMNS + '[fixed]\n"Sold on" = "soon"\n', "'Sold on' is 'soon'; write a date such as"),
        (LOG + COLUMNS + '[fixed]\n"Packaging" = "1,234"\n', "'Packaging' is '1,234'; write a number, without quotation marks"),
        (LOG + COLUMNS + '[fixed]\n"Packaging" = -1\n', "Packaging: -1 is below 0; write 0 or more"),
        (LOG + COLUMNS + '[fixed]\n"Packaging" = inf\n', "Packaging: not a finite number"),
        (LOG + COLUMNS + '[fixed]\n"Sold on" = 1905-03-01\n', "'Sold on' is 1905-03-01; write a date such as"),
        (LOG + COLUMNS + '[fixed]\n"Found at" = "Mill?"\n', "contains ?, which a spreadsheet reads as a wildcard"),
        (LOG + 'minus_as_plus = ["Fee charged"]\n' + COLUMNS, "minus_as_plus names 'fee charged', which is not a column of numbers"),
        ('[log]\nsheet = "Expenses"\nnew_rows = true\n[columns]\n"Amount" = "Price"\n', "new rows on sheet Expenses need 'Date'"),
    ],
)  # fmt: skip
def test_maps_that_do_not_fit(tmp_path, log, text, words):
    assert words in refusal(tmp_path, log, text)


def test_a_header_that_stands_twice_may_not_be_used(tmp_path, log):
    csv = "Number,Price,Price,Note\nP2,1,2,x\n"
    said = refusal(tmp_path, log, LOG + COLUMNS, csv)
    assert "'Price', a header that is duplicated in row 1 of sales.csv" in said
    text = LOG + '[columns]\n"Item no." = "Number"\n"Description" = "Note"\n'
    assert plan_import(*(written(tmp_path, text, csv)[0], log, tmp_path / "map.toml")).changes


# ---- the first map -------------------------------------------------------------------------------

EXPORT = (
    "SKU;Title;Date of sale;Sales price;Shipping charged;Site;Date;Amount\n"
    'P2;"Old ""jug"" \\ lid";25.3.2026;20,50;4,10;Booth;1/2/2026;1,234\n'
    "P3;Vase;3.3.2026;21,00;;First site;2/3/2026;2,345\n"
)


def test_a_first_map(tmp_path, content, log):
    csv = tmp_path / "sales.csv"
    csv.write_text(EXPORT.replace("1/2/2026", "").replace("2/3/2026", ""), encoding="utf-8")
    path = tmp_path / "map.toml"
    draft = write_draft_map(csv, content, path)
    assert draft.path == path
    assert draft.doubts == ()
    assert draft.suggested == {
        "Item no.": "SKU",
        "Description": "Title",
        "Sold on": "Date of sale",
        "Sale price": "Sales price",
        "Shipping charged": "Shipping charged",
    }
    shown = {one.label: one.value for one in draft.detected}
    assert shown["Separator"] == "semicolon (8 columns)"
    assert shown["Date order"].startswith("day, month, year")
    text = path.read_text(encoding="utf-8")
    parsed = tomllib.loads(text)
    assert parsed["columns"] == draft.suggested
    assert parsed["log"]["match"] == "Item no."
    assert all(parsed["file"][key] in ("", []) for key in parsed["file"])
    assert '# "" = "Site"  # such as Booth' in text
    assert '"Description" = "Title"  # such as Old "jug" \\ lid' in text
    plan = plan_import(csv, log, path)
    assert {(one.item, one.header) for one in plan.changes} >= {("P2", "Sold on"), ("P2", "Sale price")}


def test_what_cannot_be_told_is_left_blank_with_a_word_what_to_choose(tmp_path, content):
    csv = tmp_path / "sales.csv"
    csv.write_bytes("Größe;Date of sale;Price paid\nx;1/2/2026;1,234\n".encode("cp1252"))
    path = tmp_path / "map.toml"
    draft = write_draft_map(csv, content, path)
    assert len(draft.doubts) == 3
    assert "is not UTF-8" in draft.doubts[0]
    assert "can be 1234 or 1.234" in draft.doubts[1]
    assert "can be 2026-02-01 or 2026-01-02" in draft.doubts[2]
    text = path.read_text(encoding="utf-8")
    assert text.count("# CHOOSE, as the file doesn't show it:") == 3
    assert "# CHOOSE: nothing in the file looks like the first column" in text
    parsed = tomllib.loads(text)
    assert {parsed["file"][key] for key in ("encoding", "decimal_mark", "date_order")} == {""}
    assert '"" = "Größe"' in text


def test_odd_headers_are_written_so_that_they_can_be_read_again(tmp_path, content):
    csv = tmp_path / "sales.csv"
    csv.write_text('"Item ""no."" \\","Paid\x7f\t","two\nlines"\nP2,3,"x\ny"\n', encoding="utf-8")
    path = tmp_path / "map.toml"
    draft = write_draft_map(csv, content, path)
    parsed = tomllib.loads(path.read_text(encoding="utf-8"))
    assert parsed["columns"] == draft.suggested
    assert draft.suggested["Item no."] == 'Item "no." \\'
    assert draft.suggested["Paid"] == "Paid\x7f"


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    data=st.one_of(
        st.binary(max_size=60),
        st.text('ab1,;|\t\n\r" .-/\u00e9\u2028\x7f\x1c', max_size=80).map(str.encode),
        st.text("ab1;\n\u00e9", max_size=60).map(lambda text: text.encode("cp1252")),
    )
)
def test_whatever_the_file_holds_there_is_a_map_or_a_clear_refusal(tmp_path, given_content, data):
    csv = tmp_path / "sales.csv"
    csv.write_bytes(data)
    path = tmp_path / "map.toml"
    path.unlink(missing_ok=True)
    try:
        draft = write_draft_map(csv, given_content(), path)
    except LogFileError as error:
        refused, draft = str(error), None
    if draft is None:
        assert refused.startswith("sales.csv")
        assert not path.exists()
    else:
        assert tomllib.loads(path.read_text(encoding="utf-8"))["columns"] == draft.suggested


def test_a_map_is_never_written_over(tmp_path, content):
    csv_path, map_path = written(tmp_path, "mine")
    with pytest.raises(LogFileError, match="already exists and stays as it is"):
        write_draft_map(csv_path, content, map_path)
    assert map_path.read_text() == "mine"


def test_a_first_map_for_another_sheet(tmp_path, content):
    csv = tmp_path / "card.csv"
    csv.write_text("Date,Description,Amount\n2026-03-01,Tape,5.25\n", encoding="utf-8")
    draft = write_draft_map(csv, content, tmp_path / "map.toml", "Expenses")
    assert draft.suggested == {name: name for name in ("Date", "Description", "Amount")}
    assert tomllib.loads((tmp_path / "map.toml").read_text())["log"]["sheet"] == "Expenses"
