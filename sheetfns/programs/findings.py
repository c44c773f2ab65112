"""What installing and looking over say: one line each, and what to do where it is not right."""

from __future__ import annotations

import importlib.metadata
import shutil
import sys
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Finding:
    """One fact.

    Attributes:
        label: what was looked at.
        found: what there is.
        ok: whether it is as it should be.
        next_step: what to do, in one sentence; "" if nothing.
    """

    label: str
    found: str
    ok: bool = True
    next_step: str = ""


def version_numbers(version: str) -> tuple[int, ...]:
    """The numbers of a version, up to the first part that has none.

    >>> version_numbers("0.33.1rc2"), version_numbers("7.4.dev")
    ((0, 33, 12), (7, 4))
    """
    parts = []
    for part in version.split("."):
        digits = "".join(letter for letter in part if letter.isdigit())
        if not digits:
            break
        parts.append(int(digits))
    return tuple(parts)


def own_command(words: str) -> str:
    """How a terminal calls this installation, such as `/home/ada/shop/.venv/bin/sheetfns doctor`.

    The short form stands only where a terminal finds the same command by its name.
    """
    program = _own_program()
    found = shutil.which("sheetfns")
    if program is None and found is None:
        # A clone that is not installed.
        return f'"{sys.executable}" -m sheetfns {words}'
    if program is None or (found and Path(found).resolve() == program):
        return f"sheetfns {words}"
    return f'"{program}" {words}' if " " in str(program) else f"{program} {words}"


def _own_program() -> Path | None:
    try:
        files = importlib.metadata.distribution("sheetfns").files or []
    except importlib.metadata.PackageNotFoundError:
        return None
    for file in files:
        if file.stem == "sheetfns" and file.parent.name in {"bin", "Scripts"}:
            place = Path(str(file.locate())).resolve()
            return place if place.is_file() else None
    return None


def pip_install(what: str, python: Path | str | None = None) -> str:
    """The command that installs a package into an environment, this one if no other is named."""
    return f'"{python or sys.executable}" -m pip install "{what}"'


def environment_anew(minor: str = "") -> str:
    """How the environment is made anew, with a version of Python such as 3.12 if one is named."""
    if sys.platform == "win32":
        python = f"py -{minor}" if minor else "py"
        return (
            f"in the folder of sheetfns delete the folder .venv, then run: {python} -m venv .venv, "
            r'and: .venv\Scripts\pip install ".[all]"'
        )
    if minor:
        return (
            "in the folder of sheetfns delete the folder .venv, then run: "
            f"python{minor} -m venv .venv, and: sh examples/demo.sh"
        )
    return "in the folder of sheetfns delete the folder .venv, then run: sh examples/demo.sh"


def package_with_python() -> str:
    """What to do where LibreOffice's Python is not there."""
    if sys.platform in {"win32", "darwin"}:
        return "install LibreOffice again, from libreoffice.org, with its Python component"
    return "install your system's package for it (Debian: python3-uno)"
