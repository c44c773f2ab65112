"""Sheet Stale inventory: items that wait too long, and their marked-down prices."""

from __future__ import annotations

from typing import Any, Final

from sheetfns.cell_types import COUNT, DAYS, MONEY, RATE, TEXT, CellType
from sheetfns.log.model.sheets import Column, EditionFormula, Formula, FunctionCall, TableSheet
from sheetfns.log.sheets.columns import FEE_TERMS, fee_terms, grouped, result, step
from sheetfns.log.sheets.links import link_to_row
from sheetfns.log.sheets.sourcing_log.layout import ITEM_COLUMN
from sheetfns.log.sheets.words import LOG, ROW_ONE, ROWS_ABOVE, YES

STALE_ROWS: Final = 40

_NO_ITEM: Final = '{log_row}=""'
_NO_PRICE: Final = "{priced}<>1"
_NO_FLOOR: Final = '{floor}=""'
_NO_NEW_PRICE: Final = '{new_price}=""'
_NO_MARKDOWN: Final = f"OR({_NO_FLOOR},COUNT(Markdown_from_day)=0)"
_STEPS_REACHED: Final = 'COUNTIF(Markdown_from_day,"<="&{waiting})'
_ASKING: Final = "INDEX(Log_asking_price,{log_row})"
_STAGE: Final = "INDEX(Log_stage,{log_row})"


_TO_ITEM: Final = link_to_row(LOG, ITEM_COLUMN, f"({{log_row}}+{ROW_ONE})", 'INDEX(Log_item_no,{log_row})&""')


def _of_log(column: str, blank_if: str = _NO_ITEM) -> Formula:
    """What the sourcing log has of the item."""
    return Formula(f"INDEX(Log_{column},{{log_row}})", blank_if)


def _words(key: str, header: str, width: float, column: str, help_text: str) -> Column:
    """Words that the sourcing log has of the item."""
    return result(key, header, TEXT, width, f'INDEX(Log_{column},{{log_row}})&""', help_text, blank_if=_NO_ITEM)


def _money(key: str, header: str, formula: Any, help_text: str, blank_if: str = "") -> Column:
    return result(key, header, MONEY, 10, formula, help_text, blank_if=blank_if)


def _step(key: str, header: str, kind: CellType, formula: str, help_text: str, blank_if: str = _NO_ITEM) -> Column:
    return step(key, header, kind, formula, help_text, blank_if=blank_if)


def _net(price: str, fee: str) -> FunctionCall:
    """What the sale would leave at a price."""
    costs = {key: f"{{{key}}}" for key in ("postage", "packaging", "landed_cost")}
    return FunctionCall("NET_PROFIT", {"price": price, "shipping": "{shipping}", "fee": fee, **costs}, f'{fee}=""')


def _fee(price: str) -> FunctionCall:
    arguments = {"price": price, "shipping": "{shipping}", **fee_terms()}
    return FunctionCall("SELLING_FEE", arguments, f'OR({{break_even}}="",{price}="")')


# A table: key, header, (type, width,) formula, help; of words the column of the log.
# fmt: off
COLUMNS: Final[tuple[Column, ...]] = (
    *grouped("Item", (
        result("item", "Item no.", TEXT, 9, _TO_ITEM, "Its number; a click goes to its row of the sourcing log.",
               blank_if=_NO_ITEM, link=True),
        _words("description", "Description", 25, "description", "As in the log."),
        _words("found", "Found at", 20, "place", "Or where its lot was found."),
        result("waiting", "Days waiting", DAYS, 8, _of_log("days_waiting"),
               "Since it was listed, or bought if it is not listed.", unit="days"),
        _words("channel", "Channel", 13, "channel", "As in the log."),
        _money("landed_cost", "Landed cost", _of_log("landed_cost"), "As in the log."),
    )),
    *grouped("Prices", (
        _money("asking", "First asking price", _of_log("asking_price", _NO_PRICE),
               "The asking price in the log, at which it was first listed."),
        _money("break_even", "Break-even price", _of_log("break_even_price", _NO_PRICE),
               "The price with neither profit nor loss."),
        result("share_off", "Markdown", RATE, 9,
               f"IF({_STEPS_REACHED}=0,0,SUM(INDEX(Markdown_share,{_STEPS_REACHED})))",
               "Share of the first asking price, by the markdown steps on Settings.",
               blank_if=_NO_PRICE, unit="%", cell_format="0%"),
        _money("new_price", "Price today", "IF(COUNT(Markdown_from_day)=0,{asking},{marked_down})",
               "The first asking price less that share, not below the floor.", _NO_FLOOR),
    )),
    *grouped("Net proceeds", (
        _money("net_first", "Net at first price", _net("{asking}", "{fee_first}"),
               "Net profit if it sells at the first asking price."),
        _money("net_new", "Net at price today", _net("{new_price}", "{fee_new}"),
               "Net profit if it sells at today's price."),
        _money("given_up", "Markdown costs", "ROUND({net_first}-{net_new},2)",
               "Net at the first price minus net at today's price.", '{net_new}=""'),
        result("what_to_do", "What to do", TEXT, 29,
               'IF({not_ready}<>"",{not_ready},IF({break_even}="","fix its row: channel or cost",{advice}))',
               "Lower the price, wait, or list it first.", blank_if=_NO_ITEM),
    )),
    _step("log_row", "Row of log", COUNT, f"MATCH(LARGE(Log_stale_key,ROW()-{ROWS_ABOVE}),Log_stale_key,0)",
          "Its row among those of the log; those that wait longest first.", f"ROW()-{ROWS_ABOVE}>COUNT(Log_stale_key)"),
    _step("not_ready", "What is missing", TEXT,
          f'IF({_STAGE}=2,IF(SUM({_ASKING})<=0,"enter its asking price",""),'
          f'IF({_STAGE}>2,"came back: list it in a new row","list it first"))', "Why it has no price to mark down."),
    _step("priced", "Has a price", COUNT, '({not_ready}="")*1', "1 if it is listed at a price; else 0."),
    _step("floor", "Floor", MONEY, f'IF(Below_break_even="{YES}",0,{{break_even}})',
          "The break-even price, or 0 if Settings allows a loss.", _NO_PRICE),
    step("marked_down", "Marked down", MONEY, EditionFormula(
        Formula("MIN({asking},MAX({floor},ROUND({asking}*(1-{share_off}),2)))", _NO_MARKDOWN),
        FunctionCall("MARKDOWN_PRICE", {
            "asking": "{asking}", "days_listed": "{waiting}", "steps": "Markdown_table", "floor": "{floor}",
        }, _NO_MARKDOWN)), "By the markdown steps; blank if there are none."),
    step("shipping", "Shipping", MONEY, _of_log("shipping_used"), "That the buyer would pay."),
    step("postage", "Postage", MONEY, _of_log("postage_used"), "As expected."),
    step("packaging", "Packaging", MONEY, _of_log("packaging_used"), "As usual."),
    *(step(f"fee_{term.key}", term.header, term.kind, _of_log(f"fee_{term.key}"), "From the channel's terms.")
      for term in FEE_TERMS),
    step("fee_first", "Fee at first price", MONEY, _fee("{asking}"), "By the channel's terms."),
    step("fee_new", "Fee at today's price", MONEY, _fee("{new_price}"), "By the channel's terms."),
    _step("advice", "Advice on price", TEXT,
          'IF({new_price}<{asking},IF({new_price}={floor},"lower it, but only to its floor",'
          '"lower the price"),{stay})', "Whether today's price is lower.", _NO_NEW_PRICE),
    _step("stay", "If it stays", TEXT,
          'IF({asking}<{floor},"asked below break-even: it loses",'
          'IF({share_off}=0,"wait: no step reached yet","keep it: no room above its floor"))',
          "Why the price stays.", _NO_NEW_PRICE),
)
# fmt: on


_ANSWER: Final = (
    'IF(Inventory_stale_count=0,"Nothing waits too long",Inventory_stale_count'
    '&IF(Inventory_stale_count=1," item waits"," items wait")&" too long, "&FIXED(Inventory_stale_cost,2)&" at cost")'
)


def sheet() -> TableSheet:
    """Sheet Stale inventory."""
    purpose = "Longest wait first. Keep the first asking price in the log: the steps are shares of it."
    return TableSheet("Stale inventory", "Stale", purpose, COLUMNS, STALE_ROWS, frozen_entries=2, answer=_ANSWER)
