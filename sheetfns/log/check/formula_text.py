"""Formulas as they are compared: what programs write differently is made the same."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from sheetfns.files.cell_names import column_number
from sheetfns.registry import ADD_IN

_TOKEN: Final = re.compile(
    r"""(?P<string>"(?:[^"]|"")*")
    |(?P<sheet>'(?:[^']|'')*'!|[^\W\d][\w.]*!)
    |(?P<cell>(?<![\w.$])(?P<dc>\$?)(?P<col>[A-Za-z]{1,3})(?P<dr>\$?)(?P<row>\d{1,7})(?![\w(.!]))
    |(?P<word>[^\W\d][\w.]*)
    |(?P<number>(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)
    |(?P<blank>\s+)
    |(?P<other>.)""",
    re.DOTALL | re.VERBOSE,
)
_ROWS: Final = re.compile(r""""(?:[^"]|"")*"|'(?:[^']|'')*'!|(?<![\w.$])(\$?[A-Za-z]{1,3})(\d{1,7})(?![\w(.!])""")
_PREFIXES: Final = re.compile(rf"^(?:_XLFN\.|_XLWS\.|{ADD_IN}\.)+")
"""What files have before the names of newer functions, and LibreOffice before the add-in's."""


@dataclass(frozen=True)
class CellName:
    """A cell that a formula names; row and column counted from 1 and 0.

    `sheet` is "" for a cell of the formula's own sheet.
    """

    sheet: str
    row: int
    column: int
    row_fixed: bool
    text: str


def same_for_all_rows(text: str, row: int) -> str:
    """A formula with the rows that it names counted from its own: a key that is quick to make."""

    def relative(found: re.Match[str]) -> str:
        return found[0] if found[1] is None else f"{found[1]}[{int(found[2]) - row}]"

    return _ROWS.sub(relative, text)


def is_cell(text: str) -> bool:
    """Whether this is one cell, with or without the name of its sheet."""
    tokens = list(_TOKEN.finditer(text))
    if tokens and tokens[0]["sheet"]:
        del tokens[0]
    return len(tokens) == 1 and tokens[0]["cell"] is not None


def sheet_before(text: str) -> str:
    """The sheet that a reference begins with, with its quotes and the mark after it; "" if none."""
    token = _TOKEN.match(text)
    return (token["sheet"] or "") if token else ""


def canonical_formula(text: str, named: Callable[[CellName], str]) -> str:
    """A formula without what programs write as they like: blanks, capitals, quotes, digits.

    Args:
        text: the formula without the equals sign.
        named: what stands for a cell.
    """
    parts: list[str] = []
    sheet = ""
    for token in _TOKEN.finditer(text):
        kind = token.lastgroup if token["cell"] is None else "cell"
        if kind == "sheet":
            sheet = token["sheet"][:-1].strip("'").replace("''", "'").casefold()
            continue
        if kind == "cell":
            cell = CellName(sheet, int(token["row"]), column_number(token["col"].upper()), bool(token["dr"]), token[0])
            name = named(cell)
            if parts[-2:] == [name, ":"]:
                parts.pop()  # some programs write a range of one cell as that cell
            else:
                parts.append(name)
        elif kind == "word":
            word = _PREFIXES.sub("", token[0].upper())
            parts.append((f"{sheet}!" if sheet else "") + word)
        elif kind == "number":
            parts.append(repr(float(token[0])))
        elif kind != "blank":
            parts.append(token[0])
        # The end of a range on another sheet stands there without the sheet's name.
        sheet = (
            sheet
            if kind == "cell" and text[token.end() : token.end() + 1] == ":"
            else (sheet if token[0] == ":" else "")
        )
    return re.sub(r"\b(TRUE|FALSE)\(\)", r"\1", "".join(parts))


def with_cells_of(text: str, named: Callable[[CellName], str]) -> str:
    """A formula in which the cells of its own sheet have other names."""
    items: list[str] = []
    sheet = ""
    for token in _TOKEN.finditer(text):
        if token["cell"] is not None and not sheet:
            row, column = int(token["row"]), column_number(token["col"].upper())
            items.append(named(CellName("", row, column, bool(token["dr"]), token[0])))
        else:
            items.append(token[0])
        if token["sheet"]:
            sheet = token["sheet"]
        elif token[0] != ":" and not (token["cell"] and text[token.end() : token.end() + 1] == ":"):
            sheet = ""
    return "".join(items)
