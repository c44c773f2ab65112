"""Sheet Shelf check: what one item may cost, on a phone."""

from __future__ import annotations

from functools import partial
from typing import Final

from sheetfns.cell_types import COST, COUNT, MONEY, RATIO, TEXT
from sheetfns.log.model.sheets import EditionFormula, FormRow, FormSheet, Formula, FunctionCall
from sheetfns.log.sheets.buying_plan.layout import BUDGET, most_to_pay, net_proceeds, net_profit
from sheetfns.log.sheets.columns import DOWN_TO_THE_CENT, UP_TO_THE_CENT, caution_of, channel_or_default, fee_terms
from sheetfns.log.sheets.comparables.layout import trust_in_prices
from sheetfns.log.sheets.form_rows import (
    caution_words,
    field,
    heading,
    result,
    row_in,
    term_rows,
    topic_row,
    typed,
    words,
    working,
)
from sheetfns.log.sheets.words import ITEM_HEADER, NO, SHELF, SHELF_PRICES, THREE_PRICES, YES

_PRICES: Final = range(1, SHELF_PRICES + 1)
_NUMBERS: Final = f"{{sold_1}}:{{sold_{SHELF_PRICES}}},{{missing_value}},{{postage}},{{price_tag}}"
_TO_FIX: Final = "{to_fix}=1"
_NO_TYPED: Final = "{number}=0"
_NOT_YET: Final = '{asks}<>""'
_SALE: Final = {"price": "{middle}", "shipping": "{postage_used}"}
_CEILING: Final = most_to_pay("{middle}", "{fee}")
_IF_LOW: Final = most_to_pay("{low}", "{low_fee}")


def _span(key: str) -> str:
    return f"{{{key}_1}}:{{{key}_{SHELF_PRICES}}}"


def _of_comparables(place: int, plain: str, column: str) -> EditionFormula:
    """A figure of the typed prices, or of the item on Comparables if none is typed."""
    other = f"{{item_{column}}}"
    spread = FunctionCall(
        "COMP_SPREAD",
        {
            "prices": _span("sold"),
            "postage_in": "{postage_in}",
            "postage": "{postage}",
            "missing_value": "{missing_value}",
            "complete": f'"{YES}"',
            "condition_rate": "1",
            "age_days": "0",
            "half_life_days": "Comp_half_life",
            "quantile": "Comp_low_share",
        },
        blank_if=_TO_FIX,
        around=f"IF({{number}}=0,{other},INDEX({{}},1,{place}))",
    )
    return EditionFormula(Formula(f"IF({{number}}=0,{other},{plain})", _TO_FIX), spread)


_VERDICT: Final = (
    'IF({asks}<>"",{asks},IF({ceiling}<=0,"Leave it",'
    'IF({too_dear}=1,"Only at "&FIXED({ceiling},2)&" or less","Buy up to "&FIXED({ceiling},2))))'
)
_HINT: Final = f'IF({{asks}}<>"",IF({{middle}}="","{THREE_PRICES}",""),{{}})'
_REASON: Final = EditionFormula(
    Formula(
        _HINT.replace(
            "{}",
            'IF(ROUND({most_in_all},9)<0,"no price is low enough: "&FIXED({left},2)'
            '&" is left after fee, postage and packaging",{limit_words})',
        )
    ),
    FunctionCall("BUY_REMARK", _CEILING, around=_HINT),
)
_FEES_OF: Final = 'IF({channel_row}="","","With the fees of: "&INDEX(Channel_name,{channel_row}))'
_CHECK_FIRST: Final = EditionFormula(
    Formula(f'IF({{topic}}="",{_FEES_OF},"Check: "&{caution_of("brief", "{topic}").text})'),
    FunctionCall(
        "RESALE_CAUTION",
        {"category": "{topic}", "brief": "TRUE()"},
        around=f'IF({{topic}}="",{_FEES_OF},"Check: "&{{}})',
    ),
)
_BREAK_EVEN: Final = {
    "landed_cost": "{landed_cost}",
    "postage": "{postage_used}",
    "packaging": "Usual_packaging",
    "shipping": "{postage_used}",
    **fee_terms(),
}
_LIMIT_WORDS: Final = (
    'IF({targets}<0,"the target profit sets the limit",IF({targets}>0,"the target return sets the limit",'
    'IF(Target_profit+Target_return=0,"break-even: no target profit or return","both targets set the limit")))'
)
_step = partial(working, blank_if=_NOT_YET)

# Tables: key, label, type, formula or help, unit.
# fmt: off
_ANSWERS: Final = (
    words("verdict", _VERDICT, lines=1, emphasized=True),
    words("reason", _REASON, lines=2),
    words("check_first", _CHECK_FIRST, lines=1),
)
_RESULTS: Final = (
    heading("Result"),
    result("low", "Low price", MONEY, _of_comparables(1, f"PERCENTILE({_span('kept')},Comp_low_share)", "low")),
    result("middle", "Expected price", MONEY, _of_comparables(2, f"PERCENTILE({_span('kept')},0.5)", "middle")),
    result("high", "High price", MONEY, _of_comparables(3, f"PERCENTILE({_span('kept')},1-Comp_low_share)", "high")),
    words("remark", _of_comparables(6, "{typed_remark}", "remark"), lines=1),
    result("ceiling", "Most to pay", MONEY, FunctionCall("BUY_CEILING", _CEILING, _NOT_YET, DOWN_TO_THE_CENT)),
    result("careful", "If it sells low", MONEY, FunctionCall("BUY_CEILING", _IF_LOW, _NOT_YET, DOWN_TO_THE_CENT)),
    result("profit", "Net profit", MONEY, FunctionCall("NET_PROFIT", net_profit(_SALE), _NOT_YET)),
    result("break_even", "Break-even price", MONEY,
           FunctionCall("BREAK_EVEN_PRICE", _BREAK_EVEN, _NOT_YET, UP_TO_THE_CENT)),
    result("safety", "Margin of safety", RATIO,
           FunctionCall("MARGIN_OF_SAFETY", {"actual": "{middle}", "break_even": "{break_even}"},
                        'IF({break_even}="",TRUE,{middle}=0)')),
    result("afford", "Cash covers", COUNT,
           FunctionCall("AFFORD_COUNT", {"cash": BUDGET, "price": "{landed_cost}"},
                        'IF({asks}<>"",TRUE,{landed_cost}=0)')),
    caution_words(lines=6),
)
_INPUTS: Final = (
    heading("Enter here"),
    *(typed(f"sold_{i}", f"Sold price {i}", COST, "What a similar item sold for.") for i in _PRICES),
    typed("price_tag", "Price tag", COST, "The shop's price, before tax."),
    typed("postage", "Postage", COST, "What the shipping label will cost; the buyer pays it."),
    typed("channel", "Channel", TEXT, "Where you will sell it; blank: the default channel on Settings.",
          names="Channel_name"),
    typed("category", "Category", TEXT, "For the caution to show.", names="Category_name"),
    typed("postage_in", "Postage included", TEXT, "Do those prices include postage? Blank counts as "
                                                  "No.", choices=(YES, NO)),
    typed("missing_value", "Missing parts, value", COST,
          "Value of the parts missing from yours; it is deducted from the sold prices."),
    typed("comps_of", "Or comparable item", TEXT,
          "An item on Comparables; its sales count if you enter no price here."),
)
_PLAN: Final = (
    heading("Buying plan"),
    result("plan_cost", "Plan cost", MONEY, "SUM(Plan_buy_cost)"),
    result("plan_profit", "Plan profit", MONEY, "SUM(Plan_buy_profit)"),
)
_WORKINGS: Final = (
    heading("Calculations (don't edit)"),
    working("to_fix", "Entries to fix", COUNT,
            f"((COUNTA({_NUMBERS})>COUNT({_NUMBERS}))+(MIN({_NUMBERS})<0)"
            f'+AND({{postage_in}}<>"",{{postage_in}}<>"{YES}",{{postage_in}}<>"{NO}")>0)*1', "1 = yes"),
    *(working(f"basis_{i}", f"Adjusted price {i}", MONEY,
              f'ROUND(MAX(0,{{sold_{i}}}-IF({{postage_in}}="{YES}",{{postage_used}},0)-SUM({{missing_value}})),2)',
              blank_if=f'OR({{sold_{i}}}="",{{to_fix}}=1)') for i in _PRICES),
    working("number", "Prices entered", COUNT, f"COUNT({_span('basis')})"),
    working("center", "Center", MONEY, f"MEDIAN({_span('basis')})", blank_if=_NO_TYPED),
    *(working(f"distance_{i}", f"Distance {i}", MONEY, f"ROUND(ABS({{basis_{i}}}-{{center}}),6)",
              blank_if=f'{{basis_{i}}}=""') for i in _PRICES),
    working("spread", "Spread", MONEY, f"MAX(Spread_scale*MEDIAN({_span('distance')}),Minimum_spread*{{center}})",
            blank_if=_NO_TYPED),
    *(working(f"kept_{i}", f"Price kept {i}", MONEY,
              f'IF(OR({{spread}}=0,{{distance_{i}}}<=Wild_distance*{{spread}}),{{basis_{i}}},"")',
              blank_if=f'{{basis_{i}}}=""') for i in _PRICES),
    working("used", "Prices kept", COUNT, f"COUNT({_span('kept')})"),
    *(working(f"item_{key}", f"Item's {key} price", MONEY,
              f'IF(INDEX(Comps_{key},{{comps_row}})="","",MAX(0,INDEX(Comps_{key},{{comps_row}})-SUM({{missing_value}})))',
              blank_if='{comps_row}=""') for key in ("low", "middle", "high")),
    working("item_remark", "Remark on item", TEXT, 'INDEX(Comps_remark,{comps_row})&""', blank_if='{comps_row}=""'),
    working("typed_remark", "Remark on prices", TEXT,
            trust_in_prices("{used}", "{number}-{used}", some_dropped="{number}>{used}",
                            none_dropped="{number}={used}"), blank_if=_NO_TYPED),
    row_in("comps_row", "Item's row", "Comps_item", "comps_of", ITEM_HEADER),
    topic_row("{category}"),
    working("postage_used", "Postage used", COST, "SUM({postage})"),
    working("channel_used", "Channel used", TEXT, channel_or_default("{channel}"),
            not_compared="its row in the table of channels is compared"),
    row_in("channel_row", "Channel row", "Channel_name", "channel_used"),
    *term_rows(),
    working("fee", "Fee", MONEY,
            FunctionCall("SELLING_FEE", _SALE | fee_terms(), 'OR({middle}="",{channel_row}="",{to_fix}=1)')),
    working("low_fee", "Fee if it sells low", MONEY,
            FunctionCall("SELLING_FEE", _SALE | {"price": "{low}"} | fee_terms(), _NOT_YET)),
    _step("most_in_all", "Most with tax", MONEY, "MIN({left}-Target_profit,{left}/(1+Target_return))"),
    working("left", "Left for item", MONEY, FunctionCall("NET_PROCEEDS", net_proceeds(_SALE), _NOT_YET)),
    working("asks", "What is missing", TEXT,
            'IF({to_fix}=1,"Check your entries",IF({middle}="",{asks_prices},{asks_more}))'),
    working("asks_prices", "Missing prices", TEXT,
            'IF({comps_of}="","Enter sold prices",'
            'IF({comps_row}="","Item is not on Comparables","The item has no sales yet"))'),
    working("asks_more", "Missing entries", TEXT,
            f'IF(AND({{postage_in}}="{YES}",{{postage}}=""),"Enter the postage",'
            'IF({channel_row}="","Choose a channel",""))'),
    _step("too_dear", "Tag over the most", COUNT, "(ROUND(SUM({price_tag})-{ceiling},2)>0)*1", "1 = yes"),
    _step("targets", "Targets compared", MONEY, "ROUND({left}-Target_profit-{left}/(1+Target_return),6)"),
    working("limit_words", "What sets the most", TEXT, _LIMIT_WORDS),
    _step("landed_cost", "Landed cost", MONEY, 'ROUND(IF({price_tag}="",{ceiling},{price_tag})*(1+Buying_tax_rate),2)'),
    field("Landed cost: the price tag plus tax; without a price tag, the most to pay plus tax."),
)
# fmt: on
ROWS: Final[tuple[FormRow, ...]] = (*_ANSWERS, *_INPUTS, *_RESULTS, *_PLAN, *_WORKINGS)


def form() -> FormSheet:
    """Sheet Shelf check: three columns of 40 characters in all."""
    purpose = "Should I buy it? Enter recent sold prices."
    return FormSheet(SHELF, "Shelf", purpose, ROWS, (17, 11, 12), first_row=4, frozen_rows=6, since=10)
