"""Shelf check, Buying plan, Comparables and Listing desk with figures worked out by hand."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path
from typing import Any

import pytest

from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import EDITIONS, Edition
from sheetfns.log.read.content import LogContent
from tests.log.quick_logs import in_turn, quick_log

AS_OF = dt.date(2026, 9, 30)
CHANNELS: list[Row] = [{"name": "Site", "rate": 0.1, "per_order": 0.5, "title_limit": 40}, {"name": "Stall"}]
RULES: list[Row] = [
    {"name": "By size", "from": dt.date(2026, 1, 1), "divisor": 166, "gate": 1728,
     "side_rounding": "nearest", "weight_step": 1},
    {"name": "By size", "from": dt.date(2026, 9, 30), "divisor": 139, "gate": 1728,
     "side_rounding": "up", "weight_step": 1},
]  # fmt: skip
PIECE: Row = {
    "item_no": "A1",
    "description": "Oak stool",
    "category": "Lamps",
    "condition": "Good",
    "missing": "one foot",
    "bought_on": dt.date(2026, 9, 1),
    "paid": 4,
    "expected_price": 30,
    "expected_postage": 7,
    "channel": "Site",
}


def entries(**more: Any) -> Inputs:
    made = Inputs(
        settings={
            "As_of_date": AS_OF, "First_month": dt.date(2026, 1, 1), "Tax_year": 2026,
            "Usual_packing": 0.5, "Trip_cash": 40, "Trip_reserve": 10, "Wanted_profit": 5,
            "Wanted_return": 1, "Comp_half_life": 90,
        },
        blocks={
            "Channel": [dict(row) for row in CHANNELS],
            "Rule": [dict(row) for row in RULES],
            "Box": [{"name": "Cube", "length": 13, "width": 12, "height": 11.5, "weight": 1}],
            "Service": [{"name": "Near", "rule": "By size"}, {"name": "Plain"}],
            "Postage": [{"up_to": 5, "no_1": 6, "no_2": 5}, {"up_to": 13, "no_1": 11}],
        },
        rows={"Log": [dict(PIECE)]},
    )  # fmt: skip
    made.settings |= more.pop("settings", {})
    made.blocks |= more.pop("blocks", {})
    made.rows |= more.pop("rows", {})
    made.forms |= more.pop("forms", {})
    assert not more
    return made


def read(tmp_path: Path, edition: Edition, made: Inputs) -> LogContent:
    return load_log(quick_log(tmp_path / "log.xlsx", edition, made))


def form(content: LogContent, key: str) -> dict[str, Any]:
    return content.shown[key].iloc[0].to_dict()


both = pytest.mark.parametrize("edition", EDITIONS)

# Sold prices 20, 24, 28 and 26, 30 without postage: the middle is 26. With 4.00 postage the buyer
# pays 30.00, the fee is 3.00 + 0.50; 30 - 3.50 - 4 - 0.50 = 22.00 is left for the piece. A profit
# of 5 leaves 17.00, a return of 100 % leaves 11.00: the return sets the limit.
PRICES: Row = {"sold_1": 20, "sold_2": 24, "sold_3": 28, "sold_4": 26, "sold_5": 30}
SHELF: Row = PRICES | {"postage": 4, "channel": "Site", "category": "Lamps"}
VERDICTS: dict[str, tuple[Row, Row, dict[str, Any]]] = {
    "cheap enough": (
        {"ticket": 10},
        {},
        {"verdict": "Buy up to 11.00", "reason": "the wanted return sets the limit", "profit": 12,
         # (10 + 4 + 0.5 + 0.5) / 0.9 - 4 = 12.6667, up to the cent.
         "break_even": 12.67, "safety": 13.33 / 26, "afford": 3, "ceiling": 11,
         # At the low price, 24: 28 - 2.80 - 0.50 - 4 - 0.50 = 20.20, half of it.
         "careful": 10.1},
    ),
    "too dear": ({"ticket": 11.01}, {}, {"verdict": "Only at 11.00 or less", "profit": 10.99}),
    "just right": ({"ticket": 11}, {}, {"verdict": "Buy up to 11.00"}),
    "no ticket": ({}, {}, {"verdict": "Buy up to 11.00", "profit": 11, "afford": 2}),
    "free": ({"ticket": 0}, {}, {"verdict": "Buy up to 11.00", "profit": 22}),
    "profit sets the limit": (
        {"ticket": 10},
        {"Wanted_profit": 15},
        {"verdict": "Only at 7.00 or less", "reason": "the wanted profit sets the limit"},
    ),
    "no wishes": (
        {},
        {"Wanted_profit": 0, "Wanted_return": 0},
        {"verdict": "Buy up to 22.00", "reason": "break-even: no profit or return is wanted",
         "profit": 0},
    ),
    "tax at the till": (
        # 11 / 1.1 = 10; landed 11.00.
        {},
        {"Buying_tax_rate": 0.1},
        {"verdict": "Buy up to 10.00", "profit": 11},
    ),
    "nothing left": (
        {"ticket": 1},
        {"Wanted_profit": 25},
        {"verdict": "Leave it", "ceiling": 0,
         "reason": "no price is low enough: 22.00 is left after fee, postage and packing"},
    ),
    "mine lacks a part": (
        # Middle 20: 24 - 2.40 - 0.50 - 4 - 0.50 = 16.60 left, half of it 8.30.
        {"lacks": 6},
        {},
        {"verdict": "Buy up to 8.30", "middle": 20},
    ),
    "postage was in the prices": (
        {"postage_in": "Yes"},
        {},
        # Middle 22: 26 - 2.60 - 0.50 - 4 - 0.50 = 18.40.
        {"verdict": "Buy up to 9.20", "middle": 22},
    ),
    "a wild price": (
        {"sold_5": 300},
        {},
        # The middle of 20, 24, 26, 28 is 25: 29 - 2.90 - 0.50 - 4 - 0.50 = 21.10.
        {"verdict": "Buy up to 10.55", "middle": 25,
         "remark": "4 sales only: wide guess; 1 wild price dropped"},
    ),
    "no prices": (
        dict.fromkeys(PRICES), {}, {"verdict": "Type sold prices", "reason": "", "profit": None}
    ),
    "from Comparables": (
        dict.fromkeys(PRICES) | {"comps_of": "stool"},
        {},
        {"middle": 26, "low": 25, "high": 27, "verdict": "Buy up to 11.00",
         "remark": "2 sales only: wide guess"},
    ),
    "unknown channel": ({"channel": "Fair"}, {}, {"verdict": "Choose a channel"}),
    "no channel": ({"channel": None}, {}, {"verdict": "Choose a channel", "profit": None}),
    "text for a number": (
        {"sold_2": "20 EUR"}, {}, {"verdict": "Mend what you typed", "middle": None}
    ),
    "neither yes nor no": ({"postage_in": "Y"}, {}, {"verdict": "Mend what you typed"}),
    "postage in the prices unknown": (
        {"postage_in": "Yes", "postage": None}, {}, {"verdict": "Type the postage"}
    ),
    "unknown item": (
        dict.fromkeys(PRICES) | {"comps_of": "stol"}, {}, {"verdict": "Item is not on Comparables"}
    ),
    "item that was only asked for": (
        dict.fromkeys(PRICES) | {"comps_of": "bench"}, {}, {"verdict": "The item has no sales yet"}
    ),
    "item of which mine lacks a part": (
        dict.fromkeys(PRICES) | {"comps_of": "stool", "lacks": 6},
        {},
        {"middle": 20, "verdict": "Buy up to 8.30"},
    ),
    "just enough for nothing": (
        # 22.00 left and 22.00 wanted: 0 is allowed, and it is the profit that allows no more.
        {},
        {"Wanted_profit": 22},
        {"verdict": "Leave it", "reason": "the wanted profit sets the limit"},
    ),
    "below 0": ({"ticket": -1}, {}, {"verdict": "Mend what you typed"}),
}  # fmt: skip
COMPS: list[Row] = [
    {"item": "stool", "kind": "Sold", "price": 24, "seen_on": AS_OF},
    {"item": "Stool", "kind": "Sold", "price": 28, "seen_on": AS_OF},
    {"item": "stool", "kind": "Asked", "price": 99, "seen_on": AS_OF},
    {"item": "bench", "kind": "Asked", "price": 50, "seen_on": AS_OF},
]


WITHOUT_FIGURES = [case for case, (_, _, expected) in VERDICTS.items() if not re.search(r"\d", expected["verdict"])]
"""What is to be typed or mended first: the same formula in both editions."""


@pytest.mark.parametrize(
    ("edition", "case"),
    [
        *((edition, case) for case in VERDICTS if case not in WITHOUT_FIGURES for edition in EDITIONS),
        *in_turn(WITHOUT_FIGURES),
    ],
)  # fmt: skip
def test_verdicts(tmp_path: Path, edition: Edition, case: str) -> None:
    typed, settings, expected = VERDICTS[case]
    shelf = {key: cell for key, cell in (SHELF | typed).items() if cell is not None}
    made = entries(settings=settings, forms={"Shelf": shelf}, rows={"Comps": COMPS})
    shown = form(read(tmp_path, edition, made), "Shelf")
    for key, value in expected.items():
        if value is None:
            assert shown[key] != shown[key], key
        elif isinstance(value, str):
            assert shown[key] == value
        else:
            assert shown[key] == pytest.approx(value, abs=1e-9), key


@both
def test_caution_of_a_category(tmp_path: Path, edition: Edition) -> None:
    """A word of one's own has no entry until Settings names one."""
    words = [{"name": "Lamps"}, {"name": "Cots", "caution": "Cribs"}]
    pieces = [PIECE | {"category": "Cots"}, PIECE | {"item_no": "A2"}]
    made = entries(blocks={"Category": words}, rows={"Log": pieces}, forms={"Shelf": dict(SHELF)})
    content = read(tmp_path, edition, made)
    assert form(content, "Shelf")["caution"] == "no entry: check recalls and local rules"
    cautions = content.shown["Log"]["caution"].tolist()
    assert cautions[1] == "no entry: check recalls and local rules"
    assert "drop side" in cautions[0]
    made.forms["Shelf"] |= {"category": "Cots"}
    shown = form(read(tmp_path, edition, made), "Shelf")["caution"]
    assert "CPSC" in shown
    assert shown.endswith("Local rules come first.")


@both
def test_comparables_on_one_basis(tmp_path: Path, edition: Edition) -> None:
    rows: list[Row] = [
        # (30 - 6) x 0.75 / 0.9 - 3 = 17.00: mine is good and lacks a part, theirs was like new.
        {"item": "jug", "kind": "Sold", "price": 30, "postage_in": "Yes", "postage": 6,
         "condition": "Like new", "seen_on": AS_OF, "my_condition": "Good", "my_lacks": 3},
        # It lacked the same: 20 x 0.75 / 0.75 = 20.00. 90 days old: half the weight.
        {"item": "jug", "kind": "Sold", "price": 20, "postage": 5, "complete": "No",
         "condition": "Good", "seen_on": AS_OF - dt.timedelta(days=90)},
        {"item": "jug", "kind": "Asked", "price": 12, "postage": 5.5, "seen_on": AS_OF},
        {"item": "mug", "kind": "Asked", "price": 9, "seen_on": AS_OF},
        {"item": "cup", "kind": "Sold", "price": 8.01, "seen_on": AS_OF},
    ]  # fmt: skip
    content = read(tmp_path, edition, entries(rows={"Comps": rows}))
    assert content.problems == []
    shown = content.shown["Comps"]
    assert shown["basis"].tolist()[:2] == [17, 20]
    assert shown["counts"].tolist() == ["yes", "yes", "asked", "asked", "yes"]
    # Weights 1 and 1/2: n = 1.5^2 / 1.25 = 1.8; the middle takes 0.4 to 1.4 of 1.8. The first sale
    # reaches to 1.2 and has 0.8 of it, the second 0.2: 17 x 0.8 + 20 x 0.2 = 17.60.
    assert shown["middle"][0] == pytest.approx(17.6)
    assert shown["sold"].tolist()[0] == 2
    assert shown["asked"].tolist()[0] == 1
    assert shown["sell_through"][0] == pytest.approx(2 / 3)
    assert shown["sell_through"].isna().tolist() == [False, True, True, False, True]
    assert shown["remark"].tolist() == ["2 sales only: wide guess", "", "", "",
                                        "1 sale only: wide guess"]  # fmt: skip
    assert shown["middle"][4] == 8.01
    assert shown["sold"][3] == 0
    assert shown["middle"].isna().tolist() == [False, True, True, True, False]


def test_one_bad_row_of_comparables_spoils_no_other(tmp_path: Path) -> None:
    rows: list[Row] = [
        {"item": "jug", "kind": "Sold", "price": 30, "seen_on": AS_OF},
        {"item": "jug", "kind": "Sold", "price": "20 EUR", "seen_on": AS_OF},
        {"item": "jug", "kind": "Sold", "price": 32, "seen_on": "in May"},
        {"item": "mug", "kind": "Sold", "price": 7, "seen_on": AS_OF},
    ]
    content = read(tmp_path, "functions", entries(rows={"Comps": rows}))
    assert content.shown["Comps"]["middle"].tolist()[:1] == [31]
    assert content.shown["Comps"]["middle"][3] == 7
    assert {p.key for p in content.problems} == {"not_a_number", "not_a_date"}


# Landed 6, 5, 5 (no tax); profits by hand: price - fee - 0.50 - cost at the stall, which has no fee.
PLAN: list[Row] = [
    {"piece": "Six", "ticket": 6, "expected_price": 16.5, "channel": "Stall"},  # 10.00
    {"piece": "Five", "ticket": 5, "expected_price": 13, "channel": "Stall"},  # 7.50
    {"piece": "Other five", "ticket": 5, "expected_price": 13, "channel": "Stall"},  # 7.50
    {"piece": "Dud", "ticket": 5, "expected_price": 5, "channel": "Stall"},  # -0.50
]


@pytest.mark.parametrize(("edition", "bought"), [("plain", [1, 0, 0, 0]), ("functions", [0, 1, 1, 0])])
def test_the_best_plan_against_the_ranking(tmp_path: Path, edition: Edition, bought: list[int]) -> None:
    """With 10 to spend, 6 ranks first (10 / 6 over 7.50 / 5), but two at 5 earn 15."""
    made = entries(settings={"Trip_cash": 12, "Trip_reserve": 2}, rows={"Plan": PLAN})
    content = read(tmp_path, edition, made)
    shown = content.shown["Plan"]
    assert content.problems == []
    assert shown["profit"].tolist() == [10, 7.5, 7.5, -0.5]
    assert shown["rank"].tolist() == [1, 2, 3, 4]
    # The wishes, 5 and 100 %, allow up to 8.00, 6.25 and 2.50.
    assert shown["plan_remark"].tolist() == ["", "", "", "over your most to pay"]
    assert shown["buy"].tolist() == bought
    total = form(content, "Shelf")
    assert total["plan_cost"] == sum(n * c for n, c in zip(bought, (6, 5, 5, 5), strict=True))
    assert total["plan_profit"] == (10 if edition == "plain" else 15)


@both
def test_plan_by_the_day_free_pieces_and_no_cash(tmp_path: Path, edition: Edition) -> None:
    rows: list[Row] = [
        PLAN[0] | {"days_to_sell": 100.0},
        PLAN[1] | {"days_to_sell": 10.0},
        {"piece": "Gift", "ticket": 0, "expected_price": 6, "channel": "Stall", "most": 2,
         "days_to_sell": 5.0},
        {"piece": "Unclear", "ticket": "3 EUR", "expected_price": 9, "channel": "Stall",
         "days_to_sell": 5.0},
    ]  # fmt: skip
    by_day = {"Trip_cash": 6, "Trip_reserve": 0, "Plan_by": "Profit a day"}
    content = read(tmp_path, edition, entries(settings=by_day, rows={"Plan": rows}))
    assert content.shown["Plan"]["rank"].tolist()[:3] == [3, 2, 1]
    assert content.shown["Plan"]["buy"].tolist()[:3] == [0, 1, 2]
    made = entries(settings=by_day | {"Trip_cash": 0}, rows={"Plan": rows})
    assert read(tmp_path, edition, made).shown["Plan"]["buy"].tolist()[:3] == [0, 0, 2]


DESK: Row = {"item_no": "A1", "title": "Oak stool, one foot short", "box": "Cube",
             "piece_weight": 5, "service": "Near"}  # fmt: skip


@both
def test_desk(tmp_path: Path, edition: Edition) -> None:
    content = read(tmp_path, edition, entries(forms={"Desk": DESK}))
    desk = form(content, "Desk")
    assert content.problems == []
    assert desk["description"] == "Oak stool"
    assert desk["room"] == 40 - 25
    assert desk["missing_remark"] == ""
    # 5 x 1.1 + 1 = 6.50; 13 x 12 x 12 (11.5 up) = 1,872 over 1,728: / 139 = 13.47, up to 14.
    assert desk["packed_weight"] == pytest.approx(6.5)
    assert desk["girth"] == 13 + 2 * (12 + 11.5)
    assert desk["billed_weight"] == 14
    # The table ends at 13: no price is better than a wrong one.
    assert desk["postage"] != desk["postage"]
    assert desk["postage_note"] == "not known: the table has no price for this weight"
    assert desk["cost_note"] == "Postage is not known, see above."
    assert desk["price_without"] == 30
    assert desk["net_without"] != desk["net_without"]


@both
def test_price_pair_nets_the_same(tmp_path: Path, edition: Edition) -> None:
    made = entries(forms={"Desk": DESK | {"service": None}})
    desk = form(read(tmp_path, edition, made), "Desk")
    assert (desk["postage"], desk["postage_note"]) == (7, "the log's expected postage")
    # 30 + 7 = 37: fee 4.20, 37 - 4.20 - 7 - 0.50 - 4 = 21.30 both ways.
    assert (desk["price_without"], desk["price_with"]) == (30, 37)
    assert (desk["fee_without"], desk["fee_with"]) == (4.2, 4.2)
    assert desk["net_without"] == pytest.approx(21.3)
    assert desk["net_with"] == pytest.approx(21.3)
    # (4 + 7 + 0.5 + 0.5) / 0.9 - 7 = 6.3333.
    assert desk["break_even"] == 6.34
    assert desk["cost_note"] == ""


@pytest.mark.parametrize(
    ("edition", "change", "note"),
    in_turn([
        ({"paid": None}, "Landed cost is not known: mend its row in the log."),
        ({"expected_postage": None}, "Postage is not known, see above."),
        ({"channel": None}, "Choose a channel."),
    ]),
)  # fmt: skip
def test_no_net_profit_from_what_is_not_known(tmp_path: Path, edition: Edition, change: Row, note: str) -> None:
    """A cost or postage that is not known is no 0."""
    piece = {key: cell for key, cell in (PIECE | change).items() if cell is not None}
    made = entries(rows={"Log": [piece]}, forms={"Desk": {"item_no": "A1"}})
    desk = form(read(tmp_path, edition, made), "Desk")
    assert desk["cost_note"] == note
    for key in ("net_without", "net_with", "break_even"):
        assert desk[key] != desk[key], key


@both
def test_a_light_parcel_is_looked_up_by_its_own_weight(tmp_path: Path, edition: Edition) -> None:
    """The rule counts full pounds, but the table may have rows below the first one."""
    piece = PIECE | {"packed_weight": 0.27, "length": 6, "width": 5, "height": 2}
    prices = [{"up_to": 0.25, "no_1": 4}, {"up_to": 0.5, "no_1": 5}, {"up_to": 2, "no_1": 8}]
    made = entries(blocks={"Postage": prices}, rows={"Log": [piece]}, forms={"Desk": DESK | {"box": None}})
    desk = form(read(tmp_path, edition, made), "Desk")
    assert (desk["billed_weight"], desk["postage"]) == (1, 5)


@both
def test_desk_on_the_day_before_the_rule_changed(tmp_path: Path, edition: Edition) -> None:
    day_before = AS_OF - dt.timedelta(days=1)
    made = entries(settings={"As_of_date": day_before}, forms={"Desk": DESK})
    desk = form(read(tmp_path, edition, made), "Desk")
    # 13 x 12 x 12 (11.5 to the nearest) / 166 = 11.28, up to 12: the row up to 13.
    assert (desk["billed_weight"], desk["postage"]) == (12, 11)
    assert desk["postage_note"] == "the postage table"


@both
def test_desk_without_a_rule_and_with_a_weight_at_a_limit(tmp_path: Path, edition: Edition) -> None:
    piece = PIECE | {"packed_weight": 5, "length": 10, "width": 9, "height": 8}
    made = entries(rows={"Log": [piece]}, forms={"Desk": DESK | {"service": "Plain"}})
    desk = form(read(tmp_path, edition, made), "Desk")
    assert (desk["billed_weight"], desk["postage"]) == (5, 5)


def test_what_is_missing_is_always_said(tmp_path: Path) -> None:
    lines = [{"line": "{description}: {condition}"}, {"line": "Item {item}"}]
    made = entries(blocks={"Text": lines}, forms={"Desk": DESK | {"title": "Oak stool"}})
    desk = form(read(tmp_path, "functions", made), "Desk")
    assert desk["missing_remark"] == "one foot"
    assert [desk[f"line_{i}"] for i in (1, 2, 3, 4)] == [
        "Oak stool: Good", "Item A1", "Missing or faulty: one foot.", "",
    ]  # fmt: skip
    whole = entries(rows={"Log": [PIECE | {"missing": None}]}, forms={"Desk": DESK})
    desk = form(read(tmp_path, "functions", whole), "Desk")
    assert desk["line_3"] == "Missing or faulty: none noted, please ask"
    assert desk["missing_remark"] == ""


@both
def test_an_unknown_label_is_said(tmp_path: Path, edition: Edition) -> None:
    made = entries(blocks={"Text": [{"line": "Colour: {colour}"}]}, forms={"Desk": DESK})
    content = read(tmp_path, edition, made)
    desk = form(content, "Desk")
    assert desk["label_check"].startswith("A label")
    assert "unknown" in desk["label_check"]
    if edition == "functions":
        assert desk["filled"] == "#VALUE!"
        assert "Desk_errors" in content.shown["Checks"].set_index("key").query("count > 0").index


@pytest.mark.parametrize("edition", ["functions"])
def test_best_title_and_remarks(tmp_path: Path, edition: Edition) -> None:
    words = {"keyword_1": "oak stool", "weight_1": 9, "keyword_2": "wow", "weight_2": 1,
             "keyword_3": "hand carved seat", "weight_3": 5, "keyword_4": "brown",
             "weight_4": 2, "keyword_5": "small", "weight_5": 2}  # fmt: skip
    made = entries(forms={"Desk": {"item_no": "A1"} | words})
    desk = form(read(tmp_path, edition, made), "Desk")
    # 9 + 3 + 16 + 5 with three spaces is 36 of 40; "small" in place of "wow" is worth one more.
    assert desk["packed"] == "oak stool hand carved seat brown small"
    assert desk["title_used"] == desk["packed"]
    assert desk["room"] == 40 - len(desk["packed"])
    assert desk["remarks"] == ""
    assert desk["missing_remark"] == "one foot"
    made.forms["Desk"]["title"] = "WOW oak stool, OAKEN caf\u00e9 \U0001f468\u200d\U0001f469\u200d\U0001f467"
    desk = form(read(tmp_path, edition, made), "Desk")
    assert desk["room"] == 40 - 27
    assert desk["remarks"] == (
        "filler words: wow; 1 word in capitals; symbols: \U0001f468\u200d\U0001f469\u200d\U0001f467; "
        "room for 13 more characters"
    )


@both
def test_estimates_against_actuals(tmp_path: Path, edition: Edition) -> None:
    """Errors of postage 0.50, -1.00, 0.20 and 2.00; nine in ten of four is all four."""
    sale = {"sold_on": dt.date(2026, 9, 20), "sale_price": 20}
    pieces = [
        PIECE | sale | {"item_no": f"B{i}", "expected_postage": 7, "postage_paid": 7 + error}
        for i, error in enumerate((0.5, -1, 0.2, 2))
    ]
    pieces[0] |= {"packed_weight": 2, "scale_weight": 1.75}
    desk = form(read(tmp_path, edition, entries(rows={"Log": pieces})), "Desk")
    assert desk["postage_bias_pairs"] == 4
    assert desk["postage_bias_mean"] == pytest.approx(1.7 / 4)
    assert desk["postage_bias_short"] == pytest.approx(3 / 4)
    assert desk["postage_bias_allowance"] == pytest.approx(2)
    assert desk["weight_bias_pairs"] == 1
    assert desk["weight_bias_mean"] == pytest.approx(-0.25)
    assert desk["weight_bias_allowance"] == 0


def test_place_among_offers(tmp_path: Path) -> None:
    offers = [
        {"item": "A1", "kind": "Asked", "price": price, "postage": postage, "seen_on": AS_OF}
        for price, postage in ((30, 6.99), (30, 7), (40, 0))
    ]
    made = entries(rows={"Comps": offers}, forms={"Desk": DESK | {"service": None}})
    assert form(read(tmp_path, "plain", made), "Desk")["rank"] == 2


@pytest.mark.parametrize(("edition", "change"), in_turn([{"from": dt.date(2026, 10, 1)}, {"units": "kg and cm"}]))
def test_no_weight_by_a_rule_of_another_day_or_of_other_units(tmp_path: Path, edition: Edition, change: Row) -> None:
    made = entries(blocks={"Rule": [RULES[0] | change]}, forms={"Desk": DESK})
    desk = form(read(tmp_path, edition, made), "Desk")
    assert desk["billed_weight"] != desk["billed_weight"]
    assert desk["postage"] != desk["postage"]
    assert "parcel rule has no row" in desk["postage_note"]


def test_units(tmp_path: Path) -> None:
    settings = {"Weight_unit": "kg", "Length_unit": "cm"}
    rules = [rule | {"units": "kg and cm"} for rule in RULES]
    made = entries(settings=settings, blocks={"Rule": rules}, forms={"Desk": DESK})
    content = read(tmp_path, "functions", made)
    assert content.problems == []
    assert form(content, "Desk")["line_4"] == "Parcel: 6.5 kg, 13 x 12 x 11.5 cm"
