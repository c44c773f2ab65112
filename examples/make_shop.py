"""Writes the invented shop's filled log in both editions, and its packages for the tax preparer:
python examples/make_shop.py.
"""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Final

from sheetfns.log.build import build_log
from sheetfns.log.example_shop import example_entries
from sheetfns.log.figures import work_out
from sheetfns.log.read import read_log
from sheetfns.log.sheets import Edition
from sheetfns.yearend.package import check_year, make_package

ROWS: Final = 250
FILES: Final[dict[Edition, str]] = {
    "plain": "sourcing_log_example.xlsx",
    "functions": "sourcing_log_example_functions.xlsx",
}
PACKAGES: Final = {"year_end_2025": (2025, False), "year_end_2026_draft": (2026, True)}
"""Folder, year, and whether it is a draft: the shop's figures end within 2026."""


def make(folder: Path) -> dict[Edition, Path]:
    """Write both editions into a folder."""
    entries = example_entries()
    return {
        edition: build_log(folder / name, edition, ROWS, entries) for edition, name in FILES.items()
    }


def make_packages(folder: Path, log: Path) -> list[Path]:
    """Write the packages of a log's years into folders of their own, in place of the old ones."""
    figures = work_out(read_log(log))
    written = []
    for name, (year, draft) in PACKAGES.items():
        findings = check_year(figures, year)
        shutil.rmtree(folder / name, ignore_errors=True)
        written += make_package(figures, year, folder / name, findings, draft=draft).files
    return written


if __name__ == "__main__":
    here = Path(__file__).parent
    made = make(here)
    for path in (*made.values(), *make_packages(here, made["plain"])):
        print(path)
