"""Logs with the words of an earlier layout: read, checked, summed up, filled and taken over as those of today are."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import openpyxl
import pytest

from sheetfns.errors import LogFileError
from sheetfns.files.cell_names import cell_name
from sheetfns.files.sheet_xml import FormulaText
from sheetfns.log.check.report import FORMULAS, LOOK, SHOWN, Finding, check_log, fix_log
from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log, year_figures
from sheetfns.log.edit.csv_import import apply_import, write_draft_map
from sheetfns.log.edit.merge import merge_logs
from sheetfns.log.edit.patch import CellEdit, NewSheet, patch
from sheetfns.log.edit.upgrade import upgrade_log
from sheetfns.log.load import load_log
from sheetfns.log.model.earlier_words import Renamed, in_words, words_of
from sheetfns.log.model.sheets import FIRST_ROW, HEADER_ROW
from sheetfns.log.model.version import LAYOUT, OLDER_LAYOUT
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import DISPOSITIONS, DONATED, PERSONAL_USE, SETTINGS, START
from tests.libreoffice import find_soffice, save_as_ods
from tests.log.earlier_wording import BEFORE, NO_CHOICES, PARTS, invented, reworded, with_stored
from tests.log.edit.csv_import.importing import changes, planned
from tests.log.filled_logs import full_entries
from tests.log.quick_logs import empty_log, few_rows, loaded, quick_log

LOG = log_layout().table("Log")
LEFT = LOG.column("disposition").header
OLD_LOG = f"Old {LOG.name}"
ITEM = LOG.column("item_no").header
YEAR = 2026


class Logs(NamedTuple):
    """The same entries in a log of today and in one with other words, and what these are today."""

    today: Path
    old: Path
    rows: tuple[Renamed, ...]


def made(folder: Path, edition: Any, parts: Any) -> Logs:
    today = quick_log(folder / "today.xlsx", edition, full_entries())
    rows = invented(parts)
    return Logs(today, reworded(today, empty_log(edition, 16)[1], rows, folder / "old.xlsx"), rows)


@pytest.fixture(scope="module")
def stored(tmp_path_factory: pytest.TempPathFactory) -> Logs:
    return made(tmp_path_factory.mktemp("words"), "plain", PARTS)


@pytest.fixture
def logs(stored: Logs, tmp_path: Path) -> Iterator[Logs]:
    """Every word of the log has changed since; the logs may be written."""
    copies = [Path(shutil.copy(path, tmp_path)) for path in (stored.today, stored.old)]
    with with_stored(stored.rows):
        yield Logs(copies[0], copies[1], stored.rows)


def place_of(content: LogContent, key: str) -> int:
    """The column of a cell of the sourcing log, from 1."""
    return content.places["Log"].columns[key] + 1


def found(path: Path, group: str) -> list[Finding]:
    return [one for one in check_log(path).findings if one.group == group]


def agrees(today: LogContent, old: LogContent) -> None:
    """Both logs hold the same, and the figures of the older one are those of its entries."""
    assert old.inputs() == today.inputs()
    assert (old.lacks, old.extra_columns, old.ready_rows) == ({}, {}, today.ready_rows)
    assert old.edition == today.edition
    assert [one.key for one in old.problems] == [OLDER_LAYOUT]
    worked_out, of_today = compute_log(old), compute_log(today)
    assert year_figures(worked_out, YEAR).amounts == year_figures(of_today, YEAR).amounts
    compared = compare(worked_out)
    assert compared.differences == []
    # Texts are not compared, nor forms that the last layout made.
    assert compared.compared > 0.75 * compare(of_today).compared


@pytest.mark.parametrize("part", [part for part in PARTS if part != "preset"])
def test_each_kind_of_word_may_change(part: str, tmp_path: Path) -> None:
    logs = made(tmp_path, "plain", (part,))
    assert logs.rows
    with with_stored(logs.rows):
        agrees(load_log(logs.today), load_log(logs.old))
        assert {one.group for one in check_log(logs.old).findings} == {LOOK}


def test_all_kinds_may_change_at_once(logs: Logs) -> None:
    today, old = load_log(logs.today), load_log(logs.old)
    agrees(today, old)
    assert all(name.startswith("Old ") for name in old.sheet_names)
    (notice,) = old.problems
    assert (notice.sheet, notice.found) == (f"Old {START}", str(BEFORE))
    assert "numbers and dates are compared" in notice.message
    assert "its texts and the wording of its formulas are not" in notice.message
    assert {one.group for one in check_log(logs.old).findings} == {LOOK}
    assert check_log(logs.today).content.words.sheet(SETTINGS) == SETTINGS


def test_the_edition_with_functions_too(tmp_path: Path) -> None:
    logs = made(tmp_path, "functions", NO_CHOICES)
    with with_stored(logs.rows):
        agrees(load_log(logs.today), load_log(logs.old))
        assert {one.group for one in check_log(logs.old).findings} == {LOOK}


def test_without_the_table_it_is_no_log(stored: Logs) -> None:
    with pytest.raises(LogFileError, match=f"there is no sheet '{SETTINGS}'"):
        load_log(stored.old)


def test_a_log_that_states_no_layout_is_known_by_its_sheets(logs: Logs) -> None:
    book = loaded(logs.old)
    del book[f"Old {START}"]
    book.save(logs.old)
    content = load_log(logs.old, lenient=True)
    assert (content.layout, content.lacks) == (BEFORE, {})
    assert content.inputs().rows == load_log(logs.today).inputs().rows
    assert [one.sheet for one in content.problems if one.key == OLDER_LAYOUT] == [f"Old {SETTINGS}"]


# ---- what is wrong is said in the words of the file -----------------------------------------------


def test_a_word_that_is_not_listed_is_refused_with_those_of_the_file(logs: Logs) -> None:
    place = place_of(load_log(logs.old), "disposition")
    row, column = load_log(logs.old).setting_places.cells["Plan_by"]
    settings = CellEdit(f"Old {SETTINGS}", row, column + 1, "Luck")
    patch(logs.old, [CellEdit(OLD_LOG, FIRST_ROW, place, "Lost"), settings])
    said = {one.found: one for one in load_log(logs.old).problems}
    listed = ", ".join(f"'Old {word}'" for word in DISPOSITIONS)
    assert said["Lost"].sheet == OLD_LOG
    assert said["Lost"].message == f"Old {LEFT}: 'Lost' is not on the list; enter one of {listed}"
    assert said["Luck"].sheet == f"Old {SETTINGS}"
    assert said["Luck"].message.endswith(", ".join(f"Old {word}" for word in log_layout().setting("Plan_by").choices))


def test_a_listed_word_is_quoted_as_it_stands_there(logs: Logs) -> None:
    content = load_log(logs.old)
    shouted = f"old {PERSONAL_USE.upper()}"
    # The second item was sold and has not come back; and nobody may take the first of the lot.
    edits = [
        CellEdit(OLD_LOG, FIRST_ROW + 2, place_of(content, "disposition"), shouted),
        CellEdit(OLD_LOG, FIRST_ROW + 2, place_of(content, "disposition_date"), dt.date(YEAR, 3, 1)),
        CellEdit(OLD_LOG, FIRST_ROW + 4, place_of(content, "taken_by"), "Bo"),
    ]
    patch(logs.old, edits)
    said = {one.key: one for one in load_log(logs.old).problems}
    assert said["sold_and_left"].found == shouted
    assert f"Old {LEFT}: '{shouted}'" in said["sold_and_left"].message
    assert f"Old {PERSONAL_USE} under Old {LEFT}" in said["taken_not_own"].message
    assert "Old Old" not in "".join(one.message for one in said.values())


def test_a_figure_typed_over_is_found_and_not_put_back(logs: Logs) -> None:
    place = place_of(load_log(logs.old), "net_profit")
    patch(logs.old, [CellEdit(OLD_LOG, FIRST_ROW, place, 999.0)])
    (fault,) = [one for one in found(logs.old, FORMULAS) if one.key == "formula_typed_over"]
    header = LOG.column("net_profit").header
    assert (fault.sheet, fault.cell, fault.found) == (OLD_LOG, cell_name(FIRST_ROW, place), "999")
    assert fault.message.startswith(f"Old {header}: the formula was overwritten")
    # Today's formula would name columns that this log does not have.
    assert fault.repairs == ()
    assert "on the log to restore it" in fault.message


@pytest.mark.parametrize("key", ["net_profit", "landed_cost"])
def test_a_figure_of_another_formula_is_found(key: str, logs: Logs) -> None:
    place = place_of(load_log(logs.old), key)
    patch(logs.old, [CellEdit(OLD_LOG, FIRST_ROW, place, FormulaText("1+1"))])
    assert OLD_LOG in {one.sheet for one in found(logs.old, SHOWN)}


def test_a_changed_name_is_found(logs: Logs) -> None:
    book = loaded(logs.old)
    name = f"Old_{LOG.defined_name('paid')}"
    del book.defined_names[name]
    book.save(logs.old)
    assert f"the defined name {name}," in " ".join(one.message for one in found(logs.old, FORMULAS))


def test_what_is_certain_is_fixed_in_the_file(logs: Logs) -> None:
    place = place_of(load_log(logs.old), "paid")
    patch(logs.old, [CellEdit(OLD_LOG, FIRST_ROW, place, "3.50")])
    report = check_log(logs.old)
    assert fix_log(report) is not None
    assert load_log(logs.old).sheets["Log"]["paid"].iloc[0] == 3.5


def test_the_year_end_is_made_of_it(logs: Logs, run: Callable[..., Any], tmp_path: Path) -> None:
    words: dict[str, list[Any]] = {}
    for name, path in (("today", logs.today), ("old", logs.old)):
        code, out, err = run("year-end", path, "--year", YEAR, "--out", tmp_path / name, "--draft")
        assert (code, err) == (0, "")
        assert ", a draft: " in out
        book = openpyxl.load_workbook(tmp_path / name / f"year_end_{YEAR}_draft.xlsx")
        words[name] = [cell.value for sheet in book for row in sheet.iter_rows() for cell in row]
    numbers = {name: [cell for cell in cells if isinstance(cell, float)] for name, cells in words.items()}
    assert numbers["old"] == numbers["today"]
    assert numbers["old"]
    # One figure that is not what the entries give, and the package says where.
    place = place_of(load_log(logs.old), "net_profit")
    patch(logs.old, [CellEdit(OLD_LOG, FIRST_ROW, place, FormulaText("1+1"))])
    _, _, err = run("year-end", logs.old, "--year", YEAR, "--out", tmp_path / "refused")
    header = LOG.column("net_profit").header
    assert f"{OLD_LOG}, row {FIRST_ROW}: Old {header}: the workbook shows 2" in " ".join(err.split())


# ---- what is written into it ------------------------------------------------------------------------


CSV = f"SKU,How,Price\nP2,{PERSONAL_USE},\n5,Old {DONATED},12\n"


def map_with(prefix: str) -> str:
    headers = [f"{prefix}{LOG.column(key).header}" for key in ("item_no", "disposition", "sale_price")]
    names = "\n".join(f'"{header}" = "{of}"' for header, of in zip(headers, ("SKU", "How", "Price"), strict=True))
    return f'[log]\nsheet = "{prefix}{LOG.name}"\nmatch = "{headers[0]}"\n[columns]\n{names}\n'


@pytest.mark.parametrize("prefix", ["", "Old "])
def test_a_file_is_brought_into_it_in_its_own_words(prefix: str, logs: Logs) -> None:
    """A map with the headers of either layout will do, and a file with the words of either."""
    layout = planned(logs.old, CSV, map_with(prefix))
    assert changes(layout) == {
        ("P2", f"Old {LEFT}"): f"Old {PERSONAL_USE}",
        ("5", f"Old {LEFT}"): f"Old {DONATED}",
        ("5", f"Old {LOG.column('sale_price').header}"): 12.0,
    }
    applied = apply_import(layout)
    assert (applied.cells, applied.not_recalculated) == (3, "")
    place = place_of(load_log(logs.old), "disposition")
    written = [row[place - 1].value for row in openpyxl.load_workbook(logs.old)[OLD_LOG].iter_rows(min_row=FIRST_ROW)]
    assert written[1] == f"Old {PERSONAL_USE}"
    assert written[4] == f"Old {DONATED}"
    assert load_log(logs.old).sheets["Log"]["disposition"].tolist()[1] == PERSONAL_USE
    again = planned(logs.old, CSV, map_with(prefix))
    assert (again.edits, len(again.already_there)) == ((), 2)


def test_a_map_of_the_earlier_words_fits_the_log_of_today(logs: Logs) -> None:
    layout = planned(logs.today, CSV.replace(f"Old {DONATED}", DONATED), map_with("Old "))
    assert changes(layout)["P2", LEFT] == PERSONAL_USE


def test_a_map_is_drafted_in_its_words(logs: Logs, tmp_path: Path) -> None:
    (tmp_path / "sales.csv").write_text(f"Old {ITEM},Old {LEFT}\nP2,Old {PERSONAL_USE}\n", encoding="utf-8")
    draft = write_draft_map(tmp_path / "sales.csv", load_log(logs.old), tmp_path / "draft.toml", LOG.name)
    assert draft.suggested == {f"Old {ITEM}": f"Old {ITEM}", f"Old {LEFT}": f"Old {LEFT}"}
    assert f'sheet = "{OLD_LOG}"' in (tmp_path / "draft.toml").read_text(encoding="utf-8")


def test_it_is_not_merged_and_may_be_the_base(logs: Logs, tmp_path: Path) -> None:
    for ours, theirs in ((logs.old, logs.today), (logs.today, logs.old)):
        with pytest.raises(
            LogFileError, match=rf"has layout {BEFORE}, whose words have changed.*NEW\.xlsx' and merge the new log"
        ):
            merge_logs(ours, theirs, tmp_path / "out.xlsx")
    other = tmp_path / "other.xlsx"
    shutil.copy(logs.today, other)
    patch(other, [CellEdit(LOG.name, FIRST_ROW + 1, LOG.position("disposition") + 1, DONATED)])
    report = merge_logs(logs.today, other, tmp_path / "out.xlsx", logs.old)
    assert (report.cells_taken, report.rows_added) == (1, {})


# ---- and taken over ----------------------------------------------------------------------------------


def test_everything_comes_into_a_new_log(logs: Logs, tmp_path: Path) -> None:
    with few_rows():
        report = upgrade_log(logs.old, tmp_path / "new.xlsx")
    new = load_log(tmp_path / "new.xlsx")
    assert (report.left_over, report.own_columns, report.own_sheets) == ((), (), ())
    assert (new.layout, new.problems) == (LAYOUT, [])
    assert new.inputs() == load_log(logs.today).inputs()
    assert PERSONAL_USE in new.sheets["Log"]["disposition"].tolist()
    assert compare(compute_log(new)).differences == []


def test_what_is_ones_own_does_not_get_in_the_way_of_todays_words(logs: Logs, tmp_path: Path) -> None:
    place = len(LOG.columns) + 1
    edits = [CellEdit(OLD_LOG, HEADER_ROW, place, LEFT), CellEdit(OLD_LOG, FIRST_ROW, place, "to a friend")]
    patch(logs.old, edits, new_sheets=(NewSheet(LOG.name, (("My list",),), (20.0,)),))
    content = load_log(logs.old)
    assert content.own_cells["Log"] == {(FIRST_ROW, LEFT): "to a friend"}
    assert content.inputs() == load_log(logs.today).inputs()
    with few_rows():
        report = upgrade_log(logs.old, tmp_path / "new.xlsx")
    assert (report.left_over, report.own_columns) == ((), (f"{LOG.name}: {LEFT} (old)",))
    assert report.own_sheets == (f"{LOG.name} (old)",)
    new = load_log(tmp_path / "new.xlsx")
    assert new.own_cells["Log"] == {(FIRST_ROW, f"{LEFT} (old)"): "to a friend"}
    assert new.inputs() == content.inputs()


def test_a_value_in_place_of_a_formula_is_listed_with_its_old_words(logs: Logs, tmp_path: Path) -> None:
    content = load_log(logs.old)
    patch(logs.old, [CellEdit(OLD_LOG, FIRST_ROW, place_of(content, "net_profit"), 99.5)])
    with few_rows():
        report = upgrade_log(logs.old, tmp_path / "new.xlsx")
    (left,) = report.left_over
    header = LOG.column("net_profit").header
    assert (left.sheet, left.value, left.why) == (OLD_LOG, 99.5, f"replaced the formula of 'Old {header}'")


@pytest.mark.libreoffice
@pytest.mark.skipif(find_soffice() is None, reason="LibreOffice is not installed")
def test_an_ods_log_is_read_checked_and_taken_over(logs: Logs, tmp_path: Path) -> None:
    (ods,) = save_as_ods([logs.old], tmp_path)
    today, old = load_log(logs.today), load_log(ods)
    assert old.words
    agrees(today, old)
    assert {one.group for one in check_log(ods).findings} == {LOOK}
    with few_rows():
        report = upgrade_log(ods, tmp_path / "new.xlsx")
    assert (report.left_over, report.own_columns, report.own_sheets) == ((), (), ())
    assert load_log(tmp_path / "new.xlsx").inputs() == today.inputs()


# ---- small tables of a layout that lacks something ---------------------------------------------------


def test_words_that_a_new_log_holds_are_looked_for_as_they_were() -> None:
    """Headings of old logs get their tax line by the names that they had in a new log then."""
    heading = log_layout().block("Heading")
    name, line = heading.content[2][:2]
    rows = [Renamed(BEFORE, "preset", SETTINGS, "Heading.heading", "Old name", name)]
    rows += [Renamed(BEFORE, "choice", SETTINGS, "Heading.tax_line", "Old line", line)]
    with with_stored(rows):
        worded = in_words(log_layout(), words_of(BEFORE))
    assert worded.block("Heading").content[2][:2] == ("Old name", "Old line")
    assert worded.block("Heading").content[1] == heading.content[1]
