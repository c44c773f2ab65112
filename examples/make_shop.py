"""Writes the invented shop's filled log in both editions: python examples/make_shop.py."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from sheetfns.log.build import build_log
from sheetfns.log.example_shop import example_entries
from sheetfns.log.sheets import Edition

ROWS: Final = 250
FILES: Final[dict[Edition, str]] = {
    "plain": "sourcing_log_example.xlsx",
    "functions": "sourcing_log_example_functions.xlsx",
}


def make(folder: Path) -> dict[Edition, Path]:
    """Write both editions into a folder."""
    entries = example_entries()
    return {
        edition: build_log(folder / name, edition, ROWS, entries) for edition, name in FILES.items()
    }


if __name__ == "__main__":
    for written in make(Path(__file__).parent).values():
        print(written)
