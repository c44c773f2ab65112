"""Sheet Money: month by month, cash, inventory at cost and profit."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COUNT, DATE, MONEY
from sheetfns.log.model.sheets import FIRST_ROW, Column, TableSheet
from sheetfns.log.sheets.columns import grouped, result, step
from sheetfns.log.sheets.words import DISCARDED, DONATED, KEY_STEP, MONEY_SHEET, MONTHS, PERSONAL_USE, RELISTED

_NO_MONTH: Final = '{month}=""'
_MONTH: Final = f"DATE(YEAR(Figures_from),MONTH(Figures_from)+ROW()-{FIRST_ROW},1)"
_COUNTS_SO_FAR: Final = f'COUNTIF(Owner_count_key,">="&({{month_end}}+1)*{KEY_STEP})'


def _in_month(amount: str, day: str, also: str = "") -> str:
    return f'SUMIFS({amount},{day},">="&{{month}},{day},"<"&{{month_end}}+1{also})'


def _left(how: str) -> str:
    return _in_month("Log_landed_cost", "Log_disposition_date", f',Log_disposition,"{how}"')


def _from_last(first: str, above: str) -> str:
    """The figure of the month before; in the first month, what stands in its place."""
    return f"IF(ROW()={FIRST_ROW},{first},{above})"


def _sum(key: str, header: str, formula: str, help_text: str, width: float = 11) -> Column:
    return result(key, header, MONEY, width, f"ROUND({formula},2)", help_text, blank_if=_NO_MONTH)


def _total(key: str, header: str, formula: str, help_text: str) -> Column:
    return _sum(key, header, formula, help_text, width=12)


def _of_count(key: str, header: str, help_text: str) -> Column:
    """A cell of sheet Owner money in the row of the month's last count."""
    return result(key, header, MONEY, 11, f"INDEX(Owner_{key},{{count_row}})", help_text, blank_if='{count_row}=""')


# A table: key, header, formula, help.
# fmt: off
COLUMNS: Final[tuple[Column, ...]] = (
    *grouped("Month", (
        result("month", "Month", DATE, 10, f'IF({_MONTH}>Figures_until,"",{_MONTH})', "First day of the month.",
               unit="month", cell_format="yyyy-mm"),
    )),
    *grouped("Results", (
        _total("profit", "Net profit", "{gross_profit}-{selling_costs}-{expenses}",
               "Before the miles deduction, which isn't cash."),
        _total("closing_cash", "Closing cash", "{opening_cash}+{from_trade}+{put_in}-{took_out}",
               "Opening + in - out."),
        _total("closing_inventory", "Closing inventory",
               "{opening_inventory}+{inventory_in}-{cost_of_sold}-{personal_use}-{discarded}+{relisted}",
               "Opening + in - out."),
    )),
    *grouped("Cash", (
        _total("opening_cash", "Opening cash", _from_last("Opening_cash+0", "{closing_cash@-1}"),
               "Cash at the start of the month."),
    )),
    *grouped("Trade", (
        _sum("sales", "Sales", _in_month("Log_income", "Log_sold_on"), "Prices and shipping."),
        _sum("refunds", "Refunds", _in_month("Log_refund", "Log_refund_day"), "Paid back to buyers."),
        _sum("fees", "Fees", _in_month("Log_fee", "Log_sold_on"), "Fees of the channels."),
        _sum("postage", "Postage", _in_month("Log_postage_used", "Log_sold_on"), "Labels."),
        _sum("packaging", "Packaging", _in_month("Log_packaging_used", "Log_sold_on"), "Per parcel."),
        _sum("inventory_bought", "Inventory bought",
             f"{_in_month('Log_outlay', 'Log_inventory_date')}+{_in_month('Lots_total', 'Lots_bought_on')}",
             "Items and lots, with tax and prep."),
        _sum("expenses", "Expenses", _in_month("Expenses_amount", "Expenses_spent_on"), "From Expenses."),
        _total("from_trade", "Operating cash",
               "{sales}-{refunds}-{fees}-{postage}-{packaging}-{inventory_bought}-{expenses}",
               "Cash from sales less what the business paid."),
    )),
    *grouped("Owners", (
        _sum("put_in", "Owners put in",
             f"{_in_month('Owner_put_in', 'Owner_moved_on')}+{_in_month('Log_owner_paid', 'Log_inventory_date')}"
             f"+{_in_month('Lots_owner_paid', 'Lots_bought_on')}"
             f"+{_in_month('Expenses_owner_paid', 'Expenses_spent_on')}",
             "Money put in, and purchases from their own pocket."),
        _sum("took_out", "Owners took out", _in_month("Owner_took_out", "Owner_moved_on"), "Taken out."),
    )),
    *grouped("Cash counted", (
        _of_count("cash_counted", "Last count", "Cash as last counted in the month; blank if it was not."),
        _of_count("difference", "Count difference", "That count minus cash per log on its day."),
    )),
    *grouped("Inventory at cost", (
        _total("opening_inventory", "Opening inventory", _from_last("Opening_inventory", "{closing_inventory@-1}"),
               "Inventory at cost at the start of the month."),
        _sum("inventory_in", "Bought", "{inventory_bought}", "Inventory bought in the month, at cost."),
        _sum("cost_of_sold", "Cost of sold",
             f"{_in_month('Log_landed_cost', 'Log_sold_on')}-{_in_month('Log_landed_cost', 'Log_returned_on')}",
             "Landed cost of items sold, less of those that came back."),
        _sum("personal_use", "Taken or donated", f"{_left(PERSONAL_USE)}+{_left(DONATED)}",
             "Taken for personal use or donated, at cost."),
        _sum("discarded", "Discarded", _left(DISCARDED), "Thrown away, at cost."),
        _sum("relisted", "Relisted, net", f"{_in_month('Log_carried_over', 'Log_inventory_date')}-{_left(RELISTED)}",
             "Cost carried over to new rows minus from old rows."),
    )),
    *grouped("Profit", (
        _total("gross_profit", "Gross profit", "{sales}-{refunds}-{cost_of_sold}-{discarded}",
               "Sales less refunds, cost of items sold and discarded."),
        _sum("selling_costs", "Selling costs", "{fees}+{postage}+{packaging}", "Fees, postage and packaging."),
        _sum("profit_so_far", "Profit so far", f"{_from_last('0', '{profit_so_far@-1}')}+{{profit}}",
             "Net profit since the first month."),
        _sum("owners_so_far", "Owners so far",
             _from_last("{opening_cash}+{opening_inventory}", "{owners_so_far@-1}")
             + "+{put_in}-{took_out}-{personal_use}+{relisted}",
             "What the owners had at the start and put in since, less what they took out, including goods at cost."),
        _sum("tie_so_far", "Tie-out so far", "{closing_cash}+{closing_inventory}-{owners_so_far}-{profit_so_far}",
             "Cash and inventory, less the owners' money, less profit so far: 0.00 if all ties."),
        _sum("tie_out", "Tie-out",
             "{closing_cash}+{closing_inventory}-{opening_cash}-{opening_inventory}"
             "-{put_in}+{took_out}+{personal_use}-{relisted}-{profit}",
             "Change of cash and inventory less owner money less profit: 0.00 if all ties."),
    )),
    step("month_end", "Month end", DATE, "EOMONTH({month},0)", "Last day of the month.", blank_if=_NO_MONTH),
    step("last_count", "Key of last count", COUNT, f'IFERROR(LARGE(Owner_count_key,1+{_COUNTS_SO_FAR}),"")',
         "The latest count up to the end of the month.", blank_if=_NO_MONTH),
    step("count_row", "Row of count", COUNT,
         f'IF({{last_count}}<{{month}}*{KEY_STEP},"",MATCH({{last_count}},Owner_count_key,0))',
         "Its row on Owner money, if it was counted in the month.", blank_if='{last_count}=""'),
)
# fmt: on


_ANSWER: Final = (
    '"This month: net profit "&FIXED(Home_profit_month,2)&", cash "&FIXED(Home_cash,2)&", inventory at cost "'
    "&FIXED(Home_inventory,2)"
)


def sheet() -> TableSheet:
    """Sheet Money."""
    purpose = "Month by month: opening + in - out = closing, for cash and for inventory at cost."
    return TableSheet(
        MONEY_SHEET,
        "Money",
        purpose,
        COLUMNS,
        MONTHS,
        answer=_ANSWER,
        print_parts=(("month", "took_out"), ("cash_counted", "tie_out")),
        print_repeats=("month", "month"),
    )
