"""Words of caution: short, with their authority, and never a clearance."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from sheetfns import resale_caution
from sheetfns.functions.cautions import NO_ENTRY
from sheetfns.tables import table_rows

ROWS = table_rows("cautions")
each_row = pytest.mark.parametrize("row", ROWS, ids=lambda row: row["category"])
CLEARANCE = re.compile(
    r"\bsafe(ly|r|st)?\b|\bharmless\b|\bno risk|\bmay be sold\b|\bfine to\b|\ballowed\b|\blegal\b", re.IGNORECASE
)


@each_row
def test_the_whole_text(row: dict[str, str]) -> None:
    whole = resale_caution(row["category"])
    assert whole == resale_caution(row["category"], False)
    assert whole.startswith(row["what_to_check"])
    assert whole.endswith(f" See {row['authority']}. Local rules come first.")
    assert len(whole) <= 250
    assert not CLEARANCE.search(whole.replace("may not be sold", ""))


@each_row
def test_the_headline(row: dict[str, str]) -> None:
    brief = resale_caution(row["category"], True)
    assert brief == row["brief"]
    assert 0 < len(brief) <= 40
    assert not CLEARANCE.search(brief)
    assert "\n" not in brief


@each_row
def test_every_row_has_its_source(row: dict[str, str]) -> None:
    assert row["authority"]
    assert row["source"]
    assert row["status"] in {"read", "memory"}
    # Only what was read has a day on which it was read.
    assert re.fullmatch(r"\d{4}-\d\d-\d\d", row["noted_on"])


@each_row
def test_other_words_for_a_category(row: dict[str, str]) -> None:
    for word in row["also"].split("|"):
        assert word == word.strip().casefold()
        for typed in (word, f"  {word.upper()} ", word.replace(" ", "   ")):
            assert resale_caution(typed) == resale_caution(row["category"])


def test_no_word_stands_for_two_categories() -> None:
    named = Counter(word.casefold() for row in ROWS for word in (row["category"], *row["also"].split("|")))
    assert [word for word, times in named.items() if times > 1] == []


def test_the_curly_apostrophe_of_some_keyboards() -> None:
    assert resale_caution("Children\u2019s clothing", True) == "sleepwear, drawstrings, recalls"


@pytest.mark.parametrize("category", ["Books", "Media", "Other", "gizmos", "1950", "a" * 400])
def test_a_category_without_an_entry_is_not_cleared(category: str) -> None:
    for brief in (True, False, None):
        assert resale_caution(category, brief) == "no entry: check recalls and local rules"
    assert len(NO_ENTRY) <= 40


@pytest.mark.parametrize("category", ["Clothing", "Electronics", "Games and toys", "Household", "Sports", "Tools"])
def test_ordinary_categories_of_the_log_have_an_entry(category: str) -> None:
    assert resale_caution(category) != NO_ENTRY


def test_recalls_come_first_where_children_use_it() -> None:
    for category in ("Cribs", "Nursery goods", "Games and toys", "Children's clothing", "Car seats"):
        assert re.search("recall", resale_caution(category))
    assert "unlawful" in resale_caution("recalled goods")


def test_columns_and_bad_flags() -> None:
    column = resale_caution(["toys", None, "gizmos", "toys"], ["yes", None, None, "maybe"])
    assert column[0] == "recalls, small parts, magnets"
    assert column[1] is None
    assert column[2] == NO_ENTRY
    assert column[3].message == "brief: 'maybe' is neither yes nor no; write yes or no"
