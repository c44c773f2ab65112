"""Logs with odd things in them are read: what is wrong is named, the rest is kept."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from sheetfns.log.check import check_log
from sheetfns.log.layout import layout
from sheetfns.log.read import LogContent
from tests.bad_inputs.corpus import Read, cell_of
from tests.bad_inputs.corpus_cells import ODD
from tests.log.filled_logs import few_rows, full_entries

FOLLOWS = {"errors_follow", "error_in_result"}


# ---- reading -------------------------------------------------------------------------------------


def test_every_file_is_read(contents: dict[str, LogContent], files: dict[str, Path]) -> None:
    assert len(contents) == len(ODD) >= 50
    assert sorted(one.name for one in files["macros"].parent.iterdir()) == sorted(
        path.name for path in files.values()
    )


@pytest.mark.parametrize("name", ODD)
def test_what_is_wrong_is_named(name: str, contents: dict[str, LogContent]) -> None:
    expected = ODD[name].expected
    assert isinstance(expected, Read)
    problems = contents[name].problems
    said = {(one.sheet, one.cell, one.key) for one in problems}
    assert set(expected.named) <= said, problems
    rows = {(sheet, re.sub("[A-Z]", "", cell)) for sheet, cell, _ in expected.named}
    others = [
        one
        for one in problems
        if (one.sheet, one.cell, one.key) not in expected.named and one.key not in FOLLOWS
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
    entries = full_entries()
    if expected.typed is not None:
        expected.typed(entries)
    found = contents[name].entries()
    if not expected.named:
        assert found == entries
        return
    named = {(sheet, cell) for sheet, cell, _ in expected.named}
    for table in layout().tables:
        rows = entries.rows.get(table.key, [])
        assert len(found.rows.get(table.key, [])) == len(rows)
        for number, (is_there, wanted) in enumerate(
            zip(found.rows.get(table.key, []), rows, strict=True), 7
        ):
            differ = {key for key in {*is_there, *wanted} if is_there.get(key) != wanted.get(key)}
            cells = {cell_of(table.key, key, number, "")[:2] for key in differ}
            assert cells <= named, (cells, named)
    assert (found.settings, found.blocks, found.forms) == (
        entries.settings,
        entries.blocks,
        entries.forms,
    )


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
NOT_WORKED_OUT_ANEW = {("Year end", "A1", "figures_differ"), ("Own things", "A7", "figures_differ")}
LOOKED_OVER: dict[str, set[tuple[str, str, str]]] = {
    "names that refer to themselves": set(),
    "macros": set(),
    "formula over several inputs": NOT_WORKED_OUT_ANEW,
    "shared formulas in inputs": NOT_WORKED_OUT_ANEW,
    "name of the log that refers to itself": {("Settings", "B13", "name_changed")},
}


@pytest.mark.parametrize("name", LOOKED_OVER)
def test_it_is_looked_over(name: str, files: dict[str, Path]) -> None:
    before = files[name].read_bytes()
    with few_rows():
        report = check_log(files[name])
    assert files[name].read_bytes() == before
    found = {(one.sheet, one.cell, one.key) for one in report.findings if one.sheet != "Checks"}
    assert found >= AS_IN_THE_GOOD_ONE | LOOKED_OVER[name]
    if "refers to itself" not in name:
        assert found == AS_IN_THE_GOOD_ONE | LOOKED_OVER[name]
