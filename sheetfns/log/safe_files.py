"""Writing files so that the old one is whole until the new one is."""

from __future__ import annotations

import contextlib
import datetime as dt
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

from sheetfns.errors import LogFileError


@contextlib.contextmanager
def written_beside(path: Path) -> Iterator[Path]:
    """Give a path beside `path` to write to; rename it over `path` when the block ends well.

    Errors:
        LogFileError: the folder is missing or cannot be written, or the file is open elsewhere.
    """
    refuse_if_open(path)
    try:
        handle, name = tempfile.mkstemp(
            prefix=f".{path.stem}-", suffix=path.suffix, dir=path.parent
        )
    except OSError as error:
        raise LogFileError(
            f"{path}: cannot be written ({error.strerror}); choose another folder"
        ) from error
    os.close(handle)
    beside = Path(name)
    try:
        yield beside
        with beside.open("rb+") as written:
            os.fsync(written.fileno())
        # A new file takes the usual rights, not those of a temporary one.
        mask = os.umask(0)
        os.umask(mask)
        beside.chmod(path.stat().st_mode if path.exists() else 0o666 & ~mask)
        beside.replace(path)
    except OSError as error:
        raise LogFileError(f"{path}: cannot be written ({error.strerror or error})") from error
    finally:
        beside.unlink(missing_ok=True)


def dated_copy(path: Path) -> Path:
    """Keep a copy of a file under its name and the time, and give its path."""
    stamp = dt.datetime.now().astimezone().strftime("%Y-%m-%d %H%M%S")
    copy = path.with_name(f"{path.stem} {stamp}{path.suffix}")
    shutil.copy2(path, copy)
    return copy


def refuse_if_open(path: Path) -> None:
    """Refuse to write a workbook that a spreadsheet program holds open (its lock file shows it)."""
    for lock in (path.with_name(f".~lock.{path.name}#"), path.with_name(f"~${path.name}")):
        if lock.exists():
            raise LogFileError(
                f"{path}: is open in a spreadsheet program; close it there and run this again "
                f"(if it is not open, delete {lock.name})"
            )
