"""Reading a filled log of either edition into frames: nothing that is typed is dropped in silence.

Sheets are found by name, columns by the text of their headers, settings by their labels, so that
columns and rows may be added and moved. A cell that cannot be read is blank in its frame and a
problem in the list, which says where it is, what stands there and what to write instead.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, get_args

import numpy as np
import pandas as pd

from sheetfns.errors import CellError, LogFileError
from sheetfns.files.cell_names import column_letters, column_number
from sheetfns.files.sheet_cells import CellSource, Hidden
from sheetfns.log.lambdas.names import named_lambdas
from sheetfns.log.model.addresses import BLOCK_HEAD
from sheetfns.log.model.earlier_words import in_words
from sheetfns.log.model.sheets import (
    HEADER_ROW,
    LIST_HEADER_ROW,
    Column,
    Edition,
    FunctionCall,
    Layout,
    Setting,
    SettingsBlock,
    TableSheet,
)
from sheetfns.log.model.typed_rows import Issue, ReadRows
from sheetfns.log.model.version import LAYOUT, OLDER_LAYOUT
from sheetfns.log.read.cells import NEVER_CALCULATED, shown_of
from sheetfns.log.read.content import LogContent, made_by_workbook
from sheetfns.log.read.file_words import layout_of_file, take_for_todays, todays_word
from sheetfns.log.read.forms import FormReader
from sheetfns.log.read.older_layout import (
    add_columns,
    add_small_tables,
    rebuilt_since,
    sheet_as_if_blank,
    show_places_of_today,
)
from sheetfns.log.read.sheet_reader import (
    BUILD_ANEW,
    CALCULATE,
    MORE_ROWS,
    TO_THE_END,
    CellPlaces,
    FoundTable,
    OpenSheet,
    SheetReader,
    TablePlace,
    of_pocket_copy,
    plain,
    typed_values,
)
from sheetfns.log.read.sorted_heads import with_headers_on_top
from sheetfns.log.sheets.data_checks.layout import CHECK_COLUMNS
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import (
    CHECKS,
    EDITION_LABEL,
    LAYOUT_VERSION,
    MOST_ROWS,
    READY_ROWS_LABEL,
    SETTINGS,
    START,
)

HEADER_WITHIN: Final = 20
"""Headers are looked for in so many rows."""
_TYPED_TABLES: Final = ("Plan", "Comps", "Log", "Lots", "Expenses", "Trips", "Personal", "Owner")


@dataclass(frozen=True)
class LogRead:
    """A log as it was read, before anyone judges it.

    Attributes:
        content: what stands in it; its problems are cells that cannot be read.
        layout: the layout that it was read by.
        rows: the typed rows of each sheet by its key, and blocks those of the small tables.
        blocks: see rows.
        forms: the forms.
        setting_cells: the cell of each setting.
        header_of_words: the cell over the words that say what the log adds to a heading.
        settings_sheet: the name of sheet Settings in the file.
        bad_results: results that show errors.
        originals: typed words as they stand in the file, where content has today's.
    """

    content: LogContent
    layout: Layout
    rows: dict[str, ReadRows]
    blocks: dict[str, ReadRows]
    forms: list[FormReader]
    setting_cells: dict[str, str]
    header_of_words: str
    settings_sheet: str
    bad_results: list[Any]
    originals: dict[tuple[str, str], str]


def read_log(path: Path | str, *, lenient: bool = False) -> LogRead:
    """Read a filled log of either edition, and judge nothing.

    Args:
        path: the log.
        lenient: whether sheets, columns and labels that are missing are taken for blank and listed
            among the problems, instead of refusing the log.

    Errors:
        LogFileError: no workbook, or no log: it says what is missing, what was found, what to do.
    """
    from sheetfns.files.workbook_file import open_workbook  # noqa: PLC0415  (its libraries are not everywhere)

    with open_workbook(Path(path)) as book:
        return read_cells_of_log(book, lenient=lenient)


def read_cells_of_log(book: CellSource, *, lenient: bool = False) -> LogRead:
    """The same of a log that is open already, in a file or in a spreadsheet program."""
    if of_pocket_copy(book.sheet_names):
        name = book.path.name
        raise LogFileError(
            f"{name}: is a pocket copy of a log; 'sheetfns merge LOG.xlsx {name}' brings its finds home "
            "into the log that it was made from"
        )
    return _Reader(book, log_layout(), lenient=lenient).read()


class _Reader(SheetReader):
    """Reads one workbook."""

    def __init__(self, book: CellSource, layout: Layout, *, lenient: bool = False) -> None:
        super().__init__(book, lenient=lenient)
        self.layout, self.start, self.settings_sheet = layout, START, SETTINGS
        self.ready: dict[str, int] = {}
        self.shown: dict[str, pd.DataFrame] = {}
        self.names_with_headers = False
        self.places: dict[str, TablePlace] = {}
        self.own: dict[str, dict[tuple[int, str], Any]] = {}
        self.lacks: dict[str, list[str]] = {}
        titles = (SETTINGS, *(table.name for table in layout.tables), *(form.name for form in layout.forms))
        self.number, self.words = layout_of_file(book.sheet_names, titles, self._fact)
        self.layout = in_words(layout, self.words)
        self.start, self.settings_sheet = self.words.sheet(START), self.words.sheet(SETTINGS)
        if self.number > LAYOUT:
            raise LogFileError(
                f"{book.path}: has layout {self.number}, and this sheetfns knows layouts up to {LAYOUT}; install a "
                "newer sheetfns, as this one would miss something"
            )
        self.older = self.number < LAYOUT

    def sheet(self, name: str) -> OpenSheet:
        """The sheet of that name; in an older or damaged log with what it lacks, blank."""
        if not self.older and not self.lenient:
            return super().sheet(name)
        new = sheet_as_if_blank(self.layout, name)
        missing = plain(name) not in {plain(one) for one in self.book.sheet_names}
        later = {plain(form.name) for form in self.layout.forms if self.number < form.since}
        if new is not None and missing and plain(name) in later:
            return new
        if new is not None and (missing or (self.older and rebuilt_since(self.number, self.words.today_sheet(name)))):
            self.lacks.setdefault(name, [])
            return new
        sheet = self._as_found(name, missing=missing)
        if self.lenient and new is not None and not self._has_known_headers(sheet):
            return new
        for table in self.layout.tables:
            if plain(table.name) == plain(name):
                for column in add_columns(sheet, table):
                    self._lacks(table.name, column.header)
                    self._say_blank(sheet, column)
        if plain(name) == plain(self.settings_sheet):
            for title in add_small_tables(sheet, self.layout):
                self._lacks(name, title)
        return sheet

    def _as_found(self, name: str, *, missing: bool) -> OpenSheet:
        if missing and self.lenient:
            return OpenSheet(name, [[""] for _ in range(LIST_HEADER_ROW)], Hidden())
        sheet = super().sheet(name)
        if not self.lenient:
            return sheet
        tables = [table for table in self.layout.tables if plain(table.name) == plain(sheet.name)]
        return with_headers_on_top(sheet, tables[0]) if tables and tables[0].holds_entries else sheet

    def _lacks(self, sheet: str, what: str) -> None:
        listed = self.lacks.setdefault(sheet, [])
        if what not in listed:
            listed.append(what)

    def _say_blank(self, sheet: OpenSheet, column: Column) -> None:
        if not self.older:
            self.say(
                sheet,
                (HEADER_ROW - 1, 0),
                "",
                f"the column '{column.header}' is missing and is treated as blank",
                "missing_column",
            )

    def _has_known_headers(self, sheet: OpenSheet) -> bool:
        """Whether a sheet with rows has any header of its own; other sheets have labels."""
        for table in self.layout.tables:
            if plain(table.name) == plain(sheet.name):
                known = {plain(column.header) for column in table.columns}
                return any(known & set(sheet.texts(row)) for row in range(HEADER_WITHIN))
        return True

    def _say_what_is_missing(self) -> None:
        names = {plain(one) for one in self.book.sheet_names}
        tables = [table.name for table in self.layout.tables]
        wanted = [self.settings_sheet, *tables, *(form.name for form in self.layout.forms)]
        for name in wanted:
            if plain(name) not in names:
                self.problems.append(Issue(name, "A1", "", "this sheet is missing", "missing_sheet"))

    def read(self) -> LogRead:
        if self.lenient and not self.older:
            self._say_what_is_missing()
        settings_sheet = self.sheet(self.settings_sheet)
        blocks_found = self._find_blocks(settings_sheet)
        settings, setting_cells = self._settings(settings_sheet, blocks_found)
        blocks = {block.key: self._block(block, blocks_found[block.key]) for block in self.layout.blocks}
        tables = {table.key: table for table in self.layout.tables}
        edition: Edition | None = None
        read: dict[str, ReadRows] = {}
        for key, table in tables.items():
            found = self._find_table(table)
            span = self._ready_rows(table, found)
            self._keep_place(key, found, span)
            if key in _TYPED_TABLES:
                read[key] = self._table(table, found, span)
            else:
                self._results(table, found, range(*span))
            if key == "Log":
                edition = self._edition(found.sheet)
        forms = self._forms()
        self._checks()
        if self.older:
            self._say_older()
            if not self.names_with_headers:
                show_places_of_today(self.shown)
        frames = {key: rows.frame for key, rows in blocks.items()}
        headings = blocks_found["Heading"]
        words_header = f"{column_letters(headings.columns['from_log'])}{headings.header_row + 1}"
        content = LogContent(
            self.book.path,
            settings,
            frames,
            {key: rows.frame.assign(sheet_row=np.asarray(rows.rows, dtype=np.int64)) for key, rows in read.items()},
            self.shown,
            self.problems,
            self.extra,
            edition,
            self.ready,
            self.unread,
            {key: rows.rows.tolist() for key, rows in blocks.items()},
            {key: found.first + 1 for key, found in blocks_found.items()},
            {form.form.key: form.typed for form in forms if form.typed},
            self.places,
            CellPlaces(settings_sheet.name, {name: _row_and_column(cell) for name, cell in setting_cells.items()}),
            {form.form.key: form.places for form in forms},
            {key: cells for key, cells in self.own.items() if cells},
            tuple(self.book.sheet_names),
            self.number,
            self.lacks,
            self.words,
            names_with_headers=self.names_with_headers or not self.older,
        )
        return LogRead(
            content,
            self.layout,
            read,
            blocks,
            forms,
            setting_cells,
            words_header,
            settings_sheet.name,
            self.bad_results,
            self.originals,
        )

    def _say_older(self) -> None:
        if self.lacks:
            lacking = (
                f"without {self._counted_lacks()} that were added since; only its entries are checked, not its "
                "formulas or results"
            )
        elif self.words:
            lacking = (
                "in the words of its time; its numbers and dates are compared with Python's, its texts and the wording "
                "of its formulas are not"
            )
        else:
            lacking = "and its formulas may be worded differently from today's"
        label = plain(self.words.of("label", START, "layout", LAYOUT_VERSION))
        stated = bool(self._start_fact("layout", LAYOUT_VERSION))
        sheet = self.sheet(self.start if stated else self.settings_sheet)
        labels = [sheet.texts(row) for row in range(len(sheet.cells))]
        row = next((row for row, texts in enumerate(labels) if stated and label in texts), 0)
        self.say(
            sheet,
            (row, labels[row].index(label) + 1 if stated else 0),
            str(self.number) if stated else str(sheet.value(0, 0)),
            f"this log has layout {self.number}, and new logs have {LAYOUT}; it is read as it is, "
            f"{lacking}. For today's layout, {BUILD_ANEW}",
            OLDER_LAYOUT,
        )

    def _counted_lacks(self) -> str:
        sheets = [name for name, whats in self.lacks.items() if not whats]
        parts = sum(map(len, self.lacks.values()))
        counted = [
            f"{count} {word}{'' if count == 1 else 's'}"
            for count, word in ((len(sheets), "sheet"), (parts, "column or line"))
            if count
        ]
        return " and ".join(counted).replace("column or lines", "columns and lines")

    # ---- finding things ----------------------------------------------------------------------

    def _find_table(self, table: TableSheet) -> FoundTable:
        sheet = self.sheet(table.name)
        headers = {plain(column.header) for column in table.columns}
        hits = [len(headers.intersection(sheet.texts(row))) for row in range(min(HEADER_WITHIN, len(sheet.cells)))]
        header_row = hits.index(max(hits)) if hits else 0
        if not hits or max(hits) < len(table.inputs()) / 2:
            stands = [str(cell) for row in sheet.cells[:HEADER_WITHIN] for cell in row if cell]
            raise self.refuse(
                sheet,
                f"no headers in the first {HEADER_WITHIN} rows (found: {', '.join(stands[:5]) or 'nothing'})",
                f"restore the headers in row {HEADER_ROW}, or use your last copy of the log",
            )
        columns = self.columns(sheet, header_row, table.columns, table.key)
        units = sum(
            bool(column.unit) and sheet.value(header_row + 1, columns[column.key]) == column.unit
            for column in table.columns
            if column.key in columns
        )
        # Up to layout 7 a row with units stood between the headers and the first row.
        first = header_row + 1 + (units > 1)
        found = FoundTable(sheet, header_row, columns, first, TO_THE_END)
        self._unheaded(table, found)
        for column in table.columns:
            if column.key in columns or (self.older and (column.watches or (column.working and column.not_compared))):
                continue
            if self.older:
                self._lacks(table.name, column.header)
            else:
                self.say(
                    sheet,
                    (header_row, 0),
                    sheet.value(header_row, 0),
                    f"the column '{column.header}' is missing; its figures cannot be read, and cells that use it fail",
                    "missing_column",
                )
        return found

    def _unheaded(self, table: TableSheet, found: FoundTable) -> None:
        """List columns without a header in which something stands."""
        texts = found.sheet.texts(found.header_row)
        for place, cells in enumerate(found.sheet.columns(found.first, found.end)):
            if not texts[place] and any(cell != "" for cell in cells):
                name = f"column {column_letters(place)}, without a header"
                self.extra.setdefault(table.key, []).append(name)

    def _find_blocks(self, sheet: OpenSheet) -> dict[str, FoundTable]:
        """The small tables on Settings, by their titles and headers."""
        titles = [plain(row[0]) for row in sheet.cells]
        places: dict[str, tuple[int, int]] = {}
        for block in self.layout.blocks:
            headers = {plain(column.header) for column in block.columns}
            wanted = plain(block.title)
            hits = [
                (row, below)
                for row, title in enumerate(titles)
                if title == wanted
                for below in range(row + 1, row + BLOCK_HEAD + 2)
                if len(headers.intersection(sheet.texts(below))) > len(headers) / 2
            ]
            if not hits:
                raise self.refuse(
                    sheet, f"the table '{block.title}' is missing", "restore its title in column A, and its headers"
                )
            places[block.key] = hits[0]
        found = {}
        starts = sorted(title for title, _ in places.values())
        for block in self.layout.blocks:
            title, header = places[block.key]
            end = next((start for start in starts if start > title), len(sheet.cells))
            columns = self.columns(sheet, header, block.columns, SETTINGS)
            found[block.key] = FoundTable(sheet, header, columns, header + 1, end)
        return found

    # ---- sheets with rows --------------------------------------------------------------------

    def _keep_place(self, key: str, found: FoundTable, span: tuple[int, int]) -> None:
        self.places[key] = self.place_of(found, span)
        self.own[key] = self.own_cells(found, self.places[key])

    def _table(self, table: TableSheet, found: FoundTable, span: tuple[int, int]) -> ReadRows:
        rows = self.read_rows(table.key, found, table.inputs())
        self._in_todays_words(rows, self.words.today_sheet(table.name), {c.key: c.key for c in table.inputs()})
        self.outside_ready_rows(table.name, found, rows, span, MORE_ROWS)
        self._results(table, found, (rows.rows - 1).tolist())
        return rows

    def _in_todays_words(self, rows: ReadRows, sheet: str, keys: Mapping[str, str]) -> None:
        for column, key in keys.items() if self.words else ():
            take_for_todays(rows, column, self.words.choices(sheet, key), self.originals)

    def _results(self, table: TableSheet, found: FoundTable, rows: Sequence[int]) -> None:
        columns = [column for column in table.columns if column.role != "input"]
        self.shown[table.key] = self.results_frame(found, columns, rows)
        if not found.sheet.hidden.calculated and found.sheet.hidden.not_calculated:
            rows_of = found.sheet.hidden.not_calculated
            column = min(rows_of, key=lambda place: (rows_of[place][0], place))
            self.say(
                found.sheet,
                (rows_of[column][0] - 1, column),
                CellError(NEVER_CALCULATED, ""),
                f"the formulas of this sheet were never calculated; {CALCULATE}",
                "not_calculated",
            )

    def _ready_rows(self, table: TableSheet, found: FoundTable) -> tuple[int, int]:
        """First row and end of the rows with formulas, from the names that the formulas use."""
        name = self.words.name(table.defined_name((table.inputs() or table.columns)[0].key))
        span = _span(self.book.defined_names.get(name, ""))
        if span is not None and span[0] == found.header_row:
            # Such a name covers the headers and the closing row too.
            span = (span[0] + 1, span[1] - 1)
            self.names_with_headers = True
        if span is None and (self.older or self.lenient):
            span = (found.first, found.first)
        if span is None:
            count = self._rows_by_start(table)
            self.say(
                found.sheet,
                (found.header_row, 0),
                found.sheet.value(found.header_row, 0),
                f"the defined name {name} is missing, and formulas that use it fail; {count} ready rows are assumed. "
                f"To fix it, {BUILD_ANEW}",
                "ready_rows_unknown",
            )
            span = (found.first, found.first + count)
        self.ready[table.key] = span[1] - span[0]
        return span

    def _rows_by_start(self, table: TableSheet) -> int:
        """The ready rows according to sheet Start, else as in a new log."""
        stated = self._start_fact("rows", READY_ROWS_LABEL)
        number = re.match(r"(\d{1,6})\b", stated)
        if number is None or not 1 <= int(number[1]) <= MOST_ROWS:
            return table.ready_rows
        return log_layout(int(number[1])).table(table.key).ready_rows

    def _start_fact(self, key: str, label: str) -> str:
        return self._fact(self.start, self.words.of("label", START, key, label))

    def _fact(self, title: str, label: str) -> str:
        """What stands beside a label on the sheet of that title, "" if nothing does."""
        if plain(title) not in {plain(name) for name in self.book.sheet_names}:
            return ""
        for row in self.sheet(title).cells:
            texts = [plain(cell) for cell in row]
            if plain(label) in texts:
                after = row[texts.index(plain(label)) + 1 :]
                return next((str(cell) for cell in after if cell != ""), "")
        return ""

    def _edition(self, sheet: OpenSheet) -> Edition | None:
        names = {
            column.formula.function
            for table in self.layout.tables
            for column in table.columns
            if isinstance(column.formula, FunctionCall)
        }
        editions = self.words.choices(START, "edition")
        word = self._start_fact("edition", EDITION_LABEL).partition(":")[0].strip()
        stated = plain(todays_word(editions, word))
        if sheet.hidden.formulas is None:
            # Which formulas these are cannot be seen; the log says what it is.
            return next((one for one in get_args(Edition) if one == stated), None)
        if not sheet.hidden.formulas:
            self.say(
                sheet,
                (0, 0),
                sheet.value(0, 0),
                "this sheet has no formulas, so its results never change; use your last copy of the log, or "
                f"{BUILD_ANEW}",
                "no_formulas",
            )
            return None
        calls = "|".join(sorted(names)).encode()
        called = re.search(rb"\b(?:%s)\(" % calls, sheet.hidden.formulas, re.IGNORECASE)
        edition: Edition = "functions" if called else "plain"
        named = bool(named_lambdas(self.book.defined_names))
        # Where the functions are names, a seller may call them in columns of their own.
        if (stated == "lambda" and (named or not called)) or (not stated and named > bool(called)):
            edition = "lambda"
        if stated and stated != edition:
            self.say(
                sheet,
                (0, 0),
                sheet.value(0, 0),
                f"sheet {self.start} says that this is the {stated} edition, but its formulas are those of the "
                f"{edition} edition; it is read as that one",
                "edition_unclear",
            )
        return edition

    # ---- Settings ----------------------------------------------------------------------------

    def _settings(self, sheet: OpenSheet, blocks: dict[str, FoundTable]) -> tuple[dict[str, Any], dict[str, str]]:
        end = min(found.header_row for found in blocks.values()) - 1
        labels = [plain(sheet.value(row, 0)) for row in range(end)]
        head = [row for row in range(end) if {"setting", "value"} <= set(sheet.texts(row))]
        place = sheet.texts(head[0]).index("value") if head else 1
        settings: dict[str, Any] = {}
        cells: dict[str, str] = {}
        for setting in self.layout.settings:
            rows = [row for row, label in enumerate(labels) if label == plain(setting.label)]
            if len(rows) > 1 and not self.lenient:
                raise self.refuse(
                    sheet,
                    f"'{setting.label}' is duplicated, in rows {rows[0] + 1} and {rows[1] + 1}",
                    "delete the row that is not the log's own",
                )
            if not rows and self.older:
                settings[setting.name] = setting.default
                if not setting.formula and self.number >= setting.since:
                    self._lacks(self.settings_sheet, setting.label)
                continue
            if not rows:
                blank = "" if setting.kind.holds == "text" else None
                settings[setting.name] = setting.default if self.lenient else blank
                self.say(
                    sheet,
                    (head[0] if head else LIST_HEADER_ROW - 1, 0),
                    "",
                    f"'{setting.label}' is missing in column A; write it again beside its value",
                    "missing_setting",
                )
                continue
            cells[setting.name] = f"{column_letters(place)}{rows[0] + 1}"
            settings[setting.name] = self._setting(sheet, setting, rows[0], place)
        return settings, cells

    def _setting(self, sheet: OpenSheet, setting: Setting, row: int, place: int) -> Any:
        column = Column(setting.name, setting.label, setting.kind, setting.help)
        found = FoundTable(sheet, row - 1, {setting.name: place}, row, row + 1)
        if setting.formula:
            value: Any = typed_values(self.results_frame(found, [column], [row])[setting.name])[0]
        else:
            value = self.typed_cell(found, column, SETTINGS)
            self._judge_setting(sheet, setting, (row, place), sheet.value(row, place))
            value = todays_word(self.words.choices(SETTINGS, setting.name), value)
        return value.date() if isinstance(value, dt.datetime) else value

    def _judge_setting(self, sheet: OpenSheet, setting: Setting, place: tuple[int, int], cell: Any) -> None:
        if cell == "" and setting.kind.holds != "text" and not setting.optional:
            or_nothing = ", or 0 if there is none" if setting.kind.unit == "money" else ""
            message = f"{setting.label} is blank, and figures need it; write it{or_nothing}"
            self.say(sheet, place, cell, message, "blank")
        known = {choice.casefold() for choice in setting.choices}
        if known and isinstance(cell, str) and cell and cell.casefold() not in known:
            message = (
                f"{setting.label}: '{shown_of(cell)}' is not on the list; write one of {', '.join(setting.choices)}"
            )
            self.say(sheet, place, cell, message, "unknown_choice")

    def _block(self, block: SettingsBlock, found: FoundTable) -> ReadRows:
        name = self.words.name(block.defined_name(block.columns[0].key))
        span = _span(self.book.defined_names.get(name, ""))
        span = span or (found.first, found.first + block.rows)
        self._keep_place(block.key, found, span)
        if not made_by_workbook(block):
            rows = self.read_rows(block.key, found, block.columns)
            self._in_todays_words(rows, SETTINGS, {c.key: f"{block.key}.{c.key}" for c in block.columns})
            self.outside_ready_rows(f"'{block.title}'", found, rows, span)
            return rows
        rows_used = range(found.first, min(found.first + block.rows, found.end))
        frame = self.results_frame(found, block.columns, rows_used).drop(columns="sheet_row")
        filled = (frame != "").any(axis=1).to_numpy()
        return ReadRows(
            found.sheet.name,
            frame[filled].reset_index(drop=True),
            (np.flatnonzero(filled) + found.first + 1).astype(np.int64),
            found.columns,
            {},
            {},
        )

    # ---- forms ---------------------------------------------------------------------------------

    def _forms(self) -> list[FormReader]:
        forms = [FormReader(self, form) for form in self.layout.forms]
        for read in forms:
            self.shown[read.form.key] = read.shown
            if self.number >= read.form.since:
                self._missing_lines(read.sheet, read.missing)
        return forms

    # ---- Checks ------------------------------------------------------------------------------

    def _checks(self) -> None:
        """The checks, each by the sheet and the words that it stands beside."""
        sheet = self.sheet(self.words.sheet(CHECKS))
        rows_by_words: dict[tuple[str, str], int] = {}
        for row in range(len(sheet.cells)):
            words = [plain(sheet.value(row, CHECK_COLUMNS[key])) for key in ("sheet", "label")]
            rows_by_words.setdefault((words[0], words[1]), row)
        missing: list[str] = []
        keys, rows = [], []
        for check in self.layout.checks:
            at = rows_by_words.get((plain(check.sheet), plain(check.label)))
            if at is None:
                if not (self.older and (check.watches or check.kind == "look")):
                    missing.append(f"{check.sheet}: {check.label}")
                continue
            keys.append(check.key)
            rows.append(at)
        text, number = self.layout.setting("Shop_name").kind, self.layout.setting("Opening_cash").kind
        columns = [Column(key, key, number if key in ("count", "first") else text, "") for key in CHECK_COLUMNS]
        found = FoundTable(sheet, LIST_HEADER_ROW - 1, CHECK_COLUMNS, 0, 0)
        self._missing_lines(sheet, missing)
        frame = self.results_frame(found, columns, rows)
        frame.insert(0, "key", pd.Series(keys, dtype=object))
        self.shown["Data checks"] = frame

    def _missing_lines(self, sheet: OpenSheet, labels: Sequence[str]) -> None:
        for label in labels if self.older else ():
            self._lacks(sheet.name, label)
        if labels and not self.older:
            listed = ", ".join(f"'{label}'" for label in labels[:3])
            more = f" and {len(labels) - 3} more" if len(labels) > 3 else ""
            self.say(
                sheet,
                (LIST_HEADER_ROW - 1, 0),
                sheet.value(LIST_HEADER_ROW - 1, 0),
                f"these lines are missing: {listed}{more}; use your last copy of the log, or {BUILD_ANEW}",
                "missing_line",
            )


def _row_and_column(cell: str) -> tuple[int, int]:
    letters = cell.rstrip("0123456789")
    return int(cell[len(letters) :]), column_number(letters)


def _span(name: str) -> tuple[int, int] | None:
    """First row and end of a defined name's cells, counted from 0."""
    rows = re.search(r"\$?[A-Z]+\$?(\d+):\$?[A-Z]+\$?(\d+)$", name)
    return (int(rows[1]) - 1, int(rows[2])) if rows else None
