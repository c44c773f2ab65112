"""Writes the invented shop's filled log in both editions, and what its preparer gets of it.

python examples/make_shop.py
"""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Final

from sheetfns.demo import example_inputs
from sheetfns.log.compute import compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import Edition
from sheetfns.log.write.build import build_log
from sheetfns.yearend.package import Made, check_year, make_package

ROWS: Final = 250
FILES: Final[dict[Edition, str]] = {
    "plain": "sourcing_log_example.xlsx",
    "functions": "sourcing_log_example_functions.xlsx",
}
PACKAGES: Final = {"year_end_2025": (2025, False), "year_end_2026_draft": (2026, True)}
"""Folder, year, and whether it is a draft: the shop's log ends in September 2026."""


def make(folder: Path) -> dict[Edition, Path]:
    """Write both editions into a folder."""
    inputs = example_inputs()
    return {edition: build_log(folder / name, edition, ROWS, inputs) for edition, name in FILES.items()}


def make_packages(log: Path, folder: Path) -> list[Made]:
    """Write the package of each year into a folder of its own; an earlier one is thrown away."""
    figures = compute_log(load_log(log))
    made = []
    for name, (year, draft) in PACKAGES.items():
        shutil.rmtree(folder / name, ignore_errors=True)
        reasons = check_year(figures, year)
        made.append(make_package(figures, year, folder / name, reasons, draft=draft))
    return made


if __name__ == "__main__":
    here = Path(__file__).parent
    logs = make(here)
    packages = make_packages(logs["plain"], here)
    for written in (*logs.values(), *(file for package in packages for file in package.files)):
        print(written)
