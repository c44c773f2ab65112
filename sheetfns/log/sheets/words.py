"""The words and numbers that several sheets of the log share."""

from __future__ import annotations

from typing import Final

from sheetfns.log.model.sheets import FIRST_ROW, HEADER_ROW

DEFAULT_ROWS: Final = 1000
MOST_ROWS: Final = 90_000
"""The order of items within a lot is kept in five digits."""
MONTHS: Final = 60
CHART_MONTHS: Final = 24
WEEKS_AHEAD: Final = 104
ODDS_EVERY: Final = 8
"""Sheet Pay shows the odds of every eighth week: each cell is a call over the whole log."""
HOME: Final = "Home"
LOG: Final = "Sourcing log"
START: Final = "Start"
SETTINGS: Final = "Settings"
YEAR_END: Final = "Year end"
CONFLICTS: Final = "Conflicts"
"""The sheet that a merge adds."""
FINDS: Final = "Finds"
"""The sheet of a pocket copy with what was bought at the shelf."""
FINDS_TAKEN: Final = "Finds taken"
"""The sheet of a log with the finds that came from pocket copies."""
MERGES: Final = "Merges"
"""The sheet of a log with the merges that it comes from."""
CHECKS: Final = "Data checks"
FUNCTIONS: Final = "Functions"
"""The last sheet of the edition that holds the functions as names; no other has it."""
LAYOUT_VERSION: Final = "Layout version"
EDITION_LABEL: Final = "Edition"
READY_ROWS_LABEL: Final = "Ready rows"

CAUTION: Final = (
    "An aid to record keeping, not tax advice. Rules differ by place and year; have a licensed preparer check."
)

BUSINESS: Final = "Business"
RETURNED_ITEM: Final = "Returned item"
BUYER, SELLER = "Buyer", "Seller"
PERSONAL_USE, DONATED, DISCARDED, RELISTED = "Personal use", "Donated", "Discarded", "Relisted"
DISPOSITIONS: Final = (PERSONAL_USE, DONATED, DISCARDED, RELISTED)
IN_STOCK, LISTED, SOLD, PART_REFUND, REFUNDED, BACK = (
    "In stock",
    "Listed",
    "Sold",
    "Part refund",
    "Refunded",
    "Back in stock",
)
STAGES: Final = (IN_STOCK, LISTED, SOLD, PART_REFUND, REFUNDED, BACK)
KEY_STEP: Final = 100_000
"""Whole numbers that put rows in order hold what comes first times this, then the row."""
ROW_ONE: Final = HEADER_ROW - 1
"""The rows above those that the defined names of entries cover: a row's place among them is its number less this."""
ROWS_ABOVE: Final = FIRST_ROW - 1
"""The rows above the first that is filled in."""
HEADING_ROWS: Final = 20
CHANNEL_ROWS: Final = 10
A_PARTNER, A_CHANNEL = "Partner 1", "Local sale"
"""What a new log has as its only partner and channel."""
PARTNER_ROWS: Final = 4
FROM_THE_LOG: Final = ("fees", "postage", "packaging", "miles")
"""What the log adds to the expense heading beside which the word stands on Settings."""

SHELF, DESK, CAUTIONS = "Shelf check", "Listing desk", "Cautions"
MONEY_SHEET, PAY, FORECAST, INVENTORY, PARTNERS, CHARTS = (
    *("Money", "Pay", "Forecast", "Inventory", "Partners", "Charts"),
)
YES, NO = "Yes", "No"
PERSONAL_ITEMS, TAX_RULES = "Personal items", "Tax rules"
RATES_IN_YEAR: Final = 4
"""How many rates per mile sheet Year end shows for one year."""
TRIPS_LISTED: Final = 8
PAYMENTS: Final = 4
BY_YEAR_ROWS, TAXES_ROWS, REPORTED_ROWS, DUE_ROWS = 10, 16, 30, 12
SUMMARY_ROWS: Final = 40
COMP_SOLD, COMP_ASKED = "Sold", "Asked"
BY_PROFIT, BY_DAY = "Profit", "Profit per day"
SIDE_ROUNDINGS: Final = ("none", "nearest", "up")
RULE_ROWS: Final = 12
BOX_ROWS: Final = 12
CONDITION_ROWS: Final = 10
WEIGHT_UNITS, LENGTH_UNITS = ("lb", "kg"), ("in", "cm")
UNITS: Final = tuple(f"{weight} and {length}" for weight in WEIGHT_UNITS for length in LENGTH_UNITS)
POSTAGE_COLUMNS: Final = 8
TEXT_ROWS: Final = 12
AGE_ROWS: Final = 8
STEP_ROWS: Final = 8
CATEGORY_ROWS: Final = 20
PLAN_ROWS: Final = 30
SHELF_PRICES: Final = 5
ITEM_HEADER, ITEM_NO_HEADER = "Item", "Item no."
"""Headers over names that are looked up; nothing is found by them."""
THREE_PRICES: Final = "Sold prices of similar items; three are enough."
FIND_ROWS: Final = 60
KEYWORDS: Final = 12
LIST_IT, MARK_DOWN, RELIST, ENTER_POSTAGE = "list it", "mark it down", "list it in a new row", "enter postage paid"
"""What a row of the sourcing log asks for next."""
NO_PLACE: Final = "not stated"
"""Where items were found whose place is blank."""
STOPS_ON: Final = 'IF(As_of_date="",2958465,INT(As_of_date))'
"""The day after which nothing counts: the as-of date, or the last day that a spreadsheet knows.

A row that asks for Figures_until is calculated anew with every date that is entered anywhere; one that asks for this is
not.
"""
NO_ENTRY: Final = "no entry: check recalls and local rules"
OWN_WORDS: Final = frozenset({"Category_name", "Condition_name"})
"""Lists to which a seller may add a word by just typing it."""
