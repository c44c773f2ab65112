"""A CSV file of unknown origin: encoding, separator, headers and rows.

Nothing is guessed in silence: what cannot be told from the file is a doubt that says what to state.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, islice
from pathlib import Path
from typing import Final, NamedTuple

from sheetfns.cell_types import shown_cell
from sheetfns.errors import LogFileError
from sheetfns.files.packed_file import first_bytes
from sheetfns.log.edit.csv_import.encodings import encoding_of
from sheetfns.log.edit.csv_import.facts import Found
from sheetfns.log.edit.csv_import.number_formats import date_text, number_text
from sheetfns.log.read.sheet_reader import plain

SEPARATORS: Final = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
MOST_BYTES: Final = 200 << 20
MOST_ROWS: Final = 1_000_000
_HEADER_WITHIN: Final = 50
_SAMPLE: Final = 1_000
_MOSTLY: Final = 0.9
"""So many of the rows have as many cells as the headers where the separator is the right one."""
_HALF: Final = 0.5
_END: Final = "\ue000 end of the file \ue000"
_SEP_LINE: Final = re.compile(r'"?sep=(.)"?[\r\n]*', re.IGNORECASE)
_OTHER_FILES: Final = (
    (b"PK", "is a workbook or another packed file"),
    (bytes.fromhex("d0cf11e0a1b11ae1"), "is a workbook in the old format (.xls)"),
    (b"%PDF", "is a PDF"),
    (b"\x1f\x8b", "is a packed file"),
    (b"{\\rtf", "is a text document"),
)
_WEB_PAGE: Final = re.compile(rb"\s*<(?:!doctype|html|head|body|table|meta|script|\?xml|div)\b", re.IGNORECASE)


@dataclass(frozen=True)
class FileFacts:
    """What is stated about a file; blank or 0 is to be found out.

    `blank_words` are texts that stand for a blank cell, such as --. `epoch` is the unit of times that are
    numbers, counted from 1970; `utc_offset` is where their days begin, such as -05:00, at first in UTC.
    """

    encoding: str = ""
    separator: str = ""
    decimal_mark: str = ""
    thousands_mark: str = ""
    date_order: str = ""
    header_row: int = 0
    blank_words: tuple[str, ...] = ()
    epoch: str = ""
    utc_offset: str = ""


class CsvRow(NamedTuple):
    """A row of the file, by its number there: the one that a spreadsheet program shows."""

    number: int
    cells: Sequence[str]


@dataclass(frozen=True)
class CsvFile:
    """What stands in a CSV file.

    Attributes:
        path: the file.
        separator: the mark between its cells.
        header_row: the row of its headers, counted from 1.
        headers: the texts there, trimmed.
        rows: every row below that is not blank.
        blank_rows: how many are.
        found: what was found out about the file: encoding, separator, header row.
    """

    path: Path
    separator: str
    header_row: int
    headers: tuple[str, ...]
    rows: list[CsvRow]
    blank_rows: int
    found: tuple[Found, ...]

    def twice(self) -> set[str]:
        """Headers that stand over more than one column, as they are compared."""
        counts = Counter(plain(header) for header in self.headers if header)
        return {header for header, count in counts.items() if count > 1}

    def misfit(self, row: CsvRow) -> str:
        """Why a row cannot be laid under the headers; "" if it can."""
        width = len(self.headers)
        if len(row.cells) == width:
            return ""
        if len(row.cells) > width and not any(map(str.strip, row.cells[width:])):
            return ""
        if len(row.cells) < width and not any(self.headers[len(row.cells) :]):
            return ""
        count = f"{len(row.cells)} cell{'s' if len(row.cells) != 1 else ''}"
        return (
            f"the row has {count} and the headers have {width}; there is a separator, quotation mark or line break too "
            "many or too few"
        )


def read_csv(path: Path | str, facts: FileFacts, *, doubtful: bool = False) -> CsvFile:
    """Read a CSV file.

    Args:
        facts: what the map states about it.
        doubtful: whether to read on by the best guess where something cannot be told; the doubt
            stands in `found`.

    Errors:
        LogFileError: no CSV file, too large, damaged, or something cannot be told.
    """
    path = Path(path)
    _refuse_other_files(path)
    encoding = encoding_of(path, facts.encoding)
    _refuse_doubt(path, encoding, doubtful=doubtful)
    text = _Text(path, encoding.value)
    separator = _separator(text, facts.separator)
    _refuse_doubt(path, separator, doubtful=doubtful)
    mark = separator.value or ","
    header = _header_row(text, mark, facts.header_row)
    headers, rows, blank = _rows(text, mark, int(header.value))
    return CsvFile(path, mark, int(header.value), headers, rows, blank, (encoding, separator, header))


def _refuse_doubt(path: Path, found: Found, *, doubtful: bool) -> None:
    if found.doubt and not doubtful:
        raise LogFileError(f"{path.name}: {found.doubt}")


def _refuse_other_files(path: Path) -> None:
    head, size, name = first_bytes(path, "CSV file"), path.stat().st_size, path.name
    if not head.strip(b"\xef\xbb\xbf\xff\xfe\0 \t\r\n") and size <= len(head):
        raise LogFileError(f"{name}: is empty; export it again")
    if size > MOST_BYTES:
        raise LogFileError(
            f"{name}: is {size >> 20:,} MB, and a CSV file may have {MOST_BYTES >> 20} MB. Export fewer months at a "
            "time"
        )
    for start, kind in _OTHER_FILES:
        if head.startswith(start):
            raise LogFileError(
                f"{name}: {kind}, not a CSV file, whatever its name says; open it in your "
                "spreadsheet program and save it as CSV, UTF-8"
            )
    if _WEB_PAGE.match(head.removeprefix(codecs.BOM_UTF8)):
        raise LogFileError(
            f"{name}: is a web page, not a CSV file, whatever its name says; you may have been signed out when it was "
            "saved: sign in and export it again"
        )
    if head.lstrip()[:1] in {b"{", b"["} and b'":' in head:
        raise LogFileError(f"{name}: is a data file of another kind (JSON), not a CSV file; export it as CSV")


class _Text:
    """The text of a file, read anew for each pass so that it is never held as a whole."""

    def __init__(self, path: Path, encoding: str) -> None:
        self.path = path
        self.encoding = encoding
        with self.open() as file:
            first = _SEP_LINE.fullmatch(file.readline(20))
        self.stated_separator = first[1] if first and first[1] in SEPARATORS else ""

    def open(self) -> io.TextIOWrapper:
        return self.path.open(encoding=self.encoding, newline="")

    def records(self, separator: str) -> Iterator[tuple[int, list[str]]]:
        """The rows with their numbers.

        Errors:
            LogFileError: a quotation mark is never closed, or the file has too many rows.
        """
        with self.open() as file:
            ended = False
            number, line = 0, 1
            reader = csv.reader(chain(file, (_END,)), delimiter=separator)
            while True:
                number += 1
                try:
                    cells = next(reader, None)
                except csv.Error as error:
                    raise self._unclosed(number, line) from error
                if cells is None:
                    break
                if cells == [_END]:
                    ended = True
                    break
                if number > MOST_ROWS + _HEADER_WITHIN:
                    raise LogFileError(
                        f"{self.path.name}: has more than {MOST_ROWS:,} rows; export fewer months at a time"
                    )
                if cells and cells[-1].endswith(_END):
                    break
                line = reader.line_num + 1
                if number == 1 and self.stated_separator:
                    continue
                yield number, cells
            if not ended:
                raise self._unclosed(number, line)

    def _unclosed(self, number: int, line: int) -> LogFileError:
        return LogFileError(
            f"{self.path.name}, row {number} (line {line}): a quotation mark opens a cell there and is never closed, "
            "so the rest of the file is one cell; close or delete it, or export the file again"
        )

    def sample(self, separator: str) -> list[list[str]]:
        """The first rows that are not blank; a quotation mark that never closes ends them."""
        records: list[list[str]] = []
        try:
            for _, cells in islice(self.records(separator), 2 * _SAMPLE):
                if any(map(str.strip, cells)):
                    records.append(cells)
        except LogFileError:
            pass
        return records[:_SAMPLE]


# ---- separator -----------------------------------------------------------------------------------


def _separator(text: _Text, stated: str) -> Found:
    label = "Separator"
    if stated:
        return Found.stated(label, stated, SEPARATORS[stated])
    if text.stated_separator:
        mark = text.stated_separator
        return Found(label, mark, f"{SEPARATORS[mark]} (the file's first line says so)")
    samples = {mark: text.sample(mark) for mark in SEPARATORS}
    parting = [mark for mark, rows in samples.items() if any(len(row) > 1 for row in rows)]
    if not parting:
        return Found(label, "", "none: the file has one column")
    heads = {mark: _header_place(samples[mark]) for mark in parting}
    good = [mark for mark in parting if _even(samples[mark], 0, _MOSTLY)]
    if not good:
        good = [mark for mark in parting if _even(samples[mark], heads[mark], _MOSTLY)]
    if not good:
        good = [mark for mark in parting if _even(samples[mark], heads[mark], _HALF)]
    if len(good) == 1:
        width = len(samples[good[0]][heads[good[0]]])
        return Found(label, good[0], f"{SEPARATORS[good[0]]} ({width} columns)")
    marks = good or parting
    names = " or ".join(f'{SEPARATORS[mark]} (separator = "{SEPARATORS[mark]}")' for mark in marks)
    why = (
        "the cells can be separated in more than one way"
        if good
        else "no separator gives rows with the same number of cells"
    )
    guess = max(marks, key=lambda mark: max(map(len, samples[mark])))
    doubt = f"{why}; under [file] in the map, write which it is: {names}"
    return Found(label, guess, f"perhaps {SEPARATORS[guess]}", doubt)


def _even(rows: Sequence[Sequence[str]], first: int, share: float) -> bool:
    """Whether the rows from one on have as many cells as that one, most of them."""
    width = len(rows[first])
    below = rows[first:]
    fitting = sum(len(row) == width or (len(row) > width and not any(map(str.strip, row[width:]))) for row in below)
    return width > 1 and fitting >= share * len(below)


# ---- headers and rows ----------------------------------------------------------------------------


def _is_word(cell: str) -> bool:
    return any(map(str.isalpha, cell)) and number_text(cell) is None and date_text(cell) is None


def _header_place(rows: Sequence[Sequence[str]]) -> int:
    """The first of the rows with the most cells that are filled, different and no numbers."""
    usual = Counter(map(len, rows)).most_common(1)[0][0]
    scores = [min(usual, len({plain(cell) for cell in row if _is_word(cell)})) for row in rows[:_HEADER_WITHIN]]
    return scores.index(max(scores))


def _header_row(text: _Text, separator: str, stated: int) -> Found:
    label = "Header row"
    if stated:
        return Found.stated(label, str(stated), f"row {stated}")
    numbered = [
        (number, cells)
        for number, cells in islice(text.records(separator), _HEADER_WITHIN)
        if any(map(str.strip, cells))
    ]
    if not numbered:
        raise LogFileError(
            f"{text.path.name}: the first {_HEADER_WITHIN} rows are blank; write header_row under [file] in the map"
        )
    number = numbered[_header_place([cells for _, cells in numbered])][0]
    above = f" ({number - 1} row{'s' if number > 2 else ''} above it left out)"
    return Found(label, str(number), f"row {number}{above if number > 1 else ''}")


def _rows(text: _Text, separator: str, header_row: int) -> tuple[tuple[str, ...], list[CsvRow], int]:
    headers: tuple[str, ...] | None = None
    rows: list[CsvRow] = []
    blank = number = 0
    for number, cells in text.records(separator):
        if number < header_row:
            continue
        if headers is None:
            headers = tuple(" ".join(cell.split()) for cell in cells)
        elif any(map(str.strip, cells)):
            rows.append(CsvRow(number, cells))
        else:
            blank += 1
    if headers is None or not any(headers):
        raise LogFileError(
            f"{text.path.name}: row {header_row} has no headers, and the file has {number} rows; write header_row "
            "under [file] in the map"
        )
    if not any(map(_is_word, headers)):
        raise LogFileError(
            f"{text.path.name}: row {header_row} should hold headers (found: '{shown_cell(', '.join(headers))}'); add "
            "a row of headers above the columns, or write header_row under [file] in the map"
        )
    if not rows:
        raise LogFileError(
            f"{text.path.name}: there is nothing below the headers in row {header_row}; export it again, or write "
            "header_row under [file] in the map"
        )
    return headers, rows, blank
