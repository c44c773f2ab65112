"""Sheet Buying plan: several candidates at once, and which of them the cash should buy."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COST, COUNT, DURATION, MONEY, RATIO
from sheetfns.log.model.sheets import Column, EditionFormula, Formula, FunctionCall, RowCheck, TableSheet
from sheetfns.log.sheets.columns import (
    below_zero,
    channel_columns,
    fee_terms,
    findings_column,
    grouped,
    money_column,
    row_check_column,
    text_among_numbers,
    text_column,
    working_column,
)
from sheetfns.log.sheets.words import BY_DAY, KEY_STEP, PLAN_ROWS, ROW_ONE

_NUMBERS: Final = (("ticket", "postage"), ("most", "days_to_sell"))

PLAN_CHECKS: Final = (
    RowCheck("no_piece", "the piece is blank", 'AND({piece}="",COUNTA({ticket}:{days_to_sell})>0)'),
    RowCheck("not_a_number", "text in place of a number", text_among_numbers(_NUMBERS)),
    RowCheck("negative", "an amount is below 0", below_zero(_NUMBERS)),
    RowCheck("no_price", "fill in ticket and expected price", 'AND({piece}<>"",COUNT({ticket}:{expected_price})<2)'),
    RowCheck("no_channel", "channel is blank or not on Settings", 'AND({piece}<>"",{channel_row}="")'),
    RowCheck("part", "count is no whole number", "SUM({most})<>INT(SUM({most}))"),
    RowCheck(
        "no_days",
        "fill in days to sell (plan by day)",
        f'AND({{piece}}<>"",Plan_by="{BY_DAY}",SUM({{days_to_sell}})<=0)',
    ),
)

_READY: Final = '{profit}=""'
_BUDGET: Final = "MAX(0,Trip_cash-Trip_reserve)"
_BETTER: Final = 'SUMIFS(Plan_all_cost,Plan_rank,"<"&{rank})'

_RESULTS: Final = (
    money_column(
        "profit",
        "Net profit of one",
        "What one would leave if it sells as expected.",
        MONEY,
        formula=FunctionCall(
            "NET_PROFIT",
            {
                "price": "{expected_price}",
                "shipping": "{postage_used}",
                "fee": "{fee}",
                "postage": "{postage_used}",
                "packing": "Usual_packing",
                "landed_cost": "{landed_cost}",
            },
            blank_if='OR({fee}="",{landed_cost}="")',
        ),
    ),
    Column(
        "return_on_cost",
        "Return on cost",
        RATIO,
        "Net profit for each unit of money put in.",
        9,
        unit="%",
        formula=FunctionCall(
            "RETURN_ON_COST",
            {"net_profit": "{profit}", "landed_cost": "{landed_cost}"},
            blank_if='OR({profit}="",SUM({landed_cost})=0)',
        ),
    ),
    money_column(
        "ceiling",
        "Most to pay",
        "The highest ticket price at which your wishes on Settings hold; rounded down.",
        MONEY,
        formula=FunctionCall(
            "BUY_CEILING",
            {
                "expected_price": "{expected_price}",
                "shipping": "{postage_used}",
                "postage": "{postage_used}",
                "packing": "Usual_packing",
                "rate": "0",
                "per_order": "{fee}",
                "target_profit": "Wanted_profit",
                "target_return": "Wanted_return",
                "tax_rate": "0",
                "prep_cost": "0",
                "purchase_tax_rate": "Buying_tax_rate",
            },
            blank_if=_READY,
            around="INT(ROUND(100*{},6))/100",
        ),
    ),
    Column(
        "rank",
        "Rank",
        COUNT,
        "By net profit for the cash; pieces with a remark, which are not bought, last.",
        6,
        unit="place",
        formula=Formula('COUNTIF(Plan_key,">"&{key})+1', blank_if='{key}=""'),
    ),
    Column(
        "buy",
        "Buy",
        COUNT,
        "Functions edition: the best choice under the cash. Plain: down the ranking, up to the "
        "first that the cash left does not pay. Nothing that is over your most to pay.",
        6,
        unit="pieces",
        formula=EditionFormula(
            plain=Formula(
                f"IF({{profit}}<=0,0,IF({{landed_cost}}=0,{{most_used}},"
                f"MAX(0,MIN({{most_used}},INT(ROUND(({_BUDGET}-{_BETTER})/{{landed_cost}},9))))))",
                blank_if='{key}=""',
            ),
            functions=FunctionCall(
                "BUY_PLAN",
                {
                    "costs": "Plan_cost_used",
                    "profits": "Plan_profit_used",
                    "cash": "Trip_cash",
                    "days_to_sell": "Plan_days_used",
                    "most_of_each": "Plan_most_used",
                    "reserve": "Trip_reserve",
                },
                blank_if='{key}=""',
                around=f"INDEX({{}},ROW()-{ROW_ONE})",
            ),
        ),
    ),
    money_column(
        "buy_cost",
        "Cash for it",
        "Tickets and tax of those to buy.",
        MONEY,
        formula=Formula("{buy}*{landed_cost}", blank_if='{buy}=""'),
    ),
    money_column(
        "buy_profit",
        "Profit of it",
        "Net profit of those to buy.",
        MONEY,
        formula=Formula("IF({buy}=0,0,{buy}*{profit})", blank_if='{buy}=""'),
    ),
    text_column(
        "plan_remark",
        "Remark",
        "Why none is bought, however much it would earn: it misses your wishes on Settings.",
        20,
        formula=Formula(
            'IF(ROUND({ticket}-{ceiling},2)>0,"over your most to pay",'
            'IF(ROUND({profit}-Wanted_profit,2)<0,"no price is low enough",""))',
            blank_if='{ceiling}=""',
        ),
    ),
    row_check_column("piece"),
)


def buying_plan_sheet() -> TableSheet:
    """Sheet Buying plan."""
    inputs = (
        text_column("piece", "Piece", "Your own word for it.", 24),
        money_column("ticket", "Ticket price", "What is asked for one, without tax."),
        money_column("expected_price", "Expected price", "What one will sell for; see Shelf check."),
        money_column("postage", "Postage", "What the label of one will cost; blank if 0."),
        text_column("channel", "Channel", "Where you will sell it.", 14, names="Channel_name"),
        Column("most", "At most", COUNT, "How many there are, or you want; blank: 1.", 7, unit="pieces"),
        Column(
            "days_to_sell",
            "Days to sell",
            DURATION,
            "As you think; needed to plan by the day.",
            8,
            unit="days",
            cell_format="0",
        ),
    )
    workings = (
        *channel_columns(),
        working_column("postage_used", "Postage used", COST, Formula("MAX(0,{postage})", '{piece}=""'), "0 if blank."),
        working_column(
            "landed_cost",
            "Landed cost",
            MONEY,
            Formula(
                "ROUND({ticket}*(1+Buying_tax_rate),2)", blank_if='OR({piece}="",COUNT({ticket})=0,SUM({ticket})<0)'
            ),
            "Ticket and sales tax.",
        ),
        working_column(
            "fee",
            "Fee",
            MONEY,
            FunctionCall(
                "SELLING_FEE",
                {"price": "{expected_price}", "shipping": "{postage_used}", **fee_terms()},
                blank_if='OR({piece}="",{channel_row}="",COUNT({expected_price})=0,MIN({expected_price},{postage})<0)',
            ),
            "What the channel's terms give.",
        ),
        working_column(
            "most_used",
            "Most used",
            COUNT,
            Formula('IF({plan_remark}<>"",0,IF(COUNT({most})*(SUM({most})>=0)=0,1,INT({most})))', blank_if=_READY),
            "1 if blank; 0 with a remark, so that neither edition buys it.",
        ),
        working_column(
            "days_used",
            "Days used",
            COUNT,
            Formula(f'IF(Plan_by="{BY_DAY}",SUM({{days_to_sell}}),1)', blank_if=_READY),
            "1 unless the plan goes by the day.",
        ),
        working_column(
            "all_cost",
            "Cost of all",
            MONEY,
            Formula(
                f"IF(AND({{profit}}>0,{{landed_cost}}<={_BUDGET}),{{most_used}}*{{landed_cost}},0)", blank_if=_READY
            ),
            "What all of them cost; 0 if not even one is within the cash.",
        ),
        working_column(
            "key",
            "Order",
            COUNT,
            # Free pieces stand first; a return is ranked to the hundredth of a percent. What is
            # not bought comes after all that may be: by more than the highest return. Without the
            # inner ROUND programs would not agree on halves that have noise in their last digit.
            Formula(
                f"ROUND(ROUND(10000*(MIN(1000,MAX(-1000,IF({{landed_cost}}=0,SIGN({{profit}})*1000,"
                f"{{profit}}/{{days_used}}/{{landed_cost}})))"
                f'-({{plan_remark}}<>"")*2*1000),6),0)*{KEY_STEP}-ROW()',
                blank_if=f"OR({_READY},SUM({{days_used}})<=0)",
            ),
            "Orders the rows: with a remark last, by profit for the cash, then by row.",
        ),
        working_column(
            "cost_used",
            "Cost used",
            MONEY,
            Formula("{landed_cost}", blank_if='{key}=""'),
            "Landed cost of a row that can be planned.",
        ),
        working_column(
            "profit_used",
            "Profit used",
            MONEY,
            Formula("{profit}", blank_if='{key}=""'),
            "Net profit of a row that can be planned.",
        ),
        findings_column(PLAN_CHECKS),
    )
    return TableSheet(
        "Buying plan",
        "Plan",
        "Several pieces at once: which to buy with the cash on Settings, none over your most to "
        "pay. The plain edition goes down the ranking; only the functions edition works out the "
        "best choice.",
        (*grouped("Candidate", inputs), *grouped("Results", _RESULTS), *workings),
        PLAN_ROWS,
        PLAN_CHECKS,
    )
