"""The commands new, demo and recalc."""

from __future__ import annotations

import os

import openpyxl

from sheetfns.log.load import load_log
from tests.log.quick_logs import quick_log


def test_new_makes_an_empty_log(run, tmp_path):
    code, out, _ = run("new", "log.xlsx", "--rows", 20)
    assert code == 0
    assert "log.xlsx is ready: open it and begin with sheet Home." in out
    content = load_log(tmp_path / "log.xlsx")
    assert content.problems == []
    assert content.settings["As_of_date"] is None
    assert content.settings["First_month"].day == 1
    assert content.settings["Tax_year"] == content.settings["First_month"].year


def test_new_in_the_functions_edition(run, tmp_path):
    assert run("new", "log.xlsx", "--edition", "functions", "--rows", 20)[0] == 0
    sheet = openpyxl.load_workbook(tmp_path / "log.xlsx")["Sourcing log"]
    formulas = [str(cell.value) for cell in sheet[7]]
    assert any("NET_PROFIT(" in formula for formula in formulas)


def test_recalc_stores_results_and_keeps_a_copy(run, tmp_path):
    book = openpyxl.load_workbook(quick_log(tmp_path / "log.xlsx"))
    book["Sourcing log"]["E7"] = "A1"
    book.save(tmp_path / "log.xlsx")
    code, out, _ = run("recalc", "log.xlsx")
    assert code == 0
    assert "log.xlsx: recalculated, 0 cells with an error" in out
    assert len(os.listdir(tmp_path)) == 2
    shown = load_log(tmp_path / "log.xlsx").shown["Log"].iloc[0]
    assert shown["status"] == "In stock"
    assert "bought on is blank" in shown["row_check"]


def test_recalc_lists_errors_and_ends_with_code_1(run, tmp_path):
    book = openpyxl.Workbook()
    book.active["A1"] = "=BREAK_EVEN_PRICE(8,1,1,0,95%,0.5,10%)"
    book.save(tmp_path / "mine.xlsx")
    code, out, _ = run("recalc", "mine.xlsx")
    assert code == 1
    assert "Sheet!A1: #NUM!" in out
    assert "take the whole sale" in out


def test_recalc_of_a_log_says_which_cell_to_fix(run, tmp_path):
    book = openpyxl.load_workbook(quick_log(tmp_path / "log.xlsx"))
    sheet = book["Sourcing log"]
    column = [cell.value for cell in sheet[6]].index("Paid") + 1
    sheet["E7"] = "A1"
    sheet.cell(7, column).value = "$4.50"
    book.save(tmp_path / "log.xlsx")
    code, out, err = run("recalc", "log.xlsx")
    assert code == 1
    assert "Paid: '$4.50' is not a number; write 4.5" in err
    assert "Totals may leave out these cells" in out
    assert "=IF(" not in out + err


def test_demo(run, tmp_path):
    code, out, _ = run("demo")
    assert code == 0
    for text in ("Profit by month", "2025-07", "2026-09", "Best items", "Worst items"):
        assert text in out
    assert "Cash 915.62, inventory at cost 452.91." in out
    assert "Net profit of 2026 so far, after miles and home office: 917.59." in out
    assert out.count("all agree") == 2
    assert "0 errors" in out
    assert sorted(os.listdir(tmp_path / "sheetfns-demo")) == ["sourcing_log_functions.xlsx", "sourcing_log_plain.xlsx"]
    again, _, _ = run("demo")
    assert again == 0
