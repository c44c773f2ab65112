"""Sheet Settings: the single figures and words."""

from __future__ import annotations

from dataclasses import replace

from sheetfns.cell_types import COST, COUNT, DATE, DAYS, FACTOR, MONEY, RATE, RATIO, TEXT, WEIGHT
from sheetfns.functions.comps import LEAST_SPREAD, SPREAD_SCALE, WILD_DISTANCE
from sheetfns.functions.growth import LEAST_PATHS, MOST_PATHS
from sheetfns.log.model.sheets import Setting
from sheetfns.log.sheets.columns import inventory_before
from sheetfns.log.sheets.settings.period import FROM_FORMULA, UNTIL_FORMULA
from sheetfns.log.sheets.tax_rules.layout import TAX_RULES_NAMES
from sheetfns.log.sheets.words import BY_DAY, BY_PROFIT, LENGTH_UNITS, NO, WEIGHT_UNITS, YES


def settings() -> tuple[Setting, ...]:
    """The single figures and words."""
    # fmt: off
    return (
        Setting("Shop_name", "Shop name", TEXT, "", "Your own; shown on Year end."),
        Setting("Currency", "Currency", TEXT, "USD", "Shown over every money column."),
        Setting("As_of_date", "As of", DATE, None,
                "Blank: up to the last date entered anywhere. Enter a day to stop there.", optional=True),
        Setting("First_month", "First month of this log", DATE, None,
                "First day of that month; blank: the month of the earliest date entered.", optional=True),
        Setting("Figures_from", "Figures from", DATE, None, "The first day that counts.", formula=FROM_FORMULA),
        Setting("Figures_until", "Figures until", DATE, None, "The last day that counts; days held count up to it.",
                formula=UNTIL_FORMULA),
        Setting("Opening_cash", "Opening cash", MONEY, 0, "All business money on hand when the log begins."),
        Setting("Opening_inventory", "Opening inventory", MONEY, None,
                "Landed cost of items bought before the first month, from the log.",
                formula=inventory_before("Figures_from")),
        Setting("Pay_target", "Monthly pay target", COST, 0,
                "For all owners together; Pay and Forecast show when sales cover it."),
        Setting("Bills_due", "Bills not paid yet", COST, 0, "Pay sets this much of the cash aside."),
        Setting("Open_refunds", "Refunds not paid yet", COST, 0, "Promised to buyers, or expected."),
        Setting("Tax_reserve", "Kept for taxes", COST, 0,
                "Year end estimates what each partner owes; ask a licensed preparer."),
        Setting("Restock_reserve", "Kept for the next purchases", COST, 0,
                "Cash that stays in the business to buy inventory; it is not available for pay."),
        Setting("Fixed_costs", "Monthly fixed costs", COST, None,
                "What you pay whether you sell or not; blank: the average of sheet Expenses.", optional=True),
        Setting("Weekly_limit", "Weekly buying limit", COST, None,
                "At cost, as much as you can find and list; blank: what you bought or, if less, sold.", optional=True),
        Setting("Average_days", "Averages over the last", replace(DAYS, minimum=1), 90,
                "Pay and Inventory average sales and expenses over this many days."),
        Setting("Stale_days", "Stale after", replace(DAYS, minimum=1), 60,
                "Days since an item was listed, or bought if it is not listed; see Stale inventory."),
        Setting("Below_break_even", "Mark down below break-even", TEXT, NO,
                "May a marked-down price on Stale inventory be below break-even?", choices=(YES, NO)),
        Setting("Forecast_paths", "Simulation runs", replace(COUNT, minimum=LEAST_PATHS, maximum=MOST_PATHS), 2000,
                "Functions edition, sheet Pay. More is smoother but slower.", unit="runs"),
        Setting("Month_days", "Days per month", FACTOR, None, "A twelfth of 365.", formula="365/12", unit="days"),
        Setting("Usual_packaging", "Usual packaging per parcel", COST, 0,
                "Included in break-even prices until the item is sold."),
        Setting("Trip_cash", "Cash for buying", COST, 0, "Money you may spend on the next buying trip."),
        Setting("Trip_reserve", "Reserve not to spend", COST, 0,
                "Part of that money that Buying plan doesn't spend."),
        Setting("Plan_by", "Buying plan maximizes", TEXT, BY_PROFIT,
                "In total, or per day until the items sell.", choices=(BY_PROFIT, BY_DAY)),
        Setting("Target_profit", "Target profit of an item", COST, 5,
                "Your own target; the most to pay leaves at least this much."),
        Setting("Target_return", "Target return on cost", replace(RATIO, minimum=0), 0.5,
                "Your own target: net profit as a share of what the item costs; may be over 100%."),
        Setting("Buying_tax_rate", "Sales tax when you buy", RATE, 0,
                "Added to the price tag; 0 if the price tag includes it or you pay none."),
        Setting("Comp_half_life", "A sale counts half after", replace(DAYS, minimum=1), 90,
                "Older sales of comparable items count less. Common practice, no source."),
        Setting("Comp_low_share", "Low price of comparables", replace(RATE, maximum=0.5), 0.25,
                "Share of the sales below the low price, and above the high one."),
        Setting("Wild_distance", "Outlier: distance", FACTOR, None,
                "In spreads from the median; a sale beyond it is left out (modified z-score, from memory).",
                formula=f"{WILD_DISTANCE}"),
        Setting("Spread_scale", "Outlier: spread", FACTOR, None,
                "Times the median distance from the median (same source).", formula=f"{SPREAD_SCALE}"),
        Setting("Minimum_spread", "Outlier: minimum spread", RATE, None,
                "Share of the median price. Rule of this log, no source.", formula=f"{LEAST_SPREAD}"),
        Setting("Filling_rate", "Filler and tape per parcel", RATE, 0.1,
                "Their weight as a share of the item's weight. Common practice, no source."),
        Setting("Weight_allowance", "Added to packed weight", WEIGHT, 0,
                "A safety margin; Listing desk shows what would have been enough."),
        Setting("Cover_share", "Allowances cover", RATE, 0.9,
                "Share of your own sales that the allowances on Listing desk would have covered."),
        Setting("Weight_unit", "Weight unit", TEXT, "lb", "", choices=WEIGHT_UNITS),
        Setting("Length_unit", "Length unit", TEXT, "in", "", choices=LENGTH_UNITS),
        Setting("Tax_year", "Tax year", COUNT, 2026, "The year that sheet Year end shows.", unit="year"),
        Setting("Year_start", "First day of the tax year", DATE, None, "From the tax year.",
                formula="DATE(Tax_year,1,1)"),
        Setting("Year_end", "Last day of the tax year", DATE, None, "From the tax year.",
                formula="DATE(Tax_year,12,31)"),
        Setting("Year_rules", "Year-end rules", TEXT, TAX_RULES_NAMES[0],
                "Which lines sheet Year end shows; sheet Tax rules lists them by year.", choices=TAX_RULES_NAMES),
        Setting("Tax_method", "Accounting method", TEXT, None,
                "Income and costs count on the day when money moves. Have a licensed preparer confirm.",
                formula='"Cash"'),
        Setting("Inventory_method", "Cost of an item counts", TEXT, None,
                "Not when it is bought: a choice of small businesses (IRC 471(c), from a copy that "
                "cites it). Have a licensed preparer confirm.",
                formula='"When it is sold"'),
    )
    # fmt: on
