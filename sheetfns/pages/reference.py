"""All worksheet functions in Markdown, made from their declarations: a short list and a page.

The worked examples are those of the docstrings, see worked_examples.py.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from typing import Final

from sheetfns.cell_types import FIRST_DAY, LAST_DAY, CellType
from sheetfns.errors import BLANK, DIVISION, NUMBER, VALUE
from sheetfns.pages.worked_examples import Example, examples, typed
from sheetfns.registry import REGISTRY, Argument, FunctionSpec, former_names_of

HEAD: Final = f"""\
# The worksheet functions

Made by `sheetfns functions --reference --write`; do not change it by hand.

An aid to record keeping, not tax advice. Rules differ by place and year; have a licensed \
preparer check.

How to read it:

* **Arguments.** An argument is a figure or the cell that holds it: `25`, or `B7`. An argument in \
[square brackets] may be left out; the last column of its table says what it then is.
* **Percent.** You can enter a rate as `10%` or as `0.1`; both are the same.
* **Examples.** They show what to enter into which cells, if any, then a formula, and after the \
arrow what its cell shows. `'8` is the text 8. Where a plain formula gives the same result, it \
follows, for workbooks without the functions; a long one is shown once.
* **Whole ranges.** Some functions need all cells of a range at once. A formula with `$` in it \
can be copied down.
* **Several cells.** A function that fills several cells needs free cells to its right and below \
it. To get one of them, wrap the call: `INDEX(call, row, column)`.
* **Errors.** `{NUMBER}`: a figure cannot be right. `{VALUE}`: it is not the kind of value that is \
needed. `{BLANK}`: something is missing. `{DIVISION}`: it would divide by 0.
* **Blank cells.** A blank optional argument takes its default. A row whose required arguments \
are all blank stays blank; if only some of them are blank, it shows `{BLANK}`.
* **In Python.** `from sheetfns import net_profit` gives the same for single figures, lists, NumPy \
arrays and pandas columns.
* **Sources.** Definition: it follows from what the words mean. Common practice: many people do \
it this way, but no source says so. Read: the source itself was read. Second hand: another text \
about it was read. From memory: nobody has looked it up yet; do so before you rely on it. The \
tables that are named are in [sheetfns/tables](../sheetfns/tables).
"""

LONG: Final = 200
"""A plain formula with more characters is shown at the first example only."""
ALIKE: Final = 4
"""From so many equal cells on, one is shown for all."""
WORDS: Final = {
    "cells, columns, rows and blocks broadcast": "a column or a row gives a result for each cell",
    "(M)": "(from memory)",
    "; M)": "; from memory)",
}
"""What docstrings say for programmers or in short, as a seller reads it."""


def by_category() -> list[FunctionSpec]:
    """All functions, in the order in which they are listed."""
    return sorted(REGISTRY.values(), key=lambda spec: (spec.category, spec.name))


def function_list() -> str:
    """The functions as the README lists them: a line for each category, linked to the page."""
    return "".join(
        f"* [{category}](examples/functions.md#{category.lower()}): {', '.join(spec.name for spec in members)}\n"
        for category, members in _groups().items()
    )


def reference() -> str:
    """The whole page.

    Errors:
        DeclarationError: an example of a docstring cannot be shown as a cell formula.
    """
    parts = [HEAD, "\n## Contents\n\n"]
    for category, members in _groups().items():
        parts.append(f"* [{category}](#{category.lower()})\n")
        parts.extend(f"  * {_link(spec.name)}: {_text(spec, spec.help)}\n" for spec in members)
    for category, members in _groups().items():
        parts.append(f"\n## {category}\n")
        parts.extend(f"\n{_section(spec)}" for spec in members)
    return "".join(parts)


def _groups() -> dict[str, list[FunctionSpec]]:
    """The functions of each category, in the order in which they are listed."""
    return {
        category: list(members) for category, members in itertools.groupby(by_category(), lambda spec: spec.category)
    }


def _section(spec: FunctionSpec) -> str:
    """All about one function."""
    python = spec.sections["Examples"].strip()
    blocks = [
        f"### {spec.name}",
        _text(spec, spec.help),
        *(f"Formerly {old}." for old in former_names_of(spec)),
        f"`={spec.usage()}`",
        _arguments(spec),
        f"**Result:** {_text(spec, spec.sections['Returns'])}",
        f"**Cells and ranges:** {_text(spec, spec.sections['Shape'])}",
        f"**How it is calculated:** {_text(spec, spec.sections['Formula'])}",
        f"**Errors:**\n\n{_errors(spec)}",
        f"**Source:** {_text(spec, spec.sections['Source'])}",
        *(block for number, one in enumerate(examples(spec), 1) for block in _shown(number, one)),
        f"In Python:\n\n```python\n{python}\n```",
    ]
    return "\n\n".join(blocks) + "\n"


def _arguments(spec: FunctionSpec) -> str:
    lines = ["| argument | what it is | unit | limits | if left out |", "|---|---|---|---|---|"]
    for argument in spec.arguments:
        cells = [
            f"`{argument.name}`",
            _text(spec, argument.help),
            argument.kind.unit,
            _limits(argument.kind),
            _left_out(argument),
        ]
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines)


def _limits(kind: CellType) -> str:
    if kind.holds == "date":
        return f"{FIRST_DAY} to {LAST_DAY}"
    if kind.holds != "number":
        return "-"
    return f"{kind.in_words()}, whole" if kind.whole else kind.in_words()


def _left_out(argument: Argument) -> str:
    words = argument.default_in_words()
    if argument.kind.unit == "%" and words not in ("required", "none"):
        return typed(argument.kind, argument.default)
    return words


def _errors(spec: FunctionSpec) -> str:
    text = _text(spec, spec.sections["Errors"])
    parts = re.split(r"(?<=\.) (?=#|Blank )", text)
    return "\n".join("* " + re.sub(r"^(#[A-Z0/]+[!A]):", r"`\1`:", part) for part in parts)


def _text(spec: FunctionSpec, text: str) -> str:
    """A docstring's words in Markdown, with a link at each other function's name."""
    words = " ".join(text.split())
    for short, plain in WORDS.items():
        words = words.replace(short, plain)
    words = re.sub(r"([*|<])", r"\\\1", words)
    names = "|".join(sorted(set(REGISTRY) - {spec.name}, key=len, reverse=True))
    return re.sub(rf"\b({names})\b", lambda found: _link(found[1]), words)


def _link(name: str) -> str:
    return f"[{name}](#{name.lower()})"


def _shown(number: int, example: Example) -> Iterator[str]:
    """An example as Markdown: what to type, then each formula with its result."""
    typed = "; ".join(f"into {cells} {_texts(texts)}" for cells, texts in example.typed)
    yield f"**Example {number}.**" + (f" Enter {typed}." if typed else "")
    lines = [f"* `{call.formula}` → {_in_words(call.rows)}" for call in example.calls]
    ordinary = example.ordinary
    if ordinary is not None and (number == 1 or len(ordinary.formula) <= LONG):
        shown = _in_words(ordinary.rows)
        lines.append(f"* as a plain formula: `{ordinary.formula}` → {shown}")
    yield "\n".join(lines)
    if example.headers:
        rows = [example.headers, ["---"] * len(example.headers), *example.calls[0].rows]
        yield "\n".join(f"| {' | '.join(cells)} |" for cells in rows)


def _texts(texts: list[str]) -> str:
    if len(texts) >= ALIKE and len(set(texts)) == 1:
        return f"{texts[0]} each"
    return ", ".join(texts)


def _in_words(rows: list[list[str]]) -> str:
    if len(rows[0]) > 1:
        return f"{'1 row' if len(rows) == 1 else f'{len(rows)} rows'} of {len(rows[0])} cells:"
    cells = "; ".join(cell for row in rows for cell in row)
    return cells if len(rows) == 1 else f"{len(rows)} cells, one below the other: {cells}"
