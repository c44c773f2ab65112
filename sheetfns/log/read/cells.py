"""Reading a column of cells as its kind: values, what is filled, and what cannot be read."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Protocol

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sheetfns.cell_types import FIRST_DAY, LONGEST_TEXT, CellType, date_number, date_of_number, read_cell, shown_cell
from sheetfns.errors import VALUE, CellError
from sheetfns.files.sheet_cells import DAYS_TO_1904
from sheetfns.log.model.typed_rows import USUAL_YEARS

_LAST_YEAR: Final = 2261
"""The last whole year that a datetime64[ns] holds."""
NEVER_CALCULATED: Final = "a formula"
"""The code of an input cell whose formula has no result in the file."""

CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
"""Characters that cannot be seen; tabs and line breaks are none of them."""
_BLANK: Final = ""


class Headed(Protocol):
    """A column, as far as reading goes."""

    @property
    def key(self) -> str:
        """The column's key."""

    @property
    def header(self) -> str:
        """What stands over it."""

    @property
    def kind(self) -> CellType:
        """What it holds."""


@dataclass
class ReadColumn:
    """The cells of a column as values.

    Attributes:
        cells: float64, datetime64[ns] or object (str); NaN, NaT or "" where nothing can be read.
        filled: whether anything stands in the cell.
        numbers: places of text cells in which a number stands.
        unread: what stands in the cells that cannot be read, by place.
    """

    cells: Any
    filled: NDArray[np.bool_]
    numbers: set[int] = field(default_factory=set)
    unread: dict[int, Any] = field(default_factory=dict)


Say = Callable[[int, Any, str, str], None]
"""Reports a problem: place in the column, what stands there, message, key."""


def read_column(column: Headed, cells: Sequence[Any], say: Say, *, from_1904: bool = False) -> ReadColumn:
    """Read the cells of a column that is typed into; "" is a blank cell."""
    filled = np.array([cell != _BLANK for cell in cells], dtype=bool)
    readers = {"number": _numbers, "date": _dates, "text": _texts}
    found = ReadColumn(None, filled)
    readers[column.kind.holds](column, cells, say, found, from_1904)
    return found


def read_cell_or_say(kind: CellType, header: str, place: int, cell: Any, say: Say) -> Any:
    """One cell read as its kind; None, with a problem, where it cannot be read."""
    try:
        return read_cell(kind, header, cell)
    except CellError as error:
        message = error.message if not isinstance(cell, CellError) else f"{header}: {error.message}"
        say(place, cell, message, _sort_of_problem(kind, cell, error))
        return None


def shown_of(cell: Any) -> str:
    """What stands in a cell, short enough for a message."""
    if isinstance(cell, CellError):
        return cell.code
    if isinstance(cell, (bool, np.bool_)):
        return str(bool(cell)).upper()
    return shown_cell(cell) if cell != _BLANK else "blank"


def _sort_of_problem(kind: CellType, cell: Any, error: CellError) -> str:
    if isinstance(cell, CellError):
        return "not_calculated" if cell.code == NEVER_CALCULATED else "error_cell"
    if isinstance(cell, str) and not cell.strip():
        return "only_spaces"
    if error.code == VALUE:
        return "not_a_date" if kind.holds == "date" else "not_a_number"
    number = float(cell)
    if kind.minimum is not None and number < kind.minimum:
        return "negative"
    if kind.maximum is not None and number > kind.maximum:
        return "over_limit"
    return "not_whole" if kind.whole else "not_a_number"


def _read_one_by_one(
    column: Headed, cells: Sequence[Any], places: Sequence[int], say: Say, found: ReadColumn
) -> Iterator[tuple[int, Any]]:
    """Read the cells that the quick path could not take; give those that can be read."""
    for place in places:
        value = read_cell_or_say(column.kind, column.header, place, cells[place], say)
        if value is None:
            found.unread[place] = cells[place]
        else:
            yield place, value


_NUMBERS: Final = frozenset({float, int})
_DATES: Final = frozenset({dt.date, dt.datetime})
_QUICK_TYPES: Final[dict[str, frozenset[type]]] = {
    "number": _NUMBERS,
    "date": frozenset(),
    "text": frozenset(),
    "flag": frozenset(),
}


def _numbers(column: Headed, cells: Sequence[Any], say: Say, found: ReadColumn, _from_1904: bool) -> None:
    kind = column.kind
    values = np.array([cell if type(cell) in _NUMBERS else np.nan for cell in cells], dtype=float)
    odd = found.filled & ~np.isfinite(values)
    with np.errstate(invalid="ignore"):
        if kind.minimum is not None:
            odd |= values < kind.minimum
        if kind.maximum is not None:
            odd |= values > kind.maximum
        if kind.whole:
            odd |= found.filled & (values != np.floor(values))
    places = np.flatnonzero(odd)
    values[places] = np.nan
    for place, value in _read_one_by_one(column, cells, places.tolist(), say, found):
        values[place] = value
    found.cells = values


def _dates(column: Headed, cells: Sequence[Any], say: Say, found: ReadColumn, from_1904: bool) -> None:
    days: list[Any] = [cell if type(cell) in _DATES else None for cell in cells]
    values = np.array(days, dtype="datetime64[us]")
    odd = found.filled & np.isnat(values)
    odd |= values < np.datetime64(FIRST_DAY)
    cells = list(cells)
    places = np.flatnonzero(odd).tolist()
    for place in places if from_1904 else ():
        if type(cells[place]) in _NUMBERS:
            cells[place] += DAYS_TO_1904
    for place, number in _read_one_by_one(column, cells, places, say, found):
        part = dt.timedelta(seconds=round(number % 1 * 86_400))
        moment = dt.datetime.combine(date_of_number(number), dt.time()) + part
        values[place] = np.datetime64(moment, "us")
    for place in found.unread:
        values[place] = np.datetime64("NaT")
    first, last = (np.datetime64(str(year)) for year in USUAL_YEARS)
    for place in np.flatnonzero((values < first) | (values >= last + 1)).tolist():
        day = str(values[place])[:10]
        typed = shown_of(cells[place])
        means = f"{typed} counts as {day}" if type(cells[place]) in _NUMBERS else day
        say(
            place,
            cells[place],
            f"{column.header}: {means}, which is outside the years {USUAL_YEARS[0]} to {USUAL_YEARS[1]}; write "
            "year-month-day, such as 2026-03-31",
            "date_far_off",
        )
        if int(day.split("-")[0]) > _LAST_YEAR:
            found.unread[place] = cells[place]
            values[place] = np.datetime64("NaT")
    found.cells = values.astype("datetime64[ns]")


def _texts(column: Headed, cells: Sequence[Any], say: Say, found: ReadColumn, _from_1904: bool) -> None:
    values = list(cells)
    for place, cell in enumerate(cells):
        if type(cell) is str:
            if len(cell) > LONGEST_TEXT or (cell and (CONTROL.search(cell) or cell.isspace())):
                values[place] = _fixed_text(column, place, cell, say, found)
        else:
            values[place] = _text_of_other(column, place, cell, say, found)
    found.cells = np.array([*values, None], dtype=object)[:-1]


def _fixed_text(column: Headed, place: int, cell: str, say: Say, found: ReadColumn) -> str:
    name = column.header
    found.unread[place] = cell
    if not cell.strip():
        say(place, cell, f"{name}: holds only spaces; clear the cell", "only_spaces")
        return ""
    control = CONTROL.search(cell)
    if control:
        code = f"U+{ord(control[0]):04X}"
        message = f"{name}: holds an invisible character ({code}); enter the text again"
        say(place, cell, message, "control_character")
        cell = CONTROL.sub("", cell)
    if len(cell) > LONGEST_TEXT:
        message = f"{name}: is {len(cell):,} characters long, and a cell holds {LONGEST_TEXT:,}"
        say(place, cell, f"{message}; shorten it", "too_long")
        cell = cell[:LONGEST_TEXT]
    return cell


def _text_of_other(column: Headed, place: int, cell: Any, say: Say, found: ReadColumn) -> str:
    if isinstance(cell, CellError):
        read_cell_or_say(column.kind, column.header, place, cell, say)
        found.unread[place] = cell
        return ""
    if isinstance(cell, bool):
        return str(cell).upper()
    if isinstance(cell, (int, float)):
        found.numbers.add(place)
        return f"{cell:.0f}" if cell == int(cell) else f"{cell:.15g}"
    text = str(cell)
    say(
        place,
        cell,
        f"{column.header}: {text} is a date or a time; if you meant a text such as 3-4, enter it again with an "
        "apostrophe in front: '3-4",
        "date_for_text",
    )
    return text


def read_results(kind: CellType, cells: Sequence[Any]) -> tuple[Any, list[int]]:
    """The results in cells with formulas, and the places of those that are no result."""
    types = _QUICK_TYPES[kind.holds]
    values = [cell if type(cell) in types and cell != _BLANK else None for cell in cells]
    bad: list[int] = []
    for place, cell in enumerate(cells):
        if values[place] is None and cell != _BLANK:
            values[place], good = _result(kind, cell)
            if not good:
                bad.append(place)
    if kind.holds == "date":
        return np.array(values, dtype="datetime64[us]").astype("datetime64[ns]"), bad
    if kind.holds == "number":
        return np.array(values, dtype=float), bad
    return np.array([value or "" for value in values] + [None], dtype=object)[:-1], bad


def _result(kind: CellType, cell: Any) -> tuple[Any, bool]:
    if kind.holds == "text":
        if isinstance(cell, CellError):
            return cell.code, False
        text = cell if isinstance(cell, str) else _plain_text(cell)
        return text, not text.startswith("#ERR")
    blank = np.nan if kind.holds == "number" else None
    if cell == _BLANK:
        return blank, True
    if kind.holds == "date":
        if isinstance(cell, dt.date):
            return cell, cell.year <= _LAST_YEAR
        if type(cell) in _NUMBERS and date_number(FIRST_DAY) <= cell < date_number(dt.date(_LAST_YEAR, 12, 31)):
            return date_of_number(cell), True
        return blank, False
    # LibreOffice shows 1 as TRUE where a step that made rows was undone.
    return (float(cell), True) if type(cell) in (*_NUMBERS, bool) else (blank, False)


def _plain_text(cell: Any) -> str:
    return f"{cell:.15g}" if type(cell) in _NUMBERS else str(cell)


def frame_of(columns: Sequence[Headed], values: dict[str, Any], rows: Any) -> pd.DataFrame:
    """A frame with the dtypes of its columns' kinds, and sheet_row when `rows` is not None."""
    by_type: dict[Any, list[str]] = {}
    for column in columns:
        by_type.setdefault(_DTYPES[column.kind.holds], []).append(column.key)
    parts = [_of_one_type(keys, values, dtype) for dtype, keys in by_type.items()]
    if len(parts) == 1:
        frame = parts[0]
    else:
        # One frame for each type: a series for each of a form's cells takes most of the time.
        frame = pd.concat(parts, axis=1) if parts else pd.DataFrame()
        frame = frame[[column.key for column in columns]]
    if rows is not None:
        frame["sheet_row"] = np.asarray(rows, dtype=np.int64)
    return frame


def _of_one_type(keys: Sequence[str], values: dict[str, Any], dtype: Any) -> pd.DataFrame:
    """Columns of one type, from arrays of the same length."""
    cells = np.empty((len(values[keys[0]]), len(keys)), dtype)
    for place, key in enumerate(keys):
        cells[:, place] = values[key]
    return pd.DataFrame(cells, columns=list(keys), dtype=dtype)


_DTYPES: Final[dict[str, Any]] = {"number": "float64", "date": "datetime64[ns]", "text": object, "flag": object}
