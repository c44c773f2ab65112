"""Tasks that need the program running: put the add-in in, take it out, try a formula.

It is run by the Python of LibreOffice, which has nothing of this package:
office_tasks.py SOFFICE PROFILE_URI TASK [ARGUMENT], and prints one line of JSON.
"""

import json
import os
import subprocess
import sys
import time

import uno
import unohelper
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException
from com.sun.star.task import XInteractionHandler
from com.sun.star.ucb import XCommandEnvironment, XProgressHandler

START_AGAIN = 81
SECONDS_TO_START = 90
SECONDS_TO_END = 30


class Consent(unohelper.Base, XCommandEnvironment, XProgressHandler, XInteractionHandler):
    """Agrees to what the program asks while it puts an add-in in."""

    def getInteractionHandler(self):
        return self

    def getProgressHandler(self):
        return self

    def push(self, status):
        pass

    def update(self, status):
        pass

    def pop(self):
        pass

    def handle(self, request):
        approve = uno.getTypeByName("com.sun.star.task.XInteractionApprove")
        for choice in request.getContinuations():
            if choice.queryInterface(approve):
                choice.select()
                return


class Office:
    """The program without a window, on a pipe of this process; it ends with the block."""

    def __init__(self, soffice, profile):
        pipe = "sheetfns%d" % os.getpid()
        self.command = [
            soffice,
            "-env:UserInstallation=" + profile,
            "--headless",
            "--norestore",
            "--nologo",
            "--nodefault",
            "--accept=pipe,name=%s;urp;" % pipe,
        ]
        self.address = "uno:pipe,name=%s;urp;StarOffice.ComponentContext" % pipe

    def __enter__(self):
        self.start()
        here = uno.getComponentContext()
        resolver = here.ServiceManager.createInstanceWithContext(
            "com.sun.star.bridge.UnoUrlResolver", here
        )
        until = time.monotonic() + SECONDS_TO_START
        while time.monotonic() < until:
            try:
                self.context = resolver.resolve(self.address)
                return self
            except NoConnectException:
                if self.program.poll() == START_AGAIN:
                    self.start()
                elif self.program.poll() is not None:
                    raise SystemExit("soffice ended with code %s" % self.program.returncode)
                time.sleep(0.1)
        self.program.kill()
        raise SystemExit("soffice did not answer")

    def start(self):
        self.program = subprocess.Popen(
            self.command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )

    def desktop(self):
        return self.context.ServiceManager.createInstanceWithContext(
            "com.sun.star.frame.Desktop", self.context
        )

    def extensions(self):
        return self.context.getByName("/singletons/com.sun.star.deployment.ExtensionManager")

    def __exit__(self, *_):
        try:
            self.desktop().terminate()
        except Exception:
            pass
        try:
            self.program.wait(SECONDS_TO_END)
        except subprocess.TimeoutExpired:
            self.program.kill()


def add(office, url):
    """Put an add-in in for this account; an older one of the same identifier goes."""
    added = office.extensions().addExtension(url, (), "user", None, Consent())
    return {"version": added.getVersion()}


def remove(office, identifier):
    """Take an add-in out."""
    office.extensions().removeExtension(identifier, "", "user", None, Consent())
    return {}


def try_formula(office, formula):
    """What a cell shows that holds this formula."""
    hidden = PropertyValue()
    hidden.Name, hidden.Value = "Hidden", True
    book = office.desktop().loadComponentFromURL("private:factory/scalc", "_blank", 0, (hidden,))
    cell = book.Sheets.getByIndex(0).getCellByPosition(0, 0)
    cell.Formula = formula
    found = {"value": cell.Value, "error": cell.getError(), "text": cell.String}
    book.close(True)
    return found


TASKS = {"add": add, "remove": remove, "try": try_formula}


def main(soffice, profile, task, argument):
    """Run one task and print what came of it."""
    with Office(soffice, profile) as office:
        try:
            found = TASKS[task](office, argument)
        except Exception as fault:
            found = {"fault": getattr(fault, "Message", "") or str(fault)}
    print(json.dumps(found))


if __name__ == "__main__":
    main(*sys.argv[1:])
