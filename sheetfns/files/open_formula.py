"""Formulas of OpenDocument workbooks in the way in which .xlsx workbooks write them.

Source: OpenDocument 1.3 part 4 (OpenFormula), 5 Formula Syntax, as LibreOffice 7.4 and Gnumeric
1.12 write it; references stand in brackets, with a point between sheet and cell.
"""

from __future__ import annotations

import functools
import re
from typing import Final

from sheetfns.registry import ADD_IN

_PREFIX: Final = re.compile(r"(?:(?:of|oooc|msoxl):)?=")
_TOKEN: Final = re.compile(
    r"""(?P<text>"(?:[^"]|"")*")
    |(?P<label>'(?:[^']|'')*')
    |\[(?P<cells>(?:'(?:[^']|'')*'|[^\]'])*)\]
    |(?P<error>\#(?:[A-Z]+/[0A-Z]|[A-Z]+)[!?]?)
    |(?P<call>[^\W\d][\w.]*(?=\s*\())
    |(?P<word>[^\W\d][\w.]*)
    |(?P<sign>[;|~!{}])""",
    re.VERBOSE,
)
_OWNERS: Final = re.compile(rf"(?i)(?:LEGACY|COM\.MICROSOFT|ORG\.OPENOFFICE|ORG\.LIBREOFFICE|ORG\.GNUMERIC|{ADD_IN})\.")
"""Who has added a function to the standard's, before its name; .xlsx workbooks have the name."""
_PART: Final = re.compile(
    r"""(?:(?P<file>'(?:[^']|'')*')\#)?
    (?:\$?(?P<sheet>'(?:[^']|'')*'|[^\W\d][^.:'\#\[\]]*))?
    \.(?P<cell>\$?[A-Z]{1,3}\$?[0-9]{1,7}|\$?[A-Z]{1,3}|\$?[0-9]{1,7}|\#REF!)""",
    re.VERBOSE,
)


@functools.lru_cache(maxsize=1 << 17)
def xlsx_formula(text: str) -> str:
    """A formula without the equals sign; what has no other writing stays as it is."""
    prefix = _PREFIX.match(text)
    body = text[prefix.end() :] if prefix else text
    if text.startswith("msoxl:"):
        return body
    in_array = False
    items: list[str] = []
    end = 0
    for token in _TOKEN.finditer(body):
        items.append(body[end : token.start()])
        end = token.end()
        kind, found = token.lastgroup, token[0]
        if kind == "sign":
            in_array = found == "{" or (in_array and found != "}")
            rows = {"|": ";", ";": ","} if in_array else {";": ",", "~": ",", "!": " "}
            items.append(rows.get(found, found))
        elif kind == "cells":
            items.append(xlsx_cells(token["cells"]) or found)
        else:
            items.append(_OWNERS.sub("", found) if kind == "call" else found)
    return "".join([*items, body[end:]])


def xlsx_cells(text: str) -> str:
    """A reference such as $Log.$A$1:.$A$9 as 'Log'!$A$1:$A$9; "" if it is none."""
    if text == "#REF!":
        return text
    first = _PART.match(text)
    if first is None:
        return ""
    sheet, cell = _sheet(first), first["cell"]
    if first.end() == len(text):
        alone = cell.replace("$", "")
        if alone.isalpha() or alone.isdigit():
            return ""
        return f"{sheet}{cell}"
    last = _PART.fullmatch(text, first.end() + 1) if text[first.end()] == ":" else None
    if last is None:
        return ""
    other = _sheet(last)
    if other and other != sheet:
        sheet = f"{sheet[:-2]}:{other[1:]}" if sheet else ""
    return f"{sheet}{cell}:{last['cell']}" if sheet or not other else ""


def _sheet(part: re.Match[str]) -> str:
    """The sheet's name, always quoted, with the mark behind it; "" for the formula's own."""
    name = part["sheet"]
    if name is None:
        return ""
    bare = name[1:-1] if name.startswith("'") else name
    file = f"[{part['file'][1:-1]}]" if part["file"] else ""
    return f"'{file}{bare}'!"
