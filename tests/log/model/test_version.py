"""The number of the layout: it changes with the layout, and with nothing else."""

from __future__ import annotations

import csv
import dataclasses
import hashlib
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest

import sheetfns
from sheetfns.errors import LogFileError
from sheetfns.log.check.report import FORMULAS, LOOK, ROWS, SHOWN, check_log
from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import EDITIONS
from sheetfns.log.model.version import LAYOUT, OLDER_LAYOUT
from sheetfns.log.sheets.registry import log_layout
from sheetfns.tables import table_rows
from tests import EARLIER, EXAMPLES
from tests.log.quick_logs import loaded, quick_log

LAYOUTS = Path(__file__).parent / "layouts.csv"
LAST = EARLIER / f"sourcing_log_{LAYOUT - 1}.xlsx"


def described() -> Iterator[tuple[Any, ...]]:
    """Every cell of the layout: sheet, key, words by which it is found, role, formulas."""
    layout = log_layout()
    for setting in layout.settings:
        yield ("Settings", setting.name, setting.label, setting.kind.holds, setting.formula)
    for block in layout.blocks:
        for column in block.columns:
            yield (block.key, block.title, column.key, column.header, column.role)
    for table in layout.tables:
        for column in table.columns:
            yield (table.name, table.key, column.key, column.header, column.role, *formulas(column))
        yield from ((table.key, check.key, check.message, check.formula) for check in table.checks)
    for form in layout.forms:
        for row in form.rows:
            for cell in row.cells:
                yield (form.name, form.key, row.label, cell.key, cell.role, *formulas(cell))
    for check in layout.checks:
        yield (check.key, check.sheet, check.label, check.count)
    # A log shows them, and holds them on a sheet of its own.
    yield from ((row["category"], row["brief"], row["what_to_check"]) for row in table_rows("cautions"))


def formulas(cell: Any) -> list[str]:
    return [] if cell.formula is None else [cell.formula.formula(edition) for edition in EDITIONS]


def fingerprint() -> str:
    return hashlib.sha256(json.dumps(list(described())).encode()).hexdigest()


def test_a_change_of_the_layout_has_its_number():
    with LAYOUTS.open(newline="") as file:
        known = {int(row["layout"]): row["fingerprint"] for row in csv.DictReader(file)}
    assert max(known) == LAYOUT
    assert known[LAYOUT] == fingerprint(), (
        "the layout has changed: if logs of this number are in people's hands, raise LAYOUT in "
        "sheetfns/log/model/version.py and put a log of the old one into tests/log/earlier; then "
        "run: python -m tests.log.model.test_version"
    )


def test_a_new_version_of_the_package_changes_nothing_for_a_log(run, tmp_path, monkeypatch):
    monkeypatch.setattr(sheetfns, "__version__", "99.0.0")
    example = EXAMPLES / "sourcing_log_example.xlsx"
    assert load_log(example).problems == []
    code, out, err = run("year-end", example, "--year", 2025, "--out", tmp_path / "package")
    assert (code, err) == (0, "")
    assert "2025: 0 errors; " in out


def test_a_log_of_the_layout_before_lacks_nothing_and_makes_its_year_end(run, tmp_path):
    content = load_log(LAST)
    assert (content.layout, content.lacks) == (LAYOUT - 1, {})
    (notice,) = content.problems
    assert notice.key == OLDER_LAYOUT
    assert compare(compute_log(content)).differences == []
    code, out, err = run("year-end", LAST, "--year", 2026, "--out", tmp_path / "package", "--draft")
    assert (code, err) == (0, "")
    assert "older" not in out
    findings = check_log(LAST).findings
    assert {one.group for one in findings} <= {LOOK, ROWS}
    in_other_words = (
        "in the words of its time; its numbers and dates are compared with Python's, its texts and the wording of its "
        "formulas are not"
    )
    said = in_other_words if content.words else "and its formulas may be worded differently from today's"
    assert [one.message for one in findings if one.key == OLDER_LAYOUT] == [
        f"this log has layout {LAYOUT - 1}, and new logs have {LAYOUT}; it is read as it is, {said}. "
        "For today's layout, make a new log from it "
        "with 'sheetfns upgrade OLD.xlsx --out NEW.xlsx'"
    ]


def test_a_figure_typed_over_is_found_in_a_log_of_the_layout_before(tmp_path):
    book = loaded(LAST)
    place = load_log(LAST).places["Log"]
    book[place.sheet].cell(7, place.columns["net_profit"] + 1).value = 999
    book.save(tmp_path / "log.xlsx")
    found = [one for one in check_log(tmp_path / "log.xlsx").findings if one.group == FORMULAS]
    assert [(one.sheet, one.found) for one in found if one.key == "formula_typed_over"] == [(place.sheet, "999")]


def test_a_formula_changed_is_seen_by_its_figures_in_a_log_of_the_layout_before(tmp_path):
    from sheetfns.files.sheet_xml import FormulaText
    from sheetfns.log.edit.patch import CellEdit, patch

    content = load_log(LAST)
    place = content.places["Log"]
    log = tmp_path / "log.xlsx"
    log.write_bytes(LAST.read_bytes())
    patch(log, [CellEdit(place.sheet, 7, place.columns["net_profit"] + 1, FormulaText("1+1"))])
    found = [one for one in check_log(log).findings if one.group == SHOWN]
    assert place.sheet in {one.sheet for one in found}


@pytest.mark.parametrize(("number", "differing"), [(LAYOUT, {"caution"}), (LAYOUT - 1, set())])
def test_an_older_log_may_show_the_cautions_of_its_time(number, differing):
    content = load_log(EXAMPLES / "sourcing_log_example.xlsx")
    for form in ("Shelf", "Desk"):
        assert content.shown[form]["caution"].item()
        content.shown[form]["caution"] = "Check the recall list of last year."
    found = compare(compute_log(dataclasses.replace(content, layout=number))).differences
    assert {one.column for one in found} == differing
    assert len(found) == 2 * len(differing)


def test_a_log_of_a_later_layout_is_refused(tmp_path):
    path = quick_log(tmp_path / "log.xlsx")
    book = openpyxl.load_workbook(path)
    for row in book["Start"].iter_rows():
        for cell in row:
            if cell.value == "Layout version":
                cell.offset(0, 1).value = str(LAYOUT + 1)
    book.save(path)
    with pytest.raises(LogFileError, match=f"has layout {LAYOUT + 1}.*install a newer sheetfns"):
        load_log(path)


def test_the_number_may_become_a_number_in_another_program(tmp_path):
    path = tmp_path / "log.xlsx"
    book = openpyxl.load_workbook(LAST)
    for row in book["Start"].iter_rows():
        for cell in row:
            if cell.value == "Layout version":
                assert cell.offset(0, 1).value == str(LAYOUT - 1)
                cell.offset(0, 1).value = LAYOUT - 1
    book.save(path)
    assert load_log(path).layout == LAYOUT - 1
    assert dataclasses.replace(load_log(path), layout=LAYOUT).older is False


def store() -> None:
    with LAYOUTS.open(newline="") as file:
        known = {row["layout"]: row["fingerprint"] for row in csv.DictReader(file)}
    with LAYOUTS.open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerows([("layout", "fingerprint"), *(known | {str(LAYOUT): fingerprint()}).items()])


if __name__ == "__main__":
    sys.exit(store())
