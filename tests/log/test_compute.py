"""A small log worked out by hand: every state of a piece, on Money and on Year end."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest

from sheetfns import lot_share
from sheetfns.errors import LogFileError
from sheetfns.log.compare import compare
from sheetfns.log.compute import LogResults, compute_log, year_figures
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import EDITIONS
from sheetfns.log.write.build import build_log
from tests.log.quick_logs import in_turn, quick_log
from tests.log.random_logs import random_entries

D = dt.date
ROWS = 40


def hand_made() -> Inputs:
    return Inputs(
        settings={
            "First_month": D(2025, 11, 1),
            "As_of_date": D(2026, 2, 28),
            "Tax_year": 2025,
            "Opening_cash": 100.0,
            "Usual_packing": 0.5,
        },
        blocks={
            "Partner": [{"name": "Ada", "share": 0.6}, {"name": "Bo", "share": 0.4}],
            "Channel": [
                {"name": "Site", "rate": 0.1, "per_order": 0.3},
                {"name": "Stall"},
            ],
        },
        rows={
            "Log": [
                # 0: sold in November at a profit; fee 0.1 x 24 + 0.3 = 2.70
                {"item_no": "A1", "bought_on": D(2025, 11, 3), "paid": 5.0, "purchase_tax": 0.35,
                 "channel": "Site", "listed_on": D(2025, 11, 4), "sold_on": D(2025, 11, 20),
                 "sale_price": 20.0, "shipping_charged": 4.0, "tax_collected": 1.7,
                 "postage_paid": 4.25, "packing": 0.4},
                # 1: sold in December, refunded in part in January; the fee on the statement wins
                {"item_no": "A2", "bought_on": D(2025, 11, 3), "paid": 8.0, "paid_from": "Bo",
                 "channel": "Site", "sold_on": D(2025, 12, 30), "sale_price": 30.0,
                 "fee_charged": 3.31, "postage_paid": 6.0, "refund": 10.0,
                 "refunded_on": D(2026, 1, 5)},
                # 2: sold in December, came back in January with all money, relisted as A4
                {"item_no": "A3", "bought_on": D(2025, 12, 1), "paid": 7.0, "channel": "Stall",
                 "sold_on": D(2025, 12, 13), "sale_price": 15.0, "refund": 15.0,
                 "refunded_on": D(2026, 1, 10), "returned_on": D(2026, 1, 10),
                 "left_how": "Relisted", "left_on": D(2026, 1, 10)},
                {"item_no": "A4", "bought_on": D(2026, 1, 10), "paid": 7.0,
                 "paid_from": "Returned piece", "prep_cost": 1.0, "expected_price": 18.0},
                # 4, 5, 6: a lot of 10.00 by 5, 5, 5 -> 3.34, 3.33, 3.33
                {"item_no": "L1a", "lot_no": "L1", "expected_price": 5.0, "left_how": "Own use",
                 "left_on": D(2025, 12, 24)},
                {"item_no": "L1b", "lot_no": "L1", "expected_price": 5.0, "left_how": "Discarded",
                 "left_on": D(2026, 2, 1)},
                {"item_no": "L1c", "lot_no": "L1", "expected_price": 5.0, "channel": "Site",
                 "asking_price": 9.0, "expected_postage": 3.0, "postage_payer": "Buyer"},
                # 7: donated; 8: free, sold at the stall for all of its price
                {"item_no": "A5", "bought_on": D(2025, 12, 2), "paid": 2.0, "left_how": "Donated",
                 "left_on": D(2025, 12, 20)},
                {"item_no": "A6", "bought_on": D(2025, 12, 2), "paid": 0.0, "channel": "Stall",
                 "sold_on": D(2026, 2, 2), "sale_price": 6.0},
            ],
            "Lots": [{"lot_no": "L1", "bought_on": D(2025, 12, 5), "paid": 9.5, "purchase_tax": 0.5,
                      "paid_from": "Ada"}],
            "Expenses": [
                {"spent_on": D(2025, 12, 9), "heading": "Advertising", "amount": 12.0},
                {"spent_on": D(2026, 1, 9), "heading": "Other expenses", "amount": 3.0,
                 "paid_from": "Ada"},
            ],
            "Trips": [
                {"driven_on": D(2025, 12, 5), "purpose": "Auction", "to_place": "Barn",
                 "miles": 30.0},
                {"driven_on": D(2026, 1, 5), "purpose": "Post", "to_place": "Town", "miles": 10.5},
            ],
            "Owner": [
                {"moved_on": D(2025, 11, 1), "partner": "Ada", "put_in": 50.0},
                {"moved_on": D(2026, 2, 15), "partner": "Bo", "took_out": 20.0},
                {"moved_on": D(2025, 11, 30), "cash_counted": 161.30},
            ],
        },
    )  # fmt: skip


@pytest.fixture(scope="module", params=EDITIONS)
def figures(request, tmp_path_factory) -> LogResults:
    path = tmp_path_factory.mktemp("hand") / "log.xlsx"
    return compute_log(load_log(build_log(path, request.param, ROWS, hand_made())))


def test_the_workbook_and_python_agree(figures):
    result = compare(figures)
    assert result.differences == []
    assert result.compared > 300


def test_no_problem_and_nothing_left_out(figures):
    assert figures.content.problems == []
    assert figures.left_out == 0
    assert set(figures.content.shown["Log"]["row_check"]) <= {"ok", ""}


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
        "Sold", "Part refund", "Relisted", "In stock", "Own use", "Discarded", "In stock",
        "Donated", "Sold",
    ]  # fmt: skip
    assert figures["Log"]["days_held"].tolist() == [17, 57, 40, 49, 19, 58, 85, 18, 62]


def test_months(figures):
    months = figures["Money"].set_index("month")
    # November: 100 + 24 - 2.70 - 4.25 - 0.40 - (5.35 + 8) + 50 put in + 8 from Bo's own pocket
    # December: + 30 + 15 - 3.31 - 6 - (7 + 2 + 0 + 10 for the lot) - 12 + 10 from Ada's own pocket
    # January: - 10 - 15 refunds - 1 prep - 3 + 3 from Ada's own pocket
    # February: + 6 - 20 taken out
    assert months["closing_cash"].tolist() == [161.30, 175.99, 149.99, 135.99]
    # November: 5.35 + 8 - 5.35; December: + 7 + 2 + 10 - 8 - 7 - 3.34 - 2;
    # January: A3 back (7), moved on to A4 at 7 + 1 prep; February: L1b discarded (3.33), A6 free
    assert months["closing_stock"].tolist() == [8.0, 6.66, 14.66, 11.33]
    # November: 24 - 5.35 - 7.35; December: 45 - 15 - 9.31 - 12; January: - 25 + 7 - 3; 6 - 3.33
    assert months["profit"].tolist() == [11.3, 8.69, -21.0, 2.67]


def test_cash_count_agrees(figures):
    assert figures.content.shown["Owner"]["difference"].dropna().tolist() == [0.0]


def test_tax_year(figures):
    totals = year_figures(figures, 2025)
    amounts = totals.amounts
    assert amounts["gross_receipts"] == 69.0
    assert amounts["returns"] == 0.0
    assert amounts["opening_stock"] == 0.0
    assert amounts["purchases"] == 32.35  # 5.35 + 8 + 7 + 2 + lot 10
    assert amounts["own_use"] == 5.34  # 3.34 own use + 2 donated
    assert amounts["closing_stock"] == 6.66
    assert amounts["cost_of_goods_sold"] == 20.35  # 5.35 + 8 + 7
    assert amounts["gross_profit"] == 48.65
    headings = totals.headings.set_index("heading")["amount"]
    assert headings["Commissions and fees"] == 6.01
    assert headings["Office expense and postage"] == 10.25
    assert headings["Supplies and packing"] == 0.4
    assert headings["Car: miles at the standard rate"] == 21.0  # 30 x 0.70, IRS Notice 2025-05
    assert headings["Advertising"] == 12.0
    assert amounts["net_profit"] == -1.01


def test_the_year_after(figures):
    totals = year_figures(figures, 2026)
    amounts = totals.amounts
    assert amounts["gross_receipts"] == 6.0
    assert amounts["returns"] == 25.0
    assert amounts["opening_stock"] == 6.66
    # A4's prep; its cost came over from A3, which came back from cost of goods sold.
    assert (amounts["purchases"], amounts["materials"]) == (0.0, 1.0)
    assert amounts["closing_stock"] == 11.33
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


@pytest.mark.parametrize(("edition", "seed"), in_turn(range(4)))
def test_random_logs_agree_and_tie(tmp_path, seed, edition):
    path = build_log(tmp_path / "log.xlsx", edition, 150, random_entries(seed, 150))
    content = load_log(path)
    figures = compute_log(content)
    result = compare(figures)
    assert result.differences == []
    assert result.compared > 4_000
    months = figures["Money"]
    change = (months["closing_cash"] + months["closing_stock"]).iloc[-1] - 500.0
    owners = (months["put_in"] - months["took_out"] - months["own_use"]).sum()
    assert change - owners == pytest.approx(months["profit"].sum(), abs=1e-6)
    checks = content.shown["Checks"]
    assert checks.loc[checks["kind"] == "mend", "count"].sum() == 0


def test_a_wrong_figure_in_the_workbook_is_found(figures):
    shown = {key: frame.copy() for key, frame in figures.content.shown.items()}
    shown["Log"].loc[shown["Log"].index[0], "net_profit"] += 0.01
    (difference,) = compare(figures, shown).differences
    assert "Sourcing log, row 7, Net profit: the workbook shows 11.31" in str(difference)


def test_an_empty_log(tmp_path):
    figures = compute_log(load_log(quick_log(tmp_path / "log.xlsx")))
    assert compare(figures).differences == []
    assert figures["Money"][["closing_cash", "closing_stock"]].to_numpy().tolist() == [[0.0, 0.0]]
    assert year_figures(figures, 2026).amounts["net_profit"] == 0


@pytest.mark.parametrize(
    ("setting", "label"),
    [("As_of_date", "Figures as of"), ("First_month", "First month of this log"), ("Tax_year", "Tax year")],
)
def test_without_its_dates_a_log_gives_no_figures(tmp_path, setting, label):
    entries = hand_made()
    entries.settings[setting] = None
    content = load_log(quick_log(tmp_path / "log.xlsx", entries=entries))
    with pytest.raises(LogFileError, match=f"log.xlsx: {label} on sheet Settings is blank"):
        compute_log(content)


def test_pieces_that_name_a_lot_where_there_is_none(tmp_path):
    entries = hand_made()
    entries.rows["Lots"] = []
    figures = compute_log(load_log(quick_log(tmp_path / "log.xlsx", entries=entries)))
    assert figures.left_out == 3
    assert compare(figures).differences == []


def test_no_rate_for_a_trip(tmp_path):
    entries = hand_made()
    entries.blocks["Mileage"] = []
    figures = compute_log(load_log(quick_log(tmp_path / "log.xlsx", entries=entries)))
    assert figures["Trips"]["deduction"].isna().all()
    assert compare(figures).differences == []
    entries = hand_made()
    entries.settings["As_of_date"] = D(2027, 3, 1)
    entries.rows["Trips"][0]["driven_on"] = D(2027, 1, 1)
    figures = compute_log(load_log(quick_log(tmp_path / "log.xlsx", entries=entries)))
    assert figures["Trips"]["rate"].isna().tolist() == [True, False], "no figure of the year before"
    row_checks = figures.content.shown["Trips"]["row_check"].tolist()
    assert row_checks[0] == "no rate for this date on Settings"


def test_a_time_of_day_on_the_last_day_of_a_rate(tmp_path):
    entries = hand_made()
    entries.blocks["Mileage"] = [{"from": D(2025, 1, 1), "until": D(2025, 12, 31), "rate": 0.7}]
    entries.rows["Trips"] = [
        {"driven_on": day, "purpose": "Buying", "to_place": "Town", "miles": 10}
        for day in (dt.datetime(2025, 12, 31, 13, 30), D(2026, 1, 1))
    ]
    figures = compute_log(load_log(quick_log(tmp_path / "log.xlsx", entries=entries)))
    assert figures["Trips"]["deduction"].fillna(-1).tolist() == [7.0, -1]
    assert compare(figures).differences == []


@pytest.mark.parametrize(("key", "value"), [("paid", "4,50"), ("sale_price", "$20"), ("paid", True)])
def test_text_in_an_amount_is_loud(tmp_path, key, value):
    """It is no figure, so the sums that it belongs to are errors and the row says why."""
    entries = hand_made()
    entries.rows["Log"][0][key] = value
    content = load_log(quick_log(tmp_path / "log.xlsx", entries=entries))
    assert "not_a_number" in {problem.key for problem in content.problems}
    first = content.shown["Log"].iloc[0]
    assert "text in place of a number or date" in first["row_check"]
    checks = content.shown["Checks"]
    assert checks.loc[checks["kind"] == "mend", "count"].sum() >= 1
    assert compute_log(content).left_out == 1


def test_a_time_of_day_on_the_last_day_of_the_tax_year(tmp_path):
    entries = hand_made()
    entries.rows["Log"][7]["left_on"] = dt.datetime(2025, 12, 31, 18, 30)
    entries.rows["Log"][1]["sold_on"] = dt.datetime(2025, 12, 31, 23, 59)
    content = load_log(quick_log(tmp_path / "log.xlsx", entries=entries))
    figures = compute_log(content)
    assert compare(figures).differences == []
    # Of 2025 are left A3, back only in January but sold in December, L1b and L1c, and A6, free.
    assert year_figures(figures, 2025).amounts["closing_stock"] == 6.66


def test_a_time_of_day_counts_as_its_day(tmp_path):
    entries = hand_made()
    entries.rows["Log"][0]["sold_on"] = dt.datetime(2025, 11, 20, 18, 30)
    figures = compute_log(load_log(quick_log(tmp_path / "log.xlsx", entries=entries)))
    assert figures["Log"]["days_held"].iloc[0] == 17
    assert compare(figures).differences == []


def test_log_that_begins_after_the_day_of_its_figures(tmp_path):
    entries = hand_made()
    entries.settings["As_of_date"] = D(2025, 10, 1)
    content = load_log(quick_log(tmp_path / "log.xlsx", entries=entries))
    checks = content.shown["Checks"].set_index("key")["count"]
    assert checks["Settings_order"] == 1
    assert len(compute_log(content).months) == 0


def failing(content) -> dict[str, float]:
    checks = content.shown["Checks"]
    return checks[checks["count"] > 0].set_index("key")["count"].to_dict()


def seen(content) -> set[str]:
    """The checks of Settings that fail."""
    return {key for key in failing(content) if key.startswith("Settings_")}


WRONG_SETTINGS = [
    # Each log holds what does not disturb each other: every check that fails is one of these.
    (
        {
            "Partner": [{"name": "Business", "share": 1.0}],
            "Channel": [{"name": "Site", "rate": 0.1, "least": 8.0, "most": 2.0}],
            "Heading": [{"heading": "Advertising", "from_log": "fees"}],
        },
        {"Tax_year": None, "First_month": D(2025, 11, 15)},
        "owner_names least words tax_lines year first",
    ),
    (
        {
            "Partner": [{"name": "Ada", "share": 0.5}, {"name": "Ada", "share": 0.5}],
            "Channel": [{"name": "Site", "rate": 0.1, "band_limit": 50.0}],
        },
        {"Tax_year": 26},
        "twice band year",
    ),
    (
        {"Partner": [{"name": "Ada", "share": 0.6}], "Channel": [{"name": "Site", "rate": 0.1, "per_order": -5.0}]},
        {"First_month": "1.11.2025"},
        "shares terms first numbers order",
    ),
    ({"Channel": [{"name": "Site", "rate": 0.1, "rate_above": 1.2}]}, {"Opening_cash": "$100"}, "terms numbers"),
    ({"Channel": [{"name": "Site", "rate": "10 %"}]}, {"As_of_date": None}, "terms numbers order"),
    ({"Channel": [{"name": "Site", "rate": 0.9, "ad_rate": 0.1}]}, {}, "rate"),
]


@pytest.mark.parametrize(("edition", "blocks", "settings", "checks"), in_turn(WRONG_SETTINGS))
def test_wrong_settings_are_seen_on_the_sheet(tmp_path, edition, blocks, settings, checks):
    entries = hand_made()
    entries.blocks |= blocks
    entries.settings |= settings
    content = load_log(quick_log(tmp_path / "log.xlsx", edition, entries))
    assert seen(content) == {f"Settings_{check}" for check in checks.split()}


def test_wrong_words_are_seen_in_the_row(tmp_path):
    wrong = {
        "left how is not in the list": {"left_how": "Gift", "left_on": D(2025, 12, 1)},
        "postage payer is not in the list": {"postage_payer": "buyr"},
        "came back, but there is no refund": {"returned_on": D(2025, 12, 1)},
        "refunded on, but no refund": {"refunded_on": D(2025, 12, 1)},
    }
    entries = hand_made()
    sold = entries.rows["Log"][0]
    entries.rows["Log"] = [sold | changes | {"item_no": f"W{row}"} for row, changes in enumerate(wrong.values())]
    content = load_log(quick_log(tmp_path / "log.xlsx", entries=entries))
    for message, check in zip(wrong, content.shown["Log"]["row_check"], strict=True):
        assert message in check


def test_a_lot_number_is_no_pattern(tmp_path):
    entries = hand_made()
    entries.rows["Lots"].append({"lot_no": "L*", "bought_on": D(2025, 12, 5), "paid": 6.0})
    entries.rows["Log"][3] |= {"lot_no": ">A"}
    entries.rows["Lots"].append({"lot_no": ">A", "bought_on": D(2025, 12, 5), "paid": 9.0})
    del entries.rows["Log"][3]["paid"], entries.rows["Log"][3]["paid_from"]
    entries.rows["Log"][3]["bought_on"] = None
    figures = compute_log(load_log(quick_log(tmp_path / "log.xlsx", entries=entries)))
    assert figures["Lots"]["pieces"].tolist() == [3.0, 0.0, 1.0]
    assert compare(figures).differences == []


def test_a_lot_without_its_day(tmp_path):
    entries = hand_made()
    entries.rows["Lots"][0]["bought_on"] = None
    content = load_log(quick_log(tmp_path / "log.xlsx", entries=entries))
    assert content.shown["Log"]["days_held"].iloc[4:7].isna().all()
    assert content.shown["Lots"]["row_check"].iloc[0] == "bought on is blank"


def test_all_findings_of_a_row_are_counted_however_many(tmp_path):
    entries = hand_made()
    entries.rows["Log"][0] = {
        "item_no": "A2", "bought_on": D(2030, 1, 1), "lot_no": "none", "paid_from": "nobody",
        "channel": "none", "sold_on": D(2020, 1, 1), "sale_price": -1.0, "refund": 50.0,
        "refunded_on": D(2019, 1, 1), "returned_on": D(2019, 1, 1), "left_how": "Gift",
        "left_on": D(2018, 12, 31), "postage_payer": "buyr", "paid": "x", "purchase_tax": 1.0,
    }  # fmt: skip
    content = load_log(quick_log(tmp_path / "log.xlsx", entries=entries))
    assert len(content.shown["Log"]["findings"].iloc[0]) > 300
    found = failing(content)
    for key in ("left_early", "after_as_of", "before_first", "no_left_how", "no_payer"):
        assert found.get(f"Log_{key}") == 1, key


def test_more_months_than_the_sheet_has(tmp_path):
    entries = hand_made()
    entries.settings["As_of_date"] = D(2032, 1, 31)
    content = load_log(quick_log(tmp_path / "log.xlsx", entries=entries))
    figures = compute_log(content)
    assert len(figures["Money"]) == 75
    assert compare(figures).differences == []
    assert "Money_months" in failing(content)
