"""A packed workbook of unknown origin: what is refused before anything in it is unpacked."""

from __future__ import annotations

import mmap
import re
import zipfile
import zlib
from pathlib import Path
from typing import Any, Final, Self

from defusedxml import DefusedXmlException
from defusedxml.ElementTree import ParseError, iterparse
from lxml import etree

from sheetfns.errors import LogFileError

MOST_BYTES: Final = 1 << 30
MOST_PARTS: Final = 2_000
MOST_TIMES: Final = 200
"""So many times its size in the zip a part may have unpacked, once the whole is not small."""
SMALL: Final = 100 << 20
MOST_CELLS: Final = 20_000_000
"""Three times what a log with the most rows takes."""

AGAIN: Final = "open it in your spreadsheet program and save it as an .xlsx workbook"
_CHUNK: Final = 1 << 22
_OLE: Final = bytes.fromhex("d0cf11e0a1b11ae1")
_LEADS_OUTSIDE: Final = re.compile(r"^[/\\]|^[A-Za-z]:|(?:^|[/\\])\.\.(?:[/\\]|$)|\\|\0")


class PackedFile:
    """A workbook in a zip that is open for reading.

    Errors:
        LogFileError: the file is missing, damaged, protected, too large or no such workbook.
    """

    read_by_others: tuple[str, ...] = ()
    """Ends of the names of parts that a library reads which does not look at their check sums."""

    def __init__(self, path: Path) -> None:
        self.path = path
        _refuse_what_is_no_zip(path)
        try:
            self._zip = zipfile.ZipFile(path)
        except Exception as error:
            raise self._damaged(error) from error
        try:
            self._refuse_parts()
            self._read()
        except LogFileError:
            self._zip.close()
            raise
        except Exception as error:
            self._zip.close()
            raise self._damaged(error) from error

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *raised: object) -> None:
        self._zip.close()

    def _refuse_other_kind(self, names: set[str]) -> None:
        """Refuse what is packed but no such workbook, by the names of its parts."""
        raise NotImplementedError

    def _read(self) -> None:
        """Read what every use needs."""
        raise NotImplementedError

    def _damaged(self, error: Exception) -> LogFileError:
        return LogFileError(
            f"{self.path.name}: is damaged or cut off ({_reason(error)}); use your last copy of it, or {AGAIN}"
        )

    def _refuse_parts(self) -> None:
        parts = self._zip.infolist()
        names = {part.filename for part in parts}
        total = sum(part.file_size for part in parts)
        packed = max(1, sum(part.compress_size for part in parts))
        if len(parts) > MOST_PARTS:
            raise LogFileError(
                f"{self.path.name}: has {len(parts)} parts, more than {MOST_PARTS}, so it is not a log; if it should "
                f"be one, {AGAIN}"
            )
        if total > MOST_BYTES or (total > SMALL and total > MOST_TIMES * packed):
            raise LogFileError(
                f"{self.path.name}: would unpack to {total >> 20:,} MB from {packed >> 20:,} MB, so it is not a log; "
                f"if it should be one, {AGAIN}"
            )
        if len({name.casefold() for name in names}) < len(parts):
            raise LogFileError(
                f"{self.path.name}: holds two parts with one name, so programs may show different things; {AGAIN}"
            )
        for name in names:
            if _LEADS_OUTSIDE.search(name):
                raise LogFileError(
                    f"{self.path.name}: a part of it is named {name!r}, which leads out of the file; don't use it, and "
                    "ask for the workbook again"
                )
        if any(part.flag_bits & 1 for part in parts):
            raise LogFileError(f"{self.path.name}: its parts are protected with a password; {AGAIN} without one")
        self._refuse_other_kind(names)
        self._look_through(names)

    def _look_through(self, names: set[str]) -> None:
        for name in names:
            if name.endswith((".xml", ".rels")):
                self._refuse_declarations(name)
            if self.read_by_others and name.endswith(self.read_by_others):
                with self._zip.open(name) as part:
                    while part.read(_CHUNK):
                        pass

    def _refuse_declarations(self, name: str) -> None:
        """No workbook needs a DTD: what it declares could grow without end or fetch files."""
        try:
            with self._zip.open(name) as part:
                next(iterparse(part, events=("start",), forbid_dtd=True), None)
        except DefusedXmlException as error:
            raise LogFileError(
                f"{self.path.name}: its part {name} has declarations of its own (a DTD), which no spreadsheet program "
                "writes; don't use it, and ask for the workbook again"
            ) from error


def _reason(error: Exception) -> str:
    """What is wrong with a file, in words for people: libraries name their own places."""
    text = " ".join(str(error).split())
    part = re.search(r"'([^']+)'", text)
    if isinstance(error, KeyError) or "not found '" in text:
        return f"its part {part[1]} is missing" if part else "a part of it is missing"
    if isinstance(error, zipfile.BadZipFile) and part:
        return f"its part {part[1]} is not what was written"
    if isinstance(error, zipfile.BadZipFile):
        return "its list of parts is missing or wrong"
    if isinstance(error, zlib.error):
        return "packed bytes in it are wrong"
    if isinstance(error, (etree.XMLSyntaxError, ParseError)):
        return "a part of it is not complete XML"
    return text if " " in text else "a part of it cannot be read"


def first_bytes(path: Path, kind: str) -> bytes:
    """How a file begins.

    Args:
        kind: what it should be, in a word such as `workbook`.

    Errors:
        LogFileError: there is no such file, or it cannot be read.
    """
    try:
        if path.is_dir():
            raise LogFileError(f"{path}: is a folder; give the name of the {kind} in it")
        if path.exists() and not path.is_file():
            raise LogFileError(f"{path}: is not an ordinary file; give the name of a {kind}")
        with path.open("rb") as file:
            return file.read(4096)
    except FileNotFoundError:
        raise LogFileError(f"{path}: there is no such file; check name and folder") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise LogFileError(f"{path}: cannot be read ({reason}); check its permissions") from error


def _refuse_what_is_no_zip(path: Path) -> None:
    name = path.name
    head = first_bytes(path, "workbook")
    if head.startswith(_OLE):
        raise LogFileError(f"{name}: {_kind_of_ole(path)}")
    if not head:
        raise LogFileError(f"{name}: is empty (0 bytes); use your last copy of the log")
    if not head.startswith(b"PK"):
        printable = b"\0" not in head
        kind = "text, such as CSV or a web page" if printable else "something else"
        raise LogFileError(f"{name}: is not a workbook but {kind}, whatever its name says; {AGAIN}")


def _kind_of_ole(path: Path) -> str:
    with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as content:
        protected = content.find("EncryptedPackage".encode("utf-16-le")) >= 0
    if protected:
        return "is protected with a password; open it in your spreadsheet program, remove the password and save it"
    return f"is a workbook in the old format (.xls); {AGAIN}"


def parsed(content: bytes) -> Any:
    """A part's XML; nothing outside it is ever fetched or put in."""
    parser = etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True)
    return etree.fromstring(content, parser)
