"""Maps, files and helpers of the tests that bring a file into a log."""

from __future__ import annotations

import csv
from pathlib import Path

from sheetfns.log.edit.csv_import import ImportPlan, plan_import

SALES_MAP = """\
[log]
sheet = "Sourcing log"
match = "Item no."
[columns]
"Item no." = "SKU"
"Channel" = "Site"
"Sold on" = "Sold at"
"Sale price" = "Price"
"Fee charged" = "Fee"
"""
EXPENSES_MAP = """\
[log]
sheet = "Expenses"
new_rows = true
[columns]
"Date" = "Day"
"Description" = "What"
"Amount" = "Paid"
[fixed]
"Heading" = "Supplies"
"""


SALES = (
    "SKU,Sold at,Site,Price,Fee\n"
    "P2,2026-03-03 10:15,booth,$20.50,1.20\n"  # nothing of it is in the log yet
    "p3 ,2026-02-10,Booth,20.004,\n"  # all of it is there, to half a cent
    "5,2026-03-05,First site,12,2.05\n"  # matches the text 5
    "P1,2026-02-10,First site,20,3.80\n"  # the log has another fee
    "P9,2026-03-09,Booth,3,\n"  # no such item
    ",2026-03-09,Booth,3,\n"  # no number
    "P4,soon,Fair,4,\n"  # cannot be read
)
ORDERS = (
    "Order,Sold at,Site,Price,Fee\n"
    "1001,2026-03-03,Booth,20.50,\n"
    " a-17,2026-02-10,Booth,20,1\n"
    "twice,2026-02-10,Booth,20,1\n"
    "1002,2026-02-10,Booth,20,1\n"
)
ORDERS_MAP = SALES_MAP.replace('match = "Item no."', 'match = "Order no."').replace(
    '"Item no." = "SKU"', '"Order no." = "Order"'
)


EXPENSES = "Day,What,Paid\n2026-03-01,Tape,5.25\n2026-03-01,Tape,5.25\n2026-03-02,Boxes,12\n2026-03-03,,4.00\n"


def planned(log: Path, csv_text: str, map_text: str = SALES_MAP) -> ImportPlan:
    folder = log.parent
    (folder / "sales.csv").write_text(csv_text, encoding="utf-8")
    (folder / "map.toml").write_text(map_text, encoding="utf-8")
    return plan_import(folder / "sales.csv", log, folder / "map.toml")


def changes(plan: ImportPlan) -> dict[tuple[str, str], object]:
    return {(one.item, one.header): one.new for one in plan.changes}


def left_rows(path: Path, separator: str = ",") -> list[list[str]]:
    assert path.read_bytes().startswith(b"\xef\xbb\xbf")
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.reader(file, delimiter=separator))
