"""A form of the menu as a dialog of LibreOffice."""

from __future__ import annotations

from typing import Any, Final

import unohelper
from com.sun.star.awt import XActionListener, XFocusListener, XItemListener

from sheetfns.programs.forms import Answers, Field, Form, read_answers
from sheetfns.programs.menu_entries import MENU

# In the program's own units for dialogs, about half of a letter's width and an eighth of its height.
_LABEL, _ENTRY, _NOTE, _BUTTON = 112, 108, 170, 60
_GAP, _LINE, _STEP = 6, 12, 16
_ON_A_PAGE: Final = 16
"""Fields that stand on one page; a form with more has several."""
_SAID_LINES: Final = 6
_LETTERS_A_LINE: Final = 80
_OK: Final = 1
_RED: Final = 0xA61C1C
_GRAY: Final = 0x555555


class FormDialog:
    """A form on the screen.

    Args:
        context: the program's own.
        frame: the window in front of which it stands.
        form: what it asks.
    """

    def __init__(self, context: Any, frame: Any, form: Form) -> None:
        self._form = form
        self._service = context.ServiceManager.createInstanceWithContext
        self._context = context
        self._pages = -(-len(form.fields) // _ON_A_PAGE)
        self._model = self._service("com.sun.star.awt.UnoControlDialogModel", context)
        self._answers: Answers | None = None
        self._said_of: dict[str, str] = {}
        self._ended = False
        self._lay_out()
        self.dialog = self._service("com.sun.star.awt.UnoControlDialog", context)
        self.dialog.setModel(self._model)
        self._listen()
        toolkit = self._service("com.sun.star.awt.Toolkit", context)
        self.dialog.createPeer(toolkit, frame.ContainerWindow if frame is not None else None)
        self._say()

    def answers(self) -> Answers | None:
        """Show it and wait; the answers, or None if it is left."""
        try:
            ended = self.dialog.execute()
            return self._answers if ended == _OK else None
        finally:
            self._ended = True
            self.dialog.dispose()

    # ---- its parts -------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        form, model = self._form, self._model
        width = _LABEL + _ENTRY + _NOTE + 4 * _GAP
        top = _GAP
        if form.words:
            self._text("words", form.words, _GAP, top, width - 2 * _GAP, 2 * _LINE, MultiLine=True)
            top += 2 * _LINE + _GAP
        for place, field in enumerate(form.fields):
            page, line = divmod(place, _ON_A_PAGE)
            self._field(field, page + 1, top + line * _STEP)
        below = top + min(len(form.fields), _ON_A_PAGE) * _STEP + _GAP
        self._text("said", "", _GAP, below, width - 2 * _GAP, _SAID_LINES * _LINE, MultiLine=True)
        buttons = below + _SAID_LINES * _LINE + _GAP
        left = 3 * _GAP + 2 * _BUTTON if self._pages > 1 else _GAP
        needed = "* must be filled in" if any(field.needed and not field.default for field in form.fields) else ""
        self._text("needed", needed, left, buttons + 4, 90, _LINE, TextColor=_GRAY)
        wide = max(_BUTTON, 5 * len(form.button))
        self._button("ok", form.button, width - wide - _BUTTON - 2 * _GAP, buttons, Width=wide, DefaultButton=True)
        self._button("leave", "Cancel", width - _BUTTON - _GAP, buttons, PushButtonType=2)
        if self._pages > 1:
            self._button("back", "Back", _GAP, buttons)
            self._button("next", "Next", 2 * _GAP + _BUTTON, buttons)
        model.Title, model.Width, model.Height = form.title, width, buttons + 16 + _GAP
        model.Step = 1 if self._pages > 1 else 0

    def _field(self, field: Field, page: int, top: int) -> None:
        step = page if self._pages > 1 else 0
        label = f"{field.label} *" if field.needed and not field.default else field.label
        self._text(f"{field.key}_label", label, _GAP, top + 2, _LABEL, _LINE, Step=step)
        kind = "ComboBox" if field.choices else "Edit"
        entry = self._model.createInstance(f"com.sun.star.awt.UnoControl{kind}Model")
        self._place(entry, field.key, 2 * _GAP + _LABEL, top, _ENTRY, 14, Step=step, Text=field.default)
        if field.choices:
            entry.StringItemList = field.choices
            entry.Dropdown = True
            entry.LineCount = min(12, len(field.choices))
            entry.Autocomplete = True
        self._model.insertByName(field.key, entry)
        note_left = 3 * _GAP + _LABEL + _ENTRY
        self._text(f"{field.key}_note", field.note, note_left, top + 2, _NOTE, _LINE, Step=step, TextColor=_GRAY)

    def _text(self, name: str, words: str, *place: int, **rest: Any) -> None:
        made = self._model.createInstance("com.sun.star.awt.UnoControlFixedTextModel")
        self._place(made, name, *place, Label=words, **rest)
        self._model.insertByName(name, made)

    def _button(self, name: str, words: str, left: int, top: int, **rest: Any) -> None:
        made = self._model.createInstance("com.sun.star.awt.UnoControlButtonModel")
        self._place(made, name, left, top, _BUTTON, 16, Label=words, **rest)
        self._model.insertByName(name, made)

    @staticmethod
    def _place(made: Any, name: str, *place: int, **rest: Any) -> None:
        """Name a part and set left, top, width, height and what else it has."""
        made.Name = name
        made.PositionX, made.PositionY, made.Width, made.Height = place
        for key, value in rest.items():
            setattr(made, key, value)

    # ---- what happens ----------------------------------------------------------------------------

    def _listen(self) -> None:
        # Not at each letter: what follows may take half a second to work out, and the letters would wait.
        left, chosen = _Left(self._say), _Chosen(self._say)
        for field in self._form.fields:
            control = self.dialog.getControl(field.key)
            control.addFocusListener(left)
            if field.choices:
                control.addItemListener(chosen)
        self.dialog.getControl("ok").addActionListener(_Pressed(self._enter))
        if self._pages > 1:
            self.dialog.getControl("back").addActionListener(_Pressed(lambda: self._turn(-1)))
            self.dialog.getControl("next").addActionListener(_Pressed(lambda: self._turn(1)))

    def texts(self) -> dict[str, str]:
        """What stands in the fields."""
        return {field.key: self.dialog.getControl(field.key).Text for field in self._form.fields}

    def _say(self) -> None:
        if self._ended:  # a field is left when the window closes, too
            return
        texts = self.texts()
        if texts == self._said_of:
            return
        self._said_of = texts
        try:
            words = self._form.said(texts)
        except Exception as fault:  # noqa: BLE001  (the program would swallow it, and the form would say nothing)
            words = f"What follows from it can't be worked out ({fault})."
        self._write(words, 0)

    def _enter(self) -> None:
        answers, wrong = read_answers(self._form, self.texts())
        if wrong:
            self._said_of = {}
            self._write("\n".join(wrong[:_SAID_LINES]), _RED)
            return
        self._answers = answers
        self._ended = True
        self.dialog.endDialog(_OK)

    def _write(self, words: str, color: int) -> None:
        said = self.dialog.getControl("said").getModel()
        said.TextColor = color
        said.Label = words

    def _turn(self, by: int) -> None:
        self._model.Step = min(self._pages, max(1, self._model.Step + by))


class Progress:
    """What a command is doing, in a small window with a button that stops it after this step.

    Args:
        context: the program's own.
        frame: the window in front of which it stands.
    """

    def __init__(self, context: Any, frame: Any) -> None:
        service = context.ServiceManager.createInstanceWithContext
        self.stopped = False
        model = service("com.sun.star.awt.UnoControlDialogModel", context)
        model.Title, model.Width, model.Height, model.Closeable = f"{MENU}: working", 170, 46, False
        model.PositionX, model.PositionY = 40, 40
        for kind, name, place, words in (
            ("FixedText", "words", (_GAP, _GAP, 158, _LINE), ""),
            ("Button", "stop", (104, 24, 60, 16), "Stop"),
        ):
            part = model.createInstance(f"com.sun.star.awt.UnoControl{kind}Model")
            part.PositionX, part.PositionY, part.Width, part.Height = place
            part.Label = words
            model.insertByName(name, part)
        self._dialog = service("com.sun.star.awt.UnoControlDialog", context)
        self._dialog.setModel(model)
        self._dialog.getControl("stop").addActionListener(_Pressed(self._stop))
        self._toolkit = service("com.sun.star.awt.Toolkit", context)
        self._dialog.createPeer(self._toolkit, frame.ContainerWindow if frame is not None else None)
        self._dialog.setVisible(True)

    def say(self, words: str) -> None:
        """Show the words, and take a click on the button that came in the meantime."""
        self._dialog.getControl("words").setText(f"{words} ...")
        self._toolkit.processEventsToIdle()

    def close(self) -> None:
        """Take the window away."""
        self._dialog.setVisible(False)
        self._dialog.dispose()

    def _stop(self) -> None:
        self.stopped = True


class _Left(unohelper.Base, XFocusListener):  # type: ignore[misc]
    def __init__(self, then: Any) -> None:
        self._then = then

    def focusGained(self, _event: Any) -> None:  # noqa: N802  (the program's name)
        pass

    def focusLost(self, _event: Any) -> None:  # noqa: N802  (the program's name)
        self._then()

    def disposing(self, _event: Any) -> None:
        pass


class _Chosen(unohelper.Base, XItemListener):  # type: ignore[misc]
    def __init__(self, then: Any) -> None:
        self._then = then

    def itemStateChanged(self, _event: Any) -> None:  # noqa: N802  (the program's name)
        self._then()

    def disposing(self, _event: Any) -> None:
        pass


class _Pressed(unohelper.Base, XActionListener):  # type: ignore[misc]
    def __init__(self, then: Any) -> None:
        self._then = then

    def actionPerformed(self, _event: Any) -> None:  # noqa: N802  (the program's name)
        self._then()

    def disposing(self, _event: Any) -> None:
        pass
