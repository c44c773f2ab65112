"""The log's results worked out in Python, apart from the workbook's formulas.

The same rules as in the layout, on whole columns and through the worksheet functions: what the
workbook shows must equal this to the cent.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

import pandas as pd

from sheetfns.errors import LogFileError
from sheetfns.log.model.reads import (
    Amount,
    Block,
    EditionOfLog,
    FormInputs,
    OlderLayout,
    Results,
    SettingValue,
    Source,
    Typed,
    Unread,
    Verdicts,
    record_of,
    sources_of,
)
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.buying_plan import compute as buying_plan
from sheetfns.log.sheets.charts import compute as charts
from sheetfns.log.sheets.comparables import compute as comparables
from sheetfns.log.sheets.expenses import compute as expenses
from sheetfns.log.sheets.forecast import compute as forecast
from sheetfns.log.sheets.home import compute as home
from sheetfns.log.sheets.inventory import compute as inventory
from sheetfns.log.sheets.listing_desk import compute as listing_desk
from sheetfns.log.sheets.lots import compute as lots
from sheetfns.log.sheets.money import compute as money
from sheetfns.log.sheets.owner_money import compute as owner_money
from sheetfns.log.sheets.partners import compute as partners
from sheetfns.log.sheets.pay import compute as pay
from sheetfns.log.sheets.personal_items import compute as personal_items
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.settings.period import figures_from, figures_until
from sheetfns.log.sheets.shelf_check import compute as shelf_check
from sheetfns.log.sheets.sourcing_log import compute as sourcing_log
from sheetfns.log.sheets.stale_inventory import compute as stale_inventory
from sheetfns.log.sheets.trips import compute as trips
from sheetfns.log.sheets.words import SETTINGS
from sheetfns.log.sheets.year_end import compute as year_end
from sheetfns.log.sheets.year_end.books import YearReads
from sheetfns.log.sheets.year_end.compute import YearFigures, compute_year

_WORKED_OUT: Final[Mapping[str, Callable[[LogContent], Any]]] = {
    "Figures_from": lambda content: figures_from(content.settings, content.sheets),
    "Figures_until": lambda content: figures_until(content.settings, content.sheets),
    "Default_channel": lambda content: content.default_channel(),
}
"""Settings that count as something else where they are blank."""
LAST_TAX_YEAR: Final = 9998
"""Dates end with the year after it."""

RoomCompute = Callable[[Any], pd.DataFrame]

ROOMS: Final[Mapping[str, RoomCompute]] = {
    "Home": home.compute,
    "Shelf": shelf_check.compute,
    "Plan": buying_plan.compute,
    "Comps": comparables.compute,
    "Log": sourcing_log.compute,
    "Lots": lots.compute,
    "Desk": listing_desk.compute,
    "Expenses": expenses.compute,
    "Trips": trips.compute,
    "Personal": personal_items.compute,
    "Owner": owner_money.compute,
    "Money": money.compute,
    "Charts": charts.compute,
    "Pay": pay.compute,
    "Forecast": forecast.compute,
    "Inventory": inventory.compute,
    "Stale": stale_inventory.compute,
    "Partners": partners.compute,
    "Year": year_end.compute,
}
"""What works a sheet out, by the key of the sheet, in reading order."""


class LogResults:
    """What a log comes to: the frame of each sheet by its key, worked out when it is asked for.

    A frame holds the typed columns of a sheet with rows and its results, under their keys in the layout; of a form it
    is one row. `content` is the log itself.
    """

    def __init__(self, content: LogContent) -> None:
        self.content = content
        self._frames: dict[str, pd.DataFrame] = {}
        self._under_way: list[str] = []
        self._blocks: dict[str, pd.DataFrame] = {}

    def __getitem__(self, sheet: str) -> pd.DataFrame:
        if sheet not in self._frames:
            if sheet in self._under_way:
                raise CircularSheetsError(" -> ".join([*self._under_way, sheet]))
            self._under_way.append(sheet)
            try:
                self._frames[sheet] = self._work_out(sheet)
            finally:
                self._under_way.pop()
        return self._frames[sheet]

    def reads(self, record: type[Any]) -> Any:
        """A record with what it reads."""
        return record(**{name: self._value(source) for name, source in sources_of(record).items()})

    def _work_out(self, sheet: str) -> pd.DataFrame:
        compute = ROOMS[sheet]
        return compute(self.reads(record_of(compute)))

    def _value(self, source: Source) -> Any:
        content = self.content
        match source:
            case Results(sheet, columns):
                frame = self[sheet]
                return frame[list(columns)] if columns else frame
            case Block(key):
                return self._block(key)
            case Typed(sheet):
                return content.sheets[sheet]
            case Verdicts(sheet):
                return content.verdicts(sheet)
            case FormInputs(form):
                return content.forms.get(form, {})
            case Unread(key):
                return content.unread.get(key, {})
            case EditionOfLog():
                return content.edition
            case OlderLayout():
                return content.older
        if source.name in _WORKED_OUT and not (isinstance(source, SettingValue) and source.as_typed):
            return _WORKED_OUT[source.name](content)
        value = content.settings.get(source.name)
        return float(value or 0) if isinstance(source, Amount) else value

    def _block(self, key: str) -> pd.DataFrame:
        if key not in self._blocks:
            self._blocks[key] = self.content.blocks[key].assign(place=self.content.places_in_block(key))
        return self._blocks[key]

    @property
    def left_out(self) -> int:
        """Rows of the sourcing log that lack what their results need."""
        items = self["Log"]
        incomplete = items["landed_cost"].isna() | (items["sold_on"].notna() & items["net_profit"].isna())
        return int(incomplete.sum())


class CircularSheetsError(RecursionError):
    """Two sheets read each other's results."""


def compute_log(content: LogContent) -> LogResults:
    """Every result of a log that was read.

    Errors:
        LogFileError: Settings lacks a date or year without which there are no figures.
    """
    unread = {name for _, name in content.unread.get(SETTINGS, {})}
    for name in ("First_month", "As_of_date", "Tax_year"):
        if name in unread or (name == "Tax_year" and content.settings.get(name) is None):
            layout = content.worded(log_layout())
            label, sheet = layout.setting(name).label, layout.settings_sheet
            raise LogFileError(f"{content.path.name}: {label} on sheet {sheet} is blank or cannot be read; fill it in")
    year = float(content.settings["Tax_year"])
    if not 1 <= year <= LAST_TAX_YEAR:
        raise LogFileError(
            f"{content.path.name}: Tax year on sheet Settings is {year:g}; enter it in full, such as 2026"
        )
    return LogResults(content)


def year_figures(results: LogResults, year: int) -> YearFigures:
    """The figures of any tax year of a log that was worked out."""
    return compute_year(results.reads(YearReads), year)
