"""Recalculated values go into the file; everything else in it stays as it was."""

from __future__ import annotations

import datetime as dt
import os
import re
import stat
import zipfile
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter

from sheetfns.errors import LogFileError
from sheetfns.files import safe_files
from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.edit import patch
from sheetfns.log.edit.patch import refresh_values
from sheetfns.log.load import load_log
from sheetfns.log.write.build import build_log
from tests.log.random_logs import random_entries
from tests.log.sheets.random_shelves import with_shelves


def parts(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as book:
        return {part.filename: book.read(part) for part in book.infolist()}


def rich_workbook(path: Path) -> Path:
    """With what other libraries lose: sparkline, chart, picture-like comment, rich text."""
    book = xlsxwriter.Workbook(str(path))
    sheet = book.add_worksheet("Data & more")
    sheet.write_row(0, 0, [25, 4, 3.5, 4.25, 0.75, 8])
    sheet.write_formula("G1", "=NET_PROFIT(A1,B1,C1,D1,E1,F1)", None, 999)
    sheet.write_formula("H1", '=IF(G1>0,"earns","loses")', None, "?")
    sheet.write_formula("I1", "=G1>0", None, 0)
    sheet.write_formula("J1", "=NET_PROFIT(A1,B1,-1,D1,E1,F1)", None, 0)
    sheet.write_formula("K1", '=IF(G1>0,"","x")', None, "x")
    sheet.write_comment("A1", "a note")
    sheet.add_sparkline("A2", {"range": "'Data & more'!A1:F1"})
    bold = book.add_format({"bold": True})
    sheet.write_rich_string("A3", "plain ", bold, "bold")
    chart = book.add_chart({"type": "line"})
    chart.add_series({"values": "='Data & more'!$A$1:$F$1"})
    sheet.insert_chart("C5", chart)
    sheet.insert_textbox("C20", "text box")
    book.close()
    return path


@pytest.mark.filterwarnings("ignore:Sparkline Group extension")  # it is openpyxl that drops it
def test_values_are_stored_and_all_else_stays(tmp_path):
    path = rich_workbook(tmp_path / "rich.xlsx")
    before = parts(path)
    values, copy = refresh_values(path)
    after = parts(path)
    assert list(after) == list(before)
    changed = [name for name in before if before[name] != after[name]]
    assert changed == ["xl/worksheets/sheet1.xml"]
    assert parts(copy) == before
    cells = openpyxl.load_workbook(path, data_only=True)["Data & more"]
    assert [cells.cell(1, i).value for i in range(7, 12)] == [12.5, "earns", True, "#NUM!", None]
    formulas = openpyxl.load_workbook(path)["Data & more"]
    assert formulas["G1"].value == "=NET_PROFIT(A1,B1,C1,D1,E1,F1)"
    (error,) = values.errors
    assert str(error) == "Data & more!J1: #NUM! fee: -1 is below 0; write 0 or more"
    text = after["xl/worksheets/sheet1.xml"].decode()
    assert "sparkline" in text
    assert len(re.findall("<f>", text)) == len(re.findall("<f>", before[changed[0]].decode()))


@pytest.mark.parametrize("edition", ["plain", "functions"])
def test_a_log_whose_values_were_lost_gets_them_back(tmp_path, edition):
    path = build_log(tmp_path / "log.xlsx", edition, 60, with_shelves(random_entries(4, 60), 4))
    stored = load_log(path).shown
    book = openpyxl.load_workbook(path)
    book.save(path)  # openpyxl stores no values
    refresh_values(path)
    content = load_log(path)
    for key, frame in stored.items():
        assert content.shown[key].equals(frame), key
    assert compare(compute_log(content)).differences == []


def test_months_that_were_blank_are_found_when_the_day_moves_on(tmp_path):
    """The last rows of a sheet may be blank in the file and not be so after recalculation."""
    path = build_log(tmp_path / "log.xlsx", "plain", 20)
    book = openpyxl.load_workbook(path)
    settings = {row[0].value: row[1] for row in book["Settings"].iter_rows(max_row=75)}
    settings["First month of this log"].value = dt.date(2026, 1, 1)
    settings["As of"].value = dt.date(2028, 1, 1)
    book.save(path)
    refresh_values(path)
    assert load_log(path).shown["Money"]["month"].notna().sum() == 25


@pytest.mark.parametrize("step", ["read", "write", "rename"])
def test_a_failure_leaves_the_old_file_whole(tmp_path, monkeypatch, step):
    path = rich_workbook(tmp_path / "log.xlsx")
    before = path.read_bytes()

    def fail(*_args, **_named):
        raise OSError(28, "No space left on device")

    if step == "read":
        monkeypatch.setattr(patch.engine, "recalculate", fail)
    elif step == "write":
        monkeypatch.setattr(zipfile.ZipFile, "writestr", fail)
    else:
        monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises((LogFileError, OSError), match="No space left"):
        refresh_values(path)
    assert path.read_bytes() == before
    assert not [name for name in os.listdir(tmp_path) if name.startswith(".")]


@pytest.mark.parametrize("lock", [".~lock.log.xlsx#", "~$log.xlsx"])
def test_a_file_that_is_open_is_not_touched(tmp_path, lock):
    path = rich_workbook(tmp_path / "log.xlsx")
    (tmp_path / lock).touch()
    before = path.read_bytes()
    with pytest.raises(LogFileError, match=r"is open in a spreadsheet program; close it"):
        refresh_values(path)
    assert path.read_bytes() == before
    assert sorted(os.listdir(tmp_path)) == sorted(["log.xlsx", lock])


def test_rights_of_the_file_are_kept(tmp_path):
    path = rich_workbook(tmp_path / "log.xlsx")
    path.chmod(0o640)
    refresh_values(path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_new_file_has_the_usual_rights(tmp_path):
    ordinary = tmp_path / "ordinary"
    ordinary.touch()
    with safe_files.atomic_write(tmp_path / "new.xlsx") as beside:
        beside.write_text("content")
    new = tmp_path / "new.xlsx"
    assert new.read_text() == "content"
    assert new.stat().st_mode == ordinary.stat().st_mode


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(LogFileError, match=r"missing.new\.xlsx: cannot be written \(No such"):
        build_log(tmp_path / "missing" / "new.xlsx", rows=5)


def test_an_error_in_the_block_is_not_hidden(tmp_path):
    path = tmp_path / "kept.xlsx"
    path.write_text("old")

    def fail_after_writing():
        with safe_files.atomic_write(path) as beside:
            beside.write_text("new")
            raise ValueError("mine")

    with pytest.raises(ValueError, match="mine"):
        fail_after_writing()
    assert path.read_text() == "old"
    assert os.listdir(tmp_path) == ["kept.xlsx"]


def test_not_a_workbook(tmp_path):
    path = tmp_path / "log.xlsx"
    path.write_text("Item no.,Paid\nA1,4.50\n")
    with pytest.raises(LogFileError, match="is not a workbook but text, such as CSV"):
        refresh_values(path)
    assert os.listdir(tmp_path) == ["log.xlsx"]
