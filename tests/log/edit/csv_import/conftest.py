"""A log that was read is not read again while its bytes are the same."""

from __future__ import annotations

import dataclasses
import functools
import hashlib
from pathlib import Path

import pytest

from sheetfns.log.edit.csv_import import import_plan
from sheetfns.log.load import load_log
from sheetfns.log.read.content import LogContent


@functools.cache
def _contents() -> dict[str, LogContent]:
    return {}


@pytest.fixture(autouse=True)
def read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Planning reads a log; the tests of the reader are elsewhere."""

    def read(path: Path) -> LogContent:
        try:
            mark = hashlib.sha256(Path(path).read_bytes()).hexdigest()
        except OSError:
            return load_log(path)
        if mark not in _contents():
            _contents()[mark] = load_log(path)
        known = _contents()[mark]
        return dataclasses.replace(known, path=Path(path), problems=list(known.problems))

    monkeypatch.setattr(import_plan, "load_log", read)
