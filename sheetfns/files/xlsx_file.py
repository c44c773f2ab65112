"""Opening a workbook of unknown origin: what it refuses, its cells, and what the cells hide.

python-calamine gives the cells of a sheet quickly, but an error cell and a formula that was never
calculated look blank in it, a date below day 1 looks like a time of day, and one stray cell far
away makes it reserve room for everything in between. So each sheet's XML is looked through first.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import PurePosixPath
from typing import Any, Final

import python_calamine

from sheetfns.errors import LogFileError
from sheetfns.files.cell_names import column_number
from sheetfns.files.packed_file import AGAIN, MOST_CELLS, PackedFile, parsed
from sheetfns.files.sheet_cells import Hidden, Place

MAIN: Final = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
WORKBOOK_PART: Final = "xl/workbook.xml"
WORKBOOK_RELATIONS: Final = "xl/_rels/workbook.xml.rels"
CONTENT_TYPES: Final = "[Content_Types].xml"
_OTHER_ENDINGS: Final = {".ods", ".xls", ".xla", ".xlsb"}
_CHUNK: Final = 1 << 22

PREFIX: Final = re.compile(rb"<(\w+):worksheet\b")
SHOWN: Final = re.compile(rb"<v>([^<]*)</v>")
"""What the cell of a sheet's XML shows."""
_ERROR: Final = re.compile(rb'<c\b([^>/]*\bt="e"[^>/]*)>(.*?)</c>', re.DOTALL)
_ERROR_PLACE: Final = re.compile(rb'\br="([A-Z]+)(\d+)"')
_NOT_CALCULATED: Final = re.compile(
    rb'<c r="([A-Z]+)(\d+)"(?: (?!t="[^n])\w+="[^"]*")*>'
    rb"<f(?:[^>]*/>|[^>]*>[^<]*</f>)(?:<v></v>|<v ?/>)?</c>"
)
_FAR: Final = re.compile(rb'<c r="([A-Z]{3,}(?=\d)|[A-Z]{1,2}(?=\d{6}))(\d+)"[^>/]*>\s*<(?!/)')
_LAST_ROW: Final = re.compile(rb'<row r="(\d+)"')
_RESULT: Final = re.compile(rb"</f>\s*<v>[^<]")
_NO_TEXT: Final = re.compile(rb' t="s"[^>]*><v>[^0-9]')
_DIMENSION: Final = re.compile(rb'<(?:\w+:)?dimension ref="(?:[A-Z]+\d+:)?([A-Z]+)(\d+)"')
_OTHER_CODING: Final = re.compile(
    rb"\xff\xfe|\xfe\xff|<\?xml[^>]*?\bencoding=[\"'](?!(?i:utf-8|us-ascii)[\"'])([\w-]+)"
)
_END: Final = re.compile(rb"(?:</(?:worksheet|chartsheet|dialogsheet)\s*>|/>)\s*(?:<!--.*)?$", re.DOTALL)


class XlsxFile(PackedFile):
    """An .xlsx workbook that is open for reading.

    Errors:
        LogFileError: the file is missing, damaged, protected, too large or no .xlsx workbook.
    """

    read_by_others = ("sharedStrings.xml", "styles.xml")

    def __exit__(self, *raised: object) -> None:
        self._book.close()
        super().__exit__(*raised)

    def _read(self) -> None:
        self._read_workbook_part()
        # By its path, python-calamine goes by the ending, which may be that of another kind.
        source = self.path.read_bytes() if self.path.suffix.lower() in _OTHER_ENDINGS else None
        self._book = (
            python_calamine.CalamineWorkbook.from_path(self.path)
            if source is None
            else python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(source))
        )

    def _refuse_other_kind(self, names: set[str]) -> None:
        if WORKBOOK_PART not in names:
            raise LogFileError(f"{self.path.name}: {self._other_kind(names)}; {AGAIN}")

    def _other_kind(self, names: set[str]) -> str:
        if "xl/workbook.bin" in names:
            return "is a binary workbook (.xlsb)"
        if "mimetype" in names:
            declared = self._zip.read("mimetype")[:80].decode("ascii", "replace")
            if "opendocument.spreadsheet" in declared:
                return "is an OpenDocument workbook (.ods)"
        return "is a packed file with no workbook in it"

    def _refuse_form(self, sheet: str, block: bytes) -> None:
        """Refuse what python-calamine leaves out, or takes for something else, without a word."""
        if _NO_TEXT.search(block):
            raise ValueError("a cell in it refers to a text that is missing")
        coding = _OTHER_CODING.match(block)
        if coding or b"<v><![CDATA[" in block:
            form = (coding[1] or b"UTF-16").decode("latin-1") if coding else "CDATA"
            raise LogFileError(
                f"{self.path.name}: its sheet {sheet} is in an unusual format ({form}), so not all of it could be "
                f"read; {AGAIN}"
            )

    @staticmethod
    def _refuse_without_end(rest: bytes) -> None:
        if not _END.search(rest[-4000:]):
            raise ValueError("a sheet in it has no end")

    def _read_workbook_part(self) -> None:
        relations = parsed(self._zip.read(WORKBOOK_RELATIONS))
        targets = {relation.get("Id"): relation.get("Target", "") for relation in relations}
        self.parts: dict[str, str] = {}
        """The part of the zip in which each sheet stands."""
        self.defined_names: dict[str, str] = {}
        self.counts_from_1904 = False
        for element in parsed(self._zip.read(WORKBOOK_PART)).iter():
            tag = element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""
            if tag == "sheet":
                ids = [value for key, value in element.items() if key.endswith("}id")]
                self.parts[element.get("name")] = part_name(targets.get(ids[0], "") if ids else "")
            elif tag == "definedName":
                self.defined_names[element.get("name")] = element.text or ""
            elif tag == "workbookPr":
                self.counts_from_1904 = element.get("date1904") in {"1", "true"}

    @property
    def sheet_names(self) -> list[str]:
        """The sheets in the order of the workbook."""
        return list(self._book.sheet_names)

    def size(self, sheet: str) -> tuple[int, int]:
        """Rows and columns, blank results at the end among them."""
        with self._zip.open(self.parts[sheet]) as part:
            declared = _DIMENSION.search(part.read(4096))
        row, column = self._book.get_sheet_by_name(sheet).end or (-1, -1)
        if declared is None:
            return row + 1, column + 1
        return max(row + 1, int(declared[2])), max(column, column_number(declared[1].decode())) + 1

    def cells(self, sheet: str) -> list[list[Any]]:
        """Every cell from A1 on, "" where it is blank; call `hidden` before."""
        try:
            return self._book.get_sheet_by_name(sheet).to_python(skip_empty_area=False)
        except Exception as error:
            raise self._damaged(error) from error

    def part(self, sheet: str) -> bytes:
        """The XML of a sheet."""
        try:
            return self._zip.read(self.parts[sheet])
        except Exception as error:
            raise self._damaged(error) from error

    def hidden(self, sheet: str) -> Hidden:
        """What the XML of the sheet says beyond the values of its cells.

        Errors:
            LogFileError: damaged, or a cell stands so far away that the sheet cannot be held.
        """
        found = Hidden()
        last_row, far_row, far_column = 1, 0, 0
        far_cell = ""
        blanks: dict[bytes, list[bytes]] = {}
        seen: set[bytes] = set()
        for block in self._blocks(sheet):
            rows = _LAST_ROW.findall(block)
            self._refuse_row_twice(sheet, seen, rows)
            last_row = int(rows[-1]) if rows else last_row
            for cell in _FAR.finditer(block):
                row, column = int(cell[2]), column_number(cell[1].decode())
                if row * (column + 1) > far_row * (far_column + 1):
                    far_cell = f"{cell[1].decode()}{row}"
                far_row, far_column = max(far_row, row), max(far_column, column)
            if not found.formulas and b"</f>" in block:
                found.formulas = block
            found.calculated = found.calculated or _RESULT.search(block) is not None
            if b't="e"' in block:
                found.errors.update(_errors(block))
            for letters, number in _NOT_CALCULATED.findall(block):
                blanks.setdefault(letters, []).append(number)
        if max(far_row, last_row if far_column else 0) * max(far_column + 1, 100) > MOST_CELLS:
            raise LogFileError(
                f"{self.path.name}: on sheet {sheet}, cell {far_cell} is filled, far from everything else; clear that "
                "cell, save, and try again"
            )
        for letters, numbers in blanks.items():
            found.not_calculated[column_number(letters.decode())] = [int(n) for n in numbers]
        return found

    def _refuse_row_twice(self, sheet: str, seen: set[bytes], rows: list[bytes]) -> None:
        """Of a row that is duplicated, one would be left out without a word."""
        for row in rows:
            if row in seen:
                raise LogFileError(
                    f"{self.path.name}: on sheet {sheet} row {int(row)} is duplicated, so programs may show different "
                    f"things; {AGAIN}"
                )
            seen.add(row)

    def numbers(self, sheet: str, cells: set[str]) -> dict[str, float]:
        """The bare numbers in cells such as E13, whatever their format makes of them."""
        wanted = re.compile(rb'<c r="(%s)"[^>/]*>(.*?)</c>' % "|".join(cells).encode(), re.DOTALL)
        found = {}
        for block in self._blocks(sheet):
            for cell in wanted.finditer(block):
                value = SHOWN.search(cell[2])
                if value:
                    found[cell[1].decode()] = float(value[1])
        return found

    def _blocks(self, sheet: str) -> Iterator[bytes]:
        """The sheet's XML in items that each end between two cells."""
        prefix = b""
        try:
            with self._zip.open(self.parts[sheet]) as part:
                rest = b""
                while item := part.read(_CHUNK):
                    block = rest + item
                    self._refuse_form(sheet, block)
                    if not rest and (found := PREFIX.search(block[:4000])):
                        prefix = found[1] + b":"
                    if prefix:
                        block = block.replace(b"<" + prefix, b"<").replace(b"</" + prefix, b"</")
                    cut = block.rfind(b"<c ")
                    if cut > 0:
                        yield block[:cut]
                        block = block[cut:]
                    rest = block
                yield rest
                self._refuse_without_end(rest)
        except LogFileError:
            raise
        except Exception as error:
            raise self._damaged(error) from error


def part_name(target: str) -> str:
    """The whole name of a part that the workbook's part names from where it stands."""
    return target.removeprefix("/") if target[:1] == "/" else str(PurePosixPath(WORKBOOK_PART).parent / target)


def _errors(block: bytes) -> Iterator[tuple[Place, str]]:
    for cell in _ERROR.finditer(block):
        place, code = _ERROR_PLACE.search(cell[1]), SHOWN.search(cell[2])
        if place:
            row, column = int(place[2]), column_number(place[1].decode())
            yield (row, column), code[1].decode("utf-8", "replace") if code else "an error"
