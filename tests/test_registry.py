"""A function is declared once: what a declaration must have, and what it gives."""

from __future__ import annotations

import importlib
import inspect
import math
import pkgutil
import re
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import pytest

import sheetfns
from sheetfns import REGISTRY
from sheetfns.cell_types import COST, MONEY, RATE, Cost, Costs, Money, Rate
from sheetfns.registry import HELP_LIMIT, SECTIONS, DeclarationError, FunctionSpec, Registry, _spec, worksheet

EVERY = list(REGISTRY.values())
every_function = pytest.mark.parametrize("spec", EVERY, ids=lambda spec: spec.name)

DOC = """A figure for the tests.

Args:
    paid: what was paid,
        in money.
    rate: a rate.
Returns: money
Shape: cell by cell
Errors: none
Formula: paid x (1 + rate)
Source: definition
Examples: none
"""


def declared(doc: str = DOC, formula: str | None = None, name: str = "test_figure") -> FunctionSpec:
    def body(paid: Cost, rate: Rate = 0.1) -> Money:
        return paid * (1 + rate)

    body.__doc__, body.__name__ = doc, name
    return _spec(body, "Tests", formula)


def test_a_declaration_holds_all_that_hosts_need() -> None:
    spec = declared(formula="={paid}*(1+{rate})")
    assert spec.name == "TEST_FIGURE"
    assert spec.python_name == "test_figure"
    assert spec.category == "Tests"
    assert spec.help == "A figure for the tests."
    assert spec.returns == MONEY
    assert [argument.name for argument in spec.arguments] == ["paid", "rate"]
    assert [argument.kind for argument in spec.arguments] == [COST, RATE]
    assert [argument.help for argument in spec.arguments] == ["what was paid, in money.", "a rate."]
    assert [argument.default for argument in spec.arguments] == [None, 0.1]
    assert [argument.default_in_words() for argument in spec.arguments] == ["required", "0.1"]
    assert spec.required == (0,)
    assert spec.usage() == "TEST_FIGURE(paid, [rate])"
    assert spec.sections["Formula"] == "paid x (1 + rate)"


@pytest.mark.parametrize("section", [section for section in SECTIONS if section != "Shape"])
def test_a_missing_section(section: str) -> None:
    without = DOC.replace(f"{section}:", "Left out:")
    with pytest.raises(DeclarationError, match=f"TEST_FIGURE: .*{section}|needs a help text"):
        declared(without)


def test_a_shape_that_need_not_be_said() -> None:
    without = DOC.replace("Shape: cell by cell\n", "")
    assert declared(without).sections["Shape"] == "cell by cell; cells, columns, rows and blocks broadcast."
    assert declared().sections["Shape"] == "cell by cell"

    def test_figure(paid: Costs, rate: Rate = 0) -> Money:
        return paid.sum()

    test_figure.__doc__ = without
    with pytest.raises(DeclarationError, match="TEST_FIGURE: the docstring lacks Shape"):
        _spec(test_figure, "Tests", None)


AS_THERE = DOC.replace("    paid: what was paid,\n        in money.\n", "    as in LANDED_COST: paid.\n")


def test_help_as_in_another_function() -> None:
    spec = declared(AS_THERE)
    there = REGISTRY["LANDED_COST"].arguments[0]
    assert [argument.help for argument in spec.arguments] == [there.help, "a rate."]
    assert f"    paid: {there.help}\n    rate: a rate.\nReturns: money\n" in spec.docstring()


def test_help_over_two_lines_as_in_another_function() -> None:
    spec = declared(
        DOC.replace("    rate: a rate.\n", "").replace(
            "    paid: what was paid,\n        in money.\n", "    as in SELLING_FEE:\n        rate.\n    paid: x.\n"
        )
    )
    assert spec.arguments[1].help == "the channel's fee rate, a fraction or percentage of the fee base."


@pytest.mark.parametrize("other", ["NET_MARGIN", "NO_SUCH"])
def test_help_that_is_not_there(other: str) -> None:
    with pytest.raises(DeclarationError, match=f"TEST_FIGURE: as in {other} there is no help for paid"):
        declared(AS_THERE.replace("LANDED_COST", other))


def test_python_shows_the_whole_help() -> None:
    shown = inspect.getdoc(sheetfns.price_for_profit) or ""
    for argument in REGISTRY["PRICE_FOR_PROFIT"].arguments:
        assert f"    {argument.name}: {argument.help}\n" in shown
    assert "Shape: cell by cell; cells" in shown
    assert list(SECTIONS) == re.findall("^([A-Z][a-z]+):", shown, flags=re.MULTILINE)


@pytest.mark.parametrize(
    ("doc", "words"),
    [
        ("", "the docstring lacks Args, Returns"),
        (DOC.replace("A figure for the tests.", ""), "the first lines must have 1 to 250"),
        (DOC.replace("the tests.", "the tests" + "." * 250), "the first lines must have 1 to 250"),
        (DOC.replace("a rate.", "a rate" + "." * 250), "rate needs a help text of 1 to 250"),
        (DOC.replace("    rate: a rate.\n", ""), "rate needs a help text of 1 to 250"),
        (DOC.replace("    rate: a rate.\n", "    rate: a rate.\n    tax: a tax.\n"), "unknown arguments tax"),
    ],
)
def test_help_that_a_host_could_not_show(doc: str, words: str) -> None:
    with pytest.raises(DeclarationError, match=words):
        declared(doc)


def test_help_of_just_the_limit() -> None:
    spec = declared(DOC.replace("A figure for the tests.", "x" * HELP_LIMIT).replace("a rate.", "y" * HELP_LIMIT))
    assert len(spec.help) == len(spec.arguments[1].help) == HELP_LIMIT


def test_a_name_without_an_underscore() -> None:
    with pytest.raises(DeclarationError, match="LOG10: a name without an underscore"):
        declared(name="log10")


def test_an_annotation_that_is_no_kind() -> None:
    def test_figure(paid: float, rate: Rate = 0) -> Money:
        return paid

    test_figure.__doc__ = DOC
    with pytest.raises(DeclarationError, match=r"float.* is not a kind"):
        _spec(test_figure, "Tests", None)


def test_the_same_name_twice() -> None:
    registry = Registry()
    registry.add(declared())
    with pytest.raises(DeclarationError, match="TEST_FIGURE is declared twice"):
        registry.add(declared())
    assert list(registry) == ["TEST_FIGURE"]
    assert len(registry) == 1


def test_a_name_of_the_real_registry_is_taken() -> None:
    taken = REGISTRY["NET_PROFIT"]
    with pytest.raises(DeclarationError, match="NET_PROFIT is declared twice"):
        worksheet("Profit")(taken.body)
    assert REGISTRY["NET_PROFIT"] is taken


def test_an_unknown_function() -> None:
    with pytest.raises(KeyError):
        REGISTRY["NO_SUCH"]
    for name in ("no_such", "NET_PROFIT"):
        with pytest.raises(AttributeError, match=f"no function {name}"):
            getattr(sheetfns, name)


# Formulas for cells.


@pytest.mark.parametrize(
    ("cells", "formula"),
    [
        ({"paid": "A1", "rate": "B1"}, "A1*(1+B1)"),
        ({"paid": "$A$1", "rate": "0.2"}, "$A$1*(1+0.2)"),
        ({"paid": "A1"}, "A1*(1+0.1)"),
        ({"paid": "A1+A2", "rate": "-B1"}, "(A1+A2)*(1+(-B1))"),
        ({"paid": "Settings!$B$4"}, "(Settings!$B$4)*(1+0.1)"),
        ({"paid": "tax_share"}, "tax_share*(1+0.1)"),
        ({"paid": '"x"'}, '"x"*(1+0.1)'),
    ],
)
def test_an_ordinary_formula(cells: dict[str, str], formula: str) -> None:
    assert declared(formula="={paid}*(1+{rate})").filled_formula(cells) == formula


def test_a_default_that_is_none_stands_as_an_empty_text() -> None:
    formula = REGISTRY["SELLING_FEE"].filled_formula({"price": "A1", "shipping": "B1", "rate": "C1", "per_order": "D1"})
    assert 'IF(""="",1E+15,"")' in formula


@pytest.mark.parametrize(
    ("formula", "cells", "words"),
    [
        (None, {"paid": "A1"}, "has no ordinary formula"),
        ("={paid}", {"paid": "A1", "tax": "B1"}, "has no argument tax"),
        ("={paid}", {"rate": "B1"}, "needs paid"),
    ],
)
def test_an_ordinary_formula_that_cannot_be(formula: str | None, cells: dict[str, str], words: str) -> None:
    with pytest.raises(DeclarationError, match=f"TEST_FIGURE {words}"):
        declared(formula=formula).filled_formula(cells)


def test_a_call() -> None:
    assert declared().call_formula({"paid": "A1"}) == "TEST_FIGURE(A1)"
    assert declared().call_formula({"paid": "A1", "rate": "B1*2"}) == "TEST_FIGURE(A1,B1*2)"
    with pytest.raises(DeclarationError, match="an argument before the last one is left out"):
        declared().call_formula({"rate": "B1"})


# What holds for every function.


@every_function
def test_it_can_be_imported_by_its_python_name(spec: FunctionSpec) -> None:
    function = getattr(sheetfns, spec.python_name)
    assert function.spec is spec
    assert function.__doc__ == spec.body.__doc__
    assert spec.python_name in dir(sheetfns)
    assert spec.module.startswith("sheetfns.functions.")


@every_function
def test_names_are_safe_in_spreadsheets(spec: FunctionSpec) -> None:
    assert spec.name.isascii()
    assert spec.name == spec.name.upper()
    assert len(spec.name) <= 31
    assert len({argument.name for argument in spec.arguments}) == len(spec.arguments)


@every_function
def test_what_may_be_left_out_stands_last(spec: FunctionSpec) -> None:
    assert spec.required == tuple(range(len(spec.required)))
    assert spec.required


@every_function
def test_its_source_is_said(spec: FunctionSpec) -> None:
    assert spec.sections["Source"].strip()
    assert ">>>" in spec.sections["Examples"]


@every_function
def test_the_ordinary_formula_uses_arguments_that_exist(spec: FunctionSpec) -> None:
    if spec.formula is None:
        return
    formula = spec.filled_formula({argument.name: f"A{place}" for place, argument in enumerate(spec.arguments, 1)})
    assert "{" not in formula
    assert len(formula) < 8192
    volatile = ("TODAY(", "NOW(", "RAND(", "OFFSET(", "INDIRECT(", "LET(", "LAMBDA(", "FILTER(")
    assert not any(word in formula for word in volatile)


def test_every_module_of_functions_declares_some() -> None:
    package = importlib.import_module("sheetfns.functions")
    modules = {f"sheetfns.functions.{module.name}" for module in pkgutil.iter_modules(package.__path__)}
    assert {spec.module for spec in EVERY} == modules


@every_function
def test_defaults_are_within_their_kinds(spec: FunctionSpec) -> None:
    for argument in spec.arguments:
        default = argument.default
        if not isinstance(default, float) or not math.isfinite(default):
            continue
        assert argument.kind.minimum is None or argument.default >= argument.kind.minimum
        assert argument.kind.maximum is None or argument.default <= argument.kind.maximum


def test_functions_load_numpy_and_nothing_heavier() -> None:
    heavy = ("pandas", "scipy", "formualizer", "xlsxwriter", "lxml", "typer", "rich", "xlwings")
    code = f"import sys, sheetfns.functions; print([name for name in {heavy} if name in sys.modules])"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    assert shown.stdout.strip() == "[]"


def test_ranges_are_marked_by_the_plural() -> None:
    def test_figure(paid: Costs, rate: Rate = 0) -> Money:
        return paid.sum()

    test_figure.__doc__ = DOC
    spec = _spec(test_figure, "Tests", None)
    assert spec.arguments[0].kind.takes_range
    assert not spec.arguments[1].kind.takes_range


def test_the_declared_function_is_called_through_the_registry(monkeypatch: Any) -> None:
    from sheetfns import registry

    monkeypatch.setattr(registry, "REGISTRY", Registry())

    def test_figure(paid: Cost, rate: Rate = 0.1) -> Money:
        return paid * (1 + rate)

    test_figure.__doc__ = DOC
    function: Callable[..., Any] = worksheet("Tests")(test_figure)
    assert function(10) == 11
    assert function([10, 20], 0.5).tolist() == [15, 30]
    assert inspect.signature(function) == inspect.signature(test_figure)
