"""Rows that the forms are made of."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from sheetfns.cell_types import COUNT, MONEY, TEXT, CellType
from sheetfns.log.model.sheets import AnyFormula, EditionFormula, FormCell, FormRow, Formula, FunctionCall
from sheetfns.log.sheets.columns import FEE_TERMS, as_formula, caution_of, channel_term, topic_of


def heading(text: str, *headers: str, new_page: bool = False, since: int = 0) -> FormRow:
    """A heading, with words over the cells below it."""
    return FormRow(text, heading=True, headers=headers, new_page=new_page, since=since)


def field(note: str, lines: int = 2) -> FormRow:
    """Fixed words over the whole width."""
    return FormRow(note=note, lines=lines)


def typed(key: str, label: str, kind: CellType, help_text: str, *, lines: int = 0, **rest: Any) -> FormRow:
    """A cell for the seller to fill in."""
    unit = rest.pop("unit", _unit(kind))
    return FormRow(label, (FormCell(key, kind, help_text, **rest),), unit, lines=lines)


def cell(
    key: str,
    kind: CellType,
    formula: AnyFormula | str,
    blank_if: str = "",
    *,
    step: bool = False,
    cell_format: str = "",
    not_compared: str = "",
) -> FormCell:
    """A cell that the workbook works out, one of several in a row; `step` if it is on the way to a result."""
    formula = as_formula(formula, blank_if)
    return FormCell(key, kind, formula=formula, working=step, cell_format=cell_format, not_compared=not_compared)


def result(
    key: str, label: str, kind: CellType, formula: AnyFormula | str, unit: str = "", *, blank_if: str = ""
) -> FormRow:
    """A result with its label."""
    return FormRow(label, (cell(key, kind, formula, blank_if),), unit or _unit(kind))


def noted(key: str, label: str, formula: str, note: str, note_formula: str) -> FormRow:
    """An amount of money with its label, and words beside it that the workbook says."""
    beside = FormCell(note, TEXT, formula=Formula(note_formula), look="note")
    return FormRow(label, (cell(key, MONEY, formula), beside))


def working(
    key: str,
    label: str,
    kind: CellType,
    formula: AnyFormula | str,
    unit: str = "",
    *,
    blank_if: str = "",
    not_compared: str = "",
) -> FormRow:
    """A step on the way to a result."""
    made = cell(key, kind, formula, blank_if, step=True, not_compared=not_compared)
    return FormRow(label, (made,), unit or _unit(kind))


def words(
    key: str,
    formula: AnyFormula | str,
    *,
    lines: int = 1,
    label: str = "",
    emphasized: bool = False,
    blank_if: str = "",
) -> FormRow:
    """Words that the workbook says, over the whole width."""
    made = FormCell(key, TEXT, formula=as_formula(formula, blank_if), emphasized=emphasized)
    return FormRow(label, (made,), lines=lines)


def answer(formula: str, since: int) -> FormRow:
    """What the sheet is there to say, in large type; `since` is the layout that brought it."""
    return replace(words("answer", formula, emphasized=True), since=since)


def words_step(key: str, label: str, formula: AnyFormula | str, blank_if: str = "", *, lines: int = 1) -> FormRow:
    """Words on the way to what is said."""
    return FormRow(label, (cell(key, TEXT, formula, blank_if, step=True),), lines=lines)


def in_functions_only(formula: FunctionCall | Formula) -> EditionFormula:
    """A formula of the functions edition; the cell stays blank in the other."""
    return EditionFormula(Formula('""'), formula)


def row_in(key: str, label: str, names: str, word: str, header: str = "") -> FormRow:
    """The row of a word in a list; blank if it is not there, or if it is the header that the list begins with."""
    blank_if = f'OR({{{word}}}="",{{{word}}}="{header}")' if header else f'{{{word}}}=""'
    return working(key, label, COUNT, f'IFERROR(MATCH({{{word}}},{names},0),"")', "row", blank_if=blank_if)


def _unit(kind: CellType) -> str:
    return "" if kind.holds == "text" or kind.unit == "%" else kind.unit


def caution_words(*, lines: int) -> FormRow:
    """What to check for the form's {topic}, from sheet Cautions."""
    return words(
        "caution",
        EditionFormula(
            caution_of("text", "{topic}"),
            FunctionCall("RESALE_CAUTION", {"category": "{topic}"}, blank_if='{topic}=""'),
        ),
        lines=lines,
    )


def topic_row(category: str) -> FormRow:
    """The entry of sheet Cautions that holds for a category."""
    return working("topic", "Caution for", TEXT, Formula(topic_of(category), f'{category}=""'))


def term_rows() -> tuple[FormRow, ...]:
    """The fee terms of the form's {channel_row}."""
    return tuple(working(f"fee_{term.key}", term.header, term.kind, channel_term(term)) for term in FEE_TERMS)
