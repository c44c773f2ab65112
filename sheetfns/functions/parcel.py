"""What a parcel weighs, its billed weight, what its label costs, and how far estimates are off."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from sheetfns.blocks import are_texts, filled_rows, is_filled, last_filled, not_rising, row_place
from sheetfns.cell_types import (
    Column,
    Cost,
    Factor,
    Length,
    Monies,
    Number,
    Rate,
    Rows,
    Table,
    Text,
    Volume,
    Weight,
    shown_cell,
)
from sheetfns.errors import BLANK, NUMBER, VALUE, CellError, row_by_row
from sheetfns.refusals import Refusal, unlike_sizes
from sheetfns.registry import worksheet

NOT_GIVEN: Final = math.nan
NOISE_DIGITS: Final = 9
"""Scales and tape measures give three digits after the point; noise is far below nine."""
_FINEST: Final = 1e6
"""From here on a figure has no nine digits after the point left to round."""


def _without_noise(figure: Number) -> Column:
    """2.1 / 0.7 is 3.0000000000000004; rounded up, it would be 4."""
    figures = np.asarray(figure, np.float64)
    small = np.abs(figures) < _FINEST
    return np.where(small, np.where(small, figures, 0.0).round(NOISE_DIGITS), figures)


@worksheet("Parcel", formula="={item_weight}*(1+{fill_rate})+{box_weight}+{margin}")
def packed_weight(item_weight: Weight, box_weight: Weight, fill_rate: Rate = 0, margin: Weight = 0) -> Weight:
    """What an item weighs once it is packed: the item, its padding, the box and a margin.

    Args:
        item_weight: what the item weighs without packaging, in any unit of weight.
        box_weight: what the empty box weighs, tape and label included, in the same unit.
        fill_rate: padding as a share of the item's weight, a fraction or percentage.
        margin: extra weight so that the label is seldom too low, in the same unit; ESTIMATE_BIAS finds one from your own parcels.
    Returns: a weight in the unit of the others, not rounded; BILLED_WEIGHT rounds it up.
    Errors: #NUM!: a figure below 0, a rate over 100%. #VALUE!: text instead of a number. #N/A: a required weight is blank.
    Formula: item_weight x (1 + fill_rate) + box_weight + margin
    Source: definition
    Examples:
        >>> packed_weight(2, 0.5, 0.10)
        2.7
        >>> packed_weight(2, 0.5, margin=0.25)
        2.75
    """
    return item_weight * (1 + fill_rate) + box_weight + margin


SIDE_ROUNDINGS: Final = ("none", "nearest", "up")
_SIDES: Final = ("{length}", "{width}", "{height}")
_CLEAN_SIDES: Final = [f"ROUND({side},{NOISE_DIGITS})" for side in _SIDES]
_VOLUME: Final = (
    'ROUND(IF(TRIM({side_rounding})="up",'
    + "*".join(f"ROUNDUP({side},0)" for side in _CLEAN_SIDES)
    + ',IF(TRIM({side_rounding})="nearest",'
    + "*".join(f"INT({side}+0.5)" for side in _CLEAN_SIDES)
    + f",{'*'.join(_SIDES)})),{NOISE_DIGITS})"
)
_HEAVIER: Final = f'MAX({{weight}},IF({{divisor}}="",0,IF({_VOLUME}>{{gate}},{_VOLUME}/{{divisor}},0)))'


_UNKNOWN_ROUNDING: Final = ",".join(f'TRIM({{side_rounding}})<>"{word}"' for word in SIDE_ROUNDINGS)


@worksheet(
    "Parcel",
    formula=(
        f'=IF(OR({{weight_step}}="",{{weight_step}}=0),{_HEAVIER},'
        f"ROUND(ROUNDUP(ROUND({_HEAVIER}/{{weight_step}},{NOISE_DIGITS}),0)*{{weight_step}},"
        f"{NOISE_DIGITS}))"
    ),
    refuse=[
        Refusal(
            'AND({divisor}<>"",{divisor}<=0)', NUMBER, "divisor: must be above 0; leave it blank if size does not count"
        ),
        Refusal(
            f'AND({{side_rounding}}<>"",{_UNKNOWN_ROUNDING})',
            VALUE,
            "side_rounding: '{side_rounding}' is unknown; write none, nearest or up",
        ),
    ],
)
def billed_weight(
    weight: Weight,
    length: Length,
    width: Length,
    height: Length,
    divisor: Factor = NOT_GIVEN,
    gate: Volume = 0,
    side_rounding: Text = "none",
    weight_step: Weight = 0,
) -> Weight:
    """The billable weight of a parcel: its actual weight, or its dimensional weight if that is more.

    Args:
        weight: what the packed parcel weighs, in the unit of the carrier's price list.
        length: one side, in the unit of the carrier's rule.
        width: another side, in the same unit.
        height: the third side, in the same unit.
        divisor: the dimensional divisor, volume for one unit of weight, as the carrier states it, above 0; size does not count if left out.
        gate: the volume up to which size does not count, in cubic units of the sides; 0 if size always counts.
        side_rounding: how sides are rounded to whole units before they are multiplied: none, nearest (half up) or up.
        weight_step: the billable weight is rounded up to whole multiples of it, such as 1; not rounded if left out.
    Returns: a weight in the unit of weight.
    Errors: #NUM!: a figure below 0, a divisor of 0. #VALUE!: text, or an unknown rounding. #N/A: weight or a side is blank.
    Formula: volume = product of the rounded sides; the greater of weight and (if volume > gate)
        volume / divisor; up to the next full weight_step
    Source: common practice; divisor, gate and roundings are your carrier's, see its rules
    Examples:
        >>> billed_weight(9, 45, 30, 65, 6000, 0, "none", 1)
        15.0
        >>> billed_weight(2.3, 10, 8, 4, 150, 1000, weight_step=0.5)
        2.5
    """
    rounding = np.asarray(row_by_row(lambda word: (word or "").strip().casefold(), side_rounding), str)

    def rounded(side: Number) -> Column:
        clean = _without_noise(side)
        return np.where(rounding == "up", np.ceil(clean), np.where(rounding == "nearest", np.floor(clean + 0.5), side))

    with np.errstate(all="ignore"):
        volume = _without_noise(rounded(length) * rounded(width) * rounded(height))
        by_size = ~np.isnan(divisor) & (volume > gate)
        heavier = np.where(by_size, np.maximum(weight, volume / divisor), weight)
        step = np.where(np.asarray(weight_step) > 0, weight_step, 1.0)
        stepped = _without_noise(np.ceil(_without_noise(heavier / step)) * step)
    return np.where(np.asarray(weight_step) > 0, stepped, heavier)


@worksheet("Parcel", formula="=2*({length}+{width}+{height})-MAX({length},{width},{height})")
def length_girth(length: Length, width: Length, height: Length) -> Length:
    """Length plus girth of a parcel: its longest side, plus the distance around it.

    Args:
        length: one side; which of the three is the longest does not matter.
        width: another side, in the same unit.
        height: the third side, in the same unit.
    Returns: a length in the unit of the sides, not rounded.
    Errors: #NUM!: a side below 0. #VALUE!: text instead of a number. #N/A: a side is blank.
    Formula: longest side + 2 x (sum of the two others)
    Source: definition; your carrier's rules say what is allowed
    Examples:
        >>> length_girth(5, 8, 12)
        38.0
        >>> length_girth([30, 10], 20, 10).tolist()
        [90.0, 60.0]
    """
    return 2 * (length + width + height) - np.maximum(np.maximum(length, width), height)


ZONES_SHOWN: Final = 120
ZONE_WANTED: Final = "TRIM({zone})"
PRICE_LIST_CORNER: Final = "INDEX({table},1,1)"


def _below_weight(cells: str) -> str:
    return f'({cells}<>"")*({cells}<ROUND({{weight}},{NOISE_DIGITS}))'


# The top-left cell is not used: if it was counted, it is taken off again.
ROWS_BELOW: Final = f"SUMPRODUCT({_below_weight('INDEX({table},0,1)')})-{_below_weight(PRICE_LIST_CORNER)}"
# Zones are compared as texts: 1 and '1 are one, and * is no other name.
LISTED_PRICE: Final = f'INDEX({{table}},{ROWS_BELOW}+2,MATCH(TRUE,INDEX(INDEX({{table}},1,0)&""={ZONE_WANTED},0),0))'
_NO_ZONE: Final = f'OR({ZONE_WANTED}="",{PRICE_LIST_CORNER}&""={ZONE_WANTED})'


@dataclass(frozen=True)
class _PriceList:
    """A table of postage as read: `prices` has a row for each limit and a column for each zone."""

    corner: str
    limits: list[float]
    zones: list[str]
    prices: list[list[Any]]


def _zone(cell: Any) -> str:
    """A zone as text: 3, '3' and ' 3 ' are one."""
    text = f"{cell:.15g}" if isinstance(cell, float) else str(cell)
    return text.strip()


def _price_list(table: Table) -> _PriceList:
    """Reads the table; refuses one that is too small or whose weights do not rise."""
    cells = filled_rows(table)
    columns = max((place for row in cells for place, c in enumerate(row, 1) if is_filled(c)), default=0)
    if len(cells) < 2 or columns < 2:
        raise CellError(VALUE, "table: too small; give zones in its first row, weights in its first column, and prices")
    limits: list[float] = []
    for number, (cell, *_) in enumerate(cells[1:], 2):
        if not is_filled(cell):
            raise CellError(BLANK, f"table: row {number} has no weight in its first cell; add it")
        if not isinstance(cell, float):
            raise CellError(VALUE, f"table: '{shown_cell(cell)}' in row {number} is not a weight; write a number")
        limit = float(_without_noise(cell))
        if limits and limit <= limits[-1]:
            raise CellError(
                NUMBER,
                f"table: the weight {limit:.15g} in row {number} is not above {limits[-1]:.15g} in "
                "the row before; put the rows in rising order",
            )
        limits.append(limit)
    corner, *zones = ["" if not is_filled(cell) else _zone(cell) for cell in cells[0][:columns]]
    return _PriceList(corner, limits, zones, [row[1:columns] for row in cells[1:]])


_WEIGHTS: Final = "INDEX({table},0,1)"
_WEIGHTS_COUNTED: Final = f"COUNT({_WEIGHTS})-ISNUMBER({PRICE_LIST_CORNER})"
_OF_ZONE: Final = f"SUMPRODUCT((TRIM(INDEX({{table}},1,0))={ZONE_WANTED})*1)"
# Of `table` the body says which row or zone is wrong.
_PRICE_LIST: Final = (
    Refusal("OR(ROWS({table})<2,COLUMNS({table})<2)", VALUE),
    Refusal(f"SUMPRODUCT(({row_place('{table}')}>1)*{are_texts(_WEIGHTS)})>0", VALUE),
    Refusal(f"{last_filled('{table}', '{table}')}-1>{_WEIGHTS_COUNTED}", BLANK),
    Refusal(f"{_WEIGHTS_COUNTED}=0", VALUE),
    Refusal(not_rising("{table}", _WEIGHTS, "1"), NUMBER),
    Refusal(f"OR({_OF_ZONE}<>1,TRIM({PRICE_LIST_CORNER})={ZONE_WANTED})", VALUE),
    Refusal(f"{ROWS_BELOW}={_WEIGHTS_COUNTED}", NUMBER),
    Refusal(f"IFERROR(ISTEXT({LISTED_PRICE}),FALSE)", VALUE),
    Refusal(f"IFERROR({LISTED_PRICE}<0,FALSE)", NUMBER),
)


@worksheet(
    "Parcel", formula=f"=IF({_NO_ZONE},NA(),IF(ISNUMBER({LISTED_PRICE}),{LISTED_PRICE},NA()))", refuse=_PRICE_LIST
)
def postage_cost(weight: Weight, zone: Text, table: Table) -> Cost:
    """What a label costs: looked up by weight and zone in your own price list.

    Args:
        weight: the billable weight, see BILLED_WEIGHT, in the unit of the table.
        zone: the zone, or the name of the service, as written in the table's first row.
        table: a whole block: zones in its first row; in its first column the weight up to which each row applies, rising; the top-left cell is ignored, but must not name the zone.
    Returns: money, as in the table.
    Shape: weight and zone cell by cell; table is a whole block. Blank rows at its end and blank columns are ignored.
    Errors: #VALUE!: no such zone, a zone that is duplicated or in the top-left cell, or text for a number. #NUM!: over the last weight, or weights that do not rise. #N/A: a required cell is blank, or no price in the cell.
    Formula: the price in the first row whose weight is not below `weight`, in the zone's column
    Source: common practice, no source; the prices are your carrier's
    Examples:
        >>> prices = [[None, 1, 2], [1, 4.5, 5.25], [5, 7.25, 9]]
        >>> postage_cost(0.8, 1, prices), postage_cost([1, 1.1], 2, prices).tolist()
        (4.5, [5.25, 9.0])
    """
    if not table.size:
        return np.full(np.broadcast(weight, zone).shape, np.nan)
    known = _price_list(table)
    limits = np.array(known.limits)
    names = [name.casefold() for name in known.zones]

    def price(weighed: float, wanted: str | None) -> float:
        if wanted is None or math.isnan(weighed):
            return math.nan
        name = _zone(wanted).casefold()
        if not name or name not in names:
            raise _no_such_zone(wanted, known.zones)
        if names.count(name) > 1:
            raise CellError(VALUE, f"zone: '{shown_cell(wanted)}' is duplicated in the table's first row; keep one")
        if name == known.corner.casefold():
            raise CellError(
                VALUE, f"zone: '{shown_cell(wanted)}' is also in the table's top-left cell; clear that cell"
            )
        row = int(np.searchsorted(limits, float(_without_noise(weighed))))
        if row == limits.size:
            raise CellError(
                NUMBER,
                f"weight: {weighed:.15g} is over {limits[-1]:.15g}, the last weight of the table; "
                "split the parcel or add a row",
            )
        return _price(known.prices[row][names.index(name)], row + 2, wanted)

    return np.asarray(row_by_row(price, weight, zone), np.float64)


def _price(cell: Any, row: int, zone: str) -> float:
    place = f"row {row} under zone {shown_cell(zone)}"
    if not is_filled(cell):
        raise CellError(BLANK, f"table: no price in {place}; fill it in, or choose another zone")
    if not isinstance(cell, float):
        raise CellError(VALUE, f"table: '{shown_cell(cell)}' in {place} is not a number; write a number")
    if cell < 0:
        raise CellError(NUMBER, f"table: {cell:.15g} in {place} is below 0; write 0 or more")
    return cell


def _no_such_zone(wanted: str, zones: Sequence[str]) -> CellError:
    there = ", ".join(zone for zone in zones if zone)
    return CellError(
        VALUE,
        f"zone: '{shown_cell(wanted)}' is not in the table's first row; write one of {shown_cell(there, ZONES_SHOWN)}",
    )


@worksheet("Parcel", refuse=[unlike_sizes("actual", "estimated")])
def estimate_bias(estimated: Monies, actual: Monies, coverage: Rate = 0.9) -> Rows:
    """How far your estimates of weight or postage were off, and what to add so that most would have been enough.

    Args:
        estimated: a whole range: what you estimated, weights or money.
        actual: a whole range of the same size: what it turned out to be, in the same unit.
        coverage: the share of parcels for which the allowance should be enough, a fraction or percentage.
    Returns: a row of four: pairs used; mean error, actual - estimated; share of pairs underestimated;
        allowance, the lowest amount of 0 or more that, added to each estimate, would have been enough
        for at least `coverage` of the pairs.
    Shape: whole ranges and one cell in, one row of four cells out; a pair with a blank is left out.
    Errors: #N/A: a required cell is blank, or no complete pair. #VALUE!: text, or ranges of different sizes. #NUM!: coverage over 100%.
    Formula: errors = actual - estimated; allowance = max(0, the k-th smallest error), k = coverage x
        pairs, rounded up
    Source: definition (mean error, sample quantile); it reflects the past, not the next parcel
    Examples:
        >>> estimate_bias([10, 12, 8, 5], [11, 12, 11, 4], 0.75).tolist()
        [[4.0, 0.75, 0.5, 1.0]]
        >>> estimate_bias([2, None, 3], [1.5, 4, 2.5]).tolist()
        [[2.0, -0.5, 0.0, 0.0]]
    """
    errors = actual - estimated
    errors = np.sort(_without_noise(errors[~np.isnan(errors)]))
    pairs = errors.size
    if pairs == 0:
        raise CellError(BLANK, "estimated and actual: no row has both; fill in at least one complete pair")
    enough_for = math.ceil(round(float(coverage) * pairs, NOISE_DIGITS))
    allowance = max(0.0, float(errors[enough_for - 1])) if enough_for else 0.0
    # A difference of a billionth is no difference.
    under = np.count_nonzero(errors > 10.0**-NOISE_DIGITS) / pairs
    return [[float(pairs), float(errors.mean()), under, allowance]]
