"""Comments on the cells of an .xlsx workbook, as both kinds of them are stored."""

from __future__ import annotations

import posixpath
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from defusedxml.ElementTree import ParseError, fromstring

_COMMENTS: Final = "/comments"
_WORKBOOK: Final = "xl/workbook.xml"


@dataclass(frozen=True)
class Comment:
    """A comment: sheet, cell and its words in one line."""

    sheet: str
    cell: str
    text: str


def comments_of(path: Path) -> list[Comment]:
    """Every comment of a workbook, sheet by sheet; none for other kinds of file, or where they can't be read."""
    try:
        with zipfile.ZipFile(path) as file:
            if _WORKBOOK not in file.namelist():
                return []
            return list(_comments(file))
    except (OSError, zipfile.BadZipFile, ParseError, KeyError, NotImplementedError):
        return []


def _comments(file: zipfile.ZipFile) -> Iterator[Comment]:
    targets = _relations(file, _WORKBOOK)
    for sheet in _all(fromstring(file.read(_WORKBOOK)), "sheet"):
        part = targets.get(next((value for key, value in sheet.attrib.items() if key.endswith("}id")), ""), ("", ""))[1]
        if not part:
            continue
        for kind, target in _relations(file, part).values():
            if kind.endswith(_COMMENTS) and target in file.namelist():
                for one in _all(fromstring(file.read(target)), "comment"):
                    text = " ".join("".join(node.text or "" for node in _all(one, "t")).split())
                    yield Comment(sheet.get("name", ""), one.get("ref", ""), text)


def _relations(file: zipfile.ZipFile, part: str) -> dict[str, tuple[str, str]]:
    """Kind and part of each relation of a part, by its id."""
    folder, name = posixpath.split(part)
    listed = f"{folder}/_rels/{name}.rels"
    if listed not in file.namelist():
        return {}
    return {
        one.get("Id", ""): (one.get("Type", ""), _target(folder, one.get("Target", "")))
        for one in _all(fromstring(file.read(listed)), "Relationship")
    }


def _target(folder: str, target: str) -> str:
    return target.lstrip("/") if target.startswith("/") else posixpath.normpath(posixpath.join(folder, target))


def _all(root: Any, name: str) -> Iterator[Any]:
    return (node for node in root.iter() if node.tag.rpartition("}")[2] == name)
