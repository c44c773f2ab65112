"""Forms in a terminal: the lines with what stands in them, to be changed one at a time."""

from __future__ import annotations

from typing import Any, Final

import questionary
from prompt_toolkit.input import Input
from prompt_toolkit.output import Output

from sheetfns.cli.console import echo
from sheetfns.programs.forms import Answers, Field, Form, read_answers

LEAVE: Final = "Leave it"
_LISTED: Final = 40
"""Longer lists are searched by typing."""


class Terminal:
    """Asks forms at the keyboard.

    Args:
        keys, screen: where keys come from and questions go to; those of the terminal if left out.
    """

    def __init__(self, keys: Input | None = None, screen: Output | None = None) -> None:
        self._with: dict[str, Any] = {key: one for key, one in (("input", keys), ("output", screen)) if one}

    def ask_form(self, form: Form) -> Answers | None:
        """The answers to a form, all of them readable; None if the user leaves it."""
        texts = {field.key: field.default for field in form.fields}
        fields = {field.key: field for field in form.fields}
        echo(form.title)
        if form.words:
            echo(form.words)
        last = ""
        while True:
            answers, wrong = read_answers(form, texts)
            for words in (*wrong, *form.said(texts).splitlines()):
                echo(words)
            chosen = self._choose_line(form, texts, last, complete=not wrong)
            if chosen is None or chosen == LEAVE:
                return None
            if chosen == form.button:
                return answers
            last = chosen
            text = self._ask(fields[chosen], texts[chosen])
            if text is not None:
                texts[chosen] = text.strip()

    def _choose_line(self, form: Form, texts: dict[str, str], last: str, *, complete: bool) -> str | None:
        """The key of the line to change, or the button."""
        wide = max(len(field.label) for field in form.fields)
        lines = [
            questionary.Choice(f"{field.label:<{wide}}  {texts[field.key]}{_noted(field)}", field.key)
            for field in form.fields
        ]
        ends = [questionary.Choice(LEAVE, LEAVE)]
        if complete:
            ends.insert(0, questionary.Choice(form.button, form.button))
        # After a change the same line is the one in sight; at first the button is, as the guess may be right.
        default = last or (form.button if complete else form.fields[0].key)
        choices = [*ends, *lines]
        found: str | None = questionary.select(
            form.button if complete else "Choose a line to correct", choices=choices, default=default, **self._with
        ).ask(kbi_msg="")
        return found

    def _ask(self, field: Field, text: str) -> str | None:
        """What is to stand in a line; None if it stays."""
        label = f"{field.label}{_noted(field)}"
        found: str | None
        if field.choices and field.only_choices and len(field.choices) <= _LISTED:
            default = next((one for one in field.choices if one.casefold() == text.casefold()), None)
            found = questionary.select(label, choices=list(field.choices), default=default, **self._with).ask(
                kbi_msg=""
            )
        elif field.choices:
            found = questionary.autocomplete(
                label, choices=list(field.choices), default=text, ignore_case=True, match_middle=True, **self._with
            ).ask(kbi_msg="")
        else:
            found = questionary.text(label, default=text, **self._with).ask(kbi_msg="")
        return found

    def ask_yes(self, question: str) -> bool:
        """Yes or no; no if the user leaves it."""
        return bool(questionary.confirm(question, default=False, **self._with).ask(kbi_msg=""))

    @staticmethod
    def show_message(text: str) -> None:
        """A message in the terminal."""
        echo(text)


def _noted(field: Field) -> str:
    return f"  ({field.note})" if field.note else ""
