"""Forms at the keyboard: keys go in through a pipe, as a person presses them."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from sheetfns.cell_types import COST, DATE
from sheetfns.cli import maintain, questions
from sheetfns.cli.questions import Terminal
from sheetfns.log.edit.csv_import.saved_maps import FOLDER_VARIABLE
from sheetfns.log.load import load_log
from sheetfns.programs.forms import Field, Form
from tests.log.filled_logs import full_entries, small_log

ENTER, DOWN, UP, CLEAR, STOP = "\r", "\x1b[B", "\x1b[A", "\x15", "\x03"
FORM = Form(
    "A sale",
    (
        Field("what", "What", needed=True),
        Field("place", "Where", choices=("Booth", "Site"), default="Booth", note="one of two"),
        Field("price", "Price", COST),
        Field("day", "Day", DATE, default="2026-03-03"),
    ),
    "What was sold?",
    says=lambda answers: f"{answers['what']} at {answers['place']}",
)


@contextmanager
def keyboard(keys: str) -> Iterator[Terminal]:
    with create_pipe_input() as pipe:
        pipe.send_text(keys)
        yield Terminal(pipe, DummyOutput())


def test_lines_are_changed_one_at_a_time(capsys: pytest.CaptureFixture[str]) -> None:
    # What is blank and needed, so its line is the one in sight; then Where, two lines up: the button is on top.
    keys = ENTER + "Lamp" + ENTER  # What
    keys += DOWN + ENTER + DOWN + ENTER  # Where: Site
    keys += DOWN + ENTER + "12.50" + ENTER  # Price
    keys += UP * 4 + ENTER
    with keyboard(keys) as terminal:
        answers = terminal.ask_form(FORM)
    assert answers == {"what": "Lamp", "place": "Site", "price": 12.5, "day": dt.date(2026, 3, 3)}
    shown = capsys.readouterr().out
    assert shown.startswith("A sale\nWhat was sold?\nWhat: is blank; fill it in\n")
    assert shown.splitlines()[-1] == "Lamp at Site"


def test_what_cannot_be_read_is_asked_again(capsys: pytest.CaptureFixture[str]) -> None:
    form = Form("A price", (Field("price", "Price", COST, default="4,5,6"),))
    with keyboard(ENTER + CLEAR + "4.50" + ENTER + UP * 2 + ENTER) as terminal:
        assert terminal.ask_form(form) == {"price": 4.5}
    assert "Price: '4,5,6' isn't a number; enter it as 12.50" in capsys.readouterr().out


@pytest.mark.parametrize("keys", [STOP, UP + ENTER])
def test_a_form_is_left(keys: str) -> None:
    with keyboard(keys) as terminal:
        assert terminal.ask_form(FORM) is None


def test_a_line_that_is_left_stays_as_it_is() -> None:
    form = Form("Where", (Field("place", "Where", choices=("Booth", "Site"), default="Site"),))
    with keyboard(DOWN * 2 + ENTER + STOP + UP * 2 + ENTER) as terminal:
        assert terminal.ask_form(form) == {"place": "Site"}


def test_a_long_list_is_searched_by_typing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(questions, "_LISTED", 2)
    form = Form("Where", (Field("place", "Where", choices=("Booth", "Site", "Fair"), default="Site"),))
    with keyboard(DOWN * 2 + ENTER + CLEAR + "fair" + ENTER + UP * 2 + ENTER) as terminal:
        assert terminal.ask_form(form) == {"place": "Fair"}


@pytest.mark.parametrize(("keys", "answer"), [("y", True), ("n", False), (ENTER, False), (STOP, False)])
def test_yes_or_no(keys: str, answer: bool) -> None:
    with keyboard(keys) as terminal:
        assert terminal.ask_yes("Fill 3 cells?") is answer


# ---- the command import ----------------------------------------------------------------------


@pytest.fixture
def files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Path, Path]:
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "kept"))
    log = small_log(tmp_path / "log.xlsx", "plain", full_entries())
    file = tmp_path / "sales.csv"
    file.write_text("SKU,Sale date,Price,Channel\nP2,2026-03-03,20.50,Booth\nP99,2026-03-04,3,\n")
    return file, log


def pressed(monkeypatch: pytest.MonkeyPatch, keys: str) -> None:
    """What the command's questions get, instead of a person's keys."""

    class Piped(Terminal):
        def __init__(self) -> None:
            self.pipe = create_pipe_input()
            pipe = self.pipe.__enter__()
            pipe.send_text(keys)
            super().__init__(pipe, DummyOutput())

    monkeypatch.setattr(maintain, "in_terminal", lambda: True)
    monkeypatch.setattr(questions, "Terminal", Piped)


def test_import_asks_in_a_terminal_and_fills_the_log(run, files, monkeypatch: pytest.MonkeyPatch) -> None:
    file, log = files
    pressed(monkeypatch, ENTER + "y")
    code, out, err = run("import", file, log)
    assert (code, err) == (0, "")
    assert "Of 2 rows of the file: 1 item filled, 0 new, 0 in the log already, 1 not imported." in out
    assert "Not imported, line 3: Item no. 'P99' is not on sheet Sourcing log" in out
    assert "3 cells written. Backup: log 2" in out
    assert "Your answers are kept for the next file with these headers: " in out
    assert load_log(log).sheets["Log"].set_index("item_no").loc["P2", "sale_price"] == 20.5
    before = log.read_bytes()
    pressed(monkeypatch, ENTER)
    code, out, _ = run("import", file, log, "--apply")
    assert "These are your answers for the last file with the same headers." in out
    assert "nothing to change" in out
    assert log.read_bytes() == before


@pytest.mark.parametrize("keys", [STOP, ENTER + "n"])
def test_import_is_left_and_nothing_is_written(run, files, monkeypatch: pytest.MonkeyPatch, keys: str) -> None:
    file, log = files
    before = log.read_bytes()
    pressed(monkeypatch, keys)
    code, out, _ = run("import", file, log)
    assert code == 0
    assert out.endswith("Nothing has been written.\n")
    assert log.read_bytes() == before
    assert sorted(path.name for path in log.parent.iterdir()) == ["log.xlsx", "sales.csv"]


def test_import_where_nobody_can_be_asked_says_what_to_do(run, files, monkeypatch: pytest.MonkeyPatch) -> None:
    file, log = files
    code, out, err = run("import", file, log)
    assert (code, out) == (2, "")
    assert err == (
        f"{file}: nobody can be asked here what its columns are; run this in a terminal, or with --map sales_map.toml\n"
    )
    # The answers of another day do as a map.
    pressed(monkeypatch, ENTER + "y")
    run("import", file, log)
    monkeypatch.undo()
    monkeypatch.setenv(FOLDER_VARIABLE, str(log.parent / "kept"))
    monkeypatch.chdir(log.parent)
    _, _, err = run("import", file, log)
    kept = err.rstrip("\n").partition("--map ")[2]
    code, out, _ = run("import", file, log, "--map", kept)
    assert code == 0
    assert "Cells to fill: 0" in out


def test_a_log_that_cannot_be_used_is_refused_before_anything_is_asked(run, files, monkeypatch) -> None:
    file, log = files
    pressed(monkeypatch, "")
    shutil.copy(file, log)
    code, _, err = run("import", file, log)
    assert code == 2
    assert "log.xlsx: is not a workbook" in err
