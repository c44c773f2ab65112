"""The files that are begun first are there; what is slow is marked."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import SLOW_FILES, pytest_collection_modifyitems, pytest_itemcollected


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


def test_what_is_slow_is_marked(request: pytest.FixtureRequest) -> None:
    tests = Path(__file__).parent
    marked = {}
    for name in (SLOW_FILES[0], "test_money.py"):
        item = pytest.Module.from_parent(request.session, path=tests / name)
        pytest_itemcollected(item)  # type: ignore[arg-type]
        marked[name] = item.get_closest_marker("slow") is not None
    calls_a_program = pytest.Module.from_parent(request.session, path=tests / "test_a.py")
    calls_a_program.add_marker(pytest.mark.gnumeric)
    pytest_itemcollected(calls_a_program)  # type: ignore[arg-type]
    assert marked == {SLOW_FILES[0]: True, "test_money.py": False}
    assert calls_a_program.get_closest_marker("slow") is not None
