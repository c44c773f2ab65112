"""What a workbook has in its cells, read from its XML alone: formulas and stored results."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from lxml import etree

Place = tuple[str, str]
"""The sheet's name and the cell, such as ("Money", "C7")."""
TOLERANCE = 1e-7


def stored_cells(path: Path) -> tuple[dict[Place, Any], set[Place]]:
    """Every filled cell, and the places of those with a formula.

    Numbers and dates are floats, truth values 1.0 and 0.0, texts and error codes str.
    """
    with zipfile.ZipFile(path) as file:
        texts = list(_shared_texts(file))
        cells: dict[Place, Any] = {}
        formulas: set[Place] = set()
        for part, sheet in parts_of_sheets(file):
            for cell in parsed(file, part).iter("{*}c"):
                place = (sheet, cell.get("r"))
                if cell.find("{*}f") is not None:
                    formulas.add(place)
                value = _value(cell, texts)
                if value != "":
                    cells[place] = value
    return cells, formulas


def differing_cells(ours: Path, theirs: Path) -> tuple[int, list[str]]:
    """How many formula cells were compared, and those in which another program's result differs."""
    shown, formulas = stored_cells(ours)
    others, _ = stored_cells(theirs)
    found = [
        f"{sheet}, {cell}: {shown.get((sheet, cell), '')!r}, there {others.get((sheet, cell), '')!r}"
        for sheet, cell in sorted(formulas)
        if not _same(shown.get((sheet, cell), ""), others.get((sheet, cell), ""))
    ]
    return len(formulas), found


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= TOLERANCE
    return str(one).strip() == str(other).strip()


def _value(cell: Any, texts: list[str]) -> Any:
    kind = cell.get("t", "n")
    if kind == "inlineStr":
        return "".join(cell.find("{*}is").itertext())
    value = cell.find("{*}v")
    if value is None or value.text is None:
        return ""
    if kind == "s":
        return texts[int(value.text)]
    return value.text if kind in ("str", "e") else float(value.text)


def parsed(file: zipfile.ZipFile, part: str) -> Any:
    """A part's XML."""
    parser = etree.XMLParser(resolve_entities=False, huge_tree=True)
    return etree.fromstring(file.read(part), parser)


def _shared_texts(file: zipfile.ZipFile) -> Iterator[str]:
    if "xl/sharedStrings.xml" in file.namelist():
        for item in parsed(file, "xl/sharedStrings.xml").iter("{*}si"):
            yield "".join(text.text or "" for text in item.iter("{*}t"))


def parts_of_sheets(file: zipfile.ZipFile) -> Iterator[tuple[str, str]]:
    """The part of each sheet, and the sheet's name."""
    targets = {
        one.get("Id"): one.get("Target") for one in parsed(file, "xl/_rels/workbook.xml.rels").iter("{*}Relationship")
    }
    for sheet in parsed(file, "xl/workbook.xml").iter("{*}sheet"):
        key = next(v for k, v in sheet.attrib.items() if etree.QName(k).localname == "id")
        target = targets[key]
        yield target.lstrip("/") if target.startswith("/") else f"xl/{target}", sheet.get("name")
