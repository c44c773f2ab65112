"""Type into a workbook that LibreOffice holds open, and save it; run by a Python that has uno.

Usage: typing_in_libreoffice.py SOFFICE PROFILE_URI SOURCE_URI TARGET_URI ENTRIES_JSON, where the
entries are rows of sheet, cell and value. It stands apart from the package: it is the program's own
Python, which has none of our libraries.
"""

import json
import os
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException

START_AGAIN = 81
SECONDS_TO_START = 60


def option(name, value):
    """One named option of a call."""
    made = PropertyValue()
    made.Name, made.Value = name, value
    return made


def started(soffice, profile, display=None):
    """The program, listening on a pipe of this process, and its desktop.

    Without a display it has no windows.
    """
    pipe = f"sheetfns{Path(profile).name}"
    command = [
        soffice,
        f"-env:UserInstallation={profile}",
        *(() if display else ("--headless",)),
        "--norestore",
        "--nologo",
        f"--accept=pipe,name={pipe};urp;",
    ]
    surroundings = {**os.environ, "DISPLAY": display} if display else None
    program = subprocess.Popen(command, stderr=subprocess.DEVNULL, env=surroundings)
    here = uno.getComponentContext()
    resolver = here.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", here)
    until = time.monotonic() + SECONDS_TO_START
    while time.monotonic() < until:
        try:
            there = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        except NoConnectException:
            if program.poll() == START_AGAIN:
                program = subprocess.Popen(command, stderr=subprocess.DEVNULL, env=surroundings)
            time.sleep(0.1)
        else:
            return program, there.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", there)
    raise SystemExit("soffice did not answer")


@contextmanager
def running(soffice, profile, display=None):
    """The desktop of a program that ends with the block."""
    program, desktop = started(soffice, profile, display)
    try:
        yield desktop
    finally:
        desktop.terminate()
        program.wait(30)


def main(soffice, profile, source, target, inputs):
    """Open, type, save, end the program."""
    with running(soffice, profile) as desktop:
        book = desktop.loadComponentFromURL(source, "_blank", 0, (option("Hidden", True),))
        for sheet, cell, value in json.loads(Path(inputs).read_text(encoding="utf-8")):
            place = book.Sheets.getByName(sheet).getCellRangeByName(cell)
            if isinstance(value, str):
                place.String = value
            else:
                place.Value = value
        book.storeToURL(target, (option("FilterName", "Calc MS Excel 2007 XML"),))
        book.close(True)


if __name__ == "__main__":
    main(*sys.argv[1:])
