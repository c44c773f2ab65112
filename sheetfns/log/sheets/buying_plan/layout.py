"""Sheet Buying plan: several candidates at once, and which of them the cash should buy."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COST, COUNT, DURATION, MONEY, RATIO, TEXT
from sheetfns.log.model.sheets import Column, EditionFormula, Formula, FunctionCall, TableSheet
from sheetfns.log.sheets.buying_plan.validate import CHECKS
from sheetfns.log.sheets.columns import (
    DOWN_TO_THE_CENT,
    around_entries,
    channel_columns,
    channel_or_default,
    entry,
    fee_terms,
    findings_column,
    grouped,
    result,
    row_check_column,
    rows_of,
    step,
)
from sheetfns.log.sheets.words import BY_DAY, KEY_STEP, PLAN_ROWS, ROWS_ABOVE

BUDGET: Final = "MAX(0,Pay_buying_cash-Trip_reserve)"
_NO_PROFIT: Final = '{profit}=""'
_NO_KEY: Final = '{key}=""'
_BETTER: Final = 'SUMIFS(Plan_all_cost,Plan_rank,"<"&{rank})'
_SALE: Final = {"price": "{expected_price}", "shipping": "{postage_used}"}


def most_to_pay(price: str, fee: str) -> dict[str, str]:
    """The arguments by which the targets on Settings limit what is paid for an item."""
    return {
        "expected_price": price,
        "shipping": "{postage_used}",
        "postage": "{postage_used}",
        "packaging": "Usual_packaging",
        "rate": "0",
        "per_order": fee,
        "target_profit": "Target_profit",
        "target_return": "Target_return",
        "tax_rate": "0",
        "prep_cost": "0",
        "purchase_tax_rate": "Buying_tax_rate",
    }


def net_proceeds(sale: dict[str, str]) -> dict[str, str]:
    """The arguments of what is left of a sale for the item; the buyer pays the postage."""
    return {**sale, "fee": "{fee}", "postage": "{postage_used}", "packaging": "Usual_packaging"}


def net_profit(sale: dict[str, str]) -> dict[str, str]:
    """The arguments of what is left of a sale in the end."""
    return {**net_proceeds(sale), "landed_cost": "{landed_cost}"}


_DOWN_THE_RANKING: Final = Formula(
    "IF({profit}<=0,0,IF({landed_cost}=0,{maximum_used},"
    f"MAX(0,MIN({{maximum_used}},INT(ROUND(({BUDGET}-{_BETTER})/{{landed_cost}},9))))))",
    blank_if=_NO_KEY,
)
_BEST_CHOICE: Final = FunctionCall(
    "BUY_PLAN",
    {
        "costs": rows_of("Plan_cost_used"),
        "profits": rows_of("Plan_profit_used"),
        "cash": "Pay_buying_cash",
        "days_to_sell": rows_of("Plan_days_used"),
        "maximum_of_each": rows_of("Plan_maximum_used"),
        "reserve": "Trip_reserve",
    },
    blank_if=_NO_KEY,
    around=f"INDEX({{}},ROW()-{ROWS_ABOVE})",
)
_ORDER: Final = (
    "ROUND(ROUND(10000*(MIN(1000,MAX(-1000,IF({landed_cost}=0,SIGN({profit})*1000,{profit}/{days_used}/{landed_cost})))"
    f'-({{plan_remark}}<>"")*2*1000),6),0)*{KEY_STEP}-ROW()'
)
"""Free items stand first; a return is ranked to the hundredth of a percent.

What is not bought comes after all that may be: by more than the highest return. Without the inner ROUND programs would
not agree on halves that have noise in their last digit.
"""

# Tables: key, header, type, width, help of what is typed; with the formula before the help of what is worked out;
# a step has no width.
# fmt: off
_INPUTS: Final = grouped("Candidate", (
    entry("item", "Item", TEXT, 24, "Your own name for it."),
    entry("price_tag", "Price tag", COST, 10.5, "The price of one, before tax."),
    entry("expected_price", "Expected price", COST, 10.5, "What one will sell for; see Shelf check."),
    entry("postage", "Postage", COST, 10.5, "What one shipping label will cost; blank if 0."),
    entry("channel", "Channel", TEXT, 14, "Where you will sell it; blank: the default channel on Settings.",
          names="Channel_name"),
    entry("maximum", "At most", COUNT, 7, "How many there are, or you want; blank: 1."),
    entry("days_to_sell", "Days to sell", DURATION, 8, "Your estimate; needed to plan by profit per "
                                                       "day.", cell_format="0"),
))
_RESULTS: Final = grouped("Results", (
    result("profit", "Net profit of one", MONEY, 10.5,
           FunctionCall("NET_PROFIT", net_profit(_SALE), 'OR({fee}="",{landed_cost}="")'),
           "Net profit of one if it sells as expected."),
    result("return_on_cost", "Return on cost", RATIO, 9,
           FunctionCall("RETURN_ON_COST", {"net_profit": "{profit}", "landed_cost": "{landed_cost}"},
                        'OR({profit}="",SUM({landed_cost})=0)'),
           "Net profit as a share of landed cost."),
    result("ceiling", "Most to pay", MONEY, 10.5,
           FunctionCall("BUY_CEILING", most_to_pay("{expected_price}", "{fee}"), _NO_PROFIT, DOWN_TO_THE_CENT),
           "The highest price tag that meets your targets on Settings; rounded down."),
    result("rank", "Rank", COUNT, 6, 'COUNTIF(Plan_key,">"&{key})+1',
           "By net profit for the cash; items with a remark, which aren't bought, come last.",
           blank_if=_NO_KEY, unit="place"),
    result("buy", "Buy", COUNT, 6, EditionFormula(_DOWN_THE_RANKING, _BEST_CHOICE),
           "Functions edition: the best choice for the cash. Plain: down the ranking, up to the first that the "
           "remaining cash doesn't cover. Nothing over your most to pay."),
    result("buy_cost", "Plan cost", MONEY, 10.5, "{buy}*{landed_cost}", "Price tags and tax of those to buy.",
           blank_if='{buy}=""'),
    result("buy_profit", "Plan profit", MONEY, 10.5, "IF({buy}=0,0,{buy}*{profit})", "Net profit of those to buy.",
           blank_if='{buy}=""'),
    result("plan_remark", "Remark", TEXT, 20,
           'IF(ROUND({price_tag}-{ceiling},2)>0,"over your most to pay",'
           'IF(ROUND({profit}-Target_profit,2)<0,"no price is low enough",""))',
           "Why none is bought: it misses your targets on Settings.",
           blank_if='{ceiling}=""'),
))
_WORKINGS: Final = (
    step("channel_used", "Channel used", TEXT, channel_or_default("{channel}"), "The default channel if it is blank.",
         blank_if='{item}=""', not_compared="its row in the table of channels is compared"),
    *channel_columns("channel_used"),
    step("postage_used", "Postage used", COST, "MAX(0,{postage})", "0 if blank.", blank_if='{item}=""'),
    step("landed_cost", "Landed cost", MONEY, "ROUND({price_tag}*(1+Buying_tax_rate),2)", "Price tag and sales tax.",
         blank_if='OR({item}="",COUNT({price_tag})=0,SUM({price_tag})<0)'),
    step("fee", "Fee", MONEY,
         FunctionCall("SELLING_FEE", _SALE | fee_terms(), 'OR({item}="",{channel_row}="",'
                      "COUNT({expected_price})=0,MIN({expected_price},{postage})<0)"),
         "The fee by the channel's terms."),
    step("maximum_used", "Maximum used", COUNT,
         'IF({plan_remark}<>"",0,IF(COUNT({maximum})*(SUM({maximum})>=0)=0,1,INT({maximum})))',
         "1 if blank; 0 with a remark, so that neither edition buys it.", blank_if=_NO_PROFIT),
    step("days_used", "Days used", COUNT, f'IF(Plan_by="{BY_DAY}",SUM({{days_to_sell}}),1)',
         "1 unless the plan goes by the day.", blank_if=_NO_PROFIT),
    step("all_cost", "Cost of all", MONEY,
         f"IF(AND({{profit}}>0,{{landed_cost}}<={BUDGET}),{{maximum_used}}*{{landed_cost}},0)",
         "What all of them cost; 0 if not even one is within the cash.", blank_if=_NO_PROFIT),
    step("key", "Order", COUNT, _ORDER, "Orders the rows: by profit for the cash, then by row; with a remark last.",
         blank_if=f"OR({_NO_PROFIT},SUM({{days_used}})<=0)"),
    step("cost_used", "Cost used", MONEY, "{landed_cost}", "Landed cost of a row that can be planned.",
         blank_if=_NO_KEY),
    step("profit_used", "Profit used", MONEY, "{profit}", "Net profit of a row that can be planned.",
         blank_if=_NO_KEY),
    findings_column(CHECKS),
)
# fmt: on
COLUMNS: Final[tuple[Column, ...]] = around_entries(
    grouped("Results", (row_check_column("item"),)), _INPUTS, (*_RESULTS, *_WORKINGS)
)


def sheet() -> TableSheet:
    """Sheet Buying plan."""
    purpose = (
        "Several items at once: which to buy with the cash on Settings, none over your most to pay. The plain edition "
        "goes down the ranking; only the functions edition finds the best choice."
    )
    return TableSheet("Buying plan", "Plan", purpose, COLUMNS, PLAN_ROWS, CHECKS)
