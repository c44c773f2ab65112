"""Gnumeric without a window, by its ssconvert: each run has a home that is thrown away after it."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterable
from pathlib import Path

from sheetfns.hosts.libreoffice import NotAnsweredError, run_for

TIMEOUT = 120


class GnumericError(Exception):
    """ssconvert did not give what it was asked for."""


def find_ssconvert() -> str | None:
    """The program's path, or None where Gnumeric is not installed."""
    return shutil.which("ssconvert")


def recalculate(paths: Iterable[Path], folder: Path) -> dict[Path, Path]:
    """Load workbooks, calculate every cell anew, and save them as .xlsx.

    Args:
        paths: the workbooks, no two of one name.
        folder: where they are saved, under the same names.

    Returns:
        what was saved, by what it was made of.
    """
    return _save(paths, folder, "--recalc")


def open_and_save(paths: Iterable[Path], folder: Path) -> dict[Path, Path]:
    """Load workbooks and save them as .xlsx, with their results as they are stored.

    A formula that Gnumeric takes for changed is calculated all the same. Arguments and result are
    those of `recalculate`.
    """
    return _save(paths, folder)


def _save(paths: Iterable[Path], folder: Path, *options: str) -> dict[Path, Path]:
    program = find_ssconvert()
    if program is None:
        raise GnumericError("ssconvert is not installed")
    made = {path: (folder / path.name).with_suffix(".xlsx") for path in paths}
    if len(set(made.values())) != len(made) or any(one.exists() for one in made.values()):
        raise GnumericError(f"{folder}: one workbook would be written over another")
    folder.mkdir(parents=True, exist_ok=True)
    for source, target in made.items():
        with tempfile.TemporaryDirectory(prefix="sheetfns-gnumeric-") as home:
            command = ["env", f"HOME={home}", f"XDG_CONFIG_HOME={home}/.config"]
            command += [program, *options, str(source.resolve()), str(target.resolve())]
            try:
                code, words = run_for(command, TIMEOUT)
            except NotAnsweredError as error:
                raise GnumericError(f"{source.name}: {error}") from error
        if code or not target.is_file():
            raise GnumericError(f"{source.name}: nothing was saved ({code}): {words}")
    return made
