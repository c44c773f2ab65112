"""What a spreadsheet program offers to the commands of menu "Sourcing log"."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Protocol

from sheetfns.errors import LogFileError
from sheetfns.log.edit.patch import CellEdit, NewSheet
from sheetfns.programs.forms import Answers, Form
from sheetfns.programs.shown_rows import Rows


class StoppedError(Exception):
    """The user has stopped a command; nothing was changed."""


class Screen(Protocol):
    """What a spreadsheet program offers to a command."""

    def step(self, words: str) -> None:
        """Show what is being done; the user can stop it.

        Errors:
            StoppedError: the user wants no more of it.
        """

    def finish(self) -> None:
        """Show no more of what is being done."""

    def ask_file(self, title: str, ending: str) -> Path | None:
        """A file that is there, chosen by the user; `ending` is such as ".csv"."""

    def ask_new_file(self, title: str, name: str) -> Path | None:
        """A file to be made, chosen by the user, who may change the name."""

    def ask_folder(self, title: str) -> Path | None:
        """A folder, chosen by the user."""

    def ask_yes(self, question: str) -> bool:
        """Yes or no."""

    def ask_form(self, form: Form) -> Answers | None:
        """The answers to a form, all of them readable; None if the user leaves it."""

    def show_message(self, text: str) -> None:
        """A message that waits until it is read."""

    def show_table(self, title: str, rows: Rows, widths: Sequence[float]) -> None:
        """A named workbook beside the log with these rows, opened; see `sheetfns.programs.result_files`."""

    def log_path(self) -> Path | None:
        """Where the log on the screen is stored; None if it was never saved, or is not on a disk of this machine."""

    def selected(self) -> tuple[str, int, int] | None:
        """Sheet, row and column, counted from 1, of the cell on which the cursor stands."""

    def current_copy(self, folder: Path) -> Path | None:
        """An .xlsx copy, in this folder, of the log on the screen; None if there is no workbook."""

    def open_file(self, path: Path) -> None:
        """Open a workbook."""

    def set_cells(self, edits: Iterable[CellEdit], new_sheets: Iterable[NewSheet] = ()) -> None:
        """Type values into the workbook on the screen, as one step: texts as texts, dates as dates.

        New sheets are added behind the others.
        """


@contextmanager
def copy_of_log(screen: Screen) -> Iterator[Path]:
    """A copy of the log on the screen, gone after the block."""
    with tempfile.TemporaryDirectory(prefix="sheetfns-", ignore_cleanup_errors=True) as folder:
        screen.step("Reading the log")
        path = screen.current_copy(Path(folder))
        if path is None:
            raise LogFileError("Open your sourcing log first, then choose this command again")
        yield path
