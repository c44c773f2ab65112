"""What keeps a tax year from being complete, and what is worth a look."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import pandas as pd

from sheetfns.cell_types import counted, shown_cell
from sheetfns.errors import LogFileError
from sheetfns.files.cell_names import column_letters
from sheetfns.log.check.formulas import CHANGED, formula_faults
from sheetfns.log.check.report import told_by_reading
from sheetfns.log.compare import Difference, compare
from sheetfns.log.compute import LogResults, compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.sheets import Layout
from sheetfns.log.model.version import OLDER_LAYOUT
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import layout_of, log_layout
from sheetfns.log.sheets.settings.period import figures_until
from sheetfns.log.sheets.words import CHECKS, MOST_ROWS, SETTINGS, TAX_RULES, YEAR_END
from sheetfns.log.sheets.year_end.books import Span
from sheetfns.log.sheets.year_end.compute import YearFigures
from sheetfns.log.write.build import build_log
from sheetfns.yearend.rows import rows_by_line, sums_that_differ

_SHOWN_DIFFERENCES: Final = 20
_CELLS_NAMED: Final = 5


@dataclass(frozen=True)
class Reason:
    """One thing to fix, or to check: where it is, how often, what is wrong and what to do."""

    sheet: str
    cell: str
    words: str
    times: int = 1

    def __str__(self) -> str:
        where = f"{self.sheet}, {self.cell}" if self.cell else self.sheet
        return f"{where}: {self.words}"


@dataclass(frozen=True)
class Findings:
    """What was found about a year.

    Attributes:
        reasons: what keeps it from being complete.
        notices: what is worth a look and keeps nothing up.
    """

    reasons: tuple[Reason, ...] = ()
    notices: tuple[Reason, ...] = ()

    def counts(self) -> str:
        """How many there are, counted as on sheet Data checks."""
        errors, warnings = (sum(one.times for one in found) for found in (self.reasons, self.notices))
        review = " to review" if warnings else ""
        where = " (sheet Problems)" if errors or warnings else ""
        return f"{counted(errors, 'error')}; {counted(warnings, 'warning')}{review}{where}"


def in_groups(reasons: Iterable[Reason]) -> list[str]:
    """Reasons sheet by sheet, a line for all cells of which the same is said."""
    by_sheet: dict[str, dict[str, list[str]]] = {}
    for reason in reasons:
        cells = by_sheet.setdefault(reason.sheet, {}).setdefault(reason.words, [])
        if reason.cell:
            cells.append(reason.cell)
    return [
        str(Reason(sheet, _listed(cells), words))
        for sheet, of_sheet in by_sheet.items()
        for words, cells in of_sheet.items()
    ]


def _listed(cells: Sequence[str]) -> str:
    more = len(cells) - _CELLS_NAMED
    return ", ".join(cells[:_CELLS_NAMED]) + (f" and {more} more" if more > 0 else "")


def findings_about(figures: LogResults, year: YearFigures) -> Findings:
    """Everything that keeps a year from being complete, none if it is; and what to look at.

    The log is built anew with that tax year, recalculated, and compared with Python: a figure is
    taken for right only if both ways agree.

    Errors:
        LogFileError: the rules have no lines for the year.
    """
    content = figures.content
    if not year.lines:
        raise LogFileError(
            f"{content.path.name}: table tax_lines (sheet {TAX_RULES}) has no lines of "
            f"'{year.rules}' for {year.year}; choose other rules or another year on Settings, or install a newer "
            "sheetfns"
        )
    reasons = [
        *_of_reading(figures),
        *_of_the_year(content, year),
        *(
            Reason(content.words.sheet(YEAR_END), "", words)
            for words in sums_that_differ(year, rows_by_line(year, content))
        ),
        *_of_the_file(figures),
    ]
    try:
        rebuilt = _rebuilt(content, year.year)
    except LogFileError as error:
        words = f"the log could not be calculated a second time: {error}"
        return Findings((*reasons, Reason(content.words.sheet(SETTINGS), "", words)))
    checks = rebuilt.shown["Data checks"]
    rows = _rows_of_the_file(rebuilt, content)
    anew = [
        *_of_checks(checks[checks["kind"].isin(("fix", "wait"))], rows, told_by_reading(content)),
        *_differences(
            compare(compute_log(rebuilt)).differences,
            "the two calculations disagree: don't use this figure, and report it",
            rows,
            log_layout(),
        ),
    ]
    reasons += [_in_the_file(one, content) for one in anew]
    told = {"Year_figures"} if year.missing else set()
    notices = [
        *(
            Reason(problem.sheet, problem.cell, problem.message)
            for problem in content.problems
            if problem.key == OLDER_LAYOUT
        ),
        *(_in_the_file(one, content) for one in _of_checks(checks[checks["kind"] == "look"], rows, told)),
    ]
    return Findings(tuple(reasons), tuple(notices))


def _in_the_file(reason: Reason, content: LogContent) -> Reason:
    """A reason from the log built anew, with the titles that sheets have in the file."""
    title = content.words.sheet
    said = reason.words.replace(f"(sheet {CHECKS})", f"(sheet {title(CHECKS)})")
    return replace(reason, sheet=title(reason.sheet), words=said)


def _of_reading(figures: LogResults) -> Iterator[Reason]:
    for problem in figures.content.problems:
        if problem.key != OLDER_LAYOUT:
            yield Reason(problem.sheet, problem.cell, problem.message)
    if figures.left_out:
        rows = "1 row is missing" if figures.left_out == 1 else f"{figures.left_out} rows are missing"
        yield Reason(
            figures.content.worded(log_layout()).table("Log").name,
            "",
            f"{rows} entries that figures need; totals leave those figures out. Fill in the blank cells",
        )


def _of_the_year(content: LogContent, year: YearFigures) -> Iterator[Reason]:
    last, as_of = Span(year.year).last, figures_until(content.settings, content.sheets)
    if as_of < last:
        yield Reason(
            content.words.sheet(SETTINGS),
            _setting_cell(content, "As_of_date"),
            f"figures go up to {as_of}, but the year ends on {last}; enter {last} here when the year is over and "
            "everything is entered",
        )
    for name in year.missing:
        start, used = content.block_starts["TaxFigure"], content.block_rows["TaxFigure"]
        yield Reason(
            content.words.sheet(SETTINGS),
            f"A{max([start - 1, *used]) + 1}",
            f"Tax figures by date: {name} needs one row (and only one) that covers {last}; add it when it is published",
        )


def _setting_cell(content: LogContent, name: str) -> str:
    """Where a setting stands; "" where rows were put in over the small tables."""
    places = AddressMap(log_layout())
    first = next(iter(places.block_rows))
    moved = content.block_starts[first] != places.block_rows[first]
    return "" if moved else f"B{places.setting_rows[name]}"


def _of_the_file(figures: LogResults) -> Iterator[Reason]:
    """What the given workbook shows: a formula typed over, or never calculated again."""
    content = figures.content
    if content.lacks:
        return
    differences = compare(figures).differences
    faults = (
        [
            fault
            for fault in formula_faults(content, content.edition, layout_of(content.ready_rows))
            if not (content.older and fault.key == CHANGED)
        ]
        if differences and content.edition
        else []
    )
    for fault in faults:
        more = len(fault.cells) - 1
        also = f" (and in {more} more cells of this column)" if more else ""
        yield Reason(fault.sheet, fault.cells[0], f"{fault.message}{also}; 'sheetfns check --fix' restores what it can")
    yield from _differences(
        differences,
        "run 'sheetfns recalc' on the file; if that doesn't help, a formula was overwritten or changed: 'sheetfns "
        "check' finds it",
        {},
        content.worded(log_layout()),
    )


def _differences(
    found: Sequence[Difference], advice: str, rows: Mapping[str, Mapping[int, int]], layout: Layout
) -> Iterator[Reason]:
    forms = _form_places(layout) if found else {}
    for one in found[:_SHOWN_DIFFERENCES]:
        cell, label = forms.get((one.sheet, one.column), ("", one.column))
        if one.row:
            cell = f"row {rows.get(one.sheet, {}).get(one.row, one.row)}"
        words = f"{label}: the workbook shows {_value(one.shown)}, Python calculates {_value(one.worked_out)}; {advice}"
        yield Reason(one.sheet, cell, words)
    more = len(found) - _SHOWN_DIFFERENCES
    if more > 0:
        yield Reason(found[0].sheet, "", f"{more} more figures differ; {advice}")


def _value(value: Any) -> str:
    if value == "" or pd.isna(value):
        return "nothing"
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    return f"{value:.15g}" if isinstance(value, float) else shown_cell(value)


def _form_places(layout: Layout) -> dict[tuple[str, str], tuple[str, str]]:
    """Cell and label of each result of a form, by the form's name and the result's key."""
    places = AddressMap(layout).form_cells
    found = {}
    for form in layout.forms:
        for line in form.rows:
            for cell in line.cells:
                row, place = places[form.key][cell.key]
                label = line.label or cell.key.replace("_", " ")
                found[form.name, cell.key] = (f"{column_letters(place)}{row}", label)
    return found


def _of_checks(checks: pd.DataFrame, rows: Mapping[str, Mapping[int, int]], told: set[str]) -> Iterator[Reason]:
    for check in checks[checks["count"] != 0].to_dict("records"):
        if check["key"] in told:
            continue
        first, sheet = check["first"], check["sheet"]
        row = "" if pd.isna(first) else f"row {rows.get(sheet, {}).get(int(first), int(first))}"
        more = f", {check['count']:.0f} times" if check["count"] > 1 and row else ""
        yield Reason(sheet, row, f"{check['label']}{more} (sheet {CHECKS})", int(check["count"]))


def _rows_of_the_file(rebuilt: LogContent, content: LogContent) -> dict[str, dict[int, int]]:
    """Rows of the log built anew, where typed rows stand without gaps, and those of the file."""
    return {
        log_layout().table(key).name: dict(
            zip(frame["sheet_row"].tolist(), content.sheets[key]["sheet_row"].tolist(), strict=True)
        )
        for key, frame in rebuilt.sheets.items()
        if len(frame) == len(content.sheets[key])
    }


def _rebuilt(content: LogContent, year: int) -> LogContent:
    """The same entries in a new log with that tax year, recalculated."""
    inputs = content.inputs()
    inputs.settings["Tax_year"] = year
    rows = max(1, content.ready_rows.get("Log", 1))
    while rows < MOST_ROWS and any(
        len(typed) > log_layout(rows).table(key).ready_rows for key, typed in inputs.rows.items()
    ):
        rows = min(2 * rows, MOST_ROWS)
    with tempfile.TemporaryDirectory() as folder:
        return load_log(build_log(Path(folder) / "log.xlsx", "plain", rows, inputs))
