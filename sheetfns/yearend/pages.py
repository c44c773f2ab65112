"""What the package for the preparer says, page by page: the same for .xlsx and .csv."""

from __future__ import annotations

import string
from dataclasses import dataclass, field
from typing import Any, Final, Literal

import numpy as np
import pandas as pd

from sheetfns.log.compute import LogResults
from sheetfns.log.sheets.tax_rules.layout import tax_lines
from sheetfns.log.sheets.words import CHANNEL_ROWS, PARTNER_ROWS, PAYMENTS, RATES_IN_YEAR
from sheetfns.log.sheets.year_end.books import Span
from sheetfns.log.sheets.year_end.compute import YearFigures
from sheetfns.log.sheets.year_end.layout import TIES
from sheetfns.log.sheets.year_end.layout import form as year_form
from sheetfns.log.write.tax_rules_sheet import source_words
from sheetfns.money import round_money
from sheetfns.yearend.reasons import Findings
from sheetfns.yearend.rows import rows_by_line

Holds = Literal["text", "money", "whole", "date", "number", "rate"]
ChartStyle = Literal["", "heading", "total"]
SOLE_PROPRIETOR: Final = "US sole proprietor"
"""The rules of table tax_rules that are for one owner."""
ROWS_PAGE: Final = "Rows by line"
SUMMARY_PAGE: Final = "Summary"
PAGE_KEYS: Final = (
    *("summary", "rows_by_line", "miles", "inventory", "channels", "personal_items", "problems"),
    "sources",
)
_SEEN_HERE: Final = frozenset({"no_date", "not_recorded", "no_rate"})
"""Problems of trips that their blank cells show."""


@dataclass(frozen=True)
class PageColumn:
    """One column of a page."""

    header: str
    width: float
    holds: Holds = "text"


@dataclass
class Page:
    """One table of the package.

    Attributes:
        key: the name of its .csv file.
        title: the name of its sheet.
        says: sentences over the table.
        looks: for some rows, by their place, that they are a heading or a total.
        summed: rows of the summary, by their place, that are sums of rows of Rows by line.
        caution: a sentence above all others, "" if there is none.
    """

    key: str
    title: str
    says: tuple[str, ...]
    columns: tuple[PageColumn, ...]
    rows: list[tuple[Any, ...]] = field(default_factory=list)
    looks: dict[int, ChartStyle] = field(default_factory=dict)
    summed: set[int] = field(default_factory=set)
    caution: str = ""

    def add(self, *cells: Any, look: ChartStyle = "", summed: bool = False) -> None:
        """Add a row; what is left out at its end is blank."""
        place = len(self.rows)
        self.rows.append((*map(_cell, cells), *[None] * (len(self.columns) - len(cells))))
        if look:
            self.looks[place] = look
        if summed:
            self.summed.add(place)


def _cell(value: Any) -> Any:
    """A figure, a date, a text, or None for blank."""
    if isinstance(value, str) or value is None:
        return value or None
    if value is pd.NaT or (isinstance(value, (float, np.floating)) and np.isnan(value)):
        return None
    if isinstance(value, pd.Timestamp):
        return value.to_pydatetime().date()
    return value.item() if isinstance(value, np.generic) else value


def _cents(amount: float) -> float:
    return float(round_money(float(amount)))


def all_pages(figures: LogResults, year: YearFigures, findings: Findings, *, draft: bool) -> list[Page]:
    """Every page of the package, the summary first."""
    rows = rows_by_line(year, figures.content)
    return [
        summary_page(year, rows, findings, draft=draft),
        _rows_page(rows),
        _miles_page(figures, year),
        _inventory_page(year),
        _channels_page(year),
        _own_page(figures, year),
        _problems_page(findings),
        _sources_page(figures, year),
    ]


# ---- summary ---------------------------------------------------------------------------------


def summary_page(year: YearFigures, rows: pd.DataFrame, findings: Findings, *, draft: bool) -> Page:
    """The lines of the year, what ties, and what goes on other forms."""
    cells = year.cells
    caution = owners_caution(year)
    state = f"{findings.counts()}."
    if draft:
        state = f"Draft: {state}"
    elif not caution:
        state = f"Complete: {state}"
    page = Page(
        "summary",
        SUMMARY_PAGE,
        (str(cells["title"]), state, str(cells["basis"])),
        (
            PageColumn("Line", 52),
            PageColumn("Line no.", 9),
            PageColumn("Amount", 14, "money"),
            PageColumn("Whole", 11, "whole"),
            PageColumn("Sum of rows", 14, "money"),
            PageColumn("Note", 58),
        ),
        caution=caution,
    )
    with_rows = set(rows["target"])
    sums = rows.groupby("target")["amount"].sum()
    for line in year.lines:
        if line.line.part == "heading":
            page.add(line.label, look="heading")
            continue
        summed = line.line.figure in with_rows
        added = _cents(sums[line.line.figure]) if summed else None
        page.add(
            *(line.label, line.line.line, line.amount, line.whole, added, line.line.note),
            look="total" if line.line.part == "total" else "",
            summed=summed,
        )
    page.add("Whole: each line is rounded once, after its cents are added, so its sums may differ by 1.")
    _ties(page, cells)
    _partners(page, cells, caution)
    page.add("Personal items sold, not part of the business", look="heading")
    page.add("Gains, listed separately", None, cells["own_gain"])
    page.add("Losses, not deductible", None, cells["own_loss"])
    if cells["office_area"]:
        page.add("Business use of home, simplified method", look="heading")
        words = f"{cells['office_area']:g} square feet, {cells['office_months']:g} months."
        page.add(*("At the rate per square foot", None, cells["office_simple"], None, None), words)
        page.add("Counted: no more than the tentative profit", None, cells["office_counted"])
    return page


def _ties(page: Page, cells: dict[str, Any]) -> None:
    labels = {cell.key: line.label for line in year_form().rows for cell in line.cells}
    page.add("Reconciliation: each must be 0.00", look="heading")
    for key in TIES:
        blank = np.isnan(cells[key])
        page.add(*(labels[key], None, cells[key], None, None), "Nothing to compare yet." if blank else "")


def owners_caution(year: YearFigures) -> str:
    """What to ask first where several partners report as one sole proprietor, else nothing."""
    partners = sum(bool(year.cells[f"name_{place}"]) for place in range(1, PARTNER_ROWS + 1))
    if partners < 2 or year.rules.casefold() != SOLE_PROPRIETOR.casefold():
        return ""
    return (
        f"This log has {partners} partners under the rules '{SOLE_PROPRIETOR}'. Two or more owners are usually a "
        "partnership, which files a return of its own: ask a licensed preparer before using these lines."
    )


def _partners(page: Page, cells: dict[str, Any], caution: str) -> None:
    taxed = not np.isnan(cells["self_tax_all"])
    page.add("Partners: shares of net profit, and taxes (estimates)", look="heading")
    if caution:
        page.add(caution)
    for place in range(1, PARTNER_ROWS + 1):
        name = cells[f"name_{place}"]
        if not name or np.isnan(cells[f"profit_{place}"]):
            continue
        page.add(f"{name}: share of net profit", None, cells[f"profit_{place}"])
        if taxed:
            note = f"With wages of {cells[f'wages_{place}']:,.2f} from a job."
            page.add(*(f"{name}: self-employment tax", None, cells[f"self_tax_{place}"], None, None), note)
            page.add(f"{name}: deductible half of that", None, cells[f"half_tax_{place}"])
            note = f"At {cells[f'tax_rate_{place}']:.2%}, as entered on Settings."
            page.add(*(f"{name}: income tax", None, cells[f"income_tax_{place}"], None, None), note)
            page.add(f"{name}: paid so far", None, cells[f"tax_paid_{place}"])
            page.add(f"{name}: still to set aside", None, cells[f"hold_back_{place}"])
            for n in range(1, PAYMENTS + 1):
                due = _cell(cells[f"due_{n}"])
                if due is not None:
                    label = f"{name}: payment due by {due.isoformat()}"
                    page.add(label, None, cells[f"payment_{n}_{place}"])
    page.add(cells["taxes_words"])


# ---- rows ------------------------------------------------------------------------------------


def _rows_page(rows: pd.DataFrame) -> Page:
    page = Page(
        "rows_by_line",
        ROWS_PAGE,
        ("Every row of the log that counts, under its line; a minus reduces the line.",),
        (
            PageColumn("Line", 30),
            PageColumn("Line no.", 9),
            PageColumn("Date", 11, "date"),
            PageColumn("Sheet", 14),
            PageColumn("Row", 7, "number"),
            PageColumn("No.", 9),
            PageColumn("What", 50),
            PageColumn("Amount", 13, "money"),
        ),
    )
    for _, of_line in rows.groupby("target", sort=False):
        for row in of_line.to_dict("records"):
            label = row["label"] or "(no line)"
            page.add(
                *(label, row["line"], row["day"], row["sheet"], row["sheet_row"] or None),
                *(row["item"], row["what"], row["amount"]),
            )
        one = of_line.iloc[0]
        added = _cents(of_line["amount"].sum())
        what = f"Sum of {one['label'] or '(no line)'}"
        page.add(None, one["line"], None, None, None, None, what, added, look="total")
    return page


def _miles_page(figures: LogResults, year: YearFigures) -> Page:
    page = Page(
        "miles",
        "Miles record",
        ("Trips of the year with date, purpose, place and miles; those with something missing come first.",),
        (
            PageColumn("Date", 11, "date"),
            PageColumn("Purpose", 32),
            PageColumn("From", 18),
            PageColumn("To", 28),
            PageColumn("Miles", 10, "number"),
            PageColumn("Rate per mile", 10, "rate"),
            PageColumn("Deduction", 12, "money"),
            PageColumn("Row", 7, "number"),
            PageColumn("What is missing", 40),
        ),
    )
    trips = figures["Trips"]
    chosen = trips[Span(year.year).holds(trips["driven_on"]) | trips["driven_on"].isna()]
    said = _said_of_trips(figures)
    whole: list[tuple[Any, ...]] = []
    lacking: list[tuple[Any, ...]] = []
    for trip in chosen.to_dict("records"):
        lacks = [
            words
            for key, words in (
                ("driven_on", "date"),
                ("purpose", "purpose"),
                ("to_place", "place"),
                ("miles", "miles"),
                ("rate", "rate for its date"),
            )
            if _cell(trip[key]) is None
        ]
        lacks += said.get(trip["sheet_row"], [])
        cells = (
            *(trip["driven_on"], trip["purpose"], trip["from_place"], trip["to_place"]),
            *(trip["miles"], trip["rate"], trip["deduction"], trip["sheet_row"]),
            "; ".join(lacks),
        )
        (lacking if lacks else whole).append(cells)
    for title, trips_of in (("Trips with something missing", lacking), ("Trips", whole)):
        if trips_of:
            page.add(title, look="heading")
            for trip_cells in sorted(trips_of, key=lambda of_trip: str(of_trip[0])):
                page.add(*trip_cells)
    shown = year.cells
    for n in range(1, RATES_IN_YEAR + 1):
        if _cell(shown[f"rate_from_{n}"]) is not None:
            since, until = (_cell(shown[f"rate_{key}_{n}"]) for key in ("from", "until"))
            page.add(
                *(None, f"{since} to {until}", None, None, shown[f"miles_{n}"], shown[f"rate_{n}"]),
                shown[f"deduction_{n}"],
                look="total",
            )
    page.add(*(None, "All", None, None, shown["miles_all"], None, shown["deduction_all"]), look="total")
    return page


def _said_of_trips(figures: LogResults) -> dict[int, list[str]]:
    """What the reader says of each trip, by its row, but for blank cells, which are seen here."""
    name = figures.content.places["Trips"].sheet.casefold()
    said: dict[int, list[str]] = {}
    for problem in figures.content.problems:
        if problem.sheet.casefold() == name and problem.key not in _SEEN_HERE:
            row = int(problem.cell.lstrip(string.ascii_uppercase))
            said.setdefault(row, []).append(problem.message)
    return said


def _inventory_page(year: YearFigures) -> Page:
    page = Page(
        "inventory",
        "Inventory count",
        (
            f"Inventory at cost at the end of {year.year}. Count it, and check off what is there. Items that cost "
            "nothing are not listed.",
        ),
        (
            PageColumn("Counted", 9),
            PageColumn("No.", 10),
            PageColumn("What", 50),
            PageColumn("On hand since", 13, "date"),
            PageColumn("At cost", 13, "money"),
            PageColumn("Sheet", 14),
            PageColumn("Row", 7, "number"),
        ),
    )
    rows = year.rows[year.rows["figure"] == "closing_inventory"]
    for row in rows.sort_values(["sheet", "sheet_row"], kind="stable").to_dict("records"):
        page.add(*(None, row["item"], row["what"], row["day"], row["amount"], row["sheet"]), row["sheet_row"])
    page.add(None, None, "All", None, year.amounts["closing_inventory"], look="total")
    return page


def _channels_page(year: YearFigures) -> Page:
    page = Page(
        "channels",
        "Channels",
        (
            "What each channel reported (gross) compared with the log. Sales tax that a channel remits itself is not "
            "income.",
            str(year.cells["reports_words"]),
        ),
        (
            PageColumn("Channel", 24),
            *(
                PageColumn(header, 13, "money")
                for header in (
                    *("Prices", "Shipping", "Tax collected", "Personal items", "Gross per log"),
                    *("Reported", "Gap"),
                )
            ),
            PageColumn("What may explain it", 52),
        ),
    )
    keys = ("prices", "shipping", "collected", "own", "gross", "reported", "gap", "explained")
    for place in range(1, CHANNEL_ROWS + 1):
        if year.cells[f"channel_{place}"]:
            page.add(year.cells[f"channel_{place}"], *(year.cells[f"{key}_{place}"] for key in keys))
    page.add("All", *(year.cells[f"{key}_all"] for key in keys[:6]), look="total")
    return page


def _own_page(figures: LogResults, year: YearFigures) -> Page:
    page = Page(
        "personal_items",
        "Personal items",
        (
            "Things from the partners' own households, not part of the business: a gain goes on another form, a loss "
            "is not deductible.",
        ),
        (
            PageColumn("Item", 36),
            PageColumn("Whose", 12),
            PageColumn("Sold on", 11, "date"),
            PageColumn("Channel", 20),
            PageColumn("Original cost", 12, "money"),
            PageColumn("Proceeds", 12, "money"),
            PageColumn("Taxable gain", 13, "money"),
            PageColumn("Nondeductible loss", 18, "money"),
        ),
    )
    own = figures["Personal"]
    for thing in own[Span(year.year).holds(own["sold_on"])].to_dict("records"):
        page.add(
            *(thing["item"], thing["whose"], thing["sold_on"], thing["channel"], thing["cost"]),
            *(thing["proceeds"], thing["gain"], thing["loss"]),
        )
    cells = year.cells
    page.add("All", *[None] * 5, cells["own_gain"], cells["own_loss"], look="total")
    return page


def _problems_page(findings: Findings) -> Page:
    page = Page(
        "problems",
        "Problems",
        ("Error: fix it; with an error, only a draft can be made. Warning: it may be right, but check it.",),
        (
            PageColumn("Kind", 8),
            PageColumn("Sheet", 16),
            PageColumn("Cell", 9),
            PageColumn("What is wrong, and what to do", 92),
        ),
    )
    for kind, found in (("error", findings.reasons), ("warning", findings.notices)):
        for one in found:
            page.add(kind, one.sheet, one.cell, one.words)
    if not page.rows:
        page.add("none")
    return page


def _sources_page(figures: LogResults, year: YearFigures) -> Page:
    page = Page(
        "sources",
        "Sources",
        ("The dated figures on Settings for this year, and the lines of the rules, with their sources.",),
        (
            PageColumn("What", 36),
            PageColumn("Line no.", 10),
            PageColumn("Value", 15, "rate"),
            PageColumn("From", 11, "date"),
            PageColumn("Until", 11, "date"),
            PageColumn("Source", 70),
        ),
    )
    span = Span(year.year)
    first, last = pd.Timestamp(span.first), pd.Timestamp(span.last)
    blocks = figures.content.blocks
    page.add("Figures on Settings", look="heading")
    for name, block, value in (("", "TaxFigure", "value"), ("Rate per mile", "Mileage", "rate")):
        rows = blocks[block]
        for row in rows[(rows["from"] <= last) & (rows["until"] >= first)].to_dict("records"):
            page.add(*(name or row["name"], None, row[value], row["from"], row["until"]), row["source"])
    page.add("Lines", look="heading")
    for line in tax_lines():
        if line.rules.casefold() == year.rules.casefold() and line.label and line.holds_in(year.year) and line.figure:
            page.add(
                *(line.label, line.line, None, line.valid_from, line.valid_until),
                source_words(line.source, line.status),
            )
    return page
