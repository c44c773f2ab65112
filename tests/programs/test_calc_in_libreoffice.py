"""The add-in in a real LibreOffice: functions, errors, files and menu, end to end."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path
from typing import Any

import pytest
import python_calamine
import xlsxwriter

from sheetfns import REGISTRY, __version__
from sheetfns.calling import call
from sheetfns.cell_types import date_number
from sheetfns.errors import CODES
from sheetfns.files.cell_names import cell_name
from sheetfns.files.xlsx_file import XlsxFile
from sheetfns.hosts.calc import ERROR_NUMBERS
from sheetfns.log.check.report import check_log
from sheetfns.log.compute import compute_log, year_figures
from sheetfns.log.edit.csv_import import plan_import
from sheetfns.log.edit.patch import CellEdit, patch
from sheetfns.log.edit.record import Recorder
from sheetfns.log.forecast import look_ahead
from sheetfns.log.load import load_log
from sheetfns.log.model.sheets import FIRST_ROW
from sheetfns.log.model.version import LAYOUT
from sheetfns.log.sheets.registry import log_layout
from sheetfns.log.sheets.words import MERGES
from sheetfns.programs import menu_entries
from sheetfns.programs.calc import install, names
from sheetfns.programs.calc.extension import argument_help
from sheetfns.registry import FORMER
from tests import ROOT
from tests.case_books import FORMULA_COLUMNS, rows_of, write_cases
from tests.case_files import Case, agrees, load_cases
from tests.programs.calc_office import CalcOffice, error_at, profile_with_add_in, shared_by

pytestmark = pytest.mark.libreoffice

EXAMPLE = ROOT / "examples" / "sourcing_log_example_functions.xlsx"
XLSX = "Calc MS Excel 2007 XML"
ODS = "calc8"
CODE_OF = {number: code for code, number in ERROR_NUMBERS.items()}
ERROR_IN_A_RANGE = 504
"""What the program gives of itself for a range that holds an error; no function is asked."""


@pytest.fixture(scope="module")
def calc(tmp_path_factory: pytest.TempPathFactory) -> CalcOffice:
    """The program with the add-in, its profile this module's own."""
    shared = profile_with_add_in(shared_by(tmp_path_factory))
    folder = tmp_path_factory.mktemp("calc")
    shutil.copytree(shared, folder / "profile")
    return CalcOffice(install.find_office(folder / "profile"), folder)


# ---- functions -------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def cases_read(calc: CalcOffice) -> tuple[list[Case], dict[str, Any]]:
    """All cases as formulas in the cells of one workbook, as the program worked them out."""
    cases = load_cases()
    path = calc.folder / "cases.xlsx"
    write_cases(path, cases, lambda case, cells: case.spec.call_formula(cells), arrays=True, guarded=True)
    _, read, _ = calc.run([["open", path.as_uri()], ["read"], ["close"]])
    return cases, read


def test_all_cases_as_formulas_in_cells(cases_read: tuple[list[Case], dict[str, Any]]) -> None:
    cases, read = cases_read
    wrong = []
    for case, row in rows_of(cases):
        wanted = as_delivered(case)
        for column in FORMULA_COLUMNS:
            found = [
                cell_of(read[case.function], row - 1 + down, column + right)
                for down, cells in enumerate(case.rows)
                for right in range(len(cells))
            ]
            if not agrees(wanted, found):
                wrong.append(f"{case}: {found}, not {wanted} ({case.why})")
    assert not wrong, "\n".join(wrong)
    assert {case.function for case in cases} == set(REGISTRY)


def as_delivered(case: Case) -> Any:
    """What is expected where the program hands over yes and no as 1 and 0: it knows no other."""
    cells = {
        argument.name: float(case.arguments[argument.name])
        for argument in case.spec.arguments
        if isinstance(case.arguments[argument.name], bool) and argument.kind.holds == "number"
    }
    if not cells:
        return case.expected
    return call(case.spec, (), case.arguments | cells)


def cell_of(content: dict[str, Any], row: int, column: int) -> Any:
    """A cell, an error as its code."""
    code = error_at(content, row, column)
    if code:
        return CODE_OF.get(code, f"error {code}")
    rows = content["cells"]
    return rows[row][column] if row < len(rows) and column < len(rows[row]) else ""


@pytest.fixture(scope="module")
def answers(calc: CalcOffice) -> dict[str, Any]:
    """Formulas typed into a new sheet, one after the other, and what the cells show."""
    typed: list[tuple[str, str | float, str]] = [
        ("A1", "=NET_PROFIT(25;4;3.5;4.25;0.75;8)", ""),
        ("A2", "=NET_PROFIT(25;4;-3;4.25;0.75;8)", ""),
        ("A3", '=NET_PROFIT("much";4;3;4.25;0.75;8)', ""),
        ("A4", "=MARGIN_OF_SAFETY(0;5)", ""),
        # A column in which one row cannot be worked out.
        ("C1", 10.0, ""),
        ("C2", -1.0, ""),
        ("C3", 12.0, ""),
        ("", "=LANDED_COST(C1:C3)", "D1:D3"),
        ("E1", "=SUM(D1:D3)", ""),
        ("E2", "=SUM(LANDED_COST(C1:C3))", ""),
        ("E3", "=SUM(D1;D3)", ""),
        # A range that holds an error.
        ("F1", "=1/0", ""),
        ("F2", 5.0, ""),
        ("G1", "=PROFIT_SHARE(100;F1:F2)", ""),
        ("G2", "=LANDED_COST(F1)", ""),
        # A single blank cell.
        ("H1", "=LANDED_COST(Z1)", ""),
        ("H2", '=IF(Z1="";"";LANDED_COST(Z1))', ""),
        # A large whole number does not spoil later calls.
        ("I1", "=LANDED_COST(1E+300)", ""),
        ("I2", "=LANDED_COST(8)", ""),
        ("J1", "=NET_PROFIT(25;4;3.5;4.25;0.75)", ""),
        ("J2", "=NO_SUCH_NAME(1)", ""),
        ("K1", "=STOCK_TURN(3000;900;1100)", ""),
        ("K2", "=STOCK_FOR_PAY(450;60;12;0.25;8)", ""),
        ("K3", "=INVENTORY_FOR_PAY(450;60;12;0.25;8)", ""),
    ]
    tasks: list[list[Any]] = [["new"], ["sheet", "S"]]
    tasks += [["type", "S", cell, text, area] for cell, text, area in typed]
    *_, read, _ = calc.run([*tasks, ["read"], ["close"]])
    content: dict[str, Any] = read["S"]
    return content


@pytest.mark.parametrize(
    ("cell", "shown"),
    [
        ((0, 0), 12.5),
        ((1, 0), "#NUM!"),
        ((2, 0), "#VALUE!"),
        ((3, 0), "#DIV/0!"),
        ((0, 3), 10.0),
        ((1, 3), "#NUM!"),
        ((2, 3), 12.0),
        ((0, 4), "#NUM!"),
        ((1, 4), "#NUM!"),
        ((2, 4), 22.0),
        ((0, 6), f"error {ERROR_IN_A_RANGE}"),
        ((1, 6), "#DIV/0!"),
        ((0, 7), 0.0),
        ((1, 7), ""),
        ((0, 8), 1e300),
        ((1, 8), 8.0),
        ((0, 9), "#VALUE!"),
        ((1, 9), "#NAME?"),
        ((0, 10), 3.0),
    ],
)
def test_cells_and_errors(answers: dict[str, Any], cell: tuple[int, int], shown: Any) -> None:
    found = cell_of(answers, *cell)
    assert found == shown


def test_a_former_name_gives_what_the_new_one_gives(answers: dict[str, Any]) -> None:
    old, new = cell_of(answers, 1, 10), cell_of(answers, 2, 10)
    assert old == new
    assert new == 42.5


def test_every_error_has_a_number() -> None:
    assert set(CODE_OF.values()) == set(CODES)


def test_the_function_wizard_knows_every_function(calc: CalcOffice) -> None:
    (listed,) = calc.run([["functions"]])
    for spec in (*REGISTRY.values(), *FORMER.values()):
        shown = listed[spec.name]
        assert shown["help"] == spec.help
        assert [(name, text) for name, text, _ in shown["arguments"]] == [
            (argument.name, argument_help(argument)) for argument in spec.arguments
        ]


# ---- files -----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def example_read(calc: CalcOffice) -> tuple[dict[str, Any], dict[str, Path]]:
    """The example log opened, recalculated, saved as .xlsx and .ods, and opened again."""
    places = {ending: calc.folder / f"example.{ending}" for ending in ("xlsx", "ods")}
    # A copy: a newer LibreOffice may have the file itself open in another test at the same time.
    log = Path(shutil.copy(EXAMPLE, calc.folder / "log.xlsx"))
    results = calc.run(
        [
            ["open", log.as_uri()],
            ["read"],
            ["save", places["xlsx"].as_uri(), XLSX],
            ["save", places["ods"].as_uri(), ODS],
            ["close"],
            ["open", places["xlsx"].as_uri()],
            ["read"],
            ["close"],
            ["open", places["ods"].as_uri()],
            ["show", "Sourcing log", "C7"],
            ["read"],
            ["close"],
        ]
    )
    read = {"opened": results[1], "xlsx": results[6], "ods": results[10], "cell": results[9]}
    return read, places


@pytest.mark.parametrize("which", ["opened", "xlsx", "ods"])
def test_the_example_log_gives_what_python_gives(
    example_read: tuple[dict[str, Any], dict[str, Path]], which: str
) -> None:
    """The stored values of the example are held against Python's in tests/log."""
    read, _ = example_read
    compared = 0
    wrong = []
    stored = python_calamine.load_workbook(str(EXAMPLE))
    for sheet in stored.sheet_names:
        content = read[which][sheet]
        assert not content["errors"], (sheet, content["errors"][:5])
        rows = stored.get_sheet_by_name(sheet).to_python(skip_empty_area=False)
        with XlsxFile(EXAMPLE) as book:
            cells = book.cells(sheet)
        for row, values in enumerate(cells):
            for column, value in enumerate(values):
                if not isinstance(rows[row][column], (float, str)):
                    continue
                found = content["cells"][row][column] if row < len(content["cells"]) else ""
                compared += 1
                if not same(value, found):
                    wrong.append((sheet, row + 1, column + 1, value, found))
    assert not wrong, wrong[:10]
    assert compared > 40_000


def same(value: Any, found: Any) -> bool:
    if isinstance(value, float) and isinstance(found, (int, float)):
        return abs(value - found) <= 1e-7 * max(1.0, abs(value))
    return bool((value or "") == found)


def test_names_are_plain_in_both_files(example_read: tuple[dict[str, Any], dict[str, Path]]) -> None:
    read, places = example_read
    with XlsxFile(places["xlsx"]) as book:
        part = book.part("Sourcing log")
    assert part.count(b"NET_PROFIT(") == 250
    assert names.SERVICE.encode() not in part
    assert "NET_PROFIT(" in read["cell"]["formula"]
    assert load_log(places["xlsx"]).edition == "functions"


def test_saved_twice_under_one_name(calc: CalcOffice) -> None:
    """The names are put back after each time, and the program goes on with the file as its own."""
    path = calc.folder / "twice.xlsx"
    formula = "=NET_PROFIT(25;4;3.5;4.25;0.75;8)"
    *_, stored, _, _, again, _ = calc.run(
        [
            ["new"],
            ["sheet", "S"],
            ["type", "S", "A1", formula],
            ["save", path.as_uri(), XLSX],
            ["type", "S", "A2", formula],
            ["store"],
            ["changed"],
            ["close"],
            ["open", path.as_uri()],
            ["read"],
            ["close"],
        ]
    )
    assert stored is False
    assert again["S"]["cells"] == [[12.5], [12.5]]
    with XlsxFile(path) as book:
        part = book.part("S")
    assert part.count(b">NET_PROFIT(") == 2
    assert names.SERVICE.encode() not in part
    assert [one.name for one in calc.folder.iterdir() if "unfinished" in one.name] == []


def test_formulas_with_former_names_go_on_in_saved_files(calc: CalcOffice) -> None:
    """A workbook of the version before, in both forms: opened, recalculated, saved and opened again."""
    log = calc.folder / "before.xlsx"
    places = {ending: calc.folder / f"before_saved.{ending}" for ending in ("xlsx", "ods")}
    with xlsxwriter.Workbook(log) as book:
        book.add_worksheet("S").write_row(0, 0, [3000, 900, 1100, "=STOCK_TURN(A1,B1,C1)"])
    results = calc.run(
        [
            ["open", log.as_uri()],
            ["read"],
            ["save", places["xlsx"].as_uri(), XLSX],
            ["save", places["ods"].as_uri(), ODS],
            ["close"],
            *(task for path in places.values() for task in (["open", path.as_uri()], ["read"], ["close"])),
        ]
    )
    for read in (results[1], results[6], results[9]):
        assert read["S"] == {"cells": [[3000.0, 900.0, 1100.0, 3.0]], "errors": []}
    with XlsxFile(places["xlsx"]) as book:
        part = book.part("S")
    assert b">STOCK_TURN(" in part
    assert names.SERVICE.encode() not in part


# ---- the menu --------------------------------------------------------------------------------


def test_the_menu_has_its_commands(calc: CalcOffice) -> None:
    (entries,) = calc.run([["menus"]])
    assert entries == [
        [command.title, f"{names.PROTOCOL}:{command.key}", f"{menu_entries.MENU}, {command.group}"]
        for command in menu_entries.COMMANDS
    ]


def imported_day() -> CellEdit:
    """A day that the example's export fills in."""
    plan = plan_import(EXAMPLE.with_name("sales_export.csv"), EXAMPLE, EXAMPLE.with_name("sales_export_map.toml"))
    return next(edit for edit in plan.edits if isinstance(edit.value, dt.date))


UNSOLD = Recorder(load_log(EXAMPLE)).on_hand()[0]
THEIR_NOTE = CellEdit("Sourcing log", UNSOLD.row, log_layout().table("Log").position("missing") + 1, "lid is chipped")
"""What the partner's copy has more."""


def sold_cell(key: str) -> str:
    """A cell of the item that is sold."""
    return cell_name(UNSOLD.row, log_layout().table("Log").position(key) + 1)


FORMULA = cell_name(FIRST_ROW, log_layout().table("Log").position("landed_cost") + 1)


@pytest.fixture(scope="module")
def ran(calc: CalcOffice) -> dict[str, Any]:
    """Each command of the menu, run on the example log, and one on a workbook that is no log."""
    log, new, package, sales, theirs = (
        calc.folder / name for name in ("shop.xlsx", "new.xlsx", "package", "sales.csv", "theirs.xlsx")
    )
    patch(EXAMPLE, [THEIR_NOTE], out=theirs)
    shutil.copy(EXAMPLE, log)
    shutil.copy(EXAMPLE.with_name("sales_export.csv"), sales)

    def command(key: str, *answers: Any) -> list[Any]:
        return ["run", f"{names.PROTOCOL}:{key}", list(answers)]

    tasks = {
        "open": ["open", log.as_uri(), False],
        "changed": ["changed"],
        "stack": ["undo_titles"],
        "check_log": command("check_log"),
        "year_end": command("year_end", True, str(package)),
        "forecast": command("forecast"),
        "forecast_by_former_key": command("outlook"),
        "declined": command("import_sales", str(sales), "new_rows=No", False),
        "before": ["show", "Sourcing log", imported_day().cell],
        "import_sales": command("import_sales", str(sales), "new_rows=No", True),
        "after": ["show", "Sourcing log", imported_day().cell],
        "undone": ["undo"],
        "again": ["show", "Sourcing log", imported_day().cell],
        "mark_sold": command("mark_sold", f"item={UNSOLD.number}\nsale_price=25\npostage_paid=4"),
        "sold": ["show", "Sourcing log", sold_cell("net_profit")],
        "unsold": ["undo"],
        "not_sold": ["show", "Sourcing log", sold_cell("sale_price")],
        "not_read": command("mark_sold", f"item={UNSOLD.number}\nsale_price=much"),
        "merge_copy": command("merge_copy", str(theirs), True),
        "merged": ["show", "Sourcing log", THEIR_NOTE.cell],
        "unmerged": ["undo"],
        "about": command("about"),
        "show_help": command("show_help"),
        "new_log": command("new_log", str(new), False),
        "new_log_again": command("new_log", str(new), False),
        "cancelled": command("import_sales", ""),
        "right": ["show", "Sourcing log", FORMULA],
        "overwritten": ["type", "Sourcing log", FORMULA, "80"],
        "not_fixed": command("check_log", False),
        "still_overwritten": ["show", "Sourcing log", FORMULA],
        "fixed": command("check_log", True),
        "restored": ["show", "Sourcing log", FORMULA],
        "upgrade_log": command("upgrade_log", str(new.with_name("upgraded"))),
        "close": ["close"],
        "other": ["new"],
        "no_log": command("check_log"),
        "close_other": ["close"],
    }
    results = dict(zip(tasks, calc.run(list(tasks.values())), strict=True))
    return results | {"folder": calc.folder, "log": log}


def table(result: dict[str, Any]) -> list[list[Any]]:
    """The one table that a command showed."""
    (book,) = result["opened"]
    (content,) = book["sheets"].values()
    return content["cells"]


def test_opening_changes_nothing(ran: dict[str, Any]) -> None:
    assert ran["changed"] is False
    assert ran["stack"] == []


def test_check_lists_what_is_to_be_looked_at(ran: dict[str, Any]) -> None:
    head, *rows = table(ran["check_log"])
    assert head[:2] == ["Sheet", "Cell"]
    report = check_log(EXAMPLE)
    assert [(row[0], row[1], row[3]) for row in rows] == [(one.sheet, one.cell, one.message) for one in report.findings]
    assert f"{report.summary}; the new workbook lists them" in ran["check_log"]["said"]


def test_check_restores_a_formula_on_the_screen(ran: dict[str, Any]) -> None:
    assert "--fix" not in ran["not_fixed"]["said"]
    assert "Fix all?" in ran["not_fixed"]["said"]
    assert ran["still_overwritten"]["value"] == 80
    assert "Fixed: 1 cell" in ran["fixed"]["said"]
    assert ran["restored"] == ran["right"]
    assert ran["log"].read_bytes() == EXAMPLE.read_bytes()


def test_a_log_is_upgraded_into_a_new_one(ran: dict[str, Any]) -> None:
    path = ran["folder"] / "upgraded.xlsx"
    assert [book["url"] for book in ran["upgrade_log"]["opened"]] == [path.as_uri()]
    assert f"{path.name} is ready: " in ran["upgrade_log"]["said"]
    assert load_log(path).inputs() == load_log(EXAMPLE).inputs()


def test_year_end_shows_the_figures_and_makes_the_package(ran: dict[str, Any]) -> None:
    rows = {row[0]: row[2] for row in table(ran["year_end"])[1:]}
    figures = compute_log(load_log(EXAMPLE))
    year = int(figures.content.settings["Tax_year"])
    for line in year_figures(figures, year).lines:
        if line.amount is not None:
            assert rows[line.label] == pytest.approx(line.amount, abs=1e-9)
    made = sorted(path.name for path in (ran["folder"] / "package").iterdir())
    assert f"year_end_{year}_draft.xlsx" in made
    assert f"year_end_{year}_draft.pdf" in made
    assert f"{year} isn't complete" in ran["year_end"]["said"]


def test_forecast_shows_the_weeks_of_the_command(ran: dict[str, Any]) -> None:
    head, *rows = table(ran["forecast"])
    ahead = look_ahead(compute_log(load_log(EXAMPLE)))
    assert head[:4] == ["Week", "Cash", "Inventory", "Drawn"]
    for row, (week, cash, inventory, *_) in zip(rows, ahead.shown_weeks(), strict=False):
        assert row[0] == week
        assert row[1] == pytest.approx(cash, abs=0.51)
        assert row[2] == pytest.approx(inventory, abs=0.51)


def test_the_menu_of_an_add_in_that_was_put_in_before_goes_on(ran: dict[str, Any]) -> None:
    assert ran["forecast_by_former_key"] == ran["forecast"]


def test_sales_are_imported_on_the_screen_and_can_be_undone(ran: dict[str, Any]) -> None:
    plan = plan_import(EXAMPLE.with_name("sales_export.csv"), EXAMPLE, EXAMPLE.with_name("sales_export_map.toml"))
    edit = imported_day()
    assert ran["before"]["text"] == ran["again"]["text"] == ""
    assert ran["after"]["value"] == date_number(edit.value)
    assert ran["undone"] == [menu_entries.MENU]
    assert f"{len(plan.edits)} cells were filled" in ran["import_sales"]["said"]
    assert len(table(ran["import_sales"])) == 1 + len(plan.changes) + len(plan.left)
    # What is not imported stands beside the file; the log itself was not saved.
    assert (ran["folder"] / "sales not imported.csv").is_file()
    assert ran["log"].read_bytes() == EXAMPLE.read_bytes()


def test_a_sale_is_entered_by_a_form_and_undone_at_once(ran: dict[str, Any]) -> None:
    said = ran["mark_sold"]["said"]
    assert said.startswith(f"Net profit: {ran['sold']['value']:.2f}\n")
    assert ran["unsold"] == [menu_entries.MENU]
    assert ran["not_sold"]["text"] == ""
    assert "Sale price: 'much' isn't a number; enter it as 12.50" in ran["not_read"]["said"]


def test_a_partners_copy_is_merged_on_the_screen(ran: dict[str, Any]) -> None:
    assert ran["merged"]["text"] == THEIR_NOTE.value
    assert ran["unmerged"] == [menu_entries.MENU]
    (common,) = ran["folder"].glob("shop common *.xlsx")
    assert load_log(common).sheets["Log"]["missing"].tolist().count(THEIR_NOTE.value) == 1
    assert MERGES in load_log(common).sheet_names
    assert common.name in ran["merge_copy"]["said"]
    assert f"layout {LAYOUT}" in ran["about"]["said"]


def test_help_lists_commands_and_functions(ran: dict[str, Any]) -> None:
    rows = table(ran["show_help"])
    first = [row[0] for row in rows]
    assert [command.title for command in menu_entries.COMMANDS] == first[1 : 1 + len(menu_entries.COMMANDS)]
    assert set(REGISTRY) <= set(first)


def test_a_new_log_is_made_and_opened(ran: dict[str, Any]) -> None:
    path = ran["folder"] / "new.xlsx"
    assert [book["url"] for book in ran["new_log"]["opened"]] == [path.as_uri()]
    assert load_log(path).edition == "plain"
    assert "already exists" in ran["new_log_again"]["said"]
    assert not ran["new_log_again"]["opened"]


def test_what_cannot_be_done_is_told(ran: dict[str, Any]) -> None:
    assert ran["cancelled"] == {"said": "", "opened": []}
    assert "check that this is a sourcing log" in ran["no_log"]["said"]


# ---- in and out ------------------------------------------------------------------------------


def test_taking_it_out_and_putting_it_in_again(calc: CalcOffice) -> None:
    profile = calc.folder / "other-profile"
    shutil.copytree(calc.office.profile, profile)
    office = install.find_office(profile)
    assert install.installed(profile).version == __version__
    assert install.uninstall(office)
    assert install.installed(profile) is None
    assert not install.uninstall(office)
    install.install(office)
    install.install(office)
    assert install.installed(profile).paths == install.paths_for(office.python)
