"""Writing files so that the old one is whole until the new one is."""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import os
import shutil
import stat
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from sheetfns.errors import LogFileError

_UNFINISHED: Final = ".unfinished-"


@contextlib.contextmanager
def sole_use(path: Path) -> Iterator[None]:
    """Keep other runs away from a file while it is read, changed and written.

    The lock is the system's own: it ends with the run, whatever ends that.

    Errors:
        LogFileError: another run works on the file, or its folder cannot be written.
    """
    from filelock import FileLock, Timeout  # noqa: PLC0415  (the add-in rewrites names without it)

    refuse_if_open(path)
    refuse_if_read_only(path)
    if not path.parent.is_dir():
        raise LogFileError(f"{path}: there is no folder {path.parent}; create it, or check the name")
    lock = path.with_name(f".{path.name}.in-use")
    held = FileLock(lock, timeout=0)
    try:
        held.acquire()
    except Timeout:
        raise LogFileError(f"{path}: another command is using it; wait until that is done and run this again") from None
    except OSError as error:
        raise _not_writable(path, error) from error
    try:
        _clear_unfinished(path)
        yield
    finally:
        # Windows takes no file away that is open; there the lock's own end does it.
        with contextlib.suppress(OSError):
            lock.unlink(missing_ok=True)
        held.release()


@contextlib.contextmanager
def atomic_write(path: Path, *, open_here: bool = False) -> Iterator[Path]:
    """Give a path beside `path` to write to; rename it over `path` when the block ends well.

    Args:
        path: the file to write.
        open_here: the program that runs this has it open itself.

    Errors:
        LogFileError: the folder is missing or cannot be written, or the file is open elsewhere or
            read-only.
    """
    if not open_here:
        refuse_if_open(path)
    refuse_if_read_only(path)
    try:
        handle, name = tempfile.mkstemp(prefix=_unfinished(path), suffix=path.suffix, dir=path.parent)
    except OSError as error:
        raise _not_writable(path, error) from error
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
        raise LogFileError(
            f"{path}: cannot be written ({error.strerror or error}); free up space or allow writing there, then run "
            "this again"
        ) from error
    finally:
        beside.unlink(missing_ok=True)


@contextlib.contextmanager
def folder_for_drafts(path: Path) -> Iterator[Path]:
    """Give a folder for what is thrown away once `path` can be written.

    Errors:
        LogFileError: there is no room for it.
    """
    try:
        with tempfile.TemporaryDirectory() as folder:
            yield Path(folder)
    except OSError as error:
        raise LogFileError(
            f"{path}: its draft cannot be written to the system's temporary files ({error.strerror or error}); free up "
            "space there, then run this again"
        ) from error


def make_folder(folder: Path) -> None:
    """Make a folder, and those that it stands in, if it is not there.

    Errors:
        LogFileError: it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise LogFileError(
            f"{folder}: cannot be created ({error.strerror}); allow writing there, and run this again"
        ) from error


def file_mark(path: Path) -> str:
    """What tells one state of a file from another.

    Errors:
        LogFileError: the file cannot be read.
    """
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise LogFileError(f"{path}: cannot be read ({error.strerror}); check the name") from error


def dated_copy(path: Path) -> Path:
    """Keep a copy of a file under its name and the time, and give its path.

    Errors:
        LogFileError: the copy cannot be written.
    """
    stamp = dt.datetime.now().astimezone().strftime("%Y-%m-%d %H%M%S")
    copy = path.with_name(f"{path.stem} {stamp}{path.suffix}")
    number = 2
    while copy.exists():
        copy = path.with_name(f"{path.stem} {stamp} ({number}){path.suffix}")
        number += 1
    try:
        handle, name = tempfile.mkstemp(prefix=_unfinished(path), suffix=path.suffix, dir=path.parent)
        os.close(handle)
        beside = Path(name)
        try:
            shutil.copy2(path, beside)
            beside.replace(copy)
        finally:
            beside.unlink(missing_ok=True)
    except OSError as error:
        raise LogFileError(
            f"{path}: no backup can be made ({error.strerror or error}), so it was not changed; "
            "free up space or allow writing there, then run this again"
        ) from error
    return copy


def refuse_if_open(path: Path) -> None:
    """Refuse to write a workbook that a spreadsheet program holds open (its lock file shows it)."""
    for lock in (path.with_name(f".~lock.{path.name}#"), path.with_name(f"~${path.name}")):
        if lock.exists():
            raise LogFileError(
                f"{path}: is open in a spreadsheet program; close it there and run this again "
                f"(if it is not open, delete {lock.name})"
            )


def refuse_if_read_only(path: Path) -> None:
    """Refuse to write a file that its owner has made read-only: a rename would not ask."""
    if path.exists() and not path.stat().st_mode & stat.S_IWUSR:
        raise LogFileError(f"{path}: is read-only; allow writing to it, or choose another name for the result")


def _unfinished(path: Path) -> str:
    return f"{_UNFINISHED}{path.stem}-"


def _clear_unfinished(path: Path) -> None:
    """Take away what runs left that were ended in the middle; called while nobody else writes."""
    beginning = _unfinished(path)
    for left in path.parent.iterdir():
        # Eight random letters follow: another log's name may begin like this one's.
        rest = left.name.removeprefix(beginning)
        if rest != left.name and len(rest) == len("12345678") + len(path.suffix):
            with contextlib.suppress(OSError):
                left.unlink()


def _not_writable(path: Path, error: OSError) -> LogFileError:
    return LogFileError(f"{path}: cannot be written ({error.strerror}); choose another folder")
