"""What the add-in is called; the program writes these into files and settings, so they stay."""

from __future__ import annotations

from typing import Final

from sheetfns.registry import ADD_IN

IDENTIFIER: Final = "org.sheetfns.calc"
SERVICE: Final = ADD_IN
MODULE: Final = "org.sheetfns"
INTERFACE: Final = "XFunctions"
PROTOCOL: Final = "org.sheetfns.calc"
COMMANDS_SERVICE: Final = "org.sheetfns.calc.Commands"
JOB_SERVICE: Final = "org.sheetfns.calc.FileJob"
JOB: Final = "org.sheetfns.calc.FileJob"
COMPONENT: Final = "sheetfns_addin.py"
PATHS: Final = "paths.txt"
PACKAGES: Final = "packages"
"""The folder in the add-in that holds what it needs, where it brings it along."""
LISTING: Final = "packages.txt"
ADVICE: Final = "advice.txt"
"""What to do, in a sentence, for the case that nothing else can be loaded."""
ONLY_FUNCTIONS: Final = "only_functions.txt"
"""What a command of the menu needs, for an add-in that brings along the functions only."""
EVENTS: Final = ("OnLoadFinished", "OnSaveDone", "OnSaveAsDone")
LEAST_VERSION: Final = "7.4"
EXTENSION_FILE: Final = "sheetfns.oxt"
