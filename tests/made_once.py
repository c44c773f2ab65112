"""Files with which many tests begin, made once in a run, by whichever of its processes needs them first."""

from __future__ import annotations

import functools
import os
import tempfile
from collections.abc import Callable
from pathlib import Path

FOLDER = "SHEETFNS_TESTS_FOLDER"
"""The variable in which the run's folder stands (tests/conftest.py): its processes inherit it."""


def made_once(name: str, make: Callable[[Path], object]) -> Path:
    """The file of that name, which is to be copied and not changed.

    Two processes that need it at once make it twice, and one takes the other's place.
    """
    path = Path(os.environ.get(FOLDER) or _own_folder().name) / name
    if not path.exists():
        own = path.with_name(f"{os.getpid()}_{name}")
        make(own)
        own.replace(path)
    return path


@functools.cache
def _own_folder() -> tempfile.TemporaryDirectory[str]:
    return tempfile.TemporaryDirectory(prefix="sheetfns-tests-", ignore_cleanup_errors=True)
