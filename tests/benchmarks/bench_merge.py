"""Merging two copies beside merely reading both, in one run.

Run: pytest tests/benchmarks/bench_merge.py -o python_files="bench_*.py"
"""

from __future__ import annotations

from pathlib import Path

import pytest

from sheetfns.log.edit.merge import merge_logs
from sheetfns.log.load import load_log
from sheetfns.log.write.build import build_log
from tests.log.edit.merged_copies import edited
from tests.log.random_logs import random_entries

SIZES = (1_000, 20_000)


@pytest.fixture(scope="module", params=SIZES)
def copies(request, tmp_path_factory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("copies")
    rows = request.param
    inputs = random_entries(1, rows)
    room = rows + 50
    return {
        who: build_log(folder / f"{who}.xlsx", "plain", room, edited(inputs, 1, who, 40)) for who in ("mine", "theirs")
    }


def test_read_both(benchmark, copies):
    def read() -> None:
        for path in copies.values():
            load_log(path)

    benchmark.pedantic(read, rounds=3, iterations=1)


def test_merge(benchmark, copies, tmp_path):
    def merge() -> None:
        out = tmp_path / "out.xlsx"
        out.unlink(missing_ok=True)
        done = merge_logs(copies["mine"], copies["theirs"], out)
        assert done.patched is not None
        assert done.patched.not_recalculated == ""

    benchmark.pedantic(merge, rounds=3, iterations=1)
