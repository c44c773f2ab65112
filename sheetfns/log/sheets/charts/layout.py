"""Sheet Charts: where the money is, what it earns, and where it may go, as pictures."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import DATE, MONEY, QUANTITY, CellType
from sheetfns.log.model.sheets import Chart, ChartStyle, FormCell, FormRow, FormSheet, Formula, Series
from sheetfns.log.sheets.form_rows import heading, words
from sheetfns.log.sheets.words import AGE_ROWS, CHART_MONTHS, CHARTS, ODDS_EVERY, PAY, STOCK, WEEKS_AHEAD

_MONEY: Final = "Money (currency of this log)"


def _months(name: str, key: str, look: ChartStyle) -> Series:
    across, up = ((f"{word}_1", f"{word}_{CHART_MONTHS}") for word in ("month", key))
    return Series(name, across, up, CHARTS, look)


def _ahead(name: str, key: str, look: ChartStyle, *, odds: bool = True) -> Series:
    across, up = ((f"{word}_{ODDS_EVERY}", f"{word}_{WEEKS_AHEAD}") for word in ("week", key))
    return Series(name, across, up, PAY, look, "functions" if odds else "")


def _line(name: str, key: str, look: ChartStyle) -> Series:
    return Series(name, ("sold_1", "sold_2"), (f"{key}_1", f"{key}_2"), CHARTS, look)


def _charts() -> tuple[FormRow, ...]:
    ages = Series("At cost", ("label_1", f"label_{AGE_ROWS}"), ("cost_1", f"cost_{AGE_ROWS}"), STOCK, "dark")
    return (
        heading("Where the money is"),
        words(
            "money_says",
            Formula(
                'IF({months}=0,"No month yet.","Cash "&FIXED({cash_now},2)&" and stock at cost "'
                '&FIXED({stock_now},2)&" on the day that figures are as of.")'
            ),
            lines=1,
        ),
        FormRow(
            chart=Chart(
                "stacked",
                "Cash and stock at cost, end of each month",
                "Month",
                _MONEY,
                (_months("Cash", "cash", "dark"), _months("Stock at cost", "stock", "light")),
                by_month=True,
            )
        ),
        heading("What each month earned"),
        words(
            "profit_says",
            Formula(
                'IF({months}=0,"No month yet.","Net profit so far "&FIXED({profit_so_far},2)'
                '&", in "&{months}&IF({months}=1," month."," months."))'
            ),
            lines=1,
        ),
        FormRow(
            chart=Chart(
                "columns",
                "Net profit by month",
                "Month",
                _MONEY,
                (_months("Net profit", "profit", "dark"),),
                by_month=True,
            )
        ),
        heading("Break-even of this month", new_page=True),
        words("break_even_says", Formula("Pay_month_words"), lines=1),
        FormRow(
            chart=Chart(
                "points",
                "Sales and costs by pieces sold, at the averages of sheet Pay",
                "Pieces sold in the month",
                _MONEY,
                (
                    _line("Sales", "sales", "solid"),
                    _line("All costs", "costs", "dashed"),
                    _line("Fixed costs", "fixed", "dotted"),
                    Series("Break-even", ("even_sold", "even_sold"), ("even_sales", "even_sales"), CHARTS, "ring"),
                    Series("This month so far", ("now_sold", "now_sold"), ("now_sales", "now_sales"), CHARTS, "point"),
                ),
            )
        ),
        heading("Where the money may go"),
        words("outlook_says", Formula('IF(Pay_outlook_words="",Pay_pay_words,Pay_outlook_words)'), lines=2),
        FormRow(
            chart=Chart(
                "lines",
                "Cash and stock at cost in the weeks ahead",
                "Weeks from the day that figures are as of",
                _MONEY,
                (
                    _ahead("High: nine of ten end below", "high", "dash_dot"),
                    _ahead("Middle", "middle", "solid"),
                    _ahead("Low: one of ten ends below", "low", "dashed"),
                    _ahead("If the averages go on", "average", "dotted", odds=False),
                ),
            )
        ),
        heading("How old the stock is", new_page=True),
        words(
            "age_says",
            Formula(
                'IF(MAX(Stale_days)<1,"Write Stale after on Settings.","Of stock at cost "'
                '&FIXED({stock_now},2)&", "&FIXED({stale_cost},2)&" has waited "&Stale_days'
                '&" days or more.")'
            ),
            lines=1,
        ),
        FormRow(chart=Chart("columns", "Stock at cost by days held", "Days held", _MONEY, (ages,))),
    )


def _step(key: str, kind: CellType, text: str, guard: str = "", cell_format: str = "") -> FormCell:
    return FormCell(key, kind, formula=Formula(text, guard), working=True, cell_format=cell_format)


def _month_row(place: int) -> FormRow:
    row = f"{{month_row_{place}}}"
    none = f'{row}=""'
    return FormRow(
        cells=(
            _step(f"month_{place}", DATE, f"INDEX(Money_month,{row})", none, "yyyy-mm"),
            *(
                _step(f"{key}_{place}", MONEY, f"INDEX(Money_{column},{row})", none)
                for key, column in (("cash", "closing_cash"), ("stock", "closing_stock"), ("profit", "profit"))
            ),
            _step(
                f"month_row_{place}", QUANTITY, f"MAX(0,{{months}}-{CHART_MONTHS})+{place}", f"{{months}}<{place}", "0"
            ),
        ),
        heads_row=True,
    )


def _even_row(place: int, sold: str) -> FormRow:
    none = 'Pay_contribution=""'
    cells = (
        _step(f"sold_{place}", QUANTITY, sold),
        _step(f"sales_{place}", MONEY, f"Pay_price*{{sold_{place}}}", none),
        _step(f"costs_{place}", MONEY, f"Pay_fixed_costs+Pay_variable_cost*{{sold_{place}}}", none),
        _step(f"fixed_{place}", MONEY, "Pay_fixed_costs", none),
    )
    return FormRow(cells=cells, heads_row=True)


def _workings() -> tuple[FormRow, ...]:
    far = "2*MAX(1,Pay_break_even_pieces,Pay_month_pieces)"
    return (
        heading("Workings (do not type)"),
        FormRow("Months on Money", (_step("months", QUANTITY, "COUNT(Money_month)", "", "0"),)),
        FormRow("Cash now", (_step("cash_now", MONEY, "Pay_cash"),)),
        FormRow("Stock now", (_step("stock_now", MONEY, "Pay_stock_now"),)),
        FormRow(
            "Stale stock",
            (
                _step(
                    "stale_cost",
                    MONEY,
                    'SUMIFS(Log_cost_on_hand,Log_days_waiting,">="&Stale_days)',
                    "MAX(Stale_days)<1",
                ),
            ),
        ),
        FormRow("Profit so far", (_step("profit_so_far", MONEY, "INDEX(Money_profit_so_far,{months})", "{months}=0"),)),
        heading("Months", "cash", "stock", "profit", "row"),
        *(_month_row(place) for place in range(1, CHART_MONTHS + 1)),
        heading("Pieces", "sales", "all costs", "fixed costs"),
        _even_row(1, "0"),
        _even_row(2, far),
        FormRow(
            cells=(
                _step("even_sold", QUANTITY, "MAX(Pay_break_even_pieces)"),
                _step("even_sales", MONEY, "MAX(Pay_break_even_sales)"),
            ),
            heads_row=True,
        ),
        FormRow(
            cells=(_step("now_sold", QUANTITY, "Pay_month_pieces+0"), _step("now_sales", MONEY, "Pay_month_sales+0")),
            heads_row=True,
        ),
    )


def charts_form() -> FormSheet:
    """Sheet Charts."""
    return FormSheet(
        CHARTS,
        CHARTS,
        "Where the money is, what it earns, and where it may go.",
        (*_charts(), *_workings()),
        (24, 15, 15, 15, 15),
        4,
    )
