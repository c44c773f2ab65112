"""What LibreOffice loads: functions, menu commands, and a job for .xlsx files.

It stands in the add-in and runs in the program's own Python. What it needs of the package it
imports where it is used, so that a broken installation shows as an error in the cell and as words
in the menu, and not as functions that are unknown.
"""

import os
import sys

import uno
import unohelper
from com.sun.star.frame import DispatchResultEvent, XDispatchProvider, XNotifyingDispatch
from com.sun.star.lang import XInitialization, XServiceInfo
from com.sun.star.table import CellAddress
from com.sun.star.task import XJob
from org.sheetfns import XFunctions

SERVICE = "SHEETFNS"
COMMANDS = "org.sheetfns.calc.Commands"
JOB = "org.sheetfns.calc.FileJob"
PROTOCOL = "org.sheetfns.calc:"
SUCCESS = 1
NOT_KNOWN = float("nan")
NAME_FOR_A_MOMENT = "sheetfns_for_a_moment"


def beside(name):
    """What stands in a file of the add-in; "" if it has no such file."""
    path = os.path.join(os.path.dirname(__file__), name)
    if not os.path.exists(path):
        return ""
    with open(path, encoding="utf-8") as file:
        return file.read()


def use_paths():
    """Put the package's folders first: before them stand older packages of the system.

    A path that is not absolute is a folder in the add-in.
    """
    here = os.path.dirname(os.path.abspath(__file__))
    folders = [os.path.join(here, line.strip()) for line in beside("paths.txt").splitlines() if line.strip()]
    for folder in reversed(folders):
        if folder not in sys.path:
            sys.path.insert(0, folder)


use_paths()


def load_answer():
    """The function that answers calls; without the package, one that gives errors."""
    try:
        from sheetfns.hosts.calc import answer
    except Exception:
        return lambda name, cells: ((NOT_KNOWN,),)
    return answer


class Services(unohelper.Base, XServiceInfo):
    """Says which service it is."""

    service = ""

    def getImplementationName(self):
        return self.service + "Impl"

    def supportsService(self, name):
        return name == self.service

    def getSupportedServiceNames(self):
        return (self.service,)


class Functions(Services, XFunctions):
    """Every worksheet function as a method of its name."""

    service = SERVICE

    def __init__(self, context, *arguments):
        self.answer = load_answer()

    def __getattr__(self, name):
        if not name.isupper():
            raise AttributeError(name)
        answer = self.answer

        def called(*cells):
            return answer(name, cells)

        setattr(self, name, called)
        return called


class Commands(Services, XInitialization, XDispatchProvider, XNotifyingDispatch):
    """The commands of the menu.

    An argument `Answers` holds, one after the other, what a user would answer; what would be told
    is the result then. So macros can run a command without a window.
    """

    service = COMMANDS

    def __init__(self, context, *arguments):
        self.context = context
        self.frame = arguments[0] if arguments else None

    def initialize(self, arguments):
        if arguments:
            self.frame = arguments[0]

    def queryDispatch(self, url, target, flags):
        return self if url.Protocol == PROTOCOL else None

    def queryDispatches(self, requests):
        return tuple(self.queryDispatch(one.FeatureURL, "", 0) for one in requests)

    def dispatch(self, url, arguments):
        self.run(url.Path, arguments)

    def dispatchWithNotification(self, url, arguments, listener):
        said = self.run(url.Path, arguments)
        if listener is not None:
            done = DispatchResultEvent()
            done.Source, done.State, done.Result = self, SUCCESS, said
            listener.dispatchFinished(done)

    def run(self, command, arguments):
        answers = [one.Value for one in arguments if one.Name == "Answers"]
        needs_more = beside("only_functions.txt")
        try:
            import sheetfns.hosts.calc  # noqa: F401  (the functions have to load for either size)

            if not needs_more:
                from sheetfns.programs import menu
                from sheetfns.programs.calc.screen import CalcScreen
        except Exception as fault:
            words = "The functions and commands cannot be loaded (%s). LibreOffice's Python is %d.%d. %s" % (
                fault,
                sys.version_info[0],
                sys.version_info[1],
                beside("advice.txt"),
            )
            if not answers:
                self.show(words)
            return words
        if needs_more:
            words = "%s %s" % (title_of(command), needs_more)
            if not answers:
                self.show(words)
            return words
        screen = CalcScreen(self.context, self.frame, answers[0] if answers else None)
        menu.run(command, screen)
        return "\n".join(screen.said)

    def show(self, words):
        toolkit = self.context.ServiceManager.createInstanceWithContext("com.sun.star.awt.Toolkit", self.context)
        kind = uno.Enum("com.sun.star.awt.MessageBoxType", "ERRORBOX")
        box = toolkit.createMessageBox(self.frame.ContainerWindow, kind, 1, "Sourcing log", words)
        box.execute()

    def addStatusListener(self, listener, url):
        event = uno.createUnoStruct("com.sun.star.frame.FeatureStateEvent")
        event.FeatureURL, event.IsEnabled, event.Source = url, True, self
        listener.statusChanged(event)

    def removeStatusListener(self, listener, url):
        pass


def title_of(command):
    """What the menu calls a command."""
    try:
        from sheetfns.former_names import MENU_KEYS
        from sheetfns.programs.menu_entries import COMMANDS as entries
    except Exception:
        return command
    key = MENU_KEYS.get(command, command)
    return next((one.title for one in entries if one.key == key), command)


class FileJob(Services, XJob):
    """Opened: let the program look its unknown names up again. Saved: put plain names back.

    LibreOffice 7.4 does not know the add-in's functions while it reads an .xlsx, and puts the
    add-in's name before theirs when it writes one.
    """

    service = JOB

    def __init__(self, context, *arguments):
        self.context = context

    def execute(self, arguments):
        about = {}
        for one in arguments:
            if one.Name == "Environment":
                about = {value.Name: value.Value for value in one.Value}
        book = about.get("Model")
        if book is None or not book.supportsService("com.sun.star.sheet.SpreadsheetDocument"):
            return
        if not book.URL.lower().endswith((".xlsx", ".xlsm")):
            return
        try:
            if about.get("EventName") == "OnLoadFinished":
                look_up_again(book)
            elif book.URL.startswith("file:"):
                put_plain_names(uno.fileUrlToSystemPath(book.URL))
        except Exception:
            # A workbook that is opened or saved all the same is of more use than a message.
            pass


def look_up_again(book):
    """A name that comes and goes makes the program read the cells again that it could not."""
    changed, undo = book.isModified(), book.UndoManager
    undo.lock()
    try:
        book.NamedRanges.addNewByName(NAME_FOR_A_MOMENT, "1", CellAddress(0, 0, 0), 0)
        book.NamedRanges.removeByName(NAME_FOR_A_MOMENT)
    finally:
        undo.unlock()
        book.setModified(changed)
        if not changed and book.isModified():
            # Its charts were drawn anew, and count as changed by themselves.
            for chart in charts_of(book):
                chart.EmbeddedObject.setModified(False)
            book.setModified(False)


def charts_of(book):
    """Every chart on every sheet."""
    for place in range(book.Sheets.Count):
        charts = book.Sheets.getByIndex(place).Charts
        for number in range(charts.Count):
            yield charts.getByIndex(number)


def put_plain_names(path):
    """Names in the file as they are typed."""
    from sheetfns.programs.calc.plain_names import rewrite

    rewrite(path)


g_ImplementationHelper = unohelper.ImplementationHelper()
for made in (Functions, Commands, FileJob):
    g_ImplementationHelper.addImplementation(made, made.service + "Impl", (made.service,))
