"""Workbooks in which the cases of tests/cases stand as formulas over their cells."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import xlsxwriter
from xlsxwriter.utility import xl_range_abs

from tests.case_files import Case


def is_blank(cells: Any) -> bool:
    """Whether an argument's cells are all blank."""
    return cells is None or (isinstance(cells, list) and all(map(is_blank, cells)))


FORMULA_COLUMNS = (0, 8)
"""Results of whole ranges need room; none in the cases has more than seven cells."""
FIRST_INPUT = 16

Formulas = Callable[[Case, dict[str, str]], str]


def write_cases(
    path: Path, cases: list[Case], formulas: Formulas, *, arrays: bool = False, guarded: bool = False
) -> None:
    """A sheet per function, a row per case: its formula, with blanks referred to and left out.

    Args:
        arrays: a result of several cells is an array formula over them.
        guarded: a single blank cell is a formula that gives "", as in a log.
    """
    book = xlsxwriter.Workbook(path)
    names = list(dict.fromkeys(case.function for case in cases))
    sheets = {name: book.add_worksheet(name) for name in names}
    tables = _Inputs(book.add_worksheet("Tables"), guarded=guarded)
    for case, row in rows_of(cases):
        sheet = sheets[case.function]
        inputs = _Inputs(sheet, row - 1, FIRST_INPUT, guarded=guarded)
        references = {
            argument.name: (
                f"Tables!{tables.write(cells, below=True)}"
                if argument.kind.own_shape
                else inputs.write([cells if isinstance(cells, list) else [cells]])
            )
            for argument, cells in zip(case.spec.arguments, case.arguments.values(), strict=True)
        }
        needed = references.copy()
        for argument in reversed(case.spec.arguments):
            if argument.required or not is_blank(case.arguments[argument.name]):
                break
            del needed[argument.name]
        for column, used in zip(FORMULA_COLUMNS, (references, needed), strict=True):
            formula = f"={formulas(case, used)}"
            last = (row - 2 + len(case.rows), column - 1 + len(case.rows[0]))
            # -99 is what stays if a formula is never calculated.
            if arrays and last != (row - 1, column):
                sheet.write_array_formula(row - 1, column, *last, formula, value=-99)
            else:
                sheet.write_formula(row - 1, column, formula, value=-99)
    book.close()


class _Inputs:
    """Writes blocks of cells one after the other and says where they stand."""

    def __init__(
        self, sheet: xlsxwriter.worksheet.Worksheet, row: int = 0, column: int = 0, *, guarded: bool = False
    ) -> None:
        self.sheet, self.row, self.column, self.guarded = sheet, row, column, guarded

    def write(self, block: list[list[Any]], *, below: bool = False) -> str:
        height, width = len(block), len(block[0])
        for row, cells in enumerate(block, self.row):
            for place, cell in enumerate(cells, self.column):
                if isinstance(cell, str):
                    self.sheet.write_string(row, place, cell)
                elif cell is not None:
                    self.sheet.write(row, place, cell)
                elif self.guarded and height == width == 1:
                    self.sheet.write_formula(row, place, '=""', value="")
        last = (self.row + height - 1, self.column + width - 1)
        cells = xl_range_abs(self.row, self.column, *last)
        if below:
            self.row += height
        else:
            self.column += width
        return cells


def rows_of(cases: list[Case]) -> list[tuple[Case, int]]:
    """Each case with the first of its rows; a result of several rows needs as many."""
    used: Counter[str] = Counter()
    numbered = []
    for case in cases:
        numbered.append((case, used[case.function] + 1))
        used[case.function] += len(case.rows)
    return numbered
