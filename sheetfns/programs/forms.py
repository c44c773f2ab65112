"""Forms that a command of the menu asks: the same fields, checks and words in every program."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from sheetfns.cell_types import TEXT, CellType, counted, limit_refusal, number_in_text

Answers = dict[str, Any]
"""What was entered, by the field's key: float, date or text; None for a blank."""

_DAYS: Final = {"today": 0, "yesterday": 1}


@dataclass(frozen=True)
class Field:
    """One line of a form.

    Attributes:
        key: by which its answer is known.
        label: what stands before it.
        kind: what it holds.
        choices: what may be chosen; any other text is refused where `only_choices`.
        only_choices: whether nothing else may be typed.
        by_word: whether a part of a choice stands for it, where only one has it.
        default: what stands there at first, as a person types it.
        note: what stands behind it, such as samples; of one line.
        needed: whether it may stay blank.
    """

    key: str
    label: str
    kind: CellType = TEXT
    choices: tuple[str, ...] = ()
    only_choices: bool = True
    by_word: bool = False
    default: str = ""
    note: str = ""
    needed: bool = False


@dataclass(frozen=True)
class Form:
    """What a command asks at one go.

    Attributes:
        title: of its window.
        words: what it is for, in a sentence; "" if its title says so.
        fields: its lines.
        button: what the button says that ends it.
        says: what follows from the answers so far, in a few lines, such as a net profit; it is shown beside the
            fields, and again before anything is entered. Answers that cannot be read are None there.
        today: the day that "today" means.
    """

    title: str
    fields: tuple[Field, ...]
    words: str = ""
    button: str = "Enter"
    says: Callable[[Answers], str] | None = None
    today: dt.date | None = None

    def said(self, texts: Mapping[str, str]) -> str:
        """What follows from texts as they stand in the fields."""
        return self.says(read_answers(self, texts)[0]) if self.says else ""


def read_answers(form: Form, texts: Mapping[str, str]) -> tuple[Answers, list[str]]:
    """What the texts in the fields mean, and what is wrong with them.

    Args:
        form: the form.
        texts: what stands in each field, by its key; a field that is left out is blank.

    Returns:
        The answers, None where there is none, and a sentence for each field that is to be corrected.
    """
    today = form.today or dt.datetime.now().astimezone().date()
    answers: Answers = {}
    wrong: list[str] = []
    for field in form.fields:
        value, fault = _read(field, texts.get(field.key, "").strip(), today)
        answers[field.key] = value
        if fault:
            wrong.append(f"{field.label}: {fault}")
    return answers, wrong


def _read(field: Field, text: str, today: dt.date) -> tuple[Any, str]:
    if not text:
        return None, "is blank; fill it in" if field.needed else ""
    if field.choices:
        chosen = next((one for one in field.choices if one.casefold() == text.casefold()), None)
        if chosen is not None:
            return chosen, ""
        if field.by_word:
            return _by_word(field, text)
        if field.only_choices:
            return None, f"'{text}' isn't in the list; choose {_some(field.choices)}"
    if field.kind.holds == "date":
        return _date(text, today)
    if field.kind.holds == "number":
        return _number(field, text)
    return text, ""


def _by_word(field: Field, text: str) -> tuple[str | None, str]:
    """The one choice that begins with a text as a word of its own, else the only one that has it anywhere."""
    wanted = text.casefold()
    found = [one for one in field.choices if one.casefold().split()[:1] == [wanted]]
    found = found or [one for one in field.choices if wanted in one.casefold()]
    if len(found) == 1:
        return found[0], ""
    if not found:
        return None, f"'{text}' is in none of the list; choose {_some(field.choices, 3)}"
    return None, f"'{text}' is in {len(found)} of the list: {_some(tuple(found), 3)}; type more of it"


def _date(text: str, today: dt.date) -> tuple[dt.date | None, str]:
    if text.casefold() in _DAYS:
        return today - dt.timedelta(days=_DAYS[text.casefold()]), ""
    try:
        return dt.date.fromisoformat(text), ""
    except ValueError:
        return None, f"'{text}' isn't a date; enter it as {today.isoformat()}, or today"


def _number(field: Field, text: str) -> tuple[float | None, str]:
    number = number_in_text(text)
    if number is None:
        comma = ", with a point and no comma" if "," in text else ""
        return None, f"'{text}' isn't a number; enter it as 12.50{comma}"
    refusal = limit_refusal(field.kind, field.label, number)
    return (None, refusal.message.removeprefix(f"{field.label}: ")) if refusal else (number, "")


def _some(choices: tuple[str, ...], most: int = 6) -> str:
    more = f", or one of {counted(len(choices) - most, 'other')}" if len(choices) > most else ""
    return ", ".join(choices[:most]) + more
