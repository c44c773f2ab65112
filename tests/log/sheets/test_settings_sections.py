"""Sheet Settings: its sections, what the first day asks for, and what a blank means."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import EDITIONS, Edition
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.write.build import build_log
from tests.log.quick_logs import quick_log

LAYOUT = log_layout(20)
PLACES = AddressMap(LAYOUT)
FIRST_DAY: dict[str, Inputs] = {
    "nothing": Inputs(),
    "shop": Inputs({"Shop_name": "Two Shelves"}),
    "partners": Inputs(blocks={"Partner": [{"name": "Ada", "share": 1.0}]}),
    "channels": Inputs(blocks={"Channel": [{"name": "Booth", "rate": 0.1}]}),
    "default channel": Inputs({"Default_channel": "Local sale"}),
    "cash": Inputs({"Opening_cash": 0.0}),
    "tax": Inputs({"Buying_tax_rate": 0.0}),
}
"""Each line of the first day alone; the partner and the channel of a new log do not count, a 0 that is typed does."""


def filled_in(path: Path, inputs: Inputs, edition: Edition = "plain") -> tuple[str, str]:
    """What Settings and Home say of the first day; workbook and Python agree."""
    content = load_log(quick_log(path, edition, inputs))
    assert compare(compute_log(content)).differences == []
    return content.settings["First_day"], content.shown["Home"].iloc[0]["settings_filled"]


@pytest.mark.parametrize("case", FIRST_DAY)
def test_each_line_of_the_first_day_counts(tmp_path, case):
    wanted = "0 of 6" if case == "nothing" else "1 of 6"
    assert filled_in(tmp_path / "log.xlsx", FIRST_DAY[case]) == (wanted, wanted)


@pytest.mark.parametrize("edition", EDITIONS)
def test_all_lines_of_the_first_day(tmp_path, edition):
    inputs = Inputs()
    for one in FIRST_DAY.values():
        inputs.settings |= one.settings
        inputs.blocks |= one.blocks
    inputs.settings["Default_channel"] = "Booth"
    assert filled_in(tmp_path / "log.xlsx", inputs, edition) == ("6 of 6", "6 of 6")


def test_the_first_section_is_that_of_the_first_day():
    rows = PLACES.setting_rows
    title, row = next(iter(PLACES.section_rows.items()))
    assert (title, row) == ("First day", min(rows.values()) - 1)
    next_section = sorted(PLACES.section_rows.values())[1]
    assert sum(row < next_section for row in rows.values()) == 1 + 6  # how many are filled in, and the six


def test_every_other_setting_has_a_default_or_says_what_a_blank_means():
    first_day = {"Shop_name", "Default_channel"}
    for setting in LAYOUT.settings:
        assert setting.help, setting.name
        if setting.formula or setting.name in first_day:
            continue
        if setting.default in (None, ""):
            assert setting.optional and "blank" in setting.help.lower(), setting.name


def test_a_click_leads_to_the_tables_of_partners_and_channels(tmp_path):
    sheet = openpyxl.load_workbook(build_log(tmp_path / "log.xlsx", "plain", 20))["Settings"]
    goals: dict[Any, Any] = {}
    for setting in LAYOUT.settings:
        cell = sheet.cell(PLACES.setting_rows[setting.name], 1)
        if cell.hyperlink:
            goals[cell.value] = sheet[cell.hyperlink.location.split("!")[1]].value
    assert goals == {"Partners entered": "Partner 1", "Channels entered": "Local sale"}


@pytest.mark.parametrize(("channel", "known"), [("Booth", True), ("booth", True), ("Boot", False), (None, True)])
def test_a_default_channel_that_is_not_in_the_table_is_an_error(tmp_path, channel, known):
    inputs = Inputs({"Default_channel": channel}, {"Channel": [{"name": "Booth", "rate": 0.1}]})
    content = load_log(quick_log(tmp_path / "log.xlsx", "plain", inputs))
    assert compare(compute_log(content)).differences == []
    said = [problem.message for problem in content.problems]
    assert said == ([] if known else ["Default channel: 'Boot' is not on the table of channels; enter one of 'Booth', "
                                      "or add it on the table of channels"])  # fmt: skip
    lines = content.shown["Data checks"].set_index("key")
    assert (lines.loc["Settings_default_channel", "count"] == 0) == known
