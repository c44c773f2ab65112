"""Sheet Owner money: put in, taken out, counted."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from sheetfns.cell_types import COUNT, MONEY
from sheetfns.log.model.sheets import Formula, RowCheck, TableSheet
from sheetfns.log.sheets.columns import (
    CASH_IN,
    CASH_OUT,
    cash_until,
    date_column,
    findings_column,
    grouped,
    money_column,
    row_check_column,
    text_among_numbers,
    text_column,
    working_column,
)
from sheetfns.log.sheets.words import KEY_STEP

_OWNER_CHECKS: Final = (
    RowCheck("no_date", "the date is blank", 'AND({moved_on}="",COUNTA({partner}:{note})>0)'),
    RowCheck(
        "not_a_number",
        "text in place of a number or date",
        text_among_numbers((("moved_on", "moved_on"), ("put_in", "cash_counted"))),
    ),
    RowCheck("negative", "an amount is below 0", "MIN({put_in}:{took_out},0)<0"),
    RowCheck(
        "no_partner",
        "partner is not on Settings",
        'AND(SUM({put_in})+SUM({took_out})<>0,IF({partner}="",TRUE,COUNTIF(Partner_name,{partner})=0))',
    ),
    RowCheck("after_as_of", "dated after Figures as of (Settings)", "INT(MAX({moved_on},0))>INT(As_of_date)"),
    RowCheck("before_first", "before First month (Settings)", 'AND({moved_on}<>"",{moved_on}<First_month)'),
    RowCheck(
        "count_differs",
        "cash counted is not by the log",
        'IF({difference}="",FALSE,{difference}<>0)',
        of_results=lambda owner: owner["difference"].fillna(0) != 0,
        notice=True,
    ),
)


def owner_money_sheet(rows: int) -> TableSheet:
    """Sheet Owner money."""
    counted = '{cash_counted}=""'
    columns = (
        *grouped(
            "Owner money",
            (
                date_column("moved_on", "Date", "Day on which it moved or was counted."),
                text_column("partner", "Partner", "Whose money.", names="Partner_name"),
                money_column("put_in", "Put in", "Money put into the business."),
                money_column("took_out", "Took out", "Money taken out of the business."),
                money_column("cash_counted", "Cash counted", "All business money at the end of the day.", MONEY),
                text_column("note", "Note", "Anything to remember.", 26),
            ),
        ),
        *grouped(
            "Results",
            (
                money_column(
                    "cash_by_log",
                    "Cash by the log",
                    "What the log says was there at the end of that day.",
                    MONEY,
                    formula=Formula("ROUND(Opening_cash+{money_in}-{money_out},2)", blank_if=counted),
                ),
                money_column(
                    "difference",
                    "Difference",
                    "Counted less cash by the log.",
                    MONEY,
                    formula=Formula("ROUND({cash_counted}-{cash_by_log},2)", blank_if=counted),
                ),
                row_check_column("moved_on"),
            ),
        ),
        *(
            working_column(
                key,
                header,
                MONEY,
                replace(cash_until("INT({moved_on})+1", flows), blank_if=counted),
                "Up to the end of that day.",
            )
            for key, header, flows in (("money_in", "In to date", CASH_IN), ("money_out", "Out to date", CASH_OUT))
        ),
        working_column(
            "count_key",
            "Order of counts",
            COUNT,
            Formula(f"INT({{moved_on}})*{KEY_STEP}+ROW()", blank_if='OR({cash_counted}="",SUM({moved_on})=0)'),
            "By day, then by row.",
        ),
        findings_column(_OWNER_CHECKS),
    )
    return TableSheet(
        "Owner money",
        "Owner",
        "Money that the owners put in or took out, and cash counts.",
        columns,
        rows,
        _OWNER_CHECKS,
    )
