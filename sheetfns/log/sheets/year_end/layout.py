"""Sheet Year end: the figures of one tax year, by the lines of its rules."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COUNT, MONEY, TEXT
from sheetfns.log.model.sheets import AnyFormula, FormCell, FormRow, FormSheet, Formula
from sheetfns.log.sheets.form_rows import answer, heading, result, words, working
from sheetfns.log.sheets.links import link_to_named
from sheetfns.log.sheets.partners.shares import SHARES_READY
from sheetfns.log.sheets.tax_rules.layout import EXPENSE_LINES
from sheetfns.log.sheets.words import DISCARDED, PARTNER_ROWS, RELISTED, SUMMARY_ROWS, TAX_RULES, YEAR_END
from sheetfns.log.sheets.year_end.channels import channel_rows, channel_workings, own_rows
from sheetfns.log.sheets.year_end.lines import FIGURE_KEYS, figure_rows, in_year, left_in_year
from sheetfns.log.sheets.year_end.taxes import car_rows, office_rows, partner_rows, tax_workings

_LINES: Final = range(1, SUMMARY_ROWS + 1)
TIES: Final = (
    "tie_cost",
    "tie_money",
    "tie_opening",
    "tie_closing",
    "tie_filed",
    "tie_lines",
    "tie_miles",
    "tie_shares",
)


def _day(name: str) -> str:
    """A date in words; format codes of dates differ between languages."""
    return f'YEAR({name})&"-"&RIGHT("0"&MONTH({name}),2)&"-"&RIGHT("0"&DAY({name}),2)'


def _head() -> tuple[FormRow, ...]:
    last, as_of = _day("Year_end"), _day("Figures_until")
    # fmt: off
    return (
        words("title",
              Formula('"Tax year "&Tax_year&IF(Currency="",""," in "&Currency)&IF(Shop_name="","",", "&Shop_name)'),
              lines=1, emphasized=True),
        answer('"Net profit: "&FIXED({net_profit},2)', since=10),
        words("state",
              Formula(f'IF({{lines_found}}=0,"Sheet {TAX_RULES} has no lines of \'"&Year_rules&"\' for "'
                      '&Tax_year&": choose other rules or another year on Settings, or get a newer '
                      f'sheetfns.",IF(INT(Figures_until)<Year_end,"Draft as of "&{as_of}&": the year runs to '
                      f'"&{last}&".","The year is over. Its figures are complete when there are no errors (line '
                      'above)."))'),
              lines=1),
        words("basis",
              Formula('"Rules: "&Year_rules&". Accounting method: "&Tax_method&"; the cost of an item '
                      'counts "&LOWER(LEFT(Inventory_method,1))&MID(Inventory_method,2,99)&", not when it is '
                      'bought (Settings): have a licensed preparer confirm it."&IF({receipts_test}="",""'
                      ',IF({gross_receipts}>{receipts_test}," Receipts are over "," Receipts test: at '
                      'most ")&FIXED({receipts_test},0)&" a year, on average of three years.")'),
              lines=3),
    )
    # fmt: on


def _summary_line(number: int) -> FormRow:
    row, none = f"{{line_row_{number}}}", f'{{line_row_{number}}}=""'
    first, last = f"{{{FIGURE_KEYS[0]}}}", f"{{{FIGURE_KEYS[-1]}}}"
    place, sheet, label = (f"INDEX(TaxLine_{key},{row})" for key in ("place", "sheet", "label"))

    def cell(key: str, formula: AnyFormula, look: str = "") -> FormCell:
        kind = TEXT if look else MONEY
        # fmt: off
        return FormCell(f"{key}_{number}", kind, formula=formula,
                        look="label" if look == "label" else "note" if look else "",
                        bold_if=f'{{line_part_{number}}}<>"line"' if look == "label" else "",
                        leads_if=f'IF({none},"",{sheet})<>""' if key == "label" else "",
                        cell_format="#,##0" if key == "whole" else "")
        # fmt: on

    return FormRow(
        cells=(
            cell("label", Formula(f'IF({sheet}="",{label},{link_to_named(sheet, label)})', none), "label"),
            cell("line", Formula(f'INDEX(TaxLine_line,{row})&""', none), "label"),
            cell("amount", Formula(f'IF({place}="","",INDEX({first}:{last},{place}))', none)),
            cell("whole", Formula(f"ROUND({{amount_{number}}},0)", f'{{amount_{number}}}=""')),
            cell("note", Formula(f'INDEX(TaxLine_note,{row})&""', none), "note"),
        ),
        heads_row=True,
    )


def _ties() -> tuple[FormRow, ...]:
    def of_months(before: str) -> str:
        return f'COUNTIF(Money_month,"{before})'

    cost = (
        f"{{cost_of_goods_sold}}-{in_year('Log_landed_cost', 'Log_sold_on')}"
        f"+{in_year('Log_landed_cost', 'Log_returned_on')}-{left_in_year(DISCARDED)}"
        f"+{in_year('Log_carried_over', 'Log_inventory_date')}-{left_in_year(RELISTED)}"
    )
    money = "{net_profit}+{log_miles}+{home_office}-" + in_year("Money_profit", "Money_month")
    earlier, so_far = of_months('<"&Year_start'), of_months('<="&Year_end')
    filed = 'ByYear_year,Tax_year-1,ByYear_filed_inventory,">=0"'
    first, last = (f"{{{key}}}" for key in (EXPENSE_LINES[0][0], EXPENSE_LINES[-1][0]))
    share_1, share_n = (f"{{profit_{i}}}" for i in (1, PARTNER_ROWS))
    rows = (
        ("tie_cost", "Cost of goods sold less cost of items sold and discarded", cost, ""),
        ("tie_money", "Net profit, miles, home office less the months on Money", money, ""),
        (
            "tie_opening",
            "Opening inventory less last year's closing on Money",
            f"{{opening_inventory}}-INDEX(Money_closing_inventory,{earlier})",
            f"{earlier}=0",
        ),
        (
            "tie_closing",
            "Closing inventory less the year's last month on Money",
            f"{{closing_inventory}}-INDEX(Money_closing_inventory,{so_far})",
            f"{so_far}=0",
        ),
        (
            "tie_filed",
            "Opening inventory less last year's filed inventory",
            f"{{opening_inventory}}-SUMIFS(ByYear_filed_inventory,{filed})",
            f"COUNTIFS({filed})<>1",
        ),
        (
            "tie_lines",
            "Total expenses less the sum of their tax lines",
            f"{{total_expenses}}-SUM({first}:{last})",
            "{lines_needed}=0",
        ),
        (
            "tie_miles",
            "Miles of the year less the miles by rate",
            f"{in_year('Trips_deduction', 'Trips_driven_on')}-{{deduction_all}}",
            "",
        ),
        (
            "tie_shares",
            "Net profit less the partners' shares",
            f"{{net_profit}}-SUM({share_1}:{share_n})",
            "{shares_ready}=0",
        ),
    )
    return (
        heading("Reconciliation: each must be 0.00; blank: nothing to compare with yet"),
        *(result(key, label, MONEY, Formula(f"ROUND({text},2)+0", blank_if)) for key, label, text, blank_if in rows),
    )


def _workings() -> tuple[FormRow, ...]:
    def line(number: int) -> FormRow:
        row = f"{{line_row_{number}}}"
        # fmt: off
        return FormRow(
            f"Row and part of line {number}",
            (
                FormCell(f"line_row_{number}", COUNT, formula=Formula(f'IFERROR(MATCH({number},TaxLine_number,0),"")'),
                         working=True),
                FormCell(f"line_part_{number}", TEXT, formula=Formula(f"INDEX(TaxLine_part,{row})", f'{row}=""'),
                         working=True),
            ),
        )
        # fmt: on

    return (
        heading("Calculations (don't edit)"),
        working("shares_ready", "Shares add up", COUNT, Formula(SHARES_READY), "1 = yes"),
        working("lines_found", "Lines of the rules", COUNT, Formula("MAX(TaxLine_number,0)"), "lines"),
        *tax_workings(),
        *channel_workings(),
        *(line(number) for number in _LINES),
    )


def form() -> FormSheet:
    """Sheet Year end."""
    rows = (
        *_head(),
        heading("Lines", "Line no.", "Amount", "Whole", "Note"),
        *(_summary_line(number) for number in _LINES),
        FormRow(
            note="Whole: each amount is rounded once, after adding the cents, so whole lines may differ by 1 from "
            "their sums. Line numbers are those of the year on sheet "
            f"{TAX_RULES}; check them against the form. A click on the words of a line in blue goes to a sheet "
            "with its rows.",
            lines=2,
        ),
        *_ties(),
        *own_rows(),
        *office_rows(),
        *car_rows(),
        *partner_rows(),
        *channel_rows(),
        heading("Where each figure comes from", "From the log", "Expenses", "Amount", new_page=True),
        *figure_rows(),
        *_workings(),
    )
    return FormSheet(
        YEAR_END,
        "Year",
        "An aid to record keeping, not tax advice. Rules differ by place and year; have a licensed preparer check.",
        rows,
        (46, 11, 11, 11, 12, 11, 11, 10.5, 17),
        4,
        printed_pages=2,
    )
