"""What a LAMBDA works out where no ordinary formula of one cell does, and why other functions have
none.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from sheetfns.functions.tax import GAP_ALTERNATIVES, LESS_REPORTED, MORE_REPORTED
from sheetfns.registry import REGISTRY, FunctionSpec

_GAP: Final = "ROUND({reported_gross}-{price}-{shipping}-{tax_collected},2)"


def _gap_remark() -> str:
    """The first explanation whose parts are there and leave nothing of the gap."""
    text, brackets = "", ""
    for words, *lacking in GAP_ALTERNATIVES:
        named = zip(("{shipping}", "{tax_collected}", "{refunds}"), lacking, strict=True)
        parts = [part for part, is_lacking in named if is_lacking]
        there = "".join(f",{part}<>0" for part in parts)
        text += f'IF(AND(ROUND({"+".join([_GAP, *parts])},2)=0{there}),"{words}",'
        brackets += ")"
    rest = f'FIXED(ABS({_GAP}),2)&IF({_GAP}>0," {MORE_REPORTED}"," {LESS_REPORTED}")'
    return f"{text}{rest}{brackets}"


_SOLD: Final = "({pay}+{fixed_costs})/{profit_per_item}"

ROWS: Final[Mapping[str, tuple[str, ...]]] = {
    "RECEIPTS_GAP": (_GAP, "ROUND({price}+{shipping}+{tax_collected},2)", "ROUND({price}+{shipping},2)", _gap_remark()),
    "INVENTORY_FOR_PAY": (
        _SOLD,
        f"{_SOLD}/{{sold_rate_per_month}}",
        f"{_SOLD}/{{sold_rate_per_month}}*{{cost_per_item}}",
    ),
}
"""Functions whose result is one row: the formula of each of its cells. They spill."""

_STEP_BY_STEP: Final = "Each week depends on the one before it, which a formula does not repeat."
_DATED: Final = (
    "Takes the dated figures of this package where none are given; in a name they would stay as "
    "they were on the day that the log was made."
)
_UNSOLD: Final = (
    "The estimate goes through the days one after the other and compares each row with all others, "
    "in more steps than one formula holds."
)
_REMAINDERS: Final = (
    "Cents left over go to the largest remainders, so each row is ranked among all others; the log does it in columns."
)
_SORTED: Final = "Prices are sorted, and weighed one after the other; the log does it in columns."
_BEST_CHOICE: Final = "No formula finds the best of all choices."
NO_LAMBDA: Final[Mapping[str, str]] = {
    "BUY_PLAN": _BEST_CHOICE,
    "COMP_SPREAD": _SORTED,
    "COMP_VALUE": _SORTED,
    "ESTIMATED_TAX": _DATED,
    "ESTIMATE_BIAS": "The errors of all pairs are sorted to find the allowance; the log does it in columns.",
    "FILL_IN": "A text has any number of places, and a formula does not go from one to the next.",
    "GROWTH_ODDS": "Thousands of runs are drawn at random; no formula does that.",
    "GROWTH_PATH": _STEP_BY_STEP,
    "HOME_OFFICE_SIMPLE": _DATED,
    "LOT_SHARE": _REMAINDERS,
    "MEDIAN_DAYS_TO_SELL": _UNSOLD,
    "MILEAGE_DEDUCTION": _DATED,
    "PROFIT_SHARE": _REMAINDERS,
    "RESALE_CAUTION": "Looked up in this package's table, which is too long for a formula.",
    "SELF_EMPLOYMENT_TAX": _DATED,
    "SOLD_BY_CHANCE": _UNSOLD,
    "TAX_SET_ASIDE": _DATED,
    "TITLE_PACK": _BEST_CHOICE,
    "TITLE_REMARKS": "A title is taken apart into words; a formula does not go through them.",
    "TITLE_ROOM": "Counts as a reader does; LEN counts an emoji, or a letter with an accent of its "
    "own, as several characters.",
    "WEEKS_TO_PAY": _STEP_BY_STEP,
    "YEAR_TOTALS": "Its lines are sorted as on the form, and there are as many rows as lines.",
}
"""In one sentence why a function has no name with a LAMBDA."""


def has_lambda(spec: FunctionSpec) -> bool:
    """Whether a formula says all of a function's rule."""
    return spec.formula is not None or spec.name in ROWS


def body_formula(spec: FunctionSpec, used: Mapping[str, str]) -> str:
    """A function's rule as a formula, without refusals and blanks.

    Args:
        spec: a function that has a LAMBDA.
        used: what stands for each argument.
    """
    if spec.name not in ROWS:
        return spec.filled_formula(used)
    *cells, text = (cell.format_map(used) for cell in ROWS[spec.name])
    places = ",".join(str(place) for place in range(1, len(cells) + 2))
    for place, cell in reversed(list(enumerate(cells, 1))):
        text = f"IF({{{places}}}={place},{cell},{text})"
    return text


def specs_without_lambda() -> list[FunctionSpec]:
    """The functions that have no LAMBDA, by category and name."""
    specs = [spec for spec in REGISTRY.values() if not has_lambda(spec)]
    return sorted(specs, key=lambda spec: (spec.category, spec.name))
