"""VBA run by LibreOffice's Basic, and what LibreOffice makes of a workbook's macros and buttons.

As a program it is run by a Python that has uno:
basic_in_libreoffice.py SOFFICE PROFILE_URI JOB_JSON RESULT_JSON. It stands apart from the package,
as that Python has none of our libraries.
"""

import json
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve()
ALWAYS_RUN = 4
"""com.sun.star.document.MacroExecMode.ALWAYS_EXECUTE_NO_WARN"""


def run_job(job, timeout=120):
    """Run a job in a LibreOffice of its own, whose profile is thrown away.

    Args:
        job: `modules` by name and `calls`, each a macro's name and its arguments, before and after
            which `cells` are filled; or `book`, a path, and `ask`, which macros to look for.
    """
    from tests import libreoffice

    soffice, python = libreoffice.find_soffice(), libreoffice.find_python_with_uno()
    if soffice is None or python is None:
        raise libreoffice.LibreOfficeError("soffice, or its Python (python3-uno), is missing")
    with tempfile.TemporaryDirectory(prefix="sheetfns-profile-", ignore_cleanup_errors=True) as folder:
        place = Path(folder)
        libreoffice._write_profile(place, libreoffice._version(soffice))
        asked, answered = place / "job.json", place / "result.json"
        asked.write_text(json.dumps(job), encoding="utf-8")
        command = [python, str(HERE), soffice, place.as_uri(), str(asked), str(answered)]
        code, words = libreoffice._run_once(command, timeout)
        if code or not answered.is_file():
            raise libreoffice.LibreOfficeError(f"nothing was answered ({code}): {words}")
        return json.loads(answered.read_text(encoding="utf-8"))


def main(soffice, profile, asked, answered):
    """Do a job and write down what came of it."""
    sys.path.insert(0, str(HERE.parents[1]))
    from typing_in_libreoffice import option, started

    job = json.loads(Path(asked).read_text(encoding="utf-8"))
    program, desktop = started(soffice, profile)
    try:
        url = Path(job["book"]).as_uri() if "book" in job else "private:factory/scalc"
        options = (option("Hidden", True), option("MacroExecutionMode", ALWAYS_RUN))
        book = desktop.loadComponentFromURL(url, "_blank", 0, options)
        result = looked_at(book, job) if "book" in job else done(book, job)
        book.close(True)
    finally:
        desktop.terminate()
        program.wait(30)
    Path(answered).write_text(json.dumps(result), encoding="utf-8")


def done(book, job):
    """What macros give, and cells that call them."""
    libraries = book.BasicLibraries
    libraries.VBACompatibilityMode = True
    library = libraries.getByName("Standard")
    for name, text in job["modules"].items():
        library.insertByName(name, f"Option VBASupport 1\n{text}")
    sheet = book.Sheets.getByIndex(0)
    for place, content in job.get("cells", {}).items():
        cells = sheet.getCellRangeByName(place)
        if isinstance(content, (int, float)):
            cells.Value = content
        elif ":" in place:
            cells.setArrayFormula(content)
        else:
            cells.Formula = content
    shown = {
        place: [list(row) for row in sheet.getCellRangeByName(place).getDataArray()] for place in job.get("cells", {})
    }
    return {"cells": shown, "calls": [called(book, *call) for call in job["calls"]]}


def called(book, name, *arguments):
    """What a macro gives; an error in Basic is a text that says so."""
    address = f"vnd.sun.star.script:Standard.{name}?language=Basic&location=document"
    try:
        return book.getScriptProvider().getScript(address).invoke(arguments, (), ())[0]
    except Exception as error:  # noqa: BLE001  (whatever it is, the test shows it)
        return f"BASIC ERROR {str(error)[:300]}"


def looked_at(book, job):
    """The buttons of a workbook with the macros behind them, its modules, and some cells."""
    buttons = []
    for sheet in book.Sheets:
        for form in sheet.DrawPage.Forms:
            for place in range(form.Count):
                events = [event.ScriptCode for event in form.getScriptEvents(place)]
                buttons.append([sheet.Name, form.getByIndex(place).Label, events])
    libraries = {
        name: list(book.BasicLibraries.getByName(name).ElementNames) for name in book.BasicLibraries.ElementNames
    }
    cells = {
        f"{sheet} {cell}": book.Sheets.getByName(sheet).getCellRangeByName(cell).String for sheet, cell in job["ask"]
    }
    return {"buttons": buttons, "libraries": libraries, "cells": cells}


if __name__ == "__main__":
    main(*sys.argv[1:])
