"""Sheets Expenses, Trips and Own things."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COST, COUNT, MONEY
from sheetfns.log.model.sheets import Column, EditionFormula, Formula, FunctionCall, RowCheck, TableSheet
from sheetfns.log.sheets.columns import (
    below_zero,
    date_column,
    findings_column,
    grouped,
    money_column,
    owner_paid_column,
    row_check_column,
    text_among_numbers,
    text_column,
    working_column,
)
from sheetfns.log.sheets.words import OWN_THINGS

_EXPENSE_CHECKS: Final = (
    RowCheck("no_date", "the date is blank", 'AND({spent_on}="",COUNTA({heading}:{paid_from})>0)'),
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
        "no_source", "paid from is not on Settings", 'IF({paid_from}="",FALSE,COUNTIF(Source_name,{paid_from})=0)'
    ),
    RowCheck("after_as_of", "dated after Figures as of (Settings)", "INT(MAX({spent_on},0))>INT(As_of_date)"),
    RowCheck("before_first", "before First month (Settings)", 'AND({spent_on}<>"",{spent_on}<First_month)'),
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
                text_column("paid_from", "Paid from", "Business or a partner.", names="Source_name"),
            ),
        ),
        *grouped("Results", (row_check_column("spent_on"),)),
        owner_paid_column("SUM({amount})"),
        findings_column(_EXPENSE_CHECKS),
    )
    return TableSheet(
        "Expenses", "Expenses", "Costs of the business that do not belong to one piece.", columns, rows, _EXPENSE_CHECKS
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
    RowCheck("no_rate", "no rate for this date on Settings", 'AND({driven_on}<>"",{rate}="")'),
    RowCheck("after_as_of", "dated after Figures as of (Settings)", "INT(MAX({driven_on},0))>INT(As_of_date)"),
)


# The latest row that has begun by that day: rows may be blank, or in any order.
_RATE_ROW: Final = 'MATCH(LARGE(Mileage_from,COUNTIF(Mileage_from,">"&{driven_on})+1),Mileage_from,0)'
_NO_DEDUCTION: Final = 'OR({driven_on}="",{rate}="",{miles}="")'


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
                Column("miles", "Miles", COST, "Miles there and back.", 9, unit="miles", cell_format="#,##0.0"),
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
                    formula=Formula(
                        f"IFERROR(IF({{driven_on}}<INDEX(Mileage_until,{_RATE_ROW})+1,"
                        f'INDEX(Mileage_rate,{_RATE_ROW}),""),"")',
                        blank_if='{driven_on}=""',
                    ),
                ),
                money_column(
                    "deduction",
                    "Deduction",
                    "Miles at the rate, rounded to the cent.",
                    MONEY,
                    formula=EditionFormula(
                        Formula("ROUND({miles}*{rate},2)", _NO_DEDUCTION),
                        FunctionCall(
                            "MILEAGE_DEDUCTION",
                            {"dates": "{driven_on}", "miles": "{miles}", "rates": "Mileage_table"},
                            _NO_DEDUCTION,
                        ),
                    ),
                ),
                row_check_column("driven_on"),
            ),
        ),
        findings_column(_TRIP_CHECKS),
        working_column(
            "lacking_no",
            "No. to mend",
            COUNT,
            Formula(
                'IF(OR({driven_on}="",AND(SUM({driven_on})>=Year_start,SUM({driven_on})<Year_end+1)),'
                'COUNT({lacking_no@above})+1,"")',
                blank_if='{findings}=""',
            ),
            "Counts the rows of the tax year, and those without a date, that need mending.",
        ),
    )
    return TableSheet(
        "Trips",
        "Trips",
        "Miles driven for the business: date, purpose, place and miles, written down at the time.",
        columns,
        rows,
        _TRIP_CHECKS,
    )


_OWN_CHECKS: Final = (
    RowCheck("no_item", "the item is blank", 'AND({item}="",COUNTA({whose}:{selling_costs})>0)'),
    RowCheck(
        "not_a_number",
        "text in place of a number or date",
        text_among_numbers((("cost", "cost"), ("sold_on", "selling_costs"))),
    ),
    RowCheck("negative", "an amount is below 0", below_zero((("cost", "cost"), ("sale_price", "selling_costs")))),
    RowCheck("no_cost", "what it cost once is blank", 'AND({item}<>"",{cost}="")'),
    RowCheck(
        "no_sale_date", "sale without its day (sold on)", 'AND({sold_on}="",COUNTA({sale_price}:{selling_costs})>0)'
    ),
    RowCheck("no_price", "sale price is blank", 'AND({sold_on}<>"",{sale_price}="")'),
    RowCheck("no_owner", "whose it was is not on Settings", 'IF({whose}="",FALSE,COUNTIF(Partner_name,{whose})=0)'),
    RowCheck("no_channel", "channel is not on Settings", 'IF({channel}="",FALSE,COUNTIF(Channel_name,{channel})=0)'),
    RowCheck("after_as_of", "dated after Figures as of (Settings)", "INT(MAX({sold_on},0))>INT(As_of_date)"),
)
_NOT_SOLD: Final = 'OR({item}="",{sold_on}="",{sale_price}="")'


def own_things_sheet(rows: int) -> TableSheet:
    """Sheet Own things: what was sold out of the household, apart from the business."""
    kept_apart = "Not in this log's receipts, cash or stock."
    columns = (
        *grouped(
            "Thing",
            (
                text_column("item", "Item", "What it is.", 30),
                text_column("whose", "Whose", "Whose it was.", names="Partner_name"),
                money_column(
                    "cost", "Cost once", "What its owner paid for it; a gift or an heirloom has a rule of its own, ask."
                ),
            ),
        ),
        *grouped(
            "Sold",
            (
                text_column("channel", "Channel", "Where it was sold; blank: by hand.", names="Channel_name"),
                date_column("sold_on", "Sold on", "Day of the sale; blank: not sold yet."),
                money_column("sale_price", "Sale price", "What the buyer paid, without sales tax."),
                money_column("shipping_charged", "Shipping charged", "What the buyer paid for postage."),
                money_column("tax_collected", "Tax collected", "Sales tax that the channel took itself."),
                money_column("selling_costs", "Selling costs", "Fee, postage and packing of the sale."),
            ),
        ),
        *grouped(
            "Results",
            (
                money_column(
                    "proceeds",
                    "Proceeds",
                    f"Price and shipping less selling costs. {kept_apart}",
                    MONEY,
                    formula=Formula("{sale_price}+{shipping_charged}-{selling_costs}", _NOT_SOLD),
                ),
                money_column(
                    "gain",
                    "Gain to list",
                    "Proceeds over cost: taxable, to be listed apart. Ask your preparer.",
                    MONEY,
                    formula=Formula("MAX(0,ROUND({proceeds}-{cost},2))", 'OR({proceeds}="",{cost}="")'),
                ),
                money_column(
                    "loss",
                    "Loss, not counted",
                    "Cost over proceeds: a loss on own things is not deductible.",
                    MONEY,
                    formula=Formula("MAX(0,ROUND({cost}-{proceeds},2))", 'OR({proceeds}="",{cost}="")'),
                ),
                row_check_column("item"),
            ),
        ),
        findings_column(_OWN_CHECKS),
    )
    return TableSheet(
        OWN_THINGS,
        "Own",
        "Things from your own household that you sold: kept apart from the business.",
        columns,
        rows,
        _OWN_CHECKS,
    )
