"""What menu "Sourcing log" lists; what its commands do stands in menu.py, which needs all packages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

MENU: Final = "Sourcing log"
GROUPS: Final = ("Record", "Keep", "See", "Help")


@dataclass(frozen=True)
class Command:
    """One entry of the menu, in one of its groups."""

    group: str
    key: str
    title: str
    help: str


# A table: group, key, title, help.
# fmt: off
COMMANDS: Final = (
    Command("Record", "add_item", "Add an item",
            "Asks what you bought and for how much; says what it may cost, and enters it in the first free row."),
    Command("Record", "mark_sold", "Mark as sold",
            "Asks for an item and its sale; says the net profit before it is entered."),
    Command("Record", "mark_returned", "Mark as returned or refunded",
            "Asks for a sold item, its refund, and when it came back; says what is left of the net profit."),
    Command("Record", "other_disposition", "Other disposition",
            "Asks which item was used, donated, discarded or listed again, and when."),
    Command("Keep", "check_log", "Check and fix",
            "Lists the errors and warnings in the open log; restores formulas, and numbers and dates stored as text."),
    Command("Keep", "merge_copy", "Merge a partner's copy",
            "Brings another copy of the log, or a pocket copy, into the open log; shows what would change first."),
    Command("Keep", "import_sales", "Import sales",
            "Fills the open log from a CSV file; shows what would change first."),
    Command("Keep", "pocket_copy", "Pocket copy",
            "Makes a small workbook of the open log for a phone: Shelf check, Buying plan, and a list for what you "
            "buy."),
    Command("Keep", "upgrade_log", "Upgrade this log",
            "Makes a new log with today's layout from the open one; every entry is carried over, or listed."),
    Command("Keep", "new_log", "New log", "Makes an empty sourcing log and opens it."),
    Command("See", "forecast", "Forecast", "Forecasts cash and inventory, week by week."),
    Command("See", "year_end", "Year-end package",
            "Shows the tax year's figures; creates the package for the preparer if you want it."),
    Command("See", "year_summary", "Summary of a year", "Lists the figures of any tax year."),
    Command("Help", "explain_cell", "Explain this cell",
            "Says what is wrong with the cell under the cursor or with its row, and what its column is."),
    Command("Help", "show_help", "Commands and functions", "Lists these commands and every function."),
    Command("Help", "about", "About", "Says what is installed, and what the open log is."),
)
# fmt: on
