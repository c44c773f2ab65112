"""The worksheet functions as defined names that hold a LAMBDA, made from the registry.

A formula goes through four steps: what cannot be read, in the order in which Python reads it; the
blank rule; what the declaration refuses; then the formula of the function, or the row of formulas
in `bodies`. Each argument takes one cell, unless its kind asks for a range: many ordinary formulas
use MAX or MIN, which would make one figure of a column, and a wrong one.

How names stand in the file: a parameter has the mark _xlpm. in the list and at each use; one that
may be left out has _xlop. in the list alone. A public probe of files that Excel for macOS saved
shows it so (its notes are dated 2026-10-06), and three unrelated public code bases agree; we have
not tried it in Excel.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from sheetfns import former_names
from sheetfns.cell_types import DAY_ZERO, FIRST_DAY, LAST_DAY, CellType
from sheetfns.errors import BLANK, NUMBER, VALUE
from sheetfns.log.lambdas.bodies import body_formula, has_lambda
from sheetfns.registry import REGISTRY, Argument, FunctionSpec

FORMULA_LIMIT: Final = 8192
"""What a formula may have of characters."""
COMMENT_LIMIT: Final = 255
"""Excel opens no file in which a name's comment is longer (the same probe, and issue 50 of
microsoft/Excel-Labs)."""
_USED, _OPTIONAL = "_xlpm.", "_xlop."
_FIRST_DAY: Final = (FIRST_DAY - DAY_ZERO).days
_DAY_AFTER_ALL: Final = (LAST_DAY - DAY_ZERO).days + 1


def lambda_specs() -> list[FunctionSpec]:
    """The functions that a formula can say, by category and name."""
    specs = [spec for spec in REGISTRY.values() if has_lambda(spec)]
    return sorted(specs, key=lambda spec: (spec.category, spec.name))


def named_lambdas(defined_names: Mapping[str, str]) -> set[str]:
    """The functions that a workbook holds as names with a LAMBDA; former names stay what they are."""
    known = {spec.name for spec in lambda_specs()}
    known |= {old for old, new in former_names.FUNCTIONS.items() if new in known}
    return {name.upper() for name, text in defined_names.items() if name.upper() in known and "LAMBDA(" in text.upper()}


def lambda_formula(spec: FunctionSpec) -> str:
    """The formula of a function's defined name, as it stands in a file, without equals sign.

    Errors:
        DeclarationError: no formula says the function's rule.
    """
    parameters = [_parameter(argument) for argument in spec.arguments]
    used = {argument.name: _used(argument) for argument in spec.arguments}
    text = body_formula(spec, used)
    if spec.formula_error:
        text = f"IFERROR({text},{spec.formula_error})"
    for refusal in reversed(spec.refusals):
        if refusal.guard:
            text = f"IF({_filled(refusal.where, used)},{refusal.code},{text})"
    text = _blank_rule([argument for argument in spec.arguments if argument.required], used, text)
    # Python reads ranges first; of two errors in a sum the first is shown.
    arguments = sorted(spec.arguments, key=lambda argument: not argument.kind.takes_range)
    faults = "+".join(_fault(argument, used[argument.name]) for argument in arguments)
    text = f"IF({faults}=0,{text})"
    defaults = [_or_default(argument) for argument in spec.arguments if not argument.required]
    if defaults:
        text = f"_xlfn.LET({','.join(defaults)},{text})"
    return f"_xlfn.LAMBDA({','.join(parameters)},{text})"


def lambda_comment(spec: FunctionSpec) -> str:
    """What a program shows about the name: the function's help, and which arguments take ranges."""
    ranges = [parameter_name(one.name) for one in spec.arguments if one.kind.takes_range]
    taken = f"One cell for each argument, a range for {' and '.join(ranges)}."
    whole = f"{spec.help} {taken if ranges else 'One cell for each argument.'}"
    return whole if len(whole) <= COMMENT_LIMIT else spec.help


def parameter_name(argument: str) -> str:
    """What the program calls an argument in its hint: landed_cost is landedCost.

    Names of the workbook that have several words have underscores between them (LANDED_COST,
    Fixed_costs), and a parameter that bears the name of one is taken for it by some programs.
    """
    first, *rest = argument.split("_")
    return first + "".join(word.capitalize() for word in rest)


def _parameter(argument: Argument) -> str:
    """An argument in the list of parameters."""
    return f"{_USED if argument.required else _OPTIONAL}{parameter_name(argument.name)}"


def _given(argument: Argument) -> str:
    """What is given for an argument, as the body refers to it."""
    return f"{_USED}{parameter_name(argument.name)}"


def _used(argument: Argument) -> str:
    """What the formula calls an argument: an optional one has another name once it is filled in."""
    if argument.required:
        return _given(argument)
    return f"{_USED}{parameter_name(f'the_{argument.name}')}"


def _filled(text: str, used: Mapping[str, str]) -> str:
    for name, parameter in used.items():
        text = text.replace(f"{{{name}}}", parameter)
    return text


def _or_default(argument: Argument) -> str:
    """An optional argument as the formula uses it: a name of LET and its value."""
    given, default = _given(argument), argument.default_in_formula()
    filled = f'IF({given}="",{default},{given})'
    if not argument.kind.takes_range:
        filled = f"IF({_is_range(given)},{VALUE},{filled})"
    return f"{_used(argument)},IF(_xlfn.ISOMITTED({given}),{default},{filled})"


def _is_range(parameter: str) -> str:
    """Whether there are several cells; ROWS of a typed number is an error in some programs."""
    return f'SUMPRODUCT(1+0*({parameter}=""))>1'


def _blank_rule(needed: list[Argument], used: Mapping[str, str], text: str) -> str:
    blank = [
        f'SUMPRODUCT(({used[argument.name]}<>"")*1)=0' if argument.kind.takes_range else f'{used[argument.name]}=""'
        for argument in needed
    ]
    if len(blank) == 1:
        return f'IF({blank[0]},"",{text})'
    return f'IF(AND({",".join(blank)}),"",IF(OR({",".join(blank)}),{BLANK},{text}))'


def _fault(argument: Argument, used: str) -> str:
    """0, or the error that an argument gives."""
    kind = argument.kind
    if kind.takes_range:
        return _fault_of_range(kind, used)
    if kind.holds == "text":
        fault = f"IF(ISERROR({used}),{used},0)"
    else:
        code = VALUE if kind.holds == "date" else NUMBER
        within = _one_of(_limits(kind, used))
        in_limits = f"IF({within},{code},0)" if within else "0"
        fault = f'IF({used}="",0,IF(ISNUMBER({used}),{in_limits},{VALUE}))'
    return f"IF({_is_range(used)},{VALUE},{fault})" if argument.required else fault


def _fault_of_range(kind: CellType, used: str) -> str:
    filled = f'({used}<>"")'
    if kind.holds == "any":
        return f"IF(SUMPRODUCT({filled}*ISLOGICAL({used}))>0,{VALUE},0)"
    limits = "+".join(f"({limit})" for limit in _limits(kind, used))
    in_limits = f"IF(SUMPRODUCT({filled}*({limits}))>0,{NUMBER},0)" if limits else "0"
    # As there is no text left, what is filled is a number.
    return f"IF(SUMPRODUCT({filled}*1)>COUNT({used}),{VALUE},{in_limits})"


def _limits(kind: CellType, used: str) -> list[str]:
    """What is true of a number that its kind does not allow."""
    if kind.holds == "date":
        return [f"{used}<{_FIRST_DAY}", f"{used}>={_DAY_AFTER_ALL}"]
    found = []
    if kind.minimum is not None:
        found.append(f"{used}<{kind.minimum:g}")
    if kind.maximum is not None:
        found.append(f"{used}>{kind.maximum:g}")
    if kind.whole:
        found.append(f"{used}<>INT({used})")
    return found


def _one_of(conditions: Iterable[str]) -> str:
    listed = list(conditions)
    return f"OR({','.join(listed)})" if len(listed) > 1 else "".join(listed)
