"""What is written into the log and beside the file, and what stays when something fails."""

from __future__ import annotations

import datetime as dt
import os
import shutil
from pathlib import Path

import openpyxl
import pytest

from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.edit.csv_import import apply_import
from sheetfns.log.edit.csv_import.applying import harmless
from sheetfns.log.load import load_log
from tests.log.edit.csv_import.importing import EXPENSES_MAP, SALES, SALES_MAP, left_rows, planned
from tests.log.filled_logs import full_entries, small_log


@pytest.fixture(scope="module", params=["plain", "functions"])
def either_log(request, tmp_path_factory) -> Path:
    return small_log(tmp_path_factory.mktemp("log") / "log.xlsx", request.param, full_entries())


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_log(tmp_path_factory.mktemp("log") / "log.xlsx", inputs=full_entries())


@pytest.fixture
def log(made: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(made, tmp_path / "log.xlsx"))


def test_what_is_written_is_there_and_the_log_is_as_good_as_before(either_log, tmp_path):
    log = Path(shutil.copy(either_log, tmp_path / "log.xlsx"))
    before = log.read_bytes()
    done = apply_import(planned(log, SALES))
    assert (done.cells, done.new_rows, done.left_rows) == (8, 0, 4)
    assert (done.not_recalculated, done.new_problems) == ("", ())
    assert done.copy is not None
    assert done.copy.read_bytes() == before
    content = load_log(log)
    assert content.problems == []
    items = content.sheets["Log"].set_index("item_no")
    assert items.loc["P2", "sale_price"] == 20.5
    assert items.loc["P2", "sold_on"].date() == dt.date(2026, 3, 3)
    assert items.loc["P2", "channel"] == "Booth"
    assert items.loc["5", "fee_charged"] == 2.05
    assert items.loc["P1", "fee_charged"] == 3.9
    assert compare(compute_log(content)).differences == []
    cells = openpyxl.load_workbook(log)["Sourcing log"]
    channel, sold_on, price = (
        cells.cell(8, content.places["Log"].columns[key] + 1) for key in ("channel", "sold_on", "sale_price")
    )
    assert [channel.value, price.value] == ["Booth", 20.5]
    assert sold_on.is_date
    assert sold_on.value == dt.datetime(2026, 3, 3)
    rows = left_rows(done.left_path)
    assert rows[0] == ["SKU", "Sold at", "Site", "Price", "Fee", "Reason"]
    assert [row[0] for row in rows[1:]] == ["P1", "P9", "", "P4"]
    assert rows[2][:-1] == ["P9", "2026-03-09", "Booth", "3", ""]
    assert rows[2][-1] == "Item no. 'P9' is not on sheet Sourcing log"


def test_a_second_time_nothing_is_written(log):
    apply_import(planned(log, SALES))
    after = log.read_bytes()
    files = sorted(os.listdir(log.parent))
    plan = planned(log, SALES)
    assert (plan.changes, plan.new_rows, plan.edits) == ((), (), ())
    assert [one.csv_row for one in plan.already_there] == [2, 3, 4]
    done = apply_import(plan)
    assert (done.cells, done.copy, done.left_rows) == (0, None, 4)
    assert log.read_bytes() == after
    assert sorted(os.listdir(log.parent)) == files


def test_the_rows_that_were_left_can_be_fixed_and_brought_in_with_the_same_map(log):
    done = apply_import(planned(log, SALES))
    left = done.left_path
    text = left.read_text(encoding="utf-8-sig").replace("P4,soon,Fair,4", "P2,2026-03-03,Booth,20.50")
    plan = planned(log, text)
    assert [one.csv_row for one in plan.already_there] == [5]
    assert len(plan.unmatched) == 2


def test_a_file_of_left_rows_that_was_worked_on_is_kept(log):
    left = apply_import(planned(log, SALES)).left_path
    left.write_text("my notes", encoding="utf-8")
    apply_import(planned(log, SALES))
    kept = list(log.parent.glob("sales not imported *.csv"))
    assert [path.read_text(encoding="utf-8") for path in kept] == ["my notes"]


def test_texts_never_become_formulas(log):
    odd = ["=1+1", "@SUM(A1)", "+1", "-2+3", "\tx", "plain"]
    lines = [f'2026-03-0{at},"{text}",1.50' for at, text in enumerate(odd, 1)]
    plan = planned(log, "Day,What,Paid\n" + "\n".join(lines) + "\n", EXPENSES_MAP)
    done = apply_import(plan)
    assert done.new_problems == ()
    cells = openpyxl.load_workbook(log)["Expenses"]
    found = [cells.cell(row.row, 5) for row in plan.new_rows]
    assert [cell.value for cell in found] == [text.strip() for text in odd]
    assert {cell.data_type for cell in found} == {"s"}
    assert [cell.quotePrefix for cell in found] == [True] * 4 + [False] * 2


def test_cells_of_the_left_rows_are_harmless_too(log):
    header = "=SKU,Sold at,Site,Price,Fee"
    text = f'{header}\n"=cmd",2026-03-03,@x,-3.20,"-1+1"\nP9,2026-03-01,Booth,+5,\n'
    plan = planned(log, text, SALES_MAP.replace('"SKU"', '"=SKU"'))
    rows = left_rows(apply_import(plan).left_path)
    assert rows[0][0] == "'=SKU"
    assert rows[1][:-1] == ["'=cmd", "2026-03-03", "'@x", "-3.20", "'-1+1"]
    assert rows[2][3] == "'+5"


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-A1", "-1+1", "-", "@x", "\tx", "\rx", "-1 and more"])
def test_what_is_made_harmless(cell):
    assert harmless(cell) == f"'{cell}"


@pytest.mark.parametrize("cell", ["-3.20", "-3,20", "-1 234,50", "-1'234.50", "-5", "", "x=1", "5"])
def test_what_is_harmless(cell):
    assert harmless(cell) == cell
