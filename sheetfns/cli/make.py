"""The commands that write a log's figures: new, demo, recalc."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from sheetfns.cli.console import LINES_SHOWN, counted, echo, money, out, steps, table_of, warn_of
from sheetfns.demo import example_inputs
from sheetfns.errors import LogFileError
from sheetfns.files.safe_files import make_folder
from sheetfns.hosts import engine
from sheetfns.log.compare import compare
from sheetfns.log.compute import LogResults, compute_log, year_figures
from sheetfns.log.edit.patch import refresh_values
from sheetfns.log.load import load_log
from sheetfns.log.model.inputs import inputs_of_today
from sheetfns.log.model.sheets import EDITIONS, Edition
from sheetfns.log.sheets.words import DEFAULT_ROWS
from sheetfns.log.write.build import build_log
from sheetfns.programs.excel.macro_log import build_macro_log

DEMO_ROWS = 250
ITEMS_SHOWN = 5


class EditionName(StrEnum):
    """The editions of the log; of the two that differ in their cells see EDITIONS."""

    plain = "plain"
    functions = "functions"
    with_lambda = "lambda"


# ---- new -----------------------------------------------------------------------------------------


def new(
    file: Annotated[Path, typer.Argument(help="The new file: .xlsx, or .xlsm with macros for Excel.")],
    edition: Annotated[
        EditionName,
        typer.Option(
            help="plain: formulas only. functions: cells call the named functions. "
            "lambda: plain, plus the functions as names for any cell, in programs with LAMBDA."
        ),
    ] = EditionName.plain,
    rows: Annotated[int, typer.Option(help="Ready rows on the sourcing log.")] = DEFAULT_ROWS,
) -> None:
    """Make an empty sourcing log; to carry over the entries of an older one, see upgrade."""
    ending = file.suffix.lower()
    if ending not in (".xlsx", ".xlsm"):
        raise LogFileError(f"{file}: give the new file a name that ends in .xlsx or .xlsm")
    if file.exists():
        raise LogFileError(f"{file}: already exists; choose another name")
    if ending == ".xlsm" and edition is not EditionName.functions:
        raise LogFileError(
            f"{file}: a workbook with macros calls the functions; add --edition functions, or "
            "give it a name that ends in .xlsx"
        )
    with steps(3) as step:
        if ending == ".xlsm":
            build_macro_log(file, rows, inputs_of_today(), step)
        else:
            build_log(file, edition.value, rows, inputs_of_today(), step)
    echo(f"{file} is ready: open it and begin with sheet Home.", wrap=True)
    if edition is EditionName.with_lambda:
        echo(
            "In a program with LAMBDA, any cell of it can use the functions that sheet Functions lists, with nothing "
            "installed.",
            wrap=True,
        )


# ---- demo ----------------------------------------------------------------------------------------


def demo(
    folder: Annotated[Path, typer.Argument(help="The folder for the example shop's log.")] = Path("sheetfns-demo"),
) -> None:
    """Build an invented shop's filled log, recalculate it and show what it earns."""
    make_folder(folder)
    files = {edition: folder / f"sourcing_log_{edition}.xlsx" for edition in EDITIONS}
    recalculated = _build_examples(files)
    content = load_log(files["functions"])
    figures = compute_log(content)
    _echo_months(figures["Money"])
    sold = figures["Log"].dropna(subset=["net_profit"]).sort_values("net_profit")
    _echo_items("Best items", sold.iloc[::-1].head(ITEMS_SHOWN))
    _echo_items("Worst items", sold.head(ITEMS_SHOWN))
    _echo_totals(figures, int(content.settings["Tax_year"]))
    cells = sum(len(row) for rows in recalculated.sheets.values() for row in rows)
    errors = len(recalculated.errors)
    echo(f"Functions edition recalculated without a spreadsheet program: {cells} cells, {errors} errors.", wrap=True)
    for edition, file in files.items():
        _echo_agreement(edition, file)


def _build_examples(files: dict[Edition, Path]) -> engine.Recalculated:
    """Build the example in every edition; the edition with functions is recalculated."""
    inputs = example_inputs()
    with steps(3 * len(files) + 1) as step:
        for edition, file in files.items():
            build_log(file, edition, DEMO_ROWS, inputs, step)
        step("Recalculating the functions edition")
        return engine.recalculate(files["functions"])


def _echo_months(months: Any) -> None:
    table = table_of("Profit by month", "Month", "Sales", "Cost of goods sold", "Net profit", "Cash", "Inventory")
    for month in months.itertuples():
        amounts = (month.sales, month.cost_of_sold, month.profit, month.closing_cash, month.closing_inventory)
        table.add_row(f"{month.month:%Y-%m}", *map(money, amounts))
    out.print(table)


def _echo_items(title: str, items: Any) -> None:
    table = table_of(title, "Item no.", "Description", "Landed cost", "Net profit", "Days", words=2)
    for item in items.itertuples():
        amounts = (money(item.landed_cost), money(item.net_profit))
        table.add_row(item.item_no, item.description, *amounts, f"{item.days_held:.0f}")
    out.print(table)


def _echo_totals(figures: LogResults, year: int) -> None:
    last = figures["Money"].iloc[-1]
    echo(f"Cash {money(last['closing_cash'])}, inventory at cost {money(last['closing_inventory'])}.", wrap=True)
    profit = year_figures(figures, year).amounts["net_profit"]
    echo(f"Net profit of {year} so far, after miles and home office: {money(profit)}.", wrap=True)


def _echo_agreement(edition: Edition, file: Path) -> None:
    result = compare(compute_log(load_log(file)))
    agree = "all agree" if not result.differences else f"{len(result.differences)} differ"
    echo(f"{file} ({edition} edition): {result.compared} figures of the workbook compared with Python, {agree}.")


# ---- recalc --------------------------------------------------------------------------------------


def recalc(file: Annotated[Path, typer.Argument(help="A log of either edition.")]) -> None:
    """Recalculate a log without a spreadsheet program and store the results in it."""
    with steps(2) as step:
        values, copy = refresh_values(file, step)
    count = len(values.errors)
    if count:
        _print_errors(file, values)
    echo(f"{file}: recalculated, {counted(count, 'cell')} with an error. Backup: {copy.name}")
    if count:
        echo("Totals may leave out these cells; fix them before you use the figures.", wrap=True)
        raise typer.Exit(1)


def _print_errors(file: Path, values: engine.Recalculated) -> None:
    """The cells to fix if the file is a log, else every cell that shows an error."""
    try:
        warn_of(load_log(file).problems)
    except LogFileError:
        for error in values.errors[:LINES_SHOWN]:
            echo(str(error))
