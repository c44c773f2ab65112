"""What setting up Excel finds and writes, on machines that are whole and on broken ones."""

from __future__ import annotations

import contextlib
import dataclasses
import importlib.util
import re
import shutil
import sys
import types
import zipfile
from pathlib import Path

import pytest
import xlwings

from sheetfns.errors import LogFileError
from sheetfns.programs.excel import project, vba
from sheetfns.programs.excel.project import document_modules, module_sources, project_of, xlwings_version
from sheetfns.programs.excel.settings_file import read_settings, write_settings
from sheetfns.programs.excel.setup import (
    CLICKS,
    Machine,
    _from_registry,
    _startup_folders,
    install,
    look_over,
    this_machine,
    uninstall,
)
from sheetfns.programs.excel.workbook import look_over_workbook
from sheetfns.programs.findings import Finding

XLWINGS = Path(xlwings.__file__).parent
VERSION = xlwings.__version__
PYTHON = Path("C:/Program Files/Python/python.exe")


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    """A Windows machine on which all is there but what `install` writes."""
    prefix = tmp_path / "python"
    prefix.mkdir()
    for bits in (64, 32):
        (prefix / f"xlwings{bits}-{VERSION}.dll").touch()
    home = tmp_path / "home"
    home.mkdir()
    startup = tmp_path / "XLSTART"
    startup.mkdir()
    return Machine(
        system="Windows",
        python=PYTHON,
        python_version=(3, 11, 7),
        prefix=prefix,
        xlwings=VERSION,
        xlwings_folder=XLWINGS,
        with_pywin32=True,
        home=home,
        startup_folders=(tmp_path / "nowhere", startup),
        excel="16",
        trusts_access=True,
    )


def by_label(findings: list[Finding]) -> dict[str, Finding]:
    found = {one.label: one for one in findings}
    assert len(found) == len(findings)
    return found


def broken(findings: list[Finding]) -> list[str]:
    return [one.label for one in findings if not one.ok]


# A whole machine


def test_installing_writes_settings_and_module_and_says_what_to_click(machine: Machine) -> None:
    findings = install(machine)
    assert broken(findings) == []
    assert machine.module_file.read_bytes() == vba.file_content()
    settings = machine.settings_file.read_bytes().decode()
    assert settings == (
        f'"INTERPRETER_WIN","{PYTHON}"\r\n"ADD_WORKBOOK_TO_PYTHONPATH","false"\r\n'
        f'"PYTHONPATH","{machine.home / "sheetfns"}"\r\n'
    )
    labels = [one.label for one in findings]
    assert labels[:5] == ["System", "Python", "Excel", "xlwings", "xlwings' libraries"]
    steps = findings[-len(CLICKS) :]
    assert [one.label for one in steps] == ["1. Unblock", "2. Enable", "3. Trust access", "4. Import", "5. Help texts"]
    assert all(one.next_step for one in steps)
    assert str(machine.module_file) in steps[3].next_step
    assert not any("{" in one.next_step for one in steps)


def test_installing_again_changes_nothing(machine: Machine) -> None:
    install(machine)
    before = {path: path.stat().st_mtime_ns for path in machine.home.rglob("*")}
    findings = by_label(install(machine))
    assert {path: path.stat().st_mtime_ns for path in machine.home.rglob("*")} == before
    assert findings["VBA module"].found.endswith("is up to date")
    assert findings["Settings"].found == "INTERPRETER_WIN is this Python already"


def test_looking_over_changes_nothing(machine: Machine) -> None:
    findings = by_label(look_over(machine))
    assert broken(list(findings.values())) == ["Settings", "VBA module"]
    assert findings["VBA module"].next_step == "Run: sheetfns install excel"
    assert list(machine.home.iterdir()) == []
    install(machine)
    assert broken(look_over(machine)) == []


def test_an_older_module_is_seen_and_written_anew(machine: Machine) -> None:
    install(machine)
    machine.module_file.write_text("' older", encoding="ascii")
    found = by_label(look_over(machine))["VBA module"]
    assert (found.ok, "a different version" in found.found) == (False, True)
    install(machine)
    assert machine.module_file.read_bytes() == vba.file_content()


def test_uninstalling_takes_away_what_installing_wrote(machine: Machine) -> None:
    machine.settings_file.parent.mkdir()
    machine.settings_file.write_bytes(b'"SHOW CONSOLE","True"\r\n')
    install(machine)
    findings = by_label(uninstall(machine))
    assert not machine.module_file.exists()
    assert machine.settings_file.read_bytes() == b'"SHOW CONSOLE","True"\r\n'
    assert "removed" in findings["Settings"].found
    again = by_label(uninstall(machine))
    assert again["VBA module"].found.endswith("was not installed")
    assert again["Settings"].found == "nothing of sheetfns in them"


# The settings file


def test_other_settings_stay_and_a_copy_is_kept(machine: Machine) -> None:
    machine.settings_file.parent.mkdir()
    old = b'"PYTHONPATH","C:\\mine"\n\n"interpreter_win","python"\n'
    machine.settings_file.write_bytes(old)
    found = by_label(install(machine))["Settings"]
    assert found.ok
    now = machine.settings_file.read_bytes().decode()
    assert now == f'"PYTHONPATH","C:\\mine"\r\n"INTERPRETER_WIN","{PYTHON}"\r\n'
    (copy,) = [one for one in machine.settings_file.parent.iterdir() if one.name != "xlwings.conf"]
    assert copy.read_bytes() == old
    assert copy.name in found.found


def test_folders_of_other_workbooks_are_kept_off_only_if_allowed(machine: Machine) -> None:
    machine.settings_file.parent.mkdir()
    machine.settings_file.write_bytes(b'"SHOW CONSOLE","True"\r\n')
    install(machine)
    assert read_settings(machine.settings_file).value("ADD_WORKBOOK_TO_PYTHONPATH") == ""
    assert "code beside a workbook may run" in by_label(look_over(machine))["Settings"].found
    questions: list[str] = []

    def yes(question: str) -> bool:
        questions.append(question)
        return True

    install(machine, yes)
    assert [question.count("code beside") for question in questions] == [2]
    settings = read_settings(machine.settings_file)
    assert {key: settings.value(key) for key in machine.safe_settings} == machine.safe_settings
    assert "may run" not in by_label(look_over(machine))["Settings"].found
    uninstall(machine)
    assert machine.settings_file.read_bytes() == b'"SHOW CONSOLE","True"\r\n'


def test_a_path_of_ones_own_stays(machine: Machine) -> None:
    machine.settings_file.parent.mkdir()
    machine.settings_file.write_bytes(b'"PYTHONPATH","C:\\mine"\r\n')
    install(machine, lambda _: True)
    settings = read_settings(machine.settings_file)
    assert (settings.value("PYTHONPATH"), settings.value("ADD_WORKBOOK_TO_PYTHONPATH")) == ("C:\\mine", "false")
    uninstall(machine)
    assert machine.settings_file.read_bytes() == b'"PYTHONPATH","C:\\mine"\r\n'


def test_another_python_is_replaced_only_if_allowed(machine: Machine) -> None:
    machine.settings_file.parent.mkdir()
    old = b'"INTERPRETER_WIN","C:\\other\\python.exe"\r\n'
    machine.settings_file.write_bytes(old)
    questions: list[str] = []

    def no(question: str) -> bool:
        questions.append(question)
        return False

    found = by_label(install(machine, no))["Settings"]
    assert not found.ok
    assert "is still C:\\other\\python.exe" in found.found
    assert "Interpreter_Win" in found.next_step
    assert machine.settings_file.read_bytes() == old
    assert len(questions) == 1
    assert "C:\\other\\python.exe" in questions[0]
    assert str(PYTHON) in questions[0]
    assert by_label(install(machine, lambda _: True))["Settings"].ok
    assert read_settings(machine.settings_file).value("interpreter_win") == str(PYTHON)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b'"INTERPRETER_WIN","python"\nSHOW CONSOLE=True\n', 'line 2: should be "KEY","VALUE"'),
        (b'"INTERPRETER_WIN","C:\\a\n', "line 1: should be"),
        ('"A","b"'.encode("utf-16"), "is saved as Unicode"),
        (b'\xef\xbb\xbf"A","b"', "is saved as Unicode"),
        (b'"A","\xff\xfe\x81"', "has characters that this system does not know"),
    ],
)
def test_an_unreadable_settings_file_stays_as_it_is(machine: Machine, content: bytes, words: str) -> None:
    machine.settings_file.parent.mkdir()
    machine.settings_file.write_bytes(content)
    for findings in (install(machine), look_over(machine), uninstall(machine)):
        found = by_label(findings)["Settings"]
        assert words in found.found
        assert not found.ok
        assert found.next_step
        assert machine.settings_file.read_bytes() == content
        assert len(list(machine.settings_file.parent.iterdir())) == 1


def test_values_that_cannot_stand_in_the_file(tmp_path: Path) -> None:
    settings = read_settings(tmp_path / "xlwings.conf")
    with pytest.raises(LogFileError, match="has a quote or a line end"):
        write_settings(settings.with_value("A", 'C:\\"x"'))
    assert not settings.path.exists()


def test_letters_that_the_system_does_not_write(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("locale.getencoding", lambda: "cp1252")
    settings = read_settings(tmp_path / "xlwings.conf")
    with pytest.raises(LogFileError, match=r"cannot hold .*plain letters only"):
        write_settings(settings.with_value("INTERPRETER_WIN", "C:\\\u03a9\\python.exe"))
    assert not settings.path.exists()
    write_settings(settings.with_value("INTERPRETER_WIN", "C:\\caf\u00e9\\python.exe"))
    assert b"caf\xe9" in settings.path.read_bytes()
    assert read_settings(settings.path).value("INTERPRETER_WIN") == "C:\\caf\u00e9\\python.exe"


# Broken machines


@pytest.mark.parametrize(
    ("change", "label", "words"),
    [
        ({"xlwings": "", "xlwings_folder": None}, "xlwings", "pip install"),
        ({"xlwings": "0.32.1"}, "xlwings", "0.33 or newer is needed"),
        ({"xlwings": "0.9"}, "xlwings", "0.33 or newer is needed"),
        ({"python_version": (3, 10, 12)}, "Python", "Install Python 3.11 or newer"),
        ({"with_pywin32": False}, "pywin32", 'pip install "pywin32"'),
        ({"xlwings": "0.99.0"}, "xlwings' libraries", "--force-reinstall"),
    ],
)
def test_nothing_is_written_while_a_program_is_missing(
    machine: Machine, change: dict[str, object], label: str, words: str
) -> None:
    broken_machine = dataclasses.replace(machine, **change)  # type: ignore[arg-type]
    findings = install(broken_machine)
    assert label in broken(findings)
    assert words in by_label(findings)[label].next_step
    assert list(machine.home.iterdir()) == []
    assert label in broken(look_over(broken_machine))


def test_newer_versions_are_enough(machine: Machine) -> None:
    for version in ("0.33", "0.33.0", "0.40.2", "1.0", "0.34.0b1"):
        findings = look_over(dataclasses.replace(machine, xlwings=version))
        assert "xlwings" not in broken(findings)


@pytest.mark.parametrize("system", ["Linux", "macOS"])
def test_other_systems_are_told_what_works_there(machine: Machine, system: str) -> None:
    other = dataclasses.replace(machine, system=system)
    for findings in (install(other), look_over(other)):
        (found,) = findings
        assert (found.found, found.ok) == (system, False)
        assert "Excel on Windows" in found.next_step
        assert "--edition lambda" in found.next_step
    assert [one.ok for one in uninstall(other)] == [True]
    assert list(machine.home.iterdir()) == []


def test_a_read_only_home_is_said(machine: Machine) -> None:
    (machine.home / "sheetfns").write_text("a file where the folder should be", encoding="ascii")
    with pytest.raises(LogFileError, match="cannot be created"):
        install(machine)


def test_trust_is_asked_for_where_it_is_off(machine: Machine) -> None:
    off = by_label(look_over(dataclasses.replace(machine, trusts_access=False)))
    assert "Trust Center" in off["Trust access"].next_step
    for known in (True, None):
        findings = look_over(dataclasses.replace(machine, trusts_access=known))
        assert "Trust access" not in by_label(findings)


def in_registry(monkeypatch: pytest.MonkeyPatch, excel: str, access: int | None) -> None:
    """Windows' registry with these entries."""

    def value(root: int, place: str) -> str:
        if not excel:
            raise OSError(2, "not there")
        return excel

    def entry(key: object, name: str) -> tuple[int, int]:
        if access is None:
            raise OSError(2, "not there")
        return access, 4

    registry = types.SimpleNamespace(
        HKEY_CLASSES_ROOT=0,
        HKEY_CURRENT_USER=1,
        QueryValue=value,
        OpenKey=lambda root, place: contextlib.nullcontext(place),
        QueryValueEx=entry,
    )
    monkeypatch.setitem(sys.modules, "winreg", registry)
    monkeypatch.setattr(sys, "platform", "win32")


@pytest.mark.parametrize(
    ("excel", "access", "known"),
    [
        ("Excel.Application.16", 1, ("16", True)),
        ("Excel.Application.16", 0, ("16", False)),
        ("Excel.Application.16", None, ("16", False)),
        ("", None, ("", None)),
    ],
)
def test_what_the_registry_says(
    monkeypatch: pytest.MonkeyPatch, excel: str, access: int | None, known: tuple[str, bool | None]
) -> None:
    in_registry(monkeypatch, excel, access)
    assert _from_registry() == known


# The add-in


def with_add_in(machine: Machine) -> Path:
    target = machine.startup_folders[1] / "xlwings.xlam"
    shutil.copyfile(XLWINGS / "addin" / "xlwings.xlam", target)
    return target


def test_the_add_in_is_not_needed(machine: Machine) -> None:
    found = by_label(look_over(machine))["xlwings' add-in"]
    assert found.ok
    assert "needs none" in found.found


def test_the_add_ins_version_is_read(machine: Machine) -> None:
    place = with_add_in(machine)
    found = by_label(look_over(machine))["xlwings' add-in"]
    assert (found.ok, found.found) == (True, f"{VERSION}, {place}")
    newer = dataclasses.replace(machine, xlwings="0.99.0")
    other = by_label(look_over(newer))["xlwings' add-in"]
    assert not other.ok
    assert f"{VERSION}, {place}; installed is 0.99.0" in other.found
    assert other.next_step == "Quit Excel and run: xlwings addin install"


def test_a_damaged_add_in_is_said(machine: Machine) -> None:
    place = with_add_in(machine)
    place.write_bytes(place.read_bytes()[:5000])
    found = by_label(look_over(machine))["xlwings' add-in"]
    assert not found.ok
    assert "cannot be read" in found.found


def test_where_excel_looks_for_add_ins() -> None:
    environment = {"APPDATA": "C:/me", "PROGRAMFILES": "C:/Program Files"}
    found = [path.as_posix() for path in _startup_folders(environment)]
    assert found[0] == "C:/me/Microsoft/Excel/XLSTART"
    assert "C:/Program Files/Microsoft Office/root/Office16/XLSTART" in found
    assert list(_startup_folders({})) == []


def test_this_machine_as_it_is() -> None:
    here = this_machine()
    assert here.system == {"win32": "Windows", "darwin": "macOS"}.get(sys.platform, "Linux")
    assert here.python == Path(sys.executable)
    assert here.xlwings == VERSION
    assert here.xlwings_folder == XLWINGS
    assert here.settings_file.name == "xlwings.conf"


def test_a_machine_without_xlwings(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    here = this_machine()
    assert (here.xlwings, here.xlwings_folder, here.with_pywin32) == ("", None, False)


def test_the_settings_file_is_where_xlwings_looks() -> None:
    assert this_machine().settings_file == Path(xlwings.USER_CONFIG_FILE)


# Modules inside a file


def test_modules_are_read_to_the_letter() -> None:
    project = project_of(XLWINGS / "quickstart_standalone.xlsm")
    assert project is not None
    sources = module_sources(project)
    held = sources["xlwings"].replace("\r\n", "\n").strip()
    text = (XLWINGS / "xlwings.bas").read_text(encoding="utf-8").strip()
    assert held == text
    assert len(held) > 40_000
    assert xlwings_version(sources) == VERSION
    assert document_modules(project) == ["ThisWorkbook", "Sheet1", "Sheet2"]
    assert sorted(sources) == sorted(["ThisWorkbook", "Sheet1", "Sheet2", "Module1", "xlwings", "Dictionary"])


def test_a_file_with_small_streams_alone() -> None:
    project = project_of(XLWINGS / "quickstart.xlsm")
    assert project is not None
    assert "SampleCall" in module_sources(project)["Module1"]
    assert xlwings_version(module_sources(project)) == ""


@pytest.mark.parametrize("part", [0.0, 0.02, 0.3, 0.6, 0.9])
def test_damaged_macros_are_one_error(part: float) -> None:
    project = project_of(XLWINGS / "quickstart_standalone.xlsm")
    assert project is not None
    with pytest.raises(LogFileError, match="macros of this file cannot be read"):
        module_sources(project[: int(len(project) * part)])


def test_what_is_no_workbook(tmp_path: Path) -> None:
    with pytest.raises(LogFileError, match="cannot be read"):
        project_of(tmp_path / "none.xlsm")
    (tmp_path / "text.xlsm").write_text("no zip", encoding="ascii")
    with pytest.raises(LogFileError, match="cannot be read"):
        project_of(tmp_path / "text.xlsm")


# A workbook of the user's


def book_with(folder: Path, monkeypatch: pytest.MonkeyPatch, **sources: str) -> Path:
    """A workbook whose macros are these."""
    path = folder / "log.xlsm"
    with zipfile.ZipFile(path, "w") as zipped:
        zipped.writestr(project.PROJECT_PART, b"stands for them")
    monkeypatch.setattr("sheetfns.programs.excel.workbook.module_sources", lambda project: dict(sources))
    return path


def test_a_workbook_as_it_is_made(machine: Machine) -> None:
    findings = look_over_workbook(XLWINGS / "quickstart_standalone.xlsm", machine)
    found = by_label(findings)
    assert found["xlwings in the workbook"].found == VERSION
    assert broken(findings) == ["Functions"]
    assert "File > Import File" in found["Functions"].next_step


def test_a_workbook_of_another_xlwings(machine: Machine) -> None:
    newer = dataclasses.replace(machine, xlwings="0.99.0")
    findings = by_label(look_over_workbook(XLWINGS / "quickstart_standalone.xlsm", newer))
    found = findings["xlwings in the workbook"]
    assert (found.ok, found.found) == (False, f"{VERSION}, installed is 0.99.0")
    assert f"xlwings=={VERSION}" in found.next_step


def test_a_workbook_without_macros(machine: Machine, tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    with zipfile.ZipFile(path, "w") as zipped:
        zipped.writestr("xl/workbook.xml", "<workbook/>")
    (found,) = look_over_workbook(path, machine)
    assert (found.label, found.ok) == ("Macros", False)
    assert "--edition functions" in found.next_step


def test_imported_functions_are_seen(machine: Machine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ours = vba.vba_module()
    # The editor of VBA has one way to write a name in all modules.
    edited = re.sub(r"\brate\b", "Rate", ours).replace("    ", "  ")
    path = book_with(tmp_path, monkeypatch, sheetfns_functions=edited, Module1="' mine")
    findings = by_label(look_over_workbook(path, machine))
    assert findings["Functions"].ok
    assert "Functions twice" not in findings
    assert "tick xlwings" in findings["xlwings in the workbook"].next_step


def test_older_functions_are_seen(machine: Machine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    older = vba.vba_module().replace(vba.version_line(), "' Made by sheetfns 0.3.0")
    path = book_with(tmp_path, monkeypatch, sheetfns_functions=older)
    found = by_label(look_over_workbook(path, machine))["Functions"]
    assert (found.ok, "a different version" in found.found) == (False, True)


@pytest.mark.parametrize("second", ["xlwings_udfs", "sheetfns_functions1"])
def test_functions_that_stand_twice(
    machine: Machine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, second: str
) -> None:
    ours = vba.vba_module()
    text = ours if second.startswith("sheetfns") else "Function NET_PROFIT(price)\nEnd Function"
    path = book_with(tmp_path, monkeypatch, **{"sheetfns_functions": ours, second: text})
    found = by_label(look_over_workbook(path, machine))["Functions twice"]
    assert not found.ok
    assert found.next_step == f"Alt+F11, right-click {second}, Remove"


def test_a_blocked_workbook(machine: Machine, tmp_path: Path) -> None:
    path = tmp_path / "log.xlsm"
    shutil.copyfile(XLWINGS / "quickstart_standalone.xlsm", path)
    assert "Blocked" not in by_label(look_over_workbook(path, machine))
    Path(f"{path}:Zone.Identifier").write_text("[ZoneTransfer]\nZoneId=3\n", encoding="ascii")
    found = by_label(look_over_workbook(path, machine))["Blocked"]
    assert not found.ok
    assert "check Unblock" in found.next_step
