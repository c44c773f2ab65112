"""What a seller has typed into a log: settings, small tables and rows, apart from any file."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import Any

Row = dict[str, Any]


@dataclass
class Inputs:
    """Typed values by their keys in the layout.

    Attributes:
        settings: value by the setting's name, such as First_month.
        blocks: rows of a small table on Settings by its key, such as Channel; a block that is not
            here keeps the layout's own content.
        rows: rows of a sheet by its key (Plan, Comps, Log, Lots, Expenses, Trips, Owner); each row
            holds values by column key, and blanks are left out.
        forms: values by cell key of a form by its key (Shelf, Desk); blanks are left out.
    """

    settings: dict[str, Any] = field(default_factory=dict)
    blocks: dict[str, list[Row]] = field(default_factory=dict)
    rows: dict[str, list[Row]] = field(default_factory=dict)
    forms: dict[str, Row] = field(default_factory=dict)


def inputs_of_today() -> Inputs:
    """What a new log begins with: this month and this year."""
    today = dt.datetime.now().astimezone().date()
    return Inputs(settings={"First_month": today.replace(day=1), "Tax_year": today.year})
