"""Sheet Money: month by month, cash, stock at cost and profit."""

from __future__ import annotations

from typing import Final

from sheetfns.kinds import DATE, MONEY
from sheetfns.log.layout.parts import grouped, money_column, working_column
from sheetfns.log.layout.words import DISCARDED, DONATED, MONTHS, OWN_USE, RELISTED
from sheetfns.log.sheets import FIRST_ROW, Column, Plain, TableSheet


def _in_month(amount: str, day: str, also: str = "") -> str:
    return f'SUMIFS({amount},{day},">="&{{month}},{day},"<"&{{month_end}}+1{also})'


def _left_in_month(how: str) -> str:
    return _in_month("Log_landed_cost", "Log_left_on", f',Log_left_how,"{how}"')


def _monthly(key: str, header: str, text: str, help_text: str, *, strong: bool = False) -> Column:
    return money_column(
        key,
        header,
        help_text,
        MONEY,
        width=12 if strong else 11,
        formula=Plain(f"ROUND({text},2)", blank_if='{month}=""'),
    )


_MONTHLY_CASH: Final = (
    _monthly(
        "opening_cash",
        "Opening cash",
        f"IF(ROW()={FIRST_ROW},Opening_cash+0,{{closing_cash@-1}})",
        "Cash at the start of the month.",
        strong=True,
    ),
    _monthly("sales", "Sales", _in_month("Log_income", "Log_sold_on"), "Prices and shipping."),
    _monthly(
        "refunds", "Refunds", _in_month("Log_refund", "Log_refund_day"), "Paid back to buyers."
    ),
    _monthly("fees", "Fees", _in_month("Log_fee", "Log_sold_on"), "Fees of the channels."),
    _monthly("postage", "Postage", _in_month("Log_postage_used", "Log_sold_on"), "Labels."),
    _monthly("packing", "Packing", _in_month("Log_packing_used", "Log_sold_on"), "Per parcel."),
    _monthly(
        "stock_bought",
        "Stock bought",
        f"{_in_month('Log_outlay', 'Log_stock_date')}+{_in_month('Lots_total', 'Lots_bought_on')}",
        "Pieces and lots, with tax and prep.",
    ),
    _monthly(
        "expenses", "Expenses", _in_month("Expenses_amount", "Expenses_spent_on"), "From Expenses."
    ),
    _monthly(
        "put_in",
        "Owners put in",
        "+".join(
            (
                _in_month("Owner_put_in", "Owner_moved_on"),
                _in_month("Log_owner_paid", "Log_stock_date"),
                _in_month("Lots_owner_paid", "Lots_bought_on"),
                _in_month("Expenses_owner_paid", "Expenses_spent_on"),
            )
        ),
        "Money put in, and purchases from their own pocket.",
    ),
    _monthly(
        "took_out", "Owners took out", _in_month("Owner_took_out", "Owner_moved_on"), "Taken out."
    ),
    _monthly(
        "closing_cash",
        "Closing cash",
        "{opening_cash}+{sales}-{refunds}-{fees}-{postage}-{packing}-{stock_bought}-{expenses}"
        "+{put_in}-{took_out}",
        "Opening + in - out.",
        strong=True,
    ),
)
_MONTHLY_STOCK: Final = (
    _monthly(
        "opening_stock",
        "Opening stock",
        f"IF(ROW()={FIRST_ROW},Opening_stock,{{closing_stock@-1}})",
        "Stock at cost at the start of the month.",
        strong=True,
    ),
    _monthly("stock_in", "Bought", "{stock_bought}", "Stock bought in the month, at cost."),
    _monthly(
        "cost_of_sold",
        "Cost of sold",
        _in_month("Log_landed_cost", "Log_sold_on")
        + "-"
        + _in_month("Log_landed_cost", "Log_returned_on"),
        "Landed cost of pieces sold, less of those that came back.",
    ),
    _monthly(
        "own_use",
        "Own use, donated",
        f"{_left_in_month(OWN_USE)}+{_left_in_month(DONATED)}",
        "Taken out at cost.",
    ),
    _monthly("discarded", "Discarded", _left_in_month(DISCARDED), "Thrown away, at cost."),
    _monthly(
        "relisted",
        "Relisted, net",
        f"{_in_month('Log_carried_over', 'Log_stock_date')}-{_left_in_month(RELISTED)}",
        "Cost carried over to new rows less from old rows.",
    ),
    _monthly(
        "closing_stock",
        "Closing stock",
        "{opening_stock}+{stock_in}-{cost_of_sold}-{own_use}-{discarded}+{relisted}",
        "Opening + in - out.",
        strong=True,
    ),
)
_MONTHLY_PROFIT: Final = (
    _monthly(
        "gross_profit",
        "Gross profit",
        "{sales}-{refunds}-{cost_of_sold}-{discarded}",
        "Sales less refunds, cost of pieces sold and discarded.",
        strong=True,
    ),
    _monthly(
        "selling_costs",
        "Selling costs",
        "{fees}+{postage}+{packing}",
        "Fees, postage and packing.",
    ),
    _monthly(
        "profit",
        "Net profit",
        "{gross_profit}-{selling_costs}-{expenses}",
        "Before the miles deduction, which is no cash.",
        strong=True,
    ),
    _monthly(
        "tie_out",
        "Tie-out",
        "{closing_cash}+{closing_stock}-{opening_cash}-{opening_stock}"
        "-{put_in}+{took_out}+{own_use}-{relisted}-{profit}",
        "Change of cash and stock less owner money less profit: 0.00 if all ties.",
    ),
)


def money_sheet() -> TableSheet:
    """Sheet Money."""
    month = f"DATE(YEAR(First_month),MONTH(First_month)+ROW()-{FIRST_ROW},1)"
    columns = (
        *grouped(
            "Month",
            (
                Column(
                    "month",
                    "Month",
                    DATE,
                    "First day of the month.",
                    10,
                    unit="month",
                    cell_format="yyyy-mm",
                    formula=Plain(f'IF({month}>As_of_date,"",{month})'),
                ),
            ),
        ),
        *grouped("Cash", _MONTHLY_CASH),
        *grouped("Stock at cost", _MONTHLY_STOCK),
        *grouped("Profit", _MONTHLY_PROFIT),
        working_column(
            "month_end",
            "Month end",
            DATE,
            Plain("EOMONTH({month},0)", blank_if='{month}=""'),
            "Last day of the month.",
        ),
    )
    return TableSheet(
        "Money",
        "Money",
        "Month by month: opening + in - out = closing, for cash and for stock at cost.",
        columns,
        MONTHS,
    )
