"""Sheet Owner money against a log worked out by hand."""

from __future__ import annotations


def test_cash_count_agrees(figures):
    assert figures.content.shown["Owner"]["difference"].dropna().tolist() == [0.0]
