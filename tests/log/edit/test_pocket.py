"""A pocket copy of a log: small, whole without the log, and with the log's own verdicts."""

from __future__ import annotations

import datetime as dt
import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sheetfns.demo import example_inputs
from sheetfns.errors import CellError, LogFileError
from sheetfns.files.xlsx_file import XlsxFile
from sheetfns.hosts import engine
from sheetfns.log.edit import pocket as pockets
from sheetfns.log.edit.pocket import make_pocket
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import FIRST_ROW
from sheetfns.log.sheets import pocket as layouts
from sheetfns.log.sheets.pocket import NotInPocketError, needed, pocket_layout
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import FINDS, SETTINGS, SHELF
from sheetfns.log.write.build import build_log
from sheetfns.log.write.pocket import write_pocket
from tests import EARLIER, EXAMPLES, libreoffice
from tests.libreoffice import find_soffice
from tests.log.edit.pocket_copies import LAYOUT, MARK, PLACES, TODAY, pocket_of
from tests.log.filled_logs import full_entries, small_log
from tests.log.libreoffice_in_turn import recalculate_all
from tests.log.quick_logs import quick_log
from tests.log.write.test_texts_fit import Rooms, fixed_texts, misfit

SMALL = 150_000
PLAN = "Buying plan"
SHELF_KEYS = [cell.key for cell in log_layout().form("Shelf").cells()]
INPUT_KEYS = [cell.key for cell in log_layout().form("Shelf").cells() if cell.role == "input"]
OTHER_STEPS = {"comps_row", "channel_row"}
"""Rows of lists, which are shorter in a pocket copy."""


@pytest.fixture(scope="module", params=["plain", "functions"])
def log(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("log") / "shop.xlsx"
    return small_log(path, request.param, full_entries())


@pytest.fixture(scope="module")
def pocket(log: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return pocket_of(log, tmp_path_factory.mktemp("pocket") / "shop_pocket.xlsx")


# ---- what it is --------------------------------------------------------------------------------------


def test_it_is_small_and_opens_on_the_verdict(pocket: Path) -> None:
    assert pocket.stat().st_size < SMALL
    book = openpyxl.load_workbook(pocket)
    assert book.sheetnames == [SHELF, PLAN, FINDS, SETTINGS, "Cautions"]
    assert book.active.title == SHELF


def test_that_of_the_example_shop_is_small(tmp_path: Path) -> None:
    path = build_log(tmp_path / "example.xlsx", "plain", 200, example_inputs(), calculated=False)
    made = make_pocket(path, tmp_path / "pocket.xlsx")
    assert made.path.stat().st_size < SMALL
    assert made.comparables == made.of_comparables > 0


def test_that_of_a_log_with_a_thousand_items_is_small(tmp_path: Path) -> None:
    day = dt.date(2026, 1, 1)
    items = [
        {"item_no": f"Item {n}", "description": f"Thing {n} of glass and brass", "paid": 3, "bought_on": day}
        for n in range(1000)
    ]
    sold = [{"item": f"Thing {n // 2} of glass and brass", "kind": "Sold", "price": 9 + n / 7} for n in range(300)]
    path = tmp_path / "log.xlsx"
    build_log(path, "plain", 1000, Inputs(rows={"Log": items, "Comps": sold}), calculated=False)
    made = make_pocket(path, tmp_path / "pocket.xlsx")
    assert (made.comparables, made.of_comparables) == (150, 150)
    assert made.path.stat().st_size < SMALL


def test_with_as_many_comparables_as_it_takes_it_is_small(tmp_path: Path) -> None:
    dice = random.Random(5)
    many = pockets.MOST_COMPARABLES
    prices = [{key: round(dice.uniform(1, 200), 9) for key in ("low", "middle", "high")} for _ in range(many)]
    words = [f"{dice.randrange(10**9)} {'lamp with a shade of glass'}" for _ in range(many)]
    rows = [
        {"item": word, "remark": "rough estimate (3 sales)", **price} for word, price in zip(words, prices, strict=True)
    ]
    layout = pocket_layout({"Comps": many}, "", "")
    path = tmp_path / "pocket.xlsx"
    write_pocket(path, layout, Inputs(blocks={"Comps": rows}), "Copied.")
    assert path.stat().st_size < SMALL


def test_no_formula_or_link_needs_what_is_not_there(pocket: Path) -> None:
    book = openpyxl.load_workbook(pocket)
    names = {name: defined.attr_text for name, defined in book.defined_names.items()}
    functions = re.compile(r"[A-Z]+_[A-Z_]+\(|_xlfn|_xludf")
    count = 0
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.hyperlink is not None:
                    assert cell.hyperlink.location.split("!")[0].strip("'") in book.sheetnames
                if cell.data_type != "f":
                    continue
                count += 1
                text = re.sub(r'"[^"]*"', "", cell.value)
                assert "!" not in text, (sheet.title, cell.coordinate, cell.value)
                assert not functions.search(text), (sheet.title, cell.coordinate, cell.value)
                for word in re.findall(r"(?<![\w$])[A-Z][a-z]\w*(?![\w(])", text):
                    assert word in names, (sheet.title, cell.coordinate, word)
    assert count > 500
    assert {place.split("!")[0].strip("'") for place in names.values()} <= set(book.sheetnames)


def test_every_cell_has_its_result_and_none_is_an_error(pocket: Path) -> None:
    values = engine.recalculate(pocket)
    assert values.errors == []
    stored = openpyxl.load_workbook(pocket, data_only=True)
    for sheet in stored.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                worked_out = values.value(sheet.title, cell.row, cell.column)
                if isinstance(cell.value, (int, float)) and not isinstance(cell.value, bool):
                    assert worked_out == pytest.approx(cell.value), (sheet.title, cell.coordinate)


def test_what_it_reads_cannot_be_typed_over_and_says_where_it_is_from(pocket: Path) -> None:
    sheet = openpyxl.load_workbook(pocket)[SETTINGS]
    assert sheet.protection.sheet
    assert all(cell.protection.locked for row in sheet.iter_rows() for cell in row)
    assert sheet["A3"].value == f"Copied from shop.xlsx on {TODAY}."
    stands = {row[0].value: row[1].value for row in sheet.iter_rows(max_row=60)}
    assert (stands["Made from the log"], stands["Mark"], stands["Cash for buying"]) == ("shop.xlsx", MARK, 60)
    assert stands["Made on"].date() == TODAY
    assert "Opening balance" not in {cell.value for row in sheet.iter_rows() for cell in row}


def test_the_sheet_of_finds_has_the_headers_and_lists_of_the_log(pocket: Path) -> None:
    of_log = {column.key: column for column in log_layout().table("Log").columns}
    finds = LAYOUT.table("Finds").inputs()
    assert [(one.key, one.header, one.kind, one.names) for one in finds] == [
        (one.key, of_log[one.key].header, of_log[one.key].kind, of_log[one.key].names) for one in finds
    ]
    book = openpyxl.load_workbook(pocket)
    numbers = [cell.value for (cell,) in book[FINDS]["C7:C66"]]
    assert numbers == [f"{MARK}-{n:02d}" for n in range(1, 61)]
    lists = {one.formula1 for one in book[FINDS].data_validations.dataValidation if one.type == "list"}
    assert lists == {one.names for one in finds if one.names}


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({}, ""),
        ({"description": "Cup"}, "paid is blank (0 if it was free); bought on is blank"),
        ({"description": "Cup", "paid": 0}, "bought on is blank"),
        ({"description": "Cup", "paid": 0, "bought_on": 46000}, "ok"),
        ({"description": "Cup", "paid": "about 5", "bought_on": 46000}, "text instead of a number or date"),
        ({"paid": 1, "bought_on": 46000, "purchase_tax": -1}, "an amount is below 0"),
        ({"paid": 1, "bought_on": 46000, "item_no": None}, "the item no. is blank"),
        ({"paid": 1, "bought_on": 46000, "item_no": f"{MARK}-01"}, "item no. is duplicated"),
    ],
)
def test_a_row_of_finds_says_what_is_wrong(pocket: Path, typed: dict[str, Any], said: str) -> None:
    book = engine.OpenWorkbook(pocket)
    table = LAYOUT.table("Finds")
    for key, value in typed.items():
        book.type_in(FINDS, FIRST_ROW + 1, table.position(key) + 1, value)
    values = book.recalculate()
    assert (values.value(FINDS, FIRST_ROW + 1, table.position("row_check") + 1) or "") == said
    assert values.value(FINDS, 2, 1) == f"Errors: {int(said not in ('', 'ok'))}"


# ---- on a phone --------------------------------------------------------------------------------------


def _pixels(width: float) -> float:
    return 7 * width + 5


def test_verdict_and_entries_are_on_the_first_screen_of_a_phone(pocket: Path) -> None:
    sheet = openpyxl.load_workbook(pocket)[SHELF]
    assert sum(_pixels(width) for width in LAYOUT.form("Shelf").widths) <= 360
    cells = PLACES.form_cells["Shelf"]
    last = max(cells[key][0] for key in INPUT_KEYS)
    assert cells["verdict"][0] < min(cells[key][0] for key in INPUT_KEYS)
    heights = [sheet.row_dimensions[row].height or 15 for row in range(1, last + 1)]
    assert sum(heights) * 96 / 72 <= 640
    assert all(sheet.cell(row, 1).value or sheet.cell(row, 2).value for row in range(1, last + 1))


def test_every_fixed_text_fits_its_cell(pocket: Path) -> None:
    wrong, count = [], 0
    for sheet in openpyxl.load_workbook(pocket):
        rooms = Rooms(sheet)
        for cell, text in fixed_texts(sheet):
            count += 1
            known_by = sheet.title == SETTINGS and sheet.cell(cell.row, 1).value == "Known by"
            if not known_by and (fault := misfit(rooms, cell, text)):
                wrong.append(f"{sheet.title}!{cell.coordinate}: {fault}: {text[:60]}")
    assert count > 300
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("key", ["Plan", "Finds"])
def test_what_stays_in_sight_leaves_room_for_two_columns(key: str) -> None:
    table = LAYOUT.table(key)
    frozen = table.columns[: table.frozen_columns]
    beside = table.columns[table.frozen_columns :][:2]
    assert sum(_pixels(column.width) for column in (*frozen, *beside)) <= 370
    assert sum(_pixels(column.width) for column in frozen) <= 200


def test_three_prices_are_enough(tmp_path: Path) -> None:
    inputs = full_entries()
    assert len(inputs.blocks["Channel"]) > 1
    inputs.forms = {}
    for table in ("Log", "Plan", "Personal", "Comps"):
        inputs.rows[table] = []
    path = pocket_of(quick_log(tmp_path / "log.xlsx", "plain", inputs), tmp_path / "pocket.xlsx")
    book = engine.OpenWorkbook(path)
    for number, price in enumerate((20, 22, 24), 1):
        _type(book, PLACES, f"sold_{number}", price)
    row, place = PLACES.form_cells["Shelf"]["verdict"]
    assert str(book.recalculate().value(SHELF, row, place + 1)).startswith("Buy up to ")


# ---- the verdicts ------------------------------------------------------------------------------------


def _cases() -> Iterator[dict[str, Any]]:
    three: dict[str, Any] = {"sold_1": 30, "sold_2": 28, "sold_3": 35, "channel": "First site"}
    yield three
    yield {"sold_1": 30}
    yield {"channel": "Booth"}
    yield {**three, "sold_4": 31.5, "sold_5": 300, "price_tag": 12.4}
    yield {**three, "postage_in": "Yes"}
    yield {**three, "postage_in": "Yes", "postage": 4.85, "category": "books", "missing_value": 2.25}
    yield {**three, "price_tag": 0, "category": "Tools"}
    yield {**three, "price_tag": 99, "category": "Something else"}
    yield {"sold_1": 4, "sold_2": 3.5, "channel": "First site"}
    yield {"sold_1": "about 5", "channel": "First site"}
    yield {**three, "price_tag": -1}
    yield {"comps_of": "P1", "channel": "booth"}
    yield {"comps_of": "JUG", "channel": "First site", "missing_value": 1.3, "price_tag": 2}
    yield {"comps_of": "no such", "channel": "First site"}
    yield {"comps_of": "P1", "sold_1": 55.55, "channel": "First site", "postage": 3.15}
    dice = random.Random(11)
    for _ in range(12):
        prices = {f"sold_{n}": round(dice.uniform(0.5, 120), 2) for n in range(1, dice.randrange(2, 7))}
        more = {
            "postage": round(dice.uniform(0, 9), 2),
            "postage_in": dice.choice(["Yes", "No", None]),
            "price_tag": dice.choice([None, round(dice.uniform(0, 60), 2)]),
            "missing_value": dice.choice([None, round(dice.uniform(0, 5), 2)]),
        }
        yield {**prices, **more, "channel": dice.choice(["Booth", "First site"])}


def _type(book: engine.OpenWorkbook, places: AddressMap, key: str, value: Any) -> None:
    row, place = places.form_cells["Shelf"][key]
    book.type_in(SHELF, row, place + 1, value)


def _said(values: engine.Recalculated, places: AddressMap) -> dict[str, Any]:
    """Every cell of the form, as far as a seller can see; errors by their codes."""
    said = {}
    for key, (row, place) in places.form_cells["Shelf"].items():
        value = values.value(SHELF, row, place + 1)
        value = value.code if isinstance(value, CellError) else value
        if key not in OTHER_STEPS:
            said[key] = round(value, 7) if isinstance(value, float) else value or ""
    return said


def test_verdicts_are_those_of_the_log_to_the_cent(log: Path, pocket: Path) -> None:
    whole, small = engine.OpenWorkbook(log), engine.OpenWorkbook(pocket)
    of_log = AddressMap(log_layout())
    verdicts = set()
    for case in _cases():
        for key in INPUT_KEYS:
            _type(whole, of_log, key, case.get(key))
            _type(small, PLACES, key, case.get(key))
        one, other = _said(whole.recalculate(messages=False), of_log), _said(small.recalculate(), PLACES)
        plan = {"plan_cost", "plan_profit"}  # the functions edition finds the best choice
        assert {key: one[key] for key in one if key not in plan} == {key: other[key] for key in one if key not in plan}
        verdicts.add(re.sub(r"[\d.]+", "#", one["verdict"]))
    assert verdicts >= {"Buy up to #", "Only at # or less", "Leave it", "Enter sold prices", "Check your entries"}
    assert "Item is not on Comparables" in verdicts


def test_the_plan_is_that_of_the_log(log: Path, pocket: Path) -> None:
    whole, small = engine.recalculate(log), engine.recalculate(pocket)
    tables = log_layout().table("Plan"), LAYOUT.table("Plan")
    keys = [column.key for column in tables[1].columns if not column.edge]
    if "BUY_PLAN" in XlsxFile(log).__enter__().part(PLAN).decode():
        keys = [key for key in keys if key not in {"buy", "buy_cost", "buy_profit"}]
        assert small.value(PLAN, 1, 4) == "Goes down the ranking here; the log itself finds the best choice."
    for row in range(FIRST_ROW, FIRST_ROW + 3):
        for key in keys:
            one, other = (
                values.value(PLAN, row, table.position(key) + 1)
                for values, table in zip((whole, small), tables, strict=True)
            )
            if key != "channel_row":
                assert one == other or one == pytest.approx(other), (row, key)


@pytest.mark.libreoffice
@pytest.mark.skipif(find_soffice() is None, reason="soffice is not installed")
def test_libreoffice_gives_the_same_verdicts(tmp_path: Path) -> None:
    chosen = [case for number, case in enumerate(_cases()) if number in {3, 5, 12, 17}]
    files = []
    for number, case in enumerate(chosen):
        inputs = full_entries()
        inputs.forms["Shelf"] = {key: value for key, value in case.items() if value is not None}
        files.append(quick_log(tmp_path / f"log_{number}.xlsx", "plain", inputs))
        book = openpyxl.load_workbook(pocket_of(files[-1], tmp_path / "pocket.xlsx"))
        (tmp_path / "pocket.xlsx").unlink()
        for key in INPUT_KEYS:
            row, place = PLACES.form_cells["Shelf"][key]
            book[SHELF].cell(row, place + 1).value = case.get(key)
        files.append(tmp_path / f"pocket_{number}.xlsx")
        book.save(files[-1])
    made = recalculate_all(files, tmp_path / "out")
    said = []
    for path in made:
        places = AddressMap(log_layout()) if path.stem.startswith("log") else PLACES
        sheet = openpyxl.load_workbook(path, data_only=True)[SHELF]
        cells = {key: sheet.cell(row, place + 1).value for key, (row, place) in places.form_cells["Shelf"].items()}
        said.append({key: _seen(value) for key, value in cells.items() if key not in OTHER_STEPS})
    for number, case in enumerate(chosen):
        assert said[2 * number] == said[2 * number + 1], case
    assert len({cells["verdict"] for cells in said}) == len(chosen)


def _seen(value: Any) -> Any:
    return round(value, 7) if isinstance(value, float) else value or ""


# ---- what it cannot hold, and what it is not made of --------------------------------------------------


def test_of_too_many_comparables_the_newest_are_there_and_it_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pockets, "MOST_COMPARABLES", 2)
    inputs = full_entries()
    days = {"old": dt.date(2025, 1, 1), "new": dt.date(2026, 3, 1), "newer": dt.date(2026, 3, 2), "no day": None}
    inputs.rows["Comps"] = [{"item": name, "kind": "Sold", "price": 9, "seen_on": day} for name, day in days.items()]
    log = quick_log(tmp_path / "log.xlsx", "plain", inputs)
    made = make_pocket(log, tmp_path / "pocket.xlsx")
    assert (made.comparables, made.of_comparables) == (2, 4)
    book = openpyxl.load_workbook(made.path)
    words = "2 of the log's 4 comparable items are here: the newest."
    assert book[SHELF]["A2"].value == words
    column = [cell.value for cell in book[SETTINGS]["A"]]
    assert words in column
    assert {"new", "newer"} <= set(column)
    assert not {"old", "no day"} & set(column)


def test_a_log_whose_settings_cannot_be_read_is_refused(tmp_path: Path) -> None:
    inputs = full_entries()
    inputs.settings["Target_profit"] = "five"
    log = quick_log(tmp_path / "log.xlsx", "plain", inputs)
    with pytest.raises(LogFileError, match=r"log\.xlsx, sheet Settings, B\d+: Target profit.*'five' is not a number"):
        make_pocket(log, tmp_path / "pocket.xlsx")
    inputs = full_entries()
    inputs.blocks["Channel"][1]["rate"] = 11.5
    log = quick_log(tmp_path / "log.xlsx", "plain", inputs)
    with pytest.raises(LogFileError, match=r"Fee rate: 11\.5 is over 100%"):
        make_pocket(log, tmp_path / "pocket.xlsx")
    assert not (tmp_path / "pocket.xlsx").exists()


def test_an_earlier_log_and_a_file_that_is_there_are_refused(pocket: Path, tmp_path: Path) -> None:
    older = EARLIER / "sourcing_log_9.xlsx"
    with pytest.raises(LogFileError, match="sheetfns upgrade"):
        make_pocket(older, tmp_path / "pocket.xlsx")
    before = pocket.read_bytes()
    with pytest.raises(LogFileError, match="merge the finds in it first"):
        pocket_of(EXAMPLES / "sourcing_log_example.xlsx", pocket)
    assert pocket.read_bytes() == before
    with pytest.raises(LogFileError, match=r"ends in \.xlsx"):
        make_pocket(older, tmp_path / "pocket.ods")


def test_a_mark_is_no_beginning_of_a_number_of_the_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    inputs = full_entries()
    inputs.rows["Log"][0]["item_no"] = "bbbb-01"
    inputs.rows["Comps"] = []
    log = quick_log(tmp_path / "log.xlsx", "plain", inputs)
    letters = iter("BBBBCCCC")
    monkeypatch.setattr(pockets.secrets, "choice", lambda _: next(letters))
    assert make_pocket(log, tmp_path / "pocket.xlsx").mark == "CCCC"


def test_a_formula_that_names_what_is_not_there_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(layouts, "_UNITS", {"money": "Pay_cash"})
    with pytest.raises(NotInPocketError, match="Pay_cash"):
        needed()


def test_a_pocket_copy_of_an_ods_log(tmp_path: Path) -> None:
    if find_soffice() is None:
        pytest.skip("soffice is not installed")
    (ods,) = libreoffice.save_as_ods([small_log(tmp_path / "shop.xlsx", "plain", full_entries())], tmp_path)
    path = pocket_of(ods, tmp_path / "pocket.xlsx")
    assert openpyxl.load_workbook(path)[SETTINGS]["A3"].value == f"Copied from shop.ods on {TODAY}."
