"""Takes a LAMBDA out of a file apart, so that programs without LAMBDA can evaluate it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token

_USED = re.compile(r"_xlpm\.(\w+)")


@dataclass(frozen=True)
class Lambda:
    """The parts of `_xlfn.LAMBDA(_xlpm.a,_xlop.b,_xlfn.LET(_xlpm.theB,...,body))`."""

    needed: tuple[str, ...]
    optional: tuple[str, ...]
    named: tuple[tuple[str, str], ...]
    """The names of LET, each with its formula."""
    body: str

    @property
    def parameters(self) -> tuple[str, ...]:
        return self.needed + self.optional


def taken_apart(text: str) -> Lambda:
    *parameters, body = _arguments(text, "_xlfn.LAMBDA")
    needed = [one for one in parameters if one.startswith("_xlpm.")]
    optional = [one for one in parameters if one.startswith("_xlop.")]
    assert needed + optional == parameters, "needed parameters come first"
    named: list[tuple[str, str]] = []
    if body.startswith("_xlfn.LET("):
        *pairs, body = _arguments(body, "_xlfn.LET")
        assert len(pairs) % 2 == 0
        names = [one.removeprefix("_xlpm.") for one in pairs[::2]]
        named = list(zip(names, pairs[1::2], strict=True))
    bare = [tuple(one.removeprefix(mark) for one in part) for part, mark in ((needed, "_xlpm."), (optional, "_xlop."))]
    return Lambda(*bare, tuple(named), body)


def with_cells(text: str, cells: Mapping[str, str | None]) -> str:
    """A part of a LAMBDA with cells in the place of its parameters; None for one left out."""

    def omitted(found: re.Match[str]) -> str:
        return "TRUE" if cells[found[1]] is None else "FALSE"

    def cell(found: re.Match[str]) -> str:
        # What follows from an omitted parameter is never evaluated.
        return cells[found[1]] or "NA()"

    asked = r"_xlfn\.ISOMITTED\(_xlpm\.(\w+)\)"
    return _USED.sub(cell, re.sub(asked, omitted, text)).replace("_xlfn.", "")


def _arguments(text: str, function: str) -> list[str]:
    """The arguments of the call that is the whole of a formula."""
    tokens = Tokenizer(f"={text}").items
    assert tokens[0].value == f"{function}(", text[:40]
    assert tokens[-1].value == ")"
    found, depth = [""], 0
    for token in tokens[1:-1]:
        if token.subtype == Token.OPEN:
            depth += 1
        elif token.subtype == Token.CLOSE:
            depth -= 1
        if token.type == Token.SEP and not depth:
            found.append("")
        else:
            found[-1] += token.value
        assert depth >= 0
    return found
