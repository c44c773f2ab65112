"""What the commands share: help, one line for what cannot be done, and how they are started."""

from __future__ import annotations

import importlib
import os
import subprocess
import sys

import pytest

from sheetfns import __version__
from sheetfns.cli.app import COMMANDS, function_name
from sheetfns.pages.reference import function_list
from tests import ROOT


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["new", "log.ods"], "log.ods: give the new file a name that ends in .xlsx"),
        (["new", "there.xlsx"], "there.xlsx: already exists; choose another name"),
        (["new", "log.xlsx", "--rows", "0"], "rows: 0 is not between 1 and 90000"),
        (["new", "none/log.xlsx", "--rows", "5"], "none/log.xlsx: cannot be written"),
        (["summary", "none.xlsx", "--year", "2026"], "none.xlsx: there is no such file"),
        (["summary", "there.xlsx", "--year", "2026"], "there.xlsx: is not a workbook but text"),
        (["recalc", "there.xlsx"], "there.xlsx: is not a workbook but text"),
        (["recalc", "none.xlsx"], "none.xlsx: there is no such file"),
        (["functions", "NO_SUCH"], "NO_SUCH: is not a worksheet function"),
        (["demo", "there.xlsx"], "there.xlsx: cannot be created"),
    ],
)
def test_what_cannot_be_done_gets_one_line_and_code_2(run, tmp_path, words, message):
    (tmp_path / "there.xlsx").write_text("Item no.,Paid\n")
    code, out, err = run(*words)
    assert code == 2
    assert message in err
    assert len(err.strip().splitlines()) == 1
    assert out.strip() == ""
    assert os.listdir(tmp_path) == ["there.xlsx"], "nothing is written"
    assert (tmp_path / "there.xlsx").read_text() == "Item no.,Paid\n"


@pytest.mark.parametrize("module", ["sheetfns", "sheetfns.cli.app"])
def test_as_a_module(module):
    done = subprocess.run(
        [sys.executable, "-m", module, "functions", "--markdown"],
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
        cwd=ROOT,
    )
    assert done.stdout == function_list()


def test_as_a_module_a_file_that_is_not_there():
    done = subprocess.run(
        [sys.executable, "-m", "sheetfns", "summary", "none.xlsx"],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
        cwd=ROOT,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("none.xlsx: there is no such file")
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize("words", [["--help"], ["doctor"], ["install", "--help"], ["functions", "NET_PROFIT"]])
def test_what_needs_no_log_loads_no_heavy_package(words):
    code = (
        "import atexit, sys\n"
        "heavy = {'pandas', 'scipy', 'matplotlib', 'openpyxl', 'xlsxwriter', 'formualizer'}\n"
        "atexit.register(lambda: print('loaded:', *sorted(heavy & set(sys.modules))))\n"
        "from sheetfns.cli.start import main; main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *words], capture_output=True, text=True, check=False, timeout=120, cwd=ROOT
    )
    assert len(done.stdout.splitlines()) > 5
    assert done.stdout.splitlines()[-1] == "loaded:"


def test_help_lists_each_command_with_its_first_line(run, monkeypatch):
    monkeypatch.setenv("COLUMNS", "120")
    code, out, _ = run("--help")
    assert code == 0
    shown = " ".join(out.replace("\u2502", " ").split())
    for command, module in COMMANDS.items():
        function = getattr(importlib.import_module(f"sheetfns.cli.{module}"), function_name(command))
        assert f"{command} {function.__doc__.splitlines()[0]}" in shown


def test_another_command(run):
    code, out, err = run("no-such")
    assert (code, out) == (2, "")
    assert "No such command 'no-such'" in err


def test_version_is_that_of_the_project():
    pyproject = (ROOT / "pyproject.toml").read_text()
    assert f'version = "{__version__}"' in pyproject
