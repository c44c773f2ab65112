"""One edit in an open log in LibreOffice, as a share of calculating all of it in the same run.

Run: pytest tests/benchmarks/bench_edits.py -o python_files="bench_*.py" -s
"""

from __future__ import annotations

import pytest

from sheetfns.log.write.build import build_log
from tests import libreoffice
from tests.log.random_logs import random_entries

COLUMNS = {
    "Item no.": "N",
    "Description": "Lamp",
    "Expected price": 20.5,
    "Bought on": 46_000,
    "Paid": 3.25,
    "Packed weight": 2,
    "Sold on": 46_100,
    "Sale price": 20.25,
}


@pytest.mark.libreoffice
@pytest.mark.parametrize("as_of", ["entered", "blank"])
@pytest.mark.parametrize("rows", [1_000, 10_000])
def test_one_edit(tmp_path, rows, as_of):
    inputs = random_entries(1, rows)
    if as_of == "blank":
        inputs.settings["As_of_date"] = None
    times = libreoffice.edits_timed(build_log(tmp_path / "log.xlsx", "plain", rows, inputs), COLUMNS)
    everything = times.pop("everything")
    print(f"\n{rows} rows, as of {as_of}: everything {everything:.2f} s")
    for column, seconds in times.items():
        print(f"  {column}: {seconds:.3f} s, {seconds / everything:.2f} of everything")
    assert set(times) == {*COLUMNS, "reading"}
