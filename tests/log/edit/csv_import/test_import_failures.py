"""When something goes wrong the log stays as it was."""

from __future__ import annotations

import csv
import os
import shutil
import zipfile
from pathlib import Path

import pytest

from sheetfns.errors import LogFileError
from sheetfns.files import safe_files
from sheetfns.log.edit import patch
from sheetfns.log.edit.csv_import import apply_import
from tests.log.edit.csv_import.importing import SALES, planned
from tests.log.filled_logs import full_entries, small_log


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_log(tmp_path_factory.mktemp("log") / "log.xlsx", inputs=full_entries())


@pytest.fixture
def log(made: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(made, tmp_path / "log.xlsx"))


@pytest.mark.parametrize("step", ["work out", "write", "rename", "left rows"])
def test_a_failure_leaves_the_log_as_it_was(log, monkeypatch, step):
    plan = planned(log, SALES)
    before = log.read_bytes()
    files = sorted(os.listdir(log.parent))

    def fail(*_args, **_named):
        raise OSError(28, "No space left on device")

    if step == "work out":
        monkeypatch.setattr(patch.engine, "recalculate", fail)
    elif step == "write":
        monkeypatch.setattr(zipfile.ZipFile, "writestr", fail)
    elif step == "rename":
        monkeypatch.setattr(Path, "replace", fail)
    else:
        monkeypatch.setattr(csv, "writer", fail)
    with pytest.raises((LogFileError, OSError), match="No space left"):
        apply_import(plan)
    monkeypatch.undo()
    assert log.read_bytes() == before
    left = [name for name in sorted(os.listdir(log.parent)) if name not in files]
    # The dated copy is made before the log is renamed over; it is no harm.
    assert all(name.startswith("log 20") for name in left)
    assert [name for name in os.listdir(log.parent) if name.startswith(".")] == []


def test_a_log_that_changed_since_the_plan(log):
    plan = planned(log, SALES)
    patch.patch(log, [patch.CellEdit("Sourcing log", 8, 29, 99.0)])
    before = log.read_bytes()
    with pytest.raises(LogFileError, match="has changed since it was checked; run the command"):
        apply_import(plan)
    assert log.read_bytes() == before


def test_a_log_that_is_open_or_in_use(log):
    plan = planned(log, SALES)
    before = log.read_bytes()
    with safe_files.sole_use(log), pytest.raises(LogFileError, match="another command is using it"):
        apply_import(plan)
    (log.parent / "~$log.xlsx").touch()
    with pytest.raises(LogFileError, match="is open in a spreadsheet program"):
        apply_import(plan)
    assert log.read_bytes() == before


def test_new_problems_are_told(log):
    text = "SKU,Sold at,Site,Price,Fee\nP2,2026-05-03,Booth,20,\n"
    done = apply_import(planned(log, text))
    assert {one.key for one in done.new_problems} == {"after_as_of"}
