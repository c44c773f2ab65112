"""A file that is made once is not made again, also not by another process of the run."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.made_once import FOLDER, made_once

ROOT = Path(__file__).parents[1]


def test_the_second_to_need_it_takes_what_the_first_has_made(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv(FOLDER, str(tmp_path))
    first = made_once("words.txt", lambda path: path.write_text("first"))
    again = made_once("words.txt", lambda path: path.write_text("second"))
    assert first == again == tmp_path / "words.txt"
    assert first.read_text() == "first"
    assert made_once("others.txt", lambda path: path.write_text("second")).read_text() == "second"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["others.txt", "words.txt"]


def test_other_processes_find_it(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv(FOLDER, str(tmp_path))
    made_once("words.txt", lambda path: path.write_text("first"))
    code = "from tests.made_once import made_once; print(made_once('words.txt', None).read_text())"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert ran.stdout == "first\n"


def test_what_fails_while_it_is_made_is_made_anew(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv(FOLDER, str(tmp_path))

    def broken(path: Path) -> None:
        path.write_text("half")
        raise OSError

    with pytest.raises(OSError):
        made_once("words.txt", broken)
    assert made_once("words.txt", lambda path: path.write_text("whole")).read_text() == "whole"
