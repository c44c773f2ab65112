"""Entries that can be right and seldom are: a price far off, a day for a month, a comma, a year that is not meant."""

from __future__ import annotations

import pytest

from sheetfns.log.check.report import LOOK, check_log
from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import EDITIONS, FIRST_ROW
from tests.log.hand_made_log import D
from tests.log.quick_logs import quick_log


def item(number: int, **entries: object) -> dict[str, object]:
    return {"item_no": f"P{number}", "bought_on": D(2026, 3, number), "paid": 4.0, **entries}


def sold(number: int, price: float, **asked: float) -> dict[str, object]:
    return item(number, channel="Booth", sold_on=D(2026, 3, 28), sale_price=price, **asked)


ITEMS = [
    sold(1, 2350, asking_price=24),
    sold(2, 100, asking_price=20),
    sold(3, 100.01, asking_price=20, expected_price=500),
    sold(4, 3.99, expected_price=20),
    sold(5, 4, expected_price=20),
    sold(6, 900),
    # Day and month of the seventh are swapped; the eighth and tenth cannot be, the ninth is of its time.
    item(7, bought_on=D(2026, 7, 3)),
    item(8),
    item(9, bought_on=D(2026, 9, 9)),
    item(10),
    item(11, bought_on=D(2025, 12, 25)),
    item(12),
]
SEEN = {
    # The rows in which it is seen, counted from the first.
    "price_far_off": [0, 2, 3],
    "day_swapped": [6],
}


@pytest.mark.parametrize("edition", EDITIONS)
def test_rows_worth_a_look(tmp_path, edition):
    inputs = Inputs(blocks={"Channel": [{"name": "Booth"}]}, rows={"Log": ITEMS})
    content = load_log(quick_log(tmp_path / "log.xlsx", edition, inputs))
    figures = compute_log(content)
    assert compare(figures).differences == []
    checks = content.shown["Data checks"].set_index("key")
    for key, rows in SEEN.items():
        assert checks.loc[f"Log_{key}", "count"] == len(rows), key
        assert checks.loc[f"Log_{key}", "first"] == FIRST_ROW + rows[0]
        assert checks.loc[f"Log_{key}", "kind"] == "look"
    assert checks.loc[checks["kind"].isin(("fix", "wait")), "count"].sum() == 0


@pytest.mark.parametrize(
    ("table", "row"),
    [
        ("Expenses", {"day": "spent_on", "heading": "Advertising", "amount": 1.0}),
        ("Trips", {"day": "driven_on", "purpose": "Buying", "to_place": "Market", "miles": 3.0}),
        ("Owner", {"day": "moved_on", "partner": "Ada", "put_in": 1.0}),
        ("Lots", {"day": "bought_on", "paid": 1.0}),
    ],
)
def test_a_swapped_day_is_seen_on_each_sheet(tmp_path, table, row):
    rows = []
    for number, day in enumerate([D(2026, 4, 28), D(2026, 3, 5), D(2026, 5, 20)]):
        entries = {key: value for key, value in row.items() if key != "day"} | {row["day"]: day}
        rows.append(entries | ({"lot_no": f"L{number}"} if table == "Lots" else {}))
    inputs = Inputs(blocks={"Partner": [{"name": "Ada", "share": 1.0}]}, rows={table: rows})
    content = load_log(quick_log(tmp_path / "log.xlsx", inputs=inputs))
    assert compare(compute_log(content)).differences == []
    checks = content.shown["Data checks"].set_index("key")
    assert checks.loc[f"{table}_day_swapped", ["count", "first"]].tolist() == [1, FIRST_ROW + 1]


def test_a_comma_is_named(tmp_path):
    rows = [item(1), item(2, paid="9,99"), item(3, description="a, b")]
    log = quick_log(tmp_path / "log.xlsx", inputs=Inputs(rows={"Log": rows}))
    checks = load_log(log).shown["Data checks"].set_index("key")
    assert checks.loc["Log_comma", "count"] == 1
    # The wrong cell is one error; what fails because of it waits.
    assert checks.loc[checks["kind"] == "fix", "count"].sum() == 1
    assert checks.loc[checks["kind"] == "wait", "count"].sum() >= 1
    assert [one.key for one in check_log(log).findings if one.group != LOOK] == ["not_a_number", "errors_follow"]


@pytest.mark.parametrize(
    ("as_of", "last", "alone"),
    [(None, D(2027, 3, 3), 1), (None, D(2026, 5, 11), 1), (None, D(2026, 5, 10), 0), (D(2027, 3, 3), D(2027, 3, 3), 0)],
)
def test_a_year_that_is_not_meant(tmp_path, as_of, last, alone):
    rows = [item(number) for number in range(1, 12)] + [item(12, bought_on=last)]
    inputs = Inputs(settings={"As_of_date": as_of}, rows={"Log": rows})
    content = load_log(quick_log(tmp_path / "log.xlsx", inputs=inputs))
    assert content.shown["Data checks"].set_index("key").loc["Settings_last_date", "count"] == alone
