"""Writing a plan into its log, and the rows that are not imported beside the file."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from sheetfns.errors import LogFileError
from sheetfns.files import formula_signs
from sheetfns.files.safe_files import atomic_write, dated_copy, file_mark, sole_use
from sheetfns.log.edit.csv_import.import_plan import ImportPlan, problem_key
from sheetfns.log.edit.patch import patch
from sheetfns.log.load import load_log
from sheetfns.log.model.typed_rows import Issue

REASON: Final = "Reason"
_BELOW_ZERO: Final = re.compile(r"-[0-9][0-9.,' \u00a0\u202f]*")


@dataclass(frozen=True)
class Applied:
    """What was written.

    Attributes:
        log_path: the log.
        cells: how many of its cells were written; 0 if the log was left alone.
        new_rows: how many rows were added.
        copy: the dated copy of the log as it was; None if the log was left alone.
        not_recalculated: why the results could not be worked out; "" if they were.
        left_path: the file with the rows that were not imported; None if all were.
        left_rows: how many these are.
        new_problems: problems that the log has now and did not have before.
    """

    log_path: Path
    cells: int
    new_rows: int
    copy: Path | None
    not_recalculated: str
    left_path: Path | None
    left_rows: int
    new_problems: tuple[Issue, ...]


def apply_import(plan: ImportPlan) -> Applied:
    """Write a plan into its log; a dated copy of the log is kept.

    The rows that are not imported are saved beside the file. If no cell changes, the log is left
    alone.

    Errors:
        LogFileError: the log has changed since the plan was made, is open or read-only, or a folder
            cannot be written. Then the log is as it was.
    """
    if not plan.edits:
        with _left_rows(plan) as left:
            pass
        return Applied(plan.log_path, 0, 0, None, "", left, len(plan.left), ())
    with sole_use(plan.log_path):
        if file_mark(plan.log_path) != plan.log_hash:
            raise LogFileError(f"{plan.log_path.name}: has changed since it was checked; run the command again")
        with _left_rows(plan) as left:
            patched = patch(plan.log_path, plan.edits, locked=True)
        new = [one for one in load_log(plan.log_path).problems if problem_key(one) not in plan.known_problems]
    return Applied(
        plan.log_path,
        len(plan.edits),
        len(plan.new_rows),
        patched.copy,
        patched.not_recalculated,
        left,
        len(plan.left),
        tuple(new),
    )


def save_left_rows(plan: ImportPlan) -> Path | None:
    """Save the rows that are not imported beside the file, as `apply_import` does.

    Returns:
        the file, or None if all rows are imported.
    """
    with _left_rows(plan) as left:
        return left


@contextmanager
def _left_rows(plan: ImportPlan) -> Iterator[Path | None]:
    """Write the rows that are left out; the file takes its name when the block ends well."""
    if not plan.left:
        yield None
        return
    path = plan.left_path
    with atomic_write(path) as beside:
        width = max(len(plan.headers), *(len(row.cells) for row in plan.left))
        with beside.open("w", encoding="utf-8-sig", newline="") as file:
            writer = csv.writer(file, delimiter=plan.separator)
            blank = [""] * (width - len(plan.headers))
            writer.writerow([*map(harmless, plan.headers), *blank, REASON])
            for row in plan.left:
                blank = [""] * (width - len(row.cells))
                writer.writerow([*map(harmless, row.cells), *blank, harmless(row.reason)])
        if path.exists() and path.read_bytes() != beside.read_bytes():
            dated_copy(path)
        yield path


def harmless(cell: str) -> str:
    """A cell that no program takes for a formula; numbers below zero stay as they are.

    >>> harmless("=1+1"), harmless("-3,20"), harmless("-A1")
    ("'=1+1", '-3,20', "'-A1")
    """
    return cell if _BELOW_ZERO.fullmatch(cell) else formula_signs.harmless(cell)
