"""Sheet Checks: everything that the workbook looks at by itself."""

from __future__ import annotations

from sheetfns.log.layout.parts import stock_before
from sheetfns.log.layout.words import MONTHS, RELISTED, ROW_ONE, SETTINGS, YEAR_END
from sheetfns.log.sheets import Check, RowCheck, TableSheet


def _table_checks(table: TableSheet) -> list[Check]:
    def counted(check: RowCheck) -> Check:
        pattern = '"*"&{label}&"*"'
        rows = f"{table.key}_row_check"
        return Check(
            f"{table.key}_{check.key}",
            table.name,
            check.message,
            f"COUNTIF({rows},{pattern})",
            f'IFERROR(MATCH({pattern},{rows},0)+{ROW_ONE},"")',
            check.notice,
        )

    below = f"'{table.name}'!$A${table.last_row + 1}:$A${table.last_row + 2000}"
    return [
        *(counted(check) for check in table.checks),
        Check(
            f"{table.key}_below",
            table.name,
            "entries stand below the last ready row, where no formulas are",
            f"COUNTA({below})",
            f'IF(COUNTA({below})>0,{table.last_row + 1},"")',
        ),
        _error_check(table),
    ]


def _error_check(table: TableSheet) -> Check:
    return Check(
        f"{table.key}_errors",
        table.name,
        "a cell shows an error",
        f'ISERROR(SUM({table.key}_all))+COUNTIF({table.key}_all,"#ERR*")',
    )


def all_checks(tables: tuple[TableSheet, ...]) -> tuple[Check, ...]:
    """Every check: those of the rows, sheet by sheet, and those of the whole workbook."""
    found: list[Check] = []
    for table in tables:
        if table.checks:
            found += _table_checks(table)
    money = next(table for table in tables if table.key == "Money")
    last = "N(INDEX(Money_closing_stock,MAX(1,COUNT(Money_month))))"
    found += [
        _error_check(money),
        Check(
            "Money_tie_out",
            money.name,
            "months in which cash, stock, owner money and profit do not tie",
            'COUNTIF(Money_tie_out,">0.004")+COUNTIF(Money_tie_out,"<-0.004")',
        ),
        Check(
            "Money_stock",
            money.name,
            "closing stock is not the landed cost of the pieces on hand",
            f"(ROUND({last}-({stock_before('As_of_date+1')}),2)<>0)*1",
        ),
        Check(
            "Money_months",
            money.name,
            "the log runs on after the last month on Money",
            f"(As_of_date>=DATE(YEAR(First_month),MONTH(First_month)+{MONTHS},1))*1",
        ),
        Check(
            "Money_relisted",
            money.name,
            "cost carried over to relisted pieces is not what left the old rows",
            f'(ROUND(SUM(Log_carried_over)-SUMIFS(Log_landed_cost,Log_left_how,"{RELISTED}"),2)<>0)*1',
        ),
        Check(
            "Year_tie_cost",
            YEAR_END,
            "cost of goods sold is not the cost of pieces sold and discarded",
            "(Year_tie_cost<>0)*1",
        ),
        Check(
            "Year_tie_money",
            YEAR_END,
            "the year's net profit is not that of its months",
            "(Year_tie_money<>0)*1",
        ),
        Check(
            "Settings_first",
            SETTINGS,
            "first month of this log is not the first day of a month",
            "(DAY(First_month)<>1)*1",
        ),
        Check(
            "Settings_order",
            SETTINGS,
            "first month of this log is after the day that figures are as of",
            "(First_month>As_of_date)*1",
        ),
        Check(
            "Settings_shares",
            SETTINGS,
            "the partners' shares do not add up to 100 %",
            "(ROUND(SUM(Partner_share)-1,6)<>0)*1",
        ),
        Check(
            "Settings_band",
            SETTINGS,
            "a channel has a band limit and no rate above it",
            'COUNTIF(Channel_band_limit,">=0")'
            '-COUNTIFS(Channel_band_limit,">=0",Channel_rate_above,">=0")',
        ),
        Check(
            "Settings_rate",
            SETTINGS,
            "a channel's fee rates are below 0 or take the whole sale",
            "SUMPRODUCT((Channel_rate*(1+Channel_tax_rate)+Channel_ad_rate>=1)*1)"
            '+COUNTIF(Channel_rate,"<0")',
        ),
    ]
    return tuple(found)
