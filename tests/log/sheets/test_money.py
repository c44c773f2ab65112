"""Sheet Money against a log worked out by hand."""

from __future__ import annotations

from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.sheets.words import MONTHS
from tests.log.hand_made_log import D, failing, hand_made
from tests.log.sheet_logs import sheet_log


def test_months(figures):
    months = figures["Money"].set_index("month")
    # November: 100 + 24 - 2.70 - 4.25 - 0.40 - (5.35 + 8) + 50 put in + 8 from Bo's own pocket
    # December: + 30 + 15 - 3.31 - 6 - (7 + 2 + 0 + 10 for the lot) - 12 + 10 from Ada's own pocket
    # January: - 10 - 15 refunds - 1 prep - 3 + 3 from Ada's own pocket
    # February: + 6 - 20 taken out
    assert months["closing_cash"].tolist() == [161.30, 175.99, 149.99, 135.99]
    # November: 5.35 + 8 - 5.35; December: + 7 + 2 + 10 - 8 - 7 - 3.34 - 2;
    # January: A3 back (7), moved on to A4 at 7 + 1 prep; February: L1b discarded (3.33), A6 free
    assert months["closing_inventory"].tolist() == [8.0, 6.66, 14.66, 11.33]
    # November: 24 - 5.35 - 7.35; December: 45 - 15 - 9.31 - 12; January: - 25 + 7 - 3; 6 - 3.33
    assert months["profit"].tolist() == [11.3, 8.69, -21.0, 2.67]


def test_log_that_begins_after_the_day_of_its_figures(tmp_path):
    inputs = hand_made()
    inputs.settings["As_of_date"] = D(2025, 10, 1)
    log = sheet_log("plain", "Money")
    content = log.read(log.filled(tmp_path / "log.xlsx", inputs))
    checks = content.shown["Data checks"].set_index("key")["count"]
    assert checks["Settings_order"] == 1
    assert len(compute_log(content)["Money"]) == 0


def test_more_months_than_the_sheet_has(tmp_path):
    inputs = hand_made()
    inputs.settings["As_of_date"] = D(2032, 1, 31)
    log = sheet_log("plain", "Money")
    content = log.read(log.filled(tmp_path / "log.xlsx", inputs))
    figures = compute_log(content)
    assert compare(figures, sheets=log.keys).differences == []
    assert len(figures["Money"]) == MONTHS
    assert "Money_months" in failing(content)
