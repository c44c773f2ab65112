"""Sheet Charts: where the money is, what it earns, and where it may go, as pictures."""

from __future__ import annotations

from typing import Any, Final, Literal

from sheetfns.cell_types import DATE, MONEY, QUANTITY, TEXT
from sheetfns.log.model.sheets import Chart, ChartStyle, Edition, FormRow, FormSheet, Series
from sheetfns.log.sheets.form_rows import cell, heading, words
from sheetfns.log.sheets.words import AGE_ROWS, CHART_MONTHS, CHARTS, INVENTORY, ODDS_EVERY, PAY, WEEKS_AHEAD

_MONEY: Final = "Money (currency of this log)"
_NO_SALE: Final = 'Pay_contribution=""'


LEGEND: Final = {
    "cash": "Cash",
    "inventory": "Inventory at cost",
    "earned": "Earned",
    "lost": "Lost",
    "sales": "Sales",
    "costs": "All costs",
    "fixed": "Fixed costs",
    "high": "High: 9 of 10 runs end below",
    "middle": "Middle",
    "low": "Low: 1 of 10 runs ends below",
    "average": "If the averages continue",
    "cost": "At cost",
}
"""What the legends of charts say, before the currency."""


def _named(key: str) -> dict[str, Any]:
    return {"name": LEGEND[key], "named": f"{key}_legend"}


def _months(key: str, look: ChartStyle, **rest: Any) -> Series:
    across, up = ((f"{word}_1", f"{word}_{CHART_MONTHS}") for word in ("month", key))
    words: dict[str, Any] = _named(key) if key in LEGEND else {"name": "Latest month"}
    return Series(across=across, up=up, of_form=CHARTS, look=look, **words, **rest)


def _ahead(key: str, look: ChartStyle, *, odds: bool = True, **rest: Any) -> Series:
    across, up = ((f"{word}_{ODDS_EVERY}", f"{word}_{WEEKS_AHEAD}") for word in ("week", key))
    only: Edition | Literal[""] = "functions" if odds else ""
    return Series(across=across, up=up, of_form=PAY, look=look, only=only, **_named(key), **rest)


def _line(key: str, look: ChartStyle) -> Series:
    ends = (f"{key}_1", f"{key}_2")
    return Series(across=("sold_1", "sold_2"), up=ends, of_form=CHARTS, look=look, **_named(key))


def _point(name: str, key: str, look: ChartStyle) -> Series:
    return Series(name, (f"{key}_sold",) * 2, (f"{key}_sales",) * 2, CHARTS, look)


_AGES: Final = Series(
    across=("label_1", f"label_{AGE_ROWS}"),
    up=("cost_1", f"cost_{AGE_ROWS}"),
    of_form=INVENTORY,
    look="dark",
    labels="all",
    **_named("cost"),
)

MONEY_CHART: Final = Chart(
    "stacked",
    "Cash and inventory at cost, end of each month",
    "Month",
    _MONEY,
    (_months("cash", "dark"), _months("inventory", "light"), _months("latest_total", "unseen_line", labels="all")),
    by_month=True,
)
PROFIT_CHART: Final = Chart(
    "columns",
    "Net profit by month",
    "Month",
    _MONEY,
    (_months("earned", "dark"), _months("lost", "loss"), _months("latest", "unseen", labels="all")),
    by_month=True,
)
EVEN_CHART: Final = Chart(
    "points",
    "Sales and costs by items sold, at the averages of sheet Pay",
    "Items sold in the month",
    _MONEY,
    (
        _line("sales", "solid"),
        _line("costs", "dashed"),
        _line("fixed", "dotted"),
        _point("Break-even", "even", "ring"),
        _point("This month so far", "now", "point"),
    ),
)
AHEAD_CHART: Final = Chart(
    "lines",
    "Cash and inventory at cost in the weeks ahead",
    "Weeks from the as-of date",
    _MONEY,
    (
        _ahead("high", "dash_dot"),
        _ahead("middle", "solid", labels="last"),
        _ahead("low", "dashed"),
        _ahead("average", "dotted", odds=False, labels="last"),
    ),
)
_AGES_CHART: Final = Chart("columns", "Inventory at cost by days held", "Days held", _MONEY, (_AGES,))
# Words: key, formula.
# fmt: off
_CHARTS: Final[tuple[FormRow, ...]] = (
    heading("Where the money is"),
    words("money_says", 'IF({months}=0,"No month yet.","Cash "&FIXED({cash_now},2)&" and inventory at cost "'
          '&FIXED({inventory_now},2)&" on the as-of date.")'),
    heading("What each month earned"),
    words("profit_says", 'IF({months}=0,"No month yet.","Net profit so far "&FIXED({profit_so_far},2)'
          '&", in "&{months}&IF({months}=1," month."," months."))'),
    FormRow(chart=MONEY_CHART, beside=PROFIT_CHART),
    heading("Break-even of this month"),
    words("break_even_says", "Pay_month_words"),
    heading("Where the money may go"),
    words("forecast_says", 'IF(Pay_forecast_words="",Pay_pay_words,Pay_forecast_words)', lines=2),
    FormRow(chart=EVEN_CHART, beside=AHEAD_CHART),
    heading("How old the inventory is"),
    words("age_says", 'IF(MAX(Stale_days)<1,"Enter Stale after on Settings.","Of inventory at cost "'
          '&FIXED({inventory_now},2)&", "&FIXED({stale_cost},2)&" has waited "&Stale_days&" days or more.")'),
    FormRow(chart=_AGES_CHART),
)
# fmt: on


def _month_row(place: int) -> FormRow:
    row = f"{{month_row_{place}}}"
    none = f'{row}=""'
    by_month = (("cash", "closing_cash"), ("inventory", "closing_inventory"), ("profit", "profit"))
    on_money = f"MAX(0,{{months}}-{CHART_MONTHS})+{place}"
    cells = (
        cell(f"month_{place}", DATE, f"INDEX(Money_month,{row})", none, step=True, cell_format="yyyy-mm"),
        *(cell(f"{key}_{place}", MONEY, f"INDEX(Money_{column},{row})", none, step=True) for key, column in by_month),
        cell(f"month_row_{place}", QUANTITY, on_money, f"{{months}}<{place}", step=True, cell_format="0"),
    )
    return FormRow(cells=cells, heads_row=True)


def _even_row(place: int, sold: str) -> FormRow:
    """One end of the lines of the break-even chart."""
    costs = f"Pay_fixed_costs+Pay_variable_cost*{{sold_{place}}}"
    cells = (
        cell(f"sold_{place}", QUANTITY, sold, step=True),
        cell(f"sales_{place}", MONEY, f"Pay_price*{{sold_{place}}}", _NO_SALE, step=True),
        cell(f"costs_{place}", MONEY, costs, _NO_SALE, step=True),
        cell(f"fixed_{place}", MONEY, "Pay_fixed_costs", _NO_SALE, step=True),
    )
    return FormRow(cells=cells, heads_row=True)


def _point_row(key: str, sold: str, sales: str) -> FormRow:
    cells = (cell(f"{key}_sold", QUANTITY, sold, step=True), cell(f"{key}_sales", MONEY, sales, step=True))
    return FormRow(cells=cells, heads_row=True)


def _shown_row(place: int) -> FormRow:
    """What a chart shows of a month in columns or labels of their own."""
    row, profit = f"{{month_row_{place}}}", f"{{profit_{place}}}"
    none, not_latest = f'{row}=""', f"{row}<>{{months}}"
    cells = (
        ("earned", f'IF({profit}<0,"",{profit})', none),
        ("lost", f'IF({profit}<0,{profit},"")', none),
        ("latest", profit, not_latest),
        ("latest_total", f"{{cash_{place}}}+{{inventory_{place}}}", not_latest),
    )
    made = (cell(f"{key}_{place}", MONEY, text, blank, step=True) for key, text, blank in cells)
    return FormRow(cells=tuple(made), heads_row=True, since=10)


def _legend_row(key: str, says: str) -> FormRow:
    formula = f'"{says}"&IF(Currency="","",", "&Currency)'
    return FormRow(cells=(cell(f"{key}_legend", TEXT, formula, step=True),), heads_row=True, since=10)


# fmt: off
def _workings() -> tuple[FormRow, ...]:
    stale = 'SUMIFS(Log_cost_on_hand,Log_days_waiting,">="&Stale_days)'
    return (
        heading("Calculations (don't edit)"),
        FormRow("Months on Money", (cell("months", QUANTITY, "COUNT(Money_month)", step=True, cell_format="0"),)),
        FormRow("Cash now", (cell("cash_now", MONEY, "Pay_cash", step=True),)),
        FormRow("Inventory now", (cell("inventory_now", MONEY, "Pay_inventory_now", step=True),)),
        FormRow("Stale inventory", (cell("stale_cost", MONEY, stale, "MAX(Stale_days)<1", step=True),)),
        FormRow("Profit so far", (
            cell("profit_so_far", MONEY, "INDEX(Money_profit_so_far,{months})", "{months}=0", step=True),)),
        heading("Months", "cash", "inventory", "profit", "row"),
        *(_month_row(place) for place in range(1, CHART_MONTHS + 1)),
        heading("Items", "sales", "all costs", "fixed costs"),
        _even_row(1, "0"),
        _even_row(2, "2*MAX(1,Pay_break_even_items,Pay_month_items)"),
        _point_row("even", "MAX(Pay_break_even_items)", "MAX(Pay_break_even_sales)"),
        _point_row("now", "Pay_month_items+0", "Pay_month_sales+0"),
        heading("Earned in the month", "lost", "latest profit", "latest cash, inventory", since=10),
        *(_shown_row(place) for place in range(1, CHART_MONTHS + 1)),
        heading("Words of the legends", since=10),
        *(_legend_row(key, says) for key, says in LEGEND.items()),
    )
# fmt: on


def form() -> FormSheet:
    """Sheet Charts."""
    purpose = "Where the money is, what it earns, and where it may go."
    return FormSheet(CHARTS, CHARTS, purpose, (*_CHARTS, *_workings()), (26, 18, 18, 18, 18), 4)
