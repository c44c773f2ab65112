"""Sheet Shelf check with figures worked out by hand."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from sheetfns.log.model.inputs import Row
from sheetfns.log.model.sheets import EDITIONS, Edition
from tests.log.quick_logs import in_turn
from tests.log.sheets.small_shop import AS_OF, ITEM, form, inputs, read

both = pytest.mark.parametrize("edition", EDITIONS)

# Sold prices 20, 24, 28 and 26, 30 without postage: the middle is 26. With 4.00 postage the buyer
# pays 30.00, the fee is 3.00 + 0.50; 30 - 3.50 - 4 - 0.50 = 22.00 is left for the item. A profit
# of 5 leaves 17.00, a return of 100% leaves 11.00: the return sets the limit.
PRICES: Row = {"sold_1": 20, "sold_2": 24, "sold_3": 28, "sold_4": 26, "sold_5": 30}
SHELF: Row = PRICES | {"postage": 4, "channel": "Site", "category": "Lamps"}
VERDICTS: dict[str, tuple[Row, Row, dict[str, Any]]] = {
    "cheap enough": (
        {"price_tag": 10},
        {},
        {"verdict": "Buy up to 11.00", "reason": "the target return sets the limit", "profit": 12,
         # (10 + 4 + 0.5 + 0.5) / 0.9 - 4 = 12.6667, up to the cent.
         "break_even": 12.67, "safety": 13.33 / 26, "afford": 3, "ceiling": 11,
         # At the low price, 24: 28 - 2.80 - 0.50 - 4 - 0.50 = 20.20, half of it.
         "careful": 10.1},
    ),
    "too dear": ({"price_tag": 11.01}, {}, {"verdict": "Only at 11.00 or less", "profit": 10.99}),
    "just right": ({"price_tag": 11}, {}, {"verdict": "Buy up to 11.00"}),
    "no price tag": ({}, {}, {"verdict": "Buy up to 11.00", "profit": 11, "afford": 2}),
    "free": ({"price_tag": 0}, {}, {"verdict": "Buy up to 11.00", "profit": 22}),
    "profit sets the limit": (
        {"price_tag": 10},
        {"Target_profit": 15},
        {"verdict": "Only at 7.00 or less", "reason": "the target profit sets the limit"},
    ),
    "no targets": (
        {},
        {"Target_profit": 0, "Target_return": 0},
        {"verdict": "Buy up to 22.00", "reason": "break-even: no target profit or return",
         "profit": 0},
    ),
    "tax at the till": (
        # 11 / 1.1 = 10; landed 11.00.
        {},
        {"Buying_tax_rate": 0.1},
        {"verdict": "Buy up to 10.00", "profit": 11},
    ),
    "nothing left": (
        {"price_tag": 1},
        {"Target_profit": 25},
        {"verdict": "Leave it", "ceiling": 0,
         "reason": "no price is low enough: 22.00 is left after fee, postage and packaging"},
    ),
    "mine lacks a part": (
        # Middle 20: 24 - 2.40 - 0.50 - 4 - 0.50 = 16.60 left, half of it 8.30.
        {"missing_value": 6},
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
         "remark": "rough estimate (4 sales); 1 outlier excluded"},
    ),
    "no prices": (
        dict.fromkeys(PRICES),
        {},
        {"verdict": "Enter sold prices", "reason": "Sold prices of similar items; three are enough.", "profit": None},
    ),
    "from Comparables": (
        dict.fromkeys(PRICES) | {"comps_of": "stool"},
        {},
        {"middle": 26, "low": 25, "high": 27, "verdict": "Buy up to 11.00",
         "remark": "rough estimate (2 sales)"},
    ),
    "unknown channel": ({"channel": "Fair"}, {}, {"verdict": "Choose a channel"}),
    "no channel": (
        # The first of the table, Site, counts; where no caution is to be shown, its name is.
        {"channel": None, "category": None}, {}, {"verdict": "Buy up to 11.00", "check_first": "With the fees of: Site"}
    ),
    "the default channel": (
        # At the booth there is no fee: 26 + 4 - 4 - 0.50 = 25.50, and a return of 100% is wanted: 12.75.
        {"channel": None, "category": None}, {"Default_channel": "bOOTH"},
        {"verdict": "Buy up to 12.75", "check_first": "With the fees of: Booth"},
    ),
    "a default channel that is not there": (
        {"channel": None, "category": None}, {"Default_channel": "Fair"}, {"verdict": "Choose a channel", "check_first": ""}
    ),
    "text for a number": (
        {"sold_2": "20 EUR"}, {}, {"verdict": "Check your entries", "middle": None}
    ),
    "neither yes nor no": ({"postage_in": "Y"}, {}, {"verdict": "Check your entries"}),
    "postage in the prices unknown": (
        {"postage_in": "Yes", "postage": None}, {}, {"verdict": "Enter the postage"}
    ),
    "unknown item": (
        dict.fromkeys(PRICES) | {"comps_of": "stol"}, {}, {"verdict": "Item is not on Comparables"}
    ),
    "the header of Comparables": (
        dict.fromkeys(PRICES) | {"comps_of": "Item"}, {}, {"verdict": "Item is not on Comparables"}
    ),
    "item that was only asked for": (
        dict.fromkeys(PRICES) | {"comps_of": "bench"}, {}, {"verdict": "The item has no sales yet"}
    ),
    "item of which mine lacks a part": (
        dict.fromkeys(PRICES) | {"comps_of": "stool", "missing_value": 6},
        {},
        {"middle": 20, "verdict": "Buy up to 8.30"},
    ),
    "just enough for nothing": (
        # 22.00 left and 22.00 wanted: 0 is allowed, and it is the profit that allows no more.
        {},
        {"Target_profit": 22},
        {"verdict": "Leave it", "reason": "the target profit sets the limit"},
    ),
    "below 0": ({"price_tag": -1}, {}, {"verdict": "Check your entries"}),
}  # fmt: skip
COMPS: list[Row] = [
    {"item": "stool", "kind": "Sold", "price": 24, "seen_on": AS_OF},
    {"item": "Stool", "kind": "Sold", "price": 28, "seen_on": AS_OF},
    {"item": "stool", "kind": "Asked", "price": 99, "seen_on": AS_OF},
    {"item": "bench", "kind": "Asked", "price": 50, "seen_on": AS_OF},
]


WITHOUT_FIGURES = [case for case, (_, _, expected) in VERDICTS.items() if not re.search(r"\d", expected["verdict"])]
"""What is to be typed or fixed first: the same formula in both editions."""


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
    made = inputs(settings=settings, forms={"Shelf": shelf}, rows={"Comps": COMPS})
    shown = form(read(tmp_path, edition, made, "Shelf"), "Shelf")
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
    items = [ITEM | {"category": "Cots"}, ITEM | {"item_no": "A2"}]
    made = inputs(blocks={"Category": words}, rows={"Log": items}, forms={"Shelf": dict(SHELF)})
    content = read(tmp_path, edition, made, "Shelf")
    assert form(content, "Shelf")["caution"] == "no entry: check recalls and local rules"
    cautions = content.shown["Log"]["caution"].tolist()
    assert cautions[1] == "no entry: check recalls and local rules"
    assert "drop side" in cautions[0]
    made.forms["Shelf"] |= {"category": "Cots"}
    shown = form(read(tmp_path, edition, made, "Shelf"), "Shelf")["caution"]
    assert "CPSC" in shown
    assert shown.endswith("Local rules come first.")
