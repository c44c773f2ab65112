"""Building, reading and recalculating logs of three sizes, beside LibreOffice in the same run.

Run: pytest tests/benchmarks -o python_files="bench_*.py"
"""

from __future__ import annotations

from pathlib import Path

import pytest

from sheetfns.hosts.engine import recalculate
from sheetfns.log.compute import compute_log
from sheetfns.log.load import load_log
from sheetfns.log.write.build import build_log
from tests import libreoffice
from tests.log.random_logs import random_entries
from tests.log.test_editions import worked_out_and_compared

SIZES = (1_000, 10_000, 20_000)


@pytest.fixture(scope="module", params=SIZES)
def logs(request, tmp_path_factory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("logs")
    inputs = random_entries(1, request.param)
    return {
        edition: build_log(folder / f"{edition}.xlsx", edition, request.param, inputs)
        for edition in ("plain", "functions")
    }


def once(benchmark, function, *args):
    return benchmark.pedantic(function, args=args, rounds=3, iterations=1)


def test_headless_functions_edition(benchmark, logs):
    assert once(benchmark, recalculate, logs["functions"]).errors == []


def test_headless_plain_edition(benchmark, logs):
    assert once(benchmark, recalculate, logs["plain"]).errors == []


@pytest.mark.libreoffice
def test_libreoffice_plain_edition(benchmark, logs, tmp_path):
    once(benchmark, libreoffice.recalculate, logs["plain"], tmp_path)


def test_read(benchmark, logs):
    once(benchmark, load_log, logs["plain"])


def test_work_out_in_python(benchmark, logs):
    once(benchmark, compute_log, load_log(logs["plain"]))


@pytest.mark.parametrize("rows", SIZES)
def test_build(benchmark, tmp_path, rows):
    once(benchmark, build_log, tmp_path / "log.xlsx", "plain", rows, random_entries(1, rows))


def test_workbook_and_python_agree_on_twenty_thousand_rows(benchmark, tmp_path):
    """More than a shop of many years would reach."""
    benchmark.pedantic(worked_out_and_compared, args=(tmp_path, 20_000, 500_000), rounds=1, iterations=1)
