"""The workbook's figures against Python's: every result cell, to the cent."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.compute import LogResults
from sheetfns.log.model.earlier_words import EarlierWords
from sheetfns.log.model.sheets import Check, Column, FormCell, FormSheet, TableSheet
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.data_checks.layout import HOLDS, RESULTS
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.row_checks import NOT_KNOWN
from sheetfns.log.sheets.settings.validate import CHECKS_OF_SETTINGS
from sheetfns.log.sheets.words import CHECKS, SETTINGS

TOLERANCE: Final = 1e-7
"""Far below a cent; rates are compared to the same figure."""


class NoCounterpartError(LookupError):
    """A cell of the layout is to be compared, and Python's figures do not hold it."""

    def __init__(self, sheet: str, key: str) -> None:
        super().__init__(
            f"{sheet}, {key}: the layout has this cell and Python's figures don't; calculate it "
            "in compute.py of its room under this key, or say at its declaration why it is not "
            "compared (not_compared)"
        )


@dataclass(frozen=True)
class Difference:
    """A figure that the workbook and Python do not agree on."""

    sheet: str
    row: int
    column: str
    shown: Any
    worked_out: Any

    def __str__(self) -> str:
        return (
            f"{self.sheet}, row {self.row}, {self.column}: the workbook shows {self.shown}, "
            f"Python calculates {self.worked_out}"
        )


@dataclass(frozen=True)
class Comparison:
    """How many figures were compared, and those that differ."""

    compared: int
    differences: list[Difference]


def compare(
    figures: LogResults, shown: dict[str, pd.DataFrame] | None = None, *, sheets: Collection[str] = ()
) -> Comparison:
    """Compare what a workbook shows with what Python works out from its entries.

    Every formula is compared whose declaration in the layout does not say why not. Where Python's
    figure is NOT_KNOWN, an entry is so wrong that Python cannot say what the sheet makes of it. Of a log in the words
    of an earlier layout, numbers and dates are compared and texts are not.

    Args:
        figures: see `compute_log`.
        shown: the workbook's results by sheet; those stored in the file if left out.
        sheets: the keys of the sheets to compare, with what counts their errors; all if left out.

    Errors:
        NoCounterpartError: the layout has a cell to compare that Python does not work out.
    """
    words = figures.content.words
    shown = figures.content.shown if shown is None else shown
    tables = [table for table in log_layout().tables if not sheets or table.key in sheets]
    older = figures.content.older
    forms = [
        form for form in log_layout().forms if not (older and form.overview) and (not sheets or form.key in sheets)
    ]
    lines: dict[str, dict[Any, Any]] = {line["key"]: line for line in shown["Data checks"].to_dict("records")}
    found = [
        *(_of_table(table, shown[table.key], figures[table.key], figures.content) for table in tables),
        *(_of_form(form, shown[form.key], figures[form.key], figures.content) for form in forms),
        *(_of_checks(table, lines, figures[table.key], words) for table in tables),
        compare_settings({} if sheets else lines, figures.content),
    ]
    return Comparison(sum(part.compared for part in found), [one for part in found for one in part.differences])


def compared_keys(sheet: TableSheet | FormSheet) -> list[str]:
    """The keys of a sheet's formulas that Python works out as well."""
    parts: tuple[Column | FormCell, ...]
    parts = sheet.columns if isinstance(sheet, TableSheet) else sheet.cells()
    return [part.key for part in parts if part.role != "input" and not part.not_compared]


def _counterparts(sheet: TableSheet | FormSheet, worked: pd.DataFrame, words: EarlierWords) -> list[str]:
    keys = compared_keys(sheet)
    for key in keys:
        if key not in worked.columns:
            raise NoCounterpartError(sheet.name, key)
    if not words:
        return keys
    parts = sheet.columns if isinstance(sheet, TableSheet) else sheet.cells()
    figures = {part.key for part in parts if part.kind.holds in {"number", "date"}}
    return [key for key in keys if key in figures]


_SAID: Final = ("findings", "row_check")


def _of_table(table: TableSheet, cells: pd.DataFrame, worked: pd.DataFrame, content: LogContent) -> Comparison:
    compared = 0
    differences = []
    words = content.words
    title = words.sheet(table.name)
    for key in _counterparts(table, worked, words):
        if content.older and (key in _SAID or table.column(key).watches):
            continue  # An earlier layout may say less of a row; how often each check fails is compared below.
        theirs = cells[key].to_numpy()
        ours = worked[key].to_numpy()[: len(theirs)]
        theirs = theirs[: len(ours)]
        known = np.array([one != NOT_KNOWN for one in ours.tolist()], dtype=bool)
        compared += int(known.sum())
        for place in np.flatnonzero(known & ~_same(theirs, ours)):
            row = int(cells["sheet_row"].iloc[place])
            header = words.of("header", table.name, key, table.column(key).header)
            differences.append(Difference(title, row, header, theirs[place], ours[place]))
    return Comparison(compared, differences)


def _of_form(form: FormSheet, cells: pd.DataFrame, worked: pd.DataFrame, content: LogContent) -> Comparison:
    words = content.words
    serving = {cell.key for cell in form.cells() if cell.watches} if content.older else set()
    # Cell by cell the frames' own work would take most of the time.
    shown, figures = cells.iloc[0].to_dict(), worked.iloc[0].to_dict()
    keys = [key for key in _counterparts(form, worked, words) if figures[key] != NOT_KNOWN and key not in serving]
    types = worked.dtypes.to_dict()
    numbers = [key for key in keys if pd.api.types.is_numeric_dtype(types[key])]
    days = [key for key in keys if pd.api.types.is_datetime64_any_dtype(types[key])]
    texts = [key for key in keys if key not in {*numbers, *days}]
    good: dict[str, bool] = {}
    for sort, dtype in ((numbers, float), (days, "datetime64[ns]"), (texts, object)):
        ours = pd.Series([figures[key] for key in sort], dtype=dtype).to_numpy()
        good |= dict(zip(sort, _same([shown[key] for key in sort], ours).tolist(), strict=True))
    title = words.sheet(form.name)
    differences = [Difference(title, 0, key, shown[key], figures[key]) for key in keys if not good[key]]
    return Comparison(len(keys), differences)


def _of_checks(
    table: TableSheet, lines: dict[str, dict[Any, Any]], worked: pd.DataFrame, words: EarlierWords
) -> Comparison:
    """How often each row check fails, and in which row first; rows that nobody filled among it.

    Args:
        table: the sheet whose checks they are.
        lines: what the workbook shows of each check, by the check's key.
        worked: what Python works out for that sheet.
        words: those of the log.
    """
    if not table.checks or (worked["findings"] == NOT_KNOWN).any():
        return Comparison(0, [])
    found = list(zip(worked["findings"].tolist(), worked["sheet_row"].tolist(), strict=True))
    title, of = words.sheet(CHECKS), words.sheet(table.name)
    compared = 0
    differences = []
    for check in table.checks:
        key = f"{table.key}_{check.key}"
        if key not in lines:
            continue
        failing = [row for said, row in found if check.message in said]
        first = float(failing[0]) if failing else np.nan
        for column, ours in (("count", float(len(failing))), ("first", first)):
            theirs = lines[key][column]
            compared += 1
            if not _same([theirs], np.array([ours])).all():
                message = words.of("check", table.name, key, check.message)
                row = int(lines[key]["sheet_row"])
                differences.append(Difference(title, row, f"{of}: {message} ({column})", theirs, ours))
    return Comparison(compared, differences)


def compare_settings(lines: dict[str, dict[Any, Any]], content: LogContent) -> Comparison:
    """Compare which checks of Settings fail.

    Args:
        lines: what the workbook shows of each check, by the check's key.
        content: the log.
    """
    checks = [check for check in CHECKS_OF_SETTINGS if check.key in lines and _can_be_judged(check, content)]
    differences = []
    for check in checks:
        line = lines[check.key]
        ours = RESULTS["fix"] if check.key in content.failing else HOLDS
        # A log in the words of its time says this otherwise; its count says the same.
        theirs = (RESULTS["fix"] if line["count"] else HOLDS) if content.words else line["result"]
        if theirs != ours:
            row, title = int(line["sheet_row"]), content.words.sheet(CHECKS)
            differences.append(Difference(title, row, f"{SETTINGS}: {check.label}", theirs, ours))
    return Comparison(len(checks), differences)


def _can_be_judged(check: Check, content: LogContent) -> bool:
    """Whether all that a check of Settings looks at could be read, and no name is a pattern to the sheet."""
    looks_at = set(re.findall(r"[A-Z]\w*", check.count))
    blocks = {name.partition("_")[0] for name in looks_at} - {SETTINGS}
    unread = {name for _, name in content.unread.get(SETTINGS, {})}
    settings = content.setting_places.sheet
    if any(one.key == "read_as_pattern" and one.sheet == settings for one in content.problems):
        return False
    return not (unread & looks_at or any(content.unread.get(block) for block in blocks))


def _same(theirs: Any, ours: Any) -> Any:
    """Equal, or both blank; dates and numbers by value, words by letter.

    LibreOffice drops blanks before a stored text when it opens a file, so they say nothing.
    """
    if pd.api.types.is_numeric_dtype(ours):
        left = pd.to_numeric(pd.Series(theirs), errors="coerce").to_numpy(float)
        right = np.asarray(ours, dtype=float)
        return (np.abs(left - right) <= TOLERANCE) | (np.isnan(left) & np.isnan(right))
    if pd.api.types.is_datetime64_any_dtype(ours):
        left = pd.to_datetime(pd.Series(theirs)).to_numpy()
        return (left == ours) | (pd.isna(left) & pd.isna(ours))
    pairs = ((str(a), str(b)) for a, b in zip(theirs, ours, strict=True))
    return np.array([a == b or a.strip() == b.strip() for a, b in pairs], dtype=bool)
