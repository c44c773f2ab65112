"""The one error that a function, a cell or a reader may give: a code and a message."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

BLANK: Final = "#N/A"
NUMBER: Final = "#NUM!"
VALUE: Final = "#VALUE!"
DIVISION: Final = "#DIV/0!"
CODES: Final = ("#NULL!", DIVISION, VALUE, "#REF!", "#NAME?", NUMBER, BLANK)


class CellError(Exception):
    """An error that stands in one cell.

    It is a value while columns are worked on (one bad row never spoils the others) and an exception
    where a single figure was asked for.
    """

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message

    def __str__(self) -> str:
        return f"{self.code} {self.message}"

    def __repr__(self) -> str:
        return f"CellError({self.code!r}, {self.message!r})"

    def __eq__(self, other: object) -> bool:
        return isinstance(other, CellError) and (self.code, self.message) == (
            other.code,
            other.message,
        )

    def __hash__(self) -> int:
        return hash((self.code, self.message))


class LogFileError(Exception):
    """A file cannot be used: the message says what, where and what to do."""


Refusals = list[tuple[NDArray[np.bool_], str, str]]
_refusals: ContextVar[Refusals | None] = ContextVar("refusals", default=None)


@contextmanager
def collecting_refusals() -> Iterator[Refusals]:
    """Collect what `refuse_where` says while a function works on columns."""
    found: Refusals = []
    token = _refusals.set(found)
    try:
        yield found
    finally:
        _refusals.reset(token)


def refuse_where(bad: Any, code: str, message: str) -> None:
    """Give the rows in which `bad` holds an error; a single bad figure raises at once.

    Args:
        bad: a condition on one figure, or a column of conditions.
        code: the error code that the cell shows.
        message: argument, rule and next step.
    """
    if not isinstance(bad, np.ndarray):
        if bad:
            raise CellError(code, message)
        return
    if bad.any():
        found = _refusals.get()
        if found is None:
            raise CellError(code, message)
        found.append((bad, code, message))
