"""Six functions on 10,000 rows in LibreOffice: a call in each cell, calls on whole columns, and
ordinary formulas, in one run of the program.

Run: pytest tests/benchmarks/bench_calc.py -s
"""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
import xlsxwriter
from xlsxwriter.utility import xl_col_to_name

from sheetfns import REGISTRY
from sheetfns.programs.calc import install
from tests.programs.calc_office import CalcOffice, profile_with_add_in

ROWS = 10_000
ROUNDS = 5
INPUTS = ("paid", "price", "shipping", "postage", "packaging", "rate")
CALLS = {
    "LANDED_COST": {"paid": "paid"},
    "SELLING_FEE": {"price": "price", "shipping": "shipping", "rate": "rate", "per_order": "0.3"},
    "NET_PROCEEDS": {
        "price": "price", "shipping": "shipping", "fee": "SELLING_FEE", "postage": "postage",
        "packaging": "packaging",
    },
    "NET_PROFIT": {
        "price": "price", "shipping": "shipping", "fee": "SELLING_FEE", "postage": "postage",
        "packaging": "packaging", "landed_cost": "LANDED_COST",
    },
    "NET_MARGIN": {"net_profit": "NET_PROFIT", "price": "price", "shipping": "shipping"},
    "BREAK_EVEN_PRICE": {
        "landed_cost": "LANDED_COST", "postage": "postage", "packaging": "packaging",
        "shipping": "shipping", "rate": "rate", "per_order": "0.3",
    },
}  # fmt: skip
KINDS = ("a call in each cell", "a call on each column", "ordinary formulas")


def workbook(path: Path, kind: str) -> Path:
    """The same figures and the same six columns in one of the three ways."""
    draw = np.random.default_rng(1)
    book = xlsxwriter.Workbook(path)
    sheet = book.add_worksheet("S")
    columns = {name: xl_col_to_name(place) for place, name in enumerate([*INPUTS, *CALLS])}
    for place, name in enumerate(INPUTS):
        top = 0.15 if name == "rate" else 50.0
        sheet.write_column(0, place, np.round(draw.uniform(0.01, top, ROWS), 2).tolist())
    for place, (name, arguments) in enumerate(CALLS.items(), len(INPUTS)):
        if kind == KINDS[1]:
            cells = {
                key: f"{columns[of]}1:{columns[of]}{ROWS}" if of in columns else of for key, of in arguments.items()
            }
            formula = REGISTRY[name].call_formula(cells)
            sheet.write_array_formula(0, place, ROWS - 1, place, f"={formula}")
            continue
        for row in range(ROWS):
            cells = {key: f"{columns[of]}{row + 1}" if of in columns else of for key, of in arguments.items()}
            spec = REGISTRY[name]
            formula = spec.filled_formula(cells) if kind == KINDS[2] else spec.call_formula(cells)
            sheet.write_formula(row, place, f"={formula}")
    book.close()
    return path


@pytest.mark.libreoffice
def test_ten_thousand_rows(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copytree(profile_with_add_in(tmp_path), tmp_path / "profile")
    calc = CalcOffice(install.find_office(tmp_path / "profile"), tmp_path)
    tasks = []
    for number, kind in enumerate(KINDS):
        path = workbook(tmp_path / f"{number}.xlsx", kind)
        tasks += [["open", path.as_uri()], ["calculate", ROUNDS], ["read"], ["close"]]
    results = calc.run(tasks)
    seconds, read = results[1::4], results[2::4]
    first = [content["S"]["cells"] for content in read]
    assert all(not content["S"]["errors"] for content in read)
    assert first[0] == first[1]
    np.testing.assert_allclose(np.array(first[0]), np.array(first[2]), rtol=0, atol=1e-9)
    with capsys.disabled():
        print(f"\nLibreOffice {calc.office.version}, {ROWS} rows x {len(CALLS)} functions")
        for kind, time in zip(KINDS, seconds, strict=True):
            print(f"{kind:24}{time:8.3f} s{time / seconds[2]:8.1f} times ordinary formulas")
