"""New rows: written once, where there is room, with what they are found by."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import openpyxl
import pytest

from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.edit import patch
from sheetfns.log.edit.csv_import import apply_import
from sheetfns.log.load import load_log
from tests.log.edit.csv_import.importing import EXPENSES, EXPENSES_MAP, changes, planned
from tests.log.filled_logs import full_entries, small_log


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_log(tmp_path_factory.mktemp("log") / "log.xlsx", inputs=full_entries())


@pytest.fixture
def log(made: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(made, tmp_path / "log.xlsx"))


@pytest.fixture
def log_with_orders(made: Path, tmp_path: Path) -> tuple[Path, int]:
    path = Path(shutil.copy(made, tmp_path / "log.xlsx"))
    book = openpyxl.load_workbook(path)
    sheet = book["Sourcing log"]
    place = sheet.max_column + 1
    for row, value in {6: "Order no.", 8: 1001, 9: "A-17", 10: "twice", 11: "twice"}.items():
        sheet.cell(row, place).value = value
    book.save(path)
    patch.refresh_values(path)[1].unlink()
    return path, place


def test_new_rows_write_the_reference_too_and_come_once(log_with_orders):
    log, place = log_with_orders
    text = (
        "Order,SKU,Bought,Paid\n1002,N1,2026-03-01,5\n=1003,N2,2026-03-02,6\n"
        "1001,P2,2026-02-26,8.25\n1002,N1,2026-03-01,5\n1004,P3,2026-03-02,6\n"
        "1005,N1,2026-03-02,6\n1006,,2026-03-02,6\n1007,N3,2026-03-02,7\n1007,N3,2026-03-02,8\n"
    )
    map_text = (
        '[log]\nsheet = "Sourcing log"\nmatch = "Order no."\nnew_rows = true\n[columns]\n'
        '"Order no." = "Order"\n"Item no." = "SKU"\n"Bought on" = "Bought"\n"Paid" = "Paid"\n'
        '[fixed]\n"Category" = "Books"\n'
    )
    plan = planned(log, text, map_text)
    assert [(one.row, one.item, one.csv_row) for one in plan.new_rows] == [(12, "N1", 2), (13, "N2", 3)]
    assert plan.new_rows[0].values == {
        "Category": "Books",
        "Order no.": "1002",
        "Item no.": "N1",
        "Bought on": dt.date(2026, 3, 1),
        "Paid": 5.0,
    }
    assert changes(plan) == {}
    assert [one.csv_row for one in plan.already_there] == [4, 5]
    assert [(one.csv_row, one.reason) for one in plan.unmatched] == [
        (6, "it would be a new row, but Item no. 'P3' is already in row 9 of sheet Sourcing log"),
        (7, "it would be a new row, but row 2 of the file has Item no. 'N1' too"),
    ]
    assert [one.csv_row for one in plan.unreadable] == [8]
    assert [one.csv_rows for one in plan.conflicts] == [(9, 10)]
    assert apply_import(plan).new_problems == ()
    cells = openpyxl.load_workbook(log)["Sourcing log"]
    assert [cells.cell(row, place).value for row in (12, 13)] == ["1002", "=1003"]
    assert cells.cell(13, place).data_type == "s"
    assert planned(log, text, map_text).edits == ()


def test_new_expenses_come_once_as_often_as_the_file_has_them(log):
    plan = planned(log, EXPENSES, EXPENSES_MAP)
    assert [one.row for one in plan.new_rows] == [8, 9, 10, 11]
    assert plan.new_rows[3].values == {"Heading": "Supplies", "Date": dt.date(2026, 3, 3), "Amount": 4.0}
    done = apply_import(plan)
    assert (done.new_rows, done.cells, done.left_path, done.new_problems) == (4, 15, None, ())
    content = load_log(log)
    assert content.sheets["Expenses"]["amount"].tolist() == [12.5, 5.25, 5.25, 12, 4]
    assert content.shown["Expenses"]["row_check"].tolist() == ["ok"] * 5
    assert compare(compute_log(content)).differences == []
    after = log.read_bytes()
    plan = planned(log, EXPENSES, EXPENSES_MAP)
    assert (plan.new_rows, len(plan.already_there)) == ((), 4)
    apply_import(plan)
    assert log.read_bytes() == after
    plan = planned(log, EXPENSES + "2026-03-01,tape,5.25\n", EXPENSES_MAP)
    assert [one.csv_row for one in plan.new_rows] == [6]


def test_a_blank_that_was_filled_in_since_does_not_bring_the_row_twice(log):
    apply_import(planned(log, EXPENSES, EXPENSES_MAP))
    patch.patch(log, [patch.CellEdit("Expenses", 11, 5, "Pens")])
    assert planned(log, EXPENSES, EXPENSES_MAP).new_rows == ()


def a_map(sheet: str, columns: dict[str, str], fixed: str = "") -> str:
    lines = "".join(f'"{header}" = "{source}"\n' for header, source in columns.items())
    return f'[log]\nsheet = "{sheet}"\nnew_rows = true\n[columns]\n{lines}[fixed]\n{fixed}\n'


def test_new_rows_on_other_sheets(log):
    lots = "L;D;P\nL-7;1/3/2026;30,50\nL-1;13/3/2026;3\n"
    lots_map = a_map("Lots", {"Lot no.": "L", "Bought on": "D", "Paid": "P"}, '"Paid from" = "bo"')
    plan = planned(log, lots, lots_map)
    assert [(one.row, one.item) for one in plan.new_rows] == [(8, "L-7")]
    assert "Lot no. 'L-1' is already in row 7 of sheet Lots" in plan.unmatched[0].reason
    assert apply_import(plan).new_problems == ()
    items = "N,Lot\nX2,l-7\nX3,L-99\n"
    items_map = a_map("Sourcing log", {"Item no.": "N", "Lot no.": "Lot"}, '"Expected price" = 9')
    plan = planned(log, items, items_map)
    assert plan.new_rows[0].values == {"Expected price": 9.0, "Item no.": "X2", "Lot no.": "L-7"}
    assert "Lot no.: 'L-99' is not on sheet Lots" in plan.unreadable[0].reason
    assert apply_import(plan).new_problems == ()
    content = load_log(log)
    assert content.problems == []
    assert content.shown["Log"]["landed_cost"].tolist()[-1] == 30.5
    assert compare(compute_log(content)).differences == []
    assert planned(log, lots, lots_map).edits == planned(log, items, items_map).edits == ()
