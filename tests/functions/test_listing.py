"""Titles and texts: characters as a reader counts them, the best set of keywords, filled-in texts."""

from __future__ import annotations

import itertools
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheetfns import CellError, fill_in, title_pack, title_remarks, title_room
from sheetfns.functions.listing import FILLER_WORDS, LONGEST_TITLE, MOST_KEYWORDS, SYMBOLS

FAMILY = "\U0001f468\u200d\U0001f469\u200d\U0001f467\u200d\U0001f466"
FLAGS = "\U0001f1eb\U0001f1f7\U0001f1e9\U0001f1ea"
THUMB = "\U0001f44d\U0001f3fd"
ONE_CHARACTER = [
    "a",
    "\u00e9",
    "e\u0301",
    "o\u0302\u0323",
    "\uac01",  # a Korean syllable, and the same in three parts
    "\u1100\u1161\u11a8",
    "\u0928\u093f",  # a Devanagari letter with its vowel sign
    FAMILY,
    FLAGS[:2],
    THUMB,
    "1\ufe0f\u20e3",
    "\u2764\ufe0f",
]

# A cell holds no control characters.
texts = st.text(st.characters(exclude_categories=["Cc", "Cs"]), max_size=12)


def message(function: Any, *cells: Any) -> str:
    with pytest.raises(CellError) as caught:
        function(*cells)
    return caught.value.message


# Room.


@pytest.mark.parametrize("character", ONE_CHARACTER, ids=ascii)
def test_what_a_reader_sees_as_one_character_counts_as_one(character: str) -> None:
    assert title_room(character, 10) == 9
    assert title_room(f"Oak {character} lamp", 10) == 0


@given(st.lists(st.sampled_from(ONE_CHARACTER), min_size=1, max_size=20), st.integers(0, 200))
def test_room_is_the_limit_less_the_characters(characters: list[str], limit: int) -> None:
    # Two flags side by side would be told apart by their order only.
    assert title_room(" ".join(characters), limit) == limit - (2 * len(characters) - 1)


def test_rows_of_titles() -> None:
    column = title_room(["Oak", None, "Lamp", "Lamp"], [5, None, None, -1])
    assert column[0] == 2
    assert column[1] is None
    assert [column[row].code for row in (2, 3)] == ["#N/A", "#NUM!"]


# Remarks.


def test_all_remarks_in_their_order() -> None:
    title = " Wow  LOVELY lamp!! Brass lamp @ home, must-have"
    assert title_remarks(title, 40) == (
        "8 over the limit; filler words: wow, must have; repeated: lamp; 1 word in capitals; "
        "symbols: ! @; extra spaces: 2"
    )


@pytest.mark.parametrize("word", FILLER_WORDS)
def test_each_filler_word_is_found_alone_and_not_in_others(word: str) -> None:
    for title in (f"{word.upper()}, oak", f"Oak ({word})", f"Oak {word}"):
        assert f"filler words: {word}" in title_remarks(title, 20)
    for title in (f"un{word}", f"{word}r oak", f"semi-{word}", f"{word}-alike", f"{word}'s"):
        assert "filler" not in title_remarks(title, 20)


def test_filler_words_of_ones_own() -> None:
    assert title_remarks("Oak (mint) L@@K wow", 20, ["l@@k", None, "MINT", "mint"]) == (
        "filler words: mint, l@@k; symbols: @"
    )
    assert title_remarks("Oak.lamp", 10, ["oak lamp", "a.b", "(x"]) == ""
    assert title_remarks("Wow", 5, [None, None]) == "filler words: wow"
    assert title_remarks("Wow", 5, ["  "]) == "filler words: wow"


@pytest.mark.parametrize(
    ("title", "repeated"),
    [
        ("Lamp lamp lAMP", "lamp"),
        ("Oak lamp, brass oak lamp", "oak, lamp"),
        ("T-shirt and t-shirt", "t-shirt"),
        ("12V 12V no no", None),
        ("Lamp lamps", None),
        ("Caf\u00e9 cafe\u0301", "caf\u00e9"),
        ("Cafe caf\u00e9", None),
    ],
)
def test_repeats(title: str, repeated: str | None) -> None:
    assert title_remarks(title, len(title)) == (f"repeated: {repeated}" if repeated else "")


@pytest.mark.parametrize(
    ("title", "count"),
    [
        ("BRASS lamp", 1),
        ("SOLID BRASS-LAMP", 2),
        ("T-SHIRT", 1),
        ("\u00c9CLAT lamp", 1),
        ("USB XL NWT", 0),
        ("ABCD-1234 WXYZ9", 0),
        ("Brass McLAMP", 0),
        ("\u4e2d\u6587\u6807\u9898", 0),
    ],
)
def test_capitals(title: str, count: int) -> None:
    found = title_remarks(title, 20).partition("in capitals")
    assert bool(found[1]) == bool(count)
    if count:
        assert found[0] == f"{count} word{'s' * (count > 1)} "


def test_symbols() -> None:
    for symbol in SYMBOLS:
        assert title_remarks(f"Oak {symbol}{symbol} lamp", 12) == f"symbols: {symbol}"
    assert title_remarks("Oak - 'lamp' & (5/6) 50%, no. 7: ok", 36) == ""
    for emoji in (FAMILY, FLAGS[:2], THUMB, "1\ufe0f\u20e3", "\u2764\ufe0f"):
        assert title_remarks(f"Oak {emoji} lamp {emoji}", 12) == f"symbols: {emoji}"
    assert title_remarks("90\u00b0 caf\u00e9 \u00bd", 12) == ""


@pytest.mark.parametrize(("limit", "told"), [(11, False), (12, True), (100, True)])
def test_room_left_is_told_from_eight_characters_on(limit: int, told: bool) -> None:
    assert title_remarks("Lamp", limit) == (f"room for {limit - 4} more characters" if told else "")


@given(texts.filter(bool), st.integers(0, 60))
def test_remarks_and_room_agree(title: str, limit: int) -> None:
    room, remarks = title_room(title, limit), title_remarks(title, limit)
    assert (f"{-room:g} over the limit" in remarks) == (room < 0)
    assert remarks.endswith(f"room for {room:g} more characters") == (room >= 8)


# Packaging.


def length_of(words: list[str]) -> int:
    return sum(map(len, words)) + len(words) - 1 if words else 0


def by_trying_all(words: list[str], weights: list[Fraction], limit: int) -> list[str]:
    """The best set: most weight, fewest characters, then the earlier keyword where two differ."""
    best: tuple[Any, ...] = (Fraction(0), 0, ())
    chosen: list[str] = []
    for taken in itertools.product((True, False), repeat=len(words)):
        some = [word for word, take in zip(words, taken, strict=True) if take]
        if length_of(some) <= limit and all(weight for weight, take in zip(weights, taken, strict=True) if take):
            worth = sum((weight for weight, take in zip(weights, taken, strict=True) if take), Fraction(0))
            rank = (worth, -length_of(some), taken)
            if rank > best:
                best, chosen = rank, some
    return chosen


words = st.lists(st.text("abcde", min_size=1, max_size=9), min_size=1, max_size=9, unique_by=str.casefold)


@given(words, st.data(), st.integers(0, 40))
def test_packaging_is_what_trying_all_sets_gives(keywords: list[str], data: st.DataObject, limit: int) -> None:
    tenths = data.draw(st.lists(st.integers(0, 30), min_size=len(keywords), max_size=len(keywords)))
    found = title_pack(keywords, [tenth / 10 for tenth in tenths], limit)
    exact = [Fraction(tenth, 10) for tenth in tenths]
    assert found == " ".join(by_trying_all(keywords, exact, limit))


@given(st.lists(texts, min_size=1, max_size=12).filter(any), st.data(), st.integers(0, LONGEST_TITLE))
def test_a_packed_title_is_never_over_the_limit(keywords: list[str], data: st.DataObject, limit: int) -> None:
    size = len(keywords)
    weights = data.draw(st.lists(st.floats(0, 1e300), min_size=size, max_size=size))
    assert title_room(f".{title_pack(keywords, weights, limit)}", limit) >= -1


def test_a_large_set_of_keywords() -> None:
    keywords = [f"word{number}" for number in range(MOST_KEYWORDS)]
    weights = [1 + number / 7 for number in range(MOST_KEYWORDS)]
    found = title_pack(keywords, weights, 70)
    # Eight words of seven letters and seven spaces are 63 characters; a space and the heaviest word of six fill the 70.
    assert found == " ".join(f"word{number}" for number in (99, *range(992, 1000)))


def test_blanks_and_capitals_do_not_make_another_keyword() -> None:
    assert title_pack(["Oak  stool", " oak STOOL ", " ", None], [1, 5, 5, 5], 40) == "Oak stool"
    assert title_pack(["caf\u00e9", "CAFE\u0301"], [1, 2], 40) == "caf\u00e9"


def test_limits_cell_by_cell() -> None:
    column = title_pack(["ab", "cd"], [2, 1], [5, 4, 1, 2_000, None, -1])
    assert column[:3].tolist() == ["ab cd", "ab", ""]
    assert [one.code for one in column[3:]] == ["#NUM!", "#NUM!", "#N/A", "#NUM!"][1:]


def test_errors_of_packaging_name_what_to_fix() -> None:
    assert message(title_pack, ["oak", "lamp"], [1, None], 20) == (
        "weights: 'lamp' has no weight; fill it in, or write 0"
    )
    assert message(title_pack, ["oak", "lamp"], [1, -2], 20) == ("weights: -2 of 'lamp' is below 0; write 0 or more")
    assert message(title_pack, ["oak", "lamp"], [1], 20) == (
        "weights has 1 cells, keywords has 2; give ranges of the same size"
    )
    assert message(title_pack, ["oak"], [1], 1_001) == ("limit: 1001 is over 1,000; write the channel's limit")
    many = [str(number) for number in range(MOST_KEYWORDS + 1)]
    assert message(title_pack, many, [1] * len(many), 70).startswith("keywords: 1,001 are too many")


# Filling in.


@given(texts, st.dictionaries(st.text("abc", min_size=1), texts, min_size=1))
def test_a_text_with_its_braces_doubled_stays_as_it_is(text: str, filling: dict[str, str]) -> None:
    doubled = f"x{text}".replace("{", "{{").replace("}", "}}")
    if any(filling.values()):
        assert fill_in(doubled, list(filling), list(filling.values())) == f"x{text}"


@given(st.lists(texts, min_size=3, max_size=3).filter(any))
def test_values_are_put_in_as_they_are(values: list[str]) -> None:
    found = fill_in("<{a}|{b}|{c}|{a}>", ["a", "b", "c"], values)
    assert found == "<{}|{}|{}|{}>".format(*values, values[0])


@given(texts.filter(str.strip), st.booleans())
def test_what_is_missing_is_always_stated(missing: str, placed: bool) -> None:
    text = "{a}: {Missing}" if placed else "{a}"
    found = fill_in(text, ["a", "missing"], ["lamp", missing])
    if placed:
        assert found == f"lamp: {missing}"
    else:
        stated = " ".join(missing.split()).removesuffix(".")
        assert found == f"lamp\nMissing or faulty: {stated}."


def test_numbers_and_rows_of_texts() -> None:
    column = fill_in(["{a}", None, "{b", "{x}"], ["a"], [4.5])
    assert column[0] == "4.5"
    assert [one.code for one in column[1:]] == ["#N/A", "#VALUE!", "#VALUE!"]


def test_errors_of_filling_in_name_what_to_fix() -> None:
    for cells, words in [
        (
            ("A {colour} lamp", ["item", "size"], ["lamp", 45]),
            "text: {colour} is not a label; the labels are item, size",
        ),
        (
            ("A {item lamp", ["item"], ["lamp"]),
            "text: the { at character 3 ('{item lamp') has no partner; close it with }, or write {{ for a brace",
        ),
        (
            ("{a {item}", ["item"], ["lamp"]),
            "text: the { at character 1 ('{a {item}') has no partner; close it with }, or write {{ for a brace",
        ),
        (
            ("item} lamp", ["item"], ["lamp"]),
            "text: the } at character 5 ('} lamp') has no partner; open it with {, or write }} for a brace",
        ),
        (
            ("{item}", ["item", " Item"], ["lamp", "stool"]),
            "labels: 'Item' is duplicated with different values; keep one",
        ),
        (("{item}", ["item", None], ["lamp", "stool"]), "labels: cell 2 is blank beside 'stool'; give it a label"),
        (("{item}", ["{item}"], ["lamp"]), "labels: '{item}' has a brace in it; write it without"),
        (("{item}", ["item", "size"], ["lamp"]), "values has 1 cells, labels has 2; give ranges of the same size"),
    ]:
        assert message(fill_in, *cells) == words


def test_a_result_that_no_cell_can_hold_is_refused() -> None:
    assert len(fill_in("{a}", ["a"], ["x" * 32_767])) == 32_767
    assert message(fill_in, "{a}!", ["a"], ["x" * 32_767]) == (
        "text: filled in, it has 32,768 characters, and a cell holds 32,767; shorten it"
    )
    # An emoji takes two places in a cell.
    assert "32,768" in message(fill_in, "{a}", ["a"], ["\U0001f44d" * 16_384])


def test_a_long_list_of_labels_is_cut_in_the_message() -> None:
    labels = [f"label number {number}" for number in range(90)]
    assert len(message(fill_in, "{" + "x" * 500 + "}", labels, ["y"] * 90)) <= 255
