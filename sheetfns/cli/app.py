"""The command line: which commands there are, and where they stand.

A command is a function in the module that is named here. Only the module of the command that is run
is loaded, as pandas and its like take seconds; the help of the others is read from their source.
"""

from __future__ import annotations

import ast
import functools
import sys
from importlib import import_module
from pathlib import Path
from typing import Final

import typer

from sheetfns import former_names
from sheetfns.cli.console import BAD_FILE, warn
from sheetfns.errors import LogFileError

COMMANDS: Final = {
    "new": "make",
    "demo": "make",
    "recalc": "make",
    "summary": "reports",
    "year-end": "reports",
    "forecast": "reports",
    "functions": "functions",
    "check": "maintain",
    "merge": "maintain",
    "pocket": "maintain",
    "import": "maintain",
    "upgrade": "maintain",
    "install": "install",
    "uninstall": "install",
    "pack": "install",
    "doctor": "install",
}
"""The module of each command, in the order in which the help lists them."""
_NAMED_APART: Final = {"import": "import_sales"}
"""Functions of commands that Python keeps the name of for itself."""


def main() -> None:
    """Run the command that the command line names."""
    run(load(*sys.argv[1:2]))


def function_name(command: str) -> str:
    """The function of a command, in its module."""
    return _NAMED_APART.get(command, command.replace("-", "_"))


def load(named: str = "") -> typer.Typer:
    """All commands, of which the named one can be run; it may be named by a former name."""
    app = typer.Typer(
        help="Worksheet functions and a sourcing log for a small resale business.",
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
    )
    for command, module in COMMANDS.items():
        function = function_name(command)
        if former_names.COMMANDS.get(named) == command:
            app.command(named, hidden=True)(getattr(import_module(f"sheetfns.cli.{module}"), function))
        if command == named:
            app.command(command)(getattr(import_module(f"sheetfns.cli.{module}"), function))
        else:
            app.command(command, help=_docstrings(module)[function])(lambda: None)
    return app


def run(app: typer.Typer) -> None:
    """Run a command; a file that cannot be used gives one line and exit code 2."""
    for old in {*sys.argv[1:2]} & set(former_names.COMMANDS):
        warn(former_names.notice(old, former_names.COMMANDS[old]))
    try:
        app()
    except LogFileError as error:
        warn(str(error), style="bold")
        sys.exit(BAD_FILE)


@functools.cache
def _docstrings(module: str) -> dict[str, str | None]:
    source = Path(__file__).with_name(f"{module}.py").read_text(encoding="utf-8")
    return {node.name: ast.get_docstring(node) for node in ast.parse(source).body if isinstance(node, ast.FunctionDef)}


if __name__ == "__main__":
    main()
