"""Sheet Home: figures by hand, what to do next, and every link followed."""

from __future__ import annotations

import datetime as dt
import itertools
import json
import re
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sheetfns.files.cell_names import cell_name, column_letters
from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import EDITIONS, Edition
from sheetfns.log.sheets.home.ways import GROUPS
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.write.build import build_log
from tests.libreoffice import hands_on
from tests.log.quick_logs import quick_log

D = dt.date
LAYOUT = log_layout(20)
PLACES = AddressMap(LAYOUT)


def shop(**settings: Any) -> Inputs:
    """One item of each kind; the as-of date is March 31, and 60 days make an item stale."""
    bought = {"bought_on": D(2026, 1, 2), "paid": 4.0}
    sold = bought | {"listed_on": D(2026, 1, 3), "channel": "Booth", "sold_on": D(2026, 3, 5), "sale_price": 20.0}
    rows = [
        {"item_no": "unlisted", **bought},
        {"item_no": "new", **bought, "listed_on": D(2026, 3, 1)},
        {"item_no": "stale", **bought, "listed_on": D(2026, 1, 10)},
        {"item_no": "sold", **sold, "expected_postage": 5.0, "postage_paid": 6.0},
        {"item_no": "no label", **sold, "expected_postage": 5.0},
        {"item_no": "collected", **sold},
        {"item_no": "back", **sold, "refund": 20.0, "returned_on": D(2026, 3, 20)},
        {"item_no": "given away", **bought, "disposition": "Donated", "disposition_date": D(2026, 2, 1)},
        {"item_no": "unlisted too", **bought},
    ]
    inputs = Inputs(
        {"First_month": D(2026, 1, 1), "As_of_date": D(2026, 3, 31), "Opening_cash": 100.0, "Open_refunds": 7.5}
    )
    inputs.settings |= {"Shop_name": "", **settings}
    inputs.blocks["Channel"] = [{"name": "Booth", "rate": 0.1}]
    inputs.rows["Log"] = rows
    inputs.rows["Owner"] = [{"moved_on": D(2026, 1, 15), "partner": "Partner 1", "put_in": 30.0, "cash_counted": 94.0}]
    return inputs


def home(path: Path, edition: Edition, inputs: Inputs) -> dict[str, Any]:
    """What the sheet shows, by the keys of its cells; workbook and Python agree."""
    content = load_log(quick_log(path, edition, inputs))
    assert compare(compute_log(content)).differences == []
    return {str(key): value for key, value in content.shown["Home"].iloc[0].items()}


@pytest.mark.parametrize("edition", EDITIONS)
def test_figures_of_a_small_shop(tmp_path, edition):
    """Bought: 9 at 4.00. Sold in March: 4 at 20.00 with fees of 2.00, one refunded in full, one label of 6.00.

    Cash: 100 + 30 - 36 + 80 - 8 - 20 - 6 = 140. On hand: unlisted, new, stale, back, unlisted too: 20.00. Profit of
    March: three kept sales of 20 - 2 - 4, less the label, less the fee of the one that came back: 42 - 6 - 2 = 34. The
    gift costs no profit: it is the owners'.
    """
    shown = home(tmp_path / "log.xlsx", edition, shop())
    assert shown["answer"] == "This month earned 34.00"
    assert (shown["cash"], shown["inventory"]) == (140, 20)
    assert (shown["profit_month"], shown["profit_year"]) == (34, 34)
    # 30% of the profit is kept for taxes; nothing was bought in the last 30 days.
    assert shown["take_out"] == pytest.approx(140 - 7.5 - 10.2)
    assert shown["settings_filled"] == "2 of 6"
    assert shown["items_filled"] == "9 items"


def test_what_to_do_next(tmp_path):
    shown = home(tmp_path / "log.xlsx", "plain", shop())
    counts = {key: shown[f"{key}_count"] for key in ("list", "mark", "relist", "postage")}
    assert counts == {"list": 2, "mark": 1, "relist": 1, "postage": 1}
    links = [shown[f"{key}_link"] for key in ("list", "mark", "relist", "postage")]
    assert links == [f"Sourcing log, row {row}" for row in (7, 9, 13, 11)]
    assert (shown["open_refunds_amount"], shown["open_refunds_link"]) == (7.5, "Settings")
    assert (shown["bills_due_amount"], shown["bills_due_link"]) == (0, "")
    assert (shown["count_says"], shown["count_link"]) == ("75 days", "Owner money: count it")
    # The table of due dates on Settings names its source.
    assert shown["due_on"] == dt.datetime(2026, 4, 15)


def test_the_rows_say_it_themselves(tmp_path):
    log = load_log(quick_log(tmp_path / "log.xlsx", "plain", shop())).shown["Log"]
    steps = ["list it", "", "mark it down", "", "enter postage paid", "", "list it in a new row", "", "list it"]
    assert log["next_step"].tolist()[:9] == steps


@pytest.mark.parametrize("stale_days", [None, 0])
def test_nothing_is_late_without_stale_days(tmp_path, stale_days):
    shown = home(tmp_path / "log.xlsx", "plain", shop(Stale_days=stale_days))
    assert (shown["mark_count"], shown["mark_link"]) == (0, "")


def test_a_month_with_a_loss(tmp_path):
    inputs = shop()
    inputs.rows["Expenses"] = [{"spent_on": D(2026, 3, 9), "heading": "Advertising", "amount": 50.0}]
    assert home(tmp_path / "log.xlsx", "plain", inputs)["answer"] == "This month lost 16.00"


def test_an_empty_log_begins_with_three_steps(tmp_path):
    shown = home(tmp_path / "log.xlsx", "plain", Inputs())
    assert shown["answer"] == "Begin with the three steps below"
    assert [shown[key] for key in ("settings_link", "shelf_link", "log_link")] == [
        *("Settings", "Shelf check", "Sourcing log")
    ]
    assert shown["items_filled"] == "0 items"
    assert shown["count_says"] == "never"


def test_it_opens_first_and_leads_to_every_other_sheet(tmp_path):
    book = openpyxl.load_workbook(build_log(tmp_path / "log.xlsx", "plain", 20))
    assert book.sheetnames[0] == book.active.title == "Home"
    assert sorted(sheet for _, sheets in GROUPS for sheet in sheets) == sorted(book.sheetnames[1:])


def links() -> dict[str, str]:
    """Where each cell with a link on Home leads; a row of the log is read from what the cell shows."""
    found = {}
    for cell in LAYOUT.form("Home").cells():
        if cell.look == "link":
            row, place = PLACES.form_cells["Home"][cell.key]
            target = re.search(r"#'([^']+)'!([A-Z]+\d*)", cell.formula.formula("plain"))
            found[cell_name(row, place + 1)] = f"{target[1]}.{target[2]}"
    return found


@pytest.mark.libreoffice
def test_every_link_leads_where_it_says(tmp_path):
    source = build_log(tmp_path / "log.xlsx", "plain", 20, shop())
    book = openpyxl.load_workbook(source)
    ways = [cell for sheet in book for cell in sheet[1] if cell.hyperlink]
    # Those to other sheets are alike; a click takes a second.
    back = [(cell.parent.title, cell.coordinate) for cell in ways if cell.value == "Home" or cell.parent.title == "Pay"]
    steps = [["follow", "Home", cell] for cell in links()] + [["follow", *one] for one in back]
    told = json.loads(hands_on(source, tmp_path, {"links": steps}, keys=True))["links"]
    assert told["refused"] == ""
    assert {sheet for sheet, _ in back} == set(book.sheetnames[1:])
    for sheet, cell, words, went in told["went"]:
        if not words:
            continue  # Nothing to do, no way.
        goal = links()[cell] if sheet == "Home" else f"{words}.A1"
        if row := re.search(r", row (\d+)$", words):
            goal += row[1]
        assert went.replace("$", "").replace("'", "") == goal, (sheet, cell, words)


def test_a_log_that_is_longer_than_money_shows_no_profit_of_its_last_months(tmp_path):
    """Data checks says that Money ends; workbook and Python must agree on what is left, reserves among it."""
    path = tmp_path / "log.xlsx"
    shown = home(path, "plain", shop(First_month=D(2020, 1, 1)))
    assert (shown["profit_month"], shown["profit_year"]) == (0, 0)
    assert load_log(path).shown["Pay"].iloc[0]["tax_reserve"] == 0


def test_every_sheet_leads_home_and_to_those_of_its_group(tmp_path):
    """By what the file says; the words are those of the sheet, and none is cut by the next."""
    book = openpyxl.load_workbook(build_log(tmp_path / "log.xlsx", "plain", 20))
    for sheet in book.worksheets[1:]:
        ways = [cell for cell in sheet[1] if cell.hyperlink]
        assert [cell.hyperlink.location for cell in ways] == [f"'{cell.value}'!A1" for cell in ways]
        group = next(one for one in groups() if sheet.title in one)
        assert {cell.value for cell in ways} == {"Home", *group} - {sheet.title}
        for cell, behind in itertools.pairwise(ways):
            widths = [sheet.column_dimensions[column_letters(i - 1)].width for i in range(cell.column, behind.column)]
            assert sum(widths) >= len(cell.value), (sheet.title, cell.value)


def groups() -> list[set[str]]:
    """The sheets of each group; one without a word goes on with the one before it."""
    found: list[set[str]] = []
    for word, sheets in GROUPS:
        if word:
            found.append(set())
        found[-1].update(sheets)
    return found


SEARCHED = {"Stool 4": 8, "lamp": 9, "12": 10, "script": 11, "7": 12, "escr": None}
"""What is typed into the cell of the sourcing log that finds items, and in which row it is."""


@pytest.mark.libreoffice
def test_an_item_is_found_by_its_number_or_a_word(tmp_path):
    inputs = shop()
    inputs.rows["Log"] = [
        {"item_no": number, "description": description, "bought_on": D(2026, 1, 2), "paid": 1.0}
        for number, description in (
            ("A1", "Chair"),
            ("Stool 4", "Seat"),
            ("A3", "Desk lamp, brass"),
            (12, "Clock"),
            ("A5", "Old script"),
            ("7", "Vase"),
        )
    ]
    source = build_log(tmp_path / "log.xlsx", "plain", 20, inputs)
    steps = [
        step
        for words in SEARCHED
        for step in (["select", "Sourcing log", "B1"], ["text", words], ["follow", "Sourcing log", "C1"])
    ]
    went = json.loads(hands_on(source, tmp_path, {"find": steps}, keys=True))["find"]["went"]
    assert [shows for *_, shows, _ in went] == [f"row {row}" if row else "not found" for row in SEARCHED.values()]
    assert [goal.rpartition(".")[2] for *_, goal in went[:-1]] == [f"$E${row}" for row in SEARCHED.values() if row]
