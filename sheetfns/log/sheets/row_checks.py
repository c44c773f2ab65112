"""What the row checks of each sheet say, worked out in Python, apart from the formulas."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.model.sheets import TableSheet
from sheetfns.log.read.log_reader import LogContent
from sheetfns.log.sheets.registry import layout
from sheetfns.log.sheets.words import BY_DAY
from sheetfns.money import round_money

_AS_CHECK: Final = {"not_a_date": "not_a_number", "only_spaces": "not_a_number", "not_whole": "part"}
"""What the reader tells apart and the sheet does not."""
NOT_KNOWN: Final = "(not known)"
"""In the place of words that cannot be known; they are not compared."""
_LONGEST: Final = 300
"""Letters of a row check."""
Verdicts = dict[str, "pd.Series[bool]"]


def add_findings(content: LogContent, sheets: Mapping[str, pd.DataFrame]) -> None:
    """Add findings and row_check to the typed rows of each sheet.

    The reader judges entries, under the keys of the checks; what judges figures is added here. Of
    a row with an entry that no check knows, such as a name with a star, NOT_KNOWN is said: a sheet
    may make anything of it.
    """
    of_figures = {
        "Log": _of_pieces(sheets["Log"]),
        "Lots": _of_lots(sheets["Lots"]),
        "Owner": {"count_differs": sheets["Owner"]["difference"].fillna(0) != 0},
        "Plan": _of_plan(content, sheets["Plan"]),
    }
    said = _said_by_reader(content)
    for table in layout().tables:
        if table.checks:
            _add(table, sheets[table.key], said, of_figures.get(table.key, {}))


def _said_by_reader(content: LogContent) -> set[tuple[str, int, str]]:
    """Sheet, row and key of the check of every problem in a row."""
    keys = {place.sheet: key for key, place in content.places.items()}
    return {
        (
            keys.get(problem.sheet, ""),
            int("".join(filter(str.isdigit, problem.cell)) or 0),
            _AS_CHECK.get(problem.key, problem.key),
        )
        for problem in content.problems
    }


def _add(table: TableSheet, rows: pd.DataFrame, said: set[tuple[str, int, str]], of_figures: Verdicts) -> None:
    findings = pd.Series("", rows.index, dtype=object)
    for check in table.checks:
        wrong = np.array([(table.key, row, check.key) in said for row in rows["sheet_row"]], bool)
        if check.key in of_figures:
            wrong |= of_figures[check.key].to_numpy(bool)
        findings = findings + np.where(wrong, f"; {check.message}", "")
    known = {check.key for check in table.checks}
    odd_rows = {row for key, row, problem in said if key == table.key and problem not in known}
    odd = rows["sheet_row"].isin(odd_rows).to_numpy(bool)
    rows["findings"] = np.where(odd, NOT_KNOWN, findings)
    named = rows[table.columns[0].key]
    blank = (named == "") if table.columns[0].kind.holds == "text" else named.isna()
    fine = np.where(blank, "", "ok")
    row_check = np.where(findings == "", fine, findings.str[2 : 2 + _LONGEST])
    rows["row_check"] = np.where(odd, NOT_KNOWN, row_check)


def _of_pieces(pieces: pd.DataFrame) -> Verdicts:
    off = (pieces["fee_charged"] - pieces["fee_by_terms"]).abs().to_numpy(float)
    return {"fee_differs": pd.Series(round_money(off) > 0.01, pieces.index)}


def _of_lots(lots: pd.DataFrame) -> Verdicts:
    named = lots["lot_no"] != ""
    return {
        "not_added_up": named & (lots["pieces"] > 0) & (lots["not_shared"].fillna(0) != 0),
        "no_pieces": named & (lots["pieces"] == 0),
    }


def _of_plan(content: LogContent, plan: pd.DataFrame) -> Verdicts:
    """Where text or an amount below 0 stands, the sheet asks for the figure as well."""
    unread = content.unread.get("Plan", {})
    named = plan["piece"] != ""

    def no_number(key: str, least: float) -> Any:
        typed = [unread.get((row, key)) for row in plan["sheet_row"]]
        return pd.Series(
            [cell is not None and not (isinstance(cell, (int, float)) and cell > least) for cell in typed],
            plan.index,
            dtype=bool,
        )

    verdicts = {"no_price": named & (no_number("ticket", -np.inf) | no_number("expected_price", -np.inf))}
    if str(content.settings.get("Plan_by") or "").casefold() == BY_DAY.casefold():
        verdicts["no_days"] = named & no_number("days_to_sell", 0.0)
    return verdicts
