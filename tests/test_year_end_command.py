"""The command year-end as a seller runs it: what it says, what it writes, and its exit codes."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from sheetfns.log.entries import Entries
from sheetfns.log.layout import CAUTION
from sheetfns.yearend import pdf
from tests.log.filled_logs import small_log


def log(path: Path, **settings: object) -> Path:
    entries = Entries(
        settings={
            "First_month": dt.date(2026, 1, 1),
            "As_of_date": dt.date(2027, 1, 10),
            "Tax_year": 2026,
        }
        | settings,
        blocks={"Partner": [{"name": "Ada", "share": 1}], "Channel": [{"name": "Stall"}]},
        rows={
            "Log": [
                {"item_no": "P1", "bought_on": dt.date(2026, 2, 1), "paid": 4, "channel": "Stall",
                 "sold_on": dt.date(2026, 3, 1), "sale_price": 20},
            ],
        },
    )  # fmt: skip
    return small_log(path, entries=entries)


@pytest.fixture
def no_libreoffice(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pdf, "find_libreoffice", lambda: None)


@pytest.mark.usefixtures("no_libreoffice")
def test_a_complete_year_without_libreoffice(run, tmp_path):
    log(tmp_path / "log.xlsx")
    code, out, err = run("year-end", "log.xlsx", "--year", 2026, "--out", "for the preparer")
    assert code == 0
    assert f"2026 is complete. {CAUTION}" in out
    assert (
        "Only the .xlsx and .csv files were made: LibreOffice is not installed. Print sheet "
        "Summary of the .xlsx if you want it on paper." in err
    )
    names = sorted(path.name for path in (tmp_path / "for the preparer").iterdir())
    assert names == [
        "year_end_2026.xlsx",
        *(
            f"year_end_2026_{page}.csv"
            for page in (
                *("channels", "miles", "own_things", "problems", "rows_by_line", "sources"),
                *("stock", "summary"),
            )
        ),
    ]
    assert all(str(Path("for the preparer") / name) in out for name in names)
    # A second run finds the files there and leaves them.
    code, _, err = run("year-end", "log.xlsx", "--out", "for the preparer")
    assert code == 2
    assert "is there already; choose another folder" in err


@pytest.mark.usefixtures("no_libreoffice")
def test_a_year_that_is_not_complete(run, tmp_path):
    log(tmp_path / "log.xlsx", As_of_date=dt.date(2026, 11, 25))
    code, out, err = run("year-end", "log.xlsx", "--year", 2026, "--out", "package")
    assert code == 1
    assert out.strip() == ""
    assert err.splitlines() == [
        "log.xlsx: 1 thing keeps 2026 from being complete; nothing was written.",
        "Settings: Figures as of is 2026-11-25, but the year runs to 2026-12-31; set it to a later "
        "day when the year is over and all is entered",
        "Mend them and run this again, or add --draft for a package stamped DRAFT.",
    ]
    assert [path.name for path in tmp_path.iterdir()] == ["log.xlsx"]
    code, out, _ = run("year-end", "log.xlsx", "--out", "package", "--draft")
    assert code == 0
    assert "2026 is a draft: look at sheet Problems." in out
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
    from sheetfns.log.read import read_log

    entries = read_log(entries_path).entries()
    entries.blocks["TaxFigure"] = [
        row for row in entries.blocks["TaxFigure"] if row["name"] != "Wage base"
    ]
    small_log(tmp_path / "without.xlsx", entries=entries)
    code, _, err = run("year-end", "without.xlsx", "--out", "package")
    assert code == 1
    assert "no single row of Wage base covers 2026-12-31; add it when it is published" in err
    code, _, err = run("summary", "without.xlsx")
    assert code == 0
    assert "Settings, Tax figures by date: no single row of Wage base covers 2026-12-31." in err


def test_what_is_no_log(run, tmp_path):
    code, _, err = run("year-end", "none.xlsx", "--out", "package")
    assert code == 2
    assert "none.xlsx: there is no such file" in err
    assert list(tmp_path.iterdir()) == []
