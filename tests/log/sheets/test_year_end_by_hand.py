"""Two tax years of a log worked out by hand."""

from __future__ import annotations

import datetime as dt

from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log, year_figures
from tests.log.hand_made_log import hand_made
from tests.log.sheet_logs import sheet_log


def test_tax_year(figures):
    totals = year_figures(figures, 2025)
    amounts = totals.amounts
    assert amounts["gross_receipts"] == 69.0
    assert amounts["returns"] == 0.0
    assert amounts["opening_inventory"] == 0.0
    assert amounts["purchases"] == 32.35  # 5.35 + 8 + 7 + 2 + lot 10
    assert amounts["personal_use"] == 5.34  # 3.34 personal use + 2 donated
    assert amounts["closing_inventory"] == 6.66
    assert amounts["cost_of_goods_sold"] == 20.35  # 5.35 + 8 + 7
    assert amounts["gross_profit"] == 48.65
    headings = totals.headings.set_index("heading")["amount"]
    assert headings["Commissions and fees"] == 6.01
    assert headings["Office expense and postage"] == 10.25
    assert headings["Supplies and packaging"] == 0.4
    assert headings["Car: miles at the standard rate"] == 21.0  # 30 x 0.70, IRS Notice 2025-05
    assert headings["Advertising"] == 12.0
    assert amounts["net_profit"] == -1.01


def test_the_year_after(figures):
    totals = year_figures(figures, 2026)
    amounts = totals.amounts
    assert amounts["gross_receipts"] == 6.0
    assert amounts["returns"] == 25.0
    assert amounts["opening_inventory"] == 6.66
    # A4's prep; its cost came over from A3, which came back from cost of goods sold.
    assert (amounts["purchases"], amounts["materials"]) == (0.0, 1.0)
    assert amounts["closing_inventory"] == 11.33
    assert amounts["cost_of_goods_sold"] == -3.67  # 0 - 7 back + 3.33 discarded
    headings = totals.headings.set_index("heading")
    # 10.5 x 0.725, IRS Notice 2026-10: 7.6125
    assert headings.loc["Car: miles at the standard rate", "amount"] == 7.61
    assert headings.loc["Other expenses", "tax_line"] == "Other expenses"


def test_line_number_of_other_expenses_changes_with_the_year(figures):
    # Schedule C: 27a for 2023 and 2024, 27b from 2025 (read in a copy that cites the form).
    for year, number in ((2024, "27a"), (2025, "27b")):
        lines = {line.label: line.line.line for line in year_figures(figures, year).lines}
        assert lines["Other expenses"] == number


def test_a_time_of_day_on_the_last_day_of_the_tax_year(tmp_path):
    inputs = hand_made()
    inputs.rows["Log"][7]["disposition_date"] = dt.datetime(2025, 12, 31, 18, 30)
    inputs.rows["Log"][1]["sold_on"] = dt.datetime(2025, 12, 31, 23, 59)
    log = sheet_log("plain", "Year")
    content = log.read(log.filled(tmp_path / "log.xlsx", inputs))
    figures = compute_log(content)
    assert compare(figures, sheets=log.keys).differences == []
    # Of 2025 are left A3, back only in January but sold in December, L1b and L1c, and A6, free.
    assert year_figures(figures, 2025).amounts["closing_inventory"] == 6.66
