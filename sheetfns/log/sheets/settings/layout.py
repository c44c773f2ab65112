"""Sheet Settings: the single figures and words."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from sheetfns.cell_types import COST, COUNT, DATE, DAYS, FACTOR, MONEY, RATE, RATIO, TEXT, WEIGHT
from sheetfns.functions.comps import LEAST_SPREAD, SPREAD_SCALE, WILD_DISTANCE
from sheetfns.functions.growth import LEAST_PATHS, MOST_PATHS
from sheetfns.log.model.sheets import Setting
from sheetfns.log.sheets.columns import inventory_before
from sheetfns.log.sheets.settings.period import FROM_FORMULA, UNTIL_FORMULA
from sheetfns.log.sheets.tax_rules.layout import TAX_RULES_NAMES
from sheetfns.log.sheets.words import A_CHANNEL, A_PARTNER, BY_DAY, BY_PROFIT, LENGTH_UNITS, NO, WEIGHT_UNITS, YES

_PARTNERS_NAMED: Final = 'COUNTIF(Partner_name,"?*")'
_CHANNELS_NAMED: Final = 'COUNTIF(Channel_name,"?*")'
_FIRST_DAY: Final = (
    'Shop_name<>""',
    f'{_PARTNERS_NAMED}>COUNTIF(Partner_name,"{A_PARTNER}")',
    f'{_CHANNELS_NAMED}>COUNTIF(Channel_name,"{A_CHANNEL}")',
    'Default_channel<>""',
    'Opening_cash<>""',
    'Buying_tax_rate<>""',
)
"""What is filled in on the first day, each as a condition; the names that a new log has do not count."""
_FILLED_IN: Final = f'{"+".join(f"({one})" for one in _FIRST_DAY)}&" of {len(_FIRST_DAY)}"'

# fmt: off
_SECTIONS: Final[tuple[tuple[str, tuple[Setting, ...]], ...]] = (
    ("First day", (
        Setting("First_day", "Filled in", TEXT, None, "Of the six lines below; then the log can be used.",
                formula=_FILLED_IN, since=10),
        Setting("Shop_name", "Shop name", TEXT, "", "Your own; shown on Year end."),
        Setting("Partners_entered", "Partners entered", COUNT, None,
                "Their names and shares are in a table below; a click on the words at the left goes there.",
                formula=_PARTNERS_NAMED, unit="partners", since=10, leads_to="Partner"),
        Setting("Channels_entered", "Channels entered", COUNT, None,
                "Where you sell, and what each charges; a click on the words at the left goes there.",
                formula=_CHANNELS_NAMED, unit="channels", since=10, leads_to="Channel"),
        Setting("Default_channel", "Default channel", TEXT, "",
                "Shelf check and Buying plan use it where you choose none; blank: the first channel in the table.",
                since=10, names="Channel_name"),
        Setting("Opening_cash", "Opening cash", MONEY, None,
                "All business money on hand when the log begins; blank counts as 0.", optional=True),
        Setting("Buying_tax_rate", "Sales tax when you buy", RATE, None,
                "Added to the price tag; 0 or blank if the price tag includes it or you pay none.", optional=True),
    )),
    ("This log", (
        Setting("Currency", "Currency", TEXT, "USD", "Shown over every money column."),
        Setting("As_of_date", "As of", DATE, None,
                "Blank: up to the last date entered anywhere. Enter a day to stop there.", optional=True),
        Setting("First_month", "First month of this log", DATE, None,
                "First day of that month; blank: the month of the earliest date entered.", optional=True),
        Setting("Figures_from", "Figures from", DATE, None, "The first day that counts.", formula=FROM_FORMULA),
        Setting("Figures_until", "Figures until", DATE, None, "The last day that counts; days held count up to it.",
                formula=UNTIL_FORMULA),
        Setting("Opening_inventory", "Opening inventory", MONEY, None,
                "Landed cost of items bought before the first month, from the log.",
                formula=inventory_before("Figures_from")),
        Setting("Weight_unit", "Weight unit", TEXT, "lb", "Of packed weights and postage.", choices=WEIGHT_UNITS),
        Setting("Length_unit", "Length unit", TEXT, "in", "Of boxes and parcel rules.", choices=LENGTH_UNITS),
    )),
    ("Pay and reserves", (
        Setting("Pay_target", "Monthly pay target", COST, 0,
                "For all owners together; Pay and Forecast show when sales cover it."),
        Setting("Bills_due", "Bills not paid yet", COST, 0, "Pay sets this much of the cash aside."),
        Setting("Open_refunds", "Refunds not paid yet", COST, 0, "Promised to buyers, or expected."),
        Setting("Tax_reserve", "Kept for taxes", COST, None,
                "Blank: the share below of the last 12 months' profit. Taxes differ; ask a licensed preparer.",
                optional=True),
        Setting("Tax_share", "Share of profit for taxes", RATE, 0.3,
                "A careful guess for the line above; common practice, no source.", since=10),
        Setting("Restock_reserve", "Kept for the next purchases", COST, None,
                "Not available for pay. Blank: what the purchases of the days below cost.", optional=True),
        Setting("Restock_days", "Purchases to keep cash for", replace(DAYS, minimum=1), 30,
                "As much is kept as was spent on inventory in so many last days.", since=10),
        Setting("Fixed_costs", "Monthly fixed costs", COST, None,
                "What you pay whether you sell or not; blank: the average of sheet Expenses.", optional=True),
        Setting("Weekly_limit", "Weekly buying limit", COST, None,
                "At cost, as much as you can find and list; blank: what you bought or, if less, sold.", optional=True),
        Setting("Average_days", "Averages over the last", replace(DAYS, minimum=1), 90,
                "Pay and Inventory average sales and expenses over this many days."),
        Setting("Month_days", "Days per month", FACTOR, None, "A twelfth of 365.", formula="365/12", unit="days"),
        Setting("Forecast_paths", "Simulation runs", replace(COUNT, minimum=LEAST_PATHS, maximum=MOST_PATHS), 2000,
                "Functions edition, sheet Pay. More is smoother but slower.", unit="runs"),
    )),
    ("Buying", (
        Setting("Trip_cash", "Cash for buying", COST, None,
                "Blank: all cash but what is kept for bills, refunds and taxes; Pay shows it.", optional=True),
        Setting("Trip_reserve", "Reserve not to spend", COST, 0,
                "Part of that money that Buying plan doesn't spend."),
        Setting("Plan_by", "Buying plan maximizes", TEXT, BY_PROFIT,
                "In total, or per day until the items sell.", choices=(BY_PROFIT, BY_DAY)),
        Setting("Target_profit", "Target profit of an item", COST, 5,
                "Your own target; the most to pay leaves at least this much."),
        Setting("Target_return", "Target return on cost", replace(RATIO, minimum=0), 0.5,
                "Your own target: net profit as a share of what the item costs; may be over 100%."),
    )),
    ("Comparable sales", (
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
    )),
    ("Listing and parcels", (
        Setting("Stale_days", "Stale after", replace(DAYS, minimum=1), 60,
                "Days since an item was listed, or bought if it is not listed; see Stale inventory."),
        Setting("Below_break_even", "Mark down below break-even", TEXT, NO,
                "May a marked-down price on Stale inventory be below break-even?", choices=(YES, NO)),
        Setting("Usual_packaging", "Usual packaging per parcel", COST, 0,
                "Included in break-even prices until the item is sold."),
        Setting("Filling_rate", "Filler and tape per parcel", RATE, 0.1,
                "Their weight as a share of the item's weight. Common practice, no source."),
        Setting("Weight_allowance", "Added to packed weight", WEIGHT, 0,
                "A safety margin; Listing desk shows what would have been enough."),
        Setting("Cover_share", "Allowances cover", RATE, 0.9,
                "Share of your own sales that the allowances on Listing desk would have covered."),
    )),
    ("Taxes", (
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
    )),
)
# fmt: on


def settings() -> tuple[Setting, ...]:
    """The single figures and words, those of the first day first."""
    return tuple(
        replace(setting, section=title if place == 0 else "")
        for title, of_section in _SECTIONS
        for place, setting in enumerate(of_section)
    )
