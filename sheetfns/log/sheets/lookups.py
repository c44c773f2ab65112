"""What the workings of several sheets share: functions on rows, look-ups, fee terms, cautions."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns import calling
from sheetfns.cell_types import Column
from sheetfns.functions.cautions import resale_caution
from sheetfns.log.sheets.columns import FEE_TERMS
from sheetfns.log.sheets.reference_lists import Names
from sheetfns.log.sheets.row_checks import NOT_KNOWN
from sheetfns.log.sheets.words import SETTINGS
from sheetfns.money import round_money
from sheetfns.registry import REGISTRY

_DAY_ZERO: Final = pd.Timestamp(1899, 12, 30)
"""The day that spreadsheets count as 0."""
CENT_NOISE: Final = 0.005
"""Amounts of money that differ by less than half a cent are the same amount."""
_REST_DIGITS: Final = 6


def called(name: str, rows: pd.Series[bool], **columns: Any) -> Column:
    """A function on some rows, of columns or figures; NaN on the others and where the function gives an error."""
    spec = REGISTRY[name]
    chosen = rows.to_numpy(bool)
    result = np.full(len(rows), np.nan)
    if not chosen.any():
        return result
    cells = [
        np.broadcast_to(np.asarray(columns[a.name], dtype=float), chosen.shape)[chosen]
        if a.name in columns
        else calling.MISSING
        for a in spec.arguments
    ]
    outcome = calling.evaluate(spec, cells)
    values = np.array(outcome.values, dtype=float)
    if outcome.blanks is not None:
        values[outcome.blanks] = np.nan
    for place in outcome.errors:
        values.flat[place] = np.nan
    result[chosen] = values
    return result


def cents(amounts: pd.Series[float]) -> pd.Series[float]:
    """Amounts rounded to the cent."""
    return pd.Series(round_money(np.asarray(amounts, dtype=np.float64)), amounts.index, dtype=float)


def whole(numbers: pd.Series[float]) -> pd.Series[float]:
    """Numbers rounded to whole ones, halves away from 0."""
    return pd.Series(round_money(np.asarray(numbers, dtype=np.float64), 0), numbers.index, dtype=float)


def paid_with_tax(rows: pd.DataFrame) -> pd.Series[float]:
    """The price of items or lots with the tax on it."""
    return rows["paid"].fillna(0) + rows["purchase_tax"].fillna(0)


def owner_paid(partners: pd.DataFrame, paid_from: pd.Series[Any], amount: pd.Series[float]) -> pd.Series[float]:
    """The part of amounts that a partner paid from their own pocket."""
    return amount.fillna(0).where(paid_from.isin(set(partners["name"]) - {""}), 0.0)


def looked_up(keys: pd.Series[Any], values: pd.Series[Any]) -> pd.Series[Any]:
    """The value of each key, blank where there is none; an empty table keeps its type."""
    return pd.Series(values.reindex(keys).to_numpy(), keys.index)


def first_of(rows: pd.DataFrame, key: str) -> pd.DataFrame:
    """The rows by their number or name; of one that is duplicated, the first."""
    return rows.drop_duplicates(key).set_index(key)


def day_numbers(days: pd.Series[Any]) -> pd.Series[float]:
    """The whole numbers that a spreadsheet has for days."""
    numbers: pd.Series[float] = (days.dt.normalize() - _DAY_ZERO).dt.days
    return numbers


def channel_terms(channels: pd.DataFrame, names: pd.Series[Any]) -> pd.DataFrame:
    """channel_known, channel_row and the terms, fee_rate ..., of the channel that each row names."""
    terms = first_of(channels, "name")
    known = names.isin(terms.index) & (names != "")
    columns = {"channel_known": known, "channel_row": looked_up(names, terms["place"]).where(known).astype(float)}
    for term in FEE_TERMS:
        values = looked_up(names, terms[term.key])
        columns[f"fee_{term.key}"] = values if term.blank_means_none else values.fillna(0).where(known)
    return pd.DataFrame(columns)


def terms_of(rows: pd.DataFrame) -> dict[str, pd.Series[float]]:
    """The terms as arguments of the functions that take a fee into account."""
    return {term.key: rows[f"fee_{term.key}"] for term in FEE_TERMS}


def caution_topic(categories: pd.DataFrame, category: str) -> str:
    """The entry of sheet Cautions for a category: the one that the table of categories names, or its own name."""
    category = " ".join(category.split())
    named = categories.loc[categories["name"].str.casefold() == category.casefold(), "caution"]
    return str(named.iloc[0]) if len(named) and named.iloc[0] else category


def caution_text(topic: str, *, older_layout: bool) -> str:
    """What to check for a topic; not known for an earlier layout, whose logs show the texts of their time."""
    if not topic:
        return ""
    return NOT_KNOWN if older_layout else resale_caution(topic)


def split_steps(amount: float, shares: Sequence[float]) -> tuple[Any, float, Any]:
    """On the way to PROFIT_SHARE: each part in cents, cents left over, and each part's rest.

    The rest of one without a share is -1, so that none of the cents left over goes there.
    """
    given = np.nan_to_num(np.asarray(shares, dtype=float))
    cents = float(round_money(abs(amount) * 100, 0))
    exact = np.round(cents * given / given.sum(), _REST_DIGITS)
    left = cents - float(np.floor(exact).sum())
    rests = np.where(given == 0, -1.0, np.round(exact - np.floor(exact), _REST_DIGITS))
    return exact, left, rests


def as_typed(unread: Mapping[tuple[int, str], Any], name: str, value: Any) -> float | None:
    """A figure of Settings as it is typed, beyond its limits too; NaN for text, None if blank.

    Args:
        unread: what stands in the cells of Settings that cannot be read.
        name: the setting.
        value: the figure that was read.
    """
    typed = unread.get((0, name))
    if typed is None:
        return None if value is None else float(value)
    return float(typed) if isinstance(typed, (int, float)) else math.nan


def figure(name: str, *cells: Any) -> Any:
    """A function on single cells and ranges: its rows of cells, or None if it is an error."""
    outcome = calling.evaluate(REGISTRY[name], [calling.MISSING if c is None else c for c in cells])
    rows = outcome.cells()
    return None if outcome.errors else rows


def single(name: str, *cells: Any) -> Any:
    """A function on single cells and ranges that gives one figure; NaN where it is an error."""
    rows = figure(name, *cells)
    return np.nan if rows is None or rows[0][0] is None else rows[0][0]


def cells_of_terms(terms: pd.DataFrame) -> dict[str, float]:
    """channel_row and the terms of a form's only channel, by the keys of its cells."""
    return {str(key): value for key, value in terms.drop(columns="channel_known").iloc[0].items()}


def spelled(word: str, names: Iterable[str]) -> str:
    """A word with the capitals that it has in a list."""
    return Names(names, SETTINGS).spelled([word])[0]


def first_row(rows: pd.DataFrame, key: str, word: str) -> pd.Series[Any]:
    """The first row with a word, whose capitals do not count; a row of blanks if there is none."""
    found = rows[rows[key].str.casefold() == word.casefold()] if word else rows.iloc[:0]
    if len(found):
        return found.iloc[0]
    blanks = {name: "" if pd.api.types.is_object_dtype(kind) else np.nan for name, kind in rows.dtypes.items()}
    return pd.Series(blanks, dtype=object)


def of_form(frame: pd.DataFrame) -> dict[str, Any]:
    """The results of a form by their keys; its frame holds them in one row."""
    return {str(key): value for key, value in frame.iloc[0].items()}


def by_place(block: pd.DataFrame, column: str, rows: int) -> list[Any]:
    """A column of a small table on Settings, a value for each of its rows; None where it is blank."""
    found = {place: cell for place, cell in zip(block["place"], block[column], strict=True) if cell != ""}
    return [None if pd.isna(found.get(place)) else found[place] for place in range(1, rows + 1)]


def is_listed(items: pd.DataFrame) -> pd.Series[bool]:
    """Whether an item is offered; one that came back is not, as it gets a new row."""
    listed: pd.Series[bool] = items["listed_on"].notna() & items["sold_on"].isna() & items["returned_on"].isna()
    return listed
