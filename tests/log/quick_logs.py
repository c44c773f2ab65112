"""Logs for tests that build many: one log is built, and the entries are typed into its cells.

What comes of it is what `small_log` builds (test_quick_logs.py sees to that), in a third of the
time: the writer runs once for each edition, and the engine that is not ours works out every log.
"""

from __future__ import annotations

import datetime as dt
import functools
import itertools
import pickle
import tempfile
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from unittest import mock

import openpyxl

from sheetfns.files import sheet_xml
from sheetfns.files.sheet_xml import FormulaText, Value
from sheetfns.files.xlsx_file import XlsxFile
from sheetfns.hosts import engine
from sheetfns.log.edit import patch
from sheetfns.log.edit.patch import CellEdit
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import EDITIONS, FIRST_ROW, Edition, Layout
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import SETTINGS
from sheetfns.log.write import build
from tests.log.filled_logs import FEW_ROWS, few_rows, small_log

_folder = tempfile.TemporaryDirectory(prefix="sheetfns-quick-", ignore_cleanup_errors=True)


@functools.cache
def empty_log(edition: Edition, rows: int) -> tuple[Path, Layout, AddressMap]:
    """An empty log, its layout, and where everything stands."""
    path = small_log(Path(_folder.name) / f"{edition}_{rows}.xlsx", edition, rows=rows)
    with few_rows():
        layout = log_layout(rows)
    return path, layout, AddressMap(layout)


def quick_log(path: Path, edition: Edition = "plain", inputs: Inputs | None = None, rows: int = FEW_ROWS) -> Path:
    """A log with few ready rows on every sheet, each formula with its result."""
    empty, *_ = empty_log(edition, rows)
    changed_log(empty, entered(edition, rows, inputs or Inputs()), path)
    return path


def entered(edition: Edition, rows: int, inputs: Inputs) -> tuple[CellEdit, ...]:
    """Every cell in which these entries are not what an empty log holds."""
    _, layout, places = empty_log(edition, rows)
    build._refuse_what_does_not_fit(layout, inputs)
    return tuple(_edits(layout, places, inputs))


def changed_log(log: Path, edits: tuple[CellEdit, ...], path: Path) -> engine.Recalculated:
    """A log with other values or formulas in some cells, and what each of its cells gives."""
    # Errors are stored without their messages, each of which takes a calculation.
    with our_own_files(), mock.patch.object(engine, "MESSAGES_WANTED", 0):
        changes = patch._Changes(log, edits, ())
        parts = _parts(log) | changes.parts
        values = _kept_open(log, log.stat().st_mtime_ns).with_cells(edits)
        if values is None:
            with tempfile.TemporaryDirectory(dir=_folder.name) as apart:
                values = engine.recalculate(packed(Path(apart) / "draft.xlsx", parts))
    with_formulas = {part: sheet for part, sheet in changes.sheets.items() if b"<f" in parts[part]}
    for part, sheet in with_formulas.items():
        parts[part] = patch._with_values(parts[part], sheet, values)
    packed(path, parts)
    return values


class KeptOpen:
    """A log in the engine, into which the cells of one test after the other are typed.

    To open it anew for each takes longer than to work out what has changed. That it gives the same is tested in
    test_quick_logs.py.
    """

    def __init__(self, log: Path) -> None:
        self._book = engine.OpenWorkbook(log)
        self._before: dict[Cell, Any] = {}
        """What stood in each cell that was ever typed into."""
        self._typed: dict[Cell, Any] = {}

    def with_cells(self, edits: Iterable[CellEdit]) -> engine.Recalculated | None:
        """The log with these cells and no others changed; None where they have to be read from a file."""
        wanted: dict[Cell, Any] = {}
        for edit in edits:
            cell = edit.sheet, edit.row, edit.column
            if isinstance(edit.value, FormulaText) or self._book.has_formula(*cell):
                return None
            if isinstance(edit.value, str) and sheet_xml._NOT_IN_XML.search(edit.value):
                return None
            wanted[cell] = _as_stored(edit.value)
        for cell in wanted.keys() - self._before.keys():
            self._before[cell] = self._book.value(*cell)
        now = {cell: self._before[cell] for cell in self._typed.keys() - wanted.keys()} | wanted
        for cell, value in now.items():
            if cell not in self._typed or (type(value), value) != (type(self._typed[cell]), self._typed[cell]):
                self._book.type_in(*cell, value)
        self._typed = now
        return self._book.recalculate(messages=False)


Cell = tuple[str, int, int]
"""Sheet, row and column."""


@functools.lru_cache(maxsize=8)
def _kept_open(log: Path, _stamp: int) -> KeptOpen:
    return KeptOpen(log)


def _as_stored(value: Value) -> float | str | bool | None:
    """A value as the engine finds it in a file."""
    if isinstance(value, dt.date):
        return float(f"{sheet_xml._serial(value, False):.15g}")
    if value is None or value == "" or isinstance(value, (bool, str)):
        return None if value == "" else value
    return float(value) + 0.0


def unworked_log(log: Path, edits: tuple[CellEdit, ...], path: Path) -> Path:
    """The same, of formulas that the engine cannot work out: with the old results."""
    with our_own_files():
        changes = patch._Changes(log, edits, ())
    return packed(path, _parts(log) | changes.parts)


@contextmanager
def our_own_files() -> Iterator[None]:
    """Files that are opened meanwhile are not searched for harm: a test has just made them."""
    with mock.patch.object(XlsxFile, "_look_through"):
        yield


@functools.cache
def _parts(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as file:
        return {name: file.read(name) for name in file.namelist()}


def packed(path: Path, parts: dict[str, bytes]) -> Path:
    """As a zip whose parts are not made smaller, which takes longer than it is worth here."""
    with zipfile.ZipFile(path, "w") as file:
        for name, content in parts.items():
            file.writestr(zipfile.ZipInfo(name), content)
    return path


def _edits(layout: Layout, places: AddressMap, inputs: Inputs) -> Iterator[CellEdit]:
    for setting in layout.settings:
        if not setting.formula and setting.name in inputs.settings:
            row = places.setting_rows[setting.name]
            yield CellEdit(SETTINGS, row, 2, inputs.settings[setting.name])
    for block in layout.blocks:
        if block.key not in inputs.blocks:
            continue
        typed = inputs.blocks[block.key]
        for offset in range(max(len(typed), len(block.content))):
            row = places.block_rows[block.key] + offset
            cells = typed[offset] if offset < len(typed) else {}
            for place, column in enumerate(block.columns, 1):
                yield CellEdit(SETTINGS, row, place, cells.get(column.key))
    for table in layout.tables:
        for row, typed_row in enumerate(inputs.rows.get(table.key, []), FIRST_ROW):
            for key, value in typed_row.items():
                yield CellEdit(table.name, row, table.position(key) + 1, value)
    for form in layout.forms:
        for key, value in inputs.forms.get(form.key, {}).items():
            row, place = places.form_cells[form.key][key]
            yield CellEdit(form.name, row, place + 1, value)


def in_turn(cases: Iterable[Any]) -> list[tuple[Any, ...]]:
    """Each case behind an edition, in turn: for results whose formula is the same in both.

    Where the formulas differ by edition, every case runs in both.
    """
    rows = (case if isinstance(case, tuple) else (case,) for case in cases)
    return [(edition, *row) for edition, row in zip(itertools.cycle(EDITIONS), rows, strict=False)]


@functools.cache
def _loaded(path: Path, _stamp: int) -> bytes:
    return pickle.dumps(openpyxl.load_workbook(path), pickle.HIGHEST_PROTOCOL)


def loaded(path: Path) -> openpyxl.Workbook:
    """A workbook as openpyxl loads it, free to be changed; the file is looked through once."""
    book: openpyxl.Workbook = pickle.loads(_loaded(path, path.stat().st_mtime_ns))
    return book
