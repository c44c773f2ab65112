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
COMMAND: Final = "command.txt"
"""How a terminal calls doctor, for the case that nothing else can be loaded."""
EVENTS: Final = ("OnLoadFinished", "OnSaveDone", "OnSaveAsDone")
LEAST_VERSION: Final = "7.4"
EXTENSION_FILE: Final = "sheetfns.oxt"
