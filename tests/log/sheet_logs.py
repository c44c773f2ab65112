"""Logs in which only some sheets, and those that they read, are worked out, read and compared.

The formulas are those of the layout, the engine works them out, the reader reads them and the same
comparison compares them: only the formulas of the other sheets are not there, which are more than
half. Of the sheet that counts what is wrong in the whole log, the lines about these sheets stay. A
test of what sheets say side by side takes a whole log (quick_logs.py).
"""

from __future__ import annotations

import functools
import pickle
import re
import zipfile
from collections import OrderedDict
from collections.abc import Collection
from dataclasses import dataclass, replace
from pathlib import Path
from typing import ClassVar, Final

import pandas as pd

from sheetfns.files.sheet_xml import formulas
from sheetfns.files.xlsx_file import XlsxFile
from sheetfns.log.compare import compare
from sheetfns.log.compute import ROOMS, LogResults, compute_log
from sheetfns.log.load import judge_log
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.reads import record_of
from sheetfns.log.model.sheets import Edition, Layout
from sheetfns.log.read import log_reader
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import CHECKS, SETTINGS
from tests.log.filled_logs import FEW_ROWS
from tests.log.quick_logs import changed_log, empty_log, entered, our_own_files, packed

MOST_KEPT: Final = 500
_CELL: Final = re.compile(rb'(<c r="[A-Z]+(\d+)"(?: s="\d+")?)(?: t="\w+")?><f>[^<]*</f><v>[^<]*</v></c>')


@dataclass(frozen=True)
class SheetLog:
    """An empty log of which some sheets have formulas.

    Attributes:
        path: the file.
        edition: which formulas.
        rows: ready rows of the sourcing log.
        keys: of the sheets that have formulas, as the layout has them.
    """

    path: Path
    edition: Edition
    rows: int
    keys: frozenset[str]

    def filled(self, path: Path, inputs: Inputs | None) -> Path:
        """A log with these entries and their results."""
        changed_log(self.path, entered(self.edition, self.rows, inputs or Inputs()), path)
        return path

    def read(self, path: Path) -> LogContent:
        """What stands in such a log."""
        with our_own_files(), XlsxFile(path) as book:
            return judge_log(log_reader._Reader(book, _layout_of(self.keys)).read())


def sheet_figures(path: Path, inputs: Inputs | None, edition: Edition, *keys: str, rows: int = FEW_ROWS) -> LogResults:
    """Some sheets of a log with these entries, as the workbook and as Python has them.

    That they agree is part of what every test with it tests.
    """
    log = sheet_log(edition, *keys, rows=rows)
    content = log.read(log.filled(path, inputs))
    compute_log(content)
    figures = SharedResults(content)
    assert compare(figures, sheets=log.keys).differences == []
    return figures


class SharedResults(LogResults):
    """Results of which a sheet is worked out once for all logs that give it the same to read.

    It sees nothing else (sheetfns/log/compute.py), so that the same comes of it.
    """

    _worked_out: ClassVar[OrderedDict[tuple[str, bytes], bytes]] = OrderedDict()

    def _work_out(self, sheet: str) -> pd.DataFrame:
        compute = ROOMS[sheet]
        reads = self.reads(record_of(compute))
        key = sheet, pickle.dumps(reads, pickle.HIGHEST_PROTOCOL)
        if key not in self._worked_out:
            self._worked_out[key] = pickle.dumps(compute(reads), pickle.HIGHEST_PROTOCOL)
            if len(self._worked_out) > MOST_KEPT:
                self._worked_out.popitem(last=False)
        frame: pd.DataFrame = pickle.loads(self._worked_out[key])
        return frame


@functools.cache
def sheet_log(edition: Edition, *keys: str, rows: int = FEW_ROWS) -> SheetLog:
    """The empty log with the formulas of these sheets and of all that they read."""
    empty, *_ = empty_log(edition, rows)
    names = _names()
    with XlsxFile(empty) as book:
        needed = _with_what_they_read(book, {names[key] for key in keys})
        without = [part for name, part in book.parts.items() if name not in needed]
        checks_part = book.parts[CHECKS]
        lines = _lines_about(book, needed)
    path = empty.with_name(f"{empty.stem}_{'_'.join(keys)}.xlsx")
    with zipfile.ZipFile(empty) as file:
        parts = {name: file.read(name) for name in file.namelist()}
    for part in without:
        parts[part] = _without_formulas(parts[part], lines if part == checks_part else set())
    kept = frozenset(key for key, name in names.items() if name in needed)
    return SheetLog(packed(path, parts), edition, rows, kept)


def _without_formulas(content: bytes, but_in_rows: set[int]) -> bytes:
    """A sheet with blank cells in place of formulas, except in some rows."""

    def cell(found: re.Match[bytes]) -> bytes:
        return found[0] if int(found[2]) in but_in_rows else found[1] + b"/>"

    made = _CELL.sub(cell, content)
    assert made.count(b"<f>") == sum(row in but_in_rows for row, _ in formulas(content))
    return made


def _names() -> dict[str, str]:
    layout = log_layout()
    return {sheet.key: sheet.name for sheet in (*layout.tables, *layout.forms)}


def _with_what_they_read(book: XlsxFile, wanted: Collection[str]) -> set[str]:
    """Sheets, and every sheet that a formula of theirs reads, without that of the checks."""
    needed: set[str] = set()
    to_do = {SETTINGS, *wanted}
    while to_do:
        sheet = to_do.pop()
        needed.add(sheet)
        for read in _sheets_read(book, sheet).values():
            to_do |= read - needed - {CHECKS}
    return needed


def _lines_about(book: XlsxFile, needed: set[str]) -> set[int]:
    """The rows of the sheet of the checks that read no other sheet than these."""
    read = _sheets_read(book, CHECKS)
    rows = {row for row, _ in read}
    return rows - {row for (row, _), sheets in read.items() if sheets - needed - {CHECKS}}


def _sheets_read(book: XlsxFile, sheet: str) -> dict[tuple[int, int], set[str]]:
    """For each formula of a sheet the sheets that it reads, by their names and by defined names."""
    homes = {name: set(_sheets_in(refers)) for name, refers in book.defined_names.items()}
    read = {}
    for cell, formula in formulas(book.part(sheet)).items():
        text = re.sub(r'"[^"]*"', "", formula)
        words = re.findall(r"[A-Za-z_][\w.]*", text)
        read[cell] = set(_sheets_in(text)).union(*(homes.get(word, ()) for word in words))
    return read


def _sheets_in(text: str) -> list[str]:
    return [quoted or bare for quoted, bare in re.findall(r"'([^']+)'!|\b(\w+)!", text)]


@functools.cache
def _layout_of(keys: frozenset[str]) -> Layout:
    """The layout without the other forms and their checks; everything that is typed stays."""
    layout = log_layout()
    forms = tuple(form for form in layout.forms if form.key in keys)
    names = {SETTINGS, *(name for key, name in _names().items() if key in keys)}
    return replace(layout, forms=forms, checks=tuple(check for check in layout.checks if check.sheet in names))
