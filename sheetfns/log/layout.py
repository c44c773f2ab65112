"""What the sourcing log consists of, declared once: sheets, columns, formulas, checks.

A formula names the cells of its own row by {column} and whole columns by defined names such as
Log_sale_price. Entries stand in the same rows on every sheet, from FIRST_ROW on.
"""

from __future__ import annotations

import csv
import datetime as dt
from importlib import resources
from typing import Any, Final

from sheetfns.kinds import (
    COST,
    COUNT,
    DATE,
    DAYS,
    LENGTH,
    MONEY,
    RATE,
    RATIO,
    TEXT,
    WEIGHT,
    Kind,
)
from sheetfns.log.sheets import (
    FIRST_ROW,
    Call,
    Check,
    Column,
    FigureLine,
    Layout,
    Plain,
    RowCheck,
    Setting,
    SettingsBlock,
    TableSheet,
)

DEFAULT_ROWS: Final = 1000
MOST_ROWS: Final = 90_000
"""The order of pieces within a lot is kept in five digits."""
MONTHS: Final = 60
START: Final = "Start"
SETTINGS: Final = "Settings"
YEAR_END: Final = "Year end"
CHECKS: Final = "Checks"

BUSINESS: Final = "Business"
RETURNED_PIECE: Final = "Returned piece"
BUYER, SELLER = "Buyer", "Seller"
OWN_USE, DONATED, DISCARDED, RELISTED = "Own use", "Donated", "Discarded", "Relisted"
LEFT_HOW: Final = (OWN_USE, DONATED, DISCARDED, RELISTED)
IN_STOCK, LISTED, SOLD, PART_REFUND, REFUNDED, BACK = (
    "In stock",
    "Listed",
    "Sold",
    "Part refund",
    "Refunded",
    "Back in stock",
)
STAGES: Final = (IN_STOCK, LISTED, SOLD, PART_REFUND, REFUNDED, BACK)
ON_HAND: Final = (IN_STOCK, LISTED, BACK)
KEY_STEP: Final = 100_000
"""Order key of a lot piece: millionths of a cent of its remainder x KEY_STEP, earlier rows higher."""
_MILLIONTHS: Final = 1_000_000
_ROW_ONE: Final = FIRST_ROW - 1


def table_rows(name: str) -> list[dict[str, str]]:
    """The rows of one of the dated tables that come with the package."""
    text = resources.files("sheetfns").joinpath("tables", f"{name}.csv").read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))


def _text(key: str, header: str, help_text: str, width: float = 14, **rest: Any) -> Column:
    return Column(key, header, TEXT, help_text, width, unit="text", **rest)


def _date(key: str, header: str, help_text: str, **rest: Any) -> Column:
    return Column(key, header, DATE, help_text, 11.5, unit="date", **rest)


def _money(key: str, header: str, help_text: str, kind: Kind = COST, **rest: Any) -> Column:
    return Column(key, header, kind, help_text, rest.pop("width", 10.5), unit="money", **rest)


def _working(key: str, header: str, kind: Kind, formula: Plain | Call, help_text: str) -> Column:
    unit = {"Money": "money", "Cost": "money", "Date": "date", "Text": "text", "Rate": "%"}
    return Column(
        key,
        header,
        kind,
        help_text,
        11.5,
        group="Workings (do not type)",
        formula=formula,
        working=True,
        unit=unit.get(kind.name, "number"),
    )


def _found_in(names: str, key: str) -> Plain:
    return Plain(f'IF({{{key}}}="","",IFERROR(MATCH({{{key}}},{names},0),""))')


def _channel_term(column: str, *, blank_means_none: bool = False) -> Plain:
    cell = f"INDEX(Channel_{column},{{channel_row}})"
    text = f'IF({cell}="","",{cell})' if blank_means_none else f"{cell}+0"
    return Plain(text, blank_if='{channel_row}=""')


_FEE_TERMS: Final = {
    "rate": "{fee_rate}",
    "per_order": "{fee_per_order}",
    "tax_rate": "{fee_tax_rate}",
    "band_limit": "{fee_band_limit}",
    "rate_above": "{fee_rate_above}",
}
_UP_TO_THE_CENT: Final = "-INT(-ROUND(100*{},6))/100"

_PIECE: Final = (
    _text("item_no", "Item no.", "Your own number for the piece; each number once.", 9),
    _text("description", "Description", "What it is, as you would say it.", 27),
    _text(
        "status",
        "Status",
        "Where the piece stands.",
        12.5,
        formula=Plain(
            'IF({left_how}<>"",{left_how},INDEX(Stage_word,{stage}))', blank_if='{item_no}=""'
        ),
    ),
    _text(
        "row_check",
        "Row check",
        "What to mend in this row; ok if nothing.",
        24,
        formula=Plain('IF({findings}="",IF({item_no}="","","ok"),MID({findings},3,300))'),
    ),
)

_BOUGHT: Final = (
    _date("bought_on", "Bought on", "Day of purchase; blank for a piece of a lot."),
    _text("bought_by", "Bought by", "Who bought it.", names="Partner_name"),
    _text(
        "paid_from",
        "Paid from",
        "Business, or the partner who paid from the own pocket; Returned piece for one that a "
        "buyer sent back and that you list again. Blank counts as Business.",
        names="Source_name",
    ),
    _text("found_at", "Found at", "Shop, sale or house where you found it.", 18),
    _text(
        "category", "Category", "Your own word for the kind of goods.", 16, names="Category_name"
    ),
    _text(
        "condition", "Condition", "Its condition in your own grades.", 12, names="Condition_name"
    ),
    _text("missing", "Missing or faulty", "What is missing, worn or broken; blank if nothing.", 20),
    _text("lot_no", "Lot no.", "The lot it came in, from sheet Lots; blank if bought alone.", 8),
    _money("paid", "Paid", "Price paid for it, without tax; 0 if free; blank for a lot piece."),
    _money("purchase_tax", "Purchase tax", "Sales tax paid with it; blank if none."),
    _money("prep_cost", "Prep cost", "Cleaning, parts, batteries for this piece; blank if none."),
)
_PLAN: Final = (
    _money(
        "expected_price", "Expected price", "What you think it will sell for; shares out a lot."
    ),
    _money("expected_postage", "Expected postage", "What the label will cost, as you think."),
)
_LISTED: Final = (
    _text("channel", "Channel", "Where it is offered, from Settings.", 14, names="Channel_name"),
    _date("listed_on", "Listed on", "Day it was first offered."),
    _money("asking_price", "Asking price", "The price you ask."),
    _text("postage_payer", "Postage paid by", "Who pays postage.", 10, choices=(BUYER, SELLER)),
    Column("packed_weight", "Packed weight", WEIGHT, "Weight of the parcel.", 9, unit="weight"),
    Column("length", "Length", LENGTH, "Longest side of the parcel.", 8, unit="length"),
    Column("width", "Width", LENGTH, "Second side of the parcel.", 8, unit="length"),
    Column("height", "Height", LENGTH, "Third side of the parcel.", 8, unit="length"),
)
_SOLD: Final = (
    _date("sold_on", "Sold on", "Day of the sale."),
    _money("sale_price", "Sale price", "What the buyer paid for the piece, without sales tax."),
    _money("shipping_charged", "Shipping charged", "What the buyer paid for postage; blank if 0."),
    _money(
        "tax_collected", "Tax collected", "Sales tax that the channel took and pays over itself."
    ),
    _money("fee_charged", "Fee charged", "The fee on the statement; blank: worked out from terms."),
    _money("postage_paid", "Postage paid", "What the label cost."),
    _money(
        "packing",
        "Packing",
        "Packing bought for this parcel; blank if it is under Expenses already.",
    ),
    _money("refund", "Refund", "What you paid back, price and shipping, without sales tax."),
    _date("refunded_on", "Refunded on", "Day of the refund; blank: the day of the sale."),
    _date("returned_on", "Came back on", "Day the piece was back with you; blank if it was not."),
)
_LEFT: Final = (
    _text("left_how", "Left how", "How else it left.", 11, choices=LEFT_HOW),
    _date("left_on", "Left on", "Day it left otherwise."),
)

_LOG_RESULTS: Final = (
    _money(
        "landed_cost",
        "Landed cost",
        "Paid, tax, prep and share of a lot.",
        MONEY,
        formula=Call(
            "LANDED_COST",
            {
                "paid": "({paid}+0)",
                "purchase_tax": "{purchase_tax}",
                "prep_cost": "{prep_cost}",
                "buying_share": "{lot_share}",
            },
            blank_if='OR({lot_share}="",AND({lot_no}="",{paid}=""))',
        ),
    ),
    _money(
        "fee",
        "Fee",
        "The fee charged, or worked out from the channel's terms.",
        formula=Plain(
            'IF({fee_charged}<>"",{fee_charged},{fee_by_terms})', blank_if='{sold_on}=""'
        ),
    ),
    _money(
        "net_proceeds",
        "Net proceeds",
        "What the sale left before the piece's own cost.",
        MONEY,
        formula=Call(
            "NET_PROCEEDS",
            {
                "price": "{price_used}",
                "shipping": "{shipping_used}",
                "fee": "{fee}",
                "postage": "{postage_used}",
                "packing": "{packing_used}",
                "refund": "{refund}",
            },
            blank_if='OR({sold_on}="",{fee}="",{price_used}="")',
        ),
    ),
    _money(
        "net_profit",
        "Net profit",
        "What the sale left after everything.",
        MONEY,
        formula=Call(
            "NET_PROFIT",
            {
                "price": "{price_used}",
                "shipping": "{shipping_used}",
                "fee": "{fee}",
                "postage": "{postage_used}",
                "packing": "{packing_used}",
                "landed_cost": "{cost_of_sale}",
                "refund": "{refund}",
            },
            blank_if='OR({net_proceeds}="",{cost_of_sale}="")',
        ),
    ),
    Column(
        "net_margin",
        "Net margin",
        RATIO,
        "Net profit as a share of price and shipping.",
        9,
        unit="%",
        formula=Call(
            "NET_MARGIN",
            {"net_profit": "{net_profit}", "price": "{price_used}", "shipping": "{shipping_used}"},
            blank_if='OR({net_profit}="",{income}="",{income}=0)',
        ),
    ),
    Column(
        "return_on_cost",
        "Return on cost",
        RATIO,
        "Net profit for each unit of money put in.",
        9,
        unit="%",
        formula=Call(
            "RETURN_ON_COST",
            {"net_profit": "{net_profit}", "landed_cost": "{cost_of_sale}"},
            blank_if='OR({net_profit}="",{cost_of_sale}="",{cost_of_sale}=0)',
        ),
    ),
    _money(
        "break_even_price",
        "Break-even price",
        "The price that neither earns nor loses, rounded up to the cent.",
        MONEY,
        formula=Call(
            "BREAK_EVEN_PRICE",
            {
                "landed_cost": "{landed_cost}",
                "postage": "{postage_used}",
                "packing": "{packing_used}",
                "shipping": "{shipping_used}",
                **_FEE_TERMS,
                "ad_rate": "{fee_ad_rate}",
                "least": "{fee_least}",
                "most": "{fee_most}",
            },
            blank_if='OR({landed_cost}="",{channel_row}="")',
            around=_UP_TO_THE_CENT,
        ),
    ),
    Column(
        "margin_of_safety",
        "Margin of safety",
        RATIO,
        "How far the sale, asking or expected price can fall before a loss.",
        9,
        unit="%",
        formula=Call(
            "MARGIN_OF_SAFETY",
            {"actual": "{price_used}", "break_even": "{break_even_price}"},
            blank_if='OR({break_even_price}="",{price_used}="",{price_used}=0)',
        ),
    ),
    Column(
        "days_held",
        "Days held",
        DAYS,
        "From purchase to sale, or to the day that figures are as of.",
        8,
        unit="days",
        cell_format="0",
        formula=Plain(
            'IF({left_on}<>"",{left_on},IF(AND({sold_on}<>"",{returned_on}=""),{sold_on},'
            "As_of_date))-{stock_date}",
            blank_if='{stock_date}=""',
        ),
    ),
)

_LOG_WORKINGS: Final = (
    _working("lot_row", "Lot row", COUNT, _found_in("Lots_lot_no", "lot_no"), "Its row on Lots."),
    _working(
        "stock_date",
        "In stock from",
        DATE,
        Plain(
            'IF({lot_no}="",IF({bought_on}="","",{bought_on}),IF({lot_row}="","",'
            "INDEX(Lots_bought_on,{lot_row})))",
            blank_if='{item_no}=""',
        ),
        "Day of purchase of the piece or its lot.",
    ),
    _working(
        "lot_exact",
        "Lot share, cents",
        COUNT,
        Plain(
            "IFERROR(ROUND(INDEX(Lots_total_cents,{lot_row})*{expected_price}"
            '/INDEX(Lots_expected_sum,{lot_row}),6),"")',
            blank_if='{lot_row}=""',
        ),
        "Exact share of the lot in cents.",
    ),
    _working(
        "lot_floor",
        "Whole cents",
        COUNT,
        Plain("INT({lot_exact})", blank_if='{lot_exact}=""'),
        "The whole cents of it.",
    ),
    _working(
        "lot_key",
        "Order of rest",
        COUNT,
        Plain(
            f"ROUND(({{lot_exact}}-{{lot_floor}})*{_MILLIONTHS},0)*{KEY_STEP}+{KEY_STEP}-ROW()",
            blank_if='{lot_exact}=""',
        ),
        "Who gets the cents left over: the largest rest, then the earlier row.",
    ),
    _working(
        "lot_share",
        "Lot share",
        MONEY,
        Plain(
            'IF({lot_no}="",0,IF({lot_exact}="","",({lot_floor}+(COUNTIFS(Log_lot_row,{lot_row},'
            'Log_lot_key,">"&{lot_key})<INDEX(Lots_cents_left,{lot_row})))/100))',
            blank_if='{item_no}=""',
        ),
        "Share of the lot's cost.",
    ),
    _working(
        "outlay",
        "Outlay",
        MONEY,
        Plain(
            f'IF({{paid_from}}="{RETURNED_PIECE}",0,{{paid}}+{{purchase_tax}})+{{prep_cost}}',
            blank_if='{item_no}=""',
        ),
        "Money that went out for this piece alone.",
    ),
    _working(
        "carried_over",
        "Carried over",
        MONEY,
        Plain(
            f'IF({{paid_from}}="{RETURNED_PIECE}",{{paid}}+{{purchase_tax}},0)',
            blank_if='{item_no}=""',
        ),
        "Cost taken over from a piece that came back.",
    ),
    _working(
        "owner_paid",
        "Owner paid",
        MONEY,
        Plain(
            'IF({paid_from}="",0,IF(COUNTIF(Partner_name,{paid_from})=0,0,{outlay}))',
            blank_if='{item_no}=""',
        ),
        "Part that a partner paid from the own pocket.",
    ),
    _working(
        "channel_row",
        "Channel row",
        COUNT,
        _found_in("Channel_name", "channel"),
        "Its row among the channels.",
    ),
    _working("fee_rate", "Fee rate", RATE, _channel_term("rate"), "From the channel's terms."),
    _working(
        "fee_per_order", "Per order", COST, _channel_term("per_order"), "From the channel's terms."
    ),
    _working(
        "fee_tax_rate", "Tax in base", RATE, _channel_term("tax_rate"), "From the channel's terms."
    ),
    _working(
        "fee_band_limit",
        "Band limit",
        COST,
        _channel_term("band_limit", blank_means_none=True),
        "From the channel's terms; blank if there is one band.",
    ),
    _working(
        "fee_rate_above",
        "Rate above",
        RATE,
        _channel_term("rate_above", blank_means_none=True),
        "From the channel's terms.",
    ),
    _working("fee_least", "Least fee", COST, _channel_term("least"), "From the channel's terms."),
    _working(
        "fee_most",
        "Most fee",
        COST,
        _channel_term("most", blank_means_none=True),
        "From the channel's terms; blank if there is no bound.",
    ),
    _working("fee_ad_rate", "Ad rate", RATE, _channel_term("ad_rate"), "From the channel's terms."),
    _working(
        "price_used",
        "Price used",
        MONEY,
        Plain(
            'IF({sold_on}<>"",IF({sale_price}="","",{sale_price}),'
            'IF({asking_price}<>"",{asking_price},{expected_price}+0))',
            blank_if='{item_no}=""',
        ),
        "Sale price, else asking price, else expected price.",
    ),
    _working(
        "shipping_used",
        "Shipping used",
        MONEY,
        Plain(
            f'IF({{sold_on}}<>"",{{shipping_charged}}+0,'
            f'IF({{postage_payer}}="{BUYER}",{{expected_postage}}+0,0))',
            blank_if='{item_no}=""',
        ),
        "Shipping charged; before the sale, expected postage if the buyer pays it.",
    ),
    _working(
        "postage_used",
        "Postage used",
        MONEY,
        Plain('IF({sold_on}<>"",{postage_paid}+0,{expected_postage}+0)', blank_if='{item_no}=""'),
        "Postage paid, else expected postage.",
    ),
    _working(
        "packing_used",
        "Packing used",
        MONEY,
        Plain('IF({sold_on}<>"",{packing}+0,Usual_packing+0)', blank_if='{item_no}=""'),
        "Packing, else the usual cost from Settings.",
    ),
    _working(
        "fee_by_terms",
        "Fee by terms",
        MONEY,
        Call(
            "SELLING_FEE",
            {
                "price": "{price_used}",
                "shipping": "{shipping_used}",
                **_FEE_TERMS,
                "least": "{fee_least}",
                "most": "{fee_most}",
                "ad_rate": "{fee_ad_rate}",
            },
            blank_if='OR({sold_on}="",{channel_row}="",{price_used}="")',
        ),
        "What the channel's terms give.",
    ),
    _working(
        "income",
        "Income",
        MONEY,
        Plain("{price_used}+{shipping_used}", blank_if='OR({sold_on}="",{price_used}="")'),
        "Price and shipping of a sale.",
    ),
    _working(
        "refund_day",
        "Refund day",
        DATE,
        Plain(
            'IF({refunded_on}<>"",{refunded_on},{sold_on}+0)',
            blank_if='OR({item_no}="",{refund}="",{sold_on}="")',
        ),
        "Day on which the refund counts.",
    ),
    _working(
        "cost_of_sale",
        "Cost of sale",
        MONEY,
        Plain('IF({returned_on}="",{landed_cost},0)', blank_if='{sold_on}=""'),
        "Landed cost, or 0 if the piece came back.",
    ),
    _working(
        "stage",
        "Stage",
        COUNT,
        Plain(
            'MAX(1,2*({listed_on}<>""),3*({sold_on}<>""),4*(N({refund_day})*N({refund})>0),'
            "5*(N({refund_day})*N({refund})>0)*(ROUND(N({refund})-N({income}),2)>=0),"
            '6*({returned_on}<>""))',
            blank_if='{item_no}=""',
        ),
        "Row among the status words.",
    ),
)

_NUMBERS_AND_DATES: Final = (
    ("bought_on", "bought_on"),
    ("paid", "expected_postage"),
    ("listed_on", "asking_price"),
    ("packed_weight", "returned_on"),
    ("left_on", "left_on"),
)


def _filled_less_numbers(spans: tuple[tuple[str, str], ...]) -> str:
    cells = ",".join(f"{{{first}}}:{{{last}}}" for first, last in spans)
    return f"COUNTA({cells})>COUNT({cells})"


def _below_zero(spans: tuple[tuple[str, str], ...]) -> str:
    return f"MIN({','.join(f'{{{first}}}:{{{last}}}' for first, last in spans)})<0"


_LOG_CHECKS: Final = (
    RowCheck(
        "no_item", "the item no. is blank", 'AND({item_no}="",COUNTA({bought_on}:{left_on})>0)'
    ),
    RowCheck(
        "item_twice",
        "this item no. stands further up already",
        f'IF({{item_no}}="",FALSE,MATCH({{item_no}},Log_item_no,0)<>ROW()-{_ROW_ONE})',
    ),
    RowCheck(
        "not_a_number",
        "text stands where a number or a date belongs",
        _filled_less_numbers(_NUMBERS_AND_DATES),
    ),
    RowCheck("negative", "an amount is below 0", _below_zero(_NUMBERS_AND_DATES)),
    RowCheck("no_date", "bought on is blank", 'AND({item_no}<>"",{lot_no}="",{bought_on}="")'),
    RowCheck(
        "no_paid",
        "paid is blank (write 0 if it was free)",
        'AND({item_no}<>"",{lot_no}="",{paid}="")',
    ),
    RowCheck("no_lot", "the lot no. is not on sheet Lots", 'AND({lot_no}<>"",{lot_row}="")'),
    RowCheck(
        "lot_and_paid",
        "paid is typed though the lot paid for it",
        'AND({lot_no}<>"",N({paid})<>0)',
    ),
    RowCheck(
        "lot_no_value",
        "expected price is blank, so the lot cannot be shared out",
        'AND({lot_no}<>"",{expected_price}="")',
    ),
    RowCheck(
        "no_source",
        "paid from is neither Business nor a partner on Settings",
        'IF({paid_from}="",FALSE,COUNTIF(Source_name,{paid_from})=0)',
    ),
    RowCheck(
        "sold_early",
        "sold before it was bought",
        'AND({sold_on}<>"",{stock_date}<>"",{sold_on}<{stock_date})',
    ),
    RowCheck("no_price", "sale price is blank", 'AND({sold_on}<>"",{sale_price}="")'),
    RowCheck(
        "no_sale_date",
        "sold on is blank though the sale is filled in",
        'AND({sold_on}="",COUNTA({sale_price}:{returned_on})>0)',
    ),
    RowCheck(
        "no_channel",
        "the channel is blank or not on Settings",
        'AND(OR({channel}<>"",{sold_on}<>""),{channel_row}="")',
    ),
    RowCheck(
        "refund_high",
        "the refund is more than price and shipping",
        'AND({income}<>"",ROUND(N({refund})-N({income}),2)>0)',
    ),
    RowCheck(
        "refund_early",
        "refunded or back before it was sold",
        'OR(AND({refunded_on}<>"",{refunded_on}<{sold_on}),'
        'AND({returned_on}<>"",{returned_on}<{sold_on}))',
    ),
    RowCheck(
        "left_half",
        "fill in both left how and left on",
        '({left_how}="")<>({left_on}="")',
    ),
    RowCheck(
        "left_early",
        "left before it was bought or came back",
        'AND({left_on}<>"",OR({left_on}<{stock_date},{left_on}<{returned_on}))',
    ),
    RowCheck(
        "sold_and_left",
        "sold and left otherwise as well",
        'AND({sold_on}<>"",{returned_on}="",{left_how}<>"")',
    ),
    RowCheck(
        "after_as_of",
        "dated after the day that figures are as of (see Settings)",
        "MAX({bought_on},{listed_on},{sold_on},{refunded_on}:{returned_on},{left_on})>As_of_date",
    ),
    RowCheck(
        "before_first",
        "sold or left before the first month of the log (see Settings)",
        'OR(AND({sold_on}<>"",{sold_on}<First_month),AND({left_on}<>"",{left_on}<First_month))',
    ),
    RowCheck(
        "fee_differs",
        "fee charged is not what the channel's terms give",
        'AND({fee_charged}<>"",{fee_by_terms}<>"",ROUND(ABS(N({fee_charged})-N({fee_by_terms})),2)>0.01)',
        notice=True,
    ),
)


def _findings(checks: tuple[RowCheck, ...]) -> Plain:
    """Every message whose check fails, one after the other; the words stand on sheet Checks."""
    return Plain("&".join(f'IF({check.formula},"; "&[{check.key}],"")' for check in checks))


def _findings_column(checks: tuple[RowCheck, ...]) -> Column:
    return _working("findings", "Findings", TEXT, _findings(checks), "What is wrong with the row.")


def _row_check(key: str) -> Column:
    return _text(
        "row_check",
        "Row check",
        "What to mend in this row; ok if nothing.",
        30,
        formula=Plain(f'IF({{findings}}="",IF({{{key}}}="","","ok"),MID({{findings}},3,300))'),
    )


def _owner_paid(amount: str) -> Column:
    return _working(
        "owner_paid",
        "Owner paid",
        MONEY,
        Plain(f'IF({{paid_from}}="",0,IF(COUNTIF(Partner_name,{{paid_from}})=0,0,{amount}))'),
        "Part that a partner paid from the own pocket.",
    )


def _grouped(group: str, columns: tuple[Column, ...]) -> tuple[Column, ...]:
    return tuple(
        Column(**{**{f: getattr(c, f) for f in c.__dataclass_fields__}, "group": group})
        for c in columns
    )


def _log(rows: int) -> TableSheet:
    columns = (
        *_grouped("Piece", _PIECE),
        *_grouped("Bought", _BOUGHT),
        *_grouped("Plan", _PLAN),
        *_grouped("Listed", _LISTED),
        *_grouped("Sold", _SOLD),
        *_grouped("Left otherwise", _LEFT),
        *_grouped("Results", _LOG_RESULTS),
        *_LOG_WORKINGS,
        _findings_column(_LOG_CHECKS),
    )
    return TableSheet(
        "Sourcing log",
        "Log",
        "One row for each piece that can be sold on its own.",
        columns,
        rows,
        _LOG_CHECKS,
        frozen_columns=2,
    )


_LOT_NUMBERS: Final = (("bought_on", "bought_on"), ("paid", "purchase_tax"))
_LOTS_CHECKS: Final = (
    RowCheck(
        "no_item", "the lot no. is blank", 'AND({lot_no}="",COUNTA({bought_on}:{purchase_tax})>0)'
    ),
    RowCheck(
        "item_twice",
        "this lot no. stands further up already",
        f'IF({{lot_no}}="",FALSE,MATCH({{lot_no}},Lots_lot_no,0)<>ROW()-{_ROW_ONE})',
    ),
    RowCheck(
        "not_a_number",
        "text stands where a lot's number or date belongs",
        _filled_less_numbers(_LOT_NUMBERS),
    ),
    RowCheck("negative", "an amount of a lot is below 0", _below_zero(_LOT_NUMBERS)),
    RowCheck("no_date", "the lot's bought on is blank", 'AND({lot_no}<>"",{bought_on}="")'),
    RowCheck("no_paid", "the lot's paid is blank", 'AND({lot_no}<>"",{paid}="")'),
    RowCheck(
        "no_source",
        "the lot's paid from is neither Business nor a partner",
        'IF({paid_from}="",FALSE,COUNTIF(Source_name,{paid_from})=0)',
    ),
    RowCheck(
        "no_values",
        "none of the lot's pieces has an expected price",
        'AND({lot_no}<>"",N({pieces})>0,N({expected_sum})=0)',
    ),
    RowCheck(
        "not_added_up",
        "the shares of the lot's pieces do not add up to its cost",
        'AND({lot_no}<>"",N({pieces})>0,ROUND(N({not_shared}),2)<>0)',
    ),
    RowCheck(
        "no_pieces",
        "no piece of the lot is in the log yet",
        'AND({lot_no}<>"",{pieces}=0)',
        notice=True,
    ),
)


def _lots(rows: int) -> TableSheet:
    columns = (
        *_grouped(
            "Lot",
            (
                _text("lot_no", "Lot no.", "Your own number for the lot, such as L-01.", 9),
                _text("description", "Description", "What came together for one price.", 28),
                _date("bought_on", "Bought on", "Day of purchase; counts for all its pieces."),
                _text("bought_by", "Bought by", "Who bought it.", names="Partner_name"),
                _text("paid_from", "Paid from", "Business or a partner.", names="Source_name"),
                _text("found_at", "Found at", "Shop, sale or house where you found it.", 18),
                _money("paid", "Paid", "Price of the whole lot, without tax."),
                _money("purchase_tax", "Purchase tax", "Sales tax paid with it; blank if none."),
            ),
        ),
        *_grouped(
            "Results",
            (
                _money(
                    "total",
                    "Lot cost",
                    "Paid and tax.",
                    MONEY,
                    formula=Plain("ROUND({paid}+{purchase_tax},2)", blank_if='{lot_no}=""'),
                ),
                Column(
                    "pieces",
                    "Pieces",
                    COUNT,
                    "Pieces of the lot in the log.",
                    8,
                    unit="pieces",
                    formula=Plain("COUNTIF(Log_lot_no,{lot_no})", blank_if='{lot_no}=""'),
                ),
                _money(
                    "expected_sum",
                    "Expected prices",
                    "Sum of the expected prices of its pieces.",
                    MONEY,
                    formula=Plain(
                        "SUMIFS(Log_expected_price,Log_lot_no,{lot_no})", blank_if='{lot_no}=""'
                    ),
                ),
                _money(
                    "not_shared",
                    "Not shared yet",
                    "Lot cost less the shares of its pieces; 0.00 once all are in the log.",
                    MONEY,
                    formula=Plain(
                        "ROUND({total}-SUMIFS(Log_lot_share,Log_lot_no,{lot_no}),2)",
                        blank_if='{lot_no}=""',
                    ),
                ),
                _row_check("lot_no"),
            ),
        ),
        _working(
            "total_cents",
            "Cents",
            COUNT,
            Plain("ROUND({total}*100,0)", blank_if='{lot_no}=""'),
            "Lot cost in cents.",
        ),
        _working(
            "cents_left",
            "Cents left over",
            COUNT,
            Plain(
                "{total_cents}-SUMIFS(Log_lot_floor,Log_lot_no,{lot_no})", blank_if='{lot_no}=""'
            ),
            "Cents that go to the largest rests.",
        ),
        _owner_paid("N({total})"),
        _findings_column(_LOTS_CHECKS),
    )
    return TableSheet(
        "Lots",
        "Lots",
        "Pieces bought together for one price; each takes its share by expected price.",
        columns,
        rows,
        _LOTS_CHECKS,
    )


_EXPENSE_CHECKS: Final = (
    RowCheck(
        "no_date",
        "the date of an expense is blank",
        'AND({spent_on}="",COUNTA({heading}:{paid_from})>0)',
    ),
    RowCheck(
        "not_a_number",
        "text stands where an expense's amount or date belongs",
        _filled_less_numbers((("spent_on", "spent_on"), ("amount", "amount"))),
    ),
    RowCheck("negative", "an expense is below 0", "MIN({amount},0)<0"),
    RowCheck("no_paid", "the amount of an expense is blank", 'AND({spent_on}<>"",{amount}="")'),
    RowCheck(
        "no_heading",
        "the heading of an expense is not on Settings",
        'IF({spent_on}="",FALSE,IF({heading}="",TRUE,COUNTIF(Heading_heading,{heading})=0))',
    ),
    RowCheck(
        "no_source",
        "an expense's paid from is neither Business nor a partner",
        'IF({paid_from}="",FALSE,COUNTIF(Source_name,{paid_from})=0)',
    ),
    RowCheck(
        "after_as_of", "an expense is dated after the as-of day", "MAX({spent_on},0)>As_of_date"
    ),
    RowCheck(
        "before_first",
        "an expense is dated before the first month",
        'AND({spent_on}<>"",{spent_on}<First_month)',
    ),
)


def _expenses(rows: int) -> TableSheet:
    columns = (
        *_grouped(
            "Expense",
            (
                _date("spent_on", "Date", "Day of payment."),
                _text("heading", "Heading", "From Settings.", 30, names="Heading_heading"),
                _text("description", "Description", "What it was.", 30),
                _money("amount", "Amount", "What was paid, tax included."),
                _text("paid_from", "Paid from", "Business or a partner.", names="Source_name"),
            ),
        ),
        *_grouped("Results", (_row_check("spent_on"),)),
        _owner_paid("N({amount})"),
        _findings_column(_EXPENSE_CHECKS),
    )
    return TableSheet(
        "Expenses",
        "Expenses",
        "Costs of the business that do not belong to one piece.",
        columns,
        rows,
        _EXPENSE_CHECKS,
    )


_TRIP_CHECKS: Final = (
    RowCheck(
        "no_date", "the date of a trip is blank", 'AND({driven_on}="",COUNTA({purpose}:{miles})>0)'
    ),
    RowCheck(
        "not_a_number",
        "text stands where a trip's miles or date belong",
        _filled_less_numbers((("driven_on", "driven_on"), ("miles", "miles"))),
    ),
    RowCheck("negative", "miles are below 0", "MIN({miles},0)<0"),
    RowCheck(
        "not_recorded",
        "a trip needs purpose, place and miles to count",
        'AND({driven_on}<>"",OR({purpose}="",{to_place}="",{miles}=""))',
    ),
    RowCheck(
        "no_rate",
        "Settings has no rate per mile for this date",
        'AND({driven_on}<>"",{rate}="")',
    ),
    RowCheck("after_as_of", "a trip is dated after the as-of day", "MAX({driven_on},0)>As_of_date"),
)


def _trips(rows: int) -> TableSheet:
    columns = (
        *_grouped(
            "Trip",
            (
                _date("driven_on", "Date", "Day of the trip."),
                _text("purpose", "Purpose", "Why the business needed it.", 28),
                _text("from_place", "From", "Where it began.", 16),
                _text("to_place", "To", "Where it went.", 22),
                Column(
                    "miles",
                    "Miles",
                    COST,
                    "Miles there and back.",
                    9,
                    unit="miles",
                    cell_format="#,##0.0",
                ),
            ),
        ),
        *_grouped(
            "Results",
            (
                Column(
                    "rate",
                    "Rate a mile",
                    COST,
                    "The rate on that date, from Settings.",
                    9,
                    unit="money",
                    cell_format="0.000",
                    formula=Plain(
                        "IFERROR(IF({driven_on}<INDEX(Mileage_until,MATCH({driven_on},Mileage_from,1))+1,"
                        'INDEX(Mileage_rate,MATCH({driven_on},Mileage_from,1)),""),"")',
                        blank_if='{driven_on}=""',
                    ),
                ),
                _money(
                    "deduction",
                    "Deduction",
                    "Miles at the rate, rounded to the cent.",
                    MONEY,
                    formula=Plain(
                        "ROUND({miles}*{rate},2)",
                        blank_if='OR({driven_on}="",{rate}="",{miles}="")',
                    ),
                ),
                _row_check("driven_on"),
            ),
        ),
        _findings_column(_TRIP_CHECKS),
    )
    return TableSheet(
        "Trips",
        "Trips",
        "Miles driven for the business: date, purpose, place and miles, written down at the time.",
        columns,
        rows,
        _TRIP_CHECKS,
    )


_OWNER_CHECKS: Final = (
    RowCheck(
        "no_date",
        "the date of owner money is blank",
        'AND({moved_on}="",COUNTA({partner}:{note})>0)',
    ),
    RowCheck(
        "not_a_number",
        "text stands where owner money or its date belongs",
        _filled_less_numbers((("moved_on", "moved_on"), ("put_in", "cash_counted"))),
    ),
    RowCheck("negative", "owner money is below 0", "MIN({put_in}:{took_out},0)<0"),
    RowCheck(
        "no_partner",
        "owner money without a partner from Settings",
        'AND(N({put_in})+N({took_out})<>0,IF({partner}="",TRUE,COUNTIF(Partner_name,{partner})=0))',
    ),
    RowCheck(
        "after_as_of", "owner money is dated after the as-of day", "MAX({moved_on},0)>As_of_date"
    ),
    RowCheck(
        "before_first",
        "owner money is dated before the first month",
        'AND({moved_on}<>"",{moved_on}<First_month)',
    ),
    RowCheck(
        "count_differs",
        "cash counted is not what the log gives",
        'IF({difference}="",FALSE,{difference}<>0)',
        notice=True,
    ),
)


def _to_date(amount: str, day: str) -> str:
    return f'SUMIFS({amount},{day},">="&First_month,{day},"<"&{{moved_on}}+1)'


def _owner_money(rows: int) -> TableSheet:
    counted = '{cash_counted}=""'
    columns = (
        *_grouped(
            "Owner money",
            (
                _date("moved_on", "Date", "Day on which it moved or was counted."),
                _text("partner", "Partner", "Whose money.", names="Partner_name"),
                _money("put_in", "Put in", "Money put into the business."),
                _money("took_out", "Took out", "Money taken out of the business."),
                _money(
                    "cash_counted",
                    "Cash counted",
                    "All business money at the end of the day.",
                    MONEY,
                ),
                _text("note", "Note", "Anything to remember.", 26),
            ),
        ),
        *_grouped(
            "Results",
            (
                _money(
                    "cash_by_log",
                    "Cash by the log",
                    "What the log says was there at the end of that day.",
                    MONEY,
                    formula=Plain("ROUND(Opening_cash+{money_in}-{money_out},2)", blank_if=counted),
                ),
                _money(
                    "difference",
                    "Difference",
                    "Counted less cash by the log.",
                    MONEY,
                    formula=Plain("ROUND({cash_counted}-{cash_by_log},2)", blank_if=counted),
                ),
                _row_check("moved_on"),
            ),
        ),
        _working(
            "money_in",
            "In to date",
            MONEY,
            Plain(
                "+".join(
                    _to_date(amount, day)
                    for amount, day in (
                        ("Log_income", "Log_sold_on"),
                        ("Owner_put_in", "Owner_moved_on"),
                        ("Log_owner_paid", "Log_stock_date"),
                        ("Lots_owner_paid", "Lots_bought_on"),
                        ("Expenses_owner_paid", "Expenses_spent_on"),
                    )
                ),
                blank_if=counted,
            ),
            "Money in up to that day.",
        ),
        _working(
            "money_out",
            "Out to date",
            MONEY,
            Plain(
                "+".join(
                    _to_date(amount, day)
                    for amount, day in (
                        ("Log_refund", "Log_refund_day"),
                        ("Log_fee", "Log_sold_on"),
                        ("Log_postage_used", "Log_sold_on"),
                        ("Log_packing_used", "Log_sold_on"),
                        ("Log_outlay", "Log_stock_date"),
                        ("Lots_total", "Lots_bought_on"),
                        ("Expenses_amount", "Expenses_spent_on"),
                        ("Owner_took_out", "Owner_moved_on"),
                    )
                ),
                blank_if=counted,
            ),
            "Money out up to that day.",
        ),
        _findings_column(_OWNER_CHECKS),
    )
    return TableSheet(
        "Owner money",
        "Owner",
        "Money that the owners put in or took out, and cash counts.",
        columns,
        rows,
        _OWNER_CHECKS,
    )


def _in_month(amount: str, day: str, also: str = "") -> str:
    return f'SUMIFS({amount},{day},">="&{{month}},{day},"<"&{{month_end}}+1{also})'


def _left_in_month(how: str) -> str:
    return _in_month("Log_landed_cost", "Log_left_on", f',Log_left_how,"{how}"')


def _monthly(key: str, header: str, text: str, help_text: str, *, strong: bool = False) -> Column:
    return _money(
        key,
        header,
        help_text,
        MONEY,
        width=12 if strong else 11,
        formula=Plain(text, blank_if='{month}=""'),
    )


_MONTHLY_CASH: Final = (
    _monthly(
        "opening_cash",
        "Opening cash",
        f"IF(ROW()={FIRST_ROW},Opening_cash+0,{{closing_cash@-1}})",
        "Cash at the start of the month.",
        strong=True,
    ),
    _monthly("sales", "Sales", _in_month("Log_income", "Log_sold_on"), "Prices and shipping."),
    _monthly(
        "refunds", "Refunds", _in_month("Log_refund", "Log_refund_day"), "Paid back to buyers."
    ),
    _monthly("fees", "Fees", _in_month("Log_fee", "Log_sold_on"), "Fees of the channels."),
    _monthly("postage", "Postage", _in_month("Log_postage_used", "Log_sold_on"), "Labels."),
    _monthly("packing", "Packing", _in_month("Log_packing_used", "Log_sold_on"), "Per parcel."),
    _monthly(
        "stock_bought",
        "Stock bought",
        f"{_in_month('Log_outlay', 'Log_stock_date')}+{_in_month('Lots_total', 'Lots_bought_on')}",
        "Pieces and lots, with tax and prep.",
    ),
    _monthly(
        "expenses", "Expenses", _in_month("Expenses_amount", "Expenses_spent_on"), "From Expenses."
    ),
    _monthly(
        "put_in",
        "Owners put in",
        "+".join(
            (
                _in_month("Owner_put_in", "Owner_moved_on"),
                _in_month("Log_owner_paid", "Log_stock_date"),
                _in_month("Lots_owner_paid", "Lots_bought_on"),
                _in_month("Expenses_owner_paid", "Expenses_spent_on"),
            )
        ),
        "Money put in, and purchases from their own pocket.",
    ),
    _monthly(
        "took_out", "Owners took out", _in_month("Owner_took_out", "Owner_moved_on"), "Taken out."
    ),
    _monthly(
        "closing_cash",
        "Closing cash",
        "ROUND({opening_cash}+{sales}-{refunds}-{fees}-{postage}-{packing}-{stock_bought}-{expenses}"
        "+{put_in}-{took_out},2)",
        "Opening + in - out.",
        strong=True,
    ),
)
_MONTHLY_STOCK: Final = (
    _monthly(
        "opening_stock",
        "Opening stock",
        f"IF(ROW()={FIRST_ROW},Opening_stock,{{closing_stock@-1}})",
        "Stock at cost at the start of the month.",
        strong=True,
    ),
    _monthly("stock_in", "Bought", "{stock_bought}", "Stock bought in the month, at cost."),
    _monthly(
        "cost_of_sold",
        "Cost of sold",
        f"{_in_month('Log_landed_cost', 'Log_sold_on')}-{_in_month('Log_landed_cost', 'Log_returned_on')}",
        "Landed cost of pieces sold, less of those that came back.",
    ),
    _monthly(
        "own_use",
        "Own use, donated",
        f"{_left_in_month(OWN_USE)}+{_left_in_month(DONATED)}",
        "Taken out at cost.",
    ),
    _monthly("discarded", "Discarded", _left_in_month(DISCARDED), "Thrown away, at cost."),
    _monthly(
        "relisted",
        "Relisted, net",
        f"{_in_month('Log_carried_over', 'Log_stock_date')}-{_left_in_month(RELISTED)}",
        "Cost carried over to new rows less from old rows.",
    ),
    _monthly(
        "closing_stock",
        "Closing stock",
        "ROUND({opening_stock}+{stock_in}-{cost_of_sold}-{own_use}-{discarded}+{relisted},2)",
        "Opening + in - out.",
        strong=True,
    ),
)
_MONTHLY_PROFIT: Final = (
    _monthly(
        "gross_profit",
        "Gross profit",
        "{sales}-{refunds}-{cost_of_sold}-{discarded}",
        "Sales less refunds, cost of pieces sold and discarded.",
        strong=True,
    ),
    _monthly(
        "selling_costs",
        "Selling costs",
        "{fees}+{postage}+{packing}",
        "Fees, postage and packing.",
    ),
    _monthly(
        "profit",
        "Net profit",
        "ROUND({gross_profit}-{selling_costs}-{expenses},2)",
        "Before the miles deduction, which is no cash.",
        strong=True,
    ),
    _monthly(
        "tie_out",
        "Tie-out",
        "ROUND({closing_cash}+{closing_stock}-{opening_cash}-{opening_stock}"
        "-{put_in}+{took_out}+{own_use}-{relisted}-{profit},2)",
        "Change of cash and stock less owner money less profit: 0.00 if all ties.",
    ),
)


def _money_sheet() -> TableSheet:
    month = f"DATE(YEAR(First_month),MONTH(First_month)+ROW()-{FIRST_ROW},1)"
    columns = (
        *_grouped(
            "Month",
            (
                Column(
                    "month",
                    "Month",
                    DATE,
                    "First day of the month.",
                    10,
                    unit="month",
                    cell_format="yyyy-mm",
                    formula=Plain(f'IF({month}>As_of_date,"",{month})'),
                ),
            ),
        ),
        *_grouped("Cash", _MONTHLY_CASH),
        *_grouped("Stock at cost", _MONTHLY_STOCK),
        *_grouped("Profit", _MONTHLY_PROFIT),
        _working(
            "month_end",
            "Month end",
            DATE,
            Plain("EOMONTH({month},0)", blank_if='{month}=""'),
            "Last day of the month.",
        ),
    )
    return TableSheet(
        "Money",
        "Money",
        "Month by month: opening + in - out = closing, for cash and for stock at cost.",
        columns,
        MONTHS,
    )


def _before(amount: str, day: str, end: str) -> str:
    return f'SUMIFS({amount},{day},"<"&{end})'


def _stock_before(end: str) -> str:
    """Stock at cost at the start of a day, from the pieces themselves and lots not shared out."""
    landed = "Log_landed_cost"
    return (
        f"{_before(landed, 'Log_stock_date', end)}-{_before(landed, 'Log_sold_on', end)}"
        f"+{_before(landed, 'Log_returned_on', end)}-{_before(landed, 'Log_left_on', end)}"
        f"+{_before('Lots_not_shared', 'Lots_bought_on', end)}"
    )


def _settings() -> tuple[Setting, ...]:
    return (
        Setting("Shop_name", "Shop name", TEXT, "", "Your own; shown on printed pages."),
        Setting("Currency", "Currency", TEXT, "USD", "Shown over every money column."),
        Setting(
            "As_of_date",
            "Figures as of",
            DATE,
            dt.date(2026, 1, 31),
            "Set this to today whenever you enter something; days held count up to it.",
        ),
        Setting(
            "First_month",
            "First month of this log",
            DATE,
            dt.date(2026, 1, 1),
            "First day of the month in which this log begins.",
        ),
        Setting(
            "Opening_cash",
            "Cash at that start",
            MONEY,
            0,
            "All business money on hand when the log begins.",
        ),
        Setting(
            "Opening_stock",
            "Stock at that start",
            MONEY,
            None,
            "Landed cost of pieces bought before the first month, from the log.",
            formula=_stock_before("First_month"),
        ),
        Setting(
            "Usual_packing",
            "Usual packing of a parcel",
            COST,
            0,
            "Counts in break-even prices until the piece is sold.",
        ),
        Setting("Weight_unit", "Weight unit", TEXT, "lb", "", choices=("lb", "kg")),
        Setting("Length_unit", "Length unit", TEXT, "in", "", choices=("in", "cm")),
        Setting(
            "Tax_year", "Tax year", COUNT, 2026, "The year that sheet Year end shows.", unit="year"
        ),
        Setting(
            "Year_start",
            "First day of the tax year",
            DATE,
            None,
            "From the tax year.",
            formula="DATE(Tax_year,1,1)",
        ),
        Setting(
            "Year_end",
            "Last day of the tax year",
            DATE,
            None,
            "From the tax year.",
            formula="DATE(Tax_year,12,31)",
        ),
        Setting(
            "Lines_change",
            "Line numbers change with year",
            COUNT,
            2025,
            "From this tax year on the second column of line numbers holds.",
            unit="year",
        ),
    )


def _plain_column(key: str, header: str, kind: Kind, help_text: str, **rest: Any) -> Column:
    return Column(key, header, kind, help_text, rest.pop("width", 12), **rest)


CHANNEL_COLUMNS: Final = (
    _plain_column("name", "Channel", TEXT, "Your own name for it."),
    _plain_column("rate", "Fee rate", RATE, "Share of the fee base.", unit="%"),
    _plain_column("per_order", "Per order", COST, "Fixed fee for each order.", unit="money"),
    _plain_column(
        "tax_rate", "Tax in fee base", RATE, "Sales tax that the fee is taken on too.", unit="%"
    ),
    _plain_column(
        "band_limit", "Band limit", COST, "Fee base up to which the rate holds.", unit="money"
    ),
    _plain_column("rate_above", "Rate above", RATE, "Rate on the part over it.", unit="%"),
    _plain_column("least", "Least fee", COST, "Lowest fee for an order.", unit="money"),
    _plain_column("most", "Most fee", COST, "Highest fee for an order.", unit="money"),
    _plain_column(
        "ad_rate", "Ad rate", RATE, "Advertising, share of price and shipping.", unit="%"
    ),
)


def _blocks() -> tuple[SettingsBlock, ...]:
    headings = tuple(
        (
            row["heading"],
            row["line_to_2024"],
            row["line_from_2025"],
            row["from_the_log"],
            row["what_belongs_here"],
        )
        for row in table_rows("expense_headings")
    )
    mileage = tuple(
        (
            dt.date.fromisoformat(row["valid_from"]),
            dt.date.fromisoformat(row["valid_until"]),
            float(row["value"]),
            f"{row['source']} ({row['status']})",
        )
        for row in table_rows("mileage")
    )
    return (
        SettingsBlock(
            "Partner",
            "Partners",
            "Who owns the shop; shares add up to 100 %.",
            (
                _plain_column("name", "Partner", TEXT, "Name as it stands in the log."),
                _plain_column("share", "Share", RATE, "Share of the profit.", unit="%"),
            ),
            4,
            (("Partner 1", 1.0),),
        ),
        SettingsBlock(
            "Channel",
            "Channels and their fees",
            "One row for each place where you sell; the terms are in your contract with it.",
            CHANNEL_COLUMNS,
            10,
            (("Local sale", 0, 0),),
        ),
        SettingsBlock(
            "Heading",
            "Expense headings",
            "Schedule C line numbers by tax year; change them for other places.",
            (
                _plain_column("heading", "Heading", TEXT, "Name as it stands on Expenses."),
                _plain_column("line_old", "Line to 2024", TEXT, "Line number before the change."),
                _plain_column("line_new", "Line from 2025", TEXT, "Line number since the change."),
                _plain_column(
                    "from_log",
                    "From the log",
                    TEXT,
                    "What the log adds by itself.",
                    choices=("fees", "postage", "packing", "miles"),
                ),
                _plain_column("note", "What belongs here", TEXT, "A reminder."),
            ),
            20,
            headings,
        ),
        SettingsBlock(
            "Mileage",
            "Rate per mile by date",
            "A trip on a date that no row covers has no rate; add the row when it is published.",
            (
                _plain_column("from", "From", DATE, "First day."),
                _plain_column("until", "Until", DATE, "Last day."),
                _plain_column(
                    "rate",
                    "Rate a mile",
                    COST,
                    "Money per mile.",
                    unit="money",
                    cell_format="0.000",
                ),
                _plain_column("source", "Source", TEXT, "Where the rate was published."),
            ),
            20,
            mileage,
        ),
        SettingsBlock(
            "Category",
            "Categories",
            "Your own words.",
            (_plain_column("name", "Category", TEXT, "A kind of goods."),),
            20,
            tuple(
                (word,)
                for word in (
                    "Books",
                    "Clothing",
                    "Electronics",
                    "Games and toys",
                    "Household",
                    "Media",
                    "Sports",
                    "Tools",
                    "Other",
                )
            ),
        ),
        SettingsBlock(
            "Condition",
            "Conditions",
            "Your own grades.",
            (_plain_column("name", "Condition", TEXT, "A grade."),),
            10,
            tuple((word,) for word in ("New", "Like new", "Good", "Worn", "For parts")),
        ),
        SettingsBlock(
            "Source",
            "Paid from (made by the workbook)",
            "The choices for Paid from.",
            (
                _plain_column(
                    "name",
                    "Paid from",
                    TEXT,
                    "Business, a piece that came back, or a partner.",
                    formula=Plain(""),
                ),
            ),
            6,
            (
                (f'="{BUSINESS}"',),
                (f'="{RETURNED_PIECE}"',),
                *(
                    (f'=IF(INDEX(Partner_name,{i})="","",INDEX(Partner_name,{i}))',)
                    for i in (1, 2, 3, 4)
                ),
            ),
        ),
        SettingsBlock(
            "Stage",
            "Status words (made by the workbook)",
            "What column Status says.",
            (_plain_column("word", "Status", TEXT, "A status.", formula=Plain("")),),
            len(STAGES),
            tuple((f'="{word}"',) for word in STAGES),
        ),
    )


def _in_year(amount: str, day: str, also: str = "") -> str:
    return f'SUMIFS({amount},{day},">="&Year_start,{day},"<"&Year_end+1{also})'


def _left_in_year(how: str) -> str:
    return _in_year("Log_landed_cost", "Log_left_on", f',Log_left_how,"{how}"')


HEADING_ROWS: Final = 20


_FROM_THE_LOG: Final = {
    "fees": ("Fees of the channels", _in_year("Log_fee", "Log_sold_on")),
    "postage": ("Postage paid", _in_year("Log_postage_used", "Log_sold_on")),
    "packing": ("Packing per parcel", _in_year("Log_packing_used", "Log_sold_on")),
    "miles": ("Miles at the rate of their date", _in_year("Trips_deduction", "Trips_driven_on")),
}
"""What the log adds to the expense heading that names it on Settings."""


def _heading_line(place: int) -> FigureLine:
    """One expense heading: what the log adds, what stands on Expenses, and both together."""
    heading = f"INDEX(Heading_heading,{place})"
    lines = f"INDEX(Heading_line_old,{place}),INDEX(Heading_line_new,{place})"
    named = f"INDEX(Heading_from_log,{place})"
    from_log = "+".join(f'({named}="{word}")*{{log_{word}}}' for word in _FROM_THE_LOG)
    spent = _in_year("Expenses_amount", "Expenses_spent_on", f",Expenses_heading,{heading}")
    return FigureLine(
        f"heading_{place}",
        f'=IF({heading}="","",{heading})',
        Plain(f"{{heading_{place}.from_log}}+{{heading_{place}.entered}}"),
        f'=IF({heading}="","",IF(Tax_year<Lines_change,{lines}))',
        from_log=Plain(from_log),
        entered=Plain(spent, blank_if=""),
    )


def _year_end() -> tuple[FigureLine, ...]:
    return (
        FigureLine("h_receipts", "Receipts", heading=True),
        FigureLine(
            "gross_receipts",
            "Gross receipts: prices and shipping charged",
            Plain(_in_year("Log_income", "Log_sold_on")),
            "1",
            "Before fees and refunds; sales tax that a channel pays over itself is left out.",
        ),
        FigureLine(
            "returns",
            "Refunds paid",
            Plain(_in_year("Log_refund", "Log_refund_day")),
            "2",
            "By the day of the refund.",
        ),
        FigureLine(
            "net_receipts", "Net receipts", Plain("{gross_receipts}-{returns}"), "3", strong=True
        ),
        FigureLine("h_cost", "Cost of goods sold", heading=True),
        FigureLine(
            "opening_stock",
            "Stock at cost on the first day",
            Plain(_stock_before("Year_start")),
            "35",
        ),
        FigureLine(
            "purchases",
            "Purchases: pieces and lots, with tax and prep",
            Plain(
                f"{_in_year('Log_outlay', 'Log_stock_date')}+{_in_year('Lots_total', 'Lots_bought_on')}"
            ),
        ),
        FigureLine(
            "own_use",
            "Less taken for own use or donated, at cost",
            Plain(f"{_left_in_year(OWN_USE)}+{_left_in_year(DONATED)}"),
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
            Plain(_stock_before("Year_end+1")),
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
            "7",
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
            Plain("SUM({heading_1}:{heading_20})"),
            "28",
            strong=True,
        ),
        FigureLine(
            "net_profit",
            "Net profit of the year",
            Plain("ROUND({gross_profit}-{total_expenses},2)"),
            "31",
            "Before home office and what your preparer adds.",
            strong=True,
        ),
        FigureLine("h_ties", "Tie-outs (each must be 0.00)", heading=True),
        FigureLine(
            "tie_cost",
            "Cost of goods sold less cost of pieces sold and discarded",
            Plain(
                f"ROUND({{cost_of_goods_sold}}-{_in_year('Log_landed_cost', 'Log_sold_on')}"
                f"+{_in_year('Log_landed_cost', 'Log_returned_on')}-{_left_in_year(DISCARDED)}"
                f"+{_in_year('Log_carried_over', 'Log_stock_date')}-{_left_in_year(RELISTED)},2)"
            ),
        ),
        FigureLine(
            "tie_money",
            "Net profit and miles less the months on Money",
            Plain(
                "ROUND({net_profit}+"
                + "{log_miles}-"
                + _in_year("Money_profit", "Money_month")
                + ",2)"
            ),
        ),
    )


def _table_checks(table: TableSheet) -> list[Check]:
    def counted(check: RowCheck) -> Check:
        pattern = '"*"&{label}&"*"'
        rows = f"{table.key}_row_check"
        return Check(
            f"{table.key}_{check.key}",
            table.name,
            check.message,
            f"COUNTIF({rows},{pattern})",
            f'IFERROR(MATCH({pattern},{rows},0)+{_ROW_ONE},"")',
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
        "cells that show an error",
        f'SUMPRODUCT(ISERROR({table.key}_all)*1)+COUNTIF({table.key}_all,"#ERR*")',
    )


def _checks(tables: tuple[TableSheet, ...]) -> tuple[Check, ...]:
    found: list[Check] = []
    for table in tables:
        if table.checks:
            found += _table_checks(table)
    money = next(table for table in tables if table.key == "Money")
    last = "INDEX(Money_closing_stock,MAX(1,COUNT(Money_month)))"
    found += [
        _error_check(money),
        Check(
            "Money_tie_out",
            money.name,
            "months in which cash, stock, owner money and profit do not tie",
            'COUNTIF(Money_tie_out,">0")+COUNTIF(Money_tie_out,"<0")',
        ),
        Check(
            "Money_stock",
            money.name,
            "closing stock is not the landed cost of the pieces on hand",
            f"(ROUND({last}-{_stock_before('As_of_date+1')},2)<>0)*1",
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
            "Settings_shares",
            SETTINGS,
            "the partners' shares do not add up to 100 %",
            "(ROUND(SUM(Partner_share)-1,6)<>0)*1",
        ),
        Check(
            "Settings_band",
            SETTINGS,
            "a channel has a band limit and no rate above it",
            "COUNT(Channel_band_limit)-SUMPRODUCT(ISNUMBER(Channel_band_limit)*ISNUMBER(Channel_rate_above))",
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


def layout(rows: int = DEFAULT_ROWS) -> Layout:
    """The layout with `rows` ready rows in the sourcing log and shares of that on other sheets."""
    tables = (
        _log(rows),
        _lots(max(100, rows // 10)),
        _expenses(max(300, rows // 2)),
        _trips(max(200, rows // 4)),
        _owner_money(max(100, rows // 5)),
        _money_sheet(),
    )
    return Layout(_settings(), _blocks(), tables, _year_end(), _checks(tables))
