"""Which words of the log have changed: what is stored is what the code says, and a rename is found by its place."""

from __future__ import annotations

from unittest import mock

import pytest

from sheetfns.log.model import earlier_words as stored
from sheetfns.log.model.earlier_words import EarlierWords, Renamed, every_word, renamed, words_of
from sheetfns.log.model.version import LAYOUT
from sheetfns.log.sheets.words import SETTINGS
from tests.log.model import earlier_words
from tests.log.model.earlier_words import (
    OtherStructureError,
    Word,
    carried_on,
    changed,
    path_of,
    read_words,
    store,
    words,
)

RUN = "run: python -m tests.log.model.earlier_words (DEVELOPERS.md, A word that users see)"
THEN = [Word("sheet", "Alpha", "", "Alpha"), Word("header", "Alpha", "one", "One"), Word("name", "", "", "Alpha_one")]
NOW = [Word("sheet", "Beta", "", "Beta"), Word("header", "Beta", "two", "One"), Word("name", "", "", "Beta_two")]
OF_THEN = [Renamed(7, "sheet", "Beta", "", "Alpha", "Beta"), Renamed(7, "name", "", "", "Alpha_one", "Beta_two")]


def test_the_words_of_this_layout_are_stored():
    assert read_words(path_of(LAYOUT)) == words(), f"words have changed: raise LAYOUT if logs have the old ones; {RUN}"


def test_what_has_changed_is_stored():
    before = path_of(LAYOUT - 1)
    if not before.exists():
        assert renamed() == (), f"there is nothing to compare with; {RUN}"
        return
    try:
        rows = changed(LAYOUT - 1, read_words(before), words())
    except OtherStructureError:
        rows = []  # a layout that changed by more than words renames nothing
    assert [row for row in renamed() if row.until == LAYOUT - 1] == rows, RUN


def test_a_rename_is_found_by_its_place():
    assert changed(7, THEN, NOW) == OF_THEN
    assert changed(7, THEN, THEN) == []


@pytest.mark.parametrize(
    "now", [NOW[:2], [*NOW, NOW[0]], [NOW[1], NOW[0], NOW[2]], [NOW[0], NOW[1]._replace(word=""), NOW[2]]]
)
def test_another_structure_is_refused(now):
    with pytest.raises(OtherStructureError, match="in the next"):
        changed(7, THEN, now)


def test_an_earlier_change_goes_on_under_the_words_of_today(tmp_path, monkeypatch):
    first = [Renamed(5, "header", "Alpha", "one", "Zero", "One")]
    assert carried_on(first, THEN, NOW) == [Renamed(5, "header", "Beta", "two", "Zero", "One")]
    monkeypatch.setattr(earlier_words, "LAYOUT", 8)
    monkeypatch.setattr(earlier_words, "path_of", lambda number: tmp_path / f"{number}.csv")
    monkeypatch.setattr(earlier_words, "words", lambda: NOW)
    with pytest.raises(SystemExit, match=r"7\.csv is missing"):
        store(tmp_path / "out.csv")
    earlier_words.write_words(tmp_path / "7.csv", THEN)
    with mock.patch.object(stored, "renamed", return_value=(*first, *OF_THEN[:1])):
        store(tmp_path / "out.csv")
        assert (tmp_path / "out.csv").read_text() == (
            "until,part,sheet,key,earlier,today\n"
            "5,header,Beta,two,Zero,One\n"
            "7,sheet,Beta,,Alpha,Beta\n"
            "7,name,,,Alpha_one,Beta_two\n"
        )


def test_each_layout_has_its_own_word():
    rows = [Renamed(5, "header", "Beta", "two", "Zero", "Two"), Renamed(7, "header", "Beta", "two", "One", "Two")]
    with mock.patch.object(stored, "renamed", return_value=tuple(rows)):
        named = {layout: words_of(layout).of("header", "Beta", "two", "Two") for layout in (1, 5, 6, 7, 8)}
        assert named == {1: "Zero", 5: "Zero", 6: "One", 7: "One", 8: "Two"}
        assert every_word("header", "Beta", "two", "Two") == {"Zero", "One", "Two"}
        assert not words_of(8)


def test_words_of_one_cell_are_not_those_of_another():
    old = EarlierWords([Renamed(7, "choice", SETTINGS, "Heading.from_log", "before", "after")])
    assert old.choices(SETTINGS, "Heading.from_log") == old.choices(SETTINGS) == {"after": "before"}
    assert old.choices(SETTINGS, "Heading.tax_line") == {}
    assert old.of("choice", SETTINGS, "Heading.tax_line", "after") == "after"
    assert (old.sheet(SETTINGS), old.today_sheet(SETTINGS), old.name("Log_paid")) == (SETTINGS, SETTINGS, "Log_paid")
