"""One file to double-click: packed with the registry's wheels, put into a fresh profile, used, and taken out again.

The wheels are fetched once. Where the registry cannot be reached these tests fail, and their error says so.
"""

from __future__ import annotations

import hashlib
import subprocess
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from sheetfns import REGISTRY, __version__
from sheetfns.errors import LogFileError
from sheetfns.files.xlsx_file import XlsxFile
from sheetfns.programs import menu_entries
from sheetfns.programs.calc import install, names, packed
from sheetfns.programs.wheels import Wheel
from tests.case_books import FORMULA_COLUMNS, rows_of, write_cases
from tests.case_files import agrees, load_cases
from tests.programs.calc_office import CalcOffice
from tests.programs.packed_office import add, bare, fresh_office, unopkg
from tests.programs.test_calc_in_libreoffice import XLSX, as_delivered, cell_of

pytestmark = pytest.mark.libreoffice

LARGEST = 30_000_000
FORMULA = "=NET_PROFIT(25;4;3.5;4.25;0.75;8)"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[Wheel]]:
    """The extension of size functions for the LibreOffice here."""
    target = install.target_of(install.find_office(tmp_path_factory.mktemp("none")).python)
    path = tmp_path_factory.mktemp("packed") / packed.file_name(target, "functions")
    return path, packed.write_packed(path, target, "functions")


@pytest.fixture(scope="module")
def calc(made: tuple[Path, list[Wheel]]) -> Iterator[CalcOffice]:
    """A fresh profile with it, put in as a double-click does."""
    with fresh_office() as office:
        add(office, made[0])
        yield office


def run(calc: CalcOffice, *tasks: list[Any]) -> list[Any]:
    return calc.run(tasks, bare(calc.folder / "home"))


def test_the_file_says_what_is_in_it(made: tuple[Path, list[Wheel]]) -> None:
    path, wheels = made
    assert path.stat().st_size < LARGEST
    assert [one.name for one in wheels] == ["numpy", "regex"]
    with zipfile.ZipFile(path) as file:
        assert file.testzip() is None
        listed = file.read(names.LISTING).decode()
        inside = {name: hashlib.sha256(file.read(name)).digest() for name in file.namelist()}
        assert file.read(names.PATHS).decode() == f"{names.PACKAGES}\n"
    for one in wheels:
        (line,) = (line for line in listed.splitlines() if line.startswith(f"{one.name} "))
        assert line.split()[1:4] == [one.version, one.tag, one.sha256]
        assert line.endswith(one.license)
        assert any(name.startswith(f"packages/{one.name}-{one.version}.dist-info/licenses/") for name in inside)
    assert "packages/sheetfns/functions/profit.py" in inside
    assert not [name for name in inside if "__pycache__" in name]


def test_it_is_not_written_over_another_file(made: tuple[Path, list[Wheel]], tmp_path: Path) -> None:
    (tmp_path / "a.oxt").write_text("mine")
    target = install.target_of(install.find_office(tmp_path).python)
    with pytest.raises(LogFileError, match=r"a\.oxt: already exists; choose another name with --out"):
        packed.write_packed(tmp_path / "a.oxt", target, "functions")
    with pytest.raises(LogFileError, match=r"a\.zip: give the file a name that ends in \.oxt"):
        packed.write_packed(tmp_path / "a.zip", target, "functions")
    assert (tmp_path / "a.oxt").read_text() == "mine"


def test_the_functions_compute_with_the_packages_of_the_extension(calc: CalcOffice) -> None:
    """Every case of every function, in cells; and NumPy comes from nowhere else."""
    alone = [*bare(calc.folder / "home"), calc.office.python.program, "-c", "import sheetfns"]
    assert subprocess.run(alone, capture_output=True, check=False, cwd=calc.folder).returncode != 0
    cases = load_cases()
    path = calc.folder / "cases.xlsx"
    write_cases(path, cases, lambda case, cells: case.spec.call_formula(cells), arrays=True, guarded=True)
    _, read, libraries, _ = run(calc, ["open", path.as_uri()], ["read"], ["libraries", "numpy"], ["close"])
    wrong = []
    for case, row in rows_of(cases):
        found = [
            cell_of(read[case.function], row - 1 + down, FORMULA_COLUMNS[0] + right)
            for down, cells in enumerate(case.rows)
            for right in range(len(cells))
        ]
        if not agrees(as_delivered(case), found):
            wrong.append(f"{case}: {found}")
    assert not wrong, "\n".join(wrong[:20])
    assert {case.function for case in cases} == set(REGISTRY)
    packages = str(install.installed(calc.office.profile).folder / names.PACKAGES)
    assert any("_multiarray_umath" in one for one in libraries)
    assert [one for one in libraries if not one.startswith(packages)] == []


def test_a_cell_shows_the_figure_and_a_saved_file_has_plain_names(calc: CalcOffice) -> None:
    path = calc.folder / "saved.xlsx"
    *_, shown, _, _ = run(
        calc,
        ["new"],
        ["sheet", "S"],
        ["type", "S", "A1", FORMULA],
        ["show", "S", "A1"],
        ["save", path.as_uri(), XLSX],
        ["close"],
    )
    assert (shown["value"], shown["text"], shown["error"]) == (12.5, "12.5", 0)
    with XlsxFile(path) as book:
        part = book.part("S")
    assert b">NET_PROFIT(" in part
    assert names.SERVICE.encode() not in part


def test_each_command_says_what_it_needs(calc: CalcOffice) -> None:
    entries, _, *said, _ = run(
        calc,
        ["menus"],
        ["new"],
        *(["run", f"{names.PROTOCOL}:{command.key}", [""]] for command in menu_entries.COMMANDS),
        ["close"],
    )
    assert [entry[0] for entry in entries] == [command.title for command in menu_entries.COMMANDS]
    whole = packed.file_name(install.target_of(calc.office.python), "whole")
    for command, result in zip(menu_entries.COMMANDS, said, strict=True):
        assert result == {
            "said": f"{command.title} needs the whole extension, and this one has the functions only: install {whole} "
            "in its place.",
            "opened": [],
        }


def test_one_for_another_python_says_so(made: tuple[Path, list[Wheel]], tmp_path: Path) -> None:
    """A cell shows an error then, never a figure; the menu has the words."""
    path = tmp_path / "other.oxt"
    with zipfile.ZipFile(made[0]) as whole, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as other:
        for name in whole.namelist():
            if name != f"{names.PACKAGES}/numpy/_core/__init__.py":
                other.writestr(name, whole.read(name))
    with fresh_office() as calc:
        add(calc, path)
        *_, shown, said, _ = run(
            calc,
            ["new"],
            ["sheet", "S"],
            ["type", "S", "A1", FORMULA],
            ["show", "S", "A1"],
            ["run", f"{names.PROTOCOL}:check_log", [""]],
            ["close"],
        )
    assert shown["error"] != 0
    minor = calc.office.python.minor
    assert said["said"].startswith("The functions and commands cannot be loaded (")
    assert f"LibreOffice's Python is {minor}. This extension is for Python {minor} on " in said["said"]
    assert said["said"].endswith("; if LibreOffice has another Python, install the one that is made for it.")


def test_it_stands_in_the_profile_as_what_it_is(calc: CalcOffice) -> None:
    found = install.installed(calc.office.profile)
    assert (found.version, found.only_functions) == (__version__, True)
    assert found.paths == (found.folder / names.PACKAGES,)
    assert install.seen_version(calc.office.python, found.paths, only_functions=True) == (__version__, "")
    assert "The sourcing log needs packages" in install.seen_version(calc.office.python, found.paths)[1]


def test_taken_out_and_put_in_by_the_extension_manager(made: tuple[Path, list[Wheel]]) -> None:
    with fresh_office() as calc:
        add(calc, made[0])
        assert names.IDENTIFIER in unopkg(calc, "list")
        unopkg(calc, "remove", names.IDENTIFIER)
        assert names.IDENTIFIER not in unopkg(calc, "list")
        assert install.installed(calc.office.profile) is None
    with fresh_office() as calc:
        assert install._task(calc.office, "add", made[0].as_uri()) == {"version": __version__}
        assert install._task(calc.office, "try", FORMULA)["value"] == 12.5
        assert install.uninstall(calc.office)
        assert install.installed(calc.office.profile) is None
        assert install._task(calc.office, "try", FORMULA)["error"] != 0
