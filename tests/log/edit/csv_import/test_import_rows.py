"""Rows of a file against the rows of a log: what would become of each."""

from __future__ import annotations

import datetime as dt
import os
import shutil
from pathlib import Path

import openpyxl
import pytest

from sheetfns.errors import LogFileError
from sheetfns.log.edit import patch
from sheetfns.log.edit.csv_import import apply_import
from tests import EARLIER
from tests.log.edit.csv_import.importing import EXPENSES_MAP, ORDERS, ORDERS_MAP, SALES, SALES_MAP, changes, planned
from tests.log.filled_logs import full_entries, small_log
from tests.log.quick_logs import loaded


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_log(tmp_path_factory.mktemp("log") / "log.xlsx", inputs=full_entries())


@pytest.fixture
def log(made: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(made, tmp_path / "log.xlsx"))


@pytest.fixture
def log_with_orders(made: Path, tmp_path: Path) -> tuple[Path, int]:
    path = Path(shutil.copy(made, tmp_path / "log.xlsx"))
    book = loaded(made)
    sheet = book["Sourcing log"]
    place = sheet.max_column + 1
    for row, value in {6: "Order no.", 8: 1001, 9: "A-17", 10: "twice", 11: "twice"}.items():
        sheet.cell(row, place).value = value
    book.save(path)
    patch.refresh_values(path)[1].unlink()
    return path, place


def test_rows_are_sorted_by_what_becomes_of_them(log):
    before = log.read_bytes()
    plan = planned(log, SALES)
    assert changes(plan) == {
        ("P2", "Sold on"): dt.date(2026, 3, 3),
        ("P2", "Channel"): "Booth",
        ("P2", "Sale price"): 20.5,
        ("P2", "Fee charged"): 1.2,
        ("5", "Sold on"): dt.date(2026, 3, 5),
        ("5", "Channel"): "First site",
        ("5", "Sale price"): 12.0,
        ("5", "Fee charged"): 2.05,
    }
    first = plan.changes[0]
    assert (first.sheet, first.row, first.csv_row, first.old) == ("Sourcing log", 8, 2, None)
    (there,) = plan.already_there
    assert (there.csv_row, there.row, there.item) == (3, 9, "P3")
    assert [(one.csv_row, one.reason) for one in plan.unmatched] == [
        (6, "Item no. 'P9' is not on sheet Sourcing log"),
        (7, "Item no. is blank"),
    ]
    (conflict,) = plan.conflicts
    assert (conflict.csv_rows, conflict.row, conflict.item) == ((5,), 7, "P1")
    assert (conflict.header, conflict.log_value, conflict.csv_values) == ("Fee charged", 3.9, (3.8,))
    assert "the log has 3.90 in AG7, the file 3.80; the log's is kept" in conflict.reason
    (unreadable,) = plan.unreadable
    assert unreadable.csv_row == 8
    assert "Sold on: 'soon' is not a date" in unreadable.reason
    assert "Channel: 'Fair' is not on Settings; enter one of 'Booth', 'First site'" in (unreadable.reason)
    assert plan.counts == {
        "Rows in the file": 7,
        "Cells to fill": 8,
        "Rows of the log to fill": 2,
        "New rows": 0,
        "Already there": 1,
        "Not matched": 2,
        "In conflict": 1,
        "Unreadable": 1,
        "Rows not imported": 4,
    }
    assert log.read_bytes() == before
    assert sorted(os.listdir(log.parent)) == ["log.xlsx", "map.toml", "sales.csv"]


def test_blank_cells_and_words_for_them_change_nothing(log):
    text = "SKU,Sold at,Site,Price,Fee\nP1,--,,N/A,\nP2,,,--,-\n"
    plan = planned(log, text, '[file]\nblank_words = ["--", "n/a", "-"]\n' + SALES_MAP)
    assert plan.edits == ()
    assert [one.csv_row for one in plan.already_there] == [2, 3]
    assert len(planned(log, text).unreadable) == 2


def test_fixed_values_fill_and_contradict_like_others(log):
    text = "SKU,Price\nP2,20\nP3,20\nP1,20\n"
    map_text = (
        '[log]\nsheet = "sourcing  LOG"\nmatch = "item no."\n[columns]\n"Item no." = "sku"\n'
        '"Sale price" = "Price"\n[fixed]\n"channel" = "booth"\n"Sold on" = 2026-03-01\n'
    )
    plan = planned(log, text, map_text)
    assert changes(plan) == {
        ("P2", "Sale price"): 20.0,
        ("P2", "Channel"): "Booth",
        ("P2", "Sold on"): dt.date(2026, 3, 1),
    }
    assert {(one.item, one.header) for one in plan.conflicts} == {
        ("P3", "Sold on"),
        ("P1", "Channel"),
        ("P1", "Sold on"),
    }


def test_two_rows_about_one_item(log):
    text = (
        "SKU,Sold at,Site,Price,Fee\n"
        "P2,2026-03-03,Booth,20,\n"
        "P2,2026-03-03,Booth,,1.50\n"  # adds to it
        "5,2026-03-05,Booth,12,\n"
        "5,2026-03-05,Booth,13,\n"  # contradicts it
        "P4,2026-03-05,Booth,12,\n"
        "P4,nonsense,Booth,12,\n"  # who knows
    )
    plan = planned(log, text)
    assert changes(plan)["P2", "Sale price"] == 20
    assert changes(plan)["P2", "Fee charged"] == 1.5
    assert {one.item for one in plan.changes} == {"P2"}
    (conflict,) = plan.conflicts
    assert (conflict.csv_rows, conflict.log_value, conflict.csv_values) == ((4, 5), None, (12, 13))
    assert "rows 4 and 5 of the file are about '5', and say 12.00 and 13.00" in conflict.reason
    assert [one.csv_row for one in plan.unreadable] == [7]
    assert [one.csv_row for one in plan.unmatched] == [6]
    assert "row 7 of the file is about 'P4' too" in plan.unmatched[0].reason
    assert [row.csv_row for row in plan.left] == [4, 5, 6, 7]


def test_two_rows_of_the_log_with_one_number(made, tmp_path):
    log = tmp_path / "log.xlsx"
    patch.patch(made, [patch.CellEdit("Sourcing log", 9, 5, "p2")], out=log)
    plan = planned(log, SALES)
    assert "P2" not in {one.item for one in plan.changes}
    assert "is in rows 8, 9 of sheet Sourcing log" in plan.unmatched[0].reason


def test_limits_of_the_columns_hold(log):
    text = "SKU,Sold at,Site,Price,Fee\nP2,2026-03-03,Booth,-5,\n5,1905-03-03,Booth,5,5%\n"
    first, second = planned(log, text).unreadable
    assert "Sale price: -5 is below 0; write 0 or more" in first.reason
    assert 'minus_as_plus = ["Sale price"]' in first.reason
    assert "1905-03-03, which is outside the years 2000 to 2199" in second.reason
    assert "Fee charged: '5%' is a percentage" in second.reason


def test_amounts_with_a_minus_can_be_turned(log):
    text = "SKU,Sold at,Site,Price,Fee\nP2,2026-03-03,Booth,20,-1.25\n5,2026-03-03,Booth,20,1.25\n"
    map_text = SALES_MAP.replace("[columns]", 'minus_as_plus = ["Fee charged"]\n[columns]')
    plan = planned(log, text, map_text)
    assert changes(plan)["P2", "Fee charged"] == 1.25
    assert "Fee charged: -1.25 is below 0" in plan.unreadable[0].reason


def test_another_currency_than_the_logs_is_not_taken(log):
    text = (
        "SKU,Sold at,Site,Price,Fee\nP2,2026-03-03,Booth,20.50 EUR,\u20ac1.25\n"
        "5,2026-03-03,Booth,USD 20.50,\nP4,2026-03-03,Booth,\u00a320.50,\n"
    )
    plan = planned(log, text)
    assert changes(plan)["P2", "Sale price"] == 20.5
    assert [one.reason for one in plan.unreadable] == [
        "Sale price: 'USD 20.50' is in USD, and the log is in EUR",
        "Sale price: '\u00a320.50' is in \u00a3, and the log is in EUR",
    ]


def test_marks_that_cannot_be_told_refuse_the_file_until_the_map_states_them(log):
    text = "SKU;Sold at;Price\nP2;1/3/2026;1,234\n"
    map_text = SALES_MAP.replace('"Channel" = "Site"\n', "").replace('"Fee charged" = "Fee"\n', "")
    with pytest.raises(LogFileError, match=r"sales.csv: the decimal mark isn't clear"):
        planned(log, text, map_text)
    map_text = '[file]\ndecimal_mark = "."\n' + map_text
    with pytest.raises(LogFileError, match=r"sales.csv: the order of day and month isn't clear"):
        planned(log, text, map_text)
    plan = planned(log, text, map_text.replace("[file]\n", '[file]\ndate_order = "dmy"\n'))
    assert changes(plan) == {("P2", "Sold on"): dt.date(2026, 3, 1), ("P2", "Sale price"): 1234.0}
    shown = {one.label: one.value for one in plan.detected}
    assert shown["Decimal mark"] == "point '.' (stated in the map)"
    assert shown["Date order"] == "day, month, year (stated in the map)"
    text += "5;13/3/2026;12,50\n"
    with pytest.raises(LogFileError) as error:
        planned(log, text + "P4;1/3/2026;12.50\n", map_text.replace('decimal_mark = "."\n', ""))
    assert "a point in row 4, column 'Price' ('12.50')" in str(error.value)
    assert "a comma in row 3, column 'Price' ('12,50')" in str(error.value)
    plan = planned(log, text, map_text)
    assert [one.reason for one in plan.unreadable] == [
        "Sale price: '12,50' is not a number with the decimal mark point '.'"
    ]


def test_a_shortened_number_and_a_hidden_character(log):
    text = "SKU,Note\n1.23457E+11,x\nP2,a\x07b\n"
    map_text = '[log]\nsheet = "Sourcing log"\nmatch = "Item no."\n[columns]\n"Item no." = "SKU"\n"Missing or faulty" = "Note"\n'
    first, second = planned(log, text, map_text).unreadable
    assert "is a number that a spreadsheet program has shortened" in first.reason
    assert "holds an invisible character (U+0007)" in second.reason


def test_a_cell_with_a_formula_that_shows_nothing_is_kept(log):
    book = openpyxl.load_workbook(log)
    book["Sourcing log"]["AD8"] = '=IF(AA8="","",5)'
    book.save(log)
    safe = patch.refresh_values(log)[1]
    safe.unlink()
    plan = planned(log, "SKU,Sold at,Site,Price,Fee\nP2,2026-03-03,Booth,20,\n")
    assert "Sale price" not in {one.header for one in plan.changes}
    assert plan.conflicts[0].log_value == "a formula"


def test_rows_are_found_by_a_column_of_ones_own(log_with_orders):
    log, _ = log_with_orders
    plan = planned(log, ORDERS, ORDERS_MAP)
    assert changes(plan) == {
        ("P2", "Sold on"): dt.date(2026, 3, 3),
        ("P2", "Channel"): "Booth",
        ("P2", "Sale price"): 20.5,
        ("P3", "Fee charged"): 1.0,
    }
    assert [one.reason for one in plan.unmatched] == [
        "Order no. 'twice' is in rows 10, 11 of sheet Sourcing log, so it isn't clear which one is meant",
        "Order no. '1002' is not on sheet Sourcing log",
    ]
    assert apply_import(plan).new_problems == ()
    assert planned(log, ORDERS, ORDERS_MAP).edits == ()


def test_a_new_row_without_its_first_column(log):
    plan = planned(log, "Day,What,Paid\n,Tape,5\n2026-03-01,Pens,2\n", EXPENSES_MAP)
    assert plan.unreadable[0].reason == "Date is blank, and a new row needs it"
    assert len(plan.new_rows) == 1


def test_new_rows_that_do_not_fit_refuse_before_anything_is_written(log):
    before = log.read_bytes()
    lines = "".join(f"2026-03-01,no {number},1\n" for number in range(15))
    assert len(planned(log, "Day,What,Paid\n" + lines, EXPENSES_MAP).new_rows) == 15
    with pytest.raises(LogFileError) as error:
        planned(log, "Day,What,Paid\n" + lines + "2026-03-02,last,1\n", EXPENSES_MAP)
    assert "16 new rows do not fit on sheet Expenses, which has room for 15" in str(error.value)
    assert "'sheetfns upgrade log.xlsx --out NEW.xlsx --rows 17'" in str(error.value)
    assert log.read_bytes() == before


def test_the_number_of_rows_that_is_named_is_enough(log):
    lines = "".join(f"2026-03-01,no {number},1\n" for number in range(900))
    with pytest.raises(LogFileError, match=r"--rows 1802'"):
        planned(log, "Day,What,Paid\n" + lines, EXPENSES_MAP)
    plan = '[log]\nsheet = "Buying plan"\nnew_rows = true\n[columns]\n"Item" = "What"\n'
    with pytest.raises(LogFileError, match="cannot be made that long; import fewer rows"):
        planned(log, "Day,What,Paid\n" + lines, plan)


@pytest.mark.parametrize("path", sorted(EARLIER.glob("*.xlsx")), ids=lambda path: path.stem)
def test_an_older_log_that_lacks_something_has_to_be_renewed_first(path, tmp_path):
    log = Path(shutil.copy(path, tmp_path / "log.xlsx"))
    if path.stem >= "sourcing_log_0.4.0":  # lacks nothing of today's
        planned(log, SALES)
        return
    with pytest.raises(LogFileError, match=r"'sheetfns upgrade log.xlsx --out NEW.xlsx'"):
        planned(log, SALES)
