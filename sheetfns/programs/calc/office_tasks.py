"""Tasks that need the program running: put the add-in in, take it out, try a formula.

It is run by the Python of LibreOffice, which has nothing of this package:
office_tasks.py SOFFICE PROFILE_URI TASK [ARGUMENT], and prints one line of JSON.
"""

import json
import os
import signal
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
        self.program = None
        self.address = "uno:pipe,name=%s;urp;StarOffice.ComponentContext" % pipe

    def __enter__(self):
        self.start()
        here = uno.getComponentContext()
        resolver = here.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", here)
        until = time.monotonic() + SECONDS_TO_START
        while time.monotonic() < until:
            try:
                self.context = resolver.resolve(self.address)
            except NoConnectException:
                if self.program.poll() == START_AGAIN:
                    self.start()
                elif self.program.poll() is not None:
                    raise SystemExit("soffice ended with code %s" % self.program.returncode)
                time.sleep(0.1)
            except BaseException:
                self.end()
                raise
            else:
                self.refuse_the_users_own()
                return self
        self.end()
        raise SystemExit("soffice did not answer")

    def start(self):
        # A group of its own, so that the launcher and what it launches end together.
        self.program = subprocess.Popen(
            self.command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=os.name != "nt"
        )

    def refuse_the_users_own(self):
        """A program that runs already takes the call over; it must not be ended with this block."""
        if self.desktop().Frames.Count:
            raise SystemExit("LibreOffice is open; save your files, close it and run this again")

    def end(self):
        """End what was started, whatever it is doing."""
        if self.program is None or self.program.poll() is not None:
            return
        if os.name == "nt":
            subprocess.call(
                ["taskkill", "/T", "/F", "/PID", str(self.program.pid)],
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
        else:
            os.killpg(self.program.pid, signal.SIGKILL)

    def desktop(self):
        return self.context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", self.context)

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
            self.end()


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
    office = Office(soffice, profile)

    def end(*_):
        """Whoever started this ends it when the time is up; the program must not stay behind."""
        office.end()
        sys.exit("time ran out")

    signal.signal(signal.SIGTERM, end)
    with office:
        try:
            found = TASKS[task](office, argument)
        except Exception as fault:
            found = {"fault": getattr(fault, "Message", "") or str(fault)}
    print(json.dumps(found))


if __name__ == "__main__":
    main(*sys.argv[1:])
