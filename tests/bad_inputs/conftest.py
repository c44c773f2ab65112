"""The good log from which the bad ones are made, and what is read of those that can be read."""

from __future__ import annotations

from pathlib import Path

import pytest

from sheetfns.log.load import load_log
from sheetfns.log.read.content import LogContent
from tests.bad_inputs.corpus_cells import ODD
from tests.log.filled_logs import full_entries, small_log


@pytest.fixture(scope="session")
def good(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_log(tmp_path_factory.mktemp("good") / "good.xlsx", inputs=full_entries())


@pytest.fixture(scope="session")
def content(good: Path) -> LogContent:
    return load_log(good)


@pytest.fixture(scope="session")
def files(good: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("odd")
    return {name: one.in_folder(good, folder) for name, one in ODD.items()}


@pytest.fixture(scope="session")
def contents(files: dict[str, Path]) -> dict[str, LogContent]:
    """Each of them, read once."""
    return {name: load_log(path) for name, path in files.items()}
