"""The package as others get it: its data files, its README, its arrows, its words."""

from __future__ import annotations

import ast
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from sheetfns.log.sheets.registry import log_layout
from sheetfns.pages.reference import function_list
from tests import ROOT

README = (ROOT / "README.md").read_text()
HANDBOOK = (ROOT / "examples" / "handbook.md").read_text()


def test_pip_install_brings_the_data_files(tmp_path):
    source = tmp_path / "source"
    shutil.copytree(ROOT, source, ignore=shutil.ignore_patterns(".git", ".venv", "*.egg-info", "build", "tests"))
    target = tmp_path / "installed"
    subprocess.run(
        [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--target", target, source],
        check=True,
        timeout=300,
    )
    code = (
        "import sheetfns; from sheetfns.demo import example_inputs; from sheetfns.log.sheets.registry import log_layout;"
        "from sheetfns.tables import table_rows; items = example_inputs().rows['Log'];"
        "from sheetfns.log.model.earlier_words import renamed; renamed();"
        "print(sheetfns.__file__, len(table_rows('mileage')), len(log_layout().tables), len(items))"
    )
    done = subprocess.run(
        [sys.executable, "-I", "-c", f"import sys; sys.path.insert(0, {str(target)!r}); {code}"],
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
        cwd=tmp_path,
    )
    assert done.stdout.split() == [str(target / "sheetfns" / "__init__.py"), "11", "11", "180"]
    for name in ("py.typed", "__init__.pyi"):
        there = (target / "sheetfns" / name).read_bytes()
        assert there == (ROOT / "sheetfns" / name).read_bytes(), name


def test_readme_lists_the_functions():
    between = re.search(r"<!-- functions:[^>]*-->\n(.*?)<!-- end", README, re.DOTALL)
    assert between, "the README has a place for the functions"
    assert between[1].strip() == function_list().strip(), (
        "run: .venv/bin/python -m sheetfns functions --markdown --write"
    )


def test_the_handbook_says_what_each_sheet_answers():
    layout = log_layout()
    sheets = [sheet.name for sheet in (*layout.tables, *layout.forms)]
    sheets += ["Start", "Settings", "Tax rules", "Cautions", "Data checks"]
    named = dict(re.findall(r"^## (.*)\n\n(.+)$", HANDBOOK, re.MULTILINE))
    assert set(sheets) <= set(named)
    assert sum("?" in named[sheet] for sheet in sheets) > 15


def test_ci_runs_the_test_command_of_the_readme_and_nothing_else():
    lines = (ROOT / ".ci" / "run").read_text().splitlines()
    assert "sh tests/run.sh" in README
    assert [line for line in lines if line and not line.startswith("#")] == [
        'cd "$(dirname "$0")/.." && exec sh tests/run.sh'
    ]


def imports_of(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
            found |= {f"{node.module}.{name.name}" for name in node.names}
        elif isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
    return {name for name in found if name.startswith("sheetfns.")}


TOP = ("sheetfns.yearend", "sheetfns.programs", "sheetfns.cli", "sheetfns.demo")
PARTS_OF_LOG = {
    part: f"sheetfns.log.{part}" for part in ("sheets", "read", "write", "edit", "check", "lambdas", "load", "compute")
}


def of_log(*but: str) -> tuple[str, ...]:
    """The parts of the log but for some."""
    return tuple(name for part, name in PARTS_OF_LOG.items() if part not in but)


FORBIDDEN = [
    ("functions", ("sheetfns.log", "sheetfns.hosts", "sheetfns.files", *TOP)),
    ("files", ("sheetfns.log", "sheetfns.hosts", "sheetfns.functions", *TOP)),
    ("hosts", ("sheetfns.log", *TOP)),
    ("log", TOP),
    ("log/model", ("sheetfns.hosts", *of_log())),
    ("log/sheets", ("sheetfns.hosts", *of_log("sheets"))),
    ("log/read", of_log("sheets", "read", "lambdas")),
    ("log/write", of_log("sheets", "write", "lambdas")),
    (
        "yearend",
        ("sheetfns.hosts.engine", "sheetfns.hosts.excel", "sheetfns.hosts.calc", "sheetfns.programs", "sheetfns.cli"),
    ),
]


def test_there_is_something_in_each_folder():
    assert [folder for folder, _ in FORBIDDEN if not list((ROOT / "sheetfns" / folder).rglob("*.py"))] == []


@pytest.mark.parametrize(("folder", "barred"), FORBIDDEN)
def test_arrows_point_one_way(folder, barred):
    for path in (ROOT / "sheetfns" / folder).rglob("*.py"):
        assert not [name for name in imports_of(path) if name.startswith(barred)], path


def test_importing_the_functions_loads_numpy_and_nothing_heavier():
    code = (
        "import sys, sheetfns; heavy = {'pandas', 'scipy', 'xlsxwriter', 'formualizer', 'lxml',"
        "'typer', 'xlwings'} & set(sys.modules); print(sorted(heavy))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60, cwd=ROOT
    )
    assert done.stdout.strip() == "[]"


def test_every_dated_table_names_its_source():
    for path in (ROOT / "sheetfns" / "tables").glob("*.csv"):
        lines = path.read_text().splitlines()
        header = lines[0].split(",")
        assert {"source", "status"} <= set(header), path.name
        for line in lines[1:]:
            assert line.rsplit(",", 1)[1] in {"read", "second hand", "memory"}, (path.name, line)


def test_lint():
    """Ruff with the project's rules; types are checked by mypy."""
    subprocess.run([sys.executable, "-m", "ruff", "check", "--quiet", "."], check=True, cwd=ROOT)


def test_types():
    subprocess.run([sys.executable, "-m", "mypy"], check=True, cwd=ROOT, timeout=300)


def test_no_two_files_of_tests_are_one_module():
    """Else a run stops at the second; alone each of them would pass."""
    names = [
        f"{path.parent.name}.{path.stem}" if (path.parent / "__init__.py").exists() else path.stem
        for path in (ROOT / "tests").rglob("*.py")
        if path.stem != "__init__"
    ]
    assert [name for name in names if names.count(name) > 1] == []
