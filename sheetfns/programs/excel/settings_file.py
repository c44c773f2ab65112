"""xlwings' settings file of a user: lines of "KEY","VALUE", read and changed with care.

Its VBA reads the file in the system's own character set and stops at a line that is no pair
(xlwings.bas, GetConfigFromFile).
"""

from __future__ import annotations

import locale
import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from sheetfns.errors import LogFileError
from sheetfns.files.safe_files import atomic_write, dated_copy, make_folder

_PAIR: Final = re.compile(r'\s*"([^"]*)"\s*,\s*"([^"]*)"\s*')
_OTHER_CODINGS: Final = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True)
class Settings:
    """The settings as they stand in the file.

    Attributes:
        path: the file.
        pairs: keys and values in their order.
        trouble: why the file cannot be used; "" if it can.
        next_step: what to do about that.
    """

    path: Path
    pairs: tuple[tuple[str, str], ...] = ()
    trouble: str = ""
    next_step: str = ""

    def value(self, key: str) -> str:
        """The value of a key, whose capitals do not matter; "" if there is none."""
        return next((value for name, value in self.pairs if name.lower() == key.lower()), "")

    def without(self, key: str) -> Settings:
        """The settings without a key."""
        return replace(self, pairs=tuple(pair for pair in self.pairs if pair[0].lower() != key.lower()))

    def with_value(self, key: str, value: str) -> Settings:
        """The settings with a key's value; the others stay in their order."""
        return replace(self, pairs=(*self.without(key).pairs, (key, value)))


def read_settings(path: Path) -> Settings:
    """Read a settings file; a missing one has no settings, a bad one says what is wrong."""
    if not path.exists():
        return Settings(path)
    again = f"Fix {path} in a text editor, or delete it, and run: sheetfns install excel"
    try:
        content = path.read_bytes()
    except OSError as error:
        words = f"{path}: cannot be read ({error.strerror})"
        return Settings(path, trouble=words, next_step=f"Allow reading {path}, and try again")
    if content.startswith(_OTHER_CODINGS):
        words = f"{path}: is saved as Unicode, which xlwings' macros cannot read"
        return Settings(path, trouble=words, next_step=f"Save {path} as ANSI in a text editor")
    try:
        lines = content.decode(locale.getencoding()).splitlines()
    except UnicodeDecodeError:
        words = f"{path}: has characters that this system does not know"
        return Settings(path, trouble=words, next_step=again)
    pairs = []
    for number, line in enumerate(lines, 1):
        if not line.strip():
            continue
        pair = _PAIR.fullmatch(line)
        if pair is None:
            words = f'{path}, line {number}: should be "KEY","VALUE" (found: {line!r})'
            return Settings(path, trouble=words, next_step=again)
        pairs.append((pair[1], pair[2]))
    return Settings(path, tuple(pairs))


def write_settings(settings: Settings) -> Path | None:
    """Write the file; gives the dated copy of the one that stood there, if one did.

    Errors:
        LogFileError: it cannot be written, or a value cannot stand in it.
    """
    path = settings.path
    for key, value in settings.pairs:
        if '"' in value or "\n" in value:
            raise LogFileError(f"{path}: the value of {key} has a quote or a line end: {value!r}")
    # The statement Input of VBA takes CR and LF for the end of a line.
    text = "".join(f'"{key}","{value}"\r\n' for key, value in settings.pairs)
    try:
        content = text.encode(locale.getencoding())
    except UnicodeEncodeError as error:
        raise LogFileError(
            f"{path}: cannot hold {error.object[error.start : error.end]!r}; install Python in a folder whose name has "
            "plain letters only"
        ) from error
    make_folder(path.parent)
    copy = dated_copy(path) if path.exists() else None
    with atomic_write(path) as beside:
        beside.write_bytes(content)
    return copy
