"""Logs that earlier versions wrote: read, summed up and taken over whole.

tests/log/earlier holds one log of each version, written by that version with every column filled.
"""

from __future__ import annotations

from pathlib import Path

import pytest

import sheetfns
from sheetfns.hosts.engine import recalculate
from sheetfns.log.build import build_log
from sheetfns.log.compare import compare
from sheetfns.log.figures import work_out, year_figures
from sheetfns.log.older_layout import is_older
from sheetfns.log.read import read_log

EARLIER = sorted((Path(__file__).parent / "earlier").glob("*.xlsx"))
ROWS_OF_COMPARABLES = {"sourcing_log_0.1.0": 0, "sourcing_log_0.2.0": 4, "sourcing_log_0.3.0": 4}
each_version = pytest.mark.parametrize("path", EARLIER, ids=lambda path: path.stem)


def test_there_are_logs_of_earlier_versions() -> None:
    versions = [path.stem.removeprefix("sourcing_log_") for path in EARLIER]
    assert {"0.1.0", "0.2.0", "0.3.0"} <= set(versions)
    assert all(is_older(version, sheetfns.__version__) for version in versions)


@each_version
def test_it_is_read_and_one_notice_says_what_to_do(path: Path) -> None:
    content = read_log(path)
    (notice,) = content.problems
    assert (notice.sheet, notice.cell, notice.key) == ("Start", "A1", "older_layout")
    assert "sheetfns new NEW.xlsx --from OLD.xlsx" in notice.message
    assert content.edition == "plain"
    assert [row["item_no"] for row in content.entries().rows["Log"]] == [
        "P1",
        "P2",
        "P3",
        "P4",
        "5",
    ]
    assert len(content.entries().rows["Comps"]) == ROWS_OF_COMPARABLES[path.stem]
    totals = year_figures(work_out(content), 2026)
    # Two pieces at 20 + 4 were sold; one of them came back.
    assert totals.amounts["gross_receipts"] == 48


@each_version
@pytest.mark.parametrize("edition", ["plain", "functions"])
def test_a_new_log_takes_everything_over(path: Path, edition: str, tmp_path: Path) -> None:
    old = read_log(path)
    new = read_log(build_log(tmp_path / "new.xlsx", edition, 20, old.entries()))
    assert new.problems == []
    assert recalculate(tmp_path / "new.xlsx").errors == []
    entries = new.entries()
    assert entries.rows == old.entries().rows
    assert entries.settings == old.entries().settings
    assert entries.blocks["Channel"] == old.entries().blocks["Channel"]
    # What the earlier version did not have is as in a new log.
    assert entries.settings["Year_rules"] == "US sole proprietor"
    assert entries.blocks["Due"][0]["year"] == 2023
    assert (entries.blocks["ByYear"], entries.rows["Own"]) == ([], [])
    assert {row["heading"]: row["tax_line"] for row in entries.blocks["Heading"]} == {
        "Supplies": "Supplies",
        "Other": "Other expenses",
        "Selling": "Commissions and fees",
        "Labels": "Office expense",
        "Car": "Car and truck expenses",
    }
    if path.stem != "sourcing_log_0.3.0":
        assert entries.settings["Average_days"] == 90
        assert entries.settings["Fixed_costs"] is None
        assert [row["from_day"] for row in entries.blocks["Markdown"]] == [30, 60, 90]
        assert not any("opening" in row for row in entries.blocks["Partner"])
        assert not any("taken_by" in row for row in entries.rows["Log"])
    if path.stem == "sourcing_log_0.1.0":
        assert [row["name"] for row in entries.blocks["Rule"]] == ["Domestic mail"] * 2
        assert entries.settings["Comp_half_life"] == 90
        assert {row["name"]: row["worth"] for row in entries.blocks["Condition"]} == {"Good": 0.75}
    assert compare(work_out(new)).differences == []


def test_a_line_number_that_is_none_is_kept_in_sight(tmp_path: Path) -> None:
    """Line numbers became tax lines; columns with a number that no line has are named as left."""
    import openpyxl

    book = openpyxl.load_workbook(EARLIER[-1])
    sheet = book["Settings"]
    header = next(
        cell for row in sheet.iter_rows() for cell in row if cell.value == "Line from 2025"
    )
    sheet.cell(header.row + 2, header.column).value = "99"
    book.save(tmp_path / "old.xlsx")
    content = read_log(tmp_path / "old.xlsx")
    assert content.extra_columns["Settings"] == ["Line to 2024", "Line from 2025"]
    assert content.blocks["Heading"]["tax_line"].tolist()[:2] == ["Supplies", "Other expenses"]
    sheet.cell(header.row + 2, header.column - 1).value = "98"
    book.save(tmp_path / "older.xlsx")
    content = read_log(tmp_path / "older.xlsx")
    assert content.blocks["Heading"]["tax_line"].tolist()[:2] == ["Supplies", ""]
    assert {"older_layout", "no_tax_line"} <= {problem.key for problem in content.problems}


def test_a_sheet_may_not_be_missing_from_a_log_of_this_version(tmp_path: Path) -> None:
    import openpyxl

    path = build_log(tmp_path / "log.xlsx", rows=5)
    book = openpyxl.load_workbook(path)
    del book["Comparables"]
    book.save(path)
    with pytest.raises(sheetfns.errors.LogFileError, match="there is no sheet 'Comparables'"):
        read_log(path)
