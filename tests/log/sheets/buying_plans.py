"""Buying plans for tests, in a log of their own."""

from __future__ import annotations

from pathlib import Path

from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import Edition
from sheetfns.log.read.content import LogContent
from tests.log.sheet_logs import sheet_figures


def candidate(item: str, price_tag: float, price: float, **more: float) -> Row:
    """At the booth there is no fee, and packaging costs nothing: profit is price less price tag."""
    return {"item": item, "price_tag": price_tag, "expected_price": price, "channel": "Local sale", **more}


def log_with_plan(path: Path, edition: Edition, settings: Row, rows: list[Row], shelf: Row | None = None) -> LogContent:
    """A log with candidates, read; workbook and Python agree about it. Packaging costs nothing."""
    made = Inputs({"Usual_packaging": 0, **settings}, rows={"Plan": rows}, forms={"Shelf": shelf or {}})
    content = sheet_figures(path / "log.xlsx", made, edition, "Shelf").content
    assert content.problems == []
    return content
