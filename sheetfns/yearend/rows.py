"""The rows of a log by the line of the year's statement that they belong to."""

from __future__ import annotations

from typing import Final

import pandas as pd

from sheetfns.cell_types import counted
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.tax_rules.layout import EXPENSE_LINES
from sheetfns.log.sheets.words import FROM_THE_LOG
from sheetfns.log.sheets.year_end.compute import SummaryLine, YearFigures
from sheetfns.money import round_money

COLUMNS: Final = (*("target", "line", "label", "day", "sheet", "sheet_row", "item", "what", "amount"),)
_TARGETS: Final = {
    "gross_receipts": (("gross_receipts", 1),),
    "returns": (("returns", 1),),
    "purchases": (("net_purchases", 1), ("purchases_in_all", 1)),
    "personal_use": (("net_purchases", -1), ("purchases_in_all", -1)),
    "materials": (("materials", 1), ("purchases_in_all", 1)),
    "opening_inventory": (("opening_inventory", 1), ("inventory_change", -1)),
    "closing_inventory": (("closing_inventory", 1), ("inventory_change", 1)),
}
"""Which figure takes a row, and with which sign: the first that the rules have a line for."""


def rows_by_line(figures: YearFigures, content: LogContent) -> pd.DataFrame:
    """Every row that counts in the year under its line, in the order of the lines.

    Returns:
        target: the key of the line's figure, "" if no line takes the row; line: its number; label;
        day, sheet, sheet_row, item, what; amount, signed so that a line is the sum of its rows.
    """
    lines = _lines_with_rows(figures)
    order = {key: place for place, key in enumerate(lines)}
    by_figure = _targets_of_figures(figures, content, lines)
    rows = figures.rows.copy()
    if not figures.miles_count:
        rows = rows[rows["figure"] != "log_miles"]
    if figures.amounts["home_office"] and "home_office" in lines:
        rows = pd.concat([rows, _home_office(figures)], ignore_index=True)
    targets = [by_figure.get(figure, ("", 1)) for figure in rows["figure"]]
    rows["target"] = [target for target, _ in targets]
    rows["amount"] = [sign * amount for (_, sign), amount in zip(targets, rows["amount"], strict=True)]
    rows["line"] = [lines[key].line.line if key else "" for key in rows["target"]]
    rows["label"] = [lines[key].label if key else "" for key in rows["target"]]
    rows["place"] = [order.get(key, len(order)) for key in rows["target"]]
    rows["day"] = pd.to_datetime(rows["day"])
    rows = rows.sort_values(["place", "day", "sheet", "sheet_row"], kind="stable")
    return rows[list(COLUMNS)].reset_index(drop=True)


def sums_that_differ(figures: YearFigures, rows: pd.DataFrame) -> list[str]:
    """Lines that are not the sum of their rows, in words; and rows that no line takes."""
    found = []
    sums = rows.groupby("target")["amount"].sum()
    for key, line in _lines_with_rows(figures).items():
        amount, added = line.amount or 0.0, float(round_money(float(sums.get(key, 0.0))))
        if round_money(added - amount) != 0:
            found.append(f"{line.label} is {amount:,.2f}, but its rows add up to {added:,.2f}; please report this")
    loose = rows[rows["target"] == ""]
    if len(loose):
        one = loose.iloc[0]
        found.append(
            f"{counted(len(loose), 'row')} without a line (the first: {one['sheet']}, row {one['sheet_row']}); "
            "give each heading a tax line on Settings"
        )
    return found


def _lines_with_rows(figures: YearFigures) -> dict[str, SummaryLine]:
    """The lines that are sums of rows, by the key of their figure; the others are arithmetic."""
    keys = {target for targets in _TARGETS.values() for target, _ in targets}
    keys |= {key for key, _ in EXPENSE_LINES} | {"home_office"}
    return {
        line.line.figure: line
        for line in figures.lines
        if line.line.figure in keys or line.line.figure.startswith("heading_")
    }


def _targets_of_figures(
    figures: YearFigures, content: LogContent, lines: dict[str, SummaryLine]
) -> dict[str, tuple[str, int]]:
    found = {"home_office": ("home_office", 1)}
    for figure, targets in _TARGETS.items():
        for target, sign in targets:
            if target in lines and figure not in found:
                found[figure] = (target, sign)
    expense_lines = {label.casefold(): key for key, label in EXPENSE_LINES}
    words = {word.casefold() for word in FROM_THE_LOG}
    blocks = content.blocks["Heading"]
    named = blocks.loc[blocks["heading"] != "", "from_log"].str.casefold()
    for heading, word in zip(figures.headings.to_dict("records"), named, strict=True):
        target = f"heading_{heading['place']}"
        if target not in lines:
            target = expense_lines.get(str(heading["tax_line"]).casefold(), "")
        target = target if target in lines else ""
        found[f"entered_{heading['place']}"] = (target, 1)
        if word in words:
            found[f"log_{word}"] = (target, 1)
    return found


def _home_office(figures: YearFigures) -> pd.DataFrame:
    """One row that says how the home office comes about."""
    cells = figures.cells
    what = (
        f"{cells['office_area']:g} square feet, {cells['office_months']:g} months: "
        f"{cells['office_simple']:,.2f} at the rate; counted up to the tentative profit"
    )
    return pd.DataFrame(
        {
            "figure": ["home_office"],
            "day": [pd.NaT],
            "sheet": ["Year end"],
            "sheet_row": [0],
            "item": [""],
            "what": [what],
            "amount": [figures.amounts["home_office"]],
        }
    )
