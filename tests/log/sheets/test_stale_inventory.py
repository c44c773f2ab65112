"""Sheet Stale inventory: a small log by hand, in both editions."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.model.inputs import Inputs, Row
from sheetfns.log.model.sheets import EDITIONS, Edition
from sheetfns.log.read.content import LogContent
from sheetfns.log.sheets.registry import log_layout
from tests.log.quick_logs import in_turn
from tests.log.sheet_logs import sheet_log
from tests.log.sheets.aging_shop import hand_made, several

both = pytest.mark.parametrize("edition", EDITIONS)


def read_small(folder: Path, edition: Edition, inputs: Inputs) -> LogContent:
    log = sheet_log(edition, "Stale")
    figures = compute_log(log.read(log.filled(folder / "log.xlsx", inputs)))
    assert compare(figures, sheets=("Stale",)).differences == []
    assert not [problem for problem in figures.content.problems if problem.sheet == log_layout().table("Stale").name]
    return figures.content


@pytest.fixture(scope="module", params=EDITIONS)
def by_hand(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> LogContent:
    content = read_small(tmp_path_factory.mktemp("stale"), request.param, hand_made())
    assert content.problems == []
    return content


def test_stale_inventory(by_hand: LogContent) -> None:
    stale = by_hand.shown["Stale"].set_index("item")
    assert stale.index[:9].tolist() == ["A6", "A5", "R1", "L1a", "M1", "C1", "A3", "A4", ""]
    assert stale["waiting"].iloc[:8].tolist() == [91, 90, 87, 79, 74, 69, 60, 60]
    assert stale["found"].iloc[3] == "Auction"
    assert stale["what_to_do"].iloc[:9].tolist() == [
        "asked below break-even: it loses",
        "lower it, but only to its floor",
        "came back: list it in a new row",
        "list it first",
        "enter its asking price",
        "fix its row: channel or cost",
        "list it first",
        "lower the price",
        "",
    ]
    columns = ["asking", "break_even", "share_off", "new_price", "net_first", "net_new", "given_up"]

    def figures(item: str) -> list[Any]:
        return several(stale.loc[item], *columns)

    # Costs 7 and 0.50 of packaging, asks 5; a third off would be 3.25.
    assert figures("A6") == pytest.approx([5, 7.5, 0.35, 5, -2.5, -2.5, 0])
    # (6 + 0.50 + 0.30) / 0.9 is 7.555...; fees 1.30 and 1.06 (0.756 + 0.30).
    assert figures("A5") == pytest.approx([10, 7.56, 0.35, 7.56, 2.2, 0, 2.2])
    # 20% off 15; no fee.
    assert figures("A4") == pytest.approx([15, 5.5, 0.2, 12, 9.5, 6.5, 3])
    assert figures("C1") == [9, None, 0.2, *[None] * 4]
    for item in ("R1", "L1a", "M1", "A3"):
        assert figures(item) == [None] * 7
    assert stale["landed_cost"].iloc[2] == 3


@both
def test_below_break_even(tmp_path: Path, edition: Edition) -> None:
    content = read_small(tmp_path, edition, hand_made(Below_break_even="Yes"))
    stale = content.shown["Stale"].set_index("item")
    # 10 less 35%, fee 0.95: 6.50 - 0.95 - 0.50 - 6; 5 less 35%: 3.25 - 0.50 - 7.
    keys = ("new_price", "net_new", "given_up")
    assert several(stale.loc["A5"], *keys) == pytest.approx([6.5, -0.95, 3.15])
    assert several(stale.loc["A6"], *keys) == pytest.approx([3.25, -4.25, 1.75])
    assert stale.loc[["A5", "A6"], "what_to_do"].tolist() == ["lower the price"] * 2
    # Without a channel there is a price, but nobody knows what it leaves.
    assert several(stale.loc["C1"], *keys) == [7.2, None, None]
    assert stale.loc["C1", "what_to_do"] == "fix its row: channel or cost"


@both
def test_a_price_at_its_floor_and_one_below(tmp_path: Path, edition: Edition) -> None:
    """A6 breaks even at 7.50; A4, on which no step is reached yet, at 5.50."""
    inputs = hand_made()
    inputs.blocks["Markdown"] = [{"from_day": 80, "share": 0.1}]
    rows = {row["item_no"]: row for row in inputs.rows["Log"]}
    rows["A6"]["asking_price"], rows["A4"]["asking_price"] = 7.5, 5.49
    stale = read_small(tmp_path, edition, inputs).shown["Stale"].set_index("item")
    assert stale.loc[["A6", "A4"], "what_to_do"].tolist() == [
        "keep it: no room above its floor",
        "asked below break-even: it loses",
    ]
    keys = ("asking", "new_price", "net_new")
    assert several(stale.loc["A4"], *keys) == pytest.approx([5.49, 5.49, -0.01])
    # Where a loss is allowed, the seller knows.
    inputs.settings["Below_break_even"] = "Yes"
    stale = read_small(tmp_path, edition, inputs).shown["Stale"].set_index("item")
    assert stale.loc["A4", "what_to_do"] == "wait: no step reached yet"


@pytest.mark.parametrize(("edition", "asking"), in_turn([0, None]))
def test_an_asking_price_of_nothing(tmp_path: Path, edition: Edition, asking: float | None) -> None:
    inputs = hand_made()
    inputs.rows["Log"][5]["asking_price"] = asking
    stale = read_small(tmp_path, edition, inputs).shown["Stale"].set_index("item")
    assert stale.loc["A6", "what_to_do"] == "enter its asking price"
    assert several(stale.loc["A6"], "asking", "share_off", "new_price", "net_first") == [None] * 4


@pytest.mark.parametrize(("edition", "steps"), in_turn([([],), ([{"from_day": 100, "share": 0.5}],)]))
def test_no_step_is_reached(tmp_path: Path, edition: Edition, steps: list[Row]) -> None:
    inputs = hand_made()
    inputs.blocks["Markdown"] = steps
    stale = read_small(tmp_path, edition, inputs).shown["Stale"].set_index("item")
    keys = ("asking", "share_off", "new_price", "given_up")
    assert several(stale.loc["A4"], *keys) == [15, 0, 15, 0]
    assert stale.loc["A4", "what_to_do"] == "wait: no step reached yet"


def test_a_step_holds_from_its_day(tmp_path: Path) -> None:
    inputs = hand_made(Stale_days=1)
    inputs.blocks["Markdown"] = [
        {"from_day": 61, "share": 0.1}, {"from_day": 90, "share": 0.2},
        {"from_day": 91, "share": 0.3},
    ]  # fmt: skip
    stale = read_small(tmp_path, "plain", inputs).shown["Stale"].set_index("item")
    assert stale["share_off"].dropna().to_dict() == {
        "A6": 0.3, "A5": 0.2, "C1": 0.1, "A4": 0, "A1": 0,
    }  # fmt: skip
