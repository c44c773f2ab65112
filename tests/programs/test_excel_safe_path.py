"""Code and programs beside a log with macros do not run, and those that the log names are told and not kept.

The command lines are those of xlwings' VBA, taken from its text and filled with the log's own settings; Python is
started with what our VBA module sets, in the folder in which the hostile files are.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import xlwings

from sheetfns.log.check.report import LOOK, Finding, check_log
from sheetfns.log.edit.macros import CONF_SHEET, SAFE_SETTINGS, foreign_settings, is_foreign, macro_settings
from sheetfns.log.edit.patch import CellEdit, patch
from sheetfns.log.edit.upgrade import upgrade_log
from sheetfns.programs.excel import vba
from sheetfns.programs.excel.macro_log import build_macro_log, macro_writer
from tests import ROOT
from tests.log.filled_logs import FEW_ROWS, few_rows, full_entries

BAS = Path(xlwings.__file__).with_name("xlwings.bas").read_text(encoding="utf-8")
HOSTILE = ("sheetfns", "numpy", "xlwings", "json", "regex", "decimal", "win32com")
USUAL = dict.fromkeys(("ONEDRIVE_CONSUMER_WIN", "ONEDRIVE_COMMERCIAL_WIN", "SHAREPOINT_WIN"), "")


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shared")
    with few_rows():
        built = build_macro_log(folder / "my log.xlsm", FEW_ROWS, full_entries())
    for name in HOSTILE:
        (folder / f"{name}.py").write_text(f"print('HOSTILE {name} ran', flush=True)\nraise SystemExit(66)\n")
    return built


def vba_text(line: str, names: dict[str, str]) -> str:
    """A text that VBA joins with &, from the line that does so."""
    parts = re.findall(r'"((?:[^"]|"")*)"|(GetConfig\("\w+"\)|[\w.]+)', line)
    return "".join(names[name] if name else text.replace('""', '"') for text, name in parts)


def right_side(start: str) -> str:
    """What a line of xlwings' VBA gives a name; the last of several."""
    found = re.findall(rf"^ *{re.escape(start)} = (.*)$", BAS, re.MULTILINE)
    assert found, start
    return found[-1]


def python_path(log: Path, settings: dict[str, Any]) -> str:
    """What both commands hand to xlwings' prepare_sys_path, as XLPyCommand joins it for Excel."""
    asked = {key.upper(): str(value) for key, value in settings.items()}
    (line,) = {
        found
        for found in re.findall(r"^ +PYTHONPATH = (AddExcelDir & .*_WIN.*)$", BAS, re.MULTILINE)
        if "This" in found and "Active" not in found
    }
    names = {f'GetConfig("{key}")': value for key, value in USUAL.items()}
    home = str(Path.home())
    expanded = {key: value.replace("%USERPROFILE%", home).replace("\\", "/") for key, value in asked.items()}
    names |= {
        "AddExcelDir": expanded.get("ADD_WORKBOOK_TO_PYTHONPATH", "true"),
        "ThisWorkbook.FullName": str(log),
        'GetConfig("PYTHONPATH")': expanded.get("PYTHONPATH", ""),
    }
    return vba_text(line, names)


def udf_server(log: Path, settings: dict[str, Any]) -> list[str]:
    """The words of the command that starts the server of the functions."""
    tail = vba_text(right_side("tail"), {"LicenseKeyEnvString": "", "PYTHONPATH": python_path(log, settings)})
    # What the library puts in is the name of a server; here, the modules that a call of a function imports.
    return shlex.split(
        tail.replace("xlwings.serve('$(CLSID)')", "import sheetfns.hosts.excel, regex, json, decimal, numpy")
    )


def run_python(log: Path, settings: dict[str, Any]) -> list[str]:
    """The words of the command that a button starts."""
    (line,) = re.findall(r'^ +RunCommand = CondaCmd & PythonInterpreter & (" -B -c .*)$', BAS, re.MULTILINE)
    ours = re.search(r'RunPython "(import .*?)"', vba.vba_module())
    assert ours
    names = {"PYTHONPATH": python_path(log, settings), "PythonCommand": f"{ours[1].split(';')[0]}; import regex, json"}
    return shlex.split(vba_text(line, names))


def set_by_our_module() -> dict[str, str]:
    """The environment that our VBA module gives to what Excel starts."""
    found = dict(re.findall(r'variables\.Item\("(\w+)"\) = "(\w+)"', vba.vba_module()))
    assert found["PYTHONSAFEPATH"] == "1"
    return found


def started(words: list[str], folder: Path, environment: dict[str, str]) -> subprocess.CompletedProcess[str]:
    clean = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    # The code under test is installed, as it is on the user's machine.
    clean |= {"PYTHONPATH": str(ROOT)} | environment
    return subprocess.run(
        [sys.executable, *words], check=False, cwd=folder, env=clean, capture_output=True, text=True, timeout=120
    )


@pytest.mark.parametrize("command", [udf_server, run_python])
def test_code_beside_the_log_does_not_run(command: Any, log: Path) -> None:
    words = command(log, macro_settings(log))
    assert words[:2] == ["-B", "-c"]
    assert str(log) in words[2]
    done = started(words, log.parent, set_by_our_module())
    assert (done.returncode, done.stdout) == (0, ""), done.stderr


@pytest.mark.parametrize("command", [udf_server, run_python])
@pytest.mark.parametrize("lacking", ["the environment", "ADD_WORKBOOK_TO_PYTHONPATH", "PYTHONPATH"])
def test_each_guard_is_needed(command: Any, lacking: str, log: Path) -> None:
    settings = {key: value for key, value in macro_settings(log).items() if key != lacking}
    environment = {} if lacking == "the environment" else set_by_our_module()
    done = started(command(log, settings), log.parent, environment)
    assert done.returncode == 66
    assert done.stdout.startswith("HOSTILE ")


# What the log's own settings name


FOREIGN = {
    "Interpreter_Win": r"\\host\share\python.exe",
    "PYTHONPATH": r"\\host\share",
    "ADD_WORKBOOK_TO_PYTHONPATH": "TRUE",
    "Conda Env": r"\\host\share\env",
    "license_key": "';import os;'",
}


@pytest.fixture(scope="module")
def foreign(log: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log whose settings somebody filled with what is theirs."""
    path = tmp_path_factory.mktemp("foreign") / "log.xlsm"
    rows = [*(key for key in macro_settings(log) if key not in SAFE_SETTINGS), *FOREIGN, "Timeout"]
    values = {**macro_settings(log), **FOREIGN, "Timeout": 2.5}
    edits = [CellEdit(CONF_SHEET, row, 1, name) for row, name in enumerate(rows, 1)]
    edits += [CellEdit(CONF_SHEET, row, 2, values[name]) for row, name in enumerate(rows, 1)]
    patch(log, edits, out=path)
    assert macro_settings(path) == {name: values[name] for name in rows}
    return path


def test_check_names_each_of_them_by_its_cell(foreign: Path, log: Path) -> None:
    found = [one for one in check_log(foreign).findings if one.sheet == CONF_SHEET]
    assert [(one.found, one.cell, one.group) for one in found if one.key == "foreign_setting"] == [
        (value, f"B{row}", LOOK) for row, value in enumerate(FOREIGN.values(), 5)
    ]
    assert all("if you did not choose it, delete the row" in one.message for one in found[: len(FOREIGN)])
    assert [one.key for one in found[len(FOREIGN) :]] == ["folder_searched"]
    assert not [one for one in check_log(log).findings if one.sheet == CONF_SHEET]


def test_upgrade_takes_none_of_them_over_and_says_so(foreign: Path, tmp_path: Path) -> None:
    with few_rows():
        report = upgrade_log(foreign, tmp_path / "new.xlsm", macro_writer=macro_writer)
    settings = macro_settings(tmp_path / "new.xlsm")
    assert not [name for name in settings if name.casefold().startswith(("interpreter", "conda", "license"))]
    assert {key: settings[key] for key in SAFE_SETTINGS} == SAFE_SETTINGS
    assert settings["Timeout"] == 2.5
    left = {(one.cell, one.value) for one in report.left_over if one.sheet == CONF_SHEET}
    assert left == {(f"B{row}", f"{name}: {value}") for row, (name, value) in enumerate(FOREIGN.items(), 5)}
    assert not [one for one in check_log(tmp_path / "new.xlsm").findings if one.sheet == CONF_SHEET]


def test_this_computers_own_python_is_not_named_and_not_kept(log: Path, tmp_path: Path) -> None:
    own = tmp_path / "own.xlsm"
    patch(log, [CellEdit(CONF_SHEET, 7, 1, "Interpreter_Win"), CellEdit(CONF_SHEET, 7, 2, sys.executable)], out=own)
    assert list(foreign_settings(own)) == []
    assert list(foreign_settings(own, r"C:\another\python.exe")) != []
    with few_rows():
        report = upgrade_log(own, tmp_path / "new.xlsm", macro_writer=macro_writer)
    assert "Interpreter_Win" not in macro_settings(report.path)
    assert not [one for one in report.left_over if one.sheet == CONF_SHEET]


def test_an_older_log_is_told_of_its_folder(log: Path, tmp_path: Path) -> None:
    older = tmp_path / "older.xlsm"
    edits = [CellEdit(CONF_SHEET, row, column, None) for row in (5, 6) for column in (1, 2)]
    patch(log, edits, out=older)
    found: list[Finding] = [one for one in check_log(older).findings if one.sheet == CONF_SHEET]
    assert [(one.key, one.cell) for one in found] == [("folder_searched", "A1")]
    assert "whoever can write there can run a program" in found[0].message


@pytest.mark.parametrize(
    ("name", "value", "expected"),
    [
        ("INTERPRETER_WIN", sys.executable.upper(), False),
        ("interpreter_win ", " x.exe ", True),
        ("Interpreter", "x", True),
        ("PYTHONPATH", "%userprofile%\\SHEETFNS", False),
        ("PYTHONPATH", sys.executable, True),
        ("PYTHONPATH", "", False),
        ("ADD_WORKBOOK_TO_PYTHONPATH", False, False),
        ("ADD_WORKBOOK_TO_PYTHONPATH", True, True),
        ("Show Console", True, False),
        ("UDF Modules", "x", False),
    ],
)
def test_what_is_foreign(name: str, value: Any, expected: bool) -> None:
    assert is_foreign(name, value) is expected
