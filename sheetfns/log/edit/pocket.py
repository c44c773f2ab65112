"""Making a pocket copy of a log: a small workbook for a buying trip, whose finds `merge` brings home."""

from __future__ import annotations

import datetime as dt
import hashlib
import secrets
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import pandas as pd

from sheetfns.errors import LogFileError
from sheetfns.files.cell_names import cell_name
from sheetfns.files.safe_files import atomic_write, folder_for_drafts
from sheetfns.hosts import engine
from sheetfns.log.compute import compute_log
from sheetfns.log.edit.macros import upgrade_command
from sheetfns.log.edit.values import plain_value
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.version import LAYOUT
from sheetfns.log.read.content import LogContent
from sheetfns.log.read.sheet_reader import typed_values
from sheetfns.log.sheets import pocket
from sheetfns.log.sheets.pocket import CASH, KNOWN_BY, LAYOUT_NUMBER, MADE_FROM, MADE_ON, MARK, Needed, pocket_layout
from sheetfns.log.sheets.reference_lists import ReferenceLists
from sheetfns.log.sheets.words import FIND_ROWS, SETTINGS
from sheetfns.log.write.pocket import write_pocket

MOST_COMPARABLES: Final = 1000
"""Comparable items that a pocket copy holds: with more it would not stay small."""
_LETTERS: Final = "BCDFGHJKLMNPQRSTVWXZ"
"""No vowels: a mark is no word, and no digits: it is no number."""
_MARK_LENGTH: Final = 4
_ITEMS_KNOWN: Final = 4
"""Of so many first and so many last items the log is known again; some of them may change."""
_DIGEST: Final = 8


@dataclass(frozen=True)
class PocketCopy:
    """A pocket copy that was made.

    Attributes:
        path: the file.
        mark: what its item numbers begin with.
        comparables, of_comparables: how many comparable items it holds, and how many the log has.
        notes: where it says less than the log; its sheets say so too.
    """

    path: Path
    mark: str
    comparables: int
    of_comparables: int
    notes: tuple[str, ...]


def make_pocket(
    log: Path | str,
    out: Path | str,
    step: Callable[[str], None] = lambda _: None,
    *,
    mark: str = "",
    today: dt.date | None = None,
) -> PocketCopy:
    """Make a pocket copy of a log; the log stays as it is.

    Args:
        log: a log of either edition, .xlsx or .ods.
        out: the new file, ending in .xlsx.
        step: is told what is being done.
        mark: what its item numbers begin with; by chance, and with none of the log's, if left out.
        today: the day that it says it was made on.

    Errors:
        LogFileError: no log, one of an earlier layout, a setting that cannot be read, or a file that is there already
            or cannot be written. Then nothing is written.
    """
    log, out = Path(log), Path(out)
    if out.suffix.lower() != ".xlsx":
        raise LogFileError(f"{out}: give the pocket copy a name that ends in .xlsx")
    if out.exists():
        raise LogFileError(f"{out}: already exists; merge the finds in it first, then choose another name or delete it")
    step("Reading the log")
    content = load_log(log)
    _refuse_older(content)
    wanted = pocket.needed()
    _refuse_unread(content, wanted)
    today = today or dt.datetime.now().astimezone().date()
    mark = mark or _new_mark(content)
    comparables, of_comparables = _comparables(content, wanted.comparables)
    inputs = _inputs(content, wanted, mark, today)
    inputs.blocks["Comps"] = comparables
    rows = {key: len(typed) for key, typed in (inputs.blocks | inputs.rows).items()}
    fewer, plan = _comparables_note(len(comparables), of_comparables), _plan_note(content)
    layout = pocket_layout(rows, fewer, plan)
    notes = (fewer, f"{layout.table('Plan').name}: {plan}" if plan else "")
    origin = f"Copied from {log.name} on {today.isoformat()}."
    with folder_for_drafts(out) as folder:
        draft = folder / "draft.xlsx"
        step("Calculating it")
        write_pocket(draft, layout, inputs, origin)
        values = engine.recalculate(draft, messages=False)
    step("Writing it")
    with atomic_write(out) as beside:
        write_pocket(beside, layout, inputs, origin, values)
    return PocketCopy(out, mark, len(comparables), of_comparables, tuple(filter(None, notes)))


def known_by(items: pd.DataFrame) -> list[str]:
    """By what a log is known again: marks of its first and last items."""
    rows = [*zip(items["item_no"], items["bought_on"], items["description"], strict=True)]
    rows = [row for row in rows if row[0]]
    few = rows if len(rows) <= 2 * _ITEMS_KNOWN else [*rows[:_ITEMS_KNOWN], *rows[-_ITEMS_KNOWN:]]
    return [*map(_digest, few)]


def marks_of_items(items: pd.DataFrame) -> set[str]:
    """The same of every item of a log."""
    return {*map(_digest, zip(items["item_no"], items["bought_on"], items["description"], strict=True))}


def _digest(item: tuple[Any, ...]) -> str:
    number, day, description = item
    text = "|".join((str(number), "" if pd.isna(day) else f"{day:%Y-%m-%d}", str(description))).casefold()
    return hashlib.sha256(text.encode()).hexdigest()[:_DIGEST]


def _refuse_older(content: LogContent) -> None:
    if content.older:
        raise LogFileError(
            f"{content.path}: has layout {content.layout}, and a pocket copy is made of a log of layout {LAYOUT}; run "
            f"{upgrade_command(content.path)} and make it of the new log"
        )


def _refuse_unread(content: LogContent, wanted: Needed) -> None:
    """Refuse settings that the log itself cannot use: a verdict on a phone would be no better."""
    cells = []
    for _, name in content.unread.get(SETTINGS, {}):
        if name in wanted.settings:
            row, column = content.setting_places.cells[name]
            cells.append(cell_name(row, column + 1))
    for key, columns in wanted.blocks.items():
        for row, name in content.unread.get(key, {}):
            if name in columns:
                cells.append(cell_name(row, content.places[key].columns[name] + 1))
    sheet = content.setting_places.sheet
    for problem in content.problems:
        if problem.sheet == sheet and problem.cell in cells:
            raise LogFileError(
                f"{content.path.name}, sheet {sheet}, {problem.cell}: {problem.message}; then make the pocket copy"
            )


def _new_mark(content: LogContent) -> str:
    numbers = [str(number).upper() for number in content.sheets["Log"]["item_no"]]
    while True:
        mark = "".join(secrets.choice(_LETTERS) for _ in range(_MARK_LENGTH))
        if not any(number.startswith(mark) for number in numbers):
            return mark


def _inputs(content: LogContent, wanted: Needed, mark: str, today: dt.date) -> Inputs:
    """What a pocket copy holds of a log: values as they stand there."""
    whole = content.inputs()
    settings: dict[str, Any] = {
        MADE_FROM: content.path.name,
        MADE_ON: today,
        MARK: mark,
        KNOWN_BY: " ".join(known_by(content.sheets["Log"])),
        LAYOUT_NUMBER: str(LAYOUT),
    }
    settings[CASH] = float(compute_log(content)["Pay"]["buying_cash"].iloc[0])
    settings |= {name: content.settings[name] for name in wanted.settings if name in content.settings}
    blocks = {
        key: [{name: row[name] for name in columns if name in row} for row in whole.blocks[key]]
        for key, columns in wanted.blocks.items()
        if key in whole.blocks
    }
    if "Source" in wanted.blocks:
        sources = ReferenceLists.of(content.settings, content.blocks).sources.words
        blocks["Source"] = [{"name": word} for word in sources]
    rows: dict[str, list[Row]] = {
        "Plan": whole.rows.get("Plan", []),
        "Finds": [{"item_no": f"{mark}-{number:02d}"} for number in range(1, FIND_ROWS + 1)],
    }
    return Inputs(settings, blocks, rows, {"Shelf": _shelf(content)})


def _shelf(content: LogContent) -> Row:
    """The channel to begin with: the one on the log's own Shelf check."""
    chosen = content.forms.get("Shelf", {}).get("channel")
    known = {name.casefold() for name in content.blocks["Channel"]["name"] if name}
    return {"channel": chosen} if chosen and chosen.casefold() in known else {}


def _comparables(content: LogContent, columns: Iterable[str]) -> tuple[list[Row], int]:
    """One row for each comparable item, in the order of the log, and how many the log has.

    Of more than fit those with the newest rows stay.
    """
    frame = compute_log(content)["Comps"]
    named = frame[frame["item"] != ""]
    names = named["item"].str.casefold()
    first = named[~names.duplicated()]
    kept = first
    if len(first) > MOST_COMPARABLES:
        newest = named["seen_on"].groupby(names).max().fillna(pd.Timestamp.min)
        ranks = newest.rank(method="first", ascending=False)
        kept = first[first["item"].str.casefold().map(ranks) <= MOST_COMPARABLES]
    values = {key: typed_values(kept[key]) for key in columns}
    return [*_rows(values, len(kept))], len(first)


def _rows(values: dict[str, list[Any]], count: int) -> Iterator[Row]:
    for place in range(count):
        row = {key: plain_value(cells[place]) for key, cells in values.items()}
        yield {key: value for key, value in row.items() if value not in (None, "")}


def _comparables_note(here: int, of_all: int) -> str:
    if here == of_all:
        return ""
    return f"{here} of the log's {of_all} comparable items are here: the newest."


def _plan_note(content: LogContent) -> str:
    if content.edition != "functions":
        return ""
    return "Goes down the ranking here; the log itself finds the best choice."
