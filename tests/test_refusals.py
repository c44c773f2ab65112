"""Conditions as cells have them, asked of figures, columns and ranges; and what a refusal says."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest

import sheetfns
from sheetfns import REGISTRY, CellError, calling, registry
from sheetfns.cell_types import Cost, Money, Text
from sheetfns.errors import DeclarationError, collecting_refusals
from sheetfns.log.lambdas.bodies import has_lambda
from sheetfns.log.lambdas.names import lambda_formula
from sheetfns.refusals import Refusal, translated, unlike_sizes
from sheetfns.registry import FunctionSpec, worksheet
from tests.case_files import load_cases

INF, NAN = np.inf, np.nan


@pytest.mark.parametrize(
    ("condition", "values", "expected"),
    [
        ("{a}>{b}", {"a": 2.0, "b": 1.0}, True),
        ("{a}>{b}", {"a": 1.0, "b": 1.0}, False),
        ("{a}>={b}", {"a": 1.0, "b": 1.0}, True),
        ("{a}<>{b}", {"a": 1.0, "b": 1.0}, False),
        ("{a}=1E+13", {"a": 1e13}, True),
        ("{a}<-0.5", {"a": -0.6}, True),
        ("{a}*(1+{b})>=1", {"a": 0.8, "b": 0.25}, True),
        ("{a}*1+{b}>=1", {"a": 0.7, "b": 0.25}, False),
        ("{a}-{b}-{b}=0", {"a": 4.0, "b": 2.0}, True),
        ("2*{a}^2=18", {"a": 3.0}, True),
        ("AND({a}>0,{b}>0,{a}>{b})", {"a": 2.0, "b": 1.0}, True),
        ("AND({a}>0,{b}>0)", {"a": 2.0, "b": 0.0}, False),
        ("OR({a}>0,{b}>0)", {"a": 2.0, "b": 0.0}, True),
        ("OR({a}>0,{b}>0)", {"a": 0.0, "b": 0.0}, False),
        ("INT({a})<INT({b})", {"a": 2.9, "b": 2.1}, False),
        ("ROUND({a},2)=0", {"a": 0.004}, True),
        ("ROUND({a},2)=0", {"a": 0.005}, False),
        ("ABS({a})>1", {"a": -2.0}, True),
        # A default that is no figure stands for blank, and is over, under and equal to nothing.
        ('{a}=""', {"a": INF}, True),
        ('{a}=""', {"a": NAN}, True),
        ('{a}=""', {"a": 0.0}, False),
        ('{a}<>""', {"a": NAN}, False),
        ("{a}<=0", {"a": NAN}, False),
        ('TRIM({a})="up"', {"a": np.array(" Up ", object)}, True),
        ('TRIM({a})<>"up"', {"a": np.array("down", object)}, True),
        ('{a}=""', {"a": np.array(None, object)}, True),
        ('{a}="say ""no"""', {"a": np.array('say "no"', object)}, True),
        # Whole ranges.
        ("SUM({a})=3", {"a": np.array([1, NAN, 2])}, True),
        ("COUNT({a})=2", {"a": np.array([1, NAN, 2])}, True),
        ("MAX({a})=2", {"a": np.array([1, NAN, 2])}, True),
        ("MAX({a})=2", {"a": np.array([])}, False),
        ("SUMPRODUCT({a},{b})=7", {"a": np.array([1, NAN, 2]), "b": np.array([3, 5, 2])}, True),
        ('SUMPRODUCT((({a}<>"")-({b}<>""))^2)>0', {"a": np.array([1, NAN]), "b": np.array([1, NAN])}, False),
        ('SUMPRODUCT((({a}<>"")-({b}<>""))^2)>0', {"a": np.array([1, NAN]), "b": np.array([NAN, 1])}, True),
        ("ROWS({a})*COLUMNS({a})=3", {"a": np.zeros(3)}, True),
        ("ROWS({a})*COLUMNS({a})=6", {"a": np.zeros((2, 3))}, True),
    ],
)
def test_a_condition(condition: str, values: dict[str, Any], expected: bool) -> None:
    found = translated(condition)(values)
    assert np.ndim(found) == 0
    assert bool(found) is expected


def test_a_condition_on_columns() -> None:
    column = np.array([0.0, 5.0, NAN])
    found = translated('AND({limit}<>"",{rate}="")')({"limit": column, "rate": np.array([NAN])})
    assert found.tolist() == [True, True, False]
    texts = np.array(["up", None, "UP "], object)
    assert translated('TRIM({side})="up"')({"side": texts}).tolist() == [True, False, True]


@pytest.mark.parametrize(
    "condition",
    [
        "{a}>",
        "{a}>{b}>{c}",
        "{a}{b}",
        "{a} > 1",
        "{a}in{b}",
        "{a}/2>1",
        '{a}>"x"',
        "-{a}>1",
        "INDEX({a},1)>1",
        "{a}&{b}",
        "a.b>1",
        "[1]",
        "",
    ],
)
def test_what_is_not_in_the_language(condition: str) -> None:
    with pytest.raises(DeclarationError):
        translated(condition)


def refused_rows(refusal: Refusal, values: dict[str, Any]) -> list[tuple[list[bool], str]]:
    with collecting_refusals() as found:
        refusal.refuse(values)
    return [(rows.tolist(), f"{code} {message}") for rows, code, message in found]


def test_a_figure_is_refused_at_once() -> None:
    refusal = Refusal("{weeks}>520", "#NUM!", "weeks: {weeks} is over 520, {weeks*7:.0f} days; write less")
    refusal.refuse({"weeks": 520.0})
    with pytest.raises(CellError, match=r"^#NUM! weeks: 520.5 is over 520, 3644 days; write less$"):
        refusal.refuse({"weeks": 520.5})
    with pytest.raises(CellError, match=r"weeks: 521 is over 520, 3647 days"):
        refusal.refuse({"weeks": np.array(521.0)})


def test_each_row_is_told_of_its_own_cell() -> None:
    refusal = Refusal("{weeks}>{maximum}", "#NUM!", "weeks: {weeks} is over {maximum}")
    assert refused_rows(refusal, {"weeks": np.array([1.0, 2.0]), "maximum": 2.0}) == []
    assert refused_rows(refusal, {"weeks": np.array([3.0, 1.0, 4.0, 3.0]), "maximum": 2.0}) == [
        ([True, False, False, True], "#NUM! weeks: 3 is over 2"),
        ([False, False, True, False], "#NUM! weeks: 4 is over 2"),
    ]


def test_a_verdict_in_python() -> None:
    refusal = Refusal("OR(INDEX({a},1)>1)", "#NUM!", "a: is wrong", python=lambda a: a[0] > 1)
    refusal.check(["a", "b"])
    refusal.refuse({"a": np.array([1.0]), "b": 2.0})
    with pytest.raises(CellError, match="a: is wrong"):
        refusal.refuse({"a": np.array([2.0]), "b": 2.0})


@pytest.mark.parametrize(
    "refusal",
    [
        Refusal("{a}>{c}", "#NUM!"),
        Refusal("{a}>c", "#NUM!", "a: is over c"),
        Refusal("{a}>1", "#NUM!", "a: is over {c}"),
        Refusal("{a}>1", "#NUM!", "a: is wrong", python=lambda c: c),
    ],
)
def test_arguments_that_the_function_lacks(refusal: Refusal) -> None:
    with pytest.raises(DeclarationError, match="no argument c"):
        refusal.check(["a", "b"])


def test_unlike_sizes() -> None:
    refusal = unlike_sizes("miles", "dates")
    refusal.check(["dates", "miles"])
    refusal.refuse({"dates": np.zeros(2), "miles": np.zeros(2)})
    refusal.refuse({"dates": np.zeros(0), "miles": np.zeros(2)})
    with pytest.raises(CellError, match=r"#VALUE! miles has 3 cells, dates has 2; give ranges of the same size"):
        refusal.refuse({"dates": np.zeros(2), "miles": np.zeros(3)})


def made_up() -> FunctionSpec:
    def test_share(part: Cost, whole: Cost, word: Text = "none") -> Money:
        """A share.

        Args:
            part: a part.
            whole: the whole.
            word: a word.
        Returns: a fraction
        Shape: cell by cell
        Errors: some
        Formula: part / whole
        Source: definition
        Examples: none
        """
        return part / whole

    refuse = [
        Refusal("{part}>{whole}", "#NUM!", "part: {part} is over {whole}"),
        Refusal("{whole}=0", "#DIV/0!", "whole: is 0", guard=False),
        Refusal('{word}="odd"', "#VALUE!"),
    ]
    declared: Any = worksheet("Tests", formula="={part}/{whole}", refuse=refuse, formula_error="#N/A")(test_share)
    return declared.spec


def test_one_declaration_serves_body_and_lambda(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(registry, "REGISTRY", registry.Registry())
    spec = made_up()
    guards = 'IF(_xlpm.part>_xlpm.whole,#NUM!,IF(_xlpm.theWord="odd",#VALUE!,IFERROR(_xlpm.part/_xlpm.whole,#N/A)))'
    assert guards in lambda_formula(spec)
    # The first that is true is told; of what has no message the body is not asked.
    assert calling.evaluate(spec, [[1, 3, 0], [2, 2, 0]]).cells() == [
        [0.5],
        [CellError("#NUM!", "part: 3 is over 2")],
        [CellError("#DIV/0!", "whole: is 0")],
    ]
    assert calling.evaluate(spec, [1, 2, "odd"]).cells() == [[0.5]]
    with pytest.raises(CellError, match="part: 3 is over 2"):
        calling.call(spec, [3, 2], {})


# Of a blank range beside one figure the blank rule speaks; a column of figures comes to the body.
OF_COLUMNS = "COUNT({rates})=0"
SAID = [(spec, one) for spec in REGISTRY.values() for one in spec.refusals if one.message and one.where != OF_COLUMNS]


def test_blank_bands_of_a_column() -> None:
    for name in ("BAND_FEE", "BAND_BREAK_EVEN"):
        assert OF_COLUMNS in {one.where for one in REGISTRY[name].refusals}
        found = calling.evaluate(REGISTRY[name], [[5, 6], [1000], [None, None]]).cells()
        assert found == [[CellError("#N/A", "rates is blank; give one rate for each band")]]


@pytest.mark.parametrize(("spec", "refusal"), SAID, ids=lambda one: getattr(one, "name", getattr(one, "where", "")))
def test_each_refusal_has_a_case(spec: FunctionSpec, refusal: Refusal) -> None:
    """So that Python, headless, LibreOffice and LAMBDA are all asked for it."""
    pattern = ".*".join(map(re.escape, re.split(r"\{[^}]*\}", refusal.message)))
    messages = []
    for case in load_cases([spec.name]):
        try:
            getattr(sheetfns, spec.python_name)(**case.arguments)
        except CellError as error:
            messages.append(error.message)
    assert any(re.fullmatch(pattern, message) for message in messages), messages


def test_formulas_alone_ask_only_where_there_is_a_formula() -> None:
    for spec in REGISTRY.values():
        for refusal in spec.refusals:
            assert refusal.message or (refusal.guard and has_lambda(spec)), f"{spec.name}: {refusal.where}"
