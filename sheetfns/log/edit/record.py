"""Entries of one row of the sourcing log: what may be chosen, what would follow, and the cells to type."""

from __future__ import annotations

import dataclasses
import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

import pandas as pd

from sheetfns.errors import LogFileError
from sheetfns.log.compute import LogResults, compute_log
from sheetfns.log.edit.merge import free_rows, refuse_older, refuse_other_words
from sheetfns.log.edit.patch import CellEdit
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import RELISTED

Entries = Mapping[str, Any]
"""What a row is to hold, by column key: float, date, text; None leaves a cell as it is."""

_TABLE: Final = log_layout().table("Log")
_NUMBERED: Final = re.compile(r"(.*?)(\d+)", re.DOTALL)


@dataclass(frozen=True)
class Item:
    """A row of the sourcing log: its row on the sheet, its number, and what it is."""

    row: int
    number: str
    description: str

    def __str__(self) -> str:
        return f"{self.number}  {self.description}".strip()


class Recorder:
    """The sourcing log of a log that was read, for entries of one row.

    Args:
        content: the log.
        today: the day of an entry, if it is another one than today.

    Errors:
        LogFileError: the log is of an earlier layout or in earlier words, or lacks a date without which there are no
            figures.
    """

    def __init__(self, content: LogContent, today: dt.date | None = None) -> None:
        refuse_older(content)
        refuse_other_words(content)
        self.content = content
        self.today = today or dt.datetime.now().astimezone().date()
        self.results = compute_log(content)

    @cached_property
    def _items(self) -> pd.DataFrame:
        return self.results["Log"]

    def after_as_of(self, entries: Entries) -> bool:
        """Whether a day of the entries is after the one up to which the log's figures go by Settings."""
        as_of = self.content.settings.get("As_of_date")
        return as_of is not None and any(isinstance(day, dt.date) and day > as_of for day in entries.values())

    def on_hand(self) -> list[Item]:
        """Items that may be sold, used, donated or discarded: those that are neither sold nor gone."""
        return self._where(self._items["sold_on"].isna() & ~self._gone())

    def sold(self) -> list[Item]:
        """Items that were sold; a refund, or their coming back, may be entered."""
        return self._where(self._items["sold_on"].notna())

    def _gone(self) -> pd.Series[bool]:
        return ~self._items["disposition"].isin(["", RELISTED])

    def _where(self, wanted: pd.Series[bool]) -> list[Item]:
        rows = self._items[wanted & (self._items["item_no"] != "")]
        places = zip(rows["sheet_row"], rows["item_no"], rows["description"], strict=True)
        return [Item(int(row), number, description) for row, number, description in places]

    def next_number(self) -> str:
        """The number after the highest one that is written like the last one: P027 after P026; 1 in an empty log."""
        numbers = [one for one in self.content.sheets["Log"]["item_no"] if one]
        found = [match for one in numbers if (match := _NUMBERED.fullmatch(one))]
        if not found:
            return "1" if not numbers else ""
        prefix = found[-1][1]
        digits = [match[2] for match in found if match[1] == prefix]
        return f"{prefix}{max(map(int, digits)) + 1:0{len(digits[-1])}d}"

    def is_taken(self, number: str) -> bool:
        """Whether an item has this number, whatever its capitals."""
        return number.casefold() in {one.casefold() for one in self.content.sheets["Log"]["item_no"]}

    def free_row(self) -> int:
        """The first row that is ready for a new item.

        Errors:
            LogFileError: there is none; it says how to get more.
        """
        occupied = {int(row) for row in self.content.sheets["Log"]["sheet_row"]}
        return free_rows(self.content, _TABLE, occupied, 1, "this form")[0]

    def typed(self, row: int, key: str) -> Any:
        """What stands in a cell: float, date or text; None for a blank."""
        log = self.content.sheets["Log"]
        found = log.loc[log["sheet_row"] == row, key].tolist()
        value = found[0] if found else None
        if value is None or value == "" or pd.isna(value):
            return None
        return value.date() if isinstance(value, pd.Timestamp) else value

    def with_entries(self, row: int, entries: Entries) -> pd.Series[Any]:
        """The row's entries and results, by column key, as they would be with these entries."""
        log = self.content.sheets["Log"]
        if not (log["sheet_row"] == row).any():
            log = pd.concat([log, _blank(log, row)], ignore_index=True)
        here = log["sheet_row"] == row
        log = log.copy()
        for key, value in entries.items():
            if value is not None:
                log.loc[here, key] = pd.Timestamp(value) if isinstance(value, dt.date) else value
        # All that a row's results need is in the row itself and in the others of its lot.
        lot = log.loc[here, "lot_no"].iloc[0]
        log = log[here | ((log["lot_no"] == lot) & (lot != ""))]
        content = dataclasses.replace(self.content, sheets=self.content.sheets | {"Log": log.reset_index(drop=True)})
        results = LogResults(content)["Log"]
        return results[results["sheet_row"] == row].iloc[0]

    def edits(self, row: int, entries: Entries) -> list[CellEdit]:
        """The cells to type; what is blank in the entries stays as it stands."""
        place = self.content.places["Log"]
        return [
            CellEdit(place.sheet, row, place.columns[key] + 1, value)
            for key, value in entries.items()
            if value is not None
        ]

    def choices(self, key: str) -> list[str]:
        """What may be chosen in a column: the names that Settings lists for it, or its own words."""
        column = next(one for one in _TABLE.columns if one.key == key)
        if column.choices:
            return list(column.choices)
        block, _, name = column.names.partition("_")
        return [one for one in self.content.blocks[block][name] if one] if block else []

    def used(self, key: str) -> list[str]:
        """What a column of text holds so far, each once, the latest first."""
        texts = self.content.sheets["Log"][key]
        return list(dict.fromkeys(one for one in reversed(texts.tolist()) if one))

    def find(self, items: list[Item], chosen: str) -> Item:
        """The item that was chosen from a list.

        Errors:
            LogFileError: there is no such item.
        """
        found = [one for one in items if str(one) == chosen]
        if len(found) != 1:
            raise LogFileError(f"'{chosen}': {len(found)} items are called so; number each once, and try again")
        return found[0]


def _blank(log: pd.DataFrame, row: int) -> pd.DataFrame:
    """A row without entries, with the dtypes of the others."""
    blank = {key: [row if key == "sheet_row" else _nothing(log[key])] for key in log.columns}
    return pd.DataFrame(blank).astype(log.dtypes.to_dict())


def _nothing(column: pd.Series[Any]) -> Any:
    if pd.api.types.is_datetime64_any_dtype(column):
        return pd.NaT
    return float("nan") if pd.api.types.is_numeric_dtype(column) else ""
