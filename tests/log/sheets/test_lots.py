"""Sheet Lots: lots that are missing, and numbers that look like patterns."""

from __future__ import annotations

from tests.log.hand_made_log import D, hand_made
from tests.log.sheet_logs import sheet_figures, sheet_log


def test_items_that_name_a_lot_where_there_is_none(tmp_path):
    inputs = hand_made()
    inputs.rows["Lots"] = []
    figures = sheet_figures(tmp_path / "log.xlsx", inputs, "plain", "Lots")
    assert figures.left_out == 3


def test_a_lot_number_is_no_pattern(tmp_path):
    inputs = hand_made()
    inputs.rows["Lots"].append({"lot_no": "L*", "bought_on": D(2025, 12, 5), "paid": 6.0})
    inputs.rows["Log"][3] |= {"lot_no": ">A"}
    inputs.rows["Lots"].append({"lot_no": ">A", "bought_on": D(2025, 12, 5), "paid": 9.0})
    del inputs.rows["Log"][3]["paid"], inputs.rows["Log"][3]["paid_from"]
    inputs.rows["Log"][3]["bought_on"] = None
    figures = sheet_figures(tmp_path / "log.xlsx", inputs, "plain", "Lots")
    assert figures["Lots"]["items"].tolist() == [3.0, 0.0, 1.0]


def test_a_lot_without_its_day(tmp_path):
    inputs = hand_made()
    inputs.rows["Lots"][0]["bought_on"] = None
    log = sheet_log("plain", "Lots")
    content = log.read(log.filled(tmp_path / "log.xlsx", inputs))
    assert content.shown["Log"]["days_held"].iloc[4:7].isna().all()
    assert content.shown["Lots"]["row_check"].iloc[0] == "bought on is blank"
