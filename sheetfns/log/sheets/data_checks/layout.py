"""Sheet Checks: everything that the workbook looks at by itself."""

from __future__ import annotations

from typing import Final

from sheetfns.files.cell_names import column_letters
from sheetfns.functions.growth import LEAST_PATHS, MOST_PATHS
from sheetfns.log.model.cells import NamedRange, named_columns
from sheetfns.log.model.sheets import FIRST_ROW, Check, FormSheet, RowCheck, TableSheet
from sheetfns.log.sheets.columns import inventory_before
from sheetfns.log.sheets.partners.layout import YEARS as PARTNER_YEARS
from sheetfns.log.sheets.tax_rules.layout import EXPENSE_LINES
from sheetfns.log.sheets.words import (
    BOX_ROWS,
    BUSINESS,
    BY_YEAR_ROWS,
    CHANNEL_ROWS,
    CHECKS,
    CONDITION_ROWS,
    DUE_ROWS,
    FROM_THE_LOG,
    HEADING_ROWS,
    MONEY_SHEET,
    MONTHS,
    OWN_WORDS,
    PARTNER_ROWS,
    PARTNERS,
    PAYMENTS,
    POSTAGE_COLUMNS,
    RELISTED,
    RETURNED_ITEM,
    ROW_ONE,
    RULE_ROWS,
    SETTINGS,
    TAXES_ROWS,
    YEAR_END,
)

CHECK_COLUMNS: Final = {"sheet": 0, "kind": 1, "label": 2, "count": 3, "first": 4, "result": 5}
CHECK_LABEL: Final = f"'{CHECKS}'!${column_letters(CHECK_COLUMNS['label'])}${{row}}"
TOTAL_ROW: Final = FIRST_ROW - 3


def named_ranges(checks: int) -> tuple[NamedRange, ...]:
    """The defined names on Data checks, which has so many of them."""
    named = {key: CHECK_COLUMNS[key] for key in ("sheet", "kind", "count")}
    total = f"'{CHECKS}'!${column_letters(CHECK_COLUMNS['count'])}${TOTAL_ROW}"
    return (*named_columns("Check", named, CHECKS, FIRST_ROW, checks), NamedRange("Check_total", total))


def _table_checks(table: TableSheet) -> list[Check]:
    def counted(check: RowCheck) -> Check:
        pattern = '"*"&{label}&"*"'
        rows = f"{table.key}_findings"
        # fmt: off
        return Check(f"{table.key}_{check.key}", table.name, check.message, f"COUNTIF({rows},{pattern})",
                     f'IFERROR(MATCH({pattern},{rows},0)+{ROW_ONE},"")', check.notice)
        # fmt: on

    below = f"'{table.name}'!$A${table.last_row + 1}:$A${table.last_row + 2000}"
    # fmt: off
    return [
        *(counted(check) for check in table.checks),
        Check(f"{table.key}_below", table.name, "entries stand below the last ready row, where no formulas are",
              f"COUNTA({below})", f'IF(COUNTA({below})>0,{table.last_row + 1},"")'),
        _error_check(table),
    ]
    # fmt: on


def _error_check(table: TableSheet | FormSheet) -> Check:
    # fmt: off
    return Check(f"{table.key}_errors", table.name, "a cell shows an error",
                 f'ISERROR(SUM({table.key}_all))+COUNTIF({table.key}_all,"#ERR*")')
    # fmt: on


def _form_checks(form: FormSheet) -> list[Check]:
    inputs = [cell for cell in form.cells() if cell.role == "input"]
    if not inputs:
        return [_error_check(form)]
    numbers = [form.defined_name(cell.key) for cell in inputs if cell.kind.holds == "number"]
    chosen = [cell for cell in inputs if cell.names and cell.names not in OWN_WORDS]
    unknown = [
        f'IF({name}="",0,(COUNTIF({cell.names},{name})=0)*1)'
        for cell in chosen
        for name in [form.defined_name(cell.key)]
    ]
    unknown += [
        f'AND({name}<>"",' + ",".join(f'{name}<>"{word}"' for word in cell.choices) + ")*1"
        for cell in inputs
        for name in [form.defined_name(cell.key)]
        if cell.choices
    ]
    # fmt: off
    return [
        Check(f"{form.key}_not_a_number", form.name, "text in place of a number",
              "+".join(f"ISTEXT({name})" for name in numbers)),
        Check(f"{form.key}_negative", form.name, "an amount is below 0",
              "+".join(f"(MAX({name})<0)" for name in numbers)),
        Check(f"{form.key}_unknown", form.name, "a choice is not in its list", "+".join(unknown)),
        _error_check(form),
    ]
    # fmt: on


def _twice(names: str, rows: int) -> str:
    """How many of the names in a small table stand there more than once."""
    cells = (f"INDEX({names},{row})" for row in range(1, rows + 1))
    return "+".join(f'IF({cell}="",0,(COUNTIF({names},{cell})>1)*1)' for cell in cells)


_FIGURES: Final = (
    "As_of_date",
    "First_month",
    "Opening_cash",
    "Usual_packaging",
    "Trip_cash",
    "Trip_reserve",
    "Target_profit",
    "Target_return",
    "Buying_tax_rate",
    "Comp_half_life",
    "Comp_low_share",
    "Filling_rate",
    "Weight_allowance",
    "Cover_share",
    "Pay_target",
    "Bills_due",
    "Open_refunds",
    "Tax_reserve",
    "Restock_reserve",
    "Average_days",
    "Stale_days",
    "Forecast_paths",
)
_NOT_BELOW_0: Final = (
    *("Trip_cash", "Trip_reserve", "Target_profit", "Target_return", "Buying_tax_rate"),
    *("Comp_low_share", "Filling_rate", "Weight_allowance", "Cover_share", "Pay_target"),
    *("Bills_due", "Open_refunds", "Tax_reserve", "Restock_reserve", "Fixed_costs"),
    "Weekly_limit",
)
_OPTIONAL: Final = ("Fixed_costs", "Weekly_limit")


def _rule_rows_in_order() -> str:
    """How many rows of parcel rules stand apart from their rule or before an older date."""
    parts = []
    for row in range(2, RULE_ROWS + 1):
        here, above = f"INDEX(Rule_name,{row})", f"INDEX(Rule_name,{row - 1})"
        later = f"INDEX(Rule_from,{row})>INDEX(Rule_from,{row - 1})"
        first = f"MATCH({here},Rule_name,0)={row}"
        parts.append(f'IF({here}="",0,IF({here}={above},({later})=FALSE(),({first})=FALSE())*1)')
    return "+".join(parts)


def _rules_in_other_units() -> str:
    """How many rows of parcel rules that a service uses are for other units than this log."""
    units = 'Weight_unit&" and "&Length_unit'
    parts = (
        f'IF(OR(INDEX(Rule_units,{row})="",INDEX(Rule_units,{row})={units}),0,'
        f"(COUNTIF(Service_rule,INDEX(Rule_name,{row}))>0)*1)"
        for row in range(1, RULE_ROWS + 1)
    )
    return "+".join(parts)


def _does_not_rise(block: str) -> str:
    """How many rows of a small table's first column do not come after the one above, or a gap."""
    return (
        f'SUMPRODUCT(({block}_later<>"")*({block}_later<={block}_earlier))'
        f'+SUMPRODUCT(({block}_later<>"")*({block}_earlier=""))'
    )


_TAX_AMOUNTS: Final = (
    *("ByYear_area", "ByYear_months", "ByYear_filed_inventory"),
    *("Taxes_wages", "Taxes_rate", "Taxes_paid", "Reported_gross"),
)


def _incomplete(key: str, texts: tuple[str, ...], numbers: tuple[str, ...], others: tuple[str, ...] = ()) -> str:
    """How many rows of a small table are filled, but not in all of its texts and numbers."""
    columns = [f"{key}_{column}" for column in (*texts, *numbers, *others)]
    whole = [f'{key}_{column},"?*"' for column in texts]
    whole += [f'{key}_{column},">=0"' for column in numbers]
    return f'SUMPRODUCT(({"&".join(columns)}<>"")*1)-COUNTIFS({",".join(whole)})'


def _tax_tables_wrong() -> str:
    days = tuple(f"day_{number}" for number in range(1, PAYMENTS + 1))
    return "+".join(
        (
            _incomplete("TaxFigure", ("name",), ("from", "until", "value"), ("source",)),
            _incomplete("Due", (), ("year", *days), ("source",)),
            _incomplete("Reported", ("channel",), ("year", "gross")),
            'SUMPRODUCT((TaxFigure_until<>"")*(TaxFigure_until<TaxFigure_from))',
            f"COUNTA({','.join(_TAX_AMOUNTS)})-COUNT({','.join(_TAX_AMOUNTS)})",
            *(f'COUNTIF({name},"<0")' for name in _TAX_AMOUNTS),
            'COUNTIF(Taxes_rate,">1")+COUNTIF(ByYear_months,">12")',
        )
    )


def _by_year_wrong() -> str:
    """Rows of the tax tables whose year or name is blank, unknown, or there already."""
    parts = [_twice("ByYear_year", BY_YEAR_ROWS), _twice("Due_year", DUE_ROWS)]
    parts += [
        f'COUNTA({key}_year)-COUNTIFS({key}_year,">=2000",{key}_year,"<=2199")'
        for key in ("ByYear", "Taxes", "Reported", "Due")
    ]
    filled = "ByYear_area&ByYear_months&ByYear_filed_inventory&ByYear_note"
    parts.append(f'SUMPRODUCT((ByYear_year="")*({filled}<>""))')
    parts.append('SUMPRODUCT((Taxes_year="")*(Taxes_partner="")*(Taxes_wages&Taxes_rate&Taxes_paid<>""))')
    for key, column, names, number in (
        ("Taxes", "partner", "Partner_name", PARTNER_ROWS),
        ("Reported", "channel", "Channel_name", CHANNEL_ROWS),
    ):
        known = "".join(
            f'-IF({name}="",0,IFERROR((MATCH({name},{names},0)={place})'
            f'*COUNTIFS({key}_{column},{name},{key}_year,">0"),0))'
            for place, name in ((place, f"INDEX({names},{place})") for place in range(1, number + 1))
        )
        parts.append(f'SUMPRODUCT(({key}_year&{key}_{column}<>"")*1){known}')
    for row in range(1, TAXES_ROWS + 1):
        year, partner = f"INDEX(Taxes_year,{row})", f"INDEX(Taxes_partner,{row})"
        parts.append(f'IF({partner}="",0,(COUNTIFS(Taxes_year,{year},Taxes_partner,{partner})>1)*1)')
    return "+".join(parts)


def _settings_checks() -> list[Check]:
    def check(key: str, label: str, count: str) -> Check:
        return Check(f"Settings_{key}", SETTINGS, label, count)

    words = "+".join(f'(COUNTIFS(Heading_from_log,"{word}",Heading_heading,"?*")<>1)' for word in FROM_THE_LOG)
    terms = ("rate", "per_order", "tax_rate", "band_limit", "rate_above", "minimum", "maximum", "ad_rate")
    rates = ("rate", "tax_rate", "rate_above", "ad_rate")
    wrong_terms = [f"COUNTA(Channel_{term})-COUNT(Channel_{term})" for term in terms]
    wrong_terms += [f'COUNTIF(Channel_{term},"<0")' for term in terms]
    wrong_terms += [f'COUNTIF(Channel_{term},">1")' for term in rates]
    # fmt: off
    return [
        check("year", "tax year is not a year from 2000 to 2199", "(MAX(Tax_year)<2000)+(MAX(Tax_year)>2199)"),
        check("first", "first month of this log is not the first day of a month",
              "IF(ISERROR(DAY(First_month)),1,(DAY(First_month)<>1)*1)"),
        check("order", "first month of this log is after the day that figures are as of", "(First_month>As_of_date)*1"),
        check("numbers", "an amount or date among the settings is blank or text",
              f"{len(_FIGURES)}-COUNT({','.join(_FIGURES)})+" + "+".join(f"ISTEXT({name})" for name in _OPTIONAL)),
        check("targets", "an amount, rate or number of days above is below its minimum or over its maximum",
              f"(MIN({','.join(_NOT_BELOW_0)})<0)+(MAX(Comp_half_life)<1)+(MAX(Average_days)<1)"
              "+(MAX(Stale_days)<1)+(MAX(Comp_low_share)>0.5)"
              "+(MAX(Cover_share,Filling_rate,Buying_tax_rate)>1)"
              f"+(MAX(Forecast_paths)<{LEAST_PATHS})+(MAX(Forecast_paths)>{MOST_PATHS})"),
        check("worth", "a condition has no worth from 1 % to 100 %, so that its sales cannot be compared",
              'COUNTIF(Condition_name,"?*")-COUNTIFS(Condition_name,"?*",Condition_worth,">0",Condition_worth,"<=1")'),
        check("rules", "rows of a parcel rule do not stand together, by date",
              _rule_rows_in_order() + '+COUNTIF(Rule_name,"?*")-COUNTIFS(Rule_name,"?*",Rule_from,">0")'),
        check("divisor", "a parcel rule's divisor is not above 0; clear it if only weight counts",
              'COUNTIF(Rule_divisor,"<=0")'),
        check("services", "a postage service's parcel rule is not among the rules",
              "+".join(
                  f'IF(INDEX(Service_rule,{row})="",0,(COUNTIF(Rule_name,INDEX(Service_rule,{row}))=0)*1)'
                  for row in range(1, POSTAGE_COLUMNS + 1)
              )),
        check("units", "a service's parcel rule is for other units than those above", _rules_in_other_units()),
        check("postage", "the postage table has prices without a weight, gaps, or weights that do not rise",
              _does_not_rise("Postage")
              + "".join(
              f'+SUMPRODUCT((Postage_up_to="")*(Postage_no_{column}<>""))' for column in range(1, POSTAGE_COLUMNS + 1)
              )),
        check("ages", "the age classes do not begin with 0, do not rise, or have gaps",
              f"(SUM(INDEX(Age_from_day,1))<>0)+(COUNT(Age_from_day)=0)+{_does_not_rise('Age')}"),
        check("steps", "the markdown steps do not rise, have gaps, or lack a share from 0 to 100 %",
              _does_not_rise("Markdown") + "+COUNTA(Markdown_from_day,Markdown_share)"
              '-2*COUNTIFS(Markdown_from_day,">=0",Markdown_share,">=0",Markdown_share,"<=1")'),
        check("tax_lines", "a heading has no tax line, or one that is not in the list",
              'IF(Year_lines_needed=1,COUNTIFS(Heading_heading,"?*",Heading_tax_line,""),0)'
              "+COUNTA(Heading_tax_line)"
              + "".join(f'-COUNTIF(Heading_tax_line,"{label}")' for _, label in EXPENSE_LINES)),
        check("by_year", "a tax year, partner or channel of the tax tables is blank, unknown or is duplicated",
              _by_year_wrong()),
        check("tax_figures", "a tax figure, due date or report is not complete, or an amount of a year is wrong",
              _tax_tables_wrong()),
        check("shares", "the partners' shares do not add up to 100 %", "(ROUND(SUM(Partner_share)-1,9)<>0)*1"),
        check("owner_names", f"a partner is called {BUSINESS} or {RETURNED_ITEM}; use another name",
              f'COUNTIF(Partner_name,"{BUSINESS}")+COUNTIF(Partner_name,"{RETURNED_ITEM}")'),
        check("twice", "a partner, channel, heading, condition, box or service is duplicated; rename one",
              "+".join((_twice("Partner_name", PARTNER_ROWS), _twice("Channel_name", CHANNEL_ROWS),
                        _twice("Heading_heading", HEADING_ROWS), _twice("Condition_name", CONDITION_ROWS),
                        _twice("Box_name", BOX_ROWS), _twice("Service_name", POSTAGE_COLUMNS)))),
        check("words", "fees, postage, packaging and miles must each stand once beside a heading", words),
        check("terms", "a channel's terms hold text, an amount below 0 or a rate over 100 %", "+".join(wrong_terms)),
        check("minimum", "a channel's minimum fee is over its maximum fee",
              'SUMPRODUCT((Channel_maximum<>"")*(Channel_minimum>Channel_maximum))'),
        check("band", "a channel has a band limit and no rate above it",
              'COUNTIF(Channel_band_limit,">=0")-COUNTIFS(Channel_band_limit,">=0",Channel_rate_above,">=0")'),
        check("rate", "a channel's fee and ad rates take the whole sale",
              "SUMPRODUCT((Channel_rate*(1+Channel_tax_rate)+Channel_ad_rate>=1)*1)"),
    ]
    # fmt: on


def all_checks(tables: tuple[TableSheet, ...], forms: tuple[FormSheet, ...]) -> tuple[Check, ...]:
    """Every check: those of the rows, sheet by sheet, and those of the whole workbook."""
    found: list[Check] = []
    for form in forms:
        found += _form_checks(form)
    for table in tables:
        if table.checks:
            found += _table_checks(table)
    for table in tables:
        if not table.checks:
            found.append(_error_check(table))
    last = "SUM(INDEX(Money_closing_inventory,MAX(1,COUNT(Money_month))))"
    # fmt: off
    found += [
        Check("Money_tie_out", MONEY_SHEET, "months in which cash, inventory and profit do not tie: fix the rows first",
              "+".join(
                  f'COUNTIF(Money_{tie},">0.004")+COUNTIF(Money_{tie},"<-0.004")' for tie in ("tie_out", "tie_so_far")
              )),
        Check("Money_inventory", MONEY_SHEET,
              "closing inventory is not that of the items on hand: fix the rows above first",
              f"(ROUND({last}-({inventory_before('As_of_date+1')}),2)<>0)*1"),
        Check("Money_months", MONEY_SHEET, "the log runs on after the last month on Money",
              f"(As_of_date>=DATE(YEAR(First_month),MONTH(First_month)+{MONTHS},1))*1"),
        Check("Money_relisted", MONEY_SHEET,
              "Relisted and Returned item do not match: old and new row need one cost and one month",
              f'(ROUND(SUM(Log_carried_over)-SUMIFS(Log_landed_cost,Log_disposition,"{RELISTED}"),2)<>0)*1'
              '+COUNTIF(Money_relisted,">0.004")+COUNTIF(Money_relisted,"<-0.004")'),
        Check("Year_tie_cost", YEAR_END, "cost of goods sold is not that of the items: fix the rows above first",
              "(MAX(Year_tie_cost)<>0)*1"),
        Check("Year_tie_money", YEAR_END, "the year's profit is not that of its months: fix the rows above first",
              "(MAX(Year_tie_money)<>0)*1"),
        Check("Year_tie_inventory", YEAR_END,
              "the year's first or last inventory is not that of its months: fix the rows above first",
              "(MAX(Year_tie_opening)<>0)+(MAX(Year_tie_closing)<>0)"),
        Check("Year_tie_filed", YEAR_END,
              "opening inventory is not last year's filed closing inventory: a row of a past year changed",
              "(MAX(Year_tie_filed)<>0)*1"),
        Check("Year_tie_lines", YEAR_END,
              "expenses do not add up by tax line: give each heading on Settings its tax line",
              "(MAX(Year_tie_lines)<>0)*1"),
        Check("Year_tie_miles", YEAR_END,
              "miles by rate are not all miles of the year: put the rates on Settings in order",
              "(MAX(Year_tie_miles)<>0)*1"),
        Check("Year_lines", YEAR_END, "sheet Tax rules has no lines for this tax year", "(Year_lines_found=0)*1",
              notice=True),
        Check("Year_figures", YEAR_END, "a tax figure of this year is missing on Settings, or is duplicated",
              '(Year_self_count=1)*((Year_missing_self<>"")+(Year_missing_self="")*(Year_due_row=""))'
              '+(Year_office_count=1)*(Year_office_area>0)*(Year_missing_office<>"")',
              notice=True),
        *_settings_checks(),
        Check("Partners_opening", PARTNERS,
              "what the partners had at the start does not add up to cash and inventory at that start",
              "IF(COUNTA(Partner_opening)=0,0,COUNTA(Partner_opening)-COUNT(Partner_opening)"
              "+(ROUND(SUM(Partner_opening)-SUM(Opening_cash,Opening_inventory),2)<>0)*1)"),
        Check("Partners_tie", PARTNERS, "a year's balances do not add up to cash and inventory: fix the rows first",
              "+".join(f"(ABS(MAX(Partners_tie_{year}))>0.004)" for year in range(1, PARTNER_YEARS + 1))),
    ]
    # fmt: on
    return tuple(found)
