"""The invented shop of the command `demo`: what its two partners typed into their log, stored once."""

from __future__ import annotations

import datetime as dt
import json
import re
from importlib import resources
from typing import Any, Final

from sheetfns.log.model.inputs import Inputs

DATA: Final = "shop.json"
LOOKS_LIKE_A_DATE: Final = re.compile(r"\d{4}-\d\d-\d\d")
"""JSON has no dates: a text of this form is one, and no text of the shop has this form."""


def example_inputs() -> Inputs:
    """What the partners of the invented shop have typed by 2026-09-30; new at each call, so it may be changed."""
    text = resources.files(__name__).joinpath(DATA).read_text(encoding="utf-8")
    return Inputs(**json.loads(text, object_hook=_with_dates))


def _with_dates(cells: dict[str, Any]) -> dict[str, Any]:
    return {key: _date_or_same(value) for key, value in cells.items()}


def _date_or_same(value: Any) -> Any:
    if isinstance(value, str) and LOOKS_LIKE_A_DATE.fullmatch(value):
        return dt.date.fromisoformat(value)
    return value
