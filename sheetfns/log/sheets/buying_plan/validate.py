"""What can be wrong with a row of sheet Buying plan."""

from __future__ import annotations

from typing import Final

from sheetfns.log.model.sheets import RowCheck
from sheetfns.log.sheets.checked_rows import CheckedRows, blank, blank_in_filled_row, both, not_listed
from sheetfns.log.sheets.columns import below_zero, text_among_numbers
from sheetfns.log.sheets.words import BY_DAY, SETTINGS

_NUMBERS: Final = (("price_tag", "postage"), ("maximum", "days_to_sell"))
_BOTH: Final = "the plan needs both prices"


def _no_days(rows: CheckedRows) -> None:
    if not rows.lists.plan_by_day:
        return
    # Of what is no number, or below 0, that is said already.
    none = ~rows.filled("days_to_sell") | (rows.read.amounts("days_to_sell") == 0)
    rows.say(
        rows.filled("item") & none,
        "days_to_sell",
        lambda i: (
            f"{rows.header('days_to_sell')} is {rows.shown('days_to_sell', i)}; the plan goes by profit per day "
            f"({SETTINGS}), so enter 1 or more"
        ),
    )


def _no_channel(rows: CheckedRows) -> None:
    if rows.lists.default_channel not in rows.lists.channels:
        blank("channel", f"enter it, or a default channel on {SETTINGS}", beside="item")(rows)


# A table: key, message, formula, Python's verdict.
# fmt: off
CHECKS: Final = (
    RowCheck("no_item", "the item is blank", 'AND({item}="",{entered}>0)',
             blank_in_filled_row("item", "the row counts only with a name for the item")),
    RowCheck("not_a_number", "text instead of a number", text_among_numbers(_NUMBERS)),
    RowCheck("negative", "an amount is below 0", below_zero(_NUMBERS)),
    RowCheck("no_price", "fill in price tag and expected price",
             'AND({item}<>"",COUNT({price_tag}:{expected_price})<2)',
             both(blank("price_tag", _BOTH, beside="item"), blank("expected_price", _BOTH, beside="item"))),
    RowCheck("no_channel", "channel is blank or not on Settings", 'AND({item}<>"",{channel_row}="")',
             both(_no_channel, not_listed("channel", beside="item"))),
    RowCheck("part", "at most is not a whole number", "SUM({maximum})<>INT(SUM({maximum}))"),
    RowCheck("no_days", "fill in days to sell (plan by day)",
             f'AND({{item}}<>"",Plan_by="{BY_DAY}",SUM({{days_to_sell}})<=0)', _no_days),
)
# fmt: on
