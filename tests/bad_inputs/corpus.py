"""Files that are no good log, each made from one good log, and what is to come of reading them."""

from __future__ import annotations

import gzip
import io
import re
import struct
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sheetfns.files.cell_names import column_letters
from sheetfns.log.model.inputs import Inputs
from sheetfns.log.model.sheets import HEADER_ROW
from sheetfns.log.sheets.registry import log_layout
from tests.log.filled_logs import part_of

WORKBOOK = "xl/workbook.xml"
RELATIONS = "xl/_rels/workbook.xml.rels"
TYPES = "[Content_Types].xml"
STYLES = "xl/styles.xml"
STRINGS = "xl/sharedStrings.xml"
OLE = bytes.fromhex("d0cf11e0a1b11ae1") + bytes(504)
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"


@dataclass(frozen=True)
class Refused:
    """The file cannot be read: words of the message, as a regular expression."""

    words: str


@dataclass(frozen=True)
class Read:
    """The file is read.

    Attributes:
        named: sheet, cell and key of each problem that is named.
        words: of the messages, as regular expressions, in any order.
        typed: what is read that differs from the good log: makes it of the good log's entries.
    """

    named: tuple[tuple[str, str, str], ...] = ()
    words: tuple[str, ...] = ()
    typed: Callable[[Inputs], None] | None = None


Make = Callable[[Path, Path], None]


@dataclass(frozen=True)
class BadFile:
    """One bad file: its name, what makes it of the good log, and what comes of it."""

    name: str
    make: Make
    expected: Refused | Read

    def in_folder(self, good: Path, folder: Path) -> Path:
        """Make the file; its name tells what is wrong with it."""
        path = folder / f"{self.name.replace(' ', '-')}.xlsx"
        self.make(good, path)
        return path


BAD: dict[str, BadFile] = {}


def bad(name: str, expected: Refused | Read) -> Callable[[Make], Make]:
    """Put a maker into the register."""

    def put(make: Make) -> Make:
        BAD[name] = BadFile(name, make, expected)
        return make

    return put


# ---- parts ---------------------------------------------------------------------------------------


class Package:
    """The parts of a workbook, to be changed and written."""

    def __init__(self, path: Path) -> None:
        self.path = path
        with zipfile.ZipFile(path) as book:
            self.parts = {part.filename: book.read(part) for part in book.infolist()}

    def sheet(self, name: str) -> str:
        return part_of(self.path, name)

    def change(self, part: str, old: bytes | str, new: bytes | str, count: int = 1) -> None:
        """Replace what has to be there."""
        before, old, new = self.parts[part], _bytes(old), _bytes(new)
        assert old in before, (part, old)
        self.parts[part] = before.replace(old, new, count)

    def put(self, sheet: str, cell: str, kind: str, inside: str) -> None:
        """Give a cell that is there another type and content, in the look that it has."""
        part = self.sheet(sheet)
        found = re.search(rb'<c r="%s"([^>]*?)(?:/>|>.*?</c>)' % cell.encode(), self.parts[part], re.DOTALL)
        assert found, cell
        style = re.search(rb' s="\d+"', found[1])
        marks = (style[0].decode() if style else "") + (f' t="{kind}"' if kind else "")
        new = f'<c r="{cell}"{marks}>{inside}</c>' if inside else f'<c r="{cell}"{marks}/>'
        self.parts[part] = self.parts[part].replace(found[0], new.encode(), 1)

    def text(self, sheet: str, cell: str, text: str) -> None:
        self.put(sheet, cell, "inlineStr", f'<is><t xml:space="preserve">{text}</t></is>')

    def number(self, sheet: str, cell: str, number: str) -> None:
        self.put(sheet, cell, "", f"<v>{number}</v>")

    def add(self, part: str, content: bytes | str, content_type: str = "") -> None:
        self.parts[part] = _bytes(content)
        if content_type:
            self.change(TYPES, "</Types>", f'<Override PartName="/{part}" ContentType="{content_type}"/></Types>')

    def relate(self, kind: str, target: str) -> str:
        """A relation of the workbook to a part; gives its id."""
        own = f"rId9{len(self.parts)}"
        self.change(
            RELATIONS, "</Relationships>", f'<Relationship Id="{own}" Type="{kind}" Target="{target}"/></Relationships>'
        )
        return own

    def write(self, path: Path, packaging: int = zipfile.ZIP_DEFLATED) -> None:
        with zipfile.ZipFile(path, "w", packaging) as book:
            for name, content in self.parts.items():
                book.writestr(name, content)


def _bytes(content: bytes | str) -> bytes:
    return content.encode() if isinstance(content, str) else content


def changed(name: str, expected: Refused | Read) -> Callable[[Callable[[Package], None]], None]:
    """Register what changes the parts of the good log."""

    def put(change: Callable[[Package], None]) -> None:
        def make(good: Path, target: Path) -> None:
            package = Package(good)
            change(package)
            package.write(target)

        bad(name, expected)(make)

    return put


def content_of(name: str, content: bytes, words: str) -> None:
    """Register a file that has nothing of a log."""
    bad(name, Refused(words))(lambda _, target: target.write_bytes(content) and None)


def parts_of(name: str, parts: dict[str, bytes], words: str) -> None:
    """Register a zip with other parts than those of a log."""

    def make(_: Path, target: Path) -> None:
        with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as made:
            for part, content in parts.items():
                made.writestr(part, content)

    bad(name, Refused(words))(make)


def in_log(key: str, row: int, table: str = "Log") -> str:
    """The cell of a column on a sheet with rows."""
    return f"{column_letters(log_layout().table(table).position(key))}{row}"


def cell_of(table: str, key: str, row: int, problem: str) -> tuple[str, str, str]:
    """A problem with a cell."""
    return log_layout().table(table).name, in_log(key, row, table), problem


# ---- no workbook at all --------------------------------------------------------------------------

CUT = r"is damaged or cut off .*; use your last copy of it, or open it in your spreadsheet"
NO_WORKBOOK = r"is not a workbook but text, such as CSV or a web page, .*; open it in your"

content_of("empty file", b"", r"is empty \(0 bytes\); use your last copy")
content_of("one byte", b"P", NO_WORKBOOK)
content_of("only the mark of a zip", b"PK\x03\x04", CUT)
content_of("text", b"Remember the flea market on Sunday.\n", NO_WORKBOOK)
content_of("csv", "Item no.;Paid\nA1;4,50\n".encode("cp1252"), NO_WORKBOOK)
content_of("csv with a mark", "\ufeffItem no.,Paid\nA1,4.50\n".encode(), NO_WORKBOOK)
content_of("html", b"<html><table><tr><td>A1</td></tr></table></html>", NO_WORKBOOK)
content_of("xml of one file", b'<?xml version="1.0"?><Workbook/>', NO_WORKBOOK)
content_of("utf-16 text", "Item no.\tPaid\n".encode("utf-16"), "is not a workbook but something")
content_of("pdf", b"%PDF-1.7\n%\xe2\xe3\n\0\0", "is not a workbook but something else")
content_of("picture", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "is not a workbook but something else")
content_of("gzip", gzip.compress(b"log"), "is not a workbook but")
content_of("old xls", OLE + "Workbook".encode("utf-16-le"), r"in the old format \(.xls\); open it")
content_of("encrypted", OLE + "EncryptedPackage".encode("utf-16-le"), "is protected with a password; open")
content_of("zeros", bytes(5000), "is not a workbook but something else")

NO_BOOK = "is a packed file with no workbook in it; open it in your spreadsheet program and save"
parts_of("zip without parts", {}, NO_BOOK)
parts_of("zip of photos", {"img_1.jpg": b"\xff\xd8\xff", "img_2.jpg": b"\xff\xd8\xff"}, NO_BOOK)
parts_of("document", {TYPES: b"<Types/>", "word/document.xml": b"<w:document xmlns:w='w'/>"}, NO_BOOK)
parts_of("slides", {TYPES: b"<Types/>", "ppt/presentation.xml": b"<p/>"}, NO_BOOK)
parts_of(
    "ods",
    {"mimetype": b"application/vnd.oasis.opendocument.spreadsheet", "content.xml": b"<o/>"},
    r"is damaged or cut off \(there is no workbook in it\); use your last copy",
)
parts_of("xlsb", {TYPES: b"<Types/>", "xl/workbook.bin": b"\0"}, r"a binary workbook \(.xlsb\); op")
parts_of("workbook of nothing", {WORKBOOK: b"<workbook/>", RELATIONS: b"<r/>"}, CUT)
parts_of("workbook with blank parts", {WORKBOOK: b"", RELATIONS: b""}, CUT)


@bad("log in a zip", Refused(NO_BOOK))
def _(good: Path, target: Path) -> None:
    with zipfile.ZipFile(target, "w") as made:
        made.write(good, "log.xlsx")


# ---- a damaged zip -------------------------------------------------------------------------------


def _cut(name: str, length: Callable[[int], int]) -> None:
    def make(good: Path, target: Path) -> None:
        whole = good.read_bytes()
        target.write_bytes(whole[: length(len(whole))])

    bad(name, Refused(CUT))(make)


_cut("cut after 40 bytes", lambda _: 40)
_cut("cut after 3000 bytes", lambda _: 3000)
_cut("cut at one third", lambda size: size // 3)
_cut("cut at nine tenths", lambda size: size * 9 // 10)
_cut("cut before the last byte", lambda size: size - 1)
_cut("cut in the list of parts", lambda size: size - 600)


def _damage(target: Path, good: Path, part: str, change: Callable[[bytearray, Any], None]) -> None:
    content = bytearray(good.read_bytes())
    with zipfile.ZipFile(good) as book:
        info = book.getinfo(part)
    change(content, info)
    target.write_bytes(content)


def _start(content: bytearray, info: zipfile.ZipInfo) -> int:
    """Where the packed bytes of a part begin."""
    lengths = struct.unpack_from("<HH", content, info.header_offset + 26)
    return info.header_offset + 30 + sum(lengths)


def _other_crc(content: bytearray, info: zipfile.ZipInfo) -> None:
    directory = content.index(b"PK\x01\x02")
    entry = content.index(info.filename.encode(), directory) - 46
    for place in (entry + 16, info.header_offset + 14):
        struct.pack_into("<I", content, place, info.CRC ^ 1)


def _flipped(content: bytearray, info: zipfile.ZipInfo) -> None:
    content[_start(content, info) + info.compress_size // 2] ^= 0x55


@bad("wrong crc of the workbook", Refused(CUT))
def _(good: Path, target: Path) -> None:
    _damage(target, good, WORKBOOK, _other_crc)


@bad("wrong crc of a sheet", Refused(CUT))
def _(good: Path, target: Path) -> None:
    _damage(target, good, part_of(good, "Sourcing log"), _other_crc)


@bad("flipped bits in a sheet", Refused(CUT))
def _(good: Path, target: Path) -> None:
    _damage(target, good, part_of(good, "Expenses"), _flipped)


@bad("flipped bits in the texts", Refused(CUT))
def _(good: Path, target: Path) -> None:
    _damage(target, good, STRINGS, _flipped)


@bad("zeros in the middle", Refused(CUT))
def _(good: Path, target: Path) -> None:
    content = bytearray(good.read_bytes())
    middle = len(content) // 2
    content[middle : middle + 4096] = bytes(4096)
    target.write_bytes(content)


@bad("bytes before the zip", Refused("is not a workbook but"))
def _(good: Path, target: Path) -> None:
    target.write_bytes(b"MZ\0\0 program that unpacks itself" + good.read_bytes())


@bad("bytes behind the zip", Read())
def _(good: Path, target: Path) -> None:
    target.write_bytes(good.read_bytes() + b"\0" * 300)


@bad("parts not packed", Read())
def _(good: Path, target: Path) -> None:
    Package(good).write(target, zipfile.ZIP_STORED)


@bad("parts packed in another way", Refused(CUT))
def _(good: Path, target: Path) -> None:
    Package(good).write(target, zipfile.ZIP_LZMA)


@bad("part protected", Refused("its parts are protected with a password; .* without one"))
def _(good: Path, target: Path) -> None:
    content = bytearray(good.read_bytes())
    content[content.index(b"PK\x01\x02") + 8] |= 1
    target.write_bytes(content)


# ---- parts that are missing or should not be there -----------------------------------------------


def _without(name: str, part: str, expected: Refused | Read) -> None:
    @changed(name, expected)
    def _(package: Package) -> None:
        del package.parts[part]


_without("no relations of the workbook", RELATIONS, Refused(CUT))
_without("no relations of the package", "_rels/.rels", Refused(CUT))
_without("no list of types", TYPES, Read())
_without("no styles", STYLES, Read())
_without("no shared strings", STRINGS, Refused(CUT))
_without("no properties", "docProps/core.xml", Read())


@changed("sheet part missing", Refused(CUT))
def _(package: Package) -> None:
    del package.parts[package.sheet("Lots")]


@changed("relation to nowhere", Refused(CUT))
def _(package: Package) -> None:
    package.change(RELATIONS, "worksheets/sheet6.xml", "worksheets/sheet600.xml")


@changed("relation that is missing", Refused(CUT))
def _(package: Package) -> None:
    package.change(RELATIONS, 'Id="rId6"', 'Id="rId666"')


@changed("relation to the outside", Refused(CUT))
def _(package: Package) -> None:
    package.change(RELATIONS, "worksheets/sheet6.xml", "../../../../etc/hostname")


@changed("relation to a web address", Refused(CUT))
def _(package: Package) -> None:
    package.change(
        RELATIONS, 'Target="worksheets/sheet6.xml"', 'Target="http://localhost:9/sheet.xml" TargetMode="External"'
    )


def _extra(name: str, part: str, words: str) -> None:
    @changed(name, Refused(words))
    def _(package: Package) -> None:
        package.add(part, b"x")


OUT = r"leads out of the file; don't use it, and ask for the workbook again"
_extra("part that leads upwards", "../../outside.xml", OUT)
_extra("part that leads upwards in the middle", "xl/../../outside.xml", OUT)
_extra("part from the root", "/etc/outside.xml", OUT)
_extra("part with backslashes", "xl\\outside.xml", OUT)
_extra("part on a drive", "C:outside.xml", OUT)


@bad("two parts of one name", Refused("two parts with one name, .*; open it in your"))
def _(good: Path, target: Path) -> None:
    package = Package(good)
    package.write(target)
    content = io.BytesIO(target.read_bytes())
    with zipfile.ZipFile(content, "a") as made:
        # The library warns of a name that is there already.
        made.NameToInfo.pop(WORKBOOK)
        made.writestr(WORKBOOK, b"<workbook/>")
    target.write_bytes(content.getvalue())


@changed("two parts that differ in capitals", Refused("two parts with one name"))
def _(package: Package) -> None:
    part = package.sheet("Sourcing log")
    package.add(part.replace("sheet", "SHEET"), package.parts[package.sheet("Lots")])


@changed("3000 parts", Refused(r"has 30\d\d parts, more than 2000, so it is not a log; if it should be one"))
def _(package: Package) -> None:
    for number in range(3000):
        package.add(f"xl/media/picture{number}.png", b"")


@changed("bomb", Refused(r"would unpack to 1\d\d MB from 0 MB, so it is not a log; if it should be one, open it"))
def _(package: Package) -> None:
    package.add("xl/media/picture1.bmp", bytes(120 << 20))


@changed("zip within", Read())
def _(package: Package) -> None:
    inner = io.BytesIO()
    with zipfile.ZipFile(inner, "w") as made:
        made.writestr(WORKBOOK, b"<workbook/>")
    package.add("xl/embeddings/book.xlsx", inner.getvalue())


# ---- XML that is not as it should be -------------------------------------------------------------

UNUSUAL = r"is in an unusual format \(%s\), .*; open it in your spreadsheet program"
DTD = r"has declarations of its own \(a DTD\), .*; don't use it, and ask for the workbook again"


def _declared(name: str, part: str, declared: str, use: str) -> None:
    @changed(name, Refused(DTD))
    def _(package: Package) -> None:
        where = package.sheet(part) if "/" not in part else part
        content = package.parts[where].decode()
        head, rest = content.split("?>", 1)
        content = f"{head}?>\n<!DOCTYPE x [{declared}]>{rest}"
        if use:
            place = content.index("</t>") if "</t>" in content else content.index("</")
            content = content[:place] + use + content[place:]
        package.parts[where] = content.encode()


BILLION = '<!ENTITY a "lol">' + "".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">' for i in range(9))
_declared("entities without end in the texts", STRINGS, BILLION, "&j;")
_declared("entities without end in a sheet", "Sourcing log", BILLION, "")
_declared("entities in the workbook", WORKBOOK, '<!ENTITY a "b">', "")
_declared("entity from a file", STRINGS, '<!ENTITY host SYSTEM "file:///etc/hostname">', "&host;")
_declared("entity from the web", STRINGS, '<!ENTITY h SYSTEM "http://localhost:9/x">', "&h;")
_declared("parameter entity", "Lots", '<!ENTITY % p SYSTEM "http://localhost:9/x"> %p;', "")


def _broken(name: str, part: str) -> None:
    @changed(name, Refused(CUT))
    def _(package: Package) -> None:
        where = package.sheet(part) if "/" not in part else part
        content = package.parts[where]
        cut = content.rindex(b"<", 0, len(content) * 2 // 3)
        package.parts[where] = content[:cut]


_broken("workbook part cut", WORKBOOK)
_broken("relations cut", RELATIONS)
_broken("sheet cut", "Sourcing log")
_broken("settings cut", "Settings")
_broken("texts cut", STRINGS)
_broken("styles cut", STYLES)


@changed("tags crossed in a sheet", Read())
def _(package: Package) -> None:
    package.change(package.sheet("Expenses"), "</row>", "</c>")


@changed("raw control character", Read((cell_of("Log", "description", 9, "control_character"),), (r"U\+0001",)))
def _(package: Package) -> None:
    package.change(STRINGS, "First of the lot", "First \x01 of the lot")


@changed("bytes that are no utf-8", Refused(CUT))
def _(package: Package) -> None:
    package.change(STRINGS, "First of the lot", b"First \xff\xfe of the lot")


@changed("sheet that is no sheet", Refused(CUT))
def _(package: Package) -> None:
    package.parts[package.sheet("Trips")] = package.parts[WORKBOOK]


@changed("sheet in utf-16", Refused(UNUSUAL % r"UTF-16"))
def _(package: Package) -> None:
    part = package.sheet("Expenses")
    content = package.parts[part].decode().replace("UTF-8", "UTF-16")
    package.parts[part] = content.encode("utf-16")


def _prefixed(content: bytes) -> bytes:
    content = re.sub(rb"<(/?)(?=\w+[ >/])", rb"<\1x:", content)
    return content.replace(b" xmlns=", b" xmlns:x=", 1)


@changed("sheet with prefixes", Read())
def _(package: Package) -> None:
    part = package.sheet("Expenses")
    package.parts[part] = _prefixed(package.parts[part])


@changed("workbook with prefixes", Read())
def _(package: Package) -> None:
    package.parts[WORKBOOK] = _prefixed(package.parts[WORKBOOK])


@changed("cells without names", Read())
def _(package: Package) -> None:
    part = package.sheet("Owner money")
    content = package.parts[part]
    for row in re.findall(rb"<row .*?</row>", content, re.DOTALL):
        # Cells that are left out would move the others.
        names = re.findall(rb'<c r="([A-Z]+)\d+"', row)
        letters = [column_letters(i).encode() for i in range(len(names))]
        if names == letters:
            content = content.replace(row, re.sub(rb'(<c) r="[A-Z]+\d+"', rb"\1", row))
    assert b"<c>" in content or b"<c s=" in content
    package.parts[part] = content


@changed("rows without numbers", Read())
def _(package: Package) -> None:
    part = package.sheet("Trips")
    rows = [int(row) for row in re.findall(rb'<row r="(\d+)"', package.parts[part])]
    first = rows[0]
    assert rows == list(range(first, first + len(rows)))
    content = re.sub(rb'<row r="(\d+)"', rb"<row", package.parts[part])
    package.parts[part] = content.replace(b"<row", b'<row r="%d"' % first, 1)


@changed("text in cdata", Read())
def _(package: Package) -> None:
    package.change(STRINGS, "<t>First of the lot</t>", "<t><![CDATA[First of the lot]]></t>")


@changed("number in cdata", Refused(UNUSUAL % "CDATA"))
def _(package: Package) -> None:
    package.number("Expenses", "D7", "<![CDATA[12.5]]>")


@changed("comments between cells", Read())
def _(package: Package) -> None:
    part = package.sheet("Trips")
    content = package.parts[part].replace(b"</c>", b'</c><!-- <c r="A9"><v>1</v></c> -->')
    package.parts[part] = content.replace(b"</row>", b"</row><!-- row -->")


@changed("line breaks between cells", Read())
def _(package: Package) -> None:
    part = package.sheet("Expenses")
    package.parts[part] = re.sub(rb"(<c |<row |</row>)", rb"\n   \1", package.parts[part])


@changed("names of cells in small letters", Read())
def _(package: Package) -> None:
    part = package.sheet("Trips")
    package.parts[part] = re.sub(rb'<c r="([A-Z]+)', lambda m: b'<c r="' + m[1].lower(), package.parts[part])


# ---- sheets and headers --------------------------------------------------------------------------


@changed("sheet renamed", Refused("there is no sheet 'Sourcing log' .*; restore the sheet's name"))
def _(package: Package) -> None:
    package.change(WORKBOOK, 'sheet name="Sourcing log"', 'sheet name="Sources"')


@changed("sheet removed", Refused("there is no sheet 'Expenses' .*; restore the sheet's name"))
def _(package: Package) -> None:
    found = re.search(rb'<sheet name="Expenses"[^>]*/>', package.parts[WORKBOOK])
    assert found
    package.change(WORKBOOK, found[0], b"")


@changed("two sheets swapped", Refused("sheet Expenses: row .* has no column .* restore the column"))
def _(package: Package) -> None:
    expenses, trips = package.sheet("Expenses"), package.sheet("Trips")
    parts = package.parts
    parts[expenses], parts[trips] = parts[trips], parts[expenses]


@changed("two sheets of one name", Refused("there is no sheet 'Lots'"))
def _(package: Package) -> None:
    package.change(WORKBOOK, 'sheet name="Lots"', 'sheet name="Sourcing log"')


@changed("sheet without a name", Refused("there is no sheet 'Lots'"))
def _(package: Package) -> None:
    package.change(WORKBOOK, 'sheet name="Lots"', 'sheet name=""')


@changed("no sheets", Refused("there is no sheet 'Settings'"))
def _(package: Package) -> None:
    package.parts[WORKBOOK] = re.sub(rb"<sheets>.*</sheets>", b"<sheets/>", package.parts[WORKBOOK], flags=re.DOTALL)


@changed("headers cleared", Refused("sheet Sourcing log: .*; restore the headers in row 6"))
def _(package: Package) -> None:
    part = package.sheet("Sourcing log")
    package.parts[part] = re.sub(rb'<row r="5".*?</row>', b'<row r="5"/>', package.parts[part], flags=re.DOTALL)


@changed("one header cleared", Refused("row 6 has no column 'Paid'; restore the column's header"))
def _(package: Package) -> None:
    package.put("Sourcing log", in_log("paid", HEADER_ROW), "", "")


@changed("header twice", Refused("the header 'Paid' is duplicated in row 6, .*; rename the one"))
def _(package: Package) -> None:
    package.text("Sourcing log", in_log("found_at", HEADER_ROW), " PAID ")


@changed("settings without a table", Refused("the table '.*' is missing; restore its title"))
def _(package: Package) -> None:
    package.change(STRINGS, "<t>Channels and their fees</t>", "<t>Places to sell</t>")


# ---- far away ------------------------------------------------------------------------------------


def _far(name: str, cell: str, row: int, expected: Refused | Read) -> None:
    @changed(name, expected)
    def _(package: Package) -> None:
        new = f'<row r="{row}"><c r="{cell}" t="inlineStr"><is><t>x</t></is></c></row></sheetData>'
        package.change(package.sheet("Trips"), "</sheetData>", new)


FAR = "on sheet Trips, cell %s is filled, far from everything else; clear that cell"
_far("cell in the last row", "B1048576", 1048576, Refused(FAR % "B1048576"))
_far("last cell of all", "XFD1048576", 1048576, Refused(FAR % "XFD1048576"))
_far("last column", "XFD60", 60, Read())
_far("row behind the last", "B1048577", 1048577, Refused(FAR % "B1048577"))
_far("column behind the last", "ZZZZ60", 60, Refused(FAR % "ZZZZ60"))


@changed("dimension that claims all", Read())
def _(package: Package) -> None:
    part = package.sheet("Trips")
    package.parts[part] = re.sub(rb'<dimension ref="[^"]*"/>', b'<dimension ref="A1:XFD1048576"/>', package.parts[part])


@changed("dimension that is no range", Refused(CUT))
def _(package: Package) -> None:
    part = package.sheet("Trips")
    package.parts[part] = re.sub(rb'<dimension ref="[^"]*"/>', b'<dimension ref="nothing"/>', package.parts[part])


@changed("column of one's own far right", Read())
def _(package: Package) -> None:
    part = package.sheet("Trips")
    package.parts[part] = re.sub(
        rb'(<row r="7".*?)</row>', rb'\1<c r="XFD7"><v>1</v></c></row>', package.parts[part], count=1, flags=re.DOTALL
    )
