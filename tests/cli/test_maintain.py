"""The commands check, merge, import and upgrade as a user types them."""

from __future__ import annotations

import datetime as dt
import json
import os
import shutil

import pytest

from sheetfns.errors import LogFileError
from sheetfns.log.edit import patch
from sheetfns.log.load import load_log
from tests import EARLIER, EXAMPLES
from tests.log.edit.pocket_copies import with_finds
from tests.log.filled_logs import full_entries, small_log
from tests.log.quick_logs import loaded
from tests.ods_books import book, sheet

LOG = "Sourcing log"


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return small_log(tmp_path_factory.mktemp("keeping") / "log.xlsx", "plain", full_entries())


def cell(sheet, row, header):
    place = next(one.column for one in sheet[6] if one.value == header)
    return sheet.cell(row, place)


@pytest.fixture
def broken(whole, tmp_path):
    book = loaded(whole)
    cell(book[LOG], 8, "Net profit").value = 5
    cell(book[LOG], 7, "Paid").value = "3.50"
    book.save(tmp_path / "broken.xlsx")
    return tmp_path / "broken.xlsx"


def test_check_lists_counts_and_gives_1(run, broken):
    code, out, err = run("check", broken)
    assert (code, err) == (1, "")
    assert "Formulas and layout: 1\n" in out
    assert "Net profit: the formula was overwritten with a value; --fix restores it" in out
    assert "--fix can repair 2 cells: run this again with --fix." in out


def test_check_fixes_what_is_certain_and_lists_each_change(run, broken, whole):
    before = broken.read_bytes()
    code, out, _ = run("check", broken, "--fix")
    assert code == 1  # notices stay
    assert "3.5 instead of 3.50" in out
    assert "Fixed Sourcing log" in out
    copies = [name for name in os.listdir(broken.parent) if name.startswith("broken 2")]
    assert (broken.parent / copies[0]).read_bytes() == before
    code, out, _ = run("check", broken, "--fix")
    assert "nothing here can be fixed automatically" in out


def test_check_for_programs(run, broken):
    code, out, _ = run("check", broken, "--json")
    found = json.loads(out)
    assert code == 1
    assert found["count"] == sum(group["count"] for group in found["groups"].values())
    (fault,) = found["groups"]["Formulas and layout"]["findings"]
    assert (fault["key"], fault["found"], fault["certain"]) == ("formula_typed_over", "5", True)


def test_check_of_a_good_log_gives_0(run, tmp_path):
    run("new", "log.xlsx", "--rows", 20)
    code, out, err = run("check", "log.xlsx")
    assert (code, out, err) == (0, "log.xlsx: 0 errors, 0 warnings.\n", "")


def test_merge_says_what_it_did(run, whole, tmp_path):
    shutil.copy(whole, tmp_path / "mine.xlsx")
    book = loaded(whole)
    cell(book[LOG], 7, "Paid").value = 77
    book.create_sheet("Their list")["A1"] = "x"
    book.save(tmp_path / "theirs.xlsx")
    code, out, err = run("merge", "mine.xlsx", "theirs.xlsx", "--out", "both.xlsx")
    assert (code, err) == (0, "")
    assert "The two copies differ: 1\n" in out
    assert "Sourcing log, P1, Paid: kept " in out
    assert "not kept 77" in out
    assert "  Their list\n" in out
    assert "both.xlsx is ready." in out
    before = (tmp_path / "both.xlsx").read_bytes()
    _, out, _ = run("merge", "mine.xlsx", "theirs.xlsx", "--out", "both.xlsx")
    assert "both.xlsx: nothing to change." in out
    assert (tmp_path / "both.xlsx").read_bytes() == before


def test_merge_of_what_is_no_log(run, whole, tmp_path):
    (tmp_path / "text.xlsx").write_text("Item no.,Paid\n")
    code, out, err = run("merge", whole, "text.xlsx", "--out", "both.xlsx")
    assert (code, out) == (2, "")
    assert "text.xlsx: is not a workbook but text" in err
    assert os.listdir(tmp_path) == ["text.xlsx"]


def test_a_pocket_copy_goes_out_and_comes_home(run, whole, tmp_path):
    shutil.copy(whole, tmp_path / "shop.xlsx")
    code, out, err = run("pocket", "shop.xlsx")
    assert (code, err) == (0, "")
    assert "shop_pocket.xlsx is ready (" in out
    code, out, err = run("pocket", "shop.xlsx")
    assert (code, out) == (2, "")
    assert "shop_pocket.xlsx: already exists; merge the finds in it first" in err
    lamp = {"description": "Lamp", "paid": 4.5, "bought_on": dt.date(2026, 3, 2), "item_no": "P90"}
    with_finds(tmp_path / "shop_pocket.xlsx", tmp_path / "p.xlsx", lamp, {"description": "Cup", "item_no": "P91"})
    code, out, err = run("merge", "shop.xlsx", "p.xlsx")
    assert (code, err) == (1, "")
    assert "Sourcing log: 1 new row added.\n  P90 Lamp\n" in out
    assert "Not taken: 2 cells to fix in p.xlsx\n  Finds, E8: Paid is blank; enter the price" in out
    assert "shop.xlsx is ready. Backup: shop 2" in out
    with_finds(tmp_path / "shop_pocket.xlsx", tmp_path / "p.xlsx", lamp)
    code, out, err = run("merge", "shop.xlsx", "p.xlsx")
    assert (code, out, err) == (0, "In the log already: 1 find\nshop.xlsx: nothing to change.\n", "")


def test_merge_says_which_of_two_files_comes_first_and_where_the_result_goes(run, whole, tmp_path):
    run("pocket", whole, "--out", "pocket.xlsx")
    for words, said in (
        (("pocket.xlsx", whole), "pocket.xlsx: is a pocket copy; name the log first"),
        ((whole, "pocket.xlsx", "--renumber"), "leave --base and --renumber out"),
        ((whole, whole), "say with --out where the merged log goes"),
        ((whole, "none.xlsx"), "none.xlsx: there is no such file"),
    ):
        code, out, err = run("merge", *words)
        assert (code, out) == (2, "")
        assert said in err


def test_import_from_first_map_to_second_run(run, tmp_path):
    for name in ("sourcing_log_example.xlsx", "sales_export.csv", "sales_export_map.toml"):
        shutil.copy(EXAMPLES / name, tmp_path / name)
    log = tmp_path / "sourcing_log_example.xlsx"
    before = log.read_bytes()
    code, out, _ = run("import", "sales_export.csv", log, "--map", "first.toml")
    assert code == 0
    assert "first.toml is a first map" in out
    usual = ("import", "sales_export.csv", log, "--map", "sales_export_map.toml")
    code, out, _ = run(*usual)
    assert code == 0
    assert "Cells to fill: 41" in out
    assert "Nothing has been written yet; run this again with --apply." in out
    assert log.read_bytes() == before
    code, out, _ = run(*usual, "--apply")
    assert code == 0
    assert "41 cells written" in out
    assert "sales_export not imported.csv" in out
    before = log.read_bytes()
    _, out, _ = run(*usual, "--apply")
    assert "nothing to change" in out
    assert log.read_bytes() == before


def test_upgrade_of_an_older_log(run, tmp_path):
    old = EARLIER / "sourcing_log_0.3.0.xlsx"
    code, out, _ = run("upgrade", old, "--out", "new.xlsx", "--rows", 30)
    assert code == 0
    assert "new.xlsx is ready: 492 entries were carried over and compared with the old log." in out
    assert load_log(tmp_path / "new.xlsx").ready_rows["Log"] == 30


def test_a_result_that_could_not_be_worked_out_says_so(run, broken, monkeypatch):
    def refuse(_path):
        raise LogFileError("it is too large")

    monkeypatch.setattr(patch.engine, "recalculate", refuse)
    _, out, err = run("check", broken, "--fix")
    assert "Fixed Sourcing log" in out
    assert "will be calculated when you open it, not before: it is too large" in err


# ---- .ods ------------------------------------------------------------------------------------

REFUSAL = (
    "{}: is an OpenDocument workbook (.ods), which can be read but not changed; save it as an .xlsx "
    "workbook in your spreadsheet program, and run this again on that\n"
)


@pytest.mark.parametrize(
    "words",
    [
        ["check", "{}", "--fix"],
        ["recalc", "{}"],
        ["import", EXAMPLES / "sales_export.csv", "{}", "--map", "first_map.toml"],
        ["import", EXAMPLES / "sales_export.csv", "{}", "--map", EXAMPLES / "sales_export_map.toml"],
        ["merge", "{}", "theirs.xlsx", "--out", "result.xlsx"],
        ["merge", "{}", "theirs.xlsx", "--out", "result.ods"],
    ],
)  # fmt: skip
def test_what_changes_a_file_refuses_an_ods_in_one_line(run, tmp_path, words):
    log = book(tmp_path / "log.ods", sheet(""))
    before = log.read_bytes()
    assert run(*(str(word).format(log) for word in words)) == (2, "", REFUSAL.format(log))
    assert log.read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == ["log.ods"]


def test_merge_advises_no_name_that_cannot_be(run, whole, tmp_path):
    """A result is of the first copy's kind, which is told by what it is, not by its name."""
    named = tmp_path / "log.ods"
    shutil.copy(whole, named)
    code, _, words = run("merge", named, whole, "--out", "result.ods")
    assert code == 2
    assert words == (
        "log.ods: is an .xlsx workbook, whatever its name says; give the result a name that ends "
        "in .xlsx, or it may not open\n"
    )
    named.write_text("item,paid")
    code, _, words = run("merge", named, whole, "--out", "result.xlsx")
    assert words.startswith("log.ods: is not a workbook but text, such as CSV or a web page")
    code, _, words = run("merge", tmp_path / "none.ods", whole, "--out", "result.xlsx")
    assert "there is no such file; check name and folder" in words
    code, _, words = run("upgrade", whole, "--out", "new.ods")
    assert words == "new.ods: give the new log a name that ends in .xlsx or .xlsm\n"


def test_upgrade_takes_over_what_is_typed(run, tmp_path):
    code, _, err = run("upgrade", EXAMPLES / "sourcing_log_example.xlsx", "--out", "larger.xlsx", "--rows", 300)
    assert (code, err) == (0, "")
    old, new = load_log(EXAMPLES / "sourcing_log_example.xlsx"), load_log(tmp_path / "larger.xlsx")
    assert new.ready_rows["Log"] == 300
    for key, frame in old.sheets.items():
        assert new.sheets[key].equals(frame), key
    assert new.settings == old.settings
