"""What can be wrong with a row of sheet Personal items: what the sheet says, its formula, and Python's verdict."""

from __future__ import annotations

from typing import Final

from sheetfns.log.model.sheets import RowCheck
from sheetfns.log.sheets.checked_rows import (
    blank,
    blank_beside_any,
    blank_in_filled_row,
    late_check,
    not_listed,
    number_check,
)
from sheetfns.log.sheets.columns import below_zero

# A table: key, message, formula, Python's verdict.
# fmt: off
CHECKS: Final = (
    RowCheck("no_item", "the item is blank", 'AND({item}="",{entered}>0)',
             blank_in_filled_row("item", "the row counts only with a name for the item")),
    number_check((("cost", "cost"), ("sold_on", "selling_costs"))),
    RowCheck("negative", "an amount is below 0", below_zero((("cost", "cost"), ("sale_price", "selling_costs")))),
    RowCheck("no_cost", "the original cost is blank", 'AND({item}<>"",{cost}="")',
             blank("cost", "gain or loss is proceeds minus cost; for a gift, ask your preparer",
                   beside="item")),
    RowCheck("no_sale_date", "sale entered, but sold on is blank",
             'AND({sold_on}="",COUNTA({sale_price}:{selling_costs})>0)',
             blank_beside_any("sold_on", "the sale is filled in, but counts only with its day",
                              "sale_price", "selling_costs")),
    RowCheck("no_price", "sale price is blank", 'AND({sold_on}<>"",{sale_price}="")',
             blank("sale_price", "enter what the buyer paid", beside="sold_on")),
    RowCheck("no_owner", "whose it was is not on Settings",
             'IF({whose}="",FALSE,COUNTIF(Partner_name,{whose})=0)', not_listed("whose")),
    RowCheck("no_channel", "channel is not on Settings",
             'IF({channel}="",FALSE,COUNTIF(Channel_name,{channel})=0)', not_listed("channel")),
    late_check("sold_on"),
)
# fmt: on
