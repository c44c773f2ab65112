"""Sheet Pay: what may be taken out, and what a monthly pay asks for."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COUNT, MONEY, QUANTITY, RATE, RATIO, CellType
from sheetfns.functions.pay import NO_CASH
from sheetfns.log.model.sheets import AnyFormula, EditionFormula, FormCell, FormRow, FormSheet, Formula, FunctionCall
from sheetfns.log.sheets.form_rows import field, heading, result, words
from sheetfns.log.sheets.pay.steps import NOT_READY, pay_steps
from sheetfns.log.sheets.words import ODDS_EVERY, PAY, WEEKS_AHEAD

_CHANCE: Final = 5
"""The cell of GROWTH_ODDS with the chance that the pay is carried."""
_WEEKS: Final = range(ODDS_EVERY, WEEKS_AHEAD + 1, ODDS_EVERY)
_NO_SALE: Final = '{contribution}=""'
_NO_MARGIN: Final = "SUM({contribution})<=0"
_CLAIMS: Final = {
    "cash": "{cash}",
    "bills_due": "{bills_due}",
    "restock_reserve": "{restock_reserve}",
    "tax_reserve": "{tax_reserve}",
    "open_refunds": "{open_refunds}",
}
_NOTHING_TYPED: Final = "no bills, refunds, taxes or reserve are typed on Settings: type what has a claim on it first"
_NO_DRAW: Final = "{to_mend}>0"


def _this_month(amount: str, day: str) -> str:
    return f'SUMIFS({amount},{day},">="&{{month_start}},{day},"<"&INT(As_of_date)+1)'


def _setting(key: str, label: str, name: str) -> FormRow:
    return result(key, label, MONEY, Formula(f"MAX({name})"))


def _cell(key: str, kind: CellType, formula: AnyFormula, **rest: str) -> FormCell:
    return FormCell(key, kind, formula=formula, **rest)  # type: ignore[arg-type]


def _draw_rows() -> tuple[FormRow, ...]:
    left = ("{left_bills}", "{left_refunds}", "{left_taxes}", "{left_stock}")
    reached = "+".join(f"({cell}>0)" for cell in left)
    return (
        words(
            "answer",
            Formula(
                'IF({to_mend}>0,"Mend the amounts on Settings first",IF(ROUND({safe_draw},2)>0,'
                '"You may take out "&FIXED({safe_draw},2),"Take nothing out now"))'
            ),
            lines=1,
            emphasized=True,
        ),
        words(
            "reason",
            EditionFormula(
                Formula(
                    f'IF({{cash}}<=0,"{NO_CASH}",IF({{claims}}=0,"{_NOTHING_TYPED}",'
                    f"INDEX({{remark_1}}:{{remark_5}},1+{reached})))",
                    blank_if=_NO_DRAW,
                ),
                FunctionCall(
                    "DRAW_REMARK",
                    _CLAIMS,
                    blank_if=_NO_DRAW,
                    around=f'IF(AND({{claims}}=0,{{cash}}>0),"{_NOTHING_TYPED}",{{}})',
                ),
            ),
            lines=1,
        ),
        words(
            "count_words",
            Formula(
                'IF({count_row}="","Cash was never counted; count it before you take any out.",'
                'IF({count_off}=0,"Cash counted "&{count_age}&" days ago agreed with the log.",'
                '"Cash counted "&{count_age}&" days ago differed from the log by "'
                '&FIXED({count_off},2)&"; find out why before you take any out."))'
            ),
            lines=1,
        ),
        words(
            "profit_words",
            Formula(
                'IF(ROUND({profit_so_far},2)<0,"So far the business has lost "'
                '&FIXED(-{profit_so_far},2)&": what you take out is money that was put in.",'
                '"Net profit so far: "&FIXED({profit_so_far},2)&". Partners shows whose it is.")'
            ),
            lines=1,
        ),
        field(
            "What partners take out is no cost of the business: taxes are due on the profit, taken "
            "out or not. How much to keep for them, a licensed preparer can say."
        ),
        heading("What may be taken out now"),
        result("cash", "Cash by the log", MONEY, Formula("ROUND(Opening_cash+{cash_in}-{cash_out},2)")),
        _setting("bills_due", "Less bills not paid yet", "Bills_due"),
        _setting("open_refunds", "Less refunds not paid yet", "Open_refunds"),
        _setting("tax_reserve", "Less kept for taxes", "Tax_reserve"),
        _setting("restock_reserve", "Less kept for purchases", "Restock_reserve"),
        result("safe_draw", "May be taken out", MONEY, FunctionCall("SAFE_DRAW", _CLAIMS, blank_if=_NO_DRAW)),
    )


def _average_rows() -> tuple[FormRow, ...]:
    return (
        heading("One sale, on average"),
        words(
            "average_words",
            Formula(
                'IF({pieces}=0,"No piece was sold and kept in "&{days_words}&".",{pieces}'
                '&IF({pieces}=1," piece"," pieces")&" sold in "&{days_words}'
                '&", with what their refunds and discarded pieces cost."'
                '&IF({few_words}="",""," "&{few_words}))'
            ),
            lines=1,
        ),
        result(
            "price",
            "Price and shipping",
            MONEY,
            Formula("{net_sales}/{pieces}", blank_if="OR({pieces}=0,{net_sales}<0)"),
        ),
        result(
            "variable_cost",
            "Less what it costs",
            MONEY,
            Formula("MAX(0,{net_sales}-{net_profit}+{discarded})/{pieces}", blank_if='{price}=""'),
        ),
        result(
            "contribution",
            "Left for fixed costs and pay",
            MONEY,
            FunctionCall(
                "CONTRIBUTION_MARGIN", {"price": "{price}", "variable_cost": "{variable_cost}"}, blank_if='{price}=""'
            ),
        ),
        result(
            "ratio",
            "As a share of the price",
            RATIO,
            Formula("{contribution}/{price}", blank_if=f"OR({_NO_SALE},SUM({{price}})=0)"),
        ),
    )


def _month_rows() -> tuple[FormRow, ...]:
    fixed = {"fixed_costs": "{fixed_costs}"}
    return (
        heading("Break-even of a month"),
        result(
            "fixed_costs",
            "Fixed costs a month",
            MONEY,
            Formula("IF(ISNUMBER(Fixed_costs),Fixed_costs,{expenses}/{days_counted}*Month_days)"),
        ),
        result(
            "break_even_pieces",
            "Break-even, pieces",
            QUANTITY,
            FunctionCall(
                "BREAK_EVEN_UNITS",
                fixed | {"price": "{price}", "variable_cost": "{variable_cost}"},
                blank_if=_NO_MARGIN,
            ),
        ),
        result(
            "break_even_sales",
            "Break-even, sales",
            MONEY,
            FunctionCall("BREAK_EVEN_SALES", fixed | {"margin_ratio": "{ratio}"}, blank_if=_NO_MARGIN),
        ),
        result("month_pieces", "Pieces this month so far", COUNT, Formula(_this_month("Log_kept", "Log_sold_on"))),
        result("month_sales", "Sales this month so far", MONEY, Formula(_this_month("Log_net_sales", "Log_sold_on"))),
        result(
            "month_safety",
            "Margin of safety of the month",
            RATIO,
            FunctionCall(
                "MARGIN_OF_SAFETY",
                {"actual": "{month_sales}", "break_even": "{break_even_sales}"},
                blank_if='OR({break_even_sales}="",{month_sales}<=0)',
            ),
        ),
        words(
            "month_words",
            Formula(
                'IF({break_even_sales}="",{no_margin_words},'
                'IF(ROUND({break_even_sales}-{month_sales},2)>0,"This month needs sales of "'
                "&FIXED(ROUND({break_even_sales}-{month_sales},2),2)"
                '&" more to cover its fixed costs.",{covered_words}))'
            ),
            lines=1,
        ),
    )


def _needed_and_now(
    labels: tuple[str, str], kind: CellType, needed: tuple[str, str, int], now: tuple[str, str]
) -> FormRow:
    """What a pay asks for, from STOCK_FOR_PAY, beside what there is.

    Args:
        labels: label and unit.
        kind: of both figures.
        needed: key, ordinary formula, and its place among the cells of STOCK_FOR_PAY.
        now: key and formula of what there is.
    """
    label, unit = labels
    key, plain, place = needed
    arguments = {
        "pay": "{pay_wanted}",
        "fixed_costs": "{fixed_costs}",
        "profit_per_piece": "{contribution}",
        "sold_rate_per_month": "{sold_share}",
        "cost_per_piece": "{cost_per_piece}",
    }
    blank = f"OR({_NO_MARGIN},SUM({{sold_share}})<=0)"
    formula = EditionFormula(
        Formula(plain, blank), FunctionCall("STOCK_FOR_PAY", arguments, blank, around=f"INDEX({{}},1,{place})")
    )
    return FormRow(label, (_cell(key, kind, formula), _cell(now[0], kind, Formula(now[1]))), unit)


def _pay_rows() -> tuple[FormRow, ...]:
    pieces = "({pay_wanted}+{fixed_costs})/{contribution}"
    return (
        heading("A monthly pay", "asks for", "there is"),
        FormRow(
            "Left in an average month",
            (
                _cell("month_needs", MONEY, Formula("{pay_wanted}+{fixed_costs}")),
                _cell("month_brings", MONEY, Formula("{contribution}*{month_pace}", blank_if=_NO_SALE)),
            ),
            "money",
        ),
        _needed_and_now(
            ("Pieces sold a month", "pieces"),
            QUANTITY,
            ("pieces_needed", pieces, 1),
            ("month_pace", "{pieces}/{days_counted}*Month_days"),
        ),
        _needed_and_now(
            ("Pieces on offer in the month", "pieces"),
            QUANTITY,
            ("listed_needed", f"{pieces}/{{sold_share}}", 2),
            ("on_offer", "{listed_now}+{month_pace}"),
        ),
        _needed_and_now(
            ("Their cost", "money"),
            MONEY,
            ("cost_needed", f"{pieces}/{{sold_share}}*{{cost_per_piece}}", 3),
            ("offer_cost", "{listed_cost}+{month_pace}*SUM({cost_per_piece})"),
        ),
        words(
            "pay_words",
            Formula(
                'IF({pay_wanted}=0,"Write the pay that you want a month on Settings.",'
                'IF({contribution}="",{no_margin_words},{pay_gap_words}))'
            ),
            lines=1,
        ),
        words(
            "outlook_words",
            Formula(
                'IF({ready}<>1,{not_ready_words},TRIM(IF({pay_wanted}=0,"",{weeks_words})'
                '&" "&{worth_words}&" "&{limit_words}))'
            ),
            lines=2,
        ),
    )


def _odds(week: int, place: int) -> EditionFormula:
    arguments = {
        "costs": "Log_history_cost",
        "profits": "Log_history_profit",
        "days": "Log_history_days",
        "sold_flags": "Log_history_over",
        "stake": "{left_taxes}",
        "weeks": "COUNT(Outlook_week)",
        "fixed_costs_week": "{fixed_week}",
        "pay_week": "{pay_week}",
        "pay_from_reserve": "Restock_reserve",
        "buying_limit_week": "{limit_week}",
        "opening_stock": "{stock_now}",
        "paths": "Outlook_paths",
    }
    blank = "OR({odds_ready}<>1,{pay_wanted}=0)" if place == _CHANCE else "{odds_ready}<>1"
    call = FunctionCall("GROWTH_ODDS", arguments, blank, around=f"INDEX({{}},{week},{place})")
    return EditionFormula(Formula('""'), call)


def _outlook_rows() -> tuple[FormRow, ...]:
    def week_row(week: int) -> FormRow:
        cells = (
            _cell(f"week_{week}", COUNT, Formula(f"INDEX(Outlook_week,{week})"), cell_format='"Week "0'),
            _cell(f"average_{week}", MONEY, Formula(f"INDEX(Outlook_worth,{week})", NOT_READY)),
            _cell(f"low_{week}", MONEY, _odds(week, 2)),
            _cell(f"middle_{week}", MONEY, _odds(week, 3)),
            _cell(f"high_{week}", MONEY, _odds(week, 4)),
            _cell(f"chance_{week}", RATE, _odds(week, _CHANCE), cell_format="0%"),
        )
        return FormRow(cells=cells, heads_row=True)

    return (
        heading("Cash and stock ahead, by week", "average", "low", "middle", "high", "pay carried"),
        field(
            "Cash without bills, refunds and taxes, and stock at cost, less what is owed. Average: "
            "sheet Outlook. Low, middle, high: of ten courses drawn from all pieces of the log one "
            "ends below low, five below middle, nine below high. Pay carried: the chance of the "
            "whole pay in every week from this one to the last; near the end few weeks are left to "
            "fail. It tells of the past of this log, not of what the market will do.",
            lines=3,
        ),
        words(
            "odds_remark",
            EditionFormula(
                Formula(
                    '"Low, middle, high and chances are worked out in the functions edition, or by '
                    'the command outlook."'
                ),
                Formula(
                    'IF({ready}<>1,{not_ready_words},IF({odds_ready}<>1,"Odds need two sales of '
                    'pieces that cost something, and no more than 20,000 pieces.",'
                    'TRIM({chance_words}&" "&{odds_words})))'
                ),
            ),
            lines=1,
        ),
        *(week_row(week) for week in _WEEKS),
    )


def pay_form() -> FormSheet:
    """Sheet Pay."""
    rows = (*_draw_rows(), *_average_rows(), *_month_rows(), *_pay_rows(), *_outlook_rows(), *pay_steps(_odds(1, 6)))
    return FormSheet(
        PAY, PAY, "What may be taken out now, and what a monthly pay asks for.", rows, (34, 13, 13, 13, 13, 13), 4
    )
