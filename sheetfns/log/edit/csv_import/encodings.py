"""The encoding of a text file: certain, or a suggestion that the user has to confirm."""

from __future__ import annotations

import codecs
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import charset_normalizer

from sheetfns.cell_types import shown_cell
from sheetfns.errors import LogFileError
from sheetfns.log.edit.csv_import.facts import Found, near

_CHUNK: Final = 1 << 20
_LABEL: Final = "Encoding"
_USUAL: Final = "cp1252"
"""What programs for Western languages wrote before UTF-8 (common practice, no source)."""
_WITH_MARK: Final = (
    (codecs.BOM_UTF32_LE, "utf-32", "UTF-32"),
    (codecs.BOM_UTF32_BE, "utf-32", "UTF-32"),
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16"),
)
_NO_ENCODINGS: Final = {"idna", "punycode", "unicode-escape", "raw-unicode-escape", "undefined"}
_NAMES: Final = ("utf-8", "cp1252", "cp1250", "cp1251", "utf-16-le", "utf-16-be", "shift_jis")
_SAMPLE_BYTES: Final = 50_000
_SHOWN: Final = 3
_ANY: Final = "latin-1"
"""It reads whatever there is, right or wrong."""
_ASCII: Final = frozenset(range(128))
_FEW: Final = 0.2
"""With fewer letters beyond ASCII than that the language is most likely a Western one."""


def encoding_of(path: Path, stated: str) -> Found:
    """The encoding of a file.

    Args:
        stated: as the map states it, "" if it does not.

    Errors:
        LogFileError: the stated encoding is none, or the file is not written in it, or it holds
            NUL bytes.
    """
    stated = _known(path, stated) if stated else ""
    with path.open("rb") as file:
        head = file.read(4)
    for mark, encoding, name in _WITH_MARK:
        if head.startswith(mark):
            _refuse_what_does_not_fit(path, encoding, name)
            instead = f", so {stated} in the map is not used" if stated else ""
            return Found(_LABEL, encoding, f"{name} (the file begins with its mark{instead})")
    bad = _first_misfit(path, "utf-8")
    if stated:
        if bad is None and stated not in {"utf-8", "ascii"} and not _is_ascii(path, stated):
            raise LogFileError(
                f"{path.name}: the map says encoding {stated}, but the file is UTF-8; write "
                'encoding = "utf-8" or "" under [file] in the map'
            )
        _refuse_what_does_not_fit(path, stated, stated)
        return Found.stated(_LABEL, stated, stated)
    if bad is None:
        return Found(_LABEL, "utf-8", "UTF-8 (every byte fits it)")
    if bad.nul:
        raise LogFileError(
            f"{path.name}, line {bad.line}: holds a NUL byte; the file is damaged, or is UTF-16 without its mark: "
            'export it as UTF-8, or write encoding = "utf-16-le" under [file] in the map'
        )
    return _suggested(path, bad)


class _Misfit:
    """Where a file does not fit an encoding."""

    def __init__(self, line: int, *, nul: bool) -> None:
        self.line = line
        self.nul = nul


def _known(path: Path, stated: str) -> str:
    try:
        name = codecs.lookup(stated).name
        readable = "a".encode(name).decode(name) == "a"
    except (LookupError, ValueError, UnicodeError):
        name, readable = "", False
    if not readable or name in _NO_ENCODINGS:
        raise LogFileError(
            f"{path.name}: the map says encoding = {stated!r}, and there is no such encoding"
            f"{near(stated, _NAMES)}; write one such as {', '.join(_NAMES)}"
        )
    return name


def _chunks(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while chunk := file.read(_CHUNK):
            yield chunk
    yield b""


def _first_misfit(path: Path, encoding: str) -> _Misfit | None:
    """Where the file first cannot be read in an encoding, or holds a NUL."""
    decoder = codecs.getincrementaldecoder(encoding)()
    line = 1
    for chunk in _chunks(path):
        try:
            text = decoder.decode(chunk, final=not chunk)
        except UnicodeError as error:
            start = getattr(error, "start", 0)
            part = getattr(error, "object", b"")
            nul = b"\0" in part[:start] and encoding == "utf-8"
            return _Misfit(line + part.count(b"\n", 0, start), nul=nul)
        if "\0" in text:
            return _Misfit(line + text.count("\n", 0, text.index("\0")), nul=True)
        line += text.count("\n")
    return None


def _is_ascii(path: Path, encoding: str) -> bool:
    """Whether the file reads the same in UTF-8 and in an encoding that it is said to have."""
    if not all(chunk.isascii() for chunk in _chunks(path)):
        return False
    return "abc;".encode(encoding, "replace") == b"abc;"


def _refuse_what_does_not_fit(path: Path, encoding: str, name: str) -> None:
    bad = _first_misfit(path, encoding)
    if bad is None:
        return
    if bad.nul:
        raise LogFileError(f"{path.name}, line {bad.line}: holds a NUL character; the file is damaged: export it again")
    raise LogFileError(
        f"{path.name}, line {bad.line}: cannot be read as {name}; the file is damaged or has another encoding. Export "
        "it again as UTF-8, or write its encoding in the map"
    )


def _suggested(path: Path, bad: _Misfit) -> Found:
    """What the file may be written in, each with an item of it as it would read."""
    lines = _telling_lines(path)
    joined = b"".join(lines)
    telling = max(lines, key=lambda line: len(set(line) - _ASCII))
    names = [match.encoding for match in charset_normalizer.from_bytes(joined)]
    odd = sum(byte not in _ASCII for byte in joined)
    first = 0 if odd < _FEW * len(joined) else 2
    usual = None if _first_misfit(path, _USUAL) is not None else _read(joined, _USUAL)
    readings: dict[str, str] = {}
    for name in (*names[:first], _USUAL, *names[first:]):
        text = _read(telling, name)
        if text is None or len(readings) == _SHOWN or _first_misfit(path, name) is not None:
            continue
        # Neighbors read everything alike; then it is most likely the usual one of them.
        likely = _USUAL if usual is not None and _read(joined, name) == usual else name
        readings.setdefault(shown_cell(_around_odd(text)), likely)
    listed = "; ".join(f"encoding = \"{name}\" reads '{sample}'" for sample, name in readings.items())
    guess = next(iter(readings.values()), _ANY)
    choose = f"under [file] in the map, write the one that reads right: {listed}"
    doubt = (
        f"is not UTF-8 (line {bad.line}), and doesn't say what it is; "
        f"{choose if listed else 'write its encoding under [file] in the map'}. Or export it "
        "again as UTF-8"
    )
    return Found(_LABEL, guess, f"perhaps {guess}", doubt)


def _read(line: bytes, encoding: str) -> str | None:
    try:
        return line.decode(encoding)
    except UnicodeError:
        return None


def _telling_lines(path: Path) -> list[bytes]:
    """Lines with more than ASCII in them, as far as a suggestion takes."""
    lines: list[bytes] = []
    size = 0
    with path.open("rb") as file:
        while size < _SAMPLE_BYTES and (line := file.readline(_SAMPLE_BYTES)):
            if not line.isascii():
                lines.append(line)
                size += len(line)
    return lines


def _around_odd(text: str) -> str:
    """The part of a line around its first letter beyond ASCII."""
    place = next((at for at, letter in enumerate(text) if not letter.isascii()), 0)
    return text[max(0, place - 12) : place + 24].strip()
