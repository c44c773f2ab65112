"""Sheet Sourcing log: one row for each item."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COST, COUNT, DATE, DAYS, LENGTH, MONEY, RATIO, TEXT, WEIGHT
from sheetfns.files.cell_names import column_letters
from sheetfns.log.model.sheets import RIGHT_EDGE, Column, EditionFormula, TableSheet
from sheetfns.log.sheets.columns import (
    around_entries,
    call,
    caution_of,
    channel_columns,
    entry,
    fee_terms,
    findings_column,
    grouped,
    own_cell,
    owner_paid_column,
    result,
    row_check_column,
    step,
    topic_of,
)
from sheetfns.log.sheets.sourcing_log.validate import CHECKS, ENTRY_CHECKS
from sheetfns.log.sheets.words import (
    BUYER,
    DISCARDED,
    DISPOSITIONS,
    DONATED,
    ENTER_POSTAGE,
    ITEM_NO_HEADER,
    KEY_STEP,
    LIST_IT,
    MARK_DOWN,
    NO_PLACE,
    PERSONAL_USE,
    RELIST,
    RELISTED,
    RETURNED_ITEM,
    ROW_ONE,
    SELLER,
    STOPS_ON,
)

_MILLIONTHS: Final = 1_000_000
_HIGHEST: Final = 9999
"""Earnings that order places stay below it, so that their keys stay whole numbers of 15 digits."""
_EARLIER_ROW: Final = f"{KEY_STEP}-ROW()"
"""Added to a key times KEY_STEP, it puts the earlier row first."""

_NO_ITEM: Final = '{item_no}=""'
_NOT_SOLD: Final = '{sold_on}=""'
_NO_LOT: Final = '{lot_row}=""'
_NO_SHARE: Final = '{lot_exact}=""'
_NOT_FIRST: Final = f'IF({{lot_row}}="",TRUE,{{lot_first}}<>ROW()-{ROW_ONE})'
_NO_HISTORY: Final = '{history_cost}=""'
# Read from their columns, so that no other entry of a row makes a program work out the lots again.
_OWN_LOT: Final = own_cell("Log_lot_no")
_OWN_EXPECTED: Final = own_cell("Log_expected_price")
_BY_LOT_SHARE: Final = "Python calls LOT_SHARE, which has no such step"
"""The shares that come of the steps are compared."""

_PRICE: Final = {"price": "price_used", "shipping": "shipping_used"}
_PARCEL: Final = {"postage": "postage_used", "packaging": "packaging_used"}
_SALE: Final = {**_PRICE, "fee": "fee", **_PARCEL}
_UP_TO_THE_CENT: Final = "-INT(-ROUND(100*{},6))/100"
_CAUTION: Final = EditionFormula(
    caution_of("brief", "{caution_for}"),
    call("RESALE_CAUTION", category="caution_for", brief="TRUE()", blank_if='{caution_for}=""'),
)
_LAST_DAY_HELD: Final = (
    'IF({disposition_date}<>"",{disposition_date},IF(AND({sold_on}<>"",{returned_on}=""),{sold_on},Figures_until))'
)
_GETS_A_CENT: Final = "RANK({lot_order},Log_lot_order,1)-INDEX(Log_lot_before,{lot_first})<={lot_left}"
_REFUNDED: Final = "(SUM({refund_day})*SUM({refund})>0)"
_LATE: Final = "AND(MAX(Stale_days)>=1,{days_waiting}>=MAX(Stale_days))"
_NO_POSTAGE: Final = 'AND({sold_on}<>"",{postage_paid}="",SUM({expected_postage},{shipping_charged})>0)'
_STAGE: Final = (
    f'MAX(1,2*({{listed_on}}<>""),3*({{sold_on}}<>""),4*{_REFUNDED},'
    f'5*{_REFUNDED}*(ROUND(SUM({{refund}})-SUM({{income}}),2)>=0),6*({{returned_on}}<>""))'
)
_ON_HAND: Final = "".join(
    f"{sign}(SUM({{{day}}})>0)*(SUM({{{day}}})<{STOPS_ON}+1)"
    for sign, day in (("", "inventory_date"), ("-", "sold_on"), ("+", "returned_on"), ("-", "disposition_date"))
)
"""How the number of an item on hand changes with the days of its row."""
_TELLS_NOTHING: Final = (
    f'OR({{days_held}}<0,{{disposition}}="{PERSONAL_USE}",{{disposition}}="{DONATED}",'
    'AND({sold_on}<>"",{net_profit}=""))'
)
_EARNED_A_DAY: Final = (
    "SUMIFS(Log_history_profit,Log_place_row,{place_row})/MAX(1,SUMIFS(Log_cost_days,Log_place_row,{place_row}))"
)

# A table: key, header, type, width, formula of what is worked out, help; a step has no width.
# fmt: off
_ENTRIES: Final = (
    *grouped("Item", (
        entry("item_no", ITEM_NO_HEADER, TEXT, 9, "Your own number for the item; each number once."),
        entry("description", "Description", TEXT, 31, "What it is, in your own words."),
        entry("lot_no", "Lot no.", TEXT, 8, "The lot it came in, from sheet Lots; blank if bought alone."),
        entry("expected_price", "Expected price", COST, 10.5,
              "What you think it will sell for. A lot's cost is split by it: don't change it once an item is sold."),
    )),
    *grouped("Bought", (
        entry("bought_on", "Bought on", DATE, 11.5, "Day of purchase; blank for an item of a lot."),
        entry("bought_by", "Bought by", TEXT, 14, "Who bought it.", names="Partner_name"),
        entry("paid_from", "Paid from", TEXT, 14,
              "Business, or the partner who paid from their own pocket; Returned item: a buyer sent it back and you "
              "list it again. Blank counts as Business.", names="Source_name"),
        entry("found_at", "Found at", TEXT, 23, "Shop, sale or house where you found it."),
        entry("category", "Category", TEXT, 16, "The kind of goods, in your own words.", names="Category_name"),
        entry("condition", "Condition", TEXT, 12, "Its condition in your own grades.", names="Condition_name"),
        entry("missing", "Missing or faulty", TEXT, 20, "What is missing, worn or broken; blank if nothing."),
        entry("paid", "Paid", COST, 10.5, "Price paid for it, without tax; 0 if free; blank for a lot item."),
        entry("purchase_tax", "Purchase tax", COST, 10.5, "Sales tax paid with it; blank if none."),
        entry("prep_cost", "Prep cost", COST, 10.5, "Cleaning, parts, batteries for this item; blank if none."),
    )),
    *grouped("Listed", (
        entry("channel", "Channel", TEXT, 14, "Where you offer it, from Settings.", names="Channel_name"),
        entry("listed_on", "Listed on", DATE, 11.5, "Day it was first listed."),
        entry("asking_price", "Asking price", COST, 10.5, "The price you ask."),
        entry("expected_postage", "Expected postage", COST, 10.5, "Your estimate of the shipping label."),
        entry("postage_payer", "Postage paid by", TEXT, 10, "Who pays postage.", choices=(BUYER, SELLER)),
        entry("packed_weight", "Packed weight", WEIGHT, 9, "Weight of the parcel."),
        entry("length", "Length", LENGTH, 8, "Longest side of the parcel."),
        entry("width", "Width", LENGTH, 8, "Second side of the parcel."),
        entry("height", "Height", LENGTH, 8, "Third side of the parcel."),
    )),
    *grouped("Sold", (
        entry("sold_on", "Sold on", DATE, 11.5, "Day of the sale."),
        entry("sale_price", "Sale price", COST, 10.5, "What the buyer paid for the item, without sales tax."),
        entry("shipping_charged", "Shipping charged", COST, 10.5, "What the buyer paid for postage; blank if 0."),
        entry("tax_collected", "Tax collected", COST, 10.5,
              "Sales tax that the channel collected and remits itself."),
        entry("fee_charged", "Fee charged", COST, 10.5,
              "The fee on the statement; blank: calculated from the channel's terms."),
        entry("postage_paid", "Postage paid", COST, 10.5, "What the shipping label cost."),
        entry("scale_weight", "Weight by scale", WEIGHT, 9,
              "Weight on the carrier's scale, not rounded up; blank if unknown."),
        entry("packaging", "Packaging", COST, 10.5,
              "Packaging bought for this parcel; blank if already under Expenses."),
        entry("refund", "Refund", COST, 10.5, "What you refunded, price and shipping, without sales tax."),
        entry("refunded_on", "Refunded on", DATE, 11.5, "Day of the refund; blank: the day of the sale."),
        entry("returned_on", "Came back on", DATE, 11.5,
              "Day you got the item back; blank if you didn't."),
    )),
    *grouped("Other disposition", (
        entry("disposition", "Disposition", TEXT, 11, "What happened to it, if not sold.", choices=DISPOSITIONS),
        entry("disposition_date", "Disposition date", DATE, 11.5, "Day of the disposition."),
        entry("taken_by", "Taken by", TEXT, 10,
              "For personal use: the partner who took it; blank: all, by their shares.", names="Partner_name"),
    )),
)
_IN_SIGHT: Final = grouped("Results", (
    row_check_column("item_no"),
    result("status", "Status", TEXT, 12.5, 'IF({disposition}<>"",{disposition},INDEX(Stage_word,{stage}))',
           "Where the item is now.", blank_if=_NO_ITEM),
    result("net_profit", "Net profit", MONEY, 10.5,
           call("NET_PROFIT", **_SALE, landed_cost="cost_of_sale", refund="refund",
                blank_if='OR({net_proceeds}="",{cost_of_sale}="")'),
           "What is left of the sale after all costs."),
))
_RESULTS: Final = grouped("Results", (
    result("caution", "Caution", TEXT, 36, _CAUTION,
           "What to check before you buy or list it, in brief; more on Listing desk and Cautions."),
    result("landed_cost", "Landed cost", MONEY, 10.5,
           call("LANDED_COST", paid="({paid}+0)", purchase_tax="purchase_tax", prep_cost="prep_cost",
                buying_share="lot_share", blank_if='OR({lot_share}="",AND({lot_no}="",{paid}=""))'),
           "Paid, tax, prep and share of a lot."),
    result("fee", "Fee", COST, 10.5, 'IF({fee_charged}<>"",{fee_charged},{fee_by_terms})',
           "The fee charged, or calculated from the channel's terms.", blank_if=_NOT_SOLD),
    result("net_proceeds", "Net proceeds", MONEY, 10.5,
           call("NET_PROCEEDS", **_SALE, refund="refund", blank_if='OR({sold_on}="",{fee}="",{price_used}="")'),
           "What is left of the sale before the item's own cost."),
    result("net_margin", "Net margin", RATIO, 9,
           call("NET_MARGIN", net_profit="net_profit", **_PRICE,
                blank_if='OR({net_profit}="",{income}="",{income}=0)'),
           "Net profit as a share of price and shipping."),
    result("return_on_cost", "Return on cost", RATIO, 9,
           call("RETURN_ON_COST", net_profit="net_profit", landed_cost="cost_of_sale",
                blank_if='OR({net_profit}="",{cost_of_sale}="",{cost_of_sale}=0)'),
           "Net profit as a share of landed cost."),
    result("break_even_price", "Break-even price", MONEY, 10.5,
           call("BREAK_EVEN_PRICE", landed_cost="landed_cost", **_PARCEL, shipping="shipping_used", **fee_terms(),
                blank_if='OR({landed_cost}="",{channel_row}="")', around=_UP_TO_THE_CENT),
           "The price with neither profit nor loss, rounded up to the cent."),
    result("margin_of_safety", "Margin of safety", RATIO, 9,
           call("MARGIN_OF_SAFETY", actual="price_used", break_even="break_even_price",
                blank_if='OR({break_even_price}="",{price_used}="",{price_used}=0)'),
           "How far the sale, asking or expected price can fall before a loss."),
    result("days_held", "Days held", DAYS, 8, f"INT({_LAST_DAY_HELD})-INT({{inventory_date}})",
           "From purchase to sale, or to the as-of date.",
           blank_if='{inventory_date}=""', cell_format="0"),
    result("next_step", "Next step", TEXT, 19,
           f'IF({{on_hand}}=1,{{on_hand_step}},IF({_NO_POSTAGE},"{ENTER_POSTAGE}",""))',
           "What the row asks for next; blank if nothing.",
           blank_if=_NO_ITEM, watches=True),
))
_COST: Final = (
    step("lot_row", "Lot row", COUNT, f'IFERROR(MATCH({_OWN_LOT},Lots_lot_no,0),"")', "Its row on Lots.",
         blank_if=f'{_OWN_LOT}=""'),
    step("day_typed", "Day entered", DATE,
         'IF({lot_no}="",{bought_on},IF({lot_row}="",0,INDEX(Lots_bought_on,{lot_row})))',
         "Bought on of the item or of its lot; 0 if it is blank.", blank_if=_NO_ITEM,
         not_compared="Python has no day in the place of a blank one"),
    step("inventory_date", "In stock from", DATE, "{day_typed}", "Day of purchase of the item or its lot.",
         blank_if='OR({day_typed}="",{day_typed}=0)'),
    # Only entries of sheet Lots are used here, not its results: those look back at the log, and
    # LibreOffice 7.4 takes 0 for a result that it meets for the second time on such a way.
    step("lot_cents", "Lot cost, cents", COUNT,
         "ROUND(100*(INDEX(Lots_paid,{lot_row})+INDEX(Lots_purchase_tax,{lot_row})),0)",
         "Cost of the lot in cents.", blank_if=_NO_LOT, not_compared=_BY_LOT_SHARE),
    step("lot_first", "First of lot", COUNT, "MATCH({lot_row},Log_lot_row,0)",
         "The row of the log with the first item of its lot; sums of the lot stand there.",
         blank_if=_NO_LOT, not_compared=_BY_LOT_SHARE),
    step("lot_prices", "Prices of lot", MONEY, "SUMIFS(Log_expected_price,Log_lot_row,{lot_row})",
         "In the first row of a lot: expected prices of its items.", blank_if=_NOT_FIRST, not_compared=_BY_LOT_SHARE),
    step("lot_exact", "Lot share, cents", COUNT,
         f'IFERROR(ROUND({{lot_cents}}*{_OWN_EXPECTED}/INDEX(Log_lot_prices,{{lot_first}}),6),"")',
         "Exact share of the lot in cents.", blank_if=_NO_LOT, not_compared=_BY_LOT_SHARE),
    step("lot_floor", "Whole cents", COUNT, "INT({lot_exact})", "The whole cents of it.",
         blank_if=_NO_SHARE, not_compared=_BY_LOT_SHARE),
    step("lot_key", "Remainder order", COUNT,
         f"ROUND(({{lot_exact}}-{{lot_floor}})*{_MILLIONTHS},0)*{KEY_STEP}+{_EARLIER_ROW}",
         "Who gets the leftover cents: the largest remainder, then the earlier row.",
         blank_if=_NO_SHARE, not_compared=_BY_LOT_SHARE),
    step("lot_order", "Order in lots", COUNT, f"{{lot_row}}*{KEY_STEP}+RANK({{lot_key}},Log_lot_key)",
         "Orders the items by lot, then by remainder.", blank_if=_NO_SHARE, not_compared=_BY_LOT_SHARE),
    step("lot_floors", "Whole cents of lot", COUNT, "SUMIFS(Log_lot_floor,Log_lot_row,{lot_row})",
         "In the first row of a lot: whole cents of its items.", blank_if=_NOT_FIRST, not_compared=_BY_LOT_SHARE),
    step("lot_before", "Items before lot", COUNT, f'COUNTIF(Log_lot_order,"<"&{{lot_row}}*{KEY_STEP})',
         "In the first row of a lot: how many items the lots before it have.",
         blank_if=_NOT_FIRST, not_compared=_BY_LOT_SHARE),
    step("lot_left", "Leftover cents", COUNT, "{lot_cents}-INDEX(Log_lot_floors,{lot_first})",
         "Leftover cents of the lot; they go to the largest remainders.",
         blank_if=_NO_SHARE, not_compared=_BY_LOT_SHARE),
    step("lot_share", "Lot share", MONEY,
         f'IF({{lot_no}}="",0,IF({{lot_exact}}="","",({{lot_floor}}+({_GETS_A_CENT}))/100))',
         "Share of the lot's cost.", blank_if=_NO_ITEM),
    step("outlay", "Outlay", MONEY,
         f'IF({{paid_from}}="{RETURNED_ITEM}",0,{{paid}}+{{purchase_tax}})+{{prep_cost}}',
         "Money that went out for this item alone.", blank_if=_NO_ITEM),
    step("carried_over", "Carried over", MONEY,
         f'IF({{paid_from}}="{RETURNED_ITEM}",{{paid}}+{{purchase_tax}},0)',
         "Cost carried over from an item that came back.", blank_if=_NO_ITEM),
    owner_paid_column("{outlay}", blank_if=_NO_ITEM),
)
_OFFER: Final = (
    *channel_columns(),
    step("price_used", "Price used", MONEY,
         'IF({sold_on}<>"",IF({sale_price}="","",{sale_price}),'
         'IF({asking_price}<>"",{asking_price},{expected_price}+0))',
         "Sale price, else asking price, else expected price.", blank_if=_NO_ITEM),
    step("shipping_used", "Shipping used", MONEY,
         f'IF({{sold_on}}<>"",{{shipping_charged}}+0,IF({{postage_payer}}="{BUYER}",{{expected_postage}}+0,0))',
         "Shipping charged; before the sale, expected postage if the buyer pays it.", blank_if=_NO_ITEM),
    step("postage_used", "Postage used", MONEY, 'IF({sold_on}<>"",{postage_paid}+0,{expected_postage}+0)',
         "Postage paid, else expected postage.", blank_if=_NO_ITEM),
    step("packaging_used", "Packaging used", MONEY, 'IF({sold_on}<>"",{packaging}+0,Usual_packaging+0)',
         "Packaging, else the usual cost from Settings.", blank_if=_NO_ITEM),
    step("fee_by_terms", "Fee by terms", MONEY,
         call("SELLING_FEE", **_PRICE, **fee_terms(),
              blank_if='OR({sold_on}="",{channel_row}="",{price_used}="")'),
         "The fee by the channel's terms."),
    step("caution_for", "Caution for", TEXT, topic_of("{category}"), "The entry of sheet Cautions that applies.",
         blank_if='OR({item_no}="",{category}="")'),
    step("postage_error", "Postage error", MONEY, "ROUND({postage_paid}-{expected_postage},6)",
         "Paid minus expected.", blank_if="COUNT({postage_paid},{expected_postage})<2"),
    step("weight_error", "Weight error", MONEY, "ROUND({scale_weight}-{packed_weight},6)",
         "Weight by scale minus packed weight.", blank_if="COUNT({scale_weight},{packed_weight})<2"),
    step("income", "Income", MONEY, "{price_used}+{shipping_used}", "Price and shipping of a sale.",
         blank_if='OR({sold_on}="",{price_used}="")'),
    step("refund_day", "Refund day", DATE, 'IF({refunded_on}<>"",{refunded_on},{sold_on}+0)',
         "Day on which the refund counts.", blank_if='OR({item_no}="",{refund}="",{sold_on}="")'),
    step("cost_of_sale", "Cost of sale", MONEY, 'IF({returned_on}="",{landed_cost},0)',
         "Landed cost, or 0 if the item came back.", blank_if=_NOT_SOLD),
    step("stage", "Stage", COUNT, _STAGE, "Row among the status words.", blank_if=_NO_ITEM),
)
_INVENTORY: Final = (
    step("kept", "Sale kept", COUNT, 'IF(OR({net_profit}="",{returned_on}<>""),0,1)',
         "1 if it sold, its net profit is known, and it did not come back; else 0.", blank_if=_NO_ITEM),
    step("net_sales", "Sale less refund", MONEY, "{income}-{refund}", "Price and shipping less refund.",
         blank_if='{net_profit}=""'),
    step("on_hand", "On hand", COUNT, _ON_HAND,
         "1 if it is in inventory on the as-of date; else 0.", blank_if=_NO_ITEM),
    step("cost_on_hand", "Cost on hand", MONEY, "{on_hand}*{landed_cost}",
         "Landed cost if it is on hand; else 0.", blank_if='OR({item_no}="",{landed_cost}="")'),
    step("days_waiting", "Days waiting", DAYS,
         'INT(Figures_until)-INT(IF({listed_on}="",{inventory_date},{listed_on}))',
         "Days since it was listed, or bought if it is not listed; blank if it is not on hand.",
         blank_if='OR({on_hand}="",{on_hand}<>1)'),
    step("stale_step", "If listed", TEXT, f'IF({_LATE},"{MARK_DOWN}","")', "What it asks for if it is listed.",
         blank_if='{days_waiting}=""', watches=True),
    step("on_hand_step", "If on hand", TEXT, f'IF({{stage}}=1,"{LIST_IT}",IF({{stage}}>2,"{RELIST}",{{stale_step}}))',
         "What it asks for while it is on hand.", blank_if="{on_hand}<>1", watches=True),
    step("stale_key", "Stale order", COUNT,
         f'IF({{days_waiting}}<Stale_days,"",{{days_waiting}}*{KEY_STEP}+{_EARLIER_ROW})',
         "The longer it waits the higher, then the earlier row.", blank_if='{days_waiting}=""'),
    step("history_cost", "History: cost", MONEY,
         f'IF({_TELLS_NOTHING},"",IF({{disposition}}="{RELISTED}",0,{{landed_cost}}))',
         "Landed cost of an item that shows how money comes back; 0 if its new row has it; blank if taken for personal "
         "use or donated, or if its row is incomplete.",
         blank_if='OR({item_no}="",{landed_cost}="",{days_held}="")'),
    step("history_profit", "History: profit", MONEY,
         f'SUM({{net_profit}})-({{disposition}}="{DISCARDED}")*{{history_cost}}',
         "Net profit of its sale, or the loss of a failed one, less its cost if it was discarded.",
         blank_if=_NO_HISTORY),
    step("history_days", "History: days", DAYS, "{days_held}", "Days held.", blank_if=_NO_HISTORY),
    step("history_over", "History: over", COUNT,
         f'IF(OR({{kept}}=1,{{disposition}}="{DISCARDED}",{{disposition}}="{RELISTED}"),1,0)',
         "1 if it sold, was discarded or has a new row; 0 if its money still waits.", blank_if=_NO_HISTORY),
    step("cost_days", "Cost x days", MONEY, "{history_cost}*MAX(1,{history_days})",
         "Money tied up, times days; at least one day.", blank_if=_NO_HISTORY),
    step("place", "Place", TEXT,
         f'IF(TRIM({{found_at}})<>"",TRIM({{found_at}}),IF({{lot_place}}="","{NO_PLACE}",{{lot_place}}))',
         "Where it was found, or its lot.", blank_if=_NO_ITEM),
    step("lot_place", "Place of lot", TEXT, "TRIM(INDEX(Lots_found_at,{lot_row}))", "Where its lot was found.",
         blank_if=_NO_LOT),
    step("place_row", "Row of place", COUNT, 'IFERROR(MATCH({place},Log_place,0),"")',
         "The first row with the same place.", blank_if='{place}=""'),
    step("place_key", "Order of places", COUNT,
         f'IF({{place_row}}<>ROW()-{ROW_ONE},"",ROUND(MAX(-{_HIGHEST},MIN({_HIGHEST},'
         f"{_EARNED_A_DAY}))*{_MILLIONTHS},0)*{KEY_STEP}+{_EARLIER_ROW})",
         "In the first row of a place: profit per unit of money and day, then earlier rows.",
         blank_if='{place_row}=""'),
)
# fmt: on
COLUMNS: Final[tuple[Column, ...]] = around_entries(
    _IN_SIGHT, _ENTRIES, (*_RESULTS, *_COST, *_OFFER, *_INVENTORY, findings_column(CHECKS)), parted_at="channel"
)
ITEM_COLUMN: Final = column_letters([column.key for column in COLUMNS].index("item_no"))
"""The letters of the column with the item numbers, to which ways from other sheets lead."""


def sheet(rows: int) -> TableSheet:
    """Sheet Sourcing log."""
    purpose = "One row for each item that can be sold on its own."
    return TableSheet(
        "Sourcing log",
        "Log",
        purpose,
        COLUMNS,
        rows,
        CHECKS,
        frozen_entries=2,
        folds=True,
        found_by=("item_no", "description"),
        tinted_by="status",
        print_parts=(
            ("row_check", "found_at"),
            ("category", "height"),
            ("sold_on", RIGHT_EDGE),
            ("caution", "next_step"),
        ),
        print_repeats=("item_no", "item_no"),
        entry_checks=ENTRY_CHECKS,
    )
