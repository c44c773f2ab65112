"""Kinds of argument and result: unit, cell format, limits, and how a cell is read."""

from __future__ import annotations

import contextlib
import datetime as dt
import math
import re
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Annotated, Any, Final, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from sheetfns.errors import BLANK, NUMBER, VALUE, CellError

Number: TypeAlias = float | NDArray[np.float64]
"""What a function body works on: one figure, or a column of them."""
Column: TypeAlias = NDArray[np.float64]

Holds = Literal["number", "date", "text", "flag", "any"]
DAY_ZERO: Final = dt.date(1899, 12, 30)
"""Day 0 of spreadsheet date numbers; right for every date from 1900-03-01 on."""
FIRST_DAY: Final = dt.date(1900, 3, 1)
LAST_DAY: Final = dt.date(9999, 12, 31)
LONGEST_TEXT: Final = 32_767
"""What a cell of an .xlsx workbook may hold."""


@dataclass(frozen=True)
class CellType:
    """What an argument, a result or a column of the log holds.

    `least` and `most` are the limits, both allowed. `takes_range` marks an argument that needs a
    whole range at once, and a result that is a range of the size of the first such argument. A
    block with `own_shape` keeps its rows and columns; a result with it chooses them.
    """

    name: str
    unit: str
    cell_format: str
    holds: Holds = "number"
    minimum: float | None = None
    maximum: float | None = None
    whole: bool = False
    takes_range: bool = False
    own_shape: bool = False

    def in_words(self) -> str:
        """The limits as a person would say them."""
        if self.name == "Rate":
            return f"0% to {100 * (self.maximum or 1):g}%"
        if self.minimum is not None and self.maximum is not None:
            return f"{self.minimum:g} to {self.maximum:g}"
        if self.minimum is not None:
            return f"{self.minimum:g} or more"
        return "any number" if self.holds == "number" else self.holds


def _kind(name: str, unit: str, cell_format: str, **rest: Any) -> CellType:
    return CellType(name=name, unit=unit, cell_format=cell_format, **rest)


MONEY: Final = _kind("Money", "money", "#,##0.00")
COST: Final = _kind("Cost", "money", "#,##0.00", minimum=0)
RATE: Final = _kind("Rate", "%", "0.00%", minimum=0, maximum=1)
RATIO: Final = _kind("Ratio", "%", "0.0%")
FACTOR: Final = _kind("Factor", "times", "0.00")
QUANTITY: Final = _kind("Quantity", "items", "#,##0.00", minimum=0)
COUNT: Final = _kind("Count", "items", "#,##0", minimum=0, whole=True)
CHARACTERS: Final = _kind("Characters", "characters", "0", whole=True)
DAYS: Final = _kind("Days", "days", "#,##0", minimum=0, whole=True)
WEIGHT: Final = _kind("Weight", "weight", "#,##0.00", minimum=0)
LENGTH: Final = _kind("Length", "length", "#,##0.0", minimum=0)
VOLUME: Final = _kind("Volume", "volume", "#,##0", minimum=0)
DURATION: Final = _kind("Duration", "days", "#,##0.0", minimum=0)
AREA: Final = _kind("Area", "square feet", "#,##0.0", minimum=0)
MILES: Final = _kind("Miles", "miles", "#,##0.0", minimum=0)
MONTHS: Final = _kind("Months", "months", "0.0", minimum=0, maximum=12)
YEAR: Final = _kind("Year", "year", "0", minimum=1900, maximum=9999, whole=True)
DATE: Final = _kind("Date", "date", "yyyy-mm-dd", holds="date")
TEXT: Final = _kind("Text", "text", "@", holds="text")
FLAG: Final = _kind("Flag", "yes or no", "General", holds="flag")
TABLE: Final = _kind("Table", "table", "General", holds="any", takes_range=True, own_shape=True)
ROWS: Final = _kind("Rows", "rows", "General", holds="any", own_shape=True)

Money: TypeAlias = Annotated[Number, MONEY]
Cost: TypeAlias = Annotated[Number, COST]
Rate: TypeAlias = Annotated[Number, RATE]
Ratio: TypeAlias = Annotated[Number, RATIO]
Factor: TypeAlias = Annotated[Number, FACTOR]
Quantity: TypeAlias = Annotated[Number, QUANTITY]
Count: TypeAlias = Annotated[Number, COUNT]
Characters: TypeAlias = Annotated[Number, CHARACTERS]
Days: TypeAlias = Annotated[Number, DAYS]
Weight: TypeAlias = Annotated[Number, WEIGHT]
Length: TypeAlias = Annotated[Number, LENGTH]
Volume: TypeAlias = Annotated[Number, VOLUME]
Duration: TypeAlias = Annotated[Number, DURATION]
Area: TypeAlias = Annotated[Number, AREA]
Months: TypeAlias = Annotated[Number, MONTHS]
Year: TypeAlias = Annotated[Number, YEAR]
Date: TypeAlias = Annotated[Number, DATE]
Text: TypeAlias = Annotated[Any, TEXT]
Flag: TypeAlias = Annotated[Any, FLAG]
# The plural takes, or gives, a whole range at once.
Monies: TypeAlias = Annotated[Column, replace(MONEY, takes_range=True)]
Costs: TypeAlias = Annotated[Column, replace(COST, takes_range=True)]
Rates: TypeAlias = Annotated[Column, replace(RATE, takes_range=True)]
Quantities: TypeAlias = Annotated[Column, replace(QUANTITY, takes_range=True)]
Counts: TypeAlias = Annotated[Column, replace(COUNT, takes_range=True)]
Factors: TypeAlias = Annotated[Column, replace(FACTOR, takes_range=True)]
Durations: TypeAlias = Annotated[Column, replace(DURATION, takes_range=True)]
Miles: TypeAlias = Annotated[Column, replace(MILES, takes_range=True)]
Dates: TypeAlias = Annotated[Column, replace(DATE, takes_range=True)]
Texts: TypeAlias = Annotated[NDArray[Any], replace(TEXT, takes_range=True)]
Flags: TypeAlias = Annotated[NDArray[Any], replace(FLAG, takes_range=True)]
Table: TypeAlias = Annotated[NDArray[Any], TABLE]
"""A block with its rows and columns as they stand; a cell holds a float, a text or None."""
Rows: TypeAlias = Annotated[Any, ROWS]
"""A result of rows and columns of its own: floats, texts, None for blank."""


def is_blank(cell: Any) -> bool:
    """Whether a cell counts as empty: nothing, "" or a number that is not there (NaN)."""
    if cell is None or (isinstance(cell, str) and not cell):
        return True
    if isinstance(cell, (float, np.floating)):
        return math.isnan(cell)
    if isinstance(cell, np.datetime64):
        return bool(np.isnat(cell))
    return type(cell).__name__ in ("NaTType", "NAType")


def read_cell(kind: CellType, name: str, cell: Any) -> Any:
    """Read one filled cell as its kind.

    Returns:
        float for numbers and dates (date numbers), str for text, bool for flags.

    Errors:
        CellError with argument, what stands there, and what to write instead.
    """
    if isinstance(cell, CellError):
        raise cell
    if kind.holds == "text":
        return cell if isinstance(cell, str) else _plain(cell)
    if kind.holds == "any":
        return _read_any(name, cell)
    if kind.holds == "flag":
        return _read_flag(name, cell)
    number = _read_date(name, cell) if kind.holds == "date" else _read_number(name, cell)
    refusal = limit_refusal(kind, name, number)
    if refusal is not None:
        raise refusal
    return number


def limit_refusal(kind: CellType, name: str, number: float) -> CellError | None:
    """The error for a number outside its kind's limits, or None."""
    shown, words = _plain(number), kind.in_words()
    if not math.isfinite(number):
        return CellError(NUMBER, f"{name}: not a finite number; check where it comes from")
    if kind.minimum is not None and number < kind.minimum:
        return CellError(NUMBER, f"{name}: {shown} is below {kind.minimum:g}; write {words}")
    if kind.maximum is not None and number > kind.maximum:
        if kind.name == "Rate" and kind.maximum == 1:
            return CellError(
                NUMBER, f"{name}: {shown} is over 100%; write a percentage as {shown}% or {_plain(number / 100)}"
            )
        if kind.name == "Rate":
            return CellError(NUMBER, f"{name}: {shown} is over {kind.maximum * 100:g}%; write {words}")
        return CellError(NUMBER, f"{name}: {shown} is over {kind.maximum:g}; write {words}")
    if kind.whole and number != math.floor(number):
        return CellError(NUMBER, f"{name}: {shown} is not a whole number; round it")
    return None


def blank_refusal(name: str) -> CellError:
    """The error for a required argument that is blank beside others that are filled."""
    return CellError(BLANK, f"{name} is blank; fill it in, or write 0 if there is none")


def date_number(day: dt.date) -> float:
    """The spreadsheet's number of a date (and of its time of day)."""
    if isinstance(day, dt.datetime):
        since = dt.timedelta(hours=day.hour, minutes=day.minute, seconds=day.second)
        return (day.date() - DAY_ZERO).days + since / dt.timedelta(days=1)
    return float((day - DAY_ZERO).days)


def date_of_number(number: float) -> dt.date:
    """The date of a spreadsheet's date number; the time of day is cut off."""
    return DAY_ZERO + dt.timedelta(days=math.floor(number))


_ODD_MARKS: Final = str.maketrans({"\u00a0": " ", "\u2009": " ", "\u202f": " ", "\u2212": "-"})
_CURRENCY: Final = re.compile(r"^(?:[$€£¥]|USD|EUR|GBP)\s*|\s*(?:[$€£¥]|USD|EUR|GBP)$")
_GROUPED: Final = re.compile(
    r"(?P<whole>[1-9][0-9]{0,2}(?P<group>[.,' ])[0-9]{3}(?:(?P=group)[0-9]{3})*)"
    r"(?:(?!(?P=group))[.,](?P<part>[0-9]*))?"
)
_UNGROUPED: Final = re.compile(r"(?P<whole>[0-9]*)(?:[.,](?P<part>[0-9]*))?")


def number_in_text(text: str) -> float | None:
    """The number that a person meant by a text, when there is just one way to read it.

    >>> number_in_text("$4.50"), number_in_text("4,50"), number_in_text("1,234.50")
    (4.5, 4.5, 1234.5)
    >>> number_in_text("1,234") is None  # 1234 or 1.234?
    True
    >>> number_in_text("(3.20)"), number_in_text("11.5%"), number_in_text("about 5") is None
    (-3.2, 0.115, True)
    """
    meant = numbers_in_text(text)
    return meant[0] if len(meant) == 1 else None


def numbers_in_text(text: str) -> list[float]:
    """Every number that a person may have meant by a text.

    >>> numbers_in_text("1,234"), numbers_in_text("$4.50"), numbers_in_text("about 5")
    ([1234.0, 1.234], [4.5], [])
    """
    bare = _CURRENCY.sub("", text.translate(_ODD_MARKS).strip())
    sign = 1
    if bare.startswith("(") and bare.endswith(")"):
        sign, bare = -1, bare[1:-1]
    elif bare.startswith(("-", "+")):
        sign, bare = -1 if bare.startswith("-") else 1, bare[1:]
    bare = _CURRENCY.sub("", bare.strip())
    percent = bare.endswith("%")
    bare = bare.removesuffix("%").rstrip()
    written = []
    grouped = _GROUPED.fullmatch(bare)
    # The point is the decimal mark of these texts: 1.234 is no thousand, while 1.234.567 is one.
    if grouped and (grouped["group"] != "." or not _UNGROUPED.fullmatch(bare)):
        written.append(re.sub("[^0-9]", "", grouped["whole"]) + "." + (grouped["part"] or "0"))
    ungrouped = _UNGROUPED.fullmatch(bare)
    if ungrouped and (ungrouped["whole"] or ungrouped["part"]):
        written.append((ungrouped["whole"] or "0") + "." + (ungrouped["part"] or "0"))
    numbers = [float(one) * sign + 0.0 for one in written]
    return [round(number / 100, 12) for number in numbers] if percent else numbers


def date_in_text(text: str) -> dt.date | None:
    """The date that a text says in the order year, month, day; other orders can be misread."""
    found = re.fullmatch(r"\s*(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ]00:00(?::00)?)?\s*", text)
    if not found:
        return None
    try:
        return dt.date(*(int(part) for part in found.groups()))
    except ValueError:
        return None


def dates_in_text(text: str) -> list[dt.date]:
    """Every date that a person may have meant by a text, whichever order it is in.

    >>> [str(day) for day in dates_in_text("3/4/26")], dates_in_text("in spring")
    (['2026-03-04', '2026-04-03'], [])
    """
    meant = date_in_text(text)
    if meant is not None:
        return [meant]
    found = re.fullmatch(r"\s*(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})\s*", text)
    if not found:
        return []
    year = int(found[4]) + (2000 if len(found[4]) == 2 else 0)
    days = []
    for month, day in ((found[1], found[3]), (found[3], found[1])):
        with contextlib.suppress(ValueError):
            days.append(dt.date(year, int(month), int(day)))
    return list(dict.fromkeys(days))


def _plain(cell: Any) -> str:
    if isinstance(cell, (float, np.floating)):
        return f"{cell:.15g}"
    if isinstance(cell, dt.datetime):
        return cell.isoformat(" ")
    return str(cell)


def shown_cell(cell: Any, limit: int = 40) -> str:
    """What stands in a cell, short enough for a message."""
    text = " ".join(_plain(cell).split())
    return text if len(text) <= limit else text[: limit - 3] + "..."


def counted(number: int, thing: str) -> str:
    """A number of things in words: 1 row, 2 rows."""
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def _read_number(name: str, cell: Any) -> float:
    if isinstance(cell, (bool, np.bool_)):
        raise CellError(VALUE, f"{name}: {str(bool(cell)).upper()} is not a number; write a number")
    if isinstance(cell, (int, float, Decimal, np.integer, np.floating)):
        try:
            return float(cell)
        except OverflowError:
            return math.inf
    if isinstance(cell, dt.date):
        raise CellError(VALUE, f"{name}: {_plain(cell)} is a date; write a number")
    if isinstance(cell, str):
        meant = numbers_in_text(cell)
        shown = shown_cell(cell)
        if not cell.strip():
            raise CellError(VALUE, f"{name}: holds only spaces; clear the cell")
        advice = f"write {' or '.join(map(_plain, meant)) or 'a number'}"
        raise CellError(VALUE, f"{name}: '{shown}' is not a number; {advice}")
    raise CellError(VALUE, f"{name}: '{shown_cell(cell)}' is not a number; write a number")


def _read_date(name: str, cell: Any) -> float:
    if isinstance(cell, np.datetime64):
        cell = cell.astype("datetime64[us]").item()
    if isinstance(cell, dt.date):
        number = date_number(cell)
    elif isinstance(cell, str):
        if not cell.strip():
            raise CellError(VALUE, f"{name}: holds only spaces; clear the cell")
        advice = "write year-month-day, such as 2026-03-31"
        meant = date_in_text(cell)
        if meant is not None:
            advice = f"it is text: enter {meant.isoformat()} again, so the cell holds a date"
        elif days := dates_in_text(cell):
            advice = f"write {' or '.join(day.isoformat() for day in days)}"
        raise CellError(VALUE, f"{name}: '{shown_cell(cell)}' is not a date; {advice}")
    else:
        number = _read_number(name, cell)
    if not date_number(FIRST_DAY) <= number < date_number(LAST_DAY) + 1:
        raise CellError(VALUE, f"{name}: {_plain(number)} is not a date; write year-month-day, such as 2026-03-31")
    return number


def _read_any(name: str, cell: Any) -> float | str:
    if isinstance(cell, str):
        return cell
    if isinstance(cell, (dt.date, np.datetime64)):
        return _read_date(name, cell)
    return _read_number(name, cell)


_YES = frozenset({"yes", "y", "true", "x", "1"})
_NO = frozenset({"no", "n", "false", "0"})


def _read_flag(name: str, cell: Any) -> bool:
    if isinstance(cell, (bool, np.bool_)):
        return bool(cell)
    if isinstance(cell, (int, float, np.integer, np.floating)) and cell in (0, 1):
        return bool(cell)
    word = str(cell).strip().lower()
    if word in _YES or word in _NO:
        return word in _YES
    raise CellError(VALUE, f"{name}: '{shown_cell(cell)}' is neither yes nor no; write yes or no")
