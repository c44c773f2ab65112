"""What the commands print with: lines, tables, and how far a long one is."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn
from rich.table import Table

if TYPE_CHECKING:
    from sheetfns.log.model.typed_rows import Issue  # pandas with it

out = Console()
BAD_FILE: Final = 2
LINES_SHOWN: Final = 20
"""Of a list that may be long."""


def echo(text: str, *, wrap: bool = False) -> None:
    """Print a text as it is, or broken between words where the terminal ends."""
    out.print(text, markup=False, highlight=False, soft_wrap=not wrap)


def warn(text: str, style: str | None = None) -> None:
    """Print a line beside the output: what is wrong, or what to know about it."""
    err = Console(stderr=True, soft_wrap=True)
    err.print(text, style=style, markup=False, highlight=False)


def warn_of(problems: Sequence[Issue], end: str = ".") -> None:
    """Print the first problems of a log beside the output."""
    for line in first_lines([*map(at_cell, problems)], end):
        warn(line)


def at_cell(problem: Issue) -> str:
    """A problem, with its place."""
    return f"{problem.sheet}, {problem.cell}: {problem.message}"


def first_lines(lines: Sequence[str], end: str = ".") -> Iterator[str]:
    """The first lines of a list, and one that says how many more there are."""
    yield from lines[:LINES_SHOWN]
    if len(lines) > LINES_SHOWN:
        yield f"... and {len(lines) - LINES_SHOWN} more{end}"


def counted(count: int, noun: str) -> str:
    """A number and a noun, such as `1 cell` or `2 cells`."""
    return f"{count} {noun}{'' if count == 1 else 's'}"


def money(amount: float) -> str:
    """An amount with cents."""
    return f"{amount:,.2f}"


def table_of(title: str, *columns: str, words: int = 1) -> Table:
    """A table whose first columns hold words and whose others hold figures."""
    table = Table(title=title, title_justify="left", title_style="bold")
    for index, column in enumerate(columns):
        table.add_column(column, justify="left" if index < words else "right")
    return table


@contextmanager
def bar(words: str, total: int) -> Iterator[Callable[[int], None]]:
    """A bar that is told how much is done."""
    with Progress(console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task(words, total=total)
        yield lambda done: progress.update(task, completed=done)


@contextmanager
def steps(count: int) -> Iterator[Callable[[str], None]]:
    """A bar that goes on by one for each step that is named."""
    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    console = Console(stderr=True)
    # Where nobody watches, a bar is a blank line.
    off = not console.is_terminal
    with Progress(*columns, console=console, transient=True, disable=off) as progress:
        task = progress.add_task("", total=count)
        begun = 0

        def step(words: str) -> None:
            nonlocal begun
            progress.update(task, description=f"{words} ...", completed=begun)
            begun += 1

        yield step
