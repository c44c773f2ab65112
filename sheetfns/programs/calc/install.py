"""Putting the add-in into LibreOffice, taking it out, and seeing how it stands."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import sysconfig
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from lxml import etree

import sheetfns
from sheetfns.errors import LogFileError
from sheetfns.hosts.libreoffice import (
    NotAnsweredError,
    OfficePython,
    find_libreoffice,
    find_python,
    is_boxed,
    plain_environment,
    run_for,
    user_profile,
    version_of,
)
from sheetfns.programs.calc import names, office_tasks_file
from sheetfns.programs.calc.extension import package_version, write_extension
from sheetfns.programs.findings import Finding, environment_anew, own_command, package_with_python, version_numbers
from sheetfns.programs.menu_entries import MENU

SECONDS: Final = 180
_TRIAL: Final = "=NET_PROFIT(25;4;3.5;4.25;0.75;8)"
_TRIAL_GIVES: Final = 12.5
_NEEDED: Final = ("numpy", "scipy", "regex", "pandas", "lxml", "formualizer", "xlsxwriter")
_IMPORTS: Final = f"import sheetfns.programs.menu, {', '.join(_NEEDED)}; print(sheetfns.__version__)"
_TOO_OLD: Final = (7, 4)


@dataclass(frozen=True)
class Office:
    """The LibreOffice that the add-in is for.

    Attributes:
        program: soffice.
        version: such as 7.4.7.
        python: its Python.
        profile: the folder of this account's settings.
    """

    program: str
    version: str
    python: OfficePython
    profile: Path


@dataclass(frozen=True)
class Installed:
    """The add-in as it stands in a profile.

    Attributes:
        folder: where it is unpacked.
        version: its version; "" if it is damaged.
        paths: the folders in which it looks for this package.
    """

    folder: Path
    version: str
    paths: tuple[Path, ...]


def find_office(profile: Path | None = None) -> Office:
    """The LibreOffice on this machine.

    Args:
        profile: another folder of settings than this account's own.

    Errors:
        LogFileError: there is none, or one that cannot be used, and what to do.
    """
    program = find_libreoffice()
    if program is None:
        raise LogFileError(
            "LibreOffice was not found on this computer; install it from libreoffice.org or with your system's "
            "packages (Debian: libreoffice-calc and python3-uno), then run this again"
        )
    if is_boxed(program):
        raise LogFileError(
            f"{program}: a LibreOffice installed as a snap or flatpak cannot use the packages of this environment; "
            "install it from libreoffice.org or with your system's own packages"
        )
    version = version_of(program)
    if version and version_numbers(version) < _TOO_OLD:
        raise LogFileError(f"LibreOffice {version} is too old; install {names.LEAST_VERSION} or newer")
    python = find_python(program)
    if python is None:
        raise LogFileError(
            f"{program}: LibreOffice's Python was not found; {package_with_python()}, then run this again"
        )
    return Office(program, version, python, profile or user_profile())


def install(office: Office, step: Callable[[str], None] = lambda _: None) -> list[Finding]:
    """Put the add-in in, and try it.

    Args:
        office: the program.
        step: is told what is being done.

    Errors:
        LogFileError: it cannot be put in, or does not answer; what to do.
    """
    refuse_if_running(office)
    paths = paths_for(office.python)
    step("Building the add-in")
    with tempfile.TemporaryDirectory(prefix="sheetfns-", ignore_cleanup_errors=True) as folder:
        extension = write_extension(Path(folder) / names.EXTENSION_FILE, paths)
        step("Installing it")
        _task(office, "add", extension.as_uri())
    step("Testing it")
    tried = _task(office, "try", _TRIAL)
    if tried["error"] or abs(tried["value"] - _TRIAL_GIVES) > 1e-9:
        raise LogFileError(
            f"The add-in is installed, but a cell with {_TRIAL} shows {tried['text'] or tried['error']} instead of "
            f"{_TRIAL_GIVES}; run: {own_command('doctor')}"
        )
    return [
        Finding("LibreOffice", f"{office.version}, {office.program}"),
        Finding("Its Python", f"{office.python.minor}, {office.python.program}"),
        Finding("Add-in", f'{package_version()}, menu "{MENU}"'),
        Finding("Tried", f"{_TRIAL} shows {tried['text']}"),
    ]


def uninstall(office: Office, step: Callable[[str], None] = lambda _: None) -> bool:
    """Take the add-in out.

    Returns:
        whether it was there.

    Errors:
        LogFileError: the program is running, or does not let it go.
    """
    if installed(office.profile) is None:
        return False
    refuse_if_running(office)
    step("Removing it")
    _task(office, "remove", names.IDENTIFIER)
    return True


def installed(profile: Path) -> Installed | None:
    """The add-in as it stands in a profile, or None.

    It is read from the program's files, so that the program need not be started. Their list of
    add-ins holds a line with the identifier, then one with the folder and the file's name.
    """
    packages = profile / "user" / "uno_packages" / "cache"
    try:
        listed = (packages / "uno_packages.pmap").read_bytes()
    except OSError:
        return None
    found = re.search(re.escape(names.IDENTIFIER).encode() + rb"\n([^\xff\n]+)\xff([^\xff\n]+)", listed)
    if found is None:
        return None
    folder = packages / "uno_packages" / f"{found[1].decode()}_" / found[2].decode()
    try:
        root = etree.parse(folder / "description.xml").getroot()
        lines = (folder / names.PATHS).read_text(encoding="utf-8").splitlines()
    except (OSError, etree.XMLSyntaxError):
        return Installed(folder, "", ())
    versions = [one.get("value", "") for one in root.iterfind("{*}version")]
    return Installed(folder, "".join(versions), tuple(map(Path, lines)))


def refuse_if_running(office: Office) -> None:
    """Refuse while the program is open: it would be closed together with what is not saved.

    Errors:
        LogFileError: close it first.
    """
    lock = office.profile / ".lock"
    if lock.exists():
        raise LogFileError(
            "LibreOffice is open; save your files, close all its windows (its quick starter too) "
            f"and run this again. If it is not open, it crashed: delete {lock}"
        )


def paths_for(python: OfficePython) -> tuple[Path, ...]:
    """The folders in which LibreOffice's Python finds this package and what it needs.

    Returns:
        none if it has them itself.

    Errors:
        LogFileError: neither this environment nor its own packages fit; the one next step.
    """
    here = f"{sys.version_info.major}.{sys.version_info.minor}"
    if python.minor == here:
        folders = [Path(sheetfns.__file__).resolve().parent.parent]
        folders += [Path(sysconfig.get_path(kind)) for kind in ("purelib", "platlib")]
        paths = tuple(dict.fromkeys(folders))
        words = can_import(python, paths)
        if not words:
            return paths
        raise LogFileError(
            f"{python.program} cannot use the packages of this environment ({words}); "
            f"{environment_anew()}, and run this again"
        )
    if not can_import(python, ()):
        return ()
    if python.version[:2] < (3, 11):
        raise LogFileError(
            f"LibreOffice's Python is {python.minor}, the functions need 3.11 or newer; install a "
            "newer LibreOffice, then run this again. Until then use the plain edition of the log"
        )
    raise LogFileError(
        f"LibreOffice's Python is {python.minor}, this environment's is {here}: install Python {python.minor} if it is "
        f"missing, {environment_anew(python.minor)}; then run this again"
    )


def can_import(python: OfficePython, paths: tuple[Path, ...]) -> str:
    """Why LibreOffice's Python cannot import the package with these folders; "" if it can."""
    return seen_version(python, paths)[1]


def seen_version(python: OfficePython, paths: tuple[Path, ...]) -> tuple[str, str]:
    """The version of the package that LibreOffice's Python sees, and why it sees none."""
    code = f"import sys; sys.path[:0] = {[str(path) for path in paths]!r}; {_IMPORTS}"
    try:
        done = subprocess.run(  # noqa: S603  (a program found on this machine, no shell)
            [python.program, "-c", code],
            capture_output=True,
            text=True,
            errors="replace",
            timeout=SECONDS,
            check=False,
            env=plain_environment(),
            cwd=tempfile.gettempdir(),
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        return "", str(error)
    lines = done.stderr.strip().splitlines() or [f"exit code {done.returncode}"]
    return ("", lines[-1]) if done.returncode else (done.stdout.strip(), "")


def _task(office: Office, task: str, argument: str) -> dict[str, Any]:
    refuse_if_running(office)
    command = [
        office.python.program,
        str(office_tasks_file()),
        office.program,
        office.profile.resolve().as_uri(),
        task,
        argument,
    ]
    try:
        code, words = run_for(command, SECONDS)
    except NotAnsweredError as error:
        raise LogFileError(f"LibreOffice {error}; close it if it is open and try again") from error
    try:
        found: dict[str, Any] = json.loads(words.splitlines()[-1])
    except (IndexError, ValueError):
        raise LogFileError(
            f"LibreOffice did not answer ({words or code}); close it if it is open and try again"
        ) from None
    if "fault" in found:
        raise LogFileError(f"LibreOffice refused: {found['fault']}")
    return found
