"""Older and damaged logs come into the current layout with everything that is typed, or a list."""

from __future__ import annotations

import functools
from unittest import mock

import openpyxl
import pytest

from sheetfns.errors import LogFileError
from sheetfns.log.edit import upgrade
from sheetfns.log.edit.upgrade import LEFT_OVER, upgrade_log
from sheetfns.log.load import load_log
from tests.log.filled_logs import few_rows, full_entries, small_log
from tests.log.quick_logs import loaded

LOG = "Sourcing log"
EARLIER = ["0.1.0", "0.2.0", "0.3.0", "0.4.0", "6"]


@pytest.fixture(scope="module", autouse=True)
def _words_of_a_new_log_once():
    """They are the same each time, and a log is built for them."""
    with mock.patch.object(upgrade, "_known_texts", functools.cache(upgrade._known_texts)):
        yield


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return small_log(tmp_path_factory.mktemp("upgrade") / "log.xlsx", "functions", full_entries())


@pytest.fixture
def damaged(whole, tmp_path):
    """Gives a function that upgrades a copy of the log after changing it.

    Into few ready rows; the earlier versions are upgraded into those that a log has of itself.
    """

    def change_and_upgrade(change, **how):
        book = loaded(whole)
        change(book)
        book.save(tmp_path / "old.xlsx")
        with few_rows():
            return upgrade_log(tmp_path / "old.xlsx", tmp_path / "new.xlsx", **how)

    return change_and_upgrade


def left_over(path):
    sheet = openpyxl.load_workbook(path)[LEFT_OVER]
    return [[cell.value for cell in row] for row in sheet.iter_rows(min_row=2)]


def same_entries(report, but=()):
    old, new = report.old.inputs(), load_log(report.path).inputs()
    for key, rows in old.rows.items():
        assert key in but or new.rows[key] == rows, key
    assert new.settings == old.settings
    return new


@pytest.mark.parametrize("version", EARLIER)
def test_earlier_versions(version, tmp_path):
    report = upgrade_log(f"tests/log/earlier/sourcing_log_{version}.xlsx", tmp_path / "new.xlsx")
    same_entries(report)
    assert (report.left_over, report.own_columns, report.own_sheets) == ((), (), ())
    assert not {"older_layout"} & {one.key for one in load_log(report.path).problems}


def test_a_whole_log_is_the_same_again(damaged, whole):
    report = damaged(lambda _: None, rows=60, edition="plain")
    same_entries(report)
    content = load_log(report.path)
    assert (content.ready_rows["Log"], content.edition) == (60, "plain")
    assert LEFT_OVER not in content.sheet_names


def test_own_columns_and_sheets_come_along_as_values(damaged):
    def change(book):
        sheet = book[LOG]
        sheet.cell(6, 120).value = "Shelf"
        sheet.cell(8, 120).value = "=1+1 is a text"
        sheet.cell(15, 120).value = "alone"
        own = book.create_sheet("My list")
        own["B2"], own["B3"] = 4.5, "=B2*2"

    report = damaged(change)
    assert report.own_columns == (f"{LOG}: Shelf",)
    assert report.own_sheets == ("My list",)
    cells = load_log(report.path).own_cells["Log"]
    assert "alone" in cells.values()
    book = openpyxl.load_workbook(report.path)
    assert book["My list"]["B2"].value == 4.5
    assert left_over(report.path)[0][:3] == ["My list", "B3", "=B2*2"]


def test_values_in_place_of_formulas_are_listed(damaged):
    def change(book):
        sheet = book[LOG]
        place = next(cell.column for cell in sheet[6] if cell.value == "Net profit")
        sheet.cell(8, place).value = 99.5

    report = damaged(change)
    (line,) = left_over(report.path)
    assert (line[0], line[2]) == (LOG, "99.5")
    assert line[3] == "replaced the formula of 'Net profit'"


def rename(sheet, old, new):
    for row in sheet.iter_rows():
        for cell in row:
            if cell.value == old:
                cell.value = new
                return


@pytest.mark.parametrize(
    ("change", "lost"),
    [
        (lambda book: book.remove(book["Trips"]), {"Trips"}),
        (lambda book: book.remove(book["Data checks"]), set()),
        (lambda book: book.remove(book["Start"]), set()),
        (lambda book: book.remove(book["Year end"]), set()),
        (lambda book: rename(book["Settings"], "Boxes and mailers", None), set()),
        (lambda book: rename(book["Settings"], "Shop name", None), set()),
        (lambda book: book.defined_names.clear(), set()),
        (lambda book: rename(book["Shelf check"], "Price tag", "Price tag"), set()),
    ],
)
def test_damage(damaged, whole, change, lost):
    report = damaged(change)
    whole_rows = load_log(whole).inputs()
    new = load_log(report.path).inputs()
    for key, rows in whole_rows.rows.items():
        if key not in lost:
            assert new.rows[key] == rows, key
    assert new.blocks["Box"] == whole_rows.blocks["Box"]


def test_a_column_without_its_header_comes_along_as_ones_own(damaged):
    report = damaged(lambda book: rename(book["Expenses"], "Amount", "How much"))
    assert report.own_columns == ("Expenses: How much",)
    assert "missing_column" in {one.key for one in report.old.problems}
    amounts = [row["amount"] for row in full_entries().rows["Expenses"] if "amount" in row]
    assert sorted(load_log(report.path).own_cells["Expenses"].values()) == sorted(amounts)


def test_a_sheet_without_any_header_comes_along_as_a_sheet(damaged):
    report = damaged(lambda book: book["Trips"].delete_rows(1, 6))
    assert report.own_sheets == ("Trips (old)",)
    values = [c.value for row in openpyxl.load_workbook(report.path)["Trips (old)"] for c in row]
    assert {"Buying", "Home"} & set(values)


def test_text_beside_the_log_is_listed(damaged):
    def change(book):
        book["Settings"]["K20"] = "call the bank"
        book["Shelf check"]["H9"] = 12

    lines = left_over(damaged(change).path)
    assert ["Settings", "K20", "call the bank"] in [line[:3] for line in lines]
    assert ["Shelf check", "H9", "12"] in [line[:3] for line in lines]


def test_names_that_make_no_sense_are_refused(whole, tmp_path):
    with pytest.raises(LogFileError, match="already exists; choose another name"):
        upgrade_log(whole, whole)
    with pytest.raises(LogFileError, match=r"a name that ends in \.xlsx"):
        upgrade_log(whole, tmp_path / "new.ods")
    other = tmp_path / "other.xlsx"
    openpyxl.Workbook().save(other)
    with pytest.raises(LogFileError, match="none of its sheets is one of a sourcing log"):
        upgrade_log(other, tmp_path / "new.xlsx")
    assert not (tmp_path / "new.xlsx").exists()
