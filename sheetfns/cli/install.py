"""The commands that put the functions into a spreadsheet program: install, uninstall, doctor."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from sheetfns.cli.console import echo, steps
from sheetfns.errors import LogFileError
from sheetfns.programs import doctor as doctors
from sheetfns.programs.calc import install as calc
from sheetfns.programs.excel import setup as excel
from sheetfns.programs.excel.importing import import_module
from sheetfns.programs.findings import Finding
from sheetfns.programs.lite import install as lite


class Program(StrEnum):
    """A spreadsheet program."""

    calc = "calc"
    excel = "excel"


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
        with steps(3) as step:
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
