"""The XML of one sheet: its formulas, and changes to single cells that leave all else as it is.

Everything here works on the bytes of the part. What programs write has one usual form, in which the
patterns below find rows and cells; a part of another form is brought into it first.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from html import unescape
from itertools import pairwise
from typing import Any, Final
from xml.sax.saxutils import escape

from lxml import etree
from openpyxl.formula.translate import Translator

from sheetfns.errors import CellError, LogFileError
from sheetfns.files.cell_names import cell_name, column_letters, column_number
from sheetfns.files.formula_signs import FORMULA_SIGNS
from sheetfns.files.packed_file import parsed
from sheetfns.files.sheet_cells import DAYS_TO_1904
from sheetfns.files.xlsx_file import MAIN, PREFIX, SHOWN

_TAG: Final = f"{{{MAIN}}}"
_ROW: Final = re.compile(rb"<row\b([^>]*?)(?:/>|>(.*?)</row>)", re.DOTALL)
_ROW_NUMBER: Final = re.compile(rb'\br="(\d+)"')
_CELL: Final = re.compile(rb'<c r="([A-Z]+)(\d+)"([^>]*?)(?:/>|>(.*?)</c>)', re.DOTALL)
_FORMULA_CELL: Final = re.compile(rb'<c r="([A-Z]+)(\d+)"([^>]*)>\s*(<f\b[^>]*?(?:/>|>[^<]*</f>))(.*?)</c>', re.DOTALL)
_FORMULA: Final = re.compile(rb"<f\b([^>]*?)(?:/>|>([^<]*)</f>)")
_STYLE: Final = re.compile(rb'\bs="(\d+)"')
_TYPE: Final = re.compile(rb'\s*\bt="(\w+)"')
_SPANS: Final = re.compile(rb'\s*\bspans="[^"]*"')
_DIMENSION: Final = re.compile(rb'<dimension ref="([A-Z]+)(\d+)(?::([A-Z]+)(\d+))?"\s*/>')
_SPAN: Final = re.compile(rb'\bref="([A-Z]+)(\d+):([A-Z]+)(\d+)"')
_SHEET_DATA: Final = re.compile(rb"<sheetData\s*/>")
_NOT_IN_XML: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]|_(?=x[0-9A-Fa-f]{4}_)|\r")
_DAY_ZERO: Final = dt.datetime(1899, 12, 30)  # noqa: DTZ001  (cells know no zone)
_FIRST_OF_MARCH: Final = dt.datetime(1900, 3, 1)  # noqa: DTZ001
"""The format counts a 29 February 1900 that never was: days before it have a number less."""

Cell = tuple[int, int]
"""Row and column, both counted from 1."""


@dataclass(frozen=True)
class FormulaText:
    """A formula to write, without the leading equals sign."""

    text: str


Value = None | str | float | bool | dt.date | FormulaText
"""What a cell may be given; a blank is None."""


def canonical(content: bytes) -> bytes:
    """The same sheet in the form that programs usually write it in.

    Errors:
        LogFileError: the part is no sheet, or mixes two kinds of names.
    """
    prefix = PREFIX.search(content[:4000])
    if prefix is None and _is_usual(content):
        return content
    root = parsed(content)
    etree.strip_tags(root, etree.Comment)
    row_number = 0
    for row in root.iter(f"{_TAG}row"):
        row_number = int(row.get("r") or row_number + 1)
        _first(row, "r", str(row_number))
        column = 0
        for cell in row.iter(f"{_TAG}c"):
            letters = (cell.get("r") or "").rstrip("0123456789").upper()
            column = column_number(letters) + 1 if letters else column + 1
            _first(cell, "r", cell_name(row_number, column))
    for data in root.iter(f"{_TAG}sheetData"):
        data[:] = sorted(data, key=lambda row: int(row.get("r")))
    made: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)
    if prefix is not None:
        mark = prefix[1]
        if f'xmlns="{MAIN}"'.encode() in made or b" xmlns=" in made[:4000]:
            raise LogFileError(
                "one of its sheets is in an unusual format; open the workbook in your spreadsheet program, save it as "
                ".xlsx and try again"
            )
        made = made.replace(b"<" + mark + b":", b"<").replace(b"</" + mark + b":", b"</")
        made = made.replace(b"xmlns:" + mark + b"=", b"xmlns=", 1)
    return made


def _is_usual(content: bytes) -> bool:
    head = content[:200].lower()
    if b"encoding=" in head and b"utf-8" not in head:
        return False
    return not (
        content[:2] in {b"\xff\xfe", b"\xfe\xff"}
        or b"<![CDATA[" in content
        or b"<!--" in content
        or b"<c>" in content
        or b"<c/>" in content
        or content.count(b"<c ") != content.count(b'<c r="')
        or re.search(rb'<c r="[a-z]', content)
        or not _rises(re.findall(rb"<row\b([^>]*)", content))
    )


def _rises(rows: list[bytes]) -> bool:
    """Whether every row has a number, and each a larger one than the row before."""
    numbers = [int(found[1]) for row in rows if (found := _ROW_NUMBER.search(row))]
    return len(numbers) == len(rows) and all(one < next_ for one, next_ in pairwise(numbers))


def _first(element: Any, name: str, value: str) -> None:
    """Give an element an attribute, as its first."""
    others = {key: text for key, text in element.attrib.items() if key != name}
    element.attrib.clear()
    element.set(name, value)
    for key, text in others.items():
        element.set(key, text)


def _column(letters: bytes) -> int:
    """1 for A, 27 for AA."""
    return column_number(letters.decode()) + 1


# ---- reading ---------------------------------------------------------------------------------


def formulas(content: bytes) -> dict[Cell, str]:
    """The formula of every cell that has one, without the equals sign, shared ones in full."""
    return {place: text for place, text, _ in _formulas(canonical(content))}


def _formulas(content: bytes) -> Iterator[tuple[Cell, str, bytes]]:
    """Each cell with a formula: its place, its formula, and its <f> element."""
    shared: dict[bytes, tuple[str, str]] = {}
    for cell in _FORMULA_CELL.finditer(content):
        letters, row = cell[1].decode(), int(cell[2])
        found = _FORMULA.match(cell[4])
        marks, text = found[1], unescape((found[2] or b"").decode())  # type: ignore[index]
        group = re.search(rb'\bsi="(\d+)"', marks)
        if group is not None and b't="shared"' in marks:
            if text:
                shared[group[1]] = (f"={text}", f"{letters}{row}")
            elif group[1] in shared:
                origin = Translator(shared[group[1]][0], shared[group[1]][1])
                text = origin.translate_formula(f"{letters}{row}")[1:]
        yield (row, column_number(letters) + 1), text, cell[4]


# ---- changing --------------------------------------------------------------------------------


@dataclass(frozen=True)
class Changed:
    """A sheet with changes: its XML, and whether cells with formulas have come or gone."""

    content: bytes
    formulas_changed: bool


def with_cells(
    content: bytes, cells: Mapping[Cell, Value], *, quoted: Callable[[int], int], counts_from_1904: bool = False
) -> Changed:
    """A sheet with other values in some cells, each in the look that it has, or of the one above.

    Args:
        content: the part.
        cells: what to write, by place.
        quoted: gives, for a style, the one that keeps a text from being taken for a formula.
        counts_from_1904: whether days are counted from 1904 in this workbook.

    Errors:
        LogFileError: a cell belongs to a formula that spans several.
    """
    content = canonical(content)
    if _SHEET_DATA.search(content):
        content = _SHEET_DATA.sub(b"<sheetData></sheetData>", content, count=1)
    content, opened = _without_shared(content, cells)
    by_row: dict[int, dict[int, Value]] = {}
    for (row, column), value in cells.items():
        by_row.setdefault(row, {})[column] = value
    writer = _Writer(quoted, counts_from_1904)
    items: list[bytes] = []
    done = 0
    waiting = sorted(by_row)
    end = content.rindex(b"</sheetData>")
    for found in _ROW.finditer(content, 0, end):
        number = int(_ROW_NUMBER.search(found[1])[1])  # type: ignore[index]
        if waiting and waiting[0] < number:
            items.append(content[done : found.start()])
            done = found.start()
            while waiting and waiting[0] < number:
                new = waiting.pop(0)
                items.append(writer.row(new, b"", b"", by_row[new]))
        if waiting and waiting[0] == number:
            items.append(content[done : found.start()])
            done = found.end()
            items.append(writer.row(waiting.pop(0), found[1], found[2] or b"", by_row[number]))
        if not waiting:
            break
        if number < waiting[0]:
            writer.above = found[2] or b""
    items.append(content[done:end])
    items += [writer.row(new, b"", b"", by_row[new]) for new in waiting]
    items.append(content[end:])
    made = _within_dimension(b"".join(items), cells)
    return Changed(made, writer.formulas_changed or opened)


class _Writer:
    """Writes rows with changed cells."""

    def __init__(self, quoted: Callable[[int], int], counts_from_1904: bool) -> None:
        self.quoted = quoted
        self.counts_from_1904 = counts_from_1904
        self.formulas_changed = False
        self.above = b""
        """The cells of the row above, whose look new cells take."""

    def row(self, number: int, marks: bytes, content: bytes, values: dict[int, Value]) -> bytes:
        """A row with some cells changed."""
        items: list[bytes] = []
        done = 0
        waiting = sorted(values)
        content = _in_order(content)
        for cell in _CELL.finditer(content):
            column = _column(cell[1])
            while waiting and waiting[0] < column:
                items.append(content[done : cell.start()])
                done = cell.start()
                new = waiting.pop(0)
                items.append(self.cell(number, new, values[new], b""))
            if waiting and waiting[0] == column:
                items.append(content[done : cell.start()])
                done = cell.end()
                had_formula = b"<f" in (cell[4] or b"")
                has_formula = isinstance(values[column], FormulaText)
                self.formulas_changed |= had_formula or has_formula
                items.append(self.cell(number, waiting.pop(0), values[column], cell[3]))
        items.append(content[done:])
        items += [self.cell(number, new, values[new], b"") for new in waiting]
        marks = _SPANS.sub(b"", marks) if marks else b' r="%d"' % number
        self.above = b"".join(items)
        return b"<row%s>%s</row>" % (marks, self.above)

    def _look_above(self, column: int) -> int:
        cell = re.search(rb'<c r="%s\d+"([^>]*)>' % column_letters(column - 1).encode(), self.above)
        style = _STYLE.search(cell[1]) if cell else None
        return int(style[1]) if style else 0

    def cell(self, row: int, column: int, value: Value, marks: bytes) -> bytes:
        """A cell with a value, in the look that it had."""
        found = _STYLE.search(marks)
        style = int(found[1]) if found else self._look_above(column)
        if isinstance(value, str) and value.startswith(FORMULA_SIGNS):
            style = self.quoted(style)
        look = f' s="{style}"' if style else ""
        place = cell_name(row, column)
        self.formulas_changed |= isinstance(value, FormulaText)
        kind, inside = _inside(value, self.counts_from_1904)
        if not inside:
            return f'<c r="{place}"{look}/>'.encode()
        return f'<c r="{place}"{look}{kind}>{inside}</c>'.encode()


def _in_order(content: bytes) -> bytes:
    """The cells of a row from left to right; of two for one place, the last, which counts."""
    cells = {_column(cell[1]): cell[0] for cell in _CELL.finditer(content)}
    if len(cells) == len(_CELL.findall(content)) and list(cells) == sorted(cells):
        return content
    return b"".join(cells[column] for column in sorted(cells))


def _inside(value: Value, counts_from_1904: bool) -> tuple[str, str]:
    """The type of a cell and what stands in it."""
    if value is None or value == "":
        return "", ""
    if isinstance(value, FormulaText):
        return "", f"<f>{escape(value.text)}</f>"
    if isinstance(value, bool):
        return ' t="b"', f"<v>{int(value)}</v>"
    if isinstance(value, str):
        return (' t="inlineStr"', f'<is><t xml:space="preserve">{escape(_xml_text(value))}</t></is>')
    if isinstance(value, dt.date):
        return "", f"<v>{_serial(value, counts_from_1904):.15g}</v>"
    return "", f"<v>{_digits(value)}</v>"


def _serial(day: dt.date, counts_from_1904: bool) -> float:
    """The number by which a workbook keeps a day, and a time of day as its fraction."""
    moment = day if isinstance(day, dt.datetime) else dt.datetime.combine(day, dt.time())
    number = (moment - _DAY_ZERO) / dt.timedelta(days=1)
    if moment < _FIRST_OF_MARCH and not counts_from_1904:
        number -= 1
    return number - DAYS_TO_1904 if counts_from_1904 else number


def _xml_text(text: str) -> str:
    """A text in which what XML cannot hold is written by its number, as the format has it."""
    return _NOT_IN_XML.sub(lambda found: f"_x{ord(found[0]):04X}_", text.replace("\r\n", "\n"))


def _without_shared(content: bytes, cells: Mapping[Cell, Value]) -> tuple[bytes, bool]:
    """Write shared formulas out in full where a cell that is changed is the one that holds them."""
    if b't="shared"' not in content and b't="array"' not in content:
        return content, False
    touched: set[bytes] = set()
    for place, _, element in _formulas(content):
        if b't="array"' in element:
            _refuse_part_of(element, cells)
        elif place in cells and b't="shared"' in element:
            touched |= set(re.findall(rb'\bsi="(\d+)"', element))
    if not touched:
        return content, False
    texts = {place: text for place, text, _ in _formulas(content)}

    def in_full(cell: re.Match[bytes]) -> bytes:
        group = re.search(rb'\bsi="(\d+)"', cell[4])
        if group is None or group[1] not in touched or b't="shared"' not in cell[4]:
            return cell[0]
        text = texts[int(cell[2]), _column(cell[1])]
        return cell[0].replace(cell[4], f"<f>{escape(text)}</f>".encode(), 1)

    return _FORMULA_CELL.sub(in_full, content), True


def _refuse_part_of(array: bytes, cells: Mapping[Cell, Value]) -> None:
    """Refuse cells of a formula over several ones: a program gives all of them its results."""
    span = _SPAN.search(array)
    if span is None:
        return
    first = int(span[2]), _column(span[1])
    last = int(span[4]), _column(span[3])
    for row, column in cells if first != last else ():
        if first[0] <= row <= last[0] and first[1] <= column <= last[1]:
            raise LogFileError(
                f"cell {cell_name(row, column)} is part of a formula over several cells; clear that "
                "formula in your spreadsheet program and try again"
            )


def _within_dimension(content: bytes, cells: Mapping[Cell, Value]) -> bytes:
    """The same sheet with its used range stated large enough."""
    stated = _DIMENSION.search(content[:8000])
    if stated is None or not cells:
        return content
    first = (int(stated[2]), _column(stated[1]))
    last = (int(stated[4]), _column(stated[3])) if stated[3] is not None else first
    top = min(first[0], *(row for row, _ in cells))
    left = min(first[1], *(column for _, column in cells))
    bottom = max(last[0], *(row for row, _ in cells))
    right = max(last[1], *(column for _, column in cells))
    if ((top, left), (bottom, right)) == (first, last):
        return content
    place = f'<dimension ref="{cell_name(top, left)}:{cell_name(bottom, right)}"/>'.encode()
    return content[: stated.start()] + place + content[stated.end() :]


def with_results(content: bytes, result: Callable[[int, int], Any]) -> bytes:
    """A sheet in which every formula has the result that a function gives for its row and column.

    A function that the engine does not know gives #NAME?; then what a program stored stays.
    """
    content = canonical(content)
    columns: dict[bytes, int] = {}

    def with_result(cell: re.Match[bytes]) -> bytes:
        letters = cell[1]
        column = columns.get(letters)
        if column is None:
            column = columns[letters] = _column(letters)
        value = result(int(cell[2]), column)
        if type(value) is str:
            if b' t="str"' in cell[3] and cell[5] == b"<v>%s</v>" % value.encode():
                return cell[0]
        elif type(value) is float and b't="' not in cell[3]:
            shown = SHOWN.search(cell[5])
            if shown is not None and _same_number(shown[1], value):
                return cell[0]
        elif isinstance(value, CellError) and value.code == "#NAME?" and b"<v>" in cell[5]:
            return cell[0]
        kind, text = _stored(value)
        marks = _TYPE.sub(b"", cell[3])
        start = b'<c r="%s%s"%s%s>' % (letters, cell[2], marks, kind)
        return b"%s%s<v>%s</v></c>" % (start, cell[4], text)

    return _FORMULA_CELL.sub(with_result, content)


def _same_number(shown: bytes, value: float) -> bool:
    try:
        return float(shown) == value
    except ValueError:
        return False


def _stored(value: Any) -> tuple[bytes, bytes]:
    """The type and the text by which a file stores a result."""
    if value is None or isinstance(value, str):
        return b' t="str"', escape(_xml_text(value or "")).encode()
    if isinstance(value, CellError):
        return b' t="e"', escape(value.code).encode()
    if isinstance(value, bool):
        return b' t="b"', b"1" if value else b"0"
    return b"", _digits(value).encode()


def _digits(number: float) -> str:
    """A number with as many digits as it takes to read it back."""
    return repr(float(number) + 0.0).removesuffix(".0").replace("e+", "E+").replace("e-", "E-")
