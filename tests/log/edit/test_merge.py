"""Two copies of a log in files: nothing typed is lost, and what is one's own survives."""

from __future__ import annotations

import functools
import shutil
import zipfile
from pathlib import Path

import openpyxl
import pytest

from sheetfns.errors import LogFileError
from sheetfns.log.edit.conflicts import HEADERS
from sheetfns.log.edit.merge import merge_logs
from sheetfns.log.edit.merge_rows import MergeOutcome
from sheetfns.log.load import load_log
from tests.log.edit.merged_copies import edited, listed_values, typed_values
from tests.log.filled_logs import FEW_ROWS, full_entries, small_log
from tests.log.quick_logs import loaded, quick_log
from tests.log.random_logs import random_entries

LOG = "Sourcing log"
SEEDS = range(4)


@pytest.fixture(scope="module", params=SEEDS)
def copies(request, tmp_path_factory):
    """The last common copy and what two partners made of it."""
    folder = tmp_path_factory.mktemp("copies")
    inputs = random_entries(request.param, 14)
    made = {"base": inputs} | {who: edited(inputs, request.param, who) for who in ("mine", "theirs")}
    for who, one in made.items():
        quick_log(folder / f"{who}.xlsx", "plain", one, 40)
    return folder


@functools.cache
def typed_in(path):
    """What is typed in a copy, which no merge changes."""
    return typed_values(load_log(path))


@pytest.mark.parametrize(("with_base", "renumber"), [(False, True), (True, False)])
def test_every_typed_value_is_in_the_result_or_listed(copies, tmp_path, with_base, renumber):
    mine, theirs = copies / "mine.xlsx", copies / "theirs.xlsx"
    base = copies / "base.xlsx" if with_base else None
    out = tmp_path / "out.xlsx"
    merged = merge_logs(mine, theirs, out, base, renumber=renumber)
    assert merged.patched.not_recalculated == ""
    content = load_log(out)
    there, listed = typed_values(content), listed_values(out)
    for path in (mine, theirs):
        for key, header, value in typed_in(path):
            assert there[key, header, value] or listed[header, value], (path.name, key, header, value)
    again = tmp_path / "again.xlsx"
    report = merge_logs(out, theirs, again, base, renumber=renumber)
    assert (report.rows_added, report.cells_taken) == ({}, 0)
    assert typed_values(load_log(again)) == there
    # Rows without a number that resemble each other may be paired anew, and listed once more.
    assert not listed - listed_values(again)
    before = out.read_bytes()
    assert merge_logs(mine, theirs, out, base, renumber=renumber).patched.unchanged
    assert out.read_bytes() == before


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return small_log(tmp_path_factory.mktemp("whole") / "log.xlsx", "functions", full_entries())


def changed(whole, path, change):
    book = loaded(whole)
    change(book)
    book.save(path)
    return path


def place(sheet, header, row=6):
    return next(cell.column for cell in sheet[row] if cell.value == header)


def test_own_sheets_and_columns_survive(whole, tmp_path):
    def of_mine(book):
        book.create_sheet("My list")["A1"] = "keep me"
        book[LOG].cell(6, 120).value = "Shelf"
        book[LOG].cell(7, 120).value = "A-1"
        book[LOG].cell(6, 121).value = "Twice the price"
        book[LOG].cell(7, 121).value = "=2*N7"

    def of_theirs(book):
        book.create_sheet("Their list")["A1"] = "=1+1"
        book[LOG].cell(6, 120).value = "shelf"
        book[LOG].cell(8, 120).value = "B-2"
        book[LOG].cell(6, 121).value = "Mood"
        book[LOG].cell(7, 121).value = "good"
        book[LOG].cell(7, place(book[LOG], "Description")).value = "@SUM(A1)"

    mine = changed(whole, tmp_path / "mine.xlsx", of_mine)
    theirs = changed(whole, tmp_path / "theirs.xlsx", of_theirs)
    out = tmp_path / "out.xlsx"
    report = merge_logs(mine, theirs, out, whole)
    assert report.extra_sheets == ("Their list",)
    book = openpyxl.load_workbook(out)
    assert book["My list"]["A1"].value == "keep me"
    assert "Their list" not in book.sheetnames
    assert [book[LOG].cell(row, 120).value for row in (7, 8)] == ["A-1", "B-2"]
    assert book[LOG].cell(7, 121).value == "=2*N7"
    text = book[LOG].cell(7, place(book[LOG], "Description"))
    assert (text.value, text.data_type, text.quotePrefix) == ("@SUM(A1)", "s", True)
    lines = [[cell.value for cell in row] for row in book["Conflicts"].iter_rows()]
    assert tuple(lines[0]) == HEADERS
    assert [line[:4] + line[6:8] for line in lines if line[3] == "Mood"] == [
        [MergeOutcome.no_place, LOG, "P1", "Mood", "good", "theirs.xlsx"]
    ]
    assert [line[1] for line in lines if line[0] == MergeOutcome.other_sheet] == ["Their list"]


def test_parts_of_the_first_copy_stay_and_none_of_the_other_comes(whole, tmp_path):
    theirs = tmp_path / "theirs.xlsx"
    with zipfile.ZipFile(whole) as old, zipfile.ZipFile(theirs, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name))
        new.writestr("xl/vbaProject.bin", b"macro")
        new.writestr("xl/externalLinks/externalLink1.xml", b"<externalLink/>")
    out = tmp_path / "out.xlsx"
    merge_logs(whole, theirs, out)
    with zipfile.ZipFile(whole) as old, zipfile.ZipFile(out) as new:
        assert set(new.namelist()) == set(old.namelist())
        for name in old.namelist():
            if "drawings" in name or "charts" in name or "styles" in name:
                assert new.read(name) == old.read(name)


def test_the_later_day_of_figures_holds(whole, tmp_path):
    import datetime as dt

    def later(book):
        for row in book["Settings"].iter_rows(max_row=40):
            if row[0].value == "As of":
                row[1].value = dt.datetime(2026, 5, 1)

    theirs = changed(whole, tmp_path / "theirs.xlsx", later)
    for one, other in ((whole, theirs), (theirs, whole)):
        out = tmp_path / f"{one.stem}.out.xlsx"
        merge_logs(one, other, out)
        assert load_log(out).settings["As_of_date"] == dt.date(2026, 5, 1)


def test_two_items_under_one_number(tmp_path):
    inputs = full_entries()
    mine = quick_log(tmp_path / "mine.xlsx", inputs=inputs)
    row = inputs.rows["Log"][0]
    row |= {"description": "Quite another thing", "paid": 77.0, "found_at": "Elsewhere"}
    row["bought_on"] = row["bought_on"].replace(day=9)
    theirs = quick_log(tmp_path / "theirs.xlsx", inputs=inputs)
    listed = merge_logs(mine, theirs, tmp_path / "listed.xlsx")
    assert MergeOutcome.one_number in {one.outcome for one in listed.differences}
    assert listed.rows_added == {}
    merge_logs(mine, theirs, tmp_path / "out.xlsx", renumber=True)
    frame = load_log(tmp_path / "out.xlsx").sheets["Log"]
    new = frame[frame["description"] == "Quite another thing"]
    assert list(new["paid"]) == [77.0]
    assert list(new["item_no"]) != [inputs.rows["Log"][0]["item_no"]]


def test_rows_that_do_not_fit_are_refused_with_the_next_step(tmp_path):
    one, other = full_entries(), full_entries()
    template = {"description": "Cup", "bought_on": one.rows["Log"][0]["bought_on"], "paid": 1.0}
    free = FEW_ROWS - len(one.rows["Log"])
    other.rows["Log"] = other.rows["Log"] + [template | {"item_no": f"N{number}"} for number in range(free)]
    one.rows["Log"] = [*one.rows["Log"], template | {"item_no": "M1"}]
    mine = quick_log(tmp_path / "mine.xlsx", inputs=one)
    theirs = quick_log(tmp_path / "theirs.xlsx", inputs=other)
    with pytest.raises(LogFileError, match=r"upgrade mine\.xlsx --out NEW\.xlsx --rows N"):
        merge_logs(mine, theirs, tmp_path / "out.xlsx")
    assert not (tmp_path / "out.xlsx").exists()


def test_names_that_make_no_sense_are_refused(whole, tmp_path):
    copy = tmp_path / "copy.xlsx"
    shutil.copy(whole, copy)
    with pytest.raises(LogFileError, match="is named twice"):
        merge_logs(whole, whole, tmp_path / "out.xlsx")
    with pytest.raises(LogFileError, match="would be overwritten"):
        merge_logs(whole, copy, copy)
    with pytest.raises(LogFileError, match=r"ends in \.xlsx"):
        merge_logs(whole, copy, tmp_path / "out.ods")


@pytest.mark.parametrize("same_as", ["mine", "theirs"])
def test_the_last_common_copy_may_be_one_of_the_two(copies, tmp_path, same_as):
    """A partner who has changed nothing since names one file twice; a copy of it says the same."""
    mine, theirs = copies / "mine.xlsx", copies / "theirs.xlsx"
    base = copies / f"{same_as}.xlsx"
    apart = tmp_path / "apart.xlsx"
    shutil.copy(base, apart)
    merged = merge_logs(mine, theirs, tmp_path / "out.xlsx", base)
    wanted = merge_logs(mine, theirs, tmp_path / "wanted.xlsx", apart)
    assert merged.differences == wanted.differences
    assert typed_values(load_log(merged.path)) == typed_values(load_log(wanted.path))
    assert not [one for one in merged.differences if one.outcome is MergeOutcome.both_changed]
    if same_as == "theirs":
        # Nothing of it is new, but rows that only it still has stay, as always.
        missing = typed_in(mine) - typed_values(load_log(merged.path))
        assert not missing


def test_a_result_may_take_the_place_of_a_copy_that_is_the_base(whole, tmp_path):
    inputs = full_entries()
    inputs.settings["Shop_name"] = "Another name"
    theirs = quick_log(tmp_path / "theirs.xlsx", inputs=inputs)
    mine = tmp_path / "mine.xlsx"
    shutil.copy(whole, mine)
    before = mine.read_bytes()
    merged = merge_logs(mine, theirs, mine, mine)
    assert load_log(mine).settings["Shop_name"] == "Another name"
    assert merged.patched.copy.read_bytes() == before
    with pytest.raises(LogFileError, match="would be overwritten"):
        merge_logs(mine, theirs, theirs, mine)
    apart = tmp_path / "base.xlsx"
    shutil.copy(whole, apart)
    with pytest.raises(LogFileError, match="would be overwritten"):
        merge_logs(mine, theirs, apart, apart)


def test_an_older_log_is_upgraded_first(whole, tmp_path):
    older = "tests/log/earlier/sourcing_log_0.3.0.xlsx"
    # What is missing would be taken for the defaults of a new log, as if somebody had typed them.
    for copies in ((older, whole), (whole, older)):
        with pytest.raises(LogFileError, match="has layout 3 and is missing what was added since; run"):
            merge_logs(*copies, tmp_path / "out.xlsx")
    theirs = quick_log(tmp_path / "theirs.xlsx", "plain", full_entries())
    with pytest.raises(LogFileError, match=r"sheetfns upgrade sourcing_log_0\.3\.0\.xlsx"):
        merge_logs(whole, theirs, tmp_path / "out.xlsx", older)
    assert not (tmp_path / "out.xlsx").exists()


def test_a_log_in_the_words_of_its_time_is_upgraded_first(whole, tmp_path):
    last = Path("tests/log/earlier/sourcing_log_0.4.0.xlsx")
    for copies in ((last, whole), (whole, last)):
        with pytest.raises(LogFileError, match="has layout 4, whose words have changed since; run") as refused:
            merge_logs(*copies, tmp_path / "out.xlsx")
        assert "sheetfns upgrade" in str(refused.value)
    assert not (tmp_path / "out.xlsx").exists()


def test_the_result_may_be_the_first_copy(whole, tmp_path):
    mine = tmp_path / "mine.xlsx"
    shutil.copy(whole, mine)
    theirs = changed(
        whole,
        tmp_path / "theirs.xlsx",
        lambda book: setattr(book[LOG].cell(7, place(book[LOG], "Missing or faulty")), "value", "the lid, and a foot"),
    )
    before = mine.read_bytes()
    report = merge_logs(mine, theirs, mine, whole)
    assert report.patched.copy.read_bytes() == before
    assert load_log(mine).sheets["Log"]["missing"].iloc[0] == "the lid, and a foot"
    before = mine.read_bytes()
    report = merge_logs(mine, theirs, mine, whole)
    assert report.patched is None or report.patched.unchanged
    assert mine.read_bytes() == before
