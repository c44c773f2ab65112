# Made by `sheetfns functions --stub --write`; do not change it by hand.
#
# A call on single cells gives a single result; None stands for a blank cell. A call on a column
# gives an array: float64 with NaN for blanks, or objects where a row is a text or a CellError. A
# figure that is not a number (NaN) counts as blank, which no type can show.
#
# The last way to call a function takes what the ways above it take; the first that fits counts.
# mypy: disable-error-code="overload-overlap"

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal
from typing import Any, Protocol, TypeAlias, TypeVar, overload

import numpy as np
from numpy.typing import NDArray

from sheetfns.errors import CellError as CellError
from sheetfns.registry import REGISTRY as REGISTRY

__all__ = ["REGISTRY", "CellError", "__version__"]
__version__: str

class _HasToNumpy(Protocol):
    """A column or table of pandas, or of a library like it."""

    def to_numpy(self) -> NDArray[Any]: ...

_T = TypeVar("_T")
# One kind of sequence, of cells or rows: of two, a checker could not tell what a list is to hold.
_Range: TypeAlias = Sequence[_T | Sequence[_T | None] | None] | _HasToNumpy

_Number: TypeAlias = float | Decimal | np.floating[Any] | np.integer[Any]
_Date: TypeAlias = dt.date | np.datetime64 | _Number
_Text: TypeAlias = str | _Date
_Flag: TypeAlias = bool | np.bool | str | _Number
_Value: TypeAlias = str | _Date
_Numeric: TypeAlias = np.floating[Any] | np.integer[Any]
_Numbers: TypeAlias = _Range[_Number] | NDArray[_Numeric | np.object_]
_Dates: TypeAlias = _Range[_Date] | NDArray[_Numeric | np.datetime64 | np.object_]
_Texts: TypeAlias = _Range[_Text] | NDArray[Any]
_Flags: TypeAlias = _Range[_Flag] | NDArray[_Numeric | np.bool | np.str_ | np.object_]
_Table: TypeAlias = (
    Sequence[Sequence[_Value | None]]
    | _HasToNumpy
    | NDArray[_Numeric | np.datetime64 | np.str_ | np.object_]
)

@overload
def afford_count(
    cash: _Number,
    price: _Number,
) -> float:
    """How many whole items the cash covers at this price."""

@overload
def afford_count(
    cash: _Number | None,
    price: _Number | None,
) -> float | None: ...
@overload
def afford_count(
    cash: _Number | _Numbers | None,
    price: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def asking_rank(
    my_delivered_price: _Number,
    asking_delivered_prices: _Number | _Numbers,
) -> float:
    """How my offer ranks among the others when a buyer sorts by price plus shipping: 1 is the
    cheapest.
    """

@overload
def asking_rank(
    my_delivered_price: _Number | None,
    asking_delivered_prices: _Number | _Numbers | None,
) -> float | None: ...
@overload
def asking_rank(
    my_delivered_price: _Number | _Numbers | None,
    asking_delivered_prices: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def band_break_even(
    needed: _Number,
    limits: _Number | _Numbers,
    rates: _Number | _Numbers,
    per_order: _Number | None = 0,
) -> float:
    """The amount that leaves what you need after a tiered fee: the reverse of BAND_FEE."""

@overload
def band_break_even(
    needed: _Number | None,
    limits: _Number | _Numbers | None,
    rates: _Number | _Numbers | None,
    per_order: _Number | None = 0,
) -> float | None: ...
@overload
def band_break_even(
    needed: _Number | _Numbers | None,
    limits: _Number | _Numbers | None,
    rates: _Number | _Numbers | None,
    per_order: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def band_fee(
    amount: _Number,
    limits: _Number | _Numbers,
    rates: _Number | _Numbers,
    per_order: _Number | None = 0,
) -> float:
    """A tiered fee: each part of the amount pays the rate of the band that it falls into."""

@overload
def band_fee(
    amount: _Number | None,
    limits: _Number | _Numbers | None,
    rates: _Number | _Numbers | None,
    per_order: _Number | None = 0,
) -> float | None: ...
@overload
def band_fee(
    amount: _Number | _Numbers | None,
    limits: _Number | _Numbers | None,
    rates: _Number | _Numbers | None,
    per_order: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def billed_weight(
    weight: _Number,
    length: _Number,
    width: _Number,
    height: _Number,
    divisor: _Number | None = None,
    gate: _Number | None = 0,
    side_rounding: _Text | None = "none",
    weight_step: _Number | None = 0,
) -> float:
    """The billable weight of a parcel: its actual weight, or its dimensional weight if that is
    more.
    """

@overload
def billed_weight(
    weight: _Number | None,
    length: _Number | None,
    width: _Number | None,
    height: _Number | None,
    divisor: _Number | None = None,
    gate: _Number | None = 0,
    side_rounding: _Text | None = "none",
    weight_step: _Number | None = 0,
) -> float | None: ...
@overload
def billed_weight(
    weight: _Number | _Numbers | None,
    length: _Number | _Numbers | None,
    width: _Number | _Numbers | None,
    height: _Number | _Numbers | None,
    divisor: _Number | _Numbers | None = None,
    gate: _Number | _Numbers | None = 0,
    side_rounding: _Text | _Texts | None = "none",
    weight_step: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def break_even_price(
    landed_cost: _Number,
    postage: _Number,
    packaging: _Number,
    shipping: _Number,
    rate: _Number,
    per_order: _Number,
    tax_rate: _Number | None = 0,
    band_limit: _Number | None = None,
    rate_above: _Number | None = None,
    ad_rate: _Number | None = 0,
    minimum: _Number | None = 0,
    maximum: _Number | None = None,
) -> float:
    """The price at which a sale makes neither profit nor loss."""

@overload
def break_even_price(
    landed_cost: _Number | None,
    postage: _Number | None,
    packaging: _Number | None,
    shipping: _Number | None,
    rate: _Number | None,
    per_order: _Number | None,
    tax_rate: _Number | None = 0,
    band_limit: _Number | None = None,
    rate_above: _Number | None = None,
    ad_rate: _Number | None = 0,
    minimum: _Number | None = 0,
    maximum: _Number | None = None,
) -> float | None: ...
@overload
def break_even_price(
    landed_cost: _Number | _Numbers | None,
    postage: _Number | _Numbers | None,
    packaging: _Number | _Numbers | None,
    shipping: _Number | _Numbers | None,
    rate: _Number | _Numbers | None,
    per_order: _Number | _Numbers | None,
    tax_rate: _Number | _Numbers | None = 0,
    band_limit: _Number | _Numbers | None = None,
    rate_above: _Number | _Numbers | None = None,
    ad_rate: _Number | _Numbers | None = 0,
    minimum: _Number | _Numbers | None = 0,
    maximum: _Number | _Numbers | None = None,
) -> NDArray[Any]: ...
@overload
def break_even_sales(
    fixed_costs: _Number,
    margin_ratio: _Number,
) -> float:
    """Break-even in sales: what sales must bring in to cover the fixed costs."""

@overload
def break_even_sales(
    fixed_costs: _Number | None,
    margin_ratio: _Number | None,
) -> float | None: ...
@overload
def break_even_sales(
    fixed_costs: _Number | _Numbers | None,
    margin_ratio: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def break_even_units(
    fixed_costs: _Number,
    price: _Number,
    variable_cost: _Number,
) -> float:
    """Break-even in items: how many must be sold to cover the fixed costs."""

@overload
def break_even_units(
    fixed_costs: _Number | None,
    price: _Number | None,
    variable_cost: _Number | None,
) -> float | None: ...
@overload
def break_even_units(
    fixed_costs: _Number | _Numbers | None,
    price: _Number | _Numbers | None,
    variable_cost: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def buy_ceiling(
    expected_price: _Number,
    shipping: _Number,
    postage: _Number,
    packaging: _Number,
    rate: _Number,
    per_order: _Number,
    target_profit: _Number | None = 0,
    target_return: _Number | None = 0,
    tax_rate: _Number | None = 0,
    prep_cost: _Number | None = 0,
    purchase_tax_rate: _Number | None = 0,
) -> float:
    """The highest price tag at which the sale still earns both your target profit and your
    target return.
    """

@overload
def buy_ceiling(
    expected_price: _Number | None,
    shipping: _Number | None,
    postage: _Number | None,
    packaging: _Number | None,
    rate: _Number | None,
    per_order: _Number | None,
    target_profit: _Number | None = 0,
    target_return: _Number | None = 0,
    tax_rate: _Number | None = 0,
    prep_cost: _Number | None = 0,
    purchase_tax_rate: _Number | None = 0,
) -> float | None: ...
@overload
def buy_ceiling(
    expected_price: _Number | _Numbers | None,
    shipping: _Number | _Numbers | None,
    postage: _Number | _Numbers | None,
    packaging: _Number | _Numbers | None,
    rate: _Number | _Numbers | None,
    per_order: _Number | _Numbers | None,
    target_profit: _Number | _Numbers | None = 0,
    target_return: _Number | _Numbers | None = 0,
    tax_rate: _Number | _Numbers | None = 0,
    prep_cost: _Number | _Numbers | None = 0,
    purchase_tax_rate: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def buy_plan(
    costs: _Number,
    profits: _Number | _Numbers | None,
    cash: _Number | None,
    days_to_sell: _Number | _Numbers | None = None,
    maximum_of_each: _Number | _Numbers | None = 1,
    reserve: _Number | None = 0,
) -> float:
    """How many of each item to buy so that the cash earns the most profit: the best choice there
    is, not a rule of thumb. It is only as good as the profits that you expect.
    """

@overload
def buy_plan(
    costs: _Numbers,
    profits: _Number | _Numbers | None,
    cash: _Number | None,
    days_to_sell: _Number | _Numbers | None = None,
    maximum_of_each: _Number | _Numbers | None = 1,
    reserve: _Number | None = 0,
) -> NDArray[np.float64]: ...
@overload
def buy_remark(
    expected_price: _Number,
    shipping: _Number,
    postage: _Number,
    packaging: _Number,
    rate: _Number,
    per_order: _Number,
    target_profit: _Number | None = 0,
    target_return: _Number | None = 0,
    tax_rate: _Number | None = 0,
    prep_cost: _Number | None = 0,
    purchase_tax_rate: _Number | None = 0,
) -> str:
    """What sets BUY_CEILING: the target profit, the target return, both or neither; or that no
    price is low enough.
    """

@overload
def buy_remark(
    expected_price: _Number | None,
    shipping: _Number | None,
    postage: _Number | None,
    packaging: _Number | None,
    rate: _Number | None,
    per_order: _Number | None,
    target_profit: _Number | None = 0,
    target_return: _Number | None = 0,
    tax_rate: _Number | None = 0,
    prep_cost: _Number | None = 0,
    purchase_tax_rate: _Number | None = 0,
) -> str | None: ...
@overload
def buy_remark(
    expected_price: _Number | _Numbers | None,
    shipping: _Number | _Numbers | None,
    postage: _Number | _Numbers | None,
    packaging: _Number | _Numbers | None,
    rate: _Number | _Numbers | None,
    per_order: _Number | _Numbers | None,
    target_profit: _Number | _Numbers | None = 0,
    target_return: _Number | _Numbers | None = 0,
    tax_rate: _Number | _Numbers | None = 0,
    prep_cost: _Number | _Numbers | None = 0,
    purchase_tax_rate: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def capital_balance(
    put_in: _Number,
    profit_share: _Number,
    taken_out: _Number,
    opening: _Number | None = 0,
) -> float:
    """What one partner has in the business at the end of a period."""

@overload
def capital_balance(
    put_in: _Number | None,
    profit_share: _Number | None,
    taken_out: _Number | None,
    opening: _Number | None = 0,
) -> float | None: ...
@overload
def capital_balance(
    put_in: _Number | _Numbers | None,
    profit_share: _Number | _Numbers | None,
    taken_out: _Number | _Numbers | None,
    opening: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
def comp_spread(
    prices: _Number | _Numbers | None,
    postage_in: _Flag | _Flags | None = False,
    postage: _Number | _Numbers | None = 0,
    missing_value: _Number | None = 0,
    complete: _Flag | _Flags | None = True,
    condition_rate: _Number | _Numbers | None = 1,
    age_days: _Number | _Numbers | None = 0,
    half_life_days: _Number | None = 90,
    quantile: _Number | None = 0.25,
) -> NDArray[np.object_] | None:
    """How far to trust COMP_VALUE: one row of low, median and high price, how many sales were
    used, how many outliers were excluded, and a remark where the estimate is rough.
    """

@overload
def comp_value(
    prices: _Number | _Numbers | None,
    postage_in: _Flag | _Flags | None = False,
    postage: _Number | _Numbers | None = 0,
    missing_value: _Number | None = 0,
    complete: _Flag | _Flags | None = True,
    condition_rate: _Number | _Numbers | None = 1,
    age_days: _Number | _Numbers | None = 0,
    half_life_days: _Number | None = 90,
    quantile: _Number | None = 0.5,
) -> float | None:
    """What an item should sell for, from sold prices of comparable items: newer sales count
    more, outliers are excluded. An estimate from your own list; it knows nothing that is not in
    it.
    """

@overload
def comp_value(
    prices: _Number | _Numbers | None,
    postage_in: _Flag | _Flags | None = False,
    postage: _Number | _Numbers | None = 0,
    missing_value: _Number | _Numbers | None = 0,
    complete: _Flag | _Flags | None = True,
    condition_rate: _Number | _Numbers | None = 1,
    age_days: _Number | _Numbers | None = 0,
    half_life_days: _Number | _Numbers | None = 90,
    quantile: _Number | _Numbers | None = 0.5,
) -> NDArray[Any]: ...
@overload
def contribution_margin(
    price: _Number,
    variable_cost: _Number,
) -> float:
    """Contribution margin: what one sale leaves toward fixed costs and profit."""

@overload
def contribution_margin(
    price: _Number | None,
    variable_cost: _Number | None,
) -> float | None: ...
@overload
def contribution_margin(
    price: _Number | _Numbers | None,
    variable_cost: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def cost_of_goods_sold(
    opening: _Number,
    purchases: _Number,
    personal_use: _Number,
    closing: _Number,
    labor: _Number | None = 0,
    materials: _Number | None = 0,
    other: _Number | None = 0,
) -> float:
    """The cost of the goods sold in a year, in the order of Schedule C, Part III. An aid to
    record keeping, not tax advice: have a licensed preparer check.
    """

@overload
def cost_of_goods_sold(
    opening: _Number | None,
    purchases: _Number | None,
    personal_use: _Number | None,
    closing: _Number | None,
    labor: _Number | None = 0,
    materials: _Number | None = 0,
    other: _Number | None = 0,
) -> float | None: ...
@overload
def cost_of_goods_sold(
    opening: _Number | _Numbers | None,
    purchases: _Number | _Numbers | None,
    personal_use: _Number | _Numbers | None,
    closing: _Number | _Numbers | None,
    labor: _Number | _Numbers | None = 0,
    materials: _Number | _Numbers | None = 0,
    other: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def days_held(
    bought_on: _Date,
    held_until: _Date,
) -> float:
    """How many days an item was held before it sold, or has been held up to the date that you
    give.
    """

@overload
def days_held(
    bought_on: _Date | None,
    held_until: _Date | None,
) -> float | None: ...
@overload
def days_held(
    bought_on: _Date | _Dates | None,
    held_until: _Date | _Dates | None,
) -> NDArray[Any]: ...
@overload
def days_on_hand(
    inventory: _Number,
    cost_of_goods_sold: _Number,
    days: _Number | None = 365,
) -> float:
    """Days of inventory on hand: how many days the inventory lasts at the pace at which it has
    sold.
    """

@overload
def days_on_hand(
    inventory: _Number | None,
    cost_of_goods_sold: _Number | None,
    days: _Number | None = 365,
) -> float | None: ...
@overload
def days_on_hand(
    inventory: _Number | _Numbers | None,
    cost_of_goods_sold: _Number | _Numbers | None,
    days: _Number | _Numbers | None = 365,
) -> NDArray[Any]: ...
@overload
def draw_remark(
    cash: _Number,
    bills_due: _Number,
    restock_reserve: _Number,
    tax_reserve: _Number | None = 0,
    open_refunds: _Number | None = 0,
) -> str:
    """What uses up the cash before any pay: bills due, open refunds, tax reserve or restock
    reserve, in this order; or that there is cash to take out.
    """

@overload
def draw_remark(
    cash: _Number | None,
    bills_due: _Number | None,
    restock_reserve: _Number | None,
    tax_reserve: _Number | None = 0,
    open_refunds: _Number | None = 0,
) -> str | None: ...
@overload
def draw_remark(
    cash: _Number | _Numbers | None,
    bills_due: _Number | _Numbers | None,
    restock_reserve: _Number | _Numbers | None,
    tax_reserve: _Number | _Numbers | None = 0,
    open_refunds: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
def estimate_bias(
    estimated: _Number | _Numbers | None,
    actual: _Number | _Numbers | None,
    coverage: _Number | None = 0.9,
) -> NDArray[np.object_] | None:
    """How far your estimates of weight or postage were off, and what to add so that most would
    have been enough.
    """

@overload
def estimated_tax(
    tax_this_year: _Number,
    tax_last_year: _Number,
    year: _Number,
    income_last_year: _Number | None = 0,
    figures: _Table | None = None,
) -> float:
    """The minimum to pay during the year, withholding included, to avoid a penalty for paying
    too late. An estimate, not tax advice: have a licensed preparer check.
    """

@overload
def estimated_tax(
    tax_this_year: _Number | None,
    tax_last_year: _Number | None,
    year: _Number | None,
    income_last_year: _Number | None = 0,
    figures: _Table | None = None,
) -> float | None: ...
@overload
def estimated_tax(
    tax_this_year: _Number | _Numbers | None,
    tax_last_year: _Number | _Numbers | None,
    year: _Number | _Numbers | None,
    income_last_year: _Number | _Numbers | None = 0,
    figures: _Table | None = None,
) -> NDArray[Any]: ...
@overload
def fill_in(
    text: _Text | None,
    labels: _Text | _Texts | None,
    values: _Text | _Texts | None,
) -> str | None:
    """A text with its {labels} filled in, such as a description; what is missing is always
    stated.
    """

@overload
def fill_in(
    text: _Text | _Texts | None,
    labels: _Text | _Texts | None,
    values: _Text | _Texts | None,
) -> NDArray[Any]: ...
@overload
def gross_margin_return(
    gross_margin: _Number,
    opening: _Number,
    closing: _Number,
) -> float:
    """Gross margin return on inventory: the gross margin that each 1.00 of inventory at cost
    earned in a period.
    """

@overload
def gross_margin_return(
    gross_margin: _Number | None,
    opening: _Number | None,
    closing: _Number | None,
) -> float | None: ...
@overload
def gross_margin_return(
    gross_margin: _Number | _Numbers | None,
    opening: _Number | _Numbers | None,
    closing: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def growth_odds(
    costs: _Number | _Numbers,
    profits: _Number | _Numbers,
    days: _Number | _Numbers,
    sold_flags: _Flag | _Flags,
    starting_cash: _Number,
    weeks: _Number,
    fixed_costs_week: _Number | None = 0,
    pay_week: _Number | None = 0,
    pay_from_reserve: _Number | None = 0,
    buying_limit_week: _Number | None = None,
    opening_inventory: _Number | None = 0,
    paths: _Number | None = 10000,
    seed: _Number | None = 1,
) -> NDArray[np.object_]:
    """How much money there may be week by week, and the chance that it covers a pay, if
    purchases turn out as your own items did. It reflects your past, not what the market will do.
    """

@overload
def growth_odds(
    costs: _Number | _Numbers | None,
    profits: _Number | _Numbers | None,
    days: _Number | _Numbers | None,
    sold_flags: _Flag | _Flags | None,
    starting_cash: _Number | None,
    weeks: _Number | None,
    fixed_costs_week: _Number | None = 0,
    pay_week: _Number | None = 0,
    pay_from_reserve: _Number | None = 0,
    buying_limit_week: _Number | None = None,
    opening_inventory: _Number | None = 0,
    paths: _Number | None = 10000,
    seed: _Number | None = 1,
) -> NDArray[np.object_] | None: ...
@overload
def growth_path(
    starting_cash: _Number,
    return_rate: _Number,
    days_to_turn: _Number,
    weeks: _Number,
    fixed_costs_week: _Number | None = 0,
    pay_week: _Number | None = 0,
    pay_from_reserve: _Number | None = 0,
    buying_limit_week: _Number | None = None,
    opening_inventory: _Number | None = 0,
) -> NDArray[np.object_]:
    """What starting cash becomes week by week if all inventory earns the same return and sells
    in the same time. Steady averages: real weeks differ, see GROWTH_ODDS.
    """

@overload
def growth_path(
    starting_cash: _Number | None,
    return_rate: _Number | None,
    days_to_turn: _Number | None,
    weeks: _Number | None,
    fixed_costs_week: _Number | None = 0,
    pay_week: _Number | None = 0,
    pay_from_reserve: _Number | None = 0,
    buying_limit_week: _Number | None = None,
    opening_inventory: _Number | None = 0,
) -> NDArray[np.object_] | None: ...
@overload
def home_office_simple(
    square_feet: _Number,
    months: _Number | None = 12,
    year: _Number | None = None,
    figures: _Table | None = None,
) -> float:
    """The home office deduction by the simplified method: a rate for each square foot, up to a
    limit. An estimate, not tax advice: have a licensed preparer check.
    """

@overload
def home_office_simple(
    square_feet: _Number | None,
    months: _Number | None = 12,
    year: _Number | None = None,
    figures: _Table | None = None,
) -> float | None: ...
@overload
def home_office_simple(
    square_feet: _Number | _Numbers | None,
    months: _Number | _Numbers | None = 12,
    year: _Number | _Numbers | None = None,
    figures: _Table | None = None,
) -> NDArray[Any]: ...
@overload
def inventory_for_pay(
    pay: _Number,
    fixed_costs: _Number,
    profit_per_item: _Number,
    sold_rate_per_month: _Number,
    cost_per_item: _Number | None = 0,
) -> NDArray[np.object_]:
    """What a monthly pay requires: items sold per month, items listed, and inventory at cost."""

@overload
def inventory_for_pay(
    pay: _Number | None,
    fixed_costs: _Number | None,
    profit_per_item: _Number | None,
    sold_rate_per_month: _Number | None,
    cost_per_item: _Number | None = 0,
) -> NDArray[np.object_] | None: ...
@overload
def inventory_turnover(
    cost_of_goods_sold: _Number,
    opening: _Number,
    closing: _Number,
) -> float:
    """Inventory turnover: how often the inventory was sold and replaced in a period."""

@overload
def inventory_turnover(
    cost_of_goods_sold: _Number | None,
    opening: _Number | None,
    closing: _Number | None,
) -> float | None: ...
@overload
def inventory_turnover(
    cost_of_goods_sold: _Number | _Numbers | None,
    opening: _Number | _Numbers | None,
    closing: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def landed_cost(
    paid: _Number,
    purchase_tax: _Number | None = 0,
    prep_cost: _Number | None = 0,
    buying_share: _Number | None = 0,
) -> float:
    """What an item costs in all by the time it is ready to list."""

@overload
def landed_cost(
    paid: _Number | None,
    purchase_tax: _Number | None = 0,
    prep_cost: _Number | None = 0,
    buying_share: _Number | None = 0,
) -> float | None: ...
@overload
def landed_cost(
    paid: _Number | _Numbers | None,
    purchase_tax: _Number | _Numbers | None = 0,
    prep_cost: _Number | _Numbers | None = 0,
    buying_share: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def length_girth(
    length: _Number,
    width: _Number,
    height: _Number,
) -> float:
    """Length plus girth of a parcel: its longest side, plus the distance around it."""

@overload
def length_girth(
    length: _Number | None,
    width: _Number | None,
    height: _Number | None,
) -> float | None: ...
@overload
def length_girth(
    length: _Number | _Numbers | None,
    width: _Number | _Numbers | None,
    height: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def lot_share(
    lot_cost: _Number | None,
    values: _Number,
    quantities: _Number | _Numbers | None = None,
) -> float:
    """Splits a lot's cost among its items by their expected price, so that the shares add up to
    the cent.
    """

@overload
def lot_share(
    lot_cost: _Number | None,
    values: _Numbers,
    quantities: _Number | _Numbers | None = None,
) -> NDArray[np.float64]: ...
@overload
def margin_of_safety(
    actual: _Number,
    break_even: _Number,
) -> float:
    """Margin of safety: how far a price, a number of items or sales can fall before there is a
    loss.
    """

@overload
def margin_of_safety(
    actual: _Number | None,
    break_even: _Number | None,
) -> float | None: ...
@overload
def margin_of_safety(
    actual: _Number | _Numbers | None,
    break_even: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def markdown_price(
    asking: _Number,
    days_listed: _Number,
    steps: _Table,
    floor: _Number | None = 0,
) -> float:
    """The price after a number of days by your own markdown steps, not below a floor."""

@overload
def markdown_price(
    asking: _Number | None,
    days_listed: _Number | None,
    steps: _Table | None,
    floor: _Number | None = 0,
) -> float | None: ...
@overload
def markdown_price(
    asking: _Number | _Numbers | None,
    days_listed: _Number | _Numbers | None,
    steps: _Table | None,
    floor: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def markup_rate(
    cost: _Number,
    price: _Number,
) -> float:
    """How far the price is above the cost, as a fraction of the cost."""

@overload
def markup_rate(
    cost: _Number | None,
    price: _Number | None,
) -> float | None: ...
@overload
def markup_rate(
    cost: _Number | _Numbers | None,
    price: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def median_days_to_sell(
    days: _Number | _Numbers | None,
    sold_flags: _Flag | _Flags | None,
    sold_share: _Number | None = 0.5,
) -> float | None:
    """Median days to sell: the days in which half of the items sell, counting those not sold
    yet. Leaving them out would make inventory look faster than it is.
    """

@overload
def median_days_to_sell(
    days: _Number | _Numbers | None,
    sold_flags: _Flag | _Flags | None,
    sold_share: _Number | _Numbers | None = 0.5,
) -> NDArray[Any]: ...
def mileage_deduction(
    dates: _Date | _Dates | None,
    miles: _Number | _Numbers | None,
    rates: _Table | None = None,
) -> float | None:
    """The mileage deduction for business trips, at the standard rate per mile on each trip's
    date. An estimate, not tax advice: have a licensed preparer check.
    """

@overload
def mix_break_even(
    fixed_costs: _Number,
    margins: _Number | _Numbers,
    mix: _Number | _Numbers,
) -> float:
    """Break-even when several kinds of goods sell in a steady mix."""

@overload
def mix_break_even(
    fixed_costs: _Number | None,
    margins: _Number | _Numbers | None,
    mix: _Number | _Numbers | None,
) -> float | None: ...
@overload
def mix_break_even(
    fixed_costs: _Number | _Numbers | None,
    margins: _Number | _Numbers | None,
    mix: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def net_margin(
    net_profit: _Number,
    price: _Number,
    shipping: _Number | None = 0,
) -> float:
    """The share of a sale's income that is profit."""

@overload
def net_margin(
    net_profit: _Number | None,
    price: _Number | None,
    shipping: _Number | None = 0,
) -> float | None: ...
@overload
def net_margin(
    net_profit: _Number | _Numbers | None,
    price: _Number | _Numbers | None,
    shipping: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def net_proceeds(
    price: _Number,
    shipping: _Number,
    fee: _Number,
    postage: _Number,
    packaging: _Number,
    refund: _Number | None = 0,
) -> float:
    """What one sale leaves after fee, postage, packaging and refund, before the item's own cost."""

@overload
def net_proceeds(
    price: _Number | None,
    shipping: _Number | None,
    fee: _Number | None,
    postage: _Number | None,
    packaging: _Number | None,
    refund: _Number | None = 0,
) -> float | None: ...
@overload
def net_proceeds(
    price: _Number | _Numbers | None,
    shipping: _Number | _Numbers | None,
    fee: _Number | _Numbers | None,
    postage: _Number | _Numbers | None,
    packaging: _Number | _Numbers | None,
    refund: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def net_profit(
    price: _Number,
    shipping: _Number,
    fee: _Number,
    postage: _Number,
    packaging: _Number,
    landed_cost: _Number,
    refund: _Number | None = 0,
) -> float:
    """What one sale earns after all its costs, including the item."""

@overload
def net_profit(
    price: _Number | None,
    shipping: _Number | None,
    fee: _Number | None,
    postage: _Number | None,
    packaging: _Number | None,
    landed_cost: _Number | None,
    refund: _Number | None = 0,
) -> float | None: ...
@overload
def net_profit(
    price: _Number | _Numbers | None,
    shipping: _Number | _Numbers | None,
    fee: _Number | _Numbers | None,
    postage: _Number | _Numbers | None,
    packaging: _Number | _Numbers | None,
    landed_cost: _Number | _Numbers | None,
    refund: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def operating_leverage(
    contribution: _Number,
    net_profit: _Number,
) -> float:
    """Operating leverage: how many times faster than sales the profit rises or falls from where
    the business is now.
    """

@overload
def operating_leverage(
    contribution: _Number | None,
    net_profit: _Number | None,
) -> float | None: ...
@overload
def operating_leverage(
    contribution: _Number | _Numbers | None,
    net_profit: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def packed_weight(
    item_weight: _Number,
    box_weight: _Number,
    fill_rate: _Number | None = 0,
    margin: _Number | None = 0,
) -> float:
    """What an item weighs once it is packed: the item, its padding, the box and a margin."""

@overload
def packed_weight(
    item_weight: _Number | None,
    box_weight: _Number | None,
    fill_rate: _Number | None = 0,
    margin: _Number | None = 0,
) -> float | None: ...
@overload
def packed_weight(
    item_weight: _Number | _Numbers | None,
    box_weight: _Number | _Numbers | None,
    fill_rate: _Number | _Numbers | None = 0,
    margin: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def postage_cost(
    weight: _Number,
    zone: _Text,
    table: _Table,
) -> float:
    """What a label costs: looked up by weight and zone in your own price list."""

@overload
def postage_cost(
    weight: _Number | None,
    zone: _Text | None,
    table: _Table | None,
) -> float | None: ...
@overload
def postage_cost(
    weight: _Number | _Numbers | None,
    zone: _Text | _Texts | None,
    table: _Table | None,
) -> NDArray[Any]: ...
@overload
def price_for_profit(
    target_profit: _Number,
    landed_cost: _Number,
    postage: _Number,
    packaging: _Number,
    shipping: _Number,
    rate: _Number,
    per_order: _Number,
    tax_rate: _Number | None = 0,
    band_limit: _Number | None = None,
    rate_above: _Number | None = None,
    ad_rate: _Number | None = 0,
    minimum: _Number | None = 0,
    maximum: _Number | None = None,
) -> float:
    """The price at which a sale earns your target profit."""

@overload
def price_for_profit(
    target_profit: _Number | None,
    landed_cost: _Number | None,
    postage: _Number | None,
    packaging: _Number | None,
    shipping: _Number | None,
    rate: _Number | None,
    per_order: _Number | None,
    tax_rate: _Number | None = 0,
    band_limit: _Number | None = None,
    rate_above: _Number | None = None,
    ad_rate: _Number | None = 0,
    minimum: _Number | None = 0,
    maximum: _Number | None = None,
) -> float | None: ...
@overload
def price_for_profit(
    target_profit: _Number | _Numbers | None,
    landed_cost: _Number | _Numbers | None,
    postage: _Number | _Numbers | None,
    packaging: _Number | _Numbers | None,
    shipping: _Number | _Numbers | None,
    rate: _Number | _Numbers | None,
    per_order: _Number | _Numbers | None,
    tax_rate: _Number | _Numbers | None = 0,
    band_limit: _Number | _Numbers | None = None,
    rate_above: _Number | _Numbers | None = None,
    ad_rate: _Number | _Numbers | None = 0,
    minimum: _Number | _Numbers | None = 0,
    maximum: _Number | _Numbers | None = None,
) -> NDArray[Any]: ...
@overload
def price_with_postage(
    price: _Number,
    shipping: _Number,
    postage: _Number,
    rate: _Number,
    per_order: _Number,
    tax_rate: _Number | None = 0,
) -> float:
    """The price with shipping included that nets the same as price plus shipping charged
    separately.
    """

@overload
def price_with_postage(
    price: _Number | None,
    shipping: _Number | None,
    postage: _Number | None,
    rate: _Number | None,
    per_order: _Number | None,
    tax_rate: _Number | None = 0,
) -> float | None: ...
@overload
def price_with_postage(
    price: _Number | _Numbers | None,
    shipping: _Number | _Numbers | None,
    postage: _Number | _Numbers | None,
    rate: _Number | _Numbers | None,
    per_order: _Number | _Numbers | None,
    tax_rate: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def profit_share(
    profit: _Number | None,
    shares: _Number,
) -> float:
    """Splits a profit or a loss among partners so that the parts add up to it to the cent."""

@overload
def profit_share(
    profit: _Number | None,
    shares: _Numbers,
) -> NDArray[np.float64]: ...
@overload
def receipts_gap(
    reported_gross: _Number,
    price: _Number,
    shipping: _Number,
    tax_collected: _Number,
    refunds: _Number,
) -> NDArray[np.object_]:
    """Compares what a channel reported on Form 1099-K with your own log, and says what may
    explain a gap. An aid to record keeping, not tax advice: have a licensed preparer check.
    """

@overload
def receipts_gap(
    reported_gross: _Number | None,
    price: _Number | None,
    shipping: _Number | None,
    tax_collected: _Number | None,
    refunds: _Number | None,
) -> NDArray[np.object_] | None: ...
@overload
def resale_caution(
    category: _Text | None,
    brief: _Flag | None = False,
) -> str | None:
    """What to check before you resell an item of this category in the US. A reminder, not
    advice: it never clears an item, and local rules come first.
    """

@overload
def resale_caution(
    category: _Text | _Texts | None,
    brief: _Flag | _Flags | None = False,
) -> NDArray[Any]: ...
@overload
def return_on_cost(
    net_profit: _Number,
    landed_cost: _Number,
) -> float:
    """Return on cost: the profit for each 1.00 that an item cost."""

@overload
def return_on_cost(
    net_profit: _Number | None,
    landed_cost: _Number | None,
) -> float | None: ...
@overload
def return_on_cost(
    net_profit: _Number | _Numbers | None,
    landed_cost: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def safe_draw(
    cash: _Number,
    bills_due: _Number,
    restock_reserve: _Number,
    tax_reserve: _Number | None = 0,
    open_refunds: _Number | None = 0,
) -> float:
    """What you can take out as pay today: the cash that is not reserved for bills, refunds,
    taxes or purchases. It knows only the amounts that you enter.
    """

@overload
def safe_draw(
    cash: _Number | None,
    bills_due: _Number | None,
    restock_reserve: _Number | None,
    tax_reserve: _Number | None = 0,
    open_refunds: _Number | None = 0,
) -> float | None: ...
@overload
def safe_draw(
    cash: _Number | _Numbers | None,
    bills_due: _Number | _Numbers | None,
    restock_reserve: _Number | _Numbers | None,
    tax_reserve: _Number | _Numbers | None = 0,
    open_refunds: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def self_employment_tax(
    net_profit: _Number,
    year: _Number,
    wages: _Number | None = 0,
    figures: _Table | None = None,
) -> float:
    """Social security and Medicare tax on the profit of a sole proprietor. An estimate without
    the additional Medicare tax on high earnings, not tax advice: have a licensed preparer check.
    """

@overload
def self_employment_tax(
    net_profit: _Number | None,
    year: _Number | None,
    wages: _Number | None = 0,
    figures: _Table | None = None,
) -> float | None: ...
@overload
def self_employment_tax(
    net_profit: _Number | _Numbers | None,
    year: _Number | _Numbers | None,
    wages: _Number | _Numbers | None = 0,
    figures: _Table | None = None,
) -> NDArray[Any]: ...
@overload
def sell_through(
    sold: _Number,
    offered: _Number,
) -> float:
    """Sell-through: the share of the items offered that sold."""

@overload
def sell_through(
    sold: _Number | None,
    offered: _Number | None,
) -> float | None: ...
@overload
def sell_through(
    sold: _Number | _Numbers | None,
    offered: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def sell_through_floor(
    sold: _Number,
    offered: _Number,
    confidence: _Number | None = 0.95,
) -> float:
    """How low the true sell-through may be, given how few items were counted: 2 of 2 sold says
    less than 80 of 80. Assumes that items sell independently of each other.
    """

@overload
def sell_through_floor(
    sold: _Number | None,
    offered: _Number | None,
    confidence: _Number | None = 0.95,
) -> float | None: ...
@overload
def sell_through_floor(
    sold: _Number | _Numbers | None,
    offered: _Number | _Numbers | None,
    confidence: _Number | _Numbers | None = 0.95,
) -> NDArray[Any]: ...
@overload
def selling_fee(
    price: _Number,
    shipping: _Number,
    rate: _Number,
    per_order: _Number,
    tax_rate: _Number | None = 0,
    band_limit: _Number | None = None,
    rate_above: _Number | None = None,
    minimum: _Number | None = 0,
    maximum: _Number | None = None,
    ad_rate: _Number | None = 0,
) -> float:
    """The channel's fee for one order, rounded once to the cent."""

@overload
def selling_fee(
    price: _Number | None,
    shipping: _Number | None,
    rate: _Number | None,
    per_order: _Number | None,
    tax_rate: _Number | None = 0,
    band_limit: _Number | None = None,
    rate_above: _Number | None = None,
    minimum: _Number | None = 0,
    maximum: _Number | None = None,
    ad_rate: _Number | None = 0,
) -> float | None: ...
@overload
def selling_fee(
    price: _Number | _Numbers | None,
    shipping: _Number | _Numbers | None,
    rate: _Number | _Numbers | None,
    per_order: _Number | _Numbers | None,
    tax_rate: _Number | _Numbers | None = 0,
    band_limit: _Number | _Numbers | None = None,
    rate_above: _Number | _Numbers | None = None,
    minimum: _Number | _Numbers | None = 0,
    maximum: _Number | _Numbers | None = None,
    ad_rate: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def sold_by_chance(
    days: _Number | _Numbers,
    sold_flags: _Flag | _Flags,
    horizon: _Number,
) -> float:
    """The chance that an item like yours sells within a number of days, counting items that have
    not sold yet.
    """

@overload
def sold_by_chance(
    days: _Number | _Numbers | None,
    sold_flags: _Flag | _Flags | None,
    horizon: _Number | None,
) -> float | None: ...
@overload
def sold_by_chance(
    days: _Number | _Numbers | None,
    sold_flags: _Flag | _Flags | None,
    horizon: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def tax_set_aside(
    net_profit: _Number,
    year: _Number,
    income_tax_rate: _Number,
    wages: _Number | None = 0,
    already_paid: _Number | None = 0,
    figures: _Table | None = None,
    due_dates: _Table | None = None,
) -> NDArray[np.object_]:
    """What to set aside for income and self-employment tax, and how much of each estimated
    payment is still due. An estimate, not tax advice: have a licensed preparer check.
    """

@overload
def tax_set_aside(
    net_profit: _Number | None,
    year: _Number | None,
    income_tax_rate: _Number | None,
    wages: _Number | None = 0,
    already_paid: _Number | None = 0,
    figures: _Table | None = None,
    due_dates: _Table | None = None,
) -> NDArray[np.object_] | None: ...
@overload
def title_pack(
    keywords: _Text | _Texts,
    weights: _Number | _Numbers,
    limit: _Number,
) -> str:
    """The best title from your keywords: the set with the highest total weight that fits."""

@overload
def title_pack(
    keywords: _Text | _Texts | None,
    weights: _Number | _Numbers | None,
    limit: _Number | None,
) -> str | None: ...
@overload
def title_pack(
    keywords: _Text | _Texts | None,
    weights: _Number | _Numbers | None,
    limit: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def title_remarks(
    title: _Text,
    limit: _Number,
    filler_words: _Text | _Texts | None = "",
) -> str:
    """What to improve in a title: length, filler words, repeats, capitals, symbols, spaces, room
    left.
    """

@overload
def title_remarks(
    title: _Text | None,
    limit: _Number | None,
    filler_words: _Text | _Texts | None = "",
) -> str | None: ...
@overload
def title_remarks(
    title: _Text | _Texts | None,
    limit: _Number | _Numbers | None,
    filler_words: _Text | _Texts | None = "",
) -> NDArray[Any]: ...
@overload
def title_room(
    title: _Text,
    limit: _Number,
) -> float:
    """How many characters a title still has room for; below 0 if it is too long."""

@overload
def title_room(
    title: _Text | None,
    limit: _Number | None,
) -> float | None: ...
@overload
def title_room(
    title: _Text | _Texts | None,
    limit: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def units_for_profit(
    fixed_costs: _Number,
    target_profit: _Number,
    price: _Number,
    variable_cost: _Number,
) -> float:
    """How many items must be sold to cover the fixed costs and earn a target profit, such as
    your pay.
    """

@overload
def units_for_profit(
    fixed_costs: _Number | None,
    target_profit: _Number | None,
    price: _Number | None,
    variable_cost: _Number | None,
) -> float | None: ...
@overload
def units_for_profit(
    fixed_costs: _Number | _Numbers | None,
    target_profit: _Number | _Numbers | None,
    price: _Number | _Numbers | None,
    variable_cost: _Number | _Numbers | None,
) -> NDArray[Any]: ...
@overload
def weeks_to_pay(
    starting_cash: _Number,
    return_rate: _Number,
    days_to_turn: _Number,
    weeks: _Number,
    fixed_costs_week: _Number,
    pay_week: _Number,
    pay_from_reserve: _Number | None = 0,
    buying_limit_week: _Number | None = None,
    opening_inventory: _Number | None = 0,
) -> float:
    """The first week from which GROWTH_PATH covers the full pay in every week to the end. Steady
    averages: your own weeks will differ.
    """

@overload
def weeks_to_pay(
    starting_cash: _Number | None,
    return_rate: _Number | None,
    days_to_turn: _Number | None,
    weeks: _Number | None,
    fixed_costs_week: _Number | None,
    pay_week: _Number | None,
    pay_from_reserve: _Number | None = 0,
    buying_limit_week: _Number | None = None,
    opening_inventory: _Number | None = 0,
) -> float | None: ...
@overload
def weeks_to_pay(
    starting_cash: _Number | _Numbers | None,
    return_rate: _Number | _Numbers | None,
    days_to_turn: _Number | _Numbers | None,
    weeks: _Number | _Numbers | None,
    fixed_costs_week: _Number | _Numbers | None,
    pay_week: _Number | _Numbers | None,
    pay_from_reserve: _Number | _Numbers | None = 0,
    buying_limit_week: _Number | _Numbers | None = None,
    opening_inventory: _Number | _Numbers | None = 0,
) -> NDArray[Any]: ...
@overload
def year_totals(
    year: _Number,
    dates: _Date | _Dates,
    amounts: _Number | _Numbers,
    lines: _Text | _Texts,
) -> NDArray[np.object_]:
    """The total of each line of a tax form from your dated rows, for one year. An aid to record
    keeping, not tax advice: have a licensed preparer check.
    """

@overload
def year_totals(
    year: _Number | None,
    dates: _Date | _Dates | None,
    amounts: _Number | _Numbers | None,
    lines: _Text | _Texts | None,
) -> NDArray[np.object_] | None: ...
