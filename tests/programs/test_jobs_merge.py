"""Merging in the menu: what is shown, what is decided, what is typed, and the copy that is left for the next time."""

from __future__ import annotations

import copy
import datetime as dt
from pathlib import Path

import pytest

from sheetfns.log.edit.merge_rows import MergeOutcome
from sheetfns.log.edit.patch import CellEdit, patch
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.sheets.words import CONFLICTS, MERGES
from sheetfns.programs import menu
from tests.log.quick_logs import quick_log
from tests.programs.test_menu import AnsweringScreen

DAY = dt.date(2026, 3, 1)
TOGETHER = Inputs(
    settings={"As_of_date": dt.date(2026, 3, 31), "First_month": dt.date(2026, 1, 1)},
    rows={
        "Log": [
            {"item_no": "B1", "description": "Brass lamp", "bought_on": DAY, "paid": 4},
            {"item_no": "B2", "description": "Oil lamp", "bought_on": DAY, "paid": 6},
        ]
    },
)


def gone_on(paid: float | None = None, **new: object) -> Inputs:
    """What a partner makes of the log."""
    result = copy.deepcopy(TOGETHER)
    if paid is not None:
        result.rows["Log"][0]["paid"] = paid
    if new:
        result.rows["Log"].append({"bought_on": DAY, "paid": 1, **new})
    return result


class OnScreen(AnsweringScreen):
    """A log on the screen, whose cells are really typed."""

    def __init__(self, log: Path, answers: list[object]) -> None:
        super().__init__(log, answers)
        self.home = log

    def enter(self) -> None:
        """Save what was typed."""
        assert self.log is not None
        patch(self.log, self.edits, new_sheets=self.sheets)


def logs(folder: Path, mine: Inputs, theirs: Inputs) -> tuple[Path, Path]:
    folder.mkdir(exist_ok=True)
    return quick_log(folder / "shop.xlsx", "plain", mine), quick_log(folder / "shop_bo.xlsx", "plain", theirs)


def merged(mine: Path, theirs: Path, *answers: object) -> OnScreen:
    screen = OnScreen(mine, [theirs, *answers])
    menu.run("merge_copy", screen)
    return screen


def paid_of(log: Path) -> dict[str, float]:
    frame = load_log(log).sheets["Log"]
    return dict(zip(frame["item_no"], frame["paid"], strict=True))


@pytest.mark.parametrize(
    ("choice", "paid", "kept"),
    [("take 5", 5.0, "shop_bo.xlsx"), ("keep 4.5", 4.5, "shop.xlsx"), (None, 4.5, "shop.xlsx")],
)
def test_a_conflict_is_decided_by_a_choice(tmp_path, choice, paid, kept):
    mine, theirs = logs(tmp_path, gone_on(4.5), gone_on(5, item_no="B9", description="Cup"))
    screen = merged(mine, theirs, {"c0": choice} if choice else {}, True)
    shown = [row for row in screen.tables["Merge"] if row[3] == "Paid"]
    assert [row[4:] for row in shown] == [["4.5", "5", MergeOutcome.differ.value]]
    screen.enter()
    assert paid_of(mine) == {"B1": paid, "B2": 6, "B9": 1}
    (conflicts,) = (one for one in screen.sheets if one.name == CONFLICTS)
    line = dict(zip(*conflicts.rows, strict=True))
    assert (line["Kept"], line["Kept from"]) == (paid, kept)


def test_the_next_merge_goes_by_the_copy_that_was_left(tmp_path):
    mine, theirs = logs(tmp_path, gone_on(), gone_on(item_no="B9", description="Cup"))
    first = merged(mine, theirs, True)
    first.enter()
    (common,) = tmp_path.glob("shop common *.xlsx")
    assert f"{common.name} beside it is what both of you have now" in first.told[-1]
    assert MERGES in load_log(mine).sheet_names
    # The copy is what stood on the screen; the test's screen does not type, so that it is made the same here.
    common.write_bytes(mine.read_bytes())
    _pays(mine, theirs, 7.0)
    again = merged(mine, theirs, True)
    assert f"Compared by {common.name}, the common copy of the last merge." in again.asked[-1]
    again.enter()
    assert paid_of(mine)["B1"] == 7, "changed in one copy only, so that nothing is asked"
    assert "Changed in one copy, used" in [row[6] for row in again.tables["Merge"]]


def test_a_common_copy_that_is_gone_is_named(tmp_path):
    mine, theirs = logs(tmp_path, gone_on(), gone_on(item_no="B9", description="Cup"))
    merged(mine, theirs, True).enter()
    (common,) = tmp_path.glob("shop common *.xlsx")
    common.unlink()
    _pays(mine, theirs, 7.0)
    again = merged(mine, theirs, {}, True)
    assert f"{common.name}, the common copy of the last merge, is not beside the log" in again.asked[-1]
    again.enter()
    assert paid_of(mine)["B1"] == 4, "nothing is taken unless it is chosen"


def _pays(mine: Path, theirs: Path, paid: float) -> None:
    """The partner goes on with the merged log, and changes what the first item cost."""
    theirs.write_bytes(mine.read_bytes())
    place = load_log(theirs).places["Log"]
    patch(theirs, [CellEdit(place.sheet, place.first, place.columns["paid"] + 1, paid)])


def test_nothing_new_is_said(tmp_path):
    mine, theirs = logs(tmp_path, gone_on(), gone_on())
    screen = merged(mine, theirs)
    assert screen.told == [
        "The other copy has nothing that this log lacks.\nNo earlier merge is common to both, so what differs is listed."
    ]
    assert not screen.edits


@pytest.mark.parametrize("answers", [[None], [{}, False]])
def test_a_merge_that_is_left_types_nothing(tmp_path, answers):
    mine, theirs = logs(tmp_path, gone_on(4.5), gone_on(5))
    screen = merged(mine, theirs, *answers)
    assert not screen.edits
    assert not screen.sheets
    assert not list(tmp_path.glob("*common*"))


def test_the_log_itself_is_refused(tmp_path):
    mine, _ = logs(tmp_path, gone_on(), gone_on())
    assert merged(mine, mine).told == ["shop.xlsx: is the log on the screen itself; choose the other copy"]
