"""Sheet Sourcing log: one row for each piece."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COUNT, DATE, DAYS, LENGTH, MONEY, RATIO, TEXT, WEIGHT
from sheetfns.log.model.sheets import Column, EditionFormula, Formula, FunctionCall, RowCheck, TableSheet
from sheetfns.log.sheets.columns import (
    below_zero,
    caution_of,
    channel_columns,
    date_column,
    fee_terms,
    findings_column,
    found_in,
    grouped,
    money_column,
    owner_paid_column,
    row_check_column,
    text_among_numbers,
    text_column,
    topic_of,
    working_column,
)
from sheetfns.log.sheets.lookups import cents
from sheetfns.log.sheets.words import (
    BUYER,
    DISCARDED,
    DONATED,
    KEY_STEP,
    LEFT_HOW,
    NO_PLACE,
    OWN_USE,
    RELISTED,
    RETURNED_PIECE,
    ROW_ONE,
    SELLER,
)

_MILLIONTHS: Final = 1_000_000
_HIGHEST: Final = 9999
"""Earnings that order places stay below it, so that their keys stay whole numbers of 15 digits."""

_UP_TO_THE_CENT: Final = "-INT(-ROUND(100*{},6))/100"

_PIECE: Final = (
    text_column("item_no", "Item no.", "Your own number for the piece; each number once.", 9),
    text_column("description", "Description", "What it is, as you would say it.", 31),
    text_column(
        "status",
        "Status",
        "Where the piece stands.",
        12.5,
        formula=Formula('IF({left_how}<>"",{left_how},INDEX(Stage_word,{stage}))', blank_if='{item_no}=""'),
    ),
    row_check_column("item_no"),
)

_BOUGHT: Final = (
    date_column("bought_on", "Bought on", "Day of purchase; blank for a piece of a lot."),
    text_column("bought_by", "Bought by", "Who bought it.", names="Partner_name"),
    text_column(
        "paid_from",
        "Paid from",
        "Business, or the partner who paid from the own pocket; Returned piece for one that a "
        "buyer sent back and that you list again. Blank counts as Business.",
        names="Source_name",
    ),
    text_column("found_at", "Found at", "Shop, sale or house where you found it.", 23),
    text_column("category", "Category", "Your own word for the kind of goods.", 16, names="Category_name"),
    text_column(
        "caution",
        "Caution",
        "What to check before you buy or list it, in brief; more on Listing desk and Cautions.",
        36,
        formula=EditionFormula(
            caution_of("brief", "{caution_for}"),
            FunctionCall(
                "RESALE_CAUTION", {"category": "{caution_for}", "brief": "TRUE()"}, blank_if='{caution_for}=""'
            ),
        ),
    ),
    text_column("condition", "Condition", "Its condition in your own grades.", 12, names="Condition_name"),
    text_column("missing", "Missing or faulty", "What is missing, worn or broken; blank if nothing.", 20),
    text_column("lot_no", "Lot no.", "The lot it came in, from sheet Lots; blank if bought alone.", 8),
    money_column("paid", "Paid", "Price paid for it, without tax; 0 if free; blank for a lot piece."),
    money_column("purchase_tax", "Purchase tax", "Sales tax paid with it; blank if none."),
    money_column("prep_cost", "Prep cost", "Cleaning, parts, batteries for this piece; blank if none."),
)
_PLAN: Final = (
    money_column(
        "expected_price",
        "Expected price",
        "What you think it will sell for. It shares out a lot: leave it once a piece is sold.",
    ),
    money_column("expected_postage", "Expected postage", "What the label will cost, as you think."),
)
_LISTED: Final = (
    text_column("channel", "Channel", "Where it is offered, from Settings.", 14, names="Channel_name"),
    date_column("listed_on", "Listed on", "Day it was first offered."),
    money_column("asking_price", "Asking price", "The price you ask."),
    text_column("postage_payer", "Postage paid by", "Who pays postage.", 10, choices=(BUYER, SELLER)),
    Column("packed_weight", "Packed weight", WEIGHT, "Weight of the parcel.", 9, unit="weight"),
    Column("length", "Length", LENGTH, "Longest side of the parcel.", 8, unit="length"),
    Column("width", "Width", LENGTH, "Second side of the parcel.", 8, unit="length"),
    Column("height", "Height", LENGTH, "Third side of the parcel.", 8, unit="length"),
)
_SOLD: Final = (
    date_column("sold_on", "Sold on", "Day of the sale."),
    money_column("sale_price", "Sale price", "What the buyer paid for the piece, without sales tax."),
    money_column("shipping_charged", "Shipping charged", "What the buyer paid for postage; blank if 0."),
    money_column("tax_collected", "Tax collected", "Sales tax that the channel took and pays over itself."),
    money_column("fee_charged", "Fee charged", "The fee on the statement; blank: worked out from terms."),
    money_column("postage_paid", "Postage paid", "What the label cost."),
    Column(
        "scale_weight",
        "Weight by scale",
        WEIGHT,
        "What the carrier's scale said, not rounded up; blank if you do not know.",
        9,
        unit="weight",
    ),
    money_column("packing", "Packing", "Packing bought for this parcel; blank if it is under Expenses already."),
    money_column("refund", "Refund", "What you paid back, price and shipping, without sales tax."),
    date_column("refunded_on", "Refunded on", "Day of the refund; blank: the day of the sale."),
    date_column("returned_on", "Came back on", "Day the piece was back with you; blank if it was not."),
)
_LEFT: Final = (
    text_column("left_how", "Left how", "How else it left.", 11, choices=LEFT_HOW),
    date_column("left_on", "Left on", "Day it left otherwise."),
    text_column(
        "taken_by",
        "Taken by",
        "For own use: the partner who took it; blank: all, by their shares.",
        10,
        names="Partner_name",
    ),
)

_LOG_RESULTS: Final = (
    money_column(
        "landed_cost",
        "Landed cost",
        "Paid, tax, prep and share of a lot.",
        MONEY,
        formula=FunctionCall(
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
    money_column(
        "fee",
        "Fee",
        "The fee charged, or worked out from the channel's terms.",
        formula=Formula('IF({fee_charged}<>"",{fee_charged},{fee_by_terms})', blank_if='{sold_on}=""'),
    ),
    money_column(
        "net_proceeds",
        "Net proceeds",
        "What the sale left before the piece's own cost.",
        MONEY,
        formula=FunctionCall(
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
    money_column(
        "net_profit",
        "Net profit",
        "What the sale left after everything.",
        MONEY,
        formula=FunctionCall(
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
        formula=FunctionCall(
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
        formula=FunctionCall(
            "RETURN_ON_COST",
            {"net_profit": "{net_profit}", "landed_cost": "{cost_of_sale}"},
            blank_if='OR({net_profit}="",{cost_of_sale}="",{cost_of_sale}=0)',
        ),
    ),
    money_column(
        "break_even_price",
        "Break-even price",
        "The price that neither earns nor loses, rounded up to the cent.",
        MONEY,
        formula=FunctionCall(
            "BREAK_EVEN_PRICE",
            {
                "landed_cost": "{landed_cost}",
                "postage": "{postage_used}",
                "packing": "{packing_used}",
                "shipping": "{shipping_used}",
                **fee_terms(),
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
        formula=FunctionCall(
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
        formula=Formula(
            'INT(IF({left_on}<>"",{left_on},IF(AND({sold_on}<>"",{returned_on}=""),{sold_on},'
            "As_of_date)))-INT({stock_date})",
            blank_if='{stock_date}=""',
        ),
    ),
)

_BY_LOT_SHARE: Final = "Python calls LOT_SHARE, which has no such step"
"""The shares that come of the steps are compared."""

_LOG_WORKINGS: Final = (
    working_column("lot_row", "Lot row", COUNT, found_in("Lots_lot_no", "lot_no"), "Its row on Lots."),
    working_column(
        "day_typed",
        "Day typed",
        DATE,
        Formula(
            'IF({lot_no}="",{bought_on},IF({lot_row}="",0,INDEX(Lots_bought_on,{lot_row})))', blank_if='{item_no}=""'
        ),
        "Bought on of the piece or of its lot; 0 if it is blank.",
        not_compared="Python has no day in the place of a blank one",
    ),
    working_column(
        "stock_date",
        "In stock from",
        DATE,
        Formula("{day_typed}", blank_if='OR({day_typed}="",{day_typed}=0)'),
        "Day of purchase of the piece or its lot.",
    ),
    # Only entries of sheet Lots are used here, not its results: those look back at the log, and
    # LibreOffice 7.4 takes 0 for a result that it meets for the second time on such a way.
    working_column(
        "lot_cents",
        "Lot cost, cents",
        COUNT,
        Formula(
            "ROUND(100*(INDEX(Lots_paid,{lot_row})+INDEX(Lots_purchase_tax,{lot_row})),0)", blank_if='{lot_row}=""'
        ),
        "Cost of the lot in cents.",
        not_compared=_BY_LOT_SHARE,
    ),
    working_column(
        "lot_exact",
        "Lot share, cents",
        COUNT,
        Formula(
            'IFERROR(ROUND({lot_cents}*{expected_price}/SUMIFS(Log_expected_price,Log_lot_row,{lot_row}),6),"")',
            blank_if='{lot_row}=""',
        ),
        "Exact share of the lot in cents.",
        not_compared=_BY_LOT_SHARE,
    ),
    working_column(
        "lot_floor",
        "Whole cents",
        COUNT,
        Formula("INT({lot_exact})", blank_if='{lot_exact}=""'),
        "The whole cents of it.",
        not_compared=_BY_LOT_SHARE,
    ),
    working_column(
        "lot_key",
        "Order of rest",
        COUNT,
        Formula(
            f"ROUND(({{lot_exact}}-{{lot_floor}})*{_MILLIONTHS},0)*{KEY_STEP}+{KEY_STEP}-ROW()",
            blank_if='{lot_exact}=""',
        ),
        "Who gets the cents left over: the largest rest, then the earlier row.",
        not_compared=_BY_LOT_SHARE,
    ),
    working_column(
        "lot_left",
        "Cents left over",
        COUNT,
        Formula("{lot_cents}-SUMIFS(Log_lot_floor,Log_lot_row,{lot_row})", blank_if='{lot_exact}=""'),
        "Cents of the lot that go to the largest rests.",
        not_compared=_BY_LOT_SHARE,
    ),
    working_column(
        "lot_share",
        "Lot share",
        MONEY,
        Formula(
            'IF({lot_no}="",0,IF({lot_exact}="","",({lot_floor}+(COUNTIFS(Log_lot_row,{lot_row},'
            'Log_lot_key,">"&{lot_key})<{lot_left}))/100))',
            blank_if='{item_no}=""',
        ),
        "Share of the lot's cost.",
    ),
    working_column(
        "outlay",
        "Outlay",
        MONEY,
        Formula(
            f'IF({{paid_from}}="{RETURNED_PIECE}",0,{{paid}}+{{purchase_tax}})+{{prep_cost}}', blank_if='{item_no}=""'
        ),
        "Money that went out for this piece alone.",
    ),
    working_column(
        "carried_over",
        "Carried over",
        MONEY,
        Formula(f'IF({{paid_from}}="{RETURNED_PIECE}",{{paid}}+{{purchase_tax}},0)', blank_if='{item_no}=""'),
        "Cost taken over from a piece that came back.",
    ),
    owner_paid_column("{outlay}", blank_if='{item_no}=""'),
    *channel_columns(),
    working_column(
        "price_used",
        "Price used",
        MONEY,
        Formula(
            'IF({sold_on}<>"",IF({sale_price}="","",{sale_price}),'
            'IF({asking_price}<>"",{asking_price},{expected_price}+0))',
            blank_if='{item_no}=""',
        ),
        "Sale price, else asking price, else expected price.",
    ),
    working_column(
        "shipping_used",
        "Shipping used",
        MONEY,
        Formula(
            f'IF({{sold_on}}<>"",{{shipping_charged}}+0,IF({{postage_payer}}="{BUYER}",{{expected_postage}}+0,0))',
            blank_if='{item_no}=""',
        ),
        "Shipping charged; before the sale, expected postage if the buyer pays it.",
    ),
    working_column(
        "postage_used",
        "Postage used",
        MONEY,
        Formula('IF({sold_on}<>"",{postage_paid}+0,{expected_postage}+0)', blank_if='{item_no}=""'),
        "Postage paid, else expected postage.",
    ),
    working_column(
        "packing_used",
        "Packing used",
        MONEY,
        Formula('IF({sold_on}<>"",{packing}+0,Usual_packing+0)', blank_if='{item_no}=""'),
        "Packing, else the usual cost from Settings.",
    ),
    working_column(
        "fee_by_terms",
        "Fee by terms",
        MONEY,
        FunctionCall(
            "SELLING_FEE",
            {"price": "{price_used}", "shipping": "{shipping_used}", **fee_terms()},
            blank_if='OR({sold_on}="",{channel_row}="",{price_used}="")',
        ),
        "What the channel's terms give.",
    ),
    working_column(
        "caution_for",
        "Caution for",
        TEXT,
        Formula(topic_of("{category}"), blank_if='OR({item_no}="",{category}="")'),
        "The entry of sheet Cautions that holds.",
    ),
    working_column(
        "postage_error",
        "Postage error",
        MONEY,
        Formula("ROUND({postage_paid}-{expected_postage},6)", blank_if="COUNT({postage_paid},{expected_postage})<2"),
        "Paid less expected.",
    ),
    working_column(
        "weight_error",
        "Weight error",
        MONEY,
        Formula("ROUND({scale_weight}-{packed_weight},6)", blank_if="COUNT({scale_weight},{packed_weight})<2"),
        "Weight by scale less packed weight.",
    ),
    working_column(
        "income",
        "Income",
        MONEY,
        Formula("{price_used}+{shipping_used}", blank_if='OR({sold_on}="",{price_used}="")'),
        "Price and shipping of a sale.",
    ),
    working_column(
        "refund_day",
        "Refund day",
        DATE,
        Formula(
            'IF({refunded_on}<>"",{refunded_on},{sold_on}+0)', blank_if='OR({item_no}="",{refund}="",{sold_on}="")'
        ),
        "Day on which the refund counts.",
    ),
    working_column(
        "cost_of_sale",
        "Cost of sale",
        MONEY,
        Formula('IF({returned_on}="",{landed_cost},0)', blank_if='{sold_on}=""'),
        "Landed cost, or 0 if the piece came back.",
    ),
    working_column(
        "stage",
        "Stage",
        COUNT,
        Formula(
            'MAX(1,2*({listed_on}<>""),3*({sold_on}<>""),4*(SUM({refund_day})*SUM({refund})>0),'
            "5*(SUM({refund_day})*SUM({refund})>0)*(ROUND(SUM({refund})-SUM({income}),2)>=0),"
            '6*({returned_on}<>""))',
            blank_if='{item_no}=""',
        ),
        "Row among the status words.",
    ),
)

_BY_DATE: Final = (("", "stock_date"), ("-", "sold_on"), ("+", "returned_on"), ("-", "left_on"))
"""How the number of a piece on hand changes with the days of its row."""
_PLACE_TOTALS: Final = (
    "SUMIFS(Log_history_profit,Log_place_row,{place_row})",
    "SUMIFS(Log_cost_days,Log_place_row,{place_row})",
)
_LOG_STOCK: Final = (
    working_column(
        "kept",
        "Sale kept",
        COUNT,
        Formula('IF(OR({net_profit}="",{returned_on}<>""),0,1)', blank_if='{item_no}=""'),
        "1 if it sold, its net profit is known, and it did not come back; else 0.",
    ),
    working_column(
        "net_sales",
        "Sale less refund",
        MONEY,
        Formula("{income}-{refund}", blank_if='{net_profit}=""'),
        "Price and shipping less refund.",
    ),
    working_column(
        "on_hand",
        "On hand",
        COUNT,
        Formula(
            "".join(f"{sign}(SUM({{{day}}})>0)*(SUM({{{day}}})<INT(As_of_date)+1)" for sign, day in _BY_DATE),
            blank_if='{item_no}=""',
        ),
        "1 if it is in stock on the day that figures are as of; else 0.",
    ),
    working_column(
        "cost_on_hand",
        "Cost on hand",
        MONEY,
        Formula("{on_hand}*{landed_cost}", blank_if='OR({item_no}="",{landed_cost}="")'),
        "Landed cost if it is on hand; else 0.",
    ),
    working_column(
        "days_waiting",
        "Days waiting",
        DAYS,
        Formula(
            'INT(As_of_date)-INT(IF({listed_on}="",{stock_date},{listed_on}))', blank_if='OR({on_hand}="",{on_hand}<>1)'
        ),
        "Days since it was listed, or bought if it is not listed; blank if it is not on hand.",
    ),
    working_column(
        "stale_key",
        "Order of stale",
        COUNT,
        Formula(
            f'IF({{days_waiting}}<Stale_days,"",{{days_waiting}}*{KEY_STEP}+{KEY_STEP}-ROW())',
            blank_if='{days_waiting}=""',
        ),
        "The longer it waits the higher, then the earlier row.",
    ),
    working_column(
        "history_cost",
        "History: cost",
        MONEY,
        Formula(
            f'IF(OR({{days_held}}<0,{{left_how}}="{OWN_USE}",{{left_how}}="{DONATED}",'
            'AND({sold_on}<>"",{net_profit}="")),"",'
            f'IF({{left_how}}="{RELISTED}",0,{{landed_cost}}))',
            blank_if='OR({item_no}="",{landed_cost}="",{days_held}="")',
        ),
        "Landed cost of a piece that tells how money comes back; 0 if its new row has it; blank if "
        "it left for own use or as a gift, or if its row lacks something.",
    ),
    working_column(
        "history_profit",
        "History: profit",
        MONEY,
        Formula(f'SUM({{net_profit}})-({{left_how}}="{DISCARDED}")*{{history_cost}}', blank_if='{history_cost}=""'),
        "Net profit of its sale, the loss of one that failed among them, less its cost if it was discarded.",
    ),
    working_column(
        "history_days", "History: days", DAYS, Formula("{days_held}", blank_if='{history_cost}=""'), "Days held."
    ),
    working_column(
        "history_over",
        "History: over",
        COUNT,
        Formula(
            f'IF(OR({{kept}}=1,{{left_how}}="{DISCARDED}",{{left_how}}="{RELISTED}"),1,0)', blank_if='{history_cost}=""'
        ),
        "1 if it sold, was discarded or has a new row; 0 if its money still waits.",
    ),
    working_column(
        "cost_days",
        "Cost x days",
        MONEY,
        Formula("{history_cost}*MAX(1,{history_days})", blank_if='{history_cost}=""'),
        "Money tied up, times the days; at least one day.",
    ),
    working_column(
        "place",
        "Place",
        TEXT,
        Formula(
            f'IF(TRIM({{found_at}})<>"",TRIM({{found_at}}),IF({{lot_place}}="","{NO_PLACE}",{{lot_place}}))',
            blank_if='{item_no}=""',
        ),
        "Where it was found, or its lot.",
    ),
    working_column(
        "lot_place",
        "Place of lot",
        TEXT,
        Formula("TRIM(INDEX(Lots_found_at,{lot_row}))", blank_if='{lot_row}=""'),
        "Where its lot was found.",
    ),
    working_column(
        "place_row",
        "Row of place",
        COUNT,
        Formula('IFERROR(MATCH({place},Log_place,0),"")', blank_if='{place}=""'),
        "The first row with the same place.",
    ),
    working_column(
        "place_key",
        "Order of places",
        COUNT,
        Formula(
            f'IF({{place_row}}<>ROW()-{ROW_ONE},"",ROUND(MAX(-{_HIGHEST},MIN({_HIGHEST},'
            f"{_PLACE_TOTALS[0]}/MAX(1,{_PLACE_TOTALS[1]})))*{_MILLIONTHS},0)*{KEY_STEP}"
            f"+{KEY_STEP}-ROW())",
            blank_if='{place_row}=""',
        ),
        "In the first row of a place: profit for each unit of money and day, then earlier rows.",
    ),
)

_NUMBERS_AND_DATES: Final = (
    ("bought_on", "bought_on"),
    ("paid", "expected_postage"),
    ("listed_on", "asking_price"),
    ("packed_weight", "returned_on"),
    ("left_on", "left_on"),
)


PIECE_CHECKS: Final = (
    RowCheck(
        "no_item",
        "the item no. is blank",
        'AND({item_no}="",COUNTA({description},{bought_on}:{category},{condition}:{taken_by})>0)',
    ),
    RowCheck(
        "item_twice",
        "item no. stands twice",
        f'IF({{item_no}}="",FALSE,MATCH({{item_no}},Log_item_no,0)<>ROW()-{ROW_ONE})',
    ),
    RowCheck("not_a_number", "text in place of a number or date", text_among_numbers(_NUMBERS_AND_DATES)),
    RowCheck("negative", "an amount is below 0", below_zero(_NUMBERS_AND_DATES)),
    RowCheck("no_date", "bought on is blank", 'AND({item_no}<>"",{lot_no}="",{bought_on}="")'),
    RowCheck("no_paid", "paid is blank (0 if it was free)", 'AND({item_no}<>"",{lot_no}="",{paid}="")'),
    RowCheck("no_lot", "the lot no. is not on sheet Lots", 'AND({lot_no}<>"",{lot_row}="")'),
    RowCheck(
        "lot_and_paid", "paid or tax typed, but lot paid it", 'AND({lot_no}<>"",SUM({paid})+SUM({purchase_tax})<>0)'
    ),
    RowCheck("lot_no_value", "expected price is blank (for the lot)", 'AND({lot_no}<>"",{expected_price}="")'),
    RowCheck(
        "no_source", "paid from is not on Settings", 'IF({paid_from}="",FALSE,COUNTIF(Source_name,{paid_from})=0)'
    ),
    RowCheck(
        "sold_early", "sold before it was bought", "IF(COUNT({sold_on},{stock_date})=2,{sold_on}<{stock_date},FALSE)"
    ),
    RowCheck("no_price", "sale price is blank", 'AND({sold_on}<>"",{sale_price}="")'),
    RowCheck(
        "no_sale_date", "sale without its day (sold on)", 'AND({sold_on}="",COUNTA({sale_price}:{returned_on})>0)'
    ),
    RowCheck(
        "no_channel", "channel is blank or not on Settings", 'AND(OR({channel}<>"",{sold_on}<>""),{channel_row}="")'
    ),
    RowCheck(
        "refund_high",
        "refund over price and shipping",
        "IF(COUNT({refund},{income})=2,ROUND({refund}-{income},2)>0,FALSE)",
    ),
    RowCheck(
        "refund_early",
        "refunded or back before it was sold",
        "OR(IF(COUNT({refunded_on},{sold_on})=2,{refunded_on}<{sold_on},FALSE),"
        "IF(COUNT({returned_on},{sold_on})=2,{returned_on}<{sold_on},FALSE))",
    ),
    RowCheck(
        "left_half",
        "fill in both left how and left on",
        # Not a comparison of two comparisons: a program was seen to save that without its brackets.
        'IF({left_how}="",{left_on}<>"",{left_on}="")',
    ),
    RowCheck(
        "left_early",
        "left before it was bought or back",
        "OR(IF(COUNT({left_on},{stock_date})=2,{left_on}<{stock_date},FALSE),"
        "IF(COUNT({left_on},{returned_on})=2,{left_on}<{returned_on},FALSE))",
    ),
    RowCheck("sold_and_left", "sold and left otherwise as well", 'AND({sold_on}<>"",{returned_on}="",{left_how}<>"")'),
    RowCheck(
        "after_as_of",
        "dated after Figures as of (Settings)",
        "INT(MAX({bought_on},{listed_on},{sold_on},{refunded_on}:{returned_on},{left_on}))>INT(As_of_date)",
    ),
    RowCheck(
        "before_first",
        "before First month (Settings)",
        'OR(AND({sold_on}<>"",{sold_on}<First_month),AND({left_on}<>"",{left_on}<First_month))',
    ),
    RowCheck(
        "no_left_how",
        "left how is not in the list",
        'AND({left_how}<>"",' + ",".join(f'{{left_how}}<>"{word}"' for word in LEFT_HOW) + ")",
    ),
    RowCheck("no_taker", "taken by is not on Settings", 'IF({taken_by}="",FALSE,COUNTIF(Partner_name,{taken_by})=0)'),
    RowCheck(
        "taken_not_own", "taken by, but left how is not Own use", f'AND({{taken_by}}<>"",{{left_how}}<>"{OWN_USE}")'
    ),
    RowCheck(
        "no_payer",
        "postage payer is not in the list",
        f'AND({{postage_payer}}<>"",{{postage_payer}}<>"{BUYER}",{{postage_payer}}<>"{SELLER}")',
    ),
    RowCheck("back_no_refund", "came back, but there is no refund", 'AND({returned_on}<>"",SUM({refund})=0)'),
    RowCheck("refund_no_amount", "refunded on, but no refund", 'AND({refunded_on}<>"",{refund}="")'),
    RowCheck(
        "fee_differs",
        "fee charged is not by the terms",
        "IF(COUNT({fee_charged},{fee_by_terms})=2,ROUND(ABS({fee_charged}-{fee_by_terms}),2)>0.01,FALSE)",
        of_results=lambda log: cents((log["fee_charged"] - log["fee_by_terms"]).abs()) > 0.01,
        notice=True,
    ),
)


def pieces_sheet(rows: int) -> TableSheet:
    """Sheet Sourcing log."""
    columns = (
        *grouped("Piece", _PIECE),
        *grouped("Bought", _BOUGHT),
        *grouped("Plan", _PLAN),
        *grouped("Listed", _LISTED),
        *grouped("Sold", _SOLD),
        *grouped("Left otherwise", _LEFT),
        *grouped("Results", _LOG_RESULTS),
        *_LOG_WORKINGS,
        *_LOG_STOCK,
        findings_column(PIECE_CHECKS),
    )
    return TableSheet(
        "Sourcing log",
        "Log",
        "One row for each piece that can be sold on its own.",
        columns,
        rows,
        PIECE_CHECKS,
        frozen_columns=2,
    )
