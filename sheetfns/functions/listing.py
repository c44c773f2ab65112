"""Titles and descriptions of listings: room left, remarks, the best set of keywords, texts filled in."""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from sheetfns.cell_types import LONGEST_TEXT, Characters, Count, Factors, Text, Texts, counted, shown_cell
from sheetfns.errors import BLANK, NUMBER, VALUE, CellError, row_by_row
from sheetfns.refusals import unlike_sizes
from sheetfns.registry import worksheet

FILLER_WORDS: Final = ("amazing", "awesome", "beautiful", "great", "look", "must have", "nice", "rare", "super", "wow")
"""Words that no buyer types into a search; our own choice."""
KEYWORD_ROOM: Final = 8
"""From so many characters on there is room for a space and a keyword."""
REPEATED_LETTERS: Final = 3
SHOUTED_LETTERS: Final = 4
"""Words with fewer letters in capitals are sizes and abbreviations: XL, USB, NWT."""
SYMBOLS: Final = frozenset('!*~^#@_|<>=+[]{}"')


@functools.lru_cache(maxsize=256)
def _pattern(pattern: str) -> Any:
    # `re` knows neither characters as a reader counts them nor pictographs.
    import regex  # noqa: PLC0415  (only texts need it)

    return regex.compile(pattern)


def _composed(text: str) -> str:
    import unicodedata  # noqa: PLC0415  (only texts need it)

    return unicodedata.normalize("NFC", text)


def _characters(text: str) -> list[str]:
    """A text's characters as a reader counts them: a letter with its accents is one, an emoji too."""
    found: list[str] = _pattern(r"\X").findall(_composed(text))
    return found


def _squeezed(text: str) -> str:
    return " ".join(text.split())


def _folded(text: str) -> str:
    """A text as it is compared: capitals and spaces make no difference."""
    return _squeezed(_composed(text).casefold())


def _usable(limit: float) -> bool:
    """A blank limit is NaN; one that was refused is still in the column."""
    return math.isfinite(limit) and limit >= 0


@worksheet("Listing")
def title_room(title: Text, limit: Count) -> Characters:
    """How many characters a title still has room for; below 0 if it is too long.

    Args:
        title: the title as it will be listed.
        limit: the most characters that the channel allows in a title.
    Returns: a number of characters. A letter with its accents, and an emoji of several parts, counts as one,
        as a reader counts; a channel that counts bytes or code units may count more.
    Errors: #NUM!: limit is below 0 or not whole. #VALUE!: text for limit. #N/A: one of the two is blank.
    Formula: limit - extended grapheme clusters of the title in composed form (NFC)
    Source: definition (Unicode Standard Annex 29, extended grapheme clusters; M)
    Examples:
        >>> title_room("Oak stool", 12)
        3.0
        >>> title_room(["café", "cafe\u0301", "Lamp 👨‍👩‍👧"], 5).tolist()
        [1.0, 1.0, -1.0]
    """

    def room(one_title: str | None, maximum: float) -> float:
        return maximum - len(_characters(one_title or ""))

    return np.asarray(row_by_row(room, title, limit), np.float64)


_LETTER: Final = r"[\p{L}\p{M}\p{N}]"
_JOINER: Final = r"['\u2019-]"
_WORD: Final = rf"{_LETTER}+(?:{_JOINER}{_LETTER}+)*"
_PICTOGRAPH: Final = r"\p{Extended_Pictographic}|\p{Regional_Indicator}|\u20e3"


def _fillers_in(title: str, fillers: Sequence[str]) -> list[str]:
    """The filler words that are in a folded title as whole words, in the title's order."""
    found = {}
    for filler in fillers:
        words = r"[\s-]+".join(re.escape(word) for word in filler.split())
        alone = rf"(?<!{_LETTER}{_JOINER}?){words}(?!{_JOINER}?{_LETTER})"
        match = _pattern(alone).search(title)
        if match:
            found[filler] = match.start()
    return sorted(found, key=found.__getitem__)


def _letters(word: str) -> int:
    return len(_pattern(r"\p{L}").findall(word))


def _repeated(words: Iterable[str]) -> list[str]:
    seen: set[str] = set()
    repeated: dict[str, None] = {}
    for word in words:
        if word in seen and _letters(word) >= REPEATED_LETTERS:
            repeated[word] = None
        seen.add(word)
    return list(repeated)


def _shouted(word: str) -> bool:
    """A word in capitals; with a digit in it, it is a code or a model number."""
    if _pattern(r"\p{N}").search(word) or _letters(word) < SHOUTED_LETTERS:
        return False
    return len(_pattern(r"\p{Lu}").findall(word)) == _letters(word)


def _symbols(characters: Iterable[str]) -> list[str]:
    pictograph = _pattern(_PICTOGRAPH)
    return list(dict.fromkeys(c for c in characters if c[0] in SYMBOLS or pictograph.search(c)))


def _remarks(title: str, limit: int, fillers: Sequence[str]) -> list[str]:
    characters = _characters(title)
    words = _pattern(_WORD).findall(_composed(title))
    room = limit - len(characters)
    remarks = [f"{-room} over the limit"] if room < 0 else []
    if found := _fillers_in(_folded(title), fillers):
        remarks.append(f"filler words: {', '.join(found)}")
    if repeated := _repeated(word.casefold() for word in words):
        remarks.append(f"repeated: {', '.join(repeated)}")
    if shouted := sum(map(_shouted, words)):
        remarks.append(f"{counted(shouted, 'word')} in capitals")
    if symbols := _symbols(characters):
        remarks.append(f"symbols: {' '.join(symbols)}")
    if spare := len(title) - len(_squeezed(title)):
        remarks.append(f"extra spaces: {spare}")
    if room >= KEYWORD_ROOM:
        remarks.append(f"room for {room} more characters")
    return remarks


@worksheet("Listing")
def title_remarks(
    title: Text,
    limit: Count,
    filler_words: Texts = "",  # type: ignore[assignment]
) -> Text:
    """What to improve in a title: length, filler words, repeats, capitals, symbols, spaces, room left.

    Args:
        filler_words: a whole range: words or phrases to point out; a short list of ours if left out (wow, look, rare ...).
        as in TITLE_ROOM: title, limit.
    Returns: remarks with "; " between them; nothing if there are none. Pointed out: repeated words of 3
        letters or more, words of 4 letters or more in capitals (unless they have a digit), emoji, and the
        symbols ! * ~ ^ # @ _ | < > = + [ ] { } and the double quote.
    Shape: title and limit cell by cell; filler_words is a whole range.
    Errors: #NUM!: limit is below 0 or not whole. #VALUE!: text for limit. #N/A: one of the two is blank.
    Formula: see Returns; capitals make no difference to fillers and repeats; room is mentioned from 8 characters up
    Source: common practice, no source; what counts in a search is up to your channel
    Examples:
        >>> title_remarks("WOW! Oak lamp, brass LAMP", 40)
        'filler words: wow; repeated: lamp; 1 word in capitals; symbols: !; room for 15 more characters'
        >>> title_remarks("Oak stool, turned legs, 45 cm", 30)
        ''
    """
    given = [_folded(word) for word in filler_words.tolist() if word is not None]
    fillers = list(dict.fromkeys(filter(None, given))) or FILLER_WORDS

    def remarks(one_title: str | None, maximum: float) -> str:
        if one_title is None or not _usable(maximum):
            return ""
        return "; ".join(_remarks(one_title, int(maximum), fillers))

    return row_by_row(remarks, title, limit)


LONGEST_TITLE: Final = 1_000
MOST_KEYWORDS: Final = 1_000
_INT64: Final = 2**62


def _weighted_keywords(keywords: NDArray[Any], weights: NDArray[np.float64]) -> tuple[list[str], list[Decimal]]:
    """The keywords that may be taken, each once, with their weights."""
    kept: dict[str, tuple[str, Decimal]] = {}
    for keyword, weight in zip(keywords.tolist(), weights.tolist(), strict=True):
        text = _squeezed(keyword or "")
        if not text:
            continue
        shown = shown_cell(text)
        if math.isnan(weight):
            raise CellError(BLANK, f"weights: '{shown}' has no weight; fill it in, or write 0")
        if weight < 0:
            raise CellError(NUMBER, f"weights: {weight:.15g} of '{shown}' is below 0; write 0 or more")
        kept.setdefault(_folded(text), (text, Decimal(repr(weight))))
    usable = [(text, weight) for text, weight in kept.values() if weight > 0]
    if len(usable) > MOST_KEYWORDS:
        raise CellError(NUMBER, f"keywords: {len(usable):,} are too many to compare; give at most {MOST_KEYWORDS:,}")
    return [text for text, _ in usable], [weight for _, weight in usable]


def _whole_weights(weights: Sequence[Decimal]) -> NDArray[Any]:
    """The weights as whole numbers in the same proportions, so that 0.1 + 0.2 is 0.3."""
    exponents = [int(weight.as_tuple().exponent) for weight in weights]
    finest = min(exponents, default=0)
    whole = [
        int("".join(map(str, weight.as_tuple().digits))) * 10 ** (exponent - finest)
        for weight, exponent in zip(weights, exponents, strict=True)
    ]
    return np.array(whole, np.int64 if sum(whole) < _INT64 else object)


def _best_set(lengths: Sequence[int], weights: NDArray[Any], limit: int) -> list[int]:
    """The places of the best set: most weight, then fewest characters, then the earliest keywords.

    Each keyword takes its characters and a space; one space more is there than the limit says.
    `best[c]` is the most weight of keywords from the present one on that take just c, -1 if none do.
    """
    capacity = limit + 1
    best = np.full(capacity + 1, -1, weights.dtype)
    best[0] = 0
    taken = np.zeros((len(lengths), capacity + 1), bool)
    for place in range(len(lengths) - 1, -1, -1):
        takes = lengths[place] + 1
        if takes > capacity:
            continue
        before = best[: capacity + 1 - takes]
        with_it = np.where(before >= 0, before + weights[place], -1)
        better = (with_it >= 0) & (with_it >= best[takes:])
        taken[place, takes:] = better
        best[takes:] = np.where(better, with_it, best[takes:])
    used = int(np.argmax(best))
    chosen = []
    for place, length in enumerate(lengths):
        if taken[place, used]:
            chosen.append(place)
            used -= length + 1
    return chosen


@worksheet("Listing", refuse=[unlike_sizes("weights", "keywords")])
def title_pack(keywords: Texts, weights: Factors, limit: Count) -> Text:
    """The best title from your keywords: the set with the highest total weight that fits.

    Args:
        keywords: a whole range: words or phrases in the order in which they may appear; blank and repeated ones are ignored.
        weights: a whole range of the same size: what each keyword is worth to you, 0 or more; one with 0 is never used.
        limit: the most characters that the channel allows in a title, up to 1,000.
    Returns: the chosen keywords, in the order given, with a space between them; nothing if none fits.
    Shape: whole ranges in; limit cell by cell.
    Errors: #N/A: a required cell is blank, or a keyword has no weight. #NUM!: a weight below 0, a limit over 1,000, over 1,000 keywords. #VALUE!: text, ranges of different sizes.
    Formula: the set with the highest sum of weights whose characters and spaces are within limit; of equal
        sums the one with fewer characters, then the one with the earlier keyword where the two first differ
    Source: definition (0-1 knapsack, solved exactly); the weights are your own estimate
    Examples:
        >>> title_pack(["oak stool", "vintage", "hand carved", "brown"], [10, 4, 6, 1], 24)
        'oak stool hand carved'
        >>> title_pack(["oak stool", "vintage", "brown"], [10, 5, 4], [17, 15, 3]).tolist()
        ['oak stool vintage', 'oak stool brown', '']
    """
    if not (keywords.size and weights.size):
        return row_by_row(lambda _: "", limit)
    words, given = _weighted_keywords(keywords, weights)
    whole = _whole_weights(given)
    lengths = [len(_characters(word)) for word in words]

    def packed(maximum: float) -> str:
        if not _usable(maximum):
            return ""
        if maximum > LONGEST_TITLE:
            raise CellError(NUMBER, f"limit: {maximum:.15g} is over {LONGEST_TITLE:,}; write the channel's limit")
        return " ".join(words[place] for place in _best_set(lengths, whole, int(maximum)))

    return row_by_row(packed, limit)


MISSING_LABEL: Final = "missing"
_PLACES: Final = r"(?s)\{\{|\}\}|\{([^{}]*)\}|[{}]"
LABELS_SHOWN: Final = 100


def _filling(labels: NDArray[Any], values: NDArray[Any]) -> tuple[dict[str, str], list[str]]:
    """The value of each folded label, and the labels as they are written."""
    filling: dict[str, str] = {}
    written: list[str] = []
    for row, (label, value) in enumerate(zip(labels.tolist(), values.tolist(), strict=True), 1):
        name, filled = _folded(label or ""), value or ""
        if not name:
            if filled.strip():
                raise CellError(BLANK, f"labels: cell {row} is blank beside '{shown_cell(filled)}'; give it a label")
            continue
        if "{" in name or "}" in name:
            raise CellError(VALUE, f"labels: '{shown_cell(label)}' has a brace in it; write it without")
        if filling.setdefault(name, filled) != filled:
            raise CellError(VALUE, f"labels: '{shown_cell(label)}' is duplicated with different values; keep one")
        written.append(_squeezed(label))
    return filling, list(dict.fromkeys(written))


def _filled_in(text: str, filling: dict[str, str], labels: Sequence[str]) -> str:
    told = False

    def filled(place: Any) -> str:
        nonlocal told
        found, label = place[0], place[1]
        if found in ("{{", "}}"):
            return str(found[0])
        if label is None:
            near = shown_cell(text[place.start() :], 20)
            advice = "close it with }, or write {{" if found == "{" else "open it with {, or write }}"
            raise CellError(
                VALUE,
                f"text: the {found} at character {place.start() + 1} ('{near}') has no partner; {advice} for a brace",
            )
        name = _folded(label)
        if name not in filling:
            raise CellError(
                VALUE,
                f"text: {{{shown_cell(label)}}} is not a label; the labels are "
                f"{shown_cell(', '.join(labels), LABELS_SHOWN)}",
            )
        told = told or name == MISSING_LABEL
        return filling[name]

    result: str = _pattern(_PLACES).sub(filled, text)
    missing = _squeezed(filling.get(MISSING_LABEL, ""))
    if missing and not told:
        result += f"\nMissing or faulty: {missing.removesuffix('.')}."
    # A cell counts in units of two bytes.
    units = len(result.encode("utf-16-le", "surrogatepass")) // 2
    if units > LONGEST_TEXT:
        raise CellError(
            NUMBER, f"text: filled in, it has {units:,} characters, and a cell holds {LONGEST_TEXT:,}; shorten it"
        )
    return result


@worksheet("Listing", refuse=[unlike_sizes("values", "labels")])
def fill_in(text: Text, labels: Texts, values: Texts) -> Text:
    r"""A text with its {labels} filled in, such as a description; what is missing is always stated.

    Args:
        text: the text with {label} where a value goes; {{ and }} are the braces themselves.
        labels: a whole range: the labels; capitals and outer spaces make no difference.
        values: a whole range of the same size: the value of each label; nothing if blank. The value of the label "missing" is added at the end if the text has no {missing}.
    Returns: the text; a value is put in as it is, including any braces.
    Shape: text cell by cell; labels and values are whole ranges.
    Errors: #VALUE!: no such label, a single brace, a label twice with different values, ranges of different sizes. #NUM!: over 32,767 characters. #N/A: a required cell is blank.
    Formula: each {label} replaced once by its value; then, where it applies, a line
        "Missing or faulty: ..."
    Source: definition
    Examples:
        >>> fill_in("{Item}, {size} cm.", ["item", "size"], ["Oak stool", 45])
        'Oak stool, 45 cm.'
        >>> fill_in("{item}.", ["item", "missing"], ["Lamp", "shade"])
        'Lamp.\nMissing or faulty: shade.'
    """
    if not (labels.size and values.size):
        return row_by_row(lambda _: "", text)
    filling, written = _filling(labels, values)

    def filled(one_text: str | None) -> str:
        return "" if one_text is None else _filled_in(one_text, filling, written)

    return row_by_row(filled, text)
