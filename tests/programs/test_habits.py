"""What people do all day in a log, done by LibreOffice itself: after each, every figure is right or the log says it.

A figure is right if it is what Python works out from the entries as they then stand. Where a figure is not, the log counts
an error of that sheet by itself; two habits go on and do to the letter what it says.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sheetfns.files.cell_names import column_letters
from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.edit.upgrade import upgrade_log
from sheetfns.log.load import load_log
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.sheets import LEFT_EDGE, RIGHT_EDGE, UNIT_ROW, TableSheet
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import SETTINGS
from sheetfns.log.write.build import build_log
from tests.libreoffice import hands_on
from tests.log.hand_made_log import hand_made
from tests.programs.calc_office import profile_with_add_in, shared_by

ROWS = 20
LAYOUT = log_layout(ROWS)
LOG, LOTS, EXPENSES, TRIPS, OWNER = (LAYOUT.table(key) for key in ("Log", "Lots", "Expenses", "Trips", "Owner"))
COMPS, PERSONAL, PLAN = (LAYOUT.table(key) for key in ("Comps", "Personal", "Plan"))
Steps = list[list[Any]]


def letter(table: TableSheet, key: str) -> str:
    return column_letters(table.position(key))


def cell(table: TableSheet, key: str, row: int) -> str:
    return f"{letter(table, key)}{row}"


def entries(table: TableSheet, first: int, last: int | None = None) -> str:
    """The cells to fill in of some rows."""
    inputs = table.inputs()
    return f"{cell(table, inputs[0].key, first)}:{cell(table, inputs[-1].key, last or first)}"


def whole(table: TableSheet, first: int, last: int | None = None) -> str:
    """All cells of some rows."""
    return f"A{first}:{column_letters(len(table.columns) - 1)}{last or first}"


def cut(table: TableSheet, cells: str, to: str, into: TableSheet | None = None) -> list[Any]:
    return ["cut", table.name, cells, (into or table).name, to]


def copy(table: TableSheet, cells: str, to: str, into: TableSheet | None = None) -> list[Any]:
    return ["copy", table.name, cells, (into or table).name, to]


def typed(table: TableSheet, key: str, row: int, value: Any) -> list[Any]:
    return ["type", table.name, cell(table, key, row), value]


def formulas_from(table: TableSheet, source: int, row: int) -> Steps:
    """What the log says: copy the cells before [ and after ] from another row."""
    left, right = letter(table, LEFT_EDGE), letter(table, RIGHT_EDGE)
    last = column_letters(len(table.columns) - 1)
    return [
        copy(table, f"A{source}:{left}{source}", f"A{row}"),
        copy(table, f"{right}{source}:{last}{source}", f"{right}{row}"),
    ]


def setting(name: str) -> str:
    return f"B{AddressMap(LAYOUT).setting_rows[name]}"


def block_row(key: str, number: int) -> str:
    """A row of a small table on Settings, its cells to fill in."""
    block, row = LAYOUT.block(key), AddressMap(LAYOUT).block_rows[key] + number - 1
    return f"A{row}:{column_letters(len(block.columns) - 1)}{row}"


def form_input(key: str, number: int) -> str:
    """The n-th cell to fill in of a form."""
    cells = [one.key for one in LAYOUT.form(key).cells() if one.role == "input"]
    row, place = AddressMap(LAYOUT).form_cells[key][cells[number]]
    return f"{column_letters(place)}{row}"


def day(number: int) -> int:
    """A day of January 2026 as cells hold it."""
    return 46022 + number


NEW_ITEM = [("item_no", "N1"), ("bought_on", day(5)), ("paid", 20)]


def item(row: int) -> Steps:
    return [typed(LOG, key, row, value) for key, value in NEW_ITEM]


# A table: what is done, and what the log does then: right, or told.
# fmt: off
HABITS: dict[str, tuple[str, Steps]] = {
    "nothing": ("right", []),
    "paid_typed_one_cell_to_the_right": ("right", [
        ["clear", LOG.name, cell(LOG, "paid", 7)], typed(LOG, "purchase_tax", 7, 40),
        cut(LOG, cell(LOG, "purchase_tax", 7), cell(LOG, "paid", 7))]),
    "price_typed_one_cell_to_the_right": ("right", [
        typed(LOG, "shipping_charged", 15, 100), cut(LOG, cell(LOG, "shipping_charged", 15), cell(LOG, "sale_price", 15))]),
    "paid_cut_from_the_row_below": ("told", [cut(LOG, cell(LOG, "paid", 8), cell(LOG, "paid", 7))]),
    "item_number_cut_up": ("told", [cut(LOG, cell(LOG, "item_no", 8), cell(LOG, "item_no", 17))]),
    "an_item_typed_a_row_too_low": ("right", [
        *item(17), cut(LOG, entries(LOG, 17), cell(LOG, "item_no", 16))]),
    "an_item_cut_in_three_parts": ("right", [
        *item(17), *(cut(LOG, cell(LOG, key, 17), cell(LOG, key, 16)) for key, _ in NEW_ITEM)]),
    "the_cut_row_filled_again": ("right", [
        *item(17), cut(LOG, entries(LOG, 17), cell(LOG, "item_no", 16)),
        typed(LOG, "item_no", 17, "N2"), typed(LOG, "bought_on", 17, day(6)), typed(LOG, "paid", 17, 6)]),
    "a_block_moved_sideways_and_back": ("right", [
        cut(LOG, f"{cell(LOG, 'paid', 7)}:{cell(LOG, 'prep_cost', 9)}", cell(LOG, "purchase_tax", 17)),
        cut(LOG, f"{cell(LOG, 'purchase_tax', 17)}:{cell(LOG, 'channel', 19)}", cell(LOG, "paid", 7))]),
    "the_first_row_moved_down": ("right", [cut(LOG, entries(LOG, 7), cell(LOG, "item_no", 18))]),
    "the_last_ready_row_moved_up": ("right", [*item(26), cut(LOG, entries(LOG, 26), cell(LOG, "item_no", 17))]),
    "all_entries_moved_a_row_down": ("right", [cut(LOG, entries(LOG, 7, 15), cell(LOG, "item_no", 8))]),
    "a_whole_row_moved": ("right", [cut(LOG, whole(LOG, 9), "A20")]),
    "a_whole_row_moved_then_filled": ("told", [cut(LOG, whole(LOG, 9), "A20"), *item(9)]),
    "expense_moved_up": ("right", [cut(EXPENSES, entries(EXPENSES, 8), cell(EXPENSES, "spent_on", 12))]),
    "amount_cut_from_description": ("right", [
        ["clear", EXPENSES.name, cell(EXPENSES, "amount", 7)], typed(EXPENSES, "description", 7, 12),
        cut(EXPENSES, cell(EXPENSES, "description", 7), cell(EXPENSES, "amount", 7))]),
    "trip_moved": ("right", [cut(TRIPS, entries(TRIPS, 7), cell(TRIPS, "driven_on", 10))]),
    "miles_cut_from_the_row_below": ("told", [cut(TRIPS, cell(TRIPS, "miles", 8), cell(TRIPS, "miles", 7))]),
    "owner_money_moved": ("right", [
        cut(OWNER, cell(OWNER, "put_in", 7), cell(OWNER, "took_out", 7)),
        cut(OWNER, cell(OWNER, "took_out", 7), cell(OWNER, "put_in", 7))]),
    "the_lots_row_moved": ("right", [cut(LOTS, entries(LOTS, 7), cell(LOTS, "lot_no", 12))]),
    "lot_paid_moved_and_back": ("right", [
        cut(LOTS, cell(LOTS, "paid", 7), cell(LOTS, "purchase_tax", 9)),
        cut(LOTS, cell(LOTS, "purchase_tax", 9), cell(LOTS, "paid", 7))]),
    "copied_over": ("told", [copy(LOG, entries(LOG, 7), cell(LOG, "item_no", 16))]),
    "copied_and_renumbered": ("right", [
        copy(LOG, entries(LOG, 7), cell(LOG, "item_no", 16)), typed(LOG, "item_no", 16, "A9")]),
    "a_whole_row_copied_and_renumbered": ("right", [
        copy(LOG, whole(LOG, 7), "A16"), typed(LOG, "item_no", 16, "A9")]),
    "an_amount_copied": ("right", [copy(LOG, cell(LOG, "paid", 8), cell(LOG, "paid", 7))]),
    **{f"sorted_by_{key}_{'up' if rising else 'down'}": ("right", [
        ["sort_list", LOG.name, LOG.position(key), rising]])
       for key in ("item_no", "description", "bought_on", "paid", "channel", "sold_on", "sale_price", "lot_no",
                   "status", "net_profit")
       for rising in (True, False)},
    "entries_alone_sorted": ("right", [["sort", LOG.name, entries(LOG, 7, 15), 0, False, False]]),
    "expenses_sorted": ("right", [["sort_list", EXPENSES.name, EXPENSES.position("amount"), True]]),
    "trips_sorted": ("right", [["sort_list", TRIPS.name, TRIPS.position("miles"), True]]),
    "lots_sorted": ("right", [["sort_list", LOTS.name, LOTS.position("paid"), True]]),
    "owner_money_sorted": ("right", [["sort_list", OWNER.name, OWNER.position("moved_on"), True]]),
    "one_column_sorted_alone": ("told", [
        ["sort", LOG.name, f"{cell(LOG, 'lot_no', 7)}:{cell(LOG, 'lot_no', 15)}", 0, True, False]]),
    "headings_sorted_in": ("told", [["sort", LOG.name, whole(LOG, 1, 26), LOG.position("paid"), True, False]]),
    "row_inserted": ("right", [["insert", LOG.name, whole(LOG, 10)]]),
    "row_inserted_and_filled": ("told", [["insert", LOG.name, whole(LOG, 10)], *item(10)]),
    "row_inserted_filled_and_mended": ("right", [
        ["insert", LOG.name, whole(LOG, 10)], *item(10), *formulas_from(LOG, 9, 10)]),
    "row_inserted_first_filled_and_mended": ("right", [
        ["insert", LOG.name, whole(LOG, 7)], *item(7), *formulas_from(LOG, 8, 7)]),
    "row_inserted_first_and_filled": ("told", [["insert", LOG.name, whole(LOG, 7)], *item(7)]),
    "row_inserted_last_filled_and_mended": ("right", [
        ["insert", LOG.name, whole(LOG, 27)], *item(27), *formulas_from(LOG, 9, 27)]),
    "expense_inserted_and_filled": ("told", [
        ["insert", EXPENSES.name, whole(EXPENSES, 8)], typed(EXPENSES, "spent_on", 8, day(7)),
        typed(EXPENSES, "heading", 8, "Advertising"), typed(EXPENSES, "amount", 8, 5)]),
    "column_of_ones_own_inserted": ("right", [
        ["insert_column", LOG.name, f"{letter(LOG, 'paid')}1"],
        ["type", LOG.name, f"{letter(LOG, 'paid')}6", "Shelf"], ["type", LOG.name, f"{letter(LOG, 'paid')}7", 12]]),
    "column_inserted_and_paid_cut_across_it": ("right", [
        ["insert_column", LOG.name, f"{letter(LOG, 'paid')}1"],
        cut(LOG, cell(LOG, "purchase_tax", 7), cell(LOG, "paid", 7)),
        cut(LOG, cell(LOG, "paid", 7), cell(LOG, "purchase_tax", 7))]),
    "row_deleted": ("right", [["delete", LOG.name, whole(LOG, 8)]]),
    "first_row_deleted": ("right", [["delete", LOG.name, whole(LOG, 7)]]),
    "last_ready_row_deleted": ("right", [["delete", LOG.name, whole(LOG, 26)]]),
    "lot_row_deleted": ("told", [["delete", LOTS.name, whole(LOTS, 7)]]),
    "entries_cleared": ("right", [["clear", LOG.name, entries(LOG, 8)]]),
    "a_whole_row_cleared": ("right", [["clear", LOG.name, whole(LOG, 8)]]),
    "a_whole_row_cleared_then_filled": ("told", [["clear", LOG.name, whole(LOG, 9)], *item(9)]),
    "a_formula_typed_over": ("told", [["type", LOG.name, cell(LOG, "landed_cost", 7), 80]]),
    "a_formula_typed_over_and_mended": ("right", [
        ["type", LOG.name, cell(LOG, "landed_cost", 7), 80], *formulas_from(LOG, 9, 7)]),
    "a_formula_cleared": ("told", [["clear", LOG.name, cell(LOG, "fee", 7)]]),
    "net_profit_typed_over": ("told", [["type", LOG.name, cell(LOG, "net_profit", 7), 500]]),
    "filled_down_over_a_gap": ("right", [
        ["fill_down", LOG.name, f"{cell(LOG, 'channel', 7)}:{cell(LOG, 'channel', 9)}"]]),
    "results_filled_down": ("right", [["fill_down", LOG.name, f"A7:{letter(LOG, LEFT_EDGE)}12"]]),
    "words_for_an_amount": ("told", [typed(LOG, "paid", 7, "ten")]),
    "a_date_as_text": ("told", [typed(LOG, "bought_on", 7, "'2026-01-05x")]),
    "a_comma_in_an_amount": ("told", [typed(LOG, "paid", 7, "'9,99")]),
    "ten_rows_pasted_from_another_program": ("right", [
        ["paste", LOG.name, cell(LOG, "item_no", 16), [[f"N{n}", "Plate", "", "", day(n)] for n in range(1, 11)]],
        ["paste", LOG.name, cell(LOG, "paid", 16), [[n] for n in range(1, 11)]]]),
    "two_hundred_rows_pasted_into_twenty": ("told", [
        ["paste", LOG.name, cell(LOG, "item_no", 16), [[f"N{n}", "Plate", "", "", day(n)] for n in range(1, 201)]]]),
    "blanks_pasted_over_amounts": ("told", [["paste", LOG.name, cell(LOG, "paid", 7), [[""]] * 3]]),
    "a_date_pasted_as_text": ("told", [["paste", LOG.name, cell(LOG, "bought_on", 7), [["'05.01.2026"]]]]),
    "expenses_copied_from_the_log": ("told", [
        copy(LOG, entries(LOG, 7, 8), cell(EXPENSES, "spent_on", 12), EXPENSES)]),
    "pasted_below_the_closing_line": ("told", [copy(LOG, entries(LOG, 7), cell(LOG, "item_no", 40))]),
    "pasted_above_the_headers": ("told", [copy(LOG, cell(LOG, "paid", 7), cell(LOG, "paid", 5))]),
    "pasted_results_into_entries": ("told", [copy(LOG, cell(LOG, "status", 7), cell(LOG, "paid", 8))]),
    "two_moves_in_a_row": ("right", [
        cut(LOG, entries(LOG, 9), cell(LOG, "item_no", 18)), cut(LOG, entries(LOG, 8), cell(LOG, "item_no", 9)),
        ["sort_list", LOG.name, LOG.position("item_no"), True]]),
    "sorted_and_inserted": ("told", [
        ["sort_list", LOG.name, LOG.position("paid"), False], ["insert", LOG.name, whole(LOG, 8)], *item(8)]),
    "as_of_left_blank": ("right", [["clear", SETTINGS, setting("As_of_date")]]),
    "a_sale_after_the_as_of_date": ("told", [typed(LOG, "sold_on", 15, day(150))]),
    "a_sale_while_as_of_is_blank": ("right", [
        ["clear", SETTINGS, setting("As_of_date")], typed(LOG, "sold_on", 15, day(150)),
        typed(LOG, "sale_price", 15, 12)]),
    "both_ends_left_blank": ("right", [
        ["clear", SETTINGS, setting("As_of_date")], ["clear", SETTINGS, setting("First_month")]]),
    "an_early_sale_while_the_first_month_is_blank": ("right", [
        ["clear", SETTINGS, setting("First_month")], typed(LOG, "bought_on", 7, day(-300))]),
    "a_channels_row_moved_on_settings": ("right", [
        ["cut", SETTINGS, block_row("Channel", 1), SETTINGS, block_row("Channel", 5).partition(":")[0]]]),
    "a_partners_row_moved_on_settings": ("right", [
        ["cut", SETTINGS, block_row("Partner", 1), SETTINGS, block_row("Partner", 4).partition(":")[0]]]),
    "a_setting_cut_from_the_cell_below": ("told", [
        ["type", SETTINGS, setting("Open_refunds"), 12],
        ["cut", SETTINGS, setting("Open_refunds"), SETTINGS, setting("Bills_due")]]),
    "a_setting_cut_onto_a_locked_cell": ("right", [["cut", SETTINGS, setting("Opening_cash"), SETTINGS, "G9"]]),
    "a_setting_cut_into_a_table": ("told", [
        ["cut", SETTINGS, setting("Opening_cash"), SETTINGS, block_row("Channel", 6).partition(":")[2]]]),
    "a_reserve_cut_from_its_cell": ("told", [
        ["type", SETTINGS, setting("Tax_reserve"), 20],
        ["cut", SETTINGS, setting("Tax_reserve"), SETTINGS, setting("Restock_reserve")]]),
    "reserves_cleared": ("right", [
        ["clear", SETTINGS, setting("Tax_reserve")], ["clear", SETTINGS, setting("Restock_reserve")],
        ["clear", SETTINGS, setting("Trip_cash")]]),
    "a_word_for_a_reserve": ("told", [["type", SETTINGS, setting("Tax_reserve"), "a third"]]),
    "a_default_channel_cut_from_its_cell": ("told", [
        ["type", SETTINGS, setting("Default_channel"), "Booth"],
        ["cut", SETTINGS, setting("Default_channel"), SETTINGS, setting("Shop_name")]]),
    "a_default_channel_that_is_not_there": ("told", [["type", SETTINGS, setting("Default_channel"), "Nowhere"]]),
    "the_last_row_that_prints_typed": ("right", [["type", LOG.name, f"{letter(LOG, LEFT_EDGE)}{UNIT_ROW}", 20]]),
    "a_price_cut_on_shelf_check": ("told", [["cut", "Shelf check", form_input("Shelf", 1), "Shelf check", form_input("Shelf", 0)]]),
    "a_title_cut_on_listing_desk": ("told", [["cut", "Listing desk", form_input("Desk", 1), "Listing desk", form_input("Desk", 0)]]),
    "entries_of_both_halves_cut_and_brought_back": ("right", [
        cut(LOG, f"{cell(LOG, 'prep_cost', 15)}:{cell(LOG, 'sale_price', 15)}", cell(LOG, "prep_cost", 18)),
        cut(LOG, f"{cell(LOG, 'prep_cost', 18)}:{cell(LOG, 'sale_price', 18)}", cell(LOG, "prep_cost", 15))]),
    "a_part_of_a_row_moved_down": ("told", [
        cut(LOG, f"{cell(LOG, 'paid', 15)}:{cell(LOG, 'sale_price', 15)}", cell(LOG, "paid", 18))]),
    "a_row_moved_one_cell_to_the_right": ("told", [cut(LOG, entries(LOG, 15), cell(LOG, "description", 15))]),
    "undone_move": ("right", [cut(LOG, entries(LOG, 9), cell(LOG, "item_no", 18)), ["undo", 1]]),
    "undone_sort": ("right", [["sort_list", LOG.name, LOG.position("paid"), False], ["undo", 1]]),
    "undone_insertion": ("right", [["insert", LOG.name, whole(LOG, 10)], ["undo", 1]]),
    "undone_deletion": ("right", [["delete", LOG.name, whole(LOG, 9)], ["undo", 1]]),
}
# fmt: on


def select(table: TableSheet, cells: str) -> list[Any]:
    return ["select", table.name, cells]


CUT, COPY, PASTE = (["keys", f"ctrl+{key}"] for key in "xcv")
YES = ["dialog", "Return"]
"""To the question whether to paste over what is there."""
REFUSED = [["dialog", "Return"], ["keys", "Escape"]]
"""A window that says why, closed, and the cell left as it was."""
# fmt: off
BY_KEYS: dict[str, tuple[str, Steps]] = {
    "typed_one_cell_to_the_right_and_cut": ("right", [
        select(LOG, cell(LOG, "paid", 7)), ["keys", "Delete"], select(LOG, cell(LOG, "purchase_tax", 7)), ["text", "40"],
        select(LOG, cell(LOG, "purchase_tax", 7)), CUT, select(LOG, cell(LOG, "paid", 7)), PASTE]),
    "paid_cut_from_the_row_below": ("told", [
        select(LOG, cell(LOG, "paid", 8)), CUT, select(LOG, cell(LOG, "paid", 7)), PASTE, YES]),
    "a_row_copied_and_renumbered": ("right", [
        select(LOG, entries(LOG, 7)), COPY, select(LOG, cell(LOG, "item_no", 16)), PASTE, YES,
        select(LOG, cell(LOG, "item_no", 16)), ["text", "A9"]]),
    "a_whole_row_cut": ("right", [select(LOG, whole(LOG, 9)), CUT, select(LOG, "A20"), PASTE, YES]),
    "a_row_cleared": ("right", [select(LOG, whole(LOG, 8)), ["keys", "Delete"]]),
    "a_row_inserted": ("right", [select(LOG, "B10"), ["keys", "shift+space", "ctrl+plus"]]),
    "a_row_inserted_and_filled": ("told", [
        select(LOG, "B10"), ["keys", "shift+space", "ctrl+plus"], select(LOG, cell(LOG, "item_no", 10)), ["text", "N1"]]),
    "a_row_deleted": ("right", [select(LOG, "B8"), ["keys", "shift+space", "ctrl+minus"]]),
    "filled_down": ("right", [
        select(LOG, f"{cell(LOG, 'channel', 7)}:{cell(LOG, 'channel', 9)}"), ["keys", "ctrl+d"]]),
    "sorted_by_the_button": ("right", [select(LOG, cell(LOG, "paid", 8)), ["menu", ".uno:SortAscending"]]),
    "a_formula_typed_over": ("right", [select(LOG, cell(LOG, "landed_cost", 7)), ["text", "80"], *REFUSED]),
    "a_word_for_an_amount": ("right", [select(LOG, cell(LOG, "paid", 7)), ["text", "ten"], *REFUSED]),
    "a_move_undone": ("right", [
        select(LOG, cell(LOG, "paid", 8)), CUT, select(LOG, cell(LOG, "paid", 7)), PASTE, YES, ["keys", "ctrl+z", "ctrl+z"]]),
}
# fmt: on
AFTER_KEYS: dict[str, dict[tuple[str, int], Any]] = {
    "typed_one_cell_to_the_right_and_cut": {("paid", 7): 40, ("purchase_tax", 7): None},
    "paid_cut_from_the_row_below": {("paid", 7): 8, ("paid", 8): None},
    "a_row_copied_and_renumbered": {("item_no", 16): "A9", ("paid", 16): 5},
    "a_whole_row_cut": {("item_no", 9): None, ("item_no", 20): "A3"},
    "a_row_cleared": {("item_no", 8): None},
    "a_row_inserted": {("item_no", 10): None, ("item_no", 11): "A4"},
    "a_row_inserted_and_filled": {("item_no", 10): "N1", ("item_no", 11): "A4"},
    "a_row_deleted": {("item_no", 8): "A3"},
    "filled_down": {("channel", 9): "Site"},
    "sorted_by_the_button": {("item_no", 7): "A6", ("item_no", 8): "A5"},
    "a_formula_typed_over": {("landed_cost", 7): 5.35},
    "a_word_for_an_amount": {("paid", 7): 5},
    "a_move_undone": {("paid", 7): 5, ("paid", 8): 8},
}
"""What cells hold then, so that no key was lost."""


@dataclass(frozen=True)
class Outcome:
    """What a habit led to."""

    path: Path
    errors: float
    failing: list[list[Any]]
    refused: str
    went: list[list[str]] = field(default_factory=list)


@pytest.fixture(scope="module")
def outcomes() -> Iterator[dict[str, Outcome]]:
    with tempfile.TemporaryDirectory() as folder:
        source = build_log(Path(folder) / "source.xlsx", "plain", ROWS, hand_made())
        told = json.loads(hands_on(source, Path(folder), {name: steps for name, (_, steps) in HABITS.items()}))
        yield {name: Outcome(Path(folder) / f"{name}.xlsx", **said) for name, said in told.items()}


@pytest.fixture(scope="module")
def outcomes_by_keys() -> Iterator[dict[str, Outcome]]:
    with tempfile.TemporaryDirectory() as folder:
        source = build_log(Path(folder) / "source.xlsx", "plain", ROWS, hand_made())
        told = json.loads(
            hands_on(source, Path(folder), {name: steps for name, (_, steps) in BY_KEYS.items()}, keys=True)
        )
        yield {name: Outcome(Path(folder) / f"{name}.xlsx", **said) for name, said in told.items()}


IN_FUNCTIONS = (
    *(
        "nothing",
        "paid_typed_one_cell_to_the_right",
        "price_typed_one_cell_to_the_right",
        "paid_cut_from_the_row_below",
    ),
    *("an_item_typed_a_row_too_low", "the_first_row_moved_down", "a_whole_row_moved", "trip_moved"),
    *("copied_over", "copied_and_renumbered", "sorted_by_paid_up", "sorted_by_net_profit_down", "lots_sorted"),
    *("headings_sorted_in", "row_inserted", "row_inserted_and_filled", "row_inserted_filled_and_mended"),
    *("row_deleted", "a_whole_row_cleared", "a_formula_typed_over", "a_formula_typed_over_and_mended"),
    *("words_for_an_amount", "both_ends_left_blank", "undone_sort"),
)
"""Those done in the functions edition too, with the add-in: one of each kind, because each takes seconds there."""


@pytest.fixture(scope="module")
def outcomes_with_functions(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Outcome]]:
    with tempfile.TemporaryDirectory() as folder:
        source = build_log(Path(folder) / "source.xlsx", "functions", ROWS, hand_made())
        habits = {name: HABITS[name][1] for name in IN_FUNCTIONS}
        told = json.loads(hands_on(source, Path(folder), habits, profile_with_add_in(shared_by(tmp_path_factory))))
        yield {name: Outcome(Path(folder) / f"{name}.xlsx", **said) for name, said in told.items()}


@pytest.mark.libreoffice
@pytest.mark.parametrize("name", HABITS)
def test_after_it_every_figure_is_right_or_the_log_says_so(outcomes: dict[str, Outcome], name: str) -> None:
    right_or_told(outcomes[name], HABITS[name][0])


@pytest.mark.libreoffice
@pytest.mark.parametrize("name", IN_FUNCTIONS)
def test_so_it_is_where_cells_call_functions(outcomes_with_functions: dict[str, Outcome], name: str) -> None:
    right_or_told(outcomes_with_functions[name], HABITS[name][0])


@pytest.mark.libreoffice
@pytest.mark.parametrize("name", BY_KEYS)
def test_so_it_is_by_the_keyboard(outcomes_by_keys: dict[str, Outcome], name: str) -> None:
    outcome = outcomes_by_keys[name]
    sheet = openpyxl.load_workbook(outcome.path, data_only=True)[LOG.name]
    assert {(key, row): sheet[cell(LOG, key, row)].value for key, row in AFTER_KEYS[name]} == AFTER_KEYS[name]
    right_or_told(outcome, BY_KEYS[name][0])


def right_or_told(outcome: Outcome, expected: str) -> None:
    assert outcome.refused == ""
    if expected == "told":
        assert outcome.errors > 0, "wrong in silence"
        return
    content = load_log(outcome.path)
    assert compare(compute_log(content)).differences == []
    assert outcome.errors == 0, outcome.failing


@pytest.mark.libreoffice
@pytest.mark.parametrize(
    "name",
    [
        *("words_for_an_amount", "a_comma_in_an_amount", "a_date_as_text", "row_inserted_and_filled"),
        *(
            "row_inserted_first_and_filled",
            "expense_inserted_and_filled",
            "a_formula_typed_over",
            "sorted_and_inserted",
        ),
        *("a_sale_after_the_as_of_date", "copied_over", "net_profit_typed_over"),
    ],
)
def test_one_wrong_thing_is_one_error(outcomes: dict[str, Outcome], name: str) -> None:
    assert outcomes[name].errors == 1, outcomes[name].failing


MENDED_BY_UPGRADE = (
    *("headings_sorted_in", "row_inserted_and_filled", "row_inserted_first_and_filled", "expense_inserted_and_filled"),
    *("a_whole_row_moved_then_filled", "a_whole_row_cleared_then_filled", "sorted_and_inserted"),
    *("a_formula_typed_over", "a_formula_cleared", "net_profit_typed_over", "a_setting_cut_from_the_cell_below"),
)
"""Those after which the entries are right, and the formulas are not."""


@pytest.mark.libreoffice
@pytest.mark.parametrize("name", MENDED_BY_UPGRADE)
def test_upgrade_brings_it_back(outcomes: dict[str, Outcome], name: str, tmp_path: Path) -> None:
    new = tmp_path / "new.xlsx"
    upgrade_log(outcomes[name].path, new)
    content = load_log(new)
    assert compare(compute_log(content)).differences == []
    if name == "headings_sorted_in":
        for key, rows in load_log(outcomes["nothing"].path).inputs().rows.items():
            found = content.inputs().rows[key]
            assert sorted(map(str, found)) == sorted(map(str, rows)), "headings are no entries"
