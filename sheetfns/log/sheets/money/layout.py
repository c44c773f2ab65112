"""Sheet Money: month by month, cash, stock at cost and profit."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COUNT, DATE, MONEY
from sheetfns.log.model.sheets import FIRST_ROW, Column, Formula, TableSheet
from sheetfns.log.sheets.columns import grouped, money_column, working_column
from sheetfns.log.sheets.words import DISCARDED, DONATED, KEY_STEP, MONEY_SHEET, MONTHS, OWN_USE, RELISTED


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
        formula=Formula(f"ROUND({text},2)", blank_if='{month}=""'),
    )


def _of_count(key: str, header: str, help_text: str) -> Column:
    """A cell of sheet Owner money in the row of the month's last count."""
    return money_column(
        key,
        header,
        help_text,
        MONEY,
        width=11,
        formula=Formula(f"INDEX(Owner_{key},{{count_row}})", blank_if='{count_row}=""'),
    )


_OPENING_CASH: Final = (
    _monthly(
        "opening_cash",
        "Opening cash",
        f"IF(ROW()={FIRST_ROW},Opening_cash+0,{{closing_cash@-1}})",
        "Cash at the start of the month.",
        strong=True,
    ),
)
_TRADE: Final = (
    _monthly("sales", "Sales", _in_month("Log_income", "Log_sold_on"), "Prices and shipping."),
    _monthly("refunds", "Refunds", _in_month("Log_refund", "Log_refund_day"), "Paid back to buyers."),
    _monthly("fees", "Fees", _in_month("Log_fee", "Log_sold_on"), "Fees of the channels."),
    _monthly("postage", "Postage", _in_month("Log_postage_used", "Log_sold_on"), "Labels."),
    _monthly("packing", "Packing", _in_month("Log_packing_used", "Log_sold_on"), "Per parcel."),
    _monthly(
        "stock_bought",
        "Stock bought",
        f"{_in_month('Log_outlay', 'Log_stock_date')}+{_in_month('Lots_total', 'Lots_bought_on')}",
        "Pieces and lots, with tax and prep.",
    ),
    _monthly("expenses", "Expenses", _in_month("Expenses_amount", "Expenses_spent_on"), "From Expenses."),
    _monthly(
        "from_trade",
        "From trade",
        "{sales}-{refunds}-{fees}-{postage}-{packing}-{stock_bought}-{expenses}",
        "Cash that the trade brought, less what it took.",
        strong=True,
    ),
)
_OWNERS: Final = (
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
    _monthly("took_out", "Owners took out", _in_month("Owner_took_out", "Owner_moved_on"), "Taken out."),
)
_CLOSING_CASH: Final = (
    _monthly(
        "closing_cash",
        "Closing cash",
        "{opening_cash}+{from_trade}+{put_in}-{took_out}",
        "Opening + in - out.",
        strong=True,
    ),
    _of_count("cash_counted", "Last count", "Cash as last counted in the month; blank if it was not."),
    _of_count("difference", "Count differs", "That count less cash by the log on its day."),
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
        _in_month("Log_landed_cost", "Log_sold_on") + "-" + _in_month("Log_landed_cost", "Log_returned_on"),
        "Landed cost of pieces sold, less of those that came back.",
    ),
    _monthly(
        "own_use", "Own use, donated", f"{_left_in_month(OWN_USE)}+{_left_in_month(DONATED)}", "Taken out at cost."
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
    _monthly("selling_costs", "Selling costs", "{fees}+{postage}+{packing}", "Fees, postage and packing."),
    _monthly(
        "profit",
        "Net profit",
        "{gross_profit}-{selling_costs}-{expenses}",
        "Before the miles deduction, which is no cash.",
        strong=True,
    ),
    _monthly(
        "profit_so_far",
        "Profit so far",
        f"IF(ROW()={FIRST_ROW},0,{{profit_so_far@-1}})+{{profit}}",
        "Net profit since the first month.",
    ),
    _monthly(
        "owners_so_far",
        "Owners so far",
        f"IF(ROW()={FIRST_ROW},{{opening_cash}}+{{opening_stock}},{{owners_so_far@-1}})"
        "+{put_in}-{took_out}-{own_use}+{relisted}",
        "What the owners had at the start and put in since, less what they took out, goods at cost among it.",
    ),
    _monthly(
        "tie_so_far",
        "Tie-out so far",
        "{closing_cash}+{closing_stock}-{owners_so_far}-{profit_so_far}",
        "Cash and stock, less the owners' money, less profit so far: 0.00 if all ties.",
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
                    formula=Formula(f'IF({month}>As_of_date,"",{month})'),
                ),
            ),
        ),
        *grouped("Cash", _OPENING_CASH),
        *grouped("Trade", _TRADE),
        *grouped("Owners", _OWNERS),
        *grouped("Cash", _CLOSING_CASH),
        *grouped("Stock at cost", _MONTHLY_STOCK),
        *grouped("Profit", _MONTHLY_PROFIT),
        working_column(
            "month_end",
            "Month end",
            DATE,
            Formula("EOMONTH({month},0)", blank_if='{month}=""'),
            "Last day of the month.",
        ),
        working_column(
            "last_count",
            "Key of last count",
            COUNT,
            Formula(
                f'IFERROR(LARGE(Owner_count_key,1+COUNTIF(Owner_count_key,">="&({{month_end}}+1)*{KEY_STEP})),"")',
                blank_if='{month}=""',
            ),
            "The latest count up to the end of the month.",
        ),
        working_column(
            "count_row",
            "Row of count",
            COUNT,
            Formula(
                f'IF({{last_count}}<{{month}}*{KEY_STEP},"",MATCH({{last_count}},Owner_count_key,0))',
                blank_if='{last_count}=""',
            ),
            "Its row on Owner money, if it was counted in the month.",
        ),
    )
    return TableSheet(
        MONEY_SHEET,
        "Money",
        "Month by month: opening + in - out = closing, for cash and for stock at cost.",
        columns,
        MONTHS,
        one_page_high=True,
    )
