"""Sheet Year end: figures worked out by hand, in both editions and in LibreOffice."""

from __future__ import annotations

import datetime as dt
from functools import cache
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from sheetfns import cost_of_goods_sold
from sheetfns.hosts import engine
from sheetfns.log.compare import compare
from sheetfns.log.compute import LogResults, compute_log, year_figures
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import EDITIONS, Edition
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.tax_rules.layout import tax_lines
from sheetfns.log.sheets.words import SUMMARY_ROWS
from tests.log.libreoffice_in_turn import recalculate_all
from tests.log.quick_logs import in_turn, quick_log
from tests.log.random_logs import random_entries
from tests.log.sheet_logs import sheet_figures, sheet_log

GENERIC = "Receipts and payments"


def day(year: int, month: int, number: int) -> dt.date:
    return dt.date(year, month, number)


def settings(**more: Any) -> Row:
    return {
        "Shop_name": "Two Shelves",
        "First_month": day(2026, 1, 1),
        "As_of_date": day(2026, 12, 31),
        "Tax_year": 2026,
        "Opening_cash": 1000,
    } | more


PARTNERS = [{"name": "Ada", "share": 0.6}, {"name": "Bo", "share": 0.4}]
CHANNELS = [{"name": "Site", "rate": 0.1}, {"name": "Booth"}]


def item(number: int, bought: dt.date, paid: float, **more: Any) -> Row:
    return {"item_no": f"P{number}", "bought_on": bought, "paid": paid} | more


def sale(on: dt.date, price: float, channel: str = "Site", **more: Any) -> Row:
    return {"channel": channel, "sold_on": on, "sale_price": price} | more


def one_year() -> Inputs:
    """One of everything that counts in 2026, and things of the years beside it that do not."""
    items = [
        # In stock at the start: 40. Sold in the year.
        item(1, day(2025, 12, 20), 40, **sale(day(2026, 2, 1), 100, shipping_charged=10,
              tax_collected=8, postage_paid=9, packaging=1)),
        # Bought for 20 with tax 1.50 and prep 3: sold, refunded in part the next year.
        item(2, day(2026, 1, 10), 20, purchase_tax=1.5, prep_cost=3,
              **sale(day(2026, 3, 1), 50, refund=5, refunded_on=day(2026, 4, 1))),
        # Personal use, donated, discarded: 7, 5 and 2.
        item(3, day(2026, 1, 11), 7, disposition="Personal use", disposition_date=day(2026, 5, 1), taken_by="Ada"),
        item(4, day(2026, 1, 12), 5, disposition="Donated", disposition_date=day(2026, 5, 2)),
        item(5, day(2026, 1, 13), 2, disposition="Discarded", disposition_date=day(2026, 5, 3)),
        # Still there at the end: 12.
        item(6, day(2026, 12, 31), 12),
        # At the booth, no fee: it came back for the whole refund, so that 9 is in stock again.
        item(7, day(2026, 1, 14), 9, **sale(day(2026, 6, 1), 30, "Booth", refund=30,
              returned_on=day(2026, 6, 8))),
    ]  # fmt: skip
    return Inputs(
        settings=settings(),
        blocks={
            "Partner": PARTNERS,
            "Channel": CHANNELS,
            "ByYear": [
                {"year": 2025, "filed_inventory": 40},
                {"year": 2026, "area": 120, "months": 6},
            ],
            "Taxes": [
                {"year": 2026, "partner": "Ada", "wages": 184_490, "rate": 0.2, "paid": 1.5},
                {"year": 2025, "partner": "Bo", "rate": 0.9},
            ],
            "Reported": [
                {"year": 2026, "channel": "Site", "gross": 155},
                {"year": 2025, "channel": "Booth", "gross": 999},
            ],
        },
        rows={
            "Log": items,
            "Lots": [{"lot_no": "L1", "bought_on": day(2026, 7, 1), "paid": 11}],
            "Expenses": [
                {"spent_on": day(2026, 1, 5), "heading": "Advertising", "amount": 3.25},
                {"spent_on": day(2026, 12, 31), "heading": "Other expenses", "amount": 2},
                {"spent_on": day(2026, 8, 8), "heading": "Car: parking and tolls", "amount": 1.1},
            ],
            "Trips": [
                trip(day(2026, 6, 30), 10),
                trip(day(2026, 7, 1), 10),
                trip(day(2026, 7, 2), 0.1),
            ],
            "Personal": [
                {"item": "Sofa", "whose": "Ada", "cost": 1000, "channel": "Site",
                 "sold_on": day(2026, 3, 3), "sale_price": 600},
                {"item": "Guitar", "cost": 500, "sold_on": day(2026, 3, 4), "sale_price": 900},
                {"item": "Desk", "cost": 70},
            ],
        },
    )  # fmt: skip


def trip(on: dt.date, miles: float, **more: Any) -> Row:
    return {"driven_on": on, "purpose": "Buying", "to_place": "Town", "miles": miles} | more


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """A log with these entries, built once for each edition, read back."""
    folder = tmp_path_factory.mktemp("years")

    @cache
    def build(make: Any, edition: Edition) -> LogContent:
        log = sheet_log(edition, "Year")
        return log.read(log.filled(folder / f"{make.__name__}_{edition}.xlsx", make()))

    return build


def worked_out(content: LogContent) -> LogResults:
    """What Python works out; that the workbook shows the same is part of every test with it."""
    assert content.edition is not None
    log = sheet_log(content.edition, "Year")
    figures = compute_log(content)
    assert compare(figures, sheets=log.keys).differences == []
    return figures


def lines(cells: pd.Series[Any]) -> dict[str, float]:
    """Amount by line number, of the lines that have one."""
    return {cells[f"line_{n}"]: cells[f"amount_{n}"] for n in range(1, SUMMARY_ROWS + 1) if cells[f"line_{n}"]}


def by_label(cells: pd.Series[Any]) -> dict[str, float]:
    return {cells[f"label_{n}"]: cells[f"amount_{n}"] for n in range(1, SUMMARY_ROWS + 1)}


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_year_by_hand(shown: Any, edition: Edition) -> None:
    content = shown(one_year, edition)
    assert content.problems == []
    cells = content.shown["Year"].iloc[0]
    expected = {
        "1": 190,  # 110 + 50 + 30
        "2": 35,
        "3": 155,
        "4": 66.5,  # P1 40, P2 24.50, P5 2
        "5": 88.5,
        "7": 88.5,
        "8": 3.25,
        "9": 1.1 + 14.93,  # 7.25 + 7.60 + 0.08 (0.076)
        "10": 16,  # 10% of 110 and of 50
        "11": 0,
        "13": 0,
        "15": 0,
        "16b": 0,
        "17": 0,
        "18": 9,
        "20b": 0,
        "21": 0,
        "22": 1,
        "23": 0,
        "24a": 0,
        "25": 0,
        "27b": 2,
        "28": 47.28,
        "29": 41.22,
        "30": 41.22,  # 120 x 5 x 6/12 = 300, but not more than the profit
        "31": 0,
        "35": 40,
        "36": 55.5,  # 20 + 1.50 + 7 + 5 + 2 + 12 + 9 + lot 11, less 7 and 5
        "37": 0,
        "38": 3,
        "39": 0,
        "40": 98.5,
        "41": 32,  # P6 12, P7 9, lot 11
        "42": 66.5,
    }
    assert lines(cells) == pytest.approx(expected, abs=1e-9)
    ties = [key for key in cells.index if key.startswith("tie_")]
    assert len(ties) == 8
    # The year begins with the log: there is no month before it to compare with.
    assert pd.isna(cells["tie_opening"])
    assert [cells[key] for key in ties if key != "tie_opening"] == [0] * 7
    assert (cells["own_sold"], cells["own_gain"], cells["own_loss"]) == (2, 400, 400)
    assert cells["office_simple"] == 300
    worked_out(content)


@pytest.mark.parametrize("edition", EDITIONS)
def test_miles_by_the_rate_of_their_date(shown: Any, edition: Edition) -> None:
    cells = shown(one_year, edition).shown["Year"].iloc[0]
    rates = [[cells[f"{key}_{n}"] for key in ("rate_from", "rate_until", "rate", "miles", "deduction")] for n in (1, 2)]
    assert rates == [
        [pd.Timestamp(2026, 1, 1), pd.Timestamp(2026, 6, 30), 0.725, 10, 7.25],
        [pd.Timestamp(2026, 7, 1), pd.Timestamp(2026, 12, 31), 0.76, 10.1, 7.68],
    ]
    assert pd.isna(cells["rate_from_3"])
    assert (cells["miles_all"], cells["deduction_all"]) == (20.1, 14.93)


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_report_against_the_log(shown: Any, edition: Edition) -> None:
    """Site took 150, 10 for shipping and 8 of tax, and the sofa of 600 was sold there too."""
    cells = shown(one_year, edition).shown["Year"].iloc[0]
    amounts = ("prices", "shipping", "collected", "own", "gross", "reported", "gap")
    assert [cells[f"{key}_1"] for key in amounts] == [150, 10, 8, 600, 768, 155, -613]
    assert cells["explained_1"] == ("613.00 less reported than in the log: look for sales of another channel or year")
    assert cells["channel_2"] == "Booth"
    assert pd.isna(cells["gap_2"])
    assert cells["reports_words"].startswith("By the log, no channel is over the limit")


GAPS = {
    158.0: "matches",
    150.0: "reported without tax collected",
    153.0: "reported after refunds",
    148.0: "reported without shipping",
    145.0: "without tax collected and after refunds",
    140.0: "without shipping and tax collected",
    143.0: "without shipping and after refunds",
    135.0: "without shipping and tax collected, after refunds",
    158.01: "0.01 more reported than in the log: look for sales missing from the log",
}


def gaps() -> Inputs:
    """Channels that sold alike and reported in different ways: 140 + 10 + 8, refund 5."""
    names = [f"Way {n}" for n in range(len(GAPS))]
    rows = [
        item(n, day(2026, 1, 2), 1, **sale(day(2026, 2, 1), 140, name, shipping_charged=10,
              tax_collected=8, refund=5))
        for n, name in enumerate(names)
    ]  # fmt: skip
    reports = [{"year": 2026, "channel": name, "gross": gross} for name, gross in zip(names, GAPS, strict=True)]
    blocks = {"Partner": PARTNERS, "Channel": [{"name": name} for name in names]}
    return Inputs(settings(), blocks | {"Reported": reports}, {"Log": rows})


@pytest.mark.parametrize("edition", EDITIONS)
def test_what_may_explain_a_gap(shown: Any, edition: Edition) -> None:
    cells = shown(gaps, edition).shown["Year"].iloc[0]
    found = [cells[f"explained_{n}"] for n in range(1, len(GAPS) + 1)]
    assert found == list(GAPS.values())


def profitable() -> Inputs:
    """One sale of 100,000 without any cost; Ada gets 60,000, Bo 40,000."""
    inputs = one_year()
    row = item(1, day(2026, 1, 2), 0, **sale(day(2026, 2, 1), 100_000, "Booth"))
    taxes = [
        {"year": 2026, "partner": "Ada", "wages": 150_000, "rate": 0.1, "paid": 2000.01},
        {"year": 2026, "partner": "Bo", "rate": 0.2},
    ]
    blocks = {"Partner": PARTNERS, "Channel": CHANNELS, "Taxes": taxes}
    return Inputs(inputs.settings, blocks, {"Log": [row]})


@pytest.mark.parametrize("edition", EDITIONS)
def test_taxes_of_each_partner(shown: Any, edition: Edition) -> None:
    """Wage base 184,500. Ada: 55,410 net earnings, 34,500 of them under the base."""
    cells = shown(profitable, edition).shown["Year"].iloc[0]
    ada = 4278 + 1606.89  # 12.4% of 34,500; 2.9% of 55,410
    bo = 4580.56 + 1071.26  # of 36,940
    income = (5705.76, 7434.82)  # 10% of 60,000 - 2,942.445; 20% of 40,000 - 2,825.91
    assert [cells[f"profit_{i}"] for i in (1, 2)] == [60_000, 40_000]
    assert [cells[f"self_tax_{i}"] for i in (1, 2)] == pytest.approx([ada, bo])
    assert [cells[f"half_tax_{i}"] for i in (1, 2)] == [2942.45, 2825.91]
    assert [cells[f"income_tax_{i}"] for i in (1, 2)] == pytest.approx(income)
    # Ada's 11,590.65 in quarters: 2,897.67 first, then 2,897.66; 2,000.01 is paid.
    assert [cells[f"payment_{n}_1"] for n in (1, 2, 3, 4)] == [897.66, 2897.66, 2897.66, 2897.66]
    assert cells["hold_back_1"] == 9590.64
    # Bo's 13,086.64 in four equal parts.
    assert [cells[f"payment_{n}_2"] for n in (1, 2, 3, 4)] == [3271.66] * 4
    assert [cells[f"due_{n}"] for n in (1, 2, 3, 4)] == [
        pd.Timestamp(2026, 4, 15),
        pd.Timestamp(2026, 6, 15),
        pd.Timestamp(2026, 9, 15),
        pd.Timestamp(2027, 1, 15),
    ]
    assert cells["hold_back_all"] == pytest.approx(9590.64 + 13_086.64)


def generic() -> Inputs:
    inputs = one_year()
    inputs.settings["Year_rules"] = GENERIC
    return inputs


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_plain_statement_for_other_places(shown: Any, edition: Edition) -> None:
    """No lines, miles, home office or taxes of the US: receipts, goods and costs by heading."""
    content = shown(generic, edition)
    cells = content.shown["Year"].iloc[0]
    amounts = by_label(cells)
    assert amounts["Prices and shipping received"] == 190
    assert amounts["Receipts less refunds"] == 155
    assert amounts["Purchases less personal use"] == 58.5
    assert amounts["Change of inventory at cost"] == -8
    assert amounts["Cost of goods sold and discarded"] == 66.5
    assert amounts["Car: miles at the standard rate"] == 0
    assert amounts["Total costs"] == pytest.approx(32.35)
    assert amounts["Net for the year"] == pytest.approx(56.15)
    assert not any(cells[f"line_{n}"] for n in range(1, SUMMARY_ROWS + 1))
    assert all(pd.isna(cells[f"self_tax_{i}"]) for i in (1, 2))
    assert cells["taxes_words"].startswith("These rules calculate no taxes")
    assert (cells["miles_all"], cells["office_counted"]) == (20.1, 0)
    worked_out(content)


def no_wage_base() -> Inputs:
    inputs = one_year()
    figure = {"from": day(2026, 1, 1), "until": day(2026, 12, 31), "source": "a test"}
    inputs.blocks["TaxFigure"] = [
        {"name": "Home office rate", "value": 5} | figure,
        {"name": "Home office limit", "value": 100} | figure,
        {"name": "Net earnings share", "value": 0.9235} | figure,
        {"name": "Wage base", "value": 184_500} | figure | {"until": day(2026, 12, 30)},
    ]
    return inputs


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_missing_figure_is_said(shown: Any, edition: Edition) -> None:
    content = shown(no_wage_base, edition)
    cells = content.shown["Year"].iloc[0]
    assert cells["taxes_words"] == (
        "No taxes are calculated: on Settings, Tax figures by date, no single row of Wage base, "
        "Minimum net earnings, Social security rate, Medicare rate, Deductible share covers "
        "2026-12-31. Add it when it is published."
    )
    assert all(pd.isna(cells[f"{key}_{i}"]) for key in ("self_tax", "hold_back") for i in (1, 2))
    # A limit of one's own holds.
    assert cells["office_simple"] == 250
    assert cells["reports_words"] == ("Tax figures by date have no limit for reports of 2026; ask each channel.")
    checks = content.shown["Data checks"].set_index("key")["count"]
    assert checks["Year_figures"] == 1
    figures = year_figures(worked_out(content), 2026)
    assert figures.missing == (
        *("Wage base", "Minimum net earnings", "Social security rate", "Medicare rate"),
        "Deductible share",
    )


def year_without_lines() -> Inputs:
    inputs = one_year()
    inputs.settings |= {"Tax_year": 2027, "As_of_date": day(2027, 2, 1)}
    return inputs


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_year_that_the_rules_do_not_know(shown: Any, edition: Edition) -> None:
    content = shown(year_without_lines, edition)
    cells = content.shown["Year"].iloc[0]
    assert cells["state"] == (
        "Sheet Tax rules has no lines of 'US sole proprietor' for 2027: choose other rules or another year on "
        "Settings, or get a newer sheetfns."
    )
    assert "no single row of Wage base" in cells["taxes_words"]
    assert set(by_label(cells)) == {""}
    checks = content.shown["Data checks"].set_index("key")["count"]
    assert (checks["Year_lines"], checks["Year_figures"] > 0) == (1, True)
    assert year_figures(worked_out(content), 2027).lines == ()


def changed_past() -> Inputs:
    """The return of 2025 closed with 40; a row of that year was changed afterwards."""
    inputs = one_year()
    inputs.rows["Log"][0]["paid"] = 39
    inputs.rows["Trips"].append({"driven_on": day(2026, 9, 1), "miles": 5})
    return inputs


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_changed_past_and_a_trip_that_lacks_something(shown: Any, edition: Edition) -> None:
    content = shown(changed_past, edition)
    cells = content.shown["Year"].iloc[0]
    assert cells["tie_filed"] == -1
    checks = content.shown["Data checks"].set_index("key")["count"]
    assert checks["Year_tie_filed"] == 1
    assert (cells["lacking_all"], cells["lacking_1"]) == (1, "Trips, row 10")
    assert cells["lacking_day_1"] == pd.Timestamp(2026, 9, 1)
    assert cells["lacking_what_1"] == "fill in purpose, to and miles"
    assert cells["lacking_2"] == ""


@pytest.mark.libreoffice
def test_libreoffice_shows_the_same(shown: Any, tmp_path: Path) -> None:
    makes = (one_year, gaps, profitable, generic, no_wage_base, year_without_lines, changed_past)
    before = [shown(make, "plain") for make in makes]
    saved = recalculate_all([content.path for content in before], tmp_path)
    for content, path in zip(before, saved, strict=True):
        after = sheet_log("plain", "Year").read(path).shown
        pd.testing.assert_frame_equal(after["Year"], content.shown["Year"], obj=path.name)
        pd.testing.assert_frame_equal(after["Data checks"], content.shown["Data checks"], obj=path.name)


def test_the_illustration_of_publication_334(tmp_path: Path) -> None:
    """IRS Publication 334 (2016), ch. 7, read: receipts 400,000, returns 14,940, opening 37,845,
    purchases 285,900, personal use 2,650, closing 32,955."""
    rows = [
        item(1, day(2025, 12, 1), 37_845, **sale(day(2026, 2, 1), 100_000, "Booth")),
        item(2, day(2026, 1, 2), 2_650, disposition="Personal use", disposition_date=day(2026, 3, 1)),
        item(3, day(2026, 1, 3), 32_955),
        item(4, day(2026, 1, 4), 250_295, **sale(day(2026, 4, 1), 300_000, "Booth", refund=14_940)),
    ]  # fmt: skip
    blocks = {"Partner": PARTNERS, "Channel": CHANNELS}
    inputs = Inputs(settings(), blocks, {"Log": rows})
    content = sheet_figures(tmp_path / "log.xlsx", inputs, "plain", "Year").content
    assert content.problems == []
    found = lines(content.shown["Year"].iloc[0])
    assert {number: found[number] for number in ("1", "2", "3", "35", "36", "40", "41", "42")} == {
        "1": 400_000,
        "2": 14_940,
        "3": 385_060,
        "35": 37_845,
        "36": 283_250,
        "40": 321_095,
        "41": 32_955,
        "42": 288_140,
    }
    assert (found["4"], found["5"]) == (288_140, 96_920)
    assert cost_of_goods_sold(37_845, 285_900, 2_650, 32_955) == 288_140


def test_lines_change_with_the_year() -> None:
    """Schedule C: other expenses are on line 27a for 2023 and 2024, on 27b from 2025 (a copy that
    cites the form)."""
    by_year = {
        year: [line.line for line in tax_lines() if line.figure == "spent_other" and line.holds_in(year)]
        for year in range(2018, 2028)
    }  # fmt: skip
    assert by_year == ({year: ["27a"] for year in range(2018, 2025)} | {2025: ["27b"], 2026: ["27b"], 2027: []})


@pytest.mark.parametrize(("edition", "seed"), in_turn((0, 2, 1, 3)))
def test_random_logs(edition: Edition, seed: int, tmp_path: Path) -> None:
    inputs = random_entries(seed, 14)
    inputs.settings |= {"Tax_year": 2025 + seed // 2}
    if seed % 2:
        inputs.settings["Year_rules"] = GENERIC
    content = load_log(quick_log(tmp_path / "log.xlsx", edition, inputs))
    assert content.problems == []
    assert compare(compute_log(content)).differences == []
    fix = content.shown["Data checks"]
    assert fix.loc[(fix["kind"] == "fix") & (fix["count"] != 0), "label"].tolist() == []
    assert engine.recalculate(tmp_path / "log.xlsx").errors == []
