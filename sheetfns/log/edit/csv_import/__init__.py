"""Importing a CSV file of another program into a log: a map says which column is what."""

from sheetfns.log.edit.csv_import.applying import apply_import, save_left_rows
from sheetfns.log.edit.csv_import.draft_map import write_draft_map
from sheetfns.log.edit.csv_import.import_plan import ImportDesk, ImportLog, ImportPlan, plan_import
from sheetfns.log.edit.csv_import.map_file import ImportMap, read_map
from sheetfns.log.edit.csv_import.saved_maps import keep_map, kept_map, map_text, save_map

__all__ = [
    "ImportDesk",
    "ImportLog",
    "ImportMap",
    "ImportPlan",
    "apply_import",
    "keep_map",
    "kept_map",
    "map_text",
    "plan_import",
    "read_map",
    "save_left_rows",
    "save_map",
    "write_draft_map",
]
