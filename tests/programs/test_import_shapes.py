"""Twenty-two invented layouts of sales files, each imported by the guess and what a person would answer.

The amounts beside each file were worked out by hand; a second run of the same file changes nothing.
"""

from __future__ import annotations

import datetime as dt
import math
import shutil
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from sheetfns.log.edit.csv_import import ImportLog, apply_import
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs
from sheetfns.programs.forms import Answers, Form, read_answers
from sheetfns.programs.jobs_import import Agreed, ask_import
from tests.log.filled_logs import small_log

ITEMS = {
    "K1": ("Oil lamp, brass", 2.0),
    "K2": ("Board game, complete", 3.0),
    "K3": ("Wool blanket", 4.0),
    "K4": ("Camera strap", 5.0),
    "K5": ("Tin box", 6.0),
    "K6": ("Sheet music, bundle", 7.0),
    "K7": ("Sheet music, bundle", 8.0),
}
"""Description and cost."""


def day(month: int, number: int) -> dt.date:
    return dt.date(2026, month, number)


@dataclass(frozen=True)
class Shape:
    """A file, the answers by label, and what the log is to hold: cells and net profit by item."""

    name: str
    text: str
    cells: dict[str, dict[str, object]]
    profit: dict[str, float]
    answers: dict[str, str] = field(default_factory=dict)
    left: tuple[str, ...] = ()
    """Parts of the reasons of the rows that are not imported."""
    left_out: int = 0
    problems: tuple[str, ...] = ()
    """What the log then asks for: of a new item nobody has said what it cost."""


BOOTH = {"Channel of all rows": "Booth"}
SHAPES = (
    Shape(
        "the usual one",
        "Order date,SKU,Title,Item price,Postage paid by buyer,Fee,Buyer\n"
        "2026-03-03,K1,Old lamp,20.50,4.00,2.10,A. Nyone\n"
        "2026-03-04,K2,Nice game,12.50,3.00,1.10,S. Omeone\n",
        {
            "K1": {"sold_on": day(3, 3), "sale_price": 20.5, "shipping_charged": 4, "fee_charged": 2.1,
                   "description": "Oil lamp, brass", "channel": "Booth"},
            "K2": {"sold_on": day(3, 4), "sale_price": 12.5, "shipping_charged": 3, "fee_charged": 1.1},
        },
        {"K1": 20.40, "K2": 11.40},
        BOOTH,
    ),
    Shape(
        "decimal commas",
        "Sold on;Item number;Price;Postage charged;Commission\n13.03.2026;k1;1.020,50;4,00;-2,10\n14.03.2026;K2;12,50;;-1,10\n",
        {
            "K1": {"sold_on": day(3, 13), "sale_price": 1020.5, "shipping_charged": 4, "fee_charged": 2.1},
            "K2": {"sold_on": day(3, 14), "sale_price": 12.5, "shipping_charged": None},
        },
        {"K1": 1020.40, "K2": 8.40},
        BOOTH,
    ),
    Shape(
        "tabs, signs, lines above",
        "Sales of two shelves\nFrom 3/1/2026 to 3/31/2026\n\n"
        "Sale date\tStock no.\tSale price\tSales tax\tFees\tPostage label\n"
        "3/13/2026 8:14 AM\tK3\t$30.00\t$2.40\t$3.30\t$6.05\n3/14/2026 1:00 PM\tK4\t$10.00\t\t\t\n",
        {"K3": {"sold_on": day(3, 13), "sale_price": 30, "tax_collected": 2.4, "fee_charged": 3.3, "postage_paid": 6.05}},
        {"K3": 16.65},
        BOOTH,
    ),
    Shape(
        "labels and refunds as rows, by order",
        "Order,Type,Date,SKU,Amount,Fixed fee,Final fee\n"
        "71,Sale,3 Mar 2026,K1,20.50,-0.30,-1.05\n"
        "71,Shipping label,3 Mar 2026,,-5.31,,\n"
        "71,Shipping label,4 Mar 2026,,-0.69,,\n"
        "72,Sale,3 Mar 2026,K2,10.50,-0.30,-2\n"
        "72,Refund,5 Mar 2026,,-3.00,,\n"
        "72,Refund,9 Mar 2026,,-1.25,,\n"
        ",Payout,6 Mar 2026,,-40.00,,\n"
        "80,Refund,9 Mar 2026,,-1.00,,\n",
        {
            "K1": {"sold_on": day(3, 3), "sale_price": 20.5, "fee_charged": 1.35, "postage_paid": 6.0, "refund": None},
            "K2": {"sale_price": 10.5, "fee_charged": 2.3, "refund": 4.25, "refunded_on": day(3, 9)},
        },
        {"K1": 11.15, "K2": 0.95},
        BOOTH,
        ("order '80' has no item in the file",),
        1,
    ),
    Shape(
        "fees in parts, and their total beside them",
        "Paid date,Own number,Item total,Fixed fee,Percent fee,Fees total\n"
        "2026-03-03,K1,20.50,0.30,1.05,1.35\n2026-03-04,K2,12.50,0.30,0.55,0.85\n",
        {"K1": {"fee_charged": 1.35}, "K2": {"sale_price": 12.5, "fee_charged": 0.85}},
        {"K1": 17.15, "K2": 8.65},
        BOOTH,
    ),
    Shape(
        "three fees to be added up",
        "Date,SKU,Price,Fixed fee,Percent fee,Ad fee\n2026-03-03,K1,20.50,0.10,0.20,\n2026-03-04,K2,12.50,0.30,0.55,0.62\n",
        {"K1": {"fee_charged": 0.3}, "K2": {"fee_charged": 1.47}},
        {"K1": 18.20, "K2": 8.03},
        BOOTH,
    ),
    Shape(
        "seconds from 1970",
        "Order ID,Created,SKU,Price\n1000000001,1772546700,K1,20.50\n1000000002,1772668800,K4,9\n",
        {"K1": {"sold_on": day(3, 3), "sale_price": 20.5}, "K4": {"sold_on": day(3, 5), "sale_price": 9}},
        {"K1": 18.50, "K4": 4.00},
        BOOTH,
    ),
    Shape(
        "milliseconds, with the day of another zone",
        "Timestamp,SKU,Price\n1772496300000,K1,20.50\n1772546700000,K4,9\n",  # 00:05 and 14:05 in UTC, March 3
        {"K1": {"sold_on": day(3, 2)}, "K4": {"sold_on": day(3, 3)}},
        {"K1": 18.50},
        BOOTH | {"Time zone": "-05:00"},
    ),
    Shape(
        "days in long words",
        'When,Reference,Amount,Delivery charge\n"Tuesday, 3 March 2026 14:05",K1,20.50,4\n'
        '"Wednesday 4th of March 2026 at 9:00",K5,11.00,\n',
        {"K1": {"sold_on": day(3, 3), "shipping_charged": 4}, "K5": {"sold_on": day(3, 4), "sale_price": 11}},
        {"K1": 22.50, "K5": 5.00},
        BOOTH,
    ),
    Shape(
        "titles in place of numbers",
        'Date sold,Title,Sold for,Selling fee\n2026-03-03,"oil lamp,  Brass",20.50,2.10\n'
        '2026-03-04,"Sheet music, bundle",8.00,0.90\n2026-03-05,Copper jug,9.00,0.90\n',
        {"K1": {"sold_on": day(3, 3), "sale_price": 20.5, "fee_charged": 2.1}, "K6": {"sold_on": None}},
        {"K1": 16.40},
        BOOTH,
        ("'Sheet music, bundle' is in rows 12, 13 of sheet Sourcing log, so it isn't clear which", "'Copper jug' is not on"),
    ),
    Shape(
        "an order's number and day in its first row",
        "Order no.,Order date,SKU,Item price\n900,2026-03-03,K1,20.50\n,,K2,12.50\n901,2026-03-05,K3,30\n",
        {"K1": {"sold_on": day(3, 3)}, "K2": {"sold_on": day(3, 3), "sale_price": 12.5}, "K3": {"sold_on": day(3, 5)}},
        {"K1": 18.50, "K2": 9.50, "K3": 26.00},
        BOOTH,
    ),
    Shape(
        "an order's day and channel in its first row",
        "Order number,Day,Sold at,SKU,Price\n900,2026-03-03,First site,K1,20.50\n901,2026-03-05,Booth,K3,30\n900,,,K2,12.50\n",
        {
            "K1": {"sold_on": day(3, 3), "channel": "First site"},
            "K2": {"sold_on": day(3, 3), "channel": "First site"},
            "K3": {"sold_on": day(3, 5), "channel": "Booth"},
        },
        # 10% and 0.30 by the terms of the first site: 2.35 and 1.55.
        {"K1": 16.15, "K2": 7.95, "K3": 26.00},
    ),
    Shape(
        "sales that came to nothing",
        "Sale date,SKU,Price,Status\n2026-03-03,K1,20.50,Done\n2026-03-04,K2,12.50,Cancelled\n2026-03-05,K3,30,Not paid\n"
        "2026-03-06,K2,11.00,done\n",
        {"K1": {"sale_price": 20.5}, "K2": {"sale_price": 11, "sold_on": day(3, 6)}, "K3": {"sold_on": None}},
        {"K1": 18.50, "K2": 8.00},
        BOOTH,
        left_out=2,
    ),
    Shape(
        "rows to leave out by a column of one's own words",
        "Sale date,SKU,Price,Remark\n2026-03-03,K1,20.50,\n2026-03-04,K2,1.00,a trial\n2026-03-05,K3,30,fragile\n",
        {"K1": {"sale_price": 20.5}, "K2": {"sale_price": None}, "K3": {"sale_price": 30}},
        {"K1": 18.50, "K3": 26.00},
        BOOTH | {"Other rows to leave out": "Remark: A Trial, another"},
        left_out=1,
    ),
    Shape(
        "a channel that only its words give away",
        "Sale date,Through,SKU,Price,Fee\n2026-03-03,first site,K1,20.50,2.35\n2026-03-04,Booth,K2,12.50,\n",
        {"K1": {"channel": "First site", "fee_charged": 2.35}, "K2": {"channel": "Booth"}},
        {"K1": 16.15, "K2": 9.50},
    ),
    Shape(
        "every amount in a row of its own",
        "Date,Entry,SKU,Value\n"
        "2026-03-03,Item sold,K1,20.50\n2026-03-03,Postage from buyer,K1,4.00\n2026-03-03,Commission,K1,-2.10\n"
        "2026-03-03,Ad fee,K1,-0.45\n2026-03-04,Label,K1,-3.95\n2026-03-08,Partial refund,K1,-5.00\n"
        "2026-03-09,Refund,K2,-5.00\n2026-03-09,Transfer to bank,,-9.00\n",
        {
            "K1": {"sold_on": day(3, 3), "sale_price": 20.5, "shipping_charged": 4, "fee_charged": 2.55,
                   "postage_paid": 3.95, "refund": 5, "refunded_on": day(3, 8)},
        },
        {"K1": 11.00},
        BOOTH | {"Entry is Postage from buyer": "Shipping charged", "Entry is Refund": "(leave out)"},
        left_out=2,
    ),
    Shape(
        "items that the log doesn't have",
        "Sale date,SKU,Title,Price\n2026-03-03,K1,Old lamp,20.50\n2026-03-04,K90,Copper jug,15.00\n",
        {"K1": {"sale_price": 20.5}, "K90": {"sold_on": day(3, 4), "sale_price": 15, "channel": "Booth"}},
        {"K1": 18.50},
        BOOTH | {"Add items that the log doesn't have": "Yes"},
        problems=("no_date", "no_paid", "errors_follow"),
    ),
    Shape(
        "dashes for blanks, brackets for minus",
        "Sale date,SKU,Price,Postage received,Selling fee,Label\n"
        "03-Mar-2026,K1,USD 20.50,--,(2.10),(4.00)\n04-Mar-2026,K2,USD 12.50,USD 3.00,--,--\n",
        {
            "K1": {"shipping_charged": None, "fee_charged": 2.1, "postage_paid": 4},
            "K2": {"shipping_charged": 3, "fee_charged": None, "postage_paid": None},
        },
        {"K1": 12.40, "K2": 12.50},
        BOOTH,
    ),
    Shape(
        "headers that say little",
        "Col A,Col B,Col C,Col D\nK1,2026-03-03,20.50,A. Nyone\nK2,2026-03-04,12.50,S. Omeone\n",
        {"K1": {"sold_on": day(3, 3), "sale_price": 20.5}, "K2": {"sale_price": 12.5}},
        {"K1": 18.50, "K2": 9.50},
        BOOTH | {"Col B": "Sold on", "Col C": "Sale price"},
    ),
    Shape(
        "headers of a program",
        "saleDate,itemNo,salePrice,shippingCharged,feeAmount,labelCost,salesTax\n2026-03-03T14:05:00Z,K1,20.50,4,2.1,3.95,1.8\n",
        {"K1": {"sold_on": day(3, 3), "shipping_charged": 4, "fee_charged": 2.1, "postage_paid": 3.95, "tax_collected": 1.8}},
        {"K1": 16.45},
        BOOTH,
    ),
    Shape(
        "days that can be read in two ways",
        "Sale date|SKU|Price\n3/4/2026|K1|20.50\n5/4/2026|K2|12.50\n",
        {"K1": {"sold_on": day(4, 3)}, "K2": {"sold_on": day(4, 5)}},
        {"K1": 18.50, "K2": 9.50},
        BOOTH | {"Dates": "day first"},
    ),
    Shape(
        "the refund beside the sale",
        "Sale date,SKU,Price,Shipping,Fee,Refund amount,Refund date\n2026-03-03,K1,20.50,4,2.1,5.00,2026-03-08\n2026-03-04,K2,12.50,,1.1,,\n",
        {"K1": {"refund": 5, "refunded_on": day(3, 8), "sold_on": day(3, 3)}, "K2": {"refund": None}},
        {"K1": 15.40, "K2": 8.40},
        BOOTH,
    ),
)  # fmt: skip


class Person:
    """Answers lines of the form by their labels, and leaves the others as they are."""

    def __init__(self, answers: dict[str, str]) -> None:
        self.answers = answers
        self.told: list[str] = []
        self.forms = 0
        self.said = ""

    def ask_form(self, form: Form) -> Answers | None:
        self.forms += 1
        if self.forms > 1:
            return None
        labels = {field.label: field.key for field in form.fields}
        assert set(self.answers) <= set(labels), sorted(labels)
        texts = {field.key: field.default for field in form.fields}
        texts |= {labels[label]: text for label, text in self.answers.items()}
        answers, wrong = read_answers(form, texts)
        assert wrong == []
        self.said = form.said(texts)
        return answers

    def show_message(self, text: str) -> None:
        self.told.append(text)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    inputs = Inputs(
        settings={"Currency": "USD", "As_of_date": day(6, 30), "First_month": day(1, 1)},
        blocks={"Channel": [{"name": "Booth"}, {"name": "First site", "rate": 0.1, "per_order": 0.3}]},
        rows={
            "Log": [
                {"item_no": number, "description": words, "bought_on": day(1, 10), "paid": cost}
                for number, (words, cost) in ITEMS.items()
            ]
        },
    )
    return small_log(tmp_path_factory.mktemp("log") / "log.xlsx", "plain", inputs)


def agreed(file: Path, log: Path, shape: Shape, answers: dict[str, str]) -> Agreed:
    person = Person(answers)
    found = ask_import(person, file, ImportLog(log))
    assert person.told == []
    assert found is not None
    assert person.said.startswith("Of "), person.said
    return found


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: shape.name)
def test_a_file_is_imported_as_a_whole(
    shape: Shape, made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SHEETFNS_MAPS", str(tmp_path / "maps"))
    log = Path(shutil.copy(made, tmp_path / "log.xlsx"))
    file = tmp_path / "sales.csv"
    file.write_text(shape.text, encoding="utf-8")
    found = agreed(file, log, shape, shape.answers)
    reasons = [row.reason for row in found.plan.left]
    assert len(reasons) == len(shape.left), reasons
    assert all(part in reason for part, reason in zip(shape.left, reasons, strict=True)), reasons
    assert len(found.plan.left_out) == shape.left_out
    done = apply_import(found.plan)
    assert tuple(one.key for one in done.new_problems) == shape.problems
    content = load_log(log)
    typed = content.sheets["Log"].set_index("item_no")
    for item, cells in shape.cells.items():
        for key, expected in cells.items():
            assert _plain(typed.loc[item, key]) == expected, (item, key)
    shown = content.shown["Log"].set_index(content.sheets["Log"]["item_no"])
    for item, profit in shape.profit.items():
        assert shown.loc[item, "net_profit"] == pytest.approx(profit, abs=1e-9), item
    # The answers are kept, and the same file has nothing more to say.
    found.keep()
    before = log.read_bytes()
    again = agreed(file, log, shape, {})
    assert again.import_map.columns == found.import_map.columns
    assert again.plan.edits == ()
    assert apply_import(again.plan).cells == 0
    assert log.read_bytes() == before


def _plain(value: object) -> object:
    if value is None or value == "" or (isinstance(value, float) and math.isnan(value)) or str(value) == "NaT":
        return None
    return value.date() if isinstance(value, dt.datetime) else value
