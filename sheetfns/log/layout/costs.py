"""Sheets Expenses and Trips."""

from __future__ import annotations

from typing import Final

from sheetfns.kinds import COST, MONEY
from sheetfns.log.layout.parts import (
    date_column,
    findings_column,
    grouped,
    money_column,
    owner_paid_column,
    row_check_column,
    text_among_numbers,
    text_column,
)
from sheetfns.log.sheets import Column, Plain, RowCheck, TableSheet

_EXPENSE_CHECKS: Final = (
    RowCheck(
        "no_date",
        "the date is blank",
        'AND({spent_on}="",COUNTA({heading}:{paid_from})>0)',
    ),
    RowCheck(
        "not_a_number",
        "text in place of a number or date",
        text_among_numbers((("spent_on", "spent_on"), ("amount", "amount"))),
    ),
    RowCheck("negative", "the amount is below 0", "MIN({amount},0)<0"),
    RowCheck("no_paid", "the amount is blank", 'AND({spent_on}<>"",{amount}="")'),
    RowCheck(
        "no_heading",
        "heading is not on Settings",
        'IF({spent_on}="",FALSE,IF({heading}="",TRUE,COUNTIF(Heading_heading,{heading})=0))',
    ),
    RowCheck(
        "no_source",
        "paid from is not on Settings",
        'IF({paid_from}="",FALSE,COUNTIF(Source_name,{paid_from})=0)',
    ),
    RowCheck(
        "after_as_of",
        "dated after Figures as of (Settings)",
        "INT(MAX({spent_on},0))>INT(As_of_date)",
    ),
    RowCheck(
        "before_first",
        "before First month (Settings)",
        'AND({spent_on}<>"",{spent_on}<First_month)',
    ),
)


def expenses_sheet(rows: int) -> TableSheet:
    """Sheet Expenses."""
    columns = (
        *grouped(
            "Expense",
            (
                date_column("spent_on", "Date", "Day of payment."),
                text_column("heading", "Heading", "From Settings.", 30, names="Heading_heading"),
                text_column("description", "Description", "What it was.", 30),
                money_column("amount", "Amount", "What was paid, tax included."),
                text_column(
                    "paid_from", "Paid from", "Business or a partner.", names="Source_name"
                ),
            ),
        ),
        *grouped("Results", (row_check_column("spent_on"),)),
        owner_paid_column("N({amount})"),
        findings_column(_EXPENSE_CHECKS),
    )
    return TableSheet(
        "Expenses",
        "Expenses",
        "Costs of the business that do not belong to one piece.",
        columns,
        rows,
        _EXPENSE_CHECKS,
    )


_TRIP_CHECKS: Final = (
    RowCheck("no_date", "the date is blank", 'AND({driven_on}="",COUNTA({purpose}:{miles})>0)'),
    RowCheck(
        "not_a_number",
        "text in place of a number or date",
        text_among_numbers((("driven_on", "driven_on"), ("miles", "miles"))),
    ),
    RowCheck("negative", "miles are below 0", "MIN({miles},0)<0"),
    RowCheck(
        "not_recorded",
        "fill in purpose, to and miles",
        'AND({driven_on}<>"",OR({purpose}="",{to_place}="",{miles}=""))',
    ),
    RowCheck(
        "no_rate",
        "no rate for this date on Settings",
        'AND({driven_on}<>"",{rate}="")',
    ),
    RowCheck(
        "after_as_of",
        "dated after Figures as of (Settings)",
        "INT(MAX({driven_on},0))>INT(As_of_date)",
    ),
)


def trips_sheet(rows: int) -> TableSheet:
    """Sheet Trips."""
    columns = (
        *grouped(
            "Trip",
            (
                date_column("driven_on", "Date", "Day of the trip."),
                text_column("purpose", "Purpose", "Why the business needed it.", 28),
                text_column("from_place", "From", "Where it began.", 16),
                text_column("to_place", "To", "Where it went.", 22),
                Column(
                    "miles",
                    "Miles",
                    COST,
                    "Miles there and back.",
                    9,
                    unit="miles",
                    cell_format="#,##0.0",
                ),
            ),
        ),
        *grouped(
            "Results",
            (
                Column(
                    "rate",
                    "Rate a mile",
                    COST,
                    "The rate on that date, from Settings.",
                    9,
                    unit="money",
                    cell_format="0.000",
                    formula=Plain(
                        "IFERROR(IF({driven_on}<INDEX(Mileage_until,MATCH({driven_on},Mileage_from,1))+1,"
                        'INDEX(Mileage_rate,MATCH({driven_on},Mileage_from,1)),""),"")',
                        blank_if='{driven_on}=""',
                    ),
                ),
                money_column(
                    "deduction",
                    "Deduction",
                    "Miles at the rate, rounded to the cent.",
                    MONEY,
                    formula=Plain(
                        "ROUND({miles}*{rate},2)",
                        blank_if='OR({driven_on}="",{rate}="",{miles}="")',
                    ),
                ),
                row_check_column("driven_on"),
            ),
        ),
        findings_column(_TRIP_CHECKS),
    )
    return TableSheet(
        "Trips",
        "Trips",
        "Miles driven for the business: date, purpose, place and miles, written down at the time.",
        columns,
        rows,
        _TRIP_CHECKS,
    )
