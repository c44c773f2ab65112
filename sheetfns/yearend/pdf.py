"""Printing a workbook through LibreOffice, where it is installed."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Final

from sheetfns.hosts.libreoffice import START_AGAIN, STARTS, NotAnsweredError, find_libreoffice, run_for

TIMEOUT: Final = 120


class NotPrinted(Exception):  # noqa: N818  (it says what was not done; the rest of the work stands)
    """LibreOffice is not there, or did not print: why, in words."""


def print_pdf(source: Path, folder: Path) -> Path:
    """Print a workbook into a folder as a PDF of the same name.

    Errors:
        NotPrinted: there is no LibreOffice, or it gave no PDF in time.
    """
    program = find_libreoffice()
    if program is None:
        raise NotPrinted("LibreOffice is not installed")
    made = folder / f"{source.stem}.pdf"
    with tempfile.TemporaryDirectory(prefix="sheetfns-print-", ignore_cleanup_errors=True) as profile:
        command = [
            program,
            f"-env:UserInstallation={Path(profile).resolve().as_uri()}",
            *("--headless", "--norestore", "--nologo", "--nolockcheck"),
            *("--convert-to", "pdf", "--outdir", str(folder), str(source)),
        ]
        code = START_AGAIN
        for _ in range(STARTS):
            try:
                code, _ = run_for(command, TIMEOUT)
            except NotAnsweredError as error:
                raise NotPrinted(f"LibreOffice {error}") from error
            if code != START_AGAIN:
                break
    if code or not made.is_file():
        raise NotPrinted(f"LibreOffice didn't make the PDF (exit code {code})")
    return made
