"""Reading logs: what is typed comes back, and whatever is wrong is said with its cell."""

from __future__ import annotations

import datetime as dt
import math
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np
import openpyxl
import pandas as pd
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from sheetfns.cell_types import date_of_number
from sheetfns.errors import CellError, LogFileError
from sheetfns.files import packed_file
from sheetfns.files.cell_names import cell_name, column_letters
from sheetfns.hosts import engine
from sheetfns.log.compare import compare_settings
from sheetfns.log.load import load_log
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import EDITIONS, FIRST_ROW, Edition, TableSheet
from sheetfns.log.model.typed_rows import Issue
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.write.build import build_log
from tests.log.filled_logs import (
    BLOCKS,
    FEW_ROWS,
    FORM_MISTAKES,
    FORMS,
    MISTAKES,
    SETTINGS,
    FormMistake,
    Mistake,
    full_entries,
    mistaken_entries,
    part_of,
    small_log,
)
from tests.log.libreoffice_in_turn import recalculate_all
from tests.log.quick_logs import loaded, our_own_files, quick_log

ROWS = 80
LOG_LAYOUT = log_layout(ROWS)
LEFT_TO_THE_SHEET = {"not_added_up"}
"""Whether a lot's shares add up is about figures, not entries."""
FOLLOWS_FROM_TEXT = {"Plan": {"no_price", "no_days"}}
"""Where text or an amount below 0 stands, the sheet asks for the figure as well; the reader says
once what is wrong with the cell."""
TYPED = ("Plan", "Comps", "Log", "Lots", "Expenses", "Trips", "Personal", "Owner")
Change = Callable[[openpyxl.Workbook], None]


@pytest.fixture(scope="module")
def full_logs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("full")
    return {edition: build_log(folder / f"{edition}.xlsx", edition, ROWS, full_entries()) for edition in EDITIONS}


def build_mistaken(path: Path, inputs: Inputs) -> LogContent:
    """The content of a log with hundreds of errors, of which a file keeps no messages."""
    with mock.patch.object(engine, "MESSAGES_WANTED", 0):
        return load_log(build_log(path, "plain", ROWS, inputs))


@pytest.fixture(scope="module")
def mistaken_log(tmp_path_factory: pytest.TempPathFactory) -> LogContent:
    path = tmp_path_factory.mktemp("mistaken") / "mistakes.xlsx"
    return build_mistaken(path, mistaken_entries()[0])


@pytest.fixture(scope="module")
def small_full_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_log(tmp_path_factory.mktemp("small") / "log.xlsx", inputs=full_entries())


@pytest.fixture
def changed(small_full_log: Path, tmp_path: Path) -> Callable[[Change], LogContent]:
    """Reads the full log after a change to its cells, made as a person would in a program."""

    def change_and_read(change: Change) -> LogContent:
        book = loaded(small_full_log)
        change(book)
        book.save(tmp_path / "changed.xlsx")
        with our_own_files():
            return load_log(tmp_path / "changed.xlsx")

    return change_and_read


def cell_of(sheet: str, column: str, row: int) -> str:
    return f"{column_letters(LOG_LAYOUT.table(sheet).position(column))}{row}"


def said(content: LogContent, sheet: str, cell: str) -> list[Issue]:
    """The problems of a cell, apart from results that openpyxl leaves without a value."""
    found = [p for p in content.problems if (p.sheet, p.cell) == (sheet, cell)]
    return [p for p in found if "formulas of this sheet" not in p.message]


def one_said(content: LogContent, sheet: str, cell: str) -> Issue:
    problems = said(content, sheet, cell)
    assert len(problems) == 1, content.problems
    return problems[0]


# ---- what is typed comes back --------------------------------------------------------------------


def test_full_log_fills_every_column() -> None:
    inputs = full_entries()
    for table in (LOG_LAYOUT.table(key) for key in TYPED):
        filled = set().union(*inputs.rows[table.key])
        assert filled == {column.key for column in table.inputs()}
    assert set(inputs.settings) == {s.name for s in LOG_LAYOUT.settings if not s.formula}
    for form in LOG_LAYOUT.forms:
        assert set(inputs.forms.get(form.key, ())) == {c.key for c in form.cells() if c.role == "input"}
    for block in LOG_LAYOUT.blocks:
        typed = {column.key for column in block.columns if column.role == "input"}
        assert set().union(*inputs.blocks.get(block.key, ())) == typed, block.key


@pytest.mark.parametrize("edition", EDITIONS)
def test_round_trip(edition: Edition, full_logs: dict[str, Path], tmp_path: Path) -> None:
    first = load_log(full_logs[edition])
    assert first.problems == []
    assert first.inputs() == full_entries()
    assert first.inputs().forms == FORMS
    again = load_log(build_log(tmp_path / "again.xlsx", edition, ROWS, first.inputs()))
    assert again.inputs() == first.inputs()
    for frames, others in ((first.sheets, again.sheets), (first.blocks, again.blocks), (first.shown, again.shown)):
        assert frames.keys() == others.keys()
        for key in frames:
            pd.testing.assert_frame_equal(frames[key], others[key])


@pytest.mark.parametrize("edition", EDITIONS)
def test_what_the_file_is(edition: Edition, full_logs: dict[str, Path]) -> None:
    content = load_log(str(full_logs[edition]))
    assert content.edition == edition
    assert content.ready_rows == {table.key: table.ready_rows for table in LOG_LAYOUT.tables}
    assert content.extra_columns == {}
    assert content.path == full_logs[edition]


def test_frames_have_the_dtypes_of_their_kinds(full_logs: dict[str, Path]) -> None:
    dtypes = {"text": "object", "number": "float64", "date": "datetime64[ns]"}
    content = load_log(full_logs["plain"])
    for block in LOG_LAYOUT.blocks:
        for column in block.columns:
            assert str(content.blocks[block.key][column.key].dtype) == dtypes[column.kind.holds]
    for key in TYPED:
        table, frame = LOG_LAYOUT.table(key), content.sheets[key]
        assert list(frame.columns) == [*(c.key for c in table.inputs()), "sheet_row"]
        assert frame["sheet_row"].tolist() == list(range(FIRST_ROW, FIRST_ROW + len(frame)))
        for column in table.inputs():
            assert str(frame[column.key].dtype) == dtypes[column.kind.holds]
    item = content.sheets["Log"].iloc[1]
    assert item["channel"] == ""
    assert math.isnan(item["sale_price"])
    assert item["sold_on"] is pd.NaT
    assert content.settings["As_of_date"] == SETTINGS["As_of_date"]
    assert content.settings["Year_end"] == dt.date(2026, 12, 31)
    assert list(content.blocks["Source"]["name"]) == ["Business", "Returned item", "Ada", "Bo"]


@pytest.mark.parametrize("edition", EDITIONS)
def test_empty_log(edition: Edition, tmp_path: Path) -> None:
    content = load_log(build_log(tmp_path / "empty.xlsx", edition, 30))
    assert content.problems == []
    for key in TYPED:
        table, frame = LOG_LAYOUT.table(key), content.sheets[key]
        assert len(frame) == 0
        assert list(frame.columns) == [*(c.key for c in table.inputs()), "sheet_row"]
        assert len(content.shown[key]) == 0
    as_built = content.inputs()
    assert as_built.rows == {key: [] for key in TYPED}
    assert as_built.forms == {"Shelf": {}, "Desk": {}}
    assert [row["name"] for row in as_built.blocks["Partner"]] == ["Partner 1"]


def test_what_cannot_be_read_is_kept_for_the_next_log(mistaken_log: LogContent, tmp_path: Path) -> None:
    kept = mistaken_log.inputs()
    assert kept.rows == mistaken_entries()[0].rows
    assert kept.forms == mistaken_entries()[0].forms
    assert build_mistaken(tmp_path / "again.xlsx", kept).problems == mistaken_log.problems


# ---- what the file shows -------------------------------------------------------------------------


def same(kind_holds: str, shown: Any, computed: Any) -> bool:
    if isinstance(computed, CellError):
        return False
    if computed is None or computed == "":
        return shown == "" if kind_holds == "text" else bool(pd.isna(shown))
    if kind_holds == "date":
        return shown == pd.Timestamp(date_of_number(computed))
    if kind_holds == "number":
        return shown == pytest.approx(computed, abs=1e-9)
    return shown == computed


@pytest.mark.parametrize("edition", EDITIONS)
def test_shown_is_what_was_computed(edition: Edition, full_logs: dict[str, Path]) -> None:
    content = load_log(full_logs[edition])
    computed = engine.recalculate(full_logs[edition])
    compared = 0
    for table in LOG_LAYOUT.tables:
        frame = content.shown[table.key]
        results = [column for column in table.columns if column.role != "input"]
        assert list(frame.columns) == [*(column.key for column in results), "sheet_row"]
        for column in results:
            place = table.position(column.key) + 1
            for shown, row in zip(frame[column.key], frame["sheet_row"], strict=True):
                value = computed.value(table.name, row, place)
                assert same(column.kind.holds, shown, value), (table.name, column.key, row)
                compared += value not in (None, "")
    assert compared > 150
    assert content.shown["Log"]["sheet_row"].tolist() == content.sheets["Log"]["sheet_row"].tolist()
    assert content.shown["Log"]["net_profit"].notna().sum() == 2


def test_forms_and_checks(full_logs: dict[str, Path]) -> None:
    content = load_log(full_logs["plain"])
    computed = engine.recalculate(full_logs["plain"])
    places = AddressMap(LOG_LAYOUT)
    for form in LOG_LAYOUT.forms:
        shown = content.shown[form.key].iloc[0]
        for cell in form.cells():
            if cell.role != "input":
                row, place = places.form_cells[form.key][cell.key]
                value = computed.value(form.name, row, place + 1)
                assert same(cell.kind.holds, shown[cell.key], value), (form.name, cell.key)
    year = content.shown["Year"].iloc[0]
    assert (year["heading_1_label"], year["amount_2"]) == ("Supplies", 48)
    checks = content.shown["Data checks"].set_index("key")
    assert checks.index.tolist() == [check.key for check in LOG_LAYOUT.checks]
    assert checks["count"].notna().all()
    assert checks.loc["Log_fee_differs", "first"] == FIRST_ROW
    assert checks.loc["Log_no_item", "result"] == "OK"


# ---- mistakes ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "mistake"),
    mistaken_entries()[1],
    ids=[f"{m.sheet}-{'-'.join(v[0] for v in m.said.values())}-{i}" for i, m in enumerate(MISTAKES)],
)
def test_each_mistake_is_said(mistaken_log: LogContent, row: int, mistake: Mistake) -> None:
    table = LOG_LAYOUT.table(mistake.sheet)
    for column, (key, words) in mistake.said.items():
        problem = one_said(mistaken_log, table.name, cell_of(mistake.sheet, column, row))
        assert problem.key == key
        assert words in problem.message
        assert table.column(column).header in problem.message
        typed = mistake.row.get(column, "blank")
        assert problem.found in {str(typed).strip(), str(typed).upper(), f"{typed}.00"}


def form_cell_of(mistake: FormMistake) -> str:
    row, place = AddressMap(LOG_LAYOUT).form_cells[mistake.form][mistake.cell]
    return f"{column_letters(place)}{row}"


@pytest.mark.parametrize("mistake", FORM_MISTAKES, ids=lambda m: f"{m.form}-{m.cell}")
def test_each_mistake_in_a_form_is_said(mistaken_log: LogContent, mistake: FormMistake) -> None:
    form = LOG_LAYOUT.form(mistake.form)
    problem = one_said(mistaken_log, form.name, form_cell_of(mistake))
    assert problem.key == mistake.key
    assert mistake.words in problem.message
    (line,) = [row for row in form.rows if mistake.cell in [cell.key for cell in row.cells]]
    header = line.label
    if mistake.cell != line.cells[0].key:
        header = mistake.cell.capitalize().replace("_", " ")
    assert problem.message.startswith(f"{header}: ")


@pytest.mark.parametrize(
    ("check", "key"), [("not_a_number", "not_a_number"), ("negative", "negative"), ("unknown", "unknown_choice")]
)
@pytest.mark.parametrize("form", FORMS)
def test_the_form_counts_what_the_reader_says(mistaken_log: LogContent, form: str, check: str, key: str) -> None:
    counts = mistaken_log.shown["Data checks"].set_index("key")["count"]
    # Excel takes TRUE for no text; the reader says it all the same.
    said_by_reader = [
        m
        for m in FORM_MISTAKES
        if m.form == form and m.key.replace("only_spaces", "not_a_number") == key and m.typed is not True
    ]
    assert said_by_reader
    assert counts[f"{form}_{check}"] == len(said_by_reader)


def test_words_of_forms_that_are_free(tmp_path: Path) -> None:
    """An item that is not on Comparables yet, and a category of one's own, are no mistakes."""
    inputs = full_entries()
    inputs.forms["Shelf"] |= {"category": "Odds", "comps_of": "not there"}
    content = load_log(quick_log(tmp_path / "free.xlsx", inputs=inputs))
    assert content.problems == []
    assert content.inputs() == inputs


def test_nothing_else_is_said(mistaken_log: LogContent) -> None:
    wanted = {(LOG_LAYOUT.form(m.form).name, form_cell_of(m), m.key) for m in FORM_MISTAKES} | {
        (LOG_LAYOUT.table(m.sheet).name, cell_of(m.sheet, column, row), key)
        for row, m in mistaken_entries()[1]
        for column, (key, _) in m.said.items()
    }
    # Results that stand on a bad cell may show an error: that follows from the mistake.
    typed = [p for p in mistaken_log.problems if p.key != "errors_follow"]
    assert {(p.sheet, p.cell, p.key) for p in typed} == wanted
    assert len(typed) == len(wanted)


def findings(table: TableSheet, shown: pd.DataFrame) -> dict[int, set[str]]:
    """The keys of the row checks that the sheet itself reports, by row.

    A row is left out where the findings are an error themselves, as they look at results too.
    """
    keys = {check.message: check.key for check in table.checks}
    assert len(keys) == len(table.checks)
    notices = {check.key for check in table.checks if check.notice}
    return {
        row: {keys[words] for words in text.split("; ")[1:]} - notices - LEFT_TO_THE_SHEET
        for text, row in zip(shown["findings"], shown["sheet_row"], strict=True)
        if not text.startswith("#")
    }


@pytest.mark.parametrize("sheet", TYPED)
def test_the_sheet_says_the_same(mistaken_log: LogContent, sheet: str) -> None:
    table = LOG_LAYOUT.table(sheet)
    by_sheet = findings(table, mistaken_log.shown[sheet])
    known = {check.key for check in table.checks}
    as_check = {"not_a_date": "not_a_number", "only_spaces": "not_a_number", "not_whole": "part"}
    assert len(by_sheet) >= len(mistaken_log.sheets[sheet]) - 1
    by_reader: dict[int, set[str]] = {row: set() for row in by_sheet}
    for problem in mistaken_log.problems:
        row = int("".join(filter(str.isdigit, problem.cell)))
        key = as_check.get(problem.key, problem.key)
        if problem.sheet == table.name and key in known and row in by_sheet:
            by_reader[row].add(key)
    every_said = set().union(*by_sheet.values())
    for row, keys in by_sheet.items():
        if keys & {"not_a_number", "negative"}:
            keys.difference_update(FOLLOWS_FROM_TEXT.get(sheet, set()) - by_reader[row])
    assert by_reader == by_sheet
    every_check = {c.key for c in table.checks if not c.notice} - LEFT_TO_THE_SHEET
    assert every_said == every_check


def test_a_bad_cell_is_blank_and_its_row_stays(mistaken_log: LogContent) -> None:
    items = mistaken_log.sheets["Log"].set_index("item_no")
    assert math.isnan(items.loc["M3", "paid"])
    assert items.loc["M10", "bought_on"] is pd.NaT
    assert items.loc["M3", "found_at"] == "Yard sale"
    assert len(items) == len(mistaken_entries()[0].rows["Log"])


# ---- cells that only a spreadsheet program can make ----------------------------------------------


def test_error_cells(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        sheet = book["Sourcing log"]
        sheet[cell_of("Log", "paid", 8)] = "#REF!"
        sheet[cell_of("Log", "item_no", 9)] = "#NAME?"
        sheet[cell_of("Log", "bought_on", 11)] = "#VALUE!"
        book["Settings"].cell(settings_row("Opening cash", book), 2).value = "#DIV/0!"

    content = changed(change)
    row, column = content.setting_places.cells["Opening_cash"]
    cash = cell_name(row, column + 1)
    paid = one_said(content, "Sourcing log", cell_of("Log", "paid", 8))
    assert (paid.key, paid.found) == ("error_cell", "#REF!")
    assert paid.message == "Paid: shows #REF!; enter the value again"
    assert one_said(content, "Sourcing log", "E9").found == "#NAME?"
    assert one_said(content, "Sourcing log", cell_of("Log", "bought_on", 11)).key == "error_cell"
    assert "Opening cash: shows #DIV/0!" in one_said(content, "Settings", cash).message
    assert content.settings["Opening_cash"] is None
    assert len(content.sheets["Log"]) == 5
    assert content.inputs().rows["Log"][1]["paid"] == "#REF!"


def test_errors_among_results(full_logs: dict[str, Path], tmp_path: Path) -> None:
    source, target = full_logs["plain"], tmp_path / "errors.xlsx"
    place = cell_of("Log", "net_profit", 7)
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        for part in old.infolist():
            content = old.read(part)
            if part.filename == part_of(source, "Sourcing log"):
                cell = f'<c r="{place}"'.encode()
                begin = content.index(b"<v>", content.index(cell))
                end = content.index(b"</v>", begin)
                content = content[:begin] + b"<v>#DIV/0!" + content[end:]
                content = content.replace(cell, cell + b' t="e"', 1)
            new.writestr(part, content)
    content = load_log(target)
    problem = one_said(content, "Sourcing log", place)
    assert (problem.key, problem.found) == ("error_in_result", "#DIV/0!")
    assert math.isnan(content.shown["Log"]["net_profit"][0])
    assert content.problems == [problem]


def test_errors_that_follow_are_said_once(tmp_path: Path) -> None:
    inputs = full_entries()
    inputs.rows["Log"][2]["sale_price"] = "24.95"
    content = load_log(quick_log(tmp_path / "f.xlsx", "functions", inputs))
    cause, rest = content.problems
    assert (cause.cell, cause.key) == (cell_of("Log", "sale_price", 9), "not_a_number")
    assert "Sale price: '24.95' is not a number; write 24.95" in cause.message
    assert rest.key == "errors_follow"
    count = int(rest.message.partition(" ")[0])
    assert count >= 5
    assert f"problems above (Sourcing log!{cause.cell}); fix those first" in rest.message


def with_errors_in(source: Path, target: Path, cells: list[str]) -> LogContent:
    """The log with #REF! as the stored result of cells of the sourcing log."""
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        for part in old.infolist():
            content = old.read(part)
            if part.filename == part_of(source, "Sourcing log"):
                for place in cells:
                    begin = content.index(f'<c r="{place}"'.encode())
                    value = content.index(b"<v>", begin)
                    cell = content[begin:value].replace(b' t="str"', b"")
                    cell = cell.replace(b" r=", b' t="e" r=') + b"<v>#REF!"
                    content = content[:begin] + cell + content[content.index(b"</v>", value) :]
            new.writestr(part, content)
    return load_log(target)


def test_a_broken_formula_is_said_where_it_begins(full_logs: dict[str, Path], tmp_path: Path) -> None:
    columns = ("fee", "net_proceeds", "net_profit", "net_margin", "return_on_cost")
    cells = [cell_of("Log", key, 7) for key in columns]
    content = with_errors_in(full_logs["plain"], tmp_path / "b.xlsx", cells)
    first, rest = content.problems
    assert (first.cell, first.key, first.found) == (cells[0], "error_in_result", "#REF!")
    typed = ", ".join(
        f"{LOG_LAYOUT.table('Log').column(key).header} ({cell_of('Log', key, 7)})" for key in ("sold_on", "fee_charged")
    )
    assert first.message == (f"Fee: shows #REF!; check {typed}; if nothing is wrong there, fix the formula")
    assert rest.message.startswith("4 results show errors because of the problems above")


def test_a_broken_formula_is_not_put_on_another_row(full_logs: dict[str, Path], tmp_path: Path) -> None:
    inputs = full_entries()
    inputs.rows["Log"][1]["paid"] = "8,25"
    source = quick_log(tmp_path / "source.xlsx", inputs=inputs)
    cell = cell_of("Log", "fee", 7)
    content = with_errors_in(source, tmp_path / "b.xlsx", [cell])
    assert cell in [p.cell for p in content.problems if p.key == "error_in_result"]
    keys = [p.key for p in content.problems]
    assert keys[0] == "not_a_number"


def test_odd_dates(changed: Callable[[Change], LogContent]) -> None:
    typed: list[tuple[Any, str, str]] = [
        (20260131, "not_a_date", "20260131 is not a date"),
        (-5, "not_a_date", "-5 is not a date"),
        (0, "not_a_date", "0 is not a date"),
        (2026, "date_far_off", "2026 counts as 1905-07-18"),
        (dt.date(1926, 1, 31), "date_far_off", "1926-01-31, which is outside the years 2000 to"),
        (dt.date(9998, 1, 31), "date_far_off", "9998-01-31, which is outside the years"),
        (dt.time(10, 30), "not_a_date", "0.4375 is not a date"),
        (True, "not_a_number", "TRUE is not a number"),
    ]

    def change(book: openpyxl.Workbook) -> None:
        for row, (value, _, _) in enumerate(typed, FIRST_ROW):
            cell = book["Trips"].cell(row, 3, value)
            cell.number_format = "General" if value == 2026 else "yyyy-mm-dd"
            for place in (4, 6, 7):
                book["Trips"].cell(row, place, 1)

    content = changed(change)
    for row, (_, key, words) in enumerate(typed, FIRST_ROW):
        problems = [p for p in said(content, "Trips", f"C{row}") if p.key != "no_rate"]
        assert [p.key.replace("not_a_number", "not_a_date") for p in problems] == [
            key.replace("not_a_number", "not_a_date")
        ]
        assert words in problems[0].message
    days = content.sheets["Trips"]["driven_on"]
    assert days.dropna().tolist() == [pd.Timestamp(1905, 7, 18), pd.Timestamp(1926, 1, 31)]


def test_a_day_number_and_a_time_of_day_are_dates(changed: Callable[[Change], LogContent]) -> None:
    evening = pd.Timestamp(2026, 1, 5, 18, 30)

    def change(book: openpyxl.Workbook) -> None:
        plain_number = book["Trips"].cell(7, 3, 46032)
        plain_number.number_format = "General"
        book["Expenses"].cell(7, 3, evening.to_pydatetime())

    content = changed(change)
    assert content.sheets["Trips"]["driven_on"][0] == pd.Timestamp(2026, 1, 10)
    assert content.sheets["Expenses"]["spent_on"][0] == evening
    assert content.inputs().rows["Expenses"][0]["spent_on"] == evening
    assert said(content, "Trips", "C7") == said(content, "Expenses", "C7") == []


def test_dates_counted_from_1904(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book.epoch = CALENDAR_MAC_1904
        bare = book["Trips"].cell(8, 3, 46032 - 1462)
        bare.number_format = "General"

    content = changed(change)
    assert content.sheets["Trips"]["driven_on"].tolist() == [pd.Timestamp(2026, 1, 10)] * 2


def test_money_that_a_program_took_for_something_else(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["Expenses"]["F7"] = dt.date(2026, 4, 3)
        book["Trips"]["G7"] = dt.time(4, 50)

    content = changed(change)
    assert "2026-04-03 is a date; write a number" in one_said(content, "Expenses", "F7").message
    assert "'04:50:00' is not a number" in one_said(content, "Trips", "G7").message


def test_numbers_in_place_of_names(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        sheet = book["Sourcing log"]
        sheet["E7"], sheet["E8"], sheet["E9"], sheet["E11"] = 1.0, 5, 123456789012345, True
        sheet["F8"] = dt.date(2026, 4, 3)

    content = changed(change)
    numbers = content.sheets["Log"]["item_no"].tolist()
    assert numbers == ["1", "5", "123456789012345", "P4", "TRUE"]
    problem = one_said(content, "Sourcing log", "F8")
    assert problem.key == "date_for_text"
    assert "Description: 2026-04-03 is a date or a time" in problem.message


def test_the_same_number_as_a_number_and_as_text(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        sheet = book["Sourcing log"]
        sheet["E7"], sheet["E8"] = "7", 7
        book["Lots"]["C7"] = 3
        sheet[cell_of("Log", "lot_no", 9)] = "3"
        sheet[cell_of("Log", "lot_no", 10)] = 3

    content = changed(change)
    assert one_said(content, "Sourcing log", "E8").key == "item_twice"
    problem = one_said(content, "Sourcing log", cell_of("Log", "lot_no", 9))
    assert problem.key == "no_lot"
    assert "'3' is a number on one sheet and text on the other (Lots!C7)" in problem.message
    assert said(content, "Sourcing log", cell_of("Log", "lot_no", 10)) == []


def test_texts_that_a_cell_cannot_hold(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["Sourcing log"]["F7"] = "two\tparts\nin lines"
        book["Sourcing log"]["F8"] = "be_x0007_ll"
        book["Sourcing log"]["F9"] = " \u00a0 "

    content = changed(change)
    assert content.sheets["Log"]["description"].tolist()[:3] == ["two\tparts\nin lines", "bell", ""]
    assert said(content, "Sourcing log", "F7") == []
    bell = one_said(content, "Sourcing log", "F8")
    assert bell.key == "control_character"
    assert "invisible character (U+0007)" in bell.message
    assert one_said(content, "Sourcing log", "F9").key == "only_spaces"


def test_a_text_longer_than_a_cell(full_logs: dict[str, Path], tmp_path: Path) -> None:
    target = tmp_path / "long.xlsx"
    with zipfile.ZipFile(full_logs["plain"]) as old, zipfile.ZipFile(target, "w") as new:
        for part in old.infolist():
            content = old.read(part).replace(b"<t>First of the lot</t>", b"<t>%b</t>" % (b"x" * 32768))
            new.writestr(part, content)
    content = load_log(target)
    problem = one_said(content, "Sourcing log", "F9")
    assert problem.key == "too_long"
    assert "is 32,768 characters long, and a cell holds 32,767" in problem.message
    assert len(problem.found) <= 40
    assert content.problems == [problem]


def test_formulas_in_inputs(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["Expenses"]["F7"] = "=10+2.5"
        book["Expenses"]["E20"] = "=1/3"

    content = changed(change)
    problem = one_said(content, "Expenses", "F7")
    assert problem.key == "not_calculated"
    assert "holds a formula that was never calculated" in problem.message
    assert "sheetfns recalc" in problem.message
    assert content.sheets["Expenses"]["sheet_row"].tolist() == [7, 20]
    assert any(p.sheet == "Money" and p.key == "not_calculated" for p in content.problems)


# ---- sheets that were changed --------------------------------------------------------------------


def test_added_and_moved_columns(full_logs: dict[str, Path], changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        sheet = book["Sourcing log"]
        sheet.insert_cols(6)
        sheet["F6"], sheet["F7"] = "Shelf", "A3"
        width = sheet.max_column
        for row in range(4, 30):
            first = sheet.cell(row, 1).value
            sheet.cell(row, width + 2, first)
            sheet.cell(row, 1).value = None
        sheet.cell(8, width + 3, "a remark")
        assert sheet.cell(6, width + 2).value == "Row check"
        price, paid = (LOG_LAYOUT.table("Log").position(key) + 2 for key in ("sale_price", "paid"))
        for row in range(6, 30):
            one, other = sheet.cell(row, price), sheet.cell(row, paid)
            one.value, other.value = other.value, one.value

    content = changed(change)
    expected = load_log(full_logs["plain"]).sheets["Log"]
    pd.testing.assert_frame_equal(content.sheets["Log"], expected)
    columns = len(LOG_LAYOUT.table("Log").columns)
    unnamed = f"column {column_letters(columns + 3)}, without a header"
    assert content.extra_columns == {"Log": ["Shelf", unnamed]}


def test_rows_above_the_headers_and_between_entries(
    full_logs: dict[str, Path], changed: Callable[[Change], LogContent]
) -> None:
    def change(book: openpyxl.Workbook) -> None:
        sheet = book["Sourcing log"]
        sheet.insert_rows(8, 3)
        sheet.insert_rows(1, 2)
        book["Settings"].insert_rows(9, 2)
        del book["Start"]

    content = changed(change)
    expected = load_log(full_logs["plain"])
    frame = content.sheets["Log"]
    assert frame["sheet_row"].tolist() == [9, 13, 14, 15, 16]
    typed = expected.sheets["Log"].drop(columns="sheet_row")
    pd.testing.assert_frame_equal(frame.drop(columns="sheet_row"), typed)
    assert content.inputs() == full_entries()


def test_rows_inserted_by_hand_in_a_form(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        for name, labels in (
            ("Shelf check", ("Sold price 2", "Price tag")),
            ("Listing desk", ("Keyword 3", "Weight of the item")),
        ):
            sheet = book[name]
            for label in labels:
                column = [row[0].value for row in sheet.iter_rows(max_col=1)]
                sheet.insert_rows(column.index(label) + 1)

    content = changed(change)
    assert {p.key for p in content.problems} <= {"not_calculated"}
    assert content.inputs() == full_entries()
    desk = content.forms["Desk"]
    assert (desk["keyword_2"], desk["keyword_3"], desk["item_weight"]) == ("word2", "word3", 1.1)


def test_a_label_of_a_form_that_is_missing(changed: Callable[[Change], LogContent]) -> None:
    row, _ = AddressMap(LOG_LAYOUT).form_cells["Shelf"]["price_tag"]

    def change(book: openpyxl.Workbook) -> None:
        book["Shelf check"].cell(row, 1, "What they ask")

    problem = one_said(changed(change), "Shelf check", "A5")
    assert problem.key == "missing_line"
    assert "these lines are missing: 'Price tag'" in problem.message


def test_cells_of_a_form_that_only_a_program_can_make(changed: Callable[[Change], LogContent]) -> None:
    shelf, desk = (AddressMap(LOG_LAYOUT).form_cells[key] for key in ("Shelf", "Desk"))

    def change(book: openpyxl.Workbook) -> None:
        book["Shelf check"].cell(shelf["sold_2"][0], 2, "#REF!")
        book["Shelf check"].cell(shelf["sold_3"][0], 2, dt.date(2026, 4, 3))
        book["Listing desk"].cell(desk["keyword_4"][0], 2, 1960)
        book["Listing desk"].cell(desk["title"][0], 2, dt.date(2026, 4, 3))

    content = changed(change)
    error = one_said(content, "Shelf check", f"B{shelf['sold_2'][0]}")
    assert error.message == "Sold price 2: shows #REF!; enter the value again"
    date = one_said(content, "Shelf check", f"B{shelf['sold_3'][0]}")
    assert "2026-04-03 is a date; write a number" in date.message
    assert one_said(content, "Listing desk", f"B{desk['title'][0]}").key == "date_for_text"
    assert content.forms["Shelf"]["sold_2"] is None
    assert content.forms["Desk"]["keyword_4"] == "1960"
    assert content.inputs().forms["Shelf"]["sold_2"] == "#REF!"


def test_entries_below_the_ready_rows(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        for row in (24, 26):
            for key, value in (("item_no", f"B{row}"), ("paid", 3), ("bought_on", dt.date(2026, 1, 2))):
                book["Sourcing log"][cell_of("Log", key, row)] = value
        book["Settings"].cell(below_channels, 1, "Another site")

    channels = LOG_LAYOUT.block("Channel")
    below_channels = AddressMap(LOG_LAYOUT).block_rows["Channel"] + channels.rows
    content = changed(change)
    problem = one_said(content, "Sourcing log", "E24")
    assert problem.key == "below_ready_rows"
    assert "2 rows, from row 24 on, are below the last ready row, 22" in problem.message
    assert "'sheetfns upgrade OLD.xlsx --out NEW.xlsx --rows N'" in problem.message
    assert content.sheets["Log"]["sheet_row"].tolist()[-2:] == [24, 26]
    assert content.sheets["Log"]["item_no"].tolist()[-2:] == ["B24", "B26"]
    channel = one_said(content, "Settings", f"A{below_channels}")
    assert channel.key == "below_ready_rows"
    assert f"'{channels.title}': row {below_channels} is below the last" in channel.message
    assert channel.message.endswith("Move it into the ready rows")
    assert content.blocks["Channel"]["name"].tolist()[-1] == "Another site"


def test_entries_above_the_ready_rows(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        name = book.defined_names["Trips_driven_on"]
        name.value = name.value.replace("$6:", "$8:")

    problem = one_said(changed(change), "Trips", "C7")
    assert problem.key == "above_ready_rows"
    assert "row 7 is above the first ready row, 8" in problem.message


def test_missing_names_of_ready_rows(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        del book.defined_names["Log_item_no"]

    content = changed(change)
    problem = one_said(content, "Sourcing log", "A6")
    assert problem.key == "ready_rows_unknown"
    assert "Log_item_no is missing" in problem.message
    assert "'sheetfns upgrade OLD.xlsx --out NEW.xlsx'" in problem.message
    assert content.ready_rows["Log"] == FEW_ROWS


def test_wrong_words_on_the_first_sheet(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        for row in book["Start"].iter_rows():
            for cell in row:
                if str(cell.value).startswith("Plain:"):
                    cell.value = "Functions: or so"

    content = changed(change)
    assert content.edition == "plain"
    assert one_said(content, "Sourcing log", "A1").key == "edition_unclear"


def refusal_of(change: Change, changed: Callable[[Change], LogContent]) -> str:
    with pytest.raises(LogFileError) as caught:
        changed(change)
    return str(caught.value)


def test_missing_sheet(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["Lots"].title = "Boxes"

    message = refusal_of(change, changed)
    assert "changed.xlsx: there is no sheet 'Lots' (found: Home, Start, Settings" in message
    assert "Boxes" in message
    assert "restore the sheet's name" in message


def test_sheet_names_whose_capitals_changed(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["Lots"].title = "LOTS "

    assert len(changed(change).sheets["Lots"]) == 1


def test_missing_column(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["Sourcing log"][cell_of("Log", "sale_price", 6)] = "Price got"

    message = refusal_of(change, changed)
    assert "changed.xlsx, sheet Sourcing log: row 6 has no column 'Sale price'" in message
    assert "unknown headers: 'Price got'" in message
    assert message.endswith("restore the column's header")


def test_missing_result_column(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["Sourcing log"][cell_of("Log", "fee", 6)] = None

    content = changed(change)
    problem = one_said(content, "Sourcing log", "A6")
    assert problem.key == "missing_column"
    assert "'Fee' is missing" in problem.message
    assert content.shown["Log"]["fee"].isna().all()


def test_header_twice(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["Trips"]["P6"] = " miles"

    message = refusal_of(change, changed)
    assert "the header 'Miles' is duplicated in row 6, in columns G and P" in message


def test_no_headers(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["Expenses"].delete_rows(1, 6)

    message = refusal_of(change, changed)
    assert "sheet Expenses: no headers in the first 20 rows (found: " in message
    assert "restore the headers in row 6" in message


# ---- Settings ------------------------------------------------------------------------------------


def settings_row(label: str, book: openpyxl.Workbook) -> int:
    column = [row[0].value for row in book["Settings"].iter_rows(max_col=1)]
    return column.index(label) + 1


def test_settings_that_are_wrong(changed: Callable[[Change], LogContent]) -> None:
    rows: dict[str, int] = {}
    typed = {
        "As of": "31.3.2026",
        "First month of this log": dt.date(2026, 1, 15),
        "Opening cash": "$250",
        "Usual packaging per parcel": -1,
        "Weight unit": "stone",
        "Buying plan maximizes": "Cash",
        "Target return on cost": -0.5,
        "A sale counts half after": 30.5,
        "Tax year": 2026.5,
        "Stale after": True,
    }

    def change(book: openpyxl.Workbook) -> None:
        for label, value in typed.items():
            rows[label] = settings_row(label, book)
            book["Settings"].cell(rows[label], 2, value)

    content = changed(change)
    words = {
        "As of": ("not_a_date", "write 2026-03-31"),
        "First month of this log": ("not_first_day", "enter 2026-01-01"),
        "Opening cash": ("not_a_number", "write 250"),
        "Usual packaging per parcel": ("negative", "-1 is below 0"),
        "Weight unit": ("unknown_choice", "write one of lb, kg"),
        "Buying plan maximizes": ("unknown_choice", "write one of Profit, Profit per day"),
        "Target return on cost": ("negative", "-0.5 is below 0"),
        "A sale counts half after": ("not_whole", "30.5 is not a whole number"),
        "Tax year": ("not_whole", "2026.5 is not a whole number"),
        "Stale after": ("not_a_number", "TRUE is not a number"),
    }
    for label, (key, message) in words.items():
        problem = one_said(content, "Settings", f"B{rows[label]}")
        assert problem.key == key
        assert problem.message.startswith(f"{label}: ")
        assert message in problem.message
    assert content.settings["Tax_year"] is None
    assert content.inputs().settings["Opening_cash"] == "$250"


def test_settings_that_are_missing(changed: Callable[[Change], LogContent]) -> None:
    rows = {}

    def change(book: openpyxl.Workbook) -> None:
        rows["packaging"] = settings_row("Usual packaging per parcel", book)
        book["Settings"].cell(rows["packaging"], 2).value = None
        book["Settings"].cell(settings_row("Shop name", book), 1).value = None

    content = changed(change)
    blank = one_said(content, "Settings", f"B{rows['packaging']}")
    assert (blank.key, blank.found) == ("blank", "blank")
    assert content.settings["Usual_packaging"] is None
    missing = one_said(content, "Settings", "A5")
    assert missing.key == "missing_setting"
    assert "'Shop name' is missing in column A" in missing.message


def test_setting_twice(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["Settings"].cell(settings_row("Shop name", book), 1, "Currency")

    first, second = (AddressMap(LOG_LAYOUT).setting_rows[name] for name in ("Shop_name", "Currency"))
    assert f"'Currency' is duplicated, in rows {first} and {second}" in refusal_of(change, changed)


def test_missing_small_table(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["Settings"].cell(settings_row("Partners", book), 1, "People")

    assert "the table 'Partners' is missing" in refusal_of(change, changed)


def test_small_tables_that_are_wrong(tmp_path: Path) -> None:
    blocks = BLOCKS | {
        "Partner": [{"name": "Ada", "share": 0.6}, {"name": "ada", "share": 0.3}, {"share": 0.05}],
        "Channel": [
            {"name": "Booth", "rate": 11.5},
            {"name": "First site", "rate": "11.5%"},
            {"name": "Band", "rate": 0.1, "band_limit": 50},
            {"name": "All", "rate": 0.9, "tax_rate": 0.1, "ad_rate": 0.02},
            {"name": "Below", "rate": -0.1},
        ],
        "Heading": [{"heading": "Supplies", "from_log": "boxes", "tax_line": "Paper"}, {"heading": "Other"}],
        "Mileage": [
            {"from": dt.date(2026, 7, 1), "until": dt.date(2026, 12, 31), "rate": 0.7},
            {"from": dt.date(2026, 1, 1), "until": dt.date(2026, 6, 30), "rate": 0.7},
            {"from": dt.date(2027, 3, 1), "until": dt.date(2027, 1, 1)},
        ],
    }
    content = load_log(quick_log(tmp_path / "b.xlsx", inputs=Inputs(SETTINGS, blocks)))
    first = {key: AddressMap(LOG_LAYOUT).block_rows[key] for key in blocks}
    wanted = {
        ("Partner", 1, "A"): ("name_twice", "'ada' is in row"),
        ("Partner", 2, "A"): ("no_name", "Partner is blank"),
        ("Partner", 0, "B"): ("shares", "add up to 95%"),
        ("Channel", 0, "B"): ("over_limit", "11.5 is over 100%; write a percentage as 11.5%"),
        ("Channel", 1, "B"): ("not_a_number", "write 0.115"),
        ("Channel", 2, "F"): ("band", "channel 'Band' has a band limit"),
        ("Channel", 3, "B"): ("whole_sale", "channel 'All' add up to 101.00% of a sale"),
        ("Channel", 4, "B"): ("negative", "-0.1 is below 0"),
        ("Heading", 0, "C"): ("unknown_choice", "'boxes' is not on the list; enter one of 'fees'"),
        ("Heading", 0, "B"): ("unknown_choice", "'Paper' is not on the list; enter one of 'Adver"),
        ("Heading", 1, "B"): ("no_tax_line", "Tax line of 'Other' is blank, so no line"),
        ("Heading", -1, "C"): ("word_missing", "(there are 'Supplies', 'Other')"),
        ("Mileage", 1, "A"): ("not_in_order", "2026-01-01 is not after 2026-12-31"),
        ("Mileage", 2, "B"): ("until_early", "2027-01-01 is before 2027-03-01"),
        ("Mileage", 2, "C"): ("not_recorded", "Rate per mile is blank"),
    }
    found = {p.cell: p for p in content.problems}
    assert len(content.problems) == len(wanted)
    for (block, row, letter), (key, words) in wanted.items():
        problem = found[f"{letter}{first[block] + row}"]
        assert problem.key == key
        assert words in problem.message
    assert content.inputs().blocks == blocks


def _row_of(block: str, key: str, value: Any, row: int = 1) -> Callable[[Inputs], None]:
    def change(inputs: Inputs) -> None:
        inputs.blocks[block][row][key] = value

    return change


def _setting(name: str, value: Any) -> Callable[[Inputs], None]:
    return lambda inputs: inputs.settings.update({name: value})


FIRST_PARTNER = AddressMap(LOG_LAYOUT).block_rows["Partner"]


def _heading_without_name(inputs: Inputs) -> None:
    del inputs.blocks["Heading"][2]["heading"]


def _twice_a_year(inputs: Inputs) -> None:
    inputs.blocks["Taxes"].append({"year": 2026, "partner": "ADA", "paid": 3})


def _overlapping(inputs: Inputs) -> None:
    inputs.blocks["TaxFigure"].append(inputs.blocks["TaxFigure"][0] | {"value": 5})


def _row_with(block: str, **row: Any) -> Callable[[Inputs], None]:
    return lambda inputs: inputs.blocks[block].append(row)


def _nameless_twice(inputs: Inputs) -> None:
    """Rows without a name are no figure, so that none is duplicated."""
    nameless = {"from": dt.date(2026, 1, 1), "until": dt.date(2026, 12, 31), "value": 5}
    inputs.blocks["TaxFigure"] += [dict(nameless), dict(nameless)]


def _unused_line_that_is_none(inputs: Inputs) -> None:
    inputs.settings["Year_rules"] = "Receipts and payments"
    _row_of("Heading", "tax_line", "Paper")(inputs)


def _due_twice(inputs: Inputs) -> None:
    inputs.blocks["Due"].append(dict(inputs.blocks["Due"][0]))


MISTAKES_ON_SETTINGS: dict[str, tuple[Callable[[Inputs], None], str, dict[str, str]]] = {
    "partner twice": (
        _row_of("Partner", "name", "ADA"),
        "twice",
        {"name_twice": f"'ADA' is in row {FIRST_PARTNER} and again in row {FIRST_PARTNER + 1};",
         "no_source": "'Bo' is not", "no_partner": "'Bo' is not", "no_taker": "'Bo' is not",
         "no_owner": "'Bo' is not"},
    ),
    "channel twice": (
        _row_of("Channel", "name", "booth"),
        "twice",
        {"name_twice": "only the terms of the first count", "no_channel": "'First site' is not on",
         "unknown_choice": "Channel: 'First site' is not on Settings"},
    ),
    "heading twice": (
        _row_of("Heading", "heading", "supplies"),
        "twice",
        {"name_twice": "its expenses would count twice; delete one", "no_heading": "'Other' is"},
    ),
    "reserved name": (
        _row_of("Partner", "name", "business"),
        "owner_names",
        {"reserved_name": "'business' means something else under Paid from", "no_source": "'Bo'",
         "no_partner": "'Bo' is not on Settings", "no_taker": "'Bo' is not on Settings",
         "no_owner": "Whose: 'Bo' is not on Settings"},
    ),
    "word twice": (
        _row_of("Heading", "from_log", "Fees"),
        "words",
        {"word_twice": "'fees' is beside 'Selling' and 'Other', so it counts twice"},
    ),
    "word missing": (
        lambda inputs: inputs.blocks["Heading"][2].pop("from_log"),
        "words",
        {"word_missing": "no named heading has 'fees' beside it, so Year end leaves that out"},
    ),
    "heading without a name": (
        _heading_without_name,
        "words",
        {"no_name": "Year end leaves such a row out, and 'fees' with it; enter its name",
         "word_missing": "(there are 'Supplies', 'Other', 'Labels', 'Car')"},
    ),
    "minimum over maximum": (
        _row_of("Channel", "minimum", 50.5),
        "minimum",
        {"minimum_over_maximum": "Minimum fee: 50.50 of channel 'First site' is over its maximum fee, 50.00"},
    ),
    "rate as text": (
        _row_of("Channel", "ad_rate", "2%"), "terms", {"not_a_number": "Ad fee rate: '2%' is not"}
    ),
    "fixed fee below 0": (
        _row_of("Channel", "per_order", -0.4), "terms", {"negative": "Per order: -0.4 is below 0"}
    ),
    "rate above 100%": (
        _row_of("Channel", "rate_above", 2.5), "terms", {"over_limit": "write a percentage as 2.5%"}
    ),
    "band limit alone": (
        _row_of("Channel", "rate_above", None), "band", {"band": "'First site' has a band limit"}
    ),
    "whole sale": (
        _row_of("Channel", "rate", 0.95), "rate", {"whole_sale": "add up to 105.60% of a sale"}
    ),
    "year before 2000": (
        _setting("Tax_year", 26),
        "year",
        {"year_far_off": "Tax year: 26 is not a year from 2000 to 2199; enter it in full"},
    ),
    "year after 2199": (_setting("Tax_year", 2200), "year", {"year_far_off": "2200 is not a year"}),
    "month in its middle": (
        _setting("First_month", dt.date(2026, 1, 2)),
        "first",
        {"not_first_day": "enter 2026-01-01"},
    ),
    "begins after its end": (
        _setting("First_month", dt.date(2026, 4, 1)),
        "order",
        {"first_after_as_of": "2026-04-01 is after the as-of date, 2026-03-31", "before_first": "is before"},
    ),
    "no packaging": (
        _setting("Usual_packaging", None), "numbers", {"blank": "write it, or 0 if there is none"}
    ),
    "shares": (_row_of("Partner", "share", 0.5), "shares", {"shares": "add up to 110%"}),
    "target below 0": (
        _setting("Target_profit", -1),
        "targets",
        {"negative": "Target profit of an item: -1 is below 0"},
    ),
    "cash below 0": (
        _setting("Trip_cash", -1), "targets", {"negative": "Cash for buying: -1 is below 0"}
    ),
    "a sale counts half at once": (
        _setting("Comp_half_life", 0), "targets", {"negative": "A sale counts half after: 0 is below 1"}
    ),
    "low price over the middle": (
        _setting("Comp_low_share", 0.6), "targets", {"over_limit": "0.6 is over 50%"}
    ),
    "covers more than all": (
        _setting("Cover_share", 90), "targets", {"over_limit": "90 is over 100%; write a percentage as"}
    ),
    "filling as a number": (
        _setting("Filling_rate", 10), "targets", {"over_limit": "Filler and tape per parcel: 10 is over 100"}
    ),
    "tax as a number": (
        _setting("Buying_tax_rate", 7.25), "targets", {"over_limit": "write a percentage as 7.25%"}
    ),
    "no half-life": (
        # A blank is both no number and less than a day.
        _setting("Comp_half_life", "90 days"), "numbers targets", {"not_a_number": "'90 days' is"}
    ),
    "condition without worth": (
        _row_of("Condition", "worth", None), "worth", {"no_worth": "Worth of 'Good' is blank or 0"}
    ),
    "condition worth nothing": (
        _row_of("Condition", "worth", 0), "worth", {"no_worth": "enter a share such as 75%"}
    ),
    "worth as text": (
        _row_of("Condition", "worth", "most"), "worth", {"not_a_number": "Worth: 'most' is not a"}
    ),
    "worth as a number": (
        _row_of("Condition", "worth", 80), "worth", {"over_limit": "write a percentage as 80%"}
    ),
    "condition twice": (
        _row_of("Condition", "name", "new"),
        "twice",
        {"name_twice": "only the worth of the first counts", "no_condition": "'Good' is not on"},
    ),
    "box twice": (
        _row_of("Box", "name", "SMALL"), "twice", {"name_twice": "only the sides of the first count"}
    ),
    "service twice": (
        _row_of("Service", "name", "near"), "twice", {"name_twice": "only the prices of the first"}
    ),
    "rule on the same day": (
        _row_of("Rule", "from", dt.date(2026, 1, 1)),
        "rules",
        {"not_in_order": "2026-01-01 is not after 2026-01-01 above it; sort the rows of the"},
    ),
    "rule apart": (
        lambda inputs: inputs.blocks["Rule"].append({"name": "by size", "from": dt.date(2026, 3, 9)}),
        "rules",
        {"not_in_order": "'by size' is not next to row"},
    ),
    "rule without a day": (
        _row_of("Rule", "from", None), "rules", {"not_recorded": "the row counts only with a date"}
    ),
    "only row of a rule without a day": (
        lambda inputs: inputs.blocks["Rule"][2].pop("from"),
        "rules",
        {"not_recorded": "the row counts only with a date"},
    ),
    "divisor of nothing": (
        _row_of("Rule", "divisor", 0), "divisor", {"no_divisor": "Divisor: 0 is not above 0"}
    ),
    "divisor below nothing": (
        _row_of("Rule", "divisor", -139), "divisor", {"no_divisor": "Divisor: -139 is not above 0"}
    ),
    "rule in other units": (
        _row_of("Rule", "units", "lb and in"),
        "units",
        {"other_units": "Units: 'lb and in' are not those of this log, kg and cm"},
    ),
    "service with an unknown rule": (
        _row_of("Service", "rule", "By volume"),
        "services",
        {"unknown_choice": "Parcel rule: 'By volume' is not on the parcel rules; enter one of"},
    ),
    "weights that fall": (
        _row_of("Postage", "up_to", 3),
        "postage",
        {"not_in_order": "Up to weight: 2 is not above 3 in the rows before it; sort the rows by weight"},
    ),
    "weight twice": (
        _row_of("Postage", "up_to", 0.5), "postage", {"not_in_order": "0.5 is not above 0.5"}
    ),
    "prices without a weight": (
        _row_of("Postage", "up_to", None), "postage", {"not_recorded": "Up to weight is blank; the row counts only "
                                                                       "with a weight"}
    ),
    "pay below 0": (
        _setting("Pay_target", -450), "targets", {"negative": "Monthly pay target: -450 is below 0"}
    ),
    "fixed costs below 0": (
        _setting("Fixed_costs", -5), "targets", {"negative": "Monthly fixed costs: -5 is below 0"}
    ),
    "a limit in words": (
        _setting("Weekly_limit", "as much as I can"), "numbers", {"not_a_number": "Weekly buying limit"}
    ),
    "averages over nothing": (
        _setting("Average_days", 0), "targets", {"negative": "Averages over the last: 0 is below 1"}
    ),
    "stale at once": (
        _setting("Stale_days", 0), "targets", {"negative": "Stale after: 0 is below 1"}
    ),
    "few runs": (
        _setting("Forecast_paths", 50), "targets", {"negative": "Simulation runs: 50 is below"}
    ),
    "many runs": (
        _setting("Forecast_paths", 30_000), "targets", {"over_limit": "30000 is over 20"}
    ),
    "ages that begin later": (
        _row_of("Age", "from_day", 5, row=0), "ages", {"not_from_0": "From day: 5 is the first; enter 0"}
    ),
    "ages that fall": (
        _row_of("Age", "from_day", 500), "ages", {"not_in_order": "90 is not above 500"}
    ),
    "gap in the ages": (
        lambda inputs: inputs.blocks["Age"].insert(1, {}),
        "ages",
        {"not_in_order": "From day: the row above 30 is blank; close the gap"},
    ),
    "steps that fall": (
        _row_of("Markdown", "from_day", 14), "steps", {"not_in_order": "14 is not above 14"}
    ),
    "step without a share": (
        _row_of("Markdown", "share", None), "steps", {"no_share": "Markdown is blank; enter a share"}
    ),
    "share without a step": (
        _row_of("Markdown", "from_day", None), "steps", {"not_recorded": "From day is blank; the row"}
    ),
    "share as a number": (
        _row_of("Markdown", "share", 20), "steps", {"over_limit": "write a percentage as 20%"}
    ),
    "heading without a tax line": (
        _row_of("Heading", "tax_line", None), "tax_lines",
        {"no_tax_line": "Tax line of 'Other' is blank, so no line of Year end counts"},
    ),
    "a tax line that is none": (
        _row_of("Heading", "tax_line", "Paper"), "tax_lines",
        {"unknown_choice": "Tax line: 'Paper' is not on the list; enter one of 'Advertising'"},
    ),
    "a tax line that is none where lines do not count": (
        _unused_line_that_is_none, "tax_lines", {"unknown_choice": "Tax line: 'Paper' is not on"}
    ),
    "tax year twice": (
        _row_of("ByYear", "year", 2025), "by_year", {"year_twice": "Tax year: 2025 is in row"}
    ),
    "tax year blank": (
        _row_of("ByYear", "year", None), "by_year", {"no_year": "Tax year is blank; the row counts"}
    ),
    "tax year in words": (
        _row_of("ByYear", "year", "last year"), "by_year", {"not_a_number": "'last year' is not a"}
    ),
    "tax year cut short": (
        _row_of("ByYear", "year", 26), "by_year",
        {"year_far_off": "Tax year: 26 is not a year from 2000 to 2199; enter it in full"},
    ),
    "tax year too long": (
        _row_of("Taxes", "year", 20_226), "by_year", {"year_far_off": "Tax year: 20226 is not a"}
    ),
    "tax year below 0": (
        _row_of("ByYear", "year", -2026), "by_year", {"negative": "Tax year: -2026 is below 0"}
    ),
    "note of no year": (_row_with("ByYear", note="?"), "by_year", {"no_year": "Tax year is blank"}),
    "taxes of a stranger": (
        _row_of("Taxes", "partner", "Cy"), "by_year", {"unknown_choice": "Partner: 'Cy' is not on"}
    ),
    "taxes of nobody": (
        _row_of("Taxes", "partner", None), "by_year", {"no_name": "Partner is blank; the row counts"}
    ),
    "taxes of no year": (
        _row_of("Taxes", "year", None), "by_year", {"no_year": "Tax year is blank; the row counts"}
    ),
    "taxes twice": (
        _twice_a_year, "by_year", {"year_twice": "already for 'ADA'; put both into one row"}
    ),
    "report of a stranger": (
        _row_of("Reported", "channel", "Fair"), "by_year", {"unknown_choice": "Channel: 'Fair' is"}
    ),
    "report of no year": (
        _row_of("Reported", "year", None), "by_year tax_figures", {"no_year": "Tax year is blank"}
    ),
    "report of nobody": (
        _row_with("Reported", gross=4), "tax_figures",
        {"no_name": "Channel is blank; the row counts only with one of Settings",
         "no_year": "Tax year is blank; the row counts only for a year"},
    ),
    "report without an amount": (
        _row_of("Reported", "gross", None), "tax_figures", {"not_recorded": "Reported gross is blank"}
    ),
    "report below 0": (
        _row_of("Reported", "gross", -5), "tax_figures", {"negative": "Reported gross: -5 is below"}
    ),
    "tax rate over 100%": (
        _row_of("Taxes", "rate", 12), "tax_figures", {"over_limit": "write a percentage as 12%"}
    ),
    "wages in words": (
        _row_of("Taxes", "wages", "none"), "tax_figures", {"not_a_number": "'none' is not a number"}
    ),
    "13 months": (
        _row_of("ByYear", "months", 13), "tax_figures", {"over_limit": "Months of use: 13 is over 12"}
    ),
    "tax figure without a name": (
        _row_of("TaxFigure", "name", None), "tax_figures", {"not_recorded": "Figure is blank; a tax"}
    ),
    "tax figure without a value": (
        _row_of("TaxFigure", "value", None), "tax_figures", {"not_recorded": "Value is blank; a tax"}
    ),
    "tax figure of no day": (
        _row_of("TaxFigure", "from", None), "tax_figures", {"not_recorded": "From is blank; a tax"}
    ),
    "tax figure without an end": (
        _row_of("TaxFigure", "until", None), "tax_figures", {"not_recorded": "Until is blank; a tax"}
    ),
    "tax figure below 0": (
        _row_of("TaxFigure", "value", -4), "tax_figures", {"negative": "Value: -4 is below 0"}
    ),
    "source of no tax figure": (
        _row_with("TaxFigure", source="a form"), "tax_figures",
        {"not_recorded": "Figure is blank; a tax figure counts only with its word, days and value"},
    ),
    "tax figures of the same days without names": (
        _nameless_twice, "tax_figures", {"not_recorded": "Figure is blank; a tax figure counts"}
    ),
    "tax figure that ends before it begins": (
        _row_of("TaxFigure", "until", dt.date(2025, 1, 1)), "tax_figures",
        {"until_early": "Until: 2025-01-01 is before 2026-01-01; swap them"},
    ),
    "tax figure twice": (
        _overlapping, "", {"figure_twice": "'Wage base' has a figure for 2026-01-01 in row"}
    ),
    "due date blank": (
        _row_of("Due", "day_3", None, row=0), "tax_figures",
        {"not_recorded": "Payment 3 is blank; enter the day by which it is due"},
    ),
    "source of no due dates": (
        _row_with("Due", source="a form"), "tax_figures",
        {"no_year": "Tax year is blank; the row", "not_recorded": "Payment 1 is blank; enter the"},
    ),
    "due dates twice": (
        _due_twice, "by_year", {"year_twice": "Tax year: 2026 is in row"}
    ),
    "due dates of no year": (
        _row_of("Due", "year", None, row=0), "tax_figures", {"no_year": "Tax year is blank; the row"}
    ),
    "gap in the weights": (
        lambda inputs: inputs.blocks["Postage"].insert(2, {}),
        "postage",
        {"not_in_order": "Up to weight: the row above 2 is blank; close the gap"},
    ),
}  # fmt: skip
ALONE = {"partner twice", "channel twice", "heading twice", "reserved name", "condition twice"}
"""Mistakes after which a name that others use is gone."""


def touched(change: Callable[[Inputs], None]) -> set[str]:
    """The settings and small tables in which a mistake stands."""
    before, after = full_entries(), full_entries()
    change(after)
    parts = ((before.settings, after.settings), (before.blocks, after.blocks))
    return {key for one, other in parts for key in other if one[key] != other[key]}


def groups_that_tell_apart() -> list[tuple[str, ...]]:
    """Mistakes that may stand in one log: no two in one table, by one check or by one key.

    So each check that fails and each key that is said belongs to one of them.
    """
    groups: list[tuple[list[str], set[str]]] = []
    for name, (change, checks, said_by_reader) in MISTAKES_ON_SETTINGS.items():
        marks = {f"{check} is counted" for check in checks.split()} | said_by_reader.keys()
        marks |= touched(change)
        if name in ALONE:
            groups.append(([name], {"everything"}))
            continue
        for names, taken in groups:
            if not taken & (marks | {"everything"}):
                names.append(name)
                taken.update(marks)
                break
        else:
            groups.append(([name], marks))
    return [tuple(names) for names, _ in groups]


@pytest.mark.parametrize("names", groups_that_tell_apart(), ids=", ".join)
def test_settings_and_sheet_checks_say_the_same(names: tuple[str, ...], tmp_path: Path) -> None:
    inputs = full_entries()
    for name in names:
        MISTAKES_ON_SETTINGS[name][0](inputs)
    content = load_log(quick_log(tmp_path / "s.xlsx", inputs=inputs))
    # Errors that follow are said in one problem at the end, and tested below.
    typed = [p for p in content.problems if p.key != "errors_follow"]
    wanted = {key: words for name in names for key, words in MISTAKES_ON_SETTINGS[name][2].items()}
    assert {p.key for p in typed} == wanted.keys()
    for key, words in wanted.items():
        assert any(words in p.message for p in typed if p.key == key), key
    checks = content.shown["Data checks"]
    failing = checks[(checks["sheet"] == "Settings") & (checks["count"] != 0)]
    provoked = {check for name in names for check in MISTAKES_ON_SETTINGS[name][1].split()}
    assert set(failing["key"]) == {f"Settings_{key}" for key in provoked}
    lines = {line["key"]: line for line in checks.to_dict("records")}
    compared = compare_settings(lines, content)
    assert compared.compared >= 14  # of 24; the others look at a cell that cannot be read
    assert not compared.differences


def test_a_check_of_settings_that_python_judges_otherwise_is_a_difference(tmp_path: Path) -> None:
    inputs = full_entries()
    MISTAKES_ON_SETTINGS["whole sale"][0](inputs)
    content = load_log(quick_log(tmp_path / "s.xlsx", inputs=inputs))
    lines = {line["key"]: line for line in content.shown["Data checks"].to_dict("records")}
    content.failing.symmetric_difference_update({"Settings_rate", "Settings_band"})
    found = compare_settings(lines, content).differences
    assert {(one.sheet, one.column, one.shown, one.worked_out) for one in found} == {
        ("Data checks", "Settings: a channel's fee and ad rates take the whole sale", "fix this", "OK"),
        ("Data checks", "Settings: a channel has a band limit and no rate above it", "OK", "fix this"),
    }


def test_ages_that_begin_in_the_second_row_have_a_gap(tmp_path: Path) -> None:
    inputs = full_entries()
    inputs.blocks["Age"].insert(0, {})
    content = load_log(quick_log(tmp_path / "s.xlsx", inputs=inputs))
    assert [p.message for p in content.problems if p.key == "not_in_order"] == [
        "From day: the row above 0 is blank; close the gap, or nothing below it is found"
    ]
    checks = content.shown["Data checks"].set_index("key")["result"]
    assert checks["Settings_ages"] == "fix this"


def test_every_mistake_on_settings_is_in_a_group() -> None:
    grouped = [name for names in groups_that_tell_apart() for name in names]
    assert sorted(grouped) == sorted(MISTAKES_ON_SETTINGS)


def test_every_settings_check_is_provoked() -> None:
    checks = {check.key for check in LOG_LAYOUT.checks if check.sheet == "Settings" and not check.watches}
    provoked = {key for _, keys, _ in MISTAKES_ON_SETTINGS.values() for key in keys.split()}
    assert {f"Settings_{key}" for key in provoked} == checks


def test_half_a_tax_year_is_said_in_every_table(tmp_path: Path) -> None:
    inputs = full_entries()
    blocks = ("ByYear", "Taxes", "Reported", "Due")
    for block in blocks:
        inputs.blocks[block][-1]["year"] = 2026.5
    content = load_log(quick_log(tmp_path / "s.xlsx", inputs=inputs))
    found = {p.cell: (p.key, p.message) for p in content.problems if p.key != "errors_follow"}
    message = "Tax year: 2026.5 is not a whole number"
    for block in blocks:
        cell = f"A{AddressMap(LOG_LAYOUT).block_rows[block] + len(inputs.blocks[block]) - 1}"
        key, words = found.pop(cell)
        assert key == "not_whole"
        assert message in words
    assert found == {}


def test_headings_need_no_tax_line_where_the_rules_know_none(tmp_path: Path) -> None:
    inputs = full_entries()
    inputs.settings["Year_rules"] = "Receipts and payments"
    for row in inputs.blocks["Heading"]:
        del row["tax_line"]
    content = load_log(quick_log(tmp_path / "s.xlsx", inputs=inputs))
    assert content.problems == []
    checks = content.shown["Data checks"].set_index("key")
    assert checks.loc[checks["sheet"] == "Settings", "count"].eq(0).all()


def test_a_tax_figure_twice_is_said_on_year_end(tmp_path: Path) -> None:
    inputs = full_entries()
    _overlapping(inputs)
    checks = load_log(quick_log(tmp_path / "s.xlsx", inputs=inputs)).shown["Data checks"]
    failing = checks[checks["sheet"].isin(["Settings", "Year end"]) & (checks["count"] != 0)]
    assert failing[["key", "count"]].to_numpy().tolist() == [["Year_figures", 1]]


PATTERNS = {
    "A*": "*", "what?": "?", "~1": "~", "<5": "<", ">x": ">", "=7": "=", "<a*?": "* and < and ?",
}  # fmt: skip


@pytest.mark.parametrize("names", [[*PATTERNS][i : i + 2] for i in range(0, len(PATTERNS), 2)])
def test_names_that_a_spreadsheet_takes_as_patterns(names: list[str], tmp_path: Path) -> None:
    inputs = full_entries()
    bought_on = dt.date(2026, 1, 2)
    for place, name in enumerate(names):
        inputs.rows["Log"][3 + place]["item_no"] = name
        lot = {"lot_no": name, "bought_on": bought_on, "paid": 1, "found_at": name}
        inputs.rows["Lots"].append(lot)
        inputs.blocks["Partner"].append({"name": name, "share": 0})
        inputs.blocks["Channel"].append({"name": name})
        inputs.blocks["Heading"].append({"heading": name, "tax_line": "Supplies"})
        inputs.rows["Log"][place]["found_at"] = name
    content = load_log(quick_log(tmp_path / "p.xlsx", inputs=inputs))
    found = [p for p in content.problems if p.key == "read_as_pattern"]
    for name in names:
        of_name = [p for p in found if f"'{name}' contains {PATTERNS[name]}, which" in p.message]
        assert sorted((p.sheet, p.message.partition(":")[0]) for p in of_name) == [
            ("Lots", "Found at"), ("Lots", "Lot no."), ("Settings", "Channel"),
            ("Settings", "Heading"), ("Settings", "Partner"), ("Sourcing log", "Found at"),
            ("Sourcing log", "Item no."),
        ]  # fmt: skip
    assert len(found) == 7 * len(names)


def test_names_that_are_no_patterns(tmp_path: Path) -> None:
    inputs = full_entries()
    for name in ("a<b", "x=1", "#4 (old)", "A-1/2"):
        inputs.blocks["Heading"].append({"heading": name, "tax_line": "Supplies"})
        inputs.rows["Lots"][0]["found_at"] = inputs.rows["Log"][0]["found_at"] = name
    assert load_log(quick_log(tmp_path / "p.xlsx", inputs=inputs)).problems == []


def test_words_beside_headings_have_the_capitals_of_the_list(tmp_path: Path) -> None:
    inputs = full_entries()
    inputs.blocks["Heading"][0]["from_log"] = "PACKAGING"
    content = load_log(quick_log(tmp_path / "p.xlsx", inputs=inputs))
    assert content.problems == []
    assert content.blocks["Heading"]["from_log"][0] == "packaging"


def test_a_blank_at_the_end_of_a_name_on_settings(tmp_path: Path) -> None:
    inputs = full_entries()
    inputs.blocks["Channel"][0]["name"] = "Booth "
    content = load_log(quick_log(tmp_path / "b.xlsx", inputs=inputs))
    problem = one_said(content, "Sourcing log", cell_of("Log", "channel", 9))
    assert problem.key == "no_channel"
    assert "not on Settings, where 'Booth ' has a space at the end" in problem.message


def test_capitals_do_not_count(full_logs: dict[str, Path], tmp_path: Path) -> None:
    inputs = full_entries()
    inputs.rows["Log"][2] |= {"channel": "BOOTH", "lot_no": "l-1", "category": "books"}
    inputs.rows["Log"][3]["disposition"] = "personal use"
    inputs.rows["Expenses"][0] |= {"paid_from": "ada", "heading": "OTHER"}
    content = load_log(quick_log(tmp_path / "b.xlsx", inputs=inputs))
    assert content.problems == []
    expected = full_entries()
    expected.rows["Log"][2]["category"] = "Books"
    assert content.inputs() == expected
    shown = load_log(full_logs["plain"]).shown
    for key in ("net_profit", "days_held", "lot_share"):
        pd.testing.assert_series_equal(content.shown["Log"][key], shown["Log"][key])


def test_a_time_of_day_on_the_last_day_and_on_the_next(tmp_path: Path) -> None:
    """Every sheet with a day says nothing of the last evening, and something of the next morning."""
    columns = {
        "Comps": "seen_on", "Log": "bought_on", "Lots": "bought_on", "Expenses": "spent_on",
        "Trips": "driven_on", "Owner": "moved_on",
    }  # fmt: skip
    found = {}
    for name, when in (("evening", dt.datetime(2026, 3, 31, 23, 59)), ("morning", dt.datetime(2026, 4, 1, 0, 1))):
        inputs = full_entries()
        for key, column in columns.items():
            inputs.rows[key][-1][column] = when
        content = load_log(quick_log(tmp_path / f"{name}.xlsx", inputs=inputs))
        said_by_reader = {p.sheet for p in content.problems if p.key == "after_as_of"}
        counts = content.shown["Data checks"].set_index("key")["count"]
        said_by_sheet = {key for key in columns if counts[f"{key}_after_as_of"]}
        found[name] = said_by_reader, said_by_sheet
    assert found["evening"] == (set(), set())
    assert found["morning"] == ({LOG_LAYOUT.table(key).name for key in columns}, set(columns))


def test_problems_stand_in_the_order_of_the_sheets(mistaken_log: LogContent) -> None:
    assert mistaken_log.problems[-1].key == "errors_follow"
    typed = mistaken_log.problems[:-1]
    sheets = [p.sheet for p in typed]
    names = ["Shelf check", "Buying plan", "Comparables", "Sourcing log", "Lots", "Listing desk",
             "Expenses", "Trips", "Personal items", "Owner money"]  # fmt: skip
    assert list(dict.fromkeys(sheets)) == names
    assert mistaken_log.problems[-1].key == "errors_follow"
    rows = [int(p.cell.strip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")) for p in typed]
    for name in names:
        of_sheet = [row for row, sheet in zip(rows, sheets, strict=True) if sheet == name]
        assert of_sheet == sorted(of_sheet)


# ---- files that are no log -----------------------------------------------------------------------


def packed(path: Path, parts: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, content in parts.items():
            file.writestr(name, content)
    return path


OLE = bytes.fromhex("d0cf11e0a1b11ae1") + bytes(504)


@pytest.fixture(scope="module")
def bad_files(small_full_log: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Path, str]]:
    """Files that cannot be read, and words of what is said about each."""
    good, inside = small_full_log, tmp_path_factory.mktemp("bad")

    def file(name: str, content: bytes) -> Path:
        (inside / name).write_bytes(content)
        return inside / name

    whole = good.read_bytes()
    workbook = {"xl/workbook.xml": b"<workbook/>", "xl/_rels/workbook.xml.rels": b"<r/>"}
    protected = bytearray(whole)
    # Bit 0 of the flags of the first entry in the zip's directory: the part is encrypted.
    protected[whole.index(b"PK\x01\x02") + 8] |= 1
    return {
        "missing": (inside / "none.xlsx", "there is no such file; check name and folder"),
        "folder": (inside, "is a folder; give the name of the workbook in it"),
        "empty": (file("empty.xlsx", b""), "empty.xlsx: is empty (0 bytes); use your last copy"),
        "csv": (file("c.xlsx", b"item,paid\nA1,4.50\n"), "not a workbook but text, such as CSV"),
        "picture": (file("p.xlsx", b"\x89PNG\r\n\x1a\n\0\0\0"), "but something else, whatever"),
        "cut": (file("cut.xlsx", whole[: len(whole) // 2]), "is damaged or cut off"),
        "one byte changed": (
            file("d.xlsx", whole[:9000] + bytes([whole[9000] ^ 255]) + whole[9001:]),
            "is damaged or cut off",
        ),
        "password": (
            file("pw.xlsx", OLE + "EncryptedPackage".encode("utf-16-le")),
            "is protected with a password; open it in your spreadsheet program, remove the",
        ),
        "old kind": (file("old.xlsx", OLE + "Workbook".encode("utf-16-le")), "old format (.xls)"),
        "parts protected": (file("pp.xlsx", bytes(protected)), "parts are protected with a pass"),
        "document": (
            packed(inside / "doc.xlsx", {"word/document.xml": b"<d/>"}),
            "is a packed file with no workbook in it",
        ),
        "ods": (
            packed(inside / "o.xlsx", {"mimetype": b"application/vnd.oasis.opendocument.spreadsheet"}),
            "is damaged or cut off (its part content.xml is missing)",
        ),
        "xlsb": (packed(inside / "b.xlsx", {"xl/workbook.bin": b""}), "is a binary workbook"),
        "no sheets": (packed(inside / "n.xlsx", workbook), "is damaged or cut off"),
        "many parts": (
            packed(inside / "m.xlsx", {f"p{i}": b"" for i in range(packed_file.MOST_PARTS + 1)}),
            "has 2001 parts, more than 2000",
        ),
        "bomb": (
            packed(inside / "z.xlsx", workbook | {"xl/a.xml": bytes(packed_file.SMALL + 1)}),
            "would unpack to 100 MB from 0 MB",
        ),
    }


@pytest.mark.parametrize(
    "kind",
    [
        "missing", "folder", "empty", "csv", "picture", "cut", "one byte changed", "password",
        "old kind", "parts protected", "document", "ods", "xlsb", "no sheets", "many parts", "bomb",
    ],
)  # fmt: skip
def test_bad_files(kind: str, bad_files: dict[str, tuple[Path, str]]) -> None:
    path, words = bad_files[kind]
    with pytest.raises(LogFileError) as caught:
        load_log(path)
    message = str(caught.value)
    assert words in message
    assert path.name in message
    assert "\n" not in message
    assert any(word in message for word in ("use your last copy", "save", "name", "check"))


def test_too_large_to_unpack(full_logs: dict[str, Path], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packed_file, "MOST_BYTES", 1 << 20)
    with pytest.raises(LogFileError, match="would unpack to"):
        load_log(full_logs["plain"])


def test_another_workbook(tmp_path: Path) -> None:
    openpyxl.Workbook().save(tmp_path / "other.xlsx")
    with pytest.raises(LogFileError, match=r"there is no sheet 'Settings' \(found: Sheet\)"):
        load_log(tmp_path / "other.xlsx")


def test_a_cell_far_away(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["Sourcing log"]["XFD2000"] = "x"

    message = refusal_of(change, changed)
    assert "on sheet Sourcing log, cell XFD2000 is filled" in message
    assert "clear that cell" in message


def test_a_cell_far_below_is_read(changed: Callable[[Change], LogContent]) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["Trips"]["D120000"] = "dropped here"

    content = changed(change)
    assert content.sheets["Trips"]["sheet_row"].tolist() == [7, 120_000]
    keys = {problem.key for problem in said(content, "Trips", "C120000")}
    assert keys == {"below_ready_rows", "no_date"}


# ---- other programs ------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def with_wrong_tax_tables(tmp_path_factory: pytest.TempPathFactory) -> Path:
    inputs = full_entries()
    _all_tax_tables_wrong(inputs)
    return small_log(tmp_path_factory.mktemp("taxes") / "taxes.xlsx", inputs=inputs)


@pytest.fixture(scope="module")
def saved(
    full_logs: dict[str, Path], with_wrong_tax_tables: Path, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, Path]:
    """What LibreOffice makes of logs, by the names of their files."""
    paths = [*full_logs.values(), with_wrong_tax_tables]
    made = recalculate_all(paths, tmp_path_factory.mktemp("saved"))
    return {path.stem: path for path in made}


@pytest.mark.libreoffice
def test_after_libreoffice_saved_it(full_logs: dict[str, Path], saved: dict[str, Path]) -> None:
    before = load_log(full_logs["plain"])
    after = load_log(saved["plain"])
    assert after.problems == []
    assert after.edition == "plain"
    assert after.ready_rows == before.ready_rows
    assert after.inputs() == full_entries()
    for key, frame in before.shown.items():
        pd.testing.assert_frame_equal(after.shown[key], frame, rtol=0, atol=1e-9)


@pytest.mark.libreoffice
def test_functions_that_libreoffice_does_not_know(saved: dict[str, Path]) -> None:
    content = load_log(saved["functions"])
    assert content.edition == "functions"
    assert content.inputs() == full_entries()
    first, rest = content.problems
    # The first one in the order of the sheets; the fee is what the plan's other results need.
    assert (first.sheet, first.cell, first.key, first.found) == (
        "Buying plan",
        cell_of("Plan", "fee", 7),
        "error_in_result",
        "#NAME?",
    )
    assert "and 1 more in this column" in first.message
    assert "run 'sheetfns recalc' on the log" in first.message
    assert rest.key == "errors_follow"
    assert f"problems above (Buying plan!{first.cell})" in rest.message
    assert np.isnan(content.shown["Log"]["net_profit"][0])


def _all_tax_tables_wrong(inputs: Inputs) -> None:
    """A mistake of every sort, each in a row of its own."""
    blocks = inputs.blocks
    blocks["Heading"][0]["tax_line"] = None
    blocks["Heading"][1]["tax_line"] = "Paper"
    last = dt.date(2030, 12, 31)
    figure = {"name": "Wage base", "from": dt.date(2030, 1, 1), "until": last, "value": 1}
    wrong: dict[str, list[dict[str, Any]]] = {
        "ByYear": [{"year": 2026}, {"year": 26}, {"year": "soon"}, {"note": "?"}],
        "Taxes": [
            {"year": 2026, "partner": "ada"}, {"year": 2026, "partner": "Cy"}, {"partner": "Bo"},
            {"year": 2027}, {"wages": 5}, {"year": 2028, "partner": "Bo", "rate": 12},
        ],
        "Reported": [
            {"year": 2026, "channel": "Fair", "gross": 1}, {"year": 2026, "channel": "Booth"},
            {"year": 2026, "channel": "Booth", "gross": -1},
        ],
        "TaxFigure": [
            {"source": "a form"}, {**figure, "name": None}, {**figure, "from": None},
            {**figure, "until": None}, {**figure, "value": None}, {**figure, "value": "x"},
            {**figure, "until": dt.date(2029, 1, 1)},
        ],
        "Due": [{"year": 2026}, {"source": "a form"}],
    }  # fmt: skip
    for block, rows in wrong.items():
        blocks[block] += rows


@pytest.mark.libreoffice
def test_libreoffice_counts_what_is_wrong_with_the_tax_tables(
    with_wrong_tax_tables: Path, saved: dict[str, Path]
) -> None:
    keys = ["Settings_tax_lines", "Settings_by_year", "Settings_tax_figures"]
    by_engine, by_libreoffice = (
        load_log(file).shown["Data checks"].set_index("key")["count"][keys].tolist()
        for file in (with_wrong_tax_tables, saved["taxes"])
    )
    # By hand. A blank line and an unknown one. Years: 2026 is duplicated in both tables (2 + 2), 26
    # and "soon", a note of no year, wages of nobody; Cy, Bo of no year, 2027 of nobody, Ada twice
    # (1 + 1 + 1 + 2); the report by Fair. Figures: 6 rows not complete, 2 of due dates, 1 report
    # and the one below 0, which counts once more as an amount; one ends early; a rate over 1.
    assert by_engine == [2, 14, 13]
    assert by_libreoffice == by_engine
