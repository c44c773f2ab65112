"""One run of LibreOffice that does a list of tasks; run by a Python that has uno.

Usage: driving_calc.py OFFICE_TASKS SOFFICE PROFILE_URI TASKS_JSON, where OFFICE_TASKS is the
folder of the package's office_tasks.py. It prints a line of JSON: what each task gave. It stands
apart from the package: it is the program's own Python, which has none of our libraries.
"""

import json
import os
import sys
import time
from pathlib import Path

sys.path.insert(0, sys.argv[1])

import office_tasks
import uno
import unohelper
from com.sun.star.beans import PropertyValue
from com.sun.star.frame import XDispatchResultListener
from com.sun.star.util import URL

ERRORS = 4
FORMULAS = 16


def option(name, value):
    made = PropertyValue()
    made.Name, made.Value = name, value
    return made


class Listener(unohelper.Base, XDispatchResultListener):
    def __init__(self):
        self.said = None

    def dispatchFinished(self, event):
        self.said = event.Result

    def disposing(self, event):
        pass


class Driver:
    def __init__(self, office):
        self.office = office
        self.desktop = office.desktop()
        self.book = None

    def open(self, url, hidden=True):
        self.book = self.desktop.loadComponentFromURL(url, "_blank", 0, (option("Hidden", hidden),))

    def new(self):
        self.open("private:factory/scalc", hidden=False)

    def close(self):
        self.book.close(True)
        self.book = None

    def read(self):
        """Every sheet: its cells, its errors by place (row, column from 0)."""
        return {sheet.Name: sheet_content(sheet) for sheet in sheets_of(self.book)}

    def type(self, sheet, cell, text, area=""):
        """Put a formula, a text or a number into a cell; with an area as array formula."""
        place = self.book.Sheets.getByName(sheet)
        if area:
            place.getCellRangeByName(area).setArrayFormula(text)
            return
        one = place.getCellRangeByName(cell)
        if isinstance(text, str):
            one.Formula = text
        else:
            one.Value = text
        return

    def sheet(self, name):
        self.book.Sheets.getByIndex(0).Name = name

    def show(self, sheet, cell):
        one = self.book.Sheets.getByName(sheet).getCellRangeByName(cell)
        return {"value": one.Value, "text": one.String, "error": one.getError(), "formula": one.Formula}

    def calculate(self, rounds):
        """The least time that working out every cell took."""
        times = []
        for _ in range(rounds):
            begun = time.perf_counter()
            self.book.calculateAll()
            times.append(time.perf_counter() - begun)
        return min(times)

    def save(self, url, filter_name):
        self.book.storeAsURL(url, (option("FilterName", filter_name),))

    def store(self):
        """Save under the same name."""
        self.book.store()

    def changed(self):
        return self.book.isModified()

    def undo_titles(self):
        return list(self.book.UndoManager.getAllUndoActionTitles())

    def undo(self):
        names = self.undo_titles()
        self.book.UndoManager.undo()
        return names

    def run(self, command, answers):
        """A command of the menu; what it told, and the workbooks that it opened."""
        frame = self.book.CurrentController.Frame
        url = URL()
        url.Complete = command
        transformer = self.office.context.ServiceManager.createInstanceWithContext(
            "com.sun.star.util.URLTransformer", self.office.context
        )
        _, url = transformer.parseStrict(url)
        before = {one.RuntimeUID for one in self.books()}
        dispatch = frame.queryDispatch(url, "_self", 0)
        listener = Listener()
        given = uno.Any("[]any", tuple(answers))
        dispatch.dispatchWithNotification(url, (option("Answers", given),), listener)
        opened = []
        for book in self.books():
            if book.RuntimeUID not in before:
                content = {sheet.Name: sheet_content(sheet) for sheet in sheets_of(book)}
                opened.append({"url": book.URL, "sheets": content})
                book.close(True)
        return {"said": listener.said, "opened": opened}

    def books(self):
        found = []
        each = self.desktop.Components.createEnumeration()
        while each.hasMoreElements():
            one = each.nextElement()
            if hasattr(one, "Sheets"):
                found.append(one)
        return found

    def functions(self):
        """What the function wizard lists."""
        listed = self.office.context.ServiceManager.createInstanceWithContext(
            "com.sun.star.sheet.FunctionDescriptions", self.office.context
        )
        found = {}
        for place in range(listed.Count):
            about = {one.Name: one.Value for one in listed.getByIndex(place)}
            found[about["Name"]] = {
                "help": about["Description"],
                "category": about["Category"],
                "arguments": [[one.Name, one.Description, one.IsOptional] for one in about["Arguments"] or ()],
            }
        return found

    def libraries(self, part):
        """The files that the program has loaded whose path holds this; Linux only."""
        found = set()
        for maps in Path("/proc").glob("[0-9]*/maps"):
            try:
                if os.getpgid(int(maps.parent.name)) == self.office.program.pid:
                    found |= {line.split(maxsplit=5)[5] for line in maps.read_text().splitlines() if part in line}
            except OSError:
                continue
        return sorted(found)

    def menus(self):
        """The entries of the add-ins' menus: title, command, and the menu and group in which it stands."""
        provider = self.office.context.ServiceManager.createInstanceWithContext(
            "com.sun.star.configuration.ConfigurationProvider", self.office.context
        )
        root = provider.createInstanceWithArguments(
            "com.sun.star.configuration.ConfigurationAccess",
            (option("nodepath", "/org.openoffice.Office.Addons/AddonUI/OfficeMenuBar"),),
        )
        found = []
        for name in root.ElementNames:
            menu = root.getByName(name)
            groups = menu.getByName("Submenu")
            for group in (groups.getByName(one) for one in groups.ElementNames):
                path = f"{menu.getByName('Title')}, {group.getByName('Title')}"
                entries = group.getByName("Submenu")
                listed = [entries.getByName(one) for one in entries.ElementNames]
                found += [[entry.getByName("Title"), entry.getByName("URL"), path] for entry in listed]
        return found


def sheets_of(book):
    return [book.Sheets.getByIndex(place) for place in range(book.Sheets.Count)]


def sheet_content(sheet):
    cursor = sheet.createCursor()
    cursor.gotoEndOfUsedArea(False)
    last = cursor.RangeAddress
    block = sheet.getCellRangeByPosition(0, 0, last.EndColumn, last.EndRow)
    errors = []
    for part in block.queryFormulaCells(ERRORS).RangeAddresses:
        for row in range(part.StartRow, part.EndRow + 1):
            columns = range(part.StartColumn, part.EndColumn + 1)
            errors += [[row, one, sheet.getCellByPosition(one, row).getError()] for one in columns]
    return {"cells": block.getDataArray(), "errors": errors}


def main(_, soffice, profile, tasks):
    results = []
    with office_tasks.Office(soffice, profile) as office:
        driver = Driver(office)
        for name, *arguments in json.loads(Path(tasks).read_text(encoding="utf-8")):
            try:
                results.append(getattr(driver, name)(*arguments))
            except Exception as fault:
                results.append({"fault": f"{name}: {fault!r}"})
    print(json.dumps(results))


if __name__ == "__main__":
    main(*sys.argv[1:])
