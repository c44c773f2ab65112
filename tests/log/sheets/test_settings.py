"""Settings that cannot be right are seen on the sheet."""

from __future__ import annotations

import pytest

from sheetfns.log.compare import compare
from sheetfns.log.compute import compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import EDITIONS
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.settings.period import EVENTS, SEEN, figures_from, figures_until
from tests.log.hand_made_log import D, failing, hand_made
from tests.log.quick_logs import in_turn, quick_log
from tests.log.sheet_logs import sheet_log


def seen(content) -> set[str]:
    """The checks of Settings that fail."""
    return {key for key in failing(content) if key.startswith("Settings_")}


WRONG_SETTINGS = [
    # Each log holds what does not disturb each other: every check that fails is one of these.
    (
        {
            "Partner": [{"name": "Business", "share": 1.0}],
            "Channel": [{"name": "Site", "rate": 0.1, "minimum": 8.0, "maximum": 2.0}],
            "Heading": [{"heading": "Advertising", "from_log": "fees"}],
        },
        {"Tax_year": None, "First_month": D(2025, 11, 15)},
        "owner_names minimum words tax_lines year first",
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
        "shares terms numbers",
    ),
    ({"Channel": [{"name": "Site", "rate": 0.1, "rate_above": 1.2}]}, {"Opening_cash": "$100"}, "terms numbers"),
    ({"Channel": [{"name": "Site", "rate": "10 %"}]}, {"As_of_date": "today"}, "terms numbers"),
    ({"Channel": [{"name": "Site", "rate": 0.9, "ad_rate": 0.1}]}, {}, "rate"),
]


@pytest.mark.parametrize(("edition", "blocks", "settings", "checks"), in_turn(WRONG_SETTINGS))
def test_wrong_settings_are_seen_on_the_sheet(tmp_path, edition, blocks, settings, checks):
    inputs = hand_made()
    inputs.blocks |= blocks
    inputs.settings |= settings
    log = sheet_log(edition, "Log", "Year")
    content = log.read(log.filled(tmp_path / "log.xlsx", inputs))
    assert seen(content) == {f"Settings_{check}" for check in checks.split()}


def test_every_date_of_the_rows_is_looked_at():
    dates = [
        (table.key, column.key)
        for table in log_layout().tables
        for column in table.inputs()
        if column.kind.holds == "date"
    ]
    assert sorted(dates) == sorted((*EVENTS, *SEEN))


BLANK_ENDS = [
    # What Settings says, and from which day until which the figures then go.
    ({"As_of_date": None}, (D(2025, 11, 1), D(2026, 2, 20))),
    ({"First_month": None}, (D(2025, 6, 1), D(2026, 2, 28))),
    ({"As_of_date": None, "First_month": None}, (D(2025, 6, 1), D(2026, 2, 20))),
    ({"As_of_date": D(2026, 1, 31), "First_month": None}, (D(2025, 6, 1), D(2026, 1, 31))),
]


@pytest.mark.parametrize(("edition", "settings", "ends"), in_turn(BLANK_ENDS))
def test_blank_ends_are_those_of_the_entries(tmp_path, edition, settings, ends):
    inputs = hand_made()
    inputs.settings |= settings
    inputs.rows["Log"].append({"item_no": "Z1", "bought_on": D(2025, 6, 14), "paid": 3.0})
    inputs.rows["Expenses"] = [{"spent_on": D(2026, 2, 20), "heading": "Advertising", "amount": 4.0}]
    content = load_log(quick_log(tmp_path / "log.xlsx", edition, inputs))
    assert compare(compute_log(content)).differences == []
    assert (figures_from(content.settings, content.sheets), figures_until(content.settings, content.sheets)) == ends
    assert content.shown["Money"]["month"].min().date() == ends[0]


@pytest.mark.parametrize("edition", EDITIONS)
def test_an_empty_log_has_no_wrong_dates(tmp_path, edition):
    inputs = Inputs(settings={"As_of_date": None, "First_month": None, "Tax_year": 2026})
    content = load_log(quick_log(tmp_path / "log.xlsx", edition, inputs))
    assert content.problems == []
    assert compare(compute_log(content)).differences == []
    assert failing(content) == {}
    assert figures_until(content.settings, content.sheets) == D(2026, 1, 1)
