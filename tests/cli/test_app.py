"""The commands as a seller runs them: what they say, what they write, and their exit codes."""

from __future__ import annotations

import csv
import importlib
import io
import os
import subprocess
import sys

import openpyxl
import pytest

from sheetfns import __version__
from sheetfns.cli.app import COMMANDS
from sheetfns.log.load import load_log
from sheetfns.pages.reference import function_table
from sheetfns.registry import REGISTRY
from tests import ROOT
from tests.log.quick_logs import quick_log
from tests.log.random_logs import random_entries

EXAMPLE = ROOT / "examples" / "sourcing_log_example.xlsx"


def test_new_makes_an_empty_log(run, tmp_path):
    code, out, _ = run("new", "log.xlsx", "--rows", 20)
    assert code == 0
    assert "log.xlsx is ready: open it and begin with sheet Start." in out
    content = load_log(tmp_path / "log.xlsx")
    assert content.problems == []
    assert content.settings["As_of_date"].day >= content.settings["First_month"].day == 1
    assert content.settings["Tax_year"] == content.settings["As_of_date"].year


def test_new_in_the_functions_edition(run, tmp_path):
    assert run("new", "log.xlsx", "--edition", "functions", "--rows", 20)[0] == 0
    sheet = openpyxl.load_workbook(tmp_path / "log.xlsx")["Sourcing log"]
    formulas = [str(cell.value) for cell in sheet[7]]
    assert any("NET_PROFIT(" in formula for formula in formulas)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["new", "log.ods"], "log.ods: give the new file a name that ends in .xlsx"),
        (["new", "there.xlsx"], "there.xlsx: is there already; choose another name"),
        (["new", "log.xlsx", "--rows", "0"], "rows: 0 is not between 1 and 90000"),
        (["new", "none/log.xlsx", "--rows", "5"], "none/log.xlsx: cannot be written"),
        (["summary", "none.xlsx", "--year", "2026"], "none.xlsx: there is no such file"),
        (["summary", "there.xlsx", "--year", "2026"], "there.xlsx: is not a workbook but text"),
        (["recalc", "there.xlsx"], "there.xlsx: is not a workbook but text"),
        (["recalc", "none.xlsx"], "none.xlsx: there is no such file"),
        (["functions", "NO_SUCH"], "NO_SUCH: is not a worksheet function"),
        (["demo", "there.xlsx"], "there.xlsx: cannot be made"),
    ],
)
def test_what_cannot_be_done_gets_one_line_and_code_2(run, tmp_path, words, message):
    (tmp_path / "there.xlsx").write_text("Item no.,Paid\n")
    code, out, err = run(*words)
    assert code == 2
    assert message in err
    assert len(err.strip().splitlines()) == 1
    assert out.strip() == ""
    assert os.listdir(tmp_path) == ["there.xlsx"], "nothing is written"
    assert (tmp_path / "there.xlsx").read_text() == "Item no.,Paid\n"


def test_summary_of_the_example(run):
    code, out, err = run("summary", EXAMPLE, "--year", 2026)
    assert code == 0
    assert err == ""
    for text in ("Gross receipts", "4,896.75", "Cost of goods sold", "27b", "992.59", "917.59"):
        assert text in out
    assert "not tax advice" in out


def test_summary_as_csv(run):
    code, out, _ = run("summary", EXAMPLE, "--year", 2026, "--csv")
    assert code == 0
    rows = {row["line"]: row for row in csv.DictReader(io.StringIO(out))}
    assert rows["Net profit or loss"]["amount"] == "917.59"
    assert rows["Other expenses"]["line_no"] == "27b"
    expenses = sum(float(row["amount"]) for row in rows.values() if row["line_no"] in EXPENSE_LINES)
    assert expenses == pytest.approx(float(rows["Total expenses"]["amount"]))


EXPENSE_LINES = {"8", "9", "10", "11", "13", "15", "16b", "17", "18", "20b", "21", "22", "23", "24a", "25", "27b"}


def test_summary_says_what_it_leaves_out(run, tmp_path):
    entries = random_entries(1, 16)
    entries.rows["Log"][0] = {"item_no": "X", "sold_on": entries.settings["As_of_date"]}
    quick_log(tmp_path / "log.xlsx", "plain", entries)
    code, _, err = run("summary", "log.xlsx", "--year", 2026)
    assert code == 0
    assert "Sourcing log, " in err
    assert "bought on" in err.lower()
    assert "1 row lacks" in err


def test_summary_without_a_year_takes_the_one_on_settings(run):
    code, out, _ = run("summary", EXAMPLE)
    assert code == 0
    assert "Year 2026" in out
    assert "nothing was bought or sold in 2024." in run("summary", EXAMPLE, "--year", 2024)[2]
    code, _, err = run("summary", EXAMPLE, "--year", 26)
    assert code == 2
    assert "table tax_lines has no lines of 'US sole proprietor' for 26; choose other rules" in err


def test_refit_takes_over_what_is_typed(run, tmp_path):
    code, _, err = run("refit", EXAMPLE, "--out", "larger.xlsx", "--rows", 300)
    assert (code, err) == (0, "")
    old, new = load_log(EXAMPLE), load_log(tmp_path / "larger.xlsx")
    assert new.ready_rows["Log"] == 300
    for key, frame in old.sheets.items():
        assert new.sheets[key].equals(frame), key
    assert new.settings == old.settings


def test_recalc_stores_results_and_keeps_a_copy(run, tmp_path):
    book = openpyxl.load_workbook(quick_log(tmp_path / "log.xlsx"))
    book["Sourcing log"]["A7"] = "A1"
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


def test_recalc_of_a_log_says_which_cell_to_mend(run, tmp_path):
    book = openpyxl.load_workbook(quick_log(tmp_path / "log.xlsx"))
    sheet = book["Sourcing log"]
    column = [cell.value for cell in sheet[5]].index("Paid") + 1
    sheet["A7"] = "A1"
    sheet.cell(7, column).value = "$4.50"
    book.save(tmp_path / "log.xlsx")
    code, out, err = run("recalc", "log.xlsx")
    assert code == 1
    assert "Paid: '$4.50' is not a number; write 4.5" in err
    assert "Totals may leave these cells out" in out
    assert "=IF(" not in out + err


def test_functions_lists_every_function(run):
    code, out, _ = run("functions")
    assert code == 0
    for name in REGISTRY:
        assert name in out


@pytest.mark.parametrize("name", ["NET_PROFIT", "net_profit"])
def test_functions_explains_one(run, name):
    code, out, _ = run("functions", name)
    assert code == 0
    spec = REGISTRY["NET_PROFIT"]
    assert spec.usage() in out
    assert "Source: definition" in out
    assert "landed_cost" in out


def test_demo(run, tmp_path):
    code, out, _ = run("demo")
    assert code == 0
    for text in ("Profit by month", "2025-07", "2026-09", "Best pieces", "Worst pieces"):
        assert text in out
    assert "Cash 915.62, stock at cost 452.91." in out
    assert "Net profit of 2026 so far, after miles and home office: 917.59." in out
    assert out.count("all agree") == 2
    assert "0 errors" in out
    assert sorted(os.listdir(tmp_path / "sheetfns-demo")) == ["sourcing_log_functions.xlsx", "sourcing_log_plain.xlsx"]
    again, _, _ = run("demo")
    assert again == 0


@pytest.mark.parametrize("module", ["sheetfns", "sheetfns.cli.app"])
def test_as_a_module(module):
    done = subprocess.run(
        [sys.executable, "-m", module, "functions", "--markdown"],
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
        cwd=ROOT,
    )
    assert done.stdout == function_table()


def test_as_a_module_a_file_that_is_not_there():
    done = subprocess.run(
        [sys.executable, "-m", "sheetfns", "summary", "none.xlsx"],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
        cwd=ROOT,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("none.xlsx: there is no such file")
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize("words", [["--help"], ["doctor"], ["install", "--help"], ["functions", "NET_PROFIT"]])
def test_what_needs_no_log_loads_no_heavy_package(words):
    code = (
        "import atexit, sys\n"
        "heavy = {'pandas', 'scipy', 'matplotlib', 'openpyxl', 'xlsxwriter', 'formualizer'}\n"
        "atexit.register(lambda: print('loaded:', *sorted(heavy & set(sys.modules))))\n"
        "from sheetfns.cli.start import main; main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *words], capture_output=True, text=True, check=False, timeout=120, cwd=ROOT
    )
    assert len(done.stdout.splitlines()) > 5
    assert done.stdout.splitlines()[-1] == "loaded:"


def test_help_lists_each_command_with_its_first_line(run, monkeypatch):
    monkeypatch.setenv("COLUMNS", "120")
    code, out, _ = run("--help")
    assert code == 0
    shown = " ".join(out.replace("\u2502", " ").split())
    for command, module in COMMANDS.items():
        function = getattr(importlib.import_module(f"sheetfns.cli.{module}"), command.replace("-", "_"))
        assert f"{command} {function.__doc__.splitlines()[0]}" in shown


def test_another_command(run):
    code, out, err = run("no-such")
    assert (code, out) == (2, "")
    assert "No such command 'no-such'" in err


def test_version_is_that_of_the_project():
    pyproject = (ROOT / "pyproject.toml").read_text()
    assert f'version = "{__version__}"' in pyproject


@pytest.mark.parametrize("year", [0, 10_000])
def test_a_tax_year_that_no_calendar_has(run, tmp_path, year):
    entries = random_entries(1, 3)
    entries.settings["Tax_year"] = year
    quick_log(tmp_path / "log.xlsx", entries=entries)
    code, _, err = run("summary", "log.xlsx", "--year", 2026)
    assert code == 2
    assert err.strip() == (f"log.xlsx: Tax year on sheet Settings is {year}; write it in full, such as 2026")
