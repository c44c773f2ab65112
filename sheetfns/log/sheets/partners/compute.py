"""Sheet Partners worked out in Python, apart from the formulas."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.lookups import figure, setting, split_steps
from sheetfns.log.sheets.words import DONATED, MONTHS, OWN_USE, PARTNER_ROWS
from sheetfns.money import round_money

YEARS: Final = 6
_YEARS: Final = range(1, YEARS + 1)
NO_NAME: Final = "(no name)"
NOT_BEGUN: Final = "No month has begun: see First month and Figures as of on Settings."
SHARES_WRONG: Final = (
    "The partners' shares on Settings must be numbers from 0 % to 100 % that add up to 100 %. Put "
    "them right, and this sheet fills itself."
)
TIES_FIRST: Final = "Mend first: the balances do not tie with cash and stock (see Do they tie?)."
_BY_SHARES: Final = "To hold what is there by your shares,"
_AMONG_SEVERAL: Final = (
    f"{_BY_SHARES} those in row Pays pay, those in row Gets get, by way of the business or from "
    "hand to hand. Then write it on Owner money: put in by those who paid, took out by those who "
    "got it."
)
_FLOWS: Final = ("put_in", "own_pocket", "profit", "took_out", "own_goods", "goods")


def work_out_partners(
    content: LogContent, pieces: pd.DataFrame, lots: pd.DataFrame, expenses: pd.DataFrame, months: pd.DataFrame
) -> pd.DataFrame:
    """The results of Partners in one row: NaN or "" where the sheet is blank."""
    months = months.head(MONTHS)
    who = _partners(content)
    cells = _blank_sheet()
    asks = _asks(content, who, months)
    currency = content.settings.get("Currency") or "money"
    cells["asks"] = asks or (
        f"Amounts in {currency}. A balance below 0.00 means that a partner has taken out, or lost, more than was there."
    )
    cells["shares_ready"] = float(not asks)
    start = setting(content, "Opening_cash") + setting(content, "Opening_stock")
    cells["start_all"] = float(round_money(start))
    if not asks:
        years = _years(content, who, _Rows(pieces, lots, expenses, months))
        _fill_years(cells, who, years, months)
        _fill_steps(cells, content, years)
        _fill_now(cells, who, years[-1], float(cells[f"tie_{len(years)}"]))
        _fill_split(cells, content, ("level", "", float(cells["balance_all"])))
    return pd.DataFrame([cells])


@dataclass(frozen=True)
class _Rows:
    pieces: pd.DataFrame
    lots: pd.DataFrame
    expenses: pd.DataFrame
    months: pd.DataFrame


@dataclass(frozen=True)
class _Year:
    """One calendar year; each amount has a row for each partner.

    `days` are the first of its days and the one after its last that are counted.
    """

    year: int
    days: tuple[pd.Timestamp, pd.Timestamp]
    opening: Any
    flows: dict[str, Any]

    @property
    def closing(self) -> Any:
        flows = self.flows
        change = flows["put_in"] + flows["own_pocket"] + flows["profit"]
        taken = flows["took_out"] + flows["own_goods"] + flows["goods"]
        return round_money(self.opening + change - taken)


def _partners(content: LogContent) -> pd.DataFrame:
    """The filled rows of the table of partners, with their place in it, from 1."""
    who = content.blocks["Partner"].copy()
    who["place"] = content.places_in_block("Partner")
    who["shown"] = who["name"].where(who["name"] != "", NO_NAME)
    return who


def _asks(content: LogContent, who: pd.DataFrame, months: pd.DataFrame) -> str:
    """What keeps the sheet from being worked out."""
    if months.empty:
        return NOT_BEGUN
    unread = any(key == "share" for _, key in content.unread.get("Partner", {}))
    if unread or round(float(who["share"].sum()) - 1, 9) != 0:
        return SHARES_WRONG
    return ""


def _split(amount: float, who: pd.DataFrame) -> Any:
    rows = figure("PROFIT_SHARE", amount, [[share] for share in who["share"]])
    return np.array([0.0 if row[0] is None else row[0] for row in rows], dtype=float)


def _years(content: LogContent, who: pd.DataFrame, rows: _Rows) -> list[_Year]:
    months = rows.months["month"]
    begin, end = months.iloc[0], months.iloc[-1] + pd.offsets.MonthBegin(1)
    if who["opening"].notna().any():
        opening = round_money(who["opening"].fillna(0).to_numpy(float))
    else:
        stock = float(rows.months["opening_stock"].iloc[0])
        start = setting(content, "Opening_cash") + stock
        opening = _split(float(round_money(start)), who)
    years: list[_Year] = []
    for year in range(begin.year, months.iloc[-1].year + 1):
        first = max(begin, pd.Timestamp(year, 1, 1))
        until = min(end, pd.Timestamp(year + 1, 1, 1))
        flows = _flows(content, who, rows, (first, until))
        years.append(_Year(year, (first, until), opening, flows))
        opening = years[-1].closing
    return years


def _flows(
    content: LogContent, who: pd.DataFrame, rows: _Rows, days: tuple[pd.Timestamp, pd.Timestamp]
) -> dict[str, Any]:
    names = [name.casefold() for name in who["name"]]

    def within(when: pd.Series[Any]) -> pd.Series[bool]:
        return (when >= days[0]) & (when < days[1])

    def by_partner(amount: pd.Series[float], when: pd.Series[Any], whose: pd.Series[str]) -> Any:
        sums = amount[within(when)].fillna(0).groupby(whose.str.casefold()).sum()
        return round_money(np.array([sums.get(n, 0.0) if n else 0.0 for n in names], dtype=float))

    pieces, lots, expenses, owner = rows.pieces, rows.lots, rows.expenses, content.sheets["Owner"]
    used = pieces["landed_cost"].where(pieces["left_how"] == OWN_USE)
    given = pieces["landed_cost"].where(pieces["left_how"] == DONATED)
    own_goods = by_partner(used, pieces["left_on"], pieces["taken_by"])
    gone = float((used.fillna(0) + given.fillna(0))[within(pieces["left_on"])].sum())
    profit = float(rows.months.loc[within(rows.months["month"]), "profit"].sum())
    return {
        "put_in": by_partner(owner["put_in"], owner["moved_on"], owner["partner"]),
        "own_pocket": round_money(
            by_partner(pieces["owner_paid"], pieces["stock_date"], pieces["paid_from"])
            + by_partner(lots["owner_paid"], lots["bought_on"], lots["paid_from"])
            + by_partner(expenses["owner_paid"], expenses["spent_on"], expenses["paid_from"])
        ),
        "profit": _split(float(round_money(profit)), who),
        "took_out": by_partner(owner["took_out"], owner["moved_on"], owner["partner"]),
        "own_goods": own_goods,
        "goods": _split(float(round_money(gone - own_goods.sum())), who),
    }


def _blank_sheet() -> dict[str, Any]:
    """Every result of the sheet, blank."""
    cells: dict[str, Any] = {}
    partners = range(1, PARTNER_ROWS + 1)
    for key in ("share", "balance", "level", "pays", "gets"):
        cells |= dict.fromkeys((f"{key}_all", *(f"{key}_{i}" for i in partners)), np.nan)
    for key in ("name", "at_end"):
        cells |= dict.fromkeys((f"{key}_all", *(f"{key}_{i}" for i in partners)), "")
    cells |= dict.fromkeys(("settle", "payer", "payee"), "") | {"how_to_settle": _AMONG_SEVERAL}
    cells |= dict.fromkeys(("number", "years_so_far"), 0.0)
    cells |= {f"place_{i}": float(i) for i in partners} | {"tie_now": np.nan}
    by_year: list[tuple[str, int | str]]
    by_year = [(key, year) for key in ("profit", "goods") for year in _YEARS]
    for key, year in (("start", ""), ("level", ""), *by_year):
        cells[_left_key(key, year)] = np.nan
        for step in ("exact", "rest"):
            cells |= dict.fromkeys((f"{key}_{step}_{year}{i}" for i in partners), np.nan)
    for year in range(1, YEARS + 1):
        for key in ("opening", *_FLOWS, "closing", "end"):
            names = (f"{key}_all_{year}", *(f"{key}_{year}{i}" for i in partners))
            cells |= dict.fromkeys(names, np.nan)
        for key in ("year", "end_year", "tie_year", "balances", "cash", "stock", "relisted", "tie"):
            cells[f"{key}_{year}"] = np.nan
        cells |= {f"counted_from_{year}": pd.NaT, f"counted_until_{year}": pd.NaT}
        cells |= dict.fromkeys((f"who_all_{year}", *(f"who_{year}{i}" for i in partners)), "")
    return cells


def _left_key(key: str, year: int | str) -> str:
    return f"{key}_left_{year}" if year else f"{key}_left"


def _fill_steps(cells: dict[str, Any], content: LogContent, years: list[_Year]) -> None:
    """The days of each year, and what is shared out on the way to its amounts."""
    cells["years_so_far"] = float(len(years))
    _fill_split(cells, content, ("start", "", cells["start_all"]))
    for number, year in enumerate(years, 1):
        cells[f"counted_from_{number}"], cells[f"counted_until_{number}"] = year.days
        for key in ("profit", "goods"):
            _fill_split(cells, content, (key, number, float(cells[f"{key}_all_{number}"])))


def _fill_split(cells: dict[str, Any], content: LogContent, split: tuple[str, int | str, float]) -> None:
    key, year, amount = split
    shares = dict(zip(content.places_in_block("Partner"), content.blocks["Partner"]["share"], strict=True))
    places = range(1, PARTNER_ROWS + 1)
    exact, left, rest = split_steps(amount, [shares.get(place, 0.0) for place in places])
    cells[_left_key(key, year)] = left
    for place in places:
        cells[f"{key}_exact_{year}{place}"] = exact[place - 1]
        cells[f"{key}_rest_{year}{place}"] = rest[place - 1]


def _fill_years(cells: dict[str, Any], who: pd.DataFrame, years: list[_Year], months: pd.DataFrame) -> None:
    cells |= {"name_all": "All", "at_end_all": "All"}
    for place, name in zip(who["place"], who["shown"], strict=True):
        cells |= {f"name_{place}": name, f"at_end_{place}": name}
    for number, year in enumerate(years, 1):
        for key in ("year", "end_year", "tie_year"):
            cells[f"{key}_{number}"] = float(year.year)
        cells[f"who_all_{number}"] = "All"
        amounts = {"opening": year.opening, **year.flows, "closing": year.closing}
        amounts["end"] = amounts["closing"]
        for place, name in zip(who["place"], who["shown"], strict=True):
            cells[f"who_{number}{place}"] = name
        for key, values in amounts.items():
            cells[f"{key}_all_{number}"] = round_money(float(values.sum()))
            for place, value in zip(who["place"], values, strict=True):
                cells[f"{key}_{number}{place}"] = value
        so_far = months[months["month"].dt.year <= year.year]
        balances = round_money(float(year.closing.sum()))
        cash, stock = (float(so_far[f"closing_{key}"].iloc[-1]) for key in ("cash", "stock"))
        relisted = round_money(float(so_far["relisted"].sum()))
        cells |= {
            f"balances_{number}": balances,
            f"cash_{number}": cash,
            f"stock_{number}": stock,
            f"relisted_{number}": relisted,
            f"tie_{number}": round_money(balances - cash - stock + float(relisted)),
        }


def _fill_now(cells: dict[str, Any], who: pd.DataFrame, last: _Year, tie: float) -> None:
    """What each has by now, and what makes it level; words for it only if the balances tie."""
    balances = last.closing
    level = _split(float(round_money(float(balances.sum()))), who)
    pays = np.maximum(round_money(level - balances), 0)
    gets = np.maximum(round_money(balances - level), 0)
    for key, values in (
        ("share", who["share"].fillna(0).to_numpy(float)),
        ("balance", balances),
        ("level", level),
        ("pays", pays),
        ("gets", gets),
    ):
        in_all = float(values.sum())
        cells[f"{key}_all"] = in_all if key == "share" else round_money(in_all)
        for place, value in zip(who["place"], values, strict=True):
            cells[f"{key}_{place}"] = value
    cells |= {"number": float(len(who)), "tie_now": tie}
    cells["how_to_settle"] = _how_to_settle(cells, who, pays, gets)
    cells["settle"] = cells["how_to_settle"]
    if len(who) == 1:
        cells["settle"] = "One partner: there is nothing to settle."
    elif tie != 0:
        cells["settle"] = TIES_FIRST


def _how_to_settle(cells: dict[str, Any], who: pd.DataFrame, pays: Any, gets: Any) -> str:
    """What makes the balances level, in words; of two partners it is known who pays whom."""
    if len(who) == 2:
        for key, amounts in (("payer", pays), ("payee", gets)):
            cells[key] = who["shown"].iloc[int(amounts.argmax())] if amounts.max() > 0 else ""
    if pays.sum() == 0:
        return "All are level."
    if len(who) == 2:
        payer, payee, amount = cells["payer"], cells["payee"], f"{pays.max():,.2f}"
        return (
            f"{_BY_SHARES} {payer} pays {payee} {amount}. Then write on Owner money: put in "
            f"{amount} by {payer}, took out {amount} by {payee}."
        )
    return _AMONG_SEVERAL
