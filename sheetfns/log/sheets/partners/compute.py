"""Sheet Partners worked out in Python, apart from the formulas."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.model.reads import Amount, Block, Results, SettingValue, Typed, Unread
from sheetfns.log.sheets.lookups import by_place, figure, split_steps
from sheetfns.log.sheets.partners.layout import YEARS
from sheetfns.log.sheets.words import DONATED, PARTNER_ROWS, PERSONAL_USE
from sheetfns.money import round_money

_YEARS: Final = range(1, YEARS + 1)
_PARTNERS: Final = range(1, PARTNER_ROWS + 1)
NO_NAME: Final = "(no name)"
NOT_BEGUN: Final = "No month has begun: see First month and As of on Settings."
SHARES_WRONG: Final = (
    "The partners' shares on Settings must be numbers from 0% to 100% that add up to 100%. Correct them and this sheet "
    "fills in."
)
TIES_FIRST: Final = "Fix first: the balances do not tie to cash and inventory (see Reconciliation)."
_BY_SHARES: Final = "To settle up by your shares,"
_AMONG_SEVERAL: Final = (
    f"{_BY_SHARES} those in row Owes pay and those in row Is owed get it, through the business or directly. Then enter "
    "it on Owner money: put in by those who paid, took out by those who got it."
)
_FLOWS: Final = ("put_in", "own_pocket", "profit", "took_out", "own_goods", "goods")


@dataclass(frozen=True)
class Reads:
    """What sheet Partners is worked out from."""

    partners: Annotated[pd.DataFrame, Block("Partner")]
    unread: Annotated[Mapping[tuple[int, str], Any], Unread("Partner")]
    log: Annotated[pd.DataFrame, Results("Log")]
    lots: Annotated[pd.DataFrame, Results("Lots", "bought_on", "paid_from", "owner_paid")]
    expenses: Annotated[pd.DataFrame, Results("Expenses", "spent_on", "paid_from", "owner_paid")]
    owner: Annotated[pd.DataFrame, Typed("Owner")]
    months: Annotated[pd.DataFrame, Results("Money")]
    opening_cash: Annotated[float, Amount("Opening_cash")]
    opening_inventory: Annotated[float, Amount("Opening_inventory")]
    currency: Annotated[str | None, SettingValue("Currency")]


@dataclass(frozen=True)
class _Year:
    """One calendar year; each amount has a row for each partner.

    Attributes:
        year: the year.
        days: the first of its days and the one after its last that are counted.
        opening: what each had at its start.
        flows: what came in and went out, by key.
    """

    year: int
    days: tuple[pd.Timestamp, pd.Timestamp]
    opening: Any
    flows: dict[str, Any]

    @property
    def closing(self) -> Any:
        """What each has at its end."""
        flows = self.flows
        change = flows["put_in"] + flows["own_pocket"] + flows["profit"]
        taken = flows["took_out"] + flows["own_goods"] + flows["goods"]
        return round_money(self.opening + change - taken)


def compute(reads: Reads) -> pd.DataFrame:
    """The results of Partners in one row: NaN or "" where the sheet is blank."""
    months = reads.months
    who = reads.partners.assign(shown=reads.partners["name"].where(reads.partners["name"] != "", NO_NAME))
    text_as_share = any(key == "share" for _, key in reads.unread)
    asks = _asks(who["share"], months, text_as_share=text_as_share)
    says = asks or (
        f"Amounts in {reads.currency or 'money'}. A balance below 0.00 means that a partner has taken out or lost more "
        "than they had in it."
    )
    start = float(round_money(reads.opening_cash + reads.opening_inventory))
    cells = _blank_sheet() | {"asks": says, "shares_ready": float(not asks), "start_all": start}
    if not asks:
        years = _years(reads, who, months)
        cells |= _in_rows("name", who["place"], who["shown"], "All") | _in_rows(
            "at_end", who["place"], who["shown"], "All"
        )
        for number, year in enumerate(years, 1):
            cells |= _of_year(number, year, who) | _tie(number, year, months)
        cells |= {"years_so_far": float(len(years)), "tie_now": float(cells[f"tie_{len(years)}"])}
        cells |= _now(who, years[-1].closing) | _settling(who, years[-1].closing, float(cells["tie_now"]))
        shares = by_place(reads.partners, "share", PARTNER_ROWS)
        cells |= _split_cells("start", "", start, shares)
        cells |= _split_cells("level", "", float(cells["balance_all"]), shares)
        for number in range(1, len(years) + 1):
            for key in ("profit", "goods"):
                cells |= _split_cells(key, number, float(cells[f"{key}_all_{number}"]), shares)
    return pd.DataFrame([cells])


def _asks(shares: pd.Series[float], months: pd.DataFrame, *, text_as_share: bool) -> str:
    """What keeps the sheet from being worked out."""
    if months.empty:
        return NOT_BEGUN
    return SHARES_WRONG if text_as_share or round(float(shares.sum()) - 1, 9) != 0 else ""


def _split(amount: float, who: pd.DataFrame) -> Any:
    """An amount shared out by the agreed shares."""
    rows = figure("PROFIT_SHARE", float(round_money(amount)), [[share] for share in who["share"]])
    return np.array([0.0 if row[0] is None else row[0] for row in rows], dtype=float)


def _years(reads: Reads, who: pd.DataFrame, months: pd.DataFrame) -> list[_Year]:
    """The calendar years of the log, each beginning with what the one before left."""
    begin, last = months["month"].iloc[0], months["month"].iloc[-1]
    end = last + pd.offsets.MonthBegin(1)
    if who["opening"].notna().any():
        opening = round_money(who["opening"].fillna(0).to_numpy(float))
    else:
        opening = _split(reads.opening_cash + float(months["opening_inventory"].iloc[0]), who)
    years: list[_Year] = []
    for year in range(begin.year, last.year + 1):
        days = (max(begin, pd.Timestamp(year, 1, 1)), min(end, pd.Timestamp(year + 1, 1, 1)))
        years.append(_Year(year, days, opening, _flows(reads, who, months, days)))
        opening = years[-1].closing
    return years


def _flows(
    reads: Reads, who: pd.DataFrame, months: pd.DataFrame, days: tuple[pd.Timestamp, pd.Timestamp]
) -> dict[str, Any]:
    """What came in and went out for each partner on some days."""
    names = [name.casefold() for name in who["name"]]

    def within(when: pd.Series[Any]) -> pd.Series[bool]:
        return (when >= days[0]) & (when < days[1])

    def by_partner(rows: pd.DataFrame, amount: str, when: str, whose: str) -> Any:
        sums = rows.loc[within(rows[when]), amount].fillna(0).groupby(rows[whose].str.casefold()).sum()
        return round_money(np.array([sums.get(name, 0.0) if name else 0.0 for name in names], dtype=float))

    log, owner = reads.log, reads.owner
    used = log[log["disposition"] == PERSONAL_USE]
    gone = log.loc[
        log["disposition"].isin((PERSONAL_USE, DONATED)) & within(log["disposition_date"]), "landed_cost"
    ].sum()
    own_goods = by_partner(used, "landed_cost", "disposition_date", "taken_by")
    return {
        "put_in": by_partner(owner, "put_in", "moved_on", "partner"),
        "own_pocket": round_money(
            by_partner(log, "owner_paid", "inventory_date", "paid_from")
            + by_partner(reads.lots, "owner_paid", "bought_on", "paid_from")
            + by_partner(reads.expenses, "owner_paid", "spent_on", "paid_from")
        ),
        "profit": _split(float(months.loc[within(months["month"]), "profit"].sum()), who),
        "took_out": by_partner(owner, "took_out", "moved_on", "partner"),
        "own_goods": own_goods,
        "goods": _split(float(gone - own_goods.sum()), who),
    }


def _in_rows(
    key: str, places: Iterable[int], values: Iterable[Any], in_all: Any, year: int | str = ""
) -> dict[str, Any]:
    """A row of the sheet: a cell for each partner and one for all."""
    suffix = f"_{year}" if year else ""
    return {f"{key}_{year}{place}": value for place, value in zip(places, values, strict=True)} | {
        f"{key}_all{suffix}": in_all
    }


def _blank_sheet() -> dict[str, Any]:
    """Every result of the sheet, blank."""
    blank, none = [np.nan] * PARTNER_ROWS, [""] * PARTNER_ROWS
    cells: dict[str, Any] = {f"place_{i}": float(i) for i in _PARTNERS}
    for key in ("share", "balance", "level", "pays", "gets"):
        cells |= _in_rows(key, _PARTNERS, blank, np.nan)
    for key in ("name", "at_end"):
        cells |= _in_rows(key, _PARTNERS, none, "")
    cells |= dict.fromkeys(("answer", "first_fix"), "Not ready yet: see below") | {"owes_words": ""}
    cells |= {"settle": "", "payer": "", "payee": "", "how_to_settle": _AMONG_SEVERAL}
    cells |= {"number": 0.0, "years_so_far": 0.0, "tie_now": np.nan}
    for key in ("start", "level"):
        cells |= _split_cells(key, "", None, [])
    for year in _YEARS:
        for key in ("opening", *_FLOWS, "closing", "end"):
            cells |= _in_rows(key, _PARTNERS, blank, np.nan, year)
        cells |= _in_rows("who", _PARTNERS, none, "", year)
        for key in ("year", "end_year", "tie_year", "balances", "cash", "inventory", "relisted", "tie"):
            cells[f"{key}_{year}"] = np.nan
        cells |= {f"counted_from_{year}": pd.NaT, f"counted_until_{year}": pd.NaT}
        for key in ("profit", "goods"):
            cells |= _split_cells(key, year, None, [])
    return cells


def _split_cells(key: str, year: int | str, amount: float | None, shares: list[Any]) -> dict[str, Any]:
    """An amount on the way to the partners' parts of it; blank if there is none."""
    exact = rests = [np.nan] * PARTNER_ROWS
    left = np.nan
    if amount is not None:
        exact, left, rests = split_steps(amount, [share or 0.0 for share in shares])
    cells = {f"{key}_left_{year}" if year else f"{key}_left": left}
    cells |= {f"{key}_exact_{year}{i}": part for i, part in zip(_PARTNERS, exact, strict=True)}
    return cells | {f"{key}_rest_{year}{i}": rest for i, rest in zip(_PARTNERS, rests, strict=True)}


def _of_year(number: int, year: _Year, who: pd.DataFrame) -> dict[str, Any]:
    """What each had in a year, what came in and went out, what is left."""
    cells: dict[str, Any] = {f"{key}_{number}": float(year.year) for key in ("year", "end_year", "tie_year")}
    cells[f"counted_from_{number}"], cells[f"counted_until_{number}"] = year.days
    cells |= _in_rows("who", who["place"], who["shown"], "All", number)
    amounts = {"opening": year.opening, **year.flows, "closing": year.closing, "end": year.closing}
    for key, values in amounts.items():
        cells |= _in_rows(key, who["place"], values, round_money(float(values.sum())), number)
    return cells


def _tie(number: int, year: _Year, months: pd.DataFrame) -> dict[str, Any]:
    """Whether the balances at a year's end are the cash and inventory that are there."""
    so_far = months[months["month"].dt.year <= year.year]
    balances = round_money(float(year.closing.sum()))
    cash, inventory = (float(so_far[f"closing_{key}"].iloc[-1]) for key in ("cash", "inventory"))
    relisted = round_money(float(so_far["relisted"].sum()))
    return {
        f"balances_{number}": balances,
        f"cash_{number}": cash,
        f"inventory_{number}": inventory,
        f"relisted_{number}": relisted,
        f"tie_{number}": round_money(balances - cash - inventory + float(relisted)),
    }


def _pays_and_gets(who: pd.DataFrame, balances: Any) -> tuple[Any, Any, Any]:
    """What each would have by the agreed shares; what each pays, and gets, to have it."""
    level = _split(float(balances.sum()), who)
    return level, np.maximum(round_money(level - balances), 0), np.maximum(round_money(balances - level), 0)


def _now(who: pd.DataFrame, balances: Any) -> dict[str, Any]:
    """What each has by now, and what makes it level."""
    level, pays, gets = _pays_and_gets(who, balances)
    shares = who["share"].fillna(0).to_numpy(float)
    cells = {"number": float(len(who))} | _in_rows("share", who["place"], shares, float(shares.sum()))
    for key, values in {"balance": balances, "level": level, "pays": pays, "gets": gets}.items():
        cells |= _in_rows(key, who["place"], values, round_money(float(values.sum())))
    return cells


def _settling(who: pd.DataFrame, balances: Any, tie: float) -> dict[str, str]:
    """What makes the balances level, in words, if they tie; of two partners it is known who pays whom."""
    _, pays, gets = _pays_and_gets(who, balances)
    payer = payee = ""
    if len(who) == 2:
        payer, payee = (
            who["shown"].iloc[int(amounts.argmax())] if amounts.max() > 0 else "" for amounts in (pays, gets)
        )
    how = _AMONG_SEVERAL
    if pays.sum() == 0:
        how = "Nobody owes anything."
    elif len(who) == 2:
        amount = f"{pays.max():,.2f}"
        how = (
            f"{_BY_SHARES} {payer} pays {payee} {amount}. Then enter on Owner money: put in "
            f"{amount} by {payer}, took out {amount} by {payee}."
        )
    settle = how
    if len(who) == 1:
        settle = "One partner: there is nothing to settle."
    elif tie != 0:
        settle = TIES_FIRST
    first_fix = "The balances do not tie: see Reconciliation" if tie != 0 else ""
    amount = f"{float(pays.sum()):,.2f}"
    owes = f"{payer} owes {amount}" if len(who) == 2 else f"{amount} are to be settled between partners"
    answer = first_fix or ("One partner: nothing to settle" if len(who) == 1 else owes)
    if not first_fix and len(who) > 1 and pays.sum() == 0:
        answer = "Nobody owes anything"
    said = {"first_fix": first_fix, "owes_words": owes, "answer": answer}
    return said | {"payer": payer, "payee": payee, "how_to_settle": how, "settle": settle}
