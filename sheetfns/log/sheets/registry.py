"""The sheets of the sourcing log, in one layout.

A formula names the cells of its own row by {column} and whole columns by defined names such as
Log_sale_price. Entries stand in the same rows on every sheet, from FIRST_ROW on.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import replace

from sheetfns.log.model.sheets import Layout
from sheetfns.log.sheets.buying_plan.layout import sheet as buying_plan_sheet
from sheetfns.log.sheets.cautions import layout as cautions
from sheetfns.log.sheets.charts.layout import charts_form
from sheetfns.log.sheets.comparables.layout import sheet as comparables_sheet
from sheetfns.log.sheets.data_checks import layout as data_checks
from sheetfns.log.sheets.data_checks.layout import all_checks
from sheetfns.log.sheets.expenses.layout import sheet as expenses_sheet
from sheetfns.log.sheets.forecast.layout import outlook_sheet
from sheetfns.log.sheets.inventory.layout import stock_form
from sheetfns.log.sheets.listing_desk.layout import form as listing_desk_form
from sheetfns.log.sheets.lots.layout import lots_sheet
from sheetfns.log.sheets.money.layout import sheet as money_sheet
from sheetfns.log.sheets.owner_money.layout import sheet as owner_money_sheet
from sheetfns.log.sheets.partners.layout import partners_form
from sheetfns.log.sheets.pay.layout import pay_form
from sheetfns.log.sheets.personal_items.layout import sheet as personal_items_sheet
from sheetfns.log.sheets.settings.layout import settings
from sheetfns.log.sheets.settings.tables import settings_blocks
from sheetfns.log.sheets.shelf_check.layout import form as shelf_check_form
from sheetfns.log.sheets.sourcing_log.layout import sheet as sourcing_log_sheet
from sheetfns.log.sheets.stale_inventory.layout import stale_sheet
from sheetfns.log.sheets.tax_rules import layout as tax_rules
from sheetfns.log.sheets.trips.layout import sheet as trips_sheet
from sheetfns.log.sheets.words import DEFAULT_ROWS, SETTINGS
from sheetfns.log.sheets.year_end.layout import year_form


@functools.lru_cache(maxsize=16)
def layout(rows: int = DEFAULT_ROWS) -> Layout:
    """The layout with `rows` ready rows in the sourcing log and shares of that on other sheets."""

    def share(least: int, part: int) -> int:
        """A part of the rows, and not too few beside a short log."""
        return max(min(least, rows + 50), rows // part)

    tables = (
        buying_plan_sheet(),
        comparables_sheet(share(300, 5)),
        sourcing_log_sheet(rows),
        lots_sheet(share(100, 10)),
        expenses_sheet(share(300, 2)),
        trips_sheet(share(200, 4)),
        personal_items_sheet(share(100, 20)),
        owner_money_sheet(share(100, 5)),
        money_sheet(),
        outlook_sheet(),
        stale_sheet(),
    )
    forms = (
        *(shelf_check_form(), listing_desk_form(), pay_form(), stock_form(), partners_form(), charts_form()),
        year_form(),
    )
    order = (
        *("Shelf", "Plan", "Comps", "Log", "Lots", "Desk", "Expenses", "Trips", "Own", "Owner"),
        *("Money", "Charts", "Pay", "Outlook", "Stock", "Stale", "Partners", "Year"),
    )
    checks = all_checks(tables, forms)
    return Layout(
        settings(),
        settings_blocks(),
        tables,
        forms,
        checks,
        order,
        (*cautions.named_ranges(), *tax_rules.named_ranges(), *data_checks.named_ranges(len(checks))),
        SETTINGS,
        data_checks.CHECK_LABEL,
    )


def layout_of(ready_rows: Mapping[str, int]) -> Layout:
    """The layout of a log that has so many ready rows, by the key of the sheet."""
    plan = layout(ready_rows["Log"])
    tables = tuple(replace(table, ready_rows=ready_rows.get(table.key, table.ready_rows)) for table in plan.tables)
    return replace(plan, tables=tables, checks=all_checks(tables, plan.forms))
