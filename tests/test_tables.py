"""The dated tables of the package: whole, in order, and with days that can be worked out anew."""

from __future__ import annotations

import datetime as dt
import itertools
from typing import Any

import numpy as np
import pytest

from sheetfns import tables
from sheetfns.cell_types import date_of_number
from sheetfns.errors import CellError
from sheetfns.tables import DATED_TABLES, DatedFigure, TableError, dated_figures, figure_on

FIGURES = {
    "mileage": ["Rate per mile"],
    "wage_base": ["Wage base"],
    "self_employment": [
        "Net earnings share",
        "Minimum net earnings",
        "Social security rate",
        "Medicare rate",
        "Deductible share",
    ],
    "home_office": ["Home office rate", "Home office limit"],
    "reporting_threshold": ["Reported gross over", "Reported sales over"],
    "receipts_test": ["Receipts test"],
    "estimated_tax": [
        "Share of this year",
        "Share of last year",
        "Share of last year, high income",
        "High income over",
    ],
    "estimated_due": ["Payment 1", "Payment 2", "Payment 3", "Payment 4"],
}
LAST_DAY = dt.date(2026, 12, 31)
"""What has been read holds until then at most."""
DUE_YEARS = range(2023, 2027)


@pytest.mark.parametrize("table", DATED_TABLES)
def test_each_table_has_its_figures_without_gaps(table: str) -> None:
    rows = dated_figures(table)
    assert list(dict.fromkeys(row.figure for row in rows)) == FIGURES[table]
    for figure in FIGURES[table]:
        spans = [row for row in rows if row.figure == figure]
        for earlier, later in itertools.pairwise(spans):
            assert later.valid_from == earlier.valid_until + dt.timedelta(days=1), later
        assert spans[-1].valid_until == LAST_DAY
    assert all(row.table == table and row.unit and row.source for row in rows)


def test_a_name_stands_in_one_table() -> None:
    assert set(FIGURES) == set(DATED_TABLES)
    names = [name for figures in FIGURES.values() for name in figures]
    assert len(set(names)) == len(names)


def test_all_tables_together() -> None:
    apart = tuple(row for table in DATED_TABLES for row in dated_figures(table))
    assert dated_figures() == apart == dated_figures(*DATED_TABLES)
    assert dated_figures() is dated_figures()


def test_a_row_as_it_is_read() -> None:
    assert dated_figures("receipts_test")[0] == DatedFigure(
        table="receipts_test",
        figure="Receipts test",
        valid_from=dt.date(2025, 1, 1),
        valid_until=dt.date(2025, 12, 31),
        value=31_000_000.0,
        unit="USD",
        source="IRC 471(c), gross receipts test, IRS figure for 2025",
        status="read",
    )


@pytest.mark.parametrize(
    ("figure", "day", "value"),
    [
        ("Rate per mile", "2026-06-30", 0.725),
        ("Rate per mile", "2026-07-01", 0.76),
        ("Wage base", "2018-01-01", 128_400),
        ("Wage base", "2026-12-31", 184_500),
        ("Share of last year, high income", "2025-12-31", 1.1),
    ],
)
def test_a_figure_on_a_day(figure: str, day: str, value: float) -> None:
    assert figure_on(figure, dt.date.fromisoformat(day)) == value


@pytest.mark.parametrize(
    ("figure", "day", "message"),
    [
        ("Wage base", "2027-12-31", "table wage_base has no Wage base for 2027"),
        ("Wage base", "2017-12-31", "table wage_base has no Wage base for 2017"),
        ("Payment 1", "2022-12-31", "table estimated_due has no Payment 1 for 2022"),
        ("Rate per mile", "2027-01-01", "table mileage has no Rate per mile for 2027-01-01"),
    ],
)
def test_a_day_that_no_row_covers(figure: str, day: str, message: str) -> None:
    with pytest.raises(CellError) as caught:
        figure_on(figure, dt.date.fromisoformat(day))
    assert caught.value == CellError("#N/A", f"{message}; add it when it is published")


@pytest.mark.parametrize("figure", [name for names in FIGURES.values() for name in names])
def test_nothing_is_known_of_2027(figure: str) -> None:
    with pytest.raises(CellError, match="2027"):
        figure_on(figure, dt.date(2027, 1, 1))


def test_a_figure_that_no_table_has() -> None:
    with pytest.raises(KeyError, match="no dated table has the figure Sales tax"):
        figure_on("Sales tax", LAST_DAY)


# Days of payment, worked out anew.


def observed(day: dt.date) -> dt.date:
    """A legal holiday on a Saturday is observed on the Friday, one on a Sunday on the Monday."""
    return day + dt.timedelta(days={5: -1, 6: 1}.get(day.weekday(), 0))


def third_monday_of_january(year: int) -> dt.date:
    first = dt.date(year, 1, 1)
    return first + dt.timedelta(days=(-first.weekday()) % 7 + 14)


def days_of_payment(year: int) -> list[dt.date]:
    """15 Apr, 15 Jun, 15 Sep and 15 Jan (second hand), or the next business day. Holidays near them (from
    memory): Emancipation Day of the District of Columbia, 16 April, and Martin Luther King day."""
    holidays = [observed(dt.date(year, 4, 16)), third_monday_of_january(year + 1)]
    days = [dt.date(year, month, 15) for month in (4, 6, 9)] + [dt.date(year + 1, 1, 15)]
    moved = np.busday_offset(days, 0, roll="forward", holidays=holidays)
    return list(moved.astype(object))


@pytest.mark.parametrize("year", DUE_YEARS)
def test_days_of_payment(year: int) -> None:
    day = dt.date(year, 12, 31)
    found = [date_of_number(figure_on(name, day)) for name in FIGURES["estimated_due"]]
    assert found == days_of_payment(year)


def test_the_days_that_move() -> None:
    moved = [day for year in DUE_YEARS for day in days_of_payment(year) if day.day != 15]
    assert [day.isoformat() for day in moved] == [
        *("2023-04-18", "2024-01-16", "2024-06-17", "2024-09-16", "2025-06-16")
    ]


# A broken table.

GOOD = {
    "figure": "Wage base",
    "valid_from": "2025-01-01",
    "valid_until": "2025-12-31",
    "value": "176100",
    "unit": "USD",
    "source": "Social Security Administration",
    "status": "read",
}
NEXT = GOOD | {"valid_from": "2026-01-01", "valid_until": "2026-12-31"}


def read_with(monkeypatch: pytest.MonkeyPatch, rows: list[dict[Any, Any]]) -> Any:
    monkeypatch.setattr(tables, "table_rows", lambda name: rows)
    return dated_figures.__wrapped__("broken")


def test_a_table_that_is_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    found = read_with(monkeypatch, [GOOD, NEXT, GOOD | {"figure": "Other"}])
    assert [row.figure for row in found] == ["Wage base", "Wage base", "Other"]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"figure": ""}, "figure is blank; fill it in"),
        ({"valid_from": ""}, "valid_from is blank; fill it in"),
        ({"valid_until": None}, "valid_until is blank; fill it in"),
        ({"value": ""}, "value is blank; fill it in"),
        ({"unit": ""}, "unit is blank; fill it in"),
        ({"source": " "}, "source is blank; fill it in"),
        ({"status": ""}, "status is blank; fill it in"),
        ({"status": "heard"}, "status 'heard' is unknown; write read, second hand, memory"),
        ({"valid_from": "1/1/2026"}, "valid_from '1/1/2026' is not a date; write year-month-day"),
        ({"valid_until": "2026-02-30"}, "valid_until '2026-02-30' is not a date"),
        ({"valid_until": "2025-12-31"}, "valid_until 2025-12-31 is before valid_from 2026-01-01"),
        ({"value": "176,100"}, "value '176,100' is not a number; write a number"),
        ({"value": "inf"}, "value 'inf' is not a number; write a number"),
        ({"unit": "date"}, "value '176100' is not a date; write year-month-day"),
        ({"valid_from": "2025-12-31"}, "Wage base has two rows for 2025-12-31; let none overlap"),
        ({None: ["read"]}, "has more cells than the header"),
    ],
)
def test_a_broken_row(monkeypatch: pytest.MonkeyPatch, changes: dict[Any, Any], words: str) -> None:
    with pytest.raises(TableError) as caught:
        read_with(monkeypatch, [GOOD, NEXT | changes])
    assert str(caught.value).startswith(f"table broken, line 3: {words}")


def test_a_table_without_names_or_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    nameless = {column: cell for column, cell in GOOD.items() if column != "figure"}
    with pytest.raises(TableError, match="table broken, line 2: figure is blank"):
        read_with(monkeypatch, [nameless])
    with pytest.raises(TableError, match="table broken: holds no rows"):
        read_with(monkeypatch, [])
