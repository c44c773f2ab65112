"""Which packages each part of this one needs, and one sentence where they are not installed.

It needs nothing but Python. `pyproject.toml` names the same packages; a test compares the two.
"""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class Package:
    """A package as the registry and as Python knows it.

    Attributes:
        name: what is installed.
        versions: which of them, such as ">=2".
        module: what is imported.
    """

    name: str
    versions: str
    module: str

    @property
    def requirement(self) -> str:
        """Name and versions, as pip takes them."""
        return self.name + self.versions


BASE: Final = (Package("numpy", ">=2", "numpy"), Package("regex", ">=2024.4.16", "regex"))
"""What every function needs."""
LOG: Final = (
    Package("pandas", ">=3", "pandas"),
    Package("XlsxWriter", ">=3.2,<4", "xlsxwriter"),
    Package("python-calamine", ">=0.2.3", "python_calamine"),
    Package("formualizer", ">=0.13,<0.14", "formualizer"),
    Package("lxml", ">=5", "lxml.etree"),
    Package("filelock", ">=3.12", "filelock"),
    Package("openpyxl", ">=3.1", "openpyxl"),
    Package("charset-normalizer", ">=3.3", "charset_normalizer"),
    Package("defusedxml", ">=0.7", "defusedxml"),
)
"""What reading, writing and recalculating a log needs too; the menu of the spreadsheet programs needs no more."""
COMMANDS: Final = (
    Package("typer", ">=0.12", "typer"),
    Package("rich", ">=13", "rich"),
    Package("matplotlib", ">=3.8", "matplotlib"),
    Package("packaging", ">=22", "packaging"),
    Package("questionary", ">=2", "questionary"),
)
"""What the commands in a terminal need too."""
EXTRAS: Final = {"log": LOG, "commands": (*LOG, *COMMANDS)}
"""By the names that pip takes; `all` is everything but what is for Excel or for tests."""
_CELLS: Final = "pandas"
"""What is enough where a log's cells are handed over without its file."""
_NAMED: Final = 3
EVERY: Final = (*BASE, *LOG, *COMMANDS)


class MissingPackagesError(ImportError):
    """Packages of an extra are not installed: which, and what to do."""


def need(extra: str, what: str, *, of_cells: bool = False) -> None:
    """Go on only where the packages of an extra are installed.

    Args:
        extra: its name.
        what: the part of this package that needs them, as a sentence begins.
        of_cells: whether that part can do without the packages that read and write files.

    Errors:
        MissingPackagesError: what is missing and what to install.
    """
    missing = [package.name for package in EXTRAS[extra] if not is_there(package)]
    if missing and not (of_cells and _CELLS not in missing):
        more = f" and {len(missing) - _NAMED} more" if len(missing) > _NAMED else ""
        raise MissingPackagesError(
            f"{what} packages that are not installed ({', '.join(missing[:_NAMED])}{more}): install sheetfns[all]; "
            f"{install_all()}"
        )


def is_there(package: Package) -> bool:
    """Whether Python finds it; it is not loaded."""
    try:
        return importlib.util.find_spec(package.module.partition(".")[0]) is not None
    except (ImportError, ValueError):
        return False


def install_all(begin: str = "in") -> str:
    """How everything is installed; as a sentence of its own it begins with "In"."""
    return f'{begin} the folder of sheetfns run: "{sys.executable}" -m pip install ".[all]"'
