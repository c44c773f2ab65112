"""Planning an import beside merely reading both files, in one run; and the form that asks for it.

Run: pytest tests/benchmarks/bench_import.py -o python_files="bench_*.py"
"""

from __future__ import annotations

import csv
import random
from pathlib import Path

import pandas as pd
import pytest

from sheetfns.log.edit.csv_import import ImportDesk, ImportLog, plan_import
from sheetfns.log.edit.csv_import.csv_file import FileFacts, read_csv
from sheetfns.log.load import load_log
from sheetfns.log.write.build import build_log
from sheetfns.programs.jobs_import import Questions
from tests.log.random_logs import random_entries

ITEMS, ROWS = 10_000, 50_000
MAP = """\
[log]
sheet = "Sourcing log"
match = "Item no."
minus_as_plus = ["Fee charged"]
[columns]
"Item no." = "SKU"
"Channel" = "Site"
"Sold on" = "Date of sale"
"Sale price" = "Price"
"Shipping charged" = "Postage"
"Fee charged" = ["Fixed fee", "Final fee"]
[orders]
column = "Order"
[kinds]
column = "Type"
amount = "Amount"
amounts = { "Label" = "Postage paid" }
minus_as_plus = ["Label"]
"""


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, Path]:
    """A file of sales, the log and the map; every fifth row is a label, and many items are unknown or sold."""
    folder = tmp_path_factory.mktemp("files")
    log = build_log(folder / "log.xlsx", "plain", ITEMS + 50, random_entries(1, ITEMS))
    draw = random.Random(1)
    headers = ["Order", "Type", "Date of sale", "SKU", "Title", "Price", "Postage", "Fixed fee", "Final fee", "Site"]
    with (folder / "sales.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow([*headers, "Amount"])
        for number in range(ROWS):
            if number % 5 == 4:
                blank = [""] * 7
                writer.writerow([49_999 + number, "Label", "3/13/2026", *blank, f"-${draw.uniform(1, 9):.2f}"])
                continue
            day = f"{draw.randint(1, 12)}/{draw.randint(1, 28)}/2026 8:14 AM"
            item = f"P{draw.randint(1, 3 * ITEMS):05d}"
            amounts = [f"${draw.uniform(1, 90):.2f}", f"${draw.uniform(1, 9):.2f}", "-$0.30"]
            site = draw.choice(["Booth", "First site"])
            row = [50_000 + number, "Sale", day, item, f"Item {number}", *amounts, f"-${draw.uniform(1, 9):.2f}", site]
            writer.writerow([*row, ""])
    (folder / "map.toml").write_text(MAP, encoding="utf-8")
    return folder / "sales.csv", log, folder / "map.toml"


def test_read_both(benchmark, files):
    def read() -> None:
        assert len(pd.read_csv(files[0], dtype=str)) == ROWS
        load_log(files[1])

    benchmark.pedantic(read, rounds=3, iterations=1)


def test_plan(benchmark, files):
    """Reads both as well; what is over `test_read_both` is the planning."""

    def plan() -> None:
        made = plan_import(*files)
        assert made.csv_rows == ROWS
        assert made.edits

    benchmark.pedantic(plan, rounds=3, iterations=1)


@pytest.fixture(scope="module")
def log_and_file(files):
    return ImportLog(files[1]), read_csv(files[0], FileFacts())


def test_plan_of_what_is_read(benchmark, files, log_and_file):
    """The planning alone: both are read before."""
    log, file = log_and_file
    questions = Questions(ImportDesk(log, file))

    def plan() -> None:
        assert ImportDesk(log, file).plan(questions.map).csv_rows == ROWS

    benchmark.pedantic(plan, rounds=3, iterations=1)


def test_guess_and_form(benchmark, log_and_file):
    """What stands between choosing the file and seeing the form."""
    log, file = log_and_file

    def ask() -> None:
        assert len(Questions(ImportDesk(log, file)).form().fields) > 11

    benchmark.pedantic(ask, rounds=3, iterations=1)


def test_preview_after_a_change(benchmark, log_and_file):
    """What each change of an answer costs."""
    log, file = log_and_file
    questions = Questions(ImportDesk(log, file))
    form = questions.form()
    texts = {field.key: field.default for field in form.fields}
    assert form.said(texts).startswith("Of the first 300 rows")

    def change() -> None:
        questions._said.clear()
        form.said(texts)

    benchmark.pedantic(change, rounds=10, iterations=1)
