"""The figures of one tax year worked out in Python, apart from the workbook's formulas."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns.cell_types import date_number
from sheetfns.functions.tax import GAP_ALTERNATIVES, gap_remark
from sheetfns.log.sheets.lookups import figure, single, split_steps
from sheetfns.log.sheets.tax_rules.layout import EXPENSE_LINES, TaxLine, tax_lines
from sheetfns.log.sheets.words import (
    CHANNEL_ROWS,
    DISCARDED,
    FROM_THE_LOG,
    PARTNER_ROWS,
    PAYMENTS,
    RATES_IN_YEAR,
    RELISTED,
    ROW_ONE,
    SUMMARY_ROWS,
    TAX_RULES,
    TRIPS_LISTED,
    YES,
)
from sheetfns.log.sheets.year_end.books import Span, YearReads, contributing_rows, heading_places, rows_to_fix
from sheetfns.log.sheets.year_end.channels import SUMMED
from sheetfns.log.sheets.year_end.layout import TIES
from sheetfns.log.sheets.year_end.lines import year_figures
from sheetfns.log.sheets.year_end.taxes import FOR_INFORMATION, HOME_OFFICE, SELF_EMPLOYMENT
from sheetfns.money import round_money
from sheetfns.tables import table_rows

_FLAGS: Final = {
    "miles_count": "miles_count",
    "office_count": "home_office_counts",
    "self_count": "self_employment_counts",
    "lines_needed": "lines_needed",
}
_ALTERNATIVES: Final = range(1, len(GAP_ALTERNATIVES) + 1)
_PARTS_OF_INCOME: Final = ("gross_receipts", "returns")


@dataclass(frozen=True)
class SummaryLine:
    """A line of the year's statement as it is shown: a heading has no amount."""

    line: TaxLine
    label: str
    amount: float | None

    @property
    def whole(self) -> float | None:
        """The amount in whole units, rounded once."""
        return None if self.amount is None else float(round_money(self.amount, 0))


@dataclass(frozen=True)
class YearFigures:
    """What a tax year comes to.

    Attributes:
        year: the tax year.
        rules: the set of rules, as on Settings.
        amounts: every figure by its key on sheet Year end: gross_receipts ... net_profit.
        lines: the lines of the rules in reading order; none if they do not hold for the year.
        headings: place, heading, tax_line, from_log, entered, amount of each expense heading.
        rows: every row that counts, see `contributing_rows`.
        cells: every result on sheet Year end by its key; NaN or "" where it is blank.
        missing: names of tax figures that the year needs and Settings lacks.
        miles_count: whether the rules let miles count at a rate.
    """

    year: int
    rules: str
    amounts: dict[str, float]
    lines: tuple[SummaryLine, ...]
    headings: pd.DataFrame
    rows: pd.DataFrame
    cells: dict[str, Any]
    missing: tuple[str, ...]
    miles_count: bool


def compute(reads: YearReads) -> pd.DataFrame:
    """Sheet Year end: the tax year on Settings."""
    return pd.DataFrame([compute_year(reads, int(reads.tax_year)).cells])


def compute_year(reads: YearReads, year: int) -> YearFigures:
    """The figures of one tax year; an empty year gives zeros."""
    return _Year(reads, year).figures()


def _cents(amount: float) -> float:
    return float(round_money(amount)) + 0.0


class _Year:
    """One tax year while it is worked out."""

    def __init__(self, reads: YearReads, year: int) -> None:
        self.reads = reads
        self.span = Span(year)
        self.year = year
        self.rules = reads.rules or ""
        flags = {row["rules"].casefold(): row for row in table_rows("tax_rules")}
        self.flags = flags.get(self.rules.casefold(), {})
        self.rows = contributing_rows(reads, year)
        self.cells: dict[str, Any] = {}

    def figures(self) -> YearFigures:
        headings, amounts = self._amounts_before_office()
        office, missing_office = self._office(amounts["tentative_profit"])
        amounts["home_office"] = office
        amounts["net_profit"] = _cents(amounts["tentative_profit"] - office)
        lines = self._lines(amounts, headings)
        self._head(amounts, lines)
        self._show_figures(amounts, headings)
        self._show_lines(lines)
        self._car()
        missing_self = self._partners(amounts["net_profit"])
        self._channels()
        self._own()
        self._ties(amounts)
        self._steps_to_taxes(missing_self, missing_office)
        return YearFigures(
            self.year,
            self.rules,
            amounts,
            lines,
            headings,
            self.rows,
            self.cells,
            (*missing_self, *missing_office),
            self._counts("miles_count"),
        )

    def _counts(self, flag: str) -> bool:
        return self.flags.get(flag) == YES

    def _sum(self, key: str) -> float:
        return _cents(float(self.rows.loc[self.rows["figure"] == key, "amount"].sum()))

    # ---- figures and lines -------------------------------------------------------------------

    def _amounts_before_office(self) -> tuple[pd.DataFrame, dict[str, float]]:
        amounts = {
            key: self._sum(key)
            for key in (
                *(*_PARTS_OF_INCOME, "opening_inventory", "purchases", "personal_use", "materials"),
                *("closing_inventory", "log_fees", "log_postage", "log_packaging", "log_miles"),
            )
        }
        if not self._counts("miles_count"):
            amounts["log_miles"] = 0.0
        amounts |= {"labor": 0.0, "other_costs": 0.0}

        def put(key: str, amount: float) -> None:
            amounts[key] = _cents(amount)

        put("net_receipts", amounts["gross_receipts"] - amounts["returns"])
        put("net_purchases", amounts["purchases"] - amounts["personal_use"])
        added = ("net_purchases", "labor", "materials", "other_costs")
        put("purchases_in_all", sum(amounts[key] for key in added))
        put("available", amounts["opening_inventory"] + amounts["purchases_in_all"])
        put("inventory_change", amounts["closing_inventory"] - amounts["opening_inventory"])
        put("cost_of_goods_sold", amounts["available"] - amounts["closing_inventory"])
        put("gross_profit", amounts["net_receipts"] - amounts["cost_of_goods_sold"])
        put("gross_income", amounts["gross_profit"])
        headings = self._headings(amounts)
        by_line = headings.groupby(headings["tax_line"].str.casefold())["amount"].sum()
        for key, label in EXPENSE_LINES:
            put(key, float(by_line.get(label.casefold(), 0.0)))
        put("total_expenses", float(headings["amount"].sum()))
        put("tentative_profit", amounts["gross_profit"] - amounts["total_expenses"])
        return headings, amounts

    def _headings(self, amounts: dict[str, float]) -> pd.DataFrame:
        blocks = self.reads.headings
        named = blocks[blocks["heading"] != ""]
        places = [place for place, _ in heading_places(self.reads.headings)]
        words = {word.casefold(): word for word in FROM_THE_LOG}
        from_log = [
            amounts[f"log_{words[word.casefold()]}"] if word.casefold() in words else 0.0 for word in named["from_log"]
        ]
        found = pd.DataFrame(
            {
                "place": places,
                "heading": named["heading"].to_numpy(),
                "tax_line": named["tax_line"].to_numpy(),
                "from_log": np.array(from_log, dtype=float),
                "entered": np.array([self._sum(f"entered_{p}") for p in places], dtype=float),
            }
        )
        found["amount"] = round_money((found["from_log"] + found["entered"]).to_numpy(float))
        return found

    def _lines(self, amounts: dict[str, float], headings: pd.DataFrame) -> tuple[SummaryLine, ...]:
        by_place = headings.set_index("place")
        found = []
        for line in tax_lines():
            if line.rules.casefold() != self.rules.casefold() or not line.holds_in(self.year):
                continue
            label, amount = line.label, amounts.get(line.figure) if line.figure else None
            if not label:
                place = int(line.figure.removeprefix("heading_"))
                if place not in by_place.index:
                    continue
                label = str(by_place.loc[place, "heading"])
                amount = float(by_place["amount"][place])
            found.append(SummaryLine(line, label, amount))
        return tuple(found)

    def _head(self, amounts: dict[str, float], lines: tuple[SummaryLine, ...]) -> None:
        currency, shop = self.reads.currency, self.reads.shop
        title = f"Tax year {self.year}" + (f" in {currency}" if currency else "")
        as_of = self.reads.as_of
        if not lines:
            state = (
                f"Sheet {TAX_RULES} has no lines of '{self.rules}' for {self.year}: choose other rules or another year "
                "on Settings, or get a newer sheetfns."
            )
        elif as_of < self.span.last:
            state = f"Draft as of {as_of}: the year runs to {self.span.last}."
        else:
            state = "The year is over. Its figures are complete when there are no errors (line above)."
        test = self._dated("Receipts test")
        basis = (
            f"Rules: {self.rules}. Accounting method: Cash; the cost of an item counts when it is "
            "sold, not when it is bought (Settings): have a licensed preparer confirm it."
        )
        if test is not None:
            over = amounts["gross_receipts"] > test
            words = "Receipts are over" if over else "Receipts test: at most"
            basis += f" {words} {test:,.0f} a year, on average of three years."
        self.cells["answer"] = f"Net profit: {amounts['net_profit']:,.2f}"
        self.cells |= {"title": title + (f", {shop}" if shop else ""), "state": state, "basis": basis}

    def _show_figures(self, amounts: dict[str, float], headings: pd.DataFrame) -> None:
        for one in year_figures():
            self.cells[f"{one.key}_label"] = one.label
            for part in ("log", "entered"):
                self.cells[f"{one.key}_{part}"] = np.nan
            self.cells[one.key] = amounts.get(one.key, np.nan)
        for row in headings.to_dict("records"):
            key = f"heading_{row['place']}"
            self.cells |= {
                f"{key}_label": row["heading"],
                f"{key}_log": row["from_log"],
                f"{key}_entered": row["entered"],
                key: row["amount"],
            }

    def _show_lines(self, lines: tuple[SummaryLine, ...]) -> None:
        places = {line: place for place, line in enumerate(tax_lines(), 1)}
        self.cells["lines_found"] = float(len(lines))
        for number in range(1, SUMMARY_ROWS + 1):
            shown: dict[str, Any] = {"label": "", "line": "", "note": ""}
            shown |= {"amount": np.nan, "whole": np.nan, "line_row": np.nan, "line_part": ""}
            if number <= len(lines):
                one = lines[number - 1]
                shown |= {"line_row": float(places[one.line]), "line_part": one.line.part}
                shown |= {"label": one.label, "line": one.line.line, "note": one.line.note}
                if one.amount is not None:
                    shown |= {"amount": one.amount, "whole": one.whole}
            self.cells |= {f"{key}_{number}": cell for key, cell in shown.items()}

    # ---- car and home office -----------------------------------------------------------------

    def _car(self) -> None:
        mileage = self.reads.mileage
        first, last = (pd.Timestamp(day) for day in (self.span.first, self.span.last))
        held = mileage[(mileage["until"] >= first) & (mileage["from"] <= last)]
        self.cells["mileage_first"] = float((mileage["until"] < first).sum())
        trips = self.reads.trips
        lacking = trips[rows_to_fix(trips, self.year)]
        miles_all = deduction_all = 0.0
        for number in range(1, RATES_IN_YEAR + 1):
            keys = ("rate_from", "rate_until", "rate", "miles", "deduction")
            shown: dict[str, Any] = dict.fromkeys(keys, np.nan)
            shown |= {"rate_from": pd.NaT, "rate_until": pd.NaT, "mileage_row": np.nan}
            if number <= len(held):
                rate = held.iloc[number - 1]
                since, until = max(rate["from"], first), min(rate["until"], last)
                within = (trips["driven_on"] >= since) & (trips["driven_on"] < until + pd.Timedelta(days=1))
                counted = trips[within & trips["deduction"].notna()]
                miles = round(float(counted["miles"].sum()), 6)
                deduction = _cents(float(counted["deduction"].sum()))
                shown = dict(zip(keys, (since, until, rate["rate"], miles, deduction), strict=True))
                shown["mileage_row"] = float(rate["place"])
                miles_all += miles
                deduction_all += deduction
            self.cells |= {f"{key}_{number}": cell for key, cell in shown.items()}
        self.cells |= {
            "miles_all": round(miles_all, 6),
            "deduction_all": _cents(deduction_all),
            "lacking_all": float(len(lacking)),
        }
        for number in range(1, TRIPS_LISTED + 1):
            shown = {"lacking": "", "lacking_what": "", "lacking_day": pd.NaT}
            shown["lacking_row"] = np.nan
            if number <= len(lacking):
                trip = lacking.iloc[number - 1]
                shown = {
                    "lacking": f"Trips, row {trip['sheet_row']}",
                    "lacking_what": trip["row_check"],
                    "lacking_day": trip["driven_on"],
                    "lacking_row": trip["sheet_row"] - float(ROW_ONE),
                }
            self.cells |= {f"{key}_{number}": cell for key, cell in shown.items()}

    def _of_year(self, rows: pd.DataFrame, column: str, also: pd.Series[bool] | None = None) -> Any:
        """What stands in a table by tax year: the sum, and whether anything stands there."""
        chosen = rows["year"] == self.year
        if also is not None:
            chosen &= also
        amounts = rows.loc[chosen, column]
        return float(amounts.fillna(0).sum()), bool(amounts.notna().any())

    def _dated(self, name: str) -> float | None:
        """A figure that one row alone gives for the year."""
        rows = self.reads.tax_figures
        last = pd.Timestamp(self.span.last)
        named = rows["name"].str.casefold() == name.casefold()
        found = rows[named & (rows["from"] <= last) & (rows["until"] >= last)]
        if len(found) != 1:
            return None
        return float(np.nan_to_num(found["value"].iloc[0]))

    def _missing(self, names: dict[str, str]) -> tuple[str, ...]:
        return tuple(name for name in names.values() if self._dated(name) is None)

    def _own_figures(self) -> list[list[Any]]:
        """The dated figures of Settings as a block of cells."""
        rows = self.reads.tax_figures
        return [
            [row["name"], _number(row["from"]), _number(row["until"]), _blank(row["value"])]
            for row in rows.to_dict("records")
        ]

    def _office(self, profit: float) -> tuple[float, tuple[str, ...]]:
        area, _ = self._of_year(self.reads.by_year, "area")
        months, typed = self._of_year(self.reads.by_year, "months")
        months = months if typed else 12.0
        wanted = self._counts("home_office_counts") and area > 0
        missing = self._missing(HOME_OFFICE) if wanted else ()
        simple = np.nan
        if wanted and not missing:
            simple = single("HOME_OFFICE_SIMPLE", area, months, self.year, self._own_figures())
        counted = _cents(min(float(np.nan_to_num(simple)), max(0.0, profit)))
        counted = counted if self._counts("home_office_counts") else 0.0
        self.cells |= {"office_area": area, "office_months": months, "office_simple": simple, "office_counted": counted}
        return counted, missing

    # ---- partners and taxes ------------------------------------------------------------------

    def _partners(self, net_profit: float) -> tuple[str, ...]:
        who = self.reads.partners
        counts = self._counts("self_employment_counts")
        missing = self._missing(SELF_EMPLOYMENT) if counts else ()
        keys = ("wages", "self_tax", "half_tax", "tax_rate", "income_tax", "tax_all_of", "tax_paid")
        per_partner = ("profit", *keys, "hold_back", *(f"payment_{n}" for n in self._payments()))
        for key in per_partner:
            self.cells |= {f"{key}_{i}": np.nan for i in range(1, PARTNER_ROWS + 1)}
        self.cells |= {f"name_{i}": "" for i in range(1, PARTNER_ROWS + 1)}
        due = self._due_days() if counts and not missing else None
        for n in self._payments():
            self.cells[f"due_{n}"] = pd.NaT if due is None else due[n - 1]
        unread = any(key == "share" for _, key in self.reads.partners_unread)
        shares_ready = not unread and round(float(who["share"].sum()) - 1, 9) == 0
        parts = _split(net_profit, who) if shares_ready else [np.nan] * len(who)
        for place, name, part in zip(who["place"], who["name"], parts, strict=True):
            self.cells[f"name_{place}"] = name
            if name and shares_ready:
                self.cells[f"profit_{place}"] = part
                if counts and not missing:
                    self._taxes_of(int(place), str(name), float(part), due=due is not None)
        for key in per_partner:
            mine = [self.cells[f"{key}_{i}"] for i in range(1, PARTNER_ROWS + 1)]
            some = not all(np.isnan(mine))
            self.cells[f"{key}_all"] = _cents(float(np.nansum(mine))) if some else np.nan
        self.cells |= {"tax_rate_all": np.nan, "name_all": "All"}
        self._steps_to_shares(net_profit, shares_ready=shares_ready)
        self.cells["taxes_words"] = self._taxes_words(missing, due)
        return missing

    def _steps_to_shares(self, net_profit: float, *, shares_ready: bool) -> None:
        partners = self.reads.partners
        shares = dict(zip(self.reads.partners["place"], partners["share"], strict=True))
        places = range(1, PARTNER_ROWS + 1)
        self.cells |= {f"place_{place}": float(place) for place in places}
        self.cells |= {"shares_ready": float(shares_ready), "profit_left": np.nan}
        exact = rest = [np.nan] * PARTNER_ROWS
        if shares_ready:
            of_all = [shares.get(place, 0.0) for place in places]
            exact, self.cells["profit_left"], rest = split_steps(net_profit, of_all)
        for place in places:
            self.cells[f"profit_exact_{place}"] = exact[place - 1]
            self.cells[f"profit_rest_{place}"] = rest[place - 1]

    @staticmethod
    def _payments() -> range:
        return range(1, PAYMENTS + 1)

    def _due_days(self) -> list[Any] | None:
        rows = self.reads.due
        found = rows[rows["year"] == self.year]
        if found.empty:
            return None
        return [found.iloc[0][f"day_{n}"] for n in self._payments()]

    def _taxes_of(self, place: int, name: str, profit: float, *, due: bool) -> None:
        mine = self.reads.taxes["partner"].str.casefold() == name.casefold()
        wages, rate, paid = (self._of_year(self.reads.taxes, key, mine)[0] for key in ("wages", "rate", "paid"))
        figures = self._own_figures()
        self_tax = single("SELF_EMPLOYMENT_TAX", profit, self.year, wages, figures)
        half = float(self._dated(SELF_EMPLOYMENT["half_share"]) or 0.0)
        income = _cents(rate * max(0.0, profit - half * self_tax))
        cells = {
            "wages": wages,
            "self_tax": self_tax,
            "half_tax": _cents(half * self_tax),
            "tax_rate": rate,
            "income_tax": income,
            "tax_all_of": _cents(self_tax + income),
            "tax_paid": paid,
        }
        if due:
            days = self.reads.due
            table = [
                [_blank(row["year"]), *(_number(row[f"day_{n}"]) for n in self._payments())]
                for row in days.to_dict("records")
            ]
            rows = figure("TAX_SET_ASIDE", profit, self.year, rate, wages, paid, figures, table)
            open_parts = [np.nan] * (PAYMENTS + 1) if rows is None else [row[0] for row in rows]
            cells["hold_back"] = open_parts[0]
            cells |= {f"payment_{n}": open_parts[n] for n in self._payments()}
        self.cells |= {f"{key}_{place}": cell for key, cell in cells.items()}

    def _taxes_words(self, missing: tuple[str, ...], due: list[Any] | None) -> str:
        if not self._counts("self_employment_counts"):
            return "These rules calculate no taxes: ask a licensed preparer how much to keep."
        if missing:
            return (
                "No taxes are calculated: on Settings, Tax figures by date, no single row of "
                f"{', '.join(missing)} covers {self.year}-12-31. Add it when it is published."
            )
        said = (
            "Each partner's taxes are their own. This is an estimate from the figures above, for the log's profit "
            "alone: it leaves out other income, other deductions and the tax on high earnings. Each payment is a "
            "quarter of the whole year's tax; during the year the figures are those so far. Ask a licensed preparer "
            "which rules apply to you."
        )
        return said + (f" Settings has no due dates for {self.year}." if due is None else "")

    def _steps_to_taxes(self, missing_self: tuple[str, ...], missing_office: tuple[str, ...]) -> None:
        rules = [row["rules"].casefold() for row in table_rows("tax_rules")]
        known = self.rules.casefold() in rules
        self.cells["rules_row"] = rules.index(self.rules.casefold()) + 1.0 if known else np.nan
        for key, flag in _FLAGS.items():
            self.cells[key] = float(self._counts(flag))
        for key, name in (SELF_EMPLOYMENT | HOME_OFFICE | FOR_INFORMATION).items():
            value = self._dated(name)
            self.cells[key] = np.nan if value is None else value
        for key, names in (("missing_self", SELF_EMPLOYMENT), ("missing_office", HOME_OFFICE)):
            self.cells[key] = "".join(f", {name}" for name in self._missing(names))
        taxes = self._counts("self_employment_counts") and not missing_self
        office = self._counts("home_office_counts") and self.cells["office_area"] > 0
        self.cells["taxes_ready"] = 1.0 if taxes else np.nan
        self.cells["office_ready"] = 1.0 if office and not missing_office else np.nan
        years = dict(zip(reversed(self.reads.due["year"].tolist()), reversed(self.reads.due["place"]), strict=True))
        self.cells["due_row"] = float(years.get(self.year, np.nan)) if taxes else np.nan
        for place in range(1, PARTNER_ROWS + 1):
            net = self.cells[f"profit_{place}"] * self.cells["net_share"]
            earned = 0.0 if net < self.cells["least_net"] else net
            self.cells[f"earned_{place}"] = earned if taxes else np.nan

    # ---- channels and personal items -------------------------------------------------------------

    def _channels(self) -> None:
        names = [""] * CHANNEL_ROWS
        channels = self.reads.channels
        for place, name in zip(self.reads.channels["place"], channels["name"], strict=True):
            if place <= CHANNEL_ROWS:
                names[place - 1] = name
        over = [self._dated(FOR_INFORMATION[key]) for key in ("gross_over", "sales_over")]
        due = []
        for place, name in enumerate(names, 1):
            amounts = ("prices", "shipping", "collected", "own", "gross", "reported", "gap")
            steps = ("refunds", "sales", *(f"left_{place}" for place in _ALTERNATIVES))
            shown: dict[str, Any] = dict.fromkeys((*amounts, *steps), np.nan)
            shown |= {"explained": "", "report_due": ""}
            if name:
                shown |= self._channel(name)
                known = None not in over
                if known and shown["gross"] > over[0] and shown["sales"] > over[1]:
                    due.append(name)
                    shown["report_due"] = f", {name}"
            self.cells[f"channel_{place}"] = name
            for step in _ALTERNATIVES:
                self.cells[f"left_{place}_{step}"] = shown.pop(f"left_{step}")
            self.cells |= {f"{key}_{place}": cell for key, cell in shown.items()}
        for key in SUMMED:
            mine = [self.cells[f"{key}_{place}"] for place in range(1, CHANNEL_ROWS + 1)]
            self.cells[f"{key}_all"] = _cents(float(np.nansum(mine)))
        for place, (words, *_) in zip(_ALTERNATIVES, GAP_ALTERNATIVES, strict=True):
            self.cells[f"gap_words_{place}"] = words
        self.cells["reports_words"] = self._reports_words(over, due)

    def _channel(self, name: str) -> dict[str, Any]:
        items, own = self.reads.log, self.reads.own
        folded = name.casefold()
        of_log = items["channel"].str.casefold() == folded
        sold = items[of_log & self.span.holds(items["sold_on"])]
        back = items[of_log & self.span.holds(items["refund_day"])]
        things = own[(own["channel"].str.casefold() == folded) & self.span.holds(own["sold_on"])]
        found: dict[str, Any] = {
            "prices": _cents(float(sold["price_used"].sum())),
            "shipping": _cents(float(sold["shipping_used"].sum())),
            "collected": _cents(float(sold["tax_collected"].sum())),
            "own": _cents(float(things[["sale_price", "shipping_charged", "tax_collected"]].sum().sum())),
        }
        found["gross"] = _cents(sum(found.values()))
        refunds = _cents(float(back["refund"].sum()))
        found |= {"sales": float(len(sold) + len(things)), "refunds": refunds}
        found |= {"reported": np.nan, "gap": np.nan}
        found["explained"] = ""
        of_name = self.reads.reported["channel"].str.casefold() == folded
        reported, typed = self._of_year(self.reads.reported, "gross", of_name)
        if typed:
            found["reported"] = _cents(reported)
            found["gap"] = _cents(found["reported"] - found["gross"])
            found["explained"] = gap_remark(found["gap"], found["shipping"], found["collected"], refunds)
            found |= _left_of_gap(found)
        return found

    def _reports_words(self, over: list[float | None], due: list[str]) -> str:
        if over[0] is None or over[1] is None:
            return f"Tax figures by date have no limit for reports of {self.year}; ask each channel."
        limits = f"({over[0]:,.0f} and {over[1]:,.0f} sales, both exceeded); some report less."
        if not due:
            return "By the log, no channel is over the limit above which it must report " + limits
        listed = ", ".join(due)[:199]
        return f"By the log, expect a report from {listed}, over the limit {limits}"

    def _own(self) -> None:
        own = self.reads.own
        sold = own[self.span.holds(own["sold_on"])]
        self.cells |= {
            "own_sold": float(len(sold)),
            "own_gain": _cents(float(sold["gain"].sum())),
            "own_loss": _cents(float(sold["loss"].sum())),
        }

    # ---- what ties ---------------------------------------------------------------------------

    def _ties(self, amounts: dict[str, float]) -> None:
        items, months = self.reads.log, self.reads.months

        def landed(day: str, how: str = "") -> float:
            chosen = self.span.holds(items[day])
            if how:
                chosen &= items["disposition"] == how
            return float(items.loc[chosen, "landed_cost"].sum())

        taken_over = float(items.loc[self.span.holds(items["inventory_date"]), "carried_over"].sum())
        cost_of_items = landed("sold_on") - landed("returned_on") + landed("disposition_date", DISCARDED)
        ties = dict.fromkeys(TIES, np.nan)
        ties["tie_cost"] = (
            amounts["cost_of_goods_sold"] - cost_of_items + taken_over - landed("disposition_date", RELISTED)
        )
        of_months = float(months.loc[self.span.holds(months["month"]), "profit"].sum())
        ties["tie_money"] = amounts["net_profit"] + amounts["log_miles"] + amounts["home_office"] - of_months
        earlier = months[months["month"] < pd.Timestamp(self.span.first)]
        if len(earlier):
            ties["tie_opening"] = amounts["opening_inventory"] - earlier["closing_inventory"].iloc[-1]
        so_far = months[months["month"] <= pd.Timestamp(self.span.last)]
        if len(so_far):
            ties["tie_closing"] = amounts["closing_inventory"] - so_far["closing_inventory"].iloc[-1]
        filed = self.reads.by_year
        filed = filed[(filed["year"] == self.year - 1) & filed["filed_inventory"].notna()]
        if len(filed) == 1:
            ties["tie_filed"] = amounts["opening_inventory"] - float(filed["filed_inventory"].iloc[0])
        if self._counts("lines_needed"):
            by_line = sum(amounts[key] for key, _ in EXPENSE_LINES)
            ties["tie_lines"] = amounts["total_expenses"] - by_line
        trips = self.reads.trips
        driven = float(trips.loc[self.span.holds(trips["driven_on"]), "deduction"].sum())
        ties["tie_miles"] = driven - self.cells["deduction_all"]
        if not np.isnan(self.cells["profit_all"]):
            ties["tie_shares"] = amounts["net_profit"] - self.cells["profit_all"]
        self.cells |= {key: amount if np.isnan(amount) else _cents(amount) for key, amount in ties.items()}


def _left_of_gap(found: dict[str, Any]) -> dict[str, float]:
    """What each explanation leaves of a gap; none where one of its parts is 0."""
    left = {}
    for place, (_, *used) in zip(_ALTERNATIVES, GAP_ALTERNATIVES, strict=True):
        keys = ("shipping", "collected", "refunds")
        parts = [found[key] for key, uses in zip(keys, used, strict=True) if uses]
        left[f"left_{place}"] = _cents(found["gap"] + sum(parts)) if all(parts) else np.nan
    return left


def _split(amount: float, who: pd.DataFrame) -> list[float]:
    rows = figure("PROFIT_SHARE", amount, [[share] for share in who["share"]])
    return [0.0 if row[0] is None else float(row[0]) for row in rows]


def _number(day: Any) -> float | None:
    return None if pd.isna(day) else date_number(day.date() if isinstance(day, dt.datetime) else day)


def _blank(cell: float) -> float | None:
    return None if np.isnan(cell) else float(cell)
