"""What is wrong with a log by its entries and its results, wherever it is open; it needs no file."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Protocol

from sheetfns.cell_types import shown_cell
from sheetfns.files.cell_names import column_letters
from sheetfns.functions.listing import title_room
from sheetfns.log.compare import compare
from sheetfns.log.compute import LAST_TAX_YEAR, compute_log
from sheetfns.log.model.sheets import FIRST_ROW, Layout, RowCheck, TableSheet
from sheetfns.log.model.version import OLDER_LAYOUT
from sheetfns.log.read.cells import shown_of
from sheetfns.log.read.content import LogContent
from sheetfns.log.read.sheet_reader import CALCULATE, typed_values
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.settings.period import figures_until
from sheetfns.log.sheets.words import CAUTIONS, CHECKS, DESK
from sheetfns.tables import table_rows

if TYPE_CHECKING:
    from sheetfns.log.edit.patch import CellEdit

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


class ShownCells(Protocol):
    """What a log's cells show."""

    @property
    def sheets(self) -> Mapping[str, list[list[Any]]]:
        """The cells of each sheet, row by row from A1 on."""

    def value(self, sheet: str, row: int, column: int) -> Any:
        """The cell at a row and column, counted from 1."""


def of_reading(content: LogContent, certain: Iterable[CellEdit] = ()) -> Iterator[Finding]:
    """What reading the log found; `certain` repairs cells that cannot be read."""
    repairs = {(edit.sheet, edit.cell): edit for edit in certain}
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


# ---- what the log's own formulas find --------------------------------------------------------


def of_results(content: LogContent, *, changed: bool) -> Iterator[Finding]:
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


def of_shown_cells(content: LogContent, layout: Layout, values: ShownCells) -> Iterator[Finding]:
    """What the log's own formulas find, as far as reading has not said the same.

    Args:
        content: the log.
        layout: its layout, in its words.
        values: what its cells show once they are calculated.
    """
    told = told_by_reading(content)
    for table in layout.tables:
        if table.checks:
            yield from _of_row_checks(content, table, values, told)
    yield from _of_title(content, values)
    yield from _of_sheet_checks(content, layout, values, told)


def _of_row_checks(content: LogContent, table: TableSheet, values: ShownCells, told: set[str]) -> Iterator[Finding]:
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


def _of_title(content: LogContent, values: ShownCells) -> Iterator[Finding]:
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


def _of_sheet_checks(content: LogContent, layout: Layout, values: ShownCells, told: set[str]) -> Iterator[Finding]:
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


def old_cautions(content: LogContent) -> Iterator[Finding]:
    """Cautions that were looked up long before the log's day."""
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


def counted_findings(findings: Iterable[Finding]) -> str:
    """How many errors and warnings there are, such as `1 error, 2 warnings`."""
    listed = list(findings)
    warnings = sum(finding.times for finding in listed if finding.group == LOOK)
    parts = ((sum(finding.times for finding in listed) - warnings, "error"), (warnings, "warning"))
    return ", ".join(f"{many} {noun}{'' if many == 1 else 's'}" for many, noun in parts)


def in_groups(findings: Iterable[Finding]) -> dict[str, list[Finding]]:
    """Findings by their groups, those without any left out."""
    found: dict[str, list[Finding]] = {group: [] for group in GROUPS}
    for finding in findings:
        found[finding.group].append(finding)
    return {group: of_group for group, of_group in found.items() if of_group}
