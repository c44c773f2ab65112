"""Formulas are the same whatever brackets and names of functions a program writes, and only then."""

from __future__ import annotations

import random
import re
from dataclasses import dataclass
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter
from hypothesis import assume, given
from hypothesis import strategies as st

from sheetfns.log.check.formula_text import CellName
from sheetfns.log.check.formula_tree import DEEPEST, LONGEST, NEW_NAMES, ComparedFormula, with_all_brackets
from tests import gnumeric, ironcalc_engine
from tests.log.libreoffice_in_turn import recalculate_all


def same(one: str, other: str) -> bool:
    def named(cell: CellName) -> str:
        return f"{{{cell.sheet}!{cell.column}@{cell.row}}}"

    forwards = ComparedFormula(one, named).same_as(ComparedFormula(other, named))
    assert ComparedFormula(other, named).same_as(ComparedFormula(one, named)) == forwards
    return forwards


@pytest.mark.parametrize(
    ("one", "other"),
    [
        # Brackets that change nothing
        ("A1+B1", "(A1)+((B1))"),
        ("A1*B1+C1", "((A1*B1)+C1)"),
        ("A1-B1-C1", "(A1-B1)-C1"),
        ("A1^B1^C1", "(A1^B1)^C1"),
        ("-2^2", "(-2)^2"),
        ("-A1:B2", "-(A1:B2)"),
        ("2*-3", "2*(-3)"),
        ("2^-1", "2^(-1)"),
        ("A1&B1=C1&D1", "(A1&B1)=(C1&D1)"),
        ("A1+B1&C1", "(A1+B1)&C1"),
        ("A1&(B1&C1)&D1", "A1&B1&C1&D1"),
        ("A1&((B1&C1)&D1)", "A1&B1&C1&D1"),
        ("5%^2", "(5%)^2"),
        ("SUM(A1:B2,(C1))", "SUM((A1:B2),C1)"),
        ("IF((A1=1),(Usual_packaging),0)", "IF(A1=1,Usual_packaging,0)"),
        ("A1:INDEX(B1:B9,2)", "(A1):(INDEX((B1:B9),2))"),
        ("INDEX(A1:A9,1):INDEX(A1:A9,2)", "(INDEX(A1:A9,1)):(INDEX(A1:A9,2))"),
        ("SUM((A1:B2 B1:C2))", "SUM(A1:B2 B1:C2)"),
        # Names
        ("PERCENTILE(A1:A9,0.5)+(1)", "_xlfn.PERCENTILE.INC(A1:A9,0.5)+1"),
        ("NORMSINV(A1)", "_xlfn.NORM.S.INV(A1)"),
        ("FILTER(A1:A9,(B1:B9))", "_xlfn._xlws.FILTER(A1:A9,B1:B9)"),
        ("NET_PROFIT((A1),2)", "sheetfns.net_profit(A1,2)"),
        # What was the same before, in formulas that differ by a bracket besides
        ("(1E+15)", "1000000000000000"),
        ("(12e15+A1)", "12E+15+A1"),
        ("(.5)", "0.50"),
        ("(0.5E-3)", "0.0005"),
        ("IF((A1),TRUE,FALSE)", "if(A1,TRUE(),False())"),
        ("'Log'!A1+(1)", "Log!A1+1"),
        ("'My Log'!A1:B2+(1)", "'My Log'!A1:'My Log'!B2+1"),
        ("SUM((A1:A1))", "SUM(A1)"),
        ("SUM((Log!A1:A1))", "SUM(Log!A1)"),
        ("(A1)+\t B1", "A1 +\r\nB1"),
        ('("a  b")&"c"', '"a  b"&"c"'),
    ],
)
def test_the_same(one, other):
    assert same(one, other)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        # Brackets that change something
        ("A1-(B1-C1)", "A1-B1-C1"),
        ("A1+(B1+C1)", "A1+B1+C1"),  # by the last bit
        ("A1/(B1*C1)", "A1/B1*C1"),
        ("A1*(B1/C1)", "A1*B1/C1"),
        ("A1^(B1^C1)", "A1^B1^C1"),
        ("(A1&B1)=C1", "A1&(B1=C1)"),
        ("(A1=B1)=C1", "A1=(B1=C1)"),
        ('(A1="")<>(B1="")', 'A1=""<>B1=""'),
        ("-(2^2)", "-2^2"),
        ("-(2^2)", "(-2)^2"),
        ("(1+2)%", "1+2%"),
        ("SUM((A1,B1))", "SUM(A1,B1)"),
        ("SUM((A1,B1),C1)", "SUM((A1,B1,C1))"),
        ("SUM(A1:(B1 C1))", "SUM(A1:B1 C1)"),
        # Other parts
        ("A1+B1", "B1+A1"),
        ("A1+0", "A1"),
        ("+A1", "A1"),
        ("--A1", "A1"),
        ("SUM(A1)", "SUM(A1,)"),
        ("SUM(,A1)", "SUM(A1)"),
        ("IF(A1,)", "IF(A1)"),
        ("{1,2}", "{1;2}"),
        ("{1,2}", "{1,3}"),
        ("Log!A1", "Lots!A1"),
        ("Log!A1:B2", "Log!A1:Lots!B2"),
        ("SUM(A1:A2)", "SUM(A1:A1)"),
        ('"a"', '"A"'),
        ('"a b"', '"a  b"'),
        ('"1"', "1"),
        ("1", "1%"),
        # Names that are not the same function
        ("NORMSDIST(A1)", "NORM.S.DIST(A1,TRUE)"),
        ("PERCENTILE(A1:A9,0.5)", "PERCENTILE.EXC(A1:A9,0.5)"),
        ("CEILING(A1,2)", "CEILING.MATH(A1,2)"),
        ("STDEV(A1:A9)", "STDEVP(A1:A9)"),
        ("MEDIAN(A1:A9)", "AVERAGE(A1:A9)"),
    ],
)
def test_not_the_same(one, other):
    assert not same(one, other)


def test_each_new_name_belongs_to_one_function():
    assert len(set(NEW_NAMES.values())) == len(NEW_NAMES)
    assert not set(NEW_NAMES) & set(NEW_NAMES.values())


@pytest.mark.parametrize(
    ("text", "whole"),
    [
        ("1-2-3*4^5^6", "((1-2)-(3*((4^5)^6)))"),
        ("-2^2", "((-2)^2)"),
        ("-5%", "((-5)%)"),
        ("2^-3%", "(2^((-3)%))"),
        ("--A1", "(-(-A1))"),
        ("1&2+3>4=5", "(((1&(2+3))>4)=5)"),
        ("1<=2<>3>=4", "(((1<=2)<>3)>=4)"),
        ("1&2&3", "(1&2&3)"),
        ("SUM((A1:B2,C1 C1:D2),,{1,-2;3,4})", "SUM(((A1:B2),(C1 (C1:D2))),,{1,(-2);3,4})"),
        ("A1:B2:INDEX(x,1)", "((A1:B2):INDEX(x,1))"),
        ("PERCENTILE.INC(A1,1)", "PERCENTILE.INC(A1,1)"),
        ("NOW()", "NOW()"),
        ("'a''b:c'!A1", "'a''b:c'!A1"),
        ("Prices[[#This Row],[a:b]]", "Prices[[#This Row],[a:b]]"),
        ("#N/A", "#N/A"),
    ],
)
def test_the_order_of_operations(text, whole):
    assert with_all_brackets(text) == whole


@pytest.mark.parametrize(
    "text",
    [
        *("", " ", "1+", "*1", "(1", "1)", "()", "(1))", "1 2+", "SUM(1 2", "SUM(1;2", "{1,2", "1+*2"),
        *('"a', "'a", "a#b", "A1#", "[a", "(A1)(B1)", "{1}{2}", "=1", "A1:", ":A1", "1,", "SUM(1}"),
        "(" * (DEEPEST + 1) + "1" + ")" * (DEEPEST + 1),
        "-" * (DEEPEST + 1) + "1",
        "1+" * LONGEST + "1",
    ],
)
def test_what_cannot_be_read_is_compared_as_it_is_written(text):
    assert with_all_brackets(text) is None
    assert same(text, text)
    assert not same(text, f"({text})")


@given(st.text(st.sampled_from("A1$:!'\"(){}[]#,;+-*/^&=<>% .@\n\r\teE5xSUM")))
def test_no_text_ends_it(text):
    with_all_brackets(text)
    assert same(text, text)


# ---- random trees ----------------------------------------------------------------------------

LEAVES = (
    "A1",
    "$B$2",
    "C$3",
    "Log!$A$7",
    "'My sheet'!B2",
    "Log_paid",
    "Usual_packaging",
    "1",
    "0.5",
    "250",
    '"a, (b)"',
    '""',
    "TRUE",
)
STRENGTH = {
    "^": 5,
    **dict.fromkeys("*/", 4),
    **dict.fromkeys("+-", 3),
    "&": 2,
    **dict.fromkeys(("=", "<", ">", "<=", ">=", "<>"), 1),
}
WHOLE, SIGN, PERCENT = 9, 7, 6


@dataclass(frozen=True)
class Tree:
    """An operation or a call on parts; a leaf has none."""

    what: str
    parts: tuple[Tree, ...] = ()

    @property
    def strength(self) -> int:
        if len(self.parts) == 2 and self.what in STRENGTH:
            return STRENGTH[self.what]
        return {"sign-": SIGN, "%": PERCENT}.get(self.what, WHOLE)

    def shown(self, extra) -> str:
        """The formula; `extra` says how many brackets more than needed a part gets."""
        text = self._text(extra)
        more = extra()
        return "(" * more + text + ")" * more

    def _text(self, extra) -> str:
        if not self.parts:
            return self.what
        shown = [part.shown(extra) for part in self.parts]
        if self.what == "sign-":
            return "-" + bracketed(shown[0], self.parts[0].strength < SIGN)
        if self.what == "%":
            return bracketed(shown[0], self.parts[0].strength < PERCENT) + "%"
        if self.what in STRENGTH:
            left, right = self.parts
            return (
                bracketed(shown[0], left.strength < self.strength)
                + self.what
                + bracketed(shown[1], right.strength <= self.strength)
            )
        return f"{self.what}({','.join(shown)})"


def bracketed(text: str, needed: bool) -> str:
    return f"({text})" if needed else text


def trees() -> st.SearchStrategy[Tree]:
    def larger(part):
        return st.one_of(
            st.builds(lambda what, a, b: Tree(what, (a, b)), st.sampled_from(list(STRENGTH)), part, part),
            st.builds(lambda what, a: Tree(what, (a,)), st.sampled_from(("sign-", "%")), part),
            st.builds(
                lambda what, parts: Tree(what, tuple(parts)),
                st.sampled_from(("SUM", "IF", "NET_PROFIT")),
                st.lists(part, min_size=1, max_size=3),
            ),
        )

    return st.recursive(st.sampled_from(LEAVES).map(Tree), larger, max_leaves=12)


@given(trees(), st.data())
def test_brackets_that_are_not_needed_change_nothing(tree, data):
    needed = tree.shown(lambda: 0)
    more = tree.shown(lambda: data.draw(st.integers(0, 2)))
    assert with_all_brackets(needed) is not None
    assert same(needed, more)
    assert with_all_brackets(with_all_brackets(needed)) == with_all_brackets(needed)


def changed(tree: Tree, data) -> Tree:
    """One leaf or operator is another."""
    if tree.parts and data.draw(st.booleans()):
        place = data.draw(st.integers(0, len(tree.parts) - 1))
        parts = list(tree.parts)
        parts[place] = changed(parts[place], data)
        return Tree(tree.what, tuple(parts))
    if not tree.parts:
        others = [leaf for leaf in LEAVES if leaf != tree.what]
    elif tree.what in STRENGTH:
        others = [operator for operator in STRENGTH if operator != tree.what]
    else:
        others = [{"sign-": "%", "%": "sign-", "SUM": "MAX"}.get(tree.what, "SUM")]
    return Tree(data.draw(st.sampled_from(others)), tree.parts)


@given(trees(), st.data())
def test_another_operator_constant_or_reference_is_a_difference(tree, data):
    other = changed(tree, data)
    assert not same(tree.shown(lambda: 0), other.shown(lambda: data.draw(st.integers(0, 1))))


@given(trees(), st.data())
def test_a_needed_bracket_that_is_left_out_is_a_difference(tree, data):
    """The parts of one operator put together otherwise."""
    one, two = data.draw(st.sampled_from(list(STRENGTH))), data.draw(st.sampled_from(list(STRENGTH)))
    assume((one, two) != ("&", "&"))
    a, b = Tree("A1"), Tree("Log_paid")
    left = Tree(two, (Tree(one, (a, b)), tree))
    right = Tree(one, (a, Tree(two, (b, tree))))
    assert not same(left.shown(lambda: 0), right.shown(lambda: 0))


# ---- Excel's order of operations, as other programs know it ----------------------------------

NUMBERS = ("1", "2", "3", "4", "0.5")


def random_sums(count: int) -> list[str]:
    """Expressions of constants without one bracket."""
    dice = random.Random(20260101)
    operators = [*"^*/+-&", *"^*/+-", "=", "<", ">=", "<>"]
    found = []
    for _ in range(count):
        text = ""
        for place in range(dice.randint(3, 6)):
            text += dice.choice(operators) if place else ""
            text += dice.choice(("", "", "-")) + dice.choice(NUMBERS) + dice.choice(("", "", "", "%"))
        found.append(text)
    return found


@pytest.fixture(scope="module")
def sums(tmp_path_factory) -> tuple[list[str], Path]:
    """Expressions, and a workbook of them: as they are, with all brackets, with others."""
    texts = random_sums(400)
    path = tmp_path_factory.mktemp("sums") / "sums.xlsx"
    book = xlsxwriter.Workbook(path)
    sheet = book.add_worksheet("Sums")
    for row, text in enumerate(texts):
        sheet.write_formula(row, 0, f"={text}", value="")
        sheet.write_formula(row, 1, f"={with_all_brackets(text)}", value="")
        sheet.write_formula(row, 2, f"={from_the_right(text)}", value="")
    book.close()
    return texts, path


def from_the_right(text: str) -> str:
    """Other brackets than are meant: those of the operators from right to left."""
    tokens = openpyxl.formula.Tokenizer(f"={text}").items
    found, ends = "", 0
    for place, token in enumerate(tokens):
        found += token.value
        if token.type == "OPERATOR-INFIX" and place < len(tokens) - 2:
            found, ends = found + "(", ends + 1
    return found + ")" * ends


def of_one_order(saved: Path, texts: list[str], left_out: str = "(?!)") -> None:
    """Each expression is what it is with all brackets, and most are not with others."""
    sheet = openpyxl.load_workbook(saved, data_only=True)["Sums"]
    rows = [[sheet.cell(row, column).value for column in (1, 2, 3)] for row in range(1, len(texts) + 1)]
    assert [
        (text, *row)
        for text, row in zip(texts, rows, strict=True)
        if not alike(row[0], row[1]) and not re.search(left_out, text)
    ] == []
    assert sum(row[0] is not None and not str(row[0]).startswith("#") for row in rows) > 250
    # A witness that gave the same for any brackets would be none.
    assert sum(not alike(row[0], row[2]) for row in rows) > 200


def alike(one: object, other: object) -> bool:
    return one == other and type(one) is type(other)


@pytest.mark.libreoffice
def test_the_order_is_that_of_libreoffice(sums, tmp_path):
    texts, path = sums
    of_one_order(recalculate_all([path], tmp_path / "saved")[0], texts)


@pytest.mark.gnumeric
@pytest.mark.filterwarnings("ignore:Workbook contains no default style")
def test_the_order_is_that_of_gnumeric(sums, tmp_path):
    texts, path = sums
    # 2^3^2 is 2^(3^2) there, in an .xlsx file too.
    saved = gnumeric.recalculate([path], tmp_path / "saved")[path]
    of_one_order(saved, texts, left_out=r"\^-?[\d.%]+\^")


@pytest.mark.ironcalc
def test_the_order_is_that_of_ironcalc(sums, tmp_path):
    texts, path = sums
    of_one_order(ironcalc_engine.recalculate([path], tmp_path / "saved")[path], texts)
