"""What can be wrong with a row of sheet Sourcing log: what the sheet says, its formula, and Python's verdict."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sheetfns.log.model.sheets import RowCheck
from sheetfns.log.sheets.checked_rows import (
    CheckedRows,
    Judge,
    after_as_of,
    before_first,
    blank,
    blank_beside_any,
    blank_in_filled_row,
    both,
    not_listed,
    number_check,
    patterns,
    source_check,
    swapped_check,
    twice,
)
from sheetfns.log.sheets.columns import below_zero
from sheetfns.log.sheets.lookups import cents
from sheetfns.log.sheets.reference_lists import Names
from sheetfns.log.sheets.words import BUYER, DISPOSITIONS, PERSONAL_USE, ROW_ONE, SELLER, STOPS_ON
from sheetfns.money import round_money

_NUMBERS: Final = (
    *(("expected_price", "expected_price"), ("bought_on", "bought_on"), ("paid", "prep_cost")),
    ("listed_on", "expected_postage"),
    *(("packed_weight", "returned_on"), ("disposition_date", "disposition_date")),
)
_FIX: Final = "fix the one that is wrong"


def _lot_rows(rows: CheckedRows) -> NDArray[np.int64]:
    """The row of each item's lot among those of sheet Lots, from 0; -1 where there is none."""
    first: dict[str, int] = {}
    for i, number in enumerate(rows.others["Lots"].words("lot_no")):
        first.setdefault(number.casefold(), i)
    return np.array([first.get(number.casefold(), -1) if number else -1 for number in rows.read.words("lot_no")], int)


def _inventory_days(rows: CheckedRows) -> NDArray[np.datetime64]:
    """The day from which each item is in stock: its own or that of its lot."""
    of_lots = np.append(rows.others["Lots"].dates("bought_on"), np.datetime64("NaT"))
    return np.where(rows.filled("lot_no"), of_lots[_lot_rows(rows)], rows.read.dates("bought_on"))


def _day(day: Any) -> str:
    return str(day)[:10]


def _blank_of_one_bought_alone(column: str, advice: str) -> Judge:
    return lambda rows: rows.blank(
        rows.filled("item_no") & ~rows.filled("lot_no") & ~rows.filled(column), column, advice
    )


def _no_lot(rows: CheckedRows) -> None:
    lots, numbers, lot_rows = rows.others["Lots"], rows.read.words("lot_no"), _lot_rows(rows)
    rows.unknown(rows.filled("lot_no"), "lot_no", Names(lots.words("lot_no"), "sheet Lots"))
    as_number = np.isin(np.arange(len(numbers)), list(rows.read.numbers["lot_no"]))
    lot_as_number = np.isin(np.arange(len(lots.rows) + 1), list(lots.numbers["lot_no"]))
    rows.say(
        (lot_rows >= 0) & (as_number != lot_as_number[lot_rows]),
        "lot_no",
        lambda i: (
            f"{rows.header('lot_no')}: '{numbers[i]}' is a number on one sheet and text on the other "
            f"({lots.sheet}!{lots.cell('lot_no', int(lot_rows[i]))}), so the sheet can't find it; enter it again where "
            "it is a number"
        ),
    )


def _lot_and_paid(rows: CheckedRows) -> None:
    numbers, in_lot = rows.read.words("lot_no"), rows.filled("lot_no")
    typed = {key: in_lot & (np.nan_to_num(rows.read.amounts(key)) != 0) for key in ("paid", "purchase_tax")}
    rows.once_in_a_row(
        typed,
        lambda i: f"is entered, but the item is part of lot '{numbers[i]}', which paid for it; clear one of the two",
    )


def _sold_early(rows: CheckedRows) -> None:
    bought = _inventory_days(rows)
    rows.cell_says(
        rows.read.dates("sold_on") < bought,
        "sold_on",
        lambda i: f"is before the day of purchase, {_day(bought[i])}; {_FIX}",
    )


def _refund_high(rows: CheckedRows) -> None:
    shipping = np.nan_to_num(rows.read.amounts("shipping_charged"))
    income = np.where(rows.filled("sold_on"), rows.read.amounts("sale_price") + shipping, np.nan)
    over = np.nan_to_num(rows.read.amounts("refund")) - income
    rows.cell_says(
        np.asarray(round_money(over) > 0),
        "refund",
        lambda i: f"is more than price and shipping, {income[i]:.2f}; {_FIX}",
    )


def _refund_early(rows: CheckedRows) -> None:
    rows.once_in_a_row(
        {column: rows.later_than(column, "sold_on") for column in ("refunded_on", "returned_on")},
        lambda i: f"is before the day of the sale, {rows.shown('sold_on', i)}; {_FIX}",
    )


def _left_early(rows: CheckedRows) -> None:
    left, bought, back = rows.read.dates("disposition_date"), _inventory_days(rows), rows.read.dates("returned_on")
    early = left < bought
    rows.cell_says(early, "disposition_date", lambda i: f"is before the day of purchase, {_day(bought[i])}; {_FIX}")
    rows.cell_says(
        (left < back) & ~early, "disposition_date", lambda i: f"is before the item came back, {_day(back[i])}; {_FIX}"
    )


def _sold_and_left(rows: CheckedRows) -> None:
    rows.say(
        rows.filled("sold_on") & ~rows.filled("returned_on") & rows.filled("disposition"),
        "disposition",
        lambda i: (
            f"{rows.header('disposition')}: {rows.shown('disposition', i)}, but the item was sold on "
            f"{rows.shown('sold_on', i)} and did not come back; clear one of the two"
        ),
    )


def _taken_not_own(rows: CheckedRows) -> None:
    personal_use = np.array(
        [word.casefold() == PERSONAL_USE.casefold() for word in rows.read.words("disposition")], dtype=bool
    )
    rows.cell_says(
        rows.filled("taken_by") & ~personal_use,
        "taken_by",
        f"counts only with {PERSONAL_USE} under {rows.header('disposition')}; enter that, or clear it",
    )


def _back_no_refund(rows: CheckedRows) -> None:
    nothing = ~rows.filled("refund") | (rows.read.amounts("refund") == 0)
    rows.say(
        rows.filled("returned_on") & nothing,
        "refund",
        lambda i: (
            f"{rows.header('refund')} is {rows.shown('refund', i)}, but the item came back on "
            f"{rows.shown('returned_on', i)}; enter what you refunded, or clear that day"
        ),
    )


def _refund_no_amount(rows: CheckedRows) -> None:
    rows.say(
        rows.filled("refunded_on") & ~rows.filled("refund"),
        "refund",
        lambda i: (
            f"{rows.header('refund')} is blank, but it was paid on {rows.shown('refunded_on', i)}; enter the amount, "
            "or clear that day"
        ),
    )


_FAR_OFF: Final = 5
"""Times the price that was asked: rule of this log, no source."""
_HOPED: Final = "IF(SUM({asking_price})>0,SUM({asking_price}),SUM({expected_price}))"


def _price_far_off(log: pd.DataFrame) -> pd.Series[bool]:
    asked = log["asking_price"].fillna(0)
    hoped = asked.where(asked > 0, log["expected_price"].fillna(0))
    sold = log["sale_price"]
    return sold.notna() & (hoped != 0) & ((sold > _FAR_OFF * hoped) | (_FAR_OFF * sold < hoped))


# A table: key, message, formula, Python's verdict.
# fmt: off
CHECKS: Final = (
    RowCheck("no_item", "the item no. is blank",
             'AND({item_no}="",{entered}>0)',
             blank_in_filled_row("item_no", "the row has entries, but counts only with a number of its own")),
    RowCheck("item_twice", "item no. is duplicated",
             f'IF({{item_no}}="",FALSE,MATCH({{item_no}},Log_item_no,0)<>ROW()-{ROW_ONE})', twice("item_no")),
    number_check(_NUMBERS),
    RowCheck("negative", "an amount is below 0", below_zero(_NUMBERS)),
    RowCheck("no_date", "bought on is blank", 'AND({item_no}<>"",{lot_no}="",{bought_on}="")',
             _blank_of_one_bought_alone(
                 "bought_on", "enter the day of purchase, or the lot no. if the item came in a lot")),
    RowCheck("no_paid", "paid is blank (0 if it was free)", 'AND({item_no}<>"",{lot_no}="",{paid}="")',
             _blank_of_one_bought_alone(
                 "paid", "enter 0 if the item was free, or the lot no. if it came in a lot")),
    RowCheck("no_lot", "the lot no. is not on sheet Lots", 'AND({lot_no}<>"",{lot_row}="")', _no_lot),
    RowCheck("lot_and_paid", "cost entered, but item is part of a lot",
             'AND({lot_no}<>"",SUM({paid})+SUM({purchase_tax})<>0)', _lot_and_paid),
    RowCheck("lot_no_value", "expected price is blank (for the lot)", 'AND({lot_no}<>"",{expected_price}="")',
             blank("expected_price",
                   "it sets the item's share of the lot's cost; enter what you think it will sell for",
                   beside="lot_no")),
    source_check(),
    RowCheck("sold_early", "sold before it was bought",
             "IF(COUNT({sold_on},{inventory_date})=2,{sold_on}<{inventory_date},FALSE)", _sold_early),
    RowCheck("no_price", "sale price is blank", 'AND({sold_on}<>"",{sale_price}="")',
             blank("sale_price", "enter what the buyer paid for the item", beside="sold_on")),
    RowCheck("no_sale_date", "sale entered, but sold on is blank",
             'AND({sold_on}="",COUNTA({sale_price}:{returned_on})>0)',
             blank_beside_any("sold_on", "the sale is filled in, but counts only with its day",
                              "sale_price", "returned_on")),
    RowCheck("no_channel", "channel is blank or not on Settings",
             'AND(OR({channel}<>"",{sold_on}<>""),{channel_row}="")',
             both(not_listed("channel"), blank("channel", "enter where the item was sold", beside="sold_on"))),
    RowCheck("refund_high", "refund is more than price and shipping",
             "IF(COUNT({refund},{income})=2,ROUND({refund}-{income},2)>0,FALSE)", _refund_high),
    RowCheck("refund_early", "refunded or returned before it was sold",
             "OR(IF(COUNT({refunded_on},{sold_on})=2,{refunded_on}<{sold_on},FALSE),"
             "IF(COUNT({returned_on},{sold_on})=2,{returned_on}<{sold_on},FALSE))", _refund_early),
    # Not a comparison of two comparisons: a program was seen to save that without its brackets.
    RowCheck("left_half", "fill in both disposition and its date",
             'IF({disposition}="",{disposition_date}<>"",{disposition_date}="")',
             both(blank("disposition_date", "enter the day of the disposition", beside="disposition"),
                  blank("disposition", "enter the disposition, or clear its date", beside="disposition_date"))),
    RowCheck("left_early", "disposed of before it was bought or back",
             "OR(IF(COUNT({disposition_date},{inventory_date})=2,{disposition_date}<{inventory_date},FALSE),"
             "IF(COUNT({disposition_date},{returned_on})=2,{disposition_date}<{returned_on},FALSE))", _left_early),
    RowCheck("sold_and_left", "sold, but also has a disposition",
             'AND({sold_on}<>"",{returned_on}="",{disposition}<>"")', _sold_and_left),
    RowCheck("after_as_of", "dated after As of (Settings)",
             "INT(MAX({bought_on},{listed_on},{sold_on},{refunded_on}:{returned_on},{disposition_date}))>" + STOPS_ON,
             after_as_of("bought_on", "listed_on", "sold_on", "refunded_on", "returned_on", "disposition_date")),
    RowCheck("before_first", "before First month (Settings)",
             'IF(First_month="",FALSE,OR(AND({sold_on}<>"",{sold_on}<First_month),'
             'AND({disposition_date}<>"",{disposition_date}<First_month)))',
             before_first("sold_on", "disposition_date")),
    RowCheck("no_disposition", "disposition is not in the list",
             'AND({disposition}<>"",' + ",".join(f'{{disposition}}<>"{word}"' for word in DISPOSITIONS) + ")",
             not_listed("disposition")),
    RowCheck("no_taker", "taken by is not on Settings",
             'IF({taken_by}="",FALSE,COUNTIF(Partner_name,{taken_by})=0)', not_listed("taken_by")),
    RowCheck("taken_not_own", "taken by is filled, but disposition is not Personal use",
             f'AND({{taken_by}}<>"",{{disposition}}<>"{PERSONAL_USE}")', _taken_not_own),
    RowCheck("no_payer", "postage paid by is not in the list",
             f'AND({{postage_payer}}<>"",{{postage_payer}}<>"{BUYER}",{{postage_payer}}<>"{SELLER}")',
             not_listed("postage_payer")),
    RowCheck("back_no_refund", "came back, but there is no refund",
             'AND({returned_on}<>"",SUM({refund})=0)', _back_no_refund),
    RowCheck("refund_no_amount", "refunded on is filled, but refund is blank",
             'AND({refunded_on}<>"",{refund}="")', _refund_no_amount),
    RowCheck("fee_differs", "fee doesn't match the channel's terms",
             "IF(COUNT({fee_charged},{fee_by_terms})=2,ROUND(ABS({fee_charged}-{fee_by_terms}),2)>0.01,FALSE)",
             of_results=lambda log: cents((log["fee_charged"] - log["fee_by_terms"]).abs()) > 0.01, notice=True),
    RowCheck("price_far_off", f"sale price is over {_FAR_OFF} times the asking or expected price or under 1/{_FAR_OFF}",
             f"IF(OR(COUNT({{sale_price}})=0,{_HOPED}=0),FALSE,"
             f"OR({{sale_price}}>{_FAR_OFF}*{_HOPED},{_FAR_OFF}*{{sale_price}}<{_HOPED}))",
             of_results=_price_far_off, notice=True),
    swapped_check("Log_bought_on", "bought_on"),
)
ENTRY_CHECKS: Final = (
    RowCheck("no_partner", "bought by is not on Settings", "", not_listed("bought_by")),
    RowCheck("read_as_pattern", "a name has a wildcard or comparison sign", "", patterns("item_no", "found_at")),
)
"""What Python alone sees in an entry."""
# fmt: on
