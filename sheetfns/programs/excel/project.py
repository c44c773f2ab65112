"""The VBA modules inside a vbaProject.bin: their names and their text, by reading only.

A vbaProject.bin is a compound file with a stream for each module (Microsoft's published
specifications MS-CFB and MS-OVBA; the layout of both from memory, and checked on the projects that
xlwings brings). It tells which version of xlwings' VBA an add-in or a workbook holds, and whether
our module has been imported into it.
"""

from __future__ import annotations

import re
import struct
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from sheetfns.errors import LogFileError

PROJECT_PART: Final = "xl/vbaProject.bin"
_SIGNATURE: Final = bytes.fromhex("d0cf11e0a1b11ae1")
_NO_SECTOR: Final = 0xFFFFFFF0
"""Numbers from here on are no sectors but marks: end of chain, free, table."""
_STREAM, _ROOT = 2, 5
_MODULE_STREAM_NAME: Final = 0x001A
_MODULE_OFFSET: Final = 0x0031
_PROJECT_VERSION: Final = 0x0009
_MODULE_NAMES: Final = re.compile(r"^(Module|Document|Class|BaseClass)=([^/\r\n]+)", re.MULTILINE)
_XLWINGS_VERSION: Final = re.compile(r'XLWINGS_VERSION As String = "([^"]*)"')


def project_of(workbook: Path) -> bytes | None:
    """The vbaProject.bin of a workbook or an add-in; None if it has none.

    Errors:
        LogFileError: the file cannot be read, or is damaged.
    """
    try:
        with zipfile.ZipFile(workbook) as book:
            return book.read(PROJECT_PART) if PROJECT_PART in book.namelist() else None
    except (OSError, zipfile.BadZipFile, EOFError, ValueError) as error:
        raise LogFileError(f"{workbook}: cannot be read ({error}); use another copy of it") from error


def module_sources(project: bytes) -> dict[str, str]:
    """The text of every module by its name.

    Errors:
        LogFileError: the bytes are no VBA project, or are damaged.
    """
    try:
        streams = _CompoundFile(project).streams()
        offsets = _offsets(_unpacked(streams["dir"]))
        return {name: _unpacked(streams[name][offset:]).decode("latin-1") for name, offset in offsets.items()}
    except (KeyError, IndexError, ValueError, struct.error) as error:
        raise LogFileError(f"The macros of this file cannot be read ({error!r}); use another copy of it") from error


def document_modules(project: bytes) -> list[str]:
    """The modules that belong to the workbook and its sheets, such as ThisWorkbook and Sheet1.

    Errors:
        LogFileError: the bytes are no VBA project, or are damaged.
    """
    try:
        listed = _CompoundFile(project).streams()["PROJECT"].decode("latin-1")
    except (KeyError, IndexError, ValueError, struct.error) as error:
        raise LogFileError(f"The macros of this file cannot be read ({error!r}); use another copy of it") from error
    return [name for kind, name in _MODULE_NAMES.findall(listed) if kind == "Document"]


def xlwings_version(sources: dict[str, str]) -> str:
    """The version of xlwings that these modules are of; "" if there is none among them."""
    found = (_XLWINGS_VERSION.search(text) for text in sources.values())
    return next((one[1] for one in found if one), "")


class _CompoundFile:
    """A file with folders and streams inside, as it was made before zip took over.

    Errors:
        ValueError, IndexError, struct.error: it is none, or is damaged.
    """

    def __init__(self, content: bytes) -> None:
        if content[:8] != _SIGNATURE:
            raise ValueError("no compound file")
        self._content = content
        shift, small_shift = struct.unpack_from("<HH", content, 30)
        self._size, self._small_size = 1 << shift, 1 << small_shift
        head = struct.unpack_from("<IIIIIII", content, 48)
        self._folder, _, self._least, first_small, _, first_list, lists = head
        sectors = list(struct.unpack_from("<109I", content, 76))
        for _ in range(lists):
            *more, first_list = self._numbers(self._sector(first_list))
            sectors += more
        used = [place for place in sectors if place < _NO_SECTOR]
        self._table = [one for place in used for one in self._numbers(self._sector(place))]
        self._small_table = self._numbers(self._joined(first_small))

    def streams(self) -> dict[str, bytes]:
        """Every stream by its own name, whatever folder it is in."""
        folder = self._joined(self._folder)
        entries = [_entry(folder[start : start + 128]) for start in range(0, len(folder), 128)]
        root = next(self._joined(first) for _, kind, first, _ in entries if kind == _ROOT)
        size = self._small_size
        small = [root[start : start + size] for start in range(0, len(root), size)]
        found = {}
        for name, kind, first, length in entries:
            if kind == _STREAM:
                if length >= self._least:
                    whole = self._joined(first)
                else:
                    whole = b"".join(small[one] for one in _chain(first, self._small_table))
                found[name] = whole[:length]
        return found

    def _sector(self, number: int) -> bytes:
        start = (number + 1) * self._size
        return self._content[start : start + self._size]

    def _joined(self, first: int) -> bytes:
        return b"".join(map(self._sector, _chain(first, self._table)))

    @staticmethod
    def _numbers(block: bytes) -> list[int]:
        return list(struct.unpack(f"<{len(block) // 4}I", block))


def _chain(first: int, links: list[int]) -> Iterator[int]:
    for _ in range(len(links) + 1):
        if first >= _NO_SECTOR:
            return
        yield first
        first = links[first]
    raise ValueError("a chain without end")


def _entry(block: bytes) -> tuple[str, int, int, int]:
    """Name, kind, first sector and length."""
    length, kind = struct.unpack_from("<HB", block, 64)
    first, size = struct.unpack_from("<IQ", block, 116)
    return block[: max(length - 2, 0)].decode("utf-16-le"), kind, first, size


def _offsets(folder: bytes) -> dict[str, int]:
    """Where each module's text begins in its stream, by the name of the stream."""
    found: dict[str, int] = {}
    name, place = "", 0
    while place + 6 <= len(folder):
        record, length = struct.unpack_from("<HI", folder, place)
        if record == _PROJECT_VERSION:
            length += 2  # it is two bytes longer than it says
        value = folder[place + 6 : place + 6 + length]
        if record == _MODULE_STREAM_NAME:
            name = value.decode("latin-1")
        elif record == _MODULE_OFFSET:
            found[name] = int.from_bytes(value, "little")
        place += 6 + length
    return found


def _unpacked(packed: bytes) -> bytes:
    """A compressed container: chunks of up to 4096 bytes, with copies of what came before."""
    if packed[:1] != b"\x01":
        raise ValueError("no compressed container")
    place, result = 1, bytearray()
    while place + 2 <= len(packed):
        head = int.from_bytes(packed[place : place + 2], "little")
        end = min(place + (head & 0x0FFF) + 3, len(packed))
        place += 2
        if not head & 0x8000:
            result += packed[place:end]
            place = end
            continue
        begin = len(result)
        while place < end:
            flags = packed[place]
            place += 1
            for bit in range(8):
                if place >= end:
                    break
                if not flags >> bit & 1:
                    result.append(packed[place])
                    place += 1
                    continue
                token = int.from_bytes(packed[place : place + 2], "little")
                place += 2
                bits = max((len(result) - begin - 1).bit_length(), 4)
                length = (token & (0xFFFF >> bits)) + 3
                back = (token >> (16 - bits)) + 1
                if back > len(result) - begin:
                    raise ValueError("a copy of nothing")
                for _ in range(length):
                    result.append(result[-back])
    return bytes(result)
