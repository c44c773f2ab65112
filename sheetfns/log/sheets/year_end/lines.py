"""Sheet Year end: every figure of the tax year, and where it comes from."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Final

from sheetfns.cell_types import MONEY, TEXT
from sheetfns.log.model.sheets import AnyFormula, FormCell, FormRow, Formula, FunctionCall
from sheetfns.log.sheets.columns import inventory_before
from sheetfns.log.sheets.tax_rules.layout import EXPENSE_LINES
from sheetfns.log.sheets.words import DONATED, FROM_THE_LOG, HEADING_ROWS, PERSONAL_USE

_HEADINGS: Final = range(1, HEADING_ROWS + 1)


def in_year(amount: str, day: str, also: str = "") -> str:
    """A sum over the rows dated within the tax year."""
    return f'SUMIFS({amount},{day},">="&Year_start,{day},"<"&Year_end+1{also})'


def left_in_year(how: str) -> str:
    """Landed cost of the items that left in a way other than by sale within the tax year."""
    return in_year("Log_landed_cost", "Log_disposition_date", f',Log_disposition,"{how}"')


@dataclass(frozen=True)
class YearFigure:
    """One figure of the year; {key} is another. A part from the log and one typed, if it has both.

    `name` is a formula for the label of an expense heading.
    """

    key: str
    label: str
    amount: AnyFormula
    from_log: Formula | None = None
    entered: Formula | None = None
    name: str = ""


def _plain(key: str, label: str, text: str) -> YearFigure:
    return YearFigure(key, label, Formula(f"ROUND({text},2)"))


_FROM_THE_LOG: Final = {
    "fees": ("Fees of the channels", in_year("Log_fee", "Log_sold_on")),
    "postage": ("Postage paid", in_year("Log_postage_used", "Log_sold_on")),
    "packaging": ("Packaging per parcel", in_year("Log_packaging_used", "Log_sold_on")),
    "miles": ("Miles at the rate of their date", f"{in_year('Trips_deduction', 'Trips_driven_on')}*{{miles_count}}"),
}
"""What the log adds to the expense heading that names it on Settings."""


def _heading(place: int) -> YearFigure:
    """One expense heading: what the log adds, what stands on Expenses, and both together."""
    named = f"INDEX(Heading_from_log,{place})"
    from_log = "+".join(f'({named}="{word}")*{{log_{word}}}' for word in FROM_THE_LOG)
    unused = f'INDEX(Heading_heading,{place})=""'
    spent = in_year("Expenses_amount", "Expenses_spent_on", f",Expenses_heading,INDEX(Heading_heading,{place})")
    key = f"heading_{place}"
    return YearFigure(
        key,
        "",
        Formula(f"ROUND({{{key}_log}}+{{{key}_entered}},2)", unused),
        Formula(f"ROUND({from_log},2)", unused),
        Formula(f"ROUND({spent},2)", unused),
        f'IF({unused},"",INDEX(Heading_heading,{place}))',
    )


@functools.cache
def year_figures() -> tuple[YearFigure, ...]:
    """The figures of a tax year in the order in which they come about."""
    opening, closing = inventory_before("Year_start"), inventory_before("Year_end+1")
    bought = (
        f"{in_year('Log_outlay', 'Log_inventory_date')}-{in_year('Log_prep_cost', 'Log_inventory_date')}"
        f"+{in_year('Lots_total', 'Lots_bought_on')}"
    )
    to_cost = ("opening", "purchases", "personal_use", "closing", "labor", "materials", "other")
    cells = (
        *("opening_inventory", "purchases", "personal_use", "closing_inventory"),
        *("labor", "materials", "other_costs"),
    )
    # fmt: off
    cost_of_goods_sold = FunctionCall("COST_OF_GOODS_SOLD",
                                      {name: f"{{{cell}}}" for name, cell in zip(to_cost, cells, strict=True)},
                                      around="ROUND({},2)")
    # fmt: on
    first, last = (f"{{heading_{place}}}" for place in (1, HEADING_ROWS))
    return (
        _plain("gross_receipts", "Prices and shipping of the year's sales", in_year("Log_income", "Log_sold_on")),
        _plain("returns", "Refunds paid in the year", in_year("Log_refund", "Log_refund_day")),
        _plain("net_receipts", "Receipts less refunds", "{gross_receipts}-{returns}"),
        _plain("opening_inventory", "Inventory at cost on the first day", opening),
        _plain("purchases", "Items and lots bought, with tax", bought),
        _plain(
            "personal_use",
            "Taken for personal use or donated, at cost",
            f"{left_in_year(PERSONAL_USE)}+{left_in_year(DONATED)}",
        ),
        _plain("net_purchases", "Bought less personal use", "{purchases}-{personal_use}"),
        YearFigure("labor", "Labor in the cost of items", Formula("0")),
        _plain("materials", "Prep cost of items", in_year("Log_prep_cost", "Log_inventory_date")),
        YearFigure("other_costs", "Other cost of items", Formula("0")),
        _plain("purchases_in_all", "All that went into inventory", "{net_purchases}+{labor}+{materials}+{other_costs}"),
        _plain("available", "Available for sale", "{opening_inventory}+{purchases_in_all}"),
        _plain("closing_inventory", "Inventory at cost on the last day", closing),
        _plain("inventory_change", "Change of inventory at cost", "{closing_inventory}-{opening_inventory}"),
        YearFigure("cost_of_goods_sold", "Cost of goods sold", cost_of_goods_sold),
        _plain("gross_profit", "Gross profit", "{net_receipts}-{cost_of_goods_sold}"),
        _plain("gross_income", "Gross income", "{gross_profit}"),
        *(_plain(f"log_{word}", label, formula) for word, (label, formula) in _FROM_THE_LOG.items()),
        *(_heading(place) for place in _HEADINGS),
        *(_plain(key, label, f'SUMIFS({first}:{last},Heading_tax_line,"{label}")') for key, label in EXPENSE_LINES),
        _plain("total_expenses", "Total expenses", f"SUM({first}:{last})"),
        _plain("tentative_profit", "Tentative profit", "{gross_profit}-{total_expenses}"),
        _plain("home_office", "Home office", "{office_counted}"),
        _plain("net_profit", "Net profit of the year", "{tentative_profit}-{home_office}"),
    )


FIGURE_KEYS: Final = tuple(figure.key for figure in year_figures())


def figure_label(key: str) -> str:
    """What sheet Year end calls a figure."""
    figure = next(figure for figure in year_figures() if figure.key == key)
    return figure.label or f"Expense heading {key.removeprefix('heading_')}"


def figure_rows() -> tuple[FormRow, ...]:
    """A row for each: label, the part from the log, the part typed, and the amount."""

    def cell(key: str, formula: AnyFormula | None) -> FormCell:
        return FormCell(key, MONEY, formula=formula or Formula('""'), look="" if formula else "note")

    # fmt: off
    return tuple(
        FormRow(
            cells=(
                FormCell(f"{figure.key}_label", TEXT, formula=Formula(figure.name or f'"{figure.label}"'),
                         look="label"),
                cell(f"{figure.key}_log", figure.from_log),
                cell(f"{figure.key}_entered", figure.entered),
                cell(figure.key, figure.amount),
            ),
            heads_row=True,
        )
        for figure in year_figures()
    )
    # fmt: on
