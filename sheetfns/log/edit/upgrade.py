"""An older or damaged log brought into the current layout: what is typed is there, or is listed."""

from __future__ import annotations

import functools
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from sheetfns.cell_types import LONGEST_TEXT
from sheetfns.errors import LogFileError
from sheetfns.files.cell_names import cell_name
from sheetfns.files.sheet_cells import with_errors
from sheetfns.files.workbook_file import WorkbookFile, formulas_of, open_workbook
from sheetfns.log.edit.macros import (
    CONF_SHEET,
    DraftWriter,
    beside_settings,
    foreign_settings,
    has_macros,
    settings_by_cell,
)
from sheetfns.log.edit.patch import CellEdit, NewSheet, patch
from sheetfns.log.edit.values import names_of_sheets, plain_value, shown, writable
from sheetfns.log.load import load_log
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import FIRST_ROW, HEADER_ROW, Edition, Layout, SettingsBlock, TableSheet
from sheetfns.log.read.content import LogContent
from sheetfns.log.read.sheet_reader import plain
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import CONFLICTS, MOST_ROWS, SETTINGS
from sheetfns.log.write.build import build_log
from sheetfns.log.write.table_sheet import CLOSING_WORDS

LEFT_OVER: Final = "Left over"
"""The sheet that lists what has no place in the new log."""
_HEADERS: Final = ("Sheet", "Cell", "What was there", "Why it was not carried over")
_WIDTHS: Final = (22.0, 10.0, 50.0, 60.0)
_OWN_WIDTH: Final = 14.0


@dataclass(frozen=True)
class LeftOver:
    """Something typed that has no place in the new log."""

    sheet: str
    cell: str
    value: Any
    why: str


@dataclass(frozen=True)
class UpgradeReport:
    """What came of it.

    Attributes:
        path: the new log.
        old: the old one, as it was read.
        typed: how many typed values are in the new log, each in its place.
        left_over: what is listed on sheet Left over.
        own_columns, own_sheets: what was taken over of one's own, as values.
        macros_left: whether the old one holds macros, and the new one none.
    """

    path: Path
    old: LogContent
    typed: int
    left_over: tuple[LeftOver, ...]
    own_columns: tuple[str, ...]
    own_sheets: tuple[str, ...]
    macros_left: bool = False


def upgrade_log(
    old: Path | str,
    out: Path | str,
    edition: Edition | None = None,
    rows: int | None = None,
    step: Callable[[str], None] = lambda _: None,
    *,
    macro_writer: Callable[[Path], DraftWriter] | None = None,
) -> UpgradeReport:
    """Write a new log with everything that is typed into an old one.

    Args:
        old: a log of this or an earlier version, whole or damaged; it stays as it is.
        out: the new log, ending in .xlsx, or in .xlsm for one with macros.
        edition: the edition of the new log; that of the old one if left out, and always functions
            with macros.
        rows: ready rows on its sourcing log; as many as the old one has, or as are needed, if left
            out.
        step: is told what is being done.
        macro_writer: takes the old log and gives what writes a log with macros in its place, or
            refuses to; without it the new log has to end in .xlsx.

    Errors:
        LogFileError: the old file is no workbook, the new one is there already or cannot be
            written, the rows do not fit, or macros cannot be taken over. Then nothing is written.
    """
    old, out = Path(old), Path(out)
    endings = [".xlsx"] if macro_writer is None else [".xlsx", ".xlsm"]
    if out.suffix.lower() not in endings:
        raise LogFileError(f"{out}: give the new log a name that ends in {' or '.join(endings)}")
    if out.suffix.lower() == ".xlsx":
        macro_writer = None
    if macro_writer and edition not in {None, "functions"}:
        raise LogFileError(
            f"{out}: a workbook with macros calls the functions; leave --edition {edition} out, or "
            "give it a name that ends in .xlsx"
        )
    if out.exists():
        raise LogFileError(f"{out}: already exists; choose another name")
    step("Reading the old log")
    write = macro_writer(old) if macro_writer else None
    content = load_log(old, lenient=True)
    _refuse_what_is_no_log(content)
    inputs = content.inputs()
    left = list(_shortened(content, inputs))
    new_layout = log_layout(_rows(content, inputs) if rows is None else rows)
    left += _without_room(content, inputs)
    new_edition = "functions" if write else edition or content.edition or "plain"
    macros = has_macros(old)
    step("Looking for entries elsewhere")
    left += _elsewhere(content)
    foreign = any(foreign_settings(old))
    left += _settings_left(old, left, written=write is not None, macros=macros)
    step("Carrying over what is yours")
    known = {CONF_SHEET} if macros or write or foreign else set()
    own = _Own(content, new_layout, inputs, new_edition, known)
    sheets = [*own.sheets]
    if left or own.left_over:
        left += own.left_over
        sheets.append(_list(left))
    step("Writing the new log")
    ready = new_layout.table("Log").ready_rows
    if write or own.edits or sheets:
        with tempfile.TemporaryDirectory() as folder:
            draft = Path(folder) / out.name
            if write:
                write(draft, ready, inputs)
            else:
                build_log(draft, new_edition, ready, inputs, calculated=False)
            patch(draft, own.edits, out=out, new_sheets=sheets)
    else:
        build_log(out, new_edition, ready, inputs)
    step("Comparing both")
    typed = _compared(inputs, out)
    return UpgradeReport(
        out,
        content,
        typed,
        tuple(left),
        tuple(own.columns),
        tuple(one.name for one in own.sheets),
        macros_left=macros and not write,
    )


def _refuse_what_is_no_log(content: LogContent) -> None:
    names = {plain(name) for name in content.sheet_names}
    tables = {plain(table.name) for table in content.worded(log_layout()).tables if table.inputs()}
    if not tables & names:
        raise LogFileError(
            f"{content.path.name}: none of its sheets is one of a sourcing log (found: "
            f"{', '.join(content.sheet_names)}); check that this is a log"
        )


def _rows(content: LogContent, inputs: Inputs) -> int:
    rows = max(1, content.ready_rows.get("Log", 0), len(inputs.rows.get("Log", ())))
    while rows < MOST_ROWS and any(
        len(typed) > log_layout(rows).table(key).ready_rows for key, typed in inputs.rows.items()
    ):
        rows = min(2 * rows, MOST_ROWS)
    return rows


def _settings_left(old: Path, left: Sequence[LeftOver], *, written: bool, macros: bool) -> list[LeftOver]:
    """What stands on the sheet of the macros' settings and is not carried over.

    Args:
        old: the old log.
        left: what is listed already.
        written: whether the new log gets macros, and with them the settings.
        macros: whether the old log has macros.
    """
    foreign = {(sheet, cell) for sheet, cell, *_ in foreign_settings(old)}
    if not (macros or written or foreign):
        return []
    found = [LeftOver(sheet, cell, plain_value(value), why) for sheet, cell, value, why in beside_settings(old)]
    listed = {(one.sheet, one.cell) for one in [*left, *found]}
    for sheet, cell, name, value in settings_by_cell(old):
        if (sheet, cell) in foreign:
            why = "a program or folder of code that this computer did not choose"
        else:
            why = "a setting beside one of another computer; enter it again"
        # A log without macros has its settings as a sheet of its own, which is left out as a whole.
        lost = (sheet, cell) in foreign if written else not macros
        if lost and (sheet, cell) not in listed:
            found.append(LeftOver(sheet, cell, f"{name}: {value}", why))
    return found


def _shortened(content: LogContent, inputs: Inputs) -> Iterator[LeftOver]:
    """Cut texts that no cell holds, and list them."""
    for key, rows in inputs.rows.items():
        for row in rows:
            for name, value in row.items():
                if isinstance(value, str) and len(value) > LONGEST_TEXT:
                    row[name] = value[:LONGEST_TEXT]
                    rest = value[LONGEST_TEXT : 2 * LONGEST_TEXT]
                    why = f"the end of a text of {len(value):,} characters, more than a cell holds"
                    yield LeftOver(content.places[key].sheet, "", rest, why)


def _without_room(content: LogContent, inputs: Inputs) -> Iterator[LeftOver]:
    """Take rows out of small tables that are full, and list them."""
    for block in content.worded(log_layout()).blocks:
        rows = inputs.blocks.get(block.key, [])
        for place in range(block.rows, len(rows)):
            sheet_row = content.block_rows[block.key][place]
            for name, value in rows[place].items():
                column = content.places[block.key].columns[name]
                why = f"the table '{block.title}' has only {block.rows} rows"
                yield LeftOver(content.setting_places.sheet, cell_name(sheet_row, column + 1), value, why)
        del rows[block.rows :]


# ---- what stands outside the places for entries ----------------------------------------------


def _elsewhere(content: LogContent) -> Iterator[LeftOver]:
    """Values where a log has formulas or words of its own."""
    known = _known_texts()
    names = {plain(name): name for name in content.sheet_names}
    with open_workbook(content.path) as book:
        for table in content.worded(log_layout()).tables:
            if plain(table.name) in names:
                yield from _beside_rows(book, content, table)
        fixed = [SETTINGS, *(form.name for form in log_layout().forms)]
        for name in () if content.older else fixed:
            if plain(name) in names:
                yield from _unknown_cells(book, content, names[plain(name)], known)


def _constants(book: WorkbookFile, sheet: str) -> Iterator[tuple[int, int, Any]]:
    """Row from 1, column from 0 and value of every cell without a formula."""
    formulas = formulas_of(book, sheet)
    cells = with_errors(book.cells(sheet), book.hidden(sheet))
    for row, line in enumerate(cells, 1):
        for column, value in enumerate(line):
            if value != "" and (row, column + 1) not in formulas:
                yield row, column, value


def _beside_rows(book: WorkbookFile, content: LogContent, table: TableSheet) -> Iterator[LeftOver]:
    """Values in columns for results: a formula was typed over there."""
    place = content.places[table.key]
    results = {
        position: column.header
        for column in table.columns
        if column.role != "input"
        for position in [place.columns.get(column.key)]
        if position is not None
    }
    if plain(place.sheet) not in {plain(name) for name in book.sheet_names}:
        return
    for row, column, value in _constants(book, place.sheet):
        if row >= place.first and column in results and value != CLOSING_WORDS:
            why = f"replaced the formula of '{results[column]}'"
            yield LeftOver(place.sheet, cell_name(row, column + 1), plain_value(value), why)


def _unknown_cells(book: WorkbookFile, content: LogContent, sheet: str, known: frozenset[str]) -> Iterator[LeftOver]:
    """Values that are neither typed into a place for them nor words of the log."""
    read: set[tuple[int, int]] = set()
    if plain(sheet) == plain(SETTINGS):
        read |= set(content.setting_places.cells.values())
        for block in log_layout().blocks:
            place = content.places[block.key]
            columns = [*place.columns.values(), *place.own.values()]
            rows = content.block_rows[block.key]
            read |= {(row, column) for row in rows for column in columns}
            own = content.own_cells.get(block.key, {})
            read |= {(row, place.own[header]) for row, header in own}
    for places in content.form_places.values():
        if plain(places.sheet) == plain(sheet):
            read |= set(places.cells.values())
    for row, column, value in _constants(book, sheet):
        text = plain(value) if isinstance(value, str) else shown(plain_value(value))
        if (row, column) not in read and text not in known:
            why = "the log has no place for an entry there"
            yield LeftOver(sheet, cell_name(row, column + 1), plain_value(value), why)


@functools.cache
def _known_texts() -> frozenset[str]:
    """Every word that a new log holds by itself."""
    with tempfile.TemporaryDirectory() as folder:
        path = build_log(Path(folder) / "empty.xlsx", "plain", 1)
        with open_workbook(path) as book:
            cells = [
                cell for name in book.sheet_names for row in book.cells(name) for cell in row if isinstance(cell, str)
            ]
    return frozenset(plain(cell) for cell in cells)


# ---- columns and sheets of one's own ---------------------------------------------------------


class _Own:
    """Columns and sheets that a seller has added, for the new log, as values."""

    def __init__(
        self, content: LogContent, new_layout: Layout, inputs: Inputs, edition: Edition, known: set[str]
    ) -> None:
        self.content, self.layout, self.edition = content, new_layout, edition
        self.known = known
        self.edits: list[CellEdit] = []
        self.columns: list[str] = []
        self.left_over: list[LeftOver] = []
        places = AddressMap(new_layout)
        for table in new_layout.tables:
            if table.inputs():
                rows = content.sheets[table.key]["sheet_row"].tolist()
                first, room = (FIRST_ROW, HEADER_ROW), table.ready_rows
                self._columns(table, table.name, dict(_new_rows(rows, first[0])), first, room)
        for block in new_layout.blocks:
            if block.key in inputs.blocks:
                first_row = places.block_rows[block.key]
                kept = content.block_rows[block.key][: block.rows]
                new = dict(_new_rows(kept, first_row))
                self._columns(block, SETTINGS, new, (first_row, first_row - 1), block.rows)
        self.sheets = list(self._sheets())

    def _columns(
        self, part: TableSheet | SettingsBlock, sheet: str, new_rows: dict[int, int], rows: tuple[int, int], room: int
    ) -> None:
        """Columns to the right of the log's own; rows are the first one and that of headers."""
        cells = self.content.own_cells.get(part.key, {})
        headers = [header for header in self.content.places[part.key].own if _has(cells, header)]
        free = [row for row in range(rows[0], rows[0] + room) if row not in new_rows.values()]
        alone = sorted({row for row, _ in cells} - set(new_rows))
        new_rows = new_rows | dict(zip(alone, free, strict=False))
        todays = {plain(column.header) for column in part.columns}
        for place, header in enumerate(headers, len(part.columns) + 1):
            # A seller's own header may have become one of the log's.
            new_header = f"{header} (old)" if plain(header) in todays else header
            self.edits.append(CellEdit(sheet, rows[1], place, new_header))
            self.columns.append(f"{sheet}: {new_header}")
            for (row, name), value in cells.items():
                if name != header:
                    continue
                if row in new_rows:
                    self.edits.append(CellEdit(sheet, new_rows[row], place, writable(value)))
                else:
                    old = self.content.places[part.key]
                    cell = cell_name(row, old.own[name] + 1)
                    why = f"your column '{header}' has no ready row left for it"
                    self.left_over.append(LeftOver(old.sheet, cell, plain_value(value), why))

    def _sheets(self) -> Iterator[NewSheet]:
        own = {plain(name) for name in self.known}
        names = names_of_sheets(self.layout, self.content.edition, self.content.words) | own
        todays = names_of_sheets(self.layout, self.edition) | own
        with open_workbook(self.content.path) as book:
            for name in self.content.sheet_names:
                kept_blank = plain(name) in names and self._was_taken_for_blank(book, name)
                if plain(name) in names and not kept_blank:
                    continue
                cells = with_errors(book.cells(name), book.hidden(name))
                formulas = formulas_of(book, name)
                rows = tuple(tuple(writable(cell) for cell in row) for row in cells)
                width = max(map(len, rows), default=1)
                in_the_way = plain(name) in todays
                new_name = f"{name[:24]} (old)" if kept_blank or in_the_way else name
                heads = 1 if plain(name).startswith(plain(CONFLICTS)) else 0
                yield NewSheet(new_name, rows, (_OWN_WIDTH,) * width, heads)
                if formulas:
                    many = "1 formula" if len(formulas) == 1 else f"{len(formulas)} formulas"
                    first = cell_name(*min(formulas))
                    why = f"{many} of your sheet '{name}' are values now; charts were not copied"
                    self.left_over.append(LeftOver(name, first, f"={formulas[min(formulas)]}", why))

    def _was_taken_for_blank(self, book: WorkbookFile, name: str) -> bool:
        """Whether nothing of a damaged sheet could be found by its headers."""
        for table in self.content.worded(self.layout).tables:
            if plain(table.name) == plain(name) and table.inputs():
                place = self.content.places[table.key]
                return place.sheet == table.name and not _headers_found(book, table)
        return False


def _headers_found(book: WorkbookFile, table: TableSheet) -> bool:
    actual = next(name for name in book.sheet_names if plain(name) == plain(table.name))
    known = {plain(column.header) for column in table.columns}
    return any(known & {plain(cell) for cell in row} for row in book.cells(actual)[:20])


def _new_rows(old: Iterable[int], first: int) -> Iterator[tuple[int, int]]:
    """The row in the new log of each old one: they stand without gaps."""
    for place, row in enumerate(old):
        yield row, first + place


def _has(cells: dict[tuple[int, str], Any], header: str) -> bool:
    return any(name == header for _, name in cells)


def _list(left: list[LeftOver]) -> NewSheet:
    rows = [(one.sheet, one.cell, shown(one.value), one.why) for one in left]
    return NewSheet(LEFT_OVER, (_HEADERS, *rows), _WIDTHS)


def _compared(inputs: Inputs, new: Path) -> int:
    """How many typed values there are; all of them must be in the new log.

    Errors:
        LogFileError: a value is not there.
    """
    wanted, found = _values(inputs), _values(load_log(new).inputs())
    missing = wanted - found
    if missing:
        (key, name, value), _ = missing.most_common(1)[0]
        new.unlink(missing_ok=True)
        raise LogFileError(
            f"{new}: was deleted, as {sum(missing.values())} values were lost (the first: {key}, {name}: {value}); "
            "please report this"
        )
    return sum(wanted.values())


def _values(inputs: Inputs) -> Counter[tuple[str, str, str]]:
    found: Counter[tuple[str, str, str]] = Counter()
    parts: list[dict[str, list[Row]]] = [inputs.rows, inputs.blocks]
    for part in parts:
        for key, rows in part.items():
            for row in rows:
                for name, value in row.items():
                    found[key, name, shown(plain_value(value))] += 1
    for name, value in inputs.settings.items():
        if value not in (None, ""):
            found[SETTINGS, name, shown(plain_value(value))] += 1
    for key, cells in inputs.forms.items():
        for name, value in cells.items():
            found[key, name, shown(plain_value(value))] += 1
    return found
