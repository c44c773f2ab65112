"""Sheet Checks: everything that the workbook looks at by itself."""

from __future__ import annotations

from typing import Final

from sheetfns.files.cell_names import column_letters
from sheetfns.log.model.cells import NamedRange, named_columns
from sheetfns.log.model.sheets import FIRST_ROW, NUMBER_ROW, Check, Column, FormSheet, RowCheck, TableSheet
from sheetfns.log.sheets.columns import inventory_before
from sheetfns.log.sheets.home.ways import head_of_rows
from sheetfns.log.sheets.partners.layout import YEARS as PARTNER_YEARS
from sheetfns.log.sheets.settings.period import ALONE_DAYS, LAST_DATE_ALONE
from sheetfns.log.sheets.settings.validate import CHECKS_OF_SETTINGS
from sheetfns.log.sheets.words import (
    CHECKS,
    MONEY_SHEET,
    MONTHS,
    OWN_WORDS,
    PARTNERS,
    RELISTED,
    ROW_ONE,
    SETTINGS,
    YEAR_END,
)

CHECK_COLUMNS: Final = {"sheet": 0, "kind": 1, "label": 2, "count": 3, "first": 4, "result": 5}
LINK_COLUMN: Final = 6
"""The way to the first row that fails; logs before layout 9 have none."""
_SHEET_END: Final = 1_048_576
"""The last row that a sheet has."""
_LOOKED_BELOW: Final = 10_000
"""So many rows below the closing line are looked at."""
CHECK_LABEL: Final = f"'{CHECKS}'!${column_letters(CHECK_COLUMNS['label'])}${{row}}"
TOTAL_ROW: Final = FIRST_ROW - 3
HOLDS = "OK"
RESULTS: Final = {"fix": "fix this", "look": "check this", "wait": "fix this", "more": "see above"}
"""What a check comes to."""


def named_ranges(checks: int) -> tuple[NamedRange, ...]:
    """The defined names on Data checks, which has so many of them."""
    named = {key: CHECK_COLUMNS[key] for key in ("sheet", "kind", "count")}
    total, waits = (f"'{CHECKS}'!${column_letters(CHECK_COLUMNS[key])}${TOTAL_ROW}" for key in ("count", "result"))
    return (
        *named_columns("Check", named, CHECKS, FIRST_ROW, checks),
        NamedRange("Check_total", total),
        NamedRange("Check_waits", waits),
    )


def _table_checks(table: TableSheet) -> list[Check]:
    def counted(check: RowCheck) -> Check:
        pattern = '"*"&{label}&"*"'
        rows = f"{table.key}_findings"
        # fmt: off
        return Check(f"{table.key}_{check.key}", table.name, check.message, f"COUNTIF({rows},{pattern})",
                     f'IFERROR(MATCH({pattern},{rows},0)+{ROW_ONE},"")', "look" if check.notice else "fix")
        # fmt: on

    return [*(counted(check) for check in table.checks), *_control_totals(table), _error_check(table)]


def _control_totals(table: TableSheet) -> list[Check]:
    """What is entered in whole columns against what the formulas of the rows see.

    A row that was inserted has no formulas, and what was pasted above the headers or below the closing row is in no
    total. Neither shows in a figure.
    """
    inputs = table.inputs()
    first, last = (column_letters(table.position(column.key)) for column in (inputs[0], inputs[-1]))
    below = f"'{table.name}'!${first}${table.names_to + 1}:${last}${table.names_to + _LOOKED_BELOW}"
    overwritten = table.defined_name("overwritten")
    # fmt: off
    return [
        Check(f"{table.key}_seen", table.name,
              "entries are in a row without formulas; copy the cells before [ and after ] from another row into it",
              "MAX({counts})", 'IF({count}=0,"",IF(COUNT({firsts})=0,"",MIN({firsts})))', watches=True),
        *(_control_total(table, column) for column in inputs),
        *_commas(table),
        Check(f"{table.key}_below", table.name,
              "entries are below the closing line, where no figure counts them; cut and paste them above it",
              f"COUNTA({below})", f'IF(COUNTA({below})>0,{table.names_to + 1},"")', watches=True),
        Check(f"{table.key}_overwritten", table.name,
              "formulas were overwritten; copy the cells before [ and after ] from another row into that row",
              f"SUM({overwritten})", _first_of(f"({overwritten}<>0)*ISNUMBER({overwritten})", overwritten),
              watches=True),
    ]
    # fmt: on


def _commas(table: TableSheet) -> list[Check]:
    """Amounts that a comma makes a text; the row's own check counts each as an error."""
    names = [table.defined_name(column.key) for column in table.inputs() if column.kind.holds == "number"]
    if not names:
        return []
    # Only where a column of numbers holds more text than its header: LibreOffice finds the comma of 1,250.00 too, as a
    # number is shown.
    texts = {name: f"COUNTA({name})-COUNT({name})-1" for name in names}
    count = "+".join(f'IF({many}=0,0,MIN({many},COUNTIF({name},"*,*")))' for name, many in texts.items())
    label = "an amount has a comma, which makes it a text; enter 9.99 or 1234.50"
    return [Check(f"{table.key}_comma", table.name, label, count, kind="look", watches=True)]


def _control_total(table: TableSheet, column: Column) -> Check:
    place = table.position(column.key)
    letter = column_letters(place)
    entries, seen = table.defined_name(column.key), table.defined_name("entered")
    cells = f"'{table.name}'!${letter}$1:${letter}${table.names_to}"
    lost = f'COUNTA({cells})-{_head_cells(table, place)}-COUNTIFS({entries},"<>",{seen},">0")'
    if column.kind.holds != "text":
        number = f"'{table.name}'!${letter}${NUMBER_ROW}"
        lost = f'MAX(ABS({lost}),(ROUND(SUM({cells})-{number}-SUMIFS({entries},{seen},">0"),4)<>0)*1)'
    else:
        lost = f"ABS({lost})"
    # fmt: off
    return Check(f"{table.key}_seen_{column.key}", table.name,
                 f"{column.header}: what is entered is not what the formulas see",
                 lost, _first_of(f'({entries}<>"")*({seen}="")', entries), kind="more", watches=True)
    # fmt: on


def _head_cells(table: TableSheet, place: int) -> int:
    """How many cells over the entries of a column hold something: number, group, unit, header, a way to a sheet."""
    column, before = table.columns[place], table.columns[place - 1]
    ways, purpose_place = head_of_rows(table)
    in_title_row = {purpose_place, *(at for at, _ in ways)}
    return 2 + bool(column.unit) + (column.group not in ("", before.group)) + (place in in_title_row)


def _first_of(condition: str, rows: str) -> str:
    """The first row in which an array is 1; blank where the program does not tell rows of an array apart."""
    first = f"{_SHEET_END}-SUMPRODUCT(LARGE({condition}*({_SHEET_END}-ROW({rows})),1))"
    known = f"AND({first}>={FIRST_ROW},{first}<{_SHEET_END})"
    return f'IF({{count}}=0,"",IF({known},{first},""))'


def _error_check(table: TableSheet | FormSheet) -> Check:
    # fmt: off
    return Check(f"{table.key}_errors", table.name, "a cell shows an error",
                 f'ISERROR(SUM({table.key}_all))+COUNTIF({table.key}_all,"#ERR*")', kind="wait",
                 watches=isinstance(table, FormSheet) and table.since > 0)
    # fmt: on


def _moved(key: str, sheet: str) -> Check:
    """Formulas refer to a cell that stands alone, and a cut cell takes them along."""
    words = "a value was cut and pasted, so formulas look elsewhere; undo it, or use Upgrade this log"
    return Check(f"{key}_moved", sheet, words, "{moved}", watches=True)


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
        Check(f"{form.key}_not_a_number", form.name, "text instead of a number",
              "+".join(f"ISTEXT({name})" for name in numbers)),
        Check(f"{form.key}_negative", form.name, "an amount is below 0",
              "+".join(f"(MAX({name})<0)" for name in numbers)),
        Check(f"{form.key}_unknown", form.name, "a choice is not in its list", "+".join(unknown)),
        _moved(form.key, form.name),
        _error_check(form),
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
        Check("Money_tie_out", MONEY_SHEET, "months in which cash, inventory and profit don't tie: fix the rows first",
              "+".join(
                  f'COUNTIF(Money_{tie},">0.004")+COUNTIF(Money_{tie},"<-0.004")' for tie in ("tie_out", "tie_so_far")
              ), kind="wait"),
        Check("Money_inventory", MONEY_SHEET,
              "closing inventory doesn't match the items on hand: fix the rows above first",
              f"(ROUND({last}-({inventory_before('Figures_until+1')}),2)<>0)*1", kind="wait"),
        Check("Money_months", MONEY_SHEET, "the as-of date is after the last month on Money",
              f"(Figures_until>=DATE(YEAR(Figures_from),MONTH(Figures_from)+{MONTHS},1))*1"),
        Check("Money_relisted", MONEY_SHEET,
              "Relisted and Returned item don't match: both rows need the same cost and month",
              f'(ROUND(SUM(Log_carried_over)-SUMIFS(Log_landed_cost,Log_disposition,"{RELISTED}"),2)<>0)*1'
              '+COUNTIF(Money_relisted,">0.004")+COUNTIF(Money_relisted,"<-0.004")'),
        Check("Year_tie_cost", YEAR_END, "cost of goods sold doesn't match the items: fix the rows above first",
              "(MAX(Year_tie_cost)<>0)*1", kind="wait"),
        Check("Year_tie_money", YEAR_END, "the year's profit doesn't match its months: fix the rows above first",
              "(MAX(Year_tie_money)<>0)*1", kind="wait"),
        Check("Year_tie_inventory", YEAR_END,
              "the year's first or last inventory doesn't match its months: fix the rows above first",
              "(MAX(Year_tie_opening)<>0)+(MAX(Year_tie_closing)<>0)", kind="wait"),
        Check("Year_tie_filed", YEAR_END,
              "opening inventory doesn't match last year's filed inventory: a row of a past year changed",
              "(MAX(Year_tie_filed)<>0)*1"),
        Check("Year_tie_lines", YEAR_END,
              "expenses don't add up by tax line: give each heading on Settings its tax line",
              "(MAX(Year_tie_lines)<>0)*1"),
        Check("Year_tie_miles", YEAR_END,
              "miles by rate don't add up to the year's miles: sort the rates on Settings by date",
              "(MAX(Year_tie_miles)<>0)*1"),
        Check("Year_lines", YEAR_END, "sheet Tax rules has no lines for this tax year", "(Year_lines_found=0)*1",
              kind="look"),
        Check("Year_figures", YEAR_END, "a tax figure of this year is missing or duplicated on Settings",
              '(Year_self_count=1)*((Year_missing_self<>"")+(Year_missing_self="")*(Year_due_row=""))'
              '+(Year_office_count=1)*(Year_office_area>0)*(Year_missing_office<>"")',
              kind="look"),
        *CHECKS_OF_SETTINGS,
        _moved("Settings", SETTINGS),
        Check("Settings_last_date", SETTINGS,
              f"figures go up to a date over {ALONE_DAYS} days after all others: see Figures until; is its year right?",
              LAST_DATE_ALONE, kind="look", watches=True),
        Check("Partners_opening", PARTNERS,
              "the partners' opening balances don't add up to opening cash and inventory",
              "IF(COUNTA(Partner_opening)=0,0,COUNTA(Partner_opening)-COUNT(Partner_opening)"
              "+(ROUND(SUM(Partner_opening)-SUM(Opening_cash,Opening_inventory),2)<>0)*1)"),
        Check("Partners_tie", PARTNERS, "a year's balances don't add up to cash and inventory: fix the rows first",
              "+".join(f"(ABS(MAX(Partners_tie_{year}))>0.004)" for year in range(1, PARTNER_YEARS + 1)), kind="wait"),
    ]
    # fmt: on
    return tuple(found)
