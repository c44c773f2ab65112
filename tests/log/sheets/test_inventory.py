"""Sheet Inventory, and Stale inventory beside it: a small log by hand, in both editions."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import EDITIONS, Edition
from sheetfns.log.read.content import LogContent
from tests import libreoffice
from tests.log.filled_logs import FEW_ROWS, small_log
from tests.log.quick_logs import in_turn, quick_log
from tests.log.random_logs import random_entries
from tests.log.sheet_logs import sheet_log
from tests.log.sheets.aging_shop import IN_MONTH, ago, agreed, bought, day, hand_made, several, sold, words_agree
from tests.log.sheets.random_shelves import with_shelves

both = pytest.mark.parametrize("edition", EDITIONS)


def read_small(folder: Path, edition: Edition, inputs: Inputs, rows: int = FEW_ROWS) -> LogContent:
    log = sheet_log(edition, "Inventory", "Stale", rows=rows)
    figures = compute_log(log.read(log.filled(folder / "log.xlsx", inputs)))
    # Of a log that is odd on purpose, other sheets may show something else than Python works out.
    assert compare(figures, sheets=("Inventory", "Stale")).differences == []
    return words_agree(figures)


@pytest.fixture(scope="module", params=EDITIONS)
def by_hand(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> LogContent:
    path = quick_log(tmp_path_factory.mktemp("inventory") / "log.xlsx", request.param, hand_made())
    content = agreed(load_log(path))
    assert content.problems == []
    return content


@pytest.fixture
def inventory(by_hand: LogContent) -> Any:
    return by_hand.shown["Inventory"].iloc[0]


def group(inventory: Any, name: str, row: int) -> list[Any]:
    columns = ("name", "on_hand", "cost_now", "sold", "profit", "return", "monthly")
    return several(inventory, *(f"{name}_{column}_{row}" for column in columns))


def test_what_is_on_hand(inventory: Any) -> None:
    # Listed: A1, A4, A5, A6, M1 and C1: 4 + 5 + 6 + 7 + 2 + 3, asking 20 + 15 + 10 + 5 + 9.
    assert several(inventory, "listed_cost", "listed_count", "listed_asked") == [27, 6, 59]
    # Not listed: A2, A3, L1a, and R1, which came back: 6 + 0 + 3 + 3.
    assert several(inventory, "unlisted_cost", "unlisted_count") == [12, 4]
    assert several(inventory, "items_cost", "items_count") == [39, 10]
    assert several(inventory, "lots_cost", "lots_count") == [8, 1]
    assert several(inventory, "inventory_now", "inventory_on_money", "inventory_tie") == [47, 47, 0]
    # All on hand but A1 (29 days) and A2 (31).
    assert several(inventory, "stale_cost", "stale_count") == [29, 8]


def test_how_fast_it_turns(inventory: Any) -> None:
    assert inventory["first_day"] == pd.Timestamp(2026, 1, 31)
    assert inventory["days_counted"] == 90
    # A5 and A6; S1 was sold already.
    assert inventory["inventory_then"] == 13
    # L1b 6, R1 3 and S2 10 sold, R1 back, D1 2 discarded; sales 16 + 12 + 40 less 12.
    assert inventory["cost_of_sold"] == 18
    assert inventory["gross_margin"] == 56 - 18
    # The mean of 13 and 47 is 30.
    assert inventory["turns"] == pytest.approx(18 / 30 * 365 / 90)
    assert inventory["lasts"] == pytest.approx(47 / 18 * 90)
    assert inventory["earns"] == pytest.approx(38 / 30 * 365 / 90)
    # L1b and S2, and six are listed.
    assert several(inventory, "sold_count", "sell_through") == [2, 0.25]
    assert inventory["turn_note"] == ""


def test_age_classes_begin_and_end_with_their_days(inventory: Any) -> None:
    labels = ["0 to 30 days", "31 to 60 days", "61 to 90 days", "91 to 180 days",
              "181 to 365 days", "over 365 days", "", ""]  # fmt: skip
    assert several(inventory, *(f"label_{i}" for i in range(1, 9))) == labels
    # A1; A2 and A3; A4, A5, L1a, R1, M1, C1; A6.
    items = several(inventory, *(f"items_{i}" for i in range(1, 9)))
    assert items == [1, 2, 6, 1, 0, 0, None, None]
    costs = several(inventory, *(f"cost_{i}" for i in range(1, 9)))
    assert costs == [4, 6, 22, 7, 0, 0, None, None]
    assert inventory["share_3"] == pytest.approx(22 / 39)
    assert pd.isna(inventory["share_7"])


def test_categories(inventory: Any) -> None:
    # A1, A4, L1a, M1 are there; S1 earned 25 - 5, L1b 16 - 6, on 5 + 6 of cost. Cost x days: 4 x 30
    # + 5 x 61 + 3 x 79 + 2 x 74 + 5 x 15 + 6 x 30 = 1065; what was taken for personal use tells nothing.
    books = ["Books", 4, 14, 2, 30, 30 / 11, 30 / 1065 * IN_MONTH]
    # A2, A5, R1; S2: 40 - 4.30 - 5 - 10; 6 x 31 + 6 x 90 + 3 x 88 + 10 x 29 = 1280.
    tools = ["Tools", 3, 15, 1, 20.7, 2.07, 20.7 / 1280 * IN_MONTH]
    assert group(inventory, "category", 1) == pytest.approx(books)
    assert group(inventory, "category", 8) == pytest.approx(tools)
    assert group(inventory, "category", 2) == ["Clothing", 0, 0, 0, 0, None, None]
    assert group(inventory, "category", 10) == ["", *[None] * 6]
    # A3 (free), A6, C1; D1 lost its 2; 7 x 91 + 2 x 30 + 3 x 69 = 904.
    other = ["Other or blank", 3, 10, 0, -2, -1, -2 / 904 * IN_MONTH]
    assert group(inventory, "category", 21) == pytest.approx(other)
    together = ["Total", 10, 39, 3, 48.7, 48.7 / 23, 48.7 / 3249 * IN_MONTH]
    assert group(inventory, "category", 22) == pytest.approx(together)


def test_places(inventory: Any) -> None:
    # A1, A2, A4, M1; S1 and S2 less D1: 20 + 20.70 - 2 on 5 + 10 + 2; A4's place is the same place.
    # 4 x 30 + 6 x 31 + 5 x 61 + 2 x 74 + 2 x 30 + 5 x 15 + 10 x 29 = 1184.
    barn = ["Barn sale", 4, 17, 2, 38.7, 38.7 / 17, 38.7 / 1184 * IN_MONTH]
    # A5, A6, R1, and L1a by its lot; 6 x 90 + 7 x 91 + 3 x 88 + 3 x 79 + 6 x 30 = 1858.
    auction = ["Auction", 4, 19, 1, 10, 10 / 6, 10 / 1858 * IN_MONTH]
    assert group(inventory, "place", 1) == pytest.approx(barn)
    assert group(inventory, "place", 2) == pytest.approx(auction)
    # Nothing earned yet, the earlier row first; a free item divides nothing by 0.
    assert group(inventory, "place", 3) == ["not stated", 1, 0, 0, 0, None, None]
    assert group(inventory, "place", 4) == ["Attic", 1, 3, 0, 0, None, 0]
    assert group(inventory, "place", 5) == ["", *[None] * 6]
    assert inventory["more_places"] == ""


def test_times_to_sell_need_a_history(by_hand: LogContent, inventory: Any) -> None:
    assert inventory["history_sales"] == 3
    assert pd.isna(inventory["median_days"])
    assert pd.isna(inventory["chance_1"])
    said = {
        "plain": "Time and chances to sell need the functions edition.",
        "functions": "History too short: fewer than 10 sales that were kept.",
    }
    assert inventory["time_note"] == said[by_hand.edition or "plain"]


@both
def test_an_empty_log(tmp_path: Path, edition: Edition) -> None:
    content = read_small(tmp_path, edition, Inputs())
    inventory = content.shown["Inventory"].iloc[0]
    zero = ("inventory_now", "inventory_on_money", "inventory_tie", "items_count", "stale_count", "sold_count")
    assert several(inventory, *zero) == [0] * 6
    blank = ("turns", "lasts", "earns", "sell_through", "median_days", "share_1", "place_monthly_1")
    assert several(inventory, *blank) == [None] * 7
    assert inventory["turn_note"] == "Nothing that cost money was sold in these days."
    assert inventory["place_name_1"] == inventory["more_places"] == ""
    stale = content.shown["Stale"]
    assert len(stale) == 40
    assert (stale["what_to_do"] == "").all()


@both
def test_figures_as_of_before_the_first_month(tmp_path: Path, edition: Edition) -> None:
    content = read_small(tmp_path, edition, hand_made(As_of_date=dt.date(2025, 12, 31)))
    inventory = content.shown["Inventory"].iloc[0]
    assert several(inventory, "turns", "inventory_on_money", "inventory_tie") == [None] * 3
    assert inventory["turn_note"] == "As of is before the first month: see Settings."


@both
def test_more_came_back_than_was_sold(tmp_path: Path, edition: Edition) -> None:
    """Sold before the days that are counted, and back on one of them; then as much is sold."""
    inputs = hand_made()
    back = {"refund": 9, "refunded_on": day(3, 1), "returned_on": day(3, 1)}
    inputs.rows = {"Log": [bought("R", day(1, 4), 5, "", "", **sold(day(1, 10), 9, **back))]}
    inventory = read_small(tmp_path, edition, inputs).shown["Inventory"].iloc[0]
    assert several(inventory, "cost_of_sold", "turns", "lasts", "earns") == [-5, None, None, None]
    assert inventory["turn_note"] == "More came back than was sold in these days."
    inputs.rows["Log"].append(bought("S", day(3, 4), 5, "", "", **sold(day(3, 10), 9)))
    inventory = read_small(tmp_path, edition, inputs).shown["Inventory"].iloc[0]
    assert several(inventory, "cost_of_sold", "turns") == [0, None]
    assert inventory["turn_note"] == "Nothing that cost money was sold in these days."


@both
def test_a_sale_with_nothing_left_in_stock(tmp_path: Path, edition: Edition) -> None:
    """Bought and sold within the days: inventory was 0 before and is 0 now."""
    inputs = hand_made()
    inputs.rows = {"Log": [bought("S", day(4, 1), 5, "", "", **sold(day(4, 2), 9))]}
    inventory = read_small(tmp_path, edition, inputs).shown["Inventory"].iloc[0]
    assert several(inventory, "cost_of_sold", "gross_margin", "turns") == [5, 4, None]
    assert inventory["turn_note"] == "There is no inventory at cost."
    assert inventory["sell_through"] == 1


def history(unsold: list[int], sales: list[int]) -> list[Row]:
    waits = [bought(f"U{i}", ago(days), 2, "", "") for i, days in enumerate(unsold)]
    return waits + [bought(f"S{i}", ago(150), 2, "", "", **sold(ago(150 - days), 9)) for i, days in enumerate(sales)]


def test_chances_count_in_what_has_not_sold(tmp_path: Path) -> None:
    """Ten sales after 10, 20 ... 100 days, one item unsold at 55, one discarded at 5.

    11 are left from day 5 on. 8/11 are unsold after day 30 and 6/11 after day 50. The unsold one
    leaves at 55, so day 60 leaves 6/11 x 4/5 = 24/55, less than half. Day 90 leaves a quarter of
    that, and day 100 nothing.
    """
    inputs = hand_made()
    thrown = bought("D", ago(105), 2, "", "", disposition="Discarded", disposition_date=ago(100))
    rows = [*history([55], [10 * i for i in range(1, 11)]), thrown]
    inputs.rows = {"Log": rows}
    inventory = read_small(tmp_path, "functions", inputs).shown["Inventory"].iloc[0]
    assert several(inventory, "history_sales", "median_days", "longest") == [10, 60, 100]
    chances = several(inventory, *(f"chance_{i}" for i in range(1, 8)))
    assert chances[:5] == pytest.approx([3 / 11, 31 / 55, 49 / 55, 1, 1])
    assert chances[5:] == [None, None]
    assert inventory["time_note"] == "Items not sold yet are included."
    # A sale less is too few; an item taken for personal use tells nothing.
    inputs.rows = {"Log": rows[:-2]}
    inventory = read_small(tmp_path, "functions", inputs).shown["Inventory"].iloc[0]
    assert several(inventory, "history_sales", "median_days", "chance_1") == [9, None, None]


def test_no_median_while_over_half_wait(tmp_path: Path) -> None:
    """Ten sold after 10 days; twelve wait for 200: 10/22 is all that is known."""
    inputs = hand_made(First_month=dt.date(2025, 10, 1))
    inputs.rows = {"Log": history([200] * 12, [10] * 10)}
    content = read_small(tmp_path, "functions", inputs, 150)
    inventory = content.shown["Inventory"].iloc[0]
    assert pd.isna(inventory["median_days"])
    assert inventory["time_note"] == "Over half are not sold yet, not even those held longest."
    chances = several(inventory, *(f"chance_{i}" for i in range(1, 6)))
    assert chances[:4] == pytest.approx([10 / 22] * 4)
    assert chances[4] is None, "nothing is known of a year"


def test_words_of_categories_are_no_patterns(tmp_path: Path) -> None:
    words = ["A*b", "Axb", ">A", "a~b", "1960", "what?", "whats"]
    inputs = hand_made()
    inputs.blocks["Category"] = [{"name": word} for word in [*words, "AXB"]]
    inputs.rows = {"Log": [bought(f"P{i}", ago(5), 2**i, word, "") for i, word in enumerate(words)]}
    inventory = read_small(tmp_path, "functions", inputs).shown["Inventory"].iloc[0]
    costs = several(inventory, *(f"category_cost_now_{i}" for i in range(1, 8)))
    assert costs == [1, 2, 4, 8, 16, 32, 64]
    # The last word stands there already, in other capitals.
    assert group(inventory, "category", 8) == ["", *[None] * 6]
    assert inventory["category_cost_now_21"] == 0


def test_gaps_in_the_categories(tmp_path: Path) -> None:
    inputs = hand_made()
    inputs.blocks["Category"] = [{"name": "Tools"}, {}, {"name": "Books"}]
    inventory = read_small(tmp_path, "plain", inputs).shown["Inventory"].iloc[0]
    assert several(inventory, *(f"category_name_{i}" for i in (1, 2, 3))) == ["Tools", "", "Books"]
    assert several(inventory, "category_on_hand_1", "category_on_hand_3") == [3, 4]


def test_one_age_class(tmp_path: Path) -> None:
    inputs = hand_made()
    inputs.blocks["Age"] = [{"from_day": 0}]
    inventory = read_small(tmp_path, "functions", inputs).shown["Inventory"].iloc[0]
    keys = ("label_1", "items_1", "cost_1", "share_1", "label_2")
    assert several(inventory, *keys) == ["any age", 10, 39, 1, ""]


def test_more_places_and_stale_items_than_are_shown(tmp_path: Path) -> None:
    """45 wait, each a day longer than the next; 15 places, each earning more than the one before."""
    inputs = hand_made()
    waiting = [bought(f"U{i}", ago(100 - i), 1, "", "Place 0") for i in range(1, 41)]
    more = [bought(f"P{i}", ago(20), 1, "", f"Place {i}", **sold(ago(10), 1 + i)) for i in range(1, 15)]
    waiting += [bought(f"V{i}", ago(60), 1, "", "Place 0") for i in range(5)]
    inputs.rows = {"Log": waiting + more}
    content = read_small(tmp_path, "plain", inputs, 150)
    inventory = content.shown["Inventory"].iloc[0]
    assert several(inventory, "stale_count", "stale_cost") == [45, 45]
    stale = content.shown["Stale"]["item"].tolist()
    assert stale == [f"U{i}" for i in range(1, 41)]
    names = several(inventory, *(f"place_name_{i}" for i in range(1, 13)))
    assert names == [f"Place {i}" for i in range(14, 2, -1)]
    assert inventory["more_places"] == "Not shown: places that earned no more; 3 of them."


@pytest.mark.parametrize(("edition", "seed"), in_turn(range(20, 24)))
def test_random_logs_agree_and_add_up(tmp_path: Path, edition: Edition, seed: int) -> None:
    inputs = with_shelves(random_entries(seed, 120), seed)
    del inputs.rows["Comps"]  # More than there are ready rows, and none of them counts here.
    content = read_small(tmp_path, edition, inputs, 150)
    inventory = content.shown["Inventory"].iloc[0]
    assert inventory["inventory_tie"] == 0
    costs = [inventory[f"cost_{i}"] for i in range(1, 7)]
    assert sum(costs) == pytest.approx(inventory["items_cost"])
    groups = [inventory[f"category_profit_{i}"] for i in range(1, 22)]
    assert pd.Series(groups).sum() == pytest.approx(inventory["category_profit_22"])
    months = [inventory[f"place_monthly_{i}"] for i in range(1, 13)]
    known = [month for month in months if not pd.isna(month)]
    assert known == sorted(known, reverse=True)


@pytest.mark.libreoffice
def test_libreoffice_shows_the_same(tmp_path: Path) -> None:
    path = small_log(tmp_path / "log.xlsx", "plain", hand_made())
    content = agreed(load_log(libreoffice.recalculate(path, tmp_path / "out")))
    assert content.shown["Inventory"].iloc[0]["turns"] == pytest.approx(18 / 30 * 365 / 90)
    assert content.shown["Stale"]["item"].tolist()[:2] == ["A6", "A5"]
