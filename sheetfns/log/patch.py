"""Put computed values into a workbook and leave everything else in it as it was."""

from __future__ import annotations

import zipfile
from pathlib import Path
from typing import Any, Final

from lxml import etree

from sheetfns.errors import CellError
from sheetfns.hosts import engine
from sheetfns.log.safe_files import dated_copy, written_beside
from sheetfns.xlsx_file import XlsxFile, column_number, parsed

_MAIN: Final = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"


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
    with XlsxFile(source) as file:
        sheets = {part: name for name, part in file.parts.items()}
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        for part in old.infolist():
            content = old.read(part)
            if part.filename in sheets:
                content = _with_values(content, sheets[part.filename], values)
            new.writestr(part, content, compress_type=part.compress_type)


def _with_values(content: bytes, sheet: str, values: engine.Recalculated) -> bytes:
    root = parsed(content)
    for row in root.iter(f"{_MAIN}row"):
        number = int(row.get("r"))
        for cell in row:
            if cell.find(f"{_MAIN}f") is not None:
                column = column_number(cell.get("r").rstrip("0123456789")) + 1
                _set_value(cell, values.value(sheet, number, column))
    result: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)
    return result


def _set_value(cell: Any, value: Any) -> None:
    kind, text = _stored(value)
    cell.attrib.pop("t", None)
    if kind:
        cell.set("t", kind)
    shown = cell.find(f"{_MAIN}v")
    if shown is None:
        shown = etree.SubElement(cell, f"{_MAIN}v")
    shown.text = text


def _stored(value: Any) -> tuple[str, str]:
    """The type and the text by which a file stores a result."""
    if value is None or isinstance(value, str):
        return "str", value or ""
    if isinstance(value, CellError):
        return "e", value.code
    if isinstance(value, bool):
        return "b", str(int(value))
    return "", f"{value:.17g}"
