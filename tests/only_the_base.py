"""Runs this package where nothing but its base can be imported: every case of every function, and what else is said.

Usage: python -m tests.only_the_base [WORDS OF A COMMAND ...]. It prints a line for each case that fails, and how
many were run; with words it runs that command instead. In an environment that has only the base it runs the same.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib.abc import MetaPathFinder
from typing import Any

BASE = {"numpy", "regex"}
ALLOWED = {*sys.stdlib_module_names, *BASE, "sheetfns", "tests", "__main__"}


class OnlyTheBase(MetaPathFinder):
    """Finds nothing, and stops the search for what is not of the base."""

    def find_spec(self, name: str, path: Sequence[str] | None = None, target: Any = None) -> None:
        if name.partition(".")[0] not in ALLOWED:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)


def main(words: list[str]) -> int:
    sys.meta_path.insert(0, OnlyTheBase())
    if words:
        from sheetfns.cli import start

        sys.argv[1:] = words
        start.main()
        return 0
    import sheetfns
    from sheetfns.calling import call
    from sheetfns.errors import CellError
    from tests.case_files import agrees, load_cases

    cases = load_cases()
    failed = 0
    for case in cases:
        try:
            found: Any = call(case.spec, (), case.arguments)
        except CellError as error:
            found = error
        if not agrees(case.expected, found):
            failed += 1
            print(f"{case.function}, line {case.line}: {found}, not {case.expected}")
    assert {case.function for case in cases} == set(sheetfns.REGISTRY)
    print(f"{len(cases)} cases of {len(sheetfns.REGISTRY)} functions, {failed} failed")
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
