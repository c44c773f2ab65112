"""Columns of cells: whatever stands in them is read, or said to be unreadable; never lost."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheetfns.cell_types import COST, COUNT, DATE, MONEY, RATE, TEXT, CellType, date_number, read_cell
from sheetfns.errors import CellError
from sheetfns.log.model.sheets import Column
from sheetfns.log.read.cells import frame_of, read_column, read_results

KINDS = (MONEY, COST, RATE, COUNT, DATE, TEXT)
# What python-calamine gives: "" is a blank cell; an error cell is put in by the reader.
CELLS = st.one_of(
    st.just(""),
    st.floats(allow_nan=False, allow_infinity=False),
    st.integers(-10, 60_000).map(float),
    st.booleans(),
    st.dates(),
    st.datetimes(),
    st.times(),
    st.timedeltas(),
    st.text(max_size=8),
    st.sampled_from(["$4.50", "4,50", "1,234", "2026-03-31", "3/4/26", "11.5%", " ", "\u00a0"]),
    st.sampled_from(["#REF!", "#N/A"]).map(lambda code: CellError(code, f"shows {code}")),
)


def read(kind: CellType, cells: list[Any]) -> tuple[pd.Series[Any], dict[int, list[str]], set[int]]:
    said: dict[int, list[str]] = {}
    column = Column("key", "Header", kind, "")
    found = read_column(column, cells, lambda place, cell, message, key: said.setdefault(place, []).append(message))
    assert found.filled.tolist() == [cell != "" for cell in cells]
    return frame_of([column], {"key": found.cells}, None)["key"], said, set(found.unread)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
@given(cells=st.lists(CELLS, max_size=12))
def test_every_cell_is_read_or_said_to_be_unreadable(kind: CellType, cells: list[Any]) -> None:
    values, said, unread = read(kind, cells)
    assert len(values) == len(cells)
    assert unread <= set(said)
    for place, (cell, value) in enumerate(zip(cells, values, strict=True)):
        blank = value == "" if kind.holds == "text" else pd.isna(value)
        if cell == "":
            assert blank
            assert place not in said
        elif blank:
            assert place in unread
        assert all(message.startswith("Header: ") for message in said.get(place, ()))


def alone_or_refusal(kind: CellType, cell: Any) -> Any:
    try:
        return read_cell(kind, "Header", cell)
    except CellError as error:
        return error


@pytest.mark.parametrize("kind", [MONEY, COST, RATE, COUNT, DATE], ids=lambda kind: kind.name)
@given(cells=st.lists(CELLS, max_size=12))
def test_columns_are_read_as_single_cells_are(kind: CellType, cells: list[Any]) -> None:
    values, said, unread = read(kind, cells)
    for place, (cell, value) in enumerate(zip(cells, values, strict=True)):
        if cell == "":
            continue
        alone = alone_or_refusal(kind, cell)
        if isinstance(alone, CellError):
            assert pd.isna(value)
            assert alone.message in said[place][0]
            continue
        if kind.holds == "date":
            day = None if pd.isna(value) else date_number(value.to_pydatetime(warn=False))
            assert (place in unread) if day is None else day == pytest.approx(alone, abs=1e-5)
        else:
            assert value == alone


def test_a_column_of_one_date_and_blanks_is_of_dates() -> None:
    values, said, _ = read(DATE, ["", dt.date(2026, 3, 31), ""])
    assert values.tolist() == [pd.NaT, pd.Timestamp(2026, 3, 31), pd.NaT]
    assert str(values.dtype) == "datetime64[ns]"
    assert said == {}


@pytest.mark.parametrize(
    ("kind", "cells", "values", "bad"),
    [
        (MONEY, [1.5, "", 2, True, "x", "#ERR NET_PROFIT: 1"], [1.5, None, 2, 1, None, None], [4, 5]),
        (MONEY, [CellError("#N/A", ""), dt.date(2026, 1, 1)], [None, None], [0, 1]),
        (TEXT, ["ok", "", "#ERR X: y", CellError("#N/A", ""), 5.0], ["ok", "", "#ERR X: y", "#N/A", "5"], [2, 3]),
        (DATE, [dt.date(2026, 1, 2), 46024.0, "", dt.time(), "x"],
         [pd.Timestamp(2026, 1, 2), pd.Timestamp(2026, 1, 2), None, None, None], [3, 4]),
    ],
)  # fmt: skip
def test_results(kind: CellType, cells: list[Any], values: list[Any], bad: list[int]) -> None:
    read_values, places = read_results(kind, cells)
    assert places == bad
    found = [None if pd.isna(value) else value for value in pd.Series(read_values)]
    assert found == values
    assert isinstance(read_values, np.ndarray)
