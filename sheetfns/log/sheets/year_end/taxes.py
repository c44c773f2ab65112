"""Sheet Year end: home office, car, and what each partner has to hold back for taxes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from sheetfns.cell_types import COUNT, DATE, MONEY, QUANTITY, RATE, TEXT, CellType
from sheetfns.log.model.sheets import AnyFormula, EditionFormula, FormCell, FormRow, Formula, FunctionCall
from sheetfns.log.sheets.form_rows import heading, result, words, working
from sheetfns.log.sheets.partners.shares import PARTNERS_IN_ORDER, Split, form_cell, row_of
from sheetfns.log.sheets.words import PARTNER_ROWS, PAYMENTS, RATES_IN_YEAR, ROW_ONE, TRIPS_LISTED

SELF_EMPLOYMENT: Final = {
    "wage_base": "Wage base",
    "net_share": "Net earnings share",
    "least_net": "Minimum net earnings",
    "security_rate": "Social security rate",
    "medicare_rate": "Medicare rate",
    "half_share": "Deductible share",
}
HOME_OFFICE: Final = {"office_rate": "Home office rate", "office_limit": "Home office limit"}
FOR_INFORMATION: Final = {
    "gross_over": "Reported gross over",
    "sales_over": "Reported sales over",
    "receipts_test": "Receipts test",
}
"""Cells and names of the dated figures; those for information may be missing."""
_NO_TAXES: Final = '{taxes_ready}=""'
SPLIT: Final = Split("profit", "Profit", "net_profit")


def _nobody(partner: int) -> str:
    return f'OR({{shares_ready}}=0,{{name_{partner}}}="")'


def _no_tax(partner: int) -> str:
    return f'OR({_NO_TAXES},{{profit_{partner}}}="")'


def car_rows() -> tuple[FormRow, ...]:
    """Miles by the rate of their date, and the trips that lack something."""
    rates = []
    for place in range(1, RATES_IN_YEAR + 1):
        row, none = f"{{mileage_row_{place}}}", f'{{mileage_row_{place}}}=""'
        since, until = f"{{rate_from_{place}}}", f"{{rate_until_{place}}}"
        days = f'Trips_driven_on,">="&{since},Trips_driven_on,"<"&{until}+1'
        # fmt: off
        rates.append(
            FormRow(
                cells=(
                    FormCell(f"rate_from_{place}", DATE,
                             formula=Formula(f"MAX(Year_start,INDEX(Mileage_from,{row}))", none)),
                    FormCell(f"rate_until_{place}", DATE,
                             formula=Formula(f"MIN(Year_end,INDEX(Mileage_until,{row}))", none)),
                    FormCell(f"rate_{place}", MONEY, formula=Formula(f"INDEX(Mileage_rate,{row})", none),
                             cell_format="0.000"),
                    FormCell(f"miles_{place}", QUANTITY,
                             formula=Formula(f'ROUND(SUMIFS(Trips_miles,{days},Trips_deduction,">=0"),6)', none),
                             cell_format="#,##0.0"),
                    FormCell(f"deduction_{place}", MONEY,
                             formula=Formula(f"ROUND(SUMIFS(Trips_deduction,{days}),2)", none)),
                ),
                heads_row=True,
            )
        )
    # fmt: on
    lacking = []
    for n in range(1, TRIPS_LISTED + 1):
        row, none = f"{{lacking_row_{n}}}", f'{{lacking_row_{n}}}=""'
        day = f"INDEX(Trips_driven_on,{row})"
        cells: tuple[tuple[str, CellType, str, Any], ...] = (
            ("lacking", TEXT, f'"Trips, row "&{row}+{ROW_ONE}', "label"),
            ("lacking_day", DATE, f'IF({day}="","",{day})', "note"),
            ("lacking_what", TEXT, f"INDEX(Trips_row_check,{row})", "note"),
        )
        shown = (
            FormCell(f"{key}_{n}", kind, formula=Formula(text, none), look=look) for key, kind, text, look in cells
        )
        lacking.append(FormRow(cells=tuple(shown), heads_row=True))
    last = RATES_IN_YEAR
    # fmt: off
    return (
        heading("Car: miles by date", "until", "Rate per mile", "Miles", "Deduction"),
        *rates,
        FormRow(
            "Miles of the year",
            (
                FormCell("miles_all", QUANTITY, formula=Formula(f"ROUND(SUM({{miles_1}}:{{miles_{last}}}),6)"),
                         cell_format="#,##0.0"),
            ),
            "miles",
        ),
        result("deduction_all", "Deduction at the rates of their dates", MONEY,
               Formula(f"ROUND(SUM({{deduction_1}}:{{deduction_{last}}}),2)")),
        result("lacking_all", "Trips to fix", COUNT, Formula("MAX(Trips_lacking_no,0)"),
               f"trips; the first {TRIPS_LISTED} are listed here:"),
        *lacking,
        FormRow(
            note="A mileage record has day, purpose, place and miles of each trip, written down at the time: sheet "
                 "Trips is that record. Listed here: the first rows in which one of these is missing, or that have no "
                 "rate.",
            lines=1,
        ),
    )
    # fmt: on


def office_rows() -> tuple[FormRow, ...]:
    """The simple method of the home office."""
    year = "ByYear_year,Tax_year"
    # fmt: off
    simple = EditionFormula(
        Formula("ROUND(MIN({office_area},{office_limit})*{office_rate}*{office_months}/12,2)", '{office_ready}=""'),
        FunctionCall("HOME_OFFICE_SIMPLE",
                     {
                         "square_feet": "{office_area}",
                         "months": "{office_months}",
                         "year": "Tax_year",
                         "figures": "TaxFigure_table",
                     },
                     '{office_ready}=""'),
    )
    return (
        heading("Business use of home, simplified method"),
        result("office_area", "Space used only for the business", QUANTITY, Formula(f"SUMIFS(ByYear_area,{year})"),
               "square feet"),
        result("office_months", "Months of use", QUANTITY,
               Formula(f'IF(COUNTIFS({year},ByYear_months,">=0")=0,12,SUMIFS(ByYear_months,{year}))'), "months"),
        result("office_simple", "By the rate for a square foot", MONEY, simple),
        result("office_counted", "Counted: not more than the tentative profit", MONEY,
               Formula("MIN(SUM({office_simple}),MAX(0,{tentative_profit}))*{office_count}")),
    )
    # fmt: on


def _amounts(key: str, label: str, by_partner: Sequence[AnyFormula], kind: CellType = MONEY) -> FormRow:
    cells = [form_cell(f"{key}_{i}", f, kind) for i, f in enumerate(by_partner, 1)]
    first, last = (f"{{{key}_{i}}}" for i in (1, PARTNER_ROWS))
    in_all = Formula(f"ROUND(SUM({first}:{last}),2)", f"COUNT({first}:{last})=0")
    if kind is RATE:
        in_all = Formula('""')
    return row_of(label, cells, form_cell(f"{key}_all", in_all, kind))


def _per_partner(text: str, blank_if: str = "") -> list[AnyFormula]:
    return [
        Formula(text.replace("[i]", str(i)), blank_if.replace("[i]", str(i)) or _no_tax(i)) for i in PARTNERS_IN_ORDER
    ]


def _typed_taxes(column: str) -> list[AnyFormula]:
    return _per_partner(f"SUMIFS(Taxes_{column},Taxes_year,Tax_year,Taxes_partner,{{name_[i]}})")


def _set_aside(partner: int, row: int, plain: str) -> AnyFormula:
    # fmt: off
    call = FunctionCall("TAX_SET_ASIDE",
                        {
                            "net_profit": f"{{profit_{partner}}}",
                            "year": "Tax_year",
                            "income_tax_rate": f"{{tax_rate_{partner}}}",
                            "wages": f"{{wages_{partner}}}",
                            "already_paid": f"{{tax_paid_{partner}}}",
                            "figures": "TaxFigure_table",
                            "due_dates": "Due_table",
                        },
                        f'OR({_no_tax(partner)},{{due_row}}="")', f"INDEX({{}},{row},1)")
    # fmt: on
    return EditionFormula(Formula(plain, call.blank_if), call)


def _payment(partner: int, number: int) -> AnyFormula:
    """What is still open of one of the four payments, in cents by whole cents."""
    cents = f"ROUND(100*{{tax_all_of_{partner}}},0)"
    paid = f"ROUND(100*{{tax_paid_{partner}}},0)"

    def open_up_to(last: int) -> str:
        due = f"{last}*INT({cents}/{PAYMENTS})+MIN({last},MOD({cents},{PAYMENTS}))"
        return f"MAX(0,{due}-{paid})"

    before = f"-{open_up_to(number - 1)}" if number > 1 else ""
    return _set_aside(partner, number + 1, f"({open_up_to(number)}{before})/100")


def partner_rows() -> tuple[FormRow, ...]:
    """Each partner's share of the net profit, and taxes on it."""
    names = [
        form_cell(f"name_{i}", Formula(f'IF(INDEX(Partner_name,{i})="","",INDEX(Partner_name,{i}))'), TEXT)
        for i in PARTNERS_IN_ORDER
    ]
    # fmt: off
    tax = [
        EditionFormula(
            Formula(
                f"ROUND(MIN({{earned_{i}}},MAX(0,{{wage_base}}-{{wages_{i}}}))*{{security_rate}},2)"
                f"+ROUND({{earned_{i}}}*{{medicare_rate}},2)",
                _no_tax(i),
            ),
            FunctionCall("SELF_EMPLOYMENT_TAX",
                         {
                             "net_profit": f"{{profit_{i}}}",
                             "year": "Tax_year",
                             "wages": f"{{wages_{i}}}",
                             "figures": "TaxFigure_table",
                         },
                         _no_tax(i)),
        )
        for i in PARTNERS_IN_ORDER
    ]
    # fmt: on
    payments = []
    for n in range(1, PAYMENTS + 1):
        cells = [form_cell(f"payment_{n}_{i}", _payment(i, n)) for i in PARTNERS_IN_ORDER]
        first, last = (f"{{payment_{n}_{i}}}" for i in (1, PARTNER_ROWS))
        in_all = Formula(f"ROUND(SUM({first}:{last}),2)", f"COUNT({first}:{last})=0")
        payments.append(
            FormRow(
                cells=(
                    form_cell(f"due_{n}", Formula(f"INDEX(Due_day_{n},{{due_row}})", '{due_row}=""'), DATE),
                    *cells,
                    form_cell(f"payment_{n}_all", in_all),
                ),
                heads_row=True,
            )
        )
    # fmt: off
    return (
        heading("Partners: shares and taxes"),
        row_of("Partner", names, form_cell("name_all", Formula('"All"'), TEXT)),
        _amounts("profit", "Share of the net profit", [SPLIT.part(i, _nobody(i)) for i in PARTNERS_IN_ORDER]),
        _amounts("wages", "Wages from a job (Settings)", _typed_taxes("wages")),
        _amounts("self_tax", "Self-employment tax, an estimate", tax),
        _amounts("half_tax", "Deductible half of it", _per_partner("ROUND({half_share}*{self_tax_[i]},2)")),
        _amounts("tax_rate", "Income tax rate (Settings)", _typed_taxes("rate"), RATE),
        _amounts("income_tax", "Income tax at that rate, an estimate",
                 _per_partner("ROUND({tax_rate_[i]}*MAX(0,{profit_[i]}-{half_share}*{self_tax_[i]}),2)")),
        _amounts("tax_all_of", "Both", _per_partner("ROUND({self_tax_[i]}+{income_tax_[i]},2)")),
        _amounts("tax_paid", "Paid so far (Settings)", _typed_taxes("paid")),
        _amounts("hold_back", "Still to set aside",
                 [_set_aside(i, 1, f"MAX(0,ROUND({{tax_all_of_{i}}}-{{tax_paid_{i}}},2))") for i in PARTNERS_IN_ORDER]),
        heading("Of that, by payment due date"),
        *payments,
        words("taxes_words", _taxes_words(), lines=3),
    )
    # fmt: on


def _taxes_words() -> Formula:
    said = (
        "\"Each partner's taxes are their own. This is an estimate from the figures above, for the log's profit "
        'alone: it leaves out other income, other deductions and the tax on high earnings. "&'
        "\"Each payment is a quarter of the whole year's tax; during the year the figures are those so far. "
        'Ask a licensed preparer which rules apply to you."'
    )
    none = '"These rules calculate no taxes: ask a licensed preparer how much to keep."'
    missing = (
        '"No taxes are calculated: on Settings, Tax figures by date, no single row of "'
        '&MID({missing_self},3,200)&" covers "&Tax_year&"-12-31. Add it when it is published."'
    )
    return Formula(
        f'IF({{self_count}}=0,{none},IF({{missing_self}}<>"",{missing},'
        f'{said}&IF({{due_row}}=""," Settings has no due dates for "&Tax_year&".","")))'
    )


def _dated_figure(key: str, name: str) -> FormRow:
    rows = f'TaxFigure_name,"{name}",TaxFigure_from,"<="&Year_end,TaxFigure_until,">="&Year_end'
    return working(key, name, MONEY, Formula(f"SUMIFS(TaxFigure_value,{rows})", f"COUNTIFS({rows})<>1"))


def _missing(names: dict[str, str]) -> str:
    return "&".join(f'IF({{{key}}}="",", {name}","")' for key, name in names.items())


def tax_workings() -> tuple[FormRow, ...]:
    """The dated figures, rates per mile of the year, and steps to each partner's tax."""
    flags = (
        ("miles_count", "Miles count", "miles"),
        ("office_count", "Home office counts", "office"),
        ("self_count", "Self-employment tax counts", "self"),
        ("lines_needed", "Headings need a tax line", "lines"),
    )
    figures = SELF_EMPLOYMENT | HOME_OFFICE | FOR_INFORMATION
    # fmt: off
    earned = [
        form_cell(f"earned_{i}",
                  Formula(f"IF({{profit_{i}}}*{{net_share}}<{{least_net}},0,{{profit_{i}}}*{{net_share}})", _no_tax(i)),
                  step=True)
        for i in PARTNERS_IN_ORDER
    ]
    return (
        working("rules_row", "Row of the rules", COUNT, Formula('IFERROR(MATCH(Year_rules,Rules_name,0),"")')),
        *(
            working(key, label, COUNT, Formula(f'IF({{rules_row}}="",0,(INDEX(Rules_{column},{{rules_row}})="Yes")*1)'),
                    "1 = yes")
            for key, label, column in flags
        ),
        *(_dated_figure(key, name) for key, name in figures.items()),
        working("missing_self", "Figures missing: taxes", TEXT, Formula(_missing(SELF_EMPLOYMENT))),
        working("missing_office", "Figures missing: office", TEXT, Formula(_missing(HOME_OFFICE))),
        working("taxes_ready", "Taxes can be calculated", COUNT,
                Formula('IF(AND({self_count}=1,{missing_self}=""),1,"")'), "1 = yes"),
        working("office_ready", "Home office can be calculated", COUNT,
                Formula('IF(AND({office_count}=1,{office_area}>0,{missing_office}=""),1,"")'), "1 = yes"),
        working("due_row", "Row of the due dates", COUNT, Formula('IFERROR(MATCH(Tax_year,Due_year,0),"")', _NO_TAXES)),
        working("mileage_first", "Rates that ended before", COUNT, Formula('COUNTIF(Mileage_until,"<"&Year_start)'),
                "rows"),
        *(
            working(f"mileage_row_{place}", f"Row of rate {place}", COUNT,
                    Formula(f'IF(SUM(INDEX(Mileage_from,{{mileage_first}}+{place}))>Year_end,"",{{mileage_first}}+{place})',
                            f"({{mileage_first}}+{place}>ROWS(Mileage_from))"
                            f"+(SUM(INDEX(Mileage_from,MIN(ROWS(Mileage_from),{{mileage_first}}+{place})))=0)>0"))
            for place in range(1, RATES_IN_YEAR + 1)
        ),
        *(
            working(f"lacking_row_{n}", f"Row of trip {n} to fix", COUNT,
                    Formula(f'IFERROR(MATCH({n},Trips_lacking_no,0),"")'))
            for n in range(1, TRIPS_LISTED + 1)
        ),
        FormRow(
            "Row among the partners",
            tuple(
                form_cell(f"place_{i}", Formula("1" if i == 1 else f"{{place_{i - 1}}}+1"), COUNT, step=True)
                for i in PARTNERS_IN_ORDER
            ),
        ),
        *SPLIT.steps(),
        FormRow("Net earnings from self-employment", tuple(earned)),
    )
    # fmt: on
