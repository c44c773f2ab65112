"""Copies of one log that two partners went on with, at random."""

from __future__ import annotations

import copy
import datetime as dt
import random
from collections import Counter
from pathlib import Path
from typing import Any

from sheetfns.files.xlsx_file import XlsxFile
from sheetfns.log.edit.conflicts import HEADERS
from sheetfns.log.edit.values import shown
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import CONFLICTS

_COLUMNS = {
    (part.key, column.key): column for part in (*log_layout().tables, *log_layout().blocks) for column in part.columns
}


def edited(inputs: Inputs, seed: int, who: str, edits: int = 12) -> Inputs:
    """What a partner makes of a log: cells changed and cleared, rows new and gone."""
    dice = random.Random(f"{seed} {who}")
    result = copy.deepcopy(inputs)
    keys = [key for key, rows in result.rows.items() if rows]
    for number in range(edits):
        key = dice.choice(keys)
        rows = result.rows[key]
        sort = dice.random()
        if sort < 0.15 and len(rows) > 2:
            rows.pop(dice.randrange(len(rows)))
        elif sort < 0.35:
            rows.append(_new_row(dice, key, rows, f"{who}{number}"))
        elif rows:
            _change_cell(dice, key, dice.choice(rows), f"{who} {number}")
    if dice.random() < 0.5:
        result.settings["Shop_name"] = f"Shop of {who}"
    if dice.random() < 0.5:
        result.blocks["Channel"] = [*result.blocks.get("Channel", []), {"name": f"Channel {who}", "rate": 0.1}][:10]
    return result


def _new_row(dice: random.Random, key: str, rows: list[dict[str, Any]], mark: str) -> dict[str, Any]:
    new = dict(dice.choice(rows)) if rows else {}
    first = log_layout().table(key).inputs()[0].key
    if key in {"Log", "Lots"}:
        # Now and then both partners take the same next number.
        new[first] = f"N{dice.randrange(1, 6)}" if dice.random() < 0.5 else f"N-{mark}"
    for column in log_layout().table(key).inputs():
        if column.kind.name == "Text" and column.key == "description":
            new[column.key] = f"Item {mark}"
    return new


def _change_cell(dice: random.Random, key: str, row: dict[str, Any], mark: str) -> None:
    first = log_layout().table(key).inputs()[0].key
    names = [name for name in row if not (key in {"Log", "Lots"} and name == first)]
    if not names:
        return
    name = dice.choice(names)
    if dice.random() < 0.15 and len(row) > 2:
        del row[name]
        return
    column = _COLUMNS[key, name]
    if column.kind.holds == "date":
        row[name] = dt.date(2026, dice.randrange(1, 6), dice.randrange(1, 28))
    elif column.kind.holds == "number":
        row[name] = float(dice.randrange(1, 90) if column.kind.maximum is None else 1)
    elif not column.choices and not column.names:
        row[name] = f"{row[name]} {mark}"


def typed_values(content: LogContent) -> Counter[tuple[str, str, str]]:
    """Every typed value of a log by sheet and column, so often as it stands there."""
    inputs = content.inputs()
    found: Counter[tuple[str, str, str]] = Counter()
    for parts in (inputs.rows, inputs.blocks):
        for key, rows in parts.items():
            for row in rows:
                for name, value in row.items():
                    found[key, _COLUMNS[key, name].header, _shown(value)] += 1
    for name, value in inputs.settings.items():
        if value not in (None, ""):
            found["Settings", log_layout().setting(name).label, _shown(value)] += 1
    return found


def _shown(value: Any) -> str:
    return shown(float(value) if type(value) is int else value)


def listed_values(path: Path) -> Counter[tuple[str, str]]:
    """Every value on sheet Conflicts by the column that it belongs to."""
    found: Counter[tuple[str, str]] = Counter()
    with XlsxFile(path) as book:
        if CONFLICTS not in book.sheet_names:
            return found
        cells = book.cells(CONFLICTS)
    column, kept, other = (HEADERS.index(h) for h in ("Column", "Kept", "Not kept"))
    for line in cells[1:]:
        for place in (kept, other):
            if line[place] != "":
                found[str(line[column]), _shown(line[place])] += 1
    return found
