"""Put computed values into a workbook and leave everything else in it as it was."""

from __future__ import annotations

import zipfile
from pathlib import Path, PurePosixPath
from typing import Any, Final

from lxml import etree

from sheetfns.errors import CellError, LogFileError
from sheetfns.hosts import engine
from sheetfns.log.safe_files import dated_copy, written_beside

_MAIN: Final = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_RELATION: Final = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_WORKBOOK: Final = "xl/workbook.xml"


def refresh_values(path: Path | str) -> tuple[engine.Recalculated, Path]:
    """Recalculate a workbook headless and store each formula's result in its cell.

    Only the results in the sheets' XML change; every other part of the file stays byte for byte as
    it was. The file as it was is kept as a dated copy.

    Returns:
        every cell after recalculation, and the path of the dated copy.

    Errors:
        LogFileError: not a workbook, open in a program, or the folder cannot be written.
    """
    path = Path(path)
    values = engine.recalculate(path)
    with written_beside(path) as beside:
        _write_with_values(path, beside, values)
        copy = dated_copy(path)
    return values, copy


def _write_with_values(source: Path, target: Path, values: engine.Recalculated) -> None:
    try:
        with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
            sheets = _sheet_parts(old)
            for part in old.infolist():
                content = old.read(part)
                if part.filename in sheets:
                    content = _with_values(content, sheets[part.filename], values)
                new.writestr(part, content, compress_type=part.compress_type)
    except (zipfile.BadZipFile, KeyError, etree.XMLSyntaxError) as error:
        raise LogFileError(
            f"{source.name}: is not an .xlsx workbook ({error}); save it as .xlsx and try again"
        ) from error


def _parsed(content: bytes) -> Any:
    parser = etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True)
    return etree.fromstring(content, parser)


def _sheet_parts(book: zipfile.ZipFile) -> dict[str, str]:
    """The name of each sheet by its part in the zip."""
    relations = _parsed(book.read("xl/_rels/workbook.xml.rels"))
    targets = {relation.get("Id"): relation.get("Target") for relation in relations}
    folder = PurePosixPath(_WORKBOOK).parent
    parts = {}
    for sheet in _parsed(book.read(_WORKBOOK)).iter(f"{_MAIN}sheet"):
        target = targets[sheet.get(_RELATION)]
        part = target.removeprefix("/") if target.startswith("/") else str(folder / target)
        parts[part] = sheet.get("name")
    return parts


def _with_values(content: bytes, sheet: str, values: engine.Recalculated) -> bytes:
    root = _parsed(content)
    for row in root.iter(f"{_MAIN}row"):
        number = int(row.get("r"))
        for cell in row:
            if cell.find(f"{_MAIN}f") is not None:
                column = _column_number(cell.get("r"))
                _set_value(cell, values.value(sheet, number, column))
    result: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)
    return result


def _column_number(cell_name: str) -> int:
    number = 0
    for letter in cell_name:
        if letter.isdigit():
            break
        number = number * 26 + ord(letter) - 64
    return number


def _set_value(cell: Any, value: Any) -> None:
    kinds = {bool: "b", str: "str", CellError: "e", type(None): "str"}
    texts = {bool: lambda v: str(int(v)), str: str, CellError: lambda v: v.code}
    kind = kinds.get(type(value))
    cell.attrib.pop("t", None)
    if kind is not None:
        cell.set("t", kind)
    shown = cell.find(f"{_MAIN}v")
    if shown is None:
        shown = etree.SubElement(cell, f"{_MAIN}v")
    if value is None:
        shown.text = ""
    else:
        shown.text = texts.get(type(value), lambda v: f"{v:.17g}")(value)


__all__ = ["refresh_values"]
