"""Results that show an error: where each begins, and how many others only follow from it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from typing import Any, Final

from sheetfns.files.cell_names import column_letters
from sheetfns.log.model.sheets import Column, EditionFormula, FunctionCall
from sheetfns.log.model.typed_rows import Issue
from sheetfns.log.read.cells import shown_of

_WITHOUT_EFFECT: Final = frozenset(
    {"no_formulas", "edition_unclear", "missing_line", "below_ready_rows", "above_ready_rows"}
)
"""Problems from which no result goes wrong."""
_UNKNOWN: Final = "#NAME?"
_CELLS_NAMED: Final = 3
_IN_BRACES: Final = re.compile(r"\{(\w+)\}")

SheetRow = tuple[str, int]
"""The sheet's name and the row, counted from 1."""


@dataclass(frozen=True)
class BadColumn:
    """The cells of a result column that show an error, or something that is no result.

    Attributes:
        sheet: the sheet's name.
        column: the column.
        columns: the place of each column of the sheet, counted from 0.
        cells: what is shown, by row counted from 1.
    """

    sheet: str
    column: Column
    columns: Mapping[str, int]
    cells: dict[int, Any]


@dataclass
class Follows:
    """What results may follow from.

    Attributes:
        problems: what is wrong with the entries.
        headers: header by column key, for the sheets with typed rows, by the sheet's name.
        settings: the name of sheet Settings.
        same_lot: the rows of the same lot, by each of them.
    """

    problems: Sequence[Issue]
    headers: Mapping[str, Mapping[str, str]]
    settings: str
    same_lot: Mapping[SheetRow, frozenset[SheetRow]] = field(default_factory=dict)


def error_problems(bad: Sequence[BadColumn], follows: Follows) -> list[Issue]:
    """A problem for each column in which errors begin, and one for all results that follow."""
    causes = [problem for problem in follows.problems if problem.key not in _WITHOUT_EFFECT]
    sorting = _Sorting(follows, causes, bad)
    for typed in (True, False):
        for one in bad:
            if (one.sheet in follows.headers) == typed:
                sorting.sort(one, typed=typed)
    return [*sorting.begins, *sorting.summary()]


class _Sorting:
    """Sorts results that show errors into those where errors begin and those that follow."""

    def __init__(self, follows: Follows, causes: Sequence[Issue], bad: Sequence[BadColumn]) -> None:
        self.follows = follows
        self.causes = causes
        self.bad_rows = {(one.sheet, one.column.key): frozenset(one.cells) for one in bad}
        self.of_row: dict[SheetRow, list[Issue]] = {}
        self.of_lot: dict[frozenset[SheetRow], Issue] = {}
        """The first problem among the rows of a lot, which share its cost."""
        for problem in causes:
            own = (problem.sheet, row_of(problem))
            self.of_row.setdefault(own, []).append(problem)
            if own in follows.same_lot:
                self.of_lot.setdefault(follows.same_lot[own], problem)
        self.of_settings = [problem for problem in causes if problem.sheet == follows.settings]
        self.unknown_typed = any(problem.found == _UNKNOWN for problem in causes)
        self.begins: list[Issue] = []
        self.follow: list[tuple[BadColumn, int]] = []
        self.at_work: dict[Issue, None] = {}
        """The problems from which results follow, in their order."""

    def sort(self, one: BadColumn, *, typed: bool) -> None:
        needs = _needs(one.column) - {one.column.key}
        first: list[int] = []
        for row, cell in one.cells.items():
            at_work = self._at_work(one, row, cell, typed=typed)
            self.at_work.update(dict.fromkeys(at_work))
            if at_work or any(row in self.bad_rows.get((one.sheet, key), ()) for key in needs):
                self.follow.append((one, row))
            else:
                first.append(row)
        if first:
            self.begins.append(_begins(one, first, self.follows))

    def _at_work(self, one: BadColumn, row: int, cell: Any, *, typed: bool) -> Sequence[Issue]:
        # An entry does not make a function unknown; a program that lacks it does.
        if shown_of(cell) == _UNKNOWN and not self.unknown_typed:
            return [problem for problem in self.begins if problem.found == _UNKNOWN][:1]
        if typed:
            place = (one.sheet, row)
            of_lot = self.of_lot.get(self.follows.same_lot.get(place, frozenset()))
            return self.of_row.get(place) or ([of_lot] if of_lot else self.of_settings)
        return list(islice(self.at_work, 1)) or self.begins or self.causes

    def summary(self) -> list[Issue]:
        """The one problem for all that follows."""
        if not self.follow:
            return []
        one, row = self.follow[0]
        ordered = [p for p in (*self.causes, *self.begins) if p in self.at_work] or self.begins
        cells = list(dict.fromkeys(f"{problem.sheet}!{problem.cell}" for problem in ordered))
        named = ", ".join(cells[:_CELLS_NAMED])
        if len(cells) > _CELLS_NAMED:
            named += f" and {len(cells) - _CELLS_NAMED} more"
        count = len(self.follow)
        what = "1 result shows an error" if count == 1 else f"{count} results show errors"
        return [
            Issue(
                one.sheet,
                f"{column_letters(one.columns[one.column.key])}{row}",
                shown_of(one.cells[row]),
                f"{what} because of the problems above ({named}); fix those first",
                "errors_follow",
            )
        ]


def row_of(problem: Issue) -> int:
    """The row of a problem's cell."""
    return int(problem.cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))


def _needs(column: Column) -> set[str]:
    """Keys of the columns that a result is worked out from, as far as its row goes."""
    formula = column.formula
    if isinstance(formula, EditionFormula):
        halves = (replace(column, formula=formula.plain), replace(column, formula=formula.functions))
        return set().union(*map(_needs, halves))
    if formula is None:
        return set()
    texts = [formula.blank_if]
    texts += list(formula.arguments.values()) if isinstance(formula, FunctionCall) else [formula.text]
    return {key for text in texts for key in _IN_BRACES.findall(text)}


def _begins(one: BadColumn, rows: Sequence[int], follows: Follows) -> Issue:
    row = rows[0]
    shown = shown_of(one.cells[row])
    more = f" and {len(rows) - 1} more in this column" if len(rows) > 1 else ""
    headers = follows.headers.get(one.sheet, {})
    inputs = [
        f"{headers[key]} ({column_letters(one.columns[key])}{row})"
        for key in sorted(_needs(one.column), key=lambda key: one.columns.get(key, 0))
        if key in headers and key in one.columns
    ]
    if shown == _UNKNOWN:
        advice = (
            "the program that saved this doesn't know a name in the formula; run 'sheetfns recalc' on the log, or fix "
            "the formula"
        )
    elif inputs:
        advice = f"check {', '.join(inputs)}; if nothing is wrong there, fix the formula"
    else:
        advice = "no entry explains it, so fix the formula"
    return Issue(
        one.sheet,
        f"{column_letters(one.columns[one.column.key])}{row}",
        shown,
        f"{one.column.header}: shows {shown}{more}; {advice}",
        "error_in_result",
    )
