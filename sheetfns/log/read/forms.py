"""Reading the forms of a log: their cells by the labels beside them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from sheetfns.log.model.sheets import Column, FormCell, FormRow, FormSheet
from sheetfns.log.model.typed_rows import Issue
from sheetfns.log.read.cells import frame_of
from sheetfns.log.read.file_words import todays_word
from sheetfns.log.read.sheet_reader import CellPlaces, FoundTable, OpenSheet, SheetReader, plain
from sheetfns.log.sheets.reference_lists import Names
from sheetfns.log.sheets.words import OWN_WORDS, SETTINGS

_HOMES: Final = {"Log_item_no": "Sourcing log"}
"""Where the words of a list stand if not on Settings."""


class FormReader:
    """One form while it is read.

    Attributes:
        typed: what the seller filled in, by cell key; None where nothing that can be read stands.
        shown: its results and workings in one row, by cell key.
        missing: labels that are not there.
    """

    def __init__(self, reader: SheetReader, form: FormSheet) -> None:
        self.reader = reader
        self.form = form
        self.sheet = reader.sheet(form.name)
        self.missing: list[str] = []
        self._places = self._find()
        self._cells = self._cells_and_columns()
        self.typed = {cell.key: self._typed(column) for cell, column in self._cells if cell.role == "input"}
        results = [column for cell, column in self._cells if cell.role != "input"]
        values: dict[str, Any] = {}
        for column in results:
            values |= self._result(column)
        self.shown = frame_of(results, values, None)

    @property
    def places(self) -> CellPlaces:
        """Where its cells stand."""
        cells = {key: (row + 1, column) for key, (row, column) in self._places.items()}
        return CellPlaces(self.sheet.name, cells)

    def problems(self, lists: Mapping[str, Iterable[str]]) -> list[Issue]:
        """Words that are not in their list; `lists` holds the words by defined name."""
        found = []
        for cell, column in self._cells:
            word = self.typed.get(cell.key)
            if not isinstance(word, str) or not word or cell.names in OWN_WORDS:
                continue
            words = cell.choices or lists.get(cell.names)
            if words is None:
                continue
            home = "the list" if cell.choices else _HOMES.get(cell.names, SETTINGS)
            names = Names(words, home, own_words=not cell.choices)
            if word not in names:
                row, place = self._places[cell.key]
                found.append(
                    Issue(
                        self.sheet.name,
                        OpenSheet.cell_name(row, place),
                        word,
                        names.refusal(column.header, word),
                        "unknown_choice",
                    )
                )
        return found

    def _find(self) -> dict[str, tuple[int, int]]:
        """Row and column of each cell, from 0; a row without a label follows the one above."""
        labels = [plain(row[0]) for row in self.sheet.cells]
        places = {}
        row = self.form.first_row - 2
        for line in self.form.rows:
            found = self._row_of(line, labels, row)
            # A line that is gone is read as blank, and not as the one that took its place.
            row = row if found is None else found
            at = len(labels) + 1 if found is None else found
            for place, cell in enumerate(line.cells, line.first_place):
                places[cell.key] = (at, place)
        return places

    def _row_of(self, line: FormRow, labels: list[str], above: int) -> int | None:
        if not line.label:
            return above + 1
        below = (i for i in range(above + 1, len(labels)) if labels[i] == plain(line.label))
        row = next(below, None)
        if row is None and not (line.watches and self.reader.older):
            self.missing.append(line.label)
        return row

    def _cells_and_columns(self) -> list[tuple[FormCell, Column]]:
        return [
            (cell, Column(cell.key, _header(line, cell), cell.kind, cell.help, formula=cell.formula))
            for line in self.form.rows
            for cell in line.cells
        ]

    def _found(self, key: str) -> FoundTable:
        row, place = self._places[key]
        return FoundTable(self.sheet, row - 1, {key: place}, row, row + 1)

    def _typed(self, column: Column) -> Any:
        typed = self.reader.typed_cell(self._found(column.key), column, self.form.key)
        choices = self.reader.words.choices(self.reader.words.today_sheet(self.form.name), column.key)
        today = todays_word(choices, typed)
        if today != typed:
            self.reader.originals[self.sheet.name, OpenSheet.cell_name(*self._places[column.key])] = typed
        return today

    def _result(self, column: Column) -> dict[str, Any]:
        row, _ = self._places[column.key]
        return self.reader.results(self._found(column.key), [column], [row])


def _header(line: FormRow, cell: FormCell) -> str:
    if line.label and len(line.cells) == 1:
        return line.label
    return cell.key.capitalize().replace("_", " ")
