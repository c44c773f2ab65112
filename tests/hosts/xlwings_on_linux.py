"""Runs xlwings' own Windows code where there is neither Windows nor Excel.

xlwings reads arguments, calls functions, converts results and writes VBA text in Python. Only what
it reaches Excel through is Windows': pywin32 and a few system libraries. Here those are stood in
for, so that `udfs`, `conversion`, `com_server` and `_xlwindows` are the ones that users run.

It changes modules of the running Python for good. So it works in a process of its own, and each
function below takes and gives values that can be sent there and back.
"""

from __future__ import annotations

import ctypes
import datetime as dt
import importlib
import logging
import sys
import types
import warnings
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path
from typing import Any

UDF_MODULE = "sheetfns.hosts.excel"
LEFT_OUT = -2147352572
"""What COM delivers for an argument that was left out (DISP_E_PARAMNOTFOUND)."""
RANGE_INTERFACE = "{00020846-0000-0000-C000-000000000046}"


Run = Callable[..., Any]


@contextmanager
def own_process() -> Iterator[Run]:
    """Gives a function that runs another one, with its arguments, in a process of its own."""
    with ProcessPoolExecutor(max_workers=1, mp_context=get_context("spawn")) as pool:

        def run(work: Callable[..., Any], *arguments: Any) -> Any:
            return pool.submit(work, *arguments).result(timeout=120)

        run(install)
        yield run


def error_value(number: int) -> int:
    """What COM delivers for an error cell, from the number that VBA's CVErr takes."""
    return -2146828288 + number


class ComTime(dt.datetime):
    """The date type of pywin32: a datetime that always has a time zone."""


def date_cell(year: int, month: int, day: int, hour: int = 0, minute: int = 0) -> ComTime:
    return ComTime(year, month, day, hour, minute, tzinfo=dt.UTC)


class ComError(Exception):
    """What pywin32 raises when Excel refuses."""


class Anything:
    """An object of Excel's of which no answer matters."""

    def __getattr__(self, name: str) -> Anything:
        if name.startswith("__"):
            raise AttributeError(name)
        return Anything()

    def __call__(self, *args: Any, **named: Any) -> Anything:
        return Anything()


@dataclass
class SheetRange:
    """A range as an argument. `Value` is one cell's value, or a tuple of rows."""

    Value: Any
    Address: str = "$A$1"
    Row: int = 1
    Column: int = 1
    Worksheet: Any = field(default_factory=Anything)

    @property
    def _size(self) -> tuple[int, int]:
        return (len(self.Value), len(self.Value[0])) if isinstance(self.Value, tuple) else (1, 1)

    @property
    def Rows(self) -> Any:  # noqa: N802  (Excel's name)
        return types.SimpleNamespace(Count=self._size[0])

    @property
    def Columns(self) -> Any:  # noqa: N802
        return types.SimpleNamespace(Count=self._size[1])

    @property
    def _oleobj_(self) -> Any:
        attributes = types.SimpleNamespace(iid=RANGE_INTERFACE)
        info = types.SimpleNamespace(GetTypeAttr=lambda: attributes)
        return types.SimpleNamespace(GetTypeInfo=lambda: info)


def cells(*rows: Any) -> SheetRange:
    """A range from rows; a row that is no tuple is one cell, so that cells(1, 2) is a column."""
    return SheetRange(tuple(row if isinstance(row, tuple) else (row,) for row in rows))


class _Workbook:
    """As much of a workbook as the import of functions touches; keeps what it was given."""

    Name = "log.xlsm"

    def __init__(self) -> None:
        self.Worksheets = [types.SimpleNamespace(Name="Start"), types.SimpleNamespace(Name="Money")]
        self.vba = ""
        self.shown: dict[str, dict[str, Any]] = {}
        self.Application = types.SimpleNamespace(Version="16.0", MacroOptions=self._options)
        components = _Components(self)
        self.VBProject = types.SimpleNamespace(VBComponents=components)

    def _options(self, macro: str, **options: Any) -> None:
        self.shown[macro.removeprefix(f"'{self.Name}'!")] = options


class _Components:
    def __init__(self, workbook: _Workbook) -> None:
        self.workbook = workbook

    def __call__(self, name: str) -> Any:
        raise ComError(f"no component {name}")

    def Remove(self, component: Any) -> None:  # noqa: N802  (Excel's name)
        raise ComError(f"{component} is not there")

    def Import(self, path: str) -> None:  # noqa: N802
        self.workbook.vba = Path(path).read_text(encoding="utf-8")


class _Library:
    """A system library whose every function answers 0: done, or no such window."""

    def __init__(self, *args: Any, **named: Any) -> None:
        self.restype: Any = None

    def __getattr__(self, name: str) -> _Library:
        return _Library()

    def __call__(self, *args: Any) -> int:
        return 0


def _same(value: Any, *args: Any, **named: Any) -> Any:
    return value


def _nothing(*args: Any, **named: Any) -> None:
    return None


def _unwrap(value: Any) -> Any:
    raise ComError("not a wrapped Python object")


def _stand_in(name: str, **contents: Any) -> None:
    module = types.ModuleType(name)
    vars(module).update(contents)
    sys.modules[name] = module
    parent, _, child = name.rpartition(".")
    if parent:
        setattr(sys.modules[parent], child, module)


def install() -> str:
    """Stand in for Windows and import xlwings as on Windows; returns its version."""
    _stand_in("pywintypes", com_error=ComError, error=ComError, TimeType=ComTime, IID=_same)
    _stand_in(
        "pythoncom",
        __file__="pythoncom.dll",
        com_error=ComError,
        ole_error=ComError,
        IID_IDispatch=0,
        IID_IEnumVARIANT=1,
        TypeIIDs={0: type("PyIDispatch", (), {})},
        CoInitialize=_nothing,
    )
    for name in ("win32api", "win32con", "win32event", "win32gui", "win32com"):
        _stand_in(name)
    _stand_in("win32process", GetWindowThreadProcessId=lambda window: (0, 0))
    _stand_in("win32timezone", TimeZoneInfo=types.SimpleNamespace(utc=lambda: dt.UTC))
    classes = ("CDispatch", "CoClassBaseClass", "DispatchBaseClass")
    _stand_in("win32com.client", Dispatch=_same, DispatchEx=_same, **{name: type(name, (), {}) for name in classes})
    _stand_in("win32com.server")
    _stand_in("win32com.server.dispatcher")
    _stand_in("win32com.server.policy")
    _stand_in("win32com.server.util", wrap=_same, unwrap=_unwrap)
    # xlwings is free without this part; so that no test leans on it, it cannot be imported.
    sys.modules["xlwings.pro"] = None  # type: ignore[assignment]
    for name in ("asyncio", "concurrent.futures.thread", "numpy", "pandas", "subprocess"):
        # these must see the true platform
        importlib.import_module(name)
    system = sys.platform
    true_library = ctypes.PyDLL
    sys.platform = "win32"
    ctypes.PyDLL = _Library  # type: ignore[assignment,misc]
    ctypes.windll = ctypes.oledll = _Library()  # type: ignore[attr-defined]
    try:
        xlwings = importlib.import_module("xlwings")
    finally:
        sys.platform = system
        ctypes.PyDLL = true_library  # type: ignore[misc]
    logging.getLogger("xlwings").addHandler(logging.NullHandler())  # without one, it prints
    warnings.simplefilter("error")
    return str(xlwings.__version__)


def call(name: str, *arguments: Any, module: str = UDF_MODULE) -> Any:
    """What a cell gets for NAME(arguments...), given what COM delivers for each argument."""
    server = importlib.import_module("xlwings.com_server")
    return server.XLPython().CallUDF(module, name, arguments, _Workbook(), SheetRange(None))


def call_many(calls: list[tuple[Any, ...]], module: str = UDF_MODULE) -> list[Any]:
    return [call(*one, module=module) for one in calls]


def import_functions() -> tuple[str, dict[str, dict[str, Any]]]:
    """What Excel is given when a user clicks Import Functions: VBA text, and options by name."""
    workbook = _Workbook()
    importlib.import_module("xlwings.udfs").import_udfs(UDF_MODULE, workbook)
    return workbook.vba, workbook.shown


def described(module: str = UDF_MODULE) -> dict[str, dict[str, Any]]:
    """What xlwings keeps of each function; a default that was left out is shown as text."""
    kept = {}
    for function in vars(importlib.import_module(module)).values():
        info = getattr(function, "__xlfunc__", None)
        if info is not None:
            arguments = [
                {key: value for key, value in argument.items() if key != "optional"}
                | {"optional": repr(argument["optional"]) if "optional" in argument else None}
                for argument in info["args"]
            ]
            kept[info["name"]] = {**info, "args": arguments, "argmap": None}
    return kept


def argument_as_read(name: str, place: int, argument: Any) -> Any:
    """What one argument's conversion gives the function."""
    conversion = importlib.import_module("xlwings.conversion")
    windows = importlib.import_module("xlwings._xlwindows")
    main = importlib.import_module("xlwings.main")
    info = getattr(importlib.import_module(UDF_MODULE), name).__xlfunc__["args"][place]
    if isinstance(argument, SheetRange):
        rng = main.Range(impl=windows.Range(xl=argument))
        return conversion.read(rng, None, info["options"])
    return conversion.read(None, argument, info["options"])
