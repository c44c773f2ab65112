"""The menu's command that merges a partner's copy, or the finds of a pocket copy, into the log on the screen."""

from __future__ import annotations

import datetime as dt
import shutil
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Final

from sheetfns.cell_types import counted
from sheetfns.errors import LogFileError
from sheetfns.files.comments import comments_of
from sheetfns.log.edit.merge import Decision, MergePlan, plan_merge
from sheetfns.log.edit.merge_finds import plan_finds
from sheetfns.log.edit.merge_rows import Difference, MergeOutcome
from sheetfns.log.edit.merges_made import common_copy, merge_line, name_of_common_copy
from sheetfns.log.edit.patch import CellEdit
from sheetfns.log.edit.read_finds import is_pocket
from sheetfns.log.edit.values import shown
from sheetfns.log.load import load_log
from sheetfns.log.sheets.words import CONFLICTS, FINDS, LOG
from sheetfns.programs.forms import Field, Form
from sheetfns.programs.result_files import Place
from sheetfns.programs.screens import Screen, copy_of_log
from sheetfns.programs.shown_rows import Rows

_LATER: Final = f"later, on sheet {CONFLICTS}"
_SHOWN: Final = 8
_HEADERS: Final = ("Sheet", "Cell", "Which", "Column", "In this log", "In the other copy", "What happens")
_WIDTHS: Final = (20, 8, 24, 20, 26, 26, 40)


def merge(screen: Screen) -> None:
    """Ask for the other copy, show what would be taken, let conflicts be decided, and type it in."""
    theirs = screen.ask_file("Which file is your partner's copy, or your pocket copy?", ".xlsx")
    if theirs is None:
        return
    home = screen.log_path()
    if home is not None and home.exists() and theirs.exists() and home.samefile(theirs):
        raise LogFileError(f"{theirs.name}: is the log on the screen itself; choose the other copy")
    with copy_of_log(screen) as log:
        if is_pocket(theirs):
            _bring_finds(screen, log, theirs)
        else:
            _merge_copies(screen, log, theirs, home)


def _bring_finds(screen: Screen, log: Path, pocket: Path) -> None:
    plan = plan_finds(log, pocket, step=screen.step)
    lines = [f"{counted(len(plan.added), 'new row')} for sheet {LOG}", *_first([f"- {one}" for one in plan.added])]
    if plan.known:
        lines.append(f"In the log already: {counted(plan.known, 'find')}")
    lines += _first([*plan.notes, *plan.refused, *map(_in_words, plan.differences)])
    if not plan.edits and not plan.new_sheets:
        screen.show_message("\n".join([f"{pocket.name}: nothing to add.", *lines[1:]]))
        return
    if screen.ask_yes("\n".join([*lines, "", f"Enter the finds of {pocket.name}?"])):
        screen.set_cells(plan.edits, plan.new_sheets)
        refused = f" What could not be taken: correct it on sheet {FINDS} and merge again." if plan.refused else ""
        screen.show_message(f"{counted(len(plan.added), 'find')} entered. Look at the rows, then save.{refused}")


def _merge_copies(screen: Screen, log: Path, theirs: Path, home: Path | None) -> None:
    base, about_base = _base(log, theirs, home)
    plan = plan_merge(log, theirs, base, step=screen.step)
    notes = [about_base, *_comments(log, theirs)]
    if not plan.edits and not plan.differences and not any(plan.writes()):
        screen.show_message("\n".join(["The other copy has nothing that this log lacks.", *notes]))
        return
    screen.show_table("Merge", _rows(plan), _WIDTHS)
    decided = _decide(screen, plan)
    if decided is None:
        return
    cells, rows = len(decided.edits), sum(plan.rows_added.values())
    open_ones = [one for one in decided.differences if one.outcome is not MergeOutcome.changed]
    lines = [f"{counted(cells, 'cell')} would be entered, {counted(rows, 'new row')} among them."]
    if open_ones:
        lines.append(f"Sheet {CONFLICTS} will list {counted(len(open_ones), 'difference')}.")
    if not screen.ask_yes("\n".join([*lines, *notes, "", "Enter them? Undo takes it back."])):
        return
    _enter(screen, decided, theirs, home, rows)


def _enter(screen: Screen, plan: MergePlan, theirs: Path, home: Path | None, rows: int) -> None:
    today = dt.datetime.now().astimezone().date()
    common = None if home is None else name_of_common_copy(home, today, home.parent)
    line = None if common is None else merge_line(today, theirs.name, len(plan.edits), rows, common.name)
    edits, sheets = plan.writes(line)
    screen.set_cells(edits, sheets)
    words = ["The merge is entered. Look at it, save, and give your partner this log."]
    if common is not None:
        with tempfile.TemporaryDirectory(prefix="sheetfns-", ignore_cleanup_errors=True) as folder:
            copy = screen.current_copy(Path(folder))
            if copy is not None:
                shutil.copyfile(copy, common)
                words.append(f"{common.name} beside it is what both of you have now; the next merge goes by it.")
    screen.show_message("\n".join(words))


def _base(log: Path, theirs: Path, home: Path | None) -> tuple[Path | None, str]:
    """The common copy of an earlier merge, and what to say of it."""
    name = common_copy(load_log(log), load_log(theirs))
    if not name:
        return None, "No earlier merge is common to both, so what differs is listed."
    found = home.parent / name if home is not None else None
    if found is None or not found.is_file():
        return None, f"{name}, the common copy of the last merge, is not beside the log, so what differs is listed."
    return found, f"Compared by {name}, the common copy of the last merge."


def _comments(log: Path, theirs: Path) -> list[str]:
    here = comments_of(log)
    new = [one for one in comments_of(theirs) if one not in here]
    if not new:
        return []
    named = [f"- {one.sheet} {one.cell}: {one.text}" for one in new]
    return ["Comments of the other copy are not taken over:", *_first(named)]


def _decide(screen: Screen, plan: MergePlan) -> MergePlan | None:
    """The plan as the user decides each conflict; None if the form is left."""
    if not plan.decisions:
        return plan
    fields = tuple(_choice(place, one) for place, one in enumerate(plan.decisions))
    answers = screen.ask_form(
        Form(
            "Both copies changed it",
            fields,
            words="Choose which value is right. What you leave for later keeps this log's value, and is listed.",
        )
    )
    if answers is None:
        return None
    chosen = [one for place, one in enumerate(plan.decisions) if answers[f"c{place}"] == _take(one.difference)]
    return plan.decided(chosen)


def _choice(place: int, one: Decision) -> Field:
    found = one.difference
    return Field(
        f"c{place}",
        " ".join(part for part in (found.sheet, found.named, found.column) if part),
        choices=(_keep(found), _take(found), _LATER),
        default=_LATER,
        note=f"before: {shown(found.last)}" if found.last is not None else "",
        needed=True,
    )


def _keep(one: Difference) -> str:
    return f"keep {shown(one.kept) if one.kept is not None else 'it blank'}"


def _take(one: Difference) -> str:
    return f"take {shown(one.other) if one.other is not None else 'the blank'}"


def _rows(plan: MergePlan) -> Rows:
    rows: Rows = [list(_HEADERS)]
    decisions = {id(one.difference): one.edit for one in plan.decisions}
    told = {(edit.sheet, edit.row, edit.column) for edit in decisions.values()}
    for one in plan.differences:
        edit = decisions.get(id(one))
        cell = Place(edit.cell, edit.sheet) if edit is not None else None
        ours, other = (one.kept, one.other) if one.kept_ours else (one.other, one.kept)
        rows.append([one.sheet, cell, one.named, one.column, _shown(ours), _shown(other), one.outcome.value])
    rows += [
        [edit.sheet, Place(edit.cell, edit.sheet), None, None, None, _shown(edit.value), "Entered from the other copy"]
        for edit in _in_order(plan.edits)
        if (edit.sheet, edit.row, edit.column) not in told
    ]
    return rows


def _in_order(edits: Iterable[CellEdit]) -> list[CellEdit]:
    return sorted(edits, key=lambda one: (one.sheet, one.row, one.column))


def _shown(value: object) -> str | None:
    return None if value is None or value == "" else shown(value)


def _in_words(one: Difference) -> str:
    where = " ".join(part for part in (one.sheet, one.named, one.column) if part)
    return f"{where}: {one.outcome.value}; kept {_shown(one.kept) or 'blank'}, not kept {_shown(one.other) or 'blank'}"


def _first(lines: Sequence[str]) -> list[str]:
    more = len(lines) - _SHOWN
    return [*lines[:_SHOWN], *([f"... and {more} more."] if more > 0 else [])]
