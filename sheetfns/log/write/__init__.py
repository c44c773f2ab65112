"""Writing the sheets of a log with XlsxWriter."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from sheetfns.hosts import engine
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import Edition, Layout
from sheetfns.log.write.canvas import Canvas
from sheetfns.log.write.cautions_sheet import write_cautions
from sheetfns.log.write.checks_sheet import write_checks
from sheetfns.log.write.form_sheet import write_form
from sheetfns.log.write.functions_sheet import write_functions
from sheetfns.log.write.settings_sheet import write_settings
from sheetfns.log.write.start_sheet import write_start
from sheetfns.log.write.table_sheet import write_table
from sheetfns.log.write.tax_rules_sheet import write_tax_rules


def write_workbook(
    path: Path,
    layout: Layout,
    edition: Edition,
    inputs: Inputs,
    values: engine.Recalculated | None = None,
    *,
    canvas: Callable[..., Canvas] = Canvas,
) -> None:
    """Write one edition; with `values` every formula cell carries its result."""
    sheets = canvas(path, layout, edition, inputs, values)
    write_sheets(sheets)
    sheets.close()


def write_sheets(canvas: Canvas) -> None:
    """Write every sheet, in reading order."""
    layout = canvas.layout
    first, *others = layout.sheet_order
    write_form(canvas, layout.form(first))
    write_start(canvas)
    write_settings(canvas)
    for key in others:
        if key in layout.by_key:
            write_table(canvas, layout.table(key))
        else:
            write_form(canvas, layout.form(key))
    write_tax_rules(canvas)
    write_cautions(canvas)
    write_checks(canvas)
    if canvas.edition == "lambda":
        write_functions(canvas)
