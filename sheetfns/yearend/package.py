"""A folder for the tax preparer: .xlsx, .pdf and .csv of one tax year, all of them or none."""

from __future__ import annotations

import csv
import datetime as dt
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sheetfns.errors import LogFileError
from sheetfns.files.formula_signs import harmless
from sheetfns.log.compute import LogResults, year_figures
from sheetfns.money import round_money
from sheetfns.yearend.pages import PAGE_KEYS, Holds, Page, all_pages
from sheetfns.yearend.pdf import NotPrinted, print_pdf
from sheetfns.yearend.reasons import Findings, findings_about
from sheetfns.yearend.workbook import write_package

"""A text that begins with one of them would be a formula for a program that opens the .csv."""


@dataclass(frozen=True)
class Made:
    """What was made, and why there is no PDF if there is none."""

    files: list[Path]
    not_printed: str = ""


def check_year(figures: LogResults, year: int) -> Findings:
    """What keeps the year from being complete, and what is worth a look."""
    return findings_about(figures, year_figures(figures, year))


def refuse_if_made(folder: Path, year: int, *, draft: bool) -> None:
    """Refuse a folder that holds a file of this package already.

    Errors:
        LogFileError: it names the file.
    """
    name = _name(year, draft=draft)
    ends = (".xlsx", ".pdf", *(f"_{key}.csv" for key in PAGE_KEYS))
    for path in (folder / f"{name}{end}" for end in ends):
        _refuse_if_there(path)


def make_package(figures: LogResults, year: int, folder: Path, findings: Findings, *, draft: bool) -> Made:
    """Write the package of a year into a folder.

    Args:
        folder: made if it is missing; files that are there already are never written over.
        findings: what `check_year` found; a page lists it.
        draft: each page is stamped, and the files say it in their names.

    Errors:
        LogFileError: a file is there already, or the folder cannot be written.
    """
    if findings.reasons and not draft:
        raise LogFileError(f"{folder}: {year} has errors, so only a draft can be made; fix them or ask for a draft")
    pages = all_pages(figures, year_figures(figures, year), findings, draft=draft)
    refuse_if_made(folder, year, draft=draft)
    new = not folder.exists()
    # Inside a folder that is there, as what is over it may be another disk or not ours.
    place = folder.parent if new else folder
    try:
        place.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".year_end_", dir=place, ignore_cleanup_errors=True) as beside:
            package, desk = Path(beside) / "package", Path(beside) / "desk"
            package.mkdir()
            desk.mkdir()
            name, heading = _name(year, draft=draft), _heading(figures, year)
            made = _write_files((package, desk), name, pages, heading, draft=draft)
            if new:
                package.rename(folder)
            else:
                _move(made.files, folder)
    except OSError as error:
        raise LogFileError(
            f"{folder}: cannot be written ({error.strerror or error}); nothing was written. Choose another folder, or "
            "free up space on the disk"
        ) from error
    return Made([folder / path.name for path in made.files], made.not_printed)


def _name(year: int, *, draft: bool) -> str:
    return f"year_end_{year}{'_draft' if draft else ''}"


def _refuse_if_there(path: Path) -> None:
    if path.exists():
        raise LogFileError(f"{path}: already exists; choose another folder")


def _heading(figures: LogResults, year: int) -> str:
    shop = str(figures.content.settings.get("Shop_name") or "")
    return f"Year end {year}" + (f", {shop}" if shop else "")


def _write_files(folders: tuple[Path, Path], name: str, pages: Sequence[Page], heading: str, *, draft: bool) -> Made:
    """All files, in the first folder; the second is for what is needed on the way."""
    folder, desk = folders
    book = folder / f"{name}.xlsx"
    write_package(book, pages, heading, draft=draft)
    files, not_printed = [book], ""
    alone = desk / f"{name}.xlsx"
    write_package(alone, [pages[0]], heading, draft=draft)
    try:
        printed = print_pdf(alone, desk)
        files.append(printed.rename(folder / printed.name))
    except NotPrinted as why:
        not_printed = str(why)
    for page in pages:
        files.append(folder / f"{name}_{page.key}.csv")
        write_csv(files[-1], page)
    return Made(files, not_printed)


def write_csv(path: Path, page: Page) -> None:
    """Write one page as a plain table."""
    # With a mark at the beginning, spreadsheet programs read UTF-8 as what it is.
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        writer.writerow([column.header for column in page.columns])
        for row in page.rows:
            writer.writerow([csv_cell(cell, column.holds) for cell, column in zip(row, page.columns, strict=True)])


def csv_cell(cell: Any, holds: Holds = "text") -> str:
    """A cell as text that no program takes for a formula."""
    if cell is None:
        return ""
    if isinstance(cell, str):
        return harmless(cell)
    if isinstance(cell, dt.date):
        return cell.isoformat()
    return f"{round_money(cell):.2f}" if holds == "money" else f"{cell:.15g}"


def _move(files: Sequence[Path], folder: Path) -> None:
    """Move files into a folder that is there, all or none."""
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
        raise
