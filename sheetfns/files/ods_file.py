"""Opening an OpenDocument workbook (.ods) of unknown origin: its cells, and what they hide.

Everything stands in one part, content.xml, and is read from it in one go: values, errors, formulas
and names belong together in a cell there. A reader of values alone, such as python-calamine, gives
neither formulas nor errors, and reserves room for every cell that is said to be repeated.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice
from typing import Any, Final

from lxml import etree

from sheetfns.cell_types import LONGEST_TEXT
from sheetfns.errors import CODES, LogFileError
from sheetfns.files.cell_names import cell_name
from sheetfns.files.open_formula import xlsx_cells, xlsx_formula
from sheetfns.files.packed_file import AGAIN, MOST_CELLS, MOST_PARTS, PackedFile
from sheetfns.files.sheet_cells import Hidden, Place

CONTENT_PART: Final = "content.xml"
_MANIFEST: Final = "META-INF/manifest.xml"
_KINDS: Final = {
    "text": "a text document",
    "presentation": "a presentation",
    "graphics": "a drawing",
    "chart": "a chart",
    "formula": "a formula",
    "database": "a database",
    "base": "a database",
}
_SPACES: Final = {
    name: f"{{urn:oasis:names:tc:opendocument:xmlns:{name}:1.0}}" for name in ("office", "table", "text")
} | {"calcext": "{urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}"}
_OFFICE, _TABLE, _TEXT, _CALCEXT = _SPACES.values()
_SHEET, _ROW, _CELL = f"{_TABLE}table", f"{_TABLE}table-row", f"{_TABLE}table-cell"
_CELLS: Final = frozenset({_CELL, f"{_TABLE}covered-table-cell"})
_PARAGRAPHS: Final = frozenset({f"{_TEXT}p", f"{_TEXT}h"})
_NAMED_CELLS, _NAMED_FORMULA = f"{_TABLE}named-range", f"{_TABLE}named-expression"
_NULL_DATE: Final = f"{_TABLE}null-date"
_NOT_SHOWN: Final = frozenset({f"{_OFFICE}annotation", f"{_OFFICE}annotation-end", f"{_TEXT}note", f"{_TEXT}ruby-text"})
_FIRST_DAYS: Final = {"1899-12-30": False, "1904-01-01": True}
"""The days from which cells count that are no dates by themselves, and whether that is 1904."""

_MOST_ROWS, _MOST_COLUMNS = 1 << 20, 1 << 14
_LEAST_WIDTH: Final = 100
_MOST_BETWEEN_ROWS: Final = 1 << 26
"""So much XML is held at once: a row, or what stands before the first one."""
_MOST_REPEATED: Final = 1_000_000
"""So many formulas and errors may be given by a number of times; programs write each."""
_MOST_TEXT: Final = 1 << 28
_DEEPEST: Final = 100
_ERROR_WORDS: Final = re.compile(rf"{'|'.join(map(re.escape, CODES))}|#[A-Z][A-Z/0-9]*[!?]|Err:[0-9]{{3}}")
_CONSTANT: Final = re.compile(r"of:=(TRUE|FALSE)\(\)")
_DAY_ZERO: Final = dt.datetime(1899, 12, 30)  # noqa: DTZ001  (cells know no zone)
_TIME: Final = re.compile(r"(-?)P(?:(\d{1,7})D)?T?(?:(\d{1,9})H)?(?:(\d{1,9})M)?(?:(\d{1,9}(?:[.,]\d*)?)S)?")
_FORMULAS_LOOKED_AT: Final = 10_000
"""So many formulas of a sheet are enough to tell what they call."""
_LINE_END: Final = re.compile(r"(?<![ \t\r\n])[ \t]*[\r\n][ \t\r\n]*")
_AT_AN_END: Final = re.compile(rf"^{_LINE_END.pattern}|{_LINE_END.pattern}$")
_KEPT_BLANK, _KEPT_BREAK, _KEPT_TAB = "\0\x01\x02"
"""They stand for marks between blanks that count once; no XML holds them as characters."""
_KEPT: Final = {ord(_KEPT_BLANK): " ", ord(_KEPT_BREAK): "\n", ord(_KEPT_TAB): "\t"}
_EXTERNAL: Final = "'file:"
"""What names of sheets begin with that only keep what other files last showed."""


@dataclass
class _Sheet:
    """A sheet while it is read, and after it; rows from 1 and columns from 0 in places."""

    name: str
    rows: list[list[Any]] = field(default_factory=list)
    width: int = 0
    blank_rows: int = 0
    hidden: Hidden = field(default_factory=Hidden)
    formulas: dict[Place, str] = field(default_factory=dict)
    times: dict[Place, float] = field(default_factory=dict)


class _Items:
    """A part of a zip, read on as long as rows come to an end."""

    def __init__(self, part: Any) -> None:
        self.part = part
        self.since_a_row = 0

    def read(self, size: int = -1) -> bytes:
        item: bytes = self.part.read(size)
        self.since_a_row += len(item)
        if self.since_a_row > _MOST_BETWEEN_ROWS:
            raise ValueError("one of its rows is longer than any workbook's")
        return item


class OdsFile(PackedFile):
    """An .ods workbook that is open for reading; formulas and names are those of an .xlsx.

    Attributes:
        defined_names: what each name stands for.
        counts_from_1904: whether numbers that stand for days count from 1904.

    Errors:
        LogFileError: the file is missing, damaged, protected, too large or no .ods workbook.
    """

    @property
    def sheet_names(self) -> list[str]:
        """The sheets in the order of the workbook."""
        return list(self._sheets)

    def size(self, sheet: str) -> tuple[int, int]:
        """Rows and columns, blank results at the end among them."""
        found = self._sheets[sheet]
        rows = max((row for row, _ in found.formulas), default=0)
        columns = max((column for _, column in found.formulas), default=-1)
        return max(len(found.rows), rows), max(found.width, columns + 1)

    def cells(self, sheet: str) -> list[list[Any]]:
        """Every cell from A1 on, "" where it is blank."""
        width = self._sheets[sheet].width
        return [[*row, *[""] * (width - len(row))] for row in self._sheets[sheet].rows]

    def hidden(self, sheet: str) -> Hidden:
        """What the sheet says beyond the values of its cells."""
        found = self._sheets[sheet]
        if not found.hidden.formulas:
            first = islice(found.formulas.values(), _FORMULAS_LOOKED_AT)
            found.hidden.formulas = "\n".join(first).encode()
        return found.hidden

    def numbers(self, sheet: str, cells: set[str]) -> dict[str, float]:
        """The days in cells such as E13 that hold a time of day or a span of time."""
        return {
            name: days
            for (row, column), days in self._sheets[sheet].times.items()
            if (name := cell_name(row, column + 1)) in cells
        }

    def formulas(self, sheet: str) -> dict[tuple[int, int], str]:
        """The formulas without the equals sign; row and column counted from 1."""
        return {(row, column + 1): xlsx_formula(text) for (row, column), text in self._sheets[sheet].formulas.items()}

    # ---- what is refused ---------------------------------------------------------------------

    def _refuse_other_kind(self, names: set[str]) -> None:
        name = self.path.name
        locked = _MANIFEST in names and b"encryption-data" in self._zip.read(_MANIFEST)
        if locked or "encrypted-package" in names:
            raise LogFileError(
                f"{name}: is protected with a password; open it in your spreadsheet program, "
                "remove the password and save it"
            )
        declared = self._zip.read("mimetype")[:80] if "mimetype" in names else b""
        kind = re.match(rb"application/vnd\.oasis\.opendocument\.([a-z]+)", declared)
        if kind and kind[1] != b"spreadsheet":
            other = _KINDS.get(kind[1].decode(), "another kind of document")
            raise LogFileError(f"{name}: is {other}, not a workbook, whatever its name says; give the name of your log")

    def _far_away(self, sheet: _Sheet, row: int, column: int) -> LogFileError:
        return LogFileError(
            f"{self.path.name}: on sheet {sheet.name}, cell {cell_name(row, column + 1)} is filled, far from "
            "everything else; clear that cell, save, and try again"
        )

    # ---- reading -----------------------------------------------------------------------------

    def _read(self) -> None:
        self._sheets: dict[str, _Sheet] = {}
        self._cells_held = self._text_held = self._repeated = 0
        self.defined_names: dict[str, str] = {}
        self.local_names: list[tuple[str, str, str]] = []
        """Names that hold on one sheet only: sheet, name, and what it stands for."""
        self.counts_from_1904 = False
        with self._zip.open(CONTENT_PART) as part:
            for element, sheet in self._elements(_Items(part)):
                tag = element.tag
                if tag == _ROW and sheet is not None:
                    self._row(sheet, element)
                elif tag in {_NAMED_CELLS, _NAMED_FORMULA}:
                    self._name(element, sheet)
                elif tag == _NULL_DATE:
                    self._null_date(element.get(f"{_TABLE}date-value", ""))
            # What follows the end is read for its check sum alone.
            while part.read(1 << 22):
                pass

    def _elements(self, part: _Items) -> Iterator[tuple[Any, _Sheet | None]]:
        """Each row, name and first day where it ends, with the sheet that it belongs to."""
        sheet: _Sheet | None = None
        depth, found_book = 0, False
        tags = (_SHEET, _ROW, _NAMED_CELLS, _NAMED_FORMULA, _NULL_DATE, f"{_OFFICE}spreadsheet")
        events = etree.iterparse(
            part, events=("start", "end"), tag=tags, resolve_entities=False, no_network=True, huge_tree=True
        )
        for event, element in events:
            if element.tag == f"{_OFFICE}spreadsheet":
                found_book = True
            elif element.tag == _SHEET:
                depth += 1 if event == "start" else -1
                if event == "start" and depth == 1:
                    sheet = self._begun(element)
                elif depth == 0:
                    sheet = None
                    element.clear()
            elif event == "end" and depth <= 1:
                yield element, sheet
                if element.tag == _ROW:
                    part.since_a_row = 0
                    element.clear()
                    while element.getprevious() is not None:
                        del element.getparent()[0]
        if not found_book:
            raise ValueError("there is no workbook in it")

    def _begun(self, element: Any) -> _Sheet | None:
        name = element.get(f"{_TABLE}name", "")
        in_book = element.getparent().tag == f"{_OFFICE}spreadsheet"
        if not in_book or name.startswith(_EXTERNAL):
            return None
        if name in self._sheets:
            raise LogFileError(
                f"{self.path.name}: two sheets in it are named {name}, so programs may show different things; {AGAIN}"
            )
        if len(self._sheets) >= MOST_PARTS:
            raise LogFileError(
                f"{self.path.name}: has more than {MOST_PARTS} sheets, so it is not a log; if it should be one, {AGAIN}"
            )
        self._sheets[name] = _Sheet(name)
        return self._sheets[name]

    def _row(self, sheet: _Sheet, element: Any) -> None:
        times = _repeated(element, "rows", _MOST_ROWS)
        first = len(sheet.rows) + sheet.blank_rows + 1
        cells = list(self._row_cells(sheet, element, first))
        if not cells:
            sheet.blank_rows += times
            return
        width = cells[-1][0] + cells[-1][1]
        last = first + times - 1
        sheet.width = max(sheet.width, width)
        held = last * max(sheet.width, _LEAST_WIDTH)
        added = (last - len(sheet.rows)) * width
        if held > MOST_CELLS or self._cells_held + added > MOST_CELLS:
            raise self._far_away(sheet, last, width - 1)
        self._cells_held += added
        self._text_held += sum(len(cell.value) for _, _, cell in cells if type(cell.value) is str)
        if self._text_held > _MOST_TEXT:
            raise ValueError("its texts are longer than those of any workbook")
        sheet.rows += [[] for _ in range(sheet.blank_rows)]
        sheet.blank_rows = 0
        line: list[Any] = [""] * width
        for column, many, cell in cells:
            line[column : column + many] = [cell.value] * many
        sheet.rows += [line.copy() for _ in range(times)]
        for column, many, cell in cells:
            if cell.formula is None and cell.error is None and cell.days is None:
                continue
            self._repeated += many * times - 1
            if self._repeated > _MOST_REPEATED:
                raise self._far_away(sheet, last, column + many - 1)
            for row in range(first, last + 1):
                for place in range(column, column + many):
                    _keep(sheet, (row, place), cell)

    def _row_cells(self, sheet: _Sheet, element: Any, row: int) -> Iterator[tuple[int, int, _Cell]]:
        """The cells of a row that hold anything: place from 0, how often, and what."""
        column = 0
        for child in element:
            if child.tag not in _CELLS:
                continue
            many = _repeated(child, "columns", _MOST_COLUMNS)
            cell = _cell(child)
            if cell is not None:
                if column + many > _MOST_COLUMNS:
                    raise self._far_away(sheet, row, column)
                yield column, many, cell
            column += many

    def _name(self, element: Any, sheet: _Sheet | None) -> None:
        name = element.get(f"{_TABLE}name", "")
        if element.tag == _NAMED_CELLS:
            address = element.get(f"{_TABLE}cell-range-address", "")
            text = xlsx_cells(address) or address
        else:
            text = xlsx_formula(element.get(f"{_TABLE}expression", ""))
        if sheet is None:
            self.defined_names[name] = text
        else:
            self.local_names.append((sheet.name, name, text))

    def _null_date(self, day: str) -> None:
        if day not in _FIRST_DAYS:
            raise LogFileError(f"{self.path.name}: counts its days from {day}, which cannot be read here; {AGAIN}")
        self.counts_from_1904 = _FIRST_DAYS[day]


@dataclass(frozen=True)
class _Cell:
    """What a cell holds; `error` is the code that it shows, `days` a time in days."""

    value: Any
    formula: str | None = None
    error: str | None = None
    days: float | None = None
    calculated: bool = True


def _keep(sheet: _Sheet, place: Place, cell: _Cell) -> None:
    hidden = sheet.hidden
    if cell.error is not None:
        hidden.errors[place] = cell.error
    if cell.days is not None:
        sheet.times[place] = cell.days
    if cell.formula is None:
        return
    sheet.formulas[place] = cell.formula
    if cell.calculated:
        hidden.calculated = hidden.calculated or cell.value != "" or cell.error is not None
    else:
        hidden.not_calculated.setdefault(place[1], []).append(place[0])


def _repeated(element: Any, what: str, maximum: int) -> int:
    text = element.get(f"{_TABLE}number-{what}-repeated", "1")
    if not (text.isascii() and text.isdigit() and len(text) < len("1000000000")):
        raise ValueError(f"it says '{text[:20]}' where a number of {what} is expected")
    return min(max(1, int(text)), maximum)


def _cell(element: Any) -> _Cell | None:
    """What stands in a cell; None if it is blank."""
    formula = element.get(f"{_TABLE}formula")
    kind = element.get(f"{_OFFICE}value-type")
    if formula is None and kind is None and not len(element):
        return None
    paragraphs = [child for child in element if child.tag in _PARAGRAPHS]
    if kind in {None, "string"} or formula is not None:
        text = "\n".join(_paragraph(one) for one in paragraphs)
    else:
        text = ""
    is_error = formula is not None and _ERROR_WORDS.fullmatch(text)
    if is_error or element.get(f"{_CALCEXT}value-type") == "error":
        return _Cell("", formula, text or "an error")
    if formula is not None and (constant := _CONSTANT.fullmatch(formula)):
        return _Cell(constant[1] == "TRUE", formula)  # LibreOffice keeps a typed TRUE in this way
    value, days = _value(element, kind, text)
    if isinstance(value, float) and not math.isfinite(value):
        return _Cell("", formula, "#NUM!")
    if value == "" and formula is None:
        return None
    return _Cell(value, formula, None, days, calculated=kind is not None or bool(paragraphs))


def _value(element: Any, kind: str | None, text: str) -> tuple[Any, float | None]:
    """The value of a cell, and its days if it is a time."""
    if kind in {"float", "percentage", "currency"}:
        return float(element.get(f"{_OFFICE}value", "")), None
    if kind == "boolean":
        return element.get(f"{_OFFICE}boolean-value") == "true", None
    if kind == "date":
        return _day(element.get(f"{_OFFICE}date-value", ""))
    if kind == "time":
        return _time(element.get(f"{_OFFICE}time-value", ""))
    return element.get(f"{_OFFICE}string-value", text), None


def _day(text: str) -> tuple[Any, float | None]:
    """A date, with its time if it has one; the text itself where the calendar has no such day."""
    try:
        moment = dt.datetime.fromisoformat(text).replace(tzinfo=None)
    except ValueError:
        return text, None
    if moment < _DAY_ZERO + dt.timedelta(days=1):
        return _span(moment - _DAY_ZERO)  # a time, or a number below 1, in a cell for dates
    return (moment.date() if moment.time() == dt.time() else moment), None


def _time(text: str) -> tuple[Any, float | None]:
    parts = _TIME.fullmatch(text)
    if parts is None:
        return text, None
    days, hours, minutes = (int(part or 0) for part in parts.groups()[1:4])
    seconds = float((parts[5] or "0").replace(",", "."))
    try:
        span = dt.timedelta(days=days, hours=hours, minutes=minutes, seconds=seconds)
    except OverflowError:
        return text, None
    return _span(-span if parts[1] else span)


def _span(span: dt.timedelta) -> tuple[Any, float]:
    """A time of day, or a longer or negative span, and its days."""
    in_days = span / dt.timedelta(days=1)
    if dt.timedelta() <= span < dt.timedelta(days=1):
        return (_DAY_ZERO + span).time(), in_days
    return span, in_days


def _paragraph(element: Any) -> str:
    """A paragraph as it is shown.

    By the standard all blanks beside each other count once, and none at the ends. LibreOffice 7.4
    writes them bare in texts of several lines, and reads them; so only those of a line's end, as
    where a part is indented, are taken for one.
    """
    if len(element) and sum(map(_blanks, element.iter(f"{_TEXT}s"))) > LONGEST_TEXT:
        raise ValueError("a text in it has more blanks than a cell holds")
    items: list[str] = []
    _gather(element, items)
    text = "".join(items)
    return _LINE_END.sub(" ", _AT_AN_END.sub("", text)).translate(_KEPT)


def _gather(element: Any, items: list[str], depth: int = 0) -> None:
    if depth > _DEEPEST:
        raise ValueError("marks in a text of it are nested too deep")
    items.append(element.text or "")
    for child in element:
        tag = child.tag
        if tag == f"{_TEXT}s":
            items.append(_KEPT_BLANK * _blanks(child))
        elif tag == f"{_TEXT}line-break":
            items.append(_KEPT_BREAK)
        elif tag == f"{_TEXT}tab":
            items.append(_KEPT_TAB)
        elif isinstance(tag, str) and tag not in _NOT_SHOWN:
            _gather(child, items, depth + 1)
        items.append(child.tail or "")


def _blanks(element: Any) -> int:
    text = element.get(f"{_TEXT}c", "1")
    return int(text) if text.isascii() and text.isdigit() and len(text) < len("1000000") else 1
