"""Sheets are looked through piece by piece: where an item ends changes nothing."""

from __future__ import annotations

import pytest

from sheetfns.files import xlsx_file
from sheetfns.log.load import load_log
from tests.log.filled_logs import full_entries, small_log


@pytest.mark.parametrize("size", [997, 4_096, 50_021])
def test_items_of_any_size(tmp_path, monkeypatch, size):
    path = small_log(tmp_path / "log.xlsx", "plain", full_entries())
    whole = load_log(path)
    monkeypatch.setattr(xlsx_file, "_CHUNK", size)
    items = load_log(path)
    assert items.problems == whole.problems
    assert all(items.sheets[key].equals(frame) for key, frame in whole.sheets.items())
    assert items.inputs() == whole.inputs()
