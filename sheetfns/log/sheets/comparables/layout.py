"""Sheet Comparables: what items like yours sold for, and what others ask for them."""

from __future__ import annotations

from functools import partial
from typing import Final

from sheetfns.cell_types import COST, COUNT, DATE, FACTOR, MONEY, RATIO, TEXT
from sheetfns.log.model.sheets import Column, FunctionCall, TableSheet
from sheetfns.log.sheets.columns import (
    around_entries,
    entry,
    findings_column,
    found_in,
    grouped,
    result,
    row_check_column,
    step,
)
from sheetfns.log.sheets.comparables.validate import CHECKS, ENTRY_CHECKS
from sheetfns.log.sheets.words import COMP_ASKED, COMP_SOLD, ITEM_HEADER, KEY_STEP, NO, ROW_ONE, YES

_DAY_STEP: Final = 10_000_000
"""More than any date number: the item's row x _DAY_STEP + day orders by item, then by day."""
_MOST_HALVINGS: Final = 1000
"""LibreOffice shows an error for a power too small to be held, and for the square of such."""
_MILLS: Final = 1000
"""Distances are compared to the tenth of a cent: a median price may end in half a cent."""
_OF_ITEM: Final = "Comps_first_row,{first_row}"
_NO_ITEM: Final = '{first_row}=""'
_NO_SALE: Final = '{key}=""'
_NOT_FIRST: Final = f'OR({{first_row}}="",{{first_row}}<>ROW()-{ROW_ONE})'
_NOT_FIRST_OR_UNSOLD: Final = f'OR({{first_row}}="",{{first_row}}<>ROW()-{ROW_ONE},{{sold}}=0)'
_OFFERED: Final = {"sold": "{sold}", "offered": "({sold}+{asked})"}
_NO_OFFER: Final = "SUM({asked})=0"

_of_sale = partial(step, blank_if=_NO_SALE)
_in_comp_spread = partial(_of_sale, not_compared="Python calls COMP_SPREAD, which has no such step")
"""The prices that come of these steps are compared."""


def trust_in_prices(kept: str, dropped: str, *, some_dropped: str, none_dropped: str) -> str:
    """How far {low} and {high} can be trusted, by the numbers of sales kept and dropped."""
    far_apart = "ROUND({high}-2*{low},9)>0"
    return (
        f'IF({kept}<=4,"rough estimate ("&{_counted(kept, "sale")}&")",'
        f'IF({far_apart},"rough estimate (wide range)",""))'
        f'&IF(AND({some_dropped},OR({kept}<=4,{far_apart})),"; ","")'
        f'&IF({none_dropped},"",{_counted(dropped, "outlier")}&" excluded")'
    )


def _counted(number: str, thing: str) -> str:
    shown = f"({number})" if "-" in number else number
    return f'{shown}&IF({number}=1," {thing}"," {thing}s")'


def _middle_of(values: str, rank: str) -> str:
    """The median of an item's figures: the mean of the one or two in the middle by rank."""
    return f'AVERAGEIFS({values},{_OF_ITEM},{rank},">="&{{number}}/2,{rank},"<="&({{number}}/2+1))'


def _share_within(share: str) -> str:
    """How much of a sale's own stretch of the sorted weights lies where the quantile is taken."""
    start = f"{share}*({{effective}}-1)"
    end_of_row = "{effective}*{weight_to}/{weight_all}"
    start_of_row = "{effective}*({weight_to}-{weight})/{weight_all}"
    return f"(MAX(0,MIN(1,{end_of_row}-{start}))-MAX(0,MIN(1,{start_of_row}-{start})))*{{basis}}"


# Tables: key, header, type, width, help of what is typed; with the formula before the help of what is worked out;
# a step has no width.
# fmt: off
_INPUTS: Final = (
    *grouped("Comparable item", (
        entry("item", ITEM_HEADER, TEXT, 16,
              "Its item no., or your own name for it; the same in all its rows."),
        entry("kind", "Sold or asked", TEXT, 9,
              "Sold: the price was paid. Asked: only offered; never counts as a sale.",
              choices=(COMP_SOLD, COMP_ASKED)),
        entry("price", "Price", COST, 10.5, "What was paid, or what is asked."),
        entry("postage_in", "Postage included", TEXT, 9.5, "Does that price include postage? Blank counts as No.",
              choices=(YES, NO)),
        entry("postage", "Postage", COST, 10.5, "Postage in the price, or on top of it."),
        entry("complete", "Complete", TEXT, 9.5, "Was it complete? Blank counts as Yes.", choices=(YES, NO)),
        entry("condition", "Condition", TEXT, 12, "Its condition, from Settings.", names="Condition_name"),
        entry("seen_on", "Day", DATE, 11.5, "Day of the sale, or day you saw the offer."),
        entry("seen_at", "Seen at", TEXT, 16, "Where you saw it; a reminder."),
    )),
    *grouped("Mine (first row of the item)", (
        entry("my_condition", "My condition", TEXT, 12, "The condition of your item; blank: as theirs.",
              names="Condition_name"),
        entry("missing_parts", "Missing parts", COST, 10.5, "Value of the parts missing from yours, if any."),
    )),
)
_RESULTS: Final = grouped("Results", (
    result("basis", "Adjusted price", MONEY, 10.5,
           f'ROUND(MAX(0,({{price}}-IF({{postage_in}}="{YES}",SUM({{postage}}),0))'
           f'*IF({{my_worth}}*{{worth}}>0,{{my_worth}}/{{worth}},1)-IF({{complete}}="{NO}",0,{{missing_value}})),2)',
           "A sold price without postage, adjusted to the condition of yours.",
           blank_if=f'OR({{first_row}}="",{{kind}}<>"{COMP_SOLD}",COUNT({{price}})=0,SUM({{price}})<0)'),
    result("counts", "Counts", TEXT, 9,
           f'IF({{basis}}="",IF({{kind}}="{COMP_ASKED}","asked",""),IF({{used}}=1,"yes","outlier"))',
           "Whether the row counts as a sale, or why not.", blank_if=_NO_ITEM),
    result("low", "Low price", MONEY, 10.5, f"SUMIFS(Comps_low_part,{_OF_ITEM})",
           "A quarter of the sales (share on Settings) are below it.", blank_if=_NOT_FIRST_OR_UNSOLD),
    result("middle", "Median price", MONEY, 10.5, f"SUMIFS(Comps_middle_part,{_OF_ITEM})",
           "Half of the sales are below it: the price to expect.", blank_if=_NOT_FIRST_OR_UNSOLD),
    result("high", "High price", MONEY, 10.5, f"SUMIFS(Comps_high_part,{_OF_ITEM})",
           "As many sales are above it as below the low price.", blank_if=_NOT_FIRST_OR_UNSOLD),
    result("sold", "Sales", COUNT, 7, f'COUNTIFS({_OF_ITEM},Comps_basis,">=0")', "Sold rows of the item.",
           blank_if=_NOT_FIRST),
    result("dropped", "Outliers", COUNT, 7, f"{{sold}}-SUMIFS(Comps_used,{_OF_ITEM})",
           "Sales left out because their price is an outlier.", blank_if=_NOT_FIRST_OR_UNSOLD),
    result("asked", "Offers", COUNT, 7, f'COUNTIFS({_OF_ITEM},Comps_kind,"{COMP_ASKED}")', "Asked rows of the item.",
           blank_if=_NOT_FIRST),
    result("sell_through", "Sell-through", RATIO, 9, FunctionCall("SELL_THROUGH", _OFFERED, _NO_OFFER),
           "Sales as a share of sales and offers; blank without offers."),
    result("sell_through_floor", "At least", RATIO, 9, FunctionCall("SELL_THROUGH_FLOOR", _OFFERED, _NO_OFFER),
           "Sell-through is at least this, with 95% confidence."),
    result("remark", "Remark", TEXT, 30,
           trust_in_prices("{sold}-{dropped}", "{dropped}", some_dropped="{dropped}>0", none_dropped="{dropped}=0"),
           "How reliable the prices are.", blank_if=_NOT_FIRST_OR_UNSOLD),
))
_WORKINGS: Final = (
    step("first_row", "First row", COUNT, found_in("Comps_item", "item"), "The item's first row on this sheet."),
    step("missing_value", "Value missing", MONEY, "SUM(INDEX(Comps_missing_parts,{first_row}))",
         "From the first row.", blank_if=_NO_ITEM),
    step("my_worth", "My worth", FACTOR,
         "IFERROR(INDEX(Condition_worth,MATCH(INDEX(Comps_my_condition,{first_row}),Condition_name,0))+0,0)",
         "Worth of my condition; 0 if unknown.", blank_if=_NO_ITEM),
    step("worth", "Their worth", FACTOR, "IFERROR(INDEX(Condition_worth,MATCH({condition},Condition_name,0))+0,0)",
         "Worth of their condition; 0 if unknown.", blank_if=_NO_ITEM),
    step("key", "Order", COUNT, f"ROUND({{basis}}*100,0)*{KEY_STEP}+ROW()",
         "Orders the sales by price, then by row.", blank_if='{basis}=""'),
    _of_sale("number", "Sales in all", COUNT, f'COUNTIFS({_OF_ITEM},Comps_key,">0")', "Sales of the item."),
    _of_sale("rank_of_price", "Rank", COUNT, f'COUNTIFS({_OF_ITEM},Comps_key,"<="&{{key}})', "Place by price."),
    _of_sale("center", "Center", MONEY, _middle_of("Comps_basis", "Comps_rank_of_price"), "Median of all sales."),
    _of_sale("distance", "Distance", MONEY, "ROUND(ABS({basis}-{center}),6)", "From the center."),
    _of_sale("distance_key", "Distance order", COUNT, f"ROUND({{distance}}*{_MILLS},0)*{KEY_STEP}+ROW()",
             "Orders the distances."),
    _of_sale("distance_rank", "Distance rank", COUNT, f'COUNTIFS({_OF_ITEM},Comps_distance_key,"<="&{{distance_key}})',
             "Place by distance."),
    _of_sale("spread", "Spread", MONEY,
             f"MAX(Spread_scale*{_middle_of('Comps_distance', 'Comps_distance_rank')},Minimum_spread*{{center}})",
             "Usual distance from the center."),
    _of_sale("used", "Used", COUNT, "IF({spread}=0,1,({distance}<=Wild_distance*{spread})*1)",
             "1 if the sale counts, 0 if its price is an outlier."),
    _in_comp_spread("day", "Item and day", COUNT,
                    f'IF({{used}}=0,"",{{first_row}}*{_DAY_STEP}'
                    "+IF(SUM({seen_on})=0,Figures_until,MIN(Figures_until,INT({seen_on}))))",
                    "Orders the sales that count by item, then by day."),
    _in_comp_spread("latest", "Latest sale", COUNT,
                    f'LARGE(Comps_day,COUNTIF(Comps_day,">"&({{first_row}}*{_DAY_STEP}+{_DAY_STEP - 1}))+1)',
                    "The item's latest sale that counts."),
    _in_comp_spread("weight", "Weight", FACTOR,
                    f'IF({{day}}="",0,0.5^MIN({_MOST_HALVINGS},({{latest}}-{{day}})/Comp_half_life))',
                    "Newer sales count more."),
    _in_comp_spread("square", "Squared", FACTOR, "{weight}*{weight}", "Weight squared."),
    _in_comp_spread("weight_to", "Weight so far", FACTOR, f'SUMIFS(Comps_weight,{_OF_ITEM},Comps_key,"<="&{{key}})',
                    "Sum of weights up to this price."),
    _in_comp_spread("weight_all", "All weights", FACTOR, f"SUMIFS(Comps_weight,{_OF_ITEM})", "Sum of weights."),
    _in_comp_spread("effective", "Sales in effect", FACTOR, f"{{weight_all}}^2/SUMIFS(Comps_square,{_OF_ITEM})",
                    "As many equally weighted sales would say as much."),
    _in_comp_spread("low_part", "Part of low", MONEY, _share_within("Comp_low_share"), "Its part."),
    _in_comp_spread("middle_part", "Part of middle", MONEY, _share_within("0.5"), "Its part."),
    _in_comp_spread("high_part", "Part of high", MONEY, _share_within("(1-Comp_low_share)"), "Its part."),
    step("delivered", "Delivered price", COST, f'ROUND({{price}}+IF({{postage_in}}="{YES}",0,SUM({{postage}})),2)',
         "What a buyer of the offer pays, postage included.",
         blank_if=f'OR({{first_row}}="",{{kind}}<>"{COMP_ASKED}",COUNT({{price}})=0)'),
)
# fmt: on
COLUMNS: Final[tuple[Column, ...]] = around_entries(
    grouped("Results", (row_check_column("item"),)), _INPUTS, (*_RESULTS, *_WORKINGS, findings_column(CHECKS))
)


def sheet(rows: int) -> TableSheet:
    """Sheet Comparables."""
    purpose = "What items like yours sold for, and what others ask; the results are in the first row of each item."
    return TableSheet("Comparables", "Comps", purpose, COLUMNS, rows, CHECKS, entry_checks=ENTRY_CHECKS)
