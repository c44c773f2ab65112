"""Worksheet functions and a sourcing log for a small resale business.

Every function can be imported by its Python name: `from sheetfns import net_profit`.
"""

from __future__ import annotations

import warnings
from typing import Any

__version__ = "0.4.0"
__all__ = ["REGISTRY", "CellError", "__version__"]

_broken: Exception | None = None
try:
    import sheetfns.functions as _functions  # noqa: F401  (declares every function)
    from sheetfns.errors import CellError
    from sheetfns.former_names import FUNCTIONS as _FORMER
    from sheetfns.former_names import notice as _notice
    from sheetfns.registry import REGISTRY
except Exception as _error:  # noqa: BLE001  (a broken package fails as it likes)
    # Without numpy 'sheetfns doctor' has still to run; whatever needs more says why it cannot.
    _broken = _error


def __getattr__(name: str) -> Any:
    if _broken is not None:
        raise ImportError(f"sheetfns cannot be used: {_broken}; run 'sheetfns doctor'")
    spec = REGISTRY.get(_FORMER.get(name.upper(), name.upper()))
    if spec is not None and name.upper() in _FORMER and name.islower():
        warnings.warn(_notice(name, spec.python_name), DeprecationWarning, stacklevel=2)
        name = spec.python_name
    if spec is None or name != spec.python_name:
        raise AttributeError(f"sheetfns has no function {name}; see sheetfns.REGISTRY")
    return getattr(__import__(spec.module, fromlist=[name]), name)


def __dir__() -> list[str]:
    return sorted([*__all__, *(spec.python_name for spec in REGISTRY.values())])
