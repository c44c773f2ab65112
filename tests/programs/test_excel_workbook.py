"""The functions edition with macros: what is in the file, and that it is a log like any other."""

from __future__ import annotations

import importlib.util
import shutil
import sys
import tempfile
import types
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import openpyxl
import pytest
import python_calamine
import xlwings

from sheetfns.errors import LogFileError
from sheetfns.log.check.report import check_log
from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.edit.macros import SAFE_SETTINGS
from sheetfns.log.edit.merge import merge_logs
from sheetfns.log.edit.patch import CellEdit, patch
from sheetfns.log.edit.upgrade import upgrade_log
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import FIRST_ROW
from sheetfns.programs import menu_entries
from sheetfns.programs.excel import macro_log, menu_screen, vba
from sheetfns.programs.excel.macro_log import CONF_SHEET, build_macro_log, installed_macros, write_macro_workbook
from sheetfns.programs.excel.project import PROJECT_PART, document_modules
from sheetfns.programs.excel.workbook import look_over_workbook
from tests.log.filled_logs import FEW_ROWS, few_rows, full_entries, part_of, small_log
from tests.programs.basic_in_libreoffice import run_job

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
MACRO_WORKBOOK = "application/vnd.ms-excel.sheet.macroEnabled.main+xml"
MACROS = "application/vnd.ms-office.vbaProject"


@pytest.fixture(scope="module")
def folder() -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as place:
        yield Path(place)


@pytest.fixture(scope="module")
def plain_file(folder: Path) -> Path:
    """The same entries in the functions edition without macros."""
    return small_log(folder / "log.xlsx", "functions", full_entries())


@pytest.fixture(scope="module")
def log(folder: Path) -> Path:
    with few_rows():
        return build_macro_log(folder / "log.xlsm", FEW_ROWS, full_entries())


@pytest.fixture(scope="module")
def new_log(folder: Path) -> Path:
    """An empty log, with the path of a Python for every machine."""
    with few_rows():
        return build_macro_log(folder / "new.xlsm", 5, interpreter=r"C:\Python\python.exe")


def installed_project() -> bytes:
    source = Path(xlwings.__file__).with_name("quickstart_standalone.xlsm")
    with zipfile.ZipFile(source) as book:
        return book.read("xl/vbaProject.bin")


def project_in(path: Path) -> bytes:
    with zipfile.ZipFile(path) as book:
        return book.read(PROJECT_PART)


def xml_of(path: Path, part: str) -> ET.Element:
    with zipfile.ZipFile(path) as book:
        return ET.fromstring(book.read(part))


# What is in the file


def test_macros_are_those_of_the_installed_xlwings(log: Path) -> None:
    assert project_in(log) == installed_project()
    assert installed_macros().version == xlwings.__version__


def test_content_types(log: Path) -> None:
    types = {
        one.get("PartName") or one.get("Extension"): one.get("ContentType")
        for one in xml_of(log, "[Content_Types].xml")
    }
    assert types["/xl/workbook.xml"] == MACRO_WORKBOOK
    assert MACROS in (types.get("bin"), types.get("/xl/vbaProject.bin"))
    relations = {
        one.get("Target"): one.get("Type", "").rpartition("/")[2] for one in xml_of(log, "xl/_rels/workbook.xml.rels")
    }
    assert relations["vbaProject.bin"] == "vbaProject"


def test_code_names_are_those_of_the_macros(log: Path) -> None:
    book = xml_of(log, "xl/workbook.xml")
    settings = book.find(f"{MAIN}workbookPr")
    assert settings is not None
    assert settings.get("codeName") == "ThisWorkbook"
    names = []
    for sheet in book.iter(f"{MAIN}sheet"):
        root = xml_of(log, part_of(log, str(sheet.get("name"))))
        properties = root.find(f"{MAIN}sheetPr")
        assert properties is not None
        names.append(properties.get("codeName"))
    assert names == [f"Sheet{number}" for number in range(1, len(names) + 1)]
    assert set(document_modules(project_in(log))) <= {"ThisWorkbook", *map(str, names)}


def test_settings_for_xlwings(log: Path, plain_file: Path) -> None:
    book = openpyxl.load_workbook(log, keep_vba=True)
    assert book.sheetnames == [*openpyxl.load_workbook(plain_file).sheetnames, CONF_SHEET]
    sheet = book[CONF_SHEET]
    # xlwings reads from A1 down to the first blank cell.
    keys = {sheet.cell(row, 1).value: sheet.cell(row, 2).value for row in range(1, 7)}
    assert keys == {
        "UDF Modules": menu_screen.__name__,
        "Debug UDFs": False,
        "Use UDF Server": False,
        "Show Console": False,
        "ADD_WORKBOOK_TO_PYTHONPATH": "false",
        "PYTHONPATH": r"%USERPROFILE%\sheetfns",
    }
    assert sheet.cell(7, 1).value is None
    assert xlwings.__version__ in sheet["D1"].value
    assert not any(name.endswith(".py") for name in book.sheetnames)


def test_keys_are_ones_that_xlwings_reads() -> None:
    # xlwings compares them in capitals (xlwings.bas, GetConfigFromSheet).
    asked = Path(xlwings.__file__).with_name("xlwings.bas").read_text(encoding="utf-8")
    for key in ("Interpreter_Win", "UDF Modules", "Debug UDFs", "Use UDF Server", "Show Console", *SAFE_SETTINGS):
        assert f'GetConfig("{key.upper()}"' in asked


def test_import_functions_of_xlwings_does_no_harm() -> None:
    assert not any(hasattr(one, "__xlfunc__") for one in vars(menu_screen).values())
    assert not set(vars(menu_screen)) & set(vba.REGISTRY)


def test_a_python_may_be_named(new_log: Path) -> None:
    sheet = openpyxl.load_workbook(new_log, keep_vba=True)[CONF_SHEET]
    assert [sheet["A1"].value, sheet["B1"].value] == ["Interpreter_Win", r"C:\Python\python.exe"]
    assert sheet["A2"].value == "UDF Modules"


def test_buttons_run_the_macros(log: Path) -> None:
    number = openpyxl.load_workbook(log, read_only=True).sheetnames.index("Start") + 1
    relations = xml_of(log, f"xl/worksheets/_rels/sheet{number}.xml.rels")
    drawings = [one.get("Target", "") for one in relations if "vmlDrawing" in one.get("Type", "")]
    root = xml_of(log, drawings[0].replace("..", "xl"))
    excel = "{urn:schemas-microsoft-com:office:excel}"
    wired = [one.text for one in root.iter(f"{excel}FmlaMacro")]
    assert wired == [f"[0]!{vba.macro_name(command)}" for command in menu_entries.COMMANDS]
    text = vba.vba_module()
    assert all(f"Public Sub {str(name).removeprefix('[0]!')}()" in text for name in wired)
    captions = [one.text for one in root.iter("font")]
    assert captions == [command.title for command in menu_entries.COMMANDS]


def test_start_says_what_the_buttons_need(log: Path, plain_file: Path) -> None:
    start = openpyxl.load_workbook(log, keep_vba=True)["Start"]
    said = [cell.value for row in start.iter_rows() for cell in row if cell.column == 5 and cell.value]
    assert said == ["Sourcing log", macro_log.BUTTONS_NOTE]
    assert "sheetfns install excel" in said[1]
    other = openpyxl.load_workbook(plain_file)["Start"]
    for row in other.iter_rows():
        for cell in row:
            if cell.column < 5:
                assert start[cell.coordinate].value == cell.value
    assert start.print_area == other.print_area


# A log like any other


def test_every_value_is_stored(log: Path, plain_file: Path) -> None:
    book = python_calamine.CalamineWorkbook.from_path(log)
    other = python_calamine.CalamineWorkbook.from_path(plain_file)
    figures = 0
    for name in other.sheet_names:
        if name == "Start":
            continue
        rows = book.get_sheet_by_name(name).to_python()
        assert rows == other.get_sheet_by_name(name).to_python()
        figures += sum(isinstance(cell, float) for row in rows for cell in row)
    assert figures > 1_000
    agreed = compare(compute_log(load_log(log)))
    assert agreed.differences == []
    assert agreed.compared > 500


def test_check_finds_what_it_finds_without_macros(log: Path, plain_file: Path) -> None:
    assert check_log(log).findings == check_log(plain_file).findings


def test_check_finds_nothing_in_a_new_one(new_log: Path, folder: Path) -> None:
    with few_rows():
        log = build_macro_log(folder / "no python.xlsm", 5, interpreter=sys.executable)
    assert check_log(log).findings == ()
    assert load_log(log).edition == "functions"
    # A Python of another computer is named.
    (found,) = check_log(new_log).findings
    assert (found.sheet, found.cell, found.found, found.key) == (
        CONF_SHEET,
        "B1",
        r"C:\Python\python.exe",
        "foreign_setting",
    )


def test_cells_are_changed_and_macros_stay(log: Path, folder: Path) -> None:
    theirs, base, out = (folder / f"{name}.xlsm" for name in ("theirs", "base", "both"))
    shutil.copyfile(log, theirs)
    shutil.copyfile(log, base)
    content = load_log(log)
    typed = content.inputs().rows["Expenses"]
    place = content.places["Expenses"].columns
    row = {**typed[0], "description": "Tape for the merge"}
    blank = FIRST_ROW + len(typed)
    edits = [CellEdit("Expenses", blank, place[key] + 1, value) for key, value in row.items() if value is not None]
    patch(theirs, edits)
    report = merge_logs(log, theirs, out, base)
    assert report.rows_added == {"Expenses": 1}
    # The settings stay those of the first copy.
    assert report.extra_sheets == ()
    assert project_in(theirs) == project_in(out) == installed_project()
    with zipfile.ZipFile(log) as before, zipfile.ZipFile(out) as after:
        for part in before.namelist():
            if "vml" in part or "vba" in part:
                assert after.read(part) == before.read(part)
        assert after.read("[Content_Types].xml").count(MACRO_WORKBOOK.encode()) == 1


def test_it_is_upgraded(log: Path, folder: Path) -> None:
    out = folder / "upgraded.xlsx"
    with few_rows():
        report = upgrade_log(log, out)
    assert report.left_over == ()
    assert load_log(out).inputs().rows == load_log(log).inputs().rows


def test_entries_of_another_log_are_taken_over(plain_file: Path, folder: Path) -> None:
    target = folder / "made from it.xlsm"
    with few_rows():
        write_macro_workbook(plain_file, target)
    assert project_in(target) == installed_project()
    assert load_log(target).inputs() == load_log(plain_file).inputs()
    with pytest.raises(LogFileError, match="already exists"):
        write_macro_workbook(plain_file, target)


def test_setup_looks_it_over(log: Path) -> None:
    found = {one.label: one for one in look_over_workbook(log)}
    assert found["xlwings in the workbook"].ok
    assert found["Functions"].found == "not imported yet"


# What goes wrong


def test_a_name_without_macros_is_refused(folder: Path) -> None:
    with pytest.raises(LogFileError, match=r"a name that ends in \.xlsm"):
        build_macro_log(folder / "log with macros.xlsx")
    assert not (folder / "log with macros.xlsx").exists()


def test_without_xlwings(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(LogFileError, match=r'which is not installed; run: .* -m pip install "xlwings"'):
        build_macro_log(folder / "never.xlsm")
    assert not (folder / "never.xlsm").exists()


@pytest.mark.parametrize("state", ["missing", "without macros", "damaged"])
def test_a_damaged_xlwings(state: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    source = tmp_path / "quickstart_standalone.xlsm"
    if state == "without macros":
        with zipfile.ZipFile(source, "w") as zipped:
            zipped.writestr("xl/workbook.xml", "<workbook/>")
    if state == "damaged":
        source.write_bytes(b"PK\x03\x04 cut off")
    found = types.SimpleNamespace(submodule_search_locations=[str(tmp_path)])
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: found)
    with pytest.raises(LogFileError, match="xlwings is damaged"):
        build_macro_log(tmp_path / "never.xlsm")
    assert not (tmp_path / "never.xlsm").exists()


# LibreOffice


@pytest.fixture(scope="module")
def seen(log: Path) -> dict[str, Any]:
    ask = [["Start", "A1"], ["Sourcing log", "A7"], [CONF_SHEET, "A1"]]
    return run_job({"book": str(log), "ask": ask})


@pytest.mark.libreoffice
def test_libreoffice_lists_buttons_and_modules(seen: dict[str, Any]) -> None:
    # No event yet: the macros come with the import of the VBA module.
    assert seen["buttons"] == [["Start", command.title, []] for command in menu_entries.COMMANDS]
    assert {"xlwings", "ThisWorkbook", "Sheet1", "Sheet2"} <= set(seen["libraries"]["VBAProject"])
    cells = seen["cells"]
    assert cells["Start A1"] == "Start"
    assert cells[f"{CONF_SHEET} A1"] == "UDF Modules"
    assert cells["Sourcing log A7"] != ""


@pytest.mark.libreoffice
def test_libreoffice_finds_a_macro_that_is_there(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(vba, "macro_name", lambda command: "SampleCall")
    with few_rows():
        path = build_macro_log(folder / "wired.xlsm", 5)
    url = "vnd.sun.star.script:VBAProject.Module1.SampleCall?language=Basic&location=document"
    seen = run_job({"book": str(path), "ask": []})
    assert seen["buttons"] == [["Start", command.title, [url]] for command in menu_entries.COMMANDS]
