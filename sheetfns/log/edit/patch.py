"""Change single cells of a workbook, add a sheet to it, and leave everything else as it was.

Each part of the file that no change concerns keeps its bytes: charts, pictures, comments, macros,
sheets and columns of one's own. What the formulas give is worked out headless and stored.
"""

from __future__ import annotations

import copy as copies
import shutil
import zipfile
import zlib
from collections.abc import Callable, Iterable, Mapping
from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from lxml import etree

from sheetfns.errors import LogFileError
from sheetfns.files import sheet_xml
from sheetfns.files.cell_names import cell_name
from sheetfns.files.packed_file import parsed
from sheetfns.files.safe_files import atomic_write, dated_copy, folder_for_drafts, sole_use
from sheetfns.files.sheet_xml import FormulaText, Value
from sheetfns.files.workbook_file import refuse_ods
from sheetfns.files.xlsx_file import CONTENT_TYPES, MAIN, WORKBOOK_PART, WORKBOOK_RELATIONS, XlsxFile, part_name
from sheetfns.hosts import engine
from sheetfns.log.edit.print_ranges import PRINT_AREA, grown_ranges, same_range

_PACKAGE: Final = "http://schemas.openxmlformats.org/package/2006"
_OFFICE: Final = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_SHEET_TYPE: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
_LINE_HEIGHT: Final = 15
_WORD_WIDTH: Final = 1.15
"""Lines break between words, so that a text takes more room than its letters."""
_MOST_LINES: Final = 27
"""No program shows a higher row."""
_AFTER_CALCULATION: Final = (
    "oleSize",
    "customWorkbookViews",
    "pivotCaches",
    "smartTagPr",
    "smartTagTypes",
    "webPublishing",
    "fileRecoveryPr",
    "webPublishObjects",
    "extLst",
)
"""What the format has behind the settings of calculation, and these have to stand before."""


@dataclass(frozen=True)
class CellEdit:
    """One cell and what it is to hold; row and column are counted from 1."""

    sheet: str
    row: int
    column: int
    value: Value

    @property
    def cell(self) -> str:
        """The cell's name, such as M12."""
        return cell_name(self.row, self.column)


@dataclass(frozen=True)
class NewSheet:
    """A sheet to add behind the others: texts in rows, the first `heads` of them bold."""

    name: str
    rows: tuple[tuple[Value, ...], ...]
    widths: tuple[float, ...]
    heads: int = 1


@dataclass(frozen=True)
class Patched:
    """What came of it.

    Attributes:
        path: the file that was written.
        values: every cell after recalculation; None if the engine could not work it out.
        not_recalculated: why, in that case; a program works it out on opening.
        copy: the dated copy of the file that stood there before, if one did.
        unchanged: whether the file to write was there already, the same in all its parts.
    """

    path: Path
    values: engine.Recalculated | None
    not_recalculated: str
    copy: Path | None
    unchanged: bool = False


def refresh_values(path: Path | str, step: Callable[[str], None] = lambda _: None) -> tuple[engine.Recalculated, Path]:
    """Recalculate a workbook headless and store each formula's result in its cell.

    Args:
        path: the workbook.
        step: is told what is being done.

    Returns:
        every cell after recalculation, and the path of the dated copy.

    Errors:
        LogFileError: not a workbook, open in a program, or the folder cannot be written.
    """
    path = Path(path)
    refuse_ods(path)
    with sole_use(path):
        step("Recalculating it")
        values = engine.recalculate(path)
        step("Storing the results")
        with atomic_write(path) as beside:
            store_results(path, beside, values)
            _look_once_more(beside)
            copy = dated_copy(path)
    return values, copy


def store_results(source: Path, target: Path, values: engine.Recalculated) -> None:
    """Write a workbook again, with the result of each formula stored in its cell."""
    _copy_with(source, target, _Changes(source, (), ()), values)


def patch(
    path: Path | str,
    edits: Iterable[CellEdit],
    *,
    out: Path | str | None = None,
    new_sheets: Iterable[NewSheet] = (),
    locked: bool = False,
) -> Patched:
    """Write a workbook with other values in some cells.

    Args:
        path: the workbook to start from.
        edits: the cells; the last one counts where two name the same.
        out: the file to write; `path` itself if left out. What stands there is kept as a dated
            copy.
        new_sheets: sheets to add behind the others.
        locked: whether the caller has the sole use of the file to write already.

    Errors:
        LogFileError: no workbook, a sheet that is not there, a cell that cannot be changed alone,
            a file that is open or read-only, or a folder that cannot be written. Then every file is
            as it was.
    """
    path = Path(path)
    target = path if out is None else Path(out)
    with nullcontext() if locked else sole_use(target):
        changes = _Changes(path, tuple(edits), tuple(new_sheets))
        values, reason = _recalculated(path, changes)
        try:
            with atomic_write(target) as beside:
                _copy_with(path, beside, changes, values)
                _look_once_more(beside)
                _stop_if_the_same(beside, target)
                copy = dated_copy(target) if target.exists() else None
        except _Unchanged:
            return Patched(target, values, reason, None, unchanged=True)
    return Patched(target, values, reason, copy)


class _Unchanged(Exception):  # noqa: N818  (no error: there is nothing to write)
    """What would be written stands there already."""


def _stop_if_the_same(written: Path, target: Path) -> None:
    if target.exists() and _same_parts(written, target):
        raise _Unchanged


def _same_parts(one: Path, other: Path) -> bool:
    try:
        with zipfile.ZipFile(one) as first, zipfile.ZipFile(other) as second:
            return first.namelist() == second.namelist() and all(
                first.read(name) == second.read(name) for name in first.namelist()
            )
    except (zipfile.BadZipFile, zlib.error, OSError):
        return False


def _recalculated(path: Path, changes: _Changes) -> tuple[engine.Recalculated | None, str]:
    with folder_for_drafts(path) as folder:
        draft = folder / path.name
        _copy_with(path, draft, changes, None, quickly=True)
        try:
            return engine.recalculate(draft), ""
        except LogFileError as error:
            return None, str(error)


def _look_once_more(written: Path) -> None:
    """Open what was written, before it takes the place of what was there."""
    with zipfile.ZipFile(written) as made:
        bad = made.testzip()
    if bad is not None:
        raise LogFileError(f"{written.name}: part {bad} was not written completely; try again")
    with XlsxFile(written):
        pass


class _Changes:
    """Which parts of a workbook change, and to what."""

    def __init__(self, path: Path, edits: tuple[CellEdit, ...], new_sheets: tuple[NewSheet, ...]) -> None:
        self.parts: dict[str, bytes] = {}
        """New content of parts, and parts that are new."""
        self.gone: set[str] = set()
        with XlsxFile(path) as book, zipfile.ZipFile(path) as zipped:
            self.sheets = {part: name for name, part in book.parts.items()}
            self._from_1904 = book.counts_from_1904
            self._zip = zipped
            self._styles_part = _target(zipped, "/styles", "xl/styles.xml")
            self._styles: _Styles | None = None
            self._edit_sheets(path, book.parts, (*edits, *self._print_ranges(book, edits)))
            for sheet in new_sheets:
                self._add_sheet(sheet)
            if self._styles is not None and self._styles.changed:
                self.parts[self._styles_part] = self._styles.content()
            self._calculate_on_load()

    def content(self, name: str) -> bytes:
        """A part as far as it has changed."""
        return self.parts[name] if name in self.parts else self._zip.read(name)

    def styles(self) -> _Styles:
        if self._styles is None:
            if self._styles_part not in {*self.parts, *self._zip.namelist()}:
                raise LogFileError(
                    "the workbook has no cell formats, and one is needed; open it in your spreadsheet program and save "
                    "it as an .xlsx workbook"
                )
            self._styles = _Styles(self.content(self._styles_part))
        return self._styles

    def _print_ranges(self, book: XlsxFile, edits: tuple[CellEdit, ...]) -> list[CellEdit]:
        """Let print ranges grow with the rows that are filled in; gives the cells that know their last rows."""
        entries = (edit for edit in edits if not isinstance(edit.value, FormulaText))
        filled = [(edit.sheet, edit.row) for edit in entries if edit.value not in (None, "")]
        grown = {one.sheet: one for one in grown_ranges(book, filled)} if edits else {}
        if not grown:
            return []
        root = parsed(self.content(WORKBOOK_PART))
        names = [one.get("name") for one in root.find(f"{_namespace(root)}sheets")]
        made = []
        for area in root.iter(f"{_namespace(root)}definedName"):
            new = grown.get(names[int(area.get("localSheetId", -1))]) if area.get("name") == PRINT_AREA else None
            if new is not None and same_range(area.text or "", new.before):
                area.text = new.after
                heads = ((head.row, head.column + 1, FormulaText(head.formula)) for head in new.heads)
                made += [CellEdit(new.sheet, *head) for head in heads]
        if made:
            self.parts[WORKBOOK_PART] = _written(root)
        return made

    def _edit_sheets(self, path: Path, parts: Mapping[str, str], edits: tuple[CellEdit, ...]) -> None:
        by_sheet: dict[str, dict[sheet_xml.Cell, Value]] = {}
        for edit in edits:
            by_sheet.setdefault(edit.sheet, {})[edit.row, edit.column] = edit.value
        formulas_changed = False
        for name, cells in by_sheet.items():
            if name not in parts:
                raise LogFileError(f"{path.name}: there is no sheet '{name}' (found: {', '.join(parts)})")
            try:
                changed = sheet_xml.with_cells(
                    self._zip.read(parts[name]),
                    cells,
                    quoted=lambda style: self.styles().quoted(style),
                    counts_from_1904=self._from_1904,
                )
            except LogFileError as error:
                raise LogFileError(f"{path.name}, sheet {name}: {error}") from error
            self.parts[parts[name]] = changed.content
            formulas_changed |= changed.formulas_changed
        if formulas_changed:
            self._drop_chain()

    def _drop_chain(self) -> None:
        """Take away the order of calculation, which no longer holds; programs make a new one."""
        relations = parsed(self.content(WORKBOOK_RELATIONS))
        chains = [one for one in relations if (one.get("Type") or "").endswith("/calcChain")]
        for relation in chains:
            part = part_name(relation.get("Target"))
            self.gone.add(part)
            relations.remove(relation)
            types = parsed(self.content(CONTENT_TYPES))
            for one in [one for one in types if one.get("PartName") == f"/{part}"]:
                types.remove(one)
            self.parts[CONTENT_TYPES] = _written(types)
        if chains:
            self.parts[WORKBOOK_RELATIONS] = _written(relations)

    def _calculate_on_load(self) -> None:
        content = self.content(WORKBOOK_PART)
        root = parsed(content)
        main = _namespace(root)
        settings = root.find(f"{main}calcPr")
        if settings is not None and settings.get("fullCalcOnLoad") in {"1", "true"}:
            return
        if settings is None:
            settings = etree.Element(f"{main}calcPr")
            behind = [root.find(f"{main}{name}") for name in _AFTER_CALCULATION]
            first = min((root.index(one) for one in behind if one is not None), default=len(root))
            root.insert(first, settings)
        settings.set("fullCalcOnLoad", "1")
        self.parts[WORKBOOK_PART] = _written(root)

    def _add_sheet(self, sheet: NewSheet) -> None:
        workbook = parsed(self.content(WORKBOOK_PART))
        relations = parsed(self.content(WORKBOOK_RELATIONS))
        types = parsed(self.content(CONTENT_TYPES))
        main = _namespace(workbook)
        sheets = workbook.find(f"{main}sheets")
        numbers = range(1, len(self._zip.namelist()) + len(self.parts) + 2)
        taken = {*self._zip.namelist(), *self.parts}
        part = next(name for n in numbers if (name := f"xl/worksheets/sheet{n}.xml") not in taken)
        ids = {one.get("Id") for one in relations}
        own_id = next(name for n in range(1, len(ids) + 2) if (name := f"rId{n}") not in ids)
        number = max(int(one.get("sheetId")) for one in sheets) + 1
        element = etree.SubElement(sheets, f"{main}sheet", name=sheet.name, sheetId=str(number))
        element.set(f"{{{_relation_namespace(sheets)}}}id", own_id)
        relation = f"{{{_PACKAGE}/relationships}}Relationship"
        etree.SubElement(relations, relation, Id=own_id, Type=f"{_OFFICE}/worksheet", Target=f"/{part}")
        override = f"{{{_PACKAGE}/content-types}}Override"
        etree.SubElement(types, override, PartName=f"/{part}", ContentType=_SHEET_TYPE)
        self.parts[WORKBOOK_PART] = _written(workbook)
        self.parts[WORKBOOK_RELATIONS] = _written(relations)
        self.parts[CONTENT_TYPES] = _written(types)
        self.parts[part] = self._sheet(sheet)
        self.sheets[part] = sheet.name

    def _sheet(self, sheet: NewSheet) -> bytes:
        plain, bold = self.styles().words(bold=False), self.styles().words(bold=True)
        cells = {
            (row, column): value for row, values in enumerate(sheet.rows, 1) for column, value in enumerate(values, 1)
        }
        columns = "".join(
            f'<col min="{place}" max="{place}" width="{width}" customWidth="1"/>'
            for place, width in enumerate(sheet.widths, 1)
        )
        rows = "".join(
            f'<row r="{row}" ht="{_height(sheet, row)}" customHeight="1">'
            + "".join(
                f'<c r="{cell_name(row, column)}" s="{bold if row <= sheet.heads else plain}"/>'
                for column in range(1, len(sheet.widths) + 1)
            )
            + "</row>"
            for row in range(1, len(sheet.rows) + 1)
        )
        frozen = (
            f'<sheetViews><sheetView workbookViewId="0"><pane ySplit="{sheet.heads}" '
            f'topLeftCell="A{sheet.heads + 1}" activePane="bottomLeft" state="frozen"/></sheetView>'
            "</sheetViews>"
        )
        content = (
            '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
            f'<worksheet xmlns="{MAIN}"><sheetPr><pageSetUpPr fitToPage="1"/></sheetPr>'
            f"{frozen}<cols>{columns}</cols><sheetData>{rows}</sheetData>"
            '<pageSetup orientation="landscape" fitToHeight="0"/></worksheet>'
        )
        return sheet_xml.with_cells(content.encode(), cells, quoted=lambda style: self.styles().quoted(style)).content


def _height(sheet: NewSheet, row: int) -> float:
    """How high a row is for its words to be seen; not every program works that out on opening."""
    values = zip(sheet.rows[row - 1], sheet.widths, strict=False)
    lines = [
        sum(1 + int(len(line) / width * _WORD_WIDTH) for line in value.split("\n"))
        for value, width in values
        if isinstance(value, str)
    ]
    return _LINE_HEIGHT * min(max(lines, default=1), _MOST_LINES)


class _Styles:
    """The cell styles of a workbook, to which some may be added."""

    def __init__(self, content: bytes) -> None:
        self._root = parsed(content)
        self._main = _namespace(self._root)
        self._formats = self._root.find(f"{self._main}cellXfs")
        self._made: dict[tuple[str, int], int] = {}
        self.changed = False

    def content(self) -> bytes:
        return _written(self._root)

    def quoted(self, style: int) -> int:
        """The style that looks like another one and keeps its text from becoming a formula."""
        if style >= len(self._formats):
            style = 0  # programs show a cell whose format is missing in the first one
        if not len(self._formats) or self._formats[style].get("quotePrefix") in {"1", "true"}:
            return style

        def make(new: Any) -> None:
            new.set("quotePrefix", "1")

        return self._add(("quoted", style), style, make)

    def words(self, *, bold: bool) -> int:
        """A style for words in lines, bold or not."""

        def make(new: Any) -> None:
            if bold:
                fonts = self._root.find(f"{self._main}fonts")
                font = copies.deepcopy(fonts[0])
                if font.find(f"{self._main}b") is None:
                    font.insert(0, etree.Element(f"{self._main}b"))
                fonts.append(font)
                fonts.set("count", str(len(fonts)))
                new.set("fontId", str(len(fonts) - 1))
                new.set("applyFont", "1")
            for old in new.findall(f"{self._main}alignment"):
                new.remove(old)
            new.insert(0, etree.Element(f"{self._main}alignment", horizontal="left", vertical="top", wrapText="1"))
            new.set("applyAlignment", "1")

        return self._add(("bold" if bold else "words", 0), 0, make)

    def _add(self, key: tuple[str, int], like: int, make: Any) -> int:
        if key not in self._made:
            new = copies.deepcopy(self._formats[like])
            make(new)
            self._formats.append(new)
            self._formats.set("count", str(len(self._formats)))
            self._made[key] = len(self._formats) - 1
            self.changed = True
        return self._made[key]


def _copy_with(
    source: Path, target: Path, changes: _Changes, values: engine.Recalculated | None, *, quickly: bool = False
) -> None:
    """Write the workbook with its changed parts; with `values` each formula has its result."""
    names = []
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        for part in old.infolist():
            names.append(part.filename)
            if part.filename in changes.gone:
                continue
            info = copies.copy(part)
            content = changes.parts.get(part.filename)
            sheet = changes.sheets.get(part.filename)
            if content is None and (values is None or sheet is None):
                with old.open(part) as reading, new.open(info, "w") as writing:
                    shutil.copyfileobj(reading, writing, 1 << 20)
                continue
            whole = old.read(part) if content is None else content
            if values is not None and sheet is not None:
                whole = _with_values(whole, sheet, values)
            new.writestr(info, whole, compresslevel=1 if quickly else None)
        for name, content in changes.parts.items():
            if name not in names:
                new.writestr(name, content, zipfile.ZIP_DEFLATED)


def _with_values(content: bytes, sheet: str, values: engine.Recalculated) -> bytes:
    rows = values.sheets.get(sheet)
    if rows is None:
        return content
    height = len(rows)

    def result(row: int, column: int) -> Any:
        if row > height or column > len(rows[row - 1]):
            return None
        return rows[row - 1][column - 1]

    return sheet_xml.with_results(content, result)


def _target(zipped: zipfile.ZipFile, kind: str, usual: str) -> str:
    """The part that the workbook names for something, such as its styles."""
    for relation in parsed(zipped.read(WORKBOOK_RELATIONS)):
        if (relation.get("Type") or "").endswith(kind):
            return part_name(relation.get("Target"))
    return usual


def _relation_namespace(sheets: Any) -> str:
    """The namespace in which this workbook ties its sheets to their parts."""
    for sheet in sheets:
        for key in sheet.keys():  # noqa: SIM118  (an element without keys() gives children)
            if key.endswith("}id"):
                return str(key[1:].split("}")[0])
    return _OFFICE


def _namespace(root: Any) -> str:
    """The namespace of a part, which the strict form of the format has another one for."""
    return f"{{{etree.QName(root).namespace}}}"


def _written(root: Any) -> bytes:
    made: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)
    return made
