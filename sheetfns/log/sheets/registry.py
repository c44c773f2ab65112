"""The sheets of the sourcing log, in one layout.

A formula names the cells of its own row by {column} and whole columns by defined names such as
Log_sale_price. Entries stand in the same rows on every sheet, from FIRST_ROW on.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import replace

from sheetfns.log.model.sheets import Layout
from sheetfns.log.sheets.buying_plan import layout as buying_plan
from sheetfns.log.sheets.cautions import layout as cautions
from sheetfns.log.sheets.charts import layout as charts
from sheetfns.log.sheets.comparables import layout as comparables
from sheetfns.log.sheets.data_checks import layout as data_checks
from sheetfns.log.sheets.expenses import layout as expenses
from sheetfns.log.sheets.forecast import layout as forecast
from sheetfns.log.sheets.home import layout as home
from sheetfns.log.sheets.inventory import layout as inventory
from sheetfns.log.sheets.listing_desk import layout as listing_desk
from sheetfns.log.sheets.lots import layout as lots
from sheetfns.log.sheets.money import layout as money
from sheetfns.log.sheets.owner_money import layout as owner_money
from sheetfns.log.sheets.partners import layout as partners
from sheetfns.log.sheets.pay import layout as pay
from sheetfns.log.sheets.personal_items import layout as personal_items
from sheetfns.log.sheets.settings.layout import settings
from sheetfns.log.sheets.settings.tables import settings_blocks
from sheetfns.log.sheets.shelf_check import layout as shelf_check
from sheetfns.log.sheets.sourcing_log import layout as sourcing_log
from sheetfns.log.sheets.stale_inventory import layout as stale_inventory
from sheetfns.log.sheets.tax_rules import layout as tax_rules
from sheetfns.log.sheets.trips import layout as trips
from sheetfns.log.sheets.words import DEFAULT_ROWS, SETTINGS
from sheetfns.log.sheets.year_end import layout as year_end


@functools.lru_cache(maxsize=16)
def log_layout(rows: int = DEFAULT_ROWS) -> Layout:
    """The layout with `rows` ready rows in the sourcing log and shares of that on other sheets."""

    def share(minimum: int, part: int) -> int:
        """A part of the rows, and not too few beside a short log."""
        return max(min(minimum, rows + 50), rows // part)

    tables = (
        buying_plan.sheet(),
        comparables.sheet(share(300, 5)),
        sourcing_log.sheet(rows),
        lots.sheet(share(100, 10)),
        expenses.sheet(share(300, 2)),
        trips.sheet(share(200, 4)),
        personal_items.sheet(share(100, 20)),
        owner_money.sheet(share(100, 5)),
        money.sheet(),
        forecast.sheet(),
        stale_inventory.sheet(),
    )
    forms = (
        home.form(),
        *(shelf_check.form(), listing_desk.form(), pay.form(), inventory.form(), partners.form(), charts.form()),
        year_end.form(),
    )
    order = (
        "Home",
        *("Shelf", "Plan", "Comps", "Log", "Lots", "Desk", "Expenses", "Trips", "Personal", "Owner"),
        *("Money", "Charts", "Pay", "Forecast", "Inventory", "Stale", "Partners", "Year"),
    )
    checks = data_checks.all_checks(tables, forms)
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
    whole = log_layout(ready_rows["Log"])
    tables = tuple(replace(table, ready_rows=ready_rows.get(table.key, table.ready_rows)) for table in whole.tables)
    return replace(whole, tables=tables, checks=data_checks.all_checks(tables, whole.forms))
