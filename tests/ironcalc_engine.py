"""IronCalc, a spreadsheet engine of its own with its own reader and writer of .xlsx."""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Iterable
from pathlib import Path

from sheetfns.hosts.libreoffice import NotAnsweredError, run_for

TIMEOUT = 180


class IronCalcError(Exception):
    """IronCalc did not give what it was asked for."""


def find_ironcalc() -> str | None:
    """Where the package is, or None where it is not installed."""
    found = importlib.util.find_spec("ironcalc")
    return found.origin if found else None


def recalculate(paths: Iterable[Path], folder: Path) -> dict[Path, Path]:
    """Load workbooks, calculate every cell anew, and save them.

    Args:
        paths: the workbooks, no two of one name.
        folder: where they are saved, under the same names.

    Returns:
        what was saved, by what it was made of.
    """
    made = {path: folder / path.name for path in paths}
    if len(set(made.values())) != len(made) or any(one.exists() for one in made.values()):
        raise IronCalcError(f"{folder}: one workbook would be written over another")
    folder.mkdir(parents=True, exist_ok=True)
    pairs = [str(path.resolve()) for pair in made.items() for path in pair]
    # In a process of its own, which can be ended and whose faults end nothing else.
    try:
        code, words = run_for([sys.executable, __file__, *pairs], TIMEOUT + 60 * len(made))
    except NotAnsweredError as error:
        raise IronCalcError(str(error)) from error
    missing = [target.name for target in made.values() if not target.is_file()]
    if code or missing:
        raise IronCalcError(f"not saved: {', '.join(missing)} ({code}): {words}")
    return made


def _recalculate_each(pairs: list[str]) -> None:
    import ironcalc

    for source, target in zip(pairs[::2], pairs[1::2], strict=True):
        model = ironcalc.load_from_xlsx(source, "en", "UTC", "en")
        model.evaluate()
        model.save_to_xlsx(target)


if __name__ == "__main__":
    _recalculate_each(sys.argv[1:])
