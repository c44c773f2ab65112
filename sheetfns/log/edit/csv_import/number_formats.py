"""Numbers and dates as other programs write them: which marks a file uses, and what a cell says.

A mark is decided by all cells together: "12,50" can only be a decimal comma, "1,234" can be both.
"""

from __future__ import annotations

import datetime as dt
import functools
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, NamedTuple

import regex

from sheetfns.cell_types import shown_cell
from sheetfns.log.edit.csv_import.facts import Found
from sheetfns.log.model.typed_rows import USUAL_YEARS

DECIMAL_MARKS: Final = (".", ",")
THOUSANDS_MARKS: Final = (",", ".", " ", "'")
NO_THOUSANDS: Final = "none"
DATE_ORDERS: Final = ("dmy", "mdy", "ymd")
EPOCH_UNITS: Final = {"seconds": 1, "milliseconds": 1_000}
"""How often the unit goes into a second."""
ORDER_WORDS: Final = {"dmy": "day, month, year", "mdy": "month, day, year", "ymd": "year first"}
_MARK_WORDS: Final = {".": "point", ",": "comma", " ": "space", "'": "apostrophe", NO_THOUSANDS: "none"}


class Cell(NamedTuple):
    """A filled cell of the file: its row there, its header and its text."""

    row: int
    header: str
    text: str

    def __str__(self) -> str:
        return f"row {self.row}, column '{shown_cell(self.header)}' ('{shown_cell(self.text)}')"


def _different(cells: Iterable[Cell]) -> Iterable[Cell]:
    """The first cell of each text."""
    first: dict[str, Cell] = {}
    for cell in cells:
        first.setdefault(cell.text, cell)
    return first.values()


# ---- numbers -------------------------------------------------------------------------------------

_ODD: Final = str.maketrans(
    {"\u00a0": " ", "\u2007": " ", "\u2009": " ", "\u202f": " ", "\u2212": "-", "\u2013": "-", "\u2019": "'"}
)
_MONEY_SIGN: Final = r"(?:[A-Z]{1,3}\s?)?\p{Sc}|[A-Z]{3}|kr\.?|z\u0142|K\u010d"
_NUMBER: Final = regex.compile(
    rf"(?P<sign0>-)?\s*(?P<money0>{_MONEY_SIGN})?\s*(?P<open>\()?\s*(?P<sign1>[-+])?\s*"
    rf"(?P<money1>{_MONEY_SIGN})?\s*(?P<sign2>[-+])?\s*"
    r"(?P<digits>[.,]?[0-9](?:[0-9.,' ]*[0-9.,])?)\s*(?P<percent>%)?\s*"
    rf"(?P<money2>{_MONEY_SIGN})?\s*(?P<sign3>-)?\s*(?P<close>\))?\s*(?P<money3>{_MONEY_SIGN})?"
)


@dataclass(frozen=True)
class NumberText:
    """A number as it is written, taken apart; `money` is its currency sign or code."""

    sign: int
    digits: str
    percent: bool
    money: str


_DIGITS: Final = re.compile("[0-9]*")
_GROUPED: Final = re.compile(r"[1-9][0-9]{0,2}([.,' ])[0-9]{3}(?:\1[0-9]{3})*")


@functools.lru_cache(maxsize=1 << 17)
def number_text(text: str) -> NumberText | None:
    """A text taken apart as a number; None if it is none.

    >>> number_text("-$ 1,234.50"), number_text("about 5") is None
    (NumberText(sign=-1, digits='1,234.50', percent=False, money='$'), True)
    >>> number_text("(12,50 EUR)").sign, number_text("7-").sign
    (-1, -1)
    """
    found = _NUMBER.fullmatch(text.translate(_ODD).strip())
    if found is None or bool(found["open"]) != bool(found["close"]):
        return None
    signs = [sign for sign in found.group("sign0", "sign1", "sign2", "sign3") if sign]
    moneys = [money for money in found.group("money0", "money1", "money2", "money3") if money]
    if len(signs) + bool(found["open"]) > 1 or len(moneys) > 1:
        return None
    minus = bool(found["open"]) or "-" in signs
    money = "".join(moneys).replace(" ", "")
    return NumberText(-1 if minus else 1, found["digits"], bool(found["percent"]), money)


def is_amount(text: str) -> bool:
    """Whether a text can only be an amount: a number with a currency, or with two digits after its mark.

    >>> is_amount("$5"), is_amount("4,50"), is_amount("1,234.50"), is_amount("1001"), is_amount("1.5")
    (True, True, True, False, False)
    """
    number = number_text(text)
    return number is not None and bool(number.money or re.search(r"[.,][0-9]{2}\Z", number.digits))


def number_of(digits: str, decimal: str, thousands: str = "") -> float | None:
    """What digits mean with a decimal mark; None if they cannot be written with it.

    Args:
        thousands: the only mark that may stand between groups of three digits; any if left out.

    >>> number_of("1.234,50", ","), number_of("1.234,50", "."), number_of("12,50", ".")
    (1234.5, None, None)
    """
    whole, mark, part = digits.partition(decimal)
    if not _DIGITS.fullmatch(part) or not (whole or part):
        return None
    if not _DIGITS.fullmatch(whole):
        group = grouping_of(digits, decimal)
        if not group or (thousands and group != thousands):
            return None
        whole = whole.replace(group, "")
    return float(f"{whole or '0'}{'.' if mark else ''}{part or ('0' if mark else '')}")


def grouping_of(digits: str, decimal: str) -> str:
    """The mark between groups of three digits; "" if there is none, or the groups are not so."""
    whole = digits.partition(decimal)[0]
    found = _GROUPED.fullmatch(whole)
    return found[1] if found and found[1] != decimal else ""


def find_marks(cells: Iterable[Cell], decimal: str, thousands: str) -> tuple[Found, Found]:
    """Decimal and thousands mark of the number cells.

    Args:
        cells: the filled cells of all columns of numbers.
        decimal, thousands: as the map states them, "" if it does not.
    """
    seen: dict[str, Cell] = {}
    either: Cell | None = None
    groups: dict[str, dict[str, Cell]] = {mark: {} for mark in DECIMAL_MARKS}
    for digits, cell in _different_numbers(cells):
        fits = {
            mark: value
            for mark in DECIMAL_MARKS
            if (mark != thousands) and (value := number_of(digits, mark, thousands)) is not None
        }
        for mark in fits:
            if group := grouping_of(digits, mark):
                groups[mark].setdefault(group, cell)
        if len(fits) == 1 and any(mark in digits for mark in DECIMAL_MARKS):
            seen.setdefault(next(iter(fits)), cell)
        elif len(set(fits.values())) > 1:
            either = either or cell
    point = _decimal_mark(seen, either, decimal)
    kinds = groups[point.value] if point.value else groups["."] | groups[","]
    label = "Thousands mark"
    if thousands:
        return point, Found.stated(label, thousands, named_mark(thousands))
    shown = ", ".join(f"{named_mark(mark)} ({cell})" for mark, cell in kinds.items())
    return point, Found(label, "", shown or "none in the file")


def _different_numbers(cells: Iterable[Cell]) -> Iterable[tuple[str, Cell]]:
    for cell in _different(cells):
        number = number_text(cell.text)
        if number is not None:
            yield number.digits, cell


def _decimal_mark(seen: dict[str, Cell], either: Cell | None, stated: str) -> Found:
    label = "Decimal mark"
    if stated:
        return Found.stated(label, stated, named_mark(stated))
    if len(seen) == len(DECIMAL_MARKS):
        doubt = (
            f"the decimal mark is a point in {seen['.']} and a comma in {seen[',']}; fix the file, or write "
            "decimal_mark under [file] in the map: rows that don't fit it are then listed and not imported"
        )
        return Found.doubtful(label, doubt)
    if seen:
        mark, cell = next(iter(seen.items()))
        return Found(label, mark, f"{named_mark(mark)} (as in {cell})")
    if either is not None:
        number = number_text(either.text)
        digits = number.digits if number else ""
        doubt = (
            f"the decimal mark isn't clear: {either} can be "
            f"{number_of(digits, '.'):.15g} or {number_of(digits, ','):.15g}; write decimal_mark "
            'under [file] in the map, "." or ","'
        )
        return Found.doubtful(label, doubt)
    return Found(label, "", "none needed: only whole numbers")


def named_mark(mark: str) -> str:
    """A mark with its name."""
    return "none" if mark == NO_THOUSANDS else f"{_MARK_WORDS[mark]} '{mark}'"


# ---- dates ---------------------------------------------------------------------------------------

_MONTHS: Final = (
    *("january", "february", "march", "april", "may", "june", "july"),
    *("august", "september", "october", "november", "december"),
)
_MONTH_NUMBERS: Final = {
    **{name: number for number, name in enumerate(_MONTHS, 1)},
    **{name[:3]: number for number, name in enumerate(_MONTHS, 1)},
    "sept": 9,
}
_WEEKDAY: Final = re.compile(r"(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?\s+", re.IGNORECASE)
_CLOCK: Final = (
    r"\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d+)?)?\s*(?:[ap]\.?\s?m\.?)?\s*"
    r"(?:\(?[a-z]{1,5}\)?|(?:utc|gmt)?[+-]\d{2}:?\d{2})?"
)
_TIME_AFTER: Final = re.compile(rf"(?:t|,?\s+at\s+|[,\s]\s*){_CLOCK}", re.IGNORECASE)
_TIME_BEFORE: Final = re.compile(r"\d{1,2}:\d{2}(?::\d{2})?\s*(?:[ap]\.?m\.?)?,?\s+", re.IGNORECASE)
_YEAR_FIRST: Final = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})|(\d{4})(\d{2})(\d{2})")
_IN_DIGITS: Final = re.compile(r"(\d{1,2})\s?([-/.])\s?(\d{1,2})\s?\2\s?(\d{4}|\d{2})")
_GAP: Final = r"[\s\-/.,]*"
_WORD: Final = r"([A-Za-z]{3,9})"
_NAMED: Final = (
    (re.compile(rf"(\d{{1,2}})(?:st|nd|rd|th)?{_GAP}(?:of\s+)?{_WORD}{_GAP}(\d{{4}}|\d{{2}})"), (3, 2, 1)),
    (re.compile(rf"{_WORD}{_GAP}(\d{{1,2}})(?:st|nd|rd|th)?[\s\-/.,]+(\d{{4}}|\d{{2}})"), (3, 1, 2)),
    (re.compile(rf"(\d{{4}}){_GAP}{_WORD}{_GAP}(\d{{1,2}})"), (1, 2, 3)),
)


@dataclass(frozen=True)
class DateText:
    """A date as it is written: the day if it is certain, else its three numbers in their order."""

    day: dt.date | None
    parts: tuple[int, int, int] | None = None
    short_year: bool = False

    def by(self, order: str) -> dt.date | None:
        """The day in an order such as dmy; None if there is no such day."""
        if self.parts is None:
            return self.day
        if order == "ymd" and not self.short_year:
            return None
        numbers = dict(zip(order, self.parts, strict=True))
        return _day(numbers["y"] + (2000 if self.short_year else 0), numbers["m"], numbers["d"])


def date_text(text: str) -> DateText | None:
    """A text taken apart as a date, a time of day left out; None if it is no date.

    >>> date_text("2026-04-03T10:15:00Z").day, date_text("3 Apr 2026").day
    (datetime.date(2026, 4, 3), datetime.date(2026, 4, 3))
    >>> date_text("3/4/26").by("dmy"), date_text("Tue, Apr 3, 2026 8:05 pm").day
    (datetime.date(2026, 4, 3), datetime.date(2026, 4, 3))
    """
    bare = " ".join(text.translate(_ODD).split())
    bare = _WEEKDAY.sub("", bare, count=1) if _WEEKDAY.match(bare) else bare
    before = _TIME_BEFORE.match(bare)
    if before:
        bare = re.sub(r"\s+[A-Z]{3,4}$", "", bare[before.end() :])
    for after in _TIME_AFTER.finditer(bare):
        if after.end() == len(bare):
            bare = bare[: after.start()]
            break
    found = _YEAR_FIRST.fullmatch(bare)
    if found:
        numbers = [int(part) for part in (found[1], found[3], found[4]) if part] or [
            int(found[place]) for place in (5, 6, 7)
        ]
        day = _day(*numbers)
        return DateText(day) if day else None
    found = _IN_DIGITS.fullmatch(bare)
    if found:
        short = len(found[4]) == 2
        return DateText(None, (int(found[1]), int(found[3]), int(found[4])), short)
    return _with_month_name(bare)


def _with_month_name(bare: str) -> DateText | None:
    for pattern, places in _NAMED:
        found = pattern.fullmatch(bare)
        month = _MONTH_NUMBERS.get(found[places[1]].casefold()) if found else None
        if found and month:
            year = found[places[0]]
            day = _day(int(year) + (2000 if len(year) == 2 else 0), month, int(found[places[2]]))
            return DateText(day, None, len(year) == 2) if day else None
    return None


def _day(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None


_EPOCH: Final = re.compile(r"([0-9]{9,13})(?:\.[0-9]*)?")
_EPOCH_DAY: Final = dt.datetime(1970, 1, 1)  # noqa: DTZ001  (the offset is added by hand)
_OFFSET: Final = re.compile(r"(?:UTC|GMT)?\s*([-+])(\d{1,2})(?::?(\d{2}))?", re.IGNORECASE)
_LATEST: Final = 1 << 33
"""In the year 2242; the log takes days to 2199."""
_MOST_HOURS: Final = 14


def epoch_day(text: str, unit: str, offset: str = "") -> dt.date | None:
    """The day of a time that is a number counted from 1970; None if it is none.

    Args:
        unit: one of `EPOCH_UNITS`.
        offset: hours and minutes from UTC, such as -05:00.

    >>> epoch_day("1772546700", "seconds"), epoch_day("1772496300000", "milliseconds", "-05:00")
    (datetime.date(2026, 3, 3), datetime.date(2026, 3, 2))
    """
    found = _EPOCH.fullmatch(text.strip())
    if found is None:
        return None
    seconds = int(found[1]) // EPOCH_UNITS[unit]
    if seconds > _LATEST:
        return None
    since = dt.timedelta(seconds=seconds)
    moment = _EPOCH_DAY + since + (offset_of(offset) or dt.timedelta())
    return moment.date()


def offset_of(text: str) -> dt.timedelta | None:
    """Hours and minutes from UTC, such as -05:00; None if the text is none.

    >>> offset_of("-05:30") == dt.timedelta(hours=-5, minutes=-30), offset_of("noon") is None
    (True, True)
    """
    found = _OFFSET.fullmatch(text.strip())
    if found is None or int(found[2]) > _MOST_HOURS or int(found[3] or 0) >= 60:
        return None
    size = dt.timedelta(hours=int(found[2]), minutes=int(found[3] or 0))
    return -size if found[1] == "-" else size


def is_usual_day(day: dt.date) -> bool:
    """Whether a day lies in the years that the log's own cells take."""
    return USUAL_YEARS[0] <= day.year <= USUAL_YEARS[1]


def find_date_order(cells: Iterable[Cell], stated: str) -> tuple[Found, str]:
    """The order of day and month in the date cells, and how a short year was read.

    Args:
        cells: the filled cells of all columns of dates.
        stated: the order as the map states it, "" if it does not.
    """
    dates = [(cell, date) for cell in _different(cells) if (date := date_text(cell.text)) is not None]
    order = _date_order(dates, stated)
    short = next((pair for pair in dates if pair[1].short_year), None)
    day = short[1].by(order.value or "dmy") if short and not order.doubt else None
    years = f"read as 20yy, so {short[0]} is {day.isoformat()}" if short and day else ""
    return order, years


def _date_order(dates: list[tuple[Cell, DateText]], stated: str) -> Found:
    label = "Date order"
    if stated:
        return Found.stated(label, stated, ORDER_WORDS[stated])
    only: dict[str, Cell] = {}
    either: tuple[Cell, DateText] | None = None
    in_digits = [(cell, date) for cell, date in dates if date.parts is not None]
    for cell, date in in_digits:
        days = {order: day for order in ("dmy", "mdy") if (day := date.by(order))}
        if len(days) == 1:
            only.setdefault(next(iter(days)), cell)
        elif len(set(days.values())) > 1:
            either = either or (cell, date)
    write = 'write date_order under [file] in the map, "dmy" or "mdy"'
    if len(only) > 1:
        doubt = (
            f"the day is first in {only['dmy']} and the month is first in {only['mdy']}; fix the file, or {write}: "
            "rows that don't fit it are then listed and not imported"
        )
        return Found.doubtful(label, doubt)
    if only.get("dmy") and _year_may_be_first(in_digits):
        cell = only["dmy"]
        doubt = (
            f"the date order isn't clear: in {cell} the year may be first or last; "
            f'{write}, or "ymd" if the year is first'
        )
        return Found.doubtful(label, doubt)
    if only:
        order, cell = next(iter(only.items()))
        return Found(label, order, f"{ORDER_WORDS[order]} (as in {cell})")
    if either is not None:
        cell, date = either
        doubt = f"the order of day and month isn't clear: {cell} can be {date.by('dmy')} or {date.by('mdy')}; {write}"
        return Found.doubtful(label, doubt)
    if in_digits:
        return Found(label, "dmy", "day and month are the same number wherever it matters")
    return Found(label, "", "clear (year first, or months by name)" if dates else "no dates")


def _year_may_be_first(dates: list[tuple[Cell, DateText]]) -> bool:
    """Whether short years look as if they stood first: the last number changes more than it."""
    if not all(date.by("ymd") for _, date in dates):
        return False
    firsts = {date.parts[0] for _, date in dates if date.parts}
    lasts = {date.parts[2] for _, date in dates if date.parts}
    return len(lasts) > len(firsts)
