"""How a computed figure is held against a printed one.

Beside each check stands its source with a status: R, read in a copy of the source; R2, read in a
copy that cites the official document; M, from memory.
"""

from __future__ import annotations

import math
from decimal import Decimal


def as_printed(found: float, printed: str) -> bool:
    """Whether a figure, rounded to the digits that are printed, is the printed one."""
    figure = Decimal(printed.replace(",", ""))
    half_a_digit = Decimal(1).scaleb(int(figure.as_tuple().exponent)) / 2
    return abs(Decimal(found) - figure) <= half_a_digit


def exactly(found: float, printed: float) -> bool:
    """For figures that are printed in full."""
    return math.isclose(found, printed, rel_tol=1e-12, abs_tol=1e-9)
