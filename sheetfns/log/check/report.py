"""Everything that is wrong with a log, cell by cell, and the repair of what is certain."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from sheetfns.cell_types import CellType, read_cell, shown_cell
from sheetfns.errors import CellError, LogFileError
from sheetfns.files import sheet_xml
from sheetfns.files.cell_names import column_letters
from sheetfns.files.safe_files import file_mark, sole_use
from sheetfns.files.sheet_xml import FormulaText
from sheetfns.files.workbook_file import is_ods
from sheetfns.files.xlsx_file import XlsxFile
from sheetfns.functions.listing import title_room
from sheetfns.hosts import engine
from sheetfns.log.check.formulas import CHANGED, FormulaFault, formula_faults
from sheetfns.log.compare import compare
from sheetfns.log.compute import LAST_TAX_YEAR, compute_log
from sheetfns.log.edit.macros import right_ending
from sheetfns.log.edit.patch import CellEdit, Patched, patch
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import FIRST_ROW, Layout, RowCheck, SettingsBlock, TableSheet
from sheetfns.log.model.version import OLDER_LAYOUT
from sheetfns.log.read.cells import shown_of
from sheetfns.log.read.content import LogContent
from sheetfns.log.read.sheet_reader import CALCULATE, typed_values
from sheetfns.log.sheets.registry import layout_of, log_layout
from sheetfns.log.sheets.settings.period import figures_until
from sheetfns.log.sheets.words import CAUTIONS, CHECKS, DESK, SETTINGS
from sheetfns.registry import ADD_IN
from sheetfns.tables import table_rows

CAUTION_DAYS: Final = 365
"""Cautions are looked up again within a year (common practice, no source)."""

UNREADABLE, NUMBERS, FORMULAS, ROWS, ON_SETTINGS, SHOWN, LOOK = (
    "Cells that cannot be read",
    "Item and lot numbers",
    "Formulas and layout",
    "Rows to fix",
    "Settings",
    "Results",
    "Warnings",
)
GROUPS: Final = (UNREADABLE, NUMBERS, FORMULAS, ROWS, ON_SETTINGS, SHOWN, LOOK)
_GROUP_OF: Final = {
    **dict.fromkeys(
        (
            *("not_a_number", "not_a_date", "error_cell", "not_calculated", "only_spaces"),
            *("control_character", "too_long", "negative", "over_limit", "not_whole"),
            *("date_for_text", "date_far_off"),
        ),
        UNREADABLE,
    ),
    **dict.fromkeys(("item_twice", "no_item", "read_as_pattern"), NUMBERS),
    **dict.fromkeys(
        (
            *("formula_typed_over", "formula_changed", "formula_gone", "rows_moved"),
            *("name_changed", "below_ready_rows", "above_ready_rows", "ready_rows_unknown"),
            *("missing_column", "missing_line", "missing_setting", "no_formulas"),
            "edition_unclear",
        ),
        FORMULAS,
    ),
    OLDER_LAYOUT: LOOK,
}
_CERTAIN_NUMBER: Final = re.compile(r"\s*[+-]?\d{1,15}(?:\.\d{1,10})?\s*")
_CERTAIN_DAY: Final = re.compile(r"\s*(\d{4})-(\d{2})-(\d{2})\s*")
_ODS_ENDINGS: Final = {".ods", ".ots"}
_CELLS_NAMED: Final = 4
_ADD_IN_NAME: Final = re.compile(rf"(?i)\b{ADD_IN}\.([A-Z_]+)(?=\s*\()")


@dataclass(frozen=True)
class Finding:
    """Something to fix or to check.

    Attributes:
        group: one of GROUPS.
        sheet: the sheet's name in the file.
        cell: the cell, or the first of several.
        found: what is there, short.
        message: what is wrong and what to do.
        key: a stable word for the kind of finding.
        times: in how many cells.
        repairs: what fixes it for certain.
    """

    group: str
    sheet: str
    cell: str
    found: str
    message: str
    key: str
    times: int = 1
    repairs: tuple[CellEdit, ...] = ()


@dataclass(frozen=True)
class Report:
    """What was found in a log.

    Attributes:
        content: the log.
        findings: in the order of GROUPS.
        mark: tells whether the file is still the one that was looked at.
    """

    content: LogContent
    findings: tuple[Finding, ...]
    mark: str

    @property
    def count(self) -> int:
        """How many cells are concerned."""
        return sum(finding.times for finding in self.findings)

    @property
    def summary(self) -> str:
        """How many errors and warnings there are, such as `1 error, 2 warnings`."""
        warnings = sum(finding.times for finding in self.findings if finding.group == LOOK)
        parts = ((self.count - warnings, "error"), (warnings, "warning"))
        return ", ".join(f"{many} {noun}{'' if many == 1 else 's'}" for many, noun in parts)


@dataclass(frozen=True)
class Fixed:
    """What was repaired: each finding with its cells, and what came of writing."""

    findings: tuple[Finding, ...]
    patched: Patched


def check_log(path: Path | str, step: Callable[[str], None] = lambda _: None) -> Report:
    """Check a log.

    Args:
        path: a log of either edition.
        step: is told what is being done.

    Errors:
        LogFileError: no workbook, or no log.
    """
    path = Path(path)
    step("Reading the log")
    content = load_log(path)
    mark = file_mark(path)
    found = list(_of_reading(content))
    if not content.lacks:
        layout = layout_of(content.ready_rows)
        found += _of_add_in_names(content)
        if content.edition is not None:
            step("Comparing its formulas")
            faults = formula_faults(content, content.edition, layout)
            if content.older:
                # Its formulas may say the same in another way; what they show is compared below.
                faults = [fault for fault in faults if fault.key != CHANGED]
            found += map(_of_formula, faults)
        step("Recalculating it")
        found += _of_results(content, changed=any(f.group == FORMULAS for f in found))
        found += _of_the_log_itself(content, content.worded(layout))
    found += _old_cautions(content)
    found += _of_the_name(content)
    found.sort(key=lambda one: GROUPS.index(one.group))
    return Report(content, tuple(found), mark)


def fix_log(report: Report) -> Fixed | None:
    """Repair what is certain: restore formulas, turn numbers and dates stored as text into numbers and dates.

    Returns:
        what was done; None if nothing can be fixed for certain.

    Errors:
        LogFileError: the file has changed since, is open or cannot be written.
    """
    findings = tuple(finding for finding in report.findings if finding.repairs)
    if not findings:
        return None
    path = report.content.path
    with sole_use(path):
        if file_mark(path) != report.mark:
            raise LogFileError(f"{path}: has changed since it was checked; run this again")
        edits = [edit for finding in findings for edit in finding.repairs]
        return Fixed(findings, patch(path, edits, locked=True))


def _of_the_name(content: LogContent) -> Iterator[Finding]:
    """A name of the file by which programs take it for another kind of workbook."""
    ending = content.path.suffix.lower()
    ods = is_ods(content.path)
    if ods != (ending in _ODS_ENDINGS):
        kind = "an OpenDocument workbook" if ods else "an Excel workbook"
        right = ".ods" if ods else right_ending(content.path) or ".xlsx"
        yield Finding(
            LOOK,
            content.sheet_names[0],
            "A1",
            content.path.name,
            f"the file is {kind}, whatever its name says; give it a name that ends in {right}, or a program may not "
            "open it",
            "wrong_ending",
        )


# ---- what reading finds ----------------------------------------------------------------------


def _of_reading(content: LogContent) -> Iterator[Finding]:
    repairs = {(edit.sheet, edit.cell): edit for edit in _certain_values(content)}
    for problem in content.problems:
        group = _GROUP_OF.get(problem.key, "")
        if not group:
            on_settings = problem.sheet.casefold() == content.setting_places.sheet.casefold()
            group = ON_SETTINGS if on_settings else ROWS
        if problem.key in {"errors_follow", "error_in_result"}:
            group = SHOWN
        edit = repairs.get((problem.sheet, problem.cell)) if group == UNREADABLE else None
        yield Finding(
            group,
            problem.sheet,
            problem.cell,
            problem.found,
            problem.message,
            problem.key,
            repairs=(edit,) if edit else (),
        )


def _certain_values(content: LogContent) -> Iterator[CellEdit]:
    """Texts in cells for numbers and days that can mean only one number or day."""
    layout = log_layout()
    parts: list[TableSheet | SettingsBlock] = [*layout.tables, *layout.blocks]
    columns = {(part.key, column.key): column for part in parts for column in part.columns}
    for key, cells in content.unread.items():
        for (row, name), text in cells.items():
            if not isinstance(text, str) or (key, name) not in columns or row == 0:
                continue
            column = columns[key, name]
            value = _certain(column.kind, column.header, text)
            if value is not None:
                place = content.places[key]
                yield CellEdit(place.sheet, row, place.columns[name] + 1, value)
    places = content.setting_places
    for (_, name), text in content.unread.get(SETTINGS, {}).items():
        setting = layout.setting(name)
        if isinstance(text, str) and (value := _certain(setting.kind, setting.label, text)):
            row, position = places.cells[name]
            yield CellEdit(places.sheet, row, position + 1, value)


def _certain(kind: CellType, header: str, text: str) -> float | dt.date | None:
    try:
        if kind.holds == "number" and _CERTAIN_NUMBER.fullmatch(text):
            number = float(text)
            read_cell(kind, header, number)
            return number
        if kind.holds == "date" and (parts := _CERTAIN_DAY.fullmatch(text)):
            return dt.date(*(int(part) for part in parts.groups()))
    except (CellError, ValueError):
        return None
    return None


def _of_add_in_names(content: LogContent) -> Iterator[Finding]:
    """Calls with the add-in's name before the function's, which only LibreOffice knows."""
    if is_ods(content.path):
        return  # there these names are right
    with XlsxFile(content.path) as book:
        for sheet in book.sheet_names:
            repairs = [
                CellEdit(sheet, row, column, FormulaText(_ADD_IN_NAME.sub(r"\1", text)))
                for (row, column), text in sheet_xml.formulas(book.part(sheet)).items()
                if _ADD_IN_NAME.search(text)
            ]
            if repairs:
                cells = "1 cell calls" if len(repairs) == 1 else f"{len(repairs)} cells call"
                yield Finding(
                    FORMULAS,
                    sheet,
                    repairs[0].cell,
                    f"{ADD_IN}.",
                    f"{cells} functions by a name that only LibreOffice knows; --fix replaces it with the plain name",
                    "add_in_name",
                    len(repairs),
                    tuple(repairs),
                )


def _of_formula(fault: FormulaFault) -> Finding:
    cells = ", ".join(fault.cells[:_CELLS_NAMED])
    more = len(fault.cells) - _CELLS_NAMED
    where = "" if len(fault.cells) == 1 else f" in {len(fault.cells)} cells ({cells}"
    where += f" and {more} more)" if more > 0 else ")" if where else ""
    if fault.repairs:
        then = "; --fix restores it"
    elif fault.key.startswith("formula"):
        then = "; run 'sheetfns upgrade' on the log to restore it"
    else:
        then = ""
    return Finding(
        FORMULAS,
        fault.sheet,
        fault.cells[0],
        fault.found,
        f"{fault.message}{where}{then}",
        fault.key,
        len(fault.cells),
        fault.repairs,
    )


# ---- what the log's own formulas find --------------------------------------------------------


def _of_results(content: LogContent, *, changed: bool) -> Iterator[Finding]:
    """Figures in the file that are not those of its entries.

    Where something is wrong with the entries, the two ways of working them out may differ.
    """
    if changed or any(problem.key != OLDER_LAYOUT for problem in content.problems):
        return
    by_sheet: dict[str, list[Any]] = {}
    for one in compare(compute_log(content)).differences:
        by_sheet.setdefault(one.sheet, []).append(one)
    for sheet, found in by_sheet.items():
        first = found[0]
        column = first.column.replace("_", " ")
        what, which = (
            ("1 figure on this sheet doesn't match its entries", column)
            if len(found) == 1
            else (f"{len(found)} figures on this sheet don't match their entries", f"the first: {column}")
        )
        yield Finding(
            SHOWN,
            sheet,
            f"A{first.row}" if first.row else "A1",
            shown_of(first.shown),
            f"{what} ({which}); {CALCULATE}",
            "figures_differ",
            len(found),
        )


def _of_the_log_itself(content: LogContent, layout: Layout) -> Iterator[Finding]:
    try:
        values = engine.recalculate(content.path)
    except LogFileError as error:
        words = f"the log could not be calculated: {error}"
        yield Finding(SHOWN, content.words.sheet(CHECKS), "A1", "", words, "not_worked_out")
        return
    told = told_by_reading(content)
    for table in layout.tables:
        if table.checks:
            yield from _of_row_checks(content, table, values, told)
    yield from _of_title(content, values)
    yield from _of_sheet_checks(content, layout, values, told)


def _of_row_checks(
    content: LogContent, table: TableSheet, values: engine.Recalculated, told: set[str]
) -> Iterator[Finding]:
    place = content.places[table.key]
    if not {"findings", "row_check"} <= set(place.columns):
        return

    def value(row: int, key: str) -> Any:
        return values.value(place.sheet, row, place.columns[key] + 1)

    checks = [check for check in table.checks if f"{table.key}_{check.key}" not in told]
    frame = content.sheets[table.key]
    names = typed_values(frame[table.inputs()[0].key])
    for row, named_by in zip(frame["sheet_row"].tolist(), names, strict=True):
        text = value(row, "findings")
        for check in checks if isinstance(text, str) else ():
            if check.message in text:
                letter = column_letters(place.columns["row_check"])
                yield Finding(
                    LOOK if check.notice else ROWS,
                    place.sheet,
                    f"{letter}{row}",
                    "",
                    f"{shown_of('' if named_by is None else named_by)}: "
                    + _advice(check, lambda key, row=row: value(row, key)),  # type: ignore[misc]
                    check.key,
                )


def _advice(check: RowCheck, value: Callable[[str], Any]) -> str:
    if check.key == "fee_differs":
        return (
            f"{check.message}: charged {shown_cell(value('fee_charged'))}, terms give "
            f"{shown_cell(value('fee_by_terms'))}; check the channel's statement, or fix its terms on Settings"
        )
    if check.key == "count_differs":
        return (
            f"{check.message}: counted {shown_cell(value('cash_counted'))}, the log has "
            f"{shown_cell(value('cash_by_log'))}; count again, or enter what is missing"
        )
    if check.notice:
        return f"{check.message}; check whether it is right"
    return f"{check.message}; fix it in this row"


def _of_title(content: LogContent, values: engine.Recalculated) -> Iterator[Finding]:
    places = content.form_places["Desk"]

    def value(key: str) -> Any:
        row, column = places.cells[key]
        return values.value(places.sheet, row, column + 1)

    title, limit = value("title_used"), value("limit")
    if not isinstance(title, str) or not isinstance(limit, (int, float)) or not title:
        return
    room = title_room(title, limit)
    if room < 0:
        row, column = places.cells["title"]
        yield Finding(
            ROWS,
            places.sheet or DESK,
            f"{column_letters(column)}{row}",
            shown_cell(title),
            f"the title is {-room:.0f} characters over the channel's limit of {limit:.0f}; shorten it",
            "title_long",
        )


def _of_sheet_checks(
    content: LogContent, layout: Layout, values: engine.Recalculated, told: set[str]
) -> Iterator[Finding]:
    """Checks that are not of single rows, as far as reading has not said the same."""
    rows_said = {f"{table.key}_{check.key}" for table in layout.tables for check in table.checks}
    names = {name.casefold(): name for name in content.sheet_names}
    title = content.words.sheet(CHECKS)
    sheet = names.get(title.casefold(), title)
    by_words = {
        (str(cells[0]), str(cells[2])): row
        for row, cells in enumerate(values.sheets.get(sheet, []), 1)
        if len(cells) > 3
    }
    counts = {
        check.key: count
        for check in layout.checks
        for row in [by_words.get((check.sheet, check.label))]
        for count in [values.value(sheet, row, 4) if row else None]
        if isinstance(count, (int, float)) and count != 0
    }
    # What only follows from an error, or says more about one, is no second finding.
    an_error = any(check.kind == "fix" and check.key in counts for check in layout.checks)
    asks = {"fix", "look"} if an_error else {"fix", "look", "wait"}
    for check in layout.checks:
        if check.key not in counts or check.kind not in asks or check.key in told | rows_said:
            continue
        row, count = by_words[check.sheet, check.label], counts[check.key]
        first = values.value(sheet, row, 5) if row else None
        cell = f"A{first:.0f}" if isinstance(first, float) else f"D{row}"
        at = check.sheet if isinstance(first, float) else sheet
        group = LOOK if check.kind == "look" else ROWS
        words = f"{check.sheet}: {check.label}"
        yield Finding(group, at, cell, f"{count:.0f}", words, check.key, int(count))


def told_by_reading(content: LogContent) -> set[str]:
    """Checks of the workbook of which the reader has said the same, cell by cell."""
    layout = content.worded(log_layout())
    sheets = {table.name.casefold(): table.key for table in layout.tables}
    told = {f"{sheets.get(problem.sheet.casefold(), problem.sheet)}_{problem.key}" for problem in content.problems}
    settings = layout.settings_sheet
    if any(problem.sheet.casefold() == settings.casefold() for problem in content.problems):
        told |= {check.key for check in layout.checks if check.sheet == settings}
    if content.problems:
        # Results show errors because something typed cannot be read.
        told |= {check.key for check in layout.checks if check.key.endswith("_errors")}
    return told


def _old_cautions(content: LogContent) -> Iterator[Finding]:
    if not 1 <= (content.settings.get("Tax_year") or 0) <= LAST_TAX_YEAR:
        return  # Then there is no day that figures go up to.
    last = figures_until(content.settings, content.sheets) - dt.timedelta(days=CAUTION_DAYS)
    old = [
        (place, row)
        for place, row in enumerate(table_rows("cautions"))
        if dt.date.fromisoformat(row["noted_on"]) < last
    ]
    if old:
        place, row = old[0]
        many = "1 caution was" if len(old) == 1 else f"{len(old)} cautions were"
        yield Finding(
            LOOK,
            content.words.sheet(CAUTIONS),
            f"A{FIRST_ROW + place}",
            row["category"],
            f"{many} looked up more than a year before As of (the first: "
            f"{row['noted_on']}); check what the authorities named there say now, or install a newer sheetfns",
            "caution_old",
            len(old),
        )


def in_groups(findings: Iterable[Finding]) -> dict[str, list[Finding]]:
    """Findings by their groups, those without any left out."""
    found: dict[str, list[Finding]] = {group: [] for group in GROUPS}
    for finding in findings:
        found[finding.group].append(finding)
    return {group: of_group for group, of_group in found.items() if of_group}
