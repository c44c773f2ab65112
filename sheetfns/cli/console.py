"""What the commands print with: tables, messages, and how far a long one is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn
from rich.table import Table

out = Console()
BAD_FILE: Final = 2
PROBLEMS_SHOWN: Final = 20


def tell(text: str, style: str | None = None) -> None:
    """A line beside the output: what is wrong, or what to know about it."""
    err = Console(stderr=True, soft_wrap=True)
    err.print(text, style=style, markup=False, highlight=False)


def say(text: str) -> None:
    """A line of the output, as it is."""
    out.print(text, markup=False, highlight=False, soft_wrap=True)


def money(amount: float) -> str:
    """An amount with cents."""
    return f"{amount:,.2f}"


def table_of(title: str, *columns: str, words: int = 1) -> Table:
    """A table whose first columns hold words and whose others hold figures."""
    table = Table(title=title, title_justify="left", title_style="bold")
    for place, column in enumerate(columns):
        table.add_column(column, justify="left" if place < words else "right")
    return table


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
