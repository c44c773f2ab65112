"""Sheet Stale stock: pieces that wait too long, and their marked-down prices."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COUNT, DAYS, MONEY, RATE, TEXT
from sheetfns.log.model.sheets import AnyFormula, Column, EditionFormula, Formula, FunctionCall, TableSheet
from sheetfns.log.sheets.columns import FEE_TERMS, fee_terms, grouped, money_column, text_column, working_column
from sheetfns.log.sheets.words import ROW_ONE, YES

STALE_ROWS: Final = 40

_NO_PIECE: Final = '{log_row}=""'
_NO_PRICE: Final = "{priced}<>1"
_NO_NET: Final = '{break_even}=""'
_NO_MARKDOWN: Final = 'OR({floor}="",COUNT(Markdown_from_day)=0)'
_STEPS_REACHED: Final = 'COUNTIF(Markdown_from_day,"<="&{waiting})'
_ASKING: Final = "INDEX(Log_asking_price,{log_row})"
_STAGE: Final = "INDEX(Log_stage,{log_row})"


def _words(column: str) -> Formula:
    return Formula(f'INDEX(Log_{column},{{log_row}})&""', blank_if=_NO_PIECE)


def _of_log(column: str, blank_if: str = _NO_PIECE) -> Formula:
    return Formula(f"INDEX(Log_{column},{{log_row}})", blank_if=blank_if)


def _net(price: str, fee: str) -> AnyFormula:
    return FunctionCall(
        "NET_PROFIT",
        {
            "price": price,
            "shipping": "{shipping}",
            "fee": fee,
            "postage": "{postage}",
            "packing": "{packing}",
            "landed_cost": "{landed_cost}",
        },
        blank_if=f'{fee}=""',
    )


def _fee(price: str) -> AnyFormula:
    return FunctionCall(
        "SELLING_FEE",
        {"price": price, "shipping": "{shipping}", **fee_terms()},
        blank_if=f'OR({{break_even}}="",{price}="")',
    )


_PIECE: Final = (
    text_column("item", "Item no.", "Its number in the sourcing log.", 9, formula=_words("item_no")),
    text_column("description", "Description", "As in the log.", 32, formula=_words("description")),
    text_column("found", "Found at", "Or where its lot was found.", 25, formula=_words("place")),
    Column(
        "waiting",
        "Days waiting",
        DAYS,
        "Since it was listed, or bought if it is not listed.",
        8,
        unit="days",
        formula=_of_log("days_waiting"),
    ),
    text_column("channel", "Channel", "As in the log.", 14, formula=_words("channel")),
    money_column("landed_cost", "Landed cost", "As in the log.", MONEY, formula=_of_log("landed_cost")),
)
_PRICES: Final = (
    money_column(
        "asking",
        "First asking price",
        "The asking price of the log: the one at which it was first listed.",
        MONEY,
        formula=_of_log("asking_price", _NO_PRICE),
    ),
    money_column(
        "break_even",
        "Break-even price",
        "The price that neither earns nor loses.",
        MONEY,
        formula=_of_log("break_even_price", _NO_PRICE),
    ),
    Column(
        "share_off",
        "Comes off",
        RATE,
        "Share of the first asking price, by the markdown steps on Settings.",
        8,
        unit="%",
        cell_format="0%",
        formula=Formula(f"IF({_STEPS_REACHED}=0,0,SUM(INDEX(Markdown_share,{_STEPS_REACHED})))", blank_if=_NO_PRICE),
    ),
    money_column(
        "new_price",
        "Price by now",
        "The first asking price less that share, not below the floor.",
        MONEY,
        formula=Formula("IF(COUNT(Markdown_from_day)=0,{asking},{marked_down})", blank_if='{floor}=""'),
    ),
)
_LEFT: Final = (
    money_column(
        "net_first",
        "Net at first price",
        "Net profit if it sells at the first asking price.",
        MONEY,
        formula=_net("{asking}", "{fee_first}"),
    ),
    money_column(
        "net_new",
        "Net at price by now",
        "Net profit if it sells at the price by now.",
        MONEY,
        formula=_net("{new_price}", "{fee_new}"),
    ),
    money_column(
        "given_up",
        "Markdown costs",
        "Net at the first price less net at the price by now.",
        MONEY,
        formula=Formula("ROUND({net_first}-{net_new},2)", blank_if='{net_new}=""'),
    ),
    text_column(
        "what_to_do",
        "What to do",
        "Lower the price, wait, or list it first.",
        29,
        formula=Formula(
            'IF({not_ready}<>"",{not_ready},IF({break_even}="","mend its row: channel or cost",{advice}))',
            blank_if=_NO_PIECE,
        ),
    ),
)
_WORKINGS: Final = (
    working_column(
        "log_row",
        "Row of log",
        COUNT,
        Formula(
            f"MATCH(LARGE(Log_stale_key,ROW()-{ROW_ONE}),Log_stale_key,0)",
            blank_if=f"ROW()-{ROW_ONE}>COUNT(Log_stale_key)",
        ),
        "Its row among those of the log; those that wait longest first.",
    ),
    working_column(
        "not_ready",
        "What it lacks",
        TEXT,
        Formula(
            f'IF({_STAGE}=2,IF(SUM({_ASKING})<=0,"type its asking price",""),'
            f'IF({_STAGE}>2,"came back: list it in a new row","list it first"))',
            blank_if=_NO_PIECE,
        ),
        "Why it has no price to mark down.",
    ),
    working_column(
        "priced",
        "Has a price",
        COUNT,
        Formula('({not_ready}="")*1', blank_if=_NO_PIECE),
        "1 if it is listed at a price; else 0.",
    ),
    working_column(
        "floor",
        "Floor",
        MONEY,
        Formula(f'IF(Below_break_even="{YES}",0,{{break_even}})', blank_if=_NO_PRICE),
        "The break-even price, or 0 if Settings allows a loss.",
    ),
    working_column(
        "marked_down",
        "Marked down",
        MONEY,
        EditionFormula(
            Formula("MIN({asking},MAX({floor},ROUND({asking}*(1-{share_off}),2)))", _NO_MARKDOWN),
            FunctionCall(
                "MARKDOWN_PRICE",
                {"asking": "{asking}", "days_listed": "{waiting}", "steps": "Markdown_table", "floor": "{floor}"},
                blank_if=_NO_MARKDOWN,
            ),
        ),
        "By the markdown steps; blank if there are none.",
    ),
    working_column("shipping", "Shipping", MONEY, _of_log("shipping_used"), "That the buyer would pay."),
    working_column("postage", "Postage", MONEY, _of_log("postage_used"), "As expected."),
    working_column("packing", "Packing", MONEY, _of_log("packing_used"), "As usual."),
    *(
        working_column(
            f"fee_{term.key}", term.header, term.kind, _of_log(f"fee_{term.key}"), "From the channel's terms."
        )
        for term in FEE_TERMS
    ),
    working_column("fee_first", "Fee at first price", MONEY, _fee("{asking}"), "By the channel's terms."),
    working_column("fee_new", "Fee at price by now", MONEY, _fee("{new_price}"), "By the channel's terms."),
    working_column(
        "advice",
        "Advice on price",
        TEXT,
        Formula(
            'IF({new_price}<{asking},IF({new_price}={floor},"lower it, but only to its floor",'
            '"lower the price"),{stay})',
            blank_if='{new_price}=""',
        ),
        "Whether the price by now is lower.",
    ),
    working_column(
        "stay",
        "If it stays",
        TEXT,
        Formula(
            'IF({asking}<{floor},"asked below break-even: it loses",'
            'IF({share_off}=0,"wait: no step reached yet","keep it: no room above its floor"))',
            blank_if='{new_price}=""',
        ),
        "Why the price stays.",
    ),
)


def stale_sheet() -> TableSheet:
    """Sheet Stale stock."""
    return TableSheet(
        "Stale stock",
        "Stale",
        "Pieces that wait too long, longest first. Leave the asking price in the log as it was "
        "first listed: the steps on Settings are shares of it.",
        (*grouped("Piece", _PIECE), *grouped("Prices", _PRICES), *grouped("What it leaves", _LEFT), *_WORKINGS),
        STALE_ROWS,
        frozen_columns=2,
    )
