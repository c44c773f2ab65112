"""The command that explains the worksheet functions."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from sheetfns import former_names
from sheetfns.cli.console import echo, out, table_of, warn
from sheetfns.errors import LogFileError
from sheetfns.pages.generated import PAGES, write_pages
from sheetfns.pages.reference import by_category
from sheetfns.registry import REGISTRY


def functions(
    name: Annotated[str | None, typer.Argument(help="A function, such as NET_PROFIT.")] = None,
    markdown: Annotated[bool, typer.Option("--markdown", help="List them as the README does.")] = False,
    as_reference: Annotated[
        bool, typer.Option("--reference", help="Explain them all, with worked examples, as a Markdown page.")
    ] = False,
    as_stub: Annotated[bool, typer.Option("--stub", help="Print their types, as type checkers read them.")] = False,
    write: Annotated[
        bool,
        typer.Option(
            "--write",
            help="In a clone of sheetfns: write README.md (--markdown), examples/functions.md "
            "(--reference) and sheetfns/__init__.pyi (--stub) again; all three if none is named.",
        ),
    ] = False,
) -> None:
    """List the worksheet functions, or explain one."""
    chosen = zip((markdown, as_reference, as_stub), PAGES, strict=True)
    pages = tuple(page for wanted, page in chosen if wanted)
    if name is not None:
        if pages or write:
            raise LogFileError(f"{name}: leave out the name; a page lists all functions")
        _explain(name)
    elif write:
        for words in write_pages(pages or PAGES, Path.cwd()):
            echo(words)
    elif pages:
        for page in pages:
            # As bytes: not every terminal's encoding has all characters of the examples.
            typer.echo(page.make().encode(), nl=False)
    else:
        table = table_of("Worksheet functions", "Category", "Function", "What it answers", words=3)
        for spec in by_category():
            table.add_row(spec.category, spec.name, spec.help)
        out.print(table)


def _explain(name: str) -> None:
    now = former_names.FUNCTIONS.get(name.upper())
    if now is not None:
        warn(former_names.notice(name.upper(), now))
    spec = REGISTRY.get(now or name.upper())
    if spec is None:
        raise LogFileError(f"{name}: is not a worksheet function; 'sheetfns functions' lists them")
    echo(f"{spec.usage()}\n{spec.help}\n", wrap=True)
    table = table_of("Arguments", "Argument", "What it is", "Type", "If left out", words=4)
    for argument in spec.arguments:
        limits = f"{argument.kind.name}, {argument.kind.in_words()}"
        table.add_row(argument.name, argument.help, limits, argument.default_in_words())
    out.print(table)
    for section in ("Returns", "Shape", "Errors", "Formula", "Source"):
        echo(f"{section}: {spec.sections[section]}", wrap=True)
    echo(f"Examples in Python:\n{spec.sections['Examples']}", wrap=True)
