"""The Excel functions through xlwings' own code: what Excel is told, what it sends, what it gets."""

from __future__ import annotations

import dataclasses
import datetime as dt
import importlib.util
import math
import pkgutil
import random
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import sheetfns
from sheetfns import REGISTRY, CellError
from sheetfns.calling import MISSING
from sheetfns.cell_types import DATE, DAYS, FLAG, MONEY, TEXT, CellType
from sheetfns.errors import CODES
from sheetfns.hosts.excel import TEXT_LIMIT, error_text, user_function
from sheetfns.registry import FORMER, Argument, FunctionSpec, called
from tests.case_files import Case, agrees, load_cases
from tests.hosts import xlwings_on_linux as host
from tests.hosts.xlwings_on_linux import LEFT_OUT, cells, date_cell, error_value

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="the stand-in is for systems without the real modules")

Run = Callable[..., Any]
SPECS = [*REGISTRY.values(), *FORMER.values()]
PROFIT = (25.0, 4.0, 3.5, 4.25, 0.75, 8.0)
"""NET_PROFIT's needed arguments; 12.5 is left."""

# Words that VBA keeps for itself (its language specification, 3.3.5.2; from memory), and the names
# that xlwings' generated functions use inside.
KEPT_BY_VBA = frozenset(
    """
    abs addressof and any array as attribute boolean byref byte byval call case cbool cbyte ccur
    cdate cdbl cdec cdecl cint circle clng clnglng clngptr close const csng cstr currency cvar cverr
    date debug decimal declare defbool defbyte defcur defdate defdbl defdec defint deflng deflnglng
    deflngptr defobj defsng defstr defvar dim do doevents double each else elseif empty end endif
    enum eqv erase event exit false fix for friend function get global gosub goto if imp implements
    in input inputb int integer is lbound len lenb let like line lineinput lock long longlong
    longptr loop lset me mod name new next not nothing null object on open option optional or
    paramarray preserve print private property pset public put raiseevent redim rem resume return
    rset scale seek select set sgn shared single spc static step stop string sub tab then to true
    type typeof ubound unlock until variant wend while with withevents write xor
    """.split()
)
USED_BY_XLWINGS = frozenset(
    {"activeworkbook", "app", "application", "argsarray", "caller", "err", "failed", "k"}
    | {"range", "thisworkbook", "xlpy"}
)


@pytest.fixture(scope="module")
def run() -> Iterator[Run]:
    """Runs a function of the stand-in in a process where it is installed."""
    with host.own_process() as run:
        yield run


@pytest.fixture(scope="module")
def cell(run: Run) -> Run:
    """What a cell shows for a function and arguments as COM delivers them."""

    def cell(name: str, *arguments: Any) -> Any:
        left_out = len(called(name).arguments) - len(arguments)
        return run(host.call, name, *arguments, *[LEFT_OUT] * left_out)

    return cell


# What Excel is told


@pytest.fixture(scope="module")
def described(run: Run) -> dict[str, dict[str, Any]]:
    return run(host.described)


@pytest.fixture(scope="module")
def imported(run: Run) -> tuple[str, dict[str, dict[str, Any]]]:
    return run(host.import_functions)


@pytest.fixture(scope="module")
def heads(imported: tuple[str, Any]) -> dict[str, list[str]]:
    """The parameters of every Function line, by name."""
    whole_lines = imported[0].replace(" _\n", " ")
    found = re.findall(r"^Function (\w+)\((.*)\)$", whole_lines, flags=re.MULTILINE)
    assert len(found) == len(dict(found))
    return {name: parameters.split(", ") for name, parameters in found}


def test_every_function_of_the_registry_is_one_of_excel(described: Any) -> None:
    assert sorted(described) == sorted([*REGISTRY, *FORMER])
    assert {"NET_PROFIT", "SELLING_FEE", "LOT_SHARE", "MIX_BREAK_EVEN"} < set(described)


@pytest.mark.parametrize("spec", SPECS, ids=lambda spec: spec.name)
def test_excel_is_told_what_the_registry_knows(spec: FunctionSpec, described: Any) -> None:
    told = described[spec.name]
    assert told["category"] == spec.category
    assert told["ret"] == {"doc": spec.help, "options": {}}
    assert [argument["name"] for argument in told["args"]] == [a.name for a in spec.arguments]
    assert [argument["doc"] for argument in told["args"]] == [a.help for a in spec.arguments]
    for argument, known in zip(told["args"], spec.arguments, strict=True):
        assert argument["optional"] == (None if known.required else repr(MISSING))
        assert argument["options"] == {"ndim": 2, "err_to_str": True}
        assert not argument["vararg"]
    assert not told["sub"]
    assert not told["volatile"]
    assert told["async_mode"] is None


@pytest.mark.parametrize("spec", SPECS, ids=lambda spec: spec.name)
def test_help_arrives_whole(spec: FunctionSpec, imported: Any) -> None:
    shown = imported[1][spec.name]
    assert shown["Category"] == spec.category
    assert shown["Description"] == spec.help
    assert shown["ArgumentDescriptions"] == [argument.help for argument in spec.arguments]
    texts = [shown["Description"], *shown["ArgumentDescriptions"]]
    assert all(0 < len(text) <= 255 for text in texts)


def test_vba_has_every_function_once(imported: Any, heads: dict[str, list[str]]) -> None:
    vba, shown = imported
    assert sorted(heads) == sorted(shown) == sorted([*REGISTRY, *FORMER])
    for line, wanted in (
        (r"^Function ", 1),
        (r"^End Function$", 1),
        (r"^failed:$", 1),
        (r"^ +#If ", 1),
        (r"^ +#Else$", 1),
        (r"^ +#End If$", 1),
    ):
        assert len(re.findall(line, vba, flags=re.MULTILINE)) == wanted * len(SPECS), line


@pytest.mark.parametrize("spec", SPECS, ids=lambda spec: spec.name)
def test_vba_function_has_the_registrys_parameters(
    spec: FunctionSpec, imported: Any, heads: dict[str, list[str]]
) -> None:
    wanted = [f"{'' if a.required else 'Optional '}{a.name}" for a in spec.arguments]
    assert heads[spec.name] == wanted
    optional = [parameter.startswith("Optional ") for parameter in heads[spec.name]]
    assert optional == sorted(optional), "VBA has needed parameters first"
    passed_on = ", ".join(argument.name for argument in spec.arguments)
    call = f'XLPy.CallUDF("sheetfns.hosts.excel", "{spec.name}", Array({passed_on})'
    assert imported[0].replace(" _\n", " ").count(call) == 2  # in Excel, and elsewhere


def test_a_former_name_gives_the_same(cell: Run) -> None:
    assert cell("STOCK_TURN", 3000.0, 900.0, 1100.0) == cell("INVENTORY_TURNOVER", 3000.0, 900.0, 1100.0) == 3
    assert cell("STOCK_TURN", -1.0, 900.0, 1100.0).startswith("#ERR STOCK_TURN: #NUM! cost_of_goods_sold: -1")


@pytest.mark.parametrize("spec", SPECS, ids=lambda spec: spec.name)
def test_names_are_vbas_too(spec: FunctionSpec) -> None:
    names = [spec.name, *(argument.name for argument in spec.arguments)]
    for name in names:
        assert re.fullmatch(r"[A-Za-z][A-Za-z0-9_]{0,254}", name)
        assert name.lower() not in KEPT_BY_VBA | USED_BY_XLWINGS
    assert len({name.lower() for name in names}) == len(names), "VBA does not tell cases apart"


def test_vba_lines_are_within_vbas_limits(imported: Any) -> None:
    lines = imported[0].splitlines()
    assert max(map(len, lines)) < 1024
    longest_run = max(map(len, re.findall(r"(?:1)+", "".join("01"[s.endswith(" _")] for s in lines))), default=0)
    assert longest_run <= 24
    assert imported[0].isascii()


# What Excel sends


@pytest.mark.parametrize(
    ("sent", "read"),
    [
        (3.5, [[3.5]]),
        (None, [[None]]),
        ("", [[None]]),
        (True, [[True]]),
        ("4,50", [["4,50"]]),
        (Decimal("4.5"), [[Decimal("4.5")]]),
        (date_cell(2026, 3, 31, 12, 30), [[dt.datetime.fromisoformat("2026-03-31 12:30")]]),
        (error_value(2007), [["#DIV/0!"]]),
        (error_value(2045), [[error_value(2045)]]),
        (cells(1.0), [[1.0]]),
        (cells(1.0, None, "a"), [[1.0], [None], ["a"]]),
        (cells((1.0, "", 3.0)), [[1.0, None, 3.0]]),
        (cells((1.0, 2.0), (3.0, 4.0)), [[1.0, 2.0], [3.0, 4.0]]),
        ((1.0, 2.0), [[1.0, 2.0]]),  # a row that a formula computed
        (((1.0,), (2.0,)), [[1.0], [2.0]]),
    ],
)
def test_every_argument_arrives_as_rows_of_cells(run: Run, sent: Any, read: Any) -> None:
    arrived = run(host.argument_as_read, "NET_PROFIT", 0, sent)
    assert [list(row) for row in arrived] == read


def test_single_figures(cell: Run) -> None:
    assert cell("NET_PROFIT", *PROFIT) == 12.5
    assert cell("NET_PROFIT", *PROFIT, 2.5) == 10.0
    assert cell("NET_PROFIT", *[host.SheetRange(figure) for figure in PROFIT]) == 12.5
    assert cell("NET_PROFIT", *[cells(figure) for figure in PROFIT]) == 12.5


@pytest.mark.parametrize("blank", [None, "", host.SheetRange(None), LEFT_OUT])
def test_blank_and_left_out_take_the_default(cell: Run, blank: Any) -> None:
    assert cell("NET_PROFIT", *PROFIT, blank) == 12.5
    assert cell("SELLING_FEE", 25.0, 5.0, 0.1, 0.3, blank, blank, blank, 4.0, blank, blank) == 4.0


@pytest.mark.parametrize("blank", [None, "", host.SheetRange(None)])
def test_blank_rule(cell: Run, blank: Any) -> None:
    assert cell("NET_PROFIT", *[blank] * 6) == ""
    assert cell("NET_PROFIT", blank, *PROFIT[1:]) == (
        "#ERR NET_PROFIT: #N/A price is blank; fill it in, or write 0 if there is none"
    )


def test_a_needed_argument_may_not_be_left_out(cell: Run) -> None:
    wanted = "#ERR NET_PROFIT: #VALUE! NET_PROFIT needs price"
    assert cell("NET_PROFIT", LEFT_OUT, *PROFIT[1:]) == wanted
    assert cell("NET_PROFIT") == wanted


def test_currency_cells_are_money(cell: Run) -> None:
    sent = [Decimal("25.0000"), *map(Decimal, ("4", "3.5000", "4.2500", "0.7500", "8.0000"))]
    assert cell("NET_PROFIT", *sent) == 12.5
    column = cells(*sent[:1] * 3)
    assert cell("NET_PROFIT", column, *sent[1:]) == [[12.5]] * 3


def test_a_date_cell_is_its_number_as_in_the_other_hosts(cell: Run) -> None:
    number = 46112.0  # 2026-03-31
    expected = cell("NET_PROFIT", number, *PROFIT[1:])
    assert cell("NET_PROFIT", date_cell(2026, 3, 31), *PROFIT[1:]) == expected


def test_booleans_are_no_money(cell: Run) -> None:
    assert cell("NET_PROFIT", True, *PROFIT[1:]) == (
        "#ERR NET_PROFIT: #VALUE! price: TRUE is not a number; write a number"
    )


CLASSIC = dict(zip(CODES, (2000, 2007, 2015, 2023, 2029, 2036, 2042), strict=True))
NEWER = {
    "#GETTING_DATA": 2043,
    "#SPILL!": 2045,
    "#CONNECT!": 2046,
    "#BLOCKED!": 2047,
    "#UNKNOWN!": 2048,
    "#FIELD!": 2049,
    "#CALC!": 2050,
    "error 2222": 2222,
}


@pytest.mark.parametrize(("shown", "number"), [*CLASSIC.items(), *NEWER.items()])
def test_error_cells_pass_on(cell: Run, shown: str, number: int) -> None:
    code = shown if shown in CODES else "#VALUE!"
    wanted = f"#ERR NET_PROFIT: {code} fee: holds {shown}; fix that cell first"
    sent = error_value(number)
    assert cell("NET_PROFIT", 25.0, 4.0, sent, *PROFIT[3:]) == wanted
    column = cells(3.5, sent)
    assert cell("NET_PROFIT", 25.0, 4.0, column, *PROFIT[3:]) == [[12.5], [wanted]]


def test_text_that_looks_like_an_error_passes_for_one(cell: Run) -> None:
    typed = cell("NET_PROFIT", "#N/A", *PROFIT[1:])
    assert typed == cell("NET_PROFIT", error_value(2042), *PROFIT[1:])


def test_whole_numbers_are_no_errors(cell: Run) -> None:
    assert cell("NET_PROFIT", 25, 4, 3.5, 4.25, 0.75, 8) == 12.5
    assert cell("NET_MARGIN", float(error_value(2007)), 1.0) == float(error_value(2007))


def test_our_own_error_text_passes_on_as_it_is(cell: Run) -> None:
    first = cell("NET_PROFIT", 25.0, 4.0, -3.0, *PROFIT[3:])
    assert first == "#ERR NET_PROFIT: #NUM! fee: -3 is below 0; write 0 or more"
    assert cell("NET_MARGIN", first, 25.0) == first
    assert cell("NET_MARGIN", cells(first, 12.5), 25.0) == [[first], [0.5]]
    shares = cell("LOT_SHARE", 10.0, cells(5.0, first))
    assert shares == f"#ERR LOT_SHARE: #NUM! cell 2 of the range {first}"


# What Excel gets


def test_one_bad_row_spoils_no_other(cell: Run) -> None:
    column = cells(25.0, "4,50", None, -1.0, error_value(2015), True, 30.0)
    shown = cell("NET_PROFIT", column, *PROFIT[1:])
    assert [row[0] for row in shown if isinstance(row[0], float)] == [12.5, 17.5]
    assert isinstance(shown[0][0], float)
    assert isinstance(shown[6][0], float)
    assert [row[0] for row in shown[1:6]] == [
        "#ERR NET_PROFIT: #VALUE! price: '4,50' is not a number; write 4.5",
        "#ERR NET_PROFIT: #N/A price is blank; fill it in, or write 0 if there is none",
        "#ERR NET_PROFIT: #NUM! price: -1 is below 0; write 0 or more",
        "#ERR NET_PROFIT: #VALUE! price: holds #VALUE!; fix that cell first",
        "#ERR NET_PROFIT: #VALUE! price: TRUE is not a number; write a number",
    ]


def test_rows_blank_throughout_stay_blank(cell: Run) -> None:
    columns = [cells(figure, None, figure) for figure in PROFIT]
    assert cell("NET_PROFIT", *columns) == [[12.5], [""], [12.5]]


def test_rows_columns_and_blocks(cell: Run) -> None:
    rest = PROFIT[1:]
    assert cell("NET_PROFIT", cells(25.0, 30.0), *rest) == [[12.5], [17.5]]
    # One row goes to Excel as a list without rows: xlwings' way to say the same.
    assert cell("NET_PROFIT", cells((25.0, 30.0)), *rest) == [12.5, 17.5]
    assert cell("NET_PROFIT", (25.0, 30.0), *rest) == [12.5, 17.5]
    assert cell("NET_PROFIT", ((25.0,), (30.0,)), *rest) == [[12.5], [17.5]]
    block = cells((25.0, 30.0), (26.0, 31.0), (27.0, None))
    last = "#ERR NET_PROFIT: #N/A price is blank; fill it in, or write 0 if there is none"
    assert cell("NET_PROFIT", block, *rest) == [[12.5, 17.5], [13.5, 18.5], [14.5, last]]
    crossed = cell("NET_PROFIT", cells(25.0, 30.0), cells((4.0, 5.0, 6.0)), *PROFIT[2:])
    assert crossed == [[12.5, 13.5, 14.5], [17.5, 18.5, 19.5]]


def test_unlike_sizes_are_one_error(cell: Run) -> None:
    shown = cell("NET_PROFIT", cells(1.0, 2.0, 3.0), cells(1.0, 2.0), *PROFIT[2:])
    assert shown.startswith("#ERR NET_PROFIT: #VALUE! shipping has 2 rows and 1 column,")


def test_lot_share(cell: Run) -> None:
    assert cell("LOT_SHARE", 100.0, cells(5.0, 5.0, 5.0)) == [[33.34], [33.33], [33.33]]
    assert cell("LOT_SHARE", 10.0, cells(30.0, None, 10.0)) == [[7.5], [""], [2.5]]
    assert cell("LOT_SHARE", 10.0, cells((30.0, 0.0, 10.0))) == [7.5, 0.0, 2.5]
    assert cell("LOT_SHARE", 10.0, cells(30.0, 10.0), cells(1.0, 3.0)) == [[5.0], [5.0]]
    assert cell("LOT_SHARE", Decimal(10), cells(Decimal(30), Decimal(10))) == [[7.5], [2.5]]
    assert cell("LOT_SHARE", 10.0, cells(30.0)) == 10.0
    assert cell("LOT_SHARE", None, cells(None, None)) == [[""], [""]]
    assert cell("LOT_SHARE", 10.0, cells(0.0, 0.0)).startswith("#ERR LOT_SHARE: #NUM! values: all")
    assert cell("LOT_SHARE", 10.0, cells(5.0, "a few")) == (
        "#ERR LOT_SHARE: #VALUE! cell 2 of the range values: 'a few' is not a number; write a number"
    )
    assert cell("LOT_SHARE", 10.0, cells(5.0, error_value(2050))) == (
        "#ERR LOT_SHARE: #VALUE! cell 2 of the range values: holds #CALC!; fix that cell first"
    )


def test_bands(cell: Run) -> None:
    assert cell("BAND_FEE", 1500.0, cells(1000.0), cells(0.1, 0.02)) == 110.0
    assert cell("BAND_FEE", 1500.0, cells(1000.0, None), cells((0.1, 0.02)), 0.5) == 110.5
    columns = cell("BAND_FEE", cells(500.0, None, 6000.0), cells(1000.0, 5000.0), cells(0.1, 0.05, 0.02), 1.0)
    blank = "#ERR BAND_FEE: #N/A amount is blank; fill it in, or write 0 if there is none"
    assert columns == [[51.0], [blank], [321.0]]
    assert cell("BAND_BREAK_EVEN", 1390.0, cells(1000.0), cells(0.1, 0.02)) == 1500.0


def test_mix_break_even(cell: Run) -> None:
    # 2 x 10 + 1 x 40 = 60 for every 3 items; 6000 / 60 x 3 items.
    assert cell("MIX_BREAK_EVEN", 6000.0, cells(10.0, 40.0), cells(2.0, 1.0)) == 300.0
    assert cell("MIX_BREAK_EVEN", cells(6000.0, 60.0), cells(10.0, 40.0), cells((2.0, 1.0))) == [[300.0], [3.0]]


def figures_for(argument: Argument, chance: random.Random, count: int) -> list[float]:
    """Figures to the cent that are likely to be within the argument's limits, and some that are not."""
    maximum = 0.4 if argument.kind.maximum == 1 else 80.0
    return [round(chance.uniform(-0.02 * maximum, maximum), 2) for _ in range(count)]


def as_cells(result: Any) -> list[Any]:
    """A result in Python as a column shows it in Excel."""
    return ["" if value is None or (isinstance(value, float) and math.isnan(value)) else value for value in result]


@pytest.mark.parametrize("optional", [True, False], ids=["all arguments", "needed only"])
@pytest.mark.parametrize(
    "spec",
    # Figures to the cent are seldom whole: those run as cases.
    [
        s
        for s in REGISTRY.values()
        if s.of_figures and all(a.kind.holds == "number" and not a.kind.whole for a in s.arguments)
    ],
    ids=lambda spec: spec.name,
)
def test_results_are_pythons(run: Run, spec: FunctionSpec, optional: bool) -> None:
    chance = random.Random(spec.name)
    columns = [
        figures_for(argument, chance, 60) if optional or argument.required else None for argument in spec.arguments
    ]
    given = {a.name: c for a, c in zip(spec.arguments, columns, strict=True) if c is not None}
    expected = getattr(sheetfns, spec.python_name)(**given)
    wanted = [
        error_text(spec.name, value) if isinstance(value, CellError) else value for value in as_cells(expected.tolist())
    ]
    ranges = [LEFT_OUT if column is None else cells(*column) for column in columns]
    single_cells = [
        (spec.name, *[LEFT_OUT if column is None else column[row] for column in columns]) for row in range(60)
    ]
    by_column, *by_cell = run(host.call_many, [(spec.name, *ranges), *single_cells])
    assert [row[0] for row in by_column] == wanted
    assert by_cell == wanted
    assert sum(isinstance(value, float) for value in wanted) >= 20
    assert {type(value) for value in wanted} <= {float, str}


CASES = load_cases()
LAYOUTS = ("figures", "columns", "rows")


def as_sent(block: Any, layout: str) -> Any:
    """A case's argument as Excel delivers it: figures in the formula itself, or ranges."""
    if not isinstance(block, list):
        return block if layout == "figures" else host.SheetRange(block)
    if isinstance(block[0], list):
        return cells(*map(tuple, block))
    if layout == "columns":
        return cells(*block)
    return cells(tuple(block)) if layout == "rows" else tuple(block)


@pytest.fixture(scope="module")
def case_results(run: Run) -> dict[tuple[str, str], Any]:
    keys = [(case, layout) for case in CASES for layout in LAYOUTS]
    shown = run(
        host.call_many,
        [(case.function, *[as_sent(block, layout) for block in case.arguments.values()]) for case, layout in keys],
    )
    return {(str(case), layout): cell for (case, layout), cell in zip(keys, shown, strict=True)}


def read_back(shown: Any) -> Any:
    """A cell, or rows of cells, with the error text as the error that it stands for."""
    if isinstance(shown, list):
        return [read_back(part) for part in shown]
    found = re.fullmatch(r"#ERR [A-Z_]+: (#\S+) (.*)", shown) if isinstance(shown, str) else None
    return CellError(found[1], found[2]) if found else shown


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("case", CASES, ids=str)
def test_cases(case: Case, layout: str, case_results: dict[tuple[str, str], Any]) -> None:
    found = read_back(case_results[str(case), layout])
    assert agrees(case.expected, found), f"{case.why}: {found}"
    assert found != [], "an empty list is no result that COM could carry"
    if case.is_error() and not any(isinstance(block, list) for block in case.arguments.values()):
        with pytest.raises(CellError) as plain:
            getattr(sheetfns, case.spec.python_name)(**case.arguments)
        assert found == plain.value


def kinds_of_values(shown: Any) -> set[type]:
    if isinstance(shown, list):
        return set().union(*map(kinds_of_values, shown))
    return {type(shown)}


def test_excel_gets_plain_floats_and_texts_only(cell: Run) -> None:
    shown = [
        cell("NET_PROFIT", *PROFIT),
        cell("NET_PROFIT", *[None] * 6),
        cell("NET_PROFIT", cells((25, Decimal(3), None), (1.0, True, "x")), *PROFIT[1:]),
        cell("LOT_SHARE", 100, cells(1, None, 2.0)),
        cell("BAND_FEE", cells(5, 6), cells(1), cells(0.5, 0.25)),
    ]
    assert kinds_of_values(shown) == {float, str}


def test_texts_are_cut_at_255_characters(cell: Run) -> None:
    long = "#ERR NET_PROFIT: #NUM! " + "fee " * 90
    shown = cell("NET_MARGIN", long, 25.0)
    assert len(shown) == TEXT_LIMIT == 255
    assert shown == long[:252] + "..."
    just_fits = long[:255]
    assert cell("NET_MARGIN", just_fits, 25.0) == just_fits


# Without xlwings' part of the road


def made_up(body: Callable[..., Any], kind: CellType, returns: CellType) -> FunctionSpec:
    argument = Argument("what", kind, "what it is", required=True)
    return FunctionSpec("MADE_UP", "Test", (argument,), returns, None, "Made up.", {}, body, __name__)


def test_dates_texts_and_flags_reach_their_kinds() -> None:
    day = user_function(made_up(lambda what: what - 46000.0, DATE, DAYS))
    date = dt.datetime.fromisoformat("2026-03-31")  # without a time zone, as xlwings gives it
    assert day([[date]]) == 112.0
    assert day([[date], [46001]]) == [[112.0], [1.0]]
    length = user_function(made_up(lambda what: np.vectorize(len)(what) * 1.0, TEXT, DAYS))
    assert length([["brass lamp"]]) == 10.0
    yes = user_function(made_up(lambda what: np.where(what == True, 1.0, 0.0), FLAG, DAYS))  # noqa: E712
    assert yes([["yes"], [False], [True], [Decimal("1.0000")]]) == [[1.0], [0.0], [1.0], [1.0]]


def test_results_are_plain_before_xlwings_sees_them() -> None:
    whole = user_function(made_up(lambda what: np.asarray(what).astype(np.int64), MONEY, DAYS))
    shown = whole([[2.0], [None], [3.0]])
    assert shown == [[2.0], [""], [3.0]]
    assert kinds_of_values(shown) == {float, str}
    assert whole([[None]]) == ""


def test_a_fault_shows_as_an_error_that_checks_count() -> None:
    def body(*columns: Any) -> Any:
        raise KeyError("table")

    spec = dataclasses.replace(REGISTRY["NET_PROFIT"], body=body)
    shown = user_function(spec)(*[[[figure]] for figure in PROFIT], MISSING)
    assert shown == "#ERR NET_PROFIT: #VALUE! fault in the function: KeyError('table')"


def load_apart(name: str) -> Any:
    spec = importlib.util.find_spec(name)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_without_xlwings_only_the_functions_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "xlwings", None)
    module = load_apart("sheetfns.hosts.excel")
    assert module.user_function(REGISTRY["NET_MARGIN"])([[5.0]], [[20.0]], MISSING) == 0.25
    with pytest.raises(ImportError, match=r"NET_PROFIT .* needs xlwings, .*install xlwings in this environment"):
        module.NET_PROFIT  # noqa: B018
    with pytest.raises(AttributeError, match="NO_SUCH"):
        module.NO_SUCH  # noqa: B018


def needs_uno(name: str) -> bool:
    """Whether a module runs in LibreOffice's Python alone."""
    found = importlib.util.find_spec(name)
    text = Path(found.origin).read_text(encoding="utf-8") if found and found.origin else ""
    return re.search(r"^\s*import uno(helper)?$|^\s*from com\.sun", text, re.MULTILINE) is not None


THAT_NEED_XLWINGS = ("sheetfns.hosts.excel", "sheetfns.hosts.excel_lite", "sheetfns.programs.lite.scripts")


def test_nothing_else_in_the_package_imports_xlwings() -> None:
    names = [
        module.name
        for module in pkgutil.walk_packages(sheetfns.__path__, "sheetfns.")
        if module.name not in (*THAT_NEED_XLWINGS, "sheetfns.__main__") and not needs_uno(module.name)
    ]
    assert "sheetfns.calling" in names
    code = (
        "import importlib, sys\n"
        f"sys.path[:] = {sys.path!r}\n"
        f"for name in {names!r}: importlib.import_module(name)\n"
        "sys.exit('xlwings' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], timeout=120, check=False)
    assert done.returncode == 0


def test_the_stand_in_stays_in_its_own_process(cell: Run) -> None:
    assert cell("NET_PROFIT", *PROFIT) == 12.5
    assert "pywintypes" not in sys.modules
    assert "xlwings.com_server" not in sys.modules
    assert sys.platform != "win32"
