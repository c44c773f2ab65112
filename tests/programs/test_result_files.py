"""Lists of the menu's commands: named files beside the log, with links to its cells."""

from __future__ import annotations

from pathlib import Path

import openpyxl

from sheetfns.programs.result_files import Place, result_path, write_result


def test_a_list_is_beside_its_log_and_leads_to_its_cells(tmp_path: Path) -> None:
    log = tmp_path / "our shop.xlsx"
    path = result_path("Findings", log)
    assert path == tmp_path / "our shop findings.xlsx"
    rows = [["Cell", "What", "Amount"], [Place("E7", "Owner's money"), "=1+1", 2.5], [Place("", "Pay"), None, 3.0]]
    write_result(path, "Findings", rows, (8, 40, 10), log)
    sheet = openpyxl.load_workbook(path)["Findings"]
    assert [[cell.value for cell in row] for row in sheet.iter_rows()] == [
        ["Cell", "What", "Amount"], ["E7", "=1+1", 2.5], ["", None, 3],
    ]  # fmt: skip
    assert sheet["B2"].data_type == "s", "a text stays one"
    link = sheet["A2"].hyperlink
    assert (link.target, link.location) == ("our%20shop.xlsx", "'Owner''s money'!E7")
    assert sheet["C3"].number_format == "#,##0.00"


def test_a_row_is_as_high_as_its_sentence(tmp_path: Path) -> None:
    path = tmp_path / "shop findings.xlsx"
    words = "This sentence is much longer than what one line of the column can hold, so that it takes two."
    write_result(path, "Findings", [["Cell", "What"], ["A1", words], ["A2", "short"]], (8, 50), None)
    heights = openpyxl.load_workbook(path)["Findings"].row_dimensions
    assert (heights[2].height, heights[3].height) == (30, None)


def test_only_a_list_is_written_over(tmp_path: Path) -> None:
    log = tmp_path / "shop.xlsx"
    own = tmp_path / "shop findings.xlsx"
    openpyxl.Workbook().save(own)
    before = own.read_bytes()
    path = result_path("Findings", log)
    assert path.name == "shop findings 2.xlsx"
    write_result(path, "Findings", [["A"], [1.0]], (8,), log)
    assert result_path("Findings", log) == path
    assert own.read_bytes() == before


def test_a_log_that_was_never_saved_has_its_lists_elsewhere(tmp_path: Path) -> None:
    path = result_path("Year: 2026/27", None)
    assert path.name == "log year 202627.xlsx"
    assert path.parent.is_dir()
    write_result(path, "Year: 2026/27", [["A"], [Place("B2", "Pay")]], (8,), None)
    assert openpyxl.load_workbook(path).active["A2"].hyperlink is None
