"""The same file in spreadsheet programs that the project did not write: every formula cell.

The results that a log carries are those of the headless engine (formualizer), and Python's own are
compared with them elsewhere. Here LibreOffice, Gnumeric and IronCalc calculate the plain edition
anew, the file as it is: the example shop and seven random logs.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest

from sheetfns.demo import example_inputs
from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.write.build import build_log
from sheetfns.log.write.formulas import written_formulas
from tests import gnumeric, ironcalc_engine
from tests.log.libreoffice_in_turn import recalculate_all
from tests.log.random_logs import random_entries
from tests.log.sheets.random_shelves import with_shelves
from tests.stored_cells import differing_cells

SEEDS = range(21, 28)
ROWS = 60


def _in_libreoffice(paths: Iterable[Path], folder: Path) -> dict[Path, Path]:
    sources = list(paths)
    return dict(zip(sources, recalculate_all(sources, folder), strict=True))


Recalculate = Callable[[Iterable[Path], Path], dict[Path, Path]]
PROGRAMS: dict[str, Recalculate] = {
    "libreoffice": _in_libreoffice,
    "gnumeric": gnumeric.recalculate,
    "ironcalc": ironcalc_engine.recalculate,
}


@pytest.fixture(scope="module")
def logs(tmp_path_factory) -> list[Path]:
    folder = tmp_path_factory.mktemp("logs")
    made = [build_log(folder / "example.xlsx", "plain", 185, example_inputs())]
    for seed in SEEDS:
        inputs = with_shelves(random_entries(seed, ROWS), seed)
        made.append(build_log(folder / f"random_{seed}.xlsx", "plain", ROWS, inputs))
    return made


@pytest.mark.parametrize("program", [pytest.param(name, marks=getattr(pytest.mark, name)) for name in PROGRAMS])
def test_every_cell_is_the_same_in(program, logs, tmp_path):
    compared = 0
    differing: dict[str, list[str]] = {}
    for ours, theirs in PROGRAMS[program](logs, tmp_path / program).items():
        count, found = differing_cells(ours, theirs)
        compared += count
        differing |= {ours.name: found} if found else {}
    assert differing == {}
    assert compared > 150_000
    print(f"{program}: {compared} cells compared")


NOT_ALIKE = {
    "N of a cell that may be blank, an error in Gnumeric": r"\bN\(",
    "a whole column or row by INDEX, an error in Gnumeric": r"INDEX\([^()]*,0(,|\))",
    "MATCH by size, which blank cells at the end confuse in IronCalc": r"MATCH\([^()]*,1\)",
    "an array in INDEX in MATCH, no array in Gnumeric": r"MATCH\((TRUE|1),INDEX",
    "COUNTIF of one cell, an error in IronCalc": r"COUNTIF\(\$?[A-Z]+\$?\d+,",
}


@pytest.mark.parametrize("why", NOT_ALIKE)
def test_plain_formulas_have_nothing_that_programs_calculate_otherwise(why):
    layout = log_layout()
    names = AddressMap(layout).names
    cells = {name for name, place in names.items() if ":" not in place}
    found = {}
    for sheet, formulas in written_formulas(layout, "plain").items():
        for cell, text in formulas.items():
            bare = re.sub(r'"[^"]*"', '""', text)
            bare = re.sub(r"COUNTIF\((\w+)", lambda m: "COUNTIF($A$1" if m[1] in cells else m[0], bare)
            if re.search(NOT_ALIKE[why], bare):
                found[sheet, cell] = text
    assert found == {}


def test_python_agrees_too(logs):
    found = [compare(compute_log(load_log(log))) for log in logs]
    assert [one.differences for one in found] == [[] for _ in logs]
