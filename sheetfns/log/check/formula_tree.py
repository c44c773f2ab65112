"""Formulas as trees: the same one may have other brackets, and other names of its functions.

A program that keeps formulas as trees writes them with the brackets that it finds needed. The tree
is given as text, as a formula with all its brackets: two formulas are the same if these are.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from openpyxl.formula.tokenizer import Token, Tokenizer, TokenizerError

from sheetfns.log.check.formula_text import CellName, canonical_formula, is_cell, sheet_before

LONGEST: Final = 16_384
DEEPEST: Final = 128
"""Twice what Excel takes, as other programs write more brackets; beyond it nothing is read."""

# Excel's order of operations (Microsoft Support, "Calculation operators and precedence in Excel"):
# the higher bind tighter, and those of one height from left to right.
_RANGE, _INTERSECTION, _UNION = ":", " ", ","
_BETWEEN: Final = {
    _RANGE: 10,
    _INTERSECTION: 9,
    _UNION: 8,
    "^": 5,
    **dict.fromkeys("*/", 4),
    **dict.fromkeys("+-", 3),
    "&": 2,
    **dict.fromkeys(("=", "<", ">", "<=", ">=", "<>"), 1),
}
_SIGN, _PERCENT = 7, 6

NEW_NAMES: Final = {
    "CHIDIST": "CHISQ.DIST.RT",
    "CHIINV": "CHISQ.INV.RT",
    "CHITEST": "CHISQ.TEST",
    "CONFIDENCE": "CONFIDENCE.NORM",
    "COVAR": "COVARIANCE.P",
    "FDIST": "F.DIST.RT",
    "FINV": "F.INV.RT",
    "FTEST": "F.TEST",
    "LOGINV": "LOGNORM.INV",
    "MODE": "MODE.SNGL",
    "NORMDIST": "NORM.DIST",
    "NORMINV": "NORM.INV",
    "NORMSINV": "NORM.S.INV",
    "PERCENTILE": "PERCENTILE.INC",
    "PERCENTRANK": "PERCENTRANK.INC",
    "QUARTILE": "QUARTILE.INC",
    "RANK": "RANK.EQ",
    "STDEV": "STDEV.S",
    "STDEVP": "STDEV.P",
    "TINV": "T.INV.2T",
    "TTEST": "T.TEST",
    "VAR": "VAR.S",
    "VARP": "VAR.P",
    "ZTEST": "Z.TEST",
}
"""Functions that Excel 2010 gave a new name, with the same arguments and the same result.

That they were replaced: Microsoft Support, "Compatibility functions (reference)". Those whose new
form takes other arguments (NORMSDIST) or rounds otherwise (CEILING, FLOOR) are left out.
"""

_BLANKS: Final = re.compile(r"""("(?:[^"]|"")*"|'(?:[^']|'')*')|[\t\r\n\xa0]""")
_COLONS: Final = re.compile(r"'(?:[^']|'')*'|\[(?:[^\[\]]|\[[^\[\]]*\])*\]|(:)")
_BEFORE_EXPONENT: Final = re.compile(r"(?:\d+\.?\d*|\.\d+)[eE]")
_DIGITS: Final = re.compile(r"\d+")


class _UnreadableError(Exception):
    """What stands there is no formula that is understood."""


@dataclass(frozen=True)
class ComparedFormula:
    """A formula that is held against others.

    Attributes:
        text: the formula without the equals sign.
        named: what stands for a cell.
    """

    text: str
    named: Callable[[CellName], str]

    @cached_property
    def canonical(self) -> str:
        """The formula as it is written, apart from what programs write as they like."""
        return canonical_formula(self.text, self.named)

    @cached_property
    def bracketed(self) -> str | None:
        """The formula with all its brackets; None if it cannot be read."""
        return with_all_brackets(self.text, lambda part: canonical_formula(part, self.named))

    def same_as(self, other: ComparedFormula) -> bool:
        """Whether both say the same."""
        # Nearly all are written in the same way, and a tree takes five times as long.
        if self.canonical == other.canonical:
            return True
        return self.bracketed is not None and self.bracketed == other.bracketed


def with_all_brackets(text: str, operand: Callable[[str], str] = lambda part: part) -> str | None:
    """A formula in which every operation stands in brackets, and no other brackets do.

    Args:
        text: the formula without the equals sign.
        operand: how a cell, a number, or a name is written.

    Returns:
        the formula; None if it cannot be read.
    """
    if len(text) > LONGEST:
        return None
    try:
        return _Reader(list(_parts(text)), operand).whole()
    except _UnreadableError:
        return None


@dataclass(frozen=True)
class _Part:
    """A part of a formula.

    Attributes:
        kind: operand, sign, between, percent, open, close, comma or semicolon.
        text: the operand or the operator; of an open bracket, what stands before it.
    """

    kind: str
    text: str = ""

    @property
    def ends_operand(self) -> bool:
        """Whether an operator may follow."""
        return self.kind in {"operand", "close", "percent"}

    @property
    def begins_operand(self) -> bool:
        """Whether an operator may stand before it."""
        return self.kind in {"operand", "open"}


def _parts(text: str) -> Iterator[_Part]:
    """The parts of a formula; a blank between two references is an operator."""
    before: _Part | None = None
    blank = False
    for token in _tokens(text):
        if token.type == Token.WSPACE:
            blank = True
            continue
        for part in _parts_of(token):
            if blank and before and before.ends_operand and part.begins_operand:
                yield _Part("between", _INTERSECTION)
            yield part
            before, blank = part, False


def _tokens(text: str) -> list[Token]:
    # The tokenizer knows two of the blanks that may stand in a formula.
    plain = _BLANKS.sub(lambda found: found[1] or " ", text)
    try:
        tokens: list[Token] = Tokenizer(f"={plain}").items
    except (TokenizerError, AssertionError, IndexError) as error:
        # The latter two are what it does with brackets that nobody opened and the like.
        raise _UnreadableError from error
    return _with_whole_numbers(tokens)


def _with_whole_numbers(tokens: list[Token]) -> list[Token]:
    """Puts together what the tokenizer takes apart: 12E+15 and 0.5E-3."""
    whole: list[Token] = []
    for token in tokens:
        if (
            len(whole) > 1
            and whole[-1].value in {"+", "-"}
            and _BEFORE_EXPONENT.fullmatch(whole[-2].value)
            and _DIGITS.fullmatch(token.value)
        ):
            sign = whole.pop().value
            whole[-1] = Token.make_operand(f"{whole[-1].value}{sign}{token.value}")
        else:
            whole.append(token)
    return whole


_KINDS: Final = {Token.OP_PRE: "sign", Token.OP_IN: "between", Token.OP_POST: "percent"}


def _parts_of(token: Token) -> Iterator[_Part]:
    if token.type in _KINDS:
        yield _Part(_KINDS[token.type], token.value)
    elif token.type == Token.SEP:
        yield _Part("comma" if token.subtype == Token.ARG else "semicolon")
    elif token.subtype == Token.CLOSE:
        yield _Part("close", token.value)
    elif token.type == Token.FUNC:
        # To the tokenizer A1:INDEX( is the name of a function.
        *ranges, name = _at_colons(token.value[:-1])
        yield from _operands(ranges)
        # Gnumeric has a prefix of its own for functions that are newer than the file format.
        yield _Part("open", name.replace("_xlfngnumeric.", "_xlfn."))
    elif token.subtype == Token.OPEN:
        yield _Part("open", token.value.removesuffix("("))
    elif token.subtype == Token.TEXT:
        yield _Part("operand", token.value)
    else:
        yield from _operands(_at_colons(token.value))


def _at_colons(text: str) -> list[str]:
    """The colons of a text, and what stands before, between and after them."""
    items: list[str] = []
    start = 0
    for found in _COLONS.finditer(text):
        if found[1]:
            items += [text[start : found.start()], _RANGE]
            start = found.end()
    return [*items, text[start:]]


def _operands(items: list[str]) -> Iterator[_Part]:
    sheet = ""
    for item in items:
        if item == _RANGE:
            yield _Part("between", _RANGE)
        elif item:
            # The end of a range on another sheet stands there without the sheet's name.
            own = sheet_before(item)
            yield _Part("operand", item if own else sheet + item)
            sheet = own or sheet


class _Reader:
    """Reads the parts of one formula from left to right, by the strength of operators."""

    def __init__(self, parts: list[_Part], operand: Callable[[str], str]) -> None:
        self._parts = parts
        self._place = 0
        self._depth = 0
        self._operand = operand
        self._cells: set[str] = set()
        self._texts: set[str] = set()

    def whole(self) -> str:
        """The formula with all its brackets."""
        found = self._expression()
        if self._next().kind != "end":
            raise _UnreadableError
        return found

    def _next(self) -> _Part:
        return self._parts[self._place] if self._place < len(self._parts) else _Part("end")

    def _take(self, kind: str) -> bool:
        """Whether the next part is of a kind; if so, goes past it."""
        there = self._next().kind == kind
        self._place += there
        return there

    def _expression(self, weakest: int = 0) -> str:
        """All that hangs together by operators that bind tighter than the weakest."""
        self._depth += 1
        if self._depth > DEEPEST:
            raise _UnreadableError
        left = self._first()
        while True:
            part = self._next()
            if part.kind == "percent" and weakest < _PERCENT:
                self._place += 1
                left = f"({left}%)"
            elif part.kind == "between" and weakest < _BETWEEN[part.text]:
                self._place += 1
                left = self._joined(left, part.text, self._expression(_BETWEEN[part.text]))
            else:
                self._depth -= 1
                return left

    def _joined(self, left: str, operator: str, right: str) -> str:
        if operator == _RANGE and left == right and left in self._cells:
            return left  # some programs write a range of one cell as that cell
        if operator == "&":
            # Whichever two texts are put together first, the whole is the same; a sum may not be.
            left, right = (part[1:-1] if part in self._texts else part for part in (left, right))
        whole = f"({left}{operator}{right})"
        if operator == "&":
            self._texts.add(whole)
        return whole

    def _first(self) -> str:
        part = self._next()
        self._place += 1
        if part.kind == "sign":
            return f"({part.text}{self._expression(_SIGN)})"
        if part.kind == "operand":
            return self._leaf(part.text)
        if part.kind != "open":
            raise _UnreadableError
        if part.text == "{":
            return f"{{{self._list()}}}"
        if part.text:
            name = self._operand(part.text)
            arguments = self._list()
            whole = f"{NEW_NAMES.get(name, name)}({arguments})"
            return name if whole in {"TRUE()", "FALSE()"} else whole
        inner = self._expression()
        if not self._take("close"):
            raise _UnreadableError
        return inner

    def _leaf(self, text: str) -> str:
        found = text if text.startswith('"') else self._operand(text)
        if is_cell(text):
            self._cells.add(found)
        return found

    def _list(self) -> str:
        """Arguments, or the elements of an array, up to the bracket's end."""
        found: list[str] = []
        while not self._take("close"):
            if self._take("comma"):
                found.append(",")
            elif self._take("semicolon"):
                found.append(";")
            elif not found or found[-1] in {",", ";"}:
                found.append(self._expression())
            else:
                raise _UnreadableError
        return "".join(found)
