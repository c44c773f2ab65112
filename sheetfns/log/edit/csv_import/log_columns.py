"""The columns of the log that a file may be imported into, and what stands in them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from sheetfns.cell_types import TEXT, CellType, shown_cell
from sheetfns.errors import CellError, LogFileError
from sheetfns.log.edit.csv_import.facts import near
from sheetfns.log.model.earlier_words import every_word
from sheetfns.log.model.sheets import TableSheet
from sheetfns.log.read.content import LogContent
from sheetfns.log.read.sheet_reader import plain, typed_values
from sheetfns.log.sheets.reference_lists import Names, ReferenceLists
from sheetfns.log.sheets.registry import log_layout
from sheetfns.money import round_money

TAKES_ROWS: Final = ("Log", "Lots", "Expenses", "Trips", "Personal", "Owner", "Comps", "Plan")
_UNIQUE: Final = ("Log", "Lots")
"""Sheets in whose first column each name may stand once."""
_PATTERNS: Final = {"Log": {"item_no", "found_at"}, "Lots": {"lot_no", "found_at"}, "Comps": {"item"}}
"""Names that formulas look for, so that marks of patterns would find others."""
_HALF_A_CENT: Final = 0.005
_NOISE: Final = 1e-9


@dataclass(frozen=True)
class LogColumn:
    """A column of the log that is written or looked through.

    Attributes:
        header: as it stands in the log.
        key: its key in the layout; "" for a column that the seller has added.
        kind: what it holds.
        place: its place on the sheet, counted from 0.
        money: whether it holds money.
        names: the words that it is chosen from.
        no_pattern: whether formulas look for it.
        in_log: how the log writes words of today's lists, where it has others.
        source: the place of the file's column, counted from 0; None for a fixed value.
        added: places of more columns of the file, whose numbers are added to it.
        turned: whether the file writes its amounts with the other sign.
    """

    header: str
    key: str
    kind: CellType
    place: int
    money: bool = False
    names: Names | None = None
    no_pattern: bool = False
    in_log: Mapping[str, str] = field(default_factory=dict)
    source: int | None = None
    turned: bool = False
    added: tuple[int, ...] = ()

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


class LogRows:
    """The rows of one sheet as they stand in the log; a column is looked through once."""

    def __init__(self, content: LogContent, table: TableSheet) -> None:
        self._key = table.key
        self._frame = content.sheets[table.key]
        self._unread = content.unread.get(table.key, {})
        self._own = content.own_cells.get(table.key, {})
        self.rows: list[int] = self._frame["sheet_row"].tolist()
        place = content.places[table.key]
        own = {row for row, _ in self._own if row <= place.last}
        self.last_filled = max([*self.rows, *own, place.first - 1])
        self._known: dict[str, dict[int, Any]] = {}
        self._found: dict[str, dict[Any, list[int]]] = {}

    def values(self, column: LogColumn) -> dict[int, Any]:
        """What stands in a column, by row; blank cells are left out."""
        if column.header not in self._known:
            self._known[column.header] = self._values(column)
        return self._known[column.header]

    def by_value(self, column: LogColumn) -> dict[Any, list[int]]:
        """The rows that hold a value, by the value as it is compared."""
        if column.header not in self._found:
            found: dict[Any, list[int]] = {}
            for row, value in self.values(column).items():
                found.setdefault(column.compared(value), []).append(row)
            self._found[column.header] = found
        return self._found[column.header]

    def _values(self, column: LogColumn) -> dict[int, Any]:
        if not column.key:
            rows = set(self.rows)
            return {
                row: _own_value(cell)
                for (row, header), cell in self._own.items()
                if header == column.header and row in rows and _own_value(cell) is not None
            }
        cells = zip(self.rows, typed_values(self._frame[column.key]), strict=True)
        values = {row: column.in_log.get(value, value) for row, value in cells if value not in (None, "")}
        for (row, key), cell in self._unread.items():
            if key == column.key:
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


def results_of(content: LogContent, table: TableSheet) -> list[str]:
    """The headers of the columns that the log works out, as it has them."""
    of = content.words.of
    return [of("header", table.name, one.key, one.header) for one in table.columns if one.role != "input"]


def headers_of_other_layouts(table: TableSheet, columns: Iterable[LogColumn]) -> dict[str, str]:
    """Other headers that columns of the log had or will have, as they are compared, and its own."""
    known = {plain(column.header) for column in columns}
    of_today = {column.key: column.header for column in table.inputs()}
    return {
        word: column.header
        for column in columns
        if column.key
        for word in map(plain, every_word("header", table.name, column.key, of_today[column.key]))
        if word not in known
    }


def has_unique_names(table: TableSheet) -> bool:
    """Whether each name may stand once in the first column."""
    return table.key in _UNIQUE


def table_named(content: LogContent, name: str, where: str) -> TableSheet:
    """The sheet of that name among those that rows can be imported into.

    Errors:
        LogFileError: there is none, or it is worked out by the workbook.
    """
    tables = {key: log_layout().table(key) for key in TAKES_ROWS}
    names = [content.places[key].sheet for key in tables]
    for table in tables.values():
        if plain(name) == plain(content.places[table.key].sheet):
            return table
    for table in tables.values():
        if plain(name) in {plain(title) for title in every_word("sheet", table.name, "", table.name)}:
            return table
    if plain(name) in {plain(one) for one in content.sheet_names}:
        what = f"nothing can be imported into sheet '{name}'"
    else:
        what = f"the log has no sheet '{name}'{near(name, names)}"
    raise LogFileError(f"{where}, [log]: {what}; write one of {', '.join(names)}")


def log_columns(content: LogContent, table: TableSheet) -> list[LogColumn]:
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
        in_log = content.words.choices(table.name, column.key)
        if in_log and names is not None:
            words = [in_log.get(word, word) for word in names.words]
            names = Names(words, names.home, own_words=names.own_words, also=in_log)
        found.append(
            LogColumn(
                content.words.of("header", table.name, column.key, column.header),
                column.key,
                column.kind,
                place.columns[column.key],
                column.unit == "money",
                names,
                column.key in _PATTERNS.get(table.key, set()),
                in_log,
            )
        )
    own = [LogColumn(header, "", TEXT, at) for header, at in place.own.items()]
    return [*found, *own]
