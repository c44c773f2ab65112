"""The command year-end as a seller runs it: what it says, what it writes, and its exit codes."""

from __future__ import annotations

import csv
import datetime as dt
import re
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sheetfns.log.model.inputs import Inputs
from sheetfns.log.sheets.words import CAUTION
from sheetfns.yearend import pdf, reasons
from tests.log.quick_logs import quick_log


def log(path: Path, **settings: object) -> Path:
    return quick_log(path, inputs=typed(**settings))


def typed(**settings: object) -> Inputs:
    return Inputs(
        settings={
            "First_month": dt.date(2026, 1, 1),
            "As_of_date": dt.date(2027, 1, 10),
            "Tax_year": 2026,
        }
        | settings,
        blocks={"Partner": [{"name": "Ada", "share": 1}], "Channel": [{"name": "Booth"}]},
        rows={
            "Log": [
                {"item_no": "P1", "bought_on": dt.date(2026, 2, 1), "paid": 4, "channel": "Booth",
                 "sold_on": dt.date(2026, 3, 1), "sale_price": 20},
            ],
        },
    )  # fmt: skip


@pytest.fixture
def in_full() -> None:
    """The log that is built anew has all its rows."""


@pytest.fixture(autouse=True)
def few_rows_anew(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """The log that is built anew to compare has few rows, but where a test wants it in full."""
    if "in_full" not in request.fixturenames:
        monkeypatch.setattr(reasons, "build_log", lambda path, edition, _, inputs: quick_log(path, edition, inputs))


@pytest.fixture
def no_libreoffice(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pdf, "find_libreoffice", lambda: None)


@pytest.mark.usefixtures("no_libreoffice", "in_full")
def test_a_complete_year_without_libreoffice(run, tmp_path):
    log(tmp_path / "log.xlsx")
    code, out, err = run("year-end", "log.xlsx", "--year", 2026, "--out", "for the preparer")
    assert code == 0
    assert f"2026: 0 errors; 0 warnings. {CAUTION}" in out
    assert (
        "No PDF was made: LibreOffice is not installed. To have it on paper, print sheet Summary of the .xlsx." in err
    )
    names = sorted(path.name for path in (tmp_path / "for the preparer").iterdir())
    assert names == [
        "year_end_2026.xlsx",
        *(
            f"year_end_2026_{page}.csv"
            for page in (
                *("channels", "inventory", "miles", "personal_items", "problems", "rows_by_line"),
                *("sources", "summary"),
            )
        ),
    ]
    assert all(str(Path("for the preparer") / name) in out for name in names)
    # A second run finds the files there and leaves them.
    code, _, err = run("year-end", "log.xlsx", "--out", "for the preparer")
    assert code == 2
    assert "already exists; choose another folder" in err


@pytest.mark.usefixtures("no_libreoffice")
def test_a_year_that_is_not_complete(run, tmp_path):
    log(tmp_path / "log.xlsx", As_of_date=dt.date(2026, 11, 25))
    code, out, err = run("year-end", "log.xlsx", "--year", 2026, "--out", "package")
    assert code == 1
    assert out.strip() == ""
    assert err.splitlines() == [
        "log.xlsx: can't finish 2026: 1 issue. Nothing was written.",
        "Settings, B18: figures go up to 2026-11-25, but the year ends on 2026-12-31; enter 2026-12-31 here "
        "when the year is over and everything is entered",
        "Fix it and rerun, or add --draft for a package stamped DRAFT.",
    ]
    assert [path.name for path in tmp_path.iterdir()] == ["log.xlsx"]
    code, out, _ = run("year-end", "log.xlsx", "--out", "package", "--draft")
    assert code == 0
    assert "2026, a draft: 1 error; 0 warnings (sheet Problems)." in out
    assert (tmp_path / "package" / "year_end_2026_draft.xlsx").is_file()


def test_a_year_that_the_tables_do_not_know(run, tmp_path):
    log(tmp_path / "log.xlsx", Tax_year=2027, As_of_date=dt.date(2027, 6, 1))
    for words in (("year-end", "log.xlsx", "--out", "x", "--draft"), ("summary", "log.xlsx")):
        code, out, err = run(*words)
        assert code == 2
        assert out.strip() == ""
        assert "table tax_lines" in err
        assert "no lines of 'US sole proprietor' for 2027" in err
    assert [path.name for path in tmp_path.iterdir()] == ["log.xlsx"]


def test_a_year_without_a_wage_base(run, tmp_path):
    entries_path = log(tmp_path / "log.xlsx")
    from sheetfns.log.load import load_log

    inputs = load_log(entries_path).inputs()
    inputs.blocks["TaxFigure"] = [row for row in inputs.blocks["TaxFigure"] if row["name"] != "Wage base"]
    quick_log(tmp_path / "without.xlsx", inputs=inputs)
    code, _, err = run("year-end", "without.xlsx", "--out", "package")
    assert code == 1
    assert "Wage base needs one row (and only one) that covers 2026-12-31; add it when it is published" in err
    code, _, err = run("summary", "without.xlsx")
    assert code == 0
    assert "Settings, Tax figures by date: Wage base needs one row (and only one) that covers 2026-12-31." in err


def blank(inputs: Inputs) -> None:
    inputs.rows["Log"].append({"item_no": "P2", "bought_on": dt.date(2026, 2, 2)})


def unread(inputs: Inputs) -> None:
    inputs.rows["Expenses"] = [{"spent_on": dt.date(2026, 2, 2), "heading": "Advertising", "amount": "ten"}]


def other_opening_inventory(inputs: Inputs) -> None:
    inputs.blocks["ByYear"] = [{"year": 2025, "filed_inventory": 3}]


def typed_over(sheet: Any) -> None:
    place = next(cell.column for cell in sheet[6] if cell.value == "Landed cost")
    sheet.cell(7, place).value = 1


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (
            blank,
            (
                "Sourcing log, P8: Paid is blank; enter 0 if the item was free",
                "Sourcing log: 1 row is missing entries that figures need; totals leave those figures out. Fill in",
            ),
        ),
        (unread, ("Expenses, F7: Amount: 'ten' is not a number; write a number",)),
        (other_opening_inventory, ("Year end: opening inventory doesn't match last year's filed inventory",)),
    ],
)
def test_each_sort_of_reason_stops_it(run, tmp_path, change, told):
    inputs = typed()
    change(inputs)
    quick_log(tmp_path / "log.xlsx", inputs=inputs)
    stopped(run, tmp_path, *told)


def stopped(run, tmp_path, *told):
    code, out, err = run("year-end", "log.xlsx", "--out", "package")
    assert code == 1
    assert out.strip() == ""
    for words in told:
        assert words in err
    assert re.fullmatch(r"Fix (it|them) and rerun, or add --draft for a package stamped DRAFT\.", err.splitlines()[-1])
    assert [path.name for path in tmp_path.iterdir()] == ["log.xlsx"]


def test_a_formula_typed_over_stops_it(run, tmp_path):
    path = log(tmp_path / "log.xlsx")
    book = openpyxl.load_workbook(path)
    typed_over(book["Sourcing log"])
    book.save(path)
    stopped(run, tmp_path, "run 'sheetfns recalc' on the file; if that doesn't help, a formula was overwritten")
    code, _, err = run("year-end", "log.xlsx", "--out", "package")
    lines = [line for line in err.splitlines() if line.startswith("Sourcing log, ")]
    named = [place for place, line in enumerate(lines) if "overwritten with a value; " in line]
    figures = [place for place, line in enumerate(lines) if "the workbook shows" in line]
    assert code == 1
    assert max(named) < min(figures), "the formula comes before the figures that follow from it"


def test_two_ways_that_disagree_stop_it(run, tmp_path, monkeypatch):
    rebuilt = reasons._rebuilt

    def another(*args: Any) -> Any:
        content = rebuilt(*args)
        content.shown["Log"].loc[0, "net_profit"] += 1
        return content

    monkeypatch.setattr(reasons, "_rebuilt", another)
    log(tmp_path / "log.xlsx")
    stopped(run, tmp_path, "row 7: Net profit: the workbook shows 17, Python calculates 16; the two")


def test_more_reasons_than_fit(run, tmp_path):
    inputs = typed(As_of_date=dt.date(2026, 11, 25))
    inputs.rows["Expenses"] = [
        {"spent_on": dt.date(2026, 2, 2), "heading": f"Heading {n}", "amount": f"{n} or so"} for n in range(14)
    ]
    quick_log(tmp_path / "log.xlsx", inputs=inputs)
    code, _, err = run("year-end", "log.xlsx", "--out", "package")
    assert code == 1
    lines = err.splitlines()
    number = int(lines[0].split()[4])
    assert number > 28
    assert len(lines) == 1 + 20 + 2
    assert lines[-2] == f"... and {number - 20} more."


@pytest.mark.usefixtures("no_libreoffice")
def test_what_is_worth_a_look_keeps_nothing_up(run, tmp_path):
    inputs = typed()
    inputs.rows["Log"][0]["fee_charged"] = 1
    quick_log(tmp_path / "log.xlsx", inputs=inputs)
    code, out, _ = run("year-end", "log.xlsx", "--out", "package")
    assert code == 0
    assert "2026: 0 errors; 1 warning to review (sheet Problems)." in out
    with (tmp_path / "package" / "year_end_2026_problems.csv").open(encoding="utf-8-sig") as file:
        assert list(csv.reader(file))[1:] == [
            ["warning", "Sourcing log", "row 7", "fee doesn't match the channel's terms (sheet Data checks)"]
        ]


@pytest.mark.parametrize("year", [0, -1, 9999, "this"])
def test_a_year_that_is_none(run, tmp_path, year):
    log(tmp_path / "log.xlsx")
    for words in (("year-end", "log.xlsx", "--out", "x"), ("summary", "log.xlsx")):
        code, _, err = run(*words, f"--year={year}")
        assert code == 2
        assert "--year" in err


@pytest.mark.parametrize("year", [1, 9998])
def test_a_year_far_away(run, tmp_path, year):
    log(tmp_path / "log.xlsx")
    code, _, err = run("year-end", "log.xlsx", "--out", "x", "--year", year)
    assert code == 2
    assert "table tax_lines" in err


def test_a_log_without_a_tax_year(run, tmp_path):
    path = log(tmp_path / "log.xlsx")
    book = openpyxl.load_workbook(path)
    sheet = book["Settings"]
    (cell,) = (row[1] for row in sheet.iter_rows(max_row=75) if row[0].value == "Tax year")
    cell.value = None
    book.save(path)
    for words in (("year-end", "log.xlsx", "--out", "x"), ("summary", "log.xlsx")):
        code, _, err = run(*words)
        assert code == 2
        assert "log.xlsx: Tax year on sheet Settings is blank or cannot be read; fill it in" in err


def test_what_is_no_log(run, tmp_path):
    code, _, err = run("year-end", "none.xlsx", "--out", "package")
    assert code == 2
    assert "none.xlsx: there is no such file" in err
    assert list(tmp_path.iterdir()) == []
