"""What menu "Sourcing log" lists; what its commands do stands in menu.py, which needs all packages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

MENU: Final = "Sourcing log"


@dataclass(frozen=True)
class Command:
    """One entry of the menu."""

    key: str
    title: str
    help: str


COMMANDS: Final = (
    Command("new_log", "New log", "Makes an empty sourcing log and opens it."),
    Command(
        "check_log",
        "Check and fix",
        "Lists the errors and warnings in the open log; restores formulas, and numbers and dates stored as text.",
    ),
    Command(
        "year_end",
        "Year-end figures",
        "Shows the tax year's figures; creates the package for the preparer if you want it.",
    ),
    Command("forecast", "Forecast", "Forecasts cash and inventory, week by week."),
    Command("import_sales", "Import sales", "Fills the open log from a CSV file; shows what would change first."),
    Command(
        "pocket_copy",
        "Pocket copy",
        "Makes a small workbook of the open log for a phone: Shelf check, Buying plan, and a list for what you buy.",
    ),
    Command(
        "upgrade_log",
        "Upgrade this log",
        "Makes a new log with today's layout from the open one; every entry is carried over, or listed.",
    ),
    Command("show_help", "Help", "Lists these commands and every function."),
)
