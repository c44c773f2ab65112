"""Sheets Pay and Forecast against two small shops worked out by hand, and in every program."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from sheetfns import growth_odds, growth_path, inventory_for_pay, weeks_to_pay
from sheetfns.functions.pay import CLAIMS, FREE, NO_CASH
from sheetfns.log.compare import compare
from sheetfns.log.compute import LogResults, compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import EDITIONS, Edition
from sheetfns.log.sheets.words import ODDS_EVERY, WEEKS_AHEAD
from sheetfns.log.write.build import build_log
from tests.log.filled_logs import small_log
from tests.log.libreoffice_in_turn import recalculate_all
from tests.log.quick_logs import in_turn, quick_log
from tests.log.sheet_logs import sheet_figures, sheet_log

D = dt.date
both = pytest.mark.parametrize("edition", EDITIONS)
Changed = Callable[..., LogResults]


def item(number: str, bought_on: dt.date, paid: float, **more: Any) -> Row:
    return {"item_no": number, "bought_on": bought_on, "paid": paid, **more}


def sale(sold_on: dt.date, price: float, channel: str = "Local sale", **more: Any) -> Row:
    """At the local sale there is no fee."""
    return {"channel": channel, "sold_on": sold_on, "sale_price": price, **more}


def march_shop() -> Inputs:
    """As of 31 March, averages over 30 days: from 2 March on.

    sold            sale    fee   postage  packaging  refund  cost   net profit
    P1   1 March    30.00   3.30  4.20     0.50             10.00  12.00   a day too early
    P2   2 March    28.00   3.10  4.30     0.60              8.00  12.00   the first day
    P3  10 March    40.00   4.30  5.70     0.50      6.00   12.00  11.50
    P4  12 March    15.00   0.50                    15.00    6.00  -0.50   back on 20 March
    P6  31 March    20.00                                    9.00  11.00   the last day
    P10 25 March     5.00                                    0.00   5.00   was free

    cash      January 500 - 24 - 14 = 462; February - 21 = 441; March + 138 sales - 21 refunds
              - 11.20 fees - 14.20 postage - 1.60 packaging - 32 inventory - 39 expenses - 50 taken out
    inventory     January 38; February + 21 = 59; March + 32 - (45 - 6) sold - 4 personal use - 5 discarded
    """
    return Inputs(
        {
            "First_month": D(2026, 1, 1),
            "As_of_date": D(2026, 3, 31),
            "Opening_cash": 500.0,
            "Average_days": 30,
            "Tax_reserve": 0.0,
            "Restock_reserve": 0.0,
        },
        {"Channel": [{"name": "Site", "rate": 0.1, "per_order": 0.3}, {"name": "Local sale"}]},
        {
            "Log": [
                item("P1", D(2026, 1, 5), 10.0) | sale(D(2026, 3, 1), 30.0, "Site", postage_paid=4.2, packaging=0.5),
                item("P2", D(2026, 1, 5), 8.0)
                | sale(D(2026, 3, 2), 24.0, "Site", shipping_charged=4.0)
                | {"postage_paid": 4.3, "packaging": 0.6},
                item("P3", D(2026, 2, 10), 12.0)
                | sale(D(2026, 3, 10), 40.0, "Site", postage_paid=5.7, packaging=0.5)
                | {"refund": 6.0, "refunded_on": D(2026, 3, 15)},
                item("P4", D(2026, 2, 10), 6.0)
                | sale(D(2026, 3, 12), 15.0, "Site", fee_charged=0.5, refund=15.0)
                | {"refunded_on": D(2026, 3, 20), "returned_on": D(2026, 3, 20)},
                item("P5", D(2026, 2, 10), 3.0, disposition="Discarded", disposition_date=D(2026, 3, 5)),
                item("P6", D(2026, 3, 2), 9.0) | sale(D(2026, 3, 31), 20.0),
                item("P7", D(2026, 3, 15), 7.5, purchase_tax=0.5, listed_on=D(2026, 3, 20)),
                item("P8", D(2026, 3, 1), 5.0),
                item("P9", D(2026, 1, 5), 4.0, disposition="Personal use", disposition_date=D(2026, 3, 8)),
                item("P10", D(2026, 3, 3), 0.0) | sale(D(2026, 3, 25), 5.0),
                item("P11", D(2026, 1, 20), 14.0, listed_on=D(2026, 2, 1)),
                item("P12", D(2026, 1, 5), 2.0, disposition="Discarded", disposition_date=D(2026, 3, 1)),
                {"item_no": "L1a", "lot_no": "L1", "expected_price": 10.0},
            ],
            "Lots": [{"lot_no": "L1", "bought_on": D(2026, 3, 4), "paid": 10.0}],
            "Expenses": [
                {"spent_on": day, "heading": "Advertising", "amount": amount}
                for day, amount in ((D(2026, 3, 1), 9.0), (D(2026, 3, 2), 12.0), (D(2026, 3, 31), 18.0))
            ],
            "Owner": [{"moved_on": D(2026, 3, 16), "partner": "Partner 1", "took_out": 50.0}],
        },
    )


def five_weeks() -> Inputs:
    """A log that is five weeks old on 4 April, though averages are over the last 90 days.

    Q1 60.00 -> 100.00, Q2 40.00 -> 60.00, Q3 50.00 -> 80.00: 90.00 of profit; Q5 free -> 20.00.
    Q4 (10.00) was discarded, Q6 (20.00) came back with all its money, Q7 (5.00) is in personal use, and
    Q8 (40.00) is on hand.
    Cash is 35 + 280 sales - 20 refund - 125 bought - 120 taken out = 50; inventory was 100 and is 60.
    """
    return Inputs(
        {
            "First_month": D(2026, 3, 1),
            "As_of_date": D(2026, 4, 4),
            "Opening_cash": 35.0,
            "Fixed_costs": 36.5,
            "Pay_target": 182.5,
            "Tax_reserve": 0.0,
            "Restock_reserve": 20.0,
        },
        rows={
            "Log": [
                item("Q1", D(2026, 2, 20), 60.0) | sale(D(2026, 3, 10), 100.0),
                item("Q2", D(2026, 2, 20), 40.0) | sale(D(2026, 3, 24), 60.0),
                item("Q3", D(2026, 3, 3), 50.0) | sale(D(2026, 3, 24), 80.0),
                item("Q4", D(2026, 3, 3), 10.0, disposition="Discarded", disposition_date=D(2026, 3, 30)),
                item("Q5", D(2026, 3, 3), 0.0) | sale(D(2026, 3, 20), 20.0),
                item("Q6", D(2026, 3, 4), 20.0)
                | sale(D(2026, 3, 11), 20.0, refund=20.0, refunded_on=D(2026, 3, 18))
                | {"returned_on": D(2026, 3, 18)},
                item("Q7", D(2026, 3, 4), 5.0, disposition="Personal use", disposition_date=D(2026, 3, 6)),
                item("Q8", D(2026, 3, 25), 40.0),
            ],
            "Owner": [{"moved_on": D(2026, 4, 2), "partner": "Partner 1", "took_out": 120.0}],
        },
    )


def worked_out(path: Path, inputs: Inputs | None, edition: Edition = "plain") -> LogResults:
    """Both the workbook and Python; that they agree is part of every test here."""
    return sheet_figures(path, inputs, edition, "Pay")


def whole_log(path: Path, inputs: Inputs, edition: Edition) -> LogResults:
    """The same of a log with every sheet."""
    figures = compute_log(load_log(quick_log(path, edition, inputs)))
    assert compare(figures).differences == []
    return figures


@pytest.fixture
def changed(tmp_path) -> Changed:
    """A shop's log with some settings changed."""

    def made(shop: Callable[[], Inputs], edition: Edition = "plain", **settings: Any) -> LogResults:
        inputs = shop()
        inputs.settings |= settings
        return worked_out(tmp_path / f"{edition}.xlsx", inputs, edition)

    return made


def plain_value(cell: Any) -> Any:
    if isinstance(cell, str):
        return cell
    return "" if pd.isna(cell) else cell


def shown(figures: LogResults, *keys: str) -> list[Any]:
    """What the workbook shows."""
    row = figures.content.shown["Pay"].iloc[0]
    return [plain_value(row[key]) for key in keys]


def said(figures: LogResults, key: str) -> str:
    return str(figures.content.shown["Pay"].iloc[0][key])


def numbers(figures: LogResults, **wanted: float) -> None:
    found = dict(zip(wanted, shown(figures, *wanted), strict=True))
    assert found == pytest.approx(wanted, rel=1e-12)


@pytest.fixture(scope="module", params=EDITIONS)
def march(request, tmp_path_factory) -> LogResults:
    return whole_log(tmp_path_factory.mktemp("m") / "log.xlsx", march_shop(), request.param)


@pytest.fixture(scope="module", params=EDITIONS)
def weeks(request, tmp_path_factory) -> LogResults:
    return whole_log(tmp_path_factory.mktemp("w") / "log.xlsx", five_weeks(), request.param)


# ---- what may be taken out -------------------------------------------------------------------


def test_nothing_is_wrong_with_the_shops(march, weeks):
    assert march.content.problems == weeks.content.problems == []


def test_cash_and_inventory(march):
    # In: 138 of sales. Out: 24 + 14 + 21, and in March 21 + 11.20 + 14.20 + 1.60 + 32 + 39 + 50.
    numbers(march, cash_in=138, cash_out=228, cash=410, inventory_now=43)


@pytest.mark.parametrize(
    ("edition", "day", "cash", "inventory"),
    in_turn([
        # January and February as above: 441 and 59. On 1 March P1 brings 30 - 3.30 - 4.20 - 0.50 =
        # 22 and goes (10), P8 comes for 5, P12 (2) is thrown away, 9 are spent.
        (D(2026, 3, 1), 449.0, 52.0),
        # 2 March: P2 brings 28 - 3.10 - 4.30 - 0.60 = 20 and goes (8), P6 comes for 9, 12 are spent.
        (D(2026, 3, 2), 448.0, 53.0),
        # Of what is dated after: P6's 20 and its cost of 9, and 18 of expenses on 31 March.
        (D(2026, 3, 30), 408.0, 52.0),
    ]),
)  # fmt: skip
def test_cash_and_inventory_are_those_of_the_day(changed, edition, day, cash, inventory):
    figures = changed(march_shop, edition, As_of_date=day)
    numbers(figures, cash=cash, inventory_now=inventory)


def test_a_sale_later_on_that_day_counts(tmp_path):
    """P6 brings 20 at noon of 31 March."""
    inputs = march_shop()
    inputs.rows["Log"][5]["sold_on"] = dt.datetime(2026, 3, 31, 12, 0)
    numbers(worked_out(tmp_path / "log.xlsx", inputs), cash=410, inventory_now=43)


_BILLS, _REFUNDS, _TAXES, _INVENTORY = CLAIMS


@both
@pytest.mark.parametrize(
    ("claims", "answer", "reason"),
    [
        ((10, 20, 30, 40), "You may take out 310.00", FREE),
        ((100, 100, 100, 109.99), "You may take out 0.01", FREE),
        ((410, 0, 0, 0), "Take nothing out now", _BILLS),
        ((500, 1, 1, 1), "Take nothing out now", _BILLS),
        ((300, 110, 0, 0), "Take nothing out now", _REFUNDS),
        ((100, 100, 210, 0), "Take nothing out now", _TAXES),
        ((0, 0, 411, 9), "Take nothing out now", _TAXES),
        ((100, 100, 100, 110), "Take nothing out now", _INVENTORY),
    ],
)
def test_what_may_be_taken_out(changed, edition, claims, answer, reason):
    names = ("Bills_due", "Open_refunds", "Tax_reserve", "Restock_reserve")
    figures = changed(march_shop, edition, **dict(zip(names, map(float, claims), strict=True)))
    assert shown(figures, "answer", "reason") == [answer, reason]
    assert shown(figures, *map(str.lower, names)) == list(claims)
    numbers(figures, claims=sum(claims))
    (free,) = shown(figures, "safe_draw")
    assert free == pytest.approx(max(0, 410 - sum(claims)), abs=1e-9)


@both
def test_claims_that_reach_the_cash_but_for_binary_places(changed, edition):
    """Cash is 0.30, and 0.30 - 0.10 - 0.20 is not 0 in binary."""
    figures = changed(march_shop, edition, Opening_cash=90.3, Bills_due=0.1, Open_refunds=0.2)
    assert shown(figures, "answer", "reason") == ["Take nothing out now", _REFUNDS]


@both
@pytest.mark.parametrize(("opening", "cash"), [(90.0, 0.0), (79.99, -10.01)])
def test_no_cash(changed, edition, opening, cash):
    figures = changed(march_shop, edition, Opening_cash=opening, Bills_due=5.0)
    numbers(figures, cash=cash, safe_draw=0)
    assert shown(figures, "answer", "reason") == ["Take nothing out now", NO_CASH]


@pytest.mark.parametrize(("edition", "name"), in_turn(["Bills_due", "Open_refunds", "Tax_reserve", "Restock_reserve"]))
def test_a_claim_below_0_is_to_be_fixed(tmp_path, edition, name):
    """The reader drops -1; to count 0 in its place would free money that has a claim on it."""
    inputs = march_shop()
    inputs.settings |= {name: -1.0, "Pay_target": 5.0}
    figures = worked_out(tmp_path / "log.xlsx", inputs, edition)
    row = figures.content.shown["Pay"].iloc[0]
    assert row["forecast_words"] == "No forecast: fix the amounts on Settings first."
    assert (row["answer"], row["reason"]) == ("Fix the amounts on Settings first", "")
    assert pd.isna(row["safe_draw"]) and row["ready"] == 0
    (problem,) = figures.content.problems
    assert "-1 is below 0; write 0 or more" in str(problem)


# Each alone: the sheet tells blanks from texts and amounts below 0, but not how many there are.
@pytest.mark.parametrize(
    ("edition", "name", "typed"),
    in_turn([
        *((name, None) for name in ("Bills_due", "Open_refunds", "Tax_share", "Restock_days")),
        *((name, None) for name in ("Pay_target", "Average_days", "Stale_days")),
        *((name, "some") for name in ("Bills_due", "Pay_target", "Fixed_costs", "Weekly_limit")),
        *((name, "some") for name in ("Tax_reserve", "Restock_reserve", "Tax_share", "Restock_days")),
        ("Weekly_limit", -1.0),
    ]),
)  # fmt: skip
def test_a_setting_that_cannot_be_read_is_to_be_fixed(tmp_path, edition, name, typed):
    """To take it for 0, or for a default, could free money that has a claim on it."""
    inputs = march_shop()
    inputs.settings |= {name: typed}
    log = sheet_log(edition, "Charts")
    figures = compute_log(log.read(log.filled(tmp_path / "log.xlsx", inputs)))
    # Other sheets may show a setting that is not there in their own way.
    assert compare(figures, sheets=("Pay", "Forecast", "Charts")).differences == []
    keys = ("to_fix", "answer", "reason", "safe_draw", "ready")
    assert shown(figures, *keys) == [1, "Fix the amounts on Settings first", "", "", 0]
    assert said(figures, "forecast_words") == "No forecast: fix the amounts on Settings first."


def test_blank_averages_that_are_worked_out_need_no_fixing(changed):
    figures = changed(march_shop, "functions", Fixed_costs=None, Weekly_limit=None)
    numbers(figures, to_fix=0, ready=1)


NOTHING_TYPED = "no bills, refunds, taxes or reserve are entered on Settings: first enter what cash is reserved for"


@both
def test_cash_on_which_nothing_has_a_claim(changed, edition):
    """That nothing is due is likelier forgotten than so."""
    figures = changed(march_shop, edition)
    assert shown(figures, "answer", "reason") == ["You may take out 410.00", NOTHING_TYPED]
    numbers(figures, claims=0, safe_draw=410)


# ---- what is kept where nothing is typed -----------------------------------------------------

BLANK: dict[str, Any] = {"Tax_reserve": None, "Restock_reserve": None}


@both
def test_careful_reserves(changed, edition):
    """30% of the profit of 7.00; and P6 9.00, P7 8.00 and lot L1 10.00 were bought from 2 March on."""
    figures = changed(march_shop, edition, **BLANK)
    numbers(figures, year_profit=7, tax_reserve=2.1, restock_reserve=27, claims=29.1, safe_draw=380.9, to_fix=0)
    assert shown(figures, "answer", "reason") == ["You may take out 380.90", FREE]
    assert shown(figures, "tax_note", "restock_note") == [
        "careful: 30% of the last 12 months' profit",
        "careful: what the last 30 days' purchases cost",
    ]


@pytest.mark.parametrize(
    ("edition", "settings", "kept"),
    in_turn([
        # From 1 March on P8 counts too, 5.00.
        ({"Restock_days": 31.0}, (2.1, 32.0)),
        ({"Restock_days": 1.0, "Tax_share": 0.0}, (0.0, 0.0)),
        ({"Tax_share": 1.0, "Restock_reserve": 4.0}, (7.0, 4.0)),
        ({"Tax_reserve": 3.33}, (3.33, 27.0)),
        # Half a cent: 0.155 x 7 = 1.085.
        ({"Tax_share": 0.155}, (1.09, 27.0)),
    ]),
)  # fmt: skip
def test_careful_reserves_by_their_settings(changed, edition, settings, kept):
    figures = changed(march_shop, edition, **BLANK | settings)
    assert shown(figures, "tax_reserve", "restock_reserve") == pytest.approx(kept)
    typed = [name for name in BLANK if settings.get(name) is not None]
    assert [name for name in BLANK if said(figures, f"{name.split('_')[0].lower()}_note") == ""] == typed


@both
def test_taxes_are_kept_of_the_last_12_months(changed, edition):
    """March 2025 is the thirteenth month: its 100.00 are left out, and the 50.00 of April count."""

    def older() -> Inputs:
        inputs = march_shop()
        inputs.settings["First_month"] = D(2025, 1, 1)
        inputs.rows["Log"] += [
            item("O1", D(2025, 1, 5), 0.0) | sale(D(2025, 3, 31), 100.0),
            item("O2", D(2025, 1, 5), 0.0) | sale(D(2025, 4, 1), 50.0),
        ]
        return inputs

    figures = changed(older, edition, **BLANK)
    numbers(figures, profit_so_far=157, year_profit=57, tax_reserve=17.1)


def test_nothing_is_kept_for_taxes_of_a_loss(tmp_path):
    inputs = march_shop()
    inputs.settings |= BLANK
    inputs.rows["Expenses"][1]["amount"] = 32.0
    numbers(worked_out(tmp_path / "log.xlsx", inputs), year_profit=-13, tax_reserve=0, restock_reserve=27)


@pytest.mark.parametrize(
    ("edition", "settings", "cash"),
    in_turn([
        ({"Trip_cash": None, "Bills_due": 10.0, "Open_refunds": 20.0, "Tax_reserve": 30.0}, 350.0),
        # What is kept for purchases is there to buy with.
        ({"Trip_cash": None, "Restock_reserve": 400.0}, 410.0),
        ({"Trip_cash": None, "Bills_due": 500.0}, 0.0),
        ({"Trip_cash": 95.5, "Bills_due": 500.0}, 95.5),
        ({"Trip_cash": 0.0}, 0.0),
        ({"Trip_cash": "some"}, 0.0),
        ({"Trip_cash": -5.0}, 0.0),
        ({"Trip_cash": None, "Bills_due": "some"}, 0.0),
    ]),
)  # fmt: skip
def test_cash_for_buying(changed, edition, settings, cash):
    figures = changed(march_shop, edition, **settings)
    numbers(figures, buying_cash=cash, buying_shown=cash)


def test_profit_so_far(march, weeks):
    # 12 + 12 + 11.50 - 0.50 + 11 + 5 of sales, 3 + 2 discarded, 39 of expenses.
    numbers(march, profit_so_far=7)
    assert said(march, "profit_note") == "sheet Partners shows whose it is"
    numbers(march, profit_shown=7)
    # 40 + 20 + 30 + 20 of sales, 10 discarded.
    numbers(weeks, profit_so_far=100)


def test_money_taken_out_of_a_loss(tmp_path):
    """20.00 more spent in March than above: 7 - 20."""
    inputs = march_shop()
    inputs.rows["Expenses"][1]["amount"] = 32.0
    figures = worked_out(tmp_path / "log.xlsx", inputs)
    numbers(figures, profit_shown=-13)
    assert said(figures, "profit_note") == "a loss: what you take out is money that the owners put in"


def count(day: dt.date, counted: float) -> Row:
    return {"moved_on": day, "cash_counted": counted}


AGREED = "counted {}: matched"
DIFFERED = "counted {}: off by {}; find out why"


@pytest.mark.parametrize(
    ("edition", "counts", "words"),
    in_turn([
        ([], "never counted: count it before you take any out"),
        ([count(D(2026, 2, 28), 441.0)], AGREED.format("31 days ago")),
        ([count(D(2026, 2, 28), 440.5)], DIFFERED.format("31 days ago", "-0.50")),
        ([count(D(2026, 3, 31), 1410.0)], DIFFERED.format("today", "1,000.00")),
        ([count(D(2026, 3, 30), 408.0)], AGREED.format("yesterday")),
        # The later day counts, not the later row.
        ([count(D(2026, 3, 31), 410.0), count(D(2026, 2, 28), 7.0)], AGREED.format("today")),
        # Two counts of one day: the later row.
        ([count(D(2026, 3, 31), 410.0), count(D(2026, 3, 31), 405.0)], DIFFERED.format("today", "-5.00")),
    ]),
)  # fmt: skip
def test_the_last_count(tmp_path, edition, counts, words):
    inputs = march_shop()
    inputs.rows["Owner"] += counts
    figures = worked_out(tmp_path / "log.xlsx", inputs, edition)
    assert said(figures, "count_note") == words


# ---- averages --------------------------------------------------------------------------------


def test_the_days_of_the_averages(march):
    assert shown(march, "first_day") == [pd.Timestamp(2026, 3, 2)]
    # P2, P3, P6 and P10; P4 came back, P1 sold a day too early.
    numbers(march, days_counted=30, items=4)
    # 28 + (40 - 6) + (15 - 15) + 20 + 5; 12 + 11.5 - 0.5 + 11 + 5; P5, and P12 is a day too early.
    numbers(march, net_sales=87, net_profit=39, discarded=3)
    # P6 9 + P7 8 + P10 0 + lot 10, and P8 is a day too early; expenses 12 + 18.
    numbers(march, bought=27, expenses=30)
    # 8 + 12 + 9 + 0 of items sold and kept, and 3 discarded; P10 was free and brought 5.
    numbers(march, turned_cost=32, cost_per_item=8, free_profit=5)
    assert said(march, "average_words") == (
        "4 items sold in the last 30 days, after refunds and discarded items. Few sales or days: a rough estimate."
    )


FEW = " Few sales or days: a rough estimate."


@pytest.mark.parametrize(("days", "sales", "few"), [(30, 10, False), (30, 9, True), (29, 10, True), (31, 10, False)])
def test_few_sales_or_days(tmp_path, days, sales, few):
    """Fewer than ten sales, or than 30 days."""
    log = [item(f"N{i}", D(2026, 3, 2), 4.0) | sale(D(2026, 3, 31), 9.0) for i in range(sales)]
    figures = worked_out(
        tmp_path / "log.xlsx",
        Inputs(
            {"First_month": D(2026, 1, 1), "As_of_date": D(2026, 3, 31), "Opening_cash": 100.0, "Average_days": days},
            rows={"Log": log},
        ),
    )
    assert said(figures, "average_words") == (
        f"{sales} items sold in the last {days} days, after refunds and discarded items.{FEW if few else ''}"
    )


def test_one_sale_on_average(march):
    # 87 / 4; (87 - 39 + 3) / 4
    numbers(march, price=21.75, variable_cost=12.75, contribution=9, ratio=12 / 29)


def test_return_and_days_to_turn(march):
    # (39 - 5 of the free P10 - 3) / 32: no money buys more of what was free.
    numbers(march, return_rate=0.96875)
    # Before 2 March there were 59 + 5 (P8) - 10 (P1) - 2 (P12); the mean with 43 is 47.50, more
    # than 43; 47.5 / (32 / 30).
    numbers(march, inventory_then=52, days_to_turn=44.53125)


@both
def test_inventory_that_has_grown_turns_as_slowly_as_it_is_large(tmp_path, edition):
    """P13 makes the inventory 43 + 57 = 100, over the mean of 52 and 100: 100 / (32 / 30)."""
    inputs = march_shop()
    inputs.rows["Log"].append(item("P13", D(2026, 3, 30), 57.0))
    figures = worked_out(tmp_path / "log.xlsx", inputs, edition)
    numbers(figures, inventory_then=52, inventory_now=100, days_to_turn=93.75)


@both
def test_the_log_of_free_items(tmp_path, edition):
    """Nothing that had cost something was sold: no return on nothing."""
    inputs = one_sale(9.0, 0.0)
    inputs.rows["Log"].append(item("B", D(2026, 3, 6), 8.0))
    figures = worked_out(tmp_path / "log.xlsx", inputs, edition)
    numbers(figures, turned_cost=0, free_profit=9, ready=0, inventory_now=8)
    assert shown(figures, "return_rate", "days_to_turn") == ["", ""]
    assert said(figures, "forecast_words") == ("No forecast: what was sold in these days cost nothing.")


@pytest.mark.parametrize(
    ("days", "first", "items", "net_sales"),
    [
        (29, D(2026, 3, 3), 3, 59),  # without P2
        (31, D(2026, 3, 1), 5, 117),  # with P1
        (1, D(2026, 3, 31), 1, 20),
        (90, D(2026, 1, 1), 5, 117),
        (91, D(2026, 1, 1), 5, 117),  # the log is younger
    ],
)
def test_the_window_moves(changed, days, first, items, net_sales):
    figures = changed(march_shop, Average_days=days)
    assert shown(figures, "first_day") == [pd.Timestamp(first)]
    numbers(figures, days_counted=min(days, 90), items=items, net_sales=net_sales)


# ---- break-even and the month so far ---------------------------------------------------------


def test_fixed_costs_from_expenses(march):
    # 30 in 30 days, a month being 365/12 of them; 365/12 / 9, and x 29/12.
    numbers(march, fixed_costs=365 / 12, break_even_items=365 / 108, break_even_sales=365 / 12 * 29 / 12, fixed_week=7)


@both
def test_the_month_above_break_even(changed, edition):
    figures = changed(march_shop, edition, Fixed_costs=27.0)
    numbers(figures, fixed_costs=27, break_even_items=3, break_even_sales=65.25)
    # The whole of March: P1 as well. (117 - 65.25) / 117
    numbers(figures, month_items=5, month_sales=117, month_safety=51.75 / 117)
    assert said(figures, "month_words") == ("Past break-even this month; sales could be 44.2% lower.")


@both
def test_the_month_below_break_even(changed, edition):
    figures = changed(march_shop, edition, Fixed_costs=90.0)
    numbers(figures, break_even_items=10, break_even_sales=217.5, month_safety=-100.5 / 117)
    assert said(figures, "month_words") == ("This month needs sales of 100.50 more to cover its fixed costs.")


@both
def test_a_month_without_a_sale_yet(changed, edition):
    """On 1 April: the 30 days from 3 March hold P3, P6 and P10, the month holds nothing."""
    figures = changed(march_shop, edition, As_of_date=D(2026, 4, 1), Fixed_costs=30.0)
    # Net sales 34 + 20 + 5, profit 11.50 - 0.50 + 11 + 5; (27 - 3) / 3 is 8 of 59 / 3.
    numbers(figures, items=3, contribution=8, ratio=24 / 59, month_items=0, month_sales=0)
    numbers(figures, break_even_items=3.75, break_even_sales=73.75)
    assert shown(figures, "month_safety", "month_words") == [
        "", "This month needs sales of 73.75 more to cover its fixed costs.",
    ]  # fmt: skip


@both
def test_no_fixed_costs(changed, edition):
    figures = changed(march_shop, edition, Fixed_costs=0.0)
    numbers(figures, break_even_items=0, break_even_sales=0, month_safety=1)
    assert said(figures, "month_words") == ("Past break-even this month; sales could be 100.0% lower.")


@both
def test_sales_that_lose(tmp_path, edition):
    """P6 sold for 2.00 and cost 50.00: (69 - (69 + 20) + ...) / 4 is below 0."""
    inputs = march_shop()
    inputs.rows["Log"][5] |= {"paid": 50.0, "sale_price": 2.0}
    inputs.settings |= {"Pay_target": 10.0, "Fixed_costs": 27.0, "Opening_cash": 600.0}
    figures = worked_out(tmp_path / "log.xlsx", inputs, edition)
    # Net sales 87 - 18 = 69, profit 39 - 59 = -20; costs 69 + 20 + 3 = 92.
    numbers(figures, price=17.25, variable_cost=23, contribution=-5.75, ratio=-1 / 3)
    keys = ("break_even_items", "break_even_sales", "month_safety", "items_needed")
    assert shown(figures, *keys, "listed_needed", "cost_needed") == [""] * 6
    assert said(figures, "month_words") == ("A sale loses money on average: no number of sales covers the fixed costs.")
    # 5.75 x 73/18 = 23.3194 are lost in a month, and 37 are needed.
    numbers(figures, month_brings=-5.75 * 73 / 18, month_needs=37)
    assert said(figures, "pay_words") == "An average month is 60.32 short of the pay."
    # (-20 - 5 - 3) / (32 + 41); cash is 600 - 90 - 18 - 41.
    numbers(figures, return_rate=-28 / 73, cash=451, ready=1)
    assert said(figures, "forecast_words").startswith(
        "At current averages the pay is not covered within 104 weeks. Cash plus inventory falls from 494.00 to "
    )


@both
def test_no_sales_in_those_days(changed, edition):
    """In June, 30 days back: nothing sold, nothing bought, and the month is empty."""
    figures = changed(march_shop, edition, As_of_date=D(2026, 6, 30), Pay_target=50.0)
    numbers(figures, cash=410, inventory_now=43, items=0, month_pace=0, fixed_costs=0, ready=0)
    blank = (
        *("price", "variable_cost", "contribution", "ratio", "break_even_items"),
        *("break_even_sales", "month_safety", "month_brings", "items_needed", "listed_needed"),
        *("cost_needed", "return_rate", "days_to_turn", "weeks_to_pay", "average_8", "low_8"),
    )
    assert shown(figures, *blank) == [""] * len(blank)
    assert said(figures, "average_words") == "No item was sold and kept in the last 30 days."
    assert said(figures, "month_words") == "No sales in the last 30 days, so there is nothing to go by."
    assert said(figures, "pay_words") == "No sales in the last 30 days, so there is nothing to go by."
    assert said(figures, "forecast_words") == ("No forecast yet: it needs sales in the last 30 days.")
    assert figures.content.shown["Forecast"]["worth"].isna().all()


# ---- what a pay asks for ---------------------------------------------------------------------


@both
def test_what_a_pay_asks_for(changed, edition):
    figures = changed(march_shop, edition, Pay_target=90.0, Fixed_costs=27.0)
    # 4 items in 30 days are 4 x 365/360 = 73/18 in a month, x 9 = 36.50.
    numbers(figures, month_needs=117, month_pace=73 / 18, month_brings=36.5)
    assert said(figures, "pay_words") == "An average month is 80.50 short of the pay."
    # P7 and P11 are listed: 73/18 of 73/18 + 2 sell. 117 / 9 = 13, x 109/73, x 8.
    numbers(figures, listed_now=2, listed_cost=22, sold_share=73 / 109)
    # On offer in a month are those two and the 73/18 that sell; 22 + 73/18 x 8.
    numbers(figures, on_offer=109 / 18, offer_cost=490 / 9)
    numbers(figures, items_needed=13, listed_needed=13 * 109 / 73, cost_needed=104 * 109 / 73)
    ((sold, listed, cost),) = inventory_for_pay(90, 27, 9, 73 / 109, 8).tolist()
    numbers(figures, items_needed=sold, listed_needed=listed, cost_needed=cost)


def test_an_average_month_carries_the_pay(changed):
    figures = changed(march_shop, "functions", Pay_target=5.0, Fixed_costs=27.0)
    assert said(figures, "pay_words") == ("An average month covers the pay and leaves 4.50 for more inventory.")


@both
def test_no_pay_is_wanted(changed, edition):
    # 6.30 bought a week bring 6.10 of profit, and 4.20 go out for fixed costs: it does not shrink.
    figures = changed(march_shop, edition, Fixed_costs=18.25)
    assert shown(figures, "pay_words", "forecast_words", "weeks_to_pay") == [
        "Enter your monthly pay target on Settings.", "", "",
    ]  # fmt: skip
    # 18.25 / 9
    numbers(figures, items_needed=73 / 36, month_needs=18.25, ready=1)
    assert shown(figures, "chance_8", "chance_104") == ["", ""]
    if edition == "functions":
        assert said(figures, "odds_remark").startswith("Simulated from the items of this log.")
        assert all(shown(figures, "low_8", "high_104"))


def test_costs_eat_up_the_money_without_a_pay(changed):
    """84.00 go out in each week; 60 of inventory bring 90, and nothing is bought."""
    figures = changed(five_weeks, Fixed_costs=365.0, Weekly_limit=0.0, Pay_target=0.0)
    # 50 + 90 - 104 x 84
    assert said(figures, "forecast_words") == (
        "Cash plus inventory falls from 110.00 to -8,596.00 in 104 weeks. "
        "It assumes no purchases: enter your weekly buying limit on Settings."
    )
    numbers(figures, worth_then=-8596)


@pytest.mark.parametrize(("typed", "limit"), [(None, 6.3), (30.0, 30.0), (0.0, 0.0)])
def test_the_limit_of_a_week(changed, typed, limit):
    """27.00 in 30 days are 6.30 a week."""
    figures = changed(march_shop, Weekly_limit=typed, Pay_target=5.0)
    numbers(figures, limit_week=limit)
    assert figures.content.shown["Forecast"]["bought"].max() <= limit + 1e-9
    told = " It assumes no purchases: enter your weekly buying limit on Settings."
    assert said(figures, "forecast_words").endswith(told) == (limit == 0)


def test_no_more_is_bought_than_sells(tmp_path):
    """With P13 67.00 were bought, and 32.00 of cost sold or thrown away: 32 / 30 x 7."""
    inputs = march_shop()
    inputs.rows["Log"].append(item("P13", D(2026, 3, 30), 40.0))
    figures = worked_out(tmp_path / "log.xlsx", inputs, "functions")
    numbers(figures, bought=67, turned_cost=32, limit_week=112 / 15)


# ---- the weeks ahead -------------------------------------------------------------------------

FIRST_WEEKS = [
    # sold, comes in, drawn, bought, cash, inventory
    (24.0, 36.00, 42.00, 25.0, 10.6, 61.0),
    (24.0, 36.00, 18.20, 11.6, 8.4, 48.6),
    (24.5, 36.75, 16.75, 11.6, 8.4, 35.7),
    (18.3, 27.45, 7.45, 11.6, 8.4, 29.0),
    (11.6, 17.40, 0.00, 9.0, 8.4, 26.4),
]
"""60.00 of inventory sell in two weeks and a half: 24.00, 24.00, 12.00; all brings 1.5 for each 1. Half
of a purchase is sold after two weeks, half after three. 8.40 of fixed costs and up to 42.00 of pay
a week; 20.00 stay for purchases, and of the rest 8.40 for the next week's costs. 25.00 is the limit.

week  sold                      before pay            pay    left   bought  cash   inventory
1     24                        50 + 36 - 8.4 = 77.6  42     35.6   25      10.6   60 - 24 + 25
2     24                        10.6 + 36 - 8.4       18.2   20     11.6     8.4   61 - 24 + 11.6
3     12 + 25 / 2               8.4 + 36.75 - 8.4     16.75  20     11.6     8.4   48.6 - 24.5 + 11.6
4     25 / 2 + 11.6 / 2         8.4 + 27.45 - 8.4      7.45  20     11.6     8.4   35.7 - 18.3 + 11.6
5     11.6 / 2 + 11.6 / 2       8.4 + 17.4 - 8.4       0     17.4    9       8.4   29 - 11.6 + 9
"""


def test_the_averages_of_the_young_log(weeks):
    # 1 March to 4 April are five weeks, which is all there is.
    assert shown(weeks, "first_day") == [pd.Timestamp(2026, 3, 1)]
    numbers(weeks, days_counted=35, cash=50, inventory_now=60, inventory_then=100)
    # 260 / 4; (260 - 110 + 10) / 4
    numbers(weeks, items=4, price=65, variable_cost=40, contribution=25, ratio=5 / 13)
    # 60 + 40 + 50 + 0 + 10 discarded; (110 - 20 of the free Q5 - 10) / 160; 80 / (160 / 35), as
    # the mean of 100 and 60 is more than 60.
    numbers(weeks, turned_cost=160, free_profit=20, return_rate=0.5, days_to_turn=17.5)
    # 125 bought in five weeks, less than the 160 of cost; 7 / (365/12) of 36.50 and of 182.50
    numbers(weeks, limit_week=25, fixed_week=8.4, pay_week=42)
    # Nothing is listed, so all that is there sells within the month.
    # 219 / 25. On offer are the 4 / 35 x 365/12 items of a month at 160 / 4 each.
    numbers(weeks, listed_now=0, sold_share=1, items_needed=8.76, listed_needed=8.76)
    numbers(weeks, on_offer=73 / 21, offer_cost=2920 / 21, cost_needed=350.4)


def test_the_first_weeks_by_hand(weeks):
    path = weeks.content.shown["Forecast"]
    keys = ["cost_sold", "came_in", "drawn", "bought", "cash", "inventory"]
    for week, row in enumerate(FIRST_WEEKS, 1):
        found = path.iloc[week - 1]
        assert (found["week"], found["week_end"]) == (week, pd.Timestamp(2026, 4, 4) + pd.Timedelta(weeks=week))
        assert tuple(found[keys]) == pytest.approx(row, abs=1e-9)
        assert found["worth"] == pytest.approx(row[4] + row[5])
        assert (found["paid_out"], found["owed"]) == (pytest.approx(8.4), 0)


def test_all_weeks_against_growth_path(weeks):
    path = weeks.content.shown["Forecast"][["cash", "inventory", "drawn", "owed"]]
    wanted = growth_path(50, 0.5, 17.5, WEEKS_AHEAD, 8.4, 42, 20, 25, 60)
    assert len(path) == WEEKS_AHEAD == 104
    assert path.to_numpy(float) == pytest.approx(wanted.astype(float), abs=1e-9)
    for week in range(ODDS_EVERY, WEEKS_AHEAD + 1, ODDS_EVERY):
        numbers(weeks, **{f"week_{week}": week})
        cash, inventory, _, owed = wanted[week - 1]
        found = shown(weeks, f"average_{week}")
        assert found == pytest.approx([cash + inventory - owed], abs=1e-9)


def test_bills_refunds_and_taxes_are_no_stake(changed):
    """55.00 more at the start, and 55.00 of claims: the weeks are those by hand."""
    claims = {"Bills_due": 30.0, "Open_refunds": 15.0, "Tax_reserve": 10.0}
    figures = changed(five_weeks, "functions", Opening_cash=90.0, **claims)
    numbers(figures, cash=105, left_taxes=50, ready=1)
    path = figures.content.shown["Forecast"]
    assert path["cash"].tolist()[:5] == pytest.approx([row[4] for row in FIRST_WEEKS])
    assert path["drawn"].tolist()[:5] == pytest.approx([row[2] for row in FIRST_WEEKS])
    plain_odds = shown(changed(five_weeks, "functions"), "low_8", "chance_8", "high_104")
    assert shown(figures, "low_8", "chance_8", "high_104") == pytest.approx(plain_odds)


def test_costs_that_cannot_be_paid_are_owed(changed):
    """Nothing may be bought and 84.00 go out each week: 50 + 36 - 84 = 2, then 2 + 36 - 84."""
    figures = changed(five_weeks, Fixed_costs=365.0, Weekly_limit=0.0, Pay_target=0.0)
    path = figures.content.shown["Forecast"]
    assert path["cash"].tolist()[:3] == pytest.approx([2, 0, 0], abs=1e-9)
    assert path["owed"].tolist()[:4] == pytest.approx([0, 46, 112, 196], abs=1e-9)
    assert path["inventory"].tolist()[:4] == pytest.approx([36, 12, 0, 0], abs=1e-9)
    assert path["worth"].tolist()[:4] == pytest.approx([38, -34, -112, -196], abs=1e-9)


CARRIED = "At current averages, which no month follows exactly, the pay is covered from {} on."


@both
@pytest.mark.parametrize(
    "case",
    [
        # 42.00 a week: FIRST_WEEKS.
        (182.5, 20.0, "", "At current averages the pay is not covered within 104 weeks."),
        # 4.20 a week out of all the cash: 77.6 and more is there in each.
        (18.25, 20.0, 1, CARRIED.format("now")),
        # 0.84 a week, out of cash over 100: before pay there are 77.6, 80.2, 83.55, then 37.5 come
        # in for 33.4 that go out: 87.65 in week 4, 4.10 more each week, 104.05 in week 8.
        (3.65, 100.0, 8, CARRIED.format("week 8")),
    ],
)  # fmt: skip
def test_when_the_pay_is_covered(changed, edition, case):
    pay, reserve, week, words = case
    figures = changed(five_weeks, edition, Pay_target=pay, Restock_reserve=reserve)
    args = (50, 0.5, 17.5, WEEKS_AHEAD, 8.4, pay * 84 / 365, reserve, 25, 60)
    cash, inventory, _, owed = growth_path(*args)[-1]
    then = cash + inventory - owed
    if then < 110:
        words += f" Cash plus inventory falls from 110.00 to {then:,.2f} in 104 weeks."
    assert shown(figures, "weeks_to_pay", "forecast_words") == [week, words]
    if week:
        assert weeks_to_pay(*args) == week


@both
@pytest.mark.parametrize(
    ("settings", "cash"),
    [
        ({"Opening_cash": -16.0}, -1),
        # 50 - 30 - 10 - 11
        ({"Bills_due": 30.0, "Open_refunds": 10.0, "Tax_reserve": 11.0}, 50),
    ],
)
def test_free_cash_below_0_has_no_forecast(changed, edition, settings, cash):
    figures = changed(five_weeks, edition, **settings)
    numbers(figures, cash=cash, left_taxes=-1, ready=0)
    wanted = "No forecast: bills, refunds and taxes take more than the cash by the log."
    assert said(figures, "forecast_words") == wanted
    assert shown(figures, "average_8", "low_8", "chance_104", "weeks_to_pay") == [""] * 4
    if edition == "functions":
        assert said(figures, "odds_remark") == wanted


def test_no_free_cash_but_inventory_has_an_forecast(changed):
    """The inventory brings 36 in week 1: 27.6 after 8.40 of costs, 7.6 over the 20 that stay."""
    figures = changed(five_weeks, Bills_due=50.0)
    numbers(figures, left_taxes=0, ready=1)
    first = figures.content.shown["Forecast"].iloc[0]
    # 20 less next week's 8.40 buy inventory.
    assert tuple(first[["drawn", "bought", "cash"]]) == pytest.approx((7.6, 11.6, 8.4))


# ---- odds ------------------------------------------------------------------------------------


def history() -> tuple[list[float], list[float], list[int], list[str]]:
    """The items of five_weeks that tell how money comes back.

    Q1 20 February to 10 March, Q2 to 24 March, Q3 3 to 24 March; Q4 lost all it cost on 30 March;
    Q5 was free and drops out; Q6 came back and waits since 4 March, Q8 since 25 March: they have
    earned nothing yet. Q7 is in personal use and says nothing.
    """
    return (
        [60, 40, 50, 10, 0, 20, 40],
        [40, 20, 30, -10, 20, 0, 0],
        [18, 32, 21, 27, 17, 31, 10],
        ["yes", "yes", "yes", "yes", "yes", "no", "no"],
    )


def told(figures: LogResults) -> dict[str, tuple[float, ...]]:
    """Cost, profit, days and over of the log's items, of those that tell something."""
    log = figures["Log"].set_index("item_no")
    columns = [f"history_{key}" for key in ("cost", "profit", "days", "over")]
    rows = log.loc[log.index.dropna(), columns].apply(pd.to_numeric).dropna(how="all")
    return {str(number): tuple(map(float, row)) for number, row in zip(rows.index, rows.to_numpy(), strict=True)}


def test_history_of_the_five_weeks(weeks):
    costs, profits, days, over = history()
    rows = zip(costs, profits, map(float, days), (float(word == "yes") for word in over), strict=True)
    names = [f"Q{i}" for i in range(1, 9) if i != 7]
    assert told(weeks) == dict(zip(names, rows, strict=True))


def test_failed_sales_count_and_the_new_row_has_the_cost(tmp_path):
    """P4 lost its fee of 0.50 and is on hand; with a new row for it the old one cost nothing."""
    inputs = march_shop()
    figures = worked_out(tmp_path / "a.xlsx", inputs)
    # 10 February to 31 March
    assert told(figures)["P4"] == (6, -0.5, 49, 0)
    assert {*told(figures)} == {f"P{i}" for i in range(1, 13) if i != 9} | {"L1a"}
    inputs.rows["Log"][3] |= {"disposition": "Relisted", "disposition_date": D(2026, 3, 20)}
    inputs.rows["Log"].append(item("P4b", D(2026, 3, 20), 6.0, paid_from="Returned item"))
    figures = worked_out(tmp_path / "b.xlsx", inputs)
    assert told(figures)["P4"][:2] == (0, -0.5)
    assert told(figures)["P4"][3] == 1
    # 20 to 31 March
    assert told(figures)["P4b"] == (6, 0, 11, 0)


@pytest.mark.parametrize(("pay", "weekly"), [(182.5, 42.0), (18.25, 4.2)])
def test_odds_are_those_of_the_logs_items(changed, pay, weekly):
    figures = changed(five_weeks, "functions", Pay_target=pay, Forecast_paths=500)
    # The workbook's 8.4 is 36.5 x 7 / (365/12), which need not be the same last binary place.
    fixed, pay_week = (float(x) for x in shown(figures, "fixed_week", "pay_week"))
    assert (fixed, pay_week) == pytest.approx((8.4, weekly))
    rows = growth_odds(*history(), 50, WEEKS_AHEAD, fixed, pay_week, 20, 25, 60, 500).tolist()
    for week in range(ODDS_EVERY, WEEKS_AHEAD + 1, ODDS_EVERY):
        names = (f"{word}_{week}" for word in ("low", "middle", "high", "chance"))
        _, low, middle, high, chance, _ = rows[week - 1]
        assert shown(figures, *names) == pytest.approx([low, middle, high, chance], abs=1e-9)
        assert low <= middle <= high
    # Q1 to Q4; hundredths of 500 runs are never halves.
    few = "rough estimate (4 sales)"
    assert rows[0][5] == said(figures, "odds_words") == few
    assert said(figures, "odds_remark") == (
        f"In {round(100 * rows[7][4])}% of simulated runs the full pay is covered every week from week 8 on. {few}"
    )


def test_odds_of_an_personal_use_a_free_and_an_unsold_item(changed):
    """Without Q7 and Q5 nothing changes; without Q8 or with Q6 sold, or Q4 forgotten, the odds do."""
    asked = (50, WEEKS_AHEAD, 8.4, 4.2, 20, 25, 60, 500)

    def odds(*left_out: int) -> list[list[Any]]:
        kept = [[cell for i, cell in enumerate(column) if i not in left_out] for column in history()]
        return growth_odds(*kept, *asked).tolist()

    figures = changed(five_weeks, "functions", Pay_target=18.25, Forecast_paths=500)
    found = shown(figures, *(f"{word}_{w}" for word in ("low", "high") for w in (8, 48, 104)))

    def of(rows: list[list[Any]]) -> list[float]:
        return [rows[w - 1][place] for place in (1, 3) for w in (8, 48, 104)]

    assert found == pytest.approx(of(odds()), rel=1e-6)
    assert found == pytest.approx(of(odds(4)), rel=1e-6)
    for item_no in (3, 5, 6):
        assert found != pytest.approx(of(odds(item_no)), rel=1e-3)


def test_the_plain_edition_has_no_odds(changed):
    figures = changed(five_weeks, "plain")
    keys = [
        f"{word}_{week}"
        for word in ("low", "middle", "high", "chance")
        for week in range(ODDS_EVERY, WEEKS_AHEAD + 1, ODDS_EVERY)
    ]
    assert shown(figures, *keys) == [""] * len(keys)
    assert said(figures, "odds_remark") == (
        "Low, middle, high and chances need the functions edition or the command forecast."
    )


def test_one_sale_has_an_forecast_and_no_odds(tmp_path):
    inputs = five_weeks()
    del inputs.rows["Log"][1:7]
    figures = worked_out(tmp_path / "log.xlsx", inputs, "functions")
    # Q1 alone: 40 / 60; cash 35 + 100 - 40 - 120 is below 0 without more at the start.
    numbers(figures, cash=-25, ready=0)
    inputs.settings["Opening_cash"] = 115.0
    figures = worked_out(tmp_path / "log2.xlsx", inputs, "functions")
    numbers(figures, cash=55, ready=1, odds_ready=0, return_rate=2 / 3)
    assert said(figures, "odds_remark") == (
        "Odds need two sales of items that cost something, and no more than 20,000 items."
    )
    assert shown(figures, "low_8", "chance_8") == ["", ""]
    assert shown(figures, "average_8") != [""]


# ---- logs with nothing in them, and other programs -------------------------------------------

EMPTY: dict[str, Any] = {
    "answer": "Take nothing out now",
    "reason": "nothing: there is no cash",
    "count_note": "never counted: count it before you take any out",
    "tax_note": "careful: 30% of the last 12 months' profit",
    "restock_note": "careful: what the last 30 days' purchases cost",
    "profit_note": "sheet Partners shows whose it is",
    "average_words": "No item was sold and kept in the last day.",
    "month_words": "No sales in the last day, so there is nothing to go by.",
    "pay_words": "Enter your monthly pay target on Settings.",
    "forecast_words": "No forecast yet: it needs sales in the last day.",
}


@both
def test_an_empty_log(tmp_path, edition):
    figures = worked_out(tmp_path / "log.xlsx", None, edition)
    assert figures.content.problems == []
    assert dict(zip(EMPTY, shown(figures, *EMPTY), strict=True)) == EMPTY
    assert said(figures, "odds_remark") == (
        "No forecast yet: it needs sales in the last day."
        if edition == "functions"
        else "Low, middle, high and chances need the functions edition or the command forecast."
    )
    row = figures.content.shown["Pay"].iloc[0]
    in_words = {key for key, cell in row.items() if isinstance(cell, str)}
    expected = {*EMPTY, "odds_remark", "no_margin_words", "pay_gap_words", "weeks_words"}
    expected |= {"worth_words", "not_ready_words", "odds_words", "days_words", "why_words"}
    expected |= {"few_words", "covered_words", "limit_words", "chance_words", "count_day"}
    assert in_words == expected | {f"remark_{i}" for i in range(1, 6)}
    zero = ("cash", "safe_draw", "fixed_costs", "month_items", "month_sales", "month_needs")
    zero = (*zero, "month_pace", "listed_now", "listed_cost", "on_offer", "offer_cost", "claims")
    zero = (*zero, "cash_in", "cash_out", "profit_so_far", "to_fix", "free_profit", "limit_week")
    assert shown(figures, *zero) == [0] * len(zero)
    blank = ("price", "contribution", "ratio", "break_even_items", "break_even_sales")
    blank = (*blank, "month_safety", "month_brings", "items_needed", "average_104", "low_8")
    assert shown(figures, *blank) == [""] * len(blank)
    weeks_ahead = figures.content.shown["Forecast"]
    assert weeks_ahead["week"].tolist() == list(range(1, WEEKS_AHEAD + 1))
    assert weeks_ahead[["cash", "inventory", "drawn", "bought", "owed", "worth"]].isna().all(axis=None)


def test_an_empty_log_with_a_pay_wanted(tmp_path):
    figures = worked_out(tmp_path / "log.xlsx", Inputs({"Pay_target": 500.0}), "plain")
    assert shown(figures, "pay_words", "forecast_words") == [
        "No sales in the last day, so there is nothing to go by.",
        "No forecast yet: it needs sales in the last day.",
    ]


def test_a_log_with_cash_and_nothing_else(tmp_path):
    figures = worked_out(tmp_path / "log.xlsx", Inputs({"Opening_cash": 1234.5}), "functions")
    assert shown(figures, "answer", "reason") == ["You may take out 1,234.50", NOTHING_TYPED]
    numbers(figures, tax_reserve=0, restock_reserve=0, buying_cash=1234.5)


@pytest.mark.libreoffice
def test_libreoffice_shows_the_same(tmp_path):
    march, weeks = march_shop(), five_weeks()
    for inputs in (march, weeks):
        inputs.settings |= {"Pay_target": 182.5, "Bills_due": 10.0}
    weeks.settings["Opening_cash"] += 10  # So that the starting_cash is that of the weeks by hand.
    # Contribution 3.90 x 5/12 a month less 1.00 is 0.625: programs differ in how they show it.
    half_cents = one_sale(3.9, 0.0, Average_days=73, Fixed_costs=0.0, Pay_target=1.0)
    paths = [
        small_log(tmp_path / f"{name}.xlsx", "plain", inputs)
        for name, inputs in (("march", march), ("weeks", weeks), ("half_cents", half_cents))
    ]
    found = [compute_log(load_log(path)) for path in recalculate_all(paths, tmp_path / "out")]
    assert [compare(figures).differences for figures in found] == [[], [], []]
    numbers(found[0], cash=410, contribution=9, days_to_turn=44.53125, month_brings=36.5)
    assert shown(found[0], "answer", "reason") == ["You may take out 400.00", FREE]
    path = found[1].content.shown["Forecast"]
    assert path["cash"].tolist()[:5] == pytest.approx([row[4] for row in FIRST_WEEKS])
    assert path["inventory"].tolist()[:5] == pytest.approx([row[5] for row in FIRST_WEEKS])
    assert said(found[1], "forecast_words").startswith("At current averages the pay is not")


# ---- fees beside a pay -----------------------------------------------------------------------


def shop_of_a_pay(items: int) -> Inputs:
    """A month of a shop with the terms of the example shop.

    Prices 25 to 35, 30 on average; an item costs 30% of its price. The seller pays the label of
    4.50 and packaging of 0.50. Six sales in turn pay 11.5% and 0.45, the next six 8% and 0.25.
    By Decimal, half a cent up, six fees are 3.33 + 3.56 + 3.79 + 4.02 + 4.25 + 4.48 = 23.43, and
    2.25 + 2.41 + 2.57 + 2.73 + 2.89 + 3.05 = 15.90. Of 39 sales these are three times each, and
    then three more of the first: 3 x 39.33 + 10.68 = 128.67. With prices of 6 x 180 + 81 = 1,161
    they leave 1,161 - 348.30 - 195 - 128.67 = 489.03 in 30 days, and 495.82 in a month of 365 / 12
    days, which carries a pay of 450 and fixed costs of 40. The last one leaves 29 - 8.70 - 5 - 3.79
    = 11.51; without it a month brings 484.15, which does not.
    """
    prices = (25.0, 27.0, 29.0, 31.0, 33.0, 35.0)
    log = []
    for number in range(items):
        price = prices[number % 6]
        channel = ("One site", "Other site")[number // 6 % 2]
        log.append(
            item(f"N{number}", D(2026, 3, 2 + number % 28), round(price * 0.3, 2))
            | sale(D(2026, 4, 1 + number % 30), price, channel, postage_paid=4.5, packaging=0.5)
        )
    return Inputs(
        {
            "First_month": D(2026, 3, 1),
            "As_of_date": D(2026, 4, 30),
            "Average_days": 30,
            "Opening_cash": 1000.0,
            "Pay_target": 450.0,
            "Fixed_costs": 40.0,
        },
        {
            "Channel": [
                {"name": "One site", "rate": 0.115, "per_order": 0.45},
                {"name": "Other site", "rate": 0.08, "per_order": 0.25},
            ]
        },
        {"Log": log},
    )


@pytest.mark.parametrize(
    ("items", "left", "fees", "words"),
    [
        (39, 489.03, 128.67, "An average month covers the pay and leaves 5.82 for more inventory."),
        (38, 477.52, 124.88, "An average month is 5.85 short of the pay."),
    ],
)
def test_fees_beside_a_monthly_pay_in_a_log(tmp_path, items, left, fees, words):
    path = build_log(tmp_path / "log.xlsx", "functions", 70, shop_of_a_pay(items))
    figures = compute_log(load_log(path))
    assert figures.content.problems == []
    assert compare(figures).differences == []
    brings, needs, contribution = shown(figures, "month_brings", "month_needs", "contribution")
    assert needs == 490
    assert brings == pytest.approx(left / 30 * 365 / 12)
    # One sale more or less makes the difference.
    assert abs(brings - needs) < contribution
    assert said(figures, "pay_words").startswith(words)
    april = figures.content.shown["Money"].iloc[1]
    assert april["month"] == pd.Timestamp(2026, 4, 1)
    assert april["fees"] == pytest.approx(fees)


SALE_DAY = D(2026, 3, 5)


def one_sale(price: float, cost: float, day: dt.date = SALE_DAY, **settings: Any) -> Inputs:
    return Inputs(
        {"First_month": D(2026, 1, 1), "As_of_date": D(2026, 3, 31), "Opening_cash": 100.0, **settings},
        rows={"Log": [item("A", D(2026, 1, 5), cost) | sale(day, price)]},
    )


@both
def test_nothing_to_take_out_by_a_binary_rest(tmp_path, edition):
    """1.10 - 1.00 - 0.10 is 8e-17."""
    made = Inputs({"Opening_cash": 1.1, "Bills_due": 1.0, "Open_refunds": 0.1})
    figures = worked_out(tmp_path / "log.xlsx", made, edition)
    assert said(figures, "reason").startswith("nothing: open refunds")
    assert said(figures, "answer") == "Take nothing out now"


def test_exactly_at_break_even(tmp_path):
    """21.70 - 6.30 = 15.40 covers 15.40, if not to the last binary digit."""
    figures = worked_out(tmp_path / "l.xlsx", one_sale(21.7, 6.3, Fixed_costs=15.4))
    assert said(figures, "month_words") == ("Past break-even this month; sales could be 0.0% lower.")


def test_no_fixed_costs_and_no_sale_this_month(tmp_path):
    made = one_sale(10.0, 2.0, D(2026, 2, 10), Fixed_costs=0.0)
    figures = worked_out(tmp_path / "l.xlsx", made)
    assert shown(figures, "month_safety") == [""]
    assert said(figures, "month_words") == ("No fixed costs are known: enter them on Expenses, or on Settings.")


def test_one_item_and_one_day(tmp_path):
    figures = worked_out(tmp_path / "l.xlsx", one_sale(10.0, 2.0, Average_days=30))
    assert said(figures, "average_words").startswith("1 item sold")
    figures = worked_out(tmp_path / "m.xlsx", Inputs({"Average_days": 1}))
    assert "1 days" not in said(figures, "average_words")
    assert "1 days" not in said(figures, "not_ready_words")
