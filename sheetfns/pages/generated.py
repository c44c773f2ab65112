"""The pages of this project that are made from the functions, and writing them again in place."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from sheetfns.errors import DeclarationError, LogFileError
from sheetfns.files.safe_files import atomic_write
from sheetfns.pages.reference import function_list, reference
from sheetfns.pages.stub import stub


@dataclass(frozen=True)
class Page:
    """A generated page.

    Attributes:
        path: where it is in the project's folder.
        make: gives its text.
        marks: the lines between which the text goes; none if it is the whole page.
    """

    path: str
    make: Callable[[], str]
    marks: tuple[str, str] | None = None

    def text(self, old: str) -> str:
        """The whole page, made again.

        Errors:
            LogFileError: a function cannot be shown, or the page is missing its two marks.
        """
        try:
            made = self.make()
        except DeclarationError as error:
            raise LogFileError(
                f"{self.path}: stays as it was ({error}); fix the function and run this again"
            ) from error
        if self.marks is None:
            return made
        first, last = self.marks
        if (old.count(first), old.count(last)) != (1, 1) or old.index(first) > old.index(last):
            raise LogFileError(
                f"{self.path}: needs the lines '{first}' and, below it, '{last}', once each; put "
                "them where the functions are to be listed"
            )
        head, rest = old.split(first)
        return f"{head}{first}\n{made}{last}{rest.split(last)[1]}"


LIST: Final = Page(
    "README.md",
    function_list,
    ("<!-- functions: made by `sheetfns functions --markdown --write` -->", "<!-- end of functions -->"),
)
REFERENCE: Final = Page("examples/functions.md", reference)
STUB: Final = Page("sheetfns/__init__.pyi", stub)
PAGES: Final = (LIST, REFERENCE, STUB)


def write_pages(pages: tuple[Page, ...], folder: Path) -> Iterator[str]:
    """Write pages again in the project's folder, all or none if one cannot be made; say of each.

    Errors:
        LogFileError: a page is not there, is that of another copy of the package, cannot be made
            or cannot be written; then it stays as it was.
    """
    old = {page: _read(page, folder) for page in pages}
    _refuse_another_copy(pages[0], folder)
    new = {page: page.text(old[page]) for page in pages}
    for page in pages:
        if new[page] == old[page]:
            yield f"{page.path}: was up to date"
            continue
        with atomic_write(folder / page.path) as beside:
            beside.write_text(new[page], encoding="utf-8", newline="\n")
        yield f"{page.path}: written"


def _read(page: Page, folder: Path) -> str:
    path = folder / page.path
    if not path.is_file():
        raise LogFileError(
            f"{page.path}: there is no such file in {folder}; run this in the folder of a clone of sheetfns"
        )
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise LogFileError(
            f"{page.path}: cannot be read ({error}); take it from the last commit and run this again"
        ) from error


def _refuse_another_copy(page: Page, folder: Path) -> None:
    """An installed copy knows the functions as they were when it was installed."""
    package = Path(__file__).parents[1]
    here = folder / "sheetfns"
    if not here.is_dir() or not here.samefile(package):
        raise LogFileError(
            f"{page.path}: would be made from {package}, not from the functions in {here}; run "
            f'this in the folder of a clone of sheetfns, as "{sys.executable}" -m sheetfns '
            "functions --write"
        )
