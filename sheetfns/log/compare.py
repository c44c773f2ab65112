"""The workbook's figures against Python's: every result cell, to the cent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.figures import LogFigures
from sheetfns.log.layout import CATEGORY_ROWS, LABELS, SHELF_PRICES, TEXT_ROWS, TRIPS_LISTED, layout
from sheetfns.log.layout.partners import partners_form
from sheetfns.log.layout.year import year_form
from sheetfns.log.sheets import FormSheet, TableSheet

TOLERANCE: Final = 1e-7
"""Far below a cent; rates are compared to the same figure."""
NOT_COMPARED: Final = frozenset(
    {
        # The steps of sharing a lot; the shares themselves are compared.
        *("lot_row", "day_typed", "lot_exact", "lot_floor", "lot_key", "lot_left", "lot_cents"),
        # Steps that Python does in another way.
        *("channel_row", "stage", "findings", "money_in", "money_out", "month_end"),
        *("last_count", "count_row", "lacking_no"),
        # The steps of a weighted quantile and of a ranking; their results are compared.
        *("first_row", "lacks", "my_worth", "worth", "key", "number", "rank_of_price", "center"),
        *(
            "distance",
            "distance_key",
            "distance_rank",
            "spread",
            "used",
            "weight",
            "square",
            "day",
            "latest",
        ),
        *("weight_to", "weight_all", "effective", "low_part", "middle_part", "high_part"),
        *("most_used", "days_used", "all_cost", "cost_used", "profit_used", "counts"),
        # Steps of a week ahead; its cash, stock, pay and what is owed are compared.
        *("cost_sold", "came_in", "bought", "left_over", "before_pay", "short_week"),
        # Words of the reader of the log say more than those of the row.
        "row_check",
    }
)
NOT_COMPARED_IN_FORMS: Final = frozenset(
    {
        # Steps of Pay to words and weeks.
        *("left_bills", "left_refunds", "left_stock", "count_row", "cash_in", "cash_out"),
        *(f"remark_{i}" for i in range(1, 6)),
        *("weeks_of_stock", "weeks_to_turn", "whole_weeks", "later_part", "odds_ready"),
        # Steps to the prices of Shelf check, and words of them.
        *(
            f"{step}_{i}"
            for step in ("basis", "distance", "kept")
            for i in range(1, SHELF_PRICES + 1)
        ),
        *("number", "center", "spread", "used", "too_dear", "wishes", "limit_words"),
        *("comps_row", "channel_row", "postage_used", "to_mend", "typed_remark", "low_fee"),
        *("asks_prices", "asks_more", "item_low", "item_middle", "item_high", "item_remark"),
        "most_in_all",
        # Steps to the parcel and the description of Listing desk.
        *("piece_row", "weight_logged", "sides_logged", "box_row", "box_weight", "label_check"),
        *("service_row", "service_column", "rule", "rule_row", "rule_divisor", "rule_gate"),
        *("rule_side_rounding", "rule_weight_step", "length_counted", "width_counted"),
        *("height_counted", "volume", "weight_or_size", "table_price", "table_weight"),
        *("no_postage_words", "no_price_words", "rule_place"),
        *(f"line_{i}" for i in range(1, TEXT_ROWS + 2)),
        *(f"{part}_{i}" for part in ("label", "value") for i in range(1, LABELS + 1)),
        # Steps to the words of a category and the rank of a place on Stock.
        *(
            f"{step}_{i}"
            for step in ("age_no", "category_no", "category_word", "category_first", "place_no")
            for i in range(1, CATEGORY_ROWS + 1)
        ),
        # Steps of sharing to the cent on Partners; the parts are compared.
        *(cell.key for cell in partners_form().cells() if cell.working),
        # Steps of the year's figures, and words of the rows of trips.
        *(cell.key for cell in year_form().cells() if cell.working),
        "lacking_all",
        *(
            f"{key}_{n}"
            for key in ("lacking", "lacking_day", "lacking_what")
            for n in range(1, TRIPS_LISTED + 1)
        ),
    }
)


@dataclass(frozen=True)
class Difference:
    """A figure that the workbook and Python do not agree on."""

    sheet: str
    row: int
    column: str
    shown: Any
    worked_out: Any

    def __str__(self) -> str:
        return (
            f"{self.sheet}, row {self.row}, {self.column}: the workbook shows {self.shown}, "
            f"Python works out {self.worked_out}"
        )


@dataclass(frozen=True)
class Comparison:
    """How many figures were compared, and those that differ."""

    compared: int
    differences: list[Difference]


def compare(figures: LogFigures, shown: dict[str, pd.DataFrame] | None = None) -> Comparison:
    """Compare what a workbook shows with what Python works out from its entries.

    Args:
        figures: see `work_out`.
        shown: the workbook's results by sheet; those stored in the file if left out.
    """
    shown = figures.content.shown if shown is None else shown
    frames = {
        "Log": figures.pieces,
        "Lots": figures.lots,
        "Trips": figures.trips,
        "Own": figures.own,
        "Expenses": figures.expenses,
        "Owner": figures.owner,
        "Money": figures.months,
        "Comps": figures.comparables,
        "Plan": figures.plan,
        "Outlook": figures.outlook,
        "Stale": figures.stale,
    }
    found = [
        *(_of_table(table, shown[table.key], frames[table.key]) for table in layout().tables),
        *(_of_form(form, shown[form.key], figures.forms[form.key]) for form in layout().forms),
    ]
    return Comparison(
        sum(part.compared for part in found), [one for part in found for one in part.differences]
    )


def _of_table(table: TableSheet, cells: pd.DataFrame, worked: pd.DataFrame) -> Comparison:
    compared = 0
    differences = []
    for column in table.columns:
        if column.role == "input" or column.key in NOT_COMPARED:
            continue
        theirs = cells[column.key].to_numpy()
        ours = worked[column.key].to_numpy()[: len(theirs)]
        theirs = theirs[: len(ours)]
        compared += len(ours)
        for place in np.flatnonzero(~_same(theirs, ours)):
            row = int(cells["sheet_row"].iloc[place])
            differences.append(
                Difference(table.name, row, column.header, theirs[place], ours[place])
            )
    return Comparison(compared, differences)


def _of_form(form: FormSheet, cells: pd.DataFrame, worked: pd.DataFrame) -> Comparison:
    keys = [
        cell.key
        for cell in form.cells()
        if cell.role != "input" and cell.key not in NOT_COMPARED_IN_FORMS
    ]
    # Cell by cell the frames' own work would take most of the time.
    types = worked[keys].dtypes
    numbers = [key for key in keys if pd.api.types.is_numeric_dtype(types[key])]
    rest = [key for key in keys if key not in set(numbers)]
    shown, figures = cells.iloc[0].to_dict(), worked.iloc[0].to_dict()
    good = dict.fromkeys(keys, True)
    if numbers:
        theirs = [shown[key] for key in numbers]
        ours = np.array([figures[key] for key in numbers], dtype=float)
        good |= dict(zip(numbers, _same(theirs, ours).tolist(), strict=True))
    for key in rest:
        good[key] = bool(_same(cells[key].to_numpy(), worked[key].to_numpy()).all())
    differences = [
        Difference(form.name, 0, key, shown[key], figures[key]) for key in keys if not good[key]
    ]
    return Comparison(len(keys), differences)


def _same(theirs: Any, ours: Any) -> Any:
    """Equal, or both blank; dates and numbers by value, words by letter."""
    if pd.api.types.is_numeric_dtype(ours):
        left = pd.to_numeric(pd.Series(theirs), errors="coerce").to_numpy(float)
        right = np.asarray(ours, dtype=float)
        return (np.abs(left - right) <= TOLERANCE) | (np.isnan(left) & np.isnan(right))
    if pd.api.types.is_datetime64_any_dtype(ours):
        left = pd.to_datetime(pd.Series(theirs)).to_numpy()
        return (left == ours) | (pd.isna(left) & pd.isna(ours))
    return np.array([str(a) == str(b) for a, b in zip(theirs, ours, strict=True)], dtype=bool)
