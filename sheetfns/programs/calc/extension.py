"""The add-in as one file (.oxt), made from the registry and the menu."""

from __future__ import annotations

import zipfile
from collections.abc import Iterable, Mapping, Sequence
from importlib.resources import files
from pathlib import Path
from typing import Any, Final
from xml.sax.saxutils import quoteattr

from lxml import etree

import sheetfns
from sheetfns.programs.calc import names
from sheetfns.programs.calc.type_library import type_library
from sheetfns.programs.findings import own_command
from sheetfns.programs.menu_entries import COMMANDS, GROUPS, MENU
from sheetfns.registry import FORMER, REGISTRY, Argument

_CONFIGURATION: Final = "application/vnd.sun.star.configuration-data"
_MEDIA_TYPES: Final = {
    "types.rdb": "application/vnd.sun.star.uno-typelibrary;type=RDB",
    "sheetfns.components": "application/vnd.sun.star.uno-components",
    "CalcAddIns.xcu": _CONFIGURATION,
    "Addons.xcu": _CONFIGURATION,
    "ProtocolHandler.xcu": _CONFIGURATION,
    "Jobs.xcu": _CONFIGURATION,
}
_OOR: Final = "http://openoffice.org/2001/registry"
_LANGUAGE: Final = "en-US"
_SPREADSHEET: Final = "com.sun.star.sheet.SpreadsheetDocument"
_CATEGORY: Final = "Add-In"
"""One of the program's own categories: it puts functions under no other in 7.4."""

Node = Any  # lxml has no types


def write_extension(
    path: Path, python_paths: Sequence[Path] = (), *, platform: str = "", more: Mapping[str, bytes] | None = None
) -> Path:
    """Write the add-in.

    Args:
        path: the new file, ending in .oxt.
        python_paths: the folders in which LibreOffice's Python finds this package and what it
            needs; none if it finds them by itself. One that is not absolute is a folder in the add-in.
        platform: the one that the program lets it be installed on, in its words; "" for every one.
        more: what else is in it, by path; it takes the place of a file of the same path.
    """
    parts = {
        "META-INF/manifest.xml": _manifest(),
        "description.xml": _description(platform),
        "sheetfns.components": _components(),
        "CalcAddIns.xcu": _functions(),
        "Addons.xcu": _menu(),
        "ProtocolHandler.xcu": _handler(),
        "Jobs.xcu": _jobs(),
        "types.rdb": type_library(
            names.MODULE,
            names.INTERFACE,
            [(spec.name, [one.name for one in spec.arguments]) for spec in (*REGISTRY.values(), *FORMER.values())],
        ),
        names.COMPONENT: files(__package__).joinpath("component.py").read_bytes(),
        names.ADVICE: f"Run {own_command('doctor')} in a terminal; it says what to do.".encode(),
        names.PATHS: "".join(f"{folder}\n" for folder in python_paths).encode(),
        **(more or {}),
    }
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, content in parts.items():
            file.writestr(zipfile.ZipInfo(name, (2026, 1, 1, 0, 0, 0)), content, zipfile.ZIP_DEFLATED)
    return path


def package_version() -> str:
    """The version of this package; the add-in has the same."""
    return sheetfns.__version__


def _functions() -> bytes:
    root = _registry("CalcAddIns")
    add_in = _node(_node(root, "AddInInfo"), names.SERVICE, new=True)
    listed = _node(add_in, "AddInFunctions")
    for spec in (*REGISTRY.values(), *FORMER.values()):
        function = _node(listed, spec.name, new=True)
        _words(function, "DisplayName", spec.name)
        _words(function, "Description", spec.help)
        _value(function, "Category", _CATEGORY)
        _words(function, "CompatibilityName", spec.name)
        arguments = _node(function, "Parameters")
        for argument in spec.arguments:
            one = _node(arguments, argument.name, new=True)
            _words(one, "DisplayName", argument.name)
            _words(one, "Description", argument_help(argument))
    return _bytes(root)


def argument_help(argument: Argument) -> str:
    """What the function wizard says of an argument."""
    # The program takes every argument of an add-in for one that may be left out.
    if argument.required:
        return f"Needed: {argument.help}"
    return f"{argument.help[0].upper()}{argument.help[1:]} If left out: {argument.default_in_words()}."


def _menu() -> bytes:
    root = _registry("Addons")
    bar = _node(_node(root, "AddonUI"), "OfficeMenuBar")
    entry = _node(bar, f"{names.IDENTIFIER}.menu", new=True)
    _words(entry, "Title", MENU)
    _value(entry, "Context", _SPREADSHEET)
    listed = _node(entry, "Submenu")
    for number, group in enumerate(GROUPS, 1):
        submenu = _node(listed, f"g{number}", new=True)
        _words(submenu, "Title", group)
        commands = _node(submenu, "Submenu")
        for place, command in enumerate((one for one in COMMANDS if one.group == group), 1):
            one = _node(commands, f"m{place}", new=True)
            _value(one, "URL", f"{names.PROTOCOL}:{command.key}")
            _words(one, "Title", command.title)
            _value(one, "Target", "_self")
    return _bytes(root)


def _handler() -> bytes:
    root = _registry("ProtocolHandler")
    handler = _node(_node(root, "HandlerSet"), f"{names.COMMANDS_SERVICE}Impl", new=True)
    _value(handler, "Protocols", f"{names.PROTOCOL}:*")
    return _bytes(root)


def _jobs() -> bytes:
    root = _registry("Jobs")
    job = _node(_node(root, "Jobs"), names.JOB, new=True)
    _value(job, "Service", names.JOB_SERVICE)
    events = _node(root, "Events")
    for event in names.EVENTS:
        named = _node(events, event)
        named.set(f"{{{_OOR}}}op", "fuse")
        _node(_node(named, "JobList"), names.JOB, new=True)
    return _bytes(root)


def _registry(name: str) -> Node:
    root = etree.Element(f"{{{_OOR}}}component-data", nsmap={"oor": _OOR})
    root.set(f"{{{_OOR}}}name", name)
    root.set(f"{{{_OOR}}}package", "org.openoffice.Office")
    return root


def _node(parent: Node, name: str, *, new: bool = False) -> Node:
    made = etree.SubElement(parent, "node")
    made.set(f"{{{_OOR}}}name", name)
    if new:
        made.set(f"{{{_OOR}}}op", "replace")
    return made


def _value(parent: Node, name: str, text: str, language: str = "") -> None:
    made = etree.SubElement(parent, "prop")
    made.set(f"{{{_OOR}}}name", name)
    value = etree.SubElement(made, "value")
    if language:
        value.set("{http://www.w3.org/XML/1998/namespace}lang", language)
    value.text = text


def _words(parent: Node, name: str, text: str) -> None:
    _value(parent, name, text, _LANGUAGE)


def _bytes(root: Node) -> bytes:
    made: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True)
    return made


def _manifest() -> bytes:
    entries = "".join(
        f"  <manifest:file-entry manifest:full-path={quoteattr(name)} manifest:media-type={quoteattr(kind)}/>\n"
        for name, kind in _MEDIA_TYPES.items()
    )
    return _document(
        f'<manifest:manifest xmlns:manifest="http://openoffice.org/2001/manifest">\n{entries}</manifest:manifest>\n'
    )


def _description(platform: str) -> bytes:
    only = f"  <platform value={quoteattr(platform)}/>\n" if platform else ""
    return _document(
        '<description xmlns="http://openoffice.org/extensions/description/2006"'
        ' xmlns:lo="http://libreoffice.org/extensions/description/2011">\n'
        f'  <identifier value="{names.IDENTIFIER}"/>\n'
        f'  <version value="{package_version()}"/>\n'
        f"{only}"
        "  <dependencies>"
        f'<lo:LibreOffice-minimal-version value="{names.LEAST_VERSION}"'
        f' lo:name="LibreOffice {names.LEAST_VERSION}"/>'
        "</dependencies>\n"
        "  <display-name>"
        '<name lang="en">Worksheet functions and commands for the sourcing log</name>'
        "</display-name>\n"
        "</description>\n"
    )


def _components() -> bytes:
    services: Iterable[str] = (names.SERVICE, names.COMMANDS_SERVICE, names.JOB_SERVICE)
    listed = "".join(
        f'    <implementation name="{service}Impl"><service name="{service}"/></implementation>\n'
        for service in services
    )
    return _document(
        '<components xmlns="http://openoffice.org/2010/uno-components">\n'
        f'  <component loader="com.sun.star.loader.Python" uri="{names.COMPONENT}">\n'
        f"{listed}  </component>\n</components>\n"
    )


def _document(text: str) -> bytes:
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}'.encode()
