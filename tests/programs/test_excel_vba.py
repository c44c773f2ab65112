"""The VBA module: what is in it, and what LibreOffice's Basic gives when it runs it."""

from __future__ import annotations

import dataclasses
import json
import re
import sys
from pathlib import Path
from typing import Any

import pytest
import xlwings

from sheetfns import REGISTRY, former_names
from sheetfns.errors import CODES
from sheetfns.log.model.addresses import AddressMap
from sheetfns.log.sheets.registry import log_layout
from sheetfns.programs import menu_entries
from sheetfns.programs.excel import menu_screen, vba
from sheetfns.programs.excel.vba import DESCRIBE, EXPLAIN, MODULE_NAME, file_content, vba_module
from sheetfns.registry import FORMER, DeclarationError, FunctionSpec, called
from tests.hosts import xlwings_on_linux as host
from tests.hosts.xlwings_on_linux import LEFT_OUT, cells
from tests.programs.basic_in_libreoffice import run_job

SPECS = [*REGISTRY.values(), *FORMER.values()]
FORMER_MACROS = [f"Sourcing_log_{key}" for key in former_names.MENU_KEYS]
TEXT = vba_module()
WHOLE_LINES = TEXT.replace(" _\n", " ")
PROCEDURE = re.compile(
    r"^(?:Public|Private) (?:Sub|Function) (\w+)\(.*?^End (?:Sub|Function)$", re.MULTILINE | re.DOTALL
)
# Limits of the editor and compiler of VBA: a line, its continuations, a procedure (from memory of
# Microsoft's VBA reference; the last is of compiled code, which the text stands in for here).
LINE, CONTINUATIONS, PROCEDURE_BYTES = 1_023, 24, 64 << 10


# What is in it


def test_every_function_is_there_once_with_its_arguments() -> None:
    heads = dict(re.findall(r"^Public Function (\w+)\(([^)]*)\) As Variant$", WHOLE_LINES, re.MULTILINE))
    assert list(heads) == [*REGISTRY, *FORMER]
    for spec in SPECS:
        wanted = [
            f"{'' if argument.required else 'Optional '}{argument.name} As Variant" for argument in spec.arguments
        ]
        assert re.split(r",\s+", heads[spec.name]) == wanted
        body = re.search(rf"{spec.name} = Answer\(\"{spec.name}\", Array\((.*)\)\)", WHOLE_LINES)
        assert body is not None
        assert re.split(r",\s+", body[1]) == [argument.name for argument in spec.arguments]


def test_the_commands_of_the_menu_are_macros() -> None:
    names = [name for name in PROCEDURE.findall(TEXT) if f"Public Sub {name}(" in TEXT]
    assert names == [EXPLAIN, *map(vba.macro_name, menu_entries.COMMANDS), *FORMER_MACROS, DESCRIBE]
    assert sorted(vba.macro_names()) == sorted(names)
    assert len(menu_entries.COMMANDS) == 8


def test_limits_of_vba() -> None:
    lines = TEXT.split("\n")
    assert max(map(len, lines)) <= LINE
    in_one = max(len(run[0]) for run in re.finditer(r"(?:^.* _\n)+", TEXT, re.MULTILINE))
    assert in_one < PROCEDURE_BYTES
    longest = max(run[0].count("\n") for run in re.finditer(r"(?:^.* _\n)+", TEXT, re.MULTILINE))
    assert 0 < longest <= CONTINUATIONS
    sizes = {found[1]: len(found[0]) for found in PROCEDURE.finditer(TEXT)}
    assert len(sizes) > len(SPECS) + len(menu_entries.COMMANDS)
    assert max(sizes.values()) < PROCEDURE_BYTES / 4
    assert max(len(spec.arguments) for spec in SPECS) <= 60
    assert all(
        0 < len(text) <= 255 for spec in SPECS for text in (spec.help, *(argument.help for argument in spec.arguments))
    )


def test_the_file_is_one_that_the_editor_imports() -> None:
    content = file_content()
    assert content.isascii()
    assert content.count(b"\n") == content.count(b"\r\n") > 500
    assert content.startswith(f'Attribute VB_Name = "{MODULE_NAME}"\r\n'.encode())
    assert content.decode().replace("\r\n", "\n") == TEXT


def test_no_name_stands_twice_or_hides_another() -> None:
    names = [name.lower() for name in PROCEDURE.findall(TEXT)]
    assert len(set(names)) == len(names)
    assert set(names) & {name.lower() for name in AddressMap(log_layout()).names} == set()
    of_xlwings = Path(xlwings.__file__).with_name("xlwings.bas").read_text(encoding="utf-8")
    theirs = re.findall(r"^(?:Public )?(?:Sub|Function) (\w+)", of_xlwings, re.MULTILINE)
    assert {"XLPy", "RunPython", "ImportPythonUDFs"} < set(theirs)
    public = {name.lower() for name in re.findall(r"^Public \w+ (\w+)\(", TEXT, re.MULTILINE)}
    assert public & {name.lower() for name in theirs} == set()


@pytest.mark.parametrize("name", ["next", "String", "Answer", "MADE_UP", "message"])
def test_a_bad_name_is_refused(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    known = REGISTRY["NET_MARGIN"]
    argument = dataclasses.replace(known.arguments[0], name=name)
    spec = dataclasses.replace(known, name="MADE_UP", arguments=(argument,))
    with pytest.raises(DeclarationError, match=f"(?i){name}"):
        vba._refuse_names([spec])
    twice: list[FunctionSpec] = [known, known]
    with pytest.raises(DeclarationError, match="net_margin would be duplicated"):
        vba._refuse_names(twice)


def test_help_beyond_plain_letters_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    known = dict(REGISTRY)
    known["NET_MARGIN"] = dataclasses.replace(known["NET_MARGIN"], help="Half \u00bd")
    monkeypatch.setattr(vba, "REGISTRY", known)
    vba._body.cache_clear()
    try:
        with pytest.raises(DeclarationError, match="\u00bd"):
            vba_module()
    finally:
        vba._body.cache_clear()


def test_it_says_what_version_it_is_of(monkeypatch: pytest.MonkeyPatch) -> None:
    assert vba.version_line() in TEXT.split("\n")
    before = vba.version_line()
    monkeypatch.setattr(vba, "EXPLAIN", "Explain_it")
    vba._body.cache_clear()
    try:
        assert vba.version_line() != before
    finally:
        monkeypatch.undo()
        vba._body.cache_clear()
    assert vba.version_line() == before


# Run by LibreOffice's Basic, with answers that Python gave through xlwings


SALE = (25.0, 4.0, 3.5, 4.25, 0.75, 8.0)
ASKED: dict[str, tuple[Any, ...]] = {
    "NET_PROFIT": SALE,
    "NET_PROCEEDS": (25.0, 4.0, -3.0, 4.25, 0.75),
    "NET_MARGIN": (5.0, 0.0),
    "MARKUP_RATE": ("4,50", 9.0),
    "SELLING_FEE": (None, 0.0, 0.05, 0.0),
    "LANDED_COST": (None,),
    "LOT_SHARE": (100.0, cells(5.0, 5.0, 5.0)),
    "RETURN_ON_COST": (cells(5.0, "x", None, 6.0), cells(10.0, 10.0, None, 12.0)),
    "DAYS_HELD": (cells((46000.0, -1.0)), cells((46010.0, 46010.0))),
    "COMP_SPREAD": (cells(20.0, 24.0, 31.0, 22.0, 26.0, 200.0),),
    "TITLE_ROOM": ("caf\u00e9", 10.0),
    "STOCK_TURN": (3000.0, 900.0, 1100.0),
}
MADE_UP = {code: f"#ERR MADE_UP: {code} text with: #colon" for code in CODES}
ODD = {
    "#ERR MADE_UP": "error 2015",
    "#ERR MADE_UP: #SPILL! x": "error 2015",
    "#ERR MADE_UP: #NUM!": "error 2036",
    "#ERROR": "text",
    "#N/A": "text",
    "": "text",
}
NUMBERS = {"#NULL!": 2000, "#DIV/0!": 2007, "#VALUE!": 2015, "#REF!": 2023, "#NAME?": 2029, "#NUM!": 2036, "#N/A": 2042}
"""XlCVError, as xlwings.constants has them; see the test below."""

STAND_IN_PYTHON = """\
Option ClassModule
Option Explicit
Public Function CallUDF(module_name As String, function_name As String, given As Variant, _
        this_workbook As Variant, caller As Variant) As Variant
    Keep module_name, function_name, given
    Select Case function_name
{cases}
    Case Else
        Err.Raise 1000, , "no Python here"
    End Select
End Function
"""
STAND_IN_XLWINGS = """\
Option Explicit
Private kept As String
Private command As String
Private options As String
Private there As Boolean
Public Function XLPy() As Object
    Set XLPy = New StandInPython
End Function
' FileExists, which xlwings' VBA has, is a function of this Basic.
Public Function GetDirectoryConfigFilePath() As String
    GetDirectoryConfigFilePath = "/no/such/folder/xlwings.conf"
    If there Then GetDirectoryConfigFilePath = "/etc/passwd"
End Function
Public Sub Beside(yes As Boolean)
    there = yes
End Sub
Public Function RunPython(PythonCommand As String)
    command = PythonCommand
End Function
Public Sub Keep(module_name As String, function_name As String, given As Variant)
    Dim place As Long
    kept = module_name & " " & function_name
    For place = LBound(given) To UBound(given)
        If IsMissing(given(place)) Then
            kept = kept & " missing"
        Else
            kept = kept & " " & TypeName(given(place))
        End If
    Next place
End Sub
Public Function Last_call() As String
    Last_call = kept
End Function
Public Function Last_command() As String
    Last_command = command
End Function
Public Sub Take_options(Macro As Variant, Optional Description As Variant, _
        Optional Category As Variant, Optional ArgumentDescriptions As Variant, _
        Optional HasShortcutKey As Variant, Optional ShortcutKey As Variant)
    Dim place As Long
    options = options & Macro & Chr(1) & Description
    If IsArray(ArgumentDescriptions) Then
        options = options & Chr(1) & Category
        For place = LBound(ArgumentDescriptions) To UBound(ArgumentDescriptions)
            options = options & Chr(1) & ArgumentDescriptions(place)
        Next place
    End If
    options = options & Chr(2)
End Sub
Public Function All_options() As String
    All_options = options
End Function
"""
STAND_IN_CELL = """\
Option ClassModule
Option Explicit
Public Row As Long
Public Column As Long
Public HasArray As Boolean
Public HasSpill As Boolean
Public SpillParent As Object
Public CurrentArray As Object
Public what As String
Public Sub Calculate()
    Work_out what
End Sub
"""
DRIVER = """
Public Function In_words(value As Variant) As String
    Dim row_place As Long
    Dim column_place As Long
    If Not IsArray(value) Then
        If IsError(value) Then
            In_words = LCase(CStr(value))
        ElseIf VarType(value) = vbString Then
            In_words = "text " & value
        Else
            In_words = TypeName(value) & " " & CStr(value)
        End If
    ElseIf Dimensions(value) = 1 Then
        For column_place = LBound(value) To UBound(value)
            In_words = In_words & "|" & In_words(value(column_place))
        Next column_place
    Else
        For row_place = LBound(value, 1) To UBound(value, 1)
            For column_place = LBound(value, 2) To UBound(value, 2)
                In_words = In_words & "|" & In_words(value(row_place, column_place))
            Next column_place
            In_words = In_words & "/"
        Next row_place
    End If
End Function
Public Function Cell_of(shown As Variant) As String
    Cell_of = In_words(AsCell(shown, 1, 1))
End Function
Public Sub Work_out(what As String)
    Dim unused As Variant
    Select Case what
    Case "bad fee"
        unused = NET_PROCEEDS(25, 4, -3, 4.25, 0.75)
    Case "block"
        unused = RETURN_ON_COST(1, 2)
    Case "row"
        unused = DAYS_HELD(1, 2)
    Case "no Python"
        unused = BREAK_EVEN_SALES(1, 2)
    Case "good"
        unused = NET_PROFIT(1, 2, 3, 4, 5, 6)
    End Select
End Sub
Public Function Explain(what As String, row_number As Long, column_number As Long, _
        spilled As Boolean) As String
    Dim chosen As Object
    Dim source As Object
    Set chosen = New StandInCell
    chosen.Row = 7 + row_number
    chosen.Column = 3 + column_number
    chosen.what = what
    If spilled Then
        Set source = New StandInCell
        source.Row = 8
        source.Column = 4
        source.what = what
        chosen.HasSpill = True
        Set chosen.SpillParent = source
        chosen.what = "good"
    End If
    Explain = Explained(chosen)
End Function
Public Function With_a_file_beside() As String
    may_start = False
    Beside True
    With_a_file_beside = In_words(NET_PROFIT(1, 2, 3, 4, 5, 6)) & " / " & Explain("good", 1, 1, False)
    Beside False
    With_a_file_beside = With_a_file_beside & " / " & In_words(NET_PROFIT(1, 2, 3, 4, 5, 6))
End Function
Public Sub Leave_some_out()
    Dim unused As Variant
    unused = SELLING_FEE(1, 2, 3, 4, , 6)
End Sub
Public Function Answer_of(what As String) As String
    Select Case what
{cases}
    End Select
End Function
"""


def literal(value: Any) -> str:
    if isinstance(value, str):
        parts = [f'"{value}"'.replace('"', '""')[1:-1]] if value.isascii() else []
        return parts[0] if parts else '"' + "".join(c for c in value if c.isascii()) + '"'
    return repr(float(value))


def case_of(name: str, answer: Any) -> str:
    """A case of the stand-in that gives what Python gave, in the form that COM gives it."""
    lines = [f'    Case "{name}"']
    if not isinstance(answer, list):
        lines.append(f"        CallUDF = {literal(answer)}")
    elif not isinstance(answer[0], list):
        lines.append(f"        CallUDF = Array({', '.join(map(literal, answer))})")
    else:
        block = f"block_{name}"
        lines.append(f"        Dim {block}({len(answer) - 1}, {len(answer[0]) - 1}) As Variant")
        lines += [
            f"        {block}({row}, {column}) = {literal(cell)}"
            for row, one in enumerate(answer)
            for column, cell in enumerate(one)
        ]
        lines.append(f"        CallUDF = {block}")
    return "\n".join(lines)


@pytest.fixture(scope="module")
def answers() -> dict[str, Any]:
    """What Python gives for `ASKED`, through xlwings' own code."""
    if sys.platform == "win32":
        pytest.skip("the stand-in is for systems without the real modules")
    # What COM would carry: a row of results goes as one list (xlwings.com_server).
    left_out = {name: len(called(name).arguments) - len(asked) for name, asked in ASKED.items()}
    calls = [(name, *asked, *[LEFT_OUT] * left_out[name]) for name, asked in ASKED.items()]
    with host.own_process() as run:
        given = run(host.call_many, calls)
    return dict(zip(ASKED, given, strict=True))


EXPLAINED = {
    "a cell": ("bad fee", 1, 1, False),
    "first row of a block": ("block", 1, 1, True),
    "second row of a block": ("block", 2, 1, True),
    "second of a row": ("row", 1, 2, True),
    "no Python": ("no Python", 1, 1, False),
    "nothing wrong": ("good", 1, 1, False),
}


@pytest.fixture(scope="module")
def ran(answers: dict[str, Any]) -> dict[str, Any]:
    cases = "\n".join(case_of(name, answer) for name, answer in answers.items())
    asking = "\n".join(
        f'    Case "{name}"\n        Answer_of = In_words({name}({", ".join(["1"] * required(name))}))'
        for name in ASKED
    )
    text = "\n".join(line for line in TEXT.split("\n") if not line.startswith("Attribute "))
    # This Basic has no MacroOptions, and no cell that works itself out on demand.
    text = text.replace("Application.MacroOptions ", "Take_options ")
    modules = {
        MODULE_NAME: text + DRIVER.format(cases=asking),
        "StandInPython": STAND_IN_PYTHON.format(cases=cases),
        "StandInCell": STAND_IN_CELL,
        "xlwings": STAND_IN_XLWINGS,
    }
    calls: dict[str, list[Any]] = {}
    for text in [*MADE_UP.values(), *ODD]:
        calls[f"cell {text}"] = [f"{MODULE_NAME}.Cell_of", text]
    calls["figure"] = [f"{MODULE_NAME}.Cell_of", -0.1]
    calls["leave out"] = [f"{MODULE_NAME}.Leave_some_out"]
    calls["left out"] = ["xlwings.Last_call"]
    for name in ASKED:
        calls[f"In {name}"] = [f"{MODULE_NAME}.Answer_of", name]
    for label, asked in EXPLAINED.items():
        calls[f"explain {label}"] = [f"{MODULE_NAME}.Explain", *asked]
    for command in menu_entries.COMMANDS:
        calls[f"run {command.key}"] = [f"{MODULE_NAME}.{vba.macro_name(command)}"]
        calls[f"command {command.key}"] = ["xlwings.Last_command"]
    for macro in FORMER_MACROS:
        calls[f"run {macro}"] = [f"{MODULE_NAME}.{macro}"]
        calls[f"command {macro}"] = ["xlwings.Last_command"]
    calls["beside"] = [f"{MODULE_NAME}.With_a_file_beside"]
    calls["describe"] = [f"{MODULE_NAME}.{DESCRIBE}"]
    calls["options"] = ["xlwings.All_options"]
    numbers = ";".join(map(str, SALE))
    filled = {
        "A1": 5.0,
        "A2": 6.0,
        "B1": f"=NET_PROFIT({numbers})",
        "B2": "=LANDED_COST(1)",
        "B3": "=NET_PROCEEDS(25;4;-3;4.25;0.75)",
        "D1:D3": "=LOT_SHARE(10;A1:A2)",
        "F1:K1": "=COMP_SPREAD(A1:A2)",
    }
    # The last cell to be worked out: which arguments Python was given for a range and a cell.
    filled["B9"] = "=SELLING_FEE(A1:A2;A1;3;4;5)"
    given = run_job({"modules": modules, "cells": filled, "calls": [["xlwings.Last_call"], *calls.values()]})
    results = dict(zip(calls, given["calls"][1:], strict=True))
    return results | {"cells": given["cells"], "last call": given["calls"][0]}


def required(name: str) -> int:
    return sum(argument.required for argument in called(name).arguments)


def in_words(answer: Any) -> str:
    """What the driver says of an answer after the module has been at it."""
    if isinstance(answer, list) and isinstance(answer[0], list):
        return "".join("".join(f"|{in_words(cell)}" for cell in row) + "/" for row in answer)
    if isinstance(answer, list):
        return "".join(f"|{in_words(cell)}" for cell in answer)
    if isinstance(answer, str):
        found = re.match(r"#ERR [A-Z_]+: (#\S+) ", answer)
        return f"error {NUMBERS[found[1]]}" if found else f"text {answer}"
    return f"Double {answer:g}"


def test_the_numbers_of_errors_are_excels() -> None:
    from xlwings.constants import CVError

    for code, name in vba._CONSTANTS.items():
        assert getattr(CVError, name) == NUMBERS[code]
    assert list(NUMBERS) == list(CODES)


@pytest.mark.libreoffice
class TestRunByLibreOffice:
    def test_settings_beside_the_workbook_keep_python_from_starting(self, ran: dict[str, Any]) -> None:
        assert ran["beside"] == f"error 2015 / NET_PROFIT: {vba._BARRED}/etc/passwd / Double 12.5"

    def test_answers_are_what_the_tests_lean_on(self, answers: dict[str, Any]) -> None:
        assert answers["NET_PROFIT"] == 12.5
        assert answers["NET_PROCEEDS"].startswith("#ERR NET_PROCEEDS: #NUM! fee: -3")
        assert answers["MARKUP_RATE"].startswith("#ERR MARKUP_RATE: #VALUE!")
        assert answers["SELLING_FEE"].startswith("#ERR SELLING_FEE: #N/A")
        assert answers["NET_MARGIN"].startswith("#ERR NET_MARGIN: #DIV/0!")
        assert answers["LOT_SHARE"] == [[33.34], [33.33], [33.33]]
        assert answers["LANDED_COST"] == ""
        assert answers["STOCK_TURN"] == 3
        assert [type(cell[0]) for cell in answers["RETURN_ON_COST"]] == [float, str, str, float]
        assert isinstance(answers["DAYS_HELD"][0], float)
        assert answers["DAYS_HELD"][1].startswith("#ERR DAYS_HELD: #VALUE!")
        assert answers["COMP_SPREAD"][:2] == [22.0, 24.0]

    @pytest.mark.parametrize("name", ASKED)
    def test_figures_stay_and_errors_are_errors(self, name: str, ran: dict[str, Any], answers: dict[str, Any]) -> None:
        assert ran[f"In {name}"] == in_words(answers[name])

    @pytest.mark.parametrize("code", CODES)
    def test_each_code_is_its_error(self, code: str, ran: dict[str, Any]) -> None:
        assert ran[f"cell {MADE_UP[code]}"] == f"error {NUMBERS[code]}"

    @pytest.mark.parametrize("text", ODD)
    def test_odd_texts(self, text: str, ran: dict[str, Any]) -> None:
        wanted = f"text {text}" if ODD[text] == "text" else ODD[text]
        assert ran[f"cell {text}"] == wanted

    def test_a_figure_is_left_alone(self, ran: dict[str, Any]) -> None:
        assert ran["figure"] == "Double -0.1"

    def test_cells_call_the_functions(self, ran: dict[str, Any]) -> None:
        shown = ran["cells"]
        assert shown["B1"] == [[12.5]]
        assert shown["B2"] == [[""]]
        # This program shows an error of Basic as a text in a cell; Excel shows #NUM!.
        assert shown["B3"] == [["Error 2036"]]
        assert shown["D1:D3"] == [[33.34], [33.33], [33.33]]
        assert shown["F1:K1"][0][:5] == [22.0, 24.0, 26.0, 5.0, 1.0]

    def test_arguments_left_out_go_on_as_left_out_and_ranges_whole(self, ran: dict[str, Any]) -> None:
        ranges = "Range Range Double Double Double" + " missing" * 5
        assert ran["last call"] == f"sheetfns.hosts.excel SELLING_FEE {ranges}"
        assert ran["leave out"] is None
        kinds = "Integer Integer Integer Integer missing Integer" + " missing" * 4
        assert ran["left out"] == f"sheetfns.hosts.excel SELLING_FEE {kinds}"

    @pytest.mark.parametrize(
        ("label", "begin"),
        [
            ("a cell", "#ERR NET_PROCEEDS: #NUM! fee: -3 is below 0"),
            ("first row of a block", "#ERR RETURN_ON_COST: #VALUE! net_profit: 'x'"),
            ("second row of a block", "#ERR RETURN_ON_COST: #VALUE! net_profit: 'x'"),
            ("second of a row", "#ERR DAYS_HELD: #VALUE! bought_on: -1"),
            ("no Python", "BREAK_EVEN_SALES: Python gave no answer (no Python here)"),
            ("nothing wrong", ""),
        ],
    )
    def test_errors_are_explained(self, label: str, begin: str, ran: dict[str, Any]) -> None:
        said = ran[f"explain {label}"]
        assert said.startswith(begin)
        assert bool(said) == bool(begin)

    @pytest.mark.parametrize("command", menu_entries.COMMANDS, ids=lambda one: one.key)
    def test_macros_run_the_commands(
        self, command: menu_entries.Command, ran: dict[str, Any], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        assert ran[f"run {command.key}"] is None
        line = ran[f"command {command.key}"]
        # xlwings puts it into double quotes of a command line.
        assert '"' not in line
        keys: list[str] = []
        monkeypatch.setattr(menu_screen, "run", keys.append)
        exec(line, {})
        assert keys == [command.key]

    @pytest.mark.parametrize(("old", "new"), former_names.MENU_KEYS.items())
    def test_macros_of_logs_made_before_run_the_same(self, old: str, new: str, ran: dict[str, Any]) -> None:
        assert ran[f"run Sourcing_log_{old}"] is None
        assert ran[f"command Sourcing_log_{old}"] == ran[f"command {new}"]

    def test_help_arrives_whole(self, ran: dict[str, Any]) -> None:
        assert ran["describe"] is None
        told = [one.split("\x01") for one in ran["options"].split("\x02")[:-1]]
        *functions, explain = told
        assert explain[0].endswith(f"'!{EXPLAIN}")
        found = {macro.rpartition("!")[2]: rest for macro, *rest in functions}
        assert sorted(found) == sorted([*REGISTRY, *FORMER])
        for spec in SPECS:
            wanted = [spec.help, spec.category, *(argument.help for argument in spec.arguments)]
            assert found[spec.name] == wanted
        assert json.dumps(told).isascii()
