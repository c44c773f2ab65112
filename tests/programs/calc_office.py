"""LibreOffice with the add-in in a profile that is thrown away: a list of tasks in one run."""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from filelock import FileLock

from sheetfns.hosts.libreoffice import run_for
from sheetfns.programs.calc import install, office_tasks_file
from sheetfns.programs.calc.install import Office

TIMEOUT = 300
SCRIPT = Path(__file__).with_name("driving_calc.py")
ALWAYS = (
    '<item oor:path="/org.openoffice.Office.Calc/Formula/Load">'
    '<prop oor:name="{}" oor:op="fuse"><value>0</value></prop></item>'
)
"""0 is "always": a saved file keeps its old values otherwise, and shows no error."""


@dataclass(frozen=True)
class CalcOffice:
    """A program, its profile, and a folder for files."""

    office: Office
    folder: Path

    def run(self, tasks: Sequence[Sequence[Any]], before: Sequence[str] = ()) -> list[Any]:
        """Do tasks of driving_calc.py; a task that fails ends the test.

        Args:
            tasks: each a name and its arguments.
            before: words that run the command, such as `env` with its own.
        """
        listed = self.folder / "tasks.json"
        listed.write_text(json.dumps(tasks), encoding="utf-8")
        command = [
            *before,
            self.office.python.program,
            str(SCRIPT),
            str(office_tasks_file().parent),
            self.office.program,
            self.office.profile.as_uri(),
            str(listed),
        ]
        code, words = run_for(command, TIMEOUT)
        assert not code, words
        results = json.loads(words.splitlines()[-1])
        faults = [one["fault"] for one in results if isinstance(one, dict) and "fault" in one]
        assert not faults, faults
        return results


def shared_by(folders: pytest.TempPathFactory) -> Path:
    """A folder for what is made once in a run; each process of a run has one of its own in the run's."""
    own = folders.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


def profile_with_add_in(shared: Path) -> Path:
    """A profile into which the add-in was put once for all tests."""
    profile = shared / "calc-profile"
    with FileLock(shared / "calc-profile.lock"):
        if not profile.exists():
            draft = shared / "calc-profile-draft"
            shutil.rmtree(draft, ignore_errors=True)
            install.install(install.find_office(draft))
            settings = draft / "user" / "registrymodifications.xcu"
            text = settings.read_text(encoding="utf-8")
            items = "".join(map(ALWAYS.format, ("OOXMLRecalcMode", "ODFRecalcMode")))
            text = re.sub("</oor:items>", f"{items}</oor:items>", text)
            settings.write_text(text, encoding="utf-8")
            draft.rename(profile)
    return profile


def error_at(content: dict[str, Any], row: int, column: int) -> int:
    """The program's code of the error in a cell, 0 if there is none; counted from 0."""
    return {(r, c): code for r, c, code in content["errors"]}.get((row, column), 0)
