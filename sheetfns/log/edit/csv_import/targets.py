"""A map held against a log and a file: which column is written from which, and what is wrong."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, Final

from sheetfns.cell_types import TEXT, Kind, limit_refusal, number_in_text, shown_cell
from sheetfns.errors import CellError, LogFileError
from sheetfns.log.edit.csv_import.csv_file import CsvFile
from sheetfns.log.edit.csv_import.map_file import BringInMap, Fixed, near
from sheetfns.log.edit.csv_import.marks import date_text, is_usual_day
from sheetfns.log.model.sheets import TableSheet
from sheetfns.log.read.content import LogContent
from sheetfns.log.read.sheet_reader import TablePlace, plain, typed_values
from sheetfns.log.sheets.reference_lists import Names, ReferenceLists, pattern_refusal
from sheetfns.log.sheets.registry import layout
from sheetfns.money import round_money

TAKES_ROWS: Final = ("Log", "Lots", "Expenses", "Trips", "Own", "Owner", "Comps", "Plan")
_NAMED_PIECES: Final = {"Log": "item_no", "Lots": "lot_no"}
"""The column of a sheet in which each name may stand once."""
_PATTERNS: Final = {"Log": {"item_no", "found_at"}, "Lots": {"lot_no", "found_at"}, "Comps": {"item"}}
"""Names that formulas look for, so that marks of patterns would find others."""
_HALF_A_CENT: Final = 0.005
_NOISE: Final = 1e-9


@dataclass(frozen=True)
class Target:
    """A column of the log that is written or looked through.

    Attributes:
        header: as it stands in the log.
        key: its key in the layout; "" for a column that the seller has added.
        kind: what it holds.
        place: its place on the sheet, counted from 0.
        money: whether it holds money.
        names: the words that it is chosen from.
        no_pattern: whether formulas look for it.
        source: the place of the file's column, counted from 0; None for a fixed value.
        turned: whether the file writes its amounts with the other sign.
    """

    header: str
    key: str
    kind: Kind
    place: int
    money: bool = False
    names: Names | None = None
    no_pattern: bool = False
    source: int | None = None
    turned: bool = False

    def same(self, one: Any, other: Any) -> bool:
        """Whether two values of this column are the same: money to half a cent, dates by day."""
        if isinstance(one, Unread) or isinstance(other, Unread):
            return False
        if self.money and isinstance(one, float) and isinstance(other, float):
            return abs(one - other) <= _HALF_A_CENT + _NOISE
        return bool(self.compared(one) == self.compared(other))

    def shown(self, value: Any) -> str:
        """A value as a message names it."""
        if self.money and isinstance(value, float) and float(f"{value:.2f}") == value:
            return f"{value:.2f}"
        text = shown_cell(value)
        return f"'{text}'" if isinstance(value, (str, Unread)) else text

    def compared(self, value: Any) -> Any:
        """A value in the form in which it is compared."""
        if value is None or isinstance(value, Unread):
            return value
        if isinstance(value, dt.datetime):
            return value.date()
        if isinstance(value, str):
            return plain(value)
        return round_money(value) if self.money else value


@dataclass(frozen=True)
class Unread:
    """What stands in a cell of the log that cannot be read."""

    shown: str

    def __str__(self) -> str:
        return self.shown


@dataclass(frozen=True)
class Bound:
    """A map that fits its log and its file.

    Attributes:
        table: the sheet in the layout; `place` is where it stands in the log.
        columns: what is read from the file.
        fixed: what every row gets.
        match: the column by which rows are found; None if there is none.
        new_rows: whether rows that are not there are added.
        first: the column without which a new row is none; `once` if its names stand once.
    """

    table: TableSheet
    place: TablePlace
    columns: tuple[Target, ...]
    fixed: tuple[tuple[Target, Any], ...]
    match: Target | None
    new_rows: bool
    first: Target
    once: bool


class LogRows:
    """The rows of one sheet as they stand in the log."""

    def __init__(self, content: LogContent, table: TableSheet) -> None:
        self._key = table.key
        self._frame = content.sheets[table.key]
        self._unread = content.unread.get(table.key, {})
        self._own = content.own_cells.get(table.key, {})
        self.rows: list[int] = self._frame["sheet_row"].tolist()
        place = content.places[table.key]
        own = {row for row, _ in self._own if row <= place.last}
        self.last_filled = max([*self.rows, *own, place.first - 1])

    def values(self, target: Target) -> dict[int, Any]:
        """What stands in a column, by row; blank cells are left out."""
        if not target.key:
            rows = set(self.rows)
            return {
                row: _own_value(cell)
                for (row, header), cell in self._own.items()
                if header == target.header and row in rows and _own_value(cell) is not None
            }
        cells = zip(self.rows, typed_values(self._frame[target.key]), strict=True)
        values = {row: value for row, value in cells if value not in (None, "")}
        for (row, key), cell in self._unread.items():
            if key == target.key:
                values[row] = Unread(shown_cell(cell))
        return values


def _own_value(cell: Any) -> Any:
    """What stands in a column of the seller's own, as text."""
    if isinstance(cell, CellError):
        return Unread(cell.code)
    if isinstance(cell, float) and not isinstance(cell, bool) and cell == int(cell):
        return f"{cell:.0f}"
    if isinstance(cell, float):
        return f"{cell:.15g}"
    if isinstance(cell, dt.datetime) and cell.time() == dt.time():
        return cell.date().isoformat()
    text = str(cell).strip()
    return text or None


def table_named(content: LogContent, name: str, where: str) -> TableSheet:
    """The sheet of that name among those that rows can be brought into.

    Errors:
        LogFileError: there is none, or it is worked out by the workbook.
    """
    plan = layout()
    tables = {key: plan.table(key) for key in TAKES_ROWS}
    names = [table.name for table in tables.values()]
    for table in tables.values():
        if plain(name) in {plain(table.name), plain(content.places[table.key].sheet)}:
            return table
    if plain(name) in {plain(one) for one in content.sheet_names}:
        what = f"nothing can be brought into sheet '{name}'"
    else:
        what = f"the log has no sheet '{name}'{near(name, names)}"
    raise LogFileError(f"{where}, [log]: {what}; write one of {', '.join(names)}")


def log_columns(content: LogContent, table: TableSheet) -> list[Target]:
    """Every column of a sheet that may be written: typed ones, then the seller's own."""
    background = ReferenceLists.of(content.settings, content.blocks)
    place = content.places[table.key]
    lots = Names([lot for lot in content.sheets["Lots"]["lot_no"] if lot], "sheet Lots")
    found = []
    for column in table.inputs():
        # Categories and conditions may be other words than those on Settings.
        free = column.names in {"Category_name", "Condition_name"}
        names = None if free else background.listed(column)
        if (table.key, column.key) == ("Log", "lot_no"):
            names = lots
        found.append(
            Target(
                column.header,
                column.key,
                column.kind,
                place.columns[column.key],
                column.unit == "money",
                names,
                column.key in _PATTERNS.get(table.key, set()),
            )
        )
    own = [Target(header, "", TEXT, at) for header, at in place.own.items()]
    return [*found, *own]


def bind(bring_in: BringInMap, content: LogContent, file: CsvFile) -> Bound:
    """Hold a map against the log and the file.

    Errors:
        LogFileError: a header that is not there, a column that is worked out, or nothing to do.
    """
    return _Binder(bring_in, content, file).bound()


class _Binder:
    def __init__(self, bring_in: BringInMap, content: LogContent, file: CsvFile) -> None:
        self.map = bring_in
        self.name = bring_in.path.name
        self.log = content.path.name
        self.file = file
        self.table = table_named(content, bring_in.sheet, self.name)
        self.place = content.places[self.table.key]
        self.by_header = {plain(one.header): one for one in log_columns(content, self.table)}

    def refuse(self, part: str, what: str) -> LogFileError:
        return LogFileError(f"{self.name}, [{part}]: {what}")

    def target(self, header: str, part: str) -> Target:
        found = self.by_header.get(plain(header))
        if found is not None:
            return found
        worked_out = {plain(c.header) for c in self.table.columns if c.role != "input"}
        if plain(header) in worked_out:
            raise self.refuse(
                part, f"'{header}' is worked out by the log and cannot be written; take the line out of the map"
            )
        headers = [one.header for one in self.by_header.values()]
        raise self.refuse(
            part,
            f"sheet {self.table.name} of {self.log} has no column '{header}'"
            f"{near(header, headers)}; it has {_listed(headers)}",
        )

    def source(self, header: str, csv_header: str) -> int:
        wanted = plain(csv_header)
        if wanted in self.file.twice():
            raise self.refuse(
                "columns",
                f"'{header}' is to come from '{csv_header}', a header that stands more than once "
                f"in row {self.file.header_row} of {self.file.path.name}; rename one of them there",
            )
        headers = [plain(one) for one in self.file.headers]
        if wanted not in headers:
            raise self.refuse(
                "columns",
                f"'{header}' is to come from '{csv_header}', but row {self.file.header_row} of "
                f"{self.file.path.name} has no such header{near(csv_header, self.file.headers)}; "
                f"it has {_listed([one for one in self.file.headers if one])}",
            )
        return headers.index(wanted)

    def bound(self) -> Bound:
        turned = {plain(header) for header in self.map.minus_as_plus}
        columns: dict[str, Target] = {}
        for header, csv_header in self.map.columns.items():
            target = self.target(header, "columns")
            self._once(target, columns, "columns")
            columns[plain(header)] = replace(target, source=self.source(header, csv_header))
        for header in turned:
            if header not in columns or columns[header].kind.holds != "number":
                raise self.refuse(
                    "log", f"minus_as_plus names '{header}', which is no column of numbers under [columns]; take it out"
                )
            columns[header] = replace(columns[header], turned=True)
        fixed: dict[str, tuple[Target, Any]] = {}
        for header, value in self.map.fixed.items():
            target = self.target(header, "fixed")
            self._once(target, [*columns, *fixed], "fixed")
            fixed[plain(header)] = (target, self._fixed(target, value))
        if not columns:
            header = next(iter(self.by_header.values())).header
            raise self.refuse(
                "columns",
                "no column is named; write which column of the log comes from which of the file, "
                f'such as "{header}" = "{next(filter(None, self.file.headers))}"',
            )
        match = self._match(columns)
        first = next(iter(self.by_header.values()))
        self._refuse_nothing_to_do(columns, fixed, match, first)
        return Bound(
            self.table,
            self.place,
            tuple(columns.values()),
            tuple(fixed.values()),
            match,
            self.map.new_rows,
            first,
            self.table.key in _NAMED_PIECES,
        )

    def _once(self, target: Target, known: Iterable[str], part: str) -> None:
        if plain(target.header) in known:
            raise self.refuse(part, f"'{target.header}' has two values in the map; take one of the lines out")

    def _match(self, columns: dict[str, Target]) -> Target | None:
        header = self.map.match
        if not header:
            return None
        target = self.target(header, "log")
        if plain(header) not in columns:
            raise self.refuse(
                "columns",
                f"rows are matched by '{target.header}', so write here which column of the file "
                f'holds it: "{target.header}" = "..."',
            )
        return columns[plain(header)]

    def _refuse_nothing_to_do(
        self, columns: dict[str, Target], fixed: dict[str, tuple[Target, Any]], match: Target | None, first: Target
    ) -> None:
        if match is None and not self.map.new_rows:
            raise self.refuse(
                "log",
                "match is blank, and new_rows is not true; write by which column rows are found "
                f'(such as match = "{first.header}"), or new_rows = true to add every row',
            )
        if not self.map.new_rows and len(columns) + len(fixed) == 1:
            raise self.refuse("columns", "only the column that rows are matched by is named; name another one")
        if self.map.new_rows and plain(first.header) not in {*columns, *fixed}:
            raise self.refuse(
                "columns",
                f"new rows on sheet {self.table.name} need '{first.header}'; write which column of "
                "the file holds it, or new_rows = false under [log]",
            )

    def _fixed(self, target: Target, value: Fixed) -> Any:
        readers = {"text": self._fixed_text, "date": self._fixed_date, "number": self._fixed_number}
        return readers[target.kind.holds](target, value)

    def _fixed_text(self, target: Target, value: Fixed) -> str:
        text = value.isoformat() if isinstance(value, dt.date) else str(value).strip()
        if target.names is not None and text not in target.names:
            raise self.refuse("fixed", target.names.refusal(target.header, text))
        refusal = pattern_refusal(target.header, text) if target.no_pattern else None
        if refusal is not None:
            raise self.refuse("fixed", refusal)
        return target.names.spelled([text])[0] if target.names is not None else text

    def _fixed_date(self, target: Target, value: Fixed) -> dt.date:
        date = date_text(value) if isinstance(value, str) else None
        day = value if isinstance(value, dt.date) else date.day if date else None
        if day is None or not is_usual_day(day):
            shown = value.isoformat() if isinstance(value, dt.date) else repr(value)
            raise self.refuse("fixed", f"'{target.header}' is {shown}; write a date such as 2026-03-31, bare")
        return day.date() if isinstance(day, dt.datetime) else day

    def _fixed_number(self, target: Target, value: Fixed) -> float:
        number = number_in_text(value) if isinstance(value, str) else value
        if number is None or isinstance(number, dt.date):
            shown = number.isoformat() if isinstance(number, dt.date) else repr(value)
            raise self.refuse("fixed", f"'{target.header}' is {shown}; write a number, bare")
        refusal = limit_refusal(target.kind, target.header, float(number))
        if refusal is not None:
            raise self.refuse("fixed", refusal.message)
        return float(number)


def _listed(headers: Iterable[str], most: int = 12) -> str:
    known = list(headers)
    return ", ".join(f"'{one}'" for one in known[:most]) + (", ..." if len(known) > most else "")
