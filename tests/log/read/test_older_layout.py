"""Logs that earlier versions wrote: read, summed up and taken over whole.

tests/log/earlier holds one log of each version, written by that version with every column filled.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

import sheetfns
from sheetfns.hosts.engine import recalculate
from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log, year_figures
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import Edition
from sheetfns.log.model.version import LAYOUT, layout_number
from sheetfns.log.read.content import LogContent
from tests import EARLIER
from tests.log.quick_logs import in_turn, loaded, quick_log

LOGS = sorted((EARLIER).glob("*.xlsx"))
# The log of 0.4.0 lacks nothing but a later wording of formulas: see test_layout_version.py.
EARLIER = [path for path in LOGS if path.stem < "sourcing_log_0.4.0"]
ROWS_OF_COMPARABLES = {"sourcing_log_0.1.0": 0, "sourcing_log_0.2.0": 4, "sourcing_log_0.3.0": 4}
each_version = pytest.mark.parametrize("path", EARLIER, ids=lambda path: path.stem)


def test_there_are_logs_of_earlier_versions() -> None:
    numbers = [layout_number(path.stem.removeprefix("sourcing_log_")) for path in LOGS]
    # One of today's is there before its words change.
    assert [number for number in numbers if number != LAYOUT] == list(range(1, LAYOUT)), "a log of each layout"


@each_version
def test_it_is_read_and_one_notice_says_what_to_do(path: Path) -> None:
    content = load_log(path)
    # Sheet Year end had another form then; one notice is all that is said, and nothing is left over.
    (notice,) = content.problems
    assert content.extra_columns == {}
    assert (notice.sheet, notice.found, notice.key) == ("Start", str(int(path.stem[-3])), "older_layout")
    assert "only its entries are checked, not its formulas or results" in notice.message
    assert "sheetfns upgrade OLD.xlsx --out NEW.xlsx" in notice.message
    assert content.edition == "plain"
    assert [row["item_no"] for row in content.inputs().rows["Log"]] == ["P1", "P2", "P3", "P4", "5"]
    assert len(content.inputs().rows["Comps"]) == ROWS_OF_COMPARABLES[path.stem]
    totals = year_figures(compute_log(content), 2026)
    # Two items at 20 + 4 were sold; one of them came back.
    assert totals.amounts["gross_receipts"] == 48


@pytest.mark.parametrize(("edition", "path"), in_turn(EARLIER))
def test_a_new_log_takes_everything_over(path: Path, edition: Edition, tmp_path: Path) -> None:
    old = load_log(path)
    new = load_log(quick_log(tmp_path / "new.xlsx", edition, old.inputs()))
    assert new.problems == []
    assert recalculate(tmp_path / "new.xlsx").errors == []
    inputs = new.inputs()
    assert inputs.rows == old.inputs().rows
    assert inputs.settings == old.inputs().settings
    assert inputs.blocks["Channel"] == old.inputs().blocks["Channel"]
    # What the earlier version did not have is as in a new log.
    assert inputs.settings["Year_rules"] == "US sole proprietor"
    assert inputs.blocks["Due"][0]["year"] == 2023
    assert (inputs.blocks["ByYear"], inputs.rows["Personal"]) == ([], [])
    assert {row["heading"]: row["tax_line"] for row in inputs.blocks["Heading"]} == {
        "Supplies": "Supplies",
        "Other": "Other expenses",
        "Selling": "Commissions and fees",
        "Labels": "Office expense",
        "Car": "Car and truck expenses",
    }
    if path.stem != "sourcing_log_0.3.0":
        assert inputs.settings["Average_days"] == 90
        assert inputs.settings["Fixed_costs"] is None
        assert [row["from_day"] for row in inputs.blocks["Markdown"]] == [30, 60, 90]
        assert not any("opening" in row for row in inputs.blocks["Partner"])
        assert not any("taken_by" in row for row in inputs.rows["Log"])
    if path.stem == "sourcing_log_0.1.0":
        assert [row["name"] for row in inputs.blocks["Rule"]] == ["Domestic mail"] * 2
        assert inputs.settings["Comp_half_life"] == 90
        assert {row["name"]: row["worth"] for row in inputs.blocks["Condition"]} == {"Good": 0.75}
    assert compare(compute_log(new)).differences == []


def with_lines(folder: Path, *rows: tuple[str, Any, Any]) -> LogContent:
    """The newest of the earlier logs with other headings: name, line to 2024, line from 2025."""
    book = loaded(EARLIER[-1])
    sheet = book["Settings"]
    (header,) = (c for row in sheet.iter_rows() for c in row if c.value == "Line from 2025")
    for row, (name, *lines) in enumerate(rows, header.row + 1):
        sheet.cell(row, 1).value = name
        for column, line in enumerate(lines, header.column - 1):
            sheet.cell(row, column).value = line
    book.save(folder / "old.xlsx")
    return load_log(folder / "old.xlsx")


def lines_of(content: LogContent) -> list[str]:
    return content.blocks["Heading"]["tax_line"].tolist()


def said_of_lines(content: LogContent) -> list[str]:
    """What is said of tax lines, and that the log is older; openpyxl leaves no results."""
    return [p.key for p in content.problems if p.key in {"older_layout", "no_tax_line"}]


def test_a_line_number_that_is_none_is_kept_in_sight(tmp_path: Path) -> None:
    """Line numbers became tax lines; columns with a number that no line has are named as left."""
    content = with_lines(tmp_path, ("Supplies", "22", "22"), ("Other", "27a", "99"))
    assert content.extra_columns["Settings"] == ["Line to 2024", "Line from 2025"]
    assert lines_of(content)[:2] == ["Supplies", "Other expenses"]
    content = with_lines(tmp_path, ("Supplies", "22", "22"), ("Other", "98", "99"))
    assert content.extra_columns["Settings"] == ["Line to 2024", "Line from 2025"]
    assert lines_of(content)[:2] == ["Supplies", ""]
    assert said_of_lines(content) == ["older_layout", "no_tax_line"]


@pytest.mark.parametrize("line", ["99", 99, 22.5, True, "#REF!"])
def test_whatever_is_no_line_is_kept_in_sight(line: Any, tmp_path: Path) -> None:
    content = with_lines(tmp_path, ("Supplies", None, line))
    assert content.extra_columns["Settings"] == ["Line to 2024", "Line from 2025"]
    assert lines_of(content)[0] == ""


def test_line_numbers_are_understood_as_numbers_and_as_text(tmp_path: Path) -> None:
    content = with_lines(tmp_path, ("Ads", 8, 8), ("Other", None, " 27B "), ("Selling", "10", None), ("Rent", 0, "20b"))
    assert lines_of(content)[:4] == [
        "Advertising", "Other expenses", "Commissions and fees", "Rent or lease: other business property",
    ]  # fmt: skip
    # Line 0 is none; without it nobody needs the numbers any more.
    assert content.extra_columns["Settings"] == ["Line to 2024", "Line from 2025"]
    content = with_lines(tmp_path, ("Ads", 8, 8), ("Other", None, " 27B "))
    assert content.extra_columns == {}
    assert said_of_lines(content) == ["older_layout"]


def test_its_own_line_number_counts_more_than_the_usual_name(tmp_path: Path) -> None:
    """Headings with a usual name and no number have the usual line."""
    content = with_lines(tmp_path, ("Advertising", "22", "22"), ("Utilities", None, None), ("Words of mine", "", ""))
    assert lines_of(content)[:3] == ["Supplies", "Utilities", ""]
    assert content.extra_columns == {}


def test_a_sheet_may_not_be_missing_from_a_log_of_this_version(tmp_path: Path) -> None:
    path = quick_log(tmp_path / "log.xlsx")
    book = openpyxl.load_workbook(path)
    del book["Comparables"]
    book.save(path)
    with pytest.raises(sheetfns.errors.LogFileError, match="there is no sheet 'Comparables'"):
        load_log(path)


@each_version
def test_its_year_end_is_made_with_what_it_has(run: Any, path: Path, tmp_path: Path) -> None:
    """What is missing is blank; both ways of working the year out are run on its entries."""
    code, out, err = run("year-end", path, "--year", 2026, "--out", tmp_path / "package")
    reasons = err.splitlines()
    assert not any("layout" in line for line in reasons), "its layout alone keeps nothing up"
    code, out, err = run("year-end", path, "--year", 2026, "--out", tmp_path / "package", "--draft")
    assert (code, err) == (0, "")
    assert "2026, a draft: " in out
    book = openpyxl.load_workbook(tmp_path / "package" / "year_end_2026_draft.xlsx")
    words = [cell.value for sheet in book for row in sheet.iter_rows() for cell in row if cell.value]
    assert any("this log has layout" in str(text) for text in words)
