"""How this installation stands: its packages, and which spreadsheet programs see the functions.

It is asked when something is broken, so that it needs nothing but Python until it knows better.
"""

from __future__ import annotations

import importlib.metadata
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import sheetfns
from sheetfns.hosts.libreoffice import OfficePython, find_libreoffice, find_python, user_profile, version_of
from sheetfns.programs.findings import Finding, environment_anew, own_command, package_with_python, pip_install

_LEAST_PYTHON: Final = (3, 11)
_LONG: Final = 120
_ALL: Final = "Packages"
_IMPORTS: Final = {
    "numpy": "numpy",
    "pandas": "pandas",
    "scipy": "scipy",
    "regex": "regex",
    "XlsxWriter": "xlsxwriter",
    "python-calamine": "python_calamine",
    "formualizer": "formualizer",
    "lxml": "lxml.etree",
    "typer": "typer",
    "rich": "rich",
    "matplotlib": "matplotlib",
    "filelock": "filelock",
    "openpyxl": "openpyxl",
    "charset-normalizer": "charset_normalizer",
    "defusedxml": "defusedxml",
    "questionary": "questionary",
}
"""What is imported by which package's name; a test holds them against the project's own list."""
_TRY_ALL: Final = """
import importlib, json, sys
failed = {}
for package, module in json.loads(sys.argv[1]).items():
    try:
        importlib.import_module(module)
    except Exception as error:
        failed[package] = f"{type(error).__name__}: {error}".splitlines()[0]
print(json.dumps(failed))
"""


@dataclass(frozen=True)
class Part:
    """One part of the installation and what was found about it."""

    title: str
    findings: tuple[Finding, ...]


def look_over(workbook: Path | None = None) -> list[Part]:
    """Look at everything, without changing anything.

    Args:
        workbook: a log to look at too, for Excel.
    """
    packages = tuple(_packages())
    whole = all(one.ok for one in packages if one.label != "sheetfns")
    parts = [Part("This environment", packages)]
    for title, found in (("LibreOffice", _libreoffice), ("Excel", _excel)):
        parts.append(Part(title, tuple(found(whole))))
    if workbook is not None:
        parts.append(Part(str(workbook), tuple(_workbook(workbook, whole))))
    return parts


def show(parts: list[Part], echo: Callable[[str], None] = print) -> bool:
    """Print what was found.

    Returns:
        whether all is as it should be.
    """
    for part in parts:
        echo(f"{part.title}:")
        for one in part.findings:
            mark = "ok     " if one.ok else "TO FIX"
            echo(f"  {mark}  {one.label}: {one.found}" if one.found else f"  {mark}  {one.label}")
            if one.next_step:
                echo(f"             {one.next_step}")
    return all(one.ok for part in parts for one in part.findings)


# ---- this environment ------------------------------------------------------------------------


def _packages() -> Iterator[Finding]:
    version = ".".join(map(str, sys.version_info[:3]))
    enough = sys.version_info[:2] >= _LEAST_PYTHON
    words = "" if enough else "Install Python 3.11 or newer and create the environment again"
    yield Finding("Python", f"{version}, {sys.executable}", enough, words)
    yield _own_version()
    wanted = dict(_requirements())
    failed = _failed_imports()
    if _ALL in failed:
        words = f"Create the environment again: {environment_anew()}"
        yield Finding(_ALL, failed[_ALL], False, words)
        return
    told = 0
    for package in _IMPORTS:
        trouble = failed.get(package) or _wrong_version(package, wanted.get(package, ""))
        if trouble:
            told += 1
            words = f"Run: {pip_install(package + wanted.get(package, ''))}"
            if package in failed and _installed(package):
                words += " --force-reinstall"
            yield Finding(package, trouble, False, words)
    if not told:
        yield Finding(_ALL, f"all {len(_IMPORTS)} are installed and can be imported")


def _own_version() -> Finding:
    own = _installed("sheetfns")
    here = f"{sheetfns.__version__}, {Path(sheetfns.__file__).parent}"
    if own and own != sheetfns.__version__:
        return Finding(
            "sheetfns",
            f"{here}, but {own} is installed in this environment",
            False,
            f'Run in the folder of sheetfns: "{sys.executable}" -m pip install .',
        )
    return Finding("sheetfns", here)


def _installed(package: str) -> str:
    try:
        return importlib.metadata.version(package)
    except importlib.metadata.PackageNotFoundError:
        return ""


def _requirements() -> Iterator[tuple[str, str]]:
    """Package and range of versions, as the installed package states them."""
    try:
        stated = importlib.metadata.requires("sheetfns") or []
    except importlib.metadata.PackageNotFoundError:
        return
    for line in stated:
        if ";" not in line:
            name = next((one for one in _IMPORTS if line.startswith(one)), "")
            yield name, line[len(name) :].strip()


def _wrong_version(package: str, wanted: str) -> str:
    found = _installed(package)
    try:
        from packaging.specifiers import SpecifierSet  # noqa: PLC0415  (it may be missing)
    except ImportError:
        return ""
    if found and not SpecifierSet(wanted).contains(found, prereleases=True):
        return f"{found} is installed, {wanted} is needed"
    return ""


def _failed_imports() -> dict[str, str]:
    # In a process of its own: a broken package may end the process that imports it.
    command = [sys.executable, "-c", _TRY_ALL, json.dumps(_IMPORTS)]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    try:
        done = subprocess.run(  # noqa: S603  (this Python, no shell)
            command, capture_output=True, text=True, timeout=_LONG, check=False, env=environment
        )
        failed: dict[str, str] = json.loads(done.stdout)
    except (OSError, ValueError, subprocess.TimeoutExpired) as error:
        return {_ALL: f"cannot be tried ({error})"}
    return failed


# ---- spreadsheet programs --------------------------------------------------------------------


def _libreoffice(whole: bool) -> Iterator[Finding]:
    program = find_libreoffice()
    if program is None:
        yield Finding(
            "Program",
            "not found",
            True,
            f"If you want the functions in LibreOffice: install it, then run: {own_command('install calc')}",
        )
        return
    yield Finding("Program", f"{version_of(program)}, {program}")
    python = find_python(program)
    if python is None:
        words = f"If you want the functions in it: {package_with_python()}"
        yield Finding("Its Python", "not found", True, words)
        return
    yield Finding("Its Python", f"{python.minor}, {python.program}", True, _other_python(python))
    if not whole:
        yield Finding("Add-in", "not checked", False, "Fix the environment first, see above")
        return
    from sheetfns.programs.calc import install  # noqa: PLC0415  (needs what was looked at above)

    found = install.installed(user_profile())
    if found is None:
        yield Finding("Add-in", "not installed", True, f"To install it: {own_command('install calc')}")
        return
    again = f"Close LibreOffice and run: {own_command('install calc')}"
    if found.version != sheetfns.__version__:
        words = f"{found.version or 'a damaged one'} is left over from before"
        yield Finding("Add-in", words, False, again)
        return
    missing = [path for path in found.paths if not path.is_dir()]
    if missing:
        words = f"it looks for its packages in {missing[0]}, which no longer exists"
        yield Finding("Add-in", words, False, again)
        return
    version, trouble = install.seen_version(python, found.paths)
    if trouble:
        yield Finding("Add-in", f"its packages cannot be used ({trouble})", False, again)
    elif version != sheetfns.__version__:
        yield Finding("Add-in", f"the package that it uses is {version}", False, again)
    else:
        yield Finding("Add-in", f"{found.version}, its packages can be used")


def _other_python(python: OfficePython) -> str:
    """What to know where another Python stands first on the path.

    LibreOffice looks for its standard library beside that one; of another build it ends at once.
    """
    first = shutil.which("python3")
    if sys.platform in {"win32", "darwin"} or first is None:
        return ""
    real = Path(first).resolve()
    try:
        with real.open("rb") as file:
            is_program = file.read(4) == b"\x7fELF"
    except OSError:
        return ""
    if not is_program or real == Path(python.program).resolve():
        return ""
    return (
        f"Start LibreOffice from its icon, not from this terminal: {first} comes before its own Python here, and it "
        "may quit at once"
    )


def _excel(whole: bool) -> Iterator[Finding]:
    if sys.platform != "win32":
        yield Finding(
            "Functions",
            "in Excel they need Windows",
            True,
            f"Where a program has LAMBDA: {own_command('new my_log.xlsx --edition lambda')}",
        )
    elif not whole:
        yield Finding("Functions", "not checked", False, "Fix the environment first, see above")
    else:
        from sheetfns.programs.excel import setup  # noqa: PLC0415  (needs the packages)

        machine = setup.this_machine()
        if machine.xlwings or machine.module_file.is_file():
            yield from setup.look_over(machine)
            return
        words = f"To install them: {setup.get_xlwings(machine)}, then: {own_command('install excel')}"
        yield Finding("Functions", "not set up", True, words)


def _workbook(workbook: Path, whole: bool) -> Iterator[Finding]:
    if not whole:
        yield Finding("Workbook", "not checked", False, "Fix the environment first, see above")
        return
    from sheetfns.errors import LogFileError  # noqa: PLC0415  (needs the packages)
    from sheetfns.log.load import load_log  # noqa: PLC0415
    from sheetfns.programs.excel.workbook import look_over_workbook  # noqa: PLC0415

    try:
        content = load_log(workbook)
        yield Finding("Edition", content.edition or "unclear")
        if workbook.suffix.lower() == ".xlsm":
            yield from look_over_workbook(workbook)
    except LogFileError as error:
        yield Finding("Workbook", str(error), False)
