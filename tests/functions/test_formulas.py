"""Each ordinary formula (`formula`) against its Python function, by two independent evaluators.

The rows are drawn from the kinds of the arguments, so that a new function needs nothing here; only
arguments that hang together (a band's limit and rate, tables of bands) are drawn by name.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
import xlsxwriter
from xlsxwriter.utility import xl_range, xl_range_abs, xl_rowcol_to_cell

from sheetfns import REGISTRY, CellError
from sheetfns.calling import evaluate
from sheetfns.hosts import engine
from sheetfns.registry import FunctionSpec
from tests import libreoffice

with warnings.catch_warnings():
    # The library and what it imports are not free of warnings; ours are errors.
    warnings.simplefilter("ignore")
    import formulas
    import schedula

WITH_FORMULA = [
    spec
    for spec in REGISTRY.values()
    # Tables have rows and columns of their own: tests/functions/test_parcel.py draws them.
    if spec.formula and not any(argument.kind.own_shape for argument in spec.arguments)
]
each_formula = pytest.mark.parametrize("spec", WITH_FORMULA, ids=lambda spec: spec.name)

RATES = [0, 0.025, 0.05, 0.06, 0.065, 0.08, 0.1, 0.1125, 0.115, 0.12, 0.125, 0.15, 0.2]
TAX_RATES = [0, 0.05, 0.06, 0.0725, 0.08, 0.1, 0.2]
Row = dict[str, Any]
Draw = Callable[[np.random.Generator], Any]


def _cents(low: int, high: int) -> Draw:
    return lambda rng: int(rng.integers(low, high)) / 100


def _one_of(values: list[Any]) -> Draw:
    return lambda rng: values[int(rng.integers(len(values)))]


def _cents_list(low: int, high: int, size: int) -> Draw:
    return lambda rng: [int(cents) / 100 for cents in rng.integers(low, high, size)]


BY_KIND: dict[str, Draw] = {
    "Money": _cents(-20_000, 60_000),
    "Cost": _cents(0, 60_000),
    "Rate": _one_of(RATES),
    "Ratio": lambda rng: int(rng.integers(1, 10_000)) / 10_000,
    "Factor": lambda rng: int(rng.integers(1, 1_000)) / 100,
    "Quantity": lambda rng: int(rng.integers(0, 400)),
    "Count": lambda rng: int(rng.integers(0, 400)),
    "Days": lambda rng: int(rng.integers(0, 900)),
    "Duration": _cents(0, 40_000),
    "Date": lambda rng: int(rng.integers(40_000, 60_000)) + int(rng.integers(4)) / 4,
    "Weight": _cents(1, 5_000),
    "Length": _cents(0, 4_000),
}
BY_NAME: dict[str, Draw] = {
    "shipping": _cents(0, 1_500),
    "per_order": _one_of([0, 0.25, 0.30, 0.40, 1]),
    "tax_rate": _one_of(TAX_RATES),
    "band_limit": _one_of([20, 100, 250.5, 1000]),
    "rate_above": _one_of([0, 0.02, 0.0225, 0.05, 0.15]),
    "minimum": _one_of([0, 0.5, 1]),
    "maximum": _one_of([2, 20, 50.25]),
    "ad_rate": _one_of([0, 0.02, 0.035, 0.1]),
    "landed_cost": _cents(0, 20_000),
    "postage": _cents(0, 2_000),
    "packaging": _cents(0, 300),
    "margins": _cents_list(-500, 9_000, 3),
    "mix": _cents_list(0, 100, 3),
    "divisor": _one_of([139, 166, 194, 5_000, 6_000]),
    "gate": _one_of([0, 1_728]),
    "side_rounding": _one_of(["none", "nearest", "up", "Up "]),
    "weight_step": _one_of([0, 0.1, 0.25, 0.7, 1]),
    "confidence": _one_of([0.5, 0.8, 0.9, 0.95, 0.99]),
    "my_delivered_price": _one_of([5, 9.99, 10, 12.5, 33.1]),
    "asking_delivered_prices": lambda rng: [_one_of([None, 4.2, 9.99, 10, 10.01, 12.5, 33.1])(rng) for _ in range(6)],
}
BAND_TABLES = [
    ([1000.0, 5000.0, None], [0.1, 0.05, 0.02, None]),
    ([250.0, 500.0, 750.5], [0.125, 0.1, 0.065, 0.0225]),
    ([10.0, None, None], [0, 0.15, None, None]),
    ([50.0, 100.25, 400.0], [0.02, 0.05, 0.1, 0.15]),
]


def draw_row(spec: FunctionSpec, rng: np.random.Generator) -> Row:
    """One row; a blank stands for about half of the arguments that may be left out."""
    row: Row = {}
    for argument in spec.arguments:
        draw = BY_NAME.get(argument.name) or BY_KIND[argument.kind.name]
        left_out = not argument.required and rng.random() < 0.5
        row[argument.name] = None if left_out else draw(rng)
    if "band_limit" in row and row["band_limit"] is not None and row["rate_above"] is None:
        row["rate_above"] = BY_NAME["rate_above"](rng)
    if spec.name in {"BAND_FEE", "BAND_BREAK_EVEN"}:
        row["limits"], row["rates"] = _one_of(BAND_TABLES)(rng)
    return row


def in_python(spec: FunctionSpec, row: Row) -> float | str | None:
    """The figure or text of the Python function, or None where the row has none."""
    ((cell,),) = evaluate(spec, list(row.values())).cells()
    return None if isinstance(cell, CellError) else cell


def draw_rows(
    spec: FunctionSpec, count: int, seed: int, wanted: Callable[[FunctionSpec, Row], bool]
) -> list[tuple[Row, Any]]:
    """Rows that have a figure or a text, and what it is."""
    rng = np.random.default_rng([seed, *spec.name.encode()])
    rows: list[tuple[Row, Any]] = []
    for _ in range(200 * count):
        row = draw_row(spec, rng)
        if wanted(spec, row):
            figure = in_python(spec, row)
            if figure is not None:
                rows.append((row, figure))
        if len(rows) == count:
            return rows
    raise AssertionError(f"{spec.name}: only {len(rows)} rows of {count} have a figure")


def _decimals(row: Row) -> dict[str, Any]:
    def exact(cell: Any) -> Any:
        if isinstance(cell, list):
            return [exact(one) for one in cell if one is not None]
        return None if cell is None else Decimal(repr(cell))

    return {name: exact(cell) for name, cell in row.items()}


def _exact_selling_fee(row: Row) -> Decimal:
    """The fee before rounding, in decimals."""
    r = _decimals(row)
    income = r["price"] + r["shipping"]
    base = income * (1 + (r["tax_rate"] or 0))
    limit = base if r["band_limit"] is None else min(base, r["band_limit"])
    over = (base - limit) * (r["rate_above"] or 0)
    fixed = r["per_order"] + (r["ad_rate"] or 0) * income
    return Decimal(limit * r["rate"] + over + fixed)


def _exact_band_fee(row: Row) -> Decimal:
    """The fee before rounding, in decimals, band by band."""
    r = _decimals(row)
    fee, lower = r["per_order"] or Decimal(0), Decimal(0)
    for upper, rate in zip([*r["limits"], r["amount"]], r["rates"], strict=True):
        fee += rate * max(min(upper, r["amount"]) - lower, Decimal(0))
        lower = upper
    return Decimal(fee)


ROUNDED: dict[str, Callable[[Row], Decimal]] = {"SELLING_FEE": _exact_selling_fee, "BAND_FEE": _exact_band_fee}
"""The functions that round to the cent, worked out once more in decimals."""


def _exact_fee_of_ceiling(row: Row) -> Decimal:
    return _exact_selling_fee(
        dict.fromkeys(["band_limit", "rate_above", "ad_rate"]) | row | {"price": row["expected_price"]}
    )


HALF_CENTS: dict[str, Callable[[Row], Decimal]] = ROUNDED | dict.fromkeys(
    ["BUY_CEILING", "BUY_REMARK"], _exact_fee_of_ceiling
)
"""What is rounded to the cent on the way to a result, too."""


def cents_over_half(row: Row, exact: Callable[[Row], Decimal]) -> Decimal:
    return (exact(row) * 100) % 1 - Decimal("0.5")


def any_row(spec: FunctionSpec, row: Row) -> bool:
    return True


def half_cents(spec: FunctionSpec, row: Row) -> bool:
    exact = HALF_CENTS.get(spec.name)
    return exact is None or cents_over_half(row, exact) == 0


def no_half_cents(spec: FunctionSpec, row: Row) -> bool:
    """Half cents go wrong in the `formulas` library: its ROUND(1.005,2) is 1.00."""
    exact = HALF_CENTS.get(spec.name)
    return exact is None or abs(cents_over_half(row, exact)) > Decimal("1e-6")


def close(one: float | str, other: Any) -> bool:
    if isinstance(one, str):
        return bool(one == other)
    return isinstance(other, (int, float)) and math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-9)


@pytest.mark.parametrize("name", list(ROUNDED))
def test_fees_are_rounded_as_decimals_are(name: str) -> None:
    spec = REGISTRY[name]
    rows = draw_rows(spec, 2_000, 3, any_row) + draw_rows(spec, 300, 4, half_cents)
    wrong = []
    for row, figure in rows:
        exact = ROUNDED[name](row).quantize(Decimal("0.01"), ROUND_HALF_UP)
        if name == "SELLING_FEE":
            r = _decimals(row)
            exact = max(r["minimum"] or Decimal(0), min(r["maximum"] or Decimal(10**9), exact))
        if not close(float(exact), figure):
            wrong.append(f"{row}: {figure}, not {exact}")
    assert not wrong, "\n".join(wrong[:20])


LIBREOFFICE_ROWS, LIBREOFFICE_TIES = 1_700, 300


@pytest.fixture(scope="module")
def drawn() -> dict[str, list[tuple[Row, Any]]]:
    return {
        spec.name: draw_rows(spec, LIBREOFFICE_ROWS, 1, any_row) + draw_rows(spec, LIBREOFFICE_TIES, 2, half_cents)
        for spec in WITH_FORMULA
    }


def write_formulas(path: Path, drawn: dict[str, list[tuple[Row, Any]]]) -> None:
    """A sheet per function: the formula in column A, a row's cells from column B on."""
    book = xlsxwriter.Workbook(path)
    for name, rows in drawn.items():
        spec = REGISTRY[name]
        sheet = book.add_worksheet(name)
        for place, (row, _) in enumerate(rows):
            column, cells = 1, {}
            for argument, cell in row.items():
                block = cell if isinstance(cell, list) else [cell]
                last = column + len(block) - 1
                single = xl_rowcol_to_cell(place, column)
                ranged = isinstance(cell, list)
                cells[argument] = xl_range_abs(place, column, place, last) if ranged else single
                for figure in block:
                    if figure is not None:
                        sheet.write(place, column, figure)
                    column += 1
            sheet.write_formula(place, 0, f"={spec.filled_formula(cells)}", value=-99)
    book.close()


@pytest.fixture(scope="module")
def in_libreoffice(drawn: dict[str, list[tuple[Row, Any]]], tmp_path_factory: pytest.TempPathFactory) -> Any:
    place = tmp_path_factory.mktemp("formulas")
    write_formulas(place / "formulas.xlsx", drawn)
    made = libreoffice.recalculate(place / "formulas.xlsx", place / "out")
    return openpyxl.load_workbook(made, data_only=True, read_only=True)


@pytest.mark.libreoffice
@each_formula
def test_libreoffice_agrees(spec: FunctionSpec, drawn: dict[str, list[tuple[Row, Any]]], in_libreoffice: Any) -> None:
    sheet = in_libreoffice[spec.name]
    found = [cell for (cell,) in sheet.iter_rows(max_col=1, values_only=True)]
    rows = drawn[spec.name]
    assert len(found) == len(rows) == LIBREOFFICE_ROWS + LIBREOFFICE_TIES
    wrong = [
        f"{row}: LibreOffice {cell}, Python {figure}"
        for (row, figure), cell in zip(rows, found, strict=True)
        if not close(figure, cell)
    ]
    assert not wrong, f"{len(wrong)} rows\n" + "\n".join(wrong[:20])


def test_the_headless_engine_agrees(drawn: dict[str, list[tuple[Row, Any]]], tmp_path: Path) -> None:
    """Ordinary formulas only: nothing of ours runs in the engine here."""
    write_formulas(tmp_path / "formulas.xlsx", drawn)
    found = engine.recalculate(tmp_path / "formulas.xlsx")
    wrong = [
        f"{name} {row}: {found.value(name, place, 1)}, Python {figure}"
        for name, rows in drawn.items()
        for place, (row, figure) in enumerate(rows, 1)
        if not close(figure, found.value(name, place, 1))
    ]
    assert not wrong, f"{len(wrong)} rows\n" + "\n".join(wrong[:20])


def _in_formulas(spec: FunctionSpec, rows: list[tuple[Row, Any]]) -> list[Any]:
    """The formula compiled once by the `formulas` library, then given one row after the other."""
    references = {}
    for place, argument in enumerate(spec.arguments, 1):
        cell = rows[0][0][argument.name]
        last = len(cell) if isinstance(cell, list) else 1
        references[argument.name] = f"A{place}" if last == 1 else xl_range(place - 1, 0, place - 1, last - 1)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        compiled = formulas.Parser().ast(f"={spec.filled_formula(references)}")[1].compile()
        by_reference = {reference: name for name, reference in references.items()}
        found = []
        for row, _ in rows:
            blocks = []
            for reference in compiled.inputs:
                cell = row[by_reference[reference]]
                block = np.array([cell if isinstance(cell, list) else [cell]], object)
                block[block == None] = schedula.EMPTY  # noqa: E711  (element by element)
                blocks.append(block)
            found.append(np.asarray(compiled(*blocks), object).ravel()[0])
    return found


@each_formula
def test_the_formulas_library_agrees(spec: FunctionSpec) -> None:
    rows = draw_rows(spec, 200, 5, no_half_cents)
    wrong = [
        f"{row}: formulas {cell}, Python {figure}"
        for (row, figure), cell in zip(rows, _in_formulas(spec, rows), strict=True)
        if not close(figure, cell)
    ]
    assert not wrong, f"{len(wrong)} rows\n" + "\n".join(wrong[:20])


def test_a_table_that_is_too_long_for_the_ordinary_formula_is_an_error(tmp_path: Path) -> None:
    row = {
        "amount": 700.0,
        "limits": [100.0, 200.0, 300.0, 400.0, 500.0, 600.0],
        "rates": [0.2, 0.1, 0.1, 0.1, 0.1, 0.1, 0.05],
        "per_order": 0.0,
    }
    assert in_python(REGISTRY["BAND_FEE"], row) == 75
    write_formulas(tmp_path / "long.xlsx", {"BAND_FEE": [(row, 75.0)]})
    found = engine.recalculate(tmp_path / "long.xlsx").value("BAND_FEE", 1, 1)
    assert isinstance(found, CellError)
    assert found.code == "#N/A"
