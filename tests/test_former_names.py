"""Names of the version before go on working, and every one of them is known."""

from __future__ import annotations

import re
import warnings
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter

import sheetfns
from sheetfns import REGISTRY, calling, former_names
from sheetfns.cli.app import COMMANDS
from sheetfns.hosts import calc, engine
from sheetfns.pages.reference import reference
from sheetfns.programs import menu_entries
from sheetfns.registry import ADD_IN, FORMER, DeclarationError, FunctionSpec, Registry, called
from tests import case_files
from tests.case_files import agrees, load_cases, path_of, read_case_file

NAMES = [
    line.split()
    for line in Path(__file__).with_name("names_of_0.4.0.txt").read_text().splitlines()
    if not line.startswith("#")
]
FUNCTIONS = [(name, arguments) for sort, name, *arguments in NAMES if sort == "function"]
GROWTH: dict[str, Any] = {"return_rate": 0.5, "days_to_turn": 17.5, "weeks": 4}
"""What GROWTH_PATH needs beside the first argument."""


def names_of(sort: str) -> set[str]:
    return {name for one, name, *_ in NAMES if one == sort}


# Every name of 0.4.0, and no name that leads nowhere


@pytest.mark.parametrize(("name", "arguments"), FUNCTIONS, ids=lambda value: value if isinstance(value, str) else "")
def test_every_function_takes_what_it_took(name: str, arguments: list[str]) -> None:
    spec = called(name)
    assert spec is not None, f"{name}: write it into former_names.py"
    now = {argument.name: argument for argument in spec.arguments}
    understood = [former_names.argument_now(argument.strip("[]"), now) for argument in arguments]
    assert understood == list(now)[: len(understood)], "write the old names into former_names.py"
    for argument, known in zip(arguments, understood, strict=True):
        assert not (argument.startswith("[") and now[known].required), known
    assert not any(argument.required for argument in spec.arguments[len(understood) :])


def test_every_command_and_menu_key_is_known() -> None:
    commands = set(COMMANDS) - {"pocket", "pack"}  # There were no such commands.
    assert names_of("command") == commands - set(former_names.COMMANDS.values()) | set(former_names.COMMANDS)
    keys = {command.key for command in menu_entries.COMMANDS}
    keys -= {"upgrade_log", "pocket_copy", "add_item", "mark_sold", "mark_returned", "other_disposition"}  # There were
    keys -= {"merge_copy", "year_summary", "explain_cell", "about"}  # no such commands.
    assert names_of("menu") == keys - set(former_names.MENU_KEYS.values()) | set(former_names.MENU_KEYS)


def test_every_former_name_leads_to_a_name_of_now() -> None:
    assert set(former_names.FUNCTIONS.values()) <= set(REGISTRY)
    assert not set(former_names.FUNCTIONS) & set(REGISTRY)
    assert set(FORMER) == set(former_names.FUNCTIONS)
    arguments = {argument.name for spec in REGISTRY.values() for argument in spec.arguments}
    assert set(former_names.ARGUMENTS.values()) <= arguments
    assert set(former_names.COMMANDS.values()) <= set(COMMANDS)
    assert not set(former_names.COMMANDS) & set(COMMANDS)
    keys = {command.key for command in menu_entries.COMMANDS}
    assert set(former_names.MENU_KEYS.values()) <= keys
    assert not set(former_names.MENU_KEYS) & keys


def test_every_former_name_is_one_that_there_was() -> None:
    assert set(former_names.FUNCTIONS) <= names_of("function")
    assert set(former_names.ARGUMENTS) <= {one.strip("[]") for _, arguments in FUNCTIONS for one in arguments}
    assert set(former_names.COMMANDS) <= names_of("command")
    assert set(former_names.MENU_KEYS) <= names_of("menu")


def test_a_function_cannot_take_a_former_name() -> None:
    with pytest.raises(DeclarationError, match="STOCK_TURN is the former name of INVENTORY_TURNOVER"):
        Registry().add(FORMER["STOCK_TURN"])


# Python


@pytest.mark.parametrize(("old", "new"), former_names.FUNCTIONS.items())
def test_the_python_name_gives_the_function_and_says_the_new_name(old: str, new: str) -> None:
    with pytest.warns(DeprecationWarning, match=old.lower()) as said:
        function = getattr(sheetfns, old.lower())
    assert function is getattr(sheetfns, new.lower())
    (one,) = said
    assert (
        str(one.message) == f"'{old.lower()}' is now '{new.lower()}'; the old name stops working with the next version"
    )
    assert one.filename == __file__
    assert old.lower() not in dir(sheetfns)
    with pytest.raises(AttributeError, match=f"no function {old}"):
        getattr(sheetfns, old)


def test_a_former_argument_is_understood_and_the_new_one_is_said() -> None:
    with pytest.warns(DeprecationWarning, match="stake") as said:
        old = sheetfns.growth_path(stake=50, **GROWTH)
    (one,) = said
    assert str(one.message) == former_names.notice("stake", "starting_cash")
    assert one.filename == __file__
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert old.tolist() == sheetfns.growth_path(starting_cash=50, **GROWTH).tolist()


def test_what_python_refuses() -> None:
    with pytest.raises(TypeError, match="starting_cash is given twice, once as stake, its former name"):
        sheetfns.growth_path(stake=50, starting_cash=50, **GROWTH)
    with (
        pytest.warns(DeprecationWarning, match="stake"),
        pytest.raises(TypeError, match="starting_cash is given twice"),
    ):
        sheetfns.growth_path(50, stake=50, **GROWTH)
    with pytest.raises(TypeError, match="NET_PROFIT has no argument stake"):
        sheetfns.net_profit(stake=50)


def test_a_name_that_a_function_has_is_never_a_former_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(former_names.ARGUMENTS, "old", "new")
    assert former_names.argument_now("old", ["new"]) == "new"
    assert former_names.argument_now("old", ["old", "new"]) == "old"
    assert former_names.argument_now("old", ["other"]) == "old"


# Cells


CASES = load_cases(former_names.FUNCTIONS.values())


@pytest.fixture(scope="module")
def recalculated(tmp_path_factory: pytest.TempPathFactory) -> tuple[engine.Recalculated, dict[str, int]]:
    """A workbook of the version before, which calls each former name, one with the add-in's name before it."""
    path = tmp_path_factory.mktemp("before") / "book.xlsx"
    rows = {}
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("S")
        for row, (old, spec) in enumerate(FORMER.items()):
            case = ordinary(spec)
            cells = list(case.arguments.values())
            sheet.write_row(row, 4, cells)
            listed = ",".join(f"{'EFGHIJ'[place]}{row + 1}" for place in range(len(cells)))
            # One of them gives a row, of which a cell shows the first.
            sheet.write_formula(row, 0, f"=INDEX({old}({listed}),1,1)")
            sheet.write_formula(row, 1, f"=INDEX({ADD_IN}.{old}({listed}),1,1)")
            sheet.write_formula(row, 2, f"={old}(-1)")
            rows[old] = row + 1
    return engine.recalculate(path), rows


def ordinary(spec: FunctionSpec) -> case_files.Case:
    now = former_names.FUNCTIONS.get(spec.name, spec.name)
    return next(case for case in CASES if case.function == now and case.sort == "ordinary")


@pytest.mark.parametrize("old", FORMER)
def test_cells_of_a_workbook_are_recalculated(old: str, recalculated: Any) -> None:
    values, rows = recalculated
    expected = ordinary(FORMER[old]).rows[0][0]
    assert agrees(expected, values.value("S", rows[old], 1))
    assert agrees(expected, values.value("S", rows[old], 2))
    error = values.value("S", rows[old], 3)
    assert error.code == "#VALUE!"
    assert f"{old} needs " in error.message


@pytest.mark.parametrize("case", CASES, ids=str)
def test_every_case_by_the_former_name(case: case_files.Case) -> None:
    (old,) = (old for old, new in former_names.FUNCTIONS.items() if new == case.function)
    found = calling.evaluate(FORMER[old], [case.arguments[one.name] for one in case.spec.arguments]).cells()
    assert agrees(case.expected, found)


def test_the_add_in_of_libreoffice_answers() -> None:
    assert calc.answer("STOCK_TURN", (3000.0, 900.0, 1100.0)) == ((3.0,),)


# Lists, pages and files of cases


def test_no_list_shows_them() -> None:
    page = reference()
    for old, new in former_names.FUNCTIONS.items():
        assert page.count(old) == 1
        section = re.search(rf"^### {new}\n(.*?)^###? ", page, re.MULTILINE | re.DOTALL)
        assert section is not None and f"\nFormerly {old}.\n" in section[1]


def test_functions_explains_the_new_one_after_a_line(run: Any) -> None:
    code, out, err = run("functions", "stock_turn")
    assert (code, err) == (0, former_names.notice("STOCK_TURN", "INVENTORY_TURNOVER") + "\n")
    assert (0, out, "") == run("functions", "INVENTORY_TURNOVER")
    assert "STOCK_TURN" not in run("functions")[1]


def test_a_file_of_cases_may_have_a_former_argument(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    spec = REGISTRY["GROWTH_PATH"]
    text = path_of("GROWTH_PATH").read_text(encoding="utf-8")
    assert text.count("starting_cash,") == 1
    cases = read_case_file(spec).cases
    monkeypatch.setattr(case_files, "CASES", tmp_path)
    path_of("GROWTH_PATH").write_text(text.replace("starting_cash,", "stake,"), encoding="utf-8")
    read = read_case_file(spec)
    assert (read.faults, read.cases) == ([], cases)


# Commands


def test_help_lists_the_new_commands_only(run: Any) -> None:
    listed = re.findall(r"^\W+([a-z-]+)  ", run("--help")[1], re.MULTILINE)
    assert set(COMMANDS) <= set(listed)
    assert not set(former_names.COMMANDS) & set(listed)


@pytest.mark.parametrize(
    ("old", "words"),
    [
        ("bring-in", ("none.csv", "none.xlsx", "--map", "none.toml")),
        ("outlook", ("none.xlsx",)),
        ("refit", ("none.xlsx", "--out", "new.xlsx")),
        ("refit", ("none.xlsx",)),
        ("refit", ("--help",)),
    ],
)
def test_a_former_command_says_the_new_one_and_does_the_work(run: Any, old: str, words: tuple[str, ...]) -> None:
    new = former_names.COMMANDS[old]
    code, out, err = run(old, *words)
    first, _, rest = err.partition("\n")
    assert first == f"'{old}' is now '{new}'; the old name stops working with the next version"
    # Only the line about how to call it has the name that was typed.
    shown = (out.replace(f"sheetfns {old} ", f"sheetfns {new} "), rest.replace(f"sheetfns {old} ", f"sheetfns {new} "))
    wanted = run(new, *words)
    assert code == wanted[0] == (0 if words == ("--help",) else 2)
    assert [" ".join(text.split()) for text in shown] == [" ".join(text.split()) for text in wanted[1:]]
