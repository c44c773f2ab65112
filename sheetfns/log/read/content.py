"""What stands in a log, once it is read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import pandas as pd

from sheetfns.log.model.earlier_words import TODAYS_WORDS, EarlierWords, in_words
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import Edition, Layout, SettingsBlock
from sheetfns.log.model.typed_rows import Issue
from sheetfns.log.model.version import LAYOUT
from sheetfns.log.read.sheet_reader import CellPlaces, TablePlace, typed_values
from sheetfns.log.sheets.lookups import by_place
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import SETTINGS

_DEFAULT_CHANNEL_SINCE: Final = 10
"""The layout that brought it; sheets of earlier logs ask for a channel."""


@dataclass(frozen=True)
class LogContent:
    """What stands in a log.

    Attributes:
        path: the file.
        settings: value by the setting's name: float, str, date, or None where a number or a date
            is blank; those that the workbook works out as they are stored in the file.
        blocks: the small tables on Settings by key; columns by key; blank rows left out.
        sheets: typed rows of Plan, Comps, Log, Lots, Expenses, Trips, Own, Owner: input columns by
            key, and sheet_row. Numbers are float64, dates datetime64[ns], texts str; NaN, NaT or ""
            is blank. Words from a list have the capitals that they have there.
        shown: results and workings of the same rows as they are stored in the file, and sheet_row;
            also Money, Forecast, Stale and Checks, and each form in one row.
        problems: what cannot be read or cannot be right, in the order of the sheets; after it the
            results that show errors, with one problem for all that only follow from others.
        extra_columns: headers that the log does not know, by the sheet's key or "Settings".
        edition: found from formulas, names and sheet Start; None if there are no formulas.
        ready_rows: rows with formulas by the sheet's key.
        unread: what stands in the cells that cannot be read, by the key of the sheet or small
            table, then by sheet row and column key; settings under "Settings", row 0.
        block_rows: the row on Settings of each row of a small table.
        block_starts: the row on Settings in which a small table begins.
        forms: what is typed into Shelf and Desk, by cell key; None or "" where blank.
        places: where the rows of each sheet and small table stand, by its key.
        setting_places: where the settings stand.
        form_places: where the cells of each form stand, by its key.
        own_cells: what stands in columns that the seller has added to a sheet or small table, by
            its key, then by sheet row and header.
        sheet_names: every sheet of the file, in its order.
        layout: the number of its layout, as sheet Start states it.
        lacks: what has come since its layout, sheet by sheet; it is read as if blank, or as a new
            log has it.
        words: the words of the file's layout; what is typed is here in today's.
        failing: the keys of the checks of Settings that its entries fail.
        names_with_headers: whether the defined names of entries cover headers and closing row, as since layout 8.
    """

    path: Path
    settings: dict[str, Any]
    blocks: dict[str, pd.DataFrame]
    sheets: dict[str, pd.DataFrame]
    shown: dict[str, pd.DataFrame]
    problems: list[Issue]
    extra_columns: dict[str, list[str]] = field(default_factory=dict)
    edition: Edition | None = None
    ready_rows: dict[str, int] = field(default_factory=dict)
    unread: dict[str, dict[tuple[int, str], Any]] = field(default_factory=dict)
    block_rows: dict[str, list[int]] = field(default_factory=dict)
    block_starts: dict[str, int] = field(default_factory=dict)
    forms: dict[str, dict[str, Any]] = field(default_factory=dict)
    places: dict[str, TablePlace] = field(default_factory=dict)
    setting_places: CellPlaces = field(default_factory=lambda: CellPlaces(SETTINGS, {}))
    form_places: dict[str, CellPlaces] = field(default_factory=dict)
    own_cells: dict[str, dict[tuple[int, str], Any]] = field(default_factory=dict)
    sheet_names: tuple[str, ...] = ()
    layout: int = LAYOUT
    lacks: dict[str, list[str]] = field(default_factory=dict)
    words: EarlierWords = TODAYS_WORDS
    failing: set[str] = field(default_factory=set)
    names_with_headers: bool = True

    @property
    def older(self) -> bool:
        """Whether an earlier layout made it, so that its formulas may be others."""
        return self.layout < LAYOUT

    def worded(self, layout: Layout) -> Layout:
        """A layout in the words of the file, as messages name its parts."""
        return in_words(layout, self.words)

    def inputs(self) -> Inputs:
        """Everything that is typed, to build the log anew; what cannot be read stays as it is."""
        layout = log_layout()
        unread = self.unread.get(SETTINGS, {})
        settings = {
            setting.name: unread.get((0, setting.name), self.settings[setting.name])
            for setting in layout.settings
            if not setting.formula and setting.name in self.settings
        }
        blocks = {
            block.key: self._typed(block.key, self.blocks[block.key], self.block_rows[block.key])
            for block in layout.blocks
            if not made_by_workbook(block)
        }
        rows = {
            key: self._typed(key, frame.drop(columns="sheet_row"), list(frame["sheet_row"]))
            for key, frame in self.sheets.items()
        }
        forms = {
            key: {
                name: cell
                for name, typed in cells.items()
                if (cell := self.unread.get(key, {}).get((0, name), typed)) not in (None, "")
            }
            for key, cells in self.forms.items()
        }
        return Inputs(settings, blocks, rows, forms)

    def places_in_block(self, key: str) -> list[int]:
        """The place, from 1, of each filled row of a small table on Settings."""
        return [row - self.block_starts[key] + 1 for row in self.block_rows[key]]

    def default_channel(self) -> str:
        """The channel that counts where none is chosen: the default one of Settings, or the first in the table."""
        if self.layout < _DEFAULT_CHANNEL_SINCE:
            return ""
        channels = self.blocks["Channel"].assign(place=self.places_in_block("Channel"))
        return str(self.settings.get("Default_channel") or by_place(channels, "name", 1)[0] or "")

    def verdicts(self, sheet: str) -> dict[int, frozenset[str]]:
        """The codes of what is wrong with the entries of a sheet, by sheet row."""
        name = self.places[sheet].sheet if sheet in self.places else self.worded(log_layout()).table(sheet).name
        found: dict[int, set[str]] = {}
        for problem in self.problems:
            if problem.sheet == name:
                found.setdefault(int("".join(filter(str.isdigit, problem.cell)) or 0), set()).add(problem.key)
        return {row: frozenset(codes) for row, codes in found.items()}

    def _typed(self, key: str, frame: pd.DataFrame, sheet_rows: Sequence[int]) -> list[Row]:
        columns = {name: typed_values(frame[name]) for name in frame.columns}
        rows: list[Row] = [
            {name: values[i] for name, values in columns.items() if values[i] not in (None, "")}
            for i in range(len(frame))
        ]
        places = {row: place for place, row in enumerate(sheet_rows)}
        for (sheet_row, name), cell in self.unread.get(key, {}).items():
            rows[places[sheet_row]][name] = cell
        return rows


def made_by_workbook(block: SettingsBlock) -> bool:
    """Whether the workbook fills a small table by itself."""
    return all(column.role != "input" for column in block.columns)
