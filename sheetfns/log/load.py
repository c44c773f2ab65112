"""A log read and judged: what every command works with."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

from sheetfns.files.cell_names import column_number
from sheetfns.files.sheet_cells import CellSource
from sheetfns.log.model.sheets import SettingsBlock
from sheetfns.log.model.typed_rows import Issue
from sheetfns.log.read.content import LogContent
from sheetfns.log.read.error_results import Follows, error_problems
from sheetfns.log.read.file_words import as_in_file
from sheetfns.log.read.log_reader import LogRead, read_cells_of_log, read_log
from sheetfns.log.read.sheet_reader import plain
from sheetfns.log.sheets.checked_rows import judged
from sheetfns.log.sheets.reference_lists import Names, ReferenceLists, spell_as_listed
from sheetfns.log.sheets.settings.validate import CheckedSettings, judged_settings

__all__ = ["LogContent", "load_cells", "load_log"]


def load_log(path: Path | str, *, lenient: bool = False) -> LogContent:
    """Read a filled log of either edition, with all that cannot be read or cannot be right.

    Args:
        path: the log.
        lenient: whether sheets, columns and labels that are missing are taken for blank and listed among the
            problems, instead of refusing the log.

    Errors:
        LogFileError: no workbook, or no log: it says what is missing, what was found, what to do.
    """
    return judge_log(read_log(path, lenient=lenient))


def load_cells(book: CellSource) -> LogContent:
    """Read a log that is open in a spreadsheet program, with all that cannot be read or cannot be right.

    Errors:
        LogFileError: no log: it says what is missing, what was found, what to do.
    """
    return judge_log(read_cells_of_log(book))


def judge_log(read: LogRead) -> LogContent:
    """A log that was read, with all that cannot be right among its problems."""
    content, tables = read.content, read.layout.by_key
    lists = ReferenceLists.of(content.settings, content.blocks, content.default_channel())
    settings = CheckedSettings(
        read.layout,
        content.settings,
        read.blocks,
        read.setting_cells,
        content.block_starts,
        read.header_of_words,
        lists,
    )
    content.failing.update(judged_settings(settings))
    _add(read, (replace(one, sheet=read.settings_sheet) for one in settings.found))
    for key in read.rows:
        _add(read, judged(tables[key], read.rows, lists))
    words = {
        "Channel_name": content.blocks["Channel"]["name"],
        "Box_name": content.blocks["Box"]["name"],
        "Service_name": content.blocks["Service"]["name"],
        "Log_item_no": content.sheets["Log"]["item_no"],
    }
    for form in read.forms:
        _add(read, form.problems(words))
    _sort(content)
    content.problems.extend(_results_with_errors(read))
    spell_as_listed(tables, read.rows, lists)
    for key, rows in read.rows.items():
        content.sheets[key] = rows.frame.assign(sheet_row=np.asarray(rows.rows, dtype=np.int64))
    _spell_choices(read.layout.blocks, content)
    return content


def _add(read: LogRead, found: Iterable[Issue]) -> None:
    """Add problems, with typed words and those of lists as they stand in the file."""
    words = read.content.words
    if words:
        found = [as_in_file(one, read.originals, words.choices(words.today_sheet(one.sheet))) for one in found]
    read.content.problems.extend(found)


def _sort(content: LogContent) -> None:
    """Put problems in the order of the sheets, and of their cells."""
    order = {plain(name): place for place, name in enumerate(content.sheet_names)}

    def place(problem: Issue) -> tuple[int, int, int]:
        letters, digits = re.fullmatch(r"([A-Z]+)(\d+)", problem.cell).groups()  # type: ignore[union-attr]
        return order.get(plain(problem.sheet), 0), int(digits), column_number(letters)

    content.problems.sort(key=place)


def _results_with_errors(read: LogRead) -> list[Issue]:
    lots: dict[str, set[tuple[str, int]]] = {}
    for rows in (read.rows["Log"], read.rows["Lots"]):
        for number, row in zip(rows.words("lot_no"), rows.rows.tolist(), strict=True):
            if number:
                lots.setdefault(number.casefold(), set()).add((rows.sheet, row))
    together = [frozenset(rows) for rows in lots.values()]
    headers = {
        rows.sheet: {column.key: column.header for column in read.layout.by_key[key].inputs()}
        for key, rows in read.rows.items()
    }
    same_lot = {row: rows for rows in together for row in rows}
    return error_problems(read.bad_results, Follows(read.content.problems, headers, read.settings_sheet, same_lot))


def _spell_choices(blocks: Sequence[SettingsBlock], content: LogContent) -> None:
    """Give words from fixed lists the capitals that they have there."""
    for block in blocks:
        for column in block.columns:
            if column.choices:
                frame = content.blocks[block.key]
                spelled = Names(column.choices, "").spelled(list(frame[column.key]))
                frame[column.key] = pd.Series(spelled, frame.index, dtype=object)
