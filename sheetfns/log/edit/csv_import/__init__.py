"""Bringing a CSV file of another program into a log: a map says which column is what."""

from sheetfns.log.edit.csv_import.draft import Draft, write_draft_map
from sheetfns.log.edit.csv_import.map_file import BringInMap, read_map
from sheetfns.log.edit.csv_import.plan import AlreadyThere, Applied, Change, Conflict, Detected, LeftOut, NewRow, Plan
from sheetfns.log.edit.csv_import.planning import plan_bring_in
from sheetfns.log.edit.csv_import.writing import apply

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
