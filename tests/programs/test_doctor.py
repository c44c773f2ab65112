"""What doctor says of broken set-ups."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import tomllib
from pathlib import Path

import pytest

import sheetfns
from sheetfns.extras import BASE, COMMANDS, LOG
from sheetfns.hosts.libreoffice import OfficePython
from sheetfns.programs import doctor, findings
from sheetfns.programs.calc import names
from sheetfns.programs.doctor import Part
from sheetfns.programs.findings import Finding, own_command
from tests import ROOT
from tests.programs.test_calc_install import profile_with


def of(parts: list[Part], title: str) -> dict[str, Finding]:
    return {one.label: one for part in parts if part.title == title for one in part.findings}


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No test looks at, or depends on, what this account has installed."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return tmp_path


@pytest.fixture
def whole(monkeypatch: pytest.MonkeyPatch) -> None:
    """An environment with nothing to fix, without looking."""
    monkeypatch.setattr(doctor, "_packages", lambda: iter([Finding("Packages", "all there")]))


def test_the_lists_of_packages_are_the_projects_own() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    extras = project["optional-dependencies"]
    assert project["dependencies"] == [package.requirement for package in BASE]
    assert extras["log"] == [package.requirement for package in LOG]
    assert extras["commands"] == ["sheetfns[log]", *(package.requirement for package in COMMANDS)]
    assert extras["all"] == ["sheetfns[commands]"]
    assert extras["test"][0] == extras["excel"][0] == "sheetfns[all]"
    assert set(doctor._IMPORTS) == {package.name for package in (*BASE, *LOG, *COMMANDS)}


def test_this_environment() -> None:
    found = of(doctor.look_over(), "This environment")
    assert found["Python"].ok
    assert found["Packages"].found == f"all {len(doctor._IMPORTS)} are installed and can be imported"


def broken(tmp_path: Path, module: str, text: str) -> Path:
    """A folder in which a module stands that fails."""
    place = tmp_path / "broken"
    place.mkdir(exist_ok=True)
    (place / f"{module}.py").write_text(text)
    return place


def run_with(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """The command as it starts where a folder comes first on the path."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(folder), str(ROOT)])}
    return subprocess.run(
        [sys.executable, "-m", "sheetfns.cli.start", *words],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        env=environment,
        cwd=folder,
    )


def test_no_numpy(tmp_path: Path) -> None:
    folder = broken(tmp_path, "numpy", "raise ImportError('No module named numpy')")
    done = run_with(folder, "doctor")
    assert done.returncode == 1, done.stderr
    assert "TO FIX  numpy: ImportError: No module named numpy" in done.stdout
    assert f'Run: "{sys.executable}" -m pip install "numpy>=2' in done.stdout
    assert "Fix the environment first" in done.stdout
    assert "Traceback" not in done.stderr
    other = run_with(folder, "functions")
    assert other.returncode == 2
    assert other.stderr.count("\n") == 1
    assert "doctor' says which and what to do" in other.stderr


def test_a_package_that_fails(tmp_path: Path) -> None:
    folder = broken(tmp_path, "formualizer", "raise OSError('wrong machine')")
    done = run_with(folder, "doctor")
    assert done.returncode == 1
    assert "TO FIX  formualizer: OSError: wrong machine" in done.stdout


def test_packages_that_are_not_installed_are_told_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    gone = {package.name: "ModuleNotFoundError: gone" for package in (*LOG, *COMMANDS)}
    real = doctor._installed
    monkeypatch.setattr(doctor, "_failed_imports", lambda: gone)
    monkeypatch.setattr(doctor, "_installed", lambda one: "" if one in gone else real(one))
    wrong = [one for one in doctor._packages() if not one.ok]
    assert [one.label for one in wrong] == ['Packages of "all"']
    assert wrong[0].found.startswith("not installed: pandas, XlsxWriter, ")
    assert wrong[0].next_step == f'In the folder of sheetfns run: "{sys.executable}" -m pip install ".[all]"'


def test_a_package_of_the_wrong_version(monkeypatch: pytest.MonkeyPatch) -> None:
    real = doctor._installed
    monkeypatch.setattr(doctor, "_installed", lambda one: "1.26.4" if one == "numpy" else real(one))
    monkeypatch.setattr(doctor, "_requirements", lambda: iter([("numpy", ">=2")]))
    found = of([Part("all", tuple(doctor._packages()))], "all")["numpy"]
    assert not found.ok
    assert found.found == "1.26.4 is installed, >=2 is needed"
    assert found.next_step.endswith('-m pip install "numpy>=2"')


def test_a_python_that_cannot_be_run(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doctor.sys, "executable", "/no/such/python")
    found = of([Part("all", tuple(doctor._packages()))], "all")["Packages"]
    assert not found.ok
    assert found.found.startswith("cannot be tried (")
    assert found.next_step.startswith("Create the environment again")


def test_another_version_of_the_package_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doctor, "_installed", lambda _: "0.1.0")
    found = doctor._own_version()
    assert not found.ok
    assert "0.1.0 is installed in this environment" in found.found


@pytest.mark.usefixtures("whole")
def test_no_libreoffice(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doctor, "find_libreoffice", lambda: None)
    found = of(doctor.look_over(), "LibreOffice")["Program"]
    assert found.ok
    assert f"then run: {own_command('install calc')}" in found.next_step


@pytest.mark.usefixtures("whole")
def test_libreoffice_without_python(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doctor, "find_libreoffice", lambda: "soffice")
    monkeypatch.setattr(doctor, "find_python", lambda _: None)
    found = of(doctor.look_over(), "LibreOffice")["Its Python"]
    assert (found.ok, found.found) == (True, "not found")
    assert "python3-uno" in found.next_step or sys.platform != "linux"


@pytest.fixture
def with_office(monkeypatch: pytest.MonkeyPatch) -> None:
    """A LibreOffice whose Python is this one."""
    python = OfficePython(sys.executable, sys.version_info[:3])
    monkeypatch.setattr(doctor, "find_libreoffice", lambda: "soffice")
    monkeypatch.setattr(doctor, "version_of", lambda _: "7.4.7")
    monkeypatch.setattr(doctor, "find_python", lambda _: python)


def add_in(own_home: Path) -> Finding:
    return of(doctor.look_over(), "LibreOffice")["Add-in"]


@pytest.mark.usefixtures("whole", "with_office")
def test_the_add_in(own_home: Path) -> None:
    profile = own_home / "config" / "libreoffice" / "4"
    assert add_in(own_home).found == "not installed"
    assert add_in(own_home).ok
    again = f"Close LibreOffice and run: {own_command('install calc')}"
    for version, paths, words in (
        ("0.1.0", str(ROOT), "0.1.0 is left over from before"),
        ("", str(ROOT), "a damaged one is left over from before"),
        (sheetfns.__version__, "/no/such/folder", "which no longer exists"),
        (sheetfns.__version__, str(own_home), "its packages cannot be used"),
    ):
        shutil.rmtree(profile, ignore_errors=True)
        profile_with(profile, version, f"{paths}\n")
        if paths == str(own_home):
            broken(own_home, "numpy", "raise ImportError('no numpy')")
            listed = next(profile.rglob(names.PATHS))
            listed.write_text(f"{own_home / 'broken'}\n")
        found = add_in(own_home)
        assert not found.ok
        assert words in found.found
        assert found.next_step == again
    packages = [sysconfig.get_path("purelib"), sysconfig.get_path("platlib")]
    next(profile.rglob(names.PATHS)).write_text("\n".join([str(ROOT), *packages]))
    assert add_in(own_home).ok
    assert "its packages can be used" in add_in(own_home).found
    # The same stamp, but another package where it looks.
    other = own_home / "other" / "sheetfns"
    other.mkdir(parents=True)
    (other / "__init__.py").write_text('__version__ = "0.0.1"\n')
    (other / "programs").mkdir()
    (other / "programs" / "__init__.py").touch()
    (other / "programs" / "menu.py").touch()
    next(profile.rglob(names.PATHS)).write_text("\n".join([str(other.parent), *packages]))
    assert not add_in(own_home).ok
    assert add_in(own_home).found == "the package that it uses is 0.0.1"


@pytest.mark.parametrize("own", [True, False])
def test_another_python_first_on_the_path(monkeypatch: pytest.MonkeyPatch, own: bool) -> None:
    monkeypatch.setattr(doctor.shutil, "which", lambda _: sys.executable)
    program = sys.executable if own else "/usr/bin/another"
    words = doctor._other_python(OfficePython(program, (3, 11, 2)))
    assert words.startswith("Start LibreOffice from its icon") != own


@pytest.mark.usefixtures("whole")
def test_an_environment_to_fix_comes_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doctor, "_packages", lambda: iter([Finding("numpy", "gone", False, "x")]))
    monkeypatch.setattr(doctor, "find_libreoffice", lambda: "soffice")
    monkeypatch.setattr(doctor, "find_python", doctor.find_python)
    said: list[str] = []
    assert doctor.show(doctor.look_over(), said.append) is False
    assert "  TO FIX  numpy: gone" in said


@pytest.mark.usefixtures("whole")
def test_a_workbook_that_cannot_be_read(tmp_path: Path) -> None:
    parts = doctor.look_over(tmp_path / "none.xlsm")
    assert [part.title for part in parts[:3]] == ["This environment", "LibreOffice", "Excel"]
    (found,) = parts[3].findings
    assert not found.ok
    assert "none.xlsm" in found.found


def test_the_command_as_a_terminal_finds_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(findings.shutil, "which", lambda _: None)
    program = findings._own_program()
    words = findings.own_command("doctor")
    in_a_clone = f'"{sys.executable}" -m sheetfns doctor'
    assert words == (f"{program} doctor" if program else in_a_clone)
    monkeypatch.setattr(findings, "_own_program", lambda: None)
    assert findings.own_command("doctor") == in_a_clone
    monkeypatch.setattr(findings, "_own_program", lambda: Path("/a shop/bin/sheetfns"))
    assert findings.own_command("doctor") == '"/a shop/bin/sheetfns" doctor'
    monkeypatch.setattr(findings.shutil, "which", lambda _: "/a shop/bin/sheetfns")
    assert findings.own_command("doctor") == "sheetfns doctor"


@pytest.mark.parametrize(
    ("system", "words"), [("win32", "py -3.12 -m venv .venv"), ("linux", "python3.12 -m venv .venv")]
)
def test_the_environment_anew(monkeypatch: pytest.MonkeyPatch, system: str, words: str) -> None:
    monkeypatch.setattr(findings.sys, "platform", system)
    assert words in findings.environment_anew("3.12")
    assert ("demo.sh" in findings.environment_anew()) == (system == "linux")
    assert ("libreoffice.org" in findings.package_with_python()) == (system == "win32")
