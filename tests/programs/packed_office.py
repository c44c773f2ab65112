"""A fresh profile of LibreOffice with one packed add-in and nothing else to lean on."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from sheetfns.programs.calc import install
from tests.programs.calc_office import CalcOffice

NOBODY = 65534
SECONDS = 180


def bare(home: Path) -> list[str]:
    """Words that run a command with an account's bare minimum: no paths of Python's, no packages of the account's."""
    return ["/usr/bin/env", "-i", f"HOME={home}", "PATH=/usr/bin:/bin", "PYTHONNOUSERSITE=1"]


@contextmanager
def fresh_office() -> Iterator[CalcOffice]:
    """The program with a new profile, in a folder that every account may use."""
    with tempfile.TemporaryDirectory(prefix="sheetfns-packed-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        for one in (folder, folder / "profile", folder / "home"):
            one.mkdir(exist_ok=True)
            one.chmod(0o777)
        office = install.find_office(folder / "profile")
        yield CalcOffice(replace(office, profile=folder / "profile"), folder)


def unopkg(calc: CalcOffice, *words: object) -> str:
    """The program's own tool for add-ins: what a double-click starts, but without its window."""
    tool = Path(calc.office.program).resolve().with_name("unopkg")
    task, *rest = map(str, words)
    command = [*bare(calc.folder / "home"), str(tool), task, f"-env:UserInstallation={calc.office.profile.as_uri()}"]
    done = subprocess.run(
        [*command, *rest],
        capture_output=True,
        text=True,
        check=False,
        timeout=SECONDS,
        # It refuses to work for root.
        user=NOBODY if os.geteuid() == 0 else None,
        group=NOBODY if os.geteuid() == 0 else None,
        extra_groups=[] if os.geteuid() == 0 else None,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def add(calc: CalcOffice, extension: Path) -> None:
    """Put an add-in in, as a double-click on its file does."""
    copy = calc.folder / extension.name
    shutil.copy(extension, copy)
    copy.chmod(0o644)
    unopkg(calc, "add", copy)
    copy.unlink()
