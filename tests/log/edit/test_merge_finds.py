"""The finds of a pocket copy come home: each once, whichever program has saved it, and none that cannot be right."""

from __future__ import annotations

import copy
import datetime as dt
import shutil
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sheetfns.errors import LogFileError
from sheetfns.log.check.report import check_log
from sheetfns.log.edit.merge import merge_logs
from sheetfns.log.edit.merge_finds import FindsReport, merge_finds
from sheetfns.log.edit.merge_rows import MergeOutcome
from sheetfns.log.edit.read_finds import is_pocket
from sheetfns.log.edit.upgrade import upgrade_log
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import FIRST_ROW, HEADER_ROW
from sheetfns.log.sheets.words import CONFLICTS, FINDS, FINDS_TAKEN, LOG, SETTINGS, SHELF
from tests import libreoffice
from tests.libreoffice import find_soffice
from tests.log.edit.pocket_copies import CUPS, DAY, LAMP, MARK, pocket_of, with_finds
from tests.log.filled_logs import FEW_ROWS, ITEM, full_entries
from tests.log.libreoffice_in_turn import recalculate_all
from tests.log.quick_logs import quick_log

ONE, TWO = f"{MARK}-01", f"{MARK}-02"
needs_libreoffice = pytest.mark.skipif(find_soffice() is None, reason="soffice is not installed")


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return quick_log(tmp_path_factory.mktemp("whole") / "shop.xlsx", "plain", full_entries())


@pytest.fixture(scope="module")
def empty_pocket(whole: Path) -> Path:
    return pocket_of(whole, whole.with_name("pocket.xlsx"))


@pytest.fixture
def log(whole: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(whole, tmp_path / "shop.xlsx"))


def home(log: Path, pocket: Path, **how: Any) -> FindsReport:
    return merge_finds(log, pocket, today=dt.date(2026, 3, 22), **how)


def items(log: Path) -> dict[str, dict[str, Any]]:
    frame = load_log(log).sheets["Log"]
    return {row["item_no"]: row.to_dict() for _, row in frame.iterrows()}


def change_item(log: Path, number: str, **cells: Any) -> None:
    """Type into the row of an item in the log; a key is that of a column."""
    book = openpyxl.load_workbook(log)
    sheet = book[LOG]
    place = load_log(log).places["Log"].columns
    row = next(row for row in range(FIRST_ROW, 99) if sheet.cell(row, place["item_no"] + 1).value == number)
    for key, value in cells.items():
        sheet.cell(row, place[key] + 1).value = value
    book.save(log)


# ---- they come home --------------------------------------------------------------------------------


def test_finds_are_new_rows_and_nothing_else_changes(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    before, bytes_before = items(log), log.read_bytes()
    pocket = with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP, CUPS)
    report = home(log, pocket)
    assert (report.added, report.known, report.refused) == ((f"{ONE} Lamp", f"{TWO} Two cups"), 0, ())
    assert (report.notes, report.differences, report.new_problems) == ((), (), ())
    assert report.patched is not None
    assert report.patched.copy is not None
    assert report.patched.copy.read_bytes() == bytes_before
    after = items(log)
    assert list(after) == [*before, ONE, TWO]
    for number, find in ((ONE, LAMP), (TWO, CUPS)):
        row = after[number]
        for key, value in find.items():
            assert (row[key].date() if key == "bought_on" else row[key]) == value
    assert all(str(after[number]) == str(before[number]) for number in before)
    assert check_log(log).count == check_log(report.patched.copy).count


def test_twice_adds_nothing_and_leaves_the_file_alone(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    pocket = with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP, CUPS)
    home(log, pocket)
    before = log.read_bytes()
    report = home(log, pocket)
    assert (report.added, report.known, report.patched) == ((), 2, None)
    assert log.read_bytes() == before


def test_more_finds_on_the_next_trip(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    home(log, with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP))
    report = home(log, with_finds(empty_pocket, tmp_path / "p2.xlsx", LAMP, CUPS))
    assert (report.added, report.known) == ((f"{TWO} Two cups",), 1)
    assert {ONE, TWO} <= items(log).keys()
    lines = list(openpyxl.load_workbook(log)[FINDS_TAKEN].iter_rows(values_only=True))
    assert [line[0] for line in lines] == ["Item no.", ONE, TWO]
    assert [line[-2:] for line in lines[1:]] == [(MARK, "2026-03-22")] * 2


def test_the_result_may_be_another_file(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    before = log.read_bytes()
    report = home(log, with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP), out=tmp_path / "both.xlsx")
    assert report.path == tmp_path / "both.xlsx"
    assert ONE in items(report.path)
    assert log.read_bytes() == before


def test_two_equal_things_are_two_finds(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    report = home(log, with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP, LAMP))
    assert len(report.added) == 2


def test_pocket_copies_of_both_partners(log: Path, empty_pocket: Path, whole: Path, tmp_path: Path) -> None:
    other = pocket_of(whole, tmp_path / "other.xlsx", mark="XXXX")
    home(log, with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP))
    report = home(log, with_finds(other, tmp_path / "p2.xlsx", LAMP))
    assert report.added == ("XXXX-01 Lamp",)
    assert {ONE, "XXXX-01"} <= items(log).keys()


def test_words_of_lists_have_the_capitals_of_the_log(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    find = {**CUPS, "bought_by": "bo", "paid_from": "BO", "category": "tools", "condition": "GOOD"}
    home(log, with_finds(empty_pocket, tmp_path / "p.xlsx", find))
    row = items(log)[ONE]
    assert [row[key] for key in ("bought_by", "paid_from", "category", "condition")] == ["Bo", "Bo", "Tools", "Good"]


def test_what_the_log_cannot_like_is_said(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    find = {**LAMP, "bought_on": dt.date(2026, 5, 1), "bought_by": "Nobody"}
    report = home(log, with_finds(empty_pocket, tmp_path / "p.xlsx", find))
    assert report.added
    assert {one.key for one in report.new_problems} == {"after_as_of", "no_partner"}


# ---- corrected since ---------------------------------------------------------------------------------


def test_a_find_that_was_corrected_is_taken_once_and_told(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    home(log, with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP, CUPS))
    pocket = with_finds(empty_pocket, tmp_path / "p2.xlsx", {**LAMP, "paid": 5.5, "category": None}, CUPS)
    report = home(log, pocket)
    assert (report.added, report.known) == ((), 1)
    assert {(one.outcome, one.column, one.kept, one.other, one.last) for one in report.differences} == {
        (MergeOutcome.changed, "Paid", 5.5, 4.5, 4.5),
        (MergeOutcome.changed, "Category", None, "Tools", "Tools"),
    }
    assert (items(log)[ONE]["paid"], items(log)[ONE]["category"]) == (5.5, "")
    assert list(items(log)).count(ONE) == 1
    lines = list(openpyxl.load_workbook(log)[CONFLICTS].iter_rows(values_only=True))
    assert {line[2:5] for line in lines[1:]} == {(ONE, "Paid", 5.5), (ONE, "Category", None)}
    before = log.read_bytes()
    assert (home(log, pocket).differences, home(log, pocket).known) == ((), 2)
    assert log.read_bytes() == before


def test_what_both_changed_stays_as_in_the_log_and_is_listed(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    home(log, with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP))
    change_item(log, ONE, paid=6)
    pocket = with_finds(empty_pocket, tmp_path / "p2.xlsx", {**LAMP, "paid": 5.5})
    (difference,) = home(log, pocket).differences
    assert (difference.outcome, difference.kept, difference.other) == (MergeOutcome.both_changed, 6, 5.5)
    assert items(log)[ONE]["paid"] == 6
    assert home(log, pocket).differences == ()


def test_what_was_changed_in_the_log_stays_and_is_no_news(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    pocket = with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP)
    home(log, pocket)
    # As where the item became one of a lot: what the find says must not come back.
    change_item(log, ONE, paid=None, lot_no="L-1", bought_on=None, expected_price=8, description="Lamp, blue")
    before = log.read_bytes()
    report = home(log, pocket)
    assert (report.added, report.known, report.differences, report.patched) == ((), 1, (), None)
    assert log.read_bytes() == before


@pytest.mark.parametrize("change", ["renumbered", "deleted"])
def test_an_item_that_has_another_number_now_does_not_come_again(
    log: Path, empty_pocket: Path, tmp_path: Path, change: str
) -> None:
    pocket = with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP)
    home(log, pocket)
    blank = dict.fromkeys(LAMP) if change == "deleted" else {}
    change_item(log, ONE, item_no="P100" if change == "renumbered" else None, **blank)
    before = log.read_bytes()
    report = home(log, pocket)
    assert report.added == ()
    assert (
        f"{FINDS}, row 7: {ONE} Lamp came home before, and Sourcing log has no item of that number" in report.notes[0]
    )
    assert log.read_bytes() == before


def test_a_number_that_is_changed_in_the_pocket_makes_no_second_item(
    log: Path, empty_pocket: Path, tmp_path: Path
) -> None:
    home(log, with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP))
    report = home(log, with_finds(empty_pocket, tmp_path / "p2.xlsx", {**LAMP, "item_no": "P77"}))
    assert report.added == ()
    assert f"P77 Lamp came home as {ONE}, and its number was changed" in report.notes[0]
    assert "P77" not in items(log)


def test_without_the_list_of_finds_taken_no_find_comes_twice(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    pocket = with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP)
    home(log, pocket)
    book = openpyxl.load_workbook(log)
    del book[FINDS_TAKEN]
    book.save(log)
    report = home(log, pocket)
    assert (report.added, report.known, report.differences) == ((), 1, ())
    assert list(items(log)).count(ONE) == 1


# ---- what cannot be taken ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("find", "words"),
    [
        ({**LAMP, "paid": None}, f"E7: Paid is blank; enter the price, or 0 if it was free ({ONE} Lamp)"),
        ({**LAMP, "bought_on": None}, f"F7: Bought on is blank; enter the day of purchase ({ONE} Lamp)"),
        ({**LAMP, "item_no": None}, "C7: Item no. is blank; enter a number that no other item has (Lamp)"),
        ({**LAMP, "paid": "about 5"}, f"E7: Paid: 'about 5' is not a number; write a number ({ONE} Lamp)"),
        ({**LAMP, "paid": "1,234"}, "E7: Paid: '1,234' is not a number; write 1234 or 1.234"),
        ({**LAMP, "paid": -2}, "E7: Paid: -2 is below 0"),
        ({**LAMP, "paid": True}, "E7: Paid: TRUE is not a number"),
        ({**LAMP, "bought_on": "03/04/2026"}, "F7: Bought on: '03/04/2026' is not a date; write 2026-03-04 or"),
        ({**LAMP, "bought_on": dt.date(1926, 3, 4)}, "F7: Bought on: 1926-03-04, which is outside the years"),
        ({**LAMP, "prep_cost": "x"}, "'x' is not a number"),
        (
            {**LAMP, "item_no": "P2", "description": "Other"},
            "C7: item no. P2 is another item in Sourcing log (2026-02-26",
        ),
    ],
)
def test_what_cannot_be_right_is_not_taken_and_said(
    log: Path, empty_pocket: Path, tmp_path: Path, find: dict[str, Any], words: str
) -> None:
    pocket = with_finds(empty_pocket, tmp_path / "p.xlsx", find, CUPS)
    report = home(log, pocket)
    assert report.added == (f"{TWO} Two cups",)
    (refused,) = report.refused
    assert refused.startswith(FINDS)
    assert words in refused
    assert ONE not in items(log)


def test_what_was_not_taken_comes_once_it_is_fixed(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    pocket = with_finds(empty_pocket, tmp_path / "p.xlsx", {**LAMP, "paid": None}, CUPS)
    home(log, pocket)
    report = home(log, with_finds(pocket, tmp_path / "fixed.xlsx", LAMP))
    assert (report.added, report.known, report.refused) == ((f"{ONE} Lamp",), 1, ())


def test_a_number_that_is_twice_in_the_pocket(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    report = home(log, with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP, {**CUPS, "item_no": ONE.lower()}))
    assert report.added == (f"{ONE} Lamp",)
    assert f"item no. {ONE.lower()} is in row 7 already" in report.refused[0]


def test_numbers_and_days_as_text_are_taken_where_they_mean_one_thing(
    log: Path, empty_pocket: Path, tmp_path: Path
) -> None:
    find = {**LAMP, "paid": "$4.50", "purchase_tax": "0,35", "bought_on": "2026-03-21", "item_no": 4711}
    report = home(log, with_finds(empty_pocket, tmp_path / "p.xlsx", find))
    assert report.refused == ()
    assert [note.partition("text ")[2] for note in report.notes] == [
        "'$4.50' was taken for 4.5",
        "'2026-03-21' was taken for 2026-03-21",
        "'0,35' was taken for 0.35",
    ]
    row = items(log)["4711"]
    assert (row["paid"], row["purchase_tax"], row["bought_on"].date()) == (4.5, 0.35, DAY)
    assert report.new_problems == ()


def test_rows_below_the_ready_ones_count_too(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    pocket = with_finds(empty_pocket, tmp_path / "p.xlsx", {**LAMP, "item_no": "P70"}, first=75)
    assert home(log, pocket).added == ("P70 Lamp",)


def test_a_text_that_looks_like_a_formula_stays_a_text(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    pocket = with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP)
    book = openpyxl.load_workbook(pocket)
    book[FINDS]["D7"].value = "x"
    book[FINDS]["D7"].value = "@SUM(A1)"
    book.save(pocket)
    home(log, pocket)
    book = openpyxl.load_workbook(log)
    (cell,) = [cell for row in book[LOG].iter_rows() for cell in row if cell.value == "@SUM(A1)"]
    assert (cell.data_type, cell.quotePrefix) == ("s", True)


def test_a_log_without_free_rows(tmp_path: Path) -> None:
    inputs = full_entries()
    more = FEW_ROWS - len(inputs.rows["Log"]) - 1
    inputs.rows["Log"] += [ITEM | {"item_no": f"N{number}"} for number in range(more)]
    log = quick_log(tmp_path / "shop.xlsx", "plain", inputs)
    pocket = with_finds(pocket_of(log, tmp_path / "pocket.xlsx"), tmp_path / "p.xlsx", LAMP, CUPS)
    before = log.read_bytes()
    with pytest.raises(LogFileError, match=r"only 1 ready rows are free; run 'sheetfns upgrade shop\.xlsx"):
        home(log, pocket)
    assert log.read_bytes() == before


# ---- files -------------------------------------------------------------------------------------------


def test_a_pocket_copy_of_another_log_is_refused(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    inputs = full_entries()
    for row in inputs.rows["Log"]:
        row["description"] = "Something else"
    other = quick_log(tmp_path / "other.xlsx", "plain", inputs)
    pocket = with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP)
    before = other.read_bytes()
    with pytest.raises(LogFileError, match=r"p\.xlsx: was made from shop\.xlsx, and other\.xlsx is another log"):
        home(other, pocket)
    assert other.read_bytes() == before


def test_a_log_that_has_changed_since_is_known_again(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    for number in ("P1", "P2", "P3"):
        change_item(log, number, item_no=f"{number}0")
    renamed = log.rename(tmp_path / "renamed.xlsx")
    assert home(renamed, with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP)).added


def test_pocket_copies_of_logs_without_items_go_by_the_shop(tmp_path: Path) -> None:
    inputs = full_entries()
    inputs.rows["Log"], inputs.rows["Comps"] = [], []
    log = quick_log(tmp_path / "log.xlsx", "plain", copy.deepcopy(inputs))
    pocket = with_finds(pocket_of(log, tmp_path / "pocket.xlsx"), tmp_path / "p.xlsx", LAMP)
    inputs.settings["Shop_name"] = "Another shop"
    other = quick_log(tmp_path / "other.xlsx", "plain", inputs)
    with pytest.raises(LogFileError, match="that log is of Two Attics"):
        home(other, pocket)
    assert home(log, pocket).added


def test_a_pocket_copy_is_no_log(empty_pocket: Path, tmp_path: Path) -> None:
    for command in (load_log, check_log, lambda path: upgrade_log(path, tmp_path / "new.xlsx")):
        with pytest.raises(LogFileError, match=r"is a pocket copy of a log; 'sheetfns merge LOG\.xlsx pocket\.xlsx'"):
            command(empty_pocket)
    assert not (tmp_path / "new.xlsx").exists()


def test_what_is_no_whole_pocket_copy_is_refused(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    assert is_pocket(empty_pocket)
    assert not is_pocket(log)
    assert not is_pocket(tmp_path / "none.xlsx")
    for damage, words in (
        (lambda book: setattr(book[SETTINGS]["B9"], "value", None), "what it says of this pocket copy is missing"),
        (lambda book: setattr(book[SETTINGS]["B11"], "value", "99"), "install a newer sheetfns"),
        (lambda book: setattr(book[FINDS].cell(HEADER_ROW, 5), "value", "Cost"), "has no column 'Paid'"),
        (lambda book: book.remove(book[SETTINGS]), "there is no sheet 'Settings'"),
    ):
        book = openpyxl.load_workbook(with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP))
        damage(book)
        book.save(tmp_path / "damaged.xlsx")
        with pytest.raises(LogFileError, match=words):
            home(log, tmp_path / "damaged.xlsx")
    with pytest.raises(LogFileError, match="would be overwritten"):
        home(log, empty_pocket, out=empty_pocket)


@pytest.mark.libreoffice
@needs_libreoffice
def test_saved_by_libreoffice(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    pocket = with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP, CUPS)
    (xlsx,) = recalculate_all([pocket], tmp_path / "out")
    (ods,) = libreoffice.save_as_ods([pocket], tmp_path / "out")
    assert is_pocket(xlsx)
    assert is_pocket(ods)
    assert home(log, xlsx).added == (f"{ONE} Lamp", f"{TWO} Two cups")
    assert (home(log, ods).added, home(log, ods).known) == ((), 2)
    assert (home(log, pocket).added, home(log, pocket).known) == ((), 2)
    row = items(log)[ONE]
    assert (row["paid"], row["bought_on"].date()) == (4.5, DAY)


def test_only_names_of_sheets_headers_and_typed_cells_count(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    """A phone's program may keep no name, no format, no formula, and move columns and sheets."""
    read = openpyxl.load_workbook(with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP, CUPS), data_only=True)
    bare = openpyxl.Workbook()
    bare.remove(bare.active)
    for name in (SETTINGS, FINDS, SHELF):
        sheet = bare.create_sheet(name)
        for row in read[name].iter_rows(values_only=True):
            sheet.append(list(reversed(row)) if name == FINDS else list(row))
    bare.save(tmp_path / "bare.xlsx")
    assert home(log, tmp_path / "bare.xlsx").added == (f"{ONE} Lamp", f"{TWO} Two cups")


# ---- other commands know the list of finds taken -----------------------------------------------------


def test_a_merge_of_two_copies_brings_the_lists_together(
    log: Path, empty_pocket: Path, whole: Path, tmp_path: Path
) -> None:
    pocket = with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP)
    home(log, pocket)
    mine = Path(shutil.copy(whole, tmp_path / "mine.xlsx"))
    report = merge_logs(mine, log, mine)
    assert report.extra_sheets == ()
    assert FINDS_TAKEN in openpyxl.load_workbook(mine).sheetnames
    change_item(mine, ONE, description="Lamp, blue")
    again = home(mine, pocket)
    assert (again.added, again.known, again.differences) == ((), 1, ())
    assert merge_logs(mine, log, mine).rows_added == {}


def test_an_upgrade_keeps_the_list(log: Path, empty_pocket: Path, tmp_path: Path) -> None:
    pocket = with_finds(empty_pocket, tmp_path / "p.xlsx", LAMP)
    home(log, pocket)
    change_item(log, ONE, item_no="P100")
    new = upgrade_log(log, tmp_path / "new.xlsx").path
    assert home(new, pocket).added == ()
