"""A first map for a file: its headers with samples, what was found, and what resembles what."""

from __future__ import annotations

import difflib
import json
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Final

from sheetfns.cell_types import shown_cell
from sheetfns.errors import LogFileError
from sheetfns.files.safe_files import atomic_write
from sheetfns.log.edit.csv_import.csv_file import CsvFile, FileFacts, read_csv
from sheetfns.log.edit.csv_import.facts import Detected, Found
from sheetfns.log.edit.csv_import.guess import guess_map, looks_of
from sheetfns.log.edit.csv_import.import_plan import refuse_older
from sheetfns.log.edit.csv_import.log_columns import LogColumn, LogRows, log_columns, table_named
from sheetfns.log.edit.csv_import.number_formats import date_text, is_amount, number_text
from sheetfns.log.edit.csv_import.row_reader import FirstCells, find_formats
from sheetfns.log.model.sheets import TableSheet
from sheetfns.log.read.content import LogContent
from sheetfns.log.read.sheet_reader import plain

_SAMPLE: Final = 1_000
_MOSTLY: Final = 0.8
_ALIKE: Final = 0.5
_SPELLED_ALIKE: Final = 0.85
_KEYS: Final = (*("encoding", "separator", "header_row"), *("decimal_mark", "thousands_mark", "date_order"))
_WIDTH: Final = 96
_USUALLY_FIXED: Final = {"channel", "heading"}
_SAME_WORDS: Final = {
    **dict.fromkeys(("number", "num", "nr", "id", "code"), "no"),
    **dict.fromkeys(("date", "on"), "day"),
    **dict.fromkeys(("sale", "sales", "selling"), "sold"),
    **dict.fromkeys(("bought", "purchased"), "purchase"),
    "fees": "fee",
    "title": "description",
    "sku": "item no",
    "notes": "note",
    "distance": "miles",
}
_OFTEN: Final = frozenset({"day", "no", "price", "paid", "cost", "charged"})
"""Words of many headers: that two share one of these alone says nothing."""
_LITTLE_WORDS: Final = frozenset({"of", "the", "a", "an", "and", "in", "for", "by", "was"})


@dataclass(frozen=True)
class Draft:
    """What a first map says.

    Attributes:
        path: the map.
        detected: what was found out about the file.
        doubts: what could not be told, and what to write in the map.
        suggested: the file's header by the log's, where they resemble each other.
    """

    path: Path
    detected: tuple[Detected, ...]
    doubts: tuple[str, ...]
    suggested: dict[str, str]


@dataclass(frozen=True)
class _Look:
    """What the cells of one column look like."""

    header: str
    sample: str
    number: bool
    date: bool
    amount: bool


def write_draft_map(
    csv_path: Path | str, content: LogContent, map_path: Path | str, sheet: str = "Sourcing log"
) -> Draft:
    """Write a first map for a file, to be looked through and completed.

    Args:
        csv_path: the file.
        content: the log that it is to be imported into.
        map_path: the new map; what stands there is never written over.
        sheet: the sheet that it is to be imported into.

    Errors:
        LogFileError: the map is there already, or the file cannot be used.
    """
    path = Path(map_path)
    if path.exists():
        raise LogFileError(f"{path}: already exists and stays as it is; choose another name")
    refuse_older(content)
    table = table_named(content, sheet, path.name)
    file = read_csv(csv_path, FileFacts(), doubtful=True)
    looks = _looks(file)
    numbers = [place for place, look in enumerate(looks) if look.number and not look.date]
    dates = [place for place, look in enumerate(looks) if look.date]
    formats = find_formats(FirstCells(file), FileFacts(), numbers, dates)
    found = [*file.found, formats.decimal, formats.thousands, formats.order]
    columns = log_columns(content, table)
    suggested = _suggestions(columns, looks, file.twice())
    perhaps = _perhaps(file, content, table) if table.key == "Log" else {}
    lines = "\n".join(
        [
            *_facts(file, found),
            *_how(suggested, columns[0].header, content.places[table.key].sheet),
            *_columns(file, looks, columns, suggested, perhaps),
        ]
    )
    with atomic_write(path) as beside:
        beside.write_text(f"{lines}\n", encoding="utf-8")
    years = [Detected("Two-digit years", formats.short_years)] if formats.short_years else []
    return Draft(
        path,
        (*(Detected.of(one) for one in found if not one.doubt), *years),
        tuple(f"{file.path.name}: {one.doubt}" for one in found if one.doubt),
        suggested,
    )


def _perhaps(file: CsvFile, content: LogContent, table: TableSheet) -> dict[str, str]:
    """The log's header by the file's, by what stands in the columns: to be confirmed by the seller."""
    guess = guess_map(file, content, looks_of(file, content, LogRows(content, table)))
    return {
        source: header
        for header, sources in guess.columns.items()
        for source in ((sources,) if isinstance(sources, str) else sources)
    }


def _looks(file: CsvFile) -> list[_Look]:
    looks = []
    rows = [row for row in islice(file.rows, _SAMPLE) if not file.misfit(row)]
    for place, header in enumerate(file.headers):
        cells = [row.cells[place].strip() for row in rows if place < len(row.cells)]
        filled = [cell for cell in cells if cell]
        looks.append(
            _Look(
                header,
                filled[0] if filled else "",
                _mostly(number_text(cell) is not None for cell in filled),
                _mostly(date_text(cell) is not None for cell in filled),
                _mostly(is_amount(cell) for cell in filled),
            )
        )
    return looks


def _mostly(verdicts: Iterable[bool]) -> bool:
    found = list(verdicts)
    return bool(found) and sum(found) >= _MOSTLY * len(found)


# ---- resemblance ---------------------------------------------------------------------------------


def _words(header: str) -> frozenset[str]:
    """The words of a header, with one word for those that mean the same there."""
    apart = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", header).replace("#", " no ")
    words = " ".join(_SAME_WORDS.get(word, word) for word in re.findall(r"[^\W_]+", apart.casefold())).split()
    return frozenset(words) - _LITTLE_WORDS


def _likeness(column: LogColumn, look: _Look) -> float:
    """How much a header of the file resembles one of the log, from 0 to 1."""
    if column.kind.holds == "number" and look.sample and not look.number:
        return 0
    if column.kind.holds == "date" and look.sample and not look.date:
        return 0
    if column.kind.holds == "text" and look.date and not look.number:
        return 0
    if column.kind.holds == "text" and look.amount:
        return 0
    one, other = _words(column.header), _words(look.header)
    if not one or not other:
        return 0
    shared = len(one & other) / len(one | other)
    if one != other and not (one & other) - _OFTEN:
        shared = 0
    spelled = difflib.SequenceMatcher(None, plain(column.header), plain(look.header)).ratio()
    return max(shared if shared >= _ALIKE else 0, spelled if spelled >= _SPELLED_ALIKE else 0)


def _suggestions(columns: Sequence[LogColumn], looks: Sequence[_Look], twice: set[str]) -> dict[str, str]:
    """The file's header by the log's, the most alike first, each used once."""
    pairs = sorted(
        (
            (-likeness, at, place)
            for at, column in enumerate(columns)
            for place, look in enumerate(looks)
            if plain(look.header) not in twice and (likeness := _likeness(column, look)) > 0
        )
    )
    used: set[int] = set()
    found: dict[int, str] = {}
    for _, at, place in pairs:
        if at not in found and place not in used:
            found[at] = looks[place].header
            used.add(place)
    return {columns[at].header: found[at] for at in sorted(found)}


# ---- the text of the map -------------------------------------------------------------------------


def _facts(file: CsvFile, found: Sequence[Found]) -> Iterator[str]:
    yield from _comment(f"What the columns of {file.path.name} are in the log.")
    yield "# Check every line, correct it, save, and run the command again."
    yield ""
    yield "[file]"
    yield "# Blank: detected in each file. The line above says what was detected in this one."
    for key, fact in zip(_KEYS, found, strict=True):
        yield from _comment(f"{fact.label}: {fact.doubt or fact.shown}")
        if fact.doubt:
            yield "# CHOOSE, as the file doesn't show it:"
        yield f'{key} = ""'
    yield '# Words in the file that mean a blank cell, such as ["--", "n/a"]:'
    yield "blank_words = []"
    yield ""


def _how(suggested: dict[str, str], first: str, sheet: str) -> Iterator[str]:
    match = first if first in suggested else ""
    yield "[log]"
    yield f"sheet = {quoted(sheet)}"
    yield "# The column of the log by which rows are found; it must be under [columns]:"
    if not match:
        yield "# CHOOSE: nothing in the file looks like the first column of this sheet."
    yield f"match = {quoted(match)}"
    yield "# true: rows of the file that are not in the log are added below the last filled one."
    yield "new_rows = false"
    yield "# Amounts that have a minus in the file and none in the log, such as a fee:"
    yield "minus_as_plus = []"
    yield ""


def _columns(
    file: CsvFile,
    looks: Sequence[_Look],
    columns: Sequence[LogColumn],
    suggested: dict[str, str],
    perhaps: dict[str, str],
) -> Iterator[str]:
    samples = {look.header: look.sample for look in looks}
    yield "[columns]"
    yield "# Column of the log = column of the file. Delete the lines that you don't want to import."
    for header, csv_header in suggested.items():
        yield f"{quoted(header)} = {quoted(csv_header)}  # {_sample(samples[csv_header])}"
    rest = [look for look in looks if look.header and look.header not in suggested.values()]
    if rest:
        yield "# Other columns of the file; to use one, delete the # and name a column:"
    twice = file.twice()
    for look in rest:
        note = "; is duplicated, so rename it in the file" if plain(look.header) in twice else ""
        if look.header in perhaps and perhaps[look.header] not in suggested:
            note += f"; perhaps {quoted(perhaps[look.header])}"
        yield f'# "" = {quoted(look.header)}  # {_sample(look.sample)}{note}'
    free = [column.header for column in columns if column.header not in suggested]
    if free:
        yield from _wrapped(["Other columns of the log:", *(f"{quoted(one)}," for one in free)])
    yield ""
    yield "[fixed]"
    yield "# The same value for every row, such as a channel:"
    for one in columns:
        if one.key in _USUALLY_FIXED and one.names is not None:
            yield f"# {quoted(one.header)} = {quoted(next(iter(one.names.words), ''))}"


def _sample(text: str) -> str:
    return f"such as {_one_line(shown_cell(text))}" if text else "blank in this file"


def _one_line(text: str) -> str:
    """A text that cannot end its comment: TOML allows no control characters there."""
    return "".join(letter if letter.isprintable() else " " for letter in text)


def _comment(text: str) -> Iterable[str]:
    """A text as lines of comment."""
    return _wrapped(_one_line(text).split(" "))


def _wrapped(words: Sequence[str]) -> Iterator[str]:
    line = "#"
    for word in map(_one_line, words):
        if len(line) + len(word) >= _WIDTH and line != "#":
            yield line
            line = "#  "
        line += f" {word}"
    yield line.removesuffix(",")


def quoted(text: str) -> str:
    r"""A text as TOML has it.

    >>> print(quoted('5" pipe'))
    "5\" pipe"
    """
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
