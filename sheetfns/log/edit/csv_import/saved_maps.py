"""Maps as files: written so that `read_map` gives the same map again, and kept for files of the same headers."""

from __future__ import annotations

import hashlib
import os
import re
import sys
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Final

from sheetfns.errors import LogFileError
from sheetfns.files.safe_files import atomic_write, dated_copy, make_folder
from sheetfns.log.edit.csv_import.csv_file import FileFacts
from sheetfns.log.edit.csv_import.draft_map import quoted
from sheetfns.log.edit.csv_import.map_file import Fixed, ImportMap, Source, read_map
from sheetfns.log.read.sheet_reader import plain

FOLDER_VARIABLE: Final = "SHEETFNS_MAPS"
"""Names another folder for the maps that are kept."""
_LONGEST_NAME: Final = 40


# ---- the text ------------------------------------------------------------------------------------


def save_map(import_map: ImportMap, path: Path | str) -> Path:
    """Write a map; what stands there before is replaced.

    Errors:
        LogFileError: the file cannot be written.
    """
    path = Path(path)
    with atomic_write(path) as beside:
        beside.write_text(map_text(import_map), encoding="utf-8")
    return path


def map_text(import_map: ImportMap) -> str:
    """A map as TOML; what is blank is left out."""
    return "\n".join(_lines(import_map)) + "\n"


def _lines(one: ImportMap) -> Iterator[str]:
    yield "# What the columns of a file are in the log: column of the log = column of the file."
    yield from _table("file", _facts(one.file))
    log = {
        "sheet": quoted(one.sheet),
        "match": quoted(one.match),
        "new_rows": str(one.new_rows).lower(),
        "minus_as_plus": _list(one.minus_as_plus),
    }
    yield from _table("log", log)
    yield from _table("columns", {quoted(header): _source(source) for header, source in one.columns.items()})
    yield from _table("fixed", {quoted(header): _fixed(value) for header, value in one.fixed.items()})
    yield from _table("leave_out", {quoted(header): _list(words) for header, words in one.leave_out.items()})
    if one.orders is not None:
        carried = {"carry_down": _list(one.orders.carry_down)} if one.orders.carry_down else {}
        yield from _table("orders", {"column": quoted(one.orders.column), **carried})
    if one.kinds is not None:
        kinds = one.kinds
        entries = {"column": quoted(kinds.column), "amount": quoted(kinds.amount), "amounts": _inline(kinds.amounts)}
        if kinds.day:
            entries |= {"day": quoted(kinds.day), "days": _inline(kinds.days)}
        if kinds.minus_as_plus:
            entries["minus_as_plus"] = _list(kinds.minus_as_plus)
        yield from _table("kinds", entries)


def _table(name: str, entries: Mapping[str, str]) -> Iterator[str]:
    if entries:
        yield ""
        yield f"[{name}]"
        yield from (f"{key} = {value}" for key, value in entries.items())


def _facts(facts: FileFacts) -> dict[str, str]:
    texts = ("encoding", "separator", "decimal_mark", "thousands_mark", "date_order", "epoch", "utc_offset")
    found = {key: quoted(getattr(facts, key)) for key in texts if getattr(facts, key)}
    if facts.header_row:
        found["header_row"] = str(facts.header_row)
    if facts.blank_words:
        found["blank_words"] = _list(facts.blank_words)
    return found


def _list(texts: Iterable[str]) -> str:
    return f"[{', '.join(map(quoted, texts))}]"


def _inline(entries: Mapping[str, str]) -> str:
    return f"{{ {', '.join(f'{quoted(word)} = {quoted(header)}' for word, header in entries.items())} }}"


def _source(source: Source) -> str:
    return quoted(source) if isinstance(source, str) else _list(source)


def _fixed(value: Fixed) -> str:
    return quoted(value) if isinstance(value, str) else str(value)


# ---- the folder ----------------------------------------------------------------------------------


def maps_folder() -> Path:
    """Where maps are kept: the user's folder for settings of programs."""
    stated = os.environ.get(FOLDER_VARIABLE)
    if stated:
        return Path(stated)
    home = Path.home()
    if sys.platform == "win32":
        settings = Path(os.environ.get("APPDATA") or home / "AppData" / "Roaming")
    elif sys.platform == "darwin":
        settings = home / "Library" / "Application Support"
    else:
        settings = Path(os.environ.get("XDG_CONFIG_HOME") or home / ".config")
    return settings / "sheetfns" / "import maps"


def kept_path(headers: Iterable[str]) -> Path:
    """Where the map of files with these headers is kept; their order does not count.

    >>> one, other = kept_path(["SKU", "Price"]), kept_path(["price", " sku "])
    >>> one.stem[-12:] == other.stem[-12:], one.name.startswith("SKU_Price_")
    (True, True)
    """
    listed = [header for header in headers if header]
    print_of = hashlib.sha256("\n".join(sorted(map(plain, listed))).encode()).hexdigest()[:12]
    folder = maps_folder()
    there = sorted(folder.glob(f"*_{print_of}.toml")) if folder.is_dir() else []
    if there:
        return there[0]
    words = re.sub(r"[^A-Za-z0-9]+", "_", " ".join(listed)).strip("_")[:_LONGEST_NAME].strip("_")
    return folder / f"{words or 'map'}_{print_of}.toml"


def keep_map(import_map: ImportMap, headers: Iterable[str]) -> Path:
    """Keep a map for files with these headers; of another one that is there a dated copy stays.

    Errors:
        LogFileError: the folder cannot be made or written.
    """
    headers = tuple(headers)
    path = kept_path(headers)
    make_folder(path.parent)
    there = kept_map(headers)
    if path.is_file() and (there is None or replace(there, path=import_map.path) != import_map):
        dated_copy(path)
    return save_map(import_map, path)


def kept_map(headers: Iterable[str]) -> ImportMap | None:
    """The map that is kept for files with these headers; None if there is none that can be read."""
    path = kept_path(headers)
    if not path.is_file():
        return None
    try:
        return read_map(path)
    except LogFileError:
        return None
