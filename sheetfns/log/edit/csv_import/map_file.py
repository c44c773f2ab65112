"""The map: a TOML file that says which column of a CSV file is what in the log."""

from __future__ import annotations

import datetime as dt
import difflib
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from sheetfns.errors import LogFileError
from sheetfns.log.edit.csv_import.marks import DATE_ORDERS, DECIMAL_MARKS, NO_THOUSANDS, THOUSANDS_MARKS
from sheetfns.log.read.sheet_reader import plain

SEPARATORS: Final = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
_MOST_BYTES: Final = 1 << 20
_TABLES: Final = {
    "file": (
        *("encoding", "separator", "decimal_mark", "thousands_mark", "date_order"),
        *("header_row", "blank_words"),
    ),
    "log": ("sheet", "match", "new_rows", "minus_as_plus"),
}
_OPEN_TABLES: Final = ("columns", "fixed")

Fixed = str | int | float | dt.date


@dataclass(frozen=True)
class FileFacts:
    """What the map states about the file; blank or 0 is to be found out.

    `blank_words` are texts that stand for a blank cell, such as --.
    """

    encoding: str = ""
    separator: str = ""
    decimal_mark: str = ""
    thousands_mark: str = ""
    date_order: str = ""
    header_row: int = 0
    blank_words: tuple[str, ...] = ()


@dataclass(frozen=True)
class BringInMap:
    """A map as it is written, before it is held against a log.

    Attributes:
        match: the log's header by which rows are found; "" if there is none.
        new_rows: whether rows that are not in the log are added.
        minus_as_plus: headers of the log whose amounts the file writes with the other sign.
        columns: the file's header by the log's.
        fixed: the same value for every row, by the log's header.
    """

    path: Path
    file: FileFacts
    sheet: str
    match: str
    new_rows: bool
    minus_as_plus: tuple[str, ...]
    columns: Mapping[str, str]
    fixed: Mapping[str, Fixed] = field(default_factory=dict)


def read_map(path: Path | str) -> BringInMap:
    """Read a map.

    Errors:
        LogFileError: no such file, no TOML, or an entry that means nothing: where, and what to do.
    """
    path = Path(path)
    tables = _parsed(path)
    _check_names(path, tables)
    reader = _Reader(path, tables)
    file = FileFacts(
        reader.text("file", "encoding"),
        reader.mark("separator", _separators()),
        reader.mark("decimal_mark", {mark: mark for mark in DECIMAL_MARKS}),
        reader.mark("thousands_mark", {mark: mark for mark in (*THOUSANDS_MARKS, NO_THOUSANDS)}),
        reader.mark("date_order", _orders()),
        reader.header_row(),
        reader.texts("file", "blank_words"),
    )
    if file.decimal_mark and file.decimal_mark == file.thousands_mark:
        raise LogFileError(f"{path.name}, [file]: decimal_mark and thousands_mark are the same; change one of them")
    sheet = reader.text("log", "sheet")
    if not sheet:
        raise LogFileError(
            f'{path.name}, [log]: sheet is missing; write the sheet\'s name, such as sheet = "Sourcing log"'
        )
    return BringInMap(
        path,
        file,
        sheet,
        reader.text("log", "match"),
        reader.flag("log", "new_rows"),
        reader.texts("log", "minus_as_plus"),
        reader.columns(),
        reader.fixed(),
    )


def near(word: str, words: Iterable[str]) -> str:
    """What may have been meant by a word, as the end of a message; "" if nothing is near."""
    by_text = {plain(one): one for one in words}
    found = difflib.get_close_matches(plain(word), by_text, 1, 0.6)
    return f" (did you mean '{by_text[found[0]]}'?)" if found else ""


def _separators() -> dict[str, str]:
    return {mark: mark for mark in SEPARATORS} | {word: mark for mark, word in SEPARATORS.items()}


def _orders() -> dict[str, str]:
    return {one: one for one in DATE_ORDERS} | {"/".join(one): one for one in DATE_ORDERS}


def _parsed(path: Path) -> dict[str, Any]:
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        raise LogFileError(f"{path}: there is no such map; check name and folder") from None
    except OSError as error:
        raise LogFileError(f"{path}: cannot be read ({error.strerror}); check the name") from error
    if len(content) > _MOST_BYTES:
        raise LogFileError(f"{path.name}: is {len(content):,} bytes long, too long for a map; check the name")
    try:
        return tomllib.loads(content.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise LogFileError(f"{path.name}, line {line}: is not written in UTF-8; save the map as UTF-8 text") from error
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise LogFileError(
            f"{path.name}: is not a proper map: {str(error) or 'too many brackets'}. Texts stand "
            'in quotation marks, such as "Sold on" = "Date of sale", and each name stands once'
        ) from error


def _check_names(path: Path, tables: Mapping[str, Any]) -> None:
    known = (*_TABLES, *_OPEN_TABLES)
    for name, content in tables.items():
        if name not in known:
            raise LogFileError(
                f"{path.name}: the map has no '{name}'{near(name, known)}; it has "
                f"{', '.join(f'[{one}]' for one in known)}"
            )
        if not isinstance(content, dict):
            raise LogFileError(f"{path.name}: '{name}' is a heading; write it as [{name}]")
        for key in content:
            if name in _TABLES and key not in _TABLES[name]:
                raise LogFileError(
                    f"{path.name}, [{name}]: there is no '{key}' here{near(key, _TABLES[name])}; "
                    f"there is {', '.join(_TABLES[name])}"
                )


class _Reader:
    """Reads entries of the map."""

    def __init__(self, path: Path, tables: Mapping[str, Any]) -> None:
        self.path = path
        self.tables = tables

    def entry(self, table: str, key: str) -> Any:
        return self.tables.get(table, {}).get(key)

    def wrong(self, table: str, key: str, what: str) -> LogFileError:
        return LogFileError(f"{self.path.name}, [{table}]: {key} {what}")

    def text(self, table: str, key: str) -> str:
        value = self.entry(table, key)
        if value is None:
            return ""
        if not isinstance(value, str):
            raise self.wrong(table, key, f'is no text; write it in quotation marks: "{value}"')
        return value.strip()

    def flag(self, table: str, key: str) -> bool:
        value = self.entry(table, key)
        if value is None or value == "":
            return False
        if not isinstance(value, bool):
            raise self.wrong(table, key, "is neither true nor false; write one of them, bare")
        return value

    def texts(self, table: str, key: str) -> tuple[str, ...]:
        value = self.entry(table, key)
        if value is None or value == "":
            return ()
        if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
            raise self.wrong(table, key, 'is no list of texts; write it as ["one", "other"]')
        return tuple(" ".join(one.split()) for one in value)

    def mark(self, key: str, known: Mapping[str, str]) -> str:
        value = self.entry("file", key)
        if value is None or value == "":
            return ""
        if not isinstance(value, str) or value.casefold() not in known:
            listed = ", ".join(f'"{one}"' if one != "\t" else r'"\t"' for one in known)
            raise self.wrong("file", key, f"is {value!r}; write one of {listed}, or leave it blank")
        return known[value.casefold()]

    def header_row(self) -> int:
        value = self.entry("file", "header_row")
        if value is None or value == "":
            return 0
        if isinstance(value, bool) or not isinstance(value, int) or value < 1:
            raise self.wrong("file", "header_row", "is no row; write a whole number from 1 on, bare")
        return value

    def columns(self) -> dict[str, str]:
        columns: dict[str, str] = {}
        for header, source in self.tables.get("columns", {}).items():
            if not isinstance(source, str):
                raise self.wrong("columns", f"'{header}'", "names no column; write the file's header as a text")
            if source.strip():
                columns[header] = source
        return columns

    def fixed(self) -> dict[str, Fixed]:
        fixed: dict[str, Fixed] = {}
        for header, value in self.tables.get("fixed", {}).items():
            if isinstance(value, bool) or not isinstance(value, (str, int, float, dt.date)):
                raise self.wrong("fixed", f"'{header}'", "is no text, number or date")
            if value != "":
                fixed[header] = value
        return fixed
