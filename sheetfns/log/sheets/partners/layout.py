"""Sheet Partners: what each partner has in the business, year by year."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from sheetfns.cell_types import COUNT, DATE, MONEY, RATE, TEXT, CellType
from sheetfns.log.model.sheets import AnyFormula, FormCell, FormRow, FormSheet, Formula
from sheetfns.log.sheets.form_rows import heading, words, working
from sheetfns.log.sheets.partners.shares import (
    PARTNERS_IN_ORDER,
    SHARES_NOT_READY,
    SHARES_READY,
    Split,
    form_cell,
    row_of,
    typed_of,
)
from sheetfns.log.sheets.words import OWN_USE, PARTNER_ROWS, PARTNERS

YEARS: Final = 6
"""The months of sheet Money touch six calendar years at most."""
_ORDINALS: Final = ("First", "Second", "Third", "Fourth", "Fifth", "Sixth")


def _added(key: str, year: int | str, blank_if: str) -> Formula:
    first, last = (f"{{{key}_{year}{i}}}" for i in (1, PARTNER_ROWS))
    return Formula(f"ROUND(SUM({first}:{last}),2)", blank_if)


_START: Final = Split("start", "Start", "start_all")
_LEVEL: Final = Split("level", "Level", "balance_all", blank_if='{balance_all}=""')


def _profit(year: int) -> Split:
    return Split("profit", "Profit", f"profit_all_{year}", year, _no_year(year))


def _goods(year: int) -> Split:
    return Split("goods", "Goods", f"goods_all_{year}", year, _no_year(year))


def _no_year(year: int) -> str:
    return f'{{year_{year}}}=""'


def _nobody(year: int, partner: int) -> str:
    return f'OR({{year_{year}}}="",{{name_{partner}}}="")'


def _in_year(amount: str, day: str, year: int, also: str = "") -> str:
    since, until = f"{{counted_from_{year}}}", f"{{counted_until_{year}}}"
    return f'SUMIFS({amount},{day},">="&{since},{day},"<"&{until}{also})'


def _names(prefix: str, year: int | str, blank_if: str) -> tuple[FormCell, ...]:
    cells = [form_cell(f"{prefix}_{year}{i}", Formula(f"{{name_{i}}}", blank_if), TEXT) for i in PARTNERS_IN_ORDER]
    suffix = f"_{year}" if year else ""
    return (*cells, form_cell(f"{prefix}_all{suffix}", Formula('"All"', blank_if), TEXT))


def _year_cell(key: str, formula: AnyFormula) -> FormCell:
    return form_cell(key, formula, COUNT, cell_format="0")


def _year(year: int) -> tuple[FormRow, ...]:
    """One calendar year: what each had, what came in and went out, what is left."""
    if year == 1:
        own = Formula("YEAR(MIN(Money_month))", SHARES_NOT_READY)
    else:
        above = f"{{year_{year - 1}}}"
        own = Formula(f'IF({above}<YEAR(MAX(Money_month)),{above}+1,"")', _no_year(year - 1))
    blank = _no_year(year)

    def line(key: str, label: str, by_partner: Sequence[AnyFormula], in_all: AnyFormula | None = None) -> FormRow:
        cells = [form_cell(f"{key}_{year}{i}", f) for i, f in enumerate(by_partner, 1)]
        return row_of(label, cells, form_cell(f"{key}_all_{year}", in_all or _added(key, year, blank)))

    def summed(text: str) -> list[AnyFormula]:
        return [
            Formula(f"ROUND({text.replace('[name]', f'{{name_{i}}}')},2)", _nobody(year, i)) for i in PARTNERS_IN_ORDER
        ]

    def split(of: Split, around: str = "{}") -> list[AnyFormula]:
        return [of.part(i, _nobody(year, i), around.replace("[place]", f"{{place_{i}}}")) for i in PARTNERS_IN_ORDER]

    own_pocket = "+".join(
        _in_year(f"{sheet}_owner_paid", day, year, f",{sheet}_paid_from,[name]")
        for sheet, day in (("Log", "Log_stock_date"), ("Lots", "Lots_bought_on"), ("Expenses", "Expenses_spent_on"))
    )
    taken = f',Log_left_how,"{OWN_USE}",Log_taken_by,[name]'
    if year == 1:
        typed = "ROUND(SUM(INDEX(Partner_opening,[place])),2)"
        opening = split(_START, f"IF(COUNT(Partner_opening)>0,{typed},{{}})")
    else:
        opening = [Formula(f"{{closing_{year - 1}{i}}}", _nobody(year, i)) for i in PARTNERS_IN_ORDER]
    in_and_out = "ROUND({{opening_{0}}}+{{put_in_{0}}}+{{own_pocket_{0}}}+{{profit_{0}}}"
    in_and_out += "-{{took_out_{0}}}-{{own_goods_{0}}}-{{goods_{0}}},2)"
    return (
        heading(f"{_ORDINALS[year - 1]} year of this log"),
        FormRow(cells=(_year_cell(f"year_{year}", own), *_names("who", year, blank)), heads_row=True),
        line("opening", "Balance at the start", opening),
        line(
            "put_in",
            "Put in as money",
            summed(_in_year("Owner_put_in", "Owner_moved_on", year, ",Owner_partner,[name]")),
        ),
        line("own_pocket", "Paid from own pocket", summed(own_pocket)),
        line(
            "profit",
            "Share of profit or loss",
            split(_profit(year)),
            Formula(f"ROUND({_in_year('Money_profit', 'Money_month', year)},2)", blank),
        ),
        line(
            "took_out",
            "Less taken out as money",
            summed(_in_year("Owner_took_out", "Owner_moved_on", year, ",Owner_partner,[name]")),
        ),
        line("own_goods", "Less goods taken, by name", summed(_in_year("Log_landed_cost", "Log_left_on", year, taken))),
        line(
            "goods",
            "Less share of other goods",
            split(_goods(year)),
            Formula(f"ROUND({_in_year('Money_own_use', 'Money_month', year)}-{{own_goods_all_{year}}},2)", blank),
        ),
        line(
            "closing",
            "Balance at the end",
            [Formula(in_and_out.format(f"{year}{i}"), _nobody(year, i)) for i in PARTNERS_IN_ORDER],
        ),
    )


def _now() -> tuple[FormRow, ...]:
    """What each has by now, and what makes it level."""

    def line(key: str, label: str, text: str, kind: CellType = MONEY) -> FormRow:
        cells = [
            form_cell(
                f"{key}_{i}", Formula(text.replace("[i]", str(i)), f'OR({{years_so_far}}=0,{{name_{i}}}="")'), kind
            )
            for i in PARTNERS_IN_ORDER
        ]
        first, last = (f"{{{key}_{i}}}" for i in (1, PARTNER_ROWS))
        in_all = f"SUM({first}:{last})" if kind is RATE else f"ROUND(SUM({first}:{last}),2)"
        return row_of(label, cells, form_cell(f"{key}_all", Formula(in_all, "{years_so_far}=0"), kind))

    def name(partner: int) -> Formula:
        typed, share, had = (typed_of(key, partner) for key in ("name", "share", "opening"))
        return Formula(f'IF({typed}="","(no name)",{typed})', f'OR({SHARES_NOT_READY},{typed}&{share}&{had}="")')

    names = [form_cell(f"name_{i}", name(i), TEXT) for i in PARTNERS_IN_ORDER]
    level = [
        form_cell(f"level_{i}", _LEVEL.part(i, f'OR({{years_so_far}}=0,{{name_{i}}}="")')) for i in PARTNERS_IN_ORDER
    ]
    return (
        heading("Now"),
        row_of("Partner", names, form_cell("name_all", Formula('"All"', SHARES_NOT_READY), TEXT)),
        line("share", "Agreed share", "SUM(INDEX(Partner_share,{place_[i]}))", RATE),
        line("balance", "Has in the business", f"INDEX({{end_1[i]}}:{{end_{YEARS}[i]}},{{years_so_far}})"),
        row_of(
            "Would have by the agreed shares",
            level,
            form_cell("level_all", Formula("{balance_all}+0", "{years_so_far}=0")),
        ),
        line("pays", "Pays to be level", "MAX(0,ROUND({level_[i]}-{balance_[i]},2))"),
        line("gets", "Gets to be level", "MAX(0,ROUND({balance_[i]}-{level_[i]},2))"),
        words(
            "settle",
            Formula(
                'IF({number}=1,"One partner: there is nothing to settle.",'
                'IF(ABS({tie_now})>0.004,"Mend first: the balances do not tie with cash and stock '
                '(see Do they tie?).",{how_to_settle}))',
                "{years_so_far}=0",
            ),
            lines=2,
        ),
    )


def _year_ends() -> tuple[FormRow, ...]:
    years = range(1, YEARS + 1)
    ends = (
        FormRow(
            cells=(
                _year_cell(f"end_year_{y}", Formula(f"{{year_{y}}}")),
                *(form_cell(f"end_{y}{i}", Formula(f"{{closing_{y}{i}}}")) for i in PARTNERS_IN_ORDER),
                form_cell(f"end_all_{y}", Formula(f"{{closing_all_{y}}}")),
            ),
            heads_row=True,
        )
        for y in years
    )
    ties = (
        FormRow(
            cells=(
                _year_cell(f"tie_year_{y}", Formula(f"{{year_{y}}}")),
                form_cell(f"balances_{y}", Formula(f"{{closing_all_{y}}}")),
                *(
                    form_cell(
                        f"{key}_{y}",
                        Formula(
                            f'INDEX(Money_closing_{key},COUNTIF(Money_month,"<"&{{counted_until_{y}}}))', _no_year(y)
                        ),
                    )
                    for key in ("cash", "stock")
                ),
                form_cell(
                    f"relisted_{y}",
                    Formula(f'ROUND(SUMIFS(Money_relisted,Money_month,"<"&{{counted_until_{y}}}),2)', _no_year(y)),
                ),
                form_cell(
                    f"tie_{y}",
                    Formula(f"ROUND({{balances_{y}}}-{{cash_{y}}}-{{stock_{y}}}+{{relisted_{y}}},2)", _no_year(y)),
                ),
            ),
            heads_row=True,
        )
        for y in years
    )
    return (
        heading("Balances at the end of each year, or up to now"),
        FormRow("Year", _names("at_end", "", SHARES_NOT_READY)),
        *ends,
        heading("Do they tie?", "Balances", "Cash", "Stock", "Relisted", "Difference"),
        *ties,
        FormRow(
            note="Difference = balances - cash - stock + relisted, from sheet Money: 0.00 if all "
            "ties. If it is not, look for rows of Owner money that name no partner; if the first "
            "year differs already, look at Had at start on Settings too. Relisted is the cost of "
            "pieces whose old row left in one year and whose new row began in another; it is no "
            "partner's money.",
            lines=3,
        ),
    )


def _workings() -> tuple[FormRow, ...]:
    places = [
        form_cell(f"place_{i}", Formula("1" if i == 1 else f"{{place_{i - 1}}}+1"), COUNT, step=True)
        for i in PARTNERS_IN_ORDER
    ]

    def one_of(key: str) -> str:
        """The name of the only partner who pays, or gets."""
        return "&".join(f'IF(SUM({{{key}_{i}}})>0,{{name_{i}}},"")' for i in PARTNERS_IN_ORDER)

    paid = "FIXED({pays_all},2)"
    how = (
        'IF({pays_all}=0,"All are level.","To hold what is there by your shares, "&'
        f'IF({{number}}=2,{{payer}}&" pays "&{{payee}}&" "&{paid}&". Then write on Owner money: '
        f'put in "&{paid}&" by "&{{payer}}&", took out "&{paid}&" by "&{{payee}}&".",'
        '"those in row Pays pay, those in row Gets get, by way of the business or from hand to '
        "hand. Then write it on Owner money: put in by those who paid, took out by those who got "
        'it."))'
    )
    rows = [
        heading("Workings (do not type)"),
        FormRow("Row among the partners", tuple(places)),
        working("shares_ready", "Shares add up", COUNT, Formula(f"({SHARES_READY})*(COUNT(Money_month)>0)"), "1 = yes"),
        working(
            "years_so_far",
            "Years so far",
            COUNT,
            Formula(f"COUNT({','.join(f'{{year_{y}}}' for y in range(1, YEARS + 1))})"),
            "years",
        ),
        working(
            "number",
            "Number of partners",
            COUNT,
            Formula("+".join(f'({{name_{i}}}<>"")*1' for i in PARTNERS_IN_ORDER)),
            "partners",
        ),
        working("payer", "Who pays", TEXT, Formula(one_of("pays"), "{number}<>2")),
        working("payee", "Who gets", TEXT, Formula(one_of("gets"), "{number}<>2")),
        working(
            "tie_now",
            "Difference by now",
            MONEY,
            Formula(f"INDEX({{tie_1}}:{{tie_{YEARS}}},{{years_so_far}})", "{years_so_far}=0"),
        ),
        working("how_to_settle", "Words for it", TEXT, Formula(how)),
        working("start_all", "Cash and stock at start", MONEY, Formula("ROUND(Opening_cash+Opening_stock,2)")),
        *_START.steps(),
        *_LEVEL.steps(),
    ]
    for year in range(1, YEARS + 1):
        rows += [
            FormRow(
                f"Days counted, year {year}",
                (
                    form_cell(
                        f"counted_from_{year}",
                        Formula(f"MAX(DATE({{year_{year}}},1,1),MIN(Money_month))", _no_year(year)),
                        DATE,
                        step=True,
                    ),
                    form_cell(
                        f"counted_until_{year}",
                        Formula(f"MIN(DATE({{year_{year}}}+1,1,1),EOMONTH(MAX(Money_month),0)+1)", _no_year(year)),
                        DATE,
                        step=True,
                    ),
                ),
                "first day, and the day after the last",
            ),
            *_profit(year).steps(),
            *_goods(year).steps(),
        ]
    return tuple(rows)


def partners_form() -> FormSheet:
    """Sheet Partners: a column for each partner, one for all."""
    rows = (
        words(
            "asks",
            Formula(
                'IF({shares_ready}=1,"Amounts in "&IF(Currency="","money",Currency)&". A balance '
                'below 0.00 means that a partner has taken out, or lost, more than was there.",'
                'IF(COUNT(Money_month)=0,"No month has begun: see First month and Figures as of '
                'on Settings.","The partners\' shares on Settings must be numbers from 0 % to '
                '100 % that add up to 100 %. Put them right, and this sheet fills itself."))'
            ),
            lines=2,
        ),
        # From memory: US partnerships file Form 1065, an information return.
        FormRow(
            note="Two or more who share a profit are usually a partnership, and it files a return "
            "of its own: in the US an information return (from memory, not checked), elsewhere by "
            "other rules. These are balances between the partners; they are not a tax basis. Have "
            "a licensed preparer check.",
            lines=3,
        ),
        *_now(),
        *_year_ends(),
        FormRow(
            note="The years one by one. Profit is sheet Money's, before the miles deduction; "
            "it is shared by the agreed shares to the cent, and so is a loss. Goods taken for own "
            "use count at cost for the partner in column Taken by of the Sourcing log. Own use "
            "with nobody named, and donated goods, are other goods: all bear them by their shares.",
            lines=3,
        ),
        *(row for year in range(1, YEARS + 1) for row in _year(year)),
        *_workings(),
    )
    return FormSheet(
        PARTNERS,
        "Partners",
        "What each partner has in the business, and what would make it level.",
        rows,
        (30, 13, 13, 13, 13, 13),
        4,
    )
