"""Build a sourcing log: either edition, empty or filled, every formula cell with its value."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from xlsxwriter.exceptions import FileCreateError

from sheetfns.cell_types import LONGEST_TEXT, shown_cell
from sheetfns.errors import LogFileError
from sheetfns.files.safe_files import atomic_write, folder_for_drafts
from sheetfns.hosts import engine
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import Edition, Layout
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import DEFAULT_ROWS, MOST_ROWS, SETTINGS
from sheetfns.log.write import write_workbook
from sheetfns.log.write.canvas import Canvas


def build_log(
    path: Path | str,
    edition: Edition = "plain",
    rows: int = DEFAULT_ROWS,
    inputs: Inputs | None = None,
    step: Callable[[str], None] = lambda _: None,
    *,
    canvas: Callable[..., Canvas] = Canvas,
    calculated: bool = True,
) -> Path:
    """Write a log.

    Args:
        path: the new file; it is written beside and renamed when it is whole.
        edition: "plain" has ordinary formulas only, "functions" calls the named functions.
        rows: ready rows on the sourcing log.
        entries: what is filled in; nothing if left out.
        step: is told what is being done.
        canvas: makes what the finished log is drawn on, such as one that adds macros.
        calculated: whether each formula gets its result; a program that opens the log calculates it in any case.

    Errors:
        LogFileError: the path cannot be written, or the entries do not fit.
    """
    if not 1 <= rows <= MOST_ROWS:
        raise LogFileError(f"rows: {rows} is not between 1 and {MOST_ROWS}; choose a number of rows between")
    path = Path(path)
    inputs = inputs or Inputs()
    layout = log_layout(rows)
    _refuse_what_does_not_fit(layout, inputs)
    values = None
    if calculated:
        with folder_for_drafts(path) as folder:
            draft = folder / "draft.xlsx"
            step(f"Writing {rows} rows")
            _write(draft, layout, edition, inputs)
            step("Calculating them")
            values = engine.recalculate(draft, messages=False)
    step("Writing the results")
    with atomic_write(path) as beside:
        _write(beside, layout, edition, inputs, values, canvas=canvas)
    return path


def _write(path: Path, *content: Any, canvas: Callable[..., Canvas] = Canvas) -> None:
    try:
        write_workbook(path, *content, canvas=canvas)
    except FileCreateError as error:
        # What the library raises is no OSError, but holds the one that the disk gave.
        raise error.args[0] from error


def _refuse_what_does_not_fit(layout: Layout, inputs: Inputs) -> None:
    for key, rows in inputs.rows.items():
        table = layout.table(key)
        if len(rows) > table.ready_rows:
            raise LogFileError(
                f"{table.name}: {len(rows)} rows don't fit in {table.ready_rows}; build the log with more rows"
            )
        known = {column.key for column in table.inputs()}
        for row in rows:
            if unknown := set(row) - known:
                raise LogFileError(f"{table.name}: no input column {', '.join(sorted(unknown))}")
        _refuse_long_texts(table.name, rows)
    for key, rows in inputs.blocks.items():
        block = layout.block(key)
        if len(rows) > block.rows:
            raise LogFileError(f"{SETTINGS}: {len(rows)} rows don't fit in {block.title}")


def _refuse_long_texts(sheet: str, rows: list[Row]) -> None:
    for row in rows:
        for key, value in row.items():
            if isinstance(value, str) and len(value) > LONGEST_TEXT:
                raise LogFileError(
                    f"{sheet}: {key} {shown_cell(value)!r} has {len(value)} characters; a cell holds at most "
                    f"{LONGEST_TEXT}, shorten it"
                )
