"""A changed formula is found: in a file by the formula check, in the layout by the comparison.

The whole table: `python -m tests.log.mutants`.
"""

from __future__ import annotations

import re

import pytest

from sheetfns.log.sheets.registry import log_layout
from tests.log.mutants import Change, Verdict, changes_of, drawn_mutants, filled_log, verdicts

IN_EACH_SHEET = 2
SEED = 20
KEYS = ("paid", "tax", "price", "sold_on")


@pytest.fixture(scope="module")
def tried() -> list[Verdict]:
    mutants = drawn_mutants(filled_log("plain"), IN_EACH_SHEET, SEED)
    return list(verdicts("plain", mutants))


def test_every_sheet_has_its_mutants(tried: list[Verdict]) -> None:
    sheets = [sheet.name for sheet in (*log_layout().tables, *log_layout().forms)]
    names = [one.mutant.sheet.name for one in tried]
    assert sorted(names) == sorted(sheets * IN_EACH_SHEET)


def test_the_formula_check_finds_every_one(tried: list[Verdict]) -> None:
    assert [str(one.mutant) for one in tried if not one.by_check] == []


def test_the_comparison_finds_all_that_show_something_else(tried: list[Verdict]) -> None:
    assert [str(one.mutant) for one in tried if one.changed and not one.by_compare] == []
    assert sum(one.by_compare for one in tried) > 0.8 * len(tried)


@pytest.mark.parametrize(
    ("formula", "mutants"),
    [
        ("{tax}+{price}", {"{tax}-{price}", "{paid}+{price}", "{tax}+{tax}"}),
        ("{tax}+0", {"{paid}+0", "{tax}+1"}),
        ('{price}<>""', {'{price}=""', '{tax}<>""'}),
        ("ROUND({price},2)", {"ROUND({tax},2)", "ROUND(2,{price})"}),
        ("MAX({price},{tax})", {"MAX({tax},{tax})", "MAX({price},{paid})"}),
        ("-{price}", {"-{tax}"}),
        ('"<"&5', {'"<"&6'}),
        ("Log_paid", {"Log_missing"}),
    ],
)
def test_what_a_mutant_is(formula: str, mutants: set[str]) -> None:
    changes = changes_of(formula, KEYS)
    assert all(isinstance(change, Change) for change in changes)
    assert {change.of(formula) for change in changes} == mutants


def test_every_sort_of_change_is_drawn() -> None:
    drawn = drawn_mutants(filled_log("plain"), 10, SEED)
    sorts = {mutant.change.sort for mutants in drawn.values() for mutant in mutants}
    assert sorts == {"sign", "compared", "number", "key", "name", "order"}
    assert all(len(mutants) == 10 for mutants in drawn.values())
    assert all(re.search(r"\w", str(one)) for mutants in drawn.values() for one in mutants)
