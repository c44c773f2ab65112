"""Results that show an error: where each begins, and how many others only follow from it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from sheetfns.log.places import column_letter
from sheetfns.log.read_cells import Problem, shown_of
from sheetfns.log.sheets import Call, Column

_WITHOUT_EFFECT: Final = frozenset(
    {"no_formulas", "edition_unclear", "missing_line", "below_ready_rows", "above_ready_rows"}
)
"""Problems from which no result goes wrong."""
_UNKNOWN: Final = "#NAME?"
_CELLS_NAMED: Final = 3
_IN_BRACES: Final = re.compile(r"\{(\w+)\}")


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
        same_lot: rows of a sheet that another row may spoil, by (sheet, row) of that one.
    """

    problems: Sequence[Problem]
    headers: Mapping[str, Mapping[str, str]]
    settings: str
    same_lot: Mapping[tuple[str, int], frozenset[tuple[str, int]]] = field(default_factory=dict)


def error_problems(bad: Sequence[BadColumn], follows: Follows) -> list[Problem]:
    """A problem for each column in which errors begin, and one for all results that follow."""
    causes = [problem for problem in follows.problems if problem.key not in _WITHOUT_EFFECT]
    spoiled = _spoiled_rows(causes, follows)
    spoiled_everywhere = any(problem.sheet == follows.settings for problem in causes)
    unknown_typed = any(problem.found == _UNKNOWN for problem in causes)
    bad_rows: dict[tuple[str, str], frozenset[int]] = {
        (one.sheet, one.column.key): frozenset(one.cells) for one in bad
    }
    begins: list[Problem] = []
    follow: list[tuple[BadColumn, int]] = []

    def sort(one: BadColumn, *, typed: bool) -> None:
        needs = _needs(one.column)
        bad_needs: frozenset[int] = frozenset().union(
            *(bad_rows.get((one.sheet, key), frozenset()) for key in needs - {one.column.key})
        )
        first: list[int] = []
        for row, cell in one.cells.items():
            by_entry = (
                (spoiled_everywhere or (one.sheet, row) in spoiled)
                if typed
                else bool(causes or begins)
            )
            # An entry does not make a function unknown; a program that lacks it does.
            if shown_of(cell) == _UNKNOWN and not unknown_typed:
                by_entry = bool(begins) and not typed
            if by_entry or row in bad_needs:
                follow.append((one, row))
            else:
                first.append(row)
        if first:
            begins.append(_begins(one, first, follows))

    for one in bad:
        if one.sheet in follows.headers:
            sort(one, typed=True)
    for one in bad:
        if one.sheet not in follows.headers:
            sort(one, typed=False)
    return [*begins, *_summary(follow, [*causes, *begins])]


def _spoiled_rows(causes: Sequence[Problem], follows: Follows) -> frozenset[tuple[str, int]]:
    own = {(problem.sheet, row_of(problem)) for problem in causes}
    linked = [follows.same_lot.get(row, frozenset()) for row in own]
    return frozenset(own).union(*linked)


def row_of(problem: Problem) -> int:
    """The row of a problem's cell."""
    return int(problem.cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))


def _needs(column: Column) -> set[str]:
    """Keys of the columns that a result is worked out from, as far as its row goes."""
    formula = column.formula
    if formula is None:
        return set()
    texts = [formula.blank_if]
    texts += list(formula.arguments.values()) if isinstance(formula, Call) else [formula.text]
    return {key for text in texts for key in _IN_BRACES.findall(text)}


def _begins(one: BadColumn, rows: Sequence[int], follows: Follows) -> Problem:
    row = rows[0]
    shown = shown_of(one.cells[row])
    more = f" and {len(rows) - 1} more in this column" if len(rows) > 1 else ""
    headers = follows.headers.get(one.sheet, {})
    inputs = [
        f"{headers[key]} ({column_letter(one.columns[key])}{row})"
        for key in sorted(_needs(one.column), key=lambda key: one.columns.get(key, 0))
        if key in headers and key in one.columns
    ]
    if shown == _UNKNOWN:
        advice = (
            "the program that saved this does not know a name in the formula; run "
            "'sheetfns recalc' on the log, or mend the formula"
        )
    elif inputs:
        advice = f"look at {', '.join(inputs)}; if nothing is wrong there, mend the formula"
    else:
        advice = "nothing that is typed explains it, so mend the formula"
    return Problem(
        one.sheet,
        f"{column_letter(one.columns[one.column.key])}{row}",
        shown,
        f"{one.column.header}: shows {shown}{more}; {advice}",
        "error_in_result",
    )


def _summary(follow: Sequence[tuple[BadColumn, int]], causes: Sequence[Problem]) -> list[Problem]:
    if not follow:
        return []
    one, row = follow[0]
    cells = list(dict.fromkeys(f"{problem.sheet}!{problem.cell}" for problem in causes))
    named = ", ".join(cells[:_CELLS_NAMED])
    if len(cells) > _CELLS_NAMED:
        named += f" and {len(cells) - _CELLS_NAMED} more"
    what = "1 result shows an error" if len(follow) == 1 else f"{len(follow)} results show errors"
    return [
        Problem(
            one.sheet,
            f"{column_letter(one.columns[one.column.key])}{row}",
            shown_of(one.cells[row]),
            f"{what} because of cells named above ({named}); mend those",
            "errors_follow",
        )
    ]
