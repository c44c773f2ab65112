"""Sheet Trips: a day without a rate per mile."""

from __future__ import annotations

import datetime as dt

from tests.log.hand_made_log import D, hand_made
from tests.log.sheet_logs import sheet_figures


def test_no_rate_for_a_trip(tmp_path):
    inputs = hand_made()
    inputs.blocks["Mileage"] = []
    figures = sheet_figures(tmp_path / "log.xlsx", inputs, "plain", "Trips")
    assert figures["Trips"]["deduction"].isna().all()
    inputs = hand_made()
    inputs.settings["As_of_date"] = D(2027, 3, 1)
    inputs.rows["Trips"][0]["driven_on"] = D(2027, 1, 1)
    figures = sheet_figures(tmp_path / "log.xlsx", inputs, "plain", "Trips")
    assert figures["Trips"]["rate"].isna().tolist() == [True, False], "no figure of the year before"
    row_checks = figures.content.shown["Trips"]["row_check"].tolist()
    assert row_checks[0] == "no rate for this date on Settings"


def test_a_time_of_day_on_the_last_day_of_a_rate(tmp_path):
    inputs = hand_made()
    inputs.blocks["Mileage"] = [{"from": D(2025, 1, 1), "until": D(2025, 12, 31), "rate": 0.7}]
    inputs.rows["Trips"] = [
        {"driven_on": day, "purpose": "Buying", "to_place": "Town", "miles": 10}
        for day in (dt.datetime(2025, 12, 31, 13, 30), D(2026, 1, 1))
    ]
    figures = sheet_figures(tmp_path / "log.xlsx", inputs, "plain", "Trips")
    assert figures["Trips"]["deduction"].fillna(-1).tolist() == [7.0, -1]
