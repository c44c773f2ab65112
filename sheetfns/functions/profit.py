"""What one item costs, what its sale leaves and earns, and its break-even price."""

from __future__ import annotations

import numpy as np

from sheetfns.cell_types import Cost, Money, Number, Rate, Ratio
from sheetfns.errors import NUMBER, refuse_where
from sheetfns.functions.fees import BAND_LIMIT, FEE_TERMS, NO_LIMIT, NOT_GIVEN, RATE_ABOVE
from sheetfns.refusals import Refusal, divides_by
from sheetfns.registry import worksheet

_FIRST_BAND_SHARE = "(1-{rate}*(1+{tax_rate})-{ad_rate})"
_COSTS = "({landed_cost}+{postage}+{packaging}+{per_order})"
_SECOND_BAND_SHARE = f"(1-{RATE_ABOVE}*(1+{{tax_rate}})-{{ad_rate}})"
# Where no price is enough the divisor is 0 and the cell shows an error, unless a maximum fee ends it.
_INCOME_FOR_PROFIT = (
    f"IF({{costs}}*(1+{{tax_rate}})<={BAND_LIMIT}*{_FIRST_BAND_SHARE},"
    f"{{costs}}/{_FIRST_BAND_SHARE},"
    f'({{costs}}+({{rate}}-{RATE_ABOVE})*IF({{band_limit}}="",0,{{band_limit}}))'
    f'/MAX(IF({{maximum}}="",0,1E-15),({{band_limit}}<>"")*{_SECOND_BAND_SHARE}))'
)


def _price_formula(costs: str) -> str:
    """The price that leaves nothing over `costs`, between what minimum and maximum fee allow."""
    income = _INCOME_FOR_PROFIT.replace("{costs}", costs)
    outlay = costs.replace("+{per_order}", "")
    capped = f'MIN({income},IF({{maximum}}="",1E+15,{outlay}+{{maximum}}))'
    return f"=MAX(0,MAX({outlay}+{{minimum}},{capped})-{{shipping}})"


@worksheet("Profit", formula="={paid}+{purchase_tax}+{prep_cost}+{buying_share}")
def landed_cost(paid: Cost, purchase_tax: Cost = 0, prep_cost: Cost = 0, buying_share: Cost = 0) -> Money:
    """What an item costs in all by the time it is ready to list.

    Args:
        paid: what you paid for the item, in money; 0 if it was free.
        purchase_tax: sales tax that you paid on it, in money.
        prep_cost: cleaning, parts, batteries and the like, in money.
        buying_share: its share of a lot's cost or of a buying trip's costs, in money.
    Returns: money, not rounded.
    Errors: #NUM!: an amount below 0. #VALUE!: text instead of a number. Blank while paid is blank: write 0 if it was free.
    Formula: paid + purchase_tax + prep_cost + buying_share
    Source: definition (cost of acquiring goods and getting them ready for sale)
    Examples:
        >>> landed_cost(8, 0.56, 1.50)
        10.06
        >>> landed_cost(0, buying_share=3.35)
        3.35
    """
    return paid + purchase_tax + prep_cost + buying_share


@worksheet("Profit", formula="={price}+{shipping}-{fee}-{postage}-{packaging}-{refund}")
def net_proceeds(price: Cost, shipping: Cost, fee: Cost, postage: Cost, packaging: Cost, refund: Cost = 0) -> Money:
    """What one sale leaves after fee, postage, packaging and refund, before the item's own cost.

    Args:
        price: what the buyer paid for the item, without sales tax, in money.
        shipping: what the buyer paid for postage, in money.
        fee: the channel's fee, in money.
        postage: what the label cost you, in money.
        packaging: box, tape and padding, in money.
        refund: what you paid back to the buyer, without sales tax, in money.
    Returns: money, not rounded; below 0 if the sale cost more than it brought in.
    Errors: #NUM!: an amount below 0. #VALUE!: text instead of a number. #N/A: a required amount is blank.
    Formula: price + shipping - fee - postage - packaging - refund
    Source: definition
    Examples:
        >>> net_proceeds(25, 4, 3.50, 4.25, 0.75)
        20.5
        >>> net_proceeds(25, 4, 0.50, 4.25, 0.75, refund=29)
        -5.5
    """
    return price + shipping - fee - postage - packaging - refund


@worksheet("Profit", formula="={price}+{shipping}-{fee}-{postage}-{packaging}-{landed_cost}-{refund}")
def net_profit(
    price: Cost, shipping: Cost, fee: Cost, postage: Cost, packaging: Cost, landed_cost: Cost, refund: Cost = 0
) -> Money:
    """What one sale earns after all its costs, including the item.

    Args:
        landed_cost: what the item cost in all, see LANDED_COST, in money.
        as in NET_PROCEEDS: price, shipping, fee, postage, packaging, refund.
    Returns: money, not rounded; below 0 for a loss.
    Errors: #NUM!: an amount below 0. #VALUE!: text instead of a number. #N/A: a required amount is blank.
    Formula: price + shipping - fee - postage - packaging - landed_cost - refund
    Source: definition
    Examples:
        >>> net_profit(25, 4, 3.50, 4.25, 0.75, 8)
        12.5
        >>> net_profit([25, 30], 4, 3.50, 4.25, 0.75, 8).tolist()
        [12.5, 17.5]
    """
    return price + shipping - fee - postage - packaging - landed_cost - refund


@worksheet(
    "Profit",
    formula="={net_profit}/({price}+{shipping})",
    refuse=[divides_by("{price}+{shipping}", "price: with no income there is no margin; check the price and shipping")],
)
def net_margin(net_profit: Money, price: Cost, shipping: Cost = 0) -> Ratio:
    """The share of a sale's income that is profit.

    Args:
        net_profit: see NET_PROFIT, in money.
        price: what the buyer paid for the item, in money.
        shipping: what the buyer paid for postage, in money.
    Returns: a fraction: 0.25 is 25%; below 0 for a loss.
    Errors: #DIV/0!: price and shipping are both 0. #NUM!: price or shipping below 0. #N/A: a required cell is blank.
    Formula: net_profit / (price + shipping)
    Source: definition
    Examples:
        >>> net_margin(12.5, 46, 4)
        0.25
        >>> net_margin(-5, 50)
        -0.1
    """
    return net_profit / (price + shipping)


@worksheet(
    "Profit",
    formula="={net_profit}/{landed_cost}",
    refuse=[
        divides_by("{landed_cost}", "landed_cost: an item that cost nothing has no return on cost; see its profit")
    ],
)
def return_on_cost(net_profit: Money, landed_cost: Cost) -> Ratio:
    """Return on cost: the profit for each 1.00 that an item cost.

    Args:
        net_profit: see NET_PROFIT, in money.
        landed_cost: what the item cost, in money, above 0.
    Returns: a fraction: 1.5 means that an item that cost 10.00 earned 15.00.
    Errors: #DIV/0!: landed_cost is 0. #NUM!: landed_cost below 0. #N/A: a required cell is blank.
    Formula: net_profit / landed_cost
    Source: definition
    Examples:
        >>> return_on_cost(12, 8)
        1.5
        >>> return_on_cost(-4, 8)
        -0.5
    """
    return net_profit / landed_cost


@worksheet(
    "Profit",
    formula="=({price}-{cost})/{cost}",
    refuse=[divides_by("{cost}", "cost: an item that cost nothing has no markup; see its profit")],
)
def markup_rate(cost: Cost, price: Cost) -> Ratio:
    """How far the price is above the cost, as a fraction of the cost.

    Args:
        cost: what the item cost, in money, above 0.
        price: the price, in money.
    Returns: a fraction of the cost: 0.18 is 18%; below 0 if the price is under the cost.
    Errors: #DIV/0!: cost is 0. #NUM!: an amount below 0. #N/A: a required cell is blank.
    Formula: (price - cost) / cost
    Source: definition; a margin of m is a markup of m / (1 - m)
    Examples:
        >>> markup_rate(100, 118)
        0.18
        >>> markup_rate(50, 100)
        1.0
    """
    return (price - cost) / cost


def _price_over_costs(
    outlay: Number,
    shipping: Number,
    rate: Number,
    per_order: Number,
    tax_rate: Number,
    band_limit: Number,
    rate_above: Number,
    ad_rate: Number,
    minimum: Number,
    maximum: Number,
) -> Number:
    """The price at which income less the unrounded fee equals `outlay`.

    The fee is the minimum, the maximum or the sum of two bands; income less each of these rises with income,
    so the price is the larger of the first and the smaller of the other two.
    """
    banded = band_limit < NO_LIMIT
    upper_rate = np.where(banded, rate_above, 0.0)
    limit = np.where(banded, band_limit, 0.0)
    kept = 1 - rate * (1 + tax_rate) - ad_rate
    kept_above = 1 - upper_rate * (1 + tax_rate) - ad_rate
    costs = outlay + per_order
    income = costs / np.where(kept > 0, kept, np.nan)
    income_over = (costs + (rate - upper_rate) * limit) / np.where(kept_above > 0, kept_above, np.nan)
    over = banded & ~(income * (1 + tax_rate) <= band_limit)
    summed = np.where(over, income_over, income)
    refuse_where(
        np.isnan(summed) & ~np.isnan(costs) & ~(maximum < NO_LIMIT),
        NUMBER,
        "rate: fee and advertising take the whole sale, so no price breaks even; check the rates",
    )
    summed = np.where(np.isnan(summed), NO_LIMIT, summed)
    income = np.maximum(outlay + minimum, np.minimum(summed, outlay + maximum))
    return np.maximum(income - shipping, 0)


@worksheet("Profit", formula=_price_formula(_COSTS), refuse=FEE_TERMS, formula_error=NUMBER)
def break_even_price(
    landed_cost: Cost,
    postage: Cost,
    packaging: Cost,
    shipping: Cost,
    rate: Rate,
    per_order: Cost,
    tax_rate: Rate = 0,
    band_limit: Cost = NO_LIMIT,
    rate_above: Rate = NOT_GIVEN,
    ad_rate: Rate = 0,
    minimum: Cost = 0,
    maximum: Cost = NO_LIMIT,
) -> Money:
    """The price at which a sale makes neither profit nor loss.

    Args:
        landed_cost: what the item cost, in money.
        postage: what the label costs you, in money.
        packaging: box, tape and padding, in money.
        as in SELLING_FEE: shipping, rate, per_order, tax_rate, band_limit, rate_above, ad_rate, minimum, maximum.
    Returns: money, exact, not rounded, never below 0; round it up for your asking price.
    Errors: #NUM!: a figure below 0, a rate over 100%, fees that take the whole sale, minimum over maximum. #N/A: a required cell is blank. #VALUE!: text instead of a number.
    Formula: (landed_cost + postage + packaging + per_order) / (1 - rate x (1 + tax_rate) - ad_rate) - shipping,
        and the same over band_limit with rate_above on the part over it
    Source: definition (the price at which SELLING_FEE and costs use up the income)
    Examples:
        >>> break_even_price(8, 4.25, 0.75, 4, 0.10, 0.50)
        11.0
        >>> break_even_price(0, 0, 0, 10, 0.10, 0.50)
        0.0
    """
    outlay = landed_cost + postage + packaging
    return _price_over_costs(
        outlay, shipping, rate, per_order, tax_rate, band_limit, rate_above, ad_rate, minimum, maximum
    )


@worksheet(
    "Profit",
    formula=_price_formula(_COSTS.replace("(", "({target_profit}+", 1)),
    refuse=FEE_TERMS,
    formula_error=NUMBER,
)
def price_for_profit(
    target_profit: Cost,
    landed_cost: Cost,
    postage: Cost,
    packaging: Cost,
    shipping: Cost,
    rate: Rate,
    per_order: Cost,
    tax_rate: Rate = 0,
    band_limit: Cost = NO_LIMIT,
    rate_above: Rate = NOT_GIVEN,
    ad_rate: Rate = 0,
    minimum: Cost = 0,
    maximum: Cost = NO_LIMIT,
) -> Money:
    """The price at which a sale earns your target profit.

    Args:
        target_profit: your target profit from this item, in money.
        as in BREAK_EVEN_PRICE: landed_cost, postage, packaging, shipping, rate, per_order, tax_rate, band_limit,
            rate_above, ad_rate, minimum, maximum.
    Returns: money, exact, not rounded, never below 0; round it up for your asking price.
    Errors: #NUM!: a figure below 0, a rate over 100%, fees that take the whole sale, minimum over maximum. #N/A: a required cell is blank. #VALUE!: text instead of a number.
    Formula: as BREAK_EVEN_PRICE with target_profit added to the costs
    Source: definition
    Examples:
        >>> price_for_profit(9, 8, 4.25, 0.75, 4, 0.10, 0.50)
        21.0
        >>> price_for_profit(0, 8, 4.25, 0.75, 4, 0.10, 0.50)
        11.0
    """
    outlay = target_profit + landed_cost + postage + packaging
    return _price_over_costs(
        outlay, shipping, rate, per_order, tax_rate, band_limit, rate_above, ad_rate, minimum, maximum
    )


@worksheet(
    "Profit",
    formula="={price}+{shipping}",
    refuse=[Refusal("{rate}*(1+{tax_rate})>=1", NUMBER, "rate: the fee takes the whole sale; check the rates")],
)
def price_with_postage(
    price: Cost, shipping: Cost, postage: Cost, rate: Rate, per_order: Cost, tax_rate: Rate = 0
) -> Money:
    """The price with shipping included that nets the same as price plus shipping charged separately.

    Args:
        price: the price when the buyer pays shipping, in money.
        shipping: what the buyer then pays for shipping, in money.
        postage: what the label costs you in either case, in money.
        as in SELLING_FEE: rate, per_order, tax_rate.
    Returns: money, exact. As the fee is taken on price and shipping together, it is price + shipping
        at every rate: the fee and the label cost the same, and so does the net.
    Errors: #NUM!: a figure below 0, a rate over 100%, or a fee that takes the whole sale. #N/A: a required cell is blank. #VALUE!: text instead of a number.
    Formula: the x for which x - fee(x) - postage = price + shipping - fee(price + shipping) - postage,
        fee(x) = x (1 + tax_rate) rate + per_order; its solution is price + shipping
    Source: definition
    Examples:
        >>> price_with_postage(21, 4.50, 4.25, 0.13, 0.40, 0.08)
        25.5
        >>> price_with_postage(21, 0, 4.25, 0.13, 0.40)
        21.0
    """
    return price + shipping


@worksheet(
    "Profit",
    formula="=({actual}-{break_even})/{actual}",
    refuse=[divides_by("{actual}", "actual: is 0, so nothing can fall; enter what you plan or sold")],
)
def margin_of_safety(actual: Cost, break_even: Cost) -> Ratio:
    """Margin of safety: how far a price, a number of items or sales can fall before there is a loss.

    Args:
        actual: the price, items or sales that you have or plan, above 0.
        break_even: the same at break-even, in the same unit.
    Returns: a fraction of actual: 0.3 means it can fall by 30%; below 0 means a loss already.
    Errors: #DIV/0!: actual is 0. #NUM!: a figure below 0. #N/A: a required cell is blank. #VALUE!: text instead of a number.
    Formula: (actual - break_even) / actual
    Source: Saylor Academy (2012), Managerial Accounting, 6.1
    Examples:
        >>> margin_of_safety(20, 14)
        0.3
        >>> margin_of_safety(10, 12.5)
        -0.25
    """
    return (actual - break_even) / actual
