"""A log worked out by hand, built once for the tests of all the sheets that it fills."""

from __future__ import annotations

import functools
import tempfile
from pathlib import Path

import pytest

from sheetfns.log.compare import compare
from sheetfns.log.compute import LogResults, compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import EDITIONS, Edition
from tests.log.hand_made_log import hand_made
from tests.log.quick_logs import quick_log


@functools.cache
def _worked_out(edition: Edition) -> LogResults:
    with tempfile.TemporaryDirectory() as folder:
        figures = compute_log(load_log(quick_log(Path(folder) / "log.xlsx", edition, hand_made())))
    assert compare(figures).differences == []
    return figures


@pytest.fixture(scope="module", params=EDITIONS)
def figures(request: pytest.FixtureRequest) -> LogResults:
    """The whole log as the workbook shows it and as Python works it out; both agree."""
    return _worked_out(request.param)
