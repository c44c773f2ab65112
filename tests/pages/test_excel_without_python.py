"""The checklist for xlwings Lite: each value that a person must see is what the functions and commands give."""

from __future__ import annotations

import re
from typing import Any

import pytest

from sheetfns import __version__
from sheetfns.errors import CODES
from sheetfns.files.cell_names import column_number
from sheetfns.hosts import excel_lite
from sheetfns.programs.lite import scripts
from sheetfns.programs.lite.install import WHEEL
from tests import EXAMPLES
from tests.hosts.lite_stand_in import LEFT_OUT, Lite, OpenBook, call

PAGE = (EXAMPLES / "excel_without_python.md").read_text(encoding="utf-8")
LITE = Lite()
FUNCTIONS = excel_lite.custom_functions(LITE)
COMMANDS = scripts.marked(LITE)


def table(head: str) -> list[list[str]]:
    """The rows of the table that begins with this head."""
    _, found, text = PAGE.partition(f"{head}\n")
    assert found, head
    lines = text.partition("\n\n")[0].splitlines()[1:]
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines]


def entry(text: str) -> Any:
    """What a person types into a cell, as Excel keeps it."""
    if text == "(leave it blank)":
        return None
    return float(text) if re.fullmatch(r"-?\d+(\.\d+)?", text) else text


def typed() -> dict[tuple[str, int], Any]:
    cells = {}
    for place, entries in table("| cells | entries |"):
        column, first = re.match(r"([A-Z])(\d)", place).groups()
        for row, text in enumerate(entries.split(", "), int(first)):
            cells[column, row] = entry(text)
    return cells


CELLS = typed()
FORMULAS = table("| formula | shows |")
ARGUMENT = re.compile(r'"[^"]*"|[^,]*')


def argument(text: str) -> Any:
    """What Excel sends for an argument of a formula."""
    if text == "":
        return LEFT_OUT
    if text.startswith('"'):
        return text.strip('"')
    if text in ("TRUE", "FALSE"):
        return text == "TRUE"
    if found := re.fullmatch(r"([A-Z])(\d)(?::\1(\d))?", text):
        column, first, last = found.groups()
        rows = [[CELLS[column, row]] for row in range(int(first), int(last or first) + 1)]
        return rows if last else rows[0][0]
    return float(text.removesuffix("%")) / (100 if text.endswith("%") else 1)


def result(formula: str) -> Any:
    if total := re.fullmatch(r"=SUM\((.*),5\)", formula):
        inner = result(f"={total[1]}")
        return inner if inner in CODES else inner + 5
    name, arguments = re.fullmatch(r"=([A-Z_]+)\((.*)\)", formula).groups()
    parts = re.findall(r'"[^"]*"|[^,]+|(?<=,)(?=,)', arguments)
    return call(FUNCTIONS[name], *map(argument, parts))


def shown(value: Any) -> str:
    if isinstance(value, list):
        return ", ".join(shown(cell) for row in value for cell in row)
    return value if isinstance(value, str) else f"{value:.15g}"


@pytest.mark.parametrize(("formula", "expected"), FORMULAS, ids=[row[0] for row in FORMULAS])
def test_each_formula_shows_what_the_page_says(formula: str, expected: str) -> None:
    assert shown(result(formula.strip("`"))) == expected


def test_the_checklist_has_figures_ranges_texts_and_errors() -> None:
    values = [expected for _, expected in FORMULAS]
    assert {"#NUM!", "#VALUE!", "#N/A"} <= set(values)
    assert sum(", " in value for value in values) >= 3
    assert len(values) >= 12


def test_the_words_that_the_page_names_are_said() -> None:
    excel_lite.LAST_ERRORS.clear()
    for formula, _ in FORMULAS:
        result(formula.strip("`"))
    said = [error.message for _, error in excel_lite.LAST_ERRORS]
    assert "fee: -3 is below 0; write 0 or more" in said
    assert "`fee: -3 is below 0; write 0 or more`" in PAGE
    assert call(FUNCTIONS["NET_PROFIT"], 46112.0, 4.0, 3.5, 4.25, 0.75, 8.0) == 46099.5
    assert "2026-03-31 gives 46099.5" in PAGE


def test_each_command_shows_what_the_page_says() -> None:
    rows = table("| command | sheet | cell | shows |")
    names = {name.replace("_", " ").capitalize(): name for name in COMMANDS}
    assert {command for command, *_ in rows} == set(names)
    book = OpenBook(EXAMPLES / "sourcing_log_example.xlsx")
    for name in COMMANDS:
        COMMANDS[name](book)
    for command, sheet, cell, expected in rows:
        letters, number = re.fullmatch(r"([A-Z]+)(\d+)", cell).groups()
        found = book.sheets[sheet].cells[int(number) - 1][column_number(letters)]
        assert shown(found) == expected, (command, cell)


def test_the_page_names_this_package() -> None:
    assert f"https://ADDRESS/{WHEEL}" in PAGE
    assert __version__ in WHEEL
