"""What runs inside xlwings Lite asks for nothing that Pyodide lacks.

Pyodide cannot be run here. So the functions and commands run in a Python in which nothing else can be imported, no
thread or process can begin and no file can be written; and the sources are read for what they import.
"""

from __future__ import annotations

import ast
import importlib.util
import json
import pickle
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.specifiers import SpecifierSet

from sheetfns.programs.lite.install import MAIN, NEEDS
from tests import ROOT
from tests.hosts.lite_stand_in import OpenBook

PYTHON = "3.14.2"
HOSTED = {"numpy": "2.4.6", "pandas": "3.0.2", "scipy": "1.18.0", "regex": "2026.3.32"}
"""Versions of Pyodide 314.0.7, as its lock file pyodide-lock.json has them (npm package `pyodide`)."""
NEEDED_BY_PANDAS = {"dateutil", "six", "tzdata"}
BARRED = {"threading", "_thread", "multiprocessing", "subprocess", "concurrent", "ctypes", "fcntl", "msvcrt", "mmap"}
BARRED |= {"socket", "asyncio", "signal", "filelock", "winreg", "xlwings.server", "xlwings.pro"}
EXAMPLE = ROOT / "examples" / "sourcing_log_example.xlsx"

# Runs in a Python of its own. Libraries of others may ask for threads when they are imported, which does no harm
# there; none may begin.
RUN = """
import builtins, importlib.machinery, io, json, os, pickle, subprocess, sys, threading, types

book, allowed, main = sys.argv[1:]
allowed = set(allowed.split(","))

class NothingElse:
    def find_spec(self, name, path=None, target=None):
        root = name.partition(".")[0]
        if root in allowed or root in sys.stdlib_module_names or root.startswith(("_cython", "_cyutility", "cython")):
            return None
        if root.startswith("_sysconfigdata"):
            return None
        raise ImportError(f"{name} is not there")

sys.meta_path.insert(0, NothingElse())
import numpy, pandas, regex, scipy.optimize, scipy.special, scipy.stats

def barred(*args, **named):
    raise AssertionError("a thread, a process or a file to write")

threading.Thread.start = barred
subprocess.Popen.__init__ = barred
os.fork = os.posix_spawn = barred
real_open = io.open

def reading_only(file, mode="r", *args, **named):
    if set(mode) & set("wax+"):
        barred()
    return real_open(file, mode, *args, **named)

with real_open(book, "rb") as kept:
    kept = kept.read()
builtins.open = io.open = reading_only

from sheetfns import REGISTRY
from tests.hosts.lite_stand_in import Lite, call
from tests.hosts.lite_calls import calls_of, sent_to_lite

lite = Lite()
xlwings = types.ModuleType("xlwings")
xlwings.func, xlwings.arg, xlwings.script, xlwings.Book = lite.func, lite.arg, lite.script, lite.Book
xlwings.__spec__ = importlib.machinery.ModuleSpec("xlwings", None)
sys.modules["xlwings"] = xlwings
here = {}
exec(main, here)  # the very text that a person pastes

from sheetfns.hosts import excel_lite

examples = [(spec, args) for spec in REGISTRY.values() for args in calls_of(spec)]
shown = [call(here[spec.name], *map(sent_to_lite, args)) for spec, args in examples]
faults = [error.message for _, error in excel_lite.LAST_ERRORS if error.message.startswith("fault")]
titles = []
for name in lite.scripts:
    book = pickle.loads(kept)
    here[name](book)
    titles.append([book.sheets[-1].name, book.sheets[-1].cells[0][0], len(book.sheets[-1].cells)])
ours = sorted(name for name in sys.modules if name.partition(".")[0] == "sheetfns")
others = {name.partition(".")[0] for name in sys.modules} - set(sys.stdlib_module_names) - {"sheetfns", "tests", "xlwings"}
print(json.dumps({"examples": len(shown), "faults": faults, "titles": titles, "ours": ours, "others": sorted(others)}))
"""


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> dict:
    kept = tmp_path_factory.mktemp("pyodide") / "book.pickle"
    kept.write_bytes(pickle.dumps(OpenBook(EXAMPLE)))
    allowed = ",".join({*HOSTED, *NEEDED_BY_PANDAS, "sheetfns", "tests"})
    done = subprocess.run(
        [sys.executable, "-c", RUN, str(kept), allowed, MAIN],
        check=False,
        capture_output=True,
        text=True,
        timeout=300,
        cwd=ROOT,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    return json.loads(done.stdout.splitlines()[-1])


def test_every_function_and_command_runs_with_what_pyodide_has(seen: dict) -> None:
    assert seen["faults"] == []
    assert seen["examples"] > 100
    assert seen["titles"] == [
        ["Findings", "Sheet", pytest.approx(10, abs=9)],
        ["Weeks ahead", "Week", pytest.approx(30, abs=25)],
        ["Year 2026", "Line", pytest.approx(70, abs=60)],
        ["Errors explained", "Function", pytest.approx(25, abs=24)],
        ["Functions explained", "Name", pytest.approx(70, abs=20)],
    ]
    machinery = {name for name in seen["others"] if name.startswith(("_", "cython"))}
    assert set(seen["others"]) - machinery <= {*HOSTED, *NEEDED_BY_PANDAS}


def test_our_modules_on_that_path_ask_for_no_threads_processes_or_locks(seen: dict) -> None:
    assert {"sheetfns.hosts.excel_lite", "sheetfns.functions.tax", "sheetfns.log.compute"} < set(seen["ours"])
    found = {}
    for name in seen["ours"]:
        asked = imports_of(Path(importlib.util.find_spec(name).origin))
        roots = {one.partition(".")[0] for one in asked}
        wrong = {one for one in asked if one in BARRED or one.partition(".")[0] in BARRED}
        wrong |= roots - set(sys.stdlib_module_names) - {"sheetfns", "xlwings", *HOSTED}
        if wrong:
            found[name] = sorted(wrong)
    assert found == {}


def imports_of(path: Path) -> set[str]:
    """Whatever a module imports, in its functions too."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found |= {one.name for one in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{one.name}" for one in node.names)}
        elif isinstance(node, ast.Call) and ast.unparse(node.func).endswith("import_module"):
            found |= {one.value for one in node.args if isinstance(one, ast.Constant)}
    return found


def test_reading_imports_finds_what_is_barred(tmp_path: Path) -> None:
    bad = tmp_path / "bad.py"
    bad.write_text(
        "def f():\n    import threading\n    from xlwings import server\n    importlib.import_module('fcntl')\n"
    )
    assert imports_of(bad) >= {"threading", "xlwings.server", "fcntl"}
    assert imports_of(bad) & BARRED == {"threading", "xlwings.server", "fcntl"}


def test_the_versions_there_are_enough() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert PYTHON in SpecifierSet(project["requires-python"])
    for needs in (
        map(Requirement, NEEDS),
        filter(lambda one: one.name in HOSTED, map(Requirement, project["dependencies"])),
    ):
        listed = {one.name: one.specifier for one in needs}
        assert listed, "else nothing is looked at"
        for name, specifier in listed.items():
            assert HOSTED[name] in specifier, name
    assert {Requirement(one).name for one in NEEDS} == set(HOSTED)
