"""Logs with macros through merge and upgrade: macros, buttons and settings, and what is said."""

from __future__ import annotations

import ast
import dataclasses
import importlib.util
import shutil
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import xlwings

from sheetfns.errors import LogFileError
from sheetfns.hosts.excel_marks import MENU_MODULE
from sheetfns.log.edit import merge, upgrade
from sheetfns.log.edit.macros import CONF_SHEET, SAFE_SETTINGS, has_macros, macro_settings, right_ending
from sheetfns.log.edit.merge import merge_logs
from sheetfns.log.edit.patch import CellEdit, NewSheet, patch
from sheetfns.log.edit.upgrade import LEFT_OVER, upgrade_log
from sheetfns.log.load import load_log
from sheetfns.log.sheets.words import CONFLICTS
from sheetfns.programs.excel import macro_log, vba
from sheetfns.programs.excel.macro_log import build_macro_log, macro_writer, same_macros
from sheetfns.programs.excel.project import PROJECT_PART
from tests import ROOT
from tests.log.filled_logs import FEW_ROWS, few_rows, full_entries, part_of, small_log

XLWINGS = Path(xlwings.__file__).parent
MACRO_WORKBOOK = b"application/vnd.ms-excel.sheet.macroEnabled.main+xml"
WORKBOOK = b"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
PYTHON = r"C:\Programs\Python\python.exe"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("kept")


@pytest.fixture(scope="module")
def plain_file(folder: Path) -> Path:
    return small_log(folder / "log.xlsx", "plain", full_entries())


@pytest.fixture(scope="module")
def log(folder: Path) -> Path:
    with few_rows():
        return build_macro_log(folder / "log.xlsm", FEW_ROWS, full_entries(), interpreter=PYTHON)


def parts(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as book:
        return {name: book.read(name) for name in book.namelist()}


def with_parts(source: Path, target: Path, changed: dict[str, bytes]) -> Path:
    content_by_name = parts(source) | changed
    with zipfile.ZipFile(target, "w") as new:
        for name, content in content_by_name.items():
            new.writestr(name, content)
    return target


def cell(path: Path, setting: str) -> tuple[str, int, int]:
    places = load_log(path).setting_places
    row, column = places.cells[setting]
    return places.sheet, row, column + 1


def another_copy(source: Path, target: Path, shop: str = "Three Attics") -> Path:
    """A copy with another shop name and one more expense."""
    content = load_log(source)
    place, typed = content.places["Expenses"], content.inputs().rows["Expenses"]
    row = {**typed[0], "description": "Tape"}
    edits = [CellEdit(*cell(source, "Shop_name"), shop)]
    edits += [
        CellEdit("Expenses", place.first + len(typed), place.columns[key] + 1, value) for key, value in row.items()
    ]
    patch(source, edits, out=target)
    return target


@pytest.fixture(scope="module")
def other_log(log: Path, folder: Path) -> Path:
    """A copy of the log with macros, with other settings and a sheet of one's own."""
    path = another_copy(log, folder / "other.xlsm")
    list_of_theirs = NewSheet("Their list", (("x",),), (9.0,))
    edit = CellEdit(CONF_SHEET, 1, 2, "D:\\other\\python.exe")
    patch(path, [edit], new_sheets=[list_of_theirs])
    return path


@pytest.fixture(scope="module")
def other_file(plain_file: Path, folder: Path) -> Path:
    return another_copy(plain_file, folder / "other.xlsx")


@pytest.fixture(scope="module")
def changed_log(log: Path, folder: Path) -> Path:
    """A log with macros whose settings and sheets somebody went on with."""
    path = folder / "changed.xlsm"
    edits = [
        CellEdit(CONF_SHEET, 2, 1, "udf modules"),
        CellEdit(CONF_SHEET, 2, 2, "sheetfns.menu_of_another_version"),
        CellEdit(CONF_SHEET, 5, 2, True),
        CellEdit(CONF_SHEET, 6, 1, "PYTHONPATH"),
        CellEdit(CONF_SHEET, 6, 2, "to be a formula"),
        CellEdit(CONF_SHEET, 7, 1, "Timeout"),
        CellEdit(CONF_SHEET, 7, 2, 2.5),
        CellEdit(CONF_SHEET, 9, 1, "ask Bo about this"),
        CellEdit(CONF_SHEET, 2, 6, 12.0),
    ]
    patch(log, edits, out=path, new_sheets=[NewSheet("My list", (("x", 4.5),), (9.0, 9.0))])
    part = part_of(path, CONF_SHEET)
    content = parts(path)[part]
    start = content.index(b'<c r="B6"')
    typed = content[start : content.index(b"</c>", start)]
    formula = b'<c r="B6" t="str"><f>"C:\\"&amp;"own"</f><v>C:\\own</v>'
    return with_parts(path, path, {part: content.replace(typed, formula)})


@pytest.fixture(scope="module")
def with_own_macros(changed_log: Path, folder: Path) -> Path:
    """A log with macros that nobody here wrote; they are another project of xlwings."""
    with zipfile.ZipFile(XLWINGS / "addin" / "xlwings.xlam") as book:
        project = book.read(PROJECT_PART)
    return with_parts(changed_log, folder / "own macros.xlsm", {PROJECT_PART: project})


# Merge


def same_but_sheets(before: Path, after: Path, *kept: str) -> None:
    """Of a merge every part is as before that holds no sheet, no formats and no list of them."""
    old, new = parts(before), parts(after)
    lists = ("xl/worksheets/sheet", "xl/workbook.xml", "xl/_rels/", "[Content", "xl/styles.xml")
    apart = {name for name in old if not name.startswith(lists)} | {*kept}
    assert {name: new.get(name) for name in apart} == {name: old[name] for name in apart}


def test_two_logs_with_macros(run: Any, log: Path, other_log: Path, tmp_path: Path) -> None:
    out = tmp_path / "both.xlsm"
    code, said, err = run("merge", log, other_log, "--out", out)
    assert (code, err) == (0, "")
    assert "Expenses: 1 new row added." in said
    assert "both.xlsm is ready." in said
    assert "  Their list\n" in said
    assert CONF_SHEET not in said
    assert "The macros" not in said
    kept = {name for name in parts(log) if "vba" in name or "vml" in name}
    assert len(kept) == 2
    same_but_sheets(log, out, part_of(log, CONF_SHEET), "xl/worksheets/_rels/sheet1.xml.rels")
    assert parts(out)["[Content_Types].xml"].count(MACRO_WORKBOOK) == 1
    assert right_ending(out) == ".xlsm"
    assert macro_settings(out)["Interpreter_Win"] == PYTHON
    content = load_log(out)
    assert content.sheet_names.count(CONF_SHEET) == 1
    assert CONFLICTS in content.sheet_names
    assert content.inputs().settings["Shop_name"] == "Two Attics"
    assert content.inputs().rows["Expenses"][-1]["description"] == "Tape"


def test_macros_with_none(run: Any, log: Path, other_file: Path, tmp_path: Path) -> None:
    out = tmp_path / "both.xlsm"
    code, said, _ = run("merge", log, other_file, "--out", out)
    assert code == 0
    assert " macros" not in said
    same_but_sheets(log, out, part_of(log, CONF_SHEET))
    content = load_log(out)
    assert (content.edition, right_ending(out)) == ("functions", ".xlsm")
    assert content.inputs().rows["Expenses"] == load_log(other_file).inputs().rows["Expenses"]


def test_none_with_macros(run: Any, plain_file: Path, other_log: Path, tmp_path: Path) -> None:
    out = tmp_path / "both.xlsx"
    code, said, _ = run("merge", plain_file, other_log, "--out", out)
    assert code == 0
    assert "other.xlsm has macros, which were not copied: both.xlsx has none.\n" in said
    assert CONF_SHEET not in said
    content = load_log(out)
    assert not has_macros(out)
    assert (content.edition, right_ending(out)) == ("plain", ".xlsx")
    assert CONF_SHEET not in content.sheet_names
    assert content.inputs().rows["Expenses"] == load_log(other_log).inputs().rows["Expenses"]


def test_a_log_with_macros_takes_its_own_place(log: Path, other_log: Path, tmp_path: Path) -> None:
    mine = Path(shutil.copy(log, tmp_path / "mine.xlsm"))
    report = merge_logs(mine, other_log, mine, log)
    assert report.extra_sheets == ("Their list",)
    assert report.patched
    assert report.patched.copy
    assert parts(report.patched.copy) == parts(log)
    same_but_sheets(log, mine, part_of(log, CONF_SHEET))
    assert load_log(mine).inputs().settings["Shop_name"] == "Three Attics"


def test_other_macros_of_the_other_copy_are_named(run: Any, log: Path, with_own_macros: Path, tmp_path: Path) -> None:
    code, said, _ = run("merge", log, with_own_macros, "--out", tmp_path / "both.xlsm")
    assert code == 0
    assert "The macros of the two copies differ: both.xlsm has those of log.xlsm.\n" in said
    assert parts(tmp_path / "both.xlsm")[PROJECT_PART] == parts(log)[PROJECT_PART]


@pytest.fixture(scope="module")
def all_logs(log: Path, plain_file: Path, other_log: Path, other_file: Path) -> Path:
    """The folder of these four."""
    (place,) = {one.parent for one in (log, plain_file, other_log, other_file)}
    return place


@pytest.fixture
def nothing_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: Any, **__: Any) -> None:
        raise AssertionError("it was read")

    monkeypatch.setattr(merge, "load_log", refuse)
    monkeypatch.setattr(upgrade, "load_log", refuse)


@pytest.mark.usefixtures("nothing_is_read")
@pytest.mark.parametrize(
    ("names", "ending"),
    [
        ("log.xlsm other.xlsx both.xlsx", ".xlsm"),
        ("log.xlsm other.xlsm both.xlsx", ".xlsm"),
        ("log.xlsx other.xlsm both.xlsm", ".xlsx"),
        ("log.xlsx other.xlsx both.ods", ".xlsx"),
    ],
)
def test_an_ending_that_does_not_fit(all_logs: Path, tmp_path: Path, names: str, ending: str) -> None:
    mine, theirs, out = names.split()
    words = rf"{out}: give the result a name that ends in \{ending}, as {mine} does"
    with pytest.raises(LogFileError, match=words):
        merge_logs(all_logs / mine, all_logs / theirs, tmp_path / out)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("true", "named"), [(".xlsx", ".xlsm"), (".xlsm", ".xlsx")])
def test_a_copy_with_another_kind_s_name(all_logs: Path, tmp_path: Path, true: str, named: str) -> None:
    mine = Path(shutil.copy(all_logs / f"log{true}", tmp_path / f"mine{named}"))
    other_log = all_logs / "other.xlsm"
    words = rf"mine\{named}: is an \{true} workbook, whatever its name says; .* ends in \{true}"
    for out in (tmp_path / f"both{named}", mine):
        with pytest.raises(LogFileError, match=words):
            merge_logs(mine, other_log, out)
    assert [one.name for one in tmp_path.iterdir()] == [mine.name]
    # Under the right name the result may be written.
    merge_logs(mine, other_log, tmp_path / f"both{true}")
    assert right_ending(tmp_path / f"both{true}") == true


def test_an_ending_that_cannot_be_told(tmp_path: Path) -> None:
    assert right_ending(tmp_path / "none.xlsx") is None
    (tmp_path / "text.xlsx").write_text("Item no.,Paid\n", encoding="ascii")
    assert right_ending(tmp_path / "text.xlsx") is None
    for content in (b"<Types>", b"<Types/>", b'<Types><Override PartName="/xl/workbook.xml"/></Types>'):
        with zipfile.ZipFile(tmp_path / "odd.xlsx", "w") as book:
            book.writestr("[Content_Types].xml", content)
        assert right_ending(tmp_path / "odd.xlsx") is None


def test_the_next_step_names_a_fitting_ending(
    log: Path, other_log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def older(path: Path) -> Any:
        content = load_log(path)
        return dataclasses.replace(content, layout=3, lacks={"Personal items": []})

    monkeypatch.setattr(merge, "load_log", older)
    with pytest.raises(LogFileError, match=r"'sheetfns upgrade log\.xlsm --out NEW\.xlsm'"):
        merge_logs(log, other_log, tmp_path / "both.xlsm")


# Upgrade


def upgraded(run: Any, *words: Any) -> tuple[int, str, str]:
    with few_rows():
        done: tuple[int, str, str] = run("upgrade", *words)
    return done


@pytest.fixture(scope="module")
def with_settings_only(plain_file: Path, folder: Path) -> Path:
    """A log without macros, with settings that the add-in reads in any workbook."""
    path = folder / "settings only.xlsx"
    sheet = NewSheet(CONF_SHEET, (("Interpreter_Win", PYTHON), ("Timeout", 2.5)), (9.0, 9.0))
    patch(plain_file, [], out=path, new_sheets=[sheet])
    return path


def test_a_log_without_macros_gets_them(run: Any, with_settings_only: Path, tmp_path: Path) -> None:
    out = tmp_path / "new.xlsm"
    code, said, _ = upgraded(run, with_settings_only, "--out", out)
    assert code == 0
    assert "Its formulas call the functions, as they do in every log with macros.\n" in said
    assert "Import the functions into it before you use it; 'sheetfns install excel' says" in said
    assert "left behind" not in said
    assert "Your own sheets" not in said
    assert parts(out)[PROJECT_PART] == macro_log.installed_macros().project
    content, old = load_log(out), load_log(with_settings_only)
    assert (content.edition, right_ending(out)) == ("functions", ".xlsm")
    assert content.inputs() == old.inputs()
    assert content.ready_rows == old.ready_rows
    assert content.sheet_names.count(CONF_SHEET) == 1
    settings = macro_settings(out)
    assert (settings["UDF Modules"], settings["Timeout"]) == (MENU_MODULE, 2.5)
    # Whoever named that Python, it was not this computer.
    assert "Interpreter_Win" not in settings
    assert [line[:3] for line in lines_left_over(out)] == [[CONF_SHEET, "B1", f"Interpreter_Win: {PYTHON}"]]


def test_settings_without_macros_are_a_sheet_of_ones_own(plain_file: Path, tmp_path: Path) -> None:
    old = tmp_path / "old.xlsx"
    patch(plain_file, [], out=old, new_sheets=[NewSheet(CONF_SHEET, (("Show Console", True),), (9.0, 9.0))])
    with few_rows():
        report = upgrade_log(old, tmp_path / "new.xlsx", macro_writer=macro_writer)
    assert (report.own_sheets, report.macros_left) == ((CONF_SHEET,), False)
    assert macro_settings(report.path) == {"Show Console": True}


def test_settings_that_name_a_program_are_not_carried_over(with_settings_only: Path, tmp_path: Path) -> None:
    with few_rows():
        report = upgrade_log(with_settings_only, tmp_path / "new.xlsx", macro_writer=macro_writer)
    assert (report.own_sheets, macro_settings(report.path)) == ((), {})
    listed = [(one.cell, one.value) for one in report.left_over]
    assert listed == [("B1", f"Interpreter_Win: {PYTHON}"), ("B2", "Timeout: 2.5")]


def test_an_older_log_gets_them(tmp_path: Path) -> None:
    old = ROOT / "tests" / "log" / "earlier" / "sourcing_log_0.1.0.xlsx"
    out = tmp_path / "new.xlsm"
    with few_rows():
        report = upgrade_log(old, out, macro_writer=macro_writer)
    assert (report.left_over, report.own_sheets, report.macros_left) == ((), (), False)
    assert load_log(out).inputs().rows["Log"] == report.old.inputs().rows["Log"]
    assert has_macros(out)
    assert not {"older_layout"} & {one.key for one in load_log(out).problems}


def lines_left_over(path: Path) -> list[list[Any]]:
    sheet = openpyxl.load_workbook(path, keep_vba=True)[LEFT_OVER]
    return [[one.value for one in row] for row in sheet.iter_rows(min_row=2)]


LISTED = [[CONF_SHEET, "F2", "12"], [CONF_SHEET, "B6", '="C:\\"&"own"'], [CONF_SHEET, "A9", "ask Bo about this"]]
OF_ANOTHER_COMPUTER = [CONF_SHEET, "B1", f"Interpreter_Win: {PYTHON}"]


def test_macros_again_with_their_settings(run: Any, changed_log: Path, tmp_path: Path) -> None:
    out = tmp_path / "new.XLSM"
    code, said, _ = upgraded(run, changed_log, "--out", out, "--edition", "functions")
    assert code == 0
    assert "Your own sheets, as values: My list\n" in said
    assert "4 values have no place in the new log; see sheet Left over.\n" in said
    assert "Its formulas call" not in said
    assert "left behind" not in said
    assert macro_settings(out) == {
        "UDF Modules": MENU_MODULE,
        "Debug UDFs": False,
        "Use UDF Server": False,
        "Show Console": True,
        **SAFE_SETTINGS,
        "Timeout": 2.5,
    }
    content = load_log(out)
    assert content.sheet_names.count(CONF_SHEET) == 1
    assert content.inputs() == load_log(changed_log).inputs()
    assert [line[:3] for line in lines_left_over(out)] == [*LISTED, OF_ANOTHER_COMPUTER]
    made, new = (parts(one) for one in (changed_log, out))
    assert new[PROJECT_PART] == made[PROJECT_PART]
    drawings = [name for name in new if "vmlDrawing" in name]
    assert [new[name] for name in drawings] == [made[name] for name in drawings]
    assert len(drawings) == 1


def test_macros_are_left_behind(run: Any, with_own_macros: Path, tmp_path: Path) -> None:
    # Those of one's own too, as it is asked for and said.
    out = tmp_path / "new.xlsx"
    before = with_own_macros.read_bytes()
    code, said, _ = upgraded(run, with_own_macros, "--out", out)
    assert code == 0
    words = "The macros of own macros.xlsm and their settings were not copied: an .xlsx file"
    assert " ".join(said.split()).count(words) == 1
    assert "Import the functions" not in said
    content = load_log(out)
    assert (content.edition, right_ending(out), has_macros(out)) == ("functions", ".xlsx", False)
    assert CONF_SHEET not in content.sheet_names
    assert "My list" in content.sheet_names
    assert content.inputs() == load_log(with_own_macros).inputs()
    assert [line[:3] for line in lines_left_over(out)] == LISTED
    assert with_own_macros.read_bytes() == before


@pytest.mark.usefixtures("nothing_is_read")
@pytest.mark.parametrize("edition", ["plain", "lambda"])
def test_an_edition_without_macros(run: Any, log: Path, tmp_path: Path, edition: str) -> None:
    code, said, err = run("upgrade", log, "--out", "new.xlsm", "--edition", edition)
    assert (code, said) == (2, "")
    assert f"new.xlsm: a workbook with macros calls the functions; leave --edition {edition}" in err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.usefixtures("nothing_is_read")
def test_an_ending_of_no_log(run: Any, log: Path, tmp_path: Path) -> None:
    code, _, err = run("upgrade", log, "--out", "new.ods")
    assert code == 2
    assert "new.ods: give the new log a name that ends in .xlsx or .xlsm" in err
    with pytest.raises(LogFileError, match=r"a name that ends in \.xlsx$"):
        upgrade_log(log, tmp_path / "new.xlsm")


@pytest.mark.usefixtures("nothing_is_read")
def test_without_xlwings(run: Any, log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    code, _, err = run("upgrade", log, "--out", "new.xlsm")
    assert code == 2
    assert "An .xlsm log needs the macros of xlwings, which is not installed" in err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.usefixtures("nothing_is_read")
def test_what_is_no_workbook(run: Any, tmp_path: Path) -> None:
    code, _, err = run("upgrade", "none.xlsm", "--out", "new.xlsm")
    assert code == 2
    assert "none.xlsm: there is no such file; check name and folder" in err
    (tmp_path / "text.xlsm").write_text("Item no.,Paid\n", encoding="ascii")
    code, _, err = run("upgrade", "text.xlsm", "--out", "new.xlsm")
    assert "text.xlsm: is not a workbook but text" in err


# Macros of one's own


@pytest.mark.usefixtures("nothing_is_read")
def test_macros_of_ones_own_are_refused(run: Any, with_own_macros: Path, tmp_path: Path) -> None:
    code, said, err = run("upgrade", with_own_macros, "--out", "new.xlsm")
    assert (code, said) == (2, "")
    words = " ".join(err.split())
    assert "own macros.xlsm: holds macros of your own (WebHelpers, License, " in words
    assert "a name that ends in .xlsx, which drops all macros; or make a copy" in words
    assert "ThisWorkbook" not in words
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("part", [PROJECT_PART, "xl/macros/vbaProject.bin"])
def test_macros_that_cannot_be_read(plain_file: Path, tmp_path: Path, part: str) -> None:
    old = with_parts(plain_file, tmp_path / "old.xlsm", {part: b"no macros"})
    with pytest.raises(LogFileError, match=r"old\.xlsm: its macros cannot be read, and some may"):
        upgrade_log(old, tmp_path / "new.xlsm", macro_writer=macro_writer)
    assert not (tmp_path / "new.xlsm").exists()
    assert same_macros(old, old)
    assert not same_macros(old, with_parts(old, tmp_path / "other.xlsm", {PROJECT_PART: b"none"}))


def modules_of(path: Path) -> dict[str, str]:
    with zipfile.ZipFile(path) as book:
        return macro_log.module_sources(book.read(PROJECT_PART))


NEWER = {"xlwings": 'Public Const XLWINGS_VERSION As String = "0.99.0"\r\nSub New()\r\nEnd Sub'}


@pytest.mark.parametrize(
    ("changed", "own"),
    [
        ({}, []),
        ({"sheetfns_functions": vba.vba_module()}, []),
        # The editor has one way to write a name in all modules.
        ({"Module1": "sub samplecall()", "MODULE2": ""}, ["Module1"]),
        ({"ThisWorkbook": 'Attribute VB_Name = "ThisWorkbook"\r\nOption Explicit\r\n'}, []),
        ({"ThisWorkbook": "Private Sub Workbook_Open()\r\nEnd Sub"}, ["ThisWorkbook"]),
        ({"Sheet7": "' a note of mine"}, ["Sheet7"]),
        ({"Module2": "Sub Tally()\r\nEnd Sub"}, ["Module2"]),
        ({"xlwings_udfs": "'Autogenerated code by xlwings - changes will be lost"}, []),
        ({"xlwings_udfs": "Function Tally()\r\nEnd Function"}, ["xlwings_udfs"]),
        (NEWER, []),
        ({**NEWER, "Dictionary": "Sub Other()\r\nEnd Sub"}, []),
        ({"xlwings": "Sub Mine()\r\nEnd Sub"}, ["xlwings"]),
        ({"Dictionary": "Sub Mine()\r\nEnd Sub"}, ["Dictionary"]),
    ],
)
def test_which_macros_are_ones_own(
    log: Path, monkeypatch: pytest.MonkeyPatch, changed: dict[str, str], own: list[str]
) -> None:
    usual, read = modules_of(log), macro_log.module_sources
    macros = macro_log.installed_macros()
    typed = {name: text.replace("Sub ", "SUB  ") for name, text in usual.items()} | changed
    # The first project asked for is that of the log, the other one that of xlwings.
    sources = iter([typed])
    monkeypatch.setattr(macro_log, "module_sources", lambda one: next(sources, None) or read(one))
    assert macro_log._own_modules(log, macros) == own


def test_saving_alone_makes_no_other_macros(log: Path, with_own_macros: Path, monkeypatch: Any) -> None:
    usual = modules_of(log)
    saved = {**usual, "Sheet3": usual["Sheet2"].replace("Sheet2", "Sheet3")}
    saved["Module1"] = usual["Module1"].replace("SampleCall", "sampleCall")
    answers = iter([usual, saved, usual, {**saved, "Module1": "Sub Mine()"}])
    monkeypatch.setattr(macro_log, "module_sources", lambda _: next(answers))
    assert same_macros(log, with_own_macros)
    assert not same_macros(log, with_own_macros)


def test_logs_know_nothing_of_programs() -> None:
    found = {
        node.module or ""
        for path in (ROOT / "sheetfns" / "log").rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom)
    }
    assert "sheetfns.log.edit.macros" in found
    assert [name for name in found if name.startswith("sheetfns.programs")] == []
