"""Sheet Listing desk with figures worked out by hand."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from sheetfns.log.model.inputs import Row
from sheetfns.log.model.sheets import EDITIONS, Edition
from tests.log.quick_logs import in_turn
from tests.log.sheets.small_shop import AS_OF, ITEM, RULES, form, inputs, read

both = pytest.mark.parametrize("edition", EDITIONS)

DESK: Row = {"item_no": "A1", "title": "Oak stool, one foot short", "box": "Cube",
             "item_weight": 5, "service": "Near"}  # fmt: skip


@both
def test_desk(tmp_path: Path, edition: Edition) -> None:
    content = read(tmp_path, edition, inputs(forms={"Desk": DESK}), "Desk")
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
    assert desk["postage_note"] == "unknown: the table has no price for this weight"
    assert desk["cost_note"] == "Postage is unknown, see above."
    assert desk["price_without"] == 30
    assert desk["net_without"] != desk["net_without"]


@both
def test_price_pair_nets_the_same(tmp_path: Path, edition: Edition) -> None:
    made = inputs(forms={"Desk": DESK | {"service": None}})
    desk = form(read(tmp_path, edition, made, "Desk"), "Desk")
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
        ({"paid": None}, "Landed cost is unknown: fix its row in the log."),
        ({"expected_postage": None}, "Postage is unknown, see above."),
        ({"channel": None}, "Choose a channel."),
    ]),
)  # fmt: skip
def test_no_net_profit_from_what_is_not_known(tmp_path: Path, edition: Edition, change: Row, note: str) -> None:
    """A cost or postage that is not known is no 0."""
    item = {key: cell for key, cell in (ITEM | change).items() if cell is not None}
    made = inputs(rows={"Log": [item]}, forms={"Desk": {"item_no": "A1"}})
    desk = form(read(tmp_path, edition, made, "Desk"), "Desk")
    assert desk["cost_note"] == note
    for key in ("net_without", "net_with", "break_even"):
        assert desk[key] != desk[key], key


@both
def test_a_light_parcel_is_looked_up_by_its_own_weight(tmp_path: Path, edition: Edition) -> None:
    """The rule counts full pounds, but the table may have rows below the first one."""
    item = ITEM | {"packed_weight": 0.27, "length": 6, "width": 5, "height": 2}
    prices = [{"up_to": 0.25, "no_1": 4}, {"up_to": 0.5, "no_1": 5}, {"up_to": 2, "no_1": 8}]
    made = inputs(blocks={"Postage": prices}, rows={"Log": [item]}, forms={"Desk": DESK | {"box": None}})
    desk = form(read(tmp_path, edition, made, "Desk"), "Desk")
    assert (desk["billed_weight"], desk["postage"]) == (1, 5)


@both
def test_desk_on_the_day_before_the_rule_changed(tmp_path: Path, edition: Edition) -> None:
    day_before = AS_OF - dt.timedelta(days=1)
    made = inputs(settings={"As_of_date": day_before}, forms={"Desk": DESK})
    desk = form(read(tmp_path, edition, made, "Desk"), "Desk")
    # 13 x 12 x 12 (11.5 to the nearest) / 166 = 11.28, up to 12: the row up to 13.
    assert (desk["billed_weight"], desk["postage"]) == (12, 11)
    assert desk["postage_note"] == "the postage table"


@both
def test_desk_without_a_rule_and_with_a_weight_at_a_limit(tmp_path: Path, edition: Edition) -> None:
    item = ITEM | {"packed_weight": 5, "length": 10, "width": 9, "height": 8}
    made = inputs(rows={"Log": [item]}, forms={"Desk": DESK | {"service": "Plain"}})
    desk = form(read(tmp_path, edition, made, "Desk"), "Desk")
    assert (desk["billed_weight"], desk["postage"]) == (5, 5)


def test_what_is_missing_is_always_said(tmp_path: Path) -> None:
    lines = [{"line": "{description}: {condition}"}, {"line": "Item {item}"}]
    made = inputs(blocks={"Text": lines}, forms={"Desk": DESK | {"title": "Oak stool"}})
    desk = form(read(tmp_path, "functions", made, "Desk"), "Desk")
    assert desk["missing_remark"] == "one foot"
    assert [desk[f"line_{i}"] for i in (1, 2, 3, 4)] == [
        "Oak stool: Good", "Item A1", "Missing or faulty: one foot.", "",
    ]  # fmt: skip
    whole = inputs(rows={"Log": [ITEM | {"missing": None}]}, forms={"Desk": DESK})
    desk = form(read(tmp_path, "functions", whole, "Desk"), "Desk")
    assert desk["line_3"] == "Missing or faulty: none noted, please ask"
    assert desk["missing_remark"] == ""


@both
def test_an_unknown_label_is_said(tmp_path: Path, edition: Edition) -> None:
    made = inputs(blocks={"Text": [{"line": "Colour: {colour}"}]}, forms={"Desk": DESK})
    content = read(tmp_path, edition, made, "Desk")
    desk = form(content, "Desk")
    assert desk["label_check"].startswith("A label")
    assert "unknown" in desk["label_check"]
    if edition == "functions":
        assert desk["filled"] == "#VALUE!"
        assert "Desk_errors" in content.shown["Data checks"].set_index("key").query("count > 0").index


@pytest.mark.parametrize("edition", ["functions"])
def test_best_title_and_remarks(tmp_path: Path, edition: Edition) -> None:
    words = {"keyword_1": "oak stool", "weight_1": 9, "keyword_2": "wow", "weight_2": 1,
             "keyword_3": "hand carved seat", "weight_3": 5, "keyword_4": "brown",
             "weight_4": 2, "keyword_5": "small", "weight_5": 2}  # fmt: skip
    made = inputs(forms={"Desk": {"item_no": "A1"} | words})
    desk = form(read(tmp_path, edition, made, "Desk"), "Desk")
    # 9 + 3 + 16 + 5 with three spaces is 36 of 40; "small" in place of "wow" is worth one more.
    assert desk["packed"] == "oak stool hand carved seat brown small"
    assert desk["title_used"] == desk["packed"]
    assert desk["room"] == 40 - len(desk["packed"])
    assert desk["remarks"] == ""
    assert desk["missing_remark"] == "one foot"
    made.forms["Desk"]["title"] = "WOW oak stool, OAKEN caf\u00e9 \U0001f468\u200d\U0001f469\u200d\U0001f467"
    desk = form(read(tmp_path, edition, made, "Desk"), "Desk")
    assert desk["room"] == 40 - 27
    assert desk["remarks"] == (
        "filler words: wow; 1 word in capitals; symbols: \U0001f468\u200d\U0001f469\u200d\U0001f467; "
        "room for 13 more characters"
    )


@both
def test_estimates_against_actuals(tmp_path: Path, edition: Edition) -> None:
    """Errors of postage 0.50, -1.00, 0.20 and 2.00; nine in ten of four is all four."""
    sale = {"sold_on": dt.date(2026, 9, 20), "sale_price": 20}
    items = [
        ITEM | sale | {"item_no": f"B{i}", "expected_postage": 7, "postage_paid": 7 + error}
        for i, error in enumerate((0.5, -1, 0.2, 2))
    ]
    items[0] |= {"packed_weight": 2, "scale_weight": 1.75}
    desk = form(read(tmp_path, edition, inputs(rows={"Log": items}), "Desk"), "Desk")
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
    made = inputs(rows={"Comps": offers}, forms={"Desk": DESK | {"service": None}})
    assert form(read(tmp_path, "plain", made, "Desk"), "Desk")["rank"] == 2


@pytest.mark.parametrize(("edition", "change"), in_turn([{"from": dt.date(2026, 10, 1)}, {"units": "kg and cm"}]))
def test_no_weight_by_a_rule_of_another_day_or_of_other_units(tmp_path: Path, edition: Edition, change: Row) -> None:
    made = inputs(blocks={"Rule": [RULES[0] | change]}, forms={"Desk": DESK})
    desk = form(read(tmp_path, edition, made, "Desk"), "Desk")
    assert desk["billed_weight"] != desk["billed_weight"]
    assert desk["postage"] != desk["postage"]
    assert "parcel rule has no row" in desk["postage_note"]


def test_units(tmp_path: Path) -> None:
    settings = {"Weight_unit": "kg", "Length_unit": "cm"}
    rules = [rule | {"units": "kg and cm"} for rule in RULES]
    made = inputs(settings=settings, blocks={"Rule": rules}, forms={"Desk": DESK})
    content = read(tmp_path, "functions", made, "Desk")
    assert content.problems == []
    assert form(content, "Desk")["line_4"] == "Parcel: 6.5 kg, 13 x 12 x 11.5 cm"
