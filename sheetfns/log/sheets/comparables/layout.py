"""Sheet Comparables: what pieces like yours sold for, and what others ask for them."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COST, COUNT, FACTOR, MONEY, RATIO, CellType
from sheetfns.log.model.sheets import Column, Formula, FunctionCall, RowCheck, TableSheet
from sheetfns.log.sheets.columns import (
    date_column,
    findings_column,
    grouped,
    money_column,
    row_check_column,
    text_among_numbers,
    text_column,
    working_column,
)
from sheetfns.log.sheets.words import COMP_ASKED, COMP_SOLD, KEY_STEP, NO, ROW_ONE, YES

_DAY_STEP: Final = 10_000_000
"""More than any date number: the item's row x _DAY_STEP + day orders by item, then by day."""
_MOST_HALVINGS: Final = 1000
"""LibreOffice shows an error for a power too small to be held, and for the square of such."""
_MILLS: Final = 1000
"""Distances are compared to the tenth of a cent: a middle price may end in half a cent."""


def _neither(key: str) -> str:
    return f'AND({{{key}}}<>"",{{{key}}}<>"{YES}",{{{key}}}<>"{NO}")'


COMPARABLE_CHECKS: Final = (
    RowCheck("no_item", "the item is blank", 'AND({item}="",COUNTA({kind}:{my_lacks})>0)'),
    RowCheck(
        "not_a_number",
        "text in place of a number or date",
        text_among_numbers(
            (("price", "price"), ("postage", "postage"), ("seen_on", "seen_on"), ("my_lacks", "my_lacks"))
        ),
    ),
    RowCheck("negative", "an amount is below 0", "MIN({price},{postage},{my_lacks},0)<0"),
    RowCheck("no_kind", "fill in sold or asked", f'AND({{item}}<>"",{{kind}}<>"{COMP_SOLD}",{{kind}}<>"{COMP_ASKED}")'),
    RowCheck("no_price", "the price is blank", 'AND({item}<>"",{price}="")'),
    RowCheck("no_date", "the day is blank", f'AND({{kind}}="{COMP_SOLD}",{{seen_on}}="")'),
    RowCheck(
        "no_postage",
        "postage is in the price: write how much",
        f'AND({{kind}}="{COMP_SOLD}",{{postage_in}}="{YES}",{{postage}}="")',
    ),
    RowCheck(
        "no_yes_or_no", "write Yes or No, or leave it blank", _neither("postage_in") + "+" + _neither("complete") + ">0"
    ),
    RowCheck(
        "no_condition",
        "a condition is not on Settings",
        'OR(IF({condition}="",FALSE,COUNTIF(Condition_name,{condition})=0),'
        'IF({my_condition}="",FALSE,COUNTIF(Condition_name,{my_condition})=0))',
    ),
    RowCheck(
        "mine_below",
        "mine belongs in the item's first row",
        'AND({first_row}<>"",{first_row}<>ROW()-ROW_ONE,COUNTA({my_condition}:{my_lacks})>0)'.replace(
            "ROW_ONE", str(ROW_ONE)
        ),
    ),
    RowCheck("after_as_of", "dated after Figures as of (Settings)", "INT(MAX({seen_on},0))>INT(As_of_date)"),
)


def _yes_no(key: str, header: str, help_text: str) -> Column:
    return text_column(key, header, help_text, 9.5, choices=(YES, NO))


def _working(
    key: str, header: str, formula: str, help_text: str, kind: CellType = FACTOR, *, not_compared: str = ""
) -> Column:
    blank = '{key}=""' if key not in _BEFORE_THE_KEY else '{first_row}=""'
    plain = Formula(formula, blank_if=blank)
    return working_column(key, header, kind, plain, help_text, not_compared=not_compared)


_BY_COMP_SPREAD: Final = "Python calls COMP_SPREAD, which has no such step"
"""The prices that come of the steps are compared."""


_BEFORE_THE_KEY: Final = frozenset({"lacks", "my_worth", "worth"})
_OF_ITEM: Final = "Comps_first_row,{first_row}"


def _middle_of(values: str, rank: str) -> str:
    """The median of an item's figures: the mean of the one or two in the middle by rank."""
    return f'AVERAGEIFS({values},{_OF_ITEM},{rank},">="&{{number}}/2,{rank},"<="&({{number}}/2+1))'


def _share_within(share: str) -> str:
    """How much of a sale's own stretch of the sorted weights lies where the quantile is taken."""
    start = f"{share}*({{effective}}-1)"
    end_of_row = "{effective}*{weight_to}/{weight_all}"
    start_of_row = "{effective}*({weight_to}-{weight})/{weight_all}"
    return f"(MAX(0,MIN(1,{end_of_row}-{start}))-MAX(0,MIN(1,{start_of_row}-{start})))*{{basis}}"


_INPUTS: Final = (
    *grouped(
        "Comparable piece",
        (
            text_column(
                "item", "Item", "The item no. of your piece, or your own word for it; the same in all its rows.", 16
            ),
            text_column(
                "kind",
                "Sold or asked",
                "Sold: the price was paid. Asked: only offered; never counts as a sale.",
                9,
                choices=(COMP_SOLD, COMP_ASKED),
            ),
            money_column("price", "Price", "What was paid, or is asked."),
            _yes_no("postage_in", "Postage included", "Is postage in that price? Blank counts as No."),
            money_column("postage", "Postage", "Postage in the price, or on top of it."),
            _yes_no("complete", "Complete", "Was it complete? Blank counts as Yes."),
            text_column("condition", "Condition", "Its condition, from Settings.", 12, names="Condition_name"),
            date_column("seen_on", "Day", "Day of the sale, or on which you saw the offer."),
            text_column("seen_at", "Seen at", "Where; a reminder for you.", 16),
        ),
    ),
    *grouped(
        "Mine (first row of the item)",
        (
            text_column(
                "my_condition",
                "My condition",
                "The condition of your piece; blank: as theirs.",
                12,
                names="Condition_name",
            ),
            money_column("my_lacks", "Mine lacks", "What the part that yours lacks is worth; blank: nothing."),
        ),
    ),
)


def _in_first_row(text: str) -> Formula:
    return Formula(text, blank_if=f'OR({{first_row}}="",{{first_row}}<>ROW()-{ROW_ONE},{{sold}}=0)')


def _of_first_row(text: str) -> Formula:
    return Formula(text, blank_if=f'OR({{first_row}}="",{{first_row}}<>ROW()-{ROW_ONE})')


_RESULTS: Final = (
    money_column(
        "basis",
        "On one basis",
        "A sold price without postage, brought to the state of yours.",
        MONEY,
        formula=Formula(
            f'ROUND(MAX(0,({{price}}-IF({{postage_in}}="{YES}",SUM({{postage}}),0))'
            f"*IF({{my_worth}}*{{worth}}>0,{{my_worth}}/{{worth}},1)"
            f'-IF({{complete}}="{NO}",0,{{lacks}})),2)',
            blank_if=f'OR({{first_row}}="",{{kind}}<>"{COMP_SOLD}",COUNT({{price}})=0,SUM({{price}})<0)',
        ),
    ),
    text_column(
        "counts",
        "Counts",
        "Whether the row counts as a sale, or why not.",
        9,
        formula=Formula(
            f'IF({{basis}}="",IF({{kind}}="{COMP_ASKED}","asked",""),IF({{used}}=1,"yes","wild"))',
            blank_if='{first_row}=""',
        ),
    ),
    money_column(
        "low",
        "Low price",
        "A quarter of the sales (share on Settings) lies below.",
        MONEY,
        formula=_in_first_row(f"SUMIFS(Comps_low_part,{_OF_ITEM})"),
    ),
    money_column(
        "middle",
        "Middle price",
        "Half of the sales lie below: the price to expect.",
        MONEY,
        formula=_in_first_row(f"SUMIFS(Comps_middle_part,{_OF_ITEM})"),
    ),
    money_column(
        "high",
        "High price",
        "As large a share lies above as below the low price.",
        MONEY,
        formula=_in_first_row(f"SUMIFS(Comps_high_part,{_OF_ITEM})"),
    ),
    Column(
        "sold",
        "Sales",
        COUNT,
        "Sold rows of the item.",
        7,
        unit="pieces",
        formula=_of_first_row(f'COUNTIFS({_OF_ITEM},Comps_basis,">=0")'),
    ),
    Column(
        "dropped",
        "Wild",
        COUNT,
        "Sales left out because their price is wild.",
        7,
        unit="pieces",
        formula=_in_first_row(f"{{sold}}-SUMIFS(Comps_used,{_OF_ITEM})"),
    ),
    Column(
        "asked",
        "Offers",
        COUNT,
        "Asked rows of the item.",
        7,
        unit="pieces",
        formula=_of_first_row(f'COUNTIFS({_OF_ITEM},Comps_kind,"{COMP_ASKED}")'),
    ),
    Column(
        "sell_through",
        "Sell-through",
        RATIO,
        "Sales as a share of sales and offers; blank without offers.",
        9,
        unit="%",
        formula=FunctionCall(
            "SELL_THROUGH", {"sold": "{sold}", "offered": "({sold}+{asked})"}, blank_if="SUM({asked})=0"
        ),
    ),
    Column(
        "sell_through_floor",
        "At least",
        RATIO,
        "What so few rows prove of it at best, with 95 % confidence.",
        9,
        unit="%",
        formula=FunctionCall(
            "SELL_THROUGH_FLOOR", {"sold": "{sold}", "offered": "({sold}+{asked})"}, blank_if="SUM({asked})=0"
        ),
    ),
    text_column(
        "remark",
        "Remark",
        "How far the prices can be trusted.",
        30,
        formula=_in_first_row(
            'IF({sold}-{dropped}<=4,({sold}-{dropped})&IF({sold}-{dropped}=1," sale"," sales")'
            '&" only: wide guess",IF(ROUND({high}-2*{low},9)>0,"prices far apart: wide guess",""))'
            '&IF(AND({dropped}>0,OR({sold}-{dropped}<=4,ROUND({high}-2*{low},9)>0)),"; ","")'
            '&IF({dropped}=0,"",{dropped}&IF({dropped}=1," wild price"," wild prices")&" dropped")'
        ),
    ),
    row_check_column("item"),
)

_WORKINGS: Final = (
    working_column(
        "first_row",
        "First row",
        COUNT,
        Formula('IF({item}="","",IFERROR(MATCH({item},Comps_item,0),""))'),
        "The item's first row on this sheet.",
    ),
    _working("lacks", "Lacks", "SUM(INDEX(Comps_my_lacks,{first_row}))", "From the first row.", MONEY),
    _working(
        "my_worth",
        "My worth",
        "IFERROR(INDEX(Condition_worth,MATCH(INDEX(Comps_my_condition,{first_row}),Condition_name,0))+0,0)",
        "Worth of my condition; 0 if unknown.",
    ),
    _working(
        "worth",
        "Their worth",
        "IFERROR(INDEX(Condition_worth,MATCH({condition},Condition_name,0))+0,0)",
        "Worth of their condition; 0 if unknown.",
    ),
    working_column(
        "key",
        "Order",
        COUNT,
        Formula(f"ROUND({{basis}}*100,0)*{KEY_STEP}+ROW()", blank_if='{basis}=""'),
        "Orders the sales by price, then by row.",
    ),
    _working("number", "Sales in all", f'COUNTIFS({_OF_ITEM},Comps_key,">0")', "Sales of the item.", COUNT),
    _working("rank_of_price", "Rank", f'COUNTIFS({_OF_ITEM},Comps_key,"<="&{{key}})', "Place by price.", COUNT),
    _working("center", "Center", _middle_of("Comps_basis", "Comps_rank_of_price"), "Median of all sales.", MONEY),
    _working("distance", "Distance", "ROUND(ABS({basis}-{center}),6)", "From the center.", MONEY),
    _working(
        "distance_key",
        "Order of it",
        f"ROUND({{distance}}*{_MILLS},0)*{KEY_STEP}+ROW()",
        "Orders the distances.",
        COUNT,
    ),
    _working(
        "distance_rank",
        "Rank of it",
        f'COUNTIFS({_OF_ITEM},Comps_distance_key,"<="&{{distance_key}})',
        "Place by distance.",
        COUNT,
    ),
    _working(
        "spread",
        "Spread",
        f"MAX(Spread_scale*{_middle_of('Comps_distance', 'Comps_distance_rank')},Least_spread*{{center}})",
        "Usual distance from the center.",
        MONEY,
    ),
    _working(
        "used",
        "Used",
        "IF({spread}=0,1,({distance}<=Wild_distance*{spread})*1)",
        "1 if the sale counts, 0 if its price is wild.",
        COUNT,
    ),
    _working(
        "day",
        "Item and day",
        f'IF({{used}}=0,"",{{first_row}}*{_DAY_STEP}'
        "+IF(SUM({seen_on})=0,As_of_date,MIN(As_of_date,INT({seen_on}))))",
        "Orders the sales that count by item, then by day.",
        COUNT,
        not_compared=_BY_COMP_SPREAD,
    ),
    _working(
        "latest",
        "Latest of them",
        f'LARGE(Comps_day,COUNTIF(Comps_day,">"&({{first_row}}*{_DAY_STEP}+{_DAY_STEP - 1}))+1)',
        "The item's latest sale that counts.",
        COUNT,
        not_compared=_BY_COMP_SPREAD,
    ),
    _working(
        "weight",
        "Weight",
        f'IF({{day}}="",0,0.5^MIN({_MOST_HALVINGS},({{latest}}-{{day}})/Comp_half_life))',
        "Newer sales count more.",
        not_compared=_BY_COMP_SPREAD,
    ),
    _working("square", "Squared", "{weight}*{weight}", "Weight squared.", not_compared=_BY_COMP_SPREAD),
    _working(
        "weight_to",
        "Weight so far",
        f'SUMIFS(Comps_weight,{_OF_ITEM},Comps_key,"<="&{{key}})',
        "Sum of weights up to this price.",
        not_compared=_BY_COMP_SPREAD,
    ),
    _working(
        "weight_all", "All weights", f"SUMIFS(Comps_weight,{_OF_ITEM})", "Sum of weights.", not_compared=_BY_COMP_SPREAD
    ),
    _working(
        "effective",
        "Sales in effect",
        f"{{weight_all}}^2/SUMIFS(Comps_square,{_OF_ITEM})",
        "As many sales of equal weight say as much.",
        not_compared=_BY_COMP_SPREAD,
    ),
    _working(
        "low_part", "Part of low", _share_within("Comp_low_share"), "Its part.", MONEY, not_compared=_BY_COMP_SPREAD
    ),
    _working("middle_part", "Part of middle", _share_within("0.5"), "Its part.", MONEY, not_compared=_BY_COMP_SPREAD),
    _working(
        "high_part",
        "Part of high",
        _share_within("(1-Comp_low_share)"),
        "Its part.",
        MONEY,
        not_compared=_BY_COMP_SPREAD,
    ),
    working_column(
        "delivered",
        "Delivered price",
        COST,
        Formula(
            f'ROUND({{price}}+IF({{postage_in}}="{YES}",0,SUM({{postage}})),2)',
            blank_if=f'OR({{first_row}}="",{{kind}}<>"{COMP_ASKED}",COUNT({{price}})=0)',
        ),
        "What a buyer of an offer pays, postage and all.",
    ),
)


def comparables_sheet(rows: int) -> TableSheet:
    """Sheet Comparables."""
    columns = (*_INPUTS, *grouped("Results", _RESULTS), *_WORKINGS, findings_column(COMPARABLE_CHECKS))
    return TableSheet(
        "Comparables",
        "Comps",
        "What pieces like yours sold for, and what others ask; the results stand in the first row of each item.",
        columns,
        rows,
        COMPARABLE_CHECKS,
    )
