"""The committed packages of the example shop are what its committed log gives today."""

from __future__ import annotations

from pathlib import Path

import pytest

from examples.make_shop import FILES, PACKAGES
from sheetfns.log.compute import LogResults, compute_log, year_figures
from sheetfns.log.load import load_log
from sheetfns.yearend.package import write_csv
from sheetfns.yearend.pages import PAGE_KEYS, all_pages
from sheetfns.yearend.reasons import Findings
from tests import EXAMPLES


@pytest.fixture(scope="module")
def figures() -> LogResults:
    return compute_log(load_log(EXAMPLES / FILES["plain"]))


@pytest.mark.parametrize("name", PACKAGES)
def test_the_committed_packages_are_what_the_script_writes(name: str, figures: LogResults, tmp_path: Path) -> None:
    year, draft = PACKAGES[name]
    ends = {".xlsx", ".pdf", *(f"_{key}.csv" for key in PAGE_KEYS)}
    assert {path.name.removeprefix(name) for path in (EXAMPLES / name).iterdir()} == ends
    for page in all_pages(figures, year_figures(figures, year), Findings(), draft=draft):
        if page.key == "problems":
            continue
        write_csv(tmp_path / "fresh.csv", page)
        committed = EXAMPLES / name / f"{name}_{page.key}.csv"
        assert (tmp_path / "fresh.csv").read_bytes() == committed.read_bytes(), "run: python examples/make_shop.py"
