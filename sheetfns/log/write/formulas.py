"""The formulas that a log is written with, without writing it."""

from __future__ import annotations

from pathlib import Path

from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import FIRST_ROW, Edition, Layout
from sheetfns.log.write import write_sheets
from sheetfns.log.write.canvas import Canvas

Formulas = dict[tuple[int, int], str]
"""Formulas by row, counted from 1, and column, from 0."""


class _Listening(Canvas):
    """A canvas that keeps formulas, of sheets with rows those of the first row alone."""

    def __init__(self, layout: Layout, edition: Edition) -> None:
        super().__init__(Path("never written.xlsx"), layout, edition, Inputs(), None)
        self.formulas: dict[str, Formulas] = {}
        self._with_rows = {table.name for table in layout.tables}

    def formula(self, sheet: Worksheet, row: int, column: int, text: str, form: Format) -> None:  # noqa: ARG002
        """Keep a formula."""
        name = sheet.get_name()
        if row <= FIRST_ROW or name not in self._with_rows:
            self.formulas.setdefault(name, {})[row, column] = text


def written_formulas(layout: Layout, edition: Edition) -> dict[str, Formulas]:
    """The formulas of every sheet; of a sheet with rows only the first of the ready rows."""
    canvas = _Listening(layout, edition)
    write_sheets(canvas)
    return canvas.formulas
