"""The VBA module for Excel on Windows: every function, the menu's commands, and their help.

A function in VBA hands its cells over to `sheetfns.hosts.excel` by way of xlwings, and makes errors
of Excel of the texts that stand for them there, so that a sum over a failed row is an error and
not a smaller figure. xlwings can make wrappers of its own, but those leave the texts as they are.

The calls of xlwings are those of its VBA (`XLPy.CallUDF`, `RunPython`; xlwings.bas and udfs.py of
0.33.0 to 0.37.8, BSD licence): they are there in a workbook that holds that VBA, or refers to the
add-in.
"""

from __future__ import annotations

import functools
import hashlib
from collections.abc import Iterable, Iterator
from typing import Final

import sheetfns
from sheetfns.errors import CODES, DeclarationError
from sheetfns.former_names import MENU_KEYS
from sheetfns.hosts.excel_marks import ERROR_MARK, MENU_MODULE, UDF_MODULE
from sheetfns.programs.menu_entries import COMMANDS, MENU, Command
from sheetfns.registry import FORMER, REGISTRY, FunctionSpec

FILE_NAME: Final = "sheetfns_functions.bas"
MODULE_NAME: Final = "sheetfns_functions"
EXPLAIN: Final = "Explain_this_error"
DESCRIBE: Final = "Describe_functions"
VERSION_LINE: Final = "' Made by sheetfns "

# MS-VBAL (the language's published specification), 3.3.5.2, from memory; letter case is the same. Width is not among
# them: published VBA modules have arguments of that name.
_KEPT: Final = """
    abs addressof and any array as attribute boolean byref byte byval call case cbool cbyte ccur
    cdate cdbl cdec cdecl cint circle clng clnglng clngptr close const csng cstr currency cvar cverr
    date debug decimal declare defbool defbyte defcur defdate defdbl defdec defint deflng deflnglng
    deflngptr defobj defsng defstr defvar dim do doevents double each else elseif empty end endif
    enum eqv erase error event exit false fix for friend function get global gosub goto if imp
    implements in input inputb int integer is lbound len lenb let like line lineinput lock long
    longlong longptr loop lset me mod name new next not nothing null object on open option optional
    or paramarray preserve print private property pset public put raiseevent redim rem resume return
    rset scale seek select set sgn shared single spc static step stop string sub tab then to true
    type typeof ubound unlock until variant wend while with withevents write xor
"""
KEPT_BY_VBA: Final = frozenset(_KEPT.split())
_CONSTANTS: Final = {
    "#NULL!": "xlErrNull",
    "#DIV/0!": "xlErrDiv0",
    "#VALUE!": "xlErrValue",
    "#REF!": "xlErrRef",
    "#NAME?": "xlErrName",
    "#NUM!": "xlErrNum",
    "#N/A": "xlErrNA",
}
"""Excel's names of its errors (enumeration XlCVError)."""
_HELPERS: Final = (
    "Answer",
    "AsCells",
    "AsCell",
    "Dimensions",
    "MayStart",
    "may_start",
    "barred",
    "Heard",
    "Explained",
    "RunCommand",
    "Describe",
    "InThisWorkbook",
    "listening",
    "wanted_row",
    "wanted_column",
    "message",
)
"""Names of our own in the module, which no function's argument may hide."""


def vba_module() -> str:
    """The module's text, made from the registry and the menu; lines end with LF.

    Errors:
        DeclarationError: a name or a help text that VBA could not take.
    """
    return f"{_head()}\n{_body()}"


def version_line() -> str:
    """The line that tells this module from that of another version."""
    mark = hashlib.sha256(_body().encode()).hexdigest()[:8]
    return f"{VERSION_LINE}{sheetfns.__version__} ({mark})"


@functools.cache
def _body() -> str:
    specs = [*(REGISTRY[name] for name in REGISTRY), *FORMER.values()]
    _refuse_names(specs)
    parts = [*(_wrapper(spec) for spec in specs), _safe_start(), _answer(), _explain(), _menu(), _describe(specs)]
    text = "\n".join(parts)
    if not text.isascii():
        strange = sorted({letter for letter in text if not letter.isascii()})
        raise DeclarationError(f"VBA files hold plain letters only, and not {' '.join(strange)}")
    return text


def file_content() -> bytes:
    """The module as a .bas file, whose lines must end with CR and LF to be imported."""
    return vba_module().replace("\n", "\r\n").encode("ascii")


def macro_name(command: Command) -> str:
    """The macro that runs a command of the menu."""
    return _macro_of(command.key)


def _macro_of(key: str) -> str:
    return f"{MENU.replace(' ', '_')}_{key}"


def macro_names() -> list[str]:
    """Every macro that a person may run, apart from the functions."""
    return [*map(macro_name, COMMANDS), *map(_macro_of, MENU_KEYS), EXPLAIN, DESCRIBE]


def _refuse_names(specs: list[FunctionSpec]) -> None:
    public = [*(spec.name for spec in specs), *macro_names(), *_HELPERS, MODULE_NAME]
    seen = [name.lower() for name in public]
    twice = {name for name in seen if seen.count(name) > 1}
    if twice:
        raise DeclarationError(f"VBA: {', '.join(sorted(twice))} would be duplicated in one module")
    inside = {name.lower() for name in _HELPERS}
    for spec in specs:
        names = [argument.name.lower() for argument in spec.arguments]
        bad = [name for name in names if name in KEPT_BY_VBA | inside | {spec.name.lower()}]
        if bad or len(set(names)) < len(names):
            raise DeclarationError(f"{spec.name}: VBA has no room for an argument named {', '.join(bad or names)}")


def _head() -> str:
    return f"""\
Attribute VB_Name = "{MODULE_NAME}"
Option Explicit
{version_line()}
' 'sheetfns install excel' writes this file again, so change nothing here.
' Needs the VBA of xlwings in the same workbook, or a reference to its add-in.

' While a cell is explained: the place in its results, and what was heard of it.
Private listening As Boolean
Private wanted_row As Long
Private wanted_column As Long
Private message As String
' Whether Python may be started, and the file for which it may not.
Private may_start As Boolean
Private barred As String
"""


def _wrapper(spec: FunctionSpec) -> str:
    names = [argument.name for argument in spec.arguments]
    shown = [f"{'' if argument.required else 'Optional '}{argument.name} As Variant" for argument in spec.arguments]
    head = _broken(f"Public Function {spec.name}(", shown, ") As Variant")
    call = _broken(f'    {spec.name} = Answer("{spec.name}", Array(', names, "))")
    return f"{head}\n{call}\nEnd Function\n"


def _broken(begin: str, items: Iterable[str], end: str) -> str:
    """A list within brackets, over as many lines as it needs."""
    lines = [begin]
    given = list(items)
    for number, item in enumerate(given, 1):
        more = item + (", " if number < len(given) else end)
        if len(lines[-1]) + len(more) > 96:
            lines[-1] = f"{lines[-1].rstrip()} _"
            lines.append(" " * 8)
        lines[-1] += more
    return "\n".join(lines)


_BARRED: Final = (
    "Python was not started, because a file beside this workbook could name another program. Delete or move it: "
)


def _safe_start() -> str:
    return """\
' Before Python starts: it looks for no code in the folder that Excel is in, where others may write,
' and Windows looks for no program there. xlwings would read settings beside the workbook too, and
' start the program that they name: then it is not asked.
Private Function MayStart() As Boolean
    Dim variables As Object
    On Error Resume Next
    Set variables = CreateObject("WScript.Shell").Environment("Process")
    variables.Item("PYTHONSAFEPATH") = "1"
    variables.Item("NoDefaultCurrentDirectoryInExePath") = "1"
    barred = ""
    barred = GetDirectoryConfigFilePath()
    If Not FileExists(barred) Then barred = ""
    MayStart = (barred = "")
End Function
"""


def _answer() -> str:
    cases = "\n".join(f'        Case "{code}"\n            AsCell = CVErr({_CONSTANTS[code]})' for code in CODES)
    long = len(ERROR_MARK)
    return f"""\
' What Python answers. A left-out argument goes on as left out; a range goes on whole.
Private Function Answer(function_name As String, given As Variant) As Variant
    If Not may_start Then may_start = MayStart()
    If Not may_start Then
        Heard function_name & ": {_BARRED}" & barred, 1, 1
        Answer = CVErr(xlErrValue)
        Exit Function
    End If
    On Error GoTo no_answer
    Answer = AsCells(XLPy.CallUDF("{UDF_MODULE}", function_name, given, ThisWorkbook, _
        Application.Caller))
    Exit Function
no_answer:
    Heard function_name & ": Python gave no answer (" & Err.Description & _
        "). Run 'sheetfns doctor' in a terminal.", 1, 1
    Answer = CVErr(xlErrValue)
End Function

' One cell, a row (as one list) or a block, with errors in place of the texts that stand for them.
Private Function AsCells(found As Variant) As Variant
    Dim result As Variant
    Dim row_number As Long
    Dim column_number As Long
    If Not IsArray(found) Then
        AsCells = AsCell(found, 1, 1)
        Exit Function
    End If
    result = found
    If Dimensions(result) = 1 Then
        For column_number = LBound(result) To UBound(result)
            result(column_number) = AsCell(result(column_number), 1, _
                column_number - LBound(result) + 1)
        Next column_number
    Else
        For row_number = LBound(result, 1) To UBound(result, 1)
            For column_number = LBound(result, 2) To UBound(result, 2)
                result(row_number, column_number) = AsCell(result(row_number, column_number), _
                    row_number - LBound(result, 1) + 1, column_number - LBound(result, 2) + 1)
            Next column_number
        Next row_number
    End If
    AsCells = result
End Function

Private Function AsCell(shown As Variant, row_number As Long, column_number As Long) As Variant
    Dim text_place As Long
    Dim code As String
    AsCell = shown
    If VarType(shown) <> vbString Then Exit Function
    If Left$(shown, {long}) <> "{ERROR_MARK}" Then Exit Function
    Heard CStr(shown), row_number, column_number
    text_place = InStr({long + 1}, shown, ": #")
    If text_place > 0 Then code = Mid$(shown, text_place + 2)
    If InStr(code, " ") > 0 Then code = Left$(code, InStr(code, " ") - 1)
    Select Case code
{cases}
        Case Else
            AsCell = CVErr(xlErrValue)
    End Select
End Function

Private Function Dimensions(block As Variant) As Long
    Dim last_place As Long
    Dimensions = 1
    On Error GoTo one_only
    last_place = UBound(block, 2)
    Dimensions = 2
one_only:
End Function
"""


def _explain() -> str:
    return f"""\
' Keeps the message of the cell that is explained; else that of the first cell that has one.
Private Sub Heard(words As String, row_number As Long, column_number As Long)
    If Not listening Then Exit Sub
    If message = "" Or (row_number = wanted_row And column_number = wanted_column) Then
        message = words
    End If
End Sub

' Calculates the chosen cell again, and shows what its function says.
Public Sub {EXPLAIN}()
    Dim words As String
    words = Explained(ActiveCell)
    If words = "" Then
        words = "No sheetfns function gives an error in this cell. If it shows one, choose " & _
            "the cell that its formula takes it from."
    End If
    MsgBox words, vbInformation, "{MENU}"
End Sub

' The message of a cell, or nothing.
Private Function Explained(chosen As Object) As String
    Dim source As Object
    wanted_row = 1
    wanted_column = 1
    Set source = chosen
    ' A cell may show a part of the results of a formula that stands in another cell.
    On Error Resume Next
    If chosen.HasArray Then Set source = chosen.CurrentArray
    If chosen.HasSpill Then Set source = chosen.SpillParent
    wanted_row = chosen.Row - source.Row + 1
    wanted_column = chosen.Column - source.Column + 1
    message = ""
    listening = True
    source.Calculate
    listening = False
    Explained = message
End Function
"""


def _menu() -> str:
    subs = "\n".join(
        f"' {command.title}: {command.help}\n"
        f"Public Sub {macro_name(command)}()\n"
        f'    RunCommand "{command.key}"\n'
        "End Sub\n"
        for command in COMMANDS
    )
    former = "\n".join(
        f'Public Sub {_macro_of(old)}()\n    RunCommand "{new}"\nEnd Sub\n' for old, new in MENU_KEYS.items()
    )
    return f"""\
' The commands of "{MENU}".
{subs}
' Buttons of logs that were made before call these.
{former}
Private Sub RunCommand(command_key As String)
    If Not MayStart() Then
        MsgBox "{_BARRED}" & barred, vbExclamation, "{MENU}"
        Exit Sub
    End If
    RunPython "import {MENU_MODULE} as menu; menu.run('" & command_key & "')"
End Sub
"""


def _describe(specs: list[FunctionSpec]) -> str:
    categories = sorted({spec.category for spec in specs})
    calls = "\n".join(f"    Describe_{category}" for category in categories)
    subs = []
    for category in categories:
        lines = "\n".join(line for spec in specs if spec.category == category for line in _description(spec))
        subs.append(f"Private Sub Describe_{category}()\n{lines}\nEnd Sub\n")
    each = "\n".join(subs)
    return f"""\
' Adds help texts and categories to the list of functions; run it once after the import, then save.
Public Sub {DESCRIBE}()
{calls}
    Application.MacroOptions Macro:=InThisWorkbook("{EXPLAIN}"), _
        Description:="Shows what the function in the chosen cell says about its error.", _
        HasShortcutKey:=True, ShortcutKey:="E"
End Sub

Private Function InThisWorkbook(macro_name As String) As String
    InThisWorkbook = "'" & Replace(ThisWorkbook.Name, "'", "''") & "'!" & macro_name
End Function

Private Sub Describe(function_name As String, function_category As String, words As String, _
        argument_words As Variant)
    Application.MacroOptions Macro:=InThisWorkbook(function_name), Description:=words, _
        Category:=function_category, ArgumentDescriptions:=argument_words
End Sub

{each}"""


def _description(spec: FunctionSpec) -> Iterator[str]:
    yield f'    Describe "{spec.name}", "{spec.category}", _'
    yield f"        {_literal(spec.help)}, Array( _"
    last = len(spec.arguments)
    for number, argument in enumerate(spec.arguments, 1):
        yield f"        {_literal(argument.help)}{')' if number == last else ', _'}"


def _literal(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'
