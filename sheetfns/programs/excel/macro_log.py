"""The functions edition as an .xlsm workbook: with xlwings' macros, its settings, and buttons.

The macros are those of the xlwings that is installed, byte for byte; our own VBA module is imported
into the finished workbook (vba.py), as only Excel can add to them.
"""

from __future__ import annotations

import importlib.metadata
import importlib.util
import io
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Final

from xlsxwriter.worksheet import Worksheet

from sheetfns.errors import LogFileError
from sheetfns.hosts.excel_marks import MENU_MODULE
from sheetfns.log.build import build_log
from sheetfns.log.entries import Entries
from sheetfns.log.layout import DEFAULT_ROWS, START
from sheetfns.log.read import read_log
from sheetfns.log.sheets import GROUP_ROW
from sheetfns.log.write.canvas import FAINT, Canvas
from sheetfns.menu import COMMANDS, MENU
from sheetfns.programs.excel import vba
from sheetfns.programs.excel.project import project_of

CONF_SHEET: Final = "xlwings.conf"
"""The name that xlwings looks for (xlwings.bas, GetConfig)."""
BUTTONS_NOTE: Final = (
    "The buttons work in Excel on Windows once the macros are imported: run 'sheetfns install "
    "excel', it says how."
)
SOURCE_BOOK: Final = "quickstart_standalone.xlsm"
"""The workbook of xlwings whose macros need no add-in."""
BUTTON_WIDTH: Final = 170
BUTTON_HEIGHT: Final = 28
BUTTON_STEP: Final = 33
BUTTON_COLUMN: Final = 4
_GET_XLWINGS: Final = 'install it with pip install "sheetfns[excel]", and run this again'


@dataclass(frozen=True)
class Macros:
    """The macros of the installed xlwings: its version and its vbaProject.bin."""

    version: str
    project: bytes


def installed_macros() -> Macros:
    """The macros of the xlwings that is installed here.

    Errors:
        LogFileError: xlwings is not installed, or its workbook is missing or damaged.
    """
    found = importlib.util.find_spec("xlwings")
    places = list(found.submodule_search_locations or ()) if found else []
    if not places:
        raise LogFileError(
            f"An .xlsm log holds the macros of xlwings, which is not installed: {_GET_XLWINGS}"
        )
    source = Path(places[0]) / SOURCE_BOOK
    try:
        project = project_of(source)
    except LogFileError:
        project = None
    if project is None:
        raise LogFileError(
            f"{source}: is missing, or has no macros that can be read; xlwings is damaged: take it "
            'away with pip uninstall xlwings, then pip install "sheetfns[excel]"'
        )
    return Macros(importlib.metadata.version("xlwings"), project)


def build_macro_log(
    path: Path | str,
    rows: int = DEFAULT_ROWS,
    entries: Entries | None = None,
    step: Callable[[str], None] = lambda _: None,
    interpreter: str | None = None,
) -> Path:
    """Write a log of the functions edition with macros.

    Args:
        path: the new file, ending in .xlsm.
        rows: ready rows on the sourcing log.
        entries: what is filled in; nothing if left out.
        step: is told what is being done.
        interpreter: the path of the Python that is to run the functions, on every machine that the
            log is opened on. Left out, each machine takes its own, from its settings file; so two
            people can share the log.

    Errors:
        LogFileError: xlwings is not installed, the path cannot be written or does not end in
            .xlsm, or the entries do not fit.
    """
    path = Path(path)
    if path.suffix.lower() != ".xlsm":
        raise LogFileError(f"{path}: give a workbook with macros a name that ends in .xlsm")
    canvas = partial(_MacroCanvas, macros=installed_macros(), interpreter=interpreter)
    return build_log(path, "functions", rows, entries, step, canvas=canvas)


def write_macro_workbook(
    log: Path | str, target: Path | str, interpreter: str | None = None
) -> Path:
    """Write an .xlsm with everything that is typed into a log; the log stays as it is.

    Sheets and columns of one's own are not taken along; `refit_log` does that.

    Args:
        log: a log of any edition.
        target: the new file, ending in .xlsm.
        interpreter: see `build_macro_log`.

    Errors:
        LogFileError: the log cannot be read, the target is there already or cannot be written, or
            xlwings is not installed.
    """
    target = Path(target)
    if target.exists():
        raise LogFileError(f"{target}: is there already; choose another name")
    content = read_log(log)
    rows = content.ready_rows.get("Log", DEFAULT_ROWS)
    return build_macro_log(target, rows, content.entries(), interpreter=interpreter)


class _MacroCanvas(Canvas):
    """A workbook with macros, buttons on sheet Start, and a last sheet with xlwings' settings."""

    def __init__(self, *content: Any, macros: Macros, interpreter: str | None) -> None:
        super().__init__(*content)
        self._macros = macros
        self._interpreter = interpreter
        self.book.add_vba_project(io.BytesIO(macros.project), is_stream=True)
        # The code names in the project; sheets get theirs, Sheet1 and so on, from the library.
        self.book.set_vba_name("ThisWorkbook")

    def finish(self, sheet: Worksheet, name: str, *, landscape: bool = True) -> None:
        """Printing and protection; on sheet Start the buttons too."""
        if name == START:
            self._buttons(sheet)
        super().finish(sheet, name, landscape=landscape)

    def close(self) -> None:
        """Add the settings, name everything and finish the file."""
        self._settings()
        super().close()

    def _buttons(self, sheet: Worksheet) -> None:
        head = self.format(bold=True, font_size=12)
        sheet.set_column(BUTTON_COLUMN, BUTTON_COLUMN, 26)
        sheet.write_string(GROUP_ROW - 1, BUTTON_COLUMN, MENU, head)
        note = self.format(font_color=FAINT)
        sheet.write_string(GROUP_ROW, BUTTON_COLUMN, BUTTONS_NOTE, note)
        for place, command in enumerate(COMMANDS):
            sheet.insert_button(
                GROUP_ROW + 1,
                BUTTON_COLUMN,
                {
                    "macro": vba.macro_name(command),
                    "caption": command.title,
                    "description": command.help,
                    "width": BUTTON_WIDTH,
                    "height": BUTTON_HEIGHT,
                    "y_offset": BUTTON_STEP * place,
                },
            )

    def _settings(self) -> None:
        sheet = self.sheet(CONF_SHEET)
        # No blank row among them: xlwings reads down to the first one. Of a key that stands here
        # it looks nowhere else, even if there is no value.
        settings: list[tuple[str, str | bool]] = [
            ("UDF Modules", MENU_MODULE),
            ("Debug UDFs", False),
            ("Use UDF Server", False),
            ("Show Console", False),
        ]
        if self._interpreter is not None:
            settings.insert(0, ("Interpreter_Win", self._interpreter))
        text = self.format()
        sheet.set_column(0, 0, 18)
        sheet.set_column(1, 1, 36)
        sheet.set_column(3, 3, 90)
        for row, (key, value) in enumerate(settings):
            sheet.write_string(row, 0, key, text)
            if isinstance(value, bool):
                sheet.write_boolean(row, 1, value, text)
            else:
                sheet.write_string(row, 1, value, text)
        for row, words in enumerate(_notes(self._macros.version)):
            sheet.write_string(row, 3, words, self.format(text_wrap=True, font_color=FAINT))


def _notes(version: str) -> tuple[str, ...]:
    return (
        f"Settings of the macros, which are those of xlwings {version} (BSD licence); they need "
        "the same version of it on every machine.",
        "A row Interpreter_Win with the path of python.exe wins over each machine's own; leave it "
        "out if two of you share this log: 'sheetfns install excel' sets it for each machine.",
        f"UDF Modules is {MENU_MODULE} so that a click on Import Functions does no harm: "
        f"the functions come from {vba.FILE_NAME}.",
    )
