"""The command summary; year-end and forecast have files of their own."""

from __future__ import annotations

import csv
import io

import pytest

from tests import ROOT
from tests.log.quick_logs import quick_log
from tests.log.random_logs import random_entries

EXAMPLE = ROOT / "examples" / "sourcing_log_example.xlsx"


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
    inputs = random_entries(1, 16)
    inputs.rows["Log"][0] = {"item_no": "X", "sold_on": inputs.settings["As_of_date"]}
    quick_log(tmp_path / "log.xlsx", "plain", inputs)
    code, _, err = run("summary", "log.xlsx", "--year", 2026)
    assert code == 0
    assert "Sourcing log, " in err
    assert "bought on" in err.lower()
    assert "1 row is missing" in err


def test_summary_without_a_year_takes_the_one_on_settings(run):
    code, out, _ = run("summary", EXAMPLE)
    assert code == 0
    assert "Year 2026" in out
    assert "nothing was bought or sold in 2024." in run("summary", EXAMPLE, "--year", 2024)[2]
    code, _, err = run("summary", EXAMPLE, "--year", 26)
    assert code == 2
    assert "table tax_lines has no lines of 'US sole proprietor' for 26; choose other rules" in err


@pytest.mark.parametrize("year", [0, 10_000])
def test_a_tax_year_that_no_calendar_has(run, tmp_path, year):
    inputs = random_entries(1, 3)
    inputs.settings["Tax_year"] = year
    quick_log(tmp_path / "log.xlsx", inputs=inputs)
    code, _, err = run("summary", "log.xlsx", "--year", 2026)
    assert code == 2
    assert err.strip() == (f"log.xlsx: Tax year on sheet Settings is {year}; enter it in full, such as 2026")
