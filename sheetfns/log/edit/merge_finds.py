"""The finds of a pocket copy brought home into their log: each once, and none that cannot be right."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from sheetfns.errors import LogFileError
from sheetfns.files.safe_files import sole_use
from sheetfns.files.workbook_file import refuse_ods
from sheetfns.log.edit.conflicts import pocket_lines
from sheetfns.log.edit.csv_import.import_plan import problem_key
from sheetfns.log.edit.finds_taken import FindKey, Taken, find_key, taken_before, taken_lines
from sheetfns.log.edit.merge import NUMBERED, free_rows, refuse_ending, refuse_older, refuse_other_words, write_result
from sheetfns.log.edit.merge_rows import (
    Cells,
    Difference,
    MergeOutcome,
    Rules,
    different_items,
    merge_cells,
    same,
    same_cells,
)
from sheetfns.log.edit.patch import CellEdit, NewSheet, Patched
from sheetfns.log.edit.pocket import marks_of_items
from sheetfns.log.edit.read_finds import Find, PocketRead, read_pocket
from sheetfns.log.edit.values import plain_value, shown, writable
from sheetfns.log.load import load_log
from sheetfns.log.model.typed_rows import Issue
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.finds import layout as finds
from sheetfns.log.sheets.reference_lists import ReferenceLists
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import FINDS

_TABLE: Final = log_layout().table("Log")
_COLUMNS: Final = finds.sheet().inputs()
_KEYS: Final = tuple(column.key for column in _COLUMNS)
_RULES: Final = Rules(
    _TABLE.name,
    ("item_no",),
    numbered=True,
    identity=NUMBERED["Log"],
    headers={column.key: column.header for column in _TABLE.columns},
)


@dataclass(frozen=True)
class FindsReport:
    """What came of it.

    Attributes:
        path: the log with the finds.
        pocket: the pocket copy.
        added: the finds that are new rows of the sourcing log, in words.
        known: how many came home before and say the same.
        refused: what could not be taken, by its cell, with what to do.
        notes: what there is to know of what was taken, or was there before.
        differences: what a find and its row of the log differ on, the most urgent first.
        new_problems: what is wrong with the log now and was not before.
        patched: what came of writing; None if there was nothing to write.
    """

    path: Path
    pocket: Path
    added: tuple[str, ...]
    known: int
    refused: tuple[str, ...]
    notes: tuple[str, ...]
    differences: tuple[Difference, ...]
    new_problems: tuple[Issue, ...]
    patched: Patched | None


@dataclass(frozen=True)
class FindsPlan:
    """What the finds of a pocket copy would do to their log; nothing is written yet.

    Attributes:
        content: the log.
        edits, new_sheets: what to write.
        added: the finds that are new rows of the sourcing log, in words.
        known, refused, notes, differences: see `FindsReport`.
    """

    content: LogContent
    edits: tuple[CellEdit, ...]
    new_sheets: tuple[NewSheet, ...]
    added: tuple[str, ...]
    known: int
    refused: tuple[str, ...]
    notes: tuple[str, ...]
    differences: tuple[Difference, ...]


def plan_finds(
    log: Path | str, pocket: Path | str, *, today: dt.date | None = None, step: Callable[[str], None] = lambda _: None
) -> FindsPlan:
    """Work out what the finds would do to the log. For arguments and errors see `merge_finds`."""
    today = today or dt.datetime.now().astimezone().date()
    step("Reading the log")
    content = load_log(log)
    refuse_older(content)
    refuse_other_words(content)
    step("Reading the pocket copy")
    read = read_pocket(Path(pocket))
    before = taken_before(content)
    _refuse_other_log(content, read, before)
    step("Comparing")
    home = _Homecoming(content, read, before)
    home.everything()
    lines = pocket_lines(home.differences, content, Path(pocket).name)
    taken = taken_lines(content, read.mark, today, home.new, home.corrected)
    order = list(MergeOutcome)
    return FindsPlan(
        content,
        (*home.edits(), *lines.edits, *taken.edits),
        tuple(one.new_sheet for one in (lines, taken) if one.new_sheet is not None),
        tuple(home.added),
        home.known,
        (*read.refused, *home.refused),
        (*read.notes, *home.notes),
        tuple(sorted(home.differences, key=lambda one: order.index(one.outcome))),
    )


def merge_finds(
    log: Path | str,
    pocket: Path | str,
    out: Path | str | None = None,
    *,
    today: dt.date | None = None,
    step: Callable[[str], None] = lambda _: None,
) -> FindsReport:
    """Add the finds of a pocket copy to the log that it was made from.

    A find that came home before is not added again. What was corrected in the pocket copy since is taken where the
    log still has the old value, and listed in any case.

    Args:
        log: the log, an .xlsx workbook.
        pocket: the pocket copy, .xlsx or .ods, whichever program has saved it.
        out: the result; the log itself if left out, of which a dated copy is kept.
        today: the day that is written beside what was taken.
        step: is told what is being done.

    Errors:
        LogFileError: a file cannot be used, the pocket copy is of another log, or its finds do not fit. Then nothing
            is written.
    """
    log, pocket = Path(log), Path(pocket)
    out = log if out is None else Path(out)
    refuse_ods(log)
    if out.exists() and out.samefile(pocket):
        raise LogFileError(f"{out}: would be overwritten; give the result another name")
    refuse_ending(log, out)
    with sole_use(out):
        plan = plan_finds(log, pocket, today=today, step=step)
        step("Writing the result")
        patched = write_result(log, out, list(plan.edits), plan.new_sheets)
    wrote = patched is not None and not patched.unchanged
    known = {problem_key(one) for one in plan.content.problems}
    problems = [one for one in load_log(out).problems if problem_key(one) not in known] if wrote else []
    return FindsReport(
        out, pocket, plan.added, plan.known, plan.refused, plan.notes, plan.differences, tuple(problems), patched
    )


def _refuse_other_log(content: LogContent, read: PocketRead, before: Mapping[FindKey, Taken]) -> None:
    if any(mark == read.mark.casefold() for mark, _ in before):
        return
    shop = str(content.settings.get("Shop_name") or "")
    other_shop = bool(shop and read.shop and shop.casefold() != read.shop.casefold())
    none_there = read.known_by and not read.known_by & marks_of_items(content.sheets["Log"])
    if none_there or (not read.known_by and other_shop):
        why = "none of its items that the pocket copy knows is there" if none_there else f"that log is of {read.shop}"
        raise LogFileError(
            f"{read.path.name}: was made from {read.made_from}, and {content.path.name} is another log ({why}); merge "
            "it into the log that it was made from"
        )


@dataclass
class _Homecoming:
    """The finds of a pocket copy, one after the other."""

    content: LogContent
    read: PocketRead
    before: Mapping[FindKey, Taken]
    differences: list[Difference] = field(default_factory=list)
    added: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    known: int = 0
    new: list[Cells] = field(default_factory=list)
    """Finds that the log has from now on."""
    corrected: dict[FindKey, Cells] = field(default_factory=dict)
    """Finds that say something else than when they came home."""

    def __post_init__(self) -> None:
        typed = self.content.inputs().rows.get("Log", [])
        sheet_rows = self.content.sheets["Log"]["sheet_row"].tolist()
        self._rows = {
            row: {key: plain_value(value) for key, value in cells.items() if value not in (None, "")}
            for row, cells in zip(sheet_rows, typed, strict=True)
        }
        self._by_number: dict[str, int] = {}
        for row, cells in self._rows.items():
            if "item_no" in cells:
                self._by_number.setdefault(shown(cells["item_no"]).casefold(), row)
        self._added_rows: list[Cells] = []
        self._changes: dict[int, Cells] = {}
        self._lists = ReferenceLists.of(self.content.settings, self.content.blocks)

    def everything(self) -> None:
        """Decide on every find."""
        here = {find_key(self.read.mark, find.number) for find in self.read.finds}
        gone = [one for key, one in self.before.items() if key[0] == self.read.mark.casefold() and key not in here]
        for find in self.read.finds:
            cells = self._spelled(find.cells)
            taken = self.before.get(find_key(self.read.mark, find.number))
            row = self._by_number.get(find.number.casefold())
            if taken is not None:
                self._came_before(find, cells, taken, row)
            elif row is not None:
                self._has_a_row(find, cells, row)
            elif (other := next((one for one in gone if _same_but_number(one.cells, cells)), None)) is not None:
                self.notes.append(
                    f"{FINDS}, row {find.row}: {find.named} came home as {shown(other.cells['item_no'])}, and its "
                    "number was changed in the pocket copy since; it was not added again"
                )
            else:
                self._added_rows.append(cells)
                self.added.append(find.named)
                self.new.append(cells)

    def _came_before(self, find: Find, cells: Cells, taken: Taken, row: int | None) -> None:
        changed = not same_cells(cells, taken.cells)
        if row is None:
            say = "what was corrected since was not taken" if changed else "it was not added again"
            self.notes.append(
                f"{FINDS}, row {find.row}: {find.named} came home before, and {_TABLE.name} has no item of that number "
                f"now; {say}. Where it was deleted or renumbered by mistake, correct it there"
            )
            return
        if not changed:
            self.known += 1
            return
        self.corrected[find_key(self.read.mark, find.number)] = cells
        self._merge(row, cells, taken.cells)

    def _has_a_row(self, find: Find, cells: Cells, row: int) -> None:
        """A find whose number the log has, though it does not say where from."""
        ours = self._of_finds(row)
        if different_items(_RULES, ours, cells):
            stands = ", ".join(shown(ours[key]) for key in NUMBERED["Log"] if key in ours)
            self.refused.append(
                f"{FINDS}, {find.number_cell}: item no. {find.number} is another item in {_TABLE.name} ({stands}); "
                f"enter a number that no item has, and merge again ({find.named})"
            )
            return
        self.known += same_cells(ours, cells)
        self.new.append(cells)
        self._merge(row, cells, None)

    def _merge(self, row: int, cells: Cells, base: Cells | None) -> None:
        ours = self._of_finds(row)
        merged, found = merge_cells(_RULES, ours, cells, base, shown(ours["item_no"]))
        # What was changed in the log alone is no news.
        self.differences += [one for one in found if one.outcome is not MergeOutcome.changed or not one.kept_ours]
        self._changes[row] = merged

    def _of_finds(self, row: int) -> Cells:
        return {key: value for key, value in self._rows[row].items() if key in _KEYS}

    def _spelled(self, cells: Cells) -> Cells:
        """A find with the words of the log's lists in its capitals."""
        result = dict(cells)
        for column in _COLUMNS:
            names = self._lists.listed(column)
            if names is not None and isinstance(cells.get(column.key), str):
                result[column.key] = names.spelled([cells[column.key]])[0]
        return result

    def edits(self) -> Iterator[CellEdit]:
        """The cells of the sourcing log that change.

        Errors:
            LogFileError: there are not enough free rows.
        """
        place = self.content.places["Log"]
        free = free_rows(self.content, _TABLE, set(self._rows), len(self._added_rows), self.read.path.name)
        for row, cells in zip(free, self._added_rows, strict=False):
            for key, value in cells.items():
                yield CellEdit(place.sheet, row, place.columns[key] + 1, writable(value))
        for row, cells in self._changes.items():
            ours = self._of_finds(row)
            for key in _KEYS:
                if not same(ours.get(key), cells.get(key)):
                    yield CellEdit(place.sheet, row, place.columns[key] + 1, writable(cells.get(key)))


def _same_but_number(one: Cells, other: Cells) -> bool:
    def rest(cells: Cells) -> dict[str, Any]:
        return {key: value for key, value in cells.items() if key != "item_no"}

    return same_cells(rest(one), rest(other))
