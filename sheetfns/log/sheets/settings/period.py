"""From which day until which a log's figures go: as Settings says, or by the dates that are entered."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Any, Final

import pandas as pd

EVENTS: Final = (
    ("Log", "bought_on"),
    ("Log", "listed_on"),
    ("Log", "sold_on"),
    ("Log", "refunded_on"),
    ("Log", "returned_on"),
    ("Log", "disposition_date"),
    ("Lots", "bought_on"),
    ("Expenses", "spent_on"),
    ("Trips", "driven_on"),
    ("Personal", "sold_on"),
    ("Owner", "moved_on"),
)
"""Every date of what the business itself does."""
SEEN: Final = (("Comps", "seen_on"),)
"""Sales of other people, which may be older than the log."""
_OWN_DATES: Final = ",".join(map("_".join, EVENTS))
_ALL_DATES: Final = ",".join(map("_".join, (*EVENTS, *SEEN)))
_FIRST: Final = f"INT(MIN({_OWN_DATES}))"
FROM_FORMULA: Final = (
    f'IF(First_month<>"",First_month,IF(COUNT({_OWN_DATES})=0,Year_start,DATE(YEAR({_FIRST}),MONTH({_FIRST}),1)))'
)
UNTIL_FORMULA: Final = f'IF(As_of_date<>"",As_of_date,MAX(Figures_from,INT(MAX({_ALL_DATES}))))'
ALONE_DAYS: Final = 60
"""A last date so long after every other one may have a wrong year. Rule of this log, no source."""
_LATE: Final = "+".join(f'COUNTIF({one},">="&Figures_until-{ALONE_DAYS})' for one in _ALL_DATES.split(","))
LAST_DATE_ALONE: Final = f'IF(OR(As_of_date<>"",COUNT({_ALL_DATES})<2),0,({_LATE}=1)*1)'


def figures_from(settings: Mapping[str, Any], sheets: Mapping[str, pd.DataFrame]) -> dt.date:
    """The first day that figures count: that of the first month, or of the month of the earliest date entered."""
    first: dt.date | None = settings.get("First_month")
    if first is not None:
        return first
    days = list(_days(sheets, EVENTS))
    return min(days).replace(day=1) if days else dt.date(int(settings["Tax_year"]), 1, 1)


def figures_until(settings: Mapping[str, Any], sheets: Mapping[str, pd.DataFrame]) -> dt.date:
    """The last day that figures count: the as-of date, or the last date entered anywhere."""
    as_of: dt.date | None = settings.get("As_of_date")
    if as_of is not None:
        return as_of
    return max((figures_from(settings, sheets), *_days(sheets, (*EVENTS, *SEEN))))


def _days(sheets: Mapping[str, pd.DataFrame], columns: tuple[tuple[str, str], ...]) -> Iterator[dt.date]:
    for sheet, column in columns:
        days = pd.to_datetime(sheets[sheet][column]).dropna()
        if len(days):
            yield days.min().date()
            yield days.max().date()
