"""The page examples/functions.md: current, whole, and each formula in it gives what it shows.

The page is read as a person reads it, by what is written there: nothing here asks the module that
made it what an example means.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import xlsxwriter
from xlsxwriter.utility import xl_cell_to_rowcol

from sheetfns import REGISTRY
from sheetfns.cell_types import COST, Cost, Rows, date_number
from sheetfns.errors import CellError
from sheetfns.hosts import engine
from sheetfns.pages.reference import reference
from sheetfns.pages.worked_examples import examples, typed
from sheetfns.registry import DeclarationError, FunctionSpec, _spec
from tests import EXAMPLES, libreoffice

PAGE = EXAMPLES / "functions.md"
TEXT = PAGE.read_text(encoding="utf-8")
SECTIONS = dict(re.findall(r"^### (\w+)\n(.*?)(?=^##|\Z)", TEXT, flags=re.MULTILINE | re.DOTALL))
RESULT_COLUMN = 9
"""No example types anything so far to the right."""
ROOM = 10
"""No result has more rows or columns."""


@dataclass
class Formula:
    """A formula of the page and the cells that it is said to fill, row by row."""

    formula: str
    rows: list[list[str]]


@dataclass
class Shown:
    """One example of the page."""

    function: str
    number: int
    typed: list[tuple[str, list[str]]] = field(default_factory=list)
    calls: list[Formula] = field(default_factory=list)
    ordinary: list[Formula] = field(default_factory=list)

    def __str__(self) -> str:
        return f"{self.function}, example {self.number}"


_CELL = r"(?:`[^`]*`|\(blank\))"
_TYPED = re.compile(rf"into ([A-Z]\d+(?::[A-Z]\d+)?) ({_CELL}(?: each|(?:, {_CELL})*))")
_FORMULA = re.compile(r"^\* (as a plain formula: )?`(=[^`]*)` → (.*)$", flags=re.MULTILINE)


def read_page() -> list[Shown]:
    found = []
    for name, section in SECTIONS.items():
        shown = section.partition("In Python:")[0]
        parts = re.split(r"^\*\*Example (\d+)\.\*\*", shown, flags=re.MULTILINE)
        for number, part in zip(parts[1::2], parts[2::2], strict=True):
            example = Shown(name, int(number))
            first_line = part.partition("\n")[0]
            for area, cells in _TYPED.findall(first_line):
                texts = re.findall(_CELL, cells)
                each = cells.endswith(" each")
                example.typed.append((area, texts * len(list(places(area))) if each else texts))
            if first_line:
                said = [f"into {area} " for area, _ in example.typed]
                assert first_line.startswith(" Enter into "), example
                assert first_line.count("into ") == len(said), f"{example}: {first_line}"
            for ordinary, formula, result in _FORMULA.findall(part):
                rows = result_rows(result, part)
                (example.ordinary if ordinary else example.calls).append(Formula(formula, rows))
            found.append(example)
    return found


def result_rows(result: str, part: str) -> list[list[str]]:
    several = re.fullmatch(r"(\d+) cells, one below the other: (.*)", result)
    if several:
        rows = [[cell] for cell in several[2].split("; ")]
        assert len(rows) == int(several[1])
        return rows
    block = re.fullmatch(r"(\d+) rows? of (\d+) cells:", result)
    if block:
        lines = [line for line in part.splitlines() if line.startswith("|")][2:]
        rows = [line.removeprefix("| ").removesuffix(" |").split(" | ") for line in lines]
        assert (len(rows), len(rows[0])) == (int(block[1]), int(block[2]))
        return rows
    return [[result]]


def places(area: str) -> list[tuple[int, int]]:
    """The cells of an area, from left to right or from top to bottom."""
    first, _, last = area.partition(":")
    top, left = xl_cell_to_rowcol(first)
    bottom, right = xl_cell_to_rowcol(last or first)
    return [(row, column) for row in range(top, bottom + 1) for column in range(left, right + 1)]


def as_typed(text: str) -> Any:
    """What a cell holds after a person typed this into it."""
    if text == "(blank)":
        return None
    text = text.strip("`")
    if re.fullmatch(r"\d{4}-\d\d-\d\d", text):
        return date_number(dt.date.fromisoformat(text))
    if re.fullmatch(r"-?[\d.]+%", text):
        return float(text[:-1]) / 100
    if re.fullmatch(r"-?[\d.]+", text):
        return float(text)
    return text.removeprefix("'")


def agrees(shown: str, found: Any) -> bool:
    """Whether a cell shows this; a figure is rounded as the page rounds it."""
    if shown == "(blank)":
        return found is None or found == ""
    if shown.startswith("`"):
        return bool(found == "\n".join(re.findall(r"`([^`]*)`", shown)))
    if isinstance(found, (str, bool, CellError)) or found is None:
        return False
    if re.fullmatch(r"\d{4}-\d\d-\d\d", shown):
        return bool(found == date_number(dt.date.fromisoformat(shown)))
    number = re.fullmatch(r"(-?[\d,]+(?:\.(\d+))?)(%)?", shown)
    assert number is not None, f"what is {shown}?"
    wanted = float(number[1].replace(",", ""))
    last_digit = 10.0 ** -len(number[2] or "")
    return math.isclose(wanted, found * 100 if number[3] else found, abs_tol=0.501 * last_digit)


EXAMPLES = read_page()
WITH_FORMULA = {spec.name for spec in REGISTRY.values() if spec.formula}


def write_examples(path: Path, kind: str) -> Path:
    """A sheet for each example: what is typed where the page says, its formulas far to the right."""
    with xlsxwriter.Workbook(path) as book:
        for place, example in enumerate(EXAMPLES):
            sheet = book.add_worksheet(f"S{place}")
            for area, texts in example.typed:
                for (row, column), text in zip(places(area), texts, strict=True):
                    assert column < RESULT_COLUMN - 1
                    cell = as_typed(text)
                    if isinstance(cell, str):
                        sheet.write_string(row, column, cell)
                    elif cell is not None:
                        sheet.write_number(row, column, cell)
            # The engine's rows end with the last cell of the file; results may run on.
            sheet.write_string(ROOM, RESULT_COLUMN + ROOM, "end")
            for row, one in enumerate(getattr(example, kind)):
                # -99 is what stays if a formula is never calculated.
                sheet.write_formula(row, RESULT_COLUMN, one.formula, value=-99)
    return path


def wrong_results(kind: str, value_at: Any) -> list[str]:
    wrong = []
    for place, example in enumerate(EXAMPLES):
        for row, one in enumerate(getattr(example, kind)):
            for down, cells in enumerate(one.rows):
                for right, shown in enumerate(cells):
                    found = value_at(f"S{place}", row + down + 1, RESULT_COLUMN + right + 1)
                    if not agrees(shown, found):
                        wrong.append(f"{example}: {one.formula} shows {shown}, not {found}")
    return wrong


def test_the_page_is_current() -> None:
    words = "run: .venv/bin/python -m sheetfns functions --reference --write"
    assert reference() == TEXT, words


def test_the_command_prints_the_page(run: Any) -> None:
    code, out, err = run("functions", "--reference")
    assert (code, out, err) == (0, TEXT, "")


def test_every_function_is_there_under_its_category() -> None:
    order = [
        (spec.category, spec.name) for spec in sorted(REGISTRY.values(), key=lambda spec: (spec.category, spec.name))
    ]
    found, category = [], ""
    for level, heading in re.findall(r"^(##+) (.*)$", TEXT, flags=re.MULTILINE):
        if level == "###":
            found.append((category, heading))
        category = heading if level == "##" else category
    assert found == order
    assert list(SECTIONS) == [name for _, name in order]


@pytest.mark.parametrize("spec", REGISTRY.values(), ids=lambda spec: spec.name)
def test_a_section_says_all_of_its_function(spec: FunctionSpec) -> None:
    section = SECTIONS[spec.name]
    assert f"`={spec.usage()}`" in section
    rows = re.findall(r"^\| `(\w+)` \| (.*?) \| (.*?) \| (.*?) \| (.*?) \|$", section, re.MULTILINE)
    assert [row[0] for row in rows] == [argument.name for argument in spec.arguments]
    for row, argument in zip(rows, spec.arguments, strict=True):
        assert row[2] == argument.kind.unit
        assert (row[4] == "required") == argument.required
    heads = ("Result", "Cells and ranges", "How it is calculated", "Errors", "Source")
    assert all(f"**{head}:**" in section for head in heads)
    for code in re.findall(r"#[A-Z0/]+[!A]:", spec.sections["Errors"]):
        assert f"* `{code[:-1]}`: " in section
    assert spec.sections["Examples"].strip() in section
    shown = [example for example in EXAMPLES if example.function == spec.name]
    assert shown
    assert [example.number for example in shown] == list(range(1, len(shown) + 1))
    assert all(example.calls for example in shown)
    # The call in Python and the cell's are counted alike, wherever they stand in a line.
    assert len(shown) == len(re.findall(rf"\b{spec.python_name}\(", spec.sections["Examples"]))


def test_nothing_of_the_code_shows_through() -> None:
    words = re.sub(r"```.*?```|`[^`]*`", "", TEXT, flags=re.DOTALL)
    for mark in ("(M)", "nan", "inf", "None", "True", "False", "MISSING", "broadcast"):
        assert not re.search(rf"(?<!\w){re.escape(mark)}(?!\w)", words), mark


def test_calls_in_an_engine_that_is_not_ours(tmp_path: Path) -> None:
    result = engine.recalculate(write_examples(tmp_path / "calls.xlsx", "calls"))
    wrong = wrong_results("calls", result.value)
    assert not wrong, "\n".join(wrong)
    assert {example.function for example in EXAMPLES} == set(REGISTRY)


@pytest.mark.libreoffice
def test_ordinary_formulas_in_libreoffice(tmp_path: Path) -> None:
    path = write_examples(tmp_path / "ordinary.xlsx", "ordinary")
    made = libreoffice.recalculate(path, tmp_path / "out")
    book = openpyxl.load_workbook(made, data_only=True)
    wrong = wrong_results("ordinary", lambda sheet, row, column: book[sheet].cell(row, column).value)
    assert not wrong, "\n".join(wrong)
    assert {example.function for example in EXAMPLES if example.ordinary} == WITH_FORMULA


def test_ordinary_formulas_headless(tmp_path: Path) -> None:
    """Nothing of ours runs here: there is no named function in them."""
    path = write_examples(tmp_path / "ordinary.xlsx", "ordinary")
    names = re.compile(rf"\b({'|'.join(REGISTRY)})\(")
    formulas = [one.formula for example in EXAMPLES for one in example.ordinary]
    assert len(formulas) >= len(WITH_FORMULA)
    assert not any(names.search(formula) for formula in formulas)
    wrong = wrong_results("ordinary", engine.recalculate(path).value)
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize(
    ("shown", "right", "wrong"),
    [
        ("12.50", 12.5, 12.51),
        ("1,500.00", 1500, 1501),
        ("-30.00", -30.0, 30.0),
        ("25.5%", 0.2553, 0.2561),
        ("3", 3.0, 2.0),
        ("`a` and on a new line `b`", "a\nb", "a b"),
        ("(blank)", "", 0.0),
        ("2026-04-15", 46127, 46128),
        ("0.00", 0.0, CellError("#NUM!", "below 0")),
    ],
)
def test_results_are_compared_as_they_are_shown(shown: str, right: Any, wrong: Any) -> None:
    assert agrees(shown, right)
    assert not agrees(shown, wrong)


def tables() -> list[list[str]]:
    """Each run of lines that begin with a stroke, outside of code."""
    found: list[list[str]] = []
    before = ""
    for line in re.sub(r"```.*?```", "", TEXT, flags=re.DOTALL).splitlines():
        if line.startswith("|"):
            if not before.startswith("|"):
                assert before == "", f"no blank line over the table {line}"
                found.append([])
            found[-1].append(line)
        else:
            assert not before.startswith("|") or line == "", f"no blank line under {before}"
        before = line
    return found


def test_every_row_of_a_table_is_well_formed() -> None:
    assert len(tables()) > len(REGISTRY)
    for table in tables():
        widths = Counter(len(re.findall(r"(?<!\\)\|", line)) for line in table)
        assert len(widths) == 1, table
        assert re.fullmatch(r"\|(---\|)+|\| (--- \| )*--- \|", table[1]), table
        for line in table:
            cells = line.removeprefix("|").removesuffix("|").split("|")
            assert line.endswith("|") and all(cell.strip() for cell in cells), line


def test_no_link_is_broken() -> None:
    headings = re.findall(r"^#+ (.*)$", re.sub(r"```.*?```", "", TEXT, flags=re.DOTALL), re.MULTILINE)
    anchors = [re.sub(r"[^\w-]", "", heading.lower().replace(" ", "-")) for heading in headings]
    assert len(set(anchors)) == len(anchors), "a heading is duplicated"
    links = re.findall(r"\[([^\]]*)\]\(([^)]*)\)", TEXT)
    assert len(links) > len(REGISTRY)
    for words, target in links:
        if target.startswith("#"):
            assert target[1:] in anchors, f"{words}: {target}"
            assert words.lower() == target[1:]
        else:
            assert (PAGE.parent / target).exists(), f"{words}: {target}"
    in_contents = TEXT.partition("## Contents")[2].partition("\n## ")[0]
    assert set(re.findall(r"\(#(\w+)\)", in_contents)) >= {name.lower() for name in REGISTRY}


DOC = """A figure for the tests.

Args:
    paid: what was paid, in money.
Returns: money
Shape: cell by cell
Errors: none
Formula: paid
Source: definition
Examples:
    >>> {example}
    8
"""


def declared(example: str) -> FunctionSpec:
    def body(paid: Cost) -> Cost:
        return paid

    body.__doc__, body.__name__ = DOC.replace("{example}", example), "test_figure"
    return _spec(body, "Tests", "={paid}")


def test_an_example_becomes_a_formula_with_its_result() -> None:
    (example,) = examples(declared("test_figure([8, 1234.5])"))
    assert example.typed == [("A2:A3", ["`8`", "`1234.5`"])]
    assert [call.formula for call in example.calls] == ["=TEST_FIGURE(A2)", "=TEST_FIGURE(A3)"]
    assert [call.rows for call in example.calls] == [[["8.00"]], [["1,234.50"]]]
    assert example.ordinary is not None
    assert (example.ordinary.formula, example.ordinary.rows) == ("=A2", [["8.00"]])


@pytest.mark.parametrize("call", ["test_figure(max(8, 9))", "test_figure(unknown)"])
def test_an_example_that_has_no_place_in_a_cell(call: str) -> None:
    with pytest.raises(DeclarationError, match=r"TEST_FIGURE: .* in an example has no cell formula"):
        examples(declared(call))


def test_a_result_of_several_cells_needs_headers() -> None:
    def body(paid: Cost) -> Rows:
        return [[paid, paid]]

    body.__doc__, body.__name__ = DOC.replace("{example}", "test_figure(8)"), "test_figure"
    with pytest.raises(DeclarationError, match="TEST_FIGURE: its result needs headers"):
        examples(_spec(body, "Tests", None))


def test_what_is_typed_for_a_figure_that_looks_like_a_number() -> None:
    text = REGISTRY["YEAR_TOTALS"].arguments[3].kind
    assert typed(text, "8") == "'8"
    assert typed(text, "16b") == "16b"
    assert typed(COST, 0.1 + 0.2) == "0.3"
