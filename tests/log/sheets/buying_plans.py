"""Buying plans for tests, in a log of their own."""

from __future__ import annotations

from pathlib import Path

from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import Edition
from sheetfns.log.read.content import LogContent
from tests.log.quick_logs import quick_log


def candidate(piece: str, ticket: float, price: float, **more: float) -> Row:
    """At the stall there is no fee, and packing costs nothing: profit is price less ticket."""
    return {"piece": piece, "ticket": ticket, "expected_price": price, "channel": "Local sale", **more}


def log_with_plan(path: Path, edition: Edition, settings: Row, rows: list[Row], shelf: Row | None = None) -> LogContent:
    """A log with candidates, read; workbook and Python agree about it. Packing costs nothing."""
    made = Inputs({"Usual_packing": 0, **settings}, rows={"Plan": rows}, forms={"Shelf": shelf or {}})
    content = load_log(quick_log(path / "log.xlsx", edition, made))
    assert content.problems == []
    assert compare(compute_log(content)).differences == []
    return content
