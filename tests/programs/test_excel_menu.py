"""The menu's screen in Excel and the import of the VBA module, through xlwings' own code.

Excel itself is a stand-in (fake_excel.py). Each `in_*` function runs in a process of its own, in
which xlwings takes the system for Windows, and sends back what it saw.
"""

from __future__ import annotations

import datetime as dt
import importlib
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sheetfns.cell_types import COST
from sheetfns.errors import LogFileError
from sheetfns.log.edit.patch import CellEdit
from sheetfns.programs.excel import importing, menu_screen, vba
from sheetfns.programs.forms import Answers, Field, Form
from tests.hosts import xlwings_on_linux as host
from tests.log.filled_logs import small_log
from tests.programs.fake_excel import NO, YES, Application, Cell, Component, opened

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="the stand-in is for systems without the real modules")
Run = Callable[..., Any]
AUTOMATIC = -4105
"""xlCalculationAutomatic"""


@pytest.fixture(scope="module")
def run() -> Iterator[Run]:
    with host.own_process() as run:
        yield run


# Asking and telling


def in_questions() -> dict[str, Any]:
    application = Application(["C:/in/sales.csv", False, "C:/out/map.toml", False])
    application.answers += ["C:/a folder", "", YES, NO]
    _, book = opened(application, "log.xlsm", "Start")
    screen = menu_screen.ExcelScreen(book)
    shown = {
        "file": screen.ask_file("Which file?", ".csv"),
        "no file": screen.ask_file("Which file?", ".csv"),
        "new": screen.ask_new_file("Where?", "map.toml"),
        "no new": screen.ask_new_file("Where?", "map.toml"),
        "folder": screen.ask_folder("Which folder?"),
        "no folder": screen.ask_folder("Which folder?"),
        "yes": screen.ask_yes("Shall I?"),
        "no": screen.ask_yes("Shall I?"),
        "told": screen.show_message("Done."),
    }
    return shown | {"asked": application.asked, "left": application.answers}


def test_questions(run: Run) -> None:
    shown = run(in_questions)
    assert shown["file"] == Path("C:/in/sales.csv")
    assert shown["new"] == Path("C:/out/map.toml")
    assert shown["folder"] == Path("C:/a folder")
    assert shown["no file"] is shown["no new"] is shown["no folder"] is None
    assert (shown["yes"], shown["no"], shown["left"]) == (True, False, [])
    assert shown["asked"][0] == ("open", "Files that end in .csv (*.csv), *.csv", 1, "Which file?")
    saved = ("save", "map.toml", "Files that end in .toml (*.toml), *.toml", 1, "Where?")
    assert shown["asked"][2] == saved
    assert shown["asked"][4] == ("dialog", 4)
    assert shown["asked"][-1] == ("box", "Done.", "Sourcing log", 0)


# Cells


def in_cells(edits: list[CellEdit], change: str = "") -> tuple[dict[tuple[str, int, int], Any], str, tuple[Any, ...]]:
    """Values of cells after some edits, the message, and the program's settings after it."""
    application = Application()
    excel, book = opened(application, "log.xlsm", "Sourcing log", "Lots")
    for sheet in excel.Worksheets:
        for place, content in ((1, "old"), (2, "'007"), (3, 5.0), (4, "=A1"), (5, "'=x")):
            sheet.cell(9, place).put(content)
            sheet.cell(9, place).locked = False
        sheet.cell(9, 6).locked = sheet.cell(9, 7).locked = False
    sheet = excel.Worksheets("Sourcing log")
    if change == "locked":
        sheet.ProtectContents = True
        sheet.cell(9, 3).locked = True
    if change == "protected":
        sheet.ProtectContents = True
    if change == "refused":
        excel.Worksheets("Lots").refuses = 8.0
    said = ""
    try:
        menu_screen.ExcelScreen(book).set_cells(edits)
    except LogFileError as error:
        said = str(error)
    found = {
        (sheet.Name, 9, place): (sheet.cell(9, place).value, sheet.cell(9, place).formula)
        for sheet in excel.Worksheets
        for place in range(1, 8)
    }
    return found, said, application.settings


BEFORE = [("old", ""), ("007", ""), (5.0, ""), ("result of =A1", "=A1"), ("=x", "")]
BLANK: list[tuple[Any, str]] = [(None, "")] * 2


def row_of(found: dict[tuple[str, int, int], Any], sheet: str) -> list[Any]:
    return [found[sheet, 9, place] for place in range(1, 8)]


def test_values_are_typed_as_they_are(run: Run) -> None:
    day = dt.date(2026, 3, 31)
    values = ["=1+1", "4.50", day, "a lamp", None, True, 12.5]
    edits = [CellEdit("Sourcing log", 9, 7 - place, values[6 - place]) for place in range(7)]
    found, said, settings = run(in_cells, edits)
    assert said == ""
    typed = [value for value, _ in row_of(found, "Sourcing log")]
    assert typed[:2] == ["=1+1", "4.50"]
    assert typed[2].date() == day
    assert typed[3:] == ["a lamp", None, True, 12.5]
    assert all(formula == "" for _, formula in row_of(found, "Sourcing log"))
    assert row_of(found, "Lots") == BEFORE + BLANK
    assert settings == (True, True, AUTOMATIC)


EDITS = [
    CellEdit("Sourcing log", 9, 2, "B"),
    CellEdit("Sourcing log", 9, 3, 6.0),
    CellEdit("Sourcing log", 9, 4, 7.0),
    CellEdit("Sourcing log", 9, 5, "E"),
    CellEdit("Lots", 9, 1, 8.0),
]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("locked", "cell B9 or one next to it is locked; nothing was changed"),
        ("refused", "Sheet Lots, cell A9: Excel doesn't accept 8.0 there"),
    ],
)
def test_all_or_nothing(run: Run, change: str, words: str) -> None:
    found, said, settings = run(in_cells, EDITS, change)
    assert words in said
    assert row_of(found, "Sourcing log") == BEFORE + BLANK
    assert row_of(found, "Lots") == BEFORE + BLANK
    assert settings == (True, True, AUTOMATIC)


def test_cells_that_were_filled_are_put_back(run: Run) -> None:
    edits = [CellEdit("Lots", 9, place, "new") for place in range(1, 6)]
    edits.append(CellEdit("Lots", 9, 7, 8.0))
    found, said, _ = run(in_cells, edits, "refused")
    assert "Sheet Lots, cell G9: Excel doesn't accept 8.0 there" in said
    assert row_of(found, "Lots") == BEFORE + BLANK


def test_open_cells_of_a_protected_sheet_are_filled(run: Run) -> None:
    found, said, _ = run(in_cells, EDITS, "protected")
    assert said == ""
    assert [value for value, _ in row_of(found, "Sourcing log")[1:5]] == ["B", 6.0, 7.0, "E"]


def test_a_missing_sheet_changes_nothing(run: Run) -> None:
    found, said, _ = run(in_cells, [*EDITS, CellEdit("Trips", 9, 1, 1.0)])
    assert said.startswith("There is no sheet 'Trips' in log.xlsm; nothing was changed")
    assert row_of(found, "Lots") == BEFORE + BLANK


# Tables, copies


def in_table(log: str) -> list[str]:
    application = Application()
    excel, book = opened(application, Path(log).name, "Start")
    excel.FullName = log
    screen = menu_screen.ExcelScreen(book)
    for words in ("=danger()", "again"):
        screen.show_table("Weeks", [["Week", "Words"], [2.5, words]], (8, 90))
    return [one.FullName for one in application.Workbooks]


def test_a_table_is_a_named_workbook_beside_the_log(run: Run, log: Path) -> None:
    """One of an earlier command is closed, and gives way."""
    beside = log.with_name("my log weeks.xlsx")
    assert run(in_table, str(log)) == [str(log), str(beside)]
    sheet = openpyxl.load_workbook(beside).active
    assert [[cell.value for cell in row] for row in sheet.iter_rows()] == [["Week", "Words"], [2.5, "again"]]


def in_copies(folder: str) -> dict[str, Any]:
    application = Application()
    shown: dict[str, Any] = {}
    for name in ("log.xlsm", "Book1", "old.xls"):
        _, book = opened(application, name, "Start")
        try:
            shown[name] = menu_screen.ExcelScreen(book).current_copy(Path(folder))
        except LogFileError as error:
            shown[name] = str(error)
    return shown


def test_copies(run: Run, tmp_path: Path) -> None:
    shown = run(in_copies, str(tmp_path))
    assert shown["log.xlsm"] == tmp_path / "log.xlsm"
    assert shown["Book1"] == tmp_path / "Book1.xlsx"
    assert all(path.read_bytes() == b"a copy" for path in tmp_path.iterdir())
    assert shown["old.xls"].startswith("old.xls: is not an .xlsx or .xlsm workbook; choose File >")


# Commands, from the macro to the screen


def in_command(key: str, log: str, argv: list[str]) -> dict[str, Any]:
    """Run a command as the macro does, for a log that Excel has open."""
    application = Application()
    excel, _ = opened(application, Path(log).name, "Start")
    excel.source = Path(log)
    windows = importlib.import_module("xlwings._xlwindows")
    windows.get_xl_app_from_hwnd = lambda hwnd: application
    kept, system = sys.argv, sys.platform
    sys.argv = argv
    sys.platform = "win32"
    try:
        menu_screen.run(key)
    finally:
        sys.argv, sys.platform = kept, system
    made = (openpyxl.load_workbook(book.FullName) for book in application.Workbooks[1:])
    tables = [[list(row) for row in book.active.iter_rows(values_only=True)] for book in made]
    return {"asked": application.asked, "tables": tables}


@pytest.fixture(scope="module")
def log() -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as folder:
        yield small_log(Path(folder) / "my log.xlsx", "functions")


def as_called(name: str) -> list[str]:
    """The arguments that xlwings' VBA gives to Python (xlwings.bas, ExecuteWindows)."""
    return ["-c", f"--wb={name}", "--from_xl=1", "--app=C:/Excel", "--hwnd=7"]


def test_check_this_log(run: Run, log: Path) -> None:
    shown = run(in_command, "check_log", str(log), as_called(log.name))
    assert [kind for kind, *_ in shown["asked"]] == ["box"]
    assert shown["asked"][0][1] == "0 errors, 0 warnings."
    assert shown["tables"] == []


def test_help(run: Run, log: Path) -> None:
    shown = run(in_command, "show_help", str(log), as_called(log.name))
    assert shown["asked"] == []
    assert shown["tables"][0][0] == ["Name", "What it does", "How a cell calls it"]
    assert shown["tables"][0][1][0] == "Add an item"


# Forms


FORM = Form(
    "Try",
    (
        Field("what", "What", choices=("Brass lamp", "Oil lamp", "Cup"), by_word=True, needed=True),
        Field("price", "Price", COST, default="3", note="without tax"),
    ),
    says=lambda answers: f"{answers['what']} at {answers['price']}",
)


def in_form(answers: list[Any]) -> tuple[Answers | None, list[tuple[Any, ...]]]:
    application = Application(answers)
    _, book = opened(application, "log.xlsm", "Start")
    return menu_screen.ExcelScreen(book).ask_form(FORM), application.asked


def test_a_form_is_asked_box_by_box(run: Run) -> None:
    # The name in part, by its number in the list, an amount that is none, the same again, and yes.
    for chosen in ("cup", "3."):
        answers, asked = run(in_form, [chosen, "about 5", "4.50", YES])
        assert answers == {"what": "Cup", "price": 4.5}
        kinds = [kind for kind, *_ in asked]
        assert kinds == ["InputBox", "InputBox", "box", "InputBox", "box"]
        assert asked[0][1].splitlines()[:2] == ["1 of 2: What", "1  Brass lamp"]
        assert asked[2][1] == "Price: 'about 5' isn't a number; enter it as 12.50"
        assert asked[3][3] == "about 5", "what was entered stands there to be corrected"
        assert "Cup at 4.5" in asked[4][1]


@pytest.mark.parametrize("answers", [[False], ["cup", False], ["cup", "2", NO]])
def test_a_form_that_is_left_gives_nothing(run: Run, answers: list[Any]) -> None:
    assert run(in_form, answers)[0] is None


def in_other_system() -> list[Any]:
    application = Application()
    _, book = opened(application, "log.xlsm", "Start")
    main = importlib.import_module("xlwings")
    true_caller = main.Book.caller
    main.Book.caller = classmethod(lambda cls: book)
    try:
        menu_screen.run("check_log")
    finally:
        main.Book.caller = true_caller
    return application.asked


def test_other_systems_are_told(run: Run) -> None:
    ((kind, text, title, _),) = run(in_other_system)
    assert (kind, title) == ("box", "Sourcing log")
    assert text.startswith("The commands of 'Sourcing log' need Excel on Windows.")


# Importing the VBA module


def in_import(state: str) -> dict[str, Any]:
    application = Application()
    excel, book = opened(application, "log.xlsm", "Start")
    components = excel.VBProject.VBComponents
    if state in ("older", "older, refused"):
        components.append(Component(vba.MODULE_NAME, "' older"))
        components.append(Component("xlwings_udfs", "' wrappers"))
        components.append(Component("Module1", "' mine"))
    if state.endswith("refused"):
        components.fails = vba.MODULE_NAME
    if state == "no macros":
        del components[1]
    if state == "add-in":
        del components[1]
        excel.VBProject.References = [type("Reference", (), {"Name": "xlwings"})()]
    if state == "no trust":
        excel.VBProject = None
    application.run_fails = state == "macros off"
    said: Any = ""
    findings = []
    try:
        findings = importing.import_into(book)
    except LogFileError as error:
        said = str(error)
    return {
        "said": said,
        "findings": [(one.label, one.ok, one.next_step) for one in findings],
        "modules": {one.Name: one.text for one in components},
        "ran": application.ran,
        "saves": excel.saves,
    }


OWN_TEXT = vba.file_content().decode().partition("\n")[2]


@pytest.mark.parametrize("state", ["new", "older", "add-in"])
def test_the_module_is_imported_once(run: Run, state: str) -> None:
    shown = run(in_import, state)
    assert shown["said"] == ""
    assert shown["modules"][vba.MODULE_NAME] == OWN_TEXT
    assert "xlwings_udfs" not in shown["modules"]
    assert ("Module1" in shown["modules"]) == (state == "older")
    assert shown["ran"] == ["'log.xlsm'!Describe_functions"]
    assert shown["saves"] == 1
    assert [ok for _, ok, _ in shown["findings"]] == [True, True]


def test_what_was_there_comes_back_if_the_import_fails(run: Run) -> None:
    shown = run(in_import, "older, refused")
    assert "could not be imported (automation error 440); the workbook was not changed" in shown["said"]
    assert shown["modules"][vba.MODULE_NAME] == "' older"
    assert shown["modules"]["xlwings_udfs"] == "' wrappers"
    assert shown["saves"] == 0


def test_help_texts_may_fail(run: Run) -> None:
    shown = run(in_import, "macros off")
    assert shown["findings"][1][:2] == ("Help texts", False)
    assert "run Describe_functions" in shown["findings"][1][2]
    assert shown["saves"] == 1


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ("no trust", "log.xlsm: Excel doesn't show its macros: in Excel choose File > Options"),
        ("no macros", "log.xlsm: has no xlwings macros, which the functions call"),
    ],
)
def test_what_cannot_take_the_module(run: Run, state: str, words: str) -> None:
    shown = run(in_import, state)
    assert shown["said"].startswith(words)
    assert vba.MODULE_NAME not in shown["modules"]
    assert shown["saves"] == 0


def test_the_command_to_import_refuses(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(LogFileError, match="on Windows only"):
        importing.import_module(tmp_path / "log.xlsm")
    monkeypatch.setattr(sys, "platform", "win32")
    with pytest.raises(LogFileError, match=r"log\.xlsm: there is no such file"):
        importing.import_module(tmp_path / "log.xlsm")
    plain = tmp_path / "log.xlsx"
    plain.write_bytes(b"x")
    with pytest.raises(LogFileError, match=r"cannot hold macros; use a log that ends in \.xlsm"):
        importing.import_module(plain)
    shutil.copyfile(plain, tmp_path / "log.xlsm")
    monkeypatch.setitem(sys.modules, "xlwings", None)
    with pytest.raises(LogFileError, match="Importing needs xlwings"):
        importing.import_module(tmp_path / "log.xlsm")


def test_the_stand_in_does_to_texts_what_excel_does() -> None:
    cell = Cell()
    cell.put("4.50")
    assert cell.value == 4.5
    cell.put("=1+1")
    assert cell.formula == "=1+1"
    cell.put("'4.50")
    assert (cell.value, cell.formula) == ("4.50", "")
