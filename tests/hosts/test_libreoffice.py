"""The soffice runs that other tests rest on: old values are not trusted, nothing is left behind."""

from __future__ import annotations

import tempfile
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter

from tests.libreoffice import LibreOfficeError, print_pdf, recalculate

pytestmark = pytest.mark.libreoffice


@pytest.fixture
def workbook(tmp_path: Path) -> Path:
    path = tmp_path / "sums.xlsx"
    book = xlsxwriter.Workbook(path)
    sheet = book.add_worksheet("Sums")
    sheet.write("A1", 2)
    sheet.write_formula("B1", "=A1*3", value=999)
    sheet.write_formula("C1", "=ROUND(1.005,2)", value=999)
    book.close()
    return path


def test_old_values_are_calculated_anew(workbook: Path, tmp_path: Path) -> None:
    made = recalculate(workbook, tmp_path / "out")
    sheet = openpyxl.load_workbook(made, data_only=True)["Sums"]
    assert [sheet["B1"].value, sheet["C1"].value] == [6, 1.01]


def test_printing_makes_a_pdf(workbook: Path, tmp_path: Path) -> None:
    assert print_pdf(workbook, tmp_path / "out").read_bytes().startswith(b"%PDF")


def test_the_source_is_never_written_over(workbook: Path) -> None:
    with pytest.raises(LibreOfficeError, match="written over"):
        recalculate(workbook, workbook.parent)


def test_a_missing_file_is_said(tmp_path: Path) -> None:
    with pytest.raises(LibreOfficeError, match="no file"):
        recalculate(tmp_path / "none.xlsx", tmp_path / "out")


def test_a_run_over_time_is_ended_and_leaves_no_profile(
    workbook: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    profiles = tmp_path / "profiles"
    profiles.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(profiles))
    with pytest.raises(LibreOfficeError, match="ended after"):
        recalculate(workbook, tmp_path / "out", timeout=0.05)
    assert list(profiles.iterdir()) == []
