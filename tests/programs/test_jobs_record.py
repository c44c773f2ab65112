"""Forms that enter one row: what they say before it is entered is what the workbook's formulas show after it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from sheetfns.errors import LogFileError
from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.edit.patch import CellEdit
from sheetfns.log.edit.record import Item, Recorder
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.sheets.registry import log_layout
from sheetfns.programs.forms import Answers, Form, read_answers
from sheetfns.programs.jobs_record import add_item, mark_returned, mark_sold, other_disposition
from tests.log.quick_logs import changed_log, quick_log

DAY, LAST = dt.date(2026, 3, 1), dt.date(2026, 3, 31)
INPUTS = Inputs(
    settings={
        "As_of_date": LAST, "First_month": dt.date(2026, 1, 1), "Buying_tax_rate": 0.06,
        "Usual_packaging": 0.5, "Target_profit": 5.0, "Target_return": 0.0,
    },
    blocks={
        "Channel": [{"name": "Booth", "rate": 0.1, "per_order": 0.3}, {"name": "Fair", "rate": 0.0}],
        "Partner": [{"name": "Ada", "share": 0.5}, {"name": "Bo", "share": 0.5}],
    },
    rows={
        "Lots": [{"lot_no": "L1", "bought_on": DAY, "paid": 30}],
        "Log": [
            {"item_no": "B007", "description": "Brass lamp", "bought_on": DAY, "paid": 4, "channel": "Booth"},
            {"item_no": "B008", "description": "Oil lamp", "bought_on": DAY, "paid": 6, "channel": "Booth",
             "sold_on": dt.date(2026, 3, 9), "sale_price": 20, "postage_paid": 3},
            {"item_no": "B009", "description": "Plates", "lot_no": "L1", "expected_price": 10, "channel": "Fair"},
            {"item_no": "B010", "description": "Bowls", "lot_no": "L1", "expected_price": 20, "channel": "Fair"},
        ],
    },
)  # fmt: skip
Job = Callable[..., list[CellEdit]]


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return quick_log(tmp_path_factory.mktemp("record") / "log.xlsx", "plain", INPUTS)


@pytest.fixture(scope="module")
def recorder(log: Path) -> Recorder:
    return Recorder(load_log(log), LAST)


class Filled:
    """Fills a form with texts; keeps what it says."""

    def __init__(self, texts: dict[str, str]) -> None:
        self.texts = texts
        self.said = ""
        self.wrong: list[str] = []
        self.form: Form | None = None

    def __call__(self, form: Form) -> Answers | None:
        self.form = form
        full = {field.key: field.default for field in form.fields} | self.texts
        assert full.keys() == {field.key for field in form.fields}
        self.said = form.said(full)
        answers, self.wrong = read_answers(form, full)
        return None if self.wrong else answers


def entered(log: Path, recorder: Recorder, tmp_path: Path, job: Job, **texts: str) -> tuple[str, pd.Series[Any]]:
    """What the form said, and the row of the sourcing log as the workbook works it out after the entry."""
    filled = Filled(texts)
    edits = job(recorder, filled)
    assert edits, filled.wrong
    out = tmp_path / "after.xlsx"
    changed_log(log, tuple(edits), out)
    content = load_log(out)
    assert compare(compute_log(content)).differences == []
    shown = content.shown["Log"]
    (row,) = {edit.row for edit in edits}
    return filled.said, shown[shown["sheet_row"] == row].iloc[0]


def test_a_purchase(log, recorder, tmp_path):
    said, row = entered(
        log, recorder, tmp_path, add_item, description="Clock", paid="5", purchase_tax="0.30", sold_for="35, 28.99, 31"
    )
    content = load_log(tmp_path / "after.xlsx")
    typed = content.sheets["Log"].iloc[-1]
    assert (typed["item_no"], typed["bought_on"]) == ("B011", pd.Timestamp(2026, 3, 31))
    assert row["landed_cost"] == 5.30
    assert said.splitlines()[0] == "Landed cost: 5.30"
    # By hand: middle price 31.00; fee 10% and 0.30 are 3.40; packaging 0.50; profit wanted 5.00; tax of 6% on the tag:
    # (31.00 - 3.40 - 0.50 - 5.00) / 1.06 = 20.849.
    assert "Shelf check: Buy up to 20.84" in said
    # 31.00 - 3.40 - 0.50 - 5.30
    assert "Expected net profit: 21.80" in said


def test_a_sale_by_a_word(log, recorder, tmp_path):
    said, row = entered(
        log, recorder, tmp_path, mark_sold, item="brass", sale_price="25", shipping_charged="4", postage_paid="4.50"
    )
    # 25.00 + 4.00 - fee (10% of 29.00 and 0.30: 3.20) - 4.50 - cost 4.00
    assert row["net_profit"] == 17.30
    assert said.splitlines()[0] == "Net profit: 17.30"
    assert f"Break-even price: {row['break_even_price']:.2f}" in said
    assert "fee 3.20" in said


def test_a_sale_out_of_a_lot_at_another_fee(log, recorder, tmp_path):
    said, row = entered(log, recorder, tmp_path, mark_sold, item="B010", sale_price="30", fee_charged="2")
    # Two thirds of the lot's 30.00 are its cost: 30.00 - 2.00 - 20.00
    assert row["net_profit"] == 8.00
    assert said.splitlines()[0] == "Net profit: 8.00"


def test_a_refund(log, recorder, tmp_path):
    said, row = entered(log, recorder, tmp_path, mark_returned, item="B008", refund="5")
    # 20.00 - fee 2.30 - postage 3.00 - cost 6.00 - refund 5.00
    assert row["net_profit"] == pytest.approx(3.70)
    assert said.splitlines()[0] == "Net profit: 3.70"


def test_another_disposition(log, recorder, tmp_path):
    said, row = entered(
        log, recorder, tmp_path, other_disposition, item="B007", disposition="personal use", taken_by="Ada"
    )
    assert said == "Landed cost: 4.00"
    assert row["status"] == "Personal use"


@pytest.mark.parametrize(
    ("job", "texts", "told"),
    [
        (mark_sold, {"sale_price": "9"}, "Item: is blank; fill it in"),
        (mark_sold, {"item": "lamp", "sale_price": "about 9"}, "Sale price: 'about 9' isn't a number"),
        (mark_sold, {"item": "B008", "sale_price": "9"}, "Item: 'B008' is in none of the list"),
        (mark_sold, {"item": "B0", "sale_price": "9"}, "Item: 'B0' is in 3 of the list"),
        (mark_returned, {"item": "B007", "refund": "9"}, "Item: 'B007' is in none of the list"),
        (other_disposition, {"item": "B007", "disposition": "Lost"}, "Disposition: 'Lost' isn't in the list"),
        (add_item, {"paid": "3"}, "Description: is blank; fill it in"),
    ],
)
def test_what_cannot_be_entered_is_told(recorder: Recorder, job: Job, texts: dict[str, str], told: str) -> None:
    filled = Filled(texts)
    assert job(recorder, filled) == []
    assert any(one.startswith(told) for one in filled.wrong), filled.wrong


def test_an_entry_of_a_day_that_no_figure_counts_says_so(log, tmp_path):
    later = Recorder(load_log(log), LAST + dt.timedelta(days=1))
    said, row = entered(log, later, tmp_path, mark_sold, item="brass", sale_price="25")
    assert said.splitlines()[-1].startswith("A date is after As of on sheet Settings: no figure counts it")
    assert "dated after As of (Settings)" in row["row_check"]
    filled = Filled({"description": "Cup", "paid": "1"})
    assert add_item(later, filled)
    assert "A date is after As of" in filled.said


def test_a_number_that_is_taken_is_refused(recorder: Recorder) -> None:
    filled = Filled({"item_no": "b008", "description": "Cup", "paid": "1"})
    with pytest.raises(LogFileError, match=r"Item no\. b008 is in the log already"):
        add_item(recorder, filled)
    assert "Item no. b008 is in the log already" in filled.said


def test_the_item_under_the_cursor_is_proposed(recorder: Recorder) -> None:
    lamp = recorder.on_hand()[0]
    filled = Filled({"sale_price": "9"})
    assert mark_sold(recorder, filled, lamp)
    assert filled.form is not None
    assert filled.form.fields[0].default == str(lamp) == "B007  Brass lamp"
    other = Filled({"sale_price": "9"})
    assert mark_sold(recorder, other, Item(99, "X", "Gone")) == []


def test_what_is_left_blank_is_not_typed(recorder: Recorder) -> None:
    edits = mark_sold(recorder, Filled({"item": "B007", "sale_price": "9"}))
    table = log_layout().table("Log")
    assert [table.columns[edit.column - 1].key for edit in edits] == ["sold_on", "sale_price"]


def test_an_empty_log_begins_with_1_and_has_nothing_to_sell(tmp_path):
    empty = Recorder(load_log(quick_log(tmp_path / "empty.xlsx", "plain", Inputs())))
    assert empty.next_number() == "1"
    with pytest.raises(LogFileError, match="No item is on hand"):
        mark_sold(empty, Filled({}))
    with pytest.raises(LogFileError, match="No item is sold yet"):
        mark_returned(empty, Filled({}))


def _numbers(*numbers: str) -> Iterator[dict[str, Any]]:
    return ({"item_no": one, "description": "Cup", "bought_on": DAY, "paid": 1} for one in numbers)


@pytest.mark.parametrize(
    ("numbers", "following"),
    [
        (("P009", "P010"), "P011"),
        (("P2", "P10", "P3"), "P11"),
        (("99",), "100"),
        (("A-7", "B-03"), "B-04"),
        (("lamp",), ""),
    ],
)
def test_the_next_number(tmp_path, numbers, following):
    inputs = Inputs(rows={"Log": list(_numbers(*numbers))})
    assert Recorder(load_log(quick_log(tmp_path / "log.xlsx", "plain", inputs))).next_number() == following
