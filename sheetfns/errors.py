"""The one error that a function, a cell or a reader may give: a code and a message."""

from __future__ import annotations

from collections.abc import Callable, Iterator
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
        return isinstance(other, CellError) and (self.code, self.message) == (other.code, other.message)

    def __hash__(self) -> int:
        return hash((self.code, self.message))


class DeclarationError(Exception):
    """A function is declared in a way that some host could not show."""


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


def row_by_row(function: Callable[..., Any], *columns: Any) -> Any:
    """A function of single cells on columns of them, such as texts; an error stays in its row.

    Args:
        function: takes one value of each column; may raise CellError.
        columns: arrays that broadcast.
    """
    wide = np.broadcast_arrays(*(np.asarray(column, dtype=object) for column in columns))
    results = np.empty(wide[0].shape, object)
    flat = results.reshape(-1)
    for place, values in enumerate(zip(*(one.ravel() for one in wide), strict=True)):
        try:
            flat[place] = function(*values)
        except CellError as error:
            if not results.shape:
                raise
            here = np.zeros(flat.size, bool)
            here[place] = True
            refuse_where(here.reshape(results.shape), error.code, error.message)
    return results if results.shape else results.item()
