"""The types in sheetfns/__init__.pyi: current, and true of what each call really takes and gives.

One run of mypy, as a user's with --strict, checks all calls at once.
"""

from __future__ import annotations

import functools
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest

import sheetfns
from sheetfns import REGISTRY, CellError
from sheetfns.pages.stub import stub
from sheetfns.registry import FunctionSpec
from tests import ROOT
from tests.case_books import is_blank
from tests.case_files import Case, load_cases

CALLS = """\
import datetime as dt
from decimal import Decimal
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from sheetfns import REGISTRY, CellError, __version__
from sheetfns import (
    band_fee, comp_spread, comp_value, days_held, fill_in, lot_share, net_margin, net_profit,
    postage_cost, resale_caution, title_room
)
prices: list[float] = [20, 24, 31, 22]
rows: list[list[int | None]] = [[1, 2, None, 4]]
texts: NDArray[np.str_] = np.array(["a vase", "a bowl"])
"""
"""What every call below may use, for mypy and at run time."""

RIGHT = {
    "net_profit(25, 4, 3.5, 4.25, 0.75, 8)": "float",
    "net_profit(25, 4, 3.5, 4.25, 0.75, 8, None)": "float",
    "net_profit(25, 4, 3.5, 4.25, 0.75, landed_cost=8, refund=2)": "float",
    "net_profit(Decimal('25'), np.float32(4), np.int64(3), 4.25, 0.75, 8)": "float",
    "net_profit(None, None, None, None, None, None)": "float | None",
    "net_profit([25, None], [4, None], 3.5, 4.25, 0.75, 8)": "ndarray",
    "net_profit((25.0, 30), 4, 3.5, 4.25, 0.75, 8)": "ndarray",
    "net_profit([[25], [30]], 4, 3.5, 4.25, 0.75, 8)": "ndarray",
    "net_profit(range(25, 30), 4, 3.5, 4.25, 0.75, 8)": "ndarray",
    "net_profit(np.array([25, 30]), 4, 3.5, 4.25, 0.75, 8)": "ndarray",
    "net_profit(np.array([25.0]), np.array([4.0]), 3.5, 4.25, 0.75, 8)": "ndarray",
    "net_profit(pd.Series([25.0, 30.0]), 4, 3.5, 4.25, 0.75, pd.Series([8, 9]))": "ndarray",
    "net_profit(pd.DataFrame({'price': [25.0]}), 4, 3.5, 4.25, 0.75, 8)": "ndarray",
    "net_margin(5, 25)": "float",
    "days_held(dt.date(2026, 1, 1), dt.datetime(2026, 2, 1, 12))": "float",
    "days_held(pd.Timestamp('2026-01-01'), np.datetime64('2026-02-01'))": "float",
    "days_held(46000, [dt.date(2026, 2, 1), None])": "ndarray",
    "days_held(np.array(['2026-01-01'], 'datetime64[D]'), 46112)": "ndarray",
    "title_room('a vase', 80)": "float",
    "title_room(7, 80)": "float",
    "title_room(['a vase', 'a bowl'], 80)": "ndarray",
    "title_room(texts, 80)": "ndarray",
    "resale_caution('Toys')": "str | None",
    "resale_caution('')": "str | None",
    "resale_caution('Toys', brief=True)": "str | None",
    "resale_caution(['Toys'], 'yes')": "ndarray",
    "fill_in('a {what}', ['what'], ['vase'])": "str | None",
    "comp_value([20, 24, 31, 22])": "float | None",
    "comp_value([None])": "float | None",
    "comp_value([20, 24], [True, 'no'])": "float | None",
    "comp_value(prices, None, rows)": "float | None",
    "comp_value([20, 24, 31], quantile=[0.25, 0.5])": "ndarray",
    "comp_spread(pd.Series([20, 24, 31, 22]))": "ndarray | None",
    "lot_share(100, [1, 2, None])": "ndarray",
    "lot_share(100, np.array([[1.0, 2.0]]))": "ndarray",
    "lot_share(100, 5)": "float",
    "band_fee(100, [50], [0.1, 0.05])": "float",
    "band_fee([100, 200], [50], [0.1, 0.05])": "ndarray",
    "postage_cost(1, '2', [['', 1, 2], [5, 3.5, 4]])": "float",
    "REGISTRY['NET_PROFIT'].usage()": "str",
    "CellError('#N/A', 'blank').code": "str",
    "__version__": "str",
}
"""Calls with their types; each is run as well, and gives one of the types that stand there."""

WRONG = {
    "from sheetfns import no_such": 'Module "sheetfns" has no attribute "no_such"',
    "import sheetfns; sheetfns.no_such": 'Module has no attribute "no_such"',
    "net_margin('x', 1, 2, 3, 4)": "call-overload",
    "net_margin('x', 1)": "arg-type",
    "net_margin(1, 2, 3, 4)": "call-overload",
    "net_margin(1)": "call-overload",
    "net_margin()": "call-overload",
    "net_margin(1, 2, postage=3)": 'Unexpected keyword argument "postage"',
    "net_margin(1, price=2, net_profit=3)": "call-overload",
    "net_margin(['x'], 2)": "list-item",
    "net_margin(dt.date(2026, 1, 1), 2)": "call-overload",
    "net_margin(texts, 2)": "arg-type",
    "net_margin({1: 2}, 2)": "call-overload",
    "net_margin(1, 2).code": "attr-defined",
    "net_profit(None, 4, 3.5, 4.25, 0.75, 8) + 1": "operator",
    "net_margin([1, 2], 2) + 'x'.code": "attr-defined",
    "comp_value([20, 24]) + 1": "operator",
    "days_held('2026-01-01', 46112)": "arg-type",
    "lot_share([100, 200], [1, 2])": "call-overload",
    "lot_share(100)": "call-overload",
    "band_fee(100, [50, 100], 'x')": "arg-type",
    "postage_cost(1, '2', {1: 2})": "call-overload",
    "postage_cost(1, '2', [1, 2])": "list-item",
}
"""Lines with a word of the first error that mypy finds in each."""


@dataclass(frozen=True)
class Line:
    """A line for mypy."""

    code: str
    found: Any = None
    """What it gives when it is run."""


def called(spec: FunctionSpec, arguments: dict[str, Any]) -> Iterator[Line]:
    """A call by name, unless it is an error: then types may refuse it or not."""
    try:
        found = getattr(sheetfns, spec.python_name)(**arguments)
    except CellError:
        return
    shown = ", ".join(f"{name}={cells!r}" for name, cells in arguments.items())
    yield Line(f"sheetfns.{spec.python_name}({shown})", found)


@functools.cache
def lines_of_cases() -> list[Line]:
    """Every case that is no error, and one of each function with a column in place of a cell."""
    lines = [line for case in load_cases() for line in called(case.spec, case.arguments)]
    for name, spec in REGISTRY.items():
        case = next(case for case in load_cases([name]) if case.sort == "ordinary")
        lines.extend(line for arguments in with_a_column(case) for line in called(spec, arguments))
    return lines


def with_a_column(case: Case) -> Iterator[dict[str, Any]]:
    if case.spec.returns.takes_range or case.spec.returns.own_shape:
        return
    for argument in case.spec.arguments:
        cell = case.arguments[argument.name]
        if not argument.kind.takes_range and not is_blank(cell):
            yield case.arguments | {argument.name: [cell, cell]}


@pytest.fixture(scope="module")
def said(tmp_path_factory: pytest.TempPathFactory) -> dict[int, list[str]]:
    """What mypy says of each line of a file that holds them all."""
    lines = [f"reveal_type({line.code})" for line in lines_of_cases()]
    lines += [f"reveal_type({code})" for code in RIGHT]
    lines += WRONG
    head = f"import sheetfns\n{CALLS}"
    path = tmp_path_factory.mktemp("stub") / "calls.py"
    path.write_text(head + "\n".join(lines) + "\n")
    done = subprocess.run(
        [
            *(sys.executable, "-m", "mypy", "--strict", "--config-file=", "--no-error-summary"),
            # A directory of its own: the test of the package's types may run at the same time.
            *("--cache-dir", ".mypy_cache/of_calls", "--hide-error-context", str(path)),
        ],
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
        cwd=ROOT,
    )
    assert done.stderr == ""
    found: dict[int, list[str]] = {}
    for line in done.stdout.splitlines():
        # The folder may be that of an earlier run: mypy keeps what it said of such a file.
        place = re.match(r"(?:.*[/\\])?calls\.py:(\d+): (.*)", line)
        assert place, f"of another file: {line}"
        found.setdefault(int(place[1]) - head.count("\n") - 1, []).append(place[2])
    return found


def type_of(said: list[str]) -> str:
    """The type that mypy revealed, in short."""
    (one,) = said
    (revealed,) = re.fullmatch(r'note: Revealed type is "(.*)"', one).groups()
    while "[" in revealed:
        revealed = re.sub(r"\[[^\[\]]*\]", "", revealed)
    return revealed.replace("numpy.", "").replace("builtins.", "")


def holds(its_type: str, found: Any) -> bool:
    name = "None" if found is None else type(found).__name__
    return name in its_type.split(" | ")


def test_the_stub_is_current() -> None:
    words = "run: .venv/bin/python -m sheetfns functions --stub --write"
    assert (ROOT / "sheetfns" / "__init__.pyi").read_text(encoding="utf-8") == stub(), words


def test_every_function_and_name_is_in_it() -> None:
    defined = re.findall(r"^def (\w+)\(", stub(), re.MULTILINE)
    assert set(defined) == {spec.python_name for spec in REGISTRY.values()}
    assert {*defined, *sheetfns.__all__} == set(dir(sheetfns))
    assert "__getattr__" not in stub()


def test_no_error_but_where_one_is_wanted(said: dict[int, list[str]]) -> None:
    right = len(lines_of_cases()) + len(RIGHT)
    assert len(lines_of_cases()) > 15 * len(REGISTRY) - 150
    wrong = [
        f"{[*(one.code for one in lines_of_cases()), *RIGHT][place]}: {words}"
        for place, words in said.items()
        if place < right and any(word.startswith("error") for word in words)
    ]
    assert not wrong, "\n".join(wrong)
    assert set(said) == set(range(right + len(WRONG)))


def test_each_case_gives_what_its_type_says(said: dict[int, list[str]]) -> None:
    types = [type_of(said[place]) for place in range(len(lines_of_cases()))]
    wrong = [
        f"{line.code} gives {line.found!r}, not {its_type}"
        for line, its_type in zip(lines_of_cases(), types, strict=True)
        if not holds(its_type, line.found)
    ]
    assert not wrong, "\n".join(wrong)
    assert set(types) == {*("float", "float | None", "str", "str | None", "ndarray", "ndarray | None")}


@pytest.mark.parametrize(("place", "code"), list(enumerate(RIGHT)), ids=list(RIGHT))
def test_right_calls(said: dict[int, list[str]], place: int, code: str) -> None:
    assert type_of(said[len(lines_of_cases()) + place]) == RIGHT[code]
    names: dict[str, Any] = {}
    exec(CALLS, names)
    assert holds(RIGHT[code], eval(code, names))


@pytest.mark.parametrize(("place", "line"), list(enumerate(WRONG)), ids=list(WRONG))
def test_wrong_lines(said: dict[int, list[str]], place: int, line: str) -> None:
    words = said.get(len(lines_of_cases()) + len(RIGHT) + place, [])
    errors = [one for one in words if one.startswith("error: ")]
    assert errors, "mypy says nothing"
    assert WRONG[line] in errors[0]
