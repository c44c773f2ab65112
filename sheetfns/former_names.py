"""Names of version 0.4 that were replaced; they go on working until the next version.

All of them stand here and nowhere else. With the next version this module goes, and what looks
names up in it.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

FUNCTIONS: Final = {
    "STOCK_FOR_PAY": "INVENTORY_FOR_PAY",
    "STOCK_RETURN": "GROSS_MARGIN_RETURN",
    "STOCK_TURN": "INVENTORY_TURNOVER",
}
ARGUMENTS: Final = {
    "breadth": "width",
    "cost_per_piece": "cost_per_item",
    "least": "minimum",
    "most": "maximum",
    "most_of_each": "maximum_of_each",
    "opening_stock": "opening_inventory",
    "own_use": "personal_use",
    "packing": "packaging",
    "profit_per_piece": "profit_per_item",
    "stake": "starting_cash",
    "stock": "inventory",
}
"""Of every function that has an argument of the new name, and none of the old one."""
COMMANDS: Final = {"bring-in": "import", "outlook": "forecast", "refit": "upgrade"}
MENU_KEYS: Final = {"bring_in_sales": "import_sales", "outlook": "forecast"}
"""Macros of logs and addresses of an add-in's menu are made of these keys."""


def notice(old: str, new: str) -> str:
    """What is said where a former name is used.

    >>> notice("refit", "upgrade")
    "'refit' is now 'upgrade'; the old name stops working with the next version"
    """
    return f"'{old}' is now '{new}'; the old name stops working with the next version"


def argument_now(name: str, arguments: Iterable[str]) -> str:
    """What a function's argument is called now: the name as it is, unless it is a former one.

    Args:
        name: the name that was given.
        arguments: the names that the function's arguments have.

    >>> argument_now("stake", ["starting_cash", "weeks"]), argument_now("weeks", ["weeks"])
    ('starting_cash', 'weeks')
    """
    known = set(arguments)
    now = ARGUMENTS.get(name, name)
    return now if now in known and name not in known else name
