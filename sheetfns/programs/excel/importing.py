"""Importing the VBA module into a workbook, through xlwings and a running Excel on Windows."""

from __future__ import annotations

import importlib
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from sheetfns.errors import LogFileError
from sheetfns.programs.excel import vba
from sheetfns.programs.findings import Finding, pip_install

REPLACED: Final = (vba.MODULE_NAME, "xlwings_udfs")
"""Modules that hold the functions already: ours of before, and xlwings' own wrappers."""
_TRUST: Final = (
    "in Excel choose File > Options > Trust Center > Trust Center Settings > Macro Settings, check 'Trust access to "
    "the VBA project object model', and run this again; or import the file by "
    "hand with Alt+F11, File > Import File..."
)


def import_module(workbook: Path | str) -> list[Finding]:
    """Import the VBA module into a workbook with macros, put the help texts in, and save it.

    Args:
        workbook: an .xlsm workbook; it is opened if it is not, and stays open.

    Errors:
        LogFileError: this is not Windows, xlwings is missing, the file is missing or no .xlsm, or
            Excel does not let programs import VBA.
    """
    workbook = Path(workbook)
    if not sys.platform.startswith("win"):
        raise LogFileError(f"{workbook}: this command can import VBA on Windows only; run it there")
    _refuse_what_takes_no_macros(workbook)
    try:
        xlwings = importlib.import_module("xlwings")
    except ImportError as error:
        raise LogFileError(f"Importing needs xlwings, which is not installed; run: {pip_install('xlwings')}") from error
    try:
        book = xlwings.Book(str(workbook.resolve()))
    except Exception as error:
        raise LogFileError(
            f"{workbook}: Excel cannot open it ({error}); open it in Excel yourself and run this again"
        ) from error
    return import_into(book)


def import_into(book: Any) -> list[Finding]:
    """Import the VBA module into an open workbook; either all of it is done, or nothing.

    Args:
        book: the xlwings Book.

    Errors:
        LogFileError: see `import_module`.
    """
    components = _components(book)
    with tempfile.TemporaryDirectory(prefix="sheetfns-", ignore_cleanup_errors=True) as folder:
        new = Path(folder) / vba.FILE_NAME
        new.write_bytes(vba.file_content())
        kept: list[Path] = []
        try:
            _take_out(components, Path(folder), kept)
            components.Import(str(new))
        except Exception as error:
            for old in kept:
                components.Import(str(old))
            raise LogFileError(
                f"{book.name}: the VBA module could not be imported ({error}); the workbook was not changed: {_TRUST}"
            ) from error
    findings = [Finding("Functions", f"imported into {book.name}"), _described(book)]
    try:
        book.save()
    except Exception as error:  # noqa: BLE001  (COM raises errors of its own)
        words = "Save the workbook in Excel yourself"
        findings.append(Finding("Saved", f"not yet ({error})", False, words))
    return findings


def _refuse_what_takes_no_macros(workbook: Path) -> None:
    if not workbook.is_file():
        raise LogFileError(f"{workbook}: there is no such file; check the name")
    if workbook.suffix.lower() != ".xlsm":
        raise LogFileError(
            f"{workbook}: cannot hold macros; use a log that ends in .xlsm: sheetfns new my_log.xlsm --edition "
            "functions"
        )


def _components(book: Any) -> Any:
    try:
        components = book.api.VBProject.VBComponents
        names = [component.Name for component in components]
    except Exception as error:
        raise LogFileError(f"{book.name}: Excel doesn't show its macros: {_TRUST}") from error
    references = _tried(lambda: [one.Name for one in book.api.VBProject.References], [])
    if "xlwings" not in [*names, *references]:
        raise LogFileError(
            f"{book.name}: has no xlwings macros, which the functions call; make a log that has them: sheetfns new "
            "my_log.xlsm --edition functions; or, with the add-in installed, "
            "press Alt+F11, choose Tools > References, and check xlwings"
        )
    return components


def _take_out(components: Any, folder: Path, kept: list[Path]) -> None:
    """Remove the modules that would hold a function twice; each is kept as a file before."""
    for component in [one for one in components if one.Name in REPLACED]:
        place = folder / f"old_{component.Name}.bas"
        component.Export(str(place))
        components.Remove(component)
        kept.append(place)


def _described(book: Any) -> Finding:
    try:
        book.macro(vba.DESCRIBE)()
    except Exception as error:  # noqa: BLE001  (COM raises errors of its own; the import holds)
        return Finding(
            "Help texts", f"not added ({error})", False, f"Enable macros, press Alt+F8, run {vba.DESCRIBE}, and save"
        )
    return Finding("Help texts", "are in the list of functions")


def _tried(ask: Callable[[], Any], otherwise: Any) -> Any:
    try:
        return ask()
    except Exception:  # noqa: BLE001  (COM raises errors of its own)
        return otherwise
