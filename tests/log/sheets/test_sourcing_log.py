"""Sheet Sourcing log against a log worked out by hand: costs, profits, states, findings."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest

from sheetfns import lot_share
from sheetfns.log.compute import LogResults, compute_log
from tests.log.hand_made_log import D, failing, hand_made
from tests.log.sheet_logs import sheet_figures, sheet_log


def column(figures: LogResults, key: str) -> list[float]:
    return [None if pd.isna(v) else round(v, 10) for v in figures["Log"][key]]


def test_landed_costs(figures):
    costs = [5.35, 8.0, 7.0, 8.0, 3.34, 3.33, 3.33, 2.0, 0.0]
    assert column(figures, "landed_cost") == costs
    assert costs[4:7] == lot_share(10, [5, 5, 5]).tolist()


def test_profits(figures):
    # 24 - 2.70 - 4.25 - 0.40 - 5.35; 30 - 3.31 - 6 - 10 - 8; 15 - 15, its cost back in stock; 6.
    assert column(figures, "net_profit") == [11.3, 2.69, 0.0, *[None] * 5, 6.0]
    assert column(figures, "net_proceeds") == [16.65, 10.69, 0.0, *[None] * 5, 6.0]
    margins = [11.3 / 24, 2.69 / 30, 0.0, *[None] * 5, 1.0]
    assert column(figures, "net_margin") == pytest.approx(margins)
    # No return on a cost of nothing.
    assert column(figures, "return_on_cost")[:2] == pytest.approx([11.3 / 5.35, 2.69 / 8])
    assert column(figures, "return_on_cost")[2:] == [None] * 7


def test_break_even_prices_are_rounded_up(figures):
    # A1: (5.35 + 4.25 + 0.40 + 0.30) / 0.9 - 4 = 7.4444; L1c: (3.33 + 3 + 0.5 + 0.3) / 0.9 - 3.
    prices = column(figures, "break_even_price")
    assert prices[0] == 7.45
    assert prices[6] == 4.93
    assert prices[3] is None, "no channel yet"
    assert column(figures, "margin_of_safety")[6] == pytest.approx((9 - 4.93) / 9)


def test_states(figures):
    assert figures["Log"]["status"].tolist() == [
        "Sold", "Part refund", "Relisted", "In stock", "Personal use", "Discarded", "In stock",
        "Donated", "Sold",
    ]  # fmt: skip
    assert figures["Log"]["days_held"].tolist() == [17, 57, 40, 49, 19, 58, 85, 18, 62]


@pytest.mark.parametrize(("key", "value"), [("paid", "4,50"), ("sale_price", "$20"), ("paid", True)])
def test_text_in_an_amount_is_loud(tmp_path, key, value):
    """It is no figure, so the sums that it belongs to are errors and the row says why."""
    inputs = hand_made()
    inputs.rows["Log"][0][key] = value
    log = sheet_log("plain", "Log")
    content = log.read(log.filled(tmp_path / "log.xlsx", inputs))
    assert "not_a_number" in {problem.key for problem in content.problems}
    first = content.shown["Log"].iloc[0]
    assert "text instead of a number or date" in first["row_check"]
    checks = content.shown["Data checks"]
    assert checks.loc[checks["kind"] == "fix", "count"].sum() >= 1
    assert compute_log(content).left_out == 1


def test_a_time_of_day_counts_as_its_day(tmp_path):
    inputs = hand_made()
    inputs.rows["Log"][0]["sold_on"] = dt.datetime(2025, 11, 20, 18, 30)
    figures = sheet_figures(tmp_path / "log.xlsx", inputs, "plain", "Log")
    assert figures["Log"]["days_held"].iloc[0] == 17


def test_wrong_words_are_seen_in_the_row(tmp_path):
    wrong = {
        "disposition is not in the list": {"disposition": "Gift", "disposition_date": D(2025, 12, 1)},
        "postage paid by is not in the list": {"postage_payer": "buyr"},
        "came back, but there is no refund": {"returned_on": D(2025, 12, 1)},
        "refunded on is filled, but refund is blank": {"refunded_on": D(2025, 12, 1)},
    }
    inputs = hand_made()
    sold = inputs.rows["Log"][0]
    inputs.rows["Log"] = [sold | changes | {"item_no": f"W{row}"} for row, changes in enumerate(wrong.values())]
    log = sheet_log("plain", "Log")
    content = log.read(log.filled(tmp_path / "log.xlsx", inputs))
    for message, check in zip(wrong, content.shown["Log"]["row_check"], strict=True):
        assert message in check


def test_all_findings_of_a_row_are_counted_however_many(tmp_path):
    inputs = hand_made()
    inputs.rows["Log"][0] = {
        "item_no": "A2", "bought_on": D(2030, 1, 1), "lot_no": "none", "paid_from": "nobody",
        "channel": "none", "sold_on": D(2020, 1, 1), "sale_price": -1.0, "refund": 50.0,
        "refunded_on": D(2019, 1, 1), "returned_on": D(2019, 1, 1), "disposition": "Gift",
        "disposition_date": D(2018, 12, 31), "postage_payer": "buyr", "paid": "x", "purchase_tax": 1.0,
    }  # fmt: skip
    log = sheet_log("plain", "Log")
    content = log.read(log.filled(tmp_path / "log.xlsx", inputs))
    assert len(content.shown["Log"]["findings"].iloc[0]) > 300
    found = failing(content)
    for key in ("left_early", "after_as_of", "before_first", "no_disposition", "no_payer"):
        assert found.get(f"Log_{key}") == 1, key
