"""Excel's limits in a written workbook: what breaks them, and how near the file comes to each."""

from __future__ import annotations

import re
import zipfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lxml import etree

from sheetfns.files import excel_limits as limits
from sheetfns.files.excel_limits import Breach
from tests.stored_cells import parsed, parts_of_sheets


@dataclass
class FileLimits:
    """What was found in one file.

    Attributes:
        breaches: each with the sheet and cell, or the name.
        largest: the largest value of each limit in the file.
    """

    breaches: list[tuple[str, Breach]] = field(default_factory=list)
    largest: Counter[str] = field(default_factory=Counter)

    def look(self, where: str, breaches: Iterator[Breach]) -> None:
        self.breaches += [(where, breach) for breach in breaches]

    def measure(self, what: str, size: int) -> None:
        self.largest[what] = max(self.largest[what], size)


def limits_of_file(path: Path) -> FileLimits:
    """Look through every part of an .xlsx or .xlsm; nothing but its XML is relied on."""
    found = FileLimits()
    with zipfile.ZipFile(path) as file:
        for part, sheet in parts_of_sheets(file):
            found.measure("sheet name", len(sheet))
            if len(sheet) > limits.SHEET_NAME or re.search(r"[\[\]:*?/\\]", sheet):
                found.look(sheet, iter([Breach("a sheet's name", sheet, limits.SHEET_NAME)]))
            _sheet(found, sheet, parsed(file, part))
        _names(found, parsed(file, "xl/workbook.xml"))
        if "xl/sharedStrings.xml" in file.namelist():
            for item in _all(parsed(file, "xl/sharedStrings.xml"), "si"):
                text = "".join(part.text or "" for part in _all(item, "t"))
                _cell_text(found, "shared strings", text)
        if "xl/styles.xml" in file.namelist():
            _styles(found, parsed(file, "xl/styles.xml"))
    return found


def _all(tree: Any, name: str) -> Iterator[Any]:
    return tree.iter(f"{{*}}{name}")


def _formula(found: FileLimits, where: str, text: str) -> None:
    found.look(where, limits.formula_breaches(text))
    found.measure("formula", len(text))
    found.measure("text in a formula", limits.longest_text(text))
    if text.count("(") > found.largest["levels"] or text.count(",") > found.largest["arguments"]:
        depth, arguments = limits.formula_depth(text)
        found.measure("levels", depth)
        found.measure("arguments", arguments)


def _cell_text(found: FileLimits, where: str, text: str) -> None:
    found.measure("text of a cell", len(text))
    found.look(where, limits.text_breaches("a cell", text, limits.CELL_TEXT))


def _sheet(found: FileLimits, sheet: str, tree: Any) -> None:
    for cell in _all(tree, "c"):
        for child in cell:
            kind = etree.QName(child).localname
            if kind == "f" and child.text:
                _formula(found, f"{sheet}, {cell.get('r')}", child.text)
            elif kind in ("v", "is") and cell.get("t") in ("str", "inlineStr"):
                _cell_text(found, f"{sheet}, {cell.get('r')}", "".join(child.itertext()))
    for rule in _all(tree, "dataValidation"):
        formulas = [next(iter(_all(rule, f"formula{n}")), None) for n in (1, 2)]
        first, second = ("" if one is None else one.text or "" for one in formulas)
        texts = {
            "title": rule.get("promptTitle", ""),
            "prompt": rule.get("prompt", ""),
            "error_title": rule.get("errorTitle", ""),
            "error": rule.get("error", ""),
            "formula": first,
            "formula_2": second,
        }
        found.look(f"{sheet}, {rule.get('sqref')}", limits.validation_breaches(texts))
        for what, part_names in (
            ("validation: prompt or error", ("prompt", "error")),
            ("validation: title", ("title", "error_title")),
            ("validation: formula", ("formula", "formula_2")),
        ):
            found.measure(what, max(len(texts[part]) for part in part_names))
    for rule in _all(tree, "cfRule"):
        for formula in _all(rule, "formula"):
            _formula(found, f"{sheet}, conditional format", formula.text or "")
    for name in ("oddHeader", "oddFooter", "evenHeader", "evenFooter", "firstHeader", "firstFooter"):
        for one in _all(tree, name):
            text = one.text or ""
            found.measure("page header or footer", len(text))
            found.look(sheet, limits.text_breaches(f"the {name}", text, limits.PAGE_HEADER))
    links = sum(1 for _ in _all(tree, "hyperlink"))
    found.measure("links of a sheet", links)
    if links > limits.LINKS:
        found.look(sheet, iter([Breach("links of a sheet", links, limits.LINKS)]))


def _names(found: FileLimits, tree: Any) -> None:
    seen: Counter[tuple[str, str | None]] = Counter()
    for one in _all(tree, "definedName"):
        name, text, comment = one.get("name"), one.text or "", one.get("comment", "")
        seen[name.casefold(), one.get("localSheetId")] += 1
        if not name.startswith("_xlnm."):
            found.look(f"defined name {name}", limits.name_breaches(name, text, comment))
            found.measure("defined name", len(name))
        _formula(found, f"defined name {name}", text)
        found.measure("comment of a name", len(comment))
    for (name, _), times in seen.items():
        if times > 1:
            found.look(f"defined name {name}", iter([Breach("times defined", times, 1)]))


def _styles(found: FileLimits, tree: Any) -> None:
    for name, what, limit in (("cellXfs", "styles", limits.STYLES), ("fonts", "fonts", limits.FONTS)):
        count = sum(len(one) for one in _all(tree, name))
        found.measure(what, count)
        if count > limit:
            found.look("the workbook", iter([Breach(what, count, limit)]))
