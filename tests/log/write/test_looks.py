"""Colors and folds of the written log, computed from the file: contrast, tabs, losses, and how far the sale is away."""

from __future__ import annotations

import itertools
import re
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sheetfns.log.model.sheets import FIRST_ROW
from sheetfns.log.sheets.home.ways import GROUPS
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.write import styles
from sheetfns.log.write.build import build_log
from sheetfns.log.write.charts import LOOKS
from sheetfns.log.write.styles import ACCENT, FAINT, GONE_TINT, HEAD_FILL, INK, LISTED_TINT, LOSS, RESULT_FILL, TABS

READABLE = 4.5
"""Web Content Accessibility Guidelines 2.1, success criterion 1.4.3: contrast of text, level AA."""
GRAPHICS = 3.0
"""The same, 1.4.11: contrast of graphics."""
MOST_TABS = 10


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> openpyxl.Workbook:
    path: Path = tmp_path_factory.mktemp("looks") / "log.xlsx"
    return openpyxl.load_workbook(build_log(path, "plain", 20, calculated=False))


def luminance(color: str) -> float:
    """Relative luminance as WCAG 2.1 defines it."""
    parts = [int(color[-6:][place : place + 2], 16) / 255 for place in (0, 2, 4)]
    linear = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_known_colors() -> None:
    """Black on white is 21 to 1; #767676 is the lightest gray that is readable on white."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#767676", "#FFFFFF") >= READABLE > contrast("#777777", "#FFFFFF")


def test_every_text_is_readable_on_its_ground(book: openpyxl.Workbook) -> None:
    pairs = set()
    for sheet in book:
        for row in sheet.iter_rows(max_row=60):
            for cell in row:
                ground = cell.fill.fgColor.rgb if cell.fill.fill_type == "solid" else "FFFFFFFF"
                ink = (
                    cell.font.color.rgb if cell.font.color is not None and cell.font.color.type == "rgb" else "FF000000"
                )
                pairs.add((ink, ground))
    assert len(pairs) >= 5
    low = {pair: round(contrast(*pair), 2) for pair in pairs if contrast(*pair) < READABLE}
    assert low == {}


@pytest.mark.parametrize("ground", ["#FFFFFF", RESULT_FILL, HEAD_FILL, LISTED_TINT, GONE_TINT])
@pytest.mark.parametrize("ink", [INK, FAINT, ACCENT, LOSS])
def test_inks_are_readable_on_every_ground(ink: str, ground: str) -> None:
    assert contrast(ink, ground) >= READABLE


def test_losses_differ_from_other_figures_in_gray_too() -> None:
    """Whoever sees no red, or prints in gray, still sees another shade; the minus or the word says it in any case."""
    assert contrast(LOSS, INK) > 2


def test_tabs_tell_the_groups_apart(book: openpyxl.Workbook) -> None:
    shades = sorted(luminance(color) for color in TABS.values())
    assert all((high + 0.05) / (low + 0.05) > 1.2 for low, high in itertools.pairwise(shades))
    word = ""
    for name, sheets in GROUPS:
        word = name or word
        for sheet in sheets:
            assert book[sheet].sheet_properties.tabColor.rgb[-6:] == TABS[word][-6:], sheet


def test_losses_and_errors_are_marked(book: openpyxl.Workbook) -> None:
    sheet = book["Sourcing log"]
    red = {
        str(area.sqref): rule.formula
        for area in sheet.conditional_formatting
        for rule in area.rules
        if rule.dxf.font is not None and rule.dxf.font.color is not None and rule.dxf.font.color.rgb[-6:] == LOSS[-6:]
    }
    profit = next(cell.column_letter for cell in sheet[6] if cell.value == "Net profit")
    assert red[f"{profit}{FIRST_ROW}:{profit}26"] == ["0"]
    assert red["A2"] == ['LEFT($A$2,9)<>"Errors: 0"']


def test_workings_are_folded_and_nothing_else_is(book: openpyxl.Workbook) -> None:
    for table in log_layout(20).tables:
        sheet = book[table.name]
        for place, column in enumerate(table.columns, 1):
            shape = sheet.column_dimensions[openpyxl.utils.get_column_letter(place)]
            folded = table.holds_entries and column.role == "working" and not column.edge
            assert bool(_hidden(sheet, place)) == folded, (table.name, column.header, shape)


def _hidden(sheet: openpyxl.worksheet.worksheet.Worksheet, place: int) -> bool:
    spans = [one for one in sheet.column_dimensions.values() if one.min and one.min <= place <= one.max]
    return any(one.hidden for one in spans)


def test_the_sale_is_near_when_what_was_bought_and_listed_is_folded(book: openpyxl.Workbook) -> None:
    table, sheet = log_layout(20).table("Log"), book["Sourcing log"]
    levels = {}
    for one in sheet.column_dimensions.values():
        if one.min:
            levels |= dict.fromkeys(range(one.min, one.max + 1), one.outlineLevel)
    first, last = table.position("item_no"), table.position("sale_price")
    sold = table.position("sold_on")
    steps = [place for place in range(first + 1, last + 1) if place >= sold or not levels.get(place + 1)]
    assert len(steps) <= MOST_TABS
    assert [table.columns[place].key for place in steps[-2:]] == ["sold_on", "sale_price"]


def test_colors_are_the_few_that_are_named() -> None:
    """One accent, its tints and grays; red for losses and errors alone."""
    source = "".join(path.read_text() for path in Path(styles.__file__).parent.glob("*.py"))
    colors = set(re.findall(r"#[0-9A-Fa-f]{6}", source))
    saturated = {color for color in colors if max(_parts(color)) - min(_parts(color)) > 40}
    assert saturated == {ACCENT, LOSS, TABS["Record"], TABS["See"]}


def _tones(look: dict[str, Any]) -> tuple[str, str, str]:
    """Color, dash and mark of a look."""
    line, mark = look.get("line", {}), look.get("marker", {})
    color = look.get("fill", {}).get("color") or line.get("color") or mark.get("fill", {}).get("color", "")
    return color, line.get("dash_type", "solid"), mark.get("type", "")


def test_series_of_a_chart_are_told_apart_without_colors() -> None:
    """Neighbors differ threefold in lightness, as WCAG 2.1 has it for graphics, or in dash or mark."""
    charts = [*(row.chart for form in log_layout().forms for row in form.rows if row.chart),
              *(row.beside for form in log_layout().forms for row in form.rows if row.beside)]  # fmt: skip
    assert len(charts) == 6
    for chart in charts:
        tones = [_tones(LOOKS[series.look]) for series in chart.series if not series.unseen]
        for (one, *marks), (other, *other_marks) in itertools.pairwise(tones):
            below_zero = {one, other} == {ACCENT, LOSS}
            assert contrast(one, other) >= GRAPHICS or marks != other_marks or below_zero, chart.title


def test_charts_stand_out_from_the_paper() -> None:
    for look in LOOKS.values():
        color = _tones(look)[0]
        border = look.get("border", {}).get("color", color)
        if color:
            assert max(contrast(color, "#FFFFFF"), contrast(border, "#FFFFFF")) >= GRAPHICS


def test_red_is_for_losses_alone_in_charts_too() -> None:
    assert [name for name, look in LOOKS.items() if LOSS in str(look)] == ["loss"]


def _parts(color: str) -> list[int]:
    return [int(color[place : place + 2], 16) for place in (1, 3, 5)]
