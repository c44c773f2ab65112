"""The headless host: recalculates a workbook that calls the named functions, with no program open.

Oddities of the engine (formualizer 0.13): an argument left out before the last one arrives as 0, so
that it cannot be told from a typed 0; the engine keeps no message for an error, so that the
messages are gathered by calling the cells that failed once more.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import formualizer

from sheetfns import calling
from sheetfns.cell_types import shown_cell
from sheetfns.errors import CODES, CellError, LogFileError
from sheetfns.files.cell_names import cell_name
from sheetfns.files.ods_file import OdsFile
from sheetfns.files.workbook_file import WorkbookFile, open_workbook
from sheetfns.hosts.ods_draft import write_draft
from sheetfns.registry import ADD_IN, FORMER, REGISTRY, FunctionSpec

_KIND_BY_CODE: Final = {
    "#NULL!": "Null",
    "#DIV/0!": "Div",
    "#VALUE!": "Value",
    "#REF!": "Ref",
    "#NAME?": "Name",
    "#NUM!": "Num",
    "#N/A": "Na",
}
_CODE_BY_KIND: Final = {kind: code for code, kind in _KIND_BY_CODE.items()}
_LIMITS: Final = {"max_part_bytes": 1 << 30, "max_expanded_bytes": 1 << 31}
"""Unpacked sizes; the engine's own are too small for a log of 20,000 rows."""
FORMULA_SHOWN: Final = 60
MESSAGES_WANTED: Final = 500
"""Messages are gathered for so many failed cells; a workbook with more is failing as a whole."""


@dataclass(frozen=True)
class ErrorCell:
    """A cell whose result is an error."""

    sheet: str
    cell: str
    error: CellError

    def __str__(self) -> str:
        return f"{self.sheet}!{self.cell}: {self.error}"


@dataclass(frozen=True)
class Recalculated:
    """Every cell of a workbook after recalculation."""

    sheets: dict[str, list[list[Any]]]
    errors: list[ErrorCell]

    def value(self, sheet: str, row: int, column: int) -> Any:
        """The cell at a row and column, counted from 1: float, str, bool, None or CellError."""
        rows = self.sheets[sheet]
        if row > len(rows) or column > len(rows[row - 1]):
            return None
        return rows[row - 1][column - 1]


def recalculate(path: Path | str, *, messages: bool = True) -> Recalculated:
    """Recalculate a workbook; the file stays as it is.

    Args:
        path: the workbook.
        messages: gather what the functions say of the cells that failed; it takes a call for each.

    Errors:
        LogFileError: the file cannot be read as a workbook.
    """
    path = Path(path)
    with open_workbook(path) as file:
        sizes = {name: file.size(name) for name in file.sheet_names}
        workbook = _loaded(file)
    recorder = _Recorder()
    for spec in (*REGISTRY.values(), *FORMER.values()):
        watched = recorder.watch(spec)
        for name in (spec.name, f"{ADD_IN}.{spec.name}"):
            workbook.register_function(name, watched, min_args=0, max_args=len(spec.arguments))
    workbook.set_temporal_egress("serial")
    workbook.evaluate_all()
    sheets: dict[str, list[list[Any]]] = {}
    failed: list[tuple[str, int, int]] = []
    for name, (height, width) in sizes.items():
        rows: list[list[Any]] = []
        if height and width:
            block = formualizer.RangeAddress(name, 1, 1, height, width)
            rows = workbook.sheet(name).get_values(block)
        for row, cells in enumerate(rows, 1):
            for column, cell in enumerate(cells, 1):
                if isinstance(cell, dict):
                    cells[column - 1] = _from_engine(cell)
                    failed.append((name, row, column))
        sheets[name] = rows
    wanted = MESSAGES_WANTED if messages else 0
    return Recalculated(sheets, _with_messages(workbook, recorder, sheets, failed, wanted))


def _loaded(file: WorkbookFile) -> Any:
    try:
        if not isinstance(file, OdsFile):
            return formualizer.load_workbook(str(file.path), load_limits=_LIMITS)
        with tempfile.TemporaryDirectory() as folder:
            draft = Path(folder) / "draft.xlsx"
            write_draft(file, draft)
            return formualizer.load_workbook(str(draft), load_limits=_LIMITS)
    except Exception as error:
        raise LogFileError(f"{file.path.name}: cannot be recalculated ({error})") from error


class _Recorder:
    """Registers the functions and keeps the last error that one of them gave."""

    def __init__(self) -> None:
        self.last: CellError | None = None

    def watch(self, spec: FunctionSpec) -> Callable[..., Any]:
        """The function as the engine calls it.

        A workbook takes one cell after the other out of a function's rows, each time with the same
        whole columns as arguments. To compare them with the last ones costs a hundredth of reading
        them anew.
        """
        gives_rows = spec.returns.own_shape
        last_cells: tuple[Any, ...] | None = None
        last_shown: Any = None

        def called(*cells: Any) -> Any:
            nonlocal last_cells, last_shown
            single = calling.single_figure(spec, cells)
            if type(single) is float:
                return single
            if gives_rows and last_cells is not None and _same(cells, last_cells):
                return last_shown
            outcome = calling.evaluate(spec, [_from_engine(cell) for cell in cells])
            rows = outcome.cells()
            errors = [cell for row in rows for cell in row if isinstance(cell, CellError)]
            self.last = errors[0] if errors else self.last
            shown = [[_to_engine(cell) for cell in row] for row in rows]
            result = shown[0][0] if outcome.values.size == 1 else shown
            if gives_rows and not errors:
                last_cells, last_shown = cells, result
            return result

        return called


def _same(cells: tuple[Any, ...], others: tuple[Any, ...]) -> bool:
    """Whether a function would give the same for both: TRUE equals 1, but is read otherwise."""
    return list(map(type, cells)) == list(map(type, others)) and cells == others


def _with_messages(
    workbook: Any,
    recorder: _Recorder,
    sheets: dict[str, list[list[Any]]],
    failed: list[tuple[str, int, int]],
    wanted: int,
) -> list[ErrorCell]:
    errors = []
    for place, (sheet, row, column) in enumerate(failed):
        error = sheets[sheet][row - 1][column - 1]
        recorder.last = None
        formula = workbook.get_formula(sheet, row, column) if place < wanted else None
        if formula:
            workbook.set_formula(sheet, row, column, formula)
            workbook.evaluate_cell(sheet, row, column)
        if recorder.last is not None:
            error = CellError(error.code, recorder.last.message)
        elif formula:
            shown = shown_cell(formula, FORMULA_SHOWN)
            error = CellError(error.code, f"{shown} gives it, or passes it on from its cells")
        sheets[sheet][row - 1][column - 1] = error
        errors.append(ErrorCell(sheet, cell_name(row, column), error))
    return errors


def _from_engine(cell: Any) -> Any:
    if isinstance(cell, dict):
        kind = str(cell.get("kind"))
        code = _CODE_BY_KIND.get(kind, f"#{kind.upper()}!")
        return CellError(code, f"a cell that it uses holds {code}")
    if isinstance(cell, list):
        return [[_from_engine(one) for one in row] for row in cell]
    return cell


def _to_engine(cell: Any) -> Any:
    if cell is None:
        return ""
    if isinstance(cell, CellError):
        return {"type": "Error", "kind": _KIND_BY_CODE.get(cell.code, "Value")}
    return cell


assert set(_KIND_BY_CODE) == set(CODES)  # noqa: S101  (a code without its kind would be lost)
