"""Everything wrong with a log is found in its place, and what is certain is fixed."""

from __future__ import annotations

import datetime as dt
import re
import shutil

import openpyxl
import pytest

from sheetfns.errors import LogFileError
from sheetfns.log.check import findings as check
from sheetfns.log.check.formulas import formula_faults
from sheetfns.log.check.report import FORMULAS, GROUPS, LOOK, check_log, fix_log, in_groups
from sheetfns.log.compare import Comparison, Difference
from sheetfns.log.edit.patch import CellEdit, _Changes, _copy_with
from sheetfns.log.load import load_log
from sheetfns.log.sheets.registry import layout_of
from tests.log.filled_logs import full_entries, small_log
from tests.log.libreoffice_in_turn import recalculate_all
from tests.log.quick_logs import loaded

LOG, HEADERS = "Sourcing log", 6


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    folder = tmp_path_factory.mktemp("check")
    return small_log(folder / "log.xlsx", "functions", full_entries())


@pytest.fixture(scope="module")
def report(whole):
    return check_log(whole)


@pytest.fixture
def broken(whole, tmp_path):
    """Gives a function that saves a copy of the log after changing it."""
    path = tmp_path / "broken.xlsx"

    def save(change):
        book = loaded(whole)
        change(book)
        book.save(path)
        return path

    return save


def column(sheet, header):
    return next(cell.column for cell in sheet[HEADERS] if cell.value == header)


def found(path, group=None):
    return found_in(check_log(path), group)


def found_in(report, group=None):
    return [
        (one.sheet, one.cell, one.key)
        for one in report.findings
        if one.key != "not_calculated" and one.group in (group or GROUPS)
    ]


def test_a_whole_log_has_only_what_is_worth_a_look(tmp_path, report):
    plain = check_log(small_log(tmp_path / "log.xlsx", "plain", full_entries()))
    for one in (plain, report):
        assert {finding.group for finding in one.findings} == {LOOK}
        assert {finding.key for finding in one.findings} == {"fee_differs", "count_differs"}
        assert fix_log(one) is None


def test_what_each_notice_says(report):
    messages = [finding.message for finding in report.findings]
    assert any(
        "P1: fee doesn't match the channel's terms: charged 3.9, terms give 4.15; check the" in words
        for words in messages
    )
    assert any("counted 314.56, the log has 338.2; count again" in words for words in messages)


def damage(book):
    sheet = book[LOG]
    profit, paid = column(sheet, "Net profit"), column(sheet, "Paid")
    sheet.cell(8, profit).value = 12.5
    sheet.cell(9, profit).value = "=1+1"
    sheet.cell(10, profit).value = None
    sheet.cell(7, paid).value = "12.50"
    sheet.cell(7, column(sheet, "Bought on")).value = "2026-01-05"
    book["Data checks"]["D8"].value = 0


def test_damaged_formulas_are_found_in_their_cells_and_put_back(broken, whole):
    path = broken(damage)
    report = check_log(path)
    groups = in_groups(report.findings)
    assert list(groups) == [group for group in GROUPS if group in groups]
    faults = found_in(report, {FORMULAS})
    letter = openpyxl.utils.get_column_letter(column(openpyxl.load_workbook(path)[LOG], "Net profit"))
    assert sorted(faults) == [
        ("Data checks", "D8", "formula_typed_over"),
        (LOG, f"{letter}10", "formula_gone"),
        (LOG, f"{letter}8", "formula_typed_over"),
        (LOG, f"{letter}9", "formula_changed"),
    ]
    before = path.read_bytes()
    done = fix_log(report)
    assert done.patched.copy.read_bytes() == before
    assert [key for _, _, key in found(path, {FORMULAS})] == []
    old, new = openpyxl.load_workbook(whole), openpyxl.load_workbook(path)
    for sheet in old:
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, str) and cell.value.startswith("="):
                    assert new[sheet.title][cell.coordinate].value == cell.value
    assert new[LOG].cell(7, column(new[LOG], "Paid")).value == 12.5
    assert new[LOG].cell(7, column(new[LOG], "Bought on")).value == dt.datetime(2026, 1, 5)


def test_what_is_not_certain_stays(broken):
    def change(book):
        paid = column(book[LOG], "Paid")
        book[LOG].cell(7, paid).value = "1,250"
        book[LOG].cell(8, paid).value = "about 5"
        book[LOG].cell(9, paid).value = "-3"

    path = broken(change)
    report = check_log(path)
    assert [one.cell[-1] for one in report.findings if one.key == "not_a_number"] == ["7", "8", "9"]
    assert fix_log(report) is None


def test_moved_columns_and_own_columns_are_no_fault(broken):
    def change(book):
        book[LOG].cell(HEADERS, 120).value = "Shelf no."
        book[LOG].cell(7, 120).value = "=A7"

    assert found(broken(change), {FORMULAS}) == []


def test_names_that_point_elsewhere_are_found(broken):
    def change(book):
        name = book.defined_names["Log_paid"]
        name.attr_text = "'Sourcing log'!$F$7:$F$22"
        del book.defined_names["Lots_paid"]

    keys = [(sheet, key) for sheet, _, key in found(broken(change), {FORMULAS})]
    assert (LOG, "name_changed") in keys
    assert ("Lots", "ready_rows_unknown") in keys or ("Lots", "name_changed") in keys


def test_rows_put_in_above_are_found(broken):
    def change(book):
        book["Trips"].insert_rows(6)
        for name in list(book.defined_names):
            if name.startswith("Trips_"):
                text = book.defined_names[name].attr_text
                book.defined_names[name].attr_text = text.replace("$7:", "$8:")

    report = check_log(broken(change))
    assert "rows_moved" in {key for _, _, key in found_in(report)}
    assert not [one for one in report.findings if one.sheet == "Trips" and one.repairs]


def test_a_title_over_the_limit_and_old_cautions(broken, monkeypatch):
    def change(book):
        desk = book["Listing desk"]
        for row in desk.iter_rows(max_col=1):
            if row[0].value == "Title":
                desk.cell(row[0].row, 2).value = "word " * 30

    monkeypatch.setattr(check, "table_rows", lambda _: [{"noted_on": "2020-01-01", "category": "Cribs"}])
    report = check_log(broken(change))
    words = {one.key: one.message for one in report.findings}
    assert "characters over the channel's limit of" in words["title_long"]
    assert "1 caution was looked up more than a year before" in words["caution_old"]


def test_stale_results_are_found(whole, tmp_path):
    path = tmp_path / "stale.xlsx"
    shutil.copy(whole, path)
    place = load_log(path).places["Log"]
    edit = CellEdit(LOG, 7, place.columns["sale_price"] + 1, 999.0)
    _copy_with(path, tmp_path / "new.xlsx", _Changes(path, (edit,), ()), None)
    report = check_log(tmp_path / "new.xlsx")
    words = {one.sheet: one.message for one in report.findings if one.key == "figures_differ"}
    assert re.match(r"\d+ figures on this sheet don't match their entries \(the first: \w", words[LOG])


def test_one_stale_result_is_one_figure(whole, monkeypatch):
    first = Difference("Pay", 0, "worth_words", "a", "b")
    monkeypatch.setattr(check, "compare", lambda _: Comparison(1, [first]))
    (one,) = [one for one in check_log(whole).findings if one.key == "figures_differ"]
    words = "1 figure on this sheet doesn't match its entries (worth words); "
    assert one.message.startswith(words)


def test_fixing_a_file_that_has_changed_since_is_refused(broken):
    path = broken(damage)
    report = check_log(path)
    path.write_bytes(path.read_bytes() + b" ")
    before = path.read_bytes()
    with pytest.raises(LogFileError, match="has changed since it was checked; run this again"):
        fix_log(report)
    assert path.read_bytes() == before


@pytest.mark.libreoffice
def test_a_log_that_libreoffice_saved_has_its_formulas(whole, tmp_path):
    plain = small_log(tmp_path / "plain.xlsx", "plain", full_entries())
    for saved in recalculate_all([plain, whole], tmp_path / "saved"):
        content = load_log(saved)
        assert formula_faults(content, content.edition, layout_of(content.ready_rows)) == []
