"""Writing a pocket copy: sheets of the log for a phone, and what they read as values that are not edited there."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from xlsxwriter.exceptions import FileCreateError
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from sheetfns.hosts import engine
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import Column, FormCell, Layout, Setting
from sheetfns.log.sheets.words import FINDS, SETTINGS, SHELF
from sheetfns.log.write.canvas import Canvas
from sheetfns.log.write.cautions_sheet import write_cautions
from sheetfns.log.write.form_sheet import write_form
from sheetfns.log.write.settings_sheet import write_settings
from sheetfns.log.write.styles import FAINT, RESULT_FILL, TABS
from sheetfns.log.write.table_sheet import write_table


def write_pocket(
    path: Path, layout: Layout, inputs: Inputs, origin: str, values: engine.Recalculated | None = None
) -> None:
    """Write a pocket copy, of the plain edition; with `values` every formula cell carries its result.

    Args:
        path: the new file.
        layout: see `sheetfns.log.sheets.pocket.pocket_layout`.
        inputs: what it holds of the log.
        origin: in words, from which log it is and of which day.
        values: every cell after calculation.

    Errors:
        OSError: the file cannot be written.
    """
    canvas = _PocketCanvas(path, layout, inputs, origin, values)
    for key in layout.sheet_order:
        if key in layout.by_key:
            write_table(canvas, layout.table(key))
        else:
            write_form(canvas, layout.form(key))
    write_settings(canvas)
    write_cautions(canvas)
    try:
        canvas.close()
    except FileCreateError as error:
        # What the library raises is no OSError, but holds the one that the disk gave.
        raise error.args[0] from error


class _PocketCanvas(Canvas):
    """A workbook without the other sheets of the log, whose sheet Settings holds values to read."""

    on_screen = frozenset()

    def __init__(
        self, path: Path, layout: Layout, inputs: Inputs, origin: str, values: engine.Recalculated | None
    ) -> None:
        super().__init__(path, layout, "plain", inputs, values)
        self._origin = origin
        self._tables = {table.name: table for table in layout.tables}

    def sheet(self, name: str) -> Worksheet:
        """A new sheet, the last one."""
        sheet = super().sheet(name)
        if name == FINDS:
            sheet.set_tab_color(TABS["Record"])
        return sheet

    def heads(self, sheet: Worksheet, name: str, purpose: str, *place: Any, **places: Any) -> None:
        """Title, purpose, and what the check row of a log has the errors in."""
        if name == SETTINGS:
            purpose = "What Shelf check and Buying plan go by; nothing is entered here."
        super().heads(sheet, name, purpose, *place, **places)

    def others(self, name: str) -> tuple[str, ...]:
        """The way from the verdict to the finds; all other sheets are a tap on their tab away."""
        return (FINDS,) if name == SHELF else ()

    def errors(self, sheet: Worksheet, name: str, row: int) -> None:
        """The errors of a sheet with rows; of the others, from which log they are."""
        table = self._tables.get(name)
        if table is None:
            sheet.write_string(row - 1, 0, self._origin, self.format(font_color=FAINT, valign="vcenter"))
            return
        # The name covers the header too; "ok" has two letters.
        count = f'COUNTIF({table.defined_name("row_check")},"???*")-1'
        self.error_words(sheet, row, f'"Errors: "&{count}')

    def value(self, sheet: Worksheet, row: int, column: int, value: Any, form: Format) -> None:
        """Write what was typed, on sheet Settings as what is only read."""
        if sheet.get_name() == SETTINGS:
            # A text that may run over the cells beside it has no box, and no fill that would end before it.
            fill = {"bg_color": RESULT_FILL} if form.left else {}
            form = self.styles.changed(form, locked=True, **fill)
        super().value(sheet, row, column, value, form)

    def validation(
        self, sheet: Worksheet, rows: tuple[int, int], place: int, column: Column | Setting | FormCell, header: str
    ) -> None:
        """What may be typed; nothing is said of it where nothing is."""
        if sheet.get_name() != SETTINGS:
            super().validation(sheet, rows, place, column, header)
