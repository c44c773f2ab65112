"""Changing a seller's file: cells patched in place, merge, conflicts, upgrade, import of sales, macros."""
