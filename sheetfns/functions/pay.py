"""What may be taken out as pay, and how much must be sold before the business covers it."""

from __future__ import annotations

from typing import Final

import numpy as np

from sheetfns.cell_types import Cost, Factor, Money, Monies, Number, Quantities, Quantity, Rate, Rows, Text
from sheetfns.errors import DIVISION, NUMBER, VALUE, row_by_row
from sheetfns.money import PART_DIGITS
from sheetfns.refusals import Refusal, divides_by
from sheetfns.registry import worksheet

_NO_CONTRIBUTION: Final = Refusal(
    "{price}<={variable_cost}",
    NUMBER,
    "price: is not above variable_cost, so more sales cannot cover fixed costs; check both",
)


@worksheet("Pay", formula="={price}-{variable_cost}")
def contribution_margin(price: Cost, variable_cost: Cost) -> Money:
    """Contribution margin: what one sale leaves toward fixed costs and profit.

    Args:
        price: the selling price of one item, in money.
        variable_cost: what one more sale costs: item, fee, postage and packaging, in money.
    Returns: money, not rounded; below 0 if each sale loses money.
    Errors: #NUM!: an amount below 0. #VALUE!: text instead of a number. #N/A: a required cell is blank.
    Formula: price - variable_cost
    Source: Saylor Academy (2012), Managerial Accounting, 6.1
    Examples:
        >>> contribution_margin(250, 150)
        100.0
        >>> contribution_margin(10, 12)
        -2.0
    """
    return price - variable_cost


@worksheet("Pay", formula="={fixed_costs}/({price}-{variable_cost})", refuse=[_NO_CONTRIBUTION])
def break_even_units(fixed_costs: Cost, price: Cost, variable_cost: Cost) -> Quantity:
    """Break-even in items: how many must be sold to cover the fixed costs.

    Args:
        fixed_costs: costs of the period that do not depend on sales, in money.
        as in CONTRIBUTION_MARGIN: price, variable_cost.
    Returns: items, the exact quotient; round it up to whole items.
    Errors: #NUM!: price is not above variable_cost, or a figure is below 0. #VALUE!: text instead of a number. #N/A: a required cell is blank.
    Formula: fixed_costs / (price - variable_cost)
    Source: Saylor Academy (2012), Managerial Accounting, 6.1
    Examples:
        >>> break_even_units(50000, 250, 150)
        500.0
        >>> break_even_units(0, 250, 150)
        0.0
    """
    return fixed_costs / (price - variable_cost)


@worksheet(
    "Pay",
    formula="={fixed_costs}/{margin_ratio}",
    refuse=[
        Refusal(
            "{margin_ratio}=0", NUMBER, "margin_ratio: must be above 0, or sales cannot cover fixed costs; check it"
        )
    ],
)
def break_even_sales(fixed_costs: Cost, margin_ratio: Rate) -> Money:
    """Break-even in sales: what sales must bring in to cover the fixed costs.

    Args:
        fixed_costs: costs of the period that do not depend on sales, in money.
        margin_ratio: the contribution margin as a fraction or percentage of sales, above 0.
    Returns: money, the exact quotient.
    Errors: #NUM!: margin_ratio is 0 or less, or over 100%, or fixed_costs is below 0. #VALUE!: text instead of a number. #N/A: a required cell is blank.
    Formula: fixed_costs / margin_ratio
    Source: Saylor Academy (2012), Managerial Accounting, 6.1
    Examples:
        >>> break_even_sales(50000, 0.4)
        125000.0
        >>> break_even_sales(0, 0.4)
        0.0
    """
    return fixed_costs / margin_ratio


@worksheet("Pay", formula="=({fixed_costs}+{target_profit})/({price}-{variable_cost})", refuse=[_NO_CONTRIBUTION])
def units_for_profit(fixed_costs: Cost, target_profit: Cost, price: Cost, variable_cost: Cost) -> Quantity:
    """How many items must be sold to cover the fixed costs and earn a target profit, such as your pay.

    Args:
        target_profit: your target profit for the period, before income tax, in money.
        as in BREAK_EVEN_UNITS: fixed_costs, price, variable_cost.
    Returns: items, the exact quotient; round it up to whole items.
    Errors: #NUM!: price is not above variable_cost, or a figure is below 0. #VALUE!: text instead of a number. #N/A: a required cell is blank.
    Formula: (fixed_costs + target_profit) / (price - variable_cost)
    Source: Saylor Academy (2012), Managerial Accounting, 6.1
    Examples:
        >>> units_for_profit(50000, 30000, 250, 150)
        800.0
        >>> units_for_profit(0, 0, 250, 150)
        0.0
    """
    return (fixed_costs + target_profit) / (price - variable_cost)


@worksheet(
    "Pay",
    formula="={fixed_costs}*SUM({mix})/SUMPRODUCT({margins},{mix})",
    refuse=[
        Refusal(
            "ROWS({margins})*COLUMNS({margins})<>ROWS({mix})*COLUMNS({mix})",
            VALUE,
            "mix and margins differ in size: {ROWS(mix)*COLUMNS(mix)} and {ROWS(margins)*COLUMNS(margins)}; give ranges "
            "of the same size",
        ),
        Refusal(
            'SUMPRODUCT((({margins}<>"")-({mix}<>""))^2)>0',
            VALUE,
            "mix: a margin without a share, or a share without a margin; fill both in",
        ),
        Refusal("SUM({mix})=0", DIVISION, "mix: adds up to 0; give each kind its share"),
        Refusal(
            "SUMPRODUCT({margins},{mix})<=0",
            NUMBER,
            "margins: the mix earns nothing, so sales cannot cover fixed costs; check margins and mix",
        ),
    ],
)
def mix_break_even(fixed_costs: Cost, margins: Monies, mix: Quantities) -> Quantity:
    """Break-even when several kinds of goods sell in a steady mix.

    Args:
        fixed_costs: costs of the period that do not depend on sales, in money.
        margins: a whole range: contribution margin of each kind, in money per item, or as a fraction of its sales.
        mix: a whole range of the same size: share of each kind: of the items if margins are per item, of the sales if they are fractions.
    Returns: all items together (margins per item), or all sales in money (margins as fractions); each kind has its share of it.
    Shape: fixed_costs cell by cell; margins and mix are whole ranges.
    Errors: #NUM!: the weighted margin is not above 0. #DIV/0!: the mix adds up to 0. #VALUE!: ranges of different sizes, text. #N/A: a required cell is blank.
    Formula: fixed_costs / (sum of margin x share), shares being mix / sum of mix
    Source: Saylor Academy (2012), Managerial Accounting, 6.2
    Examples:
        >>> mix_break_even(24000, [400, 150], [0.6, 0.4])
        80.0
        >>> mix_break_even(120000, [0.70, 0.20, 0.50], [100000, 150000, 250000]).__round__(2)
        266666.67
    """
    weighted = float(np.nansum(margins * mix) / np.nansum(mix))
    return fixed_costs / weighted


@worksheet(
    "Pay",
    formula="={contribution}/{net_profit}",
    refuse=[divides_by("{net_profit}", "net_profit: is 0; at break-even there is no leverage")],
)
def operating_leverage(contribution: Money, net_profit: Money) -> Factor:
    """Operating leverage: how many times faster than sales the profit rises or falls from where the business is now.

    Args:
        contribution: the contribution margin of the period, in money.
        net_profit: the profit of the period after fixed costs, in money, not 0.
    Returns: a factor: 3 means that 10% more sales bring 30% more profit.
    Errors: #DIV/0!: net_profit is 0 (at break-even every change is infinite). #VALUE!: text instead of a number. #N/A: a required cell is blank.
    Formula: contribution / net_profit
    Source: definition (degree of operating leverage)
    Examples:
        >>> operating_leverage(80000, 30000).__round__(4)
        2.6667
        >>> operating_leverage(100, -50)
        -2.0
    """
    return contribution / net_profit


@worksheet("Pay", formula="=MAX(0,{cash}-{bills_due}-{restock_reserve}-{tax_reserve}-{open_refunds})")
def safe_draw(
    cash: Money, bills_due: Cost, restock_reserve: Cost, tax_reserve: Cost = 0, open_refunds: Cost = 0
) -> Money:
    """What you can take out as pay today: the cash that is not reserved for bills, refunds, taxes or purchases. It knows only the amounts that you enter.

    Args:
        cash: what the business has in cash and in the bank today, in money; below 0 if overdrawn.
        bills_due: bills that must be paid from it, in money.
        restock_reserve: what is reserved for the next purchases, in money.
        tax_reserve: what is reserved for taxes, in money; 0 if left out. Ask a licensed preparer how much that should be.
        open_refunds: refunds that you have promised or may still have to pay, in money; 0 if left out.
    Returns: money, not rounded; 0 if all the cash is reserved.
    Errors: #NUM!: a reserved amount below 0. #VALUE!: text instead of a number. #N/A: a required amount is blank.
    Formula: the higher of 0 and cash - bills_due - restock_reserve - tax_reserve - open_refunds
    Source: definition
    Examples:
        >>> safe_draw(2000, 350, 800, 400, 50)
        400.0
        >>> safe_draw(900, 350, 800)
        0.0
    """
    left = cash - bills_due - restock_reserve - tax_reserve - open_refunds
    drawable: Number = np.maximum(left, 0)
    return drawable


NO_CASH: Final = "nothing: there is no cash"
FREE: Final = "free after bills, refunds, tax and restock reserve"
CLAIMS: Final = (
    "nothing: bills due take all the cash",
    "nothing: open refunds take the rest of the cash",
    "nothing: the rest goes to the tax reserve",
    "nothing: the rest goes to the restock reserve",
)


def _remark_formula() -> str:
    """The remarks in their order, each with what is left after its claim."""
    left, text, brackets = "{cash}", "=", ""
    claims = ("", "{bills_due}", "{open_refunds}", "{tax_reserve}", "{restock_reserve}")
    for claim, remark in zip(claims, (NO_CASH, *CLAIMS), strict=True):
        left += f"-{claim}" if claim else ""
        text += f'IF(ROUND({left},{PART_DIGITS})<=0,"{remark}",'
        brackets += ")"
    return f'{text}"{FREE}"{brackets}'


@worksheet("Pay", formula=_remark_formula())
def draw_remark(
    cash: Money, bills_due: Cost, restock_reserve: Cost, tax_reserve: Cost = 0, open_refunds: Cost = 0
) -> Text:
    """What uses up the cash before any pay: bills due, open refunds, tax reserve or restock reserve, in this order; or that there is cash to take out.

    Args:
        tax_reserve: what is reserved for taxes, in money; 0 if left out.
        as in SAFE_DRAW: cash, bills_due, restock_reserve, open_refunds.
    Returns: text.
    Errors: #NUM!: a reserved amount below 0. #VALUE!: text instead of a number. #N/A: a required amount is blank.
    Formula: the first amount at which the sum of bills_due, open_refunds, tax_reserve and
        restock_reserve reaches the cash; "nothing: there is no cash" where cash is 0 or less
    Source: definition; the order is common practice, no source
    Examples:
        >>> draw_remark(2000, 350, 800, 400, 50)
        'free after bills, refunds, tax and restock reserve'
        >>> draw_remark(900, 350, 800)
        'nothing: the rest goes to the restock reserve'
    """
    return row_by_row(_binding_claim, cash, bills_due, open_refunds, tax_reserve, restock_reserve)


def _binding_claim(cash: float, *claims: float) -> str:
    left = round(cash, PART_DIGITS)
    if left <= 0:
        return NO_CASH
    for claim, remark in zip(claims, CLAIMS, strict=True):
        # 0.3 - 0.1 - 0.2 is not 0 in binary.
        left = round(left - claim, PART_DIGITS)
        if left <= 0:
            return remark
    return FREE


@worksheet(
    "Pay",
    refuse=[
        Refusal(
            "{profit_per_item}<=0",
            NUMBER,
            "profit_per_item: must be above 0, or no number of sales covers a pay; raise prices or lower costs first",
        ),
        Refusal(
            "{sold_rate_per_month}=0",
            NUMBER,
            "sold_rate_per_month: is 0, so no inventory is large enough; write the share that sells in a month, such as 20%",
        ),
    ],
)
def inventory_for_pay(
    pay: Cost, fixed_costs: Cost, profit_per_item: Money, sold_rate_per_month: Rate, cost_per_item: Cost = 0
) -> Rows:
    """What a monthly pay requires: items sold per month, items listed, and inventory at cost.

    Args:
        pay: your target pay per month, in money.
        fixed_costs: monthly costs that do not depend on sales, in money.
        profit_per_item: what one sale leaves on average before fixed costs, see NET_PROFIT, in money, above 0.
        sold_rate_per_month: the share of the listed items that sells within a month, a fraction or percentage, above 0.
        cost_per_item: what one item costs on average, see LANDED_COST, in money; 0 if left out.
    Returns: a row of three: items to sell in a month; items to keep listed; their cost, in money.
        Exact quotients; round them up to whole items.
    Shape: single cells in, one row of three cells out.
    Errors: #NUM!: profit_per_item or sold_rate_per_month not above 0, or a figure below 0. #VALUE!: text instead of a number. #N/A: a required cell is blank.
    Formula: sold = (pay + fixed_costs) / profit_per_item; listed = sold / sold_rate_per_month;
        listed x cost_per_item
    Source: definition; averages of your own past; the next month may differ
    Examples:
        >>> inventory_for_pay(450, 60, 12, 0.25, 8).tolist()
        [[42.5, 170.0, 1360.0]]
        >>> inventory_for_pay(450, 0, 15, 0.5).tolist()
        [[30.0, 60.0, 0.0]]
    """
    with np.errstate(all="ignore"):
        sold = float(np.divide(pay + fixed_costs, profit_per_item))
        listed = float(np.divide(sold, sold_rate_per_month))
    return [[sold, listed, listed * float(cost_per_item)]]
