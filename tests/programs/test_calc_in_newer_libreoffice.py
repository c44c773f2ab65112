"""Some tests once more, in the LibreOffice of Debian's backports where it is offered."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from sheetfns.hosts.libreoffice import find_libreoffice, version_of

pytestmark = pytest.mark.libreoffice

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
SCRIPT = HERE / "newer_libreoffice.sh"
NOT_HERE = 77
TIMEOUT = 900


def in_newer(folder: Path, *command: str) -> subprocess.CompletedProcess[str]:
    """Run a command with the newer program in the place of the system's."""
    # The run inside is one of its own, not part of this one.
    inside = {name: value for name, value in os.environ.items() if "PYTEST" not in name}
    return subprocess.run(
        ["sh", str(SCRIPT), str(folder), *command],
        capture_output=True,
        text=True,
        timeout=TIMEOUT,
        check=False,
        cwd=ROOT,
        env=inside,
    )


@pytest.fixture(scope="module")
def newer(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder with the newer program."""
    folder = tmp_path_factory.mktemp("newer") / "program"
    shown = in_newer(folder, "soffice", "--version")
    if shown.returncode == NOT_HERE:
        pytest.skip(shown.stdout.strip())
    version = re.search(r"\d+\.\d+", shown.stdout)
    assert version, shown
    program = find_libreoffice()
    assert program
    if float(version[0]) <= float(version_of(program).rpartition(".")[0]):
        pytest.skip("the system's LibreOffice is as new")
    return folder


@pytest.mark.parametrize(
    "file", ["programs/test_calc_in_libreoffice.py", "log/test_saved_elsewhere.py", "log/check/test_formula_tree.py"]
)
def test_in_a_newer_libreoffice(newer: Path, tmp_path: Path, file: str) -> None:
    command = (sys.executable, "-m", "pytest", str(ROOT / "tests" / file), "-q", "-m", "libreoffice")
    options = ("-p", "no:cacheprovider", "--basetemp", str(tmp_path / "tests"))
    done = in_newer(newer, *command, *options)
    assert done.returncode == 0, done.stdout[-4000:]
    assert re.search(r"\b[1-9]\d* passed", done.stdout)
    assert "skipped" not in done.stdout
