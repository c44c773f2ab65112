"""Sheet Partners: what each partner has in the business, year by year."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from sheetfns.cell_types import COUNT, DATE, MONEY, RATE, TEXT, CellType
from sheetfns.log.model.sheets import AnyFormula, FormCell, FormRow, FormSheet, Formula
from sheetfns.log.sheets.form_rows import answer, field, heading, words, working
from sheetfns.log.sheets.partners.shares import (
    PARTNERS_IN_ORDER,
    SHARES_NOT_READY,
    SHARES_READY,
    Split,
    form_cell,
    row_of,
    typed_of,
)
from sheetfns.log.sheets.words import PARTNER_ROWS, PARTNERS, PERSONAL_USE

YEARS: Final = 6
"""The months of sheet Money touch six calendar years at most."""
_YEARS: Final = range(1, YEARS + 1)
_ORDINALS: Final = ("First", "Second", "Third", "Fourth", "Fifth", "Sixth")
_NONE_YET: Final = "{years_so_far}=0"
_START: Final = Split("start", "Start", "start_all")
_LEVEL: Final = Split("level", "Level", "balance_all", blank_if='{balance_all}=""')
_POCKETS: Final = (("Log", "inventory_date"), ("Lots", "bought_on"), ("Expenses", "spent_on"))
"""Where a partner may pay from their own pocket, and the day of it."""

OfPartner = Callable[[int], AnyFormula]
"""A formula for each partner."""


def _no_year(year: int) -> str:
    return f'{{year_{year}}}=""'


def _nobody(year: int, partner: int) -> str:
    return f'OR({{year_{year}}}="",{{name_{partner}}}="")'


def _nobody_now(partner: int) -> str:
    return f'OR({_NONE_YET},{{name_{partner}}}="")'


def _profit(year: int) -> Split:
    return Split("profit", "Profit", f"profit_all_{year}", year, _no_year(year))


def _goods(year: int) -> Split:
    return Split("goods", "Goods", f"goods_all_{year}", year, _no_year(year))


def _of_partners(key: str) -> str:
    """The cells of a row, from the first partner's to the last one's."""
    return f"{{{key}1}}:{{{key}{PARTNER_ROWS}}}"


def _in_year(amount: str, day: str, year: int, also: str = "") -> str:
    """A sum over the days of a year that are counted."""
    since, until = f"{{counted_from_{year}}}", f"{{counted_until_{year}}}"
    return f'SUMIFS({amount},{day},">="&{since},{day},"<"&{until}{also})'


def _year_cell(key: str, formula: str, blank_if: str = "") -> FormCell:
    return form_cell(key, formula, COUNT, blank_if=blank_if, cell_format="0")


def _names(key: str, blank_if: str, year: int | str = "") -> tuple[FormCell, ...]:
    """The name of each partner, over the columns."""
    cells = (form_cell(f"{key}_{year}{i}", f"{{name_{i}}}", TEXT, blank_if=blank_if) for i in PARTNERS_IN_ORDER)
    suffix = f"_{year}" if year else ""
    return (*cells, form_cell(f"{key}_all{suffix}", '"All"', TEXT, blank_if=blank_if))


# ---- now --------------------------------------------------------------------------------------


def _partner_name(partner: int) -> Formula:
    typed, share, had = (typed_of(key, partner) for key in ("name", "share", "opening"))
    return Formula(f'IF({typed}="","(no name)",{typed})', f'OR({SHARES_NOT_READY},{typed}&{share}&{had}="")')


def _line(key: str, label: str, text: str, kind: CellType = MONEY) -> FormRow:
    """A row of what each has by now; [i] is the number of the partner."""
    cells = [
        form_cell(f"{key}_{i}", text.replace("[i]", str(i)), kind, blank_if=_nobody_now(i)) for i in PARTNERS_IN_ORDER
    ]
    total = f"SUM({_of_partners(f'{key}_')})"
    in_all = total if kind is RATE else f"ROUND({total},2)"
    return row_of(label, cells, form_cell(f"{key}_all", in_all, kind, blank_if=_NONE_YET))


# fmt: off
def _now() -> tuple[FormRow, ...]:
    """What each has by now, and what makes it level."""
    names = [form_cell(f"name_{i}", _partner_name(i), TEXT) for i in PARTNERS_IN_ORDER]
    level = [form_cell(f"level_{i}", _LEVEL.part(i, _nobody_now(i))) for i in PARTNERS_IN_ORDER]
    return (
        heading("Now"),
        row_of("Partner", names, form_cell("name_all", '"All"', TEXT, blank_if=SHARES_NOT_READY)),
        _line("share", "Agreed share", "SUM(INDEX(Partner_share,{place_[i]}))", RATE),
        _line("balance", "Has in the business", f"INDEX({{end_1[i]}}:{{end_{YEARS}[i]}},{{years_so_far}})"),
        row_of("Would have by the agreed shares", level,
               form_cell("level_all", "{balance_all}+0", blank_if=_NONE_YET)),
        _line("pays", "Owes", "MAX(0,ROUND({level_[i]}-{balance_[i]},2))"),
        _line("gets", "Is owed", "MAX(0,ROUND({balance_[i]}-{level_[i]},2))"),
        words("settle", 'IF({number}=1,"One partner: there is nothing to settle.",'
              'IF(ABS({tie_now})>0.004,"Fix first: the balances do not tie to cash and inventory '
              '(see Reconciliation).",{how_to_settle}))', lines=2, blank_if=_NONE_YET),
    )
# fmt: on


# ---- the ends of the years -----------------------------------------------------------------------


def _end(year: int) -> FormRow:
    """The balances at the end of a year."""
    by_partner = (form_cell(f"end_{year}{i}", f"{{closing_{year}{i}}}") for i in PARTNERS_IN_ORDER)
    in_all = form_cell(f"end_all_{year}", f"{{closing_all_{year}}}")
    return FormRow(cells=(_year_cell(f"end_year_{year}", f"{{year_{year}}}"), *by_partner, in_all), heads_row=True)


def _tie(year: int) -> FormRow:
    """Whether the balances at the end of a year are the cash and inventory of sheet Money."""
    none = _no_year(year)
    months = f'Money_month,"<"&{{counted_until_{year}}}'
    cells = (
        _year_cell(f"tie_year_{year}", f"{{year_{year}}}"),
        form_cell(f"balances_{year}", f"{{closing_all_{year}}}"),
        form_cell(f"cash_{year}", f"INDEX(Money_closing_cash,COUNTIF({months}))", blank_if=none),
        form_cell(f"inventory_{year}", f"INDEX(Money_closing_inventory,COUNTIF({months}))", blank_if=none),
        form_cell(f"relisted_{year}", f"ROUND(SUMIFS(Money_relisted,{months}),2)", blank_if=none),
        form_cell(
            f"tie_{year}",
            "ROUND({balances_[y]}-{cash_[y]}-{inventory_[y]}+{relisted_[y]},2)".replace("[y]", str(year)),
            blank_if=none,
        ),
    )
    return FormRow(cells=cells, heads_row=True)


def _year_ends() -> tuple[FormRow, ...]:
    return (
        heading("Balances at the end of each year, or up to now"),
        FormRow("Year", _names("at_end", SHARES_NOT_READY)),
        *(_end(year) for year in _YEARS),
        heading("Reconciliation", "Balances", "Cash", "Inventory", "Relisted", "Difference"),
        *(_tie(year) for year in _YEARS),
        field(
            "Difference = balances - cash - inventory + relisted, from sheet Money: 0.00 if all ties. If not, check "
            "Owner money for rows without a partner; if the first year differs already, also check Opening balance on "
            "Settings. Relisted is the cost of items whose old row ended in one year and whose new row began in "
            "another; it belongs to no partner.",
            lines=3,
        ),
    )


# ---- one year -----------------------------------------------------------------------------------


def _year_line(year: int, key: str, label: str, of_partner: OfPartner, in_all: str = "") -> FormRow:
    """An amount of a year for each partner; without `in_all`, all is their sum."""
    cells = [form_cell(f"{key}_{year}{i}", of_partner(i)) for i in PARTNERS_IN_ORDER]
    total = in_all or f"ROUND(SUM({_of_partners(f'{key}_{year}')}),2)"
    return row_of(label, cells, form_cell(f"{key}_all_{year}", total, blank_if=_no_year(year)))


def _summed(year: int, text: str) -> OfPartner:
    """A sum over what bears a partner's [name]."""
    return lambda i: Formula(f"ROUND({text.replace('[name]', f'{{name_{i}}}')},2)", _nobody(year, i))


def _shared(year: int, of: Split) -> OfPartner:
    """A partner's part of an amount."""
    return lambda i: of.part(i, _nobody(year, i))


def _opening(year: int) -> OfPartner:
    """What a partner had at the start: as typed or by the shares, later what the year before left."""
    if year > 1:
        return lambda i: Formula(f"{{closing_{year - 1}{i}}}", _nobody(year, i))
    typed = "IF(COUNT(Partner_opening)>0,ROUND(SUM(INDEX(Partner_opening,{place_[i]})),2),{})"
    return lambda i: _START.part(i, _nobody(year, i), typed.replace("[i]", str(i)))


def _closing(year: int) -> OfPartner:
    """What a partner has at the end."""
    text = (
        "ROUND({opening_[i]}+{put_in_[i]}+{own_pocket_[i]}+{profit_[i]}-{took_out_[i]}-{own_goods_[i]}-{goods_[i]},2)"
    )
    return lambda i: Formula(text.replace("[i]", f"{year}{i}"), _nobody(year, i))


# fmt: off
def _year(year: int) -> tuple[FormRow, ...]:
    """One calendar year: what each had, what came in and went out, what is left."""
    number, blank_if = "YEAR(MIN(Money_month))", SHARES_NOT_READY
    if year > 1:
        before = f"{{year_{year - 1}}}"
        number, blank_if = f'IF({before}<YEAR(MAX(Money_month)),{before}+1,"")', _no_year(year - 1)
    own_pocket = "+".join(
        _in_year(f"{sheet}_owner_paid", f"{sheet}_{day}", year, f",{sheet}_paid_from,[name]")
        for sheet, day in _POCKETS
    )
    taken = f',Log_disposition,"{PERSONAL_USE}",Log_taken_by,[name]'
    put_in, took_out = (
        _in_year(f"Owner_{key}", "Owner_moved_on", year, ",Owner_partner,[name]") for key in ("put_in", "took_out")
    )
    own_goods = _in_year("Log_landed_cost", "Log_disposition_date", year, taken)
    profit, personal_use = (_in_year(f"Money_{key}", "Money_month", year) for key in ("profit", "personal_use"))
    return (
        heading(f"{_ORDINALS[year - 1]} year of this log"),
        FormRow(cells=(_year_cell(f"year_{year}", number, blank_if), *_names("who", _no_year(year), year)),
                heads_row=True),
        _year_line(year, "opening", "Balance at the start", _opening(year)),
        _year_line(year, "put_in", "Put in as money", _summed(year, put_in)),
        _year_line(year, "own_pocket", "Paid from own pocket", _summed(year, own_pocket)),
        _year_line(year, "profit", "Share of profit or loss", _shared(year, _profit(year)), f"ROUND({profit},2)"),
        _year_line(year, "took_out", "Less taken out as money", _summed(year, took_out)),
        _year_line(year, "own_goods", "Less goods taken, by name", _summed(year, own_goods)),
        _year_line(year, "goods", "Less share of other goods", _shared(year, _goods(year)),
                   f"ROUND({personal_use}-{{own_goods_all_{year}}},2)"),
        _year_line(year, "closing", "Balance at the end", _closing(year)),
    )
# fmt: on


# ---- workings -----------------------------------------------------------------------------------


def _year_steps(year: int) -> tuple[FormRow, ...]:
    number, none = f"{{year_{year}}}", _no_year(year)
    since = f"MAX(DATE({number},1,1),MIN(Money_month))"
    until = f"MIN(DATE({number}+1,1,1),EOMONTH(MAX(Money_month),0)+1)"
    days = tuple(
        form_cell(f"counted_{key}_{year}", formula, DATE, blank_if=none, step=True)
        for key, formula in (("from", since), ("until", until))
    )
    counted = FormRow(f"Days counted, year {year}", days, "first day, and the day after the last")
    return (counted, *_profit(year).steps(), *_goods(year).steps())


def _one_who(key: str) -> str:
    """The name of the only partner who pays, or gets."""
    return "&".join(f'IF(SUM({{{key}_{i}}})>0,{{name_{i}}},"")' for i in PARTNERS_IN_ORDER)


_PAID: Final = "FIXED({pays_all},2)"
_HOW_TO_SETTLE: Final = (
    'IF({pays_all}=0,"Nobody owes anything.","To settle up by your shares, "&'
    f'IF({{number}}=2,{{payer}}&" pays "&{{payee}}&" "&{_PAID}&". Then enter on Owner money: put in "&{_PAID}&" by '
    f'"&{{payer}}&", took out "&{_PAID}&" by "&{{payee}}&".",'
    '"those in row Owes pay and those in row Is owed get it, through the business or directly. '
    "Then enter it on Owner money: put in by those who paid, took out by those who got "
    'it."))'
)


# A table: key, label, type, formula, unit.
# fmt: off
def _workings() -> tuple[FormRow, ...]:
    places = tuple(form_cell(f"place_{i}", "1" if i == 1 else f"{{place_{i - 1}}}+1", COUNT, step=True)
                   for i in PARTNERS_IN_ORDER)
    return (
        heading("Calculations (don't edit)"),
        FormRow("Row among the partners", places),
        working("shares_ready", "Shares add up", COUNT, f"({SHARES_READY})*(COUNT(Money_month)>0)", "1 = yes"),
        working("years_so_far", "Years so far", COUNT,
                f"COUNT({','.join(f'{{year_{year}}}' for year in _YEARS)})", "years"),
        working("number", "Number of partners", COUNT,
                "+".join(f'({{name_{i}}}<>"")*1' for i in PARTNERS_IN_ORDER), "partners"),
        working("payer", "Who pays", TEXT, _one_who("pays"), blank_if="{number}<>2"),
        working("payee", "Who gets", TEXT, _one_who("gets"), blank_if="{number}<>2"),
        working("tie_now", "Difference to date", MONEY,
                f"INDEX({{tie_1}}:{{tie_{YEARS}}},{{years_so_far}})", blank_if=_NONE_YET),
        replace(working("first_fix", "Words on what to fix first", TEXT,
                        'IF({shares_ready}<>1,"Not ready yet: see below",IF(ROUND(SUM({tie_now}),2)<>0,'
                        '"The balances do not tie: see Reconciliation",""))'), since=10),
        replace(working("owes_words", "Words on who owes", TEXT,
                        f'IF({{number}}=2,{{payer}}&" owes "&{_PAID},{_PAID}&" are to be settled between partners")',
                        blank_if=_NONE_YET), since=10),
        working("how_to_settle", "Words on settling", TEXT, _HOW_TO_SETTLE),
        working("start_all", "Cash and inventory at start", MONEY, "ROUND(Opening_cash+Opening_inventory,2)"),
        *_START.steps(),
        *_LEVEL.steps(),
        *(row for year in _YEARS for row in _year_steps(year)),
    )


def form() -> FormSheet:
    """Sheet Partners: a column for each partner, one for all."""
    rows = (
        answer('IF({first_fix}<>"",{first_fix},IF({number}=1,"One partner: nothing to settle",'
               'IF({pays_all}=0,"Nobody owes anything",{owes_words})))', since=10),
        words("asks", 'IF({shares_ready}=1,"Amounts in "&IF(Currency="","money",Currency)&". A balance '
              'below 0.00 means that a partner has taken out or lost more than they had in it.",'
              'IF(COUNT(Money_month)=0,"No month has begun: see First month and As of '
              'on Settings.","The partners\' shares on Settings must be numbers from 0% to '
              '100% that add up to 100%. Correct them and this sheet fills in."))', lines=2),
        # From memory: US partnerships file Form 1065, an information return.
        field("Two or more who share a profit are usually a partnership, which files its own return: in the US an "
              "information return (from memory, not checked), elsewhere by "
              "other rules. These are balances between the partners, not a tax basis. Have a licensed preparer "
              "check.", lines=3),
        *_now(),
        *_year_ends(),
        field("The years one by one. Profit is sheet Money's, before the miles deduction; "
              "it is split by the agreed shares to the cent, and so is a loss. Goods taken for personal use count at "
              "cost for the partner in column Taken by of the Sourcing log. Personal use with no partner named, and "
              "donated goods, are other goods: all partners bear them by their shares.", lines=3),
        *(row for year in _YEARS for row in _year(year)),
        *_workings(),
    )
    purpose = "What each partner has in the business, and how to settle up."
    return FormSheet(PARTNERS, "Partners", purpose, rows, (30, 13, 13, 13, 13, 13), 4)
# fmt: on
