"""Logs saved as .ods by LibreOffice and by Gnumeric, beside the .xlsx that they were made from."""

from __future__ import annotations

import datetime as dt
import functools
import random
import shutil
import subprocess
import zipfile
from itertools import zip_longest
from pathlib import Path
from typing import Any

import pytest

from sheetfns.errors import LogFileError
from sheetfns.files import sheet_xml
from sheetfns.files.ods_file import OdsFile
from sheetfns.files.sheet_cells import with_errors
from sheetfns.files.xlsx_file import XlsxFile
from sheetfns.log.check.formula_text import CellName, canonical_formula
from sheetfns.log.check.report import Finding, check_log
from sheetfns.log.compute import compute_log, year_figures
from sheetfns.log.edit.merge import merge_logs
from sheetfns.log.edit.patch import refresh_values
from sheetfns.log.edit.upgrade import upgrade_log
from sheetfns.log.forecast import look_ahead
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import log_layout
from tests import EXAMPLES
from tests.libreoffice import find_soffice, save_as_ods
from tests.log.edit.merged_copies import edited, typed_values
from tests.log.filled_logs import full_entries, small_log
from tests.log.quick_logs import loaded, quick_log

PLAIN, FUNCTIONS = "sourcing_log_example", "sourcing_log_example_functions"
SSCONVERT = shutil.which("ssconvert")
by_libreoffice = pytest.mark.libreoffice
by_gnumeric = pytest.mark.skipif(SSCONVERT is None, reason="ssconvert is not installed")
BOTH = pytest.mark.parametrize("name", [PLAIN, FUNCTIONS])
LEADING_BLANK_LOST = ("Pay", "figures_differ")
"""LibreOffice 7.4 drops the blank at the beginning of a text that a formula gives in an .xlsx."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The .xlsx logs, and beside them the same as .ods, saved in one run of LibreOffice."""
    made = tmp_path_factory.mktemp("ods")
    for name in (PLAIN, FUNCTIONS):
        shutil.copy(EXAMPLES / f"{name}.xlsx", made)
    inputs = full_entries()
    small_log(made / "mine.xlsx", inputs=inputs)
    theirs = edited(inputs, 4, "theirs")
    theirs.settings["Shop_name"] = "Another name"
    quick_log(made / "theirs.xlsx", inputs=theirs)
    spoiled(made / "mine.xlsx", made / "spoiled.xlsx")
    if find_soffice() is not None:
        save_as_ods(sorted(made.glob("*.xlsx")), made)
    return made


def spoiled(log: Path, to: Path) -> None:
    """A log with cells that cannot be read, and with formulas that are not its own."""
    book = loaded(log)
    sheet = book["Sourcing log"]
    headers = {cell.value: cell.column for cell in sheet[6]}
    for row, header, value in (
        (7, "Paid", "3.50"),
        (7, "Description", "  two blanks  before\nand a line "),
        (8, "Net profit", 5),
        (9, "Net profit", "=1/0"),
        (9, "Paid", True),
        (10, "Sold on", "2026-02-30"),
        (10, "Paid", "=#N/A"),
        (11, "Paid", dt.time(13, 45)),
        (11, "Bought on", dt.time(13, 45)),
    ):
        sheet.cell(row, headers[header]).value = value
    book.save(to)
    _, copy = refresh_values(to)
    copy.unlink()


@pytest.fixture(scope="module")
def gnumeric(folder: Path) -> Path:
    """The example as .ods, saved by Gnumeric."""
    target = folder / "gnumeric.ods"
    words = [str(SSCONVERT), str(folder / f"{PLAIN}.xlsx"), str(target)]
    subprocess.run(words, check=True, capture_output=True, timeout=120)
    return target


@functools.cache
def read_once(path: Path) -> LogContent:
    return load_log(path)


def logs(folder: Path, name: str) -> tuple[LogContent, LogContent]:
    return read_once(folder / f"{name}.xlsx"), read_once(folder / f"{name}.ods")


def same_typed(one: Any, other: Any) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        # LibreOffice writes 15 digits.
        return abs(one - other) <= 1e-14 * abs(one)
    return type(one) is type(other) and bool(one == other)


def typed(content: LogContent) -> dict[tuple[str, int, str], Any]:
    """Every typed value by sheet or table, row and key."""
    inputs: Inputs = content.inputs()
    rows = {
        (key, place, name): value
        for part in (inputs.rows, inputs.blocks)
        for key, lines in part.items()
        for place, line in enumerate(lines)
        for name, value in line.items()
    }
    single = {"": inputs.settings} | inputs.forms
    cells = {(key, 0, name): value for key, line in single.items() for name, value in line.items()}
    own = {
        (key, row, header): value for key, found in content.own_cells.items() for (row, header), value in found.items()
    }
    return rows | cells | own


def assert_same_entries(xlsx: LogContent, ods: LogContent) -> None:
    one, other = typed(xlsx), typed(ods)
    assert one.keys() == other.keys()
    assert len(one) > 50
    assert {key: (one[key], other[key]) for key in one if not same_typed(one[key], other[key])} == {}
    for key, frame in xlsx.sheets.items():
        assert frame.dtypes.to_dict() == ods.sheets[key].dtypes.to_dict()
        assert frame["sheet_row"].tolist() == ods.sheets[key]["sheet_row"].tolist()
    assert ods.edition == xlsx.edition
    assert ods.ready_rows == xlsx.ready_rows
    assert ods.places == xlsx.places
    assert ods.sheet_names == xlsx.sheet_names


def assert_same_formulas(xlsx: Path, ods: Path) -> int:
    """Formulas, compared as check compares them; gives how many there are."""
    count = 0

    def named(cell: CellName) -> str:
        return f"{cell.sheet}!{cell.text}"

    with XlsxFile(xlsx) as one, OdsFile(ods) as other:
        assert one.sheet_names == other.sheet_names
        for sheet in one.sheet_names:
            left, right = sheet_xml.formulas(one.part(sheet)), other.formulas(sheet)
            assert left.keys() == right.keys()
            count += len(left)
            for place, formula in left.items():
                wanted = canonical_formula(formula, named)
                assert canonical_formula(right[place], named) == wanted, (sheet, place)
        for name, cells in one.defined_names.items():
            if not name.startswith("_xlnm"):
                assert other.defined_names[name].replace("'", "") == cells.replace("'", "")
    return count


def found_in(path: Path) -> list[tuple[Any, ...]]:
    """What check says, but for what LibreOffice has changed in the results."""

    def words(one: Finding) -> tuple[Any, ...]:
        return one.group, one.sheet, one.cell, one.found, one.message, one.key, one.times

    findings = check_log(path).findings
    return [words(one) for one in findings if (one.sheet, one.key) != LEADING_BLANK_LOST]


def assert_same_figures(xlsx: LogContent, ods: LogContent) -> None:
    """The year and the weeks ahead, to the cent."""
    one, other = compute_log(xlsx), compute_log(ods)
    year = int(xlsx.settings["Tax_year"])
    for which in (year - 1, year):
        left, right = year_figures(one, which), year_figures(other, which)
        assert right.amounts == pytest.approx(left.amounts, abs=1e-9)
        assert [line.amount for line in right.lines] == pytest.approx([line.amount for line in left.lines], abs=1e-9)
    left_ahead, right_ahead = look_ahead(one, 1000), look_ahead(other, 1000)
    assert right_ahead.words == left_ahead.words
    assert right_ahead.weeks.equals(left_ahead.weeks)
    assert right_ahead.odds == left_ahead.odds


# ---- LibreOffice -----------------------------------------------------------------------------


@by_libreoffice
@BOTH
def test_every_typed_value(folder: Path, name: str) -> None:
    assert_same_entries(*logs(folder, name))


@by_libreoffice
@BOTH
def test_every_cell_of_the_typed_sheets(folder: Path, name: str) -> None:
    sheets = ["Settings", *(table.name for table in log_layout().tables if table.inputs())]
    count = 0
    with XlsxFile(folder / f"{name}.xlsx") as one, OdsFile(folder / f"{name}.ods") as other:
        for sheet in sheets:
            left = with_errors(one.cells(sheet), one.hidden(sheet))
            right = with_errors(other.cells(sheet), other.hidden(sheet))
            for row, (wanted, found) in enumerate(zip_longest(left, right, fillvalue=[]), 1):
                count += len(wanted)
                pairs = zip_longest(wanted, found, fillvalue="")
                different = [pair for pair in pairs if not same_typed(*pair)]
                assert different == [], (sheet, row)
    assert count > 30_000


@by_libreoffice
@BOTH
def test_every_formula(folder: Path, name: str) -> None:
    assert assert_same_formulas(folder / f"{name}.xlsx", folder / f"{name}.ods") > 39_000


@by_libreoffice
@BOTH
def test_figures(folder: Path, name: str) -> None:
    assert_same_figures(*logs(folder, name))


@by_libreoffice
def test_check_says_the_same(folder: Path) -> None:
    found = found_in(folder / f"{PLAIN}.ods")
    assert found == found_in(folder / f"{PLAIN}.xlsx")
    assert len(found) == 6


@by_libreoffice
def test_check_says_the_same_of_a_spoiled_log(folder: Path) -> None:
    found = found_in(folder / "spoiled.ods")
    assert found == found_in(folder / "spoiled.xlsx")
    keys = {one[5] for one in found}
    assert {"formula_typed_over", "formula_changed", "not_a_number", "error_cell"} <= keys


@by_libreoffice
def test_spoiled_entries(folder: Path) -> None:
    assert_same_entries(*logs(folder, "spoiled"))


@by_libreoffice
def test_commands_give_the_same(folder: Path, run: Any, tmp_path: Path) -> None:
    def said(*words: object) -> dict[str, tuple[int, str, str]]:
        return {ending: run(*(str(word).replace("*", ending) for word in words)) for ending in (".xlsx", ".ods")}

    log = folder / f"{PLAIN}*"
    for words in (["summary", log, "--csv"], ["summary", log], ["forecast", log, "--paths", 1000]):
        both = said(*words)
        assert both[".ods"] == both[".xlsx"]
        assert both[".ods"][0] == 0
    said("year-end", log, "--out", tmp_path / "made*", "--draft")
    names = {path.name for path in (tmp_path / "made.xlsx").iterdir()}
    assert names == {path.name for path in (tmp_path / "made.ods").iterdir()}
    for name in names:
        if name.endswith(".csv") and "problems" not in name:
            one, other = (tmp_path / f"made{ending}" / name for ending in (".xlsx", ".ods"))
            assert other.read_bytes() == one.read_bytes()


@by_libreoffice
@pytest.mark.parametrize("with_base", [False, True])
def test_merge_takes_what_the_ods_copy_has_changed(folder: Path, tmp_path: Path, with_base: bool) -> None:
    made = {}
    for ending in (".xlsx", ".ods"):
        out = tmp_path / f"from{ending}.xlsx"
        base = folder / f"mine{ending}" if with_base else None
        report = merge_logs(folder / "mine.xlsx", folder / f"theirs{ending}", out, base)
        made[ending] = typed_values(load_log(out)), report.cells_taken, report.rows_added
        assert report.cells_taken
    assert made[".ods"] == made[".xlsx"]
    if with_base:
        assert load_log(tmp_path / "from.ods.xlsx").settings["Shop_name"] == "Another name"


@by_libreoffice
def test_upgrade_makes_an_xlsx_of_it(folder: Path, tmp_path: Path) -> None:
    report = upgrade_log(folder / "theirs.ods", tmp_path / "new.xlsx")
    assert report.left_over == ()
    new = typed_values(load_log(tmp_path / "new.xlsx"))
    assert new == typed_values(load_log(folder / "theirs.xlsx"))


@by_libreoffice
def test_a_name_of_the_other_kind(folder: Path, tmp_path: Path) -> None:
    for ending, other in ((".ods", ".xlsx"), (".xlsx", ".ods")):
        path = tmp_path / f"renamed{other}"
        shutil.copy(folder / f"mine{ending}", path)
        *others, named = check_log(path).findings
        assert named.key == "wrong_ending"
        assert f"give it a name that ends in {ending}, or a program" in named.message
        assert "wrong_ending" not in {one.key for one in others}


@by_libreoffice
def test_damage_is_one_line_or_none(folder: Path, tmp_path: Path) -> None:
    """A hundred damaged files, half of them packed again so that no check sum tells."""
    whole = (folder / "mine.ods").read_bytes()
    with zipfile.ZipFile(folder / "mine.ods") as file:
        parts = {name: file.read(name) for name in ("mimetype", "content.xml")}
    path = tmp_path / "damaged.ods"
    refused: list[str] = []
    for seed in range(100):
        draw = random.Random(seed)
        if seed % 2:
            path.write_bytes(mutant(whole, draw))
        else:
            changed = parts | {"content.xml": mutant(parts["content.xml"], draw)}
            with zipfile.ZipFile(path, "w") as file:
                for name, part in changed.items():
                    file.writestr(name, part)
        try:
            load_log(path)
        except LogFileError as error:
            refused.append(str(error))
    assert len(refused) > 60
    assert [words for words in refused if "\n" in words or "damaged.ods" not in words] == []


def mutant(content: bytes, draw: random.Random) -> bytes:
    """The bytes, with some changed, gone, doubled or cut off."""
    at = draw.randrange(len(content))
    length = draw.randrange(1, 40)
    return draw.choice(
        [
            content[:at],
            content[:at] + content[at + length :],
            content[: at + length] + content[at:],
            content[:at] + draw.randbytes(length) + content[at + length :],
            content[:at] + bytes([content[at] ^ 1 << draw.randrange(7)]) + content[at + 1 :],
        ]
    )


# ---- Gnumeric --------------------------------------------------------------------------------


@by_gnumeric
def test_a_log_saved_by_gnumeric(folder: Path, gnumeric: Path) -> None:
    xlsx, ods = load_log(folder / f"{PLAIN}.xlsx"), load_log(gnumeric)
    assert_same_entries(xlsx, ods)
    assert assert_same_formulas(folder / f"{PLAIN}.xlsx", gnumeric) > 39_000
    assert_same_figures(xlsx, ods)


@by_gnumeric
def test_check_of_a_log_saved_by_gnumeric(gnumeric: Path) -> None:
    """Gnumeric 1.12 has errors for results of N of a blank cell; the formulas are the log's own."""
    groups = {one.group for one in check_log(gnumeric).findings}
    assert groups <= {"Results", "Warnings"}
