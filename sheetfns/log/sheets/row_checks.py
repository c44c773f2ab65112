"""What the row checks of a sheet say, worked out in Python, apart from the formulas."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

import numpy as np
import pandas as pd

from sheetfns.log.model.sheets import RowCheck

NOT_KNOWN: Final = "(not known)"
"""In the place of words that cannot be known; they are not compared."""
_LONGEST: Final = 300
"""Letters of a row check."""
_AS_CHECK: Final = {"not_a_date": "not_a_number", "only_spaces": "not_a_number", "not_whole": "part"}
"""What the reader tells apart and the sheet does not."""

RowVerdicts = Mapping[int, frozenset[str]]
"""The keys of the checks that fail, by the sheet's row."""


def with_row_checks(
    rows: pd.DataFrame,
    checks: Sequence[RowCheck],
    verdicts: RowVerdicts,
    named: pd.Series[bool],
    also: Mapping[str, Any] | None = None,
) -> pd.DataFrame:
    """The rows with their columns findings and row_check.

    Of a row with an entry that no check knows, such as a name with a star, NOT_KNOWN is said: a sheet may make
    anything of it.

    Args:
        rows: the frame of the sheet, with sheet_row and all that the checks of figures look at.
        checks: the checks of the sheet, in the order in which it says them.
        verdicts: what is wrong with entries.
        named: the rows that say "ok" where nothing is wrong.
        also: rows that fail a check, by its key, where it needs more than the frame to tell.
    """
    failing = [
        {_AS_CHECK.get(code, code) for code in verdicts.get(row, frozenset())} for row in rows["sheet_row"].tolist()
    ]
    findings = pd.Series("", rows.index, dtype=object)
    for check in checks:
        wrong = np.array([check.key in codes for codes in failing], dtype=bool)
        if check.of_results is not None:
            wrong |= np.asarray(check.of_results(rows), dtype=bool)
        if also and check.key in also:
            wrong |= np.asarray(also[check.key], dtype=bool)
        findings = findings + np.where(wrong, f"; {check.message}", "")
    known = {check.key for check in checks}
    odd = np.array([bool(codes - known) for codes in failing], dtype=bool)
    row_check = np.where(findings == "", np.where(named, "ok", ""), findings.str[2 : 2 + _LONGEST])
    return rows.assign(findings=np.where(odd, NOT_KNOWN, findings), row_check=np.where(odd, NOT_KNOWN, row_check))
