"""Settings that cannot be right are seen on the sheet."""

from __future__ import annotations

import pytest

from tests.log.hand_made_log import D, failing, hand_made
from tests.log.quick_logs import in_turn
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
        "shares terms first numbers order",
    ),
    ({"Channel": [{"name": "Site", "rate": 0.1, "rate_above": 1.2}]}, {"Opening_cash": "$100"}, "terms numbers"),
    ({"Channel": [{"name": "Site", "rate": "10 %"}]}, {"As_of_date": None}, "terms numbers order"),
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
