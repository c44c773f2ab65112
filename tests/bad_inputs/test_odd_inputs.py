"""Logs with odd things in them: read, looked over, merged and patched.

What is wrong is named, all else is kept, and only what is typed goes into a result.
"""

from __future__ import annotations

import functools
import re
import warnings
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sheetfns.errors import LogFileError
from sheetfns.hosts import engine
from sheetfns.log.check.report import check_log
from sheetfns.log.edit import merge
from sheetfns.log.edit.conflicts import HEADERS
from sheetfns.log.edit.patch import CellEdit, patch
from sheetfns.log.load import load_log
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import log_layout
from tests.bad_inputs import corpus_cells
from tests.bad_inputs.corpus import Read, cell_of
from tests.bad_inputs.corpus_cells import ODD
from tests.log.edit.merged_copies import listed_values, typed_values
from tests.log.filled_logs import few_rows, full_entries

FOLLOWS = {"errors_follow", "error_in_result"}


# ---- reading -------------------------------------------------------------------------------------


def test_every_file_is_read(contents: dict[str, LogContent], files: dict[str, Path]) -> None:
    assert len(contents) == len(ODD) >= 50
    assert sorted(one.name for one in files["macros"].parent.iterdir()) == sorted(path.name for path in files.values())


@pytest.mark.parametrize("name", ODD)
def test_what_is_wrong_is_named(name: str, contents: dict[str, LogContent]) -> None:
    expected = ODD[name].expected
    assert isinstance(expected, Read)
    problems = contents[name].problems
    said = {(one.sheet, one.cell, one.key) for one in problems}
    assert set(expected.named) <= said, problems
    rows = {(sheet, re.sub("[A-Z]", "", cell)) for sheet, cell, _ in expected.named}
    others = [
        one for one in problems if (one.sheet, one.cell, one.key) not in expected.named and one.key not in FOLLOWS
    ]
    # What cannot be read may make its row say more.
    assert all((one.sheet, re.sub("[A-Z]", "", one.cell)) in rows for one in others), others
    for words in expected.words:
        assert any(re.search(words, str(one)) for one in problems), (words, problems)
    for one in problems:
        assert len(str(one)) <= 400
        assert len(one.found) <= 40
        assert not re.search(r"Error\b|Traceback|None|nan|inf\b", one.message), one


@pytest.mark.parametrize("name", ODD)
def test_what_is_read(name: str, contents: dict[str, LogContent]) -> None:
    """All that is typed, except for the cells that are named."""
    expected = ODD[name].expected
    assert isinstance(expected, Read)
    inputs = full_entries()
    if expected.typed is not None:
        expected.typed(inputs)
    found = contents[name].inputs()
    if not expected.named:
        assert found == inputs
        return
    named = {(sheet, cell) for sheet, cell, _ in expected.named}
    for table in log_layout().tables:
        rows = inputs.rows.get(table.key, [])
        assert len(found.rows.get(table.key, [])) == len(rows)
        for number, (is_there, wanted) in enumerate(zip(found.rows.get(table.key, []), rows, strict=True), 7):
            differ = {key for key in {*is_there, *wanted} if is_there.get(key) != wanted.get(key)}
            cells = {cell_of(table.key, key, number, "")[:2] for key in differ}
            assert cells <= named, (cells, named)
    assert (found.settings, found.blocks, found.forms) == (inputs.settings, inputs.blocks, inputs.forms)


def test_columns_of_ones_own_are_kept(contents: dict[str, LogContent]) -> None:
    content = contents["hundreds of columns of one's own"]
    assert len(content.places["Expenses"].own) == 400
    assert content.own_cells["Expenses"][7, "Own 20"] == "note 20"
    far = contents["column of one's own far right"]
    assert far.own_cells["Trips"] == {(7, "column XFD, without a header"): 1}
    below = contents["last column"]
    assert below.own_cells["Trips"] == {(60, "column XFD, without a header"): "x"}


# ---- looking over --------------------------------------------------------------------------------

# The good log has a fee and a count of cash that are worth a look.
AS_IN_THE_GOOD_ONE = {
    (*cell_of("Log", "row_check", 7, "")[:2], "fee_differs"),
    (*cell_of("Owner", "row_check", 9, "")[:2], "count_differs"),
}
NOT_WORKED_OUT_ANEW = {("Year end", "A1", "figures_differ"), ("Personal items", "A7", "figures_differ")}
LOOKED_OVER: dict[str, set[tuple[str, str, str]]] = {
    "names that refer to themselves": set(),
    "macros": {("Home", "A1", "folder_searched")},
    "formula over several inputs": NOT_WORKED_OUT_ANEW,
    "shared formulas in inputs": NOT_WORKED_OUT_ANEW,
    "name of the log that refers to itself": {
        ("Settings", f"B{AddressMap(log_layout()).setting_rows['Pay_target']}", "name_changed")
    },
}


@pytest.mark.parametrize("name", LOOKED_OVER)
def test_it_is_looked_over(name: str, files: dict[str, Path]) -> None:
    before = files[name].read_bytes()
    with few_rows():
        report = check_log(files[name])
    assert files[name].read_bytes() == before
    found = {(one.sheet, one.cell, one.key) for one in report.findings if one.sheet != "Data checks"}
    assert found >= AS_IN_THE_GOOD_ONE | LOOKED_OVER[name]
    if "refers to itself" not in name:
        assert found == AS_IN_THE_GOOD_ONE | LOOKED_OVER[name]


# ---- merging and patching ------------------------------------------------------------------------


def parts(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as book:
        return {part.filename: book.read(part) for part in book.infolist()}


def formula_cells(path: Path) -> set[tuple[str, bytes]]:
    """Every cell with a formula, by its sheet's part."""
    return {
        (name, cell)
        for name, content in parts(path).items()
        if name.startswith("xl/worksheets/sheet")
        for cell in re.findall(rb'<c r="([A-Z]+\d+)"[^>]*>\s*<f', content)
    }


@pytest.fixture
def once(
    good: Path,
    content: LogContent,
    contents: dict[str, LogContent],
    files: dict[str, Path],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What was read before is not read again, and the engine is left out: it stores results only."""
    known = {good: content} | {files[name]: one for name, one in contents.items()}

    def not_now(path: Path) -> Any:
        raise LogFileError(f"{path}: not now; run it later")

    monkeypatch.setattr(merge, "load_log", lambda path: known[Path(path)])
    monkeypatch.setattr(engine, "recalculate", not_now)


@functools.cache
def parts_of_the_good_one(path: Path) -> dict[str, bytes]:
    return parts(path)


@functools.cache
def formulas_of_the_good_one(path: Path) -> set[tuple[str, bytes]]:
    return formula_cells(path)


@pytest.mark.usefixtures("once")
@pytest.mark.parametrize("name", ODD)
def test_it_is_merged_as_the_other_copy(name: str, good: Path, files: dict[str, Path], tmp_path: Path) -> None:
    """Nothing but values of cells, and lines on a sheet of their own, comes into the result."""
    bad, out = files[name], tmp_path / "out.xlsx"
    before = good.read_bytes(), bad.read_bytes()
    merge.merge_logs(good, bad, out)
    assert (good.read_bytes(), bad.read_bytes()) == before
    was, made = parts_of_the_good_one(good), parts(out)
    new = set(made) - set(was)
    assert set(was) <= set(made)
    assert len(new) <= 1
    assert all(re.fullmatch(r"xl/worksheets/sheet\d+\.xml", part) for part in new)
    assert formula_cells(out) == formulas_of_the_good_one(good)
    assert not re.search(rb"vbaProject|externalLink", made["xl/workbook.xml"])
    assert sorted(one.name for one in tmp_path.iterdir()) == ["out.xlsx"]


FORMS = [
    "parts not packed", "no list of types", "zip within", "tags crossed in a sheet",
    "sheet with prefixes", "workbook with prefixes", "cells without names", "rows without numbers",
    "comments between cells", "line breaks between cells", "names of cells in small letters",
    "last column", "dimension that claims all", "column of one's own far right", "days from 1904",
    "link to another workbook", "macros", "protected workbook and sheet",
    "merged cells over inputs", "rows out of order", "cells out of order", "no names",
]  # fmt: skip


@pytest.mark.usefixtures("once")
@pytest.mark.parametrize("name", FORMS)
def test_it_is_patched(name: str, files: dict[str, Path], contents: dict[str, LogContent], tmp_path: Path) -> None:
    """Values in other cells go in, and every other one that is typed is as before."""
    out = tmp_path / "out.xlsx"
    before = files[name].read_bytes()
    edits = [CellEdit("Trips", 7, 6, "=new place"), CellEdit("Trips", 8, 6, "another")]
    patch(files[name], edits, out=out)
    assert files[name].read_bytes() == before
    was, made = contents[name].inputs(), load_log(out).inputs()
    trips = made.rows.pop("Trips")
    last = was.rows["Trips"][1:]
    assert trips == [was.rows["Trips"][0] | {"to_place": "=new place"}, {"to_place": "another"}, *last]
    assert made.rows == {key: rows for key, rows in was.rows.items() if key != "Trips"}
    assert (made.settings, made.blocks, made.forms) == (was.settings, was.blocks, was.forms)
    assert set(parts(out)) == set(parts(files[name]))


@pytest.mark.usefixtures("once")
def test_a_workbook_without_styles_is_not_patched(files: dict[str, Path], tmp_path: Path) -> None:
    """With a text that needs a style of its own; what needs none goes in."""
    path, out = files["no styles"], tmp_path / "out.xlsx"
    with pytest.raises(LogFileError, match=r"no-styles\.xlsx, sheet Trips: .*; open it in your .* save it as"):
        patch(path, [CellEdit("Trips", 7, 6, "=new place")], out=out)
    assert not out.exists()
    patch(path, [CellEdit("Trips", 7, 6, "new place")], out=out)
    assert load_log(out).inputs().rows["Trips"][0]["to_place"] == "new place"


TYPED = [
    "emoji and marks", "texts that look like formulas", "amounts as text", "days as text",
    "days that cannot be", "days from 1904", "error values", "control characters",
    "yes and no as truth", "number too large for any money",
]  # fmt: skip


@pytest.mark.usefixtures("once")
@pytest.mark.parametrize("name", TYPED)
def test_nothing_typed_is_lost_in_a_merge(
    name: str, content: LogContent, files: dict[str, Path], contents: dict[str, LogContent], tmp_path: Path
) -> None:
    out = tmp_path / "out.xlsx"
    merge.merge_logs(content.path, files[name], out)
    there, listed = typed_values(load_log(out)), listed_values(out)
    for one in (contents[name], content):
        for key, header, value in typed_values(one):
            assert there[key, header, value] or listed[header, value], (key, header, value)


@pytest.mark.usefixtures("once")
def test_texts_that_look_like_formulas_stay_texts(good: Path, files: dict[str, Path], tmp_path: Path) -> None:
    out = tmp_path / "out.xlsx"
    merge.merge_logs(good, files["texts that look like formulas"], out)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # extensions that openpyxl drops
        made = openpyxl.load_workbook(out)
        was = openpyxl.load_workbook(good)
    texts = set()
    for sheet in made:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.value in corpus_cells.FORMULAS:
                    assert cell.data_type in {"s", "inlineStr"}
                    assert cell.quotePrefix
                    texts.add(cell.value)
                if cell.data_type == "f":
                    assert was[sheet.title][cell.coordinate].data_type == "f"
    assert texts == set(corpus_cells.FORMULAS)


@pytest.mark.usefixtures("once")
def test_a_sheet_of_ones_own_called_conflicts_stays(good: Path, files: dict[str, Path], tmp_path: Path) -> None:
    """In the first copy; what the two differ on stands on another sheet then."""
    mine, out = files["sheet of one's own called Conflicts"], tmp_path / "out.xlsx"
    merge.merge_logs(mine, files["texts that look like formulas"], out)
    assert parts(out)["xl/worksheets/sheet99.xml"] == parts(mine)["xl/worksheets/sheet99.xml"]
    book = openpyxl.load_workbook(out, read_only=True)
    assert book["Conflicts"]["A1"].value == "quarrel with the landlord"
    assert [cell.value for cell in next(book["Conflicts 2"].rows)] == list(HEADERS)
    book.close()
