"""Small .ods workbooks written by hand, as no program would write some of them."""

from __future__ import annotations

import zipfile
from pathlib import Path

MIMETYPE = "application/vnd.oasis.opendocument.spreadsheet"
_URN = "urn:oasis:names:tc:opendocument:xmlns"
_SPACES = "".join(f' xmlns:{name}="{_URN}:{name}:1.0"' for name in ("office", "table", "text", "manifest"))
_CALC = "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"


def content(inside: str) -> str:
    """The part with the sheets; `inside` is what the workbook holds."""
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<office:document-content{_SPACES} '
        f'xmlns:calcext="{_CALC}"><office:body><office:spreadsheet>{inside}'
        "</office:spreadsheet></office:body></office:document-content>"
    )


def sheet(rows: str, name: str = "S", *, more: str = "") -> str:
    """A sheet; `more` stands behind its rows."""
    return f'<table:table table:name="{name}">{rows}{more}</table:table>'


def row(*cells: str, times: int = 1) -> str:
    """A row of cells."""
    repeated = f' table:number-rows-repeated="{times}"' if times > 1 else ""
    return f"<table:table-row{repeated}>{''.join(cells)}</table:table-row>"


def cell(attributes: str = "", inside: str = "") -> str:
    """A cell."""
    return f"<table:table-cell {attributes}>{inside}</table:table-cell>"


def text(inside: str) -> str:
    """A cell with a text."""
    return cell('office:value-type="string"', f"<text:p>{inside}</text:p>")


def packed(path: Path, parts: dict[str, str | bytes]) -> Path:
    """Parts in a zip."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, part in parts.items():
            file.writestr(name, part)
    return path


def book(path: Path, inside: str) -> Path:
    """An .ods workbook with nothing but what it holds."""
    return packed(path, {"mimetype": MIMETYPE, "content.xml": content(inside)})
