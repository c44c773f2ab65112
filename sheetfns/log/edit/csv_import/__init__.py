"""Importing a CSV file of another program into a log: a map says which column is what."""

from sheetfns.log.edit.csv_import.applying import apply_import, save_left_rows
from sheetfns.log.edit.csv_import.draft_map import write_draft_map
from sheetfns.log.edit.csv_import.import_plan import ImportPlan, plan_import
from sheetfns.log.edit.csv_import.map_file import read_map

__all__ = ["ImportPlan", "apply_import", "plan_import", "read_map", "save_left_rows", "write_draft_map"]
