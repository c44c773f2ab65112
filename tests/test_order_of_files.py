"""The files that are begun first are there."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import SLOW_FILES, pytest_collection_modifyitems


def test_slow_files_are_there() -> None:
    tests = Path(__file__).parent
    assert [name for name in SLOW_FILES if not (tests / name).is_file()] == []


def test_they_come_first_and_all_else_keeps_its_order(request: pytest.FixtureRequest) -> None:
    tests = Path(__file__).parent
    names = ["test_cli.py", SLOW_FILES[1], "test_a.py", SLOW_FILES[0], SLOW_FILES[1], "test_b.py"]
    items = [pytest.Module.from_parent(request.session, path=tests / name) for name in names]
    pytest_collection_modifyitems(items)  # type: ignore[arg-type]
    assert [str(item.path.relative_to(tests)) for item in items] == [
        *(SLOW_FILES[0], SLOW_FILES[1], SLOW_FILES[1], "test_cli.py", "test_a.py", "test_b.py")
    ]
