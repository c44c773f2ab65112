"""The command functions."""

from __future__ import annotations

import pytest

from sheetfns.registry import REGISTRY


def test_functions_lists_every_function(run):
    code, out, _ = run("functions")
    assert code == 0
    for name in REGISTRY:
        assert name in out


@pytest.mark.parametrize("name", ["NET_PROFIT", "net_profit"])
def test_functions_explains_one(run, name):
    code, out, _ = run("functions", name)
    assert code == 0
    spec = REGISTRY["NET_PROFIT"]
    assert spec.usage() in out
    assert "Source: definition" in out
    assert "landed_cost" in out
