"""The functions as LAMBDA names: taken out of a written file, and evaluated without LAMBDA.

LibreOffice 7.4 knows neither LAMBDA nor LET: cells take the place of parameters, and each name of
LET stands in a cell of its own. The headless engine knows both, but not what may be left out: there
each LAMBDA is called as it stands, without the parameters that are left out.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import formualizer
import openpyxl
import pytest
import xlsxwriter
import xlsxwriter.worksheet
from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token
from xlsxwriter.utility import xl_range_abs, xl_rowcol_to_cell

from sheetfns import REGISTRY, CellError
from sheetfns.hosts import engine
from sheetfns.log.lambdas.bodies import NO_LAMBDA
from sheetfns.log.lambdas.names import COMMENT_LIMIT, FORMULA_LIMIT, lambda_formula, lambda_specs, parameter_name
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.sheets.registry import log_layout
from sheetfns.registry import FunctionSpec
from tests import libreoffice
from tests.log.filled_logs import small_log
from tests.log.lambdas.lambda_calls import Lambda, taken_apart, with_cells
from tests.log.lambdas.lambda_rows import (
    Arguments,
    Rows,
    block_of,
    found_in,
    left_out,
    rows_of_each,
    same,
    shown,
    width_of,
)

SPECS = lambda_specs()
each = pytest.mark.parametrize("spec", SPECS, ids=lambda spec: spec.name)


@pytest.fixture(scope="module")
def names(tmp_path_factory: pytest.TempPathFactory) -> dict[str, openpyxl.workbook.defined_name.DefinedName]:
    path = small_log(tmp_path_factory.mktemp("names") / "log.xlsx", "lambda")
    return dict(openpyxl.load_workbook(path).defined_names)


# ---- the names -----------------------------------------------------------------------------------


def test_each_function_has_a_name_or_a_reason_for_having_none(names: dict[str, Any]) -> None:
    named = {name for name, one in names.items() if "LAMBDA" in one.value}
    assert named == {spec.name for spec in SPECS}
    assert named >= {spec.name for spec in REGISTRY.values() if spec.formula}
    assert named.isdisjoint(NO_LAMBDA)
    assert named | set(NO_LAMBDA) == set(REGISTRY)
    assert len(named) >= 40
    for reason in NO_LAMBDA.values():
        assert re.fullmatch("[A-Z].{20,200}\\.", reason), reason


def test_no_name_is_one_of_the_log_or_looks_like_a_cell(names: dict[str, Any]) -> None:
    """Parameters and the names of LET, too: some programs take them for the name of the workbook."""
    of_log = {name.casefold() for name in AddressMap(log_layout()).names}
    assert of_log <= {name.casefold() for name in names}
    everything = {name.casefold() for name in (*names, *REGISTRY)}
    assert len(everything) > 1000
    for spec in SPECS:
        assert spec.name.casefold() not in of_log
        assert "_" in spec.name
        parts = taken_apart(names[spec.name].value)
        local = [*parts.parameters, *(name for name, _ in parts.named)]
        assert len({name.casefold() for name in local}) == len(local)
        for name in local:
            assert name.casefold() not in everything, f"{spec.name}: {name}"
            assert re.fullmatch("[a-z]+([A-Z][a-z]+)*", name), name
            assert name not in {"r", "c"}


@each
def test_a_comment_says_what_the_function_answers(spec: FunctionSpec, names: dict[str, Any]) -> None:
    comment = names[spec.name].comment
    assert comment.startswith(spec.help)
    assert len(comment) <= COMMENT_LIMIT
    ranges = [parameter_name(one.name) for one in spec.arguments if one.kind.takes_range]
    assert all(re.search(rf"\b{name}\b", comment) for name in ranges)
    assert "One cell for each argument" in comment


# Functions that were there when the file format was made, and so have no mark in a file.
OLD_FUNCTIONS = set(
    "ABS AND COLUMNS COUNT FIXED IF IFERROR INDEX INT ISERROR ISLOGICAL ISNUMBER ISTEXT MATCH MAX MIN N NA "
    "NORMSINV OR ROUND ROUNDUP ROW ROWS SMALL SQRT SUM SUMPRODUCT TRANSPOSE TRIM".split()
)
TEXT_LIMIT = 255
"""Of a text constant: with a longer one Excel opens a file with an error (ropensci/writexl#91)."""
MARKED = {"_xlfn.LAMBDA", "_xlfn.LET", "_xlfn.ISOMITTED"}


@each
def test_a_formula_is_well_formed(spec: FunctionSpec, names: dict[str, Any]) -> None:
    text = names[spec.name].value
    assert text == lambda_formula(spec)
    assert len(text) <= FORMULA_LIMIT
    parts = taken_apart(text)
    assert parts.parameters == tuple(parameter_name(one.name) for one in spec.arguments)
    assert parts.needed == tuple(parameter_name(a.name) for a in spec.arguments if a.required)
    assert [name for name, _ in parts.named] == [f"the{name[0].upper()}{name[1:]}" for name in parts.optional]
    # What may be left out has its mark in the list of parameters, and nowhere else.
    assert text.count("_xlop.") == len(parts.optional)
    _, _, after_list = text.rpartition("_xlop.")
    assert "_xlop." not in after_list
    known = {f"_xlpm.{name}" for name in (*parts.parameters, *(name for name, _ in parts.named))}
    known |= {f"_xlop.{name}" for name in parts.optional}
    depth = deepest = 0
    for token in Tokenizer(f"={text}").items:
        depth += (token.subtype == Token.OPEN) - (token.subtype == Token.CLOSE)
        deepest = max(deepest, depth)
        if token.type == Token.FUNC and token.subtype == Token.OPEN:
            assert token.value[:-1] in OLD_FUNCTIONS | MARKED, token.value
        elif token.type == Token.OPERAND and token.subtype == Token.RANGE:
            assert token.value in known, token.value
        else:
            assert token.type in {
                *(Token.FUNC, Token.OPERAND, Token.SEP, Token.PAREN, Token.ARRAY, "ARRAYROW"),
                *(Token.OP_IN, Token.OP_PRE, Token.OP_POST),
            }
            if token.type == Token.OPERAND and token.subtype == Token.TEXT:
                assert len(token.value[1:-1].replace('""', '"')) <= TEXT_LIMIT
    assert depth == 0
    assert deepest <= 64


def test_the_old_functions_need_no_mark() -> None:
    """By the list in the library that writes the file."""
    source = inspect.getsource(xlsxwriter.worksheet.Worksheet._prepare_formula)
    listed = {f"_xlfn.{name}" for name in re.findall(r'"_xlfn\.(?:_xlws\.)?([A-Z0-9.]+)\("', source)}
    assert len(listed) > 100
    assert not {f"_xlfn.{name}" for name in OLD_FUNCTIONS} & listed
    assert listed >= MARKED


# ---- the results ---------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def rows() -> Rows:
    return rows_of_each(SPECS)


def test_rows_are_of_every_sort(rows: Rows) -> None:
    for name, of_function in rows.items():
        results = [shown(cell) for _, cell in of_function]
        filled = [one for one in results if not isinstance(one, str) or one[:1] not in {"", "#"}]
        assert len(filled) >= 10, name
        assert "#VALUE!" in results and "" in results, name
        assert "#N/A" in results or len(REGISTRY[name].required) == 1
    every = [shown(cell) for of in rows.values() for _, cell in of]
    assert "#NUM!" in every and "#DIV/0!" in every


CALLS = (0, 8)
"""The columns of the two ways to call; a result may fill some cells to the right."""
FIRST_NAME, FIRST_INPUT = 16, 30


class _Sheet:
    """A sheet of one function: a row's results first, then its inputs far to the right."""

    def __init__(self, book: xlsxwriter.Workbook, spec: FunctionSpec) -> None:
        self.spec = spec
        self.sheet = book.add_worksheet(spec.name)
        self.next = 0

    def write(self, row: Arguments) -> tuple[int, dict[str, str]]:
        """Gives the row's place, and the cells of each argument."""
        place, column, cells = self.next, FIRST_INPUT, {}
        for argument in self.spec.arguments:
            block = block_of(row[argument.name])
            for down, line in enumerate(block):
                for right, cell in enumerate(line):
                    self._cell(place + down, column + right, cell)
            last = (place + len(block) - 1, column + len(block[0]) - 1)
            cells[argument.name] = xl_range_abs(place, column, *last)
            column += len(block[0])
            self.next = max(self.next, last[0] + 1)
        return place, cells

    def _cell(self, row: int, column: int, cell: Any) -> None:
        if isinstance(cell, CellError):
            self.sheet.write_formula(row, column, "=1/0", value=cell.code)
        elif cell == "" and isinstance(cell, str):
            self.sheet.write_formula(row, column, '=""', value="")
        elif isinstance(cell, str):
            self.sheet.write_string(row, column, cell)
        elif cell is not None:
            self.sheet.write(row, column, cell)


def _write_for_libreoffice(path: Path, names: dict[str, Any], rows: Rows) -> dict[str, list[int]]:
    book = xlsxwriter.Workbook(path)
    places: dict[str, list[int]] = {}
    for name, of_function in rows.items():
        spec, parts = REGISTRY[name], taken_apart(names[name].value)
        sheet = _Sheet(book, spec)
        for row, _ in of_function:
            place, cells = sheet.write(row)
            places.setdefault(name, []).append(place)
            for way, out in enumerate((set(), left_out(spec, row))):
                given = {parameter_name(key): None if key in out else cell for key, cell in cells.items()}
                _evaluate_in_cells(sheet.sheet, parts, given, (place, way), width_of(spec))
    book.close()
    return places


def _evaluate_in_cells(
    sheet: Any, parts: Lambda, given: dict[str, str | None], at: tuple[int, int], width: int
) -> None:
    row, way = at
    used = dict(given)
    for offset, (name, formula) in enumerate(parts.named):
        column = FIRST_NAME + way * len(parts.named) + offset
        assert column < FIRST_INPUT
        sheet.write_formula(row, column, f"={with_cells(formula, used)}", value=-99)
        used[name] = xl_rowcol_to_cell(row, column)
    formula, column = f"={with_cells(parts.body, used)}", CALLS[way]
    if width == 1:
        sheet.write_formula(row, column, formula, value=-99)
    else:
        sheet.write_array_formula(row, column, row, column + width - 1, formula, value=-99)


@pytest.fixture(scope="module")
def in_libreoffice(
    names: dict[str, Any], rows: Rows, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, list[list[Any]]]:
    folder = tmp_path_factory.mktemp("lambda")
    places = _write_for_libreoffice(folder / "rows.xlsx", names, rows)
    made = libreoffice.recalculate(folder / "rows.xlsx", folder / "out")
    book = openpyxl.load_workbook(made, data_only=True, read_only=True)
    found = {}
    for name, of_function in places.items():
        lines = list(book[name].iter_rows(max_col=FIRST_NAME, values_only=True))
        found[name] = _of_calls(rows[name], [list(lines[place]) for place in of_function])
    return found


def _of_calls(rows: list[tuple[Arguments, Any]], lines: list[list[Any]]) -> list[list[Any]]:
    """What each way of calling shows."""
    found = []
    for (_, expected), line in zip(rows, lines, strict=True):
        width = len(expected) if isinstance(expected, list) else 1
        found.append([found_in(expected, line[first : first + width]) for first in CALLS])
    return found


def _wrong(rows: Iterable[tuple[Arguments, Any]], found: list[list[Any]]) -> list[str]:
    return [
        f"{row}: {[shown(cell) for cell in cells]}, Python {shown(expected)}"
        for (row, expected), cells in zip(rows, found, strict=True)
        if not all(same(expected, cell) for cell in cells)
    ]


@pytest.mark.libreoffice
@each
def test_libreoffice_agrees(spec: FunctionSpec, rows: Rows, in_libreoffice: dict[str, list[list[Any]]]) -> None:
    # TRUE is a number there.
    kept = [
        place
        for place, (row, _) in enumerate(rows[spec.name])
        if not any(isinstance(cell, bool) for cell in row.values())
    ]
    found = in_libreoffice[spec.name]
    wrong = _wrong([rows[spec.name][i] for i in kept], [found[i] for i in kept])
    assert not wrong, f"{len(wrong)} of {len(kept)} rows\n" + "\n".join(wrong[:20])


NOT_IN_THE_ENGINE = {
    "MARKDOWN_PRICE": "ROW of a range is one number there",
    "POSTAGE_COST": "ROW of a range is one number, TRIM takes one text there",
}


def _without(text: str, out: Iterable[str]) -> str:
    """A LAMBDA that is called without some of its parameters, for an engine without ISOMITTED."""
    for argument in out:
        name = parameter_name(argument)
        text = text.replace(f"_xlfn.ISOMITTED(_xlpm.{name})", "TRUE")
        text = text.replace(f",_xlop.{name},", ",", 1)
        text = re.sub(rf"_xlpm\.{name}\b", "NA()", text)
    # The engine knows no parameter that may be left out: the mark is a part of the name there.
    text = text.replace("_xlop.", "_xlpm.")
    return re.sub(r"_xlfn\.ISOMITTED\([\w.]+\)", "FALSE", text)


def test_the_headless_engine_agrees_when_it_calls_them(names: dict[str, Any], rows: Rows, tmp_path: Path) -> None:
    book = xlsxwriter.Workbook(tmp_path / "calls.xlsx")
    places: dict[str, list[int]] = {}
    for name in set(rows) - set(NOT_IN_THE_ENGINE):
        sheet = _Sheet(book, REGISTRY[name])
        for row, _ in rows[name]:
            place, cells = sheet.write(row)
            places.setdefault(name, []).append(place)
            for way, out in enumerate((set(), left_out(sheet.spec, row))):
                called = _without(names[name].value, out)
                given = ",".join(cell for key, cell in cells.items() if key not in out)
                text = f"=_xlfn.LET(_xlpm.called,{called},_xlpm.called({given}))"
                sheet.sheet.write_formula(place, CALLS[way], text, value=-99)
    book.close()
    engine_book = formualizer.load_workbook(str(tmp_path / "calls.xlsx"))
    engine_book.evaluate_all()
    wrong = []
    for name, of_function in places.items():
        block = formualizer.RangeAddress(name, 1, 1, max(of_function) + 1, FIRST_NAME)
        values = engine_book.sheet(name).get_values(block)
        lines = [[engine._from_engine(cell) for cell in values[place]] for place in of_function]
        found = _of_calls(rows[name], lines)
        wrong += [f"{name} {one}" for one in _wrong(rows[name], found)]
    assert not wrong, f"{len(wrong)} rows\n" + "\n".join(wrong[:20])
