"""A function is declared once, with @worksheet; every host and page is made from this list."""

from __future__ import annotations

import functools
import inspect
import math
import re
import textwrap
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated, Any, Final, get_args, get_origin, get_type_hints

from sheetfns import calling, former_names
from sheetfns.cell_types import CellType
from sheetfns.errors import DeclarationError
from sheetfns.refusals import Refusal

HELP_LIMIT: Final = 250
"""Spreadsheet programs cut help texts at 255 characters; five are kept back for a mark."""
ADD_IN: Final = "SHEETFNS"
"""What LibreOffice 7.4 puts before a function's name, with a dot, when it saves an .xlsx."""
EACH_CELL: Final = "cell by cell; cells, columns, rows and blocks broadcast."
"""The Shape of a function that takes and gives single cells; its docstring need not say so."""
SECTIONS: Final = ("Args", "Returns", "Shape", "Errors", "Formula", "Source", "Examples")


@dataclass(frozen=True)
class Argument:
    """One argument of a worksheet function."""

    name: str
    kind: CellType
    help: str
    required: bool
    default: float | str | bool | None = None

    def default_in_words(self) -> str:
        """The default as a person reads it."""
        if self.required:
            return "required"
        if isinstance(self.default, bool):
            return "yes" if self.default else "no"
        if isinstance(self.default, str):
            return self.default or "none"
        if self.default is None or not math.isfinite(self.default):
            return "none"
        return f"{self.default:g}"

    def default_in_formula(self) -> str:
        """The default as it stands in an ordinary formula; "" if there is none."""
        words = self.default_in_words()
        if isinstance(self.default, (bool, str)) or words == "none":
            return '""' if words == "none" else f'"{words}"'
        return words


@dataclass(frozen=True)
class FunctionSpec:
    """All that is known of one worksheet function."""

    name: str
    category: str
    arguments: tuple[Argument, ...]
    returns: CellType
    formula: str | None
    help: str
    sections: Mapping[str, str]
    body: Callable[..., Any]
    module: str
    refusals: tuple[Refusal, ...] = ()
    formula_error: str | None = None
    """What stands for an error of the formula itself."""
    required: tuple[int, ...] = field(init=False)
    of_figures: bool = field(init=False)
    """Whether single cells go in and a figure comes out."""
    _names: tuple[str, ...] = field(init=False, repr=False)
    _asked_of_rows: tuple[Refusal, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        needed = tuple(i for i, argument in enumerate(self.arguments) if argument.required)
        kinds = [argument.kind for argument in self.arguments]
        single = self.returns.holds == "number" and not self.returns.own_shape
        ranges = any(kind.takes_range for kind in [*kinds, self.returns])
        object.__setattr__(self, "required", needed)
        object.__setattr__(self, "of_figures", single and not ranges)
        object.__setattr__(self, "_names", tuple(argument.name for argument in self.arguments))
        object.__setattr__(self, "_asked_of_rows", tuple(one for one in self.refusals if one.message))

    @property
    def python_name(self) -> str:
        """The name in Python."""
        return self.name.lower()

    def refuse(self, columns: Iterable[Any]) -> None:
        """Refuse what the declaration refuses, in its order.

        Args:
            columns: what the body gets for each argument.
        """
        if self._asked_of_rows:
            values = dict(zip(self._names, columns, strict=True))
            for refusal in self._asked_of_rows:
                refusal.refuse(values)

    def docstring(self) -> str:
        """What Python shows as help: the docstring as declared, and what it takes from elsewhere."""
        helps = "\n".join(f"{argument.name}: {argument.help}" for argument in self.arguments)
        shown = [f"{self.help}\n"]
        for name, text in {**self.sections, "Args": helps}.items():
            indented = textwrap.indent(text, "    ")
            shown.append(f"{name}:\n{indented}" if name in ("Args", "Examples") else f"{name}: {indented.lstrip()}")
        return "\n".join(shown)

    def usage(self) -> str:
        """How a cell calls it: NAME(needed, [optional])."""
        shown = (a.name if a.required else f"[{a.name}]" for a in self.arguments)
        return f"{self.name}({', '.join(shown)})"

    def filled_formula(self, cells: Mapping[str, str]) -> str:
        """The rule as an ordinary formula, without the leading equals sign.

        Args:
            cells: what stands for each argument: a reference, a number or an expression.
        """
        if self.formula is None:
            raise DeclarationError(f"{self.name} has no ordinary formula")
        unknown = set(cells) - {argument.name for argument in self.arguments}
        if unknown:
            raise DeclarationError(f"{self.name} has no argument {', '.join(sorted(unknown))}")
        filled = {}
        for argument in self.arguments:
            if argument.name in cells:
                filled[argument.name] = _in_brackets(cells[argument.name])
            elif argument.required:
                raise DeclarationError(f"{self.name} needs {argument.name}")
            else:
                filled[argument.name] = argument.default_in_formula()
        return self.formula.removeprefix("=").format_map(filled)

    def call_formula(self, cells: Mapping[str, str]) -> str:
        """The call of the named function, without the leading equals sign."""
        given = [cells.get(argument.name) for argument in self.arguments]
        while given and given[-1] is None:
            given.pop()
        if any(cell is None for cell in given):
            raise DeclarationError(f"{self.name}: an argument before the last one is left out")
        return f"{self.name}({','.join(str(cell) for cell in given)})"


_SIMPLE: Final = re.compile(r"^(\$?[A-Z]{1,3}\$?\d+(:\$?[A-Z]{1,3}\$?\d+)?|[\w.]+|\"[^\"]*\")$")


def _in_brackets(expression: str) -> str:
    return expression if _SIMPLE.match(expression) else f"({expression})"


class Registry(Mapping[str, FunctionSpec]):
    """Every worksheet function by its worksheet name."""

    def __init__(self) -> None:
        self._specs: dict[str, FunctionSpec] = {}

    def __getitem__(self, name: str) -> FunctionSpec:
        return self._specs[name]

    def __iter__(self) -> Iterator[str]:
        return iter(sorted(self._specs))

    def __len__(self) -> int:
        return len(self._specs)

    def add(self, spec: FunctionSpec) -> None:
        """Take in one declaration; a name may stand once."""
        if spec.name in self._specs:
            raise DeclarationError(f"{spec.name} is declared twice")
        if spec.name in former_names.FUNCTIONS:
            raise DeclarationError(f"{spec.name} is the former name of {former_names.FUNCTIONS[spec.name]}")
        self._specs[spec.name] = spec


REGISTRY: Final = Registry()
FORMER: Final[dict[str, FunctionSpec]] = {}
"""By its former name each function that had one: the same but for name and help; no page lists it."""


def called(name: str) -> FunctionSpec | None:
    """The function that a cell calls by this name, which may be a former one; None if there is none."""
    return REGISTRY.get(name) or FORMER.get(name)


def former_names_of(spec: FunctionSpec) -> list[str]:
    """The names that a function had before."""
    return [old for old, new in former_names.FUNCTIONS.items() if new == spec.name]


def worksheet(
    category: str, *, formula: str | None = None, refuse: Iterable[Refusal] = (), formula_error: str | None = None
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Declare a worksheet function.

    Args:
        category: the heading under which spreadsheet programs list it.
        formula: the same rule as an ordinary formula with {argument} places, where there is one.
            An optional argument that is left out is put in as its default, or as "" if it has none.
        refuse: what is refused across arguments, in the order in which it is asked; limits of one
            argument stand in its kind.
        formula_error: what a LAMBDA shows where the formula gives an error of its own.

    The function's annotations are kinds; its docstring has the sections of `SECTIONS`. Under Args a line
    `as in OTHER: some, more.` takes the help of arguments over from a function that is declared before.
    """

    def declare(body: Callable[..., Any]) -> Callable[..., Any]:
        spec = _spec(body, category, formula, refuse, formula_error)
        REGISTRY.add(spec)
        for old in former_names_of(spec):
            words = f"Former name of {spec.name}; it stops working with the next version."
            FORMER[old] = replace(spec, name=old, help=words)
        body.__doc__ = spec.docstring()

        @functools.wraps(body)
        def function(*args: Any, **named: Any) -> Any:
            return calling.call(spec, args, named)

        function.spec = spec  # type: ignore[attr-defined]
        return function

    return declare


def _spec(
    body: Callable[..., Any],
    category: str,
    formula: str | None,
    refuse: Iterable[Refusal] = (),
    formula_error: str | None = None,
) -> FunctionSpec:
    name = body.__name__.upper()
    if "_" not in name:
        raise DeclarationError(f"{name}: a name without an underscore can look like a cell")
    hints = get_type_hints(body, include_extras=True)
    by_cell = not any(kind.takes_range or kind.own_shape for kind in map(_kind_of, hints.values()))
    help_text, sections = _read_docstring(name, inspect.getdoc(body) or "", {"Shape": EACH_CELL} if by_cell else {})
    texts = _read_arguments(name, sections.get("Args", ""))
    arguments = []
    for parameter in inspect.signature(body).parameters.values():
        text = texts.pop(parameter.name, "")
        if not text or len(text) > HELP_LIMIT:
            raise DeclarationError(f"{name}: {parameter.name} needs a help text of 1 to {HELP_LIMIT} characters")
        required = parameter.default is inspect.Parameter.empty
        kind = _kind_of(hints[parameter.name])
        default = None if required else _default(kind, parameter.default)
        arguments.append(Argument(parameter.name, kind, text, required, default))
    if texts:
        raise DeclarationError(f"{name}: help for unknown arguments {', '.join(texts)}")
    refusals = tuple(refuse)
    for refusal in refusals:
        refusal.check(argument.name for argument in arguments)
    return FunctionSpec(
        name=name,
        category=category,
        arguments=tuple(arguments),
        returns=_kind_of(hints["return"]),
        formula=formula,
        help=help_text,
        sections=sections,
        body=body,
        module=body.__module__,
        refusals=refusals,
        formula_error=formula_error,
    )


def _default(kind: CellType, given: Any) -> float | str | bool:
    if kind.holds == "text":
        return str(given)
    return bool(given) if kind.holds == "flag" else float(given)


def _kind_of(hint: Any) -> CellType:
    if get_origin(hint) is Annotated:
        for mark in get_args(hint)[1:]:
            if isinstance(mark, CellType):
                return mark
    raise DeclarationError(f"{hint} is not a kind")


def _read_docstring(name: str, text: str, understood: Mapping[str, str]) -> tuple[str, dict[str, str]]:
    parts = re.split(rf"^({'|'.join(SECTIONS)}):", text, flags=re.MULTILINE)
    help_text = " ".join(parts[0].split())
    bodies = zip(parts[1::2], parts[2::2], strict=True)
    found = {**understood, **{key: inspect.cleandoc(body) for key, body in bodies}}
    sections = {section: found[section] for section in SECTIONS if section in found}
    missing = [section for section in SECTIONS if section not in sections]
    if missing:
        raise DeclarationError(f"{name}: the docstring lacks {', '.join(missing)}")
    if not help_text or len(help_text) > HELP_LIMIT:
        raise DeclarationError(f"{name}: the first lines must have 1 to {HELP_LIMIT} characters")
    return help_text, sections


def _read_arguments(name: str, section: str) -> dict[str, str]:
    """The help of each argument; that of `as in OTHER: some, more.` is the same as there."""
    texts: dict[str, str] = {}
    for key, lines in re.findall(r"^(\w+|as in \w+):[ \t]*(.*(?:\n[ \t]+.*)*)", section, flags=re.MULTILINE):
        text = " ".join(lines.split())
        if not key.startswith("as in "):
            texts[key] = text
            continue
        other = REGISTRY.get(key.removeprefix("as in "))
        there = {argument.name: argument.help for argument in other.arguments} if other else {}
        shared = text.removesuffix(".").split(", ")
        if not there.keys() >= set(shared):
            raise DeclarationError(f"{name}: {key} there is no help for {text}")
        texts |= {argument: there[argument] for argument in shared}
    return texts
