"""The map: a TOML file that says which column of a CSV file is what in the log.

It is read as it is written (`read_map`), and then held against a log and a file (`bind`).
"""

from __future__ import annotations

import datetime as dt
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from sheetfns.cell_types import DATE, MONEY, limit_refusal, number_in_text
from sheetfns.errors import LogFileError
from sheetfns.log.edit.csv_import.csv_file import SEPARATORS, CsvFile, FileFacts
from sheetfns.log.edit.csv_import.facts import near
from sheetfns.log.edit.csv_import.log_columns import (
    LogColumn,
    has_unique_names,
    headers_of_other_layouts,
    log_columns,
    results_of,
    table_named,
)
from sheetfns.log.edit.csv_import.number_formats import (
    DATE_ORDERS,
    DECIMAL_MARKS,
    EPOCH_UNITS,
    NO_THOUSANDS,
    THOUSANDS_MARKS,
    date_text,
    is_usual_day,
    offset_of,
)
from sheetfns.log.model.sheets import TableSheet
from sheetfns.log.read.content import LogContent
from sheetfns.log.read.sheet_reader import TablePlace, plain
from sheetfns.log.sheets.reference_lists import pattern_refusal

_MOST_BYTES: Final = 1 << 20
_TABLES: Final = {
    "file": (
        *("encoding", "separator", "decimal_mark", "thousands_mark", "date_order"),
        *("header_row", "blank_words", "epoch", "utc_offset"),
    ),
    "log": ("sheet", "match", "new_rows", "minus_as_plus"),
    "orders": ("column", "carry_down"),
    "kinds": ("column", "amount", "day", "minus_as_plus", "amounts", "days"),
}
_OPEN_TABLES: Final = ("columns", "fixed", "leave_out")
_MARKS: Final = {
    "separator": {mark: mark for mark in SEPARATORS} | {word: mark for mark, word in SEPARATORS.items()},
    "decimal_mark": {mark: mark for mark in DECIMAL_MARKS},
    "thousands_mark": {mark: mark for mark in (*THOUSANDS_MARKS, NO_THOUSANDS)},
    "date_order": {order: order for order in DATE_ORDERS} | {"/".join(order): order for order in DATE_ORDERS},
    "epoch": {unit: unit for unit in EPOCH_UNITS},
}
"""What an entry may be, and what it means."""
_HELD: Final = {"number": "amounts", "date": "days"}

Fixed = str | int | float | dt.date
Source = str | tuple[str, ...]
"""A header of the file, or several whose numbers are added up."""


@dataclass(frozen=True)
class RowKinds:
    """Rows that say something about another row's item, such as a refund or a label.

    Attributes:
        column: the file's column that says of which kind a row is.
        amount: the file's column with the amount of such rows.
        amounts: the log's header that takes the amount, by kind; a kind that is not named is an ordinary row.
        day: the file's column with the day of such rows; "" if it is not wanted.
        days: the log's header that takes the day, by kind.
        minus_as_plus: kinds whose amounts the file writes with the other sign.
    """

    column: str
    amount: str
    amounts: Mapping[str, str]
    day: str = ""
    days: Mapping[str, str] = field(default_factory=dict)
    minus_as_plus: tuple[str, ...] = ()


@dataclass(frozen=True)
class Orders:
    """Rows of the file that belong together.

    Attributes:
        column: the file's column with the number that they share.
        carry_down: columns of the file that are filled in the first row of an order only.
    """

    column: str
    carry_down: tuple[str, ...] = ()


@dataclass(frozen=True)
class ImportMap:
    """A map as it is written, before it is held against a log.

    Attributes:
        match: the log's header by which rows are found; "" if there is none.
        new_rows: whether rows that are not in the log are added.
        minus_as_plus: headers of the log whose amounts the file writes with the other sign.
        columns: the file's header by the log's; several headers are added up.
        fixed: the same value for every row, by the log's header.
        leave_out: words in a column of the file that say that a row is not meant, by its header.
        orders: rows that belong together; None if each stands for itself.
        kinds: rows that add to another row's item; None if there are none.
    """

    path: Path
    file: FileFacts
    sheet: str
    match: str
    new_rows: bool
    minus_as_plus: tuple[str, ...]
    columns: Mapping[str, Source]
    fixed: Mapping[str, Fixed] = field(default_factory=dict)
    leave_out: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    orders: Orders | None = None
    kinds: RowKinds | None = None


def read_map(path: Path | str) -> ImportMap:
    """Read a map.

    Errors:
        LogFileError: no such file, no TOML, or an entry that means nothing: where, and what to do.
    """
    path = Path(path)
    tables = _parsed(path)
    _check_names(path, tables)
    reader = _Reader(path, tables)
    file = FileFacts(
        reader.text("file", "encoding"),
        reader.mark("separator"),
        reader.mark("decimal_mark"),
        reader.mark("thousands_mark"),
        reader.mark("date_order"),
        reader.header_row(),
        reader.texts("file", "blank_words"),
        reader.mark("epoch"),
        reader.utc_offset(),
    )
    if file.decimal_mark and file.decimal_mark == file.thousands_mark:
        raise LogFileError(f"{path.name}, [file]: decimal_mark and thousands_mark are the same; change one of them")
    sheet = reader.text("log", "sheet")
    if not sheet:
        raise LogFileError(
            f'{path.name}, [log]: sheet is missing; write the sheet\'s name, such as sheet = "Sourcing log"'
        )
    return ImportMap(
        path,
        file,
        sheet,
        reader.text("log", "match"),
        reader.flag("log", "new_rows"),
        reader.texts("log", "minus_as_plus"),
        reader.columns(),
        reader.fixed(),
        reader.leave_out(),
        reader.orders(),
        reader.kinds(),
    )


def _parsed(path: Path) -> dict[str, Any]:
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        raise LogFileError(f"{path}: there is no such map; check name and folder") from None
    except OSError as error:
        raise LogFileError(f"{path}: cannot be read ({error.strerror}); check the name") from error
    if len(content) > _MOST_BYTES:
        raise LogFileError(f"{path.name}: is {len(content):,} bytes, too long for a map; check the name")
    try:
        return tomllib.loads(content.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise LogFileError(f"{path.name}, line {line}: is not UTF-8; save the map as UTF-8 text") from error
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise LogFileError(
            f"{path.name}: is not a proper map: {str(error) or 'too many brackets'}. Put texts in "
            'quotation marks, such as "Sold on" = "Date of sale", and use each name once'
        ) from error


def _check_names(path: Path, tables: Mapping[str, Any]) -> None:
    known = (*_TABLES, *_OPEN_TABLES)
    for name, content in tables.items():
        if name not in known:
            raise LogFileError(
                f"{path.name}: the map has no '{name}'{near(name, known)}; it has "
                f"{', '.join(f'[{one}]' for one in known)}"
            )
        if not isinstance(content, dict):
            raise LogFileError(f"{path.name}: '{name}' is a heading; write it as [{name}]")
        for key in content:
            if name in _TABLES and key not in _TABLES[name]:
                raise LogFileError(
                    f"{path.name}, [{name}]: there is no '{key}' here{near(key, _TABLES[name])}; "
                    f"there is {', '.join(_TABLES[name])}"
                )


class _Reader:
    """Reads entries of the map."""

    def __init__(self, path: Path, tables: Mapping[str, Any]) -> None:
        self.path = path
        self.tables = tables

    def entry(self, table: str, key: str) -> Any:
        """What is written; None if nothing is."""
        value = self.tables.get(table, {}).get(key)
        return None if value == "" else value

    def wrong(self, table: str, key: str, what: str) -> LogFileError:
        return LogFileError(f"{self.path.name}, [{table}]: {key} {what}")

    def text(self, table: str, key: str) -> str:
        value = self.entry(table, key)
        if value is None:
            return ""
        if not isinstance(value, str):
            raise self.wrong(table, key, f'is not text; put it in quotation marks: "{value}"')
        return value.strip()

    def flag(self, table: str, key: str) -> bool:
        value = self.entry(table, key)
        if value is None:
            return False
        if not isinstance(value, bool):
            raise self.wrong(table, key, "is neither true nor false; write one of them, without quotation marks")
        return value

    def texts(self, table: str, key: str) -> tuple[str, ...]:
        value = self.entry(table, key)
        if value is None:
            return ()
        if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
            raise self.wrong(table, key, 'is not a list of texts; write it as ["one", "other"]')
        return tuple(" ".join(one.split()) for one in value)

    def mark(self, key: str) -> str:
        value = self.entry("file", key)
        if value is None:
            return ""
        known = _MARKS[key]
        if not isinstance(value, str) or value.casefold() not in known:
            listed = ", ".join(f'"{one}"' if one != "\t" else r'"\t"' for one in known)
            raise self.wrong("file", key, f"is {value!r}; write one of {listed}, or leave it blank")
        return known[value.casefold()]

    def header_row(self) -> int:
        value = self.entry("file", "header_row")
        if value is None:
            return 0
        if isinstance(value, bool) or not isinstance(value, int) or value < 1:
            words = "is not a row; write a whole number, 1 or more, without quotation marks"
            raise self.wrong("file", "header_row", words)
        return value

    def columns(self) -> dict[str, Source]:
        columns: dict[str, Source] = {}
        for header, source in self.tables.get("columns", {}).items():
            if isinstance(source, list) and source and all(isinstance(one, str) and one.strip() for one in source):
                columns[header] = source[0] if len(source) == 1 else tuple(source)
            elif not isinstance(source, str):
                words = "names no column; write the file's header as a text, or a list of headers to add them up"
                raise self.wrong("columns", f"'{header}'", words)
            elif source.strip():
                columns[header] = source
        return columns

    def leave_out(self) -> dict[str, tuple[str, ...]]:
        found: dict[str, tuple[str, ...]] = {}
        for header, words in self.tables.get("leave_out", {}).items():
            listed = [words] if isinstance(words, str) else words
            if not isinstance(listed, list) or not all(isinstance(one, str) and one.strip() for one in listed):
                raise self.wrong("leave_out", f"'{header}'", 'is not a list of words; write it as ["Cancelled"]')
            if listed:
                found[header] = tuple(" ".join(one.split()) for one in listed)
        return found

    def orders(self) -> Orders | None:
        column, carried = self.text("orders", "column"), self.texts("orders", "carry_down")
        if not column and carried:
            raise self.wrong("orders", "column", "is missing; write which column of the file has the order's number")
        return Orders(column, carried) if column else None

    def kinds(self) -> RowKinds | None:
        if not self.tables.get("kinds"):
            return None
        column, amount = self.text("kinds", "column"), self.text("kinds", "amount")
        amounts, days = self._headers("amounts"), self._headers("days")
        day, turned = self.text("kinds", "day"), self.texts("kinds", "minus_as_plus")
        if not (column or amount or amounts or days or day):
            return None
        for key, value in {"column": column, "amount": amount, "amounts": amounts}.items():
            if not value:
                raise self.wrong("kinds", key, f"is missing; write {_KINDS_NEED[key]}")
        if days and not day:
            raise self.wrong("kinds", "day", "is missing; write which column of the file has the day of such rows")
        for key, words in (("days", days), ("minus_as_plus", turned)):
            for word in words:
                if plain(word) not in {plain(one) for one in amounts}:
                    raise self.wrong("kinds", key, f"names '{word}', which is not under amounts; write it there too")
        return RowKinds(column, amount, amounts, day, days, turned)

    def _headers(self, key: str) -> dict[str, str]:
        """A header of the log by the kind of row."""
        value = self.entry("kinds", key)
        if value is None:
            return {}
        if not isinstance(value, dict) or not all(isinstance(one, str) and one.strip() for one in value.values()):
            raise self.wrong("kinds", key, 'is not a list of kinds; write it as { "Refund" = "Refund" }')
        return {" ".join(word.split()): header for word, header in value.items()}

    def utc_offset(self) -> str:
        value = self.text("file", "utc_offset")
        if value and offset_of(value) is None:
            raise self.wrong("file", "utc_offset", f'is "{value}"; write hours and minutes, such as "-05:00"')
        return value

    def fixed(self) -> dict[str, Fixed]:
        fixed: dict[str, Fixed] = {}
        for header, value in self.tables.get("fixed", {}).items():
            if isinstance(value, bool) or not isinstance(value, (str, int, float, dt.date)):
                raise self.wrong("fixed", f"'{header}'", "is not a text, number or date")
            if value != "":
                fixed[header] = value
        return fixed


_KINDS_NEED: Final = {
    "column": "which column of the file says of which kind a row is",
    "amount": "which column of the file has the amount of such rows",
    "amounts": 'which column of the log takes it, such as amounts = { "Refund" = "Refund" }',
}


# ---- against a log and a file --------------------------------------------------------------------


@dataclass(frozen=True)
class BoundKinds:
    """Rows that add to another row's item.

    Attributes:
        column: the place of the file's column that says the kind, counted from 0.
        amount, day: the file's columns, under their own headers; None for no day.
        amounts, days: the log's column by the kind, as it is compared.
        turned: kinds with the other sign.
    """

    column: int
    amount: LogColumn
    amounts: Mapping[str, LogColumn]
    day: LogColumn | None
    days: Mapping[str, LogColumn]
    turned: frozenset[str]

    @property
    def columns(self) -> list[LogColumn]:
        """The log's columns that such rows write."""
        found = {one.header: one for one in (*self.amounts.values(), *self.days.values())}
        return list(found.values())


@dataclass(frozen=True)
class BoundOrders:
    """Rows of the file that belong together: places of the columns, counted from 0."""

    column: int
    carry_down: tuple[int, ...]


@dataclass(frozen=True)
class BoundMap:
    """A map that fits its log and its file.

    Attributes:
        table: the sheet in the layout; `place` is where it stands in the log.
        columns: what is read from the file.
        fixed: what every row gets.
        match: the column by which rows are found; None if there is none.
        new_rows: whether rows that are not there are added.
        first: the column without which a new row is none; `once` if its names stand once.
        leave_out: place of a column of the file, its header, and words as they are compared.
        orders, kinds: as in the map; None if there are none.
    """

    table: TableSheet
    place: TablePlace
    columns: tuple[LogColumn, ...]
    fixed: tuple[tuple[LogColumn, Any], ...]
    match: LogColumn | None
    new_rows: bool
    first: LogColumn
    once: bool
    leave_out: tuple[tuple[int, str, frozenset[str]], ...] = ()
    orders: BoundOrders | None = None
    kinds: BoundKinds | None = None


def bind(import_map: ImportMap, content: LogContent, file: CsvFile) -> BoundMap:
    """Hold a map against the log and the file.

    Errors:
        LogFileError: a header that is not there, a column that is worked out, or nothing to do.
    """
    return _Binder(import_map, content, file).bound()


class _Binder:
    def __init__(self, import_map: ImportMap, content: LogContent, file: CsvFile) -> None:
        self.content = content
        self.name = import_map.path.name
        self.log = content.path.name
        self.file = file
        self.table = table_named(content, import_map.sheet, self.name)
        self.place = content.places[self.table.key]
        columns = log_columns(content, self.table)
        self.by_header = {plain(one.header): one for one in columns}
        self.map = _with_headers(import_map, headers_of_other_layouts(self.table, columns))
        self.first = next(iter(self.by_header.values()))
        self.columns: dict[str, LogColumn] = {}
        self.fixed: dict[str, tuple[LogColumn, Any]] = {}

    def bound(self) -> BoundMap:
        for header, source in self.map.columns.items():
            column = self._new(header, "columns")
            named = (source,) if isinstance(source, str) else source
            places = [self._source(header, one) for one in named]
            if len(places) > 1 and column.kind.holds != "number":
                raise self._refusal(
                    "columns",
                    f"'{column.header}' holds no numbers, so {_listed(named)} cannot be added up into it; name one",
                )
            if len(set(places)) < len(places):
                raise self._refusal("columns", f"'{column.header}' has a column of the file twice; delete one of them")
            self.columns[plain(header)] = replace(column, source=places[0], added=tuple(places[1:]))
        for header in {plain(one) for one in self.map.minus_as_plus}:
            if header not in self.columns or self.columns[header].kind.holds != "number":
                raise self._refusal(
                    "log",
                    f"minus_as_plus names '{header}', which is not a column of numbers under [columns]; delete it",
                )
            self.columns[header] = replace(self.columns[header], turned=True)
        for header, value in self.map.fixed.items():
            column = self._new(header, "fixed")
            self.fixed[plain(header)] = (column, self._fixed(column, value))
        if not self.columns:
            raise self._refusal(
                "columns",
                "no column is named; write which column of the log comes from which column of the file, "
                f'such as "{self.first.header}" = "{next(filter(None, self.file.headers))}"',
            )
        match = self._match()
        kinds = self._kinds(match)
        self._refuse_nothing_to_do(match, kinds)
        return BoundMap(
            self.table,
            self.place,
            tuple(self.columns.values()),
            tuple(self.fixed.values()),
            match,
            self.map.new_rows,
            self.first,
            has_unique_names(self.table),
            self._leave_out(),
            self._orders(),
            kinds,
        )

    def _leave_out(self) -> tuple[tuple[int, str, frozenset[str]], ...]:
        found = []
        for header, words in self.map.leave_out.items():
            place = self._place("leave_out", f"'{header}'", header)
            found.append((place, self.file.headers[place], frozenset(map(plain, words))))
        return tuple(found)

    def _orders(self) -> BoundOrders | None:
        orders = self.map.orders
        if orders is None:
            return None
        carried = tuple(self._place("orders", "carry_down", header) for header in orders.carry_down)
        return BoundOrders(self._place("orders", "column", orders.column), carried)

    def _kinds(self, match: LogColumn | None) -> BoundKinds | None:
        kinds = self.map.kinds
        if kinds is None:
            return None
        if match is None:
            raise self._refusal(
                "kinds",
                "such rows join the row of their item, so write under [log] by which column it is found (match)",
            )
        amount = self._place("kinds", "amount", kinds.amount)
        amounts = {plain(word): self._target(header, "number") for word, header in kinds.amounts.items()}
        days = {plain(word): self._target(header, "date") for word, header in kinds.days.items()}
        day = None
        if kinds.day:
            at = self._place("kinds", "day", kinds.day)
            day = LogColumn(self.file.headers[at], "", DATE, -2, source=at)
        read = LogColumn(self.file.headers[amount], "", MONEY, -1, money=True, source=amount)
        turned = frozenset(map(plain, kinds.minus_as_plus))
        return BoundKinds(self._place("kinds", "column", kinds.column), read, amounts, day, days, turned)

    def _target(self, header: str, holds: str) -> LogColumn:
        """The column of the log that rows of a kind write to."""
        column = self._column(header, "kinds")
        if plain(column.header) in self.fixed:
            raise self._refusal("kinds", f"'{column.header}' has a fixed value too; delete one of the lines")
        if column.kind.holds != holds:
            raise self._refusal("kinds", f"'{column.header}' takes no {_HELD[holds]}; name a column that does")
        return self.columns.get(plain(column.header), column)

    def _refusal(self, part: str, what: str) -> LogFileError:
        return LogFileError(f"{self.name}, [{part}]: {what}")

    def _column(self, header: str, part: str) -> LogColumn:
        found = self.by_header.get(plain(header))
        if found is not None:
            return found
        worked_out = {plain(header) for header in results_of(self.content, self.table)}
        if plain(header) in worked_out:
            raise self._refusal(
                part, f"'{header}' is calculated by the log and cannot be imported; delete the line from the map"
            )
        headers = [one.header for one in self.by_header.values()]
        raise self._refusal(
            part,
            f"sheet {self.place.sheet} of {self.log} has no column '{header}'"
            f"{near(header, headers)}; it has {_listed(headers)}",
        )

    def _new(self, header: str, part: str) -> LogColumn:
        """A column that the map has not named before."""
        column = self._column(header, part)
        if plain(column.header) in {*self.columns, *self.fixed}:
            raise self._refusal(part, f"'{column.header}' has two values in the map; delete one of the lines")
        return column

    def _source(self, header: str, csv_header: str) -> int:
        return self._place("columns", f"'{header}' is set to", csv_header)

    def _place(self, part: str, named: str, csv_header: str) -> int:
        """The place of a column of the file, counted from 0; `named` is what names it in the map."""
        wanted = plain(csv_header)
        said = named if named.endswith(f"'{csv_header}'") and part == "leave_out" else f"{named} '{csv_header}'"
        if wanted in self.file.twice():
            raise self._refusal(
                part,
                f"{said}, a header that is duplicated in row {self.file.header_row} of "
                f"{self.file.path.name}; rename one of them there",
            )
        headers = [plain(one) for one in self.file.headers]
        if wanted not in headers:
            raise self._refusal(
                part,
                f"{said}, but row {self.file.header_row} of "
                f"{self.file.path.name} has no such header{near(csv_header, self.file.headers)}; "
                f"it has {_listed([one for one in self.file.headers if one])}",
            )
        return headers.index(wanted)

    def _match(self) -> LogColumn | None:
        header = self.map.match
        if not header:
            return None
        column = self._column(header, "log")
        if plain(header) not in self.columns:
            raise self._refusal(
                "columns",
                f"rows are matched by '{column.header}', so write here which column of the file holds it: "
                f'"{column.header}" = "..."',
            )
        return self.columns[plain(header)]

    def _refuse_nothing_to_do(self, match: LogColumn | None, kinds: BoundKinds | None) -> None:
        if match is None and not self.map.new_rows:
            raise self._refusal(
                "log",
                "match is blank, and new_rows is not true; write the column by which rows are found "
                f'(such as match = "{self.first.header}"), or new_rows = true to add every row',
            )
        if not self.map.new_rows and len(self.columns) + len(self.fixed) == 1 and kinds is None:
            raise self._refusal("columns", "only the column that rows are matched by is named; name another one too")
        if self.map.new_rows and plain(self.first.header) not in {*self.columns, *self.fixed}:
            raise self._refusal(
                "columns",
                f"new rows on sheet {self.place.sheet} need '{self.first.header}'; write which column of the file "
                "holds it, or new_rows = false under [log]",
            )

    def _fixed(self, column: LogColumn, value: Fixed) -> Any:
        readers = {"text": self._fixed_text, "date": self._fixed_date, "number": self._fixed_number}
        return readers[column.kind.holds](column, value)

    def _fixed_text(self, column: LogColumn, value: Fixed) -> str:
        text = value.isoformat() if isinstance(value, dt.date) else str(value).strip()
        if column.names is not None and text not in column.names:
            raise self._refusal("fixed", column.names.refusal(column.header, text))
        refusal = pattern_refusal(column.header, text) if column.no_pattern else None
        if refusal is not None:
            raise self._refusal("fixed", refusal)
        return column.names.spelled([text])[0] if column.names is not None else text

    def _fixed_date(self, column: LogColumn, value: Fixed) -> dt.date:
        date = date_text(value) if isinstance(value, str) else None
        day = value if isinstance(value, dt.date) else date.day if date else None
        if day is None or not is_usual_day(day):
            raise self._refusal(
                "fixed",
                f"'{column.header}' is {_written(value)}; write a date such as 2026-03-31, without quotation marks",
            )
        return day.date() if isinstance(day, dt.datetime) else day

    def _fixed_number(self, column: LogColumn, value: Fixed) -> float:
        number = number_in_text(value) if isinstance(value, str) else value
        if number is None or isinstance(number, dt.date):
            words = f"'{column.header}' is {_written(value)}; write a number, without quotation marks"
            raise self._refusal("fixed", words)
        refusal = limit_refusal(column.kind, column.header, float(number))
        if refusal is not None:
            raise self._refusal("fixed", refusal.message)
        return float(number)


def _with_headers(import_map: ImportMap, headers: Mapping[str, str]) -> ImportMap:
    """The map with the log's own headers where it has those of another layout; a map outlives its log's words."""
    named = {plain(header) for header in (*import_map.columns, *import_map.fixed)}

    def own(header: str) -> str:
        new = headers.get(plain(header), header)
        return header if plain(new) in named else new

    return replace(
        import_map,
        match=headers.get(plain(import_map.match), import_map.match),
        minus_as_plus=tuple(headers.get(plain(header), header) for header in import_map.minus_as_plus),
        columns={own(header): source for header, source in import_map.columns.items()},
        fixed={own(header): value for header, value in import_map.fixed.items()},
        kinds=import_map.kinds
        and replace(
            import_map.kinds,
            amounts={word: headers.get(plain(one), one) for word, one in import_map.kinds.amounts.items()},
            days={word: headers.get(plain(one), one) for word, one in import_map.kinds.days.items()},
        ),
    )


def _written(value: Fixed) -> str:
    return value.isoformat() if isinstance(value, dt.date) else repr(value)


def _listed(headers: Iterable[str], maximum: int = 12) -> str:
    known = list(headers)
    return ", ".join(f"'{one}'" for one in known[:maximum]) + (", ..." if len(known) > maximum else "")
