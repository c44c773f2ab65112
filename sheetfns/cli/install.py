"""The commands that put the functions into a spreadsheet program: install, uninstall, pack, doctor."""

from __future__ import annotations

import platform as this_machine
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from sheetfns.cli.console import echo, steps
from sheetfns.errors import LogFileError
from sheetfns.hosts.libreoffice import find_libreoffice, find_python
from sheetfns.programs import doctor as doctors
from sheetfns.programs.calc import install as calc
from sheetfns.programs.calc import packed
from sheetfns.programs.excel import setup as excel
from sheetfns.programs.excel.importing import import_module
from sheetfns.programs.findings import Finding
from sheetfns.programs.lite import install as lite
from sheetfns.programs.wheels import Target, architecture_of, this_platform


class Program(StrEnum):
    """A spreadsheet program."""

    calc = "calc"
    excel = "excel"


class Packed(StrEnum):
    """A spreadsheet program that takes everything in one file."""

    calc = "calc"


class Platform(StrEnum):
    """A system that LibreOffice runs on."""

    linux = "linux"
    windows = "windows"
    macos = "macos"


class Architecture(StrEnum):
    """A kind of processor."""

    x86_64 = "x86_64"
    arm64 = "arm64"


class Size(StrEnum):
    """How much one file brings."""

    functions = "functions"
    whole = "whole"


_Which = Annotated[Program, typer.Argument(help="calc: LibreOffice; excel: Excel on Windows.")]


def install(
    program: _Which,
    into: Annotated[Path | None, typer.Option(help="Excel: open this .xlsm and import the functions into it.")] = None,
    add_in: Annotated[
        Path | None,
        typer.Option(
            "--lite", help="Excel without Python, by the add-in xlwings Lite: write what to paste into this folder."
        ),
    ] = None,
    wheel: Annotated[str | None, typer.Option(help="With --lite: the https address of the package, a .whl.")] = None,
) -> None:
    """Install the functions and the menu in a spreadsheet program."""
    if wheel is not None and add_in is None:
        raise LogFileError("--wheel goes with --lite FOLDER; add it, or leave --wheel out")
    if add_in is not None:
        if program is Program.calc or into is not None:
            raise LogFileError("--lite is for Excel and goes without --into; run: sheetfns install excel --lite FOLDER")
        _echo_findings(lite.install(add_in, wheel))
        return
    if program is Program.calc:
        if into is not None:
            raise LogFileError("--into is for Excel only; leave it out, as LibreOffice needs nothing in the workbook")
        # Three more where packages are fetched.
        with steps(6) as step:
            findings = calc.install(calc.find_office(), step)
        findings.append(Finding("Now", "open a workbook in LibreOffice and enter =NET_PROFIT("))
    else:
        findings = excel.install(may_replace=typer.confirm)
        if into is not None and all(one.ok for one in findings):
            findings += import_module(into)
    _echo_findings(findings)


def uninstall(program: _Which) -> None:
    """Remove the functions and the menu from a spreadsheet program; workbooks stay as they are."""
    if program is Program.excel:
        _echo_findings(excel.uninstall())
        return
    with steps(1) as step:
        there = calc.uninstall(calc.find_office(), step)
    echo("Add-in removed." if there else "The add-in was not installed.")


def pack(
    program: Annotated[Packed, typer.Argument(help="calc: LibreOffice.")],  # noqa: ARG001  (there is one so far)
    *,
    platform: Annotated[Platform | None, typer.Option(help="Where LibreOffice runs; here if left out.")] = None,
    python: Annotated[
        str, typer.Option(help="The version of LibreOffice's Python, such as 3.11; of the one here if left out.")
    ] = "",
    arch: Annotated[Architecture | None, typer.Option(help="Its processor; as here, or x86_64, if left out.")] = None,
    size: Annotated[
        Size, typer.Option(help="functions: worksheet functions only. whole: the menu with all commands too.")
    ] = Size.functions,
    out: Annotated[Path | None, typer.Option(help="The new file, ending in .oxt.")] = None,
) -> None:
    """Make one file to double-click that brings the functions into LibreOffice, with all that they need."""
    here = this_platform()
    where = platform.value if platform else here
    if arch is not None:
        architecture = arch.value
    else:
        architecture = architecture_of(this_machine.machine()) if where == here else "x86_64"
    target = Target(where, architecture, python or _python_of_office(where == here))
    file = out or Path(packed.file_name(target, size.value))
    with steps(3) as step:
        wheels = packed.write_packed(file, target, size.value, step)
    echo(f"{file}: {file.stat().st_size / 1e6:.1f} MB, for LibreOffice with {target}.")
    for one in wheels:
        echo(f"  {one.name} {one.version}, {one.tag}, {one.license}")
    echo("Double-click it, or in LibreOffice choose Tools > Extension Manager > Add; then start LibreOffice again.")


def _python_of_office(here: bool) -> str:
    if here:
        office = find_libreoffice()
        python = find_python(office) if office else None
        if python is not None:
            return python.minor
    raise LogFileError(
        "--python: say which Python that LibreOffice has, such as --python 3.11; the folder python-core-... in its "
        "folder program has the version in its name"
    )


def doctor(
    file: Annotated[Path | None, typer.Argument(help="A log to check too, such as one with macros.")] = None,
) -> None:
    """Show what is installed, which programs can use the functions, and what to do next."""
    if not doctors.show(doctors.look_over(file), echo):
        raise typer.Exit(1)


def _echo_findings(findings: list[Finding]) -> None:
    for one in findings:
        echo(f"{one.label}: {one.found}" if one.found else f"{one.label}:")
        if one.next_step:
            echo(f"  {one.next_step}")
    if not all(one.ok for one in findings):
        raise typer.Exit(1)
