"""What Excel refuses and more lenient readers pass; a workbook that breaks a limit is not written.

A breach usually shows in Excel as an offer to repair the file on opening, and what broke the limit
is lost.

Source: Microsoft, "Excel specifications and limits" (read in a stored excerpt, 2026-11-28): cell
text, header and footer, styles, fonts, links. Second hand, from pages that quote it: arguments and
levels of functions. A text in a formula: github.com/ropensci/writexl issue 91, a file that opened
with an error. Second hand, not tried in Excel: the length of a formula, validations, names, a
sheet's name. The comment of a name: see lambda_names.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from xlsxwriter.format import Format
from xlsxwriter.utility import xl_cell_to_rowcol, xl_rowcol_to_cell
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

TEXT_IN_FORMULA: Final = 255
FORMULA: Final = 8192
NESTING: Final = 64
ARGUMENTS: Final = 255
VALIDATION_FORMULA: Final = 255
PROMPT: Final = 255
PROMPT_TITLE: Final = 32
CELL_TEXT: Final = 32767
SHEET_NAME: Final = 31
DEFINED_NAME: Final = 255
NAME_COMMENT: Final = 255
PAGE_HEADER: Final = 255
LINKS: Final = 65530
STYLES: Final = 65490
FONTS: Final = 512

_QUOTED: Final = re.compile(r"""'(?:[^']|'')*'|"((?:[^"]|"")*)\"""")
_LIKE_A_CELL: Final = re.compile(r"[A-Za-z]{1,3}\d{1,7}|[Rr]\d*(?:[Cc]\d*)?|[Cc]\d*")
_A_NAME: Final = re.compile(r"[^\W\d][\w.]*")


@dataclass(frozen=True)
class Breach:
    """What goes over a limit."""

    what: str
    found: int | str
    limit: int | str

    def __str__(self) -> str:
        return f"{self.what}: {self.found}; Excel's limit is {self.limit}"


class LimitError(Exception):
    """Something of a workbook that Excel would refuse; the message says where it stands."""

    def __init__(self, where: str, breach: Breach) -> None:
        self.where = where
        self.breach = breach
        super().__init__(f"{where}: {breach}")


def formula_breaches(formula: str) -> Iterator[Breach]:
    """What is wrong with a formula as it is stored, without its equals sign.

    >>> [str(breach) for breach in formula_breaches('LEN("' + "a" * 256 + '")')]
    ["characters of a text in a formula: 256; Excel's limit is 255"]
    """
    if len(formula) > FORMULA:
        yield Breach("characters of a formula", len(formula), FORMULA)
    if (longest := longest_text(formula)) > TEXT_IN_FORMULA:
        yield Breach("characters of a text in a formula", longest, TEXT_IN_FORMULA)
    # Counting signs is quick; only a formula with many of them is taken apart.
    if formula.count("(") <= NESTING and formula.count(",") < ARGUMENTS:
        return
    depth, arguments = formula_depth(formula)
    if depth > NESTING:
        yield Breach("levels of functions inside functions", depth, NESTING)
    if arguments > ARGUMENTS:
        yield Breach("arguments of a function", arguments, ARGUMENTS)


def longest_text(formula: str) -> int:
    """The length of the longest text in a formula; 0 if all its texts are short.

    >>> longest_text('IF(A1="","no",REPT("' + "a" * 300 + '",2))')
    300
    """
    if len(formula) <= TEXT_IN_FORMULA:
        return 0
    return max((len(text) for text in _QUOTED.findall(formula)), default=0)


_NO_CODE: Final = re.compile(r"""\"[^\"]*\"|'[^']*'|\{[^}]*\}""")
"""Texts, names of sheets, and constants in braces."""
_SIGNS: Final = re.compile(r"[\w.]?\(|[),]")


def formula_depth(formula: str) -> tuple[int, int]:
    """How many functions stand inside each other, and the most arguments of one of them.

    >>> formula_depth("IF(A1>0,SUM(A1,A2,ABS(A3)),0)")
    (3, 3)
    """
    open_now: list[int] = []
    depth = functions = arguments = 0
    # One sign at a time: a tokenizer takes twenty times as long, and each row has such a formula.
    for sign in _SIGNS.findall(_NO_CODE.sub("", formula)):
        if sign == ")":
            functions -= open_now.pop() > 0
        elif sign != ",":
            open_now.append(len(sign) - 1)
            functions += len(sign) > 1
            depth = max(depth, functions)
        elif open_now and open_now[-1]:
            open_now[-1] += 1
            arguments = max(arguments, open_now[-1])
    return depth, arguments


def validation_breaches(rule: dict[str, str]) -> Iterator[Breach]:
    """What is wrong with a rule of what may be typed.

    Args:
        rule: its texts by `title`, `prompt`, `error_title`, `error`, `formula` and `formula_2`.
    """
    for part, limit in (
        ("title", PROMPT_TITLE),
        ("error_title", PROMPT_TITLE),
        ("prompt", PROMPT),
        ("error", PROMPT),
        ("formula", VALIDATION_FORMULA),
        ("formula_2", VALIDATION_FORMULA),
    ):
        text = rule.get(part, "")
        if len(text) > limit:
            yield Breach(f"characters of a validation's {part.replace('_', ' ')}", len(text), limit)


def name_breaches(name: str, formula: str, comment: str = "") -> Iterator[Breach]:
    """What is wrong with a defined name, what it stands for and its comment."""
    if len(name) > DEFINED_NAME:
        yield Breach("characters of a defined name", len(name), DEFINED_NAME)
    if _LIKE_A_CELL.fullmatch(name) or not _A_NAME.fullmatch(name):
        yield Breach("a defined name", name, "a word that does not look like a cell")
    if len(comment) > NAME_COMMENT:
        yield Breach("characters of a name's comment", len(comment), NAME_COMMENT)
    yield from formula_breaches(formula)


def text_breaches(what: str, text: str, limit: int) -> Iterator[Breach]:
    """Whether a text is too long; `what` says what it is."""
    if len(text) > limit:
        yield Breach(f"characters of {what}", len(text), limit)


class _Exact(float):
    """A number that is written with as many digits as tell it from every other.

    XlsxWriter writes 16, so that 81.1 becomes 81.09999999999999; a program that calculates with
    more digits than most then rounds half a cent down that stands half a cent up.
    """

    def __format__(self, _spec: str) -> str:
        return repr(float(self)).removesuffix(".0")


def _cell(place: Sequence[Any]) -> str:
    return str(place[0] if isinstance(place[0], str) else xl_rowcol_to_cell(*place[:2]))


class LimitedSheet(Worksheet):  # type: ignore[misc]  # its package has no types
    """A sheet that refuses what breaks a limit, where XlsxWriter would write it or leave it out."""

    def write_formula(self, *place_and_formula: Any) -> Any:
        """Write a formula, see XlsxWriter."""
        place, rest = _parted(place_and_formula)
        self._refuse(place, formula_breaches(rest[0].removeprefix("=")))
        return super().write_formula(*place, *rest)

    def write_string(self, *place_and_text: Any) -> Any:
        """Write a text, see XlsxWriter."""
        place, rest = _parted(place_and_text)
        self._refuse(place, text_breaches("a cell", rest[0], CELL_TEXT))
        return super().write_string(*place, *rest)

    def data_validation(self, *area_and_rule: Any) -> Any:
        """Add a rule of what may be typed, see XlsxWriter."""
        *area, rule = area_and_rule
        source = rule.get("source", rule.get("value", rule.get("minimum", "")))
        listed = ",".join(map(str, source)) if isinstance(source, list) else str(source)
        texts = {
            "title": rule.get("input_title", ""),
            "prompt": rule.get("input_message", ""),
            "error_title": rule.get("error_title", ""),
            "error": rule.get("error_message", ""),
            "formula": listed.removeprefix("="),
            "formula_2": str(rule.get("maximum", "")).removeprefix("="),
        }
        self._refuse(area, validation_breaches(texts))
        return super().data_validation(*area_and_rule)

    def conditional_format(self, *area_and_rule: Any) -> Any:
        """Add a conditional format, see XlsxWriter."""
        *area, rule = area_and_rule
        self._refuse(area, formula_breaches(str(rule.get("criteria", "")).removeprefix("=")))
        return super().conditional_format(*area_and_rule)

    def set_header(self, header: str = "", *rest: Any) -> None:
        """Set what stands over each printed page, see XlsxWriter."""
        self._refuse((), text_breaches("the page header", header, PAGE_HEADER))
        super().set_header(header, *rest)

    def set_footer(self, footer: str = "", *rest: Any) -> None:
        """Set what stands under each printed page, see XlsxWriter."""
        self._refuse((), text_breaches("the page footer", footer, PAGE_HEADER))
        super().set_footer(footer, *rest)

    def write_url(self, *place_and_link: Any) -> Any:
        """Write a link, see XlsxWriter."""
        place, rest = _parted(place_and_link)
        if self.hlink_count >= LINKS:
            self._refuse(place, iter([Breach("links of a sheet", LINKS + 1, LINKS)]))
        return super().write_url(*place, *rest)

    def _xml_number_element(self, number: float, attributes: Sequence[Any] = ()) -> None:
        super()._xml_number_element(_Exact(number), attributes)

    def _refuse(self, place: Sequence[Any], breaches: Iterator[Breach]) -> None:
        for breach in breaches:
            name = self.get_name()
            raise LimitError(f"{name}, {_cell(place)}" if place else name, breach)


def _parted(arguments: tuple[Any, ...]) -> tuple[tuple[Any, ...], tuple[Any, ...]]:
    """Row and column, and the rest; XlsxWriter takes A1 too."""
    if isinstance(arguments[0], str):
        return xl_cell_to_rowcol(arguments[0]), arguments[1:]
    return arguments[:2], arguments[2:]


class LimitedWorkbook(Workbook):  # type: ignore[misc]  # its package has no types
    """A workbook of such sheets, whose names and styles keep the limits too."""

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self._names_of_all: set[str] = set()

    def add_worksheet(self, name: str | None = None, worksheet_class: Any = None) -> LimitedSheet:
        """Add a sheet, see XlsxWriter, which looks at its name."""
        sheet: LimitedSheet = super().add_worksheet(name, worksheet_class or LimitedSheet)
        return sheet

    def define_name(self, name: str, formula: str, comment: str = "") -> Any:
        """Define a name, see XlsxWriter."""
        where = f"defined name {name}"
        own, target = name.rpartition("!")[2], formula.removeprefix("=")
        for breach in name_breaches(own, target, comment):
            raise LimitError(where, breach)
        key = name.casefold()
        if key in self._names_of_all:
            raise LimitError(where, Breach("times that it is defined", 2, 1))
        made = super().define_name(name, formula)
        # A name behind that of a sheet is the sheet's own, and another sheet may have it too.
        if made == 0 and "!" not in name:
            self._names_of_all.add(key)
        return made

    def add_format(self, properties: dict[str, Any] | None = None) -> Format:
        """Add a format, see XlsxWriter."""
        if len(self.formats) >= STYLES:
            raise LimitError("the workbook", Breach("styles", STYLES + 1, STYLES))
        return super().add_format(properties)
