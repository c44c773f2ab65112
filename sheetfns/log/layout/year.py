"""Sheet Year end: the figures of one tax year."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from sheetfns.log.layout.parts import stock_before
from sheetfns.log.layout.words import (
    DISCARDED,
    DONATED,
    FROM_THE_LOG,
    HEADING_ROWS,
    OWN_USE,
    RELISTED,
)
from sheetfns.log.sheets import FigureLine, Plain


def in_year(amount: str, day: str, also: str = "") -> str:
    """A sum over the rows dated within the tax year."""
    return f'SUMIFS({amount},{day},">="&Year_start,{day},"<"&Year_end+1{also})'


def left_in_year(how: str) -> str:
    """Landed cost of the pieces that left in a way other than by sale within the tax year."""
    return in_year("Log_landed_cost", "Log_left_on", f',Log_left_how,"{how}"')


_FROM_THE_LOG: Final = {
    "fees": ("Fees of the channels", in_year("Log_fee", "Log_sold_on")),
    "postage": ("Postage paid", in_year("Log_postage_used", "Log_sold_on")),
    "packing": ("Packing per parcel", in_year("Log_packing_used", "Log_sold_on")),
    "miles": ("Miles at the rate of their date", in_year("Trips_deduction", "Trips_driven_on")),
}
"""What the log adds to the expense heading that names it on Settings."""


def _heading_line(place: int) -> FigureLine:
    """One expense heading: what the log adds, what stands on Expenses, and both together."""
    heading = f"INDEX(Heading_heading,{place})"
    lines = f"INDEX(Heading_line_old,{place}),INDEX(Heading_line_new,{place})"
    named = f"INDEX(Heading_from_log,{place})"
    from_log = "+".join(f'({named}="{word}")*{{log_{word}}}' for word in FROM_THE_LOG)
    unused = f'{{heading_{place}.label}}=""'
    spent = in_year("Expenses_amount", "Expenses_spent_on", f",Expenses_heading,{heading}")
    return FigureLine(
        f"heading_{place}",
        f'=IF({heading}="","",{heading})',
        Plain(f"{{heading_{place}.from_log}}+{{heading_{place}.entered}}", unused),
        f'=IF({heading}="","",IF(Tax_year<Lines_change,{lines}))',
        from_log=Plain(from_log, unused),
        entered=Plain(spent, unused),
    )


def _to_the_cent(formula: Plain | None) -> Plain | None:
    """Sums of cents, without the noise of adding them in binary."""
    return None if formula is None else replace(formula, text=f"ROUND({formula.text},2)")


def year_lines() -> tuple[FigureLine, ...]:
    """The lines of sheet Year end, from top to bottom."""
    return tuple(
        replace(
            line,
            formula=_to_the_cent(line.formula),
            from_log=_to_the_cent(line.from_log),
            entered=_to_the_cent(line.entered),
        )
        for line in _LINES
    )


# Line numbers of Schedule C (Form 1040): 1, 2, 4, 35 to 42 and those of the expense headings were
# read in a copy that cites the form; 3, 5, 28, 29 and 31 are from memory.
_LINES: Final = (
    FigureLine("h_receipts", "Receipts", heading=True),
    FigureLine(
        "gross_receipts",
        "Gross receipts: prices and shipping charged",
        Plain(in_year("Log_income", "Log_sold_on")),
        "1",
        "Before fees and refunds; sales tax that a channel pays over itself is left out.",
    ),
    FigureLine(
        "returns",
        "Refunds paid",
        Plain(in_year("Log_refund", "Log_refund_day")),
        "2",
        "By the day of the refund.",
    ),
    FigureLine(
        "net_receipts", "Net receipts", Plain("{gross_receipts}-{returns}"), "3", strong=True
    ),
    FigureLine("h_cost", "Cost of goods sold, step by step", heading=True),
    FigureLine(
        "opening_stock",
        "Stock at cost on the first day",
        Plain(stock_before("Year_start")),
        "35",
    ),
    FigureLine(
        "purchases",
        "Purchases: pieces and lots, with tax and prep",
        Plain(
            in_year("Log_outlay", "Log_stock_date") + "+" + in_year("Lots_total", "Lots_bought_on")
        ),
    ),
    FigureLine(
        "own_use",
        "Less taken for own use or donated, at cost",
        Plain(f"{left_in_year(OWN_USE)}+{left_in_year(DONATED)}"),
        note="Ask your preparer how donated stock is treated.",
    ),
    FigureLine("net_purchases", "Purchases less own use", Plain("{purchases}-{own_use}"), "36"),
    FigureLine(
        "available",
        "Available for sale",
        Plain("{opening_stock}+{net_purchases}"),
        "40",
    ),
    FigureLine(
        "closing_stock",
        "Stock at cost on the last day",
        Plain(stock_before("Year_end+1")),
        "41",
        "Count your stock and compare.",
    ),
    FigureLine(
        "cost_of_goods_sold",
        "Cost of goods sold",
        Plain("{available}-{closing_stock}"),
        "42 and 4",
        "Cost of pieces sold and discarded.",
        strong=True,
    ),
    FigureLine(
        "gross_profit",
        "Gross profit",
        Plain("{net_receipts}-{cost_of_goods_sold}"),
        "5",
        strong=True,
    ),
    FigureLine("h_from_log", "What the log adds to the expenses", heading=True),
    *(
        FigureLine(f"log_{word}", label, Plain(formula))
        for word, (label, formula) in _FROM_THE_LOG.items()
    ),
    FigureLine("h_expenses", "Expenses by line", heading=True),
    *(_heading_line(place) for place in range(1, HEADING_ROWS + 1)),
    FigureLine(
        "total_expenses",
        "Total expenses",
        Plain(f"SUM({{heading_1}}:{{heading_{HEADING_ROWS}}})"),
        "28",
        strong=True,
    ),
    FigureLine(
        "net_profit",
        "Net profit of the year",
        Plain("{gross_profit}-{total_expenses}"),
        "29",
        "Before home office and what your preparer adds; with them it is line 31.",
        strong=True,
    ),
    FigureLine("h_ties", "Tie-outs (each must be 0.00)", heading=True),
    FigureLine(
        "tie_cost",
        "Cost of goods sold less cost of pieces sold and discarded",
        Plain(
            f"{{cost_of_goods_sold}}-{in_year('Log_landed_cost', 'Log_sold_on')}"
            f"+{in_year('Log_landed_cost', 'Log_returned_on')}-{left_in_year(DISCARDED)}"
            f"+{in_year('Log_carried_over', 'Log_stock_date')}-{left_in_year(RELISTED)}"
        ),
    ),
    FigureLine(
        "tie_money",
        "Net profit and miles less the months on Money",
        Plain("{net_profit}+{log_miles}-" + in_year("Money_profit", "Money_month")),
    ),
)
