"""Sheet Personal items: what was sold out of the household, apart from the business."""

from __future__ import annotations

from typing import Final

from sheetfns.cell_types import COST, DATE, MONEY, TEXT
from sheetfns.log.model.sheets import Column, TableSheet
from sheetfns.log.sheets.columns import around_entries, entry, findings_column, grouped, result, row_check_column
from sheetfns.log.sheets.personal_items.validate import CHECKS
from sheetfns.log.sheets.words import PERSONAL_ITEMS

_NOT_SOLD: Final = 'OR({item}="",{sold_on}="",{sale_price}="")'
_NOT_KNOWN: Final = 'OR({proceeds}="",{cost}="")'

# A table: key, header, type, width, formula of what is worked out, help.
# fmt: off
COLUMNS: Final[tuple[Column, ...]] = around_entries(
    grouped("Results", (row_check_column("item"),)),
    (*grouped("Thing", (
        entry("item", "Item", TEXT, 27, "What it is."),
        entry("whose", "Whose", TEXT, 13, "Whose it was.", names="Partner_name"),
        entry("cost", "Original cost", COST, 10.5,
              "What its owner paid for it; gifts and heirlooms follow other rules, ask."),
    )),
    *grouped("Sold", (
        entry("channel", "Channel", TEXT, 14, "Where it was sold; blank: in person.", names="Channel_name"),
        entry("sold_on", "Sold on", DATE, 11.5, "Day of the sale; blank: not sold yet."),
        entry("sale_price", "Sale price", COST, 10.5, "What the buyer paid, without sales tax."),
        entry("shipping_charged", "Shipping charged", COST, 10.5, "What the buyer paid for postage."),
        entry("tax_collected", "Tax collected", COST, 10.5, "Sales tax that the channel collected itself."),
        entry("selling_costs", "Selling costs", COST, 10.5, "Fee, postage and packaging of the sale."),
    ))),
    (*grouped("Results", (
        result("proceeds", "Proceeds", MONEY, 10.5, "{sale_price}+{shipping_charged}-{selling_costs}",
               "Price and shipping less selling costs. Not in this log's receipts, cash or inventory.",
               blank_if=_NOT_SOLD),
        result("gain", "Taxable gain", MONEY, 10.5, "MAX(0,ROUND({proceeds}-{cost},2))",
               "Proceeds over cost: taxable, reported separately. Ask your preparer.", blank_if=_NOT_KNOWN),
        result("loss", "Nondeductible loss", MONEY, 13.5, "MAX(0,ROUND({cost}-{proceeds},2))",
               "Cost over proceeds: a loss on personal items is not deductible.", blank_if=_NOT_KNOWN),
    )),
    findings_column(CHECKS)),
)
# fmt: on


def sheet(rows: int) -> TableSheet:
    """Sheet Personal items."""
    purpose = "Things of your own household that you sold, apart from the business."
    return TableSheet(PERSONAL_ITEMS, "Personal", purpose, COLUMNS, rows, CHECKS)
