"""Every figure of the example shop, held against a stored table: figures change only where somebody means it.

The table has a line for each result that is compared and not blank: the key of its sheet, its row on a sheet with rows
(0 on a form), its key, what it is. After a change of figures that is meant, write it anew:

    python -m tests.log.test_example_figures
"""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd

from sheetfns.log.compare import compared_keys
from sheetfns.log.compute import LogResults, compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import TableSheet
from sheetfns.log.sheets.registry import log_layout
from tests import EXAMPLES

TABLE = Path(__file__).with_name("example_figures.csv")
HEADER = ["sheet", "row", "key", "figure"]


def figures_of(results: LogResults) -> Iterator[list[str]]:
    for sheet in (*log_layout().tables, *log_layout().forms):
        frame = results[sheet.key]
        rows = frame["sheet_row"] if isinstance(sheet, TableSheet) and "sheet_row" in frame else range(len(frame))
        for key in compared_keys(sheet):
            for row, value in zip(rows, frame[key], strict=True):
                if shown := as_text(value):
                    yield [sheet.key, str(row), key, shown]


def as_text(value: Any) -> str:
    """A figure to ten digits behind the point, far below a cent; nothing for a blank."""
    if isinstance(value, str):
        return value.replace("\n", "\\n")
    if pd.isna(value):
        return ""
    if isinstance(value, dt.date | pd.Timestamp):
        return str(value)[:10]
    return f"{round(float(value), 10) + 0.0:.10f}".rstrip("0").rstrip(".")


def test_every_figure_of_the_example_is_the_stored_one():
    results = compute_log(load_log(EXAMPLES / "sourcing_log_example_functions.xlsx"))
    with TABLE.open(newline="", encoding="utf-8") as file:
        header, *stored = csv.reader(file)
    assert header == HEADER
    found = list(figures_of(results))
    known = {tuple(line[:3]): line[3] for line in stored}
    now = {tuple(line[:3]): line[3] for line in found}
    assert len(known) == len(stored) and len(now) == len(found)
    differing = {cell: (known.get(cell), now.get(cell)) for cell in known | now if known.get(cell) != now.get(cell)}
    assert differing == {}, "if it is meant, write the table anew: python -m tests.log.test_example_figures"
    assert len(known) > 12_000


if __name__ == "__main__":
    with TABLE.open("w", newline="", encoding="utf-8") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(HEADER)
        writer.writerows(figures_of(compute_log(load_log(EXAMPLES / "sourcing_log_example_functions.xlsx"))))
