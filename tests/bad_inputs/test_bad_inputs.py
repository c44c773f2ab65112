"""Files that are no good log are refused in plain words, and nothing is written."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from sheetfns.errors import LogFileError
from sheetfns.log.check.report import check_log
from sheetfns.log.edit import merge
from sheetfns.log.edit.patch import CellEdit, patch, refresh_values
from sheetfns.log.load import load_log
from sheetfns.log.read.content import LogContent
from tests.bad_inputs import corpus_cells
from tests.bad_inputs.corpus import BAD, BadFile, Refused

assert corpus_cells.LOG  # it registers its files
REFUSED = [pytest.param(one, id=one.name) for one in BAD.values() if isinstance(one.expected, Refused)]
LONGEST = 400
WORDS_OF_PROGRAMS = re.compile(
    r"Traceback|Error\b|zipfile|NoneType|lxml|Errno|calamine|None\b|object at|0x|\(c\)|<string>"
    r"|CRC|decompress|b'|\{|\}"
)
INSTRUCTION = re.compile(
    r"; (?:if it should be one, )?(?:take|open|save|check|give|clear|name|rename|delete|don't use"
    r"|use|restore|install|create|enter|ask|remove|build|write|run|make)\b[^;]*(?:; [^;]*)?$"
)


@pytest.fixture
def good_is_read(good: Path, content: LogContent, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The good log is read once for all; the bad ones by the reader itself."""
    monkeypatch.setattr(merge, "load_log", lambda path: content if Path(path) == good else load_log(path))


def refused(path: Path, run: Callable[[], Any]) -> str:
    """The message with which a file is refused."""
    folder = path.parent
    before = {one.name: one.read_bytes() for one in folder.iterdir()}
    with pytest.raises(LogFileError) as caught:
        run()
    assert {one.name: one.read_bytes() for one in folder.iterdir()} == before
    return str(caught.value)


def assert_plain(message: str, path: Path) -> None:
    assert path.name in message
    assert not WORDS_OF_PROGRAMS.search(message.replace(path.name, "")), message
    assert INSTRUCTION.search(message), message
    assert len(message) <= LONGEST, len(message)
    assert "\n" not in message
    assert len(re.findall(r"[.!?] [A-Z]", message)) <= 1


@pytest.mark.usefixtures("good_is_read")
@pytest.mark.parametrize("bad", REFUSED)
def test_it_is_refused(bad: BadFile, good: Path, tmp_path: Path) -> None:
    path = bad.in_folder(good, tmp_path)
    assert isinstance(bad.expected, Refused)
    message = refused(path, lambda: load_log(path))
    assert_plain(message, path)
    assert re.search(bad.expected.words, message), message
    out = tmp_path / "out.xlsx"
    assert refused(path, lambda: check_log(path)) == message
    assert refused(path, lambda: merge.merge_logs(good, path, out)) == message
    assert refused(path, lambda: merge.merge_logs(path, good, out)) == message


NO_ZIP = [one for one in REFUSED if "zip" not in one.values[0].name][:15]


@pytest.mark.parametrize("bad", NO_ZIP)
def test_what_is_no_workbook_is_not_patched_either(bad: BadFile, good: Path, tmp_path: Path) -> None:
    path = bad.in_folder(good, tmp_path)
    for run in (
        lambda: patch(path, [CellEdit("Trips", 7, 3, "x")]),
        lambda: refresh_values(path),
        lambda: patch(path, [], out=tmp_path / "out.xlsx"),
    ):
        assert_plain(refused(path, run), path)


def test_the_corpus_is_large() -> None:
    assert len(BAD) >= 120
    assert len(REFUSED) >= 70


def test_nothing_outside_is_read(good: Path, tmp_path: Path) -> None:
    """A declaration that points to a file of this computer, in every part that is read."""
    path = BAD["entity from a file"].in_folder(good, tmp_path)
    own = Path("/etc/hostname")
    secret = own.read_text().strip() if own.exists() else "no such file"
    message = refused(path, lambda: load_log(path))
    assert secret not in message
