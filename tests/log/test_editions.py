"""Both editions in every engine: LibreOffice, the headless engine and Python show the same."""

from __future__ import annotations

import datetime as dt
import os
import random
import re
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest
import python_calamine

from sheetfns.cell_types import date_number
from sheetfns.files.cell_names import column_letters
from sheetfns.files.sheet_xml import with_cells
from sheetfns.hosts.engine import recalculate
from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.edit.patch import store_results
from sheetfns.log.load import load_log
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.sheets import FIRST_ROW
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import AGE_ROWS, ODDS_EVERY, START, WEEKS_AHEAD
from sheetfns.log.write import write_workbook
from sheetfns.log.write.build import build_log
from tests import EXAMPLES, libreoffice
from tests.log import libreoffice_in_turn
from tests.log.filled_logs import part_of
from tests.log.random_logs import random_entries
from tests.log.sheets.random_shelves import with_shelves

PLAIN = EXAMPLES / "sourcing_log_example.xlsx"
FUNCTIONS = EXAMPLES / "sourcing_log_example_functions.xlsx"
ERRORS = ("#N/A", "#NAME?", "#VALUE!", "#REF!", "#DIV/0!", "#NUM!", "#NULL!", "Err:")


def plain_cell(cell: Any) -> Any:
    """A cell as number or text: a blank is "", a date its number."""
    if cell is None:
        return ""
    if isinstance(cell, (dt.date, dt.timedelta)):
        return date_number(cell)
    return float(cell) if isinstance(cell, (bool, int)) else cell


def same(one: Any, other: Any) -> bool:
    one, other = plain_cell(one), plain_cell(other)
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= 1e-7
    return one == other


def sheets_of(path: Path) -> dict[str, list[list[Any]]]:
    with python_calamine.CalamineWorkbook.from_path(path) as book:
        return {name: book.get_sheet_by_name(name).to_python(skip_empty_area=False) for name in book.sheet_names}


BY_NATURE = {
    # The best choice has no ordinary formula: the plain edition goes down the ranking.
    "Plan": ("buy", "buy_cost", "buy_profit"),
    "Shelf": ("plan_cost", "plan_profit"),
    # Nor have the best title and remarks on titles, and with no title there is no room in it.
    "Desk": ("packed", "title_used", "room", "remarks", "missing_remark"),
    # Odds and times to sell have no ordinary formula.
    "Pay": (
        *("odds_remark", "odds_words", "chance_words"),
        *(
            f"{figure}_{week}"
            for figure in ("low", "middle", "high", "chance")
            for week in range(ODDS_EVERY, WEEKS_AHEAD + 1, ODDS_EVERY)
        ),
    ),
    "Inventory": (*("median_days", "time_note", "sold_in_the_end"), *(f"chance_{i}" for i in range(1, AGE_ROWS + 1))),
}
"""What differs between the editions."""


def cells_by_nature() -> set[tuple[str, int, int]]:
    layout = log_layout()
    places = AddressMap(layout)
    cells = set()
    for key, names in BY_NATURE.items():
        if key in layout.by_key:
            table = layout.table(key)
            columns = [table.position(name) + 1 for name in names]
            rows = range(FIRST_ROW, table.last_row + 1)
            cells |= {(table.name, row, column) for row in rows for column in columns}
        else:
            where = [places.form_cells[key][name] for name in names]
            cells |= {(layout.form(key).name, row, column + 1) for row, column in where}
    return cells


def differing_cells(
    shown: dict[str, list[list[Any]]], values: Any, *, one_edition: bool = False
) -> tuple[int, list[str]]:
    """Cells that differ; between editions those aside that do so by nature."""
    aside = set() if one_edition else cells_by_nature()
    compared, differing = 0, []
    for name, rows in shown.items():
        for row, cells in enumerate(rows, 1):
            for column, cell in enumerate(cells, 1):
                if name == START or (name, row, column) in aside:
                    continue
                compared += 1
                other = values.value(name, row, column)
                if not same(cell, other):
                    differing.append(f"{name} row {row} column {column}: {cell!r}, {other!r}")
    return compared, differing


def error_cells(path: Path) -> list[str]:
    """Read by another library than the comparison, which shows errors as their text."""
    book = openpyxl.load_workbook(path, data_only=True, read_only=True)
    return [
        f"{sheet.title}!{cell.coordinate} {cell.value}"
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, str) and cell.value.startswith(ERRORS)
    ]


@pytest.mark.parametrize("path", [PLAIN, FUNCTIONS], ids=["plain", "functions"])
def test_example_as_stored_equals_python(path):
    content = load_log(path)
    result = compare(compute_log(content))
    assert content.problems == []
    assert result.differences == []
    assert result.compared > 6_000


@pytest.mark.parametrize("path", [PLAIN, FUNCTIONS], ids=["plain", "functions"])
def test_example_recalculated_headless_is_as_stored(path):
    values = recalculate(path)
    assert values.errors == []
    compared, differing = differing_cells(sheets_of(path), values, one_edition=True)
    assert differing == []
    assert compared > 20_000


@pytest.fixture(scope="module")
def recalculated(tmp_path_factory) -> Path:
    return libreoffice.recalculate(PLAIN, tmp_path_factory.mktemp("libreoffice"))


@pytest.mark.libreoffice
def test_example_recalculated_by_libreoffice_equals_the_functions_edition(recalculated):
    """The plain edition in one program, the functions edition in the other, cell by cell."""
    assert error_cells(recalculated) == []
    compared, differing = differing_cells(sheets_of(recalculated), recalculate(FUNCTIONS))
    assert differing == []
    assert compared > 20_000


@pytest.mark.libreoffice
def test_example_recalculated_by_libreoffice_equals_python(recalculated):
    result = compare(compute_log(load_log(recalculated)))
    assert result.differences == []
    assert result.compared > 6_000


WITHOUT_VALUES = {"w60": (2, 60), "w300": (3, 300), "w1000": (4, 1000)}
"""Seed and rows of logs that are changed and stripped of their results."""


@dataclass
class Saved:
    """Random logs as LibreOffice saved them, in one run: its start takes longer than most logs."""

    paths: dict[str, Path]
    functions: Path
    """The functions edition of the log of 400 rows, not worked out yet."""
    changed_rows: dict[str, int]
    """Where a price was changed, by log."""


@pytest.fixture(scope="module")
def saved(tmp_path_factory) -> Saved:
    folder = tmp_path_factory.mktemp("random")
    inputs = with_shelves(random_entries(11, 400), 11)
    paths = [build_log(folder / "r400.xlsx", "plain", 400, inputs)]
    functions = folder / "functions.xlsx"
    write_workbook(functions, log_layout(400), "functions", inputs)
    changed = {}
    for name, (seed, rows) in WITHOUT_VALUES.items():
        log = folder / f"full_{name}.xlsx"
        write_workbook(log, log_layout(rows), "plain", with_shelves(random_entries(seed, rows), seed))
        paths.append(folder / f"{name}.xlsx")
        changed[name] = without_values(log, paths[-1])
    made = libreoffice_in_turn.recalculate_all(paths, folder / "out")
    return Saved({path.stem: path for path in made}, functions, changed)


def without_values(log: Path, target: Path) -> int:
    """A log with another price of its first sale and no result stored; gives the row."""
    content = load_log(log)
    row = int(content.sheets["Log"].dropna(subset=["sold_on"]).iloc[0]["sheet_row"])
    place = content.places["Log"].columns["sale_price"] + 1
    sheets = 0
    with zipfile.ZipFile(log) as old, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.namelist():
            xml = old.read(part)
            if part == part_of(log, "Sourcing log"):
                xml = with_cells(xml, {(row, place): 1234.0}, quoted=lambda style: style).content
            if part.startswith("xl/worksheets/sheet"):
                xml = re.sub(rb"</f><v>[^<]*</v>", b"</f>", xml)
                assert b"</f><v" not in xml
                sheets += b"</f>" in xml
            new.writestr(part, xml)
    assert sheets > 15
    return row


@pytest.mark.libreoffice
def test_random_log_recalculated_by_libreoffice(saved):
    shown = saved.paths["r400"]
    assert error_cells(shown) == []
    _, differing = differing_cells(sheets_of(shown), recalculate(saved.functions))
    # How far a sheet prints is settled by its results, and the functions edition was written without.
    assert [one for one in differing if "don't print" not in one] == []
    assert compare(compute_log(load_log(shown))).differences == []


@pytest.mark.libreoffice
@pytest.mark.parametrize("name", WITHOUT_VALUES)
def test_libreoffice_calculates_a_log_without_stored_values(saved, name):
    """Nothing to fall back on: each result is worked out on the way to another one.

    LibreOffice 7.4 once took 0 for a lot's cost here, as log and lots looked at each other's
    results. With a price changed, the profit must follow.
    """
    figures = compute_log(load_log(saved.paths[name]))
    assert compare(figures).differences == []
    changed = figures["Log"].set_index("sheet_row").loc[saved.changed_rows[name]]
    assert changed["net_profit"] > 500


@pytest.mark.libreoffice
@pytest.mark.skipif(
    libreoffice.find_python_with_uno() is None and os.environ.get("CI") != "true",
    reason="no Python that talks to LibreOffice; install python3-uno",
)
def test_typing_into_an_open_log(tmp_path):
    """A seller's afternoon: prices changed, lots corrected, an item added, one by one."""
    draw = random.Random(3)
    content = load_log(PLAIN)
    log = content.sheets["Log"]
    table = log_layout().table("Log")

    def cell(key: str, row: int) -> str:
        return f"{column_letters(table.position(key))}{row}"

    inputs: list[tuple[str, str, object]] = []
    for _ in range(60):
        item = log.iloc[draw.randrange(len(log))]
        keys = ["expected_price", "prep_cost"]
        if not pd.isna(item["sold_on"]):
            keys += ["sale_price", "postage_paid", "refund"]
        amount = round(draw.uniform(1, 40), 2)
        inputs.append((table.name, cell(draw.choice(keys), int(item["sheet_row"])), amount))
    paid = column_letters(log_layout().table("Lots").position("paid"))
    inputs += [("Lots", f"{paid}{row}", round(draw.uniform(5, 80), 2)) for row in range(7, 11)]
    new = int(log["sheet_row"].max()) + 1
    lot = content.sheets["Lots"]["lot_no"].iloc[0]
    for key, value in (("item_no", "NEW1"), ("lot_no", lot), ("expected_price", 17.35)):
        inputs.append((table.name, cell(key, new), value))
    inputs += _shelf_entries(content, draw)
    typed = libreoffice.type_into(PLAIN, tmp_path / "typed.xlsx", inputs)
    after = load_log(typed)
    assert len(after.sheets["Log"]) == len(log) + 1
    assert after.forms["Shelf"]["sold_2"] == 77.5
    assert after.forms["Desk"]["item_no"] == str(log["item_no"].iloc[3])
    assert len(after.sheets["Comps"]) == len(content.sheets["Comps"]) + 1
    assert not after.sheets["Log"]["sale_price"].equals(log["sale_price"])
    result = compare(compute_log(after))
    assert result.differences == []
    assert result.compared > 6_000


def _shelf_entries(content: Any, draw: random.Random) -> list[tuple[str, str, object]]:
    """What is typed at the shelf and at the desk: prices, a comparable, a candidate, an item."""
    places = AddressMap(log_layout())

    def on_form(key: str, name: str) -> tuple[str, str]:
        row, column = places.form_cells[key][name]
        return log_layout().form(key).name, f"{column_letters(column)}{row}"

    def in_row(key: str, name: str, row: int) -> tuple[str, str]:
        table = log_layout().table(key)
        return table.name, f"{column_letters(table.position(name))}{row}"

    item = str(content.sheets["Log"]["item_no"].iloc[3])
    new = int(content.sheets["Comps"]["sheet_row"].max()) + 1
    found: list[tuple[str, str, object]] = [
        (*on_form("Shelf", "sold_2"), 77.5),
        (*on_form("Shelf", "price_tag"), 41.25),
        (*on_form("Shelf", "missing_value"), 3.1),
        (*on_form("Desk", "item_no"), item),
        (*on_form("Desk", "asking"), 33.3),
        (*in_row("Comps", "item", new), item),
        (*in_row("Comps", "kind", new), "Sold"),
        (*in_row("Comps", "price", new), 28.4),
    ]
    for row in range(7, 15):
        found += [
            (*in_row("Comps", "price", row), draw.randint(900, 6000) / 100),
            (*in_row("Plan", "price_tag", row), draw.randint(100, 3000) / 100),
        ]
    return found


def test_two_thousand_rows(tmp_path):
    """Recalculated headless, stored, read, equal; tests/benchmarks/bench_logs.py does it with 20,000."""
    worked_out_and_compared(tmp_path, 2_000, 50_000)


def worked_out_and_compared(folder: Path, rows: int, least_compared: int) -> None:
    draft, path = folder / "draft.xlsx", folder / "log.xlsx"
    write_workbook(draft, log_layout(rows), "functions", random_entries(5, rows))
    # A building writes the sheets once more, with these results: the slowest step of all.
    store_results(draft, path, recalculate(draft))
    content = load_log(path)
    assert len(content.sheets["Log"]) == rows
    result = compare(compute_log(content))
    assert result.differences == []
    assert result.compared > least_compared
