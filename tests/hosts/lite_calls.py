"""The calls in the docstrings' examples, as the add-in sends them; it needs no test library."""

from __future__ import annotations

import datetime as dt
import doctest
import importlib
from typing import Any

from sheetfns import CellError
from sheetfns.calling import MISSING
from sheetfns.registry import FunctionSpec
from tests.hosts.lite_stand_in import LEFT_OUT


def calls_of(spec: FunctionSpec) -> list[list[Any]]:
    """The arguments of every call of a function in its examples; MISSING where one is left out."""
    module = importlib.import_module(spec.module)
    true, found = getattr(module, spec.python_name), []

    def recorder(*args: Any, **named: Any) -> Any:
        names = [argument.name for argument in spec.arguments]
        given = dict(zip(names, args, strict=False)) | named
        found.append([given.get(name, MISSING) for name in names])
        return true(*args, **named)

    scope = {**vars(module), spec.python_name: recorder, "dt": dt, "datetime": dt}
    for example in doctest.DocTestParser().get_examples(spec.sections["Examples"]):
        try:
            exec(compile(example.source, spec.name, "exec"), scope)
        except CellError:
            assert example.exc_msg, "only an example of an error raises"
    return found


def as_rows(value: Any) -> Any:
    """An argument of Python as the cells of a range, or as a single cell."""
    if not isinstance(value, (list, tuple)):
        return value
    return [list(row) for row in value] if isinstance(value[0], (list, tuple)) else [[cell] for cell in value]


def sent_to_lite(value: Any) -> Any:
    return LEFT_OUT if value is MISSING else as_rows(value)
