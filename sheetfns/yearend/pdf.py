"""Printing a workbook through LibreOffice, where it is installed."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Final

TIMEOUT: Final = 120
_START_AGAIN: Final = 81
"""soffice ends with this code when it has just filled a fresh profile: start it anew."""
_STARTS: Final = 3
_USUAL_PLACES: Final = (
    "/Applications/LibreOffice.app/Contents/MacOS/soffice",
    r"C:\Program Files\LibreOffice\program\soffice.exe",
    r"C:\Program Files (x86)\LibreOffice\program\soffice.exe",
)


class NotPrinted(Exception):  # noqa: N818  (it says what was not done; the rest of the work stands)
    """LibreOffice is not there, or did not print: why, in words."""


def find_libreoffice() -> str | None:
    """The program's path, or None."""
    for name in ("soffice", "libreoffice", *_USUAL_PLACES):
        found = shutil.which(name)
        if found:
            return found
    return None


def print_pdf(source: Path, folder: Path) -> Path:
    """Print a workbook into a folder as a PDF of the same name.

    Errors:
        NotPrinted: there is no LibreOffice, or it gave no PDF in time.
    """
    program = find_libreoffice()
    if program is None:
        raise NotPrinted("LibreOffice is not installed")
    made = folder / f"{source.stem}.pdf"
    with tempfile.TemporaryDirectory(
        prefix="sheetfns-print-", ignore_cleanup_errors=True
    ) as profile:
        command = [
            program,
            f"-env:UserInstallation={Path(profile).resolve().as_uri()}",
            *("--headless", "--norestore", "--nologo", "--nolockcheck"),
            *("--convert-to", "pdf", "--outdir", str(folder), str(source)),
        ]
        code = _START_AGAIN
        for _ in range(_STARTS):
            try:
                code = _run(command)
            except OSError as error:
                raise NotPrinted(
                    f"LibreOffice cannot be started ({error.strerror or error})"
                ) from error
            if code != _START_AGAIN:
                break
    if code or not made.is_file():
        raise NotPrinted(f"LibreOffice made no PDF (it ended with code {code})")
    return made


def _run(command: list[str]) -> int:
    # A group of its own: soffice is a script that starts the real program, and both must end when
    # the time is up.
    process = subprocess.Popen(  # noqa: S603  (a program found on this machine, no shell)
        command,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    try:
        return process.wait(timeout=TIMEOUT)
    except subprocess.TimeoutExpired:
        raise NotPrinted(f"LibreOffice did not print within {TIMEOUT} seconds") from None
    finally:
        if process.poll() is None:
            _end(process)


def _end(process: subprocess.Popen[bytes]) -> None:
    with contextlib.suppress(ProcessLookupError):
        if sys.platform == "win32":
            process.kill()
        else:
            os.killpg(process.pid, signal.SIGKILL)
    process.wait()
