"""The menu's commands against a screen that answers for the user; no program is run."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

import sheetfns
from sheetfns.files.sheet_xml import FormulaText
from sheetfns.files.xlsx_file import XlsxFile
from sheetfns.log.edit.csv_import import read_map
from sheetfns.log.edit.csv_import.saved_maps import FOLDER_VARIABLE
from sheetfns.log.edit.patch import CellEdit, NewSheet, patch
from sheetfns.log.edit.read_finds import is_pocket, read_pocket
from sheetfns.log.edit.record import Recorder
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import FIRST_ROW, HEADER_ROW
from sheetfns.log.model.version import LAYOUT
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import FINDS
from sheetfns.programs import menu
from sheetfns.programs.forms import Answers, Form, read_answers
from sheetfns.programs.screens import StoppedError
from tests import EARLIER
from tests.log.filled_logs import full_entries, small_log


class AnsweringScreen:
    """Gives answers one after the other, None where the user cancels; keeps what it is told."""

    def __init__(self, log: Path | None, answers: Sequence[Any] = ()) -> None:
        self.log = log
        self.answers = list(answers)
        self.asked: list[str] = []
        self.told: list[str] = []
        self.said: list[str] = []
        self.tables: dict[str, menu.Rows] = {}
        self.opened: list[Path] = []
        self.edits: list[CellEdit] = []
        self.sheets: list[NewSheet] = []
        self.steps: list[str] = []
        self.stops_at: str | None = None
        self.home: Path | None = None
        self.cursor: tuple[str, int, int] | None = None

    def step(self, words: str) -> None:
        self.steps.append(words)
        if words == self.stops_at:
            raise StoppedError(words)

    def finish(self) -> None:
        self.steps.append("")

    def _answer(self, question: str) -> Any:
        self.asked.append(question)
        return self.answers.pop(0) if self.answers else None

    def ask_file(self, title: str, ending: str) -> Path | None:
        return self._answer(title)

    def ask_new_file(self, title: str, name: str) -> Path | None:
        return self._answer(title)

    def ask_folder(self, title: str) -> Path | None:
        return self._answer(title)

    def ask_yes(self, question: str) -> bool:
        return bool(self._answer(question))

    def ask_form(self, form: Form) -> Answers | None:
        """The answer is the texts of some fields; the others keep what stands there at first."""
        texts = self._answer(form.title)
        if texts is None:
            return None
        filled = {field.key: field.default for field in form.fields} | texts
        assert filled.keys() == {field.key for field in form.fields}
        answers, wrong = read_answers(form, filled)
        assert wrong == []
        self.said.append(form.said(filled))
        return answers

    def show_message(self, text: str) -> None:
        self.told.append(text)

    def show_table(self, title: str, rows: menu.Rows, widths: Sequence[float]) -> None:
        assert len({len(row) for row in rows if len(row) > 1}) == 1
        assert max(map(len, rows)) <= len(widths)
        self.tables[title] = rows

    def current_copy(self, folder: Path) -> Path | None:
        return None if self.log is None else Path(shutil.copy(self.log, folder))

    def open_file(self, path: Path) -> None:
        self.opened.append(path)

    def set_cells(self, edits: Iterable[CellEdit], new_sheets: Iterable[NewSheet] = ()) -> None:
        self.edits += edits
        self.sheets += new_sheets

    def log_path(self) -> Path | None:
        return self.home

    def selected(self) -> tuple[str, int, int] | None:
        return self.cursor


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    path = small_log(tmp_path_factory.mktemp("log") / "shop.xlsx", "plain", full_entries())
    before = path.read_bytes()
    yield path
    # No command writes to the log itself.
    assert path.read_bytes() == before


def ran(key: str, log: Path | None, *answers: Any) -> AnsweringScreen:
    screen = AnsweringScreen(log, answers)
    menu.run(key, screen)
    return screen


def test_titles_and_keys_are_unique() -> None:
    assert len({command.key for command in menu.COMMANDS}) == len(menu.COMMANDS) == 16
    assert len({command.title for command in menu.COMMANDS}) == 16


_NEED_NO_LOG = {"new_log", "show_help", "about"}


@pytest.mark.parametrize("key", sorted({one.key for one in menu.COMMANDS} - _NEED_NO_LOG))
def test_without_a_workbook(key: str) -> None:
    screen = ran(key, None, Path("chosen"))
    assert screen.told == ["Open your sourcing log first, then choose this command again"]


def test_a_fault_is_told_and_not_raised(monkeypatch: pytest.MonkeyPatch, log: Path) -> None:
    def fails(*_: object) -> None:
        raise ZeroDivisionError("by chance")

    monkeypatch.setattr(menu, "check_log", fails)
    (words,) = ran("check_log", log).told
    assert words.startswith("Check and fix: a fault in the program (ZeroDivisionError: by chance)")


@pytest.mark.parametrize(("old", "new"), menu.MENU_KEYS.items())
def test_a_former_key_runs_the_same_command(old: str, new: str, monkeypatch: pytest.MonkeyPatch) -> None:
    ran_for: list[object] = []
    monkeypatch.setitem(menu._RUN, new, ran_for.append)
    screen = AnsweringScreen(None)
    menu.run(old, screen)
    assert ran_for == [screen]


def test_an_unknown_command() -> None:
    with pytest.raises(KeyError):
        menu.run("no_such", AnsweringScreen(None))


def test_check(log: Path) -> None:
    screen = ran("check_log", log)
    rows = screen.tables["Findings"]
    assert rows[0][:2] == ["Sheet", "Cell"]
    assert len(rows) > 1
    assert "warnings; the new workbook lists them" in screen.told[0]


@pytest.fixture
def spoilt(log: Path, tmp_path: Path) -> Path:
    """A log with a formula typed over, and a number stored as text."""
    path = Path(shutil.copy(log, tmp_path / "spoilt.xlsx"))
    table = log_layout().table("Log")
    column = {key: table.position(key) + 1 for key in ("landed_cost", "paid")}
    sheet = (table.name, FIRST_ROW)
    patch(path, [CellEdit(*sheet, column["landed_cost"], 80.0), CellEdit(*sheet, column["paid"], "12.50")])
    return path


@pytest.mark.parametrize(
    ("answers", "fixed"),
    [((True,), ["paid", "landed_cost"]), ((False, True, False, True), ["landed_cost"]), ((False, False), []), ((), [])],
)
def test_check_fixes_what_is_chosen(spoilt: Path, answers: tuple[bool, ...], fixed: list[str]) -> None:
    screen = ran("check_log", spoilt, *answers)
    table = log_layout().table("Log")
    assert [(edit.row, table.columns[edit.column - 1].key) for edit in screen.edits] == [
        (FIRST_ROW, key) for key in fixed
    ]
    assert ("paid" not in fixed) or screen.edits[0].value == 12.5
    assert bool(screen.told) == bool(fixed)
    assert len([row for row in screen.tables["Findings"] if row[-1] == "yes"]) == 2
    assert "2 cells can be fixed for you" in screen.asked[0]


def test_nothing_on_the_screen_names_a_command_in_a_terminal(spoilt: Path, tmp_path: Path) -> None:
    for path in (spoilt, *EARLIER.glob("*.xlsx")):
        screen = ran("check_log", path)
        words = [*screen.asked, *screen.told, *(str(cell) for row in screen.tables.get("Findings", ()) for cell in row)]
        assert not [one for one in words if "--" in one or "'sheetfns" in one], path.name


def test_upgrade(spoilt: Path, tmp_path: Path) -> None:
    screen = ran("upgrade_log", spoilt, tmp_path / "new")
    assert screen.opened == [tmp_path / "new.xlsx"]
    assert "new.xlsx is ready: " in screen.told[0]
    assert load_log(tmp_path / "new.xlsx").ready_rows["Log"] == load_log(spoilt).ready_rows["Log"]
    assert ran("upgrade_log", spoilt).opened == []


def test_pocket_copy(log: Path, tmp_path: Path) -> None:
    screen = ran("pocket_copy", log, tmp_path / "phone")
    (words,) = screen.told
    assert words.startswith("phone.xlsx is ready: send it to your phone")
    assert "'Merge a partner's copy' in this menu adds what is on its sheet Finds to shop.xlsx" in words
    assert is_pocket(tmp_path / "phone.xlsx")
    assert read_pocket(tmp_path / "phone.xlsx").made_from == "shop.xlsx"
    again = ran("pocket_copy", log, tmp_path / "phone.xlsx")
    assert "already exists; merge the finds in it first" in again.told[0]
    assert not ran("pocket_copy", log).told


def test_year_end_without_a_package(log: Path, tmp_path: Path) -> None:
    for answers in ((False,), (True, None)):
        screen = ran("year_end", log, *answers)
        assert list(screen.tables) == ["Year 2026"]
        assert not screen.told
    assert not list(tmp_path.iterdir())


def test_year_end_refuses_a_package_that_is_there(log: Path, tmp_path: Path) -> None:
    first = ran("year_end", log, True, tmp_path)
    files = sorted(path.name for path in tmp_path.iterdir())
    assert f"{len(files)} files are in {tmp_path}" in first.told[0]
    again = ran("year_end", log, True, tmp_path)
    assert "already exists; choose another folder" in again.told[0]
    assert sorted(path.name for path in tmp_path.iterdir()) == files


def test_forecast_of_a_log_with_too_little_history(tmp_path: Path) -> None:
    screen = ran("forecast", small_log(tmp_path / "empty.xlsx"))
    assert not screen.tables
    (words,) = screen.told
    # The name that the user knows, and not where the copy was.
    assert words.startswith("empty.xlsx: ")
    assert "a fault in the program" not in words


@pytest.mark.parametrize(("calls", "edition"), [(False, "plain"), (True, "functions")])
def test_new_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, calls: bool, edition: str) -> None:
    monkeypatch.setattr(menu, "DEFAULT_ROWS", 10)
    screen = ran("new_log", None, tmp_path / "shop", calls)
    assert screen.opened == [tmp_path / "shop.xlsx"]
    assert load_log(tmp_path / "shop.xlsx").edition == edition


def test_new_log_is_cancelled_or_refused(tmp_path: Path) -> None:
    assert not ran("new_log", None, None).told
    there = tmp_path / "a.xlsx"
    there.write_text("mine")
    screen = ran("new_log", None, there)
    assert "already exists; choose another name" in screen.told[0]
    assert there.read_text() == "mine"
    assert not screen.opened


@pytest.fixture
def sales(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "kept"))
    file = tmp_path / "files" / "sales.csv"
    file.parent.mkdir()
    file.write_text("Own number,Sold at,Site,Price\nP2,2026-03-03,Booth,20.50\nP99,2026-03-04,Booth,3\n")
    return file


def test_import_types_on_the_screen(log: Path, sales: Path) -> None:
    screen = ran("import_sales", log, sales, {}, True)
    assert screen.said == [
        "Of 2 rows of the file: 1 item filled, 0 new, 0 in the log already, 1 not imported.\n"
        "Row 3: Item no. 'P99' is not on sheet Sourcing log"
    ]
    rows = screen.tables["What would change"]
    assert {row[3] for row in rows[1:]} == {"Sold on", "Channel", "Sale price", None}
    assert {edit.value for edit in screen.edits} == {dt.date(2026, 3, 3), "Booth", 20.5}
    assert sales.with_name("sales not imported.csv").is_file()
    (words,) = screen.told
    assert words.startswith("3 cells were filled. Check them, then save. 1 rows were not imported")
    (kept,) = (sales.parent.parent / "kept").iterdir()
    assert f"Your answers are kept for the next file with these headers: {kept}" in words
    assert read_map(kept).columns == {
        "Item no.": "Own number", "Sold on": "Sold at", "Channel": "Site", "Sale price": "Price",
    }  # fmt: skip


def test_import_proposes_the_answers_for_the_last_file(log: Path, sales: Path) -> None:
    ran("import_sales", log, sales, {"column 3": "Fee charged", "new_rows": "No"}, True)
    later = sales.with_name("april.csv")
    later.write_text("Price,Own number,Sold at,Site\n1.50,5,2026-04-03,Booth\n")  # the same headers in another order
    screen = ran("import_sales", log, later, {}, True)
    assert {edit.value for edit in screen.edits} == {dt.date(2026, 4, 3), "Booth", 1.5}
    assert len(list((sales.parent.parent / "kept").iterdir())) == 1
    assert log_layout().table("Log").position("fee_charged") + 1 in {edit.column for edit in screen.edits}


def test_words_that_the_last_file_did_not_have_are_guessed(log: Path, sales: Path) -> None:
    """Answers are kept from a month without a cancelled sale."""
    sales.write_text("Own number,Sold at,Status,Kind,Price\nP2,2026-03-03,Done,Sale,20.50\nP4,2026-03-03,Done,Sale,1\n")
    ran("import_sales", log, sales, {}, True)
    sales.write_text(
        "Own number,Sold at,Status,Kind,Price\n5,2026-04-03,Done,Sale,1.50\nP3,2026-04-03,Cancelled,Sale,9\n"
        "5,2026-04-09,Done,Refund,-1.00\n"
    )
    screen = ran("import_sales", log, sales, {}, True)
    assert "1 left out as you say" in screen.said[0]
    assert {edit.value for edit in screen.edits} == {dt.date(2026, 4, 3), 1.5, 1.0, dt.date(2026, 4, 9)}


def test_a_state_that_may_undo_a_sale_is_asked(log: Path, sales: Path) -> None:
    sales.write_text("Own number,Sold at,Status,Price\nP2,2026-03-03,Done,20.50\nP4,2026-03-03,Refunded,1\n")
    screen = ran("import_sales", log, sales, {"kind 2 1": "(leave out)"}, True)
    assert "1 item filled, 0 new, 0 in the log already, 0 not imported, 1 left out as you say." in screen.said[0]
    assert {edit.value for edit in screen.edits} == {dt.date(2026, 3, 3), 20.5}


@pytest.mark.parametrize("answers", [(), ({},), ({}, False), (None,)])
def test_import_is_cancelled(log: Path, sales: Path, answers: tuple[Any, ...]) -> None:
    screen = ran("import_sales", log, sales, *answers)
    assert (screen.edits, screen.told) == ([], [])
    assert [path.name for path in sales.parent.iterdir()] == ["sales.csv"]
    assert not (sales.parent.parent / "kept").exists()
    assert ran("import_sales", log).told == []


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        ({"column 0": "(leave out)"}, "Find items by: no column of the file is set to 'Item no.'; set one"),
        ({"column 2": "Item no."}, "'Own number' and 'Site' are both set to 'Item no.', and only amounts are added up"),
        ({"channel": "Booth"}, "Channel of all rows: a column is set to 'Channel' too; set that to (leave out)"),
        ({"match": "Description", "new_rows": "Yes"}, "Find items by: no column of the file is set to 'Description'"),
        ({"leave_out": "Site"}, "Other rows to leave out: 'Site' has no colon; enter a column and the words in it"),
        ({"leave_out": "Sit: Booth"}, "the file has no column 'Sit' (did you mean 'Site'?); enter one of its headers"),
        ({"leave_out": "Site: ,"}, "there is no word after 'Site:'; enter one, or delete it"),
        (
            {f"column {place}": "(leave out)" for place in (1, 2, 3)},
            "Only 'Item no.' is set; set another column, such as the sale price",
        ),
    ],
)
def test_answers_that_cannot_be_followed_are_asked_again(
    log: Path, sales: Path, texts: dict[str, str], words: str
) -> None:
    screen = ran("import_sales", log, sales, texts, None)
    assert words in screen.told[0]
    assert screen.said == [screen.told[0]]
    assert screen.asked[1:] == ["Import sales", "Import sales"]
    assert not screen.edits
    # What was typed stands there again.
    mended = {"column 0": "Item no.", "column 2": "Channel", "column 3": "Sale price", "channel": "(none)"}
    screen = ran("import_sales", log, sales, texts, mended | {"match": "Item no.", "leave_out": ""}, True)
    assert len(screen.edits) >= 2


def test_import_with_nothing_to_change(log: Path, sales: Path) -> None:
    sales.write_text("Own number,Price\nP99,3\n")
    screen = ran("import_sales", log, sales, {})
    assert screen.told[0].startswith("Nothing to change in the log. 1 rows were not imported; ")
    assert screen.asked == ["Which file has the sales?", "Import sales"]


def test_import_asks_how_a_file_is_written_that_does_not_say_it(log: Path, sales: Path) -> None:
    sales.write_bytes("Own number,Sold at,Place,Price\nP2,2026-03-03,Caf\xe9,20.50\n".encode("cp1252"))
    screen = ran("import_sales", log, sales, {}, {}, True)
    assert screen.asked[1:3] == ["How sales.csv is written", "Import sales"]
    assert {edit.value for edit in screen.edits} == {dt.date(2026, 3, 3), 20.5}
    assert ran("import_sales", log, sales, None).told == []


def test_import_into_something_that_is_no_log(sales: Path) -> None:
    no_log = sales.with_name("other.xlsx")
    no_log.write_text("Item no.,Paid")
    assert ran("import_sales", no_log, sales).told[0].startswith("other.xlsx: ")


# ---- one row, a year, a cell ---------------------------------------------------------------------


def test_a_sale_is_typed_in_the_row_of_the_cursor(log: Path) -> None:
    content = load_log(log)
    on_hand = Recorder(content).on_hand()[0]
    screen = AnsweringScreen(log, [{"sale_price": "20"}])
    screen.cursor = ("Sourcing log", on_hand.row, 3)
    menu.run("mark_sold", screen)
    assert {edit.row for edit in screen.edits} == {on_hand.row}
    assert screen.said[0].startswith(("Net profit: ", "Row check: ", "The net profit"))
    assert not screen.told
    assert not ran("mark_sold", log, None).edits


def test_the_summary_of_a_year(log: Path) -> None:
    screen = ran("year_summary", log, {"year": "2026"})
    assert list(screen.tables) == ["Year 2026"]
    assert screen.tables["Year 2026"] == ran("year_end", log, False).tables["Year 2026"]
    (words,) = ran("year_summary", log, {"year": "1950"}).told
    assert words.startswith("There are no lines of")


def test_what_a_cell_is(log: Path, tmp_path: Path) -> None:
    place = load_log(log).places["Log"]

    def explained(path: Path, key: str) -> str:
        screen = AnsweringScreen(path)
        screen.cursor = ("Sourcing log", FIRST_ROW, place.columns[key] + 1)
        menu.run("explain_cell", screen)
        return screen.told[0]

    assert "Net profit: " in explained(log, "net_profit")
    assert "The log works it out." in explained(log, "net_profit")
    assert "You enter it." in explained(log, "paid")
    wrong = tmp_path / "wrong.xlsx"
    patch(log, [CellEdit("Sourcing log", FIRST_ROW, place.columns["paid"] + 1, "much")], out=wrong)
    assert "'much'" in explained(wrong, "paid")
    assert "In this row, " in explained(wrong, "description")
    formula = tmp_path / "formula.xlsx"
    patch(log, [CellEdit("Sourcing log", FIRST_ROW, place.columns["net_profit"] + 1, 9.0)], out=formula)
    assert "the formula was overwritten with a value" in explained(formula, "net_profit")


def test_a_cell_that_is_listed_with_others_and_one_that_follows_from_another(log: Path, tmp_path: Path) -> None:
    place = load_log(log).places["Log"]
    column = place.columns["net_profit"] + 1

    def explained(path: Path, sheet: str, row: int, at: int) -> str:
        screen = AnsweringScreen(path)
        screen.cursor = (sheet, row, at)
        menu.run("explain_cell", screen)
        return screen.told[0]

    two = tmp_path / "two.xlsx"
    patch(log, [CellEdit("Sourcing log", row, column, 9.0) for row in (FIRST_ROW, FIRST_ROW + 1)], out=two)
    words = explained(two, "Sourcing log", FIRST_ROW + 1, column)
    assert "the formula was overwritten with a value" in words
    assert "Nothing was found" not in words
    broken = tmp_path / "broken.xlsx"
    paid = place.columns["landed_cost"] + 1
    patch(log, [CellEdit("Sourcing log", FIRST_ROW, paid, FormulaText("1/0"))], out=broken)
    with XlsxFile(broken) as book:
        followers = {name: book.hidden(name).errors for name in book.sheet_names if name != "Sourcing log"}
    sheet, errors = next((name, found) for name, found in followers.items() if "#DIV/0!" in found.values())
    at_row, at = next(place for place, code in errors.items() if code == "#DIV/0!")
    words = explained(broken, sheet, at_row, at + 1)
    assert "It shows #DIV/0!." in words
    assert "Correct this first: Sourcing log, " in words


def test_explain_needs_a_cell(log: Path) -> None:
    assert ran("explain_cell", log).told[0].startswith("Click on a cell of the log first")


def test_about(log: Path) -> None:
    (words,) = ran("about", log).told
    assert f"sheetfns {sheetfns.__version__}" in words
    assert f"This log: layout {LAYOUT}, edition plain" in words
    assert "Open your sourcing log first" in ran("about", None).told[0]


def test_the_finds_of_a_pocket_copy_come_home(log: Path, tmp_path: Path) -> None:
    pocket = tmp_path / "pocket.xlsx"
    ran("pocket_copy", log, pocket)
    with XlsxFile(pocket) as book:
        heads = [str(cell) for cell in book.cells(FINDS)[HEADER_ROW - 1]]
        number = str(book.cells(FINDS)[FIRST_ROW - 1][heads.index("Item no.")])
    typed = {"Description": "Cup", "Paid": 2.0, "Bought on": dt.date(2026, 3, 2)}
    patch(pocket, [CellEdit(FINDS, FIRST_ROW, heads.index(head) + 1, value) for head, value in typed.items()])
    screen = ran("merge_copy", log, pocket, True)
    assert {"Cup", number} <= {edit.value for edit in screen.edits}
    assert "1 new row for sheet Sourcing log" in screen.asked[-1]
    assert screen.told == ["1 find entered. Look at the rows, then save."]
    assert not ran("merge_copy", log, pocket, False).edits


@pytest.mark.parametrize("key", ["check_log", "forecast", "year_end", "year_summary", "explain_cell", "mark_sold"])
def test_a_command_says_what_it_does_and_can_be_stopped(key: str, log: Path) -> None:
    screen = AnsweringScreen(log)
    screen.stops_at = "Reading the log"
    menu.run(key, screen)
    assert screen.steps[0] == "Reading the log"
    assert screen.steps[-1] == ""
    assert not (screen.told or screen.tables or screen.edits)
