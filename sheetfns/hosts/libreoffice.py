"""LibreOffice on this machine: where it is, which Python it has, and running it for a while."""

from __future__ import annotations

import contextlib
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

START_AGAIN: Final = 81
"""soffice ends with this code when it has just filled a fresh profile: start it anew."""
STARTS: Final = 3
_USUAL_PLACES: Final = (
    "/Applications/LibreOffice.app/Contents/MacOS/soffice",
    r"C:\Program Files\LibreOffice\program\soffice.exe",
    r"C:\Program Files (x86)\LibreOffice\program\soffice.exe",
    "/usr/lib/libreoffice/program/soffice",
)
_SYSTEM_PYTHON: Final = "/usr/bin/python3"
_SYSTEM_FOLDERS: Final = ("/usr/bin", "/bin")
_QUESTION: Final = """
import json, sys, uno
print(json.dumps({"version": list(sys.version_info[:3])}))
"""
_SHORT: Final = 60
_TO_END: Final = 10


class NotAnsweredError(Exception):
    """LibreOffice cannot be started, or did not end in time: why, in words."""


@dataclass(frozen=True)
class OfficePython:
    """The Python that LibreOffice runs add-ins with: its program and its version."""

    program: str
    version: tuple[int, int, int]

    @property
    def minor(self) -> str:
        """The version up to where compiled packages have to agree, such as 3.11."""
        return ".".join(map(str, self.version[:2]))


def find_libreoffice() -> str | None:
    """The program's path, or None."""
    names = ("soffice", "libreoffice")
    # On a Mac a name on the path may be a script that only opens the program.
    places = (*_USUAL_PLACES, *names) if sys.platform == "darwin" else (*names, *_USUAL_PLACES)
    for name in places:
        found = shutil.which(name)
        if found:
            return found
    # Where the packages of libreoffice.org put it, one folder for each version.
    own = sorted(Path("/opt").glob("libreoffice*/program/soffice"), key=_version_in)
    return str(own[-1]) if own else None


def _version_in(program: Path) -> tuple[int, ...]:
    return tuple(map(int, re.findall(r"\d+", program.parts[2])))


def is_boxed(program: str) -> bool:
    """Whether it is the kind of package that keeps its files, and its Python, to itself."""
    return Path(program).resolve().parent.name not in ("program", "MacOS")


def version_of(program: str) -> str:
    """Its version, such as 7.4.7; "" if it does not say."""
    try:
        shown = subprocess.run(  # noqa: S603  (a program found on this machine, no shell)
            [program, "--version"], capture_output=True, text=True, timeout=_SHORT, check=False
        ).stdout
    except (OSError, subprocess.TimeoutExpired):
        return ""
    found = re.search(r"\d+(\.\d+)+", shown)
    return ".".join(found[0].split(".")[:3]) if found else ""


def find_python(program: str) -> OfficePython | None:
    """The Python that talks with it: its own, or the system's where it uses that."""
    folder = Path(program).resolve().parent
    beside = [folder / "python", folder / "python.exe", folder.parent / "Resources" / "python"]
    for python in (*map(str, beside), _SYSTEM_PYTHON):
        if Path(python).is_file():
            version = _version_with_uno(python)
            if version:
                return OfficePython(python, version)
    return None


def _version_with_uno(python: str) -> tuple[int, int, int] | None:
    try:
        done = subprocess.run(  # noqa: S603  (as above)
            [python, "-c", _QUESTION],
            capture_output=True,
            text=True,
            timeout=_SHORT,
            check=False,
            env=plain_environment(),
        )
        major, minor, micro = json.loads(done.stdout)["version"]
    except (OSError, subprocess.TimeoutExpired, ValueError, KeyError):
        return None
    return int(major), int(minor), int(micro)


def plain_environment() -> dict[str, str]:
    """The environment without what leads LibreOffice's Python to another one's packages.

    Where it uses the system's Python, it looks for the standard library beside the first python3
    on the path; that of another version makes it end at once.
    """
    hidden = ("PYTHONPATH", "PYTHONHOME", "VIRTUAL_ENV")
    plain = {name: value for name, value in os.environ.items() if name not in hidden}
    if sys.platform not in ("win32", "darwin"):
        plain["PATH"] = os.pathsep.join([*_SYSTEM_FOLDERS, plain.get("PATH", "")])
    return plain


def user_profile() -> Path:
    """The folder in which LibreOffice keeps this account's settings and add-ins."""
    if sys.platform == "win32":
        return Path(os.environ.get("APPDATA", "~")).expanduser() / "LibreOffice" / "4"
    if sys.platform == "darwin":
        return Path("~/Library/Application Support/LibreOffice/4").expanduser()
    settings = os.environ.get("XDG_CONFIG_HOME") or "~/.config"
    return Path(settings).expanduser() / "libreoffice" / "4"


def run_for(command: Sequence[str], seconds: float) -> tuple[int, str]:
    """Run a program that may start others, and end all of them when the time is up.

    Returns:
        its exit code, and what it said.

    Errors:
        NotAnsweredError: it cannot be started, or took longer.
    """
    # Into a file: a pipe stays open as long as anything that the program started lives.
    with tempfile.TemporaryFile() as said:
        try:
            # A group of its own: soffice is a script that starts the real program.
            process = subprocess.Popen(  # noqa: S603  (a program found on this machine, no shell)
                command,
                stdin=subprocess.DEVNULL,
                stdout=said,
                stderr=subprocess.STDOUT,
                start_new_session=True,
                env=plain_environment(),
            )
        except OSError as error:
            raise NotAnsweredError(f"cannot be started ({error.strerror or error})") from error
        try:
            process.wait(seconds)
        except subprocess.TimeoutExpired:
            raise NotAnsweredError(f"did not finish within {seconds:g} seconds") from None
        finally:
            if process.poll() is None:
                _end(process)
        said.seek(0)
        return process.returncode, said.read().decode(errors="replace").strip()


def _end(process: subprocess.Popen[bytes]) -> None:
    """First kindly, so that a script can end what it has started in a group of its own."""
    for kindly in (True, False):
        if sys.platform == "win32":
            command = ["taskkill", "/T", "/F", "/PID", str(process.pid)]
            subprocess.run(command, capture_output=True, check=False)  # noqa: S603  (Windows' own)
        else:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGTERM if kindly else signal.SIGKILL)
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(_TO_END)
            return
