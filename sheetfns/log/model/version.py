"""The number of the log's layout: raised with every change of it, and with nothing else.

The package's version says which program there is; this number says which cells and formulas a log
has. So a new version of the package with the same layout changes nothing for the logs that there
are.
"""

from __future__ import annotations

from typing import Final

LAYOUT: Final = 10
OLDER_LAYOUT: Final = "older_layout"
"""The key of the notice that a log has an earlier one."""
_OF_EARLY_LOGS: Final = {"0.1.0": 1, "0.2.0": 2, "0.3.0": 3, "0.4.0": 4}
"""The first four layouts were told apart by the version of the package."""


def layout_number(stated: str) -> int | None:
    """The layout that a log's sheet Start states; None if it states none.

    >>> layout_number("0.3.0"), layout_number("5"), layout_number("5.0"), layout_number("")
    (3, 5, 5, None)
    """
    stated = stated.strip().removesuffix(".0") if stated.count(".") == 1 else stated.strip()
    if stated in _OF_EARLY_LOGS:
        return _OF_EARLY_LOGS[stated]
    return int(stated) if stated.isdecimal() else None
