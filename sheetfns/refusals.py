"""What a function refuses across its arguments: a condition declared once, for columns and for formulas.

A condition is an expression as a cell has it, with {argument} places. A LAMBDA holds it as it is; for
Python it is translated into steps on floats and NumPy columns. The language has only what conditions
need: comparisons, + - * ^, numbers, texts, and the functions of `_FUNCTIONS`. `{x}=""` is true of what
is blank, and of an optional argument that was left out and whose default is no figure.
"""

from __future__ import annotations

import ast
import functools
import inspect
import math
import operator
import re
import string
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from sheetfns.cell_types import shown_cell
from sheetfns.errors import DIVISION, VALUE, CellError, DeclarationError, refuse_where
from sheetfns.money import round_money

Values = Mapping[str, Any]
"""By argument what the body gets for it: a figure, a column, or a whole range as one list."""
Step = Callable[[Values], Any]


@dataclass(frozen=True)
class Refusal:
    """A condition under which a row has an error.

    Attributes:
        where: the condition, with {argument} places.
        code: the error that the row shows.
        message: argument, rule and next step; {expressions} in it are shown as they are in the row.
            Without a message formulas alone ask: where a body reads a table it says itself which row
            of it is wrong.
        guard: no where a LAMBDA shows this error without being asked for it.
        python: the same condition in Python, where the language lacks words for it; its parameters
            are arguments of the function.
    """

    where: str
    code: str
    message: str = ""
    guard: bool = True
    python: Callable[..., Any] | None = None

    def check(self, arguments: Iterable[str]) -> None:
        """Refuse what no function with these arguments could evaluate, when it is declared."""
        named = set(re.findall(r"\{(\w+)\}", self.where))
        if self.message:
            named |= set(self._verdict_of) if self.python else _names_in(self.where)
            named |= {name for _, shown, _, _ in self._parts() if shown for name in _names_in(shown)}
            self.holds, self._shown  # noqa: B018  (translated once, here)
        if unknown := named - set(arguments):
            raise DeclarationError(f"{self.where}: no argument {', '.join(sorted(unknown))}")

    @property
    def _verdict_of(self) -> tuple[str, ...]:
        return tuple(inspect.signature(self.python).parameters) if self.python else ()

    @functools.cached_property
    def holds(self) -> Step:
        """Whether the condition is true: of figures, of each row of columns, or of whole ranges."""
        if self.python is None:
            return translated(self.where)
        verdict, names = self.python, self._verdict_of
        return lambda values: verdict(*(values[name] for name in names))

    @functools.cached_property
    def _shown(self) -> tuple[tuple[str, Step, str], ...]:
        """The parts of the message: words, then what is shown after them and in which format."""
        return tuple((words, translated(shown or '""'), style or "") for words, shown, style, _ in self._parts())

    def _parts(self) -> Iterable[tuple[str, str | None, str | None, str | None]]:
        return string.Formatter().parse(self.message)

    def refuse(self, values: Values) -> None:
        """Give the rows in which the condition is true their error; a single figure raises at once."""
        bad = self.holds(values)
        if bad is False:  # most single figures: their calls must be quick
            return
        if not np.ndim(bad):
            if bad:
                raise CellError(self.code, self._said([step(values) for _, step, _ in self._shown]))
        elif bad.any():
            bad, *columns = np.broadcast_arrays(bad, *(step(values) for _, step, _ in self._shown))
            for said, rows in self._by_message(bad, columns).items():
                refuse_where(rows, self.code, said)

    def _by_message(self, bad: Any, columns: list[Any]) -> dict[str, Any]:
        """The rows that get each message."""
        found: dict[str, Any] = {}
        for place in np.flatnonzero(bad):
            said = self._said([column.flat[place] for column in columns])
            found.setdefault(said, np.zeros(bad.shape, bool)).flat[place] = True
        return found

    def _said(self, cells: list[Any]) -> str:
        text = ""
        for (words, _, style), cell in zip(self._shown, cells, strict=True):
            plain = cell.item() if isinstance(cell, (np.ndarray, np.generic)) else cell
            text += words + (format(plain, style) if style else shown_cell(plain))
        return text


def divides_by(divisor: str, message: str) -> Refusal:
    """Refuses a divisor of 0; after all that a formula is guarded against, it shows so by itself.

    Args:
        divisor: what the rule divides by, with {argument} places.
        message: argument, rule and next step.
    """
    return Refusal(f"{divisor}=0", DIVISION, message, guard=False)


def unlike_sizes(name: str, other: str) -> Refusal:
    """Refuses two ranges that are not of one size; of a blank one the blank rule speaks."""
    cells, others = (f"ROWS({{{one}}})*COLUMNS({{{one}}})" for one in (name, other))
    return Refusal(
        f"AND({cells}>0,{others}>0,{cells}<>{others})",
        VALUE,
        f"{name} has {{ROWS({name})*COLUMNS({name})}} cells, {other} has {{ROWS({other})*COLUMNS({other})}}; "
        "give ranges of the same size",
    )


_TOKEN: Final = re.compile(
    r'\{(?P<argument>\w+)\}|(?P<text>"(?:[^"]|"")*")|(?P<number>\d+(?:\.\d+)?(?:E[+-]?\d+)?)'
    r"|(?P<sign><>|<=|>=|=|\^)|(?P<other>[A-Za-z_]\w*|[<>+\-*(),])"
)
_PYTHON_SIGNS: Final = {"<>": "!=", "<=": "<=", ">=": ">=", "=": "==", "^": "**"}


def translated(condition: str) -> Step:
    """A condition in the language of cells as a function of the arguments' values.

    >>> step = translated('AND({minimum}>{maximum},{rate}<>"")')
    >>> step({"minimum": 2.0, "maximum": np.array([1.0, 3.0]), "rate": 0.1}).tolist()
    [True, False]
    """
    return _step(_parsed(condition), condition)


def _names_in(condition: str) -> set[str]:
    names = {node.id for node in ast.walk(_parsed(condition)) if isinstance(node, ast.Name)}
    return names - set(_FUNCTIONS)


def _parsed(condition: str) -> ast.expr:
    try:
        return ast.parse(_in_python_signs(condition), mode="eval").body
    except SyntaxError:
        raise DeclarationError(f"{condition}: is no condition") from None


def _in_python_signs(condition: str) -> str:
    words, end = [], 0
    while end < len(condition):
        token = _TOKEN.match(condition, end)
        if token is None:
            raise DeclarationError(f"{condition}: {condition[end:]} is not in the language of conditions")
        end, found = token.end(), token[0]
        if token["argument"]:
            found = token["argument"]
        elif token["text"]:
            found = repr(found[1:-1].replace('""', '"'))
        elif token["sign"]:
            found = _PYTHON_SIGNS[found]
        words.append(found)
    return " ".join(words)


def _step(node: ast.expr, condition: str) -> Step:
    match node:
        case ast.Name(id=name):
            return operator.itemgetter(name)
        case ast.Constant(value=value):
            return lambda _: value
        case ast.UnaryOp(op=ast.USub(), operand=ast.Constant(value=int() | float() as figure)):
            return lambda _: -figure
        case ast.Compare(left=left, ops=[sign], comparators=[right]):
            of_text = isinstance(right, ast.Constant) and isinstance(right.value, str)
            comparisons = _OF_TEXTS if of_text else _OF_NUMBERS
            if type(sign) in comparisons:
                return _on(comparisons[type(sign)], _step(left, condition), _step(right, condition))
        case ast.BinOp(left=left, op=sign, right=right) if type(sign) in _ARITHMETIC:
            return _on(_ARITHMETIC[type(sign)], _number(left, condition), _number(right, condition))
        case ast.Call(func=ast.Name(id=name), args=arguments, keywords=[]) if name in _FUNCTIONS:
            return _on(_FUNCTIONS[name], *(_step(one, condition) for one in arguments))
    raise DeclarationError(f"{condition}: {ast.unparse(node)} is not in the language of conditions")


def _on(function: Callable[..., Any], *steps: Step) -> Step:
    if len(steps) == 1:
        (only,) = steps
        return lambda values: function(only(values))
    if len(steps) == 2:
        left, right = steps
        return lambda values: function(left(values), right(values))
    return lambda values: function(*(step(values) for step in steps))


def _number(node: ast.expr, condition: str) -> Step:
    """In arithmetic true counts as 1 and false as 0."""
    step = _step(node, condition)
    return _on(functools.partial(np.multiply, 1.0), step) if isinstance(node, ast.Compare) else step


def _each(function: Callable[[Any], Any], cells: Any) -> Any:
    return np.frompyfunc(function, 1, 1)(cells)


def _is_text(cells: Any, word: str) -> Any:
    """Whether cells are this text, whose capitals make no difference, or blank if it is empty."""
    if not word and isinstance(cells, float):
        return not math.isfinite(cells)
    if not word and np.asarray(cells).dtype.kind == "f":
        return np.logical_not(np.isfinite(cells))
    same = _each(lambda cell: ("" if cell is None else str(cell).casefold()) == word.casefold(), cells)
    return np.asarray(same, bool)


def _trimmed(cells: Any) -> Any:
    return _each(lambda cell: cell if cell is None else str(cell).strip(), cells)


def _is_no_text(cells: Any, word: str) -> Any:
    same = _is_text(cells, word)
    return not same if isinstance(same, bool) else np.logical_not(same)


def _all_true(*conditions: Any) -> Any:
    return functools.reduce(operator.and_, conditions)


def _one_true(*conditions: Any) -> Any:
    return functools.reduce(operator.or_, conditions)


def _sum_of_products(*columns: Any) -> Any:
    return np.nansum(functools.reduce(np.multiply, columns))


def _count(cells: Any) -> int:
    return int(np.isfinite(cells).sum())


def _highest(cells: Any) -> Any:
    return np.fmax.reduce(cells, initial=-np.inf)


def _width(cells: Any) -> int:
    """A range is one list to a body; only a block has columns."""
    return int(cells.shape[1]) if cells.ndim == 2 else 1


_OF_TEXTS: Final[dict[type, Callable[..., Any]]] = {ast.Eq: _is_text, ast.NotEq: _is_no_text}
_OF_NUMBERS: Final[dict[type, Callable[..., Any]]] = {
    ast.Eq: operator.eq,
    ast.NotEq: operator.ne,
    ast.Lt: operator.lt,
    ast.LtE: operator.le,
    ast.Gt: operator.gt,
    ast.GtE: operator.ge,
}
_ARITHMETIC: Final[dict[type, Callable[..., Any]]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Pow: operator.pow,
}
_FUNCTIONS: Final[dict[str, Callable[..., Any]]] = {
    "ABS": np.abs,
    "AND": _all_true,
    "COLUMNS": _width,
    "COUNT": _count,
    "INT": np.floor,
    "MAX": _highest,
    "OR": _one_true,
    "ROUND": lambda figure, digits: round_money(figure, int(digits)),
    "ROWS": len,
    "SUM": np.nansum,
    "SUMPRODUCT": _sum_of_products,
    "TRIM": _trimmed,
}
