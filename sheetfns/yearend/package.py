"""A folder for the tax preparer: .xlsx, .pdf and .csv of one tax year, all of them or none."""

from __future__ import annotations

import csv
import datetime as dt
import shutil
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from sheetfns.errors import LogFileError
from sheetfns.log.figures import LogFigures, year_figures
from sheetfns.yearend.pages import Page, all_pages
from sheetfns.yearend.pdf import NotPrinted, print_pdf
from sheetfns.yearend.reasons import Reason, reasons_against
from sheetfns.yearend.workbook import write_package

FORMULA_SIGNS: Final = ("=", "+", "-", "@", "\t", "\r")
"""A text that begins with one of them would be a formula for a program that opens the .csv."""


@dataclass(frozen=True)
class Made:
    """What was made, and why there is no PDF if there is none."""

    files: list[Path]
    not_printed: str = ""


def check_year(figures: LogFigures, year: int) -> list[Reason]:
    """What keeps the year from being complete."""
    return reasons_against(figures, year_figures(figures, year))


def make_package(
    figures: LogFigures, year: int, folder: Path, reasons: Sequence[Reason], *, draft: bool
) -> Made:
    """Write the package of a year into a folder.

    Args:
        folder: made if it is missing; files that are there already are never written over.
        reasons: what `check_year` found; they are listed on a page.
        draft: each page is stamped, and the files say it in their names.

    Errors:
        LogFileError: a file is there already, or the folder cannot be written.
    """
    if reasons and not draft:
        raise LogFileError(f"{folder}: {year} is not complete; only a draft can be made")
    name = f"year_end_{year}{'_draft' if draft else ''}"
    pages = all_pages(figures, year_figures(figures, year), reasons, draft=draft)
    names = [f"{name}.xlsx", f"{name}.pdf", *(f"{name}_{page.key}.csv" for page in pages)]
    for one in names:
        _refuse_if_there(folder / one)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(
            prefix=".year_end_", dir=folder.parent, ignore_cleanup_errors=True
        ) as beside:
            made = _write_files(Path(beside), name, pages, _heading(figures, year), draft=draft)
            return Made(_move(made.files, folder), made.not_printed)
    except OSError as error:
        raise LogFileError(f"{folder}: cannot be written ({error.strerror or error})") from error


def _refuse_if_there(path: Path) -> None:
    if path.exists():
        raise LogFileError(f"{path}: is there already; choose another folder")


def _heading(figures: LogFigures, year: int) -> str:
    shop = str(figures.content.settings.get("Shop_name") or "")
    return f"Year end {year}" + (f", {shop}" if shop else "")


def _write_files(
    folder: Path, name: str, pages: Sequence[Page], heading: str, *, draft: bool
) -> Made:
    book = folder / f"{name}.xlsx"
    write_package(book, pages, heading, draft=draft)
    files, not_printed = [book], ""
    try:
        files.append(_print_summary(folder, name, pages[0], heading, draft=draft))
    except NotPrinted as why:
        not_printed = str(why)
    for page in pages:
        files.append(folder / f"{name}_{page.key}.csv")
        _write_csv(files[-1], page)
    return Made(files, not_printed)


def _print_summary(folder: Path, name: str, page: Page, heading: str, *, draft: bool) -> Path:
    """The summary alone, printed."""
    with tempfile.TemporaryDirectory(dir=folder) as place:
        alone = Path(place) / f"{name}.xlsx"
        write_package(alone, [page], heading, draft=draft)
        return print_pdf(alone, folder)


def _write_csv(path: Path, page: Page) -> None:
    # With a mark at the beginning, spreadsheet programs read UTF-8 as what it is.
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        writer.writerow([column.header for column in page.columns])
        for row in page.rows:
            writer.writerow(
                [
                    _csv_cell(cell, column.holds)
                    for cell, column in zip(row, page.columns, strict=True)
                ]
            )


def _csv_cell(cell: Any, holds: str) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return f"'{cell}" if cell.startswith(FORMULA_SIGNS) else cell
    if isinstance(cell, dt.date):
        return cell.isoformat()
    return f"{cell:.2f}" if holds == "money" else f"{cell:.15g}"


def _move(files: Sequence[Path], folder: Path) -> list[Path]:
    """Move files into a folder, all or none."""
    new = not folder.exists()
    folder.mkdir(exist_ok=True)
    moved: list[Path] = []
    try:
        for file in files:
            target = folder / file.name
            _refuse_if_there(target)
            file.rename(target)
            moved.append(target)
    except BaseException:
        for target in moved:
            target.unlink(missing_ok=True)
        if new:
            shutil.rmtree(folder, ignore_errors=True)
        raise
    return moved
