"""A shop of one item, a rule of parcels and a table of postage, for the sheets that decide and list."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import Edition
from sheetfns.log.read.content import LogContent
from tests.log.sheet_logs import sheet_log

AS_OF = dt.date(2026, 9, 30)
CHANNELS: list[Row] = [{"name": "Site", "rate": 0.1, "per_order": 0.5, "title_limit": 40}, {"name": "Booth"}]
RULES: list[Row] = [
    {"name": "By size", "from": dt.date(2026, 1, 1), "divisor": 166, "gate": 1728,
     "side_rounding": "nearest", "weight_step": 1},
    {"name": "By size", "from": dt.date(2026, 9, 30), "divisor": 139, "gate": 1728,
     "side_rounding": "up", "weight_step": 1},
]  # fmt: skip
ITEM: Row = {
    "item_no": "A1",
    "description": "Oak stool",
    "category": "Lamps",
    "condition": "Good",
    "missing": "one foot",
    "bought_on": dt.date(2026, 9, 1),
    "paid": 4,
    "expected_price": 30,
    "expected_postage": 7,
    "channel": "Site",
}


def inputs(**more: Any) -> Inputs:
    made = Inputs(
        settings={
            "As_of_date": AS_OF, "First_month": dt.date(2026, 1, 1), "Tax_year": 2026,
            "Usual_packaging": 0.5, "Trip_cash": 40, "Trip_reserve": 10, "Target_profit": 5,
            "Target_return": 1, "Comp_half_life": 90,
        },
        blocks={
            "Channel": [dict(row) for row in CHANNELS],
            "Rule": [dict(row) for row in RULES],
            "Box": [{"name": "Cube", "length": 13, "width": 12, "height": 11.5, "weight": 1}],
            "Service": [{"name": "Near", "rule": "By size"}, {"name": "Plain"}],
            "Postage": [{"up_to": 5, "no_1": 6, "no_2": 5}, {"up_to": 13, "no_1": 11}],
        },
        rows={"Log": [dict(ITEM)]},
    )  # fmt: skip
    made.settings |= more.pop("settings", {})
    made.blocks |= more.pop("blocks", {})
    made.rows |= more.pop("rows", {})
    made.forms |= more.pop("forms", {})
    assert not more
    return made


def read(tmp_path: Path, edition: Edition, made: Inputs, key: str) -> LogContent:
    """The log with these entries, in which the sheet of that key and all that it reads is worked out."""
    log = sheet_log(edition, key)
    return log.read(log.filled(tmp_path / "log.xlsx", made))


def form(content: LogContent, key: str) -> dict[str, Any]:
    return content.shown[key].iloc[0].to_dict()
