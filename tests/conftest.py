"""What all tests share: where a program is missing, its tests say so in the last lines."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from hypothesis import settings

from tests import made_once
from tests.gnumeric import find_ssconvert
from tests.ironcalc_engine import find_ironcalc
from tests.libreoffice import find_soffice

# A busy machine is no failure; and a run that others rely on gives the same result twice.
settings.register_profile("project", deadline=None, derandomize=os.environ.get("CI") == "true")
settings.load_profile("project")


@dataclass(frozen=True)
class Program:
    """A program that some tests need.

    Attributes:
        name: as people know it.
        find: gives None where it is missing.
        missing: what the tests say then.
        package: what to install.
        not_run: the tests that did not run for want of it.
    """

    name: str
    find: Callable[[], object]
    missing: str
    package: str
    not_run: list[str] = field(default_factory=list)


PROGRAMS = {
    "libreoffice": Program("LibreOffice", find_soffice, "soffice is not installed", "libreoffice-calc"),
    "gnumeric": Program("Gnumeric", find_ssconvert, "ssconvert is not installed", "gnumeric"),
    "ironcalc": Program("IronCalc", find_ironcalc, "ironcalc is not installed", "ironcalc (with pip)"),
}
"""By the marks of the tests."""


SLOW_FILES = (
    "programs/test_habits.py",
    "log/read/test_log_reader.py",
    "log/test_editions.py",
    "log/test_example_shop.py",
    "programs/test_calc_in_newer_libreoffice.py",
    "programs/test_calc_in_libreoffice.py",
    "programs/test_packed_in_libreoffice.py",
    "log/read/test_ods_logs.py",
    "log/read/test_earlier_words.py",
    "log/sheets/test_pay.py",
    "log/edit/test_merge.py",
    "log/edit/test_merge_finds.py",
    "log/edit/test_pocket.py",
    "bad_inputs/test_odd_inputs.py",
    "bad_inputs/test_bad_inputs.py",
    "log/sheets/test_money_identities.py",
    "log/sheets/test_partners.py",
    "log/sheets/test_inventory.py",
    "log/sheets/test_shelf_check.py",
    "log/sheets/test_listing_desk.py",
    "log/sheets/test_year_end.py",
    "log/edit/test_upgrade.py",
    "log/test_saved_elsewhere.py",
    "log/test_programs_agree.py",
    "files/test_written_files.py",
    "log/test_sheet_logs.py",
    "log/test_quick_logs.py",
    "log/test_compute.py",
    "log/test_compare.py",
    "log/test_mutants.py",
    "programs/test_macro_logs_kept.py",
    "programs/test_excel_workbook.py",
    "programs/test_lite_scripts.py",
    "programs/test_excel_safe_path.py",
    "log/lambdas/test_lambda_in_ironcalc.py",
    "log/model/test_version.py",
    "log/write/test_printing.py",
    "log/lambdas/test_names.py",
    "log/lambdas/test_lambda_edition.py",
    "functions/test_formulas.py",
    "functions/test_properties.py",
)
"""The files that take longest are begun first, so that none of them runs alone at the end."""
PLACES = {Path(__file__).parent / name: place for place, name in enumerate(SLOW_FILES)}


def pytest_itemcollected(item: pytest.Item) -> None:
    """Marks as slow what needs another program or stands in a slow file."""
    if item.path in PLACES or any(item.get_closest_marker(mark) for mark in PROGRAMS):
        item.add_marker(pytest.mark.slow)


def pytest_configure(config: pytest.Config) -> None:
    """Gives the run a folder for files that many tests begin with; the processes of a run share it."""
    if not hasattr(config, "workerinput"):
        folder = tempfile.TemporaryDirectory(prefix="sheetfns-tests-", ignore_cleanup_errors=True)
        os.environ[made_once.FOLDER] = folder.name
        os.environ["SHEETFNS_MAPS"] = f"{folder.name}/maps"
        config.add_cleanup(folder.cleanup)


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items.sort(key=lambda item: PLACES.get(item.path, len(PLACES)))


def pytest_runtest_setup(item: pytest.Item) -> None:
    for mark, program in PROGRAMS.items():
        if item.get_closest_marker(mark) is None or program.find() is not None:
            continue
        if os.environ.get("CI") == "true":
            pytest.fail(f"{program.missing}; it must be where CI=true", pytrace=False)
        pytest.skip(program.missing)


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    # Where tests run in processes of their own, only reports come back from there.
    for program in PROGRAMS.values():
        if report.skipped and program.missing in str(report.longrepr):
            program.not_run.append(report.nodeid)


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_sessionfinish(session: pytest.Session) -> Iterator[None]:
    # Printed around the session's end, not in pytest_terminal_summary: that stands over the list of
    # skipped tests and the totals, and the last lines are what people read.
    yield
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    for program in PROGRAMS.values():
        if program.not_run and reporter is not None:
            reporter.write_line(
                f"{program.name} tests did not run: {len(program.not_run)} skipped, because {program.missing}.",
                yellow=True,
            )
            reporter.write_line(f"Install {program.package} and run the tests again.", yellow=True)


Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    """Run a command in an empty folder; gives exit code, output and errors."""
    from sheetfns.cli import app, console

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(console.out, "width", 120)

    def command(*words: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["sheetfns", *map(str, words)])
        try:
            app.main()
            code = 0
        except SystemExit as stop:
            code = int(stop.code or 0)
        shown = capsys.readouterr()
        return code, shown.out, shown.err

    return command
