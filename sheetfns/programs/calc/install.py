"""Putting the add-in into LibreOffice, taking it out, and seeing how it stands."""

from __future__ import annotations

import json
import os
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
from sheetfns.extras import BASE, LOG
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
from sheetfns.programs.calc.packed import fill_folder, remove_folder
from sheetfns.programs.findings import Finding, environment_anew, own_command, package_with_python, version_numbers
from sheetfns.programs.menu_entries import MENU
from sheetfns.programs.wheels import Target, architecture_of, this_platform

SECONDS: Final = 180
_TRIAL: Final = "=NET_PROFIT(25;4;3.5;4.25;0.75;8)"
_TRIAL_GIVES: Final = 12.5
_ALL: Final = ("sheetfns.programs.menu", *(package.module for package in (*BASE, *LOG)))
_FUNCTIONS: Final = ("sheetfns.hosts.calc", *(package.module for package in BASE))
_MACHINE: Final = "import platform, sys; print(sys.platform, platform.machine())"
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
        only_functions: whether it brings along what the functions need, and no more.
    """

    folder: Path
    version: str
    paths: tuple[Path, ...]
    only_functions: bool = False


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
    paths = paths_for(office.python, step)
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
    remove_folder(own_folder(office.python.minor))
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
    only_functions = (folder / names.ONLY_FUNCTIONS).is_file()
    return Installed(folder, "".join(versions), tuple(folder / line for line in lines), only_functions)


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


def paths_for(python: OfficePython, step: Callable[[str], None] = lambda _: None) -> tuple[Path, ...]:
    """The folders in which LibreOffice's Python finds this package and what it needs.

    If it is of another version than the one that runs this, the packages are fetched for it.

    Args:
        python: LibreOffice's.
        step: is told what is being done.

    Returns:
        none if it has them itself.

    Errors:
        LogFileError: neither this environment nor its own packages fit, and none can be fetched; what to do.
    """
    here = running_minor()
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
    return (_fetched_for(python, step),)


def running_minor() -> str:
    """The version of the Python that runs this, such as 3.11."""
    return f"{sys.version_info.major}.{sys.version_info.minor}"


def own_folder(minor: str) -> Path:
    """The folder of this account in which packages for LibreOffice's Python are kept."""
    if sys.platform == "win32":
        data = os.environ.get("LOCALAPPDATA", "~")
    elif sys.platform == "darwin":
        data = "~/Library/Application Support"
    else:
        data = os.environ.get("XDG_DATA_HOME") or "~/.local/share"
    return Path(data).expanduser() / "sheetfns" / f"libreoffice-python{minor}"


def _fetched_for(python: OfficePython, step: Callable[[str], None]) -> Path:
    """A folder with what LibreOffice's Python needs, made for it."""
    minor, here = python.minor, running_minor()
    folder = own_folder(minor)
    about = f"LibreOffice's Python is {minor}, this environment's is {here}"
    try:
        fill_folder(folder, target_of(python), "whole", step)
    except LogFileError as error:
        raise LogFileError(
            f"{about}, and an environment for it cannot be made ({str(error).rstrip('.')}). Or install Python {minor} "
            f"if it is missing, {environment_anew(minor)}; then run this again"
        ) from error
    words = can_import(python, (folder,))
    if words:
        remove_folder(folder)
        raise LogFileError(f"{about}; it cannot use the packages that were fetched for it ({words})")
    return folder


def target_of(python: OfficePython) -> Target:
    """What packages have to fit for a Python of this machine.

    Errors:
        LogFileError: it does not say, or there are no packages for its processor.
    """
    try:
        said = subprocess.run(  # noqa: S603  (a program found on this machine, no shell)
            [python.program, "-c", _MACHINE], capture_output=True, text=True, timeout=SECONDS, check=True
        ).stdout
        system, machine = said.split()
    except (OSError, subprocess.SubprocessError, ValueError) as error:
        raise LogFileError(f"{python.program} cannot be run ({error})") from error
    return Target(this_platform(system), architecture_of(machine), python.minor)


def can_import(python: OfficePython, paths: tuple[Path, ...]) -> str:
    """Why LibreOffice's Python cannot import the package with these folders; "" if it can."""
    return seen_version(python, paths)[1]


def seen_version(python: OfficePython, paths: tuple[Path, ...], *, only_functions: bool = False) -> tuple[str, str]:
    """The version of the package that LibreOffice's Python sees, and why it sees none."""
    modules = ", ".join(_FUNCTIONS if only_functions else _ALL)
    begin = f"import sys; sys.path[:0] = {[str(path) for path in paths]!r}"
    code = f"{begin}; import {modules}; print(sheetfns.__version__)"
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
