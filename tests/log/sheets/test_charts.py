"""The five charts: what they show, from which cells, and that they can be told apart in gray."""

from __future__ import annotations

import datetime as dt
import posixpath
import re
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from lxml import etree

from sheetfns import growth_odds
from sheetfns.cell_types import date_number
from sheetfns.log.compare import compare
from sheetfns.log.compute import LogResults, compute_log
from sheetfns.log.load import load_log
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import EDITIONS, Edition
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import ODDS_EVERY, WEEKS_AHEAD
from sheetfns.log.write.charts import GRID, NEUTRAL, PALE
from sheetfns.log.write.styles import ACCENT, INK, LINE, LOSS
from tests.libreoffice import type_into
from tests.log.filled_logs import FEW_ROWS, small_log
from tests.log.libreoffice_in_turn import recalculate_all
from tests.log.sheets.test_pay import five_weeks, history

D = dt.date
NAMES = {
    "c": "http://schemas.openxmlformats.org/drawingml/2006/chart",
    "a": "http://schemas.openxmlformats.org/drawingml/2006/main",
    "xdr": "http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing",
}
RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
MONEY, PROFIT, EVEN, FAN, AGES = (
    "Cash and inventory at cost, end of each month",
    "Net profit by month",
    "Sales and costs by items sold, at the averages of sheet Pay",
    "Cash and inventory at cost in the weeks ahead",
    "Inventory at cost by days held",
)
CURRENCY = "USD"
_AXIS = "Money (currency of this log)"


@dataclass
class Reference:
    """Cells that a chart refers to: what stands in them, and what the chart keeps of them."""

    cells: list[Any]
    kept: list[Any]
    address: str


@dataclass
class Line:
    """One series."""

    name: str
    across: Reference
    up: Reference
    look: tuple[Any, ...]


@dataclass
class Picture:
    """One chart."""

    root: Any
    lines: dict[str, Line]

    def texts(self, path: str) -> list[str]:
        return [
            "".join(title.xpath(".//a:t/text()", namespaces=NAMES)) for title in self.root.xpath(path, namespaces=NAMES)
        ]


def cells_of(book: openpyxl.Workbook, address: str) -> list[Any]:
    """The cells of one column; LibreOffice writes a single cell and a simple name in short."""
    sheet, first, last = re.fullmatch(r"(.+)!(\$[A-Z]+\$\d+)(?::(\$[A-Z]+\$\d+))?", address).groups()  # type: ignore[union-attr]
    rows = book[sheet.strip("'")][f"{first}:{last or first}"]
    cells = [cell for row in rows for cell in row]
    assert len({cell.column for cell in cells}) == 1
    return [date_number(cell.value) if isinstance(cell.value, dt.date) else cell.value for cell in cells]


def reference(book: openpyxl.Workbook, series: Any, *names: str) -> Reference:
    (found,) = (hit for name in names for hit in series.xpath(f"c:{name}", namespaces=NAMES))
    (address,) = found.xpath("*/c:f/text()", namespaces=NAMES)
    (count,) = found.xpath(".//c:ptCount/@val", namespaces=NAMES)
    kept: list[Any] = [None] * int(count)
    numbers = bool(found.xpath("c:numRef", namespaces=NAMES))
    for point in found.xpath(".//c:pt", namespaces=NAMES):
        text = point.findtext("c:v", namespaces=NAMES) or ""
        kept[int(point.get("idx"))] = float(text) if numbers else text
    return Reference(cells_of(book, address), kept, address)


def look_of(series: Any) -> tuple[Any, ...]:
    """Fill, line, dash, width and mark of a series."""

    def one(path: str) -> str:
        return next(iter(series.xpath(path, namespaces=NAMES)), "")

    return (
        one("c:spPr/a:solidFill/a:srgbClr/@val"),
        one("c:spPr/a:ln/a:solidFill/a:srgbClr/@val"),
        one("c:spPr/a:ln/a:prstDash/@val") or "solid",
        one("c:spPr/a:ln/@w"),
        "no line" if series.xpath("c:spPr/a:ln/a:noFill", namespaces=NAMES) else "line",
        one("c:marker/c:symbol/@val"),
        one("c:marker/c:spPr/a:solidFill/a:srgbClr/@val"),
    )


def leading_to(parts: zipfile.ZipFile, part: str, sort: str) -> list[str]:
    """The parts of a sort that a part of the file leads to."""
    folder, _, name = part.rpartition("/")
    root = etree.fromstring(parts.read(f"{folder}/_rels/{name}.rels"))
    targets = [posixpath.normpath(posixpath.join(folder, one.get("Target"))) for one in root]
    return [target for target in targets if f"/{sort}" in target]


def drawing_of(parts: zipfile.ZipFile, sheet: str) -> str:
    """The part with the charts of a sheet."""
    number = openpyxl.load_workbook(parts.filename, read_only=True).sheetnames.index(sheet) + 1
    (drawing,) = leading_to(parts, f"xl/worksheets/sheet{number}.xml", "drawing")
    return drawing


def pictures(path: Path, currency: str = CURRENCY) -> dict[str, Picture]:
    """The charts of sheet Charts by their titles."""
    book = openpyxl.load_workbook(path, data_only=True)
    found: dict[str, Picture] = {}
    with zipfile.ZipFile(path) as parts:
        names = leading_to(parts, drawing_of(parts, "Charts"), "chart")
        for name in names:
            root = etree.fromstring(parts.read(name))
            lines = {}
            for series in root.xpath("//c:ser", namespaces=NAMES):
                (legend,) = series.xpath("c:tx//c:v/text()", namespaces=NAMES)
                # Words of a cell have the currency behind them.
                called = legend.removesuffix(f", {currency}")
                assert (called == legend) == (called in ("Latest month", "Break-even", "This month so far"))
                lines[called] = Line(
                    called,
                    reference(book, series, "cat", "xVal"),
                    reference(book, series, "val", "yVal"),
                    look_of(series),
                )
            picture = Picture(root, lines)
            (title,) = picture.texts("/c:chartSpace/c:chart/c:title")
            assert title not in found
            found[title] = picture
        assert len(names) == len(found)
    return found


def shop() -> Inputs:
    """The five weeks of the other file, with ages of inventory: Q6 is 31 days old, Q8 10."""
    inputs = five_weeks()
    inputs.blocks["Age"] = [{"from_day": 0}, {"from_day": 10}, {"from_day": 30}, {"from_day": 90}]
    inputs.settings |= {"Forecast_paths": 500, "Currency": CURRENCY}
    return inputs


@dataclass
class Built:
    """A log, its figures and its charts."""

    path: Path
    edition: Edition
    figures: LogResults
    charts: dict[str, Picture]


def built(path: Path, inputs: Inputs | None, edition: Edition = "plain") -> Built:
    small_log(path, edition, inputs)
    figures = compute_log(load_log(path))
    assert compare(figures).differences == []
    return Built(path, edition, figures, pictures(path))


@pytest.fixture(scope="module")
def logs(tmp_path_factory) -> dict[Edition, Built]:
    folder = tmp_path_factory.mktemp("charts")
    return {edition: built(folder / f"{edition}.xlsx", shop(), edition) for edition in EDITIONS}


@pytest.fixture(params=EDITIONS)
def log(request, logs) -> Built:
    return logs[request.param]


def without_blanks(cells: list[Any]) -> list[Any]:
    """A formula that shows nothing leaves None or an empty text."""
    return [cell for cell in cells if cell not in (None, "")]


# ---- words -----------------------------------------------------------------------------------


def test_five_charts_with_titles(log):
    assert set(log.charts) == {MONEY, PROFIT, EVEN, FAN, AGES}


def test_axes_say_what_and_in_which_unit(log):
    wanted = {
        MONEY: ["Month", _AXIS],
        PROFIT: ["Month", _AXIS],
        EVEN: ["Items sold in the month", _AXIS],
        FAN: ["Weeks from the as-of date", _AXIS],
        AGES: ["Days held", _AXIS],
    }
    axes = "//c:catAx/c:title | //c:dateAx/c:title | //c:valAx/c:title"
    assert {title: chart.texts(axes) for title, chart in log.charts.items()} == wanted


def test_months_are_written_as_months(log):
    for title in (MONEY, PROFIT):
        (shape,) = log.charts[title].root.xpath("//c:catAx/c:numFmt/@formatCode", namespaces=NAMES)
        assert shape == "yyyy-mm"


def test_every_chart_has_a_legend_with_the_currency_and_without_what_only_bears_labels(log):
    for title, chart in log.charts.items():
        assert len(chart.root.xpath("//c:legend", namespaces=NAMES)) == 1, title
        gone = chart.root.xpath("//c:legendEntry[c:delete/@val=1]/c:idx/@val", namespaces=NAMES)
        assert gone == [str(place) for place, name in enumerate(chart.lines) if name == "Latest month"], title


def test_the_latest_month_has_its_value_beside_it(log):
    for title, wanted in ((MONEY, 110), (PROFIT, 0)):
        latest = log.charts[title].lines["Latest month"]
        assert without_blanks(latest.up.cells) == [wanted]
        assert latest.up.cells.index(wanted) == 1, "April, the second month"
        assert latest.look[4] == "no line"
        (series,) = log.charts[title].root.xpath("//c:ser[c:dLbls]", namespaces=NAMES)
        assert series.xpath("c:dLbls/c:showVal/@val", namespaces=NAMES) == ["1"]


def test_the_last_week_has_its_value_beside_it(log):
    labeled = log.charts[FAN].root.xpath("//c:ser[c:dLbls]", namespaces=NAMES)
    assert len(labeled) == (2 if log.edition == "functions" else 1)
    for series in labeled:
        gone = series.xpath("c:dLbls/c:dLbl[c:delete/@val=1]/c:idx/@val", namespaces=NAMES)
        assert gone == [str(place) for place in range(WEEKS_AHEAD // ODDS_EVERY - 1)]


def test_each_chart_has_words_for_those_who_do_not_see_it(log):
    with zipfile.ZipFile(log.path) as parts:
        root = etree.fromstring(parts.read(drawing_of(parts, "Charts")))
    words = root.xpath("//xdr:graphicFrame//xdr:cNvPr/@descr", namespaces=NAMES)
    assert sorted(words) == sorted(log.charts)


def test_series(log):
    names = {title: list(chart.lines) for title, chart in log.charts.items()}
    odds = ["High: 9 of 10 runs end below", "Middle", "Low: 1 of 10 runs ends below"]
    assert names == {
        MONEY: ["Cash", "Inventory at cost", "Latest month"],
        PROFIT: ["Earned", "Lost", "Latest month"],
        EVEN: ["Sales", "All costs", "Fixed costs", "Break-even", "This month so far"],
        FAN: [*(odds if log.edition == "functions" else []), "If the averages continue"],
        AGES: ["At cost"],
    }


# ---- figures ---------------------------------------------------------------------------------


def test_cash_and_inventory_by_month(log):
    # March: 35 + 280 - 20 - 125 = 170, April: - 120. Inventory: 100 + 125 - 160 - 5 = 60.
    cash, inventory, _ = log.charts[MONEY].lines.values()
    assert without_blanks(cash.across.cells) == [date_number(D(2026, m, 1)) for m in (3, 4)]
    assert cash.across == inventory.across
    assert without_blanks(cash.up.cells) == [170, 50]
    assert without_blanks(inventory.up.cells) == [60, 60]
    assert len(cash.up.cells) == 24
    months = log.figures["Money"]
    assert months["closing_cash"].tolist() == [170, 50]
    assert months["closing_inventory"].tolist() == [60, 60]
    grouping = log.charts[MONEY].root.xpath("//c:barChart/c:grouping/@val", namespaces=NAMES)
    assert grouping == ["stacked"]


def test_profit_by_month(log):
    # 110 of sales less 10 discarded; nothing in April.
    earned, lost, _ = log.charts[PROFIT].lines.values()
    assert without_blanks(earned.up.cells) == [100, 0]
    assert without_blanks(lost.up.cells) == []
    assert without_blanks(earned.across.cells) == [date_number(D(2026, m, 1)) for m in (3, 4)]


def test_a_loss_has_a_column_of_its_own_in_red(tmp_path):
    inputs = shop()
    inputs.rows["Expenses"] = [{"spent_on": D(2026, 4, 2), "heading": "Supplies", "amount": 30.0}]
    earned, lost, latest = built(tmp_path / "log.xlsx", inputs).charts[PROFIT].lines.values()
    assert without_blanks(earned.up.cells) == [100]
    assert without_blanks(lost.up.cells) == without_blanks(latest.up.cells) == [-30]
    assert (lost.look[0], earned.look[0]) == (LOSS[1:], ACCENT[1:])


def test_break_even(log):
    """Price 65, variable cost 40, fixed costs 36.50: at 36.5 / 25 = 1.46 items, 94.90."""
    lines = log.charts[EVEN].lines
    # Twice the items of break-even, as none has sold this month.
    far = 2.92
    for name, ends in (("Sales", [0, 65 * far]), ("All costs", [36.5, 36.5 + 40 * far]), ("Fixed costs", [36.5, 36.5])):
        assert lines[name].across.cells == pytest.approx([0, far])
        assert lines[name].up.cells == pytest.approx(ends)
    even, now = lines["Break-even"], lines["This month so far"]
    assert (*even.across.cells, *even.up.cells) == pytest.approx((1.46, 94.9))
    assert (*now.across.cells, *now.up.cells) == (0, 0)


def test_the_point_of_break_even_lies_where_the_lines_meet(log):
    lines = log.charts[EVEN].lines
    (items,), (money,) = lines["Break-even"].across.cells, lines["Break-even"].up.cells
    for name in ("Sales", "All costs"):
        (left, right), (start, end) = lines[name].across.cells, lines[name].up.cells
        assert start + (end - start) * (items - left) / (right - left) == pytest.approx(money)


def test_this_month_is_a_point(tmp_path):
    """On 31 March four items have sold for 260.00, one of them for nothing but its price."""
    inputs = shop()
    inputs.settings["As_of_date"] = D(2026, 3, 31)
    inputs.rows["Owner"] = []
    lines = built(tmp_path / "log.xlsx", inputs).charts[EVEN].lines
    assert lines["This month so far"].across.cells == [4]
    assert lines["This month so far"].up.cells == [260]
    assert lines["Sales"].across.cells == [0, 8]


def test_the_fan(log):
    lines = log.charts[FAN].lines
    weeks = list(range(ODDS_EVERY, WEEKS_AHEAD + 1, ODDS_EVERY))
    forecast = log.figures.content.shown["Forecast"]
    average = [float(forecast["worth"].iloc[week - 1]) for week in weeks]
    for line in lines.values():
        assert line.across.cells == weeks
    assert lines["If the averages continue"].up.cells == pytest.approx(average)
    assert [line.name for line in lines.values() if "Middle" in line.name] == (
        ["Middle"] if log.edition == "functions" else []
    )
    if log.edition == "functions":
        rows = growth_odds(*history(), 50, WEEKS_AHEAD, 8.4, 42, 20, 25, 60, 500).tolist()
        for place, word in ((1, "Low: 1 of 10 runs ends below"), (2, "Middle"),
                            (3, "High: 9 of 10 runs end below")):  # fmt: skip
            wanted = [rows[week - 1][place] for week in weeks]
            assert lines[word].up.cells == pytest.approx(wanted, abs=1e-6), word


def test_inventory_by_age(log):
    # Q8 (40.00) is 10 days old, Q6 (20.00) 31.
    (line,) = log.charts[AGES].lines.values()
    found = dict(zip(line.across.cells, line.up.cells, strict=True))
    amounts = {words: amount for words, amount in found.items() if words}
    assert list(amounts.values()) == [0, 40, 20, 0]
    assert [re.findall(r"\d+", words) for words in amounts] == [
        ["0", "9"], ["10", "29"], ["30", "89"], ["89"],
    ]  # fmt: skip


def test_what_the_charts_keep_is_in_the_cells(log):
    """Programs that do not calculate draw what is kept."""
    kept = 0
    for title, chart in log.charts.items():
        for line in chart.lines.values():
            for part in (line.across, line.up):
                assert len(part.kept) == len(part.cells)
                for cell, point in zip(part.cells, part.kept, strict=True):
                    if cell in (None, ""):
                        continue
                    kept += 1
                    if isinstance(cell, str):
                        assert point == cell, (title, part.address)
                    else:
                        assert float(point) == pytest.approx(float(cell), abs=1e-9), part.address
    assert kept > 50


# ---- in gray ---------------------------------------------------------------------------------


def test_colors_are_the_accent_and_neutral_tones_and_red_for_losses(log):
    for title, chart in log.charts.items():
        colors = {f"#{color}" for color in chart.root.xpath("//a:srgbClr/@val", namespaces=NAMES)}
        assert colors <= {ACCENT, INK, LINE, NEUTRAL, PALE, GRID, *([LOSS] if title == PROFIT else [])}
        assert not chart.root.xpath("//a:schemeClr", namespaces=NAMES)


def test_series_of_a_chart_look_different(log):
    for chart in log.charts.values():
        looks = [line.look for line in chart.lines.values()]
        assert len(set(looks)) == len(looks)


def test_lines_differ_in_dash_and_points_in_mark(log):
    def dashes(title: str) -> list[str]:
        lines = log.charts[title].lines.values()
        return [line.look[2] for line in lines if line.look[4] == "line"]

    assert dashes(EVEN) == ["solid", "dash", "sysDot"]
    odds = ["lgDashDot", "solid", "dash"] if log.edition == "functions" else []
    assert dashes(FAN) == [*odds, "sysDot"]
    lines = log.charts[EVEN].lines
    marks = [line.look[5] for line in lines.values() if line.look[4] == "no line"]
    assert marks == ["circle", "diamond"]


# ---- other logs ------------------------------------------------------------------------------


def test_the_last_24_months(tmp_path):
    """1.00 is put in each month of 27, so the cash is the number of the month."""
    firsts = [D(2024 + (month - 1) // 12, (month - 1) % 12 + 1, 1) for month in range(1, 28)]
    inputs = Inputs(
        {"First_month": firsts[0], "As_of_date": firsts[-1] + dt.timedelta(days=14)},
        rows={"Owner": [
            {"moved_on": firsts[place], "partner": "Partner 1", "put_in": float(amount)}
            for place, amount in ((0, 1), (3, 30), (26, 500))
        ]},
    )  # fmt: skip
    charts = built(tmp_path / "log.xlsx", inputs).charts
    cash = charts[MONEY].lines["Cash"]
    assert cash.across.cells == [date_number(day) for day in firsts[-24:]]
    # The 1.00 of the first month, 31.00 from the fourth on, 531.00 in the last.
    assert cash.up.cells == [31] * 23 + [531]
    assert charts[PROFIT].lines["Earned"].up.cells == [0] * 24
    assert [*map(bool, charts[MONEY].lines["Latest month"].up.cells)] == [False] * 23 + [True]


def test_a_log_of_one_month(tmp_path):
    inputs = Inputs({"Opening_cash": 40.0})
    charts = built(tmp_path / "log.xlsx", inputs).charts
    cash, inventory, _ = charts[MONEY].lines.values()
    assert without_blanks(cash.across.cells) == [date_number(D(2026, 1, 1))]
    assert without_blanks(cash.up.cells) == [40]
    assert without_blanks(inventory.up.cells) == [0]
    assert without_blanks(charts[EVEN].lines["Sales"].up.cells) == []
    assert without_blanks(charts[FAN].lines["If the averages continue"].up.cells) == []


@pytest.mark.libreoffice
def test_libreoffice_keeps_five_charts(tmp_path, logs):
    saved = recalculate_all([log.path for log in logs.values()], tmp_path / "out")
    for log, path in zip(logs.values(), saved, strict=True):
        found = pictures(path)
        assert set(found) == {MONEY, PROFIT, EVEN, FAN, AGES}
        for title, chart in found.items():
            assert list(chart.lines) == list(log.charts[title].lines)
        if log.edition == "plain":
            assert without_blanks(found[MONEY].lines["Cash"].up.cells) == [170, 50]


@pytest.mark.libreoffice
def test_legends_follow_the_currency_in_libreoffice(tmp_path, logs):
    sheet, _, cell = AddressMap(log_layout(FEW_ROWS)).names["Currency"].partition("!")
    edit = (sheet.strip("'"), cell.replace("$", ""), "EUR")
    typed = type_into(logs["plain"].path, tmp_path / "typed.xlsx", [edit])
    assert set(pictures(typed, "EUR")) == {MONEY, PROFIT, EVEN, FAN, AGES}


def test_blanks_in_the_charts_are_no_zeros(log):
    """A preview shows what the file keeps: no months that have not been."""
    wrong = [
        (title, line.name, part.address)
        for title, chart in log.charts.items()
        for line in chart.lines.values()
        for part in (line.across, line.up)
        for cell, kept in zip(part.cells, part.kept, strict=True)
        if cell in (None, "") and kept not in (None, "")
    ]
    assert wrong == []


def test_months_are_kept_as_dates(log):
    """Not as texts such as 46082.0, with fewer months than the chart has room for."""
    for title in (MONEY, PROFIT):
        for line in log.charts[title].lines.values():
            assert [kept for kept in line.across.kept if kept in ("46082.0", "46113.0")] == []
