"""The binary type library of one interface, as LibreOffice reads it (UNOIDL's own format).

The layout, all numbers little-endian: a head of 16 bytes with the place and the size of the
outermost map; an interface with its bases and methods; for each module around it a map of one name.
Names in maps are places of texts that end with a zero byte; texts elsewhere stand behind their
length. Source: the format's description in LibreOffice's source, file unoidl/source/unoidl-read.cxx
(from memory); proved by opening the add-in in the program.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Sequence
from typing import Final

_MAGIC: Final = b"UNOIDL\xff\x00"
_MODULE: Final = b"\x00"
_PUBLISHED_NOT: Final = 0
_INTERFACE: Final = 5
_IN: Final = b"\x00"
_BASE: Final = "com.sun.star.uno.XInterface"
RESULT: Final = "[][]any"
ARGUMENT: Final = "any"


def type_library(module: str, interface: str, methods: Iterable[tuple[str, Sequence[str]]]) -> bytes:
    """A library with one interface, whose methods take `any` and give rows of `any`.

    Args:
        module: its module, such as org.sheetfns.
        interface: its name in the module.
        methods: name and argument names of each method.
    """
    methods = list(methods)
    out = bytearray(_MAGIC + bytes(8))
    place = len(out)
    out.append(_INTERFACE | _PUBLISHED_NOT)
    out += _number(1) + _text(_BASE) + _number(0) + _number(0) + _number(len(methods))
    for name, arguments in methods:
        out += _text(name) + _text(RESULT) + _number(len(arguments))
        for argument in arguments:
            out += _IN + _text(argument) + _text(ARGUMENT)
        out += _number(0)
    *inner, outermost = reversed([*module.split("."), interface])
    for name in inner:
        name_place = _named(out, name)
        module_place = len(out)
        out += _MODULE + _number(1) + _number(name_place) + _number(place)
        place = module_place
    name_place = _named(out, outermost)
    root = len(out)
    out += _number(name_place) + _number(place)
    out[len(_MAGIC) : len(_MAGIC) + 8] = _number(root) + _number(1)
    return bytes(out)


def _named(out: bytearray, name: str) -> int:
    place = len(out)
    out += name.encode("ascii") + b"\x00"
    return place


def _number(number: int) -> bytes:
    return struct.pack("<I", number)


def _text(text: str) -> bytes:
    return _number(len(text)) + text.encode("ascii")
