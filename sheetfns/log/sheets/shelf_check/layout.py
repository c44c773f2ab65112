"""Sheet Shelf check: what one piece may cost, on a phone."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COST, COUNT, MONEY, RATIO, TEXT
from sheetfns.log.model.sheets import EditionFormula, FormRow, FormSheet, Formula, FunctionCall
from sheetfns.log.sheets.columns import caution_of, fee_terms
from sheetfns.log.sheets.form_rows import (
    caution_words,
    field,
    heading,
    result,
    term_rows,
    topic_row,
    typed,
    words,
    working,
)
from sheetfns.log.sheets.words import NO, SHELF, SHELF_PRICES, YES

_PRICES: Final = range(1, SHELF_PRICES + 1)
_DOWN_TO_THE_CENT: Final = "INT(ROUND(100*{},6))/100"
_UP_TO_THE_CENT: Final = "-INT(-ROUND(100*{},6))/100"


_TO_MEND: Final = "{to_mend}=1"
_NUMBERS: Final = f"{{sold_1}}:{{sold_{SHELF_PRICES}}},{{lacks}},{{postage}},{{ticket}}"


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
            "missing_value": "{lacks}",
            "complete": f'"{YES}"',
            "condition_rate": "1",
            "age_days": "0",
            "half_life_days": "Comp_half_life",
            "quantile": "Comp_low_share",
        },
        blank_if=_TO_MEND,
        around=f"IF({{number}}=0,{other},INDEX({{}},1,{place}))",
    )
    return EditionFormula(Formula(f"IF({{number}}=0,{other},{plain})", _TO_MEND), spread)


_REMARK: Final = (
    'IF({used}<=4,{used}&IF({used}=1," sale"," sales")&" only: wide guess",'
    'IF(ROUND({high}-2*{low},9)>0,"prices far apart: wide guess",""))'
    '&IF(AND({number}>{used},OR({used}<=4,ROUND({high}-2*{low},9)>0)),"; ","")'
    '&IF({number}={used},"",({number}-{used})&IF({number}-{used}=1," wild price"," wild prices")'
    '&" dropped")'
)
_SALE: Final = {"price": "{middle}", "shipping": "{postage_used}"}
_CEILING: Final = {
    "expected_price": "{middle}",
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
}
_NOT_YET: Final = '{asks}<>""'


def _answers() -> tuple[FormRow, ...]:
    return (
        words(
            "verdict",
            Formula(
                'IF({asks}<>"",{asks},IF({ceiling}<=0,"Leave it",'
                'IF({too_dear}=1,"Only at "&FIXED({ceiling},2)&" or less",'
                '"Buy up to "&FIXED({ceiling},2))))'
            ),
            lines=1,
            emphasized=True,
        ),
        words(
            "reason",
            EditionFormula(
                Formula(
                    'IF(ROUND({most_in_all},9)<0,"no price is low enough: "&FIXED({left},2)'
                    '&" is left after fee, postage and packing",{limit_words})',
                    blank_if=_NOT_YET,
                ),
                FunctionCall("BUY_REMARK", _CEILING, blank_if=_NOT_YET),
            ),
            lines=2,
        ),
        words(
            "check_first",
            EditionFormula(
                Formula(f'"Check: "&{caution_of("brief", "{topic}").text}', blank_if='{topic}=""'),
                FunctionCall(
                    "RESALE_CAUTION",
                    {"category": "{topic}", "brief": "TRUE()"},
                    blank_if='{topic}=""',
                    around='"Check: "&{}',
                ),
            ),
            lines=1,
        ),
        heading("What it comes to"),
        result("low", "Low price", MONEY, _of_comparables(1, f"PERCENTILE({_span('kept')},Comp_low_share)", "low")),
        result("middle", "Expected price", MONEY, _of_comparables(2, f"PERCENTILE({_span('kept')},0.5)", "middle")),
        result(
            "high", "High price", MONEY, _of_comparables(3, f"PERCENTILE({_span('kept')},1-Comp_low_share)", "high")
        ),
        words("remark", _of_comparables(6, "{typed_remark}", "remark"), lines=1),
        result(
            "ceiling",
            "Most to pay",
            MONEY,
            FunctionCall("BUY_CEILING", _CEILING, blank_if=_NOT_YET, around=_DOWN_TO_THE_CENT),
        ),
        result(
            "careful",
            "If it sells low",
            MONEY,
            FunctionCall(
                "BUY_CEILING",
                _CEILING | {"expected_price": "{low}", "per_order": "{low_fee}"},
                blank_if=_NOT_YET,
                around=_DOWN_TO_THE_CENT,
            ),
        ),
        result(
            "profit",
            "Net profit",
            MONEY,
            FunctionCall(
                "NET_PROFIT",
                {
                    **_SALE,
                    "fee": "{fee}",
                    "postage": "{postage_used}",
                    "packing": "Usual_packing",
                    "landed_cost": "{landed_cost}",
                },
                blank_if=_NOT_YET,
            ),
        ),
        result(
            "break_even",
            "Break-even price",
            MONEY,
            FunctionCall(
                "BREAK_EVEN_PRICE",
                {
                    "landed_cost": "{landed_cost}",
                    "postage": "{postage_used}",
                    "packing": "Usual_packing",
                    "shipping": "{postage_used}",
                    **fee_terms(),
                },
                blank_if=_NOT_YET,
                around=_UP_TO_THE_CENT,
            ),
        ),
        result(
            "safety",
            "Margin of safety",
            RATIO,
            FunctionCall(
                "MARGIN_OF_SAFETY",
                {"actual": "{middle}", "break_even": "{break_even}"},
                blank_if='IF({break_even}="",TRUE,{middle}=0)',
            ),
            "%",
        ),
        result(
            "afford",
            "The cash buys",
            COUNT,
            FunctionCall(
                "AFFORD_COUNT",
                {"cash": "MAX(0,Trip_cash-Trip_reserve)", "price": "{landed_cost}"},
                blank_if='IF({asks}<>"",TRUE,{landed_cost}=0)',
            ),
            "pieces",
        ),
        caution_words(lines=6),
    )


def _inputs() -> tuple[FormRow, ...]:
    prices = tuple(typed(f"sold_{i}", f"Sold price {i}", COST, "What a piece like it sold for.") for i in _PRICES)
    return (
        heading("Type here"),
        *prices,
        typed("comps_of", "Or item", TEXT, "An item on Comparables, whose sales count if no price is typed here."),
        typed(
            "postage_in", "Postage included", TEXT, "Is postage in those prices? Blank counts as No.", choices=(YES, NO)
        ),
        typed("lacks", "Mine lacks", COST, "What the part that yours lacks is worth; taken off an item's prices, too."),
        typed("postage", "Postage", COST, "What the label will cost; the buyer pays it."),
        typed("channel", "Channel", TEXT, "Where you will sell it, from Settings.", names="Channel_name"),
        typed("ticket", "Ticket price", COST, "What the shop asks, without tax."),
        typed("category", "Category", TEXT, "For the caution.", names="Category_name"),
    )


def _workings() -> tuple[FormRow, ...]:
    bases = tuple(
        working(
            f"basis_{i}",
            f"On one basis {i}",
            MONEY,
            Formula(
                f'ROUND(MAX(0,{{sold_{i}}}-IF({{postage_in}}="{YES}",{{postage_used}},0)-SUM({{lacks}})),2)',
                blank_if=f'OR({{sold_{i}}}="",{{to_mend}}=1)',
            ),
        )
        for i in _PRICES
    )
    distances = tuple(
        working(
            f"distance_{i}",
            f"Distance {i}",
            MONEY,
            Formula(f"ROUND(ABS({{basis_{i}}}-{{center}}),6)", blank_if=f'{{basis_{i}}}=""'),
        )
        for i in _PRICES
    )
    kept = tuple(
        working(
            f"kept_{i}",
            f"Price kept {i}",
            MONEY,
            Formula(
                f'IF(OR({{spread}}=0,{{distance_{i}}}<=Wild_distance*{{spread}}),{{basis_{i}}},"")',
                blank_if=f'{{basis_{i}}}=""',
            ),
        )
        for i in _PRICES
    )
    return (
        heading("Buying plan"),
        result("plan_cost", "Cash for it", MONEY, Formula("SUM(Plan_buy_cost)")),
        result("plan_profit", "Profit of it", MONEY, Formula("SUM(Plan_buy_profit)")),
        heading("Workings (do not type)"),
        working(
            "to_mend",
            "Not as it should be",
            COUNT,
            Formula(
                f"((COUNTA({_NUMBERS})>COUNT({_NUMBERS}))+(MIN({_NUMBERS})<0)"
                f'+AND({{postage_in}}<>"",{{postage_in}}<>"{YES}",{{postage_in}}<>"{NO}")>0)*1'
            ),
            "1 = yes",
        ),
        *bases,
        working("number", "Prices typed", COUNT, Formula(f"COUNT({_span('basis')})"), "pieces"),
        working("center", "Center", MONEY, Formula(f"MEDIAN({_span('basis')})", blank_if="{number}=0")),
        *distances,
        working(
            "spread",
            "Spread",
            MONEY,
            Formula(f"MAX(Spread_scale*MEDIAN({_span('distance')}),Least_spread*{{center}})", blank_if="{number}=0"),
        ),
        *kept,
        working("used", "Prices kept", COUNT, Formula(f"COUNT({_span('kept')})"), "pieces"),
        *(
            working(
                f"item_{key}",
                f"Item's {key} price",
                MONEY,
                Formula(
                    f'IF(INDEX(Comps_{key},{{comps_row}})="","",'
                    f"MAX(0,INDEX(Comps_{key},{{comps_row}})-SUM({{lacks}})))",
                    blank_if='{comps_row}=""',
                ),
            )
            for key in ("low", "middle", "high")
        ),
        working(
            "item_remark",
            "Remark on item",
            TEXT,
            Formula('INDEX(Comps_remark,{comps_row})&""', blank_if='{comps_row}=""'),
        ),
        working("typed_remark", "Remark on them", TEXT, Formula(_REMARK, blank_if="{number}=0")),
        working(
            "comps_row",
            "Item's row",
            COUNT,
            Formula('IFERROR(MATCH({comps_of},Comps_item,0),"")', blank_if='{comps_of}=""'),
            "row",
        ),
        topic_row("{category}"),
        working("postage_used", "Postage used", COST, Formula("SUM({postage})")),
        working(
            "channel_row",
            "Channel row",
            COUNT,
            Formula('IFERROR(MATCH({channel},Channel_name,0),"")', blank_if='{channel}=""'),
            "row",
        ),
        *term_rows(),
        working(
            "fee",
            "Fee",
            MONEY,
            FunctionCall(
                "SELLING_FEE", {**_SALE, **fee_terms()}, blank_if='OR({middle}="",{channel_row}="",{to_mend}=1)'
            ),
        ),
        working(
            "low_fee",
            "Fee if it sells low",
            MONEY,
            FunctionCall(
                "SELLING_FEE", {"price": "{low}", "shipping": "{postage_used}", **fee_terms()}, blank_if=_NOT_YET
            ),
        ),
        working(
            "most_in_all",
            "Most in all",
            MONEY,
            Formula("MIN({left}-Wanted_profit,{left}/(1+Wanted_return))", blank_if=_NOT_YET),
        ),
        working(
            "left",
            "Left for piece",
            MONEY,
            FunctionCall(
                "NET_PROCEEDS",
                {**_SALE, "fee": "{fee}", "postage": "{postage_used}", "packing": "Usual_packing"},
                blank_if=_NOT_YET,
            ),
        ),
        working(
            "asks",
            "What is needed",
            TEXT,
            Formula('IF({to_mend}=1,"Mend what you typed",IF({middle}="",{asks_prices},{asks_more}))'),
        ),
        working(
            "asks_prices",
            "For the prices",
            TEXT,
            Formula(
                'IF({comps_of}="","Type sold prices",'
                'IF({comps_row}="","Item is not on Comparables","The item has no sales yet"))'
            ),
        ),
        working(
            "asks_more",
            "For the rest",
            TEXT,
            Formula(
                f'IF(AND({{postage_in}}="{YES}",{{postage}}=""),"Type the postage",'
                'IF({channel_row}="","Choose a channel",""))'
            ),
        ),
        working(
            "too_dear",
            "Ticket is over it",
            COUNT,
            Formula("(ROUND(SUM({ticket})-{ceiling},2)>0)*1", blank_if=_NOT_YET),
            "1 = yes",
        ),
        working(
            "wishes",
            "Between wishes",
            MONEY,
            Formula("ROUND({left}-Wanted_profit-{left}/(1+Wanted_return),6)", blank_if=_NOT_YET),
        ),
        working(
            "limit_words",
            "What sets it",
            TEXT,
            Formula(
                'IF({wishes}<0,"the wanted profit sets the limit",'
                'IF({wishes}>0,"the wanted return sets the limit",'
                'IF(Wanted_profit+Wanted_return=0,"break-even: no profit or return is wanted",'
                '"both wishes set the limit")))'
            ),
        ),
        working(
            "landed_cost",
            "Landed cost",
            MONEY,
            Formula('ROUND(IF({ticket}="",{ceiling},{ticket})*(1+Buying_tax_rate),2)', blank_if=_NOT_YET),
        ),
        field("Landed cost is the ticket price, or the most to pay if there is none, and its tax."),
    )


def shelf_form() -> FormSheet:
    """Sheet Shelf check: three columns of 40 characters in all."""
    return FormSheet(
        SHELF,
        "Shelf",
        "Worth buying? Type what others sold for.",
        (*_answers(), *_inputs(), *_workings()),
        (17, 11, 12),
        first_row=4,
        frozen_rows=6,
    )
