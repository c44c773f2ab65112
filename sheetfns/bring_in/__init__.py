"""Bringing a CSV file of another program into a log: a map says which column is what."""

from sheetfns.bring_in.draft import Draft, write_draft_map
from sheetfns.bring_in.map_file import BringInMap, read_map
from sheetfns.bring_in.plan import (
    AlreadyThere,
    Applied,
    Change,
    Conflict,
    Detected,
    LeftOut,
    NewRow,
    Plan,
)
from sheetfns.bring_in.planning import plan_bring_in
from sheetfns.bring_in.writing import apply

__all__ = [
    "AlreadyThere",
    "Applied",
    "BringInMap",
    "Change",
    "Conflict",
    "Detected",
    "Draft",
    "LeftOut",
    "NewRow",
    "Plan",
    "apply",
    "plan_bring_in",
    "read_map",
    "write_draft_map",
]
