"""What all tests share: where LibreOffice is missing, its tests say so in the last lines."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from tests.libreoffice import find_soffice

# A busy machine is no failure; and a run that others rely on gives the same result twice.
settings.register_profile("project", deadline=None, derandomize=os.environ.get("CI") == "true")
settings.load_profile("project")

NOT_INSTALLED = "soffice is not installed"
_not_run: list[str] = []


SLOW_FILES = (
    "programs/test_calc_in_newer_libreoffice.py",
    "programs/test_calc_in_libreoffice.py",
    "log/test_editions.py",
    "log/test_pay_sheet.py",
    "log/test_read.py",
    "log/test_example_shop.py",
    "log/test_merge.py",
    "log/test_shelf_and_desk.py",
    "bad_inputs/test_odd_inputs.py",
    "bad_inputs/test_bad_inputs.py",
    "log/test_money_identities.py",
    "log/test_partners_sheet.py",
    "log/test_stock_sheets.py",
    "log/test_refit.py",
    "log/test_figures.py",
    "programs/test_macro_logs_kept.py",
    "programs/test_excel_workbook.py",
    "log/test_lambda_names.py",
    "log/test_lambda_edition.py",
    "test_natives.py",
    "test_properties.py",
)
"""The files that take longest are begun first, so that none of them runs alone at the end."""


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    tests = Path(__file__).parent
    places = {tests / name: place for place, name in enumerate(SLOW_FILES)}
    items.sort(key=lambda item: places.get(item.path, len(places)))


def pytest_runtest_setup(item: pytest.Item) -> None:
    if item.get_closest_marker("libreoffice") is None or find_soffice() is not None:
        return
    if os.environ.get("CI") == "true":
        pytest.fail("soffice is not installed; it must be where CI=true", pytrace=False)
    pytest.skip(NOT_INSTALLED)


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    # Where tests run in processes of their own, only reports come back from there.
    if report.skipped and NOT_INSTALLED in str(report.longrepr):
        _not_run.append(report.nodeid)


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_sessionfinish(session: pytest.Session) -> Iterator[None]:
    # Printed around the session's end, not in pytest_terminal_summary: that stands over the list of
    # skipped tests and the totals, and the last lines are what people read.
    yield
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if _not_run and reporter is not None:
        reporter.write_line(
            f"LibreOffice tests did not run: {len(_not_run)} skipped, because soffice is not "
            "installed.",
            yellow=True,
        )
        reporter.write_line("Install libreoffice-calc and run the tests again.", yellow=True)


Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    """Run a command in an empty folder; gives exit code, output and errors."""
    from sheetfns import cli

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(cli.out, "width", 120)

    def command(*words: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["sheetfns", *map(str, words)])
        try:
            cli.main()
            code = 0
        except SystemExit as stop:
            code = int(stop.code or 0)
        shown = capsys.readouterr()
        return code, shown.out, shown.err

    return command
