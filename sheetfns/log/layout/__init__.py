"""What the sourcing log consists of, declared once: sheets, columns, formulas, checks.

A formula names the cells of its own row by {column} and whole columns by defined names such as
Log_sale_price. Entries stand in the same rows on every sheet, from FIRST_ROW on.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import replace

from sheetfns.log.layout.blocks import settings_blocks
from sheetfns.log.layout.buying_plan import buying_plan_sheet
from sheetfns.log.layout.charts import charts_form
from sheetfns.log.layout.checks import all_checks
from sheetfns.log.layout.comparables import comparables_sheet
from sheetfns.log.layout.costs import expenses_sheet, own_things_sheet, trips_sheet
from sheetfns.log.layout.desk import desk_form
from sheetfns.log.layout.lots import lots_sheet
from sheetfns.log.layout.months import money_sheet
from sheetfns.log.layout.outlook import outlook_sheet
from sheetfns.log.layout.owner_money import owner_money_sheet
from sheetfns.log.layout.partners import partners_form
from sheetfns.log.layout.pay import pay_form
from sheetfns.log.layout.pieces import pieces_sheet
from sheetfns.log.layout.settings import settings
from sheetfns.log.layout.shelf import shelf_form
from sheetfns.log.layout.stale import stale_sheet
from sheetfns.log.layout.stock import stock_form
from sheetfns.log.layout.words import *  # noqa: F403  (the words belong to the layout)
from sheetfns.log.layout.words import DEFAULT_ROWS
from sheetfns.log.layout.year import year_form
from sheetfns.log.sheets import Layout


@functools.lru_cache(maxsize=16)
def layout(rows: int = DEFAULT_ROWS) -> Layout:
    """The layout with `rows` ready rows in the sourcing log and shares of that on other sheets."""

    def share(least: int, part: int) -> int:
        """A part of the rows, and not too few beside a short log."""
        return max(min(least, rows + 50), rows // part)

    tables = (
        buying_plan_sheet(),
        comparables_sheet(share(300, 5)),
        pieces_sheet(rows),
        lots_sheet(share(100, 10)),
        expenses_sheet(share(300, 2)),
        trips_sheet(share(200, 4)),
        own_things_sheet(share(100, 20)),
        owner_money_sheet(share(100, 5)),
        money_sheet(),
        outlook_sheet(),
        stale_sheet(),
    )
    forms = (
        *(shelf_form(), desk_form(), pay_form(), stock_form(), partners_form(), charts_form()),
        year_form(),
    )
    order = (
        *("Shelf", "Plan", "Comps", "Log", "Lots", "Desk", "Expenses", "Trips", "Own", "Owner"),
        *("Money", "Charts", "Pay", "Outlook", "Stock", "Stale", "Partners", "Year"),
    )
    return Layout(settings(), settings_blocks(), tables, forms, all_checks(tables, forms), order)


def layout_of(ready_rows: Mapping[str, int]) -> Layout:
    """The layout of a log that has so many ready rows, by the key of the sheet."""
    plan = layout(ready_rows["Log"])
    tables = tuple(
        replace(table, ready_rows=ready_rows.get(table.key, table.ready_rows))
        for table in plan.tables
    )
    return replace(plan, tables=tables, checks=all_checks(tables, plan.forms))
