"""The command forecast: what it says of a small log, its picture, and what it refuses."""

from __future__ import annotations

import datetime as dt
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib import image

from sheetfns import growth_odds, growth_path
from sheetfns.cli import console, reports
from sheetfns.cli import forecast_chart as fan
from sheetfns.log import forecast
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.sheets.words import ODDS_EVERY, WEEKS_AHEAD
from tests import ROOT
from tests.log.quick_logs import quick_log
from tests.log.sheets.test_pay import five_weeks, history

WIDTH = 80
WEEKS = range(ODDS_EVERY, WEEKS_AHEAD + 1, ODDS_EVERY)
PATHS = ("--paths", "500")
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture(autouse=True)
def narrow(run, monkeypatch):
    """Output as on a terminal of 80 columns."""
    monkeypatch.setattr(console.out, "width", WIDTH)


@pytest.fixture(scope="module")
def log(tmp_path_factory) -> Path:
    """The five weeks worked out in the test of sheet Pay, with a currency."""
    inputs = five_weeks()
    inputs.settings["Currency"] = "EUR"
    return quick_log(tmp_path_factory.mktemp("o") / "log.xlsx", "plain", inputs)


def rows_of(out: str) -> list[list[str]]:
    """The rows of the weeks, cell by cell."""
    cells = [line.split() for line in out.splitlines()]
    return [row for row in cells if len(row) > 2 and row[0].isdigit()]


def wanted_rows(pay_week: float, paths: int = 500, seed: int = 1) -> list[list[str]]:
    """The same from GROWTH_PATH and GROWTH_ODDS; see five_weeks for the figures."""
    terms = (8.4, pay_week, 20, 25, 60)
    averages = growth_path(50, 0.5, 17.5, WEEKS_AHEAD, *terms).tolist()
    odds = growth_odds(*history(), 50, WEEKS_AHEAD, *terms, paths, seed).tolist()
    rows = []
    for week in WEEKS:
        cash, inventory, drawn, _ = averages[week - 1]
        _, low, middle, high, chance, _ = odds[week - 1]
        amounts = [f"{amount:,.0f}" for amount in (cash, inventory, drawn, low, middle, high)]
        covered = [f"{chance:.0%}"] if pay_week else []
        rows.append([f"{week}", *amounts, *covered])
    return rows


def test_what_it_says_of_a_log(run, log):
    code, out, err = run("forecast", log, *PATHS)
    assert (code, err.strip()) == (0, "")
    notice = "'outlook' is now 'forecast'; the old name stops working with the next version"
    code, by_former_name, err = run("outlook", log, *PATHS)
    assert (code, by_former_name, err.strip()) == (0, out, notice)
    where, _, rest = out.partition("The weeks ahead")
    found = dict(re.findall(r"│ (\w.*?)\s*│\s*([\d,.]+) │", where))
    assert found == {
        "Cash by the log": "50.00",
        "After bills, refunds and taxes": "50.00",
        "Inventory at cost": "60.00",
        "Profit per 1 of cost": "0.50",
        "Days until inventory is sold": "18",
        "Fixed costs per week": "8.40",
        "Weekly pay target": "42.00",
        "Reserved for purchases": "20.00",
        "Maximum purchases per week": "25.00",
    }
    assert "Starting point, EUR" in where
    cash, inventory, _, owed = growth_path(50, 0.5, 17.5, WEEKS_AHEAD, 8.4, 42, 20, 25, 60)[-1]
    assert [line for line in rest.splitlines() if line.startswith(("Rough", "An av", "At current", "This"))] == [
        "Rough estimate (4 sales)",
        # 219 - 25 x 4 / 35 x 365/12
        "An average month is 132.10 short of the pay.",
        "At current averages the pay is not covered within 104 weeks. Cash plus inventory "
        f"falls from 110.00 to {cash + inventory - owed:,.2f} in 104 weeks.",
        "This is based on this log's past; it doesn't know what the market will do.",
    ]  # fmt: skip


def test_rows_are_those_of_the_functions(run, log):
    _, out, _ = run("forecast", log, *PATHS)
    assert rows_of(out) == wanted_rows(42)
    assert [row[0] for row in rows_of(out)] == [str(week) for week in WEEKS]


def test_another_pay(run, log):
    _, out, _ = run("forecast", log, "--pay", 18.25, *PATHS)
    assert rows_of(out) == wanted_rows(4.2)
    assert re.search(r"Weekly pay target\s*│\s*4\.20", out)
    assert "the pay is covered from now on." in out
    chances = {row[-1] for row in rows_of(out)}
    assert len(chances) > 1


def test_no_pay(run, log):
    """Without a pay there is no chance to carry it."""
    _, out, _ = run("forecast", log, "--pay", 0, *PATHS)
    assert rows_of(out) == wanted_rows(0)
    assert "Covered" not in out
    assert "Enter your monthly pay target on Settings." in out
    assert "within 104 weeks" not in out


def test_paths_and_seed(run, log):
    _, first, _ = run("forecast", log, "--pay", 18.25, *PATHS)
    _, again, _ = run("forecast", log, "--pay", 18.25, *PATHS, "--seed", 1)
    _, other, _ = run("forecast", log, "--pay", 18.25, *PATHS, "--seed", 7)
    _, more, _ = run("forecast", log, "--pay", 18.25, "--paths", 900)
    assert first == again
    assert rows_of(other) == wanted_rows(4.2, seed=7) != rows_of(first)
    assert rows_of(more) == wanted_rows(4.2, paths=900) != rows_of(first)


@pytest.mark.parametrize(
    ("words", "bad"),
    [(("--paths", 99), "--paths"), (("--paths", 20001), "--paths"), (("--pay", -1), "--pay"),
     (("--seed", -1), "--seed"), (("--pay", "much"), "--pay")],
)  # fmt: skip
def test_options_out_of_range(run, log, words, bad):
    code, out, err = run("forecast", log, *words)
    assert code == 2
    assert f"Invalid value for '{bad}'" in err
    assert out == ""


def test_tables_fit_80_columns(run, log):
    """Long sentences are left whole, so that the terminal breaks them."""
    _, out, _ = run("forecast", log, *PATHS)
    framed = [line for line in out.splitlines() if re.search("[│┃━─]|^ +\\d+ ", line)]
    assert len(framed) > len(WEEKS) + 8
    assert max(map(len, framed)) <= WIDTH
    assert "…" not in out


def test_piped_output_holds_no_progress(log):
    """As a program of its own: no bar, no color, in what goes into a file."""
    environment = {key: word for key, word in os.environ.items() if key not in ("COLUMNS", "CI")}
    done = subprocess.run(
        [sys.executable, "-c", "from sheetfns.cli.app import main; main()", "forecast", log, *PATHS],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        env=environment | {"PYTHONPATH": str(ROOT)},
    )
    assert done.returncode == 0
    assert "Simulating" not in done.stdout
    assert "\x1b" not in done.stdout and "\r" not in done.stdout
    assert rows_of(done.stdout) == wanted_rows(42)
    assert "Traceback" not in done.stderr


def test_progress_goes_beside_the_output(run, log, monkeypatch):
    """It counts the runs up to all of them."""
    told: list[tuple[str, Any]] = []

    class Watched(console.Progress):
        def __init__(self, *parts: Any, console: Any, **rest: Any) -> None:
            told.append(("stderr", console.stderr))
            super().__init__(*parts, console=console, **rest)

        def add_task(self, description: str, **rest: Any) -> Any:
            told.append(("task", (description, rest["total"])))
            return super().add_task(description, **rest)

        def update(self, task: Any, **rest: Any) -> None:
            told.append(("done", rest["completed"]))
            super().update(task, **rest)

    monkeypatch.setattr(console, "Progress", Watched)
    code, out, _ = run("forecast", log, "--paths", 2500)
    assert code == 0
    assert told[:2] == [("stderr", True), ("task", ("Simulating 2500 runs ...", 2500))]
    assert [done for word, done in told[2:] if word == "done"] == [1000, 2000, 2500]
    assert "Simulating" not in out


# ---- the picture -----------------------------------------------------------------------------


def test_a_picture(run, log, tmp_path):
    code, out, err = run("forecast", log, *PATHS, "--png", "fan.png")
    assert (code, err.strip()) == (0, "")
    assert "fan.png: the forecast as a picture." in out
    png = tmp_path / "fan.png"
    assert png.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    pixels = image.imread(png)
    height, width = pixels.shape[:2]
    assert 800 <= width <= 3000 and 500 <= height <= 2000
    assert len(np.unique(pixels.reshape(-1, pixels.shape[2]), axis=0)) > 50
    # White around, and not all of it white: all in grays.
    assert pixels[0, 0, :3].tolist() == [1, 1, 1]
    assert 0.05 < (pixels[..., 0] < 0.9).mean() < 0.6
    assert np.ptp(pixels[..., :3], axis=2).max() < 0.02
    assert [path.name for path in tmp_path.iterdir()] == ["fan.png"]


@pytest.fixture
def no_drawing(monkeypatch) -> None:
    def drawn(*cells: Any) -> Any:
        raise AssertionError("runs were drawn")

    monkeypatch.setattr(forecast, "odds_with_progress", drawn)


@pytest.mark.usefixtures("no_drawing")
@pytest.mark.parametrize(
    ("png", "message"),
    [("fan.pdf", "fan.pdf: give the picture a name that ends in .png"),
     ("fan", "fan: give the picture a name that ends in .png"),
     ("there.png", "there.png: already exists; choose another name")],
)  # fmt: skip
def test_pictures_that_are_refused_before_anything_is_drawn(run, log, tmp_path, png, message):
    (tmp_path / "there.png").write_bytes(b"mine")
    code, out, err = run("forecast", log, "--png", png)
    assert (code, out.strip(), err.strip()) == (2, "", message)
    assert (tmp_path / "there.png").read_bytes() == b"mine"
    assert [path.name for path in tmp_path.iterdir()] == ["there.png"]


def test_capitals_in_the_ending(run, log, tmp_path):
    assert run("forecast", log, *PATHS, "--png", "FAN.PNG")[0] == 0
    assert (tmp_path / "FAN.PNG").read_bytes()[:4] == b"\x89PNG"


def test_nothing_half_written_where_saving_fails(run, log, tmp_path, monkeypatch):
    from matplotlib.figure import Figure

    def full(self: Any, path: Path, **rest: Any) -> None:
        path.write_bytes(b"\x89PNG")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Figure, "savefig", full)
    code, _, err = run("forecast", log, *PATHS, "--png", "fan.png")
    assert code == 2
    assert err.strip().startswith("fan.png: cannot be written (No space left on device); free up space")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there(run, log, tmp_path):
    code, _, err = run("forecast", log, *PATHS, "--png", "none/fan.png")
    assert code == 2
    assert err.strip().startswith("none/fan.png: cannot be written (No such file or directory)")
    assert list(tmp_path.iterdir()) == []


# ---- logs that have no forecast ---------------------------------------------------------------


def refused(run: Run, path: Path, folder: Path) -> str:
    code, out, err = run("forecast", path, "--png", "fan.png")
    assert (code, out.strip()) == (2, "")
    assert "Traceback" not in err
    assert not (folder / "fan.png").exists()
    (line,) = err.strip().splitlines()
    return str(line)


def test_a_log_without_sales(run, tmp_path):
    path = quick_log(tmp_path / "log.xlsx", "plain", Inputs({"Opening_cash": 10.0}))
    assert refused(run, path, tmp_path) == (f"{path.name}: No forecast yet: it needs sales in the last day.")


def test_a_log_with_one_sale(run, tmp_path):
    inputs = five_weeks()
    del inputs.rows["Log"][1:7]
    inputs.settings["Opening_cash"] = 100.0
    path = quick_log(tmp_path / "log.xlsx", "plain", inputs)
    assert refused(run, path, tmp_path) == (
        f"{path.name}: the simulation needs two sales of items with a cost, and no more than 20,000 items"
    )


def test_a_log_with_cash_below_0(run, tmp_path):
    inputs = five_weeks()
    inputs.settings["Opening_cash"] = -16.0
    path = quick_log(tmp_path / "log.xlsx", "functions", inputs)
    assert refused(run, path, tmp_path) == (
        f"{path.name}: No forecast: bills, refunds and taxes take more than the cash by the log."
    )


@pytest.mark.parametrize(
    ("content", "message"),
    [(None, "there is no such file"), (b"Item no.,Paid\n", "is not a workbook but text"),
     (b"PK\x03\x04 and no more", "is damaged or cut off")],
)  # fmt: skip
def test_files_that_are_no_log(run, tmp_path, content, message):
    path = tmp_path / "log.xlsx"
    if content is not None:
        path.write_bytes(content)
    line = refused(run, path, tmp_path)
    assert re.fullmatch(rf".*log\.xlsx: {message}.*", line)


def test_what_is_wrong_with_a_log_is_said(run, tmp_path):
    """A sale without a price is left out, and the command says so."""
    inputs = five_weeks()
    inputs.rows["Log"].append({"item_no": "Q9", "bought_on": dt.date(2026, 3, 3), "paid": "five"})
    path = quick_log(tmp_path / "log.xlsx", "plain", inputs)
    code, out, err = run("forecast", path, *PATHS)
    assert code == 0
    assert "'five' is not a number" in err
    assert "'five'" not in out


def test_the_picture_is_of_the_weeks_printed(run, log, monkeypatch):
    kept: dict[str, Any] = {}

    def seen(png: Path, weeks: Any, odds: Any, money: str) -> None:
        kept.update(weeks=weeks, odds=odds, money=money)
        fan.save_fan(png, weeks, odds, money)

    monkeypatch.setattr(reports, "save_fan", seen)
    _, out, _ = run("forecast", log, *PATHS, "--png", "fan.png")
    assert kept["money"] == "EUR"
    printed = {row[0]: row for row in rows_of(out)}
    for week in WEEKS:
        bands = [f"{amount:,.0f}" for amount in kept["odds"][week - 1][1:4]]
        assert bands == printed[str(week)][4:7]
        worth = kept["weeks"]["worth"].iloc[week - 1]
        path = growth_path(50, 0.5, 17.5, WEEKS_AHEAD, 8.4, 42, 20, 25, 60)
        cash, inventory, _, owed = path[week - 1]
        assert worth == pytest.approx(cash + inventory - owed, abs=1e-9)


def piped(path) -> list[str]:
    environment = {key: word for key, word in os.environ.items() if key != "COLUMNS"}
    command = [sys.executable, "-c", "from sheetfns.cli.app import main; main()", "forecast", str(path)]
    done = subprocess.run(
        [*command, "--paths", "200"], capture_output=True, text=True, check=True, env=environment, cwd=ROOT
    )
    return done.stdout.splitlines()


def test_what_the_columns_mean_is_not_broken_into_single_words(tmp_path):
    lines = piped(quick_log(tmp_path / "log.xlsx", "plain", five_weeks()))
    assert "together;" not in lines
    assert "high." not in lines


@pytest.mark.parametrize("cash", [20_035.0, 200_035.0])
def test_amounts_of_five_and_more_digits_fit_80_columns(tmp_path, cash):
    inputs = five_weeks()
    inputs.settings["Opening_cash"] = cash
    lines = piped(quick_log(tmp_path / "log.xlsx", "plain", inputs))
    rows = [line for line in lines if re.match(r" +\d+( +[\d,]+){6}", line)]
    assert not any("…" in line for line in lines)
    assert max(map(len, rows)) <= 80
    assert len(rows) == 13
