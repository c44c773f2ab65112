"""Dated figures and texts that come with the package, one CSV file each."""

from __future__ import annotations

import csv
from importlib import resources


def table_rows(name: str) -> list[dict[str, str]]:
    """The rows of a table by its name, each with its column names."""
    text = resources.files("sheetfns.tables").joinpath(f"{name}.csv").read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))
