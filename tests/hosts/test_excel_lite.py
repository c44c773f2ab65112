"""The functions in xlwings Lite: through a stand-in of its decorators, and through xlwings' own open-source code."""

from __future__ import annotations

import datetime as dt
import importlib.util
import sys
from collections.abc import Iterator
from typing import Any

import pytest

from sheetfns import REGISTRY, CellError
from sheetfns.calling import MISSING
from sheetfns.errors import CODES
from sheetfns.hosts import excel_lite
from sheetfns.registry import FORMER, FunctionSpec
from tests.case_files import Case, agrees, load_cases
from tests.hosts import xlwings_on_linux as host
from tests.hosts.lite_calls import as_rows, calls_of, sent_to_lite
from tests.hosts.lite_stand_in import LEFT_OUT, Lite, call

FUNCTIONS = excel_lite.custom_functions(Lite())
CASES = load_cases()
PROFIT = (25.0, 4.0, 3.5, 4.25, 0.75, 8.0)


@pytest.fixture(autouse=True)
def _no_errors_yet() -> None:
    excel_lite.LAST_ERRORS.clear()


def said() -> list[str]:
    """The words of the errors, the newest last."""
    return [error.message for _, error in excel_lite.LAST_ERRORS]


def test_every_function_of_the_registry_is_there() -> None:
    assert sorted(FUNCTIONS) == sorted([*REGISTRY, *FORMER])


@pytest.mark.parametrize("spec", [*REGISTRY.values(), *FORMER.values()], ids=lambda spec: spec.name)
def test_the_add_in_is_told_what_the_registry_knows(spec: FunctionSpec) -> None:
    told = FUNCTIONS[spec.name].__xlfunc__
    assert (told["name"], told["doc"]) == (spec.name, spec.help)
    assert list(told["args"]) == [argument.name for argument in spec.arguments]
    for known, argument in zip(spec.arguments, told["args"].values(), strict=True):
        assert (argument["doc"], argument["optional"]) == (known.help, not known.required)
        assert argument["options"] == {"ndim": 2, "err_to_str": True}
        assert argument["default"] is None or known.required, "a default is what goes over to the add-in"


# The examples of the docstrings, in both ways into Excel


def sent_by_com(value: Any) -> Any:
    if value is MISSING:
        return host.LEFT_OUT
    rows = as_rows(value)
    if not isinstance(rows, list):
        return _com_cell(rows)
    return host.SheetRange(tuple(tuple(map(_com_cell, row)) for row in rows))


def _com_cell(cell: Any) -> Any:
    return host.date_cell(cell.year, cell.month, cell.day) if isinstance(cell, dt.date) else cell


EXAMPLES = [(spec, args) for spec in REGISTRY.values() for args in calls_of(spec)]


@pytest.fixture(scope="module")
def run() -> Iterator[host.Run]:
    with host.own_process() as run:
        yield run


@pytest.mark.skipif(sys.platform == "win32", reason="the stand-in is for systems without the real modules")
def test_every_example_gives_the_same_as_in_excel_with_python(run: host.Run) -> None:
    assert {spec.name for spec, _ in EXAMPLES} == set(REGISTRY)
    calls = [(spec.name, *map(sent_by_com, args)) for spec, args in EXAMPLES]
    both = zip(EXAMPLES, run(host.call_many, calls), strict=True)
    for (spec, args), in_excel in both:
        excel_lite.LAST_ERRORS.clear()
        in_lite = call(FUNCTIONS[spec.name], *map(sent_to_lite, args))
        flat = in_lite[0] if isinstance(in_lite, list) and len(in_lite) == 1 else in_lite  # xlwings does it for COM
        assert with_words(spec.name, flat) == in_excel, (spec.name, args)


def with_words(name: str, shown: Any) -> Any:
    """A result with the words of its errors, as Excel with Python has them."""
    if isinstance(shown, list):
        return [with_words(name, cell) for cell in shown]
    if shown not in CODES:
        return shown
    words = next(error.message for _, error in excel_lite.LAST_ERRORS if error.code == shown)
    return f"#ERR {name}: {shown} {words}"


@pytest.mark.skipif(sys.platform == "win32", reason="the stand-in is for systems without the real modules")
def test_examples_through_the_open_source_decorators_and_conversion(run: host.Run) -> None:
    calls = [(spec.name, *map(sent_by_com, args)) for spec, args in EXAMPLES]
    found = run(host.call_many, calls, "sheetfns.hosts.excel_lite")
    for (spec, args), result in zip(EXAMPLES, found, strict=True):
        in_lite = call(FUNCTIONS[spec.name], *map(sent_to_lite, args))
        assert result == (in_lite[0] if isinstance(in_lite, list) and len(in_lite) == 1 else in_lite), (spec.name, args)
    described = run(host.described, "sheetfns.hosts.excel_lite")
    assert sorted(described) == sorted(FUNCTIONS)
    for name, told in described.items():
        for argument in told["args"]:
            assert argument["options"] == {"ndim": 2, "err_to_str": True}, name


# All cases, in the shapes in which Excel sends cells


def in_shape(block: Any, shape: str) -> Any:
    if not isinstance(block, list):
        return [[block]] if shape == "ranges" else block
    if isinstance(block[0], list):
        return block
    return [block] if shape == "rows" else [[cell] for cell in block]


@pytest.mark.parametrize("shape", ["cells", "ranges", "rows"])
@pytest.mark.parametrize("case", CASES, ids=str)
def test_cases(case: Case, shape: str) -> None:
    found = call(FUNCTIONS[case.function], *(in_shape(block, shape) for block in case.arguments.values()))
    read = as_errors(found)
    assert agrees(case.expected, read), f"{case.why}: {found}, {said()}"


def as_errors(shown: Any) -> Any:
    if isinstance(shown, list):
        return [as_errors(cell) for cell in shown]
    return CellError(shown, "") if shown in CODES else shown


def test_single_figures_and_ranges() -> None:
    profit = FUNCTIONS["NET_PROFIT"]
    assert call(profit, *PROFIT) == 12.5
    assert call(profit, 25, *PROFIT[1:]) == 12.5  # a whole number of JSON
    assert call(profit, [[25.0], [30.0]], *PROFIT[1:]) == [[12.5], [17.5]]
    assert call(profit, [[25.0, 30.0]], *PROFIT[1:]) == [[12.5, 17.5]]
    assert call(profit, [[25.0]], *PROFIT[1:]) == 12.5
    assert call(FUNCTIONS["LOT_SHARE"], 100.0, [[5.0], [5.0], [5.0]]) == [[33.34], [33.33], [33.33]]


@pytest.mark.parametrize("blank", [None, "", [[None]], [[""]]])
def test_blanks(blank: Any) -> None:
    profit = FUNCTIONS["NET_PROFIT"]
    assert call(profit, *[blank] * 6) == ""
    assert call(profit, *PROFIT, blank) == 12.5
    assert call(profit, blank, *PROFIT[1:]) == "#N/A"
    assert said() == ["price is blank; fill it in, or write 0 if there is none"]


def test_what_is_left_out_is_blank() -> None:
    assert call(FUNCTIONS["NET_PROFIT"], LEFT_OUT, *PROFIT[1:]) == "#N/A"
    assert call(FUNCTIONS["NET_PROFIT"], *PROFIT, LEFT_OUT) == 12.5


@pytest.mark.parametrize("code", CODES)
def test_errors_pass_on_as_errors(code: str) -> None:
    assert call(FUNCTIONS["NET_PROFIT"], 25.0, 4.0, code, *PROFIT[3:]) == code
    assert said() == [f"fee: holds {code}; fix that cell first"]
    column = [[3.5], [code]]
    assert call(FUNCTIONS["NET_PROFIT"], 25.0, 4.0, column, *PROFIT[3:]) == [[12.5], [code]]


def test_newer_errors_are_errors_too() -> None:
    assert call(FUNCTIONS["NET_PROFIT"], 25.0, 4.0, "#SPILL!", *PROFIT[3:]) == "#VALUE!"
    assert said() == ["fee: holds #SPILL!; fix that cell first"]


def test_one_bad_row_spoils_no_other() -> None:
    column = [[25.0], ["4,50"], [None], [-1.0], [True], [30.0]]
    found = call(FUNCTIONS["NET_PROFIT"], column, *PROFIT[1:])
    assert found == [[12.5], ["#VALUE!"], ["#N/A"], ["#NUM!"], ["#VALUE!"], [17.5]]


def test_lists_and_plain_cells_are_read_as_well() -> None:
    """Should an add-in not heed `ndim`."""
    profit = FUNCTIONS["NET_PROFIT"]
    assert profit(*PROFIT) == 12.5
    assert profit([25.0, None, 30.0], *PROFIT[1:]) == [[12.5], ["#N/A"], [17.5]]


def test_a_fault_is_an_error_with_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(excel_lite, "evaluate", lambda *_: 1 / 0)
    assert call(FUNCTIONS["NET_PROFIT"], "x", *PROFIT[1:]) == "#VALUE!"
    assert said() == ["fault in the function: ZeroDivisionError('division by zero')"]


def test_the_words_of_so_many_errors_are_kept_the_newest_last() -> None:
    profit = FUNCTIONS["NET_PROFIT"]
    for fee in range(1, excel_lite.ERRORS_KEPT + 4):
        call(profit, 25.0, 4.0, -float(fee), *PROFIT[3:])
    call(profit, 25.0, 4.0, -10.0, *PROFIT[3:])
    assert len(said()) == excel_lite.ERRORS_KEPT
    assert said()[0].startswith("fee: -4 ")
    assert said()[-1].startswith("fee: -10 ")


@pytest.mark.parametrize("name", ["sheetfns.hosts.excel_lite", "sheetfns.programs.lite.scripts"])
def test_without_xlwings_the_module_has_nothing_to_offer(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "xlwings", None)
    spec = importlib.util.find_spec(name)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert module.__all__ == []
    assert not hasattr(module, "NET_PROFIT")
