"""What can be wrong with a row of sheet Buying plan."""

from __future__ import annotations

from typing import Final

from sheetfns.log.model.sheets import RowCheck
from sheetfns.log.sheets.checked_rows import CheckedRows, blank, blank_in_filled_row, both, not_listed
from sheetfns.log.sheets.columns import below_zero, text_among_numbers
from sheetfns.log.sheets.words import BY_DAY, SETTINGS

_NUMBERS: Final = (("ticket", "postage"), ("most", "days_to_sell"))
_BOTH: Final = "the plan needs both prices"


def _no_days(rows: CheckedRows) -> None:
    if not rows.lists.plan_by_day:
        return
    # Of what is no number, or below 0, that is said already.
    none = ~rows.filled("days_to_sell") | (rows.read.amounts("days_to_sell") == 0)
    rows.say(
        rows.filled("piece") & none,
        "days_to_sell",
        lambda i: (
            f"{rows.header('days_to_sell')} is {rows.shown('days_to_sell', i)}; the plan goes "
            f"by profit a day ({SETTINGS}), so write 1 or more"
        ),
    )


# A table: key, message, formula, Python's verdict.
# fmt: off
CHECKS: Final = (
    RowCheck("no_piece", "the piece is blank", 'AND({piece}="",COUNTA({ticket}:{days_to_sell})>0)',
             blank_in_filled_row("piece", "the row counts only with a word for the piece")),
    RowCheck("not_a_number", "text in place of a number", text_among_numbers(_NUMBERS)),
    RowCheck("negative", "an amount is below 0", below_zero(_NUMBERS)),
    RowCheck("no_price", "fill in ticket and expected price", 'AND({piece}<>"",COUNT({ticket}:{expected_price})<2)',
             both(blank("ticket", _BOTH, beside="piece"), blank("expected_price", _BOTH, beside="piece"))),
    RowCheck("no_channel", "channel is blank or not on Settings", 'AND({piece}<>"",{channel_row}="")',
             both(blank("channel", "its fee is needed", beside="piece"), not_listed("channel", beside="piece"))),
    RowCheck("part", "count is no whole number", "SUM({most})<>INT(SUM({most}))"),
    RowCheck("no_days", "fill in days to sell (plan by day)",
             f'AND({{piece}}<>"",Plan_by="{BY_DAY}",SUM({{days_to_sell}})<=0)', _no_days),
)
# fmt: on
