"""With nothing but the base every function computes, and what needs more says what to install."""

from __future__ import annotations

import subprocess
import sys

import pytest

from sheetfns import REGISTRY, extras
from tests import ROOT
from tests.case_files import load_cases


def run_in_base(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(words, capture_output=True, text=True, timeout=300, check=False, cwd=ROOT)


def test_every_function_computes() -> None:
    done = run_in_base(sys.executable, "-m", "tests.only_the_base")
    assert done.stdout == f"{len(load_cases())} cases of {len(REGISTRY)} functions, 0 failed\n", done.stderr
    assert done.returncode == 0


@pytest.mark.parametrize("words", [["functions"], ["check", "my_log.xlsx"], ["install", "calc"]])
def test_a_command_says_in_one_sentence_what_to_install(words: list[str]) -> None:
    done = run_in_base(sys.executable, "-m", "tests.only_the_base", *words)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        "The commands need packages that are not installed (pandas, XlsxWriter, python-calamine and 11 more): install "
        f'sheetfns[all]; in the folder of sheetfns run: "{sys.executable}" -m pip install ".[all]"\n'
    )


@pytest.mark.parametrize(
    ("module", "begin"), [("sheetfns.log.load", "The sourcing log"), ("sheetfns.yearend.package", "The package")]
)
def test_what_is_imported_says_so_too(module: str, begin: str) -> None:
    code = (
        "import sys; from tests.only_the_base import OnlyTheBase; sys.meta_path.insert(0, OnlyTheBase())\n"
        f"try:\n    import {module}\nexcept ImportError as error:\n    print(error)"
    )
    said = run_in_base(sys.executable, "-c", code).stdout
    assert said.startswith(f"{begin} ")
    assert "not installed (pandas, XlsxWriter, python-calamine and 6 more): install sheetfns[all]; " in said


def test_one_package_is_named_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    real = extras.is_there
    monkeypatch.setattr(extras, "is_there", lambda one: one.name != "rich" and real(one))
    with pytest.raises(extras.MissingPackagesError, match=r"^The commands need packages .* \(rich\): install"):
        extras.need("commands", "The commands need")
    extras.need("log", "The log needs")
