"""Logs made by Hypothesis, and the frames of a log's entries without a file between."""

from __future__ import annotations

import calendar
import datetime as dt
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import formualizer
import numpy as np
import pandas as pd
from hypothesis import strategies as st

from sheetfns.cell_types import CellType
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import FIRST_ROW, Column, Edition, Layout, Setting, SettingsBlock
from sheetfns.log.read.cells import frame_of, read_column
from sheetfns.log.read.content import LogContent
from sheetfns.log.read.sheet_reader import typed_values
from sheetfns.log.sheets.columns import inventory_before
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.tax_rules.layout import TAX_RULES_NAMES
from sheetfns.log.sheets.words import BUSINESS, BUYER, DISCARDED, DONATED, PERSONAL_USE, RELISTED, RETURNED_ITEM, SELLER

# ---- entries as the reader would give them ---------------------------------------------------


def content_of(inputs: Inputs, edition: Edition = "plain") -> LogContent:
    """What read_log gives for a log with these entries, without the workbook's own results.

    The entries must be readable: a cell that is no number, date or text of its column is refused.
    """
    layout = _plan()
    places = _places()
    settings = _typed_settings(layout, inputs)
    blocks = {
        block.key: _frame(block.columns, _block_rows(block, inputs), places.block_rows[block.key])
        for block in layout.blocks
        if any(column.role == "input" for column in block.columns)
    }
    for setting in layout.settings:
        if setting.formula:
            settings[setting.name] = _setting_by_formula(setting, settings, inputs)
    for block in layout.blocks:
        if block.key not in blocks:
            blocks[block.key] = _block_by_formulas(block, settings, blocks, places)
    sheets = {
        table.key: _frame(table.inputs(), inputs.rows.get(table.key, []), FIRST_ROW)
        for table in layout.tables
        if table.inputs()
    }
    forms = {
        form.key: {
            cell.key: _typed(cell.kind, inputs.forms.get(form.key, {}).get(cell.key, cell.default))
            for cell in form.cells()
            if cell.role == "input"
        }
        for form in layout.forms
        if any(cell.role == "input" for cell in form.cells())
    }
    return LogContent(
        Path("entries.xlsx"),
        settings,
        {key: blocks[key].drop(columns="sheet_row") for key in [b.key for b in layout.blocks]},
        sheets,
        {},
        [],
        edition=edition,
        block_rows={key: frame["sheet_row"].tolist() for key, frame in blocks.items()},
        block_starts=dict(_places().block_rows),
        forms=forms,
    )


@cache
def _plan() -> Layout:
    return log_layout()


@cache
def _places() -> AddressMap:
    return AddressMap(_plan())


def _refuse(place: int, cell: Any, message: str, _key: str) -> None:
    raise AssertionError(f"entry {place} ({cell!r}): {message}")


def _frame(columns: Sequence[Column], rows: Iterable[Row], first: int) -> pd.DataFrame:
    """The rows that are not blank, with the dtypes of their columns, and sheet_row."""
    cells = [[_cell(row.get(column.key)) for column in columns] for row in rows]
    filled = [place for place, row in enumerate(cells) if any(cell != "" for cell in row)]
    values = {
        column.key: read_column(column, [cells[place][i] for place in filled], _refuse).cells
        for i, column in enumerate(columns)
    }
    return frame_of(columns, values, np.array([first + place for place in filled], np.int64))


def _cell(value: Any) -> Any:
    return "" if value is None else value


@cache
def _typed(kind: CellType, value: Any) -> Any:
    """One typed cell: float, str, date; None for a blank number or date."""
    column = Column("cell", "Cell", kind, "")
    read = read_column(column, [_cell(value)], _refuse)
    return typed_values(frame_of([column], {"cell": read.cells}, None)["cell"])[0]


def _typed_settings(layout: Layout, inputs: Inputs) -> dict[str, Any]:
    return {
        setting.name: None
        if setting.formula
        else _typed(setting.kind, inputs.settings.get(setting.name, setting.default))
        for setting in layout.settings
    }


def _block_rows(block: SettingsBlock, inputs: Inputs) -> list[Row]:
    if block.key in inputs.blocks:
        return inputs.blocks[block.key]
    keys = [column.key for column in block.columns]
    return [dict(zip(keys, row, strict=False)) for row in block.content]


def _setting_by_formula(setting: Setting, settings: Mapping[str, Any], inputs: Inputs) -> Any:
    if setting.formula == inventory_before("Figures_from"):
        return opening_inventory(inputs, settings["Figures_from"]) / 100
    typed = {"Figures_from": "First_month", "Figures_until": "As_of_date"}.get(setting.name)
    if typed:
        assert settings[typed] or not any(inputs.rows.values()), f"{typed} must be given for a log with rows"
        return settings[typed] or dt.date(int(settings["Tax_year"]), 1, 1)
    if "COUNTIF(" in setting.formula:
        return None  # What is filled in is only shown.
    value = _result_of(_with_settings(setting.formula, settings))
    return float(value) if setting.kind.holds == "number" else value


def _block_by_formulas(
    block: SettingsBlock, settings: Mapping[str, Any], blocks: Mapping[str, pd.DataFrame], places: AddressMap
) -> pd.DataFrame:
    """A small table that the workbook makes; rows that come out blank are left out."""

    def cell(found: re.Match[str]) -> str:
        column, row = blocks[found[1]][found[2]], int(found[3]) - 1
        return _as_formula(column.iloc[row] if row < len(column) else "")

    index = re.compile(rf"INDEX\(({'|'.join(blocks)})_(\w+),(\d+)\)")
    rows = [
        {
            column.key: _result_of(_with_settings(index.sub(cell, text[1:]), settings))
            for column, text in zip(block.columns, row, strict=True)
        }
        for row in block.content
    ]
    return _frame(block.columns, rows, places.block_rows[block.key])


def _with_settings(formula: str, settings: Mapping[str, Any]) -> str:
    return re.sub(
        r"\b[A-Z]\w*\b(?!\()", lambda name: _as_formula(settings[name[0]]) if name[0] in settings else name[0], formula
    )


def _as_formula(value: Any) -> str:
    if isinstance(value, dt.date):
        return f"DATE({value.year},{value.month},{value.day})"
    return f"{value!r}" if isinstance(value, float) else '"{}"'.format(str(value).replace('"', '""'))


@cache
def _result_of(formula: str) -> Any:
    workbook = formualizer.Workbook()
    workbook.add_sheet("Sheet")
    workbook.set_formula("Sheet", 1, 1, f"={formula}")
    result = workbook.evaluate_cell("Sheet", 1, 1)
    assert not isinstance(result, dict), f"{formula}: not a formula of settings alone"
    return result


# ---- costs in whole cents --------------------------------------------------------------------


def cents(amount: float | None) -> int:
    """An amount in whole cents; a blank is nothing."""
    exact = Decimal(str(amount or 0)) * 100
    assert exact == int(exact), f"{amount} is not in whole cents"
    return int(exact)


def lot_total(lot: Row) -> int:
    """What a lot cost, in cents."""
    return cents(lot.get("paid")) + cents(lot.get("purchase_tax"))


def own_cost(item: Row) -> int:
    """What an item cost apart from its lot, in cents."""
    return sum(cents(item.get(key)) for key in ("paid", "purchase_tax", "prep_cost"))


def inventory_day(item: Row, lots: Mapping[str, Row]) -> dt.date:
    """The day from which an item is in stock."""
    day: dt.date = (lots[item["lot_no"]] if "lot_no" in item else item)["bought_on"]
    return day


def landed_costs(items: Sequence[Row], lots: Sequence[Row]) -> list[int]:
    """The landed cost of each row of the log in cents; lots by largest remainder, in fractions."""
    costs = [own_cost(item) for item in items]
    for lot in lots:
        places = [i for i, item in enumerate(items) if item.get("lot_no") == lot["lot_no"]]
        weights = {i: cents(items[i].get("expected_price")) for i in places}
        if not sum(weights.values()):
            continue
        exact = {i: Fraction(lot_total(lot) * w, sum(weights.values())) for i, w in weights.items()}
        left_over = lot_total(lot) - sum(int(share) for share in exact.values())
        by_rest = sorted(places, key=lambda i: (int(exact[i]) - exact[i], i))
        for place, i in enumerate(by_rest):
            costs[i] += int(exact[i]) + (place < left_over)
    return costs


def opening_inventory(inputs: Inputs, first: dt.date) -> int:
    """Cost of what was bought before the first month, in cents: none of it can have left yet."""
    lots = {lot["lot_no"]: lot for lot in inputs.rows.get("Lots", [])}
    return sum(lot_total(lot) for lot in lots.values() if lot["bought_on"] < first) + sum(
        own_cost(item) for item in inputs.rows.get("Log", []) if inventory_day(item, lots) < first
    )


# ---- logs ------------------------------------------------------------------------------------

NAMES = ("Ada", "Bo", "Cy")
_FIRST_YEAR = 2024
_MOST_DAYS = 480
"""The last day is within the rates per mile of the layout."""
_BEFORE = 60
"""Opening inventory was bought up to so many days before the first month."""
_GAP = 60
_RELISTED_TWICE = 2
_UNLISTED, _LISTED, _KEPT, _IN_PART, _IN_FULL, _BACK = (
    *("", "listed", "kept", "refunded in part", "refunded in full", "came back"),
)
_SALES = (_KEPT, _IN_PART, _IN_FULL, _BACK)
_WAYS = (PERSONAL_USE, DONATED, DISCARDED)
_FATES = (
    (_UNLISTED, ""),
    (_LISTED, ""),
    *((_UNLISTED, how) for how in _WAYS),
    *((sale, "") for sale in _SALES),
    *((_BACK, how) for how in _WAYS),
    *((_BACK, RELISTED),) * 3,
)
"""What became of the sale, and how the item left otherwise; what needs more luck later is more
likely here."""


@dataclass(frozen=True)
class _Shop:
    """What the rows of one log have in common; days count from the first of its first month."""

    first: dt.date
    days: int
    partners: tuple[str, ...]
    channels: tuple[str, ...]
    lots: tuple[Row, ...] = ()

    def day(self, number: int) -> dt.date:
        return self.first + dt.timedelta(days=number)

    def number(self, day: dt.date) -> int:
        return (day - self.first).days


def _amounts(maximum: int = 5_000, minimum: int = 0) -> st.SearchStrategy[float]:
    """Money in whole cents, which shrink towards nothing."""
    return st.integers(minimum, maximum).map(lambda number: number / 100)


def _rates(maximum: int) -> st.SearchStrategy[float]:
    """Rates in steps of a hundredth of a percent."""
    return st.integers(0, maximum).map(lambda number: number / 10_000)


def _or_blank(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | strategy


def _filled(**cells: Any) -> Row:
    return {key: value for key, value in cells.items() if value is not None}


@st.composite
def _later(draw: st.DrawFn, shop: _Shop, start: int) -> int:
    """A day from `start` on, not after the day that figures are as of."""
    return min(start + draw(st.integers(0, _GAP)), shop.days)


def _payers(shop: _Shop) -> st.SearchStrategy[str | None]:
    return st.sampled_from((None, BUSINESS, *shop.partners))


@st.composite
def _channel(draw: st.DrawFn) -> Row:
    terms = _filled(
        rate=draw(_or_blank(_rates(3_000))),
        per_order=draw(_or_blank(_amounts(100))),
        tax_rate=draw(_or_blank(_rates(1_000))),
        ad_rate=draw(_or_blank(_rates(1_000))),
        minimum=draw(_or_blank(_amounts(200))),
    )
    if draw(st.booleans()):
        terms |= {"band_limit": draw(_amounts()), "rate_above": draw(_rates(3_000))}
    if draw(st.booleans()):
        terms["maximum"] = draw(_amounts(1_000, cents(terms.get("minimum"))))
    return terms


@st.composite
def _lot(draw: st.DrawFn, shop: _Shop) -> Row:
    return _filled(
        bought_on=shop.day(draw(st.integers(-_BEFORE, shop.days))),
        paid=draw(_amounts()),
        purchase_tax=draw(_or_blank(_amounts(500))),
        paid_from=draw(_payers(shop)),
    )


@st.composite
def _item(draw: st.DrawFn, shop: _Shop) -> list[Row]:
    """The rows of one item: the first, and one for each time that it is listed again."""
    lot = draw(st.sampled_from((None, *shop.lots)))
    if lot is None:
        start = draw(st.integers(-_BEFORE, shop.days))
        item = _filled(
            bought_on=shop.day(start),
            paid=draw(st.just(0.0) | _amounts()),
            purchase_tax=draw(_or_blank(_amounts(500))),
            expected_price=draw(_or_blank(_amounts())),
        )
    else:
        start = shop.number(lot["bought_on"])
        item = {"lot_no": lot["lot_no"], "expected_price": draw(_amounts())}
    item |= _filled(
        paid_from=draw(_payers(shop)),
        bought_by=draw(st.sampled_from((None, *shop.partners))),
        prep_cost=draw(_or_blank(_amounts(500))),
        expected_postage=draw(_or_blank(_amounts(900))),
        postage_payer=draw(st.sampled_from((None, BUYER, SELLER))),
    )
    rows = [item | draw(_fate(shop, start, may_return=True))]
    while rows[-1].get("disposition") == RELISTED:
        rows.append(draw(_listed_again(shop, rows[-1], may_return=len(rows) < _RELISTED_TWICE)))
    return rows


@st.composite
def _fate(draw: st.DrawFn, shop: _Shop, start: int, *, may_return: bool) -> Row:
    """What became of an item that is in stock from a day on."""
    sale, how = draw(st.sampled_from(_FATES if may_return else _FATES[:-3]))
    cells: Row = {}
    if sale == _LISTED or draw(st.booleans()):
        start = draw(_later(shop, start))
        cells = _filled(
            channel=draw(st.sampled_from(shop.channels)),
            listed_on=shop.day(start),
            asking_price=draw(_or_blank(_amounts())),
        )
    start = max(start, 0)
    if sale in _SALES:
        cells |= draw(_sale(shop, start, sale))
        start = shop.number(cells.get("returned_on", shop.first))
    if how:
        cells |= {"disposition": how, "disposition_date": shop.day(draw(_later(shop, start)))}
    if how == PERSONAL_USE and "taken_by" in {column.key for column in _plan().table("Log").inputs()}:
        cells |= _filled(taken_by=draw(st.sampled_from((None, *shop.partners))))
    return cells


@st.composite
def _sale(draw: st.DrawFn, shop: _Shop, start: int, after: str) -> Row:
    sold = draw(_later(shop, start))
    sale = _filled(
        channel=draw(st.sampled_from(shop.channels)),
        sold_on=shop.day(sold),
        # An item comes back for a refund of a cent or more.
        sale_price=draw(_amounts(minimum=1 if after == _BACK else 0)),
        shipping_charged=draw(_or_blank(_amounts(900))),
        tax_collected=draw(_or_blank(_amounts(500))),
        fee_charged=draw(_or_blank(_amounts(900))),
        postage_paid=draw(_or_blank(_amounts(900))),
        packaging=draw(_or_blank(_amounts(200))),
    )
    if after == _KEPT:
        return sale
    income = cents(sale["sale_price"]) + cents(sale.get("shipping_charged"))
    in_full = after == _IN_FULL or (after == _BACK and draw(st.booleans()))
    minimum = 1 if after == _BACK else 0
    sale["refund"] = income / 100 if in_full else draw(_amounts(income, minimum))
    if draw(st.booleans()):
        sale["refunded_on"] = shop.day(draw(_later(shop, sold)))
    if after == _BACK:
        sale["returned_on"] = shop.day(draw(_later(shop, sold)))
    return sale


@st.composite
def _listed_again(draw: st.DrawFn, shop: _Shop, old: Row, *, may_return: bool) -> Row:
    """The new row of an item that came back, with its tax; its cost follows from the old row.

    It is of the same month: a check asks for that, as inventory at the end of a month or year would lack
    the item.
    """
    left = old["disposition_date"]
    month_end = left.replace(day=calendar.monthrange(left.year, left.month)[1])
    latest = min(shop.number(month_end), shop.days)
    start = min(shop.number(left) + draw(st.integers(0, _GAP)), latest)
    again = _filled(
        bought_on=shop.day(start),
        paid_from=RETURNED_ITEM,
        purchase_tax=draw(_or_blank(_amounts(500))),
        prep_cost=draw(_or_blank(_amounts(500))),
    )
    return again | draw(_fate(shop, start, may_return=may_return))


def _carry_over(rows: list[Row], cost: int) -> None:
    """The cost of an item's first row goes on to its other rows, which add their own."""
    for row in rows[1:]:
        if "purchase_tax" in row:
            row["purchase_tax"] = min(row["purchase_tax"], cost / 100)
        row["paid"] = (cost - cents(row.get("purchase_tax"))) / 100
        cost = own_cost(row)


@st.composite
def _expense(draw: st.DrawFn, shop: _Shop) -> Row:
    headings = [row[0] for row in _plan().block("Heading").content]
    return _filled(
        spent_on=shop.day(draw(st.integers(0, shop.days))),
        heading=draw(st.sampled_from(headings)),
        amount=draw(_amounts()),
        paid_from=draw(_payers(shop)),
    )


@st.composite
def _trip(draw: st.DrawFn, shop: _Shop) -> Row:
    return {
        "driven_on": shop.day(draw(st.integers(0, shop.days))),
        "purpose": "Buying",
        "to_place": "Market",
        "miles": draw(st.integers(0, 2_000)) / 10,
    }


@st.composite
def _owner_money(draw: st.DrawFn, shop: _Shop) -> Row:
    row: Row = {"moved_on": shop.day(draw(st.integers(0, shop.days)))}
    kind = draw(st.sampled_from(("put in", "took out", "both", "counted")))
    if kind == "counted":
        return row | {"cash_counted": draw(_amounts(20_000))}
    row["partner"] = draw(st.sampled_from(shop.partners))
    if kind != "took out":
        row["put_in"] = draw(_amounts(20_000))
    if kind != "put in":
        row["took_out"] = draw(_amounts(20_000))
    return row


@st.composite
def _shares(draw: st.DrawFn) -> list[int]:
    """Whole percents of two or three partners, which add up to 100."""
    one = draw(st.integers(1, 98))
    if draw(st.booleans()):
        two = draw(st.integers(1, 99 - one))
        return [one, two, 100 - one - two]
    return [one, 100 - one]


@st.composite
def _own_thing(draw: st.DrawFn, shop: _Shop) -> Row:
    thing = {"item": "Own thing", "cost": draw(_amounts())} | _filled(
        whose=draw(st.sampled_from((None, *shop.partners))), channel=draw(st.sampled_from((None, *shop.channels)))
    )
    if draw(st.booleans()):
        thing |= {"sold_on": shop.day(draw(st.integers(0, shop.days))), "sale_price": draw(_amounts())}
        thing |= _filled(
            shipping_charged=draw(_or_blank(_amounts(900))),
            tax_collected=draw(_or_blank(_amounts(500))),
            selling_costs=draw(_or_blank(_amounts(900))),
        )
    return thing


@st.composite
def _tax_tables(draw: st.DrawFn, shop: _Shop) -> dict[str, list[Row]]:
    """What is typed for tax years; a partner has one row for a year."""
    years = st.integers(shop.first.year - 1, shop.day(shop.days).year)
    by_year = [
        {"year": year} | _filled(area=draw(_or_blank(st.integers(0, 400))), months=draw(_or_blank(st.integers(0, 12))))
        for year in draw(st.lists(years, max_size=2, unique=True))
    ]
    taxes = [
        {"year": year, "partner": partner}
        | _filled(
            wages=draw(_or_blank(_amounts(20_000_000))),
            rate=draw(_or_blank(_rates(5_000))),
            paid=draw(_or_blank(_amounts())),
        )
        for year, partner in draw(st.lists(st.tuples(years, st.sampled_from(shop.partners)), max_size=3, unique=True))
    ]
    reported = [
        {"year": draw(years), "channel": draw(st.sampled_from(shop.channels))} | {"gross": draw(_amounts(20_000))}
        for _ in range(draw(st.integers(0, 2)))
    ]
    return {"ByYear": by_year, "Taxes": taxes, "Reported": reported}


def _value_each_lot(items: list[Row], lots: Sequence[Row]) -> None:
    """A lot is shared out by expected prices, so that one of them must be over nothing."""
    for lot in lots:
        of_lot = [item for item in items if item.get("lot_no") == lot["lot_no"]]
        if of_lot and not any(item["expected_price"] for item in of_lot):
            of_lot[0]["expected_price"] = 0.01


@st.composite
def logs(draw: st.DrawFn, least_items: int = 0, most_items: int = 8) -> Inputs:
    """Logs with any mix of states and nothing that a check would fix.

    Every item may come back and be listed again twice, so that there are up to three times as many
    rows as `most_items`.
    """
    months = draw(st.integers(0, 17))
    first = dt.date(_FIRST_YEAR + months // 12, months % 12 + 1, 1)
    shares = draw(_shares())
    partners = [{"name": name, "share": share / 100} for name, share in zip(NAMES, shares, strict=False)]
    channels = [
        {"name": f"Channel {number}"} | terms
        for number, terms in enumerate(draw(st.lists(_channel(), min_size=1, max_size=3)), 1)
    ]
    shop = _Shop(
        first,
        draw(st.integers(0, _MOST_DAYS)),
        tuple(str(partner["name"]) for partner in partners),
        tuple(str(channel["name"]) for channel in channels),
    )
    lots = [{"lot_no": f"L{number}"} | lot for number, lot in enumerate(draw(st.lists(_lot(shop), max_size=2)), 1)]
    shop = _Shop(shop.first, shop.days, shop.partners, shop.channels, tuple(lots))
    chains = draw(st.lists(_item(shop), min_size=least_items, max_size=most_items))
    items = [rows[0] for rows in chains]
    _value_each_lot(items, lots)
    for rows, cost in zip(chains, landed_costs(items, lots), strict=True):
        _carry_over(rows, cost)
    items += [row for rows in chains for row in rows[1:]]
    as_of = shop.day(shop.days)
    return Inputs(
        settings={
            "First_month": first,
            "As_of_date": as_of,
            "Tax_year": draw(st.integers(first.year, as_of.year)),
            "Opening_cash": draw(_amounts(100_000)),
            "Usual_packaging": draw(_amounts(200)),
            "Year_rules": draw(st.sampled_from(TAX_RULES_NAMES)),
        },
        blocks={"Partner": partners, "Channel": channels} | draw(_tax_tables(shop)),
        rows={
            "Log": [{"item_no": f"P{number}"} | item for number, item in enumerate(items, 1)],
            "Lots": lots,
            "Expenses": draw(st.lists(_expense(shop), max_size=3)),
            "Trips": draw(st.lists(_trip(shop), max_size=2)),
            "Personal": draw(st.lists(_own_thing(shop), max_size=2)),
            "Owner": draw(st.lists(_owner_money(shop), max_size=3)),
        },
    )
