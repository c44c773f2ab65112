"""Figures for the tax return of a US sole proprietor: an aid to record keeping, not tax advice."""

from __future__ import annotations

import datetime as dt
import itertools
import math
import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final, NamedTuple

import numpy as np

from sheetfns.blocks import is_filled
from sheetfns.cell_types import (
    COST,
    DATE,
    RATE,
    YEAR,
    Area,
    CellType,
    Column,
    Cost,
    Dates,
    Miles,
    Money,
    Monies,
    Months,
    Rate,
    Rows,
    Table,
    Texts,
    Year,
    date_number,
    date_of_number,
    read_cell,
    shown_cell,
)
from sheetfns.errors import BLANK, NUMBER, VALUE, CellError, refuse_where
from sheetfns.money import MOST_SHARED, part_over, round_money, split_money
from sheetfns.refusals import unlike_sizes
from sheetfns.registry import worksheet
from sheetfns.tables import MILE_RATE, dated_figures, figure_on

NOT_GIVEN: Final = math.nan
FIGURE_COLUMNS: Final = 4
RATE_COLUMNS: Final = 3
PAYMENTS: Final = 4

WAGE_BASE: Final = "Wage base"
NET_SHARE: Final = "Net earnings share"
MINIMUM_EARNINGS: Final = "Minimum net earnings"
SOCIAL_SECURITY: Final = "Social security rate"
MEDICARE: Final = "Medicare rate"
DEDUCTIBLE: Final = "Deductible share"
OFFICE_RATE: Final = "Home office rate"
OFFICE_LIMIT: Final = "Home office limit"
THIS_YEAR: Final = "Share of this year"
LAST_YEAR: Final = "Share of last year"
LAST_YEAR_HIGH: Final = "Share of last year, high income"
HIGH_INCOME: Final = "High income over"

_FIGURE_KINDS: Final = {
    NET_SHARE: RATE,
    SOCIAL_SECURITY: RATE,
    MEDICARE: RATE,
    DEDUCTIBLE: RATE,
    THIS_YEAR: RATE,
    LAST_YEAR: replace(RATE, maximum=2),
    LAST_YEAR_HIGH: replace(RATE, maximum=2),
}
"""What the seller's own figures may be; those that are not named here are amounts."""


def _key(text: str) -> str:
    return text.strip().casefold()


def _needed(kind: CellType, place: str, what: str, cell: Any) -> float:
    """A cell of a table that must be there, read as its kind."""
    if not is_filled(cell):
        raise CellError(BLANK, f"{place} has no {what}; fill it in")
    found: float = read_cell(kind, place, cell)
    return found


def _span(place: str, first: Any, last: Any) -> tuple[dt.date, dt.date]:
    """From and until of a row, both days included."""
    begins = date_of_number(_needed(DATE, place, "first day", first))
    ends = date_of_number(_needed(DATE, place, "last day", last))
    if ends < begins:
        raise CellError(NUMBER, f"{place}: {ends} is before {begins}; swap them")
    return begins, ends


class _OwnFigure(NamedTuple):
    place: str
    begins: dt.date
    ends: dt.date
    cell: Any


def _own_figures(figures: Table, figure: str) -> list[_OwnFigure]:
    """The rows of the seller's own table that bear a name."""
    if figures.shape[1] < FIGURE_COLUMNS:
        raise CellError(VALUE, "figures: too narrow; give four columns: name, from, until, value")
    rows = []
    for number, (name, first, last, cell) in enumerate(figures[:, :FIGURE_COLUMNS].tolist(), 1):
        if isinstance(name, str) and _key(name) == _key(figure):
            place = f"figures: row {number} ({figure})"
            rows.append(_OwnFigure(place, *_span(place, first, last), cell))
    return rows


def _figure_of_year(figures: Table, figure: str, year: int) -> float:
    """What applies on 31 December, from the seller's own table if there is one."""
    day = dt.date(year, 12, 31)
    if not figures.size:
        try:
            return figure_on(figure, day)
        except CellError as error:
            raise CellError(error.code, f"year: {error.message}") from None
    rows = [row for row in _own_figures(figures, figure) if row.begins <= day <= row.ends]
    if not rows:
        raise CellError(BLANK, f"figures: no {figure} for {year}; add it when it is published")
    if len(rows) > 1:
        raise CellError(BLANK, f"figures: {figure} is duplicated for {year}; keep one row")
    (row,) = rows
    return _needed(_FIGURE_KINDS.get(figure, COST), row.place, "value", row.cell)


def _newest_year(figures: Table, figure: str) -> int:
    if not figures.size:
        return max(row.valid_until for row in dated_figures() if row.figure == figure).year
    rows = _own_figures(figures, figure)
    if not rows:
        raise CellError(BLANK, f"figures: no {figure}; add it")
    return max(row.ends for row in rows).year


def _of_years(figures: Table, names: Sequence[str], years: Column) -> list[Column]:
    """Figures for a column of years; what is missing is an error in the rows of that year."""
    found = [np.full(years.shape, np.nan) for _ in names]
    # A row with a blank or a bad year has its error already, or stays blank.
    usable = (years >= (YEAR.minimum or 0)) & (years <= (YEAR.maximum or 0)) & (years == years // 1)
    for year in np.unique(years[usable]):
        here = years == year
        try:
            values = [_figure_of_year(figures, name, int(year)) for name in names]
        except CellError as error:
            refuse_where(here, error.code, error.message)
            continue
        for column, value in zip(found, values, strict=True):
            column[here] = value
    return found


def _columns(*cells: Any) -> list[Column]:
    """Arguments in one shape, so that each row can have its own error."""
    return [np.array(one, np.float64) for one in np.broadcast_arrays(*(np.asarray(cell, np.float64) for cell in cells))]


@worksheet("Tax", formula="={opening}+{purchases}-{personal_use}+{labor}+{materials}+{other}-{closing}")
def cost_of_goods_sold(
    opening: Cost,
    purchases: Cost,
    personal_use: Cost,
    closing: Cost,
    labor: Cost = 0,
    materials: Cost = 0,
    other: Cost = 0,
) -> Money:
    """The cost of the goods sold in a year, in the order of Schedule C, Part III. An aid to record keeping, not tax advice: have a licensed preparer check.

    Args:
        opening: inventory at cost on the first day of the year, in money; the closing inventory of the year before.
        purchases: goods bought for resale, at cost, in money.
        personal_use: cost of items withdrawn for personal use or given away, in money; 0 if none.
        closing: inventory at cost on the last day of the year, in money.
        labor: cost of labor that is part of the cost of goods, in money; 0 if left out.
        materials: materials and supplies that become part of the goods, in money; 0 if left out.
        other: other costs of getting the goods ready for sale, such as freight in, in money; 0 if left out.
    Returns: money, not rounded; below 0 means that an amount is wrong.
    Errors: #NUM!: a figure below 0. #VALUE!: text instead of a number. #N/A: a required amount is blank.
    Formula: opening + purchases - personal_use + labor + materials + other - closing
    Source: IRS Publication 334 (2016 edition, chapter 7, read); order of lines: Schedule C, Part III
        (second hand). IRC 471(c): the cost of an item is deducted when it is sold, or when it is paid for
        if that is later, not when it is bought (second hand)
    Examples:
        >>> cost_of_goods_sold(37845, 285900, 2650, 32955)
        288140.0
        >>> cost_of_goods_sold(100, 500, 0, [80, 120], other=20).tolist()
        [540.0, 500.0]
    """
    return opening + purchases - personal_use + labor + materials + other - closing


class _MileRate(NamedTuple):
    begins: dt.date
    ends: dt.date
    rate: float


def _own_rates(rates: Table) -> list[_MileRate]:
    """The seller's own rates; a first row without a number or date is a heading."""
    if rates.shape[1] < RATE_COLUMNS:
        raise CellError(VALUE, "rates: too narrow; give three columns: from, until, rate")
    found = []
    for number, cells in enumerate(rates[:, :RATE_COLUMNS].tolist(), 1):
        heading = number == 1 and not any(isinstance(cell, float) for cell in cells)
        if heading or not any(map(is_filled, cells)):
            continue
        place = f"rates: row {number}"
        span = _span(place, cells[0], cells[1])
        found.append(_MileRate(*span, _needed(COST, place, "rate", cells[2])))
    return found


def _mile_rate(own: list[_MileRate] | None, day: dt.date, row: int) -> float:
    """The rate of one day; `own` is None where the package's table holds."""
    if own is None:
        try:
            return figure_on(MILE_RATE, day)
        except CellError as error:
            raise CellError(error.code, f"dates: row {row}: {error.message}") from None
    there = [one.rate for one in own if one.begins <= day <= one.ends]
    if len(there) == 1:
        return there[0]
    if there:
        raise CellError(BLANK, f"rates: {day} is in two rows; rows must not overlap")
    raise CellError(BLANK, f"rates: no rate for {day}, the date in row {row} of dates; add it when it is published")


@worksheet("Tax", refuse=[unlike_sizes("miles", "dates")])
def mileage_deduction(dates: Dates, miles: Miles, rates: Table = NOT_GIVEN) -> Money:  # type: ignore[assignment]
    """The mileage deduction for business trips, at the standard rate per mile on each trip's date. An estimate, not tax advice: have a licensed preparer check.

    Args:
        dates: a whole range: the date of each trip.
        miles: a whole range of the same size: business miles of the trip.
        rates: a whole block of three columns: from, until, rate per mile; this package's table mileage if left out.
    Returns: money, the sum of the trips, each rounded to the cent as in a mileage log.
    Shape: whole ranges in, one amount out; a row that is blank in both is ignored.
    Errors: #N/A: a date or miles without the other, or a date that no rate covers. #NUM!: a figure below 0. #VALUE!: text, or ranges of different sizes.
    Formula: sum of ROUND(miles x rate of the date, 2). The rate covers fuel, repairs and the like:
        do not deduct them as well; there are rules on who may use it (from memory)
    Source: rates: table mileage of this package, each with its source and status
    Examples:
        >>> import datetime as dt
        >>> mileage_deduction([dt.date(2022, 6, 30), dt.date(2022, 7, 1)], [500, 500])
        605.0
        >>> mileage_deduction([46023], [12.5], [[dt.date(2026, 1, 1), dt.date(2026, 12, 31), 0.5]])
        6.25
    """
    if not dates.size:
        return NOT_GIVEN
    no_date, no_miles = np.isnan(dates), np.isnan(miles)
    for missing, there, name in ((no_date, "miles", "date"), (no_miles, "a date", "miles")):
        rows = np.flatnonzero(missing & ~(no_date & no_miles))
        if rows.size:
            column = "dates" if name == "date" else "miles"
            raise CellError(BLANK, f"{column}: row {rows[0] + 1} has {there} and no {name}; fill it in")
    used = np.flatnonzero(~no_date)
    own = _own_rates(rates) if rates.size else None
    days, first, place = np.unique(np.floor(dates[used]), return_index=True, return_inverse=True)
    rate = np.array(
        [
            _mile_rate(own, date_of_number(day), int(used[row]) + 1)
            for day, row in zip(days.tolist(), first.tolist(), strict=True)
        ]
    )
    return round_money(_added(np.asarray(round_money(miles[used] * rate[place]))))


def _added(amounts: Column) -> float:
    """A sum that does not depend on the order of the rows."""
    try:
        return math.fsum(amounts.tolist())
    except OverflowError:
        return math.inf


@worksheet("Tax")
def home_office_simple(
    square_feet: Area,
    months: Months = 12,
    year: Year = NOT_GIVEN,
    figures: Table = NOT_GIVEN,  # type: ignore[assignment]
) -> Money:
    """The home office deduction by the simplified method: a rate for each square foot, up to a limit. An estimate, not tax advice: have a licensed preparer check.

    Args:
        square_feet: the area used regularly and only for the business (from memory), in square feet.
        months: how many months of the year it was used, 0 to 12; 12 if left out.
        year: the tax year, such as 2026; the newest one in the table if left out.
        figures: a whole block: your own dated figures instead of this package's: name (Home office rate, Home office limit), from, until, value.
    Returns: money, rounded to the cent. It may not exceed the profit before the deduction (from memory);
        that profit is not known here, so compare the two yourself.
    Shape: cell by cell; cells, columns, rows and blocks broadcast. figures is a whole block.
    Errors: #N/A: no figure for the year, or it is duplicated. #NUM!: a figure below 0, or months over 12. #VALUE!: text instead of a number.
    Formula: the lesser of square_feet and the limit x rate x months / 12
    Source: table home_office of this package (IRS, simple method, second hand)
    Examples:
        >>> home_office_simple(120, 12, 2026), home_office_simple(450, 12, 2026)
        (600.0, 1500.0)
        >>> home_office_simple(200, [6, 12]).tolist()
        [500.0, 1000.0]
    """
    area, used, years = _columns(square_feet, months, year)
    left_out = np.isnan(years)
    if left_out.any():
        try:
            years = np.where(left_out, float(_newest_year(figures, OFFICE_RATE)), years)
        except CellError as error:
            refuse_where(left_out, error.code, error.message)
    rate, limit = _of_years(figures, (OFFICE_RATE, OFFICE_LIMIT), years)
    return round_money(np.asarray(np.minimum(area, limit) * rate * used / 12))


SELF_EMPLOYMENT: Final = (WAGE_BASE, NET_SHARE, MINIMUM_EARNINGS, SOCIAL_SECURITY, MEDICARE)


def _self_employment(net_profit: Column, wages: Column, terms: Sequence[Column]) -> Column:
    base, share, minimum, social_security, medicare = terms
    earnings = np.maximum(net_profit, 0) * share
    first = round_money(np.asarray(np.minimum(earnings, part_over(base, wages)) * social_security))
    second = round_money(np.asarray(earnings * medicare))
    both = np.asarray(round_money(np.asarray(first + second)))
    # part_over, as 400.00 in binary may be a little less.
    return np.where(part_over(minimum, earnings) > 0, 0.0, both)


@worksheet("Tax")
def self_employment_tax(
    net_profit: Money,
    year: Year,
    wages: Cost = 0,
    figures: Table = NOT_GIVEN,  # type: ignore[assignment]
) -> Money:
    """Social security and Medicare tax on the profit of a sole proprietor. An estimate without the additional Medicare tax on high earnings, not tax advice: have a licensed preparer check.

    Args:
        net_profit: the year's profit of all your businesses, Schedule C, line 31, in money; below 0 for a loss, for which the tax is 0.
        year: the tax year, such as 2026.
        wages: wages of the year from which social security tax was withheld, in money; 0 if left out.
        figures: a whole block: your own dated figures instead of this package's: name as in its tables wage_base and self_employment, from, until, value.
    Returns: money, to the cent. The additional Medicare tax on high earnings is not included (from memory).
    Shape: cell by cell; cells, columns, rows and blocks broadcast; years may differ by row. figures is a whole block.
    Errors: #N/A: no figure for the year, or it is duplicated; or a required cell is blank. #NUM!: a year out of range, wages below 0. #VALUE!: text instead of a number.
    Formula: earnings = net_profit x 0.9235; 0 if they are below 400; else ROUND(the lesser of earnings
        and (wage base - wages, at least 0) x 12.4%, 2) + ROUND(earnings x 2.9%, 2)
    Source: Schedule SE (Form 1040) (second hand); wage base: Social Security Administration (read);
        tables self_employment and wage_base of this package; number of line 31: from memory
    Examples:
        >>> self_employment_tax(50000, 2026)
        7064.78
        >>> self_employment_tax([100000, 433.13, -500], [2025, 2026, 2026]).tolist()
        [14129.55, 0.0, 0.0]
    """
    profit, years, paid = _columns(net_profit, year, wages)
    return _self_employment(profit, paid, _of_years(figures, SELF_EMPLOYMENT, years))


def _due_days(due_dates: Table, year: int) -> list[float]:
    """The four dates on which estimated tax of a year is due, as date numbers."""
    if not due_dates.size:
        names = [f"Payment {number}" for number in range(1, PAYMENTS + 1)]
        return [_figure_of_year(due_dates, name, year) for name in names]
    if due_dates.shape[1] <= PAYMENTS:
        raise CellError(VALUE, "due_dates: too narrow; give five columns: year and the four due dates")
    rows = [
        (f"due_dates: row {number}", cells[1 : PAYMENTS + 1])
        for number, cells in enumerate(due_dates.tolist(), 1)
        if isinstance(cells[0], float) and cells[0] == year
    ]
    if not rows:
        raise CellError(BLANK, f"due_dates: no row for {year}; add it when it is published")
    if len(rows) > 1:
        raise CellError(BLANK, f"due_dates: {year} is duplicated; keep one row")
    ((place, cells),) = rows
    days = [math.floor(_needed(DATE, place, f"date of payment {number}", cell)) for number, cell in enumerate(cells, 1)]
    if any(later <= earlier for earlier, later in itertools.pairwise(days)):
        raise CellError(NUMBER, f"{place}: the dates do not rise; put them in order")
    return [float(day) for day in days]


@worksheet("Tax")
def tax_set_aside(
    net_profit: Money,
    year: Year,
    income_tax_rate: Rate,
    wages: Cost = 0,
    already_paid: Cost = 0,
    figures: Table = NOT_GIVEN,  # type: ignore[assignment]
    due_dates: Table = NOT_GIVEN,  # type: ignore[assignment]
) -> Rows:
    """What to set aside for income and self-employment tax, and how much of each estimated payment is still due. An estimate, not tax advice: have a licensed preparer check.

    Args:
        net_profit: the profit that you expect for the whole year, in money; below 0 for a loss.
        income_tax_rate: your own estimate of your marginal tax rate, federal and state together, a fraction or percentage.
        already_paid: what you have paid for the year so far, in money; it covers the earliest payments first; 0 if left out.
        due_dates: a whole block: your own dates instead of this package's: tax year and the dates of its four payments.
        as in SELF_EMPLOYMENT_TAX: year, wages, figures.
    Returns: five rows of two cells: what is still to be set aside, in money, and a blank; then for each
        of the four payments what is still due, in money, and its due date. The first is the sum of
        the four.
    Shape: single cells in, figures and due_dates are whole blocks; five rows of two cells out.
    Errors: #N/A: no figure or no dates for the year, or they are duplicated; or a required cell is blank. #NUM!: a rate over 100%, below 0. #VALUE!: text instead of a number.
    Formula: tax = SELF_EMPLOYMENT_TAX + income_tax_rate x (net_profit - half of SELF_EMPLOYMENT_TAX,
        at least 0), rounded to the cent; four equal parts in whole cents, cents left over to the
        earlier ones; less already_paid. Other income, deductions, credits and the tax on
        high earnings are not included
    Source: Schedule SE (Form 1040): half of the tax is deductible (second hand); dates: table
        estimated_due of this package (rule second hand, holidays from memory)
    Examples:
        >>> tax_set_aside(50000, 2026, 0.12, already_paid=4000).tolist()[:3]
        [[8640.89, None], [0.0, 46127.0], [2320.45, 46188.0]]
        >>> tax_set_aside(-200, 2026, 0.12).tolist()[0]
        [0.0, None]
    """
    profit, years, earned = _columns(net_profit, year, wages)
    *terms, deductible = _of_years(figures, (*SELF_EMPLOYMENT, DEDUCTIBLE), years)
    due = _due_days(due_dates, int(year))
    self_employment = _self_employment(profit, earned, terms)
    income = part_over(profit, deductible * self_employment)
    total = float(round_money(np.asarray(self_employment + income_tax_rate * income)))
    if not total <= MOST_SHARED:
        raise CellError(NUMBER, "net_profit: too large to split to the cent; check it")
    reached = np.cumsum([0.0, *split_money(total, np.ones(PAYMENTS))])
    left = part_over(reached, float(round_money(float(already_paid))))
    payments = np.asarray(round_money(np.diff(left))).tolist()
    held_back = float(round_money(float(left[-1])))
    return [[held_back, None], *([part, day] for part, day in zip(payments, due, strict=True))]


ESTIMATED: Final = (THIS_YEAR, LAST_YEAR, LAST_YEAR_HIGH, HIGH_INCOME)


@worksheet("Tax")
def estimated_tax(
    tax_this_year: Cost,
    tax_last_year: Cost,
    year: Year,
    income_last_year: Money = 0,
    figures: Table = NOT_GIVEN,  # type: ignore[assignment]
) -> Money:
    """The minimum to pay during the year, withholding included, to avoid a penalty for paying too late. An estimate, not tax advice: have a licensed preparer check.

    Args:
        tax_this_year: the total tax that you expect for the year, including self-employment tax, in money.
        tax_last_year: the total tax of the year before, from its return, in money.
        year: the tax year that the payments are for, such as 2026.
        income_last_year: adjusted gross income (from memory) of the year before, in money; 0 if left out. Over 150,000, a larger share of last year's tax must be paid.
        figures: a whole block: your own dated figures instead of this package's: name as in its table estimated_tax, from, until, value.
    Returns: money, rounded to the cent.
    Shape: cell by cell; cells, columns, rows and blocks broadcast; years may differ by row. figures is a whole block.
    Errors: #N/A: no figure for the year, or it is duplicated; or a required cell is blank. #NUM!: a tax below 0. #VALUE!: text instead of a number.
    Formula: the lesser of 90% of tax_this_year and 100% of tax_last_year, 110% where income_last_year
        is over 150,000. It has to be paid on time, in four payments; small amounts, married people
        who file separately, and farmers have rules of their own (from memory)
    Source: table estimated_tax of this package (IRS, second hand)
    Examples:
        >>> estimated_tax(12000, 9000, 2026)
        9000.0
        >>> estimated_tax(12000, [9000, 20000], 2026, 160000).tolist()
        [9900.0, 10800.0]
    """
    now, before, years, income = _columns(tax_this_year, tax_last_year, year, income_last_year)
    of_this, of_last, of_last_high, high = _of_years(figures, ESTIMATED, years)
    last = before * np.where(income > high, of_last_high, of_last)
    return round_money(np.asarray(np.minimum(now * of_this, last)))


TIES: Final = "matches"
GAP_ALTERNATIVES: Final = (
    (TIES, False, False, False),
    ("reported without tax collected", False, True, False),
    ("reported after refunds", False, False, True),
    ("reported without shipping", True, False, False),
    ("without tax collected and after refunds", False, True, True),
    ("without shipping and tax collected", True, True, False),
    ("without shipping and after refunds", True, False, True),
    ("without shipping and tax collected, after refunds", True, True, True),
)
"""What may explain a gap, in the order in which it is tried: words, and whether shipping, tax collected
and refunds are missing from what was reported."""
MORE_REPORTED: Final = "more reported than in the log: look for sales missing from the log"
LESS_REPORTED: Final = "less reported than in the log: look for sales of another channel or year"


def gap_remark(gap: float, shipping: float, tax_collected: float, refunds: float) -> str:
    """In words which parts of the log explain a gap, to the cent.

    >>> gap_remark(-8.25, 12, 8.25, 0), gap_remark(1250, 12, 8.25, 0)[:15]
    ('reported without tax collected', '1,250.00 more r')
    """
    for words, *used in GAP_ALTERNATIVES:
        parts = [part for part, of_it in zip((shipping, tax_collected, refunds), used, strict=True) if of_it]
        if all(parts) and round_money(gap + sum(parts)) == 0:
            return words
    return f"{abs(gap):,.2f} {MORE_REPORTED if gap > 0 else LESS_REPORTED}"


@worksheet("Tax")
def receipts_gap(reported_gross: Cost, price: Cost, shipping: Cost, tax_collected: Cost, refunds: Cost) -> Rows:
    """Compares what a channel reported on Form 1099-K with your own log, and says what may explain a gap. An aid to record keeping, not tax advice: have a licensed preparer check.

    Args:
        reported_gross: the gross amount on the form, in money.
        price: what the items sold for by your log, in money, including refunded ones.
        shipping: what buyers paid for shipping by your log, in money; 0 if nothing.
        tax_collected: sales tax that the channel collected from buyers on these sales, in money; 0 if none.
        refunds: what you refunded to buyers by your log, in money; 0 if nothing.
    Returns: one row: gap, gross by the log, receipts (price and shipping), in money to the cent, and a
        remark: the first explanation that fits to the cent, or how much more or less was
        reported. A fit is no proof.
    Shape: single cells in, one row of four cells out.
    Errors: #N/A: one of them is blank. #NUM!: a figure below 0. #VALUE!: text, or a range.
    Formula: gap = reported_gross - (price + shipping + tax_collected); then the gap is compared with
        0 and with tax_collected, refunds and shipping, alone and together
    Source: Form 1099-K: gross before fees, refunds and shipping (read); sales tax that a channel collects and
        remits is not income (from memory)
    Examples:
        >>> receipts_gap(112, 100, 12, 8.25, 0).tolist()
        [[-8.25, 120.25, 112.0, 'reported without tax collected']]
        >>> receipts_gap(500, 100, 12, 8.25, 0).tolist()[0][3]
        '379.75 more reported than in the log: look for sales missing from the log'
    """
    receipts = price + shipping
    gross = receipts + tax_collected
    gap = float(round_money(float(reported_gross - gross)))
    remark = gap_remark(gap, float(shipping), float(tax_collected), float(refunds))
    return [[gap, *(float(round_money(float(one))) for one in (gross, receipts)), remark]]


_NUMBERED: Final = re.compile(r"(\d+)([^\W\d_]*)")


def _line_order(line: str) -> tuple[bool, int, str]:
    """Numbered lines by number and letter, then words."""
    found = _NUMBERED.fullmatch(_key(line))
    return (False, int(found[1]), found[2]) if found else (True, 0, _key(line))


@worksheet("Tax", refuse=[unlike_sizes("amounts", "dates"), unlike_sizes("lines", "dates")])
def year_totals(year: Year, dates: Dates, amounts: Monies, lines: Texts) -> Rows:
    """The total of each line of a tax form from your dated rows, for one year. An aid to record keeping, not tax advice: have a licensed preparer check.

    Args:
        year: the tax year, such as 2026.
        dates: a whole range: the date of each row.
        amounts: a whole range of the same size: what was spent or received, in money; an amount below 0 is subtracted.
        lines: a whole range of the same size: the line that the row belongs to, such as 8, 16b or a word; a number and the same number as text are one line.
    Returns: a row of two cells for each line of the year: the line, as text, and its total, in money;
        one row of a blank and 0 if the year has no row.
    Shape: one cell and whole ranges in; a row of two cells for each line out, in the order 1, 2, 16b, 27a, then words. A row without an amount is ignored.
    Errors: #N/A: an amount without a date or a line, or a required cell is blank. #NUM!: a year out of range. #VALUE!: text, or ranges of different sizes.
    Formula: the sum of amounts of the year and line, rounded once to the cent
    Source: definition; which line a cost belongs to is for you and your preparer to decide
    Examples:
        >>> year_totals(2026, [46030, 46040, 46050, 46500], [5, 7.5, 20, 9], ["8", 8, "16b", "8"]).tolist()
        [['8', 12.5], ['16b', 20.0]]
        >>> year_totals(2025, [46030], [5], ["8"]).tolist()
        [[None, 0.0]]
    """
    filled = ~np.isnan(amounts)
    named = np.array([is_filled(line) for line in lines], bool)
    for there, name, what in ((~np.isnan(dates), "dates", "date"), (named, "lines", "line")):
        rows = np.flatnonzero(filled & ~there)
        if rows.size:
            raise CellError(
                BLANK,
                f"{name}: row {rows[0] + 1} has an amount "
                f"({shown_cell(float(amounts[rows[0]]))}) and no {what}; fill it in",
            )
    first, last = (date_number(dt.date(int(year), *day)) for day in ((1, 1), (12, 31)))
    with np.errstate(invalid="ignore"):
        chosen = filled & (dates >= first) & (dates < last + 1)
    by_line: dict[str, list[float]] = {}
    shown: dict[str, str] = {}
    for line, amount in zip(lines[chosen], amounts[chosen].tolist(), strict=True):
        by_line.setdefault(_key(line), []).append(amount)
        shown.setdefault(_key(line), line.strip())
    if not by_line:
        return [[None, 0.0]]
    return [
        [shown[line], float(round_money(_added(np.array(by_line[line]))))] for line in sorted(by_line, key=_line_order)
    ]
