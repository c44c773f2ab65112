"""Sheet Settings: figures and words, and small tables."""

from __future__ import annotations

import datetime as dt
from typing import Any, Final

from sheetfns.kinds import COST, COUNT, DATE, MONEY, RATE, TEXT, Kind
from sheetfns.log.layout.parts import stock_before
from sheetfns.log.layout.words import (
    BUSINESS,
    CHANNEL_ROWS,
    FROM_THE_LOG,
    HEADING_ROWS,
    PARTNER_ROWS,
    RETURNED_PIECE,
    STAGES,
)
from sheetfns.log.sheets import Column, Plain, Setting, SettingsBlock
from sheetfns.tables import table_rows


def settings() -> tuple[Setting, ...]:
    """The single figures and words."""
    return (
        Setting("Shop_name", "Shop name", TEXT, "", "Your own; shown on Year end."),
        Setting("Currency", "Currency", TEXT, "USD", "Shown over every money column."),
        Setting(
            "As_of_date",
            "Figures as of",
            DATE,
            dt.date(2026, 1, 31),
            "Set this to today whenever you enter something; days held count up to it.",
        ),
        Setting(
            "First_month",
            "First month of this log",
            DATE,
            dt.date(2026, 1, 1),
            "First day of the month in which this log begins.",
        ),
        Setting(
            "Opening_cash",
            "Cash at that start",
            MONEY,
            0,
            "All business money on hand when the log begins.",
        ),
        Setting(
            "Opening_stock",
            "Stock at that start",
            MONEY,
            None,
            "Landed cost of pieces bought before the first month, from the log.",
            formula=stock_before("First_month"),
        ),
        Setting(
            "Usual_packing",
            "Usual packing of a parcel",
            COST,
            0,
            "Counts in break-even prices until the piece is sold.",
        ),
        Setting("Weight_unit", "Weight unit", TEXT, "lb", "", choices=("lb", "kg")),
        Setting("Length_unit", "Length unit", TEXT, "in", "", choices=("in", "cm")),
        Setting(
            "Tax_year", "Tax year", COUNT, 2026, "The year that sheet Year end shows.", unit="year"
        ),
        Setting(
            "Year_start",
            "First day of the tax year",
            DATE,
            None,
            "From the tax year.",
            formula="DATE(Tax_year,1,1)",
        ),
        Setting(
            "Year_end",
            "Last day of the tax year",
            DATE,
            None,
            "From the tax year.",
            formula="DATE(Tax_year,12,31)",
        ),
        Setting(
            "Lines_change",
            "Line numbers change with year",
            COUNT,
            2025,
            "From this tax year on the second column of line numbers holds.",
            unit="year",
        ),
    )


def _plain_column(key: str, header: str, kind: Kind, help_text: str, **rest: Any) -> Column:
    return Column(key, header, kind, help_text, rest.pop("width", 12), **rest)


CHANNEL_COLUMNS: Final = (
    _plain_column("name", "Channel", TEXT, "Your own name for it."),
    _plain_column("rate", "Fee rate", RATE, "Share of the fee base.", unit="%"),
    _plain_column("per_order", "Per order", COST, "Fixed fee for each order.", unit="money"),
    _plain_column(
        "tax_rate", "Tax in fee base", RATE, "Sales tax that the fee is taken on too.", unit="%"
    ),
    _plain_column(
        "band_limit", "Band limit", COST, "Fee base up to which the rate holds.", unit="money"
    ),
    _plain_column("rate_above", "Rate above", RATE, "Rate on the part over it.", unit="%"),
    _plain_column("least", "Least fee", COST, "Lowest fee for an order.", unit="money"),
    _plain_column("most", "Most fee", COST, "Highest fee for an order.", unit="money"),
    _plain_column(
        "ad_rate", "Ad rate", RATE, "Advertising, share of price and shipping.", unit="%"
    ),
)


def _source(row: dict[str, str]) -> str:
    checked = "" if row["status"] == "read" else " (not checked in the original)"
    return row["source"] + checked


def settings_blocks() -> tuple[SettingsBlock, ...]:
    """The small tables below them."""
    headings = tuple(
        (
            row["heading"],
            row["line_to_2024"],
            row["line_from_2025"],
            row["from_the_log"],
            row["what_belongs_here"],
        )
        for row in table_rows("expense_headings")
    )
    mileage = tuple(
        (
            dt.date.fromisoformat(row["valid_from"]),
            dt.date.fromisoformat(row["valid_until"]),
            float(row["value"]),
            _source(row),
        )
        for row in table_rows("mileage")
    )
    return (
        SettingsBlock(
            "Partner",
            "Partners",
            "Who owns the shop; shares add up to 100 %.",
            (
                _plain_column("name", "Partner", TEXT, "Name as it stands in the log."),
                _plain_column("share", "Share", RATE, "Share of the profit.", unit="%"),
            ),
            PARTNER_ROWS,
            (("Partner 1", 1.0),),
        ),
        SettingsBlock(
            "Channel",
            "Channels and their fees",
            "One row for each place where you sell. When its terms change, add a row with a new "
            "name: old sales keep their terms.",
            CHANNEL_COLUMNS,
            CHANNEL_ROWS,
            (("Local sale", 0, 0),),
        ),
        SettingsBlock(
            "Heading",
            "Expense headings",
            "Schedule C line numbers by tax year; change them for other places.",
            (
                _plain_column("heading", "Heading", TEXT, "Name as it stands on Expenses."),
                _plain_column("line_old", "Line to 2024", TEXT, "Line number before the change."),
                _plain_column("line_new", "Line from 2025", TEXT, "Line number since the change."),
                _plain_column(
                    "from_log",
                    "From the log",
                    TEXT,
                    "What the log adds by itself.",
                    choices=FROM_THE_LOG,
                ),
                _plain_column("note", "What belongs here", TEXT, "A reminder.", runs_over=True),
            ),
            HEADING_ROWS,
            headings,
        ),
        SettingsBlock(
            "Mileage",
            "Rate per mile by date",
            "A trip on a date that no row covers has no rate; add the row when it is published.",
            (
                _plain_column("from", "From", DATE, "First day."),
                _plain_column("until", "Until", DATE, "Last day."),
                _plain_column(
                    "rate",
                    "Rate a mile",
                    COST,
                    "Money per mile.",
                    unit="money",
                    cell_format="0.000",
                ),
                _plain_column(
                    "source", "Source", TEXT, "Where the rate was published.", runs_over=True
                ),
            ),
            20,
            mileage,
        ),
        SettingsBlock(
            "Category",
            "Categories",
            "Your own words.",
            (_plain_column("name", "Category", TEXT, "A kind of goods."),),
            20,
            tuple(
                (word,)
                for word in (
                    "Books",
                    "Clothing",
                    "Electronics",
                    "Games and toys",
                    "Household",
                    "Media",
                    "Sports",
                    "Tools",
                    "Other",
                )
            ),
        ),
        SettingsBlock(
            "Condition",
            "Conditions",
            "Your own grades.",
            (_plain_column("name", "Condition", TEXT, "A grade."),),
            10,
            tuple((word,) for word in ("New", "Like new", "Good", "Worn", "For parts")),
        ),
        SettingsBlock(
            "Source",
            "Paid from (made by the workbook)",
            "The choices for Paid from.",
            (
                _plain_column(
                    "name",
                    "Paid from",
                    TEXT,
                    "Business, a piece that came back, or a partner.",
                    formula=Plain(""),
                ),
            ),
            6,
            (
                (f'="{BUSINESS}"',),
                (f'="{RETURNED_PIECE}"',),
                *(
                    (f'=IF(INDEX(Partner_name,{i})="","",INDEX(Partner_name,{i}))',)
                    for i in (1, 2, 3, 4)
                ),
            ),
        ),
        SettingsBlock(
            "Stage",
            "Status words (made by the workbook)",
            "What column Status says.",
            (_plain_column("word", "Status", TEXT, "A status.", formula=Plain("")),),
            len(STAGES),
            tuple((f'="{word}"',) for word in STAGES),
        ),
    )
