"""Plain function names in an .xlsx that LibreOffice 7.4 wrote: sheetfns.NET_PROFIT( no more."""

from __future__ import annotations

import os
import re
import zipfile
from pathlib import Path
from typing import Final

from sheetfns.files.safe_files import atomic_write
from sheetfns.programs.calc.names import SERVICE
from sheetfns.registry import FORMER, REGISTRY

_PREFIXED: Final = re.compile(rf"(?i:\b{SERVICE}\.({'|'.join([*REGISTRY, *FORMER])})(?=\s*\())".encode())
_PLAIN: Final = re.compile(rf"(?<![\w.])({'|'.join(REGISTRY)})(?=\()")
_FORMULAS: Final = re.compile(rb"<((?:\w+:)?(?:f|definedName|formula|formula1|formula2|formula3))(?:\s[^>]*)?>[^<]*")
_WITH_FORMULAS: Final = ("xl/worksheets/", "xl/workbook.xml")


def rewrite(path: Path | str) -> int:
    """Put plain names in the place of the add-in's in every formula of a workbook.

    The file keeps its time of change: the program would take it for changed by somebody else. All
    else in it stays byte for byte; if there is nothing to do, the file is not touched.

    Returns:
        how many names were changed.
    """
    path = Path(path).resolve()  # a link stays a link
    with zipfile.ZipFile(path) as file:
        changed = {}
        count = 0
        for info in file.infolist():
            if info.filename.startswith(_WITH_FORMULAS) and info.filename.endswith(".xml"):
                content, times = with_plain_names(file.read(info))
                if times:
                    changed[info.filename] = content
                    count += times
        if not count:
            return 0
        before = path.stat()
        # The program that has it open is the one that asks for this.
        with atomic_write(path, open_here=True) as beside:
            with zipfile.ZipFile(beside, "w", zipfile.ZIP_DEFLATED) as target:
                for info in file.infolist():
                    target.writestr(info, changed.get(info.filename) or file.read(info))
            os.utime(beside, ns=(before.st_atime_ns, before.st_mtime_ns))
    return count


def with_add_in_names(formula: str) -> str:
    """A formula with the add-in's names in the place of plain ones, as the program calls its functions.

    >>> with_add_in_names('IF(A1="","",NET_MARGIN(A1,MAX(B1,0)))')
    'IF(A1="","",SHEETFNS.NET_MARGIN(A1,MAX(B1,0)))'
    """
    return _PLAIN.sub(rf"{SERVICE}.\1", formula)


def with_plain_names(content: bytes) -> tuple[bytes, int]:
    """A part's content with plain names in its formulas, and how many were changed.

    >>> with_plain_names(b"<f>sheetfns.NET_MARGIN(A1,B1)</f><v>sheetfns.NET_MARGIN(</v>")
    (b'<f>NET_MARGIN(A1,B1)</f><v>sheetfns.NET_MARGIN(</v>', 1)
    """
    count = 0

    def plain(found: re.Match[bytes]) -> bytes:
        nonlocal count
        text, times = _PREFIXED.subn(lambda name: name[1].upper(), found[0])
        count += times
        return text

    return _FORMULAS.sub(plain, content), count
