"""What a LAMBDA refuses beyond the limits of single arguments: the checks in a function's body.

The tests run every case of every function through its LAMBDA, so that a check that is missing here
is seen.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from sheetfns.errors import BLANK, DIVISION, NUMBER, VALUE
from sheetfns.functions.buying import LARGEST_CASH
from sheetfns.functions.fees import FORMULA_LIMITS
from sheetfns.functions.parcel import LISTED_PRICE, PRICE_LIST_CORNER, ROWS_BELOW, SIDE_ROUNDINGS, ZONE_WANTED

Refusal = tuple[str, str]
"""A condition with {argument} places, and the error where it is true."""

_FEE_TERMS: Final[tuple[Refusal, ...]] = (("{least}>{most}", NUMBER), ('AND({band_limit}<>"",{rate_above}="")', BLANK))
_NO_RETURN_BELOW_0: Final[tuple[Refusal, ...]] = (("{target_return}<0", NUMBER),)
_NO_CONTRIBUTION: Final[tuple[Refusal, ...]] = (("{price}<={variable_cost}", NUMBER),)
_SOLD_OF_OFFERED: Final[tuple[Refusal, ...]] = (("{offered}=0", DIVISION), ("{sold}>{offered}", NUMBER))


def _none_of(argument: str, words: Iterable[str]) -> str:
    differs = ",".join(f'TRIM({{{argument}}})<>"{word}"' for word in words)
    return f'AND({{{argument}}}<>"",{differs})'


def _place(table: str) -> str:
    """The place of each row in a table, from 1 on."""
    return f"(ROW({table})-MIN(ROW({table}))+1)"


def _texts(cells: str) -> str:
    """Whether each cell holds a text: they come after all numbers; ISTEXT takes one cell in some
    programs.
    """
    return f'({cells}<>"")*({cells}>="")'


def _last_filled(table: str, cells: str) -> str:
    """The place of the last row that is not blank."""
    return f'SUMPRODUCT(MAX(({cells}<>"")*{_place(table)}))'


def _not_rising(table: str, column: str, above: str) -> str:
    """Whether one of the numbers below the first `above` rows is not over all before it."""
    place = _place(table)
    return (
        f'SUMPRODUCT(({column}<>"")*(TRANSPOSE({column})<>"")*({column}>=TRANSPOSE({column}))'
        f"*({place}>{above})*({place}<TRANSPOSE({place})))>0"
    )


def _of_bands() -> tuple[Refusal, ...]:
    """Limits are looked at one by one, as the ordinary formula does; a longer table shows #N/A."""
    rising = "".join(
        f",IF(COUNT({{limits}})<{place},FALSE,INDEX({{limits}},{place})<=INDEX({{limits}},{place - 1}))"
        for place in range(2, FORMULA_LIMITS + 1)
    )
    gaps = ",".join(
        f'IF(COUNT({{rates}})<{place},FALSE,INDEX({{rates}},{place})="")' for place in range(1, FORMULA_LIMITS + 2)
    )
    return (
        ("COUNT({limits})<>COUNT({rates})-1", VALUE),
        (f"OR({gaps})", VALUE),
        (f"OR(MIN({{limits}})<=0{rising})", NUMBER),
    )


def _of_mix() -> tuple[Refusal, ...]:
    sizes = [f"ROWS({{{name}}})*COLUMNS({{{name}}})" for name in ("margins", "mix")]
    return (
        ("<>".join(sizes), VALUE),
        ('SUMPRODUCT((({margins}<>"")-({mix}<>""))^2)>0', VALUE),
        ("SUM({mix})=0", DIVISION),
        ("SUMPRODUCT({margins},{mix})<=0", NUMBER),
    )


def _of_steps() -> tuple[Refusal, ...]:
    days, shares = "INDEX({steps},0,1)", "INDEX({steps},0,2)"
    heading = "(1-ISNUMBER(INDEX({steps},1,1)))"
    below = f"({_place('{steps}')}>{heading})"
    return (
        ("COLUMNS({steps})<2", VALUE),
        (f"SUMPRODUCT({below}*{_texts(days)})>0", VALUE),
        (f"SUMPRODUCT({below}*{_texts(shares)})>0", VALUE),
        (f"COUNT({days})=0", BLANK),
        (f'SUMPRODUCT({below}*(({days}="")-({shares}=""))^2)>0', BLANK),
        (f"{_last_filled('{steps}', days)}-{heading}>COUNT({days})", BLANK),
        (f"SUMPRODUCT({below}*(({days}<0)+({shares}<0)+({shares}>1)))>0", NUMBER),
        (_not_rising("{steps}", days, heading), NUMBER),
    )


_WEIGHTS: Final = "INDEX({table},0,1)"
_ZONES: Final = "INDEX({table},1,0)"


def _of_price_list() -> tuple[Refusal, ...]:
    corner = PRICE_LIST_CORNER
    weights = f"COUNT({_WEIGHTS})-ISNUMBER({corner})"
    below = f"({_place('{table}')}>1)"
    same = f"SUMPRODUCT((TRIM({_ZONES})={ZONE_WANTED})*1)"
    return (
        ("OR(ROWS({table})<2,COLUMNS({table})<2)", VALUE),
        (f"SUMPRODUCT({below}*{_texts(_WEIGHTS)})>0", VALUE),
        (f"{_last_filled('{table}', '{table}')}-1>{weights}", BLANK),
        (f"{weights}=0", VALUE),
        (_not_rising("{table}", _WEIGHTS, "1"), NUMBER),
        (f"OR({same}<>1,TRIM({corner})={ZONE_WANTED})", VALUE),
        (f"{ROWS_BELOW}={weights}", NUMBER),
        (f"IFERROR(ISTEXT({LISTED_PRICE}),FALSE)", VALUE),
        (f"IFERROR({LISTED_PRICE}<0,FALSE)", NUMBER),
    )


REFUSALS: Final[Mapping[str, tuple[Refusal, ...]]] = {
    "AFFORD_COUNT": ((f"{{cash}}>{LARGEST_CASH:.0E}", NUMBER), (f"{{price}}>{LARGEST_CASH:.0E}", NUMBER)),
    "BAND_BREAK_EVEN": (*_of_bands(), ("MAX({rates})>=1", NUMBER)),
    "BAND_FEE": _of_bands(),
    "BILLED_WEIGHT": (('AND({divisor}<>"",{divisor}<=0)', NUMBER), (_none_of("side_rounding", SIDE_ROUNDINGS), VALUE)),
    "BREAK_EVEN_PRICE": _FEE_TERMS,
    "BREAK_EVEN_SALES": (("{margin_ratio}=0", NUMBER),),
    "BREAK_EVEN_UNITS": _NO_CONTRIBUTION,
    "BUY_CEILING": _NO_RETURN_BELOW_0,
    "BUY_REMARK": _NO_RETURN_BELOW_0,
    "DAYS_HELD": (("INT({held_until})<INT({bought_on})", NUMBER),),
    "DAYS_ON_HAND": (("{days}=0", NUMBER),),
    "MARKDOWN_PRICE": _of_steps(),
    "MIX_BREAK_EVEN": _of_mix(),
    "POSTAGE_COST": _of_price_list(),
    "PRICE_FOR_PROFIT": _FEE_TERMS,
    "PRICE_WITH_POSTAGE": (("{rate}*(1+{tax_rate})>=1", NUMBER),),
    "SELLING_FEE": _FEE_TERMS,
    "STOCK_FOR_PAY": (("{profit_per_piece}<=0", NUMBER), ("{sold_rate_per_month}=0", NUMBER)),
    "SELL_THROUGH": _SOLD_OF_OFFERED,
    "SELL_THROUGH_FLOOR": (*_SOLD_OF_OFFERED, ("OR({confidence}=0,{confidence}=1)", NUMBER)),
    "UNITS_FOR_PROFIT": _NO_CONTRIBUTION,
}
"""In the order in which the bodies check."""

ERROR_OF_FORMULA: Final[Mapping[str, str]] = {"BREAK_EVEN_PRICE": NUMBER, "PRICE_FOR_PROFIT": NUMBER}
"""What is shown for the ordinary formula's own error: the fee takes the whole sale."""
