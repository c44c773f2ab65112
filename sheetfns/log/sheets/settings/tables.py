"""Sheet Settings: the small tables below the single figures."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any, Final

from sheetfns.cell_types import (
    COST,
    COUNT,
    DATE,
    DAYS,
    FACTOR,
    LENGTH,
    MONEY,
    QUANTITY,
    RATE,
    TEXT,
    VOLUME,
    WEIGHT,
    CellType,
)
from sheetfns.functions.listing import FILLER_WORDS
from sheetfns.log.model.sheets import Column, Formula, SettingsBlock
from sheetfns.log.sheets.tax_rules.layout import EXPENSE_LINES
from sheetfns.log.sheets.words import (
    A_CHANNEL,
    A_PARTNER,
    AGE_ROWS,
    BOX_ROWS,
    BUSINESS,
    BY_YEAR_ROWS,
    CATEGORY_ROWS,
    CHANNEL_ROWS,
    CONDITION_ROWS,
    DUE_ROWS,
    FROM_THE_LOG,
    HEADING_ROWS,
    PARTNER_ROWS,
    PAYMENTS,
    POSTAGE_COLUMNS,
    REPORTED_ROWS,
    RETURNED_ITEM,
    RULE_ROWS,
    SIDE_ROUNDINGS,
    STAGES,
    STEP_ROWS,
    TAXES_ROWS,
    TEXT_ROWS,
    UNITS,
)
from sheetfns.tables import table_rows


def _plain_column(key: str, header: str, kind: CellType, help_text: str, **rest: Any) -> Column:
    return Column(key, header, kind, help_text, rest.pop("width", 12), **rest)


CHANNEL_COLUMNS: Final = (
    _plain_column("name", "Channel", TEXT, "Your own name for it."),
    _plain_column("rate", "Fee rate", RATE, "Share of the fee base.", unit="%"),
    _plain_column("per_order", "Per order", COST, "Fixed fee for each order.", unit="money"),
    _plain_column("tax_rate", "Tax in fee base", RATE, "Sales tax that the fee is also charged on.", unit="%"),
    _plain_column("band_limit", "Band limit", COST, "Fee base up to which the fee rate applies.", unit="money"),
    _plain_column("rate_above", "Rate above", RATE, "Rate on the part above the limit.", unit="%"),
    _plain_column("minimum", "Minimum fee", COST, "Lowest fee for an order.", unit="money"),
    _plain_column("maximum", "Maximum fee", COST, "Highest fee for an order.", unit="money"),
    _plain_column("ad_rate", "Ad fee rate", RATE, "Advertising fee, as a share of price and shipping.", unit="%"),
    _plain_column(
        "title_limit", "Title limit", COUNT, "Maximum characters in a title; blank: no limit.", unit="characters"
    ),
)


def _source(row: dict[str, str]) -> str:
    checked = "" if row["status"] == "read" else " (not checked in the original)"
    return row["source"] + checked


def settings_blocks() -> tuple[SettingsBlock, ...]:
    """The small tables below them."""
    headings = tuple(
        (row["heading"], row["tax_line"], row["from_the_log"], row["what_belongs_here"])
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
    # fmt: off
    return (
        SettingsBlock(
            "Partner",
            "Partners",
            "Who owns the shop; shares add up to 100%.",
            (
                _plain_column("name", "Partner", TEXT, "Name as used in the log."),
                _plain_column("share", "Share", RATE, "Share of the profit.", unit="%"),
                _plain_column("opening", "Opening balance", MONEY,
                              "Part of opening cash and inventory, with what each paid for that inventory; all blank: "
                              "by the shares.",
                              unit="money"),
            ),
            PARTNER_ROWS,
            ((A_PARTNER, 1.0),),
        ),
        SettingsBlock(
            "Channel",
            "Channels and their fees",
            "One row for each place where you sell. When its terms change, add a row with a new "
            "name: old sales keep their terms.",
            CHANNEL_COLUMNS,
            CHANNEL_ROWS,
            ((A_CHANNEL, 0, 0),),
        ),
        SettingsBlock(
            "Heading",
            "Expense headings",
            "Each belongs to a tax line under the US rules; sheet Tax rules has the line numbers by year.",
            (
                _plain_column("heading", "Heading", TEXT, "Name as used on Expenses."),
                _plain_column("tax_line", "Tax line", TEXT,
                              "Its line on Year end; blank if the rules have no lines.",
                              names="ExpenseLine_name", choices=tuple(label for _, label in EXPENSE_LINES)),
                _plain_column("from_log", "From the log", TEXT, "What the log adds automatically.",
                              choices=FROM_THE_LOG),
                _plain_column("note", "What belongs here", TEXT, "A reminder.", runs_over=True),
            ),
            HEADING_ROWS,
            headings,
        ),
        SettingsBlock(
            "Mileage",
            "Rate per mile by date",
            "A trip on a date that no row covers has no rate; add a row when the rate is published.",
            (
                _plain_column("from", "From", DATE, "First day."),
                _plain_column("until", "Until", DATE, "Last day."),
                _plain_column("rate", "Rate per mile", COST, "Money per mile.", unit="money", cell_format="0.000"),
                _plain_column("source", "Source", TEXT, "Where the rate was published.", runs_over=True),
            ),
            20,
            mileage,
            table_until="rate",
        ),
        SettingsBlock(
            "Category",
            "Categories",
            "Your own words, and the entry of sheet Cautions that applies to each.",
            (
                _plain_column("name", "Category", TEXT, "A kind of goods."),
                _plain_column("caution", "Caution entry", TEXT,
                              "The entry of sheet Cautions that applies; blank: the one with the same name.",
                              names="Caution_category"),
            ),
            CATEGORY_ROWS,
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
            "Your own grades, and what each is worth. Set your own shares: these are examples.",
            (
                _plain_column("name", "Condition", TEXT, "A grade."),
                _plain_column("worth", "Worth", RATE,
                              "Share of the price of a new one; it makes sales in other grades comparable.", unit="%"),
            ),
            CONDITION_ROWS,
            (("New", 1), ("Like new", 0.9), ("Good", 0.75), ("Worn", 0.5), ("For parts", 0.25)),
        ),
        *_tax_blocks(),
        *_inventory_blocks(),
        *_parcel_blocks(),
        *_word_blocks(),
        SettingsBlock(
            "Source",
            "Paid from (made by the workbook)",
            "The choices for Paid from.",
            (
                _plain_column("name", "Paid from", TEXT, "Business, an item that came back, or a partner.",
                              formula=Formula("")),
            ),
            6,
            (
                (f'="{BUSINESS}"',),
                (f'="{RETURNED_ITEM}"',),
                *((f'=IF(INDEX(Partner_name,{i})="","",INDEX(Partner_name,{i}))',) for i in (1, 2, 3, 4)),
            ),
        ),
        SettingsBlock(
            "Stage",
            "Status words (made by the workbook)",
            "What column Status says.",
            (_plain_column("word", "Status", TEXT, "A status.", formula=Formula("")),),
            len(STAGES),
            tuple((f'="{word}"',) for word in STAGES),
        ),
    )
    # fmt: on


FIGURE_TABLES: Final = (
    "wage_base",
    "self_employment",
    "home_office",
    "reporting_threshold",
    "receipts_test",
    "estimated_tax",
)
"""The dated figures of a tax year that stand on Settings."""


def _due_dates() -> tuple[tuple[Any, ...], ...]:
    """The tax years, and the days on which their estimated payments are due."""
    years: dict[int, list[Any]] = {}
    for row in table_rows("estimated_due"):
        year = dt.date.fromisoformat(row["valid_from"]).year
        years.setdefault(year, []).append(dt.date.fromisoformat(row["value"]))
    source = _source(table_rows("estimated_due")[0])
    return tuple((year, *days, source) for year, days in sorted(years.items()))


def _year_column(help_text: str) -> Column:
    return _plain_column("year", "Tax year", COUNT, help_text, cell_format="0")


def _tax_blocks() -> tuple[SettingsBlock, ...]:
    figures = tuple(
        (
            row["figure"],
            dt.date.fromisoformat(row["valid_from"]),
            dt.date.fromisoformat(row["valid_until"]),
            float(row["value"]),
            _source(row),
        )
        for table in FIGURE_TABLES
        for row in table_rows(table)
    )
    # fmt: off
    return (
        SettingsBlock(
            "ByYear",
            "Tax years",
            "What belongs to a whole tax year, one row per year.",
            (
                _year_column("The year, such as 2026."),
                _plain_column("area", "Home office", QUANTITY,
                              "Space used regularly and only for the business; blank: none.", unit="square feet",
                              cell_format="#,##0"),
                _plain_column("months", "Months of use", replace(QUANTITY, maximum=12),
                              "Full months in which it was used; blank: 12.", unit="months", cell_format="0"),
                _plain_column("filed_inventory", "Filed inventory", COST,
                              "Inventory at end of year as filed on the return; the next year must begin with it.",
                              unit="money"),
                _plain_column("note", "Note", TEXT, "Anything to remember.", runs_over=True),
            ),
            BY_YEAR_ROWS,
        ),
        SettingsBlock(
            "Taxes",
            "Taxes of the partners",
            "Each partner's own, by tax year: what raises or lowers the amount that Year end says to set aside.",
            (
                _year_column("The year, such as 2026."),
                _plain_column("partner", "Partner", TEXT, "Whose taxes.", names="Partner_name"),
                _plain_column("wages", "Wages", COST, "From a job, subject to social security tax, in that year.",
                              unit="money"),
                _plain_column("rate", "Income tax rate", RATE,
                              "Marginal tax rate, federal and state; ask a preparer.", unit="%"),
                _plain_column("paid", "Paid so far", COST, "Estimated tax paid for that year.", unit="money"),
            ),
            TAXES_ROWS,
        ),
        SettingsBlock(
            "Reported",
            "What channels reported",
            "Gross amount on a channel's report of a tax year (Form 1099-K in the US), as shown there.",
            (
                _year_column("The year of the report."),
                _plain_column("channel", "Channel", TEXT, "Who reported it.", names="Channel_name"),
                _plain_column("gross", "Reported gross", COST, "As printed.", unit="money"),
            ),
            REPORTED_ROWS,
        ),
        SettingsBlock(
            "TaxFigure",
            "Tax figures by date",
            "US figures; a year that no row covers has none. When a new figure is published, add a row with the same "
            "name.",
            (
                _plain_column("name", "Figure", TEXT, "The name it is looked up by."),
                _plain_column("from", "From", DATE, "First day."),
                _plain_column("until", "Until", DATE, "Last day."),
                _plain_column("value", "Value", COST, "The figure.", cell_format="#,##0.00##"),
                _plain_column("source", "Source", TEXT, "Where it was published.", runs_over=True),
            ),
            len(figures) + 14,
            figures,
            table_until="value",
        ),
        SettingsBlock(
            "Due",
            "Estimated tax: due dates",
            "Dates when the four payments for a tax year are due in the US.",
            (
                _year_column("The year the payments are for."),
                *(
                    _plain_column(f"day_{n}", f"Payment {n}", DATE, f"Payment {n} is due.")
                    for n in range(1, PAYMENTS + 1)
                ),
                _plain_column("source", "Source", TEXT, "Where it was published.", runs_over=True),
            ),
            DUE_ROWS,
            _due_dates(),
            table_until="day_4",
        ),
    )
    # fmt: on


def _inventory_blocks() -> tuple[SettingsBlock, ...]:
    return (
        SettingsBlock(
            "Age",
            "Age classes of inventory",
            "For sheet Inventory: each class begins on its day and ends the day before the next one.",
            (_plain_column("from_day", "From day", DAYS, "Days held; the first is 0.", cell_format="0"),),
            AGE_ROWS,
            ((0,), (31,), (61,), (91,), (181,), (366,)),
            rises=True,
        ),
        SettingsBlock(
            "Markdown",
            "Markdown steps",
            "For sheet Stale inventory: after how many days what share of the asking price comes off. Set your own "
            "steps: these are examples.",
            (
                _plain_column("from_day", "From day", DAYS, "Days since it was listed.", cell_format="0"),
                _plain_column("share", "Markdown", RATE, "Total share of the asking price.", unit="%"),
            ),
            STEP_ROWS,
            ((30, 0.1), (60, 0.2), (90, 0.35)),
            table_until="share",
            table_with_headers=True,
            rises=True,
        ),
    )


def _parcel_blocks() -> tuple[SettingsBlock, ...]:
    rules = tuple(
        (
            row["rule"],
            dt.date.fromisoformat(row["valid_from"]),
            float(row["divisor"]),
            float(row["gate"]),
            row["side_rounding"],
            float(row["weight_step"]),
            row["units"],
            _source(row),
        )
        for row in table_rows("parcel_rules")
    )
    # fmt: off
    return (
        SettingsBlock(
            "Box",
            "Boxes and mailers",
            "Outside dimensions and empty weight of each, in the units above.",
            (
                _plain_column("name", "Box", TEXT, "Your own name for it."),
                _plain_column("length", "Longest side", LENGTH, "Outside dimension.", unit="length"),
                _plain_column("width", "Second side", LENGTH, "Outside dimension.", unit="length"),
                _plain_column("height", "Third side", LENGTH, "Outside dimension.", unit="length"),
                _plain_column("weight", "Empty weight", WEIGHT, "The box alone.", unit="weight"),
            ),
            BOX_ROWS,
        ),
        SettingsBlock(
            "Rule",
            "Parcel rules by date",
            "How a carrier calculates weight. Keep the rows of one rule together, by date. Ask your carrier for its "
            "rule.",
            (
                _plain_column("name", "Rule", TEXT, "Your own name for it."),
                _plain_column("from", "From", DATE, "First day on which the row applies."),
                _plain_column("divisor", "Divisor", FACTOR,
                              "Volume that counts as one unit of weight; blank: only weight counts.",
                              cell_format="#,##0"),
                _plain_column("gate", "Over volume", VOLUME, "Volume counts only above it."),
                _plain_column("side_rounding", "Sides rounded", TEXT, "To full units: none, nearest or up.",
                              choices=SIDE_ROUNDINGS),
                _plain_column("weight_step", "Weight step", WEIGHT,
                              "Weight rounds up to the next full step; blank: not rounded."),
                _plain_column("units", "Units", TEXT, "Units of this row; blank: those of this log.", choices=UNITS),
                _plain_column("source", "Source", TEXT, "Where you read it.", runs_over=True),
            ),
            RULE_ROWS,
            rules,
        ),
        SettingsBlock(
            "Service",
            "Postage services",
            "Each service and zone that you use. The first row's prices are in column No. 1 of "
            "the postage table, the second row's in No. 2, and so on.",
            (
                _plain_column("name", "Service and zone", TEXT, "Your own name for it."),
                _plain_column("rule", "Parcel rule", TEXT, "Its parcel rule; blank: actual weight.", names="Rule_name"),
            ),
            POSTAGE_COLUMNS,
        ),
        SettingsBlock(
            "Postage",
            "Postage table",
            "What a shipping label costs: a row for each weight, rising, and a column for each service.",
            (
                _plain_column("up_to", "Up to weight", WEIGHT, "The row applies up to this weight."),
                *(
                    _plain_column(f"no_{place}", f"No. {place}", COST, f"Price of service no. {place}.", unit="money")
                    for place in range(1, POSTAGE_COLUMNS + 1)
                ),
            ),
            30,
            table_until=f"no_{POSTAGE_COLUMNS}",
            table_with_headers=True,
            rises=True,
        ),
    )
    # fmt: on


_TEXT_LINES: Final = (
    "{description}",
    "Condition: {condition}",
    "Missing or faulty: {missing}",
    "Parcel: {weight}, {sides}",
    "Item no. {item}. Please ask before you buy; you get an answer within a day.",
)


def _word_blocks() -> tuple[SettingsBlock, ...]:
    return (
        SettingsBlock(
            "Filler",
            "Filler words in titles",
            "Words that nobody searches for; Listing desk flags them.",
            (_plain_column("word", "Filler word", TEXT, "One word or phrase."),),
            20,
            tuple((word,) for word in FILLER_WORDS),
        ),
        SettingsBlock(
            "Text",
            "Description text",
            "One row per line. Listing desk fills in {description}, {category}, {condition}, {missing}, {item}, "
            "{weight}, {sides}; enter them in lower case.",
            (_plain_column("line", "Line", TEXT, "One line of text.", runs_over=True),),
            TEXT_ROWS,
            tuple((line,) for line in _TEXT_LINES),
        ),
    )
